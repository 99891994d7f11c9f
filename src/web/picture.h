/* picture.h - what kind of picture some bytes are, and how large: PNG, JPEG, or a PDF with a plan on one of its pages.
 *
 * Only the head of a picture is read here, and where its parts end; it is never decoded.  That is left to the browser, which decodes
 * pictures of strangers all day behind walls of its own; the server hands the bytes out under their own type alone (and
 * X-Content-Type-Options: nosniff), never as a page.  What is checked is checked so that a picture which cannot be shown is refused
 * when it is sent, with words that say why, and that none is so large that a browser would die of it. */
#ifndef RT_WEB_PICTURE_H
#define RT_WEB_PICTURE_H

#include "base/problem.h"

enum picture_kind { PICTURE_PNG, PICTURE_JPEG, PICTURE_PDF };

enum {
    PICTURE_MOST_BYTES = 20 * 1024 * 1024, /* as sent */
    PICTURE_MOST_SIDE_PX = 20000,
    PICTURE_MOST_PX = 64000000,
    PICTURE_MOST_PAGES = 2000
};

struct picture {
    enum picture_kind kind;
    uint32_t width_px, height_px; /* as it is shown: turned as its Exif orientation says; 0 of a PDF */
};

const char *picture_word(enum picture_kind kind); /* png, jpeg, pdf */
const char *picture_type(enum picture_kind kind); /* its media type */

/* By its first bytes, whatever it is called.
 * PNG: ISO/IEC 15948 (W3C PNG, third edition, 2025), 5.2 and 5.3, 11.2.1.  JPEG: ITU-T T.81 (1992), annex B; the orientation of
 * a photograph: Exif 2.32 (CIPA DC-008), tag 0x0112.  PDF: ISO 32000-1, 7.5.2.
 * Errors: RT_SHAPE (nothing that is known, damaged or cut short), RT_RANGE (no size), RT_LIMIT (too large). */
RT_MUST_CHECK enum rt_code picture_look(struct str bytes, struct picture *out, struct rt_problems *p);

/* ---- pdf_page.c ---- */

/* Both run a program of poppler's (pdfinfo, pdftoppm) as a process of its own: without a shell, words of ours alone, the PDF on its
 * standard input, with ceilings of time, memory and output.
 * Errors: RT_MISSING (the package is not installed), RT_SHAPE (damaged, or it asks for a password), RT_LIMIT, RT_RANGE (there is no
 * such page), RT_IO, RT_NOMEM. */
RT_MUST_CHECK enum rt_code pdf_pages(struct arena *a, struct str pdf, uint32_t *pages, struct rt_problems *p);
/* A page, from 1, as a PNG whose longer side is 4000 pixels; checked as any PNG. */
RT_MUST_CHECK enum rt_code pdf_page(struct arena *a, struct str pdf, uint32_t page, struct str *png,
                                    struct picture *size, struct rt_problems *p);

#endif
