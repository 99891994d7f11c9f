/* Channels, widths and powers of a house's radios: against the channels of the standards, and against the promises' own judges. */
#include <math.h>
#include <stdlib.h>

#include "base/compiler.h"
#include "base/units.h"
#include "check.h"
#include "data/channels.h"
#include "design/tune_air.h"
#include "design/tuning.h"
#include "promise/promise.h"
#include "radio/interference.h"

#define HEAD                                                                                           \
    "rooftree: 1\nname: Test\ncountry: %s\ntime_zone: Europe/London\ncurrency: GBP\n"                  \
    "parts_file: ../../parts/demo.parts.yaml\n"                                                        \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [12, 0], [12, 6], [0, 6]]}\n"    \
    "  yard: {level_m: 0, height_m: 4, open_air: true, outline: [[0, 6], [12, 6], [12, 9], [0, 9]]}\n" \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [12, 0], [12, 6], [0, 6]], use: living}\n"       \
    "segments:\n  home: {vlan: 10}\n"                                                                  \
    "ssids:\n  one: {segment: home, bands: [2.4, 5, 6], security: wpa3}\n"
#define AP(id, x, more) "  " id ": {part: ceiling_two_band, room: den, at_m: [" x ", 3, 2.45]" more "}\n"
#define THREE "equipment:\n" AP("a", "2", "") AP("b", "6", "") AP("c", "10", "")
#define MESH "mesh: {power_dbm: 8}\n"
#define LAMP "devices:\n  lamp: {kind: light, room: den, at_m: [6, 3, 2], segment: home, link: mesh}\n"

struct tuned {
    struct check_run c;
    struct house *h;
    struct tuning_result result;
    struct evaluation ev; /* of the tuned house */
};

static struct house *read_text(struct check_run *c, const char *country, const char *text)
{
    struct house *h = NULL;
    const char *head = arena_printf(c->run.arena, HEAD, country);
    const struct str whole = str_from(arena_printf(c->run.arena, "%s%s", head, text));
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "tests/houses/test.house.yaml"), whole, &h, &c->problems));
    return h;
}

static void begin_evaluation(struct check_run *c, const struct house *h, struct evaluation *ev)
{
    CHECK_OK(c, evaluation_begin(ev, &c->run, h, evaluation_default_options(h), &c->problems));
}

/* In its place: the evaluation points into it. */
static void tune_text(struct tuned *t, const char *country, const char *text, bool allows_radar)
{
    *t = (struct tuned){ .c = check_run_begin() };
    t->h = read_text(&t->c, country, text);
    CHECK_OK(&t->c, house_tune(&t->c.run, t->h, allows_radar, 30.0, &t->result, &t->c.problems));
    CHECK("proven", t->result.answer.is_best);
    begin_evaluation(&t->c, t->h, &t->ev);
}

static double overlap(const struct ap_radio *x, const struct ap_radio *y)
{
    return interference_overlap_share(x->centre_hz, x->width_hz, y->centre_hz, y->width_hz);
}

/* ---- what channels are to each other ---- */

/* IEEE 802.11-2016 clauses 15.4.4.3 and 19.3.15 (from memory): channels of 2.4 GHz are 5 MHz apart, OFDM is 20 MHz wide: 1, 5, 9 and
 * 13 lie clear of each other, as do 1, 6 and 11. */
TEST(channels_that_lie_clear_at_2_4_ghz)
{
    for (int x = 1; x <= 13; x++)
        for (int y = 1; y <= 13; y++) {
            const double share =
                interference_overlap_share(channel_centre_hz(BAND_2G4, x), 20e6, channel_centre_hz(BAND_2G4, y), 20e6);
            CHECK("clear from four on", (share > 0.0) == (abs(x - y) < 4));
            const struct air_channel a = { channel_centre_hz(BAND_2G4, x), 20e6 },
                                     b = { channel_centre_hz(BAND_2G4, y), 20e6 };
            CHECK("turns", air_takes_turns(a, b) == (x == y));
        }
}

TEST(wide_channels_take_turns_with_those_they_hold)
{
    const struct air_channel wide = { channel_centre_hz(BAND_5G, 42), 80e6 };
    for (int ch = 36; ch <= 64; ch += 4) {
        const struct air_channel one = { channel_centre_hz(BAND_5G, ch), 20e6 };
        CHECK("36 to 48 are in it", air_takes_turns(wide, one) == (ch <= 48));
        CHECK("both ways", air_takes_turns(one, wide) == (ch <= 48));
    }
}

/* IEEE 802.11-2016 17.3.9.3 (from memory): the mask falls to -20 dB 11 MHz off, to -28 dB 20 MHz off and to -40 dB 30 MHz off.  So the
 * channel beside, 10 to 30 MHz off, gets between -20 and -28 dB of the power: its nearer half more than -28 dB, none -20 dB. */
TEST(what_falls_beside_a_channel)
{
    const struct air_channel x = { 2412e6, 20e6 };
    double before = 1.0;
    CHECK("all but the edges in its own", air_mask_share(x, x) > 0.9 && air_mask_share(x, x) <= 1.0);
    for (int ch = 1; ch <= 13; ch++) {
        const double share = air_mask_share(x, (struct air_channel){ channel_centre_hz(BAND_2G4, ch), 20e6 });
        CHECK("less with distance", share <= before);
        before = share;
        if (ch == 5)
            CHECK("beside", share < 0.01 && share > 0.5 * pow(10.0, -2.8));
        if (ch == 6)
            CHECK("a gap of 5 MHz helps", share < pow(10.0, -2.3) && share > 0.0);
    }
}

TEST(what_a_cell_costs_another)
{
    const double noise_dbm = -95.0;
    const struct air_channel one = { 2412e6, 20e6 }, three = { 2422e6, 20e6 }, eleven = { 2462e6, 20e6 };
    CHECK_NEAR("turns", air_loss_share(one, -60.0, 0.3, one, noise_dbm), 0.3, 1e-12, "");
    CHECK_NEAR("blind: twice", air_loss_share(one, -60.0, 0.3, three, noise_dbm), 0.6, 1e-12, "");
    CHECK_NEAR("at most all", air_loss_share(one, -60.0, 0.7, three, noise_dbm), 1.0, 1e-12, "");
    CHECK_NEAR("far off", air_loss_share(one, -60.0, 0.3, eleven, noise_dbm), 0.0, 1e-12, "");
    const double weak = air_loss_share(one, -90.0, 0.3, one, noise_dbm);
    CHECK("noise is less than turns", weak > 0.0 && weak < 0.3);
    CHECK("and less when weaker", air_loss_share(one, -100.0, 0.3, one, noise_dbm) < weak);
}

/* ---- a room with three access points ---- */

static void check_clear(const struct tuned *t)
{
    const ap_radio_list *r = &t->ev.radios;
    for (uint32_t i = 0; i < r->n; i++)
        for (uint32_t k = 0; k < i; k++)
            if (r->v[i].band == r->v[k].band && r->v[i].band == BAND_2G4)
                CHECK("clear of each other", overlap(&r->v[i], &r->v[k]) <= 0.0);
}

/* IEEE 802.15.4-2020 10.1.3.3 (from memory): Fc = 2405 + 5 (k - 11) MHz; a channel is 2 MHz wide. */
static void check_mesh(const struct tuned *t)
{
    const double k = t->h->mesh.channel;
    CHECK("a channel", k >= 11 && k <= 26);
    for (uint32_t i = 0; i < t->ev.radios.n; i++)
        if (t->ev.radios.v[i].band == BAND_2G4)
            CHECK("clear of it", fabs(t->ev.radios.v[i].centre_hz - 1e6 * (2405.0 + 5.0 * (k - 11.0))) >= 11e6);
}

TEST(three_in_one_room_lie_clear)
{
    struct tuned t;
    tune_text(&t, "GB", MESH LAMP THREE, false);
    CHECK("two bands each", t.ev.radios.n == 6);
    check_clear(&t);
    check_mesh(&t);
    CHECK("a line for each radio, one for the mesh", t.result.why.n == 7);
    check_run_end(&t.c);
}

/* Common practice, no source: where 1 to 11 may be used, three cells take 1, 6 and 11; and the channels of the mesh that lie clear of
 * those are 15, 20, 25 and 26. */
TEST(one_six_eleven)
{
    struct tuned t;
    tune_text(&t, "US", MESH LAMP THREE, false);
    uint32_t seen = 0;
    for (uint32_t i = 0; i < t.ev.radios.n; i++)
        if (t.ev.radios.v[i].band == BAND_2G4)
            seen |= 1u << (uint32_t)t.ev.radios.v[i].channel;
    CHECK("1, 6, 11", seen == (1u << 1 | 1u << 6 | 1u << 11));
    const double k = t.h->mesh.channel;
    CHECK("15, 20, 25 or 26", k == 15 || k == 20 || k == 25 || k == 26);
    check_run_end(&t.c);
}

/* Every setting reads back as it was meant: no error, no warning that a power is lowered. */
TEST(what_it_writes_is_allowed)
{
    static const char *const COUNTRIES[] = { "GB", "DE", "US", "JP" };
    static const char TEXT[] = "equipment:\n" AP("a", "2", ", radios: [{band: 2.4, off: true}]")
        AP("b", "6",
           "") "  c: {part: ceiling_three_band, room: den, at_m: [10, 3, 2.45], radios: [{band: 2.4, off: true}]}\n"
               "  d: {part: ceiling_three_band, room: den, at_m: [8, 1, 2.45]}\n";
    for (size_t i = 0; i < RT_COUNT(COUNTRIES); i++) {
        struct tuned t;
        struct rt_problems p;
        ap_radio_list radios;
        tune_text(&t, COUNTRIES[i], TEXT, i % 2);
        rt_problems_init(&p, t.c.run.arena);
        CHECK_OK(&t.c, ap_radios_resolve(&t.c.run, t.h, t.ev.rules, &radios, &p));
        CHECK(COUNTRIES[i], p.n_errors == 0 && radios.n == 8);
        uint32_t n_passive = 0; /* a warning for each: there is no other channel at 6 GHz */
        for (uint32_t r = 0; r < radios.n; r++) {
            const struct regdb_channel rule =
                regdb_channel_rules(t.ev.rules, radios.v[r].centre_hz, radios.v[r].width_hz);
            CHECK("said, not left open", !radios.v[r].channel_was_chosen);
            CHECK("allowed", rule.allowed && radios.v[r].eirp_dbm <= rule.max_eirp_dbm + 1e-9);
            n_passive += rule.passive_only;
            CHECK("only where there is no other", !rule.passive_only || radios.v[r].band == BAND_6G);
        }
        CHECK("no other warning", p.n_warnings == n_passive);
        check_run_end(&t.c);
    }
}

/* ---- radar, what is fixed, what is off ---- */

#define FULL_36                                                                                                   \
    "neighbours:\n  next: {band: 5, channel: 36, width_mhz: 80, level_dbm: -55, busy_share: 0.6, floor: ground, " \
    "at_m: [6, 3, 1.2]}\n"

TEST(radar_duty_only_where_allowed)
{
    struct tuned t;
    tune_text(&t, "DE", FULL_36 "equipment:\n" AP("a", "6", ""), false);
    CHECK("none", t.result.n_radar == 0);
    CHECK("among the neighbours rather", t.ev.radios.v[1].centre_hz < 5250e6);
    check_run_end(&t.c);
    tune_text(&t, "DE", FULL_36 "equipment:\n" AP("a", "6", ""), true);
    CHECK("away from them", t.result.n_radar == 1 && t.ev.radios.v[1].centre_hz > 5250e6);
    check_run_end(&t.c);
}

/* The regulatory database has 5150 to 5350 MHz of Germany for indoors only, and what is left is under radar duty or too weak. */
TEST(radar_duty_where_nothing_else_will_do)
{
    struct tuned t;
    tune_text(&t, "DE",
              "equipment:\n"
              "  y: {part: ceiling_two_band, floor: yard, at_m: [6, 7, 3], radios: [{band: 5, channel: 100}]}\n",
              false);
    CHECK("under radar duty", t.result.n_radar == 1 && t.ev.radios.v[1].centre_hz > 5470e6);
    check_run_end(&t.c);
}

TEST(what_is_fixed_stays)
{
    struct tuned t;
    tune_text(&t, "GB",
              "equipment:\n" AP("a", "2",
                                ", tune: false, radios: [{band: 2.4, channel: 4, power_dbm: 9}, {band: 5, off: true}]")
                  AP("b", "6", ", radios: [{band: 2.4, off: true}, {band: 5, channel: 36}]") AP("c", "10", ""),
              false);
    const struct radio_setting *a = t.h->equipment.v[0].radios.v, *b = t.h->equipment.v[1].radios.v;
    CHECK("as it was", t.h->equipment.v[0].radios.n == 2 && a[0].channel == 4 && a[0].power_dbm == 9 && a[1].off);
    CHECK("off", t.h->equipment.v[1].radios.n == 2 && b[0].off && !b[1].off);
    CHECK("four are on", t.ev.radios.n == 4);
    CHECK("the other keeps clear of it", t.ev.radios.v[2].band == BAND_2G4 || t.ev.radios.v[2].band == BAND_5G);
    for (uint32_t r = 1; r < t.ev.radios.n; r++)
        CHECK("clear of channel 4", t.ev.radios.v[r].band != BAND_2G4 || t.ev.radios.v[r].channel >= 8);
    check_run_end(&t.c);
}

TEST(a_house_without_radios)
{
    struct tuned t;
    tune_text(&t, "GB", "", false);
    CHECK("nothing to say", t.result.why.n == 0 && t.result.answer.cost <= 0.0);
    check_run_end(&t.c);
}

/* ---- powers ---- */

static struct promise_result judged(struct check_run *c, struct evaluation *ev, uint32_t promise)
{
    struct promise_result r;
    CHECK_OK(c, promise_evaluate(ev, &ev->h->promises.v[promise], &r, &c->problems));
    return r;
}

/* One access point, one promise: a level falls dB by dB with the power, so that of whole dBm the least with a dB to spare is left. */
TEST(no_more_power_than_is_promised)
{
    struct tuned t;
    tune_text(&t, "GB",
              "equipment:\n" AP("a", "6",
                                ", radios: [{band: 2.4, off: true}]") "promises:\n  calls: {kind: signal, says: calls, "
                                                                      "rooms: [den], bands: [5], level_dbm: -62}\n",
              false);
    const double power_dbm = t.h->equipment.v[0].radios.v[1].power_dbm;
    const double margin_db = judged(&t.c, &t.ev, 0).margin;
    CHECK("a whole number, lowered", is_given(power_dbm) && power_dbm == floor(power_dbm) && power_dbm > 5.0);
    CHECK("a dB to spare, and not two", margin_db >= 1.0 && margin_db < 2.0);
    check_run_end(&t.c);
}

/* What cannot be kept is not made worse: all the power there is. */
TEST(all_power_where_it_is_short)
{
    struct tuned t;
    tune_text(&t, "GB",
              "equipment:\n" AP("a", "6",
                                ", radios: [{band: 2.4, off: true}]") "promises:\n  loud: {kind: signal, says: loud, "
                                                                      "rooms: [den], bands: [5], level_dbm: -30}\n",
              false);
    CHECK("broken", judged(&t.c, &t.ev, 0).state == PROMISE_BROKEN);
    CHECK("the most", !is_given(t.h->equipment.v[0].radios.v[1].power_dbm));
    check_run_end(&t.c);
}

/* A rate that needs 80 MHz has them, though two cells would then share the air. */
TEST(as_wide_as_a_promised_rate_needs)
{
    static const char TWO[] = "equipment:\n" AP("a", "2", "") AP("b", "10", "");
    struct tuned t;
    tune_text(&t, "DE", TWO, false);
    for (uint32_t r = 0; r < t.ev.radios.n; r++)
        CHECK("narrow, apart", t.ev.radios.v[r].band != BAND_5G || t.ev.radios.v[r].width_hz < 80e6);
    check_run_end(&t.c);
    const char *text = arena_printf(
        (t.c = check_run_begin()).run.arena,
        "%spromises:\n  fast: {kind: rate, says: fast, rooms: [den], device_kind: laptop, mbps: 500}\n", TWO);
    struct tuned u;
    tune_text(&u, "DE", text, false);
    CHECK("kept", judged(&u.c, &u.ev, 0).state == PROMISE_KEPT);
    for (uint32_t r = 0; r < u.ev.radios.n; r++)
        CHECK("wide", u.ev.radios.v[r].band != BAND_5G || u.ev.radios.v[r].width_hz >= 80e6);
    check_run_end(&u.c);
    check_run_end(&t.c);
}

/* ---- the smallest demo house ---- */

static const char FLAT[] = "houses/quay_flat.house.yaml";

static bool is_level(enum promise_kind k) { return k == PROMISE_SIGNAL || k == PROMISE_RATE || k == PROMISE_ROAMING; }

TEST(the_demo_flat_loses_nothing)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    struct evaluation before, after;
    struct tuning_result result;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, FLAT), &h, &c.problems));
    struct house as_read = *h;
    as_read.equipment.v = ARENA_ARRAY(c.run.arena, struct equipment, h->equipment.n);
    for (uint32_t e = 0; e < h->equipment.n; e++)
        as_read.equipment.v[e] = h->equipment.v[e];
    CHECK_OK(&c, house_tune(&c.run, h, true, 30.0, &result, &c.problems));
    begin_evaluation(&c, &as_read, &before);
    begin_evaluation(&c, h, &after);
    for (uint32_t k = 0; k < h->promises.n; k++) {
        const enum promise_kind kind = h->promises.v[k].kind;
        if (!is_level(kind) && kind != PROMISE_QUIET)
            continue;
        const struct promise_result x = judged(&c, &before, k), y = judged(&c, &after, k);
        const char *id = arena_printf(c.run.arena, "%.*s", STR_ARG(h->promises.v[k].id));
        CHECK(id, x.state != PROMISE_KEPT || y.state == PROMISE_KEPT);
        if (kind == PROMISE_QUIET)
            CHECK(id, y.margin >= x.margin - 1e-9);
    }
    check_run_end(&c);
}

/* Settings of a house whose file says none. */
static void strip(struct house *h)
{
    for (uint32_t e = 0; e < h->equipment.n; e++)
        for (uint32_t r = 0; r < h->equipment.v[e].radios.n; r++) {
            struct radio_setting *s = &h->equipment.v[e].radios.v[r];
            s->channel = s->width_mhz = s->power_dbm = RT_NOT_GIVEN;
        }
    h->mesh.channel = RT_NOT_GIVEN;
}

TEST(the_same_each_time)
{
    struct check_run c = check_run_begin();
    struct buf said[2] = { { .arena = c.run.arena }, { .arena = c.run.arena } };
    for (int i = 0; i < 2; i++) {
        struct house *h = NULL;
        struct tuning_result result;
        CHECK_OK(&c, house_read(&c.run, check_path(&c, FLAT), &h, &c.problems));
        strip(h);
        c.run.n_threads = i ? 3 : 1;
        CHECK_OK(&c, house_tune(&c.run, h, false, 30.0, &result, &c.problems));
        for (uint32_t k = 0; k < result.why.n; k++) {
            buf_str(&said[i], result.why.v[k]);
            buf_char(&said[i], '\n');
        }
        CHECK("no radar", result.n_radar == 0);
    }
    CHECK_TEXT("lines", buf_done(&said[0]), buf_done(&said[1]));
    CHECK("there are some", said[0].n > 20);
    check_run_end(&c);
}
