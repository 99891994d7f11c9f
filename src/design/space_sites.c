/* Where access points may hang, and which parts may hang there at what price. */
#include <math.h>
#include <string.h>

#include "design/space_int.h"

/* Of a port, where no promise says how fast cables are. */
#define USUAL_MBPS 1000.0

/* ---- pieces that are there ---- */

static bool is_access_point(const struct house *h, uint32_t e)
{
    const struct part *p = equipment_part(h, e);
    return p && p->kind == PART_ACCESS_POINT;
}

/* A mount for each access point that stands without one, behind the others; the equipment itself is left as it is. */
static enum rt_code mount_what_stands(struct space_maker *m)
{
    const struct house *old = m->h;
    struct house *h = ARENA_NEW(m->a, struct house);
    struct mount *mounts = ARENA_ARRAY(m->a, struct mount, (size_t)old->mounts.n + old->equipment.n);
    m->mount_of = ARENA_ARRAY(m->a, uint32_t, old->equipment.n);
    if (!h || !mounts || !m->mount_of)
        return rt_fail_memory(m->p);
    *h = *old;
    if (old->mounts.n)
        memcpy(mounts, old->mounts.v, old->mounts.n * sizeof *mounts);
    h->mounts.v = mounts;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct equipment *q = &h->equipment.v[e];
        m->mount_of[e] = q->mount.i;
        if (!is_access_point(h, e) || q->mount.i != NO_REF || q->floor.i == NO_REF || !is_given(q->at_m.x))
            continue;
        const char *id = arena_printf(m->a, "place_of_%.*s", STR_ARG(q->id));
        if (!id)
            return rt_fail_memory(m->p);
        mounts[h->mounts.n] = (struct mount){ .id = str_from(id),
                                              .at = q->at,
                                              .floor = q->floor,
                                              .room = q->room,
                                              .at_m = q->at_m,
                                              .surface = equipment_part(h, e)->surface,
                                              .faces_deg = q->faces_deg,
                                              .tilt_deg = given_or(q->tilt_deg, 0.0),
                                              .use = MOUNT_ACCESS_POINT,
                                              .price = 0.0,
                                              .outdoors = h->floors.v[q->floor.i].open_air };
        m->mount_of[e] = h->mounts.n++;
    }
    m->h = m->space->house = h;
    return RT_OK;
}

static enum rt_code list_pieces(struct space_maker *m)
{
    index_list *pieces = &m->space->pieces;
    RT_TRY(mount_what_stands(m));
    pieces->v = ARENA_ARRAY(m->a, uint32_t, m->h->equipment.n);
    if (!pieces->v)
        return rt_fail_memory(m->p);
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        if (is_access_point(m->h, e) && m->mount_of[e] != NO_REF)
            pieces->v[pieces->n++] = e;
    m->space->placing.n_pieces = pieces->n;
    return RT_OK;
}

/* ---- parts ---- */

static double ssids_to_carry(const struct house *h)
{
    double n = 0.0;
    for (uint32_t i = 0; i < h->ssids.n; i++)
        n += h->ssids.v[i].equipment.n == 0;
    return n;
}

static bool part_fits(const struct space_maker *m, const struct part *p, const struct mount *k)
{
    return p->kind == PART_ACCESS_POINT && p->radios.n > 0 && p->surface == k->surface &&
           (p->outdoors || !k->outdoors) && (p->vlans || !m->wants_vlans) && !(ssids_to_carry(m->h) > p->ssids_max);
}

static bool same_numbers(double_list a, double_list b)
{
    return a.n == b.n && (a.n == 0 || memcmp(a.v, b.v, a.n * sizeof *a.v) == 0);
}

static bool radio_serves(const struct part_radio *a, const struct part_radio *b)
{
    return a->band == b->band && a->phy >= b->phy && a->streams >= b->streams && a->width_mhz >= b->width_mhz &&
           a->power_dbm >= b->power_dbm && a->noise_figure_db <= b->noise_figure_db &&
           same_numbers(a->antenna.elevation_deg, b->antenna.elevation_deg) &&
           same_numbers(a->antenna.elevation_dbi, b->antenna.elevation_dbi) &&
           same_numbers(a->antenna.azimuth_deg, b->antenna.azimuth_deg) &&
           same_numbers(a->antenna.azimuth_dbi, b->antenna.azimuth_dbi);
}

static double uplink_mbps(const struct part *p)
{
    double most = 0.0;
    for (uint32_t i = 0; i < p->ports.n; i++)
        if (p->ports.v[i].uplink || p->ports.n == 1)
            most = fmax(most, given_or(p->ports.v[i].speed_mbps, 0.0));
    return most > 0.0 ? most : (double)INFINITY;
}

/* Is nothing lost by taking a in place of b? */
static bool serves_as_well(const struct part *a, const struct part *b)
{
    if (a->price > b->price || given_or(a->poe_class_needed, -1.0) > given_or(b->poe_class_needed, -1.0) ||
        is_given(a->poe_class_needed) != is_given(b->poe_class_needed) || uplink_mbps(a) < uplink_mbps(b) ||
        given_or(a->power_max_w, a->power_w) > given_or(b->power_max_w, b->power_w))
        return false;
    for (uint32_t i = 0; i < b->radios.n; i++) {
        bool found = false;
        for (uint32_t k = 0; k < a->radios.n; k++)
            found |= radio_serves(&a->radios.v[k], &b->radios.v[i]);
        if (!found)
            return false;
    }
    return true;
}

static bool list_parts(struct space_maker *m, const struct mount *k, index_list *out)
{
    const struct parts *parts = &m->h->parts;
    out->v = ARENA_ARRAY(m->a, uint32_t, parts->list.n);
    for (uint32_t i = 0; out->v && i < parts->list.n; i++) {
        const struct part *p = &parts->list.v[i];
        bool is_wanted = part_fits(m, p, k);
        for (uint32_t o = 0; is_wanted && o < parts->list.n; o++) {
            const struct part *q = &parts->list.v[o];
            if (o != i && part_fits(m, q, k) && serves_as_well(q, p) && (o < i || !serves_as_well(p, q)))
                is_wanted = false;
        }
        if (is_wanted)
            out->v[out->n++] = i;
    }
    return out->v != NULL;
}

/* ---- sites ---- */

/* What hangs there; NO_REF: nothing. */
static uint32_t hanging_at(const struct space_maker *m, uint32_t mount)
{
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        if (m->mount_of[e] == mount)
            return e;
    return NO_REF;
}

static uint32_t piece_of(const struct design_space *s, uint32_t equipment)
{
    for (uint32_t i = 0; i < s->pieces.n; i++)
        if (s->pieces.v[i] == equipment)
            return i;
    return NO_REF;
}

/* May a movable piece hang there: one that does now, or one made for it? */
static bool may_hang(const struct space_maker *m, const struct site_draft *s, uint32_t piece)
{
    const struct equipment *e = &m->h->equipment.v[m->space->pieces.v[piece]];
    return e->movable && (s->piece == piece || part_fits(m, maker_part(m, e->part.i), &m->h->mounts.v[s->mount]));
}

static bool has_piece_for(const struct space_maker *m, const struct site_draft *s)
{
    for (uint32_t i = 0; i < m->space->pieces.n; i++)
        if (may_hang(m, s, i))
            return true;
    return false;
}

static enum rt_code add_site(struct space_maker *m, uint32_t mount)
{
    const struct house *h = m->h;
    const struct mount *k = &h->mounts.v[mount];
    const uint32_t e = hanging_at(m, mount);
    struct site_draft s = { .mount = mount,
                            .piece = e == NO_REF ? NO_REF : piece_of(m->space, e),
                            .hub = NO_REF,
                            .cable = NO_REF,
                            .offer = NO_REF };
    if (k->floor.i == NO_REF || (e != NO_REF && s.piece == NO_REF))
        return RT_OK;
    s.is_fixed = e != NO_REF && !h->equipment.v[e].movable;
    const bool is_kept_free = k->room.i != NO_REF && h->rooms.v[k->room.i].keep_free & FREE_EQUIPMENT;
    if (!s.is_fixed && (is_kept_free || !(k->use & MOUNT_ACCESS_POINT)))
        return RT_OK;
    if (!s.is_fixed && !list_parts(m, k, &s.parts))
        return rt_fail_memory(m->p);
    if (!s.is_fixed && !s.parts.n && !has_piece_for(m, &s))
        return RT_OK;
    return VEC_PUSH(m->a, &m->sites, s) ? RT_OK : rt_fail_memory(m->p);
}

enum rt_code maker_find_sites(struct space_maker *m)
{
    RT_TRY(list_pieces(m));
    for (uint32_t i = 0; i < m->h->mounts.n; i++)
        RT_TRY(add_site(m, i));
    return RT_OK;
}

/* ---- offers ---- */

static struct place_offer offer_of(const struct space_maker *m, const struct site_draft *s, uint32_t site,
                                   uint32_t part, struct feed *feed)
{
    const struct part *p = maker_part(m, part);
    const struct poe_class *class = is_given(p->poe_class_needed) ? poe_class((int)p->poe_class_needed) : NULL;
    *feed = maker_feed(m, class, p->power_max_w, maker_longest_m(m, s->first_pair, s->n_pairs, s->cable));
    struct place_offer q = {
        .site = site, .part = part, .piece = NO_REF, .poe_class = class ? class->number : -1, .power_w = feed_w(*feed)
    };
    const double wanted_mbps = m->promised_mbps > 0.0 ? m->promised_mbps : USUAL_MBPS;
    q.speed_mbps = fmin(fmin(wanted_mbps, uplink_mbps(p)), m->fastest_mbps);
    for (uint32_t i = 0; i < p->radios.n; i++)
        q.sent_w += units_w_from_dbm(given_or(p->radios.v[i].power_dbm, 0.0));
    return q;
}

static enum rt_code add_offer(struct space_maker *m, struct place_offer q)
{
    return VEC_PUSH(m->a, &m->offers, q) ? RT_OK : rt_fail_memory(m->p);
}

/* One that is there and may hang here: what is owned costs its fixing where it is moved, what is not is bought. */
static enum rt_code add_piece(struct space_maker *m, struct site_draft *s, uint32_t site, uint32_t piece)
{
    struct feed feed;
    const struct equipment *e = &m->h->equipment.v[m->space->pieces.v[piece]];
    const bool hangs_here = s->piece == piece;
    struct place_offer q = offer_of(m, s, site, e->part.i, &feed);
    q.piece = piece;
    q.is_fixed = s->is_fixed;
    if (s->is_fixed && !s->is_fed) {
        q.poe_class = -1;
        q.power_w = 0.0;
    } else if (s->is_fixed) {
        s->offer = m->offers.n;
        s->feed = feed;
    }
    if (!s->is_fixed && !(e->owned && hangs_here))
        RT_TRY(maker_part_price(m, e->owned ? NO_REF : e->part.i, s->mount, &q.price));
    return add_offer(m, q);
}

static enum rt_code add_offers(struct space_maker *m, struct site_draft *s, uint32_t site)
{
    struct feed feed;
    if (s->is_fixed)
        return add_piece(m, s, site, s->piece);
    for (uint32_t i = 0; i < m->space->pieces.n; i++)
        if (may_hang(m, s, i))
            RT_TRY(add_piece(m, s, site, i));
    for (uint32_t i = 0; i < s->parts.n; i++) {
        struct place_offer q = offer_of(m, s, site, s->parts.v[i], &feed);
        RT_TRY(maker_part_price(m, q.part, s->mount, &q.price));
        RT_TRY(add_offer(m, q));
    }
    return RT_OK;
}

enum rt_code maker_list_offers(struct space_maker *m)
{
    struct design_space *s = m->space;
    s->sites.v = ARENA_ARRAY(m->a, struct design_site, m->sites.n);
    if (!s->sites.v)
        return rt_fail_memory(m->p);
    for (uint32_t i = 0; i < m->sites.n; i++) {
        struct site_draft *d = &m->sites.v[i];
        if (d->is_left_out)
            continue;
        m->sites.v[i].index = s->sites.n;
        RT_TRY(add_offers(m, d, s->sites.n));
        s->sites.v[s->sites.n++] =
            (struct design_site){ .mount = d->mount, .is_generated = d->mount >= m->n_file_mounts, .thing = NO_REF };
    }
    s->placing.n_sites = s->sites.n;
    s->placing.offers.v = m->offers.v;
    s->placing.offers.n = m->offers.n;
    return RT_OK;
}
