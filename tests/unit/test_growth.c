/* What runs out when the devices multiply, in small houses whose figures are worked by hand. */
#include "promise/growth.h"

#include <math.h>

#include "growth_kit.h"

/* 8 of the gateway's and the switch's 13 sockets: the cable between them at both ends, two eyes, the recorder, three televisions. */
#define HOUSE                                                                                                      \
    "equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: feeder, says: the switch, " WIRE_AT "}\n"           \
    "devices:\n  a: {kind: camera, " WIRED ", part: eye_3}\n  b: {kind: camera, " WIRED ", part: eye_3}\n"         \
    "  rec: {kind: recorder, " WIRED ", power_w: 10}\n  tv1: {kind: television, " WIRED "}\n"                      \
    "  tv2: {kind: television, " WIRED "}\n  tv3: {kind: television, " WIRED "}\n"                                 \
    "cables:\n  up: {from: \"gw:2\", to: \"sw:8\", part: copper, length_m: 1}\n"                                   \
    "  c_a: {from: \"sw:1\", to: a, part: copper, length_m: 20}\n  c_b: {from: \"sw:2\", to: b, part: copper, "    \
    "length_m: 20}\n  c_r: {from: \"sw:5\", to: rec, part: copper, length_m: 5}\n"                                 \
    "  c_1: {from: \"sw:6\", to: tv1, part: copper, length_m: 5}\n  c_2: {from: \"sw:7\", to: tv2, part: copper, " \
    "length_m: 5}\n  c_3: {from: \"gw:3\", to: tv3, part: copper, length_m: 5}\n"
#define PROMISED(more) "promises:\n  g: {kind: growth, says: Room to grow, " more "}\n"

static struct grown grow(const char *rest) { return grow_house(WIRE_HEAD, rest, false); }

/* Five grow: 8 sockets are 13 at twice the devices, of 5 + 8.  Class 3 takes 15.4 W to start: 30.8 W of 62, then 61.6. */
TEST(enough_to_the_last_socket)
{
    struct grown q = grow(HOUSE PROMISED("times: 2, years: 4, headroom_share: 0"));
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("sockets", use_of(&q, "sockets for cables", "limit"), 13, 0, "");
    CHECK_NEAR("now", use_of(&q, "sockets for cables", "now"), 8, 0, "");
    CHECK_NEAR("then", use_of(&q, "sockets for cables", "then"), 13, 0, "");
    CHECK_NEAR("lasts to the end", use_of(&q, "sockets for cables", "lasts_years"), 4, 1e-9, "years");
    CHECK_NEAR("margin", q.r.margin, 0, 1e-9, "years");
    CHECK_TEXT("in", str_from(q.r.unit), STR("years"));
    CHECK_NEAR("feeding sockets", use_of(&q, "sockets that feed class 3", "limit"), 4, 0, "");
    CHECK_NEAR("then", use_of(&q, "sockets that feed class 3", "then"), 4, 0, "");
    CHECK_NEAR("to start", use_of(&q, "watts to start", "then"), 61.6, 1e-9, "W");
    /* of a /24 without 256 - 3 addresses, the upper 127 or 126 are handed out; ten is what stays or grows to at most */
    CHECK_NEAR("addresses", use_of(&q, "addresses", "then"), 11, 0, "");
    CHECK("in words", says(&q, "first to run out: sockets for cables (den), now 8 of 13, at 2 times the devices 13"));
    check_run_end(&q.c);
}

/* A tenth free: 11 of the 13 sockets; 8 of them now, five grow: 1.6 times, after 3 log(1.6) / log(2) = 2.03 years.  But of the four that
 * feed 3 may be used: two eyes become three, 1.5 times, after 1.75 years. */
TEST(broken_by_what_runs_out_first)
{
    struct grown q = grow(HOUSE PROMISED("times: 2, years: 3, headroom_share: 0.1"));
    CHECK("broken", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("sockets last", use_of(&q, "sockets for cables", "lasts_times"), 1.6, 1e-9, "times");
    CHECK_NEAR("years", use_of(&q, "sockets for cables", "lasts_years"), 2.034, 1e-3, "years");
    CHECK_NEAR("feeding ones last", use_of(&q, "sockets that feed", "lasts_times"), 1.5, 1e-9, "times");
    CHECK_NEAR("margin", q.r.margin, 1.755 - 3, 1e-3, "years");
    CHECK("which", says(&q, "first to run out: sockets that feed class 3 (den), now 2 of 4, at 2 times the devices 4"));
    CHECK("how long", says(&q, "enough for 1.8 years"));
    CHECK("what helps", says(&q, "strong switch in place of the switch helps; 1 more runs out"));
    check_run_end(&q.c);
}

TEST(the_file_says_what_grows)
{
    struct grown q = grow(HOUSE "growth:\n  - {kind: camera, share: 0}\n  - {kind: television, share: 0.5}\n" PROMISED(
        "times: 3, years: 3, headroom_share: 0"));
    CHECK_NEAR("three televisions are six", use_of(&q, "sockets for cables", "then"), 11, 0, "");
    CHECK_NEAR("the eyes stay", use_of(&q, "sockets that feed", "then"), 2, 0, "");
    CHECK("kept", q.r.state == PROMISE_KEPT);
    check_run_end(&q.c);
    q = grow(HOUSE "growth:\n  - {kind: recorder, share: 1}\n" PROMISED("times: 2, headroom_share: 0"));
    CHECK_NEAR("two recorders", use_of(&q, "sockets for cables", "then"), 14, 0, "");
    CHECK("one too many", q.r.state == PROMISE_BROKEN);
    /* 13 sockets hold 2 that stay and 6 that grow 11 / 6 = 1.83 times */
    CHECK_NEAR("without years", q.r.margin, 11.0 / 6.0 - 2, 1e-9, "times");
    CHECK_TEXT("in", str_from(q.r.unit), STR("times"));
    check_run_end(&q.c);
}

/* An outage promise sets the battery's limit: the greatest load for the minutes at the age at the end.  Lead of 144 Wh after 4 years has
 * 0.8 of that (docs/power.md); Peukert, 0.85 and the battery's own 4 W as there: for 60 min from the cells.
 * t = 20 (115.2 / (20 P))^1.2 h = 1 h: P = 115.2 / (20 x 20^(-1 / 1.2)) = 69.92 W; of them (69.92 - 4) x 0.85 = 56.0 W of load. */
TEST(a_battery_ages)
{
    struct grown q =
        grow(HOUSE "batteries:\n  up: {part: cell_lead, feeds: [gw, sw], temperature_degc: 25}\npromises:\n"
                   "  o: {kind: outage, says: Lives on, devices: [gw], minutes: 60}\n"
                   "  g: {kind: growth, says: Room to grow, times: 2, years: 4, headroom_share: 0}\n");
    const double limit_w = (115.2 / (20.0 * pow(20.0, -1.0 / 1.2)) - 4.0) * 0.85;
    const double today_w = (144.0 / (20.0 * pow(20.0, -1.0 / 1.2)) - 4.0) * 0.85;
    CHECK_NEAR("then", use_of(&q, "60 min without mains (up)", "limit"), limit_w, 0.01, "W");
    CHECK_NEAR("today", use_of(&q, "60 min without mains (up)", "limit_now"), today_w, 0.01, "W");
    check_run_end(&q.c);
}

TEST(what_is_missing_is_named)
{
    struct grown q = grow(HOUSE "batteries:\n  up: {part: cell_odd, feeds: [gw, sw]}\npromises:\n"
                                "  o: {kind: outage, says: Lives on, devices: [gw], minutes: 60}\n"
                                "  g: {kind: growth, says: Room to grow, times: 1.2, headroom_share: 0}\n");
    CHECK("unknown", q.r.state == PROMISE_UNKNOWN);
    CHECK("why", says(&q, "watts for 60 min without mains (up): say what battery `up` is made of"));
    check_run_end(&q.c);
    q = grow(PROMISED("times: 2"));
    CHECK("nothing is there", q.r.state == PROMISE_UNKNOWN && says(&q, "say what is installed"));
    check_run_end(&q.c);
}
