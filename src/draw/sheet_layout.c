/* sheet_layout.c - which paper, which scale, which way round, and where plan and notes stand on it. */
#include <math.h>

#include "draw/sheet_int.h"

#define MARGIN_MM SHEET_MARGIN_MM
#define HEAD_MM SHEET_HEAD_MM
#define FOOT_MM SHEET_FOOT_MM
#define DIMENSION_MM SHEET_DIMENSION_MM
#define NOTES_MM (NOTE_APART_MM + NOTE_MM)
#define FIGURE_FOOT_MM 27.0 /* of a figure: legend, keys, scale */

/* Sources: ISO 216 and ANSI/ASME Y14.1 (sizes). */
enum { PAPER_A4, PAPER_A3, PAPER_LETTER };
static const struct {
    const char *name;
    double w_mm, h_mm;
} PAPERS[] = { { "A4", 297, 210 }, { "A3", 420, 297 }, { "Letter", 279.4, 215.9 } };

/* Of a house that is drawn on one paper only. */
static uint32_t only_paper(const struct sheet *s)
{
    return s->options->paper == DRAW_ON_LETTER ? PAPER_LETTER : PAPER_A4;
}

/* Room for a plan and what stands beside it. */
static struct vec2 paper_room(uint32_t paper)
{
    return (struct vec2){ PAPERS[paper].w_mm - 2.0 * MARGIN_MM - DIMENSION_MM,
                          PAPERS[paper].h_mm - HEAD_MM - FOOT_MM - DIMENSION_MM };
}

static bool fits_room(struct vec2 room_mm, double scale, struct vec2 span_m, double side_mm)
{
    return span_m.x * 1000.0 / scale <= room_mm.x - side_mm && span_m.y * 1000.0 / scale <= room_mm.y;
}

static bool fits(uint32_t paper, double scale, struct vec2 span_m, double side_mm)
{
    return fits_room(paper_room(paper), scale, span_m, side_mm);
}

/* The largest scale in this room.  Source: ISO 5455 (reductions 1:2, 1:5, 1:10 and their tenfolds), which permits scales between
 * them where they are needed: a whole house on small paper needs them. */
static double choose_scale(struct vec2 span_m, double side_mm, struct vec2 room_mm)
{
    static const double STEPS[] = { 20, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750 };
    for (double ten = 1.0; ten < 1e5; ten *= 10.0)
        for (uint32_t i = ten > 1.0 ? 3 : 0; i < RT_COUNT(STEPS); i++)
            if (fits_room(room_mm, STEPS[i] * ten, span_m, side_mm))
                return STEPS[i] * ten;
    return 1e7;
}

/* The largest scale of ISO 5455, on the smaller paper if that will do. */
static double choose_iso_paper(struct vec2 span_m, double side_mm, uint32_t least_paper, uint32_t *paper)
{
    static const double STEPS[] = { 2, 5, 10 };
    for (double ten = 10.0; ten < 1e7; ten *= 10.0)
        for (uint32_t i = 0; i < RT_COUNT(STEPS); i++)
            for (*paper = least_paper; *paper <= PAPER_A3; ++*paper) {
                const double scale = STEPS[i] * ten;
                if (fits(*paper, scale, span_m, side_mm))
                    return scale;
                if (scale < 50.0)
                    break; /* the larger paper is not worth so large a plan */
            }
    *paper = PAPER_A3;
    return 1e7;
}

static double choose_paper(const struct sheet *s, struct vec2 span_m, double side_mm, uint32_t least_paper,
                           uint32_t *paper)
{
    if (s->options->paper == DRAW_ON_ISO)
        return choose_iso_paper(span_m, side_mm, least_paper, paper);
    *paper = only_paper(s);
    return choose_scale(span_m, side_mm, paper_room(*paper));
}

static struct vec2 span_of(const struct house *h, uint32_t floor, bool turned)
{
    struct vec2 lo, hi;
    plan_bounds(h, floor, &lo, &hi);
    const struct vec2 d = vec2_sub(hi, lo);
    return turned ? (struct vec2){ d.y, d.x } : d;
}

/* All floors of a house lie the same way round: the way that lets them be drawn larger. */
static bool house_is_turned(const struct sheet *s)
{
    const struct house *h = s->house;
    double gain = 0.0;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        uint32_t paper[2];
        const double upright = choose_paper(s, span_of(h, i, false), NOTES_MM, PAPER_A4, &paper[0]);
        const double turned = choose_paper(s, span_of(h, i, true), NOTES_MM, PAPER_A4, &paper[1]);
        gain += log(upright / turned) + 0.3 * ((double)paper[0] - (double)paper[1]);
    }
    return gain > 1e-9;
}

/* Notes stand on the side of the plan that is nearer to their spots, so that leader lines do not run across it: in a column on
 * either side if the paper has room for two, else all where the lines are shorter. */
static void choose_sides(struct sheet *s, struct vec2 span_m, uint32_t paper)
{
    const double middle_mm = s->plan.x_mm + plan_mm(&s->plan, span_m.x) / 2.0;
    double right_of_middle_mm = 0.0;
    for (uint32_t i = 0; i < s->notes.n; i++) {
        const double off_mm = plan_at(&s->plan, s->notes.v[i].note->at_m).x - middle_mm;
        s->notes.v[i].is_left = off_mm < 0.0;
        right_of_middle_mm += off_mm;
    }
    const bool has_room = fits(paper, s->plan.scale, span_m, 2.0 * NOTES_MM);
    for (uint32_t i = 0; i < s->notes.n && !has_room; i++)
        s->notes.v[i].is_left = right_of_middle_mm < 0.0;
}

double sheet_side_mm(const struct sheet *s) { return sheet_is_small(s) ? 68.0 : 104.0; }

static bool has_column(const struct sheet *s, bool left)
{
    bool found = false;
    for (uint32_t i = 0; i < s->notes.n; i++)
        found = found || s->notes.v[i].is_left == left;
    return found;
}

static void take(struct sheet *s, uint32_t paper)
{
    s->paper = PAPERS[paper].name;
    s->w_mm = PAPERS[paper].w_mm;
    s->h_mm = PAPERS[paper].h_mm;
}

/* The plan at the largest scale that fits the figure, which becomes as high as that asks for.  Spots of notes are marked; their words
 * stand in the text around it. */
static void lay_out_figure(struct sheet *s)
{
    const struct draw_options *o = s->options;
    const struct vec2 span_m = span_of(s->house, s->plan.floor, s->plan.is_turned);
    const struct vec2 room_mm = { o->figure_w_mm - DIMENSION_MM - 1.0, o->figure_h_mm - DIMENSION_MM - FIGURE_FOOT_MM };
    s->plan.scale = choose_scale(span_m, 0.0, room_mm);
    s->paper = "";
    s->w_mm = o->figure_w_mm;
    s->h_mm = DIMENSION_MM + plan_mm(&s->plan, span_m.y) + FIGURE_FOOT_MM;
    s->plan.x_mm = DIMENSION_MM;
    s->plan.y_mm = DIMENSION_MM;
}

void sheet_lay_out(struct sheet *s)
{
    const struct grid *g = &s->fields->grids.v[s->subject.grid];
    s->plan = (struct plan){ .house = s->house, .floor = g->floor, .height_m = g->height_m };
    plan_bounds(s->house, g->floor, &s->plan.lo, &s->plan.hi);
    sheet_find_notes(s);
    if (s->failed)
        return;
    uint32_t paper;
    s->plan.is_turned = house_is_turned(s);
    if (sheet_is_figure(s)) {
        lay_out_figure(s);
        return;
    }
    const struct vec2 span_m = span_of(s->house, g->floor, s->plan.is_turned);
    const bool is_cable = s->subject.what == DRAW_CABLE; /* its tables stand beside the plan */
    const double side_mm = is_cable ? sheet_side_mm(s) : s->notes.n ? NOTES_MM : 0.0;
    s->plan.scale = choose_paper(s, span_m, side_mm, is_cable ? PAPER_A3 : PAPER_A4, &paper);
    take(s, paper);
    const double plan_w = plan_mm(&s->plan, span_m.x), plan_h = plan_mm(&s->plan, span_m.y);
    if (!is_cable)
        choose_sides(s, span_m, paper);
    const double left_w = has_column(s, true) ? NOTES_MM : 0.0;
    const double right_w = is_cable ? side_mm : has_column(s, false) ? NOTES_MM : 0.0;
    s->plan.x_mm = left_w + (s->w_mm - plan_w - left_w - right_w + DIMENSION_MM) / 2.0;
    s->plan.y_mm = HEAD_MM + DIMENSION_MM + (s->h_mm - HEAD_MM - FOOT_MM - DIMENSION_MM - plan_h) / 2.0;
    sheet_sort_notes(s);
    sheet_place_notes(s, true, s->plan.x_mm - DIMENSION_MM - NOTE_APART_MM, HEAD_MM, s->h_mm - FOOT_MM);
    sheet_place_notes(s, false, s->plan.x_mm + plan_w + NOTE_APART_MM, HEAD_MM, s->h_mm - FOOT_MM);
}

void sheet_lay_out_blank(struct sheet *s)
{
    s->plan = (struct plan){ .house = s->house, .floor = NO_REF };
    sheet_take_paper(s, PAPER_A3);
}

void sheet_take_paper(struct sheet *s, uint32_t paper)
{
    take(s, s->options->paper == DRAW_ON_ISO ? paper : only_paper(s));
}
