/* What is ticked and read on the building site: seen by everybody, kept over a restart, told when the house has it no more. */
#include <math.h>
#include <string.h>

#include "web_json.h"

#define FLAT "/api/houses/quay_flat"

static const char *const HOUSES[] = { "quay_flat", NULL };

static unsigned post(struct web_kit *k, const char *target, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = target, .body = body }).status;
}

static unsigned mark(struct web_kit *k, const char *body) { return post(k, FLAT "/installation/done", body); }

static const char *text(const json_t *of, const char *key)
{
    const char *said = json_string_value(json_object_get(of, key));
    return said ? said : "";
}

/* The entry of a list whose `key` is that; NULL: none. */
static json_t *entry(const json_t *list, const char *key, const char *is)
{
    size_t i;
    json_t *e;
    json_array_foreach(list, i, e) if (strcmp(text(e, key), is) == 0) return e;
    return NULL;
}

static json_t *done_of(struct web_kit *k, json_t **all, const char *box)
{
    *all = web_json(k, FLAT "/installation/done");
    return entry(json_object_get(*all, "done"), "box", box);
}

/* The list against the house file: its cables, its fixed equipment, a test for each promise that is tried by walking about. */
TEST(the_list_is_the_houses)
{
    struct web_kit k;
    web_kit_begin(&k, HOUSES);
    json_t *list = web_json(&k, FLAT "/installation"), *model = web_json(&k, FLAT "/model");
    json_t *house = json_object_get(model, "house"), *v;
    const char *id;
    json_object_foreach(json_object_get(house, "cables"), id, v)
    {
        const json_t *cable = entry(json_object_get(list, "cables"), "id", id);
        CHECK(id, cable != NULL);
        CHECK("its label at both ends is its id (docs/cables.md)",
              strcmp(text(json_object_get(cable, "from"), "label"), id) == 0 &&
                  strcmp(text(json_object_get(cable, "to"), "label"), id) == 0);
        CHECK("it is tested", json_array_size(json_object_get(cable, "boxes")) >= 1);
    }
    json_object_foreach(json_object_get(house, "equipment"), id, v)
        CHECK(id, entry(json_object_get(list, "fix"), "id", id) != NULL || json_object_get(v, "inside"));
    json_object_foreach(json_object_get(house, "promises"), id, v)
    {
        const char *kind = text(v, "kind");
        const bool at_desk = strcmp(kind, "cable") == 0 || strcmp(kind, "growth") == 0 || strcmp(kind, "cost") == 0;
        CHECK(id, (entry(json_object_get(list, "tests"), "promise", id) != NULL) == !at_desk);
    }
    json_decref(list);
    json_decref(model);
    web_kit_end(&k);
}

TEST(a_box_keeps_what_each_said_of_it)
{
    struct web_kit k;
    json_t *all;
    web_kit_begin(&k, HOUSES);
    CHECK("ticked", mark(&k, "{\"box\": \"cable/c_a1/tested\", \"is_ticked\": true}") == 204);
    CHECK("another notes", mark(&k, "{\"box\": \"cable/c_a1/tested\", \"note\": \"12.4 m on the tester\"}") == 204);
    CHECK("a third reads", mark(&k, "{\"box\": \"cable/c_a1/tested\", \"read\": 12.4}") == 204);
    const json_t *d = done_of(&k, &all, "cable/c_a1/tested");
    CHECK("there", d != NULL);
    CHECK("the tick stays", json_is_true(json_object_get(d, "is_ticked")));
    CHECK_TEXT("the note stays", str_from(text(d, "note")), STR("12.4 m on the tester"));
    CHECK_NEAR("the figure", json_number_value(json_object_get(d, "read")), 12.4, 0.0, "m");
    CHECK("no figure passes or fails here", json_is_null(json_object_get(d, "passed")));
    CHECK("the house has it", json_is_false(json_object_get(d, "is_gone")));
    json_decref(all);
    CHECK("taken back",
          mark(&k, "{\"box\": \"cable/c_a1/tested\", \"is_ticked\": false, \"note\": \"\", \"read\": null}") == 204);
    CHECK("an empty box is none", done_of(&k, &all, "cable/c_a1/tested") == NULL);
    json_decref(all);
    web_kit_end(&k);
}

/* A promise of -72 dBm (houses/quay_flat.house.yaml, both_rooms): what was read passes at that and above. */
TEST(a_test_passes_by_the_promises_own_figure)
{
    static const struct {
        const char *read;
        bool passes;
    } CASES[] = { { "-71.9", true }, { "-72", true }, { "-72.1", false }, { "-90", false } };
    struct web_kit k;
    web_kit_begin(&k, HOUSES);
    json_t *list = web_json(&k, FLAT "/installation"), *all;
    const json_t *test = entry(json_object_get(list, "tests"), "promise", "both_rooms");
    const char *box = text(json_array_get(json_object_get(test, "rows"), 0), "box");
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        CHECK("read",
              mark(&k, arena_printf(k.c.run.arena, "{\"box\": \"%s\", \"read\": %s}", box, CASES[i].read)) == 204);
        const json_t *d = done_of(&k, &all, box);
        CHECK(CASES[i].read, json_is_boolean(json_object_get(d, "passed")) &&
                                 json_is_true(json_object_get(d, "passed")) == CASES[i].passes);
        json_decref(all);
    }
    json_decref(list);
    web_kit_end(&k);
}

/* The house changes: what was ticked of a cable that is taken out is told; the others are as they were. */
TEST(what_the_house_has_no_more_is_told)
{
    struct web_kit k;
    json_t *all;
    web_kit_begin(&k, HOUSES);
    CHECK("one", mark(&k, "{\"box\": \"cable/c_a1/tested\", \"is_ticked\": true}") == 204);
    CHECK("two", mark(&k, "{\"box\": \"cable/c_gateway/tested\", \"is_ticked\": true}") == 204);
    CHECK("changed", post(&k, FLAT "/edits",
                          "{\"what\": \"out\", \"edits\": [{\"op\": \"remove\", \"path\": \"/cables/c_a1\"}]}") == 200);
    const json_t *gone = done_of(&k, &all, "cable/c_a1/tested");
    CHECK("told", gone && json_is_true(json_object_get(gone, "is_gone")));
    json_decref(all);
    const json_t *stays = done_of(&k, &all, "cable/c_gateway/tested");
    CHECK("stays", stays && json_is_false(json_object_get(stays, "is_gone")));
    json_decref(all);
    CHECK("undone", post(&k, FLAT "/undo", NULL) == 200);
    const json_t *back = done_of(&k, &all, "cable/c_a1/tested");
    CHECK("as if nothing had been", back && json_is_false(json_object_get(back, "is_gone")));
    json_decref(all);
    web_kit_end(&k);
}

TEST(asked_again_it_costs_nothing_until_something_changes)
{
    struct web_kit k;
    web_kit_begin(&k, HOUSES);
    const struct reply first = web_get(&k, FLAT "/installation/done");
    const char *tag = arena_printf(k.c.run.arena, "\"%.*s\"", STR_ARG(first.etag));
    const struct asked_web again = { .method = "GET", .target = FLAT "/installation/done", .if_none_match = tag };
    CHECK("as it was", first.status == 200 && web_ask(&k, again).status == 304);
    CHECK("ticked", mark(&k, "{\"box\": \"fix/a1\", \"is_ticked\": true}") == 204);
    CHECK("now it is told", web_ask(&k, again).status == 200);
    web_kit_end(&k);
}

TEST(what_is_no_box_or_no_reading_is_refused)
{
    static const char *const BOXES[] = { "{}",
                                         "{\"box\": \"\", \"is_ticked\": true}",
                                         "{\"box\": \"fix/a1\"}",
                                         "{\"box\": \"fix/\\u0007\", \"is_ticked\": true}",
                                         "{\"box\": \"fix/a1\", \"read\": 1e99}",
                                         "[]",
                                         "" };
    static const char *const READINGS[] = {
        "{\"floor\": \"cellar\", \"at_m\": [1, 1], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [1], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [1, 1e9], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [50, 50], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [-5.1, 1], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [1, 1], \"access_point\": \"a9\", \"band\": \"5\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [1, 1], \"access_point\": \"a1\", \"band\": \"7\", \"level_dbm\": -60}",
        "{\"floor\": \"third\", \"at_m\": [1, 1], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": 60}",
        "{\"floor\": \"third\", \"at_m\": [1, 1], \"access_point\": \"a1\", \"band\": \"5\"}",
        "{\"floor\": \"third\", \"at_m\": [1, 1], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60, "
        "\"at_s\": -1}",
    };
    struct web_kit k;
    web_kit_begin(&k, HOUSES);
    for (size_t i = 0; i < RT_COUNT(BOXES); i++)
        CHECK(BOXES[i], mark(&k, BOXES[i]) >= 400);
    for (size_t i = 0; i < RT_COUNT(READINGS); i++)
        CHECK(READINGS[i], post(&k, FLAT "/readings", READINGS[i]) >= 400);
    CHECK("before the house it is one", post(&k, FLAT "/readings",
                                             "{\"floor\": \"third\", \"at_m\": [-4.9, 1], \"access_point\": \"a1\", "
                                             "\"band\": \"5\", \"level_dbm\": -60}") == 201);
    CHECK("and gone",
          web_ask(&k, (struct asked_web){ .method = "DELETE", .target = FLAT "/readings/1" }).status == 204);
    json_t *r = web_json(&k, FLAT "/readings");
    CHECK("nothing was kept", json_array_size(json_object_get(r, "readings")) == 0);
    CHECK("and no mean of nothing", json_is_null(json_object_get(r, "mean_db")));
    json_decref(r);
    web_kit_end(&k);
}

/* Expected levels are those of `signal`; mean and root mean square by hand. */
TEST(readings_stand_against_what_signal_says)
{
    static const struct {
        double x, y, off_db;
    } SPOTS[] = { { 1.0, 4.5, 3.0 }, { 6.0, 1.5, -5.0 }, { 6.5, 5.0, 0.5 } };
    struct web_kit k;
    struct arena *a;
    double sum = 0.0, squares = 0.0, expected[RT_COUNT(SPOTS)], level[RT_COUNT(SPOTS)];
    web_kit_begin(&k, HOUSES);
    a = k.c.run.arena;
    for (size_t i = 0; i < RT_COUNT(SPOTS); i++) {
        json_t *said = web_json(&k, arena_printf(a, FLAT "/signal?floor=third&at=%g,%g,1.2", SPOTS[i].x, SPOTS[i].y)),
               *e;
        size_t n;
        expected[i] = NAN;
        json_array_foreach(json_object_get(said, "access_points"), n,
                           e) if (strcmp(text(e, "id"), "a1") == 0 && strcmp(text(e, "band"), "5") == 0) expected[i] =
            json_number_value(json_object_get(e, "level_dbm"));
        CHECK("a1 is heard", isfinite(expected[i]));
        level[i] = expected[i] + SPOTS[i].off_db;
        sum += SPOTS[i].off_db;
        squares += SPOTS[i].off_db * SPOTS[i].off_db;
        CHECK("kept",
              post(&k, FLAT "/readings",
                   arena_printf(a,
                                "{\"floor\": \"third\", \"at_m\": [%g, %g], \"access_point\": \"a1\", \"band\": "
                                "\"5\", \"level_dbm\": %.2f, \"at_s\": 1795608000, \"note\": \"door, \\\"shut\\\"\"}",
                                SPOTS[i].x, SPOTS[i].y, level[i])) == 201);
        json_decref(said);
    }
    json_t *r = web_json(&k, FLAT "/readings"), *list = json_object_get(r, "readings");
    CHECK_NEAR("all", (double)json_array_size(list), 3.0, 0.0, "readings");
    for (size_t i = 0; i < RT_COUNT(SPOTS); i++) {
        const json_t *one = json_array_get(list, i);
        CHECK_NEAR("expected", json_number_value(json_object_get(one, "expected_dbm")), expected[i], 1e-9, "dBm");
        CHECK_NEAR("difference", json_number_value(json_object_get(one, "difference_db")), SPOTS[i].off_db, 0.011,
                   "dB");
    }
    CHECK_NEAR("mean", json_number_value(json_object_get(r, "mean_db")), sum / 3.0, 0.051, "dB");
    CHECK_NEAR("root mean square", json_number_value(json_object_get(r, "rms_db")), sqrt(squares / 3.0), 0.051, "dB");
    /* the bedroom is promised -72 dBm on 5 GHz (both_rooms), and -73 on any band (whole_flat) */
    const json_t *bed = json_object_get(json_array_get(list, 0), "promises");
    CHECK_NEAR("promised there", (double)json_array_size(bed), 2.0, 0.0, "promises");
    CHECK("passed as its figure says",
          json_is_true(json_object_get(entry(bed, "id", "both_rooms"), "passed")) ==
              (json_number_value(json_object_get(json_array_get(list, 0), "level_dbm")) >= -72.0));
    json_decref(r);
    /* RFC 4180: a quote in a quoted field is doubled.  RFC 3339: the second 1795608000 of UNIX time, by date(1). */
    const struct reply csv = web_get(&k, FLAT "/readings.csv");
    const char *want = arena_printf(a,
                                    "floor,x_m,y_m,z_m,access_point,band_ghz,level_dbm,at,note\r\n"
                                    "third,1.000,4.500,1.200,a1,5,%.1f,2026-11-25T12:00:00Z,\"door, \"\"shut\"\"\"\r\n",
                                    level[0]);
    CHECK("the table's beginning", csv.body.n > strlen(want) && memcmp(csv.body.p, want, strlen(want)) == 0);
    web_kit_end(&k);
}

TEST(a_reading_outlives_its_access_point_and_can_be_taken_out)
{
    struct web_kit k;
    web_kit_begin(&k, HOUSES);
    static const char ONE[] =
        "{\"floor\": \"third\", \"at_m\": [1, 4.5], \"access_point\": \"a1\", \"band\": \"5\", \"level_dbm\": -60}";
    CHECK("kept", post(&k, FLAT "/readings", ONE) == 201);
    CHECK("another", post(&k, FLAT "/readings", ONE) == 201);
    CHECK("changed", post(&k, FLAT "/edits",
                          "{\"what\": \"out\", \"edits\": [{\"op\": \"remove\", \"path\": \"/cables/c_a1\"}, {\"op\": "
                          "\"remove\", \"path\": \"/equipment/a1\"}]}") == 200);
    json_t *r = web_json(&k, FLAT "/readings");
    const json_t *one = json_array_get(json_object_get(r, "readings"), 0);
    CHECK("it is told",
          json_is_true(json_object_get(one, "is_gone")) && json_is_null(json_object_get(one, "expected_dbm")));
    CHECK_NEAR("and not counted", json_number_value(json_object_get(r, "compared")), 0.0, 0.0, "readings");
    json_decref(r);
    CHECK("out", web_ask(&k, (struct asked_web){ .method = "DELETE", .target = FLAT "/readings/2" }).status == 204);
    CHECK("once", web_ask(&k, (struct asked_web){ .method = "DELETE", .target = FLAT "/readings/2" }).status == 422);
    CHECK("no number",
          web_ask(&k, (struct asked_web){ .method = "DELETE", .target = FLAT "/readings/x" }).status == 422);
    web_kit_end(&k);
}
