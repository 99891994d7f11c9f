#include "reach/wall_clock.h"

#include <string.h>
#include <unistd.h>

#include "base/file.h"

enum {
    DAY_S = 86400,
    ZONE_FILE_MAX = 1 << 18,
    NAME_MAX_BYTES = 60,
    HEADER_BYTES = 44,
    OFFSET_MAX_S = 26 * 3600, /* RFC 8536, 3.2: between -25 h and 26 h */
    RULE_HOURS_MAX = 167,     /* RFC 8536, 3.3.1 */
};

/* Far beyond every date that matters, and near enough that no sum of times overflows; old files begin at -2^59. */
static const int64_t TIME_MAX_S = INT64_C(1) << 60;

/* ---- days ---- */

int64_t floor_div(int64_t x, int64_t by)
{
    const int64_t q = x / by;
    return x % by < 0 ? q - 1 : q;
}

/* Years that begin in March put the leap day last; 400 of them are 146097 days. */
int64_t day_number(int64_t year, int month, int day)
{
    const int64_t y = month <= 2 ? year - 1 : year, era = floor_div(y, 400), year_of_era = y - era * 400;
    const int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    return era * 146097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - 719468;
}

void day_date(int64_t day, int64_t *year, int *month, int *day_of_month)
{
    const int64_t z = day + 719468, era = floor_div(z, 146097), day_of_era = z - era * 146097;
    const int64_t year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    const int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    const int64_t from_march = (5 * day_of_year + 2) / 153;
    *day_of_month = (int)(day_of_year - (153 * from_march + 2) / 5 + 1);
    *month = (int)(from_march < 10 ? from_march + 3 : from_march - 9);
    *year = year_of_era + era * 400 + (*month <= 2);
}

int day_weekday(int64_t day)
{
    const int64_t d = day + 3; /* 1 January 1970 was a Thursday */
    return (int)(d - floor_div(d, 7) * 7);
}

/* ---- the rules of the years to come: POSIX TZ in a zone file's last line ---- */

struct cursor {
    const char *p, *end;
    bool ok;
};

static bool next_is(struct cursor *c, char want)
{
    if (c->p >= c->end || *c->p != want)
        return false;
    c->p++;
    return true;
}

static int32_t number(struct cursor *c, int32_t least, int32_t most)
{
    int32_t value = 0;
    const char *from = c->p;
    while (c->p < c->end && *c->p >= '0' && *c->p <= '9' && c->p - from < 4)
        value = value * 10 + (*c->p++ - '0');
    c->ok = c->ok && c->p > from && value >= least && value <= most;
    return value;
}

static bool is_letter(char ch) { return (ch >= 'a' && ch <= 'z') || (ch >= 'A' && ch <= 'Z'); }
static bool is_quotable(char ch) { return is_letter(ch) || (ch >= '0' && ch <= '9') || ch == '+' || ch == '-'; }

/* The abbreviation: three letters or more, or more kinds of them in <>. */
static void skip_abbreviation(struct cursor *c)
{
    const bool is_quoted = next_is(c, '<');
    const char *from = c->p;
    while (c->p < c->end && (is_quoted ? is_quotable(*c->p) : is_letter(*c->p)))
        c->p++;
    c->ok = c->ok && c->p - from >= 3 && (!is_quoted || next_is(c, '>'));
}

/* [+-]h[h[h]][:mm[:ss]] */
static int32_t time_of(struct cursor *c, int32_t hours_most)
{
    const bool is_negative = next_is(c, '-');
    if (!is_negative)
        (void)next_is(c, '+');
    int32_t value = number(c, 0, hours_most) * 3600;
    if (next_is(c, ':'))
        value += number(c, 0, 59) * 60;
    if (next_is(c, ':'))
        value += number(c, 0, 59);
    return is_negative ? -value : value;
}

static struct clock_rule rule_of(struct cursor *c)
{
    struct clock_rule r = { .time_s = 2 * 3600 };
    if (next_is(c, 'M')) {
        r.kind = RULE_WEEKDAY;
        r.month = number(c, 1, 12);
        c->ok = next_is(c, '.') && c->ok;
        r.week = number(c, 1, 5);
        c->ok = next_is(c, '.') && c->ok;
        r.weekday = number(c, 0, 6);
    } else {
        r.kind = next_is(c, 'J') ? RULE_DAY_WITHOUT_LEAP : RULE_DAY;
        r.day = number(c, r.kind == RULE_DAY_WITHOUT_LEAP ? 1 : 0, 365);
    }
    if (next_is(c, '/'))
        r.time_s = time_of(c, RULE_HOURS_MAX);
    return r;
}

/* East of Greenwich is negative in POSIX. */
static bool read_rules(struct str text, struct wall_clock *out)
{
    struct cursor c = { text.p, text.p + text.n, true };
    skip_abbreviation(&c);
    out->standard_offset_s = -time_of(&c, 24);
    out->has_summer = c.p < c.end;
    if (out->has_summer) {
        skip_abbreviation(&c);
        out->summer_offset_s = out->standard_offset_s + 3600;
        if (c.p < c.end && *c.p != ',')
            out->summer_offset_s = -time_of(&c, 24);
        c.ok = next_is(&c, ',') && c.ok;
        out->to_summer = rule_of(&c);
        c.ok = next_is(&c, ',') && c.ok;
        out->to_standard = rule_of(&c);
    }
    out->has_rules = c.ok && c.p == c.end;
    return out->has_rules;
}

static int64_t rule_day(const struct clock_rule *r, int64_t year)
{
    if (r->kind == RULE_DAY)
        return day_number(year, 1, 1) + r->day;
    if (r->kind == RULE_DAY_WITHOUT_LEAP) {
        const bool has_leap_day = day_number(year, 3, 1) - day_number(year, 2, 28) == 2;
        return day_number(year, 1, 1) + r->day - 1 + (has_leap_day && r->day > 59);
    }
    const int64_t first = day_number(year, r->month, 1);
    const int64_t next = r->month == 12 ? day_number(year + 1, 1, 1) : day_number(year, r->month + 1, 1);
    const int wanted = (r->weekday + 6) % 7; /* Monday 0 */
    int64_t day = first + (wanted - day_weekday(first) + 7) % 7 + 7 * (r->week - 1);
    while (day >= next)
        day -= 7;
    return day;
}

/* The two changes of a year, not in order. */
static void rule_changes(const struct wall_clock *c, int64_t year, struct clock_change out[2])
{
    out[0].at_s = rule_day(&c->to_summer, year) * DAY_S + c->to_summer.time_s - c->standard_offset_s;
    out[0].offset_s = c->summer_offset_s;
    out[1].at_s = rule_day(&c->to_standard, year) * DAY_S + c->to_standard.time_s - c->summer_offset_s;
    out[1].offset_s = c->standard_offset_s;
}

static int64_t year_of(int64_t unix_s)
{
    int64_t year;
    int month, day;
    day_date(floor_div(unix_s, DAY_S), &year, &month, &day);
    return year;
}

/* The last change at or before the instant; of two at once the one of the later year (summer time that never ends is
 * written as an end and a beginning at one instant).  A change may spill into the next year, behind that year's first. */
static int32_t offset_by_rules(const struct wall_clock *c, int64_t unix_s)
{
    if (!c->has_summer)
        return c->standard_offset_s;
    const int64_t year = year_of(unix_s);
    struct clock_change last = { INT64_MIN, c->standard_offset_s };
    for (int64_t y = year - 2; y <= year + 1; y++) {
        struct clock_change both[2];
        rule_changes(c, y, both);
        for (int k = 0; k < 2; k++)
            if (both[k].at_s <= unix_s && both[k].at_s >= last.at_s)
                last = both[k];
    }
    return last.offset_s;
}

/* ---- asking ---- */

/* Index behind the last change at or before the instant. */
static uint32_t changes_until(const struct wall_clock *c, int64_t unix_s)
{
    uint32_t lo = 0, hi = c->changes.n;
    while (lo < hi) {
        const uint32_t mid = lo + (hi - lo) / 2;
        if (c->changes.v[mid].at_s <= unix_s)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

int32_t wall_clock_offset_s(const struct wall_clock *c, int64_t unix_s)
{
    const uint32_t k = changes_until(c, unix_s);
    if (k == c->changes.n && c->has_rules)
        return offset_by_rules(c, unix_s);
    return k == 0 ? c->first_offset_s : c->changes.v[k - 1].offset_s;
}

static bool is_change(const struct wall_clock *c, int64_t at_s)
{
    return wall_clock_offset_s(c, at_s) != wall_clock_offset_s(c, at_s - 1);
}

bool wall_clock_next_change(const struct wall_clock *c, int64_t after_s, struct clock_change *out)
{
    for (uint32_t k = changes_until(c, after_s); k < c->changes.n; k++)
        if (is_change(c, c->changes.v[k].at_s)) {
            *out = (struct clock_change){ c->changes.v[k].at_s, wall_clock_offset_s(c, c->changes.v[k].at_s) };
            return true;
        }
    if (!c->has_rules || !c->has_summer)
        return false;
    const int64_t last_s = c->changes.n ? c->changes.v[c->changes.n - 1].at_s : INT64_MIN;
    const int64_t from_s = after_s > last_s ? after_s : last_s, year = year_of(from_s);
    bool found = false;
    for (int64_t y = year - 1; y <= year + 2; y++) {
        struct clock_change both[2];
        rule_changes(c, y, both);
        for (int k = 0; k < 2; k++)
            if (both[k].at_s > from_s && is_change(c, both[k].at_s) && (!found || both[k].at_s < out->at_s)) {
                *out = (struct clock_change){ both[k].at_s, wall_clock_offset_s(c, both[k].at_s) };
                found = true;
            }
    }
    return found;
}

/* ---- zone files: RFC 8536, clause 3 ---- */

struct block {
    const unsigned char *p;
    uint32_t n_utc, n_standard, n_leap, n_times, n_types, n_chars;
    unsigned time_bytes;
    char version;
};

static uint32_t u32(const unsigned char *p)
{
    return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

static int64_t time_at(const struct block *b, uint32_t i)
{
    const unsigned char *p = b->p + (size_t)i * b->time_bytes;
    if (b->time_bytes == 4)
        return (int32_t)u32(p);
    return (int64_t)((uint64_t)u32(p) << 32 | u32(p + 4));
}

static uint64_t block_bytes(const struct block *b)
{
    return (uint64_t)b->n_times * (b->time_bytes + 1) + (uint64_t)b->n_types * 6 + b->n_chars +
           (uint64_t)b->n_leap * (b->time_bytes + 4) + b->n_standard + b->n_utc;
}

/* A header and the block behind it; false when the bytes do not hold them. */
static bool block_at(struct str bytes, size_t at, unsigned time_bytes, struct block *b, size_t *end)
{
    if (at > bytes.n || bytes.n - at < HEADER_BYTES || memcmp(bytes.p + at, "TZif", 4) != 0)
        return false;
    const unsigned char *h = (const unsigned char *)bytes.p + at;
    *b = (struct block){ .p = h + HEADER_BYTES,
                         .n_utc = u32(h + 20),
                         .n_standard = u32(h + 24),
                         .n_leap = u32(h + 28),
                         .n_times = u32(h + 32),
                         .n_types = u32(h + 36),
                         .n_chars = u32(h + 40),
                         .time_bytes = time_bytes,
                         .version = (char)h[4] };
    const uint64_t n = block_bytes(b);
    if (n > bytes.n - at - HEADER_BYTES)
        return false;
    *end = at + HEADER_BYTES + (size_t)n;
    return true;
}

static const char *read_changes(struct arena *a, const struct block *b, struct wall_clock *out, bool *failed)
{
    const unsigned char *indices = b->p + (size_t)b->n_times * b->time_bytes, *types = indices + b->n_times;
    if (b->n_types == 0)
        return "it has no local time types";
    if (b->n_leap > 0)
        return "it counts leap seconds, which UNIX time does not";
    for (uint32_t i = 0; i < b->n_types; i++) {
        const int32_t offset_s = (int32_t)u32(types + (size_t)i * 6);
        if (offset_s < -OFFSET_MAX_S || offset_s > OFFSET_MAX_S)
            return "an offset from UTC is beyond a day";
    }
    out->first_offset_s = (int32_t)u32(types);
    out->changes.v = ARENA_ARRAY(a, struct clock_change, b->n_times);
    if (!out->changes.v) {
        *failed = true;
        return NULL;
    }
    for (uint32_t i = 0; i < b->n_times; i++) {
        const struct clock_change change = { time_at(b, i),
                                             indices[i] < b->n_types ? (int32_t)u32(types + indices[i] * 6u) : 0 };
        if (indices[i] >= b->n_types)
            return "a change names a type that is not there";
        if (i > 0 && change.at_s <= out->changes.v[i - 1].at_s)
            return "its changes are not in order";
        if (change.at_s < -TIME_MAX_S || change.at_s > TIME_MAX_S)
            return "a change is beyond all dates";
        out->changes.v[out->changes.n++] = change;
    }
    return NULL;
}

const char *wall_clock_parse(struct arena *a, struct str bytes, struct wall_clock *out, bool *failed)
{
    struct block b;
    size_t end = 0;
    *out = (struct wall_clock){ 0 };
    if (!block_at(bytes, 0, 4, &b, &end))
        return "it is not a zone file (RFC 8536)";
    if (b.version < '2')
        return read_changes(a, &b, out, failed);
    if (!block_at(bytes, end, 8, &b, &end))
        return "its second part is cut off";
    const char *wrong = read_changes(a, &b, out, failed);
    if (wrong || *failed)
        return wrong;
    const char *rules = bytes.p + end;
    const size_t n = bytes.n - end;
    const char *line_end = n > 1 && rules[0] == '\n' ? memchr(rules + 1, '\n', n - 1) : NULL;
    if (!line_end)
        return "its last line is cut off";
    const struct str text = { rules + 1, (size_t)(line_end - rules) - 1 };
    return text.n && !read_rules(text, out) ? "its last line is not understood" : NULL;
}

/* ---- files ---- */

/* Letters, digits and / _ + - only: so no name leaves the folder. */
static bool is_zone_name(struct str name)
{
    if (name.n == 0 || name.n > NAME_MAX_BYTES || name.p[0] == '/' || name.p[name.n - 1] == '/')
        return false;
    for (size_t i = 0; i < name.n; i++)
        if (!is_quotable(name.p[i]) && name.p[i] != '/' && name.p[i] != '_')
            return false;
    return true;
}

enum rt_code wall_clock_read(const struct run *run, struct str name, struct rt_place at, struct wall_clock *out,
                             struct rt_problems *p)
{
    static const char *const FOLDERS[] = { "/usr/share/zoneinfo", "/usr/lib/zoneinfo", "/etc/zoneinfo" };
    struct rt_problems quiet;
    rt_problems_init(&quiet, run->arena);
    enum rt_code code = RT_UNKNOWN_REF;
    struct str bytes = { 0 };
    for (size_t i = 0; i < RT_COUNT(FOLDERS) && code != RT_OK && is_zone_name(name); i++) {
        const char *path = arena_printf(run->arena, "%s/%.*s", FOLDERS[i], STR_ARG(name));
        code = path ? file_read(run->arena, path, ZONE_FILE_MAX, &bytes, &quiet) : RT_NOMEM;
        if (code == RT_NOMEM)
            return rt_fail_memory(p);
    }
    if (code != RT_OK)
        return rt_fail(p, RT_UNKNOWN_REF, at, "is the system's time zone database (tzdata) installed?",
                       "this machine knows no time zone '%.*s'", STR_ARG(name));
    bool failed = false;
    const char *wrong = wall_clock_parse(run->arena, bytes, out, &failed);
    if (failed)
        return rt_fail_memory(p);
    if (wrong)
        return rt_fail(p, RT_SYNTAX, at, "install the system's time zone database (tzdata) anew",
                       "this machine's file of the time zone '%.*s' cannot be used: %s", STR_ARG(name), wrong);
    return RT_OK;
}
