#include "wire/poe.h"

#include <math.h>

struct poe_flow poe_from_source(double source_w, double source_v, double loop_ohm)
{
    const double current_a = source_w / source_v, loss_w = current_a * current_a * loop_ohm;
    if (loss_w > source_w)
        return (struct poe_flow){ 0 };
    return (struct poe_flow){ .is_possible = true,
                              .current_a = current_a,
                              .source_w = source_w,
                              .loss_w = loss_w,
                              .load_w = source_w - loss_w,
                              .load_v = source_v - current_a * loop_ohm };
}

struct poe_flow poe_from_load(double load_w, double source_v, double loop_ohm)
{
    const double under_root = source_v * source_v - 4.0 * loop_ohm * load_w;
    if (under_root < 0.0)
        return (struct poe_flow){ 0 };
    /* Written so that nothing cancels where the loop is short. */
    const double current_a = 2.0 * load_w / (source_v + sqrt(under_root));
    return (struct poe_flow){ .is_possible = true,
                              .current_a = current_a,
                              .source_w = source_v * current_a,
                              .loss_w = current_a * current_a * loop_ohm,
                              .load_w = load_w,
                              .load_v = source_v - current_a * loop_ohm };
}

double poe_deliverable_w(const struct poe_class *class, const struct poe_class *port, double pair_set_ohm,
                         enum poe_limit *limit)
{
    const double source_v = fmax(class->source_v, port->source_v), loop_ohm = pair_set_ohm / class->pair_sets;
    double least_w = class->device_w;
    *limit = POE_LIMIT_CLASS;
    const struct poe_flow flow = poe_from_source(class->source_w, source_v, loop_ohm);
    if (flow.load_w < least_w) {
        least_w = flow.load_w;
        *limit = POE_LIMIT_LOSS;
    }
    const double at_voltage_w =
        loop_ohm > 0.0 ? (source_v - class->device_v) / loop_ohm * class->device_v : (double)INFINITY;
    if (at_voltage_w < least_w) {
        least_w = at_voltage_w;
        *limit = POE_LIMIT_VOLTAGE;
    }
    return least_w;
}
