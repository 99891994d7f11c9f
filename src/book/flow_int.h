/* flow_int.h - blocks as recorded and as laid out; flow.c records, flow_layout.c breaks into pages, flow_paint.c paints a block,
 * flow_pdf.c makes the document. */
#ifndef RT_BOOK_FLOW_INT_H
#define RT_BOOK_FLOW_INT_H

#include "base/array.h"
#include "book/flow.h"

enum block_kind {
    BLOCK_CHAPTER,
    BLOCK_SECTION,
    BLOCK_HEADING,
    BLOCK_TEXT,
    BLOCK_SOFT,
    BLOCK_ITEM,
    BLOCK_SPACE,
    BLOCK_CAUTION,
    BLOCK_PROMISE,
    BLOCK_TICK,
    BLOCK_WRITE,
    BLOCK_ROW,
    BLOCK_GROUP,
    BLOCK_SUM,
    BLOCK_FIGURE,
    BLOCK_SHEET
};

struct flow_grid {
    struct flow_column *columns;
    double *x_mm, *w_mm; /* laid out */
    uint32_t n;
    bool has_head, is_laid_out;
    uint32_t first, end; /* its blocks */
};

struct block {
    enum block_kind kind;
    enum flow_mark mark;
    struct str text, figure, more;
    const char *id, *to;
    struct flow_grid *grid;
    struct flow_cell *cells;
    const char *const *names; /* of lines to write on */
    uint32_t n_names;
    double w_mm, h_mm; /* of figures, spaces and sheets */
    flow_painter *paint;
    flow_sheet_painter *paint_sheet;
    void *user;
    uint32_t keep; /* blocks of one number stay together; 0: alone */
    /* laid out */
    uint32_t page; /* from 1 */
    double y_mm, tall_mm;
    bool draws_head; /* the grid's head stands above this row */
};

struct flow {
    struct arena *arena;
    enum flow_paper paper;
    VEC(struct block) blocks;
    struct flow_grid *grid; /* the table that is being written */
    uint32_t keep, n_keeps;
    uint32_t n_front; /* pages before the first chapter: cover and contents */
    uint32_t n_pages;
    bool failed;
};

/* Edges of a page, millimetres. */
#define PAGE_LEFT_MM 22.0
#define PAGE_RIGHT_MM 20.0
#define PAGE_TOP_MM 24.0
#define PAGE_BOTTOM_MM 20.0

double flow_paper_w_mm(enum flow_paper paper);
double flow_paper_h_mm(enum flow_paper paper);

/* ---- flow_block.c ---- */
/* Height of a block, a table's head above it included if it draws one; needs only the pen's fonts. */
double flow_block_mm(struct flow *f, const struct pen *pen, struct block *b);
void flow_block_paint(struct flow *f, struct pen *pen, const struct block *b);
/* Is what is said here said of what follows? */
bool flow_block_leads(const struct block *b);

/* ---- flow_layout.c ---- */
/* Pages and places of all blocks; false: the arena's ceiling. */
bool flow_lay_out(struct flow *f, const struct pen *pen, uint32_t n_front);
/* Stands in contents? */
bool flow_is_listed(const struct block *b);

#endif
