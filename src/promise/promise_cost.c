/* `cost`: buying and running stay within what was promised, and each phase within its budget.
 *
 * What the promise names counts; where it is silent the house's budget stands in.  Money that is known to be spent breaks a promise
 * whatever else is missing; a promise that looks kept is unknown as long as a price of its own is not known. */
#include "base/units.h"
#include "promise/result.h"
#include "wire/bill.h"

/* One sum that must not be passed. */
struct limit {
    const char *what;
    uint32_t phase; /* NO_REF: of the whole house */
    bool is_yearly;
    int64_t most, comes_to;
};
typedef VEC(struct limit) limit_list;

struct cost {
    struct evaluation *ev;
    struct arena *a;
    const struct bill *bill;
    struct str currency;
    limit_list limits;
    bool failed;
};

static void add_limit(struct cost *c, const char *what, uint32_t phase, bool is_yearly, double most, int64_t comes_to)
{
    struct limit q = { what, phase, is_yearly, 0, comes_to };
    if (is_given(most) && money_amount(c->currency, most, 1.0, &q.most))
        c->failed |= !VEC_PUSH(c->a, &c->limits, q);
}

static void find_limits(struct cost *c, const struct promise *promise)
{
    const struct house *h = c->ev->h;
    const struct bill *b = c->bill;
    const uint32_t phase = promise->phase.i;
    if (phase != NO_REF) {
        add_limit(c, "purchase", phase, false, promise->purchase, b->phases[phase]);
        add_limit(c, "budget of the phase", phase, false, h->phases.v[phase].budget, b->phases[phase]);
        add_limit(c, "yearly", NO_REF, true, promise->yearly, b->yearly);
        return;
    }
    add_limit(c, "purchase", NO_REF, false, given_or(promise->purchase, h->budget.purchase), b->total);
    add_limit(c, "yearly", NO_REF, true, given_or(promise->yearly, h->budget.yearly), b->yearly);
    for (uint32_t i = 0; i < h->phases.n; i++)
        add_limit(c, "budget of the phase", i, false, h->phases.v[i].budget, b->phases[i]);
}

/* The limit that is nearest to being passed, or passed by most. */
static const struct limit *least(const struct cost *c)
{
    const struct limit *best = NULL;
    for (uint32_t i = 0; i < c->limits.n; i++) {
        const struct limit *q = &c->limits.v[i];
        if (!best || q->most - q->comes_to < best->most - best->comes_to)
            best = q;
    }
    return best;
}

static bool touches(const struct bill_gap *gap, const struct limit *q)
{
    return gap->is_yearly == q->is_yearly && (q->phase == NO_REF || gap->phase == q->phase);
}

/* Gaps that make one of the sums too low; the first of them. */
static const struct bill_gap *first_gap(const struct cost *c, uint32_t *n)
{
    const struct bill_gap *first = NULL;
    *n = 0;
    for (uint32_t i = 0; i < c->bill->gaps.n; i++) {
        const struct bill_gap *gap = &c->bill->gaps.v[i];
        bool counts = false;
        for (uint32_t k = 0; k < c->limits.n; k++)
            counts |= touches(gap, &c->limits.v[k]);
        if (counts && (*n)++ == 0)
            first = gap;
    }
    return first;
}

/* ---- in words ---- */

static void put_money(struct cost *c, struct buf *b, int64_t amount)
{
    buf_str(b, money_words(c->a, c->currency, amount));
}

struct largest {
    struct str what;
    int64_t total;
};

/* What one thing costs in the phase (NO_REF: in all), boxes and pieces of all its lines together. */
static int64_t total_of(const struct bill *b, struct str what, uint32_t phase)
{
    int64_t sum = 0;
    for (uint32_t i = 0; i < b->lines.n; i++)
        if (str_eq(b->lines.v[i].what, what) && (phase == NO_REF || b->lines.v[i].phase == phase))
            sum += b->lines.v[i].total;
    return sum;
}

enum { LARGEST_SHOWN = 3 };

/* The dearest things, dearest first; returns how many. */
static uint32_t find_largest(const struct bill *b, uint32_t phase, struct largest out[LARGEST_SHOWN])
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->lines.n; i++) {
        const struct largest q = { b->lines.v[i].what, total_of(b, b->lines.v[i].what, phase) };
        bool is_left_out = q.total == 0 || b->lines.v[i].kind == BILL_CONTINGENCY; /* a share of the others */
        for (uint32_t k = 0; k < n; k++)
            is_left_out |= str_eq(out[k].what, q.what);
        uint32_t at = n;
        while (at > 0 && out[at - 1].total < q.total)
            at--;
        if (is_left_out || at == LARGEST_SHOWN)
            continue;
        n += n < LARGEST_SHOWN;
        for (uint32_t k = n - 1; k > at; k--)
            out[k] = out[k - 1];
        out[at] = q;
    }
    return n;
}

static void tell_purchase(struct cost *c, struct buf *b, const struct limit *q)
{
    struct largest v[LARGEST_SHOWN];
    const uint32_t n = find_largest(c->bill, q->phase, v);
    for (uint32_t i = 0; i < n; i++) {
        buf_printf(b, "%s%.*s ", i ? ", " : "; most: ", STR_ARG(v[i].what));
        put_money(c, b, v[i].total);
    }
}

static void tell_year(struct cost *c, struct buf *b)
{
    const struct bill *bill = c->bill;
    buf_text(b, "; energy ");
    if (bill->energy_known)
        put_money(c, b, bill->energy);
    else
        buf_text(b, "not known");
    buf_text(b, ", the line ");
    if (bill->line_known)
        put_money(c, b, bill->line);
    else
        buf_text(b, "not known");
}

static void tell_sums(struct cost *c, struct buf *b, const struct limit *q)
{
    if (q->phase != NO_REF)
        buf_printf(b, "%.*s: ", STR_ARG(c->ev->h->phases.v[q->phase].id));
    put_money(c, b, q->comes_to);
    buf_text(b, " of ");
    put_money(c, b, q->most);
    buf_text(b, q->is_yearly ? " a year" : " to buy");
    if (q->is_yearly)
        tell_year(c, b);
    else
        tell_purchase(c, b, q);
}

/* ---- evidence ---- */

static struct fact *fact_money(struct cost *c, struct fact *parent, const char *key, int64_t amount)
{
    return fact_num(c->a, parent, key, money_value(c->currency, amount), c->bill->digits);
}

/* null where it is not known. */
static void fact_known(struct cost *c, struct fact *parent, const char *key, int64_t amount, bool is_known)
{
    fact_num(c->a, parent, key, is_known ? money_value(c->currency, amount) : RT_NOT_GIVEN, c->bill->digits);
}

static struct str phase_id(const struct cost *c, uint32_t phase)
{
    return phase == NO_REF ? STR("") : c->ev->h->phases.v[phase].id;
}

static void lines_facts(struct cost *c, struct fact *evidence)
{
    struct fact *list = fact_array(c->a, evidence, "lines");
    for (uint32_t i = 0; i < c->bill->lines.n; i++) {
        const struct bill_line *q = &c->bill->lines.v[i];
        struct fact *o = fact_object(c->a, list, NULL);
        c->failed |= !o;
        fact_str(c->a, o, "phase", phase_id(c, q->phase));
        fact_text(c->a, o, "kind", bill_kind_name(q->kind));
        fact_str(c->a, o, "what", q->what);
        fact_num(c->a, o, "count", q->count, 2);
        fact_str(c->a, o, "unit", q->unit);
        fact_num(c->a, o, "cable_m", q->length_m, 1);
        fact_num(c->a, o, "each", q->each, c->bill->digits);
        fact_money(c, o, "total", q->total);
        fact_bool(c->a, o, "owned", q->owned);
        fact_bool(c->a, o, "price_known", q->is_priced);
        fact_str(c->a, o, "for", q->why);
    }
}

static void limits_facts(struct cost *c, struct fact *evidence)
{
    struct fact *list = fact_array(c->a, evidence, "limits");
    for (uint32_t i = 0; i < c->limits.n; i++) {
        const struct limit *q = &c->limits.v[i];
        struct fact *o = fact_object(c->a, list, NULL);
        c->failed |= !o;
        fact_text(c->a, o, "what", q->what);
        fact_str(c->a, o, "phase", phase_id(c, q->phase));
        fact_money(c, o, "most", q->most);
        fact_money(c, o, "comes_to", q->comes_to);
        fact_money(c, o, "margin", q->most - q->comes_to);
    }
}

static void phases_facts(struct cost *c, struct fact *evidence)
{
    const struct house *h = c->ev->h;
    struct fact *list = fact_array(c->a, evidence, "phases");
    for (uint32_t i = 0; i < h->phases.n; i++) {
        struct fact *o = fact_object(c->a, list, NULL);
        c->failed |= !o;
        fact_str(c->a, o, "phase", h->phases.v[i].id);
        fact_str(c->a, o, "by_date", h->phases.v[i].by_date);
        fact_money(c, o, "purchase", c->bill->phases[i]);
        fact_num(c->a, o, "budget", h->phases.v[i].budget, c->bill->digits);
    }
    fact_money(c, evidence, "no_phase", c->bill->no_phase);
}

static void gaps_facts(struct cost *c, struct fact *evidence)
{
    struct fact *list = fact_array(c->a, evidence, "missing");
    for (uint32_t i = 0; i < c->bill->gaps.n; i++) {
        const struct bill_gap *q = &c->bill->gaps.v[i];
        struct fact *o = fact_object(c->a, list, NULL);
        c->failed |= !o;
        fact_str(c->a, o, "says", q->says);
        fact_str(c->a, o, "phase", phase_id(c, q->phase));
        fact_bool(c->a, o, "yearly", q->is_yearly);
    }
}

/* For comparison only: storeys and outbuildings, and how many of them have an access point. */
static void floors_facts(struct cost *c, struct fact *evidence)
{
    const struct house *h = c->ev->h;
    uint32_t n = 0, n_with = 0;
    for (uint32_t f = 0; f < h->floors.n; f++) {
        bool has_one = false;
        for (uint32_t e = 0; e < h->equipment.n; e++)
            has_one |= h->equipment.v[e].floor.i == f && h->equipment.v[e].part.i != NO_REF &&
                       h->parts.list.v[h->equipment.v[e].part.i].kind == PART_ACCESS_POINT;
        n += !h->floors.v[f].open_air;
        n_with += has_one && !h->floors.v[f].open_air;
    }
    fact_num(c->a, evidence, "floors", n, 0);
    fact_num(c->a, evidence, "floors_with_access_point", n_with, 0);
    fact_text(c->a, evidence, "floors_note", "an access point on every floor (common practice, no source)");
}

static void write_evidence(struct cost *c, struct fact *evidence)
{
    const struct bill *b = c->bill;
    fact_str(c->a, evidence, "currency", c->currency);
    fact_money(c, evidence, "purchase", b->total);
    phases_facts(c, evidence);
    struct fact *year = fact_object(c->a, evidence, "yearly");
    fact_num(c->a, year, "energy_kwh", b->kwh_per_year, 1);
    fact_known(c, year, "energy", b->energy, b->energy_known);
    fact_known(c, year, "line", b->line, b->line_known);
    fact_known(c, year, "total", b->yearly, b->energy_known && b->line_known);
    limits_facts(c, evidence);
    fact_num(c->a, evidence, "house_share", b->house_share, 5);
    if (is_given(b->house_share))
        fact_text(c->a, evidence, "note",
                  "a home network costs about one per cent of its house (common practice, no source)");
    floors_facts(c, evidence);
    lines_facts(c, evidence);
    gaps_facts(c, evidence);
}

static enum rt_code end_unknown(struct cost *c, struct promise_result *out, const struct bill_gap *gap, uint32_t n)
{
    struct buf more = { .arena = c->a };
    if (n > 1)
        buf_printf(&more, ", and %u more fact%s", n - 1, n > 2 ? "s" : "");
    return result_unknown(c->ev, out, "%.*s%.*s", STR_ARG(gap->says), STR_ARG(buf_done(&more)));
}

static enum rt_code judge(struct cost *c, struct promise_result *out, struct rt_problems *p)
{
    const struct limit *worst = least(c);
    uint32_t n_gaps;
    const struct bill_gap *gap = first_gap(c, &n_gaps);
    if (!worst)
        return result_unknown(c->ev, out, "say what it may cost: 'purchase' or 'yearly'");
    const int64_t margin = worst->most - worst->comes_to;
    if (margin >= 0 && gap)
        return end_unknown(c, out, gap, n_gaps);
    const struct str unit = str_dup(c->a, c->currency);
    struct buf reason = { .arena = c->a };
    tell_sums(c, &reason, worst);
    out->state = margin < 0 ? PROMISE_BROKEN : PROMISE_KEPT;
    out->margin = money_value(c->currency, margin);
    out->margin_decimals = c->bill->digits;
    out->unit = unit.p ? unit.p : "";
    out->reason = buf_done(&reason);
    return reason.failed || !unit.p ? rt_fail_memory(p) : RT_OK;
}

enum rt_code promise_cost(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                          struct rt_problems *p)
{
    struct cost c = { .ev = ev, .a = ev->run->arena, .currency = ev->h->currency };
    RT_TRY(evaluation_bill(ev, &c.bill, p));
    find_limits(&c, promise);
    write_evidence(&c, out->evidence);
    if (c.failed)
        return rt_fail_memory(p);
    return judge(&c, out, p);
}
