/* How texts must look: countries, dates, addresses, ports.  Each row has a pattern for the schema and a check that is
 * exact; the pattern may let through what only the check can know (the 31st of February). */
#include "house/field.h"

#include "data/countries.h"

#include <arpa/inet.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static bool is_digit(char c) { return c >= '0' && c <= '9'; }
static bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

static bool all_capitals(struct str s, size_t n)
{
    if (s.n != n)
        return false;
    for (size_t i = 0; i < n; i++)
        if (s.p[i] < 'A' || s.p[i] > 'Z')
            return false;
    return true;
}

static bool any(struct str s) { return s.n > 0 && s.n <= 2000; }
static bool is_country(struct str s) { return all_capitals(s, 2) && country_exists(s); }
static bool is_currency(struct str s) { return all_capitals(s, 3); }

/* A whole number of 1 to 9 digits without a sign or leading zeros, at most `most`; -1 when it is not one. */
static long number_of(const char *p, size_t n, long most)
{
    if (n == 0 || n > 9 || (n > 1 && p[0] == '0'))
        return -1;
    long value = 0;
    for (size_t i = 0; i < n; i++) {
        if (!is_digit(p[i]))
            return -1;
        value = value * 10 + (p[i] - '0');
    }
    return value <= most ? value : -1;
}

/* Known to the system's copy of the IANA time zone database, where there is one. */
static bool is_time_zone(struct str s)
{
    if (s.n == 0 || s.n > 60 || s.p[0] == '/' || s.p[s.n - 1] == '/')
        return false;
    for (size_t i = 0; i < s.n; i++)
        if (!is_letter(s.p[i]) && !is_digit(s.p[i]) && !strchr("/_+-", s.p[i]))
            return false; /* also keeps '.' and with it '..' out */
    static const char *const FOLDERS[] = { "/usr/share/zoneinfo", "/usr/lib/zoneinfo", "/etc/zoneinfo" };
    for (size_t i = 0; i < RT_COUNT(FOLDERS); i++) {
        char path[128];
        if (access(FOLDERS[i], X_OK) != 0)
            continue;
        snprintf(path, sizeof path, "%s/%.*s", FOLDERS[i], STR_ARG(s));
        FILE *f = fopen(path, "rb");
        char magic[4] = { 0 };
        const bool is_zone = f && fread(magic, 1, 4, f) == 4 && memcmp(magic, "TZif", 4) == 0; /* RFC 8536, 3.1 */
        if (f)
            fclose(f);
        return is_zone;
    }
    return true;
}

/* Gregorian calendar. */
static bool is_date(struct str s)
{
    if (s.n != 10 || s.p[4] != '-' || s.p[7] != '-')
        return false;
    for (size_t i = 0; i < 10; i++)
        if (i != 4 && i != 7 && !is_digit(s.p[i]))
            return false;
    const int year = (s.p[0] - '0') * 1000 + (s.p[1] - '0') * 100 + (s.p[2] - '0') * 10 + (s.p[3] - '0');
    const int month = (s.p[5] - '0') * 10 + (s.p[6] - '0'), day = (s.p[8] - '0') * 10 + (s.p[9] - '0');
    static const int DAYS[] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    if (year < 1900 || month < 1 || month > 12 || day < 1)
        return false;
    const bool is_leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return day <= DAYS[month - 1] + (month == 2 && is_leap);
}

static bool is_address(struct str s, int family)
{
    char text[INET6_ADDRSTRLEN + 1];
    unsigned char address[16];
    if (s.n == 0 || s.n >= sizeof text)
        return false;
    memcpy(text, s.p, s.n);
    text[s.n] = '\0';
    return inet_pton(family, text, address) == 1;
}

static bool is_ipv4(struct str s) { return is_address(s, AF_INET); }

/* address/length with no bit set behind the prefix. */
static bool is_subnet(struct str s, int family)
{
    const char *slash = s.n ? memchr(s.p, '/', s.n) : NULL;
    if (!slash)
        return false;
    const size_t n = (size_t)(slash - s.p);
    const long len = number_of(slash + 1, s.n - n - 1, family == AF_INET ? 32 : 128);
    if (len < 0 || !is_address((struct str){ s.p, n }, family))
        return false;
    char text[INET6_ADDRSTRLEN + 1] = { 0 };
    unsigned char address[16] = { 0 };
    memcpy(text, s.p, n);
    (void)inet_pton(family, text, address);
    for (long bit = len; bit < (family == AF_INET ? 32 : 128); bit++)
        if (address[bit / 8] & (0x80u >> (bit % 8)))
            return false;
    return true;
}

static bool is_ipv4_subnet(struct str s) { return is_subnet(s, AF_INET); }
static bool is_ipv6_subnet(struct str s) { return is_subnet(s, AF_INET6); }
static bool is_any_subnet(struct str s) { return is_subnet(s, AF_INET) || is_subnet(s, AF_INET6); }

static bool is_mac(struct str s)
{
    if (s.n != 17)
        return false;
    for (size_t i = 0; i < 17; i++) {
        const char c = s.p[i];
        const bool is_hex = is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
        if (i % 3 == 2 ? c != ':' : !is_hex)
            return false;
    }
    return true;
}

static bool is_ports(struct str s)
{
    const char *dash = s.n ? memchr(s.p, '-', s.n) : NULL;
    if (!dash)
        return number_of(s.p, s.n, 65535) >= 1;
    const size_t n = (size_t)(dash - s.p);
    const long from = number_of(s.p, n, 65535), to = number_of(dash + 1, s.n - n - 1, 65535);
    return from >= 1 && to >= from;
}

/* Letters, digits and hyphens in labels of 63, 253 in all (RFC 1035, 2.3.1; RFC 1123, 2.1); a dot is needed. */
bool is_domain_name(struct str s)
{
    size_t label = 0, dots = 0;
    if (s.n < 3 || s.n > 253)
        return false;
    for (size_t i = 0; i < s.n; i++) {
        const char c = s.p[i];
        if (c == '.') {
            if (label == 0 || s.p[i - 1] == '-')
                return false;
            dots++;
            label = 0;
        } else if (is_letter(c) || is_digit(c) || (c == '-' && label > 0)) {
            if (++label > 63)
                return false;
        } else {
            return false;
        }
    }
    return dots > 0 && label > 0 && s.p[s.n - 1] != '-';
}

/* 1 to 32 bytes (IEEE 802.11, element SSID, from memory). */
static bool is_ssid(struct str s) { return s.n >= 1 && s.n <= 32; }

/* _service._tcp or _udp, a service name being 15 characters at most (RFC 6763, section 7). */
static bool is_dns_sd(struct str s)
{
    if (s.n < 7 || s.n > 21 || s.p[0] != '_')
        return false;
    const struct str end = { s.p + s.n - 5, 5 };
    if (!str_is(end, "._tcp") && !str_is(end, "._udp"))
        return false;
    for (size_t i = 1; i < s.n - 5; i++)
        if (!is_letter(s.p[i]) && !is_digit(s.p[i]) && s.p[i] != '-')
            return false;
    return true;
}

#define OCTET_PATTERN "(25[0-5]|2[0-4][0-9]|1[0-9]{2}|[1-9]?[0-9])"
#define IPV4_PATTERN OCTET_PATTERN "(\\." OCTET_PATTERN "){3}"
/* One line; line ends behind it are those of a block of text. */
#define LINE_PATTERN "^[^\\x00-\\x1f\\x7f]+\\n*$"

static const struct text_format_row ROWS[TEXT_FORMAT_COUNT] = {
    [TEXT_ANY] = { "text", LINE_PATTERN, true, any },
    [TEXT_COUNTRY] = { "a country as two capital letters (ISO 3166-1), such as GB", COUNTRY_PATTERN, false,
                       is_country },
    [TEXT_CURRENCY] = { "a currency as three capital letters (ISO 4217), such as EUR", "^[A-Z]{3}$", false,
                        is_currency },
    [TEXT_TIME_ZONE] = { "a name of the time zone database, such as Europe/London", "^[A-Za-z0-9_+/-]+$", false,
                         is_time_zone },
    [TEXT_DATE] = { "a date as YYYY-MM-DD", "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$", false, is_date },
    [TEXT_IPV4] = { "an IPv4 address, such as 192.168.10.5", "^" IPV4_PATTERN "$", false, is_ipv4 },
    [TEXT_IPV4_SUBNET] = { "an IPv4 subnet, such as 192.168.10.0/24", "^" IPV4_PATTERN "/(3[0-2]|[12]?[0-9])$", false,
                           is_ipv4_subnet },
    [TEXT_IPV6_SUBNET] = { "an IPv6 subnet, such as fd12:3456:789a:10::/64", "^[0-9A-Fa-f:.]+/[0-9]{1,3}$", false,
                           is_ipv6_subnet },
    [TEXT_SUBNET] = { "a subnet, such as 10.8.0.0/16 or fd00:8::/32", "^[0-9A-Fa-f:.]+/[0-9]{1,3}$", false,
                      is_any_subnet },
    [TEXT_MAC] = { "a MAC address, such as 02:00:5e:10:20:30",
                   "^(?!00(:00){5}$)[0-9A-Fa-f][02468ACEace](:[0-9A-Fa-f]{2}){5}$", false,
                   is_mac }, /* groups and nobody's are refused in complete.c, which can say why */
    [TEXT_PORTS] = { "a port or range of ports from 1 to 65535, such as 443 or 5000-5010",
                     "^[1-9][0-9]{0,4}(-[1-9][0-9]{0,4})?$", true, is_ports },
    [TEXT_DOMAIN] = { "an internet name with a dot, such as backup.example",
                      "^[A-Za-z0-9-]{1,63}(\\.[A-Za-z0-9-]{1,63})+$", false, is_domain_name },
    [TEXT_SSID] = { "a Wi-Fi name of 1 to 32 bytes", "^.{1,32}$", true, is_ssid },
    [TEXT_DNS_SD] = { "a service type, such as _ipp._tcp", "^_[A-Za-z0-9-]{1,15}\\._(tcp|udp)$", false, is_dns_sd },
    [TEXT_FILE] = { "the name of a file", LINE_PATTERN, true, any },
};

const struct text_format_row *text_format_row(enum text_format format) { return &ROWS[format]; }

bool id_is_right(struct str id)
{
    if (id.n == 0 || id.n > 63 || !is_letter(id.p[0]))
        return false;
    for (size_t i = 1; i < id.n; i++)
        if (!is_letter(id.p[i]) && !is_digit(id.p[i]) && id.p[i] != '_' && id.p[i] != '-')
            return false;
    return true;
}
