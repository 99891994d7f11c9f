/* What happens to a house while somebody looks at it: a stream of its states, whoever made them. */
#include <string.h>

#include "web/api.h"
#include "web/event_stream.h"

enum { LOOK_S = 1, BEAT_S = 10, EVENT_MB = 64 };

/* Once a second the file system is asked when the house's files were written last; they are read only when that is another than before,
 * and was so a second ago too: who writes a file piece by piece is not met in the middle. */
struct changes {
    struct workspace *w;
    struct jobs *jobs; /* that are stopped with the server, and so end a wait */
    uint64_t told, seen;
    bool is_first;
    char text[256];
    struct event_stream stream;
};

/* The state that it is in; a house that is not there has none. */
static bool tell_state(struct changes *c, const char *event, struct str *out)
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
        *out = (struct str){ memcpy(c->text, text.p, text.n), text.n };
    arena_free(a);
    return fits;
}

/* Waits for the next event, or until it is time to say that there is none; false: it ends. */
static bool next_event(void *user, struct str *text)
{
    struct changes *c = user;
    for (int s = 0; s < BEAT_S; s += LOOK_S) {
        const uint64_t now = workspace_mark(c->w);
        const bool is_settled = now == c->seen;
        c->seen = now;
        if (c->is_first || (is_settled && now != c->told)) {
            const char *event = c->is_first ? "state" : "changed";
            c->told = now;
            c->is_first = false;
            return tell_state(c, event, text);
        }
        jobs_rest(c->jobs, LOOK_S);
        if (jobs_are_ending(c->jobs))
            return false;
    }
    *text = EVENT_STILL_THERE;
    return true;
}

enum rt_code api_change_events(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace_state s;
    struct changes *c = ARENA_NEW(q->arena, struct changes);
    if (!c)
        return rt_fail_memory(p);
    *c = (struct changes){ .jobs = &q->server->jobs, .is_first = true, .stream = { .next = next_event, .user = c } };
    RT_TRY(api_house(q, &c->w, p));
    RT_TRY(workspace_look(c->w, q->arena, &s, p)); /* which parts file it names */
    event_stream_reply(&c->stream, r);
    return RT_OK;
}
