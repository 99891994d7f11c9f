/* field.h - the language of tables in which the house and parts formats are written down.
 *
 * A shape is a kind of object (a room, a wall ...) with one row per key.  The same rows drive reading, defaults, messages,
 * the JSON Schema and the reference of keys in docs/house_file.md.  All tables are static const. */
#ifndef RT_HOUSE_FIELD_H
#define RT_HOUSE_FIELD_H

#include <stddef.h>

#include "house/house.h"

/* ---- what a name may stand for ---- */

#define NAME_SETS(X)                                    \
    X(CONSTRUCT, "construct", "constructs")             \
    X(FLOOR, "floor", "floors")                         \
    X(WALL, "wall", "walls")                            \
    X(PLANE, "plane", "planes")                         \
    X(OBSTACLE, "obstacle", "obstacles")                \
    X(ROOM, "room", "rooms")                            \
    X(RUN, "run", "runs")                               \
    X(MOUNT, "mount", "mounts")                         \
    X(NEIGHBOUR, "neighbour", "neighbours")             \
    X(SEGMENT, "segment", "segments")                   \
    X(SSID, "SSID", "ssids")                            \
    X(PERSON, "person", "people")                       \
    X(DEVICE, "device", "devices")                      \
    X(GROUP, "group", "groups")                         \
    X(PROFILE, "profile", "profiles")                   \
    X(OWN_SERVICE, "service", "services")               \
    X(HOURS, "hours", "hours")                          \
    X(RELAY, "relay", "relays")                         \
    X(PORT_OPENING, "opening", "port_openings")         \
    X(REMOTE_ACCESS, "access", "remote_access")         \
    X(INTERFACE, "interface", "interfaces")             \
    X(EQUIPMENT, "equipment", "equipment")              \
    X(CABLE, "cable", "cables")                         \
    X(BATTERY, "battery", "batteries")                  \
    X(RECORDING, "recording", "recordings")             \
    X(PHASE, "phase", "phases")                         \
    X(PROMISE, "promise", "promises")                   \
    X(PART, "part", "parts")                            \
    X(MATERIAL, "material", "materials")                \
    X(DEVICE_KIND, "kind of device", "kinds of device") \
    X(SERVICE, "service", "services")                   \
    X(LINE_BOX, "line", "line")

/* Sets up to PROMISE are sections of the house file; the rest come from the parts file and the tables of data/. */
enum name_set {
#define X(upper, one, many) SET_##upper,
    NAME_SETS(X)
#undef X
        SET_COUNT
};
#define IN(set) (1u << SET_##set)

/* ---- rows ---- */

enum field_type {
    FIELD_VERSION,   /* the number 1; member: double */
    FIELD_TEXT,      /* struct str */
    FIELD_NUMBER,    /* double; NaN when not given */
    FIELD_BOOL,      /* bool */
    FIELD_ENUM,      /* an enum; words in its order */
    FIELD_BITS,      /* uint32_t: word i sets bit i; a list of words */
    FIELD_REF,       /* struct ref into one set */
    FIELD_REFS,      /* ref_list */
    FIELD_TEXTS,     /* str_list */
    FIELD_NUMBERS,   /* double_list */
    FIELD_POINT3,    /* struct vec3; NaN when not given */
    FIELD_POINTS2,   /* vec2_list */
    FIELD_POINTS3,   /* vec3_list */
    FIELD_CLOCK,     /* double: minute of the day, written "20:30" */
    FIELD_OBJECT,    /* an embedded struct of shape `of` */
    FIELD_LIST,      /* LIST of shape `of`, written as a list */
    FIELD_MAP,       /* LIST of shape `of`, written as id: object; fills `set` */
    FIELD_ENDPOINTS, /* endpoint_list */
    FIELD_CABLE_END  /* struct cable_end, written id or id:port */
};

enum field_need { NEED_NOT, NEED_REQUIRED, NEED_DEFAULT };

/* How a text must look.  Rows of the table in text_format.c. */
enum text_format {
    TEXT_ANY,
    TEXT_COUNTRY,
    TEXT_CURRENCY,
    TEXT_TIME_ZONE,
    TEXT_DATE,
    TEXT_IPV4,
    TEXT_IPV4_SUBNET,
    TEXT_IPV6_SUBNET,
    TEXT_SUBNET,
    TEXT_MAC,
    TEXT_PORTS,
    TEXT_DOMAIN,
    TEXT_SSID,
    TEXT_DNS_SD,
    TEXT_FILE,
    TEXT_FORMAT_COUNT
};

struct words {
    const char *const *v;
    uint32_t n;
    bool are_numbers; /* written as numbers: bands, widths */
};

struct field {
    const char *key;
    enum field_type type;
    enum field_need need;
    enum text_format format;
    size_t offset;    /* of the member */
    size_t item_size; /* LIST and MAP: of one item */
    double def;       /* NEED_DEFAULT: number, 0 or 1, value of the enum or bits */
    const char *def_text;
    double lo, hi;             /* NUMBER, NUMBERS, POINT3, POINTS2, POINTS3: least and largest value */
    bool is_whole;             /* NUMBER: no fraction */
    uint32_t min_n, max_n;     /* least and most items of a list; max_n 0: only the limit of all lists */
    const struct words *words; /* ENUM, BITS; TEXT, TEXTS, NUMBER: one of these only */
    uint32_t names;            /* REF, REFS (one set), TEXT, TEXTS (any of these): bits of sets; 0: any text */
    bool is_endpoint;          /* TEXT: must read as an endpoint */
    enum name_set set;         /* MAP: what its ids are */
    const struct shape *of;    /* OBJECT, LIST, MAP */
    const char *doc;           /* what it means, one line */
};

/* Keys that one value of `kind` takes: words with blanks between.  `may` NULL: all others of the shape. */
struct variant {
    const char *word;
    const char *must, *may;
};

struct shape {
    const char *a_name; /* with its article: "a room" */
    const char *doc;
    size_t size;
    const struct field *fields;
    uint32_t n_fields;
    bool has_id;            /* begins with `struct str id; struct rt_place at;`, else with `struct rt_place at;` */
    bool has_no_place;      /* the files themselves: no id, no at */
    bool id_is_key;         /* has_id, and an item of a list may carry it under the key `id` */
    const char *id_pattern; /* has_id: ECMA 262 pattern for the schema; NULL: the usual */
    const char *one_of; /* keys of which exactly one is given; NULL: none.  The reader checks these two in complete.c */
    const char *any_of; /* keys of which at least one is given; NULL: none */
    const char *short_key;          /* an item may be one word, the value of this key; NULL: not */
    const struct variant *variants; /* which keys go with which word of `kind`; NULL: all with all */
    uint32_t n_variants;
};

extern const struct shape SHAPE_HOUSE;
extern const struct shape SHAPE_PARTS;

const struct field *shape_field(const struct shape *shape, struct str key);
/* Name without its article: "room". */
const char *shape_name(const struct shape *shape);
/* The variant of a word, or NULL. */
const struct variant *shape_variant(const struct shape *shape, struct str word);
/* Whether key is one of the words in `list` (blanks between). */
bool word_is_in(const char *list, struct str key);
/* Does the variant (NULL: no variants) take, or require, this field? */
bool variant_takes(const struct shape *shape, const struct variant *variant, const struct field *field);
bool variant_requires(const struct variant *variant, const struct field *field);

/* Unit of a key by its ending, for messages and the reference: "metres"; "" when it has none. */
const char *key_unit(const char *key);

/* ---- text formats ---- */

struct text_format_row {
    const char *what;    /* "two capital letters of ISO 3166-1, such as GB" */
    const char *pattern; /* ECMA 262, for the schema */
    bool may_be_number;  /* an unquoted number is fine (ports) */
    bool (*is_right)(struct str s);
};
const struct text_format_row *text_format_row(enum text_format format);

/* An id: a letter, then letters, digits, _ or -, 63 at most. */
#define ID_PATTERN "^[A-Za-z][A-Za-z0-9_-]{0,62}$"
/* Of what a statement can name: its own words are not free. */
#define END_ID_PATTERN "^(?!(anyone|internet|gateway)$)[A-Za-z][A-Za-z0-9_-]{0,62}$"
bool id_is_right(struct str id);
bool is_domain_name(struct str s);

#endif
