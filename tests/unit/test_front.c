/* What stands where in cabinets and on walls: nothing in the place of another, places of the file kept, ours by the rules that
 * front.h states (common practice, no source).  Sizes of rack parts: IEC 60297-3-100, from memory. */
#include "wire/front.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "data/cabinets.h"

struct stage {
    struct check_run c;
    struct house *h;
    struct front_plan *plan;
};

static struct stage finish(struct stage s)
{
    struct cable_plan *cables = NULL;
    struct power_plan *power = NULL;
    struct energy_plan *energy = NULL;
    CHECK_OK(&s.c, cables_plan(&s.c.run, s.h, &cables, &s.c.problems));
    CHECK_OK(&s.c, power_plan_make(&s.c.run, cables, NULL, &power, &s.c.problems));
    CHECK_OK(&s.c, energy_plan_make(&s.c.run, power, &energy, &s.c.problems));
    CHECK_OK(&s.c, front_plan_make(&s.c.run, energy, &s.plan, &s.c.problems));
    return s;
}

static struct stage stage_of_file(const char *path)
{
    struct stage s = { .c = check_run_begin() };
    CHECK_OK(&s.c, house_read(&s.c.run, check_path(&s.c, path), &s.h, &s.c.problems));
    return finish(s);
}

#define HEAD                                                                                                       \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: demo.parts.yaml\n" \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"                \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}\n"                   \
    "segments:\n  home: {vlan: 10}\nequipment:\n"
#define BOX(part) "  box: {part: " part ", room: den, at_m: [1, 0.2, 1.5]}\n"
#define IN(id, part, more) "  " id ": {part: " part ", inside: box" more "}\n"

static enum rt_code read_text(struct stage *s, const char *rest)
{
    const struct str text = str_from(arena_printf(s->c.run.arena, "%s%s", HEAD, rest));
    return house_read_bytes(&s->c.run, check_path(&s->c, "parts/test.house.yaml"), text, &s->h, &s->c.problems);
}

static struct stage stage_of(const char *rest)
{
    struct stage s = { .c = check_run_begin() };
    CHECK_OK(&s.c, read_text(&s, rest));
    return finish(s);
}

static const struct stand *find(const struct stage *s, const struct front *f, const char *id)
{
    for (uint32_t i = 0; i < f->stands.n; i++) {
        const struct stand *t = &f->stands.v[i];
        if ((t->kind == STAND_EQUIPMENT && str_is(s->h->equipment.v[t->which].id, id)) ||
            (t->kind == STAND_DEVICE && str_is(s->h->devices.v[t->which].id, id)) ||
            (t->kind == STAND_PATCH && strcmp(id, "(sockets)") == 0) ||
            (t->kind == STAND_STRIP && strcmp(id, "(strip)") == 0))
            return t;
    }
    check_text(id, STR("not there"), STR("there"), __FILE__, __LINE__);
    return NULL;
}

static void check_apart(const struct front *f)
{
    for (uint32_t i = 0; i < f->stands.n; i++) {
        const struct stand *a = &f->stands.v[i];
        if (!a->fits)
            continue;
        CHECK("within the front",
              a->x_m > -1e-9 && a->z_m > -1e-9 && a->x_m + a->w_m < f->w_m + 1e-9 && a->z_m + a->h_m < f->h_m + 1e-9);
        CHECK("rack units there are", !a->unit || (f->rack_units && a->unit + a->units - 1 <= f->rack_units));
        for (uint32_t k = 0; k < i; k++) {
            const struct stand *b = &f->stands.v[k];
            CHECK("apart", !b->fits || a->x_m + a->w_m < b->x_m + 1e-6 || b->x_m + b->w_m < a->x_m + 1e-6 ||
                               a->z_m + a->h_m < b->z_m + 1e-6 || b->z_m + b->h_m < a->z_m + 1e-6);
        }
    }
}

TEST(demo_houses_stand_apart)
{
    static const struct {
        const char *path;
        uint32_t n;
    } HOUSES[] = { { "houses/larch_end.house.yaml", 2 },   /* the cabinet; the switch in the workshop */
                   { "houses/quay_flat.house.yaml", 1 },   /* the hall */
                   { "houses/whin_farm.house.yaml", 2 } }; /* farm office; tack room */
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_of_file(HOUSES[k].path);
        CHECK_NEAR(HOUSES[k].path, s.plan->n, HOUSES[k].n, 0, "fronts");
        for (uint32_t i = 0; i < s.plan->n; i++) {
            check_apart(&s.plan->v[i]);
            for (uint32_t t = 0; t < s.plan->v[i].stands.n; t++)
                CHECK("has a place", s.plan->v[i].stands.v[t].fits);
        }
        check_run_end(&s.c);
    }
}

/* By the house file: eleven cables that are no cords come from outside; the recorder stands in it by its place, the server below it. */
TEST(larch_end_from_top_to_bottom)
{
    struct stage s = stage_of_file("houses/larch_end.house.yaml");
    const struct front *f = &s.plan->v[0];
    static const char *const ORDER[] = { "gateway", "(sockets)", "switch", "recorder", "(strip)", "battery" };
    CHECK_NEAR("cables", f->patched.n, 11, 0, "");
    for (size_t i = 1; i < RT_COUNT(ORDER); i++)
        CHECK(ORDER[i], find(&s, f, ORDER[i - 1])->z_m > find(&s, f, ORDER[i])->z_m);
    CHECK_NEAR("a unit", find(&s, f, "switch")->h_m, 0.04445, 1e-9, "m");
    CHECK_NEAR("a panel", find(&s, f, "switch")->w_m, 0.4826, 1e-9, "m");
    CHECK_NEAR("the cabinet's foot", f->foot_m, 1.30 - 0.50 / 2.0, 1e-9, "m");
    CHECK("ours", !find(&s, f, "switch")->is_given);
    /* mains: injector and battery; on the battery: gateway, switch, recorder (batteries: under_stairs: feeds) */
    CHECK_NEAR("plugs on the strip", f->n_strip, 2, 0, "");
    CHECK_NEAR("plugs on the battery", f->n_battery, 3, 0, "");
    CHECK_NEAR("batteries", f->batteries.n, 1, 0, "");
    check_run_end(&s.c);
}

TEST(units_of_the_file_are_kept)
{
    struct stage s =
        stage_of(BOX("cabinet_9u") IN("gw", "gateway_2g5", ", unit: 2") IN("sw", "switch_16_poe", ", unit: 5")
                     IN("ups", "battery_500",
                        "") "devices:\n"
                            "  tv: {kind: television, room: den, at_m: [5, 5, 1], segment: home, link: wired}\n"
                            "cables:\n  c: {from: sw, to: tv, length_m: 9}\n");
    const struct front *f = &s.plan->v[0];
    check_apart(f);
    CHECK_NEAR("gateway", find(&s, f, "gw")->unit, 2, 0, "");
    CHECK_NEAR("switch", find(&s, f, "sw")->unit, 5, 0, "");
    CHECK("both of the file", find(&s, f, "gw")->is_given && find(&s, f, "sw")->is_given);
    CHECK_NEAR("sockets over the switch", find(&s, f, "(sockets)")->unit, 6, 0, "");
    /* two units: under the gateway there is but one */
    CHECK_NEAR("battery as low as there is room", find(&s, f, "ups")->unit, 3, 0, "");
    CHECK_NEAR("strip below", find(&s, f, "(strip)")->unit, 1, 0, "");
    CHECK_NEAR("free", f->units_free, 9 - 6, 0, "");
    check_run_end(&s.c);
}

TEST(what_does_not_fit_is_told)
{
    struct stage s = stage_of(BOX("cabinet_6u") IN("a", "switch_24", "") IN("b", "switch_24", "") IN(
        "c", "switch_24", "") IN("d", "switch_24", "") IN("ups", "battery_500", "") IN("e", "switch_24", ""));
    const struct front *f = &s.plan->v[0];
    uint32_t n_out = 0;
    check_apart(f);
    for (uint32_t i = 0; i < f->stands.n; i++)
        n_out += !f->stands.v[i].fits;
    /* five switches of one unit leave one: not enough for the battery's two, but for the strip */
    CHECK_NEAR("one", n_out, 1, 0, "");
    CHECK("the battery", !find(&s, f, "ups")->fits && find(&s, f, "(strip)")->fits);
    CHECK_NEAR("free", f->units_free, 0, 0, "");
    check_run_end(&s.c);
}

/* A box without a rack, 0.4 m wide: a panel of 0.4826 m does not go in, a thing of 0.21 m does. */
TEST(a_box_without_a_rack)
{
    struct stage s = stage_of(BOX("cabinet_outdoor") IN("wide", "switch_24", "") IN("small", "switch_8_poe", ""));
    const struct front *f = &s.plan->v[0];
    check_apart(f);
    CHECK("no units", f->rack_units == 0 && find(&s, f, "small")->unit == 0);
    CHECK("it fits", find(&s, f, "small")->fits);
    CHECK("too wide", !find(&s, f, "wide")->fits);
    check_run_end(&s.c);
}

TEST(walls_keep_the_places_of_the_file)
{
    struct stage s = stage_of_file("houses/whin_farm.house.yaml");
    const struct front *f = &s.plan->v[0];
    /* 1.70 m up, 0.03 m high; places are middles */
    CHECK_NEAR("gateway", find(&s, f, "gateway")->z_m, 1.70 - 0.015, 1e-9, "m");
    CHECK_NEAR("battery of two units", find(&s, f, "battery")->z_m, 0.30 - 0.04445, 1e-9, "m");
    CHECK("of the file", find(&s, f, "gateway")->is_given && !find(&s, f, "(strip)")->is_given);
    CHECK("the recorder hangs with them", find(&s, f, "recorder")->fits);
    check_run_end(&s.c);
}

TEST(things_in_one_place_are_moved)
{
    struct stage s = stage_of("  gw: {part: gateway_1g, room: den, at_m: [1, 0.1, 1.5]}\n"
                              "  sw: {part: switch_8_poe, room: den, at_m: [1, 0.1, 1.5]}\n"
                              "  far: {part: switch_8_poe, room: den, at_m: [9, 7, 1.5]}\n");
    CHECK_NEAR("two walls", s.plan->n, 2, 0, "");
    const struct front *f = &s.plan->v[0];
    check_apart(f);
    CHECK("the first stays", !find(&s, f, "gw")->is_moved && find(&s, f, "sw")->is_moved);
    check_run_end(&s.c);
}

TEST(units_that_cannot_be)
{
    static const struct {
        const char *rest;
        enum rt_code code;
        const char *says;
    } CASES[] = {
        { "  gw: {part: gateway_2g5, room: den, at_m: [1, 1, 1], unit: 3}\n", RT_SHAPE, "stands in no cabinet" },
        { BOX("cabinet_6u") IN("gw", "gateway_2g5", ", unit: 7"), RT_RANGE, "reach to unit 7" },
        { BOX("cabinet_6u") IN("ups", "battery_500", ", unit: 6"), RT_RANGE, "reach to unit 7" },
        { BOX("cabinet_6u") IN("ups", "battery_500", ", unit: 1") IN("gw", "gateway_2g5", ", unit: 2"), RT_CONFLICT,
          "'ups' stands in that unit" },
        { BOX("cabinet_outdoor") IN("gw", "gateway_2g5", ", unit: 1"), RT_RANGE, "has 0" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct stage s = { .c = check_run_begin() };
        CHECK(CASES[i].says, read_text(&s, CASES[i].rest) == CASES[i].code);
        CHECK(CASES[i].says, s.c.problems.list.n == 1 && strstr(s.c.problems.list.v[0].msg, CASES[i].says));
        check_run_end(&s.c);
    }
}

/* The stack effect solved with SciPy's brentq for 60 W in the wall cabinet of environment.csv (0.8995 m2, 5.5 W/(m2 K)), slots of
 * 0.01 m2 0.45 m apart; closed: 60 / (5.5 x 0.8995). */
TEST(slots_let_warm_air_rise)
{
    CHECK_NEAR("closed", cabinet_rise_vented_k(60, 0.8995, 5.5, 0.0, 0.45), 12.12795, 1e-4, "K");
    CHECK_NEAR("slots", cabinet_rise_vented_k(60, 0.8995, 5.5, 0.01, 0.45), 7.87045, 1e-4, "K");
    CHECK_NEAR("no heat", cabinet_rise_vented_k(0, 0.8995, 5.5, 0.01, 0.45), 0, 1e-9, "K");
}
