/* Promises judged on the field of the cells that they ask for: the same verdicts, figures and words as on that of the whole house. */
#include <string.h>

#include "base/json.h"
#include "check.h"
#include "promise/promise.h"

enum {
    KINDS = 1 << PROMISE_SIGNAL | 1 << PROMISE_RATE | 1 << PROMISE_ROAMING | 1 << PROMISE_QUIET | 1 << PROMISE_SURVIVE
};

static void begin(struct check_run *c, const struct house *h, enum estimate estimate, struct evaluation *ev)
{
    struct field_options options = evaluation_default_options(h);
    options.cell_m = 0.5;
    options.trace.order = 1;
    options.trace.diffraction = h->floors.n < 3; /* the larger house without, for the time it takes */
    options.trace.estimate = estimate;
    CHECK_OK(c, evaluation_begin(ev, &c->run, h, options, &c->problems));
}

static struct str judged(struct check_run *c, struct evaluation *ev)
{
    struct promise_results results;
    struct buf out = { .arena = c->run.arena };
    struct json j = { .out = &out };
    CHECK_OK(c, promises_evaluate(ev, KINDS, &results, &c->problems));
    promises_write_json(&j, ev, &results, NULL, NULL);
    return buf_done(&out);
}

static uint32_t cells_lacking(const struct fields *f)
{
    uint32_t n = 0;
    for (uint32_t g = 0; g < f->grids.n; g++)
        for (uint32_t i = 0; i < f->grids.v[g].nx * f->grids.v[g].ny; i++)
            n += f->grids.v[g].inside[i] && !field_is_known(f, g, i % f->grids.v[g].nx, i / f->grids.v[g].nx);
    return n;
}

TEST(promises_read_nothing_but_what_they_ask_for)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++)
        for (int e = ESTIMATE_CAREFUL; e <= ESTIMATE_MIDDLE; e++) { /* of middle walls both ends are asked for */
            struct check_run c = check_run_begin();
            struct house *h;
            struct evaluation whole, part;
            const struct fields *f;
            CHECK_OK(&c, house_read(&c.run, check_path(&c, HOUSES[i]), &h, &c.problems));
            begin(&c, h, (enum estimate)e, &whole);
            begin(&c, h, (enum estimate)e, &part);
            for (int k = ESTIMATE_CAREFUL; k <= ESTIMATE_HOPEFUL; k++) {
                CHECK_OK(&c, evaluation_fields(&whole, (enum estimate)k, &f, &c.problems));
                CHECK("the whole field", fields_want_whole(f) && cells_lacking(f) == 0);
            }
            const struct str want = judged(&c, &whole), got = judged(&c, &part);
            CHECK("the same text", want.n > 1000 && str_eq(want, got));
            CHECK("a field was asked for", part.fields[e] && !fields_want_whole(part.fields[e]));
            print_message("    %s, %s: %u cells not computed\n", HOUSES[i], estimate_name((enum estimate)e),
                          cells_lacking(part.fields[e]));
            if (i == 0)
                CHECK("and not all of it", cells_lacking(part.fields[e]) > 100);
            /* asked for later, the rest comes too, the same */
            CHECK_OK(&c, evaluation_fields(&part, (enum estimate)e, &f, &c.problems));
            for (uint32_t g = 0; g < f->grids.n * f->radios.n; g++)
                CHECK("bytes",
                      memcmp(f->gain_db[g], whole.fields[e]->gain_db[g],
                             sizeof(float) * f->grids.v[g / f->radios.n].nx * f->grids.v[g / f->radios.n].ny) == 0);
            check_run_end(&c);
        }
}

/* Who reads where nothing was computed is told so, and judges nothing. */
TEST(what_was_not_computed_is_not_read)
{
    struct check_run c = check_run_begin();
    struct house *h;
    struct evaluation ev;
    struct fields *f = ARENA_NEW(c.run.arena, struct fields);
    struct stations *stations;
    struct promise_result r;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/larch_end.house.yaml"), &h, &c.problems));
    begin(&c, h, ESTIMATE_CAREFUL, &ev);
    CHECK_OK(&c, grids_of_house(&c.run, h, ev.options.cell_m, f, &c.problems));
    CHECK_OK(&c, fields_want_nothing(&c.run, f, &c.problems));
    CHECK_OK(&c, fields_compute(&c.run, h, ev.scene, ev.radios, ev.options, f, &c.problems));
    CHECK("stations", stations_choose(&c.run, h, f, NULL, &stations, &c.problems) == RT_MISSING);
    ev.fields[ESTIMATE_CAREFUL] = f;
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (h->promises.v[i].kind == PROMISE_SIGNAL || h->promises.v[i].kind == PROMISE_ROAMING) {
            CHECK("a promise", promise_evaluate(&ev, &h->promises.v[i], &r, &c.problems) == RT_MISSING);
            n++;
        }
    CHECK("some", n > 2);
    check_run_end(&c);
}
