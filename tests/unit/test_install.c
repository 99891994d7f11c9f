/* What whoever pulls the cables is told: bits, dimensions and steps worked by hand in a small house; and in the demo houses all of
 * the plan, nothing else. */
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "wire/install.h"

/* Cables of 6.1 mm fill at most 0.4 of the hole: 6.1 * sqrt(n / 0.4), to the next bit.  Worked by hand. */
TEST(bits)
{
    static const struct {
        unsigned n;
        double outer_mm, needed_mm, bit_mm;
    } CASES[] = { { 1, 6.1, 9.64, 10 },  { 2, 6.1, 13.64, 14 }, { 3, 6.1, 16.71, 18 },
                  { 6, 6.1, 23.63, 25 }, { 1, 7.8, 12.33, 14 }, { 12, 7.4, 40.53, 45 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const double area_mm2 = CASES[i].n * RT_PI * CASES[i].outer_mm * CASES[i].outer_mm / 4.0;
        CHECK_NEAR("bit", install_bit_mm(area_mm2), CASES[i].bit_mm, 0.0, "mm");
        CHECK("no smaller than needed", CASES[i].bit_mm >= CASES[i].needed_mm);
    }
}

/* Outer walls 0.2 m thick round 8 m by 6 m, a wall of 0.1 m across at x 4: one cable from a switch left of it to a desk right of it. */
static const char HOUSE[] =
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: "
    "../parts/demo.parts.yaml\n"
    "constructs:\n  outer: { layers: [{ material: brick, thickness_m: 0.2 }] }\n"
    "  partition: { layers: [{ material: brick, thickness_m: 0.1 }] }\n"
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"
    "walls:\n  outside: { floor: ground, construct: outer, line: [[0, 0], [8, 0], [8, 6], [0, 6], [0, 0]] }\n"
    "  middle_wall: { floor: ground, construct: partition, line: [[4, 0], [4, 6]] }\n"
    "rooms:\n  left: { floor: ground, outline: [[0.1, 0.1], [3.95, 0.1], [3.95, 5.9], [0.1, 5.9]] }\n"
    "  right: { floor: ground, outline: [[4.05, 0.1], [7.9, 0.1], [7.9, 5.9], [4.05, 5.9]] }\n"
    "segments:\n  home: {}\nequipment:\n  switch: { part: switch_16_poe, room: left, at_m: [3.8, 2.5, 0.5] }\n"
    "devices:\n  desk: { kind: desktop, room: right, at_m: [4.3, 2, 0.5], segment: home, link: wired }\n"
    "cables:\n  c: { from: switch, to: desk, part: cable_6_m }\n";

TEST(a_hole_is_dimensioned)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    CHECK_OK(&c,
             house_read_bytes(&c.run, check_path(&c, "houses/larch_end.house.yaml"), str_from(HOUSE), &h, &c.problems));
    CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
    const struct install *in = install_make(c.run.arena, plan);
    CHECK("one hole", in && plan->work.n == 1 && plan->work.v[0].kind == WORK_HOLE);
    const struct install_work *w = &in->work[0];
    const struct vec3 at_m = plan->work.v[0].at_m;
    CHECK("through the middle wall", w->number == 1 && w->wall == 1 && !w->is_outer);
    CHECK("one dimension along it", w->n_dims == 1 && w->dims[0].wall == 0);
    CHECK_NEAR("from the face of the nearer outer wall", w->dims[0].m, fmin(at_m.y, 6.0 - at_m.y) - 0.1, 1e-9, "m");
    CHECK_NEAR("above the floor", w->above_m, at_m.z, 1e-9, "m");
    CHECK_NEAR("thickness", w->thickness_m, 0.1, 1e-9, "m");
    CHECK_NEAR("bit for a cable of 6.1 mm", w->diameter_mm, 10.0, 0.0, "mm");
    const char *words = arena_printf(c.run.arena, "in middle wall: %.2f m from outside, %.2f m above the floor",
                                     fmin(at_m.y, 6.0 - at_m.y) - 0.1, at_m.z);
    CHECK_TEXT("in words", install_place_words(c.run.arena, in, 0), str_from(words));
    CHECK_TEXT("mark", install_work_mark(c.run.arena, in, 0), STR("H1"));
    check_run_end(&c);
}

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

/* Steps are the legs: no metre more or less, one begins where the last ends; each piece of work is passed by its cables and no
 * other, forwards; what goes up or down by a quarter of a metre has a place. */
TEST(steps_are_the_plan)
{
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        struct cable_plan *plan = NULL;
        CHECK_OK(&c, house_read(&c.run, check_path(&c, HOUSES[f]), &h, &c.problems));
        CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
        const struct install *in = install_make(c.run.arena, plan);
        uint32_t n_passes = 0, n_uses = 0;
        for (uint32_t w = 0; w < plan->work.n; w++)
            n_uses += plan->work.v[w].cables.n;
        for (uint32_t k = 0; k < h->cables.n; k++) {
            const struct routed_cable *r = &plan->cables[k];
            const struct install_cable *of = &in->cables[k];
            double legs_m = 0.0, steps_m = 0.0;
            for (uint32_t i = 0; i < r->legs.n; i++)
                legs_m += r->legs.v[i].length_m;
            for (uint32_t i = 0; i < of->steps.n; i++) {
                const struct install_step *s = &of->steps.v[i];
                steps_m += s->length_m;
                if (i)
                    CHECK("goes on", vec3_len(vec3_sub(s->from_m, of->steps.v[i - 1].to_m)) < 0.1);
                if (s->heading == INSTALL_UP || s->heading == INSTALL_DOWN)
                    CHECK("has a place", (s->rise != NO_REF) == (fabs(s->to_m.z - s->from_m.z) >= INSTALL_RISE_M));
            }
            CHECK_NEAR("length", steps_m, legs_m, 1e-9, "m");
            CHECK_NEAR("sum", of->legs_m, legs_m, 1e-9, "m");
            for (uint32_t i = 0; i < of->passes.n; i++) {
                const struct cable_work *w = &plan->work.v[of->passes.v[i].work];
                bool is_its = false;
                for (uint32_t q = 0; q < w->cables.n; q++)
                    is_its |= w->cables.v[q].i == k;
                CHECK("its own work", is_its);
                CHECK("forwards", !i || of->passes.v[i - 1].step <= of->passes.v[i].step);
                n_passes++;
            }
        }
        CHECK("every use of every hole", n_passes == n_uses);
        for (uint32_t i = 0; i < in->rises.n; i++)
            for (uint32_t k = 0; k < in->rises.v[i].pieces.n; k++) {
                const struct install_piece *p = &in->rises.v[i].pieces.v[k];
                CHECK("and back", in->cables[p->cable].steps.v[p->step].rise == i);
            }
        check_run_end(&c);
    }
}

/* By the file: a boxed corner of Larch End is one place, with all cables that go up it. */
TEST(a_riser_is_one_place)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, HOUSES[0]), &h, &c.problems));
    CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
    const struct install *in = install_make(c.run.arena, plan);
    uint32_t n = 0;
    for (uint32_t i = 0; i < in->rises.n; i++) {
        if (in->rises.v[i].high_m < 7.0)
            continue;
        n++;
        CHECK("to both upper floors", in->rises.v[i].pieces.n >= 3);
        CHECK_NEAR("from the switch", in->rises.v[i].low_m, 1.25, 0.01, "m");
        CHECK_NEAR("to the space over the loft", in->rises.v[i].high_m, 7.96, 0.01, "m");
    }
    CHECK("one", n == 1);
    check_run_end(&c);
}
