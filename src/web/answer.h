/* answer.h - from a request to its reply: the gate, the routes, the page, conditional requests; the carrier only carries. */
#ifndef RT_WEB_ANSWER_H
#define RT_WEB_ANSWER_H

#include "web/route.h"
#include "web/server.h"

/* What is known before the body has come. */
struct asked_for {
    struct str method, path;
    struct gate_request gate;
    struct str token; /* of the query; empty: none */
    struct str content_length;
};

/* True: the reply is there already, and the body is of no account.  Else *body_most bytes of it will be read, and
 * answer_finish() is called with them. */
bool answer_begin(struct request *q, const struct asked_for *a, const struct route **route, size_t *body_most,
                  struct reply *r);
void answer_finish(struct request *q, const struct route *route, struct reply *r);
/* The body is longer than it may be: RFC 9110, section 15.5.14. */
void answer_too_large(struct request *q, struct reply *r);

/* A reply that tells what is wrong. */
void answer_problem(struct request *q, struct reply *r, unsigned status, const char *says, const char *hint);

#endif
