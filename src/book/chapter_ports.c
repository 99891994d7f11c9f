/* The port map of everything that has ports, and what stands where in cabinets and on walls. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "book/wires_int.h"

enum { FEW_PORTS = 3 };

static const struct flow_column PORTS[] = {
    { "port", 0.0, FLOW_LEFT },      { "cable and where it leads", 56.0, FLOW_LEFT },
    { "untagged", 20.0, FLOW_LEFT }, { "tagged", 30.0, FLOW_LEFT },
    { "power", 22.0, FLOW_LEFT },    { "speed", 16.0, FLOW_LEFT },
};

/* ---- one port ---- */

static struct str segment_words(struct book *b, uint32_t segment)
{
    return book_text(b, "%u %.*s", b->draw.ports->l2->plan->segments[segment].vlan,
                     STR_ARG(b->h->segments.v[segment].id));
}

/* All segments that are not the untagged one, in one word. */
static struct str tagged_words(struct book *b, const struct l2_port *port)
{
    struct buf w = { .arena = b->arena };
    if (port->tagged.n > 2 && port->tagged.n + (port->untagged != NO_REF) == b->h->segments.n)
        return port->untagged == NO_REF ? STR("all") : STR("all the others");
    for (uint32_t i = 0; i < port->tagged.n; i++)
        buf_printf(&w, "%s%u", i ? ", " : "", b->draw.ports->l2->plan->segments[port->tagged.v[i]].vlan);
    return w.failed || !w.n ? STR("") : buf_done(&w);
}

static struct str leads_words(struct book *b, const struct port_row *row)
{
    struct buf w = { .arena = b->arena };
    buf_str(&w, row->label.far);
    if (row->port->towards_gateway)
        buf_text(&w, "; the way to the gateway");
    if (row->port->rests)
        buf_text(&w, "; rests until the first way fails");
    if (row->port->number_chosen)
        buf_char(&w, '*');
    return w.failed ? STR("") : buf_done(&w);
}

static struct flow_cell power_cell(struct book *b, const struct power_feed *f)
{
    if (!f)
        return cell(STR(""));
    if (f->class_granted >= f->class_asked)
        return cell(book_text(b, "class %d, %.1f W", f->class_granted, f->drawn_w));
    struct flow_cell wrong =
        cell(f->class_granted < 0
                 ? book_text(b, "asks class %d, stays dark: %s", f->class_asked, power_limit_words(f->limit))
                 : book_text(b, "asks class %d, gets %d: %.1f W", f->class_asked, f->class_granted, f->drawn_w));
    wrong.is_accent = true;
    return wrong;
}

static struct str speed_words(struct book *b, const struct wire_link *link)
{
    if (!link)
        return STR("");
    if (!link->is_known)
        return STR("not known");
    if (!(link->speed_mbps > 0.0))
        return STR("no link");
    return isfinite(link->speed_mbps) ? port_speed_words(b->arena, link->speed_mbps) : STR("");
}

static void write_port(struct book *b, const struct port_row *row)
{
    const struct l2_port *port = row->port;
    const struct flow_cell cells[] = {
        cell_strong(row->label.name),
        cell(leads_words(b, row)),
        cell(port->untagged == NO_REF ? STR("") : segment_words(b, port->untagged)),
        cell(tagged_words(b, port)),
        power_cell(b, row->feed),
        cell(speed_words(b, row->link)),
    };
    flow_row(b->flow, cells);
}

/* The port after i, among those of a thing, that has no cable; end: there is none. */
static uint32_t next_free(const struct port_map *map, uint32_t i, uint32_t end)
{
    while (i < end && map->rows.v[i].port->mode != PORT_EMPTY)
        i++;
    return i;
}

/* Ports without a cable, in one row: "switch:12 to switch:28". */
static void write_free(struct book *b, uint32_t first, uint32_t end)
{
    struct buf w = { .arena = b->arena };
    const struct port_map *map = b->draw.ports;
    for (uint32_t i = next_free(map, first, end); i < end; i = next_free(map, i, end)) {
        uint32_t last = i;
        while (last + 1 < end && next_free(map, last + 1, end) == last + 1)
            last++;
        buf_printf(&w, "%s%.*s", w.n ? ", " : "", STR_ARG(map->rows.v[i].label.name));
        if (last > i)
            buf_printf(&w, "%s%.*s", last > i + 1 ? " to " : ", ", STR_ARG(map->rows.v[last].label.name));
        i = last + 1;
    }
    if (!w.n)
        return;
    const struct flow_cell cells[] = {
        cell_soft(STR("free")), cell_soft(book_text(b, "%.*s: switched off", STR_ARG(buf_done(&w)))),
        cell(STR("")),          cell(STR("")),
        cell(STR("")),          cell(STR("")),
    };
    flow_row(b->flow, cells);
}

/* ---- what has ports ---- */

static struct str part_of(struct book *b, uint32_t equipment)
{
    const uint32_t part = b->h->equipment.v[equipment].part.i;
    if (part == NO_REF)
        return STR("part left open");
    return b->h->parts.list.v[part].says.n ? b->h->parts.list.v[part].says : b->h->parts.list.v[part].id;
}

/* "Porter 4 Fast, cupboard under the stairs.  3 of 7 ports are in use.  It feeds at most 61.2 of 150 W, 32 W in use." */
static void write_head(struct book *b, uint32_t equipment, uint32_t first, uint32_t end)
{
    const struct cable_end here = { .equipment = equipment, .device = NO_REF };
    const struct str room = end_label_room(b->h, &here), part = part_of(b, equipment);
    const struct power_source *source = power_source_of(b->ev->power, equipment);
    uint32_t used = 0;
    for (uint32_t i = first; i < end; i++)
        used += b->draw.ports->rows.v[i].port->mode != PORT_EMPTY;
    struct buf w = { .arena = b->arena };
    buf_printf(&w, "%.*s%s%.*s.  %u of %u ports are in use.", STR_ARG(part), room.n ? ", " : "", STR_ARG(room), used,
               end - first);
    if (source && source->n_feeds && is_given(source->budget_w))
        buf_printf(
            &w, "  It feeds %u over their cables: %.1f W in use, %.1f W when all are at full, of %.0f W that it has.",
            source->n_feeds, source->typical_w, source->worst_w, source->budget_w);
    else if (source && source->n_feeds)
        buf_printf(
            &w,
            "  It feeds %u over their cables: %.1f W in use, %.1f W when all are at full; how much it has is not "
            "said.",
            source->n_feeds, source->typical_w, source->worst_w);
    flow_text(b->flow, "%.*s", STR_ARG(buf_done(&w)));
}

static void write_table(struct book *b, uint32_t equipment, uint32_t first, uint32_t end)
{
    const struct str id = b->h->equipment.v[equipment].id, words = equipment_words(b->h, equipment);
    const char *to = book_text(b, "ports-%.*s", STR_ARG(id)).p;
    if (str_eq(id, words))
        flow_section(b->flow, to, "%.*s", STR_ARG(id));
    else
        flow_section(b->flow, to, "%.*s: %.*s", STR_ARG(id), STR_ARG(words));
    write_head(b, equipment, first, end);
    flow_table(b->flow, PORTS, RT_COUNT(PORTS));
    for (uint32_t i = first; i < end; i++)
        if (b->draw.ports->rows.v[i].port->mode != PORT_EMPTY)
            write_port(b, &b->draw.ports->rows.v[i]);
    write_free(b, first, end);
}

/* Things of few ports share a table, unless there is to tell what they feed. */
static bool is_small(const struct book *b, uint32_t equipment)
{
    const uint32_t *first = b->draw.ports->l2->first_port, n = first[equipment + 1] - first[equipment];
    const struct power_source *source = power_source_of(b->ev->power, equipment);
    return n == 1 || (n <= FEW_PORTS && n && !(source && source->n_feeds));
}

static void write_small(struct book *b)
{
    const uint32_t *first = b->draw.ports->l2->first_port;
    const struct port_map *map = b->draw.ports;
    bool any = false;
    for (uint32_t e = 0; e < b->h->equipment.n; e++) {
        if (!is_small(b, e))
            continue;
        if (!any) {
            flow_section(b->flow, "ports-few", "Things with few ports");
            flow_table(b->flow, PORTS, RT_COUNT(PORTS));
        }
        any = true;
        for (uint32_t i = first[e]; i < first[e + 1]; i++)
            if (map->rows.v[i].port->mode != PORT_EMPTY)
                write_port(b, &map->rows.v[i]);
        write_free(b, first[e], first[e + 1]);
    }
}

static void write_vlans(struct book *b)
{
    struct buf list = { .arena = b->arena };
    for (uint32_t i = 0; i < b->h->segments.n; i++)
        buf_printf(&list, "%s%u %.*s", i ? ", " : "", b->draw.ports->l2->plan->segments[i].vlan,
                   STR_ARG(b->h->segments.v[i].id));
    if (list.n && !list.failed)
        flow_text(b->flow, "The numbers of the segments (IEEE 802.1Q): %.*s.", STR_ARG(buf_done(&list)));
}

/* ---- cabinets and walls ---- */

static struct str front_words(struct book *b, const struct front *f)
{
    const struct str room = f->room != NO_REF    ? house_room_name(b->h, f->room)
                            : f->floor != NO_REF ? install_floor_name(b->h, f->floor)
                                                 : STR("");
    struct buf w = { .arena = b->arena };
    if (f->cabinet != NO_REF)
        buf_printf(&w, "%.*s", STR_ARG(equipment_words(b->h, f->cabinet)));
    else
        buf_printf(&w, "wall");
    if (room.n)
        buf_printf(&w, ", %.*s", STR_ARG(room));
    if (f->rack_units)
        buf_printf(&w, "; %u of %u units free", f->units_free, f->rack_units);
    return w.failed ? STR("") : buf_done(&w);
}

static struct str held_words(struct book *b, const struct front *f)
{
    struct buf w = { .arena = b->arena };
    for (uint32_t i = 0; i < f->stands.n; i++) {
        const struct stand *t = &f->stands.v[i];
        const struct str id = t->kind == STAND_EQUIPMENT  ? b->h->equipment.v[t->which].id
                              : t->kind == STAND_DEVICE   ? b->h->devices.v[t->which].id
                              : t->kind == STAND_LINE_BOX ? STR("the provider's box")
                                                          : STR("");
        if (!id.n)
            continue;
        buf_printf(&w, "%s%.*s", w.n ? ", " : "", STR_ARG(id));
        if (!t->fits)
            buf_text(&w, " (no room for it)");
        else if (t->unit)
            buf_printf(&w, " (unit %u)", t->unit);
    }
    return w.failed || !w.n ? STR("nothing yet") : buf_done(&w);
}

static struct str outlet_words(struct book *b, const struct front *f)
{
    struct buf w = { .arena = b->arena };
    if (f->n_strip)
        buf_printf(&w, "one outlet, a strip of %u", f->n_strip);
    if (f->n_battery)
        buf_printf(&w, "%s%u on the battery's own", w.n ? "; " : "", f->n_battery);
    return w.failed || !w.n ? STR("none") : buf_done(&w);
}

static struct str air_words(struct book *b, const struct front *f)
{
    const struct cabinet_heat *c = f->heat;
    if (!c)
        return f->heat_w > 0.0 ? book_text(b, "up to %.0f W, in open air", f->heat_w) : STR("none");
    if (!is_given(c->rise_k))
        return book_text(b, "not known: %.*s", STR_ARG(c->missing));
    struct buf w = { .arena = b->arena };
    buf_printf(&w, "%.0f W make it %.1f K warmer than the room as it is (%.*s); closed %.1f K, with slots %.1f K; ",
               c->heat_w, c->air_k, STR_ARG(b->h->equipment.v[f->cabinet].air), c->rise_k, c->vented_k);
    if (c->flow_m3_per_h > 0.0)
        buf_printf(&w, "a fan of %.0f m\302\263/h keeps it to %.0f K", c->flow_m3_per_h, CABINET_RISE_K);
    else
        buf_text(&w, "no fan is needed");
    return w.failed ? STR("") : buf_done(&w);
}

static bool is_cabinet(const struct draw_subject *s)
{
    static const struct str CABINET = { "cabinet-", 8 };
    return s->name.n > CABINET.n && memcmp(s->name.p, CABINET.p, CABINET.n) == 0;
}

/* What hangs on a wall by itself is told by its heights. */
static enum rt_code draw_cabinets(struct book *b, struct rt_problems *p)
{
    struct draw_subject *v;
    uint32_t n, drawn = 0, n_cabinets = 0;
    RT_TRY(book_sheets_find(b, DRAW_CABINET, NO_REF, &v, &n, p));
    for (uint32_t i = 0; i < n; i++)
        n_cabinets += is_cabinet(&v[i]);
    if (n_cabinets)
        flow_soft(b->flow, "Each cabinet is drawn on a page of its own, with the order of its sockets.");
    for (uint32_t i = 0; i < n; i++)
        if (is_cabinet(&v[i]))
            RT_TRY(book_sheet(b, v[i], drawn++ ? NULL : "cabinet-sheets", STR("Cabinets, drawn"), p));
    return RT_OK;
}

static enum rt_code write_fronts(struct book *b, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "where", 36.0, FLOW_LEFT },
                                                  { "what stands there, from the top", 54.0, FLOW_LEFT },
                                                  { "mains", 28.0, FLOW_LEFT },
                                                  { "heat and air, all at full", 50.0, FLOW_LEFT } };
    const struct front_plan *fronts = b->draw.fronts;
    flow_section(b->flow, "cabinets", "Cabinets and walls");
    if (!fronts->n) {
        flow_text(b->flow, "There is no cabinet, and no wall where things of the network hang together.");
        return RT_OK;
    }
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < fronts->n; i++) {
        const struct front *f = &fronts->v[i];
        const struct flow_cell cells[] = { cell_strong(front_words(b, f)), cell(held_words(b, f)),
                                           cell(outlet_words(b, f)), cell(air_words(b, f)) };
        flow_row(b->flow, cells);
    }
    return draw_cabinets(b, p);
}

/* Cabinets first: while a page of theirs waits, the tables fill the one before it. */
enum rt_code chapter_ports(struct book *b, struct rt_problems *p)
{
    const uint32_t *first = b->draw.ports->l2->first_port;
    flow_chapter(b->flow, "ports", "Ports and cabinets");
    RT_TRY(write_fronts(b, p));
    flow_section(b->flow, "ports-map", "The port map");
    if (!b->draw.ports->rows.n) {
        flow_text(b->flow, "Nothing in this house has a port.");
        return RT_OK;
    }
    flow_text(b->flow, "What is in each port, and how the port is to be set.");
    flow_soft(b->flow,
              "The port's name is what its label says.  Untagged: the segment of frames that bear no number, as "
              "those of a single device do.  Tagged: the numbers of the segments that pass besides.  What is "
              "free is switched off, so that nobody gets in by plugging in.  Power: its class, and the watts "
              "at the port when all is at full.  *: the port is our choice; any other that is alike will do.");
    write_vlans(b);
    for (uint32_t e = 0; e < b->h->equipment.n; e++)
        if (first[e + 1] > first[e] && !is_small(b, e))
            write_table(b, e, first[e], first[e + 1]);
    write_small(b);
    return RT_OK;
}
