#include "web_kit.h"

#include <ftw.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"

enum { QUERIES = 12 };

/* What stands behind the question mark, parted. */
struct query {
    struct str name[QUERIES], value[QUERIES];
    uint32_t n;
};

static struct str query_of(const struct request *q, const char *name)
{
    const struct query *all = q->carrier;
    for (uint32_t i = 0; i < all->n; i++)
        if (str_is(all->name[i], name))
            return all->value[i];
    return (struct str){ 0 };
}

static struct str up_to(const char *from, const char *ends, const char **after)
{
    const size_t n = strcspn(from, ends);
    *after = from + n + (from[n] != '\0');
    return (struct str){ from, n };
}

static void part(struct query *all, const char *from)
{
    while (*from && all->n < QUERIES) {
        all->name[all->n] = up_to(from, "=&", &from);
        if (from[-1] == '=')
            all->value[all->n] = up_to(from, "&", &from);
        all->n++;
    }
}

struct reply web_ask_in(struct web_kit *k, struct arena *arena, struct asked_web a)
{
    struct query *query = ARENA_NEW(arena, struct query);
    const char *rest;
    const struct str path = up_to(a.target, "?", &rest);
    struct request *q = ARENA_NEW(arena, struct request);
    *q = (struct request){ .server = &k->server,
                           .arena = arena,
                           .run = k->server.houses.run,
                           .path = path,
                           .body = a.body ? str_from(a.body) : a.bytes,
                           .if_match = a.if_match ? str_from(a.if_match) : (struct str){ 0 },
                           .if_none_match = a.if_none_match ? str_from(a.if_none_match) : (struct str){ 0 },
                           .query = query_of,
                           .carrier = query };
    q->run.arena = arena;
    part(query, rest);
    const struct asked_for asked = { .method = str_from(a.method),
                                     .path = path,
                                     .gate = { .host = STR("127.0.0.1:4000"),
                                               .origin = STR("http://127.0.0.1:4000"),
                                               .session = str_from(k->server.gate.sessions[0]),
                                               .is_safe = strcmp(a.method, "GET") == 0 } };
    const struct route *route;
    size_t most;
    struct reply r = { 0 };
    if (!answer_begin(q, &asked, &route, &most, &r))
        answer_finish(q, route, &r);
    if (!r.status)
        r.status = r.body.n || r.source ? 200 : 204;
    return r;
}

struct reply web_ask(struct web_kit *k, struct asked_web a) { return web_ask_in(k, k->asked, a); }

struct reply web_get(struct web_kit *k, const char *target)
{
    return web_ask(k, (struct asked_web){ .method = "GET", .target = target });
}

/* ---- the folder ---- */

struct str web_file(struct web_kit *k, const char *name)
{
    struct str bytes = { 0 };
    CHECK_OK(&k->c, file_read(k->c.run.arena, arena_printf(k->c.run.arena, "%s/%s", k->folder, name), 1 << 24, &bytes,
                              &k->c.problems));
    return bytes;
}

void web_write(struct web_kit *k, const char *name, struct str bytes)
{
    CHECK_OK(&k->c, file_write(arena_printf(k->c.run.arena, "%s/%s", k->folder, name), bytes, 0644, &k->c.problems));
}

static void copy(struct web_kit *k, const char *from, const char *to)
{
    struct str bytes = { 0 };
    CHECK_OK(&k->c, file_read(k->c.run.arena, check_path(&k->c, from), 1 << 24, &bytes, &k->c.problems));
    web_write(k, to, bytes);
}

void web_kit_begin(struct web_kit *k, const char *const *houses)
{
    char token[GATE_HEX], session[GATE_HEX];
    memset(k, 0, sizeof *k);
    k->c = check_run_begin();
    snprintf(k->folder, sizeof k->folder, "/tmp/rooftree-web-XXXXXX");
    CHECK("a folder", mkdtemp(k->folder) != NULL);
    struct arena *a = k->c.run.arena;
    CHECK_OK(&k->c, file_make_folder(arena_printf(a, "%s/parts", k->folder), &k->c.problems));
    CHECK_OK(&k->c, file_make_folder(arena_printf(a, "%s/houses", k->folder), &k->c.problems));
    copy(k, "parts/demo.parts.yaml", "parts/demo.parts.yaml");
    copy(k, "parts/demo_eur.parts.yaml", "parts/demo_eur.parts.yaml");
    for (; houses && *houses; houses++)
        copy(k, arena_printf(a, "houses/%s.house.yaml", *houses), arena_printf(a, "houses/%s.house.yaml", *houses));
    k->server.arena = a;
    k->asked = arena_new((size_t)1 << 30);
    CHECK("memory", k->asked != NULL);
    pthread_mutex_init(&k->server.one_pdf, NULL);
    jobs_open(&k->server.jobs);
    CHECK_OK(&k->c, sites_open(&k->server.sites, &k->c.problems));
    CHECK_OK(&k->c, gate_init(&k->server.gate, &k->c.problems));
    gate_allow_host(&k->server.gate, "127.0.0.1", 4000);
    CHECK("let in",
          gate_new_token(&k->server.gate, token) && gate_spend_token(&k->server.gate, str_from(token), session));
    CHECK_OK(&k->c,
             workspaces_open(&k->server.houses, &k->c.run, arena_printf(a, "%s/houses", k->folder), &k->c.problems));
}

static int remove_one(const char *path, const struct stat *st, int kind, struct FTW *at)
{
    (void)st;
    (void)kind;
    (void)at;
    return remove(path);
}

void web_kit_end(struct web_kit *k)
{
    jobs_close(&k->server.jobs);
    pthread_mutex_destroy(&k->server.one_pdf);
    sites_close(&k->server.sites);
    workspaces_close(&k->server.houses);
    gate_end(&k->server.gate);
    arena_free(k->asked);
    nftw(k->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    check_run_end(&k->c);
}
