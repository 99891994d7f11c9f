/* Two houses side by side, on made-up fields: shares and rooms against cases whose answer is plain, texts that keep clear of each
 * other, both halves to one scale and place. */
#include <dirent.h>
#include <expat.h>
#include <stdlib.h>
#include <unistd.h>

#include "draw/side_sheet.h"
#include "field_kit.h"
#include "sheet_kit.h"

#define BLOCK_W_MM 130.0 /* the title block, wider than any here */
#define BLOCK_H_MM 11.0
#define FOOT_MM 42.0 /* legend, scale bar and title block stand there */

static const char *const LARCH_END = "houses/larch_end.house.yaml";
static const char *const QUAY_FLAT = "houses/quay_flat.house.yaml";

/* A house and a second reading of its file, to be changed. */
struct both {
    struct stage a, b;
    struct side_pair pair;
};

static struct both both_begin(const char *path)
{
    struct both two = { .a = stage_begin(path), .b = stage_begin(path) };
    return two;
}

static void both_pair(struct both *two)
{
    stage_options(&two->a);
    two->pair = (struct side_pair){ { two->a.house, two->b.house }, { &two->a.fields, &two->b.fields } };
}

static void both_end(struct both *two)
{
    check_run_end(&two->a.c);
    check_run_end(&two->b.c);
}

static struct side_spot spot_of(struct both *two, const char *floor, enum band band)
{
    struct side_spot *spots = NULL;
    uint32_t n = 0;
    CHECK_OK(&two->a.c, side_spots(&two->a.c.run, &two->pair, &two->a.options, &spots, &n, &two->a.c.problems));
    for (uint32_t i = 0; i < n; i++)
        if (spots[i].band == band && str_is(two->a.house->floors.v[spots[i].floor[0]].id, floor))
            return spots[i];
    CHECK("there is such a sheet", false);
    return (struct side_spot){ 0 };
}

static struct side_difference difference_on(struct both *two, const char *floor)
{
    struct side_difference d;
    const struct side_spot at = spot_of(two, floor, BAND_5G);
    CHECK_OK(&two->a.c, side_compare(&two->a.c.run, &two->pair, &two->a.options, &at, &d, &two->a.c.problems));
    return d;
}

static struct draw_sheet sheet_of(struct both *two, struct side_spot at)
{
    struct draw_sheet sheet;
    CHECK_OK(&two->a.c, side_draw_one(&two->a.c.run, &two->pair, &two->a.options, at, &sheet, &two->a.c.problems));
    return sheet;
}

/* ---- what differs ---- */

/* A radio that sends 6 dB more is 6 dB better everywhere, one that sends 2.9 dB more nowhere by more than 3 dB. */
TEST(more_power_is_better_everywhere)
{
    static const struct {
        double more_db, share;
    } CASES[] = { { 6.0, 1.0 }, { 3.1, 1.0 }, { 2.9, 0.0 }, { 0.0, 0.0 } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct both two = both_begin(LARCH_END);
        for (uint32_t r = 0; r < two.b.fields.radios.n; r++) {
            two.b.fields.radios.v[r].power_dbm += CASES[i].more_db;
            two.b.fields.radios.v[r].eirp_dbm += CASES[i].more_db;
        }
        both_pair(&two);
        const struct side_difference d = difference_on(&two, "first");
        CHECK("there is an area", d.has_area);
        CHECK_NEAR("of the second house", d.better_share[1], CASES[i].share, 0, "");
        CHECK_NEAR("of the first house", d.better_share[0], 0, 0, "");
        both_end(&two);
    }
}

/* 8 dB more west of x = 3 m: counted here cell by cell, over the cells in which somebody can be. */
TEST(share_is_that_of_the_cells)
{
    struct both two = both_begin(LARCH_END);
    const struct house *h = two.a.house;
    const uint32_t floor = house_find_floor(h, STR("ground"));
    uint32_t grid = 0;
    while (two.a.fields.grids.v[grid].floor != floor)
        grid++;
    const struct grid *g = &two.a.fields.grids.v[grid];
    double n = 0, n_west = 0;
    for (uint32_t i = 0; i < g->nx * g->ny; i++) {
        const struct vec3 at = { g->x0_m + (i % g->nx + 0.5) * g->cell_m, g->y0_m + (i / g->nx + 0.5) * g->cell_m,
                                 1.2 };
        const bool west = at.x < 3.0;
        for (uint32_t r = 0; r < two.b.fields.radios.n; r++)
            two.b.fields.gain_db[grid * two.b.fields.radios.n + r][i] += west ? 8.0F : 0.0F;
        if (house_room_at(h, floor, (struct vec2){ at.x, at.y }) == NO_REF || house_is_solid_at(h, floor, at) ||
            house_is_above_roof(h, floor, at))
            continue;
        n += 1;
        n_west += west;
    }
    both_pair(&two);
    const struct side_difference d = difference_on(&two, "ground");
    CHECK("both sides of the line", n_west > 20 && n - n_west > 20);
    CHECK_NEAR("share", d.better_share[1], n_west / n, 1e-12, "");
    CHECK_NEAR("worse nowhere", d.better_share[0], 0, 0, "");
    both_end(&two);
}

/* Everywhere -60 dB from 20 dBm, enough for every promise of the house; in one room of the second house -120 dB, which is too little
 * for any. */
static void level_fields(struct stage *s, const char *dark_room)
{
    const uint32_t dark = dark_room ? house_find_room(s->house, str_from(dark_room)) : NO_REF;
    for (uint32_t g = 0; g < s->fields.grids.n; g++)
        for (uint32_t r = 0; r < s->fields.radios.n; r++)
            for (uint32_t i = 0; i < s->fields.grids.v[g].nx * s->fields.grids.v[g].ny; i++)
                if (s->fields.grids.v[g].inside[i])
                    s->fields.gain_db[g * s->fields.radios.n + r][i] =
                        s->fields.grids.v[g].room[i] == dark && dark != NO_REF ? -120.0F : -60.0F;
}

TEST(rooms_whose_verdict_differs_are_named)
{
    struct both two = both_begin(LARCH_END);
    level_fields(&two.a, NULL);
    level_fields(&two.b, "box_room");
    both_pair(&two);
    const struct side_difference first = difference_on(&two, "first"), ground = difference_on(&two, "ground");
    const struct str name = two.a.house->rooms.v[house_find_room(two.a.house, STR("box_room"))].says;
    CHECK_NEAR("kept in the first house alone", first.only_kept[0].n, 1, 0, "rooms");
    CHECK_NEAR("in the second alone", first.only_kept[1].n, 0, 0, "rooms");
    if (first.only_kept[0].n == 1)
        CHECK_TEXT("the box room", first.only_kept[0].v[0], name);
    /* houses/larch_end.house.yaml: calls everywhere; 5 GHz in the box room; 5 GHz in Ravi's room */
    CHECK_NEAR("promises upstairs", first.n_promises, 3, 0, "");
    CHECK("the ground floor is the same", ground.only_kept[0].n == 0 && ground.only_kept[1].n == 0);
    both_end(&two);
}

/* ---- sheets ---- */

static bool some_label_has(const struct draw_sheet *sheet, const char *words)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++)
        if (memmem(sheet->labels.v[i].text.p, sheet->labels.v[i].text.n, words, strlen(words)))
            return true;
    return false;
}

/* Texts keep clear of each other, of frame and title block, of the legend below and of the line between the halves. */
static void check_halves(const struct draw_sheet *sheet)
{
    CHECK("A3 (ISO 216)", sheet->w_mm == 420.0 && sheet->h_mm == 297.0);
    check_texts(sheet, BLOCK_W_MM, BLOCK_H_MM);
    for (uint32_t i = 0; i < sheet->labels.n; i++) {
        const struct draw_box b = sheet->labels.v[i].box;
        if (b.x_mm < 210.0 && b.x_mm + b.w_mm > 210.0)
            check_text("across the middle", sheet->labels.v[i].text, STR(""), __FILE__, __LINE__);
        if (b.y_mm + b.h_mm > sheet->h_mm - FOOT_MM)
            check_text("in the foot", sheet->labels.v[i].text, STR(""), __FILE__, __LINE__);
    }
}

/* Access points go a metre and a half along x, towards the middle of a narrow house. */
static void move_access_points(struct stage *s)
{
    for (uint32_t i = 0; i < s->house->equipment.n; i++) {
        struct equipment *e = &s->house->equipment.v[i];
        if (e->part.i != NO_REF && s->house->parts.list.v[e->part.i].radios.n > 0)
            e->at_m.x = e->at_m.x > 3.0 ? e->at_m.x - 1.5 : e->at_m.x + 1.5;
    }
    stage_fields(s);
}

/* Everything that stands at the floor's greatest x goes out by so much: outline, rooms and walls. */
static void widen(struct stage *s, const char *floor_id, double by_m)
{
    struct house *h = s->house;
    const uint32_t floor = house_find_floor(h, str_from(floor_id));
    double most_m = -INFINITY;
    const vec2_list outline = h->floors.v[floor].outline;
    for (uint32_t i = 0; i < outline.n; i++)
        most_m = fmax(most_m, outline.v[i].x);
    for (uint32_t i = 0; i < outline.n; i++)
        outline.v[i].x += outline.v[i].x == most_m ? by_m : 0.0;
    for (uint32_t r = 0; r < h->rooms.n; r++)
        for (uint32_t i = 0; h->rooms.v[r].floor.i == floor && i < h->rooms.v[r].outline.n; i++)
            h->rooms.v[r].outline.v[i].x += h->rooms.v[r].outline.v[i].x == most_m ? by_m : 0.0;
    for (uint32_t w = 0; w < h->walls.n; w++)
        for (uint32_t i = 0; h->walls.v[w].floor.i == floor && i < h->walls.v[w].line.n; i++)
            h->walls.v[w].line.v[i].x += h->walls.v[w].line.v[i].x == most_m ? by_m : 0.0;
    stage_fields(s);
}

static void check_all_sheets(struct both *two, uint32_t n_wanted)
{
    struct side_spot *spots = NULL;
    uint32_t n = 0;
    CHECK_OK(&two->a.c, side_spots(&two->a.c.run, &two->pair, &two->a.options, &spots, &n, &two->a.c.problems));
    CHECK_NEAR("a sheet for each floor", n, n_wanted, 0, "");
    for (uint32_t i = 0; i < n; i++) {
        const struct draw_sheet sheet = sheet_of(two, spots[i]);
        check_halves(&sheet);
        CHECK("both houses' names", some_label_has(&sheet, "first.yaml") && some_label_has(&sheet, "second.yaml"));
        CHECK("says how they differ", some_label_has(&sheet, "3 dB"));
    }
}

TEST(no_text_lies_on_another)
{
    const char *const houses[] = { LARCH_END, QUAY_FLAT, "houses/whin_farm.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(houses); i++) {
        struct both two = both_begin(houses[i]);
        move_access_points(&two.b);
        two.a.house->path = "houses/first.yaml";
        two.b.house->path = "second.yaml";
        both_pair(&two);
        two.a.options.formats = DRAW_PNG;
        check_all_sheets(&two, two.a.house->floors.n);
        both_end(&two);
    }
}

TEST(long_names_of_houses_are_broken_not_cut)
{
    struct both two = both_begin(QUAY_FLAT);
    two.a.house->path = "houses/first.yaml";
    two.b.house->path = "second.yaml";
    two.b.house->name = STR("The house at the end of the lane behind the chapel with the garden wall of stone, as the "
                            "neighbours on the hill and all who come by on foot have always called it");
    both_pair(&two);
    two.a.options.formats = DRAW_PNG;
    check_all_sheets(&two, two.a.house->floors.n);
    both_end(&two);
}

static const struct draw_label *label_after(const struct draw_sheet *sheet, const char *text, double x_mm)
{
    for (uint32_t i = 0; i < sheet->labels.n; i++)
        if (str_is(sheet->labels.v[i].text, text) && sheet->labels.v[i].box.x_mm > x_mm)
            return &sheet->labels.v[i];
    return NULL;
}

/* The same floor twice: what is written on the left is written on the right, half a sheet away. */
TEST(halves_lie_alike)
{
    struct both two = both_begin(QUAY_FLAT);
    both_pair(&two);
    const struct draw_sheet sheet = sheet_of(&two, spot_of(&two, "third", BAND_5G));
    const char *const texts[] = { "8.60 m", "6.90 m", "kitchen", "a1" };
    double apart_mm = NAN;
    for (size_t i = 0; i < RT_COUNT(texts); i++) {
        const struct draw_label *left = label_after(&sheet, texts[i], 0.0),
                                *right = label_after(&sheet, texts[i], 210.0);
        CHECK("in both halves", left && right && left->box.x_mm < 210.0);
        if (!left || !right)
            continue;
        CHECK_NEAR("as high", left->box.y_mm, right->box.y_mm, 1e-9, "mm");
        apart_mm = isnan(apart_mm) ? right->box.x_mm - left->box.x_mm : apart_mm;
        CHECK_NEAR("as far away", right->box.x_mm - left->box.x_mm, apart_mm, 1e-9, "mm");
    }
    CHECK("nothing differs", some_label_has(&sheet, "Nowhere more than 3 dB better or worse"));
    both_end(&two);
}

/* The balcony of the second house is 2 m longer: both are drawn at one scale, and what they share lies in the same place. */
TEST(a_larger_floor_beside_a_smaller)
{
    struct both two = both_begin(QUAY_FLAT);
    widen(&two.b, "balcony", 2.0);
    both_pair(&two);
    const struct draw_sheet sheet = sheet_of(&two, spot_of(&two, "balcony", BAND_5G));
    check_halves(&sheet);
    const struct draw_label *short_one = label_after(&sheet, "3.60 m", 0.0);
    const struct draw_label *long_one = label_after(&sheet, "5.60 m", 210.0);
    CHECK("each its own width", short_one && short_one->box.x_mm < 210.0 && long_one);
    const struct draw_label *left = label_after(&sheet, "1.40 m", 0.0), *right = label_after(&sheet, "1.40 m", 210.0);
    CHECK("its depth", left && right);
    if (short_one && long_one && left && right) {
        /* middles of the widths: half of 2 m further from where both begin */
        const double a_mm = short_one->box.x_mm + short_one->box.w_mm / 2.0 - left->box.x_mm;
        const double b_mm = long_one->box.x_mm + long_one->box.w_mm / 2.0 - right->box.x_mm;
        CHECK_NEAR("one scale, one place", b_mm - a_mm, 1000.0 / sheet.scale, 1e-6, "mm");
    }
    both_end(&two);
}

/* The same, but the second house stands 300 m away on its own drawing board: each is drawn for itself, nothing is compared. */
TEST(houses_without_a_place_in_common)
{
    struct both two = both_begin(QUAY_FLAT);
    for (uint32_t i = 0; i < two.b.fields.grids.n; i++)
        two.b.fields.grids.v[i].x0_m += 300.0;
    both_pair(&two);
    const struct draw_sheet sheet = sheet_of(&two, spot_of(&two, "third", BAND_5G));
    check_halves(&sheet);
    CHECK("said", some_label_has(&sheet, "no place in common"));
    both_end(&two);
}

TEST(a_band_that_one_house_lacks)
{
    struct both two = both_begin(LARCH_END);
    level_fields(&two.a, NULL);
    two.b.fields.radios.n = 0;
    both_pair(&two);
    const struct draw_sheet sheet = sheet_of(&two, spot_of(&two, "first", BAND_5G));
    check_halves(&sheet);
    for (uint32_t i = 0; i < sheet.labels.n; i++)
        if (memmem(sheet.labels.v[i].text.p, sheet.labels.v[i].text.n, "No field", 8))
            CHECK("on the right", sheet.labels.v[i].box.x_mm > 210.0);
    CHECK("said", some_label_has(&sheet, "No field: in this house no access point sends at 5 GHz"));
    CHECK("no share of an area", !some_label_has(&sheet, "3 dB"));
    CHECK("its promises are broken", some_label_has(&sheet, "kept only on the left"));
    two.a.fields.radios.n = 0;
    struct side_spot *spots;
    uint32_t n;
    CHECK_OK(&two.a.c, side_spots(&two.a.c.run, &two.pair, &two.a.options, &spots, &n, &two.a.c.problems));
    CHECK_NEAR("none without the band", n, 0, 0, "sheets");
    both_end(&two);
}

static void XMLCALL on_text(void *user, const XML_Char *text, int n)
{
    struct buf *title = user;
    if (title->n < 200) /* the title comes first */
        buf_add(title, text, (size_t)n);
}

TEST(same_houses_same_bytes_and_a_title)
{
    struct both two = both_begin(QUAY_FLAT);
    move_access_points(&two.b);
    two.b.house->north_deg += 30.0; /* an arrow for each */
    both_pair(&two);
    const struct side_spot at = spot_of(&two, "third", BAND_5G), other = spot_of(&two, "balcony", BAND_5G);
    const struct draw_sheet first = sheet_of(&two, at);
    check_halves(&first);
    sheet_of(&two, other);
    const struct draw_sheet again = sheet_of(&two, at);
    CHECK("svg", str_eq(first.svg, again.svg));
    CHECK("png", str_eq(first.png, again.png));
    struct buf title = { .arena = two.a.c.run.arena };
    XML_Parser parser = XML_ParserCreate(NULL);
    XML_SetUserData(parser, &title);
    XML_SetCharacterDataHandler(parser, on_text);
    CHECK("well-formed", XML_Parse(parser, first.svg.p, (int)first.svg.n, 1) == XML_STATUS_OK);
    XML_ParserFree(parser);
    const struct str words = buf_done(&title);
    CHECK("to be read out", strstr(words.p, "side by side") && strstr(words.p, "signal at 5 GHz"));
    both_end(&two);
}

/* ---- files ---- */

TEST(files_are_named_and_written)
{
    struct both two = both_begin(LARCH_END);
    two.b.house->floors.v[house_find_floor(two.b.house, STR("loft"))].id = STR("attic");
    both_pair(&two);
    char folder[] = "/tmp/rooftree-side-XXXXXX";
    CHECK("folder", mkdtemp(folder));
    struct draw_files files;
    CHECK_OK(&two.a.c, draw_side_by_side(&two.a.c.run, two.pair.house, two.pair.fields, &two.a.options, folder, &files,
                                         &two.a.c.problems));
    CHECK_NEAR("two of each floor that both have", files.paths.n, 2 * (two.a.house->floors.n - 1), 0, "files");
    for (uint32_t i = 0; i < files.paths.n; i++)
        CHECK("written", access(files.paths.v[i].p, R_OK) == 0);
    const char *const want[] = { "svg", "png" };
    for (uint32_t i = 0; i < 2 && i < files.paths.n; i++) {
        const char *name = arena_printf(two.a.c.run.arena, "%s/ground-compared-5ghz.%s", folder, want[i]);
        CHECK_TEXT("name", files.paths.v[i], str_from(name));
    }
    for (uint32_t i = 0; i < files.paths.n; i++)
        unlink(files.paths.v[i].p);
    CHECK("nothing else", rmdir(folder) == 0);
    both_end(&two);
}

TEST(houses_without_a_floor_in_common)
{
    struct both two = { .a = stage_begin(LARCH_END), .b = stage_begin(QUAY_FLAT) };
    both_pair(&two);
    struct side_spot *spots;
    uint32_t n;
    CHECK_OK(&two.a.c, side_spots(&two.a.c.run, &two.pair, &two.a.options, &spots, &n, &two.a.c.problems));
    CHECK_NEAR("sheets", n, 0, 0, "");
    bool said = false;
    for (uint32_t i = 0; i < two.a.c.problems.list.n; i++)
        said = said || strstr(two.a.c.problems.list.v[i].msg, "no floor that is asked for is in both houses");
    CHECK("said", said);
    both_end(&two);
}

TEST(memory_that_runs_out_is_said)
{
    struct both two = both_begin(QUAY_FLAT);
    both_pair(&two);
    const struct side_spot at = spot_of(&two, "third", BAND_5G);
    struct arena *whole = two.a.c.run.arena;
    for (size_t kb = 16; kb < 16384; kb *= 2) {
        struct arena *small = arena_new(kb * 1024);
        two.a.c.run.arena = small;
        struct draw_sheet sheet;
        const enum rt_code code = side_draw_one(&two.a.c.run, &two.pair, &two.a.options, at, &sheet, &two.a.c.problems);
        CHECK("all or a clear no", code == RT_NOMEM || (code == RT_OK && sheet.svg.n > 1000 && sheet.png.n > 1000));
        arena_free(small);
    }
    two.a.c.run.arena = whole;
    both_end(&two);
}
