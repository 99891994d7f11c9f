/* For every kind of promise some test changes one fact so that it turns from kept to broken and the margin says by how much:
 *
 *   signal, roaming, exposure   here: the power of an access point, a second radio
 *   rate, quiet                 test_airtime.c: a neighbour's busy share
 *   apart, reach, hours         test_policy_promises.c: a statement, a group's hours (proven or a witness: they have no figure)
 *   power                       test_power_promises.c: the class a camera asks for, the budget of what feeds
 *   cable                       test_links.c: a run of 120 m; test_cable_rules.c: a duct's area, mains, splices
 *   line                        test_line_promise.c: the line's rate, its cap, its delay
 *   recording                   test_recordings.c: the disk, the days
 *   outage                      test_energy.c: the battery
 *   survive                     test_failures.c
 *   growth                      test_growth.c, test_growth_load.c, test_growth_store.c: each resource by itself
 *   cost                        test_cost_promise.c: the budget
 */
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "promise/promise.h"

#define HEAD                                                                                      \
    "rooftree: 1\nname: Test\ncurrency: GBP\n"                                                    \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}\n" \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], use: living}\n"    \
    "segments:\n  home: {vlan: 10}\nssids:\n  one: {segment: home, bands: [5], security: wpa3}\n"
#define DEMO "country: GB\ntime_zone: Europe/London\nparts_file: ../../parts/demo.parts.yaml\n"
#define LOUD "country: US\ntime_zone: America/New_York\nparts_file: loud.parts.yaml\n"
#define AP(id, x, z, power)                                                                                    \
    "  " id ": {part: ceiling_two_band, room: den, at_m: [" x ", 3, " z "], radios: [{band: 2.4, off: true}, " \
    "{band: 5, channel: 36, width_mhz: 80, power_dbm: " power "}]}\n"

/* The only promise of a house without bounces and edges. */
static struct promise_result judge(struct check_run *c, const char *parts, const char *text)
{
    const struct str whole = str_from(arena_printf(c->run.arena, "%s%s%s", HEAD, parts, text));
    struct house *h = NULL;
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "tests/houses/test.house.yaml"), whole, &h, &c->problems));
    struct field_options options = evaluation_default_options(h);
    options.cell_m = 0.5;
    options.trace.order = 0;
    options.trace.diffraction = false;
    struct evaluation *ev = ARENA_NEW(c->run.arena, struct evaluation);
    struct promise_results results;
    CHECK_OK(c, evaluation_begin(ev, &c->run, h, options, &c->problems));
    CHECK_OK(c, promises_evaluate(ev, ALL_PROMISE_KINDS, &results, &c->problems));
    CHECK("one promise", results.n == 1);
    return results.v[0];
}

/* Ten dB less power are ten dB less level: what was kept by 3 dB is broken by 7. */
static void check_ten_db_less(const char *strong, const char *weak, const char *promise)
{
    struct check_run c = check_run_begin();
    const struct promise_result first =
        judge(&c, DEMO, arena_printf(c.run.arena, "%spromises:\n  p: {%s, level_dbm: -70}\n", strong, promise));
    const double level_dbm = -70.0 + first.margin - 3.0;
    const struct promise_result kept = judge(
        &c, DEMO, arena_printf(c.run.arena, "%spromises:\n  p: {%s, level_dbm: %.6f}\n", strong, promise, level_dbm));
    CHECK("kept", kept.state == PROMISE_KEPT);
    CHECK_NEAR("by", kept.margin, 3.0, 1e-3, "dB");
    const struct promise_result broken = judge(
        &c, DEMO, arena_printf(c.run.arena, "%spromises:\n  p: {%s, level_dbm: %.6f}\n", weak, promise, level_dbm));
    CHECK("broken", broken.state == PROMISE_BROKEN);
    CHECK_NEAR("by", broken.margin, -7.0, 1e-3, "dB");
    check_run_end(&c);
}

TEST(signal_by_the_power_of_the_access_point)
{
    check_ten_db_less("equipment:\n" AP("a", "2", "2.45", "10"), "equipment:\n" AP("a", "2", "2.45", "0"),
                      "kind: signal, says: heard, rooms: [den], bands: [5]");
}

/* Both hang alike, so the worst spot for the second is as far from the one as the other's from the other. */
TEST(roaming_by_the_power_of_the_second)
{
    check_ten_db_less("equipment:\n" AP("a", "2", "2.45", "10") AP("b", "6", "2.45", "10"),
                      "equipment:\n" AP("a", "2", "2.45", "10") AP("b", "6", "2.45", "0"),
                      "kind: roaming, says: handed over, rooms: [den], area_share: 1");
}

/* 1 W of EIRP 0.2 m away is 1 W / (4 pi 0.04 m2) = 1.99 W/m2, four times that where all is thrown back (OET Bulletin 65, equation 6,
 * from memory), of 10 W/m2 (ICNIRP 2020, table 5, from memory): 0.99 dB below; of two such radios 2.02 dB above. */
TEST(exposure_by_a_second_radio)
{
    static const struct {
        const char *first;
        double margin_db;
    } CASES[] = { { "off: true", 0.9922 }, { "channel: 6, width_mhz: 20, power_dbm: 24", -2.0181 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct promise_result r =
            judge(&c, LOUD,
                  arena_printf(
                      c.run.arena,
                      "equipment:\n  a: {part: horn, room: den, at_m: [2, 3, 1.2], radios: [{band: 2.4, %s}, {band: 5, "
                      "channel: 149, width_mhz: 20, power_dbm: 24}]}\npromises:\n  p: {kind: exposure, says: below}\n",
                      CASES[i].first));
        CHECK("state", r.state == (CASES[i].margin_db > 0.0 ? PROMISE_KEPT : PROMISE_BROKEN));
        CHECK_NEAR("by", r.margin, CASES[i].margin_db, 1e-3, "dB");
        check_run_end(&c);
    }
}

#define HORN(id, at)                              \
    "  " id ": {part: horn, room: den, at_m: " at \
    ", radios: [{band: 2.4, off: true}, {band: 5, channel: 149, width_mhz: 20, power_dbm: 24}]}\n"

/* The same 0.796 of the limit for each radio 0.2 m away: two access points side by side give it twice; one 2 m off a hundredth of it more
 * (0.2 m against 2 m: 1/100).  Both above the den's tallest people, 0.5 m away and 0.5 m apart, give most between them:
 * 2 * 0.796 * 0.04 / (0.25 + 0.0625). */
TEST(exposure_by_a_second_access_point)
{
    static const struct {
        const char *equipment;
        double share;
    } CASES[] = {
        { HORN("a", "[2, 3, 1.2]"), 0.79577 },
        { HORN("a", "[2, 3, 1.2]") HORN("b", "[2, 3.02, 1.2]"), 2 * 0.79577 },
        { HORN("a", "[2, 3, 1.2]") HORN("b", "[2, 5, 1.2]"), 1.01 * 0.79577 },
        { HORN("a", "[2, 3, 2.5]") HORN("b", "[2, 3.5, 2.5]"), 2 * 0.79577 * 0.04 / 0.3125 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const struct promise_result r =
            judge(&c, LOUD,
                  arena_printf(c.run.arena, "equipment:\n%spromises:\n  p: {kind: exposure, says: below}\n",
                               CASES[i].equipment));
        CHECK("state", r.state == (CASES[i].share <= 1.0 ? PROMISE_KEPT : PROMISE_BROKEN));
        CHECK_NEAR("by", r.margin, -10.0 * log10(CASES[i].share), 2e-3, "dB");
        check_run_end(&c);
    }
}

/* Of rooms that are named only those count: the flat's one access point is as far from its bath as the nearest of many points of it. */
TEST(exposure_in_a_room)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct evaluation ev;
    double margin[2] = { 0 }, nearest_m = INFINITY;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/quay_flat.house.yaml"), &h, &c.problems));
    const uint32_t bath = house_find_room(h, STR("bath"));
    for (uint32_t i = 0; i < h->promises.n; i++) {
        struct promise *p = &h->promises.v[i];
        for (int in_bath = 0; p->kind == PROMISE_EXPOSURE && in_bath < 2; in_bath++) {
            struct promise_result r;
            p->rooms = in_bath ? (ref_list){ &(struct ref){ .i = bath }, 1 } : (ref_list){ 0 };
            CHECK_OK(&c, evaluation_begin(&ev, &c.run, h, evaluation_default_options(h), &c.problems));
            CHECK_OK(&c, promise_evaluate(&ev, p, &r, &c.problems));
            margin[in_bath] = r.margin;
        }
    }
    const struct vec3 antenna_m = ev.radios.v[0].at_m;
    for (double x = 0; x < 8.6; x += 0.01)
        for (double y = 0; y < 6.9; y += 0.01)
            if (polygon_contains(h->rooms.v[bath].outline, (struct vec2){ x, y }))
                nearest_m = fmin(nearest_m, hypot(hypot(x - antenna_m.x, y - antenna_m.y),
                                                  fmax(antenna_m.z - h->floors.v[0].level_m - 2.0, 0.0)));
    CHECK_NEAR("as far as the bath", margin[1] - margin[0], 20.0 * log10(nearest_m / 0.2), 0.05, "dB");
    check_run_end(&c);
}
