/* network.h - what is in the house and who may do what: devices, segments, statements, line.
 * Conventions as in building.h. */
#ifndef RT_HOUSE_NETWORK_H
#define RT_HOUSE_NETWORK_H

#include "data/profiles.h"
#include "data/wireless.h"
#include "house/building.h"

/* ---- the internet line ---- */

enum line_kind { LINE_FIBRE, LINE_CABLE, LINE_DSL, LINE_MOBILE, LINE_FIXED_WIRELESS, LINE_SATELLITE, LINE_OTHER };
/* How packets are packed for the line. */
enum line_framing { FRAMING_BY_KIND, FRAMING_NONE, FRAMING_PTM, FRAMING_ATM, FRAMING_DOCSIS, FRAMING_ETHERNET };
enum public_address { PUBLIC_IPV4_OWN, PUBLIC_IPV4_SHARED, PUBLIC_IPV4_NONE };
enum box_mode { BOX_MODEM, BOX_ROUTER, BOX_NONE };

/* The box the provider put in the house; a battery's `feeds` names it so. */
#define LINE_BOX_NAME "line"
struct provider_box {
    struct rt_place at;
    enum box_mode mode;
    struct str ipv4; /* its own subnet when it routes, CIDR */
    bool wifi_on;
    double power_w;
    struct str circuit; /* of the mains; empty: not said */
};

struct line {
    struct rt_place at; /* line 0: the file has no line section */
    enum line_kind kind;
    double down_mbps, up_mbps;
    double latency_ms;
    double overhead_bytes; /* added to each packet by the line's framing */
    enum line_framing framing;
    double ipv6_prefix_len; /* delegated prefix; NaN: no IPv6 */
    enum public_address public_ipv4;
    struct ref floor;
    struct vec3 at_m; /* where it enters; z above the floor */
    struct provider_box box;
    double price_per_month;
    double cap_gb_per_month; /* NaN: none */
};

/* A foreign cell heard in the house. */
struct neighbour {
    struct str id;
    struct rt_place at;
    enum band band;
    double channel, width_mhz;
    double level_dbm;
    double busy_share; /* of the time it is on the air */
    struct ref floor;
    struct vec3 at_m; /* where it was heard; z above the floor */
};

/* The low-power mesh (IEEE 802.15.4). */
struct mesh {
    struct rt_place at;
    double channel; /* 11 to 26; NaN: to be chosen */
    double power_dbm;
    bool tune;
};

/* ---- isolated networks ---- */

struct segment {
    struct str id;
    struct rt_place at;
    struct str says;
    double vlan;           /* 1 to 4094; NaN: to be chosen */
    struct str ipv4, ipv6; /* CIDR; empty: to be chosen */
    struct str dhcp_from, dhcp_to;
    bool known_only;        /* only devices of the file may join */
    str_list blocked_names; /* internet names its resolver refuses */
};

/* A range of addresses that must stay unused: a work tunnel's, the provider's box's. */
struct foreign_range {
    struct rt_place at;
    struct str range; /* CIDR */
    struct str says;
};

enum security { SECURITY_WPA3, SECURITY_WPA2_WPA3, SECURITY_WPA2, SECURITY_OWE, SECURITY_OPEN };

struct ssid {
    struct str id;
    struct rt_place at;
    struct str name; /* as broadcast; empty: the id */
    struct ref segment;
    uint32_t bands; /* bits 1 << enum band */
    enum security security;
    bool isolate;       /* clients of it cannot talk to each other */
    ref_list equipment; /* only on these; empty: on all */
};

/* ---- people and devices ---- */

enum person_kind { PERSON_ADULT, PERSON_CHILD, PERSON_LODGER, PERSON_GUEST };

struct person {
    struct str id;
    struct rt_place at;
    struct str says;
    enum person_kind kind;
    bool works_from_home;
    struct ref room;    /* where they sleep or work; may be NO_REF */
    struct str profile; /* their traffic, of all their devices together, one at a time; empty: each device by itself */
};

enum link_kind { LINK_NONE, LINK_WIRED, LINK_WIFI, LINK_MESH };

/* What a device's radio can do. */
struct radio_ability {
    struct rt_place at;
    enum phy phy;
    uint32_t bands; /* bits 1 << enum band */
    double streams;
    double width_mhz;    /* widest channel; the least of this and the access point's is used */
    double power_dbm;    /* transmit power at the antenna */
    double gain_dbi;     /* antenna */
    double body_loss_db; /* hand, head, table */
    double noise_figure_db;
};

struct camera {
    struct rt_place at;
    double width_px, height_px, frames_per_s;
    struct str codec;    /* h264, h265, mjpeg */
    struct str quality;  /* low, normal, high */
    double rate_mbps;    /* given rate; NaN: computed from the picture */
    double motion_share; /* of the day in which something moves */
};

/* Where a service is offered, or used. */
struct service_use {
    struct rt_place at;
    struct str service; /* name of data/services.h or of the house's services */
    struct str with;    /* endpoint used; empty for an offer */
};

struct device {
    struct str id;
    struct rt_place at;
    struct str says;
    struct str kind;        /* a name of data/device_kinds.h: phone, camera, printer ... */
    struct ref owner;       /* person; NO_REF: the household's */
    struct ref room, floor; /* room gives the floor; floor alone outdoors */
    struct vec3 at_m;       /* z above the floor; NaN x: anywhere in its room */
    bool carried;           /* moves about the house */
    struct ref segment;
    enum link_kind link;
    struct radio_ability radio; /* for LINK_WIFI; defaults by kind */
    double speed_mbps;          /* needed on its cable; NaN: what the kind needs */
    double poe_class;           /* NaN: not powered over the cable */
    double power_w;             /* typical draw; NaN: by kind */
    struct str circuit;         /* of the mains, where it is plugged in; empty: not said */
    struct str mac;             /* empty: not known */
    bool varies_mac;            /* changes its MAC address by itself */
    struct str ipv4;            /* fixed address asked for; empty: none */
    LIST(struct service_use) offers, uses;
    struct str profile;   /* traffic profile; empty: by kind, or its owner's */
    struct camera camera; /* for kinds that take pictures; at.line 0: none */
    bool owned;           /* already there: costs nothing; default true */
    struct str part;      /* part of the parts file, if it is still to be bought */
};

struct group {
    struct str id;
    struct rt_place at;
    struct str says;
    str_list members; /* devices, groups or people (their devices) */
};

/* One state of a traffic source; the rest of the time it is silent. */
struct profile_state {
    struct rt_place at;
    struct str says;
    double down_mbps, up_mbps;
    struct ref with; /* a device: the other end; NO_REF: the internet */
    enum patience waits;
    double_list chance; /* 1, 24 (by hour of the day) or 168 values (by hour of the week, Monday 0 h first) */
};

struct profile {
    struct str id;
    struct rt_place at;
    LIST(struct profile_state) states;
};

/* ---- policy ---- */

/* A service of the house's own, beside the built-in table. */
struct own_service {
    struct str id;
    struct rt_place at;
    struct str says;
    struct str protocol; /* tcp, udp, icmp, icmpv6, gre, esp */
    str_list ports;      /* "443", "5000-5010"; empty: all */
};

struct day_exception {
    struct rt_place at;
    struct str from_date, to_date; /* YYYY-MM-DD, both included */
    bool holds;                    /* the hours hold on these days, or do not */
    struct str says;
};

/* A set of times of the week, in the house's time zone. */
struct hours {
    struct str id;
    struct rt_place at;
    struct str says;
    uint32_t days;                 /* bits, Monday = 1 ... Sunday = 64: the days on which it begins */
    double from_minute, to_minute; /* of the day; to <= from runs past midnight */
    LIST(struct day_exception) except;
};

enum endpoint_kind {
    END_NONE,
    END_ANYONE,
    END_INTERNET,
    END_GATEWAY,
    END_SEGMENT,
    END_GROUP,
    END_DEVICE,
    END_PERSON,
    END_NAME
};

/* Who a statement or promise speaks of. */
struct endpoint {
    enum endpoint_kind kind;
    uint32_t i;      /* index for segment, group, device, person */
    struct str name; /* as written; the internet name for END_NAME */
    struct rt_place at;
};
typedef LIST(struct endpoint) endpoint_list;

enum verdict { VERDICT_ALLOW, VERDICT_REFUSE };

/* One line of the policy. */
struct statement {
    struct str id; /* may be empty */
    struct rt_place at;
    struct str says;
    endpoint_list from, to;
    str_list services; /* empty: all */
    enum verdict verdict;
    struct ref hours; /* NO_REF: always */
    bool log;
};

enum relay_kind { RELAY_MDNS, RELAY_SSDP };

/* Devices of one segment may find services of another. */
struct relay {
    struct str id;
    struct rt_place at;
    struct str says;
    enum relay_kind kind;
    ref_list from, to; /* segments: who looks, where it finds */
    str_list services; /* DNS-SD types such as _ipp._tcp; empty: all */
};

/* The internet may start talk with a device. */
struct port_opening {
    struct str id;
    struct rt_place at;
    struct str says;
    struct ref device;
    struct str service;
    str_list from; /* address ranges; empty: anyone */
};

/* A tunnel into the house for its people. */
struct remote_access {
    struct str id;
    struct rt_place at;
    struct str says;
    struct ref segment;
    double port;
    ref_list people;
};

/* Interface name of a foreign ruleset -> segment (or the internet when NO_REF). */
struct interface_name {
    struct str id; /* the interface */
    struct rt_place at;
    struct ref segment;
};

#endif
