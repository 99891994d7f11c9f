/* cabinet_sheet.h - the front of each cabinet and of each wall where things of the network hang, true to scale. */
#ifndef RT_DRAW_CABINET_SHEET_H
#define RT_DRAW_CABINET_SHEET_H

#include "draw/sheet.h"

/* Names of the sheets' files; nothing without options->fronts.  False: the arena's ceiling. */
bool cabinet_pages(struct sheet *s, str_list *names);
/* Chooses paper and scale. */
void cabinet_page_lay_out(struct sheet *s);
void cabinet_page_paint(struct sheet *s);

#endif
