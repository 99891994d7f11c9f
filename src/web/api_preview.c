/* The field while something is dragged. */
#include "base/units.h"
#include "web/api.h"
#include "web/api_json.h"
#include "web/preview.h"

struct previewing {
    struct request *q;
    struct workspace *w;
    struct api_json body;
    struct field_nodes nodes;
};

static enum rt_code read_held(const struct evaluation *ev, const struct api_json *body, struct held *out,
                              struct rt_problems *p)
{
    const struct str floor = api_json_text(body, "floor");
    double at[3];
    *out = (struct held){ .equipment = api_json_text(body, "equipment"),
                          .part = api_json_text(body, "part"),
                          .floor = house_find_floor(ev->h, floor),
                          .faces_deg = api_json_number(body, "faces_deg"),
                          .tilt_deg = api_json_number(body, "tilt_deg") };
    if (out->floor == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "the house has no floor '%.*s'", STR_ARG(floor));
    if (api_json_numbers(body, "at_m", at, 3) != 3 || !(fabs(at[0]) <= 1e4 && fabs(at[1]) <= 1e4 && fabs(at[2]) <= 1e3))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send `at_m`: [x, y, z], z above the floor", "that is no place");
    out->at_m = (struct vec3){ at[0], at[1], at[2] };
    if ((is_given(out->faces_deg) && fabs(out->faces_deg) > 360.0) ||
        (is_given(out->tilt_deg) && fabs(out->tilt_deg) > 90.0))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "it cannot be turned or tilted like that");
    return RT_OK;
}

static enum rt_code preview(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct previewing *v = user;
    struct held held;
    struct field_asked asked;
    const struct str seen = api_json_text(&v->body, "seen");
    const struct field_words words = { .what = api_json_text(&v->body, "what"),
                                       .floor = seen.n ? seen : api_json_text(&v->body, "floor"),
                                       .band = api_json_text(&v->body, "band"),
                                       .device = api_json_text(&v->body, "device"),
                                       .estimate = api_json_text(&v->body, "estimate") };
    struct run run = v->q->run;
    run.n_threads = ev->run->n_threads;
    RT_TRY(read_held(ev, &v->body, &held, p));
    RT_TRY(field_asked_read(ev, &words, &asked, p));
    const double availability = api_json_number(&v->body, "availability");
    if (is_given(availability) && !(availability >= 0.5 && availability <= 0.999))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, "between 0.5 and 0.999", "no field holds in that share of places");
    asked.options.availability = given_or(availability, asked.options.availability);
    return preview_make(lane, &run, &held, &asked, &v->nodes, p);
}

enum rt_code api_preview(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct previewing v = { .q = q };
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &v.w, p));
    RT_TRY(api_json_read(q->body, &v.body, p));
    const enum rt_code code = workspace_compute(v.w, q->arena, LANE_PREVIEW, preview, &v, &of, p);
    api_json_end(&v.body);
    RT_TRY(code);
    return api_field_reply(q, &v.nodes, of.number, r, p);
}
