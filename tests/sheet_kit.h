/* sheet_kit.h - what the tests of drawings look at on every sheet: texts that keep clear of each other, the frame and the title
 * block; and the box of a path of the SVG. */
#ifndef RT_SHEET_KIT_H
#define RT_SHEET_KIT_H

#include <math.h>
#include <stdlib.h>

#include "check.h"
#include "draw/draw.h"

#define KIT_FRAME_MM 9.0
#define KIT_HEAD_MM 33.0 /* no text of a drawing's own lies there */

static inline bool boxes_touch(struct draw_box a, struct draw_box b)
{
    return a.x_mm < b.x_mm + b.w_mm && b.x_mm < a.x_mm + a.w_mm && a.y_mm < b.y_mm + b.h_mm && b.y_mm < a.y_mm + a.h_mm;
}

/* The size is that of the title block. */
static inline void check_texts(const struct draw_sheet *sheet, double block_w_mm, double block_h_mm)
{
    const double right_mm = sheet->w_mm - KIT_FRAME_MM, foot_mm = sheet->h_mm - KIT_FRAME_MM;
    const struct draw_box block = { right_mm - block_w_mm, foot_mm - block_h_mm, block_w_mm, block_h_mm };
    for (uint32_t i = 0; i < sheet->labels.n; i++) {
        const struct draw_box a = sheet->labels.v[i].box;
        if (!(a.x_mm > KIT_FRAME_MM && a.y_mm > KIT_HEAD_MM && a.x_mm + a.w_mm < right_mm && a.y_mm + a.h_mm < foot_mm))
            check_text("outside of the border", sheet->labels.v[i].text, STR(""), __FILE__, __LINE__);
        if (boxes_touch(a, block))
            check_text("on the title block", sheet->labels.v[i].text, STR(""), __FILE__, __LINE__);
        for (uint32_t k = 0; k < i; k++)
            if (boxes_touch(a, sheet->labels.v[k].box))
                check_text("a text lies on another", sheet->labels.v[i].text, sheet->labels.v[k].text, __FILE__,
                           __LINE__);
    }
}

struct path_box {
    double x0, x1, y0, y1;
};

/* Of all points named in the data of a path. */
static inline struct path_box path_box_of(const char *d)
{
    struct path_box box = { INFINITY, -INFINITY, INFINITY, -INFINITY };
    for (const char *p = d; *p;) {
        char *end;
        const double x = strtod(p, &end);
        if (end == p) {
            p++;
            continue;
        }
        const double y = strtod(end, &end);
        p = end;
        box.x0 = fmin(box.x0, x);
        box.x1 = fmax(box.x1, x);
        box.y0 = fmin(box.y0, y);
        box.y1 = fmax(box.y1, y);
    }
    return box;
}

static inline bool leaves_paper(struct path_box b, double w_mm, double h_mm)
{
    return b.x0 < -1e-6 || b.y0 < -1e-6 || b.x1 > w_mm + 1e-6 || b.y1 > h_mm + 1e-6;
}

#endif
