/* Ways step by step, and the places where cable goes up or down. */
#include "wire/install.h"

#include <math.h>
#include <stdlib.h>

#include "base/sum.h"
#include "base/units.h"
#include "house/polygon.h"
#include "wire/install_int.h"

/* A stretch shorter than this is told with its neighbour. */
static const double LEAST_STEP_M = 0.10;
/* On the face of a wall, it is still at the building. */
static const double BESIDE_M = 0.4;

static bool is_cord(const struct house *h, uint32_t cable)
{
    const uint32_t part = h->cables.v[cable].part.i;
    return part != NO_REF && h->parts.list.v[part].kind == PART_CORD;
}

static enum install_heading heading_of(const struct cable_leg *l)
{
    const double rise_m = l->to_m.z - l->from_m.z;
    if (fabs(rise_m) <= 2.0 * hypot(l->to_m.x - l->from_m.x, l->to_m.y - l->from_m.y))
        return INSTALL_ALONG;
    return rise_m > 0.0 ? INSTALL_UP : INSTALL_DOWN;
}

/* Without the remark at its end that the run was generated: steps say so by a mark of their own. */
static struct str bare(struct str says)
{
    static const struct str END = { " (generated)", 12 };
    if (says.n > END.n && str_eq((struct str){ says.p + says.n - END.n, END.n }, END))
        says.n -= END.n;
    return says;
}

static struct install_step step_of(const struct cable_leg *l)
{
    return (struct install_step){ .heading = heading_of(l),
                                  .run = l->run,
                                  .kind = l->kind,
                                  .floor = l->floor,
                                  .from_m = l->from_m,
                                  .to_m = l->to_m,
                                  .length_m = l->length_m,
                                  .says = bare(l->says),
                                  .rise = NO_REF };
}

static void join(struct install_step *s, const struct install_step *next)
{
    s->to_m = next->to_m;
    s->length_m += next->length_m;
}

/* Of the step and the one after it: does one of them go without saying? */
static bool goes_with(const struct install_step *s, const struct install_step *next)
{
    return next->length_m < LEAST_STEP_M ||
           (s->heading == next->heading && s->run == next->run && s->kind == next->kind && s->floor == next->floor &&
            str_eq(s->says, next->says));
}

/* step_of_leg: [legs.n], filled. */
static bool make_steps(struct arena *a, const struct routed_cable *r, struct install_cable *out, uint32_t *step_of_leg)
{
    struct sum all = { 0 };
    out->steps.v = ARENA_ARRAY(a, struct install_step, r->legs.n);
    if (!out->steps.v)
        return false;
    for (uint32_t i = 0; i < r->legs.n; i++) {
        const struct install_step next = step_of(&r->legs.v[i]);
        struct install_step *last = out->steps.n ? &out->steps.v[out->steps.n - 1] : NULL;
        sum_add(&all, next.length_m);
        if (last && goes_with(last, &next)) {
            join(last, &next);
        } else if (last && out->steps.n == 1 &&
                   last->length_m < LEAST_STEP_M) { /* the first bit goes with the second */
            const struct install_step first = *last;
            *last = next;
            last->from_m = first.from_m;
            last->length_m += first.length_m;
        } else {
            out->steps.v[out->steps.n++] = next;
        }
        step_of_leg[i] = out->steps.n - 1;
    }
    out->legs_m = sum_value(&all);
    return true;
}

/* ---- work on the way ---- */

/* Where on the leg the point lies (m from its beginning), and how far from it. */
static double off_leg_m(const struct cable_leg *l, struct vec3 at_m, double *along_m)
{
    const struct vec3 d = vec3_sub(l->to_m, l->from_m), r = vec3_sub(at_m, l->from_m);
    const double len2 = vec3_dot(d, d), t = len2 > 0.0 ? fmin(1.0, fmax(0.0, vec3_dot(r, d) / len2)) : 0.0;
    *along_m = t * sqrt(len2);
    return vec3_len(vec3_sub(r, vec3_scale(d, t)));
}

static int by_way(const void *x, const void *y)
{
    const struct install_pass *p = x, *q = y;
    if (p->step != q->step)
        return p->step < q->step ? -1 : 1;
    if (p->along_m != q->along_m)
        return p->along_m < q->along_m ? -1 : 1;
    return p->work < q->work ? -1 : p->work > q->work;
}

static void pass(const struct routed_cable *r, struct install_cable *out, const uint32_t *step_of_leg,
                 const struct cable_work *w, uint32_t work)
{
    double best_m = INFINITY;
    struct install_pass found = { .work = work };
    double before_m = 0.0;
    for (uint32_t i = 0; i < r->legs.n; i++) {
        double along_m;
        const double off_m = off_leg_m(&r->legs.v[i], w->at_m, &along_m);
        if (i && step_of_leg[i] != step_of_leg[i - 1])
            before_m = 0.0;
        if (off_m < best_m - 1e-6) {
            best_m = off_m;
            found.step = step_of_leg[i];
            found.along_m = before_m + along_m;
        }
        before_m += r->legs.v[i].length_m;
    }
    out->passes.v[out->passes.n++] = found;
}

static bool uses(const struct cable_work *w, uint32_t cable)
{
    for (uint32_t i = 0; i < w->cables.n; i++)
        if (w->cables.v[i].i == cable)
            return true;
    return false;
}

static bool make_cable(struct arena *a, const struct cable_plan *plan, uint32_t cable, struct install_cable *out)
{
    const struct routed_cable *r = &plan->cables[cable];
    uint32_t n = 0, *step_of_leg = ARENA_ARRAY(a, uint32_t, r->legs.n);
    if (!step_of_leg || !make_steps(a, r, out, step_of_leg))
        return false;
    for (uint32_t w = 0; w < plan->work.n; w++)
        n += uses(&plan->work.v[w], cable);
    out->passes.v = ARENA_ARRAY(a, struct install_pass, n);
    if (!out->passes.v)
        return false;
    for (uint32_t w = 0; w < plan->work.n; w++)
        if (uses(&plan->work.v[w], cable))
            pass(r, out, step_of_leg, &plan->work.v[w], w);
    if (out->passes.n)
        qsort(out->passes.v, out->passes.n, sizeof *out->passes.v, by_way);
    for (uint32_t i = 0; is_cord(plan->h, cable) && i < out->steps.n; i++)
        out->steps.v[i].heading = INSTALL_CORD;
    return true;
}

/* ---- up and down ---- */

/* A piece before it is put with others. */
struct upright {
    struct vec2 at_m;
    struct install_piece piece;
    uint32_t rise;
};

typedef VEC(struct upright) upright_vec;

static bool find_uprights(struct arena *a, const struct install *in, upright_vec *out)
{
    for (uint32_t c = 0; c < in->plan->h->cables.n; c++)
        for (uint32_t i = 0; i < in->cables[c].steps.n; i++) {
            const struct install_step *s = &in->cables[c].steps.v[i];
            const double low_m = fmin(s->from_m.z, s->to_m.z), high_m = fmax(s->from_m.z, s->to_m.z);
            if ((s->heading != INSTALL_UP && s->heading != INSTALL_DOWN) || high_m - low_m < INSTALL_RISE_M)
                continue;
            const struct vec3 top_m = s->from_m.z > s->to_m.z ? s->from_m : s->to_m;
            const struct upright u = { { top_m.x, top_m.y }, { c, i, low_m, high_m }, NO_REF };
            if (!VEC_PUSH(a, out, u))
                return false;
        }
    return true;
}

/* Each with the first before it that is near; numbers follow the place: from the house's left to its right, then upwards. */
static int by_place(const void *x, const void *y)
{
    const struct install_rise *p = x, *q = y;
    if (p->floor != q->floor)
        return p->floor < q->floor ? -1 : 1;
    if (p->at_m.y != q->at_m.y)
        return p->at_m.y < q->at_m.y ? -1 : 1;
    if (p->at_m.x != q->at_m.x)
        return p->at_m.x < q->at_m.x ? -1 : 1;
    return p->pieces.v[0].cable < q->pieces.v[0].cable ? -1 : p->pieces.v[0].cable > q->pieces.v[0].cable;
}

/* The storey whose space holds the point, or the highest below it that is under the open sky there. */
static uint32_t floor_at(const struct house *h, struct vec2 at_m, double z_m)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        if (!polygon_contains_within(f->outline, at_m, BESIDE_M) || f->level_m > z_m + BESIDE_M)
            continue;
        if (best == NO_REF || (h->floors.v[best].open_air && !f->open_air) ||
            (h->floors.v[best].open_air == f->open_air && f->level_m > h->floors.v[best].level_m))
            best = i;
    }
    return best;
}

/* The lowest floor under a roof that holds the point, or has it at its face. */
static uint32_t building_at(const struct house *h, struct vec2 at_m)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->floors.n; i++)
        if (!h->floors.v[i].open_air && polygon_contains_within(h->floors.v[i].outline, at_m, BESIDE_M) &&
            (best == NO_REF || h->floors.v[i].level_m < h->floors.v[best].level_m))
            best = i;
    return best;
}

static void place_rise(const struct house *h, struct install_rise *r)
{
    r->building = building_at(h, r->at_m);
    r->floor = floor_at(h, r->at_m, r->low_m);
    if (r->floor == NO_REF) /* it begins below all floors */
        r->floor = floor_at(h, r->at_m, (r->low_m + r->high_m) / 2.0);
    if (r->floor == NO_REF)
        r->floor = r->building;
    if (r->floor != NO_REF)
        r->n_dims = install_dims_at(h, h->floors.v[r->floor].open_air && r->building != NO_REF ? r->building : r->floor,
                                    r->at_m, r->dims);
}

static bool make_rises(struct arena *a, struct install *in)
{
    upright_vec all = { 0 };
    if (!find_uprights(a, in, &all))
        return false;
    in->rises.v = ARENA_ARRAY(a, struct install_rise, all.n);
    if (!in->rises.v)
        return false;
    for (uint32_t i = 0; i < all.n; i++) {
        struct upright *u = &all.v[i];
        for (uint32_t k = 0; k < in->rises.n && u->rise == NO_REF; k++)
            if (vec2_len(vec2_sub(in->rises.v[k].at_m, u->at_m)) < INSTALL_TOGETHER_M)
                u->rise = k;
        if (u->rise == NO_REF) {
            u->rise = in->rises.n;
            in->rises.v[in->rises.n++] =
                (struct install_rise){ .at_m = u->at_m, .low_m = INFINITY, .high_m = -INFINITY };
        }
    }
    for (uint32_t k = 0; k < in->rises.n; k++) {
        struct install_rise *r = &in->rises.v[k];
        r->pieces.v = ARENA_ARRAY(a, struct install_piece, all.n);
        if (!r->pieces.v)
            return false;
        for (uint32_t i = 0; i < all.n; i++)
            if (all.v[i].rise == k) {
                r->pieces.v[r->pieces.n++] = all.v[i].piece;
                r->low_m = fmin(r->low_m, all.v[i].piece.low_m);
                r->high_m = fmax(r->high_m, all.v[i].piece.high_m);
            }
        place_rise(in->plan->h, r);
    }
    if (in->rises.n)
        qsort(in->rises.v, in->rises.n, sizeof *in->rises.v, by_place);
    for (uint32_t k = 0; k < in->rises.n; k++)
        for (uint32_t i = 0; i < in->rises.v[k].pieces.n; i++) {
            const struct install_piece *p = &in->rises.v[k].pieces.v[i];
            in->cables[p->cable].steps.v[p->step].rise = k;
        }
    return true;
}

static bool is_trench(const struct cable_run *r)
{
    return r->line.n > 1 && (r->kind == RUN_TRENCH || (r->kind == RUN_DUCT && r->outdoors));
}

static bool is_used(const struct install *in, uint32_t run)
{
    for (uint32_t c = 0; c < in->plan->h->cables.n; c++)
        for (uint32_t i = 0; i < in->cables[c].steps.n; i++)
            if (in->cables[c].steps.v[i].run == run)
                return true;
    return false;
}

static bool find_trenches(struct arena *a, struct install *in)
{
    const struct house *h = in->plan->h;
    in->trenches.v = ARENA_ARRAY(a, uint32_t, h->runs.n);
    for (uint32_t i = 0; in->trenches.v && i < h->runs.n; i++)
        if (is_trench(&h->runs.v[i]) && is_used(in, i))
            in->trenches.v[in->trenches.n++] = i;
    return in->trenches.v;
}

struct install *install_make(struct arena *a, const struct cable_plan *plan)
{
    struct install *in = ARENA_NEW(a, struct install);
    if (!in)
        return NULL;
    in->plan = plan;
    in->work = ARENA_ARRAY(a, struct install_work, plan->work.n);
    in->cables = ARENA_ARRAY(a, struct install_cable, plan->h->cables.n);
    if (!in->work || !in->cables)
        return NULL;
    install_place_work(in);
    for (uint32_t c = 0; c < plan->h->cables.n; c++)
        if (!make_cable(a, plan, c, &in->cables[c]))
            return NULL;
    return make_rises(a, in) && find_trenches(a, in) ? in : NULL;
}
