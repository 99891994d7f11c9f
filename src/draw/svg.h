/* svg.h - settling an SVG text that Cairo made. */
#ifndef RT_DRAW_SVG_H
#define RT_DRAW_SVG_H

#include "base/str.h"

/* The same picture with ids numbered in order of appearance (Cairo numbers them through the life of the process, so that
 * the same sheet drawn twice would differ) and with a title for people who hear it read (WCAG 2.2, 1.1.1).
 * Lives in the arena; p is NULL when its ceiling is reached. */
struct str svg_settle(struct arena *a, struct str svg, struct str title);

#endif
