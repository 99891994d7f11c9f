/* The policy as access lists: RFC 8519 (ietf-access-control-list 2019-03-04) with the interfaces of RFC 8343, as JSON (RFC 7951).
 *
 * One list for what comes in from each zone, by family, in the order of the policy's rules; chains are written out where
 * they are called.  The model has no zones (egress interfaces and the gateway's addresses stand for them), no memory of
 * conversations, no hours, no names: what it cannot say is told in not_said.txt, rule by rule. */
#include <string.h>

#include "base/json.h"
#include "reach/export.h"

/* More entries than this for one rule are not written: not_said.txt has it. */
enum { ENTRIES_MAX = 600 };

/* A part of an axis that one entry can name: base and how many leading bits count, or lo to hi for ports. */
struct piece {
    axis_value lo, hi;
    unsigned len;
};
typedef VEC(struct piece) piece_vec;

struct acl_writer {
    const struct export_house *x;
    struct arena *a;
    struct json *json;
    struct buf said; /* not_said.txt */
    uint32_t zone;
    enum family family;
    bool failed;
    bool *told; /* rules of which not_said.txt has spoken */
};

/* ---- pieces ---- */

static void push(struct acl_writer *w, piece_vec *v, struct piece p)
{
    if (!VEC_PUSH(w->a, v, p))
        w->failed = true;
}

/* A span as the fewest blocks that share leading bits, of an axis of `bits` bits. */
static void push_blocks(struct acl_writer *w, piece_vec *v, struct span s, unsigned bits)
{
    for (axis_value lo = s.lo;;) {
        unsigned size = 0; /* bits that are free */
        while (size < bits && !(lo >> size & 1) && lo + (((axis_value)1 << size) - 1) * 2 + 1 <= s.hi)
            size++;
        const axis_value last = lo + (size >= 128 ? ~(axis_value)0 : ((axis_value)1 << size) - 1);
        push(w, v, (struct piece){ lo, last, bits - size });
        if (last >= s.hi || v->n > ENTRIES_MAX)
            return;
        lo = last + 1;
    }
}

/* bits 0: spans as they are.  No term: no pieces. */
static piece_vec pieces_of(struct acl_writer *w, const struct match *m, uint32_t axis, unsigned bits)
{
    piece_vec v = { 0 };
    const span_list *in = match_on(m, axis);
    for (uint32_t i = 0; in && i < in->n; i++) {
        if (bits)
            push_blocks(w, &v, in->v[i], bits);
        else
            push(w, &v, (struct piece){ in->v[i].lo, in->v[i].hi, 0 });
    }
    return v;
}

/* ---- what cannot be said ---- */

static void not_said(struct acl_writer *w, const struct rule *r, const char *why)
{
    if (w->told[r->number])
        return;
    w->told[r->number] = true;
    buf_printf(&w->said, "rule %u", r->number);
    if (r->at.line)
        buf_printf(&w->said, ", line %u", r->at.line);
    buf_printf(&w->said, ": %.*s\n    %s\n", STR_ARG(r->says), why);
}

/* NULL: it can be said. */
static const char *why_not(const struct rule *r, const struct match *m)
{
    const bool refuses = r->action == ACTION_DROP || r->action == ACTION_REJECT;
    const span_list *states = match_on(m, AXIS_STATE);
    if (r->hours.i != NO_REF || match_on(m, AXIS_MINUTE))
        return refuses ? "LEFT OUT: the model has no hours. What this rule refuses at its hours is not refused by "
                         "these lists at all."
                       : "left out: the model has no hours. What this rule allows at its hours is refused by these "
                         "lists at all hours.";
    if (states && !spans_hold(*states, STATE_NEW))
        return "left out: the model has no memory of conversations. It speaks of packets of conversations that run.";
    for (uint32_t i = 0; i < m->terms.n; i++)
        if (m->terms.v[i].axis >= AXIS_NAMED)
            return refuses ? "LEFT OUT: the model has no names. What this rule refuses is not refused by these lists."
                           : "left out: the model has no names. What this rule allows is refused by these lists.";
    if (match_on(m, AXIS_MARK))
        return "left out: the model has no marks of conversations.";
    if (r->action == ACTION_RETURN || r->action == ACTION_GOTO)
        return "left out: the model has no chains.";
    return NULL;
}

/* ---- one entry ---- */

struct entry {
    const struct rule *rule;
    const struct piece *mac, *source, *destination, *source_port, *destination_port, *icmp;
    unsigned protocol; /* 0: any */
    uint32_t to;       /* zone; NO_REF: any */
};

static void text(struct acl_writer *w, const char *key, const struct buf *value)
{
    w->failed |= value->failed;
    json_str(w->json, key, buf_done(value));
}

static void put_network(struct acl_writer *w, const char *side, const struct piece *p)
{
    struct buf key = { .arena = w->a }, value = { .arena = w->a };
    if (!p)
        return;
    buf_printf(&key, "%s-%s-network", side, w->family == FAMILY_IPV4 ? "ipv4" : "ipv6");
    prefix_write(&value, (struct prefix){ w->family, p->lo, p->len, true });
    w->failed |= key.failed;
    text(w, key.failed ? "" : key.p, &value);
}

static void put_ports(struct acl_writer *w, const char *key, const struct piece *p)
{
    if (!p)
        return;
    json_begin_object(w->json, key);
    if (p->lo == p->hi) {
        json_text(w->json, "operator", "eq");
        json_int(w->json, "port", (int64_t)p->lo);
    } else {
        json_int(w->json, "lower-port", (int64_t)p->lo);
        json_int(w->json, "upper-port", (int64_t)p->hi);
    }
    json_end_object(w->json);
}

static void put_layer4(struct acl_writer *w, const struct entry *e)
{
    if (e->icmp) {
        json_begin_object(w->json, "icmp");
        json_int(w->json, "type", (int64_t)e->icmp->lo);
        json_end_object(w->json);
    } else if (e->source_port || e->destination_port) {
        json_begin_object(w->json, e->protocol == IP_TCP ? "tcp" : "udp");
        put_ports(w, "source-port", e->source_port);
        put_ports(w, "destination-port", e->destination_port);
        json_end_object(w->json);
    }
}

static void put_matches(struct acl_writer *w, const struct entry *e)
{
    struct buf mac = { .arena = w->a }, mask = { .arena = w->a };
    json_begin_object(w->json, "matches");
    if (e->mac) {
        json_begin_object(w->json, "eth");
        mac_write(&mac, e->mac->lo);
        text(w, "source-mac-address", &mac);
        if (e->mac->len < 48) {
            mac_write(&mask, axis_max(AXIS_SOURCE_MAC, w->family) >> (48 - e->mac->len) << (48 - e->mac->len));
            text(w, "source-mac-address-mask", &mask);
        }
        json_end_object(w->json);
    }
    json_begin_object(w->json, w->family == FAMILY_IPV4 ? "ipv4" : "ipv6");
    if (e->protocol)
        json_int(w->json, "protocol", e->protocol);
    put_network(w, "destination", e->destination);
    put_network(w, "source", e->source);
    json_end_object(w->json);
    put_layer4(w, e);
    if (e->to != NO_REF)
        json_str(w->json, "egress-interface", zone_interface(w->x->plan, e->to));
    json_end_object(w->json);
}

static void put_entry(struct acl_writer *w, const struct entry *e, uint32_t nth)
{
    struct buf name = { .arena = w->a };
    buf_printf(&name, "rule-%u-%u", e->rule->number, nth);
    json_begin_object(w->json, NULL);
    text(w, "name", &name);
    put_matches(w, e);
    json_begin_object(w->json, "actions");
    json_text(w->json, "forwarding",
              e->rule->action == ACTION_ACCEPT ? "accept"
              : e->rule->action == ACTION_DROP ? "drop"
                                               : "reject");
    if (e->rule->log)
        json_text(w->json, "logging", "log-syslog");
    json_end_object(w->json);
    json_end_object(w->json);
}

/* ---- one rule ---- */

/* Everything an entry can name, each side either a list or nothing (any). */
struct sides {
    piece_vec macs, sources, destinations, source_ports, destination_ports, icmp, protocols, to;
};

/* The gateway's own addresses, which stand for the zone that it is. */
static piece_vec gateway_addresses(struct acl_writer *w)
{
    const struct address_plan *plan = w->x->plan;
    const unsigned bits = w->family == FAMILY_IPV4 ? 32 : 128;
    piece_vec v = { 0 };
    for (uint32_t s = 0; s < w->x->h->segments.n; s++) {
        const struct segment_plan *p = &plan->segments[s];
        const axis_value six[] = { p->ula_gateway, p->global_gateway };
        const axis_value *all = w->family == FAMILY_IPV4 ? &p->ipv4_gateway : six;
        for (int i = 0; i < (w->family == FAMILY_IPV4 ? 1 : 2); i++)
            if (all[i])
                push(w, &v, (struct piece){ all[i], all[i], bits });
    }
    for (uint32_t t = 0; t < w->x->h->remote_access.n; t++) {
        const axis_value at = w->family == FAMILY_IPV4 ? plan->tunnels[t].ipv4_gateway : plan->tunnels[t].ula_gateway;
        if (at)
            push(w, &v, (struct piece){ at, at, bits });
    }
    return v;
}

/* Zones a packet may go out to; none: the rule does not mind which. */
static void zones_to(struct acl_writer *w, const struct rule *r, const struct match *m, struct sides *s)
{
    const span_list *to = match_on(m, AXIS_TO);
    uint32_t n = 0;
    for (uint32_t z = 0; to && z < w->x->plan->n_zones; z++)
        n += z != ZONE_GATEWAY && spans_hold(*to, z);
    if (!to || n == w->x->plan->n_zones - 1)
        return;
    if (n == 0 && s->destinations.n == 0) { /* to the gateway alone */
        if (w->zone != ZONE_INTERNET)
            s->destinations = gateway_addresses(w);
        else
            not_said(w, r, "said wider: the gateway's address at the line is not known, so any destination fits.");
    }
    for (uint32_t z = 0; z < w->x->plan->n_zones; z++)
        if (z != ZONE_GATEWAY && spans_hold(*to, z))
            push(w, &s->to, (struct piece){ z, z, 0 });
}

static bool fill_sides(struct acl_writer *w, const struct rule *r, const struct match *m, struct sides *s)
{
    const unsigned bits = w->family == FAMILY_IPV4 ? 32 : 128;
    s->macs = pieces_of(w, m, AXIS_SOURCE_MAC, 48);
    s->sources = pieces_of(w, m, AXIS_SOURCE, bits);
    s->destinations = pieces_of(w, m, AXIS_DESTINATION, bits);
    s->source_ports = pieces_of(w, m, AXIS_SOURCE_PORT, 0);
    s->destination_ports = pieces_of(w, m, AXIS_DESTINATION_PORT, 0);
    const span_list *protocols = match_on(m, AXIS_PROTOCOL), *types = match_on(m, AXIS_ICMP_TYPE);
    for (uint32_t i = 0; protocols && i < protocols->n; i++)
        for (axis_value v = protocols->v[i].lo; v <= protocols->v[i].hi && s->protocols.n <= ENTRIES_MAX; v++)
            push(w, &s->protocols, (struct piece){ v, v, 0 });
    for (uint32_t i = 0; types && i < types->n && w->family == FAMILY_IPV4; i++)
        for (axis_value v = types->v[i].lo; v <= types->v[i].hi && s->icmp.n <= ENTRIES_MAX; v++)
            push(w, &s->icmp, (struct piece){ v, v, 0 });
    if (types && w->family == FAMILY_IPV6) { /* the model knows the types of ICMP only */
        if (r->action != ACTION_ACCEPT) {
            not_said(w, r, "LEFT OUT: the model has no types of ICMPv6.");
            return false;
        }
        not_said(w, r, "said wider: the model has no types of ICMPv6, so all of it is let through here.");
    }
    zones_to(w, r, m, s);
    return true;
}

#define EACH(i, list) (uint32_t i = 0; i < ((list).n ? (list).n : 1); i++)
#define PIECE(list, i) ((list).n ? &(list).v[i] : NULL)

static void put_product(struct acl_writer *w, const struct rule *r, const struct sides *s)
{
    uint32_t nth = 1;
    struct entry e = { .rule = r };
    for
        EACH(t, s->to)
        for
            EACH(p, s->protocols)
            for
                EACH(m, s->macs)
                for
                    EACH(f, s->sources)
                    for
                        EACH(d, s->destinations)
                        for
                            EACH(sp, s->source_ports)
                            for
                                EACH(dp, s->destination_ports)
                                for
                                    EACH(ic, s->icmp)
                                    {
                                        e.to = s->to.n ? (uint32_t)s->to.v[t].lo : NO_REF;
                                        e.protocol = s->protocols.n ? (unsigned)s->protocols.v[p].lo : 0;
                                        e.mac = PIECE(s->macs, m);
                                        e.source = PIECE(s->sources, f);
                                        e.destination = PIECE(s->destinations, d);
                                        e.source_port = PIECE(s->source_ports, sp);
                                        e.destination_port = PIECE(s->destination_ports, dp);
                                        e.icmp = PIECE(s->icmp, ic);
                                        put_entry(w, &e, nth++);
                                    }
}

static double n_entries(const struct sides *s)
{
    const uint32_t n[] = { s->to.n,           s->protocols.n,         s->macs.n, s->sources.n, s->destinations.n,
                           s->source_ports.n, s->destination_ports.n, s->icmp.n };
    double all = 1;
    for (size_t i = 0; i < RT_COUNT(n); i++)
        all *= n[i] ? n[i] : 1;
    return all;
}

static void put_rule(struct acl_writer *w, const struct rule *r, const struct match *m)
{
    struct sides s = { 0 };
    const char *why = why_not(r, m);
    if (why) {
        not_said(w, r, why);
        return;
    }
    if (!fill_sides(w, r, m, &s))
        return;
    if (n_entries(&s) > ENTRIES_MAX)
        not_said(w, r,
                 r->action == ACTION_ACCEPT
                     ? "left out: it would take too many entries. What it allows is refused."
                     : "LEFT OUT: it would take too many entries. What it refuses is not refused here.");
    else
        put_product(w, r, &s);
}

/* ---- the rules of a list, chains written out ---- */

static struct match both(struct acl_writer *w, const struct match *outer, const struct match *inner)
{
    struct match m = { 0 };
    for (uint32_t i = 0; i < outer->terms.n; i++)
        match_narrow(w->a, &m, outer->terms.v[i].axis, outer->terms.v[i].in, &w->failed);
    for (uint32_t i = 0; i < inner->terms.n; i++)
        match_narrow(w->a, &m, inner->terms.v[i].axis, inner->terms.v[i].in, &w->failed);
    return m;
}

static bool is_empty(const struct match *m)
{
    for (uint32_t i = 0; i < m->terms.n; i++)
        if (!m->terms.v[i].in.n)
            return true;
    return false;
}

/* What is not for the gateway's services is refused there, before the rules that do not mind where a packet goes. */
static void close_gateway(struct acl_writer *w, const struct rule *jump)
{
    struct sides s = { .destinations = gateway_addresses(w) };
    struct rule r = *jump;
    r.action = ACTION_REJECT;
    if (w->zone != ZONE_INTERNET && s.destinations.n)
        put_product(w, &r, &s);
}

static bool is_to_gateway_alone(const struct match *m)
{
    const span_list *to = match_on(m, AXIS_TO);
    return to && to->n == 1 && to->v[0].lo == ZONE_GATEWAY && to->v[0].hi == ZONE_GATEWAY;
}

/* The one axis, but for where a packet comes from, that a rule speaks of; NO_REF: another number of them. */
static uint32_t only_axis(const struct match *m)
{
    uint32_t axis = NO_REF, n = 0;
    for (uint32_t i = 0; i < m->terms.n; i++)
        if (m->terms.v[i].axis != AXIS_FROM) {
            axis = m->terms.v[i].axis;
            n++;
        }
    return n == 1 ? axis : NO_REF;
}

/* A refusal of all addresses but some few takes many entries.  Later entries that accept then say the few instead, and the list's
 * last entry refuses the rest.  False: it is better said as it stands. */
static bool narrow_instead(struct acl_writer *w, const struct rule *r, struct match *allowed)
{
    const uint32_t axis = only_axis(&r->match);
    const unsigned bits = axis == AXIS_SOURCE_MAC ? 48 : w->family == FAMILY_IPV4 ? 32 : 128;
    if ((r->action != ACTION_DROP && r->action != ACTION_REJECT) || r->hours.i != NO_REF ||
        (axis != AXIS_SOURCE_MAC && axis != AXIS_SOURCE && axis != AXIS_DESTINATION))
        return false;
    struct match rest = { 0 };
    match_narrow(w->a, &rest, axis,
                 spans_others(w->a, *match_on(&r->match, axis), axis_max(axis, w->family), &w->failed), &w->failed);
    if (w->failed || is_empty(&rest) || pieces_of(w, &rest, axis, bits).n * 2 > pieces_of(w, &r->match, axis, bits).n)
        return false;
    *allowed = both(w, allowed, &rest);
    return true;
}

static bool is_past_gateway(const struct rule *r)
{
    const span_list *to = match_on(&r->match, AXIS_TO);
    return r->action == ACTION_JUMP && to && !spans_hold(*to, ZONE_GATEWAY);
}

/* The rules of a chain in the order in which they are written down.  An entry cannot say `not to the gateway`, so a jump for what
 * goes past the gateway waits until the gateway is closed; the two have no packet in common. */
static const struct rule **written_order(struct acl_writer *w, const struct chain *c)
{
    const struct rule **order = ARENA_ARRAY(w->a, const struct rule *, c->rules.n);
    uint32_t n = 0, gateway = 0;
    if (!order) {
        w->failed = true;
        return NULL;
    }
    while (gateway < c->rules.n &&
           !(c->rules.v[gateway].action == ACTION_JUMP && is_to_gateway_alone(&c->rules.v[gateway].match)))
        gateway++;
    const uint32_t end = gateway < c->rules.n ? gateway + 1 : 0; /* behind it, in the order that there is */
    for (uint32_t i = 0; i < end; i++)
        if (!is_past_gateway(&c->rules.v[i]))
            order[n++] = &c->rules.v[i];
    for (uint32_t i = 0; i < end; i++)
        if (is_past_gateway(&c->rules.v[i]))
            order[n++] = &c->rules.v[i];
    for (uint32_t i = end; i < c->rules.n; i++)
        order[n++] = &c->rules.v[i];
    return order;
}

/* outer: what the jumps that led here ask of a packet; allowed: what narrow_instead() asks of those that are accepted. */
static void put_chain(struct acl_writer *w, uint32_t chain, const struct match *outer, struct match allowed,
                      unsigned depth)
{
    enum { DEEPEST = 16 };
    const struct chain *c = &w->x->policy->table.chains.v[chain];
    const struct rule **order = written_order(w, c);
    for (uint32_t i = 0; i < c->rules.n && !w->failed && depth < DEEPEST; i++) {
        const struct rule *r = order[i];
        const span_list *from = match_on(&r->match, AXIS_FROM);
        struct match m;
        if (!(r->families >> w->family & 1) || (from && !spans_hold(*from, w->zone)) || narrow_instead(w, r, &allowed))
            continue;
        m = both(w, outer, &r->match);
        if (r->action == ACTION_ACCEPT)
            m = both(w, &m, &allowed);
        if (is_empty(&m))
            continue;
        if (r->action == ACTION_JUMP && r->hours.i == NO_REF) {
            put_chain(w, r->chain, &m, allowed, depth + 1);
            if (is_to_gateway_alone(&r->match) && depth == 0)
                close_gateway(w, r);
        } else if (r->action != ACTION_CONTINUE) {
            put_rule(w, r, &m);
        }
    }
}

static struct str list_name(struct acl_writer *w, uint32_t zone, enum family family)
{
    struct buf name = { .arena = w->a };
    buf_printf(&name, "from-%.*s-%s", STR_ARG(zone_id(w->x->plan, zone)), family == FAMILY_IPV4 ? "ipv4" : "ipv6");
    w->failed |= name.failed;
    struct str s = buf_done(&name);
    if (s.n > 64) /* the model's limit; an id is at most 63 */
        s.n = 64;
    return s;
}

static void put_list(struct acl_writer *w)
{
    const struct match all = { 0 };
    const struct table *t = &w->x->policy->table;
    json_begin_object(w->json, NULL);
    json_str(w->json, "name", list_name(w, w->zone, w->family));
    json_text(w->json, "type", w->family == FAMILY_IPV4 ? "mixed-eth-ipv4-acl-type" : "mixed-eth-ipv6-acl-type");
    json_begin_object(w->json, "aces");
    json_begin_array(w->json, "ace");
    put_chain(w, t->start, &all, all, 0);
    const struct rule last = { .action = w->zone == ZONE_INTERNET ? ACTION_DROP : ACTION_REJECT };
    const struct entry e = { .rule = &last, .to = NO_REF };
    put_entry(w, &e, 0); /* rule-0-0: what no rule allows */
    json_end_array(w->json);
    json_end_object(w->json);
    json_end_object(w->json);
}

/* ---- the whole ---- */

static void put_interfaces(struct acl_writer *w)
{
    json_begin_object(w->json, "ietf-interfaces:interfaces");
    json_begin_array(w->json, "interface");
    for (uint32_t z = 0; z < w->x->plan->n_zones; z++) {
        if (z == ZONE_GATEWAY)
            continue;
        const bool is_tunnel = z >= ZONE_SEGMENT + w->x->h->segments.n;
        json_begin_object(w->json, NULL);
        json_str(w->json, "name", zone_interface(w->x->plan, z));
        json_str(w->json, "description", zone_words(w->x->plan, z));
        json_text(w->json, "type",
                  z == ZONE_INTERNET ? "iana-if-type:ethernetCsmacd"
                  : is_tunnel        ? "iana-if-type:tunnel"
                                     : "iana-if-type:l2vlan");
        json_end_object(w->json);
    }
    json_end_array(w->json);
    json_end_object(w->json);
}

static void put_attachments(struct acl_writer *w)
{
    json_begin_object(w->json, "attachment-points");
    json_begin_array(w->json, "interface");
    for (uint32_t z = 0; z < w->x->plan->n_zones; z++) {
        if (z == ZONE_GATEWAY)
            continue;
        json_begin_object(w->json, NULL);
        json_str(w->json, "interface-id", zone_interface(w->x->plan, z));
        json_begin_object(w->json, "ingress");
        json_begin_object(w->json, "acl-sets");
        json_begin_array(w->json, "acl-set");
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            json_begin_object(w->json, NULL);
            json_str(w->json, "name", list_name(w, z, f));
            json_end_object(w->json);
        }
        json_end_array(w->json);
        json_end_object(w->json);
        json_end_object(w->json);
        json_end_object(w->json);
    }
    json_end_array(w->json);
    json_end_object(w->json);
}

static const char SAID_HEAD[] = "What the model of RFC 8519 cannot say of this house's rules\n\n"
                                "The lists of acl.json say who may START a conversation. They are for a device that "
                                "keeps a memory of conversations and lets\n"
                                "answers through by itself; a device without one refuses all answers. They hold at all "
                                "hours, know devices by MAC address, and\n"
                                "know no names. A packet with a forged sender is refused, not dropped in silence. Port "
                                "openings are translated before the lists see a packet; the "
                                "translation itself is not in them.\n"
                                "Lines in capitals: these lists let through what the house refuses.\n\n";

enum rt_code export_acl(const struct export_house *x, struct export_folder *out, struct rt_problems *p)
{
    struct buf b = export_begin(out);
    struct json json = { .out = &b };
    struct acl_writer w = { .x = x, .a = out->arena, .json = &json, .said = export_begin(out) };
    w.told = ARENA_ARRAY(out->arena, bool, (size_t)x->policy->table.n_rules + 1);
    if (!w.told)
        return rt_fail_memory(p);
    buf_text(&w.said, SAID_HEAD);
    json_begin_object(&json, NULL);
    put_interfaces(&w);
    json_begin_object(&json, "ietf-access-control-list:acls");
    json_begin_array(&json, "acl");
    for (uint32_t z = 0; z < x->plan->n_zones; z++)
        for (enum family f = 0; z != ZONE_GATEWAY && f < FAMILY_COUNT; f++) {
            w.zone = z;
            w.family = f;
            put_list(&w);
        }
    json_end_array(&json);
    put_attachments(&w);
    json_end_object(&json);
    json_end_object(&json);
    json_end(&json);
    export_end(out, &b, 0644, "acl.json");
    export_end(out, &w.said, 0644, "not_said.txt");
    return w.failed || out->failed ? rt_fail_memory(p) : RT_OK;
}
