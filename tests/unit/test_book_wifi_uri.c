/* The URI of a Wi-Fi card against the rule WIFI-qr of the Wi-Fi Alliance's WPA3 Specification (3.0 and later, clause 7.1; the rule and
 * its notes as quoted by others): type "WPA" for passphrases, none for open and OWE; values are printable ASCII but the semicolon, else
 * percent-encoded (RFC 3986, 2.1).  Expected texts are written by hand from it. */
#include "book/qr.h"
#include "book/wifi_uri.h"
#include "check.h"

static const struct {
    const char *what, *name;
    enum security security;
    const char *passphrase, *want;
} CASES[] = {
    { "plain", "Larch End", SECURITY_WPA2_WPA3, "abcd-efgh", "WIFI:T:WPA;S:Larch End;P:abcd-efgh;;" },
    { "WPA2", "a", SECURITY_WPA2, "12345678", "WIFI:T:WPA;S:a;P:12345678;;" },
    { "WPA3 alone", "a", SECURITY_WPA3, "12345678", "WIFI:T:WPA;R:1;S:a;P:12345678;;" },
    { "OWE asks for none", "Quay guests", SECURITY_OWE, "left over", "WIFI:S:Quay guests;;" },
    { "open asks for none", "Quay guests", SECURITY_OPEN, "", "WIFI:S:Quay guests;;" },
    { "what parts fields", ";a;", SECURITY_WPA2, ";;;;;;;;", "WIFI:T:WPA;S:%3Ba%3B;P:%3B%3B%3B%3B%3B%3B%3B%3B;;" },
    { "what encodes", "100%41", SECURITY_WPA2, "\\\\%20 %20", "WIFI:T:WPA;S:100%2541;P:%5C%5C%2520 %2520;;" },
    { "printable stays", "a:b,c\"d", SECURITY_WPA2, " !#$&'()~", "WIFI:T:WPA;S:a:b,c\"d;P: !#$&'()~;;" },
    { "UTF-8 by octets", "K\xc3\xbc\xe2\x82\xac", SECURITY_WPA2, "12345678",
      "WIFI:T:WPA;S:K%C3%BC%E2%82%AC;P:12345678;;" },
};

TEST(uris)
{
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct str got =
            wifi_uri(c.run.arena, str_from(CASES[i].name), CASES[i].security, str_from(CASES[i].passphrase));
        CHECK_TEXT(CASES[i].what, got, str_from(CASES[i].want));
    }
    check_run_end(&c);
}

/* Versions at level M, 8-bit data, by ISO/IEC 18004 table 7 (from memory): 1 holds 14 octets, 2 holds 26, 3 holds 42, 10 holds 213, 40
 * holds 2331; version v has 17 + 4 v modules along a side. */
TEST(codes)
{
    struct check_run c = check_run_begin();
    static const struct {
        size_t n_octets;
        uint32_t side;
    } SIZES[] = { { 14, 21 }, { 15, 25 }, { 26, 25 }, { 27, 29 }, { 42, 29 }, { 213, 57 }, { 214, 61 }, { 2331, 177 } };
    char text[2400];
    memset(text, '~', sizeof text);
    for (size_t i = 0; i < RT_COUNT(SIZES); i++) {
        struct qr qr = { 0 };
        CHECK_OK(&c, qr_make(c.run.arena, (struct str){ text, SIZES[i].n_octets }, &qr, &c.problems));
        CHECK_NEAR("side", qr.n, SIZES[i].side, 0, "modules");
        CHECK_NEAR("with its quiet zone", qr_whole_mm(&qr, qr.n), SIZES[i].side + 8, 1e-9, "modules");
    }
    struct qr qr = { 0 };
    CHECK("too long", qr_make(c.run.arena, (struct str){ text, 2332 }, &qr, &c.problems) == RT_LIMIT);
    check_run_end(&c);
}

/* The corners' finder patterns, 7 x 7 with a light ring, parted by a light line (ISO/IEC 18004, 5.3.2; from memory). */
TEST(finders)
{
    struct check_run c = check_run_begin();
    static const char *const FINDER[] = { "1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111" };
    struct qr qr = { 0 };
    CHECK_OK(&c, qr_make(c.run.arena, STR("WIFI:S:a;;"), &qr, &c.problems));
    const uint32_t corners[][2] = { { 0, 0 }, { qr.n - 7, 0 }, { 0, qr.n - 7 } };
    for (size_t k = 0; k < RT_COUNT(corners); k++)
        for (uint32_t y = 0; y < 7; y++)
            for (uint32_t x = 0; x < 7; x++)
                CHECK("finder", qr.dark[(corners[k][1] + y) * qr.n + corners[k][0] + x] == (FINDER[y][x] == '1'));
    check_run_end(&c);
}
