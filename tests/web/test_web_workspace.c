/* One house changed by two browsers, by its owner's text editor, and by a server that was killed between two steps. */
#include <pthread.h>
#include <string.h>

#include "base/file.h"
#include "web_json.h"

#define FLAT "/api/houses/quay_flat"
#define FLAT_FILE "houses/quay_flat.house.yaml"

static struct reply edit(struct web_kit *k, const char *base, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = FLAT "/edits", .body = body, .if_match = base });
}

static struct reply post(struct web_kit *k, const char *target)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = target, .body = "" });
}

static const char NAMED[] = "{\"edits\": [{\"op\": \"set\", \"path\": \"/name\", \"value\": \"Renamed\"}]}";
static const char NAMED_ELSE[] = "{\"edits\": [{\"op\": \"set\", \"path\": \"/name\", \"value\": \"Else\"}]}";
static const char TURNED[] = "{\"edits\": [{\"op\": \"set\", \"path\": \"/currency\", \"value\": \"NOK\"}]}";

TEST(two_browsers_merge_or_are_told)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct str before = web_file(&k, FLAT_FILE);
    web_get(&k, FLAT "/file");
    CHECK("one tab", edit(&k, "\"r1\"", NAMED).status == 200);
    CHECK("the other, of something else: both hold", edit(&k, "\"r1\"", TURNED).status == 200);
    CHECK("both", strstr(web_file(&k, FLAT_FILE).p, "Renamed") && strstr(web_file(&k, FLAT_FILE).p, "NOK"));
    CHECK("the other, of the same: told", edit(&k, "\"r1\"", NAMED_ELSE).status == 409);
    CHECK("undo", post(&k, FLAT "/undo").status == 200 && post(&k, FLAT "/undo").status == 200);
    CHECK_TEXT("byte for byte as it was", web_file(&k, FLAT_FILE), before);
    CHECK("nothing before", post(&k, FLAT "/undo").status == 409);
    CHECK("redo", post(&k, FLAT "/redo").status == 200 && strstr(web_file(&k, FLAT_FILE).p, "Renamed"));
    CHECK("restore", post(&k, FLAT "/revisions/1/restore").status == 200);
    CHECK_TEXT("and again", web_file(&k, FLAT_FILE), before);
    CHECK("no such", post(&k, FLAT "/revisions/99/restore").status == 422);
    web_kit_end(&k);
}

TEST(houses_that_are_not_there_take_no_memory)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    web_get(&k, FLAT "/file");
    const size_t before = arena_used(k.server.houses.arena);
    for (int i = 0; i < 50; i++)
        CHECK("none", web_get(&k, arena_printf(k.c.run.arena, "/api/houses/no_such_house_%d/file", i)).status != 200);
    CHECK("as before", arena_used(k.server.houses.arena) == before);
    CHECK("and what is there is there", web_get(&k, FLAT "/file").status == 200);
    web_kit_end(&k);
}

TEST(the_whole_text_needs_the_revision)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    struct asked_web put = { .method = "PUT", .target = FLAT "/file", .body = "rooftree: 1\n" };
    web_get(&k, FLAT "/file");
    const struct reply bare = web_ask(&k, put);
    CHECK("RFC 6585, section 3", bare.status == 428 && strstr(bare.body.p, "If-Match"));
    put.if_match = "\"r1\"";
    CHECK("with it", web_ask(&k, put).status == 200);
    put.body = "rooftree: 1\nname: again\n";
    CHECK("an old one", web_ask(&k, put).status == 409);
    web_kit_end(&k);
}

TEST(a_change_from_outside_is_a_revision)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    web_get(&k, FLAT "/file");
    struct buf changed = { .arena = k.c.run.arena };
    buf_str(&changed, web_file(&k, FLAT_FILE));
    buf_text(&changed, "# by hand\n");
    web_write(&k, FLAT_FILE, buf_done(&changed));
    CHECK_TEXT("seen", web_get(&k, FLAT "/file").etag, STR("r2"));
    CHECK("and can be undone", post(&k, FLAT "/undo").status == 200 && !strstr(web_file(&k, FLAT_FILE).p, "by hand"));
    web_kit_end(&k);
}

/* The steps of a change are: note, write, mark.  Killed after the first or the second, the next look puts the mark right. */
TEST(killed_between_the_steps)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    struct store *s = k.server.houses.store;
    int64_t number = 0;
    web_get(&k, FLAT "/file");
    struct buf changed = { .arena = k.c.run.arena };
    buf_str(&changed, web_file(&k, FLAT_FILE));
    buf_text(&changed, "# noted\n");
    CHECK_OK(&k.c, store_add(s, STR("quay_flat"), 1, 5, STR("noted"), buf_done(&changed), &number, &k.c.problems));
    CHECK_TEXT("noted and no more: the file is the old one", web_get(&k, FLAT "/file").etag, STR("r1"));
    web_write(&k, FLAT_FILE, buf_done(&changed));
    CHECK_TEXT("written and not marked: it is the noted one", web_get(&k, FLAT "/file").etag, STR("r2"));
    CHECK("no third", web_get(&k, FLAT "/revisions/3").status == 422);
    web_kit_end(&k);
}

TEST(trying_saves_nothing)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct str before = web_file(&k, FLAT_FILE);
    const struct reply wrong =
        web_ask(&k, (struct asked_web){
                        .method = "POST",
                        .target = FLAT "/try",
                        .body = "{\"edits\": [{\"op\": \"set\", \"path\": \"/country\", \"value\": \"Nowhere\"}]}" });
    CHECK("answered", wrong.status == 200 && strstr(wrong.body.p, "\"can_be_read\":false"));
    CHECK("what is wrong", strstr(wrong.body.p, "country"));
    CHECK_TEXT("the file", web_file(&k, FLAT_FILE), before);
    CHECK_TEXT("the revision", web_get(&k, FLAT "/file").etag, STR("r1"));
    web_kit_end(&k);
}

TEST(parts_outside_the_folder_are_not_read)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct reply r =
        edit(&k, NULL, "{\"edits\": [{\"op\": \"set\", \"path\": \"/parts_file\", \"value\": \"/etc/passwd\"}]}");
    CHECK("the text is saved", r.status == 200);
    CHECK("but not read", strstr(r.body.p, "\"can_be_read\":false") && strstr(r.body.p, "outside the folder"));
    CHECK("not by any question",
          web_get(&k, FLAT "/promises").status == 409 && web_get(&k, FLAT "/parts").status == 409);
    web_kit_end(&k);
}

/* ---- many at once ---- */

struct asker {
    struct web_kit *k;
    uint32_t number;
    bool is_done;
};

static void *ask_much(void *user)
{
    struct asker *me = user;
    struct arena *a = arena_new((size_t)256 << 20);
    me->is_done = a != NULL;
    for (uint32_t i = 0; a && i < 6; i++) {
        const char *body = arena_printf(
            a, "{\"edits\": [{\"op\": \"set\", \"path\": \"/says\", \"value\": \"%u of %u\"}]}", i, me->number);
        const struct reply r =
            web_ask_in(me->k, a, (struct asked_web){ .method = "POST", .target = FLAT "/edits", .body = body });
        const struct reply seen = web_ask_in(me->k, a, (struct asked_web){ .method = "GET", .target = FLAT "/model" });
        me->is_done = me->is_done && r.status == 200 && seen.status == 200;
    }
    arena_free(a);
    return NULL;
}

TEST(many_at_once_lose_nothing)
{
    enum { ASKERS = 6 };
    struct web_kit k;
    pthread_t threads[ASKERS];
    struct asker askers[ASKERS];
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    web_get(&k, FLAT "/file");
    for (uint32_t i = 0; i < ASKERS; i++) {
        askers[i] = (struct asker){ &k, i, false };
        CHECK("a thread", pthread_create(&threads[i], NULL, ask_much, &askers[i]) == 0);
    }
    for (uint32_t i = 0; i < ASKERS; i++) {
        pthread_join(threads[i], NULL);
        CHECK("all answered", askers[i].is_done);
    }
    CHECK_TEXT("each a revision", web_get(&k, FLAT "/file").etag, STR("r37"));
    web_kit_end(&k);
}

TEST(what_nobody_asks_for_is_forgotten_and_made_again)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct reply first = web_get(&k, FLAT "/ask?from=anyone&to=internet");
    workspaces_forget(&k.server.houses, 0);
    const struct reply again = web_get(&k, FLAT "/ask?from=anyone&to=internet");
    CHECK("an answer", first.status == 200);
    CHECK_TEXT("the same", again.body, first.body);
    web_kit_end(&k);
}

/* ---- bodies of any kind ---- */

PROP(bodies_of_any_kind_are_answered, 60)
{
    static const char *const BITS[] = { "{",    "}",         "[",       "]",         "\"edits\"",   ":",
                                        ",",    "\"op\"",    "\"set\"", "\"path\"",  "1",           "-1e999",
                                        "null", "\"/name\"", "true",    "\"value\"", "\"\\ud800\"", "\xff" };
    static const char *const TARGETS[] = { FLAT "/edits", FLAT "/try", FLAT "/preview", "/api/houses",
                                           "/api/jobs/1/take" };
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    for (int n = 0; n < 20; n++) {
        struct buf body = { .arena = k.c.run.arena };
        const uint32_t length = (uint32_t)random_below(r, 14);
        buf_text(&body, random_below(r, 2) ? "{" : "");
        for (uint32_t i = 0; i < length; i++)
            buf_text(&body, BITS[random_below(r, RT_COUNT(BITS))]);
        const struct reply reply =
            web_ask(&k, (struct asked_web){ .method = "POST",
                                            .target = TARGETS[random_below(r, RT_COUNT(TARGETS))],
                                            .body = buf_done(&body).p });
        CHECK("a client's mistake is told as one", reply.status < 500 && reply.status >= 200);
    }
    web_kit_end(&k);
}

/* Where a mistake lies is told as a JSON pointer (RFC 6901), so that a form can set its words beside the field. */
TEST(a_mistake_is_told_with_its_place)
{
    static const struct {
        const char *edit, *path;
    } CASES[] = {
        { "{\"op\": \"set\", \"path\": \"/devices/printer/room\", \"value\": \"hal\"}", "/devices/printer/room" },
        { "{\"op\": \"set\", \"path\": \"/segments/things/ipv4\", \"value\": \"10.44.50.0/99\"}",
          "/segments/things/ipv4" },
        { "{\"op\": \"set\", \"path\": \"/walls/water_side/openings/1/construct\", \"value\": \"glas\"}",
          "/walls/water_side/openings/1/construct" },
        { "{\"op\": \"remove\", \"path\": \"/walls/water_side/openings/2/construct\"}",
          "/walls/water_side/openings/2" },
        { "{\"op\": \"set\", \"path\": \"/budget/yearly\", \"value\": -1}", "/budget/yearly" },
    };
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const char *body = arena_printf(k.c.run.arena, "{\"edits\": [%s]}", CASES[i].edit);
        const struct reply r = web_ask(&k, (struct asked_web){ .method = "POST", .target = FLAT "/try", .body = body });
        json_t *answer = json_loadb(r.body.p, r.body.n, 0, NULL), *problem = NULL, *found = NULL;
        size_t at;
        json_array_foreach(json_object_get(answer, "problems"), at,
                           problem) if (!found && json_is_false(json_object_get(problem, "is_warning"))) found =
            json_object_get(problem, "path");
        const char *path = json_string_value(found);
        CHECK_TEXT(CASES[i].path, str_from(path ? path : "none"), str_from(CASES[i].path));
        json_decref(answer);
    }
    web_kit_end(&k);
}

/* The next that a stream sends, to its blank line. */
static const char *next_event(struct web_kit *k, const struct reply *r)
{
    struct buf text = { .arena = k->c.run.arena };
    char one;
    while (!(text.n > 2 && memcmp(text.p + text.n - 2, "\n\n", 2) == 0) && r->source(r->source_user, &one, 1) == 1)
        buf_char(&text, one);
    return buf_done(&text).p;
}

static const char *state_of(struct web_kit *k)
{
    json_t *model = web_json(k, FLAT "/model");
    const char *state = arena_printf(k->c.run.arena, "%s", json_string_value(json_object_get(model, "state")));
    json_decref(model);
    return state;
}

/* WHATWG HTML, "Server-sent events", the event stream format.  That it is told within so many seconds is not tested: that it is told is. */
TEST(whoever_looks_hears_of_changes_made_elsewhere)
{
    struct web_kit k;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    const struct reply r = web_get(&k, FLAT "/changes/events");
    CHECK("a stream", r.status == 200 && r.source && strcmp(r.type, "text/event-stream") == 0);
    const char *said = next_event(&k, &r);
    CHECK(said, strstr(said, "event: state\ndata: {\"revision\":1,") == said && strstr(said, state_of(&k)));
    CHECK("another tab", edit(&k, "\"r1\"", NAMED).status == 200);
    said = next_event(&k, &r);
    CHECK(said, strstr(said, "event: changed\ndata: {\"revision\":2,") == said && strstr(said, state_of(&k)));
    const struct str bytes = web_file(&k, FLAT_FILE);
    web_write(&k, FLAT_FILE, (struct str){ bytes.p, bytes.n - 1 });
    said = next_event(&k, &r);
    CHECK(said, strstr(said, "\"revision\":3,") && strstr(said, state_of(&k)));
    const struct str parts = web_file(&k, "parts/demo_eur.parts.yaml");
    web_write(&k, "parts/demo_eur.parts.yaml", (struct str){ parts.p, parts.n - 1 });
    said = next_event(&k, &r);
    CHECK(said, strstr(said, "event: changed") && strstr(said, "\"revision\":3,") && strstr(said, state_of(&k)));
    CHECK("no such house", web_get(&k, "/api/houses/nowhere/changes/events").status == 422);
    jobs_stop(&k.server.jobs);
    CHECK("it ends with the server", r.source(r.source_user, (char[16]){ 0 }, 16) == 0);
    web_kit_end(&k);
}
