/* The view of what goes up and down: a column for each place, in it each cable's part, floors as levels at their true
 * heights; and a section along each trench and duct. */
#include <cairo.h>
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "draw/cable_pages.h"
#include "house/polygon.h"

#define LEFT_MM 15.0
#define HEAD_MM 37.0 /* where the columns' heads begin ... */
#define VIEW_MM 56.0 /* ... and the view under them */
#define FOOT_MM 36.0
#define LEVELS_MM 33.0 /* for the names of the levels, left of a building's columns */
#define COLUMN_MM 30.0
#define COLUMN_MOST_MM 62.0
#define TRENCH_MM 92.0
#define LINES_MM 9.0 /* for the lines of a column's cables */
#define LINE_APART_MM 1.5
#define TOGETHER_M 0.03
#define AT_BUILDING_M 0.4

struct column {
    bool is_trench;
    uint32_t index;    /* of in->rises, in->trenches */
    uint32_t building; /* NO_REF: trenches, and what is at no building */
    bool is_first;     /* of its building on this page */
    uint32_t page;
    double x_mm, w_mm; /* of the column itself, names of levels left of it */
};

struct view {
    struct sheet *s;
    const struct install *in;
    struct column *columns;
    uint32_t n;
    double low_m, high_m, base_mm;
};

static double y_of(const struct view *v, double z_m) { return v->base_mm - plan_mm(&v->s->plan, z_m - v->low_m); }

/* ---- which columns, and where ---- */

static int by_building(const void *x, const void *y)
{
    const struct column *p = x, *q = y;
    if (p->is_trench != q->is_trench)
        return p->is_trench ? 1 : -1;
    if (p->building != q->building)
        return p->building < q->building ? -1 : 1;
    return p->index < q->index ? -1 : p->index > q->index;
}

static double needed_mm(const struct column *c, double column_mm)
{
    return (c->is_trench ? TRENCH_MM : column_mm) + (c->is_first ? LEVELS_MM : 0.0);
}

/* Places all, beginning a new page where one is full; the number of pages. */
static uint32_t place_columns(const struct view *v, double column_mm)
{
    const double right_mm = v->s->w_mm - LEFT_MM;
    double x_mm = LEFT_MM;
    uint32_t page = 0;
    for (uint32_t i = 0; i < v->n; i++) {
        struct column *c = &v->columns[i];
        c->is_first = i == 0 || c->is_trench || c->building != c[-1].building;
        if (x_mm > LEFT_MM && x_mm + needed_mm(c, column_mm) > right_mm + 0.01) {
            page++;
            x_mm = LEFT_MM;
            c->is_first = true;
        }
        c->page = page;
        c->w_mm = c->is_trench ? TRENCH_MM : column_mm;
        c->x_mm = x_mm + (c->is_first ? LEVELS_MM : 0.0);
        x_mm = c->x_mm + c->w_mm;
    }
    return v->n ? page + 1 : 0;
}

/* Wider columns where that takes no further page. */
static uint32_t spread_columns(const struct view *v)
{
    const uint32_t n = place_columns(v, COLUMN_MM);
    double wide_mm = COLUMN_MM;
    while (wide_mm + 2.0 <= COLUMN_MOST_MM && place_columns(v, wide_mm + 2.0) == n)
        wide_mm += 2.0;
    return place_columns(v, wide_mm);
}

static bool is_shown(const struct view *v, const struct column *c, const struct floor *f)
{
    if (c->is_trench)
        return false;
    const struct vec2 at = v->in->rises.v[c->index].at_m;
    return polygon_contains_within(f->outline, at, AT_BUILDING_M);
}

static void widen(struct view *v, double z_m)
{
    v->low_m = fmin(v->low_m, z_m);
    v->high_m = fmax(v->high_m, z_m);
}

/* Scales of reduction after ISO 5455. */
static void choose_scale(struct view *v)
{
    static const double SCALES[] = { 20, 50, 100, 200, 500, 1000 };
    const struct house *h = v->s->house;
    v->low_m = INFINITY;
    v->high_m = -INFINITY;
    for (uint32_t i = 0; i < v->in->rises.n; i++) {
        widen(v, v->in->rises.v[i].low_m);
        widen(v, v->in->rises.v[i].high_m);
    }
    for (uint32_t i = 0; i < v->in->trenches.n; i++) {
        const struct cable_run *r = &h->runs.v[v->in->trenches.v[i]];
        for (uint32_t k = 0; k < r->line.n; k++)
            widen(v, r->line.v[k].z);
    }
    for (uint32_t c = 0; c < v->n; c++)
        for (uint32_t f = 0; f < h->floors.n; f++)
            if (is_shown(v, &v->columns[c], &h->floors.v[f])) {
                widen(v, h->floors.v[f].level_m);
                if (!h->floors.v[f].open_air)
                    widen(v, h->floors.v[f].level_m + h->floors.v[f].height_m);
            }
    const double room_mm = v->s->h_mm - VIEW_MM - FOOT_MM - 6.0;
    uint32_t k = 0;
    while (k + 1 < RT_COUNT(SCALES) && (v->high_m - v->low_m) * 1000.0 / SCALES[k] > room_mm)
        k++;
    v->s->plan.scale = SCALES[k];
    v->base_mm = v->s->h_mm - FOOT_MM - 4.0 - (room_mm - plan_mm(&v->s->plan, v->high_m - v->low_m)) / 2.0;
}

static bool view_init(struct view *v, struct sheet *s, const struct install *in)
{
    *v = (struct view){ .s = s, .in = in, .n = in->rises.n + in->trenches.n };
    v->columns = ARENA_ARRAY(s->arena, struct column, v->n);
    if (!v->columns) {
        s->failed = true;
        return false;
    }
    for (uint32_t i = 0; i < v->n; i++) {
        const bool is_trench = i >= in->rises.n;
        v->columns[i] = (struct column){ .is_trench = is_trench,
                                         .index = is_trench ? i - in->rises.n : i,
                                         .building = is_trench ? NO_REF : in->rises.v[i].building };
    }
    qsort(v->columns, v->n, sizeof *v->columns, by_building);
    return true;
}

uint32_t cable_risers_pages(struct sheet *s, const struct install *in)
{
    struct view v;
    return view_init(&v, s, in) ? spread_columns(&v) : 0;
}

/* ---- texts in a column ---- */

/* A text at a height of its own, its lines broken to the column. */
struct note {
    double z_m;
    struct buf words;
    struct str *lines;
    uint32_t n_lines;
    double y_mm;
};

typedef VEC(struct note) note_vec;

static double line_mm(struct sheet *s) { return pen_measure(&s->pen, TEXT_CELL, STR("x")).h_mm; }

/* The note of this height; a new one begins with its level. */
static struct note *note_at(struct sheet *s, note_vec *notes, double z_m)
{
    for (uint32_t i = 0; i < notes->n; i++)
        if (fabs(notes->v[i].z_m - z_m) < TOGETHER_M)
            return &notes->v[i];
    const struct note note = { .z_m = z_m, .words = { .arena = s->arena } };
    if (!VEC_PUSH(s->arena, notes, note)) {
        s->failed = true;
        return NULL;
    }
    struct note *new = &notes->v[notes->n - 1];
    buf_printf(&new->words, "%+.2f ", z_m);
    return new;
}

static int from_top(const void *x, const void *y)
{
    const struct note *p = x, *q = y;
    return p->z_m > q->z_m ? -1 : p->z_m < q->z_m;
}

/* As near to their heights as they keep clear of one another. */
static void place_notes(struct sheet *s, note_vec *notes, double width_mm, double (*y_at)(const struct view *, double),
                        const struct view *v)
{
    const double each_mm = line_mm(s), gap_mm = 0.8;
    if (notes->n)
        qsort(notes->v, notes->n, sizeof *notes->v, from_top);
    double free_mm = 0.0;
    for (uint32_t i = 0; i < notes->n; i++) {
        struct note *n = &notes->v[i];
        s->failed |= n->words.failed;
        sheet_wrap(s, TEXT_CELL, buf_done(&n->words), width_mm, &n->lines, &n->n_lines);
        n->y_mm = fmax(free_mm, y_at(v, n->z_m) - each_mm / 2.0);
        free_mm = n->y_mm + n->n_lines * each_mm + gap_mm;
    }
    double floor_mm = s->h_mm - FOOT_MM + 3.0;
    for (uint32_t i = notes->n; i-- > 0;) {
        struct note *n = &notes->v[i];
        n->y_mm = fmin(n->y_mm, floor_mm - n->n_lines * each_mm);
        floor_mm = n->y_mm - gap_mm;
    }
}

static void say(struct sheet *s, enum text_style style, struct str text, double x_mm, double y_mm)
{
    const struct text_size size = pen_measure(&s->pen, style, text);
    pen_text(&s->pen, style, text, x_mm, y_mm);
    label_take(&s->space, text, (struct draw_box){ x_mm, y_mm, size.w_mm, size.h_mm - 0.01 });
}

static void write_notes(struct sheet *s, const struct view *v, const note_vec *notes, double from_mm, double x_mm)
{
    const double each_mm = line_mm(s);
    for (uint32_t i = 0; i < notes->n; i++) {
        const struct note *n = &notes->v[i];
        const double y_mm = y_of(v, n->z_m), to_mm = n->y_mm + each_mm / 2.0;
        pen_ink(&s->pen, INK_LINE);
        pen_line(&s->pen, (struct vec2){ from_mm, y_mm }, (struct vec2){ x_mm - 2.6, y_mm }, 0.15);
        pen_line(&s->pen, (struct vec2){ x_mm - 2.6, y_mm }, (struct vec2){ x_mm - 0.6, to_mm }, 0.15);
        for (uint32_t k = 0; k < n->n_lines; k++) {
            const double w_mm = pen_measure(&s->pen, TEXT_CELL, n->lines[k]).w_mm;
            pen_ink(&s->pen, INK_SHEET); /* levels pass behind the text */
            pen_path_box(&s->pen, (struct draw_box){ x_mm - 0.4, n->y_mm + k * each_mm, w_mm + 0.8, each_mm });
            cairo_fill(s->pen.cr);
            say(s, TEXT_CELL, n->lines[k], x_mm, n->y_mm + k * each_mm);
        }
    }
}

/* ---- a place where cable goes up or down ---- */

static void note_cables(const struct view *v, const struct install_rise *r, note_vec *notes)
{
    const struct house *h = v->s->house;
    for (uint32_t i = 0; i < r->pieces.n; i++)
        for (int top = 0; top < 2; top++) {
            const struct install_piece *p = &r->pieces.v[i];
            struct note *n = note_at(v->s, notes, top ? p->high_m : p->low_m);
            if (n)
                buf_printf(&n->words, " %.*s", STR_ARG(h->cables.v[p->cable].id));
        }
}

/* Holes on the way, once each. */
static void note_holes(const struct view *v, uint32_t rise, note_vec *notes)
{
    const struct install *in = v->in;
    bool *seen = ARENA_ARRAY(v->s->arena, bool, in->plan->work.n);
    if (!seen) {
        v->s->failed = true;
        return;
    }
    for (uint32_t c = 0; c < v->s->house->cables.n; c++)
        for (uint32_t i = 0; i < in->cables[c].passes.n; i++) {
            const struct install_pass *p = &in->cables[c].passes.v[i];
            const struct cable_work *w = &in->plan->work.v[p->work];
            if (in->cables[c].steps.v[p->step].rise != rise || seen[p->work] || w->kind != WORK_HOLE)
                continue;
            seen[p->work] = true;
            const struct str mark = install_work_mark(v->s->arena, in, p->work);
            struct note *n = note_at(v->s, notes, w->at_m.z);
            if (n)
                buf_printf(&n->words, " hole %.*s", STR_ARG(mark));
        }
}

static void draw_piece(struct sheet *s, double x_mm, double from_mm, double to_mm, bool is_generated)
{
    pen_ink(&s->pen, INK_LINE);
    if (is_generated)
        pen_dashes(&s->pen, 1.6, 0.8);
    pen_line(&s->pen, (struct vec2){ x_mm, from_mm }, (struct vec2){ x_mm, to_mm }, 0.5);
    pen_dashes(&s->pen, 0, 0);
    for (int end = 0; end < 2; end++) {
        cairo_arc(s->pen.cr, x_mm, end ? to_mm : from_mm, 0.7, 0.0, 2.0 * RT_PI);
        cairo_fill(s->pen.cr);
    }
}

static void write_head(struct sheet *s, const struct column *c, const char *mark, struct str words)
{
    struct str *lines = NULL;
    uint32_t n = 0;
    const struct str name = str_from(arena_printf(s->arena, "%s%u", mark, c->index + 1));
    say(s, TEXT_HEAD, name, c->x_mm + 1.0, HEAD_MM);
    sheet_wrap(s, TEXT_CELL, words, c->w_mm - 3.0, &lines, &n);
    for (uint32_t i = 0; i < n; i++)
        say(s, TEXT_CELL, lines[i], c->x_mm + 1.0, HEAD_MM + 4.2 + i * line_mm(s));
}

static void draw_rise(const struct view *v, const struct column *c)
{
    struct sheet *s = v->s;
    const struct install_rise *r = &v->in->rises.v[c->index];
    const double apart_mm = fmin(LINE_APART_MM, LINES_MM / fmax(1.0, r->pieces.n));
    const double x_mm = c->x_mm + 2.5, text_mm = x_mm + r->pieces.n * apart_mm + 3.2;
    note_vec notes = { 0 };
    write_head(s, c, "R", install_rise_words(s->arena, v->in, c->index));
    for (uint32_t i = 0; i < r->pieces.n; i++) {
        const struct install_piece *p = &r->pieces.v[i];
        draw_piece(s, x_mm + i * apart_mm, y_of(v, p->low_m), y_of(v, p->high_m),
                   v->in->cables[p->cable].steps.v[p->step].run == NO_REF);
    }
    note_cables(v, r, &notes);
    note_holes(v, c->index, &notes);
    place_notes(s, &notes, c->x_mm + c->w_mm - text_mm - 1.5, y_of, v);
    write_notes(s, v, &notes, x_mm, text_mm);
}

/* ---- levels ---- */

static void draw_levels(const struct view *v, const struct column *c)
{
    const struct house *h = v->s->house;
    struct pen *pen = &v->s->pen;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        if (!is_shown(v, c, f))
            continue;
        const double y_mm = y_of(v, f->level_m), top_mm = y_of(v, f->level_m + f->height_m);
        pen_ink(pen, f->open_air ? INK_SOFT : INK_LINE);
        pen_line(pen, (struct vec2){ c->x_mm, y_mm }, (struct vec2){ c->x_mm + c->w_mm, y_mm },
                 f->open_air ? 0.2 : 0.35);
        if (f->open_air)
            continue;
        pen_dashes(pen, 1.0, 1.0);
        pen_ink(pen, INK_SOFT);
        pen_line(pen, (struct vec2){ c->x_mm, top_mm }, (struct vec2){ c->x_mm + c->w_mm, top_mm }, 0.2);
        pen_dashes(pen, 0, 0);
    }
}

/* Left of a building's first column: what its levels are. */
static void name_levels(const struct view *v, const struct column *first)
{
    struct sheet *s = v->s;
    const struct house *h = s->house;
    note_vec notes = { 0 };
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        bool shows = false;
        for (const struct column *c = first;
             c < v->columns + v->n && c->page == first->page && c->building == first->building; c++)
            shows |= is_shown(v, c, f);
        if (!shows)
            continue;
        for (int ceiling = 0; ceiling < (f->open_air ? 1 : 2); ceiling++) {
            struct note *n = note_at(s, &notes, f->level_m + (ceiling ? f->height_m : 0.0));
            if (n)
                buf_printf(&n->words, "%s%.*s", ceiling ? "ceiling, " : "", STR_ARG(install_floor_name(h, i)));
        }
    }
    place_notes(s, &notes, LEVELS_MM - 6.0, y_of, v);
    for (uint32_t i = 0; i < notes.n; i++) {
        const struct note *n = &notes.v[i];
        const double y_mm = y_of(v, n->z_m), x_mm = first->x_mm - LEVELS_MM;
        double w_mm = 0.0;
        for (uint32_t k = 0; k < n->n_lines; k++) {
            say(s, TEXT_CELL, n->lines[k], x_mm, n->y_mm + k * line_mm(s));
            w_mm = fmax(w_mm, pen_measure(&s->pen, TEXT_CELL, n->lines[k]).w_mm);
        }
        pen_ink(&s->pen, INK_SOFT);
        pen_line(&s->pen, (struct vec2){ x_mm + w_mm + 0.8, n->y_mm + line_mm(s) / 2.0 },
                 (struct vec2){ first->x_mm, y_mm }, 0.15);
    }
}

/* ---- along a trench ---- */

/* The ground over a point: open land, else the lowest floor; NaN: the file has none there. */
static double ground_m(const struct house *h, struct vec2 at_m, struct str *name, bool *is_open)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        if (!polygon_contains_within(f->outline, at_m, 0.05))
            continue;
        if (best == NO_REF || (f->open_air && !h->floors.v[best].open_air) ||
            (f->open_air == h->floors.v[best].open_air && f->level_m < h->floors.v[best].level_m))
            best = i;
    }
    *name = best == NO_REF ? STR("") : install_floor_name(h, best);
    *is_open = best != NO_REF && h->floors.v[best].open_air;
    return best == NO_REF ? RT_NOT_GIVEN : h->floors.v[best].level_m;
}

struct str cable_trench_words(struct sheet *s, const struct install *in, uint32_t trench)
{
    const struct house *h = s->house;
    const uint32_t run = in->trenches.v[trench];
    const struct cable_run *r = &h->runs.v[run];
    struct buf b = { .arena = s->arena };
    double deepest_m = -INFINITY, length_m = 0.0;
    struct str over = { 0 };
    for (uint32_t i = 0; i < r->line.n; i++) {
        bool is_open;
        struct str name;
        const double depth_m =
            ground_m(h, (struct vec2){ r->line.v[i].x, r->line.v[i].y }, &name, &is_open) - r->line.v[i].z;
        if (is_given(depth_m) && is_open && depth_m > deepest_m) {
            deepest_m = depth_m;
            over = name;
        }
        length_m += i ? vec3_len(vec3_sub(r->line.v[i], r->line.v[i - 1])) : 0.0;
    }
    const struct str name = r->says.n ? r->says : install_id_words(s->arena, r->id);
    buf_printf(&b, "%.*s, %.2f m long", STR_ARG(name), length_m);
    if (deepest_m > 0.0 && isfinite(deepest_m))
        buf_printf(&b, ", up to %.2f m under the %.*s", deepest_m, STR_ARG(over));
    buf_text(&b, ". Dig as deep as the local rule asks, ask what else lies there, lay a warning tape above it. In it:");
    for (uint32_t c = 0; c < h->cables.n; c++)
        for (uint32_t i = 0; i < in->cables[c].steps.n; i++)
            if (in->cables[c].steps.v[i].run == run) {
                buf_printf(&b, " %.*s", STR_ARG(h->cables.v[c].id));
                break;
            }
    s->failed |= b.failed;
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

/* Lengths along it are drawn to fill the column, heights are true. */
static void draw_trench(const struct view *v, const struct column *c)
{
    struct sheet *s = v->s;
    const uint32_t run = v->in->trenches.v[c->index];
    const struct cable_run *r = &s->house->runs.v[run];
    double all_m = 0.0, at_m = 0.0;
    write_head(s, c, "T", cable_trench_words(s, v->in, c->index));
    for (uint32_t i = 1; i < r->line.n; i++)
        all_m += hypot(r->line.v[i].x - r->line.v[i - 1].x, r->line.v[i].y - r->line.v[i - 1].y);
    const double k = (c->w_mm - 24.0) / fmax(all_m, 0.01), x_mm = c->x_mm + 6.0;
    struct pen *pen = &s->pen;
    for (uint32_t i = 0; i + 1 < r->line.n; i++) {
        const struct vec3 a = r->line.v[i], b = r->line.v[i + 1];
        const double len_m = hypot(b.x - a.x, b.y - a.y);
        enum { STEPS = 24 };
        for (int q = 0; q < STEPS; q++) { /* the ground over it, step by step where it is known */
            bool is_open;
            struct str name;
            const double t = (q + 0.5) / STEPS;
            const double g_m =
                ground_m(s->house, (struct vec2){ a.x + t * (b.x - a.x), a.y + t * (b.y - a.y) }, &name, &is_open);
            if (!is_given(g_m) || g_m < v->low_m || g_m > v->high_m)
                continue;
            const double x0 = x_mm + k * (at_m + len_m * q / STEPS), x1 = x_mm + k * (at_m + len_m * (q + 1) / STEPS);
            pen_ink(pen, INK_SOFT);
            pen_line(pen, (struct vec2){ x0, y_of(v, g_m) }, (struct vec2){ x1, y_of(v, g_m) }, 0.3);
            if (q % 3 == 0)
                pen_line(pen, (struct vec2){ x0, y_of(v, g_m) }, (struct vec2){ x0 - 1.0, y_of(v, g_m) + 1.2 }, 0.15);
        }
        pen_ink(pen, INK_LINE);
        pen_dashes(pen, 4.5, 1.2);
        pen_line(pen, (struct vec2){ x_mm + k * at_m, y_of(v, a.z) },
                 (struct vec2){ x_mm + k * (at_m + len_m), y_of(v, b.z) }, 0.6);
        pen_dashes(pen, 0, 0);
        at_m += len_m;
    }
    note_vec notes = { 0 };
    for (uint32_t i = 0; i < r->line.n; i++)
        (void)note_at(s, &notes, r->line.v[i].z);
    place_notes(s, &notes, 12.0, y_of, v);
    write_notes(s, v, &notes, x_mm + k * all_m, x_mm + k * all_m + 5.0);
}

void cable_risers_paint(struct sheet *s, const struct install *in, uint32_t page)
{
    struct view v;
    if (!view_init(&v, s, in))
        return;
    (void)spread_columns(&v);
    choose_scale(&v);
    for (uint32_t i = 0; i < v.n; i++)
        if (v.columns[i].page == page)
            draw_levels(&v, &v.columns[i]);
    for (uint32_t i = 0; i < v.n && !s->failed; i++) {
        const struct column *c = &v.columns[i];
        if (c->page != page)
            continue;
        if (c->is_first && !c->is_trench)
            name_levels(&v, c);
        if (c->is_trench)
            draw_trench(&v, c);
        else
            draw_rise(&v, c);
    }
}
