/* `signal`: what is told of both directions, and of rooms in which nothing can be judged. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "promise/promise.h"

/* One access point, and a closet in which no point of a grid of 0.5 m lies. */
#define HOUSE                                                                                                      \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nparts_file: demo.parts.yaml\n" \
    "floors: {ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}}\n"                   \
    "rooms:\n  hall: {floor: ground, outline: [[0, 0], [7.9, 0], [7.9, 6], [0, 6]]}\n"                             \
    "  closet: {floor: ground, outline: [[7.9, 0], [8, 0], [8, 6], [7.9, 6]]}\n"                                   \
    "equipment: {a1: {part: ceiling_two_band, room: hall, at_m: [1, 1, 2.4]}}\npromises:\n"

struct judged {
    struct check_run c;
    struct promise_results results;
};

static void judge(struct judged *j, const char *promises)
{
    struct house *h = NULL;
    struct evaluation *ev;
    *j = (struct judged){ .c = check_run_begin() };
    struct check_run *c = &j->c;
    const char *path = arena_printf(c->run.arena, "%s/t.house.yaml", check_path(c, "parts"));
    const char *text = arena_printf(c->run.arena, "%s%s", HOUSE, promises);
    CHECK_OK(c, house_read_bytes(&c->run, path, str_from(text), &h, &c->problems));
    struct field_options options = evaluation_default_options(h);
    options.cell_m = 0.5;
    options.trace.order = 0;
    ev = ARENA_NEW(c->run.arena, struct evaluation);
    CHECK_OK(c, evaluation_begin(ev, &c->run, h, options, &c->problems));
    CHECK_OK(c, promises_evaluate(ev, 1u << PROMISE_SIGNAL | 1u << PROMISE_ROAMING, &j->results, &c->problems));
}

static double num(const struct fact *o, const char *key)
{
    const struct fact *f = fact_find(o, key);
    return f ? f->num : RT_NOT_GIVEN;
}

/* The access point is 9 dB louder than the phone, and hears as well: so far apart lie the two directions, at every spot. */
TEST(both_directions_are_told_apart)
{
    struct judged j;
    judge(&j, "  down: {kind: signal, says: d, rooms: [hall], bands: [5], level_dbm: -60, direction: down}\n"
              "  up: {kind: signal, says: u, rooms: [hall], bands: [5], level_dbm: -60, direction: up, "
              "uplink_level_dbm: -40}\n"
              "  both: {kind: signal, says: b, rooms: [hall], bands: [5], level_dbm: -60, direction: both, "
              "uplink_level_dbm: -40}\n");
    const struct fact *room[3], *spot[3];
    for (uint32_t i = 0; i < 3; i++) {
        room[i] = fact_find_first(j.results.v[i].evidence, "rooms");
        spot[i] = fact_find_first(room[i], "spots");
    }
    CHECK("down says nothing of the way back",
          !fact_find(room[0], "uplink_level_dbm") && !fact_find(j.results.v[0].evidence, "wanted_uplink_level_dbm"));
    const double apart_db = num(spot[1], "level_dbm") - num(spot[1], "uplink_level_dbm");
    for (uint32_t i = 1; i < 3; i++) {
        CHECK_NEAR("the level that the device hears", num(room[i], "level_dbm"), num(room[0], "level_dbm"), 0.051,
                   "dBm");
        CHECK_NEAR("its worst", num(room[i], "worst"), num(room[0], "worst"), 0.051, "dBm");
        CHECK_NEAR("as far apart", num(room[i], "level_dbm") - num(room[i], "uplink_level_dbm"), apart_db, 0.11, "dB");
        CHECK_NEAR("the margin is the uplink's", j.results.v[i].margin, num(room[i], "uplink_level_dbm") - -40.0, 0.051,
                   "dB");
        CHECK_NEAR("wanted", num(j.results.v[i].evidence, "wanted_uplink_level_dbm"), -40.0, 0, "dBm");
        const struct str title = j.results.v[i].witness.title, want = STR("uplink ");
        CHECK("the title is the uplink's", title.n > want.n && memcmp(title.p, want.p, want.n) == 0);
        for (const struct fact *s = spot[i]; s; s = s->next)
            CHECK_NEAR("at every spot", num(s, "level_dbm") - num(s, "uplink_level_dbm"), apart_db, 0.11, "dB");
    }
    CHECK("the phone is the weaker", apart_db > 3.0);
    check_run_end(&j.c);
}

TEST(a_room_without_a_spot_is_not_kept)
{
    struct judged j;
    judge(&j, "  unknown: {kind: signal, says: a, rooms: [closet, hall], level_dbm: -90}\n"
              "  broken: {kind: signal, says: b, rooms: [closet, hall], level_dbm: -25}\n"
              "  none: {kind: signal, says: c, rooms: [closet], level_dbm: -90}\n"
              "  kept: {kind: signal, says: d, rooms: [hall], level_dbm: -90}\n");
    static const enum promise_state WANT[] = { PROMISE_UNKNOWN, PROMISE_BROKEN, PROMISE_UNKNOWN, PROMISE_KEPT };
    for (uint32_t i = 0; i < RT_COUNT(WANT); i++) {
        const struct promise_result *r = &j.results.v[i];
        CHECK_NEAR(r->promise->says.p, r->state, WANT[i], 0, "state");
        CHECK("a unit has a figure", (r->unit[0] == 0) == !is_given(r->margin));
    }
    CHECK("it is named", memmem(j.results.v[0].reason.p, j.results.v[0].reason.n, "closet", 6) != NULL);
    check_run_end(&j.c);
}

TEST(no_margin_no_unit)
{
    struct judged j;
    judge(&j, "  stairs: {kind: roaming, says: r, rooms: [hall], level_dbm: -75}\n");
    CHECK("one access point", j.results.v[0].state == PROMISE_BROKEN && !is_given(j.results.v[0].margin));
    CHECK_TEXT("unit", str_from(j.results.v[0].unit), STR(""));
    check_run_end(&j.c);
}
