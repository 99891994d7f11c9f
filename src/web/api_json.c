#include "web/api_json.h"

#include <jansson.h>
#include <math.h>

/* Fifteen digits give back every decimal that a person or a page writes (4.15, not 4.1500000000000004). */
static const size_t FORM = JSON_ENCODE_ANY | JSON_COMPACT | JSON_REAL_PRECISION(15);

enum rt_code api_json_read(struct str bytes, struct api_json *out, struct rt_problems *p)
{
    json_error_t error;
    out->root = json_loadb(bytes.n ? bytes.p : "", bytes.n, JSON_REJECT_DUPLICATES, &error);
    if (!out->root)
        return rt_fail(p, RT_SYNTAX, RT_NOWHERE, "send JSON", "line %d of what was sent: %s", error.line, error.text);
    if (json_is_object((json_t *)out->root))
        return RT_OK;
    api_json_end(out);
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send an object: {...}", "what was sent is no JSON object");
}

void api_json_end(struct api_json *j)
{
    if (j->root)
        json_decref(j->root);
    j->root = NULL;
}

static struct str text_of(const json_t *value)
{
    return json_is_string(value) ? (struct str){ json_string_value(value), json_string_length(value) }
                                 : (struct str){ 0 };
}

struct str api_json_text(const struct api_json *j, const char *key) { return text_of(json_object_get(j->root, key)); }

struct str api_json_text_at(const struct api_json *j, const char *key, size_t i)
{
    return text_of(json_array_get(json_object_get(j->root, key), i));
}

double api_json_number(const struct api_json *j, const char *key)
{
    const json_t *value = json_object_get(j->root, key);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

size_t api_json_numbers(const struct api_json *j, const char *key, double *out, size_t most)
{
    const json_t *list = json_object_get(j->root, key);
    const size_t n = json_array_size(list);
    for (size_t i = 0; i < n && n <= most; i++) {
        if (!json_is_number(json_array_get(list, i)))
            return 0;
        out[i] = json_number_value(json_array_get(list, i));
    }
    return n <= most ? n : 0;
}

bool api_json_true(const struct api_json *j, const char *key) { return json_is_true(json_object_get(j->root, key)); }

bool api_json_has(const struct api_json *j, const char *key) { return json_object_get(j->root, key) != NULL; }

struct str api_json_again(struct arena *a, const struct api_json *j, const char *key)
{
    const json_t *value = json_object_get(j->root, key);
    const size_t n = value ? json_dumpb(value, NULL, 0, FORM) : 0;
    char *text = n ? ARENA_ARRAY(a, char, n + 1) : NULL;
    if (!text)
        return (struct str){ 0 };
    return (struct str){ text, json_dumpb(value, text, n, FORM) };
}

size_t api_json_count(const struct api_json *j, const char *key)
{
    return json_array_size(json_object_get(j->root, key));
}

struct api_json api_json_item(const struct api_json *j, const char *key, size_t i)
{
    return (struct api_json){ json_array_get(json_object_get(j->root, key), i) };
}
