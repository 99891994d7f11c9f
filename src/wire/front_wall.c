/* A wall as one stands before it: things where the house file has them, side by side along the wall, and room for the sockets above
 * and the power strip below. */
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "wire/front_int.h"
#include "wire/route_space.h"

#define SOCKET_M 0.02 /* of a row, for each */
#define APART_M 0.01  /* between things */
#define ABOVE_M 0.06  /* from the things to the sockets and the strip */
#define STRIP_M 0.055 /* for each plug */
#define GROUP_M 0.30  /* things no further below one another hang together */
#define BESIDE_M 0.10 /* shown at the sides */

/* The direction to the right for one who stands before it: along the nearest wall, seen from the room. */
static struct vec2 right_of(const struct front_maker *m, const struct front *f, const draft_list *list)
{
    const struct vec2 at = { list->v[0].at_m.x, list->v[0].at_m.y };
    struct vec2 best = { 0, 0 };
    double best_m = INFINITY;
    for (uint32_t w = 0; w < m->h->walls.n; w++) {
        const struct wall *wall = &m->h->walls.v[w];
        for (uint32_t i = 0; wall->floor.i == f->floor && i + 1 < wall->line.n; i++) {
            const struct vec2 foot = space_foot(wall->line.v[i], wall->line.v[i + 1], at);
            const struct vec2 out = vec2_sub(at, foot);
            if (vec2_len(out) < best_m - 1e-9) {
                best_m = vec2_len(out);
                best = out;
            }
        }
    }
    if (!(best_m > 1e-6) || best_m > 10.0)
        return (struct vec2){ 1.0, 0.0 };
    best = vec2_scale(best, 1.0 / vec2_len(best));
    return (struct vec2){ -best.y, best.x }; /* he looks against `best` */
}

static int from_top(const void *a, const void *b)
{
    const struct draft_stand *p = a, *q = b;
    if (p->at_m.z != q->at_m.z)
        return p->at_m.z > q->at_m.z ? -1 : 1;
    return p->order < q->order ? -1 : p->order > q->order;
}

static bool overlap(const struct stand *a, const struct stand *b)
{
    return a->x_m < b->x_m + b->w_m - 1e-4 && b->x_m < a->x_m + a->w_m - 1e-4 && a->z_m < b->z_m + b->h_m - 1e-4 &&
           b->z_m < a->z_m + a->h_m - 1e-4;
}

/* What is in its way among those before it; NULL: nothing. */
static const struct stand *in_the_way(const draft_list *list, uint32_t i)
{
    for (uint32_t k = 0; k < i; k++)
        if (overlap(&list->v[k].stand, &list->v[i].stand))
            return &list->v[k].stand;
    return NULL;
}

/* Down past what is in the way; to the right of it once the floor is reached. */
static void settle(draft_list *list, uint32_t i)
{
    struct stand *s = &list->v[i].stand;
    const struct stand *other;
    for (uint32_t tries = 0; (other = in_the_way(list, i)) && tries < 4 * list->n + 4; tries++) {
        s->is_moved = true;
        if (other->z_m - s->h_m >= APART_M && tries < 2 * list->n)
            s->z_m = other->z_m - s->h_m - APART_M;
        else
            s->x_m = other->x_m + other->w_m + APART_M;
    }
    if (s->z_m < 0.0)
        s->z_m = 0.0; /* it stands on the floor */
    s->fits = true;
    s->is_given = !s->is_moved;
}

static void add_own(struct front_maker *m, draft_list *list, enum stand_kind kind, uint32_t which, double x_m,
                    double z_m, double w_m)
{
    struct draft_stand d = { .stand = { .kind = kind,
                                        .which = which,
                                        .x_m = x_m,
                                        .z_m = z_m,
                                        .w_m = w_m,
                                        .h_m = RACK_UNIT_M,
                                        .is_size_known = true,
                                        .fits = true } };
    d.order = list->n;
    m->failed |= !VEC_PUSH(m->arena, list, d);
}

/* What the sockets and the strip are lined up with: the first switch from the top, else the first thing. */
static struct stand anchor_of(const draft_list *list)
{
    for (uint32_t i = 0; i < list->n; i++)
        if (list->v[i].rank == RANK_SWITCH)
            return list->v[i].stand;
    return list->v[0].stand;
}

/* The lowest edge of what hangs together with the highest thing. */
static double foot_of_group_m(const draft_list *list)
{
    double foot_m = list->v[0].stand.z_m;
    for (uint32_t i = 1; i < list->n; i++)
        if (foot_m - list->v[i].stand.z_m - list->v[i].stand.h_m < GROUP_M)
            foot_m = fmin(foot_m, list->v[i].stand.z_m);
    return foot_m;
}

/* The sockets above all, the strip below what hangs together; moved aside if something is there. */
static void add_patch_and_strip(struct front_maker *m, struct front *f, draft_list *list)
{
    const struct stand anchor = anchor_of(list);
    const double foot_m = foot_of_group_m(list);
    double top_m = 0.0;
    uint32_t n_mains = 0;
    for (uint32_t i = 0; i < list->n; i++) {
        n_mains += list->v[i].stand.power == POWER_MAINS;
        top_m = fmax(top_m, list->v[i].stand.z_m + list->v[i].stand.h_m);
    }
    const double w_m = fmin(SOCKETS_PER_ROW, (double)f->patched.n) * SOCKET_M + SOCKET_M;
    for (uint32_t row = 0; row < front_rows(f); row++)
        add_own(m, list, STAND_PATCH, row, anchor.x_m, top_m + ABOVE_M + row * RACK_UNIT_M, w_m);
    if (!n_mains || m->failed)
        return;
    add_own(m, list, STAND_STRIP, NO_REF, anchor.x_m, fmax(0.0, foot_m - ABOVE_M - RACK_UNIT_M),
            n_mains * STRIP_M + STRIP_M);
    if (m->failed)
        return;
    settle(list, list->n - 1);
    list->v[list->n - 1].stand.is_moved = list->v[list->n - 1].stand.is_given = false; /* it is ours */
}

void front_fill_wall(struct front_maker *m, struct front *f, draft_list *list)
{
    if (m->failed)
        return;
    const struct vec2 right = right_of(m, f, list);
    for (uint32_t i = 0; i < list->n; i++) {
        struct draft_stand *d = &list->v[i];
        d->stand.units = 0;
        d->stand.x_m = d->at_m.x * right.x + d->at_m.y * right.y - d->stand.w_m / 2.0;
        d->stand.z_m = d->at_m.z - d->stand.h_m / 2.0;
    }
    qsort(list->v, list->n, sizeof list->v[0], from_top);
    for (uint32_t i = 0; i < list->n; i++)
        settle(list, i);
    add_patch_and_strip(m, f, list);
    double lo = INFINITY, hi = -INFINITY, top = 0.0;
    for (uint32_t i = 0; i < list->n; i++) {
        lo = fmin(lo, list->v[i].stand.x_m);
        hi = fmax(hi, list->v[i].stand.x_m + list->v[i].stand.w_m);
        top = fmax(top, list->v[i].stand.z_m + list->v[i].stand.h_m);
    }
    for (uint32_t i = 0; i < list->n; i++)
        list->v[i].stand.x_m -= lo - BESIDE_M;
    f->w_m = hi - lo + 2.0 * BESIDE_M;
    f->h_m = top;
}
