/* The table against a plain reading of the statements, written down apart from the compiler: who sends, to whom, for what; the
 * statements in order; the first that fits. */
#include "lines_kit.h"

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

/* Asks the table and the plain reading; returns how many packets passed. */
static uint32_t compare(const struct reach *r, struct random *random, uint32_t n)
{
    uint32_t n_passed = 0;
    for (uint32_t k = 0; k < n; k++) {
        const struct question q = draw_question(r, random);
        struct packet p = packet_of(r, &q);
        if (!is_fair(r, &q, &p))
            continue;
        bool hold[REACH_HOURS_MAX] = { 0 };
        for (uint32_t i = 0; i < r->h->hours.n && i < REACH_HOURS_MAX; i++)
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
        CHECK("no openings, which the oracle does not know",
              r.h->port_openings.n == 0 && r.h->hours.n <= REACH_HOURS_MAX);
        const uint32_t n = compare(&r, &random, 20000);
        print_message("    %s: %u of 20000 packets pass\n", HOUSES[i], (unsigned)n);
        CHECK("some pass, some do not", n > 100 && n < 19000);
        reach_end(&r);
    }
}

/* ---- random policies ---- */

PROP(random_policies_mean_what_their_statements_say, 250)
{
    struct check_run c = check_run_begin();
    struct lines lines = lines_draw(c.run.arena, r);
    struct reach house = lines_compile(&lines);
    compare(&house, r, 400);
    reach_end(&house);
    check_run_end(&c);
}
