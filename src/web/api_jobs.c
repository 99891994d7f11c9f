/* Designs as jobs: begun, watched, cancelled, taken. */
#include <string.h>

#include "base/units.h"
#include "house/edit_int.h"
#include "web/api.h"
#include "web/api_json.h"
#include "web/event_stream.h"

enum { BEAT_S = 10, SECTIONS_MOST = 40 };

static enum rt_code read_number(const struct request *q, uint32_t *out, struct rt_problems *p)
{
    const struct str s = q->params[0];
    *out = 0;
    for (size_t i = 0; i < s.n; i++) {
        if (s.n > 9 || s.p[i] < '0' || s.p[i] > '9')
            return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "there is no such job");
        *out = *out * 10 + (uint32_t)(s.p[i] - '0');
    }
    return RT_OK;
}

/* ---- begin ---- */

static enum rt_code read_options(const struct api_json *body, struct design_options *out, struct rt_problems *p)
{
    const double seconds = given_or(api_json_number(body, "seconds"), DESIGN_SECONDS);
    *out = (struct design_options){ .anew = api_json_true(body, "anew"),
                                    .generates = !api_json_true(body, "own_mounts"),
                                    .allows_radar = api_json_true(body, "radar"),
                                    .seconds = seconds,
                                    .gap = DESIGN_GAP,
                                    .grid_m = DESIGN_GRID_M };
    return seconds >= 1.0 && seconds <= 3600.0
               ? RT_OK
               : rt_fail(p, RT_RANGE, RT_NOWHERE, "between 1 and 3600", "a design does not take so many seconds");
}

enum rt_code api_design(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace_state s;
    struct api_json body = { 0 };
    struct json_body b;
    struct job_order order = { .house = q->params[0] };
    uint32_t number = 0;
    RT_TRY(api_house(q, &order.workspace, p));
    if (q->body.n)
        RT_TRY(api_json_read(q->body, &body, p));
    enum rt_code code = read_options(&body, &order.options, p);
    api_json_end(&body);
    RT_TRY(code);
    RT_TRY(workspace_look(order.workspace, q->arena, &s, p));
    order.revision = s.revision.number;
    order.bytes = s.bytes;
    code = job_start(&q->server->jobs, &order, &q->server->houses.run, &number, p);
    if (code == RT_LIMIT) { /* RFC 6585, section 4 */
        r->status = 429;
        r->retry_after = "5";
    }
    RT_TRY(code);
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "job", number);
    json_int(j, "revision", order.revision);
    json_end_object(j);
    r->status = 202;
    r->location = arena_printf(q->arena, "/api/jobs/%u", number);
    return reply_json_end(&b, r, p);
}

/* ---- how it stands ---- */

static const char *const STATES[] = { [JOB_RUNNING] = "running", [JOB_DONE] = "done", [JOB_FAILED] = "failed" };

enum rt_code api_job(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct job_view v;
    struct json_body b;
    uint32_t number;
    RT_TRY(read_number(q, &number, p));
    RT_TRY(job_look(&q->server->jobs, q->arena, number, &v, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "job", number);
    json_text(j, "state", STATES[v.state]);
    json_str(j, "house", v.house);
    json_int(j, "revision", v.revision);
    json_str(j, "what", v.what);
    json_fixed(j, "share", v.share, 3);
    problems_write_json(j, "problems", &v.problems);
    if (v.state == JOB_DONE) {
        reply_json_made(j, "design", v.json);
        json_str(j, "file", v.file);
    }
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

enum rt_code api_job_cancel(struct request *q, struct reply *r, struct rt_problems *p)
{
    uint32_t number;
    RT_TRY(read_number(q, &number, p));
    RT_TRY(job_cancel(&q->server->jobs, number, p));
    r->status = 204;
    return RT_OK;
}

/* ---- as it goes ---- */

struct events {
    struct jobs *all;
    uint32_t number, news;
    bool is_first, has_ended;
    char text[600];
    struct event_stream stream;
};

static struct str write_event(struct events *e, const struct job_view *v, struct arena *a)
{
    struct buf text = { .arena = a };
    struct json j = { .out = &text, .compact = true };
    e->has_ended = v->state != JOB_RUNNING;
    buf_printf(&text, "event: %s\ndata: ", e->has_ended ? "done" : "progress");
    json_begin_object(&j, NULL);
    json_text(&j, "state", STATES[v->state]);
    json_str(&j, "what", v->what);
    json_fixed(&j, "share", v->share, 3);
    json_end_object(&j);
    buf_text(&text, "\n\n");
    const size_t n = (size_t)snprintf(e->text, sizeof e->text, "%.*s", STR_ARG(buf_done(&text)));
    return (struct str){ e->text, n < sizeof e->text ? n : sizeof e->text - 1 };
}

/* The next event, or that there is none yet; false: it has ended. */
static bool next_event(void *user, struct str *text)
{
    struct events *e = user;
    struct job_view v;
    struct rt_problems unheard;
    if (e->has_ended)
        return false;
    struct arena *a = arena_new((size_t)128 << 20);
    if (!a)
        return false;
    rt_problems_init(&unheard, a);
    if (!e->is_first)
        job_wait(e->all, e->number, e->news, BEAT_S);
    const bool goes_on = !jobs_are_ending(e->all) && job_look(e->all, a, e->number, &v, &unheard) == RT_OK;
    if (goes_on) {
        *text = e->is_first || v.news != e->news ? write_event(e, &v, a) : EVENT_STILL_THERE;
        e->news = v.news;
    }
    e->is_first = false;
    arena_free(a);
    return goes_on;
}

enum rt_code api_job_events(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct job_view v;
    struct events *e = ARENA_NEW(q->arena, struct events);
    uint32_t number;
    RT_TRY(read_number(q, &number, p));
    RT_TRY(job_look(&q->server->jobs, q->arena, number, &v, p));
    if (!e)
        return rt_fail_memory(p);
    *e = (struct events){
        .all = &q->server->jobs, .number = number, .is_first = true, .stream = { .next = next_event, .user = e }
    };
    event_stream_reply(&e->stream, r);
    return RT_OK;
}

/* ---- taken ---- */

static const struct edit_entry *section_of(const struct edit_node *root, struct str name)
{
    const uint32_t i = root->kind == EDIT_MAPPING ? edit_find_entry(root, name) : root->entries.n;
    return i < root->entries.n ? &root->entries.v[i] : NULL;
}

/* The section's value as it stands in the design. */
static struct str text_of(struct str bytes, const struct edit_node *value)
{
    const size_t from = value->form == EDIT_BLOCK ? edit_line_start(bytes, value->from) : value->from;
    return (struct str){ bytes.p + from, value->to - from };
}

/* One edit for each section that was named: what it is in the design, or that it is in it no more. */
static enum rt_code edits_of(struct request *q, const struct api_json *body, struct str now, struct str designed,
                             struct edit *edits, size_t *n, struct rt_problems *p)
{
    struct edit_node *is = NULL, *then = NULL;
    RT_TRY(edit_parse(q->arena, NULL, now, &is, p));
    RT_TRY(edit_parse(q->arena, NULL, designed, &then, p));
    const size_t asked = api_json_count(body, "sections");
    if (!asked || asked > SECTIONS_MOST)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send `sections`: [equipment, cables, ...], or `all`: true",
                       "nothing is said of what to take");
    for (size_t i = 0; i < asked; i++) {
        const struct str name = api_json_text_at(body, "sections", i);
        const struct edit_entry *old = section_of(is, name), *new = section_of(then, name);
        struct buf path = { .arena = q->arena };
        edit_path_add(&path, name);
        if (!old && !new)
            return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "equipment, cables, segments, mounts ...",
                           "neither file has a section '%.*s'", STR_ARG(name));
        if (old && new &&edit_same(old->value, new->value))
            continue;
        edits[(*n)++] = (struct edit){ .op = !new  ? EDIT_REMOVE
                                             : old ? EDIT_SET
                                                   : EDIT_ADD,
                                       .path = buf_done(&path),
                                       .value = new ? text_of(designed, new->value) : (struct str){ 0 } };
    }
    return RT_OK;
}

/* Parts of a design may need other parts of it: what cannot be read any more is not taken. */
static enum rt_code check_whole(struct request *q, struct workspace *w, struct str bytes, const struct edit *edits,
                                size_t n, struct rt_problems *p)
{
    struct edit_change change;
    struct house *h = NULL;
    RT_TRY(edit_apply(q->arena, NULL, bytes, edits, n, &change, p));
    return workspace_read_house(w, q->arena, change.bytes, &h, p);
}

static enum rt_code take(struct request *q, struct workspace *w, const struct job_view *v, const struct api_json *body,
                         struct workspace_state *s, struct rt_problems *p)
{
    struct edit edits[SECTIONS_MOST];
    size_t n = 0;
    if (api_json_true(body, "all"))
        return workspace_write(w, q->arena, v->revision, v->file, STR("took the design"), s, p);
    RT_TRY(workspace_look(w, q->arena, s, p));
    RT_TRY(edits_of(q, body, s->bytes, v->file, edits, &n, p));
    if (!n)
        return RT_OK;
    RT_TRY(check_whole(q, w, s->bytes, edits, n, p));
    return workspace_edit(w, q->arena, v->revision, edits, n, STR("took part of the design"), s, p);
}

enum rt_code api_job_take(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct job_view v;
    struct workspace *w;
    struct workspace_state s;
    struct api_json body;
    uint32_t number;
    RT_TRY(read_number(q, &number, p));
    RT_TRY(job_look(&q->server->jobs, q->arena, number, &v, p));
    if (v.state != JOB_DONE)
        return rt_fail(p, RT_CONFLICT, RT_NOWHERE, NULL, "there is no design to take %s",
                       v.state == JOB_RUNNING ? "yet" : "from this job");
    RT_TRY(workspace_find(&q->server->houses, v.house, &w, p));
    RT_TRY(api_json_read(q->body, &body, p));
    const enum rt_code code = take(q, w, &v, &body, &s, p);
    api_json_end(&body);
    RT_TRY(code);
    return api_tell_state(q, w, &s, r, p);
}
