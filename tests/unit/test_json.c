#include "base/json.h"

#include <math.h>
#include <stdlib.h>

#include "check.h"

/* RFC 8259 section 7 and 6: what must be escaped, and that numbers have no other form than the grammar's. */
TEST(object_is_written_as_rfc_8259_says)
{
    struct check_run c = check_run_begin();
    struct buf out = { .arena = c.run.arena };
    struct json j = { .out = &out, .compact = true };
    json_begin_object(&j, NULL);
    json_str(&j, "text", STR("a\"b\\c\n\t\x01 \xc3\xa9"));
    json_begin_array(&j, "list");
    json_int(&j, NULL, -3);
    json_bool(&j, NULL, true);
    json_null(&j, NULL);
    json_begin_object(&j, NULL);
    json_end_object(&j);
    json_end_array(&j);
    json_num(&j, "not a number", (double)NAN);
    json_num(&j, "endless", (double)INFINITY);
    json_fixed(&j, "rounded", -0.0004, 2);
    json_num(&j, "tenth", 0.1);
    json_end_object(&j);
    CHECK_TEXT("object", buf_done(&out),
               STR("{\"text\":\"a\\\"b\\\\c\\n\\t\\u0001 \xc3\xa9\",\"list\":[-3,true,null,{}],\"not a number\":null,"
                   "\"endless\":null,\"rounded\":0.00,\"tenth\":0.1}"));
    check_run_end(&c);
}

PROP(numbers_read_back_to_the_same_value, 5000)
{
    struct check_run c = check_run_begin();
    struct buf out = { .arena = c.run.arena };
    struct json j = { .out = &out, .compact = true };
    const double v = ldexp(random_between(r, -1.0, 1.0), (int)random_below(r, 200) - 100);
    json_num(&j, NULL, v);
    CHECK_NEAR("value", strtod(out.p, NULL), v, 0, "");
    check_run_end(&c);
}

TEST(nesting_beyond_the_limit_fails_cleanly)
{
    struct check_run c = check_run_begin();
    struct buf out = { .arena = c.run.arena };
    struct json j = { .out = &out };
    for (int i = 0; i < JSON_DEPTH_MAX + 5; i++)
        json_begin_array(&j, NULL);
    CHECK("failed", out.failed);
    check_run_end(&c);
}
