/* flow.h - the book as a stream of blocks: chapters, sections, paragraphs, tables, promises, things to tick, figures, whole sheets.
 *
 * A chapter says what follows what; the flow breaks it into pages, makes contents, bookmarks, links and page numbers, and paints
 * PDF, or each page as a picture.  Nothing is cut: a row of a table, a paragraph and a figure stay whole unless no page holds them, and are then broken between
 * their lines; a heading stays with what follows it, a table that goes on repeats its head.  Ids become a PDF's named destinations;
 * of two with one id links lead to the first.
 *
 * A block that cannot be recorded (the arena's ceiling) marks the flow as failed; flow_write() says so.  Texts that are handed
 * over must live as long as the flow. */
#ifndef RT_BOOK_FLOW_H
#define RT_BOOK_FLOW_H

#include "base/array.h"
#include "base/problem.h"
#include "base/run.h"
#include "base/str.h"
#include "draw/pen.h"

struct flow; /* lives in the arena */

/* ISO 216 and ISO/ANSI paper, upright. */
enum flow_paper { FLOW_A4, FLOW_LETTER };

struct flow *flow_new(struct arena *a, enum flow_paper paper); /* NULL: the arena's ceiling */
/* Width between the margins, and height of a page that is filled from its top. */
double flow_width_mm(const struct flow *f);
double flow_height_mm(const struct flow *f);

/* Marks it as failed: a text for it could not be made. */
void flow_fail(struct flow *f);

/* ---- headings ---- */

/* Begins a page unless a fifth of this one is left; stands in contents and bookmarks. */
void flow_chapter(struct flow *f, const char *id, const char *title);
/* Stands there too, one step in.  Begins a page only if little is left of this one. */
void flow_section(struct flow *f, const char *id, const char *fmt, ...) RT_PRINTF(3, 4);
void flow_heading(struct flow *f, const char *fmt, ...) RT_PRINTF(2, 3);
/* The same with an id to be led to; does not stand in contents. */
void flow_heading_at(struct flow *f, const char *id, const char *fmt, ...) RT_PRINTF(3, 4);

/* ---- words ---- */

void flow_text(struct flow *f, const char *fmt, ...) RT_PRINTF(2, 3);
void flow_soft(struct flow *f, const char *fmt, ...) RT_PRINTF(2, 3); /* what stands back: explanations, sources */
void flow_item(struct flow *f, const char *fmt, ...) RT_PRINTF(2, 3); /* of a list */
void flow_space(struct flow *f, double h_mm);
/* What must be read before hands are laid on: a framed paragraph with its heading. */
void flow_caution(struct flow *f, const char *head, const char *fmt, ...) RT_PRINTF(3, 4);
/* The blocks from here to the end stay on one page, if one holds them. */
void flow_keep_begin(struct flow *f);
void flow_keep_end(struct flow *f);

/* ---- promises, and things to do ---- */

enum flow_mark {
    FLOW_NO_MARK,
    FLOW_KEPT,   /* a dot */
    FLOW_BROKEN, /* a cross in a ring, in the accent colour */
    FLOW_UNKNOWN /* a dashed ring */,
    FLOW_TICK,  /* an empty box to tick */
    FLOW_WRITE, /* a line to write on, as wide as its column */
    FLOW_MARK_COUNT
};

/* The sentence first, then the figure at the right, then why, soft, beneath; `to`: the id it leads to, or NULL. */
void flow_promise(struct flow *f, enum flow_mark mark, struct str says, struct str figure, struct str why,
                  const char *to);
/* A box to tick and what to do, with what counts as done beneath (may be empty). */
void flow_tick(struct flow *f, struct str what, struct str passes);
/* Named lines to write on, side by side: {"Name", "Date", "Signature"}. */
void flow_write_lines(struct flow *f, const char *const *names, uint32_t n);

/* ---- tables ---- */

enum flow_align { FLOW_LEFT, FLOW_RIGHT, FLOW_MIDDLE };

struct flow_column {
    const char *head; /* NULL in all: no head */
    double
        share; /* of the width, against the other shares; 0: as wide as its widest line, if that leaves the others enough */
    enum flow_align align;
};

struct flow_cell {
    struct str text; /* broken to the column; a line feed begins a new line */
    enum flow_mark mark;
    bool is_strong, is_soft, is_accent;
    const char *to; /* NULL, or the id it leads to */
};

/* Until the next block that is no row. */
void flow_table(struct flow *f, const struct flow_column *columns, uint32_t n); /* columns are copied */
void flow_row(struct flow *f, const struct flow_cell *cells);                   /* as the columns; copied */
/* A row of words over the whole width, that begins a group. */
void flow_group(struct flow *f, const char *fmt, ...) RT_PRINTF(2, 3);
/* A row with a line above it: a sum. */
void flow_sum_row(struct flow *f, const struct flow_cell *cells);

/* ---- pictures ---- */

/* Paints in millimetres, into a box w_mm wide and h_mm high whose upper left corner is the origin.  May be called with nothing to
 * be seen, more than once. */
typedef void flow_painter(struct pen *pen, double w_mm, double h_mm, void *user);
/* A figure over the whole width, with words beneath it (may be empty); less high than asked where a page cannot hold it. */
void flow_figure(struct flow *f, double h_mm, flow_painter *paint, void *user, struct str caption);

/* Paints a whole page in millimetres; page_words: "page 7 of 31", for its title block. */
typedef enum rt_code flow_sheet_painter(void *user, cairo_t *cr, struct str page_words, struct rt_problems *p);
/* A page of its own and of its own size, with its own border; stands in contents as a section (id NULL: it does not).  It follows the
 * page that is begun, which is filled by what comes after it in the same chapter. */
void flow_sheet(struct flow *f, const char *id, struct str title, double w_mm, double h_mm, flow_sheet_painter *paint,
                void *user);

/* Does this word, or these words, stand anywhere in what was written so far?  Whole words; letters of ASCII in either case. */
bool flow_says(const struct flow *f, const char *words);

/* ---- the whole ---- */

enum flow_format { FLOW_PDF, FLOW_SVG, FLOW_PNG };

/* As what it leaves.  SVG carries the paper's millimetres, PNG its pixels an inch; letters in SVG are outlines, so that no font is
 * needed to see it. */
struct flow_form {
    enum flow_format format;
    double dpi; /* of PNG alone: pixels an inch, FLOW_LEAST_DPI to FLOW_MOST_DPI */
};
#define FLOW_LEAST_DPI 50.0
#define FLOW_USUAL_DPI 150.0
#define FLOW_MOST_DPI 600.0

struct flow_about {
    struct flow_form form;
    struct str title, author, subject, keywords; /* metadata of the PDF; may be empty */
    struct str date; /* ISO 8601, "2026-11-25"; empty: none, so that the same book has the same bytes */
    struct str foot; /* at the foot of each page: the house's name */
    /* The cover, and a page of contents after it; NULL: neither. */
    flow_painter *cover;
    void *cover_user;
};

struct flow_made {
    struct str bytes;       /* the PDF; empty where pages are pictures */
    LIST(struct str) pages; /* pictures: the bytes of a file for each page */
    uint32_t n_pages;
};

/* Lays out, paints.  Errors: RT_NOMEM, RT_MISSING (no font), those of painters. */
RT_MUST_CHECK enum rt_code flow_write(const struct run *run, struct flow *f, const struct flow_about *about,
                                      struct flow_made *out, struct rt_problems *p);
/* Pages of the whole; a painter may ask. */
uint32_t flow_pages(const struct flow *f);
/* On which page an id stands, from 1; 0: nowhere.  After flow_write(). */
uint32_t flow_page_of(const struct flow *f, const char *id);
/* The first id that something leads to and nothing has, or NULL: such words are painted without a link.  After flow_write(). */
const char *flow_dangling(const struct flow *f);

#endif
