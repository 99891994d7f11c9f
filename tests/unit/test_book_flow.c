/* The book's engine: what was recorded is all there, in order, within the pages, and nothing lies on anything else.
 *
 * There is no outside reference for where a paragraph goes; what a page must be is judged by plain geometry, and that all words are
 * there by comparing what was laid out with what was recorded, letter by letter. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "book/flow_int.h"
#include "check.h"

static struct str words(struct arena *a, const char *fmt, ...) RT_PRINTF(2, 3);
static struct str words(struct arena *a, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(a, fmt, args);
    va_end(args);
    return str_from(made ? made : "");
}

static struct flow_made made_of(struct check_run *c, struct flow *f)
{
    struct flow_made made;
    const struct flow_about about = { .title = STR("a house"), .foot = STR("a house") };
    CHECK_OK(c, flow_write(&c->run, f, &about, &made, &c->problems));
    return made;
}

static enum rt_code paint_page(void *user, cairo_t *cr, struct str page_words, struct rt_problems *p)
{
    (void)user;
    (void)cr;
    (void)p;
    return page_words.n ? RT_OK : RT_MISSING;
}

/* ---- what each page must be ---- */

static void check_pages(const struct flow *f)
{
    const double high = flow_height_mm(f);
    uint32_t page = f->n_front + 1;
    double y = 0.0;
    for (uint32_t i = 0; i < f->laid.n; i++) {
        const struct block *b = &f->laid.v[i];
        CHECK("pages follow one another, none skipped", b->page == page || b->page == page + 1 || i == 0);
        if (b->page != page)
            y = 0.0;
        page = b->page;
        if (b->kind == BLOCK_SHEET)
            continue;
        CHECK("below the block before it", b->y_mm >= y - 1e-6);
        CHECK("within the page", b->y_mm >= 0.0 && b->y_mm + b->tall_mm <= high + 0.02);
        CHECK("has a height", b->tall_mm > 0.0);
        y = b->y_mm + b->tall_mm;
        const bool is_last = i + 1 == f->laid.n || f->laid.v[i + 1].page != b->page;
        const bool more = i + 1 < f->laid.n && f->laid.v[i + 1].kind != BLOCK_CHAPTER &&
                          f->laid.v[i + 1].kind != BLOCK_SHEET && !b->goes_on && !b->is_rest;
        CHECK("no heading alone at the foot of a page", !(flow_block_leads(b) && is_last && more));
    }
    CHECK("as many pages as the last block's", f->laid.n == 0 || f->n_pages == page);
}

static void add_letters(struct buf *out, struct str s)
{
    for (size_t i = 0; i < s.n; i++)
        if (s.p[i] != ' ' && s.p[i] != '\n')
            buf_char(out, s.p[i]);
}

/* All letters of the blocks; those of a row are told column by column, since its pieces go on side by side. */
static struct str letters_of(struct arena *a, const block_vec *v)
{
    struct buf out = { .arena = a };
    for (uint32_t i = 0; i < v->n;) {
        uint32_t end = i + 1;
        while (end < v->n && v->v[end].is_rest)
            end++;
        if (v->v[i].kind == BLOCK_FIGURE) /* its words go on as a paragraph */
            add_letters(&out, v->v[i].more);
        for (uint32_t c = 0; v->v[i].cells && c < v->v[i].grid->n; c++)
            for (uint32_t k = i; k < end; k++)
                add_letters(&out, v->v[k].cells[c].text);
        for (uint32_t k = i; k < end; k++)
            add_letters(&out, v->v[k].text);
        for (uint32_t k = i; k < end; k++)
            add_letters(&out, v->v[k].figure);
        for (uint32_t k = i; k < end && v->v[i].kind != BLOCK_FIGURE; k++)
            add_letters(&out, v->v[k].more);
        i = end;
    }
    CHECK("memory for the letters", !out.failed);
    return buf_done(&out);
}

/* What flows: sheets apart, which wait for the page that is begun. */
static block_vec without_sheets(struct arena *a, const block_vec *v)
{
    block_vec out = { 0 };
    for (uint32_t i = 0; i < v->n; i++)
        if (v->v[i].kind != BLOCK_SHEET)
            CHECK("memory", VEC_PUSH(a, &out, v->v[i]));
    return out;
}

/* Title of the nth sheet, and how many chapters begin before it; false: there are fewer. */
static bool find_sheet(const block_vec *v, uint32_t n, struct str *title, uint32_t *chapters)
{
    *chapters = 0;
    for (uint32_t i = 0; i < v->n; i++) {
        *chapters += v->v[i].kind == BLOCK_CHAPTER && !v->v[i].is_rest;
        if (v->v[i].kind != BLOCK_SHEET || n-- > 0)
            continue;
        *title = v->v[i].text;
        return true;
    }
    return false;
}

static void check_sheets(const struct flow *f)
{
    struct str laid, recorded;
    uint32_t of_laid, of_recorded;
    for (uint32_t n = 0; find_sheet(&f->blocks, n, &recorded, &of_recorded); n++) {
        CHECK("each sheet is laid out", find_sheet(&f->laid, n, &laid, &of_laid));
        CHECK_TEXT("in their order", laid, recorded);
        CHECK("in the chapter it belongs to", of_laid == of_recorded);
    }
}

static void check_nothing_lost(struct check_run *c, const struct flow *f)
{
    struct arena *a = c->run.arena;
    const block_vec laid = without_sheets(a, &f->laid), recorded = without_sheets(a, &f->blocks);
    CHECK_TEXT("every letter, in order", letters_of(a, &laid), letters_of(a, &recorded));
    check_sheets(f);
}

/* What follows a sheet in its chapter fills the page before it; the next chapter does not. */
TEST(a_sheet_waits_for_the_page_that_is_begun)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, FLOW_A4);
    flow_chapter(f, NULL, "One");
    flow_sheet(f, NULL, STR("A sheet"), 297.0, 210.0, paint_page, NULL);
    flow_text(f, "before it on paper");
    flow_chapter(f, NULL, "Two");
    (void)made_of(&c, f);
    CHECK("the text stands with its heading", f->laid.v[1].kind == BLOCK_TEXT && f->laid.v[1].page == 1);
    CHECK("the sheet follows", f->laid.v[2].kind == BLOCK_SHEET && f->laid.v[2].page == 2);
    CHECK("then the next chapter", f->laid.v[3].kind == BLOCK_CHAPTER && f->laid.v[3].page == 3);
    check_run_end(&c);
}

/* ---- cases ---- */

TEST(an_empty_flow_is_one_blank_page)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, FLOW_A4);
    const struct flow_made made = made_of(&c, f);
    CHECK("one page", made.n_pages == 1);
    CHECK("a PDF (ISO 32000-1:2008, 7.5.2: the header)", made.bytes.n > 8 && memcmp(made.bytes.p, "%PDF-1.", 7) == 0);
    check_run_end(&c);
}

TEST(a_thousand_rows_are_all_there_under_their_heads)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, FLOW_LETTER);
    const struct flow_column columns[] = { { .head = "no" }, { .head = "what", .share = 1 }, { .head = "figure" } };
    flow_chapter(f, "long", "A long table");
    flow_table(f, columns, 3);
    for (uint32_t i = 0; i < 1000; i++) {
        if (i % 100 == 0)
            flow_group(f, "group %u", i / 100);
        const struct flow_cell cells[] = { { .text = words(c.run.arena, "%u", i) },
                                           { .text = words(c.run.arena, "row %u of many", i) },
                                           { .text = words(c.run.arena, "%u m", i * 7) } };
        flow_row(f, cells);
    }
    (void)made_of(&c, f);
    check_pages(f);
    check_nothing_lost(&c, f);
    uint32_t page = 0, n_heads = 0;
    for (uint32_t i = 0; i < f->laid.n; i++) {
        const struct block *b = &f->laid.v[i];
        if (!b->grid)
            continue;
        CHECK("a head on each page, over its first row", b->draws_head == (b->page != page));
        if (b->draws_head && n_heads++)
            CHECK("which says that the table goes on, and of which group",
                  b->is_continued && (b->kind == BLOCK_GROUP || b->group.n > 0));
        page = b->page;
    }
    CHECK("over many pages", n_heads > 10 && n_heads == f->n_pages);
    check_run_end(&c);
}

TEST(what_is_kept_together_is_on_one_page)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, FLOW_A4);
    flow_chapter(f, "kept", "Kept together");
    for (uint32_t g = 0; g < 40; g++) {
        flow_keep_begin(f);
        for (uint32_t i = 0; i < 1 + g % 7; i++)
            flow_text(f,
                      "paragraph %u of group %u, which goes on long enough to need a second line on the page, or so "
                      "it is hoped by whoever wrote it down here",
                      i, g);
        flow_keep_end(f);
    }
    (void)made_of(&c, f);
    check_pages(f);
    for (uint32_t i = 1; i < f->laid.n; i++)
        if (f->laid.v[i].keep && f->laid.v[i].keep == f->laid.v[i - 1].keep)
            CHECK("one page", f->laid.v[i].page == f->laid.v[i - 1].page);
    check_run_end(&c);
}

static struct str huge(struct arena *a, uint32_t n_words, uint32_t word)
{
    struct buf b = { .arena = a };
    for (uint32_t i = 0; i < n_words; i++) {
        buf_fill(&b, (char)('a' + i % 26), word);
        buf_char(&b, ' ');
    }
    return buf_done(&b);
}

TEST(what_no_page_holds_is_broken_between_its_lines)
{
    struct check_run c = check_run_begin();
    struct arena *a = c.run.arena;
    struct flow *f = flow_new(a, FLOW_A4);
    const struct flow_column columns[] = { { .head = "name" }, { .head = "words", .share = 1 } };
    const struct str text = huge(a, 3000, 6), one_word = huge(a, 1, 9000);
    flow_chapter(f, "tall", "Taller than a page");
    flow_text(f, "%.*s", STR_ARG(text));
    flow_caution(f, "A long caution", "%.*s", STR_ARG(text));
    flow_promise(f, FLOW_BROKEN, STR("A promise"), STR("-3 dB"), text, "tall");
    flow_item(f, "%.*s", STR_ARG(one_word));
    flow_table(f, columns, 2);
    const struct flow_cell cells[] = { { .text = STR("tall"), .mark = FLOW_TICK }, { .text = text, .to = "tall" } };
    flow_row(f, cells);
    flow_sum_row(f, cells);
    flow_heading(f, "A heading before a tall one");
    flow_tick(f, text, text);
    (void)made_of(&c, f);
    check_pages(f);
    check_nothing_lost(&c, f);
    CHECK("over many pages", f->n_pages > 10);
    check_run_end(&c);
}

TEST(no_column_squeezes_the_others_to_nothing)
{
    struct check_run c = check_run_begin();
    struct arena *a = c.run.arena;
    struct flow *f = flow_new(a, FLOW_A4);
    const struct flow_column columns[] = { { .head = "id" }, { .head = "long" }, { .head = "rest", .share = 1 } };
    flow_table(f, columns, 3);
    const struct flow_cell cells[] = { { .text = STR("c17") },
                                       { .text = huge(a, 60, 5) },
                                       { .text = STR("from the cabinet up the riser, and along the skirting") } };
    flow_row(f, cells);
    (void)made_of(&c, f);
    check_pages(f);
    const struct flow_grid *g = f->laid.v[0].grid;
    double sum = 6.0; /* two gaps */
    for (uint32_t i = 0; i < 3; i++)
        sum += g->w_mm[i];
    CHECK_NEAR("the table is as wide as the page", sum, flow_width_mm(f), 0.01, "mm");
    struct pen pen;
    CHECK("a font", pen_init(&pen, NULL));
    CHECK("the id is not broken", pen_measure(&pen, TEXT_PAGE_CELL, cells[0].text).w_mm <= g->w_mm[0]);
    pen_release(&pen);
    CHECK("a third of what is left is for the column with a share", g->w_mm[2] > 40.0);
    check_run_end(&c);
}

TEST(a_column_as_wide_as_its_words_breaks_none_of_them)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, FLOW_A4);
    const struct flow_column columns[] = { { .head = "address" },
                                           { .head = "a", .share = 1 },
                                           { .head = "b", .share = 9 } };
    flow_table(f, columns, 3);
    const struct flow_cell cells[] = { { .text = STR("192.0.2.17/24") },   /* RFC 5737 */
                                       { .text = STR("2001:db8::17/64") }, /* RFC 3849 */
                                       { .text = huge(c.run.arena, 40, 7) } };
    flow_row(f, cells);
    (void)made_of(&c, f);
    struct pen pen;
    CHECK("a font", pen_init(&pen, NULL));
    const struct flow_grid *g = f->laid.v[0].grid;
    for (uint32_t i = 0; i < 2; i++)
        CHECK("holds its word", pen_measure(&pen, TEXT_PAGE_CELL, cells[i].text).w_mm <= g->w_mm[i]);
    pen_release(&pen);
    check_run_end(&c);
}

TEST(ids_become_names_that_no_two_have)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, FLOW_A4);
    flow_chapter(f, "it's (a) \\ house", "One");
    flow_section(f, "same", "Two");
    flow_section(f, "same", "Three");
    flow_promise(f, FLOW_KEPT, STR("leads to the first"), STR(""), STR(""), "same");
    flow_promise(f, FLOW_KEPT, STR("leads nowhere"), STR(""), STR(""), "nothing");
    (void)made_of(&c, f);
    for (uint32_t i = 0; i < f->laid.n; i++)
        for (uint32_t k = 0; k < i; k++)
            CHECK("unlike",
                  !f->laid.v[i].name || !f->laid.v[k].name || strcmp(f->laid.v[i].name, f->laid.v[k].name) != 0);
    for (const char *p = f->laid.v[0].name; *p; p++)
        CHECK("nothing that means something to a tag's attributes or to PDF", !strchr("'\\() ", *p));
    CHECK_TEXT("to the first", str_from(f->laid.v[3].to), words(c.run.arena, "dest='%s'", f->laid.v[1].name));
    CHECK("no link where there is nothing to lead to", f->laid.v[4].to == NULL);
    CHECK_TEXT("and it can be asked for", str_from(flow_dangling(f)), STR("nothing"));
    CHECK("the page of an id", flow_page_of(f, "same") == 1 && flow_page_of(f, "nothing") == 0);
    check_run_end(&c);
}

/* ---- anything after anything ---- */

static void paint_box(struct pen *pen, double w_mm, double h_mm, void *user)
{
    (void)user;
    pen_ink(pen, INK_LINE);
    pen_path_box(pen, (struct draw_box){ 0.0, 0.0, w_mm, h_mm });
    cairo_stroke(pen->cr);
}

static struct str some(struct random *r, struct arena *a)
{
    static const uint32_t LENGTHS[] = { 0, 1, 4, 12, 40, 90, 1200 };
    return huge(a, LENGTHS[random_below(r, random_below(r, 12) ? 6 : 7)], 1 + random_below(r, 11));
}

static void add_table(struct random *r, struct arena *a, struct flow *f)
{
    struct flow_column columns[9] = { 0 };
    const uint32_t n = 1 + random_below(r, 9), n_rows = random_below(r, 60);
    for (uint32_t i = 0; i < n; i++)
        columns[i] = (struct flow_column){ .head = random_below(r, 4) ? "head" : NULL,
                                           .share = random_below(r, 2) ? random_between(r, 0.1, 3.0) : 0.0,
                                           .align = (enum flow_align)random_below(r, 3) };
    flow_table(f, columns, n);
    for (uint32_t k = 0; k < n_rows; k++) {
        struct flow_cell cells[9] = { 0 };
        for (uint32_t i = 0; i < n; i++)
            cells[i] = (struct flow_cell){
                .text = huge(a, random_below(r, random_below(r, 90) ? 9 : 700), 1 + random_below(r, 9)),
                .mark = random_below(r, 5) ? FLOW_NO_MARK : (enum flow_mark)random_below(r, FLOW_MARK_COUNT),
                .is_strong = random_below(r, 4) == 0,
                .to = random_below(r, 9) ? NULL : "somewhere"
            };
        if (random_below(r, 15) == 0)
            flow_group(f, "group %u", k);
        if (random_below(r, 20) == 0)
            flow_sum_row(f, cells);
        else
            flow_row(f, cells);
    }
}

static const char *const NAMES[] = { "Name", "Date", "Signature" };

static void add_some(struct random *r, struct arena *a, struct flow *f)
{
    const struct str text = some(r, a), more = some(r, a), head = huge(a, 1 + random_below(r, 12), 9);
    switch (random_below(r, 16)) {
    case 0:
        flow_chapter(f, random_below(r, 2) ? "somewhere" : NULL, "A chapter");
        break;
    case 1:
    case 2:
        flow_section(f, random_below(r, 2) ? "section" : NULL, "%.*s", STR_ARG(head));
        break;
    case 3:
        flow_heading(f, "%.*s", STR_ARG(head));
        break;
    case 4:
        flow_text(f, "%.*s", STR_ARG(text));
        break;
    case 5:
        flow_soft(f, "%.*s", STR_ARG(text));
        break;
    case 6:
        flow_item(f, "%.*s", STR_ARG(text));
        break;
    case 7:
        flow_space(f, random_between(r, 0.0, 120.0));
        break;
    case 8:
        flow_caution(f, "Careful", "%.*s", STR_ARG(text));
        break;
    case 9:
        flow_promise(f, (enum flow_mark)random_below(r, 4), text, random_below(r, 2) ? STR("+46 Mb/s") : STR(""), more,
                     "somewhere");
        break;
    case 10:
        flow_tick(f, text, more);
        break;
    case 11:
        flow_write_lines(f, NAMES, random_below(r, 4));
        break;
    case 12:
        flow_figure(f, random_between(r, 5.0, 400.0), paint_box, NULL, text);
        break;
    case 13:
        flow_sheet(f, random_below(r, 2) ? "sheet" : NULL, STR("A sheet"), 420.0, 297.0, paint_page, NULL);
        break;
    case 14:
        add_table(r, a, f);
        break;
    default:
        if (random_below(r, 2))
            flow_keep_begin(f);
        else
            flow_keep_end(f);
    }
}

PROP(any_blocks_lie_within_their_pages_and_beside_one_another, 60)
{
    struct check_run c = check_run_begin();
    struct flow *f = flow_new(c.run.arena, random_below(r, 2) ? FLOW_A4 : FLOW_LETTER);
    for (uint32_t n = 1 + random_below(r, 50); n > 0; n--)
        add_some(r, c.run.arena, f);
    (void)made_of(&c, f);
    check_pages(f);
    check_nothing_lost(&c, f);
    check_run_end(&c);
}

TEST(each_memory_ceiling_is_an_error_and_not_a_crash)
{
    struct check_run c = check_run_begin();
    enum rt_code code = RT_NOMEM;
    for (size_t limit = 4096; code == RT_NOMEM && limit < (size_t)64 << 20; limit = limit * 5 / 4) {
        struct arena *a = arena_new(limit);
        struct run run = c.run;
        struct random r = { .seed = 7 };
        struct rt_problems problems;
        rt_problems_init(&problems, c.run.arena);
        run.arena = a;
        struct flow *f = flow_new(a, FLOW_A4);
        struct flow_made made;
        const struct flow_about about = { .title = STR("a house") };
        for (uint32_t i = 0; f && i < 40; i++)
            add_some(&r, a, f);
        code = f ? flow_write(&run, f, &about, &made, &problems) : RT_NOMEM;
        arena_free(a);
    }
    CHECK("whole at last", code == RT_OK);
    check_run_end(&c);
}
