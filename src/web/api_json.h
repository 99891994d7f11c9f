/* api_json.h - JSON that was sent (RFC 8259), read through jansson. */
#ifndef RT_WEB_API_JSON_H
#define RT_WEB_API_JSON_H

#include "base/problem.h"

struct api_json {
    void *root; /* json_t */
};

/* An object; end with api_json_end().  Errors: RT_SYNTAX with the line, RT_SHAPE. */
RT_MUST_CHECK enum rt_code api_json_read(struct str bytes, struct api_json *out, struct rt_problems *p);
void api_json_end(struct api_json *j);

/* Copies of nothing: they live as long as the JSON does.  Empty: not there, or no text. */
struct str api_json_text(const struct api_json *j, const char *key);
/* NaN: not there, or no number. */
double api_json_number(const struct api_json *j, const char *key);
/* Numbers of a list of them, at most `most`; 0: not there, or something else among them, or more. */
size_t api_json_numbers(const struct api_json *j, const char *key, double *out, size_t most);
/* False: not there, or no true. */
bool api_json_true(const struct api_json *j, const char *key);
/* An item of a list of texts; empty: it is none. */
struct str api_json_text_at(const struct api_json *j, const char *key, size_t i);
bool api_json_has(const struct api_json *j, const char *key);
/* The value as JSON again, in the arena; empty: not there, or the arena's ceiling. */
struct str api_json_again(struct arena *a, const struct api_json *j, const char *key);
/* Items of a list; 0: not there, or no list.  An item that is no object has no keys. */
size_t api_json_count(const struct api_json *j, const char *key);
struct api_json api_json_item(const struct api_json *j, const char *key, size_t i);

#endif
