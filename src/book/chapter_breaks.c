/* When something breaks: for the night, with a torch.  First what one sees, the worst first; then what to do, by number. */
#include <stdlib.h>

#include "base/units.h"
#include "book/breaks_words.h"
#include "book/evidence.h"

enum { GONE_NAMED = 6, PROMISES_NAMED = 2 };

/* Rows of the table of failures, the worst first. */
struct breaks_order {
    const struct failure_row **v;
    uint32_t n;
};

static uint32_t n_lost(const struct failure_row *r) { return r->n_dead + r->n_cut_off; }

static int by_harm(const void *x, const void *y)
{
    const struct failure_row *a = *(const struct failure_row *const *)x, *b = *(const struct failure_row *const *)y;
    if (a->n_broken != b->n_broken)
        return a->n_broken < b->n_broken ? 1 : -1;
    if (n_lost(a) != n_lost(b))
        return n_lost(a) < n_lost(b) ? 1 : -1;
    return a < b ? -1 : a > b; /* rows of one array: their order is the table's */
}

static bool order_rows(struct book *b, struct breaks_order *out)
{
    const struct failure_table *t = b->draw.failures;
    out->v = ARENA_ARRAY(b->arena, const struct failure_row *, t->rows.n);
    out->n = 0;
    if (!out->v)
        return false;
    for (uint32_t i = 0; i < t->rows.n; i++)
        out->v[out->n++] = &t->rows.v[i];
    if (out->n)
        qsort(out->v, out->n, sizeof *out->v, by_harm);
    return true;
}

/* A cable needs no entry of its own: what it takes along stands with what hangs on it, and all cables are one table. */
static bool is_small(const struct failure_row *r) { return r->failure.kind == FAILURE_CABLE; }

/* ---- at first sight ---- */

static void write_overview(struct book *b, const struct breaks_order *o)
{
    static const struct flow_column COLUMNS[] = { { "no.", 0.05, FLOW_RIGHT },
                                                  { "what you see", 0.48, FLOW_LEFT },
                                                  { "what it may be", 0.33, FLOW_LEFT },
                                                  { "promises broken", 0.14, FLOW_RIGHT } };
    flow_section(b->flow, "breaks-overview", "What you see");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < o->n; i++) {
        if (is_small(o->v[i]))
            continue;
        const struct flow_cell cells[] = { { .text = book_text(b, "%u", i + 1), .is_strong = true },
                                           evidence_cell(breaks_symptom(b, o->v[i])),
                                           evidence_soft(o->v[i]->failure.says),
                                           evidence_cell(book_text(b, "%u", o->v[i]->n_broken)) };
        flow_row(b->flow, cells);
    }
    flow_soft(b->flow,
              "One thing alone is dead, and all else works: it, its plug, or its cable; all cables stand at the "
              "end of this chapter.");
}

static void write_first_steps(struct book *b)
{
    static const char *const CALLS[] = { "Provider of the line, number", "Electrician, number" };
    static const char *const BUILDER[] = { "Who built this network, number" };
    flow_text(
        b->flow,
        "Look before you pull anything. Restart one thing at a time and give it its minutes. Write down what you did.");
    flow_item(b->flow, "Is there light in the house? If not: without mains, below.");
    flow_item(b->flow, "Is it everything, one floor, or one thing? Find it in the table.");
    flow_item(b->flow,
              "Every cable bears its name at both ends; ports are named as switch:4, the fourth port of that switch.");
    flow_keep_begin(b->flow);
    flow_write_lines(b->flow, CALLS, RT_COUNT(CALLS));
    if (b->options->by.n)
        flow_text(b->flow, "Who built this network: %.*s.", STR_ARG(b->options->by));
    else
        flow_write_lines(b->flow, BUILDER, RT_COUNT(BUILDER));
    flow_keep_end(b->flow);
}

/* ---- one entry ---- */

static void write_line(struct book *b, const char *what, struct str text)
{
    const struct flow_cell cells[] = { { .text = str_from(what), .is_soft = true }, evidence_cell(text) };
    if (text.n)
        flow_row(b->flow, cells);
}

/* When each battery is empty; of the mains alone. */
static void write_batteries(struct book *b)
{
    const struct energy_plan *energy = b->draw.energy;
    for (uint32_t i = 0; energy && i < b->h->batteries.n; i++) {
        const struct battery_life *life = &energy->batteries[i];
        struct buf feeds = { .arena = b->arena };
        for (uint32_t k = 0; k < b->h->batteries.v[i].feeds.n; k++)
            buf_printf(&feeds, "%s%.*s", k ? ", " : "", STR_ARG(evidence_thing(b, b->h->batteries.v[i].feeds.v[k])));
        const struct str id = book_id_words(b, b->h->batteries.v[i].id);
        if (is_given(life->minutes))
            write_line(b, "on battery",
                       book_text(b, "for about %.0f min (%.*s): %.*s, and what these feed over their cables",
                                 life->minutes, STR_ARG(id), STR_ARG(buf_done(&feeds))));
        else
            write_line(b, "on battery",
                       book_text(b, "%.*s feeds %.*s; for how long is not known: %.*s", STR_ARG(id),
                                 STR_ARG(buf_done(&feeds)), STR_ARG(life->missing)));
    }
    if (!b->h->batteries.n)
        write_line(b, "on battery", STR("nothing: the house has no battery for its network"));
}

static void write_steps(struct book *b, const struct failure_row *row)
{
    const struct breaks_steps steps = breaks_steps_of(b, row);
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < steps.n; i++)
        buf_printf(&text, "%s%u. %.*s", i ? "\n" : "", i + 1, STR_ARG(steps.v[i]));
    write_line(b, "do", buf_done(&text));
}

static void write_entry(struct book *b, const struct failure_row *row, uint32_t number)
{
    static const struct flow_column COLUMNS[] = { { NULL, 0.14, FLOW_LEFT }, { NULL, 0.86, FLOW_LEFT } };
    const bool is_mains = row->failure.kind == FAILURE_MAINS;
    flow_keep_begin(b->flow);
    flow_heading(b->flow, "%u   Without %.*s", number, STR_ARG(row->failure.says));
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    write_line(b, is_mains ? "gone at once" : "gone with it", breaks_gone(b, row->damage, GONE_NAMED));
    const struct str broken = breaks_promises(b, row, true, PROMISES_NAMED);
    write_line(b, "broken", broken.n ? broken : STR("nothing that was promised"));
    if (is_mains)
        write_batteries(b);
    write_steps(b, row);
    flow_keep_end(b->flow);
}

/* ---- cables of one thing ---- */

static void write_small(struct book *b, const struct breaks_order *o)
{
    static const struct flow_column COLUMNS[] = { { "no.", 0.05, FLOW_RIGHT },
                                                  { "what you see", 0.29, FLOW_LEFT },
                                                  { "cable, from port to port", 0.35, FLOW_LEFT },
                                                  { "broken until it is mended", 0.31, FLOW_LEFT } };
    bool any = false;
    for (uint32_t i = 0; i < o->n; i++) {
        const struct failure_row *row = o->v[i];
        if (!is_small(row))
            continue;
        if (!any) {
            flow_section(b->flow, "breaks-cables", "Without a cable");
            flow_text(
                b->flow,
                "Look whether the thing itself is on. Then both plugs, the cord at either end, another free port of "
                "the same switch, a cable tester; last the cable itself, as the cable schedule has it.");
            flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
        }
        any = true;
        const struct str broken = breaks_promises(b, row, true, 1);
        const struct flow_cell cells[] = { { .text = book_text(b, "%u", i + 1), .is_strong = true },
                                           evidence_cell(breaks_symptom(b, row)),
                                           evidence_cell(book_text(b, "%.*s: %.*s",
                                                                   STR_ARG(b->h->cables.v[row->failure.i].id),
                                                                   STR_ARG(breaks_cable_ends(b, row->failure.i)))),
                                           evidence_soft(broken.n ? broken : STR("nothing that was promised")) };
        flow_row(b->flow, cells);
    }
}

enum rt_code chapter_breaks(struct book *b, struct rt_problems *p)
{
    struct breaks_order o = { 0 };
    flow_chapter(b->flow, "breaks", "When something breaks");
    if (!order_rows(b, &o))
        return rt_fail_memory(p);
    write_first_steps(b);
    if (o.n == 0) {
        flow_text(b->flow, "There is nothing in the house file yet that could fail.");
        return RT_OK;
    }
    write_overview(b, &o);
    flow_section(b->flow, "breaks-entries", "What to do, the worst first");
    flow_soft(b->flow, "What one sees stands above, under the same number.  What it does not break stays as it is.");
    for (uint32_t i = 0; i < o.n; i++)
        if (!is_small(o.v[i]))
            write_entry(b, o.v[i], i + 1);
    write_small(b, &o);
    return RT_OK;
}
