/* What an installer reads: places, steps, ends, cautions, notes. */
#include <math.h>

#include "base/units.h"
#include "house/polygon.h"
#include "wire/end_label.h"
#include "wire/install.h"
#include "wire/route_space.h"

/* A cable whose way is longer than the length that the file gives is worth a remark from this much on. */
static const double TOO_SHORT_M = 0.3;

static struct str done(const struct buf *b) { return b->failed ? (struct str){ 0 } : buf_done(b); }

struct str install_id_words(struct arena *a, struct str id)
{
    const struct str copy = str_dup(a, id);
    if (!copy.p)
        return (struct str){ 0 };
    char *text = (char *)(uintptr_t)copy.p;
    for (size_t i = 0; i < copy.n; i++)
        if (text[i] == '_')
            text[i] = ' ';
    return copy;
}

struct str install_floor_name(const struct house *h, uint32_t floor)
{
    const struct floor *f = &h->floors.v[floor];
    return f->says.n ? f->says : f->id;
}

struct str install_construct_name(struct arena *a, const struct house *h, uint32_t construct)
{
    const struct construct *c = &h->constructs.v[construct];
    return c->says.n && !c->is_built_in ? c->says : install_id_words(a, c->id);
}

struct str install_work_mark(struct arena *a, const struct install *in, uint32_t work)
{
    const char mark = in->plan->work.v[work].kind == WORK_HOLE ? 'H' : 'B';
    const char *text = arena_printf(a, "%c%u", mark, in->work[work].number);
    return str_from(text ? text : "");
}

/* ---- places ---- */

static void add_height(struct buf *b, const struct house *h, uint32_t floor, double above_m)
{
    const double over_m = above_m - h->floors.v[floor].height_m;
    if (above_m < -0.005)
        buf_printf(b, "%.2f m below the floor", -above_m);
    else if (!h->floors.v[floor].open_air && over_m > 0.005)
        buf_printf(b, "%.2f m above the ceiling", over_m);
    else
        buf_printf(b, "%.2f m above the floor", fabs(above_m));
}

struct str install_place_words(struct arena *a, const struct install *in, uint32_t work)
{
    const struct house *h = in->plan->h;
    const struct install_work *w = &in->work[work];
    const struct cable_work *of = &in->plan->work.v[work];
    struct buf b = { .arena = a };
    if (w->wall != NO_REF)
        buf_printf(&b, "in %.*s: ", STR_ARG(install_id_words(a, h->walls.v[w->wall].id)));
    else if (of->kind == WORK_HOLE && of->floor != NO_REF)
        buf_text(&b, w->above_m > h->floors.v[of->floor].height_m / 2.0 ? "ceiling: " : "floor: ");
    for (uint32_t i = 0; i < w->n_dims; i++) {
        const struct str name = install_id_words(a, h->walls.v[w->dims[i].wall].id);
        if (w->dims[i].wall == w->wall)
            buf_printf(&b, "%.2f m from its nearer corner", w->dims[i].m);
        else
            buf_printf(&b, "%s%.2f m from %.*s", i ? ", " : "", w->dims[i].m, STR_ARG(name));
    }
    if (w->n_dims < 2 && w->wall == NO_REF)
        buf_printf(&b, "%sat x %.2f, y %.2f m", w->n_dims ? "; " : "", of->at_m.x, of->at_m.y);
    if (w->wall != NO_REF && of->floor != NO_REF) {
        buf_text(&b, ", ");
        add_height(&b, h, of->floor, w->above_m);
    }
    return done(&b);
}

static void add_room(struct buf *b, const struct house *h, uint32_t room)
{
    const struct str given = house_room_name(h, room);
    buf_str(b, h->rooms.v[room].says.n ? given : install_id_words(b->arena, given));
}

struct str install_rise_words(struct arena *a, const struct install *in, uint32_t rise)
{
    const struct house *h = in->plan->h;
    const struct install_rise *r = &in->rises.v[rise];
    struct buf b = { .arena = a };
    const uint32_t room = r->floor == NO_REF ? NO_REF : house_room_at(h, r->floor, r->at_m);
    if (room != NO_REF)
        add_room(&b, h, room);
    else if (r->floor != NO_REF)
        buf_str(&b, install_floor_name(h, r->floor));
    for (uint32_t i = 0; i < r->n_dims; i++) {
        const struct str name = install_id_words(a, h->walls.v[r->dims[i].wall].id);
        buf_printf(&b, "%s%.2f m from %.*s", b.n ? ", " : "", r->dims[i].m, STR_ARG(name));
    }
    return done(&b);
}

static const char *const CAUTIONS[] = {
    "Before you drill or lift: mains, gas and water hide in walls, under boards and above ceilings; look with a "
    "detector, "
    "switch off. Old boards, tiles, paint and insulation may hold asbestos or lead.",
    "Joists, beams, chimneys and load-bearing walls not without advice. Close every hole through a floor, a party "
    "wall or "
    "an escape route again to its fire rating.",
    "Local codes and licensed trades decide what may be laid where, how deep, how far from mains, and by whom.",
};

const char *const *install_cautions(uint32_t *n)
{
    *n = RT_COUNT(CAUTIONS);
    return CAUTIONS;
}

struct str install_caution(const struct install *in, uint32_t work)
{
    const struct cable_work *w = &in->plan->work.v[work];
    const struct install_work *i = &in->work[work];
    if (w->kind == WORK_BOARD)
        return STR("mains and pipes lie under boards: saw no deeper than the board");
    if (i->wall == NO_REF && w->construct != NO_REF && !space_is_hollow(&in->plan->h->constructs.v[w->construct]))
        return STR("a slab that may carry, or that stops fire: advice, then fire-stop");
    if (i->wall == NO_REF)
        return STR("between joists, through none without advice; fire-stop again");
    if (i->is_outer)
        return STR("drill with a slight fall outwards, drip loop outside, seal both ends");
    if (i->thickness_m >= 0.2)
        return STR("a wall that may carry, or that stops fire: advice, then fire-stop");
    return STR("detector first: mains and pipes run up, down and across in walls");
}

/* ---- ways ---- */

static const char *const HEADINGS[] = {
    [INSTALL_ALONG] = "along", [INSTALL_UP] = "up", [INSTALL_DOWN] = "down", [INSTALL_CORD] = "cord"
};

/* The storey in whose space, or over whose ceiling, the point is; of what lies below all, the lowest. */
static uint32_t storey_of(const struct house *h, struct vec3 at_m)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *f = &h->floors.v[i];
        if (f->open_air || !polygon_contains_within(f->outline, (struct vec2){ at_m.x, at_m.y }, 0.05))
            continue;
        const bool is_below = f->level_m <= at_m.z + 0.005;
        if (best == NO_REF || (is_below ? f->level_m > h->floors.v[best].level_m || h->floors.v[best].level_m > at_m.z
                                        : f->level_m < h->floors.v[best].level_m))
            best = i;
    }
    return best;
}

/* "+2.70, ground floor": above that floor; outside of all floors: above the datum. */
static void add_level(struct buf *b, const struct house *h, uint32_t floor, struct vec3 at_m)
{
    const uint32_t of = floor == NO_REF ? storey_of(h, at_m) : floor;
    if (of == NO_REF) {
        buf_printf(b, "%+.2f", at_m.z);
        return;
    }
    const struct str name = install_floor_name(h, of);
    buf_printf(b, "%+.2f, %.*s", at_m.z - h->floors.v[of].level_m, STR_ARG(name));
}

struct str install_step_words(struct arena *a, const struct install *in, uint32_t cable, uint32_t step)
{
    const struct house *h = in->plan->h;
    const struct install_step *s = &in->cables[cable].steps.v[step];
    struct buf b = { .arena = a };
    const struct str says =
        s->run != NO_REF && !h->runs.v[s->run].says.n ? install_id_words(a, h->runs.v[s->run].id) : s->says;
    buf_printf(&b, "%s %.2f m", HEADINGS[s->heading], s->length_m);
    if (s->heading == INSTALL_CORD)
        return done(&b);
    if (s->heading != INSTALL_ALONG) {
        buf_text(&b, " to ");
        add_level(&b, h, s->floor, s->to_m);
        if (s->rise != NO_REF)
            buf_printf(&b, " (R%u)", s->rise + 1);
    } else if (s->kind == RUN_SKIRTING || s->kind == RUN_SURFACE) {
        buf_text(&b, " at ");
        add_level(&b, h, s->floor, s->from_m);
    }
    if (str_is(says, "to it")) /* between the thing itself and the wall or run beside it */
        buf_printf(&b, ": %s %.*s*", step ? "to" : "from",
                   STR_ARG(step ? h->cables.v[cable].to.what : h->cables.v[cable].from.what));
    else
        buf_printf(&b, ": %.*s%s", STR_ARG(says), s->run == NO_REF ? "*" : "");
    for (uint32_t i = 0; i < in->trenches.n; i++)
        if (s->run != NO_REF && in->trenches.v[i] == s->run)
            buf_printf(&b, " (T%u)", i + 1);
    bool any = false;
    for (uint32_t i = 0; i < in->cables[cable].passes.n; i++) {
        const struct install_pass *p = &in->cables[cable].passes.v[i];
        if (p->step != step)
            continue;
        const struct str mark = install_work_mark(a, in, p->work);
        buf_printf(&b, "%s%.*s", any ? ", " : " [", STR_ARG(mark));
        any = true;
    }
    buf_text(&b, any ? "]" : "");
    return done(&b);
}

/* ---- a cable ---- */

static const struct part *part_of(const struct house *h, uint32_t cable)
{
    const uint32_t part = h->cables.v[cable].part.i;
    return part == NO_REF ? NULL : &h->parts.list.v[part];
}

struct str install_kind_words(struct arena *a, const struct house *h, uint32_t cable)
{
    const struct part *part = part_of(h, cable);
    struct buf b = { .arena = a };
    if (!part)
        return STR("kind left open");
    if (part->category.n && part->category.p[0] >= '0' && part->category.p[0] <= '9')
        buf_printf(&b, "category %.*s", STR_ARG(part->category));
    else if (part->category.n)
        buf_printf(&b, "fibre %.*s", STR_ARG(part->category));
    else
        buf_str(&b, part->says);
    if (part->kind == PART_CORD)
        buf_text(&b, " cord");
    else if (is_given(part->outer_mm))
        buf_printf(&b, ", %.1f mm", part->outer_mm);
    if (part->outdoors)
        buf_text(&b, ", for outdoors");
    return done(&b);
}

struct str install_end_words(struct arena *a, const struct house *h, const struct cable_end *end, unsigned picked)
{
    uint32_t room = NO_REF, floor = NO_REF;
    struct vec3 at_m = { RT_NOT_GIVEN, RT_NOT_GIVEN, RT_NOT_GIVEN };
    if (end->equipment != NO_REF) {
        const struct equipment *e = &h->equipment.v[end->equipment];
        const struct mount *m = e->mount.i == NO_REF ? NULL : &h->mounts.v[e->mount.i];
        room = m ? m->room.i : e->room.i;
        floor = m ? m->floor.i : e->floor.i;
        at_m = m ? m->at_m : e->at_m;
    } else if (end->device != NO_REF) {
        const struct device *d = &h->devices.v[end->device];
        room = d->room.i;
        floor = d->floor.i;
        at_m = d->at_m;
    }
    struct buf b = { .arena = a };
    buf_str(&b, end_label_port(a, end->what, end_label_number(end, picked)));
    if (room == NO_REF && floor != NO_REF && is_given(at_m.x) && is_given(at_m.y))
        room = house_room_at(h, floor, (struct vec2){ at_m.x, at_m.y });
    if (room != NO_REF) {
        buf_text(&b, ", ");
        add_room(&b, h, room);
    } else if (floor != NO_REF) {
        const struct str name = install_floor_name(h, floor);
        buf_printf(&b, ", %.*s", STR_ARG(name));
    }
    if (is_given(at_m.z))
        buf_printf(&b, ", %.2f m up", at_m.z);
    return done(&b);
}

static void note(struct buf *b, const char *text)
{
    buf_text(b, b->n ? "; " : "");
    buf_text(b, text);
}

struct str install_notes(struct arena *a, const struct install *in, uint32_t cable)
{
    const struct house *h = in->plan->h;
    const struct routed_cable *r = &in->plan->cables[cable];
    const struct part *part = part_of(h, cable);
    const bool is_cord = part && part->kind == PART_CORD;
    struct buf b = { .arena = a };
    if (!r->is_routed)
        return r->why_not;
    if (r->length_given) {
        const double legs_m = in->cables[cable].legs_m;
        note(&b, "length as the file gives it");
        if (!is_cord && legs_m > r->fixed_m + TOO_SHORT_M)
            buf_printf(&b, ", but the way drawn takes %.1f m: measure before you cut", legs_m);
    }
    if (r->outdoors)
        note(&b, part && part->outdoors ? "outdoors" : "outdoors: take cable for outdoors there");
    if (r->leaves_building)
        note(&b, part && (str_is(part->category, "os2") || str_is(part->category, "om3"))
                     ? "between buildings, on fibre"
                     : "between buildings: fibre, or protection at both ends");
    if (is_given(r->mains_m)) {
        note(&b, "");
        buf_printf(&b, "keeps %.2f m from mains", r->mains_m);
    } else if (!is_cord) {
        note(&b, "find the mains, keep 0.20 m from them");
    }
    if (h->cables.v[cable].owned)
        note(&b, "owned");
    return done(&b);
}
