/* From fields to rows: which offers serve which cell, for each promise and room.
 *
 * All judgements of one radio rise with the gain, so each is the same as a least gain, found once per promise, floor and sort of
 * radio by halving down to neighbouring numbers; a cell is then one comparison. */
#include "design/needs.h"

#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "data/channels.h"
#include "design/needs_int.h"
#include "promise/coverage.h"
#include "promise/damage.h"
#include "promise/radio_judge.h"
#include "radio/interference.h"

bool needs_cover(enum promise_kind kind) { return needs_is_about_rooms(kind) || kind == PROMISE_SURVIVE; }

uint32_t needs_radios_off(const struct needs *n, uint32_t offer) { return n->radios_off[offer]; }

/* Rows of one promise in one room. */
struct maker {
    const struct run *run;
    const struct needs *n;
    struct promise asked; /* as tightened */
    bool own_channel;
    const struct radio_ability *device;
    uint32_t carried; /* under this promise */
    bool bears_loss;
    uint32_t n_clauses, at_least;
    uint32_t bands[BAND_COUNT]; /* of each clause */
    bool by_strongest;          /* an access point is judged at that of its radios which is strongest there */
    float *least_db;            /* [n_sorts]: gain from which a radio of that sort serves */
    uint32_t n_words;
    uint64_t *bits;      /* [cells of the room][n_clauses][n_words] */
    uint32_t *at_leasts; /* [cells of the room][n_clauses] */
    uint32_t *order;     /* [cells of the room] */
};

/* ---- one radio ---- */

static bool serves_at(const struct maker *m, const struct ap_radio *radio, uint32_t floor, double gain_db)
{
    const struct promise *q = &m->asked;
    if (q->kind == PROMISE_SIGNAL)
        return q->level_dbm + radio_signal_excess_db(q, radio, m->device, gain_db) >= q->level_dbm;
    if (q->kind == PROMISE_ROAMING)
        return radio_roaming_level_dbm(q, radio, m->device, gain_db) >= q->level_dbm;
    return radio_judged_mbps(q, radio_rates_alone(m->n->space->house, q, radio, m->device, floor, gain_db)) >= q->mbps;
}

/* The least gain at which it serves; INFINITY: none.  No gain lies beyond these two. */
static float least_gain_db(const struct maker *m, const struct ap_radio *radio, uint32_t floor)
{
    float low = -400.0f, high = 100.0f;
    if (!link_is_possible(radio, m->device) || !serves_at(m, radio, floor, (double)high))
        return INFINITY;
    for (;;) {
        const float middle = low + (high - low) / 2.0f;
        if (middle <= low || middle >= high)
            return high;
        if (serves_at(m, radio, floor, (double)middle))
            high = middle;
        else
            low = middle;
    }
}

/* A rate that foreign cells spoil on one channel may hold on another that the radio may be set to (its field is nearly the same): the
 * least over all that the country lets it use there. */
static float least_gain_of_channels_db(const struct maker *m, const struct ap_radio *radio, uint32_t floor)
{
    float least_db = least_gain_db(m, radio, floor);
    uint32_t n;
    const struct channel_block *b = channel_blocks(&n);
    if (m->asked.kind != PROMISE_RATE || m->own_channel || !radio->channel_was_chosen || !m->n->bare.rules ||
        !(interference_neighbours_dbm(m->n->space->house, floor, radio->centre_hz, radio->width_hz) >
          -(double)INFINITY))
        return least_db;
    const bool is_indoors = regdb_channel_rules(m->n->bare.rules, radio->centre_hz, radio->width_hz).indoor_only;
    for (uint32_t i = 0; i < n; i++)
        for (int ch = b[i].first;
             b[i].band == radio->band && b[i].width_mhz * 1e6 <= radio->width_hz && ch <= b[i].last; ch += b[i].step) {
            struct ap_radio other = *radio;
            other.channel = ch;
            other.centre_hz = channel_centre_hz(radio->band, ch);
            other.width_hz = b[i].width_mhz * 1e6;
            const struct regdb_channel rule = regdb_channel_rules(m->n->bare.rules, other.centre_hz, other.width_hz);
            if (!rule.allowed || (rule.indoor_only && !is_indoors) || rule.passive_only ||
                (rule.radar && !m->n->space->options.allows_radar))
                continue;
            other.power_dbm = fmin(radio->power_dbm, rule.max_eirp_dbm - (radio->eirp_dbm - radio->power_dbm));
            other.eirp_dbm += other.power_dbm - radio->power_dbm;
            least_db = fminf(least_db, least_gain_db(m, &other, floor));
        }
    return least_db;
}

static bool may_serve(const struct maker *m, uint32_t radio, uint32_t clause)
{
    return radio_may_serve(&m->n->radios.v[radio], m->device, m->bands[clause]);
}

static bool holder_serves(const struct maker *m, uint32_t holder, uint32_t clause, uint32_t cell)
{
    const struct needs *n = m->n;
    double strongest_dbm = -INFINITY;
    bool serves = false;
    for (uint32_t r = n->first_radio[holder]; r < n->first_radio[holder + 1]; r++) {
        const float gain_db = n->gain_db[r][cell];
        const double strength_dbm = radio_strength_dbm(&n->radios.v[r], (double)gain_db);
        if (!may_serve(m, r, clause) || (m->by_strongest && strength_dbm <= strongest_dbm))
            continue;
        const bool this_serves = gain_db >= m->least_db[n->sort[r]];
        serves = this_serves || (serves && !m->by_strongest);
        strongest_dbm = strength_dbm;
    }
    return serves;
}

/* ---- one cell ---- */

static uint64_t *clause_bits(const struct maker *m, uint32_t i, uint32_t clause)
{
    return &m->bits[((size_t)i * m->n_clauses + clause) * m->n_words];
}

static bool has_bit(const uint64_t *bits, uint32_t i) { return bits[i / 64] >> i % 64 & 1u; }

/* How many sites have an offer in it; of them those whose offer is there and stays. */
static void count_sites(const struct placing *q, const uint64_t *bits, bool *seen, uint32_t *n_sites, uint32_t *n_fixed)
{
    memset(seen, 0, q->n_sites * sizeof *seen);
    *n_sites = *n_fixed = 0;
    for (uint32_t o = 0; o < q->offers.n; o++) {
        if (!has_bit(bits, o))
            continue;
        *n_fixed += q->offers.v[o].is_fixed;
        *n_sites += !seen[q->offers.v[o].site];
        seen[q->offers.v[o].site] = true;
    }
}

enum fate { FATE_OPEN, FATE_ALWAYS, FATE_NEVER };

/* What no choice can change is taken out of the clause: what stands serves always, and of what is there and stays one may fail. */
static enum fate settle_clause(const struct maker *m, uint32_t i, uint32_t clause, uint32_t n_standing, bool *seen)
{
    uint32_t n_sites, n_fixed;
    uint32_t *at_least = &m->at_leasts[(size_t)i * m->n_clauses + clause];
    count_sites(&m->n->space->placing, clause_bits(m, i, clause), seen, &n_sites, &n_fixed);
    *at_least = m->at_least > n_standing ? m->at_least - n_standing : 0;
    if (*at_least <= n_fixed - (m->bears_loss && n_fixed)) {
        *at_least = 0;
        memset(clause_bits(m, i, clause), 0, m->n_words * sizeof(uint64_t));
    }
    return *at_least == 0 ? FATE_ALWAYS : *at_least > n_sites ? FATE_NEVER : FATE_OPEN;
}

static bool is_within(const uint64_t *a, const uint64_t *b, uint32_t n_words)
{
    for (uint32_t w = 0; w < n_words; w++)
        if (a[w] & ~b[w])
            return false;
    return true;
}

/* A clause that holds whenever another of the cell does is left out. */
static void drop_implied(const struct maker *m, uint32_t i)
{
    uint32_t *at_least = &m->at_leasts[(size_t)i * m->n_clauses];
    for (uint32_t a = 0; a < m->n_clauses; a++)
        for (uint32_t b = 0; b < m->n_clauses; b++)
            if (a != b && at_least[a] && at_least[b] && at_least[a] >= at_least[b] &&
                is_within(clause_bits(m, i, a), clause_bits(m, i, b), m->n_words)) {
                at_least[b] = 0;
                memset(clause_bits(m, i, b), 0, m->n_words * sizeof(uint64_t));
            }
}

static enum fate judge_cell(const struct maker *m, const struct need_room *room, uint32_t i, bool *seen)
{
    const struct needs *n = m->n;
    enum fate fate = FATE_ALWAYS;
    for (uint32_t clause = 0; clause < m->n_clauses && fate != FATE_NEVER; clause++) {
        uint64_t *bits = clause_bits(m, i, clause);
        uint32_t n_standing = 0;
        memset(bits, 0, m->n_words * sizeof *bits);
        for (uint32_t holder = 0; holder < n->n_holders; holder++) {
            if (!holder_serves(m, holder, clause, room->first + i))
                continue;
            if (holder < n->n_offers)
                bits[holder / 64] |= UINT64_C(1) << holder % 64;
            else
                n_standing++;
        }
        const enum fate of_clause = settle_clause(m, i, clause, n_standing, seen);
        fate = of_clause == FATE_ALWAYS ? fate : of_clause;
    }
    if (fate == FATE_OPEN)
        drop_implied(m, i);
    return fate;
}

/* ---- cells that the same offers serve ---- */

static int compare_cells(const void *a, const void *b, void *user)
{
    const struct maker *m = user;
    const uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    for (uint32_t c = 0; c < m->n_clauses; c++) {
        const uint32_t ax = m->at_leasts[(size_t)x * m->n_clauses + c], ay = m->at_leasts[(size_t)y * m->n_clauses + c];
        if (ax != ay)
            return ax < ay ? -1 : 1;
    }
    const uint64_t *bx = clause_bits(m, x, 0), *by = clause_bits(m, y, 0);
    for (uint32_t w = 0; w < m->n_clauses * m->n_words; w++)
        if (bx[w] != by[w])
            return bx[w] < by[w] ? -1 : 1;
    return 0;
}

static int compare_cells_then_index(const void *a, const void *b, void *user)
{
    const uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    const int order = compare_cells(a, b, user);
    return order ? order : (x > y) - (x < y);
}

static bool write_clause(const struct maker *m, const uint64_t *bits, uint32_t at_least, struct place_clause *out)
{
    uint32_t n = 0;
    for (uint32_t w = 0; w < m->n_words; w++)
        n += (uint32_t)__builtin_popcountll(bits[w]);
    out->at_least = at_least;
    out->offers.v = ARENA_ARRAY(m->run->arena, uint32_t, n);
    for (uint32_t o = 0; out->offers.v && o < m->n->n_offers; o++)
        if (has_bit(bits, o))
            out->offers.v[out->offers.n++] = o;
    return out->offers.v;
}

static bool write_cell(const struct maker *m, uint32_t i, uint32_t weight, struct place_cell *out)
{
    out->weight = weight;
    out->clauses.v = ARENA_ARRAY(m->run->arena, struct place_clause, m->n_clauses);
    for (uint32_t c = 0; out->clauses.v && c < m->n_clauses; c++) {
        const uint32_t at_least = m->at_leasts[(size_t)i * m->n_clauses + c];
        if (at_least && !write_clause(m, clause_bits(m, i, c), at_least, &out->clauses.v[out->clauses.n++]))
            return false;
    }
    return out->clauses.v;
}

/* The first n of m->order are the cells that the choice decides. */
static bool write_cells(struct maker *m, uint32_t n, struct place_need *out)
{
    uint32_t n_groups = 0;
    qsort_r(m->order, n, sizeof *m->order, compare_cells_then_index, m);
    for (uint32_t i = 0; i < n; i++)
        n_groups += i == 0 || compare_cells(&m->order[i - 1], &m->order[i], m) != 0;
    out->cells.v = ARENA_ARRAY(m->run->arena, struct place_cell, n_groups);
    if (!out->cells.v)
        return false;
    for (uint32_t i = 0, next; i < n; i = next) {
        for (next = i + 1; next < n && compare_cells(&m->order[i], &m->order[next], m) == 0;)
            next++;
        if (!write_cell(m, m->order[i], next - i, &out->cells.v[out->cells.n++]))
            return false;
    }
    return true;
}

/* ---- a promise in a room ---- */

typedef VEC(struct place_need) need_vec;

static enum rt_code make_need(struct maker *m, const struct need_room *room, bool *seen, need_vec *needs,
                              struct rt_problems *p)
{
    const uint32_t floor = m->n->grids.grids.v[room->grid].floor;
    uint32_t n_open = 0, n_always = 0;
    for (uint32_t s = 0; s < m->n->n_sorts; s++)
        m->least_db[s] = least_gain_of_channels_db(m, m->n->like[s], floor);
    for (uint32_t i = 0; i < room->n; i++) {
        const enum fate fate = judge_cell(m, room, i, seen);
        n_always += fate == FATE_ALWAYS;
        if (fate == FATE_OPEN)
            m->order[n_open++] = i;
    }
    const uint32_t wanted = cells_wanted(m->asked.area_share, room->n);
    if (n_always >= wanted)
        return RT_OK;
    struct place_need need = { .promise = m->carried,
                               .room = room->room,
                               .all = room->n,
                               .always = n_always,
                               .wanted = wanted - n_always,
                               .bears_loss = m->bears_loss };
    return write_cells(m, n_open, &need) && VEC_PUSH(m->run->arena, needs, need) ? RT_OK : rt_fail_memory(p);
}

static void set_clauses(struct maker *m)
{
    const struct promise *q = &m->asked;
    m->n_clauses = 0;
    m->at_least = q->kind == PROMISE_ROAMING ? 2 : 1;
    m->by_strongest = q->kind == PROMISE_SIGNAL;
    if (q->kind == PROMISE_RATE || !q->bands) {
        m->bands[m->n_clauses++] = q->bands ? q->bands : ALL_BANDS;
        return;
    }
    for (uint32_t b = 0; b < BAND_COUNT; b++)
        if (q->bands & 1u << b)
            m->bands[m->n_clauses++] = 1u << b;
}

static void tighten(struct promise *q, struct tighter by)
{
    q->level_dbm += by.by_db;
    q->uplink_level_dbm += by.by_db; /* not given stays so */
    q->mbps *= by.rate_times;
    q->up_mbps *= by.rate_times;
}

/* Buffers for the largest room. */
static bool make_room(struct maker *m, bool **seen)
{
    uint32_t n_cells = 0;
    struct arena *a = m->run->arena;
    for (uint32_t i = 0; i < m->n->rooms.n; i++)
        n_cells = m->n->rooms.v[i].n > n_cells ? m->n->rooms.v[i].n : n_cells;
    m->n_words = (m->n->n_offers + 63) / 64;
    m->least_db = ARENA_ARRAY(a, float, m->n->n_sorts);
    m->bits = ARENA_ARRAY(a, uint64_t, (size_t)n_cells * BAND_COUNT * m->n_words);
    m->at_leasts = ARENA_ARRAY(a, uint32_t, (size_t)n_cells * BAND_COUNT);
    m->order = ARENA_ARRAY(a, uint32_t, n_cells);
    *seen = ARENA_ARRAY(a, bool, m->n->space->placing.n_sites);
    return m->least_db && m->bits && m->at_leasts && m->order && *seen;
}

static enum rt_code make_promise(struct maker *m, uint32_t promise, uint32_t carried, struct tighter by, bool *seen,
                                 need_vec *needs, struct rt_problems *p)
{
    const struct house *h = m->n->space->house;
    const struct promise *q = &h->promises.v[promise];
    m->device = evaluation_radio_of(&m->n->bare, q->device_kind);
    if (!m->device) /* unknown whatever is chosen: this kind has no radio */
        return RT_OK;
    m->asked = *q;
    m->carried = carried;
    m->bears_loss = carried != promise;
    m->own_channel = by.own_channel;
    tighten(&m->asked, by);
    set_clauses(m);
    for (uint32_t room = 0; room < h->rooms.n; room++) {
        if (!room_is_meant(q, room))
            continue;
        const uint32_t grid = coverage_grid_of(h, &m->n->grids, q, room);
        for (uint32_t i = 0; i < m->n->rooms.n; i++)
            if (m->n->rooms.v[i].room == room && m->n->rooms.v[i].grid == grid)
                RT_TRY(make_need(m, &m->n->rooms.v[i], seen, needs, p));
    }
    return RT_OK;
}

/* ---- all promises ---- */

static struct tighter tighter_of(const struct tighter *tighter, uint32_t promise)
{
    return tighter ? tighter[promise] : (struct tighter){ .by_db = 0.0, .rate_times = 1.0 };
}

static struct tighter stronger(struct tighter a, struct tighter b)
{
    return (struct tighter){ fmax(a.by_db, b.by_db), fmax(a.rate_times, b.rate_times), a.own_channel || b.own_channel };
}

static bool names_access_points(const struct promise *survive)
{
    for (uint32_t i = 0; i < survive->failures.n; i++)
        if (str_is(survive->failures.v[i], failure_kind_name(FAILURE_ACCESS_POINT)))
            return true;
    return false;
}

static bool names_promise(const struct promise *survive, struct str id)
{
    for (uint32_t i = 0; i < survive->promises.n; i++)
        if (str_eq(survive->promises.v[i], id))
            return true;
    return false;
}

static enum rt_code make_survive(struct maker *m, uint32_t survive, const struct tighter *tighter, bool *seen,
                                 need_vec *needs, struct rt_problems *p)
{
    const struct house *h = m->n->space->house;
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (needs_is_about_rooms(h->promises.v[i].kind) && names_promise(&h->promises.v[survive], h->promises.v[i].id))
            RT_TRY(make_promise(m, i, survive, stronger(tighter_of(tighter, i), tighter_of(tighter, survive)), seen,
                                needs, p));
    return RT_OK;
}

enum rt_code needs_make(const struct run *run, const struct needs *n, const struct tighter *tighter,
                        struct placing *out, struct rt_problems *p)
{
    const struct house *h = n->space->house;
    struct maker m = { .run = run, .n = n };
    need_vec needs = { 0 };
    bool *seen;
    if (!make_room(&m, &seen))
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        if (needs_is_about_rooms(q->kind))
            RT_TRY(make_promise(&m, i, i, tighter_of(tighter, i), seen, &needs, p));
        else if (q->kind == PROMISE_SURVIVE && names_access_points(q))
            RT_TRY(make_survive(&m, i, tighter, seen, &needs, p));
    }
    out->needs.v = needs.v;
    out->needs.n = needs.n;
    return placing_rank(run->arena, out) ? RT_OK : rt_fail_memory(p);
}
