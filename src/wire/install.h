/* install.h - what whoever pulls the cables has to know: each way step by step, each hole and board with a number, two
 * dimensions and a diameter, and each place where cable goes up or down, with the same number on every sheet.
 *
 * Nothing here is decided: it reads a finished plan (wire/cables.h).  Lengths are the plan's. */
#ifndef RT_WIRE_INSTALL_H
#define RT_WIRE_INSTALL_H

#include "wire/cables.h"

/* A hole is no wider than needed: its cables fill at most this share of it, so that they are pulled without force (common
 * practice, no source; rules for conduits of power cable say 0.31 to 0.53, from memory). */
#define INSTALL_FILL_SHARE 0.40
#define INSTALL_CABLE_MM 7.0    /* of a cable whose part does not tell its outer diameter */
#define INSTALL_RISE_M 0.25     /* what goes up or down by less is no place of its own */
#define INSTALL_TOGETHER_M 0.15 /* upright ways this near to one another are one place */

/* A distance on the plan from the face of a wall. */
struct install_dim {
    double m;
    uint32_t wall;      /* of house->walls */
    struct vec2 foot_m; /* where it is measured from */
};

/* One of plan->work. */
struct install_work {
    uint32_t number; /* from 1: holes and boards each have their own row of numbers */
    uint32_t wall;   /* the hole goes through; NO_REF: a floor, a ceiling, or a board */
    struct install_dim dims[2];
    uint32_t n_dims;       /* along a wall: 1 */
    double above_m;        /* above its floor; negative: below it */
    double thickness_m;    /* of what is drilled; 0 for boards */
    double diameter_mm;    /* of the bit; 0 for boards */
    bool is_diameter_sure; /* every cable's own diameter is known */
    bool is_outer;         /* open air, or nothing of the house, on the other side of the wall */
};

/* A cord hangs from one thing to the other. */
enum install_heading { INSTALL_ALONG, INSTALL_UP, INSTALL_DOWN, INSTALL_CORD };

/* A stretch of one cable as one would say it. */
struct install_step {
    enum install_heading heading;
    uint32_t run; /* of house->runs; NO_REF: generated */
    enum run_kind kind;
    uint32_t floor;
    struct vec3 from_m, to_m; /* above the datum */
    double length_m;
    struct str says; /* without "(generated)" */
    uint32_t rise;   /* of install->rises; NO_REF */
};

/* Work that a cable passes, and at which of its steps; in the order of the way. */
struct install_pass {
    uint32_t work, step;
    double along_m; /* from the step's beginning */
};

struct install_cable {
    LIST(struct install_step) steps; /* their lengths sum to those of the legs */
    LIST(struct install_pass) passes;
    double legs_m; /* all steps */
};

/* One cable's part of a place where cable goes up or down. */
struct install_piece {
    uint32_t cable, step;
    double low_m, high_m; /* above the datum */
};

struct install_rise {
    struct vec2 at_m;
    double low_m, high_m;
    uint32_t floor;    /* where it begins below; NO_REF: in no floor's outline */
    uint32_t building; /* the lowest floor of the building that it is in or at; NO_REF: at none */
    struct install_dim dims[2];
    uint32_t n_dims;
    LIST(struct install_piece) pieces;
};

struct install {
    const struct cable_plan *plan;
    struct install_work *work;    /* as plan->work */
    struct install_cable *cables; /* as house->cables */
    LIST(struct install_rise) rises;
    LIST(uint32_t) trenches; /* runs of the file: trenches, and ducts outdoors, that some cable uses; numbers as here */
};

/* Everything above; lives in the arena.  NULL: its ceiling. */
struct install *install_make(struct arena *a, const struct cable_plan *plan);

/* The smallest bit of the usual sizes that leaves room for `area_mm2` of cables at the fill share.  mm */
double install_bit_mm(double area_mm2);

/* ---- words; texts live in the arena, empty at its ceiling ---- */

/* An id as words: "front_ground" reads "front ground". */
struct str install_id_words(struct arena *a, struct str id);
/* What people call a floor, and a construct. */
struct str install_floor_name(const struct house *h, uint32_t floor);
struct str install_construct_name(struct arena *a, const struct house *h, uint32_t construct);
/* "H3", "B1". */
struct str install_work_mark(struct arena *a, const struct install *in, uint32_t work);
/* "hall, 0.15 m from party left ground": where a rise is. */
struct str install_rise_words(struct arena *a, const struct install *in, uint32_t rise);
/* "in hall wall: 0.64 m from front ground, 1.15 m above the floor"; "ceiling: 1.44 m from hall wall, 1.54 m from front ground". */
struct str install_place_words(struct arena *a, const struct install *in, uint32_t work);
/* "up 1.45 m to +2.70, ground floor (R5): boxed corner at the party wall [B8]": +2.70 is above that floor; marked with * if it was generated. */
struct str install_step_words(struct arena *a, const struct install *in, uint32_t cable, uint32_t step);
/* What holds for all such work, a paragraph each. */
const char *const *install_cautions(uint32_t *n);
/* Where a thing hangs or stands (z above the floor), height apart: "0.56 m from hall wall, 1.20 m from front ground"; outdoors on a
 * building: "outside of front first, 1.10 m from its corner with right first"; far from walls: its place on the plan. */
struct str install_spot_words(struct arena *a, const struct house *h, uint32_t floor, struct vec3 at_m);
/* The wall it hangs on (of house->walls); NO_REF: none is near. */
uint32_t install_spot_wall(const struct house *h, uint32_t floor, struct vec3 at_m);
/* What to take care of with this hole or board. */
struct str install_caution(const struct install *in, uint32_t work);
/* "category 6, 6.1 mm". */
struct str install_kind_words(struct arena *a, const struct house *h, uint32_t cable);
/* "switch:4, cupboard under the stairs, 1.25 m up"; its port is the file's, else the one picked (0: it has one). */
struct str install_end_words(struct arena *a, const struct house *h, const struct cable_end *end, unsigned picked);
/* Outdoors, between buildings, distance to mains, length given: what else there is to say; may be empty. */
struct str install_notes(struct arena *a, const struct install *in, uint32_t cable);

#endif
