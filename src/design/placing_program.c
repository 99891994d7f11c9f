/* The integer program of a placing: columns for offers, cells, ways, works, hubs, switches and cabling.
 *
 * What makes it easy to solve: a cell's column is no whole number, since its rows allow 1 only where whole offers serve it; a clause
 * that asks for two of few sites has a row for each that it could do without; a link is a column for each thing asked of the port, so
 * that the ports' rows need no products; works and hubs bound the sum of all ways of a thing, not each way alone. */
#include <math.h>

#include "design/placing_int.h"

enum { MOST_SITE_ROWS = 8 };

uint32_t *place_columns(struct place_maker *m, size_t n)
{
    uint32_t *c = ARENA_ARRAY(m->a, uint32_t, n);
    m->program.failed |= !c;
    for (size_t i = 0; c && i < n; i++)
        c[i] = NO_REF;
    return c;
}

static uint32_t binary(struct place_maker *m) { return program_column(&m->program, 0, 1, true); }

/* ---- needs ---- */

static void serve_rows(struct place_maker *m, const struct image_clause *c, uint32_t column, uint32_t without_site)
{
    const uint32_t row = program_row(&m->program, 0, INFINITY);
    for (uint32_t o = 0; o < m->q->offers.n; o++)
        if (bits_has(c->offers, o) && m->q->offers.v[o].site != without_site)
            program_entry(&m->program, row, m->offers[o], 1);
    program_entry(&m->program, row, column, without_site == NO_REF ? -(double)c->at_least : -1);
}

/* Of two sites there is a row for each that could be done without, if they are few: then no column needs to be whole. */
static bool has_site_rows(const struct place_maker *m, const struct image_clause *c)
{
    return c->at_least == 1 ||
           (c->at_least == 2 && bits_common(c->offers, c->offers, m->image->n_words) <= MOST_SITE_ROWS);
}

static uint32_t cell_column(struct place_maker *m, uint32_t cell)
{
    while (m->cells.n <= cell && !m->program.failed)
        m->program.failed |= !VEC_PUSH(m->a, &m->cells, NO_REF);
    if (m->program.failed || m->cells.v[cell] != NO_REF)
        return m->program.failed ? 0 : m->cells.v[cell];
    const struct image_cell *is = &m->image->cells.v[cell];
    bool is_whole = false;
    for (uint32_t i = 0; i < is->n; i++)
        is_whole |= !has_site_rows(m, &m->image->clauses.v[is->first + i]);
    const uint32_t column = program_column(&m->program, 0, 1, is_whole);
    m->cells.v[cell] = column;
    for (uint32_t i = 0; i < is->n; i++) {
        const struct image_clause *c = &m->image->clauses.v[is->first + i];
        serve_rows(m, c, column, NO_REF);
        for (uint32_t s = 0; c->at_least == 2 && has_site_rows(m, c) && s < m->q->n_sites; s++)
            if (bits_meet(c->offers, m->image->sites[s], m->image->n_words))
                serve_rows(m, c, column, s);
    }
    return column;
}

static void impossible(struct place_maker *m) { (void)program_row(&m->program, 1, INFINITY); }

/* The cells of a need with a site lost, those that can still be served; their weight with what is always served. */
static uint32_t collect(struct place_maker *m, uint32_t lost_site, struct place_asked *asked)
{
    const struct image_need *is = &m->image->needs[asked->need];
    uint32_t total = is->always;
    asked->shares = ARENA_ARRAY(m->a, struct image_share, is->shares.n);
    asked->has_column = ARENA_ARRAY(m->a, bool, is->shares.n);
    m->program.failed |= !asked->shares || !asked->has_column;
    for (uint32_t i = 0; i < is->shares.n && !m->image->failed && !m->program.failed; i++) {
        const uint32_t cell =
            lost_site == NO_REF ? is->shares.v[i].cell : image_without(m->image, is->shares.v[i].cell, lost_site);
        if (cell == NO_REF)
            continue;
        total += is->shares.v[i].weight;
        uint32_t k = 0;
        while (k < asked->n && asked->shares[k].cell != cell)
            k++;
        if (k == asked->n)
            asked->shares[asked->n++] = (struct image_share){ .cell = cell };
        asked->shares[k].weight += is->shares.v[i].weight;
    }
    m->program.failed |= m->image->failed;
    return total;
}

void place_add_cell(struct place_maker *m, struct place_asked *asked, uint32_t share)
{
    const uint32_t column = cell_column(m, asked->shares[share].cell);
    const double weight = asked->shares[share].weight;
    if (m->program.failed)
        return;
    asked->has_column[share] = true;
    m->program.rows.v[asked->row].lo += weight;
    program_entry(&m->program, asked->row, column, weight);
}

void place_add_need(struct place_maker *m, uint32_t need, uint32_t lost_site)
{
    const uint32_t wanted = m->q->needs.v[need].wanted;
    const uint32_t let_go = m->is_elastic ? m->let_go[m->q->needs.v[need].promise] : NO_REF;
    struct place_asked asked = { .need = need, .site = lost_site };
    const uint32_t total = collect(m, lost_site, &asked);
    if (m->program.failed)
        return;
    if (total < wanted && let_go == NO_REF) {
        impossible(m);
        return;
    }
    asked.row = program_row(&m->program, (double)wanted - (double)total, INFINITY);
    if (let_go != NO_REF)
        program_entry(&m->program, asked.row, let_go, wanted);
    m->program.failed |= !VEC_PUSH(m->a, &m->asked, asked);
    for (uint32_t i = 0; i < asked.n && !m->program.failed; i++) {
        /* Without this one there are too few. */
        const bool is_needed = total - asked.shares[i].weight < wanted;
        if (is_needed || m->is_whole)
            place_add_cell(m, &m->asked.v[m->asked.n - 1], i);
        if (is_needed && let_go == NO_REF && !m->program.failed)
            m->program.columns.v[m->cells.v[asked.shares[i].cell]].lo = 1;
    }
}

/* Of offers alone: placing_rank.c. */
static void add_rank(struct place_maker *m, uint32_t need)
{
    const struct image_need *is = &m->image->needs[need];
    const uint32_t n = m->q->offers.n;
    if (m->q->needs.v[need].wanted <= is->always)
        return;
    const double *weight = m->q->needs.v[need].ranks;
    if (!weight)
        weight = place_rank(m->a, m->image, need);
    if (!weight) {
        m->program.failed = true;
        return;
    }
    const uint32_t row = program_row(&m->program, 1, INFINITY);
    for (uint32_t o = 0; o < n; o++)
        if (weight[o] > 0)
            program_entry(&m->program, row, m->offers[o], weight[o]);
    if (m->is_elastic)
        program_entry(&m->program, row, m->let_go[m->q->needs.v[need].promise], 1);
}

/* ---- offers ---- */

static void add_offers(struct place_maker *m)
{
    const struct placing *q = m->q;
    m->offers = place_columns(m, q->offers.n);
    for (uint32_t o = 0; o < q->offers.n && !m->program.failed; o++)
        m->offers[o] = program_column(&m->program, q->offers.v[o].is_fixed ? 1 : 0, 1, true);
    for (uint32_t s = 0; s < q->n_sites && !m->program.failed; s++) {
        const uint32_t row = program_row(&m->program, -INFINITY, 1);
        for (uint32_t o = 0; o < q->offers.n; o++)
            if (q->offers.v[o].site == s)
                program_entry(&m->program, row, m->offers[o], 1);
    }
    for (uint32_t p = 0; p < q->n_pieces && !m->program.failed; p++) {
        const uint32_t row = program_row(&m->program, -INFINITY, 1);
        for (uint32_t o = 0; o < q->offers.n; o++)
            if (q->offers.v[o].piece == p)
                program_entry(&m->program, row, m->offers[o], 1);
    }
}

/* How many are chosen: whole, so that a search may ask for so many or one more. */
static void add_count(struct place_maker *m)
{
    if (m->program.failed)
        return;
    m->count = program_column(&m->program, 0, m->q->n_sites, true);
    const uint32_t row = program_row(&m->program, 0, 0);
    program_entry(&m->program, row, m->count, -1);
    for (uint32_t o = 0; o < m->q->offers.n; o++)
        program_entry(&m->program, row, m->offers[o], 1);
}

/* ---- ways ---- */

/* Ways for all links of a thing that asks this; `row` is where they are to be as many as its offers, device or hub. */
static void add_ways(struct place_maker *m, uint32_t thing, struct place_asks asks, uint32_t row)
{
    const struct place_thing *t = &m->q->things.v[thing];
    for (uint32_t i = 0; i < t->links.n && !m->program.failed; i++) {
        const struct place_link *l = &m->q->links.v[t->links.v[i]];
        if (l->hub == t->hub)
            continue;
        const struct place_way way = { t->links.v[i], binary(m), asks };
        m->program.failed |= !VEC_PUSH(m->a, &m->ways, way);
        program_entry(&m->program, row, way.column, 1);
    }
}

static void add_site_ways(struct place_maker *m, uint32_t thing)
{
    const struct placing *q = m->q;
    const uint32_t site = q->things.v[thing].site;
    for (uint32_t o = 0; o < q->offers.n; o++) {
        if (q->offers.v[o].site != site)
            continue;
        const struct place_asks asks = place_asks_of(q, &q->things.v[thing], &q->offers.v[o]);
        bool is_first = true;
        for (uint32_t k = 0; k < o && is_first; k++)
            is_first = q->offers.v[k].site != site ||
                       !place_asks_same(asks, place_asks_of(q, &q->things.v[thing], &q->offers.v[k]));
        if (!is_first)
            continue;
        const uint32_t row = program_row(&m->program, 0, 0);
        for (uint32_t k = o; k < q->offers.n; k++)
            if (q->offers.v[k].site == site &&
                place_asks_same(asks, place_asks_of(q, &q->things.v[thing], &q->offers.v[k])))
                program_entry(&m->program, row, m->offers[k], -1);
        add_ways(m, thing, asks, row);
    }
}

static void add_things(struct place_maker *m)
{
    const struct placing *q = m->q;
    m->first_way = place_columns(m, (size_t)q->things.n + 1);
    m->hubs = place_columns(m, q->hubs.n);
    for (uint32_t h = 0; h < q->hubs.n && !m->program.failed; h++)
        m->hubs[h] = program_column(&m->program, q->hubs.v[h].is_core ? 1 : 0, 1, true);
    for (uint32_t t = 0; t < q->things.n && !m->program.failed; t++) {
        const struct place_thing *thing = &q->things.v[t];
        m->first_way[t] = m->ways.n;
        if (thing->site != NO_REF) {
            add_site_ways(m, t);
        } else if (thing->hub == NO_REF) {
            add_ways(m, t, place_asks_of(q, thing, NULL), program_row(&m->program, 1, 1));
        } else if (!q->hubs.v[thing->hub].is_core) {
            const uint32_t row = program_row(&m->program, 0, 0);
            program_entry(&m->program, row, m->hubs[thing->hub], -1);
            add_ways(m, t, place_asks_of(q, thing, NULL), row);
        }
    }
    if (!m->program.failed)
        m->first_way[q->things.n] = m->ways.n;
}

static bool has_work(const struct place_link *l, uint32_t work)
{
    for (uint32_t i = 0; i < l->works.n; i++)
        if (l->works.v[i] == work)
            return true;
    return false;
}

void place_add_bounds(struct place_maker *m, uint32_t column, uint32_t work, uint32_t hub)
{
    for (uint32_t t = 0; t < m->q->things.n && !m->program.failed; t++) {
        uint32_t row = NO_REF;
        for (uint32_t w = m->first_way[t]; w < m->first_way[t + 1]; w++) {
            const struct place_link *l = place_link_of(m, w);
            if (work != NO_REF ? !has_work(l, work) : l->hub != hub)
                continue;
            if (row == NO_REF) {
                row = program_row(&m->program, 0, INFINITY);
                program_entry(&m->program, row, column, 1);
            }
            program_entry(&m->program, row, m->ways.v[w].column, -1);
        }
    }
}

static void add_works(struct place_maker *m)
{
    m->works = place_columns(m, m->q->works.n);
    for (uint32_t w = 0; w < m->q->works.n && !m->program.failed; w++) {
        m->works[w] = program_column(&m->program, 0, 1, false);
        place_add_bounds(m, m->works[w], w, NO_REF);
    }
}

/* Deeper than what its way up comes to: no ring of hubs. */
static void add_depths(struct place_maker *m)
{
    const struct placing *q = m->q;
    const double most = q->hubs.n;
    bool are_needed = false;
    for (uint32_t w = 0; w < m->ways.n; w++)
        are_needed |=
            q->things.v[place_link_of(m, w)->thing].hub != NO_REF && !q->hubs.v[place_link_of(m, w)->hub].is_core;
    m->depths = place_columns(m, q->hubs.n);
    if (!are_needed || m->program.failed)
        return;
    for (uint32_t h = 0; h < q->hubs.n; h++)
        m->depths[h] = program_column(&m->program, 0, q->hubs.v[h].is_core ? 0 : most, false);
    for (uint32_t w = 0; w < m->ways.n; w++) {
        const uint32_t hub = q->things.v[place_link_of(m, w)->thing].hub;
        if (hub == NO_REF || hub == place_link_of(m, w)->hub)
            continue;
        const uint32_t row = program_row(&m->program, -most, INFINITY);
        program_entry(&m->program, row, m->depths[hub], 1);
        program_entry(&m->program, row, m->depths[place_link_of(m, w)->hub], -1);
        program_entry(&m->program, row, m->ways.v[w].column, -most - 1);
    }
}

/* ---- cable by the metre ---- */

static int64_t most_mm(const struct place_maker *m, uint32_t cabling)
{
    int64_t sum_mm = 0;
    for (uint32_t t = 0; t < m->q->things.n; t++) {
        int64_t longest_mm = 0;
        for (uint32_t w = m->first_way[t]; w < m->first_way[t + 1]; w++)
            if (place_link_of(m, w)->cabling == cabling && place_mm(place_link_of(m, w)->length_m) > longest_mm)
                longest_mm = place_mm(place_link_of(m, w)->length_m);
        sum_mm += longest_mm;
    }
    return sum_mm;
}

static void add_cablings(struct place_maker *m)
{
    const struct placing *q = m->q;
    uint32_t n = 0;
    m->first_part = place_columns(m, (size_t)q->cablings.n + 1);
    for (uint32_t c = 0; c < q->cablings.n && !m->program.failed; c++) {
        m->first_part[c] = n;
        n += q->cablings.v[c].n_parts;
    }
    m->pieces = place_columns(m, n);
    m->takes = place_columns(m, n);
    for (uint32_t c = 0; c < q->cablings.n && !m->program.failed; c++) {
        const struct place_cabling *cabling = &q->cablings.v[c];
        const int64_t all_mm = most_mm(m, c);
        const uint32_t metres = program_row(&m->program, -INFINITY, PLACE_HALF_STEP),
                       one = program_row(&m->program, -INFINITY, 1);
        for (uint32_t w = 0; w < m->ways.n; w++)
            if (place_link_of(m, w)->cabling == c && place_mm(place_link_of(m, w)->length_m))
                program_entry(&m->program, metres, m->ways.v[w].column,
                              1e-3 * (double)place_mm(place_link_of(m, w)->length_m));
        for (uint32_t p = 0; p < cabling->n_parts; p++) {
            const int64_t piece_mm = place_mm(cabling->parts[p].per_m) > 0 ? place_mm(cabling->parts[p].per_m) : 1;
            const double most = (double)((all_mm + piece_mm - 1) / piece_mm);
            const uint32_t i = m->first_part[c] + p;
            m->pieces[i] = program_column(&m->program, 0, most, true);
            m->takes[i] = binary(m);
            program_entry(&m->program, metres, m->pieces[i], -1e-3 * (double)piece_mm);
            program_entry(&m->program, one, m->takes[i], 1);
            const uint32_t row = program_row(&m->program, -INFINITY, 0);
            program_entry(&m->program, row, m->pieces[i], 1);
            program_entry(&m->program, row, m->takes[i], -most);
        }
    }
    if (!m->program.failed)
        m->first_part[q->cablings.n] = n;
}

/* ---- all ---- */

static void add_promises(struct place_maker *m)
{
    m->let_go = place_columns(m, m->n_promises);
    for (uint32_t n = 0; n < m->q->needs.n && !m->program.failed; n++)
        if (m->let_go[m->q->needs.v[n].promise] == NO_REF)
            m->let_go[m->q->needs.v[n].promise] = binary(m);
    if (m->q->budget_promise != NO_REF && m->q->at_most != INT64_MAX && !m->program.failed &&
        m->let_go[m->q->budget_promise] == NO_REF)
        m->let_go[m->q->budget_promise] = binary(m);
}

static void add_budget(struct place_maker *m)
{
    const uint32_t n = m->program.columns.n;
    const int64_t at_most = place_at_most(m->q, m->given_up);
    const bool is_let_go = m->is_elastic && m->q->budget_promise != NO_REF;
    double *cost = ARENA_ARRAY(m->a, double, n), dearest = 0;
    m->program.failed |= !cost;
    if (m->program.failed || at_most == INT64_MAX)
        return;
    place_costs(m, PLACE_PRICE, cost);
    const uint32_t row = program_row(&m->program, -INFINITY, (double)(at_most - m->q->owing) + 0.4);
    for (uint32_t i = 0; i < n; i++) {
        dearest += cost[i] * m->program.columns.v[i].hi;
        if (cost[i] > 0)
            program_entry(&m->program, row, i, cost[i]);
    }
    if (is_let_go)
        program_entry(&m->program, row, m->let_go[m->q->budget_promise],
                      -fmax(dearest - (double)(at_most - m->q->owing), 0));
}

bool place_make(struct place_maker *m)
{
    m->program.arena = m->a;
    if (m->is_elastic)
        add_promises(m);
    add_offers(m);
    add_count(m);
    if (!m->program.failed)
        add_things(m);
    if (m->program.failed)
        return false;
    add_works(m);
    add_depths(m);
    if (m->program.failed || !place_add_hubs(m))
        return false;
    add_cablings(m);
    for (uint32_t n = 0; n < m->q->needs.n && !m->program.failed; n++)
        if (!place_is_given_up(m->given_up, m->q->needs.v[n].promise)) {
            place_add_need(m, n, NO_REF);
            add_rank(m, n);
        }
    if (m->with_budget && !m->program.failed)
        add_budget(m);
    return !m->program.failed;
}

static void price_costs(const struct place_maker *m, double *cost)
{
    const struct placing *q = m->q;
    for (uint32_t o = 0; o < q->offers.n; o++)
        cost[m->offers[o]] = (double)q->offers.v[o].price;
    for (uint32_t w = 0; w < m->ways.n; w++)
        cost[m->ways.v[w].column] = (double)place_link_of(m, w)->price;
    for (uint32_t w = 0; w < q->works.n; w++)
        cost[m->works[w]] = (double)q->works.v[w];
    for (uint32_t h = 0; h < q->hubs.n; h++)
        cost[m->hubs[h]] = (double)q->hubs.v[h].price;
    for (uint32_t c = 0; c < q->cablings.n; c++)
        for (uint32_t p = 0; p < q->cablings.v[c].n_parts; p++)
            cost[m->pieces[m->first_part[c] + p]] = (double)q->cablings.v[c].parts[p].price;
}

void place_costs(const struct place_maker *m, enum place_aim aim, double *cost)
{
    const struct placing *q = m->q;
    int64_t most_mw = 1; /* more than all that can be sent: a box weighs as much */
    for (uint32_t i = 0; i < m->program.columns.n; i++)
        cost[i] = 0;
    for (uint32_t o = 0; o < q->offers.n; o++)
        most_mw += place_mw(q->offers.v[o].sent_w);
    if (aim == PLACE_PRICE)
        price_costs(m, cost);
    for (uint32_t o = 0; o < q->offers.n && aim == PLACE_BOXES_SENT; o++)
        cost[m->offers[o]] = (double)((place_is_box(&q->offers.v[o]) ? most_mw : 0) + place_mw(q->offers.v[o].sent_w));
    for (uint32_t i = 0; i < q->hubs.n * q->switches.n; i++)
        if (m->switches[i] != NO_REF)
            cost[m->switches[i]] =
                aim == PLACE_PRICE ? (double)q->switches.v[i % q->switches.n].price : (double)most_mw;
}
