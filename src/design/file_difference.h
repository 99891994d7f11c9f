/* file_difference.h - what two house files say differently: section by section, thing by thing, member by member.
 *
 * Things are the same by their ids; an item of a list by its id, its words or what it must have.  Neither the order of keys nor comments,
 * nor whether a default is written out make a difference; the order of statements does.  What is only in the first one way is only in the
 * second the other way, and a file against itself has none. */
#ifndef RT_DESIGN_FILE_DIFFERENCE_H
#define RT_DESIGN_FILE_DIFFERENCE_H

#include "base/array.h"
#include "base/json.h"
#include "house/house.h"

enum file_difference_kind { FILE_ONLY_FIRST, FILE_ONLY_SECOND, FILE_CHANGED };

struct differing_member {
    struct str member;   /* "at_m"; of a list's item "radios[5].channel" */
    struct str says;     /* the same in plain words: "place" */
    const char *unit;    /* of its figures; "": none */
    struct str sides[2]; /* as a file has it, in flow style, a default as if it were written; p NULL: left out there */
};

struct file_difference {
    uint32_t section; /* row of SHAPE_HOUSE; its n_fields: what stands at the top of the file */
    struct str id;    /* of the thing; empty: of the section itself */
    struct str says;  /* what it is, in words; may be empty */
    enum file_difference_kind kind;
    LIST(struct differing_member) members; /* of a thing that is only in one, all it has there */
};

typedef LIST(struct file_difference) file_difference_list;

/* Ordered by section as the file's format has them, then by id.  Both houses as they were read, parts chosen or not.  Errors:
 * RT_NOMEM. */
RT_MUST_CHECK enum rt_code houses_differ(struct arena *a, const struct house *first, const struct house *second,
                                         file_difference_list *out, struct rt_problems *p);

/* "port openings" */
struct str file_difference_section(struct arena *a, const struct file_difference *d);

void file_differences_write_json(struct json *j, const file_difference_list *list);
/* `names`: what the two are called. */
void file_differences_write_text(struct buf *out, const file_difference_list *list, const struct str names[2],
                                 unsigned columns);

#endif
