#include "book/settings_int.h"

#include <string.h>
#include <strings.h>

#include "promise/wire_words.h"

/* ---- texts ---- */

struct str settings_text(struct settings_maker *m, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *text = arena_vprintf(m->arena, fmt, args);
    va_end(args);
    m->failed |= !text;
    return str_from(text ? text : "");
}

struct buf settings_buf(struct settings_maker *m) { return (struct buf){ .arena = m->arena }; }

struct str settings_done(struct settings_maker *m, const struct buf *b)
{
    m->failed |= b->failed;
    return buf_done(b);
}

struct str settings_address(struct settings_maker *m, enum family family, axis_value address)
{
    struct buf b = settings_buf(m);
    address_write(&b, family, address);
    return settings_done(m, &b);
}

struct str settings_prefix(struct settings_maker *m, struct prefix p)
{
    struct buf b = settings_buf(m);
    prefix_write(&b, p);
    return settings_done(m, &b);
}

struct str settings_address_in(struct settings_maker *m, struct prefix p, axis_value address)
{
    const struct str text = settings_address(m, p.family, address);
    return settings_text(m, "%.*s/%u", STR_ARG(text), p.len);
}

struct str settings_heading(struct settings_maker *m, const char *kind, uint32_t equipment)
{
    const struct str id = m->h->equipment.v[equipment].id, words = equipment_words(m->h, equipment);
    const size_t n = strlen(kind);
    if (!str_eq(words, id))
        return settings_text(m, "%s: %.*s (%.*s)", kind, STR_ARG(id), STR_ARG(words));
    return id.n <= n && strncasecmp(kind + n - id.n, id.p, id.n) == 0 ? str_from(kind)
                                                                      : settings_text(m, "%s: %.*s", kind, STR_ARG(id));
}

/* ---- filling ---- */

static bool last_block_is_empty(const struct settings_maker *m)
{
    return m->blocks.n && (!m->list.n || m->list.v[m->list.n - 1].block != m->blocks.n - 1);
}

static bool last_thing_is_empty(const struct settings_maker *m)
{
    return m->things.n && (!m->blocks.n || m->blocks.v[m->blocks.n - 1].thing != m->things.n - 1);
}

static void drop_empty(struct settings_maker *m)
{
    m->blocks.n -= last_block_is_empty(m);
    m->things.n -= last_thing_is_empty(m);
}

void settings_thing(struct settings_maker *m, struct str id, struct str words, struct str lead)
{
    const struct settings_thing thing = { id, words, lead };
    drop_empty(m);
    m->failed |= !VEC_PUSH(m->arena, &m->things, thing);
}

void settings_block(struct settings_maker *m, struct settings_block block)
{
    m->blocks.n -= last_block_is_empty(m);
    block.thing = m->things.n - 1;
    m->failed |= !VEC_PUSH(m->arena, &m->blocks, block);
}

static void add(struct settings_maker *m, struct str item, const char *name, struct str value, struct str reason,
                bool is_open)
{
    const struct setting s = { m->blocks.n - 1, item, str_from(name), value, reason, is_open };
    m->failed |= !VEC_PUSH(m->arena, &m->list, s);
}

void settings_add(struct settings_maker *m, struct str item, const char *name, struct str value, struct str reason)
{
    add(m, item, name, value, reason, false);
}

void settings_add_open(struct settings_maker *m, struct str item, const char *name, struct str value, struct str reason)
{
    add(m, item, name, value, reason, true);
}

/* ---- the order of the work ---- */

/* From the street inwards: what comes first must stand before what comes after can be tried. */
static void gateway(struct settings_maker *m)
{
    const uint32_t e = m->x->l2->gateway;
    if (e == NO_REF)
        settings_thing(m, STR("gateway"), STR("The gateway"),
                       STR("The house file has no gateway among its equipment: these are the settings of any that is "
                           "bought for it."));
    else
        settings_thing(m, m->h->equipment.v[e].id, settings_heading(m, "The gateway", e),
                       STR("It joins the segments with one another and with the internet, and is the only place where "
                           "one can be kept from another. Stay at it with a cable until its rules stand."));
    settings_line(m);
    settings_segments(m);
    settings_names(m);
    settings_rules(m);
    settings_ways_in(m);
    if (e != NO_REF)
        settings_ports(m, e);
}

enum rt_code settings_make(const struct export_house *x, struct evaluation *ev, const struct port_map *map,
                           struct settings **out, struct rt_problems *p)
{
    struct arena *a = x->run->arena;
    struct settings_maker m = { .run = x->run, .arena = a, .h = x->h, .x = x, .ev = ev, .map = map, .p = p };
    struct settings *s = ARENA_NEW(a, struct settings);
    *out = NULL;
    if (!s)
        return rt_fail_memory(p);
    RT_TRY(evaluation_power(ev, &m.power, p));
    RT_TRY(evaluation_energy(ev, &m.energy, p));
    settings_before(&m);
    settings_box(&m);
    gateway(&m);
    settings_switches(&m);
    settings_air(&m);
    RT_TRY(settings_pictures(&m));
    settings_battery(&m);
    settings_devices(&m);
    drop_empty(&m);
    if (m.failed)
        return rt_fail_memory(p);
    *s = (struct settings){ .h = x->h,
                            .x = x,
                            .things = { m.things.v, m.things.n },
                            .blocks = { m.blocks.v, m.blocks.n },
                            .list = { m.list.v, m.list.n } };
    *out = s;
    return RT_OK;
}
