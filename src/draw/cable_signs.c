/* The signs on the plan of cables: lines that tell where a stretch lies, marks of work, ways up and down, ends; and the key of them. */
#include "draw/cable_signs.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"

#define LINE_MORE_MM 0.08 /* wider for each further cable ... */
#define LINE_MOST_MM 1.1  /* ... up to this */
#define CORD_MM 0.2

static const struct {
    double on_mm, off_mm;
    const char *says;
} LIES[LIE_COUNT] = {
    [LIE_OVER] = { 2.4, 0.9, "over the ceiling" },
    [LIE_UNDER] = { 0.9, 0.9, "under the boards" },
    [LIE_SEEN] = { 0, 0, "in or on walls, skirtings, beams" },
    [LIE_GROUND] = { 4.5, 1.2, "in a duct or trench" },
    [LIE_CORD] = { 0, 0, "a cord" },
};

/* ---- lines ---- */

static void dashes_of(struct pen *pen, enum lie lie) { pen_dashes(pen, LIES[lie].on_mm, LIES[lie].off_mm); }

static double width_mm(enum lie lie, uint32_t n_cables)
{
    return lie == LIE_CORD ? CORD_MM : fmin(LINE_MOST_MM, CABLE_LINE_MM + LINE_MORE_MM * (n_cables - 1));
}

void cable_sign_stretch(struct pen *pen, const struct plan *p, const struct stretch *t)
{
    const struct vec2 points[2] = { plan_at(p, t->a), plan_at(p, t->b) };
    pen_path(pen, points, 2, false);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, width_mm(t->lie, t->n_cables) + 0.5);
    cairo_stroke(pen->cr);
    pen_path(pen, points, 2, false);
    pen_ink(pen, INK_LINE);
    dashes_of(pen, t->lie);
    cairo_set_line_width(pen->cr, width_mm(t->lie, t->n_cables));
    cairo_stroke(pen->cr);
    pen_dashes(pen, 0, 0);
}

/* ---- marks ---- */

/* A ring with a dot in it: drilled through. */
void cable_sign_hole(struct pen *pen, struct vec2 at)
{
    cairo_arc(pen->cr, at.x, at.y, CABLE_HOLE_MM, 0.0, 2.0 * RT_PI);
    pen_ink(pen, INK_SHEET);
    cairo_fill_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, 0.25);
    cairo_stroke(pen->cr);
    cairo_arc(pen->cr, at.x, at.y, CABLE_HOLE_MM * 0.35, 0.0, 2.0 * RT_PI);
    cairo_fill(pen->cr);
}

static void path_square(struct pen *pen, struct vec2 at, double half_mm)
{
    pen_path_box(pen, (struct draw_box){ at.x - half_mm, at.y - half_mm, 2.0 * half_mm, 2.0 * half_mm });
}

/* A box with one diagonal: a board that is lifted. */
void cable_sign_board(struct pen *pen, struct vec2 at)
{
    path_square(pen, at, CABLE_BOARD_MM);
    pen_ink(pen, INK_SHEET);
    cairo_fill_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, 0.25);
    cairo_stroke(pen->cr);
    pen_line(pen, (struct vec2){ at.x - CABLE_BOARD_MM, at.y + CABLE_BOARD_MM },
             (struct vec2){ at.x + CABLE_BOARD_MM, at.y - CABLE_BOARD_MM }, 0.25);
}

void cable_sign_arrow(struct pen *pen, struct vec2 at, bool is_up)
{
    const double k = is_up ? -1.0 : 1.0;
    const struct vec2 points[3] = { { at.x - CABLE_RISER_MM * 0.8, at.y + k * 0.3 },
                                    { at.x + CABLE_RISER_MM * 0.8, at.y + k * 0.3 },
                                    { at.x, at.y + k * (0.3 + CABLE_RISER_MM) } };
    pen_path(pen, points, 3, true);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, 0.6);
    cairo_stroke_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_fill(pen->cr);
}

/* A full square: a switch, a gateway, a box that cables end in. */
void cable_sign_end(struct pen *pen, struct vec2 at)
{
    path_square(pen, at, CABLE_END_MM + 0.3);
    pen_ink(pen, INK_SHEET);
    cairo_fill(pen->cr);
    path_square(pen, at, CABLE_END_MM);
    pen_ink(pen, INK_LINE);
    cairo_fill(pen->cr);
}

/* ---- the key ---- */

/* ---- foot ---- */

static double write_words(struct sheet *s, const char *words, double x_mm, double y_mm)
{
    const struct text_size size = pen_measure(&s->pen, TEXT_KEY, str_from(words));
    pen_text_in(&s->pen, TEXT_KEY, INK_LINE, str_from(words), x_mm, y_mm - size.h_mm / 2.0);
    return x_mm + size.w_mm + 5.0;
}

/* Where a line of the key has to end: beside the scale bar and the arrow of north before those, beneath them at the edge. */
static double key_end_mm(const struct sheet *s, double y_mm)
{
    static const double NORTH_MM = 22.0, NORTH_UP_MM = 13.0, FIGURE_BAR_MM = 75.0, BENEATH_MM = 1.2;
    const struct draw_box bar = s->scale_bar;
    if (sheet_is_figure(s))
        return y_mm > bar.y_mm + bar.h_mm + BENEATH_MM ? s->w_mm : s->w_mm - FIGURE_BAR_MM;
    return y_mm > bar.y_mm - NORTH_UP_MM ? bar.x_mm - NORTH_MM : s->w_mm - 15.0;
}

static void new_line_if(struct sheet *s, struct str words, double before_mm, double left_mm, double *x, double *y)
{
    const double end = *x + before_mm + pen_measure(&s->pen, TEXT_KEY, words).w_mm;
    if (*x <= left_mm + 1.5 || end < key_end_mm(s, *y))
        return;
    *x = left_mm;
    *y += 4.2;
}

void cable_key_write(struct cable_floor *c)
{
    struct sheet *s = c->s;
    const double left = sheet_is_figure(s) ? 0.0 : 15.0;
    double x = left, y = c->room.y_mm + c->room.h_mm + 1.0;
    bool any_generated = false;
    for (int lie = 0; lie < LIE_COUNT; lie++) {
        bool is_used = false;
        for (uint32_t i = 0; i < c->stretches.n; i++) {
            is_used |= (int)c->stretches.v[i].lie == lie;
            any_generated |= c->stretches.v[i].run == NO_REF && c->stretches.v[i].lie != LIE_CORD;
        }
        if (!is_used)
            continue;
        new_line_if(s, str_from(LIES[lie].says), 10.5, left, &x, &y);
        pen_ink(&s->pen, INK_LINE);
        dashes_of(&s->pen, (enum lie)lie);
        pen_line(&s->pen, (struct vec2){ x, y }, (struct vec2){ x + 9.0, y }, width_mm((enum lie)lie, 1));
        pen_dashes(&s->pen, 0, 0);
        x = write_words(s, LIES[lie].says, x + 10.5, y);
    }
    const char *more =
        any_generated ? "wider lines hold several cables; * worked out, not given" : "wider lines hold several cables";
    new_line_if(s, str_from(more), 0.0, left, &x, &y);
    x = write_words(s, more, x, y);
    x = left + 1.5;
    y += 4.5;
    if (c->n_work[WORK_HOLE]) {
        cable_sign_hole(&s->pen, (struct vec2){ x, y });
        x = write_words(s, "H hole", x + 2.6, y);
    }
    if (c->n_work[WORK_BOARD]) {
        cable_sign_board(&s->pen, (struct vec2){ x, y });
        x = write_words(s, "B board lifted", x + 2.6, y);
    }
    if (c->n_rises) {
        cable_sign_arrow(&s->pen, (struct vec2){ x, y + 0.9 }, true);
        x = write_words(s, "R goes up", x + 2.6, y);
        cable_sign_arrow(&s->pen, (struct vec2){ x, y - 0.9 }, false);
        x = write_words(s, "R goes down", x + 2.6, y);
    }
    if (c->has_squares) {
        cable_sign_end(&s->pen, (struct vec2){ x, y });
        x = write_words(s, "switch, gateway, box", x + 2.6, y);
    }
    const char *heights = "numbers are the same on every sheet; heights in metres above this floor";
    new_line_if(s, str_from(heights), 0.0, left, &x, &y);
    (void)write_words(s, heights, x, y);
}
