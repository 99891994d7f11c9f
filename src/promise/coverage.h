/* coverage.h - how much of a promised room reaches a value, and where it is worst. */
#ifndef RT_PROMISE_COVERAGE_H
#define RT_PROMISE_COVERAGE_H

#include "promise/promise.h"

/* A cell of a grid, and its centre with z above the floor. */
struct spot {
    uint32_t grid, ix, iy;
    struct vec3 at_m;
};

/* The value judged at a cell, larger is better, -INFINITY where there is nothing; returns the radio of fields->radios that
 * decides it, or NO_REF. */
typedef uint32_t cell_judge(const void *user, const struct fields *f, uint32_t grid, uint32_t ix, uint32_t iy,
                            double *value);

/* What a device meets at a cell, for people: what is judged may be made up of both, and is then a figure that nobody reads. */
struct cell_figures {
    double there;    /* towards the device */
    double way_back; /* NaN: not asked for */
};
typedef struct cell_figures cell_tell(const void *user, const struct fields *f, uint32_t grid, uint32_t ix,
                                      uint32_t iy);

/* What a promise about rooms asks for, in the terms of its own kind. */
struct room_demand {
    cell_judge *judge;
    cell_tell *tell; /* NULL: the judged value is what is met */
    const void *user;
    double threshold;
    const char *unit;     /* of the margin: value less threshold */
    const char *key;      /* of what is met, in the evidence, unit included: "level_dbm" */
    const char *back_key; /* likewise of the way back; NULL: there is none */
    int decimals;
};

struct room_coverage {
    uint32_t room;
    uint32_t n_cells;
    double share;   /* of the area with value >= threshold */
    double reached; /* the value that the promised share of the area reaches */
    double worst;
    struct spot spot; /* where it is worst */
};

struct coverage {
    struct room_coverage *rooms;
    uint32_t n_rooms;
    uint32_t worst;    /* index of the room with the least `reached` */
    double margin;     /* of that room: reached less threshold */
    bool kept;         /* every room that can be judged reaches the promised share by itself */
    uint32_t unjudged; /* a promised room in which no cell lies; NO_REF: all can be judged */
};

/* Is the room among those that a promise about rooms names? */
bool room_is_meant(const struct promise *promise, uint32_t room);
/* Where a room is judged, at the height that is promised; NO_REF: its floor has no grid. */
uint32_t coverage_grid_of(const struct house *h, const struct fields *f, const struct promise *promise, uint32_t room);
/* A cell of the room where somebody can be: nobody holds a phone within masonry or a water tank, or above the roof. */
bool cell_is_in_room(const struct house *h, const struct grid *g, uint32_t room, uint32_t ix, uint32_t iy);
/* How many of a room's cells must reach the value, that a share of its area does: at least one.  n_cells > 0. */
uint32_t cells_wanted(double share, uint32_t n_cells);
/* Asks in a field for the cells of all rooms that promises about rooms mean. */
void coverage_want(const struct house *h, struct fields *fields);

/* Judges every room of the promise.
 * Returns RT_OK with n_rooms 0 if no room has a cell.  Errors: RT_NOMEM; RT_MISSING: the field was not asked for in a room. */
RT_MUST_CHECK enum rt_code coverage_of_promise(const struct run *run, const struct house *h, const struct fields *f,
                                               const struct promise *promise, const struct room_demand *demand,
                                               struct coverage *out, struct rt_problems *p);

/* Judges every room of a promise of the kind `signal` in one field, as its evaluator does in a house of which nothing has failed.
 * n_rooms 0 as well if its kind of device has no radio.  Errors: those of coverage_of_promise(). */
RT_MUST_CHECK enum rt_code signal_coverage(const struct run *run, const struct house *h, const struct fields *f,
                                           const struct promise *promise, struct coverage *out, struct rt_problems *p);

/* What decided a promise about rooms. */
struct decision {
    bool is_made;                 /* false: there was nothing to judge, and the result is complete */
    struct cell_figures met;      /* at the worst spot */
    const struct ap_radio *radio; /* that decides there; NULL: none serves the device */
    uint32_t floor;
    struct vec3 at_m; /* z above the floor */
};

/* Judges at the evaluation's estimate, then at the opposite end of the wall losses if that could change the verdict, and
 * fills state, margin, unit and the common part of the evidence.  Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code judge_rooms(struct evaluation *ev, const struct promise *promise,
                                       const struct room_demand *demand, struct promise_result *out,
                                       struct decision *decision, struct rt_problems *p);

#endif
