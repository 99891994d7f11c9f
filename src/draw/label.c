#include "draw/label.h"

#include <math.h>
#include <stdlib.h>

enum { FIT_STEPS = 48 }; /* places tried across the longer side of an outline */

void label_block_box(struct label_space *s, struct draw_box box)
{
    s->failed = !VEC_PUSH(s->arena, &s->marks, box) || s->failed;
}

void label_block_strip(struct label_space *s, struct vec2 a, struct vec2 b, double half_mm)
{
    const struct label_strip strip = { a, b, half_mm };
    s->failed = !VEC_PUSH(s->arena, &s->strips, strip) || s->failed;
}

void label_take(struct label_space *s, struct str text, struct draw_box box)
{
    const struct draw_label label = { text, box };
    s->failed = !VEC_PUSH(s->arena, &s->labels, label) || s->failed;
}

bool label_boxes_touch(struct draw_box a, struct draw_box b)
{
    return a.x_mm < b.x_mm + b.w_mm && b.x_mm < a.x_mm + a.w_mm && a.y_mm < b.y_mm + b.h_mm && b.y_mm < a.y_mm + a.h_mm;
}

static struct draw_box widened(struct draw_box b, double by_mm)
{
    return (struct draw_box){ b.x_mm - by_mm, b.y_mm - by_mm, b.w_mm + 2.0 * by_mm, b.h_mm + 2.0 * by_mm };
}

/* Clips the line to the box by its parameter (Liang and Barsky 1984): true if any of it lies inside. */
static bool line_meets_box(struct vec2 a, struct vec2 b, struct draw_box box)
{
    const double d[2] = { b.x - a.x, b.y - a.y }, from[2] = { a.x, a.y };
    const double lo[2] = { box.x_mm, box.y_mm }, hi[2] = { box.x_mm + box.w_mm, box.y_mm + box.h_mm };
    double t0 = 0.0, t1 = 1.0;
    for (int i = 0; i < 2; i++) {
        if (d[i] == 0.0) {
            if (from[i] < lo[i] || from[i] > hi[i])
                return false;
            continue;
        }
        const double ta = (lo[i] - from[i]) / d[i], tb = (hi[i] - from[i]) / d[i];
        t0 = fmax(t0, fmin(ta, tb));
        t1 = fmin(t1, fmax(ta, tb));
    }
    return t0 <= t1;
}

bool label_is_free(const struct label_space *s, struct draw_box box, double gap_mm)
{
    const struct draw_box wide = widened(box, gap_mm);
    for (uint32_t i = 0; i < s->labels.n; i++)
        if (label_boxes_touch(wide, s->labels.v[i].box))
            return false;
    for (uint32_t i = 0; i < s->marks.n; i++)
        if (label_boxes_touch(wide, s->marks.v[i]))
            return false;
    for (uint32_t i = 0; i < s->strips.n; i++) {
        const struct label_strip *strip = &s->strips.v[i];
        if (line_meets_box(strip->a, strip->b, widened(wide, strip->half_mm)))
            return false;
    }
    return true;
}

bool label_line_is_free(const struct label_space *s, struct vec2 a, struct vec2 b)
{
    for (uint32_t i = 0; i < s->labels.n; i++)
        if (line_meets_box(a, b, s->labels.v[i].box))
            return false;
    return true;
}

static bool box_is_inside(vec2_list outline, struct draw_box box)
{
    const struct vec2 middle = { box.x_mm + box.w_mm / 2.0, box.y_mm + box.h_mm / 2.0 };
    if (!polygon_contains(outline, middle))
        return false;
    for (uint32_t i = 0; i < outline.n; i++)
        if (line_meets_box(outline.v[i], outline.v[(i + 1) % outline.n], box))
            return false;
    return true;
}

struct place {
    double far;
    uint32_t i;
    struct draw_box box;
};

static int by_distance(const void *a, const void *b)
{
    const struct place *p = a, *q = b;
    if (p->far != q->far)
        return p->far < q->far ? -1 : 1;
    return p->i < q->i ? -1 : p->i > q->i;
}

bool label_fit_inside(const struct label_space *s, vec2_list outline, struct vec2 wish, double w_mm, double h_mm,
                      double gap_mm, struct draw_box *out)
{
    struct vec2 lo = outline.v[0], hi = outline.v[0];
    for (uint32_t i = 1; i < outline.n; i++) {
        lo = (struct vec2){ fmin(lo.x, outline.v[i].x), fmin(lo.y, outline.v[i].y) };
        hi = (struct vec2){ fmax(hi.x, outline.v[i].x), fmax(hi.y, outline.v[i].y) };
    }
    const double step = fmax(0.8, fmax(hi.x - lo.x, hi.y - lo.y) / FIT_STEPS);
    struct place places[(2 * FIT_STEPS + 3) * (2 * FIT_STEPS + 3)];
    uint32_t n = 0;
    for (int iy = -FIT_STEPS; iy <= FIT_STEPS; iy++)
        for (int ix = -FIT_STEPS; ix <= FIT_STEPS; ix++) {
            const struct vec2 at = { wish.x + ix * step, wish.y + iy * step };
            if (at.x < lo.x || at.x > hi.x || at.y < lo.y || at.y > hi.y)
                continue;
            const struct draw_box box = { at.x - w_mm / 2.0, at.y - h_mm / 2.0, w_mm, h_mm };
            places[n] = (struct place){ hypot(at.x - wish.x, 1.3 * (at.y - wish.y)), n, box };
            n++;
        }
    qsort(places, n, sizeof places[0], by_distance);
    for (uint32_t i = 0; i < n; i++)
        if (box_is_inside(outline, widened(places[i].box, gap_mm)) && label_is_free(s, places[i].box, gap_mm)) {
            *out = places[i].box;
            return true;
        }
    return false;
}

bool label_fit_beside(const struct label_space *s, struct vec2 mark, double reach_mm, double w_mm, double h_mm,
                      double gap_mm, struct draw_box *out)
{
    /* right, left, above, below, then the corners; a share of the text's size back from the mark */
    static const struct vec2 SIDES[] = { { 1, 0 },  { -1, 0 },  { 0, -1 }, { 0, 1 },
                                         { 1, -1 }, { -1, -1 }, { 1, 1 },  { -1, 1 } };
    for (uint32_t i = 0; i < RT_COUNT(SIDES); i++) {
        const struct draw_box box = { mark.x + SIDES[i].x * (reach_mm + w_mm / 2.0) - w_mm / 2.0,
                                      mark.y + SIDES[i].y * (reach_mm + h_mm / 2.0) - h_mm / 2.0, w_mm, h_mm };
        if (label_is_free(s, box, gap_mm)) {
            *out = box;
            return true;
        }
    }
    return false;
}
