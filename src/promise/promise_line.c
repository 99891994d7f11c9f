/* `line`: in every hour of the week the household's demand fits through the internet line, down and up, with the promised chance;
 * calls go through with a delay that one can talk with; and the month stays within the volume that is paid for.
 *
 * Rates are judged on the careful side: the upper sum of rate_sum.h against the payload that the line's packing leaves. */
#include <math.h>

#include "base/units.h"
#include "promise/line_facts.h"
#include "promise/loss.h"
#include "promise/result.h"

static const struct line_hour *worst_of(const struct line_week *week) { return &week->hours[week->worst]; }

static double margin_mbps(const struct line_week *week)
{
    return week->capacity_mbps - worst_of(week)->needed_mbps.high;
}

/* ---- who asks, and who waits ---- */

static double mean_of(const struct demand *d, const struct load_use *u, enum load_way way, unsigned hour)
{
    const double mbps = way == LOAD_DOWN ? u->down_mbps : u->up_mbps;
    return mbps * d->sources.v[u->source].states.v[u->state].chance[hour];
}

static uint32_t who_asks_most(const struct demand *d, enum load_way way, unsigned hour)
{
    const load_use_list uses = d->uses[0];
    double most = 0.0, sum = 0.0;
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < uses.n; i++) {
        sum = i && uses.v[i].source == uses.v[i - 1].source ? sum : 0.0;
        sum += mean_of(d, &uses.v[i], way, hour);
        if (sum > most) {
            most = sum;
            best = uses.v[i].source;
        }
    }
    return best;
}

/* Of what goes on in the hour that which bears to wait longest; of these the largest rate; the first of equals.  Calls never. */
static void find_waiting(const struct demand *d, enum load_way way, struct line_side *side)
{
    const load_use_list uses = d->uses[0];
    enum patience patience = WAITS_NEVER;
    double most = 0.0;
    side->waiting = NO_REF;
    for (uint32_t i = 0; i < uses.n; i++) {
        const struct load_use *u = &uses.v[i];
        const struct demand_state *x = &d->sources.v[u->source].states.v[u->state];
        const double mbps = way == LOAD_DOWN ? u->down_mbps : u->up_mbps;
        if (!(mean_of(d, u, way, side->all.worst) > 0.0) || x->patience < patience || x->patience == WAITS_NEVER)
            continue;
        if (x->patience > patience || mbps > most) {
            patience = x->patience;
            most = mbps;
            side->waiting = u->source;
            side->waiting_for = u->state;
        }
    }
}

/* ---- figures ---- */

static double fullest_load(const struct line_week *week)
{
    double most = 0.0;
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        most = fmax(most, week->hours[hour].mean_mbps);
    return most / week->capacity_mbps;
}

static enum rt_code make_side(struct evaluation *ev, struct line_case *c, const struct demand *night, enum load_way way,
                              struct rt_problems *p)
{
    struct line_side *side = &c->sides[way];
    const double probability = c->promise->probability;
    RT_TRY(line_week_make(ev->run, c->d, LINE_ALL, way, probability, 1.0, &side->all, p));
    RT_TRY(line_week_make(ev->run, c->d, LINE_URGENT, way, probability, 1.0, &side->urgent, p));
    RT_TRY(line_week_make(ev->run, night, LINE_ALL, way, probability, 1.0, &side->night, p));
    side->delay = line_delay_of(&ev->h->line, way);
    side->load = fullest_load(&side->all);
    side->asks_most = who_asks_most(c->d, way, side->all.worst);
    find_waiting(c->d, way, side);
    c->has_calls |= worst_of(&side->urgent)->mean_mbps > 0.0;
    return RT_OK;
}

/* The way with the least left, of the line's own size. */
static enum load_way nearer(const struct line_case *c)
{
    const struct line_week *down = &c->sides[LOAD_DOWN].all, *up = &c->sides[LOAD_UP].all;
    return margin_mbps(up) / up->capacity_mbps < margin_mbps(down) / down->capacity_mbps ? LOAD_UP : LOAD_DOWN;
}

static enum rt_code make_case(struct evaluation *ev, struct line_case *c, struct rt_problems *p)
{
    const struct line *line = &ev->h->line;
    const struct demand *night = demand_by_night(ev->run->arena, c->d);
    if (!night)
        return rt_fail_memory(p);
    RT_TRY(make_side(ev, c, night, LOAD_DOWN, p));
    RT_TRY(make_side(ev, c, night, LOAD_UP, p));
    c->deciding = nearer(c);
    const double own_s = given_or(line->latency_ms, 0.0) / 2e3;
    c->call_plain_s = own_s + fmax(c->sides[0].delay.plain_s, c->sides[1].delay.plain_s);
    c->call_shaped_s = own_s + fmax(c->sides[0].delay.shaped_s, c->sides[1].delay.shaped_s);
    c->month_gb = line_month_gb(c->d);
    return RT_OK;
}

/* ---- words ---- */

static void need_words(struct buf *b, const struct line_case *c)
{
    const struct line_side *side = &c->sides[c->deciding];
    const struct line_week *week = &side->all;
    const double needed = worst_of(week)->needed_mbps.high;
    buf_str(b, line_hour_words(b->arena, week->worst));
    if (isinf(needed))
        buf_printf(b, ", %s: more than %d times the %.1f Mb/s that the line carries are asked for",
                   load_way_name(c->deciding), DEMAND_TIMES_MAX, week->capacity_mbps);
    else
        buf_printf(b, ", %s: %.1f Mb/s %s %.4g %% of the time, the line carries %.1f Mb/s", load_way_name(c->deciding),
                   needed, needed > week->capacity_mbps ? "would serve" : "serve", c->promise->probability * 100.0,
                   week->capacity_mbps);
    if (side->asks_most != NO_REF)
        buf_printf(b, "; %.*s asks most", STR_ARG(demand_source_words(b->arena, c->d, side->asks_most)));
}

static void broken_words(struct buf *b, const struct line_case *c)
{
    const struct line_side *side = &c->sides[c->deciding];
    const struct bracket night = worst_of(&side->night)->needed_mbps;
    if (side->waiting != NO_REF)
        buf_printf(b, "; %.*s would have to wait (%.*s)", STR_ARG(demand_source_words(b->arena, c->d, side->waiting)),
                   STR_ARG(c->d->sources.v[side->waiting].states.v[side->waiting_for].says));
    if (night.high < worst_of(&side->all)->needed_mbps.high)
        buf_printf(b, "; with backups and updates at night %.1f Mb/s%s", night.high,
                   night.high <= side->all.capacity_mbps ? ", which fit" : "");
}

static const char *shaping_advice(const struct line_case *c)
{
    return c->has_calls && c->call_plain_s > CALL_DELAY_GOOD_S && c->call_shaped_s < c->call_plain_s
               ? "; shape the line, or calls stutter while something is sent"
               : "";
}

/* ---- verdict ---- */

static enum rt_code judge(struct evaluation *ev, const struct line_case *c, struct promise_result *out,
                          struct rt_problems *p)
{
    struct buf b = { .arena = ev->run->arena };
    const double cap_gb = ev->h->line.cap_gb_per_month, margin = margin_mbps(&c->sides[c->deciding].all);
    out->state = PROMISE_KEPT;
    out->margin = isinf(margin) ? RT_NOT_GIVEN : margin;
    out->unit = isinf(margin) ? "" : "Mb/s";
    out->margin_decimals = 1;
    if (margin < 0.0) {
        out->state = PROMISE_BROKEN;
        need_words(&b, c);
        broken_words(&b, c);
    } else if (c->has_calls && c->call_shaped_s > CALL_DELAY_MOST_S) {
        out->state = PROMISE_BROKEN;
        out->margin = (CALL_DELAY_MOST_S - c->call_shaped_s) * 1e3;
        out->unit = "ms";
        buf_printf(&b, "a word takes %.0f ms one way, shaped too: nobody can talk above %.0f ms (ITU-T G.114)",
                   c->call_shaped_s * 1e3, CALL_DELAY_MOST_S * 1e3);
    } else if (c->month_gb > cap_gb) {
        out->state = PROMISE_BROKEN;
        out->margin = cap_gb - c->month_gb;
        out->unit = "GB a month";
        out->margin_decimals = 0;
        buf_printf(&b, "about %.0f GB a month are used, the line includes %.0f GB", c->month_gb, cap_gb);
    } else {
        need_words(&b, c);
        buf_text(&b, shaping_advice(c));
    }
    out->reason = buf_done(&b);
    return b.failed ? rt_fail_memory(p) : RT_OK;
}

enum rt_code promise_line(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                          struct rt_problems *p)
{
    struct line_case *c = ARENA_NEW(ev->run->arena, struct line_case);
    if (!c)
        return rt_fail_memory(p);
    c->promise = promise;
    if (!ev->h->line.at.line)
        return result_unknown(ev, out, "say how fast the line is (`line`: `kind`, `down_mbps`, `up_mbps`)");
    if (breaks_by_line(ev, out))
        return RT_OK;
    RT_TRY(evaluation_demand(ev, &c->d, p));
    if (c->d->sources.n == 0)
        return result_unknown(ev, out, "say who uses the line: the house has no devices on its network (`devices`)");
    RT_TRY(make_case(ev, c, p));
    line_facts(ev->run->arena, out->evidence, c);
    return judge(ev, c, out, p);
}
