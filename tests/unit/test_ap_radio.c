#include "radio/ap_radio.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"

/* Rules of Germany and the United States from 2 to 7.2 GHz, as in tests/reference/regdb_sample.csv. */
static struct regdb_rule DE[] = {
    { 2400e6, 2483.5e6, 40e6, 20.00, 0, 0 },
    { 5150e6, 5250e6, 80e6, 23.01, REGDB_NO_OUTDOOR | REGDB_AUTO_BW, 0 },
    { 5250e6, 5350e6, 80e6, 20.00, REGDB_NO_OUTDOOR | REGDB_DFS | REGDB_AUTO_BW, 0 },
    { 5470e6, 5725e6, 160e6, 26.98, REGDB_DFS, 0 },
    { 5725e6, 5875e6, 80e6, 13.97, 0, 0 },
    { 5945e6, 6425e6, 320e6, 23.00, REGDB_NO_OUTDOOR, 0 },
};
static struct regdb_rule US[] = {
    { 2400e6, 2472e6, 40e6, 30.00, 0, 0 },
    { 5150e6, 5250e6, 80e6, 23.00, REGDB_AUTO_BW, 0 },
    { 5250e6, 5350e6, 80e6, 24.00, REGDB_DFS | REGDB_AUTO_BW, 0 },
    { 5470e6, 5730e6, 160e6, 24.00, REGDB_DFS, 0 },
    { 5730e6, 5850e6, 80e6, 30.00, REGDB_AUTO_BW, 0 },
    { 5850e6, 5895e6, 40e6, 27.00, REGDB_NO_OUTDOOR | REGDB_NO_IR | REGDB_AUTO_BW, 0 },
    { 5925e6, 7125e6, 320e6, 12.00, REGDB_NO_OUTDOOR | REGDB_NO_IR, 0 },
};
static const struct regdb_country GERMANY = { "DE", 2, { DE, RT_COUNT(DE) } };
static const struct regdb_country STATES = { "US", 1, { US, RT_COUNT(US) } };

/* One access point of three bands (peak gain 3 dBi) in a house of one floor, with one setting. */
struct scene_of_one {
    struct house house;
    struct floor floor;
    struct mount mount;
    struct equipment equipment;
    struct radio_setting setting;
    struct part part;
    struct part_radio radios[3];
    double angles_deg[2], gains_dbi[2];
};

static void set_up(struct scene_of_one *s, struct radio_setting setting)
{
    *s = (struct scene_of_one){
        .floor = { .id = STR("upper"), .level_m = 2.7, .height_m = 2.4 },
        .mount = { .id = STR("m1"), .surface = SURFACE_CEILING, .faces_deg = RT_NOT_GIVEN },
        .equipment = { .id = STR("a1"), .mount = { .i = 0 }, .room = { .i = NO_REF }, .at_m = { 1, 2, 2.3 } },
        .setting = setting,
        .part = { .id = STR("p1"), .kind = PART_ACCESS_POINT, .surface = SURFACE_CEILING },
        .angles_deg = { 0, 180 },
        .gains_dbi = { 3, -9 },
    };
    static const struct {
        enum band band;
        double width_mhz, power_dbm;
    } BANDS[] = { { BAND_2G4, 40, 20 }, { BAND_5G, 160, 23 }, { BAND_6G, 320, 24 } };
    for (size_t i = 0; i < 3; i++)
        s->radios[i] = (struct part_radio){ .band = BANDS[i].band,
                                            .phy = PHY_BE,
                                            .streams = 2,
                                            .width_mhz = BANDS[i].width_mhz,
                                            .power_dbm = BANDS[i].power_dbm,
                                            .noise_figure_db = 6,
                                            .antenna = { .elevation_deg = { s->angles_deg, 2 },
                                                         .elevation_dbi = { s->gains_dbi, 2 } } };
    s->equipment.faces_deg = s->equipment.tilt_deg = RT_NOT_GIVEN;
    s->part.radios.v = s->radios;
    s->part.radios.n = 3;
    s->equipment.radios.v = &s->setting;
    s->equipment.radios.n = setting.at.line ? 1 : 0;
    s->house.country = STR("DE");
    s->house.floors.v = &s->floor;
    s->house.mounts.v = &s->mount;
    s->house.equipment.v = &s->equipment;
    s->house.parts.list.v = &s->part;
    s->house.floors.n = s->house.mounts.n = s->house.equipment.n = s->house.parts.list.n = 1;
}

/* A setting on line 7 of its file. */
static struct radio_setting ask(enum band band, double channel, double width_mhz, double power_dbm)
{
    return (struct radio_setting){ .at = { .file = "h", .line = 7, .col = 1 },
                                   .band = band,
                                   .channel = channel,
                                   .width_mhz = width_mhz,
                                   .power_dbm = power_dbm };
}

#define OPEN RT_NOT_GIVEN

static const struct ap_radio *radio_of(const ap_radio_list *l, enum band band)
{
    for (uint32_t i = 0; i < l->n; i++)
        if (l->v[i].band == band)
            return &l->v[i];
    fail_msg("no radio of band %d", (int)band);
    return NULL;
}

/* Nothing said: the lowest channels without radar duty, worked by hand from the rules above. */
TEST(left_open)
{
    struct check_run c = check_run_begin();
    struct scene_of_one s;
    set_up(&s, (struct radio_setting){ 0 });
    ap_radio_list l;
    CHECK_OK(&c, ap_radios_resolve(&c.run, &s.house, &GERMANY, &l, &c.problems));
    CHECK_NEAR("radios", l.n, 3, 0, "");
    CHECK_NEAR("warnings", c.problems.n_warnings, 0, 0, "");
    static const struct {
        enum band band;
        double channel, centre_mhz, width_mhz, power_dbm;
    } WANT[] = { { BAND_2G4, 1, 2412, 20, 20 - 3 },       /* 20 dBm EIRP less 3 dBi */
                 { BAND_5G, 42, 5210, 80, 23.01 - 3 },    /* 36 to 48 */
                 { BAND_6G, 15, 6025, 160, 23.00 - 3 } }; /* 1 to 29 */
    for (size_t i = 0; i < RT_COUNT(WANT); i++) {
        const struct ap_radio *r = &l.v[i];
        CHECK_NEAR("in order of bands", r->band, WANT[i].band, 0, "");
        CHECK_NEAR("channel", r->channel, WANT[i].channel, 0, "");
        CHECK_NEAR("centre", r->centre_hz, WANT[i].centre_mhz * 1e6, 0, "Hz");
        CHECK_NEAR("width", r->width_hz, WANT[i].width_mhz * 1e6, 0, "Hz");
        CHECK_NEAR("power", r->power_dbm, WANT[i].power_dbm, 1e-9, "dBm");
        CHECK_NEAR("EIRP", r->eirp_dbm, WANT[i].power_dbm + 3, 1e-9, "dBm");
        CHECK("said so", r->channel_was_chosen && !r->needs_radar_detection);
        CHECK_NEAR("height above the datum", r->at_m.z, 5.0, 1e-12, "m");
    }
    check_run_end(&c);
}

/* One setting each; what comes out is worked by hand from the rules. */
TEST(settings)
{
    static const struct {
        const char *what;
        const struct regdb_country *country;
        bool outdoors;
        enum band band;
        double channel, width_mhz, power_dbm;
        double want_channel, want_width_mhz, want_power_dbm;
        bool radar;
        unsigned n_warnings;
    } CASES[] = {
        { "primary of the usual width", &GERMANY, false, BAND_5G, 44, OPEN, 15, 42, 80, 15, false, 0 },
        { "primary of a given width", &GERMANY, false, BAND_5G, 52, 160, OPEN, 50, 160, 17, true, 0 },
        { "centre says the width", &GERMANY, false, BAND_5G, 114, OPEN, OPEN, 114, 160, 23, true, 0 },
        { "narrow", &GERMANY, false, BAND_5G, 36, 20, 10, 36, 20, 10, false, 0 },
        { "radar", &GERMANY, false, BAND_5G, 100, 80, 23, 106, 80, 23, true, 0 },
        { "the last channel of a radar rule", &STATES, false, BAND_5G, 144, OPEN, 20, 138, 80, 20, true, 0 },
        { "narrowed to fit the rules", &GERMANY, false, BAND_5G, 140, OPEN, 20, 140, 20, 20, true, 0 },
        { "power lowered, with a warning", &GERMANY, false, BAND_2G4, 6, 20, 19, 6, 20, 17, false, 1 },
        { "outdoors, open: the first not for indoors", &GERMANY, true, BAND_5G, OPEN, OPEN, OPEN, 155, 80, 10.97, false,
          0 },
        { "outdoors, radar channel", &GERMANY, true, BAND_5G, 100, 80, OPEN, 106, 80, 23, true, 0 },
        { "40 MHz at 2.4 GHz when asked", &GERMANY, false, BAND_2G4, 9, 40, OPEN, 7, 40, 17, false, 0 },
        { "6 GHz where only answering is allowed", &STATES, false, BAND_6G, OPEN, OPEN, OPEN, 15, 160, 9, false, 1 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        struct scene_of_one s;
        set_up(&s, ask(CASES[i].band, CASES[i].channel, CASES[i].width_mhz, CASES[i].power_dbm));
        s.mount.outdoors = CASES[i].outdoors;
        s.part.radios.v = &s.radios[CASES[i].band]; /* this band alone */
        s.part.radios.n = 1;
        ap_radio_list l;
        CHECK_OK(&c, ap_radios_resolve(&c.run, &s.house, CASES[i].country, &l, &c.problems));
        const struct ap_radio *r = radio_of(&l, CASES[i].band);
        CHECK_NEAR(CASES[i].what, r->channel, CASES[i].want_channel, 0, "");
        CHECK_NEAR(CASES[i].what, r->width_hz / 1e6, CASES[i].want_width_mhz, 0, "MHz");
        CHECK_NEAR(CASES[i].what, r->power_dbm, CASES[i].want_power_dbm, 1e-9, "dBm");
        CHECK(CASES[i].what, r->needs_radar_detection == CASES[i].radar);
        CHECK_NEAR(CASES[i].what, c.problems.n_warnings, CASES[i].n_warnings, 0, "");
        check_run_end(&c);
    }
}

TEST(settings_refused)
{
    static const struct {
        const char *what;
        bool outdoors;
        enum band band;
        double channel, width_mhz, power_dbm;
        enum rt_code code;
        const char *says;
    } CASES[] = {
        { "no such channel", false, BAND_5G, 37, OPEN, OPEN, RT_RANGE, "no channel 37" },
        { "half a channel", false, BAND_2G4, 1.5, OPEN, OPEN, RT_RANGE, "no channel 1.5" },
        { "not 802.11's at 2.4 GHz", false, BAND_2G4, 14, OPEN, OPEN, RT_RANGE, "no channel 14" },
        { "not in this country", false, BAND_6G, 111, OPEN, OPEN, RT_RANGE, "DE does not allow" },
        { "channel and width disagree", false, BAND_5G, 42, 40, OPEN, RT_RANGE, "80 MHz wide" },
        { "no such width", false, BAND_5G, 36, 60, OPEN, RT_RANGE, "60 MHz wide" },
        { "wider than the part", false, BAND_5G, 36, 320, OPEN, RT_RANGE, "at most 160" },
        { "wider than the part, no channel", false, BAND_2G4, OPEN, 80, OPEN, RT_RANGE, "at most 40" },
        { "not allowed at this width", false, BAND_5G, 165, 160, OPEN, RT_RANGE, "DE does not allow" },
        { "channel 233 has no 40 MHz", false, BAND_6G, 233, 40, OPEN, RT_RANGE, "holds channel 233" },
        { "indoor channel outdoors", true, BAND_5G, 36, OPEN, OPEN, RT_RANGE, "it is for indoors" },
        { "6 GHz outdoors", true, BAND_6G, OPEN, OPEN, OPEN, RT_RANGE, "no 6 GHz channel" },
        { "too much power", false, BAND_5G, 36, OPEN, 30, RT_RANGE, "at most 23" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        struct scene_of_one s;
        set_up(&s, ask(CASES[i].band, CASES[i].channel, CASES[i].width_mhz, CASES[i].power_dbm));
        s.mount.outdoors = CASES[i].outdoors;
        s.part.radios.v = &s.radios[CASES[i].band];
        s.part.radios.n = 1;
        ap_radio_list l = { NULL, 77 };
        CHECK(CASES[i].what, ap_radios_resolve(&c.run, &s.house, &GERMANY, &l, &c.problems) == CASES[i].code);
        CHECK_NEAR(CASES[i].what, c.problems.n_errors, 1, 0, "");
        CHECK_NEAR(CASES[i].what, c.problems.list.v[0].at.line, 7, 0, "");
        if (!strstr(c.problems.list.v[0].msg, CASES[i].says))
            print_error("%s: %s\n", CASES[i].what, c.problems.list.v[0].msg);
        CHECK(CASES[i].what, strstr(c.problems.list.v[0].msg, CASES[i].says) != NULL);
        CHECK(CASES[i].what, c.problems.list.v[0].hint != NULL);
        CHECK("untouched", l.v == NULL && l.n == 77);
        check_run_end(&c);
    }
}

TEST(all_mistakes_at_once)
{
    struct check_run c = check_run_begin();
    struct scene_of_one s;
    set_up(&s, ask(BAND_5G, 37, OPEN, OPEN));
    struct radio_setting settings[] = { ask(BAND_5G, 37, OPEN, OPEN), ask(BAND_2G4, 1, OPEN, 99),
                                        ask(BAND_6G, OPEN, OPEN, OPEN), ask(BAND_6G, 5, OPEN, OPEN) };
    s.equipment.radios.v = settings;
    s.equipment.radios.n = RT_COUNT(settings);
    ap_radio_list l;
    CHECK("the first kind found", ap_radios_resolve(&c.run, &s.house, &GERMANY, &l, &c.problems) == RT_CONFLICT);
    CHECK_NEAR("errors", c.problems.n_errors, 3, 0, "");
    check_run_end(&c);
}

TEST(radios_that_are_off_or_not_an_access_points)
{
    struct check_run c = check_run_begin();
    struct scene_of_one s;
    set_up(&s, ask(BAND_5G, 36, OPEN, OPEN));
    s.setting.off = true;
    ap_radio_list l;
    CHECK_OK(&c, ap_radios_resolve(&c.run, &s.house, &GERMANY, &l, &c.problems));
    CHECK("two are left", l.n == 2 && l.v[0].band == BAND_2G4 && l.v[1].band == BAND_6G);
    s.part.kind = PART_CAMERA;
    CHECK_OK(&c, ap_radios_resolve(&c.run, &s.house, &GERMANY, &l, &c.problems));
    CHECK("none", l.n == 0);
    check_run_end(&c);
}

/* Without the country's rules: the parts' powers, and one warning. */
TEST(rules_not_known)
{
    struct check_run c = check_run_begin();
    struct scene_of_one s;
    set_up(&s, ask(BAND_5G, 36, 80, OPEN));
    ap_radio_list l;
    CHECK_OK(&c, ap_radios_resolve(&c.run, &s.house, NULL, &l, &c.problems));
    CHECK_NEAR("warnings", c.problems.n_warnings, 1, 0, "");
    CHECK_NEAR("2.4 GHz", radio_of(&l, BAND_2G4)->power_dbm, 20, 0, "dBm");
    CHECK_NEAR("5 GHz", radio_of(&l, BAND_5G)->power_dbm, 23, 0, "dBm");
    CHECK_NEAR("6 GHz", radio_of(&l, BAND_6G)->power_dbm, 24, 0, "dBm");
    CHECK("all finite", isfinite(radio_of(&l, BAND_6G)->eirp_dbm));
    check_run_end(&c);
}
