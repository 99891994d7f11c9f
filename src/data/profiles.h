/* profiles.h - the traffic that is assumed of a device of which the house file says nothing more than its kind.
 *
 * A profile has a few states; in an hour of the day a device is in each with some chance, else silent.  The rates are published
 * ones, with their source beside them (letters: tests/reference/video.csv); how often which hour sees them is our own choice
 * (common practice, no source), shaped by one of a few curves over the day.  Any of it can be stated in the house file. */
#ifndef RT_DATA_PROFILES_H
#define RT_DATA_PROFILES_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

/* How long a state bears to wait for its rate. */
enum patience {
    WAITS_NEVER,     /* a call, a game: each packet at once (ITU-T G.114) */
    WAITS_BRIEFLY,   /* a film, a page: on average within seconds */
    WAITS_TILL_NIGHT /* a backup, an update: any hour of the day will do */
};
/* Word of the house file: "never". */
const char *patience_name(enum patience p);

/* The other end of a state. */
enum default_end {
    WITH_INTERNET,
    WITH_RECORDER /* the one that records this camera; without any, the device has another profile */
};

enum { HOURS_OF_DAY = 24, DEFAULT_STATES_MAX = 5 };

/* Shares of the busiest hour, by hour of the day. */
struct day_curve {
    const char *name;
    double share[HOURS_OF_DAY];
};

struct default_state {
    const char *says;
    double down_mbps, up_mbps;
    enum patience waits;
    enum default_end with;
    double chance;                             /* in its busiest hour */
    const struct day_curve *weekday, *weekend; /* times this; NULL: not then */
    const char *source;                        /* of the rates */
};

struct default_profile {
    const char *name;
    const char *says;    /* "a telephone in the pocket" */
    const char *kinds;   /* of device, blanks between */
    bool takes_pictures; /* what the house file says of its camera goes before the rates and chances here */
    uint32_t n_states;
    struct default_state states[DEFAULT_STATES_MAX];
};

const struct default_profile *default_profiles(uint32_t *n);
const struct day_curve *day_curves(uint32_t *n);
/* Of a kind of device; of one that takes pictures, as a recorder of the house takes them, or as they go to a store on the
 * internet.  NULL: no such kind. */
const struct default_profile *default_profile_find(struct str device_kind, bool is_recorded);
/* Chance of a state in an hour of the week, Monday 0 h first. */
double default_chance(const struct default_state *s, unsigned hour_of_week);

#endif
