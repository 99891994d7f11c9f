/* Rulesets are loaded into the kernel, listed by nft and read back: what the table read says of a packet must be what the table
 * written says of it. */
#include "reach/ruleset.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "check.h"
#include "namespace.h"
#include "reach/export_nft.h"
#include "ruleset_kit.h"

enum { MINUTE = 60, HOUR = 3600, DAY = 24 * HOUR };

/* Monday 30 November 2026, 00:00 in Berlin: 29 November, 23:00 UTC (1 December 2026 00:00 UTC is 1796083200, date(1)). */
static const int64_t MONDAY_S = 1796083200 - 25 * HOUR;

static struct ruleset_zones kit_zones(struct check_run *c, const struct ruleset_kit *k)
{
    struct ruleset_zones z = { .n_zones = KIT_ZONES, .n_with_mac = KIT_TUNNEL };
    z.interfaces.v = ARENA_ARRAY(c->run.arena, struct ruleset_interface, KIT_ZONES);
    for (uint32_t zone = 0; zone < KIT_ZONES; zone++)
        if (zone != ZONE_GATEWAY)
            z.interfaces.v[z.interfaces.n++] = (struct ruleset_interface){ k->interfaces[zone], zone };
    return z;
}

static struct str listed(struct check_run *c, struct str text)
{
    const char *path = namespace_file(c, text);
    struct str output;
    const int status =
        namespace_run(c, arena_printf(c->run.arena, "export TZ=UTC; nft -f %s && nft -j list ruleset", path), &output);
    unlink(path);
    if (status)
        fail_msg("nft: %.*s\n%.*s", STR_ARG(text), STR_ARG(output));
    return output;
}

/* A week of which the hours are known by hand: every day 20:00 to 05:00 of the next, UTC, in the first stretch; on Tuesdays all
 * day in the second, which begins within the week. */
static struct span EVERY_NIGHT[] = {
    { 0, 5 * HOUR - 1 },
    { 20 * HOUR, 29 * HOUR - 1 },
    { 44 * HOUR, 53 * HOUR - 1 },
    { 68 * HOUR, 77 * HOUR - 1 },
    { 92 * HOUR, 101 * HOUR - 1 },
    { 116 * HOUR, 125 * HOUR - 1 },
    { 140 * HOUR, 149 * HOUR - 1 },
    { 164 * HOUR, 168 * HOUR - 1 },
};
static struct span FRIDAYS[] = { { 4 * DAY, 5 * DAY - 1 } };

static bool night_holds(int64_t unix_s, int64_t turn_s)
{
    const int64_t of_day = unix_s % DAY, day = (unix_s / DAY + 3) % 7; /* 0 Monday */
    return unix_s < turn_s ? of_day >= 20 * HOUR || of_day < 5 * HOUR : day == 4;
}

PROP(what_is_read_back_is_what_was_written, 60)
{
    struct check_run c = check_run_begin();
    if (!namespace_allowed()) {
        check_run_end(&c);
        skip();
    }
    struct ruleset_kit k;
    ruleset_kit_begin(&k, c.run.arena, 4);
    ruleset_kit_random(&k, r);
    const int64_t turn_s = MONDAY_S + 3 * DAY;
    struct kernel_span spans[] = { { 0, turn_s, { EVERY_NIGHT, RT_COUNT(EVERY_NIGHT) } },
                                   { turn_s, INT64_MAX, { FRIDAYS, 1 } } };
    const kernel_span_list hours = { spans, 2 };
    const struct nft_options options = { .interfaces = k.interfaces,
                                         .n_interfaces = KIT_ZONES,
                                         .hours = &hours,
                                         .n_hours = 1,
                                         .translation = true,
                                         .log = true };
    struct buf text = { .arena = c.run.arena };
    CHECK_OK(&c, nft_export(&c.run, &k.policy, &options, &text, &c.problems));
    const struct str json = listed(&c, buf_done(&text));
    const struct week_kind week = { .first_monday_s = MONDAY_S, .n_minutes = WEEK_MINUTES };
    const struct ruleset_zones zones = kit_zones(&c, &k);
    struct ruleset *back = NULL;
    CHECK_OK(&c, ruleset_read(&c.run, &zones, &week, "listing", json, &back, &c.problems));
    for (unsigned i = 0; i < 2000; i++) {
        struct packet p = ruleset_kit_packet(&k, r, (enum family)(i % FAMILY_COUNT));
        p.at[AXIS_MINUTE] = random_below(r, WEEK_MINUTES);
        const bool holds = night_holds(MONDAY_S + (int64_t)p.at[AXIS_MINUTE] * MINUTE, turn_s);
        enum action want, got;
        const struct rule *by = table_run(&k.policy.table, &p, &holds, &want);
        const struct rule *read = table_run(&back->table, &p, NULL, &got);
        if (want == got)
            continue;
        fwrite(text.p, 1, text.n, stderr); /* a message of cmocka holds 1024 bytes */
        fail_msg("rule %u says %d, read back %.*s says %d", by ? (unsigned)by->number : 0, want,
                 STR_ARG(read ? read->says : STR("policy")), got);
    }
    check_run_end(&c);
}

/* ---- words ---- */

static const struct {
    const char *what, *expression;
    uint32_t axis, to;
} NUMBERED[] = {
    { "protocols", "meta l4proto", AXIS_PROTOCOL, 255 },
    { "types of ICMP", "icmp type", AXIS_ICMP_TYPE, 255 },
    { "types of ICMPv6", "icmpv6 type", AXIS_ICMP_TYPE, 255 },
    { "days", "meta day", AXIS_MINUTE, 6 },
};

/* The number that was written, behind the rule's place: "... (12)". */
static bool is_about(const struct rule *r, uint32_t *number)
{
    const char *bracket = r->says.n ? memrchr(r->says.p, '(', r->says.n) : NULL;
    unsigned n = 0;
    if (!bracket || sscanf(bracket, "(%u)", &n) != 1)
        return false;
    *number = n;
    return true;
}

/* The kernel is given numbers; whatever words nft then lists must be read as the same numbers. */
TEST(words_of_the_listing_are_read_as_their_numbers)
{
    if (!namespace_allowed())
        skip();
    for (size_t k = 0; k < RT_COUNT(NUMBERED); k++) {
        struct check_run c = check_run_begin();
        struct buf text = { .arena = c.run.arena };
        buf_text(&text, "table inet t {\nchain f {\ntype filter hook forward priority 0; policy drop;\n");
        for (unsigned n = 0; n <= NUMBERED[k].to; n++)
            buf_printf(&text, "%s %u accept comment \"%u\"\n", NUMBERED[k].expression, n, n);
        buf_text(&text, "}\n}\n");
        struct ruleset_kit kit;
        ruleset_kit_begin(&kit, c.run.arena, 1);
        const struct ruleset_zones zones = kit_zones(&c, &kit);
        /* a week of UTC: Monday 30 November 2026, 00:00 */
        const struct week_kind week = { .first_monday_s = MONDAY_S + HOUR, .n_minutes = WEEK_MINUTES };
        struct ruleset *back = NULL;
        CHECK_OK(
            &c, ruleset_read(&c.run, &zones, &week, NUMBERED[k].what, listed(&c, buf_done(&text)), &back, &c.problems));
        uint32_t n_seen = 0, number = 0;
        for (uint32_t i = 0; i < back->table.chains.n; i++)
            for (uint32_t m = 0; m < back->table.chains.v[i].rules.n; m++) {
                const struct rule *r = &back->table.chains.v[i].rules.v[m];
                if (!is_about(r, &number))
                    continue;
                const span_list *in = match_on(&r->match, NUMBERED[k].axis);
                /* Monday, 1 to nft, begins the week of minutes; Sunday, 0, ends it */
                const axis_value want =
                    NUMBERED[k].axis == AXIS_MINUTE ? (number + 6) % 7 * (DAY / MINUTE) : (axis_value)number;
                n_seen++;
                if (!in || in->n != 1 || in->v[0].lo != want)
                    fail_msg("%s %u is read as something else", NUMBERED[k].expression, (unsigned)number);
            }
        CHECK_NEAR(NUMBERED[k].what, n_seen, NUMBERED[k].to + 1, 0, "rules");
        check_run_end(&c);
    }
}

/* ---- memory ---- */

/* The ceiling is raised step by step until both writing and reading pass; every earlier stop is a clean one. */
TEST(a_ceiling_of_memory_is_told)
{
    struct check_run c = check_run_begin();
    struct str json = { 0 };
    CHECK_OK(&c, file_read(c.run.arena, check_path(&c, "tests/reference/rulesets/port_opening.json"), 1 << 20, &json,
                           &c.problems));
    struct random r = { .seed = 5 };
    struct ruleset_kit k;
    ruleset_kit_begin(&k, c.run.arena, 4);
    ruleset_kit_random(&k, &r);
    static struct ruleset_interface interfaces[] = { { STR("wan0"), ZONE_INTERNET } };
    const struct ruleset_zones zones = { .interfaces = { interfaces, 1 }, .n_zones = 3, .n_with_mac = 3 };
    struct kernel_span always = { 0, INT64_MAX, { 0 } };
    const kernel_span_list hours = { &always, 1 };
    const struct nft_options options = {
        .interfaces = k.interfaces, .n_interfaces = KIT_ZONES, .hours = &hours, .n_hours = 1, .translation = true
    };
    unsigned stops = 0;
    bool read = false, written = false;
    for (size_t limit = 1 << 10; !read || !written; limit += limit / 16) {
        struct arena *a = arena_new(limit);
        const struct run run = { .arena = a, .n_threads = 1 };
        struct rt_problems p;
        rt_problems_init(&p, c.run.arena);
        struct ruleset *out = NULL;
        struct buf text = { .arena = a };
        const enum rt_code reading = ruleset_read(&run, &zones, NULL, "listing", json, &out, &p);
        const enum rt_code writing = nft_export(&run, &k.policy, &options, &text, &p);
        CHECK("reading", reading == RT_OK || reading == RT_NOMEM);
        CHECK("writing", writing == RT_OK || writing == RT_NOMEM);
        CHECK("once enough, always enough", (!read || reading == RT_OK) && (!written || writing == RT_OK));
        stops += reading != RT_OK;
        stops += writing != RT_OK;
        read = reading == RT_OK;
        written = writing == RT_OK;
        arena_free(a);
    }
    CHECK("it stopped on the way", stops > 20);
    check_run_end(&c);
}
