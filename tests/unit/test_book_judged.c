/* The chapters about promises, tests of the day, breaks and growth: nothing of the house is left out, and every figure to be read is the
 * promise's own.  Held against the house file and the results of the same evaluation; there is no outside reference for a book. */
#include <math.h>
#include <string.h>

#include "book/acceptance.h"
#include "book/breaks_words.h"
#include "book/flow_int.h"
#include "book/growth_steps.h"
#include "check.h"
#include "draw/gather.h"
#include "house/polygon.h"

static const char *const HOUSES[] = { "houses/quay_flat.house.yaml", "houses/larch_end.house.yaml" };

struct bench {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct book_options options;
    struct book book;
};

/* Coarse: no case here is about waves. */
static void judge(struct bench *b)
{
    struct field_options options = evaluation_default_options(b->h);
    options.cell_m = 1.0;
    options.trace.order = 0;
    options.trace.diffraction = false;
    CHECK_OK(&b->c, evaluation_begin(&b->ev, &b->c.run, b->h, options, &b->c.problems));
    b->options = (struct book_options){ .device = evaluation_radio_of(&b->ev, STR("")), .device_name = STR("phone") };
    b->book = (struct book){ .run = &b->c.run,
                             .arena = b->c.run.arena,
                             .h = b->h,
                             .ev = &b->ev,
                             .options = &b->options,
                             .draw = draw_options_usual(b->options.device, b->options.device_name),
                             .flow = flow_new(b->c.run.arena, FLOW_A4) };
    CHECK_OK(&b->c, draw_gather(&b->ev, &b->book.draw, &b->book.fields, &b->c.problems));
    CHECK_OK(&b->c, promises_evaluate(&b->ev, ALL_PROMISE_KINDS, &b->book.results, &b->c.problems));
    CHECK_OK(&b->c, evaluation_proof(&b->ev, &b->book.proof, &b->c.problems));
}

static void begin(struct bench *b, const char *path)
{
    b->c = check_run_begin();
    CHECK_OK(&b->c, house_read(&b->c.run, check_path(&b->c, path), &b->h, &b->c.problems));
    judge(b);
}

/* Does a text stand in a block, a cell or beneath a promise? */
static bool holds(struct str text, struct str part)
{
    for (size_t i = 0; part.n && i + part.n <= text.n; i++)
        if (memcmp(text.p + i, part.p, part.n) == 0)
            return true;
    return false;
}

static bool stands(const struct flow *f, struct str part)
{
    for (uint32_t i = 0; i < f->blocks.n; i++) {
        const struct block *b = &f->blocks.v[i];
        if (holds(b->text, part) || holds(b->more, part))
            return true;
        for (uint32_t k = 0; b->cells && k < b->grid->n; k++)
            if (holds(b->cells[k].text, part))
                return true;
    }
    return false;
}

TEST(every_promise_stands_once_under_its_mark)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct bench b;
        begin(&b, HOUSES[k]);
        CHECK_OK(&b.c, chapter_promises(&b.book, &b.c.problems));
        for (uint32_t i = 0; i < b.book.results.n; i++) {
            const struct promise_result *r = &b.book.results.v[i];
            uint32_t n = 0;
            for (uint32_t j = 0; j < b.book.flow->blocks.n; j++) {
                const struct block *block = &b.book.flow->blocks.v[j];
                if (block->kind != BLOCK_PROMISE || !str_eq(block->text, r->promise->says))
                    continue;
                n++;
                CHECK("its mark", block->mark == book_mark(r->state));
                CHECK("leads somewhere", block->to != NULL);
            }
            CHECK_NEAR("once", n, 1, 0, "");
        }
        check_run_end(&b.c);
    }
}

/* The figure that passes, from the promise as the file has it; NaN: its kind has none of its own. */
static double own_figure(const struct promise *q)
{
    switch (q->kind) {
    case PROMISE_SIGNAL:
    case PROMISE_ROAMING:
        return q->level_dbm;
    case PROMISE_RATE:
        return q->mbps;
    case PROMISE_QUIET:
        return q->max_busy_share * 100.0;
    case PROMISE_RECORDING:
        return q->days;
    case PROMISE_OUTAGE:
        return q->minutes;
    case PROMISE_COST:
        return q->purchase;
    default:
        return (double)NAN;
    }
}

static struct acceptance *tests_of(struct bench *b)
{
    struct acceptance *list = NULL;
    CHECK_OK(&b->c, acceptance_make(&b->ev, &b->book.results, &list, &b->c.problems));
    return list;
}

TEST(every_promise_has_a_test_with_its_own_figure)
{
    unsigned kinds = 0;
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct bench b;
        begin(&b, HOUSES[k]);
        const struct acceptance *list = tests_of(&b);
        CHECK_NEAR("tests", list->tests.n, b.h->promises.n, 0, "");
        for (uint32_t i = 0; i < list->tests.n; i++) {
            const struct acceptance_test *t = &list->tests.v[i];
            const double figure = own_figure(t->result->promise);
            bool found = isnan(figure);
            CHECK_NEAR("at least one box", t->n > 0, 1, 0, "");
            CHECK("says how", t->how.n > 0);
            kinds |= 1u << t->result->promise->kind;
            for (uint32_t j = t->first; j < t->first + t->n; j++) {
                const struct acceptance_row *row = &list->rows.v[j];
                CHECK("of this promise", &b.h->promises.v[row->promise] == t->result->promise);
                CHECK("where and what passes", row->where.n > 0 && row->passes.n > 0);
                found = found || fabs(row->at_least - figure) < 1e-9 || fabs(row->at_most - figure) < 1e-9;
            }
            CHECK("the promise's own figure is among them", found);
        }
        check_run_end(&b.c);
    }
    CHECK_NEAR("all kinds were seen", kinds, ALL_PROMISE_KINDS, 0, "");
}

/* Figures of the evidence: needed_mbps of each cable, drawn_w of each feed (docs/json.md). */
TEST(ports_and_cables_are_read_against_their_evidence)
{
    struct bench b;
    begin(&b, HOUSES[1]);
    const struct acceptance *list = tests_of(&b);
    uint32_t n = 0;
    for (uint32_t i = 0; i < list->tests.n; i++) {
        const struct acceptance_test *t = &list->tests.v[i];
        const bool is_power = t->result->promise->kind == PROMISE_POWER;
        if (!is_power && t->result->promise->kind != PROMISE_CABLE)
            continue;
        uint32_t j = t->first;
        for (const struct fact *f = fact_find_first(t->result->evidence, is_power ? "feeds" : "links"); f;
             f = f->next, j++, n++) {
            const struct acceptance_row *row = &list->rows.v[j];
            CHECK_NEAR("figure", is_power ? row->at_most : row->at_least,
                       fact_find_num(f, is_power ? "drawn_w" : "needed_mbps"), 1e-9, "");
            CHECK("names the cable", holds(row->where, fact_find_str(f, is_power ? "cable" : "id")));
        }
    }
    CHECK("there are some", n > 10);
    check_run_end(&b.c);
}

TEST(a_changed_promise_changes_its_tests)
{
    struct bench b;
    begin(&b, HOUSES[0]);
    const struct acceptance *before = tests_of(&b);
    const struct acceptance_test *t = &before->tests.v[0];
    CHECK_NEAR("a promise of level", t->result->promise->kind, PROMISE_SIGNAL, 0, "");
    const uint32_t first = t->first, n = t->n, which = before->rows.v[first].promise;
    const double level_dbm = before->rows.v[first].at_least;
    b.h->promises.v[which].level_dbm = level_dbm + 5.0;
    judge(&b);
    const struct acceptance *after = tests_of(&b);
    for (uint32_t i = first; i < first + n; i++)
        CHECK_NEAR("read against the new level", after->rows.v[i].at_least, level_dbm + 5.0, 1e-9, "dBm");
    check_run_end(&b.c);
}

/* Plane geometry: a spot lies in its room; the first has the value that decides; others are a step apart. */
TEST(spots_lie_in_their_room_and_the_first_decides)
{
    struct bench b;
    uint32_t n = 0;
    begin(&b, HOUSES[0]);
    for (uint32_t i = 0; i < b.book.results.n; i++)
        for (const struct fact *room = fact_find_first(b.book.results.v[i].evidence, "rooms"); room;
             room = room->next) {
            const uint32_t which = house_find_room(b.h, fact_find_str(room, "room"));
            const struct fact *spot = fact_find_first(room, "spots");
            const struct fact *value = spot ? spot->first->next : NULL;
            struct vec2 last = { INFINITY, INFINITY };
            CHECK("has a spot", value != NULL);
            CHECK_NEAR("decides", value->num, fact_find_num(room, value->key), 1e-9, "");
            for (; spot; spot = spot->next, n++) {
                const struct fact *x = fact_find_first(spot, "at_m");
                const struct vec2 at = { x->num, x->next->num };
                CHECK("in its room", polygon_contains(b.h->rooms.v[which].outline, at));
                CHECK("a step from the one before", !(vec2_len(vec2_sub(at, last)) < 1.0));
                last = at;
            }
        }
    CHECK("there are some", n > 20);
    check_run_end(&b.c);
}

TEST(every_failure_has_an_entry)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct bench b;
        begin(&b, HOUSES[k]);
        CHECK_OK(&b.c, chapter_breaks(&b.book, &b.c.problems));
        const struct failure_table *t = b.book.draw.failures;
        for (uint32_t i = 0; i < t->rows.n; i++) {
            const struct failure_row *row = &t->rows.v[i];
            const bool is_cable = row->failure.kind == FAILURE_CABLE;
            CHECK("has an entry", stands(b.book.flow, is_cable ? row->failure.id : row->failure.says));
            CHECK("what one sees stands there", stands(b.book.flow, breaks_symptom(&b.book, row)));
            CHECK("something can be done", breaks_steps_of(&b.book, row).n >= 3);
        }
        check_run_end(&b.c);
    }
}

/* The house file with a line put under its section. */
static struct str with_line(struct bench *b, struct str bytes, const struct growth_line *line)
{
    struct buf out = { .arena = b->c.run.arena };
    const char *head = arena_printf(b->c.run.arena, "\n%s:", line->section);
    const char *at = strstr(bytes.p, head);
    CHECK("the section is there", at != NULL);
    const char *end = strchr(at + 1, '\n') + 1;
    buf_add(&out, bytes.p, (size_t)(end - bytes.p));
    buf_printf(&out, "  %.*s\n", STR_ARG(line->line));
    buf_add(&out, end, bytes.n - (size_t)(end - bytes.p));
    return buf_done(&out);
}

/* The reader is the judge: what the book tells to write is taken as it stands. */
TEST(lines_for_the_house_file_are_read_as_they_stand)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct bench b;
        struct growth_addition additions[GROWTH_ADDITIONS];
        begin(&b, HOUSES[k]);
        const uint32_t n = growth_additions(&b.book, additions);
        CHECK("some can be added", n >= 3);
        for (uint32_t i = 0; i < n; i++) {
            struct str bytes = str_dup(b.c.run.arena, b.h->bytes);
            for (uint32_t j = 0; j < additions[i].n_lines; j++)
                bytes = with_line(&b, bytes, &additions[i].lines[j]);
            struct house *more = NULL;
            CHECK_OK(&b.c, house_read_bytes(&b.c.run, b.h->path, bytes, &more, &b.c.problems));
            CHECK("there is more of it", additions[i].n_lines == 0 || more->devices.n > b.h->devices.n ||
                                             more->equipment.n > b.h->equipment.n);
        }
        check_run_end(&b.c);
    }
}
