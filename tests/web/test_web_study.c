/* What is computed of a revision: nobody waits for what they did not ask for, and what nobody asks for any more stops.
 *
 * A computation is held where it reports its progress, in the thread that asked; what is asked meanwhile has to be answered, or the
 * test never ends. */
#include <string.h>

#include "web/warm.h"
#include "web_json.h"

#define FLAT "/api/houses/quay_flat"

/* Holds whoever reports `at` until it is let on. */
struct holder {
    pthread_mutex_t lock;
    pthread_cond_t changed;
    const char *at;
    bool is_held, may_go_on;
    uint32_t n_reports, n_ended; /* n_ended: those that say that all is done */
};

static void report(void *user, const char *what, double share)
{
    struct holder *h = user;
    pthread_mutex_lock(&h->lock);
    if (strcmp(what, h->at) == 0) {
        h->n_ended += share >= 1.0;
        h->n_reports++;
        h->is_held = true;
        pthread_cond_broadcast(&h->changed);
        while (!h->may_go_on)
            pthread_cond_wait(&h->changed, &h->lock);
    }
    pthread_mutex_unlock(&h->lock);
}

static void holder_begin(struct holder *h, struct web_kit *k, const char *at)
{
    *h = (struct holder){ .at = at };
    pthread_mutex_init(&h->lock, NULL);
    pthread_cond_init(&h->changed, NULL);
    k->server.houses.run.progress = (struct progress){ report, h };
}

static void wait_until_held(struct holder *h)
{
    pthread_mutex_lock(&h->lock);
    while (!h->is_held)
        pthread_cond_wait(&h->changed, &h->lock);
    pthread_mutex_unlock(&h->lock);
}

static void let_on(struct holder *h)
{
    pthread_mutex_lock(&h->lock);
    h->may_go_on = true;
    pthread_cond_broadcast(&h->changed);
    pthread_mutex_unlock(&h->lock);
}

static void holder_end(struct holder *h)
{
    pthread_cond_destroy(&h->changed);
    pthread_mutex_destroy(&h->lock);
}

/* Somebody who asks in a thread of their own. */
struct asker {
    struct web_kit *k;
    const char *target;
    struct arena *arena;
    struct reply reply;
    pthread_t thread;
};

static void *ask_one(void *user)
{
    struct asker *me = user;
    me->reply = web_ask_in(me->k, me->arena, (struct asked_web){ .method = "GET", .target = me->target });
    return NULL;
}

static void asker_begin(struct asker *me, struct web_kit *k, const char *target)
{
    *me = (struct asker){ .k = k, .target = target, .arena = arena_new((size_t)256 << 20) };
    CHECK("a thread", me->arena && pthread_create(&me->thread, NULL, ask_one, me) == 0);
}

static unsigned status(struct web_kit *k, const char *target) { return web_get(k, target).status; }

#define EDIT(n) "{\"what\": \"said\", \"edits\": [{\"op\": \"set\", \"path\": \"/says\", \"value\": \"" n "\"}]}"

static struct reply post(struct web_kit *k, const char *target, const char *body)
{
    return web_ask(k, (struct asked_web){ .method = "POST", .target = target, .body = body });
}

static void *warm(void *user)
{
    struct web_kit *k = user;
    warm_up(&k->server.houses);
    return NULL;
}

static const char HELD[] = "{\"equipment\": \"a1\", \"floor\": \"third\", \"at_m\": [2, 2, 2.3], \"band\": \"5\"}";

/* Of what is computed the tag names the revision, and behind a point the state of the parts. */
static double tagged_revision(struct web_kit *k, struct reply r)
{
    return (double)http_revision(str_from(arena_printf(k->c.run.arena, "\"%.*s\"", STR_ARG(r.etag))));
}

TEST(nobody_waits_for_a_judgement)
{
    struct web_kit k;
    struct holder h;
    struct asker judge;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", "larch_end", NULL });
    holder_begin(&h, &k, "promises");
    asker_begin(&judge, &k, FLAT "/promises");
    wait_until_held(&h);
    CHECK("the list", status(&k, "/api/houses") == 200);
    CHECK("the model", status(&k, FLAT "/model") == 200);
    CHECK("the file", status(&k, FLAT "/file") == 200);
    CHECK("the history", status(&k, FLAT "/revisions") == 200);
    CHECK("the drawing", status(&k, FLAT "/drawing") == 200);
    CHECK("a field", status(&k, FLAT "/field?floor=third&band=5") == 200);
    CHECK("a quick field", status(&k, FLAT "/field?floor=third&band=5&quick=yes") == 200);
    CHECK("a spot", status(&k, FLAT "/signal?floor=third&at=2,2") == 200);
    CHECK("who may talk", status(&k, FLAT "/ask?from=anyone&to=internet") == 200);
    CHECK("a drag", post(&k, FLAT "/preview", HELD).status == 200);
    CHECK("what a change would lead to", post(&k, FLAT "/try", EDIT("a")).status == 200);
    let_on(&h);
    pthread_join(judge.thread, NULL);
    CHECK("the judgement", judge.reply.status == 200);
    CHECK_NEAR("of the only revision", tagged_revision(&k, judge.reply), 1, 0, "");
    arena_free(judge.arena);
    holder_end(&h);
    web_kit_end(&k);
}

TEST(what_is_computed_of_an_older_revision_stops)
{
    struct web_kit k;
    struct holder h;
    struct asker judge;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    holder_begin(&h, &k, "promises");
    asker_begin(&judge, &k, FLAT "/promises");
    wait_until_held(&h);
    CHECK("an edit", post(&k, FLAT "/edits", EDIT("changed")).status == 200);
    const uint32_t before = h.n_reports; /* its thread stands still */
    let_on(&h);
    pthread_join(judge.thread, NULL);
    json_t *house = web_json(&k, FLAT "/model");
    const size_t n = json_object_size(json_object_get(json_object_get(house, "house"), "promises"));
    json_decref(house);
    CHECK("the old one said that it began with the first, the new one each in turn",
          before == 1 && n > 1 && h.n_reports == 1 + n);
    CHECK("an answer all the same", judge.reply.status == 200);
    CHECK_NEAR("of what the house is now", tagged_revision(&k, judge.reply), 2, 0, "");
    CHECK_TEXT("as if nothing had been under way", judge.reply.body, web_get(&k, FLAT "/promises").body);
    arena_free(judge.arena);
    holder_end(&h);
    web_kit_end(&k);
}

TEST(two_who_ask_the_same_share_one_computation)
{
    struct web_kit k;
    struct holder h;
    struct asker first, second, judge;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    holder_begin(&h, &k, "signal");
    asker_begin(&first, &k, FLAT "/field?floor=third&band=5");
    wait_until_held(&h);
    asker_begin(&second, &k, FLAT "/field?floor=third&band=5");
    asker_begin(&judge, &k, FLAT "/ports"); /* has no part in it */
    pthread_join(judge.thread, NULL);
    let_on(&h);
    pthread_join(first.thread, NULL);
    pthread_join(second.thread, NULL);
    CHECK("answered", first.reply.status == 200 && second.reply.status == 200 && judge.reply.status == 200);
    CHECK("the same bytes", first.reply.body.n == second.reply.body.n &&
                                memcmp(first.reply.body.p, second.reply.body.p, first.reply.body.n) == 0);
    CHECK("computed once", h.n_ended == 1);
    arena_free(first.arena);
    arena_free(second.arena);
    arena_free(judge.arena);
    holder_end(&h);
    web_kit_end(&k);
}

TEST(a_server_that_is_stopped_waits_for_no_judgement)
{
    struct web_kit k;
    struct holder h;
    struct asker judge;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    holder_begin(&h, &k, "promises");
    asker_begin(&judge, &k, FLAT "/promises");
    wait_until_held(&h);
    workspaces_stop(&k.server.houses);
    let_on(&h);
    pthread_join(judge.thread, NULL);
    CHECK("not judged", judge.reply.status != 200 && h.n_reports == 1);
    CHECK("nor later", status(&k, FLAT "/field?floor=third&band=5&quick=yes") != 200);
    arena_free(judge.arena);
    holder_end(&h);
    web_kit_end(&k);
}

/* ---- promises one by one ---- */

/* The next event: its name, and its data; NULL: there is none any more.  WHATWG HTML, "Server-sent events", section 9.2.6: fields, an
 * empty line after each event. */
static json_t *next_event(struct web_kit *k, struct reply *r, char name[20])
{
    struct buf text = { .arena = k->c.run.arena };
    char one;
    while (!(text.n > 2 && memcmp(text.p + text.n - 2, "\n\n", 2) == 0) && r->source(r->source_user, &one, 1) == 1)
        buf_add(&text, &one, 1);
    buf_char(&text, '\0');
    char *data = text.n > 1 ? strstr(text.p, "\ndata: ") : NULL;
    CHECK("a whole event", text.n == 1 || (data && sscanf(text.p, "event: %19s", name) == 1));
    return data ? json_loads(data + 7, JSON_DISABLE_EOF_CHECK, NULL) : NULL;
}

static int64_t revision_of(json_t *data) { return json_integer_value(json_object_get(data, "revision")); }

TEST(promises_are_told_one_by_one)
{
    struct web_kit k;
    char name[20] = "";
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    struct reply events = web_get(&k, FLAT "/promises/events");
    json_t *told = json_object(), *data, *one;
    size_t i, n = 0, n_signal = 0;
    CHECK_TEXT("events", str_from(events.type), STR("text/event-stream"));
    while ((data = next_event(&k, &events, name)) && strcmp(name, "promise") == 0) {
        one = json_object_get(data, "promise");
        const char *kind = json_string_value(json_object_get(one, "kind"));
        n_signal += strcmp(kind, "signal") == 0;
        CHECK("what needs no field is not kept waiting",
              n_signal == 0 || (strcmp(kind, "cost") && strcmp(kind, "apart")));
        json_object_set(told, json_string_value(json_object_get(one, "id")), one);
        n++;
        json_decref(data);
    }
    CHECK_TEXT("all are", str_from(name), STR("done"));
    json_decref(data);
    CHECK("and that is the end", !next_event(&k, &events, name));
    events.source_end(events.source_user);
    json_t *whole = web_json(&k, FLAT "/promises");
    json_array_foreach(json_object_get(whole, "promises"), i, one)
        CHECK(json_string_value(json_object_get(one, "id")),
              json_equal(one, json_object_get(told, json_string_value(json_object_get(one, "id")))));
    CHECK("each once", n == i && json_object_size(told) == n && n_signal > 1);
    json_decref(whole);
    json_decref(told);
    web_kit_end(&k);
}

static bool is_early(json_t *promise)
{
    const char *kind = json_string_value(json_object_get(promise, "kind"));
    for (unsigned k = 0; k < PROMISE_KIND_COUNT; k++)
        if (strcmp(kind, promise_kind_name((enum promise_kind)k)) == 0)
            return !promise_needs_field((enum promise_kind)k);
    return false;
}

TEST(those_that_need_no_field_have_none_computed)
{
    struct web_kit k;
    struct holder h;
    char name[20] = "";
    web_kit_begin(&k, (const char *const[]){ "larch_end", NULL });
    holder_begin(&h, &k, "signal");
    h.may_go_on = true; /* only counts */
    json_t *model = web_json(&k, "/api/houses/larch_end/model"), *promise;
    const char *id;
    uint32_t n_early = 0;
    json_object_foreach(json_object_get(json_object_get(model, "house"), "promises"), id, promise) n_early +=
        is_early(promise);
    struct reply events = web_get(&k, "/api/houses/larch_end/promises/events");
    for (uint32_t i = 0; i < n_early; i++) {
        json_t *data = next_event(&k, &events, name);
        CHECK(json_string_value(json_object_get(json_object_get(data, "promise"), "id")),
              is_early(json_object_get(data, "promise")) && h.n_reports == 0);
        json_decref(data);
    }
    CHECK("several kinds of them", n_early > 5);
    events.source_end(events.source_user);
    json_decref(model);
    holder_end(&h);
    web_kit_end(&k);
}

TEST(promises_of_a_changed_house_are_told_anew)
{
    struct web_kit k;
    char name[20] = "";
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    struct reply events = web_get(&k, FLAT "/promises/events");
    json_t *first = next_event(&k, &events, name), *data;
    CHECK("of the house as it was", revision_of(first) == 1);
    CHECK("an edit", post(&k, FLAT "/edits", EDIT("changed")).status == 200);
    json_int_t n = 0, of = 0;
    while ((data = next_event(&k, &events, name)) && strcmp(name, "promise") == 0) {
        CHECK("of the house as it is", revision_of(data) == 2);
        CHECK("from the first one on",
              n > 0 || json_equal(json_object_get(data, "promise"), json_object_get(first, "promise")));
        of = json_integer_value(json_object_get(data, "of"));
        n++;
        json_decref(data);
    }
    CHECK("all of them", n > 1 && n == of && revision_of(data) == 2);
    json_decref(data);
    json_decref(first);
    events.source_end(events.source_user);

    events = web_get(&k, FLAT "/promises/events");
    web_write(&k, "houses/quay_flat.house.yaml", STR("rooftree: 1\n"));
    data = next_event(&k, &events, name);
    CHECK_TEXT("no house any more", str_from(name), STR("problems"));
    CHECK("why", json_array_size(json_object_get(data, "problems")) > 0 && !next_event(&k, &events, name));
    json_decref(data);
    events.source_end(events.source_user);
    web_kit_end(&k);
}

/* ---- before anybody asks ---- */

TEST(what_a_browser_asks_for_first_is_there)
{
    struct web_kit k;
    struct holder h;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    holder_begin(&h, &k, "signal");
    h.may_go_on = true; /* only counts */
    warm_up(&k.server.houses);
    const uint32_t computed = h.n_reports;
    CHECK("computed", computed > 0);
    CHECK("a quick field", status(&k, FLAT "/field?floor=third&band=5&quick=yes") == 200 && h.n_reports == computed);
    CHECK("a whole one was not", status(&k, FLAT "/field?floor=third&band=5") == 200 && h.n_reports > computed);
    holder_end(&h);
    web_kit_end(&k);
}

TEST(of_several_houses_the_one_changed_last)
{
    struct web_kit k;
    struct holder h;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", "larch_end", NULL });
    holder_begin(&h, &k, "signal");
    h.may_go_on = true;
    warm_up(&k.server.houses);
    CHECK("none yet", h.n_reports == 0);
    CHECK("looked at", status(&k, FLAT "/model") == 200);
    warm_up(&k.server.houses);
    const uint32_t computed = h.n_reports;
    CHECK("that one",
          computed > 0 && status(&k, FLAT "/field?floor=third&band=5&quick=yes") == 200 && h.n_reports == computed);
    web_write(&k, "houses/quay_flat.house.yaml", STR("rooftree: 1\n"));
    warm_up(&k.server.houses);
    CHECK("one that cannot be read hurts nobody", status(&k, "/api/houses") == 200 && h.n_reports == computed);
    holder_end(&h);
    web_kit_end(&k);
}

TEST(a_server_that_is_stopped_waits_for_no_warming_up)
{
    struct web_kit k;
    struct holder h;
    pthread_t thread;
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    holder_begin(&h, &k, "signal");
    CHECK("a thread", pthread_create(&thread, NULL, warm, &k) == 0);
    wait_until_held(&h);
    workspaces_stop(&k.server.houses);
    let_on(&h);
    pthread_join(thread, NULL);
    const uint32_t computed = h.n_reports;
    warm_up(&k.server.houses);
    CHECK("nothing is begun any more", h.n_reports == computed);
    holder_end(&h);
    web_kit_end(&k);
}

/* ---- many askers and a changing house ---- */

struct visitor {
    struct web_kit *k;
    uint32_t number;
    bool is_done;
};

static void *visit(void *user)
{
    static const char *const TARGETS[] = { FLAT "/promises", FLAT "/field?floor=third&band=5", FLAT "/drawing",
                                           FLAT "/field?floor=third&band=5&quick=yes", FLAT "/week" };
    struct visitor *me = user;
    struct arena *a = arena_new((size_t)256 << 20);
    me->is_done = a != NULL;
    for (uint32_t i = 0; a && i < 3; i++) {
        const char *body = arena_printf(a, EDIT("%u by %u"), i, me->number);
        const struct reply edited =
            me->number
                ? (struct reply){ .status = 200 }
                : web_ask_in(me->k, a, (struct asked_web){ .method = "POST", .target = FLAT "/edits", .body = body });
        const struct reply seen = web_ask_in(
            me->k, a, (struct asked_web){ .method = "GET", .target = TARGETS[(i + me->number) % RT_COUNT(TARGETS)] });
        workspaces_forget(&me->k->server.houses, i == 1 ? 0 : 1000);
        me->is_done = me->is_done && edited.status == 200 && seen.status == 200;
    }
    arena_free(a);
    return NULL;
}

TEST(many_askers_and_a_changing_house)
{
    enum { VISITORS = 5 };
    struct web_kit k;
    pthread_t threads[VISITORS];
    struct visitor visitors[VISITORS];
    web_kit_begin(&k, (const char *const[]){ "quay_flat", NULL });
    for (uint32_t i = 0; i < VISITORS; i++) {
        visitors[i] = (struct visitor){ &k, i, false };
        CHECK("a thread", pthread_create(&threads[i], NULL, visit, &visitors[i]) == 0);
    }
    for (uint32_t i = 0; i < VISITORS; i++) {
        pthread_join(threads[i], NULL);
        CHECK("all answered", visitors[i].is_done);
    }
    web_kit_end(&k);
}
