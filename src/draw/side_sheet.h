/* side_sheet.h - two houses side by side: on each floor that both have and in each band that at least one has, the signal field of
 * the first on the left, that of the second on the right, to one scale and one legend, and in words where they differ.
 * docs/drawings.md tells people how to read them. */
#ifndef RT_DRAW_SIDE_SHEET_H
#define RT_DRAW_SIDE_SHEET_H

#include "draw/side_compare.h"

/* Draws them into `folder`, which is made if it is not there, as ground-compared-5ghz.svg and .png: A3, named after the floor's
 * id.  Floors are matched by their ids.  Fields must be whole (not of promised rooms only) and both have the usual grids.  Of the
 * options count: bands, formats, floor (of the first house), device, availability, free_mounts, devices.  Warns when there is nothing
 * to draw.  Each file is replaced whole or not at all.  Texts of *out live in run->arena.
 * Errors: RT_IO, RT_NOMEM, RT_CANCELLED, RT_MISSING (no font at all on this machine; a field that is not whole). */
RT_MUST_CHECK enum rt_code draw_side_by_side(const struct run *run, const struct house *const h[2],
                                             const struct fields *const f[2], const struct draw_options *options,
                                             const char *folder, struct draw_files *out, struct rt_problems *p);

/* ---- one sheet, in memory ---- */

/* The sheets that the options ask for: floors in the order of the first house, then bands. */
RT_MUST_CHECK enum rt_code side_spots(const struct run *run, const struct side_pair *pair,
                                      const struct draw_options *options, struct side_spot **out, uint32_t *n,
                                      struct rt_problems *p);

RT_MUST_CHECK enum rt_code side_draw_one(const struct run *run, const struct side_pair *pair,
                                         const struct draw_options *options, struct side_spot at,
                                         struct draw_sheet *out, struct rt_problems *p);

#endif
