#include "promise/fact.h"

#include <math.h>
#include <string.h>

static struct fact *add(struct arena *a, struct fact *parent, struct fact value)
{
    struct fact *f = ARENA_NEW(a, struct fact);
    if (!f)
        return NULL;
    *f = value;
    if (parent && parent->last)
        parent->last->next = f;
    else if (parent)
        parent->first = f;
    if (parent)
        parent->last = f;
    return f;
}

struct fact *fact_object(struct arena *a, struct fact *parent, const char *key)
{
    return add(a, parent, (struct fact){ .key = key, .kind = FACT_OBJECT });
}

struct fact *fact_array(struct arena *a, struct fact *parent, const char *key)
{
    return add(a, parent, (struct fact){ .key = key, .kind = FACT_ARRAY });
}

struct fact *fact_num(struct arena *a, struct fact *parent, const char *key, double value, int decimals)
{
    return add(a, parent, (struct fact){ .key = key, .kind = FACT_NUM, .num = value, .decimals = decimals });
}

struct fact *fact_str(struct arena *a, struct fact *parent, const char *key, struct str value)
{
    return add(a, parent, (struct fact){ .key = key, .kind = FACT_TEXT, .text = value });
}

struct fact *fact_text(struct arena *a, struct fact *parent, const char *key, const char *value)
{
    return fact_str(a, parent, key, str_from(value));
}

struct fact *fact_bool(struct arena *a, struct fact *parent, const char *key, bool value)
{
    return add(a, parent, (struct fact){ .key = key, .kind = FACT_BOOL, .num = value ? 1.0 : 0.0 });
}

const struct fact *fact_find(const struct fact *object, const char *key)
{
    const struct fact *f = object ? object->first : NULL;
    while (f && !(f->key && strcmp(f->key, key) == 0))
        f = f->next;
    return f;
}

struct str fact_find_str(const struct fact *object, const char *key)
{
    const struct fact *f = fact_find(object, key);
    return f && f->kind == FACT_TEXT ? f->text : STR("");
}

double fact_find_num(const struct fact *object, const char *key)
{
    const struct fact *f = fact_find(object, key);
    return f && f->kind == FACT_NUM ? f->num : (double)NAN;
}

const struct fact *fact_find_first(const struct fact *object, const char *key)
{
    const struct fact *f = fact_find(object, key);
    return f ? f->first : NULL;
}

void fact_write(struct json *j, const char *key, const struct fact *f)
{
    switch (f ? f->kind : FACT_OBJECT) {
    case FACT_NULL:
        json_null(j, key);
        break;
    case FACT_NUM:
        json_fixed(j, key, f->num, f->decimals);
        break;
    case FACT_TEXT:
        json_str(j, key, f->text);
        break;
    case FACT_BOOL:
        json_bool(j, key, f->num != 0.0);
        break;
    case FACT_OBJECT:
        json_begin_object(j, key);
        for (const struct fact *c = f ? f->first : NULL; c; c = c->next)
            fact_write(j, c->key, c);
        json_end_object(j);
        break;
    case FACT_ARRAY:
        json_begin_array(j, key);
        for (const struct fact *c = f->first; c; c = c->next)
            fact_write(j, NULL, c);
        json_end_array(j);
        break;
    }
}
