#include "promise/port_map.h"

#include "base/csv.h"
#include "base/units.h"
#include "promise/wire_words.h"

/* ---- what is at the other end ---- */

static void find_far_end(const struct port_map *map, struct port_row *row)
{
    const struct l2_port *port = row->port;
    const struct house *h = map->h;
    struct cable_end far = { .equipment = port->far_equipment, .device = port->far_device };
    if (port->far_device != NO_REF) {
        row->far_id = h->devices.v[port->far_device].id;
        row->far_words = device_words(h, port->far_device);
    } else if (port->far_equipment != NO_REF) {
        row->far_id = h->equipment.v[port->far_equipment].id;
        row->far_words = equipment_words(h, port->far_equipment);
    } else {
        row->far_id = row->far_words = port->mode == PORT_LINE ? STR("internet") : STR("");
        return;
    }
    row->far_room = end_label_room(h, &far);
    const uint32_t n_ports = port->far_equipment == NO_REF ? 0
                                                           : map->l2->first_port[port->far_equipment + 1] -
                                                                 map->l2->first_port[port->far_equipment];
    if (port->far_port != NO_REF && n_ports > 1)
        row->far_number = map->l2->ports.v[port->far_port].number;
}

static const struct power_feed *feed_at(const struct power_plan *power, const struct l2_port *port)
{
    for (uint32_t i = 0; i < power->feeds.n; i++)
        if (power->feeds.v[i].source == port->equipment && power->feeds.v[i].port == port->number)
            return &power->feeds.v[i];
    return NULL;
}

/* Is the port at the cable's first end? */
static bool is_first_end(const struct port_map *map, const struct l2_port *port)
{
    const struct cable *c = &map->h->cables.v[port->cable];
    return c->from.equipment == port->equipment &&
           (c->to.equipment != port->equipment || map->l2->picks[port->cable].from == port->number);
}

static struct port_row row_of(struct arena *a, const struct port_map *map, const struct l2_port *port,
                              const struct wire_links *links, const struct power_plan *power)
{
    struct port_row row = { .port = port, .feed = feed_at(power, port) };
    const bool has_cable = port->cable != NO_REF;
    find_far_end(map, &row);
    row.link = has_cable ? &links->v[port->cable] : NULL;
    row.label =
        end_label_of_port(a, map->h, port->equipment, port->number, port->cable, has_cable && is_first_end(map, port),
                          has_cable ? map->numbers[port->cable] : (struct port_numbers){ 0 });
    if (has_cable)
        row.cable_end = end_label_of_cable(a, map->h, port->cable, is_first_end(map, port), map->numbers[port->cable]);
    if (port->mode == PORT_LINE)
        row.label.far = STR("to the internet line");
    return row;
}

enum rt_code port_map_make(const struct run *run, const struct layer2 *l2, const struct wire_links *links,
                           const struct power_plan *power, struct port_map **out, struct rt_problems *p)
{
    struct arena *a = run->arena;
    struct port_map *map = ARENA_NEW(a, struct port_map);
    *out = NULL;
    if (!map)
        return rt_fail_memory(p);
    map->h = l2->plan->h;
    map->l2 = l2;
    map->numbers = ARENA_ARRAY(a, struct port_numbers, map->h->cables.n);
    map->rows.v = ARENA_ARRAY(a, struct port_row, l2->ports.n);
    if (!map->numbers || !map->rows.v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < map->h->cables.n; i++)
        map->numbers[i] = (struct port_numbers){ l2->picks[i].from, l2->picks[i].to };
    for (uint32_t i = 0; i < l2->ports.n; i++) {
        const struct port_row row = row_of(a, map, &l2->ports.v[i], links, power);
        if (!row.label.name.n || !row.label.far.n) /* a text that found no memory */
            return rt_fail_memory(p);
        map->rows.v[map->rows.n++] = row;
    }
    *out = map;
    return RT_OK;
}

/* ---- as tables ---- */

struct str port_speed_words(struct arena *a, double mbps)
{
    const char *text =
        arena_printf(a, mbps >= 1000.0 ? "%.4g Gb/s" : "%.4g Mb/s", mbps >= 1000.0 ? mbps / 1000.0 : mbps);
    return str_from(text ? text : "");
}

static void field_count(struct buf *out, double n) { csv_number(out, n > 0.0 ? n : RT_NOT_GIVEN, 0); }
static void field_yes(struct buf *out, bool is_so) { csv_field(out, is_so ? STR("yes") : STR("no")); }

static void tagged_field(struct buf *out, const struct port_map *map, const struct l2_port *port)
{
    struct buf b = { .arena = out->arena };
    for (uint32_t i = 0; i < port->tagged.n; i++)
        buf_printf(&b, "%s%.*s (%u)", i ? " " : "", STR_ARG(map->h->segments.v[port->tagged.v[i]].id),
                   map->l2->plan->segments[port->tagged.v[i]].vlan);
    out->failed |= b.failed;
    csv_field(out, buf_done(&b));
}

static void power_fields(struct buf *out, const struct port_row *row)
{
    const double port_class = row->port->group ? row->port->group->poe_class : RT_NOT_GIVEN;
    csv_number(out, port_class, 0);
    csv_number(out, row->feed ? (double)row->feed->class_asked : RT_NOT_GIVEN, 0);
    csv_number(out, row->feed && row->feed->class_granted >= 0 ? (double)row->feed->class_granted : RT_NOT_GIVEN, 0);
    csv_number(out, row->feed ? row->feed->drawn_w : RT_NOT_GIVEN, 1);
}

static void port_fields(struct buf *out, const struct port_map *map, const struct port_row *row)
{
    const struct l2_port *port = row->port;
    const bool is_untagged = port->untagged != NO_REF;
    csv_field(out, map->h->equipment.v[port->equipment].id);
    csv_number(out, port->number, 0);
    csv_field(out, port->group ? port->group->medium : STR(""));
    csv_number(out, port->group ? port->group->speed_mbps : RT_NOT_GIVEN, 0);
    csv_field(out, str_from(port_mode_name(port->mode)));
    csv_field(out, port->cable == NO_REF ? STR("") : map->h->cables.v[port->cable].id);
    csv_field(out, row->far_id);
    field_count(out, row->far_number);
    csv_field(out, row->far_room);
    csv_field(out, is_untagged ? map->h->segments.v[port->untagged].id : STR(""));
    field_count(out, is_untagged ? map->l2->plan->segments[port->untagged].vlan : 0.0);
    tagged_field(out, map, port);
    field_yes(out, port->towards_gateway);
    csv_number(out, row->link && row->link->speed_mbps > 0.0 ? row->link->speed_mbps : RT_NOT_GIVEN, 0);
    power_fields(out, row);
    field_yes(out, port->number_chosen);
    field_yes(out, port->setting_given);
    csv_field(out, end_label_line(out->arena, row->label));
    csv_end_row(out);
}

void port_map_write_csv(struct buf *out, const struct port_map *map)
{
    buf_text(out, "equipment,port,plug,port_mbps,mode,cable,leads_to,leads_to_port,leads_to_room,untagged_segment,"
                  "untagged_vlan,tagged,towards_gateway,link_mbps,port_class,class_asked,class_granted,drawn_w,"
                  "number_chosen,setting_given,label\r\n");
    for (uint32_t i = 0; i < map->rows.n; i++)
        port_fields(out, map, &map->rows.v[i]);
}

/* ---- labels ---- */

static void add_label(port_labels *out, enum label_kind kind, struct str at, struct str room, struct end_label words)
{
    out->v[out->n++] = (struct port_label){ kind, at, room, words };
}

static void label_cable_end(struct arena *a, const struct port_map *map, uint32_t cable, bool at_from, bool is_outlet,
                            port_labels *out)
{
    const struct cable *c = &map->h->cables.v[cable];
    const struct cable_end *end = at_from ? &c->from : &c->to;
    bool outdoors;
    if (!is_outlet || cable_has_outlet(map->h, c, at_from, &outdoors))
        add_label(out, is_outlet ? LABEL_OUTLET : LABEL_CABLE_END, end->what, end_label_room(map->h, end),
                  end_label_of_cable(a, map->h, cable, at_from, map->numbers[cable]));
}

bool port_map_labels(struct arena *a, const struct port_map *map, port_labels *out)
{
    const uint32_t n_cables = map->h->cables.n;
    *out = (port_labels){ .v = ARENA_ARRAY(a, struct port_label, 4 * (size_t)n_cables + map->rows.n) };
    if (!out->v)
        return false;
    for (int outlets = 0; outlets < 2; outlets++)
        for (uint32_t c = 0; c < n_cables; c++)
            for (int end = 0; end < 2; end++)
                label_cable_end(a, map, c, end == 0, outlets == 1, out);
    for (uint32_t i = 0; i < map->rows.n; i++) {
        const struct cable_end here = { .equipment = map->rows.v[i].port->equipment, .device = NO_REF };
        add_label(out, LABEL_PORT, map->h->equipment.v[here.equipment].id, end_label_room(map->h, &here),
                  map->rows.v[i].label);
    }
    for (uint32_t i = 0; i < out->n; i++)
        if (!out->v[i].words.name.n || !out->v[i].words.far.n) /* a text that found no memory */
            return false;
    return true;
}

void labels_write_csv(struct buf *out, const struct port_map *map)
{
    static const char *const KINDS[] = {
        [LABEL_CABLE_END] = "cable", [LABEL_OUTLET] = "outlet", [LABEL_PORT] = "port"
    };
    port_labels labels;
    buf_text(out, "what,at,room,first_line,second_line\r\n");
    if (!port_map_labels(out->arena, map, &labels))
        out->failed = true;
    for (uint32_t i = 0; i < labels.n && !out->failed; i++) {
        const struct port_label *l = &labels.v[i];
        csv_field(out, str_from(KINDS[l->kind]));
        csv_field(out, l->at);
        csv_field(out, l->room);
        csv_field(out, l->words.name);
        csv_field(out, l->words.far);
        csv_end_row(out);
    }
}
