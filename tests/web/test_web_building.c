/* Questions of the pen about the building.  Expected areas: the lengths written in the house file, by hand. */
#include <string.h>

#include "web_json.h"

TEST(a_room_is_found_from_its_walls)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    /* the hall: from x 2.4 to 5.0, from y 0 to 3.0 */
    json_t *found = web_json(&k, "/api/houses/quay_flat/enclosure?floor=third&at=3,1.5");
    CHECK_NEAR("hall", json_number_value(json_object_get(found, "area_m2")), 2.6 * 3.0, 0.005, "m2");
    CHECK("four corners", json_array_size(json_object_get(found, "outline")) == 4);
    CHECK("by its walls", json_is_false(json_object_get(found, "by_edge")));
    json_decref(found);
    web_kit_end(&k);
}

TEST(where_no_room_can_be)
{
    static const struct {
        const char *target;
        unsigned status;
        const char *says;
    } CASES[] = {
        { "/api/houses/quay_flat/enclosure?floor=third&at=30,1.5", 422, "no walls close around this spot" },
        { "/api/houses/quay_flat/enclosure?floor=cellar&at=3,1.5", 422, "the house has no such floor" },
        { "/api/houses/quay_flat/enclosure?floor=third&at=here", 422, "that is no spot" },
    };
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct reply r = web_get(&k, CASES[i].target);
        const char *text = arena_printf(k.c.run.arena, "%.*s", STR_ARG(r.body));
        CHECK_NEAR(CASES[i].target, r.status, CASES[i].status, 0, "");
        CHECK(CASES[i].target, strstr(text, CASES[i].says) != NULL);
    }
    web_kit_end(&k);
}

/* Every name that docs/walls.md promises is there, and the house's own first. */
TEST(what_walls_can_be_made_of)
{
    struct web_kit k;
    json_t *c;
    size_t i, n_own = 0;
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    json_t *told = web_json(&k, "/api/houses/larch_end/constructs"), *all = json_object_get(told, "constructs");
    json_t *model = web_json(&k, "/api/houses/larch_end/model");
    const size_t written = json_object_size(json_object_get(json_object_get(model, "house"), "constructs"));
    json_array_foreach(all, i, c)
    {
        const char *id = json_string_value(json_object_get(c, "id"));
        CHECK(id, json_number_value(json_object_get(c, "thickness_m")) > 0);
        n_own += json_is_false(json_object_get(c, "is_built_in"));
        if (strcmp(id, "concrete_150") == 0) /* as its name says */
            CHECK_NEAR(id, json_number_value(json_object_get(c, "thickness_m")), 0.150, 1e-9, "m");
    }
    CHECK_NEAR("the house's own", (double)n_own, (double)written, 0, "");
    json_decref(told);
    json_decref(model);
    web_kit_end(&k);
}

/* A new house may name a parts file that is there: the path that the list gives leads to it. */
TEST(a_new_house_with_parts)
{
    struct web_kit k;
    json_t *f;
    size_t i;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    json_t *told = web_json(&k, "/api/houses"), *files = json_object_get(told, "parts_files");
    CHECK("there is one", json_array_size(files) >= 1);
    json_array_foreach(files, i, f)
    {
        const char *path = json_string_value(json_object_get(f, "path"));
        const char *currency = json_string_value(json_object_get(f, "currency"));
        const char *body =
            arena_printf(k.c.run.arena,
                         "{\"name\": \"new_%zu\", \"title\": \"New\", \"country\": \"DE\", "
                         "\"time_zone\": \"Europe/Berlin\", \"currency\": \"%s\", \"parts_file\": \"%s\"}",
                         i, currency, path);
        const struct reply made =
            web_ask(&k, (struct asked_web){ .method = "POST", .target = "/api/houses", .body = body });
        CHECK_NEAR(path, made.status, 201, 0, "");
        json_t *parts = web_json(&k, arena_printf(k.c.run.arena, "/api/houses/new_%zu/parts", i));
        CHECK(path, json_array_size(json_object_get(parts, "parts")) > 0);
        json_decref(parts);
    }
    json_decref(told);
    web_kit_end(&k);
}

/* What can be asked of a house that was just begun: no wall, no room, no promise, no equipment.  Nothing to tell is an answer; so are
 * the engine's words about what is missing. */
TEST(a_house_of_one_floor_is_asked_everything)
{
    struct web_kit k;
    size_t n, asked = 0;
    const struct route *r = routes(&n);
    web_kit_begin(&k, (const char *const[]){ NULL });
    const struct reply made =
        web_ask(&k, (struct asked_web){ .method = "POST",
                                        .target = "/api/houses",
                                        .body = "{\"name\": \"begun\", \"title\": \"Begun\", \"country\": \"DE\", "
                                                "\"time_zone\": \"Europe/Berlin\", \"currency\": \"EUR\"}" });
    CHECK("made", made.status == 201);
    for (size_t i = 0; i < n; i++) {
        static const char HOUSE[] = "/api/houses/{house}";
        const char *after = r[i].path + sizeof HOUSE - 1;
        char target[200];
        if (r[i].method != HTTP_GET || strncmp(r[i].path, HOUSE, sizeof HOUSE - 1) != 0 || strchr(after, '{') ||
            strstr(after, "events")) /* a stream ends with whoever listens */
            continue;
        snprintf(target, sizeof target, "/api/houses/begun%s?floor=ground&at=1,2&from=internet&to=gateway", after);
        const struct reply told = web_get(&k, target);
        CHECK(r[i].path, told.status == 200 || (told.status >= 400 && told.status < 500));
        asked++;
    }
    CHECK("questions", asked >= 20);
    web_kit_end(&k);
}
