/* What happens to a house while somebody looks at it: a stream of its states, whoever made them. */
#include <string.h>

#include "web/api.h"

enum { LOOK_S = 1, BEAT_S = 10, EVENT_MB = 64 };

/* Server-sent events: WHATWG HTML, "Server-sent events".  Once a second the file system is asked when the house's files were written
 * last; they are read only when that is another than before, and was so a second ago too: who writes a file piece by piece is not met
 * in the middle. */
struct changes {
    struct workspace *w;
    struct jobs *jobs; /* that are stopped with the server, and so end a wait */
    uint64_t told, seen;
    bool is_first;
    char text[256];
    size_t n, sent;
};

/* The state that it is in; a house that is not there has none. */
static bool tell_state(struct changes *c, const char *event)
{
    struct workspace_state s;
    struct rt_problems unheard;
    struct arena *a = arena_new((size_t)EVENT_MB << 20);
    if (!a)
        return false;
    rt_problems_init(&unheard, a);
    struct buf text = { .arena = a };
    buf_printf(&text, "event: %s\ndata: ", event);
    struct json j = { .out = &text, .compact = true };
    const bool is_there = workspace_look(c->w, a, &s, &unheard) == RT_OK;
    json_begin_object(&j, NULL);
    json_int(&j, "revision", is_there ? s.revision.number : 0);
    json_str(&j, "state",
             is_there ? api_state_tag(a, (struct study_state){ s.revision.number, s.parts }) : (struct str){ 0 });
    json_end_object(&j);
    buf_text(&text, "\n\n");
    const bool fits = !text.failed && text.n <= sizeof c->text;
    if (fits)
        memcpy(c->text, text.p, c->n = text.n);
    arena_free(a);
    return fits;
}

/* Waits for the next event, or for the time at which a comment says that the stream is still there; false: it ends. */
static bool next_event(struct changes *c)
{
    c->sent = 0;
    for (int s = 0; s < BEAT_S; s += LOOK_S) {
        const uint64_t now = workspace_mark(c->w);
        const bool is_settled = now == c->seen;
        c->seen = now;
        if (c->is_first || (is_settled && now != c->told)) {
            const char *event = c->is_first ? "state" : "changed";
            c->told = now;
            c->is_first = false;
            return tell_state(c, event);
        }
        jobs_rest(c->jobs, LOOK_S);
        if (jobs_are_ending(c->jobs))
            return false;
    }
    c->n = (size_t)snprintf(c->text, sizeof c->text, ": still there\n\n");
    return true;
}

static size_t pull(void *user, char *out, size_t most)
{
    struct changes *c = user;
    if (c->sent == c->n && !next_event(c))
        return 0;
    const size_t left = c->n - c->sent, n = left < most ? left : most;
    memcpy(out, c->text + c->sent, n);
    c->sent += n;
    return n;
}

enum rt_code api_change_events(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace_state s;
    struct changes *c = ARENA_NEW(q->arena, struct changes);
    if (!c)
        return rt_fail_memory(p);
    *c = (struct changes){ .jobs = &q->server->jobs, .is_first = true };
    RT_TRY(api_house(q, &c->w, p));
    RT_TRY(workspace_look(c->w, q->arena, &s, p)); /* which parts file it names */
    *r = (struct reply){ .status = 200, .type = "text/event-stream", .source = pull, .source_user = c };
    return RT_OK;
}
