/* api_field.h - which field is asked for, and how it is sent. */
#ifndef RT_WEB_API_FIELD_H
#define RT_WEB_API_FIELD_H

#include "draw/field_sheet.h"
#include "promise/evaluation.h"
#include "web/field_bytes.h"
#include "web/http.h"

/* As sent; empty: the usual. */
struct field_words {
    struct str what, floor, band, device, availability, estimate, height;
};

struct field_asked {
    const struct field_kind *kind;
    struct draw_options options; /* device, availability */
    struct draw_subject subject; /* band */
    enum estimate estimate;
    uint32_t floor;
    double height_m;
};

/* Errors: RT_SHAPE, RT_RANGE, RT_UNKNOWN_REF. */
RT_MUST_CHECK enum rt_code field_asked_read(const struct evaluation *ev, const struct field_words *w,
                                            struct field_asked *out, struct rt_problems *p);
RT_MUST_CHECK enum rt_code api_field_reply(struct request *q, const struct field_nodes *nodes, int64_t revision,
                                           struct reply *r, struct rt_problems *p);

#endif
