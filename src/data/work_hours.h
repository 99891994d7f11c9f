/* work_hours.h - how long the work of a network takes a fitter who knows it.
 *
 * Common practice, no source: rough figures for a house that is lived in, tools and tidying included. */
#ifndef RT_DATA_WORK_HOURS_H
#define RT_DATA_WORK_HOURS_H

#include <stdbool.h>

/* name, hours, for each: piece or metre, in words */
#define WORK_TASKS(X)                                                          \
    X(SET_UP_ACCESS_POINT, 0.75, false, "fixing and setting up access points") \
    X(SET_UP_SWITCH, 0.5, false, "setting up switches")                        \
    X(SET_UP_GATEWAY, 1.0, false, "setting up the gateway")                    \
    X(SET_UP_CAMERA, 1.0, false, "fixing and aiming cameras")                  \
    X(SET_UP_RECORDER, 1.0, false, "setting up recorders")                     \
    X(SET_UP_BATTERY, 0.25, false, "setting up batteries")                     \
    X(SET_UP_CABINET, 1.5, false, "hanging cabinets")                          \
    X(SET_UP_BRIDGE, 1.5, false, "fixing and aiming bridges")                  \
    X(SET_UP_OTHER, 0.25, false, "setting up small parts")                     \
    X(FIX, 0.25, false, "fixing at mounts")                                    \
    X(HOLE, 0.4, false, "drilling holes")                                      \
    X(BOARD, 0.4, false, "lifting boards")                                     \
    X(END_IN_OUTLET, 0.4, false, "fitting and testing sockets")                \
    X(END_IN_PLUG, 0.15, false, "ending and testing cables without a socket")  \
    X(LAY_RISER, 0.04, true, "laying cable in risers")                         \
    X(LAY_CEILING_VOID, 0.06, true, "laying cable above ceilings")             \
    X(LAY_UNDER_FLOOR, 0.08, true, "laying cable under floors")                \
    X(LAY_SKIRTING, 0.06, true, "laying cable along skirtings")                \
    X(LAY_DUCT, 0.03, true, "drawing cable into ducts")                        \
    X(LAY_SURFACE, 0.1, true, "fixing cable on walls")                         \
    X(LAY_TRENCH, 0.05, true, "laying cable in trenches")                      \
    X(LAY_ATTIC, 0.04, true, "laying cable in attics")                         \
    X(LAY_ANYWHERE, 0.06, true, "laying cable")

enum work_task {
#define X(name, hours, per_m, says) TASK_##name,
    WORK_TASKS(X)
#undef X
        TASK_COUNT
};

struct work_time {
    double hours;
    bool per_m; /* for each metre; else for each piece */
    const char *says;
};

const struct work_time *work_time(enum work_task task);

#endif
