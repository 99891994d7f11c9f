/* pen.h - drawing in millimetres: lines, boxes and text in the sheet's few styles, onto a Cairo context.
 *
 * Text is Inter with tabular figures where the machine has it (Debian's fonts-inter), else any sans that Pango finds.
 * Sizes are measured without hinting, so that SVG and PNG get the same places.  A text is laid out once and kept: most are measured,
 * often more than once, before they are painted. */
#ifndef RT_DRAW_PEN_H
#define RT_DRAW_PEN_H

#include "base/geom.h"
#include "base/str.h"
#include "draw/colour.h"
#include "draw/draw.h"

enum text_style {
    TEXT_TITLE,  /* the sheet's name, large and light */
    TEXT_HEAD,   /* what the sheet shows */
    TEXT_SOFT,   /* explanations */
    TEXT_KEY,    /* small headings of the title block */
    TEXT_VALUE,  /* what stands under them */
    TEXT_ROOM,   /* a room's name */
    TEXT_ROOM_S, /* the same where there is little room */
    TEXT_TAG,    /* id of a thing on the plan */
    TEXT_THING,  /* an obstacle or a device */
    TEXT_FIGURE, /* on contour lines, scales and dimensions */
    TEXT_FIGURE_B /* on the promised contour */,
    TEXT_NOTE_HEAD,
    TEXT_NOTE,
    TEXT_ADVICE,
    TEXT_CELL, /* in tables */
    TEXT_CELL_B,
    TEXT_PAGE_TITLE, /* of the book: a chapter */
    TEXT_PAGE_SECTION,
    TEXT_PAGE_HEADING,
    TEXT_PAGE, /* its paragraphs */
    TEXT_PAGE_B,
    TEXT_PAGE_SOFT,
    TEXT_PAGE_CELL, /* its tables */
    TEXT_PAGE_CELL_B,
    TEXT_PAGE_COLUMN, /* their heads */
    TEXT_PAGE_FOOT,
    TEXT_PAGE_CODE, /* what is typed letter by letter: a face in which 0 and O, l and 1 differ */
    TEXT_COVER,     /* the house's name */
    TEXT_COVER_SAYS,
    TEXT_STYLE_COUNT
};

struct text_look {
    const char *family;
    int weight;     /* as in CSS: 400 is regular */
    double size_mm; /* em */
    enum ink ink;
    double halo_mm; /* width of the ground left round it; 0: none */
};

const struct text_look *text_look(enum text_style style);

struct pen {
    cairo_t *cr;
    struct _PangoFontMap *fonts;
    struct _PangoContext *pango;
    struct _GHashTable *laid; /* texts that were laid out, each once: PangoLayouts, which nobody changes any more */
    bool on_white;            /* the ground is the printer's paper: INK_SHEET is white */
};

struct text_size {
    double w_mm, h_mm; /* the box of the line */
    double base_mm;    /* from its top to the base line */
};

/* Sets up the text machinery; false when the machine has no font.  End with pen_release(). */
bool pen_init(struct pen *pen, cairo_t *cr);
void pen_release(struct pen *pen);

void pen_ink(struct pen *pen, enum ink ink);
void pen_colour(struct pen *pen, struct colour c);
void pen_line(struct pen *pen, struct vec2 a, struct vec2 b, double width_mm);
/* A path through the points, left unpainted. */
void pen_path(struct pen *pen, const struct vec2 *points, uint32_t n, bool closed);
void pen_path_box(struct pen *pen, struct draw_box box);
void pen_dashes(struct pen *pen, double on_mm, double off_mm); /* 0, 0: a full line again */

struct text_size pen_measure(const struct pen *pen, enum text_style style, struct str text);
/* The text with its box's upper left corner at (x_mm, y_mm), in its style's ink or another. */
void pen_text(struct pen *pen, enum text_style style, struct str text, double x_mm, double y_mm);
void pen_text_in(struct pen *pen, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm);
/* The text turned about its box's middle, which lies at `middle`; clockwise on paper. */
void pen_text_turned(struct pen *pen, enum text_style style, struct str text, struct vec2 middle, double turn_rad);

/* A paragraph broken to w_mm: at line feeds, at blanks and, where a word is wider, anywhere; and its height. */
enum pen_align { PEN_LEFT, PEN_RIGHT, PEN_MIDDLE };
void pen_paragraph(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align, struct str text,
                   double x_mm, double y_mm, double w_mm);
double pen_paragraph_mm(const struct pen *pen, enum text_style style, struct str text, double w_mm);
/* Bytes of the text whose lines, broken to w_mm, are no taller together than h_mm. */
size_t pen_paragraph_fit(const struct pen *pen, enum text_style style, struct str text, double w_mm, double h_mm);
/* Widths of its longest line if it is broken at line feeds alone, and of its longest word. */
void pen_paragraph_widths(const struct pen *pen, enum text_style style, struct str text, double *line_mm,
                          double *word_mm);
/* One line, ended by an ellipsis where it is wider than w_mm. */
void pen_text_ended(struct pen *pen, enum text_style style, enum ink ink, enum pen_align align, struct str text,
                    double x_mm, double y_mm, double w_mm);

#endif
