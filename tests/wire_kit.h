/* wire_kit.h - small houses for the tests of wires and watts: a floor, a room, parts of tests/houses/wire.parts.yaml, and cables
 * whose lengths the text gives. */
#ifndef RT_WIRE_KIT_H
#define RT_WIRE_KIT_H

#include "base/units.h"
#include "check.h"
#include "wire/power.h"

#define WIRE_HEAD                                                                                          \
    "rooftree: 1\nname: Test\ncountry: IE\ntime_zone: Europe/Dublin\ncurrency: EUR\n"                      \
    "parts_file: wire.parts.yaml\n"                                                                        \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"        \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}\n"           \
    "runs:\n  void: {kind: ceiling_void, floors: [ground], outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n" \
    "segments:\n  home: {vlan: 10}\n"
#define WIRE_AT "room: den, at_m: [1, 1, 1]"
#define WIRED "room: den, at_m: [1, 1, 1], segment: home, link: wired"

struct wire_house {
    struct check_run c;
    struct house *h;
    struct cable_plan *cables;
    struct power_plan *power;
};

/* As a plan of routes would tell it for cables whose lengths the house file gives. */
static inline struct cable_plan *wire_lengths(struct check_run *c, const struct house *h)
{
    struct cable_plan *plan = ARENA_NEW(c->run.arena, struct cable_plan);
    plan->h = h;
    plan->cables = ARENA_ARRAY(c->run.arena, struct routed_cable, h->cables.n);
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct cable *k = &h->cables.v[i];
        plan->cables[i] = (struct routed_cable){ .is_routed = is_given(k->length_m),
                                                 .length_given = is_given(k->length_m),
                                                 .fixed_m = k->length_m,
                                                 .cords_m = k->cord_from_m + k->cord_to_m,
                                                 .mains_m = RT_NOT_GIVEN };
    }
    return plan;
}

static inline struct wire_house wire_house(const char *rest)
{
    struct wire_house w = { .c = check_run_begin() };
    const struct str text = str_from(arena_printf(w.c.run.arena, "%s%s", WIRE_HEAD, rest));
    CHECK_OK(&w.c,
             house_read_bytes(&w.c.run, check_path(&w.c, "tests/houses/test.house.yaml"), text, &w.h, &w.c.problems));
    w.cables = wire_lengths(&w.c, w.h);
    CHECK_OK(&w.c, power_plan_make(&w.c.run, w.cables, NULL, &w.power, &w.c.problems));
    return w;
}

/* The feed of a device or an equipment; fails the test where there is none. */
static inline const struct power_feed *wire_feed(const struct wire_house *w, const char *id)
{
    const uint32_t d = house_find_device(w->h, str_from(id)), e = house_find_equipment(w->h, str_from(id));
    const uint32_t i = d != NO_REF   ? w->power->feed_of_device[d]
                       : e != NO_REF ? w->power->feed_of_equipment[e]
                                     : NO_REF;
    CHECK(id, i != NO_REF);
    return &w->power->feeds.v[i];
}

#endif
