/* Relays of discovery: what devices call into a group of their own segment, the gateway hears and says again in another.
 *
 * mDNS (RFC 6762): questions and answers go to 224.0.0.251 and ff02::fb, UDP port 5353; a device may also answer the gateway's
 * question to its own address.  SSDP (UPnP Device Architecture 2.0, ISO/IEC 29341-1): searches and announcements go to 239.255.255.250,
 * ff02::c and ff05::c, UDP port 1900; the answer to a search comes from port 1900 to the port that the search came from, a
 * conversation that the gateway's memory does not know, since its own packet went to a group. */
#include "reach/policy_int.h"

struct protocol {
    enum relay_kind kind;
    const char *name;
    uint16_t port;
    const char *groups[FAMILY_COUNT][2]; /* NULL: no second one */
};

static const struct protocol PROTOCOLS[] = {
    { RELAY_MDNS, "mDNS", 5353, { { "224.0.0.251/32", NULL }, { "ff02::fb/128", NULL } } },
    { RELAY_SSDP, "SSDP", 1900, { { "239.255.255.250/32", NULL }, { "ff02::c/128", "ff05::c/128" } } },
};

/* Ports from which a relay searches: the system's own choice for the kernel begins at 32768 (from memory), that of RFC 6335 at
 * 49152. */
enum { SEARCH_PORT_LEAST = 32768 };

/* One protocol, over all relays of the house: zones that an earlier relay of the kind has brought in. */
struct discovery {
    struct compiler *c;
    const struct protocol *protocol;
    bool *heard;    /* its calls are heard already */
    bool *answered; /* its answers too */
};

/* Zones of the lists that were not there before, and marks them. */
static span_list new_zones(struct discovery *d, const ref_list *one, const ref_list *two, bool *seen)
{
    struct compiler *c = d->c;
    bool *fresh = ARENA_ARRAY(c->a, bool, policy_n_zones(c->h));
    if (!fresh) {
        c->failed = true;
        return (span_list){ 0 };
    }
    const ref_list *lists[] = { one, two };
    for (size_t k = 0; k < RT_COUNT(lists); k++)
        for (uint32_t i = 0; lists[k] && i < lists[k]->n; i++) {
            const uint32_t z = zone_of_segment(lists[k]->v[i].i);
            fresh[z] = fresh[z] || !seen[z];
            seen[z] = true;
        }
    return zones_spans(c->a, fresh, policy_n_zones(c->h), &c->failed);
}

static void add_address(struct compiler *c, span_list *to, const char *text)
{
    struct prefix p;
    if (!text || !prefix_read(str_from(text), &p))
        return;
    policy_add_span(c, to, prefix_span(p).lo, prefix_span(p).hi);
}

static struct rule *relay_rule(struct discovery *d, uint32_t i, unsigned families, span_list zones, const char *what)
{
    const struct relay *relay = &d->c->h->relays.v[i];
    struct rule *r = policy_rule(d->c, CHAIN_TO_GATEWAY, families, ACTION_ACCEPT, "%.*s: %s of %s",
                                 STR_ARG(relay->says.n ? relay->says : relay->id), what, d->protocol->name);
    policy_from(r, ORIGIN_RELAY, i, relay->at);
    policy_in(d->c, &r->match, AXIS_FROM, zones);
    policy_is(d->c, &r->match, AXIS_PROTOCOL, IP_UDP);
    return r;
}

static void hear_calls(struct discovery *d, uint32_t i)
{
    struct compiler *c = d->c;
    const struct relay *relay = &c->h->relays.v[i];
    const span_list zones = new_zones(d, &relay->from, &relay->to, d->heard);
    for (enum family f = 0; f < FAMILY_COUNT && zones.n; f++) {
        span_list groups = { 0 };
        add_address(c, &groups, d->protocol->groups[f][0]);
        add_address(c, &groups, d->protocol->groups[f][1]);
        struct rule *r = relay_rule(d, i, 1U << f, zones, "calls");
        policy_in(c, &r->match, AXIS_DESTINATION, groups);
        policy_is(c, &r->match, AXIS_DESTINATION_PORT, d->protocol->port);
    }
}

/* Answers to the gateway's own address, from where things are found. */
static void hear_answers(struct discovery *d, uint32_t i)
{
    struct compiler *c = d->c;
    const span_list zones = new_zones(d, &c->h->relays.v[i].to, NULL, d->answered);
    if (zones.n == 0)
        return;
    struct rule *r = relay_rule(d, i, BOTH_FAMILIES, zones, "answers");
    policy_is(c, &r->match, AXIS_SOURCE_PORT, d->protocol->port);
    if (d->protocol->kind == RELAY_MDNS)
        policy_is(c, &r->match, AXIS_DESTINATION_PORT, d->protocol->port);
    else
        policy_within(c, &r->match, AXIS_DESTINATION_PORT, SEARCH_PORT_LEAST, UINT16_MAX);
}

/* ---- what a device will see ---- */

static void add_segments(struct buf *b, const struct house *h, const ref_list *list)
{
    for (uint32_t i = 0; i < list->n; i++)
        policy_list_word(b, i, list->n, h->segments.v[list->v[i].i].id);
}

/* Does the device offer what a service type such as _ipp._tcp names?  Types of which the tables know nothing may be anything. */
static bool offers_type(const struct device *d, struct str type)
{
    size_t n = 1;
    while (n < type.n && type.p[n] != '.')
        n++;
    const struct str name = { type.p + 1, n - 1 };
    uint32_t n_flows;
    if (!service_find(name, &n_flows))
        return true;
    for (uint32_t i = 0; i < d->offers.n; i++)
        if (str_eq(d->offers.v[i].service, name))
            return true;
    return false;
}

static bool is_found(const struct house *h, const struct relay *relay, const struct protocol *p, uint32_t device)
{
    const struct device *d = &h->devices.v[device];
    bool is_there = false, calls = false;
    for (uint32_t i = 0; i < relay->to.n; i++)
        is_there = is_there || d->segment.i == relay->to.v[i].i;
    for (uint32_t i = 0; i < d->offers.n; i++)
        calls = calls || str_is(d->offers.v[i].service, p->kind == RELAY_MDNS ? "mdns" : "ssdp");
    bool is_wanted = relay->services.n == 0 || p->kind == RELAY_SSDP;
    for (uint32_t i = 0; i < relay->services.n && !is_wanted; i++)
        is_wanted = offers_type(d, relay->services.v[i]);
    return is_there && calls && is_wanted;
}

static void note_sight(struct compiler *c, uint32_t i, const struct protocol *p)
{
    const struct relay *relay = &c->h->relays.v[i];
    struct buf b = { .arena = c->a };
    buf_printf(&b, "'%.*s': devices in ", STR_ARG(relay->id));
    add_segments(&b, c->h, &relay->from);
    buf_text(&b, relay->services.n ? " will see what calls itself " : " will see anything at all in ");
    for (uint32_t k = 0; k < relay->services.n; k++)
        policy_list_word(&b, k, relay->services.n, relay->services.v[k]);
    buf_text(&b, relay->services.n ? " in " : "");
    add_segments(&b, c->h, &relay->to);
    uint32_t n = 0, k = 0;
    for (uint32_t d = 0; d < c->h->devices.n; d++)
        n += is_found(c->h, relay, p, d);
    for (uint32_t d = 0; d < c->h->devices.n; d++)
        if (is_found(c->h, relay, p, d)) {
            buf_text(&b, k == 0 ? ", by the file: " : "");
            policy_list_word(&b, k++, n, c->h->devices.v[d].id);
        }
    if (n == 0)
        buf_printf(&b, "; no device there is said to offer %s", p->kind == RELAY_MDNS ? "mdns" : "ssdp");
    buf_text(&b, ". To see is not to use: that needs a statement");
    c->failed = c->failed || b.failed;
    policy_note(c, relay->at, "%.*s", STR_ARG(buf_done(&b)));
    if (p->kind == RELAY_SSDP && relay->services.n)
        policy_note(c, relay->at, "'%.*s': the service types are names of mDNS; SSDP relays everything",
                    STR_ARG(relay->id));
}

void policy_relays(struct compiler *c)
{
    for (size_t p = 0; p < RT_COUNT(PROTOCOLS); p++) {
        struct discovery d = { .c = c,
                               .protocol = &PROTOCOLS[p],
                               .heard = ARENA_ARRAY(c->a, bool, policy_n_zones(c->h)),
                               .answered = ARENA_ARRAY(c->a, bool, policy_n_zones(c->h)) };
        if (!d.heard || !d.answered) {
            c->failed = true;
            return;
        }
        for (uint32_t i = 0; i < c->h->relays.n; i++) {
            if (c->h->relays.v[i].kind != PROTOCOLS[p].kind)
                continue;
            hear_calls(&d, i);
            hear_answers(&d, i);
            note_sight(c, i, &PROTOCOLS[p]);
        }
    }
}
