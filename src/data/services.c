#include "data/services.h"

#include <string.h>

/* Sources: the IANA registry's ports as kept in Debian's netbase 6.4 (/etc/services), read; rows marked MEMORY are not in
 * that subset.  The RFC numbers are from memory where the registry's subset does not print them.  Columns: name, words,
 * registry's name, document, protocol, ports, source ports, local, seen. */
#define READ SEEN_READ
#define MEMORY SEEN_MEMORY
#define PORT(p) (p), (p)
#define ANY 0, 0

/* clang-format off */
static const struct service_flow FLOWS[] = {
    /* names, addresses, time */
    { "dns",        "names",                        "domain",          "RFC 1035",  IP_UDP,    PORT(53),    ANY,        false, READ },
    { "dns",        "names",                        "domain",          "RFC 7766",  IP_TCP,    PORT(53),    ANY,        false, READ },
    { "dot",        "names over TLS",               "domain-s",        "RFC 7858",  IP_TCP,    PORT(853),   ANY,        false, READ },
    { "doq",        "names over QUIC",              "domain-s",        "RFC 9250",  IP_UDP,    PORT(853),   ANY,        false, READ },
    { "dhcp",       "address asked for",            "bootps",          "RFC 2131",  IP_UDP,    PORT(67),    PORT(68),   true,  READ },
    { "dhcp",       "address given",                "bootpc",          "RFC 2131",  IP_UDP,    PORT(68),    PORT(67),   true,  READ },
    { "dhcpv6",     "IPv6 address asked for",       "dhcpv6-server",   "RFC 8415",  IP_UDP,    PORT(547),   PORT(546),  true,  READ },
    { "dhcpv6",     "IPv6 address given",           "dhcpv6-client",   "RFC 8415",  IP_UDP,    PORT(546),   PORT(547),  true,  READ },
    { "ntp",        "time",                         "ntp",             "RFC 5905",  IP_UDP,    PORT(123),   ANY,        false, READ },
    { "ping",       "echo",                         NULL,              "RFC 792",   IP_ICMP,   PORT(8),     ANY,        false, MEMORY },
    { "ping",       "echo, IPv6",                   NULL,              "RFC 4443",  IP_ICMPV6, PORT(128),   ANY,        false, MEMORY },

    /* finding things on the same link */
    { "mdns",       "finding by multicast names",   "mdns",            "RFC 6762",  IP_UDP,    PORT(5353),  ANY,        true,  READ },
    { "ssdp",       "finding by SSDP",              "ssdp",            "UPnP Device Architecture 2.0 (ISO/IEC 29341-1)", IP_UDP, PORT(1900), ANY, true, MEMORY },
    { "llmnr",      "finding by local names",       "llmnr",           "RFC 4795",  IP_UDP,    PORT(5355),  ANY,        true,  MEMORY },
    { "ws_discovery", "finding cameras and printers", "ws-discovery",  "OASIS WS-Discovery 1.1", IP_UDP, PORT(3702), ANY, true, MEMORY },
    { "netbios",    "finding, old",                 "netbios-ns",      "RFC 1002",  IP_UDP,    137, 138,    ANY,        true,  READ },
    { "netbios",    "files, old",                   "netbios-ssn",     "RFC 1002",  IP_TCP,    PORT(139),   ANY,        false, READ },
    { "igmp",       "joining IPv4 groups",          NULL,              "RFC 3376",  IP_IGMP,   ANY,         ANY,        true,  MEMORY },

    /* web, mail, files, logging in */
    { "http",       "web, not encrypted",           "http",            "RFC 9110",  IP_TCP,    PORT(80),    ANY,        false, READ },
    { "https",      "web",                          "https",           "RFC 9110",  IP_TCP,    PORT(443),   ANY,        false, READ },
    { "http3",      "web over QUIC",                "https",           "RFC 9114",  IP_UDP,    PORT(443),   ANY,        false, READ },
    { "http_alt",   "web, second port",             "http-alt",        "IANA",      IP_TCP,    PORT(8080),  ANY,        false, READ },
    { "imaps",      "reading mail",                 "imaps",           "RFC 8314",  IP_TCP,    PORT(993),   ANY,        false, READ },
    { "pop3s",      "fetching mail",                "pop3s",           "RFC 8314",  IP_TCP,    PORT(995),   ANY,        false, READ },
    { "submission", "sending mail",                 "submission",      "RFC 6409",  IP_TCP,    PORT(587),   ANY,        false, READ },
    { "submissions", "sending mail over TLS",       "submissions",     "RFC 8314",  IP_TCP,    PORT(465),   ANY,        false, READ },
    { "smtp",       "mail between servers",         "smtp",            "RFC 5321",  IP_TCP,    PORT(25),    ANY,        false, READ },
    { "smb",        "shared files",                 "microsoft-ds",    "IANA",      IP_TCP,    PORT(445),   ANY,        false, READ },
    { "nfs",        "shared files",                 "nfs",             "RFC 7530",  IP_TCP,    PORT(2049),  ANY,        false, READ },
    { "ftp",        "files, not encrypted",         "ftp",             "RFC 959",   IP_TCP,    PORT(21),    ANY,        false, READ },
    { "rsync",      "copies of files",              "rsync",           "IANA",      IP_TCP,    PORT(873),   ANY,        false, READ },
    { "iscsi",      "disks over the network",       "iscsi-target",    "RFC 7143",  IP_TCP,    PORT(3260),  ANY,        false, READ },
    { "ssh",        "logging in",                   "ssh",             "RFC 4251",  IP_TCP,    PORT(22),    ANY,        false, READ },
    { "telnet",     "logging in, not encrypted",    "telnet",          "RFC 854",   IP_TCP,    PORT(23),    ANY,        false, READ },
    { "ldap",       "directory",                    "ldap",            "RFC 4511",  IP_TCP,    PORT(389),   ANY,        false, READ },
    { "ldaps",      "directory over TLS",           "ldaps",           "RFC 4513",  IP_TCP,    PORT(636),   ANY,        false, READ },
    { "radius",     "signing in to a network",      "radius",          "RFC 2865",  IP_UDP,    PORT(1812),  ANY,        false, READ },
    { "radius_acct", "network accounting",          "radius-acct",     "RFC 2866",  IP_UDP,    PORT(1813),  ANY,        false, READ },

    /* printing */
    { "ipp",        "printing",                     "ipp",             "RFC 8010",  IP_TCP,    PORT(631),   ANY,        false, READ },
    { "ipps",       "printing over TLS",            "ipp",             "RFC 7472",  IP_TCP,    PORT(631),   ANY,        false, READ },
    { "raw_print",  "printing, raw",                "pdl-datastream",  "IANA",      IP_TCP,    PORT(9100),  ANY,        false, MEMORY },
    { "lpd",        "printing, old",                "printer",         "RFC 1179",  IP_TCP,    PORT(515),   ANY,        false, READ },

    /* sound, pictures, telephones */
    { "rtsp",       "pictures, control",            "rtsp",            "RFC 7826",  IP_TCP,    PORT(554),   ANY,        false, READ },
    { "rtsps",      "pictures, control over TLS",   "rtsps",           "RFC 7826",  IP_TCP,    PORT(322),   ANY,        false, MEMORY },
    /* RTP has no port of its own (RFC 3550 clause 11: a pair agreed by the control); the dynamic ports of RFC 6335. */
    { "rtp",        "pictures and sound",           NULL,              "RFC 3550",  IP_UDP,    49152, 65535, ANY,       false, MEMORY },
    { "sip",        "telephone calls",              "sip",             "RFC 3261",  IP_UDP,    PORT(5060),  ANY,        false, READ },
    { "sip",        "telephone calls",              "sip",             "RFC 3261",  IP_TCP,    PORT(5060),  ANY,        false, READ },
    { "sips",       "telephone calls over TLS",     "sip-tls",         "RFC 3261",  IP_TCP,    PORT(5061),  ANY,        false, READ },
    { "stun",       "finding one's own address",    "stun",            "RFC 8489",  IP_UDP,    PORT(3478),  ANY,        false, MEMORY },
    { "stun",       "finding one's own address",    "stun",            "RFC 8489",  IP_TCP,    PORT(3478),  ANY,        false, MEMORY },
    { "stuns",      "the same over TLS",            "stuns",           "RFC 8489",  IP_TCP,    PORT(5349),  ANY,        false, MEMORY },
    /* No standard names ports for casting; these are in common use (common practice, no source). */
    { "casting",    "casting to a screen",          NULL,              "none",      IP_TCP,    8008, 8009,  ANY,        false, MEMORY },

    /* small things */
    { "mqtt",       "readings",                     "mqtt",            "OASIS MQTT 5.0", IP_TCP, PORT(1883), ANY,       false, MEMORY },
    { "mqtts",      "readings over TLS",            "secure-mqtt",     "OASIS MQTT 5.0", IP_TCP, PORT(8883), ANY,       false, MEMORY },
    { "coap",       "small things",                 "coap",            "RFC 7252",  IP_UDP,    PORT(5683),  ANY,        false, MEMORY },
    { "coap",       "small things",                 "coap",            "RFC 8323",  IP_TCP,    PORT(5683),  ANY,        false, MEMORY },
    { "coaps",      "small things over DTLS",       "coaps",           "RFC 7252",  IP_UDP,    PORT(5684),  ANY,        false, MEMORY },
    { "coaps",      "small things over TLS",        "coaps",           "RFC 8323",  IP_TCP,    PORT(5684),  ANY,        false, MEMORY },
    { "matter",     "home automation over IPv6",    "matter",          "IANA",      IP_UDP,    PORT(5540),  ANY,        false, MEMORY },
    { "modbus",     "meters and heating",           "mbap",            "IANA",      IP_TCP,    PORT(502),   ANY,        false, MEMORY },

    /* looking after the network */
    { "snmp",       "management, asked",            "snmp",            "RFC 3411",  IP_UDP,    PORT(161),   ANY,        false, READ },
    { "snmp",       "management, told",             "snmp-trap",       "RFC 3411",  IP_UDP,    PORT(162),   ANY,        false, READ },
    { "syslog",     "log",                          "syslog",          "RFC 5426",  IP_UDP,    PORT(514),   ANY,        false, READ },
    { "syslog_tls", "log over TLS",                 "syslog-tls",      "RFC 5425",  IP_TCP,    PORT(6514),  ANY,        false, READ },
    { "wake",       "waking by a packet",           "discard",         "none",      IP_UDP,    PORT(9),     ANY,        true,  READ },

    /* tunnels */
    { "ike",        "tunnel, keys",                 "isakmp",          "RFC 7296",  IP_UDP,    PORT(500),   ANY,        false, READ },
    { "ike",        "tunnel, through translation",  "ipsec-nat-t",     "RFC 3948",  IP_UDP,    PORT(4500),  ANY,        false, READ },
    { "esp",        "tunnel, contents",             NULL,              "RFC 4303",  IP_ESP,    ANY,         ANY,        false, READ },
    { "gre",        "tunnel, plain",                NULL,              "RFC 2784",  IP_GRE,    ANY,         ANY,        false, READ },
    /* An openly published protocol without a registered port; this one is in common use (common practice, no source). */
    { "wireguard",  "tunnel",                       NULL,              "J. A. Donenfeld, NDSS 2017", IP_UDP, PORT(51820), ANY, false, MEMORY },
};
/* clang-format on */

const struct service_flow *service_flows(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(FLOWS);
    return FLOWS;
}

const struct service_flow *service_find(struct str name, uint32_t *n)
{
    for (uint32_t i = 0; i < RT_COUNT(FLOWS); i++) {
        if (!str_is(name, FLOWS[i].name))
            continue;
        uint32_t end = i + 1;
        while (end < RT_COUNT(FLOWS) && strcmp(FLOWS[end].name, FLOWS[i].name) == 0)
            end++;
        *n = end - i;
        return &FLOWS[i];
    }
    *n = 0;
    return NULL;
}

const char *ip_protocol_name(enum ip_protocol protocol)
{
    switch (protocol) {
    case IP_ICMP:
        return "icmp";
    case IP_IGMP:
        return "igmp";
    case IP_TCP:
        return "tcp";
    case IP_UDP:
        return "udp";
    case IP_GRE:
        return "gre";
    case IP_ESP:
        return "esp";
    case IP_ICMPV6:
        return "icmpv6";
    }
    return NULL;
}
