/* antenna.c - how an antenna lies in the house, and what it sends into a direction. */
#include "base/units.h"
#include "radio/ap_radio.h"

struct antenna_pose antenna_pose_of(const struct house *h, const struct equipment *e)
{
    const struct part *part = e->part.i == NO_REF ? NULL : &h->parts.list.v[e->part.i];
    const struct mount *mount = e->mount.i == NO_REF ? NULL : &h->mounts.v[e->mount.i];
    const enum mount_surface meant = part ? part->surface : SURFACE_WALL;
    const enum mount_surface surface = mount ? mount->surface : meant;
    const double faces_rad = units_rad_from_deg(given_or(e->faces_deg, mount ? given_or(mount->faces_deg, 0.0) : 0.0));
    const double tilt_rad = units_rad_from_deg(given_or(e->tilt_deg, mount ? given_or(mount->tilt_deg, 0.0) : 0.0));
    const struct vec3 ahead = { sin(faces_rad), cos(faces_rad), 0.0 };
    const double c = cos(tilt_rad), s = sin(tilt_rad);
    if (surface == SURFACE_SHELF && meant == SURFACE_CEILING) /* a ceiling part lying on its back */
        return (struct antenna_pose){ .front = { 0.0, 0.0, 1.0 }, .up = ahead };
    if (surface == SURFACE_CEILING || (surface == SURFACE_EAVES && meant == SURFACE_CEILING))
        return (struct antenna_pose){ .front = { ahead.x * s, ahead.y * s, -c },
                                      .up = { ahead.x * c, ahead.y * c, s } };
    return (struct antenna_pose){ .front = { ahead.x * c, ahead.y * c, -s }, .up = { ahead.x * s, ahead.y * s, c } };
}

/* Linear between the given angles, level beyond the outermost. */
static double interpolate(const double_list *x, const double_list *y, double at)
{
    const uint32_t n = x->n < y->n ? x->n : y->n;
    if (at <= x->v[0])
        return y->v[0];
    for (uint32_t i = 1; i < n; i++)
        if (at <= x->v[i]) {
            const double span = x->v[i] - x->v[i - 1];
            return span > 0.0 ? y->v[i - 1] + (at - x->v[i - 1]) / span * (y->v[i] - y->v[i - 1]) : y->v[i];
        }
    return y->v[n - 1];
}

static double largest(const double_list *list)
{
    double most = list->v[0];
    for (uint32_t i = 1; i < list->n; i++)
        most = fmax(most, list->v[i]);
    return most;
}

/* Round the back the cut goes on from its last angle to its first. */
static double azimuth_dbi(const struct antenna *a, double at_deg)
{
    const double_list *x = &a->azimuth_deg, *y = &a->azimuth_dbi;
    const double first = x->v[0], last = x->v[x->n - 1];
    if (at_deg >= first && at_deg <= last)
        return interpolate(x, y, at_deg);
    const double span = first + 360.0 - last;
    const double k = span > 0.0 ? (at_deg > last ? at_deg - last : at_deg + 360.0 - last) / span : 0.0;
    return y->v[x->n - 1] + k * (y->v[0] - y->v[x->n - 1]);
}

double antenna_gain_dbi(const struct antenna *antenna, struct antenna_pose pose, struct vec3 direction)
{
    if (!antenna->elevation_deg.n || !antenna->elevation_dbi.n)
        return 0.0;
    const double length = vec3_len(direction);
    const double cos_front = length > 0.0 ? vec3_dot(direction, pose.front) / length : 1.0;
    const double elevation_deg = units_deg_from_rad(acos(fmax(-1.0, fmin(1.0, cos_front))));
    double gain = interpolate(&antenna->elevation_deg, &antenna->elevation_dbi, elevation_deg);
    if (antenna->azimuth_deg.n && antenna->azimuth_deg.n == antenna->azimuth_dbi.n && length > 0.0) {
        const struct vec3 right = vec3_cross(pose.front, pose.up);
        const double at_deg = units_deg_from_rad(atan2(vec3_dot(direction, right), vec3_dot(direction, pose.front)));
        gain += azimuth_dbi(antenna, at_deg) - largest(&antenna->azimuth_dbi);
    }
    return gain;
}

double antenna_peak_gain_dbi(const struct antenna *antenna)
{
    return antenna->elevation_dbi.n ? largest(&antenna->elevation_dbi) : 0.0;
}
