/* chart.h - what the sheets of time and load have in common: hatchings, scales of fullness, figures set in the middle of things. */
#ifndef RT_DRAW_CHART_H
#define RT_DRAW_CHART_H

#include "draw/sheet_text.h"

/* Edges of what may be drawn on a sheet of the whole house. */
#define CHART_LEFT_MM 15.0
#define CHART_TOP_MM 36.0
#define CHART_FOOT_MM 33.0 /* for explanations and the title block */

/* Grounds that differ without colour. */
enum hatch { HATCH_NONE, HATCH_SOLID, HATCH_RISING, HATCH_FALLING, HATCH_CROSS, HATCH_DOTS };

/* Fills the box and draws its outline (line_mm 0: none). */
void chart_hatch(struct sheet *s, struct draw_box box, enum hatch hatch, double line_mm);

/* The text with the middle, or the right end, of its upper edge there; returns its width. */
double chart_put_mid(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm);
double chart_put_right(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm);
double chart_line_mm(struct sheet *s, enum text_style style);

/* "470", "4.2", "0.36", "< 0.01", "0"; "> 16 x" for what is infinite (more than the sums reach), "?" for what is not known. */
struct str chart_mbps(struct sheet *s, double mbps);
/* "43 %", "0.6 %", "< 0.1 %", "0" */
struct str chart_percent(struct sheet *s, double share);

/* The map of fields turned round: light where there is much left, dark where it is full.  share: 0 to 1, more is as 1. */
struct colour chart_fullness(double share);
/* Where a share lies on a scale whose equal steps are equal ratios: 0 for 1 % and less, 1 for 100 %. */
#define CHART_LOG_TENS 2.0
double chart_share_of_log(double share);
/* The scale of it, to 100 %, with its caption above; 60 mm wide, 12 mm high. */
void chart_fullness_scale(struct sheet *s, double x_mm, double y_mm, bool is_log, struct str caption);
/* A square of it. */
void chart_fullness_cell(struct sheet *s, struct draw_box box, double share);

/* A thick frame round what decides. */
void chart_frame(struct sheet *s, struct draw_box box, double line_mm);

#endif
