/* cable_sheet.h - sheets that show where the cables of a floor lie, and the work that they take. */
#ifndef RT_DRAW_CABLE_SHEET_H
#define RT_DRAW_CABLE_SHEET_H

#include "draw/sheet.h"
#include "wire/cables.h"

/* Does anything of the plan lie on this floor? */
bool cable_sheet_has(const struct cable_plan *plan, uint32_t floor);
/* Paints the whole sheet onto its pen; the sheet was laid out. */
void cable_sheet_paint(struct sheet *s);

/* Sheets of the whole house: the schedule of the cables, the list of holes and boards, the view of what goes up and down.
 * Their names, such as "cables-schedule-1"; false: the arena's ceiling. */
bool cable_pages(struct sheet *s, str_list *names);
/* Paints the one of subject.page. */
void cable_page_paint(struct sheet *s);

#endif
