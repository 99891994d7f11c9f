/* fact.h - evidence as a small tree of named facts: written once by an evaluator, printed as JSON by whoever asks. */
#ifndef RT_PROMISE_FACT_H
#define RT_PROMISE_FACT_H

#include "base/json.h"

enum fact_kind { FACT_NULL, FACT_NUM, FACT_TEXT, FACT_BOOL, FACT_OBJECT, FACT_ARRAY };

struct fact {
    const char *key; /* NULL inside an array */
    enum fact_kind kind;
    double num;
    int decimals; /* digits behind the point that mean something */
    struct str text;
    struct fact *first, *last, *next;
};

/* Each adds a fact to a parent (an object or array) and returns it; the key must outlive the tree (a literal).  When the
 * arena's ceiling is reached they return NULL, and a NULL parent is ignored, so one check at the end is enough. */
struct fact *fact_object(struct arena *a, struct fact *parent, const char *key);
struct fact *fact_array(struct arena *a, struct fact *parent, const char *key);
struct fact *fact_num(struct arena *a, struct fact *parent, const char *key, double value, int decimals);
struct fact *fact_str(struct arena *a, struct fact *parent, const char *key, struct str value);
struct fact *fact_text(struct arena *a, struct fact *parent, const char *key, const char *value);
struct fact *fact_bool(struct arena *a, struct fact *parent, const char *key, bool value);

/* What stands under a key of an object; NULL: nothing does. */
const struct fact *fact_find(const struct fact *object, const char *key);
/* The text under a key of an object; empty: it has none. */
struct str fact_find_str(const struct fact *object, const char *key);

/* The number under a key of an object; NaN: it has none, or it is not known. */
double fact_find_num(const struct fact *object, const char *key);
/* The first of what stands under a key, an object or array; NULL: nothing.  The others follow by `next`. */
const struct fact *fact_find_first(const struct fact *object, const char *key);

/* Writes the tree under a key (NULL: inside an array).  A NULL tree is an empty object. */
void fact_write(struct json *j, const char *key, const struct fact *f);

#endif
