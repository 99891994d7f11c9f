/* Carries requests and replies over HTTP with libmicrohttpd: a thread for each connection, limits on sizes, times and numbers. */
#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <string.h>

#include "web/answer.h"

enum {
    CONNECTIONS_MOST = 320,
    SECONDS_IDLE = 15,
    HEADERS_MOST = 32 * 1024, /* line and fields of a request */
    STACK_BYTES = 8 * 1024 * 1024,
    REQUEST_MB = 256,
    SOURCE_BLOCK = 16 * 1024
};

struct carrier {
    struct server *server;
    struct MHD_Daemon *daemon;
};

/* One request under way. */
struct exchange {
    struct arena *arena;
    struct MHD_Connection *connection;
    struct request q;
    const struct route *route;
    size_t body_most;
    struct buf body;
    bool is_too_large;
    struct reply reply;
};

static struct str text_of(const char *c) { return c ? str_from(c) : (struct str){ 0 }; }

static struct str field(struct MHD_Connection *c, const char *name)
{
    return text_of(MHD_lookup_connection_value(c, MHD_HEADER_KIND, name));
}

static struct str query_of(const struct request *q, const char *name)
{
    return text_of(MHD_lookup_connection_value(q->carrier, MHD_GET_ARGUMENT_KIND, name));
}

/* ---- replies ---- */

/* Scripts, styles, pictures and connections of our own alone; nobody frames the page, and it sends nobody anywhere. */
static const char CONTENT_POLICY[] =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; connect-src "
    "'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

static void add_fields(struct MHD_Response *m, const struct reply *r)
{
    const struct {
        const char *name, *value;
    } FIELDS[] = {
        { "Content-Security-Policy", CONTENT_POLICY },
        { "X-Content-Type-Options", "nosniff" },
        { "Referrer-Policy", "no-referrer" },
        { "Cross-Origin-Opener-Policy", "same-origin" },
        { "Cross-Origin-Resource-Policy", "same-origin" },
        { "Permissions-Policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()" },
        { "Accept-Ranges", "none" },
        { "Cache-Control", r->is_lasting ? "private, max-age=31536000, immutable"
                           : r->etag.n   ? "private, no-cache"
                                         : "no-store" },
        { "Content-Type", r->body.n || r->source ? (r->type ? r->type : "application/json") : NULL },
        { "Location", r->location },
        { "Set-Cookie", r->cookie },
        { "Allow", r->allow },
        { "Content-Disposition", r->disposition },
        { "Retry-After", r->retry_after },
    };
    for (size_t i = 0; i < RT_COUNT(FIELDS); i++)
        if (FIELDS[i].value)
            (void)MHD_add_response_header(m, FIELDS[i].name, FIELDS[i].value);
    if (r->etag.n) {
        char quoted[80];
        snprintf(quoted, sizeof quoted, "\"%.*s\"", STR_ARG(r->etag));
        (void)MHD_add_response_header(m, "ETag", quoted);
    }
}

static ssize_t pull(void *user, uint64_t at, char *out, size_t most)
{
    const struct reply *r = &((struct exchange *)user)->reply;
    (void)at;
    const size_t n = r->source(r->source_user, out, most);
    return n ? (ssize_t)n : MHD_CONTENT_READER_END_OF_STREAM;
}

static enum MHD_Result send_reply(struct exchange *x)
{
    const struct reply *r = &x->reply;
    const unsigned status = r->status ? r->status : r->body.n || r->source ? 200 : 204;
    union { /* the library takes bytes it does not change as if it might */
        const char *given;
        void *taken;
    } bytes = { .given = r->body.n ? r->body.p : "" };
    struct MHD_Response *m = r->source
                                 ? MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, SOURCE_BLOCK, pull, x, NULL)
                                 : MHD_create_response_from_buffer(r->body.n, bytes.taken, MHD_RESPMEM_PERSISTENT);
    if (!m)
        return MHD_NO;
    add_fields(m, r);
    const enum MHD_Result sent = MHD_queue_response(x->connection, status, m);
    MHD_destroy_response(m);
    return sent;
}

/* ---- requests ---- */

static struct exchange *exchange_new(struct carrier *c, struct MHD_Connection *connection, const char *path)
{
    struct arena *a = arena_new((size_t)REQUEST_MB << 20);
    struct exchange *x = a ? ARENA_NEW(a, struct exchange) : NULL;
    if (!x) {
        arena_free(a);
        return NULL;
    }
    *x = (struct exchange){ .arena = a, .connection = connection, .body = { .arena = a } };
    x->q = (struct request){ .server = c->server,
                             .arena = a,
                             .run = c->server->houses.run,
                             .path = text_of(path),
                             .if_match = field(connection, "If-Match"),
                             .if_none_match = field(connection, "If-None-Match"),
                             .query = query_of,
                             .carrier = connection };
    x->q.run.arena = a;
    return x;
}

static enum MHD_Result begin(struct carrier *c, struct MHD_Connection *connection, const char *url, const char *method,
                             void **kept)
{
    struct exchange *x = exchange_new(c, connection, url);
    if (!x)
        return MHD_NO;
    *kept = x;
    const bool is_safe = strcmp(method, "GET") == 0 || strcmp(method, "HEAD") == 0;
    const struct asked_for a = { .method = str_from(method),
                                 .path = x->q.path,
                                 .gate = { .host = field(connection, "Host"),
                                           .origin = field(connection, "Origin"),
                                           .site = field(connection, "Sec-Fetch-Site"),
                                           .session = gate_cookie(field(connection, "Cookie"), GATE_COOKIE),
                                           .is_safe = is_safe },
                                 .token = query_of(&x->q, "token"),
                                 .content_length = field(connection, "Content-Length") };
    return answer_begin(&x->q, &a, &x->route, &x->body_most, &x->reply) ? send_reply(x) : MHD_YES;
}

static enum MHD_Result take_body(struct exchange *x, const char *bytes, size_t *n)
{
    x->is_too_large |= x->body.n + *n > x->body_most;
    if (!x->is_too_large)
        buf_add(&x->body, bytes, *n);
    *n = 0;
    return MHD_YES;
}

static enum MHD_Result on_request(void *user, struct MHD_Connection *connection, const char *url, const char *method,
                                  const char *version, const char *bytes, size_t *n, void **kept)
{
    struct exchange *x = *kept;
    (void)version;
    if (!x)
        return begin(user, connection, url, method, kept);
    if (*n)
        return take_body(x, bytes, n);
    x->q.body = buf_done(&x->body);
    if (x->is_too_large)
        answer_too_large(&x->q, &x->reply);
    else if (x->body.failed)
        answer_problem(&x->q, &x->reply, 500, "there is no memory left", NULL);
    else
        answer_finish(&x->q, x->route, &x->reply);
    return send_reply(x);
}

static void on_end(void *user, struct MHD_Connection *connection, void **kept, enum MHD_RequestTerminationCode how)
{
    struct exchange *x = *kept;
    (void)user;
    (void)connection;
    (void)how;
    if (!x)
        return;
    if (x->reply.source_end)
        x->reply.source_end(x->reply.source_user);
    arena_free(x->arena);
    *kept = NULL;
}

/* ---- listening ---- */

struct carrier *carrier_start(struct server *s, uint16_t *port, struct rt_problems *p)
{
    struct carrier *c = ARENA_NEW(s->arena, struct carrier);
    struct sockaddr_in at = { .sin_family = AF_INET, .sin_port = htons(*port), .sin_addr = { htonl(INADDR_LOOPBACK) } };
    if (!c) {
        (void)rt_fail_memory(p);
        return NULL;
    }
    c->server = s;
    c->daemon = MHD_start_daemon(MHD_USE_THREAD_PER_CONNECTION | MHD_USE_POLL_INTERNAL_THREAD, 0, NULL, NULL,
                                 on_request, c, MHD_OPTION_SOCK_ADDR, (struct sockaddr *)&at,
                                 MHD_OPTION_NOTIFY_COMPLETED, on_end, c, MHD_OPTION_CONNECTION_LIMIT,
                                 (unsigned)CONNECTIONS_MOST, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)SECONDS_IDLE,
                                 MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEADERS_MOST, MHD_OPTION_THREAD_STACK_SIZE,
                                 (size_t)STACK_BYTES, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
    const union MHD_DaemonInfo *info = c->daemon ? MHD_get_daemon_info(c->daemon, MHD_DAEMON_INFO_BIND_PORT) : NULL;
    if (!info) {
        (void)rt_fail(p, RT_IO, RT_NOWHERE, "take another port, or none for any that is free",
                      "nothing can be listened to at port %u: %s", *port, strerror(errno));
        return NULL;
    }
    *port = info->port;
    gate_allow_host(&s->gate, "127.0.0.1", *port);
    gate_allow_host(&s->gate, "localhost", *port);
    return c;
}

void carrier_stop(struct carrier *c) { MHD_stop_daemon(c->daemon); }
