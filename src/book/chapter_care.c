/* Cautions.  What can hurt in this house, with its figures, stands in a frame; what holds everywhere stands below; what the house has
 * nothing of is named in one sentence.
 *
 * Ladders: one out for four up, as the British Health and Safety Executive has it (INDG455), from memory; the rest: common practice of
 * the trades, no source.  Local codes decide. */
#include "base/units.h"

#include "book/book_int.h"
#include "wire/building_links.h"
#include "wire/install.h"

static const double REACH_M = 2.2; /* higher up one stands on something; common practice, no source */

struct care {
    struct book *b;
    const struct cable_plan *plan;
    struct building_links links;
    struct buf absent; /* what the house has nothing of */
    uint32_t n_absent;
};

static struct str counted(struct book *b, uint32_t n, const char *one, const char *many)
{
    return book_text(b, "%u %s", n, n == 1 ? one : many);
}

static void add_name(struct buf *list, uint32_t n, struct str name)
{
    buf_printf(list, "%s%.*s", n ? ", " : "", STR_ARG(name));
}

static void say_absent(struct care *c, const char *what)
{
    buf_printf(&c->absent, "%s%s", c->n_absent ? "; " : "", what);
    c->n_absent++;
}

static struct str device_name(struct book *b, const struct device *d)
{
    return d->says.n ? d->says : book_id_words(b, d->id);
}

/* ---- drilling ---- */

static void write_drilling(struct care *c)
{
    struct book *b = c->b;
    uint32_t n_holes = 0, n_boards = 0, n;
    const char *const *cautions = install_cautions(&n);
    for (uint32_t i = 0; i < c->plan->work.n; i++) {
        if (!bill_work_is_new(b->h, &c->plan->work.v[i]))
            continue;
        if (c->plan->work.v[i].kind == WORK_HOLE)
            n_holes++;
        else
            n_boards++;
    }
    if (n_holes + n_boards == 0) {
        flow_heading(b->flow, "Drilling");
        flow_text(b->flow, "No cable of this book asks for a new hole. Whoever makes one later, or fixes something:");
        flow_item(b->flow, "%s", cautions[0]);
        flow_item(b->flow, "%s", cautions[1]);
        return;
    }
    const struct str holes = n_holes ? counted(b, n_holes, "hole to drill", "holes to drill") : STR("");
    const struct str boards = n_boards ? counted(b, n_boards, "board to lift", "boards to lift") : STR("");
    flow_caution(b->flow, "Drilling and lifting",
                 "%.*s%s%.*s, each with its place in the list of holes and boards; screws of what hangs on walls and "
                 "ceilings come on top.\n%s\n%s",
                 STR_ARG(holes), n_holes && n_boards ? " and " : "", STR_ARG(boards), cautions[0], cautions[1]);
}

static void write_old_materials(struct care *c)
{
    flow_heading(c->b->flow, "Old insulation, boards and paint");
    flow_text(
        c->b->flow,
        "Textured ceilings, old floor tiles, boards and pipe lagging can hold asbestos, old paint lead. Neither "
        "can be told by eye, and their dust is what harms: leave them whole until somebody who may judge them has "
        "looked. Loose wool in lofts and voids irritates: gloves, goggles, a mask.");
}

/* ---- ladders ---- */

static void write_ladders(struct care *c)
{
    const struct house *h = c->b->h;
    uint32_t n = 0;
    double highest_m = 0.0;
    struct str what = { 0 };
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        if (!(e->at_m.z > REACH_M))
            continue;
        n++;
        if (e->at_m.z > highest_m) {
            highest_m = e->at_m.z;
            what = e->id;
        }
    }
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        if (!(d->at_m.z > REACH_M) || d->carried)
            continue;
        n++;
        if (d->at_m.z > highest_m) {
            highest_m = d->at_m.z;
            what = device_name(c->b, d);
        }
    }
    if (!n) {
        say_absent(c, "nothing that hangs out of reach");
        return;
    }
    flow_caution(c->b->flow, "On ladders",
                 "%.*s higher than %.1f m above the floor or the ground; the highest is %.*s, at %.2f m.\nA ladder "
                 "stands on firm, level ground, one out for every four up, is held or tied, and reaches a metre beyond "
                 "where one steps off. Nobody leans out, works alone, in wind or near overhead lines. Over stairs and "
                 "at eaves a scaffold is the right thing.",
                 STR_ARG(counted(c->b, n, "thing hangs", "things hang")), REACH_M, STR_ARG(what), highest_m);
}

/* ---- outdoors ---- */

static void write_outdoors(struct care *c)
{
    struct book *b = c->b;
    const struct house *h = b->h;
    struct buf outdoors = { .arena = b->arena }, bare = { .arena = b->arena };
    uint32_t n = 0, n_bare = 0;
    bool has_trench = false;
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct routed_cable *r = &c->plan->cables[i];
        if (!r->outdoors && !r->leaves_building)
            continue;
        add_name(&outdoors, n++, h->cables.v[i].id);
        for (uint32_t k = 0; k < r->legs.n; k++)
            has_trench |= r->legs.v[k].kind == RUN_TRENCH && !h->cables.v[i].owned;
    }
    for (uint32_t i = 0; i < c->links.v.n; i++)
        if (building_link_is_bare(&c->links.v.v[i]))
            add_name(&bare, n_bare++, h->cables.v[c->links.v.v[i].cable].id);
    if (!n) {
        say_absent(c, "no cable outdoors or between buildings");
        return;
    }
    flow_caution(
        b->flow, "Cable outdoors, and lightning",
        "Outdoors, or from one building to another: %.*s.\n%s%.*s%sCable outdoors is of a kind made for sun and wet, "
        "enters from below with a drip loop, through a hole that falls outwards and is sealed. Nobody works on it, or "
        "on what hangs outside, while there is thunder.%s",
        STR_ARG(buf_done(&outdoors)),
        n_bare ? "In copper between two buildings without a surge protector in each: " : "",
        STR_ARG(n_bare ? buf_done(&bare) : STR("")),
        n_bare ? ". Lightning and unequal earths come in along it: put a surge protector at each end, bonded to that "
                 "building's earth by an electrician, or lay fibre. "
               : "",
        has_trench ? " Before anybody digs: ask who has pipes and cables in the ground, and find them." : "");
}

/* ---- batteries ---- */

static void write_batteries(struct care *c)
{
    struct book *b = c->b;
    const struct house *h = b->h;
    struct buf list = { .arena = b->arena };
    bool has_lead = false, has_lithium = false;
    for (uint32_t i = 0; i < h->batteries.n; i++) {
        const struct battery *x = &h->batteries.v[i];
        add_name(&list, i, book_id_words(b, x->id));
        if (x->room.i != NO_REF)
            buf_printf(&list, " (%.*s)", STR_ARG(house_room_name(h, x->room.i)));
        const struct str chemistry = x->part.i < h->parts.list.n ? h->parts.list.v[x->part.i].chemistry : STR("");
        const bool is_lithium = str_is(chemistry, "lithium_ion") || str_is(chemistry, "lithium_iron_phosphate");
        has_lithium |= is_lithium;
        has_lead |= !is_lithium && chemistry.n;
    }
    if (!h->batteries.n) {
        say_absent(c, "no battery");
        return;
    }
    flow_caution(b->flow, "Batteries",
                 "%s: %.*s.\nA battery gives enough current to weld and to burn: no tool, ring or wire across its "
                 "poles, none that is swollen, wet or damaged charged or kept, only the charger it was made for. It "
                 "stands dry, cool and reachable, with air around it and nothing on it%s%s. An old one goes to a "
                 "collecting point.",
                 h->batteries.n == 1 ? "Here is" : "Here are", STR_ARG(buf_done(&list)),
                 has_lead ? "; lead batteries give off gas that explodes, so never in a closed box" : "",
                 has_lithium ? "; lithium that burns is not put out at home: leave, and call the fire service" : "");
}

/* ---- radio and light ---- */

static void write_radio(struct care *c)
{
    struct book *b = c->b;
    const struct house *h = b->h;
    bool has_radar = false, has_fibre = false;
    for (uint32_t i = 0; i < b->ev->radios.n; i++)
        has_radar |= b->ev->radios.v[i].needs_radar_detection;
    for (uint32_t i = 0; i < h->cables.n; i++)
        has_fibre |= b->links->v[i].is_fibre;
    flow_heading(b->flow, "Radio");
    if (b->ev->rules)
        flow_text(b->flow,
                  "Channels and powers in this book are within the radio rules of %.*s as the regulatory database of "
                  "the machine it was made on has them. Set the country in each access point first, then channel and "
                  "power as they stand here, and raise no power: it is unlawful, and the devices would not be heard "
                  "any better.%s",
                  STR_ARG(h->country),
                  has_radar ? " Channels shared with radar are silent for a minute or more after they are switched on, "
                              "and change by themselves when radar is heard: that is the rule and no fault."
                            : "");
    else
        flow_text(
            b->flow,
            "The radio rules of %.*s were not known where this book was made: channels and powers are as the house "
            "file has them, and whether they are allowed must be looked up before anything is switched on.",
            STR_ARG(h->country));
    if (has_fibre)
        flow_caution(b->flow, "Light in fibre",
                     "The light in a fibre cannot be seen and can harm: never look into an end, caps on what is not "
                     "plugged in, and a microscope only with both ends dark. Splinters are glass: collect them, and no "
                     "food near.");
    else
        say_absent(c, "no fibre");
}

/* ---- cameras ---- */

static bool takes_pictures(const struct device *d)
{
    return str_is(d->kind, "camera") || str_is(d->kind, "doorbell") || d->camera.at.line > 0;
}

static void write_cameras(struct care *c)
{
    struct book *b = c->b;
    const struct house *h = b->h;
    struct buf list = { .arena = b->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (takes_pictures(&h->devices.v[i]))
            add_name(&list, n++, device_name(b, &h->devices.v[i]));
    if (!n) {
        say_absent(c, "no camera");
        return;
    }
    struct buf days = { .arena = b->arena };
    for (uint32_t i = 0; i < h->recordings.n; i++)
        if (is_given(h->recordings.v[i].days_wanted))
            buf_printf(&days, " Pictures are to be kept %.0f days%s%.*s, and not longer.",
                       h->recordings.v[i].days_wanted, h->recordings.v[i].says.n ? ": " : "",
                       STR_ARG(h->recordings.v[i].says));
    flow_caution(b->flow, "Cameras and neighbours",
                 "%.*s: %.*s.%.*s\nA camera looks at one's own ground: turn it, and mask in its settings, until "
                 "neighbours' windows and gardens and the street are out of the picture as far as can be. No sound "
                 "unless it is needed. Tell those who live, work and call here, by a sign where they come in, who "
                 "looks at the pictures and for how long they stay. The law of the place on private life and data "
                 "decides, and asks more of a house that is let or worked in.",
                 STR_ARG(counted(b, n, "thing takes pictures", "things take pictures")), STR_ARG(buf_done(&list)),
                 STR_ARG(days.n ? buf_done(&days) : STR("")));
}

static void write_mains(struct care *c)
{
    flow_heading(c->b->flow, "Mains");
    flow_text(
        c->b->flow,
        "Nothing in this book opens a mains circuit: what is here plugs into sockets. A new socket or circuit, "
        "what bonds earths, and work on the meter's side are an electrician's. Data cable keeps the distance from "
        "mains that stands with each cable, and crosses mains at a right angle. Power over a data cable is low "
        "voltage, but a bundle of such cables gets warm: it lies loose, not under insulation.");
}

enum rt_code chapter_care(struct book *b, struct rt_problems *p)
{
    struct care c = { .b = b, .plan = b->draw.cables, .absent = { .arena = b->arena } };
    uint32_t n;
    const char *const *cautions = install_cautions(&n);
    RT_TRY(building_links_compare(b->run, c.plan, b->links, &c.links, p));
    flow_chapter(b->flow, "care", "Take care");
    flow_text(b->flow, "%s Where they say otherwise than this book, they are right.", cautions[n - 1]);
    write_drilling(&c);
    write_ladders(&c);
    write_outdoors(&c);
    write_batteries(&c);
    write_cameras(&c);
    write_old_materials(&c);
    write_mains(&c);
    write_radio(&c);
    if (c.n_absent)
        flow_soft(b->flow, "This house has %.*s: what would have to be said of that is left out.",
                  STR_ARG(buf_done(&c.absent)));
    return c.absent.failed ? rt_fail_memory(p) : RT_OK;
}
