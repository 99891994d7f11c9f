/* The tables of fields are sound: what the compiler cannot check about them. */
#include "check.h"
#include "house/field_int.h"

#include <string.h>

static void check_shape(const struct shape *shape);

static void check_words_are_keys(const struct shape *shape, const char *list)
{
    for (const char *p = list; p && *p;) {
        const size_t n = strcspn(p, " |");
        if (n)
            CHECK(p, shape_field(shape, (struct str){ p, n }) != NULL);
        p += n + (p[n] != '\0');
    }
}

static void check_field(const struct shape *shape, const struct field *f)
{
    const bool has_words = f->type == FIELD_ENUM || f->type == FIELD_BITS;
    const bool names_something = f->type == FIELD_REF || f->type == FIELD_REFS;
    CHECK(f->key, f->doc && f->doc[0]);
    CHECK(f->key, f->offset < shape->size);
    CHECK(f->key, f->lo <= f->hi);
    CHECK(f->key, !has_words || (f->words && f->words->n > 0));
    CHECK(f->key, f->type != FIELD_BITS || f->words->n <= 32);
    CHECK(f->key, !names_something || (f->names && (f->names & (f->names - 1)) == 0));
    if (f->type == FIELD_NUMBER && f->need == NEED_DEFAULT && !f->words)
        CHECK(f->key, f->def >= f->lo && f->def <= f->hi);
    if (f->type == FIELD_ENUM && f->need == NEED_DEFAULT)
        CHECK(f->key, f->def >= 0 && f->def < f->words->n);
    for (uint32_t i = 0; f->words && i < f->words->n; i++)
        CHECK(f->key, f->words->v[i] && f->words->v[i][0]);
    for (uint32_t i = 0; i < shape->n_fields; i++)
        CHECK(f->key, &shape->fields[i] == f || strcmp(shape->fields[i].key, f->key) != 0);
    if (f->of) {
        CHECK(f->key, f->item_size == f->of->size);
        check_shape(f->of);
    }
}

static void check_shape(const struct shape *shape)
{
    CHECK(shape->a_name, shape->n_fields <= 64 && shape->doc);
    for (uint32_t i = 0; i < shape->n_fields; i++)
        check_field(shape, &shape->fields[i]);
    for (uint32_t i = 0; i < shape->n_variants; i++) {
        const struct field *kind = shape_field(shape, STR("kind"));
        CHECK(shape->a_name, kind && kind->words->n == shape->n_variants);
        CHECK_TEXT("word of the variant", str_from(shape->variants[i].word), str_from(kind->words->v[i]));
        check_words_are_keys(shape, shape->variants[i].must);
        check_words_are_keys(shape, shape->variants[i].may);
    }
    check_words_are_keys(shape, shape->one_of);
    check_words_are_keys(shape, shape->any_of);
    check_words_are_keys(shape, shape->short_key);
}

TEST(rows_of_the_house_file) { check_shape(&SHAPE_HOUSE); }
TEST(rows_of_the_parts_file) { check_shape(&SHAPE_PARTS); }

/* Every key of a promise belongs to some kind; those that all take are left out of the lists. */
TEST(no_key_of_a_promise_is_in_vain)
{
    for (uint32_t i = 0; i < SHAPE_PROMISE.n_fields; i++) {
        const struct field *f = &SHAPE_PROMISE.fields[i];
        bool is_taken = f->need == NEED_REQUIRED;
        for (uint32_t k = 0; k < SHAPE_PROMISE.n_variants; k++)
            is_taken = is_taken || variant_takes(&SHAPE_PROMISE, &SHAPE_PROMISE.variants[k], f);
        CHECK(f->key, is_taken);
    }
}

TEST(units_are_read_off_the_keys)
{
    static const struct {
        const char *key, *unit;
    } CASES[] = {
        { "at_m", "metres" },
        { "outer_mm", "millimetres" },
        { "area_mm2", "square millimetres" },
        { "level_dbm", "dBm" },
        { "gain_dbi", "dBi" },
        { "loss_db", "dB" },
        { "down_mbps", "Mb/s" },
        { "faces_deg", "degrees" },
        { "temperature_degc", "degrees Celsius" },
        { "frames_per_s", "a second" },
        { "streams", "" },
        { "capacity_wh", "watt-hours" },
        { "price_per_m", "of the currency for each metre" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_TEXT(CASES[i].key, str_from(key_unit(CASES[i].key)), str_from(CASES[i].unit));
}

/* Texts at the edge of what their standard allows. */
TEST(formats_of_texts)
{
    static const struct {
        enum text_format format;
        const char *text;
        bool want;
        const char *source;
    } CASES[] = {
        { TEXT_DATE, "2024-02-29", true, "Gregorian calendar: divisible by 4" },
        { TEXT_DATE, "2023-02-29", false, "Gregorian calendar" },
        { TEXT_DATE, "2100-02-29", false, "Gregorian calendar: a century" },
        { TEXT_DATE, "2000-02-29", true, "Gregorian calendar: divisible by 400" },
        { TEXT_DATE, "2026-04-31", false, "Gregorian calendar" },
        { TEXT_DATE, "2026-13-01", false, "Gregorian calendar" },
        { TEXT_IPV4, "192.168.1.255", true, "RFC 791" },
        { TEXT_IPV4, "192.168.1.256", false, "RFC 791: an octet" },
        { TEXT_IPV4, "192.168.1", false, "four octets" },
        { TEXT_IPV4_SUBNET, "10.0.0.0/8", true, "RFC 4632" },
        { TEXT_IPV4_SUBNET, "10.0.0.1/8", false, "RFC 4632, 3.1: no bits behind the prefix" },
        { TEXT_IPV4_SUBNET, "0.0.0.0/0", true, "RFC 4632" },
        { TEXT_IPV4_SUBNET, "10.0.0.0/33", false, "32 bits" },
        { TEXT_IPV6_SUBNET, "2001:db8::/32", true, "RFC 4291, 2.3; RFC 3849" },
        { TEXT_IPV6_SUBNET, "2001:db8::1/32", false, "no bits behind the prefix" },
        { TEXT_IPV6_SUBNET, "::/129", false, "128 bits" },
        { TEXT_SUBNET, "fd00::/8", true, "RFC 4193" },
        { TEXT_MAC, "02:00:5E:10:20:3f", true, "IEEE 802: six octets" },
        { TEXT_MAC, "02:00:5E:10:20", false, "IEEE 802: six octets" },
        { TEXT_PORTS, "65535", true, "RFC 768, RFC 9293: 16 bits" },
        { TEXT_PORTS, "65536", false, "16 bits" },
        { TEXT_PORTS, "0", false, "reserved (RFC 6335, 6)" },
        { TEXT_PORTS, "5010-5000", false, "a range rises" },
        { TEXT_DOMAIN, "backup.example", true, "RFC 1123, 2.1; RFC 2606" },
        { TEXT_DOMAIN, "-a.example", false, "RFC 1123, 2.1" },
        { TEXT_DOMAIN, "a..example", false, "RFC 1035, 2.3.1: no empty label" },
        { TEXT_DOMAIN, "example", false, "ours: a name with a dot" },
        { TEXT_DNS_SD, "_ipp._tcp", true, "RFC 6763, 7" },
        { TEXT_DNS_SD, "ipp._tcp", false, "RFC 6763, 7: an underscore" },
        { TEXT_SSID, "12345678901234567890123456789012", true, "IEEE 802.11: 32 octets" },
        { TEXT_SSID, "123456789012345678901234567890123", false, "IEEE 802.11: 32 octets" },
        { TEXT_TIME_ZONE, "Europe/London", true, "IANA time zone database" },
        { TEXT_TIME_ZONE, "Europe", false, "a folder of it" },
        { TEXT_TIME_ZONE, "../../etc/passwd", false, "no way out of it" },
        { TEXT_TIME_ZONE, "/etc/localtime", false, "no way out of it" },
        { TEXT_COUNTRY, "GB", true, "ISO 3166-1" },
        { TEXT_COUNTRY, "gb", false, "ISO 3166-1: capitals" },
        { TEXT_CURRENCY, "EUR", true, "ISO 4217" },
        { TEXT_CURRENCY, "euro", false, "ISO 4217" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK(CASES[i].text, text_format_row(CASES[i].format)->is_right(str_from(CASES[i].text)) == CASES[i].want);
}
