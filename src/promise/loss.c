#include "promise/loss.h"

#include "load/recordings.h"

uint32_t thing_of_id(const struct house *h, struct str id)
{
    const uint32_t e = house_find_equipment(h, id), d = house_find_device(h, id);
    return e != NO_REF ? e : d != NO_REF ? tree_device(h, d) : NO_REF;
}

static void end_lost(struct evaluation *ev, struct promise_result *out, struct str id, struct str why)
{
    struct arena *a = ev->run->arena;
    struct fact *o = fact_object(a, out->evidence, "lost");
    fact_str(a, o, "id", id);
    fact_str(a, o, "because", why);
    result_broken(ev, out, "%.*s", STR_ARG(why));
}

bool breaks_by_loss(struct evaluation *ev, uint32_t thing, bool power_alone, struct promise_result *out)
{
    const struct damage *d = ev->damage;
    if (!d || thing == NO_REF || !(d->dead_thing[thing] || (!power_alone && d->cut_off[thing])))
        return false;
    end_lost(ev, out, damage_thing_id(ev->h, thing), damage_words(ev->run->arena, d, thing));
    return true;
}

bool breaks_by_names(struct evaluation *ev, const struct promise *promise, bool power_alone, struct promise_result *out)
{
    for (uint32_t i = 0; i < promise->devices.n; i++)
        if (breaks_by_loss(ev, thing_of_id(ev->h, promise->devices.v[i]), power_alone, out))
            return true;
    return false;
}

bool breaks_by_line(struct evaluation *ev, struct promise_result *out)
{
    const struct damage *d = ev->damage;
    if (!d || !d->line_dead)
        return false;
    if (d->gateway_dead)
        return breaks_by_loss(ev, d->before->gateway, false, out);
    end_lost(ev, out, STR(LINE_BOX_NAME),
             d->failure.kind == FAILURE_MAINS ? STR("the line's box has no mains") : STR("the line is dead"));
    return true;
}

/* ---- a conversation ---- */

struct side {
    index_list devices;
    bool is_outside, is_gateway;
};

static struct side side_of(struct evaluation *ev, const endpoint_list *list, bool *failed)
{
    struct arena *a = ev->run->arena;
    struct side s = { .devices.v = ARENA_ARRAY(a, uint32_t, ev->h->devices.n) };
    bool *is_in = ARENA_ARRAY(a, bool, ev->h->devices.n);
    *failed |= !s.devices.v || !is_in;
    for (uint32_t i = 0; i < list->n && !*failed; i++) {
        const index_list some = endpoint_devices(a, ev->h, &list->v[i], failed);
        for (uint32_t k = 0; k < some.n; k++)
            is_in[some.v[k]] = true;
        s.is_outside |= list->v[i].kind == END_INTERNET || list->v[i].kind == END_NAME;
        s.is_gateway |= list->v[i].kind == END_GATEWAY;
    }
    for (uint32_t d = 0; d < ev->h->devices.n && !*failed; d++)
        if (is_in[d])
            s.devices.v[s.devices.n++] = d;
    return s;
}

/* Two of one segment talk without the gateway, as long as a cable still joins them. */
static bool still_meet(const struct evaluation *ev, uint32_t one, uint32_t other)
{
    const struct damage *d = ev->damage;
    const uint32_t a = d->island[tree_device(ev->h, one)], b = d->island[tree_device(ev->h, other)];
    return ev->h->devices.v[one].segment.i == ev->h->devices.v[other].segment.i && a != NO_REF && a == b;
}

static bool pair_breaks(struct evaluation *ev, uint32_t from, uint32_t to, struct promise_result *out)
{
    const struct damage *d = ev->damage;
    const uint32_t ends[2] = { tree_device(ev->h, to), tree_device(ev->h, from) };
    for (int k = 0; k < 2; k++)
        if (d->dead_thing[ends[k]] || (d->cut_off[ends[k]] && !still_meet(ev, from, to)))
            return breaks_by_loss(ev, ends[k], false, out);
    return false;
}

/* One side's devices, where the other is the gateway or beyond it. */
static bool side_breaks(struct evaluation *ev, const struct side *near, const struct side *far,
                        struct promise_result *out)
{
    const struct damage *d = ev->damage;
    if (far->is_outside && breaks_by_line(ev, out))
        return true;
    if (far->is_gateway && d->gateway_dead)
        return breaks_by_loss(ev, d->before->gateway, false, out);
    for (uint32_t i = 0; (far->is_outside || far->is_gateway) && i < near->devices.n; i++)
        if (breaks_by_loss(ev, tree_device(ev->h, near->devices.v[i]), false, out))
            return true;
    return false;
}

enum rt_code breaks_by_way(struct evaluation *ev, const struct promise *promise, bool *broken,
                           struct promise_result *out, struct rt_problems *p)
{
    bool failed = false;
    *broken = false;
    if (!ev->damage)
        return RT_OK;
    const struct side from = side_of(ev, &promise->from, &failed), to = side_of(ev, &promise->to, &failed);
    if (failed)
        return rt_fail_memory(p);
    *broken = side_breaks(ev, &from, &to, out) || side_breaks(ev, &to, &from, out);
    for (uint32_t k = 0; k < to.devices.n; k++)
        for (uint32_t i = 0; i < from.devices.n && !*broken; i++)
            *broken = from.devices.v[i] != to.devices.v[k] && pair_breaks(ev, from.devices.v[i], to.devices.v[k], out);
    return RT_OK;
}

/* ---- pictures ---- */

bool breaks_by_recorder(struct evaluation *ev, uint32_t recording, struct promise_result *out)
{
    const struct damage *d = ev->damage;
    const struct recording *r = &ev->h->recordings.v[recording];
    if (!d)
        return false;
    if (breaks_by_loss(ev, recorder_thing(ev->h, r), true, out))
        return true;
    for (uint32_t i = 0; i < r->cameras.n; i++)
        if (breaks_by_loss(ev, tree_device(ev->h, r->cameras.v[i].i), true, out))
            return true;
    if (!d->pictures_lost[recording])
        return false;
    end_lost(ev, out, d->failure.id, STR("its disk is dead, and what it held is on no other"));
    return true;
}
