/* The house as something to draw. */
#include "web/api.h"
#include "web/drawing.h"
#include "wire/open_parts.h"

struct drawn {
    struct request *q;
    struct json_body body;
    struct study_state of;
};

/* problems: what is odd about it, or why nothing could be computed. */
static void write(struct drawn *w, const struct house *h, const ap_radio_list *radios, const struct cable_plan *cables,
                  const struct rt_problems *problems)
{
    struct json *j = reply_json(&w->body, w->q);
    struct drawing d = { .arena = w->q->arena, .h = h, .radios = radios, .cables = cables, .j = j };
    json_begin_object(j, NULL);
    problems_write_json(j, "problems", problems);
    drawing_write_building(&d);
    drawing_write_things(&d);
    json_end_object(j);
}

static enum rt_code draw(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct drawn *w = user;
    const struct cable_plan *cables = NULL;
    const struct wire_links *links = NULL;
    if (ev->cables)
        evaluation_tell_cables(ev, p);
    RT_TRY(evaluation_cables(ev, &cables, &links, p));
    write(w, ev->h, &ev->radios, cables, p);
    return RT_OK;
}

/* Of the file as it is now, without anything that is kept of it; waits for no computation. */
static enum rt_code read_apart(struct request *q, struct workspace *w, struct drawn *d, struct house **out,
                               struct rt_problems *p)
{
    struct workspace_state s;
    RT_TRY(workspace_look(w, q->arena, &s, p));
    d->of = (struct study_state){ s.revision.number, s.parts };
    return workspace_read_house(w, q->arena, s.bytes, out, p);
}

/* A house that can be read but not computed (a channel that the country forbids) is drawn all the same, and says why. */
static enum rt_code draw_unjudged(struct request *q, struct workspace *w, struct drawn *d,
                                  const struct rt_problems *wrong, struct rt_problems *p)
{
    struct house *h = NULL;
    RT_TRY(read_apart(q, w, d, &h, p));
    write(d, h, NULL, NULL, wrong);
    return RT_OK;
}

/* Before its cables are laid, which takes most of the time that a drawing takes. */
static enum rt_code draw_bare(struct request *q, struct workspace *w, struct drawn *d, struct rt_problems *p)
{
    struct house *h = NULL;
    struct evaluation ev;
    RT_TRY(read_apart(q, w, d, &h, p));
    RT_TRY(open_parts_choose(&q->run, h, p));
    RT_TRY(evaluation_begin(&ev, &q->run, h, evaluation_default_options(h), p));
    write(d, h, &ev.radios, NULL, p);
    return RT_OK;
}

enum rt_code api_drawing(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct rt_problems wrong;
    rt_problems_init(&wrong, q->arena);
    struct drawn d = { .q = q };
    RT_TRY(api_house(q, &w, p));
    if (str_is(q->query(q, "cables"), "no"))
        RT_TRY(draw_bare(q, w, &d, p));
    else if (workspace_compute(w, q->arena, LANE_HOUSE, draw, &d, &d.of, &wrong) != RT_OK)
        RT_TRY(draw_unjudged(q, w, &d, &wrong, p));
    r->etag = api_etag_of(q, d.of);
    return reply_json_end(&d.body, r, p);
}
