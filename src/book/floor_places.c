/* What hangs and stands on a floor: where to put it, what to screw it to, which way it looks, which cable comes to it, how it sends. */
#include <math.h>

#include "base/csv.h"
#include "base/units.h"
#include "book/fixing.h"
#include "book/floors.h"
#include "data/device_kinds.h"
#include "house/polygon.h"
#include "promise/wire_words.h"
#include "wire/end_label.h"

enum { WHAT, WHERE, HOW, CABLE, N_COLUMNS };

static const double SAME_PLACE_M = 0.05; /* a device this near to a mount hangs on it */

/* One thing that is fixed: equipment, or a device at the end of a cable. */
struct fixture {
    uint32_t equipment, device; /* one of them, the other NO_REF */
    uint32_t room, floor;
    struct vec3 at_m;
    uint32_t mount;
    double faces_deg, tilt_deg;
    bool outdoors;
};

static struct str text_of(struct book *b, const struct buf *t)
{
    return t->failed ? book_text(b, "%s", "") : buf_done(t);
}

static void add(struct buf *t, struct str words)
{
    if (!words.n)
        return;
    buf_text(t, t->n ? "\n" : "");
    buf_str(t, words);
}

/* ---- which ---- */

static uint32_t mount_at(const struct house *h, uint32_t floor, struct vec3 at_m)
{
    for (uint32_t i = 0; i < h->mounts.n; i++)
        if (h->mounts.v[i].floor.i == floor && vec3_len(vec3_sub(h->mounts.v[i].at_m, at_m)) < SAME_PLACE_M)
            return i;
    return NO_REF;
}

static struct fixture of_equipment(const struct house *h, uint32_t i)
{
    const struct equipment *e = &h->equipment.v[i];
    return (struct fixture){ .equipment = i,
                             .device = NO_REF,
                             .room = e->room.i,
                             .floor = e->floor.i,
                             .at_m = e->at_m,
                             .mount = e->mount.i,
                             .faces_deg = e->faces_deg,
                             .tilt_deg = e->tilt_deg,
                             .outdoors = ap_stands_outdoors(h, e) };
}

static struct fixture of_device(const struct house *h, uint32_t i)
{
    const struct device *d = &h->devices.v[i];
    const uint32_t mount = mount_at(h, d->floor.i, d->at_m);
    const struct mount *m = mount == NO_REF ? NULL : &h->mounts.v[mount];
    return (struct fixture){ .equipment = NO_REF,
                             .device = i,
                             .room = d->room.i,
                             .floor = d->floor.i,
                             .at_m = d->at_m,
                             .mount = mount,
                             .faces_deg = m ? m->faces_deg : RT_NOT_GIVEN,
                             .tilt_deg = m ? m->tilt_deg : RT_NOT_GIVEN,
                             .outdoors = d->floor.i != NO_REF && h->floors.v[d->floor.i].open_air };
}

static bool ends_here(const struct fixture *f, const struct cable_end *end)
{
    return (f->equipment != NO_REF && end->equipment == f->equipment) ||
           (f->device != NO_REF && end->device == f->device);
}

static bool has_cable(const struct house *h, const struct fixture *f)
{
    for (uint32_t i = 0; i < h->cables.n; i++)
        if (ends_here(f, &h->cables.v[i].from) || ends_here(f, &h->cables.v[i].to))
            return true;
    return false;
}

static bool is_fixed_part(const struct house *h, const struct equipment *e)
{
    const enum part_kind kind = e->part.i == NO_REF ? PART_SUNDRY : h->parts.list.v[e->part.i].kind;
    return e->inside.i == NO_REF && kind != PART_CABLE && kind != PART_CORD && kind != PART_DISK && kind != PART_OPTIC;
}

/* ---- words ---- */

static const struct part *part_of(const struct house *h, const struct fixture *f)
{
    const uint32_t part = f->equipment == NO_REF ? NO_REF : h->equipment.v[f->equipment].part.i;
    return part == NO_REF ? NULL : &h->parts.list.v[part];
}

static struct str id_of(const struct house *h, const struct fixture *f)
{
    return f->equipment != NO_REF ? h->equipment.v[f->equipment].id : h->devices.v[f->device].id;
}

static struct str says_of(const struct house *h, const struct fixture *f)
{
    return f->equipment != NO_REF ? h->equipment.v[f->equipment].says : h->devices.v[f->device].says;
}

static struct str kind_words(struct str kind)
{
    const struct device_kind *known = device_kind_find(kind);
    return known ? str_from(known->says) : kind;
}

/* Its part, or what kind of device it is. */
static struct str kind_of(const struct house *h, const struct fixture *f)
{
    const struct part *part = part_of(h, f);
    if (part)
        return part->says.n ? part->says : part->id;
    return f->device != NO_REF ? kind_words(h->devices.v[f->device].kind) : STR("part left open");
}

/* What stands in a cabinet. */
static struct str held_words(struct book *b, const struct fixture *f)
{
    struct buf t = { .arena = b->arena };
    for (uint32_t i = 0; f->equipment != NO_REF && i < b->h->equipment.n; i++)
        if (b->h->equipment.v[i].inside.i == f->equipment)
            buf_printf(&t, "%s%.*s", t.n ? ", " : "", STR_ARG(b->h->equipment.v[i].id));
    return t.n ? text_of(b, &t) : STR("");
}

static struct str what_words(struct book *b, const struct fixture *f)
{
    const struct house *h = b->h;
    const struct str held = held_words(b, f);
    struct buf t = { .arena = b->arena };
    add(&t, says_of(h, f));
    add(&t, kind_of(h, f));
    if (f->room != NO_REF)
        add(&t, book_text(b, "in: %.*s", STR_ARG(house_room_name(h, f->room))));
    if (held.n)
        add(&t, book_text(b, "holds %.*s", STR_ARG(held)));
    return text_of(b, &t);
}

static enum mount_surface surface_of(const struct house *h, const struct fixture *f)
{
    const struct part *part = part_of(h, f);
    if (f->mount != NO_REF)
        return h->mounts.v[f->mount].surface;
    return part ? part->surface : SURFACE_WALL;
}

static struct str where_words(struct book *b, const struct fixture *f)
{
    const bool ceiling = surface_of(b->h, f) == SURFACE_CEILING && !b->h->floors.v[f->floor].open_air;
    struct buf t = { .arena = b->arena };
    if (!is_given(f->at_m.x))
        return STR("anywhere in the room");
    add(&t, install_spot_words(b->arena, b->h, f->floor, f->at_m));
    add(&t, book_text(b, "%.2f m above %s%s", f->at_m.z, b->h->floors.v[f->floor].open_air ? "the ground" : "the floor",
                      ceiling ? ", on the ceiling" : ""));
    return text_of(b, &t);
}

/* The construct over a place: the floor's ceiling, else the slab of the storey that stands on it. */
static uint32_t construct_above(const struct house *h, uint32_t floor, struct vec3 at_m)
{
    const double top_m = h->floors.v[floor].level_m + h->floors.v[floor].height_m;
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        if (f->level_m > top_m - 0.1 && f->slab.i != NO_REF &&
            polygon_contains(f->outline, (struct vec2){ at_m.x, at_m.y }) &&
            (best == NO_REF || f->level_m < h->floors.v[best].level_m))
            best = i;
    }
    return best != NO_REF ? h->floors.v[best].slab.i : h->floors.v[floor].ceiling.i;
}

static struct str screwed_to(struct book *b, uint32_t construct, enum fixing fixing, const char *what)
{
    if (construct == NO_REF)
        return book_text(b, "%s: %s", what, fixing_words(fixing));
    return book_text(b, "%s of %.*s: %s", what, STR_ARG(install_construct_name(b->arena, b->h, construct)),
                     fixing_words(fixing));
}

/* The underside of a slab is its last face in the built-in list; a ceiling that is boarded shows its board. */
static enum fixing overhead(const struct house *h, uint32_t construct)
{
    return construct == NO_REF ? FIXING_UNKNOWN : fixing_of(&h->constructs.v[construct], false);
}

static struct str fixing_of_place(struct book *b, const struct fixture *f)
{
    const struct house *h = b->h;
    const enum mount_surface surface = surface_of(h, f);
    const uint32_t wall = install_spot_wall(h, f->floor, f->at_m);
    const uint32_t of_wall = wall == NO_REF ? NO_REF : h->walls.v[wall].construct.i;
    const uint32_t above = construct_above(h, f->floor, f->at_m);
    switch (surface) {
    case SURFACE_CEILING:
        return screwed_to(b, above, overhead(h, above), "ceiling");
    case SURFACE_EAVES:
        return STR("eaves board: stainless wood screws into its bearer, holes sealed");
    case SURFACE_POLE:
        return STR("pole: stainless U-bolts or bands, earthed as local rules ask");
    case SURFACE_SHELF:
        return STR("stands on a shelf");
    case SURFACE_CABINET:
        return STR("in the cabinet");
    case SURFACE_WALL:
        break;
    }
    if (of_wall == NO_REF)
        return f->mount != NO_REF || f->equipment == NO_REF ? STR("no wall of the file is near: look what bears it")
                                                            : STR("stands free");
    return screwed_to(b, of_wall, fixing_of(&h->constructs.v[of_wall], f->outdoors),
                      f->outdoors ? "wall, stainless screws, holes sealed; wall" : "wall");
}

/* Which way a bearing looks: by the compass, or on the plan where north is not known. */
static struct str looks(struct book *b, double faces_deg)
{
    static const char *const COMPASS[] = { "north", "north-east", "east", "south-east",
                                           "south", "south-west", "west", "north-west" };
    static const char *const PLAN[] = { "+y",      "between +x and +y",           "+x",      "between +x and \u2212y",
                                        "\u2212y", "between \u2212x and \u2212y", "\u2212x", "between \u2212x and +y" };
    const bool north = is_given(b->h->north_deg);
    double bearing = fmod(faces_deg - given_or(b->h->north_deg, 0.0) + 720.0, 360.0);
    const int sector = (int)floor(bearing / 45.0 + 0.5) % 8;
    bearing = fmod(round(bearing), 360.0);
    return north ? book_text(b, "%s (%.0f\u00b0)", COMPASS[sector], bearing)
                 : book_text(b, "%s of the plan (%.0f\u00b0)", PLAN[sector], bearing);
}

static struct str orientation_words(struct book *b, const struct fixture *f)
{
    const enum mount_surface surface = surface_of(b->h, f);
    const struct part *part = part_of(b->h, f);
    const bool down =
        surface == SURFACE_CEILING || (surface == SURFACE_EAVES && part && part->surface == SURFACE_CEILING);
    const double tilt = given_or(f->tilt_deg, 0.0);
    const bool is_told = is_given(f->faces_deg);
    if (down && fabs(tilt) < 0.5)
        return is_told ? book_text(b, "level, front down, its top side to the %.*s", STR_ARG(looks(b, f->faces_deg)))
                       : STR("level, front down; any turn");
    if (!is_told)
        return STR("");
    if (down)
        return book_text(b, "front down, tilted %.0f\u00b0 to the %.*s", tilt, STR_ARG(looks(b, f->faces_deg)));
    if (fabs(tilt) < 0.5)
        return book_text(b, "front square to the %.*s", STR_ARG(looks(b, f->faces_deg)));
    return book_text(b, "front to the %.*s, tilted %.0f\u00b0 %s", STR_ARG(looks(b, f->faces_deg)), fabs(tilt),
                     tilt > 0.0 ? "down" : "up");
}

/* A device that stands: what bears its socket. */
static struct str socket_words(struct book *b, const struct fixture *f)
{
    bool has_socket = false, outdoors = false;
    for (uint32_t i = 0; i < b->h->cables.n; i++) {
        const struct cable *c = &b->h->cables.v[i];
        for (int from = 0; from < 2; from++)
            has_socket |= ends_here(f, from ? &c->from : &c->to) && cable_has_outlet(b->h, c, from == 1, &outdoors);
    }
    const uint32_t wall = install_spot_wall(b->h, f->floor, f->at_m);
    if (!has_socket || wall == NO_REF)
        return has_socket ? STR("its socket: on the wall that is nearest")
                          : STR("stands there; plugged in where it stands");
    const uint32_t of_wall = b->h->walls.v[wall].construct.i;
    return of_wall == NO_REF ? STR("its socket: on the wall beside it")
                             : screwed_to(b, of_wall, fixing_of(&b->h->constructs.v[of_wall], outdoors),
                                          "its socket, on the wall beside it");
}

static struct str screws_words(struct book *b, const struct fixture *f)
{
    const bool bears = f->mount != NO_REF || f->equipment != NO_REF;
    return !is_given(f->at_m.x) ? STR("") : bears ? fixing_of_place(b, f) : socket_words(b, f);
}

static struct str how_words(struct book *b, const struct fixture *f)
{
    struct buf t = { .arena = b->arena };
    add(&t, screws_words(b, f));
    add(&t, orientation_words(b, f));
    return text_of(b, &t);
}

/* Labels of the cables that arrive. */
static void add_ends(struct book *b, const struct fixture *f, struct buf *t)
{
    const struct house *h = b->h;
    for (uint32_t i = 0; i < h->cables.n; i++)
        for (int from = 1; from >= 0; from--) {
            bool outdoors = false;
            const struct cable *c = &h->cables.v[i];
            if (!ends_here(f, from ? &c->from : &c->to))
                continue;
            add(t, end_label_line(b->arena, end_label_of_cable(b->arena, h, i, from == 1, b->draw.numbers[i])));
            if (cable_has_outlet(h, c, from == 1, &outdoors))
                buf_text(t, outdoors ? ", in an outdoor socket" : ", in a socket");
        }
}

/* How its radios are set. */
static void add_radios(struct book *b, const struct fixture *f, struct buf *t)
{
    const struct house *h = b->h;
    for (uint32_t i = 0; f->equipment != NO_REF && i < b->ev->radios.n; i++) {
        const struct ap_radio *r = &b->ev->radios.v[i];
        if (r->equipment == f->equipment)
            add(t, book_text(b, "%s GHz: channel %s%.0f%s, %.0f MHz, %.0f dBm (%.0f dBm EIRP)", band_name(r->band),
                             r->channel_was_chosen ? "not chosen (judged as if on " : "", r->channel,
                             r->channel_was_chosen ? ")" : "", r->width_hz / 1e6, r->power_dbm, r->eirp_dbm));
    }
    for (uint32_t i = 0; f->equipment != NO_REF && i < h->equipment.v[f->equipment].radios.n; i++)
        if (h->equipment.v[f->equipment].radios.v[i].off)
            add(t, book_text(b, "%s GHz: off", band_name(h->equipment.v[f->equipment].radios.v[i].band)));
}

static struct str cable_words(struct book *b, const struct fixture *f)
{
    struct buf t = { .arena = b->arena };
    add_ends(b, f, &t);
    add_radios(b, f, &t);
    return text_of(b, &t);
}

bool floor_fixed(struct book *b, bool is_device, uint32_t i, struct floor_fixed *out)
{
    const struct house *h = b->h;
    const struct fixture f = is_device ? of_device(h, i) : of_equipment(h, i);
    if (f.floor == NO_REF || (is_device ? !has_cable(h, &f) : !is_fixed_part(h, &h->equipment.v[i])))
        return false;
    *out = (struct floor_fixed){ .id = id_of(h, &f),
                                 .floor = f.floor,
                                 .at_m = f.at_m,
                                 .what = what_words(b, &f),
                                 .where = where_words(b, &f),
                                 .how = how_words(b, &f),
                                 .arrives = cable_words(b, &f) };
    return true;
}

/* ---- tables ---- */

static void write_row(struct book *b, const struct fixture *f)
{
    const struct str id = id_of(b->h, f), what = what_words(b, f);
    struct flow_cell cells[N_COLUMNS] = { [WHAT] = { .text = book_text(b, "%.*s\n%.*s", STR_ARG(id), STR_ARG(what)) },
                                          [WHERE] = { .text = where_words(b, f) },
                                          [HOW] = { .text = how_words(b, f) },
                                          [CABLE] = { .text = cable_words(b, f) } };
    flow_row(b->flow, cells);
}

typedef void fixture_writer(struct book *b, const struct fixture *f, void *user);

/* What is fixed on a floor (NO_REF: on all), equipment first, then devices at the end of a cable. */
static uint32_t each_fixture(struct book *b, uint32_t floor, fixture_writer *write, void *user)
{
    const struct house *h = b->h;
    uint32_t n = 0;
    for (uint32_t pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < (pass ? h->devices.n : h->equipment.n); i++) {
            const struct fixture f = pass ? of_device(h, i) : of_equipment(h, i);
            if ((floor != NO_REF && f.floor != floor) || f.floor == NO_REF ||
                (pass ? !has_cable(h, &f) : !is_fixed_part(h, &h->equipment.v[i])))
                continue;
            write(b, &f, user);
            n++;
        }
    return n;
}

static void write_row_under_head(struct book *b, const struct fixture *f, void *user)
{
    static const struct flow_column COLUMNS[N_COLUMNS] = {
        [WHAT] = { "what, and where it is", 0.24, FLOW_LEFT },
        [WHERE] = { "place, from the wall's face", 0.22, FLOW_LEFT },
        [HOW] = { "fixing, and which way it looks", 0.28, FLOW_LEFT },
        [CABLE] = { "cable that arrives; how it sends", 0.26, FLOW_LEFT }
    };
    bool *is_begun = user;
    if (!*is_begun)
        flow_table(b->flow, COLUMNS, N_COLUMNS);
    *is_begun = true;
    write_row(b, f);
}

void floor_places_write(struct book *b, uint32_t floor)
{
    bool is_begun = false;
    if (!each_fixture(b, floor, write_row_under_head, &is_begun))
        flow_text(b->flow, "Nothing of the network is fixed here, and no cable ends here.");
}

static void write_csv_row(struct book *b, const struct fixture *f, void *user)
{
    struct buf *out = user, ends = { .arena = b->arena }, radios = { .arena = b->arena };
    add_ends(b, f, &ends);
    add_radios(b, f, &radios);
    const struct str cells[] = { id_of(b->h, f),
                                 says_of(b->h, f),
                                 kind_of(b->h, f),
                                 f->mount != NO_REF ? b->h->mounts.v[f->mount].id : STR(""),
                                 b->h->floors.v[f->floor].id,
                                 f->room != NO_REF ? b->h->rooms.v[f->room].id : STR("") };
    for (size_t i = 0; i < RT_COUNT(cells); i++)
        csv_field(out, cells[i]);
    csv_number(out, f->at_m.x, 3);
    csv_number(out, f->at_m.y, 3);
    csv_number(out, f->at_m.z, 3);
    csv_field(out, is_given(f->at_m.x) ? install_spot_words(b->arena, b->h, f->floor, f->at_m) : STR(""));
    csv_field(out, screws_words(b, f));
    csv_field(out, orientation_words(b, f));
    csv_number(out, f->faces_deg, 1);
    csv_number(out, f->tilt_deg, 1);
    csv_field(out, held_words(b, f));
    csv_field(out, ends.n ? text_of(b, &ends) : STR(""));
    csv_field(out, radios.n ? text_of(b, &radios) : STR(""));
    csv_end_row(out);
}

void floor_places_write_csv(struct book *b, struct buf *out)
{
    buf_text(out,
             "thing,says,part,mount,floor,room,x_m,y_m,height_m,place,fixing,looks,faces_deg,tilt_deg,holds,cables,"
             "radios\r\n");
    each_fixture(b, NO_REF, write_csv_row, out);
}

void floor_work_write(struct book *b, const struct install *in, uint32_t floor)
{
    static const char *const HEADS[] = { [WORK_HOLE] = "Drilled here: ", [WORK_BOARD] = "Boards lifted: " };
    struct buf t = { .arena = b->arena };
    for (int kind = WORK_HOLE; kind <= WORK_BOARD; kind++) {
        uint32_t n = 0;
        for (uint32_t i = 0; i < in->plan->work.n; i++) {
            const struct cable_work *w = &in->plan->work.v[i];
            if (w->floor != floor || (int)w->kind != kind)
                continue;
            buf_printf(&t, "%s%.*s", n++ ? ", " : HEADS[kind], STR_ARG(install_work_mark(b->arena, in, i)));
            if (w->kind == WORK_HOLE)
                buf_printf(&t, " (%.0f mm)", in->work[i].diameter_mm);
        }
        buf_text(&t, n ? ". " : "");
    }
    if (t.n && !t.failed)
        flow_text(b->flow, "%.*sWhere exactly, and what to take care of, is in the list of holes and boards.",
                  STR_ARG(buf_done(&t)));
}
