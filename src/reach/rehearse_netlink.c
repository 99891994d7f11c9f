#include "reach/rehearse_netlink.h"

#include <errno.h>
#include <linux/if_link.h>
#include <linux/netfilter/nfnetlink.h>
#include <linux/netfilter/nfnetlink_conntrack.h>
#include <linux/rtnetlink.h>
#include <linux/veth.h>
#include <net/if.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { MESSAGE_MAX = 1024, MAC_BYTES = 6 };

/* A message while it is put together. */
struct message {
    _Alignas(struct nlmsghdr) uint8_t bytes[MESSAGE_MAX];
    uint32_t n;
};

unsigned address_bytes(enum family family, axis_value address, uint8_t out[16])
{
    const unsigned n = family == FAMILY_IPV4 ? 4 : 16;
    for (unsigned i = 0; i < n; i++)
        out[i] = (uint8_t)(address >> (8 * (n - 1 - i)));
    return n;
}

axis_value address_from_bytes(const uint8_t *bytes, unsigned n)
{
    axis_value v = 0;
    for (unsigned i = 0; i < n; i++)
        v = v << 8 | bytes[i];
    return v;
}

int netlink_open(int protocol) { return socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, protocol); }

/* ---- putting messages together; every message here is far below MESSAGE_MAX ---- */

static void add(struct message *m, const void *bytes, size_t n)
{
    if (m->n + NLMSG_ALIGN(n) > MESSAGE_MAX)
        return;
    if (n)
        memcpy(m->bytes + m->n, bytes, n);
    m->n += (uint32_t)NLMSG_ALIGN(n);
}

static struct message begin(uint16_t type, uint16_t flags, const void *body, size_t n)
{
    struct message m = { .n = 0 };
    const struct nlmsghdr head = { .nlmsg_type = type, .nlmsg_flags = (uint16_t)(NLM_F_REQUEST | NLM_F_ACK | flags) };
    add(&m, &head, sizeof head);
    add(&m, body, n);
    return m;
}

static void attribute(struct message *m, uint16_t type, const void *bytes, size_t n)
{
    const struct rtattr head = { .rta_len = (uint16_t)(sizeof head + n), .rta_type = type };
    add(m, &head, sizeof head);
    add(m, bytes, n);
}

static void text(struct message *m, uint16_t type, const char *s) { attribute(m, type, s, strlen(s) + 1); }
static void number(struct message *m, uint16_t type, uint32_t v) { attribute(m, type, &v, sizeof v); }

static void hardware_address(struct message *m, uint16_t type, axis_value mac)
{
    uint8_t bytes[MAC_BYTES];
    for (unsigned i = 0; i < MAC_BYTES; i++)
        bytes[i] = (uint8_t)(mac >> (8 * (MAC_BYTES - 1 - i)));
    attribute(m, type, bytes, sizeof bytes);
}

/* Opens an attribute that holds others; end() closes it. */
static uint32_t nest(struct message *m, uint16_t type)
{
    const uint32_t at = m->n;
    attribute(m, (uint16_t)(type | NLA_F_NESTED), NULL, 0);
    return at;
}

static void end(struct message *m, uint32_t at)
{
    const uint16_t n = (uint16_t)(m->n - at);
    memcpy(m->bytes + at + offsetof(struct rtattr, rta_len), &n, sizeof n);
}

/* Sends, and waits for the answer to this very message. */
static int ask(int fd, struct message *m)
{
    memcpy(m->bytes + offsetof(struct nlmsghdr, nlmsg_len), &m->n, sizeof m->n);
    if (send(fd, m->bytes, m->n, 0) < 0)
        return errno;
    struct {
        struct nlmsghdr head;
        struct nlmsgerr error;
        uint8_t rest[MESSAGE_MAX * 2];
    } answer;
    for (;;) {
        const ssize_t n = recv(fd, &answer, sizeof answer, 0);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return errno;
        if (n >= (ssize_t)(sizeof answer.head + sizeof answer.error) && answer.head.nlmsg_type == NLMSG_ERROR)
            return -answer.error.error;
    }
}

/* ---- the requests ---- */

int netlink_add_bridge(int fd, const char *name, axis_value mac)
{
    const struct ifinfomsg link = { .ifi_flags = IFF_UP, .ifi_change = IFF_UP };
    struct message m = begin(RTM_NEWLINK, NLM_F_CREATE | NLM_F_EXCL, &link, sizeof link);
    text(&m, IFLA_IFNAME, name);
    hardware_address(&m, IFLA_ADDRESS, mac);
    const uint32_t info = nest(&m, IFLA_LINKINFO);
    text(&m, IFLA_INFO_KIND, "bridge");
    const uint32_t data = nest(&m, IFLA_INFO_DATA);
    number(&m, IFLA_BR_FORWARD_DELAY, 0);
    const uint8_t snooping = 0; /* nobody asks who listens: to all, as without a querier */
    attribute(&m, IFLA_BR_MCAST_SNOOPING, &snooping, sizeof snooping);
    end(&m, data);
    end(&m, info);
    return ask(fd, &m);
}

int netlink_add_pair(int fd, const char *name, uint32_t master, const char *peer, int peer_ns, axis_value peer_mac)
{
    const struct ifinfomsg link = { .ifi_flags = IFF_UP, .ifi_change = IFF_UP };
    struct message m = begin(RTM_NEWLINK, NLM_F_CREATE | NLM_F_EXCL, &link, sizeof link);
    text(&m, IFLA_IFNAME, name);
    number(&m, IFLA_MASTER, master);
    const uint32_t info = nest(&m, IFLA_LINKINFO);
    text(&m, IFLA_INFO_KIND, "veth");
    const uint32_t data = nest(&m, IFLA_INFO_DATA);
    const uint32_t other = nest(&m, VETH_INFO_PEER);
    const struct ifinfomsg still_down = { 0 }; /* before both ends are joined neither can be up */
    add(&m, &still_down, sizeof still_down);
    text(&m, IFLA_IFNAME, peer);
    hardware_address(&m, IFLA_ADDRESS, peer_mac);
    number(&m, IFLA_NET_NS_FD, (uint32_t)peer_ns);
    end(&m, other);
    end(&m, data);
    end(&m, info);
    return ask(fd, &m);
}

int netlink_set_up(int fd, uint32_t link)
{
    const struct ifinfomsg body = { .ifi_index = (int)link, .ifi_flags = IFF_UP, .ifi_change = IFF_UP };
    struct message m = begin(RTM_NEWLINK, 0, &body, sizeof body);
    return ask(fd, &m);
}

int netlink_add_address(int fd, uint32_t link, enum family family, axis_value address, unsigned prefix_len)
{
    const struct ifaddrmsg body = { .ifa_family = family == FAMILY_IPV4 ? AF_INET : AF_INET6,
                                    .ifa_prefixlen = (uint8_t)prefix_len,
                                    .ifa_flags = IFA_F_NODAD,
                                    .ifa_index = link };
    struct message m = begin(RTM_NEWADDR, NLM_F_CREATE | NLM_F_REPLACE, &body, sizeof body);
    uint8_t bytes[16];
    const unsigned n = address_bytes(family, address, bytes);
    attribute(&m, IFA_LOCAL, bytes, n);
    attribute(&m, IFA_ADDRESS, bytes, n);
    return ask(fd, &m);
}

int netlink_add_default_route(int fd, uint32_t link, enum family family, axis_value via)
{
    const struct rtmsg body = { .rtm_family = family == FAMILY_IPV4 ? AF_INET : AF_INET6,
                                .rtm_table = RT_TABLE_MAIN,
                                .rtm_protocol = RTPROT_STATIC,
                                .rtm_scope = RT_SCOPE_UNIVERSE,
                                .rtm_type = RTN_UNICAST };
    struct message m = begin(RTM_NEWROUTE, NLM_F_CREATE | NLM_F_EXCL, &body, sizeof body);
    uint8_t bytes[16];
    attribute(&m, RTA_GATEWAY, bytes, address_bytes(family, via, bytes));
    number(&m, RTA_OIF, link);
    return ask(fd, &m);
}

int netlink_add_neighbour(int fd, uint32_t link, enum family family, axis_value address, axis_value mac)
{
    const struct ndmsg body = { .ndm_family = family == FAMILY_IPV4 ? AF_INET : AF_INET6,
                                .ndm_ifindex = (int)link,
                                .ndm_state = NUD_PERMANENT };
    struct message m = begin(RTM_NEWNEIGH, NLM_F_CREATE | NLM_F_REPLACE, &body, sizeof body);
    uint8_t bytes[16];
    attribute(&m, NDA_DST, bytes, address_bytes(family, address, bytes));
    hardware_address(&m, NDA_LLADDR, mac);
    return ask(fd, &m);
}

int netlink_forget_conversations(int fd)
{
    const struct nfgenmsg body = { .nfgen_family = AF_UNSPEC, .version = NFNETLINK_V0 };
    struct message m = begin((uint16_t)(NFNL_SUBSYS_CTNETLINK << 8 | IPCTNL_MSG_CT_DELETE), 0, &body, sizeof body);
    return ask(fd, &m);
}
