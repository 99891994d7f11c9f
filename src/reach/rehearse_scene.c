#include "reach/rehearse_scene.h"

#include <errno.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "reach/rehearse_packet.h"

/* Opening takes a fraction of a second, more on a busy machine: each attempt leaves more.  Nothing may be in flight at the change,
 * and silence is believed after a while. */
enum { ATTEMPTS = 4, AHEAD_S = 2, QUIET_OPEN_MS = 60, QUIET_AFTER_MS = 400, EVENTS = 64, BACKLOG = 256 };
static const double MARGIN_S = 0.15;

enum step { STEP_OPEN, STEP_BEFORE, STEP_AFTER };

/* Where conversations arrive: a listening TCP socket, or a UDP socket that serves all of its streams. */
struct port {
    uint32_t node;
    enum family family;
    enum ip_protocol protocol;
    uint16_t port;
    int fd;
};

/* One conversation's two ends. */
struct call {
    int client, server;           /* -1: not there; UDP: the port's socket */
    struct sockaddr_storage peer; /* UDP: who the server sees */
    socklen_t n_peer;
    uint8_t control[64]; /* UDP: where the server was asked, as recvmsg(2) told */
    size_t n_control;
};

struct theatre {
    const struct run *run;
    const struct stage *stage;
    const struct scene *scene;
    struct rt_problems *p;
    int epoll;
    VEC(struct port) ports;
    struct call *calls;
    VEC(int) accepted;
    enum step step;
    uint32_t round;
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void wait_until(double when_s)
{
    for (double left = when_s - now_s(); left > 0.0; left = when_s - now_s()) {
        const struct timespec t = { (time_t)left, (long)((left - (double)(time_t)left) * 1e9) };
        nanosleep(&t, NULL);
    }
}

/* ---- opening ---- */

static void watch(struct theatre *t, int fd)
{
    struct epoll_event event = { .events = EPOLLIN, .data.fd = fd };
    (void)epoll_ctl(t->epoll, EPOLL_CTL_ADD, fd, &event);
}

static int make_socket(enum family family, enum ip_protocol protocol)
{
    const int on = 1, fd = socket(family == FAMILY_IPV4 ? AF_INET : AF_INET6,
                                  (protocol == IP_TCP ? SOCK_STREAM : SOCK_DGRAM) | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    const struct linger at_once = { .l_onoff = 1, .l_linger = 0 };
    if (fd < 0)
        return fd;
    (void)setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    (void)setsockopt(fd, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    if (family == FAMILY_IPV6)
        (void)setsockopt(fd, IPPROTO_IPV6, IPV6_V6ONLY, &on, sizeof on);
    if (protocol == IP_UDP && family == FAMILY_IPV4)
        (void)setsockopt(fd, IPPROTO_IP, IP_PKTINFO, &on, sizeof on);
    else if (protocol == IP_UDP)
        (void)setsockopt(fd, IPPROTO_IPV6, IPV6_RECVPKTINFO, &on, sizeof on);
    return fd;
}

static enum rt_code cannot(struct theatre *t, const char *what)
{
    return rt_fail(t->p, RT_MISSING, RT_NOWHERE, "allow more open files",
                   "a conversation cannot be opened in the rehearsal: %s: %s", what, strerror(errno));
}

static struct port *find_port(struct theatre *t, const struct probe *probe)
{
    for (uint32_t i = 0; i < t->ports.n; i++) {
        struct port *at = &t->ports.v[i];
        if (at->node == probe->to && at->family == probe->family && at->protocol == probe->protocol &&
            at->port == probe->port)
            return at;
    }
    return NULL;
}

static enum rt_code open_port(struct theatre *t, const struct probe *probe)
{
    struct port at = { probe->to, probe->family, probe->protocol, probe->port, -1 };
    if (find_port(t, probe))
        return RT_OK;
    RT_TRY(stage_enter(t->stage, probe->to, t->p));
    at.fd = make_socket(at.family, at.protocol);
    if (at.fd < 0 || !VEC_PUSH(t->run->arena, &t->ports, at))
        return cannot(t, "no socket");
    struct sockaddr_storage any;
    const socklen_t n = socket_address(at.family, 0, at.port, &any);
    if (bind(at.fd, (struct sockaddr *)&any, n) != 0 || (at.protocol == IP_TCP && listen(at.fd, BACKLOG) != 0))
        return cannot(t, "nobody can listen");
    watch(t, at.fd);
    return RT_OK;
}

static enum rt_code open_call(struct theatre *t, uint32_t i)
{
    const struct probe *probe = &t->scene->probes[i];
    struct sockaddr_storage from, to;
    const socklen_t n_from = socket_address(probe->family, probe->source, probe->source_port, &from);
    const socklen_t n_to = socket_address(probe->family, probe->destination, probe->port, &to);
    RT_TRY(stage_enter(t->stage, probe->from, t->p));
    const int fd = make_socket(probe->family, probe->protocol);
    if (fd < 0 || bind(fd, (struct sockaddr *)&from, n_from) != 0)
        return cannot(t, "no socket");
    t->calls[i].client = fd;
    if (connect(fd, (struct sockaddr *)&to, n_to) != 0 && errno != EINPROGRESS)
        return cannot(t, "no connection");
    watch(t, fd);
    return RT_OK;
}

/* ---- what comes in ---- */

static void note(struct theatre *t, const struct token *token, bool there)
{
    if (token->round != t->round)
        return; /* of an earlier step, or a repetition by TCP */
    uint8_t bit = 0;
    if (t->step == STEP_BEFORE)
        bit = there ? PASSED_THERE_BEFORE : PASSED_BACK_BEFORE;
    if (t->step == STEP_AFTER)
        bit = there ? PASSED_THERE_AFTER : PASSED_BACK_AFTER;
    t->scene->passed[token->probe] |= bit;
}

/* Reads one message; false: there is none. */
static bool take(struct theatre *t, int fd, struct call *from, struct token *token)
{
    struct iovec io = { token, sizeof *token };
    _Alignas(struct cmsghdr) uint8_t control[sizeof from->control];
    struct msghdr m = { &from->peer, sizeof from->peer, &io, 1, control, sizeof control, 0 };
    const ssize_t n = recvmsg(fd, &m, 0);
    from->n_peer = m.msg_namelen;
    from->n_control = m.msg_controllen;
    memcpy(from->control, control, sizeof control);
    if (n <= 0 || (size_t)n < sizeof *token)
        (void)epoll_ctl(t->epoll, n == 0 || errno != EAGAIN ? EPOLL_CTL_DEL : EPOLL_CTL_MOD, fd,
                        &(struct epoll_event){ .events = EPOLLIN, .data.fd = fd });
    return n == (ssize_t)sizeof *token && token->magic == TOKEN_MAGIC && token->probe < t->scene->n;
}

static void hear(struct theatre *t, int fd)
{
    struct token token;
    struct call from;
    for (uint32_t i = 0; i < t->ports.n; i++) {
        const struct port *at = &t->ports.v[i];
        if (at->fd != fd)
            continue;
        if (at->protocol == IP_TCP) {
            const int taken = accept4(fd, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);
            if (taken >= 0 && VEC_PUSH(t->run->arena, &t->accepted, taken))
                watch(t, taken);
            return;
        }
        while (take(t, fd, &from, &token)) {
            struct call *call = &t->calls[token.probe];
            from.client = call->client;
            from.server = fd;
            *call = from;
            note(t, &token, true);
        }
        return;
    }
    for (uint32_t i = 0; i < t->scene->n; i++)
        if (t->calls[i].client == fd) {
            while (take(t, fd, &from, &token))
                note(t, &token, false);
            return;
        }
    while (take(t, fd, &from, &token)) { /* an accepted connection */
        t->calls[token.probe].server = fd;
        note(t, &token, true);
    }
}

/* Until nothing has come for a while. */
static void listen_for(struct theatre *t, int quiet_ms)
{
    struct epoll_event events[EVENTS];
    for (int n = 1; n > 0;) {
        n = epoll_wait(t->epoll, events, EVENTS, quiet_ms);
        for (int i = 0; i < n; i++)
            hear(t, events[i].data.fd);
    }
}

/* ---- what goes out ---- */

static void say_there(struct theatre *t)
{
    for (uint32_t i = 0; i < t->scene->n; i++) {
        const struct token token = { TOKEN_MAGIC, t->round, i };
        (void)!send(t->calls[i].client, &token, sizeof token, MSG_NOSIGNAL);
    }
}

/* Datagrams go back from the address to which they were sent. */
static void say_back(struct theatre *t)
{
    for (uint32_t i = 0; i < t->scene->n; i++) {
        struct call *call = &t->calls[i];
        struct token token = { TOKEN_MAGIC, t->round, i };
        struct iovec io = { &token, sizeof token };
        _Alignas(struct cmsghdr) uint8_t control[sizeof call->control];
        const bool udp = t->scene->probes[i].protocol == IP_UDP;
        struct msghdr m = {
            udp ? &call->peer : NULL, udp ? call->n_peer : 0, &io, 1, control, udp ? call->n_control : 0, 0
        };
        memcpy(control, call->control, sizeof control);
        struct cmsghdr *c = udp ? CMSG_FIRSTHDR(&m) : NULL;
        if (c && c->cmsg_level == IPPROTO_IP && c->cmsg_type == IP_PKTINFO) {
            struct in_pktinfo info;
            memcpy(&info, CMSG_DATA(c), sizeof info);
            info.ipi_spec_dst = info.ipi_addr;
            info.ipi_ifindex = 0;
            memcpy(CMSG_DATA(c), &info, sizeof info);
        }
        if (call->server >= 0)
            (void)!sendmsg(call->server, &m, MSG_NOSIGNAL);
    }
}

/* Both directions, answers first: a reset that cuts the one end must not hide what becomes of the other. */
static void exchange(struct theatre *t, enum step step, int quiet_ms)
{
    t->step = step;
    t->round++;
    say_back(t);
    listen_for(t, quiet_ms);
    say_there(t);
    listen_for(t, quiet_ms);
}

/* ---- one attempt ---- */

static enum rt_code open_all(struct theatre *t)
{
    for (uint32_t i = 0; i < t->scene->n; i++)
        t->calls[i] = (struct call){ .client = -1, .server = -1 };
    for (uint32_t i = 0; i < t->scene->n; i++)
        RT_TRY(open_port(t, &t->scene->probes[i]));
    for (uint32_t i = 0; i < t->scene->n; i++) {
        RT_TRY(open_call(t, i));
        listen_for(t, 0);
    }
    t->step = STEP_OPEN;
    listen_for(t, QUIET_OPEN_MS);
    say_there(t);
    listen_for(t, QUIET_OPEN_MS);
    return RT_OK;
}

static void close_all(struct theatre *t)
{
    for (uint32_t i = 0; i < t->scene->n; i++)
        if (t->calls[i].client >= 0)
            close(t->calls[i].client);
    for (uint32_t i = 0; i < t->accepted.n; i++)
        close(t->accepted.v[i]);
    for (uint32_t i = 0; i < t->ports.n; i++)
        close(t->ports.v[i].fd);
    t->accepted.n = 0;
    t->ports.n = 0;
}

static enum rt_code attempt(struct theatre *t, unsigned number, bool *in_time)
{
    const struct scene *scene = t->scene;
    const int64_t change_s = (int64_t)now_s() + AHEAD_S * (number + 1);
    struct buf rules = { .arena = t->run->arena };
    RT_TRY(scene->rules(scene->user, t->run, change_s, &rules, t->p));
    RT_TRY(stage_load(t->stage, buf_done(&rules), true, t->p));
    memset(scene->passed, 0, scene->n);
    enum rt_code code = open_all(t);
    if (code == RT_OK) {
        exchange(t, STEP_BEFORE, QUIET_OPEN_MS);
        *in_time = now_s() < (double)change_s - MARGIN_S;
        if (*in_time) {
            wait_until((double)change_s + MARGIN_S);
            exchange(t, STEP_AFTER, QUIET_AFTER_MS);
            *scene->changed_s = change_s;
        }
    }
    close_all(t);
    return code;
}

static bool as_expected(const struct scene *scene) { return memcmp(scene->passed, scene->expected, scene->n) == 0; }

enum rt_code scene_perform(const struct run *run, const struct stage *s, const struct scene *scene,
                           struct rt_problems *p)
{
    struct theatre t = { .run = run, .stage = s, .scene = scene, .p = p, .epoll = epoll_create1(EPOLL_CLOEXEC) };
    t.calls = ARENA_ARRAY(run->arena, struct call, scene->n);
    if (!t.calls)
        return rt_fail_memory(p);
    if (t.epoll < 0)
        return cannot(&t, "no epoll");
    bool in_time = false;
    for (unsigned i = 0; i < ATTEMPTS && !(in_time && as_expected(scene)); i++)
        RT_TRY(attempt(&t, i, &in_time));
    close(t.epoll);
    if (!*scene->changed_s)
        return rt_fail(p, RT_IO, RT_NOWHERE, "run it again when the machine has less to do",
                       "the machine was too busy to open conversations before the hours changed");
    return RT_OK;
}
