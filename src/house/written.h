/* written.h - objects of the model as text of the house file: the reader's rows (field.h) the other way round.
 *
 * What the reader fills in by itself is left out: defaults, the floor that a room gives, the place that a mount or cabinet gives, a
 * device's radio by kind.  Numbers are rounded to what can be built: millimetres, tenths of a decibel and of a degree.  So two
 * objects are the same for the file if and only if their texts are. */
#ifndef RT_HOUSE_WRITTEN_H
#define RT_HOUSE_WRITTEN_H

#include "house/field.h"

/* One member in flow style, such as "[3.2, 6, 2.58]"; p NULL: it is left out.  False: the arena's ceiling. */
RT_MUST_CHECK bool written_member(struct arena *a, const struct house *h, const struct shape *shape, const void *object,
                                  const struct field *field, struct str *out);

/* The whole object: "{part: switch_8, room: hall}"; as lines, each list of objects an item to a line, if `as_lines`.
 * False: the arena's ceiling. */
RT_MUST_CHECK bool written_object(struct arena *a, const struct house *h, const struct shape *shape, const void *object,
                                  bool as_lines, struct str *out);

/* Has it a list of objects that is not empty (radios, states)?  Such are easier to read as lines. */
bool written_has_list(const struct shape *shape, const void *object);

/* The items of a LIST or MAP member. */
struct written_items {
    const char *v;
    uint32_t n;
};
struct written_items written_items(const void *object, const struct field *field);
static inline const void *written_item(struct written_items items, const struct field *field, uint32_t i)
{
    return items.v + (size_t)i * field->item_size;
}
/* The ith item of a REFS, TEXTS or ENDPOINTS member as text.  False: the arena's ceiling. */
RT_MUST_CHECK bool written_name(struct arena *a, const struct house *h, const struct field *field,
                                struct written_items items, uint32_t i, struct str *out);
/* The id of an item of a MAP. */
struct str written_id(const void *item);

#endif
