/* layer2.h - what lies below the gateway's rules: ports and their VLANs (IEEE 802.1Q), SSIDs, sockets that a stranger can
 * reach, and who talks with whom without the gateway ever seeing it.
 *
 * Cables and equipment make a tree that hangs from the gateway.  A port carries the segments of what lies behind it, no
 * others: one of them untagged where a single device is at the far end, all of them tagged towards equipment that tells
 * VLANs apart.  What the house file says of a port (`ports` of the equipment) is kept and checked against that. */
#ifndef RT_REACH_LAYER2_H
#define RT_REACH_LAYER2_H

#include "reach/addressing.h"

/* ---- which cable is in which port ---- */

/* Number of the port (from 1, as it stands on the part) at either end of a cable; 0: it is a device's only port, or none is free.
 * The file's choice, or ours. */
struct port_pick {
    unsigned from, to;
    bool from_chosen, to_chosen; /* by us */
};

/* ---- the port table ---- */

enum port_mode {
    PORT_EMPTY,  /* no cable: to be switched off */
    PORT_ACCESS, /* one segment, untagged */
    PORT_TRUNK,  /* several, or one that is tagged */
    PORT_LINE,   /* the gateway's, to the internet line */
    PORT_THROUGH /* of a thing that only passes on what comes (injector, converter, outlet, bridge) */
};

struct l2_port {
    uint32_t equipment; /* whose port it is */
    unsigned number;    /* as it stands on the part, from 1 */
    const struct port_group *group;
    uint32_t cable; /* NO_REF: none */
    bool number_chosen, setting_given;
    enum port_mode mode;
    uint32_t far_equipment,
        far_device;    /* at the other end, things that only pass on skipped; one of them, or neither */
    uint32_t far_port; /* index into layer2.ports; NO_REF: a device's */
    uint32_t
        untagged; /* segment whose frames bear no tag here (native VLAN of a trunk); NO_REF: such frames are dropped */
    index_list tagged;    /* segments, ascending */
    bool rests;           /* its cable is a second way, silent until the first fails */
    bool towards_gateway; /* the way to the gateway leads out of this port */
};

/* ---- SSIDs ---- */

/* One SSID on one radio. */
struct l2_cell {
    uint32_t equipment;
    enum band band;
};

struct l2_ssid {
    uint32_t segment;
    struct str name; /* as broadcast */
    bool isolate;
    LIST(struct l2_cell) cells; /* by equipment, then band; empty: it is on no access point */
};

/* ---- sockets within a stranger's reach ---- */

enum reach_of { REACH_OPEN_GROUND, REACH_OUTBUILDING, REACH_VISITORS, REACH_LODGER };

/* Somebody who stands there can plug something of their own in. */
struct l2_socket {
    enum reach_of whose;
    uint32_t port;              /* index into layer2.ports: the port that the plug gets to */
    uint32_t equipment, device; /* what one unplugs for it, or whose free port it is; one of them */
    uint32_t room, floor;       /* NO_REF: not known */
    double height_m;            /* above the floor; NaN: not known */
    bool within_arms_reach;     /* at most 2.5 m up (common practice, no source) */
    index_list segments;        /* what one gets to there */
    struct str says;            /* "the socket of the doorbell, outdoors: cameras" */
};

/* ---- what is wrong ---- */

/* kind, word */
#define L2_FINDINGS(X)                                                                                     \
    X(NO_GATEWAY, no_gateway)             /* nothing joins the segments */                                 \
    X(SECOND_GATEWAY, second_gateway)     /* only one is planned */                                        \
    X(NO_SUCH_PORT, no_such_port)         /* a cable in a port that the part does not have */              \
    X(NO_FREE_PORT, no_free_port)         /* a cable for which no port is left that fits */                \
    X(LOOP, loop)                         /* a cable closes a ring */                                      \
    X(RESTS_ALONE, rests_alone)           /* a second way without a first */                               \
    X(UNPLUGGED, unplugged)               /* equipment or a wired device without a way to the gateway */   \
    X(NOT_DELIVERED, not_delivered)       /* a device's port does not carry its segment */                 \
    X(NOT_NEEDED, not_needed)             /* a trunk carries a segment that nobody behind it needs */      \
    X(ENDS_DISAGREE, ends_disagree)       /* the two ends of a cable are set differently */                \
    X(BRIDGED, bridged)                   /* two segments meet in equipment that cannot keep them apart */ \
    X(SSID_NOWHERE, ssid_nowhere)         /* an SSID on no access point */                                 \
    X(SSID_TOO_MANY, ssid_too_many)       /* more than the access point can carry */                       \
    X(SSID_BAND, ssid_band)               /* 6 GHz takes WPA3 or OWE only */                               \
    X(SSID_WEAK, ssid_weak)               /* security weaker than the segment deserves */                  \
    X(NO_RADIO, no_radio)                 /* a device on Wi-Fi that no SSID of its segment reaches */      \
    X(ISOLATION_GAP, isolation_gap)       /* clients of different access points are not kept apart */      \
    X(TRUSTED_OUTDOORS, trusted_outdoors) /* a stranger's plug gets into a segment that is trusted */      \
    X(OPEN_SOCKET, open_socket)           /* a stranger's plug gets into a segment that takes anyone */    \
    X(NOBODY_MANAGES, nobody_manages)     /* equipment whose settings nobody can get to */

enum l2_finding_kind {
#define X(upper, lower) L2_##upper,
    L2_FINDINGS(X)
#undef X
        L2_FINDING_COUNT
};

struct l2_finding {
    enum l2_finding_kind kind;
    bool is_error; /* it cannot work, or is not what the file says; else it works, with this to know */
    struct rt_place at;
    struct str says, hint; /* what is wrong; what to do */
};

struct net; /* the tree of cables: layer2_int.h */

struct layer2 {
    const struct address_plan *plan;
    const struct net *net;
    const struct port_pick *picks;    /* of each cable */
    LIST(struct l2_port) ports;       /* by equipment, then number: every port of every part with ports */
    uint32_t *first_port;             /* of each equipment, and one more: the end */
    struct l2_ssid *ssids;            /* as house->ssids */
    LIST(struct l2_socket) sockets;   /* by port */
    LIST(struct l2_finding) findings; /* by line, then kind */
    uint32_t gateway;                 /* equipment; NO_REF: none */
    uint32_t *port_of_device;         /* the port a wired device hangs on; NO_REF: none */
};

/* Makes the tables.  picks: one for each of house->cables, by whoever weighs power, speed and price (wire/ports.h); NULL: ports of
 * the file, and for the others the lowest free one that takes the plug.  Of the plan only `h` and the VLANs of the segments are used.  What is wrong with the
 * house is a finding.  Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code layer2_plan(const struct run *run, const struct address_plan *plan,
                                       const struct port_pick *picks, struct layer2 **out, struct rt_problems *p);
/* Adds the findings to the problems: errors and warnings, each with its place. */
void layer2_report(const struct layer2 *l2, struct rt_problems *p);

const char *l2_finding_name(enum l2_finding_kind kind); /* "bridged" */
const char *port_mode_name(enum port_mode mode);        /* "access" */
/* "switch port 4", by what people call the equipment. */
struct str l2_port_words(struct arena *a, const struct layer2 *l2, uint32_t port);

/* ---- the way of a packet inside the house, for `ask` ---- */

enum l2_step_kind {
    STEP_DEVICE,
    STEP_AIR, /* an SSID on a radio */
    STEP_CABLE,
    STEP_ACCESS_POINT,
    STEP_SWITCH,
    STEP_THROUGH, /* injector, converter, outlet, bridge */
    STEP_GATEWAY
};

/* One thing on the way. */
struct l2_step {
    enum l2_step_kind kind;
    uint32_t which;   /* device, SSID, cable or equipment */
    struct str id;    /* of it, as in the file */
    unsigned in, out; /* ports; 0: none (radio, a device's only port) */
    enum band band;   /* STEP_AIR */
    uint32_t segment; /* that it travels in */
    unsigned vlan;
    bool tagged;     /* STEP_CABLE: with a tag on this stretch */
    struct str says; /* "switch, in at port 4, out at port 16" */
};
typedef LIST(struct l2_step) l2_way;

/* From the device to the gateway.  access_point: for a device on Wi-Fi, the one it is on (equipment); NO_REF: the nearest in a
 * straight line that carries an SSID of its segment on a band it has, on its own floor if there is one.  An empty list: there is no way (a finding
 * says why).  *failed as in packet.h. */
l2_way layer2_way(struct arena *a, const struct layer2 *l2, uint32_t device, uint32_t access_point, bool *failed);

enum l2_talk {
    TALK_BY_GATEWAY, /* different segments: the gateway's rules decide */
    TALK_UNFILTERED, /* one segment: they talk without meeting the gateway */
    TALK_ISOLATED,   /* one segment, but client isolation refuses it */
    TALK_NONE        /* one of them is on no segment, or has no way to the other */
};

/* Can two devices talk without the gateway?  *because: in words, for people.  *failed as in packet.h. */
enum l2_talk layer2_talk(struct arena *a, const struct layer2 *l2, uint32_t from, uint32_t to, struct str *because,
                         bool *failed);
/* The way between two devices of one segment that meet below the gateway: up from `from`, down to `to`. */
l2_way layer2_way_between(struct arena *a, const struct layer2 *l2, uint32_t from, uint32_t to, bool *failed);

#endif
