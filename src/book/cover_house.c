/* The picture on the cover: the house's floors as an architect draws them apart, one above the other, seen from a corner; walls stand on
 * them as lines, access points hang from their ceilings. */
#include <cairo.h>
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "book/book_int.h"

static const double TURN_RAD = 0.6, TILT = 0.5 /* sine of the height of the eye */, RISE = 0.866;
static const double SAME_STOREY_M = 1.2; /* floors whose levels differ by less are drawn as one storey */
static const double APART = 0.62;        /* of a storey's depth on the paper, between it and the next */
static const double LEAST_SCALE = 60.0;  /* 1:60: a small flat does not fill the page */

struct view {
    const struct house *h;
    double mm_per_m, x_mm, y_mm; /* where the origin lies on the paper */
    double *lift_m;              /* of each floor, beyond its level */
};

static struct vec2 seen(const struct view *v, uint32_t floor, struct vec2 at_m, double above_m)
{
    const double c = cos(TURN_RAD), s = sin(TURN_RAD);
    const double right = at_m.x * c + at_m.y * s, away = at_m.y * c - at_m.x * s;
    const double up = house_z_m(v->h, floor, above_m) + v->lift_m[floor];
    return (struct vec2){ v->x_mm + right * v->mm_per_m, v->y_mm - (away * TILT + up * RISE) * v->mm_per_m };
}

/* ---- where everything lies ---- */

static int by_level(const void *a, const void *b)
{
    const struct floor *const *x = a, *const *y = b;
    if ((*x)->level_m != (*y)->level_m)
        return (*x)->level_m < (*y)->level_m ? -1 : 1;
    return (*x > *y) - (*x < *y);
}

/* Open ground first, then floors from the lowest up. */
static const struct floor **floors_in_order(struct book *b)
{
    const struct house *h = b->h;
    const struct floor **order = ARENA_ARRAY(b->arena, const struct floor *, h->floors.n);
    for (uint32_t i = 0; order && i < h->floors.n; i++)
        order[i] = &h->floors.v[i];
    if (order)
        qsort(order, h->floors.n, sizeof(const struct floor *), by_level);
    return order;
}

static double depth_m(const struct floor *f)
{
    double lo = INFINITY, hi = -INFINITY;
    for (uint32_t i = 0; i < f->outline.n; i++) {
        const double away = f->outline.v[i].y * cos(TURN_RAD) - f->outline.v[i].x * sin(TURN_RAD);
        lo = fmin(lo, away);
        hi = fmax(hi, away);
    }
    return f->outline.n ? (hi - lo) * TILT : 0.0;
}

static void lift(struct view *v, const struct floor *const *order)
{
    const struct house *h = v->h;
    double lifted = 0.0, deepest = 0.0;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        if (i && order[i]->level_m - order[i - 1]->level_m > SAME_STOREY_M) {
            lifted += deepest * APART / RISE;
            deepest = 0.0;
        }
        if (!order[i]->open_air)
            deepest = fmax(deepest, depth_m(order[i]));
        v->lift_m[order[i] - h->floors.v] = lifted;
    }
}

/* A storey is shown up to its ceiling; open ground is flat. */
static double tall_m(const struct floor *f) { return f->open_air ? 0.0 : f->height_m; }

static void fit(struct view *v, struct draw_box box)
{
    struct vec2 lo = { INFINITY, INFINITY }, hi = { -INFINITY, -INFINITY };
    *v = (struct view){ .h = v->h, .mm_per_m = 1.0, .lift_m = v->lift_m };
    for (uint32_t i = 0; i < v->h->floors.n; i++)
        for (uint32_t k = 0; k < 2 * v->h->floors.v[i].outline.n; k++) {
            const struct floor *f = &v->h->floors.v[i];
            const struct vec2 at = seen(v, i, f->outline.v[k / 2], k % 2 ? tall_m(f) : 0.0);
            lo = (struct vec2){ fmin(lo.x, at.x), fmin(lo.y, at.y) };
            hi = (struct vec2){ fmax(hi.x, at.x), fmax(hi.y, at.y) };
        }
    if (!(hi.x > lo.x))
        return;
    v->mm_per_m = fmin(fmin(box.w_mm / (hi.x - lo.x), box.h_mm / fmax(hi.y - lo.y, 1e-3)), 1000.0 / LEAST_SCALE);
    v->x_mm = box.x_mm + (box.w_mm - (hi.x + lo.x) * v->mm_per_m) / 2.0;
    v->y_mm = box.y_mm + (box.h_mm - (hi.y + lo.y) * v->mm_per_m) / 2.0;
}

/* ---- painting ---- */

static void path_outline(struct pen *pen, const struct view *v, uint32_t floor, vec2_list outline, double above_m)
{
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 at = seen(v, floor, outline.v[i], above_m);
        if (i == 0)
            cairo_move_to(pen->cr, at.x, at.y);
        else
            cairo_line_to(pen->cr, at.x, at.y);
    }
    cairo_close_path(pen->cr);
}

static void stroke(struct pen *pen, enum ink ink, double width_mm)
{
    pen_ink(pen, ink);
    cairo_set_line_width(pen->cr, width_mm);
    cairo_stroke(pen->cr);
}

static void paint_ground(struct pen *pen, const struct view *v, uint32_t floor)
{
    path_outline(pen, v, floor, v->h->floors.v[floor].outline, 0.0);
    pen_dashes(pen, 1.4, 1.0);
    stroke(pen, INK_HAIR, 0.25);
    pen_dashes(pen, 0.0, 0.0);
}

/* The foot of a wall: a line that stops at doors and gaps. */
static void paint_wall(struct pen *pen, const struct view *v, const struct wall *w)
{
    double begun = 0.0; /* length of the wall before this piece */
    for (uint32_t i = 0; i + 1 < w->line.n; i++) {
        const struct vec2 a = w->line.v[i], d = vec2_sub(w->line.v[i + 1], a);
        const double len = vec2_len(d);
        double at = 0.0;
        while (at < len && len > 0.0) {
            double stop = len, next = len;
            for (uint32_t k = 0; k < w->openings.n; k++) {
                const struct opening *o = &w->openings.v[k];
                const double from = o->at_m - begun, to = from + o->width_m;
                if (o->kind != OPENING_WINDOW && to > at && from < stop) {
                    stop = fmax(from, at);
                    next = fmin(to, len);
                }
            }
            const struct vec2 p = seen(v, w->floor.i, vec2_add(a, vec2_scale(d, at / len)), 0.0),
                              q = seen(v, w->floor.i, vec2_add(a, vec2_scale(d, stop / len)), 0.0);
            if (stop > at)
                pen_line(pen, p, q, 0.3);
            at = next;
        }
        begun += len;
    }
}

static void paint_storey(struct pen *pen, const struct view *v, uint32_t floor)
{
    const struct house *h = v->h;
    const struct floor *f = &h->floors.v[floor];
    path_outline(pen, v, floor, f->outline, 0.0);
    cairo_set_source_rgb(pen->cr, 1.0, 1.0, 1.0); /* the paper: what lies below is covered */
    cairo_fill_preserve(pen->cr);
    stroke(pen, INK_LINE, 0.35);
    for (uint32_t i = 0; i < f->holes.n; i++) {
        path_outline(pen, v, floor, f->holes.v[i].outline, 0.0);
        stroke(pen, INK_SOFT, 0.15);
    }
    pen_ink(pen, INK_SOFT);
    for (uint32_t i = 0; i < h->walls.n; i++)
        if (h->walls.v[i].floor.i == floor)
            paint_wall(pen, v, &h->walls.v[i]);
    for (uint32_t i = 0; i < f->outline.n; i++) {
        pen_ink(pen, INK_HAIR);
        pen_line(pen, seen(v, floor, f->outline.v[i], 0.0), seen(v, floor, f->outline.v[i], f->height_m), 0.2);
    }
    path_outline(pen, v, floor, f->outline, f->height_m);
    stroke(pen, INK_HAIR, 0.2);
}

/* A diamond where an access point hangs, on a thread to the floor. */
static void paint_equipment(struct pen *pen, const struct view *v, uint32_t floor)
{
    const struct house *h = v->h;
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        if (e->floor.i != floor || e->part.i >= h->parts.list.n || !h->parts.list.v[e->part.i].radios.n ||
            !isfinite(e->at_m.x + e->at_m.y + e->at_m.z))
            continue;
        const struct vec2 flat = { e->at_m.x, e->at_m.y }, foot = seen(v, floor, flat, 0.0),
                          at = seen(v, floor, flat, e->at_m.z);
        pen_ink(pen, INK_SOFT);
        pen_line(pen, foot, at, 0.15);
        const struct vec2 diamond[] = {
            { at.x - 2.0, at.y }, { at.x, at.y - 1.1 }, { at.x + 2.0, at.y }, { at.x, at.y + 1.1 }
        };
        pen_path(pen, diamond, 4, true);
        cairo_set_source_rgb(pen->cr, 1.0, 1.0, 1.0);
        cairo_fill_preserve(pen->cr);
        stroke(pen, INK_LINE, 0.3);
    }
}

static void name_storey(struct pen *pen, struct book *b, const struct view *v, uint32_t floor, struct draw_box box)
{
    const struct floor *f = &b->h->floors.v[floor];
    const struct str name = f->says.n ? f->says : book_id_words(b, f->id);
    const struct text_size size = pen_measure(pen, TEXT_PAGE_SOFT, name);
    struct vec2 left = { INFINITY, 0.0 };
    for (uint32_t i = 0; i < f->outline.n; i++) {
        const struct vec2 at = seen(v, floor, f->outline.v[i], 0.0);
        left = at.x < left.x ? at : left;
    }
    if (f->outline.n)
        pen_text(pen, TEXT_PAGE_SOFT, name, fmax(left.x - size.w_mm - 3.0, box.x_mm), left.y - size.h_mm / 2.0);
}

void book_cover_house(struct pen *pen, struct book *b, struct draw_box box)
{
    static const double NAMES_MM = 30.0; /* left of the drawing */
    const struct house *h = b->h;
    struct view v = { .h = h, .lift_m = ARENA_ARRAY(b->arena, double, h->floors.n) };
    const struct floor **order = floors_in_order(b);
    if (!v.lift_m || !order)
        return; /* the flow fails at the same ceiling */
    lift(&v, order);
    fit(&v, (struct draw_box){ box.x_mm + NAMES_MM, box.y_mm, box.w_mm - NAMES_MM, box.h_mm });
    cairo_set_line_join(pen->cr, CAIRO_LINE_JOIN_ROUND);
    for (uint32_t i = 0; i < h->floors.n; i++)
        if (h->floors.v[i].open_air)
            paint_ground(pen, &v, i);
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const uint32_t floor = (uint32_t)(order[i] - h->floors.v);
        if (!order[i]->open_air)
            paint_storey(pen, &v, floor);
        paint_equipment(pen, &v, floor);
        if (!order[i]->open_air)
            name_storey(pen, b, &v, floor, box);
    }
    cairo_set_line_join(pen->cr, CAIRO_LINE_JOIN_MITER);
}
