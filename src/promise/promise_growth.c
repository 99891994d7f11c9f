/* `growth`: all that the house has so much of still suffices when there are so many times the devices, and something is left over. */
#include <math.h>

#include "base/units.h"
#include "promise/growth.h"
#include "promise/result.h"

/* A new resource: a function that adds its uses, and its row here. */
static const struct {
    const char *word; /* of the evidence */
    growth_resource *add;
} RESOURCES[] = {
    { "sockets", growth_sockets },   { "power", growth_watts },         { "cabinet", growth_cabinets },
    { "battery", growth_batteries }, { "addresses", growth_addresses }, { "line", growth_line },
    { "cable", growth_cables },      { "airtime", growth_airtime },     { "disk", growth_disks },
    { "run", growth_runs },
};

static bool is_broken(const struct growth *g, const struct growth_use *use)
{
    static const double HAIR = 1e-9;
    return growth_used(use, g->times) > growth_usable(use) + HAIR;
}

/* The first to run out; a tie goes to the first. */
static const struct growth_use *first_out(const struct growth *g)
{
    const struct growth_use *first = NULL;
    for (uint32_t i = 0; i < g->uses.n; i++) {
        const struct growth_use *use = &g->uses.v[i];
        if (!use->missing.n && (!first || growth_lasts_times(g, use) < growth_lasts_times(g, first)))
            first = use;
    }
    return first;
}

static const struct growth_use *first_missing(const struct growth *g)
{
    for (uint32_t i = 0; i < g->uses.n; i++)
        if (g->uses.v[i].missing.n)
            return &g->uses.v[i];
    return NULL;
}

/* ---- in words ---- */

static void put_amount(struct buf *b, const struct growth_use *use, double amount)
{
    buf_printf(b, use->is_whole ? "%.0f" : "%.1f", amount);
    if (use->unit[0])
        buf_printf(b, " %s", use->unit);
}

static uint32_t n_broken(const struct growth *g)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < g->uses.n; i++)
        n += !g->uses.v[i].missing.n && is_broken(g, &g->uses.v[i]);
    return n;
}

static struct str reason_of(const struct growth *g, const struct growth_use *use)
{
    struct buf b = { .arena = g->a };
    const double lasts = growth_lasts_times(g, use), years = growth_years(g, lasts);
    const uint32_t others = n_broken(g) - is_broken(g, use);
    if (isinf(lasts)) {
        buf_text(&b, "nothing that grows runs out");
        return buf_done(&b);
    }
    buf_printf(&b, "first to run out: %.*s, now ", STR_ARG(use->what));
    put_amount(&b, use, growth_used(use, 1.0));
    buf_text(&b, " of ");
    put_amount(&b, use, use->limit_now > 0.0 ? use->limit_now : use->limit);
    buf_printf(&b, ", at %g times the devices ", g->times);
    put_amount(&b, use, growth_used(use, g->times));
    if (use->limit_now > 0.0) {
        buf_text(&b, " of ");
        put_amount(&b, use, use->limit);
    }
    if (use->kept_free > 0.0)
        buf_printf(&b, " and %.0f %% kept free", use->kept_free * 100.0);
    if (lasts <= 0.0)
        buf_text(&b, ": too little already");
    else if (is_given(years))
        buf_printf(&b, ": enough for %.1f years", years);
    if (is_broken(g, use))
        buf_printf(&b, "; %.*s helps", STR_ARG(use->mend));
    if (others)
        buf_printf(&b, "; %u more run%s out", (unsigned)others, others == 1 ? "s" : "");
    return buf_done(&b);
}

/* ---- evidence ---- */

static void use_facts(const struct growth *g, struct fact *list, const char *resource, const struct growth_use *use)
{
    struct arena *a = g->a;
    const int decimals = use->is_whole ? 0 : 1;
    const bool is_known = !use->missing.n;
    const double lasts = is_known ? growth_lasts_times(g, use) : RT_NOT_GIVEN;
    struct fact *o = fact_object(a, list, NULL);
    fact_text(a, o, "resource", resource);
    fact_str(a, o, "what", use->what);
    fact_str(a, o, "id", use->where);
    fact_text(a, o, "unit", use->unit ? use->unit : "");
    fact_num(a, o, "limit", is_known ? use->limit : RT_NOT_GIVEN, decimals);
    fact_num(a, o, "limit_now",
             !is_known              ? RT_NOT_GIVEN
             : use->limit_now > 0.0 ? use->limit_now
                                    : use->limit,
             decimals);
    fact_num(a, o, "usable", is_known ? growth_usable(use) : RT_NOT_GIVEN, decimals);
    fact_num(a, o, "now", is_known ? growth_used(use, 1.0) : RT_NOT_GIVEN, decimals);
    fact_num(a, o, "then", is_known ? growth_used(use, g->times) : RT_NOT_GIVEN, decimals);
    fact_bool(a, o, "enough", is_known && !is_broken(g, use));
    fact_num(a, o, "lasts_times", isinf(lasts) ? RT_NOT_GIVEN : lasts, 2);
    fact_num(a, o, "lasts_years", isinf(lasts) ? RT_NOT_GIVEN : growth_years(g, lasts), 1);
    fact_str(a, o, "mend", is_known && is_broken(g, use) ? use->mend : STR(""));
    fact_str(a, o, "missing", use->missing);
}

/* Kinds whose share is not 1, those of the house alone. */
static void share_facts(const struct growth *g, struct fact *evidence)
{
    struct fact *list = fact_array(g->a, evidence, "shares");
    for (uint32_t d = 0; d < g->h->devices.n; d++) {
        bool is_again = g->share[d] == 1.0;
        for (uint32_t k = 0; k < d && !is_again; k++)
            is_again = str_eq(g->h->devices.v[k].kind, g->h->devices.v[d].kind);
        if (is_again)
            continue;
        struct fact *o = fact_object(g->a, list, NULL);
        fact_str(g->a, o, "kind", g->h->devices.v[d].kind);
        fact_num(g->a, o, "share", g->share[d], 2);
    }
}

/* ---- the verdict ---- */

static enum rt_code judge(const struct growth *g, struct promise_result *out, struct rt_problems *p)
{
    const struct growth_use *first = first_out(g), *unknown = first_missing(g);
    const bool breaks = first && is_broken(g, first);
    if (!breaks && unknown)
        return result_unknown(g->ev, out, "%.*s: %.*s", STR_ARG(unknown->what), STR_ARG(unknown->missing));
    if (!first)
        return result_unknown(g->ev, out,
                              "say what is installed (`equipment`, `cables`) and on which segments devices are");
    const double lasts = growth_lasts_times(g, first), years = growth_years(g, lasts);
    out->state = breaks ? PROMISE_BROKEN : PROMISE_KEPT;
    out->reason = reason_of(g, first);
    if (!isinf(lasts)) {
        out->margin = is_given(years) ? years - g->years : lasts - g->times;
        out->unit = is_given(years) ? "years" : "times";
        out->margin_decimals = is_given(years) ? 1 : 2;
    }
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}

enum rt_code promise_growth(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                            struct rt_problems *p)
{
    struct growth g = { .ev = ev,
                        .h = ev->h,
                        .a = ev->run->arena,
                        .times = promise->times,
                        .years = promise->years,
                        .headroom = promise->headroom_share,
                        .share = ARENA_ARRAY(ev->run->arena, double, ev->h->devices.n) };
    if (!g.share)
        return rt_fail_memory(p);
    for (uint32_t d = 0; d < ev->h->devices.n; d++)
        g.share[d] = growth_share(ev->h, ev->h->devices.v[d].kind);
    fact_num(g.a, out->evidence, "times", g.times, 2);
    fact_num(g.a, out->evidence, "years", g.years, 1);
    fact_num(g.a, out->evidence, "headroom_share", g.headroom, 2);
    share_facts(&g, out->evidence);
    struct fact *list = fact_array(g.a, out->evidence, "uses");
    for (size_t i = 0; i < RT_COUNT(RESOURCES); i++) {
        const uint32_t before = g.uses.n;
        RT_TRY(RESOURCES[i].add(&g, p));
        for (uint32_t k = before; k < g.uses.n; k++)
            use_facts(&g, list, RESOURCES[i].word, &g.uses.v[k]);
    }
    return g.failed || !list ? rt_fail_memory(p) : judge(&g, out, p);
}
