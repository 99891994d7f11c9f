#include "wire/inside.h"

#include <math.h>

#include "base/units.h"
#include "wire/power_int.h"

#define EDGE_M 0.1 /* a cabinet of so many units is higher than they */
#define UNIT_M 0.04445

struct cabinet_size cabinet_size_of(const struct house *h, uint32_t cabinet)
{
    const struct part *p = part_of_equipment(h, cabinet);
    struct cabinet_size s = { 0.57, 0.40, 0.45, false };
    if (!p)
        return s;
    s.h_m = given_or(p->height_m, is_given(p->rack_units) ? p->rack_units * UNIT_M + EDGE_M : s.h_m);
    s.w_m = given_or(p->width_m, s.w_m);
    s.d_m = given_or(p->depth_m, s.d_m);
    s.is_known = is_given(p->height_m) && is_given(p->width_m) && is_given(p->depth_m);
    return s;
}

static bool holds(const struct house *h, uint32_t cabinet, const struct device *d)
{
    const struct equipment *c = &h->equipment.v[cabinet];
    const struct cabinet_size s = cabinet_size_of(h, cabinet);
    return c->floor.i != NO_REF && c->floor.i == d->floor.i && is_given(c->at_m.x) && is_given(d->at_m.x) &&
           hypot(d->at_m.x - c->at_m.x, d->at_m.y - c->at_m.y) <= fmin(s.w_m, s.d_m) / 2.0 &&
           fabs(d->at_m.z - c->at_m.z) <= s.h_m / 2.0;
}

uint32_t cabinet_of_device(const struct house *h, uint32_t device)
{
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct part *p = part_of_equipment(h, e);
        if (p && p->kind == PART_CABINET && holds(h, e, &h->devices.v[device]))
            return e;
    }
    return NO_REF;
}
