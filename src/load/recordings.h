/* recordings.h - how long the disk lasts, what it bears, and where the pictures flow. */
#ifndef RT_LOAD_RECORDINGS_H
#define RT_LOAD_RECORDINGS_H

#include "base/run.h"
#include "house/house.h"

/* Rate of a camera, from what is given of it. */
struct camera_rate {
    double mbps;    /* while it records; NaN: not known */
    double share;   /* of the day that it records */
    bool is_given;  /* rate_mbps of the file; else by picture, frames and codec */
    struct str how; /* "2560 x 1440, 15 a second, h265: about 2.1 Mb/s" */
};

struct recording_life {
    uint32_t recording;                        /* of house->recordings */
    struct camera_rate *cameras;               /* as recording.cameras */
    double total_mbps;                         /* all at once */
    double gb_per_day;                         /* 1e9 bytes */
    double disk_gb;                            /* NaN: not known */
    double days;                               /* that fit; NaN: a fact is missing */
    double write_tb_per_year, endurance_years; /* NaN: the disk's endurance is not given */
    str_list missing;                          /* facts to give in the file */
};

struct camera_rate camera_rate_of(struct arena *a, const struct house *h, const struct device *d);
RT_MUST_CHECK enum rt_code recording_life_of(const struct run *run, const struct house *h, uint32_t recording,
                                             struct recording_life *out, struct rt_problems *p);

#endif
