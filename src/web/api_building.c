/* Questions about the building that the pen asks. */
#include "data/constructs.h"
#include "house/enclosure.h"
#include "web/api.h"

static enum rt_code read_present(struct request *q, struct house **out, int64_t *revision, struct rt_problems *p)
{
    struct workspace *w = NULL;
    struct workspace_state s;
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    *revision = s.revision.number;
    return workspace_read_house(w, q->arena, s.bytes, out, p);
}

enum rt_code api_enclosure(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct house *h = NULL;
    struct vec3 at_m;
    struct enclosure found;
    struct json_body b;
    int64_t revision = 0;
    RT_TRY(read_present(q, &h, &revision, p));
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
    r->etag = api_etag(q, revision);
    return reply_json_end(&b, r, p);
}

static void tell_construct(struct json *j, struct str id, struct str says, double thickness_m, bool is_built_in)
{
    json_begin_object(j, NULL);
    json_str(j, "id", id);
    json_str(j, "says", says);
    json_fixed(j, "thickness_m", thickness_m, 4);
    json_bool(j, "is_built_in", is_built_in);
    json_end_object(j);
}

static bool is_own(const struct house *h, const char *id)
{
    for (uint32_t i = 0; i < h->constructs.n; i++)
        if (!h->constructs.v[i].is_built_in && str_is(h->constructs.v[i].id, id))
            return true;
    return false;
}

enum rt_code api_constructs(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct house *h = NULL;
    struct json_body b;
    int64_t revision = 0;
    RT_TRY(read_present(q, &h, &revision, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "constructs");
    for (uint32_t i = 0; i < h->constructs.n; i++) {
        const struct construct *c = &h->constructs.v[i];
        if (!c->is_built_in)
            tell_construct(j, c->id, c->says, construct_thickness_m(c), false);
    }
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        double thickness_m = 0.0;
        for (uint32_t k = 0; k < c->n_layers; k++)
            thickness_m += c->layers[k].thickness_m;
        if (!is_own(h, c->id))
            tell_construct(j, str_from(c->id), str_from(c->says), thickness_m, true);
    }
    json_end_array(j);
    json_end_object(j);
    r->etag = api_etag(q, revision);
    return reply_json_end(&b, r, p);
}
