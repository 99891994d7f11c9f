/* Sheets of cables of the demo houses: everything of the plan is there, with its number and its length, at its true height; no
 * text covers another or leaves the paper. */
#include <expat.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "draw/cable_sheet.h"
#include "radio/field.h"
#include "wire/install.h"
#include "wire/ports.h"

struct stage {
    struct check_run c;
    struct house *h;
    struct cable_plan *plan;
    struct fields fields;
    struct draw_options options;
    struct draw_subject *subjects;
    uint32_t n;
};

static struct stage stage_begin(const char *path)
{
    static const struct radio_ability NONE = { 0 };
    struct stage s = { .c = check_run_begin() };
    CHECK_OK(&s.c, house_read(&s.c.run, check_path(&s.c, path), &s.h, &s.c.problems));
    struct wire_links links;
    struct port_plan *ports = NULL;
    CHECK_OK(&s.c, cables_plan(&s.c.run, s.h, &s.plan, &s.c.problems));
    CHECK_OK(&s.c, wire_links_judge(&s.c.run, s.plan, &links, &s.c.problems));
    CHECK_OK(&s.c, port_plan_make(&s.c.run, s.plan, &links, &ports, &s.c.problems));
    CHECK_OK(&s.c, grids_of_house(&s.c.run, s.h, 1.0, &s.fields, &s.c.problems));
    s.options = draw_options_usual(&NONE, STR("phone"));
    s.options.what = DRAW_CABLE;
    s.options.cables = s.plan;
    s.options.numbers = ports->numbers;
    CHECK_OK(&s.c, draw_subjects(&s.c.run, s.h, &s.fields, &s.options, &s.subjects, &s.n, &s.c.problems));
    return s;
}

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

TEST(texts_keep_clear_of_each_other)
{
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct stage s = stage_begin(HOUSES[f]);
        CHECK("there are sheets", s.n > 0);
        for (uint32_t i = 0; i < s.n; i++) {
            struct draw_sheet sheet;
            CHECK_OK(&s.c, draw_one(&s.c.run, s.h, &s.fields, &s.options, s.subjects[i], &sheet, &s.c.problems));
            CHECK("bytes", sheet.svg.n > 1000 && sheet.png.n > 1000);
            for (uint32_t a = 0; a < sheet.labels.n; a++) {
                const struct draw_box box = sheet.labels.v[a].box;
                CHECK("on the paper", box.x_mm > 0 && box.y_mm > 0 && box.x_mm + box.w_mm < sheet.w_mm &&
                                          box.y_mm + box.h_mm < sheet.h_mm);
                for (uint32_t b = 0; b < a; b++)
                    CHECK("apart", !label_boxes_touch(box, sheet.labels.v[b].box));
            }
        }
        check_run_end(&s.c);
    }
}

static uint32_t count_labels(const struct draw_sheet *sheet, struct str text)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < sheet->labels.n; i++)
        n += str_eq(sheet->labels.v[i].text, text);
    return n;
}

static bool is_page(const struct draw_subject *subject, const char *word)
{
    const size_t n = strlen(word);
    return subject->grid == NO_REF && subject->name.n > n && memcmp(subject->name.p, word, n) == 0;
}

static struct draw_sheet sheet_of(struct stage *s, uint32_t i)
{
    struct draw_sheet sheet = { 0 };
    CHECK_OK(&s->c, draw_one(&s->c.run, s->h, &s->fields, &s->options, s->subjects[i], &sheet, &s->c.problems));
    return sheet;
}

static const struct draw_label *label_of(const struct draw_sheet *sheet, struct str text)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++)
        if (str_eq(sheet->labels.v[i].text, text))
            return &sheet->labels.v[i];
    return NULL;
}

static struct str words(struct stage *s, const char *fmt, ...) RT_PRINTF(2, 3);
static struct str words(struct stage *s, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(s->c.run.arena, fmt, args);
    va_end(args);
    return str_from(made);
}

/* Larch End's ground floor, by its file: these lie there, and have room for their names. */
TEST(cables_are_named)
{
    static const char *const HERE[] = { "c_a1",         "c_television",  "c_console",     "c_bell",
                                        "c_desk_phone", "c_side_camera", "c_front_camera" };
    struct stage s = stage_begin(HOUSES[0]);
    const struct draw_sheet sheet = sheet_of(&s, 0);
    CHECK_TEXT("name of the file", sheet.name, STR("ground-cables"));
    for (size_t i = 0; i < RT_COUNT(HERE); i++) /* on the plan and in the table beside it */
        CHECK(HERE[i], count_labels(&sheet, str_from(HERE[i])) >= 2);
    CHECK("one that never comes here", count_labels(&sheet, STR("c_garden_camera")) == 0);
    check_run_end(&s.c);
}

/* Each cable has one row of the schedule, and in it the length that the plan says. */
TEST(schedule_is_the_plan)
{
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct stage s = stage_begin(HOUSES[f]);
        uint32_t *rows = ARENA_ARRAY(s.c.run.arena, uint32_t, s.h->cables.n);
        for (uint32_t i = 0; i < s.n; i++) {
            if (!is_page(&s.subjects[i], "cables-schedule-"))
                continue;
            const struct draw_sheet sheet = sheet_of(&s, i);
            for (uint32_t k = 0; k < s.h->cables.n; k++) {
                const struct draw_label *id = label_of(&sheet, s.h->cables.v[k].id);
                const struct str cut = words(&s, "%.1f", s.plan->cables[k].fixed_m);
                bool has_length = false;
                for (uint32_t q = 0; id && q < sheet.labels.n; q++)
                    has_length |=
                        str_eq(sheet.labels.v[q].text, cut) && fabs(sheet.labels.v[q].box.y_mm - id->box.y_mm) < 0.1;
                rows[k] += count_labels(&sheet, s.h->cables.v[k].id);
                CHECK("length to cut", !id || has_length);
            }
        }
        for (uint32_t k = 0; k < s.h->cables.n; k++)
            CHECK("one row", rows[k] == 1);
        check_run_end(&s.c);
    }
}

/* Every hole and board of the plan stands once in the list, and on its own floor's sheet both on the plan and beside it; on
 * no other floor's. */
TEST(work_is_the_plan)
{
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct stage s = stage_begin(HOUSES[f]);
        uint32_t *rows = ARENA_ARRAY(s.c.run.arena, uint32_t, s.plan->work.n);
        for (uint32_t i = 0; i < s.n; i++) {
            const bool is_list = is_page(&s.subjects[i], "cables-holes-");
            if (s.subjects[i].grid == NO_REF && !is_list)
                continue;
            const struct draw_sheet sheet = sheet_of(&s, i);
            uint32_t number[2] = { 0 };
            for (uint32_t w = 0; w < s.plan->work.n; w++) {
                const struct cable_work *work = &s.plan->work.v[w];
                const struct str mark = words(&s, "%c%u", work->kind == WORK_HOLE ? 'H' : 'B', ++number[work->kind]);
                const uint32_t n = count_labels(&sheet, mark);
                if (is_list)
                    rows[w] += n;
                else
                    CHECK("on its floor alone",
                          n == (work->floor == s.fields.grids.v[s.subjects[i].grid].floor ? 2 : 0));
            }
        }
        for (uint32_t w = 0; w < s.plan->work.n; w++)
            CHECK("once in the list", rows[w] == 1);
        check_run_end(&s.c);
    }
}

/* A cable that passes the level of a floor has its place's number on that floor's sheet. */
TEST(floor_changes_are_told)
{
    uint32_t n_changes = 0;
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct stage s = stage_begin(HOUSES[f]);
        const struct install *in = install_make(s.c.run.arena, s.plan);
        for (uint32_t i = 0; i < s.n; i++) {
            if (s.subjects[i].grid == NO_REF)
                continue;
            const uint32_t floor = s.fields.grids.v[s.subjects[i].grid].floor;
            const struct floor *of = &s.h->floors.v[floor];
            const struct draw_sheet sheet = sheet_of(&s, i);
            for (uint32_t k = 0; k < s.h->cables.n && !of->open_air; k++)
                for (uint32_t l = 0; l < s.plan->cables[k].legs.n; l++) {
                    const struct cable_leg *leg = &s.plan->cables[k].legs.v[l];
                    const double low_m = fmin(leg->from_m.z, leg->to_m.z), high_m = fmax(leg->from_m.z, leg->to_m.z);
                    const struct vec2 at = { leg->from_m.x, leg->from_m.y };
                    if (low_m > of->level_m - 0.3 || high_m < of->level_m + 0.3 || !polygon_contains(of->outline, at) ||
                        hypot(leg->to_m.x - at.x, leg->to_m.y - at.y) > 0.01)
                        continue;
                    uint32_t rise = NO_REF;
                    for (uint32_t r = 0; r < in->rises.n; r++)
                        for (uint32_t q = 0; q < in->rises.v[r].pieces.n; q++)
                            if (in->rises.v[r].pieces.v[q].cable == k &&
                                in->rises.v[r].pieces.v[q].low_m < low_m + 0.01 &&
                                in->rises.v[r].pieces.v[q].high_m > high_m - 0.01)
                                rise = r;
                    CHECK("has a place", rise != NO_REF);
                    const struct str mark = words(&s, "R%u", rise + 1);
                    CHECK(arena_printf(s.c.run.arena, "%.*s on %.*s, on the plan and beside it", STR_ARG(mark),
                                       STR_ARG(of->id)),
                          count_labels(&sheet, mark) == 2);
                    n_changes++;
                }
        }
        check_run_end(&s.c);
    }
    CHECK("there are such", n_changes > 3);
}

/* ---- lines of the SVG, read by a general XML parser (expat) ---- */

struct lines {
    double upright_mm[4096];
    uint32_t n;
};

static void XMLCALL on_start(void *user, const XML_Char *name, const XML_Char **attributes)
{
    struct lines *lines = user;
    double x0, y0, x1, y1;
    int used = 0;
    for (size_t i = 0; strcmp(name, "path") == 0 && attributes[i]; i += 2)
        if (strcmp(attributes[i], "d") == 0 &&
            sscanf(attributes[i + 1], "M %lf %lf L %lf %lf %n", &x0, &y0, &x1, &y1, &used) == 4 &&
            used == (int)strlen(attributes[i + 1]) && fabs(x1 - x0) < 1e-3 && lines->n < RT_COUNT(lines->upright_mm))
            lines->upright_mm[lines->n++] = fabs(y1 - y0);
}

static void read_svg(const struct draw_sheet *sheet, struct lines *out)
{
    out->n = 0;
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, out);
    XML_SetElementHandler(parser, on_start, NULL);
    const enum XML_Status ok = XML_Parse(parser, sheet->svg.p, (int)sheet->svg.n, 1);
    CHECK_TEXT("well-formed XML", str_from(ok == XML_STATUS_OK ? "" : XML_ErrorString(XML_GetErrorCode(parser))),
               STR(""));
    XML_ParserFree(parser);
}

static bool has_line(const struct lines *lines, double length_mm)
{
    for (uint32_t i = 0; i < lines->n; i++)
        if (fabs(lines->upright_mm[i] - length_mm) < 0.05)
            return true;
    return false;
}

/* Every sheet is well-formed, and every upright leg is drawn as long as it is at the sheet's scale. */
TEST(heights_are_true)
{
    static struct lines lines[8];
    for (size_t f = 0; f < RT_COUNT(HOUSES); f++) {
        struct stage s = stage_begin(HOUSES[f]);
        const struct install *in = install_make(s.c.run.arena, s.plan);
        double scale = 0.0;
        uint32_t n_pages = 0;
        for (uint32_t i = 0; i < s.n; i++) {
            const struct draw_sheet sheet = sheet_of(&s, i);
            const bool is_view = is_page(&s.subjects[i], "cables-risers-");
            CHECK("few pages", n_pages < RT_COUNT(lines));
            read_svg(&sheet, &lines[n_pages]);
            CHECK("one scale", !is_view || scale == 0.0 || sheet.scale == scale);
            scale = is_view ? sheet.scale : scale;
            n_pages += is_view;
        }
        CHECK("a view", n_pages > 0 && scale > 0.0);
        for (uint32_t r = 0; r < in->rises.n; r++)
            for (uint32_t k = 0; k < in->rises.v[r].pieces.n; k++) {
                const struct install_piece *p = &in->rises.v[r].pieces.v[k];
                bool is_drawn = false;
                for (uint32_t i = 0; i < n_pages; i++)
                    is_drawn |= has_line(&lines[i], (p->high_m - p->low_m) * 1000.0 / scale);
                CHECK("drawn as high as it is", is_drawn);
            }
        if (f ==
            0) { /* by the file: the switch at 1.25 m, the loft at 5.515 m with 2.35 m to its ceiling, cable 0.10 m over that */
            CHECK_NEAR("scale", scale, 50.0, 0.0, "");
            bool is_drawn = false;
            for (uint32_t i = 0; i < n_pages; i++)
                is_drawn |= has_line(&lines[i], (5.515 + 2.35 + 0.10 - 1.25) * 20.0);
            CHECK("the cable to the loft", is_drawn);
        }
        check_run_end(&s.c);
    }
}

TEST(same_bytes_each_time)
{
    struct stage s = stage_begin(HOUSES[2]);
    for (uint32_t i = 0; i < s.n; i++) {
        struct draw_sheet one, two;
        CHECK_OK(&s.c, draw_one(&s.c.run, s.h, &s.fields, &s.options, s.subjects[i], &one, &s.c.problems));
        CHECK_OK(&s.c, draw_one(&s.c.run, s.h, &s.fields, &s.options, s.subjects[i], &two, &s.c.problems));
        CHECK_TEXT("svg", one.svg, two.svg);
        CHECK("png", str_eq(one.png, two.png));
    }
    check_run_end(&s.c);
}

/* A floor where no cable lies gets no sheet, and no plan of cables no sheet at all. */
TEST(only_floors_with_cables)
{
    struct stage s = stage_begin(HOUSES[2]);
    const uint32_t field = house_find_floor(s.h, STR("front_field"));
    CHECK("the field is a floor", field != NO_REF);
    for (uint32_t i = 0; i < s.n; i++)
        CHECK("a cable lies there",
              s.subjects[i].grid == NO_REF || cable_sheet_has(s.plan, s.fields.grids.v[s.subjects[i].grid].floor));
    s.options.cables = NULL;
    CHECK_OK(&s.c, draw_subjects(&s.c.run, s.h, &s.fields, &s.options, &s.subjects, &s.n, &s.c.problems));
    CHECK("none", s.n == 0);
    check_run_end(&s.c);
}
