#include "reach/ruleset_int.h"

enum { MINUTE_S = 60, DAY_S = 24 * 60 * 60 };

static bool digits(struct str text, size_t *i, size_t n, unsigned *out)
{
    *out = 0;
    for (size_t k = 0; k < n; k++, (*i)++) {
        if (*i >= text.n || text.p[*i] < '0' || text.p[*i] > '9')
            return false;
        *out = *out * 10 + (unsigned)(text.p[*i] - '0');
    }
    return true;
}

static bool letter(struct str text, size_t *i, char c) { return *i < text.n && text.p[(*i)++] == c; }

/* 22:00 or 22:00:59 */
static bool hour_read(struct str text, size_t i, axis_value *out)
{
    unsigned h = 0, m = 0, s = 0;
    if (!digits(text, &i, 2, &h) || !letter(text, &i, ':') || !digits(text, &i, 2, &m))
        return false;
    if (i < text.n && (!letter(text, &i, ':') || !digits(text, &i, 2, &s)))
        return false;
    *out = h * 3600 + m * 60 + s;
    return i == text.n && h < 24 && m < 60 && s < 60;
}

bool listing_clock(enum value_kind kind, struct str text, axis_value *out)
{
    if (kind == VALUE_HOUR)
        return hour_read(text, 0, out);
    unsigned year = 0, month = 0, day = 0;
    axis_value second = 0;
    size_t i = 0;
    if (!digits(text, &i, 4, &year) || !letter(text, &i, '-') || !digits(text, &i, 2, &month) ||
        !letter(text, &i, '-') || !digits(text, &i, 2, &day) || !letter(text, &i, ' ') || !hour_read(text, i, &second))
        return false;
    struct tm tm = { .tm_year = (int)year - 1900, .tm_mon = (int)month - 1, .tm_mday = (int)day };
    const time_t t = timegm(&tm);
    if (t < 0 || tm.tm_mon != (int)month - 1 || tm.tm_mday != (int)day)
        return false;
    *out = (axis_value)t + second;
    return true;
}

/* Values as whole minutes.  Ranges of nft hold both ends: "06:00"-"22:00" holds one second of the minute that begins at 22:00,
 * which is left out, and told. */
static bool whole_minutes(struct ruleset_reader *r, const json_t *expression, enum value_kind kind, span_list *values)
{
    if (kind == VALUE_DAY)
        return true;
    const axis_value max = listing_value_max(kind, 0, FAMILY_IPV4);
    for (uint32_t i = 0; i < values->n; i++) {
        struct span *s = &values->v[i];
        if (s->hi % MINUTE_S == 0 && s->hi > s->lo) {
            s->hi--;
            listing_note(r, "%.*s: the last second of its time is not judged", STR_ARG(r->where));
        }
        if (s->lo % MINUTE_S != 0 || (s->hi != max && s->hi % MINUTE_S != MINUTE_S - 1))
            return listing_fail(r, RT_SHAPE, expression, NULL, "its time begins or ends within a minute");
    }
    return true;
}

bool listing_minutes(struct ruleset_reader *r, const json_t *expression, enum value_kind kind, span_list values,
                     span_list *out)
{
    if (!r->week)
        return listing_fail(r, RT_SHAPE, expression, NULL,
                            "it goes by the clock, and no week was given in which to judge it");
    if (!whole_minutes(r, expression, kind, &values))
        return false;
    VEC(struct span) held = { 0 };
    for (uint32_t m = 0; m < r->week->n_minutes && !r->failed; m++) {
        const int64_t unix_s = r->week->first_monday_s + (int64_t)m * MINUTE_S;
        const int64_t day = unix_s / DAY_S;
        const axis_value value = kind == VALUE_HOUR  ? (axis_value)(unix_s % DAY_S)
                                 : kind == VALUE_DAY ? (axis_value)((day + 4) % 7) /* 1970-01-01: a Thursday */
                                                     : (axis_value)unix_s;
        if (!spans_hold(values, value))
            continue;
        if (held.n && held.v[held.n - 1].hi + 1 == m)
            held.v[held.n - 1].hi = m;
        else
            r->failed |= !VEC_PUSH(r->run->arena, &held, ((struct span){ m, m }));
    }
    *out = (span_list){ held.v, held.n };
    return !r->failed;
}
