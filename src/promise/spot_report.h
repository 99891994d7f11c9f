/* spot_report.h - everything that one spot hears: the answer to `signal`. */
#ifndef RT_PROMISE_SPOT_REPORT_H
#define RT_PROMISE_SPOT_REPORT_H

#include "base/json.h"
#include "promise/evaluation.h"

struct spot_radio {
    const struct ap_radio *radio;
    struct link link;
    path_list paths; /* strongest first */
    uint32_t n_paths_all;
};

struct spot_report {
    const struct evaluation *ev;
    uint32_t floor;
    struct vec3 at_m; /* z above the floor */
    const struct radio_ability *device;
    struct str device_name;
    double availability;
    LIST(struct spot_radio) radios; /* strongest first; those that the device can use */
};

/* Makes the report; max_paths for each radio, 0 for all.  The neighbours' cells count as noise for their share of the time.
 * Lives in ev->run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code spot_report_make(struct evaluation *ev, uint32_t floor, struct vec3 at_m,
                                            const struct radio_ability *device, struct str device_name,
                                            double availability, uint32_t max_paths, struct spot_report *out,
                                            struct rt_problems *p);

/* The object documented in docs/json.md under `signal`. */
void spot_report_write_json(struct json *j, const struct spot_report *r);
void spot_report_write_text(struct buf *out, const struct spot_report *r);

#endif
