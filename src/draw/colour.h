/* colour.h - the sheet's colours by what they are for, the map of the fields, and how light and how legible a colour is. */
#ifndef RT_DRAW_COLOUR_H
#define RT_DRAW_COLOUR_H

#include <stdint.h>

/* sRGB (IEC 61966-2-1), each part 0 to 1. */
struct colour {
    double r, g, b;
};

enum ink {
    INK_SHEET,  /* the ground everything lies on */
    INK_LINE,   /* lines and text */
    INK_SOFT,   /* text that stands back */
    INK_HAIR,   /* quiet lines: inner border, rules; never text */
    INK_ACCENT, /* what is broken, and nothing else */
    INK_BLACK,  /* on a colour of the map, where a softer one would not be legible: one of these two always is */
    INK_WHITE,
    INK_COUNT
};

struct colour colour_ink(enum ink ink);

/* The map of every field, share 0 (least) to 1 (most); outside it the ends hold.  Perceptually uniform and the same to
 * people with colour vision deficiency.
 * Source: cividis; Nunez, Anderton, Renslow, PLoS ONE 13(7) e0199239 (2018), the 256 colours as matplotlib ships them. */
struct colour colour_map(double share);

/* Relative luminance 0..1.  Source: WCAG 2.2, definition 'relative luminance'. */
double colour_luminance(struct colour c);
/* Contrast ratio 1..21.  Source: WCAG 2.2, definition 'contrast ratio'. */
double colour_contrast(struct colour a, struct colour b);
/* CIE 1976 lightness L*, 0..100, white D65.  Source: ISO/CIE 11664-4. */
double colour_lightness(struct colour c);

/* The better legible of black and white on a ground: at least 4.58 : 1, the square root of their own 21 : 1. */
enum ink colour_ink_on(struct colour ground);

#endif
