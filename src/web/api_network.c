/* The network as it is wired, proven, loaded; two houses side by side. */
#include "base/units.h"
#include "design/compare.h"
#include "draw/week_rows.h"
#include "promise/port_map.h"
#include "promise/prove.h"
#include "web/api.h"
#include "wire/open_parts.h"

/* ---- ports ---- */

static void write_segment(struct json *j, const struct port_map *map, const char *key, uint32_t segment)
{
    if (segment == NO_REF) {
        json_null(j, key);
        return;
    }
    json_begin_object(j, key);
    json_str(j, "segment", map->h->segments.v[segment].id);
    json_int(j, "vlan", map->l2->plan->segments[segment].vlan);
    json_end_object(j);
}

static void write_port(struct json *j, const struct port_map *map, const struct port_row *row)
{
    const struct l2_port *port = row->port;
    const struct power_feed *feed = row->feed;
    json_begin_object(j, NULL);
    json_str(j, "equipment", map->h->equipment.v[port->equipment].id);
    json_int(j, "port", port->number);
    json_str(j, "label", row->label.name);
    json_str(j, "plug", port->group ? port->group->medium : STR(""));
    json_num(j, "port_mbps", port->group ? port->group->speed_mbps : RT_NOT_GIVEN);
    json_text(j, "mode", port_mode_name(port->mode));
    json_str(j, "cable", port->cable == NO_REF ? STR("") : map->h->cables.v[port->cable].id);
    json_str(j, "leads_to", row->far_id);
    json_str(j, "leads_to_words", row->far_words);
    json_str(j, "leads_to_room", row->far_room);
    json_int(j, "leads_to_port", row->far_number);
    write_segment(j, map, "untagged", port->untagged);
    json_begin_array(j, "tagged");
    for (uint32_t i = 0; i < port->tagged.n; i++)
        write_segment(j, map, NULL, port->tagged.v[i]);
    json_end_array(j);
    json_bool(j, "towards_gateway", port->towards_gateway);
    json_bool(j, "rests", port->rests);
    json_num(j, "link_mbps", row->link && row->link->speed_mbps > 0.0 ? row->link->speed_mbps : RT_NOT_GIVEN);
    json_num(j, "port_class", port->group ? port->group->poe_class : RT_NOT_GIVEN);
    json_num(j, "class_granted", feed && feed->class_granted >= 0 ? (double)feed->class_granted : RT_NOT_GIVEN);
    json_fixed(j, "drawn_w", feed ? feed->drawn_w : RT_NOT_GIVEN, 1);
    json_bool(j, "number_chosen", port->number_chosen);
    json_bool(j, "setting_given", port->setting_given);
    json_end_object(j);
}

static enum rt_code ports(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct proof *proof;
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    struct port_map *map = NULL;
    RT_TRY(evaluation_proof(ev, &proof, p));
    RT_TRY(evaluation_cables(ev, &cables, &links, p));
    RT_TRY(evaluation_power(ev, &power, p));
    RT_TRY(port_map_make(&q->run, ev->layer2, links, power, &map, p));
    json_begin_object(j, NULL);
    json_begin_array(j, "ports");
    for (uint32_t i = 0; i < map->rows.n; i++)
        write_port(j, map, &map->rows.v[i]);
    json_end_array(j);
    json_end_object(j);
    return RT_OK;
}

enum rt_code api_ports(struct request *q, struct reply *r, struct rt_problems *p)
{
    return api_tell(q, LANE_HOUSE, ports, r, p);
}

/* ---- who may reach whom ---- */

static enum rt_code matrix(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct prove_report report;
    RT_TRY(prove_report_make(&q->run, ev->h, NULL, NULL, &report, p));
    prove_report_write_json(j, &report);
    return RT_OK;
}

enum rt_code api_matrix(struct request *q, struct reply *r, struct rt_problems *p)
{
    return api_tell(q, LANE_HOUSE, matrix, r, p);
}

/* ---- the week ---- */

static void write_line(struct json *j, const char *key, const struct line_week *w)
{
    json_begin_object(j, key);
    json_num(j, "capacity_mbps", w->capacity_mbps);
    json_int(j, "fullest_hour", w->worst);
    json_begin_array(j, "hours");
    for (unsigned i = 0; i < HOURS_OF_WEEK; i++) {
        json_begin_object(j, NULL);
        json_fixed(j, "mean_mbps", w->hours[i].mean_mbps, 3);
        json_fixed(j, "needed_mbps", w->hours[i].needed_mbps.high, 2);
        json_fixed(j, "short_share", w->hours[i].short_share.high, 6);
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
}

static void write_radio(struct json *j, const struct load_view *v, const ap_radio_list *radios, uint32_t radio)
{
    static const char *const PARTS[AIR_PART_COUNT] = { [AIR_OWN] = "own",
                                                       [AIR_BEACONS] = "beacons",
                                                       [AIR_OWN_RADIOS] = "own_radios",
                                                       [AIR_NEIGHBOURS] = "neighbours",
                                                       [AIR_MESH] = "mesh" };
    json_begin_object(j, NULL);
    json_str(j, "equipment", v->h->equipment.v[radios->v[radio].equipment].id);
    json_text(j, "band", band_name(radios->v[radio].band));
    for (int part = 0; part < AIR_PART_COUNT; part++) {
        json_begin_array(j, PARTS[part]);
        for (unsigned i = 0; i < HOURS_OF_WEEK; i++)
            json_fixed(j, NULL, load_view_air(v->airtime, radio, i).share[part], 4);
        json_end_array(j);
    }
    json_end_object(j);
}

static void write_dark(struct json *j, const struct house *h, uint32_t statement)
{
    const struct statement *s = &h->statements.v[statement];
    struct week_span spans[WEEK_SPANS_MAX];
    const uint32_t n = week_spans(&h->hours.v[s->hours.i], spans);
    json_begin_object(j, NULL);
    json_int(j, "statement", statement);
    json_str(j, "says", s->says);
    json_str(j, "hours", h->hours.v[s->hours.i].id);
    json_begin_array(j, "spans");
    for (uint32_t i = 0; i < n; i++) {
        json_begin_object(j, NULL);
        json_int(j, "day", spans[i].day);
        json_num(j, "from_minute", spans[i].from_minute);
        json_num(j, "to_minute", spans[i].to_minute);
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
}

static enum rt_code week(struct lane *lane, struct request *q, struct json *j, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct load_view *v = NULL;
    (void)q;
    RT_TRY(lane_borrow_field(lane, p));
    RT_TRY(load_view_make(ev, &v, p));
    json_begin_object(j, NULL);
    if (v->has_line) {
        json_begin_object(j, "line");
        json_num(j, "probability", v->probability);
        json_bool(j, "is_promised", v->is_promised);
        write_line(j, "down", &v->now[LOAD_DOWN]);
        write_line(j, "up", &v->now[LOAD_UP]);
        json_end_object(j);
    } else {
        json_null(j, "line");
    }
    json_begin_array(j, "radios");
    for (uint32_t i = 0; v->airtime && i < v->airtime->cells.n; i++)
        write_radio(j, v, &ev->radios, i);
    json_end_array(j);
    json_begin_array(j, "dark");
    for (uint32_t i = week_next_dark(ev->h, 0); i != NO_REF; i = week_next_dark(ev->h, i + 1))
        write_dark(j, ev->h, i);
    json_end_array(j);
    json_end_object(j);
    return RT_OK;
}

enum rt_code api_week(struct request *q, struct reply *r, struct rt_problems *p)
{
    return api_tell(q, LANE_JUDGE, week, r, p);
}

/* ---- two houses ---- */

/* Both are read for this answer alone: no lock of two houses is held at once. */
static enum rt_code open_house(struct request *q, struct workspace *w, struct str bytes, struct evaluation **out,
                               struct rt_problems *p)
{
    struct house *h = NULL;
    struct evaluation *ev = ARENA_NEW(q->arena, struct evaluation);
    if (!ev)
        return rt_fail_memory(p);
    RT_TRY(workspace_read_house(w, q->arena, bytes, &h, p));
    RT_TRY(open_parts_choose(&q->run, h, p));
    RT_TRY(evaluation_begin(ev, &q->run, h, evaluation_default_options(h), p));
    *out = ev;
    return RT_OK;
}

static enum rt_code open_as_it_is(struct request *q, struct str name, struct evaluation **out, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    RT_TRY(workspace_find(&q->server->houses, name, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    return open_house(q, w, s.bytes, out, p);
}

/* With the parts file as it is now: that has a history of its own. */
static enum rt_code open_as_it_was(struct request *q, struct str name, struct str revision, struct evaluation **out,
                                   struct rt_problems *p)
{
    struct workspace *w;
    struct str bytes = { 0 };
    int64_t number;
    RT_TRY(api_revision_number(revision, &number, p));
    RT_TRY(workspace_find(&q->server->houses, name, &w, p));
    RT_TRY(workspace_then(w, q->arena, number, &bytes, p));
    return open_house(q, w, bytes, out, p);
}

enum rt_code api_compare(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct evaluation *first = NULL, *second = NULL;
    struct comparison c;
    struct json_body b;
    const struct str name = q->params[0], with = q->query(q, "with"), revision = q->query(q, "revision");
    if (!with.n == !revision.n)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "ask with=NAME, or revision=NUMBER of this house",
                       "a comparison is with one other house, or with one revision");
    RT_TRY(open_as_it_is(q, name, &first, p));
    RT_TRY(with.n ? open_as_it_is(q, with, &second, p) : open_as_it_was(q, name, revision, &second, p));
    RT_TRY(houses_compare(first, second, &c, p));
    comparison_write_json(reply_json(&b, q), &c, NULL, 0);
    return reply_json_end(&b, r, p);
}
