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
    double power_dbm; /* conducted, all ports together, after the country's limit */
    double eirp_dbm;  /* power plus the antenna's largest gain */
    double noise_figure_db;
    struct vec3 at_m; /* z above the datum */
    struct antenna_pose pose;
    const struct antenna *antenna;
    bool channel_was_chosen; /* the file left it open */
    bool needs_radar_detection;
};

typedef LIST(struct ap_radio) ap_radio_list;

/* Widths taken where the file gives none (or less, if the part has less): narrow at 2.4 GHz, where three channels must do for
 * a whole street; as wide elsewhere as commonly used (common practice, no source). */
#define AP_WIDTH_2G4_MHZ 20
#define AP_WIDTH_5G_MHZ 80
#define AP_WIDTH_6G_MHZ 160

/* Resolves the radios that are on, of all access points and gateways; ordered by equipment, then band.  Lives in run->arena.
 *
 * A channel the file leaves open becomes the lowest the country allows there without radar duty, at the default width or,
 * where that fails, the next narrower; then the lowest with radar duty; then one on which the country lets only those send
 * who hear another (with a warning).  A given channel is a centre number or one of its 20 MHz channels.  A power left open
 * is the most that part and country allow.
 *
 * Warns where the country lowers a power the file asks for, and once if the country's rules are not known (rules NULL: then
 * the parts' own powers hold).  Errors, all in one go, each at its setting's place: RT_RANGE (no such channel; a channel or
 * width that part or country does not allow; an indoor channel outdoors; more power than the part has), RT_CONFLICT (a
 * setting for a radio the part does not have), RT_NOMEM. */
RT_MUST_CHECK enum rt_code ap_radios_resolve(const struct run *run, const struct house *h,
                                             const struct regdb_country *rules, ap_radio_list *out,
                                             struct rt_problems *p);

/* The file's n-th setting for the radios of a band, or NULL. */
const struct radio_setting *radio_setting_nth(const struct equipment *e, enum band band, uint32_t n);
/* Does it hang or stand where channels for indoors may not be used? */
bool ap_stands_outdoors(const struct house *h, const struct equipment *e);

/* Pose of an equipment's antennas from its mount, facing and tilt. */
struct antenna_pose antenna_pose_of(const struct house *h, const struct equipment *e);
/* Gain in dBi towards `direction` (from the antenna; any length > 0). */
double antenna_gain_dbi(const struct antenna *antenna, struct antenna_pose pose, struct vec3 direction);
double antenna_peak_gain_dbi(const struct antenna *antenna);

#endif
