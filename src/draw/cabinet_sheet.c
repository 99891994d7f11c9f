/* A cabinet's front with its rack units, or a wall with the floor and a rule of heights; whole outlines where the house file says the
 * place, dashed ones where it is ours.  What has no room for its name inside gets it at the side, at the end of a line. */
#include "draw/cabinet_sheet.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/cabinet_words.h"
#include "promise/wire_words.h"
#include "wire/end_label.h"

#define LEFT_MM 15.0
#define TOP_MM 36.0
#define FOOT_MM 42.0
#define RULE_MM 17.0   /* left of the drawing: heights */
#define UNDER_MM 10.0  /* below it: width, or the floor */
#define COLUMN_MM 82.0 /* of words */
#define COLUMN_APART_MM 8.0
#define NAMES_MM 42.0 /* right of the drawing, for names that have no room inside */
#define PAD_MM 1.4

struct cabinet_sheet {
    struct sheet *s;
    const struct front *f;
    double x_mm, y_mm; /* lower left corner of the cabinet, or of the wall at z_m */
    double z_m;        /* what the lower edge of the drawing stands for: 0, or for a wall up high more */
    double name_y_mm;  /* names at the side are written down to here */
    struct text_block words;
};

static const struct front *front_of(const struct sheet *s) { return &s->options->fronts->v[s->subject.page]; }

bool cabinet_pages(struct sheet *s, str_list *names)
{
    const struct front_plan *plan = s->options->fronts;
    if (!plan)
        return true;
    names->v = ARENA_ARRAY(s->arena, struct str, plan->n);
    for (uint32_t i = 0; names->v && i < plan->n; i++)
        names->v[names->n++] =
            sheet_text(s, "%s-%.*s", plan->v[i].cabinet == NO_REF ? "wall" : "cabinet", STR_ARG(plan->v[i].name));
    return names->v && !s->failed;
}

/* ---- paper and scale ---- */

static double mm(const struct sheet *s, double length_m) { return length_m * 1000.0 / s->plan.scale; }

/* The floor is shown, unless all of it hangs high. */
static double bottom_m(const struct front *f)
{
    double low = f->h_m;
    for (uint32_t i = 0; i < f->stands.n; i++)
        if (f->stands.v[i].fits)
            low = fmin(low, f->stands.v[i].z_m);
    return f->cabinet == NO_REF && low > 1.9 ? floor(low * 10.0) / 10.0 - 0.1 : 0.0;
}

static bool fits_inside(struct sheet *s, const struct stand *t)
{
    const struct text_size size = pen_measure(&s->pen, TEXT_THING, stand_words(s, t));
    return t->kind == STAND_SHELF || (size.w_mm + 2.0 * PAD_MM <= mm(s, t->w_m) && size.h_mm + 0.6 <= mm(s, t->h_m));
}

static bool needs_names(struct sheet *s, const struct front *f)
{
    for (uint32_t i = 0; i < f->stands.n; i++)
        if (f->stands.v[i].fits && !fits_inside(s, &f->stands.v[i]))
            return true;
    return false;
}

static struct text_block words_of(struct sheet *s, const struct front *f)
{
    struct text_block b = { .s = s, .w_mm = COLUMN_MM };
    cabinet_write(&b, f);
    return b;
}

/* Where the columns of words begin. */
static double words_x_mm(struct sheet *s, const struct front *f)
{
    return LEFT_MM + RULE_MM + mm(s, f->w_m) + (needs_names(s, f) ? NAMES_MM : 10.0);
}

static bool page_fits(struct sheet *s, const struct front *f, const struct text_block *words)
{
    const double room_mm = s->h_mm - TOP_MM - FOOT_MM;
    const double n_columns =
        floor((s->w_mm - LEFT_MM + COLUMN_APART_MM - words_x_mm(s, f)) / (COLUMN_MM + COLUMN_APART_MM));
    return mm(s, f->h_m - bottom_m(f)) + UNDER_MM <= room_mm && n_columns >= 1.0 &&
           text_block_mm(words) + (n_columns - 1.0) * 8.0 <= n_columns * room_mm;
}

/* The largest of these scales, on the smaller paper if that will do.  Source: ISO 5455. */
void cabinet_page_lay_out(struct sheet *s)
{
    static const double SCALES[] = { 5, 10, 20, 50 };
    const struct front *f = front_of(s);
    const struct text_block words = words_of(s, f);
    for (size_t i = 0; i < RT_COUNT(SCALES); i++)
        for (uint32_t paper = 0; paper < 2; paper++) {
            sheet_take_paper(s, paper);
            s->plan.scale = SCALES[i];
            if (page_fits(s, f, &words))
                return;
        }
}

/* ---- lines ---- */

static struct draw_box box_of(const struct cabinet_sheet *c, double x_m, double z_m, double w_m, double h_m)
{
    const double h = mm(c->s, h_m);
    return (struct draw_box){ c->x_mm + mm(c->s, x_m), c->y_mm - mm(c->s, z_m - c->z_m) - h, mm(c->s, w_m), h };
}

static void outline(struct pen *pen, struct draw_box box, double width_mm, bool is_dashed)
{
    pen_ink(pen, INK_LINE);
    if (is_dashed)
        pen_dashes(pen, 1.3, 0.8);
    pen_path_box(pen, box);
    cairo_set_line_width(pen->cr, width_mm);
    cairo_stroke(pen->cr);
    pen_dashes(pen, 0, 0);
}

static void put_middle(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm)
{
    const struct text_size size = pen_measure(&s->pen, style, text);
    sheet_put(s, style, ink, text, x_mm - size.w_mm / 2.0, y_mm - size.h_mm / 2.0);
}

/* A line with ticks at its ends, and how long it is. */
static void dimension(struct cabinet_sheet *c, struct vec2 a, struct vec2 b, double length_m)
{
    struct pen *pen = &c->s->pen;
    const bool is_upright = fabs(b.x - a.x) < 1e-9;
    const struct vec2 tick = is_upright ? (struct vec2){ 1.0, 0.0 } : (struct vec2){ 0.0, 1.0 };
    pen_ink(pen, INK_LINE);
    pen_line(pen, a, b, 0.18);
    pen_line(pen, vec2_sub(a, tick), vec2_add(a, tick), 0.25);
    pen_line(pen, vec2_sub(b, tick), vec2_add(b, tick), 0.25);
    const struct str figure = sheet_text(c->s, "%.2f m", length_m);
    const struct text_size size = pen_measure(pen, TEXT_FIGURE, figure);
    if (is_upright)
        sheet_put(c->s, TEXT_FIGURE, INK_LINE, figure, a.x - size.w_mm - 1.5, (a.y + b.y - size.h_mm) / 2.0);
    else
        sheet_put(c->s, TEXT_FIGURE, INK_LINE, figure, (a.x + b.x - size.w_mm) / 2.0, a.y + 1.0);
}

/* ---- the cabinet, the wall ---- */

static bool is_taken(const struct front *f, unsigned unit)
{
    for (uint32_t i = 0; i < f->stands.n; i++) {
        const struct stand *t = &f->stands.v[i];
        if (t->fits && t->unit && unit >= t->unit && unit < t->unit + t->units)
            return true;
    }
    return false;
}

static void draw_rack(struct cabinet_sheet *c)
{
    const struct front *f = c->f;
    struct sheet *s = c->s;
    const double x_m = (f->w_m - RACK_WIDTH_M) / 2.0;
    const struct draw_box rack = box_of(c, x_m, f->rack_z_m, RACK_WIDTH_M, f->rack_units * RACK_UNIT_M);
    outline(&s->pen, rack, 0.2, false);
    for (unsigned u = 1; u <= f->rack_units; u++) {
        const struct draw_box unit = box_of(c, x_m, f->rack_z_m + (u - 1) * RACK_UNIT_M, RACK_WIDTH_M, RACK_UNIT_M);
        put_middle(s, TEXT_FIGURE, INK_LINE, sheet_text(s, "%u", u), (c->x_mm + rack.x_mm) / 2.0,
                   unit.y_mm + unit.h_mm / 2.0);
        pen_ink(&s->pen, INK_HAIR);
        pen_line(&s->pen, (struct vec2){ rack.x_mm, unit.y_mm }, (struct vec2){ rack.x_mm + rack.w_mm, unit.y_mm },
                 0.2);
        if (!is_taken(f, u))
            put_middle(s, TEXT_THING, INK_SOFT, STR("free"), unit.x_mm + unit.w_mm / 2.0, unit.y_mm + unit.h_mm / 2.0);
    }
}

static void draw_cabinet(struct cabinet_sheet *c)
{
    const struct front *f = c->f;
    const struct draw_box box = box_of(c, 0.0, 0.0, f->w_m, f->h_m);
    outline(&c->s->pen, box, 0.6, !f->is_size_known);
    if (f->rack_units)
        draw_rack(c);
    dimension(c, (struct vec2){ box.x_mm, c->y_mm + 3.5 }, (struct vec2){ box.x_mm + box.w_mm, c->y_mm + 3.5 }, f->w_m);
    dimension(c, (struct vec2){ box.x_mm - 3.5, c->y_mm }, (struct vec2){ box.x_mm - 3.5, box.y_mm }, f->h_m);
}

/* Heights above the floor at the left, the floor with its hatch below. */
static void draw_wall(struct cabinet_sheet *c)
{
    struct pen *pen = &c->s->pen;
    const double right = c->x_mm + mm(c->s, c->f->w_m), x = c->x_mm - 3.5;
    const double top = c->y_mm - mm(c->s, c->f->h_m - c->z_m);
    pen_ink(pen, INK_LINE);
    pen_line(pen, (struct vec2){ x, c->y_mm }, (struct vec2){ x, top }, 0.18);
    const double step_m = c->s->plan.scale <= 5.0 ? 0.1 : c->s->plan.scale <= 10.0 ? 0.25 : 0.5;
    for (int i = (int)ceil(c->z_m / step_m - 1e-9); i * step_m <= c->f->h_m + 1e-9; i++) {
        const double z = i * step_m;
        const double y = c->y_mm - mm(c->s, z - c->z_m);
        pen_ink(pen, INK_LINE);
        pen_line(pen, (struct vec2){ x - 1.0, y }, (struct vec2){ x + 1.0, y }, 0.25);
        const struct str figure = sheet_text(c->s, step_m < 0.2 ? "%.1f m" : "%.2f m", z);
        const struct text_size size = pen_measure(pen, TEXT_FIGURE, figure);
        sheet_put(c->s, TEXT_FIGURE, INK_LINE, figure, x - size.w_mm - 1.8, y - size.h_mm / 2.0);
    }
    if (c->z_m > 0.0)
        return;
    pen_line(pen, (struct vec2){ x, c->y_mm }, (struct vec2){ right, c->y_mm }, 0.6);
    for (double at = x; at < right; at += 2.0)
        pen_line(pen, (struct vec2){ at, c->y_mm + 2.0 }, (struct vec2){ fmin(right, at + 2.0), c->y_mm }, 0.15);
    sheet_put(c->s, TEXT_FIGURE, INK_LINE, STR("floor"), c->x_mm, c->y_mm + 3.0);
}

/* ---- things ---- */

static void draw_sockets(struct cabinet_sheet *c, struct draw_box box, uint32_t n)
{
    struct pen *pen = &c->s->pen;
    const double step = (box.w_mm - 2.0) / fmax(n, 1.0), side = fmin(step * 0.6, box.h_mm * 0.3);
    for (uint32_t i = 0; i < n; i++)
        outline(pen,
                (struct draw_box){ box.x_mm + 1.0 + step * (i + 0.5) - side / 2.0,
                                   box.y_mm + box.h_mm - side - box.h_mm * 0.12, side, side },
                0.15, false);
}

static void write_inside(struct cabinet_sheet *c, const struct stand *t, struct draw_box box, bool has_sockets)
{
    struct sheet *s = c->s;
    const struct str name = stand_words(s, t), part = stand_part_words(s, t);
    const bool is_own = t->kind == STAND_PATCH || t->kind == STAND_STRIP;
    enum text_style style = is_own ? TEXT_THING : TEXT_TAG;
    struct text_size size = pen_measure(&s->pen, style, name);
    if (size.h_mm + 0.6 > box.h_mm || size.w_mm + 2.0 * PAD_MM > box.w_mm) {
        style = TEXT_THING;
        size = pen_measure(&s->pen, style, name);
    }
    const double y = has_sockets ? box.y_mm + 0.6 : box.y_mm + (box.h_mm - size.h_mm) / 2.0;
    const double end = sheet_put(s, style, INK_LINE, name, box.x_mm + PAD_MM, y);
    const struct text_size more = pen_measure(&s->pen, TEXT_THING, part);
    if (part.n && end + 3.0 + more.w_mm + PAD_MM <= box.x_mm + box.w_mm && more.h_mm + 0.6 <= box.h_mm)
        sheet_put(s, TEXT_THING, INK_SOFT, part, box.x_mm + box.w_mm - PAD_MM - more.w_mm,
                  y + size.base_mm - more.base_mm);
}

/* At the right, each as high as its thing or as much lower as those above it ask for. */
static void write_beside(struct cabinet_sheet *c, const struct stand *t, struct draw_box box)
{
    struct sheet *s = c->s;
    const double x = c->x_mm + mm(s, c->f->w_m) + 8.0;
    struct text_block b = { .s = s, .w_mm = NAMES_MM - 9.0 };
    text_block_add(&b, TEXT_CELL_B, INK_LINE, stand_words(s, t));
    const double high = text_block_mm(&b), mid = box.y_mm + box.h_mm / 2.0;
    const double y = fmax(c->name_y_mm, mid - high / 2.0);
    pen_ink(&s->pen, INK_LINE);
    const struct vec2 from = { box.x_mm + box.w_mm, mid }, elbow = { x - 4.0, y + high / 2.0 };
    pen_line(&s->pen, from, elbow, 0.15);
    pen_line(&s->pen, elbow, (struct vec2){ x - 1.0, elbow.y }, 0.15);
    text_block_put(&b, x, y);
    c->name_y_mm = y + high + 0.8;
}

static void draw_stand(struct cabinet_sheet *c, const struct stand *t)
{
    struct sheet *s = c->s;
    const struct draw_box box = box_of(c, t->x_m, t->z_m, t->w_m, t->h_m);
    if (!t->fits)
        return;
    pen_ink(&s->pen, t->kind == STAND_SHELF ? INK_HAIR : INK_SHEET);
    pen_path_box(&s->pen, box);
    cairo_fill(s->pen.cr);
    outline(&s->pen, box, t->kind == STAND_SHELF ? 0.2 : 0.35, !t->is_given && t->kind != STAND_SHELF);
    if (t->kind == STAND_SHELF)
        return;
    const bool has_sockets = t->kind == STAND_PATCH && box.h_mm > 4.0;
    if (has_sockets) {
        const uint32_t n = c->f->patched.n;
        draw_sockets(c, box, c->f->cabinet == NO_REF && n < 24 ? n : 24);
    }
    if (fits_inside(s, t))
        write_inside(c, t, box, has_sockets);
    else
        write_beside(c, t, box);
}

/* ---- the sheet ---- */

/* Columns of words, a heading kept with what follows it. */
static void write_words(struct cabinet_sheet *c)
{
    struct sheet *s = c->s;
    const double bottom = s->h_mm - FOOT_MM;
    double x = words_x_mm(s, c->f), y = TOP_MM;
    for (uint32_t i = 0; i < c->words.lines.n; i++) {
        const struct text_line *l = &c->words.lines.v[i];
        const double keep = l->style == TEXT_NOTE_HEAD ? 2.5 * l->h_mm : l->h_mm;
        if (y + keep > bottom) {
            x += COLUMN_MM + COLUMN_APART_MM;
            y = TOP_MM;
        }
        if (l->text.n)
            sheet_put(s, l->style, l->ink, l->text, x, y);
        if (l->text.n || y > TOP_MM) /* no gap at the head of a column */
            y += l->h_mm;
    }
}

static void write_key(struct sheet *s, const struct front *f)
{
    double x = LEFT_MM, y = s->h_mm - 30.0;
    outline(&s->pen, (struct draw_box){ x, y, 6.0, 2.6 }, 0.35, false);
    x = sheet_put(s, TEXT_KEY, INK_LINE, STR("place of the house file"), x + 7.5, y - 0.1) + 6.0;
    outline(&s->pen, (struct draw_box){ x, y, 6.0, 2.6 }, 0.35, true);
    sheet_put(s, TEXT_KEY, INK_LINE, STR("place chosen by us"), x + 7.5, y - 0.1);
    if (f->cabinet != NO_REF)
        sheet_put(s, TEXT_KEY, INK_SOFT,
                  STR("The battery low, the sockets by the switch, the gateway on top; `unit` of the equipment says "
                      "otherwise."),
                  LEFT_MM, y + 4.5);
    else
        sheet_put(s, TEXT_KEY, INK_SOFT,
                  STR("As one sees it who stands before it. A place in the file is a thing's middle."), LEFT_MM,
                  y + 4.5);
    sheet_put(s, TEXT_KEY, INK_SOFT,
              STR("Sockets and power strip are no part of the bill, unless the house file has them."), LEFT_MM,
              y + 8.1);
}

static struct str title_of(struct sheet *s, const struct front *f)
{
    const struct cable_end here = { .equipment = f->cabinet, .device = NO_REF };
    if (f->cabinet != NO_REF) {
        const struct str room = end_label_room(s->house, &here), name = equipment_words(s->house, f->cabinet);
        return s->house->equipment.v[f->cabinet].says.n || !room.n
                   ? name
                   : sheet_text(s, "%.*s, %.*s", STR_ARG(name), STR_ARG(room));
    }
    if (f->room != NO_REF)
        return house_room_name(s->house, f->room);
    const struct floor *floor = &s->house->floors.v[f->floor];
    return floor->says.n ? floor->says : floor->id;
}

static struct str soft_of(struct sheet *s, const struct front *f)
{
    struct buf b = { .arena = s->arena };
    if (f->cabinet == NO_REF)
        return STR("A wall with things of the network; heights above the floor.");
    if (is_given(f->foot_m) && f->foot_m >= 0.005)
        buf_printf(&b, "Lower edge %.2f m above the floor, ", f->foot_m);
    buf_printf(&b, "%s%.2f m deep", b.n ? "" : "It is ", f->d_m);
    buf_text(&b, f->is_size_known ? "." : "; its size is not given in full and is taken as usual.");
    s->failed |= b.failed;
    return b.failed ? STR("") : buf_done(&b);
}

void cabinet_page_paint(struct sheet *s)
{
    struct cabinet_sheet c = { .s = s, .f = front_of(s), .x_mm = LEFT_MM + RULE_MM, .name_y_mm = TOP_MM };
    c.z_m = bottom_m(c.f);
    c.words = words_of(s, c.f);
    c.y_mm = TOP_MM + mm(s, c.f->h_m - c.z_m);
    sheet_begin(s);
    if (c.f->cabinet == NO_REF)
        draw_wall(&c);
    else
        draw_cabinet(&c);
    for (int shelves = 1; shelves >= 0; shelves--)
        for (uint32_t i = 0; i < c.f->stands.n; i++)
            if ((c.f->stands.v[i].kind == STAND_SHELF) == (shelves == 1))
                draw_stand(&c, &c.f->stands.v[i]);
    write_words(&c);
    write_key(s, c.f);
    const struct sheet_words words = { .title = title_of(s, c.f),
                                       .head = c.f->cabinet == NO_REF ? STR("What hangs on the wall")
                                                                      : STR("The front of the cabinet"),
                                       .soft = soft_of(s, c.f),
                                       .drawing = c.f->cabinet == NO_REF ? STR("wall") : STR("cabinet"),
                                       .height = c.f->floor == NO_REF ? STR("") : s->house->floors.v[c.f->floor].id };
    sheet_finish(s, &words, NULL);
}
