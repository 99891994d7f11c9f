/* edit_int.h - shared by the sources of edit.h: a YAML tree in which every node knows its bytes. */
#ifndef RT_HOUSE_EDIT_INT_H
#define RT_HOUSE_EDIT_INT_H

#include "house/edit.h"

enum edit_kind { EDIT_SCALAR, EDIT_SEQUENCE, EDIT_MAPPING, EDIT_ALIAS };
enum edit_form { EDIT_PLAIN, EDIT_SINGLE, EDIT_DOUBLE, EDIT_TEXT_BLOCK, EDIT_FLOW, EDIT_BLOCK };

struct edit_node;

/* An entry of a mapping or an item of a sequence (key NULL). */
struct edit_entry {
    struct edit_node *key, *value;
    size_t from;    /* its first byte: of the key, or the dash, or the item in flow style */
    size_t head;    /* behind the colon or the dash: where the value may begin */
    bool is_unlike; /* not written as `key: value`: an explicit key, or a key without a colon */
};

/* The bytes of a node are from..to; body is where it begins behind its anchor and tag, props_end the end of those.
 * A value that is not written (null) has from == to == the entry's head. */
struct edit_node {
    enum edit_kind kind;
    enum edit_form form;
    bool is_written, is_bare; /* bare: a mapping `a: b` inside [..] without braces */
    struct str text;          /* scalar: its value; alias: its name */
    struct str anchor, tag;
    size_t from, body, props_end, to;
    LIST(struct edit_entry) entries;
};

/* Parses one YAML document (no bytes or comments only: an unwritten null).  file NULL: a value, without a place. */
enum rt_code edit_parse(struct arena *a, const char *file, struct str bytes, struct edit_node **out,
                        struct rt_problems *p);
/* Same tree, whatever it looks like. */
bool edit_same(const struct edit_node *a, const struct edit_node *b);
/* Neither text nor number nor truth: null. */
bool edit_is_null(const struct edit_node *node);
/* A text, not what the YAML 1.2 core schema takes for null, a truth value or a number. */
bool edit_is_text(const struct edit_node *node);
/* True if a plain scalar with these letters is a text in the core schema. */
bool edit_plain_is_text(struct str s);

struct rt_place edit_place(const char *file, struct str bytes, size_t byte, size_t n);
size_t edit_line_start(struct str bytes, size_t byte);
/* The end of the line that holds the byte, before its line break. */
size_t edit_line_end(struct str bytes, size_t byte);
/* Behind the line break at or after the byte, or the end of the bytes. */
size_t edit_next_line(struct str bytes, size_t byte);
size_t edit_column(struct str bytes, size_t byte);

/* How the file is written. */
struct edit_style {
    const char *eol;
    size_t step;           /* of indentation */
    size_t dash_step;      /* of a dash below its key */
    bool has_brace_spaces; /* { a: 1 } or {a: 1} */
};
struct edit_style edit_style_of(struct str bytes, const struct edit_node *root);

/* Writers.  `like` is a neighbour whose manner is followed, or NULL. */
void edit_put_text(struct buf *b, struct str text, enum edit_form form, bool in_flow);
void edit_put_flow(struct buf *b, const struct edit_node *v, enum edit_form form, const struct edit_style *style);
/* True if the value stands behind its key or dash on the same line. */
bool edit_fits_inline(struct arena *a, const struct edit_node *v, const struct edit_node *like, size_t column,
                      const struct edit_style *style);
/* `key: value` or `- value` from a cursor that stands at the column.  key.p NULL: a sequence's item.  source: the text
 * v was parsed from, put as it stands if v is in block style; p NULL: not known. */
void edit_put_entry(struct buf *b, struct str key, const struct edit_node *v, struct str source, size_t column,
                    const struct edit_node *like, const struct edit_style *style);
/* The block value alone, from a cursor that stands at the column. */
void edit_put_block(struct buf *b, const struct edit_node *v, struct str source, size_t column,
                    const struct edit_node *like, const struct edit_style *style);

/* ---- one edit under way ---- */

struct edit_cut {
    size_t from, to;
    struct str is;
};

struct edit_work {
    struct arena *scratch; /* trees; dropped after each edit */
    struct arena *arena;   /* of the caller */
    const char *file;
    struct str bytes;
    struct edit_node *root;
    struct edit_style style;
    struct edit_node *value; /* what is to be put, and the text it came from */
    struct str source;
    VEC(struct edit_cut) splices;
    struct rt_problems *p;
};

/* Where a path leads. */
struct edit_spot {
    struct edit_node *in;     /* the collection that holds it */
    struct edit_entry *owner; /* the entry whose value `in` is; NULL: the whole document */
    struct str last;          /* the path's last step, unescaped */
    uint32_t i;               /* its index in `in`; in->entries.n when it is not there */
    struct str shown;         /* the path up to `in`, for messages */
    bool within_flow;         /* a collection round `in` is in brackets */
};

struct rt_place edit_place_of(const struct edit_work *w, size_t from, size_t to);
/* RFC 6901, section 4: figures without a leading zero. */
bool edit_read_index(struct str s, uint32_t *i);
uint32_t edit_find_entry(const struct edit_node *in, struct str step);
enum rt_code edit_find_spot(struct edit_work *w, struct str path, struct edit_spot *s);
enum rt_code edit_fail_not_there(struct edit_work *w, const struct edit_spot *s);

enum rt_code edit_set(struct edit_work *w, struct edit_spot *s);
enum rt_code edit_add(struct edit_work *w, struct edit_spot *s);
enum rt_code edit_remove(struct edit_work *w, struct edit_spot *s);
enum rt_code edit_rename(struct edit_work *w, struct edit_spot *s, struct str name);

#endif
