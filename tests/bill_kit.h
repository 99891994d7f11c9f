/* bill_kit.h - small houses for the tests of bills: parts of tests/houses/bill.parts.yaml, cables whose lengths the text gives,
 * links, laying, holes and energy as a plan would tell them. */
#ifndef RT_BILL_KIT_H
#define RT_BILL_KIT_H

#include "base/units.h"
#include "check.h"
#include "wire/bill.h"

#define BILL_HEAD                                                                                            \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                        \
    "parts_file: bill.parts.yaml\n"                                                                          \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"          \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [5, 0], [5, 8], [0, 8]], use: living}\n"               \
    "  yard: {floor: ground, outline: [[5, 0], [10, 0], [10, 8], [5, 8]], use: outdoor}\n"                   \
    "mounts:\n  ceiling: {room: den, at_m: [2, 2, 2.4], surface: ceiling, use: [access_point], price: 25}\n" \
    "  shelf: {room: den, at_m: [3, 2, 2.0], surface: shelf, use: [access_point]}\n"                         \
    "segments:\n  home: {vlan: 10}\n"
#define AT "room: den, at_m: [1, 1, 1]"
#define WIRED "room: den, at_m: [1, 1, 1], segment: home, link: wired"

enum { BILL_KIT_WORKS = 8 };

struct bill_house {
    struct check_run c;
    struct house *h;
    struct cable_plan plan;
    struct wire_links links;
    struct energy_plan energy;
    struct bill *bill;
};

/* All cables of category 6 and as long as the text says. */
static inline struct bill_house bill_house(const char *rest)
{
    struct bill_house b = { .c = check_run_begin() };
    struct arena *a = b.c.run.arena;
    const struct str text = str_from(arena_printf(a, "%s%s", BILL_HEAD, rest));
    CHECK_OK(&b.c,
             house_read_bytes(&b.c.run, check_path(&b.c, "tests/houses/test.house.yaml"), text, &b.h, &b.c.problems));
    const uint32_t n = b.h->cables.n;
    b.plan = (struct cable_plan){ .h = b.h, .cables = ARENA_ARRAY(a, struct routed_cable, n) };
    b.plan.work.v = ARENA_ARRAY(a, struct cable_work, BILL_KIT_WORKS);
    b.links = (struct wire_links){ .v = ARENA_ARRAY(a, struct wire_link, n), .n = n };
    b.energy = (struct energy_plan){ .kwh_per_year = RT_NOT_GIVEN };
    for (uint32_t i = 0; i < n; i++) {
        const struct cable *k = &b.h->cables.v[i];
        const bool is_fibre = k->part.i != NO_REF && str_is(b.h->parts.list.v[k->part.i].category, "os2");
        b.plan.cables[i] = (struct routed_cable){ .is_routed = is_given(k->length_m),
                                                  .why_not = STR("no way leads there"),
                                                  .fixed_m = k->length_m,
                                                  .cords_m = k->cord_from_m + k->cord_to_m };
        b.links.v[i] =
            (struct wire_link){ .cable = i, .category = is_fibre ? STR("os2") : STR("6"), .is_fibre = is_fibre };
    }
    return b;
}

static inline struct bill *bill_of(struct bill_house *b)
{
    CHECK_OK(&b->c, bill_make(&b->c.run, &b->plan, &b->links, &b->energy, &b->bill, &b->c.problems));
    return b->bill;
}

static inline uint32_t bill_cable_index(const struct bill_house *b, const char *id)
{
    for (uint32_t i = 0; i < b->h->cables.n; i++)
        if (str_is(b->h->cables.v[i].id, id))
            return i;
    fail_msg("no cable %s", id);
    return NO_REF;
}

static inline struct part *bill_part_of(const struct bill_house *b, const char *id)
{
    const uint32_t i = parts_find(&b->h->parts, str_from(id));
    if (i == NO_REF)
        fail_msg("no part %s", id);
    return &b->h->parts.list.v[i];
}

/* A hole or a board that up to two cables share. */
static inline void bill_work_at(struct bill_house *b, enum opening_work kind, double price, const char *one,
                                const char *other)
{
    struct cable_work *w = &b->plan.work.v[b->plan.work.n++];
    *w = (struct cable_work){ .kind = kind,
                              .construct = NO_REF,
                              .price = price,
                              .says = kind == WORK_HOLE ? STR("hole through brick") : STR("board lifted") };
    w->cables.v = ARENA_ARRAY(b->c.run.arena, struct ref, 2);
    w->cables.v[w->cables.n++].i = bill_cable_index(b, one);
    if (other)
        w->cables.v[w->cables.n++].i = bill_cable_index(b, other);
}

/* One leg for the whole of a cable. */
static inline void bill_leg(struct bill_house *b, const char *cable, enum run_kind kind, double price)
{
    struct routed_cable *r = &b->plan.cables[bill_cable_index(b, cable)];
    r->legs.v = ARENA_NEW(b->c.run.arena, struct cable_leg);
    r->legs.n = 1;
    r->legs.v[0] = (struct cable_leg){
        .run = NO_REF, .kind = kind, .length_m = r->fixed_m, .price = price, .says = STR("under the boards (generated)")
    };
}

/* The first line with these words and owned or not; NULL: none. */
static inline const struct bill_line *bill_find(const struct bill_house *b, const char *what, bool owned)
{
    for (uint32_t i = 0; i < b->bill->lines.n; i++)
        if (str_is(b->bill->lines.v[i].what, what) && b->bill->lines.v[i].owned == owned)
            return &b->bill->lines.v[i];
    return NULL;
}

static inline int64_t bill_sum(const struct bill *b)
{
    int64_t sum = 0;
    for (uint32_t i = 0; i < b->lines.n; i++)
        sum += b->lines.v[i].total;
    return sum;
}

#endif
