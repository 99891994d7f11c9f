/* The parts file of a house: its values, and which houses need what of it. */
#include <string.h>

#include "house/edit_int.h"
#include "web/api.h"
#include "web/told.h"

enum { READ_MB = 256 };

enum rt_code api_parts_file(struct request *q, struct workspace **out, struct rt_problems *p)
{
    struct workspace *house;
    RT_TRY(api_house(q, &house, p));
    return workspace_find_parts(house, q->arena, out, p);
}

enum rt_code api_parts_model(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    struct parts parts;
    struct edit_node *root = NULL;
    struct rt_problems wrong, unheard;
    struct json_body b;
    rt_problems_init(&wrong, q->arena);
    rt_problems_init(&unheard, q->arena);
    RT_TRY(api_parts_file(q, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    const bool can = workspace_read_parts(w, q->arena, s.bytes, &parts, &wrong) == RT_OK; /* what is wrong is told */
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "revision", s.revision.number);
    json_str(j, "file", workspace_name(w));
    json_bool(j, "can_be_read", can);
    problems_write_json(j, "problems", &wrong);
    if (edit_parse(q->arena, NULL, s.bytes, &root, &unheard) == RT_OK)
        api_write_node(j, "parts", root, q->arena);
    else
        json_null(j, "parts");
    json_end_object(j);
    r->etag = api_etag(q, s.revision.number);
    return reply_json_end(&b, r, p);
}

/* ---- the houses that name it ---- */

/* A house of the folder that names the parts file, with an arena for what is read of it. */
struct one_house {
    struct workspace *w;
    struct workspace_state s;
    struct arena *arena;
    struct rt_problems wrong;
};

typedef enum rt_code each_house(struct one_house *one, void *user, struct rt_problems *p);

/* A house that cannot be looked at (a folder of that name, a link) names nothing. */
static bool names_it(struct request *q, struct str name, struct str parts, struct one_house *one)
{
    struct str path;
    struct rt_problems unheard;
    rt_problems_init(&unheard, one->arena);
    return workspace_find(&q->server->houses, name, &one->w, &unheard) == RT_OK &&
           workspace_look(one->w, one->arena, &one->s, &unheard) == RT_OK &&
           workspace_parts_of(one->arena, workspace_path(one->w), one->s.bytes, &path, &unheard) == RT_OK &&
           str_eq(path, parts);
}

static enum rt_code for_each_house(struct request *q, struct workspace *parts, each_house *use, void *user,
                                   struct rt_problems *p)
{
    folder_names names;
    enum rt_code code = RT_OK;
    RT_TRY(folder_list(q->arena, &q->server->houses.folder, &names, p));
    for (uint32_t i = 0; i < names.n && !code; i++) {
        struct one_house one = { .arena = arena_new((size_t)READ_MB << 20) };
        if (!one.arena)
            return rt_fail_memory(p);
        rt_problems_init(&one.wrong, one.arena);
        if (names_it(q, names.v[i], str_from(workspace_path(parts)), &one))
            code = use(&one, user, p);
        arena_free(one.arena);
    }
    return code;
}

/* ---- which could not be read any more ---- */

struct broken_house {
    struct str house, title;
    struct rt_problems why;
};

struct breaking {
    struct request *q;
    struct str bytes;
    VEC(struct broken_house) list;
};

static enum rt_code see_if_broken(struct one_house *one, void *user, struct rt_problems *p)
{
    struct breaking *b = user;
    struct house *now = NULL, *then = NULL;
    struct rt_problems unheard;
    struct broken_house broken = { .house = workspace_name(one->w) };
    rt_problems_init(&unheard, one->arena);
    if (workspace_read_house(one->w, one->arena, one->s.bytes, &now, &unheard) != RT_OK ||
        workspace_read_house_with(one->w, one->arena, one->s.bytes, b->bytes, &then, &one->wrong) == RT_OK)
        return RT_OK;
    broken.title = str_dup(b->q->arena, now->name);
    rt_problems_init(&broken.why, b->q->arena);
    problems_copy(&broken.why, &one->wrong);
    return VEC_PUSH(b->q->arena, &b->list, broken) ? RT_OK : rt_fail_memory(p);
}

enum rt_code api_tell_breaks(struct request *q, struct json *j, struct workspace *parts, struct str bytes,
                             struct rt_problems *p)
{
    struct breaking b = { .q = q, .bytes = bytes };
    RT_TRY(for_each_house(q, parts, see_if_broken, &b, p));
    json_begin_array(j, "breaks");
    for (uint32_t i = 0; i < b.list.n; i++) {
        json_begin_object(j, NULL);
        json_str(j, "house", b.list.v[i].house);
        json_str(j, "title", b.list.v[i].title);
        problems_write_json(j, "problems", &b.list.v[i].why);
        json_end_object(j);
    }
    json_end_array(j);
    return RT_OK;
}

/* ---- what of it is used ---- */

static void count(uint32_t *named, struct ref part)
{
    if (part.i != NO_REF)
        named[part.i]++;
}

static enum rt_code tell_named(struct one_house *one, void *user, struct rt_problems *p)
{
    struct json *j = user;
    struct house *h = NULL;
    if (workspace_read_house(one->w, one->arena, one->s.bytes, &h, &one->wrong) != RT_OK)
        h = NULL;
    uint32_t *named = h ? ARENA_ARRAY(one->arena, uint32_t, h->parts.list.n + 1) : NULL;
    if (h && !named)
        return rt_fail_memory(p);
    for (uint32_t i = 0; h && i < h->equipment.n; i++)
        count(named, h->equipment.v[i].part);
    for (uint32_t i = 0; h && i < h->cables.n; i++)
        count(named, h->cables.v[i].part);
    for (uint32_t i = 0; h && i < h->batteries.n; i++)
        count(named, h->batteries.v[i].part);
    for (uint32_t i = 0; h && i < h->devices.n; i++)
        if (h->devices.v[i].part.n)
            count(named, (struct ref){ .i = parts_find(&h->parts, h->devices.v[i].part) });
    json_begin_object(j, NULL);
    json_str(j, "house", workspace_name(one->w));
    json_str(j, "title", h ? h->name : workspace_name(one->w));
    json_bool(j, "can_be_read", h != NULL);
    json_begin_array(j, "parts");
    for (uint32_t i = 0; h && i < h->parts.list.n; i++)
        if (named[i]) {
            json_begin_object(j, NULL);
            json_str(j, "part", h->parts.list.v[i].id);
            json_int(j, "count", named[i]);
            json_end_object(j);
        }
    json_end_array(j);
    json_end_object(j);
    return RT_OK;
}

/* What the bill of this house buys: also what nobody named, as cords and outlets. */
static enum rt_code tell_bought(struct lane *lane, void *user, struct rt_problems *p)
{
    struct json_body *b = user;
    const struct bill *bill = NULL;
    RT_TRY(evaluation_bill(&lane->ev, &bill, p));
    *b = (struct json_body){ .text = { .arena = b->text.arena } };
    b->j = (struct json){ .out = &b->text, .compact = true };
    json_begin_array(&b->j, NULL);
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *line = &bill->lines.v[i];
        if (line->part == NO_REF || line->owned)
            continue;
        json_begin_object(&b->j, NULL);
        json_str(&b->j, "part", lane->ev.h->parts.list.v[line->part].id);
        json_num(&b->j, "count", line->count);
        json_str(&b->j, "unit", line->unit);
        json_end_object(&b->j);
    }
    json_end_array(&b->j);
    return RT_OK;
}

enum rt_code api_parts_used(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *house, *parts;
    struct study_state of = { 0 };
    struct json_body b, bought = { .text = { .arena = q->arena } };
    struct rt_problems unheard; /* the promises tell why a house cannot be computed */
    rt_problems_init(&unheard, q->arena);
    RT_TRY(api_house(q, &house, p));
    RT_TRY(workspace_find_parts(house, q->arena, &parts, p));
    const bool has_bill = workspace_compute(house, q->arena, LANE_HOUSE, tell_bought, &bought, &of, &unheard) == RT_OK;
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "houses");
    RT_TRY(for_each_house(q, parts, tell_named, j, p));
    json_end_array(j);
    if (has_bill)
        json_end(&bought.j);
    if (has_bill && !bought.text.failed)
        reply_json_made(j, "bought", buf_done(&bought.text));
    else
        json_null(j, "bought");
    json_end_object(j);
    return reply_json_end(&b, r, p);
}
