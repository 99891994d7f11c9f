/* How long pictures are kept: arithmetic against public calculators, rates against what cameras are printed to send, and the promise
 * turned from kept to broken by one fact each. */
#include <math.h>
#include <string.h>

#include "csv.h"
#include "data/picture_codecs.h"
#include "load/recordings.h"
#include "promise/promise.h"
#include "wire_kit.h"

/* tests/reference/recording.csv: 1 Mb/s for a day is 10.8 GB; days = capacity x usable share / volume of a day. */
TEST(volume_and_days_of_public_calculators)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/recording.csv"));
    uint32_t n_days = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const uint32_t n = (uint32_t)csv_num(&t, i, "cameras");
        struct house h = { .devices.n = n, .recordings.n = 1 };
        struct recording r = { .cameras.n = n, .motion_only = true };
        h.devices.v = ARENA_ARRAY(c.run.arena, struct device, n);
        r.cameras.v = ARENA_ARRAY(c.run.arena, struct ref, n);
        for (uint32_t k = 0; k < n; k++) {
            h.devices.v[k] = (struct device){ .camera = { .at.line = 1,
                                                          .rate_mbps = csv_num(&t, i, "rate_Mbit_per_s"),
                                                          .motion_share = csv_num(&t, i, "recorded_share") } };
            r.cameras.v[k] = (struct ref){ .i = k };
        }
        /* our share of the disk for pictures is fixed, the rows' differs */
        r.disk_gb = csv_num(&t, i, "capacity_bytes") / 1e9 * csv_num(&t, i, "usable_share") / DISK_USABLE_SHARE;
        h.recordings.v = &r;
        struct recording_life life;
        CHECK_OK(&c, recording_life_of(&c.run, &h, 0, &life, &c.problems));
        CHECK_NEAR("a day", life.gb_per_day, csv_num(&t, i, "volume_GB_per_day"), 1e-4, "GB");
        if (isnan(csv_num(&t, i, "days")))
            continue;
        CHECK_NEAR("kept", life.days, csv_num(&t, i, "days"), 1e-5, "days");
        n_days++;
    }
    CHECK("six rows of days", n_days == 6);
    check_run_end(&c);
}

static bool picture_of(struct str text, double *width, double *height)
{
    char copy[32];
    if (text.n >= sizeof copy)
        return false;
    memcpy(copy, text.p, text.n);
    copy[text.n] = '\0';
    return sscanf(copy, "%lfx%lf", width, height) == 2;
}

/* tests/reference/video.csv, the rows of cameras (source k prints rates of high quality): printed rates of one picture differ by
 * half among themselves (2.5 and 4 Mb/s for three megapixels; 2 Mb/s for 720 lines at 15 frames as at 30), so ours must lie
 * within a factor of 2.1 of each, and near them in the mean. */
TEST(rates_of_printed_cameras)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/video.csv"));
    double sum_log = 0.0;
    int n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        double width, height;
        const double printed_mbps = csv_num(&t, i, "up_Mbit_per_s"), frames = csv_num(&t, i, "frames_per_s");
        if (!str_is(csv_cell(&t, i, "kind"), "camera") || isnan(printed_mbps) || isnan(frames) ||
            !picture_of(csv_cell(&t, i, "resolution"), &width, &height))
            continue;
        struct house h = { .devices.n = 1 };
        h.devices.v = &(
            struct device){ .camera = { .at.line = 1,
                                        .width_px = width,
                                        .height_px = height,
                                        .frames_per_s = frames,
                                        .codec = STR("h264"),
                                        .quality = str_is(csv_cell(&t, i, "source"), "k") ? STR("high") : STR("normal"),
                                        .rate_mbps = RT_NOT_GIVEN } };
        const double mbps = camera_rate_of(c.run.arena, &h, 0, false).mbps;
        CHECK("within a factor of 2.1", mbps > printed_mbps / 2.1 && mbps < printed_mbps * 2.1);
        sum_log += log(mbps / printed_mbps);
        n++;
    }
    CHECK("rows", n == 18);
    CHECK_NEAR("mean of all, as a ratio", exp(sum_log / n), 1.0, 0.25, "");
    check_run_end(&c);
}

/* ---- the promise ---- */

#define RECORDED_TEXT                                                                                  \
    "equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: feeder, " WIRE_AT "}\n"                 \
    "devices:\n  eye: {kind: camera, " WIRED ", camera: {rate_mbps: 4}}\n"                             \
    "  yard: {kind: camera, " WIRED ", camera: {width_px: 1920, height_px: 1080, frames_per_s: 15}}\n" \
    "  keeper: {kind: recorder, " WIRED "}\n"                                                          \
    "cables:\n  up: {from: gw, to: sw, part: copper, length_m: 5}\n"                                   \
    "  c_eye: {from: sw, to: eye, part: copper, length_m: 20}\n"                                       \
    "  c_yard: {from: sw, to: yard, part: copper, length_m: 20}\n"                                     \
    "  c_keeper: {from: sw, to: keeper, part: copper, length_m: 2}\n"

static const char RECORDED[] = RECORDED_TEXT;

static struct promise_result judge(struct check_run *c, const char *text)
{
    struct house *h = NULL;
    struct promise_results results;
    const char *whole = arena_printf(c->run.arena, "%s%s", WIRE_HEAD, text);
    CHECK_OK(
        c, house_read_bytes(&c->run, check_path(c, "tests/houses/test.house.yaml"), str_from(whole), &h, &c->problems));
    struct evaluation *ev = ARENA_NEW(c->run.arena, struct evaluation);
    *ev = (struct evaluation){ .run = &c->run, .h = h };
    CHECK_OK(c, promises_evaluate(ev, 1u << PROMISE_RECORDING, &results, &c->problems));
    return results.v[0];
}

#define PROMISED(days) "promises:\n  kept: {kind: recording, says: pictures, recording: film, days: " days "}\n"
#define FILM(more) "recordings:\n  film: {recorder: keeper, cameras: [eye, yard]" more "}\n"

TEST(one_fact_turns_it)
{
    struct check_run c = check_run_begin();
    /* 1920 x 1080 x 15 x 0.07 bits are 2.177 Mb/s; with 4 that makes 66.7 GB a day, 0.9 of 1000 GB last 13.49 days */
    struct promise_result r = judge(&c, RECORDED_TEXT FILM(", disk_gb: 1000") PROMISED("13"));
    CHECK("fits", r.state == PROMISE_KEPT);
    CHECK_NEAR("margin", r.margin, 900 / ((4 + 1920 * 1080 * 15 * 0.07 / 1e6) * 10.8) - 13, 1e-9, "days");
    r = judge(&c, RECORDED_TEXT FILM(", disk_gb: 1000") PROMISED("14"));
    CHECK("a day too many", r.state == PROMISE_BROKEN);
    CHECK_NEAR("short by", r.margin, 900 / ((4 + 1920 * 1080 * 15 * 0.07 / 1e6) * 10.8) - 14, 1e-9, "days");
    r = judge(&c, RECORDED_TEXT FILM(", disk_gb: 1000, motion_only: true") PROMISED("40"));
    CHECK("only what moves: 0.3 of the day", r.state == PROMISE_KEPT);
    r = judge(&c, RECORDED_TEXT FILM("") PROMISED("13"));
    CHECK("no disk known", r.state == PROMISE_UNKNOWN && isnan(r.margin));
    check_run_end(&c);
}

TEST(disks_of_their_own)
{
    struct check_run c = check_run_begin();
#define DISKS "  d1: {part: disk_1tb, " WIRE_AT "}\n  d2: {part: disk_1tb, " WIRE_AT "}\n"
    const char *text = arena_printf(c.run.arena, "equipment:\n%s%s", DISKS, RECORDED + strlen("equipment:\n"));
    const double one_days = 900 / ((4 + 1920 * 1080 * 15 * 0.07 / 1e6) * 10.8);
    struct promise_result r =
        judge(&c, arena_printf(c.run.arena, "%s%s", text, FILM(", disks: [d1, d2]") PROMISED("1")));
    CHECK_NEAR("two disks", r.margin, 2 * one_days - 1, 1e-9, "days");
    r = judge(&c, arena_printf(c.run.arena, "%s%s", text, FILM(", disks: [d1, d2], mirrored: true") PROMISED("1")));
    CHECK_NEAR("each holds all", r.margin, one_days - 1, 1e-9, "days");
    r = judge(&c, arena_printf(
                      c.run.arena, "%s%s", text,
                      FILM(", disks: [d1]") "  more: {recorder: keeper, cameras: [eye], disks: [d1]}\n" PROMISED("1")));
    CHECK_NEAR("a second recording on it", r.margin, 900 / ((4 + 4 + 1920 * 1080 * 15 * 0.07 / 1e6) * 10.8) - 1, 1e-9,
               "days");
    check_run_end(&c);
}

/* 10 Mb/s are 108 GB a day, 39.447 TB a year; a disk of 1 TB bears 180 TB. */
TEST(disks_wear_by_their_share)
{
    struct check_run c = check_run_begin();
#define WORN(disks, more)                                                                                           \
    "equipment:\n  d1: {part: disk_1tb, " WIRE_AT "}\n  d2: {part: disk_1tb, " WIRE_AT                              \
    "}\n  d3: {part: disk_2tb, " WIRE_AT "}\ndevices:\n  eye: {kind: camera, " WIRED ", camera: {rate_mbps: 10}}\n" \
    "  keeper: {kind: recorder, " WIRED "}\nrecordings:\n  film: {recorder: keeper, cameras: [eye], disks: [" disks \
    "]" more "}\n" PROMISED("1")
    static const struct {
        const char *what, *text;
        double write_tb, years;
    } ROWS[] = {
        { "one", WORN("d1", ""), 180, 180 / 39.447 },
        { "two alike take half each", WORN("d1, d2", ""), 180, 2 * 180 / 39.447 },
        { "three", WORN("d1, d2, d3", ""), 100,
          100 / (39.447 / 2) }, /* half of all lies on the 2 TB, which bears 100 TB */
        { "the order is nothing", WORN("d3, d2, d1", ""), 100, 100 / (39.447 / 2) },
        { "mirrored ones take all", WORN("d1, d2", ", mirrored: true"), 180, 180 / 39.447 },
        { "the weaker of a mirror", WORN("d1, d3", ", mirrored: true"), 100, 100 / 39.447 },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        const struct promise_result r = judge(&c, ROWS[i].text);
        CHECK_NEAR(ROWS[i].what, fact_find_num(r.evidence, "write_tb"), ROWS[i].write_tb, 0, "TB");
        CHECK_NEAR(ROWS[i].what, fact_find_num(r.evidence, "endurance_years"), ROWS[i].years, 1e-9, "years");
    }
    check_run_end(&c);
}

TEST(a_camera_that_is_cut_off_or_too_much_for_a_cable)
{
    struct check_run c = check_run_begin();
    const char *cameras = strstr(RECORDED, "devices:"), *cables = strstr(RECORDED, "cables:");
    const char *film = FILM(", disk_gb: 1000000") PROMISED("1");
    char *text = arena_printf(c.run.arena, "%s%s", RECORDED, film);
    memcpy(strstr(text, "{from: sw, to: yard"), "{from: sw, to: eye ", strlen("{from: sw, to: eye "));
    struct promise_result r = judge(&c, text);
    CHECK("no way", r.state == PROMISE_BROKEN && isnan(r.margin));
    CHECK_TEXT("who", r.reason, STR("`yard` has no way to `keeper`"));
    /* 999 and 2.2 Mb/s meet on the recorder's cable of 1000 */
    text = arena_printf(c.run.arena, "%.*sdevices:\n  eye: {kind: camera, " WIRED ", camera: {rate_mbps: 999}}\n%s%s%s",
                        (int)(cameras - RECORDED), RECORDED, strstr(cameras, "  yard:"), "", film);
    CHECK("the cables are still there", strstr(text, cables) != NULL);
    r = judge(&c, text);
    CHECK("too much", r.state == PROMISE_BROKEN);
    CHECK_TEXT("which", r.reason, STR("cable `c_keeper` carries 1000 Mb/s, and the pictures are 1001 Mb/s"));
    check_run_end(&c);
}

TEST(a_disk_that_is_none_is_told_with_its_place)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    const char *whole = arena_printf(c.run.arena, "%s%s", WIRE_HEAD, RECORDED_TEXT FILM(", disks: [sw]") PROMISED("1"));
    CHECK("refused", house_read_bytes(&c.run, check_path(&c, "tests/houses/test.house.yaml"), str_from(whole), &h,
                                      &c.problems) == RT_CONFLICT);
    CHECK("one mistake", c.problems.list.n == 1 && !h);
    CHECK("at the word", c.problems.list.v[0].at.line > 0 && c.problems.list.v[0].at.col > 0);
    CHECK_TEXT("in words", str_from(c.problems.list.v[0].msg),
               STR("recording 'film': 'disks' names 'sw', which is no disk"));
    check_run_end(&c);
}
