#include "web/server.h"

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
    RT_TRY(workspaces_open(&s->houses, run->arena, run, options->path, p));
    s->port = options->port;
    s->carrier = carrier_start(s, &s->port, p);
    if (!s->carrier) {
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
    carrier_stop(s->carrier);
    workspaces_close(&s->houses);
    gate_end(&s->gate);
}
