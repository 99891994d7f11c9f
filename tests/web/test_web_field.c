/* Fields as they are sent: the bytes are laid out as docs/api.md says, and what is sent twice agrees. */
#include <math.h>
#include <string.h>

#include "web_json.h"

struct sent {
    uint32_t columns, rows, revision;
    double step_m, x0_m, y0_m, z_m;
    float least, most;
    const unsigned char *v;
};

/* Little-endian, byte by byte, whatever this machine is. */
static uint64_t number(const unsigned char *at, int n)
{
    uint64_t v = 0;
    for (int i = n - 1; i >= 0; i--)
        v = v << 8 | at[i];
    return v;
}

static double f64(const unsigned char *at)
{
    const uint64_t bits = number(at, 8);
    double v;
    memcpy(&v, &bits, sizeof v);
    return v;
}

static float f32(const unsigned char *at)
{
    const uint32_t bits = (uint32_t)number(at, 4);
    float v;
    memcpy(&v, &bits, sizeof v);
    return v;
}

static struct sent read_sent(struct reply r)
{
    const unsigned char *b = (const unsigned char *)r.body.p;
    CHECK_TEXT("reply", r.status == 200 ? STR("200") : r.body, STR("200"));
    CHECK("magic", r.body.n > 64 && memcmp(b, "RTFD", 4) == 0);
    CHECK("version", number(b + 4, 4) == 1 && number(b + 8, 4) == 64);
    const struct sent s = { .columns = (uint32_t)number(b + 12, 4),
                            .rows = (uint32_t)number(b + 16, 4),
                            .revision = (uint32_t)number(b + 20, 4),
                            .step_m = f64(b + 24),
                            .x0_m = f64(b + 32),
                            .y0_m = f64(b + 40),
                            .z_m = f64(b + 48),
                            .least = f32(b + 56),
                            .most = f32(b + 60),
                            .v = b + 64 };
    CHECK("as long as it says", r.body.n == 64 + 4 * (size_t)s.columns * s.rows);
    return s;
}

static double value(const struct sent *s, uint32_t ix, uint32_t iy)
{
    return (double)f32(s->v + 4 * ((size_t)iy * s->columns + ix));
}

/* Linear between four nodes; NaN beside what is not known, and at walls, where they lie in two rooms. */
static double between(const struct sent *s, double x_m, double y_m)
{
    const double x = (x_m - s->x0_m) / s->step_m, y = (y_m - s->y0_m) / s->step_m;
    if (!(x >= 0 && y >= 0 && x < s->columns - 1 && y < s->rows - 1))
        return (double)NAN;
    const uint32_t ix = (uint32_t)x, iy = (uint32_t)y;
    const double fx = x - ix, fy = y - iy;
    const double a = value(s, ix, iy), b = value(s, ix + 1, iy), c = value(s, ix, iy + 1), d = value(s, ix + 1, iy + 1);
    if (fmax(fmax(a, b), fmax(c, d)) - fmin(fmin(a, b), fmin(c, d)) > 2.0)
        return (double)NAN;
    return (a * (1 - fx) + b * fx) * (1 - fy) + (c * (1 - fx) + d * fx) * fy;
}

#define LARCH "/api/houses/larch_end/field"

TEST(the_bytes_are_a_field)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    const struct sent level = read_sent(web_get(&k, LARCH "?what=level&floor=ground&band=5"));
    const struct sent second = read_sent(web_get(&k, LARCH "?what=second&floor=ground&band=5"));
    const struct sent mean = read_sent(web_get(&k, LARCH "?floor=ground&band=5&availability=0.5"));
    size_t known = 0;
    double least = HUGE_VAL, most = -HUGE_VAL;
    CHECK("the same nodes", level.columns == second.columns && level.rows == second.rows && level.revision == 1);
    for (uint32_t iy = 0; iy < level.rows; iy++)
        for (uint32_t ix = 0; ix < level.columns; ix++) {
            const double v = value(&level, ix, iy);
            CHECK("none in the one, none in the other", isnan(v) == isnan(value(&second, ix, iy)));
            if (isnan(v))
                continue;
            known++;
            least = fmin(least, v);
            most = fmax(most, v);
            CHECK("the second is not stronger", value(&second, ix, iy) <= v);
            /* 1.2816: z of 90 % (any table of the normal distribution); ITU-R P.1238: the house's spread is one figure */
            CHECK("what holds is less than the mean", value(&mean, ix, iy) > v);
        }
    CHECK("something is known", known > 1000);
    CHECK_NEAR("least", (double)level.least, least, 0, "dBm");
    CHECK_NEAR("largest", (double)level.most, most, 0, "dBm");
    CHECK("levels of a house", most < -10 && most > -60 && least > -160);
    web_kit_end(&k);
}

/* A line of -70 dBm lies where the field is -70 dBm. */
TEST(lines_lie_where_the_field_has_their_level)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    const struct sent level = read_sent(web_get(&k, LARCH "?floor=first&band=5"));
    json_t *j = web_json(&k, LARCH "/contours?floor=first&band=5&levels=-50,-60"), *line, *point;
    size_t i, n, tried = 0, close = 0, promised = 0;
    json_array_foreach(json_object_get(j, "lines"), i, line)
    {
        const double want = json_number_value(json_object_get(line, "level"));
        promised += json_is_true(json_object_get(line, "is_promised"));
        json_array_foreach(json_object_get(line, "line"), n, point)
        {
            const double got = between(&level, json_number_value(json_array_get(point, 0)),
                                       json_number_value(json_array_get(point, 1)));
            tried += isnan(got) ? 0 : 1;
            close += fabs(got - want) < 0.5;
        }
    }
    CHECK("lines", tried > 50);
    CHECK("all", close == tried);
    json_decref(j);
    web_kit_end(&k);
}

TEST(what_is_not_there_is_told)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    static const char *const WRONG[] = {
        "/api/houses/quay_flat/field?band=5",
        "/api/houses/quay_flat/field?floor=cellar&band=5",
        "/api/houses/quay_flat/field?floor=third",
        "/api/houses/quay_flat/field?floor=third&band=7",
        "/api/houses/quay_flat/field?floor=third&band=5&what=colour",
        "/api/houses/quay_flat/field?floor=third&band=5&device=kettle",
        "/api/houses/quay_flat/field?floor=third&band=5&availability=1",
        "/api/houses/quay_flat/field?floor=third&band=5&availability=nan",
        "/api/houses/quay_flat/field?floor=third&band=5&estimate=wild",
        "/api/houses/quay_flat/field?floor=third&band=5&quick=maybe",
        "/api/houses/quay_flat/field/contours?floor=third&band=5&levels=a",
        "/api/houses/quay_flat/field/contours?floor=third&band=5&levels=-70,inf",
    };
    for (size_t i = 0; i < RT_COUNT(WRONG); i++)
        CHECK(WRONG[i], web_get(&k, WRONG[i]).status == 422);
    web_kit_end(&k);
}

/* Until the whole field is there: coarser, of the same floor, and on the whole of the same levels. */
TEST(a_quick_field_resembles_the_whole_one)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct sent quick = read_sent(web_get(&k, "/api/houses/quay_flat/field?floor=third&band=5&quick=yes"));
    const struct sent whole = read_sent(web_get(&k, "/api/houses/quay_flat/field?floor=third&band=5"));
    double sum_db = 0.0;
    size_t n = 0;
    CHECK("coarser", quick.step_m > whole.step_m && quick.revision == 1);
    for (uint32_t iy = 0; iy < quick.rows; iy++)
        for (uint32_t ix = 0; ix < quick.columns; ix++) {
            const double there = between(&whole, quick.x0_m + ix * quick.step_m, quick.y0_m + iy * quick.step_m);
            const double here = value(&quick, ix, iy);
            if (isnan(there) || isnan(here))
                continue;
            sum_db += fabs(there - here);
            n++;
        }
    CHECK("nodes", n > 50);
    /* a second reflection and what is smoothed between nodes are worth this much on average, not more */
    CHECK_NEAR("mean difference", sum_db / (double)n, 0.0, 2.0, "dB");
    web_kit_end(&k);
}
