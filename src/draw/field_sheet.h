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

#define FIELD_KIND_RATE                                                                               \
    {                                                                                                 \
        RASTER_RATE_MBPS, 0, PROMISE_RATE, "rate", "what one device gets when it is alone on the air" \
    }
#define FIELD_KIND_SECOND                                              \
    {                                                                  \
        RASTER_LEVEL_DBM, 1, PROMISE_ROAMING, "second access point",   \
            "the second-strongest at each spot, ready to hand over to" \
    }

/* The level a promise sets for a field of this kind at a height in a room; NaN if it does not speak of it. */
double field_promised_level(const struct field_kind *kind, const struct draw_options *o, enum band band,
                            double height_m, const struct promise *p, uint32_t room);
/* The levels that lines are drawn at, rising: every 5 dB from -85 to -40 dBm; 10, 20, 50 ... Mb/s until no radio gives more.
 * Returns how many, at least two. */
enum { FIELD_LEVELS_MOST = 32 };
uint32_t field_levels_usual(const struct raster *r, double levels[FIELD_LEVELS_MOST]);

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
