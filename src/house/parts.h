/* parts.h - the parts file: kinds of equipment that can be bought.  One row (mapping) per part.
 * Conventions as in building.h; prices in the parts file's currency. */
#ifndef RT_HOUSE_PARTS_H
#define RT_HOUSE_PARTS_H

#include "house/network.h"

enum part_kind {
    PART_ACCESS_POINT,
    PART_SWITCH,
    PART_GATEWAY,
    PART_CABLE,
    PART_CORD,
    PART_OUTLET,
    PART_CAMERA,
    PART_RECORDER,
    PART_BATTERY,
    PART_CABINET,
    PART_INJECTOR,
    PART_CONVERTER,
    PART_BRIDGE,
    PART_DISK,
    PART_OPTIC,     /* module that turns an sfp port to fibre */
    PART_PROTECTOR, /* surge protector on a copper cable */
    PART_SUNDRY,
    PART_KIND_COUNT
};

/* Antenna gain over angle.  Cut by elevation (averaged round the axis) and, for antennas that look one way, by azimuth.
 * Elevation: 0 along the part's axis (out of its front: down for a ceiling part, out of the wall for a wall part),
 * 180 behind it.  Azimuth is about the part's upright, 0 to the front.  Gains in between are interpolated linearly in dB;
 * a direction's gain is elevation gain, plus for wall and outdoor parts the azimuth cut's gain relative to its maximum. */
struct antenna {
    struct rt_place at;
    double_list elevation_deg, elevation_dbi; /* same length, angles rising from 0 to 180 */
    double_list azimuth_deg, azimuth_dbi;     /* may be empty: round; angles rising from -180 to 180 */
};

struct part_radio {
    struct rt_place at;
    enum band band;
    enum phy phy;
    double streams;
    double width_mhz; /* widest channel */
    double power_dbm; /* most at the antenna ports together */
    double noise_figure_db;
    struct antenna antenna;
};

struct port_group {
    struct rt_place at;
    double count;
    double speed_mbps; /* fastest */
    struct str medium; /* copper, sfp, sfp_plus */
    double poe_class;  /* highest class it feeds; NaN: none */
    bool uplink;
};

struct part {
    struct str id;
    struct rt_place at;
    struct str says;  /* model name, invented */
    struct str maker; /* invented */
    enum part_kind kind;
    double price;
    double per_m;   /* cable sold by this length; NaN: by the piece */
    double power_w; /* own draw, typical */
    double power_max_w;
    double poe_class_needed; /* as a powered device; NaN: none */
    double poe_budget_w;     /* as a source; NaN: none */
    double width_m, height_m, depth_m;
    double rack_units;
    enum mount_surface surface; /* how it is meant to hang; ceiling parts look down */
    bool outdoors;
    LIST(struct part_radio) radios;
    LIST(struct port_group) ports;
    bool vlans;         /* keeps VLANs apart on its ports and SSIDs (IEEE 802.1Q) */
    bool spanning_tree; /* lets a second way rest until the first fails (IEEE 802.1Q, clause 13) */
    double ssids_max;
    double routed_mbps;                  /* gateways */
    double capacity_wh, discharge_w_max; /* batteries */
    struct str chemistry;
    double disk_tb, write_tb; /* recorders and disks: size, endurance */
    struct str category;      /* cable, cord, outlet, optic: a name of data/cabling.h */
    bool screened;
    double conductor_mm2;
    double outer_mm;
    double temperature_max_degc;
    double loss_max_db; /* optic, converter: light that may be lost between it and its like; NaN: as the standard */
    struct camera camera;
};

struct parts {
    double version;   /* of the format: 1 */
    const char *path; /* NULL: built in */
    struct str currency;
    LIST(struct part) list;
};

struct run;
struct rt_problems;

/* Reads a parts file; same rules as house_read(). */
RT_MUST_CHECK enum rt_code parts_read(const struct run *run, const char *path, struct parts *out,
                                      struct rt_problems *p);
/* The same from bytes in memory, as if read from `path`. */
RT_MUST_CHECK enum rt_code parts_read_bytes(const struct run *run, const char *path, struct str bytes,
                                            struct parts *out, struct rt_problems *p);
/* JSON Schema 2020-12 of the parts file. */
void parts_write_schema(struct buf *out);
/* Every key of the parts file as tables in Markdown, for docs/house_file.md. */
void parts_write_reference(struct buf *out);
uint32_t parts_find(const struct parts *parts, struct str id);
const char *part_kind_name(enum part_kind kind);

#endif
