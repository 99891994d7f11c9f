#include "draw/field_sheet.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "data/device_kinds.h"

#define LEVEL_LO_DBM (-85.0)
#define LEVEL_HI_DBM (-40.0)
#define LEVEL_STEP_DB 5.0
#define RATE_LO_MBPS 5.0
#define LINE_LEAST_MM 6.0   /* shorter contour lines are specks: left out */
#define LABEL_LEAST_MM 14.0 /* shorter ones say no more than their neighbours */
#define LABELS_APART_MM 110.0
#define LABEL_GAP_MM 1.0 /* so that halos do not eat each other */
#define TICK_EACH_MM 2.2

struct field_sheet {
    struct sheet *s;
    const struct field_kind *kind;
    struct raster raster;
    struct legend legend;
    vec2_list *outlines; /* of each patch, on the paper; of the floor for the rest */
    /* the contour lines of all patches, on the paper */
    struct drawn_line {
        vec2_list mm;
        double level;
        double length_mm;
        const struct raster_patch *patch;
        bool promised, limit;
    } * lines;
    uint32_t n_lines, cap_lines;
};

/* ---- which levels ---- */

static void push_level(struct sheet *s, double_list *list, double value)
{
    VEC(double) grown = { list->v, list->n, list->n };
    uint32_t at = 0;
    while (at < list->n && list->v[at] < value)
        at++;
    if (at < list->n && list->v[at] == value)
        return;
    if (!VEC_PUSH(s->arena, &grown, value)) {
        s->failed = true;
        return;
    }
    for (uint32_t i = grown.n - 1; i > at; i--)
        grown.v[i] = grown.v[i - 1];
    grown.v[at] = value;
    *list = (double_list){ grown.v, grown.n };
}

double field_promised_level(const struct field_kind *kind, const struct draw_options *o, enum band band,
                            double height_m, const struct promise *p, uint32_t room)
{
    const bool rate = kind->quantity == RASTER_RATE_MBPS;
    if (p->kind != kind->promise || (rate && p->when == WHEN_BUSY_HOUR))
        return RT_NOT_GIVEN;
    if (p->bands && !(p->bands & 1u << band))
        return RT_NOT_GIVEN;
    if (p->availability != o->availability || (is_given(p->height_m) && p->height_m != height_m))
        return RT_NOT_GIVEN; /* its line would lie elsewhere */
    if (p->device_kind.n ? !str_eq(p->device_kind, o->device_name) : !str_is(o->device_name, "phone"))
        return RT_NOT_GIVEN;
    for (uint32_t i = 0; i < p->rooms.n; i++)
        if (p->rooms.v[i].i == room)
            return rate ? p->mbps : p->level_dbm;
    return RT_NOT_GIVEN;
}

static double promised_level(const struct field_sheet *f, const struct promise *p, uint32_t room)
{
    return field_promised_level(f->kind, f->s->options, f->s->subject.band, f->s->plan.height_m, p, room);
}

uint32_t field_levels_usual(const struct raster *r, double levels[FIELD_LEVELS_MOST])
{
    static const double STEPS[] = { 1, 2, 5 };
    uint32_t n = 0;
    if (r->quantity == RASTER_LEVEL_DBM) {
        for (double level = LEVEL_LO_DBM; level <= LEVEL_HI_DBM; level += LEVEL_STEP_DB)
            levels[n++] = level;
        return n;
    }
    const double most = fmax(raster_most(r), 2.0 * RATE_LO_MBPS);
    double last = 0.0;
    for (double ten = 1.0; last < most && n + 3 < FIELD_LEVELS_MOST; ten *= 10.0)
        for (int i = 0; i < 3 && last < most; i++) {
            last = STEPS[i] * ten;
            if (last > RATE_LO_MBPS)
                levels[n++] = last;
        }
    return n;
}

static bool is_promised_here(const struct field_sheet *f, uint32_t room, double level)
{
    const struct house *h = f->s->house;
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (promised_level(f, &h->promises.v[i], room) == level)
            return true;
    return false;
}

static void choose_levels(struct field_sheet *f)
{
    struct sheet *s = f->s;
    struct legend *g = &f->legend;
    for (uint32_t r = 0; r < s->house->rooms.n; r++)
        for (uint32_t i = 0; s->house->rooms.v[r].floor.i == s->plan.floor && i < s->house->promises.n; i++) {
            const double level = promised_level(f, &s->house->promises.v[i], r);
            if (is_given(level))
                push_level(s, &g->promised, level);
        }
    const struct device_kind *known = device_kind_find(s->options->device_name);
    const char *device = known ? known->says : arena_printf(s->arena, "%.*s", STR_ARG(s->options->device_name));
    double levels[FIELD_LEVELS_MOST];
    const uint32_t n = field_levels_usual(&f->raster, levels);
    if (f->kind->quantity == RASTER_LEVEL_DBM) {
        *g = (struct legend){ .lo = LEVEL_LO_DBM, .hi = LEVEL_HI_DBM, .promised = g->promised, .unit = STR("dBm") };
        g->caption = str_from(arena_printf(s->arena, "level at %s, dBm", device));
        g->lines = STR("every 5 dB");
    } else {
        *g = (struct legend){ .lo = RATE_LO_MBPS, .is_log = true, .promised = g->promised, .unit = STR("Mb/s") };
        g->hi = levels[n - 1];
        g->caption = str_from(arena_printf(s->arena, "rate of %s, Mb/s", device));
        g->lines = STR("at the figures");
        g->limit = STR("beyond: no link");
    }
    for (uint32_t i = 0; i < n; i++)
        push_level(s, &g->levels, levels[i]);
}

/* ---- colours ---- */

static void find_outlines(struct field_sheet *f)
{
    struct sheet *s = f->s;
    f->outlines = ARENA_ARRAY(s->arena, vec2_list, f->raster.patches.n);
    s->failed = s->failed || !f->outlines;
    for (uint32_t i = 0; !s->failed && i < f->raster.patches.n; i++) {
        const uint32_t room = f->raster.patches.v[i].room;
        f->outlines[i] =
            plan_outline(s->arena, &s->plan,
                         room == NO_REF ? s->house->floors.v[s->plan.floor].outline : s->house->rooms.v[room].outline);
        s->failed = !f->outlines[i].v;
    }
}

/* Cuts to a room; the rest is the floor without its rooms, or the whole floor. */
static void cut_to_patch(struct field_sheet *f, const struct raster_patch *patch, bool whole_floor)
{
    const uint32_t own = (uint32_t)(patch - f->raster.patches.v);
    cairo_t *cr = f->s->pen.cr;
    cairo_new_path(cr);
    pen_path(&f->s->pen, f->outlines[own].v, f->outlines[own].n, true);
    cairo_clip(cr);
    if (own != 0 || whole_floor)
        return;
    pen_path_box(&f->s->pen, (struct draw_box){ 0, 0, f->s->w_mm, f->s->h_mm });
    for (uint32_t i = 1; i < f->raster.patches.n; i++)
        pen_path(&f->s->pen, f->outlines[i].v, f->outlines[i].n, true);
    cairo_set_fill_rule(cr, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_clip(cr);
}

static uint32_t pixel_of(struct colour c)
{
    const uint32_t r = (uint32_t)lround(c.r * 255.0), g = (uint32_t)lround(c.g * 255.0),
                   b = (uint32_t)lround(c.b * 255.0);
    return 0xff000000u | r << 16 | g << 8 | b;
}

/* One patch as a picture; its pixels are the lattice's nodes, or finer where values go in steps. */
static void paint_patch(struct field_sheet *f, const struct raster_patch *patch)
{
    const struct lattice *l = &patch->shape;
    cairo_t *cr = f->s->pen.cr;
    const uint32_t finer = f->kind->quantity == RASTER_RATE_MBPS ? 3 : 1;
    const uint32_t nx = (l->nx - 1) * finer + 1, ny = (l->ny - 1) * finer + 1;
    cairo_surface_t *picture = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, (int)nx, (int)ny);
    if (cairo_surface_status(picture) != CAIRO_STATUS_SUCCESS) {
        f->s->failed = true;
        cairo_surface_destroy(picture);
        return;
    }
    cairo_surface_flush(picture);
    unsigned char *bytes = cairo_image_surface_get_data(picture);
    const size_t stride = (size_t)cairo_image_surface_get_stride(picture);
    for (uint32_t iy = 0; iy < ny; iy++)
        for (uint32_t ix = 0; ix < nx; ix++) {
            const double value = raster_value(&f->raster, patch, (double)ix / finer, (double)iy / finer);
            const uint32_t pixel = isnan(value) ? 0 : pixel_of(colour_map(legend_share(&f->legend, value)));
            memcpy(bytes + (ny - 1 - iy) * stride + ix * sizeof pixel, &pixel, sizeof pixel);
        }
    cairo_surface_mark_dirty(picture);
    cairo_save(cr);
    cut_to_patch(f, patch, true);
    /* the picture's columns run along x, its rows against y, whichever way the plan lies */
    const double step = l->step / finer;
    const struct vec2 corner = { l->x0 - step / 2.0, l->y0 + ((double)ny - 0.5) * step };
    const struct vec2 at = plan_at(&f->s->plan, corner), right = plan_direction(&f->s->plan, (struct vec2){ 1, 0 });
    const struct vec2 down = plan_direction(&f->s->plan, (struct vec2){ 0, -1 });
    const double node_mm = plan_mm(&f->s->plan, step);
    const cairo_matrix_t lie = { right.x * node_mm, right.y * node_mm, down.x * node_mm, down.y * node_mm, at.x, at.y };
    cairo_transform(cr, &lie);
    cairo_set_source_surface(cr, picture, 0.0, 0.0);
    cairo_pattern_set_filter(cairo_get_source(cr), CAIRO_FILTER_BILINEAR);
    cairo_paint(cr);
    cairo_restore(cr);
    cairo_surface_destroy(picture);
}

/* ---- contour lines ---- */

static bool add_line(struct field_sheet *f, struct drawn_line line)
{
    struct arena *a = f->s->arena;
    if (f->n_lines == f->cap_lines && !vec_grow(a, (void **)&f->lines, &f->cap_lines, f->n_lines, sizeof *f->lines))
        return false;
    f->lines[f->n_lines++] = line;
    return true;
}

static void trace_level(struct field_sheet *f, const struct raster_patch *patch, double level, bool promised,
                        bool limit)
{
    struct arena *a = f->s->arena;
    float *spare_db = raster_spare_db(a, &f->raster, patch, level);
    contour_list found;
    struct lattice l = patch->shape;
    l.v = spare_db;
    if (!spare_db || !contour_trace(a, &l, 0.0, &found)) {
        f->s->failed = true;
        return;
    }
    for (uint32_t i = 0; i < found.n; i++) {
        const struct contour_line *c = &found.v[i];
        struct drawn_line line = { .level = level, .patch = patch, .promised = promised, .limit = limit };
        line.mm.n = c->points.n + (c->is_closed ? 1 : 0);
        line.mm.v = ARENA_ARRAY(a, struct vec2, line.mm.n);
        if (!line.mm.v) {
            f->s->failed = true;
            return;
        }
        for (uint32_t k = 0; k < line.mm.n; k++) {
            line.mm.v[k] = plan_at(&f->s->plan, c->points.v[k % c->points.n]);
            if (k)
                line.length_mm += vec2_len(vec2_sub(line.mm.v[k], line.mm.v[k - 1]));
        }
        if (line.length_mm >= LINE_LEAST_MM)
            f->s->failed = !add_line(f, line) || f->s->failed;
    }
}

static void trace_patch(struct field_sheet *f, const struct raster_patch *patch)
{
    for (uint32_t i = 0; i < f->legend.levels.n && !f->s->failed; i++)
        if (!is_promised_here(f, patch->room, f->legend.levels.v[i]))
            trace_level(f, patch, f->legend.levels.v[i], false, false);
    for (uint32_t i = 0; i < f->legend.promised.n && !f->s->failed; i++) {
        const double level = f->legend.promised.v[i];
        if (is_promised_here(f, patch->room, level))
            trace_level(f, patch, level, true, false);
    }
    if (f->legend.limit.n)
        trace_level(f, patch, 1e-3, false, true);
}

/* Short strokes on the side of less. */
static void draw_ticks(struct pen *pen, const vec2_list *mm)
{
    double next = TICK_EACH_MM / 2.0, gone = 0.0;
    for (uint32_t i = 0; i + 1 < mm->n; i++) {
        const struct vec2 d = vec2_sub(mm->v[i + 1], mm->v[i]);
        const double length = vec2_len(d);
        for (; next < gone + length; next += TICK_EACH_MM) {
            const struct vec2 at = vec2_add(mm->v[i], vec2_scale(d, (next - gone) / length));
            /* y points down on the paper, so that the right hand of the line in metres is its other side here */
            const struct vec2 less = { -d.y / length, d.x / length };
            cairo_move_to(pen->cr, at.x, at.y);
            cairo_line_to(pen->cr, at.x + 1.1 * less.x, at.y + 1.1 * less.y);
        }
        gone += length;
    }
}

static void draw_line(struct field_sheet *f, const struct drawn_line *line)
{
    struct pen *pen = &f->s->pen;
    const enum ink ink = colour_ink_on(colour_map(legend_share(&f->legend, line->level)));
    cairo_save(pen->cr);
    cut_to_patch(f, line->patch, false);
    if (line->promised) {
        for (int casing = 1; casing >= 0; casing--) {
            pen_path(pen, line->mm.v, line->mm.n, false);
            pen_ink(pen, casing ? INK_SHEET : INK_LINE);
            cairo_set_line_width(pen->cr, casing ? 1.5 : 0.75);
            cairo_stroke(pen->cr);
            draw_ticks(pen, &line->mm);
            cairo_set_line_width(pen->cr, casing ? 0.75 : 0.25);
            cairo_stroke(pen->cr);
        }
    } else {
        pen_ink(pen, ink);
        if (line->limit)
            pen_dashes(pen, 1.4, 0.9);
        pen_path(pen, line->mm.v, line->mm.n, false);
        cairo_set_line_width(pen->cr, line->limit ? 0.35 : 0.2);
        cairo_stroke(pen->cr);
        pen_dashes(pen, 0, 0);
    }
    cairo_restore(pen->cr);
}

/* ---- figures on the lines ---- */

static struct vec2 point_at(const vec2_list *mm, double along)
{
    for (uint32_t i = 0; i + 1 < mm->n; i++) {
        const struct vec2 d = vec2_sub(mm->v[i + 1], mm->v[i]);
        const double length = vec2_len(d);
        if (along <= length || i + 2 == mm->n)
            return length > 0.0 ? vec2_add(mm->v[i], vec2_scale(d, fmin(1.0, along / length))) : mm->v[i];
        along -= length;
    }
    return mm->v[0];
}

/* True if the box lies in the patch: in its room, or in the floor outside of all rooms. */
static bool box_in_patch(const struct field_sheet *f, const struct raster_patch *patch, struct draw_box b)
{
    const struct vec2 corners[4] = { { b.x_mm, b.y_mm },
                                     { b.x_mm + b.w_mm, b.y_mm },
                                     { b.x_mm + b.w_mm, b.y_mm + b.h_mm },
                                     { b.x_mm, b.y_mm + b.h_mm } };
    const uint32_t own = (uint32_t)(patch - f->raster.patches.v);
    for (int i = 0; i < 4; i++) {
        if (!polygon_contains(f->outlines[own], corners[i]))
            return false;
        for (uint32_t k = 1; own == 0 && k < f->raster.patches.n; k++)
            if (polygon_contains(f->outlines[k], corners[i]))
                return false;
    }
    return true;
}

/* Sets the figure where the line is straightest and most level, clear of everything; more than one on a long line. */
static void label_line(struct field_sheet *f, const struct drawn_line *line)
{
    struct sheet *s = f->s;
    const enum text_style style = line->promised ? TEXT_FIGURE_B : TEXT_FIGURE;
    const struct str figure = line->limit ? STR("no link") : sheet_figure(s->arena, line->level);
    const struct text_size size = pen_measure(&s->pen, style, figure);
    if (line->length_mm < fmax(1.8 * size.w_mm, line->promised ? 0.0 : LABEL_LEAST_MM))
        return;
    const uint32_t n_labels = 1 + (uint32_t)(line->length_mm / LABELS_APART_MM);
    for (uint32_t part = 0; part < n_labels; part++) {
        const double from = line->length_mm * part / n_labels, to = line->length_mm * (part + 1) / n_labels;
        double best = INFINITY, best_turn = 0.0;
        struct vec2 best_at = { 0, 0 };
        struct draw_box best_box = { 0 };
        const double edge = part ? (to - from) * 0.2 : 0.0; /* keeps figures of one line apart */
        for (double along = from + fmax(edge, size.w_mm / 2.0); along <= to - fmax(edge, size.w_mm / 2.0);
             along += 1.0) {
            const struct vec2 a = point_at(&line->mm, along - size.w_mm / 2.0);
            const struct vec2 b = point_at(&line->mm, along + size.w_mm / 2.0), d = vec2_sub(b, a);
            const double straight = vec2_len(d) / size.w_mm;
            if (straight < 0.9)
                continue;
            double turn = atan2(d.y, d.x);
            turn += turn > RT_PI / 2.0 ? -RT_PI : turn <= -RT_PI / 2.0 ? RT_PI : 0.0;
            const struct vec2 at = point_at(&line->mm, along);
            const double c = fabs(cos(turn)), n = fabs(sin(turn));
            const double w = size.w_mm * c + size.h_mm * n, h = size.w_mm * n + size.h_mm * c;
            const struct draw_box box = { at.x - w / 2.0, at.y - h / 2.0, w, h };
            const double score =
                40.0 * (1.0 - straight) + 2.0 * fabs(turn) + 2.0 * fabs(along - (from + to) / 2.0) / (to - from);
            if (score >= best || !box_in_patch(f, line->patch, box) || !label_is_free(&s->space, box, LABEL_GAP_MM))
                continue;
            best = score;
            best_turn = turn;
            best_at = at;
            best_box = box;
        }
        if (!isfinite(best))
            continue;
        pen_text_turned(&s->pen, style, figure, best_at, best_turn);
        label_take(&s->space, figure, best_box);
    }
}

static void label_lines(struct field_sheet *f)
{
    for (int promised = 1; promised >= 0; promised--)
        for (uint32_t i = 0; i < f->n_lines && !f->s->failed; i++)
            if (f->lines[i].promised == (promised == 1))
                label_line(f, &f->lines[i]);
}

/* ---- the sheet ---- */

struct sheet_words field_sheet_words(struct field_sheet *f)
{
    struct sheet *s = f->s;
    struct arena *a = s->arena;
    const struct floor *floor = &s->house->floors.v[s->plan.floor];
    const char *band = band_name(s->subject.band);
    const struct str height = sheet_figure(a, s->plan.height_m),
                     share = sheet_figure(a, 100.0 * s->options->availability);
    const char *holds = s->options->availability > 0.5
                            ? arena_printf(a, "What holds in %.*s of 100 places", STR_ARG(share))
                            : "The local mean";
    const struct str name = floor->says.n ? floor->says : floor->id;
    struct sheet_words w = { .title = name };
    w.drawing = str_from(arena_printf(a, "%s at %s GHz", f->kind->name, band));
    w.head = str_from(arena_printf(a, "%.*s: %s", STR_ARG(w.drawing), f->kind->says));
    w.soft = str_from(arena_printf(a, "%s, %.*s m above the floor, walls by the %s estimate.", holds, STR_ARG(height),
                                   estimate_name(s->fields->options.trace.estimate)));
    w.height = str_from(arena_printf(a, "%.*s, %.*s m", STR_ARG(name), STR_ARG(height)));
    return w;
}

struct field_sheet *field_sheet_prepare(struct sheet *s, const struct field_kind *kind)
{
    struct field_sheet *f = ARENA_NEW(s->arena, struct field_sheet);
    if (!f)
        return NULL;
    f->s = s;
    f->kind = kind;
    if (!raster_build(s->arena, s->house, s->fields, s->options, s->subject, kind->quantity, kind->rank, &f->raster))
        return NULL;
    choose_levels(f);
    find_outlines(f);
    for (uint32_t i = 0; i < f->raster.patches.n && !s->failed; i++)
        trace_patch(f, &f->raster.patches.v[i]);
    return s->failed ? NULL : f;
}

struct legend field_sheet_common_legend(const struct field_sheet *a, const struct field_sheet *b)
{
    struct legend both = a->legend;
    both.promised = (double_list){ 0 };
    for (uint32_t i = 0; i < a->legend.promised.n; i++)
        push_level(a->s, &both.promised, a->legend.promised.v[i]);
    for (uint32_t i = 0; i < b->legend.promised.n; i++)
        push_level(a->s, &both.promised, b->legend.promised.v[i]);
    return both;
}

void field_sheet_paint_plan(struct field_sheet *f)
{
    struct sheet *s = f->s;
    for (uint32_t i = 0; i < f->raster.patches.n; i++)
        paint_patch(f, &f->raster.patches.v[i]);
    for (int promised = 0; promised < 2; promised++)
        for (uint32_t i = 0; i < f->n_lines; i++)
            if (f->lines[i].promised == (promised == 1))
                draw_line(f, &f->lines[i]);
    plan_draw_things(&s->pen, &s->plan, &s->space);
    plan_draw_walls(&s->pen, &s->plan, &s->space);
    sheet_draw_leaders(s);
    s->marks = plan_draw_mounts(&s->pen, &s->plan, &s->space, s->options->free_mounts, s->options->devices);
    plan_draw_rooms(&s->pen, &s->plan, &s->space, &s->room_key);
    label_lines(f);
    plan_name_things(&s->pen, &s->plan, &s->space);
    plan_draw_dimensions(&s->pen, &s->plan, &s->space);
}

void field_sheet_paint(struct field_sheet *f)
{
    sheet_begin(f->s);
    field_sheet_paint_plan(f);
    const struct sheet_words words = field_sheet_words(f);
    sheet_finish(f->s, &words, &f->legend);
}
