/* event_stream.h - a reply that goes on: events, the next one made when the one before is sent.
 *
 * Server-sent events: WHATWG HTML, "Server-sent events". */
#ifndef RT_WEB_EVENT_STREAM_H
#define RT_WEB_EVENT_STREAM_H

#include "web/http.h"

/* A comment so that both ends know that the other is there. */
#define EVENT_STILL_THERE STR(": still there\n\n")

struct event_stream {
    /* Waits for the next event and gives its bytes, which stay until it is called again.  False: the stream ends, and
     * `text` is as it was. */
    bool (*next)(void *user, struct str *text);
    void (*end)(void *user); /* NULL: nothing is to be freed */
    void *user;
    struct str text; /* the event that is being sent */
    size_t sent;
};

/* The stream has to live as long as the reply. */
void event_stream_reply(struct event_stream *s, struct reply *r);

#endif
