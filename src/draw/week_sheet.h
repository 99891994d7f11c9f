/* week_sheet.h - the week of the house: an hour map of the internet line; then whose screens are dark when, and how busy the
 * radios' channels are by hour. */
#ifndef RT_DRAW_WEEK_SHEET_H
#define RT_DRAW_WEEK_SHEET_H

#include "draw/sheet.h"

/* Sheets of the whole house; options->load must be set. */
bool week_pages(struct sheet *s, str_list *names);
void week_page_paint(struct sheet *s);

#endif
