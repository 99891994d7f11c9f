/* poe.h - watts through a loop of copper, solved exactly. */
#ifndef RT_WIRE_POE_H
#define RT_WIRE_POE_H

#include <stdbool.h>

#include "data/poe_classes.h"

struct poe_flow {
    bool is_possible; /* false: the loop cannot carry it; the rest is zero */
    double current_a, source_w, loss_w, load_w, load_v;
};

/* The source gives source_w at source_v: I = P / V.  loop_ohm is that of all pair sets together. */
struct poe_flow poe_from_source(double source_w, double source_v, double loop_ohm);
/* The load takes load_w whatever its voltage: the smaller root of R I^2 - V I + P = 0, impossible beyond V^2 / (4 R). */
struct poe_flow poe_from_load(double load_w, double source_v, double loop_ohm);

/* What decides how much a device can have. */
enum poe_limit { POE_LIMIT_CLASS, POE_LIMIT_LOSS, POE_LIMIT_VOLTAGE };

/* Most that a device run as `class` can take behind pair_set_ohm, the source at its least voltage (that of the port's class,
 * at least the class's own): the class's own maximum, what is left of the source's watts, and what keeps the
 * device's voltage, whichever is least. */
double poe_deliverable_w(const struct poe_class *class, const struct poe_class *port, double pair_set_ohm,
                         enum poe_limit *limit);

#endif
