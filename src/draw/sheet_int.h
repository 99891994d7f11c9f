/* sheet_int.h - shared by the sources of the paper. */
#ifndef RT_DRAW_SHEET_INT_H
#define RT_DRAW_SHEET_INT_H

#include "draw/sheet.h"

#define NOTE_MM 64.0 /* width of the column of notes */
#define NOTE_APART_MM 14.0

/* The notes of the floor that is drawn, their lines broken. */
void sheet_find_notes(struct sheet *s);
/* Stands the notes of one side in a column whose edge next to the plan is at x_mm, as near to their spots as they can. */
void sheet_place_notes(struct sheet *s, bool left, double x_mm, double top_mm, double bottom_mm);
/* From top to bottom of the paper, so that leader lines do not cross. */
void sheet_sort_notes(struct sheet *s);
void sheet_write_notes(struct sheet *s);

#endif
