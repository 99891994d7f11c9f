/* The rows of network.h that say who may do what: segments, SSIDs, groups, services, hours, statements. */
#include "house/field_int.h"

STATIC_WORDS(WORDS_SECURITY, [SECURITY_WPA3] = "wpa3", [SECURITY_WPA2_WPA3] = "wpa2_wpa3", [SECURITY_WPA2] = "wpa2",
             [SECURITY_OWE] = "owe", [SECURITY_OPEN] = "open");
STATIC_WORDS(WORDS_PROTOCOL, "tcp", "udp", "icmp", "icmpv6", "gre", "esp");
STATIC_WORDS(WORDS_DAY, "mon", "tue", "wed", "thu", "fri", "sat", "sun");
STATIC_WORDS(WORDS_VERDICT, [VERDICT_ALLOW] = "allow", [VERDICT_REFUSE] = "refuse");
STATIC_WORDS(WORDS_RELAY, [RELAY_MDNS] = "mdns", [RELAY_SSDP] = "ssdp");

enum { ALL_DAYS = 127 };

static const struct field SEGMENT[] = {
    TEXT(segment, says, OPTIONAL, TEXT_ANY, "what it is for"),
    WHOLE(segment, vlan, OPTIONAL, 1, 4094, "VLAN identifier (IEEE 802.1Q); left out: to be chosen"),
    TEXT(segment, ipv4, OPTIONAL, TEXT_IPV4_SUBNET, "its IPv4 subnet; left out: to be chosen"),
    TEXT(segment, ipv6, OPTIONAL, TEXT_IPV6_SUBNET, "its IPv6 subnet, a /64; left out: to be chosen"),
    TEXT(segment, dhcp_from, OPTIONAL, TEXT_IPV4, "first address handed out; left out: the middle of the subnet"),
    TEXT(segment, dhcp_to, OPTIONAL, TEXT_IPV4, "last address handed out; left out: the subnet's last"),
    BOOL(segment, known_only, DEFAULT(false), "only devices of this file may join"),
    TEXTS(segment, blocked_names, OPTIONAL, TEXT_DOMAIN, "internet names that its resolver refuses"),
};
SHAPE(SHAPE_SEGMENT, segment, SEGMENT, "a segment", .has_id = true, .id_pattern = END_ID_PATTERN,
      .doc = "An isolated network: a VLAN, its subnets and what it is for.");

static const struct field SSID[] = {
    TEXT(ssid, name, OPTIONAL, TEXT_SSID, "as broadcast; left out: the id"),
    REF(ssid, segment, REQUIRED, SEGMENT, "segment its clients join"),
    BITS(ssid, bands, OPTIONAL, WORDS_BAND,
         "bands in GHz; left out: all that the security allows, 6 only with wpa3 or owe"),
    ENUM(ssid, security, DEFAULT(SECURITY_WPA2_WPA3), WORDS_SECURITY, "how clients prove themselves"),
    BOOL(ssid, isolate, DEFAULT(false), "its clients cannot talk to each other"),
    REFS(ssid, equipment, OPTIONAL, EQUIPMENT, 0, "only on these access points; left out: on all"),
};
SHAPE(SHAPE_SSID, ssid, SSID, "an SSID", .has_id = true, .doc = "A Wi-Fi name.");

static const struct field GROUP[] = {
    TEXT(group, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    NAMES(group, members, REQUIRED, IN(DEVICE) | IN(GROUP) | IN(PERSON),
          "devices, other groups, or people (their devices)"),
};
SHAPE(SHAPE_GROUP, group, GROUP, "a group", .has_id = true, .id_pattern = END_ID_PATTERN,
      .doc = "Devices that are spoken of together.");

static const struct field OWN_SERVICE[] = {
    TEXT(own_service, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    WORD(own_service, protocol, REQUIRED, WORDS_PROTOCOL, "the protocol over IP"),
    TEXTS(own_service, ports, OPTIONAL, TEXT_PORTS, "port or range, such as 443 or 5000-5010; left out: all"),
};
SHAPE(SHAPE_OWN_SERVICE, own_service, OWN_SERVICE, "a service", .has_id = true,
      .doc = "A service that the built-in table does not have.");

static const struct field EXCEPT[] = {
    TEXT(day_exception, from_date, REQUIRED, TEXT_DATE, "first day"),
    TEXT(day_exception, to_date, REQUIRED, TEXT_DATE, "last day, included"),
    BOOL(day_exception, holds, REQUIRED, "whether the hours begin on these days"),
    TEXT(day_exception, says, OPTIONAL, TEXT_ANY, "why"),
};
static SHAPE(SHAPE_EXCEPT, day_exception, EXCEPT, "an exception", .doc = "Days on which it is otherwise.");

static const struct field HOURS[] = {
    TEXT(hours, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    BITS(hours, days, DEFAULT(ALL_DAYS), WORDS_DAY, "days on which it begins"),
    CLOCK(hours, from_minute, "from", REQUIRED, 1439, "when it begins"),
    CLOCK(hours, to_minute, "to", REQUIRED, 1440, "when it ends; the same as from or before it: on the next day"),
    LIST_OF(hours, except, OPTIONAL, SHAPE_EXCEPT, 0,
            "days on which it is otherwise; of several for one day the last counts"),
};
SHAPE(SHAPE_HOURS, hours, HOURS, "hours", .has_id = true, .doc = "Times of the week, in the house's time zone.");

static const struct field STATEMENT[] = {
    TEXT(statement, says, OPTIONAL, TEXT_ANY, "why, in a sentence"),
    ENDPOINTS(statement, from, REQUIRED, "who starts the conversation"),
    ENDPOINTS(statement, to, REQUIRED, "with whom"),
    NAMES(statement, services, OPTIONAL, IN(SERVICE) | IN(OWN_SERVICE), "for these services; left out: for all"),
    ENUM(statement, verdict, DEFAULT(VERDICT_ALLOW), WORDS_VERDICT, "may they or not"),
    REF(statement, hours, OPTIONAL, HOURS, "at these hours; left out: always"),
    BOOL(statement, log, DEFAULT(false), "write each one down"),
};
SHAPE(SHAPE_STATEMENT, statement, STATEMENT, "a statement", .has_id = true, .id_is_key = true,
      .doc = "One line of the policy: who may start a conversation with whom. The first that fits decides; "
             "what no statement allows is refused.");

static const struct field RELAY[] = {
    TEXT(relay, says, OPTIONAL, TEXT_ANY, "why"),
    ENUM(relay, kind, DEFAULT(RELAY_MDNS), WORDS_RELAY, "which discovery protocol"),
    REFS(relay, from, REQUIRED, SEGMENT, 1, "segments that look for something"),
    REFS(relay, to, REQUIRED, SEGMENT, 1, "segments in which it is found"),
    TEXTS(relay, services, OPTIONAL, TEXT_DNS_SD, "service types, such as _ipp._tcp; left out: all"),
};
SHAPE(SHAPE_RELAY, relay, RELAY, "a relay", .has_id = true, .doc = "Devices of one segment may find those of another.");

static const struct field PORT_OPENING[] = {
    TEXT(port_opening, says, OPTIONAL, TEXT_ANY, "why"),
    REF(port_opening, device, REQUIRED, DEVICE, "device that the internet may reach"),
    NAME(port_opening, service, REQUIRED, IN(SERVICE) | IN(OWN_SERVICE), "for this service"),
    TEXTS(port_opening, from, OPTIONAL, TEXT_SUBNET, "from these addresses; left out: from anywhere"),
};
SHAPE(SHAPE_PORT_OPENING, port_opening, PORT_OPENING, "a port opening", .has_id = true,
      .doc = "The internet may start a conversation with a device.");

static const struct field REMOTE_ACCESS[] = {
    TEXT(remote_access, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    REF(remote_access, segment, REQUIRED, SEGMENT, "segment in which its users arrive"),
    WHOLE(remote_access, port, REQUIRED, 1, 65535, "UDP port at which the gateway listens"),
    REFS(remote_access, people, REQUIRED, PERSON, 1, "who may use it"),
};
SHAPE(SHAPE_REMOTE_ACCESS, remote_access, REMOTE_ACCESS, "a remote access", .has_id = true,
      .doc = "A tunnel into the house for its people.");

static const struct field INTERFACE[] = {
    REF(interface_name, segment, OPTIONAL, SEGMENT, "segment behind it; left out: the internet"),
};
/* Names as the Linux kernel takes them: 15 characters, no slash, blank or colon (net/core/dev.c, from memory). */
SHAPE(SHAPE_INTERFACE, interface_name, INTERFACE, "an interface", .has_id = true,
      .id_pattern = "^[A-Za-z0-9_@.-]{1,15}$",
      .doc = "What an interface of a foreign ruleset leads to. The id is the interface's name.");
