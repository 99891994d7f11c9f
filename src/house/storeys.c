/* Which storeys stand over one another: what lies over each ceiling, and which of them are one building. */
#include <math.h>

#include "house/model_int.h"
#include "house/polygon.h"

/* Outlines may run along either face of a wall that two buildings share: what is no deeper than such a wall is not over the other
 * (our own choice). */
static const double SHARED_WALL_M = 0.30;
/* The slab of the storey above begins at the ceiling; a deeper space is told as one (common practice, no source). */
static const double SLAB_MIN_M = -0.05, SLAB_MAX_M = 1.0;
/* So much of the smaller of two storeys must be shared for one to be the ceiling of the other: more than a jetty or a bay. */
static const double OVER_SHARE = 0.5;

enum { SHARED_WORK = 8 }; /* an area that two share takes so many comparisons of two sides */

/* ---- ceilings ---- */

static bool begins_at_ceiling(const struct floor *low, const struct floor *high)
{
    const double gap_m = high->level_m - (low->level_m + low->height_m);
    return !low->open_air && !high->open_air && gap_m > SLAB_MIN_M && gap_m < SLAB_MAX_M;
}

/* The storey that covers most of this one, wherever it stands in the file. */
static uint32_t storey_above(struct reader *rd, const struct house *h, uint32_t floor)
{
    const struct floor *low = &h->floors.v[floor];
    uint32_t best = NO_REF;
    double best_m2 = 0.0;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *high = &h->floors.v[i];
        if (i == floor || !begins_at_ceiling(low, high) || polygons_are_apart(low->outline, high->outline, 0.0) ||
            !geometry_may_compare(rd, SHARED_WORK * low->outline.n, high->outline.n, low->at))
            continue;
        const double shared_m2 = polygons_shared_m2(low->outline, high->outline);
        const double smaller_m2 = fmin(fabs(polygon_area_m2(low->outline)), fabs(polygon_area_m2(high->outline)));
        if (shared_m2 < OVER_SHARE * smaller_m2 || shared_m2 < best_m2 - 1e-6)
            continue;
        if (best == NO_REF || shared_m2 > best_m2 + 1e-6 || str_cmp(high->id, h->floors.v[best].id) < 0) {
            best = i;
            best_m2 = shared_m2;
        }
    }
    return best;
}

/* ---- buildings ---- */

static bool share_ground(struct reader *rd, const struct floor *a, const struct floor *b)
{
    struct vec2 where;
    if (!geometry_may_compare(rd, a->outline.n, b->outline.n, b->at) ||
        polygons_are_apart(a->outline, b->outline, SHARED_WALL_M))
        return false;
    const enum polygon_answer answer = polygons_overlap(a->outline, b->outline, SHARED_WALL_M, rd->arena, &where);
    if (answer == POLYGON_NO_MEMORY)
        (void)reader_no_memory(rd);
    return answer == POLYGON_YES;
}

/* All of both become the one that begins earlier in the file. */
static void join(struct house *h, uint32_t a, uint32_t b)
{
    const uint32_t x = h->floors.v[a].building, y = h->floors.v[b].building;
    const uint32_t first = x < y ? x : y, other = x < y ? y : x;
    for (uint32_t i = 0; i < h->floors.n; i++)
        if (h->floors.v[i].building == other)
            h->floors.v[i].building = first;
}

void house_stack_storeys(struct reader *rd, struct house *h)
{
    for (uint32_t i = 0; i < h->floors.n; i++) {
        h->floors.v[i].building = h->floors.v[i].open_air ? NO_REF : i;
        h->floors.v[i].above = storey_above(rd, h, i);
    }
    for (uint32_t i = 0; i < h->floors.n && !rd->out_of_memory; i++)
        for (uint32_t k = 0; k < i && !rd->out_of_memory; k++) {
            const struct floor *a = &h->floors.v[k], *b = &h->floors.v[i];
            if (!a->open_air && !b->open_air && a->building != b->building && share_ground(rd, a, b))
                join(h, k, i);
        }
}
