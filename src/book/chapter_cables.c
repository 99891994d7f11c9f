/* The cable schedule: a list to tick, then each cable with its ends, its length, its way, what hangs on it and its test. */
#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "book/wires_int.h"
#include "data/cabling.h"

struct str counted(struct book *b, uint32_t n, const char *one, const char *many)
{
    return n ? book_text(b, "%u %s", n, n == 1 ? one : many) : book_text(b, "no %s", one);
}

bool cable_is_cord(const struct house *h, uint32_t cable)
{
    const uint32_t part = h->cables.v[cable].part.i;
    return part != NO_REF && h->parts.list.v[part].kind == PART_CORD;
}

/* ---- the order in which they stand here ---- */

/* New ones by phase, those without one first; what lies already last. */
static uint32_t group_of(const struct cable_book *c, uint32_t cable)
{
    const struct house *h = c->b->h;
    const uint32_t phase = c->b->bill->cable_phases[cable];
    return h->cables.v[cable].owned ? h->phases.n + 1 : phase == NO_REF ? 0 : phase + 1;
}

static bool put_in_order(struct cable_book *c)
{
    const struct house *h = c->b->h;
    uint32_t n = 0;
    c->order = ARENA_ARRAY(c->b->arena, uint32_t, h->cables.n);
    for (uint32_t group = 0; c->order && group < h->phases.n + 2; group++)
        for (uint32_t i = 0; i < h->cables.n; i++)
            if (group_of(c, i) == group)
                c->order[n++] = i;
    for (uint32_t i = 0; i < h->cables.n; i++)
        if (!h->cables.v[i].owned) {
            c->n_new++;
            c->n_cords_new += cable_is_cord(h, i);
        }
    return c->order;
}

struct str cable_group_words(struct cable_book *c, uint32_t i)
{
    const struct house *h = c->b->h;
    const uint32_t group = group_of(c, c->order[i]);
    if (group_of(c, c->order[0]) == group_of(c, c->order[h->cables.n - 1]))
        return STR("");
    if (group == h->phases.n + 1)
        return STR("There already");
    if (group == 0)
        return STR("To be laid");
    const struct phase *phase = &h->phases.v[group - 1];
    return book_text(c->b, "To be laid: %.*s", STR_ARG(phase->says.n ? phase->says : book_id_words(c->b, phase->id)));
}

/* The heading of a group, where there is more than one. */
static void write_group(struct cable_book *c, uint32_t i)
{
    const struct str words = cable_group_words(c, i);
    if (words.n && (i == 0 || group_of(c, c->order[i]) != group_of(c, c->order[i - 1])))
        flow_group(c->b->flow, "%.*s", STR_ARG(words));
}

/* ---- the list to tick ---- */

/* The first end is most often one of few switches, of which the port map tells where they are. */
static struct str short_end(struct cable_book *c, uint32_t cable, bool at_from)
{
    const struct cable *of = &c->b->h->cables.v[cable];
    const struct cable_end *end = at_from ? &of->from : &of->to;
    const unsigned number = end_label_number(end, at_from ? c->numbers[cable].from : c->numbers[cable].to);
    const struct str where = end_label_room(c->b->h, end), what = end_label_port(c->b->arena, end->what, number);
    return where.n && !at_from ? book_text(c->b, "%.*s, %.*s", STR_ARG(what), STR_ARG(where)) : what;
}

static struct str length_words(struct cable_book *c, uint32_t cable)
{
    const double length_m = bill_cut_m(c->plan, c->b->links, cable);
    return is_given(length_m) ? book_text(c->b, "%.1f", length_m) : STR("?");
}

/* What it carries at most. */
static struct str speed_words(struct cable_book *c, uint32_t cable)
{
    const struct wire_link *l = &c->b->links->v[cable];
    if (!l->is_known)
        return STR("not known");
    if (!(l->speed_mbps > 0.0))
        return STR("nothing");
    return isfinite(l->speed_mbps) ? port_speed_words(c->b->arena, l->speed_mbps) : STR("what its ends do");
}

/* What light may lose in fibre, if there is any; each cable by itself. */
static void write_light(struct cable_book *c)
{
    struct buf w = { .arena = c->b->arena };
    for (uint32_t i = 0; i < c->b->h->cables.n; i++) {
        const struct wire_link *l = &c->b->links->v[i];
        const struct cable_category *category = l->is_fibre ? cable_category_find(l->category) : NULL;
        const double most_db = category ? cable_loss_max_db(category, l->speed_mbps) : 0.0;
        if (most_db > 0.0)
            buf_printf(&w, "%s%.*s %.1f dB", w.n ? ", " : "", STR_ARG(c->b->h->cables.v[i].id), most_db);
    }
    if (w.n)
        flow_text(c->b->flow, "Fibre passes if light comes through both ways; it may lose %.*s.",
                  STR_ARG(buf_done(&w)));
}

static void write_list(struct cable_book *c)
{
    static const struct flow_column COLUMNS[] = {
        { "cable", 0.0, FLOW_LEFT },  { "from", 34.0, FLOW_LEFT },    { "to", 54.0, FLOW_LEFT },
        { "m", 10.0, FLOW_RIGHT },    { "carries", 17.0, FLOW_LEFT }, { "laid", 11.0, FLOW_LEFT },
        { "ended", 12.0, FLOW_LEFT }, { "tested", 12.0, FLOW_LEFT },
    };
    struct book *b = c->b;
    flow_section(b->flow, "cable-list", "All cables, to tick");
    flow_soft(b->flow, "Port numbers are those printed on the equipment; m: the cable as cut, without the cords at "
                       "its ends; ?: not known.  Where the things of the first column of ends stand is in the port "
                       "map.  The cable's name is what its label says at either end, and beneath it where the "
                       "other end is.");
    flow_text(b->flow, "A cable passes if all eight wires come through, in order and none shorted, if the tester shows "
                       "about its metres, and if the link comes up at what it carries.");
    write_light(c);
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->cables.n; i++) {
        const uint32_t cable = c->order[i];
        const struct cable *of = &b->h->cables.v[cable];
        struct flow_cell cells[RT_COUNT(COLUMNS)] = {
            cell_strong(of->id),
            cell(short_end(c, cable, true)),
            cell(short_end(c, cable, false)),
            cell(length_words(c, cable)),
            cell(speed_words(c, cable)),
            of->owned ? cell_soft(STR("there")) : cell_tick(),
            of->owned                    ? cell_soft(STR("there"))
            : cable_is_cord(b->h, cable) ? cell_soft(STR("cord"))
                                         : cell_tick(),
            cell_tick(),
        };
        write_group(c, i);
        flow_row(b->flow, cells);
    }
}

/* ---- one cable ---- */

/* The thing at the end that is further from the gateway; NO_REF: not joined to it. */
static uint32_t fed_thing(const struct cable_book *c, uint32_t cable)
{
    for (uint32_t i = 0; i < c->tree->n_things; i++)
        if (c->tree->parent_cable[i] == cable)
            return i;
    return NO_REF;
}

/* Things whose way to the gateway leads over this one. */
static uint32_t n_behind(const struct cable_book *c, uint32_t thing)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < c->tree->n_things; i++)
        for (uint32_t at = c->tree->parent[i]; at != NO_REF; at = c->tree->parent[at])
            if (at == thing) {
                n++;
                break;
            }
    return n;
}

static struct str thing_words(const struct house *h, uint32_t thing)
{
    return thing < h->equipment.n ? equipment_words(h, thing) : device_words(h, thing - h->equipment.n);
}

struct str cable_feeds_words(struct cable_book *c, uint32_t cable)
{
    const struct house *h = c->b->h;
    const uint32_t thing = fed_thing(c, cable);
    if (h->cables.v[cable].rests)
        return STR("a second way: it rests until the first fails");
    if (thing == NO_REF)
        return STR("leads to nothing that hangs on the gateway");
    const uint32_t n = n_behind(c, thing);
    const struct str words = thing_words(h, thing);
    if (!n)
        return book_text(c->b, "for %.*s", STR_ARG(words));
    return book_text(c->b, "for %.*s and %u more behind it", STR_ARG(words), n);
}

struct end_label cable_end_label(struct cable_book *c, uint32_t cable, bool at_from)
{
    return end_label_of_cable(c->b->arena, c->b->h, cable, at_from, c->numbers[cable]);
}

struct str cable_end_place(struct cable_book *c, uint32_t cable, bool at_from)
{
    const struct house *h = c->b->h;
    const struct cable *of = &h->cables.v[cable];
    const struct port_numbers ports = c->numbers[cable];
    const double cord_m = at_from ? of->cord_from_m : of->cord_to_m;
    const struct str place =
        install_end_words(c->b->arena, h, at_from ? &of->from : &of->to, at_from ? ports.from : ports.to);
    bool outdoors;
    const bool has_outlet = cable_has_outlet(h, of, at_from, &outdoors);
    struct str ending =
        has_outlet ? outdoors ? STR("; ends in a weatherproof socket") : STR("; ends in a socket") : STR("");
    if (cord_m > 0.0 && !cable_is_cord(h, cable))
        ending = book_text(c->b, "%.*s, then a cord of %g m", STR_ARG(ending), cord_m);
    return book_text(c->b, "%.*s%.*s", STR_ARG(place), STR_ARG(ending));
}

struct str cable_kind_words(struct cable_book *c, uint32_t cable)
{
    struct book *b = c->b;
    const struct routed_cable *r = &c->plan->cables[cable];
    const uint32_t part = b->bill->cable_parts[cable];
    const double length_m = bill_cut_m(c->plan, b->links, cable);
    struct buf w = { .arena = b->arena };
    if (b->h->cables.v[cable].part.i == NO_REF && part != NO_REF)
        buf_str(&w, b->h->parts.list.v[part].says);
    else
        buf_str(&w, install_kind_words(b->arena, b->h, cable));
    if (!is_given(length_m))
        buf_text(&w, "; length not known: measure before you cut");
    else if (cable_is_cord(b->h, cable))
        buf_printf(&w, "; %.1f m", length_m);
    else if (b->links->v[cable].is_fibre)
        buf_printf(&w, "; order %.1f m, ends fitted", length_m);
    else if (r->length_given || !(r->slack_m > 0.0))
        buf_printf(&w, "; cut %.1f m", length_m);
    else
        buf_printf(&w, "; cut %.1f m, %.1f m of it to spare at its ends", length_m, r->slack_m);
    return w.failed ? STR("") : buf_done(&w);
}

static struct str way_words(struct cable_book *c, uint32_t cable)
{
    struct buf w = { .arena = c->b->arena };
    const struct routed_cable *r = &c->plan->cables[cable];
    if (!r->is_routed)
        return r->why_not;
    for (uint32_t i = 0; i < c->in->cables[cable].steps.n; i++) {
        const struct str step = install_step_words(c->b->arena, c->in, cable, i);
        buf_printf(&w, "%s%u  %.*s", i ? "\n" : "", i + 1, STR_ARG(step));
    }
    return w.failed || !w.n ? STR("") : buf_done(&w);
}

static const struct power_feed *feed_over(const struct cable_book *c, uint32_t cable)
{
    const struct power_plan *power = c->b->ev->power;
    for (uint32_t i = 0; i < power->feeds.n; i++)
        for (uint32_t k = 0; k < power->feeds.v[i].way.n; k++)
            if (power->feeds.v[i].way.v[k].i == cable)
                return &power->feeds.v[i];
    return NULL;
}

/* "1 Gb/s by port of switch, 658.8 Mb/s needed; class 3, at most 12.5 W". */
struct str cable_carries_words(struct cable_book *c, uint32_t cable)
{
    struct book *b = c->b;
    const struct wire_link *l = &b->links->v[cable];
    const struct power_feed *f = feed_over(c, cable);
    struct buf w = { .arena = b->arena };
    buf_str(&w, speed_words(c, cable));
    if (l->is_known && l->speed_mbps > 0.0 && isfinite(l->speed_mbps))
        buf_printf(&w, " by %.*s", STR_ARG(l->limit));
    if (l->needed_mbps > 0.0 && isfinite(l->needed_mbps))
        buf_printf(&w, ", %.*s needed", STR_ARG(port_speed_words(b->arena, l->needed_mbps)));
    if (f && f->class_granted >= 0)
        buf_printf(&w, "; power of class %d, at most %.1f W", f->class_granted, f->drawn_w);
    else if (f)
        buf_printf(&w, "; no power gets through: %s", power_limit_words(f->limit));
    return w.failed ? STR("") : buf_done(&w);
}

static struct str both_ends_words(struct cable_book *c, uint32_t cable)
{
    return book_text(c->b, "from %.*s\nto %.*s\n%.*s", STR_ARG(cable_end_place(c, cable, true)),
                     STR_ARG(cable_end_place(c, cable, false)), STR_ARG(cable_kind_words(c, cable)));
}

struct str cable_way_words(struct cable_book *c, uint32_t cable)
{
    const struct str way = way_words(c, cable),
                     notes = c->plan->cables[cable].is_routed ? install_notes(c->b->arena, c->in, cable) : STR("");
    return notes.n ? book_text(c->b, "%.*s\n%.*s", STR_ARG(way), STR_ARG(notes)) : way;
}

/* Those that are to be laid; a cord has no way, and what lies already is on the drawings of the floors. */
static void write_each(struct cable_book *c)
{
    static const struct flow_column COLUMNS[] = {
        { "cable", 24.0, FLOW_LEFT },
        { "its ends, and what it is", 54.0, FLOW_LEFT },
        { "its way", 90.0, FLOW_LEFT },
    };
    struct book *b = c->b;
    if (c->n_new == c->n_cords_new)
        return;
    flow_section(b->flow, "cable-each", "Each cable that is laid, and its way");
    flow_soft(b->flow,
              "A way is read from its first end to its second.  * a way that nobody gave, worked out from "
              "walls and floors: look before you cut.  +2.70: metres above the floor named.  H hole, B board "
              "to lift, R place where cable goes up or down, T trench or duct: the same on every sheet.  What it "
              "carries stands in the list above, what it feeds in the port map.");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->cables.n; i++) {
        const uint32_t cable = c->order[i];
        const struct cable *of = &b->h->cables.v[cable];
        if (of->owned || cable_is_cord(b->h, cable))
            continue;
        const struct flow_cell cells[] = { cell_strong(book_text(b, "%.*s\n%.*s", STR_ARG(of->id),
                                                                 STR_ARG(cable_feeds_words(c, cable)))),
                                           cell(both_ends_words(c, cable)), cell(cable_way_words(c, cable)) };
        flow_row(b->flow, cells);
    }
}

/* ---- the chapter ---- */

static void write_beginning(struct cable_book *c)
{
    struct book *b = c->b;
    const uint32_t n = b->h->cables.n, n_cut = c->n_new - c->n_cords_new;
    if (!c->n_new) {
        flow_text(b->flow, "%.*s, and all of them lie already.  What is left is to label and to test them.",
                  STR_ARG(counted(b, n, "cable", "cables")));
        return;
    }
    flow_text(b->flow, "%.*s: %u to be laid, %u to be plugged in as %s, and %.*s already.",
              STR_ARG(counted(b, n, "cable", "cables")), n_cut, c->n_cords_new,
              c->n_cords_new == 1 ? "a cord" : "cords",
              STR_ARG(n == c->n_new ? STR("none lies") : book_text(b, "%u lie", n - c->n_new)));
}

enum rt_code cable_book_begin(struct cable_book *c, struct book *b, struct rt_problems *p)
{
    *c = (struct cable_book){ .b = b, .plan = b->ev->cables, .numbers = b->draw.numbers };
    RT_TRY(evaluation_tree(b->ev, &c->tree, p));
    c->in = install_make(b->arena, c->plan);
    return c->in && put_in_order(c) ? RT_OK : rt_fail_memory(p);
}

enum rt_code chapter_cables(struct book *b, struct rt_problems *p)
{
    struct cable_book c;
    flow_chapter(b->flow, "cables", "Cables");
    if (!b->h->cables.n) {
        flow_text(b->flow, "This house has no cables.");
        return RT_OK;
    }
    RT_TRY(cable_book_begin(&c, b, p));
    c.cuts = cut_plan_make(b->arena, c.plan, b->links, b->bill);
    if (!c.cuts)
        return rt_fail_memory(p);
    write_beginning(&c);
    cables_write_order(&c);
    write_list(&c);
    cables_write_holes(&c);
    cables_write_cutting(&c);
    cables_write_material(&c);
    write_each(&c);
    return RT_OK;
}
