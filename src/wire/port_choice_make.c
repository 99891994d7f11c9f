/* The rows and columns: a part for each site, a port for each plug, and what is lacking. */
#include <math.h>

#include "wire/port_choice_int.h"

static const struct choice_part *part_of(const struct choice_maker *m, const struct choice_option *o)
{
    return &m->q->sites[o->site].parts[o->part];
}

static const struct choice_group *group_of(const struct choice_maker *m, const struct choice_cell *c)
{
    return &part_of(m, &m->options[c->option])->groups[c->group];
}

/* ---- ports ---- */

static bool is_given_port(const struct choice_maker *m, uint32_t site, unsigned number)
{
    for (uint32_t p = 0; p < m->q->n_plugs; p++)
        for (uint32_t j = 0; m->is_active[p] && j < m->q->plugs[p].n_joins; j++)
            if (m->q->plugs[p].joins[j].site == site && m->q->plugs[p].joins[j].port == number)
                return true;
    return false;
}

static bool are_alike(const struct choice_group *a, const struct choice_group *b)
{
    return a->media == b->media && a->speed_mbps == b->speed_mbps && a->poe_class == b->poe_class &&
           a->is_up == b->is_up && !a->is_closed && !b->is_closed;
}

static struct port_class *class_of(const struct choice_part *part, struct choice_option *o, uint32_t group)
{
    for (uint32_t i = 0; i < o->classes.n; i++)
        if (are_alike(&part->groups[o->classes.v[i].group], &part->groups[group]))
            return &o->classes.v[i];
    o->classes.v[o->classes.n] = (struct port_class){ .group = group };
    return &o->classes.v[o->classes.n++];
}

static void make_classes(struct choice_maker *m, struct choice_option *o)
{
    const struct choice_part *part = part_of(m, o);
    unsigned n_ports = 0, number = 0;
    o->classes.v = ARENA_ARRAY(m->a, struct port_class, part->n_groups);
    m->failed |= !o->classes.v;
    for (uint32_t g = 0; g < part->n_groups; g++)
        n_ports += part->groups[g].count;
    for (uint32_t g = 0; g < part->n_groups && !m->failed; g++) {
        struct port_class *class = class_of(part, o, g);
        if (!class->numbers)
            class->numbers = ARENA_ARRAY(m->a, unsigned, n_ports);
        m->failed |= !class->numbers;
        for (unsigned i = 0; i < part->groups[g].count && !m->failed; i++)
            if (!is_given_port(m, o->site, ++number))
                class->numbers[class->n++] = number;
    }
    for (uint32_t i = 0; i < o->classes.n && !m->failed; i++) {
        struct port_class *class = &o->classes.v[i];
        if (part->groups[class->group].is_closed)
            class->n = 0;
        class->row_sum = program_row(&m->program, 0, 0);
        class->row_room = program_row(&m->program, -INFINITY, 0);
        program_entry(&m->program, class->row_room, o->column, -(double)class->n);
        class->first_column = m->program.columns.n;
        for (unsigned k = 0; k < class->n; k++)
            program_entry(&m->program, class->row_sum, program_column(&m->program, 0, 1, false), -1);
    }
}

/* ---- sites ---- */

static void make_sites(struct choice_maker *m)
{
    uint32_t n = 0;
    for (uint32_t s = 0; s < m->q->n_sites && !m->failed; s++) {
        const struct choice_site *site = &m->q->sites[s];
        const uint32_t one = program_row(&m->program, 1, 1);
        m->first_option[s] = n;
        for (uint32_t k = 0; k < site->n_parts && !m->failed; k++) {
            struct choice_option *o = &m->options[n++];
            *o = (struct choice_option){
                .site = s, .part = k, .column = program_column(&m->program, 0, 1, true), .row_budget = CHOICE_NONE
            };
            program_entry(&m->program, one, o->column, 1);
            if (isfinite(site->parts[k].budget_w)) {
                o->row_budget = program_row(&m->program, -INFINITY, 0);
                program_entry(&m->program, o->row_budget, o->column, -site->parts[k].budget_w);
            }
            make_classes(m, o);
        }
    }
    m->first_option[m->q->n_sites] = n;
}

static void make_shelves(struct choice_maker *m)
{
    for (uint32_t h = 0; h < m->q->n_shelves; h++) {
        const uint32_t row = program_row(&m->program, -INFINITY, m->q->shelf_units[h]);
        m->over_column[h] = program_column(&m->program, 0, INFINITY, false);
        program_entry(&m->program, row, m->over_column[h], -1);
        for (uint32_t o = 0; o < m->first_option[m->q->n_sites]; o++)
            if (m->q->sites[m->options[o].site].shelf == h)
                program_entry(&m->program, row, m->options[o].column, part_of(m, &m->options[o])->units);
    }
}

static void make_spare(struct choice_maker *m, uint32_t s)
{
    m->short_column[s] = CHOICE_NONE;
    if (!m->q->sites[s].spare)
        return;
    const uint32_t row = program_row(&m->program, m->q->sites[s].spare, INFINITY);
    m->short_column[s] = program_column(&m->program, 0, INFINITY, true);
    program_entry(&m->program, row, m->short_column[s], 1);
    for (uint32_t i = m->first_option[s]; i < m->first_option[s + 1]; i++) {
        const struct choice_option *o = &m->options[i];
        unsigned n = 0;
        for (uint32_t k = 0; k < o->classes.n; k++)
            n += choice_is_plain(&part_of(m, o)->groups[o->classes.v[k].group]) ? o->classes.v[k].n : 0;
        program_entry(&m->program, row, o->column, n);
    }
    for (uint32_t c = 0; c < m->cells.n; c++)
        if (m->cells.v[c].site == s && !m->cells.v[c].port && choice_is_plain(group_of(m, &m->cells.v[c])))
            program_entry(&m->program, row, m->cells.v[c].column, -1);
}

static bool is_at_or_below(const struct choice_problem *q, uint32_t site, uint32_t top)
{
    for (uint32_t steps = 0; site != CHOICE_NONE && steps <= q->n_sites; steps++) {
        if (site == top)
            return true;
        site = q->sites[site].up;
    }
    return false;
}

static void make_room(struct choice_maker *m, uint32_t s)
{
    if (!isfinite(m->q->sites[s].room_mbps))
        return;
    const uint32_t row = program_row(&m->program, -INFINITY, m->q->sites[s].room_mbps);
    for (uint32_t c = 0; c < m->cells.n; c++) {
        const double rate_mbps = m->q->plugs[m->cells.v[c].plug].rate_mbps;
        if (rate_mbps > 0 && is_at_or_below(m->q, m->cells.v[c].site, s))
            program_entry(&m->program, row, m->cells.v[c].column, rate_mbps);
    }
}

/* Plugs of one set: at most one at each site. */
static void make_sets(struct choice_maker *m, uint32_t first)
{
    const uint32_t set = m->q->plugs[first].set;
    for (uint32_t p = 0; p < first; p++)
        if (m->q->plugs[p].set == set)
            return;
    for (uint32_t s = 0; s < m->q->n_sites; s++) {
        const uint32_t row = program_row(&m->program, -INFINITY, 1);
        for (uint32_t c = 0; c < m->cells.n; c++)
            if (m->cells.v[c].site == s && m->q->plugs[m->cells.v[c].plug].set == set)
                program_entry(&m->program, row, m->cells.v[c].column, 1);
    }
}

/* ---- plugs ---- */

struct plug_rows {
    uint32_t plug, one, *follow; /* a row for each want */
};

static void make_cell(struct choice_maker *m, const struct plug_rows *rows, struct choice_cell c, uint32_t only_if)
{
    const struct choice_plug *plug = &m->q->plugs[c.plug];
    const struct choice_option *o = &m->options[c.option];
    const struct choice_want *want = &plug->wants[c.want];
    const struct choice_group *g = &part_of(m, o)->groups[c.group];
    c.lacks =
        (g->speed_mbps < want->speed_mbps ? LACK_SPEED : 0) | (want->poe_class >= 0 && !c.is_fed ? LACK_POWER : 0);
    c.column = program_column(&m->program, 0, 1, true);
    program_entry(&m->program, rows->one, c.column, 1);
    if (plug->follows != CHOICE_NONE)
        program_entry(&m->program, rows->follow[c.want], c.column, 1);
    if (only_if != CHOICE_NONE)
        program_entry(&m->program, only_if, c.column, 1);
    if (c.class != CHOICE_NONE) {
        program_entry(&m->program, o->classes.v[c.class].row_sum, c.column, 1);
        program_entry(&m->program, o->classes.v[c.class].row_room, c.column, 1);
    }
    if (c.is_fed && o->row_budget != CHOICE_NONE)
        program_entry(&m->program, o->row_budget, c.column, want->watts);
    m->failed |= !VEC_PUSH(m->a, &m->cells, c);
}

/* A port with all its wants, fed and not. */
static void make_cells_at(struct choice_maker *m, const struct plug_rows *rows, struct choice_cell c, uint32_t only_if)
{
    const struct choice_plug *plug = &m->q->plugs[c.plug];
    const struct choice_group *g = &part_of(m, &m->options[c.option])->groups[c.group];
    for (c.want = 0; c.want < choice_n_wants(m->q, plug); c.want++) {
        const int wanted = plug->wants[c.want].poe_class;
        c.is_fed = false;
        make_cell(m, rows, c, only_if);
        c.is_fed = true;
        if (wanted >= 0 && g->poe_class >= wanted)
            make_cell(m, rows, c, only_if);
    }
}

static void make_join(struct choice_maker *m, const struct plug_rows *rows, uint32_t join, uint32_t option)
{
    const struct choice_plug *plug = &m->q->plugs[rows->plug];
    const struct choice_option *o = &m->options[option];
    const struct choice_part *part = part_of(m, o);
    struct choice_cell c = { .plug = rows->plug,
                             .join = join,
                             .site = o->site,
                             .option = option,
                             .class = CHOICE_NONE,
                             .port = plug->joins[join].port };
    uint32_t only_if = CHOICE_NONE;
    if (m->q->sites[o->site].n_parts > 1) {
        only_if = program_row(&m->program, -INFINITY, 0);
        program_entry(&m->program, only_if, o->column, -1);
    }
    if (c.port) {
        c.group = choice_group_of(part, c.port);
        if (c.group != CHOICE_NONE)
            make_cells_at(m, rows, c, only_if);
        return;
    }
    for (uint32_t k = 0; k < o->classes.n && !m->failed; k++) {
        c.class = k;
        c.group = o->classes.v[k].group;
        if (o->classes.v[k].n && (part->groups[c.group].media & plug->media))
            make_cells_at(m, rows, c, only_if);
    }
}

static void make_plug(struct choice_maker *m, uint32_t p)
{
    const struct choice_plug *plug = &m->q->plugs[p];
    const uint32_t n_wants = choice_n_wants(m->q, plug);
    struct plug_rows rows = { .plug = p, .follow = ARENA_ARRAY(m->a, uint32_t, n_wants) };
    if (!rows.follow) {
        m->failed = true;
        return;
    }
    rows.one = program_row(&m->program, 1, 1);
    m->first_without[p] = m->program.columns.n;
    for (uint32_t w = 0; w < n_wants; w++) {
        const uint32_t without = program_column(&m->program, 0, 1, true);
        program_entry(&m->program, rows.one, without, 1);
        if (plug->follows == CHOICE_NONE)
            continue;
        rows.follow[w] = program_row(&m->program, 0, 0);
        program_entry(&m->program, rows.follow[w], without, 1);
        program_entry(&m->program, rows.follow[w], m->options[m->first_option[plug->follows] + w].column, -1);
    }
    for (uint32_t j = 0; j < plug->n_joins; j++) {
        const uint32_t s = plug->joins[j].site;
        for (uint32_t o = m->first_option[s]; o < m->first_option[s + 1] && !m->failed; o++)
            make_join(m, &rows, j, o);
    }
}

bool choice_make(struct choice_maker *m)
{
    const struct choice_problem *q = m->q;
    uint32_t n_options = 0;
    for (uint32_t s = 0; s < q->n_sites; s++)
        n_options += q->sites[s].n_parts;
    m->program = (struct program){ .arena = m->a };
    m->first_option = ARENA_ARRAY(m->a, uint32_t, (size_t)q->n_sites + 1);
    m->options = ARENA_ARRAY(m->a, struct choice_option, n_options);
    m->first_without = ARENA_ARRAY(m->a, uint32_t, q->n_plugs);
    m->short_column = ARENA_ARRAY(m->a, uint32_t, q->n_sites);
    m->over_column = ARENA_ARRAY(m->a, uint32_t, q->n_shelves);
    if (!m->first_option || !m->options || !m->first_without || !m->short_column || !m->over_column)
        return false;
    make_sites(m);
    make_shelves(m);
    for (uint32_t p = 0; p < q->n_plugs && !m->failed; p++)
        if (m->is_active[p])
            make_plug(m, p);
    for (uint32_t p = 0; p < q->n_plugs && !m->failed; p++)
        if (q->plugs[p].set != CHOICE_NONE)
            make_sets(m, p);
    for (uint32_t s = 0; s < q->n_sites && !m->failed; s++) {
        make_spare(m, s);
        make_room(m, s);
    }
    return !m->failed && !m->program.failed;
}

/* ---- the sums ---- */

static double cost_of_cell(const struct choice_maker *m, int sum, const struct choice_cell *c)
{
    const struct choice_group *g = group_of(m, c);
    const struct choice_plug *plug = &m->q->plugs[c->plug];
    switch (sum) {
    case CHOICE_LACK:
        return (c->lacks & LACK_POWER ? LACK_POWER_WEIGHT : 0) + (c->lacks & LACK_SPEED ? LACK_SPEED_WEIGHT : 0);
    case CHOICE_PRICE:
        return (double)plug->joins[c->join].price;
    case CHOICE_UP:
        return g->is_up != plug->is_up;
    case CHOICE_CLASS:
        return g->poe_class + 1;
    case CHOICE_SPEED:
        return g->speed_mbps;
    default:
        return c->port;
    }
}

void choice_costs(const struct choice_maker *m, int sum, double *cost)
{
    const struct choice_problem *q = m->q;
    for (uint32_t i = 0; i < m->program.columns.n; i++)
        cost[i] = 0;
    for (uint32_t c = 0; c < m->cells.n; c++)
        cost[m->cells.v[c].column] = cost_of_cell(m, sum, &m->cells.v[c]);
    for (uint32_t i = 0; i < m->first_option[q->n_sites]; i++) {
        const struct choice_option *o = &m->options[i];
        if (sum == CHOICE_PRICE)
            cost[o->column] = (double)part_of(m, o)->price;
        for (uint32_t k = 0; sum == CHOICE_NUMBER && k < o->classes.n; k++)
            for (unsigned n = 0; n < o->classes.v[k].n; n++)
                cost[o->classes.v[k].first_column + n] = o->classes.v[k].numbers[n];
    }
    if (sum != CHOICE_LACK)
        return;
    for (uint32_t p = 0; p < q->n_plugs; p++)
        for (uint32_t w = 0; m->is_active[p] && w < choice_n_wants(q, &q->plugs[p]); w++)
            cost[m->first_without[p] + w] = LACK_PORT_WEIGHT;
    for (uint32_t s = 0; s < q->n_sites; s++)
        if (m->short_column[s] != CHOICE_NONE)
            cost[m->short_column[s]] = LACK_SPARE_WEIGHT;
    for (uint32_t h = 0; h < q->n_shelves; h++)
        cost[m->over_column[h]] = LACK_UNITS_WEIGHT;
}
