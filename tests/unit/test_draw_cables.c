/* Sheets of cables of the demo houses: every cable is named once on each floor it lies on, and no text covers another. */
#include <string.h>

#include "check.h"
#include "draw/cable_sheet.h"
#include "radio/field.h"

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
    CHECK_OK(&s.c, cables_plan(&s.c.run, s.h, &s.plan, &s.c.problems));
    CHECK_OK(&s.c, grids_of_house(&s.c.run, s.h, 1.0, &s.fields, &s.c.problems));
    s.options = draw_options_usual(&NONE, STR("phone"));
    s.options.what = DRAW_CABLE;
    s.options.cables = s.plan;
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

/* Larch End's ground floor, by its file: these lie there, in runs of that floor, and have room for their names. */
TEST(cables_are_named)
{
    static const char *const HERE[] = { "c_a1",   "c_television", "c_console",     "c_desk_phone",
                                        "c_bell", "c_workshop",   "c_side_camera", "c_front_camera" };
    struct stage s = stage_begin(HOUSES[0]);
    struct draw_sheet sheet;
    CHECK_OK(&s.c, draw_one(&s.c.run, s.h, &s.fields, &s.options, s.subjects[0], &sheet, &s.c.problems));
    CHECK_TEXT("name of the file", sheet.name, STR("ground-cables"));
    for (size_t i = 0; i < RT_COUNT(HERE); i++)
        CHECK(HERE[i], count_labels(&sheet, str_from(HERE[i])) == 1);
    CHECK("one of another floor", count_labels(&sheet, STR("c_a3")) == 0);
    check_run_end(&s.c);
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
