#include "draw/plan.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"

/* Line weights in mm (after the habit of ISO 128-2, thick : thin 2 : 1; the widths are ours). */
#define LINE_THICK_MM 0.50
#define LINE_MIDDLE_MM 0.35
#define LINE_THIN_MM 0.18
#define LINE_UNCUT_MM 0.25
#define CASING_MM 0.45 /* sheet left beside walls, so that they stand clear of the field */
#define WALL_LEAST_MM 0.9
#define THICK_FROM_M 0.18 /* walls this thick carry: drawn with the thick line and a darker body */

static struct vec2 least(struct vec2 a, struct vec2 b) { return (struct vec2){ fmin(a.x, b.x), fmin(a.y, b.y) }; }
static struct vec2 most(struct vec2 a, struct vec2 b) { return (struct vec2){ fmax(a.x, b.x), fmax(a.y, b.y) }; }

double plan_thickness_m(const struct house *h, struct ref construct)
{
    return construct.i == NO_REF ? 0.0 : construct_thickness_m(&h->constructs.v[construct.i]);
}

void plan_bounds(const struct house *h, uint32_t floor, struct vec2 *lo, struct vec2 *hi)
{
    struct vec2 a = { INFINITY, INFINITY }, b = { -INFINITY, -INFINITY };
    const struct floor *f = &h->floors.v[floor];
    for (uint32_t i = 0; i < f->outline.n; i++) {
        a = least(a, f->outline.v[i]);
        b = most(b, f->outline.v[i]);
    }
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        const double half_m = plan_thickness_m(h, w->construct) / 2.0;
        for (uint32_t k = 0; w->floor.i == floor && k < w->line.n; k++) {
            a = least(a, vec2_sub(w->line.v[k], (struct vec2){ half_m, half_m }));
            b = most(b, vec2_add(w->line.v[k], (struct vec2){ half_m, half_m }));
        }
    }
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        if (e->floor.i == floor && isfinite(e->at_m.x) && isfinite(e->at_m.y)) {
            a = least(a, (struct vec2){ e->at_m.x, e->at_m.y });
            b = most(b, (struct vec2){ e->at_m.x, e->at_m.y });
        }
    }
    if (!(b.x > a.x))
        b.x = (isfinite(a.x) ? a.x : (a.x = 0.0)) + 1.0;
    if (!(b.y > a.y))
        b.y = (isfinite(a.y) ? a.y : (a.y = 0.0)) + 1.0;
    *lo = a;
    *hi = b;
}

vec2_list plan_outline(struct arena *a, const struct plan *p, vec2_list outline_m)
{
    vec2_list out = { ARENA_ARRAY(a, struct vec2, outline_m.n), outline_m.n };
    for (uint32_t i = 0; out.v && i < out.n; i++)
        out.v[i] = plan_at(p, outline_m.v[i]);
    return out;
}

/* ---- walls ---- */

/* How a wall meets the plane of the cut. */
enum cut { CUT_THROUGH, CUT_BELOW, CUT_ABOVE };

static enum cut cut_of(const struct plan *p, const struct wall *w)
{
    if (w->base_m > p->height_m + 1.0)
        return CUT_ABOVE;
    return given_or(w->height_m, INFINITY) < p->height_m ? CUT_BELOW : CUT_THROUGH;
}

static double wall_mm(const struct plan *p, const struct wall *w)
{
    return fmax(WALL_LEAST_MM, plan_mm(p, plan_thickness_m(p->house, w->construct)));
}

static bool is_thick(const struct plan *p, const struct wall *w)
{
    return plan_thickness_m(p->house, w->construct) >= THICK_FROM_M;
}

static double distance_to_line(struct vec2 at, struct vec2 a, struct vec2 b)
{
    const struct vec2 d = vec2_sub(b, a), r = vec2_sub(at, a);
    const double t = fmin(1.0, fmax(0.0, vec2_dot(r, d) / fmax(1e-12, vec2_dot(d, d))));
    return vec2_len(vec2_sub(r, vec2_scale(d, t)));
}

/* How far a wall runs on beyond its end so that corners close: half the thickness of the thickest other wall there. */
static double reach_beyond_m(const struct plan *p, const struct wall *w, struct vec2 end)
{
    double reach_m = 0.0;
    for (uint32_t i = 0; i < p->house->walls.n; i++) {
        const struct wall *other = &p->house->walls.v[i];
        if (other == w || other->floor.i != p->floor || cut_of(p, other) != CUT_THROUGH)
            continue;
        for (uint32_t k = 0; k + 1 < other->line.n; k++)
            if (distance_to_line(end, other->line.v[k], other->line.v[k + 1]) < 0.02)
                reach_m = fmax(reach_m, plan_thickness_m(p->house, other->construct) / 2.0);
    }
    return reach_m;
}

static struct vec2 beyond(struct vec2 end, struct vec2 before, double by_m)
{
    const struct vec2 d = vec2_sub(end, before);
    return vec2_add(end, vec2_scale(d, by_m / fmax(1e-9, vec2_len(d))));
}

/* The middle of the wall, `more_mm` longer at both ends than the wall itself. */
static void path_wall(struct pen *pen, const struct plan *p, const struct wall *w, double more_mm)
{
    const uint32_t n = w->line.n;
    const double more_m = more_mm * p->scale / 1000.0;
    if (n < 2)
        return;
    const bool is_ring = n > 3 && vec2_len(vec2_sub(w->line.v[0], w->line.v[n - 1])) < 1e-6;
    for (uint32_t i = 0; i < (is_ring ? n - 1 : n); i++) {
        struct vec2 at = w->line.v[i];
        if (!is_ring && i == 0)
            at = beyond(at, w->line.v[1], reach_beyond_m(p, w, at) + more_m);
        else if (!is_ring && i == n - 1)
            at = beyond(at, w->line.v[n - 2], reach_beyond_m(p, w, at) + more_m);
        const struct vec2 mm = plan_at(p, at);
        if (i == 0)
            cairo_move_to(pen->cr, mm.x, mm.y);
        else
            cairo_line_to(pen->cr, mm.x, mm.y);
    }
    if (is_ring)
        cairo_close_path(pen->cr);
}

/* The bodies are laid in passes over all walls, each a little narrower than the one before, so that the walls grow
 * together where they meet: sheet, line, body.  Thick walls come last and run through. */
enum pass { PASS_CASING, PASS_LINE, PASS_BODY };

static void stroke_wall(struct pen *pen, const struct plan *p, const struct wall *w, enum pass pass)
{
    static const struct colour BODY_THICK = { 0.57, 0.58, 0.58 }, BODY_THIN = { 0.984, 0.980, 0.961 };
    const bool thick = is_thick(p, w);
    const double line_mm = thick ? LINE_THICK_MM : LINE_MIDDLE_MM, body_mm = wall_mm(p, w);
    double more_mm = line_mm / 2.0; /* beyond the wall's faces and ends */
    if (pass == PASS_CASING) {
        more_mm += CASING_MM;
        pen_ink(pen, INK_SHEET);
    } else if (pass == PASS_LINE)
        pen_ink(pen, INK_LINE);
    else {
        more_mm = -line_mm / 2.0;
        pen_colour(pen, thick ? BODY_THICK : BODY_THIN);
    }
    if (body_mm + 2.0 * more_mm <= 0.05)
        return;
    cairo_set_line_width(pen->cr, body_mm + 2.0 * more_mm);
    path_wall(pen, p, w, more_mm);
    cairo_stroke(pen->cr);
}

/* A wall that ends below the cut is seen from above; one that begins above it is drawn dashed. */
static void stroke_uncut_wall(struct pen *pen, const struct plan *p, const struct wall *w)
{
    const double body_mm = wall_mm(p, w);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, body_mm + 2.0 * LINE_THIN_MM + 0.5);
    path_wall(pen, p, w, LINE_THIN_MM + 0.25);
    cairo_stroke(pen->cr);
    pen_ink(pen, INK_LINE);
    if (cut_of(p, w) == CUT_ABOVE)
        pen_dashes(pen, 1.6, 1.0);
    cairo_set_line_width(pen->cr, body_mm + LINE_UNCUT_MM);
    path_wall(pen, p, w, LINE_UNCUT_MM / 2.0);
    cairo_stroke(pen->cr);
    pen_dashes(pen, 0, 0);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, fmax(0.2, body_mm - LINE_UNCUT_MM));
    path_wall(pen, p, w, -LINE_UNCUT_MM / 2.0);
    cairo_stroke(pen->cr);
}

/* ---- openings ---- */

/* An opening on the paper: its jambs on the middle of the wall, the wall's direction and its left. */
struct gap {
    struct vec2 a, b;   /* mm */
    struct vec2 along;  /* unit, from a to b */
    struct vec2 left;   /* unit, to the left of the wall's direction as drawn in metres */
    struct vec2 mid_m;  /* its middle, metres */
    struct vec2 left_m; /* the same direction in metres */
    double half_mm;     /* half the wall */
    double width_mm;
    bool near_first; /* nearer to the beginning of its wall than to the end */
};

static bool point_along(vec2_list line, double at_m, struct vec2 *out, struct vec2 *dir)
{
    for (uint32_t i = 0; i + 1 < line.n; i++) {
        const struct vec2 d = vec2_sub(line.v[i + 1], line.v[i]);
        const double length_m = vec2_len(d);
        if (at_m <= length_m + 1e-9 || i + 2 == line.n) {
            if (length_m <= 0.0)
                return false;
            *dir = vec2_scale(d, 1.0 / length_m);
            *out = vec2_add(line.v[i], vec2_scale(*dir, at_m));
            return true;
        }
        at_m -= length_m;
    }
    return false;
}

static double line_length_m(vec2_list line)
{
    double sum_m = 0.0;
    for (uint32_t i = 0; i + 1 < line.n; i++)
        sum_m += vec2_len(vec2_sub(line.v[i + 1], line.v[i]));
    return sum_m;
}

static bool gap_of(const struct plan *p, const struct wall *w, const struct opening *o, struct gap *g)
{
    struct vec2 from, dir;
    if (!point_along(w->line, o->at_m, &from, &dir))
        return false;
    const struct vec2 to = vec2_add(from, vec2_scale(dir, o->width_m));
    *g = (struct gap){ .a = plan_at(p, from), .b = plan_at(p, to) };
    g->along = plan_direction(p, dir);
    g->left_m = (struct vec2){ -dir.y, dir.x };
    g->left = plan_direction(p, g->left_m);
    g->mid_m = vec2_scale(vec2_add(from, to), 0.5);
    g->half_mm = wall_mm(p, w) / 2.0 + (is_thick(p, w) ? LINE_THICK_MM : LINE_MIDDLE_MM) / 2.0;
    g->width_mm = plan_mm(p, o->width_m);
    g->near_first = o->at_m <= line_length_m(w->line) - o->at_m - o->width_m;
    return true;
}

static struct vec2 off(struct vec2 at, struct vec2 dir, double by_mm) { return vec2_add(at, vec2_scale(dir, by_mm)); }

/* Takes the wall away between the jambs. */
static void clear_gap(struct pen *pen, const struct gap *g)
{
    const double reach_mm = g->half_mm + CASING_MM;
    const struct vec2 corners[4] = { off(g->a, g->left, reach_mm), off(g->b, g->left, reach_mm),
                                     off(g->b, g->left, -reach_mm), off(g->a, g->left, -reach_mm) };
    pen_ink(pen, INK_SHEET);
    pen_path(pen, corners, 4, true);
    cairo_fill(pen->cr);
    pen_ink(pen, INK_LINE);
    pen_line(pen, off(g->a, g->left, g->half_mm), off(g->a, g->left, -g->half_mm), LINE_MIDDLE_MM);
    pen_line(pen, off(g->b, g->left, g->half_mm), off(g->b, g->left, -g->half_mm), LINE_MIDDLE_MM);
}

static void draw_window(struct pen *pen, const struct gap *g)
{
    pen_ink(pen, INK_LINE);
    for (int side = -1; side <= 1; side++)
        pen_line(pen, off(g->a, g->left, side * (g->half_mm - LINE_THIN_MM / 2.0)),
                 off(g->b, g->left, side * (g->half_mm - LINE_THIN_MM / 2.0)), side ? LINE_THIN_MM : 0.3);
}

static void draw_lintel(struct pen *pen, const struct gap *g)
{
    pen_ink(pen, INK_LINE);
    pen_dashes(pen, 1.2, 0.8);
    for (int side = -1; side <= 1; side += 2)
        pen_line(pen, off(g->a, g->left, side * (g->half_mm - LINE_THIN_MM / 2.0)),
                 off(g->b, g->left, side * (g->half_mm - LINE_THIN_MM / 2.0)), LINE_THIN_MM);
    pen_dashes(pen, 0, 0);
}

/* How much a door is wont to open into a room; the file does not say which way it swings. */
static int welcome(const struct house *h, uint32_t room)
{
    if (room == NO_REF)
        return 0;
    switch (h->rooms.v[room].use) {
    case USE_OUTDOOR:
        return 1;
    case USE_STAIRS:
        return 2;
    case USE_HALL:
        return 3;
    default:
        return 4;
    }
}

/* +1: the leaf swings to the left of the wall, -1: to its right. */
static double swing_side(const struct plan *p, const struct gap *g, double thickness_m)
{
    const double probe_m = thickness_m / 2.0 + 0.25;
    const struct house *h = p->house;
    const uint32_t left = house_room_at(h, p->floor, vec2_add(g->mid_m, vec2_scale(g->left_m, probe_m)));
    const uint32_t right = house_room_at(h, p->floor, vec2_sub(g->mid_m, vec2_scale(g->left_m, probe_m)));
    const int a = welcome(h, left), b = welcome(h, right);
    if (a != b)
        return a > b ? 1.0 : -1.0;
    if (left == NO_REF || right == NO_REF)
        return 1.0;
    return fabs(polygon_area_m2(h->rooms.v[left].outline)) >= fabs(polygon_area_m2(h->rooms.v[right].outline)) ? 1.0
                                                                                                               : -1.0;
}

/* One leaf, hinged at `hinge`, shut towards `shut` and open towards `open` (unit vectors). */
static void draw_leaf(struct pen *pen, struct label_space *space, struct vec2 hinge, struct vec2 shut, struct vec2 open,
                      double width_mm)
{
    const struct vec2 tip = off(hinge, open, width_mm), strike = off(hinge, shut, width_mm);
    const double from = atan2(open.y, open.x), to = atan2(shut.y, shut.x);
    double turn = to - from;
    turn += turn > RT_PI ? -2.0 * RT_PI : turn < -RT_PI ? 2.0 * RT_PI : 0.0;
    for (int casing = 1; casing >= 0; casing--) {
        pen_ink(pen, casing ? INK_SHEET : INK_LINE);
        cairo_new_path(pen->cr);
        if (turn > 0.0)
            cairo_arc(pen->cr, hinge.x, hinge.y, width_mm, from, from + turn);
        else
            cairo_arc_negative(pen->cr, hinge.x, hinge.y, width_mm, from, from + turn);
        cairo_set_line_width(pen->cr, casing ? LINE_THIN_MM + CASING_MM : LINE_THIN_MM);
        cairo_stroke(pen->cr);
        pen_line(pen, hinge, tip, casing ? LINE_THICK_MM + CASING_MM : LINE_THICK_MM);
    }
    label_block_strip(space, hinge, tip, LINE_THICK_MM / 2.0);
    struct vec2 before = tip;
    for (int i = 1; i <= 6; i++) {
        const double angle = from + turn * i / 6.0;
        const struct vec2 at = i == 6 ? strike : off(hinge, (struct vec2){ cos(angle), sin(angle) }, width_mm);
        label_block_strip(space, before, at, LINE_THIN_MM);
        before = at;
    }
}

static void draw_door(struct pen *pen, const struct plan *p, struct label_space *space, const struct wall *w,
                      const struct opening *o, const struct gap *g)
{
    const struct vec2 open = vec2_scale(g->left, swing_side(p, g, plan_thickness_m(p->house, w->construct)));
    const struct vec2 back = vec2_scale(g->along, -1.0);
    if (o->width_m > 2.0) { /* a gate: up and over, or sliding; shown shut */
        pen_ink(pen, INK_LINE);
        pen_line(pen, off(g->a, g->left, 0.35), off(g->b, g->left, 0.35), LINE_THIN_MM);
        pen_line(pen, off(g->a, g->left, -0.35), off(g->b, g->left, -0.35), LINE_THIN_MM);
        return;
    }
    draw_lintel(pen, g);
    const struct vec2 a = off(g->a, open, g->half_mm), b = off(g->b, open, g->half_mm); /* hinged at the wall's face */
    if (o->width_m > 1.25) {
        draw_leaf(pen, space, a, g->along, open, g->width_mm / 2.0);
        draw_leaf(pen, space, b, back, open, g->width_mm / 2.0);
    } else if (g->near_first)
        draw_leaf(pen, space, a, g->along, open, g->width_mm);
    else
        draw_leaf(pen, space, b, back, open, g->width_mm);
}

static void draw_openings(struct pen *pen, const struct plan *p, struct label_space *space, const struct wall *w)
{
    for (uint32_t i = 0; i < w->openings.n; i++) {
        const struct opening *o = &w->openings.v[i];
        struct gap g;
        if (!gap_of(p, w, o, &g))
            continue;
        if (o->kind == OPENING_WINDOW && o->sill_m > p->height_m + 1.0)
            continue; /* far above the cut: the wall is whole here */
        clear_gap(pen, &g);
        if (o->kind == OPENING_WINDOW)
            draw_window(pen, &g);
        else if (o->kind == OPENING_GAP)
            draw_lintel(pen, &g);
        else
            draw_door(pen, p, space, w, o, &g);
    }
}

void plan_draw_walls(struct pen *pen, const struct plan *p, struct label_space *space)
{
    const struct house *h = p->house;
    const vec2_list outline = plan_outline(space->arena, p, h->floors.v[p->floor].outline);
    space->failed = space->failed || !outline.v;
    if (outline.v) { /* of use where no wall stands: gardens, yards */
        pen_path(pen, outline.v, outline.n, true);
        pen_ink(pen, INK_LINE);
        cairo_set_line_width(pen->cr, LINE_THIN_MM);
        cairo_stroke(pen->cr);
    }
    cairo_set_line_cap(pen->cr, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(pen->cr, CAIRO_LINE_JOIN_MITER);
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        if (w->floor.i != p->floor)
            continue;
        for (uint32_t k = 0; k + 1 < w->line.n; k++)
            label_block_strip(space, plan_at(p, w->line.v[k]), plan_at(p, w->line.v[k + 1]),
                              wall_mm(p, w) / 2.0 + CASING_MM);
        if (cut_of(p, w) != CUT_THROUGH)
            stroke_uncut_wall(pen, p, w);
    }
    static const struct {
        bool thin, thick;
        enum pass pass;
    } PASSES[] = { { true, true, PASS_CASING },
                   { true, false, PASS_LINE },
                   { true, false, PASS_BODY },
                   { false, true, PASS_LINE },
                   { false, true, PASS_BODY } };
    for (uint32_t k = 0; k < RT_COUNT(PASSES); k++)
        for (uint32_t i = 0; i < h->walls.n; i++) {
            const struct wall *w = &h->walls.v[i];
            if (w->floor.i == p->floor && cut_of(p, w) == CUT_THROUGH &&
                (is_thick(p, w) ? PASSES[k].thick : PASSES[k].thin))
                stroke_wall(pen, p, w, PASSES[k].pass);
        }
    for (uint32_t i = 0; i < h->walls.n; i++)
        if (h->walls.v[i].floor.i == p->floor && cut_of(p, &h->walls.v[i]) == CUT_THROUGH)
            draw_openings(pen, p, space, &h->walls.v[i]);
}
