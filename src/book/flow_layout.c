/* Breaks the blocks into pages: nothing is cut, headings stay with what they lead to, a table that goes on repeats its head. */
#include <math.h>

#include "book/flow_int.h"

static const double SECTION_LEAST_MM = 55.0; /* a section begins where this much of the page is left */

struct layout {
    struct flow *f;
    const struct pen *pen;
    uint32_t page;
    double y_mm, high_mm;
};

bool flow_is_listed(const struct block *b)
{
    return b->kind == BLOCK_CHAPTER || (b->kind == BLOCK_SECTION && b->id) || (b->kind == BLOCK_SHEET && b->id);
}

/* ---- tables ---- */

/* Columns without a share are as wide as their widest cell on one line; the others part the rest. */
static void lay_out_columns(struct flow *f, const struct pen *pen, struct flow_grid *g)
{
    static const double APART_MM = 3.0, MARK_MM = 4.5;
    double left = flow_width_mm(f) - APART_MM * (g->n - 1), shares = 0.0, x = 0.0;
    for (uint32_t c = 0; c < g->n; c++) {
        const struct flow_column *k = &g->columns[c];
        shares += k->share;
        if (k->share > 0.0)
            continue;
        double w = k->head ? pen_measure(pen, TEXT_PAGE_COLUMN, str_from(k->head)).w_mm : 0.0;
        for (uint32_t i = g->first; i < g->end; i++) {
            const struct block *b = &f->blocks.v[i];
            if (!b->cells)
                continue;
            const struct flow_cell *cell = &b->cells[c];
            const enum text_style style = cell->is_strong || b->kind == BLOCK_SUM ? TEXT_PAGE_CELL_B : TEXT_PAGE_CELL;
            w = fmax(w, pen_measure(pen, style, cell->text).w_mm + (cell->mark ? MARK_MM : 0.0));
        }
        g->w_mm[c] = w + 0.1;
        left -= g->w_mm[c];
    }
    for (uint32_t c = 0; c < g->n; c++) {
        if (g->columns[c].share > 0.0)
            g->w_mm[c] = fmax(left * g->columns[c].share / shares, 5.0);
        g->x_mm[c] = x;
        x += g->w_mm[c] + APART_MM;
    }
    g->is_laid_out = true;
}

/* ---- pages ---- */

static void next_page(struct layout *l)
{
    l->page++;
    l->y_mm = 0.0;
}

static bool is_first_of_grid_here(const struct layout *l, const struct block *b, uint32_t i)
{
    return b->grid && (i == b->grid->first || l->y_mm <= 0.0);
}

static double measure(struct layout *l, uint32_t i)
{
    struct block *b = &l->f->blocks.v[i];
    if (b->grid && !b->grid->is_laid_out)
        lay_out_columns(l->f, l->pen, b->grid);
    b->draws_head = b->grid && b->grid->has_head && is_first_of_grid_here(l, b, i);
    return flow_block_mm(l->f, l->pen, b);
}

/* Height of block i with all that must stay on its page. */
static double with_followers(struct layout *l, uint32_t i)
{
    const struct block *v = l->f->blocks.v;
    double sum = measure(l, i);
    const uint32_t keep = v[i].keep;
    for (uint32_t k = i + 1; k < l->f->blocks.n; k++) {
        const bool stays = (keep && v[k].keep == keep) || flow_block_leads(&v[k - 1]);
        if (!stays || v[k].kind == BLOCK_CHAPTER || v[k].kind == BLOCK_SHEET)
            break;
        sum += measure(l, k);
    }
    return sum;
}

static void place(struct layout *l, uint32_t i)
{
    struct block *b = &l->f->blocks.v[i];
    if (b->kind == BLOCK_SHEET) {
        if (l->y_mm > 0.0 || l->page == l->f->n_front)
            l->page++;
        b->page = l->page;
        next_page(l);
        return;
    }
    const double left = l->high_mm - l->y_mm, wants = with_followers(l, i);
    const bool is_led = i && (flow_block_leads(b - 1) || (b->keep && b[-1].keep == b->keep)) && b[-1].page == l->page;
    const bool begins = b->kind == BLOCK_CHAPTER || l->page == l->f->n_front;
    if ((begins && l->y_mm > 0.0) || l->page == l->f->n_front ||
        (l->y_mm > 0.0 && !is_led &&
         ((wants > left && wants <= l->high_mm) || (b->kind == BLOCK_SECTION && left < SECTION_LEAST_MM))) ||
        (l->y_mm > 0.0 && measure(l, i) > left))
        next_page(l);
    b->tall_mm = measure(l, i);
    b->page = l->page;
    b->y_mm = l->y_mm;
    if (l->y_mm > 0.0 || b->kind != BLOCK_SPACE)
        l->y_mm += b->tall_mm;
}

bool flow_lay_out(struct flow *f, const struct pen *pen, uint32_t n_front)
{
    struct layout l = { .f = f, .pen = pen, .page = n_front, .high_mm = flow_height_mm(f) };
    f->n_front = n_front;
    f->n_pages = n_front;
    for (uint32_t i = 0; i < f->blocks.n; i++) {
        place(&l, i);
        f->n_pages = f->blocks.v[i].page;
    }
    return !f->failed;
}
