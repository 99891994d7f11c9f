/* The promises judged: all at once, or each as soon as it is known. */
#include "base/units.h"
#include "web/api.h"
#include "web/event_stream.h"

/* ---- all at once ---- */

struct judging {
    struct request *q;
    struct json_body body;
    int32_t kept, broken, unknown;
};

static enum rt_code judge(struct lane *lane, void *user, struct rt_problems *p)
{
    struct judging *c = user;
    RT_TRY(lane_judge(lane, p));
    promises_write_json(reply_json(&c->body, c->q), &lane->ev, &lane->judged, NULL, NULL);
    c->kept = (int32_t)lane->judged.n_kept;
    c->broken = (int32_t)lane->judged.n_broken;
    c->unknown = (int32_t)lane->judged.n_unknown;
    return RT_OK;
}

enum rt_code api_promises(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct judging c = { .q = q };
    struct workspace *w;
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_compute(w, q->arena, LANE_JUDGE, judge, &c, &of, p));
    RT_TRY(workspace_judged(w, of.number, c.kept, c.broken, c.unknown, p));
    r->etag = api_etag_of(q, of);
    return reply_json_end(&c.body, r, p);
}

/* ---- one by one ---- */

enum { EVENT_MB = 64 };

/* The one who sends them judges: whenever the reply wants more, the next promise. */
struct stream {
    struct workspace *w;
    struct study_state of; /* that the promises told so far are of; 0: none was told */
    uint32_t next;         /* how many those are */
    bool has_ended;
    bool is_judged; /* all are, and these are kept, broken, unknown */
    int32_t kept, broken, unknown;
    struct arena *arena; /* of the event that is being sent */
    struct buf text;
    struct event_stream events;
};

static struct json begin_event(struct stream *s, const char *name)
{
    s->text = (struct buf){ .arena = s->arena };
    buf_printf(&s->text, "event: %s\ndata: ", name);
    return (struct json){ .out = &s->text, .compact = true };
}

static void tell_one(struct stream *s, const struct house *h, const struct promise_result *r)
{
    struct json j = begin_event(s, "promise");
    json_begin_object(&j, NULL);
    json_int(&j, "revision", s->of.number);
    json_str(&j, "state", api_state_tag(s->arena, s->of));
    json_int(&j, "of", h->promises.n);
    promise_write_json(&j, "promise", r);
    json_end_object(&j);
}

static void tell_all(struct stream *s, const struct promise_results *all)
{
    struct json j = begin_event(s, "done");
    s->kept = (int32_t)all->n_kept;
    s->broken = (int32_t)all->n_broken;
    s->unknown = (int32_t)all->n_unknown;
    s->is_judged = s->has_ended = true;
    json_begin_object(&j, NULL);
    json_int(&j, "revision", s->of.number);
    json_end_object(&j);
}

/* A house that was changed meanwhile is told from its first promise. */
static enum rt_code judge_next(struct lane *lane, void *user, struct rt_problems *p)
{
    struct stream *s = user;
    const struct house *h = lane->ev.h;
    const struct promise_result *one = NULL;
    const struct study_state now = study_state(lane->study);
    if (s->of.number != now.number || s->of.parts != now.parts)
        s->next = 0;
    s->of = now;
    if (s->next < h->promises.n) {
        RT_TRY(lane_judge_one(lane, s->next, &one, p));
        s->next++;
        tell_one(s, h, one);
        return RT_OK;
    }
    RT_TRY(lane_judge(lane, p));
    tell_all(s, &lane->judged);
    return RT_OK;
}

/* The next event; false: it has ended, or there is no memory for one. */
static bool next_event(void *user, struct str *text)
{
    struct stream *s = user;
    struct rt_problems p;
    struct study_state of = { 0 };
    if (s->has_ended)
        return false;
    arena_free(s->arena);
    s->arena = arena_new((size_t)EVENT_MB << 20);
    if (!s->arena)
        return false;
    rt_problems_init(&p, s->arena);
    enum rt_code code = workspace_compute(s->w, s->arena, LANE_JUDGE, judge_next, s, &of, &p);
    if (!code && s->is_judged)
        code = workspace_judged(s->w, of.number, s->kept, s->broken, s->unknown, &p);
    if (code) {
        struct json j = begin_event(s, "problems");
        s->has_ended = true;
        json_begin_object(&j, NULL);
        problems_write_json(&j, "problems", &p);
        json_end_object(&j);
    }
    buf_text(&s->text, "\n\n");
    if (s->text.failed)
        return false;
    *text = buf_done(&s->text);
    return true;
}

static void end(void *user) { arena_free(((struct stream *)user)->arena); }

enum rt_code api_promise_events(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct stream *s = ARENA_NEW(q->arena, struct stream);
    if (!s)
        return rt_fail_memory(p);
    RT_TRY(api_house(q, &s->w, p));
    s->events = (struct event_stream){ .next = next_event, .end = end, .user = s };
    event_stream_reply(&s->events, r);
    return RT_OK;
}
