#include "data/cabinets.h"

#include <math.h>

double cabinet_area_m2(enum cabinet_place place, double h, double w, double d)
{
    switch (place) {
    case CABINET_FREE:
        return 1.8 * h * (w + d) + 1.4 * w * d;
    case CABINET_ON_WALL:
        return 1.4 * w * (h + d) + 1.8 * h * d;
    case CABINET_FREE_ROW_END:
        return 1.4 * d * (h + w) + 1.8 * w * h;
    case CABINET_WALL_ROW_END:
        return 1.4 * h * (w + d) + 1.4 * w * d;
    case CABINET_FREE_ROW_MIDDLE:
        return 1.8 * w * h + 1.4 * w * d + d * h;
    case CABINET_WALL_ROW_MIDDLE:
        return 1.4 * w * (h + d) + d * h;
    case CABINET_WALL_ROW_ROOF_OVER:
        break;
    }
    return 1.4 * w * h + 0.7 * w * d + d * h;
}

/* W that a flow of 1 m3/h carries off for each kelvin. */
#define AIR_W_PER_K (1.2 * 1005.0 / 3600.0)

double cabinet_rise_k(double heat_w, double area_m2, double k_w_per_m2_k, double flow_m3_per_h)
{
    return heat_w / (k_w_per_m2_k * area_m2 + AIR_W_PER_K * flow_m3_per_h);
}

/* m3/h that rise by themselves at this difference. */
static double stack_m3_per_h(double slot_m2, double high_m, double rise_k)
{
    return 3600.0 * 0.65 * slot_m2 / sqrt(2.0) * sqrt(2.0 * 9.80665 * high_m * rise_k / 298.0);
}

double cabinet_rise_vented_k(double heat_w, double area_m2, double k_w_per_m2_k, double slot_m2, double high_m)
{
    double lo = 0.0, hi = heat_w / (k_w_per_m2_k * area_m2); /* closed is the most */
    for (int i = 0; i < 60; i++) {                           /* what is carried off grows with the rise */
        const double rise_k = (lo + hi) / 2.0;
        const double flow = stack_m3_per_h(slot_m2, high_m, rise_k);
        if ((k_w_per_m2_k * area_m2 + AIR_W_PER_K * flow) * rise_k < heat_w)
            lo = rise_k;
        else
            hi = rise_k;
    }
    return hi;
}

double cabinet_flow_m3_per_h(double heat_w, double area_m2, double k_w_per_m2_k, double rise_k)
{
    return fmax(heat_w / rise_k - k_w_per_m2_k * area_m2, 0.0) / AIR_W_PER_K;
}
