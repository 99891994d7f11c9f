#include "radio/regdb.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "check.h"
#include "csv.h"

/* ---- a small file made here, byte by byte, by the layout in regdb.c's source notes ---- */

/* Two countries that share nothing:  AA with three rules that touch (two AUTO_BW, one not) and one for DSSS alone,
 * BB with one rule that carries a radar check time and medium access limits. */
static const unsigned char SMALL[] = {
    'R',  'G',  'D',  'B',  0,    0,    0,    20,                         /* 0 */
    'A',  'A',  0,    5,                                                  /* 8: collection at 20 */
    'B',  'B',  0,    8,                                                  /* 12: collection at 32 */
    0,    0,    0,    0,                                                  /* 16 */
    3,    4,    2,    0,    0,    10,   0,    14,   0,    18,   0,    22, /* 20: four rules at 40, 56, 72, 88 */
    3,    1,    1,    0,    0,    26,   0,    0,                          /* 32: one rule at 104, padding */
    16,   0x12, 0x08, 0xfd, 0x00, 0x4e, 0x95, 0x30, 0x00, 0x50, 0x1b, 0xd0,
    0x00, 0x01, 0x38, 0x80, /* 40: 5150-5250, 23.01 */
    16,   0x14, 0x07, 0xd0, 0x00, 0x50, 0x1b, 0xd0, 0x00, 0x51, 0xa2, 0x70,
    0x00, 0x01, 0x38, 0x80, /* 56: 5250-5350, 20 */
    16,   0x00, 0x0a, 0x8c, 0x00, 0x51, 0xa2, 0x70, 0x00, 0x53, 0x29, 0x10,
    0x00, 0x00, 0x4e, 0x20, /* 72: 5350-5450, 27 */
    16,   0x01, 0x07, 0xd0, 0x00, 0x25, 0xc0, 0x10, 0x00, 0x26, 0x0e, 0x30,
    0x00, 0x00, 0x4e, 0x20, /* 88: 2474-2494 */
    20,   0x04, 0x0b, 0xb8, 0x00, 0x53, 0x77, 0x30, 0x00, 0x57, 0x5b, 0xc8,
    0x00, 0x02, 0x71, 0x00, /* 104: 5470-5725, 30 */
    0x02, 0x58, 0,    31,   /* 600 s, limits at 124 */
    0x24, 2,    0,    2,    0x34, 2,    0,    4,    0x4a, 3,    0,    6,
    0x4a, 7,    0,    6, /* 124 */
    0x23, 1,    0,    2,    0x34, 1,    0,    4,    0x46, 3,    0,    6,
    0x4a, 7,    0,    6, /* */
};

static enum rt_code decode(struct check_run *c, const unsigned char *p, size_t n, struct regdb *db)
{
    return regdb_decode(c->run.arena, "made up", (struct str){ (const char *)p, n }, db, &c->problems);
}

TEST(small_file_is_decoded)
{
    struct check_run c = check_run_begin();
    struct regdb db;
    CHECK_OK(&c, decode(&c, SMALL, sizeof SMALL, &db));
    CHECK_NEAR("countries", db.countries.n, 2, 0, "");
    const struct regdb_country *aa = regdb_find(&db, STR("AA")), *bb = regdb_find(&db, STR("BB"));
    CHECK("AA and BB", aa && bb && !regdb_find(&db, STR("CC")) && !regdb_find(&db, STR("A")));
    CHECK_NEAR("rules of AA", aa->rules.n, 4, 0, "");
    CHECK_NEAR("region of AA", aa->dfs_region, 2, 0, "");
    CHECK_NEAR("start", aa->rules.v[0].from_hz, 5150e6, 0, "Hz");
    CHECK_NEAR("end", aa->rules.v[0].to_hz, 5250e6, 0, "Hz");
    CHECK_NEAR("bandwidth", aa->rules.v[0].max_bandwidth_hz, 80e6, 0, "Hz");
    CHECK_NEAR("power", aa->rules.v[0].max_eirp_dbm, 23.01, 1e-9, "dBm");
    CHECK_NEAR("flags", aa->rules.v[0].flags, 0x12, 0, "");
    CHECK_NEAR("radar check", bb->rules.v[0].radar_check_s, 600, 0, "s");
    check_run_end(&c);
}

TEST(channels_of_the_small_file)
{
    static const struct {
        const char *what;
        double centre_mhz, width_mhz;
        struct regdb_channel want;
    } CASES[] = {
        { "inside one rule", 5210, 80, { true, false, true, false, 23.01 } },
        { "inside one rule with radar", 5290, 80, { true, true, false, false, 20 } },
        { "across two that join", 5250, 160, { true, true, true, false, 20 } },
        { "at the very edges", 5160, 20, { true, false, true, false, 23.01 } },
        { "10 MHz below the first", 5150, 20, { 0 } },
        { "wider than the joined run", 5250, 320, { 0 } },
        { "40 MHz across one that does not join", 5350, 40, { 0 } },
        { "20 MHz across one that does not join", 5350, 20, { 0 } },
        { "wider than its rule grants", 5400, 40, { 0 } },
        { "DSSS alone", 2484, 20, { 0 } },
        { "where no rule is", 5500, 20, { 0 } },
    };
    struct check_run c = check_run_begin();
    struct regdb db;
    CHECK_OK(&c, decode(&c, SMALL, sizeof SMALL, &db));
    const struct regdb_country *aa = regdb_find(&db, STR("AA"));
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct regdb_channel got = regdb_channel_rules(aa, CASES[i].centre_mhz * 1e6, CASES[i].width_mhz * 1e6);
        CHECK(CASES[i].what, got.allowed == CASES[i].want.allowed);
        CHECK(CASES[i].what, got.radar == CASES[i].want.radar);
        CHECK(CASES[i].what, got.indoor_only == CASES[i].want.indoor_only);
        CHECK_NEAR(CASES[i].what, got.max_eirp_dbm, CASES[i].want.max_eirp_dbm, 1e-9, "dBm");
    }
    check_run_end(&c);
}

/* ---- damage ---- */

/* Decodes a copy in a block of its exact size, so that a sanitizer sees any read past its end. */
static enum rt_code decode_exact(const unsigned char *p, size_t n)
{
    struct check_run c = check_run_begin();
    unsigned char *copy = test_malloc(n ? n : 1);
    memcpy(copy, p, n);
    struct regdb db = { 0 };
    const enum rt_code code = decode(&c, copy, n, &db);
    CHECK("error and nothing, or all and no error", (code == RT_OK) == (c.problems.n_errors == 0));
    CHECK("nothing on error", code == RT_OK || db.countries.n == 0);
    for (uint32_t i = 0; i < db.countries.n; i++)
        for (uint32_t k = 0; k < db.countries.v[i].rules.n; k++) {
            const struct regdb_rule *r = &db.countries.v[i].rules.v[k];
            CHECK("what is decoded is sound",
                  r->from_hz > 0 && r->from_hz < r->to_hz && r->max_bandwidth_hz <= r->to_hz - r->from_hz);
            (void)regdb_channel_rules(&db.countries.v[i], r->from_hz, r->max_bandwidth_hz);
        }
    test_free(copy);
    check_run_end(&c);
    return code;
}

TEST(every_cut_is_refused)
{
    for (size_t n = 0; n < sizeof SMALL; n++)
        CHECK("cut short", decode_exact(SMALL, n) == RT_SYNTAX);
    CHECK("whole", decode_exact(SMALL, sizeof SMALL) == RT_OK);
}

TEST(every_changed_byte_is_read_cleanly)
{
    unsigned char bytes[sizeof SMALL];
    unsigned n_refused = 0;
    for (size_t i = 0; i < sizeof SMALL; i++)
        for (unsigned v = 0; v < 256; v++) {
            memcpy(bytes, SMALL, sizeof SMALL);
            bytes[i] = (unsigned char)v;
            const enum rt_code code = decode_exact(bytes, sizeof bytes);
            CHECK("refused or read", code == RT_OK || code == RT_SYNTAX);
            n_refused += code != RT_OK;
            if (i < 8)
                CHECK("the header must be as it is", (code == RT_OK) == (v == SMALL[i]));
        }
    CHECK("some are refused", n_refused > 8 * 255);
}

TEST(wrong_files_are_refused)
{
    static const struct {
        const char *what;
        size_t at;
        unsigned char value;
        const char *says;
    } CASES[] = {
        { "magic", 0, 'X', "RGDB" },
        { "version", 7, 19, "version" },
        { "order of countries", 8, 'C', "order" },
        { "small letters", 8, 'a', "order" },
        { "collection outside", 11, 250, "outside" },
        { "collection too short", 20, 2, "too short" },
        { "too many rules", 21, 200, "cut off" },
        { "rule outside", 25, 250, "outside" },
        { "rule too short", 40, 15, "too short" },
        { "rule cut off", 104, 60, "cut off" },
        { "limits outside", 123, 60, "medium access" },
        { "starts behind its end", 44, 1, "begins" },
        { "wider than itself", 53, 9, "wider" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        unsigned char bytes[sizeof SMALL];
        memcpy(bytes, SMALL, sizeof SMALL);
        bytes[CASES[i].at] = CASES[i].value;
        struct regdb db;
        CHECK(CASES[i].what, decode(&c, bytes, sizeof bytes, &db) == RT_SYNTAX);
        CHECK(CASES[i].what, strstr(c.problems.list.v[0].msg, CASES[i].says) != NULL);
        check_run_end(&c);
    }
    struct check_run c = check_run_begin();
    struct regdb db;
    unsigned char *big = ARENA_ARRAY(c.run.arena, unsigned char, REGDB_MAX_BYTES + 1);
    CHECK("too large", decode(&c, big, REGDB_MAX_BYTES + 1, &db) == RT_LIMIT);
    check_run_end(&c);
}

/* Memory may run out anywhere. */
TEST(memory_may_run_out)
{
    enum rt_code code = RT_NOMEM;
    for (size_t limit = 256; code != RT_OK; limit += 64) {
        struct arena *a = arena_new(limit), *words = arena_new(1 << 20);
        struct rt_problems p;
        rt_problems_init(&p, words);
        struct regdb db;
        code = regdb_decode(a, "made up", (struct str){ (const char *)SMALL, sizeof SMALL }, &db, &p);
        CHECK("out of memory or done", code == RT_OK || code == RT_NOMEM);
        CHECK("it ends", limit < 1 << 20);
        arena_free(a);
        arena_free(words);
    }
}

/* ---- the installed file ---- */

static bool read_installed(struct check_run *c, struct regdb *db)
{
    struct rt_problems quiet;
    rt_problems_init(&quiet, c->run.arena);
    if (regdb_read_installed(&c->run, db, &quiet) == RT_OK)
        return true;
    CHECK("only its absence is an excuse", quiet.list.v[0].code == RT_MISSING);
    print_message("    skipped: wireless-regdb is not installed\n");
    return false;
}

/* The sample is of one release of Debian's package; another release has other rules. */
static bool is_the_samples_release(void)
{
    struct check_run c = check_run_begin();
    struct str status;
    const char *package = NULL;
    if (file_read(c.run.arena, "/var/lib/dpkg/status", (size_t)64 << 20, &status, &c.problems) == RT_OK)
        package = strstr(status.p, "\nPackage: wireless-regdb\n");
    const char *version = package ? strstr(package, "\nVersion: ") : NULL;
    const bool same = version && strncmp(version, "\nVersion: 2026.05.30-1", 22) == 0;
    check_run_end(&c);
    if (!same)
        print_message("    skipped: the installed wireless-regdb is not release 2026.05.30, of which the sample is\n");
    return same;
}

/* The installed file decoded here against the same file decoded by an independent script (regdb_sample.csv). */
TEST(installed_file_equals_the_sample)
{
    struct check_run c = check_run_begin();
    struct regdb db;
    if (!read_installed(&c, &db) || !is_the_samples_release()) {
        check_run_end(&c);
        skip();
    }
    CHECK_NEAR("countries", db.countries.n, 182, 0, "");
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/regdb_sample.csv"));
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct str code = csv_cell(&t, i, "alpha2");
        const struct regdb_country *country = regdb_find(&db, code);
        const uint32_t k = (uint32_t)csv_num(&t, i, "rule_index");
        const char *label = arena_printf(c.run.arena, "%.*s rule %u", STR_ARG(code), k);
        CHECK(label, country && k < country->rules.n);
        const struct regdb_rule *r = &country->rules.v[k];
        CHECK_NEAR(label, country->dfs_region, csv_num(&t, i, "dfs_region_code"), 0, "region");
        CHECK_NEAR(label, r->from_hz, csv_num(&t, i, "start_khz") * 1e3, 0, "Hz");
        CHECK_NEAR(label, r->to_hz, csv_num(&t, i, "end_khz") * 1e3, 0, "Hz");
        CHECK_NEAR(label, r->max_bandwidth_hz, csv_num(&t, i, "max_bandwidth_khz") * 1e3, 0, "Hz");
        CHECK_NEAR(label, r->max_eirp_dbm, csv_num(&t, i, "max_eirp_dbm"), 1e-9, "dBm");
        const struct str flags = csv_cell(&t, i, "flags_hex");
        CHECK_NEAR(label, r->flags, (double)strtoul(str_dup(c.run.arena, flags).p, NULL, 16), 0, "flags");
        const bool last = i + 1 == t.rows.n || !str_eq(csv_cell(&t, i + 1, "alpha2"), code);
        CHECK(label, !last || k + 1 == country->rules.n);
    }
    check_run_end(&c);
}

/* Channels of Germany and the United States against a table made from the sample by an independent script. */
TEST(channels_of_two_countries)
{
    struct check_run c = check_run_begin();
    struct regdb db;
    if (!read_installed(&c, &db) || !is_the_samples_release()) {
        check_run_end(&c);
        skip();
    }
    static const struct {
        struct str code;
        const char *allowed, *dfs, *outdoor, *eirp;
    } VIEWS[] = {
        { STR("DE"), "etsi_allowed", "etsi_dfs", "etsi_outdoor", "etsi_eirp_dbm" },
        { STR("US"), "fcc_allowed", "fcc_dfs", "fcc_outdoor", "fcc_eirp_dbm" },
    };
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/channels.csv"));
    unsigned n_allowed = 0, n_refused = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (str_is(csv_cell(&t, i, "band"), "802.15.4")) /* no Wi-Fi: its rows give no power */
            continue;
        for (size_t v = 0; v < RT_COUNT(VIEWS); v++) {
            const struct regdb_channel got = regdb_channel_rules(
                regdb_find(&db, VIEWS[v].code), csv_num(&t, i, "centre_mhz") * 1e6, csv_num(&t, i, "width_mhz") * 1e6);
            const char *label = arena_printf(c.run.arena, "%s %.*s channel %.*s", VIEWS[v].code.p,
                                             STR_ARG(csv_cell(&t, i, "band")), STR_ARG(csv_cell(&t, i, "channel")));
            CHECK(label, got.allowed == str_is(csv_cell(&t, i, VIEWS[v].allowed), "yes"));
            n_allowed += got.allowed;
            n_refused += !got.allowed;
            if (!got.allowed)
                continue;
            CHECK(label, got.radar == str_is(csv_cell(&t, i, VIEWS[v].dfs), "yes"));
            CHECK(label, got.indoor_only == str_is(csv_cell(&t, i, VIEWS[v].outdoor), "no"));
            CHECK_NEAR(label, got.max_eirp_dbm, csv_num(&t, i, VIEWS[v].eirp), 1e-9, "dBm");
        }
    }
    CHECK("both answers occur", n_allowed > 200 && n_refused > 20);
    check_run_end(&c);
}

TEST(installed_file_cut_anywhere)
{
    struct check_run c = check_run_begin();
    struct regdb db;
    if (!read_installed(&c, &db)) {
        check_run_end(&c);
        skip();
    }
    struct str bytes;
    CHECK_OK(&c, file_read(c.run.arena, "/lib/firmware/regulatory.db", REGDB_MAX_BYTES, &bytes, &c.problems));
    const unsigned char *p = (const unsigned char *)bytes.p;
    CHECK("whole", decode_exact(p, bytes.n) == RT_OK);
    for (size_t n = 0; n < bytes.n; n += n < 1000 ? 1 : 13) /* finely where the countries are listed */
        CHECK("cut short", decode_exact(p, n) == RT_SYNTAX);
    check_run_end(&c);
}
