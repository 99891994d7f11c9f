/* The table of special blocks against the reference table, which was collected apart from it, and against the system's own
 * reading of addresses. */
#include "data/address_blocks.h"

#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "csv.h"
#include "reach/packet.h"

static axis_value base_of(const struct address_block *b) { return (axis_value)b->hi << 64 | b->lo; }

/* The row of the table for a CIDR text; NULL: there is none. */
static const struct address_block *row_of(struct str text)
{
    uint32_t n;
    const struct address_block *b = address_blocks(&n);
    for (uint32_t i = 0; i < n; i++)
        if (str_is(text, b[i].text))
            return &b[i];
    return NULL;
}

/* Figures and text of each row say the same (inet_pton(3), inet_ntop(3)). */
TEST(figures_are_those_of_the_text)
{
    uint32_t n;
    const struct address_block *b = address_blocks(&n);
    for (uint32_t i = 0; i < n; i++) {
        char text[INET6_ADDRSTRLEN] = { 0 }, back[INET6_ADDRSTRLEN];
        const char *slash = strchr(b[i].text, '/');
        unsigned char bytes[16] = { 0 };
        const int family = b[i].is_ipv6 ? AF_INET6 : AF_INET;
        CHECK(b[i].text, slash != NULL);
        memcpy(text, b[i].text, (size_t)(slash - b[i].text));
        CHECK(b[i].text, inet_pton(family, text, bytes) == 1);
        axis_value value = 0;
        for (int k = 0; k < (b[i].is_ipv6 ? 16 : 4); k++)
            value = value << 8 | bytes[k];
        CHECK(b[i].text, value == base_of(&b[i]));
        CHECK(b[i].text, strtoul(slash + 1, NULL, 10) == b[i].len);
        /* glibc writes the end of this one as IPv4 does */
        CHECK("written as RFC 5952",
              strcmp(text, "::ffff:0:0") == 0 || strcmp(inet_ntop(family, bytes, back, sizeof back), text) == 0);
        CHECK("no bits behind the prefix",
              b[i].len == (b[i].is_ipv6 ? 128 : 32) || value << (b[i].is_ipv6 ? b[i].len : 96 + b[i].len) == 0);
        CHECK("RFC", strncmp(b[i].standard, "RFC ", 4) == 0 && b[i].says[0]);
        CHECK("what is met on the internet is passed on", !b[i].is_global || (b[i].source && b[i].forwardable));
    }
}

TEST(rows_are_in_order)
{
    uint32_t n;
    const struct address_block *b = address_blocks(&n);
    for (uint32_t i = 1; i < n; i++) {
        const bool same_family = b[i].is_ipv6 == b[i - 1].is_ipv6;
        CHECK("IPv4 first", same_family || b[i].is_ipv6);
        CHECK(b[i].text, !same_family || base_of(&b[i - 1]) < base_of(&b[i]) ||
                             (base_of(&b[i - 1]) == base_of(&b[i]) && b[i - 1].len < b[i].len));
    }
}

/* Every block of the reference is here, defined by the same document, and met on the internet or not as it says there ('partly'
 * and 'deprecated' bind nothing). */
TEST(blocks_agree_with_the_reference)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/address_blocks.csv"));
    unsigned n_compared = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        const struct str block = csv_cell(&t, row, "block"), reach = csv_cell(&t, row, "globally_reachable");
        if (!memchr(block.p, '/', block.n) || memchr(block.p, ' ', block.n))
            continue; /* names, VLANs and rules */
        const char *label = str_dup(c.run.arena, block).p;
        const struct address_block *b = row_of(block);
        CHECK(label, b != NULL);
        CHECK(label, strstr(str_dup(c.run.arena, csv_cell(&t, row, "standard")).p, b->standard) != NULL);
        CHECK(label, !str_is(reach, "yes") || b->is_global);
        CHECK(label, !(str_is(reach, "no") || str_is(reach, "-")) || !b->is_global);
        n_compared++;
    }
    CHECK("all rows of blocks", n_compared >= 35);
    check_run_end(&c);
}

/* RFC 1918, clause 3; RFC 4193, 3.1. */
TEST(private_blocks_are_those_of_their_documents)
{
    static const char *const BLOCKS[] = { "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fd00::/8" };
    uint32_t n;
    const struct address_block *b = address_blocks_private(&n);
    CHECK("four", n == RT_COUNT(BLOCKS));
    for (uint32_t i = 0; i < n; i++) {
        CHECK_TEXT("block", str_from(b[i].text), str_from(BLOCKS[i]));
        struct prefix p;
        CHECK("figures", prefix_read(str_from(BLOCKS[i]), &p) && p.base == base_of(&b[i]) && p.len == b[i].len);
        CHECK("not met outside", !b[i].is_global);
    }
}

/* ---- what is met on the internet ---- */

/* The narrowest block that holds the address: the last in the table's order. */
static const struct address_block *block_of(enum family family, axis_value address)
{
    uint32_t n;
    const struct address_block *b = address_blocks(&n), *found = NULL;
    for (uint32_t i = 0; i < n; i++) {
        const struct prefix p = { b[i].is_ipv6 ? FAMILY_IPV6 : FAMILY_IPV4, base_of(&b[i]), b[i].len, true };
        if (prefix_holds(p, family, address))
            found = &b[i];
    }
    return found;
}

/* From the registries (RFC 6890), both ends of blocks and their neighbours: sources that packets from the internet cannot have. */
TEST(special_blocks_end_where_they_end)
{
    static const struct {
        const char *address;
        bool is_bogus;
        const char *why;
    } CASES[] = {
        { "0.0.0.0", true, "RFC 1122" },
        { "1.0.0.0", false, "behind 0/8" },
        { "9.255.255.255", false, "before 10/8" },
        { "10.0.0.0", true, "RFC 1918" },
        { "10.255.255.255", true, "RFC 1918" },
        { "11.0.0.0", false, "behind 10/8" },
        { "100.63.255.255", false, "before 100.64/10" },
        { "100.64.0.0", true, "RFC 6598" },
        { "100.127.255.255", true, "RFC 6598" },
        { "127.0.0.1", true, "RFC 1122" },
        { "169.254.1.1", true, "RFC 3927" },
        { "172.15.255.255", false, "before 172.16/12" },
        { "172.31.255.255", true, "RFC 1918" },
        { "192.0.0.8", true, "RFC 6890: 192.0.0.0/24" },
        { "192.0.0.9", false, "RFC 7723: reachable within it" },
        { "192.0.0.10", false, "RFC 8155: reachable within it" },
        { "192.0.0.11", true, "RFC 6890: 192.0.0.0/24" },
        { "192.0.2.1", true, "RFC 5737" },
        { "192.168.255.255", true, "RFC 1918" },
        { "192.169.0.0", false, "behind 192.168/16" },
        { "198.19.255.255", true, "RFC 2544" },
        { "223.255.255.255", false, "before multicast" },
        { "224.0.0.1", true, "RFC 5771: never a source" },
        { "240.0.0.1", true, "RFC 1112" },
        { "255.255.255.255", true, "RFC 919" },
        { "::", true, "RFC 4291" },
        { "::1", true, "RFC 4291" },
        { "::ffff:192.0.2.1", true, "RFC 4291" },
        { "64:ff9b::1", false, "RFC 6052: reachable" },
        { "64:ff9b:1::1", true, "RFC 8215" },
        { "100::1", true, "RFC 6666" },
        { "2000::1", false, "2000::/3" },
        { "2001::1", false, "RFC 4380: reachable" },
        { "2001:1::", true, "RFC 2928" },
        { "2001:1::1", false, "RFC 7723: reachable within it" },
        { "2001:2::1", true, "RFC 5180" },
        { "2001:20::1", false, "RFC 7343: reachable" },
        { "2001:200::", false, "behind 2001::/23" },
        { "2001:db8::1", true, "RFC 3849" },
        { "2001:db9::1", false, "behind it" },
        { "3fff:fff:ffff::", true, "RFC 9637: 3fff::/20" },
        { "3fff:1000::", false, "behind it" },
        { "5f00::1", true, "RFC 9602" },
        { "fd12:3456:789a::1", true, "RFC 4193" },
        { "fe80::1", true, "RFC 4291" },
        { "fec0::1", true, "RFC 3879" },
        { "ff02::1", true, "RFC 4291: never a source" },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        enum family family;
        axis_value address;
        CHECK(CASES[i].address, address_read(str_from(CASES[i].address), &family, &address));
        const struct address_block *b = block_of(family, address);
        CHECK(arena_printf(c.run.arena, "%s (%s)", CASES[i].address, CASES[i].why),
              (b && !b->is_global) == CASES[i].is_bogus);
    }
    check_run_end(&c);
}
