/* http.h - one request and its reply, apart from the library that carries them (http_carry.c).
 *
 * RFC 9110: methods, conditional requests, HEAD, status codes.  Each request has an arena of its own, freed when the reply is sent. */
#ifndef RT_WEB_HTTP_H
#define RT_WEB_HTTP_H

#include "base/json.h"
#include "base/problem.h"
#include "base/run.h"

struct server;

enum http_method {
    HTTP_GET = 1, /* and HEAD */
    HTTP_POST = 2,
    HTTP_PUT = 4,
    HTTP_DELETE = 8
};

enum { HTTP_PARAMS = 2 };

struct request {
    struct server *server;
    struct arena *arena;
    struct run run; /* over this arena */
    enum http_method method;
    struct str path;                /* decoded once; no query */
    struct str params[HTTP_PARAMS]; /* what stood for {..} in the route's path */
    struct str body;
    struct str if_match, if_none_match;                             /* empty: not sent */
    struct str (*query)(const struct request *q, const char *name); /* decoded; empty: not sent */
    struct str from;                                                /* the address that asks; empty: this machine */
    bool is_beyond;                                                 /* by the door that is open beyond this machine */
    void *carrier;
};

/* Sends more of a reply that has no end yet: fills at most `most` bytes, waits until there are some; 0: it has ended.  Called again
 * and again from a thread of its own. */
typedef size_t http_source(void *user, char *out, size_t most);

struct reply {
    unsigned status;  /* 0: 200 with a body, 204 without */
    const char *type; /* of the body; NULL: JSON */
    struct str body;
    struct str etag;                                                   /* without quotes; empty: none */
    const char *location, *cookie, *allow, *disposition, *retry_after; /* NULL: the field is not sent */
    bool is_sign_in;     /* the one page that sends a form, and says from where */
    bool is_lasting;     /* may be kept by the browser for ever: its name changes with its bytes */
    http_source *source; /* in place of body; the reply is then its user's until `free` */
    void (*source_end)(void *user);
    void *source_user;
};

/* The JSON writer of a reply's body; ended by reply_json_end(). */
struct json_body {
    struct buf text;
    struct json j;
};
struct json *reply_json(struct json_body *b, struct request *q);
enum rt_code reply_json_end(struct json_body *b, struct reply *r, struct rt_problems *p);
/* A value that is JSON already, as it stands. */
void reply_json_made(struct json *j, const char *key, struct str made);

/* The problems as the API tells them: {"problems": [{"code", "says", "hint", "line", "column", "byte", "bytes", "path", "is_warning"}]}; `path` is where in the
 * house, as edits name it; null where it lies in no value. */
void problems_write_json(struct json *j, const char *key, const struct rt_problems *p);

/* "r12", or "r12.9f3", of an If-Match or If-None-Match field's list names revision 12; 0: none, or any ("*"). */
int64_t http_revision(struct str field);
/* Does a list of entity tags hold this one, weakly compared, or "*"?  RFC 9110, sections 8.8.3.2 and 13.1.2. */
bool http_list_has(struct str field, struct str etag);

#endif
