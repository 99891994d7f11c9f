/* Whole sheets of the demo houses, on made-up fields. */
#include <cairo.h>
#include <dirent.h>
#include <expat.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <unistd.h>

#include "base/units.h"
#include "check.h"
#include "draw/draw.h"
#include "draw/field_raster.h"
#include "field_kit.h"

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

static struct draw_sheet sheet_of(struct stage *s, struct draw_subject subject)
{
    struct draw_sheet sheet;
    CHECK_OK(&s->c, draw_one(&s->c.run, s->house, &s->fields, &s->options, subject, &sheet, &s->c.problems));
    return sheet;
}

/* A note in the first room of every floor, so that every sheet has one. */
static void add_notes(struct stage *s)
{
    static struct str lines[] = { STR("promised \u221267 dBm in 95 % of the room"),
                                  STR("4.1 m through brick and tiles") };
    static struct str advice[] = { STR("what would keep it: a metre towards the stairs, or one more access point") };
    struct draw_note *notes = ARENA_ARRAY(s->c.run.arena, struct draw_note, s->house->rooms.n);
    s->options.notes.v = notes;
    for (uint32_t i = 0; i < s->house->rooms.n; i++) {
        const struct room *r = &s->house->rooms.v[i];
        if (i > 0 && s->house->rooms.v[i - 1].floor.i == r->floor.i)
            continue;
        notes[s->options.notes.n++] = (struct draw_note){ .floor = r->floor.i,
                                                          .at_m = polygon_centre(r->outline),
                                                          .state = (enum draw_state)(i % 3),
                                                          .head = STR("\u221270 dBm in this corner"),
                                                          .lines = { lines, 2 },
                                                          .advice = { advice, 1 } };
    }
}

/* ---- texts ---- */

static bool boxes_overlap(struct draw_box a, struct draw_box b)
{
    return a.x_mm < b.x_mm + b.w_mm && b.x_mm < a.x_mm + a.w_mm && a.y_mm < b.y_mm + b.h_mm && b.y_mm < a.y_mm + a.h_mm;
}

static void check_texts(const struct stage *s, const struct draw_sheet *sheet, struct draw_subject subject)
{
    CHECK("dimensions, a room and figures at least", sheet->labels.n > 3);
    for (uint32_t i = 0; i < sheet->labels.n; i++) {
        const struct draw_label *a = &sheet->labels.v[i];
        CHECK("inside the border", a->box.x_mm > 7 && a->box.y_mm > 7 && a->box.x_mm + a->box.w_mm < sheet->w_mm - 7 &&
                                       a->box.y_mm + a->box.h_mm < sheet->h_mm - 7);
        for (uint32_t k = 0; k < i; k++)
            if (boxes_overlap(a->box, sheet->labels.v[k].box))
                check_text(arena_printf(s->c.run.arena, "%.*s: a text lies on another, drawing %d",
                                        STR_ARG(sheet->name), (int)subject.what),
                           a->text, STR("(free)"), __FILE__, __LINE__);
    }
}

static bool has_label(const struct draw_sheet *sheet, struct str text)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++)
        if (str_eq(sheet->labels.v[i].text, text))
            return true;
    return false;
}

TEST(no_text_lies_on_another)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_begin(HOUSES[k]);
        stage_options(&s);
        s.options.formats = DRAW_PNG;
        struct draw_subject *subjects;
        uint32_t n;
        for (int notes = 0; notes < 2; notes++) {
            CHECK_OK(&s.c, draw_subjects(&s.c.run, s.house, &s.fields, &s.options, &subjects, &n, &s.c.problems));
            CHECK("sheets", n >= s.house->floors.n);
            for (uint32_t i = 0; i < n; i++) {
                const struct draw_sheet sheet = sheet_of(&s, subjects[i]);
                check_texts(&s, &sheet, subjects[i]);
            }
            add_notes(&s);
            s.options.what = DRAW_SIGNAL;
        }
        check_run_end(&s.c);
    }
}

/* The flat is 8.6 m wide: a note on a spot at its left or right end stands there, so that its line does not run across the plan. */
TEST(notes_stand_on_the_nearer_side)
{
    static const struct {
        double x_m;
        bool left;
    } CASES[] = { { 0.5, true }, { 8.2, false } };
    for (size_t k = 0; k < RT_COUNT(CASES); k++) {
        struct stage s = stage_begin("houses/quay_flat.house.yaml");
        stage_options(&s);
        s.options.formats = DRAW_PNG;
        struct draw_note note = { .at_m = { CASES[k].x_m, 0.5 }, .head = STR("a note") };
        s.options.notes.v = &note;
        s.options.notes.n = 1;
        const struct draw_sheet sheet =
            sheet_of(&s, (struct draw_subject){ .what = DRAW_SIGNAL, .grid = 0, .band = BAND_5G });
        double note_mm = NAN, names_from_mm = INFINITY, names_to_mm = -INFINITY;
        for (uint32_t i = 0; i < sheet.labels.n; i++) {
            const struct draw_label *l = &sheet.labels.v[i];
            bool is_name = false;
            for (uint32_t r = 0; r < s.house->rooms.n; r++)
                is_name =
                    is_name || str_eq(s.house->rooms.v[r].says, l->text) || str_eq(s.house->rooms.v[r].id, l->text);
            if (str_is(l->text, "a note"))
                note_mm = l->box.x_mm;
            if (is_name) {
                names_from_mm = fmin(names_from_mm, l->box.x_mm);
                names_to_mm = fmax(names_to_mm, l->box.x_mm);
            }
        }
        CHECK("rooms are named", names_from_mm < names_to_mm);
        CHECK("beside the plan", CASES[k].left ? note_mm < names_from_mm : note_mm > names_to_mm);
        check_run_end(&s.c);
    }
}

TEST(every_room_is_named_or_numbered)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_begin(HOUSES[k]);
        stage_options(&s);
        s.options.formats = DRAW_PNG;
        for (uint32_t g = 0; g < s.fields.grids.n; g++) {
            const struct draw_sheet sheet =
                sheet_of(&s, (struct draw_subject){ .what = DRAW_SIGNAL, .grid = g, .band = BAND_5G });
            unsigned n_numbers = 0;
            for (uint32_t r = 0; r < s.house->rooms.n; r++) {
                const struct room *room = &s.house->rooms.v[r];
                if (room->floor.i != s.fields.grids.v[g].floor || !room->says.n || has_label(&sheet, room->says))
                    continue;
                char number[12];
                snprintf(number, sizeof number, "%u", ++n_numbers);
                CHECK("numbered", has_label(&sheet, str_from(number)));
            }
        }
        check_run_end(&s.c);
    }
}

/* ---- the SVG, read by a general XML parser (expat) ---- */

struct seen {
    struct arena *arena;
    struct str ids[4096], hrefs[65536];
    uint32_t n_ids, n_hrefs;
    char width[32], view_box[64];
    bool in_title;
    char title[200];
    double want_y_mm, want_h_mm, x0_mm, x1_mm; /* boxes of this height at this y, and how far they reach */
    uint32_t n_boxes;
};

static void see_path(struct seen *seen, const char *d)
{
    double x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY, y1 = -INFINITY;
    for (const char *p = d; *p;) {
        char *end;
        const double x = strtod(p, &end);
        if (end == p) {
            p++;
            continue;
        }
        const char *second = end;
        const double y = strtod(second, &end);
        if (end == second)
            return;
        p = end;
        x0 = fmin(x0, x);
        x1 = fmax(x1, x);
        y0 = fmin(y0, y);
        y1 = fmax(y1, y);
    }
    if (fabs(y0 - seen->want_y_mm) > 1e-3 || fabs(y1 - y0 - seen->want_h_mm) > 1e-3)
        return;
    seen->x0_mm = fmin(seen->x0_mm, x0);
    seen->x1_mm = fmax(seen->x1_mm, x1);
    seen->n_boxes++;
}

static void XMLCALL on_start(void *user, const XML_Char *name, const XML_Char **attributes)
{
    struct seen *seen = user;
    seen->in_title = strcmp(name, "title") == 0;
    for (; *attributes; attributes += 2) {
        const struct str value = str_dup(seen->arena, str_from(attributes[1]));
        if (strcmp(attributes[0], "id") == 0 && seen->n_ids < RT_COUNT(seen->ids))
            seen->ids[seen->n_ids++] = value;
        if (strcmp(attributes[0], "xlink:href") == 0 && value.p[0] == '#' && seen->n_hrefs < RT_COUNT(seen->hrefs))
            seen->hrefs[seen->n_hrefs++] = (struct str){ value.p + 1, value.n - 1 };
        if (strcmp(name, "svg") == 0 && strcmp(attributes[0], "width") == 0)
            snprintf(seen->width, sizeof seen->width, "%s", attributes[1]);
        if (strcmp(name, "svg") == 0 && strcmp(attributes[0], "viewBox") == 0)
            snprintf(seen->view_box, sizeof seen->view_box, "%s", attributes[1]);
        if (strcmp(name, "path") == 0 && strcmp(attributes[0], "d") == 0)
            see_path(seen, attributes[1]);
    }
}

static void XMLCALL on_text(void *user, const XML_Char *text, int n)
{
    struct seen *seen = user;
    const size_t at = strlen(seen->title);
    if (seen->in_title && text[0] != '\n' && at + (size_t)n < sizeof seen->title)
        memcpy(seen->title + at, text, (size_t)n);
}

static void XMLCALL on_end(void *user, const XML_Char *name)
{
    (void)name;
    ((struct seen *)user)->in_title = false;
}

static struct seen *read_svg(struct stage *s, const struct draw_sheet *sheet)
{
    struct seen *seen = ARENA_NEW(s->c.run.arena, struct seen);
    *seen = (struct seen){ .arena = s->c.run.arena,
                           .want_y_mm = sheet->scale_bar.y_mm,
                           .want_h_mm = sheet->scale_bar.h_mm,
                           .x0_mm = INFINITY,
                           .x1_mm = -INFINITY };
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, seen);
    XML_SetElementHandler(parser, on_start, on_end);
    XML_SetCharacterDataHandler(parser, on_text);
    const enum XML_Status ok = XML_Parse(parser, sheet->svg.p, (int)sheet->svg.n, 1);
    CHECK_TEXT("well-formed XML", str_from(ok == XML_STATUS_OK ? "" : XML_ErrorString(XML_GetErrorCode(parser))),
               STR(""));
    XML_ParserFree(parser);
    return seen;
}

/* The paper is given in millimetres and the drawing's unit is the millimetre (SVG 1.1, 7.10 and 7.7), so the bar measured
 * in drawing units must be its metres at the printed scale. */
TEST(svg_is_well_formed_and_true_to_scale)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_begin(HOUSES[k]);
        stage_options(&s);
        s.options.formats = DRAW_SVG;
        for (uint32_t g = 0; g < s.fields.grids.n; g++) {
            const struct draw_sheet sheet =
                sheet_of(&s, (struct draw_subject){ .what = DRAW_RATE, .grid = g, .band = BAND_5G });
            const struct seen *seen = read_svg(&s, &sheet);
            char want[64];
            snprintf(want, sizeof want, "%gmm", sheet.w_mm);
            CHECK_TEXT("width", str_from(seen->width), str_from(want));
            snprintf(want, sizeof want, "0 0 %g %g", sheet.w_mm, sheet.h_mm);
            CHECK_TEXT("drawing units", str_from(seen->view_box), str_from(want));
            CHECK("the four parts of the bar", seen->n_boxes >= 4);
            CHECK_NEAR("bar", seen->x1_mm - seen->x0_mm, sheet.scale_bar_m * 1000.0 / sheet.scale, 1e-3, "mm");
            CHECK("a title to be read out", strstr(seen->title, "rate at 5 GHz"));
            for (uint32_t i = 0; i < seen->n_ids; i++)
                for (uint32_t j = 0; j < i; j++)
                    CHECK("ids are unique", !str_eq(seen->ids[i], seen->ids[j]));
            for (uint32_t i = 0; i < seen->n_hrefs; i++) {
                bool found = false;
                for (uint32_t j = 0; j < seen->n_ids && !found; j++)
                    found = str_eq(seen->hrefs[i], seen->ids[j]);
                CHECK("what is used is there", found);
            }
        }
        check_run_end(&s.c);
    }
}

TEST(svg_shows_text_of_the_house_as_text)
{
    struct stage s = stage_begin(HOUSES[1]);
    stage_options(&s);
    s.options.formats = DRAW_SVG;
    s.house->name = STR("<Owls & \"Larks\">");
    const struct draw_sheet sheet =
        sheet_of(&s, (struct draw_subject){ .what = DRAW_SIGNAL, .grid = 0, .band = BAND_5G });
    const struct seen *seen = read_svg(&s, &sheet);
    CHECK("the name as given", strstr(seen->title, "<Owls & \"Larks\">"));
    check_run_end(&s.c);
}

/* The roof of Larch End comes down to 1.2 m at y = 0.95 / 0.7 m and 10.5 m less that (houses/larch_end.house.yaml: it rises
 * by 0.7 from 0.25 m).  Beyond, the sheet's height is out in the rain: nothing is said there. */
TEST(nothing_is_painted_above_the_roof)
{
    struct stage s = stage_begin(HOUSES[0]);
    stage_options(&s);
    const uint32_t loft = house_find_floor(s.house, STR("loft"));
    struct raster r;
    CHECK("raster", raster_build(s.c.run.arena, s.house, &s.fields, &s.options,
                                 (struct draw_subject){ .what = DRAW_SIGNAL, .grid = loft, .band = BAND_5G },
                                 RASTER_LEVEL_DBM, 0, &r));
    uint32_t n_above = 0, n_below = 0;
    for (uint32_t p = 1; p < r.patches.n; p++) {
        const struct lattice *l = &r.patches.v[p].shape;
        for (uint32_t iy = 0; iy < l->ny; iy++) {
            const double y_m = l->y0 + iy * l->step, in_m = fmin(y_m, 10.5 - y_m), x_m = l->x0 + l->nx / 2 * l->step;
            if (in_m <= 0 ||
                !polygon_contains(s.house->rooms.v[r.patches.v[p].room].outline, (struct vec2){ x_m, y_m }))
                continue;
            const bool is_given_there = is_given(raster_value(&r, &r.patches.v[p], l->nx / 2, iy));
            if (in_m < 0.95 / 0.7 - 1e-6)
                n_above++, CHECK("above the roof", !is_given_there);
            if (in_m > 1.5) /* nearer there may be no cell of the grid that is within */
                n_below++, CHECK("below it", is_given_there);
        }
    }
    CHECK("both were met", n_above > 20 && n_below > 50);
    check_run_end(&s.c);
}

/* ---- bytes ---- */

TEST(same_house_same_bytes)
{
    struct stage s = stage_begin(HOUSES[0]);
    stage_options(&s);
    add_notes(&s);
    const struct draw_subject a = { .what = DRAW_SIGNAL, .grid = 0, .band = BAND_5G },
                              b = { .what = DRAW_SECOND, .grid = 1, .band = BAND_5G };
    const struct draw_sheet first = sheet_of(&s, a);
    sheet_of(&s, b); /* what was drawn in between must not show */
    const struct draw_sheet again = sheet_of(&s, a);
    CHECK("svg", str_eq(first.svg, again.svg));
    CHECK("png", str_eq(first.png, again.png));
    check_run_end(&s.c);
}

struct bytes_left {
    struct str rest;
};

static cairo_status_t from_memory(void *closure, unsigned char *out, unsigned n)
{
    struct bytes_left *left = closure;
    if (n > left->rest.n)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(out, left->rest.p, n);
    left->rest.p += n;
    left->rest.n -= n;
    return CAIRO_STATUS_SUCCESS;
}

/* Sizes of paper by ISO 216: A4 210 x 297 mm, A3 297 x 420 mm. */
TEST(png_has_the_size_of_its_paper)
{
    struct stage s = stage_begin(HOUSES[0]);
    stage_options(&s);
    s.options.formats = DRAW_PNG;
    bool saw_a3 = false, saw_a4 = false;
    for (uint32_t g = 0; g < s.fields.grids.n; g++) {
        const struct draw_sheet sheet =
            sheet_of(&s, (struct draw_subject){ .what = DRAW_SIGNAL, .grid = g, .band = BAND_5G });
        struct bytes_left left = { sheet.png };
        cairo_surface_t *picture = cairo_image_surface_create_from_png_stream(from_memory, &left);
        CHECK("readable", cairo_surface_status(picture) == CAIRO_STATUS_SUCCESS);
        const int w = cairo_image_surface_get_width(picture), h = cairo_image_surface_get_height(picture);
        cairo_surface_destroy(picture);
        saw_a3 = saw_a3 || sheet.w_mm == 420.0;
        saw_a4 = saw_a4 || sheet.w_mm == 297.0;
        CHECK_NEAR("width", w, sheet.w_mm == 420.0 ? 2263 : 1600, 0, "px");
        CHECK_NEAR("as said", w, sheet.w_px, 0, "px");
        CHECK_NEAR("proportion", (double)w / h, 420.0 / 297.0, 2e-3, "");
    }
    CHECK("both papers are tried", saw_a3 && saw_a4);
    check_run_end(&s.c);
}

/* ---- files ---- */

static unsigned count_files(const char *folder)
{
    unsigned n = 0;
    DIR *dir = opendir(folder);
    for (const struct dirent *e; dir && (e = readdir(dir));)
        n += strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0;
    if (dir)
        closedir(dir);
    return n;
}

static void remove_folder(const char *folder)
{
    DIR *dir = opendir(folder);
    char path[600];
    for (const struct dirent *e; dir && (e = readdir(dir));)
        if (snprintf(path, sizeof path, "%s/%s", folder, e->d_name) < (int)sizeof path && e->d_name[0] != '.')
            unlink(path);
    if (dir)
        closedir(dir);
    rmdir(folder);
}

static bool some_problem_says(const struct check_run *c, const char *words)
{
    for (uint32_t i = 0; i < c->problems.list.n; i++)
        if (strstr(c->problems.list.v[i].msg, words))
            return true;
    return false;
}

TEST(files_are_named_and_written)
{
    struct stage s = stage_begin(HOUSES[1]);
    stage_options(&s);
    s.options.what = DRAW_SIGNAL;
    char folder[] = "/tmp/rooftree-draw-XXXXXX";
    CHECK("folder", mkdtemp(folder));
    struct draw_files files;
    CHECK_OK(&s.c, draw_house(&s.c.run, s.house, &s.fields, &s.options, folder, &files, &s.c.problems));
    CHECK_NEAR("files", count_files(folder), files.paths.n, 0, "");
    CHECK_NEAR("two to a floor", files.paths.n, 2 * s.house->floors.n, 0, "");
    const char *want = arena_printf(s.c.run.arena, "%s/%.*s-signal-5ghz.svg", folder, STR_ARG(s.house->floors.v[0].id));
    CHECK_TEXT("name", files.paths.v[0], str_from(want));
    remove_folder(folder);
    check_run_end(&s.c);
}

TEST(folder_that_cannot_be_made)
{
    struct stage s = stage_begin(HOUSES[1]);
    stage_options(&s);
    struct draw_files files;
    const enum rt_code code =
        draw_house(&s.c.run, s.house, &s.fields, &s.options, "/dev/null/drawings", &files, &s.c.problems);
    CHECK("refused", code == RT_IO && files.paths.n == 0);
    CHECK("said so", some_problem_says(&s.c, "folder"));
    check_run_end(&s.c);
}

/* A file that may not grow stands for a disk that is full: write(2) fails in the middle in both cases. */
TEST(full_disk_leaves_no_piece_of_a_file)
{
    struct stage s = stage_begin(HOUSES[1]);
    stage_options(&s);
    char folder[] = "/tmp/rooftree-draw-XXXXXX";
    CHECK("folder", mkdtemp(folder));
    struct rlimit before;
    getrlimit(RLIMIT_FSIZE, &before);
    const struct rlimit small = { 5000, before.rlim_max };
    signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &small);
    struct draw_files files;
    const enum rt_code code = draw_house(&s.c.run, s.house, &s.fields, &s.options, folder, &files, &s.c.problems);
    setrlimit(RLIMIT_FSIZE, &before);
    CHECK("refused", code == RT_IO && files.paths.n == 0);
    CHECK("said so", some_problem_says(&s.c, "write"));
    CHECK_NEAR("files left behind", count_files(folder), 0, 0, "");
    remove_folder(folder);
    check_run_end(&s.c);
}

TEST(memory_that_runs_out_is_said)
{
    struct stage s = stage_begin(HOUSES[1]);
    stage_options(&s);
    struct arena *whole = s.c.run.arena;
    for (size_t kb = 64; kb < 8192; kb = kb * 3 / 2) {
        struct arena *small = arena_new(kb * 1024);
        s.c.run.arena = small;
        struct draw_sheet sheet;
        const enum rt_code code =
            draw_one(&s.c.run, s.house, &s.fields, &s.options,
                     (struct draw_subject){ .what = DRAW_SIGNAL, .grid = 0, .band = BAND_5G }, &sheet, &s.c.problems);
        CHECK("all or a clear no", code == RT_NOMEM || (code == RT_OK && sheet.svg.n > 1000 && sheet.png.n > 1000));
        arena_free(small);
    }
    s.c.run.arena = whole;
    check_run_end(&s.c);
}

TEST(bands_and_seconds_that_are_not_there)
{
    struct stage s = stage_begin(HOUSES[1]);
    stage_options(&s);
    s.fields.radios.n = 1;
    s.options.bands = 1u << BAND_5G | 1u << BAND_6G;
    s.options.what = DRAW_SIGNAL | DRAW_SECOND;
    struct draw_subject *subjects;
    uint32_t n;
    CHECK_OK(&s.c, draw_subjects(&s.c.run, s.house, &s.fields, &s.options, &subjects, &n, &s.c.problems));
    CHECK_NEAR("signal only", n, s.house->floors.n, 0, "sheets");
    CHECK("no 6 GHz", some_problem_says(&s.c, "at 6 GHz"));
    CHECK("no second", some_problem_says(&s.c, "only one"));
    check_run_end(&s.c);
}
