/* Where a thing is fixed, as one would find it with a tape: inside from two walls, outside from a corner of the wall it hangs on. */
#include <math.h>

#include "base/units.h"
#include "house/polygon.h"
#include "wire/install_int.h"

/* What hangs outdoors hangs on the wall that is this near. */
static const double ON_WALL_M = 0.80;
/* A wall that ends this near to the end of another makes a corner with it. */
static const double CORNER_M = 0.30;

struct outer_wall {
    uint32_t wall;
    struct vec2 corner_m; /* the nearer end of its stretch */
    double along_m;       /* from there */
    double off_m;         /* from its middle line */
};

static bool holds_height(const struct house *h, uint32_t floor, double z_m)
{
    const struct floor *f = &h->floors.v[floor];
    return !f->open_air && z_m > f->level_m - 0.5 && z_m < f->level_m + f->height_m + 0.5;
}

/* The nearest wall of a storey at this height (above the datum). */
static bool find_outer_wall(const struct house *h, struct vec2 at, double z_m, struct outer_wall *out)
{
    out->off_m = ON_WALL_M;
    bool found = false;
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0; holds_height(h, h->walls.v[w].floor.i, z_m) && i + 1 < h->walls.v[w].line.n; i++) {
            const struct vec2 a = h->walls.v[w].line.v[i], b = h->walls.v[w].line.v[i + 1];
            const double off_m = segment_distance_m(a, b, at);
            if (off_m >= out->off_m)
                continue;
            const double length_m = fmax(vec2_len(vec2_sub(b, a)), 1e-9);
            const double along_m = vec2_dot(vec2_sub(at, a), vec2_sub(b, a)) / length_m;
            const bool is_first = along_m < length_m / 2.0;
            *out = (struct outer_wall){ w, is_first ? a : b, fabs(is_first ? along_m : length_m - along_m), off_m };
            found = true;
        }
    return found;
}

/* Another wall of the same floor that meets it there. */
static uint32_t wall_at_corner(const struct house *h, const struct outer_wall *o)
{
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0;
             w != o->wall && h->walls.v[w].floor.i == h->walls.v[o->wall].floor.i && i < h->walls.v[w].line.n; i++)
            if (vec2_len(vec2_sub(h->walls.v[w].line.v[i], o->corner_m)) < CORNER_M)
                return w;
    return NO_REF;
}

static struct str done(const struct buf *b) { return b->failed ? (struct str){ 0 } : buf_done(b); }

static struct str outside_words(struct arena *a, const struct house *h, const struct outer_wall *o)
{
    struct buf b = { .arena = a };
    const uint32_t other = wall_at_corner(h, o);
    buf_printf(&b, "outside of %.*s, %.2f m from its ", STR_ARG(install_id_words(a, h->walls.v[o->wall].id)),
               o->along_m);
    if (other == NO_REF)
        buf_text(&b, "nearer end");
    else
        buf_printf(&b, "corner with %.*s", STR_ARG(install_id_words(a, h->walls.v[other].id)));
    return done(&b);
}

struct str install_spot_words(struct arena *a, const struct house *h, uint32_t floor, struct vec3 at_m)
{
    const struct vec2 at = { at_m.x, at_m.y };
    struct install_dim dims[2];
    struct outer_wall outer;
    if (h->floors.v[floor].open_air && find_outer_wall(h, at, house_z_m(h, floor, at_m.z), &outer))
        return outside_words(a, h, &outer);
    const uint32_t n = install_dims_at(h, floor, at, dims);
    struct buf b = { .arena = a };
    for (uint32_t i = 0; i < n; i++)
        buf_printf(&b, "%s%.2f m from %.*s", i ? ", " : "", dims[i].m,
                   STR_ARG(install_id_words(a, h->walls.v[dims[i].wall].id)));
    if (n < 2) /* open ground, a mast */
        buf_printf(&b, "%sx %.2f, y %.2f m on the plan", n ? "; " : "", at.x, at.y);
    return done(&b);
}

uint32_t install_spot_wall(const struct house *h, uint32_t floor, struct vec3 at_m)
{
    struct outer_wall outer;
    const struct vec2 at = { at_m.x, at_m.y };
    if (h->floors.v[floor].open_air)
        return find_outer_wall(h, at, house_z_m(h, floor, at_m.z), &outer) ? outer.wall : NO_REF;
    uint32_t best = NO_REF;
    double best_m = ON_WALL_M / 2.0;
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0; h->walls.v[w].floor.i == floor && i + 1 < h->walls.v[w].line.n; i++) {
            const double off_m = segment_distance_m(h->walls.v[w].line.v[i], h->walls.v[w].line.v[i + 1], at);
            if (off_m < best_m) {
                best_m = off_m;
                best = w;
            }
        }
    return best;
}
