/* The radios of all offers, as ap_radios_resolve() makes them definite in a house where that part hangs at that site, with
 * channels, widths and powers left open; what the house has already, on the channels the file gives it, where it may stay. */
#include "base/units.h"
#include "design/needs_int.h"

/* ---- who has radios ---- */

/* A piece may stay on its channels, at any power; a radio that the file switches off stays off. */
static bool open_powers(struct arena *a, struct equipment *e)
{
    struct radio_setting *v = ARENA_ARRAY(a, struct radio_setting, e->radios.n);
    if (!v)
        return false;
    for (uint32_t i = 0; i < e->radios.n; i++) {
        v[i] = e->radios.v[i];
        v[i].power_dbm = RT_NOT_GIVEN;
    }
    e->radios.v = v;
    return true;
}

/* An offer as the house would have it. */
static bool equipment_of_offer(struct arena *a, const struct design_space *space, const struct place_offer *o,
                               struct equipment *out)
{
    const struct ref none = { .i = NO_REF };
    *out = (struct equipment){ .id = STR("offer"), .inside = none, .segment = none, .phase = none, .tune = true };
    if (o->piece != NO_REF)
        *out = space->house->equipment.v[space->pieces.v[o->piece]];
    out->part.i = o->part;
    if (!o->is_fixed) {
        const uint32_t at = space->sites.v[o->site].mount;
        const struct mount *mount = &space->house->mounts.v[at];
        out->mount.i = at;
        out->floor = mount->floor;
        out->room = mount->room;
        out->at_m = mount->at_m;
        out->faces_deg = mount->faces_deg;
        out->tilt_deg = mount->tilt_deg;
    }
    return !out->tune || open_powers(a, out);
}

static bool has_radios(const struct house *h, const struct equipment *e)
{
    return e->part.i != NO_REF && h->parts.list.v[e->part.i].radios.n;
}

/* Is this equipment of the house one of the pieces that are offered? */
static bool is_offered(const struct design_space *space, uint32_t equipment)
{
    for (uint32_t i = 0; i < space->placing.offers.n; i++) {
        const uint32_t piece = space->placing.offers.v[i].piece;
        if (piece != NO_REF && space->pieces.v[piece] == equipment)
            return true;
    }
    return false;
}

/* ---- their radios ---- */

typedef VEC(struct ap_radio) radio_vec;

static enum rt_code resolve_one(const struct run *run, const struct needs *n, const struct equipment *e,
                                ap_radio_list *out, struct rt_problems *p)
{
    struct equipment copy = *e;
    struct house alone = *n->space->house;
    alone.equipment.v = &copy;
    alone.equipment.n = 1;
    *out = (ap_radio_list){ 0 };
    return ap_radios_resolve(run, &alone, n->bare.rules, out, p);
}

/* The settings of an offer with all radios off but one, in the order of the part's radios, which is that of their bands'. */
static bool set_alone(struct arena *a, const struct part *part, const struct equipment *e, uint32_t alone,
                      struct equipment *out)
{
    struct radio_setting *v = ARENA_ARRAY(a, struct radio_setting, part->radios.n);
    if (!v)
        return false;
    for (uint32_t i = 0; i < part->radios.n; i++) {
        uint32_t n_before = 0; /* of its band: the file's settings are told apart so */
        v[i] = (struct radio_setting){ .band = part->radios.v[i].band,
                                       .channel = RT_NOT_GIVEN,
                                       .width_mhz = RT_NOT_GIVEN,
                                       .power_dbm = RT_NOT_GIVEN };
        for (uint32_t k = 0; k < i; k++)
            n_before += part->radios.v[k].band == v[i].band;
        for (uint32_t k = 0; k < e->radios.n; k++)
            if (e->radios.v[k].band == v[i].band && n_before-- == 0)
                v[i] = e->radios.v[k];
        v[i].off = v[i].off || i != alone;
    }
    *out = *e;
    out->radios.v = v;
    out->radios.n = part->radios.n;
    return true;
}

/* Where one of its radios has no channel (6 GHz outdoors in many countries), the others serve all the same. */
static enum rt_code add_singly(const struct run *run, const struct needs *n, const struct equipment *e, radio_vec *all,
                               uint32_t *off, struct rt_problems *quiet, struct rt_problems *p)
{
    const struct part *part = &n->space->house->parts.list.v[e->part.i];
    for (enum band band = 0; band < BAND_COUNT; band++)
        for (uint32_t i = 0; i < part->radios.n; i++) {
            struct equipment single;
            ap_radio_list radios;
            if (part->radios.v[i].band != band)
                continue;
            if (!set_alone(run->arena, part, e, i, &single))
                return rt_fail_memory(p);
            const enum rt_code code = resolve_one(run, n, &single, &radios, quiet);
            if (code == RT_NOMEM)
                return rt_fail_memory(p);
            if (code)
                *off |= 1u << i;
            else if (radios.n && !VEC_PUSH(run->arena, all, radios.v[0]))
                return rt_fail_memory(p);
        }
    return RT_OK;
}

/* `stays`: it is as the house file has it, so what is wrong with it is told. */
static enum rt_code add_radios(const struct run *run, const struct needs *n, const struct equipment *e, bool stays,
                               radio_vec *all, uint32_t *off, struct rt_problems *p)
{
    ap_radio_list radios;
    struct rt_problems quiet;
    rt_problems_init(&quiet, run->arena);
    const enum rt_code code = resolve_one(run, n, e, &radios, &quiet);
    if (code == RT_NOMEM)
        return rt_fail_memory(p);
    if (code)
        return stays ? resolve_one(run, n, e, &radios, p) : add_singly(run, n, e, all, off, &quiet, p);
    for (uint32_t r = 0; r < radios.n; r++)
        if (!VEC_PUSH(run->arena, all, radios.v[r]))
            return rt_fail_memory(p);
    return RT_OK;
}

/* Those from the end of the last holder on become this one's; radios that would have to watch for radar are left out where that is
 * not allowed, but for what is there already. */
static void close_holder(struct needs *n, uint32_t holder, radio_vec *all, bool is_there)
{
    uint32_t kept = n->first_radio[holder];
    for (uint32_t r = kept; r < all->n; r++) {
        if (all->v[r].needs_radar_detection && !n->space->options.allows_radar && !is_there)
            continue;
        all->v[kept] = all->v[r];
        all->v[kept++].equipment = holder;
    }
    all->n = kept;
    n->first_radio[holder + 1] = kept;
}

static enum rt_code add_holder(const struct run *run, struct needs *n, uint32_t holder, const struct equipment *e,
                               bool is_there, bool stays, radio_vec *all, struct rt_problems *p)
{
    uint32_t off = 0;
    RT_TRY(add_radios(run, n, e, stays, all, &off, p));
    close_holder(n, holder, all, is_there);
    if (holder < n->n_offers)
        n->radios_off[holder] = off;
    return RT_OK;
}

/* ---- radios that differ in their place alone ---- */

static bool is_like(const struct ap_radio *a, const struct ap_radio *b)
{
    return a->band == b->band && a->phy == b->phy && a->channel_was_chosen == b->channel_was_chosen &&
           !(fabs(a->centre_hz - b->centre_hz) > 0.0) && !(fabs(a->width_hz - b->width_hz) > 0.0) &&
           !(fabs(a->streams - b->streams) > 0.0) && !(fabs(a->power_dbm - b->power_dbm) > 0.0) &&
           !(fabs(a->noise_figure_db - b->noise_figure_db) > 0.0);
}

static bool sort_radios(struct arena *a, struct needs *n)
{
    n->sort = ARENA_ARRAY(a, uint32_t, n->radios.n);
    n->like = ARENA_ARRAY(a, const struct ap_radio *, n->radios.n);
    if (!n->sort || !n->like)
        return false;
    for (uint32_t r = 0; r < n->radios.n; r++) {
        uint32_t s = 0;
        while (s < n->n_sorts && !is_like(n->like[s], &n->radios.v[r]))
            s++;
        if (s == n->n_sorts)
            n->like[n->n_sorts++] = &n->radios.v[r];
        n->sort[r] = s;
    }
    return true;
}

enum rt_code needs_find_radios(const struct run *run, struct needs *n, struct rt_problems *p)
{
    const struct house *h = n->space->house;
    const uint32_t n_most = n->space->placing.offers.n + h->equipment.n;
    radio_vec all = { 0 };
    n->n_offers = n->n_holders = n->space->placing.offers.n;
    n->first_radio = ARENA_ARRAY(run->arena, uint32_t, (size_t)n_most + 1);
    n->radios_off = ARENA_ARRAY(run->arena, uint32_t, n->n_offers);
    if (!n->first_radio || !n->radios_off)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n->n_offers; i++) {
        const struct place_offer *o = &n->space->placing.offers.v[i];
        struct equipment e;
        if (!equipment_of_offer(run->arena, n->space, o, &e))
            return rt_fail_memory(p);
        RT_TRY(add_holder(run, n, i, &e, o->piece != NO_REF, o->is_fixed && !e.tune, &all, p));
    }
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (has_radios(h, &h->equipment.v[e]) && !is_offered(n->space, e))
            RT_TRY(add_holder(run, n, n->n_holders++, &h->equipment.v[e], true, true, &all, p));
    n->radios.v = all.v;
    n->radios.n = all.n;
    return sort_radios(run->arena, n) ? RT_OK : rt_fail_memory(p);
}
