/* Rulesets in the styles in which people write them, with verdicts worked out by hand.
 *
 * tests/reference/rulesets/NAME.nft holds the text and, behind `#=`, packets with what becomes of them; NAME.json is what
 * `TZ=UTC nft -j list ruleset` (nftables 1.0.6) said of the text after the kernel had taken it.  Where network namespaces may be
 * made the text is loaded and listed anew, and judged too.  RT_GOLDEN_UPDATE=1 records the listings. */
#include <glob.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "check.h"
#include "namespace.h"
#include "reach/ruleset.h"

enum { LAN = ZONE_SEGMENT, IOT, GUEST, TUNNEL, ZONES, FILES_LEAST = 14, BYTES_MAX = 1 << 20, WEEK_FROM_S = 1795996800 };
/* WEEK_FROM_S: Monday 30 November 2026, 00:00 UTC, date(1) */

static struct ruleset_interface INTERFACES[] = {
    { STR("wan0"), ZONE_INTERNET }, { STR("lan0"), LAN },   { STR("iot0"), IOT },
    { STR("guest0"), GUEST },       { STR("wg0"), TUNNEL },
};
/* 192.168.1.255, 192.168.2.255 */
static struct span BROADCASTS[] = { { 0xc0a801ff, 0xc0a801ff }, { 0xc0a802ff, 0xc0a802ff } };

static struct ruleset *read_listing(struct check_run *c, const char *name, struct str json)
{
    const struct ruleset_zones zones = { .interfaces = { INTERFACES, RT_COUNT(INTERFACES) },
                                         .n_zones = ZONES,
                                         .n_with_mac = TUNNEL,
                                         .broadcasts = { BROADCASTS, RT_COUNT(BROADCASTS) } };
    const struct week_kind week = { .first_monday_s = WEEK_FROM_S, .n_minutes = WEEK_MINUTES };
    struct ruleset *out = NULL;
    CHECK_OK(c, ruleset_read(&c->run, &zones, &week, name, json, &out, &c->problems));
    return out;
}

/* ---- packets as written ---- */

static axis_value zone_of(const char *name)
{
    for (uint32_t i = 0; i < RT_COUNT(INTERFACES); i++)
        if (str_is(INTERFACES[i].name, name))
            return INTERFACES[i].zone;
    if (strcmp(name, "lo") != 0)
        fail_msg("no interface %s", name);
    return ZONE_GATEWAY;
}

static void put_transport(struct packet *p, const char *text)
{
    unsigned a = 0, b = 0;
    if (sscanf(text, "tcp/%u/%u", &a, &b) == 2) {
        p->at[AXIS_PROTOCOL] = IP_TCP;
    } else if (sscanf(text, "udp/%u/%u", &a, &b) == 2) {
        p->at[AXIS_PROTOCOL] = IP_UDP;
    } else if (sscanf(text, "icmp/%u", &a) == 1) {
        p->at[AXIS_PROTOCOL] = p->family == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6;
        p->at[AXIS_ICMP_TYPE] = a;
        return;
    } else {
        fail_msg("what is %s", text);
    }
    p->at[AXIS_SOURCE_PORT] = a;
    p->at[AXIS_DESTINATION_PORT] = b;
}

static uint32_t word_of(const char *word, const char *const *words, uint32_t n)
{
    for (uint32_t i = 0; i < n; i++)
        if (strcmp(word, words[i]) == 0)
            return i;
    fail_msg("what is %s", word);
    return 0;
}

static void put_more(struct packet *p, const char *more)
{
    static const char *const DAYS[] = { "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun" };
    unsigned a = 0, b = 0;
    char day[4];
    const char *mac = strstr(more, "mac="), *mark = strstr(more, "mark="), *named = strstr(more, "named=");
    const char *at = strstr(more, "at=");
    if (mac && !mac_read((struct str){ mac + 4, 17 }, &p->at[AXIS_SOURCE_MAC]))
        fail_msg("what is %s", mac);
    if (mark && sscanf(mark, "mark=%u", &a) == 1)
        p->at[AXIS_MARK] = a;
    if (named && sscanf(named, "named=%u", &a) == 1)
        p->named = a;
    if (at && sscanf(at, "at=%3s.%u:%u", day, &a, &b) == 3)
        p->at[AXIS_MINUTE] = word_of(day, DAYS, 7) * 1440 + a * 60 + b;
}

static enum action read_packet(const char *line, struct packet *p)
{
    static const char *const STATES[] = { "new", "established", "reply", "related", "invalid", "untracked" };
    static const char *const VERDICTS[] = { "accept", "drop", "reject" };
    char from[16], to[16], source[64], destination[64], transport[32], state[16], verdict[16], more[64] = "";
    enum family other;
    if (sscanf(line, "#= %15[^>]>%15s %63s %63s %31s %15s %15s %63[^\n]", from, to, source, destination, transport,
               state, verdict, more) < 7)
        fail_msg("what is %s", line);
    *p = (struct packet){ .at = { [AXIS_SOURCE_MAC] = 0x0200000000aa } };
    p->at[AXIS_FROM] = zone_of(from);
    p->at[AXIS_TO] = zone_of(to);
    if (p->at[AXIS_FROM] == ZONE_GATEWAY || p->at[AXIS_FROM] == TUNNEL)
        p->at[AXIS_SOURCE_MAC] = 0;
    if (!address_read(str_from(source), &p->family, &p->at[AXIS_SOURCE]) ||
        !address_read(str_from(destination), &other, &p->at[AXIS_DESTINATION]) || other != p->family)
        fail_msg("addresses of %s", line);
    put_transport(p, transport);
    p->at[AXIS_STATE] = word_of(state, STATES, STATE_COUNT);
    put_more(p, more);
    return (enum action)word_of(verdict, VERDICTS, 3);
}

/* ---- files ---- */

static struct str file_of(struct check_run *c, const char *path)
{
    struct str bytes = { 0 };
    CHECK_OK(c, file_read(c->run.arena, path, BYTES_MAX, &bytes, &c->problems));
    return str_dup(c->run.arena, bytes);
}

static struct str fresh_listing(struct check_run *c, const char *path)
{
    struct str output = { 0 };
    const char *words = arena_printf(c->run.arena, "export TZ=UTC; nft -f %s && nft -j list ruleset", path);
    if (namespace_run(c, words, &output) != 0)
        fail_msg("nft: %.*s", STR_ARG(output));
    return output;
}

static uint32_t judge(const struct ruleset *r, const char *path, struct str text, bool *ok)
{
    uint32_t n = 0;
    for (const char *line = strstr(text.p, "\n#= "); line; line = strstr(line, "\n#= ")) {
        line++;
        if (strncmp(line, "#= FROM", 7) == 0)
            continue;
        struct packet p;
        enum action got;
        const enum action want = read_packet(line, &p);
        const struct rule *by = table_run(&r->table, &p, NULL, &got);
        n++;
        if (got == want)
            continue;
        *ok = false;
        print_error("%s: %.*s\n    but action %u by %.*s\n", path, (int)strcspn(line, "\n"), line, (unsigned)got,
                    STR_ARG(by ? by->says : STR("the end")));
    }
    return n;
}

static uint32_t check_file(const char *path, bool can_list, bool *ok)
{
    struct check_run c = check_run_begin();
    const struct str text = file_of(&c, path);
    const char *json = arena_printf(c.run.arena, "%.*s.json", (int)(strlen(path) - strlen(".nft")), path);
    const struct str fresh = can_list ? fresh_listing(&c, path) : (struct str){ 0 };
    if (can_list && getenv("RT_GOLDEN_UPDATE"))
        CHECK_OK(&c, file_write(json, fresh, 0644, &c.problems));
    const uint32_t n = judge(read_listing(&c, json, file_of(&c, json)), json, text, ok);
    if (can_list)
        judge(read_listing(&c, path, fresh), path, text, ok);
    check_run_end(&c);
    return n;
}

TEST(packets_fare_as_was_worked_out_by_hand)
{
    struct check_run c = check_run_begin();
    glob_t found = { 0 };
    CHECK("rulesets", glob(check_path(&c, "tests/reference/rulesets/*.nft"), 0, NULL, &found) == 0 &&
                          found.gl_pathc >= FILES_LEAST);
    const bool can_list = namespace_allowed();
    bool ok = true;
    uint32_t n = 0;
    for (size_t i = 0; i < found.gl_pathc; i++)
        n += check_file(found.gl_pathv[i], can_list, &ok);
    print_message("    %zu rulesets, %u packets%s\n", (size_t)found.gl_pathc, (unsigned)n,
                  can_list ? ", as recorded and as listed now" : ", as recorded");
    CHECK("all packets", ok && n > 100);
    globfree(&found);
    check_run_end(&c);
}
