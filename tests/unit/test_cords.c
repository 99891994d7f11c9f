/* Two things in one cabinet are joined by a cord of the parts file, unless the house file says otherwise. */
#include "base/units.h"
#include "check.h"
#include "wire/cables.h"

#define HOUSE(cable)                                                                                \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: "   \
    "../parts/demo.parts.yaml\n"                                                                    \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n" \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]] }\n"                \
    "walls:\n  side: { floor: ground, construct: stud_wall, line: [[0, 0], [0, 6]] }\n"             \
    "equipment:\n  box: { part: cabinet_9u, room: hall, at_m: [0.3, 3, 1] }\n"                      \
    "  gate: { part: gateway_1g, inside: box }\n  switch: { part: switch_16_poe, inside: box }\n"   \
    "  far: { part: switch_16_poe, room: hall, at_m: [0.3, 5, 1] }\n"                               \
    "cables:\n  c: { " cable " }\n"

TEST(a_cord_where_nothing_else_is_said)
{
    static const struct {
        const char *what, *text, *part; /* part "": left to be chosen */
    } CASES[] = {
        { "in one cabinet", HOUSE("from: gate, to: switch"), "cord_0m5" },
        { "the other way", HOUSE("from: switch, to: gate"), "cord_0m5" },
        { "a length is said", HOUSE("from: gate, to: switch, length_m: 3"), "" },
        { "a cable is said", HOUSE("from: gate, to: switch, part: cable_6_m"), "cable_6_m" },
        { "it is owned", HOUSE("from: gate, to: switch, owned: true"), "" },
        { "one of them stands elsewhere", HOUSE("from: gate, to: far"), "" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/larch_end.house.yaml"), str_from(CASES[i].text),
                                      &h, &c.problems));
        const uint32_t part = h->cables.v[0].part.i;
        CHECK_TEXT(CASES[i].what, part == NO_REF ? STR("") : h->parts.list.v[part].id, str_from(CASES[i].part));
        check_run_end(&c);
    }
}

TEST(it_is_that_cord_and_no_work)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/larch_end.house.yaml"),
                                  STR(HOUSE("from: gate, to: switch")), &h, &c.problems));
    CHECK_OK(&c, cables_plan(&c.run, h, &plan, &c.problems));
    CHECK("routed", plan->cables[0].is_routed && plan->work.n == 0);
    CHECK_NEAR("its length", plan->cables[0].fixed_m, 0.5, 0.0, "m");
    CHECK_NEAR("no cords of its own", plan->cables[0].cords_m, 0.0, 0.0, "m");
    check_run_end(&c);
}
