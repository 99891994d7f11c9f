/* space.h - what a design may choose from in a house: sites, parts, hubs, cables, and what the promises ask of them.
 *
 * Mounts of the file that are for access points, and generated ones (ceilings: the middle of each room and a grid, clear of walls,
 * lamps and sloping roofs; walls where an outlet may be; eaves outdoors), none in rooms that the household keeps free of equipment,
 * none where no cable can come. */
#ifndef RT_DESIGN_SPACE_H
#define RT_DESIGN_SPACE_H

#include "base/units.h"
#include "design/placing.h"
#include "promise/evaluation.h"
#include "wire/building_links.h"

#define DESIGN_SECONDS 30.0
#define DESIGN_GAP 0.01
#define DESIGN_GRID_M 3.0

struct design_options {
    bool anew;              /* as if nothing were bought: equipment, cables and batteries of the file are left out */
    bool generates;         /* mounts beside those of the file; default true */
    bool allows_radar;      /* channels with radar duty may be used */
    double seconds;         /* for everything; default 30 */
    double gap;             /* default 0.01 */
    double battery_reserve; /* batteries are chosen for a load larger by this share than today's */
    double grid_m;          /* between generated ceiling mounts of large rooms; default 3 */
};

struct design_site {
    uint32_t mount;    /* of space->house->mounts */
    bool is_generated; /* that mount is not in the file */
    uint32_t thing;    /* of placing.things; NO_REF: what hangs there stays as it is, without a cable */
};

/* Where switches stand: with the gateway, in another cabinet, in another building. */
struct design_hub {
    uint32_t room, floor;
    struct vec3 at_m;      /* above the floor */
    uint32_t building;     /* cable_building_of() its floor */
    uint32_t cabinet;      /* of house->equipment, there already; NO_REF */
    uint32_t gateway;      /* of house->equipment; NO_REF: none is there */
    index_list switches;   /* of house->equipment, there already; as placing.hubs[].there */
    uint32_t gateway_part; /* of the core, to be bought: the cheapest that will do, in placing.owing; NO_REF */
    /* To be bought if anything chosen for it is made for a rack: in the price of each such switch, in placing.owing if the gateway is
     * one; NO_REF: none. */
    uint32_t cabinet_part, cabinet_mount;
};

/* What a link of placing.links is in the house. */
struct design_link {
    enum link_medium medium;
    uint32_t cable;     /* of asked->cables, there already (price 0); NO_REF: a new one */
    uint32_t converter; /* part that stands at both ends of fibre, joined to switch and switch by a cord; NO_REF */
    uint32_t cord;      /* part that is the whole cable, from a switch to what stands beside it; NO_REF: a fixed one */
    uint32_t protector; /* part that stands at both ends of copper between two buildings; NO_REF */
    double cord_hub_m, cord_thing_m; /* of the fixed cable, which leads from the hub to the thing */
};

/* The cords of a new cable: at the hub, at an access point or another hub, at a device. */
#define DESIGN_CORD_AT_HUB_M 0.5
#define DESIGN_CORD_AT_SITE_M 0.5
#define DESIGN_CORD_AT_DEVICE_M 2.0

/* Is it made for a rack, so that it wants a cabinet? */
static inline bool design_wants_cabinet(const struct part *p)
{
    return p->surface == SURFACE_CABINET || is_given(p->rack_units);
}

struct design_space {
    const struct house *before; /* as the file says */
    const struct house *asked;  /* as the file says, or stripped by `anew` */
    const struct house *house;  /* the same with generated mounts behind its own */
    struct design_options options;
    LIST(struct design_site) sites;
    LIST(struct design_hub) hubs;   /* as placing.hubs; the core is the first */
    LIST(struct design_link) links; /* as placing.links */
    index_list pieces;              /* equipment of house: access points that are there, fixed ones too */
    struct placing placing;         /* needs are empty until needs_make() */
};

/* The house without what was bought (`anew`): no equipment, cables, batteries; devices, promises and wishes stay.  Recordings lose
 * their disks, SSIDs the equipment they were bound to.  Promises and recordings keep the names of equipment they speak of: the
 * design gives them to what takes its place, or drops them (fit.h); a list of names that became empty would speak of everything.
 *  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code house_strip(const struct run *run, const struct house *h, struct house **out,
                                       struct rt_problems *p);

/* h->mounts, then the generated ones; the other members are those of h.  At most 12 on a floor and 60 in all, none in a building in
 * which nothing is promised; named after their rooms ("ceiling_landing_2").  Fixing costs what it does in the median at the house's own
 * mounts on that surface; without any, what bill.h makes of paid work, or of own work as much as on its other surfaces.  Heights and
 * distances are common practice (mounts_int.h).  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code mounts_generate(const struct run *run, const struct house *h,
                                           const struct design_options *options, struct house **out,
                                           struct rt_problems *p);

/* Sites, offers, hubs, things, links, works, cablings and switches.
 *
 * Prices are as the bill would have them (wire/bill.h), the share for what was not foreseen in each of them: so each is rounded by
 * itself, and a sum may differ from the bill's by half a unit for each piece.  Every cable goes its own cheapest way; a real house lays
 * its cables together, which may cost less.  The cord from the gateway to a switch of the core stands in that switch's price.  What is
 * there and stays costs nothing here; if it is still to be bought it stands in `owing`.
 *
 * `headroom_share` is what growth promises ask of ports; watts asked of a port are scaled so that with the same share what power
 * promises ask of the watts in use, and growth of those at the start, is there too.
 *
 * Links that no way leads to, that are too long for what is promised or for which a run of the file has no room left are not offered,
 * nor are sites without any.
 *
 * Errors: RT_NOMEM, RT_CANCELLED, those of cables_plan_alone(); RT_MISSING where nothing can be designed at all (no access point or
 * switch among the parts, no place for a switch: what to add to the file). */
RT_MUST_CHECK enum rt_code space_make(const struct run *run, const struct house *h, struct design_options options,
                                      struct design_space **out, struct rt_problems *p);

#endif
