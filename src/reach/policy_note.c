/* What a statement rests on, and how strong it is, in words for people. */
#include "reach/policy_int.h"

/* Devices of a list of ends that are picked one by one, with a test; their ids joined.  Empty: none. */
static struct str device_words(struct compiler *c, const struct ends *e,
                               bool (*is_meant)(const struct compiler *c, uint32_t device))
{
    struct buf b = { .arena = c->a };
    uint32_t n = 0, k = 0;
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < c->h->devices.n; i++) {
            const uint32_t zone = c->plan->devices[i].zone;
            if (!e->devices[i] || (zone != NO_REF && e->zones[zone]) || !is_meant(c, i))
                continue;
            if (pass == 0)
                n++;
            else
                policy_list_word(&b, k++, n, c->h->devices.v[i].id);
        }
    c->failed = c->failed || b.failed;
    return n ? buf_done(&b) : (struct str){ 0 };
}

static bool has_no_ip(const struct compiler *c, uint32_t i) { return c->plan->devices[i].zone == NO_REF; }
static bool is_on_ip(const struct compiler *c, uint32_t i) { return !has_no_ip(c, i); }
static bool varies_mac(const struct compiler *c, uint32_t i) { return is_on_ip(c, i) && c->h->devices.v[i].varies_mac; }
/* In a segment that lets strangers in, a device becomes one by another MAC address. */
static bool may_hide(const struct compiler *c, uint32_t i)
{
    return is_on_ip(c, i) && !c->h->segments.v[c->h->devices.v[i].segment.i].known_only &&
           !c->h->devices.v[i].varies_mac;
}

static bool is_refusal(const struct statement *s) { return s->verdict == VERDICT_REFUSE; }

static void note_senders(struct compiler *c, const struct statement *s, struct str name, const struct ends *from)
{
    const struct str varying = device_words(c, from, varies_mac);
    if (varying.n)
        policy_note(
            c, s->at,
            "%.*s rests on the MAC address of %.*s, which changes by itself: switch that off on the device for this "
            "network, and give its `mac`",
            STR_ARG(name), STR_ARG(varying));
    const struct str hiding = is_refusal(s) ? device_words(c, from, may_hide) : (struct str){ 0 };
    if (hiding.n)
        policy_note(c, s->at,
                    "%.*s rests on the MAC address of %.*s. Who gives the device another one escapes it, unless its "
                    "segment lets known devices in only",
                    STR_ARG(name), STR_ARG(hiding));
    for (uint32_t k = 0; k < s->from.n; k++)
        if (s->from.v[k].kind == END_ANYONE && !is_refusal(s))
            policy_note(c, s->from.v[k].at, "%.*s: 'anyone' is the internet too", STR_ARG(name));
}

static bool names_gateway_service(const struct statement *s)
{
    static const char *const OWN[] = { "dns", "dhcp", "dhcpv6", "ntp", "ping" };
    for (uint32_t i = 0; i < s->services.n; i++)
        for (size_t k = 0; k < RT_COUNT(OWN); k++)
            if (str_is(s->services.v[i], OWN[k]))
                return true;
    return s->services.n == 0;
}

static bool has_segment_sender(struct compiler *c, const struct ends *from)
{
    for (uint32_t z = ZONE_SEGMENT; z < policy_n_zones(c->h); z++)
        if (from->zones[z])
            return true;
    return device_words(c, from, is_on_ip).n > 0;
}

static void note_receivers(struct compiler *c, const struct statement *s, struct str name, const struct ends *from,
                           const struct ends *to)
{
    const struct str devices = is_refusal(s) ? device_words(c, to, is_on_ip) : (struct str){ 0 };
    if (devices.n)
        policy_note(c, s->at,
                    "%.*s rests on the addresses reserved for %.*s. A device may take further IPv6 addresses in its "
                    "segment: a segment of its own is stronger",
                    STR_ARG(name), STR_ARG(devices));
    if (is_refusal(s) && to->zones[ZONE_GATEWAY] && names_gateway_service(s) && has_segment_sender(c, from))
        policy_note(c, s->at,
                    "%.*s does not cut what a segment lives on: addresses (DHCP), names (DNS), time (NTP) and echo of "
                    "the gateway stay, at its address in that segment",
                    STR_ARG(name));
    if (!is_refusal(s) && from->zones[ZONE_INTERNET] && to->zones[ZONE_GATEWAY])
        policy_note(c, s->at, "%.*s opens the gateway itself to the internet (RFC 6092 REC-50 asks not to)",
                    STR_ARG(name));
    if (!is_refusal(s) && from->zones[ZONE_INTERNET])
        policy_note(c, s->at,
                    "%.*s lets the internet in by IPv6 only: by IPv4 it reaches no device without a port opening",
                    STR_ARG(name));
    for (uint32_t k = 0; k < to->names.n; k++)
        policy_note(c, s->at,
                    "%.*s goes by the addresses that the gateway's resolver gave out for %.*s: whatever else lives at "
                    "those addresses counts too, and who learnt them elsewhere does not",
                    STR_ARG(name), STR_ARG(to->names.v[k]));
}

void policy_statement_notes(struct compiler *c, uint32_t i, struct str name, const struct ends *from,
                            const struct ends *to)
{
    const struct statement *s = &c->h->statements.v[i];
    note_senders(c, s, name, from);
    note_receivers(c, s, name, from, to);
    const struct str lost[] = { device_words(c, from, has_no_ip), device_words(c, to, has_no_ip) };
    for (size_t k = 0; k < RT_COUNT(lost); k++)
        if (lost[k].n)
            policy_note(c, s->at, "%.*s: %.*s has no address of its own and is reached through its hub alone",
                        STR_ARG(name), STR_ARG(lost[k]));
    for (uint32_t k = 0; k < s->services.n; k++)
        if (service_is_local(c->h, s->services.v[k]) && !to->zones[ZONE_GATEWAY])
            policy_note(c, s->at,
                        "%.*s: '%.*s' cannot leave its segment by itself. To find things in another one, write a relay",
                        STR_ARG(name), STR_ARG(s->services.v[k]));
}

void policy_statement_empty(struct compiler *c, uint32_t i, struct str name, bool within_segment)
{
    const struct statement *s = &c->h->statements.v[i];
    if (within_segment)
        rt_warn(c->p, RT_CONFLICT, s->at,
                "put them into segments of their own, or keep the clients of the SSID apart with 'isolate'",
                "%.*s: both ends are in the same segment, and their talk never meets the gateway", STR_ARG(name));
    else
        rt_warn(c->p, RT_CONFLICT, s->at, NULL, "%.*s: there is nothing at the gateway that it could decide",
                STR_ARG(name));
}

/* ---- names that the resolver refuses ---- */

/* Could a device of the segment ask another resolver by this port? */
static bool passes(struct compiler *c, uint32_t segment, enum ip_protocol protocol, unsigned port)
{
    const struct segment_plan *s = &c->plan->segments[segment];
    const enum family f = c->plan->no_ipv4 ? FAMILY_IPV6 : FAMILY_IPV4;
    struct packet p = { .family = f };
    p.at[AXIS_FROM] = zone_of_segment(segment);
    p.at[AXIS_TO] = ZONE_INTERNET;
    p.at[AXIS_SOURCE] = f == FAMILY_IPV4 ? s->ipv4_gateway + 1 : s->global_gateway + 1;
    /* an address of 2000::/3, or of the IPv4 internet, that is in no special block */
    p.at[AXIS_DESTINATION] = f == FAMILY_IPV4 ? (axis_value)9 << 24 | 1 : (axis_value)0x2600 << 112 | 1;
    p.at[AXIS_PROTOCOL] = protocol;
    p.at[AXIS_SOURCE_PORT] = UINT16_MAX;
    p.at[AXIS_DESTINATION_PORT] = port;
    p.at[AXIS_STATE] = STATE_NEW;
    for (uint32_t i = 0; i < c->h->devices.n; i++)
        if (c->plan->devices[i].zone == p.at[AXIS_FROM])
            p.at[AXIS_SOURCE_MAC] = c->plan->devices[i].mac;
    enum action action;
    table_run(&c->policy->table, &p, NULL, &action);
    return action == ACTION_ACCEPT;
}

void policy_blocked_names(struct compiler *c)
{
    for (uint32_t i = 0; i < c->h->segments.n && !c->failed; i++) {
        const struct segment *s = &c->h->segments.v[i];
        if (s->blocked_names.n == 0)
            continue;
        const bool plain = passes(c, i, IP_UDP, 53) || passes(c, i, IP_TCP, 53);
        const bool encrypted = passes(c, i, IP_TCP, 853) || passes(c, i, IP_UDP, 853);
        struct buf b = { .arena = c->a };
        for (uint32_t k = 0; k < s->blocked_names.n; k++)
            policy_list_word(&b, k, s->blocked_names.n, s->blocked_names.v[k]);
        c->failed = c->failed || b.failed;
        policy_note(c, s->at,
                    "'%.*s' is not told the addresses of %.*s by the gateway's resolver, and that is all: who knows an "
                    "address passes. Another resolver %s by plain name service (port 53) and %s over TLS or QUIC (port "
                    "853); name service within the web (RFC 8484) looks like any page",
                    STR_ARG(s->id), STR_ARG(buf_done(&b)), plain ? "can be asked" : "cannot be asked",
                    encrypted ? "can be asked" : "cannot be asked");
    }
}
