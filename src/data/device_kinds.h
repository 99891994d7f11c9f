/* device_kinds.h - what is assumed of a device of which the house file says only its kind.
 *
 * Our own cautious choices (common practice, no source): any of them can be stated for a device in the house file.  Radio
 * figures describe an ordinary model some years old, not the newest, so that a promise kept for them holds for what is in
 * the house.  Power is the typical draw in use at the plug. */
#ifndef RT_DATA_DEVICE_KINDS_H
#define RT_DATA_DEVICE_KINDS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"
#include "data/wireless.h"

struct device_kind {
    const char *name; /* word of the house file */
    const char *says; /* for people, with its article: "a phone" */
    bool carried;     /* moves about the house */
    bool takes_pictures;
    /* radio, if it is on Wi-Fi */
    enum phy phy;
    uint32_t bands; /* bits 1 << enum band */
    double streams;
    double width_mhz;    /* widest channel */
    double power_dbm;    /* transmit power at the antenna port, all streams together */
    double gain_dbi;     /* antenna, mean over directions */
    double body_loss_db; /* hand, head, table, cabinet */
    double noise_figure_db;
    /* wire and mains */
    double power_w;
    double speed_mbps; /* needed on its cable */
};

/* The table, in its own order, and its length. */
const struct device_kind *device_kinds(uint32_t *n);
/* A kind by its word, or NULL. */
const struct device_kind *device_kind_find(struct str name);

/* The kind whose radio judges a promise that names none. */
#define DEVICE_KIND_USUAL "phone"

#endif
