#include "load/line_load.h"

#include <math.h>

#include "base/units.h"

/* ---- what the line takes from each packet ---- */

enum line_framing line_framing_of(const struct line *line)
{
    if (line->framing != FRAMING_BY_KIND)
        return line->framing;
    return line->kind == LINE_DSL ? FRAMING_PTM : line->kind == LINE_CABLE ? FRAMING_DOCSIS : FRAMING_NONE;
}

/* Of a frame, without its header and check sequence (IEEE 802.3). */
enum { LEAST_OF_ETHERNET_BYTES = 46 };

double line_wire_bytes(const struct line *line, double ip_bytes)
{
    const double bytes = ip_bytes + line->overhead_bytes;
    switch (line_framing_of(line)) {
    case FRAMING_ATM:
        return ceil(bytes / 48.0) * 53.0;
    case FRAMING_PTM:
        return bytes + ceil(bytes / 64.0);
    case FRAMING_DOCSIS:
        return fmax(bytes, 64.0);
    case FRAMING_ETHERNET:
        return fmax(bytes, 84.0);
    case FRAMING_BY_KIND:
    case FRAMING_NONE:
        break;
    }
    return fmax(ip_bytes, LEAST_OF_ETHERNET_BYTES) + line->overhead_bytes;
}

/* IPv6 40, TCP 20, time stamps 12. */
enum { PACKET_BYTES = 1500, HEADER_BYTES = 72 };

double line_payload_ratio(const struct line *line)
{
    return (PACKET_BYTES - HEADER_BYTES) / line_wire_bytes(line, PACKET_BYTES);
}

static double line_mbps(const struct line *line, enum load_way way)
{
    return way == LOAD_DOWN ? line->down_mbps : line->up_mbps;
}

double line_capacity_mbps(const struct line *line, enum load_way way)
{
    return line_mbps(line, way) * line_payload_ratio(line);
}

/* ---- the week ---- */

static bool is_worse(const struct line_hour *a, const struct line_hour *b)
{
    if (a->needed_mbps.high > b->needed_mbps.high || a->needed_mbps.high < b->needed_mbps.high)
        return a->needed_mbps.high > b->needed_mbps.high;
    return a->mean_mbps > b->mean_mbps;
}

static enum rt_code sum_of(const struct run *run, const struct demand *d, enum line_part part, enum load_way way,
                           unsigned hour, double scale, struct rate_sum *out, struct rt_problems *p)
{
    return part == LINE_ALL ? demand_sum(run, d, 0, hour, way, scale, out, p)
                            : demand_sum_urgent(run, d, 0, hour, way, scale, out, p);
}

/* One hour's sum is given back at once, so that a week takes the memory of one; an hour that is like an earlier one is copied. */
enum rt_code line_week_make(const struct run *run, const struct demand *d, enum line_part part, enum load_way way,
                            double probability, double scale, struct line_week *out, struct rt_problems *p)
{
    const struct load_point *line = &d->points.v[0];
    *out = (struct line_week){ .way = way, .capacity_mbps = way == LOAD_DOWN ? line->down_mbps : line->up_mbps };
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
        unsigned like = 0;
        while (like < hour && !demand_hours_equal(d, 0, like, hour))
            like++;
        if (like < hour) {
            out->hours[hour] = out->hours[like];
            continue;
        }
        const struct arena_mark mark = arena_mark(run->arena);
        struct rate_sum sum;
        RT_TRY(sum_of(run, d, part, way, hour, scale, &sum, p));
        out->hours[hour] = (struct line_hour){ .mean_mbps = sum.mean_mbps,
                                               .needed_mbps = rate_sum_quantile(&sum, probability),
                                               .short_share = rate_sum_over(&sum, out->capacity_mbps) };
        arena_reset(run->arena, mark);
        if (is_worse(&out->hours[hour], &out->hours[out->worst]))
            out->worst = hour;
    }
    return sum_of(run, d, part, way, out->worst, scale, &out->worst_sum, p);
}

double line_month_gb(const struct demand *d)
{
    double down[HOURS_OF_WEEK], up[HOURS_OF_WEEK], megabits = 0.0;
    demand_means(d, 0, LOAD_DOWN, down);
    demand_means(d, 0, LOAD_UP, up);
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        megabits += (down[hour] + up[hour]) * 3600.0;
    return megabits / 8e3 / 7.0 * 30.4375 / line_payload_ratio(&d->h->line);
}

/* ---- calls ---- */

struct line_delay line_delay_of(const struct line *line, enum load_way way)
{
    const double rate_bps = line_mbps(line, way) * 1e6, shaped_bps = rate_bps * LINE_SHAPED_SHARE;
    return (struct line_delay){ .plain_s = LINE_BUFFER_BYTES * 8.0 / rate_bps,
                                .shaped_s = fmax(CODEL_TARGET_S, FULL_FRAME_BYTES * 8.0 / shaped_bps),
                                .shaped_rate_mbps = shaped_bps / 1e6 };
}
