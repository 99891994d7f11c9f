/* house.h - the whole model of one house, and how it is read.
 *
 * One YAML file, NAME.house.yaml, beside which a parts file may stand.  The model is plain data; see building.h and
 * network.h for its conventions.  docs/house_file.md describes every key for people; `rooftree schema` for editors. */
#ifndef RT_HOUSE_H
#define RT_HOUSE_H

#include "base/run.h"
#include "house/building.h"
#include "house/network.h"
#include "house/parts.h"

/* ---- equipment ---- */

struct radio_setting {
    struct rt_place at;
    enum band band;
    double channel;   /* primary 20 MHz channel or the wide channel's centre number; NaN: to be chosen */
    double width_mhz; /* NaN: the usual one of the band, or the part's widest if less */
    double power_dbm; /* at the antenna port; NaN: the most the part and the country allow */
    bool off;
};

/* How a port is to be set; what is not said follows from what hangs behind it. */
struct port_setting {
    struct rt_place at;
    double port;
    struct ref untagged; /* segment whose frames bear no VLAN tag there; NO_REF: none */
    ref_list tagged;
};

/* A part placed in the house. */
struct equipment {
    struct str id;
    struct rt_place at;
    struct str says;
    struct ref part;        /* index into the parts; NO_REF: left open, and not chosen yet */
    struct str kind;        /* its part is left open: the cheapest of this kind that will do; empty: it is not */
    struct str because;     /* of an open part once it is chosen: why this one (wire/open_parts.h) */
    struct ref mount;       /* where it hangs ... */
    struct ref floor, room; /* ... or where it stands */
    struct vec3 at_m;       /* z above the floor; filled from the mount if that is given */
    double faces_deg, tilt_deg;
    struct ref inside;  /* the cabinet it is built into (equipment) ... */
    double unit;        /* ... and the lowest rack unit it takes there, 1 at the bottom; NaN: to be chosen */
    struct str circuit; /* of the mains, where it is plugged in; empty: not said */
    struct str air;     /* of a cabinet: closed, slots, fan */
    LIST(struct radio_setting) radios;
    LIST(struct port_setting) ports;
    struct ref segment; /* the one its own settings are reached in; NO_REF: not said */
    bool movable, tune, owned;
    struct ref phase;
};

struct cable_end {
    struct rt_place at;
    struct str what;            /* equipment or device id */
    uint32_t equipment, device; /* one of them, the other NO_REF */
    double port;                /* NaN: to be chosen */
};

struct cable {
    struct str id;
    struct rt_place at;
    struct cable_end from, to;
    struct ref part; /* cable part; NO_REF: to be chosen */
    ref_list route;  /* runs, in order */
    double length_m; /* NaN: computed */
    double cord_from_m, cord_to_m;
    double splices; /* of fibre */
    bool rests;     /* a second way, kept silent by the spanning tree (IEEE 802.1Q) until the first fails */
    bool owned;
};

struct battery {
    struct str id;
    struct rt_place at;
    struct ref part;
    struct ref room;
    str_list feeds;     /* devices and equipment that stay up; LINE_BOX_NAME: the line's box */
    double capacity_wh; /* NaN: the part's */
    double age_years, temperature_degc;
};

struct recording {
    struct str id;
    struct rt_place at;
    struct str says;
    struct str recorder; /* device or equipment */
    ref_list cameras;    /* devices */
    double disk_gb;      /* NaN: that of its disks, else the recorder's part's, else unknown */
    ref_list disks;      /* equipment whose parts are disks, in the recorder */
    bool mirrored;       /* every disk holds all pictures */
    bool motion_only;    /* recorded only while something moves */
    double days_wanted;
};

struct phase {
    struct str id;
    struct rt_place at;
    struct str says;
    struct str by_date;
    double budget;
};

/* How fast the devices of a kind multiply, for promises about growth. */
struct growth_rate {
    struct rt_place at;
    struct str kind; /* of data/device_kinds.h */
    double share;    /* of the promised growth */
};

struct budget {
    struct rt_place at;
    double purchase, yearly; /* house currency */
    double labour_per_h;     /* NaN: own work */
    double energy_per_kwh;
    double contingency_share;
    double house_cost; /* what the house cost, for the share */
};

/* ---- promises ---- */

/* kind, heading under which outputs group it */
#define PROMISE_KINDS(X)                               \
    X(SIGNAL, signal, "Signal")                        \
    X(RATE, rate, "Signal")                            \
    X(ROAMING, roaming, "Signal")                      \
    X(QUIET, quiet, "Signal")                          \
    X(APART, apart, "Apart")                           \
    X(REACH, reach, "Apart")                           \
    X(HOURS, hours, "Apart")                           \
    X(POWER, power, "Wires and power")                 \
    X(CABLE, cable, "Wires and power")                 \
    X(LINE, line, "Line and pictures")                 \
    X(RECORDING, recording, "Line and pictures")       \
    X(OUTAGE, outage, "Wires and power")               \
    X(SURVIVE, survive, "When things fail, and later") \
    X(GROWTH, growth, "When things fail, and later")   \
    X(COST, cost, "Money")                             \
    X(EXPOSURE, exposure, "Signal")

enum promise_kind {
#define X(upper, lower, heading) PROMISE_##upper,
    PROMISE_KINDS(X)
#undef X
        PROMISE_KIND_COUNT
};

enum direction { DIRECTION_BOTH, DIRECTION_DOWN, DIRECTION_UP };
enum when { WHEN_ALONE, WHEN_BUSY_HOUR };

/* What was promised.  Which members a kind uses and requires is the reader's table; others are left unset. */
struct promise {
    struct str id;
    struct rt_place at;
    enum promise_kind kind;
    struct str says;          /* the sentence the household was given */
    ref_list rooms;           /* signal, rate, roaming */
    uint32_t bands;           /* signal, roaming: bits; 0: any band will do (the best at each spot) */
    double level_dbm;         /* signal, roaming */
    double mbps, up_mbps;     /* rate, cable */
    double area_share;        /* of the rooms' area, each room judged by itself; default 0.95 */
    double availability;      /* share of places or time, for shadowing; default 0.90 */
    double height_m;          /* of the device above the floor; NaN: 1.2, beds and desks by room use */
    enum direction direction; /* signal; default down */
    double uplink_level_dbm;  /* signal: of the device at the access point; NaN: as level_dbm */
    enum when when;           /* rate */
    struct str device_kind;   /* signal, rate: whose radio; empty: a common phone */
    endpoint_list from, to;   /* apart, reach, hours */
    str_list services;        /* apart: only these excepted; reach: all of these */
    struct ref hours;         /* reach: at these; hours: dark at these */
    str_list devices;         /* power, outage, cable: of these devices or equipment; empty: all */
    double headroom_share;    /* power, cable, growth */
    double spare_ports;       /* cable: free at each switch; NaN: not promised */
    double probability;       /* line */
    double minutes;           /* outage */
    double days;              /* recording */
    struct ref recording;
    str_list promises;       /* survive: these must hold */
    str_list failures;       /* survive: any single one of access_point, cable, switch, gateway, line, mains, disk */
    double times, years;     /* growth */
    double purchase, yearly; /* cost */
    struct ref phase;
    struct str limit;      /* exposure: icnirp_2020, fcc */
    double max_busy_share; /* quiet */
};

/* ---- the house ---- */

enum estimate { ESTIMATE_CAREFUL, ESTIMATE_MIDDLE, ESTIMATE_HOPEFUL };

struct house {
    double version;   /* of the format: 1 */
    const char *path; /* as given by the user */
    struct str bytes; /* the file itself */
    struct str name, says;
    struct str country;     /* ISO 3166-1 alpha-2 */
    struct str time_zone;   /* name of the IANA time zone database */
    struct str currency;    /* ISO 4217 */
    enum estimate estimate; /* of wall losses at which signal is judged */
    double north_deg;       /* direction of north on the drawing, clockwise from +y; NaN: not known */
    struct str parts_file;  /* beside the house file; empty: the built-in parts */

    LIST(struct construct) constructs; /* the file's, then the built-in ones that the file does not redefine */
    LIST(struct floor) floors;
    LIST(struct wall) walls;
    LIST(struct plane) planes;
    LIST(struct obstacle) obstacles;
    LIST(struct room) rooms;
    LIST(struct cable_run) runs;
    LIST(struct mount) mounts;

    struct line line;
    LIST(struct neighbour) neighbours;
    struct mesh mesh;
    LIST(struct segment) segments;
    LIST(struct foreign_range) foreign_ranges;
    LIST(struct ssid) ssids;
    LIST(struct person) people;
    LIST(struct device) devices;
    LIST(struct group) groups;
    LIST(struct profile) profiles;
    LIST(struct own_service) services;
    LIST(struct hours) hours;
    LIST(struct statement) statements;
    LIST(struct relay) relays;
    LIST(struct port_opening) port_openings;
    LIST(struct remote_access) remote_access;
    LIST(struct interface_name) interfaces;

    LIST(struct equipment) equipment;
    LIST(struct cable) cables;
    LIST(struct battery) batteries;
    LIST(struct recording) recordings;
    LIST(struct phase) phases;
    LIST(struct growth_rate) growth;
    struct budget budget;
    LIST(struct promise) promises;

    struct parts parts; /* what can be bought */
};

/* Limits of the reader; beyond them it reports RT_LIMIT. */
enum {
    HOUSE_MAX_BYTES = 4 * 1024 * 1024,
    HOUSE_MAX_DEPTH = 24,
    HOUSE_MAX_ALIASES = 64,
    HOUSE_MAX_ITEMS = 5000,   /* in any one list */
    HOUSE_MAX_VALUES = 500000 /* in all, with every alias expanded */
};

/* Reads and checks a house file and its parts file.  Reports every mistake it finds in one go (RT_PROBLEMS_MAX kept),
 * each with its place; *out is set only when there is none.  The model and the file's bytes live in run->arena.
 * Errors: RT_IO, RT_SYNTAX, RT_SHAPE, RT_RANGE, RT_UNKNOWN_REF, RT_GEOMETRY, RT_CONFLICT, RT_LIMIT, RT_NOMEM; the code of
 * the first error is returned. */
RT_MUST_CHECK enum rt_code house_read(const struct run *run, const char *path, struct house **out,
                                      struct rt_problems *p);
/* The same from bytes in memory, as if read from `path` (its folder is where parts_file is looked for). */
RT_MUST_CHECK enum rt_code house_read_bytes(const struct run *run, const char *path, struct str bytes,
                                            struct house **out, struct rt_problems *p);

/* JSON Schema 2020-12 of the house file, from the same tables as the reader. */
void house_write_schema(struct buf *out);
/* Every key of the house file and every built-in name as tables in Markdown, for docs/house_file.md, from the same
 * tables. */
void house_write_reference(struct buf *out);

/* Index by id, or NO_REF. */
uint32_t house_find_floor(const struct house *h, struct str id);
uint32_t house_find_room(const struct house *h, struct str id);
uint32_t house_find_device(const struct house *h, struct str id);
uint32_t house_find_equipment(const struct house *h, struct str id);
/* Is the SSID meant for this band of this piece of equipment? */
bool house_ssid_is_on(const struct house *h, uint32_t ssid, uint32_t equipment, enum band band);

/* What a word outside the file means as an endpoint: anyone, internet, gateway, an id (with segment:, group:, device: or
 * person: before it where two things bear it), an internet name with a dot.  Errors: RT_UNKNOWN_REF with the nearest name,
 * RT_CONFLICT. */
RT_MUST_CHECK enum rt_code house_read_endpoint(const struct house *h, struct str text, struct endpoint *out,
                                               struct rt_problems *p);
/* Is it a service of the house or of the built-in table?  Errors: RT_UNKNOWN_REF with the nearest name. */
RT_MUST_CHECK enum rt_code house_knows_service(const struct house *h, struct str name, struct rt_problems *p);

/* z of a point given above a floor, above the datum. */
double house_z_m(const struct house *h, uint32_t floor, double above_floor_m);
/* What people call it: `says` if given, else the id. */
struct str house_room_name(const struct house *h, uint32_t room);
/* The room of a floor that holds the point, or NO_REF. */
uint32_t house_room_at(const struct house *h, uint32_t floor, struct vec2 at_m);

/* All layers of a construct together. */
double construct_thickness_m(const struct construct *c);
/* Is the point (z above the wall's floor) within the wall's thickness, where the wall is solid?  Openings are not. */
bool wall_holds(const struct house *h, const struct wall *w, struct vec3 p);
/* Is the point (z above the floor) within a wall or a solid thing of that floor? */
bool house_is_solid_at(const struct house *h, uint32_t floor, struct vec3 p);
/* Does the point (z above the floor) lie above a sloping roof of that floor, out of the room below it? */
bool house_is_above_roof(const struct house *h, uint32_t floor, struct vec3 p);

/* Where a text of the model stands in the house file, so that a check made later can point at it; `otherwise` for one that
 * does not stand there as it is (a default, one with escapes). */
struct rt_place house_text_place(const struct house *h, struct str text, struct rt_place otherwise);

/* Words of the file for values of the enums above, for outputs. */
const char *promise_kind_name(enum promise_kind kind);
const char *promise_heading(enum promise_kind kind);
const char *band_name(enum band band); /* "2.4", "5", "6" */
const char *estimate_name(enum estimate e);

/* ---- plane geometry used all over ---- */

double polygon_area_m2(vec2_list outline);                  /* positive when counter-clockwise */
bool polygon_contains(vec2_list outline, struct vec2 at_m); /* edges count as inside */
struct vec2 polygon_centre(vec2_list outline);

#endif
