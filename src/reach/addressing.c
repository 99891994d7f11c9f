/* The order of the plan, and what its parts share. */
#include "reach/addressing.h"

#include "base/random.h"
#include "base/units.h"
#include "reach/addressing_int.h"

/* FNV-1a, 64 bits (draft-eastlake-fnv, from memory), mixed with the house's key. */
static uint64_t text_hash(struct str text)
{
    uint64_t x = 0xcbf29ce484222325u;
    for (size_t i = 0; i < text.n; i++)
        x = (x ^ (unsigned char)text.p[i]) * 0x100000001b3u;
    return x;
}

uint64_t planner_hash(const struct planner *pl, enum plan_stream stream, struct str text)
{
    return random_u64(pl->key, stream, text_hash(text));
}

void planner_no_memory(struct planner *pl)
{
    if (pl->code == RT_OK)
        pl->code = rt_fail_memory(pl->p);
}

RT_PRINTF(2, 0) static const char *format(struct planner *pl, const char *fmt, va_list args)
{
    const char *text = arena_vprintf(pl->run->arena, fmt, args);
    if (!text)
        planner_no_memory(pl);
    return text ? text : "";
}

const char *planner_text(struct planner *pl, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *text = format(pl, fmt, args);
    va_end(args);
    return text;
}

void planner_fail(struct planner *pl, enum rt_code code, struct rt_place at, const char *hint, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *text = format(pl, fmt, args);
    va_end(args);
    const enum rt_code given = rt_fail(pl->p, code, at, hint, "%s", text);
    if (pl->code == RT_OK)
        pl->code = given;
}

void planner_note(struct planner *pl, struct rt_place at, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *text = format(pl, fmt, args);
    va_end(args);
    const struct note note = { .at = at, .says = str_from(text) };
    if (!VEC_PUSH(pl->run->arena, &pl->notes, note))
        planner_no_memory(pl);
}

static const char *buf_or_empty(struct planner *pl, const struct buf *b)
{
    if (b->failed)
        planner_no_memory(pl);
    return b->failed || !b->p ? "" : b->p;
}

const char *planner_prefix_text(struct planner *pl, struct prefix p)
{
    struct buf b = { .arena = pl->run->arena };
    prefix_write(&b, p);
    return buf_or_empty(pl, &b);
}

const char *planner_address_text(struct planner *pl, enum family family, axis_value address)
{
    struct buf b = { .arena = pl->run->arena };
    address_write(&b, family, address);
    return buf_or_empty(pl, &b);
}

axis_value digits_as_hex(uint32_t number)
{
    axis_value out = 0;
    for (unsigned shift = 0; number > 0; shift += 4, number /= 10)
        out |= (axis_value)(number % 10) << shift;
    return out;
}

/* ---- VLANs ---- */

enum { VLAN_STEP = 10, VLAN_LAST = 4094 };

static uint32_t free_vlan(const bool *used, uint32_t from, uint32_t step)
{
    for (uint32_t v = from; v <= VLAN_LAST; v += step)
        if (!used[v])
            return v;
    return 0;
}

/* Multiples of ten leave room between; VLAN 1 is what ports carry by default, so that it is chosen for nobody. */
static void plan_vlans(struct planner *pl)
{
    const struct house *h = pl->h;
    bool used[VLAN_LAST + 1] = { false };
    for (uint32_t i = 0; i < h->segments.n; i++)
        if (is_given(h->segments.v[i].vlan))
            used[(uint32_t)h->segments.v[i].vlan] = true;
    for (uint32_t i = 0; i < h->segments.n; i++) {
        struct segment_plan *s = &pl->plan->segments[i];
        s->vlan_chosen = !is_given(h->segments.v[i].vlan);
        if (!s->vlan_chosen) {
            s->vlan = (unsigned)h->segments.v[i].vlan;
            continue;
        }
        s->vlan = free_vlan(used, VLAN_STEP, VLAN_STEP);
        if (s->vlan == 0)
            s->vlan = free_vlan(used, 2, 1);
        if (s->vlan == 0)
            planner_fail(pl, RT_LIMIT, h->segments.v[i].at, NULL, "segment '%.*s': no VLAN is left for it",
                         STR_ARG(h->segments.v[i].id));
        used[s->vlan] = true;
    }
}

/* ---- the line ---- */

/* RFC 3849: 2001:db8::/32 is nobody's. */
static const axis_value STAND_IN = (axis_value)0x20010db8 << 96;

static void plan_line(struct planner *pl)
{
    struct address_plan *plan = pl->plan;
    const struct line *line = &pl->h->line;
    if (line->at.line == 0)
        return;
    if (is_given(line->ipv6_prefix_len))
        plan->delegated = (struct prefix){
            .family = FAMILY_IPV6, .base = STAND_IN, .len = (unsigned)line->ipv6_prefix_len, .is_given = true
        };
    plan->shared_ipv4 = line->public_ipv4 == PUBLIC_IPV4_SHARED;
    plan->no_ipv4 = line->public_ipv4 == PUBLIC_IPV4_NONE;
    plan->translated_twice = line->box.at.line && line->box.mode == BOX_ROUTER;
    if (plan->translated_twice && line->box.ipv4.n)
        (void)prefix_read(line->box.ipv4, &plan->box_ipv4);
}

static bool plan_room(struct planner *pl)
{
    struct arena *a = pl->run->arena;
    struct address_plan *plan = pl->plan = ARENA_NEW(a, struct address_plan);
    if (!plan)
        return false;
    const struct house *h = plan->h = pl->h;
    plan->n_zones = ZONE_SEGMENT + h->segments.n + h->remote_access.n;
    plan->segments = ARENA_ARRAY(a, struct segment_plan, h->segments.n);
    plan->devices = ARENA_ARRAY(a, struct device_plan, h->devices.n);
    plan->tunnels = ARENA_ARRAY(a, struct tunnel_plan, h->remote_access.n);
    plan->interfaces = ARENA_ARRAY(a, struct str, plan->n_zones);
    return plan->segments && plan->devices && plan->tunnels && plan->interfaces;
}

enum rt_code addresses_plan(const struct run *run, const struct house *h, struct address_plan **out,
                            struct rt_problems *p)
{
    struct planner pl = { .run = run, .h = h, .p = p };
    pl.key = random_u64(run->seed, text_hash(h->name), text_hash(h->country));
    if (!plan_room(&pl))
        return rt_fail_memory(p);
    plan_vlans(&pl);
    plan_line(&pl);
    plan_subnets(&pl);
    plan_devices(&pl);
    if (pl.code == RT_OK) {
        plan_interfaces(&pl);
        plan_notes(&pl);
    }
    if (pl.code != RT_OK)
        return pl.code;
    pl.plan->notes = (note_list){ pl.notes.v, pl.notes.n };
    *out = pl.plan;
    return RT_OK;
}
