/* Sockets, sockets that feed, and watts to feed: for what hangs on a cable. */
#include <math.h>

#include "base/units.h"
#include "data/poe_classes.h"
#include "promise/growth.h"
#include "promise/wire_words.h"

/* Switches and gateways in one room stand together: a cable goes to whichever has a socket. */
struct site {
    struct growth *g;
    uint32_t room;             /* NO_REF: `main` stands by itself */
    uint32_t first, main;      /* of its equipment; and the switch with the most sockets, NO_REF: none */
    struct growth_use sockets; /* for cables of copper */
    uint32_t of_main;          /* sockets of the main switch */
    int class_most;            /* of the devices that are fed from here; -1: none is */
};

static const struct part *part_of(const struct house *h, uint32_t e)
{
    return h->equipment.v[e].part.i == NO_REF ? NULL : &h->parts.list.v[h->equipment.v[e].part.i];
}

static uint32_t room_of(const struct house *h, uint32_t e)
{
    for (uint32_t steps = 0; steps <= h->equipment.n; steps++) {
        if (h->equipment.v[e].room.i != NO_REF || h->equipment.v[e].inside.i == NO_REF)
            break;
        e = h->equipment.v[e].inside.i;
    }
    return h->equipment.v[e].room.i;
}

static bool shares_out_sockets(const struct house *h, uint32_t e)
{
    const struct part *part = part_of(h, e);
    return part && (part->kind == PART_SWITCH || part->kind == PART_GATEWAY);
}

static bool is_of_site(const struct site *s, uint32_t e)
{
    return shares_out_sockets(s->g->h, e) && (s->room == NO_REF ? e == s->first : room_of(s->g->h, e) == s->room);
}

static bool is_copper(const struct l2_port *port) { return str_is(port->group->medium, "copper"); }

/* A socket that a device could be plugged into: of copper, not the line's, not kept for the way up. */
static bool is_socket(const struct l2_port *port)
{
    return is_copper(port) && port->mode != PORT_LINE && (port->cable != NO_REF || !port->group->uplink);
}

static void look_at_port(struct site *s, const struct l2_port *port)
{
    if (!is_socket(port))
        return;
    s->sockets.limit += 1.0;
    if (port->cable == NO_REF)
        return;
    if (port->far_device != NO_REF)
        growth_of_device(s->g, port->far_device, 1.0, &s->sockets);
    else
        s->sockets.fixed += 1.0;
}

static uint32_t sockets_of(const struct layer2 *l2, uint32_t e)
{
    uint32_t n = 0;
    for (uint32_t i = l2->first_port[e]; i < l2->first_port[e + 1]; i++)
        n += is_socket(&l2->ports.v[i]);
    return n;
}

static void find_main(struct site *s, const struct layer2 *l2)
{
    for (uint32_t e = 0; e < s->g->h->equipment.n; e++) {
        const struct part *part = part_of(s->g->h, e);
        if (!is_of_site(s, e) || part->kind != PART_SWITCH || sockets_of(l2, e) <= s->of_main)
            continue;
        s->main = e;
        s->of_main = sockets_of(l2, e);
    }
}

/* ---- sockets that feed ---- */

/* Sockets that feed this class or a higher one, and what on such a class is fed from here. */
static struct growth_use feeding_sockets(const struct site *s, const struct layer2 *l2, const struct power_plan *power,
                                         int class)
{
    struct growth_use use = { .unit = "", .is_whole = true, .kept_free = s->g->headroom };
    for (uint32_t i = 0; i < l2->ports.n; i++)
        use.limit += is_of_site(s, l2->ports.v[i].equipment) && is_socket(&l2->ports.v[i]) &&
                     l2->ports.v[i].group->poe_class >= class;
    for (uint32_t i = 0; i < power->feeds.n; i++) {
        const struct power_feed *f = &power->feeds.v[i];
        if (f->source == NO_REF || !is_of_site(s, f->source) || f->class_asked < class)
            continue;
        if (f->device != NO_REF)
            growth_of_device(s->g, f->device, 1.0, &use);
        else
            use.fixed += 1.0;
    }
    return use;
}

/* ---- watts ---- */

double growth_of_feeds_w(const struct growth *g, const struct power_plan *power, uint32_t source, bool at_full)
{
    double sum_w = 0.0;
    for (uint32_t i = 0; i < power->feeds.n; i++) {
        const struct power_feed *f = &power->feeds.v[i];
        const double drawn_w = at_full ? f->drawn_w : f->drawn_typical_w;
        const double taken_w = at_full ? f->wanted_w : f->typical_w;
        if (f->source != source)
            continue;
        if (f->device != NO_REF)
            sum_w += drawn_w * g->share[f->device];
        else if (taken_w > 0.0)
            sum_w += drawn_w * fmin(1.0, growth_of_feeds_w(g, power, f->equipment, at_full) / taken_w);
    }
    return sum_w;
}

static struct growth_use watts_at_full(const struct growth *g, const struct power_plan *power,
                                       const struct power_source *q)
{
    const double growing = growth_of_feeds_w(g, power, q->equipment, true);
    return (struct growth_use){
        .unit = "W", .limit = q->budget_w, .kept_free = g->headroom, .fixed = q->worst_w - growing, .growing = growing
    };
}

/* All start at once, each with the watts of its class: of those nothing need be left over. */
static struct growth_use watts_at_start(const struct growth *g, const struct power_plan *power,
                                        const struct power_source *q)
{
    struct growth_use use = { .unit = "W", .limit = q->budget_w, .fixed = q->start_w };
    for (uint32_t i = 0; i < power->feeds.n; i++) {
        const struct power_feed *f = &power->feeds.v[i];
        const struct poe_class *class = poe_class(f->class_granted);
        if (f->source != q->equipment || f->device == NO_REF || !class)
            continue;
        use.growing += class->source_w * g->share[f->device];
        use.fixed -= class->source_w * g->share[f->device];
    }
    return use;
}

/* ---- what would mend it ---- */

static bool enough(const struct growth *g, struct growth_use use, double more)
{
    use.limit += more;
    return growth_used(&use, g->times) <= growth_usable(&use);
}

/* Sockets of a part that a device fits, and feeds of this class (0: any). */
static double sockets_of_part(const struct part *part, int class)
{
    double n = 0.0;
    for (uint32_t i = 0; i < part->ports.n; i++)
        if (str_is(part->ports.v[i].medium, "copper") && !part->ports.v[i].uplink &&
            (class == 0 || part->ports.v[i].poe_class >= class))
            n += part->ports.v[i].count;
    return n;
}

/* Would the house have enough of everything here with this part in place of a switch? */
static bool would_do(const struct site *s, const struct layer2 *l2, const struct power_plan *power, uint32_t old,
                     const struct part *part)
{
    const struct growth *g = s->g;
    const struct part *was = part_of(g->h, old);
    const struct power_source *q = power_source_of(power, old);
    if (part->kind != PART_SWITCH || part->vlans < was->vlans || is_given(part->poe_class_needed) ||
        !enough(g, s->sockets, sockets_of_part(part, 0) - sockets_of(l2, old)))
        return false;
    for (int class = 1; class <= s->class_most; class ++)
        if (!enough(g, feeding_sockets(s, l2, power, class),
                    sockets_of_part(part, class) - sockets_of_part(was, class)))
            return false;
    if (!q)
        return true;
    struct growth_use full = watts_at_full(g, power, q), start = watts_at_start(g, power, q);
    full.limit = start.limit = given_or(part->poe_budget_w, 0.0);
    return enough(g, full, 0.0) && enough(g, start, 0.0);
}

static struct str mend_words(const struct site *s, const struct layer2 *l2, const struct power_plan *power,
                             uint32_t old, const char *otherwise)
{
    const struct house *h = s->g->h;
    const struct part *best = NULL;
    for (uint32_t i = 0; old != NO_REF && i < h->parts.list.n; i++) {
        const struct part *part = &h->parts.list.v[i];
        if ((!best || part->price < best->price) && would_do(s, l2, power, old, part))
            best = part;
    }
    if (!best)
        return str_from(otherwise);
    const char *text =
        arena_printf(s->g->a, "%.*s in place of %.*s", STR_ARG(best->says), STR_ARG(equipment_words(h, old)));
    return str_from(text ? text : otherwise);
}

/* ---- the uses ---- */

static struct str words_at(const struct site *s, const char *what)
{
    const struct house *h = s->g->h;
    const struct str at = s->room != NO_REF ? house_room_name(h, s->room) : equipment_words(h, s->first);
    const char *text = arena_printf(s->g->a, "%s (%.*s)", what, STR_ARG(at));
    s->g->failed |= !text;
    return str_from(text ? text : what);
}

static struct site site_of(struct growth *g, const struct layer2 *l2, const struct power_plan *power, uint32_t e)
{
    struct site s = { .g = g, .room = room_of(g->h, e), .first = e, .main = NO_REF, .class_most = -1 };
    s.sockets = (struct growth_use){ .unit = "", .is_whole = true, .kept_free = g->headroom };
    find_main(&s, l2);
    for (uint32_t i = 0; i < l2->ports.n; i++)
        if (is_of_site(&s, l2->ports.v[i].equipment))
            look_at_port(&s, &l2->ports.v[i]);
    for (uint32_t i = 0; i < power->feeds.n; i++) {
        const struct power_feed *f = &power->feeds.v[i];
        if (f->device != NO_REF && f->source != NO_REF && is_of_site(&s, f->source) && f->class_asked > s.class_most)
            s.class_most = f->class_asked;
    }
    return s;
}

static void add_sockets(struct site *s, const struct layer2 *l2, const struct power_plan *power)
{
    const struct str where = s->g->h->equipment.v[s->main == NO_REF ? s->first : s->main].id;
    s->sockets.what = words_at(s, "sockets for cables");
    s->sockets.where = where;
    s->sockets.mend = mend_words(s, l2, power, s->main, "one more switch");
    growth_add(s->g, s->sockets);
    if (s->class_most < 0)
        return;
    struct growth_use feeding = feeding_sockets(s, l2, power, s->class_most);
    const char *what = arena_printf(s->g->a, "sockets that feed class %d", s->class_most);
    feeding.what = words_at(s, what ? what : "sockets that feed");
    feeding.where = where;
    feeding.mend = mend_words(s, l2, power, s->main, "one more switch that feeds");
    growth_add(s->g, feeding);
}

static enum rt_code begin(struct growth *g, const struct layer2 **l2, const struct power_plan **power,
                          struct rt_problems *p)
{
    struct proof *proof;
    RT_TRY(evaluation_proof(g->ev, &proof, p));
    RT_TRY(evaluation_power(g->ev, power, p));
    *l2 = g->ev->layer2;
    return RT_OK;
}

enum rt_code growth_sockets(struct growth *g, struct rt_problems *p)
{
    const struct layer2 *l2 = NULL;
    const struct power_plan *power = NULL;
    RT_TRY(begin(g, &l2, &power, p));
    for (uint32_t e = 0; e < g->h->equipment.n; e++) {
        if (!shares_out_sockets(g->h, e))
            continue;
        struct site s = site_of(g, l2, power, e);
        bool is_done = false;
        for (uint32_t k = 0; k < e; k++)
            is_done |= is_of_site(&s, k);
        if (!is_done)
            add_sockets(&s, l2, power);
    }
    return RT_OK;
}

static void add_watts(struct growth *g, const struct layer2 *l2, const struct power_plan *power,
                      const struct power_source *q)
{
    const struct str who = equipment_words(g->h, q->equipment), id = g->h->equipment.v[q->equipment].id;
    const char *full = arena_printf(g->a, "watts over the cables (%.*s)", STR_ARG(who));
    const char *start = arena_printf(g->a, "watts to start all at once (%.*s)", STR_ARG(who));
    const struct part *part = part_of(g->h, q->equipment);
    const char *missing = arena_printf(g->a, "say how many watts part `%.*s` gives over all its ports (`poe_budget_w`)",
                                       STR_ARG(part->id));
    g->failed |= !full || !start || !missing;
    if (g->failed)
        return;
    if (!is_given(q->budget_w)) {
        growth_add(g, (struct growth_use){ .what = str_from(full), .where = id, .missing = str_from(missing) });
        return;
    }
    const struct site s = site_of(g, l2, power, q->equipment);
    const uint32_t old = part->kind == PART_SWITCH ? q->equipment : NO_REF;
    struct growth_use uses[] = { watts_at_full(g, power, q), watts_at_start(g, power, q) };
    uses[0].what = str_from(full);
    uses[1].what = str_from(start);
    for (size_t i = 0; i < RT_COUNT(uses); i++) {
        uses[i].where = id;
        uses[i].mend = mend_words(&s, l2, power, old, "a source with a larger budget");
        growth_add(g, uses[i]);
    }
}

enum rt_code growth_watts(struct growth *g, struct rt_problems *p)
{
    const struct layer2 *l2 = NULL;
    const struct power_plan *power = NULL;
    RT_TRY(begin(g, &l2, &power, p));
    for (uint32_t i = 0; i < power->sources.n && !g->failed; i++)
        add_watts(g, l2, power, &power->sources.v[i]);
    return RT_OK;
}
