/* damage.h - what is dead after one thing failed: the thing itself, all that it fed, and what hangs behind it.
 *
 * An evaluation with damage (evaluation.h) judges the promises of the same house without the dead things; fields, proof, routes and
 * watts are those of the whole house.  Only what is lost counts: a thing that had neither power nor a way to the gateway before is
 * not told of. */
#ifndef RT_PROMISE_DAMAGE_H
#define RT_PROMISE_DAMAGE_H

#include "base/run.h"
#include "wire/cable_tree.h"
#include "wire/power.h"

struct evaluation;
struct stations;
struct energy_plan; /* wire/energy.h */

/* kind, word of the house file, what people call it */
#define FAILURE_KINDS(X)                          \
    X(ACCESS_POINT, access_point, "access point") \
    X(CABLE, cable, "cable")                      \
    X(SWITCH, switch, "switch")                   \
    X(GATEWAY, gateway, "gateway")                \
    X(LINE, line, "line")                         \
    X(MAINS, mains, "mains")                      \
    X(DISK, disk, "disk")

enum failure_kind {
#define X(upper, lower, words) FAILURE_##upper,
    FAILURE_KINDS(X)
#undef X
        FAILURE_KIND_COUNT
};
enum { ALL_FAILURE_KINDS = (1 << FAILURE_KIND_COUNT) - 1 };

struct failure {
    enum failure_kind kind;
    uint32_t i;           /* equipment, or cable; NO_REF: the line, mains, or a disk that is built into its recorder */
    uint32_t recording;   /* of such a disk: the first of house->recordings on it; else NO_REF */
    struct str circuit;   /* of the mains; empty: all of the house */
    double after_minutes; /* of the mains: batteries that last no longer are empty; 0: it has just gone */
    struct str id;        /* of the house file; "line", "mains", or the circuit; of a built-in disk the recorder's */
    struct str says;      /* "access point a2 (landing)" */
};
typedef LIST(struct failure) failure_list;

/* Why a thing is dead. */
enum death {
    DEATH_NONE,   /* it lives */
    DEATH_FAILED, /* it is what failed */
    DEATH_MAINS,  /* without mains, and no battery feeds it */
    DEATH_SOURCE, /* what feeds it over its cable is dead */
    DEATH_CABLE   /* the cable over which it was fed is */
};

struct damage {
    const struct house *h;
    struct failure failure;
    const struct cable_tree *before;  /* of the whole house */
    const struct power_plan *power;   /* likewise */
    const struct energy_plan *energy; /* of what is there; NULL: no battery is absent, that of the whole house */
    bool *dead_thing;                 /* equipment, then devices */
    enum death *death;                /* of each thing */
    bool *dead_cable;
    bool *cut_off;    /* of each thing: it lives, but has lost its way to the gateway */
    bool *dead_radio; /* of the evaluation's radios: dead, or of an access point that is cut off and so of no use */
    uint32_t n_radios, n_dead_radios;
    bool gateway_dead, line_dead;
    bool *pictures_lost;    /* of house->recordings: the disk with its pictures is dead */
    struct cable_tree tree; /* what is left of it */
    const struct stations
        *stations; /* where devices on Wi-Fi are now; NULL: no radio is lost, all stay where they were */
    uint32_t *
        island; /* of each thing: things with the same number are still joined by cable; NO_REF: dead, or on no cable */
};

/* All single failures of these kinds (bits 1 << enum failure_kind), by kind, each in the order of the file.  Mains: all of the house,
 * then each circuit that is named.  Lives in the arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code failures_of_house(struct arena *a, const struct house *h, unsigned kinds, failure_list *out,
                                             struct rt_problems *p);
const char *failure_kind_name(enum failure_kind kind); /* word of the house file */

/* What one failure leaves.  `whole` is the evaluation of the whole house.  Lives in its run's arena.  Errors: RT_NOMEM, and those of
 * evaluation_energy() and, where a radio is lost, evaluation_stations(). */
RT_MUST_CHECK enum rt_code damage_make(struct evaluation *whole, const struct failure *failure, struct damage **out,
                                       struct rt_problems *p);

/* Several things at once that are not there: as house->equipment and house->cables. */
struct absence {
    bool *equipment, *cables;
};
/* What a house is without them, as if each had failed; failure.kind is FAILURE_KIND_COUNT, its index NO_REF.  Errors: as damage_make(). */
RT_MUST_CHECK enum rt_code damage_of_absence(struct evaluation *whole, const struct absence *absence,
                                             struct damage **out, struct rt_problems *p);

static inline bool damage_has_lost(const struct damage *d, uint32_t thing)
{
    return d->dead_thing[thing] || d->cut_off[thing];
}
/* How the part of the house hangs together in which this thing is: seen from the gateway if that lives there, else from the equipment
 * of that part with the most cables.  False: the arena's ceiling. */
RT_MUST_CHECK bool damage_tree_at(struct arena *a, const struct damage *d, uint32_t thing, struct cable_tree *out);

/* "recorder has no power: switch fed it", of a thing that is dead or cut off; ids and what people call them.  Lives in the arena. */
struct str damage_words(struct arena *a, const struct damage *d, uint32_t thing);
struct str damage_thing_id(const struct house *h, uint32_t thing);
struct str damage_thing_words(const struct house *h, uint32_t thing); /* what people call it */

/* ---- the mains (damage_mains.c) ---- */

/* Things that live on cells of their own for hours: carried ones, sensors, locks. */
bool device_has_own_cells(const struct house *h, uint32_t device);
/* False for a socket on the wall, a bare cabinet, a cord, and what has cells of its own. */
bool thing_needs_power(const struct house *h, uint32_t thing);
/* Has the provider's box a plug? */
bool line_box_needs_power(const struct house *h);
/* The circuits that the house file names, each once.  NULL list: the arena's ceiling. */
str_list circuits_of_house(struct arena *a, const struct house *h);

#endif
