/* cable_pages.h - shared by the sheets of cables: cable_sheet.c (floors), cable_pages.c (tables), cable_risers.c. */
#ifndef RT_DRAW_CABLE_PAGES_H
#define RT_DRAW_CABLE_PAGES_H

#include "draw/cable_sheet.h"
#include "draw/table.h"
#include "wire/install.h"

/* The cautions that stand in the foot of every sheet of cables, from y_mm downwards. */
void cable_cautions(struct sheet *s, double y_mm, double w_mm);

/* What there is to say of a duct or trench (of in->trenches): length, depth, what lies in it, what to ask. */
struct str cable_trench_words(struct sheet *s, const struct install *in, uint32_t trench);

/* How many sheets the view of the ways up and down takes, and one of them. */
uint32_t cable_risers_pages(struct sheet *s, const struct install *in);
void cable_risers_paint(struct sheet *s, const struct install *in, uint32_t page);

#endif
