/* server.h - the local server: loopback, one folder, one page of its own.
 *
 * Nothing of it talks to anything but the browser that was let in.  Beyond this machine it listens only if an address is given, and
 * then lets in whoever knows the password; nothing of that is encrypted. */
#ifndef RT_WEB_SERVER_H
#define RT_WEB_SERVER_H

#include <stdatomic.h>

#include "web/gate.h"
#include "web/jobs.h"
#include "web/page.h"
#include "web/password.h"
#include "web/site.h"
#include "web/workspace.h"

struct server_options {
    const char *path;  /* a folder of houses, or one house file */
    const char *page;  /* folder of the page's files */
    const char *demos; /* folder of what comes with the program (demos.h); NULL: nothing does */
    uint16_t port;     /* 0: any that is free */
    /* Beyond this machine: an address of it, in figures; NULL: nowhere.  The password is a must then. */
    const char *listen;
    struct str password;
    const char *names; /* by which others call this machine, parted by commas; NULL: by its address alone */
};

struct server {
    struct arena *arena;
    struct gate gate;
    struct workspaces houses;
    struct jobs jobs;
    struct sites sites;
    struct page page;
    const char *demos;       /* demos.h */
    pthread_mutex_t one_pdf; /* so that programs which draw PDFs do not crowd the machine */
    struct carrier *carrier;
    uint16_t port;
    const char *at;            /* the address listened at beyond this machine, as a link has it; NULL: none */
    struct password *password; /* NULL: nobody beyond this machine gets in */
    pthread_t keeper;          /* forgets what nobody asks for */
};

/* Starts to listen on 127.0.0.1; *out lives in run->arena.  Errors: RT_IO (the port is taken, the address is not of this machine),
 * RT_USAGE (no address to listen at, no password for it, no name), those of workspaces_open(),
 * page_load(), gate_init(). */
RT_MUST_CHECK enum rt_code server_start(const struct run *run, const struct server_options *options,
                                        struct server **out, struct rt_problems *p);
/* The link that lets one browser in, once, to the one house that is served or the list of all.  NULL: the arena's ceiling, or no random bytes. */
const char *server_link(struct server *s);
/* The link for browsers beyond this machine, without a token; NULL: there is none, or the arena's ceiling. */
const char *server_link_beyond(struct server *s);
/* Lets requests under way end, then stops. */
void server_stop(struct server *s);

/* ---- carrier.c: the HTTP library ---- */
/* Fills s->port, s->at and the gate's hosts. */
RT_MUST_CHECK enum rt_code carrier_start(struct server *s, const struct server_options *options, struct carrier **out,
                                         struct rt_problems *p);
void carrier_stop(struct carrier *c);

#endif
