#include "design/fit.h"

#include <stdarg.h>
#include <string.h>

#include "design/fit_int.h"
#include "wire/open_parts.h"

void fit_tell(struct fitter *f, struct str id, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *says = arena_vprintf(f->a, fmt, args);
    va_end(args);
    const struct fit_reason reason = { .id = id, .says = str_from(says ? says : "") };
    f->failed |= !says || !VEC_PUSH(f->a, &f->reasons, reason);
}

void fit_lists(struct fitter *f)
{
    f->h->equipment.v = f->things.v;
    f->h->equipment.n = f->things.n;
    f->h->cables.v = f->cables.v;
    f->h->cables.n = f->cables.n;
    f->h->batteries.v = f->batteries.v;
    f->h->batteries.n = f->batteries.n;
    f->h->mounts.v = f->mounts.v;
    f->h->mounts.n = f->mounts.n;
}

/* ---- the beginning ---- */

/* A growing list that begins as one of the house's. */
#define BEGIN_LIST(f, vec, list)                                    \
    do {                                                            \
        for (uint32_t i_ = 0; i_ < (list).n; i_++)                  \
            (f)->failed |= !VEC_PUSH((f)->a, &(vec), (list).v[i_]); \
    } while (0)

/* The file as it was, when the design leaves out what it had. */
static enum rt_code read_old(struct fitter *f)
{
    const struct house *asked = f->space->asked;
    struct rt_problems quiet;
    struct house *old = NULL;
    if (!f->space->options.anew || !asked->bytes.n)
        return RT_OK;
    rt_problems_init(&quiet, f->a);
    if (house_read_bytes(f->run, asked->path, asked->bytes, &old, &quiet))
        return RT_OK; /* a house that was never a file: there is nothing to take over */
    f->old = old;
    f->is_claimed = ARENA_ARRAY(f->a, bool, old->equipment.n);
    return f->is_claimed ? RT_OK : rt_fail_memory(f->p);
}

/* The segment that the file's equipment is reached in, else the first. */
static struct ref own_segment(const struct fitter *f)
{
    const struct house *from[2] = { f->h, f->old };
    for (int k = 0; k < 2; k++)
        for (uint32_t e = 0; from[k] && e < from[k]->equipment.n; e++) {
            const uint32_t s = from[k]->equipment.v[e].segment.i;
            for (uint32_t i = 0; s != NO_REF && i < f->h->segments.n; i++)
                if (str_eq(f->h->segments.v[i].id, from[k]->segments.v[s].id))
                    return (struct ref){ .i = i };
        }
    return (struct ref){ .i = f->h->segments.n ? 0 : NO_REF };
}

static enum rt_code begin(struct fitter *f)
{
    const struct house *h = f->space->house;
    RT_TRY(house_segment(f->run, h, &f->h, f->p));
    RT_TRY(read_old(f));
    f->segment = own_segment(f);
    BEGIN_LIST(f, f->things, h->equipment);
    BEGIN_LIST(f, f->cables, h->cables);
    BEGIN_LIST(f, f->batteries, h->batteries);
    BEGIN_LIST(f, f->mounts, f->space->asked->mounts);
    f->is_gone = ARENA_ARRAY(f->a, bool, h->equipment.n);
    f->cable_is_gone = ARENA_ARRAY(f->a, bool, h->cables.n);
    f->thing_at = ARENA_ARRAY(f->a, uint32_t, f->space->sites.n);
    f->hubs = ARENA_ARRAY(f->a, struct fit_hub, f->space->hubs.n);
    struct recording *recordings = ARENA_ARRAY(f->a, struct recording, h->recordings.n);
    if (f->failed || !f->is_gone || !f->cable_is_gone || !f->thing_at || !f->hubs || !recordings)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < f->space->sites.n; i++)
        f->thing_at[i] = NO_REF;
    for (uint32_t i = 0; i < h->recordings.n; i++)
        recordings[i] = h->recordings.v[i];
    f->h->recordings.v = recordings;
    return RT_OK;
}

/* ---- what goes ---- */

static bool renumber(const uint32_t *to, uint32_t *i)
{
    if (*i != NO_REF)
        *i = to[*i];
    return *i != NO_REF;
}

static enum rt_code renumber_ssids(struct fitter *f, const uint32_t *to)
{
    struct ssid *ssids = ARENA_ARRAY(f->a, struct ssid, f->h->ssids.n);
    if (!ssids)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < f->h->ssids.n; i++) {
        ssids[i] = f->h->ssids.v[i];
        struct ref *list = ARENA_ARRAY(f->a, struct ref, ssids[i].equipment.n);
        uint32_t n = 0;
        if (!list)
            return rt_fail_memory(f->p);
        for (uint32_t k = 0; k < ssids[i].equipment.n; k++) {
            struct ref r = ssids[i].equipment.v[k];
            if (renumber(to, &r.i))
                list[n++] = r;
        }
        ssids[i].equipment.v = list;
        ssids[i].equipment.n = n;
    }
    f->h->ssids.v = ssids;
    return RT_OK;
}

/* Takes out what is gone, and its cables. */
static enum rt_code close_gaps(struct fitter *f)
{
    uint32_t *to = ARENA_ARRAY(f->a, uint32_t, f->things.n), n = 0, n_cables = 0;
    const uint32_t n_old = f->space->house->equipment.n, n_old_cables = f->space->house->cables.n;
    if (!to)
        return rt_fail_memory(f->p);
    for (uint32_t e = 0; e < f->things.n; e++) {
        to[e] = e < n_old && f->is_gone[e] ? NO_REF : n;
        if (to[e] != NO_REF)
            f->things.v[n++] = f->things.v[e];
    }
    f->things.n = n;
    for (uint32_t e = 0; e < n; e++)
        (void)renumber(to, &f->things.v[e].inside.i);
    for (uint32_t c = 0; c < f->cables.n; c++) {
        struct cable k = f->cables.v[c];
        const bool had_from = k.from.equipment != NO_REF, had_to = k.to.equipment != NO_REF;
        const bool is_whole = renumber(to, &k.from.equipment) == had_from && renumber(to, &k.to.equipment) == had_to;
        if (is_whole && !(c < n_old_cables && f->cable_is_gone[c]))
            f->cables.v[n_cables++] = k;
    }
    f->cables.n = n_cables;
    return renumber_ssids(f, to);
}

/* ---- ports ---- */

static bool may_be_open(const struct fitter *f, uint32_t e)
{
    const uint32_t part = f->things.v[e].part.i;
    return part != NO_REF && (fit_part(f, part)->kind == PART_SWITCH || fit_part(f, part)->kind == PART_GATEWAY);
}

/* Parts of the new switches and of a new gateway as open_parts.h chooses them; `was` are the answer's.  False: nothing in hand will do,
 * and the answer's are there again. */
static enum rt_code choose_parts_again(struct fitter *f, uint32_t n_old, const struct ref *was, bool *yes)
{
    struct rt_problems told;
    rt_problems_init(&told, f->a);
    for (uint32_t e = n_old; e < f->things.n; e++)
        if (may_be_open(f, e)) {
            f->things.v[e].kind = str_from(part_kind_name(fit_part(f, was[e].i)->kind));
            f->things.v[e].part = FIT_NONE;
        }
    const enum rt_code code = open_parts_choose(f->run, f->h, &told);
    *yes = code == RT_OK;
    for (uint32_t e = n_old; e < f->things.n; e++) {
        if (code)
            f->things.v[e].part = was[e];
        f->things.v[e].kind = f->things.v[e].because = (struct str){ 0 };
    }
    if (code == RT_NOMEM)
        return rt_fail_memory(f->p);
    return code == RT_CANCELLED ? rt_fail(f->p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped") : RT_OK;
}

static enum rt_code look(struct fitter *f, struct evaluation *ev, const struct port_plan **ports)
{
    memset(ev, 0, sizeof *ev);
    RT_TRY(evaluation_begin(ev, f->run, f->h, evaluation_default_options(f->h), f->p));
    return evaluation_ports(ev, ports, f->p);
}

/* Is it about something new?  What the file has already may lack what it lacks. */
static bool is_ours(const struct fitter *f, const struct port_conflict *c, uint32_t n_old)
{
    for (uint32_t i = 0; i < c->cables.n; i++) {
        const struct cable *k = &f->h->cables.v[c->cables.v[i].i];
        const uint32_t ends[2] = { k->from.equipment, k->to.equipment };
        bool is_new = true;
        for (uint32_t o = 0; o < f->space->house->cables.n; o++)
            is_new = is_new && !str_eq(f->space->house->cables.v[o].id, k->id);
        for (int e = 0; e < 2; e++)
            is_new = is_new || (ends[e] != NO_REF && ends[e] >= n_old);
        if (is_new)
            return true;
    }
    return false;
}

static bool has_conflict(const struct fitter *f, const struct port_plan *ports, uint32_t n_old)
{
    for (uint32_t i = 0; i < ports->conflicts.n; i++)
        if (is_ours(f, &ports->conflicts.v[i], n_old))
            return true;
    return false;
}

/* Segments that were made here were not known when the places were chosen: a switch may be among them that knows none. */
static bool mixes_segments(const struct fitter *f, uint32_t n_old)
{
    bool mixes = false;
    for (uint32_t e = n_old; e < f->things.n && !f->space->asked->segments.n && f->h->segments.n > 1; e++)
        mixes |= may_be_open(f, e) && !fit_part(f, f->things.v[e].part.i)->vlans;
    return mixes;
}

/* Where the answer's parts do not serve, because ports and watts are not one for all switches of a hub, others that do. */
static enum rt_code check_ports(struct fitter *f, uint32_t n_old, struct evaluation *ev)
{
    const struct port_plan *ports = NULL;
    struct ref *was = ARENA_ARRAY(f->a, struct ref, f->things.n);
    bool is_other = false;
    if (!was)
        return rt_fail_memory(f->p);
    for (uint32_t e = 0; e < f->things.n; e++)
        was[e] = f->things.v[e].part;
    RT_TRY(look(f, ev, &ports));
    if (!has_conflict(f, ports, n_old) && !mixes_segments(f, n_old))
        return RT_OK;
    RT_TRY(choose_parts_again(f, n_old, was, &is_other));
    if (is_other) {
        RT_TRY(look(f, ev, &ports));
        if (!has_conflict(f, ports, n_old))
            return RT_OK;
        for (uint32_t e = 0; e < f->things.n; e++)
            f->things.v[e].part = was[e];
    }
    RT_TRY(look(f, ev, &ports));
    for (uint32_t i = 0; i < ports->conflicts.n; i++)
        fit_tell(f, f->h->cables.v[ports->conflicts.v[i].cables.v[0].i].id, "%.*s",
                 STR_ARG(ports->conflicts.v[i].says));
    return RT_OK;
}

/* Batteries that the file does not have, behind the equipment. */
static void list_batteries(struct fitter *f)
{
    for (uint32_t b = 0; b < f->batteries.n; b++) {
        bool is_old = false;
        for (uint32_t k = 0; k < f->space->asked->batteries.n; k++)
            is_old |= str_eq(f->space->asked->batteries.v[k].id, f->batteries.v[b].id);
        f->failed |= !is_old && !VEC_PUSH(f->a, &f->added, f->batteries.v[b].id);
    }
}

/* ---- the whole ---- */

enum rt_code fit_house(const struct run *run, const struct design_space *space, const struct placing_answer *answer,
                       struct fitted *out, struct rt_problems *p)
{
    struct fitter f = { .run = run, .a = run->arena, .p = p, .space = space, .q = &space->placing, .answer = answer };
    struct evaluation ev;
    RT_TRY(begin(&f));
    RT_TRY(fit_equipment(&f));
    RT_TRY(fit_cables(&f));
    RT_TRY(close_gaps(&f));
    fit_lists(&f);
    const uint32_t n_old = f.things.n - f.added.n;
    RT_TRY(fit_radios(&f));
    RT_TRY(fit_promise_names(&f));
    RT_TRY(fit_disks(&f));
    RT_TRY(check_ports(&f, n_old, &ev));
    RT_TRY(fit_battery(&f, &ev));
    RT_TRY(fit_air(&f, &ev));
    list_batteries(&f);
    if (f.failed)
        return rt_fail_memory(p);
    out->house = f.h;
    out->reasons.v = f.reasons.v;
    out->reasons.n = f.reasons.n;
    out->added.v = f.added.v;
    out->added.n = f.added.n;
    out->moved.v = f.moved.v;
    out->moved.n = f.moved.n;
    return RT_OK;
}
