/* field_sheet.h - sheets that show a field on the plan: colours, contour lines with figures, promised lines. */
#ifndef RT_DRAW_FIELD_SHEET_H
#define RT_DRAW_FIELD_SHEET_H

#include "draw/field_raster.h"
#include "draw/sheet.h"

/* One kind of field: its row in the table of draw.c. */
struct field_kind {
    enum raster_quantity quantity;
    uint32_t rank;
    enum promise_kind promise; /* whose levels are drawn as promised lines */
    const char *name;          /* "signal" */
    const char *says;          /* what is shown, after the name and the band */
};

/* The level of the strongest access point. */
#define FIELD_KIND_SIGNAL                                                                        \
    {                                                                                            \
        RASTER_LEVEL_DBM, 0, PROMISE_SIGNAL, "signal", "the strongest access point at each spot" \
    }

struct field_sheet;

/* Computes field and contour lines of a sheet that was laid out; NULL when the arena's ceiling is reached. */
struct field_sheet *field_sheet_prepare(struct sheet *s, const struct field_kind *kind);
/* Paints the whole sheet onto its pen, as often as there are formats. */
void field_sheet_paint(struct field_sheet *f);
/* The floor and its field alone, where the sheet's plan lies: neither paper nor border, heading, legend, title block. */
void field_sheet_paint_plan(struct field_sheet *f);

/* What the sheet says of itself. */
struct sheet_words field_sheet_words(struct field_sheet *f);
/* The legend of two sheets of levels: the levels that either promises. */
struct legend field_sheet_common_legend(const struct field_sheet *a, const struct field_sheet *b);

#endif
