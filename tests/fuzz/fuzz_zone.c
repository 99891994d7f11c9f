/* Zone files of the system's time zone database: binary, RFC 8536. */
#include "fuzz.h"
#include "reach/wall_clock.h"

enum { N_CHANGES = 40 };

static void put_clock(struct buf *out, const struct wall_clock *c, int64_t from_s)
{
    struct clock_change change = { .at_s = from_s, .offset_s = wall_clock_offset_s(c, from_s) };
    buf_printf(out, "\nfrom %lld: %d", (long long)from_s, (int)change.offset_s);
    for (int i = 0; i < N_CHANGES; i++) {
        const struct clock_change last = change;
        if (!wall_clock_next_change(c, last.at_s, &change))
            return;
        fuzz_check(change.at_s > last.at_s && change.offset_s != last.offset_s, "a change comes later and changes");
        fuzz_check(wall_clock_offset_s(c, change.at_s) == change.offset_s, "a change holds from its instant on");
        fuzz_check(wall_clock_offset_s(c, change.at_s - 1) == last.offset_s, "nothing changes between");
        buf_printf(out, " %lld %d", (long long)change.at_s, (int)change.offset_s);
    }
}

static void read_zone(const struct run *run, struct str bytes, struct buf *out)
{
    struct wall_clock c;
    bool failed = false;
    const char *wrong = wall_clock_parse(run->arena, bytes, &c, &failed);
    if (wrong || failed) {
        buf_printf(out, "%s %d", wrong ? wrong : "", failed);
        return;
    }
    static const int64_t FROM_S[] = { -(INT64_C(1) << 60), -3000000000, 0, 1800000000, 40000000000, INT64_C(1) << 59 };
    for (size_t i = 0; i < RT_COUNT(FROM_S); i++)
        put_clock(out, &c, FROM_S[i]);
}

int fuzz_zone(const uint8_t *p, size_t n) { return fuzz_twice(p, n, read_zone); }
FUZZ_TARGET(fuzz_zone);
