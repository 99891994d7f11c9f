/* labels.h - what is written on cable ends, outlets and ports, set into the cells of a sheet of labels.
 *
 * A sheet is told by sizes alone: columns and rows, the size of one label, and where they stand on the paper. */
#ifndef RT_BOOK_LABELS_H
#define RT_BOOK_LABELS_H

#include "book/book.h"

/* Millimetres.  The left upper corner of the first label is at (left, top); labels follow to the right, then below. */
struct label_grid {
    double paper_w_mm, paper_h_mm;
    uint32_t columns, rows;
    double w_mm, h_mm;
    double left_mm, top_mm;
    double gap_x_mm, gap_y_mm;
};

/* Nothing is written nearer to the edge of a label than this: what printers shift by (common practice, no source). */
#define LABEL_PAD_MM 1.5
/* Least size of letters (em): 6 and 5 points for what a thing is called, and for where the other end is. */
#define LABEL_NAME_LEAST_MM 2.12
#define LABEL_FAR_LEAST_MM 1.77
/* The label of a cable's end that is at least so wide bears its words twice, side by side, to be folded round the cable. */
#define LABEL_FOLD_LEAST_MM 50.0

/* "3x8,63.5x33.9": 3 columns and 8 rows of labels 63.5 mm wide and 33.9 mm high, without gaps in the middle of the paper.
 * "3x8,63.5x33.9,7.2x12.9": likewise, the first 7.2 mm from the left edge and 12.9 mm from the upper one, as far from the others,
 * what is left shared by the gaps.  "...,2.5x0": and the gaps as well.  Empty: 70 mm x 36 mm, 3 x 8 on A4; 66.6 mm x 25.4 mm, 3 x 10 on
 * Letter.  Errors: RT_USAGE: not of this form, or more than the paper holds. */
RT_MUST_CHECK enum rt_code label_grid_read(struct str words, enum flow_paper paper, struct label_grid *out,
                                           struct rt_problems *p);
/* The label of a place: counted along the rows, sheet after sheet. */
struct draw_box label_cell(const struct label_grid *grid, uint32_t place);

/* All labels of a house: of each cable's two ends, of the outlets, of the ports, in the order of promise/port_map.h.
 * options->label_grid, options->labels_used.  Errors: those of label_grid_read() and of what the labels tell; RT_LIMIT: a label is too
 * small for its words. */
RT_MUST_CHECK enum rt_code labels_make(const struct run *run, struct evaluation *ev, const struct book_options *options,
                                       struct flow_made *out, struct rt_problems *p);

#endif
