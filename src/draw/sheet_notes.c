/* sheet_notes.c - notes beside the plan: broken to their column, placed, and written, with leader lines to their spots. */
#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/sheet_int.h"

#define ELBOW_MM 5.0
#define NOTE_SPACE_MM 5.0
#define SPOT_MM 1.7

void sheet_wrap(struct sheet *s, enum text_style style, struct str whole, double width_mm, struct str **v, uint32_t *n)
{
    VEC(struct str) lines = { .v = *v, .n = *n, .cap = *n };
    size_t from = 0;
    while (from < whole.n) {
        const struct str rest = { whole.p + from, whole.n - from };
        const bool fits = pen_measure(&s->pen, style, rest).w_mm <= width_mm;
        size_t end = fits ? whole.n : from, next = end;
        for (size_t i = from; !fits && i <= whole.n; i++) {
            if (i < whole.n && whole.p[i] != ' ')
                continue;
            const struct str try = { whole.p + from, i - from };
            if (end > from && pen_measure(&s->pen, style, try).w_mm > width_mm)
                break;
            end = i;
            next = i + 1;
        }
        const struct str line = { whole.p + from, end - from };
        if (line.n)
            s->failed = !VEC_PUSH(s->arena, &lines, line) || s->failed;
        from = next;
    }
    *v = lines.v;
    *n = lines.n;
}

static double lines_mm(struct sheet *s, enum text_style style) { return pen_measure(&s->pen, style, STR("x")).h_mm; }

static double widest_mm(struct sheet *s, enum text_style style, const struct str *v, uint32_t n)
{
    double widest = 0.0;
    for (uint32_t i = 0; i < n; i++)
        widest = fmax(widest, pen_measure(&s->pen, style, v[i]).w_mm);
    return widest;
}

static bool note_is_here(const struct sheet *s, const struct draw_note *n)
{
    const struct grid *g = &s->fields->grids.v[s->subject.grid];
    return n->floor == g->floor && (!n->what || n->what & (uint32_t)s->subject.what) &&
           (!n->bands || n->bands & 1u << s->subject.band);
}

static void break_note(struct sheet *s, struct sheet_note *note)
{
    sheet_wrap(s, TEXT_NOTE_HEAD, note->note->head, NOTE_MM, &note->head.v, &note->head.n);
    for (uint32_t i = 0; i < note->note->lines.n; i++)
        sheet_wrap(s, TEXT_NOTE, note->note->lines.v[i], NOTE_MM, &note->lines.v, &note->lines.n);
    for (uint32_t i = 0; i < note->note->advice.n; i++)
        sheet_wrap(s, TEXT_ADVICE, note->note->advice.v[i], NOTE_MM, &note->advice.v, &note->advice.n);
    note->box.w_mm = fmax(widest_mm(s, TEXT_NOTE_HEAD, note->head.v, note->head.n),
                          fmax(widest_mm(s, TEXT_NOTE, note->lines.v, note->lines.n),
                               widest_mm(s, TEXT_ADVICE, note->advice.v, note->advice.n)));
    note->box.h_mm = note->head.n * lines_mm(s, TEXT_NOTE_HEAD) + note->lines.n * lines_mm(s, TEXT_NOTE) +
                     note->advice.n * lines_mm(s, TEXT_ADVICE) + (note->advice.n ? 1.2 : 0.0) + 0.8;
}

void sheet_find_notes(struct sheet *s)
{
    const draw_note_list *given = &s->options->notes;
    s->notes.v = ARENA_ARRAY(s->arena, struct sheet_note, given->n);
    if (!s->notes.v) {
        s->failed = true;
        return;
    }
    for (uint32_t i = 0; i < given->n; i++)
        if (note_is_here(s, &given->v[i])) {
            s->notes.v[s->notes.n] = (struct sheet_note){ .note = &given->v[i] };
            break_note(s, &s->notes.v[s->notes.n++]);
        }
}

/* From top to bottom of the paper, so that leader lines do not cross; notes are few. */
void sheet_sort_notes(struct sheet *s)
{
    for (uint32_t i = 1; i < s->notes.n; i++)
        for (uint32_t k = i;
             k > 0 && plan_at(&s->plan, s->notes.v[k].note->at_m).y < plan_at(&s->plan, s->notes.v[k - 1].note->at_m).y;
             k--) {
            const struct sheet_note swap = s->notes.v[k];
            s->notes.v[k] = s->notes.v[k - 1];
            s->notes.v[k - 1] = swap;
        }
}

/* Those of one column one below the other, each as near to the height of its spot as the others let it.  Lines begin at x_mm, or
 * on the plan's left end at x_mm. */
void sheet_place_notes(struct sheet *s, bool left, double x_mm, double top_mm, double bottom_mm)
{
    double free_from = top_mm;
    for (uint32_t i = 0; i < s->notes.n; i++) {
        struct sheet_note *n = &s->notes.v[i];
        if (n->is_left != left)
            continue;
        n->box.x_mm = left ? x_mm - n->box.w_mm : x_mm;
        n->box.y_mm = fmax(free_from, plan_at(&s->plan, n->note->at_m).y - n->box.h_mm / 2.0);
        free_from = n->box.y_mm + n->box.h_mm + NOTE_SPACE_MM;
    }
    double free_to = bottom_mm;
    for (uint32_t i = s->notes.n; i-- > 0;) {
        struct sheet_note *n = &s->notes.v[i];
        if (n->is_left != left)
            continue;
        n->box.y_mm = fmin(n->box.y_mm, free_to - n->box.h_mm);
        free_to = n->box.y_mm - NOTE_SPACE_MM;
    }
}

static enum ink note_ink(const struct draw_note *n) { return n->state == DRAW_BROKEN ? INK_ACCENT : INK_LINE; }

void sheet_draw_state(struct pen *pen, enum draw_state state, enum ink ink, struct vec2 at, double radius_mm)
{
    cairo_t *cr = pen->cr;
    pen_ink(pen, ink);
    if (state == DRAW_KEPT) {
        cairo_arc(cr, at.x, at.y, radius_mm, 0.0, 2.0 * RT_PI);
        cairo_fill(cr);
        return;
    }
    if (state == DRAW_UNKNOWN)
        pen_dashes(pen, 0.9, 0.7);
    cairo_arc(cr, at.x, at.y, radius_mm, 0.0, 2.0 * RT_PI);
    cairo_set_line_width(cr, 0.55);
    cairo_stroke(cr);
    pen_dashes(pen, 0, 0);
    if (state == DRAW_BROKEN) {
        const double k = radius_mm * 0.48;
        pen_line(pen, (struct vec2){ at.x - k, at.y - k }, (struct vec2){ at.x + k, at.y + k }, 0.5);
        pen_line(pen, (struct vec2){ at.x - k, at.y + k }, (struct vec2){ at.x + k, at.y - k }, 0.5);
    }
}

static void draw_spot(struct pen *pen, const struct draw_note *n, struct vec2 at)
{
    pen_ink(pen, INK_SHEET);
    cairo_arc(pen->cr, at.x, at.y, SPOT_MM + 0.8, 0.0, 2.0 * RT_PI);
    cairo_fill(pen->cr);
    sheet_draw_state(pen, n->state, note_ink(n), at, n->state == DRAW_KEPT ? SPOT_MM * 0.75 : SPOT_MM);
}

void sheet_draw_leaders(struct sheet *s)
{
    struct pen *pen = &s->pen;
    for (uint32_t i = 0; i < s->notes.n && !sheet_is_figure(s); i++) {
        const struct sheet_note *n = &s->notes.v[i];
        const struct vec2 at = plan_at(&s->plan, n->note->at_m);
        const double y_mm = n->box.y_mm + lines_mm(s, TEXT_NOTE_HEAD) / 2.0;
        const double out = n->is_left ? -1.0 : 1.0; /* of the plan */
        const double edge_mm = n->is_left ? n->box.x_mm + n->box.w_mm : n->box.x_mm;
        const struct vec2 end = { edge_mm - out * 1.5, y_mm }, elbow = { end.x - out * ELBOW_MM, y_mm };
        const struct vec2 way = vec2_sub(elbow, at);
        const struct vec2 from = vec2_add(at, vec2_scale(way, SPOT_MM / fmax(SPOT_MM, vec2_len(way))));
        const struct vec2 points[3] = { from, elbow, end };
        pen_path(pen, points, 3, false);
        pen_ink(pen, INK_SHEET);
        cairo_set_line_width(pen->cr, 0.9);
        cairo_stroke_preserve(pen->cr);
        pen_ink(pen, note_ink(n->note));
        cairo_set_line_width(pen->cr, 0.3);
        cairo_stroke(pen->cr);
        label_block_strip(&s->space, from, elbow, 0.3);
    }
    for (uint32_t i = 0; i < s->notes.n; i++) {
        const struct vec2 at = plan_at(&s->plan, s->notes.v[i].note->at_m);
        draw_spot(pen, s->notes.v[i].note, at);
        label_block_box(&s->space, (struct draw_box){ at.x - SPOT_MM, at.y - SPOT_MM, 2 * SPOT_MM, 2 * SPOT_MM });
    }
}

static void write_lines(struct sheet *s, enum text_style style, enum ink ink, const struct str *v, uint32_t n,
                        double x_mm, double *y_mm)
{
    for (uint32_t i = 0; i < n; i++) {
        const struct text_size size = pen_measure(&s->pen, style, v[i]);
        pen_text_in(&s->pen, style, ink, v[i], x_mm, *y_mm);
        label_take(&s->space, v[i], (struct draw_box){ x_mm, *y_mm, size.w_mm, size.h_mm - 0.01 });
        *y_mm += size.h_mm;
    }
}

void sheet_write_notes(struct sheet *s)
{
    for (uint32_t i = 0; i < s->notes.n && !sheet_is_figure(s); i++) {
        const struct sheet_note *n = &s->notes.v[i];
        double y_mm = n->box.y_mm;
        write_lines(s, TEXT_NOTE_HEAD, note_ink(n->note), n->head.v, n->head.n, n->box.x_mm, &y_mm);
        y_mm += 0.8;
        write_lines(s, TEXT_NOTE, INK_LINE, n->lines.v, n->lines.n, n->box.x_mm, &y_mm);
        y_mm += 1.2;
        write_lines(s, TEXT_ADVICE, INK_SOFT, n->advice.v, n->advice.n, n->box.x_mm, &y_mm);
    }
}
