/* The demo houses' policies as rulesets: nft takes them, and what the kernel then lists judges every packet as the policy does, in
 * both families and every kind of week. */
#include <glob.h>
#include <string.h>
#include <unistd.h>

#include "check.h"
#include "namespace.h"
#include "reach/export_nft.h"
#include "reach/ruleset.h"
#include "reach/space.h"
#include "reach_kit.h"

enum { YEARS = 2 };

/* 1 December 2026, 00:00 UTC, date(1). */
static const int64_t NOW_S = 1796083200;

struct made {
    struct house *h;
    struct address_plan *plan;
    struct policy *policy;
    struct calendar *calendar;
    struct str text;
};

static struct made made_of(struct check_run *c, struct house *h)
{
    struct made m = { .h = h };
    CHECK_OK(c, addresses_plan(&c->run, m.h, &m.plan, &c->problems));
    CHECK_OK(c, policy_compile(&c->run, m.plan, &m.policy, &c->problems));
    CHECK_OK(c, calendar_make(&c->run, m.h, NOW_S, YEARS, &m.calendar, &c->problems));
    kernel_span_list *hours = ARENA_ARRAY(c->run.arena, kernel_span_list, m.h->hours.n);
    for (uint32_t i = 0; i < m.h->hours.n; i++)
        CHECK_OK(c, calendar_kernel_spans(&c->run, m.calendar, i, &hours[i], &c->problems));
    const struct nft_options options = { .hours = hours, .n_hours = m.h->hours.n, .translation = true, .log = true };
    struct buf text = { .arena = c->run.arena };
    CHECK_OK(c, nft_export(&c->run, m.policy, &options, &text, &c->problems));
    m.text = buf_done(&text);
    return m;
}

static struct made house_made(struct check_run *c, const char *path)
{
    struct house *h = NULL;
    CHECK_OK(c, house_read(&c->run, path, &h, &c->problems));
    return made_of(c, h);
}

static struct str nft_says(struct check_run *c, struct str text, const char *before, const char *behind)
{
    const char *path = namespace_file(c, text);
    struct str output;
    const int status = namespace_run(c, arena_printf(c->run.arena, "%s %s %s", before, path, behind), &output);
    unlink(path);
    if (status)
        fail_msg("nft: %.*s", STR_ARG(output));
    return output;
}

/* ---- packets that there are ---- */

static void is(struct arena *a, struct match *m, uint32_t axis, axis_value lo, axis_value hi, bool *failed)
{
    match_narrow_to(a, m, axis, lo, hi, failed);
}

static packet_set packets_that_are_not(struct space *s, struct arena *a, const struct made *m, uint32_t n_minutes)
{
    const enum family family = space_family(s);
    const axis_value icmp = family == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6;
    const uint32_t n_zones = m->plan->n_zones, n_with_mac = ZONE_SEGMENT + m->h->segments.n;
    struct match v[16] = { 0 };
    uint32_t n = 0;
    bool failed = false;
    is(a, &v[n++], AXIS_FROM, n_zones, UINT16_MAX, &failed);
    is(a, &v[n++], AXIS_TO, n_zones, UINT16_MAX, &failed);
    is(a, &v[n++], AXIS_MINUTE, n_minutes, axis_max(AXIS_MINUTE, family), &failed);
    /* no MAC address comes from the gateway itself or a tunnel */
    is(a, &v[n], AXIS_FROM, ZONE_GATEWAY, ZONE_GATEWAY, &failed);
    is(a, &v[n++], AXIS_SOURCE_MAC, 1, axis_max(AXIS_SOURCE_MAC, family), &failed);
    if (n_zones > n_with_mac) {
        is(a, &v[n], AXIS_FROM, n_with_mac, n_zones - 1, &failed);
        is(a, &v[n++], AXIS_SOURCE_MAC, 1, axis_max(AXIS_SOURCE_MAC, family), &failed);
    }
    /* without a conversation there is no mark of one */
    is(a, &v[n], AXIS_STATE, STATE_INVALID, STATE_UNTRACKED, &failed);
    is(a, &v[n++], AXIS_MARK, 1, UINT32_MAX, &failed);
    /* ports are those of TCP and UDP, types those of the family's ICMP */
    static const axis_value OTHER[][2] = { { 0, IP_TCP - 1 }, { IP_TCP + 1, IP_UDP - 1 }, { IP_UDP + 1, 255 } };
    for (uint32_t k = 0; k < RT_COUNT(OTHER); k++)
        for (uint32_t axis = AXIS_SOURCE_PORT; axis <= AXIS_DESTINATION_PORT; axis++) {
            struct match other = { 0 };
            is(a, &other, AXIS_PROTOCOL, OTHER[k][0], OTHER[k][1], &failed);
            is(a, &other, axis, 1, UINT16_MAX, &failed);
            v[n++] = other;
        }
    struct match types[2] = { 0 };
    is(a, &types[0], AXIS_PROTOCOL, 0, icmp - 1, &failed);
    is(a, &types[0], AXIS_ICMP_TYPE, 1, UINT8_MAX, &failed);
    is(a, &types[1], AXIS_PROTOCOL, icmp + 1, UINT8_MAX, &failed);
    is(a, &types[1], AXIS_ICMP_TYPE, 1, UINT8_MAX, &failed);
    CHECK("memory", !failed);
    return set_or(s, set_of_any(s, v, n), set_of_any(s, types, 2));
}

/* ---- the comparison ---- */

static void tell(struct check_run *c, const struct made *m, const struct judgement *written,
                 const struct judgement *read, const struct packet *p)
{
    struct buf out = { .arena = c->run.arena };
    enum action want, got;
    const struct rule *by = judged_rule(written, p, &want), *back = judged_rule(read, p, &got);
    for (uint32_t axis = 0; axis < AXIS_NAMED; axis++)
        buf_printf(&out, "%s %llx%s", axis_name(axis), (unsigned long long)p->at[axis],
                   axis + 1 < AXIS_NAMED ? ", " : "");
    fwrite(m->text.p, 1, m->text.n, stderr);
    fail_msg("rule %u (%.*s) says %d, %.*s says %d of: %.*s", by ? (unsigned)by->number : 0,
             STR_ARG(by ? by->says : STR("")), want, STR_ARG(back ? back->says : STR("policy")), got,
             STR_ARG(buf_done(&out)));
}

/* Do policy and listing judge all packets that there are alike?  If not, `told`: fails with one that they do not. */
static bool same_judgement(struct check_run *c, const struct made *m, struct str json, const struct week_kind *week,
                           enum family family, bool told)
{
    struct ruleset_zones zones;
    struct ruleset *back = NULL;
    struct space *s = NULL;
    struct judgement *written = NULL, *read = NULL;
    CHECK_OK(c, ruleset_zones(&c->run, m->plan, &zones, &c->problems));
    CHECK_OK(c, ruleset_read(&c->run, &zones, week, "listing", json, &back, &c->problems));
    if (back->table.named.n != m->policy->table.named.n)
        return false;
    CHECK_OK(c, space_new(&c->run, family, back->table.named.n, &s, &c->problems));
    CHECK_OK(c, judge_table(s, &m->policy->table, week, &written, &c->problems));
    CHECK_OK(c, judge_table(s, &back->table, week, &read, &c->problems));
    const packet_set none = packets_that_are_not(s, c->run.arena, m, week->n_minutes);
    static const enum action ACTIONS[] = { ACTION_ACCEPT, ACTION_DROP, ACTION_REJECT };
    for (uint32_t k = 0; k < RT_COUNT(ACTIONS); k++) {
        const packet_set a = set_minus(s, judged_as(written, ACTIONS[k]), none);
        const packet_set b = set_minus(s, judged_as(read, ACTIONS[k]), none);
        struct packet witness;
        CHECK("some packets are judged so", a != SET_NONE);
        if (a == b)
            continue;
        if (told && (set_witness(s, set_minus(s, a, b), &witness) || set_witness(s, set_minus(s, b, a), &witness)))
            tell(c, m, written, read, &witness);
        return false;
    }
    CHECK_OK(c, space_state(s, &c->problems));
    return true;
}

/* Behind the definitions no address of the provider's prefix is written out, so that they alone need be changed. */
static void check_definitions(struct check_run *c, const struct made *m)
{
    struct str rest = m->text;
    const char *table = strstr(m->text.p, "\ntable inet");
    CHECK("a table", table != NULL);
    rest.n -= (size_t)(table - rest.p);
    rest.p = table;
    uint32_t n_addresses = 0;
    for (size_t i = 0; i < rest.n;) {
        const size_t end = i + strspn(rest.p + i, "0123456789abcdef:.");
        enum family family;
        axis_value address;
        if (end > i && address_read((struct str){ rest.p + i, end - i }, &family, &address)) {
            n_addresses++;
            if (prefix_holds(m->plan->delegated, family, address))
                fail_msg("%s is written out", arena_printf(c->run.arena, "%.*s", (int)(end - i), rest.p + i));
        }
        i = end > i ? end : i + 1;
    }
    CHECK("addresses were looked at", n_addresses > 20);
}

static void check_made(struct check_run *c, const struct made *m, const char *name)
{
    const struct str said = nft_says(c, m->text, "nft -c -f", "");
    CHECK_TEXT("nft says nothing", said, STR(""));
    if (m->plan->delegated.is_given)
        check_definitions(c, m);
    const struct str json = nft_says(c, m->text, "export TZ=UTC; nft -f", "&& nft -j list ruleset");
    for (uint32_t k = 0; k < m->calendar->kinds.n; k++)
        for (unsigned f = 0; f < FAMILY_COUNT; f++) {
            const struct arena_mark mark = arena_mark(c->run.arena);
            CHECK("judged alike", same_judgement(c, m, json, &m->calendar->kinds.v[k], (enum family)f, true));
            arena_reset(c->run.arena, mark);
        }
    print_message("    %s: %u rules, %zu bytes, %u kinds of week\n", name, (unsigned)m->policy->table.n_rules,
                  m->text.n, (unsigned)m->calendar->kinds.n);
}

static void check_file(const char *path)
{
    struct check_run c = check_run_begin();
    const struct made m = house_made(&c, path);
    check_made(&c, &m, path);
    check_run_end(&c);
}

TEST(the_kernel_judges_as_the_policy_does)
{
    if (!namespace_allowed())
        skip();
    struct check_run c = check_run_begin();
    glob_t found = { 0 };
    CHECK("houses", glob(check_path(&c, "houses/*.house.yaml"), 0, NULL, &found) == 0 && found.gl_pathc >= 3);
    for (size_t i = 0; i < found.gl_pathc; i++)
        check_file(found.gl_pathv[i]);
    globfree(&found);
    check_run_end(&c);
}

/* What the demo houses do not have: openings, names that read alike, hours of every shape, words that are nft's own. */
static const char EVERYTHING[] = REACH_HOUSE REACH_LINE
    "segments: {log: {}, mark: {known_only: true}, set: {}}\n"
    "people: {ann: {kind: adult}}\n"
    "devices:\n"
    "  laptop: {kind: laptop, owner: ann, room: hall, at_m: [1, 1, 1], segment: log, link: wifi}\n"
    "  tablet: {kind: tablet, owner: ann, room: hall, at_m: [1, 2, 1], segment: log, link: wifi, varies_mac: true}\n"
    "  server: {kind: server, room: hall, at_m: [1, 3, 1], segment: mark, link: wired}\n"
    "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: set, link: wifi}\n"
    "hours:\n"
    "  night: {from: \"20:30\", to: \"07:00\", except: [{from_date: \"2026-12-24\", to_date: \"2026-12-26\", holds: "
    "false}]}\n"
    "  sunday: {days: [sun], from: \"00:00\", to: \"00:00\"}\n"
    "  lesson: {days: [tue, thu], from: \"16:00\", to: \"17:30\"}\n"
    "services:\n"
    "  game: {says: a game, protocol: udp, ports: [\"27000-27031\", \"3478\"]}\n"
    "  tunnel: {says: a tunnel, protocol: gre}\n"
    "statements:\n"
    "  - {id: never, from: lamp, to: internet, verdict: refuse, hours: night, log: true}\n"
    "  - {id: quoted, says: 'say \"no\" # to this', from: tablet, to: [internet, server], verdict: refuse, hours: "
    "lesson}\n"
    "  - {from: laptop, to: [a-b.example, a.b.example], services: [https, game]}\n"
    "  - {from: laptop, to: server, services: [ssh, tunnel, ping], hours: sunday}\n"
    "  - {from: lamp, to: internet}\n"
    "  - {from: [tablet, ann], to: [server, internet], services: [https]}\n"
    "  - {from: anyone, to: lamp, services: [http], log: true}\n"
    "port_openings:\n"
    "  web: {device: server, service: https}\n"
    "  shell: {device: server, service: ssh, from: [203.0.113.0/24, 198.51.100.7/32, \"2001:db8:99::/48\"]}\n"
    "  play: {device: laptop, service: game}\n"
    "remote_access: {away: {segment: log, port: 51820, people: [ann]}}\n";

TEST(a_house_of_everything_is_judged_alike)
{
    if (!namespace_allowed())
        skip();
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, "house.yaml", str_from(EVERYTHING), &h, &c.problems));
    const struct made m = made_of(&c, h);
    check_made(&c, &m, "a house of everything");
    check_run_end(&c);
}

/* What is translated, read back from the listing, is what the policy translates. */
TEST(port_openings_come_back)
{
    if (!namespace_allowed())
        skip();
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, "house.yaml", str_from(EVERYTHING), &h, &c.problems));
    const struct made m = made_of(&c, h);
    const struct str json = nft_says(&c, m.text, "export TZ=UTC; nft -f", "&& nft -j list ruleset");
    struct ruleset_zones zones;
    struct ruleset *back = NULL;
    CHECK_OK(&c, ruleset_zones(&c.run, m.plan, &zones, &c.problems));
    CHECK_OK(&c, ruleset_read(&c.run, &zones, &m.calendar->kinds.v[0], "listing", json, &back, &c.problems));
    CHECK_NEAR("translations", back->translations.n, m.policy->translations.n, 0, "");
    CHECK_NEAR("by hand: one port, one, two ranges", back->translations.n, 4, 0, "");
    for (uint32_t i = 0; i < back->translations.n; i++) {
        const struct translation *want = &m.policy->translations.v[i];
        const struct ruleset_translation *got = &back->translations.v[i];
        const span_list *ports = match_on(&got->before, AXIS_DESTINATION_PORT);
        const span_list *protocol = match_on(&got->before, AXIS_PROTOCOL);
        const span_list *from = match_on(&got->before, AXIS_FROM), *source = match_on(&got->before, AXIS_SOURCE);
        const uint32_t n_from = m.h->port_openings.v[want->opening].from.n ? 2 : 0; /* its ranges of IPv4 */
        CHECK("to", !got->to_gateway && got->to.n == 1 && got->to.v[0].lo == want->to_ipv4 && got->to_ports.n == 0);
        CHECK("ports", ports && ports->v[0].lo == want->port_from && ports->v[0].hi == want->port_to);
        CHECK("protocol", protocol && protocol->v[0].lo == want->protocol);
        CHECK("from the internet", from && from->n == 1 && from->v[0].hi == ZONE_INTERNET);
        CHECK_NEAR("ranges", source ? source->n : 0, n_from, 0, "");
    }
    check_run_end(&c);
}

/* Each of these changes to a text is found: what is compared is not the same by chance. */
static const struct {
    const char *what, *from, *to;
} CHANGES[] = {
    { "policy", "hook forward priority filter; policy drop", "hook forward priority filter; policy accept" },
    { "an hour that ends a minute early", " meta hour 0-25199 ", " meta hour 0-25139 " },
    { "a port", "tcp dport 631 ", "tcp dport 632 " },
    { "answers of both directions", " ct direction reply jump", " jump" },
    { "a device", "ether saddr != { ", "ether saddr != { 02:00:00:00:00:77, " },
    { "a zone", "iifname $zone_guests oifname $zone_internet", "iifname $zone_guests oifname $zone_core" },
    { "a set's field", "ip6 daddr @name_backup", "ip6 saddr @name_backup" },
};

TEST(changes_to_the_text_are_found)
{
    if (!namespace_allowed())
        skip();
    struct check_run c = check_run_begin();
    const struct made m = house_made(&c, check_path(&c, "houses/larch_end.house.yaml"));
    for (size_t i = 0; i < RT_COUNT(CHANGES); i++) {
        const struct arena_mark mark = arena_mark(c.run.arena);
        const char *at = strstr(m.text.p, CHANGES[i].from);
        CHECK(CHANGES[i].what, at != NULL);
        struct buf changed = { .arena = c.run.arena };
        buf_add(&changed, m.text.p, (size_t)(at - m.text.p));
        buf_text(&changed, CHANGES[i].to);
        buf_text(&changed, at + strlen(CHANGES[i].from));
        const struct str json = nft_says(&c, buf_done(&changed), "export TZ=UTC; nft -f", "&& nft -j list ruleset");
        bool same = true;
        for (uint32_t k = 0; k < m.calendar->kinds.n && same; k++)
            for (unsigned f = 0; f < FAMILY_COUNT && same; f++)
                same = same_judgement(&c, &m, json, &m.calendar->kinds.v[k], (enum family)f, false);
        CHECK(CHANGES[i].what, !same);
        arena_reset(c.run.arena, mark);
    }
    check_run_end(&c);
}
