#include "reach/rehearse_stage.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/netlink.h>
#include <net/if.h>
#include <sched.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "reach/rehearse_netlink.h"

static const char OWN_NAMESPACE[] = "/proc/self/ns/net";

/* ---- out of the machine's own network ---- */

static int write_file(const char *path, const char *text)
{
    const int fd = open(path, O_WRONLY | O_CLOEXEC);
    if (fd < 0)
        return errno;
    const ssize_t n = write(fd, text, strlen(text));
    const int error = n < 0 ? errno : 0;
    close(fd);
    return error;
}

/* A setting of the system as a number; -1 where there is none. */
static long setting(const char *path)
{
    char text[32];
    const int fd = open(path, O_RDONLY | O_CLOEXEC);
    const ssize_t n = fd < 0 ? -1 : read(fd, text, sizeof text - 1);
    if (fd >= 0)
        close(fd);
    if (n <= 0)
        return -1;
    text[n] = '\0';
    return strtol(text, NULL, 10);
}

/* Says which door is shut. */
static enum rt_code forbidden(int error, struct rt_problems *p)
{
    if (setting("/proc/sys/user/max_user_namespaces") == 0)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "set user.max_user_namespaces above 0, or run as root",
                       "this system allows no user namespaces (user.max_user_namespaces is 0)");
    if (setting("/proc/sys/user/max_net_namespaces") == 0)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "set user.max_net_namespaces above 0",
                       "this system allows no network namespaces (user.max_net_namespaces is 0)");
    if (setting("/proc/sys/kernel/unprivileged_userns_clone") == 0)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "set kernel.unprivileged_userns_clone to 1, or run as root",
                       "this system keeps user namespaces for root (kernel.unprivileged_userns_clone is 0)");
    if (setting("/proc/sys/kernel/apparmor_restrict_unprivileged_userns") > 0)
        return rt_fail(p, RT_MISSING, RT_NOWHERE,
                       "set kernel.apparmor_restrict_unprivileged_userns to 0, or run as root",
                       "this system keeps user namespaces for root "
                       "(kernel.apparmor_restrict_unprivileged_userns is set)");
    return rt_fail(p, RT_MISSING, RT_NOWHERE, "run on a kernel or in a container that allows namespaces",
                   "the kernel gives no network namespace of its own to this process: %s",
                   error == EINVAL ? "it was built without them" : strerror(error));
}

enum rt_code stage_leave_host(struct rt_problems *p)
{
    const long uid = (long)geteuid(), gid = (long)getegid();
    if (unshare(CLONE_NEWUSER | CLONE_NEWNET) == 0) {
        char map[64];
        (void)write_file("/proc/self/setgroups",
                         "deny"); /* asked for before the map of groups, where there is such a file */
        snprintf(map, sizeof map, "0 %ld 1", uid);
        int error = write_file("/proc/self/uid_map", map);
        snprintf(map, sizeof map, "0 %ld 1", gid);
        if (error == 0)
            error = write_file("/proc/self/gid_map", map);
        return error ? forbidden(error, p) : RT_OK;
    }
    const int error = errno;
    /* Root of a container without user namespaces may still have network namespaces. */
    if (uid == 0 && unshare(CLONE_NEWNET) == 0)
        return RT_OK;
    return forbidden(error, p);
}

/* ---- putting it up ---- */

static enum rt_code no_link(const char *kind, int error, struct rt_problems *p)
{
    return rt_fail(p, RT_MISSING, RT_NOWHERE, "load or build the kernel module of that name",
                   "the kernel makes no interface of the kind `%s` here: %s", kind, strerror(error));
}

/* Settings of a new namespace, read before there are any interfaces.  A kernel without a setting has nothing to be set;
 * one that has it and refuses would spoil the rehearsal. */
struct set {
    const char *path, *value;
    bool for_gateway, for_nodes, is_limit;
};

static const struct set SETTINGS[] = {
    /* Addresses are known to be free: no waiting for others to object (RFC 4862, section 5.4). */
    { "ipv6/conf/all/accept_dad", "0", true, true, false },
    { "ipv6/conf/default/accept_dad", "0", true, true, false },
    { "ipv6/conf/all/accept_ra", "0", true, true, false },
    { "ipv6/conf/default/accept_ra", "0", true, true, false },
    { "ipv6/conf/all/disable_ipv6", "0", true, true, false },
    { "ipv6/conf/default/disable_ipv6", "0", true, true, false },
    { "ipv4/conf/all/rp_filter", "0", true, true, false }, /* the rules must see forged senders themselves */
    { "ipv4/conf/default/rp_filter", "0", true, true, false },
    { "ipv4/conf/all/send_redirects", "0", true, false, false },
    { "ipv4/conf/default/send_redirects", "0", true, false, false },
    { "ipv4/ip_forward", "1", true, false, false },
    { "ipv6/conf/all/forwarding", "1", true, false, false },
    { "ipv4/icmp_ratelimit", "0", true, true, true },
    { "ipv6/icmp/ratelimit", "0", true, true, true },
    { "ipv4/icmp_msgs_per_sec", "1000000", true, true, true },
    { "ipv4/icmp_msgs_burst", "1000000", true, true, true },
    /* Talk inside a segment stays on its bridge, as in a switch. */
    { "bridge/bridge-nf-call-iptables", "0", true, false, false },
    { "bridge/bridge-nf-call-ip6tables", "0", true, false, false },
    { "bridge/bridge-nf-call-arptables", "0", true, false, false },
};

static enum rt_code apply_settings(struct stage *s, bool is_gateway, struct rt_problems *p)
{
    for (size_t i = 0; i < RT_COUNT(SETTINGS); i++) {
        const struct set *set = &SETTINGS[i];
        if (is_gateway ? !set->for_gateway : !set->for_nodes)
            continue;
        char path[96];
        snprintf(path, sizeof path, "/proc/sys/net/%s", set->path);
        const int error = write_file(path, set->value);
        if (error && set->is_limit)
            s->answers_unlimited = false;
        else if (error && error != ENOENT)
            return rt_fail(p, RT_MISSING, RT_NOWHERE, "let /proc/sys/net be written in namespaces",
                           "the setting %s of a network namespace cannot be changed: %s", path, strerror(error));
    }
    return RT_OK;
}

static enum rt_code add_addresses(int fd, uint32_t link, const stage_address_list *list, struct rt_problems *p)
{
    for (uint32_t i = 0; i < list->n; i++) {
        const struct stage_address *at = &list->v[i];
        const int error = netlink_add_address(fd, link, at->family, at->address, at->prefix_len);
        if (error)
            return rt_fail(p, RT_MISSING, RT_NOWHERE, "a kernel with both versions of IP is needed",
                           "an interface takes no %s address here: %s", at->family == FAMILY_IPV4 ? "IPv4" : "IPv6",
                           strerror(error));
    }
    return RT_OK;
}

static enum rt_code add_routes(int fd, uint32_t link, const axis_value next_hop[FAMILY_COUNT], struct rt_problems *p)
{
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        const int error = next_hop[f] ? netlink_add_default_route(fd, link, (enum family)f, next_hop[f]) : 0;
        if (error)
            return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "a namespace takes no route here: %s", strerror(error));
    }
    return RT_OK;
}

static enum rt_code socket_failed(struct rt_problems *p)
{
    return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "no socket to the kernel's routing (rtnetlink): %s",
                   strerror(errno));
}

/* Who has these addresses. */
static enum rt_code add_neighbours(int fd, uint32_t link, const stage_address_list *list, axis_value mac,
                                   struct rt_problems *p)
{
    for (uint32_t i = 0; i < list->n; i++) {
        const int error = netlink_add_neighbour(fd, link, list->v[i].family, list->v[i].address, mac);
        if (error)
            return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "a namespace takes no neighbour here: %s", strerror(error));
    }
    return RT_OK;
}

/* Loopback up, the node's addresses and its way out. */
static enum rt_code furnish_node(struct stage *s, uint32_t node, struct rt_problems *p)
{
    RT_TRY(stage_enter(s, node, p));
    const int fd = netlink_open(NETLINK_ROUTE);
    if (fd < 0)
        return socket_failed(p);
    const struct stage_node *n = &s->plan->nodes.v[node];
    const uint32_t link = if_nametoindex("house");
    (void)netlink_set_up(fd, if_nametoindex("lo"));
    const int error = netlink_set_up(fd, link);
    enum rt_code code = error ? no_link("veth", error, p) : add_addresses(fd, link, &n->addresses, p);
    if (code == RT_OK)
        code = add_routes(fd, link, n->next_hop, p);
    const struct stage_wire *w = &s->plan->wires.v[n->wire];
    if (code == RT_OK)
        code = add_neighbours(fd, link, &w->addresses, w->mac, p);
    for (uint32_t i = 1; code == RT_OK && i < s->plan->nodes.n; i++)
        if (i != node && s->plan->nodes.v[i].wire == n->wire)
            code = add_neighbours(fd, link, &s->plan->nodes.v[i].addresses, s->plan->nodes.v[i].mac, p);
    close(fd);
    return code;
}

static enum rt_code put_up_wires(struct stage *s, int fd, struct rt_problems *p)
{
    for (uint32_t i = 0; i < s->plan->wires.n; i++) {
        const struct stage_wire *w = &s->plan->wires.v[i];
        char name[IF_NAMESIZE];
        snprintf(name, sizeof name, "%.*s", STR_ARG(w->interface));
        const int error = netlink_add_bridge(fd, name, w->mac);
        if (error)
            return no_link("bridge", error, p);
        const uint32_t link = if_nametoindex(name);
        RT_TRY(add_addresses(fd, link, &w->addresses, p));
        if (i == s->plan->internet_wire)
            RT_TRY(add_routes(fd, link, s->plan->next_hop, p));
    }
    return RT_OK;
}

static enum rt_code hang_nodes(struct stage *s, int fd, struct rt_problems *p)
{
    for (uint32_t i = 1; i < s->plan->nodes.n; i++) {
        const struct stage_node *n = &s->plan->nodes.v[i];
        char wire[IF_NAMESIZE], port[IF_NAMESIZE];
        snprintf(wire, sizeof wire, "%.*s", STR_ARG(s->plan->wires.v[n->wire].interface));
        snprintf(port, sizeof port, "port%u", i);
        const int error = netlink_add_pair(fd, port, if_nametoindex(wire), "house", s->ns[i], n->mac);
        if (error)
            return no_link("veth", error, p);
        RT_TRY(add_neighbours(fd, if_nametoindex(wire), &n->addresses, n->mac, p));
    }
    return RT_OK;
}

/* One namespace a node.  The gateway's is the one the process is in already. */
static enum rt_code make_namespaces(struct stage *s, struct rt_problems *p)
{
    for (uint32_t i = 0; i < s->plan->nodes.n; i++) {
        if (i > 0 && unshare(CLONE_NEWNET) != 0)
            return forbidden(errno, p);
        s->ns[i] = open(OWN_NAMESPACE, O_RDONLY | O_CLOEXEC);
        if (s->ns[i] < 0)
            return rt_fail(p, RT_MISSING, RT_NOWHERE, "mount /proc, and allow more open files",
                           "%s cannot be opened: %s", OWN_NAMESPACE, strerror(errno));
        RT_TRY(apply_settings(s, i == STAGE_GATEWAY, p));
    }
    return RT_OK;
}

/* The full path of a program, looked for where system programs are. */
static const char *find_program(struct arena *a, const char *name)
{
    const char *path = getenv("PATH");
    const char *places = arena_printf(a, "%s:/usr/sbin:/sbin:/usr/bin:/bin", path ? path : "");
    while (places && *places) {
        const size_t n = strcspn(places, ":");
        const char *full = n ? arena_printf(a, "%.*s/%s", (int)n, places, name) : NULL;
        if (full && full[0] == '/' && access(full, X_OK) == 0)
            return full;
        places += n + (places[n] == ':');
    }
    return NULL;
}

enum rt_code stage_build(struct arena *a, const struct stage_plan *plan, struct stage *out, struct rt_problems *p)
{
    struct rlimit files;
    if (getrlimit(RLIMIT_NOFILE, &files) == 0) {
        files.rlim_cur = files.rlim_max;
        (void)setrlimit(RLIMIT_NOFILE, &files);
    }
    *out = (struct stage){ .arena = a, .plan = plan, .answers_unlimited = true };
    out->ns = ARENA_ARRAY(a, int, plan->nodes.n);
    if (!out->ns)
        return rt_fail_memory(p);
    out->nft = find_program(a, "nft");
    if (!out->nft)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "install the package nftables",
                       "the program `nft`, which loads the rules, is not on this machine");
    RT_TRY(make_namespaces(out, p));
    RT_TRY(stage_enter(out, STAGE_GATEWAY, p));
    const int fd = netlink_open(NETLINK_ROUTE);
    if (fd < 0)
        return socket_failed(p);
    (void)netlink_set_up(fd, if_nametoindex("lo"));
    enum rt_code code = put_up_wires(out, fd, p);
    if (code == RT_OK)
        code = hang_nodes(out, fd, p);
    close(fd);
    for (uint32_t i = 1; code == RT_OK && i < plan->nodes.n; i++)
        code = furnish_node(out, i, p);
    return code;
}

enum rt_code stage_enter(const struct stage *s, uint32_t node, struct rt_problems *p)
{
    if (setns(s->ns[node], CLONE_NEWNET) != 0)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL,
                       "the kernel does not let the process into its own namespace: %s", strerror(errno));
    return RT_OK;
}

/* ---- rules ---- */

/* Runs `nft -f -` in the gateway's namespace.  Its words, if it has any, land in `words`. */
static int run_nft(const struct stage *s, int rules, int words)
{
    const pid_t parent = getpid();
    const pid_t pid = fork();
    if (pid != 0) {
        int status = -1;
        while (pid > 0 && waitpid(pid, &status, 0) < 0 && errno == EINTR)
            continue;
        return status;
    }
    /* Hours in rules are in UTC whatever the user's clock says. */
    char zone[] = "TZ=UTC0", language[] = "LC_ALL=C", name[] = "nft", option[] = "-f", input[] = "-";
    char *const arguments[] = { name, option, input, NULL };
    char *const environment[] = { zone, language, NULL };
    if (prctl(PR_SET_PDEATHSIG, SIGKILL) != 0 || getppid() != parent ||
        setns(s->ns[STAGE_GATEWAY], CLONE_NEWNET) != 0 || dup2(rules, STDIN_FILENO) < 0 ||
        dup2(words, STDOUT_FILENO) < 0 || dup2(words, STDERR_FILENO) < 0)
        _exit(127);
    execve(s->nft, arguments, environment);
    _exit(127);
}

enum rt_code stage_load(const struct stage *s, struct str rules, bool forget, struct rt_problems *p)
{
    char said[400] = "";
    const int in = memfd_create("rules", MFD_CLOEXEC), words = memfd_create("words", MFD_CLOEXEC);
    int status = -1;
    if (in >= 0 && words >= 0 && write(in, rules.p, rules.n) == (ssize_t)rules.n && lseek(in, 0, SEEK_SET) == 0) {
        status = run_nft(s, in, words);
        const ssize_t n = pread(words, said, sizeof said - 1, 0);
        said[n > 0 ? n : 0] = '\0';
    }
    close(in);
    close(words);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
        return rt_fail(p, RT_MISSING, RT_NOWHERE,
                       "a kernel with nf_tables, connection tracking and translation is needed",
                       "the rules cannot be loaded into the rehearsal's gateway: %s",
                       said[0] ? said : "`nft` did not run to its end");
    if (!forget)
        return RT_OK;
    RT_TRY(stage_enter(s, STAGE_GATEWAY, p));
    const int fd = netlink_open(NETLINK_NETFILTER);
    const int error = fd < 0 ? errno : netlink_forget_conversations(fd);
    if (fd >= 0)
        close(fd);
    if (error)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "load or build the kernel module nf_conntrack_netlink",
                       "the rehearsal's gateway cannot be made to forget conversations: %s", strerror(error));
    return RT_OK;
}
