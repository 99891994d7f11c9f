/* The bills of the three demo houses.  What does not depend on where cables lie is worked by hand from the house file and its parts
 * file. */
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "promise/promise.h"

static const struct house_case {
    const char *path;
    int64_t parts; /* bought equipment: price by price */
    int64_t cords; /* of new fixed cables, and cords that are cables */
    int64_t outlets;
    int64_t fixings;
    int64_t line; /* twelve months */
    double contingency_share;
} HOUSES[] = {
    /* A switch 68, an injector 48; four cables with a cord of 0.5 and of 2 m, and a cord as cable; a4 and the indoor camera with a socket, the garden's with one outdoors. */
    { "houses/larch_end.house.yaml", 6800 + 4800, 4 * (210 + 320) + 210, 2 * 740 + 1950, 0, 12 * 3800, 0.10 },
    /* a3 250, a4 113, a switch 139, two converters at 46; four cables with both cords, and two cords as cables; a3 and the yard's camera
     * outdoors, a4 and the calving camera indoors; front eaves 60, the beam 30, the tack room's wall 15. */
    { "houses/whin_farm.house.yaml", 25000 + 11300 + 13900 + 2 * 4600, 4 * (248 + 378) + 2 * 248, 2 * 873 + 2 * 2300,
      6000 + 3000 + 1500, 12 * 4900, 0.15 },
    /* A gateway, and the cord to it. */
    { "houses/quay_flat.house.yaml", 16300, 248, 0, 0, 12 * 3200, 0.10 },
};

static int64_t sum_of(const struct bill *b, enum bill_kind kind, bool of_cords)
{
    int64_t sum = 0;
    for (uint32_t i = 0; i < b->lines.n; i++) {
        const struct bill_line *q = &b->lines.v[i];
        if (q->kind == kind && (!of_cords || b->h->parts.list.v[q->part].kind == PART_CORD))
            sum += q->total;
    }
    return sum;
}

static void check_house(const struct house_case *q)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, q->path), &h, &c.problems));
    struct evaluation ev = { .run = &c.run, .h = h };
    const struct bill *b;
    CHECK_OK(&c, evaluation_bill(&ev, &b, &c.problems));
    CHECK_NEAR(q->path, (double)sum_of(b, BILL_PART, false), (double)q->parts, 0, "parts");
    CHECK_NEAR(q->path, (double)sum_of(b, BILL_CABLE, true), (double)q->cords, 0, "cords");
    CHECK_NEAR(q->path, (double)sum_of(b, BILL_OUTLET, false), (double)q->outlets, 0, "outlets");
    CHECK_NEAR(q->path, (double)sum_of(b, BILL_FIXING, false), (double)q->fixings, 0, "fixings");
    CHECK_NEAR(q->path, (double)b->line, (double)q->line, 0, "line");
    int64_t sum = 0, phases = b->no_phase;
    for (uint32_t i = 0; i < b->lines.n; i++) {
        const struct bill_line *l = &b->lines.v[i];
        sum += l->total;
        CHECK("known", l->is_priced && l->total >= 0);
        if (!l->owned)
            CHECK_NEAR(str_dup(c.run.arena, l->what).p, (double)l->total, 100.0 * l->each * l->count,
                       0.5 + 0.05 * l->each, "each times count");
    }
    for (uint32_t i = 0; i < h->phases.n; i++)
        phases += b->phases[i];
    CHECK_NEAR(q->path, (double)sum, (double)b->total, 0, "lines");
    CHECK_NEAR(q->path, (double)phases, (double)b->total, 0, "phases");
    const int64_t extra = sum_of(b, BILL_CONTINGENCY, false);
    CHECK_NEAR(q->path, (double)extra, q->contingency_share * (double)(b->total - extra), 1.5, "contingency");
    CHECK_NEAR(q->path, (double)b->energy, 100.0 * ev.energy->kwh_per_year * h->budget.energy_per_kwh, 0.51, "energy");
    CHECK("something is drawn", b->energy > 0);
    CHECK_NEAR(q->path, (double)b->yearly, (double)(b->energy + b->line), 0, "year");
    CHECK_NEAR(q->path, b->gaps.n, 0, 0, "facts missing");
    struct promise_results results;
    CHECK_OK(&c, promises_evaluate(&ev, 1u << PROMISE_COST, &results, &c.problems));
    for (uint32_t i = 0; i < results.n; i++) { /* a share of the other things is none of them */
        const struct str reason = results.v[i].reason;
        CHECK(q->path, results.v[i].state != PROMISE_UNKNOWN && !memmem(reason.p, reason.n, "not foreseen", 12));
    }
    CHECK_NEAR(q->path, results.n, 1, 0, "promise");
    check_run_end(&c);
}

TEST(larch_end) { check_house(&HOUSES[0]); }
TEST(whin_farm) { check_house(&HOUSES[1]); }
TEST(quay_flat) { check_house(&HOUSES[2]); }
