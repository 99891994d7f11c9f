#include "promise/damage.h"

#include <string.h>

#include "promise/evaluation.h"
#include "promise/wire_words.h"

struct breaker {
    struct evaluation *whole;
    struct arena *arena;
    const struct house *h;
    const struct energy_plan *energy;
    struct damage *d;
    uint32_t n_things;
};

static void kill(struct damage *d, uint32_t thing, enum death why)
{
    if (d->dead_thing[thing])
        return;
    d->dead_thing[thing] = true;
    d->death[thing] = why;
}

/* ---- what dies at once ---- */

static struct str circuit_of(const struct house *h, uint32_t thing)
{
    return thing < h->equipment.n ? h->equipment.v[thing].circuit : h->devices.v[thing - h->equipment.n].circuit;
}

static const struct power_feed *feed_of(const struct power_plan *power, uint32_t thing)
{
    const uint32_t n = power->h->equipment.n;
    const uint32_t i = thing < n ? power->feed_of_equipment[thing] : power->feed_of_device[thing - n];
    return i == NO_REF ? NULL : &power->feeds.v[i];
}

static bool battery_lives(const struct breaker *b, uint32_t battery)
{
    return battery != NO_REF &&
           !(b->energy->batteries[battery].minutes <= b->d->failure.after_minutes); /* NaN: lives */
}

static bool lives_on_battery(const struct breaker *b, uint32_t thing)
{
    const uint32_t n = b->h->equipment.n;
    return battery_lives(b,
                         thing < n ? b->energy->battery_of_equipment[thing] : b->energy->battery_of_device[thing - n]);
}

static bool is_on_circuit(const struct failure *f, struct str circuit)
{
    return f->circuit.n == 0 || str_eq(f->circuit, circuit);
}

static void cut_mains(struct breaker *b)
{
    const struct house *h = b->h;
    const struct failure *f = &b->d->failure;
    for (uint32_t t = 0; t < b->n_things; t++) {
        const bool is_device = t >= h->equipment.n;
        if (is_device && h->devices.v[t - h->equipment.n].link == LINK_NONE)
            continue;
        if (!feed_of(b->d->power, t) && thing_needs_power(h, t) && is_on_circuit(f, circuit_of(h, t)) &&
            !lives_on_battery(b, t))
            kill(b->d, t, DEATH_MAINS);
    }
    if (line_box_needs_power(h) && is_on_circuit(f, h->line.box.circuit) &&
        !battery_lives(b, b->energy->battery_of_line))
        b->d->line_dead = true;
}

static bool is_disk_of(const struct recording *r, uint32_t equipment)
{
    for (uint32_t i = 0; i < r->disks.n; i++)
        if (r->disks.v[i].i == equipment)
            return true;
    return false;
}

/* Mirrored pictures are on every disk. */
static void lose_pictures(struct breaker *b)
{
    const struct house *h = b->h;
    const struct failure *f = &b->d->failure;
    for (uint32_t r = 0; r < h->recordings.n; r++) {
        const struct recording *rec = &h->recordings.v[r];
        if (f->recording != NO_REF)
            b->d->pictures_lost[r] = rec->disks.n == 0 && str_eq(rec->recorder, h->recordings.v[f->recording].recorder);
        else
            b->d->pictures_lost[r] = is_disk_of(rec, f->i) && !(rec->mirrored && rec->disks.n > 1);
    }
}

static void strike(struct breaker *b)
{
    const struct failure *f = &b->d->failure;
    switch (f->kind) {
    case FAILURE_CABLE:
        b->d->dead_cable[f->i] = true;
        break;
    case FAILURE_LINE:
        b->d->line_dead = true;
        break;
    case FAILURE_MAINS:
        cut_mains(b);
        break;
    case FAILURE_DISK:
        lose_pictures(b);
        if (f->i != NO_REF)
            kill(b->d, f->i, DEATH_FAILED);
        break;
    default:
        kill(b->d, f->i, DEATH_FAILED);
    }
}

/* ---- what dies of it ---- */

static bool way_is_dead(const struct damage *d, const struct power_feed *f)
{
    for (uint32_t i = 0; i < f->way.n; i++)
        if (d->dead_cable[f->way.v[i].i])
            return true;
    return false;
}

/* Over the cables, from the sources outwards: a feed of a feed takes another round.  What stayed dark before is not lost. */
static void starve(struct breaker *b)
{
    const struct power_plan *power = b->d->power;
    for (bool found = true; found;) {
        found = false;
        for (uint32_t i = 0; i < power->feeds.n; i++) {
            const struct power_feed *f = &power->feeds.v[i];
            const uint32_t thing = f->equipment != NO_REF ? f->equipment : tree_device(b->h, f->device);
            if (f->source == NO_REF || f->class_granted < 0 || b->d->dead_thing[thing])
                continue;
            if (b->d->dead_thing[f->source])
                kill(b->d, thing, DEATH_SOURCE);
            else if (way_is_dead(b->d, f))
                kill(b->d, thing, DEATH_CABLE);
            found |= b->d->dead_thing[thing];
        }
    }
}

/* ---- what is cut off ---- */

static void number_islands(struct damage *d)
{
    const struct house *h = d->h;
    const uint32_t n = h->equipment.n + h->devices.n;
    memset(d->island, 0xff, n * sizeof *d->island);
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (!d->dead_thing[e])
            d->island[e] = e;
    for (bool found = true; found;) { /* the least number of all that are joined; devices pass nothing on */
        found = false;
        for (uint32_t c = 0; c < h->cables.n; c++) {
            const uint32_t ends[2] = { tree_thing_of(h, &h->cables.v[c].from), tree_thing_of(h, &h->cables.v[c].to) };
            if (d->dead_cable[c] || ends[0] == NO_REF || ends[1] == NO_REF || d->dead_thing[ends[0]] ||
                d->dead_thing[ends[1]])
                continue;
            for (int k = 0; k < 2; k++) {
                const uint32_t from = ends[k], to = ends[1 - k];
                if (from < h->equipment.n && d->island[from] < d->island[to]) {
                    d->island[to] = d->island[from];
                    found = true;
                }
            }
        }
    }
}

static void cut_off_wires(struct breaker *b)
{
    struct damage *d = b->d;
    for (uint32_t t = 0; t < b->n_things; t++) {
        const bool is_wireless = t >= b->h->equipment.n && b->h->devices.v[t - b->h->equipment.n].link != LINK_WIRED;
        d->cut_off[t] =
            !is_wireless && !d->dead_thing[t] && tree_is_joined(d->before, t) && !tree_is_joined(&d->tree, t);
    }
    d->gateway_dead = d->before->gateway != NO_REF && d->dead_thing[d->before->gateway];
    for (uint32_t r = 0; r < d->n_radios; r++) {
        const uint32_t e = b->whole->radios.v[r].equipment;
        d->dead_radio[r] = damage_has_lost(d, e) || d->gateway_dead;
        d->n_dead_radios += d->dead_radio[r];
    }
}

/* A device on Wi-Fi that moved to no other access point; without any radio lost all stay where they are. */
static enum rt_code cut_off_stations(struct breaker *b, struct rt_problems *p)
{
    struct damage *d = b->d;
    const struct stations *before = NULL, *after = NULL;
    if (d->n_dead_radios == 0)
        return RT_OK;
    struct evaluation hurt;
    evaluation_damaged(&hurt, b->whole, d);
    RT_TRY(evaluation_stations(b->whole, &before, p));
    RT_TRY(evaluation_stations(&hurt, &after, p));
    for (uint32_t i = 0; i < before->list.n; i++) {
        const uint32_t t = tree_device(b->h, before->list.v[i].device);
        d->cut_off[t] = !d->dead_thing[t] && before->list.v[i].radio != NO_REF && after->list.v[i].radio == NO_REF;
    }
    d->stations = after;
    return RT_OK;
}

/* What hangs on the low-power mesh needs one hub that lives. */
static void cut_off_mesh(struct breaker *b)
{
    const struct house *h = b->h;
    uint32_t n_hubs = 0, n_alive = 0;
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (str_is(h->devices.v[i].kind, "hub")) {
            n_hubs++;
            n_alive += !damage_has_lost(b->d, tree_device(h, i));
        }
    for (uint32_t i = 0; n_hubs && !n_alive && i < h->devices.n; i++)
        if (h->devices.v[i].link == LINK_MESH)
            b->d->cut_off[tree_device(h, i)] = !b->d->dead_thing[tree_device(h, i)];
}

static bool take_room(struct breaker *b)
{
    struct damage *d = b->d;
    struct arena *a = b->arena;
    d->n_radios = b->whole->radios.n;
    d->dead_thing = ARENA_ARRAY(a, bool, b->n_things);
    d->death = ARENA_ARRAY(a, enum death, b->n_things);
    d->cut_off = ARENA_ARRAY(a, bool, b->n_things);
    d->island = ARENA_ARRAY(a, uint32_t, b->n_things);
    d->dead_cable = ARENA_ARRAY(a, bool, b->h->cables.n);
    d->dead_radio = ARENA_ARRAY(a, bool, d->n_radios);
    d->pictures_lost = ARENA_ARRAY(a, bool, b->h->recordings.n);
    return d->dead_thing && d->death && d->cut_off && d->island && d->dead_cable && d->dead_radio && d->pictures_lost;
}

static enum rt_code begin(struct breaker *b, struct evaluation *whole, const struct failure *failure,
                          struct rt_problems *p)
{
    *b = (struct breaker){ .whole = whole, .arena = whole->run->arena, .h = whole->h };
    b->n_things = b->h->equipment.n + b->h->devices.n;
    b->d = ARENA_NEW(b->arena, struct damage);
    if (!b->d)
        return rt_fail_memory(p);
    *b->d = (struct damage){ .h = b->h, .failure = *failure };
    RT_TRY(evaluation_energy(whole, &b->energy, p));
    RT_TRY(evaluation_tree(whole, &b->d->before, p));
    b->d->power = b->energy->power;
    return take_room(b) ? RT_OK : rt_fail_memory(p);
}

/* All that dies, or is cut off, of what is dead. */
static enum rt_code spread(struct breaker *b, struct damage **out, struct rt_problems *p)
{
    starve(b);
    if (!cable_tree_make(b->arena, b->h, b->d->dead_thing, b->d->dead_cable, &b->d->tree))
        return rt_fail_memory(p);
    number_islands(b->d);
    cut_off_wires(b);
    b->d->line_dead |= b->d->gateway_dead;
    RT_TRY(cut_off_stations(b, p));
    cut_off_mesh(b);
    *out = b->d;
    return RT_OK;
}

enum rt_code damage_make(struct evaluation *whole, const struct failure *failure, struct damage **out,
                         struct rt_problems *p)
{
    struct breaker b;
    RT_TRY(begin(&b, whole, failure, p));
    strike(&b);
    return spread(&b, out, p);
}

/* Without a disk: no pictures, unless there is another with the same on it. */
static bool loses_pictures(const struct recording *r, const bool *is_absent)
{
    uint32_t n_left = 0;
    for (uint32_t i = 0; i < r->disks.n; i++)
        n_left += !is_absent[r->disks.v[i].i];
    return n_left < r->disks.n && !(r->mirrored && n_left);
}

static enum rt_code lose_batteries(struct breaker *b, const bool *is_absent, struct rt_problems *p)
{
    bool is_one_lost = false;
    struct energy_plan *left;
    for (uint32_t i = 0; i < b->h->batteries.n; i++) {
        const uint32_t piece = energy_battery_piece(b->h, i);
        is_one_lost |= piece != NO_REF && is_absent[piece];
    }
    if (!is_one_lost)
        return RT_OK;
    RT_TRY(energy_plan_without(b->whole->run, b->d->power, is_absent, &left, p));
    b->d->energy = left;
    return RT_OK;
}

enum rt_code damage_of_absence(struct evaluation *whole, const struct absence *absence, struct damage **out,
                               struct rt_problems *p)
{
    const struct failure none = { .kind = FAILURE_KIND_COUNT, .i = NO_REF, .recording = NO_REF };
    struct breaker b;
    RT_TRY(begin(&b, whole, &none, p));
    for (uint32_t i = 0; i < b.h->equipment.n; i++)
        if (absence->equipment[i])
            kill(b.d, i, DEATH_FAILED);
    for (uint32_t i = 0; i < b.h->cables.n; i++)
        b.d->dead_cable[i] = absence->cables[i];
    for (uint32_t i = 0; i < b.h->recordings.n; i++)
        b.d->pictures_lost[i] = loses_pictures(&b.h->recordings.v[i], absence->equipment);
    RT_TRY(lose_batteries(&b, absence->equipment, p));
    return spread(&b, out, p);
}

bool damage_tree_at(struct arena *a, const struct damage *d, uint32_t thing, struct cable_tree *out)
{
    const struct house *h = d->h;
    uint32_t root = NO_REF, most = 0;
    if (tree_is_joined(&d->tree, thing) || d->island[thing] == NO_REF) {
        *out = d->tree;
        return true;
    }
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        uint32_t n = 0;
        if (d->island[e] != d->island[thing])
            continue;
        for (uint32_t c = 0; c < h->cables.n; c++)
            n += !d->dead_cable[c] && (h->cables.v[c].from.equipment == e || h->cables.v[c].to.equipment == e);
        if (root == NO_REF || n > most) {
            root = e;
            most = n;
        }
    }
    return cable_tree_hang(a, h, root, d->dead_thing, d->dead_cable, out);
}

/* ---- in words ---- */

struct str damage_thing_id(const struct house *h, uint32_t thing)
{
    return thing < h->equipment.n ? h->equipment.v[thing].id : h->devices.v[thing - h->equipment.n].id;
}

struct str damage_thing_words(const struct house *h, uint32_t thing)
{
    return thing < h->equipment.n ? equipment_words(h, thing) : device_words(h, thing - h->equipment.n);
}

/* The first dead cable over which it was fed. */
static struct str dead_on_way(const struct damage *d, const struct power_feed *f)
{
    for (uint32_t i = 0; f && i < f->way.n; i++)
        if (d->dead_cable[f->way.v[i].i])
            return d->h->cables.v[f->way.v[i].i].id;
    return STR("");
}

static void dead_words(struct buf *b, const struct damage *d, uint32_t thing)
{
    const struct power_feed *f = feed_of(d->power, thing);
    switch (d->death[thing]) {
    case DEATH_MAINS:
        buf_text(b, " has no mains");
        break;
    case DEATH_SOURCE:
        buf_printf(b, " has no power: %.*s fed it", STR_ARG(damage_thing_words(d->h, f->source)));
        break;
    case DEATH_CABLE:
        buf_printf(b, " has no power: it came over cable %.*s", STR_ARG(dead_on_way(d, f)));
        break;
    default:
        buf_text(b, " is dead");
    }
}

/* The first dead thing or cable on the way it had to the gateway. */
static void cut_words(struct buf *b, const struct damage *d, uint32_t thing)
{
    const struct house *h = d->h;
    const enum link_kind link = thing < h->equipment.n ? LINK_WIRED : h->devices.v[thing - h->equipment.n].link;
    if (link == LINK_WIFI) {
        buf_text(b, d->n_dead_radios == d->n_radios ? " is cut off: no access point works"
                                                    : " is out of reach of every access point that still works");
        return;
    }
    if (link == LINK_MESH) {
        buf_text(b, " is cut off: no hub works");
        return;
    }
    for (uint32_t at = thing; d->before->parent[at] != NO_REF; at = d->before->parent[at]) {
        const uint32_t cable = d->before->parent_cable[at], up = d->before->parent[at];
        if (d->dead_cable[cable]) {
            buf_printf(b, " is cut off: its way leads over cable %.*s", STR_ARG(h->cables.v[cable].id));
            return;
        }
        if (d->dead_thing[up]) {
            buf_printf(b, " is cut off: it hangs behind %.*s", STR_ARG(damage_thing_words(h, up)));
            return;
        }
    }
    buf_text(b, " is cut off from the gateway");
}

struct str damage_words(struct arena *a, const struct damage *d, uint32_t thing)
{
    struct buf b = { .arena = a };
    buf_str(&b, damage_thing_words(d->h, thing));
    if (d->dead_thing[thing])
        dead_words(&b, d, thing);
    else
        cut_words(&b, d, thing);
    return buf_done(&b);
}
