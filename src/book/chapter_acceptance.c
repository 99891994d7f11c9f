/* The tests of the day: one table, a group for each promise, and room to sign. */
#include "book/acceptance.h"
#include "book/book_int.h"

#include <string.h>

#include "base/units.h"

static void tell_rules(struct book *b)
{
    struct flow *f = b->flow;
    flow_text(f, "Every promise of this house is tried here before it is handed over. Work from top to bottom, write "
                 "each reading "
                 "on its line, and tick the box if it passes. What is promised stands first; the figure in the column "
                 "\u201cpasses\u201d is the promise's own.");
    flow_heading(f, "How a level or a rate is read");
    flow_item(
        f,
        "Stand at the spot with the device in the hand as one uses it, at the height that is given. Distances are from "
        "the faces of the room's walls; walls are told by direction%s.",
        is_given(b->h->north_deg) ? "" : " (north is up on the drawings of this house)");
    flow_item(f, "Wait ten seconds, turn round once, slowly, and write down the middle of what it shows.");
    flow_item(f, "Doors stand as in everyday life, the household is at home.");
    flow_item(
        f, "A spot that falls short is read twice more, half a step to either side; the middle of the three counts.");
    flow_soft(
        f,
        "Computed levels and rates hold in the promised share of places: walls, furniture and people move a single "
        "reading several dB either way, mostly upward, since what is computed allows for that beforehand. Where many "
        "rooms are promised, the spot that decides stands here for each; `rooftree export --to csv` writes further "
        "ones, and all boxes for a spreadsheet, under the same numbers.");
}

static struct flow_cell cell(struct str text) { return (struct flow_cell){ .text = text }; }

static void write_row(struct book *b, const struct acceptance_row *row, uint32_t number)
{
    const bool is_read = is_given(row->at_least) || is_given(row->at_most); /* else there is no figure to write */
    const struct flow_cell cells[] = { { .text = book_text(b, "%u", number), .mark = FLOW_TICK },
                                       cell(row->where),
                                       cell(row->passes),
                                       { .mark = is_read ? FLOW_WRITE : FLOW_NO_MARK } };
    flow_row(b->flow, cells);
}

/* Where the boxes, or the figures, of a kind stand that is not tried by walking about; NULL: here. */
static const struct flow_cell *elsewhere(enum promise_kind kind)
{
    static const struct flow_cell CABLES = { .text = { "the boxes stand in the list of cables", 37 },
                                             .to = "cable-list" },
                                  GROWTH = { .text = { "reckoned at the desk: how to grow", 33 }, .to = "growth" },
                                  COST = { .text = { "reckoned at the desk: what it costs", 35 }, .to = "money" };
    return kind == PROMISE_CABLE ? &CABLES : kind == PROMISE_GROWTH ? &GROWTH : kind == PROMISE_COST ? &COST : NULL;
}

static void write_elsewhere(struct book *b, const struct promise_result *r, struct str how,
                            const struct flow_cell *there)
{
    static const struct flow_column COLUMN[] = { { NULL, 1.0, FLOW_LEFT } };
    flow_keep_begin(b->flow);
    flow_promise(b->flow, book_mark(r->state), r->promise->says, STR(""), how, "promises");
    flow_table(b->flow, COLUMN, RT_COUNT(COLUMN));
    flow_row(b->flow, there);
    flow_keep_end(b->flow);
}

/* How it is tried is said by the test before it. */
static bool is_told(const struct acceptance *list, const struct acceptance_test *test)
{
    return test > list->tests.v && str_eq(test[-1].how, test->how);
}

/* has_head: the first table under a heading says what its columns are, those below it are alike. */
static void write_test(struct book *b, const struct acceptance *list, const struct acceptance_test *test, bool has_head)
{
    const struct flow_column columns[] = { { has_head ? "" : NULL, 0.07, FLOW_LEFT },
                                           { has_head ? "where, and what to do" : NULL, 0.615, FLOW_LEFT },
                                           { has_head ? "passes" : NULL, 0.23, FLOW_LEFT },
                                           { has_head ? "read" : NULL, 0.085, FLOW_LEFT } };
    const struct promise_result *r = test->result;
    const struct str tells = is_told(list, test) ? STR("As above.") : test->how,
                     how = test->note.n ? book_text(b, "%.*s\n%.*s", STR_ARG(tells), STR_ARG(test->note)) : tells;
    const struct flow_cell *there = elsewhere(r->promise->kind);
    if (there) {
        write_elsewhere(b, r, how, there);
        return;
    }
    flow_keep_begin(b->flow);
    flow_promise(b->flow, book_mark(r->state), r->promise->says, STR(""), how, "promises");
    flow_table(b->flow, columns, RT_COUNT(columns));
    for (uint32_t i = 0; i < test->n; i++) {
        if (!list->rows.v[test->first + i].is_further)
            write_row(b, &list->rows.v[test->first + i], test->first + i + 1);
        if (i == 0)
            flow_keep_end(b->flow);
    }
    if (test->n == 0)
        flow_keep_end(b->flow);
}

static void write_signatures(struct book *b)
{
    static const char *const WHO[] = { "Tested by", "For the household" };
    static const char *const WHAT[] = { "Date", "Device that read the levels", "Cable tester" };
    static const char *const LEFT[] = { "Numbers that failed, and by when they will be mended" };
    static const char *const SIGNED[] = { "Signature, tester", "Signature, household" };
    flow_section(b->flow, "acceptance-sign", "Signed");
    flow_keep_begin(b->flow);
    flow_text(b->flow, "Both hands keep a copy. What is not ticked stands here with a date.");
    flow_write_lines(b->flow, WHO, RT_COUNT(WHO));
    flow_write_lines(b->flow, WHAT, RT_COUNT(WHAT));
    flow_write_lines(b->flow, LEFT, RT_COUNT(LEFT));
    flow_write_lines(b->flow, SIGNED, RT_COUNT(SIGNED));
    flow_keep_end(b->flow);
}

enum rt_code chapter_acceptance(struct book *b, struct rt_problems *p)
{
    struct acceptance *list = NULL;
    const char *heading = "";
    bool head_is_due = false;
    RT_TRY(acceptance_make(b->ev, &b->results, &list, p));
    flow_chapter(b->flow, "acceptance", "Tests of the day");
    if (list->tests.n == 0) {
        flow_text(b->flow, "Nothing was promised in the house file, so there is nothing to try.");
        return RT_OK;
    }
    tell_rules(b);
    for (uint32_t i = 0; i < list->tests.n; i++) {
        const char *of = promise_heading(list->tests.v[i].result->promise->kind);
        if (strcmp(of, heading) != 0) {
            head_is_due = true;
            flow_section(b->flow, book_text(b, "acceptance-%u", i).p, "%s", of);
        }
        heading = of;
        write_test(b, list, &list->tests.v[i], head_is_due);
        head_is_due &= elsewhere(list->tests.v[i].result->promise->kind) != NULL || !list->tests.v[i].n;
    }
    write_signatures(b);
    return RT_OK;
}
