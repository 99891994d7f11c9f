/* pictures.h - pictures of plans that are traced, and how they lie on their floors; in the store beside the revisions, so that nothing
 * of them is a file with a name that somebody else chose.
 *
 * They belong to a house by its name and to a floor, not to a revision: no picture is part of the house.  Safe for several threads:
 * the database takes one statement at a time, and each call is one statement. */
#ifndef RT_WEB_PICTURES_H
#define RT_WEB_PICTURES_H

#include "web/picture.h"
#include "web/store.h"

enum { PICTURES_MOST = 40 }; /* of a house */

/* Where the pixel u, v (from the upper left corner, v down) lies on its floor:
 * x = x_m + m_per_px (u cos t + v sin t), y = y_m + m_per_px (u sin t - v cos t), t = turn_deg against the clock. */
struct plan_placing {
    struct str floor;
    double m_per_px, turn_deg, x_m, y_m; /* NaN: not set to scale yet */
    double opacity;                      /* 0 to 1 */
};

struct plan_picture {
    int64_t number; /* never given twice in a folder */
    struct picture size;
    uint32_t page, pages; /* of the PDF it was drawn from; 1 of 1 if it was none */
    struct plan_placing placing;
};
typedef LIST(struct plan_picture) plan_picture_list;

/* `bytes`: a PNG or JPEG; `source`: the PDF it was drawn from, or empty.  Errors: RT_LIMIT (the house has as many as it may have),
 * RT_IO, RT_NOMEM. */
RT_MUST_CHECK enum rt_code pictures_add(struct store *s, struct str house, const struct plan_picture *picture,
                                        struct str bytes, struct str source, int64_t *number, struct rt_problems *p);
/* In the order in which they were sent. */
RT_MUST_CHECK enum rt_code pictures_list(struct store *s, struct arena *a, struct str house, plan_picture_list *out,
                                         struct rt_problems *p);
/* One; bytes and source may be NULL.  Errors: RT_UNKNOWN_REF (the house has none of that number). */
RT_MUST_CHECK enum rt_code pictures_read(struct store *s, struct arena *a, struct str house, int64_t number,
                                         struct plan_picture *out, struct str *bytes, struct str *source,
                                         struct rt_problems *p);
/* Errors of these two: RT_UNKNOWN_REF. */
RT_MUST_CHECK enum rt_code pictures_place(struct store *s, struct str house, int64_t number,
                                          const struct plan_placing *placing, struct rt_problems *p);
RT_MUST_CHECK enum rt_code pictures_remove(struct store *s, struct str house, int64_t number, struct rt_problems *p);
/* Another page of the same PDF. */
RT_MUST_CHECK enum rt_code pictures_turn_page(struct store *s, struct str house, const struct plan_picture *picture,
                                              struct str bytes, struct rt_problems *p);

#endif
