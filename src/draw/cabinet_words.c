#include "draw/cabinet_words.h"

#include <math.h>

#include "base/units.h"
#include "promise/port_map.h"
#include "promise/wire_words.h"

struct str stand_words(struct sheet *s, const struct stand *t)
{
    const struct house *h = s->house;
    switch (t->kind) {
    case STAND_EQUIPMENT:
        return h->equipment.v[t->which].id;
    case STAND_DEVICE:
        return h->devices.v[t->which].id;
    case STAND_LINE_BOX:
        return STR("the provider's box");
    case STAND_PATCH:
        return STR("place for a row of sockets");
    case STAND_STRIP:
        return STR("place for a power strip");
    case STAND_SHELF:
        break;
    }
    return STR("shelf");
}

struct str stand_part_words(const struct sheet *s, const struct stand *t)
{
    const struct house *h = s->house;
    const struct ref none = { .i = NO_REF };
    const struct ref part = t->kind == STAND_EQUIPMENT ? h->equipment.v[t->which].part : none;
    if (part.i != NO_REF)
        return h->parts.list.v[part.i].says.n ? h->parts.list.v[part.i].says : h->parts.list.v[part.i].id;
    if (t->kind != STAND_DEVICE)
        return STR("");
    for (uint32_t i = 0; i < h->parts.list.n; i++)
        if (h->devices.v[t->which].part.n && str_eq(h->parts.list.v[i].id, h->devices.v[t->which].part))
            return h->parts.list.v[i].says;
    return STR("");
}

static void head(struct text_block *b, const char *words)
{
    if (b->lines.n)
        text_block_space(b, 2.2);
    text_block_add(b, TEXT_NOTE_HEAD, INK_LINE, str_from(words));
}

static void line(struct text_block *b, struct str words) { text_block_add(b, TEXT_NOTE, INK_LINE, words); }

/* ---- what stands in it ---- */

static struct str place_words(struct sheet *s, const struct front *f, const struct stand *t)
{
    if (!t->fits)
        return STR("no room is left for it");
    if (f->cabinet == NO_REF)
        return sheet_text(s, "lower edge %.2f m up", t->z_m);
    if (!t->unit)
        return STR("");
    return t->units > 1 ? sheet_text(s, "units %u to %u", t->unit, t->unit + t->units - 1)
                        : sheet_text(s, "unit %u", t->unit);
}

static void write_stand(struct text_block *b, const struct front *f, const struct stand *t)
{
    struct sheet *s = b->s;
    struct buf w = { .arena = s->arena };
    const struct str part = stand_part_words(s, t), place = place_words(s, f, t);
    buf_str(&w, stand_words(s, t));
    if (part.n)
        buf_printf(&w, " (%.*s)", STR_ARG(part));
    if (place.n)
        buf_printf(&w, ": %.*s", STR_ARG(place));
    if (t->is_moved)
        buf_text(&w, ", moved: in the file it overlaps another");
    if (!t->is_size_known)
        buf_text(&w, ", size not given");
    if (t->is_too_deep)
        buf_text(&w, ", too deep for this cabinet");
    s->failed |= w.failed;
    text_block_add(b, TEXT_NOTE, t->fits && !t->is_too_deep ? INK_LINE : INK_ACCENT, w.failed ? STR("") : buf_done(&w));
}

static void write_stands(struct text_block *b, const struct front *f)
{
    head(b, f->cabinet == NO_REF ? "What hangs here, from the top" : "What stands in it, from the top");
    for (uint32_t i = 0; i < f->stands.n; i++)
        if (f->stands.v[i].kind != STAND_SHELF)
            write_stand(b, f, &f->stands.v[i]);
    if (!f->stands.n)
        line(b, STR("nothing yet"));
    if (f->rack_units)
        line(b, f->units_free ? sheet_text(b->s, "free: %u of %u units", f->units_free, f->rack_units)
                              : STR("no unit is free"));
}

/* ---- sockets ---- */

static void write_patched(struct text_block *b, const struct front *f)
{
    const struct port_map *map = b->s->options->ports;
    const uint32_t n = f->patched.n;
    head(b, "Cables that come in here");
    if (!n) {
        line(b, STR("none but cords"));
        return;
    }
    line(b, sheet_text(b->s, "%u; their sockets from left to right:", n));
    for (uint32_t i = 0; i < n; i++) {
        const struct patched *p = &f->patched.v[i];
        const struct port_numbers ports = map ? map->numbers[p->cable] : (struct port_numbers){ 0 };
        const struct str label =
            end_label_line(b->s->arena, end_label_of_cable(b->s->arena, b->s->house, p->cable, p->at_from, ports));
        text_block_add(b, TEXT_CELL, INK_LINE, sheet_text(b->s, "%u  %.*s", i + 1, STR_ARG(label)));
    }
}

/* ---- mains ---- */

static struct str names_of(struct sheet *s, const struct front *f, enum stand_power power)
{
    struct buf b = { .arena = s->arena };
    for (uint32_t i = 0; i < f->stands.n; i++)
        if (f->stands.v[i].power == power) {
            buf_text(&b, b.n ? ", " : "");
            buf_str(&b, stand_words(s, &f->stands.v[i]));
        }
    s->failed |= b.failed;
    return b.failed ? STR("") : buf_done(&b);
}

static void write_mains(struct text_block *b, const struct front *f)
{
    struct sheet *s = b->s;
    const struct str strip = names_of(s, f, POWER_MAINS), battery = names_of(s, f, POWER_BATTERY),
                     cable = names_of(s, f, POWER_CABLE);
    head(b, "Mains");
    if (!f->n_strip && !f->n_battery)
        line(b, STR("no outlet is needed"));
    if (f->n_strip)
        line(b, sheet_text(s, "one outlet in the wall; %u plug%s on the strip: %.*s", f->n_strip,
                           f->n_strip == 1 ? "" : "s", STR_ARG(strip)));
    if (f->n_battery)
        line(b, sheet_text(s, "%u plug%s on the battery's own outlets: %.*s", f->n_battery,
                           f->n_battery == 1 ? "" : "s", STR_ARG(battery)));
    if (cable.n)
        line(b, sheet_text(s, "over the data cable: %.*s", STR_ARG(cable)));
}

/* ---- air and battery ---- */

static void write_air(struct text_block *b, const struct front *f)
{
    struct sheet *s = b->s;
    const struct cabinet_heat *c = f->heat;
    if (!c) {
        if (f->heat_w > 0.0) {
            head(b, "Heat");
            line(b, sheet_text(s, "up to %.0f W, in open air", f->heat_w));
        }
        return;
    }
    head(b, "Heat and air, all at full");
    if (!is_given(c->rise_k)) {
        line(b, sheet_text(s, "how warm it gets is not known: %.*s", STR_ARG(c->missing)));
        return;
    }
    line(b, sheet_text(s, "closed: %.0f W make it %.1f K warmer than the room: %.0f \302\260C where that has 25",
                       c->heat_w, c->rise_k, 25.0 + c->rise_k));
    line(b, sheet_text(s, "slots of 100 cm\302\262 at the foot and at the top: %.1f K", c->vented_k));
    line(b, c->flow_m3_per_h > 0.0
                ? sheet_text(s, "a fan of %.0f m\302\263/h keeps it to %.0f K", c->flow_m3_per_h, CABINET_RISE_K)
                : sheet_text(s, "no fan is needed: %.0f K are not reached", CABINET_RISE_K));
    line(b, sheet_text(s, "as it is (%.*s): %.1f K", STR_ARG(s->house->equipment.v[f->cabinet].air), c->air_k));
}

static void write_batteries(struct text_block *b, const struct front *f)
{
    struct sheet *s = b->s;
    const struct energy_plan *e = s->options->energy;
    if (!f->batteries.n || !e)
        return;
    head(b, "Without mains");
    for (uint32_t i = 0; i < f->batteries.n; i++) {
        const struct battery_life *life = &e->batteries[f->batteries.v[i]];
        const struct str id = s->house->batteries.v[f->batteries.v[i]].id;
        if (life->is_overloaded)
            text_block_add(b, TEXT_NOTE, INK_ACCENT,
                           sheet_text(s, "battery %.*s: %.0f W are more than it can give", STR_ARG(id), life->load_w));
        else if (is_given(life->minutes))
            line(b, sheet_text(s, "battery %.*s: %.0f min at %.0f W, what it feeds over cables included", STR_ARG(id),
                               floor(life->minutes), life->load_w));
        else
            line(b, sheet_text(s, "battery %.*s: not known; %.*s", STR_ARG(id), STR_ARG(life->missing)));
    }
}

void cabinet_write(struct text_block *b, const struct front *f)
{
    write_stands(b, f);
    write_patched(b, f);
    write_mains(b, f);
    write_air(b, f);
    write_batteries(b, f);
}
