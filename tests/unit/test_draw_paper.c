/* Every sheet of the demo houses on the paper of a book: all of it on the paper, nothing on another, true to a printed scale. */
#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "draw/gather.h"
#include "promise/evaluation.h"
#include "sheet_kit.h"

/* The sheets' frame is printed 7 mm from the edge: printers at home leave about 5 (common practice, no source). */
#define FRAME_MM 7.0

struct stage {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    const struct fields *fields;
    struct draw_options options;
};

/* Filled where it stays: what is made keeps pointers into it. */
static void stage_begin(struct stage *s, const char *path, uint32_t what)
{
    static const struct radio_ability PHONE = { .phy = PHY_AX,
                                                .bands = 7,
                                                .streams = 2,
                                                .width_mhz = 80,
                                                .power_dbm = 15,
                                                .gain_dbi = -3,
                                                .body_loss_db = 3,
                                                .noise_figure_db = 7 };
    *s = (struct stage){ .c = check_run_begin() };
    CHECK_OK(&s->c, house_read(&s->c.run, check_path(&s->c, path), &s->h, &s->c.problems));
    struct field_options options = evaluation_default_options(s->h);
    options.cell_m = 1.0; /* coarse: where texts stand is looked at, not what the field is */
    CHECK_OK(&s->c, evaluation_begin(&s->ev, &s->c.run, s->h, options, &s->c.problems));
    s->ev.run = &s->c.run;
    s->options = draw_options_usual(&PHONE, STR("phone"));
    s->options.what = what;
    s->options.page_words = STR("page 188 of 199");
    CHECK_OK(&s->c, draw_gather(&s->ev, &s->options, &s->fields, &s->c.problems));
}

static struct draw_sheet drawn(struct stage *s, struct draw_subject subject)
{
    struct draw_sheet sheet;
    cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR, NULL);
    cairo_t *cr = cairo_create(surface);
    CHECK_OK(&s->c, draw_onto(&s->c.run, s->h, s->fields, &s->options, subject, cr, &sheet, &s->c.problems));
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    return sheet;
}

static void check_all_texts(struct stage *s, const struct draw_sheet *sheet, double edge_mm)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++) {
        const struct draw_label *a = &sheet->labels.v[i];
        if (a->box.x_mm < edge_mm || a->box.y_mm < edge_mm || a->box.x_mm + a->box.w_mm > sheet->w_mm - edge_mm ||
            a->box.y_mm + a->box.h_mm > sheet->h_mm - edge_mm)
            check_text(arena_printf(s->c.run.arena, "%.*s: a text off the paper", STR_ARG(sheet->name)), a->text,
                       STR("(on it)"), __FILE__, __LINE__);
        for (uint32_t k = 0; k < i; k++)
            if (boxes_touch(a->box, sheet->labels.v[k].box))
                check_text(arena_printf(s->c.run.arena, "%.*s: a text on another", STR_ARG(sheet->name)), a->text,
                           sheet->labels.v[k].text, __FILE__, __LINE__);
    }
}

/* Source: ISO 5455: 1:2, 1:5, 1:10 and their tenfolds, and scales between them where they are needed. */
static void check_scale(const struct draw_sheet *sheet)
{
    static const double SCALES[] = { 5, 10, 20, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000 };
    bool is_known = sheet->scale == 0.0;
    for (size_t i = 0; i < RT_COUNT(SCALES); i++)
        is_known |= sheet->scale == SCALES[i];
    CHECK("a scale of the list", is_known);
    if (sheet->scale > 0.0 && sheet->scale_bar_m > 0.0)
        CHECK_NEAR("scale bar", sheet->scale_bar.w_mm * sheet->scale / 1000.0, sheet->scale_bar_m, 1e-9, "m");
}

/* Sources: ISO 216, A4 210 x 297 mm; ANSI/ASME Y14.1, A 8.5 x 11 inches, an inch being 25.4 mm. */
static const struct {
    enum draw_paper paper;
    double w_mm, h_mm;
} PAPERS[] = { { DRAW_ON_A4, 297.0, 210.0 }, { DRAW_ON_LETTER, 11.0 * 25.4, 8.5 * 25.4 } };

/* papers: bits 1 << enum draw_paper. */
static void check_house(const char *path, uint32_t what, uint32_t papers)
{
    struct stage s;
    stage_begin(&s, path, what);
    for (size_t k = 0; k < RT_COUNT(PAPERS); k++) {
        struct draw_subject *subjects;
        uint32_t n;
        if (!(papers & 1u << PAPERS[k].paper))
            continue;
        s.options.paper = PAPERS[k].paper;
        s.options.figure_w_mm = 0.0;
        CHECK_OK(&s.c, draw_subjects(&s.c.run, s.h, s.fields, &s.options, &subjects, &n, &s.c.problems));
        CHECK("sheets", n > 5);
        for (uint32_t i = 0; i < n; i++) {
            const struct draw_sheet sheet = drawn(&s, subjects[i]);
            CHECK_NEAR("wide", sheet.w_mm, PAPERS[k].w_mm, 1e-9, "mm");
            CHECK_NEAR("high", sheet.h_mm, PAPERS[k].h_mm, 1e-9, "mm");
            check_all_texts(&s, &sheet, FRAME_MM);
            check_scale(&sheet);
            if (subjects[i].grid == NO_REF)
                continue;
            s.options.figure_w_mm = 168.0;
            s.options.figure_h_mm = 104.0;
            const struct draw_sheet figure = drawn(&s, subjects[i]);
            CHECK("no higher than it may be", figure.w_mm == 168.0 && figure.h_mm <= 104.0);
            check_all_texts(&s, &figure, 0.0);
            check_scale(&figure);
            s.options.figure_w_mm = 0.0;
        }
    }
    check_run_end(&s.c);
}

enum { ALL_BUT_FAILURES = DRAW_ALL_WHAT & ~DRAW_FAILURES };

TEST(larch_end) { check_house("houses/larch_end.house.yaml", ALL_BUT_FAILURES, 1u << DRAW_ON_A4); }
TEST(quay_flat) { check_house("houses/quay_flat.house.yaml", DRAW_ALL_WHAT, 1u << DRAW_ON_A4 | 1u << DRAW_ON_LETTER); }
TEST(whin_farm) { check_house("houses/whin_farm.house.yaml", ALL_BUT_FAILURES, 1u << DRAW_ON_LETTER); }
