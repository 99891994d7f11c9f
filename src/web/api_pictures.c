/* Pictures of plans: sent, looked at, laid on a floor, taken away. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "web/api.h"
#include "web/api_json.h"
#include "web/pictures.h"

static const double OPACITY_AT_FIRST = 0.6;

/* "12"; anything else is no number of a picture. */
static enum rt_code number_of(struct str text, int64_t *out, struct rt_problems *p)
{
    *out = 0;
    for (size_t i = 0; i < text.n && i < 16; i++)
        *out = text.p[i] >= '0' && text.p[i] <= '9' && *out >= 0 ? *out * 10 + (text.p[i] - '0') : -1;
    return text.n && text.n < 16 && *out > 0
               ? RT_OK
               : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of pictures", "that is no picture");
}

/* Is there such a floor in the house as it is? */
static enum rt_code check_floor(struct request *q, struct workspace *w, struct str floor, struct rt_problems *p)
{
    struct workspace_state s;
    struct house *h = NULL;
    RT_TRY(workspace_look(w, q->arena, &s, p));
    RT_TRY(workspace_read_house(w, q->arena, s.bytes, &h, p));
    return house_find_floor(h, floor) != NO_REF
               ? RT_OK
               : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "say on which floor it lies: `floor`",
                         "the house has no floor '%.*s'", STR_ARG(floor));
}

static void tell_picture(struct json *j, const char *key, const struct plan_picture *picture)
{
    const struct plan_placing *at = &picture->placing;
    json_begin_object(j, key);
    json_int(j, "picture", picture->number);
    json_str(j, "floor", at->floor);
    json_text(j, "kind", picture_word(picture->size.kind));
    json_int(j, "width_px", picture->size.width_px);
    json_int(j, "height_px", picture->size.height_px);
    json_int(j, "page", picture->page);
    json_int(j, "pages", picture->pages);
    json_num(j, "m_per_px", at->m_per_px);
    json_num(j, "turn_deg", at->turn_deg);
    json_num(j, "x_m", at->x_m);
    json_num(j, "y_m", at->y_m);
    json_num(j, "opacity", at->opacity);
    json_end_object(j);
}

static enum rt_code reply_picture(struct request *q, const struct plan_picture *picture, struct reply *r,
                                  struct rt_problems *p)
{
    struct json_body b;
    tell_picture(reply_json(&b, q), NULL, picture);
    return reply_json_end(&b, r, p);
}

enum rt_code api_pictures(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct json_body b;
    plan_picture_list list;
    RT_TRY(api_house(q, &w, p));
    RT_TRY(pictures_list(q->server->houses.store, q->arena, q->params[0], &list, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "pictures");
    for (uint32_t i = 0; i < list.n; i++)
        tell_picture(j, NULL, &list.v[i]);
    json_end_array(j);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

/* ---- sending one ---- */

static enum rt_code draw_page(struct request *q, struct str pdf, double page, struct plan_picture *picture,
                              struct str *bytes, struct rt_problems *p)
{
    if (!picture->pages)
        RT_TRY(pdf_pages(q->arena, pdf, &picture->pages, p));
    if (!(page >= 1.0 && page <= picture->pages && page == floor(page)))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "the PDF has pages 1 to %u", picture->pages);
    picture->page = (uint32_t)page;
    return pdf_page(q->arena, pdf, picture->page, bytes, &picture->size, p);
}

/* What is shown of a PDF; one at a time is drawn. */
static enum rt_code page_of(struct request *q, struct str pdf, double page, struct plan_picture *picture,
                            struct str *bytes, struct rt_problems *p)
{
    pthread_mutex_lock(&q->server->one_pdf);
    const enum rt_code code = draw_page(q, pdf, page, picture, bytes, p);
    pthread_mutex_unlock(&q->server->one_pdf);
    return code;
}

/* A whole number of a query; 1: not sent; NaN: no number. */
static double page_asked(const struct request *q)
{
    const struct str said = q->query(q, "page");
    double page = 0.0;
    if (!said.n)
        return 1.0;
    for (size_t i = 0; i < said.n; i++)
        page = said.p[i] >= '0' && said.p[i] <= '9' && said.n < 8 ? page * 10.0 + (said.p[i] - '0') : RT_NOT_GIVEN;
    return page;
}

enum rt_code api_picture_send(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct plan_picture picture = { .placing = { .floor = q->query(q, "floor"),
                                                 .m_per_px = RT_NOT_GIVEN,
                                                 .turn_deg = RT_NOT_GIVEN,
                                                 .x_m = RT_NOT_GIVEN,
                                                 .y_m = RT_NOT_GIVEN,
                                                 .opacity = OPACITY_AT_FIRST } };
    struct str bytes = q->body, source = { 0 };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(picture_look(q->body, &picture.size, p));
    RT_TRY(check_floor(q, w, picture.placing.floor, p));
    if (picture.size.kind == PICTURE_PDF) {
        source = q->body;
        RT_TRY(page_of(q, source, page_asked(q), &picture, &bytes, p));
    } else {
        picture.page = picture.pages = 1;
    }
    RT_TRY(pictures_add(q->server->houses.store, q->params[0], &picture, bytes, source, &picture.number, p));
    r->location =
        arena_printf(q->arena, "/api/houses/%.*s/pictures/%lld", STR_ARG(q->params[0]), (long long)picture.number);
    RT_TRY(r->location ? reply_picture(q, &picture, r, p) : rt_fail_memory(p));
    r->status = 201;
    return RT_OK;
}

/* ---- one that is there ---- */

static enum rt_code find(struct request *q, struct workspace **w, struct plan_picture *out, struct str *bytes,
                         struct str *source, struct rt_problems *p)
{
    int64_t number;
    RT_TRY(api_house(q, w, p));
    RT_TRY(number_of(q->params[1], &number, p));
    return pictures_read(q->server->houses.store, q->arena, q->params[0], number, out, bytes, source, p);
}

enum rt_code api_picture_read(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct plan_picture picture;
    struct str bytes = { 0 };
    RT_TRY(find(q, &w, &picture, &bytes, NULL, p));
    const char *etag = arena_printf(q->arena, "p%lld-%u", (long long)picture.number, picture.page);
    *r = (struct reply){ .status = 200, .type = picture_type(picture.size.kind), .body = bytes };
    r->etag = str_from(etag ? etag : "");
    return RT_OK;
}

/* A number of the body, if it is there. */
static enum rt_code take(const struct api_json *body, const char *key, double least, double most, double *out,
                         struct rt_problems *p)
{
    if (!api_json_has(body, key))
        return RT_OK;
    const double value = api_json_number(body, key);
    if (!(value >= least && value <= most))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "`%s` is a number from %g to %g", key, least, most);
    *out = value;
    return RT_OK;
}

static enum rt_code read_placing(struct request *q, struct workspace *w, const struct api_json *body,
                                 struct plan_placing *at, struct rt_problems *p)
{
    const struct str floor = api_json_text(body, "floor");
    if (floor.n)
        RT_TRY(check_floor(q, w, floor, p));
    if (floor.n)
        at->floor = floor;
    RT_TRY(take(body, "m_per_px", 1e-6, 10.0, &at->m_per_px, p));
    RT_TRY(take(body, "turn_deg", -360.0, 360.0, &at->turn_deg, p));
    RT_TRY(take(body, "x_m", -1e4, 1e4, &at->x_m, p));
    RT_TRY(take(body, "y_m", -1e4, 1e4, &at->y_m, p));
    RT_TRY(take(body, "opacity", 0.0, 1.0, &at->opacity, p));
    const bool all = is_given(at->m_per_px) && is_given(at->turn_deg) && is_given(at->x_m) && is_given(at->y_m);
    const bool any = is_given(at->m_per_px) || is_given(at->turn_deg) || is_given(at->x_m) || is_given(at->y_m);
    return all == any
               ? RT_OK
               : rt_fail(p, RT_SHAPE, RT_NOWHERE, NULL, "`m_per_px`, `turn_deg`, `x_m` and `y_m` are given together");
}

static enum rt_code change(struct request *q, struct workspace *w, const struct api_json *body,
                           struct plan_picture *picture, struct str source, struct rt_problems *p)
{
    struct str bytes = { 0 };
    const double page = given_or(api_json_number(body, "page"), picture->page);
    RT_TRY(read_placing(q, w, body, &picture->placing, p));
    if (page != picture->page) {
        if (!source.n)
            return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "a picture has one page");
        RT_TRY(page_of(q, source, page, picture, &bytes, p));
        RT_TRY(pictures_turn_page(q->server->houses.store, q->params[0], picture, bytes, p));
    }
    return pictures_place(q->server->houses.store, q->params[0], picture->number, &picture->placing, p);
}

enum rt_code api_picture_place(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct plan_picture picture;
    struct api_json body;
    struct str source = { 0 };
    RT_TRY(find(q, &w, &picture, NULL, &source, p));
    RT_TRY(api_json_read(q->body, &body, p));
    enum rt_code code = change(q, w, &body, &picture, source, p);
    if (!code)
        code = reply_picture(q, &picture, r, p); /* its floor is the body's */
    api_json_end(&body);
    return code;
}

enum rt_code api_picture_remove(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    int64_t number;
    (void)r; /* there is nothing to say */
    RT_TRY(api_house(q, &w, p));
    RT_TRY(number_of(q->params[1], &number, p));
    return pictures_remove(q->server->houses.store, q->params[0], number, p);
}
