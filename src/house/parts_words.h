/* parts_words.h - parts as they are listed for people and for programs. */
#ifndef RT_HOUSE_PARTS_WORDS_H
#define RT_HOUSE_PARTS_WORDS_H

#include "base/json.h"
#include "house/house.h"

/* What makes the part what it is: its radios, its ports, its budget, its size. */
void part_describe(const struct part *part, struct buf *out);
/* The object documented in docs/json.md under `parts`. */
void parts_write_json(struct json *j, const struct parts *parts);

#endif
