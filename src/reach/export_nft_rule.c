#include "reach/export_nft_int.h"

/* A rule of the table becomes one line of the text where nft can say it in one; else as many as there are parts that the
 * kernel tells apart: families, answers, packets without a conversation's memory, interfaces without MAC addresses.  The
 * parts share no packet, so their order does not matter. */

enum {
    EVERY_STATE = (1 << STATE_COUNT) - 1,
    NO_MEMORY = 1 << STATE_INVALID | 1 << STATE_UNTRACKED, /* such packets have neither mark nor direction */
    BOTH_FAMILIES = (1 << FAMILY_COUNT) - 1,
};

/* How interfaces are matched: those of a rule are split when its MAC addresses hold 0. */
enum senders { SENDERS_ALL, SENDERS_WITH_MAC, SENDERS_WITHOUT_MAC };

struct rule_part {
    unsigned families, states;
    enum senders senders;
    enum nft_hook hook;
    struct str when;
};

static bool is_full(span_list in, axis_value max) { return in.n == 1 && in.v[0].lo == 0 && in.v[0].hi == max; }

/* The term, unless it holds every value. */
static const span_list *term_on(const struct rule *r, uint32_t axis, enum family family)
{
    const span_list *in = match_on(&r->match, axis);
    return in && !is_full(*in, axis_max(axis, family)) ? in : NULL;
}

static bool holds_other_than_gateway(const span_list *in)
{
    if (!in)
        return true;
    for (uint32_t i = 0; i < in->n; i++)
        if (in->v[i].lo != ZONE_GATEWAY || in->v[i].hi != ZONE_GATEWAY)
            return true;
    return false;
}

static bool has_empty_term(const struct match *m)
{
    for (uint32_t i = 0; i < m->terms.n; i++)
        if (m->terms.v[i].in.n == 0)
            return true;
    return false;
}

bool nft_rule_fits_hook(const struct nft_writer *w, const struct rule *r, enum nft_hook hook)
{
    (void)w;
    const span_list *from = match_on(&r->match, AXIS_FROM), *to = match_on(&r->match, AXIS_TO);
    if (has_empty_term(&r->match) || (r->families & BOTH_FAMILIES) == 0)
        return false;
    switch (hook) {
    case NFT_INPUT:
        return !to || spans_hold(*to, ZONE_GATEWAY);
    case NFT_OUTPUT:
        return !from || spans_hold(*from, ZONE_GATEWAY);
    default:
        return holds_other_than_gateway(from) && holds_other_than_gateway(to);
    }
}

struct str nft_chain_in(const struct nft_writer *w, uint32_t chain, enum nft_hook hook)
{
    static const char *const BEHIND[NFT_HOOKS] = { "at_input", "at_forward", "at_output" };
    unsigned hooks = 0;
    for (unsigned h = 0; h < NFT_HOOKS; h++)
        hooks += w->led_to[h][chain];
    if (hooks < 2 || !w->speaks_of_zones[chain])
        return w->chains[chain];
    struct buf name = { .arena = w->run->arena };
    const struct str plain = w->chains[chain];
    buf_printf(&name, "%.*s%s%s", STR_ARG(plain), plain.n && plain.p[plain.n - 1] == '_' ? "" : "_", BEHIND[hook]);
    return buf_done(&name);
}

/* ---- conditions ---- */

/* Zones as the interface match of a hook takes them; false: no interface is left. */
static bool put_interface(struct nft_writer *w, struct buf *line, const char *key, uint32_t axis, span_list in,
                          enum nft_hook hook)
{
    struct arena *a = w->run->arena;
    const axis_value max = axis_max(axis, FAMILY_IPV4);
    const struct span gateway = { ZONE_GATEWAY, ZONE_GATEWAY };
    if (hook == NFT_FORWARD) { /* it never comes from the gateway or goes to it: what is shorter to say */
        const span_list itself = spans_tidy(a, &gateway, 1, &w->failed);
        const span_list rest = spans_others(a, itself, max, &w->failed);
        in = spans_hold(in, max) ? spans_join(a, in, itself, &w->failed) : spans_common(a, in, rest, &w->failed);
    }
    if (is_full(in, max))
        return true;
    bool any = spans_hold(in, max);
    for (uint32_t z = 0; z < w->n_zones && !any; z++)
        any = spans_hold(in, z);
    if (!any)
        return false;
    buf_printf(line, "%s ", key);
    nft_put_values(w, line, axis, FAMILY_IPV4, in);
    buf_char(line, ' ');
    return true;
}

/* Zones whose packets have a MAC address, or have none, of those of the rule. */
static span_list senders_of(struct nft_writer *w, const struct rule *r, enum senders which)
{
    struct arena *a = w->run->arena;
    const axis_value max = axis_max(AXIS_FROM, FAMILY_IPV4);
    const struct span all = { 0, max };
    const struct span bare[] = { { ZONE_GATEWAY, ZONE_GATEWAY }, { w->n_with_mac, w->n_zones - 1 } };
    const span_list *given = match_on(&r->match, AXIS_FROM);
    const span_list from = given ? *given : spans_tidy(a, &all, 1, &w->failed);
    if (which == SENDERS_ALL)
        return from;
    const span_list without = spans_tidy(a, bare, w->n_zones > w->n_with_mac ? 2 : 1, &w->failed);
    const span_list with = spans_others(a, without, max, &w->failed);
    return spans_common(a, from, which == SENDERS_WITH_MAC ? with : without, &w->failed);
}

static bool put_interfaces(struct nft_writer *w, struct buf *line, const struct rule *r, const struct rule_part *part)
{
    const span_list *to = match_on(&r->match, AXIS_TO);
    const bool split = part->senders != SENDERS_ALL;
    if (part->hook != NFT_OUTPUT && (split || match_on(&r->match, AXIS_FROM)) &&
        !put_interface(w, line, "iifname", AXIS_FROM, senders_of(w, r, part->senders), part->hook))
        return false;
    return part->hook == NFT_INPUT || !to || put_interface(w, line, "oifname", AXIS_TO, *to, part->hook);
}

static void put_addresses(struct nft_writer *w, struct buf *line, const struct rule *r, enum family family)
{
    const char *ip = family == FAMILY_IPV4 ? "ip" : "ip6";
    const span_list *source = term_on(r, AXIS_SOURCE, family), *destination = term_on(r, AXIS_DESTINATION, family);
    if (source) {
        buf_printf(line, "%s saddr ", ip);
        nft_put_values(w, line, AXIS_SOURCE, family, *source);
        buf_char(line, ' ');
    }
    if (destination) {
        buf_printf(line, "%s daddr ", ip);
        nft_put_values(w, line, AXIS_DESTINATION, family, *destination);
        buf_char(line, ' ');
    }
}

static bool is_internet(const struct rule *r, uint32_t axis)
{
    const span_list *in = match_on(&r->match, axis);
    return in && in->n == 1 && in->v[0].lo == ZONE_INTERNET && in->v[0].hi == ZONE_INTERNET;
}

/* Which end of the packet is in the internet is what its zones say. */
static void put_named(struct nft_writer *w, struct buf *line, const struct rule *r, enum family family)
{
    const char *ip = family == FAMILY_IPV4 ? "ip" : "ip6";
    const char *field = is_internet(r, AXIS_FROM) ? "saddr" : "daddr";
    for (uint32_t i = 0; i < r->match.terms.n; i++) {
        const struct term *t = &r->match.terms.v[i];
        if (t->axis < AXIS_NAMED || is_full(t->in, 1))
            continue;
        const struct str set = nft_set_name(w->run->arena, w->table, t->axis - AXIS_NAMED, family);
        buf_printf(line, "%s %s %s@%.*s ", ip, field, spans_hold(t->in, 1) ? "" : "!= ", STR_ARG(set));
    }
}

static bool has_named(const struct rule *r)
{
    const uint32_t n = r->match.terms.n;
    return n > 0 && r->match.terms.v[n - 1].axis >= AXIS_NAMED;
}

/* Names that nft and everybody know; else the number. */
static void put_protocol(struct nft_writer *w, struct buf *line, span_list in)
{
    static const struct {
        unsigned number;
        const char *name;
    } KNOWN[] = { { 1, "icmp" }, { 6, "tcp" }, { 17, "udp" }, { 50, "esp" }, { 51, "ah" }, { 58, "ipv6-icmp" } };
    struct buf names = { .arena = w->run->arena };
    uint32_t n = 0;
    for (uint32_t k = 0; k < RT_COUNT(KNOWN); k++)
        if (spans_hold(in, KNOWN[k].number))
            buf_printf(&names, "%s%s", n++ ? ", " : "", KNOWN[k].name);
    axis_value size = 0;
    for (uint32_t i = 0; i < in.n; i++)
        size += in.v[i].hi - in.v[i].lo + 1;
    buf_text(line, "meta l4proto ");
    if (size != n)
        nft_put_values(w, line, AXIS_PROTOCOL, FAMILY_IPV4, in);
    else
        buf_printf(line, n == 1 ? "%.*s" : "{ %.*s }", STR_ARG(buf_done(&names)));
    w->failed |= names.failed;
    buf_char(line, ' ');
}

/* "tcp", "udp": the protocol is that one alone; "th": ports of both. */
static const char *port_keyword(const span_list *protocol)
{
    const bool one = protocol->n == 1 && protocol->v[0].lo == protocol->v[0].hi;
    return one && protocol->v[0].lo == IP_TCP ? "tcp" : one && protocol->v[0].lo == IP_UDP ? "udp" : "th";
}

static void put_transport(struct nft_writer *w, struct buf *line, const struct rule *r, enum family family)
{
    const span_list *protocol = term_on(r, AXIS_PROTOCOL, family), *type = term_on(r, AXIS_ICMP_TYPE, family);
    const span_list *source = term_on(r, AXIS_SOURCE_PORT, family), *to = term_on(r, AXIS_DESTINATION_PORT, family);
    if (type) {
        buf_text(line, family == FAMILY_IPV4 ? "icmp type " : "icmpv6 type ");
        nft_put_values(w, line, AXIS_ICMP_TYPE, family, *type);
        buf_char(line, ' ');
        return;
    }
    const char *ports = (source || to) ? port_keyword(protocol) : NULL;
    if (protocol && (!ports || str_is(str_from(ports), "th")))
        put_protocol(w, line, *protocol);
    if (source) {
        buf_printf(line, "%s sport ", ports);
        nft_put_values(w, line, AXIS_SOURCE_PORT, family, *source);
        buf_char(line, ' ');
    }
    if (to) {
        buf_printf(line, "%s dport ", ports);
        nft_put_values(w, line, AXIS_DESTINATION_PORT, family, *to);
        buf_char(line, ' ');
    }
}

static void put_states(struct buf *line, unsigned states)
{
    static const char *const NAMES[STATE_COUNT] = { "new",     "established", "established",
                                                    "related", "invalid",     "untracked" };
    const unsigned running = 1 << STATE_ESTABLISHED | 1 << STATE_REPLY;
    if (states == EVERY_STATE)
        return;
    const char *comma = "ct state ";
    for (unsigned s = 0; s < STATE_COUNT; s++) {
        if (!(states & 1u << s) || (s == STATE_REPLY && (states & running) == running))
            continue;
        buf_printf(line, "%s%s", comma, NAMES[s]);
        comma = ",";
    }
    if ((states & running) == 1 << STATE_ESTABLISHED)
        buf_text(line, " ct direction original");
    if ((states & running) == 1 << STATE_REPLY)
        buf_text(line, " ct direction reply");
    buf_char(line, ' ');
}

static void put_mac(struct nft_writer *w, struct buf *line, const struct rule *r, enum senders senders)
{
    const span_list *mac = term_on(r, AXIS_SOURCE_MAC, FAMILY_IPV4);
    if (!mac || senders == SENDERS_WITHOUT_MAC)
        return;
    buf_text(line, "ether saddr ");
    nft_put_values(w, line, AXIS_SOURCE_MAC, FAMILY_IPV4, *mac);
    buf_char(line, ' ');
}

/* ---- actions ---- */

static bool may_be(const struct rule *r, axis_value protocol, bool other)
{
    const span_list *in = match_on(&r->match, AXIS_PROTOCOL);
    if (!in)
        return true;
    const bool alone = in->n == 1 && in->v[0].lo == in->v[0].hi && in->v[0].lo == protocol;
    return other ? !alone : spans_hold(*in, protocol);
}

static void put_reject(struct nft_writer *w, struct buf *line, const struct rule *r)
{
    const bool tcp = may_be(r, IP_TCP, false), other = may_be(r, IP_TCP, true);
    if (tcp && other) {
        w->refuse = true;
        buf_text(line, "goto refuse_it");
    } else {
        buf_text(line, tcp ? "reject with tcp reset" : "reject with icmpx admin-prohibited");
    }
}

static void put_action(struct nft_writer *w, struct buf *line, const struct rule *r, enum nft_hook hook)
{
    switch (r->action) {
    case ACTION_ACCEPT:
        buf_text(line, "accept");
        break;
    case ACTION_DROP:
        buf_text(line, "drop");
        break;
    case ACTION_REJECT:
        put_reject(w, line, r);
        break;
    case ACTION_JUMP:
    case ACTION_GOTO:
        buf_text(line, r->action == ACTION_JUMP ? "jump " : "goto ");
        buf_str(line, nft_chain_in(w, r->chain, hook));
        break;
    case ACTION_RETURN:
        buf_text(line, "return");
        break;
    case ACTION_CONTINUE:
        buf_text(line, "counter");
        break;
    }
}

/* A line of its own, since a limit would be a condition of the verdict too.  Conversations let through are told of once, what
 * is refused at a rate that leaves room in the log. */
static void put_log(struct nft_writer *w, struct buf *line, const struct rule *r)
{
    const struct str source = nft_quotable(w->run->arena, nft_rule_source(w, r), 80);
    if (r->action != ACTION_ACCEPT)
        buf_text(line, "limit rate 10/minute burst 20 packets ");
    if (source.n)
        buf_printf(line, "log prefix \"%.*s: \"", STR_ARG(source));
    else
        buf_printf(line, "log prefix \"rule %u: \"", (unsigned)r->number);
}

/* ---- parts ---- */

static void put_line(struct nft_writer *w, struct buf *out, const struct rule *r, const struct rule_part *part,
                     bool is_log)
{
    struct buf line = { .arena = w->run->arena };
    const bool by_family = part->families != BOTH_FAMILIES;
    const enum family family = part->families == 1 << FAMILY_IPV6 ? FAMILY_IPV6 : FAMILY_IPV4;
    if (part->when.n) {
        buf_str(&line, part->when);
        buf_char(&line, ' ');
    }
    if (!put_interfaces(w, &line, r, part))
        return; /* no such interface in this hook */
    const bool says_family = term_on(r, AXIS_SOURCE, family) || term_on(r, AXIS_DESTINATION, family) || has_named(r) ||
                             term_on(r, AXIS_ICMP_TYPE, family);
    if (by_family && !says_family)
        buf_printf(&line, "meta nfproto %s ", family == FAMILY_IPV4 ? "ipv4" : "ipv6");
    if (part->hook != NFT_OUTPUT)
        put_mac(w, &line, r, part->senders);
    if (by_family)
        put_addresses(w, &line, r, family);
    put_named(w, &line, r, family);
    put_transport(w, &line, r, family);
    put_states(&line, part->states);
    const span_list *mark = term_on(r, AXIS_MARK, family);
    if (mark && !(part->states & NO_MEMORY)) {
        buf_text(&line, "ct mark ");
        nft_put_values(w, &line, AXIS_MARK, family, *mark);
        buf_char(&line, ' ');
    }
    if (is_log)
        put_log(w, &line, r);
    else
        put_action(w, &line, r, part->hook);
    buf_printf(&line, " comment \"%.*s\"", STR_ARG(nft_rule_comment(w, r)));
    w->failed |= line.failed;
    nft_put_line(out, 8, buf_done(&line));
}

/* The log's line, then the rule's own. */
static void put_part(struct nft_writer *w, struct buf *out, const struct rule *r, struct rule_part part)
{
    if (r->log && w->options->log) {
        struct rule_part told = part;
        if (r->action == ACTION_ACCEPT)
            told.states &= 1 << STATE_NEW;
        if (told.states)
            put_line(w, out, r, &told, true);
        if (r->action == ACTION_CONTINUE)
            return;
    }
    put_line(w, out, r, &part, false);
}

/* Packets of a sender without a MAC address have 0 on that axis. */
static void split_by_mac(struct nft_writer *w, struct buf *out, const struct rule *r, struct rule_part part)
{
    const span_list *mac = term_on(r, AXIS_SOURCE_MAC, FAMILY_IPV4);
    const bool holds_none = !mac || spans_hold(*mac, 0);
    if (part.hook == NFT_OUTPUT) {
        if (holds_none)
            put_part(w, out, r, part);
        return;
    }
    if (!mac || !holds_none || senders_of(w, r, SENDERS_WITHOUT_MAC).n == 0) {
        put_part(w, out, r, part);
        return;
    }
    part.senders = SENDERS_WITH_MAC;
    put_part(w, out, r, part);
    part.senders = SENDERS_WITHOUT_MAC;
    put_part(w, out, r, part);
}

/* Packets without a conversation have mark 0, which `ct mark` does not find. */
static void split_by_mark(struct nft_writer *w, struct buf *out, const struct rule *r, struct rule_part part)
{
    const span_list *mark = term_on(r, AXIS_MARK, FAMILY_IPV4);
    const unsigned states = part.states;
    if (mark)
        part.states = states & ~(unsigned)NO_MEMORY;
    if (part.states)
        split_by_mac(w, out, r, part);
    part.states = states & NO_MEMORY;
    if (mark && part.states && spans_hold(*mark, 0))
        split_by_mac(w, out, r, part);
}

/* `ct direction` would cut related packets of the other direction, and those without a conversation. */
static void split_by_state(struct nft_writer *w, struct buf *out, const struct rule *r, struct rule_part part)
{
    const unsigned states = part.states, asked = 1 << STATE_ESTABLISHED, answer = 1 << STATE_REPLY;
    const bool whole = !(states & asked) == !(states & answer);
    /* what is new goes in its own direction */
    const unsigned together = states & asked ? asked | 1 << STATE_NEW : answer;
    if (!whole && (states & ~together)) {
        part.states = states & ~together;
        split_by_mark(w, out, r, part);
        part.states = states & together;
    }
    split_by_mark(w, out, r, part);
}

static bool is_about(const struct rule *r, enum family family, axis_value a, axis_value b)
{
    const span_list *in = term_on(r, AXIS_PROTOCOL, family);
    if (!in)
        return false;
    for (uint32_t i = 0; i < in->n; i++)
        for (axis_value v = in->v[i].lo; v <= in->v[i].hi; v++)
            if (v != a && v != b)
                return false;
    return true;
}

static enum rt_code check_rule(struct nft_writer *w, const struct rule *r)
{
    if (has_named(r) && !is_internet(r, AXIS_FROM) && !is_internet(r, AXIS_TO))
        return rt_fail(w->p, RT_RANGE, r->at, NULL,
                       "rule %u speaks of a name, but not of packets to or from the internet alone",
                       (unsigned)r->number);
    if (term_on(r, AXIS_MINUTE, FAMILY_IPV4))
        return rt_fail(w->p, RT_RANGE, r->at, NULL,
                       "rule %u speaks of minutes of the week; a ruleset is written from hours of the house",
                       (unsigned)r->number);
    const bool ports =
        term_on(r, AXIS_SOURCE_PORT, FAMILY_IPV4) != NULL || term_on(r, AXIS_DESTINATION_PORT, FAMILY_IPV4) != NULL;
    if (ports && !is_about(r, FAMILY_IPV4, IP_TCP, IP_UDP))
        return rt_fail(w->p, RT_RANGE, r->at, NULL, "rule %u speaks of ports, but not of TCP or UDP alone",
                       (unsigned)r->number);
    if (term_on(r, AXIS_ICMP_TYPE, FAMILY_IPV4) && !is_about(r, FAMILY_IPV4, IP_ICMP, IP_ICMPV6))
        return rt_fail(w->p, RT_RANGE, r->at, NULL, "rule %u speaks of ICMP types, but not of ICMP alone",
                       (unsigned)r->number);
    return RT_OK;
}

/* Does the rule mean something else in each family? */
static bool differs_by_family(const struct rule *r)
{
    return match_on(&r->match, AXIS_SOURCE) || match_on(&r->match, AXIS_DESTINATION) || has_named(r) ||
           term_on(r, AXIS_ICMP_TYPE, FAMILY_IPV4);
}

static bool fits_family(const struct rule *r, enum family family)
{
    const span_list *protocol = match_on(&r->match, AXIS_PROTOCOL);
    const span_list *source = match_on(&r->match, AXIS_SOURCE), *destination = match_on(&r->match, AXIS_DESTINATION);
    const axis_value max = axis_max(AXIS_SOURCE, family);
    if ((source && source->v[0].lo > max) || (destination && destination->v[0].lo > max))
        return false;
    return !term_on(r, AXIS_ICMP_TYPE, family) || spans_hold(*protocol, family == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6);
}

enum rt_code nft_put_rule(struct nft_writer *w, struct buf *out, const struct rule *r, enum nft_hook hook,
                          struct str when)
{
    RT_TRY(check_rule(w, r));
    const span_list *states = match_on(&r->match, AXIS_STATE);
    struct rule_part part = { .families = r->families & BOTH_FAMILIES, .hook = hook, .when = when };
    for (unsigned s = 0; s < STATE_COUNT; s++)
        part.states |= !states || spans_hold(*states, s) ? 1u << s : 0;
    if (part.families == BOTH_FAMILIES && !differs_by_family(r)) {
        split_by_state(w, out, r, part);
        return RT_OK;
    }
    for (unsigned f = 0; f < FAMILY_COUNT; f++)
        if (r->families & 1u << f && fits_family(r, (enum family)f)) {
            part.families = 1u << f;
            split_by_state(w, out, r, part);
        }
    return RT_OK;
}
