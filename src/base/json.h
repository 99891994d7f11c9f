/* json.h - writing JSON (RFC 8259) with stable key order: the order of the calls.
 *
 * Inside an object pass the key, inside an array pass NULL.  Doubles print as the shortest text that reads back to the
 * same value, or with fixed decimals where the digits are part of the contract; NaN and infinities print as null. */
#ifndef RT_JSON_H
#define RT_JSON_H

#include <stdbool.h>
#include <stdint.h>

#include "base/str.h"

enum { JSON_DEPTH_MAX = 64 };

struct json {
    struct buf *out;
    unsigned depth;
    bool has_item[JSON_DEPTH_MAX];
    bool compact; /* one line, no spaces; else indented by two */
};

void json_begin_object(struct json *j, const char *key);
void json_end_object(struct json *j);
void json_begin_array(struct json *j, const char *key);
void json_end_array(struct json *j);
void json_str(struct json *j, const char *key, struct str value);
void json_text(struct json *j, const char *key, const char *value); /* NULL prints null */
void json_num(struct json *j, const char *key, double value);
/* value rounded to `decimals` digits behind the point; -0 prints as 0. */
void json_fixed(struct json *j, const char *key, double value, int decimals);
void json_int(struct json *j, const char *key, int64_t value);
void json_bool(struct json *j, const char *key, bool value);
void json_null(struct json *j, const char *key);
/* Ends the text with a newline. */
void json_end(struct json *j);

#endif
