/* spectrum_sheet.h - who sends where in each band, and how much of the time: widths true to scale on the left, time on the right. */
#ifndef RT_DRAW_SPECTRUM_SHEET_H
#define RT_DRAW_SPECTRUM_SHEET_H

#include "draw/load_view.h"
#include "draw/sheet_text.h"

/* Sheets of the whole house, of each band that the house sends in or is said to hear others in; options->load must be set. */
bool spectrum_pages(struct sheet *s, str_list *names);
void spectrum_page_paint(struct sheet *s);

/* The part of a band on a sheet: MHz to millimetres. */
struct spectrum_axis {
    enum band band;
    double from_hz, to_hz;
    double x_mm, w_mm;
};
double spectrum_x(const struct spectrum_axis *axis, double hz);

/* spectrum_rules.c: the axis with its channels and what the country says of each, from y_mm downwards; rules NULL: not known.
 * Returns where it ends. */
double spectrum_rules_paint(struct sheet *s, const struct spectrum_axis *axis, const struct regdb_country *rules,
                            double y_mm);
/* Edges of the band: of its channels of 20 MHz. */
void spectrum_edges(enum band band, double *from_hz, double *to_hz);
/* What the country says, in words: "channels 52 to 64: 20 dBm, indoors, give way to radar". */
void spectrum_rules_words(struct text_block *b, enum band band, const struct regdb_country *rules);

#endif
