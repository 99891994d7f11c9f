/* route_space.h - the spaces of a house in which cable may lie, as a network for route_net.h.
 *
 * Lines (skirtings, ducts, risers, drops down a wall) and areas (voids); nodes lie where one can pass from one to the other.
 * In an area every node sees every other that a straight cable reaches without leaving the outline: the shortest way inside
 * (Lozano-Perez and Wesley 1979, from memory), so that lengths are exact for the outline given. */
#ifndef RT_WIRE_ROUTE_SPACE_H
#define RT_WIRE_ROUTE_SPACE_H

#include "house/house.h"
#include "wire/cables.h"
#include "wire/route_net.h"

/* What an edge of the network is in the house. */
struct space_way {
    enum run_kind kind;
    uint32_t run;   /* of house->runs; NO_REF: generated */
    uint32_t floor; /* NO_REF: between floors */
    bool outdoors, is_cord;
    double mains_m;
    struct str says;
};

struct space_work {
    enum opening_work kind;
    uint32_t construct, floor;
    struct vec3 at_m;
    struct str says;
};

struct line_mark {
    double t_m; /* along the line */
    uint32_t node;
};

enum line_use { LINE_OF_FILE, LINE_SKIRTING, LINE_DROP };

struct space_line {
    enum line_use use;
    struct vec3 *p;
    uint32_t n;
    uint32_t way, floor, room; /* room NO_REF: none, or several */
    double price_per_m;
    VEC(struct line_mark) marks;
};

struct space_area {
    vec2_list outline;
    double z_m, price_per_m;
    uint32_t way, under, over; /* floors below and above it; NO_REF: none */
    bool is_open;              /* not behind boards or a ceiling: along beams */
    VEC(uint32_t) nodes;       /* inside */
    VEC(uint32_t) doors;       /* where one gets in; joined to the node of the same place in `insides` */
};

/* Where a piece of equipment (first) or a device stands, and where its cables end. */
struct space_thing {
    bool is_placed, is_cabled;
    uint32_t floor, room, node;
    struct vec3 at_m; /* above the datum */
    double cord_m;    /* the longest cord at it; each cable uses its own only */
};

struct space {
    const struct run *run;
    const struct house *h;
    struct arena *a;
    struct route_net net;
    VEC(struct vec3) at_m; /* of the nodes, above the datum */
    VEC(struct space_way) ways;
    VEC(struct space_work) works; /* as net.works */
    VEC(struct space_line) lines;
    VEC(struct space_area) areas;
    struct space_thing *things; /* equipment, then devices */
    bool failed;                /* the arena's ceiling */
};

/* Builds the whole network; false: the arena's ceiling. */
bool space_build(struct space *s);

/* ---- route_space.c: the pieces ---- */

uint32_t space_node(struct space *s, struct vec3 at_m);
uint32_t space_way(struct space *s, struct space_way way);
/* Adds a work; those of one edge are added just before it. */
void space_hole(struct space *s, uint32_t construct, uint32_t floor, struct vec3 at_m);
void space_board(struct space *s, uint32_t floor, struct vec3 at_m);
/* A hole through each wall that the straight line crosses. */
void space_wall_holes(struct space *s, struct vec3 from_m, struct vec3 to_m);
/* The same, and one through each floor or ceiling that it passes but at their holes (stairs). */
void space_holes(struct space *s, struct vec3 from_m, struct vec3 to_m);
/* Between joists: a hole through each wall of masonry, which goes on up to the boards above; studs end below. */
void space_void_holes(struct space *s, struct vec3 from_m, struct vec3 to_m);
/* An edge that takes the works added since `first_work`. */
void space_edge(struct space *s, uint32_t a, uint32_t b, uint32_t way, double price_per_m, uint32_t first_work);
/* The same with a length of its own. */
void space_edge_of(struct space *s, uint32_t a, uint32_t b, uint32_t way, double price_per_m, double length_m,
                   uint32_t first_work);
/* A cord of that length from a thing to an outlet: no fixed cable, so it costs nothing here. */
void space_cord(struct space *s, uint32_t a, uint32_t b, uint32_t way, double cord_m);
uint32_t space_add_line(struct space *s, struct space_line line);
/* The node of a line that is nearest to the point. */
uint32_t space_line_node(struct space *s, uint32_t line, struct vec3 at_m);
/* The way into an area above or below the point; ROUTE_NONE: too far outside. */
uint32_t space_area_door(struct space *s, uint32_t area, struct vec2 at_m);
/* Edges along all lines and within all areas, once all nodes are there. */
void space_close_lines(struct space *s);
void space_close_areas(struct space *s);
/* Nearest point of a line, and the distance. */
double space_line_nearest(const struct space_line *line, struct vec3 at_m, struct vec3 *nearest_m);
/* Nearest point of an outline's area, and the distance (0 inside). */
double space_outline_nearest(vec2_list outline, struct vec2 at_m, struct vec2 *nearest_m);

/* ---- route_runs.c: runs of the file and generated ones; route_ends.c: from the things to them ---- */

void space_runs(struct space *s);
void space_join_runs(struct space *s);
/* A drop down a wall at this place, joined to the areas above and below and the skirting of its room; the line.  `base_m` above the
 * floor: 0, or the head of the opening over which it ends, where there is nothing below to join. */
uint32_t space_drop(struct space *s, const struct wall *wall, struct vec2 at_m, double base_m);
/* Drops where a wall stands on another: ways from floor to floor. */
void space_stacked_drops(struct space *s);
/* The floor whose slab is this floor's ceiling; NO_REF: none. */
uint32_t space_floor_above(const struct house *h, uint32_t floor);
/* The construct over a floor's rooms; NO_REF: none known. */
uint32_t space_ceiling(const struct house *h, uint32_t floor);
/* The foot of a point on a stretch of wall. */
struct vec2 space_foot(struct vec2 a, struct vec2 b, struct vec2 at_m);
void space_ends(struct space *s);
/* Of the things: that of a cable's end. */
uint32_t space_thing_of(const struct house *h, const struct cable_end *end);

/* ---- data of the work: common practice, no source; all are asked for or may be given in the house file ---- */

#define PRICE_BOARD 10.0 /* to lift a board and put it back, house currency */
#define PRICE_DROP_PER_M 5.0
#define PRICE_SKIRTING_PER_M 5.0
#define PRICE_SURFACE_PER_M 4.0
#define PRICE_VOID_PER_M 4.0
#define PRICE_ATTIC_PER_M 2.0
#define PRICE_CABLE_MIN_PER_M 0.05 /* a metre of cable counts at least this much, so that ways do not wander */
#define ROD_REACH_M 3.0            /* a cable is pushed so far through a void between two lifted boards */
#define AREA_REACH_M 1.5           /* from the edge of a void's outline to a drop beside it */
#define LINE_REACH_M 1.0           /* from one run to another or to a thing, clipped to the wall */
#define CLIMB_M 4.0                /* from a run up the wall to the beams */
#define UNDER_BOARDS_M 0.20        /* cable lies so far below the walking surface ... */
#define OVER_CEILING_M 0.10        /* ... or above the ceiling */
#define SKIRTING_HEIGHT_M 0.10
#define OUTLET_HEIGHT_M 0.30
#define ON_WALL_M 0.40 /* a thing this near to a wall hangs on it or stands against it */

/* The price of a hole: the construct's, or 3 for boards on studs and joists, 6 and 40 more for each metre of masonry. */
double space_hole_price(const struct construct *c);
/* Is it of boards, studs or joists, so that cable can lie inside? */
bool space_is_hollow(const struct construct *c);
/* Has it boards of timber, that can be lifted? */
bool space_is_boarded(const struct construct *c);
/* A ceiling over which no floor lies: is it the roof itself, with what keeps out the rain, and no space over it? */
bool space_is_roof(const struct construct *c);

#endif
