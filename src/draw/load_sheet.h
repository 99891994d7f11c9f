/* load_sheet.h - how much is asked of the internet line in its fullest hour, and of every cable; who asks. */
#ifndef RT_DRAW_LOAD_SHEET_H
#define RT_DRAW_LOAD_SHEET_H

#include "draw/load_view.h"
#include "draw/sheet.h"

/* Sheets of the whole house; options->load must be set. */
bool load_pages(struct sheet *s, str_list *names);
void load_page_paint(struct sheet *s);

/* The first sheet, drawn by load_curve.c: share of the time that more than a rate is asked for. */
void load_curve_paint(struct sheet *s);

#endif
