/* label.h - room for text: what is taken on a sheet, and where a text still fits.  Millimetres, y down. */
#ifndef RT_DRAW_LABEL_H
#define RT_DRAW_LABEL_H

#include "draw/draw.h"

/* A line that no text may touch: a wall, a door's leaf or swing. */
struct label_strip {
    struct vec2 a, b;
    double half_mm; /* half its width */
};

struct label_space {
    struct arena *arena;
    VEC(struct draw_label) labels;
    VEC(struct draw_box) marks; /* drawn things that are no text */
    VEC(struct label_strip) strips;
    bool failed; /* the arena's ceiling was reached */
};

void label_block_box(struct label_space *s, struct draw_box box);
void label_block_strip(struct label_space *s, struct vec2 a, struct vec2 b, double half_mm);
/* Takes the box for a text. */
void label_take(struct label_space *s, struct str text, struct draw_box box);

/* True if the box, widened by gap_mm on every side, touches nothing taken. */
bool label_is_free(const struct label_space *s, struct draw_box box, double gap_mm);

/* True if the line touches no text. */
bool label_line_is_free(const struct label_space *s, struct vec2 a, struct vec2 b);

/* The place for a text of w_mm x h_mm inside an outline (mm on the sheet), as near to `wish` (the text's middle) as
 * possible; false if it does not fit. */
bool label_fit_inside(const struct label_space *s, vec2_list outline, struct vec2 wish, double w_mm, double h_mm,
                      double gap_mm, struct draw_box *out);
/* The first free of the eight places round a mark of half size reach_mm; false if all are taken. */
bool label_fit_beside(const struct label_space *s, struct vec2 mark, double reach_mm, double w_mm, double h_mm,
                      double gap_mm, struct draw_box *out);

bool label_boxes_touch(struct draw_box a, struct draw_box b);

#endif
