/* space_int.h - shared by the sources of space.h. */
#ifndef RT_DESIGN_SPACE_INT_H
#define RT_DESIGN_SPACE_INT_H

#include <math.h>

#include "data/cabling.h"
#include "data/poe_classes.h"
#include "design/space.h"
#include "wire/cable_tree.h"

/* Watts of a switch's budget for what hangs on it: their sums in use and at the start, with what is promised to be left over of each,
 * must both fit.  Of one thing alone the larger counts. */
struct feed {
    double in_use_w, at_start_w;
};

/* A place where an access point may hang, before it is known whether a cable comes there. */
struct site_draft {
    uint32_t mount;
    uint32_t piece;   /* of space->pieces, that hangs there now; NO_REF */
    bool is_fixed;    /* it stays */
    uint32_t hub;     /* where its cable leads that is there; NO_REF: none is, or it is still to be bought */
    uint32_t cable;   /* that one, of asked->cables */
    bool is_fed;      /* over that cable, by a port of the hub */
    index_list parts; /* that may be bought for it */
    bool is_left_out; /* no cable comes there */
    uint32_t offer;   /* the one of what stays; NO_REF */
    struct feed feed; /* that one's */
    uint32_t index;   /* in the result */
    uint32_t first_pair, n_pairs;
};

struct device_draft {
    uint32_t device;
    uint32_t hub, cable; /* as of a site */
    bool is_fed;
    uint32_t thing; /* in the result; NO_REF */
    struct feed feed;
    uint32_t first_pair, n_pairs;
};

struct hub_draft {
    struct design_hub hub;
    uint32_t up, up_cable; /* the hub its cable leads to that is there; NO_REF */
    bool is_left_out;      /* no way leads to it */
    uint32_t index;        /* in the result */
    uint32_t first_pair, n_pairs;
};

/* A cable that might be laid, from a hub to a thing. */
struct pair {
    uint32_t hub;
    enum link_medium medium;
    bool is_between; /* two buildings */
    bool is_good;
    uint32_t cable; /* of the asking house */
    uint32_t cord;  /* part that does in place of it; NO_REF */
    int64_t price;
    double length_m;
    uint32_t cabling;
};

/* What a sort of cable must be. */
struct cabling_class {
    struct str category;
    bool outdoors;
};

struct space_maker {
    const struct run *run;
    struct arena *a;
    struct rt_problems *p;
    struct design_space *space;
    const struct house *h;  /* space->house */
    struct cable_tree tree; /* of the cables that are there */
    uint32_t spare;         /* ports promised to be free at each switch */
    /* promised to be left over when all is wired: of ports, of watts in use, of watts when all starts at once */
    double ports_share, watts_share, start_share;
    uint32_t n_file_mounts;
    uint32_t *mount_of;   /* of each equipment: where it hangs, or the mount made for it where it stands; NO_REF */
    double promised_mbps; /* of cables, the most that is promised */
    double length_share;  /* of the legal length that may be used: the rest is promised to be left over */
    bool wants_vlans;     /* more than one segment is in the house */
    uint32_t converter, protector, fibre; /* cheapest parts; NO_REF: none */
    double fastest_mbps;                  /* copper port among the switches in hand */
    bool *earths_differ;                  /* of each floor that stands for a building: mains are used in it */
    VEC(struct site_draft) sites;
    VEC(struct device_draft) devices;
    VEC(struct hub_draft) hubs;
    VEC(struct pair) pairs;
    struct house *asking; /* the house with a cable for each pair, and something at both ends */
    uint32_t n_asked_cables;
    struct cable_plan *plan;
    struct wire_links links;
    /* of the result */
    VEC(struct place_offer) offers;
    VEC(struct place_thing) things;
    VEC(struct place_link) place_links;
    VEC(struct design_link) design_links;
    VEC(struct place_cabling) cablings;
    VEC(struct cabling_class) classes; /* as cablings */
    VEC(struct place_switch) switches;
    bool failed;
};

static inline const struct part *maker_part(const struct space_maker *m, uint32_t part)
{
    return &m->h->parts.list.v[part];
}
static inline const struct part *equipment_part(const struct house *h, uint32_t e)
{
    return h->equipment.v[e].part.i == NO_REF ? NULL : &h->parts.list.v[h->equipment.v[e].part.i];
}
uint32_t maker_cheapest(const struct house *h, enum part_kind kind);
/* The cheapest cord of copper that is this long; NO_REF: none. */
uint32_t maker_cord(const struct house *h, double length_m);
/* Of a thing of that class (NULL: none) that draws at most max_w (NaN: not said) over so much cable. */
struct feed maker_feed(const struct space_maker *m, const struct poe_class *class, double max_w, double length_m);
static inline double feed_w(struct feed f) { return fmax(f.in_use_w, f.at_start_w); }
/* space_cables.c: the longest of these pairs' cables, or that of the old cable (NO_REF: none); what is not known counts as the longest
 * that is legal. */
double maker_longest_m(const struct space_maker *m, uint32_t first_pair, uint32_t n_pairs, uint32_t cable);
/* What a part costs with its fixing and what was not foreseen. */
RT_MUST_CHECK enum rt_code maker_piece_price(struct space_maker *m, uint32_t part, int64_t *out); /* the part alone */
RT_MUST_CHECK enum rt_code maker_part_price(struct space_maker *m, uint32_t part, uint32_t mount, int64_t *out);

/* space_hubs.c */
RT_MUST_CHECK enum rt_code maker_find_hubs(struct space_maker *m);
RT_MUST_CHECK enum rt_code maker_list_hubs(struct space_maker *m);
/* Is its cabinet bought whatever is chosen? */
bool maker_owes_cabinet(const struct space_maker *m, const struct design_hub *hub);
/* The hub that this equipment belongs to; NO_REF. */
uint32_t maker_hub_of(const struct space_maker *m, uint32_t equipment);
/* Where the cable of a thing (equipment, then devices) leads: the first hub on its way; *cable the one at the thing, *is_fed whether
 * nothing stands between.  NO_REF: it has no cable that leads to one. */
uint32_t maker_hub_behind(const struct space_maker *m, uint32_t thing, uint32_t *cable, bool *is_fed);

/* space_sites.c */
RT_MUST_CHECK enum rt_code maker_find_sites(struct space_maker *m);
RT_MUST_CHECK enum rt_code maker_list_offers(struct space_maker *m);

/* space_cables.c */
RT_MUST_CHECK enum rt_code maker_find_cables(struct space_maker *m);
/* space_links.c: marks hubs and sites that no cable reaches. */
void maker_leave_out(struct space_maker *m);
RT_MUST_CHECK enum rt_code maker_list_links(struct space_maker *m);

#endif
