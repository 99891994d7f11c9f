/* The least price by rounds: solve, see which site's loss the answer does not bear, ask for that, solve again.  Each round asks for a
 * part of all that is wanted, so each round's bound is one for the whole.
 *
 * Losses are looked for in the relaxed program first (no column whole): it is quick, and what is broken there is mostly what would be
 * broken later.  The same rounds add what a share of cells implies: of cells that weigh more than may be left out, one is served. */
#include <math.h>
#include <stdlib.h>

#include "design/placing_int.h"

enum { RELAXED_ROUNDS = 40, ROUNDS = 60, NODES = 1000000, LAST_NODES = 2000 };
#define VIOLATED 1e-3
/* Of the time for the price, what the fewest boxes and least power may take at most. */
#define LAST_SHARE 0.15
/* Of the time left, what one round takes. */
#define SLICE 0.25

struct solver {
    struct place_maker m;
    struct placing_limits limits;
    double until_s; /* of the monotonic clock */
    struct placing_answer *best;
    double step; /* greatest common divisor of all prices */
};

double place_now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double left_s(const struct solver *s) { return fmax(s->until_s - place_now_s(), 0); }

static bool is_over(const struct solver *s) { return left_s(s) <= 0 || run_is_cancelled(s->m.run); }

/* ---- a common measure of all prices ---- */

static double greatest_common(const double *cost, uint32_t n)
{
    int64_t a = 0;
    for (uint32_t i = 0; i < n; i++)
        for (int64_t b = llround(cost[i]); b;) {
            const int64_t rest = a % b;
            a = b;
            b = rest;
        }
    return a ? (double)a : 1;
}

/* ---- rows as they turn out to be needed ---- */

/* How far a choice serves a cell; a relaxed one serves it in part. */
static double served(const struct place_maker *m, uint32_t cell, uint32_t lost_site, const double *x, bool is_relaxed)
{
    const struct image_cell *is = &m->image->cells.v[cell];
    double part = 1;
    for (uint32_t k = is->first; k < is->first + is->n && part > 0; k++) {
        const struct image_clause *c = &m->image->clauses.v[k];
        double offered = 0;
        for (uint32_t o = 0; o < m->q->offers.n; o++)
            if (bits_has(c->offers, o) && m->q->offers.v[o].site != lost_site)
                offered += x[m->offers[o]];
        part = fmin(part, is_relaxed ? offered / c->at_least : offered > c->at_least - 0.5);
    }
    return part;
}

/* What is wanted of a need, if its promise is not given up. */
static double wanted(const struct place_maker *m, uint32_t need, const double *x)
{
    const struct place_need *is = &m->q->needs.v[need];
    return is->wanted * (m->is_elastic ? 1 - x[m->let_go[is->promise]] : 1.0);
}

/* The cell without a column that is served least; NO_REF: none. */
static uint32_t worst_cell(const struct place_asked *asked, const double *part)
{
    uint32_t worst = NO_REF;
    for (uint32_t k = 0; k < asked->n; k++)
        if (!asked->has_column[k] && part[k] < 1 - VIOLATED && (worst == NO_REF || part[k] < part[worst]))
            worst = k;
    return worst;
}

/* Columns for cells without one, of needs that this choice does not keep: those served least, until the need's row is broken; how
 * many. */
static uint32_t add_cells(struct place_maker *m, const double *x, bool is_relaxed)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < m->asked.n && !m->program.failed; i++) {
        struct place_asked *asked = &m->asked.v[i];
        double *part = ARENA_ARRAY(m->a, double, asked->n);
        double sum = m->image->needs[asked->need].always, seen;
        m->program.failed |= !part;
        for (uint32_t k = 0; k < asked->n && !m->program.failed; k++) {
            part[k] = served(m, asked->shares[k].cell, NO_REF, x, is_relaxed);
            sum += asked->shares[k].weight * part[k];
        }
        if (m->program.failed || sum > wanted(m, asked->need, x) - VIOLATED)
            continue;
        /* What the row sees: cells without a column as served. */
        seen = sum;
        for (uint32_t k = 0; k < asked->n; k++)
            seen += asked->has_column[k] ? 0 : asked->shares[k].weight * (1 - part[k]);
        for (;;) {
            const uint32_t k = worst_cell(asked, part);
            if (k == NO_REF || seen < wanted(m, asked->need, x) - VIOLATED)
                break;
            seen -= asked->shares[k].weight * (1 - part[k]);
            place_add_cell(m, asked, k);
            n++;
        }
    }
    return n;
}

static bool is_known(const struct place_maker *m, uint32_t need, uint32_t site)
{
    for (uint32_t i = 0; i < m->asked.n; i++)
        if (m->asked.v[i].need == need && m->asked.v[i].site == site)
            return true;
    return false;
}

/* Asks for each need and site whose loss this choice does not bear; how many there were. */
static uint32_t add_losses(struct place_maker *m, const double *x, bool is_relaxed)
{
    const struct placing *q = m->q;
    uint32_t n = 0;
    for (uint32_t need = 0; need < q->needs.n && !m->program.failed; need++) {
        const struct image_need *is = &m->image->needs[need];
        if (!q->needs.v[need].bears_loss || place_is_given_up(m->given_up, q->needs.v[need].promise))
            continue;
        for (uint32_t s = 0; s < q->n_sites && !m->program.failed; s++) {
            double chosen = 0, sum = is->always;
            for (uint32_t o = 0; o < q->offers.n; o++)
                chosen += q->offers.v[o].site == s ? x[m->offers[o]] : 0;
            if (chosen < VIOLATED || is_known(m, need, s))
                continue;
            for (uint32_t i = 0; i < is->shares.n; i++)
                sum += is->shares.v[i].weight * served(m, is->shares.v[i].cell, s, x, is_relaxed);
            if (sum > wanted(m, need, x) - VIOLATED)
                continue;
            place_add_need(m, need, s);
            n++;
        }
    }
    return n;
}

uint32_t place_add_rows(struct place_maker *m, const double *x, bool is_relaxed)
{
    const uint32_t n = add_losses(m, x, is_relaxed);
    return n + (m->program.failed ? 0 : add_cells(m, x, is_relaxed));
}

/* ---- covers: of cells that weigh more than may be left out, one is served ---- */

struct cover {
    uint64_t *offers;  /* of which so many are chosen */
    uint32_t at_least; /* the least that a clause taken in asks, and one more where a loss is to be borne */
    bool *has;         /* shares */
};

/* What it adds to the sum of x to take in the offers of a cell; the clause that adds least. */
static double added(const struct place_maker *m, const struct cover *c, uint32_t cell, const double *x,
                    uint32_t *clause)
{
    const struct image_cell *is = &m->image->cells.v[cell];
    double best = INFINITY;
    for (uint32_t i = is->first; i < is->first + is->n; i++) {
        double sum = 0;
        for (uint32_t o = 0; o < m->q->offers.n; o++)
            if (bits_has(m->image->clauses.v[i].offers, o) && !bits_has(c->offers, o))
                sum += x[m->offers[o]];
        if (sum < best) {
            best = sum;
            *clause = i;
        }
    }
    return best;
}

/* Cells are taken in, those first that add least for their weight, until they weigh more than may be left out: then of their offers
 * as many are chosen as a clause asks.  Adds the row if x breaks it. */
static uint32_t add_cover(struct place_maker *m, uint32_t need, const double *x)
{
    const struct image_need *is = &m->image->needs[need];
    const uint32_t wanted = m->q->needs.v[need].wanted;
    const struct arena_mark mark = arena_mark(m->a);
    struct cover c = { ARENA_ARRAY(m->a, uint64_t, m->image->n_words), UINT32_MAX,
                       ARENA_ARRAY(m->a, bool, is->shares.n) };
    double sum = 0;
    uint32_t left = is->always + is->total;
    m->program.failed |= !c.offers || !c.has;
    while (!m->program.failed && left >= wanted && left > is->always && sum < c.at_least - VIOLATED) {
        uint32_t at = NO_REF, clause = 0;
        double best = INFINITY;
        for (uint32_t i = 0; i < is->shares.n; i++) {
            uint32_t k = 0;
            if (c.has[i])
                continue;
            const double is_added = added(m, &c, is->shares.v[i].cell, x, &k) / is->shares.v[i].weight;
            if (at == NO_REF || is_added < best) {
                best = is_added;
                at = i;
                clause = k;
            }
        }
        c.has[at] = true;
        left -= is->shares.v[at].weight;
        sum += best * is->shares.v[at].weight;
        for (uint32_t w = 0; w < m->image->n_words; w++)
            c.offers[w] |= m->image->clauses.v[clause].offers[w];
        const uint32_t at_least = m->image->clauses.v[clause].at_least + m->q->needs.v[need].bears_loss;
        c.at_least = at_least < c.at_least ? at_least : c.at_least;
    }
    const bool is_broken = !m->program.failed && left < wanted && sum < c.at_least - VIOLATED;
    if (!is_broken) {
        arena_reset(m->a, mark);
        return 0;
    }
    const uint32_t row = program_row(&m->program, c.at_least, INFINITY);
    for (uint32_t o = 0; o < m->q->offers.n; o++)
        if (bits_has(c.offers, o))
            program_entry(&m->program, row, m->offers[o], 1);
    return 1;
}

static uint32_t add_covers(struct place_maker *m, const double *x)
{
    uint32_t n = 0;
    for (uint32_t need = 0; need < m->q->needs.n && !m->program.failed; need++)
        if (!place_is_given_up(m->given_up, m->q->needs.v[need].promise))
            n += add_cover(m, need, x);
    return n;
}

/* ---- solving ---- */

static double *costs(struct solver *s, enum place_aim aim, double *step)
{
    double *cost = ARENA_ARRAY(s->m.a, double, s->m.program.columns.n);
    if (!cost)
        return NULL;
    place_costs(&s->m, aim, cost);
    *step = greatest_common(cost, s->m.program.columns.n);
    for (uint32_t i = 0; i < s->m.program.columns.n; i++)
        cost[i] /= *step;
    return cost;
}

/* The program with no column whole. */
static enum rt_code relax(struct solver *s, struct program_answer *out)
{
    double step;
    const double *cost = costs(s, PLACE_PRICE, &step);
    struct program relaxed = s->m.program;
    struct program_column *columns = ARENA_ARRAY(s->m.a, struct program_column, relaxed.columns.n);
    if (!cost || !columns)
        return RT_NOMEM;
    for (uint32_t i = 0; i < relaxed.columns.n; i++) {
        columns[i] = relaxed.columns.v[i];
        columns[i].is_whole = false;
    }
    relaxed.columns.v = columns;
    RT_TRY(
        program_least(s->m.run, &relaxed, cost, (struct program_limits){ .nodes = NODES, .seconds = left_s(s) }, out));
    out->bound *= step;
    return RT_OK;
}

static void keep_bound(struct solver *s, double bound)
{
    /* What is bounded from below by a little less than a whole number is bounded by that number. */
    const double whole = ceil(bound - 1e-4 * fmax(1, fabs(bound) * 1e-3));
    if (isfinite(whole) && (int64_t)whole + s->m.q->owing > s->best->bound)
        s->best->bound = (int64_t)whole + s->m.q->owing;
}

static bool is_good_enough(const struct solver *s)
{
    return s->best->is_found && (double)(s->best->price - s->best->bound) <=
                                    s->limits.gap * (double)s->best->price + 0.5 * (s->limits.gap > 0);
}

/* The quick search again, with what the relaxed choice has at hand. */
static enum rt_code search_near(struct solver *s, const double *x)
{
    const uint32_t n = s->m.q->offers.n;
    const int64_t bound = s->best->bound;
    double *hint = ARENA_ARRAY(s->m.a, double, n);
    if (!hint)
        return RT_NOMEM;
    for (uint32_t o = 0; o < n; o++)
        hint[o] = fmin(fmax(x[s->m.offers[o]], 0), 1);
    RT_TRY(place_search(s->m.run, s->m.q, s->m.given_up, hint, s->best));
    s->best->bound = bound;
    return RT_OK;
}

static enum rt_code tighten(struct solver *s)
{
    const double *x = NULL;
    for (int round = 0; round < RELAXED_ROUNDS && !is_over(s) && !is_good_enough(s); round++) {
        struct program_answer answer;
        RT_TRY(relax(s, &answer));
        if (!answer.is_found || !answer.is_best)
            return RT_OK;
        x = answer.x;
        keep_bound(s, answer.bound);
        const uint32_t n = place_add_rows(&s->m, answer.x, true) + add_covers(&s->m, answer.x);
        if (s->m.program.failed)
            return RT_NOMEM;
        if (!n)
            break;
    }
    return x && !is_over(s) && !is_good_enough(s) ? search_near(s, x) : RT_OK;
}

static enum rt_code solve(struct solver *s, enum place_aim aim, double gap, uint32_t nodes, double seconds,
                          struct program_answer *out)
{
    double step, *start = NULL;
    const double *cost = costs(s, aim, &step);
    if (!cost)
        return RT_NOMEM;
    if (s->best->is_found) {
        start = ARENA_ARRAY(s->m.a, double, s->m.program.columns.n);
        if (!start || !place_write(&s->m, s->best, start))
            return RT_NOMEM;
    }
    const struct program_limits limits = { .nodes = nodes ? (int)nodes : NODES,
                                           .seconds = seconds,
                                           .gap = gap,
                                           .start = start,
                                           .step = 1,
                                           .is_large = true,
                                           .is_interruptible = true };
    RT_TRY(program_least(s->m.run, &s->m.program, cost, limits, out));
    out->bound *= step;
    out->value *= step;
    return RT_OK;
}

/* Takes an answer of the program if it holds and is better. */
static enum rt_code take(struct solver *s, const double *x, bool *holds)
{
    struct placing_answer answer;
    const struct placing *q = s->m.q;
    if (!place_blank(s->m.a, q, &answer))
        return RT_NOMEM;
    place_read(&s->m, x, &answer);
    *holds = placing_holds(q, s->m.given_up, &answer);
    answer.price = placing_price(q, &answer);
    answer.n_boxes = place_n_boxes(q, &answer);
    if (!*holds || (s->best->is_found && answer.price > s->best->price))
        return RT_OK;
    answer.is_found = true;
    answer.bound = s->best->bound;
    *s->best = answer;
    return RT_OK;
}

/* Rounds of the least price; short ones as long as they bring up rows that were missing, since an answer that lacks some is lost.
 * *is_none: proven that there is no choice. */
static enum rt_code cheapest(struct solver *s, bool *is_none)
{
    bool is_last = false;
    *is_none = false;
    for (int round = 0; round < ROUNDS; round++) {
        struct program_answer answer;
        bool holds;
        if (is_good_enough(s) || is_over(s))
            return RT_OK;
        const double seconds = is_last ? left_s(s) : SLICE * left_s(s);
        RT_TRY(solve(s, PLACE_PRICE, s->limits.gap, s->limits.nodes, seconds, &answer));
        if (!answer.is_found) {
            *is_none = answer.is_best && !answer.is_cancelled;
            if (answer.is_best || answer.is_cancelled || is_last)
                return RT_OK;
            is_last = true;
            continue;
        }
        if (!answer.is_cancelled)
            keep_bound(s, answer.bound);
        RT_TRY(take(s, answer.x, &holds));
        if (!holds && !is_over(s))
            RT_TRY(search_near(s, answer.x));
        const uint32_t n = place_add_rows(&s->m, answer.x, false);
        if (s->m.program.failed)
            return RT_NOMEM;
        if (!n && (answer.is_best || is_last || s->limits.nodes))
            return RT_OK;
        is_last = !n;
    }
    return RT_OK;
}

/* Of equal price the fewest boxes, then the least power; a search that is cut short leaves the best so far. */
static enum rt_code neatest(struct solver *s)
{
    double step;
    const double *cost = costs(s, PLACE_PRICE, &step);
    if (!cost)
        return RT_NOMEM;
    const uint32_t row = program_row(&s->m.program, -INFINITY, (double)(s->best->price - s->m.q->owing) / step + 1e-4);
    for (uint32_t i = 0; i < s->m.program.columns.n; i++)
        if (cost[i] > 0)
            program_entry(&s->m.program, row, i, cost[i]);
    for (int round = 0; round < ROUNDS && !is_over(s); round++) {
        struct program_answer answer;
        RT_TRY(solve(s, PLACE_BOXES_SENT, 0, s->limits.nodes ? s->limits.nodes : LAST_NODES, left_s(s), &answer));
        if (!answer.is_found || answer.is_cancelled)
            return RT_OK;
        struct placing_answer next;
        if (!place_blank(s->m.a, s->m.q, &next))
            return RT_NOMEM;
        place_read(&s->m, answer.x, &next);
        if (placing_holds(s->m.q, s->m.given_up, &next)) {
            next.price = placing_price(s->m.q, &next);
            next.n_boxes = place_n_boxes(s->m.q, &next);
            if (next.price > s->best->price || next.n_boxes > s->best->n_boxes ||
                (next.n_boxes == s->best->n_boxes && place_sent_mw(s->m.q, &next) >= place_sent_mw(s->m.q, s->best)))
                return RT_OK;
            next.is_found = true;
            next.is_best = s->best->is_best;
            next.is_stopped = s->best->is_stopped;
            next.bound = s->best->bound;
            *s->best = next;
            return RT_OK;
        }
        if (!place_add_rows(&s->m, answer.x, false))
            return RT_OK;
        if (s->m.program.failed)
            return RT_NOMEM;
    }
    return RT_OK;
}

static enum rt_code begin(struct solver *s, const struct placing_answer *start, struct rt_problems *p)
{
    const struct placing *q = s->m.q;
    RT_TRY(placing_greedy(s->m.run, q, s->m.given_up, s->best, p));
    if (start && start->offers && placing_holds(q, s->m.given_up, start) &&
        (!s->best->is_found || placing_price(q, start) < s->best->price)) {
        if (!place_copy(s->m.a, q, start, s->best))
            return rt_fail_memory(p);
        s->best->price = placing_price(q, start);
        s->best->n_boxes = place_n_boxes(q, start);
        s->best->is_found = true;
    }
    s->best->bound = q->owing;
    s->best->is_best = s->best->is_stopped = false;
    s->m.image = ARENA_NEW(s->m.a, struct image);
    if (!s->m.image || !image_make(s->m.a, q, s->m.image) || !place_make(&s->m))
        return rt_fail_memory(p);
    return RT_OK;
}

enum rt_code placing_solve(const struct run *run, const struct placing *q, const bool *given_up,
                           const struct placing_answer *start, struct placing_limits limits, struct placing_answer *out,
                           struct rt_problems *p)
{
    struct solver s = {
        .m = { .run = run, .a = run->arena, .q = q, .given_up = given_up, .with_budget = true },
        .limits = limits,
        .until_s = place_now_s() + limits.seconds,
        .best = out,
    };
    bool is_none = false;
    RT_TRY(begin(&s, start, p));
    enum rt_code code = tighten(&s);
    const double all_s = left_s(&s);
    s.until_s -= LAST_SHARE * all_s;
    code = code ? code : cheapest(&s, &is_none);
    s.until_s += LAST_SHARE * all_s;
    out->is_best = (is_none && !out->is_found) || is_good_enough(&s);
    out->is_stopped = !out->is_best;
    /* A gap of all that it costs asks for any choice. */
    if (!code && out->is_found && limits.gap < 1 && !run_is_cancelled(run))
        code = neatest(&s);
    if (code == RT_CANCELLED)
        code = RT_OK;
    return code == RT_NOMEM ? rt_fail_memory(p) : code;
}
