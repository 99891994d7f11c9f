/* Addresses in text, by the system's own functions (POSIX inet_pton, inet_ntop). */
#include <arpa/inet.h>
#include <stdio.h>
#include <string.h>

#include "reach/packet.h"

enum { LONGEST_ADDRESS = 64 };

bool address_read(struct str text, enum family *family, axis_value *out)
{
    char c_text[LONGEST_ADDRESS];
    unsigned char bytes[16];
    if (text.n == 0 || text.n >= sizeof c_text || memchr(text.p, 0, text.n))
        return false;
    memcpy(c_text, text.p, text.n);
    c_text[text.n] = 0;
    size_t n;
    if (inet_pton(AF_INET, c_text, bytes) == 1) {
        *family = FAMILY_IPV4;
        n = 4;
    } else if (inet_pton(AF_INET6, c_text, bytes) == 1) {
        *family = FAMILY_IPV6;
        n = 16;
    } else {
        return false;
    }
    axis_value value = 0;
    for (size_t i = 0; i < n; i++)
        value = value << 8 | bytes[i];
    *out = value;
    return true;
}

bool prefix_read(struct str text, struct prefix *out)
{
    const char *slash = text.n ? memchr(text.p, '/', text.n) : NULL;
    if (!slash)
        return false;
    struct prefix p = { .is_given = true };
    if (!address_read((struct str){ text.p, (size_t)(slash - text.p) }, &p.family, &p.base))
        return false;
    const struct str digits = { slash + 1, text.n - (size_t)(slash - text.p) - 1 };
    if (digits.n < 1 || digits.n > 3 || (digits.n > 1 && digits.p[0] == '0'))
        return false;
    for (size_t i = 0; i < digits.n; i++) {
        if (digits.p[i] < '0' || digits.p[i] > '9')
            return false;
        p.len = p.len * 10 + (unsigned)(digits.p[i] - '0');
    }
    const unsigned bits = p.family == FAMILY_IPV4 ? 32 : 128;
    if (p.len > bits || prefix_span(p).lo != p.base)
        return false;
    *out = p;
    return true;
}

void address_write(struct buf *out, enum family family, axis_value address)
{
    unsigned char bytes[16];
    char c_text[INET6_ADDRSTRLEN];
    const size_t n = family == FAMILY_IPV4 ? 4 : 16;
    for (size_t i = n; i-- > 0; address >>= 8)
        bytes[i] = (unsigned char)(address & 255);
    if (inet_ntop(family == FAMILY_IPV4 ? AF_INET : AF_INET6, bytes, c_text, sizeof c_text))
        buf_text(out, c_text);
}

void prefix_write(struct buf *out, struct prefix p)
{
    address_write(out, p.family, p.base);
    buf_printf(out, "/%u", p.len);
}

struct span prefix_span(struct prefix p)
{
    const unsigned bits = p.family == FAMILY_IPV4 ? 32 : 128;
    const axis_value all = axis_max(AXIS_SOURCE, p.family);
    /* a shift by all 128 bits is undefined */
    const axis_value below = p.len == 0 ? all : p.len >= bits ? 0 : all >> p.len;
    return (struct span){ p.base & ~below & all, p.base | below };
}

bool prefix_overlaps(struct prefix a, struct prefix b)
{
    if (!a.is_given || !b.is_given || a.family != b.family)
        return false;
    const struct span x = prefix_span(a), y = prefix_span(b);
    return x.lo <= y.hi && y.lo <= x.hi;
}

bool prefix_holds(struct prefix p, enum family family, axis_value address)
{
    const struct span s = prefix_span(p);
    return p.is_given && p.family == family && s.lo <= address && address <= s.hi;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

bool mac_read(struct str text, axis_value *out)
{
    uint64_t value = 0;
    if (text.n != 17)
        return false;
    for (size_t i = 0; i < 17; i++) {
        const int digit = hex_digit(text.p[i]);
        if (i % 3 == 2 ? text.p[i] != ':' : digit < 0)
            return false;
        if (i % 3 != 2)
            value = value << 4 | (uint64_t)digit;
    }
    *out = value;
    return true;
}

void mac_write(struct buf *out, axis_value mac)
{
    for (int shift = 40; shift >= 0; shift -= 8)
        buf_printf(out, shift == 40 ? "%02x" : ":%02x", (unsigned)(mac >> shift & 255));
}
