/* Numbers: how they are written, and what to write instead of one that has its unit beside it or is written some other way. */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "house/reader_int.h"

size_t number_digits(struct str s, size_t i)
{
    size_t n = 0;
    while (i + n < s.n && s.p[i + n] >= '0' && s.p[i + n] <= '9')
        n++;
    return n;
}

/* Length of the number that s begins with, 0 when it begins with none.  The grammar of YAML 1.2's core schema for
 * decimal numbers, less leading zeros (octal to some readers). */
static size_t number_length(struct str s)
{
    size_t i = s.n && (s.p[0] == '-' || s.p[0] == '+');
    const size_t whole = number_digits(s, i);
    if (whole > 1 && s.p[i] == '0')
        return 0;
    i += whole;
    size_t fraction = 0;
    if (i < s.n && s.p[i] == '.') {
        fraction = number_digits(s, i + 1);
        if (whole + fraction > 0)
            i += 1 + fraction;
    }
    if (whole + fraction == 0)
        return 0;
    if (i + 1 < s.n && (s.p[i] == 'e' || s.p[i] == 'E')) {
        const size_t sign = s.p[i + 1] == '-' || s.p[i + 1] == '+';
        const size_t exponent = number_digits(s, i + 1 + sign);
        if (exponent)
            i += 1 + sign + exponent;
    }
    return i;
}

bool number_parse(struct str s, double *out)
{
    char text[64];
    if (s.n == 0 || s.n >= sizeof text || number_length(s) != s.n)
        return false;
    memcpy(text, s.p, s.n);
    text[s.n] = '\0';
    *out = strtod(text, NULL);
    return isfinite(*out);
}

/* ---- with a unit beside it ---- */

/* What people write behind a number, and how many of the key's unit (as key_unit() has it) it is.  A foot is 0.3048 m and an inch
 * 0.0254 m (international, 1959). */
static const struct {
    const char *unit, *said;
    double times;
    bool is_round; /* the same in other words; else what comes out is rounded */
} SAID[] = {
    { "metres", "m", 1, true },
    { "metres", "cm", 0.01, true },
    { "metres", "mm", 0.001, true },
    { "metres", "km", 1000, true },
    { "metres", "ft", 0.3048, false },
    { "metres", "feet", 0.3048, false },
    { "metres", "foot", 0.3048, false },
    { "metres", "'", 0.3048, false },
    { "metres", "\u2032", 0.3048, false },
    { "metres", "in", 0.0254, false },
    { "metres", "inch", 0.0254, false },
    { "metres", "inches", 0.0254, false },
    { "metres", "\"", 0.0254, false },
    { "metres", "\u2033", 0.0254, false },
    { "metres", "''", 0.0254, false },
    { "metres", "yd", 0.9144, false },
    { "millimetres", "mm", 1, true },
    { "millimetres", "cm", 10, true },
    { "millimetres", "m", 1000, true },
    { "millimetres", "in", 25.4, false },
    { "millimetres", "\"", 25.4, false },
    { "Mb/s", "Mb/s", 1, true },
    { "Mb/s", "mbps", 1, true },
    { "Mb/s", "mbit/s", 1, true },
    { "Mb/s", "m", 1, true },
    { "Mb/s", "gb/s", 1000, true },
    { "Mb/s", "gbps", 1000, true },
    { "Mb/s", "gbit/s", 1000, true },
    { "Mb/s", "g", 1000, true },
    { "Mb/s", "kb/s", 0.001, true },
    { "Mb/s", "kbps", 0.001, true },
    { "Mb/s", "kbit/s", 0.001, true },
    { "MHz", "mhz", 1, true },
    { "MHz", "ghz", 1000, true },
    { "GHz", "ghz", 1, true },
    { "GHz", "mhz", 0.001, true },
    { "watts", "w", 1, true },
    { "watts", "kw", 1000, true },
    { "watt-hours", "wh", 1, true },
    { "watt-hours", "kwh", 1000, true },
    { "gigabytes", "gb", 1, true },
    { "gigabytes", "tb", 1000, true },
    { "gigabytes", "mb", 0.001, true },
    { "gigabytes a month", "gb", 1, true },
    { "gigabytes a month", "tb", 1000, true },
    { "terabytes", "tb", 1, true },
    { "terabytes", "gb", 0.001, true },
    { "milliseconds", "ms", 1, true },
    { "milliseconds", "s", 1000, true },
    { "minutes", "min", 1, true },
    { "minutes", "minutes", 1, true },
    { "minutes", "h", 60, true },
    { "dBm", "dbm", 1, true },
    { "dBi", "dbi", 1, true },
    { "dB", "db", 1, true },
    { "degrees", "deg", 1, true },
    { "degrees", "\u00b0", 1, true },
    { "degrees Celsius", "\u00b0C", 1, true },
    { "degrees Celsius", "C", 1, true },
};

static struct str without_spaces(struct str s)
{
    while (s.n && (s.p[0] == ' ' || s.p[0] == '\t')) {
        s.p++;
        s.n--;
    }
    return s;
}

/* "8ft", "8' 8\"": a number with a unit, once or twice, in the unit of the key.  False: it is none of these. */
static bool convert(struct str s, const char *unit, double *value, bool *is_round)
{
    *value = 0;
    *is_round = true;
    for (int pieces = 0; s.n && pieces < 2; pieces++) {
        const size_t n = number_length(s);
        double number;
        if (!n || !number_parse((struct str){ s.p, n }, &number))
            return false;
        struct str said = without_spaces((struct str){ s.p + n, s.n - n });
        size_t m = 0;
        while (m < said.n && (said.p[m] < '0' || said.p[m] > '9') && said.p[m] != ' ')
            m++;
        if (strcmp(unit, "Mb/s") == 0 && memchr(said.p, 'B', m)) /* bytes, or shouted bits: nobody knows */
            return false;
        size_t i = 0;
        while (i < RT_COUNT(SAID) && !(strcmp(SAID[i].unit, unit) == 0 && strlen(SAID[i].said) == m &&
                                       strncasecmp(SAID[i].said, said.p, m) == 0))
            i++;
        if (i == RT_COUNT(SAID))
            return false;
        *value += number * SAID[i].times;
        *is_round = *is_round && SAID[i].is_round;
        s = without_spaces((struct str){ said.p + m, said.n - m });
    }
    return s.n == 0;
}

static const char *unit_hint(struct reader *rd, const struct field *f, const char *unit, struct str s, size_t n)
{
    double value;
    bool is_round;
    const struct str behind = without_spaces((struct str){ s.p + n, s.n - n });
    if (str_is(behind, "%") && f->hi == 1 && number_parse((struct str){ s.p, n }, &value))
        return reader_text(rd, "write %.10g; a share is from 0 to 1", value / 100);
    if (unit[0] && convert(s, unit, &value, &is_round)) {
        double same;
        if (number_parse((struct str){ s.p, n }, &same) && same == value)
            return reader_text(rd, "write %.*s; the unit (%s) is in the key", (int)n, s.p, unit);
        return reader_text(rd, is_round ? "write %.10g; the key is in %s" : "write %.3g; the key is in %s", value,
                           unit);
    }
    return unit[0] ? reader_text(rd, "write the number alone; it is in %s, as the key says", unit)
                   : reader_text(rd, "write %.*s alone", (int)n, s.p);
}

const char *number_hint(struct reader *rd, const struct field *f, const char *unit, const struct yaml_node *node)
{
    double value;
    const struct str s = without_spaces(node->text);
    if (node->kind != YAML_WORD)
        return NULL;
    if (node->is_null)
        return "give it a number, or leave the key out";
    if (node->is_quoted && number_parse(s, &value))
        return reader_text(rd, "write it without quotes: %.*s", STR_ARG(s));
    const size_t n = number_length(s);
    if (s.n > 1 && s.p[0] == '0' && (s.p[1] == 'x' || s.p[1] == 'o' || s.p[1] == 'b'))
        return "write it as a decimal number";
    if (s.n > 1 && s.p[0] == '0' && s.p[1] >= '0' && s.p[1] <= '9')
        return "write it without the leading zero";
    if (n && n + 1 < s.n && s.p[n] == ',' && number_digits(s, n + 1) == s.n - n - 1)
        return reader_text(rd, "the decimal sign is a point: %.*s.%.*s", (int)n, s.p, (int)(s.n - n - 1), s.p + n + 1);
    if (n && n < s.n && s.p[n] == '_')
        return "write the digits without anything between them";
    if (n && n < s.n)
        return unit_hint(rd, f, unit, s, n);
    if (str_is(s, ".nan") || str_is(s, ".NaN") || str_is(s, ".inf") || str_is(s, "-.inf") || str_is(s, "nan") ||
        str_is(s, "inf"))
        return "a number must be finite; leave the key out if it is not known";
    return NULL;
}
