/* qr.h - a QR code (ISO/IEC 18004) as squares, made by libqrencode. */
#ifndef RT_BOOK_QR_H
#define RT_BOOK_QR_H

#include "base/problem.h"
#include "draw/pen.h"

/* Kept free on all sides (ISO/IEC 18004, 9.1 in the edition of 2006: four modules; from memory). */
enum { QR_QUIET = 4 };

struct qr {
    uint32_t n;    /* modules along a side */
    uint8_t *dark; /* n * n: row by row, 1 for dark */
};

/* Of a text without NUL, as bytes, at error correction level M.  Lives in the arena.  Errors: RT_LIMIT (too long), RT_NOMEM; messages never
 * quote the text. */
RT_MUST_CHECK enum rt_code qr_make(struct arena *a, struct str text, struct qr *out, struct rt_problems *p);
/* The side without and with the quiet zone, when modules are at least so large and the code at least so wide. */
double qr_side_mm(const struct qr *qr, double module_mm, double side_mm);
double qr_whole_mm(const struct qr *qr, double side_mm);
/* Dark squares on white, the quiet zone included: its corner at (x_mm, y_mm); side_mm without the quiet zone. */
void qr_paint(struct pen *pen, const struct qr *qr, double x_mm, double y_mm, double side_mm);

#endif
