#include "draw/cable_stretch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "draw/plan.h"
#include "house/polygon.h"

#define BESIDE_M 0.25 /* of the floor, shown round its plan */
#define SAME_M 0.04
#define UNDER_BOARDS_MOST_M 0.6

typedef VEC(struct stretch) stretch_vec;

bool cable_leg_is_upright(const struct cable_leg *l)
{
    return fabs(l->to_m.z - l->from_m.z) > 2.0 * hypot(l->to_m.x - l->from_m.x, l->to_m.y - l->from_m.y);
}

static bool is_of_floor(const struct house *h, const struct cable_leg *l, uint32_t floor)
{
    if (l->floor == floor)
        return true;
    if (l->floor == NO_REF || l->run == NO_REF)
        return false;
    const struct cable_run *run = &h->runs.v[l->run];
    for (uint32_t i = 0; run->outline.n == 0 && i < run->floors.n; i++)
        if (run->floors.v[i].i == floor)
            return true;
    return false;
}

/* In a void between two floors it also lies under the boards of the upper one, which are lifted for it. */
static bool is_under_boards(const struct house *h, const struct cable_leg *l, uint32_t floor)
{
    const struct floor *f = &h->floors.v[floor];
    const struct vec3 mid = vec3_scale(vec3_add(l->from_m, l->to_m), 0.5);
    return (l->kind == RUN_CEILING_VOID || l->kind == RUN_ATTIC) && l->floor != floor && !f->open_air &&
           f->level_m > mid.z - 0.02 && f->level_m < mid.z + UNDER_BOARDS_MOST_M &&
           polygon_contains(f->outline, (struct vec2){ mid.x, mid.y });
}

bool cable_leg_shows(const struct house *h, const struct cable_leg *l, uint32_t floor)
{
    struct vec2 lo, hi;
    if (is_under_boards(h, l, floor))
        return true;
    if (!is_of_floor(h, l, floor))
        return false;
    plan_bounds(h, floor, &lo, &hi);
    for (int i = 0; i <= 40; i++) {
        const struct vec3 p = vec3_add(l->from_m, vec3_scale(vec3_sub(l->to_m, l->from_m), i / 40.0));
        if (p.x > lo.x - BESIDE_M && p.y > lo.y - BESIDE_M && p.x < hi.x + BESIDE_M && p.y < hi.y + BESIDE_M)
            return true;
    }
    return false;
}

static enum lie lie_of(const struct cable_leg *l)
{
    switch (l->kind) {
    case RUN_CEILING_VOID:
    case RUN_ATTIC:
        return LIE_OVER;
    case RUN_UNDER_FLOOR:
        return LIE_UNDER;
    case RUN_TRENCH:
        return LIE_GROUND;
    case RUN_DUCT:
        return l->run == NO_REF ? LIE_SEEN : LIE_GROUND;
    case RUN_RISER:
    case RUN_SKIRTING:
    case RUN_SURFACE:
        return LIE_SEEN;
    }
    return LIE_SEEN;
}

static bool is_cord(const struct house *h, uint32_t cable)
{
    const uint32_t part = h->cables.v[cable].part.i;
    return part != NO_REF && h->parts.list.v[part].kind == PART_CORD;
}

static bool same(struct vec2 a, struct vec2 b) { return vec2_len(vec2_sub(a, b)) < SAME_M; }

static bool add(struct arena *a, stretch_vec *all, const struct stretch *like, struct vec2 from, struct vec2 to,
                uint32_t n_cables, uint32_t cable)
{
    if (same(from, to))
        return true;
    for (uint32_t i = 0; i < all->n; i++) {
        struct stretch *t = &all->v[i];
        if (t->lie != like->lie || !((same(t->a, from) && same(t->b, to)) || (same(t->a, to) && same(t->b, from))))
            continue;
        t->n_cables += !t->has[cable];
        t->has[cable] = true;
        return true;
    }
    struct stretch new = *like;
    new.a = from;
    new.b = to;
    new.n_cables = 1;
    new.has = ARENA_ARRAY(a, bool, n_cables);
    if (!new.has)
        return false;
    new.has[cable] = true;
    return VEC_PUSH(a, all, new);
}

/* A leg as it is, before it is split. */
struct piece {
    struct stretch s;
    uint32_t cable;
};

static int by_size(const void *x, const void *y)
{
    const double *p = x, *q = y;
    return *p < *q ? -1 : *p > *q;
}

/* Where on the piece an end of another lies, short of its own ends; NaN: nowhere. */
static double cut_at_m(const struct stretch *s, struct vec2 at)
{
    const struct vec2 d = vec2_sub(s->b, s->a), r = vec2_sub(at, s->a);
    const double len_m = vec2_len(d), along_m = vec2_dot(r, d) / len_m;
    const bool is_on = fabs(vec2_cross(d, r)) / len_m < SAME_M / 2.0;
    return is_on && along_m > SAME_M && along_m < len_m - SAME_M ? along_m : (double)NAN;
}

static bool split(struct arena *a, const struct piece *pieces, uint32_t n, uint32_t which, uint32_t n_cables,
                  stretch_vec *all)
{
    const struct stretch *s = &pieces[which].s;
    VEC(double) cuts = { 0 };
    for (uint32_t i = 0; i < n; i++)
        for (int end = 0; end < 2 && pieces[i].s.lie == s->lie; end++) {
            const double at_m = cut_at_m(s, end ? pieces[i].s.b : pieces[i].s.a);
            if (!isnan(at_m) && !VEC_PUSH(a, &cuts, at_m))
                return false;
        }
    if (cuts.n)
        qsort(cuts.v, cuts.n, sizeof *cuts.v, by_size);
    const struct vec2 d = vec2_sub(s->b, s->a), u = vec2_scale(d, 1.0 / vec2_len(d));
    struct vec2 from = s->a;
    for (uint32_t i = 0; i <= cuts.n; i++) {
        const struct vec2 to = i == cuts.n ? s->b : vec2_add(s->a, vec2_scale(u, cuts.v[i]));
        if (i < cuts.n && same(from, to))
            continue;
        if (!add(a, all, s, from, to, n_cables, pieces[which].cable))
            return false;
        from = to;
    }
    return true;
}

bool cable_stretches(struct arena *a, const struct cable_plan *plan, uint32_t floor, stretch_list *out)
{
    const struct house *h = plan->h;
    VEC(struct piece) pieces = { 0 };
    stretch_vec all = { 0 };
    for (uint32_t c = 0; c < h->cables.n; c++)
        for (uint32_t i = 0; i < plan->cables[c].legs.n; i++) {
            const struct cable_leg *l = &plan->cables[c].legs.v[i];
            const struct stretch s = { .a = { l->from_m.x, l->from_m.y },
                                       .b = { l->to_m.x, l->to_m.y },
                                       .z_m = (l->from_m.z + l->to_m.z) / 2.0,
                                       .lie = is_cord(h, c)                  ? LIE_CORD
                                              : is_under_boards(h, l, floor) ? LIE_UNDER
                                                                             : lie_of(l),
                                       .run = l->run };
            if ((!cable_leg_is_upright(l) || s.lie == LIE_CORD) && !same(s.a, s.b) && cable_leg_shows(h, l, floor) &&
                !VEC_PUSH(a, &pieces, ((struct piece){ s, c })))
                return false;
        }
    for (uint32_t i = 0; i < pieces.n; i++)
        if (!split(a, pieces.v, pieces.n, i, h->cables.n, &all))
            return false;
    out->v = all.v;
    out->n = all.n;
    return true;
}
