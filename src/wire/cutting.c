#include "wire/cutting.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"

/* A hair less than a whole box is rounding, not cable. */
static const double HAIR_M = 1e-6;

/* Longest first; ties in the order of the file. */
static int by_length(const void *a, const void *b)
{
    const struct cut *x = a, *y = b;
    if (x->length_m > y->length_m || x->length_m < y->length_m)
        return x->length_m > y->length_m ? -1 : 1;
    return x->cable < y->cable ? -1 : x->cable > y->cable;
}

static void put_in_box(struct cut_part *q, struct cut *cut)
{
    uint32_t box = 0;
    cut->box = NO_REF;
    if (cut->length_m > q->box_m + HAIR_M)
        return;
    while (box < q->left_m.n && q->left_m.v[box] + HAIR_M < cut->length_m)
        box++;
    if (box == q->left_m.n)
        q->left_m.v[q->left_m.n++] = q->box_m;
    q->left_m.v[box] = fmax(0.0, q->left_m.v[box] - cut->length_m);
    cut->box = box;
}

static bool cut_up(struct arena *a, const struct parts *parts, struct cut_part *q)
{
    const double per_m = parts->list.v[q->part].per_m;
    q->box_m = per_m > 1.0 ? per_m : 0.0;
    q->left_m.v = ARENA_ARRAY(a, double, q->cuts.n);
    if (!q->left_m.v)
        return false;
    if (q->cuts.n > 1)
        qsort(q->cuts.v, q->cuts.n, sizeof q->cuts.v[0], by_length);
    for (uint32_t i = 0; i < q->cuts.n; i++) {
        q->total_m += q->cuts.v[i].length_m;
        if (q->box_m > 0.0)
            put_in_box(q, &q->cuts.v[i]);
    }
    const double sold = ceil((q->total_m - HAIR_M) / per_m);
    q->n_boxes_billed = q->box_m > 0.0 ? (uint32_t)sold : 1;
    if (q->box_m == 0.0)
        q->left_m.v[q->left_m.n++] = fmax(0.0, sold * per_m - q->total_m);
    return true;
}

/* Cables of one part. */
static bool add_part(struct arena *a, struct cut_plan *plan, const struct wire_links *links, const struct bill *bill,
                     uint32_t part)
{
    const struct house *h = plan->cables->h;
    struct cut_part q = { .part = part, .cuts = { .v = ARENA_ARRAY(a, struct cut, h->cables.n) } };
    if (!q.cuts.v)
        return false;
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const double length_m = bill_cut_m(plan->cables, links, i);
        if (bill->cable_parts[i] == part && !h->cables.v[i].owned && is_given(length_m))
            q.cuts.v[q.cuts.n++] = (struct cut){ .cable = i, .length_m = length_m };
    }
    if (q.cuts.n && !cut_up(a, &h->parts, &q))
        return false;
    if (q.cuts.n)
        plan->parts.v[plan->parts.n++] = q;
    return true;
}

struct cut_plan *cut_plan_make(struct arena *a, const struct cable_plan *cables, const struct wire_links *links,
                               const struct bill *bill)
{
    const struct house *h = cables->h;
    const struct parts *parts = &h->parts;
    struct cut_plan *plan = ARENA_NEW(a, struct cut_plan);
    if (!plan)
        return NULL;
    *plan = (struct cut_plan){ .cables = cables,
                               .parts = { .v = ARENA_ARRAY(a, struct cut_part, parts->list.n) },
                               .unknown = { .v = ARENA_ARRAY(a, uint32_t, h->cables.n) } };
    bool ok = plan->parts.v && plan->unknown.v;
    for (uint32_t i = 0; ok && i < parts->list.n; i++)
        if (!bill_is_piece(&parts->list.v[i]))
            ok = add_part(a, plan, links, bill, i);
    for (uint32_t i = 0; ok && i < h->cables.n; i++)
        if (!h->cables.v[i].owned &&
            (bill->cable_parts[i] == NO_REF ||
             (!bill_is_piece(&parts->list.v[bill->cable_parts[i]]) && !is_given(bill_cut_m(cables, links, i)))))
            plan->unknown.v[plan->unknown.n++] = i;
    return ok ? plan : NULL;
}
