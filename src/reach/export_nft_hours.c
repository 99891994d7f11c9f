#include "reach/export_nft_int.h"

#include <stdlib.h>

/* A stretch of one day of the week in UTC, the last second included. */
struct piece {
    uint32_t from, to; /* seconds of the day */
    unsigned days;     /* bits, Monday = 1 */
};

enum { DAY_S = 24 * 60 * 60, DAYS = 7, EVERY_DAY = (1 << DAYS) - 1 };

typedef VEC(struct piece) piece_vec;

/* Days with the same stretch share a piece. */
static bool add_piece(struct arena *a, piece_vec *pieces, uint32_t from, uint32_t to, unsigned day)
{
    for (uint32_t i = 0; i < pieces->n; i++)
        if (pieces->v[i].from == from && pieces->v[i].to == to) {
            pieces->v[i].days |= 1u << day;
            return true;
        }
    return VEC_PUSH(a, pieces, ((struct piece){ from, to, 1u << day }));
}

static int by_time(const void *x, const void *y)
{
    const struct piece *a = x, *b = y;
    if (a->from != b->from)
        return a->from < b->from ? -1 : 1;
    return a->to < b->to ? -1 : a->to > b->to;
}

/* Cut at midnight: a range over midnight would mean "not in the rest of the day" to nft, with the end seconds on the
 * wrong side. */
static piece_vec pieces_of(struct arena *a, span_list week, bool *failed)
{
    piece_vec pieces = { 0 };
    for (uint32_t i = 0; i < week.n; i++) {
        uint64_t from = (uint64_t)week.v[i].lo;
        const uint64_t to = (uint64_t)week.v[i].hi;
        while (from <= to && from < DAYS * DAY_S) {
            const uint64_t midnight = from / DAY_S * DAY_S + DAY_S;
            const uint64_t end = to < midnight ? to : midnight - 1;
            if (!add_piece(a, &pieces, (uint32_t)(from % DAY_S), (uint32_t)(end % DAY_S), (unsigned)(from / DAY_S))) {
                *failed = true;
                return pieces;
            }
            from = midnight;
        }
    }
    if (pieces.n > 1)
        qsort(pieces.v, pieces.n, sizeof *pieces.v, by_time);
    return pieces;
}

/* Three days and more that follow each other become a range; to nft the week begins on Sunday. */
static void put_days(struct buf *out, unsigned days)
{
    static const char *const NAMES[DAYS] = { "Monday", "Tuesday",  "Wednesday", "Thursday",
                                             "Friday", "Saturday", "Sunday" };
    if (days == EVERY_DAY)
        return;
    const bool one = (days & (days - 1)) == 0;
    buf_text(out, one ? " meta day " : " meta day { ");
    const char *comma = "";
    for (unsigned d = 0; d < DAYS; d++) {
        if (!(days & 1u << d))
            continue;
        unsigned last = d;
        while (last + 1 < DAYS - 1 && days & 1u << (last + 1))
            last++;
        buf_printf(out, "%s\"%s\"", comma, NAMES[d]);
        comma = ", ";
        if (last < d + 2)
            continue;
        buf_printf(out, "-\"%s\"", NAMES[last]);
        d = last;
    }
    if (!one)
        buf_text(out, " }");
}

static void put_stretch(struct buf *out, const struct kernel_span *s)
{
    if (s->from_s > 0)
        buf_printf(out, " meta time >= %lld", (long long)s->from_s);
    if (s->to_s < INT64_MAX)
        buf_printf(out, " meta time < %lld", (long long)s->to_s);
}

static struct str condition(struct arena *a, const struct kernel_span *s, const struct piece *piece, bool *failed)
{
    struct buf out = { .arena = a };
    put_stretch(&out, s);
    if (piece) {
        put_days(&out, piece->days);
        if (piece->from > 0 || piece->to < DAY_S - 1)
            buf_printf(&out, " meta hour %u-%u", (unsigned)piece->from, (unsigned)piece->to);
    }
    *failed |= out.failed;
    const struct str text = buf_done(&out);
    return text.n ? (struct str){ text.p + 1, text.n - 1 } : text; /* the leading space */
}

struct str nft_utc(struct arena *a, int64_t unix_s)
{
    const time_t t = (time_t)unix_s;
    struct tm tm;
    char text[64];
    if (!gmtime_r(&t, &tm) || strftime(text, sizeof text, "%Y-%m-%d %H:%M", &tm) == 0)
        return STR("");
    return str_dup(a, str_from(text));
}

/* For people: the stretch of a condition. */
static struct str stretch_words(struct arena *a, const struct kernel_span *s)
{
    struct buf out = { .arena = a };
    if (s->from_s > 0)
        buf_printf(&out, "from %.*s ", STR_ARG(nft_utc(a, s->from_s)));
    if (s->to_s < INT64_MAX)
        buf_printf(&out, "until %.*s ", STR_ARG(nft_utc(a, s->to_s)));
    if (out.n)
        buf_text(&out, "UTC");
    return buf_done(&out);
}

nft_time_list nft_time_conditions(struct arena *a, const kernel_span_list *spans, bool *failed)
{
    VEC(struct nft_time) all = { 0 };
    for (uint32_t i = 0; i < spans->n; i++) {
        const struct kernel_span *s = &spans->v[i];
        const piece_vec pieces = pieces_of(a, s->week_seconds, failed);
        const bool throughout = s->week_seconds.n == 0;
        for (uint32_t k = 0; k < (throughout ? 1 : pieces.n); k++) {
            const struct nft_time t = { condition(a, s, throughout ? NULL : &pieces.v[k], failed),
                                        k ? STR("") : stretch_words(a, s) };
            if (!VEC_PUSH(a, &all, t))
                *failed = true;
        }
    }
    return (nft_time_list){ all.v, all.n };
}
