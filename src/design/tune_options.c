/* What each radio of a house may be set to, and what that costs, all in one coin: the share of its time that a cell loses. */
#include <math.h>

#include "base/units.h"
#include "data/channels.h"
#include "design/house_tune_int.h"
#include "design/tune_air.h"
#include "promise/coverage.h"
#include "promise/radio_judge.h"
#include "radio/interference.h"
#include "radio/noise.h"

#define IDLE_SHARE 0.06  /* a cell counts as busy for at least so much, or it would not matter where idle ones are */
#define RADAR_SHARE 0.01 /* a radio that hears radar leaves its channel for half an hour, seldom */
#define SHORT_SHARE_PER_DB 0.02
#define SAME_DB 0.05
#define SHORT_DB 3.0 /* so much less than it was placed for does a radio without complaint */
/* Devices bought elsewhere may never look on channels 12 and 13 (common practice, no source). */
#define LAST_COMMON_HZ 2462e6
#define UNCOMMON_SHARE 0.02
#define COUNTS 1e-3 /* pairs that cost less are left out */
/* Between an access point and a device of the mesh two rooms off (common practice, no source). */
#define MESH_GAIN_DB (-75.0)
#define MESH_WIDTH_HZ 2e6
#define MESH_NOISE_FIGURE_DB 10.0
#define MESH_POWER_DBM 8.0
/* Many devices must send less on the last channel, beside the band's edge (common practice, no source). */
#define LAST_CHANNEL_SHARE 2e-3

struct maker {
    const struct house_tuner *t;
    struct tune_freedom freedom;
    struct arena *arena;
    struct tuning *out;
    VEC(struct tune_pair) pairs;
    bool failed;
};

static const struct ap_radio *radio_of(const struct house_tuner *t, uint32_t r) { return &t->now.radios.v[r]; }

/* ---- widths ---- */

/* What others leave of the air in the busy hour, about: its own stations and beacons taken off. */
static double left_share(const struct tuned_radio *r) { return fmax(1.0 - r->own_share - r->beacon_share, 0.1); }

static double rate_at(const struct house_tuner *t, const struct promise *q, const struct radio_ability *device,
                      uint32_t r, double width_hz, uint32_t floor, double gain_db)
{
    struct ap_radio radio = *radio_of(t, r);
    radio.width_hz = width_hz;
    struct radio_rates rates = radio_rates_alone(t->h, q, &radio, device, floor, gain_db);
    if (q->when == WHEN_BUSY_HOUR) {
        rates.down_mbps *= left_share(&t->radios[r]);
        rates.up_mbps *= left_share(&t->radios[r]);
    }
    return radio_judged_mbps(q, rates);
}

static void widen_for_cell(struct house_tuner *t, const struct promise *q, const struct radio_ability *device,
                           uint32_t grid, uint32_t ix, uint32_t iy)
{
    const struct fields *f = t->fields;
    const uint32_t floor = f->grids.v[grid].floor;
    uint32_t best = NO_REF;
    double most = q->mbps;
    for (uint32_t r = 0; r < f->radios.n; r++) {
        if (!radio_may_serve(radio_of(t, r), device, q->bands ? q->bands : ALL_BANDS))
            continue;
        const double mbps =
            rate_at(t, q, device, r, radio_of(t, r)->width_hz, floor, (double)field_gain_db(f, grid, r, ix, iy));
        if (best == NO_REF ? mbps >= most : mbps > most) {
            best = r;
            most = mbps;
        }
    }
    if (best == NO_REF)
        return;
    const double gain_db = (double)field_gain_db(f, grid, best, ix, iy);
    double *least_mhz = &t->radios[best].least_mhz;
    while (*least_mhz * 1e6 < radio_of(t, best)->width_hz &&
           rate_at(t, q, device, best, *least_mhz * 1e6, floor, gain_db) < q->mbps)
        *least_mhz *= 2.0;
}

void tune_find_widths(struct house_tuner *t)
{
    for (uint32_t r = 0; r < t->now.radios.n; r++)
        t->radios[r].least_mhz = 20.0;
    for (uint32_t i = 0; i < t->h->promises.n && t->fields; i++) {
        const struct promise *q = &t->h->promises.v[i];
        const struct radio_ability *device =
            q->kind == PROMISE_RATE ? evaluation_radio_of(&t->now, q->device_kind) : NULL;
        for (uint32_t room = 0; device && room < t->h->rooms.n; room++) {
            const uint32_t g = room_is_meant(q, room) ? coverage_grid_of(t->h, t->fields, q, room) : NO_REF;
            if (g == NO_REF)
                continue;
            const struct grid *grid = &t->fields->grids.v[g];
            for (uint32_t iy = 0; iy < grid->ny; iy++)
                for (uint32_t ix = 0; ix < grid->nx; ix++)
                    if (cell_is_in_room(t->h, grid, room, ix, iy))
                        widen_for_cell(t, q, device, g, ix, iy);
        }
    }
}

/* ---- which settings there are ---- */

double tune_channel_to_write(enum band band, double centre, double width_hz)
{
    const int width_mhz = (int)lrint(width_hz / 1e6);
    for (int ch = 1; ch <= (int)centre + 32 && width_mhz > 20; ch++)
        if (channel_exists(band, ch, 20) && channel_around(band, ch, width_mhz) == (int)centre)
            return ch;
    return centre;
}

/* How willingly a channel is taken. */
enum burden { BURDEN_NONE, BURDEN_RADAR, BURDEN_PASSIVE, BURDEN_COUNT };

static enum burden burden_of(const struct maker *m, struct regdb_channel rule)
{
    if (rule.passive_only)
        return BURDEN_PASSIVE;
    return rule.radar && !m->freedom.allows_radar ? BURDEN_RADAR : BURDEN_NONE;
}

static struct regdb_channel rule_of(const struct house_tuner *t, double centre_hz, double width_hz)
{
    if (!t->now.rules)
        return (struct regdb_channel){ .allowed = true, .max_eirp_dbm = (double)INFINITY };
    return regdb_channel_rules(t->now.rules, centre_hz, width_hz);
}

typedef VEC(struct tune_option) option_vec;

static void add_channel(struct maker *m, uint32_t r, int channel, double width_hz, enum burden burden, option_vec *out)
{
    const struct tuned_radio *of = &m->t->radios[r];
    const enum band band = radio_of(m->t, r)->band;
    const double centre_hz = channel_centre_hz(band, channel);
    const struct regdb_channel rule = rule_of(m->t, centre_hz, width_hz);
    if (!rule.allowed || (rule.indoor_only && of->is_outdoors) || burden_of(m, rule) != burden)
        return;
    const struct tune_option o = { .channel = channel,
                                   .centre_hz = centre_hz,
                                   .width_hz = width_hz,
                                   .power_dbm = fmin(of->part->power_dbm, rule.max_eirp_dbm - of->peak_dbi),
                                   .needs_radar_detection = rule.radar };
    m->failed |= !VEC_PUSH(m->arena, out, o);
}

/* At 2.4 GHz 20 MHz do, or a whole street has one channel (common practice), unless promised rates need more. */
static double widest_mhz(const struct house_tuner *t, uint32_t r)
{
    if (radio_of(t, r)->band == BAND_2G4)
        return fmin(fmax(t->radios[r].least_mhz, AP_WIDTH_2G4_MHZ), t->radios[r].part->width_mhz);
    return t->radios[r].part->width_mhz;
}

static void add_channels(struct maker *m, uint32_t r, double least_mhz, enum burden burden, option_vec *out)
{
    uint32_t n;
    const struct channel_block *b = channel_blocks(&n);
    for (uint32_t i = 0; i < n; i++)
        for (int ch = b[i].first; b[i].band == radio_of(m->t, r)->band && b[i].width_mhz >= least_mhz &&
                                  b[i].width_mhz <= widest_mhz(m->t, r) && ch <= b[i].last;
             ch += b[i].step)
            add_channel(m, r, ch, b[i].width_mhz * 1e6, burden, out);
}

static double most_power(const option_vec *v)
{
    double most = -(double)INFINITY;
    for (uint32_t i = 0; i < v->n; i++)
        most = fmax(most, v->v[i].power_dbm);
    return most;
}

/* Those on which the radio may send what it was placed for; if there are none, those that come nearest to it, unless that is too
 * far. */
static void keep_strong(const struct house_tuner *t, uint32_t r, bool takes_weak, option_vec *v)
{
    const double placed_dbm = radio_of(t, r)->power_dbm;
    const double least_dbm =
        fmax(fmin(placed_dbm, most_power(v)), takes_weak ? -(double)INFINITY : placed_dbm - SHORT_DB) - SAME_DB;
    uint32_t n = 0;
    for (uint32_t i = 0; i < v->n; i++)
        if (v->v[i].power_dbm >= least_dbm)
            v->v[n++] = v->v[i];
    v->n = n;
}

static void as_now(struct maker *m, uint32_t r, option_vec *out)
{
    const struct ap_radio *a = radio_of(m->t, r);
    const struct regdb_channel rule = rule_of(m->t, a->centre_hz, a->width_hz);
    const double most_dbm = fmin(m->t->radios[r].part->power_dbm, rule.max_eirp_dbm - m->t->radios[r].peak_dbi);
    m->failed |= !VEC_PUSH(m->arena, out,
                           ((struct tune_option){ .channel = a->channel,
                                                  .centre_hz = a->centre_hz,
                                                  .width_hz = a->width_hz,
                                                  .power_dbm = m->t->radios[r].may_tune ? most_dbm : a->power_dbm,
                                                  .needs_radar_detection = a->needs_radar_detection }));
}

/* ---- what they cost by themselves ---- */

static struct air_channel channel_of(const struct tune_option *o)
{
    return (struct air_channel){ o->centre_hz, o->width_hz };
}

static double noise_of(const struct house_tuner *t, uint32_t r, const struct tune_option *o)
{
    return noise_floor_dbm(o->width_hz, radio_of(t, r)->noise_figure_db);
}

/* Of the time that the radio's own stations take at another width. */
static double own_at(const struct house_tuner *t, uint32_t r, double width_hz)
{
    return fmin(t->radios[r].own_share * radio_of(t, r)->width_hz / width_hz, 1.0);
}

/* What width is worth beyond the traffic there is, to those who would wait less: each halving costs, the more the less is left.  Two
 * cells rather share the air than both go down to 20 MHz, and rather go down to 40 MHz than share it. */
static double narrow_share(double width_hz)
{
    static const double HALVED_TO_SHARES[] = { 0.07, 0.05, 0.03, 0.02 }; /* 20, 40, 80, 160 MHz */
    double sum = 0.0, width_mhz = 20.0;
    for (size_t i = 0; i < sizeof HALVED_TO_SHARES / sizeof HALVED_TO_SHARES[0]; i++, width_mhz *= 2.0)
        sum += width_hz / 1e6 <= width_mhz ? HALVED_TO_SHARES[i] : 0.0;
    return sum;
}

static double foreign_share(const struct house_tuner *t, uint32_t r, const struct tune_option *o)
{
    const struct house *h = t->h;
    const uint32_t floor = h->equipment.v[radio_of(t, r)->equipment].floor.i;
    double silent = 1.0;
    for (uint32_t i = 0; i < h->neighbours.n; i++) {
        const struct neighbour *n = &h->neighbours.v[i];
        const struct air_channel theirs = { interference_neighbour_centre_hz(n), n->width_mhz * 1e6 };
        if (n->band == radio_of(t, r)->band && interference_is_heard_on(n, floor))
            silent *= 1.0 - air_loss_share(theirs, n->level_dbm, n->busy_share, channel_of(o), noise_of(t, r, o));
    }
    return 1.0 - silent;
}

static void cost_options(const struct house_tuner *t, uint32_t r, struct tune_option *o, uint32_t n)
{
    double widest_hz = 0.0;
    for (uint32_t i = 0; i < n; i++)
        widest_hz = fmax(widest_hz, o[i].width_hz);
    for (uint32_t i = 0; i < n; i++)
        o[i].cost = foreign_share(t, r, &o[i]) + narrow_share(o[i].width_hz) - narrow_share(widest_hz) +
                    own_at(t, r, o[i].width_hz) - own_at(t, r, widest_hz) +
                    (o[i].needs_radar_detection ? RADAR_SHARE : 0.0) +
                    (radio_of(t, r)->band == BAND_2G4 && o[i].centre_hz > LAST_COMMON_HZ ? UNCOMMON_SHARE : 0.0) +
                    SHORT_SHARE_PER_DB * fmax(radio_of(t, r)->power_dbm - o[i].power_dbm, 0.0);
}

static void make_radio(struct maker *m, uint32_t r, struct tune_radio *out)
{
    const struct house_tuner *t = m->t;
    option_vec options = { 0 };
    const double promised_mhz =
        fmin(m->freedom.keeps_widths ? radio_of(t, r)->width_hz / 1e6 : t->radios[r].least_mhz, widest_mhz(t, r));
    const bool stays = m->freedom.keeps_channels || (m->freedom.stays && m->freedom.stays[r]);
    const bool is_open = t->radios[r].may_tune && !stays;
    for (int worse = 0; worse < 4 && is_open; worse++) /* too narrow, too weak, both */
        for (enum burden burden = 0; burden < BURDEN_COUNT && options.n == 0; burden++) {
            add_channels(m, r, worse & 1 ? 20.0 : promised_mhz, burden, &options);
            keep_strong(t, r, worse & 2, &options);
        }
    if (options.n == 0)
        as_now(m, r, &options);
    cost_options(t, r, options.v, options.n);
    out->radio = r;
    out->options.v = options.v;
    out->options.n = options.n;
}

/* ---- the mesh ---- */

/* Frames of the mesh meet every cell that is on the air over them, heard or not (load/airtime.h counts them alike). */
static double loss_of_mesh(const struct tune_option *mesh, struct air_channel theirs, double level_dbm,
                           double busy_share)
{
    const struct air_channel ours = channel_of(mesh);
    if (interference_overlap_share(theirs.centre_hz, theirs.width_hz, ours.centre_hz, ours.width_hz) > 0.0)
        return level_dbm >= DEFER_DBM ? fmin(2.0 * busy_share, 1.0) : 0.0;
    return air_loss_share(theirs, level_dbm, busy_share, ours, noise_floor_dbm(MESH_WIDTH_HZ, MESH_NOISE_FIGURE_DB));
}

/* Share of the time that the mesh loses to the neighbours heard on a floor. */
static double mesh_loss_on(const struct house *h, const struct tune_option *mesh, uint32_t floor)
{
    double silent = 1.0;
    for (uint32_t i = 0; i < h->neighbours.n; i++) {
        const struct neighbour *n = &h->neighbours.v[i];
        if (n->band == BAND_2G4 && interference_is_heard_on(n, floor))
            silent *= 1.0 - loss_of_mesh(
                                mesh, (struct air_channel){ interference_neighbour_centre_hz(n), n->width_mhz * 1e6 },
                                n->level_dbm, n->busy_share);
    }
    return 1.0 - silent;
}

/* A cell that is heard on two floors is entered twice: what counts is the floor that loses most. */
static struct tune_option mesh_option(const struct house *h, int channel)
{
    struct tune_option o = { .channel = channel,
                             .centre_hz = mesh_channel_centre_hz(channel),
                             .width_hz = MESH_WIDTH_HZ,
                             .power_dbm = given_or(h->mesh.power_dbm, MESH_POWER_DBM) };
    for (uint32_t floor = 0; floor < h->floors.n; floor++)
        o.cost = fmax(o.cost, mesh_loss_on(h, &o, floor));
    o.cost += channel == MESH_CHANNEL_LAST ? LAST_CHANNEL_SHARE : 0.0;
    return o;
}

static bool has_mesh(const struct house *h)
{
    bool has = is_given(h->mesh.channel);
    for (uint32_t d = 0; d < h->devices.n; d++)
        has |= h->devices.v[d].link == LINK_MESH;
    return has;
}

static void make_mesh(struct maker *m, struct tune_radio *out)
{
    const struct house *h = m->t->h;
    const bool is_fixed = is_given(h->mesh.channel) && (!h->mesh.tune || m->freedom.keeps_channels);
    const int first = is_fixed ? (int)h->mesh.channel : MESH_CHANNEL_FIRST;
    const int last = is_fixed ? first : MESH_CHANNEL_LAST;
    option_vec options = { 0 };
    for (int channel = first; channel <= last; channel++)
        m->failed |= !VEC_PUSH(m->arena, &options, mesh_option(h, channel));
    out->radio = NO_REF;
    out->options.v = options.v;
    out->options.n = options.n;
}

/* ---- pairs ---- */

static double busy_of(const struct house_tuner *t, uint32_t r, const struct tune_option *o)
{
    return fmin(fmax(own_at(t, r, o->width_hz) + t->radios[r].beacon_share, IDLE_SHARE), 1.0);
}

static double loss_to(const struct house_tuner *t, uint32_t from, const struct tune_option *of, uint32_t to,
                      const struct tune_option *at, double gain_db)
{
    return air_loss_share(channel_of(of), of->power_dbm + gain_db, busy_of(t, from, of), channel_of(at),
                          noise_of(t, to, at));
}

static void add_pair(struct maker *m, uint32_t a, uint32_t i, uint32_t b, uint32_t j, double cost)
{
    if (cost >= COUNTS)
        m->failed |= !VEC_PUSH(m->arena, &m->pairs, ((struct tune_pair){ a, b, i, j, cost }));
}

/* At 5 and 6 GHz channels side by side are taken for apart, as is common practice; at 2.4 GHz, where they crowd, what a sender leaves
 * beside its channel counts. */
static void pair_radios(struct maker *m, uint32_t a, uint32_t b)
{
    const struct house_tuner *t = m->t;
    const double to_b_db = airtime_gain_db(t->air, a, b), to_a_db = airtime_gain_db(t->air, b, a);
    const struct tune_radio *x = &m->out->radios.v[a], *y = &m->out->radios.v[b];
    if (radio_of(t, a)->band != radio_of(t, b)->band || !is_given(to_b_db) || !is_given(to_a_db))
        return;
    for (uint32_t i = 0; i < x->options.n; i++)
        for (uint32_t j = 0; j < y->options.n; j++) {
            const struct tune_option *p = &x->options.v[i], *q = &y->options.v[j];
            const bool counts = radio_of(t, a)->band == BAND_2G4 ||
                                interference_overlap_share(p->centre_hz, p->width_hz, q->centre_hz, q->width_hz) > 0.0;
            if (counts)
                add_pair(m, a, i, b, j, loss_to(t, a, p, b, q, to_b_db) + loss_to(t, b, q, a, p, to_a_db));
        }
}

static void pair_mesh(struct maker *m, uint32_t r, uint32_t mesh)
{
    const struct house_tuner *t = m->t;
    const struct tune_radio *x = &m->out->radios.v[r], *y = &m->out->radios.v[mesh];
    const double share = airtime_of_mesh(t->h);
    for (uint32_t i = 0; i < x->options.n && radio_of(t, r)->band == BAND_2G4; i++)
        for (uint32_t j = 0; j < y->options.n; j++) {
            const struct tune_option *p = &x->options.v[i], *q = &y->options.v[j];
            add_pair(m, r, i, mesh, j,
                     loss_of_mesh(q, channel_of(p), p->power_dbm + MESH_GAIN_DB, busy_of(t, r, p)) +
                         air_loss_share(channel_of(q), q->power_dbm + MESH_GAIN_DB, share, channel_of(p),
                                        noise_of(t, r, p)));
        }
}

enum rt_code tune_make(const struct house_tuner *t, struct tune_freedom freedom, struct tuning *out)
{
    const uint32_t n = t->now.radios.n;
    struct maker m = { .t = t, .freedom = freedom, .arena = t->run->arena, .out = out };
    *out = (struct tuning){ .has_mesh = has_mesh(t->h) };
    out->radios.v = ARENA_ARRAY(m.arena, struct tune_radio, (size_t)n + 1);
    if (!out->radios.v)
        return RT_NOMEM;
    for (uint32_t r = 0; r < n; r++)
        make_radio(&m, r, &out->radios.v[out->radios.n++]);
    if (out->has_mesh)
        make_mesh(&m, &out->radios.v[out->radios.n++]);
    if (m.failed)
        return RT_NOMEM;
    for (uint32_t a = 0; a < n; a++) {
        for (uint32_t b = a + 1; b < n; b++)
            pair_radios(&m, a, b);
        if (out->has_mesh)
            pair_mesh(&m, a, n);
    }
    out->pairs.v = m.pairs.v;
    out->pairs.n = m.pairs.n;
    return m.failed ? RT_NOMEM : RT_OK;
}
