/* Carries requests and replies over HTTP with libmicrohttpd: a thread for each connection, limits on sizes, times and numbers. */
#include <arpa/inet.h>
#include <errno.h>
#include <ifaddrs.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <string.h>

#include "web/answer.h"

enum {
    CONNECTIONS_MOST = 320,
    CONNECTIONS_EACH = 64, /* of one address, beyond this machine */
    SECONDS_IDLE = 15,
    HEADERS_MOST = 32 * 1024, /* line and fields of a request */
    STACK_BYTES = 8 * 1024 * 1024,
    REQUEST_MB = 256,
    SOURCE_BLOCK = 16 * 1024
};

/* Where is listened: on this machine alone, and, if that was asked for, beyond it. */
struct door {
    struct server *server;
    struct MHD_Daemon *daemon; /* NULL: shut */
    bool is_beyond;
};

union listened {
    struct sockaddr any;
    struct sockaddr_in four;
    struct sockaddr_in6 six;
};

struct carrier {
    struct door here, beyond;
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
/* The form where the password is given: no script at all.  A browser names the origin of a form only to those it may refer to. */
static const char SIGN_IN_POLICY[] =
    "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

static void add_fields(struct MHD_Response *m, const struct reply *r)
{
    const struct {
        const char *name, *value;
    } FIELDS[] = {
        { "Content-Security-Policy", r->is_sign_in ? SIGN_IN_POLICY : CONTENT_POLICY },
        { "X-Content-Type-Options", "nosniff" },
        { "Referrer-Policy", r->is_sign_in ? "same-origin" : "no-referrer" },
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
        /* RFC 9110, section 15.5.2: a 401 names a challenge; this one is of our own, for links and passwords are no scheme of HTTP's */
        { "WWW-Authenticate", r->status == 401 ? "Session" : NULL },
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

/* The address that asks, as it is minded when passwords are guessed: of IPv6 the first 64 bits. */
static struct str peer_of(struct arena *a, struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    char text[INET6_ADDRSTRLEN] = "";
    if (info && info->client_addr->sa_family == AF_INET) {
        const struct sockaddr_in *in = (const void *)info->client_addr;
        (void)inet_ntop(AF_INET, &in->sin_addr, text, sizeof text);
    } else if (info && info->client_addr->sa_family == AF_INET6) {
        struct sockaddr_in6 in = *(const struct sockaddr_in6 *)(const void *)info->client_addr;
        memset(in.sin6_addr.s6_addr + 8, 0, 8);
        (void)inet_ntop(AF_INET6, &in.sin6_addr, text, sizeof text);
    }
    return str_dup(a, str_from(text));
}

static struct exchange *exchange_new(struct door *d, struct MHD_Connection *connection, const char *path)
{
    struct arena *a = arena_new((size_t)REQUEST_MB << 20);
    struct exchange *x = a ? ARENA_NEW(a, struct exchange) : NULL;
    if (!x) {
        arena_free(a);
        return NULL;
    }
    *x = (struct exchange){ .arena = a, .connection = connection, .body = { .arena = a } };
    x->q = (struct request){ .server = d->server,
                             .arena = a,
                             .run = d->server->houses.run,
                             .path = text_of(path),
                             .if_match = field(connection, "If-Match"),
                             .if_none_match = field(connection, "If-None-Match"),
                             .query = query_of,
                             .from = d->is_beyond ? peer_of(a, connection) : (struct str){ 0 },
                             .is_beyond = d->is_beyond,
                             .carrier = connection };
    x->q.run.arena = a;
    return x;
}

static enum MHD_Result begin(struct door *d, struct MHD_Connection *connection, const char *url, const char *method,
                             void **kept)
{
    struct exchange *x = exchange_new(d, connection, url);
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
                                           .is_safe = is_safe,
                                           .is_beyond = d->is_beyond },
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

static bool open_door(struct door *d, const struct sockaddr *at)
{
    const unsigned flags = MHD_USE_THREAD_PER_CONNECTION | MHD_USE_POLL_INTERNAL_THREAD |
                           (at->sa_family == AF_INET6 ? (unsigned)MHD_USE_IPv6 : 0U);
    d->daemon = MHD_start_daemon(
        flags, 0, NULL, NULL, on_request, d, MHD_OPTION_SOCK_ADDR, at, MHD_OPTION_NOTIFY_COMPLETED, on_end, d,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MOST, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        d->is_beyond ? (unsigned)CONNECTIONS_EACH : 0U, MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)SECONDS_IDLE,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEADERS_MOST, MHD_OPTION_THREAD_STACK_SIZE, (size_t)STACK_BYTES,
        MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
    return d->daemon != NULL;
}

/* "192.0.2.7, 2001:db8::7": where this machine can be reached. */
static const char *own_addresses(struct arena *a)
{
    struct buf b = { .arena = a };
    struct ifaddrs *all = NULL;
    if (getifaddrs(&all) != 0)
        return "none";
    for (const struct ifaddrs *i = all; i; i = i->ifa_next) {
        char text[INET6_ADDRSTRLEN] = "";
        if (i->ifa_addr && i->ifa_addr->sa_family == AF_INET)
            (void)inet_ntop(AF_INET, &((const struct sockaddr_in *)(const void *)i->ifa_addr)->sin_addr, text,
                            sizeof text);
        else if (i->ifa_addr && i->ifa_addr->sa_family == AF_INET6)
            (void)inet_ntop(AF_INET6, &((const struct sockaddr_in6 *)(const void *)i->ifa_addr)->sin6_addr, text,
                            sizeof text);
        const bool is_beyond =
            strncmp(text, "127.", 4) != 0 && strcmp(text, "::1") != 0 && strncmp(text, "fe80:", 5) != 0;
        if (text[0] && is_beyond)
            buf_printf(&b, "%s%s", b.n ? ", " : "", text);
    }
    freeifaddrs(all);
    const char *made = arena_printf(a, "%.*s", STR_ARG(buf_done(&b)));
    return made && made[0] ? made : "none";
}

/* One address of one network: whoever opens the house to others says to whom. */
static enum rt_code read_address(struct server *s, const char *text, union listened *out, struct rt_problems *p)
{
    const struct in6_addr *six = &out->six.sin6_addr;
    bool is_one = false;
    *out = (union listened){ 0 };
    if (inet_pton(AF_INET, text, &out->four.sin_addr) == 1) {
        const uint32_t host = ntohl(out->four.sin_addr.s_addr);
        out->four.sin_family = AF_INET;
        out->four.sin_port = htons(s->port);
        is_one = host != INADDR_ANY && host != INADDR_BROADCAST && !IN_MULTICAST(host) && host >> 24 != 127;
    } else if (inet_pton(AF_INET6, text, &out->six.sin6_addr) == 1) {
        out->six.sin6_family = AF_INET6;
        out->six.sin6_port = htons(s->port);
        is_one = !IN6_IS_ADDR_UNSPECIFIED(six) && !IN6_IS_ADDR_LOOPBACK(six) && !IN6_IS_ADDR_MULTICAST(six) &&
                 !IN6_IS_ADDR_V4MAPPED(six) && !IN6_IS_ADDR_LINKLOCAL(six);
    }
    return is_one ? RT_OK
                  : rt_fail(p, RT_USAGE, RT_NOWHERE,
                            arena_printf(s->arena, "give the one at which others reach this machine; it has: %s",
                                         own_addresses(s->arena)),
                            "%s is no address to listen at beyond this machine", text);
}

static bool is_host_name(struct str name)
{
    for (size_t i = 0; i < name.n; i++) {
        const char c = name.p[i];
        if (!((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.'))
            return false;
    }
    return name.n > 0 && name.n <= 253; /* RFC 1035, section 2.3.4: 255 octets as sent */
}

/* The address and the names that a Host field may say, as the user parts them by commas. */
static enum rt_code allow_names(struct server *s, const char *names, struct rt_problems *p)
{
    gate_allow_beyond(&s->gate, s->at, s->port);
    for (const char *at = names; at && *at;) {
        const size_t n = strcspn(at, ",");
        const struct str name = { at, n };
        if (!is_host_name(name))
            return rt_fail(p, RT_USAGE, RT_NOWHERE, "give names parted by commas, as in desk.home.arpa,desk",
                           "'%.*s' is no name of a machine", STR_ARG(name));
        if (s->gate.n_hosts == GATE_HOSTS)
            return rt_fail(p, RT_LIMIT, RT_NOWHERE, NULL, "these are too many names");
        const char *kept = arena_printf(s->arena, "%.*s", STR_ARG(name));
        if (!kept)
            return rt_fail_memory(p);
        gate_allow_beyond(&s->gate, kept, s->port);
        at += n + (at[n] == ',');
    }
    return RT_OK;
}

static enum rt_code open_beyond(struct carrier *c, const struct server_options *options, struct rt_problems *p)
{
    struct server *s = c->beyond.server;
    union listened at;
    RT_TRY(read_address(s, options->listen, &at, p));
    s->at = at.any.sa_family == AF_INET6 ? arena_printf(s->arena, "[%s]", options->listen) : options->listen;
    if (!s->at)
        return rt_fail_memory(p);
    RT_TRY(allow_names(s, options->names, p));
    if (open_door(&c->beyond, &at.any))
        return RT_OK;
    return rt_fail(
        p, RT_IO, RT_NOWHERE,
        arena_printf(s->arena, "this machine's addresses: %s; or take another --port", own_addresses(s->arena)),
        "nothing can be listened to at %s, port %u: %s", options->listen, s->port, strerror(errno));
}

enum rt_code carrier_start(struct server *s, const struct server_options *options, struct carrier **out,
                           struct rt_problems *p)
{
    struct carrier *c = ARENA_NEW(s->arena, struct carrier);
    const union listened at = {
        .four = { .sin_family = AF_INET, .sin_port = htons(options->port), .sin_addr = { htonl(INADDR_LOOPBACK) } }
    };
    *out = NULL;
    if (!c)
        return rt_fail_memory(p);
    *c = (struct carrier){ .here = { .server = s }, .beyond = { .server = s, .is_beyond = true } };
    const union MHD_DaemonInfo *info =
        open_door(&c->here, &at.any) ? MHD_get_daemon_info(c->here.daemon, MHD_DAEMON_INFO_BIND_PORT) : NULL;
    if (!info)
        return rt_fail(p, RT_IO, RT_NOWHERE, "take another port, or none for any that is free",
                       "nothing can be listened to at port %u: %s", options->port, strerror(errno));
    s->port = info->port;
    gate_allow_host(&s->gate, "127.0.0.1", s->port);
    gate_allow_host(&s->gate, "localhost", s->port);
    const enum rt_code code = options->listen ? open_beyond(c, options, p) : RT_OK;
    if (code)
        carrier_stop(c);
    else
        *out = c;
    return code;
}

void carrier_stop(struct carrier *c)
{
    if (c->beyond.daemon)
        MHD_stop_daemon(c->beyond.daemon);
    MHD_stop_daemon(c->here.daemon);
}
