/* Access points at the chosen sites; gateway, cabinets and switches at the hubs. */
#include <math.h>

#include "design/fit_int.h"

#define BESIDE_M 0.12 /* one above the other, where there is no cabinet */

static void set_mount(struct fitter *f, struct equipment *e, uint32_t mount)
{
    const struct mount *m = &f->mounts.v[mount];
    e->mount = (struct ref){ .i = mount };
    e->floor = m->floor;
    e->room = m->room;
    e->at_m = m->at_m;
    e->faces_deg = m->faces_deg;
    e->tilt_deg = given_or(m->tilt_deg, 0.0);
}

static uint32_t add_thing(struct fitter *f, uint32_t part, struct str id)
{
    const struct equipment *old = fit_old_piece(f, id);
    const struct equipment e = { .id = id,
                                 .says = old ? old->says : (struct str){ 0 },
                                 .circuit = old ? old->circuit : (struct str){ 0 },
                                 .part.i = part,
                                 .mount = FIT_NONE,
                                 .floor = FIT_NONE,
                                 .room = FIT_NONE,
                                 .at_m = { RT_NOT_GIVEN, RT_NOT_GIVEN, RT_NOT_GIVEN },
                                 .faces_deg = RT_NOT_GIVEN,
                                 .inside = FIT_NONE,
                                 .unit = RT_NOT_GIVEN,
                                 .air = old ? old->air : STR("closed"),
                                 .segment = fit_part(f, part)->ports.n ? f->segment : FIT_NONE,
                                 .tune = true,
                                 .phase.i = NO_REF };
    if (!VEC_PUSH(f->a, &f->things, e) || !VEC_PUSH(f->a, &f->added, id)) {
        f->failed = true;
        return 0;
    }
    return f->things.n - 1;
}

/* The mount in the new house: the file's own come first, generated ones as they are used. */
static uint32_t take_mount(struct fitter *f, uint32_t mount)
{
    const struct mount *m = &f->space->house->mounts.v[mount];
    for (uint32_t i = 0; i < f->mounts.n; i++)
        if (str_eq(f->mounts.v[i].id, m->id))
            return i;
    f->failed |= !VEC_PUSH(f->a, &f->mounts, *m);
    return f->failed ? 0 : f->mounts.n - 1;
}

/* ---- access points ---- */

static void tell_room(struct fitter *f, uint32_t thing, const char *does)
{
    const struct equipment *e = &f->things.v[thing];
    const struct part *part = fit_part(f, e->part.i);
    const struct str where = e->room.i != NO_REF    ? house_room_name(f->h, e->room.i)
                             : e->floor.i != NO_REF ? f->h->floors.v[e->floor.i].id
                                                    : STR("");
    fit_tell(f, e->id, "%.*s %s %.*s, on mount `%.*s`", STR_ARG(part->says), does, STR_ARG(where),
             STR_ARG(f->mounts.v[e->mount.i].id));
}

static void add_access_point(struct fitter *f, const struct place_offer *o)
{
    const uint32_t from = f->space->sites.v[o->site].mount, mount = take_mount(f, from);
    const struct mount *m = &f->mounts.v[mount];
    const struct str id = fit_equipment_name(f, PART_ACCESS_POINT, from, m->room.i, "ap");
    const uint32_t thing = add_thing(f, o->part, id);
    if (f->failed)
        return;
    set_mount(f, &f->things.v[thing], mount);
    if (!f->things.v[thing].says.n && m->room.i != NO_REF && f->h->rooms.v[m->room.i].says.n)
        f->things.v[thing].says = f->h->rooms.v[m->room.i].says;
    f->thing_at[o->site] = thing;
    tell_room(f, thing, "for");
}

static void hang_piece(struct fitter *f, const struct place_offer *o)
{
    const uint32_t thing = f->space->pieces.v[o->piece], from = f->space->sites.v[o->site].mount;
    struct equipment *e = &f->things.v[thing];
    f->thing_at[o->site] = thing;
    if (o->is_fixed || e->mount.i == from)
        return;
    set_mount(f, e, take_mount(f, from));
    f->failed |= !VEC_PUSH(f->a, &f->moved, e->id);
    tell_room(f, thing, "moves to");
}

/* A piece that may move and was given no site stays where it is, unless another one hangs there now. */
static void leave_pieces(struct fitter *f, const bool *is_used)
{
    for (uint32_t i = 0; i < f->space->pieces.n; i++) {
        const uint32_t thing = f->space->pieces.v[i];
        bool is_in_the_way = false;
        if (is_used[i])
            continue;
        for (uint32_t s = 0; s < f->space->sites.n; s++)
            is_in_the_way |= f->thing_at[s] != NO_REF && f->things.v[f->thing_at[s]].mount.i != NO_REF &&
                             f->things.v[f->thing_at[s]].mount.i == f->things.v[thing].mount.i;
        f->is_gone[thing] = is_in_the_way;
        fit_tell(f, f->things.v[thing].id,
                 is_in_the_way ? "no promise needs it, and another one hangs in its place"
                               : "no promise needs it here");
    }
}

static enum rt_code place_access_points(struct fitter *f)
{
    bool *is_used = ARENA_ARRAY(f->a, bool, f->space->pieces.n);
    if (!is_used)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; i < f->q->offers.n && !f->failed; i++) {
        const struct place_offer *o = &f->q->offers.v[i];
        if (!f->answer->offers[i])
            continue;
        if (o->piece == NO_REF) {
            add_access_point(f, o);
            continue;
        }
        is_used[o->piece] = true;
        hang_piece(f, o);
    }
    leave_pieces(f, is_used);
    return f->failed ? rt_fail_memory(f->p) : RT_OK;
}

/* ---- hubs ---- */

static bool is_over(double a, double b) { return is_given(a) && is_given(b) && a > b + 1e-9; }

static bool goes_into(const struct fit_hub *hub, const struct part *cabinet, const struct part *part)
{
    const bool wants_rack = is_given(part->rack_units);
    return !is_over(part->width_m, cabinet->width_m) && !is_over(part->depth_m, cabinet->depth_m) &&
           !is_over(part->height_m, cabinet->height_m) && (!wants_rack || part->rack_units <= hub->units + 1e-9);
}

uint32_t fit_add_at_hub(struct fitter *f, uint32_t hub, uint32_t part, struct str id)
{
    const struct design_hub *d = &f->space->hubs.v[hub];
    struct fit_hub *at = &f->hubs[hub];
    const uint32_t thing = add_thing(f, part, id);
    if (f->failed)
        return 0;
    struct equipment *e = &f->things.v[thing];
    const struct equipment *cabinet = at->cabinet == NO_REF ? NULL : &f->things.v[at->cabinet];
    if (cabinet && goes_into(at, fit_part(f, cabinet->part.i), fit_part(f, part))) {
        e->inside.i = at->cabinet;
        e->floor = cabinet->floor;
        e->room = cabinet->room;
        e->at_m = cabinet->at_m;
        at->units -= given_or(fit_part(f, part)->rack_units, 0.0);
        return thing;
    }
    e->floor.i = d->floor;
    e->room.i = d->room;
    e->at_m = d->at_m;
    e->at_m.z += BESIDE_M * at->n_placed++;
    return thing;
}

/* Is anything chosen for the hub made for a rack? */
static bool wants_cabinet(const struct fitter *f, uint32_t hub)
{
    const uint32_t gateway = f->space->hubs.v[hub].gateway_part;
    bool wants = gateway != NO_REF && design_wants_cabinet(fit_part(f, gateway));
    for (uint32_t s = 0; s < f->q->switches.n; s++)
        wants |= f->answer->switches[hub * f->q->switches.n + s] > 0 &&
                 design_wants_cabinet(fit_part(f, f->q->switches.v[s].part));
    return wants;
}

static void open_cabinet(struct fitter *f, uint32_t hub)
{
    const struct design_hub *d = &f->space->hubs.v[hub];
    struct fit_hub *at = &f->hubs[hub];
    at->cabinet = d->cabinet;
    if (at->cabinet == NO_REF && d->cabinet_part != NO_REF && wants_cabinet(f, hub)) {
        const struct str id = fit_equipment_name(f, PART_CABINET, d->cabinet_mount, d->room, "cabinet");
        at->cabinet = add_thing(f, d->cabinet_part, id);
        if (f->failed)
            return;
        if (d->cabinet_mount != NO_REF) {
            set_mount(f, &f->things.v[at->cabinet], take_mount(f, d->cabinet_mount));
        } else {
            f->things.v[at->cabinet].floor.i = d->floor;
            f->things.v[at->cabinet].room.i = d->room;
            f->things.v[at->cabinet].at_m = d->at_m;
        }
        fit_tell(f, id, "%.*s for what hums and blinks", STR_ARG(fit_part(f, d->cabinet_part)->says));
    }
    at->units = RT_NOT_GIVEN;
    if (at->cabinet == NO_REF || f->things.v[at->cabinet].part.i == NO_REF)
        return;
    at->units = fit_part(f, f->things.v[at->cabinet].part.i)->rack_units;
    for (uint32_t e = 0; e < f->things.n; e++)
        if (f->things.v[e].inside.i == at->cabinet && f->things.v[e].part.i != NO_REF)
            at->units -= given_or(fit_part(f, f->things.v[e].part.i)->rack_units, 0.0);
}

static bool is_copper(const struct port_group *g) { return str_is(g->medium, "copper") || !g->medium.n; }

/* Ports for others: without those for the way up, one of which a switch needs. */
static void add_source(struct fitter *f, uint32_t hub, uint32_t thing, bool needs_way_up)
{
    const struct equipment *e = &f->things.v[thing];
    const struct part *part = e->part.i == NO_REF ? NULL : fit_part(f, e->part.i);
    struct fit_source s = { .equipment = thing };
    bool has_up = false;
    uint32_t least = NO_REF;
    s.ports = ARENA_ARRAY(f->a, struct fit_ports, part ? part->ports.n : 0);
    for (uint32_t i = 0; s.ports && part && i < part->ports.n; i++) {
        const struct port_group *g = &part->ports.v[i];
        const struct fit_ports q = { (uint32_t)g->count, (int)given_or(g->poe_class, -1.0), g->speed_mbps };
        has_up |= is_copper(g) && g->uplink;
        if (!is_copper(g) || g->uplink)
            continue;
        if (least == NO_REF || q.poe_class < s.ports[least].poe_class ||
            (q.poe_class == s.ports[least].poe_class && q.speed_mbps < s.ports[least].speed_mbps))
            least = s.n_ports;
        s.ports[s.n_ports++] = q;
    }
    if (needs_way_up && !has_up && least != NO_REF)
        s.ports[least].left--;
    s.budget_w = part ? given_or(part->poe_budget_w, 0.0) : 0.0;
    s.spare = part && part->kind == PART_SWITCH ? f->q->hubs.v[hub].spare : 0;
    s.spare_w = f->q->hubs.v[hub].headroom_share * s.budget_w;
    f->failed |= !s.ports || !VEC_PUSH(f->a, &f->hubs[hub].sources, s);
}

static void open_core(struct fitter *f, uint32_t hub)
{
    const struct design_hub *d = &f->space->hubs.v[hub];
    uint32_t gateway = d->gateway;
    if (gateway == NO_REF && d->gateway_part != NO_REF) {
        const struct str id = fit_equipment_name(f, PART_GATEWAY, NO_REF, d->room, "gateway");
        gateway = fit_add_at_hub(f, hub, d->gateway_part, id);
        if (!f->failed)
            fit_tell(f, id, "%.*s: the cheapest that routes the line", STR_ARG(fit_part(f, d->gateway_part)->says));
    }
    if (gateway != NO_REF && !f->failed)
        add_source(f, hub, gateway, false);
}

static void add_switches(struct fitter *f, uint32_t hub)
{
    const struct design_hub *d = &f->space->hubs.v[hub];
    for (uint32_t s = 0; s < f->q->switches.n; s++)
        for (uint32_t n = f->answer->switches[hub * f->q->switches.n + s]; n > 0 && !f->failed; n--) {
            const uint32_t part = f->q->switches.v[s].part;
            const struct str id = fit_equipment_name(f, PART_SWITCH, NO_REF, d->room, "switch");
            const uint32_t thing = fit_add_at_hub(f, hub, part, id);
            if (f->failed)
                return;
            add_source(f, hub, thing, true);
            fit_tell(f, id, "%.*s: the ports and watts that hang there", STR_ARG(fit_part(f, part)->says));
        }
}

/* Does the answer use it at all? */
static bool is_used(const struct fitter *f, uint32_t hub)
{
    bool used = f->q->hubs.v[hub].is_core;
    for (uint32_t s = 0; s < f->q->switches.n; s++)
        used |= f->answer->switches[hub * f->q->switches.n + s] > 0;
    return used;
}

/* A recorder among the equipment of the old house is wanted again: nothing else of the file says what it is. */
static void add_recorders(struct fitter *f)
{
    for (uint32_t i = 0; f->old && i < f->h->recordings.n; i++) {
        const struct equipment *old = fit_old_piece(f, f->h->recordings.v[i].recorder);
        bool is_there = !old || old->part.i == NO_REF;
        for (uint32_t e = 0; e < f->things.n && !is_there; e++)
            is_there = str_eq(f->things.v[e].id, old->id);
        if (is_there)
            continue;
        const uint32_t thing = fit_add_at_hub(f, 0, old->part.i, old->id);
        if (f->failed)
            return;
        fit_tell(f, old->id, "the recorder, as before");
        f->failed |= !VEC_PUSH(f->a, &f->recorders, thing);
    }
}

enum rt_code fit_equipment(struct fitter *f)
{
    RT_TRY(place_access_points(f));
    for (uint32_t i = 0; i < f->space->hubs.n && !f->failed; i++) {
        const struct design_hub *d = &f->space->hubs.v[i];
        f->hubs[i] = (struct fit_hub){ .cabinet = d->cabinet, .units = RT_NOT_GIVEN };
        if (is_used(f, i)) {
            open_cabinet(f, i);
            open_core(f, i);
        }
        for (uint32_t k = 0; k < d->switches.n; k++)
            add_source(f, i, d->switches.v[k], true);
        add_switches(f, i);
    }
    if (f->space->hubs.n)
        add_recorders(f);
    return f->failed ? rt_fail_memory(f->p) : RT_OK;
}
