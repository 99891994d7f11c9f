#include "web/server.h"

#include "base/memory.h"
#include "web/warm.h"

enum { IDLE_S = 300, LOOK_EACH_S = 20 };

/* The browser that is being opened finds the house ready.  A server at rest is small: evaluations of houses that nobody has asked
 * about for a while are given back. */
static void *keep(void *user)
{
    struct server *s = user;
    warm_up(&s->houses);
    memory_give_back();
    while (!jobs_are_ending(&s->jobs)) {
        jobs_rest(&s->jobs, LOOK_EACH_S);
        if (workspaces_forget(&s->houses, IDLE_S))
            memory_give_back();
    }
    return NULL;
}

/* Whoever may come from beyond this machine knows a password. */
static enum rt_code set_password(struct server *s, const struct server_options *options, struct rt_problems *p)
{
    if (!options->listen)
        return RT_OK;
    if (!options->password.n)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "name a file with one, or let one be made",
                       "nothing is listened to beyond this machine without a password");
    s->password = ARENA_NEW(s->arena, struct password);
    if (!s->password)
        return rt_fail_memory(p);
    password_init(s->password);
    return password_set(s->password, options->password, p);
}

static void let_go(struct server *s)
{
    if (s->password)
        password_end(s->password);
    gate_end(&s->gate);
}

static enum rt_code start(struct server *s, const struct server_options *options, struct rt_problems *p)
{
    pthread_mutex_init(&s->one_pdf, NULL);
    jobs_open(&s->jobs);
    enum rt_code code = sites_open(&s->sites, p);
    if (!code)
        code = carrier_start(s, options, &s->carrier, p);
    if (!code && pthread_create(&s->keeper, NULL, keep, s) != 0) {
        carrier_stop(s->carrier);
        code = rt_fail(p, RT_NOMEM, RT_NOWHERE, "close something else", "the system starts no further thread");
    }
    if (code) {
        jobs_close(&s->jobs);
        pthread_mutex_destroy(&s->one_pdf);
        sites_close(&s->sites);
        workspaces_close(&s->houses);
    }
    return code;
}

enum rt_code server_start(const struct run *run, const struct server_options *options, struct server **out,
                          struct rt_problems *p)
{
    struct server *s = ARENA_NEW(run->arena, struct server);
    *out = NULL;
    if (!s)
        return rt_fail_memory(p);
    *s = (struct server){ .arena = run->arena, .port = options->port, .demos = options->demos };
    RT_TRY(page_load(run->arena, options->page, &s->page, p));
    RT_TRY(gate_init(&s->gate, p));
    enum rt_code code = set_password(s, options, p);
    if (!code)
        code = workspaces_open(&s->houses, run, options->path, p);
    if (!code)
        code = start(s, options, p);
    if (code)
        let_go(s);
    else
        *out = s;
    return code;
}

const char *server_link_beyond(struct server *s)
{
    return s->at ? arena_printf(s->arena, "http://%s:%u/", s->at, s->port) : NULL;
}

const char *server_link(struct server *s)
{
    const struct str only =
        s->houses.folder.only; /* a browser keeps what is behind the # when it is sent on to the page */
    char token[GATE_HEX];
    if (!gate_new_token(&s->gate, token))
        return NULL;
    return arena_printf(s->arena, "http://127.0.0.1:%u/?token=%s%s%.*s", s->port, token, only.n ? "#house=" : "",
                        STR_ARG(only));
}

void server_stop(struct server *s)
{
    jobs_stop(&s->jobs); /* so that nobody waits for one */
    workspaces_stop(&s->houses);
    carrier_stop(s->carrier);
    pthread_join(s->keeper, NULL);
    jobs_close(&s->jobs);
    pthread_mutex_destroy(&s->one_pdf);
    sites_close(&s->sites);
    workspaces_close(&s->houses);
    let_go(s);
}
