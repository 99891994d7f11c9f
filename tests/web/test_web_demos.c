/* What comes with the program, begun from in a folder that has nothing.  Expected: the demo files themselves, byte for byte. */
#include <string.h>

#include "base/file.h"
#include "web_json.h"

static void begin(struct web_kit *k)
{
    web_kit_begin(k, (const char *const[]){ NULL });
    k->server.demos = check_path(&k->c, ".");
}

static struct reply make(struct web_kit *k, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = "/api/houses", .body = body });
}

static struct str demo_file(struct web_kit *k, const char *name)
{
    struct str bytes = { 0 };
    CHECK(name, file_read(k->c.run.arena, arena_printf(k->c.run.arena, "%s/%s", check_path(&k->c, "."), name), 1u << 24,
                          &bytes, &k->c.problems) == RT_OK);
    return bytes;
}

TEST(an_empty_folder_is_offered_the_demos)
{
    struct web_kit k;
    begin(&k);
    json_t *told = web_json(&k, "/api/houses");
    CHECK("no house of its own", json_array_size(json_object_get(told, "houses")) == 0);
    CHECK("three demos", json_array_size(json_object_get(told, "demos")) == 3);
    CHECK("two parts files", json_array_size(json_object_get(told, "demo_parts")) == 2);
    json_decref(told);
    web_kit_end(&k);
}

/* But for the line that names its parts file, the copy is the demo; and it can be read with the parts beside it. */
TEST(a_demo_is_copied_with_its_parts)
{
    struct web_kit k;
    begin(&k);
    CHECK_NEAR("made", make(&k, "{\"name\": \"mine\", \"demo\": \"quay_flat\"}").status, 201, 0, "");
    const struct str demo = demo_file(&k, "houses/quay_flat.house.yaml"), copy = web_file(&k, "houses/mine.house.yaml");
    const char *was = "parts_file: ../parts/demo_eur.parts.yaml", *is = "parts_file: demo_eur.parts.yaml";
    const char *at = strstr(demo.p, was);
    CHECK("the demo names its parts file so", at != NULL);
    const size_t before = (size_t)(at - demo.p), after = before + strlen(is);
    CHECK("what stands before", copy.n == demo.n - (strlen(was) - strlen(is)) && memcmp(copy.p, demo.p, before) == 0);
    CHECK("the line", memcmp(copy.p + before, is, strlen(is)) == 0);
    CHECK("what stands behind", memcmp(copy.p + after, demo.p + before + strlen(was), copy.n - after) == 0);
    CHECK("the parts", str_eq(web_file(&k, "houses/demo_eur.parts.yaml"), demo_file(&k, "parts/demo_eur.parts.yaml")));
    json_t *told = web_json(&k, "/api/houses"), *first = json_array_get(json_object_get(told, "houses"), 0);
    CHECK("it can be read", json_is_true(json_object_get(first, "can_be_read")));
    CHECK("its parts are no demo's any more", json_array_size(json_object_get(told, "demo_parts")) == 1);
    json_decref(told);
    web_kit_end(&k);
}

/* A parts file that the user has by that name is the user's. */
TEST(parts_that_are_there_stay)
{
    struct web_kit k;
    begin(&k);
    web_write(&k, "houses/demo_eur.parts.yaml", STR("# mine\n"));
    CHECK_NEAR("made", make(&k, "{\"name\": \"mine\", \"demo\": \"quay_flat\"}").status, 201, 0, "");
    CHECK("as it was", str_eq(web_file(&k, "houses/demo_eur.parts.yaml"), STR("# mine\n")));
    web_kit_end(&k);
}

TEST(a_blank_house_with_the_demos_parts)
{
    struct web_kit k;
    begin(&k);
    const struct reply made =
        make(&k, "{\"name\": \"new\", \"title\": \"New\", \"country\": \"GB\", \"time_zone\": "
                 "\"Europe/London\", \"currency\": \"GBP\", \"demo_parts\": \"demo.parts.yaml\"}");
    CHECK_NEAR("made", made.status, 201, 0, "");
    json_t *parts = web_json(&k, "/api/houses/new/parts");
    CHECK("it has parts", json_array_size(json_object_get(parts, "parts")) > 0);
    json_decref(parts);
    web_kit_end(&k);
}

TEST(what_is_no_demo_is_refused)
{
    static const char *const BODIES[] = {
        "{\"name\": \"new\", \"demo\": \"nowhere\"}",
        "{\"name\": \"new\", \"demo\": \"../houses/quay_flat\"}",
        "{\"name\": \"new\", \"demo\": \"/etc/passwd\"}",
        "{\"name\": \"new\", \"title\": \"N\", \"country\": \"GB\", \"time_zone\": \"Europe/London\", \"currency\": "
        "\"GBP\", "
        "\"demo_parts\": \"../houses/quay_flat.house.yaml\"}",
    };
    struct web_kit k;
    begin(&k);
    for (size_t i = 0; i < RT_COUNT(BODIES); i++)
        CHECK_NEAR(BODIES[i], make(&k, BODIES[i]).status, 422, 0, "");
    k.server.demos = NULL;
    CHECK_NEAR("nothing came with it", make(&k, "{\"name\": \"new\", \"demo\": \"quay_flat\"}").status, 422, 0, "");
    json_t *told = web_json(&k, "/api/houses");
    CHECK("nothing was made", json_array_size(json_object_get(told, "houses")) == 0);
    CHECK("nothing is offered", json_array_size(json_object_get(told, "demos")) == 0);
    json_decref(told);
    web_kit_end(&k);
}

/* A house that is refused leaves nothing behind: neither the parts that were copied for it, nor are those of the user taken away. */
TEST(a_refused_house_leaves_no_parts)
{
    static const char *const BODIES[] = {
        "{\"name\": \"No Name\", \"demo\": \"quay_flat\"}",
        "{\"name\": \"new\", \"title\": \"N\", \"country\": \"GB\", \"time_zone\": \"Europe/London\", \"currency\": "
        "\"EUR\", \"demo_parts\": \"demo_eur.parts.yaml\", \"width_m\": 0}",
    };
    struct web_kit k;
    begin(&k);
    for (size_t i = 0; i < RT_COUNT(BODIES); i++) {
        CHECK(BODIES[i], make(&k, BODIES[i]).status >= 400);
        json_t *told = web_json(&k, "/api/houses");
        CHECK("nothing stays", json_array_size(json_object_get(told, "parts_files")) == 0);
        json_decref(told);
    }
    web_write(&k, "houses/demo_eur.parts.yaml", STR("# mine\n"));
    CHECK("refused", make(&k, BODIES[0]).status >= 400);
    CHECK("the user's stay", str_eq(web_file(&k, "houses/demo_eur.parts.yaml"), STR("# mine\n")));
    web_kit_end(&k);
}
