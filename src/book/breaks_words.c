#include "book/breaks_words.h"

#include "book/evidence.h"
#include "book/net_words.h"
#include "wire/end_label.h"

enum { ROOMS_NAMED = 5 };

static void add_step(struct breaks_steps *s, struct str text)
{
    if (s->n < RT_COUNT(s->v) && text.n)
        s->v[s->n++] = text;
}

/* ---- where things are ---- */

static struct str in_cabinet(struct book *b, const struct equipment *cabinet)
{
    return book_text(b, "in the %.*s", STR_ARG(cabinet->says.n ? cabinet->says : book_id_words(b, cabinet->id)));
}

/* "landing", "in the cabinet under the stairs"; the floor where no room is said. */
static struct str place_of(struct book *b, uint32_t equipment)
{
    const struct equipment *e = &b->h->equipment.v[equipment];
    if (e->inside.i != NO_REF)
        return in_cabinet(b, &b->h->equipment.v[e->inside.i]);
    uint32_t room = e->room.i;
    if (room == NO_REF && e->mount.i != NO_REF)
        room = b->h->mounts.v[e->mount.i].room.i;
    if (room != NO_REF)
        return house_room_name(b->h, room);
    if (e->mount.i != NO_REF)
        return book_id_words(b, b->h->mounts.v[e->mount.i].id);
    return e->floor.i != NO_REF ? book_id_words(b, b->h->floors.v[e->floor.i].id) : STR("the house");
}

static struct str part_of(struct book *b, uint32_t equipment)
{
    const uint32_t part = b->h->equipment.v[equipment].part.i;
    if (part == NO_REF)
        return STR("one of the same kind");
    const struct part *x = &b->h->parts.list.v[part];
    return book_text(b, "%.*s%s%.*s%s", STR_ARG(x->says.n ? x->says : x->id), x->maker.n ? " (" : "", STR_ARG(x->maker),
                     x->maker.n ? ")" : "");
}

struct str breaks_cable_ends(struct book *b, uint32_t cable)
{
    const struct cable *c = &b->h->cables.v[cable];
    const struct port_numbers *n = b->draw.numbers ? &b->draw.numbers[cable] : NULL;
    const struct str from = end_label_port(b->arena, c->from.what, end_label_number(&c->from, n ? n->from : 0)),
                     to = end_label_port(b->arena, c->to.what, end_label_number(&c->to, n ? n->to : 0)),
                     room = end_label_room(b->h, &c->to);
    return book_text(b, "%.*s to %.*s%s%.*s", STR_ARG(from), STR_ARG(to), room.n ? ", " : "", STR_ARG(room));
}

/* The cable towards the gateway of a piece of equipment; NO_REF: none. */
static uint32_t cable_of(const struct damage *d, uint32_t equipment) { return d->before->parent_cable[equipment]; }

/* ---- what goes with it ---- */

static uint32_t n_things(const struct book *b) { return b->h->equipment.n + b->h->devices.n; }

struct str breaks_gone(struct book *b, const struct damage *d, uint32_t most)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < n_things(b); i++)
        if (damage_has_lost(d, i) && d->death[i] != DEATH_FAILED && n++ < most)
            buf_printf(&text, "%s%.*s", n > 1 ? ", " : "", STR_ARG(evidence_thing(b, damage_thing_id(b->h, i))));
    if (n > most)
        buf_printf(&text, " and %u more", n - most);
    return n ? buf_done(&text) : STR("");
}

struct str breaks_promises(struct book *b, const struct failure_row *row, bool broken, uint32_t most)
{
    const uint32_t at = (uint32_t)(row - b->draw.failures->rows.v);
    struct buf text = { .arena = b->arena };
    uint32_t n = 0;
    for (uint32_t k = 0; k < b->h->promises.n; k++) {
        const struct promise *q = &b->h->promises.v[k];
        const bool is_meant = broken ? failure_breaks(b->draw.failures, at, k)
                                     : failure_touches(q->kind) && row->results[k]->state == PROMISE_KEPT;
        if (is_meant && n++ < most)
            buf_printf(&text, "%s%.*s", n > 1 ? "; " : "", STR_ARG(q->says));
    }
    if (n > most)
        buf_printf(&text, "; %u more", n - most);
    return n ? buf_done(&text) : STR("");
}

/* ---- what one sees ---- */

static bool is_room_lost(const struct book *b, const struct failure_row *row, uint32_t room)
{
    const uint32_t at = (uint32_t)(row - b->draw.failures->rows.v);
    for (uint32_t k = 0; k < b->h->promises.n; k++) {
        const struct fact *f =
            failure_breaks(b->draw.failures, at, k) ? fact_find_first(row->results[k]->evidence, "rooms") : NULL;
        for (; f; f = f->next)
            if (str_eq(fact_find_str(f, "room"), b->h->rooms.v[room].id) &&
                fact_find_num(f, "area_share") < b->h->promises.v[k].area_share)
                return true;
    }
    return false;
}

/* Rooms in which a promise about the air breaks; empty: none. */
static struct str rooms_lost(struct book *b, const struct failure_row *row)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->h->rooms.n; i++)
        if (is_room_lost(b, row, i) && n++ < ROOMS_NAMED)
            buf_printf(&text, "%s%.*s", n > 1 ? ", " : "", STR_ARG(house_room_name(b->h, i)));
    if (n > ROOMS_NAMED)
        buf_printf(&text, " and %u more", n - ROOMS_NAMED);
    return n ? buf_done(&text) : STR("");
}

static struct str symptom_of_access_point(struct book *b, const struct failure_row *row, uint32_t equipment)
{
    const struct str rooms = rooms_lost(b, row);
    if (rooms.n)
        return book_text(b, "Little or no Wi-Fi in: %.*s", STR_ARG(rooms));
    return book_text(b, "Wi-Fi is weaker round %.*s; nothing promised is lost", STR_ARG(place_of(b, equipment)));
}

/* The thing right behind a cable, seen from the gateway; NO_REF: none. */
static uint32_t thing_behind(const struct book *b, const struct damage *d, uint32_t cable)
{
    for (uint32_t i = 0; i < n_things(b); i++)
        if (d->before->parent_cable[i] == cable)
            return i;
    return NO_REF;
}

static struct str symptom_of_cable(struct book *b, const struct failure_row *row)
{
    const uint32_t behind = thing_behind(b, row->damage, row->failure.i), n = row->n_dead + row->n_cut_off;
    if (behind == NO_REF)
        return n ? STR("Some things are dead, the rest works") : STR("Nothing: it is a second way that rests");
    const struct str name = evidence_thing(b, damage_thing_id(b->h, behind));
    if (n <= 1)
        return book_text(b, "%.*s is dead, all else works", STR_ARG(name));
    return book_text(b, "%.*s and %u more behind it are dead at once", STR_ARG(name), n - 1);
}

struct str breaks_symptom(struct book *b, const struct failure_row *row)
{
    const struct failure *f = &row->failure;
    const uint32_t n = row->n_dead + row->n_cut_off;
    switch (f->kind) {
    case FAILURE_ACCESS_POINT:
        return symptom_of_access_point(b, row, f->i);
    case FAILURE_CABLE:
        return symptom_of_cable(b, row);
    case FAILURE_SWITCH:
        return book_text(b, "%u things are dead at once%s; the gateway's own lights are on", n,
                         !row->damage->n_dead_radios                           ? ""
                         : row->damage->n_dead_radios == row->damage->n_radios ? ", all Wi-Fi with them"
                                                                               : ", some of the Wi-Fi with them");
    case FAILURE_GATEWAY:
        return STR("No internet, and no network of the house finds another; new devices get no address");
    case FAILURE_LINE:
        return STR("All works within the house, nothing from the internet does");
    case FAILURE_MAINS:
        return f->circuit.n
                   ? book_text(b, "Sockets of the circuit %.*s are dead", STR_ARG(book_id_words(b, f->circuit)))
                   : STR("No light in the house; only what a battery feeds is on");
    case FAILURE_DISK:
        return STR("The recorder complains of its disk, pictures are missing or do not play");
    default:
        return STR("");
    }
}

/* ---- what to do ---- */

static void access_point_steps(struct book *b, const struct failure_row *row, struct breaks_steps *s)
{
    const uint32_t e = row->failure.i, cable = cable_of(row->damage, e);
    add_step(s, book_text(b, "Look at it (%.*s): is its light on?", STR_ARG(place_of(b, e))));
    if (cable != NO_REF)
        add_step(
            s, book_text(b, "Restart it: pull cable %.*s at the switch end (%.*s), wait 10 s, put it back, wait 3 min.",
                         STR_ARG(b->h->cables.v[cable].id), STR_ARG(breaks_cable_ends(b, cable))));
    if (cable != NO_REF)
        add_step(s, STR("Still dead: try another cord, then another port of the same kind."));
    add_step(s, book_text(b, "Replace it by %.*s and load the settings of %.*s into it.", STR_ARG(part_of(b, e)),
                          STR_ARG(row->failure.id)));
}

static void switch_steps(struct book *b, const struct failure_row *row, struct breaks_steps *s)
{
    const uint32_t e = row->failure.i, cable = cable_of(row->damage, e);
    const bool is_gateway = row->failure.kind == FAILURE_GATEWAY;
    add_step(s, book_text(b, "Look at it (%.*s): are lights on? If not: its plug, the breaker, the battery before it.",
                          STR_ARG(place_of(b, e))));
    add_step(s, STR("Restart it: plug out, wait 30 s, plug in, wait 5 min."));
    if (!is_gateway && cable != NO_REF)
        add_step(s, book_text(b, "Its way to the gateway: cable %.*s, %.*s; both ends firm, both lights on?",
                              STR_ARG(b->h->cables.v[cable].id), STR_ARG(breaks_cable_ends(b, cable))));
    add_step(s, book_text(b, "Replace it by %.*s; %s.", STR_ARG(part_of(b, e)),
                          is_gateway ? "load its settings (`rooftree export`), then every cable back as on its label"
                                     : "every cable back as on its label, its ports set as in the port map"));
}

static void cable_steps(struct book *b, const struct failure_row *row, struct breaks_steps *s)
{
    const uint32_t c = row->failure.i;
    add_step(s, book_text(b, "Look at both ends (%.*s): plugs firm, lights on?", STR_ARG(breaks_cable_ends(b, c))));
    add_step(s, STR("Change the cord at either end; then another free port of the same switch."));
    if (b->ev->links.v && b->ev->links.v[c].is_fibre)
        add_step(s,
                 STR("Fibre: clean its ends, never look into one; is light lost on the way? A meter for light tells."));
    else
        add_step(s, STR("Cable tester: a broken wire is shown with its distance from the end."));
    add_step(s, book_text(b, "Lay it anew as in the cable schedule, under %.*s.", STR_ARG(b->h->cables.v[c].id)));
}

static void line_steps(struct book *b, struct breaks_steps *s)
{
    (void)b;
    add_step(s, STR("Restart the line's box, wait until its lights are steady, then the gateway; give each 5 min."));
    add_step(s, STR("A computer on cable straight at the box: nothing there either? Then it is not the house."));
    add_step(s, STR("Call the provider: name what the lights of the box show, and since when."));
}

static void mains_steps(struct book *b, const struct failure_row *row, struct breaks_steps *s)
{
    add_step(s, row->failure.circuit.n ? STR("The breaker of that circuit: switch it on once.")
                                       : STR("Are the neighbours dark too? Then wait, and call the grid's operator."));
    if (!row->failure.circuit.n)
        add_step(s, STR("Only this house: the main switch and the breakers, each once."));
    add_step(s, STR("It trips again: leave it off, unplug what is on it, call an electrician."));
    add_step(s, STR("When it is back all starts by itself: wait 5 min before anything is restarted by hand."));
    (void)b;
}

static void disk_steps(struct book *b, const struct failure_row *row, struct breaks_steps *s)
{
    const bool is_built_in = row->failure.i == NO_REF;
    add_step(s, STR("Write down what the recorder says. Save pictures that matter to another computer now, if they "
                    "still play."));
    add_step(s, is_built_in
                    ? STR("Recorder off, then its disk out; replace it by one for recorders of at least the same size.")
                    : book_text(b, "Recorder off; replace the disk by %.*s.", STR_ARG(part_of(b, row->failure.i))));
    add_step(
        s,
        STR("Start it, let it take the new disk in, and look the next day that pictures of every camera are there."));
}

struct breaks_steps breaks_steps_of(struct book *b, const struct failure_row *row)
{
    struct breaks_steps s = { .n = 0 };
    switch (row->failure.kind) {
    case FAILURE_ACCESS_POINT:
        access_point_steps(b, row, &s);
        break;
    case FAILURE_CABLE:
        cable_steps(b, row, &s);
        break;
    case FAILURE_SWITCH:
    case FAILURE_GATEWAY:
        switch_steps(b, row, &s);
        break;
    case FAILURE_LINE:
        line_steps(b, &s);
        break;
    case FAILURE_MAINS:
        mains_steps(b, row, &s);
        break;
    case FAILURE_DISK:
        disk_steps(b, row, &s);
        break;
    default:
        break;
    }
    return s;
}
