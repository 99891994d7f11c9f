/* The line, shared cables and the air as the devices multiply: one fact turns the promise, and the margin says by how many years. */
#include <math.h>

#include "growth_kit.h"

#define PROMISED "promises:\n  g: {kind: growth, says: Room to grow, times: 2, years: 4, headroom_share: 0}\n"
#define SCREEN(id) "  " id ": {kind: television, " WIRED ", profile: film}\n"
#define FILM(mbps, chance) "profiles:\n  film: {states: [{says: a film, down_mbps: " mbps ", chance: [" chance "]}]}\n"

/* Years until there are so many times the devices, when they double in four. */
static double years_to(double times) { return 4.0 * log(times) / log(2.0); }

static struct grown grow(const char *rest) { return grow_house(WIRE_HEAD, rest, false); }

/* ---- the line ---- */

#define LINE(down) "line: {kind: fibre, down_mbps: " down ", up_mbps: 20}\n"
#define SCREENS "devices:\n" SCREEN("one") SCREEN("two") SCREEN("three")

/* A film of 30 Mb/s that never ends: as many of it as there are devices, and one more as soon as that is there for more than the 0.05
 * that may be left out.  Of 1518 bytes 1428 are payload: 150 Mb/s hold four, until 4.05 times; 50 hold one, until 1.05 times. */
TEST(a_line_that_is_outgrown)
{
    struct grown q = grow(LINE("150") "devices:\n" SCREEN("one") FILM("30", "1") PROMISED);
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("now", use_of(&q, "carries down", "now"), 30, 0.05, "Mb/s");
    CHECK_NEAR("then", use_of(&q, "carries down", "then"), 60, 0.1, "Mb/s");
    CHECK_NEAR("limit", use_of(&q, "carries down", "limit"), 150 * 1428.0 / 1518.0, 1e-9, "Mb/s");
    CHECK_NEAR("margin", q.r.margin, years_to(4.05) - 4, 0.05, "years");
    CHECK("up, nobody sends", !use_with(&q, "carries up"));
    check_run_end(&q.c);
    q = grow(LINE("50") "devices:\n" SCREEN("one") FILM("30", "1") PROMISED);
    CHECK("broken", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("margin", q.r.margin, years_to(1.05) - 4, 0.05, "years");
    CHECK("by what", says(&q, "first to run out: what the line carries down, now 30.0 Mb/s of 47.0 Mb/s"));
    /* 60 of payload are 63.8 Mb/s */
    CHECK("what helps", says(&q, "a line of 64 Mb/s down helps"));
    check_run_end(&q.c);
    q = grow(LINE("64") "devices:\n" SCREEN("one") FILM("30", "1") PROMISED);
    CHECK("and it does", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("margin", q.r.margin, years_to(2.05) - 4, 0.05, "years");
    check_run_end(&q.c);
}

/* Seen 0.07 of the time a film may be left out by a promise of 0.9, until there are 1.46 times as many: 0.93 (1 - 0.07 x 0.461) = 0.9.
 * Without a promise 0.95 is meant, and the line of 25 Mb/s is too small already. */
TEST(the_lines_own_promise_says_how_sure)
{
    struct grown q = grow(LINE("25") "devices:\n" SCREEN("one") FILM("30", "0.07") PROMISED);
    CHECK_NEAR("usual", use_of(&q, "carries down", "now"), 30, 0.05, "Mb/s");
    CHECK_NEAR("margin", q.r.margin, -4, 1e-9, "years");
    check_run_end(&q.c);
    q = grow(LINE("25") "devices:\n" SCREEN("one") FILM("30", "0.07") PROMISED
             "  l: {kind: line, says: The line is enough, probability: 0.9}\n");
    CHECK_NEAR("as promised", use_of(&q, "carries down", "now"), 0, 0, "Mb/s");
    CHECK_NEAR("margin", q.r.margin, years_to(1.0 + (1.0 - 0.9 / 0.93) / 0.07) - 4, 0.05, "years");
    check_run_end(&q.c);
}

TEST(what_does_not_grow_needs_no_more)
{
    struct grown q = grow(LINE("100") SCREENS FILM("30", "0.5") "growth:\n  - {kind: television, share: 0}\n" PROMISED);
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("then", use_of(&q, "carries down", "then"), use_of(&q, "carries down", "now"), 0, "Mb/s");
    CHECK("for ever", isnan(use_of(&q, "carries down", "lasts_times")));
    check_run_end(&q.c);
}

/* 1 Mb/s for 30.4375 days: 328.7 GB, on the line 349.4; twice that 698.8. */
#define CAPPED(gb)                                                                                         \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, cap_gb_per_month: " gb "}\ndevices:\n" SCREEN("one") \
        FILM("1", "1") PROMISED

TEST(the_months_volume)
{
    struct grown q = grow(CAPPED("700"));
    CHECK("kept", q.r.state == PROMISE_KEPT);
    check_run_end(&q.c);
    q = grow(CAPPED("500"));
    CHECK("broken", q.r.state == PROMISE_BROKEN && says(&q, "what the line includes in a month"));
    CHECK_NEAR("margin", q.r.margin, years_to(500 / (1e6 * 86400 * 30.4375 / 8e9 * 1518.0 / 1428.0)) - 4, 1e-6,
               "years");
    check_run_end(&q.c);
}

/* ---- cables ---- */

#define UPLINK                                                                         \
    "equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: feeder, " WIRE_AT "}\n" \
    "cables:\n  up: {from: \"gw:2\", to: \"sw:8\", part: copper, length_m: 1}\n"       \
    "  c_1: {from: \"sw:6\", to: one, part: copper, length_m: 5}\n"                    \
    "  c_2: {from: \"sw:7\", to: two, part: copper, length_m: 5}\ndevices:\n" SCREEN("one") SCREEN("two")

/* Two films that never end.  An Ethernet frame of 1538 bytes carries 1428: 928.5 Mb/s of 1000 hold four of 200 Mb/s; one more of two is
 * there for more than 0.05 of the time from 2.0253 times on: 1 - (1 - 0.0253)^2.  Of 300 Mb/s they hold three; two more come
 * together too often from 1.2236 times on: 0.2236^2. */
TEST(an_uplink_that_is_outgrown)
{
    struct grown q = grow(UPLINK FILM("200", "1") PROMISED);
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("limit", use_of(&q, "cable up carries", "limit"), 1000 * 1428.0 / 1538.0, 1e-9, "Mb/s");
    CHECK_NEAR("margin", q.r.margin, years_to(2.0253) - 4, 0.05, "years");
    CHECK("one alone hangs on the others", !use_with(&q, "cable c_1 carries"));
    check_run_end(&q.c);
    q = grow(UPLINK FILM("300", "1") PROMISED);
    CHECK("broken", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("margin", q.r.margin, years_to(1.2236) - 4, 0.05, "years");
    CHECK("what helps", says(&q, "a cable and ports of 2500 Mb/s helps"));
    check_run_end(&q.c);
}

/* Category 6 carries nothing over 120 m (IEEE 802.3: 100 m). */
TEST(an_uplink_that_carries_nothing)
{
    struct grown q = grow("equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: feeder, " WIRE_AT "}\n"
                          "cables:\n  up: {from: \"gw:2\", to: \"sw:8\", part: copper, length_m: 120}\n"
                          "  c_1: {from: \"sw:6\", to: one, part: copper, length_m: 5}\n"
                          "  c_2: {from: \"sw:7\", to: two, part: copper, length_m: 5}\n"
                          "devices:\n" SCREEN("one") SCREEN("two") FILM("3", "0.5") PROMISED);
    CHECK("broken", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("margin", q.r.margin, -4, 1e-9, "years");
    CHECK("which", says(&q, "first to run out: what cable up carries, now 3.0 Mb/s of 0.0 Mb/s"));
    check_run_end(&q.c);
}

/* ---- the air ---- */

#define AIR                                                                                       \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"             \
    "parts_file: ../../parts/demo.parts.yaml\n"                                                   \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}\n" \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], use: living}\n"    \
    "segments:\n  home: {vlan: 10}\n"                                                             \
    "ssids:\n  one: {segment: home, bands: [5], security: wpa3}\n"                                \
    "equipment:\n  a: {part: ceiling_two_band, room: den, at_m: [2, 3, 2.45], radios: "           \
    "[{band: 2.4, off: true}, {band: 5, channel: 36, width_mhz: 80, power_dbm: 20}]}\n"           \
    "devices:\n  screen: {kind: television, room: den, at_m: [6, 3, 1], segment: home, link: wifi, profile: film}\n"
#define NEXT(share)                                                                                 \
    "neighbours:\n  next: {band: 5, channel: 36, width_mhz: 80, level_dbm: -70, busy_share: " share \
    ", floor: ground, at_m: [1, 1, 1]}\n"

/* What the screen takes is counted by its link's payload; a beacon of 424 us goes out every 102.4 ms; neighbours leave a share. */
static double air_lasts(const struct grown *q, double mbps, double neighbours, double limit)
{
    const double own = mbps / q->ev.stations->list.v[0].link.payload_mbps, beacon = 424e-6 / 0.1024;
    return ((limit - neighbours) / (1.0 - neighbours) - beacon) / own;
}

TEST(air_that_is_outgrown)
{
    struct grown q = grow_house(AIR FILM("100", "1") PROMISED, "", true);
    double times = air_lasts(&q, 100, 0, 0.8);
    CHECK("room for twice as much", times > 2.0);
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("limit", use_of(&q, "time on the air", "limit"), 80, 1e-9, "%");
    CHECK_NEAR("margin", q.r.margin, years_to(times) - 4, 1e-6, "years");
    check_run_end(&q.c);
    q = grow_house(AIR FILM("100", "1") NEXT("0.7") PROMISED, "", true);
    times = air_lasts(&q, 100, 0.7, 0.8);
    CHECK("not any more", times > 1.0 && times < 2.0);
    CHECK("a neighbour breaks it", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("margin", q.r.margin, years_to(times) - 4, 1e-6, "years");
    CHECK("what helps", says(&q, "another access point, on a channel of its own helps"));
    check_run_end(&q.c);
}

TEST(the_promise_of_quiet_says_how_busy)
{
    struct grown q =
        grow_house(AIR FILM("100", "1") PROMISED, "  q: {kind: quiet, says: Quiet, max_busy_share: 0.3}\n", true);
    const double times = air_lasts(&q, 100, 0, 0.3);
    CHECK_NEAR("limit", use_of(&q, "time on the air", "limit"), 30, 1e-9, "%");
    CHECK_NEAR("lasts", use_of(&q, "time on the air", "lasts_times"), times >= 1.0 ? times : 0.0, 1e-6, "times");
    check_run_end(&q.c);
}
