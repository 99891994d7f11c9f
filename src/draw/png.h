/* png.h - a picture that Cairo painted, as the bytes of a PNG file. */
#ifndef RT_DRAW_PNG_H
#define RT_DRAW_PNG_H

#include <cairo.h>
#include <stdbool.h>

#include "base/str.h"

/* Adds the picture, an image surface of CAIRO_FORMAT_RGB24, to *out: 8 bits a colour, with its true size in pixels a metre, so that it
 * prints at 100 % (ISO/IEC 15948:2004, 11.3.5.3, pHYs; from memory).  False when there is no memory for it. */
RT_MUST_CHECK bool png_add(struct buf *out, cairo_surface_t *picture, double px_per_m);

#endif
