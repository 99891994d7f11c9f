/* Questions about the building that the pen asks. */
#include "house/enclosure.h"
#include "web/api.h"

enum rt_code api_enclosure(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w = NULL;
    struct workspace_state s;
    struct house *h = NULL;
    struct vec3 at_m;
    struct enclosure found;
    struct json_body b;
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    RT_TRY(workspace_read_house(w, q->arena, s.bytes, &h, p));
    const uint32_t floor = house_find_floor(h, q->query(q, "floor"));
    if (floor == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "the house has no such floor");
    if (!api_read_spot(q->query(q, "at"), &at_m))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send at=X,Y in metres", "that is no spot");
    RT_TRY(enclosure_find(h, floor, (struct vec2){ at_m.x, at_m.y }, q->arena, &found, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "outline");
    for (uint32_t i = 0; i < found.outline.n; i++) {
        json_begin_array(j, NULL);
        json_fixed(j, NULL, found.outline.v[i].x, 3);
        json_fixed(j, NULL, found.outline.v[i].y, 3);
        json_end_array(j);
    }
    json_end_array(j);
    json_fixed(j, "area_m2", polygon_area_m2(found.outline), 2);
    json_bool(j, "by_edge", found.by_edge);
    json_end_object(j);
    r->etag = api_etag(q, s.revision.number);
    return reply_json_end(&b, r, p);
}
