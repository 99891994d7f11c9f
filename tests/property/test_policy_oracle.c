/* The table against a plain reading of the statements, written down apart from the compiler: who sends, to whom, for what; the
 * statements in order; the first that fits.  And laws that every policy keeps. */
#include "reach_kit.h"

#include <stdlib.h>

#include "reach/policy.h"
#include "reach/space.h"

/* ---- one conversation's first packet ---- */

enum side { SIDE_DEVICE, SIDE_INTERNET, SIDE_GATEWAY, SIDE_PERSON_AWAY, SIDE_STRANGER };

struct who {
    enum side side;
    uint32_t i; /* device; person; segment of a stranger */
};

struct question {
    struct who from, to;
    enum family family;
    enum ip_protocol protocol;
    unsigned port, source_port; /* or ICMP type */
    uint64_t named;
};

static uint32_t segment_of(const struct reach *r, struct who w)
{
    if (w.side == SIDE_STRANGER)
        return w.i;
    if (w.side == SIDE_PERSON_AWAY)
        return r->h->remote_access.v[0].segment.i;
    return w.side == SIDE_DEVICE ? r->h->devices.v[w.i].segment.i : NO_REF;
}

/* ---- the plain reading ---- */

static bool is_member(const struct house *h, const struct group *g, uint32_t device, uint32_t person)
{
    for (uint32_t m = 0; m < g->members.n; m++) {
        const struct str id = g->members.v[m];
        if (device != NO_REF && str_eq(h->devices.v[device].id, id))
            return true;
        if (person != NO_REF && str_eq(h->people.v[person].id, id))
            return true;
        for (uint32_t k = 0; k < h->groups.n; k++)
            if (str_eq(h->groups.v[k].id, id) && is_member(h, &h->groups.v[k], device, person))
                return true;
    }
    return false;
}

static bool means(const struct reach *r, const struct endpoint *e, struct who w, uint64_t named)
{
    const uint32_t device = w.side == SIDE_DEVICE ? w.i : NO_REF;
    const uint32_t person = w.side == SIDE_PERSON_AWAY ? w.i
                            : device == NO_REF         ? NO_REF
                                                       : r->h->devices.v[device].owner.i;
    switch (e->kind) {
    case END_NONE:
        return false;
    case END_ANYONE:
        return true;
    case END_INTERNET:
        return w.side == SIDE_INTERNET;
    case END_GATEWAY:
        return w.side == SIDE_GATEWAY;
    case END_SEGMENT:
        return segment_of(r, w) == e->i;
    case END_GROUP:
        return is_member(r->h, &r->h->groups.v[e->i], device, person);
    case END_DEVICE:
        return device == e->i;
    case END_PERSON:
        return person == e->i;
    case END_NAME:
        for (uint32_t k = 0; k < r->policy->names.n; k++)
            if (str_eq(r->policy->names.v[k].name, e->name))
                return w.side == SIDE_INTERNET && named >> k & 1;
        return false;
    }
    return false;
}

static bool any_means(const struct reach *r, const endpoint_list *list, struct who w, uint64_t named)
{
    for (uint32_t i = 0; i < list->n; i++)
        if (means(r, &list->v[i], w, named))
            return true;
    return false;
}

static bool is_asked(const struct reach *r, const str_list *services, const struct question *q)
{
    for (uint32_t i = 0; i < services->n; i++) {
        uint32_t n;
        const struct service_flow *f = service_find(services->v[i], &n);
        for (uint32_t k = 0; k < n; k++) {
            const bool any_port = f[k].from == 0 && f[k].to == 0,
                       any_source = f[k].source_from == 0 && f[k].source_to == 0;
            if (f[k].protocol == q->protocol && (any_port || (q->port >= f[k].from && q->port <= f[k].to)) &&
                (any_source || (q->source_port >= f[k].source_from && q->source_port <= f[k].source_to)) &&
                (!f[k].is_local || q->to.side == SIDE_GATEWAY))
                return true;
        }
        for (uint32_t k = 0; k < r->h->services.n; k++) {
            const struct own_service *own = &r->h->services.v[k];
            unsigned lo = 0, hi = 0;
            if (!str_eq(own->id, services->v[i]) || strcmp(ip_protocol_name(q->protocol), own->protocol.p) != 0)
                continue;
            for (uint32_t m = 0; m < own->ports.n; m++) {
                const int got = sscanf(own->ports.v[m].p, "%u-%u", &lo, &hi);
                if (q->port >= lo && q->port <= (got == 2 ? hi : lo))
                    return true;
            }
        }
    }
    return services->n == 0;
}

/* What a segment lives on, at the gateway (RFC 2131, 8415, 1035, 5905, 792, 4443). */
static bool is_lived_on(const struct question *q)
{
    if (q->to.side != SIDE_GATEWAY || q->from.side == SIDE_INTERNET)
        return false;
    const bool is_v4 = q->family == FAMILY_IPV4;
    return (q->protocol == IP_UDP && (q->port == 53 || q->port == 123 || q->port == (is_v4 ? 67 : 547))) ||
           (q->protocol == IP_TCP && q->port == 53) || (q->protocol == IP_ICMP && q->port == 8) ||
           (q->protocol == IP_ICMPV6 && q->port == 128);
}

/* Discovery to the gateway's own address: relays are the table's, no statement's; the oracle keeps away from them. */
static bool is_discovery(const struct question *q)
{
    return q->to.side == SIDE_GATEWAY && q->protocol == IP_UDP && (q->source_port == 5353 || q->source_port == 1900);
}

/* Would the house have it, with these hours holding? */
static bool would_have(const struct reach *r, const struct question *q, const bool *hold)
{
    const uint32_t from = segment_of(r, q->from), to = segment_of(r, q->to);
    if (q->from.side == SIDE_STRANGER && r->h->segments.v[from].known_only)
        return false;
    if (is_lived_on(q))
        return true;
    if (q->from.side == SIDE_INTERNET && q->to.side == SIDE_GATEWAY && q->protocol == IP_UDP)
        for (uint32_t i = 0; i < r->h->remote_access.n; i++)
            if (q->port == (unsigned)r->h->remote_access.v[i].port)
                return true;
    /* without an opening the internet comes by IPv6 only */
    if (q->from.side == SIDE_INTERNET && q->to.side != SIDE_GATEWAY && q->family == FAMILY_IPV4)
        return false;
    for (uint32_t i = 0; i < r->h->statements.n; i++) {
        const struct statement *s = &r->h->statements.v[i];
        if (s->hours.i != NO_REF && !hold[s->hours.i])
            continue;
        if (any_means(r, &s->from, q->from, 0) && any_means(r, &s->to, q->to, q->named) && is_asked(r, &s->services, q))
            return s->verdict == VERDICT_ALLOW;
    }
    /* a tunnel's people count as in their segment */
    return from == to && from != NO_REF;
}

/* ---- packets ---- */

static struct who draw_who(const struct reach *r, struct random *random, bool receives)
{
    for (;;) {
        const uint32_t kind = random_below(random, 10);
        if (kind == 0)
            return (struct who){ SIDE_INTERNET, 0 };
        if (kind == 1 && receives)
            return (struct who){ SIDE_GATEWAY, 0 };
        if (kind == 1 && r->h->remote_access.n)
            return (struct who){
                SIDE_PERSON_AWAY, r->plan->tunnels[0].peers.v[random_below(random, r->plan->tunnels[0].peers.n)].person
            };
        if (kind == 2)
            return (struct who){ SIDE_STRANGER, random_below(random, r->h->segments.n) };
        const uint32_t d = random_below(random, r->h->devices.n);
        if (r->plan->devices[d].zone != NO_REF)
            return (struct who){ SIDE_DEVICE, d };
    }
}

static struct question draw_question(const struct reach *r, struct random *random)
{
    struct question q = { .from = draw_who(r, random, false), .to = draw_who(r, random, true) };
    q.family = random_below(random, 2) ? FAMILY_IPV6 : FAMILY_IPV4;
    q.source_port = random_below(random, 4) ? 40000 + random_below(random, 9000) : 5353;
    uint32_t n;
    const struct service_flow *all = service_flows(&n), *f = &all[random_below(random, n)];
    const bool wrong_family = f->protocol == (q.family == FAMILY_IPV4 ? IP_ICMPV6 : IP_ICMP);
    q.protocol = wrong_family ? IP_TCP : f->protocol;
    q.port = f->from + random_below(random, (uint32_t)(f->to - f->from) + 1) + (random_below(random, 8) == 0);
    if (q.to.side == SIDE_INTERNET)
        q.named = random_next(random) & ((r->policy->names.n ? (uint64_t)1 << r->policy->names.n : 1) - 1);
    return q;
}

static uint32_t zone_of(const struct reach *r, struct who w)
{
    switch (w.side) {
    case SIDE_INTERNET:
        return ZONE_INTERNET;
    case SIDE_GATEWAY:
        return ZONE_GATEWAY;
    case SIDE_PERSON_AWAY:
        return r->plan->tunnels[0].zone;
    default:
        return ZONE_SEGMENT + segment_of(r, w);
    }
}

/* A stranger's is one that nobody has; 0: none of the family. */
static axis_value address_of(const struct reach *r, struct who w, enum family f, uint32_t from_segment)
{
    const struct segment_plan *at =
        w.side == SIDE_GATEWAY && from_segment != NO_REF ? &r->plan->segments[from_segment] : NULL;
    switch (w.side) {
    case SIDE_DEVICE:
        return device_address(&r->plan->devices[w.i], f);
    case SIDE_INTERNET:
        return reach_public(f);
    case SIDE_GATEWAY:
        return at ? (f == FAMILY_IPV4 ? at->ipv4_gateway : at->ula_gateway) : reach_public(f) + 1;
    case SIDE_STRANGER:
        at = &r->plan->segments[w.i];
        return f == FAMILY_IPV4      ? at->ipv4.base + 253
               : at->global.is_given ? at->global.base + 0xabcdef
                                     : at->ula.base + 0xabcdef;
    case SIDE_PERSON_AWAY:
        for (uint32_t i = 0; i < r->plan->tunnels[0].peers.n; i++)
            if (r->plan->tunnels[0].peers.v[i].person == w.i)
                return f == FAMILY_IPV4 ? r->plan->tunnels[0].peers.v[i].ipv4 : r->plan->tunnels[0].peers.v[i].ula;
    }
    return 0;
}

static struct packet packet_of(const struct reach *r, const struct question *q)
{
    axis_value destination = address_of(r, q->to, q->family, segment_of(r, q->from));
    if (q->from.side == SIDE_PERSON_AWAY && q->to.side == SIDE_GATEWAY)
        destination = q->family == FAMILY_IPV4 ? r->plan->tunnels[0].ipv4_gateway : r->plan->tunnels[0].ula_gateway;
    struct packet p = reach_packet(
        q->family, zone_of(r, q->from), q->from.side == SIDE_DEVICE ? r->plan->devices[q->from.i].mac : 0x0200000000fe,
        address_of(r, q->from, q->family, NO_REF), zone_of(r, q->to), destination, q->protocol, q->port);
    if (q->protocol == IP_TCP || q->protocol == IP_UDP)
        p.at[AXIS_SOURCE_PORT] = q->source_port;
    p.named = q->named;
    return p;
}

/* Left out: what never meets the gateway, has no address, or cannot leave the house by IPv6 with the address it has. */
static bool is_fair(const struct reach *r, const struct question *q, const struct packet *p)
{
    if (p->at[AXIS_FROM] == p->at[AXIS_TO] || !p->at[AXIS_SOURCE] || !p->at[AXIS_DESTINATION] || is_discovery(q))
        return false;
    if (q->family == FAMILY_IPV6 && (p->at[AXIS_FROM] == ZONE_INTERNET || p->at[AXIS_TO] == ZONE_INTERNET)) {
        const axis_value inner = p->at[p->at[AXIS_TO] == ZONE_INTERNET ? AXIS_SOURCE : AXIS_DESTINATION];
        if (!r->plan->delegated.is_given)
            return false;
        if (p->at[AXIS_TO] != ZONE_GATEWAY && !prefix_holds(r->plan->delegated, FAMILY_IPV6, inner))
            return false;
    }
    return true;
}

/* ---- answers ---- */

static struct packet answer_of(const struct reach *r, const struct question *q, const struct packet *p)
{
    struct packet a = *p;
    a.at[AXIS_FROM] = p->at[AXIS_TO];
    a.at[AXIS_TO] = p->at[AXIS_FROM];
    a.at[AXIS_SOURCE] = p->at[AXIS_DESTINATION];
    a.at[AXIS_DESTINATION] = p->at[AXIS_SOURCE];
    a.at[AXIS_SOURCE_PORT] = p->at[AXIS_DESTINATION_PORT];
    a.at[AXIS_DESTINATION_PORT] = p->at[AXIS_SOURCE_PORT];
    if (q->protocol == IP_ICMP || q->protocol == IP_ICMPV6)
        a.at[AXIS_ICMP_TYPE] = q->protocol == IP_ICMP ? 0 : 129;
    a.at[AXIS_SOURCE_MAC] = q->to.side == SIDE_DEVICE ? r->plan->devices[q->to.i].mac : 0x0200000000fd;
    a.at[AXIS_STATE] = STATE_REPLY;
    a.at[AXIS_MARK] = 0;
    for (uint32_t i = 0; i < r->policy->marks.n; i++)
        for (uint32_t k = 0; k < r->policy->marks.v[i].devices.n; k++)
            if (q->from.side == SIDE_DEVICE && r->policy->marks.v[i].devices.v[k] == q->from.i)
                a.at[AXIS_MARK] = r->policy->marks.v[i].value;
    return a;
}

static bool passes(const struct reach *r, const struct packet *p, const bool *hold)
{
    enum action action;
    table_run(&r->policy->table, p, hold, &action);
    return action == ACTION_ACCEPT;
}

/* Would it be had at some other hours? */
static bool is_a_matter_of_hours(const struct reach *r, const struct question *q)
{
    bool hold[8] = { 0 };
    for (uint32_t bits = 0; bits < 1U << r->h->hours.n; bits++) {
        for (uint32_t i = 0; i < r->h->hours.n; i++)
            hold[i] = bits >> i & 1;
        if (would_have(r, q, hold))
            return true;
    }
    return false;
}

/* Answers of which the oracle knows what they look like, from who may be where they come from. */
static bool has_answers(const struct reach *r, const struct question *q)
{
    if (q->to.side == SIDE_GATEWAY || (q->to.side == SIDE_STRANGER && r->h->segments.v[q->to.i].known_only))
        return false;
    if (q->protocol == IP_ICMP || q->protocol == IP_ICMPV6)
        return q->port == (q->protocol == IP_ICMP ? 8 : 128);
    return true;
}

static struct str question_words(const struct reach *r, const struct question *q, const bool *hold)
{
    struct buf b = { .arena = r->c.run.arena };
    const struct who ends[] = { q->from, q->to };
    static const char *const SIDES[] = { "device", "internet", "gateway", "person away", "stranger in segment" };
    for (int k = 0; k < 2; k++) {
        buf_printf(&b, "%s%s %u", k ? " to " : "", SIDES[ends[k].side], (unsigned)ends[k].i);
        if (ends[k].side == SIDE_DEVICE)
            buf_printf(&b, " (%.*s)", STR_ARG(r->h->devices.v[ends[k].i].id));
    }
    buf_printf(&b, ", IPv%d, protocol %d port %u from %u, names %llx, hours", q->family == FAMILY_IPV4 ? 4 : 6,
               (int)q->protocol, q->port, q->source_port, (unsigned long long)q->named);
    for (uint32_t i = 0; i < r->h->hours.n; i++)
        buf_printf(&b, " %d", hold[i]);
    for (uint32_t i = 0; i < r->h->statements.n && r->h->bytes.n < 8192; i++) /* a random policy: all of it */
        buf_printf(&b, "\n    %.*s", (int)strcspn(r->h->bytes.p + r->h->statements.v[i].at.byte, "\n"),
                   r->h->bytes.p + r->h->statements.v[i].at.byte);
    buf_char(&b, '\n');
    return buf_done(&b);
}

enum { HOURS_MAX = 8 };

/* Asks the table and the plain reading; returns how many packets passed. */
static uint32_t compare(const struct reach *r, struct random *random, uint32_t n)
{
    uint32_t n_passed = 0;
    for (uint32_t k = 0; k < n; k++) {
        const struct question q = draw_question(r, random);
        struct packet p = packet_of(r, &q);
        if (!is_fair(r, &q, &p))
            continue;
        bool hold[HOURS_MAX] = { 0 };
        for (uint32_t i = 0; i < r->h->hours.n && i < HOURS_MAX; i++)
            hold[i] = random_below(random, 2) == 0;
        const bool want = would_have(r, &q, hold);
        for (enum conversation_state s = STATE_NEW; s <= STATE_ESTABLISHED; s++) {
            p.at[AXIS_STATE] = s;
            if (passes(r, &p, hold) != want)
                fail_msg("%.*s: the table %s it, the statements do not", STR_ARG(question_words(r, &q, hold)),
                         want ? "refuses" : "lets through");
        }
        n_passed += want;
        const struct packet a = answer_of(r, &q, &p);
        if (has_answers(r, &q) && want != passes(r, &a, hold) && (want || is_a_matter_of_hours(r, &q)))
            fail_msg("%.*s: its answer is %s", STR_ARG(question_words(r, &q, hold)), want ? "refused" : "let through");
    }
    return n_passed;
}

/* ---- the demo houses ---- */

TEST(the_demo_houses_mean_what_their_statements_say)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                          "houses/whin_farm.house.yaml", "tests/houses/five_lines.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct reach r = reach_file(HOUSES[i]);
        struct random random = { .seed = 1, .stream = i };
        CHECK("no openings, which the oracle does not know", r.h->port_openings.n == 0 && r.h->hours.n <= HOURS_MAX);
        const uint32_t n = compare(&r, &random, 20000);
        print_message("    %s: %u of 20000 packets pass\n", HOUSES[i], (unsigned)n);
        CHECK("some pass, some do not", n > 100 && n < 19000);
        reach_end(&r);
    }
}

/* Each statement of a house decides some packet: none is there in vain. */
TEST(every_statement_of_the_demo_houses_decides_something)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                          "houses/whin_farm.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct reach r = reach_file(HOUSES[i]);
        CHECK("no warning", r.c.problems.n_warnings == 0);
        for (uint32_t s = 0; s < r.h->statements.n; s++) {
            bool is_there = false;
            for (uint32_t k = 0; k < r.policy->stated.n; k++)
                is_there = is_there || r.policy->stated.v[k].statement == s;
            CHECK("a rule of the statement", is_there);
        }
        reach_end(&r);
    }
}

/* ---- random policies ---- */

static const char WORLD[] = REACH_HOUSE REACH_LINE
    "segments: {home: {}, work: {known_only: true}, things: {}, guests: {}}\n"
    "people: {ann: {kind: adult}, ben: {kind: adult}, eve: {kind: child}}\n"
    "devices:\n"
    "  laptop: {kind: laptop, owner: ann, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}\n"
    "  tablet: {kind: tablet, owner: eve, room: hall, at_m: [1, 2, 1], segment: home, link: wifi}\n"
    "  desk: {kind: desktop, owner: ann, room: hall, at_m: [1, 3, 1], segment: work, link: wired}\n"
    "  desk_phone: {kind: desk_phone, owner: ben, room: hall, at_m: [1, 4, 1], segment: work, link: wired}\n"
    "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: things, link: wifi}\n"
    "  printer: {kind: printer, room: hall, at_m: [2, 2, 1], segment: things, link: wifi}\n"
    "  visitor: {kind: phone, room: hall, at_m: [3, 2, 1], segment: guests, link: wifi}\n"
    "hours: {night: {from: \"20:30\", to: \"07:00\"}, day: {from: \"08:00\", to: \"18:00\"}}\n"
    "groups: {play: {members: [tablet, lamp]}, mixed: {members: [play, ben, desk]}}\n"
    "services: {panel: {protocol: tcp, ports: [\"8443\", \"9000-9010\"]}}\n"
    "remote_access: {away: {segment: home, port: 51820, people: [ann, ben]}}\n";

static const char *const ENDS[] = { "anyone", "internet", "gateway", "home",  "work",      "things",   "guests",
                                    "laptop", "tablet",   "desk",    "lamp",  "printer",   "visitor",  "ann",
                                    "ben",    "eve",      "play",    "mixed", "a.example", "b.example" };
enum { N_NAMES = 2 };
static const char *const SERVICES[] = { "https", "http", "dns", "ping",  "ntp",    "ipps",
                                        "mdns",  "sip",  "esp", "panel", "netbios" };

/* Different ones: 7 has no common factor with either number of words. */
static void add_ends(struct buf *b, struct random *random, bool receives)
{
    const uint32_t n = 1 + random_below(random, 3), all = (uint32_t)RT_COUNT(ENDS) - (receives ? 0 : N_NAMES);
    const uint32_t first = random_below(random, all);
    for (uint32_t i = 0; i < n; i++)
        buf_printf(b, "%s%s", i ? ", " : "[", ENDS[(first + 7 * i) % all]);
    buf_text(b, "]");
}

/* `verdict` NULL: either.  Half of them plain, such as can share a rule with others or stand in each other's way. */
static void add_statement(struct buf *b, struct random *random, const char *verdict)
{
    static const char *const FROM[] = { "home", "work", "things", "guests", "tablet", "printer" }, *const TO[] = {
        "internet", "things", "home"
    };
    const bool is_plain = random_below(random, 2) == 0;
    buf_text(b, "  - {from: ");
    if (is_plain)
        buf_printf(b, "%s, to: %s", FROM[random_below(random, 6)], TO[random_below(random, 3)]);
    else {
        add_ends(b, random, false);
        buf_text(b, ", to: ");
        add_ends(b, random, true);
    }
    buf_printf(b, ", verdict: %s", verdict ? verdict : random_below(random, 3) ? "allow" : "refuse");
    const uint32_t n = is_plain ? 0 : random_below(random, 4);
    const uint32_t first = random_below(random, (uint32_t)RT_COUNT(SERVICES));
    for (uint32_t i = 0; i < n; i++)
        buf_printf(b, "%s%s%s", i ? ", " : ", services: [", SERVICES[(first + 3 * i) % RT_COUNT(SERVICES)],
                   i + 1 == n ? "]" : "");
    if (random_below(random, is_plain ? 12 : 4) == 0)
        buf_printf(b, ", hours: %s", random_below(random, 2) ? "night" : "day");
    buf_text(b, "}\n");
}

enum { STATEMENTS_MAX = 12 };

struct lines {
    struct str v[STATEMENTS_MAX + 1];
    uint32_t n;
};

static struct lines draw_lines(struct arena *a, struct random *random)
{
    struct lines out = { .n = 1 + random_below(random, STATEMENTS_MAX) };
    for (uint32_t i = 0; i < out.n; i++) {
        struct buf b = { .arena = a };
        add_statement(&b, random, NULL);
        out.v[i] = buf_done(&b);
    }
    return out;
}

static bool try_compile(struct reach *r, const struct lines *lines)
{
    *r = (struct reach){ .c = check_run_begin() };
    struct buf b = { .arena = r->c.run.arena };
    buf_text(&b, WORLD);
    buf_text(&b, lines->n ? "statements:\n" : "");
    for (uint32_t i = 0; i < lines->n; i++)
        buf_str(&b, lines->v[i]);
    CHECK_OK(&r->c, house_read_bytes(&r->c.run, "house.yaml", buf_done(&b), &r->h, &r->c.problems));
    CHECK_OK(&r->c, addresses_plan(&r->c.run, r->h, &r->plan, &r->c.problems));
    const enum rt_code code = policy_compile(&r->c.run, r->plan, &r->policy, &r->c.problems);
    if (code != RT_OK && code != RT_CONFLICT)
        CHECK_OK(&r->c, code);
    return code == RT_OK;
}

/* Compiles, leaving out the statements that contradict those before them. */
static struct reach compile_lines(struct lines *lines)
{
    uint32_t first_line = 1;
    for (const char *c = WORLD; *c; c++)
        first_line += *c == '\n';
    for (;;) {
        struct reach r;
        if (try_compile(&r, lines))
            return r;
        uint32_t drop = NO_REF;
        for (uint32_t i = 0; i < r.c.problems.list.n && drop == NO_REF; i++)
            if (!r.c.problems.list.v[i].is_warning)
                drop = r.c.problems.list.v[i].at.line - first_line - 1;
        reach_end(&r);
        CHECK("the error points at a statement", drop < lines->n);
        for (uint32_t i = drop; i + 1 < lines->n; i++)
            lines->v[i] = lines->v[i + 1];
        lines->n--;
    }
}

PROP(random_policies_mean_what_their_statements_say, 250)
{
    struct check_run c = check_run_begin();
    struct lines lines = draw_lines(c.run.arena, r);
    struct reach house = compile_lines(&lines);
    compare(&house, r, 400);
    reach_end(&house);
    check_run_end(&c);
}

/* ---- laws ---- */

/* All packets that a table lets through, with these of the house's hours holding throughout. */
static packet_set let_through(struct reach *r, struct space *s, const struct table *t, uint32_t hours_bits)
{
    struct span all = { 0, axis_max(AXIS_MINUTE, FAMILY_IPV4) };
    span_list hours[HOURS_MAX] = { 0 };
    for (uint32_t i = 0; i < r->h->hours.n; i++)
        if (hours_bits >> i & 1)
            hours[i] = (span_list){ &all, 1 };
    const struct week_kind week = { .n_minutes = 10080, .hours = hours };
    struct judgement *j = NULL;
    CHECK_OK(&r->c, judge_table(s, t, &week, &j, &r->c.problems));
    return judged_accept(j);
}

static struct space *space_of(struct reach *r, enum family f)
{
    struct space *s = NULL;
    CHECK_OK(&r->c, space_new(&r->c.run, f, N_NAMES, &s, &r->c.problems));
    return s;
}

/* Answers are told by marks, which are numbered per table. */
static packet_set without_answers(struct reach *r, struct space *s, packet_set of)
{
    struct match answers = { 0 };
    bool failed = false;
    match_narrow_to(r->c.run.arena, &answers, AXIS_STATE, STATE_REPLY, STATE_REPLY, &failed);
    CHECK("memory", !failed);
    return set_minus(s, of, set_of(s, &answers));
}

static bool speaks_of_names(const struct lines *lines)
{
    for (uint32_t i = 0; i < lines->n; i++)
        if (memmem(lines->v[i].p, lines->v[i].n, ".example", 8))
            return true;
    return false;
}

/* Names are numbered per table too. */
static struct lines draw_without_names(struct arena *a, struct random *random)
{
    for (;;) {
        const struct lines lines = draw_lines(a, random);
        if (!speaks_of_names(&lines))
            return lines;
    }
}

PROP(a_further_refusal_never_opens_a_path, 60)
{
    struct check_run c = check_run_begin();
    struct lines lines = draw_without_names(c.run.arena, r), more;
    struct reach before = compile_lines(&lines), after;
    do {
        more = lines;
        struct buf b = { .arena = c.run.arena };
        add_statement(&b, r, "refuse");
        const uint32_t at = random_below(r, lines.n + 1);
        for (uint32_t i = more.n++; i > at; i--)
            more.v[i] = more.v[i - 1];
        more.v[at] = buf_done(&b);
    } while (speaks_of_names(&more));
    if (try_compile(&after, &more)) {
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            struct space *s = space_of(&before, f);
            for (uint32_t bits = 0; bits < 4; bits++) {
                const packet_set was = let_through(&before, s, &before.policy->table, bits);
                const packet_set is = let_through(&after, s, &after.policy->table, bits);
                CHECK("nothing new", without_answers(&before, s, set_minus(s, is, was)) == SET_NONE);
            }
        }
    }
    reach_end(&after);
    reach_end(&before);
    check_run_end(&c);
}

PROP(neighbours_that_do_the_same_may_change_places, 60)
{
    struct check_run c = check_run_begin();
    struct lines lines = draw_without_names(c.run.arena, r);
    struct reach one = compile_lines(&lines), two;
    bool is_swapped = false;
    for (uint32_t i = 0; i + 1 < one.h->statements.n && lines.n == one.h->statements.n && !is_swapped; i++) {
        const struct statement *x = &one.h->statements.v[i], *y = x + 1;
        is_swapped = x->verdict == y->verdict && x->hours.i == y->hours.i;
        if (is_swapped) {
            const struct str keep = lines.v[i];
            lines.v[i] = lines.v[i + 1];
            lines.v[i + 1] = keep;
        }
    }
    CHECK("compiles as before", try_compile(&two, &lines));
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct space *s = space_of(&one, f);
        for (uint32_t bits = 0; bits < 4; bits++)
            CHECK("the same packets", without_answers(&one, s, let_through(&one, s, &one.policy->table, bits)) ==
                                          without_answers(&one, s, let_through(&one, s, &two.policy->table, bits)));
    }
    reach_end(&two);
    reach_end(&one);
    check_run_end(&c);
}

static int by_statement(const void *a, const void *b)
{
    const struct stated *const *x = a, *const *y = b;
    if ((*x)->statement != (*y)->statement)
        return (*x)->statement < (*y)->statement ? -1 : 1;
    return *x < *y ? -1 : *x > *y;
}

/* The statements' rules one by one, as they were before any were joined. */
static struct table apart(struct reach *r)
{
    struct arena *a = r->c.run.arena;
    const uint32_t n = r->policy->stated.n;
    const struct stated **order = ARENA_ARRAY(a, const struct stated *, n);
    struct chain *chain = ARENA_NEW(a, struct chain);
    chain->rules.v = ARENA_ARRAY(a, struct rule, n);
    chain->policy = ACTION_DROP;
    for (uint32_t i = 0; i < n; i++)
        order[i] = &r->policy->stated.v[i];
    qsort(order, n, sizeof(struct stated *), by_statement);
    for (uint32_t i = 0; i < n; i++) {
        const struct statement *s = &r->h->statements.v[order[i]->statement];
        chain->rules.v[chain->rules.n++] =
            (struct rule){ .number = i + 1,
                           .families = order[i]->families,
                           .match = order[i]->match,
                           .hours = s->hours,
                           .action = s->verdict == VERDICT_ALLOW ? ACTION_ACCEPT : ACTION_REJECT };
    }
    return (struct table){ .chains = { chain, 1 }, .n_rules = n };
}

/* The statements' rules of the table, joined. */
static struct table together(struct reach *r)
{
    struct chain *chain = ARENA_NEW(r->c.run.arena, struct chain);
    chain->rules.v = ARENA_ARRAY(r->c.run.arena, struct rule, r->policy->table.n_rules);
    chain->policy = ACTION_DROP;
    static const enum policy_chain CHAINS[] = { CHAIN_TO_GATEWAY, CHAIN_THROUGH };
    for (size_t c = 0; c < RT_COUNT(CHAINS); c++) {
        const struct chain *from = &r->policy->table.chains.v[CHAINS[c]];
        for (uint32_t i = 0; i < from->rules.n; i++)
            if (from->rules.v[i].origin == ORIGIN_STATEMENT)
                chain->rules.v[chain->rules.n++] = from->rules.v[i];
    }
    return (struct table){ .chains = { chain, 1 }, .n_rules = r->policy->table.n_rules };
}

PROP(joined_rules_mean_what_the_statements_rules_meant_apart, 60)
{
    struct check_run c = check_run_begin();
    struct lines lines = draw_lines(c.run.arena, r);
    struct reach house = compile_lines(&lines);
    const struct table one_by_one = apart(&house), joined = together(&house);
    CHECK("never more of them", joined.chains.v[0].rules.n <= one_by_one.chains.v[0].rules.n);
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        struct space *s = space_of(&house, f);
        for (uint32_t bits = 0; bits < 4; bits++)
            CHECK("the same packets",
                  let_through(&house, s, &one_by_one, bits) == let_through(&house, s, &joined, bits));
    }
    reach_end(&house);
    check_run_end(&c);
}

/* ---- no rule too many ---- */

/* Fewer rules would not do: none is unreachable, and without any one some packet would fare otherwise, in one family at least of
 * those it speaks of. */
TEST(no_rule_of_the_demo_houses_is_there_in_vain)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                          "houses/whin_farm.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct reach r = reach_file(HOUSES[i]);
        const struct table *t = &r.policy->table;
        struct span some[HOURS_MAX]; /* no two hours at the same minutes */
        span_list hours[HOURS_MAX];
        for (uint32_t k = 0; k < HOURS_MAX; k++) {
            some[k] = (struct span){ 1000 * k + 100, 1000 * k + 700 };
            hours[k] = (span_list){ &some[k], 1 };
        }
        const struct week_kind week = { .n_minutes = 10080, .hours = hours };
        unsigned *vain = ARENA_ARRAY(r.c.run.arena, unsigned, t->n_rules + 1);
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            struct space *s = space_of(&r, f);
            finding_list found;
            CHECK_OK(&r.c, table_findings(s, t, &week, &found, &r.c.problems));
            for (uint32_t k = 0; k < found.n; k++)
                if (found.v[k].kind == FINDING_UNREACHABLE || found.v[k].kind == FINDING_REDUNDANT)
                    vain[found.v[k].rule] |= 1U << f;
        }
        for (uint32_t c = 0; c < t->chains.n; c++)
            for (uint32_t k = 0; k < t->chains.v[c].rules.n; k++) {
                const struct rule *x = &t->chains.v[c].rules.v[k];
                if (x->action != ACTION_JUMP && (x->families & ~vain[x->number]) == 0)
                    fail_msg("%s: rule %u decides nothing: %.*s", HOUSES[i], x->number, STR_ARG(x->says));
            }
        reach_end(&r);
    }
}

/* ---- the same bytes ---- */

static struct str written(struct reach *r)
{
    struct buf b = { .arena = r->c.run.arena };
    for (uint32_t c = 0; c < r->policy->table.chains.n; c++)
        for (uint32_t i = 0; i < r->policy->table.chains.v[c].rules.n; i++) {
            const struct rule *x = &r->policy->table.chains.v[c].rules.v[i];
            buf_printf(&b, "%u %u %u %d %d %u %u %.*s", x->number, x->families, x->hours.i, (int)x->action,
                       (int)x->origin, x->which, x->at.line, STR_ARG(x->says));
            for (uint32_t t = 0; t < x->match.terms.n; t++)
                for (uint32_t k = 0; k < x->match.terms.v[t].in.n; k++) {
                    const struct span s = x->match.terms.v[t].in.v[k];
                    buf_printf(&b, " %u:%llx%016llx-%llx%016llx", x->match.terms.v[t].axis,
                               (unsigned long long)(s.lo >> 64), (unsigned long long)s.lo,
                               (unsigned long long)(s.hi >> 64), (unsigned long long)s.hi);
                }
            buf_char(&b, '\n');
        }
    for (uint32_t i = 0; i < r->policy->notes.n; i++)
        buf_printf(&b, "%u %.*s\n", r->policy->notes.v[i].at.line, STR_ARG(r->policy->notes.v[i].says));
    return buf_done(&b);
}

TEST(the_same_house_is_the_same_table)
{
    struct reach one = reach_file("houses/larch_end.house.yaml"), two = reach_file("houses/larch_end.house.yaml");
    CHECK_TEXT("table and notes", written(&one), written(&two));
    reach_end(&one);
    reach_end(&two);
}
