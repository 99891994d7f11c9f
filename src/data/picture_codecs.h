/* picture_codecs.h - how many bits a camera's picture takes. */
#ifndef RT_DATA_PICTURE_CODECS_H
#define RT_DATA_PICTURE_CODECS_H

#include "base/str.h"

/* Bits of each pixel of each frame, at a quality of the house file (low, normal, high) with H.264.  Trade pages reckon with 0.05 to
 * 0.07; printed rates of cameras lie at 0.06 (1080 lines, 30 frames) to 0.1 (15 frames): tests/reference/video.csv.  NaN: no such. */
double picture_bits_per_pixel(struct str quality);
/* A smaller picture is counted as one of this size: cameras are printed to send no less for it (video.csv, 640 x 480). */
#define PICTURE_LEAST_PX (1280.0 * 720.0)
/* A codec's bits against those of H.264 at the same quality: H.265 0.55 (a trade page; 0.5 by the verification tests, from memory),
 * motion JPEG 10 (each frame by itself, about 0.7 bit a pixel; from memory).  NaN: no such. */
double picture_codec_factor(struct str codec);

/* Share of a disk's printed size that holds pictures: the rest is the file system's and the recorder's own (common practice, no
 * source). */
#define DISK_USABLE_SHARE 0.9

#endif
