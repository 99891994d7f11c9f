/* Floor by floor: what is there, what hangs where, what is promised and broken, and the drawings. */
#include <math.h>

#include "book/floors.h"

/* "Larder 3.1 m²": rooms in the order of the house file. */
static void write_rooms(struct book *b, uint32_t floor)
{
    const struct house *h = b->h;
    const struct floor *f = &h->floors.v[floor];
    struct buf t = { .arena = b->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->rooms.n; i++) {
        if (h->rooms.v[i].floor.i != floor)
            continue;
        buf_printf(&t, "%s%.*s %.1f", n++ ? ", " : "", STR_ARG(book_id_words(b, house_room_name(h, i))),
                   fabs(polygon_area_m2(h->rooms.v[i].outline)));
    }
    const double area_m2 = fabs(polygon_area_m2(f->outline));
    if (t.failed)
        return;
    if (f->open_air)
        flow_text(b->flow, "Open ground, %.0f m\u00b2%s%.*s%s.", area_m2, n ? ": " : "", STR_ARG(buf_done(&t)),
                  n ? " m\u00b2" : "");
    else if (n == 0)
        flow_text(b->flow, "%.0f m\u00b2 within the outer walls, %.2f m to the ceiling, no rooms.", area_m2,
                  f->height_m);
    else
        flow_text(b->flow, "%.0f m\u00b2 within the outer walls, %.2f m to the ceiling. %s, in m\u00b2: %.*s.", area_m2,
                  f->height_m, n == 1 ? "One room" : "Rooms", STR_ARG(buf_done(&t)));
}

static bool is_here(const struct promise_result *r, uint32_t floor)
{
    return r->state == PROMISE_BROKEN && r->witness.is_set && r->witness.floor == floor;
}

/* What the marks on the drawings stand for. */
static void write_broken(struct book *b, uint32_t floor)
{
    bool any = false;
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        if (!is_here(r, floor))
            continue;
        if (!any)
            flow_heading(b->flow, "Broken here");
        any = true;
        const struct str why = r->witness.lines.n ? r->witness.lines.v[0] : STR("");
        flow_promise(b->flow, FLOW_BROKEN, r->promise->says, book_margin(b, r),
                     book_text(b, "%.*s%s%.*s", STR_ARG(r->witness.title), why.n ? ": " : "", STR_ARG(why)), NULL);
    }
}

static void write_intro(struct book *b)
{
    flow_text(
        b->flow,
        "For each floor: its rooms, what is fixed there and how, what is drilled, and its drawings. Distances are "
        "measured with a tape from the face of the wall that is named, heights from the finished floor; names of "
        "walls are those on the drawings of the house file.");
    flow_soft(b->flow,
              "Fixings are the usual ones for what the house file says bears them: common practice, which the maker's "
              "instructions overrule. Levels and rates are computed with the %s estimate of the walls; a step to the "
              "side can change what a device shows by several decibels.",
              estimate_name(b->fields->options.trace.estimate));
    flow_text(b->flow, "Before you drill or lift anything: the chapter before this one.");
}

enum rt_code chapter_floors(struct book *b, struct rt_problems *p)
{
    const struct install *in = install_make(b->arena, b->draw.cables);
    if (!in)
        return rt_fail_memory(p);
    flow_chapter(b->flow, "floors", "Floor by floor");
    write_intro(b);
    for (uint32_t i = 0; i < b->h->floors.n; i++) {
        const struct floor *f = &b->h->floors.v[i];
        const struct str id = book_text(b, "floors-%.*s", STR_ARG(f->id));
        flow_section(b->flow, id.p, "%.*s", STR_ARG(book_capital(b, install_floor_name(b->h, i))));
        write_rooms(b, i);
        write_broken(b, i);
        floor_places_write(b, i);
        floor_work_write(b, in, i);
        RT_TRY(floor_sheets_write(b, i, p));
        RT_TRY(floor_figures_write(b, i, p));
    }
    return RT_OK;
}
