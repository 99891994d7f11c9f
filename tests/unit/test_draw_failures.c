/* Sheets of failures: well-formed, on the paper, no text on another; every failure and every promise it may touch is there, with as many
 * crosses as the table of failures counts. */
#include <expat.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "draw/colour.h"
#include "promise/evaluation.h"
#include "promise/failure_table.h"
#include "sheet_kit.h"

struct stage {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct failure_table *failures;
    struct fields fields;
    struct draw_options options;
    struct draw_subject *subjects;
    struct draw_sheet *sheets; /* of each */
    uint32_t n;
};

static struct draw_sheet sheet_of(struct stage *s, uint32_t i)
{
    struct draw_sheet sheet;
    CHECK_OK(&s->c, draw_one(&s->c.run, s->h, &s->fields, &s->options, s->subjects[i], &sheet, &s->c.problems));
    return sheet;
}

/* In place: the evaluation is pointed at by what it made. */
static void stage_begin(struct stage *s, const char *path)
{
    static const struct radio_ability NONE = { 0 };
    *s = (struct stage){ .c = check_run_begin() };
    CHECK_OK(&s->c, house_read(&s->c.run, check_path(&s->c, path), &s->h, &s->c.problems));
    struct field_options options = evaluation_default_options(s->h);
    options.cell_m = 1.0; /* coarse: only its own table is drawn */
    CHECK_OK(&s->c, evaluation_begin(&s->ev, &s->c.run, s->h, options, &s->c.problems));
    CHECK_OK(&s->c, evaluation_failures(&s->ev, &s->failures, &s->c.problems));
    CHECK_OK(&s->c, failure_table_fill(s->failures, &s->c.problems));
    CHECK_OK(&s->c, grids_of_house(&s->c.run, s->h, 1.0, &s->fields, &s->c.problems));
    s->options = draw_options_usual(&NONE, STR("phone"));
    s->options.failures = s->failures;
    s->options.what = DRAW_FAILURES;
    CHECK_OK(&s->c, draw_subjects(&s->c.run, s->h, &s->fields, &s->options, &s->subjects, &s->n, &s->c.problems));
    s->sheets = ARENA_ARRAY(s->c.run.arena, struct draw_sheet, s->n);
    for (uint32_t i = 0; i < s->n; i++)
        s->sheets[i] = sheet_of(s, i);
}

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

/* ---- legible ---- */

/* The title block. */
#define BLOCK_W_MM 105.0
#define BLOCK_H_MM 11.5

/* ---- the SVG, read by a general XML parser (expat) ---- */

/* Counts strokes in the accent colour. */
static void XMLCALL on_start(void *user, const XML_Char *name, const XML_Char **attributes)
{
    uint32_t *n = user;
    const struct colour accent = colour_ink(INK_ACCENT);
    for (; strcmp(name, "path") == 0 && *attributes; attributes += 2) {
        const char *stroke = strcmp(attributes[0], "style") == 0 ? strstr(attributes[1], "stroke:rgb(") : NULL;
        double r, g, b;
        if (stroke && sscanf(stroke, "stroke:rgb(%lf%%,%lf%%,%lf%%)", &r, &g, &b) == 3)
            *n += fabs(r - 100.0 * accent.r) < 0.5 && fabs(g - 100.0 * accent.g) < 0.5 &&
                  fabs(b - 100.0 * accent.b) < 0.5;
    }
}

static uint32_t count_accent_strokes(const struct draw_sheet *sheet)
{
    uint32_t n = 0;
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, &n);
    XML_SetElementHandler(parser, on_start, NULL);
    const enum XML_Status ok = XML_Parse(parser, sheet->svg.p, (int)sheet->svg.n, 1);
    CHECK_TEXT("well-formed XML", str_from(ok == XML_STATUS_OK ? "" : XML_ErrorString(XML_GetErrorCode(parser))),
               STR(""));
    XML_ParserFree(parser);
    return n;
}

static bool begins(struct str whole, struct str with)
{
    return with.n <= whole.n && memcmp(whole.p, with.p, with.n) == 0;
}

/* Sheets on which a line stands that these words begin with. */
static uint32_t count(const struct stage *s, struct str words)
{
    uint32_t n = 0;
    for (uint32_t p = 0; p < s->n; p++)
        for (uint32_t l = 0; l < s->sheets[p].labels.n; l++) {
            const struct str line = s->sheets[p].labels.v[l].text;
            if (line.n >= 4 && begins(words, line) && (line.n == words.n || words.p[line.n] == ' ')) {
                n++;
                break;
            }
        }
    return n;
}

TEST(the_table_is_drawn)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s;
        uint32_t strokes = 0, n_broken = 0;
        stage_begin(&s, HOUSES[k]);
        CHECK("sheets", s.n >= 1);
        for (uint32_t i = 0; i < s.n; i++) {
            CHECK("bytes", s.sheets[i].svg.n > 1000 && s.sheets[i].png.n > 1000);
            check_texts(&s.sheets[i], BLOCK_W_MM, BLOCK_H_MM);
            strokes += count_accent_strokes(&s.sheets[i]);
        }
        const struct draw_sheet again = sheet_of(&s, s.n - 1);
        CHECK("the same each time",
              str_eq(again.svg, s.sheets[s.n - 1].svg) && str_eq(again.png, s.sheets[s.n - 1].png));
        for (uint32_t i = 0; i < s.failures->rows.n; i++) {
            n_broken += s.failures->rows.v[i].n_broken;
            CHECK("every failure", count(&s, s.failures->rows.v[i].failure.says) >= 1);
        }
        for (uint32_t i = 0; i < s.h->promises.n; i++)
            if (failure_touches(s.h->promises.v[i].kind))
                CHECK("every promise, on every sheet", count(&s, s.h->promises.v[i].says) == s.n);
        CHECK("some failure breaks something", n_broken > 0);
        CHECK_NEAR("a ring and two strokes for each, and in the key", strokes, 3 * (n_broken + s.n), 0, "");
        check_run_end(&s.c);
    }
}
