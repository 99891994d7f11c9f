/* ap_radio.h - the radios of the house: every band of every access point in `equipment`, with its channel, power and
 * antenna made definite, within what the country allows. */
#ifndef RT_RADIO_AP_RADIO_H
#define RT_RADIO_AP_RADIO_H

#include "house/house.h"
#include "radio/regdb.h"

/* How an antenna's axes lie in the house.  `front` is its axis (out of the part's front), `up` its upright; unit, at
 * right angles.  A ceiling part: front down, up along faces_deg.  A wall part: front along faces_deg, tilted down. */
struct antenna_pose {
    struct vec3 front, up;
};

struct ap_radio {
    uint32_t equipment;  /* index into house->equipment */
    uint32_t part_radio; /* index into that part's radios */
    enum band band;
    enum phy phy;
    double channel; /* centre channel number */
    double centre_hz, width_hz;
    double streams;
    double power_dbm; /* conducted, after the country's limit */
    double eirp_dbm;  /* power plus the antenna's largest gain */
    double noise_figure_db;
    struct vec3 at_m; /* z above the datum */
    struct antenna_pose pose;
    const struct antenna *antenna;
    bool channel_was_chosen; /* the file left it open: the lowest the country allows without radar duty */
    bool needs_radar_detection;
};

typedef LIST(struct ap_radio) ap_radio_list;

/* Resolves all radios that are on, ordered by equipment, then band.  Lives in run->arena.  Warns where the country lowers
 * the power; errors (RT_RANGE at the setting's place) where a channel or width is not allowed in the country.  rules may
 * be NULL (no regulatory database on this machine): then the parts' own powers hold and a warning says so. */
RT_MUST_CHECK enum rt_code ap_radios_resolve(const struct run *run, const struct house *h,
                                             const struct regdb_country *rules, ap_radio_list *out,
                                             struct rt_problems *p);

/* Pose of an equipment's antennas from its mount, facing and tilt. */
struct antenna_pose antenna_pose_of(const struct house *h, const struct equipment *e);
/* Gain in dBi towards `direction` (from the antenna; any length > 0). */
double antenna_gain_dbi(const struct antenna *antenna, struct antenna_pose pose, struct vec3 direction);
double antenna_peak_gain_dbi(const struct antenna *antenna);

#endif
