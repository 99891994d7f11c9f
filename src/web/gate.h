/* gate.h - who may ask the server anything.
 *
 * A browser on this machine is let in by a token that works once and becomes a session, a cookie that no other site's page can
 * send; one beyond this machine, by the password (password.h).  What is asked in another host's name (DNS rebinding), or by a page of another site, is refused before anything is read.
 * Safe for use by several threads. */
#ifndef RT_WEB_GATE_H
#define RT_WEB_GATE_H

#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/problem.h"
#include "base/str.h"

enum {
    GATE_BYTES = 16,               /* of randomness: 128 bits */
    GATE_HEX = 2 * GATE_BYTES + 1, /* as text, with its NUL */
    GATE_SESSIONS = 16,            /* browsers at once; the oldest gives way */
    GATE_TOKENS = 4,
    GATE_HOSTS = 24
};

#define GATE_COOKIE "rooftree_session"

struct gate {
    pthread_mutex_t lock;
    char tokens[GATE_TOKENS][GATE_HEX];     /* not used yet; empty: none */
    char sessions[GATE_SESSIONS][GATE_HEX]; /* empty: none */
    uint32_t next_token, next_session;
    struct gate_host {
        char name[280]; /* "127.0.0.1:4321": what a Host field may say */
        bool is_beyond; /* of the door that is open beyond this machine */
    } hosts[GATE_HOSTS];
    uint32_t n_hosts;
};

/* What a request says of itself; empty: the field was not sent. */
struct gate_request {
    struct str host;    /* Host (RFC 9110, section 7.2) */
    struct str origin;  /* Origin (RFC 6454, section 7) */
    struct str site;    /* Sec-Fetch-Site (W3C Fetch Metadata) */
    struct str session; /* the cookie's value */
    bool is_safe;       /* GET or HEAD (RFC 9110, section 9.2.1) */
    bool is_beyond;     /* it came by the door that is open beyond this machine */
};

enum gate_answer {
    GATE_OPEN,
    GATE_WRONG_HOST, /* 421, RFC 9110 section 15.5.20 */
    GATE_CROSS_SITE, /* 403 */
    GATE_NO_SESSION, /* 401: it came from the right place, but nobody let it in */
};

/* Errors: RT_MISSING (the kernel gives no random bytes). */
RT_MUST_CHECK enum rt_code gate_init(struct gate *g, struct rt_problems *p);
void gate_end(struct gate *g);
/* Lets requests in that name this host, by the door it is of; at most GATE_HOSTS. */
void gate_allow_host(struct gate *g, const char *host, uint16_t port);
void gate_allow_beyond(struct gate *g, const char *host, uint16_t port);

/* A new token, which opens one session; written to out.  False: no random bytes. */
bool gate_new_token(struct gate *g, char out[GATE_HEX]);
/* Spends the token; out: the session it opened.  False: there is no such token, or it was spent. */
bool gate_spend_token(struct gate *g, struct str token, char out[GATE_HEX]);
/* A session for whoever knew the password.  False: no random bytes. */
bool gate_new_session(struct gate *g, char out[GATE_HEX]);

enum gate_answer gate_ask(struct gate *g, const struct gate_request *q);

/* The value of a cookie in a Cookie field (RFC 6265, section 4.2.1); empty: it is not there. */
struct str gate_cookie(struct str field, const char *name);

#endif
