/* How busy a channel is, and the promises about it: each figure by hand, from one access point in one room. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "promise/promise.h"

#define HEAD                                                                                      \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"             \
    "parts_file: ../../parts/demo.parts.yaml\n"                                                   \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}\n" \
    "  above: {level_m: 2.8, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}\n"         \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], use: living}\n"    \
    "segments:\n  home: {vlan: 10}\n"                                                             \
    "profiles:\n  still: {states: [{down_mbps: 0, chance: [1]}]}\n"                               \
    "  film: {states: [{says: film, down_mbps: 20, up_mbps: 1, chance: [0.5]}]}\n"
#define SSID(id) "  " id ": {segment: home, bands: [2.4, 5], security: wpa3}\n"
#define AP(id, x, radios) \
    "  " id ": {part: ceiling_two_band, room: den, at_m: [" x ", 3, 2.45], radios: [" radios "]}\n"
#define ONE_RADIO(channel) "{band: 2.4, off: true}, {band: 5, channel: " channel ", width_mhz: 80, power_dbm: 20}"
#define SCREEN(profile) \
    "  screen: {kind: television, room: den, at_m: [6, 3, 1], segment: home, link: wifi, profile: " profile "}\n"

struct air {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    const struct airtime *a;
};

/* In its place: the evaluation points into it. */
static void air_begin(struct air *x, const char *text)
{
    *x = (struct air){ .c = check_run_begin() };
    struct check_run *c = &x->c;
    const struct str whole = str_from(arena_printf(c->run.arena, "%s%s", HEAD, text));
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "tests/houses/test.house.yaml"), whole, &x->h, &c->problems));
    struct field_options options = evaluation_default_options(x->h);
    options.cell_m = 0.5;
    options.trace.order = 0;
    options.trace.diffraction = false;
    CHECK_OK(c, evaluation_begin(&x->ev, &c->run, x->h, options, &c->problems));
    CHECK_OK(c, evaluation_airtime(&x->ev, &x->a, &c->problems));
}

TEST(an_empty_channel_gives_all_it_has)
{
    struct air x;
    air_begin(&x, "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("still"));
    struct air_curve curve = { 0 };
    CHECK_OK(&x.c, air_curve_make(x.a, 0, 0, &curve, &x.c.problems));
    for (double mbps = 2.0; mbps < 900.0; mbps *= 1.7)
        CHECK_NEAR("alone", air_curve_at(&curve, mbps), mbps, 1e-6 * mbps, "Mb/s");
    CHECK_NEAR("nothing from nothing", air_curve_at(&curve, 0.0), 0.0, 0.0, "Mb/s");
    CHECK_NEAR("idle", airtime_busy(x.a, 0, 100, 1.0), 0.0, 0.0, "");
    check_run_end(&x.c);
}

TEST(a_station_takes_its_rate_by_that_of_its_link)
{
    struct air x;
    air_begin(&x, "ssids:\n" SSID("one") "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("film"));
    const struct station *s = &x.ev.stations->list.v[0];
    const double own = 0.5 * (20.0 / s->link.payload_mbps + 1.0 / s->link.uplink_payload_mbps);
    /* 300 octets at 6 Mb/s: 20 us and 101 symbols of 4 us (16 + 2400 + 6 bits by 24), every 102.4 ms */
    const double beacon = 424e-6 / 0.1024;
    CHECK_NEAR("own", airtime_own(x.a, 0, 20, 1.0), own, 1e-12, "");
    CHECK_NEAR("twice the devices", airtime_own(x.a, 0, 20, 2.0), 2 * own, 1e-12, "");
    CHECK_NEAR("busy", airtime_busy(x.a, 0, 20, 1.0), own + beacon, 1e-9, "");
    struct rate_sum sum;
    CHECK_OK(&x.c, airtime_sum(&x.c.run, x.a, 0, 20, &sum, &x.c.problems));
    CHECK_NEAR("mean of the distribution", sum.mean_mbps, own, 1e-12, "");
    const struct bracket over = rate_sum_over(&sum, 0.5 * own);
    CHECK("half of the time it sends", over.low <= 0.5 + 1e-9 && over.high >= 0.5 - 1e-9);
    check_run_end(&x.c);
}

TEST(beacons_of_many_ssids_at_2_4_ghz)
{
    struct air x;
    air_begin(&x, "ssids:\n" SSID("one") SSID("two") SSID("three")
                      SSID("four") "equipment:\n" AP("a", "2",
                                                     "{band: 2.4, channel: 6, width_mhz: 20, power_dbm: 15}, {band: 5, "
                                                     "off: true}") "devices:\n" SCREEN("still"));
    /* four of 192 us and 2400 us, every 102.4 ms: a tenth of the air before anybody speaks */
    CHECK_NEAR("beacons", x.a->cells.v[0].beacon_share, 4 * 2.592e-3 / 0.1024, 1e-12, "");
    check_run_end(&x.c);
}

TEST(radios_on_one_channel_share_it_and_others_do_not)
{
    const char *two =
        "equipment:\n" AP("a", "2", ONE_RADIO("36")) AP("b", "6", ONE_RADIO("36")) "devices:\n" SCREEN("film");
    struct air x;
    air_begin(&x, two);
    CHECK("each hears the other", x.a->cells.v[0].sharers.n == 1 && x.a->cells.v[1].sharers.n == 1);
    CHECK("which", x.a->cells.v[0].sharers.v[0].radio == 1 && x.a->cells.v[0].sharers.v[0].neighbour == NO_REF);
    const uint32_t on = x.ev.stations->list.v[0].radio;
    CHECK("the one without stations is as busy", airtime_own(x.a, 1 - on, 20, 1.0) == 0.0);
    CHECK_NEAR("by the other's", airtime_busy(x.a, 1 - on, 20, 1.0), airtime_busy(x.a, on, 20, 1.0), 1e-12, "");
    check_run_end(&x.c);
    air_begin(&x,
              "equipment:\n" AP("a", "2", ONE_RADIO("36")) AP("b", "6", ONE_RADIO("52")) "devices:\n" SCREEN("film"));
    CHECK("channels apart", x.a->cells.v[0].sharers.n == 0 && x.a->cells.v[1].sharers.n == 0);
    check_run_end(&x.c);
}

/* Which Wi-Fi channels lie over a mesh channel: reference table coexistence_offsets (11 + 1 MHz apart is clear), Wi-Fi on 11. */
TEST(wifi_over_the_mesh)
{
    struct air x;
    air_begin(&x, "ssids:\n" SSID("one") "equipment:\n" AP("a", "2",
                                                           "{band: 2.4, channel: 11, width_mhz: 20, power_dbm: 15}, "
                                                           "{band: 5, off: true}") "devices:\n" SCREEN("film"));
    const double taken = airtime_own(x.a, 0, 20, 1.0) + x.a->cells.v[0].beacon_share;
    CHECK_NEAR("25 is clear of 11", airtime_over_mesh(x.a, 25, 20), 0.0, 0.0, "");
    CHECK_NEAR("20 is clear of 11", airtime_over_mesh(x.a, 20, 20), 0.0, 0.0, "");
    CHECK_NEAR("22 lies in it", airtime_over_mesh(x.a, 22, 20), taken, 1e-12, "");
    check_run_end(&x.c);
}

/* One foreign cell, heard on two floors and entered for each, takes the mesh's time once; two cells on one floor take it both. */
TEST(neighbours_over_the_mesh)
{
    static const struct {
        const char *neighbours;
        double taken;
    } CASES[] = {
        { "a: {band: 2.4, channel: 6, level_dbm: -60, busy_share: 0.3, floor: ground}\n  b: {band: 2.4, channel: 6, "
          "level_dbm: "
          "-66, busy_share: 0.3, floor: above}\n",
          0.3 },
        { "a: {band: 2.4, channel: 6, level_dbm: -60, busy_share: 0.3, floor: ground}\n  b: {band: 2.4, channel: 6, "
          "level_dbm: "
          "-66, busy_share: 0.5, floor: ground}\n",
          1.0 - 0.7 * 0.5 },
        { "a: {band: 2.4, channel: 6, level_dbm: -60, busy_share: 0.3}\n", 0.3 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct air x;
        char text[512];
        snprintf(text, sizeof text, "neighbours:\n  %s", CASES[i].neighbours);
        air_begin(&x, text);
        CHECK_NEAR("taken", airtime_over_mesh(x.a, 18, 20), CASES[i].taken, 1e-12, "");
        check_run_end(&x.c);
    }
}

/* ---- promises ---- */

static struct promise_result judge(struct air *x, enum promise_kind kind)
{
    struct promise_results results;
    CHECK_OK(&x->c, promises_evaluate(&x->ev, 1u << kind, &results, &x->c.problems));
    CHECK("one promise", results.n == 1);
    return results.v[0];
}

#define QUIET "promises:\n  q: {kind: quiet, says: quiet, max_busy_share: 0.5, bands: [5]}\n"
#define NEXT(share)                                                                                 \
    "neighbours:\n  next: {band: 5, channel: 36, width_mhz: 80, level_dbm: -70, busy_share: " share \
    ", floor: ground, at_m: [1, 1, 1]}\n"

TEST(a_neighbour_turns_quiet)
{
    struct air x;
    air_begin(&x, NEXT("0.4") "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("still") QUIET);
    struct promise_result r = judge(&x, PROMISE_QUIET);
    CHECK("kept", r.state == PROMISE_KEPT);
    CHECK_NEAR("by", r.margin, 10.0, 1e-9, "%");
    check_run_end(&x.c);
    air_begin(&x, NEXT("0.6") "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("still") QUIET);
    r = judge(&x, PROMISE_QUIET);
    CHECK("broken", r.state == PROMISE_BROKEN);
    CHECK_NEAR("by", r.margin, -10.0, 1e-9, "%");
    CHECK("it says where to go", strstr(arena_printf(x.c.run.arena, "%.*s", STR_ARG(r.reason)), "on channel") != NULL);
    check_run_end(&x.c);
    air_begin(&x, "devices:\n" SCREEN("still") QUIET);
    CHECK("no radio", judge(&x, PROMISE_QUIET).state == PROMISE_UNKNOWN);
    check_run_end(&x.c);
}

static double fact_of(const struct fact *object, const char *key)
{
    for (const struct fact *f = object->first; f; f = f->next)
        if (strcmp(f->key, key) == 0)
            return f->num;
    fail_msg("no fact %s", key);
    return NAN;
}

TEST(the_parts_of_a_busy_channel_make_the_whole)
{
    struct air x;
    air_begin(&x, NEXT("0.3") "ssids:\n" SSID("one") "equipment:\n" AP("a", "2", ONE_RADIO("36"))
                      AP("b", "6", ONE_RADIO("36")) "devices:\n" SCREEN("film") QUIET);
    const struct promise_result r = judge(&x, PROMISE_QUIET);
    const struct fact *radios = r.evidence->first;
    while (strcmp(radios->key, "radios") != 0)
        radios = radios->next;
    for (const struct fact *o = radios->first; o; o = o->next)
        CHECK_NEAR("sum",
                   fact_of(o, "own_share") + fact_of(o, "beacon_share") + fact_of(o, "neighbours_share") +
                       fact_of(o, "own_radios_share") + fact_of(o, "mesh_share"),
                   fact_of(o, "busy_share"), 1e-12, "");
    CHECK("two radios", radios->first && radios->first->next && !radios->first->next->next);
    check_run_end(&x.c);
}

#define RATE "promises:\n  r: {kind: rate, says: rate, rooms: [den], mbps: 150, device_kind: laptop, when: busy_hour}\n"

/* A screen that takes the air for most of the time leaves less; alone the promise would be kept. */
TEST(traffic_turns_the_rate_of_the_busy_hour)
{
    struct air x;
    air_begin(&x, "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("still") RATE);
    const struct promise_result alone = judge(&x, PROMISE_RATE);
    CHECK("kept", alone.state == PROMISE_KEPT);
    check_run_end(&x.c);
    air_begin(&x, "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("film") RATE);
    const struct promise_result film = judge(&x, PROMISE_RATE);
    const double own = airtime_own(x.a, 0, 0, 1.0);
    CHECK("less", film.margin < alone.margin);
    /* what is left of the time, less what collisions cost: at most a tenth */
    const double left = (alone.margin + 150.0) * (1.0 - own) - 150.0;
    CHECK("no more than what is left", film.margin <= left + 1e-6);
    CHECK("not much less", film.margin > left - 0.1 * (alone.margin + 150.0));
    check_run_end(&x.c);
    air_begin(&x, NEXT("0.85") "equipment:\n" AP("a", "2", ONE_RADIO("36")) "devices:\n" SCREEN("film") RATE);
    const struct promise_result loud = judge(&x, PROMISE_RATE);
    CHECK("a loud neighbour breaks it", loud.state == PROMISE_BROKEN);
    const double got = (alone.margin + 150.0) * (1.0 - own) * (1.0 - 0.85);
    CHECK("no more than is left beside it", loud.margin <= got - 150.0 + 1e-6);
    CHECK("but something", loud.margin > -150.0);
    check_run_end(&x.c);
}
