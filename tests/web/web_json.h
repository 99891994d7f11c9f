/* web_json.h - jansson beside our own writer: one name of the two is the same. */
#ifndef RT_WEB_JSON_H
#define RT_WEB_JSON_H

#define json_null jansson_null
#include <jansson.h>
#undef json_null

#include "web_kit.h"

/* The JSON that a question is answered with; fails unless the status is 200.  End it with json_decref(). */
static inline json_t *web_json(struct web_kit *k, const char *target)
{
    json_error_t error;
    const struct reply r = web_get(k, target);
    CHECK_TEXT(target, r.status == 200 ? STR("200") : r.body, STR("200"));
    json_t *j = json_loadb(r.body.p, r.body.n, 0, &error);
    CHECK(error.text, j != NULL);
    return j;
}

#endif
