/* Events sent piece by piece, as much as the other side takes. */
#include "web/event_stream.h"

#include <string.h>

static size_t pull(void *user, char *out, size_t most)
{
    struct event_stream *s = user;
    if (s->sent == s->text.n) {
        s->text = (struct str){ 0 };
        s->sent = 0;
        if (!s->next(s->user, &s->text))
            return 0;
    }
    const size_t left = s->text.n - s->sent, n = left < most ? left : most;
    memcpy(out, s->text.p + s->sent, n);
    s->sent += n;
    return n;
}

static void end(void *user)
{
    const struct event_stream *s = user;
    if (s->end)
        s->end(s->user);
}

void event_stream_reply(struct event_stream *s, struct reply *r)
{
    *r = (struct reply){
        .status = 200, .type = "text/event-stream", .source = pull, .source_end = end, .source_user = s
    };
}
