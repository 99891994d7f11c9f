/* The bill by kind, by phase and line by line, what a year costs, and what is left of the budget. */
#include <math.h>

#include "base/units.h"
#include "book/wires_int.h"

enum { KIND_COUNT = BILL_CONTINGENCY + 1, FOR_MOST = 6 };

/* "1 234.50", for columns whose head names the currency. */
static struct str amount(struct book *b, int64_t value)
{
    struct str words = money_words(b->arena, b->h->currency, value);
    if (words.n > b->h->currency.n)
        words.n -= b->h->currency.n + 1;
    return words;
}

static struct str money(struct book *b, int64_t value) { return money_words(b->arena, b->h->currency, value); }

/* A budget of the file in smallest units; false: none is given. */
static bool budget_of(struct book *b, double given, int64_t *out)
{
    return is_given(given) && money_amount(b->h->currency, given, 1.0, out);
}

/* "; the budget is 2 400.00 GBP, 2 027.29 GBP are left" */
static struct str left_words(struct book *b, double given, int64_t spent)
{
    int64_t budget;
    if (!budget_of(b, given, &budget))
        return STR("");
    const struct str whole = money(b, budget), rest = money(b, budget > spent ? budget - spent : spent - budget);
    return book_text(b, "; the budget is %.*s, %.*s %s", STR_ARG(whole), STR_ARG(rest),
                     spent > budget ? "too little" : "are left");
}

static const char *head_of(struct book *b, const char *what)
{
    return book_text(b, "%s, %.*s", what, STR_ARG(b->h->currency)).p;
}

/* ---- in short ---- */

static void write_kinds(struct book *b)
{
    static const char *const KINDS[KIND_COUNT] = {
        [BILL_PART] = "equipment",
        [BILL_CABLE] = "cable and cords",
        [BILL_OUTLET] = "sockets",
        [BILL_FIXING] = "fixing at mounts",
        [BILL_WORK] = "laying cable, holes, boards",
        [BILL_LABOUR] = "paid hours",
        [BILL_CONTINGENCY] = "what was not foreseen",
    };
    const struct flow_column columns[] = { { NULL, 120.0, FLOW_LEFT }, { head_of(b, "total"), 48.0, FLOW_RIGHT } };
    int64_t sums[KIND_COUNT] = { 0 };
    bool has[KIND_COUNT] = { false };
    for (uint32_t i = 0; i < b->bill->lines.n; i++) {
        const struct bill_line *q = &b->bill->lines.v[i];
        sums[q->kind] += q->total;
        has[q->kind] |= !q->owned;
    }
    flow_table(b->flow, columns, RT_COUNT(columns));
    for (int kind = 0; kind < KIND_COUNT; kind++) {
        const struct flow_cell cells[] = { cell_of(KINDS[kind]), cell(amount(b, sums[kind])) };
        if (has[kind])
            flow_row(b->flow, cells);
    }
    const struct flow_cell sum[] = { cell(STR("all together")), cell(amount(b, b->bill->total)) };
    flow_sum_row(b->flow, sum);
}

static void write_gaps(struct book *b, bool is_yearly)
{
    bool any = false;
    for (uint32_t i = 0; i < b->bill->gaps.n; i++) {
        const struct bill_gap *gap = &b->bill->gaps.v[i];
        if (gap->is_yearly != is_yearly)
            continue;
        if (!any)
            flow_text(b->flow, "Not known, so that this is too little:");
        any = true;
        flow_item(b->flow, "%.*s", STR_ARG(gap->says));
    }
}

static void write_beginning(struct book *b)
{
    const struct bill *bill = b->bill;
    if (!bill->total && !bill->gaps.n) {
        flow_text(b->flow, "Nothing is left to buy or to pay%.*s.",
                  STR_ARG(left_words(b, b->h->budget.purchase, bill->total)));
        return;
    }
    flow_text(b->flow, "To buy and to build: %.*s%.*s.", STR_ARG(money(b, bill->total)),
              STR_ARG(left_words(b, b->h->budget.purchase, bill->total)));
    write_kinds(b);
    if (is_given(bill->house_share))
        flow_soft(b->flow, "That is %.2g %% of what the house cost.", 100.0 * bill->house_share);
    write_gaps(b, false);
}

/* ---- line by line ---- */

static struct str count_words(struct book *b, const struct bill_line *q)
{
    return q->unit.n ? book_text(b, "%.*f %.*s", q->count < 100.0 && floor(q->count) < q->count ? 2 : 0, q->count,
                                 STR_ARG(q->unit))
                     : book_text(b, "%.0f", q->count);
}

static struct str each_words(struct book *b, const struct bill_line *q)
{
    int64_t each;
    if (!q->is_priced)
        return STR("not known");
    if (q->kind == BILL_CONTINGENCY)
        return book_text(b, "%.3g %%", 100.0 * b->h->budget.contingency_share);
    return money_amount(b->h->currency, q->each, 1.0, &each) ? amount(b, each) : STR("");
}

static bool is_bought(const struct bill_line *q)
{
    return !q->owned && (q->kind == BILL_PART || q->kind == BILL_CABLE || q->kind == BILL_OUTLET);
}

/* For what: all of few; of many so many, since the list of cables names each. */
static struct str for_words(struct book *b, struct str why)
{
    uint32_t n = 1;
    size_t end = why.n;
    for (size_t i = 0; i < why.n; i++)
        if (why.p[i] == ',' && ++n == FOR_MOST + 1)
            end = i;
    return n > FOR_MOST + 1 ? book_text(b, "%.*s and %u more", (int)end, why.p, n - FOR_MOST) : why;
}

static void write_line(struct book *b, const struct bill_line *q)
{
    const struct flow_cell cells[] = {
        { .text = q->what, .mark = is_bought(q) ? FLOW_TICK : FLOW_NO_MARK },
        cell(count_words(b, q)),
        cell(each_words(b, q)),
        cell(q->is_priced ? amount(b, q->total) : STR("")),
        cell_soft(for_words(b, q->why)),
    };
    flow_row(b->flow, cells);
}

/* Laying cable is priced by the way, and the ways are told with the cables: one line here. */
static bool is_laying(const struct bill_line *q, uint32_t phase)
{
    return !q->owned && q->kind == BILL_WORK && str_is(q->unit, "m") && q->phase == phase;
}

static void write_laying(struct book *b, uint32_t first)
{
    const struct bill *bill = b->bill;
    const uint32_t phase = bill->lines.v[first].phase;
    double count = 0.0;
    int64_t total = 0, most = 0, least = INT64_MAX;
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *q = &bill->lines.v[i];
        int64_t each = 0;
        if (!is_laying(q, phase))
            continue;
        if (i < first)
            return; /* told with the first */
        count += q->count;
        total += q->total;
        if (!q->is_priced || !money_amount(b->h->currency, q->each, 1.0, &each))
            continue;
        most = each > most ? each : most;
        least = each < least ? each : least;
    }
    const struct str prices = least < most
                                  ? book_text(b, "%.*s to %.*s", STR_ARG(amount(b, least)), STR_ARG(amount(b, most)))
                              : least == most ? amount(b, most)
                                              : STR("not known");
    const struct flow_cell cells[] = {
        cell(STR("laying cable, by its way")),
        cell(book_text(b, "%.2f m", count)),
        cell(prices),
        cell(amount(b, total)),
        cell_soft(STR("the ways in the chapter of the cables")),
    };
    flow_row(b->flow, cells);
}

static void write_lines(struct book *b, uint32_t phase)
{
    for (uint32_t i = 0; i < b->bill->lines.n; i++) {
        const struct bill_line *q = &b->bill->lines.v[i];
        if (q->owned || q->phase != phase)
            continue;
        if (is_laying(q, phase))
            write_laying(b, i);
        else
            write_line(b, q);
    }
}

static bool has_lines(const struct book *b, uint32_t phase)
{
    for (uint32_t i = 0; i < b->bill->lines.n; i++)
        if (!b->bill->lines.v[i].owned && b->bill->lines.v[i].phase == phase)
            return true;
    return false;
}

static struct str phase_words(struct book *b, uint32_t phase)
{
    const struct phase *f = &b->h->phases.v[phase];
    const struct str says = f->says.n ? f->says : book_id_words(b, f->id);
    return f->by_date.n ? book_text(b, "%.*s, by %.*s", STR_ARG(says), STR_ARG(f->by_date)) : says;
}

static void write_sum(struct book *b, int64_t sum)
{
    const struct flow_cell cells[] = { cell(STR("together")), cell(STR("")), cell(STR("")), cell(amount(b, sum)),
                                       cell(STR("")) };
    flow_sum_row(b->flow, cells);
}

static void write_bill(struct book *b)
{
    const struct bill *bill = b->bill;
    const struct flow_column columns[] = {
        { "what", 62.0, FLOW_LEFT },
        { "count", 17.0, FLOW_RIGHT },
        { head_of(b, "each"), 18.0, FLOW_RIGHT },
        { head_of(b, "total"), 19.0, FLOW_RIGHT },
        { "for", 52.0, FLOW_LEFT },
    };
    flow_section(b->flow, "money-bill", "The bill, line by line");
    flow_soft(b->flow,
              "What is to be bought has a box to tick; cable in whole boxes or metres.  Which way is laid at which "
              "price, and the cables of each line, are in bill.csv of `rooftree export --to csv`.");
    flow_table(b->flow, columns, RT_COUNT(columns));
    if (has_lines(b, NO_REF)) {
        if (b->h->phases.n)
            flow_group(b->flow, "In no phase");
        write_lines(b, NO_REF);
        write_sum(b, bill->no_phase);
    }
    for (uint32_t i = 0; i < b->h->phases.n; i++)
        if (has_lines(b, i)) {
            flow_group(b->flow, "%.*s", STR_ARG(phase_words(b, i)));
            write_lines(b, i);
            write_sum(b, bill->phases[i]);
        }
}

/* ---- phases ---- */

static void write_phases(struct book *b)
{
    const struct flow_column columns[] = {
        { "phase", 80.0, FLOW_LEFT },
        { head_of(b, "costs"), 28.0, FLOW_RIGHT },
        { head_of(b, "budget"), 30.0, FLOW_RIGHT },
        { head_of(b, "left"), 30.0, FLOW_RIGHT },
    };
    if (!b->h->phases.n)
        return;
    flow_section(b->flow, "money-phases", "By phase");
    flow_table(b->flow, columns, RT_COUNT(columns));
    for (uint32_t i = 0; i < b->h->phases.n; i++) {
        int64_t budget = 0;
        const int64_t spent = b->bill->phases[i];
        const bool has_budget = budget_of(b, b->h->phases.v[i].budget, &budget);
        struct flow_cell left = cell(has_budget ? amount(b, budget - spent) : STR(""));
        left.is_accent = has_budget && spent > budget;
        const struct flow_cell cells[] = { cell(phase_words(b, i)), cell(amount(b, spent)),
                                           cell(has_budget ? amount(b, budget) : STR("none")), left };
        flow_row(b->flow, cells);
    }
    if (b->bill->no_phase) {
        const struct flow_cell cells[] = { cell(STR("in no phase")), cell(amount(b, b->bill->no_phase)), cell(STR("")),
                                           cell(STR("")) };
        flow_row(b->flow, cells);
    }
}

/* What holds with the phases up to each, judged as the whole house is. */
static void write_keeps(struct book *b)
{
    uint32_t n_waiting = 0;
    for (uint32_t k = 0; k < b->stages.v.n; k++)
        n_waiting += b->stages.v.v[k].n_missing;
    if (!n_waiting) {
        flow_text(b->flow, "Nothing waits for a later phase: what is kept is kept from the first on.");
        return;
    }
    flow_heading(b->flow, "What each phase keeps");
    for (uint32_t k = 0; k < b->stages.v.n; k++) {
        const struct phase_stage *s = &b->stages.v.v[k];
        const uint32_t n_whole = b->results.n_kept;
        struct buf later = { .arena = b->arena };
        for (uint32_t i = 0; i < b->h->promises.n; i++)
            if (phase_is_later(b->ev, s, i))
                buf_printf(&later, "%s%.*s", later.n ? "; " : "", STR_ARG(b->h->promises.v[i].says));
        const struct str words = phase_words(b, s->phase);
        if (later.n)
            flow_item(b->flow, "With %.*s: %u of the %u promises that the whole house keeps; not yet: %.*s.",
                      STR_ARG(words), n_whole - s->n_later, n_whole, STR_ARG(buf_done(&later)));
        else
            flow_item(b->flow, "With %.*s: all %u promises that the whole house keeps.", STR_ARG(words), n_whole);
    }
    flow_soft(b->flow,
              "By date, each with those before it, with what is there already and what has no phase.  Promises "
              "about money, growth, single failures, hours, and who is kept apart are taken from the whole house.");
}

/* ---- what is there ---- */

static void write_owned(struct book *b)
{
    struct buf list = { .arena = b->arena };
    for (uint32_t i = 0; i < b->bill->lines.n; i++) {
        const struct bill_line *q = &b->bill->lines.v[i];
        if (q->owned)
            buf_printf(&list, "%s%.*s %.*s", list.n ? ", " : "", STR_ARG(count_words(b, q)), STR_ARG(q->what));
    }
    if (list.n && !list.failed)
        flow_soft(b->flow, "There already, and costs nothing: %.*s.", STR_ARG(buf_done(&list)));
}

/* ---- a year ---- */

static void write_year(struct book *b)
{
    const struct bill *bill = b->bill;
    const struct str energy = bill->energy_known ? money(b, bill->energy) : STR("not known"),
                     line = bill->line_known ? money(b, bill->line) : STR("not known"),
                     kwh = is_given(bill->kwh_per_year) ? book_text(b, " (%.0f kWh)", bill->kwh_per_year) : STR("");
    flow_section(b->flow, "money-year", "A year of running");
    flow_text(b->flow, "A year costs %.*s%.*s.  Energy%.*s: %.*s; the internet line: %.*s.",
              STR_ARG(money(b, bill->yearly)), STR_ARG(left_words(b, b->h->budget.yearly, bill->yearly)), STR_ARG(kwh),
              STR_ARG(energy), STR_ARG(line));
    write_gaps(b, true);
}

enum rt_code chapter_money(struct book *b, struct rt_problems *p)
{
    (void)p;
    flow_chapter(b->flow, "money", "What it costs");
    write_beginning(b);
    write_phases(b);
    if (b->h->phases.n && b->results.n)
        write_keeps(b);
    write_year(b);
    if (b->bill->total || b->bill->gaps.n)
        write_bill(b);
    write_owned(b);
    return RT_OK;
}
