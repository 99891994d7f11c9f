/* Prints the network of spaces that the library makes of each house file, the cheapest way of each cable alone, the ways of all
 * together and the legs they are told as: one JSON object a house, for a program that knows nothing of it to judge.
 *
 *   cable_report HOUSE... */
#include <math.h>
#include <stdio.h>

#include "base/json.h"
#include "base/units.h"
#include "wire/route_space.h"

static void write_point(struct json *j, const char *key, struct vec3 at_m)
{
    json_begin_array(j, key);
    json_num(j, NULL, at_m.x);
    json_num(j, NULL, at_m.y);
    json_num(j, NULL, at_m.z);
    json_end_array(j);
}

/* The id of something of the house; null: none. */
#define ID_OF(list, index) ((index) == NO_REF ? (struct str){ 0 } : (list).v[index].id)

static void write_id(struct json *j, const char *key, struct str id)
{
    if (id.n)
        json_str(j, key, id);
    else
        json_null(j, key);
}

static void write_network(struct json *j, const struct space *s)
{
    json_begin_array(j, "nodes");
    for (uint32_t i = 0; i < s->net.n_nodes; i++) {
        json_begin_object(j, NULL);
        write_point(j, "at_m", s->at_m.v[i]);
        json_bool(j, "is_end", s->net.traits.v[i] & ROUTE_END);
        json_bool(j, "is_bend", s->net.traits.v[i] & ROUTE_BEND);
        json_end_object(j);
    }
    json_end_array(j);
    json_begin_array(j, "edges");
    for (uint32_t e = 0; e < s->net.edges.n; e++) {
        const struct route_edge *edge = &s->net.edges.v[e];
        json_begin_object(j, NULL);
        json_int(j, "a", edge->a);
        json_int(j, "b", edge->b);
        json_num(j, "length_m", edge->length_m);
        json_num(j, "price", edge->price);
        write_id(j, "run", ID_OF(s->h->runs, edge->label));
        json_num(j, "cord_m", edge->cord_m);
        json_bool(j, "only_named", edge->only_named);
        json_bool(j, "is_hop", edge->is_hop);
        json_int(j, "work", edge->work);
        json_int(j, "n_work", edge->n_work);
        json_int(j, "way", edge->way);
        json_end_object(j);
    }
    json_end_array(j);
    json_begin_array(j, "ways");
    for (uint32_t i = 0; i < s->ways.n; i++) {
        const struct space_way *way = &s->ways.v[i];
        json_begin_object(j, NULL);
        json_int(j, "kind", way->kind);
        write_id(j, "run", ID_OF(s->h->runs, way->run));
        write_id(j, "floor", ID_OF(s->h->floors, way->floor));
        json_str(j, "says", way->says);
        json_bool(j, "is_cord", way->is_cord);
        json_end_object(j);
    }
    json_end_array(j);
    json_begin_array(j, "works");
    for (uint32_t w = 0; w < s->works.n; w++) {
        json_begin_object(j, NULL);
        json_bool(j, "is_hole", s->works.v[w].kind == WORK_HOLE);
        write_id(j, "construct", ID_OF(s->h->constructs, s->works.v[w].construct));
        write_point(j, "at_m", s->works.v[w].at_m);
        json_num(j, "price", s->net.works.v[w].price);
        json_end_object(j);
    }
    json_end_array(j);
}

static void write_way(struct json *j, const char *key, const struct route_way *way)
{
    json_begin_array(j, key);
    for (uint32_t i = 0; i < way->n; i++)
        json_int(j, NULL, way->edges[i]);
    json_end_array(j);
}

static void write_legs(struct json *j, const struct cable_plan *plan, uint32_t cable)
{
    const struct routed_cable *r = &plan->cables[cable];
    json_num(j, "fixed_m", r->fixed_m);
    json_num(j, "slack_m", r->slack_m);
    json_begin_array(j, "legs");
    for (uint32_t k = 0; k < r->legs.n; k++) {
        json_begin_object(j, NULL);
        write_id(j, "run", ID_OF(plan->h->runs, r->legs.v[k].run));
        write_point(j, "from_m", r->legs.v[k].from_m);
        write_point(j, "to_m", r->legs.v[k].to_m);
        json_num(j, "length_m", r->legs.v[k].length_m);
        json_end_object(j);
    }
    json_end_array(j);
}

/* Of each cable that is no cord and whose ends have a place: what is asked of the network. */
static uint32_t list_asks(const struct space *s, struct route_ask *asks, uint32_t *cables)
{
    uint32_t n = 0;
    for (uint32_t c = 0; c < s->h->cables.n; c++) {
        const struct cable *cable = &s->h->cables.v[c];
        const struct part *part = cable->part.i == NO_REF ? NULL : &s->h->parts.list.v[cable->part.i];
        const uint32_t from = space_thing_of(s->h, &cable->from), to = space_thing_of(s->h, &cable->to);
        if ((part && part->kind == PART_CORD) || !s->things[from].is_placed || !s->things[to].is_placed)
            continue;
        uint32_t *labels = ARENA_ARRAY(s->a, uint32_t, cable->route.n);
        for (uint32_t i = 0; labels && i < cable->route.n; i++)
            labels[i] = cable->route.v[i].i;
        const double per_m = part && part->per_m > 0.0 ? part->price / part->per_m : 0.0;
        cables[n] = c;
        asks[n++] = (struct route_ask){ .from = s->things[from].node,
                                        .to = s->things[to].node,
                                        .price_per_m = fmax(per_m, PRICE_CABLE_MIN_PER_M),
                                        .labels = labels,
                                        .n_labels = cable->route.n,
                                        .cord_from_m = given_or(cable->cord_from_m, 0.0),
                                        .cord_to_m = given_or(cable->cord_to_m, 0.0) };
    }
    return n;
}

static bool write_house(const struct run *run, const char *path, struct json *j, struct rt_problems *p)
{
    struct house *h = NULL;
    struct cable_plan *plan = NULL;
    struct route_answer answer = { 0 };
    if (house_read(run, path, &h, p) || cables_plan(run, h, &plan, p))
        return false;
    struct space s = { .run = run, .h = h, .a = run->arena };
    struct route_ask *asks = ARENA_ARRAY(run->arena, struct route_ask, h->cables.n);
    uint32_t *cables = ARENA_ARRAY(run->arena, uint32_t, h->cables.n);
    if (!asks || !cables || !space_build(&s))
        return false;
    const uint32_t n = list_asks(&s, asks, cables);
    if (route_solve(run, &s.net, asks, n, &answer))
        return false;
    json_begin_object(j, NULL);
    json_text(j, "file", path);
    write_network(j, &s);
    json_begin_array(j, "cables");
    for (uint32_t k = 0; k < n; k++) {
        struct route_way alone;
        if (!route_shortest(run->arena, &s.net, &asks[k], NULL, &alone))
            return false;
        json_begin_object(j, NULL);
        json_str(j, "id", h->cables.v[cables[k]].id);
        json_int(j, "from", asks[k].from);
        json_int(j, "to", asks[k].to);
        json_num(j, "alone_price", alone.is_found ? alone.price : RT_NOT_GIVEN);
        write_way(j, "alone", &alone);
        json_bool(j, "is_found", answer.ways[k].is_found);
        write_way(j, "together", &answer.ways[k]);
        write_legs(j, plan, cables[k]);
        json_end_object(j);
    }
    json_end_array(j);
    json_num(j, "price", plan->price);
    json_num(j, "bound", plan->bound);
    json_end_object(j);
    buf_char(j->out, '\n');
    return !j->out->failed;
}

int main(int argc, char **argv)
{
    struct arena *a = arena_new((size_t)512 << 20);
    const struct run run = { .arena = a, .seed = 1, .n_threads = 1 };
    for (int i = 1; a && i < argc; i++) {
        const struct arena_mark mark = arena_mark(a);
        struct buf out = { .arena = a };
        struct json j = { .out = &out, .compact = true };
        struct rt_problems p;
        rt_problems_init(&p, a);
        if (!write_house(&run, argv[i], &j, &p)) {
            struct buf text = { .arena = a };
            rt_problems_format(&p, &text);
            fprintf(stderr, "%s: %.*s\n", argv[i], STR_ARG(buf_done(&text)));
            return 2;
        }
        fwrite(out.p, 1, out.n, stdout);
        arena_reset(a, mark);
    }
    arena_free(a);
    return 0;
}
