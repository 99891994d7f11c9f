/* The regulatory database: a binary file of offsets and lengths. */
#include "fuzz.h"
#include "radio/regdb.h"

static void put_channel(struct buf *out, const struct regdb_country *c, double centre_hz, double width_hz)
{
    const struct regdb_channel ch = regdb_channel_rules(c, centre_hz, width_hz);
    buf_printf(out, " %d%d%d%d", ch.allowed, ch.radar, ch.indoor_only, ch.passive_only);
    if (ch.allowed)
        fuzz_number(out, "dbm", ch.max_eirp_dbm, false);
}

static void put_country(struct buf *out, const struct regdb_country *c)
{
    buf_printf(out, "%s %u:", c->code, (unsigned)c->dfs_region);
    for (uint32_t i = 0; i < c->rules.n; i++) {
        const struct regdb_rule *r = &c->rules.v[i];
        fuzz_check(r->from_hz < r->to_hz && r->max_bandwidth_hz <= r->to_hz - r->from_hz, "a rule makes sense");
        buf_printf(out, " [%x", (unsigned)r->flags);
        fuzz_number(out, "from", r->from_hz, false);
        fuzz_number(out, "to", r->to_hz, false);
        fuzz_number(out, "width", r->max_bandwidth_hz, false);
        fuzz_number(out, "dbm", r->max_eirp_dbm, false);
        fuzz_number(out, "s", r->radar_check_s, false);
    }
    put_channel(out, c, 2437e6, 20e6);
    put_channel(out, c, 5210e6, 80e6);
    put_channel(out, c, 5570e6, 160e6);
    put_channel(out, c, 6025e6, 160e6);
    buf_char(out, '\n');
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct rt_problems p;
    rt_problems_init(&p, run->arena);
    struct regdb db = { 0 };
    const enum rt_code code = regdb_decode(run->arena, "regulatory.db", bytes, &db, &p);
    buf_printf(out, "%s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0), "an error has a message, and only an error");
    fuzz_check(code == RT_OK || db.countries.n == 0, "nothing is given on error");
    for (uint32_t i = 0; i < db.countries.n; i++) {
        const struct regdb_country *c = &db.countries.v[i];
        put_country(out, c);
        fuzz_check(regdb_find(&db, (struct str){ c->code, 2 }) != NULL, "a country is found by its code");
    }
}

int fuzz_regdb(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }

FUZZ_TARGET(fuzz_regdb);
