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

struct field_sheet;

/* Computes field and contour lines of a sheet that was laid out; NULL when the arena's ceiling is reached. */
struct field_sheet *field_sheet_prepare(struct sheet *s, const struct field_kind *kind);
/* Paints the whole sheet onto its pen, as often as there are formats. */
void field_sheet_paint(struct field_sheet *f);

#endif
