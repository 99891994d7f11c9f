/* Breaks the blocks into pages.  Nothing is cut: blocks that belong together move to the next page together; a heading stays with what
 * it leads to; a table that goes on repeats its head; what no page holds is broken between its lines. */
#include <math.h>
#include <string.h>

#include "book/flow_int.h"

static const double SECTION_LEAST_MM = 26.0; /* a section begins where this much of the page is left */
static const double CHAPTER_LEAST_MM = 55.0, CHAPTER_ABOVE_MM = 8.0; /* the same of a chapter */
static const double PIECE_LEAST_MM = 40.0; /* what no page holds begins where this much is left */
enum { INTRODUCTION_MOST = 3 };            /* texts */
static const double SHEET_WAITS_MM = 40.0; /* what follows a sheet fills the page before it if this much is left */

struct layout {
    struct flow *f;
    const struct pen *pen;
    uint32_t page;
    double y_mm, high_mm;
    VEC(uint32_t) waiting; /* sheets that wait for the page to be full */
};

bool flow_is_listed(const struct block *b)
{
    return !b->is_rest && b->id && (b->kind == BLOCK_CHAPTER || b->kind == BLOCK_SECTION || b->kind == BLOCK_SHEET);
}

/* ---- what stays together ---- */

static bool is_words(const struct block *b) { return b->kind == BLOCK_TEXT || b->kind == BLOCK_SOFT; }

/* Few words between a heading and the table, figure or heading that they are about stay with both. */
static bool introduces(const struct flow *f, uint32_t first, uint32_t k)
{
    const struct block *v = f->blocks.v;
    uint32_t from = k, to = k;
    while (from > first && is_words(&v[from - 1]))
        from--;
    while (to < f->blocks.n && is_words(&v[to]))
        to++;
    if (from == first || from == k || to == f->blocks.n || to - from > INTRODUCTION_MOST)
        return false;
    return flow_block_leads(&v[from - 1]) && (v[to].grid || v[to].kind == BLOCK_FIGURE || v[to].kind == BLOCK_HEADING);
}

/* Does block k stay on the page of the one before it? */
static bool is_bound(const struct flow *f, uint32_t first, uint32_t k, bool keeps)
{
    const struct block *v = f->blocks.v, *b = &v[k];
    if (b->kind == BLOCK_CHAPTER || b->kind == BLOCK_SHEET)
        return false;
    if (keeps && b->keep && b->keep == v[k - 1].keep)
        return true;
    if (b->kind == BLOCK_SUM && v[k - 1].grid == b->grid)
        return true;
    uint32_t leader = k - 1;
    while (leader > first && v[leader].kind == BLOCK_SPACE)
        leader--;
    return flow_block_leads(&v[leader]) || introduces(f, first, k) ||
           (is_words(&v[leader]) && v[leader].text.n && v[leader].text.p[v[leader].text.n - 1] == ':');
}

static uint32_t unit_end(const struct flow *f, uint32_t first, bool keeps)
{
    uint32_t end = first + 1;
    while (end < f->blocks.n && is_bound(f, first, end, keeps))
        end++;
    return end;
}

/* ---- measuring ---- */

/* The words of the group that row i belongs to. */
static struct str group_of(const struct flow *f, uint32_t i)
{
    const struct flow_grid *g = f->blocks.v[i].grid;
    for (uint32_t k = i; k-- > g->first;)
        if (f->blocks.v[k].kind == BLOCK_GROUP)
            return f->blocks.v[k].text;
    return STR("");
}

static bool ends_in_rule(const struct block *b) { return b->kind == BLOCK_PROMISE || b->kind == BLOCK_TICK; }

/* A copy of the block, as it is at the top of a page or elsewhere. */
static struct block as_placed(struct layout *l, uint32_t i, bool is_top)
{
    struct block b = l->f->blocks.v[i];
    b.is_top = is_top;
    b.is_under_rule = i > 0 && is_words(&b) && ends_in_rule(&l->f->blocks.v[i - 1]);
    if (!b.grid)
        return b;
    const bool is_first = i == b.grid->first;
    b.draws_head = b.grid->has_head && (is_first || is_top);
    b.is_continued = is_top && !is_first;
    b.ends_grid = i + 1 == b.grid->end;
    if (b.is_continued && b.kind != BLOCK_GROUP)
        b.group = group_of(l->f, i);
    return b;
}

static double unit_mm(struct layout *l, uint32_t first, uint32_t end, bool is_top)
{
    double sum = 0.0;
    for (uint32_t i = first; i < end; i++) {
        if (l->f->blocks.v[i].kind == BLOCK_SPACE) {
            sum += is_top ? 0.0 : l->f->blocks.v[i].h_mm;
            continue;
        }
        struct block b = as_placed(l, i, is_top);
        sum += flow_block_mm(l->f, l->pen, &b);
        l->f->blocks.v[i].content_mm = b.content_mm;
        is_top = false;
    }
    return sum;
}

/* ---- placing ---- */

static void put_sheet(struct layout *l, uint32_t i)
{
    struct block b = l->f->blocks.v[i];
    b.page = l->page++;
    l->f->failed |= !VEC_PUSH(l->f->arena, &l->f->laid, b);
}

static void next_page(struct layout *l)
{
    l->page++;
    l->y_mm = 0.0;
    for (uint32_t i = 0; i < l->waiting.n; i++)
        put_sheet(l, l->waiting.v[i]);
    l->waiting.n = 0;
}

static void put(struct layout *l, struct block b)
{
    struct flow *f = l->f;
    b.page = l->page;
    b.y_mm = l->y_mm;
    b.tall_mm = flow_block_mm(f, l->pen, &b);
    l->y_mm += b.tall_mm;
    if (b.cells) { /* its links are named when all is laid out */
        struct flow_cell *own = ARENA_ARRAY(f->arena, struct flow_cell, b.grid->n);
        f->failed |= !own;
        if (own && b.grid->n)
            memcpy(own, b.cells, b.grid->n * sizeof *own);
        b.cells = own;
    }
    f->failed |= (b.grid && b.kind != BLOCK_GROUP && !b.cells) || !VEC_PUSH(f->arena, &f->laid, b);
}

/* Places block i, which may be taller than what is left, and than a page. */
static void put_in_pieces(struct layout *l, uint32_t i)
{
    struct block b = as_placed(l, i, l->y_mm <= 0.0);
    while (!l->f->failed) {
        const double left = l->high_mm - l->y_mm;
        struct block rest;
        if (flow_block_mm(l->f, l->pen, &b) <= left || flow_block_shrink(l->f, l->pen, &b, left)) {
            put(l, b);
            return;
        }
        if (flow_block_split(l->f, l->pen, &b, left, &rest)) {
            put(l, b);
            b = rest;
            b.is_top = true;
            b.is_continued = b.grid != NULL;
            b.draws_head = b.grid && b.grid->has_head;
            b.ends_grid = b.grid && i + 1 == b.grid->end;
            if (b.grid)
                b.group = group_of(l->f, i);
        } else if (l->y_mm <= 0.0) { /* not even one line of it fits on a page */
            put(l, b);
            return;
        } else {
            b = as_placed(l, i, true); /* a rest begins at the top of its page, so this is the whole */
        }
        next_page(l);
    }
}

static void put_space(struct layout *l, double h_mm)
{
    if (l->y_mm > 0.0)
        l->y_mm = fmin(l->y_mm + h_mm, l->high_mm);
}

static void put_unit(struct layout *l, uint32_t first, uint32_t end)
{
    for (uint32_t i = first; i < end && !l->f->failed; i++)
        if (l->f->blocks.v[i].kind == BLOCK_SPACE)
            put_space(l, l->f->blocks.v[i].h_mm);
        else
            put_in_pieces(l, i);
}

/* Places blocks that no page holds together: by smaller units as long as there are any, then by pieces. */
static void put_too_tall(struct layout *l, uint32_t first, uint32_t end)
{
    for (uint32_t i = first; i < end && !l->f->failed;) {
        uint32_t k = unit_end(l->f, i, false);
        if (k > end)
            k = end;
        const double left = l->high_mm - l->y_mm, tall = unit_mm(l, i, k, l->y_mm <= 0.0);
        const bool no_page_holds = unit_mm(l, i, k, true) > l->high_mm;
        const double least = unit_mm(l, i, k - 1, l->y_mm <= 0.0) + PIECE_LEAST_MM;
        const bool breaks = no_page_holds && l->f->blocks.v[k - 1].kind != BLOCK_FIGURE;
        if (l->y_mm > 0.0 && tall > left && (!breaks || left < least))
            next_page(l);
        put_unit(l, i, k);
        i = k;
    }
}

/* A sheet has a page of its own, after the one that is begun, which what follows may fill; but not another chapter. */
static void put_sheet_behind(struct layout *l, uint32_t i)
{
    if (l->y_mm <= 0.0) {
        put_sheet(l, i);
        return;
    }
    l->f->failed |= !VEC_PUSH(l->f->arena, &l->waiting, i);
    if (l->high_mm - l->y_mm < SHEET_WAITS_MM)
        next_page(l);
}

bool flow_lay_out(struct flow *f, const struct pen *pen, uint32_t n_front)
{
    struct layout l = { .f = f, .pen = pen, .page = n_front + 1, .high_mm = flow_height_mm(f) };
    f->n_front = n_front;
    f->laid.n = 0;
    f->dangling = NULL;
    for (uint32_t i = 0; i < f->blocks.n && !f->failed; i++)
        if (f->blocks.v[i].grid && !f->blocks.v[i].grid->is_laid_out)
            flow_grid_lay_out(f, pen, f->blocks.v[i].grid);
    for (uint32_t i = 0; i < f->blocks.n && !f->failed;) {
        const struct block *b = &f->blocks.v[i];
        if (b->kind == BLOCK_SHEET) {
            put_sheet_behind(&l, i++);
            continue;
        }
        if (b->kind == BLOCK_CHAPTER && l.waiting.n)
            next_page(&l);
        const uint32_t end = unit_end(f, i, true);
        if (b->kind == BLOCK_CHAPTER && l.high_mm - l.y_mm < CHAPTER_LEAST_MM)
            next_page(&l);
        if (b->kind == BLOCK_CHAPTER)
            put_space(&l, CHAPTER_ABOVE_MM);
        const double left = l.high_mm - l.y_mm, tall = unit_mm(&l, i, end, l.y_mm <= 0.0);
        const bool begins = tall > left || (b->kind == BLOCK_SECTION && left < SECTION_LEAST_MM);
        if (unit_mm(&l, i, end, true) > l.high_mm) {
            if (b->kind == BLOCK_CHAPTER && l.y_mm > 0.0)
                next_page(&l);
            put_too_tall(&l, i, end);
        } else {
            if (begins && l.y_mm > 0.0 && b->kind != BLOCK_SPACE)
                next_page(&l);
            put_unit(&l, i, end);
        }
        i = end;
    }
    if (l.waiting.n)
        next_page(&l);
    f->n_pages = f->laid.n ? f->laid.v[f->laid.n - 1].page : n_front;
    if (f->n_pages == 0)
        f->n_pages = 1; /* a document has a page, if only a blank one */
    if (!f->failed)
        flow_name_all(f);
    return !f->failed;
}
