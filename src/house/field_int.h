/* field_int.h - macros that write one row of a table of fields, and the shapes and words shared by the tables.
 * A row checks at compile time that the member has the type that the reader will write. */
#ifndef RT_HOUSE_FIELD_INT_H
#define RT_HOUSE_FIELD_INT_H

#include "house/field.h"

#define MEMBER(s, m, T) _Generic(((struct s *)0)->m, T : offsetof(struct s, m))
#define ITEM_SIZE(s, m) sizeof(*((struct s *)0)->m.v)

#define OPTIONAL .need = NEED_NOT
#define REQUIRED .need = NEED_REQUIRED
#define DEFAULT(x) .need = NEED_DEFAULT, .def = (x)
#define DEFAULT_TEXT(x) .need = NEED_DEFAULT, .def_text = (x)

#define NUM(s, m, need_, lo_, hi_, doc_)                                                                              \
    {                                                                                                                 \
        .key = #m, .type = FIELD_NUMBER, .offset = MEMBER(s, m, double), need_, .lo = (lo_), .hi = (hi_), .doc = doc_ \
    }
#define WHOLE(s, m, need_, lo_, hi_, doc_)                                                                \
    {                                                                                                     \
        .key = #m, .type = FIELD_NUMBER, .offset = MEMBER(s, m, double), need_, .lo = (lo_), .hi = (hi_), \
        .is_whole = true, .doc = doc_                                                                     \
    }
#define NUM_OF(s, m, need_, words_, doc_)                                                           \
    {                                                                                               \
        .key = #m, .type = FIELD_NUMBER, .offset = MEMBER(s, m, double), need_, .lo = 0, .hi = 1e6, \
        .words = &(words_), .doc = doc_                                                             \
    }
#define NUMS(s, m, need_, lo_, hi_, min_, max_, doc_)                                                           \
    {                                                                                                           \
        .key = #m, .type = FIELD_NUMBERS, .offset = MEMBER(s, m, double_list), need_, .lo = (lo_), .hi = (hi_), \
        .min_n = (min_), .max_n = (max_), .doc = doc_                                                           \
    }
#define CLOCK(s, m, key_, need_, hi_, doc_)                                                                        \
    {                                                                                                              \
        .key = key_, .type = FIELD_CLOCK, .offset = MEMBER(s, m, double), need_, .lo = 0, .hi = (hi_), .doc = doc_ \
    }
#define BOOL(s, m, need_, doc_)                                                         \
    {                                                                                   \
        .key = #m, .type = FIELD_BOOL, .offset = MEMBER(s, m, bool), need_, .doc = doc_ \
    }
#define ENUM(s, m, need_, words_, doc_)                                                                         \
    {                                                                                                           \
        .key = #m, .type = FIELD_ENUM, .offset = MEMBER(s, m, unsigned), need_, .words = &(words_), .doc = doc_ \
    }
#define BITS(s, m, need_, words_, doc_)                                                                         \
    {                                                                                                           \
        .key = #m, .type = FIELD_BITS, .offset = MEMBER(s, m, uint32_t), need_, .words = &(words_), .doc = doc_ \
    }
#define TEXT(s, m, need_, format_, doc_)                                                                           \
    {                                                                                                              \
        .key = #m, .type = FIELD_TEXT, .offset = MEMBER(s, m, struct str), need_, .format = (format_), .doc = doc_ \
    }
#define WORD(s, m, need_, words_, doc_)                                                                           \
    {                                                                                                             \
        .key = #m, .type = FIELD_TEXT, .offset = MEMBER(s, m, struct str), need_, .words = &(words_), .doc = doc_ \
    }
#define NAME(s, m, need_, sets_, doc_)                                                                          \
    {                                                                                                           \
        .key = #m, .type = FIELD_TEXT, .offset = MEMBER(s, m, struct str), need_, .names = (sets_), .doc = doc_ \
    }
#define TEXTS(s, m, need_, format_, doc_)                                                                  \
    {                                                                                                      \
        .key = #m, .type = FIELD_TEXTS, .offset = MEMBER(s, m, str_list), need_, .max_n = FIELD_NAMES_MAX, \
        .format = (format_), .doc = doc_                                                                   \
    }
#define WORDS_LIST(s, m, need_, words_, doc_)                                                              \
    {                                                                                                      \
        .key = #m, .type = FIELD_TEXTS, .offset = MEMBER(s, m, str_list), need_, .max_n = FIELD_NAMES_MAX, \
        .words = &(words_), .doc = doc_                                                                    \
    }
#define NAMES(s, m, need_, sets_, doc_)                                                                    \
    {                                                                                                      \
        .key = #m, .type = FIELD_TEXTS, .offset = MEMBER(s, m, str_list), need_, .max_n = FIELD_NAMES_MAX, \
        .names = (sets_), .doc = doc_                                                                      \
    }
#define REF(s, m, need_, set_, doc_)                                                                            \
    {                                                                                                           \
        .key = #m, .type = FIELD_REF, .offset = MEMBER(s, m, struct ref), need_, .names = IN(set_), .doc = doc_ \
    }
#define REFS(s, m, need_, set_, min_, doc_)                                                                         \
    {                                                                                                               \
        .key = #m, .type = FIELD_REFS, .offset = MEMBER(s, m, ref_list), need_, .names = IN(set_), .min_n = (min_), \
        .max_n = FIELD_NAMES_MAX, .doc = doc_                                                                       \
    }
#define POINT3(s, m, need_, doc_)                                                                             \
    {                                                                                                         \
        .key = #m, .type = FIELD_POINT3, .offset = MEMBER(s, m, struct vec3), need_, .lo = -1000, .hi = 1000, \
        .doc = doc_                                                                                           \
    }
#define POINTS2(s, m, need_, min_, doc_)                                                                     \
    {                                                                                                        \
        .key = #m, .type = FIELD_POINTS2, .offset = MEMBER(s, m, vec2_list), need_, .lo = -1000, .hi = 1000, \
        .min_n = (min_), .max_n = FIELD_POINTS_MAX, .doc = doc_                                              \
    }
#define POINTS3(s, m, need_, min_, doc_)                                                                     \
    {                                                                                                        \
        .key = #m, .type = FIELD_POINTS3, .offset = MEMBER(s, m, vec3_list), need_, .lo = -1000, .hi = 1000, \
        .min_n = (min_), .max_n = FIELD_POINTS_MAX, .doc = doc_                                              \
    }
#define OBJECT(s, m, need_, shape_, doc_)                                                                          \
    {                                                                                                              \
        .key = #m, .type = FIELD_OBJECT, .offset = offsetof(struct s, m), .item_size = sizeof(((struct s *)0)->m), \
        need_, .of = &(shape_), .doc = doc_                                                                        \
    }
#define LIST_OF(s, m, need_, shape_, min_, doc_)                                                             \
    {                                                                                                        \
        .key = #m, .type = FIELD_LIST, .offset = offsetof(struct s, m), .item_size = ITEM_SIZE(s, m), need_, \
        .of = &(shape_), .min_n = (min_), .doc = doc_                                                        \
    }
#define MAP_OF(s, m, need_, shape_, set_, doc_)                                                             \
    {                                                                                                       \
        .key = #m, .type = FIELD_MAP, .offset = offsetof(struct s, m), .item_size = ITEM_SIZE(s, m), need_, \
        .of = &(shape_), .set = SET_##set_, .doc = doc_                                                     \
    }
#define ENDPOINTS(s, m, need_, doc_)                                                                  \
    {                                                                                                 \
        .key = #m, .type = FIELD_ENDPOINTS, .offset = MEMBER(s, m, endpoint_list), need_, .min_n = 1, \
        .max_n = FIELD_NAMES_MAX, .doc = doc_                                                         \
    }
#define CABLE_END(s, m, need_, doc_)                                                                     \
    {                                                                                                    \
        .key = #m, .type = FIELD_CABLE_END, .offset = MEMBER(s, m, struct cable_end), need_, .doc = doc_ \
    }

enum { FIELD_POINTS_MAX = 500, FIELD_NAMES_MAX = 1000 };

#define SHAPE(name_, struct_, fields_, a_name_, ...)             \
    const struct shape name_ = { .a_name = a_name_,              \
                                 .size = sizeof(struct struct_), \
                                 .fields = (fields_),            \
                                 .n_fields = RT_COUNT(fields_),  \
                                 __VA_ARGS__ }

/* Words of an enum, in its order; the second form is of numbers.  STATIC for those that one file uses alone. */
#define WORDS_OF(static_, name_, are_numbers_, ...)            \
    static const char *const name_##_LIST[] = { __VA_ARGS__ }; \
    static_ const struct words name_ = { name_##_LIST, RT_COUNT(name_##_LIST), are_numbers_ }
#define WORDS(name_, ...) WORDS_OF(, name_, false, __VA_ARGS__)
#define NUMBER_WORDS(name_, ...) WORDS_OF(, name_, true, __VA_ARGS__)
#define STATIC_WORDS(name_, ...) WORDS_OF(static, name_, false, __VA_ARGS__)
#define STATIC_NUMBER_WORDS(name_, ...) WORDS_OF(static, name_, true, __VA_ARGS__)

/* fields_building.c */
extern const struct shape SHAPE_CONSTRUCT, SHAPE_FLOOR, SHAPE_WALL, SHAPE_PLANE, SHAPE_OBSTACLE, SHAPE_ROOM, SHAPE_RUN,
    SHAPE_MOUNT;
extern const struct words WORDS_SURFACE, WORDS_OPENING, WORDS_PLANE, WORDS_ROOM_USE, WORDS_RUN;
/* fields_network.c */
extern const struct shape SHAPE_LINE, SHAPE_NEIGHBOUR, SHAPE_MESH, SHAPE_FOREIGN_RANGE;
extern const struct shape SHAPE_DEVICE, SHAPE_PERSON, SHAPE_PROFILE, SHAPE_CAMERA;
extern const struct words WORDS_BAND, WORDS_PHY, WORDS_WIDTH, WORDS_CODEC, WORDS_QUALITY;
/* fields_policy.c */
extern const struct shape SHAPE_SEGMENT, SHAPE_SSID, SHAPE_GROUP, SHAPE_OWN_SERVICE, SHAPE_HOURS, SHAPE_STATEMENT,
    SHAPE_RELAY, SHAPE_PORT_OPENING, SHAPE_REMOTE_ACCESS, SHAPE_INTERFACE;
/* fields_equipment.c */
extern const struct shape SHAPE_EQUIPMENT, SHAPE_CABLE, SHAPE_BATTERY, SHAPE_RECORDING, SHAPE_PHASE, SHAPE_GROWTH,
    SHAPE_BUDGET;
/* fields_promise.c */
extern const struct shape SHAPE_PROMISE;
extern const struct words WORDS_PROMISE_KIND;
/* fields_house.c */
extern const struct words WORDS_ESTIMATE;
/* fields_parts.c */
extern const struct words WORDS_PART_KIND;

#endif
