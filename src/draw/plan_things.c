/* What stands in the rooms of a plan, and every text within it. */
#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/plan.h"

#define THIN_MM 0.18
#define MARK_MM 1.9 /* half the width of an access point's diamond */
#define FREE_MARK_MM 1.0
#define TEXT_GAP_MM 0.45

/* ---- openings in floors, stairs ---- */

static struct vec2 middle_of(const vec2_list *l)
{
    struct vec2 lo = l->v[0], hi = l->v[0];
    for (uint32_t i = 1; i < l->n; i++) {
        lo = (struct vec2){ fmin(lo.x, l->v[i].x), fmin(lo.y, l->v[i].y) };
        hi = (struct vec2){ fmax(hi.x, l->v[i].x), fmax(hi.y, l->v[i].y) };
    }
    return vec2_scale(vec2_add(lo, hi), 0.5);
}

/* Lines first laid wide in the colour of the sheet, so that they show on any ground. */
static void stroke_cased(struct pen *pen, double width_mm)
{
    double dashes[2] = { 0 };
    const int n = cairo_get_dash_count(pen->cr);
    if (n == 2)
        cairo_get_dash(pen->cr, dashes, NULL);
    pen_dashes(pen, 0, 0);
    pen_ink(pen, INK_SHEET);
    cairo_set_line_width(pen->cr, width_mm + 0.35);
    cairo_stroke_preserve(pen->cr);
    pen_dashes(pen, dashes[0], dashes[1]);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, width_mm);
    cairo_stroke(pen->cr);
    pen_dashes(pen, 0, 0);
}

static void block_outline(struct label_space *space, const struct vec2 *mm, uint32_t n)
{
    for (uint32_t i = 0; i < n; i++)
        label_block_strip(space, mm[i], mm[(i + 1) % n], 0.2);
}

/* Treads across an outline, a quarter of a metre apart along its longer side. */
static void draw_treads(struct pen *pen, const struct plan *p, const struct vec2 *outline, uint32_t n)
{
    const vec2_list l = { (struct vec2 *)(uintptr_t)outline, n };
    const struct vec2 mid = middle_of(&l);
    const double half_x = fabs(outline[0].x - mid.x), half_y = fabs(outline[0].y - mid.y);
    const bool along_x = half_x > half_y;
    const double tread_mm = plan_mm(p, 0.25), half_mm = along_x ? half_x : half_y;
    cairo_save(pen->cr);
    pen_path(pen, outline, n, true);
    cairo_clip(pen->cr);
    for (double at = -half_mm + tread_mm; at < half_mm; at += tread_mm) {
        const double x = along_x ? mid.x + at : mid.x - half_x, y = along_x ? mid.y - half_y : mid.y + at;
        cairo_move_to(pen->cr, x, y);
        cairo_line_to(pen->cr, along_x ? x : mid.x + half_x, along_x ? mid.y + half_y : y);
        stroke_cased(pen, THIN_MM);
    }
    cairo_restore(pen->cr);
}

/* The way up a stair: an arrow through the middles of its lowest and highest edge. */
static void draw_way_up(struct pen *pen, const struct plan *p, struct label_space *space, const struct plane *stair)
{
    const uint32_t n = stair->outline.n;
    struct vec2 foot = { 0, 0 }, head = { 0, 0 };
    double low = INFINITY, high = -INFINITY;
    for (uint32_t i = 0; i < n; i++) {
        const struct vec3 a = stair->outline.v[i], b = stair->outline.v[(i + 1) % n];
        const struct vec2 mid = plan_at(p, (struct vec2){ (a.x + b.x) / 2.0, (a.y + b.y) / 2.0 });
        if (a.z + b.z < low) {
            low = a.z + b.z;
            foot = mid;
        }
        if (a.z + b.z > high) {
            high = a.z + b.z;
            head = mid;
        }
    }
    const struct vec2 d = vec2_sub(head, foot);
    const double length_mm = vec2_len(d);
    if (length_mm < 6.0)
        return;
    const struct vec2 u = vec2_scale(d, 1.0 / length_mm), side = { -u.y, u.x };
    const struct vec2 from = vec2_add(foot, vec2_scale(u, 1.5)), to = vec2_sub(head, vec2_scale(u, 1.5));
    const struct vec2 barb = vec2_sub(to, vec2_scale(u, 2.0));
    const struct vec2 points[5] = { from, to, vec2_add(barb, vec2_scale(side, 0.9)), to,
                                    vec2_sub(barb, vec2_scale(side, 0.9)) };
    pen_path(pen, points, 5, false);
    stroke_cased(pen, 0.3);
    label_block_strip(space, from, to, 0.5);
}

static bool is_stair_hole(const struct floor_hole *hole)
{
    for (size_t i = 0; i + 5 <= hole->what.n; i++)
        if (memcmp(hole->what.p + i, "stair", 5) == 0)
            return true;
    return false;
}

/* A stair that goes on up over the hole of the one from below is drawn once: the one that goes up. */
static bool has_stair_above(const struct plan *p, const struct floor_hole *hole)
{
    const struct house *h = p->house;
    const struct vec2 mid = polygon_centre(hole->outline);
    for (uint32_t i = 0; i < h->planes.n; i++) {
        const struct plane *stair = &h->planes.v[i];
        if (stair->kind != PLANE_STAIR || stair->floor.i != p->floor || stair->outline.n < 3)
            continue;
        struct vec2 lo = { INFINITY, INFINITY }, hi = { -INFINITY, -INFINITY };
        for (uint32_t k = 0; k < stair->outline.n; k++) {
            lo = (struct vec2){ fmin(lo.x, stair->outline.v[k].x), fmin(lo.y, stair->outline.v[k].y) };
            hi = (struct vec2){ fmax(hi.x, stair->outline.v[k].x), fmax(hi.y, stair->outline.v[k].y) };
        }
        if (mid.x > lo.x && mid.x < hi.x && mid.y > lo.y && mid.y < hi.y)
            return true;
    }
    return false;
}

static void draw_hole(struct pen *pen, const struct plan *p, struct label_space *space, const struct floor_hole *hole)
{
    const vec2_list mm = plan_outline(space->arena, p, hole->outline);
    if (!mm.v || mm.n < 3) {
        space->failed = space->failed || !mm.v;
        return;
    }
    if (is_stair_hole(hole)) {
        if (!has_stair_above(p, hole))
            draw_treads(pen, p, mm.v, mm.n);
    } else if (mm.n == 4) { /* a void: its diagonals */
        for (int i = 0; i < 2; i++) {
            cairo_move_to(pen->cr, mm.v[i].x, mm.v[i].y);
            cairo_line_to(pen->cr, mm.v[i + 2].x, mm.v[i + 2].y);
            pen_dashes(pen, 1.6, 1.0);
            stroke_cased(pen, THIN_MM);
        }
    }
    pen_path(pen, mm.v, mm.n, true);
    stroke_cased(pen, 0.25);
    block_outline(space, mm.v, mm.n);
}

/* Where a sloping roof comes down to the height of the sheet. */
static void draw_roof_line(struct pen *pen, const struct plan *p, struct label_space *space, const struct plane *plane)
{
    struct vec2 ends[2];
    uint32_t n = 0;
    for (uint32_t i = 0; i < plane->outline.n && n < 2; i++) {
        const struct vec3 a = plane->outline.v[i], b = plane->outline.v[(i + 1) % plane->outline.n];
        if ((a.z < p->height_m) == (b.z < p->height_m))
            continue;
        const double k = (p->height_m - a.z) / (b.z - a.z);
        ends[n++] = plan_at(p, (struct vec2){ a.x + k * (b.x - a.x), a.y + k * (b.y - a.y) });
    }
    if (n < 2)
        return;
    cairo_move_to(pen->cr, ends[0].x, ends[0].y);
    cairo_line_to(pen->cr, ends[1].x, ends[1].y);
    pen_dashes(pen, 2.4, 1.2);
    stroke_cased(pen, 0.3);
    label_block_strip(space, ends[0], ends[1], 0.3);
    const double length_mm = vec2_len(vec2_sub(ends[1], ends[0]));
    const struct str words = STR("roof comes down to this height");
    const struct text_size size = pen_measure(pen, TEXT_THING, words);
    if (length_mm < size.w_mm + 4.0)
        return;
    double turn = atan2(ends[1].y - ends[0].y, ends[1].x - ends[0].x);
    turn += turn > RT_PI / 2.0 ? -RT_PI : turn < -RT_PI / 2.0 + 1e-9 ? RT_PI : 0.0;
    const struct vec2 at = vec2_scale(vec2_add(ends[0], ends[1]), 0.5);
    const double w = fabs(size.w_mm * cos(turn)) + fabs(size.h_mm * sin(turn));
    const double h = fabs(size.w_mm * sin(turn)) + fabs(size.h_mm * cos(turn));
    pen_text_turned(pen, TEXT_THING, words, at, turn);
    label_take(space, words, (struct draw_box){ at.x - w / 2.0, at.y - h / 2.0, w, h });
}

/* The outline of an obstacle, or of the band that a flat one's line makes. */
static void draw_obstacle(struct pen *pen, const struct plan *p, struct label_space *space, const struct obstacle *o)
{
    const bool above = o->from_m > p->height_m;
    if (o->outline.n < 3) {
        for (uint32_t i = 0; i < o->line.n; i++) {
            const struct vec2 at = plan_at(p, o->line.v[i]);
            if (i)
                cairo_line_to(pen->cr, at.x, at.y);
            else
                cairo_move_to(pen->cr, at.x, at.y);
            if (i)
                label_block_strip(space, plan_at(p, o->line.v[i - 1]), at, 0.4);
        }
        stroke_cased(pen, 0.6);
        return;
    }
    const vec2_list mm = plan_outline(space->arena, p, o->outline);
    if (!mm.v) {
        space->failed = true;
        return;
    }
    pen_path(pen, mm.v, mm.n, true);
    if (above) {
        pen_dashes(pen, 1.6, 1.0);
        stroke_cased(pen, THIN_MM);
    } else {
        pen_ink(pen, INK_SHEET);
        cairo_fill_preserve(pen->cr);
        cairo_save(pen->cr);
        cairo_clip_preserve(pen->cr);
        const struct vec2 mid = middle_of(&mm);
        double reach = 0.0;
        for (uint32_t i = 0; i < mm.n; i++)
            reach = fmax(reach, vec2_len(vec2_sub(mm.v[i], mid)));
        cairo_new_path(pen->cr);
        pen_ink(pen, INK_LINE);
        for (double at = -2.0 * reach; at <= 2.0 * reach; at += 1.1) /* hatched at 45 degrees: solid */
            pen_line(pen, (struct vec2){ mid.x + at - reach, mid.y + reach },
                     (struct vec2){ mid.x + at + reach, mid.y - reach }, 0.12);
        cairo_restore(pen->cr);
        pen_path(pen, mm.v, mm.n, true);
        cairo_set_line_width(pen->cr, o->to_m >= p->height_m ? 0.35 : 0.2);
        cairo_stroke(pen->cr);
    }
    block_outline(space, mm.v, mm.n);
    struct vec2 lo = mm.v[0], hi = mm.v[0];
    for (uint32_t i = 0; i < mm.n; i++) {
        lo = (struct vec2){ fmin(lo.x, mm.v[i].x), fmin(lo.y, mm.v[i].y) };
        hi = (struct vec2){ fmax(hi.x, mm.v[i].x), fmax(hi.y, mm.v[i].y) };
    }
    if (!above && mm.n == 4) /* a figure on the hatching could not be read */
        label_block_box(space, (struct draw_box){ lo.x, lo.y, hi.x - lo.x, hi.y - lo.y });
}

void plan_draw_things(struct pen *pen, const struct plan *p, struct label_space *space)
{
    const struct house *h = p->house;
    const struct floor *f = &h->floors.v[p->floor];
    for (uint32_t i = 0; i < f->holes.n; i++)
        draw_hole(pen, p, space, &f->holes.v[i]);
    for (uint32_t i = 0; i < h->planes.n; i++) {
        const struct plane *plane = &h->planes.v[i];
        if (plane->floor.i != p->floor || plane->outline.n < 3)
            continue;
        if (plane->kind == PLANE_ROOF) {
            draw_roof_line(pen, p, space, plane);
            continue;
        }
        struct vec2 mm[16];
        const uint32_t n = plane->outline.n < 16 ? plane->outline.n : 16;
        for (uint32_t k = 0; k < n; k++)
            mm[k] = plan_at(p, (struct vec2){ plane->outline.v[k].x, plane->outline.v[k].y });
        if (plane->kind == PLANE_STAIR)
            draw_treads(pen, p, mm, n);
        pen_path(pen, mm, n, true);
        stroke_cased(pen, THIN_MM);
        block_outline(space, mm, n);
        if (plane->kind == PLANE_STAIR)
            draw_way_up(pen, p, space, plane);
    }
    for (uint32_t i = 0; i < h->obstacles.n; i++)
        if (h->obstacles.v[i].floor.i == p->floor)
            draw_obstacle(pen, p, space, &h->obstacles.v[i]);
}

/* ---- texts ---- */

/* An id as words: "chimney_breast" reads "chimney breast". */
static struct str words_of_id(struct arena *a, struct str id)
{
    const struct str copy = str_dup(a, id);
    if (!copy.p)
        return id;
    char *text = (char *)(uintptr_t)copy.p;
    for (size_t i = 0; i < copy.n; i++)
        if (text[i] == '_')
            text[i] = ' ';
    return copy;
}

static bool say_beside(struct pen *pen, struct label_space *space, enum text_style style, enum ink ink, struct str text,
                       struct vec2 mark, double reach_mm)
{
    const struct text_size size = pen_measure(pen, style, text);
    struct draw_box box;
    if (!label_fit_beside(space, mark, reach_mm, size.w_mm, size.h_mm, TEXT_GAP_MM, &box))
        return false;
    pen_text_in(pen, style, ink, text, box.x_mm, box.y_mm);
    label_take(space, text, box);
    return true;
}

/* An id that must be there: further off with a thin leader if need be, and in the last resort right beside its mark. */
static void say_tag(struct pen *pen, struct label_space *space, struct str text, struct vec2 mark, double reach_mm)
{
    const struct text_size size = pen_measure(pen, TEXT_TAG, text);
    struct draw_box box = { mark.x + reach_mm, mark.y - size.h_mm / 2.0, size.w_mm, size.h_mm };
    for (double away_mm = 0.0; away_mm < 30.0; away_mm += 1.0) {
        if (!label_fit_beside(space, mark, reach_mm + away_mm, size.w_mm, size.h_mm, TEXT_GAP_MM, &box))
            continue;
        if (away_mm > 2.0) {
            const struct vec2 to = { fmin(fmax(mark.x, box.x_mm), box.x_mm + box.w_mm),
                                     fmin(fmax(mark.y, box.y_mm), box.y_mm + box.h_mm) };
            const struct vec2 d = vec2_sub(to, mark), from = vec2_add(mark, vec2_scale(d, reach_mm / vec2_len(d)));
            cairo_move_to(pen->cr, from.x, from.y);
            cairo_line_to(pen->cr, to.x, to.y);
            stroke_cased(pen, 0.2);
        }
        break;
    }
    pen_text(pen, TEXT_TAG, text, box.x_mm, box.y_mm);
    label_take(space, text, box);
}

static void path_diamond(struct pen *pen, struct vec2 at, double half_mm)
{
    const struct vec2 corners[4] = {
        { at.x - half_mm, at.y }, { at.x, at.y - half_mm }, { at.x + half_mm, at.y }, { at.x, at.y + half_mm }
    };
    pen_path(pen, corners, 4, true);
}

static struct draw_box box_round(struct vec2 at, double half_mm)
{
    return (struct draw_box){ at.x - half_mm, at.y - half_mm, 2.0 * half_mm, 2.0 * half_mm };
}

void plan_mark_mount(struct pen *pen, struct vec2 at, bool is_taken)
{
    const double half_mm = is_taken ? MARK_MM : FREE_MARK_MM;
    path_diamond(pen, at, half_mm + 0.7);
    pen_ink(pen, INK_SHEET);
    cairo_fill(pen->cr);
    path_diamond(pen, at, half_mm);
    pen_ink(pen, INK_LINE);
    cairo_set_line_width(pen->cr, is_taken ? 0.5 : 0.2);
    cairo_stroke(pen->cr);
}

void plan_mark_device(struct pen *pen, struct vec2 at)
{
    for (int casing = 1; casing >= 0; casing--) {
        pen_ink(pen, casing ? INK_SHEET : INK_LINE);
        cairo_arc(pen->cr, at.x, at.y, casing ? 1.0 : 0.6, 0.0, 2.0 * RT_PI);
        cairo_fill(pen->cr);
    }
}

static bool is_access_point(const struct house *h, const struct equipment *e)
{
    return e->part.i != NO_REF && e->part.i < h->parts.list.n && h->parts.list.v[e->part.i].radios.n > 0;
}

static bool mount_is_taken(const struct house *h, uint32_t mount)
{
    for (uint32_t i = 0; i < h->equipment.n; i++)
        if (h->equipment.v[i].mount.i == mount)
            return true;
    return false;
}

static struct vec2 on_sheet(const struct plan *p, struct vec3 at_m)
{
    return plan_at(p, (struct vec2){ at_m.x, at_m.y });
}

uint32_t plan_draw_mounts(struct pen *pen, const struct plan *p, struct label_space *space, bool free_mounts,
                          bool devices)
{
    const struct house *h = p->house;
    uint32_t marks = 0;
    for (uint32_t i = 0; i < h->equipment.n; i++) { /* all marks are blocked before the first text is placed */
        const struct equipment *e = &h->equipment.v[i];
        if (e->floor.i != p->floor || !is_access_point(h, e) || !isfinite(e->at_m.x) || !isfinite(e->at_m.y))
            continue;
        plan_mark_mount(pen, on_sheet(p, e->at_m), true);
        marks |= PLAN_ACCESS_POINT;
        label_block_box(space, box_round(on_sheet(p, e->at_m), MARK_MM));
    }
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        if (e->floor.i == p->floor && is_access_point(h, e) && isfinite(e->at_m.x) && isfinite(e->at_m.y))
            say_tag(pen, space, e->id, on_sheet(p, e->at_m), MARK_MM + 0.8);
    }
    for (uint32_t i = 0; free_mounts && i < h->mounts.n; i++) {
        const struct mount *m = &h->mounts.v[i];
        if (m->floor.i != p->floor || !(m->use & MOUNT_ACCESS_POINT) || mount_is_taken(h, i))
            continue;
        const struct vec2 at = on_sheet(p, m->at_m);
        if (!label_is_free(space, box_round(at, FREE_MARK_MM), 0.0))
            continue; /* in a wall or under something more important: the list of mounts has it */
        plan_mark_mount(pen, at, false);
        marks |= PLAN_FREE_MOUNT;
        label_block_box(space, box_round(at, FREE_MARK_MM));
        say_beside(pen, space, TEXT_THING, INK_SOFT, words_of_id(space->arena, m->id), at, 1.7);
    }
    for (uint32_t i = 0; devices && i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        if (d->floor.i != p->floor || !isfinite(d->at_m.x) || !isfinite(d->at_m.y))
            continue;
        const struct vec2 at = on_sheet(p, d->at_m);
        plan_mark_device(pen, at);
        marks |= PLAN_DEVICE;
        label_block_box(space, box_round(at, 0.6));
    }
    return marks;
}

static void say_in_box(struct pen *pen, struct label_space *space, enum text_style style, struct str text,
                       struct draw_box box)
{
    pen_text(pen, style, text, box.x_mm, box.y_mm);
    label_take(space, text, box);
}

/* The name as two lines, broken at the space nearest to its middle; false if it has none. */
static bool break_name(struct str name, struct str *first, struct str *second)
{
    size_t best = 0;
    for (size_t i = 1; i + 1 < name.n; i++)
        if (name.p[i] == ' ' &&
            (!best || llabs((long long)(2 * i) - (long long)name.n) < llabs((long long)(2 * best) - (long long)name.n)))
            best = i;
    if (!best)
        return false;
    *first = (struct str){ name.p, best };
    *second = (struct str){ name.p + best + 1, name.n - best - 1 };
    return true;
}

static bool say_broken(struct pen *pen, struct label_space *space, enum text_style style, vec2_list outline,
                       struct vec2 wish, struct str name)
{
    struct str part[2];
    if (!break_name(name, &part[0], &part[1]))
        return false;
    const struct text_size a = pen_measure(pen, style, part[0]), b = pen_measure(pen, style, part[1]);
    const double lead_mm = a.h_mm * 0.92;
    struct draw_box box;
    if (!label_fit_inside(space, outline, wish, fmax(a.w_mm, b.w_mm), lead_mm + b.h_mm, TEXT_GAP_MM, &box))
        return false;
    /* both halos first, or the second line's would eat the first line's feet */
    for (int twice = 0; twice < 2; twice++) {
        pen_text(pen, style, part[0], box.x_mm + (box.w_mm - a.w_mm) / 2.0, box.y_mm);
        if (!twice)
            pen_text(pen, style, part[1], box.x_mm + (box.w_mm - b.w_mm) / 2.0, box.y_mm + lead_mm);
    }
    label_take(space, name, box);
    return true;
}

/* Tries the name on one line, on two, then smaller. */
static bool name_room(struct pen *pen, struct label_space *space, vec2_list outline, struct vec2 wish, struct str name)
{
    static const enum text_style SIZES[] = { TEXT_ROOM, TEXT_ROOM_S };
    for (uint32_t i = 0; i < RT_COUNT(SIZES); i++) {
        const struct text_size size = pen_measure(pen, SIZES[i], name);
        struct draw_box box;
        if (label_fit_inside(space, outline, wish, size.w_mm, size.h_mm, TEXT_GAP_MM, &box)) {
            say_in_box(pen, space, SIZES[i], name, box);
            return true;
        }
        if (say_broken(pen, space, SIZES[i], outline, wish, name))
            return true;
    }
    return false;
}

struct str plan_room_name(struct arena *a, const struct house *h, uint32_t room)
{
    return h->rooms.v[room].says.n ? h->rooms.v[room].says : words_of_id(a, h->rooms.v[room].id);
}

void plan_draw_rooms(struct pen *pen, const struct plan *p, struct label_space *space, str_list *key)
{
    const struct house *h = p->house;
    VEC(struct str) lines = { 0 };
    for (uint32_t i = 0; i < h->rooms.n; i++) {
        if (h->rooms.v[i].floor.i != p->floor || h->rooms.v[i].outline.n < 3)
            continue;
        const vec2_list outline = plan_outline(space->arena, p, h->rooms.v[i].outline);
        if (!outline.v) {
            space->failed = true;
            return;
        }
        const struct str name = plan_room_name(space->arena, h, i);
        const struct vec2 wish = plan_at(p, polygon_centre(h->rooms.v[i].outline));
        if (name_room(pen, space, outline, wish, name))
            continue;
        const struct str number = str_from(arena_printf(space->arena, "%u", (unsigned)lines.n + 1));
        const struct text_size size = pen_measure(pen, TEXT_ROOM_S, number);
        struct draw_box box;
        if (label_fit_inside(space, outline, wish, size.w_mm, size.h_mm, 0.1, &box))
            say_in_box(pen, space, TEXT_ROOM_S, number, box);
        else
            say_beside(pen, space, TEXT_ROOM_S, INK_LINE, number, wish, 0.2);
        const struct str line = str_from(arena_printf(space->arena, "%u  %.*s", (unsigned)lines.n + 1, STR_ARG(name)));
        space->failed = !VEC_PUSH(space->arena, &lines, line) || space->failed;
    }
    *key = (str_list){ lines.v, lines.n };
}

void plan_name_things(struct pen *pen, const struct plan *p, struct label_space *space)
{
    const struct house *h = p->house;
    for (uint32_t i = 0; i < h->obstacles.n; i++) {
        const struct obstacle *o = &h->obstacles.v[i];
        const vec2_list *shape = o->outline.n ? &o->outline : &o->line;
        if (o->floor.i != p->floor || !shape->n)
            continue;
        const struct vec2 mid = plan_at(p, middle_of(shape));
        double reach_mm = 0.0;
        for (uint32_t k = 0; k < shape->n; k++) {
            const struct vec2 d = vec2_sub(plan_at(p, shape->v[k]), mid);
            reach_mm = fmax(reach_mm, fmin(fabs(d.x), fabs(d.y)));
        }
        say_beside(pen, space, TEXT_THING, INK_LINE, words_of_id(space->arena, o->id), mid, reach_mm + 1.3);
    }
}

/* ---- dimensions ---- */

static void draw_dimension(struct pen *pen, struct label_space *space, struct vec2 a, struct vec2 b, struct vec2 out,
                           double length_m)
{
    const double away_mm = 6.5;
    const struct vec2 p = vec2_add(a, vec2_scale(out, away_mm)), q = vec2_add(b, vec2_scale(out, away_mm));
    pen_ink(pen, INK_LINE);
    pen_line(pen, p, q, THIN_MM);
    label_block_strip(space, p, q, THIN_MM);
    const struct vec2 ends[2] = { p, q };
    for (int i = 0; i < 2; i++) { /* extension line, and the oblique stroke of building drawings */
        pen_line(pen, vec2_sub(ends[i], vec2_scale(out, away_mm - 1.5)), vec2_add(ends[i], vec2_scale(out, 1.2)),
                 THIN_MM);
        pen_line(pen, (struct vec2){ ends[i].x - 0.9, ends[i].y + 0.9 },
                 (struct vec2){ ends[i].x + 0.9, ends[i].y - 0.9 }, 0.35);
    }
    const struct str text = str_from(arena_printf(space->arena, "%.2f m", length_m));
    const struct text_size size = pen_measure(pen, TEXT_FIGURE, text);
    const bool upright = fabs(out.x) > 0.5;
    const struct vec2 mid = vec2_scale(vec2_add(p, q), 0.5);
    pen_text_turned(pen, TEXT_FIGURE, text, mid, upright ? -RT_PI / 2.0 : 0.0);
    const double w = upright ? size.h_mm : size.w_mm, h = upright ? size.w_mm : size.h_mm;
    label_take(space, text, (struct draw_box){ mid.x - w / 2.0, mid.y - h / 2.0, w, h });
}

void plan_draw_dimensions(struct pen *pen, const struct plan *p, struct label_space *space)
{
    const struct floor *f = &p->house->floors.v[p->floor];
    if (f->outline.n < 3)
        return;
    struct vec2 lo = f->outline.v[0], hi = f->outline.v[0];
    for (uint32_t i = 1; i < f->outline.n; i++) {
        lo = (struct vec2){ fmin(lo.x, f->outline.v[i].x), fmin(lo.y, f->outline.v[i].y) };
        hi = (struct vec2){ fmax(hi.x, f->outline.v[i].x), fmax(hi.y, f->outline.v[i].y) };
    }
    const struct vec2 from = plan_at(p, lo), to = plan_at(p, hi), wide = { p->x_mm, p->y_mm };
    const double x0 = fmin(from.x, to.x), x1 = fmax(from.x, to.x), y0 = fmin(from.y, to.y), y1 = fmax(from.y, to.y);
    draw_dimension(pen, space, (struct vec2){ x0, wide.y }, (struct vec2){ x1, wide.y }, (struct vec2){ 0, -1 },
                   (x1 - x0) * p->scale / 1000.0);
    draw_dimension(pen, space, (struct vec2){ wide.x, y1 }, (struct vec2){ wide.x, y0 }, (struct vec2){ -1, 0 },
                   (y1 - y0) * p->scale / 1000.0);
}
