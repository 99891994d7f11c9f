/* `cable`: every link, or those of the things named, is legal in length and fast enough. */
#include <math.h>

#include "base/units.h"
#include "data/cabling.h"
#include "promise/cable_checks.h"
#include "promise/loss.h"

struct judged {
    const struct wire_link *link;
    double need_mbps, length_max_m;
    double share; /* margin as a share of what is needed or allowed, the lesser of speed and length */
    bool by_length;
    double lacks_m; /* so much too short to reach from one end to the other */
};

static bool ends_at(const struct house *h, const struct cable *c, struct str id)
{
    const struct cable_end *ends[2] = { &c->from, &c->to };
    for (int e = 0; e < 2; e++) {
        if (ends[e]->equipment != NO_REF && str_eq(h->equipment.v[ends[e]->equipment].id, id))
            return true;
        if (ends[e]->device != NO_REF && str_eq(h->devices.v[ends[e]->device].id, id))
            return true;
    }
    return false;
}

bool cable_means_thing(const struct promise *promise, struct str id)
{
    for (uint32_t i = 0; i < promise->devices.n; i++)
        if (str_eq(promise->devices.v[i], id))
            return true;
    return promise->devices.n == 0;
}

bool cable_is_meant(const struct house *h, const struct promise *promise, uint32_t cable)
{
    for (uint32_t i = 0; i < promise->devices.n; i++)
        if (ends_at(h, &h->cables.v[cable], promise->devices.v[i]))
            return true;
    return promise->devices.n == 0;
}

/* Headroom is asked of the length, and of the speed as far as the ports go. */
static struct judged judge_link(const struct promise *promise, const struct wire_link *l, double lacks_m)
{
    const double headroom = given_or(promise->headroom_share, 0.0);
    const struct cable_category *category = cable_category_find(l->category);
    struct judged j = { .link = l, .lacks_m = lacks_m };
    j.need_mbps = fmin(l->needed_mbps * (1.0 + headroom), l->fits ? l->port_mbps : (double)INFINITY);
    j.need_mbps = fmax(j.need_mbps, given_or(promise->mbps, 0.0));
    const double reach_m = category ? cable_channel_max_m(category, j.need_mbps) : 0.0;
    j.length_max_m = reach_m > 0.0
                         ? fmax(0.0, cable_length_max_m(category, reach_m, l->cords_m) * (1.0 - headroom) - l->warm_m)
                         : 0.0;
    const double by_speed = j.need_mbps > 0.0 ? l->speed_mbps / j.need_mbps - 1.0 : (double)INFINITY;
    const double by_length =
        j.length_max_m > 0.0 && l->is_known ? 1.0 - l->length_m / j.length_max_m : (double)INFINITY;
    j.by_length = by_length <= by_speed || (by_length < 0.0 && str_is(l->limit, "length"));
    j.share = j.by_length ? by_length : by_speed;
    if (!l->fits) {
        j.by_length = false;
        j.share = -1.0;
    } else if (lacks_m > 0.0) {
        j.by_length = true;
        j.share = -1.0;
    }
    return j;
}

static void add_fact(struct evaluation *ev, struct fact *list, const struct judged *j)
{
    struct arena *a = ev->run->arena;
    const struct wire_link *l = j->link;
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", ev->h->cables.v[l->cable].id);
    fact_str(a, o, "category", l->category);
    fact_bool(a, o, "uplink", l->is_uplink);
    fact_num(a, o, "length_m", l->length_m, 1);
    fact_num(a, o, "length_max_m", j->length_max_m, 1);
    fact_num(a, o, "speed_mbps", l->is_known ? l->speed_mbps : RT_NOT_GIVEN, 0);
    fact_num(a, o, "needed_mbps", j->need_mbps, 0);
    fact_num(a, o, "behind_mbps", l->wanted_mbps, 0);
    fact_str(a, o, "limit", l->limit);
}

static const char *for_speed(struct arena *a, double mbps)
{
    const char *text = mbps > 0.0 ? arena_printf(a, " for %.0f Mb/s", mbps) : "";
    return text ? text : "";
}

static struct str words_of(struct evaluation *ev, const struct judged *j, bool kept)
{
    const struct wire_link *l = j->link;
    const struct str id = ev->h->cables.v[l->cable].id;
    const struct cable_category *category = cable_category_find(l->category);
    const char *name = category ? category->says : "cable";
    const char *text;
    if (!l->fits)
        text =
            arena_printf(ev->run->arena, "cable %.*s: %s does not fit the %.*s", STR_ARG(id), name, STR_ARG(l->limit));
    else if (j->lacks_m > 0.0)
        text = arena_printf(ev->run->arena,
                            "cable %.*s does not reach: it is %.1f m with its cords, its ends are %.1f m apart",
                            STR_ARG(id), l->length_m, l->length_m + j->lacks_m);
    else if (j->by_length)
        text = arena_printf(ev->run->arena, "%scable %.*s: %.1f m of %s with its cords; at most %.1f m%s",
                            kept ? "nearest: " : "", STR_ARG(id), l->length_m, name, j->length_max_m,
                            for_speed(ev->run->arena, j->need_mbps));
    else
        text = arena_printf(ev->run->arena, "%scable %.*s carries %.0f Mb/s (%.*s), %.0f are needed",
                            kept ? "nearest: " : "", STR_ARG(id), l->speed_mbps, STR_ARG(l->limit), j->need_mbps);
    return str_from(text ? text : "");
}

static void end_by(struct evaluation *ev, const struct judged *worst, struct promise_result *out)
{
    const struct wire_link *l = worst->link;
    const bool kept = worst->share >= -1e-9;
    out->state = kept ? PROMISE_KEPT : PROMISE_BROKEN;
    if (l->fits) {
        out->margin = worst->lacks_m > 0.0 ? -worst->lacks_m
                      : worst->by_length   ? worst->length_max_m - l->length_m
                                           : l->speed_mbps - worst->need_mbps;
        out->unit = worst->by_length ? "m" : "Mb/s";
        out->margin_decimals = worst->by_length ? 1 : 0;
    }
    out->reason = words_of(ev, worst, kept);
}

static enum rt_code judge_links(struct evaluation *ev, const struct promise *promise, const struct cable_plan *plan,
                                const struct wire_links *links, struct promise_result *out)
{
    struct fact *list = fact_array(ev->run->arena, out->evidence, "links");
    struct judged worst = { .link = NULL, .share = INFINITY };
    uint32_t unknown = NO_REF;
    for (uint32_t c = 0; c < links->n; c++) {
        if (!cable_is_meant(ev->h, promise, c))
            continue;
        const struct judged j = judge_link(promise, &links->v[c], plan->cables[c].lacks_m);
        add_fact(ev, list, &j);
        if (!links->v[c].is_known && unknown == NO_REF)
            unknown = c;
        if (!worst.link || j.share < worst.share)
            worst = j;
    }
    if (!worst.link)
        return result_unknown(ev, out,
                              "no cable of the file ends at what is named: say under `cables` how it is wired");
    if (worst.share < -1e-9 || unknown == NO_REF)
        end_by(ev, &worst, out);
    else
        return result_unknown(ev, out, "%.*s", STR_ARG(plan->cables[unknown].why_not));
    return RT_OK;
}

enum rt_code promise_cable(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                           struct rt_problems *p)
{
    const struct cable_plan *plan;
    const struct wire_links *links;
    if (breaks_by_names(ev, promise, false, out))
        return RT_OK;
    if (ev->damage) /* a dead cable is neither legal nor illegal */
        return promise_as_whole(ev, promise, out, p);
    RT_TRY(evaluation_cables(ev, &plan, &links, p));
    RT_TRY(judge_links(ev, promise, plan, links, out));
    RT_TRY(cable_promise_ports(ev, promise, out, p));
    RT_TRY(cable_promise_rules(ev, promise, out, p));
    RT_TRY(cable_promise_fibre(ev, promise, out, p));
    return cable_promise_buildings(ev, promise, out, p);
}
