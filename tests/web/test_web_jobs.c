/* Designs as jobs: they run aside, tell how far they are, stop when told, and what they found can be taken whole or in part. */
#include <string.h>

#include "web_json.h"

#define FLAT "/api/houses/quay_flat"

static struct reply post(struct web_kit *k, const char *target, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = target, .body = body });
}

static void wait_for(struct web_kit *k, uint32_t number)
{
    struct job_view v;
    for (;;) {
        CHECK_OK(&k->c, job_look(&k->server.jobs, k->c.run.arena, number, &v, &k->c.problems));
        if (v.state != JOB_RUNNING)
            return;
        job_wait(&k->server.jobs, number, v.news, 60);
    }
}

/* All that a source sends. */
static struct str all_of(struct web_kit *k, struct reply r)
{
    struct buf text = { .arena = k->c.run.arena };
    char block[333];
    size_t n;
    CHECK("a stream", r.status == 200 && r.source);
    while ((n = r.source(r.source_user, block, sizeof block)) > 0)
        buf_add(&text, block, n);
    return buf_done(&text);
}

TEST(a_design_is_made_told_of_and_taken)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct reply begun = post(&k, FLAT "/design", "{\"anew\": true, \"seconds\": 20}");
    CHECK("begun", begun.status == 202 && strcmp(begun.location, "/api/jobs/1") == 0);
    /* WHATWG HTML, "Server-sent events", the event stream format: fields, a blank line after each event */
    const struct str told = all_of(&k, web_get(&k, "/api/jobs/1/events"));
    CHECK("begins with how far it is", memcmp(told.p, "event: progress\ndata: {", 23) == 0);
    CHECK("ends with the end", strstr(told.p, "event: done\ndata: {\"state\":\"done\""));
    CHECK("and an empty line", memcmp(told.p + told.n - 3, "}\n\n", 3) == 0);
    json_t *job = web_json(&k, "/api/jobs/1");
    const char *file = json_string_value(json_object_get(job, "file"));
    CHECK("a file", file && strstr(file, "equipment:"));
    CHECK("as design --json", json_is_object(json_object_get(json_object_get(job, "design"), "cost")));

    const struct reply part = post(&k, "/api/jobs/1/take", "{\"sections\": [\"equipment\", \"nonsense\"]}");
    CHECK("no such section", part.status == 422);
    CHECK("nothing named", post(&k, "/api/jobs/1/take", "{}").status == 422);
    const struct reply whole = post(&k, "/api/jobs/1/take", "{\"all\": true}");
    CHECK("taken", whole.status == 200);
    CHECK_TEXT("the file is the design", web_file(&k, "houses/quay_flat.house.yaml"), str_from(file));
    CHECK("undone", post(&k, FLAT "/undo", "").status == 200);
    CHECK(
        "the house moved on: the whole is taken no more",
        post(&k, FLAT "/edits", "{\"edits\": [{\"op\": \"set\", \"path\": \"/name\", \"value\": \"Other\"}]}").status ==
                200 &&
            post(&k, "/api/jobs/1/take", "{\"all\": true}").status == 409);
    json_decref(job);
    web_kit_end(&k);
}

static json_t *house_of(struct web_kit *k, const char *target)
{
    json_t *model = web_json(k, target), *house = json_object_get(model, "house");
    CHECK("it can be read", json_is_true(json_object_get(model, "can_be_read")) && json_is_object(house));
    json_incref(house);
    json_decref(model);
    return house;
}

static bool is_of(const char *section, const char *const *sections)
{
    for (; *sections; sections++)
        if (strcmp(section, *sections) == 0)
            return true;
    return false;
}

/* What is taken is the design's, as that file is read when it is a house of its own; all else is as it was. */
TEST(sections_are_taken_alone)
{
    static const char *const TAKEN[] = { "mounts", "equipment", "cables", NULL };
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    json_t *was = house_of(&k, FLAT "/model");
    CHECK("begun", post(&k, FLAT "/design", "{\"anew\": true, \"seconds\": 20}").status == 202);
    wait_for(&k, 1);
    json_t *job = web_json(&k, "/api/jobs/1");
    const char *file = json_string_value(json_object_get(job, "file"));
    CHECK("a design came of it", file);
    web_write(&k, "houses/designed.house.yaml", str_from(file));
    json_t *designed = house_of(&k, "/api/houses/designed/model");
    CHECK("a design anew has other equipment",
          !json_equal(json_object_get(was, "equipment"), json_object_get(designed, "equipment")));

    const struct reply r = post(&k, "/api/jobs/1/take", "{\"sections\": [\"mounts\", \"equipment\", \"cables\"]}");
    CHECK_TEXT("taken", r.status == 200 ? STR("") : r.body, STR(""));
    json_t *now = house_of(&k, FLAT "/model");
    const char *section;
    json_t *value;
    json_object_foreach(now, section, value)
        CHECK(section, json_equal(value, json_object_get(is_of(section, TAKEN) ? designed : was, section)));
    CHECK("no section is lost", json_object_size(now) >= json_object_size(was));
    CHECK("one step back", post(&k, FLAT "/undo", "").status == 200);
    json_t *back = house_of(&k, FLAT "/model");
    CHECK("and all of it is as it was", json_equal(back, was));
    json_decref(back);
    json_decref(now);
    json_decref(designed);
    json_decref(job);
    json_decref(was);
    web_kit_end(&k);
}

TEST(two_at_once_and_a_third_is_asked_to_wait)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    CHECK("one", post(&k, FLAT "/design", "{\"seconds\": 600}").status == 202);
    CHECK("two", post(&k, FLAT "/design", "{\"seconds\": 600}").status == 202);
    const struct reply third = post(&k, FLAT "/design", "");
    CHECK("three: RFC 6585, section 4", third.status == 429 && third.retry_after);
    CHECK("cancelled", web_ask(&k, (struct asked_web){ .method = "DELETE", .target = "/api/jobs/1" }).status == 204);
    wait_for(&k, 1);
    CHECK("room again", post(&k, FLAT "/design", "{\"seconds\": 600}").status == 202);
    CHECK("no such job", web_get(&k, "/api/jobs/77").status == 422 && web_get(&k, "/api/jobs/x").status == 422);
    CHECK("not yet", post(&k, "/api/jobs/3/take", "{\"all\": true}").status == 409);
    CHECK("too long", post(&k, FLAT "/design", "{\"seconds\": 1e9}").status == 422);
    web_kit_end(&k); /* the others are stopped by it */
}

TEST(a_house_that_cannot_be_read_is_told_by_its_job)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    web_write(&k, "houses/quay_flat.house.yaml", STR("rooftree: 1\nname: broken\n"));
    CHECK("begun", post(&k, FLAT "/design", "{}").status == 202);
    wait_for(&k, 1);
    json_t *job = web_json(&k, "/api/jobs/1");
    CHECK("failed", strcmp(json_string_value(json_object_get(job, "state")), "failed") == 0);
    CHECK("and why", json_array_size(json_object_get(job, "problems")) > 0);
    json_decref(job);
    web_kit_end(&k);
}
