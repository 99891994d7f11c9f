/* reach_kit.h - small houses for tests of addresses, statements and proofs: the policy part of a house file in a few lines, its
 * plan, its table, and packets made by hand. */
#ifndef RT_REACH_KIT_H
#define RT_REACH_KIT_H

#include <stdio.h>
#include <string.h>

#include "check.h"
#include "reach/policy.h"

/* What every house file must have; the rest of the file is the test's. */
#define REACH_HOUSE                                                                                                  \
    "rooftree: 1\n"                                                                                                  \
    "name: Test\n"                                                                                                   \
    "country: GB\n"                                                                                                  \
    "time_zone: Europe/London\n"                                                                                     \
    "currency: GBP\n"                                                                                                \
    "floors: {ground: {level_m: 0, height_m: 2.4, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], slab: concrete_150}}\n" \
    "rooms: {hall: {floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]], use: hall}}\n"
#define REACH_LINE                                                                                                  \
    "line: {kind: fibre, down_mbps: 500, up_mbps: 70, ipv6_prefix_len: 56, public_ipv4: own, floor: ground, at_m: " \
    "[1, 1, 1]}\n"

/* Three segments with a few things in them; the same with a tunnel into one. */
#define REACH_PAIR                                                                                                     \
    REACH_HOUSE REACH_LINE                                                                                             \
        "segments: {home: {}, things: {}, guests: {known_only: true}}\n"                                               \
        "people: {ann: {kind: adult}, ben: {kind: adult}}\n"                                                           \
        "devices:\n"                                                                                                   \
        "  laptop: {kind: laptop, owner: ann, room: hall, at_m: [1, 1, 1], segment: home, link: wifi}\n"               \
        "  tablet: {kind: tablet, owner: ben, room: hall, at_m: [1, 2, 1], segment: home, link: wifi}\n"               \
        "  console: {kind: console, room: hall, at_m: [1, 3, 1], segment: home, link: wifi}\n"                         \
        "  lamp: {kind: light, room: hall, at_m: [2, 1, 1], segment: things, link: wifi}\n"                            \
        "  printer: {kind: printer, room: hall, at_m: [2, 2, 1], segment: things, link: wifi, offers: [ipps, mdns]}\n" \
        "  visitor: {kind: phone, room: hall, at_m: [3, 2, 1], segment: guests, link: wifi}\n"                         \
        "hours: {night: {from: \"20:30\", to: \"07:00\"}, day: {from: \"08:00\", to: \"18:00\"}}\n"                    \
        "groups: {play: {members: [tablet, console]}, things_of_ben: {members: [ben]}}\n"
#define REACH_AWAY REACH_PAIR "remote_access: {away: {segment: home, port: 51820, people: [ann, ben]}}\n"

enum { REACH_HOURS_MAX = 8 }; /* more than any house of these tests has */

struct reach {
    struct check_run c;
    struct house *h;
    struct address_plan *plan;
    struct policy *policy;
};

static inline struct reach reach_read(const char *text)
{
    struct reach r = { .c = check_run_begin() };
    CHECK_OK(&r.c, house_read_bytes(&r.c.run, "house.yaml", str_from(text), &r.h, &r.c.problems));
    CHECK_OK(&r.c, addresses_plan(&r.c.run, r.h, &r.plan, &r.c.problems));
    return r;
}

static inline struct reach reach_compile(const char *text)
{
    struct reach r = reach_read(text);
    CHECK_OK(&r.c, policy_compile(&r.c.run, r.plan, &r.policy, &r.c.problems));
    return r;
}

/* A house of a file below the project's root. */
static inline struct reach reach_file(const char *below_root)
{
    struct reach r = { .c = check_run_begin() };
    CHECK_OK(&r.c, house_read(&r.c.run, check_path(&r.c, below_root), &r.h, &r.c.problems));
    CHECK_OK(&r.c, addresses_plan(&r.c.run, r.h, &r.plan, &r.c.problems));
    CHECK_OK(&r.c, policy_compile(&r.c.run, r.plan, &r.policy, &r.c.problems));
    return r;
}

static inline void reach_end(struct reach *r) { check_run_end(&r->c); }

/* Index of a thing of the house by its id; fails the test when there is none. */
#define REACH_FIND(r, list, name)                        \
    ({                                                   \
        uint32_t found_ = NO_REF;                        \
        for (uint32_t i_ = 0; i_ < (r)->h->list.n; i_++) \
            if (str_is((r)->h->list.v[i_].id, (name)))   \
                found_ = i_;                             \
        if (found_ == NO_REF)                            \
            fail_msg("no %s in %s", (name), #list);      \
        found_;                                          \
    })
static inline uint32_t reach_zone(const struct reach *r, const char *segment)
{
    if (strcmp(segment, "internet") == 0)
        return ZONE_INTERNET;
    if (strcmp(segment, "gateway") == 0)
        return ZONE_GATEWAY;
    return ZONE_SEGMENT + REACH_FIND(r, segments, segment);
}
static inline const struct device_plan *reach_device(const struct reach *r, const char *id)
{
    return &r->plan->devices[REACH_FIND(r, devices, id)];
}

static inline axis_value reach_address(const char *text)
{
    enum family family;
    axis_value out = 0;
    if (!address_read(str_from(text), &family, &out))
        fail_msg("'%s' is no address", text);
    return out;
}

/* Somewhere public: addresses of the root name servers' kind would do as well; these are inside 2000::/3 and outside all
 * special blocks. */
#define PUBLIC_IPV4 "9.9.9.10"
#define PUBLIC_IPV6 "2600:9000::10"

static inline axis_value reach_public(enum family f)
{
    return reach_address(f == FAMILY_IPV4 ? PUBLIC_IPV4 : PUBLIC_IPV6);
}

static inline axis_value device_address(const struct device_plan *d, enum family f)
{
    return f == FAMILY_IPV4 ? d->ipv4 : d->global ? d->global : d->ula;
}

/* The first packet of a conversation, TCP from a high port; change what is to be otherwise. */
static inline struct packet reach_packet(enum family f, uint32_t from, axis_value mac, axis_value source, uint32_t to,
                                         axis_value destination, enum ip_protocol protocol, unsigned port)
{
    struct packet p = { .family = f };
    p.at[AXIS_FROM] = from;
    p.at[AXIS_TO] = to;
    p.at[AXIS_SOURCE_MAC] = mac;
    p.at[AXIS_SOURCE] = source;
    p.at[AXIS_DESTINATION] = destination;
    p.at[AXIS_PROTOCOL] = protocol;
    if (protocol == IP_TCP || protocol == IP_UDP) {
        p.at[AXIS_SOURCE_PORT] = 40000;
        p.at[AXIS_DESTINATION_PORT] = port;
    } else {
        p.at[AXIS_ICMP_TYPE] = port;
    }
    p.at[AXIS_STATE] = STATE_NEW;
    return p;
}

/* From a device (or NULL: the internet) to a device, "internet" or "gateway". */
static inline struct packet reach_talk(const struct reach *r, enum family f, const char *from, const char *to,
                                       enum ip_protocol protocol, unsigned port)
{
    uint32_t from_zone = ZONE_INTERNET, to_zone = ZONE_INTERNET;
    axis_value mac = 0x020000000001, source = reach_public(f), destination = reach_public(f);
    if (strcmp(from, "internet") != 0) {
        const struct device_plan *d = reach_device(r, from);
        from_zone = d->zone;
        mac = d->mac;
        source = device_address(d, f);
    }
    if (strcmp(to, "gateway") == 0) {
        const struct segment_plan *s = from_zone >= ZONE_SEGMENT ? &r->plan->segments[from_zone - ZONE_SEGMENT] : NULL;
        to_zone = ZONE_GATEWAY;
        if (s)
            destination = f == FAMILY_IPV4 ? s->ipv4_gateway : s->ula_gateway;
    } else if (strcmp(to, "internet") != 0) {
        const struct device_plan *d = reach_device(r, to);
        to_zone = d->zone;
        destination = device_address(d, f);
    }
    return reach_packet(f, from_zone, mac, source, to_zone, destination, protocol, port);
}

/* What comes back; mark: of the conversation. */
static inline struct packet reach_answer(const struct reach *r, struct packet p, axis_value mark)
{
    struct packet q = p;
    q.at[AXIS_FROM] = p.at[AXIS_TO];
    q.at[AXIS_TO] = p.at[AXIS_FROM];
    q.at[AXIS_SOURCE] = p.at[AXIS_DESTINATION];
    q.at[AXIS_DESTINATION] = p.at[AXIS_SOURCE];
    q.at[AXIS_SOURCE_PORT] = p.at[AXIS_DESTINATION_PORT];
    q.at[AXIS_DESTINATION_PORT] = p.at[AXIS_SOURCE_PORT];
    for (uint32_t i = 0; i < r->h->devices.n; i++)
        if (r->plan->devices[i].zone == q.at[AXIS_FROM])
            q.at[AXIS_SOURCE_MAC] = r->plan->devices[i].mac; /* any known one */
    q.at[AXIS_STATE] = STATE_REPLY;
    q.at[AXIS_MARK] = mark;
    return q;
}

/* Of the conversations that a device begins; 0: none. */
static inline uint32_t reach_mark(const struct reach *r, const char *device)
{
    const uint32_t d = REACH_FIND(r, devices, device);
    for (uint32_t i = 0; i < r->policy->marks.n; i++)
        for (uint32_t k = 0; k < r->policy->marks.v[i].devices.n; k++)
            if (r->policy->marks.v[i].devices.v[k] == d)
                return r->policy->marks.v[i].value;
    return 0;
}

/* From a person away, by the first tunnel. */
static inline struct packet reach_from_tunnel(const struct reach *r, enum family f, const char *person, const char *to)
{
    struct packet p = reach_talk(r, f, "laptop", to, IP_TCP, 80);
    const struct tunnel_plan *t = &r->plan->tunnels[0];
    p.at[AXIS_FROM] = t->zone;
    p.at[AXIS_SOURCE_MAC] = 0;
    for (uint32_t i = 0; i < t->peers.n; i++)
        if (t->peers.v[i].person == REACH_FIND(r, people, person))
            p.at[AXIS_SOURCE] = f == FAMILY_IPV4 ? t->peers.v[i].ipv4 : t->peers.v[i].ula;
    return p;
}

/* What the table does with it; hours: the id of the hours that hold, NULL: none. */
static inline enum action reach_run(const struct reach *r, const struct packet *p, const char *hours)
{
    bool *hold = ARENA_ARRAY(r->c.run.arena, bool, r->h->hours.n);
    for (uint32_t i = 0; i < r->h->hours.n; i++)
        hold[i] = hours && str_is(r->h->hours.v[i].id, hours);
    enum action action;
    table_run(&r->policy->table, p, hold, &action);
    return action;
}

static inline bool reach_passes(const struct reach *r, const struct packet *p)
{
    return reach_run(r, p, NULL) == ACTION_ACCEPT;
}

/* Both families agree that this talk passes (or not). */
static inline bool reach_may(const struct reach *r, const char *from, const char *to, enum ip_protocol protocol,
                             unsigned port)
{
    const struct packet p4 = reach_talk(r, FAMILY_IPV4, from, to, protocol, port);
    const struct packet p6 = reach_talk(r, FAMILY_IPV6, from, to, protocol, port);
    const bool four = reach_passes(r, &p4), six = reach_passes(r, &p6);
    if (four != six)
        fail_msg("%s to %s: IPv4 %d, IPv6 %d", from, to, (int)four, (int)six);
    return four;
}

#endif
