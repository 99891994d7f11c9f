/* `outage`: these things, and all that they hang on, live for so long without mains.
 *
 * A device on a cable hangs on the equipment between it and the gateway; one on Wi-Fi on the access point that hears it, and on
 * what that hangs on; the gateway on the line's box, if that has a plug.  What has cells of its own needs no battery. */
#include "base/units.h"
#include "promise/loss.h"
#include "promise/outage_stages.h"
#include "promise/result.h"
#include "promise/wire_words.h"
#include "reach/layer2.h"
#include "wire/cable_tree.h"
#include "wire/energy.h"

/* Things are numbered: equipment, then devices, then the line's box. */
struct outage {
    struct evaluation *ev;
    const struct house *h;
    const struct energy_plan *plan;
    uint32_t n_things, line_box;
    struct cable_tree tree;
    bool *is_needed;
    uint32_t cut_off; /* a device that has no way to the gateway; NO_REF: none */
};

static bool needs_power(const struct outage *o, uint32_t thing)
{
    return thing == o->line_box || thing_needs_power(o->h, thing);
}

/* It is not there yet, or nothing of what is leads to it. */
static bool is_lost(const struct outage *o, uint32_t thing)
{
    return o->ev->damage && damage_has_lost(o->ev->damage, thing);
}

/* The thing and all between it and the line; false: it has no way to the gateway. */
static bool need(struct outage *o, uint32_t thing)
{
    const struct house *h = o->h;
    const uint32_t gateway = o->tree.gateway;
    if (thing != NO_REF && is_lost(o, thing))
        return false;
    for (uint32_t at = thing; at != NO_REF; at = o->tree.parent[at]) {
        o->is_needed[at] |= needs_power(o, at);
        if (at == gateway && line_box_needs_power(h))
            o->is_needed[o->line_box] = true;
    }
    return gateway == NO_REF || tree_is_joined(&o->tree, thing);
}

static enum rt_code need_device(struct outage *o, uint32_t device, struct rt_problems *p)
{
    const enum link_kind link = o->h->devices.v[device].link;
    const struct stations *now = o->ev->damage ? o->ev->damage->stations : NULL;
    bool is_joined = need(o, tree_device(o->h, device)), failed = false;
    if (link == LINK_WIFI && now) { /* an access point is missing, and another may serve it */
        const uint32_t radio = now->list.v[now->of_device[device]].radio;
        is_joined |= radio != NO_REF && need(o, o->ev->radios.v[radio].equipment);
    } else if (link == LINK_WIFI) {
        struct proof *proof;
        RT_TRY(evaluation_proof(o->ev, &proof, p));
        const l2_way way = layer2_way(o->ev->run->arena, o->ev->layer2, device, NO_REF, &failed);
        for (uint32_t i = 0; i < way.n; i++)
            if (way.v[i].kind == STEP_ACCESS_POINT)
                is_joined |= need(o, way.v[i].which);
    }
    if (!is_joined && (link == LINK_WIFI || link == LINK_WIRED) && o->cut_off == NO_REF)
        o->cut_off = device;
    return failed ? rt_fail_memory(p) : RT_OK;
}

static enum rt_code need_named(struct outage *o, struct str id, struct rt_problems *p)
{
    const uint32_t e = house_find_equipment(o->h, id), d = house_find_device(o->h, id);
    if (e != NO_REF)
        (void)need(o, e);
    else if (d != NO_REF)
        return need_device(o, d, p);
    else
        (void)need(o, o->tree.gateway); /* the line */
    return RT_OK;
}

static enum rt_code gather_needs(struct outage *o, const struct promise *promise, struct rt_problems *p)
{
    for (uint32_t i = 0; i < promise->devices.n; i++)
        RT_TRY(need_named(o, promise->devices.v[i], p));
    for (uint32_t b = 0; promise->devices.n == 0 && b < o->h->batteries.n; b++)
        for (uint32_t i = 0; !o->plan->batteries[b].is_absent && i < o->h->batteries.v[b].feeds.n; i++)
            if (thing_of_id(o->h, o->h->batteries.v[b].feeds.v[i]) == NO_REF ||
                !is_lost(o, thing_of_id(o->h, o->h->batteries.v[b].feeds.v[i])))
                RT_TRY(need_named(o, o->h->batteries.v[b].feeds.v[i], p));
    return RT_OK;
}

/* ---- what each lives on ---- */

static uint32_t battery_of(const struct outage *o, uint32_t thing)
{
    if (thing == o->line_box)
        return o->plan->battery_of_line;
    return thing < o->h->equipment.n ? o->plan->battery_of_equipment[thing]
                                     : o->plan->battery_of_device[thing - o->h->equipment.n];
}

static const struct power_feed *feed_of(const struct outage *o, uint32_t thing)
{
    const struct power_plan *power = o->plan->power;
    const uint32_t i = thing == o->line_box        ? NO_REF
                       : thing < o->h->equipment.n ? power->feed_of_equipment[thing]
                                                   : power->feed_of_device[thing - o->h->equipment.n];
    return i == NO_REF ? NULL : &power->feeds.v[i];
}

static struct str thing_words(const struct outage *o, uint32_t thing)
{
    if (thing == o->line_box)
        return STR("the line's box");
    return damage_thing_words(o->h, thing);
}

static struct str thing_id(const struct outage *o, uint32_t thing)
{
    if (thing == o->line_box)
        return STR(LINE_BOX_NAME);
    return damage_thing_id(o->h, thing);
}

/* Why no battery reaches it, and what to do. */
static enum rt_code end_dark(struct outage *o, uint32_t thing, double minutes, struct promise_result *out)
{
    const struct str who = thing_words(o, thing), id = thing_id(o, thing);
    const struct power_feed *f = feed_of(o, thing);
    out->margin = -minutes;
    if (!f)
        return result_broken(o->ev, out, "%.*s is on no battery: name `%.*s` in the `feeds` of one", STR_ARG(who),
                             STR_ARG(id));
    if (f->source == NO_REF || f->class_granted < 0)
        return result_broken(o->ev, out, "%.*s has no power over its cable even with mains: %s", STR_ARG(who),
                             power_limit_words(f->limit));
    const struct str source = equipment_words(o->h, f->source);
    return result_broken(o->ev, out, "%.*s takes its power from %.*s, which no battery feeds", STR_ARG(who),
                         STR_ARG(source));
}

static void things_facts(const struct outage *o, struct fact *evidence)
{
    struct arena *a = o->ev->run->arena;
    struct fact *list = fact_array(a, evidence, "things");
    for (uint32_t i = 0; i < o->n_things; i++) {
        if (!o->is_needed[i])
            continue;
        const uint32_t b = battery_of(o, i);
        const struct power_feed *f = feed_of(o, i);
        struct fact *x = fact_object(a, list, NULL);
        fact_str(a, x, "id", thing_id(o, i));
        fact_str(a, x, "battery", b == NO_REF ? STR("") : o->h->batteries.v[b].id);
        fact_str(a, x, "fed_by", f && f->source != NO_REF ? o->h->equipment.v[f->source].id : STR(""));
    }
}

static void plan_facts(const struct outage *o, struct fact *evidence)
{
    struct arena *a = o->ev->run->arena;
    struct fact *batteries = fact_array(a, evidence, "batteries");
    for (uint32_t b = 0; b < o->h->batteries.n; b++) {
        const struct battery_life *life = &o->plan->batteries[b];
        struct fact *x = fact_object(a, batteries, NULL);
        fact_str(a, x, "id", o->h->batteries.v[b].id);
        fact_num(a, x, "capacity_wh", life->capacity_wh, 1);
        fact_num(a, x, "usable_wh", life->usable_wh, 1);
        fact_num(a, x, "load_w", life->load_w, 1);
        fact_num(a, x, "draw_w", life->draw_w, 1);
        fact_num(a, x, "minutes", life->minutes, 1);
    }
    struct fact *cabinets = fact_array(a, evidence, "cabinets");
    for (uint32_t i = 0; i < o->plan->cabinets.n; i++) {
        const struct cabinet_heat *c = &o->plan->cabinets.v[i];
        struct fact *x = fact_object(a, cabinets, NULL);
        fact_str(a, x, "id", o->h->equipment.v[c->equipment].id);
        fact_num(a, x, "heat_w", c->heat_w, 1);
        fact_num(a, x, "rise_k", c->rise_k, 1);
        fact_num(a, x, "air_k", c->air_k, 1);
        fact_num(a, x, "flow_m3_per_h", c->flow_m3_per_h, 1);
        fact_num(a, x, "rack_units", c->rack_units, 0);
        fact_num(a, x, "rack_units_used", c->rack_units_used, 0);
    }
}

static enum rt_code end_by_battery(struct outage *o, const struct promise *promise, const struct battery_life *life,
                                   struct promise_result *out)
{
    const struct str id = o->h->batteries.v[life->battery].id;
    out->margin = life->minutes - promise->minutes;
    if (life->is_overloaded)
        return result_broken(o->ev, out, "battery `%.*s` cannot give %.0f W at once", STR_ARG(id), life->load_w);
    result_broken(o->ev, out, "battery `%.*s`: %.0f of %.0f Wh feed %.0f W for %.1f min", STR_ARG(id), life->usable_wh,
                  life->capacity_wh, life->load_w, life->minutes);
    if (out->margin >= 0.0)
        out->state = PROMISE_KEPT;
    return RT_OK;
}

/* Dark things break it by name, those that were asked about first; then what is not known; then the shortest battery. */
static enum rt_code judge(struct outage *o, const struct promise *promise, struct promise_result *out)
{
    const struct battery_life *shortest = NULL, *unknown = NULL;
    uint32_t dark = NO_REF;
    for (uint32_t k = 0; k < o->n_things; k++) {
        const uint32_t thing = (k + o->h->equipment.n) % o->n_things; /* devices, the line's box, equipment */
        if (!o->is_needed[thing])
            continue;
        const uint32_t b = battery_of(o, thing);
        if (b == NO_REF) {
            dark = dark == NO_REF ? thing : dark;
            continue;
        }
        const struct battery_life *life = &o->plan->batteries[b];
        if (!is_given(life->minutes))
            unknown = unknown ? unknown : life;
        else if (!shortest || life->minutes < shortest->minutes)
            shortest = life;
    }
    out->unit = "min";
    out->margin_decimals = 1;
    if (dark != NO_REF)
        return end_dark(o, dark, promise->minutes, out);
    if (shortest && shortest->minutes < promise->minutes)
        return end_by_battery(o, promise, shortest, out);
    if (unknown)
        return result_unknown(o->ev, out, "%.*s", STR_ARG(unknown->missing));
    if (o->cut_off != NO_REF)
        return result_unknown(o->ev, out, "say how %.*s gets to the gateway: no cable or access point leads there",
                              STR_ARG(device_words(o->h, o->cut_off)));
    if (shortest)
        return end_by_battery(o, promise, shortest, out);
    out->unit = "";
    if (promise->devices.n == 0)
        return result_broken(o->ev, out,
                             "no battery of the house feeds anything: say what lives on which (`batteries`)");
    out->state = PROMISE_KEPT;
    out->reason = STR("all of it lives on cells of its own");
    return RT_OK;
}

enum rt_code outage_judge(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                          struct rt_problems *p)
{
    const struct house *h = ev->h;
    struct arena *a = ev->run->arena;
    const struct cable_tree *tree = NULL;
    struct outage o = { .ev = ev, .h = h, .line_box = h->equipment.n + h->devices.n, .cut_off = NO_REF };
    o.n_things = o.line_box + 1;
    o.is_needed = ARENA_ARRAY(a, bool, o.n_things);
    *out = (struct promise_result){
        .promise = promise, .margin = RT_NOT_GIVEN, .unit = "", .evidence = fact_object(a, NULL, NULL)
    };
    out->state = PROMISE_UNKNOWN;
    RT_TRY(evaluation_energy(ev, &o.plan, p));
    RT_TRY(evaluation_tree(ev, &tree, p));
    if (!o.is_needed || !out->evidence)
        return rt_fail_memory(p);
    o.tree = *tree;
    RT_TRY(gather_needs(&o, promise, p));
    fact_num(a, out->evidence, "wanted_minutes", promise->minutes, 1);
    things_facts(&o, out->evidence);
    plan_facts(&o, out->evidence);
    return judge(&o, promise, out);
}

enum rt_code promise_outage(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                            struct rt_problems *p)
{
    /* Loss of the mains is what it is about; after another failure what is left lives no shorter than all did. */
    if (ev->damage && ev->damage->failure.kind != FAILURE_MAINS && breaks_by_names(ev, promise, false, out))
        return RT_OK;
    if (ev->damage && ev->damage->energy) /* a battery is not there yet */
        return outage_judge(ev, promise, out, p);
    if (ev->damage)
        return promise_as_whole(ev, promise, out, p);
    RT_TRY(outage_judge(ev, promise, out, p));
    return out->state == PROMISE_UNKNOWN ? RT_OK : outage_tell_stages(ev, out, p);
}
