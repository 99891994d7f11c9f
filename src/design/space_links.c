/* From the cables that might be laid to things and links; what no cable reaches is left out. */
#include "design/space_int.h"

static bool is_open_to(const struct space_maker *m, const struct pair *q)
{
    return q->is_good && !m->hubs.v[q->hub].is_left_out;
}

static bool has_way(const struct space_maker *m, uint32_t first, uint32_t n)
{
    for (uint32_t i = first; i < first + n; i++)
        if (is_open_to(m, &m->pairs.v[i]))
            return true;
    return false;
}

void maker_leave_out(struct space_maker *m)
{
    for (uint32_t g = 1; g < m->hubs.n; g++) {
        struct hub_draft *d = &m->hubs.v[g];
        d->is_left_out = d->up != NO_REF ? m->hubs.v[d->up].is_left_out : !has_way(m, d->first_pair, d->n_pairs);
    }
    for (uint32_t i = 0; i < m->sites.n; i++) {
        struct site_draft *s = &m->sites.v[i];
        if (s->hub != NO_REF && m->hubs.v[s->hub].is_left_out)
            s->hub = NO_REF;
        s->is_left_out = !s->is_fixed && s->hub == NO_REF && !has_way(m, s->first_pair, s->n_pairs);
    }
}

static bool add_link(struct space_maker *m, struct place_link q, struct design_link d)
{
    m->failed |= !VEC_PUSH(m->a, &m->place_links, q) || !VEC_PUSH(m->a, &m->design_links, d);
    return !m->failed;
}

/* A cable that is there. */
static bool add_old(struct space_maker *m, uint32_t hub, uint32_t cable)
{
    const struct cable *c = &m->space->asked->cables.v[cable];
    return add_link(
        m, (struct place_link){ .thing = m->things.n, .hub = m->hubs.v[hub].index, .cabling = NO_REF },
        (struct design_link){ .medium = cable_is_copper(m->links.v[cable].category) ? MEDIUM_COPPER : MEDIUM_FIBRE,
                              .cable = cable,
                              .converter = NO_REF,
                              .cord = NO_REF,
                              .protector = NO_REF,
                              .cord_hub_m = c->cord_from_m,
                              .cord_thing_m = c->cord_to_m });
}

/* Works that are paid for it: those it passes and that cost something. */
static bool works_of(struct space_maker *m, uint32_t cable, index_list *out)
{
    const struct cable_plan *plan = m->plan;
    for (int fill = 0; fill < 2; fill++) {
        uint32_t n = 0;
        for (uint32_t w = 0; w < plan->work.n; w++)
            for (uint32_t k = 0; k < plan->work.v[w].cables.n && m->space->placing.works.v[w] > 0; k++)
                if (plan->work.v[w].cables.v[k].i == cable) {
                    if (fill)
                        out->v[n] = w;
                    n++;
                }
        if (!fill && !(out->v = ARENA_ARRAY(m->a, uint32_t, n)))
            return false;
        out->n = n;
    }
    return true;
}

static bool add_new(struct space_maker *m, const struct pair *q)
{
    const struct cable *c = &m->asking->cables.v[q->cable];
    struct place_link l = { .thing = m->things.n,
                            .hub = m->hubs.v[q->hub].index,
                            .price = q->price,
                            .length_m = q->length_m,
                            .cabling = q->cabling };
    const bool is_fibre = q->medium == MEDIUM_FIBRE;
    m->failed |= q->cord == NO_REF && !works_of(m, q->cable, &l.works);
    return !m->failed && add_link(m, l,
                                  (struct design_link){ .medium = q->medium,
                                                        .cable = NO_REF,
                                                        .converter = is_fibre ? m->converter : NO_REF,
                                                        .cord = q->cord,
                                                        .protector = q->is_between && !is_fibre ? m->protector : NO_REF,
                                                        .cord_hub_m = c->cord_from_m,
                                                        .cord_thing_m = c->cord_to_m });
}

/* The thing with its links: by its old cable, or by any of the new ones. */
static bool add_thing(struct space_maker *m, struct place_thing t, uint32_t old_hub, uint32_t old_cable, uint32_t first,
                      uint32_t n)
{
    const uint32_t first_link = m->place_links.n;
    if (old_hub != NO_REF)
        add_old(m, old_hub, old_cable);
    for (uint32_t i = first; i < first + n && !m->failed && old_hub == NO_REF; i++)
        if (is_open_to(m, &m->pairs.v[i]))
            add_new(m, &m->pairs.v[i]);
    t.links.n = m->place_links.n - first_link;
    t.links.v = ARENA_ARRAY(m->a, uint32_t, t.links.n);
    for (uint32_t i = 0; t.links.v && i < t.links.n; i++)
        t.links.v[i] = first_link + i;
    m->failed |= !t.links.v || !VEC_PUSH(m->a, &m->things, t);
    return !m->failed;
}

/* Says that no cable comes to something, and why by its first pair, if it has any. */
static void warn_of_no_way(struct space_maker *m, struct rt_place at, const char *what, struct str id,
                           uint32_t first_pair, uint32_t n_pairs)
{
    const struct str why = n_pairs ? m->plan->cables[m->pairs.v[first_pair].cable].why_not : STR("");
    rt_warn(m->p, RT_MISSING, at, "give its place, or add a run that leads there",
            "no cable can be laid to %s '%.*s'%s%.*s", what, STR_ARG(id), why.n ? ": " : "", STR_ARG(why));
}

static bool add_device(struct space_maker *m, struct device_draft *d)
{
    const struct device *q = &m->h->devices.v[d->device];
    const uint32_t part = q->part.n ? parts_find(&m->h->parts, q->part) : NO_REF;
    const double class_of_part = part == NO_REF ? RT_NOT_GIVEN : maker_part(m, part)->poe_class_needed;
    const double class = given_or(q->poe_class, class_of_part);
    const struct poe_class *c = is_given(class) && (d->is_fed || d->cable == NO_REF) ? poe_class((int)class) : NULL;
    const double most_w = part == NO_REF ? RT_NOT_GIVEN : maker_part(m, part)->power_max_w;
    const bool is_joined = d->hub != NO_REF;
    if (is_joined ? m->hubs.v[d->hub].is_left_out : !has_way(m, d->first_pair, d->n_pairs)) {
        warn_of_no_way(m, q->at, "device", q->id, d->first_pair, is_joined ? 0 : d->n_pairs);
        return true;
    }
    d->feed = maker_feed(m, c, most_w, maker_longest_m(m, d->first_pair, d->n_pairs, d->cable));
    d->thing = m->things.n;
    return add_thing(m,
                     (struct place_thing){ .site = NO_REF,
                                           .device = d->device,
                                           .hub = NO_REF,
                                           .poe_class = c ? c->number : -1,
                                           .power_w = feed_w(d->feed),
                                           .speed_mbps = wire_own_need_mbps(m->h, m->h->equipment.n + d->device) },
                     d->hub, d->cable, d->first_pair, d->n_pairs);
}

/* The hub that it is joined to whatever is chosen; NO_REF. */
static uint32_t only_hub(const struct space_maker *m, const struct device_draft *d)
{
    if (d->thing == NO_REF || m->things.v[d->thing].links.n != 1)
        return NO_REF;
    return m->place_links.v[m->things.v[d->thing].links.v[0]].hub;
}

/* What hangs at a hub in every answer: of it the sums are known, and the larger one counts in place of the sum of the larger. */
static void share_watts(struct space_maker *m, uint32_t hub)
{
    struct feed sum = { 0 };
    double larger_w = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        const double scale = larger_w > 0.0 ? feed_w(sum) / larger_w : 1.0;
        for (uint32_t i = 0; i < m->sites.n + m->devices.n; i++) {
            const struct site_draft *s = i < m->sites.n ? &m->sites.v[i] : NULL;
            const struct device_draft *d = s ? NULL : &m->devices.v[i - m->sites.n];
            const struct feed f = s ? s->feed : d->feed;
            const bool is_here =
                s ? s->offer != NO_REF && s->hub != NO_REF && m->hubs.v[s->hub].index == hub : only_hub(m, d) == hub;
            if (!is_here)
                continue;
            if (pass == 1) {
                *(s ? &m->offers.v[s->offer].power_w : &m->things.v[d->thing].power_w) *= scale;
                continue;
            }
            sum.in_use_w += f.in_use_w;
            sum.at_start_w += f.at_start_w;
            larger_w += feed_w(f);
        }
    }
}

enum rt_code maker_list_links(struct space_maker *m)
{
    struct design_space *s = m->space;
    const struct place_thing nothing = { .site = NO_REF, .device = NO_REF, .hub = NO_REF, .poe_class = -1 };
    for (uint32_t i = 0; i < m->sites.n && !m->failed; i++) {
        const struct site_draft *d = &m->sites.v[i];
        struct place_thing t = nothing;
        if (d->is_left_out)
            continue;
        if (d->hub == NO_REF && !has_way(m, d->first_pair, d->n_pairs)) { /* it stands there all the same */
            const struct equipment *q = &m->h->equipment.v[s->pieces.v[d->piece]];
            warn_of_no_way(m, q->at, "access point", q->id, d->first_pair, d->n_pairs);
            continue;
        }
        t.site = d->index;
        s->sites.v[d->index].thing = m->things.n;
        add_thing(m, t, d->hub, d->cable, d->first_pair, d->n_pairs);
    }
    for (uint32_t i = 0; i < m->devices.n && !m->failed; i++)
        add_device(m, &m->devices.v[i]);
    for (uint32_t g = 1; g < m->hubs.n && !m->failed; g++) {
        const struct hub_draft *d = &m->hubs.v[g];
        struct place_thing t = nothing;
        t.hub = d->index;
        if (!d->is_left_out)
            add_thing(m, t, d->up, d->up_cable, d->first_pair, d->n_pairs);
    }
    for (uint32_t g = 0; g < s->hubs.n && !m->failed; g++)
        share_watts(m, g);
    s->placing.things.v = m->things.v;
    s->placing.things.n = m->things.n;
    s->placing.links.v = m->place_links.v;
    s->placing.links.n = m->place_links.n;
    s->links.v = m->design_links.v;
    s->links.n = m->design_links.n;
    s->placing.cablings.v = m->cablings.v;
    s->placing.cablings.n = m->cablings.n;
    return m->failed ? rt_fail_memory(m->p) : RT_OK;
}
