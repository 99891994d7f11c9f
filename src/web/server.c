#include "web/server.h"

enum { IDLE_S = 300, LOOK_EACH_S = 20 };

/* A server at rest is small: evaluations of houses that nobody has asked about for a while are given back. */
static void *keep(void *user)
{
    struct server *s = user;
    while (!jobs_are_ending(&s->jobs)) {
        jobs_rest(&s->jobs, LOOK_EACH_S);
        workspaces_forget(&s->houses, IDLE_S);
    }
    return NULL;
}

enum rt_code server_start(const struct run *run, const struct server_options *options, struct server **out,
                          struct rt_problems *p)
{
    struct server *s = ARENA_NEW(run->arena, struct server);
    *out = NULL;
    if (!s)
        return rt_fail_memory(p);
    s->arena = run->arena;
    RT_TRY(page_load(run->arena, options->page, &s->page, p));
    RT_TRY(gate_init(&s->gate, p));
    const enum rt_code code = workspaces_open(&s->houses, run->arena, run, options->path, p);
    if (code) {
        gate_end(&s->gate);
        return code;
    }
    jobs_open(&s->jobs);
    s->port = options->port;
    s->carrier = carrier_start(s, &s->port, p);
    if (s->carrier && pthread_create(&s->keeper, NULL, keep, s) != 0) {
        carrier_stop(s->carrier);
        s->carrier = NULL;
        (void)rt_fail(p, RT_NOMEM, RT_NOWHERE, "close something else", "the system starts no further thread");
    }
    if (!s->carrier) {
        jobs_close(&s->jobs);
        workspaces_close(&s->houses);
        gate_end(&s->gate);
        return RT_IO;
    }
    *out = s;
    return RT_OK;
}

const char *server_link(struct server *s)
{
    char token[GATE_HEX];
    return gate_new_token(&s->gate, token) ? arena_printf(s->arena, "http://127.0.0.1:%u/?token=%s", s->port, token)
                                           : NULL;
}

void server_stop(struct server *s)
{
    jobs_stop(&s->jobs); /* so that nobody waits for one */
    carrier_stop(s->carrier);
    pthread_join(s->keeper, NULL);
    jobs_close(&s->jobs);
    workspaces_close(&s->houses);
    gate_end(&s->gate);
}
