/* The house as something to draw: every thing of the model is there, where the model has it, and its path leads to it in the file. */
#include <stdlib.h>
#include <string.h>

#include "web_json.h"

static const char *const SECTIONS[] = { "floors", "rooms",     "walls",   "planes",     "obstacles", "runs",
                                        "mounts", "equipment", "devices", "neighbours", "cables" };

/* jansson's pointer walk: the path of each thing leads to an object in the file's own values. */
static json_t *walk(json_t *root, const char *path)
{
    char step[80];
    while (*path == '/' && root) {
        const size_t n = strcspn(++path, "/");
        snprintf(step, sizeof step, "%.*s", (int)n, path);
        root = json_is_array(root) ? json_array_get(root, strtoul(step, NULL, 10)) : json_object_get(root, step);
        path += n;
    }
    return root;
}

static void check_house(const char *name)
{
    struct web_kit k;
    char target[100];
    web_kit_begin(&k, (const char *const[]){ name, NULL });
    snprintf(target, sizeof target, "/api/houses/%s/drawing", name);
    json_t *drawing = web_json(&k, target);
    snprintf(target, sizeof target, "/api/houses/%s/model", name);
    json_t *model = web_json(&k, target), *file = json_object_get(model, "house"), *thing;
    size_t i;
    for (size_t s = 0; s < RT_COUNT(SECTIONS); s++) {
        json_t *all = json_object_get(drawing, SECTIONS[s]);
        CHECK(SECTIONS[s], json_array_size(all) == json_object_size(json_object_get(file, SECTIONS[s])));
        json_array_foreach(all, i, thing)
        {
            const char *path = json_string_value(json_object_get(thing, "path"));
            json_t *there = walk(file, path);
            CHECK(path, json_is_object(there));
            const json_t *heard = strcmp(SECTIONS[s], "neighbours") ? NULL : json_object_get(there, "at_m");
            for (size_t axis = 0; heard && axis < 2; axis++)
                CHECK_NEAR("where it was heard", json_number_value(json_array_get(json_object_get(thing, "at"), axis)),
                           json_number_value(json_array_get(heard, axis)), 1e-4, "m");
            size_t o;
            json_t *opening;
            json_array_foreach(json_object_get(thing, "openings"), o, opening)
            {
                json_t *written = walk(file, json_string_value(json_object_get(opening, "path")));
                CHECK_NEAR("opening's place", json_number_value(json_object_get(opening, "from_m")),
                           json_number_value(json_object_get(written, "at_m")), 1e-4, "m");
            }
        }
    }
    CHECK("no problem", json_array_size(json_object_get(drawing, "problems")) == 0);
    json_decref(drawing);
    json_decref(model);
    web_kit_end(&k);
}

TEST(larch_end_is_drawn_whole) { check_house("larch_end"); }
TEST(quay_flat_is_drawn_whole) { check_house("quay_flat"); }
TEST(whin_farm_is_drawn_whole) { check_house("whin_farm"); }

TEST(what_is_odd_about_a_cable_is_told_to_each_who_asks)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct reply edited =
        web_ask(&k, (struct asked_web){ .method = "POST",
                                        .target = "/api/houses/quay_flat/edits",
                                        .body = "{\"what\": \"shorter than the way\", \"edits\": [{\"op\": \"add\", "
                                                "\"path\": \"/cables/c_a1/length_m\", \"value\": 0.5}]}" });
    CHECK("edited", edited.status == 200);
    CHECK("they are laid for others first", web_get(&k, "/api/houses/quay_flat/ports").status == 200);
    json_t *first = web_json(&k, "/api/houses/quay_flat/drawing"),
           *again = web_json(&k, "/api/houses/quay_flat/drawing");
    CHECK("told", json_array_size(json_object_get(first, "problems")) == 1);
    CHECK("told again", json_equal(first, again));
    json_decref(first);
    json_decref(again);
    web_kit_end(&k);
}

static double at(json_t *point, size_t i) { return json_number_value(json_array_get(point, i)); }

/* A cable's line goes on where it left off, from stretch to stretch. */
TEST(cables_are_lines_without_gaps)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    json_t *drawing = web_json(&k, "/api/houses/larch_end/drawing"), *cable, *stretch;
    size_t i, s, n_routed = 0;
    json_array_foreach(json_object_get(drawing, "cables"), i, cable)
    {
        json_t *last = NULL;
        if (json_is_true(json_object_get(cable, "is_routed")))
            n_routed++;
        json_array_foreach(json_object_get(cable, "stretches"), s, stretch)
        {
            json_t *line = json_object_get(stretch, "line"), *first = json_array_get(line, 0);
            CHECK("two points", json_array_size(line) >= 2);
            for (size_t c = 0; last && c < 3; c++)
                CHECK_NEAR("goes on", at(first, c), at(last, c), 1e-4, "m");
            last = json_array_get(line, json_array_size(line) - 1);
        }
    }
    CHECK("some are laid", n_routed > 3);
    json_decref(drawing);
    web_kit_end(&k);
}

/* What does not wait for the cables is the same drawing in all else. */
TEST(without_cables_all_else_is_the_same)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    json_t *bare = web_json(&k, "/api/houses/larch_end/drawing?cables=no"),
           *whole = web_json(&k, "/api/houses/larch_end/drawing"), *cable;
    size_t i;
    json_array_foreach(json_object_get(bare, "cables"), i, cable)
        CHECK("not laid", json_array_size(json_object_get(cable, "stretches")) == 0);
    CHECK("as many", i == json_array_size(json_object_get(whole, "cables")) && i > 3);
    CHECK("no work", json_array_size(json_object_get(bare, "work")) == 0);
    CHECK("some work", json_array_size(json_object_get(whole, "work")) > 0);
    for (size_t n = 0; n < 2; n++) {
        json_object_del(bare, n ? "work" : "cables");
        json_object_del(whole, n ? "work" : "cables");
    }
    CHECK("the same", json_equal(bare, whole));
    json_decref(bare);
    json_decref(whole);
    web_kit_end(&k);
}

static const char BARE[] =
    "{\"name\": \"bare\", \"title\": \"Bare\", \"country\": \"GB\", \"time_zone\": \"Europe/London\", "
    "\"currency\": \"GBP\", \"width_m\": 7.5}";

TEST(a_new_house_is_one_floor)
{
    struct web_kit k;
    web_kit_begin(&k, NULL);
    const struct reply made =
        web_ask(&k, (struct asked_web){ .method = "POST", .target = "/api/houses", .body = BARE });
    CHECK("made", made.status == 201);
    json_t *drawing = web_json(&k, "/api/houses/bare/drawing");
    json_t *floors = json_object_get(drawing, "floors");
    CHECK("one floor", json_array_size(floors) == 1);
    json_t *outline = json_object_get(json_array_get(floors, 0), "outline");
    CHECK_NEAR("as wide", at(json_array_get(outline, 2), 0), 7.5, 0, "m");
    CHECK("no rooms", json_array_size(json_object_get(drawing, "rooms")) == 0);
    json_decref(drawing);
    web_kit_end(&k);
}
