/* Cables on the plan of a floor: each stretch once, with the names of all that lie in it; holes, boards and ways up and down with
 * their numbers; both ends of every cable; and what they mean, beneath the plan (cable_signs.c) and beside it (cable_side.c). */
#include "draw/cable_sheet.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/cable_signs.h"
#include "house/polygon.h"

#define FAR_MM 34.0     /* a name stands no further off than this */
#define LEADER_MM 2.2   /* further off than this it has a leader */
#define SHORT_MM 5.0    /* a stretch this short is named only if its cables are not named elsewhere */
#define BESIDE_M 0.25   /* of the floor, shown round its plan */
#define SAME_END_M 0.25 /* things this near are named together */
#define NAMES_MOST 5    /* in one label; more are told in the table beside the plan */

static double top_m(const struct floor *f) { return f->level_m + f->height_m; }

/* An upright leg that leaves the storey; a drop within it does not. */
static bool leaves(const struct house *h, const struct cable_leg *l, uint32_t floor)
{
    const struct floor *f = &h->floors.v[floor];
    const double lo = fmin(l->from_m.z, l->to_m.z), hi = fmax(l->from_m.z, l->to_m.z);
    if (!cable_leg_is_upright(l) || (l->floor != NO_REF && l->floor != floor) ||
        !polygon_contains(f->outline, (struct vec2){ l->from_m.x, l->from_m.y }))
        return false;
    return (hi > top_m(f) - 0.02 && lo < top_m(f) - 0.02) || (lo < f->level_m + 0.02 && hi > f->level_m + 0.02);
}

bool cable_sheet_has(const struct cable_plan *plan, uint32_t floor)
{
    for (uint32_t c = 0; c < plan->h->cables.n; c++)
        for (uint32_t i = 0; i < plan->cables[c].legs.n; i++) {
            const struct cable_leg *l = &plan->cables[c].legs.v[i];
            if (cable_leg_shows(plan->h, l, floor) || leaves(plan->h, l, floor))
                return true;
        }
    return false;
}

/* ---- what is here ---- */

bool cable_rise_is_here(const struct house *h, const struct install_rise *r, uint32_t floor)
{
    const struct floor *f = &h->floors.v[floor];
    if (!polygon_contains_within(f->outline, r->at_m, f->open_air ? 0.02 : BESIDE_M))
        return false;
    if (f->open_air) /* on the outside of a wall, or in the ground */
        return r->floor == floor;
    return r->high_m > f->level_m - 0.6 && r->low_m < top_m(f) + 0.02;
}

static bool gather(struct cable_floor *c)
{
    struct sheet *s = c->s;
    const uint32_t floor = s->plan.floor, n = s->house->cables.n;
    c->in = install_make(s->arena, s->options->cables);
    c->is_here = ARENA_ARRAY(s->arena, bool, n);
    c->is_named = ARENA_ARRAY(s->arena, bool, n);
    if (!c->in || !c->is_here || !c->is_named || !cable_stretches(s->arena, c->in->plan, floor, &c->stretches))
        return false;
    for (uint32_t k = 0; k < n; k++)
        for (uint32_t i = 0; i < c->in->plan->cables[k].legs.n; i++) {
            const struct cable_leg *l = &c->in->plan->cables[k].legs.v[i];
            c->is_here[k] |= cable_leg_shows(s->house, l, floor) || leaves(s->house, l, floor);
        }
    return true;
}

/* ---- stretches ---- */

/* What passes beyond the plan ends at its edge. */
static void draw_stretches(struct cable_floor *c)
{
    struct sheet *s = c->s;
    const struct vec2 lo = { s->plan.lo.x - BESIDE_M, s->plan.lo.y - BESIDE_M };
    const struct vec2 hi = { s->plan.hi.x + BESIDE_M, s->plan.hi.y + BESIDE_M };
    const struct vec2 a = plan_at(&s->plan, lo), b = plan_at(&s->plan, hi);
    cairo_save(s->pen.cr);
    pen_path_box(&s->pen, (struct draw_box){ fmin(a.x, b.x), fmin(a.y, b.y), fabs(b.x - a.x), fabs(b.y - a.y) });
    cairo_clip(s->pen.cr);
    for (uint32_t i = 0; i < c->stretches.n; i++) {
        const struct stretch *t = &c->stretches.v[i];
        cable_sign_stretch(&s->pen, &s->plan, t);
        label_block_strip(&s->space, plan_at(&s->plan, t->a), plan_at(&s->plan, t->b), CABLE_LINE_MM / 2.0);
    }
    cairo_restore(s->pen.cr);
}

static void block(struct cable_floor *c, struct vec2 at, double half_mm)
{
    label_block_box(&c->s->space, (struct draw_box){ at.x - half_mm, at.y - half_mm, 2 * half_mm, 2 * half_mm });
}

static struct vec2 on_paper(const struct cable_floor *c, struct vec2 at_m) { return plan_at(&c->s->plan, at_m); }

/* ---- names: lines one under the other, near their mark, with a leader if need be ---- */

struct tag {
    struct str lines[NAMES_MOST + 2];
    uint32_t n;
    enum text_style style;
};

/* From the mark to the nearest point of the text. */
static void leader_line(struct vec2 at, struct draw_box box, double reach_mm, struct vec2 line[2])
{
    const struct vec2 to = { fmin(fmax(at.x, box.x_mm), box.x_mm + box.w_mm),
                             fmin(fmax(at.y, box.y_mm), box.y_mm + box.h_mm) };
    const struct vec2 d = vec2_sub(to, at);
    line[0] = vec2_add(at, vec2_scale(d, fmin(1.0, reach_mm / fmax(reach_mm, vec2_len(d)))));
    line[1] = to;
}

static void draw_leader(struct sheet *s, const struct vec2 line[2])
{
    struct pen *pen = &s->pen;
    pen_path(pen, line, 2, false);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, 0.6);
    cairo_stroke_preserve(pen->cr);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, 0.18);
    cairo_stroke(pen->cr);
    label_block_strip(&s->space, line[0], line[1], 0.1);
}

static struct text_size size_of_tag(struct pen *pen, const struct tag *t)
{
    struct text_size all = { 0 };
    for (uint32_t i = 0; i < t->n; i++) {
        const struct text_size size = pen_measure(pen, t->style, t->lines[i]);
        all.w_mm = fmax(all.w_mm, size.w_mm);
        all.h_mm += size.h_mm;
    }
    return all;
}

static void write_tag(struct sheet *s, const struct tag *t, struct draw_box box)
{
    for (int twice = 0; twice < 2; twice++) { /* all halos first, or one line's would eat the feet of that above */
        double y_mm = box.y_mm;
        for (uint32_t i = 0; i < t->n; i++) {
            const struct text_size size = pen_measure(&s->pen, t->style, t->lines[i]);
            pen_text(&s->pen, t->style, t->lines[i], box.x_mm, y_mm);
            if (twice)
                label_take(&s->space, t->lines[i], (struct draw_box){ box.x_mm, y_mm, size.w_mm, size.h_mm - 0.01 });
            y_mm += size.h_mm;
        }
    }
}

/* Beside one of the points (the first is liked best), its leader clear of texts unless it may cross them; false: there is no
 * room. */
static bool name_near(struct cable_floor *c, const struct tag *t, const struct vec2 *at, uint32_t n, double reach_mm,
                      bool may_cross)
{
    struct sheet *s = c->s;
    const struct text_size size = size_of_tag(&s->pen, t);
    for (double away_mm = 0.0; away_mm <= FAR_MM; away_mm += away_mm < 4.0 ? 0.7 : 1.5)
        for (uint32_t i = 0; i < n; i++) {
            struct draw_box box;
            struct vec2 line[2];
            if (!label_fit_beside(&s->space, at[i], reach_mm + away_mm, size.w_mm, size.h_mm, 0.3, &box) ||
                box.x_mm < c->room.x_mm || box.y_mm < c->room.y_mm ||
                box.x_mm + box.w_mm > c->room.x_mm + c->room.w_mm || box.y_mm + box.h_mm > c->room.y_mm + c->room.h_mm)
                continue;
            leader_line(at[i], box, reach_mm, line);
            const bool is_far = vec2_len(vec2_sub(line[1], line[0])) > LEADER_MM;
            if (is_far && !may_cross && !label_line_is_free(&s->space, line[0], line[1]))
                continue;
            if (is_far)
                draw_leader(s, line);
            write_tag(s, t, box);
            return true;
        }
    return false;
}

static void must_name(struct cable_floor *c, const struct tag *t, struct vec2 at, double reach_mm)
{
    struct tag brief = *t; /* the rest of a number's words stands beside the plan too */
    brief.n = t->style == TEXT_FIGURE_B ? 1 : t->n;
    if (name_near(c, t, &at, 1, reach_mm, false) || name_near(c, &brief, &at, 1, reach_mm, false) ||
        name_near(c, &brief, &at, 1, reach_mm, true))
        return;
    struct buf *rest = &c->unplaced;
    for (uint32_t i = 0; i < t->n; i++) {
        buf_text(rest, rest->n ? ", " : "");
        buf_str(rest, t->lines[i]);
    }
}

/* ---- work, ways up and down, ends ---- */

static void draw_work(struct cable_floor *c)
{
    for (int holes = 0; holes < 2; holes++) /* holes are smaller: over the boards */
        for (uint32_t i = 0; i < c->in->plan->work.n; i++) {
            const struct cable_work *w = &c->in->plan->work.v[i];
            const struct vec2 at = on_paper(c, (struct vec2){ w->at_m.x, w->at_m.y });
            if (w->floor != c->s->plan.floor || (w->kind == WORK_HOLE) != (holes == 1))
                continue;
            if (w->kind == WORK_HOLE)
                cable_sign_hole(&c->s->pen, at);
            else
                cable_sign_board(&c->s->pen, at);
            c->n_work[w->kind]++;
            block(c, at, w->kind == WORK_HOLE ? CABLE_HOLE_MM : CABLE_BOARD_MM);
        }
}

static void name_work(struct cable_floor *c)
{
    for (uint32_t i = 0; i < c->in->plan->work.n; i++) {
        const struct cable_work *w = &c->in->plan->work.v[i];
        if (w->floor != c->s->plan.floor)
            continue;
        const struct tag t = { { install_work_mark(c->s->arena, c->in, i) }, 1, TEXT_FIGURE_B };
        must_name(c, &t, on_paper(c, (struct vec2){ w->at_m.x, w->at_m.y }),
                  (w->kind == WORK_HOLE ? CABLE_HOLE_MM : CABLE_BOARD_MM) + 0.3);
    }
}

static void draw_rises(struct cable_floor *c)
{
    const struct house *h = c->s->house;
    const struct floor *f = &h->floors.v[c->s->plan.floor];
    for (uint32_t i = 0; i < c->in->rises.n; i++) {
        const struct install_rise *r = &c->in->rises.v[i];
        if (!cable_rise_is_here(h, r, c->s->plan.floor))
            continue;
        const struct vec2 at = on_paper(c, r->at_m);
        if (r->high_m > f->level_m + 0.3)
            cable_sign_arrow(&c->s->pen, at, true);
        if (r->low_m < f->level_m - 0.02 || r->high_m <= f->level_m + 0.3)
            cable_sign_arrow(&c->s->pen, at, false);
        c->n_rises++;
        block(c, at, CABLE_RISER_MM + 0.3);
    }
}

static void name_rises(struct cable_floor *c)
{
    for (uint32_t i = 0; i < c->in->rises.n; i++) {
        const struct install_rise *r = &c->in->rises.v[i];
        if (!cable_rise_is_here(c->s->house, r, c->s->plan.floor))
            continue;
        struct tag t = { .style = TEXT_FIGURE_B };
        const char *mark = arena_printf(c->s->arena, "R%u", i + 1);
        c->s->failed |= !mark;
        t.lines[t.n++] = str_from(mark ? mark : "");
        const struct str where = cable_rise_leads(c->s, r);
        if (where.n)
            t.lines[t.n++] = where;
        must_name(c, &t, on_paper(c, r->at_m), CABLE_RISER_MM + 0.6);
    }
}

/* Where the things of a floor are that cables end at. */
static bool end_place(const struct house *h, const struct cable_end *end, uint32_t floor, struct vec2 *at_m,
                      bool *is_marked)
{
    uint32_t on = NO_REF;
    struct vec3 at = { RT_NOT_GIVEN, RT_NOT_GIVEN, 0 };
    *is_marked = true; /* devices and access points have marks of their own */
    if (end->equipment != NO_REF) {
        const struct equipment *e = &h->equipment.v[end->equipment];
        const struct mount *m = e->mount.i == NO_REF ? NULL : &h->mounts.v[e->mount.i];
        on = m ? m->floor.i : e->floor.i;
        at = m ? m->at_m : e->at_m;
        *is_marked = e->part.i != NO_REF && h->parts.list.v[e->part.i].radios.n > 0;
    } else if (end->device != NO_REF) {
        on = h->devices.v[end->device].floor.i;
        at = h->devices.v[end->device].at_m;
    }
    *at_m = (struct vec2){ at.x, at.y };
    return on == floor && is_given(at.x) && is_given(at.y);
}

struct end_group {
    struct vec2 at_m;
    struct tag tag;
    bool is_square;
};

typedef VEC(struct end_group) end_vec;

static void add_end(struct cable_floor *c, end_vec *all, const struct cable_end *end)
{
    struct vec2 at_m;
    bool is_marked;
    if (!end_place(c->s->house, end, c->s->plan.floor, &at_m, &is_marked))
        return;
    const bool is_square = !is_marked;
    const bool is_ap = is_marked && end->equipment != NO_REF; /* the plan names it */
    struct end_group *g = NULL;
    for (uint32_t i = 0; i < all->n && !g; i++)
        if (vec2_len(vec2_sub(all->v[i].at_m, at_m)) < SAME_END_M)
            g = &all->v[i];
    if (!g) {
        const struct end_group new = { .at_m = at_m, .tag = { .style = TEXT_THING } };
        if (!VEC_PUSH(c->s->arena, all, new)) {
            c->s->failed = true;
            return;
        }
        g = &all->v[all->n - 1];
    }
    g->is_square |= is_square;
    const struct str name =
        end->equipment != NO_REF ? end->what : install_id_words(c->s->arena, end->what); /* as on its label */
    for (uint32_t i = 0; i < g->tag.n; i++)
        if (str_eq(g->tag.lines[i], name))
            return;
    if (!is_ap && g->tag.n < RT_COUNT(g->tag.lines))
        g->tag.lines[g->tag.n++] = name;
}

static end_vec find_ends(struct cable_floor *c)
{
    end_vec all = { 0 };
    for (uint32_t k = 0; k < c->s->house->cables.n; k++) {
        add_end(c, &all, &c->s->house->cables.v[k].from);
        add_end(c, &all, &c->s->house->cables.v[k].to);
    }
    for (uint32_t i = 0; i < all.n; i++)
        if (all.v[i].is_square) {
            cable_sign_end(&c->s->pen, on_paper(c, all.v[i].at_m));
            block(c, on_paper(c, all.v[i].at_m), CABLE_END_MM);
            c->has_squares = true;
        }
    return all;
}

static void name_ends(struct cable_floor *c, const end_vec *all)
{
    for (uint32_t i = 0; i < all->n; i++)
        if (all->v[i].tag.n)
            must_name(c, &all->v[i].tag, on_paper(c, all->v[i].at_m), CABLE_END_MM + 0.4);
}

/* ---- names of cables ---- */

static bool same_set(const struct stretch *a, const struct stretch *b, uint32_t n)
{
    return a->lie == b->lie && (a->run == NO_REF) == (b->run == NO_REF) && a->n_cables == b->n_cables &&
           memcmp(a->has, b->has, n * sizeof *a->has) == 0 && (a->lie != LIE_SEEN || fabs(a->z_m - b->z_m) < 0.05);
}

static double shown_mm(const struct cable_floor *c, const struct stretch *t)
{
    const struct plan *p = &c->s->plan;
    double shown = 0.0;
    for (int i = 0; i < 20; i++) {
        const struct vec2 at = vec2_add(t->a, vec2_scale(vec2_sub(t->b, t->a), (i + 0.5) / 20.0));
        shown += at.x > p->lo.x && at.y > p->lo.y && at.x < p->hi.x && at.y < p->hi.y;
    }
    return shown / 20.0 * plan_mm(p, vec2_len(vec2_sub(t->b, t->a)));
}

/* The ids, and for what is seen its height; a star if nobody gave the way. */
static struct tag tag_of(struct cable_floor *c, const struct stretch *t)
{
    struct sheet *s = c->s;
    const struct house *h = s->house;
    struct tag tag = { .style = TEXT_TAG };
    struct buf more = { .arena = s->arena };
    if (t->n_cables <= NAMES_MOST) {
        for (uint32_t k = 0; k < h->cables.n; k++)
            if (t->has[k])
                tag.lines[tag.n++] = h->cables.v[k].id;
    } else {
        const char *words = arena_printf(s->arena, "%u cables, K%u", t->n_cables, ++c->n_bundles);
        tag.lines[tag.n++] = str_from(words ? words : "");
        s->failed |= !words || !VEC_PUSH(s->arena, &c->bundles, t);
    }
    for (uint32_t i = 0; t->run != NO_REF && i < c->in->trenches.n; i++)
        if (c->in->trenches.v[i] == t->run)
            buf_printf(&more, "T%u", i + 1);
    if (t->lie == LIE_SEEN)
        buf_printf(&more, "at %+.2f", t->z_m - h->floors.v[s->plan.floor].level_m);
    if (t->run == NO_REF && t->lie != LIE_CORD)
        buf_text(&more, "*");
    s->failed |= more.failed;
    if (more.n && !more.failed)
        tag.lines[tag.n++] = buf_done(&more);
    return tag;
}

/* Names the stretches of one set where there is most room: along its longest. */
static void name_set(struct cable_floor *c, const struct stretch *t)
{
    static const double PARTS[] = { 0.5, 0.35, 0.65, 0.2, 0.8 };
    struct vec2 at[RT_COUNT(PARTS)];
    uint32_t n = 0;
    const struct plan *p = &c->s->plan;
    for (uint32_t i = 0; i < RT_COUNT(PARTS); i++) {
        const struct vec2 m = vec2_add(t->a, vec2_scale(vec2_sub(t->b, t->a), PARTS[i]));
        if (m.x > p->lo.x - BESIDE_M && m.y > p->lo.y - BESIDE_M && m.x < p->hi.x + BESIDE_M &&
            m.y < p->hi.y + BESIDE_M)
            at[n++] = plan_at(p, m);
    }
    const struct tag tag = tag_of(c, t);
    if (!n || !name_near(c, &tag, at, n, CABLE_LINE_MM + 0.5, false))
        return;
    for (uint32_t k = 0; k < c->s->house->cables.n; k++)
        c->is_named[k] |= t->has[k];
}

static bool has_unnamed(const struct cable_floor *c, const struct stretch *t)
{
    for (uint32_t k = 0; k < c->s->house->cables.n; k++)
        if (t->has[k] && !c->is_named[k])
            return true;
    return false;
}

static void name_cables(struct cable_floor *c)
{
    bool *done = ARENA_ARRAY(c->s->arena, bool, c->stretches.n);
    if (!done) {
        c->s->failed = true;
        return;
    }
    for (;;) { /* the longest first; a short one only for names that stand nowhere else */
        uint32_t best = NO_REF;
        double best_mm = 0.0;
        for (uint32_t i = 0; i < c->stretches.n; i++) {
            const double len_mm = done[i] ? 0.0 : shown_mm(c, &c->stretches.v[i]);
            if (len_mm > best_mm + 1e-6) {
                best = i;
                best_mm = len_mm;
            }
        }
        if (best == NO_REF || c->s->failed)
            break;
        const struct stretch *t = &c->stretches.v[best];
        for (uint32_t i = 0; i < c->stretches.n; i++)
            done[i] |= same_set(t, &c->stretches.v[i], c->s->house->cables.n);
        if (best_mm >= SHORT_MM || has_unnamed(c, t))
            name_set(c, t);
    }
}

/* ---- the whole ---- */

static struct sheet_words words_of(struct cable_floor *c)
{
    struct sheet *s = c->s;
    const struct floor *f = &s->house->floors.v[s->plan.floor];
    const uint32_t holes = c->n_work[WORK_HOLE], boards = c->n_work[WORK_BOARD];
    uint32_t n = 0;
    for (uint32_t k = 0; k < c->s->house->cables.n; k++)
        n += c->is_here[k];
    const char *soft = arena_printf(
        s->arena, "%u cable%s, %u hole%s, %u board%s to lift; floor at %+.2f m, ceiling %.2f m up", n,
        n == 1 ? "" : "s", holes, holes == 1 ? "" : "s", boards, boards == 1 ? "" : "s", f->level_m, f->height_m);
    if (f->open_air)
        soft = arena_printf(s->arena, "%u cable%s; ground at %+.2f m", n, n == 1 ? "" : "s", f->level_m);
    s->failed |= !soft;
    return (struct sheet_words){ .title = f->says.n ? f->says : f->id,
                                 .head = STR("cables, and the work that they take"),
                                 .soft = str_from(soft ? soft : ""),
                                 .drawing = STR("cables"),
                                 .height = f->id };
}

void cable_sheet_paint(struct sheet *s)
{
    const bool is_figure = sheet_is_figure(s);
    struct cable_floor c = { .s = s, .unplaced = { .arena = s->arena } };
    c.room = is_figure ? (struct draw_box){ 0.0, 0.0, s->w_mm, s->h_mm - 19.0 }
                       : (struct draw_box){ 11.0, 32.0, s->w_mm - 28.0 - cable_side_mm(s), s->h_mm - 70.0 };
    c.right_mm = c.room.x_mm + c.room.w_mm;
    sheet_begin(s);
    if (!gather(&c)) {
        s->failed = true;
        return;
    }
    plan_draw_things(&s->pen, &s->plan, &s->space);
    plan_draw_walls(&s->pen, &s->plan, &s->space);
    draw_stretches(&c);
    draw_work(&c);
    draw_rises(&c);
    const end_vec ends = find_ends(&c);
    s->marks = plan_draw_mounts(&s->pen, &s->plan, &s->space, false, true);
    plan_draw_dimensions(&s->pen, &s->plan, &s->space);
    name_ends(&c, &ends);
    name_work(&c);
    name_rises(&c);
    name_cables(&c);
    plan_draw_rooms(&s->pen, &s->plan, &s->space, &s->room_key);
    plan_name_things(&s->pen, &s->plan, &s->space);
    const struct sheet_words words = words_of(&c);
    sheet_finish(s, &words, NULL);
    cable_key_write(&c);
    if (!is_figure)
        cable_side_write(&c);
    if (!sheet_is_small(s)) /* a book says them once */
        cable_cautions(s, s->h_mm - 29.5, s->w_mm - 30.0 - 130.0);
    s->failed |= c.unplaced.failed || s->space.failed;
}
