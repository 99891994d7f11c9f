/* building.h - the bricks and mortar part of the model: what the house file says about floors, walls and rooms.
 *
 * Plain data, filled by house_read().  Every object keeps its id (the key it stands under) and its place in the file.
 * References are indices into the arrays of struct house; NO_REF stands for 'not given'.  Numbers that were left out and
 * have no default are NaN (is_given()).  Metres throughout; x east, y north, z up from the house's datum. */
#ifndef RT_HOUSE_BUILDING_H
#define RT_HOUSE_BUILDING_H

#include "base/array.h"
#include "base/geom.h"
#include "base/problem.h"
#include "base/str.h"
#include "data/separation.h"

#define NO_REF UINT32_MAX

/* The index of another object, and where the file names it. */
struct ref {
    uint32_t i; /* NO_REF: not given */
    struct rt_place at;
};

typedef LIST(struct ref) ref_list;
typedef LIST(struct vec2) vec2_list;
typedef LIST(struct vec3) vec3_list;
typedef LIST(double) double_list;
typedef LIST(struct str) str_list;

/* One material of a construct; layers are listed from one face to the other. */
struct layer {
    struct rt_place at;
    struct str material; /* a name of data/materials.h */
    double thickness_m;
};

/* Measured loss at normal incidence; scales the slab at every angle (DESIGN section 4, honest walls). */
struct measured_loss {
    struct rt_place at;
    double band_ghz; /* 2.4, 5 or 6 */
    double loss_db;
    double low_db, high_db; /* NaN: as loss_db */
    struct str source;
};

struct construct {
    struct str id;
    struct rt_place at;
    struct str says;
    LIST(struct layer) layers;
    LIST(struct measured_loss) measured;
    double hole_price; /* to drill one cable hole, house currency; NaN: not given */
    bool is_built_in;  /* from the library of constructs, not from the file */
};

struct floor_hole {
    struct rt_place at;
    struct str what; /* stairs, void, hatch ... */
    vec2_list outline;
};

/* A storey of the house or of an outbuilding, or open ground. */
struct floor {
    struct str id;
    struct rt_place at;
    struct str says;
    double level_m;                /* its walking surface above the datum */
    double height_m;               /* walking surface to ceiling */
    vec2_list outline;             /* the storey's outline, not closed (the last point joins the first) */
    struct ref slab;               /* construct under this floor; NO_REF: none (open ground) */
    struct ref ceiling;            /* construct above it where no other floor's slab is; NO_REF: none */
    LIST(struct floor_hole) holes; /* in the slab under this floor */
    bool open_air;                 /* garden, yard, terrace */

    /* Not of the file but of all outlines together (storeys.c). */
    uint32_t above; /* the floor whose slab is this one's ceiling; NO_REF: none */
    uint32_t
        building; /* the first floor in the file of those that stand over one another with it; NO_REF: open ground */
};

enum opening_kind { OPENING_DOOR, OPENING_WINDOW, OPENING_GAP };

struct opening {
    struct str id; /* may be empty */
    struct rt_place at;
    enum opening_kind kind;
    double at_m; /* from the wall's first point to the near jamb, along the line */
    double width_m;
    double sill_m, head_m; /* above the floor */
    struct ref construct;  /* leaf or pane; NO_REF for a gap */
    bool stands_open;      /* a door usually left open counts as a gap */
};

/* A wall of one construct along a line of two or more points (the middle of the wall). */
struct wall {
    struct str id;
    struct rt_place at;
    struct ref floor, construct;
    vec2_list line;
    double base_m;   /* lower edge above the floor */
    double height_m; /* upper edge above the floor; NaN: up to the floor's height */
    LIST(struct opening) openings;
};

enum plane_kind { PLANE_ROOF, PLANE_STAIR, PLANE_OTHER };

/* A flat, possibly sloping sheet: roof slope, underside of a stair. */
struct plane {
    struct str id;
    struct rt_place at;
    struct ref floor, construct;
    enum plane_kind kind;
    vec3_list outline; /* flat within 1 cm; z above the floor */
};

/* Something solid in a room: chimney breast, tank, fridge (outline), or a flat thing such as a mirror (line). */
struct obstacle {
    struct str id;
    struct rt_place at;
    struct ref floor, construct;
    vec2_list outline; /* either outline or line is given */
    vec2_list line;
    double from_m, to_m; /* lower and upper edge above the floor */
};

enum room_use {
    USE_LIVING,
    USE_KITCHEN,
    USE_DINING,
    USE_BEDROOM,
    USE_OFFICE,
    USE_BATH,
    USE_HALL,
    USE_STAIRS,
    USE_STORE,
    USE_UTILITY,
    USE_GARAGE,
    USE_WORKSHOP,
    USE_BARN,
    USE_PLANT,
    USE_OUTDOOR,
    USE_OTHER
};

/* What the household does not want to see in a room. */
enum keep_free { FREE_EQUIPMENT = 1, FREE_OUTLETS = 2, FREE_CABLE = 4 };

struct room {
    struct str id;
    struct rt_place at;
    struct str says; /* what the household calls it; empty: the id */
    struct ref floor;
    vec2_list outline;
    enum room_use use;
    uint32_t keep_free; /* bits of enum keep_free */
};

enum run_kind {
    RUN_RISER,
    RUN_CEILING_VOID,
    RUN_UNDER_FLOOR,
    RUN_SKIRTING,
    RUN_DUCT,
    RUN_SURFACE,
    RUN_TRENCH,
    RUN_ATTIC
};

/* A space in which cable may be laid. */
struct cable_run {
    struct str id;
    struct rt_place at;
    struct str says;
    enum run_kind kind;
    ref_list floors;   /* the floors it serves; a riser names two or more */
    vec3_list line;    /* along a line (z above the datum) ... */
    vec2_list outline; /* ... or an area (a void); a riser gives one point */
    double mains_m;    /* distance kept to mains cables in it; NaN: not known */
    enum divider mains_divider;
    bool mains_screened; /* the mains cables have a screen or an armour */
    double price_per_m;  /* extra cost of laying cable here */
    double area_mm2;     /* room for cable; NaN: not limited */
    bool outdoors;
};

enum mount_surface { SURFACE_CEILING, SURFACE_WALL, SURFACE_SHELF, SURFACE_EAVES, SURFACE_POLE, SURFACE_CABINET };
enum mount_use { MOUNT_ACCESS_POINT = 1, MOUNT_CAMERA = 2, MOUNT_OUTLET = 4, MOUNT_CABINET = 8 };

/* A place where something may be fixed. */
struct mount {
    struct str id;
    struct rt_place at;
    struct ref floor, room; /* room may be NO_REF outdoors */
    struct vec3 at_m;       /* z above the floor */
    enum mount_surface surface;
    double faces_deg; /* compass-like: 0 along +y, 90 along +x; NaN: not given */
    double tilt_deg;  /* 0 hangs level from a ceiling or stands square on a wall; positive looks down */
    uint32_t use;     /* bits of enum mount_use */
    double price;     /* of fixing something here; NaN: not given */
    bool outdoors;
};

#endif
