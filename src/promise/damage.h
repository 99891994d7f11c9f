/* damage.h - what is dead after something failed: the thing itself, and all that hung on it.
 *
 * An evaluation with damage judges the promises of the same house without the dead things; fields, proof and routes are those of the
 * whole house. */
#ifndef RT_PROMISE_DAMAGE_H
#define RT_PROMISE_DAMAGE_H

#include "wire/cable_tree.h"

/* kind, word of the house file */
#define FAILURE_KINDS(X)          \
    X(ACCESS_POINT, access_point) \
    X(CABLE, cable)               \
    X(SWITCH, switch)             \
    X(GATEWAY, gateway)           \
    X(LINE, line)                 \
    X(MAINS, mains)               \
    X(DISK, disk)

enum failure_kind {
#define X(upper, lower) FAILURE_##upper,
    FAILURE_KINDS(X)
#undef X
        FAILURE_KIND_COUNT
};

struct failure {
    enum failure_kind kind;
    uint32_t i;      /* equipment, cable or recording; of the mains: a circuit, 0: all; NO_REF: there is one alone */
    struct str says; /* "access point a2 (landing)" */
};

struct damage {
    struct failure failure;
    bool *dead_thing; /* equipment, then devices: without power, or gone itself */
    bool *dead_cable;
    bool *cut_off;    /* of each thing: alive, but without a way to the gateway */
    bool *dead_radio; /* of the evaluation's radios: dead, or its access point is cut off */
    bool line_dead;
    bool *disk_dead;        /* of house->recordings */
    struct cable_tree tree; /* what is left of it */
};

#endif
