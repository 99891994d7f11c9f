#include "wire/port_choice.h"

#include <math.h>

#include "wire/port_choice_int.h"

/* Beyond these the best so far is taken, and the bound says how far from the least it may be.  The seconds are for a machine so slow
 * that the nodes would take for ever. */
static const struct program_limits LIMITS = { .nodes = 20000, .seconds = 60 };

uint32_t choice_group_of(const struct choice_part *part, unsigned number)
{
    unsigned past = 0;
    for (uint32_t g = 0; g < part->n_groups; g++) {
        past += part->groups[g].count;
        if (number >= 1 && number <= past)
            return g;
    }
    return CHOICE_NONE;
}

/* ---- the sums of a choice ---- */

/* Plain ports of a site that no plug is in. */
static unsigned n_plain_free(const struct choice_problem *q, const uint32_t *parts, const struct choice_seat *seats,
                             uint32_t s)
{
    const struct choice_part *part = &q->sites[s].parts[parts[s]];
    unsigned number = 0, n = 0;
    for (uint32_t g = 0; g < part->n_groups; g++)
        for (unsigned i = 0; i < part->groups[g].count; i++) {
            bool is_free = choice_is_plain(&part->groups[g]);
            number++;
            for (uint32_t p = 0; p < q->n_plugs && is_free; p++)
                is_free = seats[p].join == CHOICE_NONE || seats[p].site != s || seats[p].port != number;
            n += is_free;
        }
    return n;
}

static double site_lack(const struct choice_problem *q, const uint32_t *parts, const struct choice_seat *seats)
{
    double lack = 0;
    for (uint32_t s = 0; s < q->n_sites; s++) {
        const unsigned n = q->sites[s].spare ? n_plain_free(q, parts, seats, s) : 0;
        lack += n < q->sites[s].spare ? LACK_SPARE_WEIGHT * (double)(q->sites[s].spare - n) : 0;
    }
    for (uint32_t h = 0; h < q->n_shelves; h++) {
        double units = 0;
        for (uint32_t s = 0; s < q->n_sites; s++)
            units += q->sites[s].shelf == h ? q->sites[s].parts[parts[s]].units : 0;
        lack += LACK_UNITS_WEIGHT * fmax(units - q->shelf_units[h], 0);
    }
    return lack;
}

void choice_sums(const struct choice_problem *q, const uint32_t *parts, const struct choice_seat *seats, double *sums)
{
    for (int i = 0; i < CHOICE_N_SUMS; i++)
        sums[i] = 0;
    for (uint32_t s = 0; s < q->n_sites; s++)
        sums[CHOICE_PRICE] += (double)q->sites[s].parts[parts[s]].price;
    for (uint32_t p = 0; p < q->n_plugs; p++) {
        const struct choice_seat *seat = &seats[p];
        if (seat->join == CHOICE_NONE) {
            sums[CHOICE_LACK] += LACK_PORT_WEIGHT;
            continue;
        }
        const struct choice_part *part = &q->sites[seat->site].parts[parts[seat->site]];
        const struct choice_group *g = &part->groups[choice_group_of(part, seat->port)];
        sums[CHOICE_LACK] +=
            (seat->lacks & LACK_POWER ? LACK_POWER_WEIGHT : 0) + (seat->lacks & LACK_SPEED ? LACK_SPEED_WEIGHT : 0);
        sums[CHOICE_PRICE] += (double)q->plugs[p].joins[seat->join].price;
        sums[CHOICE_UP] += g->is_up != q->plugs[p].is_up;
        sums[CHOICE_CLASS] += g->poe_class + 1;
        sums[CHOICE_SPEED] += g->speed_mbps;
        sums[CHOICE_NUMBER] += seat->port;
    }
    sums[CHOICE_LACK] += site_lack(q, parts, seats);
}

/* ---- from unknowns to seats ---- */

/* The lowest numbers of a class to its plugs: those that are fed first, then by index. */
static void give_numbers(const struct choice_maker *m, const double *x, uint32_t option, uint32_t class,
                         struct choice_seat *seats)
{
    unsigned next = 0;
    for (int fed = 1; fed >= 0; fed--)
        for (uint32_t c = 0; c < m->cells.n; c++) {
            const struct choice_cell *cell = &m->cells.v[c];
            if (cell->option == option && cell->class == class && cell->is_fed == (fed != 0) && x[cell->column] > 0.5)
                seats[cell->plug].port = m->options[option].classes.v[class].numbers[next++];
        }
}

static void read_answer(const struct choice_maker *m, const double *x, struct choice_answer *out)
{
    for (uint32_t o = 0; o < m->first_option[m->q->n_sites]; o++)
        if (x[m->options[o].column] > 0.5)
            out->parts[m->options[o].site] = m->options[o].part;
    for (uint32_t p = 0; p < m->q->n_plugs; p++) {
        const uint32_t follows = m->q->plugs[p].follows;
        out->seats[p] = (struct choice_seat){ .join = CHOICE_NONE,
                                              .site = CHOICE_NONE,
                                              .want = follows == CHOICE_NONE ? 0 : out->parts[follows],
                                              .lacks = LACK_PORT };
    }
    for (uint32_t c = 0; c < m->cells.n; c++) {
        const struct choice_cell *cell = &m->cells.v[c];
        if (x[cell->column] > 0.5)
            out->seats[cell->plug] = (struct choice_seat){
                .join = cell->join, .site = cell->site, .port = cell->port, .want = cell->want, .lacks = cell->lacks
            };
    }
    for (uint32_t o = 0; o < m->first_option[m->q->n_sites]; o++)
        for (uint32_t k = 0; k < m->options[o].classes.n; k++)
            give_numbers(m, x, o, k, out->seats);
}

/* ---- one aim after another ---- */

/* What was reached stays reached. */
static void hold(struct choice_maker *m, int sum, const double *cost, double value)
{
    const uint32_t row = program_row(&m->program, -INFINITY, value + (sum == CHOICE_LACK ? 1e-3 : 0.4));
    for (uint32_t i = 0; i < m->program.columns.n; i++)
        if (cost[i] != 0)
            program_entry(&m->program, row, i, cost[i]);
}

static bool is_all_zero(const double *cost, uint32_t n)
{
    for (uint32_t i = 0; i < n; i++)
        if (cost[i] != 0)
            return false;
    return true;
}

static enum rt_code solve(struct choice_maker *m, struct choice_answer *out)
{
    const double *x = NULL;
    double *cost = ARENA_ARRAY(m->a, double, m->program.columns.n);
    if (!cost)
        return RT_NOMEM;
    out->is_best = true;
    for (int sum = 0; sum < CHOICE_N_SUMS; sum++) {
        struct program_answer answer;
        choice_costs(m, sum, cost);
        if (is_all_zero(cost, m->program.columns.n) && x)
            continue;
        RT_TRY(program_least(m->run, &m->program, cost, LIMITS, &answer));
        out->is_best &= answer.is_best && answer.is_found;
        if (sum == CHOICE_PRICE)
            out->bound = answer.bound;
        if (!answer.is_found)
            break;
        x = answer.x;
        hold(m, sum, cost, answer.value);
        if (m->program.failed)
            return RT_NOMEM;
    }
    if (x)
        read_answer(m, x, out);
    return RT_OK;
}

/* ---- what does not fit together ---- */

/* What is lacking by the conflict's measure with these plugs alone. */
static enum rt_code lack_of(const struct run *run, const struct choice_problem *q, const bool *is_active, double *lack)
{
    struct arena *a = run->arena;
    const struct arena_mark mark = arena_mark(a);
    struct choice_maker m = { .run = run, .a = a, .q = q, .is_active = is_active };
    struct program_answer answer;
    enum rt_code code = choice_make(&m) ? RT_OK : RT_NOMEM;
    double *cost = code ? NULL : ARENA_ARRAY(a, double, m.program.columns.n);
    if (!cost)
        return RT_NOMEM;
    choice_costs(&m, CHOICE_LACK, cost);
    for (uint32_t c = 0; c < m.cells.n && !q->is_strict; c++)
        cost[m.cells.v[c].column] = m.cells.v[c].lacks & LACK_POWER ? LACK_POWER_WEIGHT : 0;
    for (uint32_t s = 0; s < q->n_sites && !q->is_strict; s++)
        if (m.short_column[s] != CHOICE_NONE)
            cost[m.short_column[s]] = 0;
    code = program_least(run, &m.program, cost, LIMITS, &answer);
    *lack = answer.is_found ? answer.value : 0;
    arena_reset(a, mark);
    return code;
}

static bool meets(const struct choice_plug *a, const struct choice_plug *b)
{
    for (uint32_t i = 0; i < a->n_joins; i++)
        for (uint32_t k = 0; k < b->n_joins; k++)
            if (a->joins[i].site == b->joins[k].site)
                return true;
    return false;
}

/* The plugs that share a site with one that lacks something: mostly the conflict is among them. */
static void neighbours(const struct choice_problem *q, const struct choice_answer *out, bool *is_active)
{
    for (uint32_t p = 0; p < q->n_plugs; p++)
        for (uint32_t k = 0; k < q->n_plugs && !is_active[p]; k++)
            is_active[p] = out->seats[k].lacks && meets(&q->plugs[p], &q->plugs[k]);
}

/* Left out one after another, for good wherever the lack stays. */
static enum rt_code find_conflict(const struct run *run, const struct choice_problem *q, struct choice_answer *out)
{
    bool *is_active = ARENA_ARRAY(run->arena, bool, q->n_plugs);
    out->conflict = ARENA_ARRAY(run->arena, uint32_t, q->n_plugs);
    double lack = 0;
    if (!is_active || !out->conflict)
        return RT_NOMEM;
    neighbours(q, out, is_active);
    RT_TRY(lack_of(run, q, is_active, &lack));
    if (lack <= 0.01) {
        for (uint32_t p = 0; p < q->n_plugs; p++)
            is_active[p] = true;
        RT_TRY(lack_of(run, q, is_active, &lack));
    }
    out->has_conflict = lack > 0.01;
    for (uint32_t p = q->n_plugs; out->has_conflict && p-- > 0;) {
        if (!is_active[p])
            continue;
        is_active[p] = false;
        RT_TRY(lack_of(run, q, is_active, &lack));
        is_active[p] = lack <= 0.01;
    }
    for (uint32_t p = 0; out->has_conflict && p < q->n_plugs; p++)
        if (is_active[p])
            out->conflict[out->n_conflict++] = p;
    return RT_OK;
}

enum rt_code choice_solve(const struct run *run, const struct choice_problem *q, struct choice_answer *out)
{
    struct arena *a = run->arena;
    bool *is_active = ARENA_ARRAY(a, bool, q->n_plugs);
    *out = (struct choice_answer){ .parts = ARENA_ARRAY(a, uint32_t, q->n_sites),
                                   .seats = ARENA_ARRAY(a, struct choice_seat, q->n_plugs) };
    if (!is_active || !out->parts || !out->seats)
        return RT_NOMEM;
    for (uint32_t p = 0; p < q->n_plugs; p++) {
        is_active[p] = true;
        out->seats[p] = (struct choice_seat){ .join = CHOICE_NONE, .site = CHOICE_NONE, .lacks = LACK_PORT };
    }
    struct choice_maker m = { .run = run, .a = a, .q = q, .is_active = is_active };
    if (!choice_make(&m))
        return RT_NOMEM;
    RT_TRY(solve(&m, out));
    choice_sums(q, out->parts, out->seats, out->sums);
    if (out->sums[CHOICE_LACK] >= LACK_SPEED_WEIGHT - 0.01)
        return find_conflict(run, q, out);
    return RT_OK;
}
