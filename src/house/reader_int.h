/* reader_int.h - the state of one reading, shared by the sources that fill a model from a tree by the tables. */
#ifndef RT_HOUSE_READER_INT_H
#define RT_HOUSE_READER_INT_H

#include "house/field.h"
#include "house/yaml.h"

/* The names of one set, in the order of the model's array, with a table for finding them. */
struct names {
    struct str *v;
    uint32_t n;
    uint32_t *slots;  /* index + 1, or 0; open addressing */
    uint32_t n_slots; /* a power of two */
};

struct reader {
    struct arena *arena;
    struct rt_problems *p;
    const char *file;
    const struct yaml_node *root;
    struct names sets[SET_COUNT];
    bool has_no_parts_file;
    bool is_parts_told; /* why no part can be looked up was told: not again of every part that is named */
    enum rt_code code;  /* of the first error */
    bool out_of_memory;
    double geometry_work; /* comparisons of sides so far */
};

/* Where in the model the reading is, for messages: a chain of frames on the stack. */
struct spot {
    const struct spot *up;
    const struct shape *shape;
    struct str id;
    uint32_t number; /* from 1, for items without an id; 0: the only one */
};

/* ---- reader.c: messages ---- */

/* Adds 'room 'kitchen': ...' at the place, remembers the first code.  hint may be NULL. */
void reader_fail(struct reader *rd, const struct spot *spot, enum rt_code code, struct rt_place at, const char *hint,
                 const char *fmt, ...) RT_PRINTF(6, 7);
/* Formatted text for a hint; "" once problems are no longer kept, so that a hopeless file costs nothing. */
const char *reader_text(struct reader *rd, const char *fmt, ...) RT_PRINTF(2, 3);
bool reader_is_full(const struct reader *rd);
/* Remembers that the arena's ceiling was reached; returns false. */
bool reader_no_memory(struct reader *rd);
/* Index of the candidate that was probably meant, or n. */
size_t reader_nearest(struct str word, const struct str *candidates, size_t n);
/* "did you mean 'x'?" when a candidate is near, then `before_list` and the candidates unless they are too many. */
const char *reader_suggest(struct reader *rd, struct str word, const struct str *candidates, size_t n,
                           const char *before_list);
/* What a node is, for messages: "a list", "a mapping", "nothing", "'3.5m'". */
const char *reader_describe(struct reader *rd, const struct yaml_node *node);

/* ---- names.c ---- */

/* An empty table for n names. */
bool names_start(struct reader *rd, struct names *out, uint32_t n);
/* Adds a name that is not there yet; false when it is. */
bool names_add(struct names *names, struct str name);
/* The names of a set, stride bytes apart, all different. */
bool names_build(struct reader *rd, enum name_set set, const struct str *names, uint32_t n, size_t stride);
uint32_t names_find(const struct names *names, struct str name);
const char *name_set_one(enum name_set set);
/* Index of name in the set, or NO_REF after reporting it. */
uint32_t reader_resolve(struct reader *rd, const struct spot *spot, const char *key, enum name_set set, struct str name,
                        struct rt_place at);
/* Whether name is in any of the sets (bits); reports it if not. */
bool reader_knows(struct reader *rd, const struct spot *spot, const char *key, uint32_t sets, struct str name,
                  struct rt_place at);
bool reader_endpoint(struct reader *rd, const struct spot *spot, const char *key, const struct yaml_node *node,
                     struct endpoint *out);
bool reader_cable_end(struct reader *rd, const struct spot *spot, const char *key, const struct yaml_node *node,
                      struct cable_end *out);

/* ---- number.c ---- */

/* How many decimal digits stand from byte i on. */
size_t number_digits(struct str s, size_t i);
/* Strict decimal number: no hexadecimal, infinity, NaN, underscores, leading zeros. */
bool number_parse(struct str s, double *out);
/* What to write in place of a value that is no number ("8ft": 2.44); NULL: nobody knows.  `unit` is that of the key, or "". */
const char *number_hint(struct reader *rd, const struct field *f, const char *unit, const struct yaml_node *node);

/* ---- field_value.c: values without keys of their own ---- */

void field_read_value(struct reader *rd, const struct spot *spot, const struct field *f, const struct yaml_node *node,
                      void *dst);

/* ---- field_read.c: objects ---- */

/* Makes the arrays of all MAPs of the shape, with ids and places, so that names can be resolved in any order. */
void reader_collect(struct reader *rd, const struct shape *shape, const struct yaml_node *root, void *dst);
/* Reads an object whose MAPs were collected. */
void reader_object(struct reader *rd, const struct spot *spot, const struct shape *shape, const struct yaml_node *node,
                   void *dst);
/* Sets every member to its default, or to 'not given'. */
void shape_init(const struct shape *shape, void *dst);

/* The generic face of every LIST of the model. */
struct any_list {
    void *v;
    uint32_t n;
};

#endif
