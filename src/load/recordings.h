/* recordings.h - how long the pictures of the cameras are kept, and what that asks of the disk. */
#ifndef RT_LOAD_RECORDINGS_H
#define RT_LOAD_RECORDINGS_H

#include "base/run.h"
#include "house/house.h"

#define GB_PER_MBPS_DAY 10.8 /* 1e6 / 8 * 86400 bytes */

struct camera_rate {
    uint32_t device;
    double mbps;    /* while it is recorded; NaN: not known */
    double share;   /* of the day that it is recorded */
    bool is_given;  /* rate_mbps of the file; else width x height x frames x bits of a pixel (data/picture_codecs.h) */
    struct str how; /* "2560 x 1440, 15 a second, h265"; mbps NaN: what to say of it in the file */
};

struct recording_life {
    uint32_t recording;               /* of house->recordings */
    LIST(struct camera_rate) cameras; /* as recording.cameras */
    double peak_mbps;                 /* all at once */
    double gb_per_day;                /* 1e9 bytes; of this recording */
    double disk_gb;         /* printed size that pictures are kept on, mirrored ones counted once; NaN: not known */
    double disk_gb_per_day; /* that all recordings on the same disk write */
    double days;            /* that fit; infinite: nothing is written; NaN: a fact is missing */
    double write_tb;        /* that the disk bears in its life which is worn out first; NaN: not given */
    double endurance_years; /* of that disk, each taking its share by size, mirrored ones all; NaN likewise */
    str_list missing;       /* facts to give in the file */
};

/* What a device's camera takes: its own section, else its part's. */
struct camera_rate camera_rate_of(struct arena *a, const struct house *h, uint32_t device, bool motion_only);

/* days = disk * usable share / volume of a day; 1 Mb/s for a day are 10.8 GB.  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code recording_life_of(const struct run *run, const struct house *h, uint32_t recording,
                                             struct recording_life *out, struct rt_problems *p);

/* One row for each camera of each recording, with the days that its recording is kept (RFC 4180).  Errors: as recording_life_of(). */
RT_MUST_CHECK enum rt_code recordings_write_csv(const struct run *run, const struct house *h, struct buf *out,
                                                struct rt_problems *p);

/* Do two recordings write on the same disk?  Each does on its own. */
bool recordings_share_disk(const struct house *h, uint32_t a, uint32_t b);

/* The thing that records, as in wire/cable_tree.h: equipment, then devices. */
uint32_t recorder_thing(const struct house *h, const struct recording *r);

#endif
