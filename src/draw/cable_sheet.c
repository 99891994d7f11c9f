/* Cables on the plan: each stretch once, however many lie in it, dashed by where it lies; holes, boards and ways up and down
 * with symbols of their own; the ids of the cables beside their ways. */
#include "draw/cable_sheet.h"

#include <math.h>

#include "base/units.h"

#define LINE_MM 0.45
#define LINE_MORE_MM 0.08 /* wider for each further cable ... */
#define LINE_MOST_MM 1.1  /* ... up to this */
#define HOLE_MM 1.0
#define BOARD_MM 1.3
#define RISER_MM 1.5
#define LABEL_STEPS 9
#define BESIDE_M 0.25 /* of the floor, shown round its plan */

/* Where a stretch lies, as its line tells. */
enum lie { LIE_OVER, LIE_UNDER, LIE_SEEN, LIE_GROUND, LIE_COUNT };

static const struct {
    double on_mm, off_mm;
    const char *says;
} LIES[LIE_COUNT] = {
    [LIE_OVER] = { 2.4, 0.9, "over the ceiling" },
    [LIE_UNDER] = { 0.9, 0.9, "under the boards" },
    [LIE_SEEN] = { 0, 0, "in or on walls, along skirtings and beams" },
    [LIE_GROUND] = { 4.5, 1.2, "in a duct or trench" },
};

/* A stretch on the paper, and the cables in it. */
struct stretch {
    struct vec2 a, b;
    enum lie lie;
    uint32_t n_cables;
};

struct riser {
    struct vec2 at;
    bool up, down;
};

struct cable_sheet {
    struct sheet *s;
    const struct cable_plan *plan;
    VEC(struct stretch) stretches;
    VEC(struct riser) risers;
    uint32_t holes, boards;
};

static bool is_upright(const struct cable_leg *l)
{
    return fabs(l->to_m.z - l->from_m.z) > 2.0 * hypot(l->to_m.x - l->from_m.x, l->to_m.y - l->from_m.y);
}

static double top_m(const struct floor *f) { return f->level_m + f->height_m; }

/* An upright leg that leaves the storey, up or down; a drop within it is no riser. */
static bool leaves(const struct house *h, const struct cable_leg *l, uint32_t floor, bool *up, bool *down)
{
    const struct floor *f = &h->floors.v[floor];
    const double lo = fmin(l->from_m.z, l->to_m.z), hi = fmax(l->from_m.z, l->to_m.z);
    const struct vec2 at = { l->from_m.x, l->from_m.y };
    if (!is_upright(l) || (l->floor != NO_REF && l->floor != floor) || !polygon_contains(f->outline, at))
        return false;
    *up = hi > top_m(f) - 0.02 && lo < top_m(f) - 0.02;
    *down = lo < f->level_m + 0.02 && hi > f->level_m + 0.02;
    return *up || *down;
}

/* A run of the file may pass over several floors, and shows on each. */
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

/* A point on the way, part 0 to 1. */
static struct vec2 along(const struct cable_leg *l, double part)
{
    return (struct vec2){ l->from_m.x + part * (l->to_m.x - l->from_m.x),
                          l->from_m.y + part * (l->to_m.y - l->from_m.y) };
}

/* Does some of the leg lie on the plan of the floor? */
static bool shows(const struct house *h, const struct cable_leg *l, uint32_t floor)
{
    struct vec2 lo, hi;
    if (!is_of_floor(h, l, floor))
        return false;
    plan_bounds(h, floor, &lo, &hi);
    for (int i = 0; i <= 40; i++) {
        const struct vec2 p = along(l, i / 40.0);
        if (p.x > lo.x - BESIDE_M && p.y > lo.y - BESIDE_M && p.x < hi.x + BESIDE_M && p.y < hi.y + BESIDE_M)
            return true;
    }
    return false;
}

bool cable_sheet_has(const struct cable_plan *plan, uint32_t floor)
{
    for (uint32_t c = 0; c < plan->h->cables.n; c++)
        for (uint32_t i = 0; i < plan->cables[c].legs.n; i++) {
            bool up, down;
            const struct cable_leg *l = &plan->cables[c].legs.v[i];
            if (shows(plan->h, l, floor) || leaves(plan->h, l, floor, &up, &down))
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

/* ---- what there is ---- */

static bool same(struct vec2 a, struct vec2 b) { return vec2_len(vec2_sub(a, b)) < 0.05; }

static void add_stretch(struct cable_sheet *c, struct stretch new)
{
    if (same(new.a, new.b))
        return;
    for (uint32_t i = 0; i < c->stretches.n; i++) {
        struct stretch *t = &c->stretches.v[i];
        if (t->lie == new.lie &&
            ((same(t->a, new.a) && same(t->b, new.b)) || (same(t->a, new.b) && same(t->b, new.a)))) {
            t->n_cables++;
            return;
        }
    }
    c->s->failed |= !VEC_PUSH(c->s->arena, &c->stretches, new);
}

static void add_riser(struct cable_sheet *c, struct riser new)
{
    for (uint32_t i = 0; i < c->risers.n; i++)
        if (vec2_len(vec2_sub(c->risers.v[i].at, new.at)) < RISER_MM) {
            c->risers.v[i].up |= new.up;
            c->risers.v[i].down |= new.down;
            return;
        }
    c->s->failed |= !VEC_PUSH(c->s->arena, &c->risers, new);
}

static struct vec2 on_paper(const struct cable_sheet *c, struct vec3 at_m)
{
    return plan_at(&c->s->plan, (struct vec2){ at_m.x, at_m.y });
}

static void gather(struct cable_sheet *c)
{
    const uint32_t floor = c->s->plan.floor;
    for (uint32_t k = 0; k < c->plan->h->cables.n; k++)
        for (uint32_t i = 0; i < c->plan->cables[k].legs.n && !c->s->failed; i++) {
            const struct cable_leg *l = &c->plan->cables[k].legs.v[i];
            struct riser riser = { .at = on_paper(c, l->from_m) };
            if (leaves(c->plan->h, l, floor, &riser.up, &riser.down))
                add_riser(c, riser);
            if (shows(c->plan->h, l, floor))
                add_stretch(c, (struct stretch){ on_paper(c, l->from_m), on_paper(c, l->to_m), lie_of(l), 1 });
        }
}

/* ---- symbols ---- */

static void dashes_of(struct pen *pen, enum lie lie) { pen_dashes(pen, LIES[lie].on_mm, LIES[lie].off_mm); }

static void draw_stretch(struct pen *pen, const struct stretch *t)
{
    const double width_mm = fmin(LINE_MOST_MM, LINE_MM + LINE_MORE_MM * (t->n_cables - 1));
    const struct vec2 points[2] = { t->a, t->b };
    pen_path(pen, points, 2, false);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, width_mm + 0.5);
    cairo_stroke(pen->cr);
    pen_path(pen, points, 2, false);
    pen_ink(pen, INK_LINE);
    dashes_of(pen, t->lie);
    cairo_set_line_width(pen->cr, width_mm);
    cairo_stroke(pen->cr);
    pen_dashes(pen, 0, 0);
}

/* What passes beyond the plan ends at its edge. */
static void draw_stretches(struct cable_sheet *c)
{
    struct sheet *s = c->s;
    const struct vec2 lo = { s->plan.lo.x - BESIDE_M, s->plan.lo.y - BESIDE_M };
    const struct vec2 hi = { s->plan.hi.x + BESIDE_M, s->plan.hi.y + BESIDE_M };
    const struct vec2 a = plan_at(&s->plan, lo), b = plan_at(&s->plan, hi);
    cairo_save(s->pen.cr);
    pen_path_box(&s->pen, (struct draw_box){ fmin(a.x, b.x), fmin(a.y, b.y), fabs(b.x - a.x), fabs(b.y - a.y) });
    cairo_clip(s->pen.cr);
    for (uint32_t i = 0; i < c->stretches.n; i++) {
        draw_stretch(&s->pen, &c->stretches.v[i]);
        label_block_strip(&s->space, c->stretches.v[i].a, c->stretches.v[i].b, LINE_MM / 2.0);
    }
    cairo_restore(s->pen.cr);
}

/* A ring with a dot in it: drilled through. */
static void mark_hole(struct pen *pen, struct vec2 at)
{
    cairo_arc(pen->cr, at.x, at.y, HOLE_MM, 0.0, 2.0 * RT_PI);
    pen_ink(pen, INK_SHEET);
    cairo_fill_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, 0.25);
    cairo_stroke(pen->cr);
    cairo_arc(pen->cr, at.x, at.y, HOLE_MM * 0.35, 0.0, 2.0 * RT_PI);
    cairo_fill(pen->cr);
}

/* A box with one diagonal: a board that is lifted. */
static void mark_board(struct pen *pen, struct vec2 at)
{
    pen_path_box(pen, (struct draw_box){ at.x - BOARD_MM, at.y - BOARD_MM, 2 * BOARD_MM, 2 * BOARD_MM });
    pen_ink(pen, INK_SHEET);
    cairo_fill_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, 0.25);
    cairo_stroke(pen->cr);
    pen_line(pen, (struct vec2){ at.x - BOARD_MM, at.y + BOARD_MM }, (struct vec2){ at.x + BOARD_MM, at.y - BOARD_MM },
             0.25);
}

static void mark_arrow(struct pen *pen, struct vec2 at, bool is_up)
{
    const double k = is_up ? -1.0 : 1.0;
    const struct vec2 points[3] = { { at.x - RISER_MM * 0.8, at.y + k * 0.3 },
                                    { at.x + RISER_MM * 0.8, at.y + k * 0.3 },
                                    { at.x, at.y + k * (0.3 + RISER_MM) } };
    pen_path(pen, points, 3, true);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, 0.6);
    cairo_stroke_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_fill(pen->cr);
}

static void block(struct cable_sheet *c, struct vec2 at, double half_mm)
{
    label_block_box(&c->s->space, (struct draw_box){ at.x - half_mm, at.y - half_mm, 2 * half_mm, 2 * half_mm });
}

static void draw_work(struct cable_sheet *c)
{
    for (int holes = 0; holes < 2; holes++) /* holes are smaller: over the boards */
        for (uint32_t i = 0; i < c->plan->work.n; i++) {
            const struct cable_work *w = &c->plan->work.v[i];
            const struct vec2 at = on_paper(c, w->at_m);
            if (w->floor != c->s->plan.floor || (w->kind == WORK_HOLE) != (holes == 1))
                continue;
            if (w->kind == WORK_HOLE) {
                mark_hole(&c->s->pen, at);
                c->holes++;
            } else {
                mark_board(&c->s->pen, at);
                c->boards++;
            }
            block(c, at, w->kind == WORK_HOLE ? HOLE_MM : BOARD_MM);
        }
}

static void draw_risers(struct cable_sheet *c)
{
    for (uint32_t i = 0; i < c->risers.n; i++) {
        const struct riser *r = &c->risers.v[i];
        if (r->up)
            mark_arrow(&c->s->pen, r->at, true);
        if (r->down)
            mark_arrow(&c->s->pen, r->at, false);
        block(c, r->at, RISER_MM + 0.3);
    }
}

/* ---- ids ---- */

/* Near a point of the way, as close as there is room. */
static bool label_at(struct cable_sheet *c, struct str id, struct vec2 at_m)
{
    static const double REACHES_MM[] = { 1.0, 1.8, 3.0, 4.5 };
    struct sheet *s = c->s;
    const struct plan *p = &s->plan;
    const struct text_size size = pen_measure(&s->pen, TEXT_TAG, id);
    if (at_m.x < p->lo.x || at_m.y < p->lo.y || at_m.x > p->hi.x || at_m.y > p->hi.y)
        return false;
    for (size_t i = 0; i < RT_COUNT(REACHES_MM); i++) {
        struct draw_box box;
        if (!label_fit_beside(&s->space, plan_at(p, at_m), REACHES_MM[i], size.w_mm, size.h_mm, 0.3, &box))
            continue;
        pen_text(&s->pen, TEXT_TAG, id, box.x_mm, box.y_mm);
        label_take(&s->space, id, box);
        return true;
    }
    return false;
}

/* Beside the cable's stretches here, from its far end back, where cables have parted; false: there is no room. */
static bool label_cable(struct cable_sheet *c, uint32_t cable)
{
    const struct routed_cable *r = &c->plan->cables[cable];
    for (uint32_t i = r->legs.n; i-- > 0;) {
        const struct cable_leg *l = &r->legs.v[i];
        if (!shows(c->plan->h, l, c->s->plan.floor) || is_upright(l))
            continue;
        for (int k = LABEL_STEPS; k > 0; k--)
            if (label_at(c, c->plan->h->cables.v[cable].id, along(l, (double)k / (LABEL_STEPS + 1))))
                return true;
    }
    return false;
}

static bool is_here(const struct cable_sheet *c, uint32_t cable)
{
    for (uint32_t i = 0; i < c->plan->cables[cable].legs.n; i++)
        if (shows(c->plan->h, &c->plan->cables[cable].legs.v[i], c->s->plan.floor))
            return true;
    return false;
}

/* What found no room stands in the sheet's foot. */
static void label_cables(struct cable_sheet *c, struct buf *rest)
{
    for (uint32_t k = 0; k < c->plan->h->cables.n; k++)
        if (is_here(c, k) && !label_cable(c, k)) {
            buf_text(rest, rest->n ? ", " : "also here: ");
            buf_str(rest, c->plan->h->cables.v[k].id);
        }
}

/* ---- foot ---- */

static double write_words(struct sheet *s, const char *words, double x_mm, double y_mm)
{
    const struct text_size size = pen_measure(&s->pen, TEXT_KEY, str_from(words));
    pen_text_in(&s->pen, TEXT_KEY, INK_LINE, str_from(words), x_mm, y_mm - size.h_mm / 2.0);
    return x_mm + size.w_mm + 6.0;
}

static void write_key(struct cable_sheet *c, struct str rest)
{
    struct sheet *s = c->s;
    double x = 15.0, y = s->h_mm - 33.0;
    for (int lie = 0; lie < LIE_COUNT; lie++) {
        bool is_used = false;
        for (uint32_t i = 0; i < c->stretches.n; i++)
            is_used |= (int)c->stretches.v[i].lie == lie;
        if (!is_used)
            continue;
        pen_ink(&s->pen, INK_LINE);
        dashes_of(&s->pen, (enum lie)lie);
        pen_line(&s->pen, (struct vec2){ x, y }, (struct vec2){ x + 9.0, y }, LINE_MM);
        pen_dashes(&s->pen, 0, 0);
        x = write_words(s, LIES[lie].says, x + 10.5, y);
    }
    x = 16.5;
    y = s->h_mm - 28.0;
    if (c->holes) {
        mark_hole(&s->pen, (struct vec2){ x, y });
        x = write_words(s, "hole", x + 2.6, y);
    }
    if (c->boards) {
        mark_board(&s->pen, (struct vec2){ x, y });
        x = write_words(s, "board lifted", x + 2.6, y);
    }
    if (c->risers.n) {
        mark_arrow(&s->pen, (struct vec2){ x, y + 0.9 }, true);
        x = write_words(s, "goes up", x + 2.6, y);
        mark_arrow(&s->pen, (struct vec2){ x, y - 0.9 }, false);
        x = write_words(s, "goes down", x + 2.6, y);
    }
    if (rest.n)
        pen_text_in(&s->pen, TEXT_KEY, INK_LINE, rest, 15.0, s->h_mm - 24.0);
}

static struct sheet_words words_of(struct cable_sheet *c)
{
    struct sheet *s = c->s;
    const struct floor *f = &s->house->floors.v[s->plan.floor];
    uint32_t n = 0;
    for (uint32_t k = 0; k < c->plan->h->cables.n; k++)
        n += is_here(c, k);
    const char *soft =
        arena_printf(s->arena, "%u cable%s, %u hole%s, %u board%s to lift; wider lines hold several cables", n,
                     n == 1 ? "" : "s", c->holes, c->holes == 1 ? "" : "s", c->boards, c->boards == 1 ? "" : "s");
    s->failed |= !soft;
    return (struct sheet_words){ .title = f->says.n ? f->says : f->id,
                                 .head = STR("cables, and the work that they take"),
                                 .soft = str_from(soft ? soft : ""),
                                 .drawing = STR("cables"),
                                 .height = f->id };
}

void cable_sheet_paint(struct sheet *s)
{
    struct cable_sheet c = { .s = s, .plan = s->options->cables };
    struct buf rest = { .arena = s->arena };
    sheet_begin(s);
    gather(&c);
    plan_draw_things(&s->pen, &s->plan, &s->space);
    plan_draw_walls(&s->pen, &s->plan, &s->space);
    draw_stretches(&c);
    draw_work(&c);
    draw_risers(&c);
    s->marks = plan_draw_mounts(&s->pen, &s->plan, &s->space, false, true);
    label_cables(&c, &rest);
    plan_draw_rooms(&s->pen, &s->plan, &s->space, &s->room_key);
    plan_name_things(&s->pen, &s->plan, &s->space);
    plan_draw_dimensions(&s->pen, &s->plan, &s->space);
    const struct sheet_words words = words_of(&c);
    sheet_finish(s, &words, NULL);
    write_key(&c, buf_done(&rest));
    s->failed |= rest.failed || s->space.failed;
}
