/* Every part with two ports or more as its front: sockets in the order they stand on it, and under each what a hand needs to know that
 * plugs, sets or looks for it.  What a port is says its outline: plain, hatched, double or dashed. */
#include "draw/port_sheet.h"

#include <cairo.h>
#include <math.h>

#include "base/units.h"
#include "draw/sheet_text.h"
#include "promise/port_map.h"
#include "promise/wire_words.h"

#define LEFT_MM 15.0
#define TOP_MM 36.0
#define FOOT_MM 42.0
#define COLUMN_MM 32.0 /* at least, for one port */
#define TEXT_APART_MM 2.5
#define HEAD_MM 10.5 /* name of the part and of its kinds of ports */
#define MORE_MM 5.0  /* the same of a further row: kinds of ports alone */
#define FRONT_MM 10.0
#define STRIP_APART_MM 5.0
#define BESIDE_MM 10.0 /* between parts that stand side by side */
#define SOCKET_W_MM 9.0
#define SOCKET_H_MM 6.4
#define FRONT_PAD_MM 1.4
#define MARK_MM 1.3
#define HATCH_MM 1.1

/* One printed row of sockets. */
struct strip {
    uint32_t equipment;
    uint32_t first, n; /* of port_map.rows */
    bool is_begin;     /* it bears the part's name */
    double w_mm, h_mm; /* its name, if that is longer */
    double x_mm, y_mm; /* on its page */
};

struct port_page {
    uint32_t first, n; /* of the strips */
};

struct port_sheets {
    struct sheet *s;
    const struct port_map *map;
    double column_mm;
    uint32_t per_strip;
    VEC(struct strip) strips;
    VEC(struct port_page) pages;
};

/* ---- what stands under a socket ---- */

static struct str words_of_segment(struct sheet *s, const struct port_map *map, uint32_t segment)
{
    return sheet_text(s, "%.*s %u", STR_ARG(map->h->segments.v[segment].id), map->l2->plan->segments[segment].vlan);
}

static void segment_lines(struct text_block *b, const struct port_map *map, const struct l2_port *port)
{
    struct sheet *s = b->s;
    if (port->untagged != NO_REF) {
        const struct str one = words_of_segment(s, map, port->untagged);
        text_block_add(b, TEXT_CELL, INK_LINE, sheet_text(s, "untagged: %.*s", STR_ARG(one)));
    }
    if (!port->tagged.n)
        return;
    struct buf all = { .arena = s->arena };
    buf_text(&all, "tagged: ");
    for (uint32_t i = 0; i < port->tagged.n; i++) {
        buf_text(&all, i ? ", " : "");
        buf_str(&all, words_of_segment(s, map, port->tagged.v[i]));
    }
    s->failed |= all.failed;
    text_block_add(b, TEXT_CELL, INK_LINE, all.failed ? STR("") : buf_done(&all));
}

static void power_line(struct text_block *b, const struct power_feed *f)
{
    struct sheet *s = b->s;
    if (!f)
        return;
    if (f->class_granted < 0)
        text_block_add(b, TEXT_CELL, INK_ACCENT,
                       sheet_text(s, "asks class %d, stays dark: %s", f->class_asked, power_limit_words(f->limit)));
    else if (f->class_granted < f->class_asked)
        text_block_add(b, TEXT_CELL, INK_ACCENT,
                       sheet_text(s, "asks class %d, gets %d: %.1f W", f->class_asked, f->class_granted, f->drawn_w));
    else
        text_block_add(b, TEXT_CELL, INK_LINE, sheet_text(s, "feeds class %d: %.1f W", f->class_granted, f->drawn_w));
}

static void speed_line(struct text_block *b, const struct port_row *row)
{
    struct sheet *s = b->s;
    if (!row->link)
        return;
    if (!(row->link->speed_mbps > 0.0)) {
        text_block_add(b, TEXT_CELL, INK_ACCENT, STR("no link"));
        return;
    }
    if (isfinite(row->link->speed_mbps))
        text_block_add(b, TEXT_CELL, INK_LINE, port_speed_words(s->arena, row->link->speed_mbps));
}

/* Where it leads to in the end, if the cable's other end only passes on. */
static void onward_line(struct text_block *b, const struct port_map *map, const struct port_row *row)
{
    const struct cable *c = &map->h->cables.v[row->port->cable];
    if (!row->far_id.n || str_eq(row->far_id, c->from.what) || str_eq(row->far_id, c->to.what))
        return;
    const struct str far = end_label_port(b->s->arena, row->far_id, row->far_number);
    text_block_add(b, TEXT_CELL, INK_LINE,
                   sheet_text(b->s, "and on to %.*s, %.*s", STR_ARG(far), STR_ARG(row->far_room)));
}

static void fill_block(struct text_block *b, const struct port_map *map, const struct port_row *row)
{
    const struct l2_port *port = row->port;
    if (port->mode == PORT_LINE) {
        text_block_add(b, TEXT_CELL_B, INK_LINE, STR("internet line"));
        return;
    }
    if (port->cable == NO_REF) {
        text_block_add(b, TEXT_CELL, INK_LINE, port->mode == PORT_EMPTY ? STR("free: switch off") : STR("free"));
    } else {
        text_block_add(b, TEXT_CELL_B, INK_LINE, row->cable_end.name);
        text_block_add(b, TEXT_CELL, INK_LINE, row->cable_end.far);
        onward_line(b, map, row);
    }
    segment_lines(b, map, port);
    power_line(b, row->feed);
    speed_line(b, row);
    if (port->number_chosen)
        text_block_add(b, TEXT_CELL, INK_SOFT, STR("our choice"));
    if (port->setting_given)
        text_block_add(b, TEXT_CELL, INK_SOFT, STR("set in the file"));
}

static struct text_block block_of(const struct port_sheets *p, uint32_t row)
{
    struct text_block b = { .s = p->s, .w_mm = p->column_mm - TEXT_APART_MM };
    fill_block(&b, p->map, &p->map->rows.v[row]);
    return b;
}

/* ---- rows of sockets on pages ---- */

/* What the part is, where it stands, what it feeds. */
static struct str head_words(struct port_sheets *p, uint32_t equipment)
{
    struct sheet *s = p->s;
    const struct house *h = p->map->h;
    const struct equipment *e = &h->equipment.v[equipment];
    const struct part *part = &h->parts.list.v[e->part.i];
    const struct cable_end here = { .equipment = equipment, .device = NO_REF };
    const struct str room = end_label_room(h, &here);
    struct buf soft = { .arena = s->arena };
    if (e->says.n)
        buf_printf(&soft, "%.*s, ", STR_ARG(e->says));
    buf_str(&soft, part->says.n ? part->says : part->id);
    if (room.n)
        buf_printf(&soft, ", %.*s", STR_ARG(room));
    double fed_w = 0.0;
    for (uint32_t i = p->map->l2->first_port[equipment]; i < p->map->l2->first_port[equipment + 1]; i++)
        fed_w += p->map->rows.v[i].feed ? given_or(p->map->rows.v[i].feed->drawn_w, 0.0) : 0.0;
    if (is_given(part->poe_budget_w))
        buf_printf(&soft, "; its ports feed up to %.1f of %.4g W", fed_w, part->poe_budget_w);
    s->failed |= soft.failed;
    return soft.failed ? STR("") : buf_done(&soft);
}

#define NAME_APART_MM 3.0

static double head_mm(struct port_sheets *p, uint32_t equipment)
{
    return pen_measure(&p->s->pen, TEXT_NOTE_HEAD, p->map->h->equipment.v[equipment].id).w_mm + NAME_APART_MM +
           pen_measure(&p->s->pen, TEXT_NOTE, head_words(p, equipment)).w_mm;
}

static void add_strips(struct port_sheets *p, uint32_t equipment)
{
    const uint32_t first = p->map->l2->first_port[equipment], end = p->map->l2->first_port[equipment + 1];
    if (end - first < 2)
        return; /* what is at its cable's other end tells all of it */
    const uint32_t n_strips = (end - first + p->per_strip - 1) / p->per_strip;
    const uint32_t each = (end - first + n_strips - 1) / n_strips; /* rows of like length */
    for (uint32_t i = first; i < end && !p->s->failed; i += each) {
        struct strip strip = {
            .equipment = equipment, .first = i, .n = each < end - i ? each : end - i, .is_begin = i == first
        };
        double text_mm = 0.0;
        for (uint32_t k = 0; k < strip.n; k++) {
            const struct text_block b = block_of(p, strip.first + k);
            text_mm = fmax(text_mm, text_block_mm(&b));
        }
        strip.w_mm = fmax(strip.n * p->column_mm, strip.is_begin ? head_mm(p, equipment) : 0.0);
        strip.h_mm = (strip.is_begin ? HEAD_MM : MORE_MM) + FRONT_MM + 1.5 + text_mm + STRIP_APART_MM;
        p->s->failed |= !VEC_PUSH(p->s->arena, &p->strips, strip);
    }
}

/* One below the other; a small part beside the one before it where both are whole and there is room. */
static void paginate(struct port_sheets *p)
{
    const double room_mm = p->s->h_mm - TOP_MM - FOOT_MM, right_mm = p->s->w_mm - LEFT_MM;
    double y_mm = 0.0, row_mm = 0.0, x_mm = LEFT_MM;
    struct port_page page = { 0 };
    for (uint32_t i = 0; i < p->strips.n && !p->s->failed; i++) {
        struct strip *t = &p->strips.v[i];
        const bool is_beside =
            page.n && t->is_begin && x_mm + t->w_mm <= right_mm && y_mm + t->h_mm - STRIP_APART_MM <= room_mm;
        if (!is_beside) {
            y_mm += row_mm;
            row_mm = 0.0;
            x_mm = LEFT_MM;
        }
        if (page.n && y_mm + t->h_mm - STRIP_APART_MM > room_mm) {
            p->s->failed |= !VEC_PUSH(p->s->arena, &p->pages, page);
            page = (struct port_page){ .first = i };
            y_mm = 0.0;
        }
        t->x_mm = x_mm;
        t->y_mm = TOP_MM + y_mm;
        x_mm += t->w_mm + BESIDE_MM;
        row_mm = fmax(row_mm, t->h_mm);
        page.n++;
    }
    if (page.n)
        p->s->failed |= !VEC_PUSH(p->s->arena, &p->pages, page);
}

static struct port_sheets make_on(struct sheet *s, uint32_t paper)
{
    struct port_sheets p = { .s = s, .map = s->options->ports };
    sheet_take_paper(s, paper);
    p.per_strip = (uint32_t)((s->w_mm - 2.0 * LEFT_MM) / COLUMN_MM);
    p.column_mm = (s->w_mm - 2.0 * LEFT_MM) / p.per_strip;
    for (uint32_t e = 0; e < p.map->h->equipment.n && !s->failed; e++)
        add_strips(&p, e);
    paginate(&p);
    return p;
}

/* On one small sheet, else on as many large ones as it takes. */
static struct port_sheets make_pages(struct sheet *s)
{
    const struct port_sheets small = make_on(s, 0);
    return small.pages.n <= 1 ? small : make_on(s, 1);
}

bool port_pages(struct sheet *s, str_list *names)
{
    if (!s->options->ports)
        return true;
    const struct port_sheets p = make_pages(s);
    names->v = ARENA_ARRAY(s->arena, struct str, p.pages.n);
    for (uint32_t i = 0; names->v && i < p.pages.n; i++)
        names->v[names->n++] = sheet_text(s, "ports-%u", i + 1);
    return names->v && !s->failed;
}

void port_page_lay_out(struct sheet *s) { (void)make_pages(s); }

/* ---- marks ---- */

static void hatch(struct pen *pen, struct draw_box box)
{
    cairo_save(pen->cr);
    pen_path_box(pen, box);
    cairo_clip(pen->cr);
    pen_ink(pen, INK_LINE);
    for (double at = -box.h_mm; at < box.w_mm; at += HATCH_MM)
        pen_line(pen, (struct vec2){ box.x_mm + at, box.y_mm + box.h_mm },
                 (struct vec2){ box.x_mm + at + box.h_mm, box.y_mm }, 0.12);
    cairo_restore(pen->cr);
}

/* Up: towards the gateway; down: to further sockets. */
static void arrow(struct pen *pen, struct vec2 at, bool is_up)
{
    const double k = is_up ? -1.0 : 1.0;
    const struct vec2 points[3] = { { at.x - MARK_MM, at.y - k * MARK_MM * 0.8 },
                                    { at.x + MARK_MM, at.y - k * MARK_MM * 0.8 },
                                    { at.x, at.y + k * MARK_MM } };
    pen_path(pen, points, 3, true);
    pen_ink(pen, INK_LINE);
    cairo_fill(pen->cr);
}

enum socket_look { LOOK_ACCESS, LOOK_TAGGED, LOOK_LINE, LOOK_FREE };

static enum socket_look look_of(const struct l2_port *port)
{
    if (port->mode == PORT_LINE)
        return LOOK_LINE;
    if (port->cable == NO_REF)
        return LOOK_FREE;
    return port->tagged.n ? LOOK_TAGGED : LOOK_ACCESS;
}

static void draw_socket(struct pen *pen, struct draw_box box, enum socket_look look, bool feeds)
{
    pen_path_box(pen, box);
    pen_ink(pen, INK_SHEET);
    cairo_fill(pen->cr);
    if (look == LOOK_TAGGED)
        hatch(pen, box);
    pen_ink(pen, INK_LINE);
    if (look == LOOK_FREE)
        pen_dashes(pen, 0.8, 0.6);
    pen_path_box(pen, box);
    cairo_set_line_width(pen->cr, 0.3);
    cairo_stroke(pen->cr);
    pen_dashes(pen, 0, 0);
    if (look == LOOK_LINE) {
        pen_path_box(pen, (struct draw_box){ box.x_mm + 0.8, box.y_mm + 0.8, box.w_mm - 1.6, box.h_mm - 1.6 });
        cairo_stroke(pen->cr);
    }
    if (feeds)
        pen_line(pen, (struct vec2){ box.x_mm, box.y_mm + box.h_mm + 0.6 },
                 (struct vec2){ box.x_mm + box.w_mm, box.y_mm + box.h_mm + 0.6 }, 1.0);
}

/* ---- a row ---- */

static void write_head(struct port_sheets *p, const struct strip *strip)
{
    struct sheet *s = p->s;
    const struct str id = p->map->h->equipment.v[strip->equipment].id;
    const double x = sheet_put(s, TEXT_NOTE_HEAD, INK_LINE, id, strip->x_mm, strip->y_mm);
    sheet_put(s, TEXT_NOTE, INK_SOFT, head_words(p, strip->equipment), x + NAME_APART_MM, strip->y_mm + 0.6);
}

static struct str plug_words(struct str medium)
{
    return str_is(medium, "sfp") ? STR("SFP") : str_is(medium, "sfp_plus") ? STR("SFP+") : medium;
}

/* Over the first port of each kind in the row. */
static void write_groups(struct port_sheets *p, const struct strip *strip, double y_mm)
{
    struct sheet *s = p->s;
    const struct port_group *last = NULL;
    double free_from = 0.0;
    for (uint32_t i = 0; i < strip->n; i++) {
        const struct port_group *g = p->map->rows.v[strip->first + i].port->group;
        const double x = strip->x_mm + i * p->column_mm;
        if (!g || g == last)
            continue;
        struct buf b = { .arena = s->arena };
        last = g;
        buf_str(&b, plug_words(g->medium));
        buf_text(&b, ", ");
        buf_str(&b, port_speed_words(s->arena, g->speed_mbps));
        if (g->uplink)
            buf_text(&b, ", uplink");
        if (is_given(g->poe_class))
            buf_printf(&b, ", feeds up to class %.0f", g->poe_class);
        s->failed |= b.failed;
        if (x >= free_from && !b.failed) /* else the words before it are too long */
            free_from = sheet_put(s, TEXT_KEY, INK_SOFT, buf_done(&b), x, y_mm) + 2.0;
    }
}

static void draw_port(struct port_sheets *p, uint32_t row, double x, double y_mm)
{
    struct sheet *s = p->s;
    const struct port_row *r = &p->map->rows.v[row];
    const struct draw_box box = { x + FRONT_PAD_MM, y_mm + FRONT_PAD_MM, SOCKET_W_MM, SOCKET_H_MM };
    draw_socket(&s->pen, box, look_of(r->port), r->feed && r->feed->class_granted >= 0);
    const struct str number = sheet_text(s, "%u", r->port->number);
    const struct text_size size = pen_measure(&s->pen, TEXT_TAG, number);
    sheet_put(s, TEXT_TAG, INK_LINE, number, box.x_mm + (box.w_mm - size.w_mm) / 2.0,
              box.y_mm + (box.h_mm - size.h_mm) / 2.0);
    const bool is_down =
        r->port->far_port != NO_REF && p->map->l2->ports.v[r->port->far_port].towards_gateway &&
        p->map->l2->first_port[r->port->far_equipment + 1] - p->map->l2->first_port[r->port->far_equipment] > 1;
    const struct vec2 mark = { box.x_mm + box.w_mm + 2.6, box.y_mm + box.h_mm / 2.0 };
    if (r->port->towards_gateway)
        arrow(&s->pen, mark, true);
    else if (is_down)
        arrow(&s->pen, mark, false);
    const struct text_block b = block_of(p, row);
    text_block_put(&b, x + FRONT_PAD_MM, y_mm + FRONT_MM + 1.5);
}

static void draw_strip(struct port_sheets *p, const struct strip *strip)
{
    struct pen *pen = &p->s->pen;
    if (strip->is_begin)
        write_head(p, strip);
    const double y_mm = strip->y_mm + (strip->is_begin ? HEAD_MM : MORE_MM);
    const double end_mm = strip->y_mm + strip->h_mm - STRIP_APART_MM;
    write_groups(p, strip, y_mm - 4.0);
    const struct draw_box front = { strip->x_mm, y_mm, strip->n * p->column_mm, FRONT_MM };
    pen_ink(pen, INK_LINE);
    pen_path_box(pen, front);
    cairo_set_line_width(pen->cr, 0.35);
    cairo_stroke(pen->cr);
    for (uint32_t i = 0; i < strip->n; i++) {
        const double x = strip->x_mm + i * p->column_mm;
        draw_port(p, strip->first + i, x, y_mm);
        pen_ink(pen, INK_HAIR);
        if (i)
            pen_line(pen, (struct vec2){ x, y_mm + FRONT_MM }, (struct vec2){ x, end_mm }, 0.15);
    }
}

/* ---- foot ---- */

static void write_key(struct sheet *s, double y_mm)
{
    static const struct {
        enum socket_look look;
        const char *says;
    } LOOKS[] = { { LOOK_ACCESS, "one segment, untagged" },
                  { LOOK_TAGGED, "several segments, tagged" },
                  { LOOK_LINE, "the internet line" },
                  { LOOK_FREE, "free" } };
    double x = LEFT_MM;
    for (size_t i = 0; i < RT_COUNT(LOOKS); i++) {
        draw_socket(&s->pen, (struct draw_box){ x, y_mm - 0.4, 5.0, 3.6 }, LOOKS[i].look, false);
        x = sheet_put(s, TEXT_KEY, INK_LINE, str_from(LOOKS[i].says), x + 6.5, y_mm) + 6.0;
    }
    y_mm += 6.5;
    x = LEFT_MM;
    draw_socket(&s->pen, (struct draw_box){ x, y_mm - 0.4, 5.0, 3.0 }, LOOK_ACCESS, true);
    x = sheet_put(s, TEXT_KEY, INK_LINE, STR("feeds what hangs on it"), x + 6.5, y_mm) + 6.0;
    arrow(&s->pen, (struct vec2){ x + MARK_MM, y_mm + 1.4 }, true);
    x = sheet_put(s, TEXT_KEY, INK_LINE, STR("to the gateway"), x + 4.0, y_mm) + 6.0;
    arrow(&s->pen, (struct vec2){ x + MARK_MM, y_mm + 1.4 }, false);
    sheet_put(s, TEXT_KEY, INK_LINE, STR("to further ports"), x + 4.0, y_mm);
    y_mm += 5.2;
    sheet_put(
        s, TEXT_KEY, INK_SOFT,
        STR("Bold: the cable, as on its label. Watts: the most, at the port. A number not marked 'our choice' is the "
            "house file's."),
        LEFT_MM, y_mm);
    sheet_put(s, TEXT_KEY, INK_SOFT,
              STR("VLANs follow from what hangs behind a port, where they are not set in the file."), LEFT_MM,
              y_mm + 3.6);
}

/* Cables that end at none of these ports, between things with one socket each. */
static void write_others(struct port_sheets *p, double y_mm)
{
    struct sheet *s = p->s;
    const struct layer2 *l2 = p->map->l2;
    struct buf b = { .arena = s->arena };
    for (uint32_t c = 0; c < p->map->h->cables.n; c++) {
        const struct cable *k = &p->map->h->cables.v[c];
        bool is_shown = false;
        for (uint32_t i = 0; i < p->map->rows.n; i++) {
            const uint32_t e = p->map->rows.v[i].port->equipment;
            is_shown |= p->map->rows.v[i].port->cable == c && l2->first_port[e + 1] - l2->first_port[e] > 1;
        }
        if (!is_shown)
            buf_printf(&b, "%s%.*s from %.*s to %.*s", b.n ? "; " : "On none of these: ", STR_ARG(k->id),
                       STR_ARG(k->from.what), STR_ARG(k->to.what));
    }
    s->failed |= b.failed;
    if (b.failed || !b.n)
        return;
    struct text_block t = { .s = s, .w_mm = s->w_mm - 2.0 * LEFT_MM };
    text_block_add(&t, TEXT_KEY, INK_LINE, buf_done(&b));
    text_block_put(&t, LEFT_MM, y_mm);
}

void port_page_paint(struct sheet *s)
{
    struct port_sheets p = make_pages(s);
    if (s->failed || s->subject.page >= p.pages.n)
        return;
    const struct port_page *page = &p.pages.v[s->subject.page];
    sheet_begin(s);
    for (uint32_t i = page->first; i < page->first + page->n; i++)
        draw_strip(&p, &p.strips.v[i]);
    write_key(s, s->h_mm - 34.0);
    if (s->subject.page + 1 == p.pages.n)
        write_others(&p, s->h_mm - 38.5);
    const struct sheet_words words = {
        .title = STR("Ports"),
        .head = STR("Where each port leads, what it carries and what it feeds"),
        .soft = STR("Each part from the front, its ports in the order of their numbers."),
        .drawing = p.pages.n > 1 ? sheet_text(s, "ports, %u of %u", s->subject.page + 1, p.pages.n) : STR("ports"),
    };
    sheet_finish(s, &words, NULL);
}
