#include "draw/contour.h"

#include <math.h>

/* Every edge of the lattice has a number: those along x first, row by row, then those along y.  A line crosses an edge at
 * most once, and since high values stay on its left, it has at most one successor and one predecessor there: so the
 * lines are chains through the edges, and no gap can open between cells. */
struct trace {
    const struct lattice *l;
    double level;
    uint32_t *next, *prev;
    uint32_t n_edges;
};

static uint32_t edge_x(const struct lattice *l, uint32_t ix, uint32_t iy) { return iy * (l->nx - 1) + ix; }
static uint32_t edge_y(const struct lattice *l, uint32_t ix, uint32_t iy)
{
    return l->ny * (l->nx - 1) + iy * l->nx + ix;
}

static void join(struct trace *t, uint32_t from, uint32_t to)
{
    t->next[from] = to;
    t->prev[to] = from;
}

/* One cell.  Round it counter-clockwise, a line comes in where values fall below the level and leaves where they rise. */
static void trace_cell(struct trace *t, uint32_t ix, uint32_t iy)
{
    const struct lattice *l = t->l;
    const float *row = &l->v[(size_t)iy * l->nx + ix];
    const float v[4] = { row[0], row[1], row[l->nx + 1], row[l->nx] };
    if (isnan(v[0]) || isnan(v[1]) || isnan(v[2]) || isnan(v[3]))
        return;
    const uint32_t edge[4] = { edge_x(l, ix, iy), edge_y(l, ix + 1, iy), edge_x(l, ix, iy + 1), edge_y(l, ix, iy) };
    bool high[4];
    uint32_t n_high = 0;
    for (uint32_t i = 0; i < 4; i++)
        n_high += high[i] = (double)v[i] >= t->level;
    const bool saddle = n_high == 2 && high[0] == high[2];
    const double mean = 0.25 * ((double)v[0] + (double)v[1] + (double)v[2] + (double)v[3]);
    const uint32_t turn = saddle && mean < t->level ? 3 : 1; /* round a high corner, or round a low one */
    for (uint32_t i = 0; i < 4; i++) {
        if (!high[i] || high[(i + 1) % 4])
            continue;
        uint32_t out = (i + turn) % 4;
        while (!(!high[out] && high[(out + 1) % 4]))
            out = (out + 1) % 4;
        join(t, edge[i], edge[out]);
    }
}

static struct vec2 crossing_of(const struct trace *t, uint32_t edge)
{
    const struct lattice *l = t->l;
    const uint32_t n_x = l->ny * (l->nx - 1);
    const bool along_x = edge < n_x;
    const uint32_t width = along_x ? l->nx - 1 : l->nx;
    const uint32_t e = along_x ? edge : edge - n_x;
    const uint32_t ix = e % width, iy = e / width;
    const double a = (double)l->v[(size_t)iy * l->nx + ix];
    const double b = (double)(along_x ? l->v[(size_t)iy * l->nx + ix + 1] : l->v[(size_t)(iy + 1) * l->nx + ix]);
    const double k = (t->level - a) / (b - a);
    return (struct vec2){ l->x0 + l->step * ((double)ix + (along_x ? k : 0.0)),
                          l->y0 + l->step * ((double)iy + (along_x ? 0.0 : k)) };
}

/* Takes the chain that holds `start` out of the trace; a closed one comes back to it. */
static bool take_chain(struct arena *a, struct trace *t, uint32_t start, struct contour_line *out)
{
    VEC(struct vec2) points = { 0 };
    uint32_t edge = start;
    bool closed = false;
    while (edge != NO_REF) {
        if (!VEC_PUSH(a, &points, crossing_of(t, edge)))
            return false;
        const uint32_t following = t->next[edge];
        t->next[edge] = NO_REF;
        t->prev[edge] = NO_REF;
        closed = following == start;
        edge = closed ? NO_REF : following;
    }
    *out = (struct contour_line){ .points = { points.v, points.n }, .is_closed = closed };
    return true;
}

/* Are there values on both sides of the level?  Where there are not, no line is looked for. */
static bool is_crossed(const struct lattice *l, double level)
{
    bool high = false, low = false;
    for (size_t i = 0; i < (size_t)l->nx * l->ny; i++) {
        high |= (double)l->v[i] >= level;
        low |= (double)l->v[i] < level;
    }
    return high && low;
}

bool contour_trace(struct arena *a, const struct lattice *l, double level, contour_list *out)
{
    *out = (contour_list){ 0 };
    if (l->nx < 2 || l->ny < 2 || !is_crossed(l, level))
        return true;
    struct trace t = { .l = l, .level = level, .n_edges = l->ny * (l->nx - 1) + (l->ny - 1) * l->nx };
    t.next = ARENA_ARRAY(a, uint32_t, t.n_edges);
    t.prev = ARENA_ARRAY(a, uint32_t, t.n_edges);
    if (!t.next || !t.prev)
        return false;
    for (uint32_t i = 0; i < t.n_edges; i++)
        t.next[i] = t.prev[i] = NO_REF;
    for (uint32_t iy = 0; iy + 1 < l->ny; iy++)
        for (uint32_t ix = 0; ix + 1 < l->nx; ix++)
            trace_cell(&t, ix, iy);

    VEC(struct contour_line) lines = { 0 };
    for (int closed = 0; closed < 2; closed++) /* first those that have a beginning */
        for (uint32_t i = 0; i < t.n_edges; i++) {
            if (t.next[i] == NO_REF || (!closed && t.prev[i] != NO_REF))
                continue;
            struct contour_line line;
            if (!take_chain(a, &t, i, &line) || !VEC_PUSH(a, &lines, line))
                return false;
        }
    out->v = lines.v;
    out->n = lines.n;
    return true;
}
