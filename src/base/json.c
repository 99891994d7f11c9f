#include "base/json.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static void escaped(struct buf *out, struct str s)
{
    buf_char(out, '"');
    for (size_t i = 0; i < s.n; i++) {
        const unsigned char c = (unsigned char)s.p[i];
        if (c == '"' || c == '\\')
            buf_char(out, '\\');
        if (c == '\n')
            buf_text(out, "\\n");
        else if (c == '\t')
            buf_text(out, "\\t");
        else if (c < 0x20 || c == 0x7f)
            buf_printf(out, "\\u%04x", c);
        else
            buf_char(out, (char)c);
    }
    buf_char(out, '"');
}

static void newline(struct json *j)
{
    if (j->compact)
        return;
    buf_char(j->out, '\n');
    buf_fill(j->out, ' ', (size_t)j->depth * 2);
}

static void start_item(struct json *j, const char *key)
{
    if (j->depth > 0) {
        if (j->has_item[j->depth - 1])
            buf_char(j->out, ',');
        j->has_item[j->depth - 1] = true;
        newline(j);
    }
    if (key) {
        escaped(j->out, str_from(key));
        buf_text(j->out, j->compact ? ":" : ": ");
    }
}

static void begin(struct json *j, const char *key, char bracket)
{
    start_item(j, key);
    buf_char(j->out, bracket);
    if (j->depth < JSON_DEPTH_MAX)
        j->has_item[j->depth] = false;
    else
        j->out->failed = true;
    if (!j->out->failed)
        j->depth++;
}

static void end(struct json *j, char bracket)
{
    if (j->out->failed || j->depth == 0)
        return;
    j->depth--;
    if (j->has_item[j->depth])
        newline(j);
    buf_char(j->out, bracket);
}

void json_begin_object(struct json *j, const char *key) { begin(j, key, '{'); }
void json_end_object(struct json *j) { end(j, '}'); }
void json_begin_array(struct json *j, const char *key) { begin(j, key, '['); }
void json_end_array(struct json *j) { end(j, ']'); }

void json_str(struct json *j, const char *key, struct str value)
{
    start_item(j, key);
    escaped(j->out, value);
}

void json_text(struct json *j, const char *key, const char *value)
{
    if (value)
        json_str(j, key, str_from(value));
    else
        json_null(j, key);
}

void json_num(struct json *j, const char *key, double value)
{
    if (!isfinite(value)) {
        json_null(j, key);
        return;
    }
    char text[40];
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value + 0.0);
        if (strtod(text, NULL) == value)
            break;
    }
    start_item(j, key);
    buf_text(j->out, text);
}

void json_fixed(struct json *j, const char *key, double value, int decimals)
{
    if (!isfinite(value)) {
        json_null(j, key);
        return;
    }
    char text[400];
    snprintf(text, sizeof text, "%.*f", decimals, value);
    start_item(j, key);
    /* A value that rounds to nothing has no sign. */
    buf_text(j->out, text[0] == '-' && strtod(text, NULL) == 0.0 ? text + 1 : text);
}

void json_int(struct json *j, const char *key, int64_t value)
{
    start_item(j, key);
    buf_printf(j->out, "%" PRId64, value);
}

void json_bool(struct json *j, const char *key, bool value)
{
    start_item(j, key);
    buf_text(j->out, value ? "true" : "false");
}

void json_null(struct json *j, const char *key)
{
    start_item(j, key);
    buf_text(j->out, "null");
}

void json_end(struct json *j) { buf_char(j->out, '\n'); }
