/* flow_int.h - blocks as recorded and as laid out: flow.c records, flow_layout.c breaks into pages, flow_block.c measures and
 * paints a block, flow_table.c rows, flow_contents.c the contents, flow_document.c makes the document, flow_canvas.c what it is painted on,
 * flow_language.c says its language. */
#ifndef RT_BOOK_FLOW_INT_H
#define RT_BOOK_FLOW_INT_H

#include <cairo.h>

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
    double head_mm;
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
    uint32_t keep;     /* blocks of one number stay together; 0: alone */
    double content_mm; /* its height without a table's head; 0: not measured yet */
    /* laid out; `to`, here and in cells, is then the attributes of a link tag */
    uint32_t page; /* from 1 */
    double y_mm, tall_mm;
    const char *name;   /* of its destination; NULL: none */
    bool is_top;        /* of its page: no room above it */
    bool is_under_rule; /* words right beneath a promise's or a tick's line */
    bool draws_head;    /* the grid's head stands above this row */
    bool is_continued;  /* the table began on an earlier page */
    bool is_rest;       /* of a block that no page holds whole */
    bool goes_on;       /* its rest follows */
    bool ends_grid;
    struct str group; /* the words of the group that goes on here */
};

typedef VEC(struct block) block_vec;

struct flow {
    struct arena *arena;
    enum flow_paper paper;
    block_vec blocks;       /* as recorded */
    block_vec laid;         /* as laid out: no spaces, what is taller than a page in pieces */
    struct flow_grid *grid; /* the table that is being written */
    uint32_t keep, n_keeps;
    uint32_t n_front; /* pages before the first chapter: cover and contents */
    uint32_t n_pages;
    const char *dangling;
    bool failed;
};

/* Edges of a page, millimetres. */
#define PAGE_LEFT_MM 20.0
#define PAGE_RIGHT_MM 18.0
#define PAGE_TOP_MM 19.5
#define PAGE_BOTTOM_MM 15.5

double flow_paper_w_mm(enum flow_paper paper);
double flow_paper_h_mm(enum flow_paper paper);
/* A text in the flow's arena; fails the flow at its ceiling. */
struct str flow_words(struct flow *f, const char *fmt, ...) RT_PRINTF(2, 3);

/* ---- flow_block.c ---- */
/* Height of a block as its flags have it, a table's head above it included; needs only the pen's fonts. */
double flow_block_mm(struct flow *f, const struct pen *pen, struct block *b);
void flow_block_paint(struct flow *f, struct pen *pen, const struct block *b);
/* Takes what fits into room_mm off the block's begin: *b is then that part, *rest the other.  False: not even a line fits. */
bool flow_block_split(struct flow *f, const struct pen *pen, struct block *b, double room_mm, struct block *rest);
/* Makes a figure small enough for room_mm; false: it is none, or would be too small to read. */
bool flow_block_shrink(struct flow *f, const struct pen *pen, struct block *b, double room_mm);
/* Is what is said here said of what follows? */
bool flow_block_leads(const struct block *b);
/* Takes the text's first n bytes off, and the blanks after them. */
struct str flow_take(struct str *text, size_t n);
void flow_link_begin(struct pen *pen, const char *to);
void flow_link_end(struct pen *pen, const char *to);
void flow_rule(struct flow *f, struct pen *pen, double y_mm, enum ink ink, double width_mm);
void flow_mark_paint(struct pen *pen, enum flow_mark mark, struct vec2 at, double w_mm);

/* ---- flow_table.c ---- */
void flow_grid_lay_out(struct flow *f, const struct pen *pen, struct flow_grid *g);
double flow_row_mm(const struct pen *pen, const struct block *b);
void flow_row_paint(struct flow *f, struct pen *pen, const struct block *b);
bool flow_row_split(struct flow *f, const struct pen *pen, struct block *b, double room_mm, struct block *rest);
/* Words of a table that goes on, and its head. */
double flow_head_mm(const struct pen *pen, const struct block *b);
void flow_head_paint(struct flow *f, struct pen *pen, const struct block *b);

/* ---- flow_layout.c ---- */
/* Pages and places of all blocks; false: the arena's ceiling. */
bool flow_lay_out(struct flow *f, const struct pen *pen, uint32_t n_front);
/* Stands in contents? */
bool flow_is_listed(const struct block *b);

/* ---- flow_names.c ---- */
/* Names of the laid-out blocks' destinations, and links to them. */
void flow_name_all(struct flow *f);

/* ---- flow_contents.c ---- */
uint32_t flow_contents_pages(struct flow *f, const struct pen *pen);
/* Paints the entries from *next on that one page holds, and moves it on. */
void flow_contents_paint(struct flow *f, struct pen *pen, uint32_t *next);

/* ---- flow_canvas.c ---- */
/* What is painted on; `cr` is the open page's, in millimetres. */
struct flow_canvas {
    struct arena *arena;
    struct flow_form form;
    cairo_surface_t *surface;
    cairo_t *cr;
    cairo_status_t status; /* the first thing that went wrong */
    struct buf bytes;      /* of the PDF, or of the open page's picture */
    VEC(struct str) pages; /* pictures that are done */
};
void flow_canvas_open(struct flow_canvas *c, struct arena *a, struct flow_form form);
void flow_canvas_page(struct flow_canvas *c, double w_mm, double h_mm);
/* Ends the page; title: what is read out of an SVG. */
void flow_canvas_show(struct flow_canvas *c, struct str title);
void flow_canvas_close(struct flow_canvas *c);

/* ---- flow_language.c ---- */
/* Adds to a document that cairo wrote which language it is written in. */
bool flow_add_language(struct buf *pdf, const char *language);

#endif
