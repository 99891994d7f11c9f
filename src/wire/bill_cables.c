/* Cables with what stands at their ends, and the work of laying them. */
#include <math.h>

#include "data/cabling.h"
#include "wire/bill_int.h"
#include "wire/end_label.h"

double bill_cut_m(const struct cable_plan *cables, const struct wire_links *links, uint32_t cable)
{
    const struct routed_cable *r = &cables->cables[cable];
    const struct cable *c = &cables->h->cables.v[cable];
    if (!r->is_routed || !isfinite(r->fixed_m))
        return RT_NOT_GIVEN;
    return r->fixed_m + (links->v[cable].is_fibre ? c->cord_from_m + c->cord_to_m : 0.0);
}

double bill_cable_m(const struct bill_draft *d, uint32_t cable) { return bill_cut_m(d->cables, d->links, cable); }

/* ---- what stands at an end ---- */

/* Cheapest cord or outlet that does; NO_REF.  `is_there`: the parts file has some of that kind at all. */
static uint32_t cheapest(const struct bill_draft *d, enum part_kind kind, struct str category, double length_m,
                         bool outdoors, bool *is_there)
{
    uint32_t best = NO_REF;
    *is_there = false;
    for (uint32_t i = 0; i < d->h->parts.list.n; i++) {
        const struct part *p = &d->h->parts.list.v[i];
        if (p->kind != kind)
            continue;
        *is_there = true;
        if ((p->category.n && !cable_category_serves(p->category, category)) || (outdoors && !p->outdoors) ||
            (length_m > 0.0 && !(p->per_m >= length_m - 1e-9)))
            continue;
        if (p->price >= 0.0 && (best == NO_REF || p->price < d->h->parts.list.v[best].price))
            best = i;
    }
    return best;
}

static void add_cord(struct bill_draft *d, uint32_t cable, double length_m)
{
    const struct cable *c = &d->h->cables.v[cable];
    const struct str category = d->links->v[cable].category;
    bool is_there;
    const uint32_t part = cheapest(d, PART_CORD, category, length_m, false, &is_there);
    if (part != NO_REF)
        bill_part(d, BILL_CABLE, part, d->cable_phase[cable], false, c->id);
    else
        bill_gap(d, d->cable_phase[cable], false,
                 "the parts file has no cord of category %.*s and %.1f m, as cable %.*s needs", STR_ARG(category),
                 length_m, STR_ARG(c->id));
}

static void add_end(struct bill_draft *d, uint32_t cable, bool at_from)
{
    const struct cable *c = &d->h->cables.v[cable];
    const double cord_m = at_from ? c->cord_from_m : c->cord_to_m;
    const uint32_t phase = d->cable_phase[cable];
    bool outdoors = false, is_there = false;
    uint32_t outlet = NO_REF;
    if (cord_m > 0.0) {
        add_cord(d, cable, cord_m);
        if (cable_has_outlet(d->h, c, at_from, &outdoors)) {
            outlet = cheapest(d, PART_OUTLET, d->links->v[cable].category, 0.0, outdoors, &is_there);
            if (outlet != NO_REF)
                bill_part(d, BILL_OUTLET, outlet, phase, false, c->id);
            else if (is_there)
                bill_gap(d, phase, false, "the parts file has no socket of category %.*s%s, as cable %.*s needs",
                         STR_ARG(d->links->v[cable].category), outdoors ? " for outdoors" : "", STR_ARG(c->id));
        }
    }
    bill_labour(d, outlet != NO_REF ? TASK_END_IN_OUTLET : TASK_END_IN_PLUG, phase, 1.0, c->id);
}

/* ---- laying ---- */

static enum work_task lay_task(enum run_kind kind)
{
    static const enum work_task TASKS[] = {
        [RUN_RISER] = TASK_LAY_RISER,
        [RUN_CEILING_VOID] = TASK_LAY_CEILING_VOID,
        [RUN_UNDER_FLOOR] = TASK_LAY_UNDER_FLOOR,
        [RUN_SKIRTING] = TASK_LAY_SKIRTING,
        [RUN_DUCT] = TASK_LAY_DUCT,
        [RUN_SURFACE] = TASK_LAY_SURFACE,
        [RUN_TRENCH] = TASK_LAY_TRENCH,
        [RUN_ATTIC] = TASK_LAY_ATTIC,
    };
    return TASKS[kind];
}

/* A metre's price to the millionth, so that legs of one run share a line. */
static void add_leg(struct bill_draft *d, uint32_t cable, const struct cable_leg *leg)
{
    const uint32_t phase = d->cable_phase[cable];
    bill_labour(d, lay_task(leg->kind), phase, leg->length_m, d->h->cables.v[cable].id);
    if (leg->price == 0.0)
        return;
    const bool by_metre = leg->length_m > 0.0 && is_given(leg->price);
    const struct cable_run *run = leg->run != NO_REF ? &d->h->runs.v[leg->run] : NULL;
    const struct str where = !run ? leg->says : run->says.n ? run->says : run->id;
    const char *what = arena_printf(d->a, "laying cable: %.*s", STR_ARG(where));
    d->failed |= !what;
    bill_add(d, (struct bill_item){ .kind = BILL_WORK,
                                    .phase = phase,
                                    .part = NO_REF,
                                    .what = str_from(what ? what : ""),
                                    .unit = by_metre ? STR("m") : STR(""),
                                    .count = by_metre ? leg->length_m : 1.0,
                                    .price = by_metre ? round(leg->price / leg->length_m * 1e6) / 1e6 : leg->price,
                                    .who = d->h->cables.v[cable].id });
}

static void add_laying(struct bill_draft *d, uint32_t cable)
{
    const struct routed_cable *r = &d->cables->cables[cable];
    const struct cable *c = &d->h->cables.v[cable];
    for (uint32_t i = 0; i < r->legs.n; i++)
        add_leg(d, cable, &r->legs.v[i]);
    if (r->legs.n == 0)
        bill_labour(d, TASK_LAY_ANYWHERE, d->cable_phase[cable], r->fixed_m, c->id);
}

bool bill_work_is_new(const struct house *h, const struct cable_work *w)
{
    uint32_t n_old = 0;
    for (uint32_t i = 0; i < w->cables.n; i++)
        n_old += h->cables.v[w->cables.v[i].i].owned;
    return n_old < w->cables.n && (w->kind == WORK_BOARD || n_old == 0);
}

/* Work that several new cables share is done once, with the first of them. */
void bill_work(struct bill_draft *d, const struct cable_work *w)
{
    const struct house *h = d->h;
    uint32_t first = NO_REF;
    if (!bill_work_is_new(h, w))
        return;
    for (uint32_t i = 0; i < w->cables.n; i++) {
        const uint32_t cable = w->cables.v[i].i;
        const uint32_t phase = d->cable_phase[cable];
        if (!h->cables.v[cable].owned &&
            (first == NO_REF || bill_later_phase(h, phase, d->cable_phase[first]) != phase))
            first = cable;
    }
    if (!is_given(w->price) && bill_pays_labour(d)) {
        bill_labour(d, w->kind == WORK_HOLE ? TASK_HOLE : TASK_BOARD, d->cable_phase[first], 1.0,
                    h->cables.v[first].id);
        return;
    }
    bill_add(d, (struct bill_item){ .kind = BILL_WORK,
                                    .phase = d->cable_phase[first],
                                    .part = NO_REF,
                                    .what = w->says,
                                    .count = 1.0,
                                    .price = w->price,
                                    .who = h->cables.v[first].id });
}

/* ---- one cable ---- */

bool bill_is_piece(const struct part *p) { return p->kind != PART_CABLE || !(p->per_m > 0.0); }

static void add_owned(struct bill_draft *d, uint32_t cable)
{
    const struct cable *c = &d->h->cables.v[cable];
    if (c->part.i == NO_REF)
        return;
    const bool piece = bill_is_piece(&d->h->parts.list.v[c->part.i]);
    const double length_m = piece ? 0.0 : given_or(bill_cable_m(d, cable), 0.0);
    bill_add(d, (struct bill_item){ .kind = BILL_CABLE,
                                    .phase = NO_REF,
                                    .part = c->part.i,
                                    .owned = true,
                                    .what = bill_part_words(d, c->part.i),
                                    .unit = piece ? STR("") : STR("m"),
                                    .count = piece ? 1.0 : length_m,
                                    .length_m = length_m,
                                    .who = c->id });
}

void bill_new_cable(struct bill_draft *d, uint32_t cable)
{
    const struct cable *c = &d->h->cables.v[cable];
    const struct part *p = c->part.i != NO_REF ? &d->h->parts.list.v[c->part.i] : NULL;
    const uint32_t phase = d->cable_phase[cable];
    const double length_m = bill_cable_m(d, cable);
    if (p && bill_is_piece(p))
        bill_part(d, BILL_CABLE, c->part.i, phase, false, c->id);
    if (p && p->kind == PART_CORD)
        return; /* plugs in at both ends, and needs no laying */
    if (!is_given(length_m)) {
        bill_gap(d, phase, false, "the %s of cable %.*s is not known: %.*s", is_given(c->length_m) ? "way" : "length",
                 STR_ARG(c->id), STR_ARG(d->cables->cables[cable].why_not));
        return;
    }
    if (p && !bill_is_piece(p))
        bill_add(d, (struct bill_item){ .kind = BILL_CABLE,
                                        .phase = phase,
                                        .part = c->part.i,
                                        .what = bill_part_words(d, c->part.i),
                                        .unit = p->per_m == 1.0 ? STR("m") : STR(""),
                                        .price = d->prices_hold ? p->price : RT_NOT_GIVEN,
                                        .length_m = length_m,
                                        .who = c->id });
    if (!d->links->v[cable].is_fibre) {
        add_end(d, cable, true);
        add_end(d, cable, false);
    }
    add_laying(d, cable);
}

enum rt_code bill_cables(struct bill_draft *d, struct rt_problems *p)
{
    for (uint32_t i = 0; i < d->h->cables.n; i++)
        if (d->h->cables.v[i].owned)
            add_owned(d, i);
        else
            bill_new_cable(d, i);
    for (uint32_t i = 0; i < d->cables->work.n; i++)
        bill_work(d, &d->cables->work.v[i]);
    return bill_open_cables(d, p);
}
