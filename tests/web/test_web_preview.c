/* The picture of a drag: it agrees with the field where nothing was moved, and follows where something is. */
#include <math.h>
#include <string.h>

#include "web_json.h"

#define LARCH "/api/houses/larch_end/preview"

static struct reply drag(struct web_kit *k, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = LARCH, .body = body });
}

static uint32_t u32(const char *at)
{
    uint32_t v;
    memcpy(&v, at, sizeof v); /* tests run where floats lie as they are sent: a check of bytes is test_web_field's */
    return v;
}

struct picture {
    uint32_t columns, rows;
    double step_m, x0_m, y0_m;
    const char *v;
};

static struct picture picture_of(struct reply r)
{
    struct picture f = { 0 };
    CHECK_TEXT("reply", r.status == 200 ? STR("200") : r.body, STR("200"));
    f.columns = u32(r.body.p + 12);
    f.rows = u32(r.body.p + 16);
    memcpy(&f.step_m, r.body.p + 24, 8);
    memcpy(&f.x0_m, r.body.p + 32, 8);
    memcpy(&f.y0_m, r.body.p + 40, 8);
    f.v = r.body.p + 64;
    return f;
}

static double value(const struct picture *f, uint32_t ix, uint32_t iy)
{
    float v;
    memcpy(&v, f->v + 4 * ((size_t)iy * f->columns + ix), sizeof v);
    return (double)v;
}

/* Where a1 hangs in the file (houses/larch_end.house.yaml, mount dining_ceiling), the picture is nearly the field. */
TEST(where_nothing_moved_it_is_nearly_the_field)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    json_t *drawing = web_json(&k, "/api/houses/larch_end/drawing"), *e;
    char body[300];
    size_t i;
    json_array_foreach(json_object_get(drawing, "equipment"), i, e)
    {
        if (strcmp(json_string_value(json_object_get(e, "id")), "a1") != 0)
            continue;
        json_t *at = json_object_get(e, "at"); /* the ground floor is the datum */
        snprintf(body, sizeof body,
                 "{\"equipment\": \"a1\", \"floor\": \"ground\", \"at_m\": [%g, %g, %g], \"band\": \"5\"}",
                 json_number_value(json_array_get(at, 0)), json_number_value(json_array_get(at, 1)),
                 json_number_value(json_array_get(at, 2)));
    }
    const struct picture now = picture_of(drag(&k, body));
    const struct picture is = picture_of(web_get(&k, "/api/houses/larch_end/field?floor=ground&band=5"));
    double sum_db = 0.0;
    size_t n = 0;
    for (uint32_t iy = 0; iy < now.rows; iy++)
        for (uint32_t ix = 0; ix < now.columns; ix++) {
            const double x = (now.x0_m + ix * now.step_m - is.x0_m) / is.step_m;
            const double y = (now.y0_m + iy * now.step_m - is.y0_m) / is.step_m;
            if (!(x >= 0 && y >= 0 && x < is.columns - 1 && y < is.rows - 1))
                continue;
            const double there = value(&is, (uint32_t)lround(x), (uint32_t)lround(y));
            const double here = value(&now, ix, iy);
            if (isnan(there) || isnan(here) || there < -90)
                continue;
            sum_db += fabs(there - here);
            n++;
        }
    CHECK("cells", n > 200);
    /* a second reflection and what is smoothed between cells are worth this much on average, not more */
    CHECK_NEAR("mean difference", sum_db / (double)n, 0.0, 1.5, "dB");
    json_decref(drawing);
    web_kit_end(&k);
}

#define HELD(at) "{\"equipment\": \"a1\", \"floor\": \"ground\", \"at_m\": " at ", \"band\": \"5\"}"

TEST(the_level_follows_what_is_held)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    const struct picture left = picture_of(drag(&k, HELD("[1.5, 2, 2.4]")));
    const struct picture right = picture_of(drag(&k, HELD("[4.5, 9, 2.4]")));
    const struct picture again = picture_of(drag(&k, HELD("[1.5, 2, 2.4]")));
    const uint32_t ix = (uint32_t)((1.5 - left.x0_m) / left.step_m + 0.5),
                   iy = (uint32_t)((2 - left.y0_m) / left.step_m + 0.5);
    CHECK("stronger under it", value(&left, ix, iy) > value(&right, ix, iy) + 10);
    CHECK("the same bytes again", memcmp(left.v, again.v, 4 * (size_t)left.columns * left.rows) == 0);
    web_kit_end(&k);
}

TEST(a_new_one_of_a_part_can_be_held)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    const struct picture with = picture_of(drag(&k, "{\"part\": \"ceiling_two_band\", \"floor\": \"first\", \"at_m\": "
                                                    "[1, 1, 2.4], \"band\": \"5\", \"seen\": \"loft\"}"));
    CHECK("the floor seen", with.columns > 3 && with.rows > 3);
    web_kit_end(&k);
}

TEST(what_cannot_be_held_is_told)
{
    struct web_kit k;
    static const char *const WRONG[] = {
        "{}",
        "{\"equipment\": \"a9\", \"floor\": \"ground\", \"at_m\": [1, 1, 2], \"band\": \"5\"}",
        "{\"equipment\": \"switch\", \"floor\": \"ground\", \"at_m\": [1, 1, 2], \"band\": \"5\"}",
        "{\"equipment\": \"a1\", \"floor\": \"moon\", \"at_m\": [1, 1, 2], \"band\": \"5\"}",
        "{\"equipment\": \"a1\", \"floor\": \"ground\", \"at_m\": [1, 1], \"band\": \"5\"}",
        "{\"equipment\": \"a1\", \"floor\": \"ground\", \"at_m\": [1, 1, 1e300], \"band\": \"5\"}",
        "{\"equipment\": \"a1\", \"floor\": \"ground\", \"at_m\": [1, 1, \"2\"], \"band\": \"5\"}",
        "{\"equipment\": \"a1\", \"floor\": \"ground\", \"at_m\": [1, 1, 2], \"band\": \"7\"}",
        "{\"part\": \"no_such_part\", \"floor\": \"ground\", \"at_m\": [1, 1, 2], \"band\": \"5\"}",
        "{\"floor\": \"ground\", \"at_m\": [1, 1, 2], \"band\": \"5\"}",
    };
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    for (size_t i = 0; i < RT_COUNT(WRONG); i++)
        CHECK(WRONG[i], drag(&k, WRONG[i]).status == 422);
    CHECK("no JSON", drag(&k, "{").status == 400);
    web_kit_end(&k);
}
