/* port_sheet.h - the port map: each switch and gateway as a row of its sockets, with what hangs on each. */
#ifndef RT_DRAW_PORT_SHEET_H
#define RT_DRAW_PORT_SHEET_H

#include "draw/sheet.h"

/* Names of the sheets' files; nothing without options->ports.  False: the arena's ceiling. */
bool port_pages(struct sheet *s, str_list *names);
/* Chooses the paper. */
void port_page_lay_out(struct sheet *s);
void port_page_paint(struct sheet *s);

#endif
