/* The exported access lists, read back from their JSON and run on random packets as RFC 8519 section 4.1 says (the first entry that
 * fits decides), against the house's own table run rule by rule.  They must agree on who may start a conversation, wherever
 * not_said.txt does not say otherwise: hours, names, types of ICMPv6, the gateway as the internet sees it. */
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "base/units.h"
#include "check.h"
#include "reach/export.h"

/* ---- one entry read back ---- */

struct ace {
    bool has_mac, has_protocol, has_icmp;
    axis_value mac, mac_mask;
    struct prefix source, destination; /* not given: any */
    unsigned protocol, icmp;
    unsigned ports[2][2]; /* source, destination: lo, hi */
    struct str out;       /* interface; empty: any */
    bool accepts;
};

struct acl {
    const char *name;
    LIST(struct ace) aces;
};

static axis_value mac_of(const json_t *j)
{
    axis_value v = 0;
    CHECK("a MAC address", mac_read(str_from(json_string_value(j)), &v));
    return v;
}

static struct prefix network(const json_t *ip, const char *six, const char *four)
{
    struct prefix p = { 0 };
    const json_t *j = json_object_get(ip, six);
    j = j ? j : json_object_get(ip, four);
    CHECK("a network", !j || prefix_read(str_from(json_string_value(j)), &p));
    return p;
}

static void read_port(const json_t *l4, const char *key, unsigned port[2])
{
    const json_t *j = json_object_get(l4, key);
    port[0] = 0;
    port[1] = 65535;
    if (!j)
        return;
    const json_t *one = json_object_get(j, "port");
    port[0] = (unsigned)json_integer_value(one ? one : json_object_get(j, "lower-port"));
    port[1] = (unsigned)json_integer_value(one ? one : json_object_get(j, "upper-port"));
}

static struct ace read_ace(const json_t *j)
{
    const json_t *m = json_object_get(j, "matches"), *eth = json_object_get(m, "eth");
    const json_t *ip = json_object_get(m, "ipv4"), *l4 = json_object_get(m, "tcp");
    ip = ip ? ip : json_object_get(m, "ipv6");
    l4 = l4 ? l4 : json_object_get(m, "udp");
    struct ace a = { .has_mac = eth != NULL, .mac_mask = axis_max(AXIS_SOURCE_MAC, FAMILY_IPV4) };
    if (eth)
        a.mac = mac_of(json_object_get(eth, "source-mac-address"));
    if (json_object_get(eth, "source-mac-address-mask"))
        a.mac_mask = mac_of(json_object_get(eth, "source-mac-address-mask"));
    a.source = network(ip, "source-ipv6-network", "source-ipv4-network");
    a.destination = network(ip, "destination-ipv6-network", "destination-ipv4-network");
    a.has_protocol = json_object_get(ip, "protocol") != NULL;
    a.protocol = (unsigned)json_integer_value(json_object_get(ip, "protocol"));
    read_port(l4, "source-port", a.ports[0]);
    read_port(l4, "destination-port", a.ports[1]);
    a.has_icmp = json_object_get(m, "icmp") != NULL;
    a.icmp = (unsigned)json_integer_value(json_object_get(json_object_get(m, "icmp"), "type"));
    const char *out = json_string_value(json_object_get(m, "egress-interface"));
    a.out = str_from(out ? out : "");
    a.accepts = strcmp(json_string_value(json_object_get(json_object_get(j, "actions"), "forwarding")), "accept") == 0;
    return a;
}

static bool fits(const struct ace *a, const struct packet *p, struct str out)
{
    const bool has_ports = p->at[AXIS_PROTOCOL] == IP_TCP || p->at[AXIS_PROTOCOL] == IP_UDP;
    const bool names_ports = a->ports[0][0] || a->ports[0][1] < 65535 || a->ports[1][0] || a->ports[1][1] < 65535;
    return (!a->has_mac || !((a->mac ^ p->at[AXIS_SOURCE_MAC]) & a->mac_mask)) &&
           (!a->source.is_given || prefix_holds(a->source, p->family, p->at[AXIS_SOURCE])) &&
           (!a->destination.is_given || prefix_holds(a->destination, p->family, p->at[AXIS_DESTINATION])) &&
           (!a->has_protocol || a->protocol == p->at[AXIS_PROTOCOL]) &&
           (!a->has_icmp || (p->at[AXIS_PROTOCOL] == IP_ICMP && a->icmp == p->at[AXIS_ICMP_TYPE])) &&
           (!names_ports ||
            (has_ports && p->at[AXIS_SOURCE_PORT] >= a->ports[0][0] && p->at[AXIS_SOURCE_PORT] <= a->ports[0][1] &&
             p->at[AXIS_DESTINATION_PORT] >= a->ports[1][0] && p->at[AXIS_DESTINATION_PORT] <= a->ports[1][1])) &&
           (!a->out.n || str_eq(a->out, out));
}

/* ---- the whole export read back ---- */

struct trial {
    struct check_run c;
    struct house *h;
    struct export_house x;
    struct acl *lists; /* by zone and family */
    json_t *root;
};

static void read_lists(struct trial *t, struct str text)
{
    t->root = json_loadb(text.p, text.n, 0, NULL);
    CHECK("JSON", t->root != NULL);
    const json_t *acls = json_object_get(json_object_get(t->root, "ietf-access-control-list:acls"), "acl");
    const size_t n = json_array_size(acls);
    t->lists = ARENA_ARRAY(t->c.run.arena, struct acl, (size_t)t->x.plan->n_zones * 2);
    for (size_t i = 0; i < n; i++) {
        const json_t *j = json_array_get(acls, i);
        const json_t *aces = json_object_get(json_object_get(j, "aces"), "ace");
        const size_t zone = i / 2 + (i / 2 >= ZONE_GATEWAY); /* in the order of zones, the gateway left out */
        struct acl *list = &t->lists[zone * 2 + i % 2];
        list->name = json_string_value(json_object_get(j, "name"));
        list->aces.n = (uint32_t)json_array_size(aces);
        list->aces.v = ARENA_ARRAY(t->c.run.arena, struct ace, list->aces.n);
        for (uint32_t k = 0; k < list->aces.n; k++)
            list->aces.v[k] = read_ace(json_array_get(aces, k));
    }
    CHECK_NEAR("a list for each zone and family", (double)n, (t->x.plan->n_zones - 1) * 2, 0, "");
}

static struct trial begin(const char *house)
{
    struct trial t = { .c = check_run_begin() };
    struct export_folder out = { .arena = t.c.run.arena };
    t.c.run.now_s = 1800000000;
    CHECK_OK(&t.c, house_read(&t.c.run, check_path(&t.c, house), &t.h, &t.c.problems));
    CHECK_OK(&t.c, export_prepare(&t.c.run, t.h, NULL, false, &t.x, &t.c.problems));
    CHECK_OK(&t.c, export_acl(&t.x, &out, &t.c.problems));
    CHECK_TEXT("the first file", out.files.v[0].path, STR("acl.json"));
    read_lists(&t, out.files.v[0].bytes);
    return t;
}

/* ---- packets near the edges of what the rules speak of ---- */

static axis_value near_an_edge(const struct trial *t, struct random *r, uint32_t axis, enum family family)
{
    const struct table *table = &t->x.policy->table;
    for (int tries = 0; tries < 200; tries++) {
        const struct chain *c = &table->chains.v[random_below(r, table->chains.n)];
        if (!c->rules.n)
            continue;
        const struct rule *rule = &c->rules.v[random_below(r, c->rules.n)];
        const span_list *in = match_on(&rule->match, axis);
        if (!in || !in->n || !(rule->families >> family & 1))
            continue;
        const struct span s = in->v[random_below(r, in->n)];
        switch (random_below(r, 4)) {
        case 0:
            return s.lo;
        case 1:
            return s.hi;
        case 2:
            return s.hi < axis_max(axis, family) ? s.hi + 1 : s.hi;
        default:
            return s.lo > 0 ? s.lo - 1 : s.lo;
        }
    }
    return 0;
}

static axis_value own_source(const struct trial *t, struct random *r, enum family family, uint32_t *device)
{
    *device = random_below(r, t->h->devices.n);
    const struct device_plan *d = &t->x.plan->devices[*device];
    return family == FAMILY_IPV4 ? d->ipv4 : random_below(r, 2) && d->global ? d->global : d->ula;
}

/* A gateway's address for what goes to it, none of it for the rest, as it is outside this test too. */
static bool is_gateways(const struct trial *t, const struct packet *p)
{
    const axis_value to = p->at[AXIS_DESTINATION];
    for (uint32_t s = 0; s < t->h->segments.n; s++) {
        const struct segment_plan *g = &t->x.plan->segments[s];
        if (p->family == FAMILY_IPV4 ? to == g->ipv4_gateway : to == g->ula_gateway || (to && to == g->global_gateway))
            return true;
    }
    for (uint32_t i = 0; i < t->h->remote_access.n; i++)
        if (to == (p->family == FAMILY_IPV4 ? t->x.plan->tunnels[i].ipv4_gateway : t->x.plan->tunnels[i].ula_gateway))
            return true;
    return false;
}

/* Groups, broadcast and link-local addresses stay on their link: by its address such a packet is the gateway's own. */
static bool stays_on_link(const struct packet *p)
{
    static const char *const BLOCKS[] = { "0.0.0.0/8", "127.0.0.0/8",   "169.254.0.0/16", "224.0.0.0/4", "240.0.0.0/4",
                                          "::/127",    "::ffff:0:0/96", "fe80::/10",      "ff00::/8" };
    for (size_t i = 0; i < RT_COUNT(BLOCKS); i++) {
        struct prefix block;
        CHECK(BLOCKS[i], prefix_read(str_from(BLOCKS[i]), &block));
        if (prefix_holds(block, p->family, p->at[AXIS_DESTINATION]))
            return true;
    }
    return false;
}

static struct packet some_packet(const struct trial *t, struct random *r)
{
    static const unsigned PROTOCOLS[] = { IP_TCP, IP_TCP, IP_UDP, IP_UDP, IP_ICMP, IP_ESP };
    struct packet p = { .family = random_below(r, 2) ? FAMILY_IPV6 : FAMILY_IPV4 };
    uint32_t device;
    p.at[AXIS_STATE] = STATE_NEW;
    p.at[AXIS_FROM] = random_below(r, t->x.plan->n_zones);
    p.at[AXIS_TO] = random_below(r, t->x.plan->n_zones);
    p.at[AXIS_PROTOCOL] = PROTOCOLS[random_below(r, RT_COUNT(PROTOCOLS))];
    if (p.at[AXIS_PROTOCOL] == IP_ICMP)
        p.at[AXIS_ICMP_TYPE] = random_below(r, 20);
    if (p.at[AXIS_PROTOCOL] == IP_TCP || p.at[AXIS_PROTOCOL] == IP_UDP) {
        p.at[AXIS_SOURCE_PORT] = random_below(r, 65536);
        p.at[AXIS_DESTINATION_PORT] = near_an_edge(t, r, AXIS_DESTINATION_PORT, p.family);
    }
    p.at[AXIS_SOURCE] = own_source(t, r, p.family, &device);
    p.at[AXIS_SOURCE_MAC] = t->x.plan->devices[device].mac;
    if (random_below(r, 3) && t->x.plan->devices[device].zone != NO_REF)
        p.at[AXIS_FROM] = t->x.plan->devices[device].zone;
    p.at[AXIS_DESTINATION] = own_source(t, r, p.family, &device);
    if (random_below(r, 3) && t->x.plan->devices[device].zone != NO_REF)
        p.at[AXIS_TO] = t->x.plan->devices[device].zone;
    if (random_below(r, 4) == 0)
        p.at[AXIS_SOURCE] = near_an_edge(t, r, AXIS_SOURCE, p.family);
    if (random_below(r, 4) == 0)
        p.at[AXIS_DESTINATION] = near_an_edge(t, r, AXIS_DESTINATION, p.family);
    if (random_below(r, 6) == 0)
        p.at[AXIS_SOURCE_MAC] = near_an_edge(t, r, AXIS_SOURCE_MAC, p.family);
    if (p.at[AXIS_TO] == ZONE_GATEWAY) {
        const struct segment_plan *g = &t->x.plan->segments[random_below(r, t->h->segments.n)];
        p.at[AXIS_DESTINATION] = p.family == FAMILY_IPV4 ? g->ipv4_gateway : g->ula_gateway;
    }
    return p;
}

static void agree_on(const char *house, struct random *r, unsigned n_packets)
{
    struct trial t = begin(house);
    unsigned n_accepted = 0, n_seen = 0;
    for (unsigned i = 0; i < n_packets; i++) {
        const struct packet p = some_packet(&t, r);
        const bool to_gateway = p.at[AXIS_TO] == ZONE_GATEWAY;
        if (p.at[AXIS_FROM] == ZONE_GATEWAY || (to_gateway && p.at[AXIS_FROM] == ZONE_INTERNET) ||
            to_gateway != is_gateways(&t, &p) || stays_on_link(&p))
            continue;
        const struct acl *list = &t.lists[p.at[AXIS_FROM] * 2 + p.family];
        const struct str out = to_gateway ? STR("-") : zone_interface(t.x.plan, (uint32_t)p.at[AXIS_TO]);
        uint32_t k = 0;
        while (k < list->aces.n && !fits(&list->aces.v[k], &p, out))
            k++;
        CHECK("the last entry takes all", k < list->aces.n);
        enum action want;
        const struct rule *rule = table_run(&t.x.policy->table, &p, NULL, &want);
        /* Said wider: from the internet to the gateway, whose address there is not known. */
        if (p.at[AXIS_FROM] == ZONE_INTERNET && list->aces.v[k].accepts && !list->aces.v[k].destination.is_given &&
            !list->aces.v[k].out.n)
            continue;
        if (list->aces.v[k].accepts != (want == ACTION_ACCEPT))
            print_message("%s, entry %u; rule %u: %s\n", list->name, k, rule ? rule->number : 0,
                          rule && rule->says.p ? rule->says.p : "");
        CHECK("the lists and the table agree", list->aces.v[k].accepts == (want == ACTION_ACCEPT));
        n_accepted += want == ACTION_ACCEPT;
        n_seen++;
    }
    CHECK("both kinds were seen", n_accepted > n_seen / 100 && n_accepted < n_seen);
    json_decref(t.root);
    check_run_end(&t.c);
}

PROP(larch_end, 4) { agree_on("houses/larch_end.house.yaml", r, 20000); }
PROP(quay_flat, 4) { agree_on("houses/quay_flat.house.yaml", r, 20000); }
PROP(whin_farm, 4) { agree_on("houses/whin_farm.house.yaml", r, 20000); }
