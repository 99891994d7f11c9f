/* Beside the plan of a floor: what its numbers mean.  What does not fit is on the sheets of the whole house, and that is said. */
#include <math.h>

#include "base/units.h"
#include "draw/cable_floor.h"
#include "house/polygon.h"

#define TOP_MM 14.0
#define FOOT_MM 40.0
#define SECTION_MM 3.0

static const struct table_column RISES[] = { { "up and down", 10, true }, { "", 86, false } };
static const struct table_column BUNDLES[] = { { "together", 10, true }, { "", 86, false } };
static const struct table_column TRENCHES[] = { { "in the ground", 10, true }, { "", 86, false } };
static const struct table_column CABLES[] = { { "cable", 28, true },
                                              { "from, to", 56, false },
                                              { "cut, m", 12, false } };
static const struct table_column HOLES[] = { { "hole", 9, true },
                                             { "where: from the face of the wall, m", 74, false },
                                             { "bit, mm", 13, false } };
static const struct table_column BOARDS[] = { { "board", 9, true }, { "where it is lifted", 87, false } };

struct side {
    struct cable_floor *c;
    double y_mm, bottom_mm;
    bool is_full;
    const char *rest; /* where the rest is */
};

static struct str done(struct sheet *s, const struct buf *b)
{
    s->failed |= b->failed;
    return b->failed ? (struct str){ 0 } : buf_done(b);
}

static void row(struct side *d, const struct sheet_table *t, struct str *cells)
{
    struct sheet *s = d->c->s;
    const table_row r = { cells, t->n_columns };
    if (d->is_full || d->y_mm + table_row_mm(s, t, &r) > d->bottom_mm) {
        d->is_full = true;
        return;
    }
    table_draw_row(s, t, &r, &d->y_mm);
}

/* Is there room for its head and a row or two? */
static bool begin(struct side *d, const struct sheet_table *t)
{
    struct sheet *s = d->c->s;
    if (d->is_full || d->y_mm + SECTION_MM + table_head_mm(s) + 8.0 > d->bottom_mm) {
        d->is_full = true;
        return false;
    }
    d->y_mm += SECTION_MM;
    table_draw_head(s, t, &d->y_mm);
    return true;
}

/* The widest column gives what this sheet's side has less. */
static struct sheet_table table_of(const struct cable_floor *c, const struct table_column *columns, uint32_t n)
{
    struct table_column *own = ARENA_ARRAY(c->s->arena, struct table_column, n);
    struct sheet_table t = { columns, n, c->right_mm + 2.0, 0.35 };
    uint32_t widest = 0;
    for (uint32_t i = 0; own && i < n; i++) {
        own[i] = columns[i];
        widest = own[i].w_mm > own[widest].w_mm ? i : widest;
    }
    c->s->failed |= !own;
    if (own) {
        own[widest].w_mm -= table_width_mm(&t) - cable_side_mm(c->s);
        t.columns = own;
    }
    return t;
}

/* ---- up and down ---- */

struct str cable_rise_leads(struct sheet *s, const struct install_rise *r)
{
    const struct house *h = s->house;
    const struct floor *here = &h->floors.v[s->plan.floor];
    struct buf b = { .arena = s->arena };
    for (int up = 1; up >= 0; up--) {
        bool any = false;
        for (uint32_t i = 0; i < h->floors.n; i++) {
            const struct floor *f = &h->floors.v[i];
            if (i == s->plan.floor || f->open_air || !polygon_contains_within(f->outline, r->at_m, 0.25))
                continue;
            const bool is_led = up ? f->level_m > here->level_m + 0.5 && r->high_m > f->level_m - 0.5
                                   : f->level_m < here->level_m - 0.5 && r->low_m < f->level_m + f->height_m + 0.02;
            if (!is_led)
                continue;
            buf_printf(&b, "%s%s%.*s", b.n ? (any ? ", " : "; ") : "",
                       any  ? ""
                       : up ? "up: "
                            : "down: ",
                       STR_ARG(f->id));
            any = true;
        }
    }
    return done(s, &b);
}

/* Each cable with its own heights above this floor. */
static struct str rise_words(struct cable_floor *c, uint32_t rise)
{
    struct sheet *s = c->s;
    const struct house *h = s->house;
    const struct install_rise *r = &c->in->rises.v[rise];
    const double level_m = h->floors.v[s->plan.floor].level_m;
    struct buf b = { .arena = s->arena };
    buf_str(&b, cable_rise_leads(s, r));
    bool *told = ARENA_ARRAY(s->arena, bool, r->pieces.n);
    if (!told) {
        s->failed = true;
        return (struct str){ 0 };
    }
    for (uint32_t i = 0; i < r->pieces.n; i++) {
        const struct install_piece *p = &r->pieces.v[i];
        if (told[i])
            continue;
        buf_printf(&b, "%s%+.2f to %+.2f:", b.n ? "\n" : "", p->low_m - level_m, p->high_m - level_m);
        for (uint32_t k = i; k < r->pieces.n; k++) {
            const struct install_piece *q = &r->pieces.v[k];
            if (told[k] || fabs(q->low_m - p->low_m) > 0.02 || fabs(q->high_m - p->high_m) > 0.02)
                continue;
            told[k] = true;
            buf_printf(&b, " %.*s", STR_ARG(h->cables.v[q->cable].id));
        }
    }
    return done(s, &b);
}

static void write_rises(struct side *d)
{
    struct cable_floor *c = d->c;
    const struct sheet_table t = table_of(c, RISES, RT_COUNT(RISES));
    if (!c->n_rises || !begin(d, &t))
        return;
    for (uint32_t i = 0; i < c->in->rises.n; i++) {
        if (!cable_rise_is_here(c->s->house, &c->in->rises.v[i], c->s->plan.floor))
            continue;
        struct buf mark = { .arena = c->s->arena };
        buf_printf(&mark, "R%u", i + 1);
        struct str cells[2] = { done(c->s, &mark), rise_words(c, i) };
        row(d, &t, cells);
    }
}

static void write_bundles(struct side *d)
{
    struct cable_floor *c = d->c;
    const struct sheet_table t = table_of(c, BUNDLES, RT_COUNT(BUNDLES));
    if (!c->bundles.n || !begin(d, &t))
        return;
    for (uint32_t i = 0; i < c->bundles.n; i++) {
        struct buf mark = { .arena = c->s->arena }, names = { .arena = c->s->arena };
        buf_printf(&mark, "K%u", i + 1);
        for (uint32_t k = 0; k < c->s->house->cables.n; k++)
            if (c->bundles.v[i]->has[k])
                buf_printf(&names, "%s%.*s", names.n ? ", " : "", STR_ARG(c->s->house->cables.v[k].id));
        struct str cells[2] = { done(c->s, &mark), done(c->s, &names) };
        row(d, &t, cells);
    }
}

/* ---- cables, holes, boards ---- */

static void write_cables(struct side *d)
{
    struct cable_floor *c = d->c;
    struct sheet *s = c->s;
    const struct sheet_table t = table_of(c, CABLES, RT_COUNT(CABLES));
    if (!begin(d, &t))
        return;
    for (uint32_t k = 0; k < s->house->cables.n; k++) {
        const struct cable *of = &s->house->cables.v[k];
        const double cut_m = c->in->plan->cables[k].fixed_m;
        struct buf way = { .arena = s->arena }, cut = { .arena = s->arena };
        if (!c->is_here[k])
            continue;
        buf_printf(&way, "%.*s, %.*s", STR_ARG(of->from.what), STR_ARG(of->to.what));
        buf_printf(&cut, is_given(cut_m) ? "%.1f" : "?", cut_m);
        struct str cells[3] = { of->id, done(s, &way), done(s, &cut) };
        row(d, &t, cells);
    }
}

static void write_work(struct side *d, enum opening_work kind)
{
    struct cable_floor *c = d->c;
    struct sheet *s = c->s;
    const struct sheet_table t =
        kind == WORK_HOLE ? table_of(c, HOLES, RT_COUNT(HOLES)) : table_of(c, BOARDS, RT_COUNT(BOARDS));
    if (!c->n_work[kind] || !begin(d, &t))
        return;
    for (uint32_t i = 0; i < c->in->plan->work.n; i++) {
        const struct cable_work *w = &c->in->plan->work.v[i];
        struct buf bit = { .arena = s->arena };
        if (w->floor != s->plan.floor || w->kind != kind)
            continue;
        buf_printf(&bit, "%s%.0f", c->in->work[i].is_diameter_sure ? "" : "~", c->in->work[i].diameter_mm);
        struct str cells[3] = { install_work_mark(s->arena, c->in, i), install_place_words(s->arena, c->in, i),
                                done(s, &bit) };
        row(d, &t, cells);
    }
}

static void write_line(struct side *d, const char *words, struct str list)
{
    struct sheet *s = d->c->s;
    struct buf b = { .arena = s->arena };
    struct str *lines = NULL;
    uint32_t n = 0;
    buf_printf(&b, "%s%.*s", words, STR_ARG(list));
    sheet_wrap(s, TEXT_CELL, done(s, &b), cable_side_mm(d->c->s) - 2.0, &lines, &n);
    d->y_mm += 1.0;
    for (uint32_t i = 0; i < n; i++) {
        const struct text_size size = pen_measure(&s->pen, TEXT_CELL, lines[i]);
        pen_text(&s->pen, TEXT_CELL, lines[i], d->c->right_mm + 2.0, d->y_mm);
        label_take(&s->space, lines[i],
                   (struct draw_box){ d->c->right_mm + 2.0, d->y_mm, size.w_mm, size.h_mm - 0.01 });
        d->y_mm += size.h_mm;
    }
}

/* Only on open ground, where they are dug. */
static void write_trenches(struct side *d)
{
    struct cable_floor *c = d->c;
    const struct sheet_table t = table_of(c, TRENCHES, RT_COUNT(TRENCHES));
    bool any = false;
    for (uint32_t i = 0; i < c->in->trenches.n; i++) {
        bool is_here = false;
        for (uint32_t k = 0; k < c->stretches.n; k++)
            is_here |= c->stretches.v[k].run == c->in->trenches.v[i];
        if (!is_here || !c->s->house->floors.v[c->s->plan.floor].open_air || (!any && !begin(d, &t)))
            continue;
        any = true;
        struct buf mark = { .arena = c->s->arena };
        buf_printf(&mark, "T%u", i + 1);
        struct str cells[2] = { done(c->s, &mark), cable_trench_words(c->s, c->in, i) };
        row(d, &t, cells);
    }
}

void cable_side_write(struct cable_floor *c)
{
    struct side d = { .c = c, .y_mm = TOP_MM, .bottom_mm = c->s->h_mm - FOOT_MM };
    write_rises(&d);
    write_trenches(&d);
    write_bundles(&d);
    const bool is_alone = !sheet_is_small(c->s);
    if (is_alone) { /* in a book they are told in the text */
        write_work(&d, WORK_HOLE);
        write_cables(&d);
        write_work(&d, WORK_BOARD);
    }
    struct buf short_ones = { .arena = c->s->arena };
    for (uint32_t k = 0; k < c->s->house->cables.n; k++)
        if (c->is_here[k] && !c->is_named[k]) {
            buf_text(&short_ones, short_ones.n ? ", " : "");
            buf_str(&short_ones, c->s->house->cables.v[k].id);
        }
    if (short_ones.n && !short_ones.failed)
        write_line(&d, "only up and down here, or too short to draw: ", buf_done(&short_ones));
    if (c->unplaced.n && !c->unplaced.failed)
        write_line(&d, "no room on the plan for these names: ", buf_done(&c->unplaced));
    if (d.is_full)
        write_line(&d,
                   is_alone ? "the rest of these lists is on the sheets 'Cable schedule' and 'Holes and boards'"
                            : "the rest of these lists is in the cable schedule",
                   STR(""));
}
