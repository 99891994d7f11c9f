#include "data/address_blocks.h"

#include "base/compiler.h"

/* Source: the registries named in the header.  Which blocks there are was compared with CPython 3.11's ipaddress module, which
 * keeps the registry's private blocks; the four columns are from memory.  What is not in a registry (multicast, old
 * blocks) has the columns that its own document implies.  2002::/16 stays reachable: RFC 7526 retired its relays only. */
#define V4(a, b, c, d) false, 0, ((uint64_t)(a) << 24 | (uint64_t)(b) << 16 | (uint64_t)(c) << 8 | (uint64_t)(d))
#define V6(a, b, c, d) true, ((uint64_t)(a) << 48 | (uint64_t)(b) << 32 | (uint64_t)(c) << 16 | (uint64_t)(d)), 0
#define T true
#define F false

/* clang-format off */
static const struct address_block BLOCKS[] = {
    /* text               first address            len  says                                standard    src dst fwd glo */
    { "0.0.0.0/8",        V4(0, 0, 0, 0),           8, "this network",                      "RFC 1122", T, F, F, F },
    { "10.0.0.0/8",       V4(10, 0, 0, 0),          8, "private",                           "RFC 1918", T, T, T, F },
    { "100.64.0.0/10",    V4(100, 64, 0, 0),       10, "shared by providers among their customers", "RFC 6598", T, T, T, F },
    { "127.0.0.0/8",      V4(127, 0, 0, 0),         8, "loopback",                          "RFC 1122", F, F, F, F },
    { "169.254.0.0/16",   V4(169, 254, 0, 0),      16, "link-local",                        "RFC 3927", T, T, F, F },
    { "172.16.0.0/12",    V4(172, 16, 0, 0),       12, "private",                           "RFC 1918", T, T, T, F },
    { "192.0.0.0/24",     V4(192, 0, 0, 0),        24, "protocol assignments",              "RFC 6890", F, F, F, F },
    { "192.0.0.0/29",     V4(192, 0, 0, 0),        29, "IPv4 over an IPv6 line",            "RFC 7335", T, T, T, F },
    { "192.0.0.9/32",     V4(192, 0, 0, 9),        32, "port control anycast",              "RFC 7723", T, T, T, T },
    { "192.0.0.10/32",    V4(192, 0, 0, 10),       32, "relay anycast",                     "RFC 8155", T, T, T, T },
    { "192.0.0.170/31",   V4(192, 0, 0, 170),      31, "finding a translator of IPv6",      "RFC 7050", F, F, F, F },
    { "192.0.2.0/24",     V4(192, 0, 2, 0),        24, "documentation",                     "RFC 5737", F, F, F, F },
    { "192.88.99.0/24",   V4(192, 88, 99, 0),      24, "old relays of IPv6 over IPv4",      "RFC 7526", F, F, F, F },
    { "192.168.0.0/16",   V4(192, 168, 0, 0),      16, "private",                           "RFC 1918", T, T, T, F },
    { "198.18.0.0/15",    V4(198, 18, 0, 0),       15, "benchmarking",                      "RFC 2544", T, T, T, F },
    { "198.51.100.0/24",  V4(198, 51, 100, 0),     24, "documentation",                     "RFC 5737", F, F, F, F },
    { "203.0.113.0/24",   V4(203, 0, 113, 0),      24, "documentation",                     "RFC 5737", F, F, F, F },
    { "224.0.0.0/4",      V4(224, 0, 0, 0),         4, "multicast",                         "RFC 5771", F, T, T, F },
    { "224.0.0.0/24",     V4(224, 0, 0, 0),        24, "multicast within one link",         "RFC 5771", F, T, F, F },
    { "239.0.0.0/8",      V4(239, 0, 0, 0),         8, "multicast within one site",         "RFC 2365", F, T, T, F },
    { "240.0.0.0/4",      V4(240, 0, 0, 0),         4, "reserved",                          "RFC 1112", F, F, F, F },
    { "255.255.255.255/32", V4(255, 255, 255, 255), 32, "broadcast",                        "RFC 919",  F, T, F, F },

    { "::/128",           V6(0, 0, 0, 0),         128, "no address",                        "RFC 4291", T, F, F, F },
    { "::1/128",          true, 0, 1,             128, "loopback",                          "RFC 4291", F, F, F, F },
    { "::ffff:0:0/96",    true, 0, 0xffff00000000, 96, "IPv4 written as IPv6",              "RFC 4291", F, F, F, F },
    { "64:ff9b::/96",     V6(0x64, 0xff9b, 0, 0),  96, "translation to IPv4",               "RFC 6052", T, T, T, T },
    { "64:ff9b:1::/48",   V6(0x64, 0xff9b, 1, 0),  48, "translation to IPv4, local",        "RFC 8215", T, T, T, F },
    { "100::/64",         V6(0x100, 0, 0, 0),      64, "discard only",                      "RFC 6666", T, T, T, F },
    { "2001::/23",        V6(0x2001, 0, 0, 0),     23, "protocol assignments",              "RFC 2928", F, F, F, F },
    { "2001::/32",        V6(0x2001, 0, 0, 0),     32, "Teredo",                            "RFC 4380", T, T, T, T },
    { "2001:1::1/128",    true, 0x2001000100000000, 1, 128, "port control anycast",         "RFC 7723", T, T, T, T },
    { "2001:1::2/128",    true, 0x2001000100000000, 2, 128, "relay anycast",                "RFC 8155", T, T, T, T },
    { "2001:2::/48",      V6(0x2001, 2, 0, 0),     48, "benchmarking",                      "RFC 5180", T, T, T, F },
    { "2001:3::/32",      V6(0x2001, 3, 0, 0),     32, "multicast by relays",               "RFC 7450", T, T, T, T },
    { "2001:4:112::/48",  V6(0x2001, 4, 0x112, 0), 48, "answers for private names",         "RFC 7535", T, T, T, T },
    { "2001:10::/28",     V6(0x2001, 0x10, 0, 0),  28, "old cryptographic identifiers",     "RFC 4843", F, F, F, F },
    { "2001:20::/28",     V6(0x2001, 0x20, 0, 0),  28, "cryptographic identifiers",         "RFC 7343", T, T, T, T },
    { "2001:30::/28",     V6(0x2001, 0x30, 0, 0),  28, "identifiers of drones",             "RFC 9374", T, T, T, T },
    { "2001:db8::/32",    V6(0x2001, 0xdb8, 0, 0), 32, "documentation",                     "RFC 3849", F, F, F, F },
    { "2002::/16",        V6(0x2002, 0, 0, 0),     16, "IPv6 over IPv4",                    "RFC 3056", T, T, T, T },
    { "3fff::/20",        V6(0x3fff, 0, 0, 0),     20, "documentation",                     "RFC 9637", F, F, F, F },
    { "5f00::/16",        V6(0x5f00, 0, 0, 0),     16, "segment routing",                   "RFC 9602", T, T, T, F },
    { "fc00::/7",         V6(0xfc00, 0, 0, 0),      7, "unique local",                      "RFC 4193", T, T, T, F },
    { "fc00::/8",         V6(0xfc00, 0, 0, 0),      8, "unique local, not in use yet",      "RFC 4193", F, F, F, F },
    { "fe80::/10",        V6(0xfe80, 0, 0, 0),     10, "link-local",                        "RFC 4291", T, T, F, F },
    { "fec0::/10",        V6(0xfec0, 0, 0, 0),     10, "old site-local",                    "RFC 3879", F, F, F, F },
    { "ff00::/8",         V6(0xff00, 0, 0, 0),      8, "multicast",                         "RFC 4291", F, T, T, F },
};

static const struct address_block PRIVATE[] = {
    { "10.0.0.0/8",       V4(10, 0, 0, 0),          8, "private",                           "RFC 1918", T, T, T, F },
    { "172.16.0.0/12",    V4(172, 16, 0, 0),       12, "private",                           "RFC 1918", T, T, T, F },
    { "192.168.0.0/16",   V4(192, 168, 0, 0),      16, "private",                           "RFC 1918", T, T, T, F },
    { "fd00::/8",         V6(0xfd00, 0, 0, 0),      8, "unique local",                      "RFC 4193", T, T, T, F },
};
/* clang-format on */

const struct address_block *address_blocks(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(BLOCKS);
    return BLOCKS;
}

const struct address_block *address_blocks_private(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(PRIVATE);
    return PRIVATE;
}
