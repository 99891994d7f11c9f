/* The bill by kind and by phase, what to buy, what a year costs, and what is left of the budget. */
#include <math.h>

#include "base/units.h"
#include "book/wires_int.h"

enum { KIND_COUNT = BILL_CONTINGENCY + 1 };

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

static void write_lines(struct book *b, uint32_t phase)
{
    for (uint32_t i = 0; i < b->bill->lines.n; i++) {
        const struct bill_line *q = &b->bill->lines.v[i];
        if (q->owned || q->phase != phase)
            continue;
        const struct flow_cell cells[] = {
            cell(q->what),          cell(count_words(b, q)),
            cell(each_words(b, q)), cell(q->is_priced ? amount(b, q->total) : STR("")),
            cell_soft(q->why),
        };
        flow_row(b->flow, cells);
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
        { "what", 66.0, FLOW_LEFT },
        { "count", 20.0, FLOW_RIGHT },
        { head_of(b, "each"), 20.0, FLOW_RIGHT },
        { head_of(b, "total"), 22.0, FLOW_RIGHT },
        { "for", 40.0, FLOW_LEFT },
    };
    flow_section(b->flow, "money-bill", "The bill, line by line");
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

/* ---- what to buy ---- */

static bool is_bought(const struct bill_line *q)
{
    return !q->owned && (q->kind == BILL_PART || q->kind == BILL_CABLE || q->kind == BILL_OUTLET);
}

/* A part's lines over all phases together. */
static bool write_part(struct book *b, uint32_t part)
{
    const struct bill *bill = b->bill;
    double count = 0.0;
    int64_t total = 0;
    const struct bill_line *any = NULL;
    bool is_priced = true;
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *q = &bill->lines.v[i];
        if (!is_bought(q) || q->part != part)
            continue;
        any = q;
        count += q->count;
        total += q->total;
        is_priced &= q->is_priced;
    }
    if (!any)
        return false;
    struct bill_line whole = *any;
    whole.count = count;
    const struct flow_cell cells[] = {
        { .text = count_words(b, &whole), .mark = FLOW_TICK, .is_strong = true },
        cell(any->what),
        cell_soft(install_id_words(b->arena, str_from(part_kind_name(b->h->parts.list.v[part].kind)))),
        cell(is_priced ? amount(b, total) : STR("not known")),
    };
    flow_row(b->flow, cells);
    return true;
}

static void write_shopping(struct book *b)
{
    const struct flow_column columns[] = { { "how many", 24.0, FLOW_LEFT },
                                           { "part", 84.0, FLOW_LEFT },
                                           { "kind", 30.0, FLOW_LEFT },
                                           { head_of(b, "total"), 30.0, FLOW_RIGHT } };
    flow_section(b->flow, "money-shopping", "What to buy");
    bool any = false;
    for (uint32_t i = 0; i < b->bill->lines.n; i++)
        any |= is_bought(&b->bill->lines.v[i]);
    if (!any) {
        flow_text(b->flow, "Nothing: all that is needed is there.");
        return;
    }
    flow_table(b->flow, columns, RT_COUNT(columns));
    for (uint32_t i = 0; i < b->h->parts.list.n; i++)
        (void)write_part(b, i);
    flow_soft(b->flow, "Each part once, over all phases; cable in whole boxes or metres.");
}

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
    const struct flow_column columns[] = { { NULL, 120.0, FLOW_LEFT }, { head_of(b, "a year"), 48.0, FLOW_RIGHT } };
    flow_section(b->flow, "money-year", "A year of running");
    flow_text(b->flow, "A year costs %.*s%.*s.", STR_ARG(money(b, bill->yearly)),
              STR_ARG(left_words(b, b->h->budget.yearly, bill->yearly)));
    flow_table(b->flow, columns, RT_COUNT(columns));
    const struct flow_cell energy[] = {
        cell(is_given(bill->kwh_per_year) ? book_text(b, "energy, %.0f kWh", bill->kwh_per_year) : STR("energy")),
        cell(bill->energy_known ? amount(b, bill->energy) : STR("not known")),
    };
    const struct flow_cell line[] = { cell(STR("the internet line")),
                                      cell(bill->line_known ? amount(b, bill->line) : STR("not known")) };
    const struct flow_cell sum[] = { cell(STR("together")), cell(amount(b, bill->yearly)) };
    flow_row(b->flow, energy);
    flow_row(b->flow, line);
    flow_sum_row(b->flow, sum);
    write_gaps(b, true);
}

enum rt_code chapter_money(struct book *b, struct rt_problems *p)
{
    (void)p;
    flow_chapter(b->flow, "money", "What it costs");
    write_beginning(b);
    write_phases(b);
    write_shopping(b);
    write_year(b);
    if (b->bill->total || b->bill->gaps.n)
        write_bill(b);
    write_owned(b);
    return RT_OK;
}
