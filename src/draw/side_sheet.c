#include "draw/side_sheet.h"

#include <math.h>

#include "base/file.h"
#include "base/units.h"
#include "draw/field_sheet.h"
#include "draw/sheet_output.h"
#include "draw/sheet_text.h"

#define APART_MM 8.0       /* between the halves */
#define HEAD_GAP_MM 3.0    /* below the names of the houses */
#define LINES_GAP_MM 4.0   /* between a plan and what is said under it */
#define KEY_GAP_MM 1.0     /* between that and the names of small rooms */
#define USUAL_TEXT_MM 30.0 /* of a half's height, for its texts, where they are not known yet */
#define NORTH_MM 16.0      /* kept for an arrow right of a house's name */

struct half {
    struct sheet s; /* a sheet of its own in all but the paper */
    struct field_sheet *field;
    double x_mm, w_mm;             /* where it begins, how wide it is */
    struct text_block head, lines; /* above and under the plan */
    double lines_mm;               /* from the paper's upper edge */
    double key_mm;                 /* height kept for the names of small rooms, under the lines */
};

struct side_sheet {
    struct sheet s;
    const struct side_pair *pair;
    const struct side_spot *at;
    struct side_difference difference;
    struct half half[2];
};

static const char *const SIDES[2] = { "left", "right" };

static bool has_band(const struct side_pair *pair, const struct draw_options *o, int k, enum band band)
{
    return raster_count_access_points(pair->fields[k], o, band) > 0;
}

/* ---- which sheets ---- */

static void warn_nothing(const struct side_pair *pair, const struct draw_options *o, bool floors_meet,
                         struct rt_problems *p)
{
    if (!floors_meet)
        rt_warn(p, RT_MISSING, RT_NOWHERE, "give a floor the same id in both house files",
                "nothing is drawn side by side: no floor that is asked for is in both houses");
    for (uint32_t band = 0; band < BAND_COUNT; band++)
        if (o->bands & 1u << band && !has_band(pair, o, 0, (enum band)band) && !has_band(pair, o, 1, (enum band)band))
            rt_warn(p, RT_MISSING, RT_NOWHERE, "ask for another band, or switch on a radio in `equipment`",
                    "nothing is drawn at %s GHz: in neither house an access point sends there that a %.*s hears",
                    band_name((enum band)band), STR_ARG(o->device_name));
}

/* A floor of the first house in both; false if the second has none. */
static bool floor_of_both(const struct side_pair *pair, uint32_t floor, struct side_spot *out)
{
    const struct fields *f = pair->fields[0];
    uint32_t grid = 0;
    while (grid < f->grids.n && f->grids.v[grid].floor != floor)
        grid++;
    const uint32_t other = house_find_floor(pair->house[1], pair->house[0]->floors.v[floor].id);
    if (grid == f->grids.n || other == NO_REF)
        return false;
    *out = (struct side_spot){ .floor = { floor, other } };
    out->grid[0] = grid;
    out->grid[1] = field_grid_at(pair->fields[1], other, f->grids.v[grid].height_m);
    return out->grid[1] != NO_REF;
}

enum rt_code side_spots(const struct run *run, const struct side_pair *pair, const struct draw_options *options,
                        struct side_spot **out, uint32_t *n, struct rt_problems *p)
{
    VEC(struct side_spot) list = { 0 };
    bool floors_meet = false;
    for (uint32_t floor = 0; floor < pair->house[0]->floors.n; floor++) {
        struct side_spot spot;
        if ((options->floor != NO_REF && options->floor != floor) || !floor_of_both(pair, floor, &spot))
            continue;
        floors_meet = true;
        for (uint32_t band = 0; band < BAND_COUNT; band++) {
            spot.band = (enum band)band;
            if ((options->bands && !(options->bands & 1u << band)) ||
                (!has_band(pair, options, 0, spot.band) && !has_band(pair, options, 1, spot.band)))
                continue;
            if (!VEC_PUSH(run->arena, &list, spot))
                return rt_fail_memory(p);
        }
    }
    warn_nothing(pair, options, floors_meet, p);
    *out = list.v;
    *n = list.n;
    return RT_OK;
}

/* ---- words ---- */

static struct str share_words(struct sheet *s, double share)
{
    if (share > 0.0 && share < 0.005)
        return STR("under 1 %");
    if (share < 1.0 && share > 0.995)
        return STR("over 99 %");
    return sheet_text(s, "%.0f %%", 100.0 * share);
}

static struct str joined(struct sheet *s, const str_list *names)
{
    struct buf b = { .arena = s->arena };
    for (uint32_t i = 0; i < names->n; i++)
        buf_printf(&b, "%s%.*s", i == 0 ? "" : ", ", STR_ARG(names->v[i]));
    s->failed = s->failed || b.failed;
    return b.failed ? STR("") : buf_done(&b);
}

/* What is said under the plan of a house: how much of the area is better or worse there ... */
static struct str area_words(struct side_sheet *d, int k)
{
    const struct side_difference *diff = &d->difference;
    const double better = diff->better_share[k], worse = diff->better_share[1 - k];
    const char *other = SIDES[1 - k];
    struct sheet *s = &d->s;
    if (!has_band(d->pair, s->options, 0, d->at->band) || !has_band(d->pair, s->options, 1, d->at->band))
        return STR("");
    if (!diff->has_area)
        return STR("The houses have no place in common here.");
    if (better <= 0.0 && worse <= 0.0)
        return sheet_text(s, "Nowhere more than %g dB better or worse than on the %s.", SIDE_MORE_DB, other);
    const struct str more = share_words(s, better), less = share_words(s, worse);
    return sheet_text(s, "More than %g dB better than on the %s in %.*s of the area, more than %g dB worse in %.*s.",
                      SIDE_MORE_DB, other, STR_ARG(more), SIDE_MORE_DB, STR_ARG(less));
}

/* ... and the rooms in which a promise stands otherwise. */
static struct str room_words(struct side_sheet *d, int k)
{
    const struct side_difference *diff = &d->difference;
    const char *other = SIDES[1 - k];
    struct sheet *s = &d->s;
    const struct str here = joined(s, &diff->only_kept[k]), there = joined(s, &diff->only_kept[1 - k]);
    if (diff->n_promises == 0)
        return STR("");
    if (!here.n && !there.n)
        return sheet_text(s, "Promised signal stands as on the %s in every room.", other);
    if (!there.n)
        return sheet_text(s, "Rooms where promised signal is kept only here: %.*s.", STR_ARG(here));
    if (!here.n)
        return sheet_text(s, "Rooms where promised signal is kept only on the %s: %.*s.", other, STR_ARG(there));
    return sheet_text(s, "Rooms where promised signal is kept only here: %.*s; only on the %s: %.*s.", STR_ARG(here),
                      other, STR_ARG(there));
}

static struct str without_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    return str_from(slash ? slash + 1 : path);
}

/* The name of the house's file; with its folders if both files have the same. */
static struct str file_name(const struct side_pair *pair, int k)
{
    const struct str name = without_folder(pair->house[k]->path);
    return str_eq(name, without_folder(pair->house[1 - k]->path)) ? str_from(pair->house[k]->path) : name;
}

static bool north_differs(const struct side_pair *pair)
{
    const double a_deg = pair->house[0]->north_deg, b_deg = pair->house[1]->north_deg;
    return is_given(a_deg) != is_given(b_deg) || (is_given(a_deg) && fabs(remainder(a_deg - b_deg, 360.0)) > 0.5);
}

/* Names of numbered rooms beside one another, broken between names; written if `y_mm` is given.  Returns the height. */
static double key_mm(struct sheet *s, const struct half *half, str_list names, const double *y_mm)
{
    const double line_mm = pen_measure(&s->pen, TEXT_KEY, STR("x")).h_mm;
    double x_mm = half->x_mm, below_mm = 0.0;
    for (uint32_t i = 0; i < names.n; i++) {
        const double w_mm = pen_measure(&s->pen, TEXT_KEY, names.v[i]).w_mm;
        if (x_mm > half->x_mm && x_mm + w_mm > half->x_mm + half->w_mm) {
            x_mm = half->x_mm;
            below_mm += line_mm;
        }
        if (y_mm)
            sheet_put(s, TEXT_KEY, INK_LINE, names.v[i], x_mm, *y_mm + KEY_GAP_MM + below_mm);
        x_mm += w_mm + 5.0;
    }
    return names.n ? KEY_GAP_MM + below_mm + line_mm : 0.0;
}

static void make_texts(struct side_sheet *d, int k)
{
    struct half *half = &d->half[k];
    struct sheet *s = &d->s;
    const struct house *h = d->pair->house[k];
    half->head = (struct text_block){ .s = s, .w_mm = half->w_mm - (north_differs(d->pair) ? NORTH_MM : 0.0) };
    half->lines = (struct text_block){ .s = s, .w_mm = half->w_mm };
    text_block_add(&half->head, TEXT_NOTE_HEAD, INK_LINE, h->name);
    text_block_add(&half->head, TEXT_SOFT, INK_SOFT, file_name(d->pair, k));
    const double height_m = half->s.plan.height_m;
    if (k == 1 && fabs(height_m - d->half[0].s.plan.height_m) > 5e-3)
        text_block_add(&half->head, TEXT_SOFT, INK_SOFT,
                       sheet_text(s, "%.*s m above the floor", STR_ARG(sheet_figure(s->arena, height_m))));
    if (!has_band(d->pair, s->options, k, d->at->band)) {
        text_block_space(&half->head, 1.0);
        text_block_add(&half->head, TEXT_HEAD, INK_LINE,
                       sheet_text(s, "No field: in this house no access point sends at %s GHz that a %.*s hears.",
                                  band_name(d->at->band), STR_ARG(s->options->device_name)));
    }
    text_block_add(&half->lines, TEXT_NOTE, INK_LINE, area_words(d, k));
    text_block_add(&half->lines, TEXT_NOTE, INK_LINE, room_words(d, k));
    /* Which rooms are too small for their names is known once they are drawn: there is space for all. */
    VEC(struct str) all = { 0 };
    for (uint32_t r = 0; r < h->rooms.n && !s->failed; r++)
        if (h->rooms.v[r].floor.i == d->at->floor[k])
            s->failed =
                !VEC_PUSH(s->arena, &all, sheet_text(s, "%u  %.*s", r + 1, STR_ARG(plan_room_name(s->arena, h, r))));
    half->key_mm = key_mm(s, half, (str_list){ all.v, all.n }, NULL);
}

/* ---- layout ---- */

struct span {
    struct vec2 lo, hi;
};

static struct span span_of(const struct side_pair *pair, const struct side_spot *at, int k)
{
    struct span span;
    plan_bounds(pair->house[k], at->floor[k], &span.lo, &span.hi);
    return span;
}

/* The least scale at which the plans fit.  Source: ISO 5455; 1:25 and 1:75 and their tenfolds are its intermediate scales, for
 * otherwise a house of 10 m would fill but a third of a half. */
static double choose_scale(struct vec2 span_m, double w_mm, double h_mm)
{
    static const double STEPS[] = { 20, 25, 50, 75, 100 };
    for (double ten = 1.0; ten < 1e6; ten *= 10.0)
        for (uint32_t i = 0; i < RT_COUNT(STEPS); i++)
            if (span_m.x * 1000.0 / (STEPS[i] * ten) <= w_mm && span_m.y * 1000.0 / (STEPS[i] * ten) <= h_mm)
                return STEPS[i] * ten;
    return 1e7;
}

static struct vec2 size_of(struct span span, bool turned)
{
    const struct vec2 d = vec2_sub(span.hi, span.lo);
    return turned ? (struct vec2){ d.y, d.x } : d;
}

/* Both plans span what both floors span together, so that a spot lies in the same place of either half; if that would make them
 * smaller, each its own. */
static double choose_spans(const struct side_pair *pair, const struct side_spot *at, bool turned, double w_mm,
                           double h_mm, struct span out[2])
{
    for (int k = 0; k < 2; k++)
        out[k] = span_of(pair, at, k);
    const struct span both = { { fmin(out[0].lo.x, out[1].lo.x), fmin(out[0].lo.y, out[1].lo.y) },
                               { fmax(out[0].hi.x, out[1].hi.x), fmax(out[0].hi.y, out[1].hi.y) } };
    const double scale =
        fmax(choose_scale(size_of(out[0], turned), w_mm, h_mm), choose_scale(size_of(out[1], turned), w_mm, h_mm));
    if (choose_scale(size_of(both, turned), w_mm, h_mm) <= scale)
        out[0] = out[1] = both;
    return scale;
}

/* All floors lie the same way round: the way that lets them be drawn larger. */
static bool pair_is_turned(const struct side_pair *pair, double w_mm, double h_mm)
{
    double gain = 0.0;
    for (uint32_t floor = 0; floor < pair->house[0]->floors.n; floor++) {
        struct side_spot at;
        struct span span[2];
        if (floor_of_both(pair, floor, &at))
            gain += log(choose_spans(pair, &at, false, w_mm, h_mm, span)) -
                    log(choose_spans(pair, &at, true, w_mm, h_mm, span));
    }
    return gain > 1e-9;
}

/* The plan narrowed to what its own floor spans, on the same spot of the paper: dimensions then stand close to it. */
static void narrow(struct plan *plan, struct span own)
{
    const struct vec2 corner = plan_at(plan, plan->is_turned ? own.lo : (struct vec2){ own.lo.x, own.hi.y });
    plan->lo = own.lo;
    plan->hi = own.hi;
    plan->x_mm = corner.x;
    plan->y_mm = corner.y;
}

static void lay_out(struct side_sheet *d)
{
    struct sheet *s = &d->s;
    double head_mm = 0.0, lines_mm = 0.0, high_mm = 0.0;
    for (int k = 0; k < 2; k++) {
        struct half *half = &d->half[k];
        half->w_mm = (s->w_mm - 2.0 * SHEET_MARGIN_MM - APART_MM) / 2.0;
        half->x_mm = SHEET_MARGIN_MM + k * (half->w_mm + APART_MM);
        half->s.plan = (struct plan){ .house = d->pair->house[k],
                                      .floor = d->at->floor[k],
                                      .height_m = d->pair->fields[k]->grids.v[d->at->grid[k]].height_m };
        make_texts(d, k);
        head_mm = fmax(head_mm, text_block_mm(&half->head));
        lines_mm = fmax(lines_mm, text_block_mm(&half->lines) + half->key_mm);
    }
    const double w_mm = d->half[0].w_mm - SHEET_DIMENSION_MM;
    const double room_mm = s->h_mm - SHEET_HEAD_MM - SHEET_FOOT_MM - SHEET_DIMENSION_MM;
    const double top_mm = SHEET_HEAD_MM + head_mm + HEAD_GAP_MM + SHEET_DIMENSION_MM;
    const double h_mm = s->h_mm - SHEET_FOOT_MM - lines_mm - LINES_GAP_MM - top_mm;
    const bool turned = pair_is_turned(d->pair, w_mm, room_mm - USUAL_TEXT_MM);
    struct span span[2];
    const double scale = choose_spans(d->pair, d->at, turned, w_mm, h_mm, span);
    for (int k = 0; k < 2; k++) {
        struct plan *plan = &d->half[k].s.plan;
        plan->lo = span[k].lo;
        plan->hi = span[k].hi;
        plan->scale = scale;
        plan->is_turned = turned;
        high_mm = fmax(high_mm, plan_mm(plan, size_of(span[k], turned).y));
    }
    for (int k = 0; k < 2; k++) {
        struct half *half = &d->half[k];
        const double wide_mm = plan_mm(&half->s.plan, size_of(span[k], turned).x);
        half->s.plan.x_mm = half->x_mm + SHEET_DIMENSION_MM + (w_mm - wide_mm) / 2.0;
        half->s.plan.y_mm = top_mm + fmax(0.0, h_mm - high_mm) / 2.0;
        half->lines_mm = half->s.plan.y_mm + high_mm + LINES_GAP_MM;
        narrow(&half->s.plan, span_of(d->pair, d->at, k));
    }
    s->plan = d->half[0].s.plan;
}

/* ---- painting ---- */

static struct str names_of_both(struct sheet *s, const struct side_pair *pair)
{
    const struct str a = pair->house[0]->name, b = pair->house[1]->name;
    const struct str both = str_eq(a, b) ? a : sheet_text(s, "%.*s, %.*s", STR_ARG(a), STR_ARG(b));
    return pen_measure(&s->pen, TEXT_VALUE, both).w_mm < 80.0 ? both : STR("two houses");
}

static struct sheet_words words_of(struct side_sheet *d)
{
    struct sheet *s = &d->s;
    struct sheet_words w = field_sheet_words(d->half[0].field);
    const enum estimate left = d->pair->fields[0]->options.trace.estimate;
    const enum estimate right = d->pair->fields[1]->options.trace.estimate;
    w.head =
        sheet_text(s, "%.*s, two houses side by side: the strongest access point at each spot", STR_ARG(w.drawing));
    w.house = names_of_both(s, d->pair);
    if (left != right) {
        w.soft = sheet_text(s, "%.*s on the left, by the %s one on the right.", (int)w.soft.n - 1, w.soft.p,
                            estimate_name(right));
        w.estimate = sheet_text(s, "%s, %s", estimate_name(left), estimate_name(right));
    }
    w.no_north = north_differs(d->pair);
    return w;
}

/* Texts beside the plan come first: what is written in it keeps clear of them. */
static void write_half(struct side_sheet *d, struct half *half)
{
    text_block_put(&half->head, half->x_mm, SHEET_HEAD_MM);
    text_block_put(&half->lines, half->x_mm, half->lines_mm);
    label_block_box(&d->s.space, (struct draw_box){ half->x_mm, half->lines_mm + text_block_mm(&half->lines),
                                                    half->w_mm, half->key_mm });
}

static void paint_half(struct side_sheet *d, struct half *half)
{
    struct sheet *s = &d->s;
    half->s.pen = s->pen;
    half->s.space = s->space;
    field_sheet_paint_plan(half->field);
    s->space = half->s.space;
    s->failed = s->failed || half->s.failed;
    s->marks |= half->s.marks;
    const double under_mm = half->lines_mm + text_block_mm(&half->lines);
    key_mm(s, half, half->s.room_key, &under_mm);
    if (north_differs(d->pair))
        sheet_draw_north(&half->s, (struct vec2){ half->x_mm + half->w_mm - NORTH_MM / 2.0, SHEET_HEAD_MM + 6.0 });
}

static void paint(struct sheet *s, void *user)
{
    struct side_sheet *d = user;
    sheet_begin(s);
    pen_ink(&s->pen, INK_HAIR);
    pen_line(&s->pen, (struct vec2){ s->w_mm / 2.0, SHEET_HEAD_MM },
             (struct vec2){ s->w_mm / 2.0, s->h_mm - SHEET_FOOT_MM }, 0.25);
    s->marks = 0;
    for (int k = 0; k < 2; k++)
        write_half(d, &d->half[k]);
    for (int k = 0; k < 2; k++)
        paint_half(d, &d->half[k]);
    const struct legend legend = field_sheet_common_legend(d->half[0].field, d->half[1].field);
    const struct sheet_words words = words_of(d);
    sheet_finish(s, &words, &legend);
}

/* ---- one sheet ---- */

static struct str name_of(struct arena *a, const struct side_pair *pair, const struct side_spot *at)
{
    struct buf b = { .arena = a };
    buf_printf(&b, "%.*s-compared-", STR_ARG(pair->house[0]->floors.v[at->floor[0]].id));
    sheet_write_band(&b, at->band);
    buf_text(&b, "ghz");
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

static bool prepare(struct side_sheet *d, const struct run *run, const struct draw_options *options)
{
    static const struct field_kind SIGNAL = FIELD_KIND_SIGNAL;
    struct sheet *s = &d->s;
    sheet_lay_out_blank(s);
    lay_out(d);
    for (int k = 0; k < 2 && !s->failed; k++) {
        struct sheet *half = &d->half[k].s;
        half->arena = run->arena;
        half->pen = s->pen;
        half->house = d->pair->house[k];
        half->fields = d->pair->fields[k];
        half->options = options;
        half->subject = (struct draw_subject){ .what = DRAW_SIGNAL, .grid = d->at->grid[k], .band = d->at->band };
        half->paper = s->paper;
        half->w_mm = s->w_mm;
        half->h_mm = s->h_mm;
        d->half[k].field = field_sheet_prepare(half, &SIGNAL);
        s->failed = s->failed || !d->half[k].field;
    }
    return !s->failed;
}

enum rt_code side_draw_one(const struct run *run, const struct side_pair *pair, const struct draw_options *options,
                           struct side_spot at, struct draw_sheet *out, struct rt_problems *p)
{
    struct side_sheet *d = ARENA_NEW(run->arena, struct side_sheet);
    *out = (struct draw_sheet){ .name = name_of(run->arena, pair, &at) };
    if (!d || !out->name.p)
        return rt_fail_memory(p);
    d->pair = pair;
    d->at = &at;
    d->s =
        (struct sheet){ .arena = run->arena, .house = pair->house[0], .fields = pair->fields[0], .options = options };
    d->s.subject = (struct draw_subject){ .what = DRAW_SIGNAL, .grid = at.grid[0], .band = at.band };
    RT_TRY(side_compare(run, pair, options, &at, &d->difference, p));
    if (!pen_init(&d->s.pen, NULL))
        return sheet_no_font(p);
    enum rt_code code = prepare(d, run, options) ? RT_OK : rt_fail_memory(p);
    const struct str floor = pair->house[0]->floors.v[at.floor[0]].id;
    const char *title =
        arena_printf(run->arena, "%.*s (%.*s) and %.*s (%.*s) side by side, %.*s: signal at %s GHz",
                     STR_ARG(pair->house[0]->name), STR_ARG(file_name(pair, 0)), STR_ARG(pair->house[1]->name),
                     STR_ARG(file_name(pair, 1)), STR_ARG(floor), band_name(at.band));
    if (!code)
        code = sheet_output(&d->s, paint, d, str_from(title ? title : ""), out, p);
    pen_release(&d->s.pen);
    return code;
}

/* ---- all sheets ---- */

static enum rt_code draw_and_write(const struct run *run, const struct side_pair *pair,
                                   const struct draw_options *options, const char *folder, const struct side_spot *at,
                                   struct draw_files *out, struct rt_problems *p)
{
    struct sheet_paths paths;
    const struct str name = name_of(run->arena, pair, at);
    if (!name.p)
        return rt_fail_memory(p);
    RT_TRY(sheet_paths_make(run->arena, folder, name, &paths, p));
    const struct arena_mark before = arena_mark(run->arena);
    struct draw_sheet sheet;
    RT_TRY(side_draw_one(run, pair, options, *at, &sheet, p));
    RT_TRY(sheet_write(&sheet, &paths, out, p));
    arena_reset(run->arena, before);
    return RT_OK;
}

enum rt_code draw_side_by_side(const struct run *run, const struct house *const h[2], const struct fields *const f[2],
                               const struct draw_options *options, const char *folder, struct draw_files *out,
                               struct rt_problems *p)
{
    const struct side_pair pair = { { h[0], h[1] }, { f[0], f[1] } };
    struct side_spot *spots;
    uint32_t n;
    *out = (struct draw_files){ 0 };
    RT_TRY(side_spots(run, &pair, options, &spots, &n, p));
    out->paths.v = ARENA_ARRAY(run->arena, struct str, 2 * (size_t)n);
    if (!out->paths.v)
        return rt_fail_memory(p);
    RT_TRY(file_make_folder(folder, p));
    for (uint32_t i = 0; i < n; i++) {
        if (run_is_cancelled(run))
            return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "drawing was stopped; %u files are written",
                           (unsigned)out->paths.n);
        run_report(run, "drawing side by side", (double)i / n);
        RT_TRY(draw_and_write(run, &pair, options, folder, &spots[i], out, p));
    }
    run_report(run, "drawing side by side", 1.0);
    return RT_OK;
}
