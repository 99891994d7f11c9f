/* sheet_text.h - texts put straight onto a sheet, each with its place taken; and blocks of lines broken to a width. */
#ifndef RT_DRAW_SHEET_TEXT_H
#define RT_DRAW_SHEET_TEXT_H

#include "draw/sheet.h"

/* A text made in the sheet's arena; empty, and the sheet failed, when its ceiling is reached. */
struct str sheet_text(struct sheet *s, const char *fmt, ...) RT_PRINTF(2, 3);
/* Writes it with its upper left corner there, and takes its place; returns where it ends (x). */
double sheet_put(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm);

struct text_line {
    enum text_style style;
    enum ink ink;
    struct str text;
    double h_mm;
};

/* Lines below one another.  Zero-initialise with sheet and width. */
struct text_block {
    struct sheet *s;
    double w_mm;
    VEC(struct text_line) lines;
};

/* Adds a paragraph, broken at its spaces; a word wider than the block is broken after an underscore, or anywhere. */
void text_block_add(struct text_block *b, enum text_style style, enum ink ink, struct str paragraph);
/* An empty line of this height. */
void text_block_space(struct text_block *b, double h_mm);
double text_block_mm(const struct text_block *b);
void text_block_put(const struct text_block *b, double x_mm, double y_mm);

#endif
