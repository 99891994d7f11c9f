/* failure_sheet.h - every single failure against every promise, and what dies with what. */
#ifndef RT_DRAW_FAILURE_SHEET_H
#define RT_DRAW_FAILURE_SHEET_H

#include "draw/sheet.h"

/* Sheets of the whole house; options->failures must be set, and filled. */
bool failure_pages(struct sheet *s, str_list *names);
void failure_page_paint(struct sheet *s);

#endif
