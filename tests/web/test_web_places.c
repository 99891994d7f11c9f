/* What is drawn on the house: paths of signal, a packet's way, what a failure leaves.  Checked by geometry and by the other answers. */
#include <math.h>
#include <string.h>

#include "web_json.h"

#define FLAT "/api/houses/quay_flat"

static double number_at(const json_t *list, size_t i) { return json_number_value(json_array_get(list, i)); }

static const char *text(const json_t *o, const char *key) { return json_string_value(json_object_get(o, key)); }

static const json_t *by_id(const json_t *list, const char *id)
{
    size_t i;
    json_t *one;
    json_array_foreach(list, i, one)
    {
        if (strcmp(text(one, "id"), id) == 0)
            return one;
    }
    return NULL;
}

/* ---- paths ---- */

struct point {
    double v[3];
};

static struct point point_of(const json_t *p)
{
    return (struct point){ { number_at(p, 0), number_at(p, 1), number_at(p, 2) } };
}

static double apart_m(struct point a, struct point b)
{
    return sqrt(pow(a.v[0] - b.v[0], 2) + pow(a.v[1] - b.v[1], 2) + pow(a.v[2] - b.v[2], 2));
}

/* How far a point is from a wall's middle line, seen from above. */
static double off_line_m(const json_t *line, struct point p)
{
    double least = HUGE_VAL;
    for (size_t i = 0; i + 1 < json_array_size(line); i++) {
        const json_t *a = json_array_get(line, i), *b = json_array_get(line, i + 1);
        const double ax = number_at(a, 0), ay = number_at(a, 1), dx = number_at(b, 0) - ax, dy = number_at(b, 1) - ay;
        const double t = fmin(fmax(((p.v[0] - ax) * dx + (p.v[1] - ay) * dy) / (dx * dx + dy * dy), 0.0), 1.0);
        least = fmin(least, hypot(p.v[0] - ax - t * dx, p.v[1] - ay - t * dy));
    }
    return least;
}

/* A mirror turns only the part of the direction that is square to it: the law of reflection (any textbook of optics).  For a wall
 * with one straight line that is the horizontal direction across the line. */
static void check_mirrored(const json_t *wall, struct point before, struct point at, struct point after)
{
    const json_t *line = json_object_get(wall, "line"), *a = json_array_get(line, 0), *b = json_array_get(line, 1);
    const double dx = number_at(b, 0) - number_at(a, 0), dy = number_at(b, 1) - number_at(a, 1), l = hypot(dx, dy);
    const double in_m = apart_m(before, at), out_m = apart_m(at, after);
    const double along_in = ((at.v[0] - before.v[0]) * dx + (at.v[1] - before.v[1]) * dy) / (l * in_m);
    const double along_out = ((after.v[0] - at.v[0]) * dx + (after.v[1] - at.v[1]) * dy) / (l * out_m);
    if (json_array_size(line) != 2 || in_m < 0.3 || out_m < 0.3)
        return; /* millimetres of rounding would decide */
    CHECK_NEAR("along the wall", along_out, along_in, 0.02, "");
    CHECK_NEAR("upwards", (after.v[2] - at.v[2]) / out_m, (at.v[2] - before.v[2]) / in_m, 0.02, "");
}

static void check_one_path(const json_t *path, const json_t *walls, size_t *n_mirrors)
{
    const json_t *points = json_object_get(path, "points_m"), *crossings = json_object_get(path, "crossings");
    const size_t n = json_array_size(points);
    double sum_m = 0.0;
    size_t i, k;
    json_t *c;
    CHECK("from the antenna to the spot", n >= 2);
    for (k = 0; k + 1 < n; k++)
        sum_m += apart_m(point_of(json_array_get(points, k)), point_of(json_array_get(points, k + 1)));
    CHECK_NEAR("its pieces together", sum_m, json_number_value(json_object_get(path, "length_m")), 0.005, "m");
    CHECK("straight", strcmp(text(path, "kind"), "direct") != 0 || n == 2);
    json_array_foreach(crossings, i, c)
    {
        const struct point at = point_of(json_object_get(c, "place_m"));
        if (!json_is_true(json_object_get(c, "reflection")))
            continue;
        for (k = 1; k + 1 < n && apart_m(point_of(json_array_get(points, k)), at) > 0.003; k++)
            continue;
        CHECK("mirrored at one of its points", k + 1 < n);
        const json_t *wall = by_id(walls, text(c, "id"));
        if (!wall)
            continue; /* a floor, a slope, a thing */
        CHECK("on the wall", off_line_m(json_object_get(wall, "line"), at) <=
                                 json_number_value(json_object_get(wall, "thickness_m")) / 2 + 0.003);
        check_mirrored(wall, point_of(json_array_get(points, k - 1)), at, point_of(json_array_get(points, k + 1)));
        ++*n_mirrors;
    }
}

TEST(a_path_runs_from_the_antenna_over_its_mirrors_to_the_spot)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    json_t *spot = web_json(&k, FLAT "/signal?floor=third&at=2,2,1.2"), *drawing = web_json(&k, FLAT "/drawing");
    const json_t *walls = json_object_get(drawing, "walls"), *heard, *path;
    const double z_m = json_number_value(json_object_get(json_array_get(json_object_get(drawing, "floors"), 0), "z_m"));
    size_t i, n, n_paths = 0, n_mirrors = 0;
    json_array_foreach(json_object_get(spot, "access_points"), i, heard)
    {
        const json_t *stands = json_object_get(by_id(json_object_get(drawing, "equipment"), text(heard, "id")), "at");
        json_array_foreach(json_object_get(heard, "paths"), n, path)
        {
            const json_t *points = json_object_get(path, "points_m");
            const struct point first = point_of(json_array_get(points, 0));
            const struct point last = point_of(json_array_get(points, json_array_size(points) - 1));
            CHECK_NEAR("begins at its antenna", apart_m(first, point_of(stands)), 0.0, 0.1, "m");
            CHECK_NEAR("ends at the spot", apart_m(last, (struct point){ { 2, 2, z_m + 1.2 } }), 0.0, 0.002, "m");
            check_one_path(path, walls, &n_mirrors);
            n_paths++;
        }
    }
    CHECK("paths and mirrors", n_paths > 20 && n_mirrors > 10);
    json_decref(spot);
    spot = web_json(&k, FLAT "/signal?floor=third&at=2,2&paths=3&availability=0.5");
    heard = json_array_get(json_object_get(spot, "access_points"), 0);
    CHECK("as many as asked for", json_array_size(json_object_get(heard, "paths")) == 3);
    CHECK_NEAR("what holds in half of the places is the mean",
               json_number_value(json_object_get(heard, "promised_level_dbm")),
               json_number_value(json_object_get(heard, "level_dbm")), 0.01, "dBm");
    json_decref(spot);
    json_decref(drawing);
    CHECK("not so many", web_get(&k, FLAT "/signal?floor=third&at=2,2&paths=-1").status == 422);
    web_kit_end(&k);
}

/* ---- a packet's way ---- */

TEST(every_step_of_a_way_is_something_of_the_house)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    json_t *asked = web_json(&k, "/api/houses/larch_end/ask?from=anna_phone&to=printer&service=ipp"), *step;
    json_t *drawing = web_json(&k, "/api/houses/larch_end/drawing");
    const json_t *way = json_object_get(asked, "way"), *steps = json_object_get(asked, "steps");
    size_t i, n_decides = 0, n_cables = 0;
    CHECK("as many as words", json_array_size(way) == json_array_size(steps) && json_array_size(steps) > 4);
    json_array_foreach(steps, i, step)
    {
        const char *kind = text(step, "kind"), *id = text(step, "id");
        const bool is_cable = strcmp(kind, "cable") == 0, is_device = strcmp(kind, "device") == 0;
        CHECK_TEXT("the same words", str_from(text(step, "says")), str_from(json_string_value(json_array_get(way, i))));
        n_decides += json_is_true(json_object_get(step, "decides"));
        n_cables += is_cable;
        if (strcmp(kind, "air") != 0)
            CHECK(id, by_id(json_object_get(drawing, is_cable    ? "cables"
                                                     : is_device ? "devices"
                                                                 : "equipment"),
                            id) != NULL);
    }
    CHECK("decided once, at the gateway", n_decides == 1);
    CHECK("by cable", n_cables >= 2);
    CHECK_TEXT("from", str_from(text(json_array_get(steps, 0), "id")), STR("anna_phone"));
    CHECK_TEXT("to", str_from(text(json_array_get(steps, json_array_size(steps) - 1), "id")), STR("printer"));
    json_decref(asked);
    asked = web_json(&k, "/api/houses/larch_end/ask?from=guests&to=home_server&service=ssh");
    steps = json_object_get(asked, "steps");
    CHECK_TEXT("refused", str_from(text(asked, "verdict")), STR("refused"));
    CHECK_TEXT("a side that is no device", str_from(text(json_array_get(steps, 0), "kind")), STR("side"));
    CHECK_TEXT("ends where it is refused", str_from(text(json_array_get(steps, json_array_size(steps) - 1), "kind")),
               STR("gateway"));
    json_decref(asked);
    json_decref(drawing);
    web_kit_end(&k);
}

/* ---- whose field ---- */

static float node(struct reply r, size_t i)
{
    float v;
    memcpy(&v, r.body.p + 64 + 4 * i, sizeof v); /* a check of bytes is test_web_field's */
    return v;
}

static size_t n_nodes(struct reply r) { return (r.body.n - 64) / 4; }

#define FIELD "/api/houses/whin_farm/field?floor=ground&band=5"

/* The field of a house is at each place that of the access point that is strongest there; what is left after one has failed is that
 * of the others. */
TEST(the_field_of_all_is_the_strongest_of_each)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "whin_farm", NULL });
    json_t *drawing = web_json(&k, "/api/houses/whin_farm/drawing"), *e;
    const struct reply all = web_get(&k, FIELD);
    CHECK_TEXT("the field", all.status == 200 ? STR("200") : all.body, STR("200"));
    const size_t n = n_nodes(all);
    float *best = ARENA_ARRAY(k.c.run.arena, float, n), *others = ARENA_ARRAY(k.c.run.arena, float, n);
    const char *first = NULL;
    size_t i, x, n_known = 0;
    for (x = 0; x < n; x++)
        best[x] = others[x] = -INFINITY;
    json_array_foreach(json_object_get(drawing, "equipment"), i, e)
    {
        if (!json_array_size(json_object_get(e, "radios")))
            continue;
        const struct reply one = web_get(&k, arena_printf(k.c.run.arena, FIELD "&only=%s", text(e, "id")));
        CHECK_TEXT(text(e, "id"), one.status == 200 ? STR("200") : one.body, STR("200"));
        CHECK("the same nodes", n_nodes(one) == n);
        for (x = 0; x < n; x++) {
            best[x] = fmaxf(best[x], node(one, x)); /* of a number and no number: the number */
            if (first)
                others[x] = fmaxf(others[x], node(one, x));
        }
        first = first ? first : text(e, "id");
    }
    const struct reply left = web_get(&k, arena_printf(k.c.run.arena, FIELD "&failed=access_point:%s", first));
    CHECK_TEXT("after a failure", left.status == 200 ? STR("200") : left.body, STR("200"));
    for (x = 0; x < n; x++) {
        if (isnan(node(all, x)))
            continue;
        n_known++;
        CHECK("the strongest of each", fabsf(best[x] - node(all, x)) < 1e-4f);
        CHECK("of the others", isinf(others[x]) ? isnan(node(left, x)) : fabsf(others[x] - node(left, x)) < 1e-4f);
    }
    CHECK("nodes", n_known > 500);
    CHECK("nobody", web_get(&k, FIELD "&only=nobody").status == 422);
    CHECK("no such failure", web_get(&k, FIELD "&failed=access_point:nobody").status == 422);
    CHECK("not quick", web_get(&k, FIELD "&quick=yes&failed=line:line").status == 422);
    json_decref(drawing);
    web_kit_end(&k);
}

/* A cable with a dead end carries nothing; one of the flat hangs on the switch by the box. */
TEST(cables_die_with_their_ends)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    json_t *answer = web_json(&k, FLAT "/failures"), *drawing = web_json(&k, FLAT "/drawing"), *f, *c, *id;
    size_t i, m, x, n_switch = 0;
    json_array_foreach(json_object_get(answer, "failures"), i, f)
    {
        json_array_foreach(json_object_get(drawing, "cables"), m, c)
        {
            bool has_failed_end = false, is_told = false;
            for (int end = 0; end < 2; end++)
                has_failed_end |= strcmp(text(json_object_get(c, end ? "to" : "from"), "what"), text(f, "id")) == 0;
            json_array_foreach(json_object_get(f, "cables_lost"), x, id)
            {
                is_told |= strcmp(json_string_value(id), text(c, "id")) == 0;
            }
            CHECK(text(c, "id"), is_told || !has_failed_end);
        }
        if (strcmp(text(f, "kind"), "switch") == 0)
            n_switch += json_array_size(json_object_get(f, "cables_lost"));
    }
    CHECK("of the switch", n_switch >= 2);
    json_decref(answer);
    json_decref(drawing);
    web_kit_end(&k);
}

/* ---- words ---- */

static bool is_known(struct web_kit *k, const char *wall, const char *construct)
{
    const char *body = arena_printf(
        k->c.run.arena, "{\"edits\": [{\"op\": \"set\", \"path\": \"/walls/%s/construct\", \"value\": \"%s\"}]}", wall,
        construct);
    const struct reply r = web_ask(k, (struct asked_web){ .method = "POST", .target = FLAT "/try", .body = body });
    return r.status == 200 && !strstr(r.body.p, "UNKNOWN_REF");
}

/* The reader of the house file knows each name that is suggested. */
TEST(what_is_suggested_is_known)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    json_t *words = web_json(&k, "/api/words"), *model = web_json(&k, FLAT "/model"), *one;
    json_t *walls = json_object_get(json_object_get(model, "house"), "walls");
    const char *wall = json_object_iter_key(json_object_iter(walls));
    size_t i;
    CHECK("kinds and services", json_array_size(json_object_get(words, "device_kinds")) > 20 &&
                                    json_array_size(json_object_get(words, "services")) > 20);
    json_array_foreach(json_object_get(words, "constructs"), i, one)
    {
        CHECK(text(one, "name"), is_known(&k, wall, text(one, "name")));
    }
    CHECK("constructs", i > 20);
    CHECK("what is not there is not", !is_known(&k, wall, "gingerbread"));
    json_decref(words);
    json_decref(model);
    web_kit_end(&k);
}
