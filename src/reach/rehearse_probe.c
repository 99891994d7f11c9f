#include "reach/rehearse_probe.h"

#include <errno.h>
#include <linux/if_packet.h>
#include <net/ethernet.h>
#include <net/if.h>
#include <netinet/icmp6.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include "reach/rehearse_netlink.h"
#include "reach/rehearse_packet.h"

/* A batch is as large as open files allow: two for each probe (both ends of a connection). */
enum { BATCH_MAX = 6000, BATCH_MIN = 64, FILES_SPARE = 64, PUMP_EVERY = 32, EVENTS = 256, BACKLOG = 4096 };

enum kind { KIND_LISTENER, KIND_ACCEPTED, KIND_RAW, KIND_CLIENT };

/* Somebody who waits for packets: TCP or UDP on a port, or a raw socket for ICMP. */
struct listener {
    uint32_t node;
    enum family family;
    enum ip_protocol protocol;
    uint16_t port;
    int fd;
};

struct client {
    int fd; /* -1: there is none (any more) */
    bool is_connected;
};

struct engine {
    const struct run *run;
    const struct stage *stage;
    const struct probe *probes;
    uint32_t n, round;
    uint8_t *seen;
    struct rt_problems *p;
    int epoll;
    VEC(struct listener) listeners; /* ordered */
    struct client *clients;         /* of each probe; fd -1 outside the batch */
    bool *is_open;                  /* of each file number: an accepted connection */
    uint32_t n_files, n_waiting;
};

/* ---- sockets ---- */

static int family_number(enum family f) { return f == FAMILY_IPV4 ? AF_INET : AF_INET6; }

static void watch(struct engine *e, int fd, enum kind kind, uint32_t i, uint32_t events)
{
    struct epoll_event event = { .events = events, .data.u64 = (uint64_t)kind << 32 | i };
    if (epoll_ctl(e->epoll, EPOLL_CTL_ADD, fd, &event) != 0)
        (void)epoll_ctl(e->epoll, EPOLL_CTL_MOD, fd, &event);
}

/* Closing resets a connection, so that none lingers in the kernel. */
static void set_options(int fd, enum family family, enum ip_protocol protocol)
{
    const int on = 1;
    const struct linger at_once = { .l_onoff = 1, .l_linger = 0 };
    (void)setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    (void)setsockopt(fd, SOL_SOCKET, SO_BROADCAST, &on, sizeof on);
    if (protocol == IP_TCP)
        (void)setsockopt(fd, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    if (family == FAMILY_IPV6)
        (void)setsockopt(fd, IPPROTO_IPV6, IPV6_V6ONLY, &on, sizeof on);
    if (protocol != IP_TCP) {
        const int room = 1 << 20;
        (void)setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &room, sizeof room);
        if (family == FAMILY_IPV4)
            (void)setsockopt(fd, IPPROTO_IP, IP_PKTINFO, &on, sizeof on);
        else
            (void)setsockopt(fd, IPPROTO_IPV6, IPV6_RECVPKTINFO, &on, sizeof on);
    }
}

static int make_socket(enum family family, enum ip_protocol protocol)
{
    const int type = protocol == IP_TCP ? SOCK_STREAM : protocol == IP_UDP ? SOCK_DGRAM : SOCK_RAW;
    const int fd = socket(family_number(family), type | SOCK_NONBLOCK | SOCK_CLOEXEC, (int)protocol);
    if (fd >= 0)
        set_options(fd, family, protocol);
    return fd;
}

/* ---- those who wait ---- */

static int compare_listeners(const void *x, const void *y)
{
    const struct listener *a = x, *b = y;
    const uint64_t ka = (uint64_t)a->node << 32 | (uint64_t)a->family << 24 | (uint64_t)a->protocol << 16 | a->port;
    const uint64_t kb = (uint64_t)b->node << 32 | (uint64_t)b->family << 24 | (uint64_t)b->protocol << 16 | b->port;
    return ka < kb ? -1 : ka > kb;
}

/* Everyone who must listen for the probes of this call, once each. */
static bool list_listeners(struct engine *e, const uint32_t *which, uint32_t n_which)
{
    struct arena *a = e->run->arena;
    for (uint32_t k = 0; k < n_which; k++) {
        const struct probe *probe = &e->probes[which ? which[k] : k];
        const bool has_ports = probe->protocol == IP_TCP || probe->protocol == IP_UDP;
        struct listener l = { probe->to, probe->family, probe->protocol, has_ports ? probe->port : 0, -1 };
        if (!probe->is_closed && !VEC_PUSH(a, &e->listeners, l))
            return false;
        l.node = probe->from; /* the raw socket through which it asks */
        if (!has_ports && !probe->is_forged && !VEC_PUSH(a, &e->listeners, l))
            return false;
    }
    if (e->listeners.n == 0)
        return true; /* nothing but closed ports */
    qsort(e->listeners.v, e->listeners.n, sizeof *e->listeners.v, compare_listeners);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < e->listeners.n; i++)
        if (i == 0 || compare_listeners(&e->listeners.v[i], &e->listeners.v[kept - 1]) != 0)
            e->listeners.v[kept++] = e->listeners.v[i];
    e->listeners.n = kept;
    return true;
}

static struct listener *find_listener(struct engine *e, struct listener key)
{
    return e->listeners.n == 0 ? NULL : bsearch(&key, e->listeners.v, e->listeners.n, sizeof key, compare_listeners);
}

static enum rt_code open_listeners(struct engine *e)
{
    for (uint32_t i = 0; i < e->listeners.n; i++) {
        struct listener *l = &e->listeners.v[i];
        RT_TRY(stage_enter(e->stage, l->node, e->p));
        l->fd = make_socket(l->family, l->protocol);
        struct sockaddr_storage any;
        const socklen_t size = socket_address(l->family, 0, l->port, &any);
        if (l->fd < 0 || ((l->protocol == IP_TCP || l->protocol == IP_UDP) &&
                          (bind(l->fd, (struct sockaddr *)&any, size) != 0 ||
                           (l->protocol == IP_TCP && listen(l->fd, BACKLOG) != 0))))
            return rt_fail(e->p, RT_MISSING, RT_NOWHERE, "allow more open files, and raw sockets in namespaces",
                           "nobody can listen for %s packets in the rehearsal: %s", ip_protocol_name(l->protocol),
                           strerror(errno));
        watch(e, l->fd, l->protocol == IP_TCP || l->protocol == IP_UDP ? KIND_LISTENER : KIND_RAW, i, EPOLLIN);
    }
    return RT_OK;
}

/* The gateway hears packets to a group only on interfaces on which it has joined it. */
static void join_group(struct engine *e, const struct probe *probe)
{
    const bool v4 = probe->family == FAMILY_IPV4;
    if (!(v4 ? probe->destination >> 28 == 0xe : probe->destination >> 120 == 0xff) || probe->protocol != IP_UDP)
        return;
    const struct listener *l =
        find_listener(e, (struct listener){ probe->to, probe->family, probe->protocol, probe->port, -1 });
    char name[IF_NAMESIZE];
    snprintf(name, sizeof name, "%.*s",
             STR_ARG(e->stage->plan->wires.v[e->stage->plan->nodes.v[probe->from].wire].interface));
    struct group_req group = { .gr_interface = if_nametoindex(name) };
    socket_address(probe->family, probe->destination, 0, &group.gr_group);
    if (l) /* joining twice is refused and harmless */
        (void)setsockopt(l->fd, v4 ? IPPROTO_IP : IPPROTO_IPV6, MCAST_JOIN_GROUP, &group, sizeof group);
}

/* ---- what comes in ---- */

static bool is_talk(const struct engine *e, uint32_t probe) { return !e->probes[probe].is_forged; }

static void client_done(struct engine *e, uint32_t probe)
{
    struct client *c = &e->clients[probe];
    if (c->fd < 0)
        return;
    close(c->fd);
    c->fd = -1;
    e->n_waiting--;
}

/* ICMP has no socket of its own to close. */
static void echo_done(struct engine *e, uint32_t probe, uint8_t bits)
{
    if (is_talk(e, probe) && !(e->seen[probe] & (SEEN_ANSWERED | SEEN_REFUSED)) && e->n_waiting > 0)
        e->n_waiting--;
    e->seen[probe] |= bits;
}

static void accept_all(struct engine *e, const struct listener *l)
{
    for (;;) {
        const int fd = accept4(l->fd, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);
        if (fd < 0)
            return;
        if ((uint32_t)fd >= e->n_files) {
            close(fd);
            continue;
        }
        set_options(fd, l->family, IP_TCP);
        e->is_open[fd] = true;
        watch(e, fd, KIND_ACCEPTED, (uint32_t)fd, EPOLLIN);
    }
}

static void serve_accepted(struct engine *e, int fd)
{
    struct token t;
    uint32_t probe;
    const ssize_t n = recv(fd, &t, sizeof t, 0);
    if (n < 0 && errno == EAGAIN)
        return;
    if (n > 0 && token_read((const uint8_t *)&t, (size_t)n, e->round, e->n, &probe)) {
        e->seen[probe] |= SEEN_ARRIVED;
        (void)!send(fd, &t, sizeof t, MSG_NOSIGNAL);
        return;
    }
    e->is_open[fd] = false;
    close(fd);
}

/* Echoes datagrams, from the address to which they were sent. */
static void serve_datagrams(struct engine *e, const struct listener *l)
{
    for (;;) {
        struct token t;
        struct sockaddr_storage peer;
        _Alignas(struct cmsghdr) uint8_t control[128];
        struct iovec io = { &t, sizeof t };
        struct msghdr m = { &peer, sizeof peer, &io, 1, control, sizeof control, 0 };
        const ssize_t n = recvmsg(l->fd, &m, 0);
        uint32_t probe;
        if (n < 0)
            return;
        if (!token_read((const uint8_t *)&t, (size_t)n, e->round, e->n, &probe) || e->probes[probe].to != l->node)
            continue;
        e->seen[probe] |= SEEN_ARRIVED;
        if (!is_talk(e, probe))
            continue;
        struct cmsghdr *c = CMSG_FIRSTHDR(&m);
        if (c && c->cmsg_level == IPPROTO_IP && c->cmsg_type == IP_PKTINFO) {
            struct in_pktinfo info;
            memcpy(&info, CMSG_DATA(c), sizeof info);
            info.ipi_spec_dst = info.ipi_addr;
            info.ipi_ifindex = 0;
            memcpy(CMSG_DATA(c), &info, sizeof info);
        }
        io.iov_len = (size_t)n;
        (void)!sendmsg(l->fd, &m, MSG_NOSIGNAL);
    }
}

static void hear_raw(struct engine *e, const struct listener *l)
{
    for (;;) {
        uint8_t bytes[512];
        uint32_t probe;
        const ssize_t n = recv(l->fd, bytes, sizeof bytes, 0);
        if (n < 0)
            return;
        switch (icmp_read(l->family, bytes, (size_t)n, e->round, e->n, &probe)) {
        case ICMP_SAYS_ASKED:
            if (e->probes[probe].to == l->node)
                e->seen[probe] |= SEEN_ARRIVED;
            break;
        case ICMP_SAYS_ANSWERED:
            if (e->probes[probe].is_forged && e->probes[probe].to == l->node)
                e->seen[probe] |= SEEN_ARRIVED; /* an answer nobody asked for was the probe */
            else if (e->probes[probe].from == l->node)
                echo_done(e, probe, SEEN_ANSWERED);
            break;
        case ICMP_SAYS_REFUSED:
            if (e->probes[probe].from == l->node)
                echo_done(e, probe, SEEN_REFUSED);
            break;
        case ICMP_SAYS_NOTHING:
            break;
        }
    }
}

/* What an error of the sender's socket says.  Where no neighbour answers for the router the sender's own system gives up: in
 * IPv6 it says so with another number than a router that forbids; in IPv4 with the same, but there it cannot happen, since
 * rules of the family inet do not see ARP. */
static uint8_t refusal(const struct probe *probe, int error)
{
    if (probe->is_closed && error == ECONNREFUSED)
        return SEEN_ANSWERED;
    return probe->family == FAMILY_IPV6 && error == EHOSTUNREACH ? 0 : SEEN_REFUSED;
}

static void hear_client(struct engine *e, uint32_t i, uint32_t events)
{
    struct client *c = &e->clients[i];
    struct token t = { TOKEN_MAGIC, e->round, i };
    int error = 0;
    socklen_t size = sizeof error;
    if (c->fd < 0)
        return;
    if (!c->is_connected) {
        (void)getsockopt(c->fd, SOL_SOCKET, SO_ERROR, &error, &size);
        if (error == 0 && (events & EPOLLOUT) && send(c->fd, &t, sizeof t, MSG_NOSIGNAL) == sizeof t) {
            c->is_connected = true;
            watch(e, c->fd, KIND_CLIENT, i, EPOLLIN);
            return;
        }
        e->seen[i] |= refusal(&e->probes[i], error);
        client_done(e, i);
        return;
    }
    const ssize_t n = recv(c->fd, &t, sizeof t, 0);
    if (n < 0 && errno == EAGAIN)
        return;
    e->seen[i] |= n == sizeof t ? SEEN_ANSWERED : refusal(&e->probes[i], n < 0 ? errno : ECONNRESET);
    client_done(e, i);
}

/* Deals with what has come; false: nothing had after wait_ms. */
static bool pump(struct engine *e, int wait_ms)
{
    struct epoll_event events[EVENTS];
    const int n = epoll_wait(e->epoll, events, EVENTS, wait_ms);
    for (int k = 0; k < n; k++) {
        const enum kind kind = (enum kind)(events[k].data.u64 >> 32);
        const uint32_t i = (uint32_t)events[k].data.u64;
        if (kind == KIND_CLIENT)
            hear_client(e, i, events[k].events);
        else if (kind == KIND_RAW)
            hear_raw(e, &e->listeners.v[i]);
        else if (kind == KIND_ACCEPTED && e->is_open[i])
            serve_accepted(e, (int)i);
        else if (kind == KIND_LISTENER && e->listeners.v[i].protocol == IP_TCP)
            accept_all(e, &e->listeners.v[i]);
        else if (kind == KIND_LISTENER)
            serve_datagrams(e, &e->listeners.v[i]);
    }
    return n > 0 || (n < 0 && errno == EINTR);
}

/* ---- what goes out ---- */

/* As a frame: the kernel would give a packet without a source address one. */
static bool send_frame(struct engine *e, const struct probe *probe, const uint8_t *bytes, size_t n)
{
    const struct stage_plan *plan = e->stage->plan;
    const axis_value mac =
        link_destination(probe->family, probe->destination, plan->wires.v[plan->nodes.v[probe->from].wire].mac);
    struct sockaddr_ll to = { .sll_family = AF_PACKET,
                              .sll_protocol = htons(probe->family == FAMILY_IPV4 ? ETH_P_IP : ETH_P_IPV6),
                              .sll_ifindex = (int)if_nametoindex("house"),
                              .sll_halen = ETH_ALEN };
    for (unsigned i = 0; i < ETH_ALEN; i++)
        to.sll_addr[i] = (uint8_t)(mac >> (8 * (ETH_ALEN - 1 - i)));
    const int fd = socket(AF_PACKET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    const bool ok = fd >= 0 && sendto(fd, bytes, n, 0, (struct sockaddr *)&to, sizeof to) == (ssize_t)n;
    if (fd >= 0)
        close(fd);
    return ok;
}

/* As an IP packet that brings its own header (raw(7)), which is quicker: closing a packet socket waits for all processors. */
static bool send_forged(struct engine *e, const struct probe *probe, struct token t)
{
    static const char LINK[] = "house";
    uint8_t bytes[FORGED_MAX];
    const size_t n = forge(probe, t, bytes);
    if (probe->source == 0)
        return send_frame(e, probe, bytes, n);
    struct sockaddr_storage to;
    const socklen_t n_to = socket_address(probe->family, probe->destination, 0, &to);
    const int on = 1, fd = socket(family_number(probe->family), SOCK_RAW | SOCK_CLOEXEC, IPPROTO_RAW);
    const bool ok = fd >= 0 && setsockopt(fd, SOL_SOCKET, SO_BINDTODEVICE, LINK, sizeof LINK) == 0 &&
                    setsockopt(fd, SOL_SOCKET, SO_BROADCAST, &on, sizeof on) == 0 &&
                    sendto(fd, bytes, n, 0, (struct sockaddr *)&to, n_to) == (ssize_t)n;
    if (fd >= 0)
        close(fd);
    return ok;
}

/* Through the node's raw socket, from the probe's source address. */
static bool send_echo(struct engine *e, const struct probe *probe, struct token t)
{
    const struct listener *l =
        find_listener(e, (struct listener){ probe->from, probe->family, probe->protocol, 0, -1 });
    uint8_t bytes[FORGED_MAX], address[16];
    struct sockaddr_storage to;
    _Alignas(struct cmsghdr) uint8_t control[CMSG_SPACE(sizeof(struct in6_pktinfo))] = { 0 };
    struct iovec io = { bytes, echo_request(probe, t, bytes) };
    struct msghdr m = { &to, socket_address(probe->family, probe->destination, 0, &to), &io, 1, control, 0, 0 };
    struct cmsghdr *c = (struct cmsghdr *)control;
    const unsigned n = address_bytes(probe->family, probe->source, address);
    if (probe->family == FAMILY_IPV4) {
        struct in_pktinfo info = { 0 };
        memcpy(&info.ipi_spec_dst, address, n);
        *c = (struct cmsghdr){ CMSG_LEN(sizeof info), IPPROTO_IP, IP_PKTINFO };
        memcpy(CMSG_DATA(c), &info, sizeof info);
        m.msg_controllen = CMSG_SPACE(sizeof info);
    } else {
        struct in6_pktinfo info = { 0 };
        memcpy(&info.ipi6_addr, address, n);
        *c = (struct cmsghdr){ CMSG_LEN(sizeof info), IPPROTO_IPV6, IPV6_PKTINFO };
        memcpy(CMSG_DATA(c), &info, sizeof info);
        m.msg_controllen = CMSG_SPACE(sizeof info);
    }
    return l && sendmsg(l->fd, &m, MSG_NOSIGNAL) == (ssize_t)io.iov_len;
}

/* A socket of the probe's own, connected (UDP: and asked) or about to be. */
static bool send_talk(struct engine *e, const struct probe *probe, struct token t)
{
    struct sockaddr_storage from, to;
    const socklen_t n_from = socket_address(probe->family, probe->source, probe->source_port, &from);
    const socklen_t n_to = socket_address(probe->family, probe->destination, probe->port, &to);
    struct client *c = &e->clients[t.probe];
    c->fd = make_socket(probe->family, probe->protocol);
    if (c->fd < 0)
        return false;
    e->n_waiting++;
    if (bind(c->fd, (struct sockaddr *)&from, n_from) != 0)
        return false;
    const int connected = connect(c->fd, (struct sockaddr *)&to, n_to);
    if (connected != 0 && errno != EINPROGRESS)
        return false;
    c->is_connected = probe->protocol == IP_UDP;
    watch(e, c->fd, KIND_CLIENT, t.probe, c->is_connected ? EPOLLIN : EPOLLOUT);
    return !c->is_connected || send(c->fd, &t, sizeof t, MSG_NOSIGNAL) == sizeof t;
}

static void send_probe(struct engine *e, uint32_t i)
{
    const struct probe *probe = &e->probes[i];
    const struct token t = { TOKEN_MAGIC, e->round, i };
    bool sent;
    if (probe->is_forged) {
        sent = send_forged(e, probe, t);
    } else if (probe->protocol == IP_TCP || probe->protocol == IP_UDP) {
        sent = send_talk(e, probe, t);
    } else {
        e->n_waiting++;
        sent = send_echo(e, probe, t);
    }
    /* A refusal that is already back counts as such, not as a fault. */
    if (!sent && (errno == ECONNREFUSED || errno == EHOSTUNREACH || errno == EACCES))
        e->seen[i] |= refusal(probe, errno);
    else if (!sent)
        e->seen[i] |= SEEN_FAULT;
    if (!sent)
        client_done(e, i);
}

/* ---- batches ---- */

static enum rt_code run_batch(struct engine *e, const uint32_t *which, uint32_t from, uint32_t to, int quiet_ms)
{
    uint32_t node = NO_REF;
    e->n_waiting = 0;
    for (uint32_t k = from; k < to; k++) {
        const uint32_t i = which ? which[k] : k;
        if (e->probes[i].to == STAGE_GATEWAY && e->probes[i].is_forged) {
            RT_TRY(stage_enter(e->stage, STAGE_GATEWAY, e->p));
            join_group(e, &e->probes[i]);
            node = STAGE_GATEWAY;
        }
        if (node != e->probes[i].from)
            RT_TRY(stage_enter(e->stage, e->probes[i].from, e->p));
        node = e->probes[i].from;
        send_probe(e, i);
        if (k % PUMP_EVERY == 0)
            (void)pump(e, 0);
    }
    /* Forged packets are not waited for one by one: the quiet after the batch is theirs. */
    while (pump(e, quiet_ms))
        if (run_is_cancelled(e->run))
            return RT_CANCELLED;
    for (uint32_t k = from; k < to; k++)
        client_done(e, which ? which[k] : k);
    for (uint32_t fd = 0; fd < e->n_files; fd++) {
        if (e->is_open[fd])
            close((int)fd);
        e->is_open[fd] = false;
    }
    return RT_OK;
}

static enum rt_code run_batches(struct engine *e, const uint32_t *which, uint32_t n_which, int quiet_ms)
{
    struct rlimit files;
    uint32_t batch = BATCH_MAX;
    if (getrlimit(RLIMIT_NOFILE, &files) != 0)
        files.rlim_cur = 1024;
    const uint64_t used = (uint64_t)e->listeners.n + e->stage->plan->nodes.n + FILES_SPARE;
    e->n_files = (uint32_t)(files.rlim_cur < (1u << 20) ? files.rlim_cur : 1u << 20);
    if (e->n_files < used + 2 * BATCH_MIN)
        return rt_fail(e->p, RT_MISSING, RT_NOWHERE, "raise the limit of open files (ulimit -Hn)",
                       "the rehearsal needs %llu open files and may have %u",
                       (unsigned long long)(used + 2 * BATCH_MIN), e->n_files);
    if (batch > (e->n_files - used) / 2)
        batch = (uint32_t)((e->n_files - used) / 2);
    e->is_open = ARENA_ARRAY(e->run->arena, bool, e->n_files);
    e->clients = ARENA_ARRAY(e->run->arena, struct client, e->n);
    if (!e->is_open || !e->clients)
        return rt_fail_memory(e->p);
    for (uint32_t i = 0; i < e->n; i++)
        e->clients[i].fd = -1;
    RT_TRY(open_listeners(e));
    for (uint32_t k = 0; k < n_which; k += batch) {
        run_report(e->run, "sending packets", (double)k / (double)n_which);
        RT_TRY(run_batch(e, which, k, n_which - k < batch ? n_which : k + batch, quiet_ms));
    }
    return RT_OK;
}

enum rt_code probes_run(const struct run *run, const struct stage *s, const struct probe *probes, uint32_t n,
                        const uint32_t *which, uint32_t n_which, uint32_t round, int quiet_ms, uint8_t *seen,
                        struct rt_problems *p)
{
    struct engine e = { .run = run, .stage = s, .probes = probes, .n = n, .round = round, .seen = seen, .p = p };
    const struct arena_mark mark = arena_mark(run->arena);
    if (!list_listeners(&e, which, n_which))
        return rt_fail_memory(p);
    e.epoll = epoll_create1(EPOLL_CLOEXEC);
    enum rt_code code = e.epoll < 0 ? rt_fail(p, RT_MISSING, RT_NOWHERE, "allow more open files",
                                              "the kernel gives no epoll: %s", strerror(errno))
                                    : run_batches(&e, which, n_which, quiet_ms);
    for (uint32_t i = 0; i < e.listeners.n; i++)
        if (e.listeners.v[i].fd >= 0)
            close(e.listeners.v[i].fd);
    if (e.epoll >= 0)
        close(e.epoll);
    if (code == RT_OK)
        arena_reset(run->arena, mark);
    return code;
}
