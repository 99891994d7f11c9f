/* Disks and the room in runs as the devices multiply: one fact turns the promise, and the margin says by how many years. */
#include <math.h>

#include "growth_kit.h"

/* Years until there are so many times the devices, when they double in four. */
static double years_to(double times) { return 4.0 * log(times) / log(2.0); }

static struct grown grow(const char *rest) { return grow_house(WIRE_HEAD, rest, false); }

#define PROMISED(times) \
    "promises:\n  g: {kind: growth, says: Room to grow, times: " times ", years: 4, headroom_share: 0}\n"

/* ---- disks ---- */

#define EYES                                                     \
    "devices:\n  keeper: {kind: recorder, " WIRED "}\n"          \
    "  one: {kind: camera, " WIRED ", camera: {rate_mbps: 4}}\n" \
    "  two: {kind: camera, " WIRED ", camera: {rate_mbps: 4}}\n"
#define KEPT(disk_gb) "recordings:\n  film: {recorder: keeper, cameras: [one, two]" disk_gb "}\n"
#define FORTNIGHT "  r: {kind: recording, says: Pictures, recording: film, days: 14}\n"

/* 1 Mb/s for a day is 10.8 GB: two of 4 Mb/s for 14 days 1209.6 GB, with twice as many cameras 2419.2; nine tenths of the disk hold them. */
TEST(a_disk_that_is_outgrown)
{
    struct grown q = grow(EYES KEPT(", disk_gb: 4000") PROMISED("2") FORTNIGHT);
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("now", use_of(&q, "disk for 14 days", "now"), 1209.6, 1e-9, "GB");
    CHECK_NEAR("then", use_of(&q, "disk for 14 days", "then"), 2419.2, 1e-9, "GB");
    CHECK_NEAR("margin", q.r.margin, years_to(3600 / 1209.6) - 4, 1e-9, "years");
    check_run_end(&q.c);
    q = grow(EYES KEPT(", disk_gb: 2000") PROMISED("2") FORTNIGHT);
    CHECK("broken", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("margin", q.r.margin, years_to(1800 / 1209.6) - 4, 1e-9, "years");
    /* 2419.2 / 0.9 = 2688 */
    CHECK("what helps", says(&q, "a disk of 2700 GB helps"));
    check_run_end(&q.c);
    q = grow(EYES KEPT(", disk_gb: 2000") "growth:\n  - {kind: camera, share: 0}\n" PROMISED("2") FORTNIGHT);
    CHECK("no more cameras", q.r.state == PROMISE_KEPT);
    check_run_end(&q.c);
}

TEST(a_disk_nobody_knows)
{
    struct grown q = grow(EYES KEPT("") PROMISED("2") FORTNIGHT);
    CHECK("unknown", q.r.state == PROMISE_UNKNOWN);
    CHECK("which", says(&q, "disk for 14 days of pictures (film): how large the disk of `keeper` is"));
    check_run_end(&q.c);
    q = grow(EYES KEPT("") PROMISED("2"));
    CHECK("nor promised", !use_with(&q, "disk for"));
    check_run_end(&q.c);
}

/* ---- room in runs ---- */

#define DUCT(more)                                                                                         \
    "rooftree: 1\nname: Test house\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                \
    "parts_file: ../../parts/demo.parts.yaml\n"                                                            \
    "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [40, 0], [40, 6], [0, 6]] }\n"      \
    "rooms:\n  hall: { floor: ground, outline: [[0, 0], [40, 0], [40, 6], [0, 6]], keep_free: [cable] }\n" \
    "segments:\n  home: {}\n"                                                                              \
    "equipment:\n  switch: { part: switch_16_poe, room: hall, at_m: [1, 3, 1] }\n"                         \
    "devices:\n  one: { kind: desktop, room: hall, at_m: [31, 3, 1], segment: home, link: wired }\n"       \
    "  two: { kind: desktop, room: hall, at_m: [31, 3, 1], segment: home, link: wired }\n"                 \
    "  three: { kind: server, room: hall, at_m: [31, 3, 1], segment: home, link: wired }\n"                \
    "runs:\n  duct: { kind: duct, floors: [ground], line: [[1, 3, 1], [31, 3, 1]], " more " }\n"           \
    "cables:\n  c: { from: \"switch:1\", to: one, part: cable_6_m }\n"                                     \
    "  d: { from: \"switch:2\", to: two, part: cable_6_m }\n"                                              \
    "  e: { from: \"switch:3\", to: three, part: cable_6_m }\n"

/* 6.1 mm is 29.22 mm2; three cables are 87.7, 40 % of a run may be filled by three and more (NFPA 70 (NEC) chapter 9 table 1, from
 * memory).  The server stays alone, two desktops become four: 146.1 mm2 of five cables need 365.3 mm2.  A duct of 300 holds four, at
 * one and a half times the desktops. */
TEST(a_duct_that_is_outgrown)
{
    const double mm2 = 3.14159265358979 / 4 * 6.1 * 6.1;
    struct grown q = grow_house(DUCT("area_mm2: 370"), PROMISED("2"), false);
    CHECK("kept", q.r.state == PROMISE_KEPT);
    CHECK_NEAR("now", use_of(&q, "room for cables", "now"), 3 * mm2, 1e-6, "mm2");
    CHECK_NEAR("then", use_of(&q, "room for cables", "then"), 5 * mm2, 1e-6, "mm2");
    CHECK_NEAR("limit", use_of(&q, "room for cables", "limit"), 0.4 * 370, 1e-6, "mm2");
    CHECK_NEAR("the sixth does not fit", use_of(&q, "room for cables", "lasts_times"), 2, 1e-9, "times");
    CHECK_NEAR("margin", q.r.margin, 0, 1e-9, "years");
    check_run_end(&q.c);
    q = grow_house(DUCT("area_mm2: 300"), PROMISED("2"), false);
    CHECK("broken", q.r.state == PROMISE_BROKEN);
    CHECK_NEAR("margin", q.r.margin, years_to(1.5) - 4, 1e-9, "years");
    CHECK("what helps", says(&q, "first to run out: room for cables (duct), now 87.7 mm2 of 120.0 mm2"));
    CHECK("what helps", says(&q, "a second duct beside it, or one of 366 mm2 helps"));
    check_run_end(&q.c);
    q = grow_house(DUCT("mains_m: 1"), PROMISED("2"), false);
    CHECK("without a limit", !use_with(&q, "room for cables"));
    check_run_end(&q.c);
}
