/* Sheets of the week, the load and the spectrum: well-formed, on the paper, no text on another, their figures those of the library and, of a house
 * made for it, those counted by hand. */
#include <expat.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "draw/load_view.h"
#include "promise/evaluation.h"
#include "sheet_kit.h"

struct stage {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct load_view *load;
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

static void draw_all(struct stage *s, uint32_t what, uint32_t formats)
{
    static const struct radio_ability NONE = { 0 };
    CHECK_OK(&s->c, load_view_make(&s->ev, &s->load, &s->c.problems));
    CHECK_OK(&s->c, grids_of_house(&s->c.run, s->h, 1.0, &s->fields, &s->c.problems));
    s->options = draw_options_usual(&NONE, STR("phone"));
    s->options.load = s->load;
    s->options.what = what;
    s->options.formats = formats;
    CHECK_OK(&s->c, draw_subjects(&s->c.run, s->h, &s->fields, &s->options, &s->subjects, &s->n, &s->c.problems));
    s->sheets = ARENA_ARRAY(s->c.run.arena, struct draw_sheet, s->n);
    for (uint32_t i = 0; i < s->n; i++)
        s->sheets[i] = sheet_of(s, i);
}

static struct stage stage_begin(const char *path)
{
    struct stage s = { .c = check_run_begin() };
    CHECK_OK(&s.c, house_read(&s.c.run, check_path(&s.c, path), &s.h, &s.c.problems));
    struct field_options options = evaluation_default_options(s.h);
    options.cell_m = 1.0; /* coarse: the sheets show no field */
    CHECK_OK(&s.c, evaluation_begin(&s.ev, &s.c.run, s.h, options, &s.c.problems));
    s.ev.run = &s.c.run;
    draw_all(&s, DRAW_WEEK | DRAW_LOAD | DRAW_SPECTRUM, DRAW_ALL_FORMATS);
    return s;
}

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

static const struct draw_sheet *named(const struct stage *s, const char *name)
{
    for (uint32_t i = 0; i < s->n; i++)
        if (str_eq(s->sheets[i].name, str_from(name)))
            return &s->sheets[i];
    fail_msg("no sheet %s", name);
    return NULL;
}

/* ---- what holds of every sheet ---- */

/* The title block. */
#define BLOCK_W_MM 105.0
#define BLOCK_H_MM 11.5

/* The SVG, read by a general XML parser (expat). */
struct look {
    double w_mm, h_mm; /* of the paper */
    double want_w;     /* a rectangle so wide ... */
    uint32_t n_found;  /* ... is there so often */
    uint32_t n_outside;
    int defs; /* depth within definitions: glyphs and clips have axes of their own */
    int clip; /* depth within clipped groups */
};

static void see_path(struct look *seen, const char *d)
{
    const struct path_box b = path_box_of(d);
    seen->n_found += fabs(b.x1 - b.x0 - seen->want_w) < 1e-2 && b.y1 > b.y0;
    seen->n_outside += leaves_paper(b, seen->w_mm, seen->h_mm);
}

static const char *attribute(const XML_Char **attributes, const char *name)
{
    for (; *attributes; attributes += 2)
        if (strcmp(attributes[0], name) == 0)
            return attributes[1];
    return NULL;
}

static void XMLCALL on_start(void *user, const XML_Char *name, const XML_Char **attributes)
{
    struct look *seen = user;
    seen->defs += seen->defs > 0 || strcmp(name, "defs") == 0;
    seen->clip += seen->clip > 0 || attribute(attributes, "clip-path");
    const char *d = attribute(attributes, "d");
    if (d && strcmp(name, "path") == 0 && !seen->defs && !seen->clip)
        see_path(seen, d);
}

static void XMLCALL on_end(void *user, const XML_Char *name)
{
    (void)name;
    struct look *seen = user;
    seen->defs -= seen->defs > 0;
    seen->clip -= seen->clip > 0;
}

static struct look read_svg(const struct draw_sheet *sheet, double want_w)
{
    struct look seen = { .w_mm = sheet->w_mm, .h_mm = sheet->h_mm, .want_w = want_w };
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, &seen);
    XML_SetElementHandler(parser, on_start, on_end);
    const enum XML_Status ok = XML_Parse(parser, sheet->svg.p, (int)sheet->svg.n, 1);
    CHECK_TEXT("well-formed XML", str_from(ok == XML_STATUS_OK ? "" : XML_ErrorString(XML_GetErrorCode(parser))),
               STR(""));
    XML_ParserFree(parser);
    return seen;
}

/* The parts of a busy hour are its whole, which airtime_busy() adds up in its own way. */
static void check_air(const struct airtime *air)
{
    for (uint32_t r = 0; r < air->cells.n; r++) {
        const unsigned hour = airtime_busy_hour(air, r);
        const struct air_parts parts = load_view_air(air, r, hour);
        double sum = 0.0;
        for (int i = 0; i < AIR_PART_COUNT; i++)
            sum += parts.share[i];
        CHECK_NEAR("sum", sum, airtime_busy(air, r, hour, 1.0), 1e-12, "");
    }
}

/* ---- the hour map ---- */

static const struct draw_label *label_of(const struct draw_sheet *sheet, const char *text, uint32_t which)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++)
        if (str_eq(sheet->labels.v[i].text, str_from(text)) && which-- == 0)
            return &sheet->labels.v[i];
    return NULL;
}

static double middle(const struct draw_label *label) { return label->box.x_mm + label->box.w_mm / 2.0; }

/* Mb/s as the sheets write them. */
static const char *figure(struct stage *s, double mbps)
{
    struct arena *a = s->c.run.arena;
    return mbps < 0.005   ? mbps > 0.0 ? "< 0.01" : "0"
           : mbps < 0.995 ? arena_printf(a, "%.2f", mbps)
           : mbps < 9.95  ? arena_printf(a, "%.1f", mbps)
                          : arena_printf(a, "%.0f", mbps);
}

/* Does this text stand there, by its middle and its upper edge? */
static bool is_in_cell(const struct draw_sheet *sheet, double x0, double x1, double y0, double y1, const char *text)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++) {
        const struct draw_label *l = &sheet->labels.v[i];
        if (middle(l) > x0 && middle(l) < x1 && l->box.y_mm >= y0 && l->box.y_mm < y1 &&
            str_eq(l->text, str_from(text)))
            return true;
    }
    return false;
}

/* Every hour's mean and need stand right of the day and below the hour: the means as demand_means() has them, which knows
 * nothing of weeks or sheets. */
static void check_hours(struct stage *s)
{
    static const char *const DAYS[] = { "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun" };
    const struct draw_sheet *sheet = named(s, "week-1");
    for (uint32_t way = 0; way < 2; way++) {
        double means[HOURS_OF_WEEK];
        demand_means(s->load->demand, 0, (enum load_way)way, means);
        for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
            const char *from = arena_printf(s->c.run.arena, "%u", hour % 24);
            const char *to = hour % 24 == 23 ? "24 h" : arena_printf(s->c.run.arena, "%u", hour % 24 + 1);
            const struct draw_label *day = label_of(sheet, DAYS[hour / 24], way);
            /* hours of the axis lie above the cells; figures of cells may read the same, so by their line */
            double x0 = NAN, x1 = NAN;
            const double axis_mm = label_of(sheet, "24 h", way)->box.y_mm;
            for (uint32_t i = 0; i < sheet->labels.n; i++) {
                const struct draw_label *l = &sheet->labels.v[i];
                if (fabs(l->box.y_mm - axis_mm) > 0.1)
                    continue;
                x0 = str_eq(l->text, str_from(from)) ? middle(l) : x0;
                x1 = str_eq(l->text, str_from(to)) ? middle(l) : x1;
            }
            CHECK("day", day != NULL);
            const double y = day->box.y_mm;
            const struct line_hour *x = &s->load->now[way].hours[hour];
            CHECK(arena_printf(s->c.run.arena, "mean of hour %u", hour),
                  /* summed in another order: a figure half way between two may fall to either side */
                  is_in_cell(sheet, x0, x1, y, y + 6.0, figure(s, means[hour] * (1.0 - 1e-9))) ||
                      is_in_cell(sheet, x0, x1, y, y + 6.0, figure(s, means[hour] * (1.0 + 1e-9))));
            CHECK(arena_printf(s->c.run.arena, "need of hour %u", hour),
                  is_in_cell(sheet, x0, x1, y - 4.0, y + 1.0, figure(s, x->needed_mbps.high)));
        }
    }
}

/* Homework of Larch End, by its file Monday to Friday 16:00 to 17:30: five bars as long as an hour and a half of the axis. */
static void check_dark_hours(struct stage *s)
{
    const struct draw_sheet *sheet = named(s, "week-2");
    CHECK("its words", label_of(sheet, "16:00 to 17:30", 0) && label_of(sheet, "Play stops for homework", 0));
    CHECK("of the night", label_of(sheet, "20:30 to 07:00", 0) != NULL);
    const double hour_mm = (middle(label_of(sheet, "12", 0)) - middle(label_of(sheet, "2", 0))) / 10.0;
    CHECK_NEAR("homework", read_svg(sheet, 1.5 * hour_mm).n_found, 5, 0, "");
    CHECK_NEAR("evenings from half past eight, Sunday to Thursday", read_svg(sheet, 3.5 * hour_mm).n_found, 5, 0, "");
    CHECK_NEAR("mornings till seven, Monday to Friday", read_svg(sheet, 7.0 * hour_mm).n_found, 5, 0, "");
}

/* ---- the spectrum ---- */

/* Larch End at 2.4 GHz, by its file: three own channels of 20 MHz, six neighbours of 20 and one of 40, the mesh with its 2 MHz, on the
 * scale of the axis.  An own bar is one path, another a ground and a frame. */
static void check_channels(struct stage *s)
{
    const struct draw_sheet *sheet = named(s, "spectrum-1");
    const double mhz_mm = (middle(label_of(sheet, "2470", 0)) - middle(label_of(sheet, "2410", 0))) / 60.0;
    CHECK_NEAR("20 MHz", read_svg(sheet, 20.0 * mhz_mm).n_found, 3 + 2 * 6, 0, "");
    CHECK_NEAR("40 MHz", read_svg(sheet, 40.0 * mhz_mm).n_found, 2, 0, "");
    CHECK_NEAR("2 MHz", read_svg(sheet, 2.0 * mhz_mm).n_found, 2, 0, "");
}

/* Every neighbour of the file has one row, with its busy share of the file as a figure in it. */
static void check_neighbours(struct stage *s)
{
    for (uint32_t i = 0; i < s->h->neighbours.n; i++) {
        const struct neighbour *n = &s->h->neighbours.v[i];
        const struct str id = n->id;
        const struct str busy = str_from(arena_printf(s->c.run.arena, "%.0f %%", 100.0 * n->busy_share));
        uint32_t rows = 0, figures = 0;
        for (uint32_t p = 0; p < s->n; p++)
            for (uint32_t l = 0; l < s->sheets[p].labels.n; l++) {
                const struct draw_label *at = &s->sheets[p].labels.v[l];
                if (!str_eq(at->text, id))
                    continue;
                rows++;
                for (uint32_t q = 0; q < s->sheets[p].labels.n; q++)
                    figures += str_eq(s->sheets[p].labels.v[q].text, busy) &&
                               fabs(s->sheets[p].labels.v[q].box.y_mm - at->box.y_mm) < 2.0;
            }
        CHECK_NEAR("rows", rows, 1, 0, "");
        CHECK_NEAR("its share", figures, 1, 0, "");
    }
}

/* ---- all of it ---- */

/* One evaluation of each house serves all. */
TEST(sheets_of_the_demo_houses)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_begin(HOUSES[k]);
        CHECK("two of the week, three of the load, a band", s.n >= 6);
        CHECK("there are radios", s.load->airtime && s.load->airtime->cells.n > 0);
        check_air(s.load->airtime);
        for (uint32_t i = 0; i < s.n; i++) {
            CHECK("bytes", s.sheets[i].svg.n > 1000 && s.sheets[i].png.n > 1000);
            check_texts(&s.sheets[i], BLOCK_W_MM, BLOCK_H_MM);
            CHECK_NEAR("paths outside of the paper", read_svg(&s.sheets[i], -1).n_outside, 0, 0, "");
        }
        for (uint32_t i = 0; i < s.n; i += 3) { /* one of each kind at least */
            const struct draw_sheet again = sheet_of(&s, i);
            CHECK("the same each time", str_eq(again.svg, s.sheets[i].svg) && str_eq(again.png, s.sheets[i].png));
        }
        check_hours(&s);
        check_neighbours(&s);
        if (k == 0) {
            check_dark_hours(&s);
            check_channels(&s);
        }
        check_run_end(&s.c);
    }
}

/* ---- counted by hand ---- */

#define HEAD                                                                                             \
    "rooftree: 1\nname: Test\ncountry: IE\ntime_zone: Europe/Dublin\ncurrency: EUR\n"                    \
    "floors: {g: {level_m: 0, height_m: 2.5, outline: [[0, 0], [9, 0], [9, 9]]}}\n"                      \
    "rooms: {den: {floor: g, outline: [[0, 0], [9, 0], [9, 9]], use: living}}\n"                         \
    "segments: {home: {vlan: 10}}\n"                                                                     \
    "promises: {enough: {kind: line, says: The line is enough, probability: 0.9}}\n"                     \
    "profiles: {film: {states: [{says: a film, down_mbps: 30, chance: [0.5]}]}}\n"                       \
    "devices:\n"                                                                                         \
    "  one: {kind: television, segment: home, profile: film, room: den, at_m: [8, 4, 1], link: wired}\n" \
    "  two: {kind: television, segment: home, profile: film, room: den, at_m: [8, 4, 1], link: wired}\n" \
    "  three: {kind: television, segment: home, room: den, at_m: [8, 4, 1], link: wired, profile: film}\n"

static struct stage three_screens(const char *line)
{
    struct stage s = { .c = check_run_begin() };
    const struct str text = str_from(arena_printf(s.c.run.arena, "%s%s", HEAD, line));
    CHECK_OK(&s.c, house_read_bytes(&s.c.run, check_path(&s.c, "houses/test.house.yaml"), text, &s.h, &s.c.problems));
    s.ev = (struct evaluation){ .run = &s.c.run, .h = s.h };
    draw_all(&s, DRAW_WEEK | DRAW_LOAD, DRAW_SVG);
    return s;
}

static bool says(const struct stage *s, const char *text)
{
    for (uint32_t i = 0; i < s->n; i++)
        if (label_of(&s->sheets[i], text, 0))
            return true;
    return false;
}

/* Three screens of 30 Mb/s, each half of the time: all at once 1 time in 8, more than the 1 in 10 that may fall short, so 90 Mb/s
 * are needed; the mean is 45.  A line carries 1428 of 1518 bytes (RFC 8200, RFC 9293, RFC 7323 headers in an Ethernet frame): 94.07 of
 * 100 Mb/s, 75.3 of 80. */
TEST(three_screens_by_hand)
{
    struct stage s = three_screens("line: {kind: fibre, down_mbps: 100, up_mbps: 20}\n");
    CHECK("carries", says(&s, "the line carries 94"));
    CHECK("needs", says(&s, "90 needed") && says(&s, "45"));
    CHECK("is left", says(&s, "4.0 Mb/s left") || says(&s, "4.1 Mb/s left"));
    CHECK("enough", !says(&s, "15 Mb/s missing"));
    check_run_end(&s.c);
    s = three_screens("line: {kind: fibre, down_mbps: 80, up_mbps: 20}\n");
    CHECK("carries", says(&s, "the line carries 75"));
    CHECK("falls short", says(&s, "15 Mb/s missing"));
    CHECK("so often", says(&s, "The line falls short in 12.5 % of that hour; promised is no more than 10 %."));
    CHECK("whose profile", says(&s, "the house file") && !says(&s, "usual for: television"));
    check_run_end(&s.c);
}

/* Without a line there is nothing to say of it, and without radios nothing of the air: no sheet at all. */
TEST(no_line_no_sheet)
{
    struct stage s = three_screens("");
    CHECK_NEAR("sheets", s.n, 0, 0, "");
    check_run_end(&s.c);
}
