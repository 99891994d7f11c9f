#include "radio/regdb.h"

#include <math.h>
#include <unistd.h>

#include "base/file.h"

/* The layout: every number big endian; a pointer is 16 bits and counts words of 4 bytes from the start of the file; records
 * that may grow hold their own length in the first byte.  Header, then countries (4 bytes each, up to one whose pointer is
 * 0) -> collections (3 bytes, then pointers) -> rules (16 to 20 bytes) -> limits of medium access (32 bytes, skipped). */
enum {
    MAGIC = 0x52474442, /* "RGDB" */
    VERSION = 20,
    HEADER_BYTES = 8,
    COUNTRY_BYTES = 4,
    COLLECTION_BYTES = 3,
    RULE_BYTES = 16,
    RULE_BYTES_RADAR = 18, /* with the time of the radar check */
    RULE_BYTES_WMM = 20,   /* with the pointer to the limits of medium access */
    WMM_BYTES = 32
};

struct reader {
    struct arena *arena;
    const char *path;
    struct str bytes;
    struct rt_problems *problems;
};

static bool lies_inside(const struct reader *r, size_t at, size_t n)
{
    return at <= r->bytes.n && n <= r->bytes.n - at;
}

/* The byte readers below are called only where lies_inside() held. */
static uint32_t u8(const struct reader *r, size_t at) { return (unsigned char)r->bytes.p[at]; }
static uint32_t u16(const struct reader *r, size_t at) { return u8(r, at) << 8 | u8(r, at + 1); }
static uint32_t u32(const struct reader *r, size_t at) { return u16(r, at) << 16 | u16(r, at + 2); }

static enum rt_code damaged(const struct reader *r, size_t at, const char *what)
{
    return rt_fail(r->problems, RT_SYNTAX, RT_NOWHERE, "install the package wireless-regdb again",
                   "%s is not a sound regulatory database: %s (byte %zu of %zu)", r->path, what, at, r->bytes.n);
}

/* The two characters of a country, for sorting; 0 if they are not capitals or digits. */
static uint32_t country_key(const struct reader *r, size_t at)
{
    for (size_t i = at; i < at + 2; i++) {
        const uint32_t c = u8(r, i);
        if (!((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9')))
            return 0;
    }
    return u16(r, at);
}

static enum rt_code read_rule(const struct reader *r, size_t at, struct regdb_rule *out)
{
    if (!lies_inside(r, at, 1))
        return damaged(r, at, "a rule lies outside of the file");
    const uint32_t n = u8(r, at);
    if (n < RULE_BYTES)
        return damaged(r, at, "a rule is too short");
    if (!lies_inside(r, at, n))
        return damaged(r, at, "a rule is cut off");
    /* Stored as kHz and 1/100 dBm. */
    *out = (struct regdb_rule){ .flags = u8(r, at + 1),
                                .max_eirp_dbm = u16(r, at + 2) / 100.0,
                                .from_hz = u32(r, at + 4) * 1e3,
                                .to_hz = u32(r, at + 8) * 1e3,
                                .max_bandwidth_hz = u32(r, at + 12) * 1e3,
                                .radar_check_s = n >= RULE_BYTES_RADAR ? u16(r, at + 16) : 0 };
    if (n >= RULE_BYTES_WMM) {
        const size_t wmm = (size_t)u16(r, at + 18) * 4;
        if (wmm && !lies_inside(r, wmm, WMM_BYTES))
            return damaged(r, wmm, "limits of medium access lie outside of the file");
    }
    if (out->from_hz <= 0 || out->from_hz >= out->to_hz)
        return damaged(r, at, "a rule begins where it ends, or behind");
    if (out->max_bandwidth_hz > out->to_hz - out->from_hz)
        return damaged(r, at, "a rule allows a channel wider than itself");
    return RT_OK;
}

static enum rt_code read_country(const struct reader *r, size_t at, struct regdb_country *out)
{
    const size_t collection = (size_t)u16(r, at + 2) * 4;
    if (!lies_inside(r, collection, COLLECTION_BYTES))
        return damaged(r, collection, "a country's rules lie outside of the file");
    const size_t n_fixed = u8(r, collection);
    const uint32_t n_rules = u8(r, collection + 1);
    if (n_fixed < COLLECTION_BYTES)
        return damaged(r, collection, "a country's list of rules is too short");
    const size_t pointers = collection + ((n_fixed + 1) & ~(size_t)1);
    if (!lies_inside(r, pointers, (size_t)n_rules * 2))
        return damaged(r, pointers, "a country's list of rules is cut off");
    *out =
        (struct regdb_country){ .code = { r->bytes.p[at], r->bytes.p[at + 1] }, .dfs_region = u8(r, collection + 2) };
    out->rules.v = ARENA_ARRAY(r->arena, struct regdb_rule, n_rules);
    if (!out->rules.v)
        return rt_fail_memory(r->problems);
    out->rules.n = n_rules;
    for (uint32_t i = 0; i < n_rules; i++)
        RT_TRY(read_rule(r, (size_t)u16(r, pointers + (size_t)i * 2) * 4, &out->rules.v[i]));
    return RT_OK;
}

enum rt_code regdb_decode(struct arena *a, const char *path, struct str bytes, struct regdb *out, struct rt_problems *p)
{
    const struct reader r = { .arena = a, .path = path, .bytes = bytes, .problems = p };
    if (bytes.n > REGDB_MAX_BYTES)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "install the package wireless-regdb again",
                       "%s has %zu bytes; a regulatory database has at most %d", path, bytes.n, REGDB_MAX_BYTES);
    if (!lies_inside(&r, 0, HEADER_BYTES) || u32(&r, 0) != MAGIC)
        return damaged(&r, 0, "it does not begin with the letters RGDB");
    if (u32(&r, 4) != VERSION)
        return damaged(&r, 4, "its version is not 20");

    VEC(struct regdb_country) countries = { 0 };
    uint32_t last_key = 0;
    for (size_t at = HEADER_BYTES;; at += COUNTRY_BYTES) {
        if (!lies_inside(&r, at, COUNTRY_BYTES))
            return damaged(&r, at, "the list of countries does not end");
        if (u16(&r, at + 2) == 0)
            break;
        /* The order also bounds how many countries there can be, and with them the memory. */
        const uint32_t key = country_key(&r, at);
        if (key <= last_key)
            return damaged(&r, at, "the countries are not in the order of their codes");
        last_key = key;
        struct regdb_country country;
        RT_TRY(read_country(&r, at, &country));
        if (!VEC_PUSH(a, &countries, country))
            return rt_fail_memory(p);
    }
    out->countries.v = countries.v;
    out->countries.n = countries.n;
    return RT_OK;
}

enum rt_code regdb_read_installed(const struct run *run, struct regdb *out, struct rt_problems *p)
{
    /* The kernel's search path for firmware (Documentation/driver-api/firmware/fw_search_path.rst, from memory), without the
     * folders of one kernel release, and where the merged /usr is not linked. */
    static const char *const PATHS[] = { "/lib/firmware/updates/regulatory.db", "/lib/firmware/regulatory.db",
                                         "/usr/lib/firmware/regulatory.db" };
    for (size_t i = 0; i < RT_COUNT(PATHS); i++) {
        if (access(PATHS[i], F_OK) != 0)
            continue;
        struct str bytes;
        RT_TRY(file_read(run->arena, PATHS[i], REGDB_MAX_BYTES, &bytes, p));
        return regdb_decode(run->arena, PATHS[i], bytes, out, p);
    }
    return rt_fail(p, RT_MISSING, RT_NOWHERE, "install the package wireless-regdb",
                   "the regulatory database is not on this machine: %s is not there", PATHS[1]);
}

const struct regdb_country *regdb_find(const struct regdb *db, struct str country)
{
    for (uint32_t i = 0; i < db->countries.n; i++)
        if (str_is(country, db->countries.v[i].code))
            return &db->countries.v[i];
    return NULL;
}

/* Width of the gapless run of AUTO_BW rules around a rule.  Ends move outwards until none moves. */
static double joined_width_hz(const struct regdb_country *c, const struct regdb_rule *rule)
{
    double from_hz = rule->from_hz, to_hz = rule->to_hz;
    for (bool moved = true; moved;) {
        moved = false;
        for (uint32_t i = 0; i < c->rules.n; i++) {
            const struct regdb_rule *o = &c->rules.v[i];
            if (!(o->flags & REGDB_AUTO_BW) || o->to_hz < from_hz || o->from_hz > to_hz ||
                (o->from_hz >= from_hz && o->to_hz <= to_hz))
                continue;
            from_hz = fmin(from_hz, o->from_hz);
            to_hz = fmax(to_hz, o->to_hz);
            moved = true;
        }
    }
    return to_hz - from_hz;
}

static bool grants(const struct regdb_country *c, const struct regdb_rule *rule, double width_hz)
{
    if (rule->flags & REGDB_NO_OFDM)
        return false;
    return rule->max_bandwidth_hz >= width_hz || (rule->flags & REGDB_AUTO_BW && joined_width_hz(c, rule) >= width_hz);
}

static void apply(struct regdb_channel *ch, const struct regdb_rule *rule)
{
    ch->max_eirp_dbm = ch->allowed ? fmin(ch->max_eirp_dbm, rule->max_eirp_dbm) : rule->max_eirp_dbm;
    ch->allowed = true;
    ch->radar = ch->radar || rule->flags & REGDB_DFS;
    ch->indoor_only = ch->indoor_only || rule->flags & REGDB_NO_OUTDOOR;
    ch->passive_only = ch->passive_only || rule->flags & REGDB_NO_IR;
}

struct regdb_channel regdb_channel_rules(const struct regdb_country *c, double centre_hz, double width_hz)
{
    const double from_hz = centre_hz - width_hz / 2, to_hz = centre_hz + width_hz / 2;
    struct regdb_channel ch = { 0 };
    for (uint32_t i = 0; i < c->rules.n; i++) {
        const struct regdb_rule *rule = &c->rules.v[i];
        if (rule->from_hz <= from_hz && to_hz <= rule->to_hz && grants(c, rule, width_hz)) {
            apply(&ch, rule);
            return ch;
        }
    }
    /* Walk from edge to edge over joining rules, each time by the one that leads furthest. */
    for (double at_hz = from_hz; at_hz < to_hz;) {
        const struct regdb_rule *best = NULL;
        for (uint32_t i = 0; i < c->rules.n; i++) {
            const struct regdb_rule *rule = &c->rules.v[i];
            if (rule->flags & REGDB_AUTO_BW && rule->from_hz <= at_hz && rule->to_hz > at_hz &&
                grants(c, rule, width_hz) && (!best || rule->to_hz > best->to_hz))
                best = rule;
        }
        if (!best)
            return (struct regdb_channel){ 0 };
        apply(&ch, best);
        at_hz = best->to_hz;
    }
    return ch;
}
