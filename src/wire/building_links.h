/* building_links.h - copper, fibre or radio between two buildings: which would do, at what price, and why.
 *
 * Of each cable that leaves a building, and of each outbuilding with things in it to which none leads. */
#ifndef RT_WIRE_BUILDING_LINKS_H
#define RT_WIRE_BUILDING_LINKS_H

#include "wire/links.h"

enum link_medium { MEDIUM_COPPER, MEDIUM_FIBRE, MEDIUM_RADIO, MEDIUM_COUNT };

struct building_option {
    enum link_medium medium;
    bool works;        /* fast enough over this length, and its parts are in hand */
    bool discouraged;  /* copper between two earths */
    bool mains_needed; /* at the far end: it brings no power to what wants it, or needs some itself */
    double speed_mbps; /* 0: does not carry at all, or no part is in hand */
    double price;      /* parts, and digging where nothing is there; NaN: not known */
    struct str says;   /* why, in plain words */
};

struct building_link {
    uint32_t cable;             /* of house->cables; NO_REF: none leads there yet */
    uint32_t near_floor, floor; /* cable_building_of() the end nearer the gateway, and the other */
    double length_m;            /* of cable with its cords, as routed; about, where no way is there */
    double cords_m;             /* of it */
    double dig_m;               /* of trench; 0: a way is there */
    double air_m;               /* between the outer walls */
    struct str in_the_way;      /* of radio; empty: nothing of the file */
    double needed_mbps;         /* by what lies behind it */
    bool wants_power;           /* what it ends at takes its power over the cable */
    bool earths_differ;         /* things there have mains of their own */
    bool is_protected;          /* as many protectors stand in each building as copper cables leave it */
    enum link_medium chosen;    /* of the file's cable; MEDIUM_COUNT: none */
    struct building_option options[MEDIUM_COUNT]; /* best first: what works, then not discouraged, then the price */
};

struct building_links {
    LIST(struct building_link) v;
};

/* Prices are of the cheapest parts in hand, owned or not.  A way is there if the cable has one, or would get one through the runs of
 * the file.  Radio: free-space loss (ITU-R P.525) at the middle of the band with 10 dB to spare, the weakest level of IEEE 802.11 for
 * a rate (data/wifi.h), 0.8 of it for payload (common practice, no source); whether the country allows the power is not judged, nor
 * are trees.  Earths and surge protection: IEC 60364-4-44 and -5-54, from memory; local rules decide.  Lives in run->arena.
 * Errors: those of cables_plan(). */
RT_MUST_CHECK enum rt_code building_links_compare(const struct run *run, const struct cable_plan *plan,
                                                  const struct wire_links *links, struct building_links *out,
                                                  struct rt_problems *p);

const char *link_medium_name(enum link_medium m); /* copper, fibre, radio */
/* Is it copper of the file between two buildings, without a protector in each? */
bool building_link_is_bare(const struct building_link *l);

#endif
