/* `power`: everything that takes its power over the cable has its watts at its socket, and something is left over, there and in
 * the budget of what feeds it.
 *
 * Where nothing is said of the most a device draws, its class stands for it: more than that it may not ask for, so that
 * nothing need be left over at its socket. */
#include <math.h>

#include "base/units.h"
#include "promise/loss.h"
#include "promise/result.h"
#include "promise/wire_words.h"
#include "wire/poe.h"

/* The standard's own watts differ from what its voltages and loops give by up to this share (class 5: 39.94 of 40 W). */
#define ROUNDING 0.002

/* What decides: one feed or one source. */
struct power_verdict {
    enum promise_state state;
    double margin_w; /* NaN: no figure */
    const struct power_feed *feed;
    const struct power_source *source;
};

static struct power_verdict judge_feed(const struct power_feed *f, double headroom)
{
    struct power_verdict v = { .state = PROMISE_KEPT, .feed = f, .margin_w = RT_NOT_GIVEN };
    const struct poe_class *class = poe_class(f->class_granted);
    const double most_w = !class ? 0.0 : f->is_known ? f->delivered_w : class->device_w;
    const double left_w =
        f->most_is_class ? most_w * (1.0 + ROUNDING) - f->wanted_w : most_w * (1.0 - headroom) - f->wanted_w;
    if (left_w < 0.0) { /* of a cable of unknown length: even with the best */
        v.state = PROMISE_BROKEN;
        v.margin_w = left_w;
    } else if (f->limit == POWER_BY_WIRES || f->limit == POWER_BY_WARMTH) {
        v.state = PROMISE_BROKEN;
    } else if (!f->is_known) {
        v.state = PROMISE_UNKNOWN;
    } else if (!f->most_is_class) {
        v.margin_w = left_w;
    }
    return v;
}

static struct power_verdict judge_source(const struct power_source *s, double headroom)
{
    const double left_w = is_given(s->budget_w) ? s->budget_w * (1.0 - headroom) - s->worst_w : RT_NOT_GIVEN;
    return (
        struct power_verdict){ .state = left_w < 0.0 ? PROMISE_BROKEN : PROMISE_KEPT, .margin_w = left_w, .source = s };
}

/* Broken before unknown before kept; then the least margin; a tie goes to the first. */
static void decide(struct power_verdict *worst, struct power_verdict v)
{
    static const int RANKS[] = { [PROMISE_KEPT] = 0, [PROMISE_UNKNOWN] = 1, [PROMISE_BROKEN] = 2 };
    const bool is_first = !worst->feed && !worst->source;
    if (is_first || RANKS[v.state] > RANKS[worst->state] ||
        (v.state == worst->state && is_given(v.margin_w) &&
         (!is_given(worst->margin_w) || v.margin_w < worst->margin_w)))
        *worst = v;
}

static bool is_asked(const struct promise *promise, struct str id)
{
    for (uint32_t i = 0; i < promise->devices.n; i++)
        if (str_eq(promise->devices.v[i], id))
            return true;
    return promise->devices.n == 0;
}

/* ---- in words ---- */

static void port_words(struct buf *b, const struct house *h, const struct power_feed *f)
{
    buf_str(b, equipment_words(h, f->source));
    if (f->port)
        buf_printf(b, " port %u", f->port);
}

/* Where nothing feeds it: what to do. */
static void no_source_words(struct buf *b, const struct house *h, const struct power_feed *f)
{
    if (f->limit == POWER_BY_CABLE)
        buf_text(b, " leads to it; add one under `cables`");
    else if (f->limit == POWER_BY_SOURCE)
        buf_printf(b, " at the other end of cable `%.*s`; take a port that feeds class %d, or an injector",
                   STR_ARG(h->cables.v[f->cable].id), f->class_asked);
    else if (f->limit == POWER_BY_FIBRE)
        buf_text(b, "; lay copper, or give it a supply of its own");
    else if (f->limit == POWER_BY_RING)
        buf_text(b, "; one of them needs a source outside of the ring");
}

static void dark_words(struct buf *b, const struct house *h, const struct power_plan *plan, const struct power_feed *f)
{
    const struct str who = feed_words(h, f);
    if (f->source == NO_REF) {
        buf_printf(b, "%.*s has no power: %s", STR_ARG(who), power_limit_words(f->limit));
        no_source_words(b, h, f);
        return;
    }
    port_words(b, h, f);
    const struct power_source *s = power_source_of(plan, f->source);
    if (f->limit == POWER_BY_BUDGET)
        buf_printf(
            b,
            " does not start %.*s (class %d): of its %.0f W the ports before it leave too little, all start at %.0f W",
            STR_ARG(who), f->class_asked, s->budget_w, s->start_w);
    else
        buf_printf(b, " feeds up to class %d: %.*s asks for class %d", f->port_class, STR_ARG(who), f->class_asked);
}

/* It has what it wants, but not as much more as was promised: whether another port would leave it. */
static void headroom_words(struct buf *b, const struct power_feed *f, double headroom)
{
    const struct poe_class *granted = poe_class(f->class_granted), *asked = poe_class(f->class_asked);
    buf_printf(b, ", less than %.0f %% is left over", headroom * 100.0);
    if (asked->device_w * (1.0 - headroom) < f->wanted_w)
        buf_printf(b,
                   "; no port leaves that: of the %.2f W that class %d may draw the promise's `headroom_share` of %g "
                   "keeps %.2f W; take a smaller one, or what asks for a higher class, at a port of that class",
                   asked->device_w, f->class_asked, headroom, asked->device_w * (1.0 - headroom));
    else if (granted->number < asked->number && f->limit == POWER_BY_PORT)
        buf_printf(b, "; no port of class %d leaves what the promise's `headroom_share` wants, one of class %d does",
                   f->class_granted, f->class_asked);
}

static void short_words(struct buf *b, const struct house *h, const struct power_feed *f, double headroom)
{
    const struct str who = feed_words(h, f);
    buf_printf(b, "%.*s on ", STR_ARG(who));
    port_words(b, h, f);
    if (f->class_granted != f->class_asked)
        buf_printf(b, " asks for class %d and has class %d by %s", f->class_asked, f->class_granted,
                   power_limit_words(f->limit));
    else
        buf_printf(b, ", class %d", f->class_granted);
    if (!f->is_known) {
        buf_printf(b, ": wants %.1f W, more than that class has", f->wanted_w);
        return;
    }
    buf_printf(b, ": wants %.1f W, can have %.1f W", f->wanted_w, f->delivered_w);
    if (f->delivered_w >= f->wanted_w)
        headroom_words(b, f, headroom);
    else if (f->limit == POWER_BY_LOSS || f->limit == POWER_BY_VOLTAGE)
        buf_printf(b, " behind %.1f ohm of cable; thicker or shorter cable, or a source nearer by", f->loop_ohm);
}

static void heat_words(struct buf *b, const struct house *h, const struct power_plan *plan, const struct power_feed *f)
{
    const struct str who = feed_words(h, f);
    if (f->limit == POWER_BY_WARMTH)
        buf_printf(b, "the cable of %.*s gets %.0f degC warm among %u powered ones, more than it may", STR_ARG(who),
                   f->copper_degc, plan->bundle.n_powered);
    else
        buf_printf(b, "%.2f A in each wire to %.*s; in such a bundle %.2f A are borne", f->wire_a, STR_ARG(who),
                   f->wire_max_a);
}

static void source_words(struct buf *b, const struct power_plan *plan, const struct power_source *s, double headroom)
{
    const struct house *h = plan->h;
    const uint32_t own = plan->feed_of_equipment[s->equipment]; /* it is fed itself */
    const struct str who = equipment_words(h, s->equipment);
    buf_printf(b, "%.*s gives %.1f W over all ports; all at full want %.1f W", STR_ARG(who), s->budget_w, s->worst_w);
    if (s->worst_w <= s->budget_w)
        buf_printf(b, ", less than %.0f %% is left over", headroom * 100.0);
    if (own != NO_REF && plan->feeds.v[own].class_granted < 0)
        buf_printf(b, "; it has no power itself: %s", power_limit_words(plan->feeds.v[own].limit));
    else if (own != NO_REF && plan->feeds.v[own].class_granted != plan->feeds.v[own].class_asked)
        buf_printf(b, "; it asks for class %d itself and has class %d by %s", plan->feeds.v[own].class_asked,
                   plan->feeds.v[own].class_granted, power_limit_words(plan->feeds.v[own].limit));
}

static void kept_words(struct buf *b, const struct house *h, const struct power_verdict *v)
{
    if (v->source) {
        const struct str who = equipment_words(h, v->source->equipment);
        buf_printf(b, "nearest: %.*s, %.1f of %.1f W at full", STR_ARG(who), v->source->worst_w, v->source->budget_w);
        return;
    }
    const struct power_feed *f = v->feed;
    const struct str who = feed_words(h, f);
    buf_printf(b, "nearest: %.*s, class %d on ", STR_ARG(who), f->class_granted);
    port_words(b, h, f);
    buf_printf(b, ": %.1f of %.1f W, %.1f W lost", f->wanted_w, f->delivered_w, f->loss_w);
}

static struct str reason_of(struct arena *a, const struct power_plan *plan, const struct power_verdict *v,
                            double headroom)
{
    const struct house *h = plan->h;
    struct buf b = { .arena = a };
    if (v->state == PROMISE_KEPT &&
        ((v->feed && is_given(v->feed->delivered_w)) || (v->source && is_given(v->margin_w))))
        kept_words(&b, h, v);
    else if (v->state == PROMISE_UNKNOWN)
        buf_printf(&b, "say how long cable `%.*s` is (`length_m`): %.*s hangs on it",
                   STR_ARG(h->cables.v[v->feed->unknown_cable].id), STR_ARG(feed_words(h, v->feed)));
    else if (v->source)
        source_words(&b, plan, v->source, headroom);
    else if (v->feed->class_granted < 0)
        dark_words(&b, h, plan, v->feed);
    else if (!is_given(v->margin_w))
        heat_words(&b, h, plan, v->feed);
    else
        short_words(&b, h, v->feed, headroom);
    return buf_done(&b);
}

/* ---- evidence ---- */

static void feed_facts(struct arena *a, struct fact *list, const struct house *h, const struct power_feed *f)
{
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", feed_id(h, f));
    fact_str(a, o, "cable", f->cable == NO_REF ? STR("") : h->cables.v[f->cable].id);
    fact_str(a, o, "source", f->source == NO_REF ? STR("") : h->equipment.v[f->source].id);
    fact_num(a, o, "port", f->port ? f->port : RT_NOT_GIVEN, 0);
    fact_num(a, o, "class_asked", f->class_asked, 0);
    fact_num(a, o, "port_class", f->port_class < 0 ? RT_NOT_GIVEN : f->port_class, 0);
    fact_num(a, o, "class_granted", f->class_granted < 0 ? RT_NOT_GIVEN : f->class_granted, 0);
    fact_num(a, o, "typical_w", f->typical_w, 2);
    fact_num(a, o, "wanted_w", f->wanted_w, 2);
    fact_num(a, o, "delivered_w", f->delivered_w, 2);
    fact_num(a, o, "drawn_w", f->drawn_w, 2);
    fact_num(a, o, "loss_w", f->loss_w, 3);
    fact_num(a, o, "device_v", f->device_v, 2);
    fact_num(a, o, "current_a", f->current_a, 4);
    fact_num(a, o, "loop_ohm", f->loop_ohm, 3);
    fact_num(a, o, "copper_degc", f->copper_degc, 1);
    fact_num(a, o, "wire_a", f->wire_a, 4);
    fact_num(a, o, "wire_max_a", f->wire_max_a, 3);
    fact_text(a, o, "limit", power_limit_words(f->limit));
}

static void source_facts(struct arena *a, struct fact *list, const struct house *h, const struct power_source *s)
{
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", h->equipment.v[s->equipment].id);
    fact_num(a, o, "budget_w", s->budget_w, 1);
    fact_num(a, o, "typical_w", s->typical_w, 2);
    fact_num(a, o, "worst_w", s->worst_w, 2);
    fact_num(a, o, "start_w", s->start_w, 2);
}

static void bundle_facts(struct arena *a, struct fact *evidence, const struct power_plan *plan)
{
    struct fact *o = fact_object(a, evidence, "bundle");
    fact_str(a, o, "run", plan->bundle.run == NO_REF ? STR("") : plan->h->runs.v[plan->bundle.run].id);
    fact_num(a, o, "powered_cables", plan->bundle.run == NO_REF ? RT_NOT_GIVEN : plan->bundle.n_powered, 0);
    fact_num(a, o, "rise_k", plan->bundle.rise_k, 1);
}

/* ---- after something failed ---- */

static uint32_t fed_thing(const struct house *h, const struct power_feed *f)
{
    return f->equipment != NO_REF ? f->equipment : tree_device(h, f->device);
}

static bool is_dead(const struct evaluation *ev, const struct power_feed *f)
{
    return ev->damage && ev->damage->dead_thing[fed_thing(ev->h, f)];
}

/* It lost what fed it; a thing that died itself asks for nothing any more, unless the promise names it. */
static bool is_lost(struct evaluation *ev, const struct power_feed *f, struct promise_result *out)
{
    return is_dead(ev, f) && (ev->damage->death[fed_thing(ev->h, f)] != DEATH_FAILED || out->promise->devices.n) &&
           breaks_by_loss(ev, fed_thing(ev->h, f), true, out);
}

/* What still hangs on a source.  NULL: the arena's ceiling. */
static const struct power_source *source_now(const struct evaluation *ev, const struct power_plan *plan,
                                             const struct power_source *s)
{
    struct power_source *now = ev->damage ? ARENA_NEW(ev->run->arena, struct power_source) : NULL;
    if (!now)
        return ev->damage ? NULL : s;
    *now = *s;
    for (uint32_t i = 0; i < plan->feeds.n; i++)
        if (plan->feeds.v[i].source == s->equipment && is_dead(ev, &plan->feeds.v[i])) {
            now->worst_w -= plan->feeds.v[i].drawn_w;
            now->typical_w -= plan->feeds.v[i].drawn_typical_w;
            now->n_feeds--;
        }
    return now;
}

enum rt_code promise_power(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                           struct rt_problems *p)
{
    const struct power_plan *plan;
    RT_TRY(evaluation_power(ev, &plan, p));
    struct arena *a = ev->run->arena;
    const struct house *h = ev->h;
    struct power_verdict worst = { .state = PROMISE_KEPT, .margin_w = RT_NOT_GIVEN };
    fact_num(a, out->evidence, "headroom_share", promise->headroom_share, 2);
    struct fact *feeds = fact_array(a, out->evidence, "feeds"), *sources = fact_array(a, out->evidence, "sources");
    bool *feeds_one = ARENA_ARRAY(a, bool, h->equipment.n);
    if (!feeds_one || !sources)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < plan->feeds.n; i++) {
        const struct power_feed *f = &plan->feeds.v[i];
        if (!is_asked(promise, feed_id(h, f)))
            continue;
        if (is_lost(ev, f, out))
            return RT_OK;
        if (is_dead(ev, f))
            continue;
        decide(&worst, judge_feed(f, promise->headroom_share));
        feed_facts(a, feeds, h, f);
        if (f->source != NO_REF)
            feeds_one[f->source] = true;
    }
    for (uint32_t i = 0; i < plan->sources.n; i++)
        if (feeds_one[plan->sources.v[i].equipment]) {
            const struct power_source *s = source_now(ev, plan, &plan->sources.v[i]);
            if (!s)
                return rt_fail_memory(p);
            decide(&worst, judge_source(s, promise->headroom_share));
            source_facts(a, sources, h, s);
        }
    bundle_facts(a, out->evidence, plan);
    out->state = worst.state;
    out->margin = worst.state == PROMISE_UNKNOWN ? RT_NOT_GIVEN : worst.margin_w;
    out->unit = is_given(out->margin) ? "W" : "";
    out->margin_decimals = 1;
    out->reason = worst.feed || worst.source ? reason_of(a, plan, &worst, promise->headroom_share)
                                             : STR("nothing here takes its power over its cable");
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}
