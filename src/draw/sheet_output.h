/* sheet_output.h - a sheet as bytes of SVG and PNG, and as files. */
#ifndef RT_DRAW_SHEET_OUTPUT_H
#define RT_DRAW_SHEET_OUTPUT_H

#include "draw/sheet.h"

/* Paints a sheet that was laid out onto its pen, as often as there are formats. */
typedef void sheet_painter(struct sheet *s, void *user);

/* Fails with RT_MISSING: this machine has no font.  Returns that code. */
enum rt_code sheet_no_font(struct rt_problems *p);

/* Draws it onto a context in millimetres; everything the sheet says of itself goes to *out, whose name is set before.
 * Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code sheet_paint(struct sheet *s, sheet_painter *paint, void *user, cairo_t *cr,
                                       struct draw_sheet *out, struct rt_problems *p);

/* Paints the sheet in the formats that its options ask for; bytes, sizes and labels go to *out, whose name is set before.  `title`
 * is what is read out of the SVG.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code sheet_output(struct sheet *s, sheet_painter *paint, void *user, struct str title,
                                        struct draw_sheet *out, struct rt_problems *p);

/* A band as file names have it: 2.4 is 2-4, which does not look like an ending. */
void sheet_write_band(struct buf *b, enum band band);

/* Where the files of a sheet go. */
struct sheet_paths {
    struct str svg, png;
};
RT_MUST_CHECK enum rt_code sheet_paths_make(struct arena *a, const char *folder, struct str name,
                                            struct sheet_paths *out, struct rt_problems *p);
/* Writes those that were drawn, and adds them to *out, which has room.  Errors: RT_IO. */
RT_MUST_CHECK enum rt_code sheet_write(const struct draw_sheet *sheet, const struct sheet_paths *paths,
                                       struct draw_files *out, struct rt_problems *p);

#endif
