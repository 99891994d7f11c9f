/* Every row of home_requirements.csv gets an answer: kept, differs, not to be seen in a table of rules, or none of this program's
 * business.  What can be seen in a table is proven over all packets of a small house, and each proof is shown to be able to fail:
 * the table is spoilt (a rule taken out, one put before the others), and the claim must not hold any more.
 *
 * The requirements are in own words, and their clause numbers from memory, as the file says.  docs/standards.md is held to these
 * answers. */
#include "base/file.h"
#include "requirement_claims.h"

enum policy_kind { OPEN, CLOSED, POLICIES };
enum { ON_IPV4 = 1 << FAMILY_IPV4, ON_IPV6 = 1 << FAMILY_IPV6, ON_BOTH = ON_IPV4 | ON_IPV6 };
/* ---- how a table is spoilt ---- */

enum spoil_kind {
    NOT_SPOILT,
    WITHOUT_RULES, /* whose words hold `text` */
    RULE_FIRST,    /* one more rule, before all others */
    OPEN_DEFAULT,  /* what nobody decides passes */
    PREFIX_64,     /* the line gives one subnet */
    SAME_SUBNETS,  /* the first segment's for the second */
};
struct spoil {
    enum spoil_kind kind;
    const char *text;
    enum action action;
    uint32_t from, to;
    unsigned protocol, port; /* 0: any; of ICMPv6: the type */
};
#define ONCE               \
    {                      \
        .kind = NOT_SPOILT \
    }
#define WITHOUT(words)                         \
    {                                          \
        .kind = WITHOUT_RULES, .text = (words) \
    }
#define FIRST(what, zone_from, zone_to, proto, number)                                                   \
    {                                                                                                    \
        .kind = RULE_FIRST, .action = (what), .from = (zone_from), .to = (zone_to), .protocol = (proto), \
        .port = (number)                                                                                 \
    }
#define LET(zone_from, zone_to, proto, number) FIRST(ACTION_ACCEPT, zone_from, zone_to, proto, number)
#define CUT(zone_from, zone_to, proto, number) FIRST(ACTION_DROP, zone_from, zone_to, proto, number)

static struct rule first_rule(struct street *t, const struct spoil *spoil)
{
    struct rule r = {
        .families = ON_BOTH, .action = spoil->action, .hours.i = NO_REF, .origin = ORIGIN_STANDARD, .which = NO_REF
    };
    bool failed = false;
    struct arena *a = t->r.c.run.arena;
    match_narrow_to(a, &r.match, AXIS_FROM, spoil->from, spoil->from, &failed);
    match_narrow_to(a, &r.match, AXIS_TO, spoil->to, spoil->to, &failed);
    if (spoil->protocol)
        match_narrow_to(a, &r.match, AXIS_PROTOCOL, spoil->protocol, spoil->protocol, &failed);
    if (spoil->port)
        match_narrow_to(a, &r.match, spoil->protocol == IP_ICMPV6 ? AXIS_ICMP_TYPE : AXIS_DESTINATION_PORT, spoil->port,
                        spoil->port, &failed);
    CHECK("memory", !failed);
    return r;
}

static struct table spoilt(struct street *t, const struct spoil *spoil)
{
    struct arena *a = t->r.c.run.arena;
    struct table out = t->r.policy->table;
    out.chains.v = ARENA_ARRAY(a, struct chain, out.chains.n);
    uint32_t n_taken = 0;
    for (uint32_t c = 0; c < out.chains.n; c++) {
        const struct chain *from = &t->r.policy->table.chains.v[c];
        struct chain *to = &out.chains.v[c];
        *to = *from;
        to->rules.v = ARENA_ARRAY(a, struct rule, from->rules.n + 1);
        to->rules.n = 0;
        if (spoil->kind == RULE_FIRST && c == out.start) {
            to->rules.v[to->rules.n] = first_rule(t, spoil);
            to->rules.v[to->rules.n++].number = ++out.n_rules;
        }
        for (uint32_t i = 0; i < from->rules.n; i++) {
            const struct rule *r = &from->rules.v[i];
            const bool taken =
                spoil->kind == WITHOUT_RULES && memmem(r->says.p, r->says.n, spoil->text, strlen(spoil->text));
            n_taken += taken;
            if (!taken)
                to->rules.v[to->rules.n++] = *r;
        }
    }
    if (spoil->kind == WITHOUT_RULES)
        CHECK(spoil->text, n_taken > 0);
    if (spoil->kind == OPEN_DEFAULT)
        out.chains.v[out.start].policy = ACTION_ACCEPT;
    return out;
}

/* ---- the answers ---- */

enum answer { KEPT, PLANNED, DIFFERS, NOT_EXPRESSIBLE, NOT_OURS };
struct row {
    const char *id;
    enum answer answer;
    const char *why;
    claim_fn *claim; /* of KEPT and PLANNED; of DIFFERS: what is done in its place */
    unsigned protocol;
    enum policy_kind policy;
    unsigned families;
    struct spoil spoil, also; /* each makes the claim fail, in every family; `also` may be none */
};

#define BY_TRACKER "a matter of the kernel's memory of conversations, not of its rules"
#define BY_TIME "a table of rules has no time limits, and the export sets none: the kernel's own hold"
#define NO_MUD "usage descriptions of devices are not read"
#define INNER_RULES "RFC 6092 REC-3, 7"

static bool whole_of_rfc6092(struct street *t, unsigned protocol);

/* clang-format off */
static const struct row ROWS[] = {
    { "rfc6092-rec1", KEPT, "", no_multicast_source, 0, OPEN, ON_IPV6, WITHOUT("(RFC 2827)"), ONCE },
    { "rfc6092-rec2", KEPT, "of every scope: there is no multicast routing", no_multicast_destination, 0, OPEN, ON_IPV6, WITHOUT("cross no router"), ONCE },
    { "rfc6092-rec3", KEPT, "", no_forbidden_addresses, 0, OPEN, ON_IPV6, WITHOUT(INNER_RULES), WITHOUT("no business with inner") },
    { "rfc6092-rec4", NOT_EXPRESSIBLE, "the model of a packet has no extension headers; hosts have to ignore this one anyway (RFC 5095)", .claim = NULL },
    { "rfc6092-rec5", KEPT, "", outward_from_own_prefix, 0, OPEN, ON_IPV6, WITHOUT("REC-5"), ONCE },
    { "rfc6092-rec6", KEPT, "", inward_from_others, 0, OPEN, ON_IPV6, WITHOUT("no business with inner"), ONCE },
    { "rfc6092-rec7", KEPT, "", local_stays, 0, OPEN, ON_IPV6, WITHOUT(INNER_RULES), WITHOUT("no business with inner") },
    { "rfc6092-rec8", KEPT, "unless a statement opens the gateway to the internet", resolver_is_inside, 0, CLOSED, ON_BOTH, LET(ZONE_INTERNET, ZONE_GATEWAY, IP_UDP, 53), LET(ZONE_INTERNET, ZONE_GATEWAY, IP_TCP, 53) },
    { "rfc6092-rec9", KEPT, "unless a statement opens the gateway to the internet", dhcpv6_is_inside, 0, CLOSED, ON_IPV6, LET(ZONE_INTERNET, ZONE_GATEWAY, IP_UDP, 547), ONCE },
    { "rfc6092-rec10", KEPT, "", errors_only_about_what_runs, 0, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_ICMPV6, 3), ONCE },
    { "rfc6092-rec11", DIFFERS, "stricter: only who was called may answer, from the same address and port", nothing_begins_inward, 0, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, 0, 0), CUT(ZONE_INTERNET, THINGS, IP_TCP, 443) },
    { "rfc6092-rec12", NOT_EXPRESSIBLE, BY_TIME, .claim = NULL },
    { "rfc6092-rec13", NOT_OURS, "who makes the gateway sees to its software", .claim = NULL },
    { "rfc6092-rec14", NOT_EXPRESSIBLE, BY_TIME, .claim = NULL },
    { "rfc6092-rec15", NOT_EXPRESSIBLE, BY_TIME, .claim = NULL },
    { "rfc6092-rec16", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec17", DIFFERS, "stricter, as REC-11", nothing_begins_inward, IP_UDP, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_UDP, 0), CUT(ZONE_INTERNET, THINGS, IP_TCP, 443) },
    { "rfc6092-rec18", KEPT, "", errors_come_back, IP_UDP, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), CUT(ZONE_INTERNET, HOME, IP_ICMPV6, 2) },
    { "rfc6092-rec19", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec20", KEPT, "where a statement allows all services; a service by name is UDP alone", like_udp, IP_UDPLITE, CLOSED, ON_IPV6, CUT(HOME, ZONE_INTERNET, IP_UDPLITE, 0), ONCE },
    { "rfc6092-rec21", DIFFERS, "passes outward with its answers; nobody begins it from the internet", flows_and_nothing_begins_inward, IP_AH, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_AH, 0), CUT(HOME, ZONE_INTERNET, IP_AH, 0) },
    { "rfc6092-rec22", DIFFERS, "passes outward with its answers; nobody begins it from the internet", flows_and_nothing_begins_inward, IP_ESP, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_ESP, 0), CUT(HOME, ZONE_INTERNET, IP_ESP, 0) },
    { "rfc6092-rec23", KEPT, "", errors_come_back, IP_ESP, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), CUT(ZONE_INTERNET, HOME, IP_ICMPV6, 2) },
    { "rfc6092-rec24", DIFFERS, "passes outward with its answers; nobody begins it from the internet", flows_and_nothing_begins_inward, IP_UDP, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_UDP, 500), CUT(HOME, ZONE_INTERNET, IP_UDP, 500) },
    { "rfc6092-rec25", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec26", DIFFERS, "passes outward with its answers; nobody begins it from the internet", flows_and_nothing_begins_inward, IP_HIP, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_HIP, 0), CUT(HOME, ZONE_INTERNET, IP_HIP, 0) },
    { "rfc6092-rec27", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec28", KEPT, "", flows, IP_MOBILITY, CLOSED, ON_IPV6, CUT(HOME, ZONE_INTERNET, IP_MOBILITY, 0), CUT(ZONE_INTERNET, HOME, IP_MOBILITY, 0) },
    { "rfc6092-rec29", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec30", KEPT, "", errors_come_back, IP_MOBILITY, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), CUT(ZONE_INTERNET, HOME, IP_ICMPV6, 2) },
    { "rfc6092-rec31", KEPT, "the other side's call of a simultaneous opening counts as an answer", flows_and_nothing_begins_inward, IP_TCP, CLOSED, ON_IPV6, CUT(ZONE_INTERNET, HOME, IP_TCP, 0), LET(ZONE_INTERNET, HOME, IP_TCP, 22) },
    { "rfc6092-rec32", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec33", DIFFERS, "stricter, as REC-11", nothing_begins_inward, IP_TCP, CLOSED, ON_IPV6, LET(ZONE_INTERNET, HOME, IP_TCP, 0), CUT(ZONE_INTERNET, THINGS, IP_TCP, 443) },
    { "rfc6092-rec34", DIFFERS, "refused callers from the internet hear nothing, so that who searches learns nothing", refused_in_silence, IP_TCP, CLOSED, ON_IPV6, FIRST(ACTION_REJECT, ZONE_INTERNET, HOME, IP_TCP, 0), ONCE },
    { "rfc6092-rec35", NOT_EXPRESSIBLE, BY_TIME, .claim = NULL },
    { "rfc6092-rec36", KEPT, "", errors_come_back, IP_TCP, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), CUT(ZONE_INTERNET, HOME, IP_ICMPV6, 2) },
    { "rfc6092-rec37", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec38", KEPT, "", flows, IP_SCTP, CLOSED, ON_IPV6, CUT(HOME, ZONE_INTERNET, IP_SCTP, 0), CUT(ZONE_INTERNET, HOME, IP_SCTP, 0) },
    { "rfc6092-rec39", DIFFERS, "as REC-34", refused_in_silence, IP_SCTP, CLOSED, ON_IPV6, FIRST(ACTION_REJECT, ZONE_INTERNET, HOME, IP_SCTP, 0), ONCE },
    { "rfc6092-rec40", NOT_EXPRESSIBLE, BY_TIME, .claim = NULL },
    { "rfc6092-rec41", KEPT, "", errors_come_back, IP_SCTP, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), CUT(ZONE_INTERNET, HOME, IP_ICMPV6, 2) },
    { "rfc6092-rec42", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec43", KEPT, "", flows, IP_DCCP, CLOSED, ON_IPV6, CUT(HOME, ZONE_INTERNET, IP_DCCP, 0), CUT(ZONE_INTERNET, HOME, IP_DCCP, 0) },
    { "rfc6092-rec44", NOT_EXPRESSIBLE, BY_TIME, .claim = NULL },
    { "rfc6092-rec45", KEPT, "", errors_come_back, IP_DCCP, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), CUT(ZONE_INTERNET, HOME, IP_ICMPV6, 2) },
    { "rfc6092-rec46", NOT_EXPRESSIBLE, BY_TRACKER, .claim = NULL },
    { "rfc6092-rec47", KEPT, "", flows, IP_SHIM6, CLOSED, ON_IPV6, CUT(ZONE_INTERNET, HOME, IP_SHIM6, 0), CUT(HOME, ZONE_INTERNET, IP_SHIM6, 0) },
    { "rfc6092-rec48", DIFFERS, "no device can open a door by itself: doors are in the house file", no_doors_on_demand, 0, CLOSED, ON_BOTH, LET(HOME, ZONE_GATEWAY, IP_UDP, 5351), LET(GUESTS, ZONE_GATEWAY, IP_UDP, 1900) },
    { "rfc6092-rec49", KEPT, "one statement, from anyone to anyone; `prove --against` compares", everything_passes, IP_TCP, OPEN, ON_IPV6, CUT(ZONE_INTERNET, HOME, IP_TCP, 22), CUT(HOME, ZONE_INTERNET, IP_TCP, 0) },
    { "rfc6092-rec50", KEPT, "unless a statement opens the gateway to the internet", no_management_outside, 0, CLOSED, ON_BOTH, LET(ZONE_INTERNET, ZONE_GATEWAY, IP_TCP, 443), CUT(ZONE_INTERNET, ZONE_GATEWAY, IP_UDP, 51820) },
    { "rfc7084-wpd1", PLANNED, "the exported interface files ask for it", delegation_is_stated, 0, CLOSED, ON_IPV6, { .kind = PREFIX_64 }, ONCE },
    { "rfc7084-wpd2", PLANNED, "the size is the one the house file gives, and too little for the segments is seen", delegation_has_room, 0, CLOSED, ON_IPV6, { .kind = PREFIX_64 }, ONCE },
    { "rfc7084-wpd5", KEPT, "by a rule, not by a route", delegated_stays, 0, OPEN, ON_IPV6, WITHOUT(INNER_RULES), ONCE },
    { "rfc7084-l2", PLANNED, "", public_subnets_apart, 0, CLOSED, ON_IPV6, { .kind = SAME_SUBNETS }, ONCE },
    { "rfc7084-l1", PLANNED, "", local_subnets_apart, 0, CLOSED, ON_IPV6, { .kind = SAME_SUBNETS }, ONCE },
    { "rfc7084-ula3", KEPT, "", local_stays, 0, OPEN, ON_IPV6, WITHOUT(INNER_RULES), WITHOUT("no business with inner") },
    { "rfc7084-l13", NOT_EXPRESSIBLE, "a matter of router advertisements; the exported rules name the prefix once, at the top, to be replaced", .claim = NULL },
    { "rfc7084-l14", DIFFERS, "senders that name addresses not their own are dropped in silence: an answer would go to whom they name", liars_hear_nothing, 0, CLOSED, ON_IPV6, FIRST(ACTION_REJECT, HOME, ZONE_INTERNET, 0, 0), ONCE },
    { "rfc7084-s1", KEPT, "those rows above that say so, all of the closed house", whole_of_rfc6092, 0, CLOSED, ON_IPV6, CUT(HOME, ZONE_INTERNET, 0, 0), ONCE },
    { "rfc7084-s2", KEPT, "always on", honest_sources, 0, OPEN, ON_BOTH, WITHOUT("(RFC 2827)"), WITHOUT("The tunnel 'away' carries") },
    { "rfc4890-431", DIFFERS, "errors pass wherever anything does, echo outward; an echo from the internet comes in by a statement only", essential_messages_pass, 0, CLOSED, ON_IPV6, WITHOUT("come back (RFC 4890"), LET(ZONE_INTERNET, HOME, IP_ICMPV6, 128) },
    { "rfc4890-432", KEPT, "", useful_messages_pass, 0, CLOSED, ON_IPV6, CUT(HOME, ZONE_INTERNET, IP_ICMPV6, 146), WITHOUT("come back (RFC 4890") },
    { "rfc4890-441", KEPT, "the hop limit is checked by the receiver itself (RFC 4861)", gateway_hears, 0, CLOSED, ON_IPV6, WITHOUT("find each other (RFC 4890 section 4.4.1)"), WITHOUT("come back (RFC 4890") },
    { "rfc4890-435", KEPT, "", no_node_questions, 0, OPEN, ON_IPV6, WITHOUT("Messages between neighbours"), ONCE },
    { "bcp38-1", KEPT, "", honest_sources, 0, OPEN, ON_BOTH, WITHOUT("(RFC 2827)"), WITHOUT("The tunnel 'away' carries") },
    { "bcp84-1", NOT_OURS, "a house file has one line", .claim = NULL },
    { "rfc7368-1", KEPT, "", guests_reach_the_internet_only, 0, CLOSED, ON_BOTH, LET(GUESTS, HOME, IP_TCP, 80), LET(GUESTS, ZONE_GATEWAY, IP_TCP, 443) },
    { "en303645-5.5-5", KEPT, "whom a statement names, and nobody else, gets to what manages the gateway; the log-in is the gateway's", managed_from_home, 0, CLOSED, ON_BOTH, LET(GUESTS, ZONE_GATEWAY, IP_TCP, 443), LET(ZONE_INTERNET, ZONE_GATEWAY, IP_TCP, 22) },
    { "en303645-5.6-1", NOT_EXPRESSIBLE, "a matter of sockets: `prove` lists those that a stranger can reach", .claim = NULL },
    { "en303645-5.6-2", KEPT, "discovery leaves a segment by a relay of the house file only; what a device tells within its segment is its own matter", discovery_is_relayed_where_listed, 0, CLOSED, ON_BOTH, LET(GUESTS, ZONE_GATEWAY, IP_UDP, 5353), LET(HOME, ZONE_GATEWAY, IP_UDP, 1900) },
    { "en303645-5.9-2", NOT_EXPRESSIBLE, "no rule asks whether the line is up, and what devices need of it is their own matter", .claim = NULL },
    { "en303645-5.3-x", NOT_OURS, NO_MUD "; a promise `reach` proves that a device gets to the host it names", .claim = NULL },
    { "nistir8425-iac", KEPT, "", begins_by_what_is_said, 0, CLOSED, ON_BOTH, LET(GUESTS, HOME, IP_TCP, 80), LET(ZONE_INTERNET, HOME, IP_UDP, 0) },
    { "nistir8425-dp", NOT_EXPRESSIBLE, "a port does not tell whether what goes over it is enciphered", .claim = NULL },
    { "nistir8425-csa", NOT_EXPRESSIBLE, "the proof is about what passes, not about what is written down of it", .claim = NULL },
    { "sp800-41r1-deny", KEPT, "", default_is_no, 0, CLOSED, ON_BOTH, { .kind = OPEN_DEFAULT }, LET(GUESTS, HOME, IP_TCP, 80) },
    { "sp800-41r1-spoof", KEPT, "", no_reserved_source, 0, OPEN, ON_BOTH, WITHOUT("no business with inner"), WITHOUT("(RFC 2827)") },
    { "sp800-41r1-egress", KEPT, "", honest_sources, 0, OPEN, ON_BOTH, WITHOUT("(RFC 2827)"), WITHOUT("The tunnel 'away' carries") },
    { "sp800-41r1-test", NOT_EXPRESSIBLE, "`rehearse` does it, on a kernel, before use", .claim = NULL },
    { "sp1800-15-1", NOT_OURS, NO_MUD, .claim = NULL },
    { "sp1800-15-2", NOT_OURS, NO_MUD "; a device that is not in the file counts as its segment", .claim = NULL },
    { "rfc8520-dflt", NOT_OURS, NO_MUD, .claim = NULL },
    { "rfc8520-dir", KEPT, "of statements, for every protocol; " NO_MUD, one_direction, 0, CLOSED, ON_BOTH, LET(THINGS, HOME, IP_TCP, 0), CUT(HOME, THINGS, 0, 0) },
};
/* clang-format on */

static bool whole_of_rfc6092(struct street *t, unsigned protocol RT_UNUSED)
{
    bool holds = true;
    for (size_t i = 0; i < RT_COUNT(ROWS); i++)
        if (strncmp(ROWS[i].id, "rfc6092", 7) == 0 && ROWS[i].answer == KEPT && ROWS[i].policy == CLOSED)
            holds = holds && ROWS[i].claim(t, ROWS[i].protocol);
    return holds;
}

/* ---- tests ---- */

/* Whether the claim holds when the table, or the plan, is spoilt; leaves both as they were. */
static bool holds_spoilt(struct street *t, const struct row *row, const struct spoil *spoil)
{
    struct address_plan *plan = t->r.plan;
    const struct segment_plan second = plan->segments[1];
    const struct prefix delegated = plan->delegated;
    const struct table table = spoilt(t, spoil);
    if (spoil->kind == SAME_SUBNETS)
        plan->segments[1] = plan->segments[0];
    else if (spoil->kind == PREFIX_64)
        plan->delegated.len = 64;
    else
        street_judge(t, &table);
    const bool holds = row->claim(t, row->protocol);
    plan->segments[1] = second;
    plan->delegated = delegated;
    street_judge(t, &t->r.policy->table);
    return holds;
}

static void check_row(struct street *t, const struct row *row)
{
    struct arena *a = t->r.c.run.arena;
    const char *label = arena_printf(a, "%s by IPv%d", row->id, t->family == FAMILY_IPV4 ? 4 : 6);
    CHECK(label, row->claim(t, row->protocol));
    CHECK(arena_printf(a, "%s can fail", label), !holds_spoilt(t, row, &row->spoil));
    if (row->also.kind != NOT_SPOILT)
        CHECK(arena_printf(a, "%s can fail otherwise", label), !holds_spoilt(t, row, &row->also));
    CHECK_OK(&t->r.c, space_state(t->s, &t->r.c.problems)); /* a set that failed is an empty one */
}

static void check_rows(enum policy_kind policy, enum family f)
{
    struct street t = street_begin(policy == OPEN ? OPEN_HOUSE : CLOSED_HOUSE, f);
    unsigned n = 0;
    for (size_t i = 0; i < RT_COUNT(ROWS); i++)
        if (ROWS[i].claim && ROWS[i].policy == policy && ROWS[i].families >> f & 1) {
            check_row(&t, &ROWS[i]);
            n++;
        }
    CHECK("there are some", n > 0);
    street_end(&t);
}

TEST(what_is_kept_of_the_most_open_house_by_ipv4) { check_rows(OPEN, FAMILY_IPV4); }
TEST(what_is_kept_of_the_most_open_house_by_ipv6) { check_rows(OPEN, FAMILY_IPV6); }
TEST(what_is_kept_of_a_closed_house_by_ipv4) { check_rows(CLOSED, FAMILY_IPV4); }
TEST(what_is_kept_of_a_closed_house_by_ipv6) { check_rows(CLOSED, FAMILY_IPV6); }

TEST(answers_have_a_claim_or_a_reason)
{
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        const bool is_proven = ROWS[i].answer <= DIFFERS;
        CHECK(ROWS[i].id, is_proven == (ROWS[i].claim != NULL && ROWS[i].families && ROWS[i].spoil.kind != NOT_SPOILT));
        CHECK(ROWS[i].id, ROWS[i].answer < DIFFERS || ROWS[i].why[0]);
    }
}

static uint32_t row_in(const struct csv *t, const char *id)
{
    for (uint32_t i = 0; i < t->rows.n; i++)
        if (str_is(csv_cell(t, i, "id"), id))
            return i;
    return NO_REF;
}

/* In the order of the file, so that one more or less on either side is seen. */
TEST(every_requirement_has_its_answer)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/home_requirements.csv"));
    for (size_t i = 0; i < RT_COUNT(ROWS); i++)
        CHECK(ROWS[i].id, row_in(&t, ROWS[i].id) == i);
    CHECK_NEAR("rows", (double)t.rows.n, (double)RT_COUNT(ROWS), 0, "");
    check_run_end(&c);
}

static void answer_write(struct buf *b, const struct row *row)
{
    static const char *const WORDS[] = { [KEPT] = "kept, proven",
                                         [PLANNED] = "kept, checked on the address plan",
                                         [DIFFERS] = "differs",
                                         [NOT_EXPRESSIBLE] = "not expressible",
                                         [NOT_OURS] = "not this program's" };
    buf_text(b, WORDS[row->answer]);
    if (row->why[0])
        buf_printf(b, ": %s", row->why);
}

/* The table of the document, as it must be; printed when it is not, to be put in its place. */
TEST(the_document_gives_these_answers)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/home_requirements.csv"));
    struct str text;
    CHECK_OK(&c, file_read(c.run.arena, check_path(&c, "docs/standards.md"), 1 << 20, &text, &c.problems));
    struct buf b = { .arena = c.run.arena };
    buf_text(&b, "| id | level | requirement | answer |\n| --- | --- | --- | --- |\n");
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        const uint32_t row = row_in(&t, ROWS[i].id);
        CHECK(ROWS[i].id, row != NO_REF);
        buf_printf(&b, "| %s | %.*s | %.*s | ", ROWS[i].id, STR_ARG(csv_cell(&t, row, "level")),
                   STR_ARG(csv_cell(&t, row, "requirement")));
        answer_write(&b, &ROWS[i]);
        buf_text(&b, " |\n");
    }
    const struct str want = buf_done(&b);
    const bool is_there = memmem(text.p, text.n, want.p, want.n) != NULL;
    if (!is_there) {
        printf("%.*s", STR_ARG(want));
        fflush(stdout); /* before what is said on the other stream */
    }
    CHECK("docs/standards.md holds the table printed above", is_there);
    check_run_end(&c);
}
