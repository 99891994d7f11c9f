/* Packets, rules and sets of packets in the words of the household. */
#include "reach/proof.h"

/* ---- services ---- */

static const char *protocol_words(struct arena *a, axis_value protocol)
{
    switch ((unsigned)protocol) {
    case IP_TCP:
        return "TCP";
    case IP_UDP:
        return "UDP";
    case IP_ICMP:
        return "ICMP";
    case IP_ICMPV6:
        return "ICMPv6";
    case IP_IGMP:
        return "IGMP";
    case IP_GRE:
        return "GRE";
    case IP_ESP:
        return "ESP";
    default: {
        const char *text = arena_printf(a, "protocol %u", (unsigned)protocol);
        return text ? text : "";
    }
    }
}

static bool has_ports(axis_value protocol) { return protocol == IP_TCP || protocol == IP_UDP; }
static bool has_types(axis_value protocol) { return protocol == IP_ICMP || protocol == IP_ICMPV6; }

/* The house's own service whose ports are exactly these; an empty text if there is none. */
static struct str own_service_of(const struct house *h, axis_value protocol, struct span ports)
{
    for (uint32_t i = 0; i < h->services.n; i++) {
        const struct own_service *s = &h->services.v[i];
        if (s->ports.n != 1 || !str_is(s->protocol, protocol == IP_TCP ? "tcp" : "udp"))
            continue;
        uint32_t lo = 0, hi = 0;
        bool second = false;
        for (size_t k = 0; k < s->ports.v[0].n; k++) {
            const char c = s->ports.v[0].p[k];
            if (c == '-')
                second = true;
            else if (second)
                hi = hi * 10 + (uint32_t)(c - '0');
            else
                lo = lo * 10 + (uint32_t)(c - '0');
        }
        if (lo == ports.lo && (second ? hi : lo) == ports.hi)
            return s->id;
    }
    return STR("");
}

/* The first service of the built-in table that is asked for at exactly these ports or types. */
static struct str service_of(const struct house *h, axis_value protocol, struct span ports)
{
    const struct str own = own_service_of(h, protocol, ports);
    if (own.n)
        return own;
    uint32_t n;
    const struct service_flow *flows = service_flows(&n);
    for (uint32_t i = 0; i < n; i++)
        if ((axis_value)flows[i].protocol == protocol && flows[i].from == ports.lo && flows[i].to == ports.hi)
            return str_from(flows[i].name);
    return STR("");
}

static struct str span_words(struct arena *a, const struct house *h, axis_value protocol, struct span s)
{
    const struct str name = service_of(h, protocol, s);
    if (name.n)
        return name;
    const char *what = protocol_words(a, protocol);
    const char *kind = has_types(protocol) ? " type" : "";
    const char *text = s.lo == s.hi ? arena_printf(a, "%s%s %u", what, kind, (unsigned)s.lo)
                                    : arena_printf(a, "%s%s %u-%u", what, kind, (unsigned)s.lo, (unsigned)s.hi);
    return str_from(text ? text : "");
}

struct str packet_service_words(struct arena *a, const struct house *h, const struct packet *p)
{
    const axis_value protocol = p->at[AXIS_PROTOCOL];
    if (!has_ports(protocol) && !has_types(protocol)) {
        const struct str name = service_of(h, protocol, (struct span){ 0, 0 });
        return name.n ? name : str_from(protocol_words(a, protocol));
    }
    const axis_value value = has_ports(protocol) ? p->at[AXIS_DESTINATION_PORT] : p->at[AXIS_ICMP_TYPE];
    const struct str name = service_of(h, protocol, (struct span){ value, value });
    if (!name.n)
        return span_words(a, h, protocol, (struct span){ value, value });
    if (!has_ports(protocol))
        return name;
    const char *text = arena_printf(a, "%s %u (%.*s)", protocol_words(a, protocol), (unsigned)value, STR_ARG(name));
    return str_from(text ? text : "");
}

typedef VEC(struct str) word_vec;

static void add_word(struct arena *a, word_vec *list, struct str word, bool *failed)
{
    for (uint32_t i = 0; i < list->n; i++)
        if (str_eq(list->v[i], word))
            return;
    if (!VEC_PUSH(a, list, word))
        *failed = true;
}

static void add_protocol_words(struct arena *a, struct space *s, const struct house *h, packet_set set,
                               axis_value protocol, word_vec *out, bool *failed)
{
    struct match m = { 0 };
    match_narrow_to(a, &m, AXIS_PROTOCOL, protocol, protocol, failed);
    const packet_set of_protocol = set_and(s, set, set_of(s, &m));
    const uint32_t axis = has_ports(protocol) ? AXIS_DESTINATION_PORT : AXIS_ICMP_TYPE;
    if (!has_ports(protocol) && !has_types(protocol)) {
        const struct str name = service_of(h, protocol, (struct span){ 0, 0 });
        add_word(a, out, name.n ? name : str_from(protocol_words(a, protocol)), failed);
        return;
    }
    const span_list values = set_values(s, of_protocol, axis, failed);
    if (values.n == 1 && values.v[0].lo == 0 && values.v[0].hi == axis_max(axis, space_family(s))) {
        const char *text = arena_printf(a, "all %s", protocol_words(a, protocol));
        add_word(a, out, str_from(text ? text : ""), failed);
        return;
    }
    for (uint32_t i = 0; i < values.n; i++)
        add_word(a, out, span_words(a, h, protocol, values.v[i]), failed);
}

str_list set_service_words(struct arena *a, struct space *s, const struct house *h, packet_set set, packet_set all,
                           bool *failed)
{
    word_vec out = { 0 };
    const uint64_t asks = 1u << AXIS_PROTOCOL | 1u << AXIS_DESTINATION_PORT | 1u << AXIS_ICMP_TYPE;
    const packet_set only = set_forget(s, set, ~asks);
    if (only == set_forget(s, all, ~asks)) {
        add_word(a, &out, STR("everything"), failed);
    } else {
        const span_list protocols = set_values(s, only, AXIS_PROTOCOL, failed);
        for (uint32_t i = 0; i < protocols.n; i++)
            for (axis_value p = protocols.v[i].lo; p <= protocols.v[i].hi; p++) {
                if (protocols.v[i].hi - p > 16) { /* a span of protocols that nobody chose one by one */
                    const char *text = arena_printf(a, "protocols %u-%u", (unsigned)p, (unsigned)protocols.v[i].hi);
                    add_word(a, &out, str_from(text ? text : ""), failed);
                    break;
                }
                add_protocol_words(a, s, h, only, p, &out, failed);
            }
    }
    return (str_list){ out.v, out.n };
}

/* ---- packets ---- */

static uint32_t device_of_mac(const struct address_plan *plan, axis_value mac)
{
    for (uint32_t i = 0; i < plan->h->devices.n; i++)
        if (plan->devices[i].zone != NO_REF && plan->devices[i].mac == mac)
            return i;
    return NO_REF;
}

static uint32_t device_at(const struct address_plan *plan, uint32_t zone, enum family family, axis_value address)
{
    for (uint32_t i = 0; i < plan->h->devices.n; i++) {
        const struct device_plan *d = &plan->devices[i];
        if (d->zone != zone || address == 0)
            continue;
        if (family == FAMILY_IPV4 ? d->ipv4 == address : d->ula == address || d->global == address)
            return i;
    }
    return NO_REF;
}

static void write_end(struct buf *out, const struct proof *proof, uint32_t zone, uint32_t device, enum family family,
                      axis_value address)
{
    const struct address_plan *plan = proof->policy->plan;
    if (device != NO_REF) {
        buf_str(out, plan->h->devices.v[device].id);
    } else if (zone == ZONE_GATEWAY) {
        buf_text(out, "the gateway");
    } else if (zone == ZONE_INTERNET) {
        address_write(out, family, address);
        buf_text(out, " on the internet");
    } else {
        buf_printf(out, "a device in %.*s (", STR_ARG(zone_id(plan, zone)));
        address_write(out, family, address);
        buf_char(out, ')');
    }
}

uint32_t proof_sender(const struct proof *proof, const struct proof_witness *w)
{
    const struct address_plan *plan = proof->policy->plan;
    const uint32_t from = (uint32_t)w->packet.at[AXIS_FROM];
    if (from < ZONE_SEGMENT)
        return NO_REF;
    const uint32_t by_mac = device_of_mac(plan, w->packet.at[AXIS_SOURCE_MAC]);
    if (by_mac != NO_REF && plan->devices[by_mac].zone == from)
        return by_mac;
    return device_at(plan, from, w->family, w->packet.at[AXIS_SOURCE]);
}

uint32_t proof_receiver(const struct proof *proof, const struct proof_witness *w)
{
    const uint32_t to = (uint32_t)w->packet.at[AXIS_TO];
    return to < ZONE_SEGMENT ? NO_REF : device_at(proof->policy->plan, to, w->family, w->packet.at[AXIS_DESTINATION]);
}

struct str proof_packet_words(const struct proof *proof, const struct proof_witness *w)
{
    const struct address_plan *plan = proof->policy->plan;
    const struct packet *p = &w->packet;
    const bool is_reply = p->at[AXIS_STATE] == STATE_REPLY;
    const uint32_t from = (uint32_t)p->at[AXIS_FROM], to = (uint32_t)p->at[AXIS_TO];
    struct buf out = { .arena = proof->run->arena };
    if (proof->has_hours && !proof->tells_no_time) {
        const struct week_kind *week = &proof->calendar->kinds.v[w->week];
        const struct str when =
            calendar_minute_words(proof->run->arena, proof->calendar, week, (uint32_t)p->at[AXIS_MINUTE]);
        buf_printf(&out, "%.*s", STR_ARG(when));
        if (!week->is_ordinary)
            buf_printf(&out, " in %.*s", STR_ARG(week->says));
        buf_text(&out, ": ");
    }
    const uint32_t sender = proof_sender(proof, w);
    write_end(&out, proof, from, sender, w->family, p->at[AXIS_SOURCE]);
    if (is_reply) {
        buf_text(&out, " answers ");
    } else {
        const struct str service = packet_service_words(proof->run->arena, plan->h, p);
        buf_printf(&out, "%s%.*s to ", p->at[AXIS_STATE] == STATE_NEW ? " opens " : " goes on with ", STR_ARG(service));
    }
    write_end(&out, proof, to, proof_receiver(proof, w), w->family, p->at[AXIS_DESTINATION]);
    if (w->family == FAMILY_IPV6)
        buf_text(&out, " (IPv6)");
    return buf_done(&out);
}

struct str proof_rule_words(const struct proof *proof, const struct rule *rule)
{
    struct buf out = { .arena = proof->run->arena };
    if (!rule) {
        buf_text(&out,
                 proof->is_foreign ? "no rule decides it, and the chain's policy does" : "no statement allows it");
        return buf_done(&out);
    }
    buf_printf(&out, "rule %u", (unsigned)rule->number);
    if (rule->at.line)
        buf_printf(&out, ", line %u", (unsigned)rule->at.line);
    if (rule->says.n)
        buf_printf(&out, ": %.*s", STR_ARG(rule->says));
    return buf_done(&out);
}

struct str proof_decision_words(const struct proof *proof, const struct proof_witness *w)
{
    const char *how = w->action == ACTION_ACCEPT ? "let through by " : w->rule ? "refused by " : "refused, since ";
    const char *text = arena_printf(proof->run->arena, "%.*s: %s%.*s", STR_ARG(proof_packet_words(proof, w)), how,
                                    STR_ARG(proof_rule_words(proof, w->rule)));
    return str_from(text ? text : "");
}
