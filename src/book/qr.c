#include "book/qr.h"

#include <cairo.h>
#include <errno.h>
#include <math.h>
#include <qrencode.h>

enum rt_code qr_make(struct arena *a, struct str text, struct qr *out, struct rt_problems *p)
{
    errno = 0;
    QRcode *made = QRcode_encodeData((int)text.n, (const unsigned char *)text.p, 0, QR_ECLEVEL_M);
    if (!made)
        return errno == ENOMEM ? rt_fail_memory(p)
                               : rt_fail(p, RT_LIMIT, RT_NOWHERE, NULL, "this is too long for a QR code");
    const uint32_t n = (uint32_t)made->width;
    *out = (struct qr){ n, ARENA_ARRAY(a, uint8_t, (size_t)n * n) };
    for (uint32_t i = 0; out->dark && i < n * n; i++)
        out->dark[i] = made->data[i] & 1;
    QRcode_free(made);
    return out->dark ? RT_OK : rt_fail_memory(p);
}

double qr_side_mm(const struct qr *qr, double module_mm, double side_mm) { return fmax(side_mm, qr->n * module_mm); }
double qr_whole_mm(const struct qr *qr, double side_mm) { return side_mm * (qr->n + 2.0 * QR_QUIET) / qr->n; }

/* Runs of dark modules in a row are one rectangle, so that no hairline of the paper shows between them. */
void qr_paint(struct pen *pen, const struct qr *qr, double x_mm, double y_mm, double side_mm)
{
    const double module_mm = side_mm / qr->n, whole_mm = qr_whole_mm(qr, side_mm), quiet_mm = QR_QUIET * module_mm;
    pen_colour(pen, (struct colour){ 1.0, 1.0, 1.0 });
    pen_path_box(pen, (struct draw_box){ x_mm, y_mm, whole_mm, whole_mm });
    cairo_fill(pen->cr);
    pen_colour(pen, (struct colour){ 0.0, 0.0, 0.0 });
    for (uint32_t row = 0; row < qr->n; row++)
        for (uint32_t from = 0, to; from < qr->n; from = to) {
            to = from + 1;
            if (!qr->dark[row * qr->n + from])
                continue;
            while (to < qr->n && qr->dark[row * qr->n + to])
                to++;
            pen_path_box(pen, (struct draw_box){ x_mm + quiet_mm + from * module_mm, y_mm + quiet_mm + row * module_mm,
                                                 (to - from) * module_mm, module_mm });
        }
    cairo_fill(pen->cr);
}
