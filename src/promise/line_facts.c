#include "promise/line_facts.h"

#include "base/units.h"
#include "load/queue.h"

struct str line_hour_words(struct arena *a, unsigned hour)
{
    static const char *const DAYS[] = { "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday" };
    const char *text =
        arena_printf(a, "%s %u to %u h", DAYS[hour / HOURS_OF_DAY], hour % HOURS_OF_DAY, hour % HOURS_OF_DAY + 1);
    return str_from(text ? text : "");
}

struct str radio_hour_words(struct arena *a, const struct airtime *air, uint32_t radio)
{
    return airtime_is_flat(air, radio) ? STR(EVERY_HOUR) : line_hour_words(a, airtime_busy_hour(air, radio));
}

const char *load_way_name(enum load_way way) { return way == LOAD_DOWN ? "down" : "up"; }

const char *line_calls_words(const struct line_case *c)
{
    if (!c->has_calls)
        return "nobody calls";
    if (c->call_plain_s <= CALL_DELAY_GOOD_S)
        return "good";
    if (c->call_shaped_s <= CALL_DELAY_GOOD_S)
        return "good if the line is shaped";
    if (c->call_plain_s <= CALL_DELAY_MOST_S)
        return "with care";
    return c->call_shaped_s <= CALL_DELAY_MOST_S ? "with care if the line is shaped" : "bad";
}

/* ---- evidence ---- */

static void use_facts(struct arena *a, struct fact *parent, const char *key, const struct demand *d, uint32_t source,
                      uint32_t state)
{
    if (source == NO_REF)
        return;
    const struct demand_source *s = &d->sources.v[source];
    struct fact *o = fact_object(a, parent, key);
    fact_str(a, o, "device", d->h->devices.v[s->device].id);
    fact_str(a, o, "person", s->person == NO_REF ? STR("") : d->h->people.v[s->person].id);
    if (state == NO_REF)
        return;
    fact_str(a, o, "does", s->states.v[state].says);
    fact_num(a, o, "down_mbps", s->states.v[state].down_mbps, 2);
    fact_num(a, o, "up_mbps", s->states.v[state].up_mbps, 2);
    fact_text(a, o, "waits", patience_name(s->states.v[state].patience));
}

static void distribution_facts(struct arena *a, struct fact *way, const struct rate_sum *sum)
{
    static const double SHARES[] = { 0.5, 0.75, 0.9, 0.95, 0.98, 0.99, 0.995, 0.999 };
    struct fact *list = fact_array(a, way, "distribution");
    for (size_t i = 0; i < RT_COUNT(SHARES); i++) {
        const struct bracket b = rate_sum_quantile(sum, SHARES[i]);
        struct fact *o = fact_object(a, list, NULL);
        fact_num(a, o, "share", SHARES[i], 3);
        fact_num(a, o, "mbps", isinf(b.high) ? RT_NOT_GIVEN : b.high, 2);
    }
}

static void hours_facts(struct arena *a, struct fact *way, const struct line_week *week)
{
    struct fact *means = fact_array(a, way, "mean_mbps"), *needs = fact_array(a, way, "needed_mbps");
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
        const struct line_hour *x = &week->hours[hour];
        fact_num(a, means, NULL, x->mean_mbps, 2);
        fact_num(a, needs, NULL, isinf(x->needed_mbps.high) ? RT_NOT_GIVEN : x->needed_mbps.high, 2);
    }
}

static void worst_facts(struct arena *a, struct fact *way, const struct line_week *week)
{
    const struct line_hour *x = &week->hours[week->worst];
    const struct bracket rest = rate_sum_excess(&week->worst_sum, week->capacity_mbps);
    struct fact *o = fact_object(a, way, "worst_hour");
    fact_num(a, o, "hour_of_week", week->worst, 0);
    fact_str(a, o, "says", line_hour_words(a, week->worst));
    fact_num(a, o, "needed_low_mbps", isinf(x->needed_mbps.low) ? RT_NOT_GIVEN : x->needed_mbps.low, 2);
    fact_num(a, o, "needed_mbps", isinf(x->needed_mbps.high) ? RT_NOT_GIVEN : x->needed_mbps.high, 2);
    fact_num(a, o, "short_share_low", x->short_share.low, 6);
    fact_num(a, o, "short_share", x->short_share.high, 6);
    fact_num(a, o, "too_much_mbps", rest.high, 3);
}

/* Of full packets at the mean load of the fullest hour, when nothing fills the line on purpose. */
static void queue_facts(struct arena *a, struct fact *way, const struct line_side *side)
{
    const double packet_s = FULL_FRAME_BYTES * 8.0 / (side->delay.shaped_rate_mbps / LINE_SHAPED_SHARE * 1e6);
    const bool is_finite = side->load < 1.0;
    struct fact *o = fact_object(a, way, "waiting");
    fact_num(a, o, "load", side->load, 4);
    fact_num(a, o, "mean_ms", is_finite ? queue_mg1_wait(side->load, 0.0) * packet_s * 1e3 : RT_NOT_GIVEN, 3);
    fact_num(a, o, "most_99_ms", is_finite ? queue_md1_wait_quantile(side->load, 0.99) * packet_s * 1e3 : RT_NOT_GIVEN,
             3);
    fact_num(a, o, "mixed_99_ms", is_finite ? queue_mm1_wait_quantile(side->load, 0.99) * packet_s * 1e3 : RT_NOT_GIVEN,
             3);
    fact_num(a, o, "full_buffer_ms", side->delay.plain_s * 1e3, 1);
    fact_num(a, o, "buffer_bytes", LINE_BUFFER_BYTES, 0);
    fact_num(a, o, "shaped_ms", side->delay.shaped_s * 1e3, 1);
    fact_num(a, o, "shaped_to_mbps", side->delay.shaped_rate_mbps, 2);
}

static void way_facts(struct arena *a, struct fact *list, const struct line_case *c, enum load_way way)
{
    const struct line_side *side = &c->sides[way];
    const struct line_week *week = &side->all;
    struct fact *o = fact_object(a, list, NULL);
    fact_text(a, o, "way", load_way_name(way));
    fact_num(a, o, "line_mbps", way == LOAD_DOWN ? c->d->h->line.down_mbps : c->d->h->line.up_mbps, 2);
    fact_num(a, o, "payload_mbps", week->capacity_mbps, 2);
    worst_facts(a, o, week);
    distribution_facts(a, o, &week->worst_sum);
    use_facts(a, o, "asks_most", c->d, side->asks_most, NO_REF);
    use_facts(a, o, "would_wait", c->d, side->waiting, side->waiting_for);
    const struct bracket night = side->night.hours[side->night.worst].needed_mbps;
    fact_num(a, o, "needed_by_night_mbps", isinf(night.high) ? RT_NOT_GIVEN : night.high, 2);
    queue_facts(a, o, side);
    hours_facts(a, o, week);
}

static void calls_facts(struct arena *a, struct fact *evidence, const struct line_case *c)
{
    struct fact *o = fact_object(a, evidence, "calls");
    for (int way = 0; way < 2; way++) {
        const struct line_week *week = &c->sides[way].urgent;
        const double needed = week->hours[week->worst].needed_mbps.high;
        fact_num(a, o, way == LOAD_DOWN ? "down_mbps" : "up_mbps", isinf(needed) ? RT_NOT_GIVEN : needed, 2);
    }
    fact_num(a, o, "one_way_ms", c->call_plain_s * 1e3, 1);
    fact_num(a, o, "one_way_shaped_ms", c->call_shaped_s * 1e3, 1);
    fact_num(a, o, "good_ms", CALL_DELAY_GOOD_S * 1e3, 0);
    fact_num(a, o, "most_ms", CALL_DELAY_MOST_S * 1e3, 0);
    fact_text(a, o, "fare", line_calls_words(c));
}

static void source_facts(struct arena *a, struct fact *list, const struct demand *d, uint32_t source)
{
    const struct demand_source *s = &d->sources.v[source];
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "device", d->h->devices.v[s->device].id);
    fact_str(a, o, "person", s->person == NO_REF ? STR("") : d->h->people.v[s->person].id);
    fact_str(a, o, "profile", s->profile);
    fact_bool(a, o, "by_kind", s->is_default);
}

void line_facts(struct arena *a, struct fact *evidence, const struct line_case *c)
{
    fact_num(a, evidence, "probability", c->promise->probability, 4);
    struct fact *ways = fact_array(a, evidence, "ways");
    way_facts(a, ways, c, LOAD_DOWN);
    way_facts(a, ways, c, LOAD_UP);
    calls_facts(a, evidence, c);
    struct fact *month = fact_object(a, evidence, "month");
    fact_num(a, month, "gb", c->month_gb, 1);
    fact_num(a, month, "cap_gb", c->d->h->line.cap_gb_per_month, 1);
    struct fact *sources = fact_array(a, evidence, "sources");
    for (uint32_t i = 0; i < c->d->sources.n; i++)
        source_facts(a, sources, c->d, i);
}
