/* What a design may choose from, put together: places, hubs, cables, and what the promises ask of ports and money. */
#include "design/space.h"

#include <math.h>

#include "design/space_int.h"
#include "promise/growth.h"

uint32_t maker_cheapest(const struct house *h, enum part_kind kind)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->parts.list.n; i++)
        if (h->parts.list.v[i].kind == kind &&
            (best == NO_REF || h->parts.list.v[i].price < h->parts.list.v[best].price))
            best = i;
    return best;
}

uint32_t maker_cord(const struct house *h, double length_m)
{
    uint32_t best = NO_REF;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        if (p->kind == PART_CORD && cable_is_copper(p->category) && p->per_m >= length_m - 1e-9 &&
            (best == NO_REF || p->price < h->parts.list.v[best].price))
            best = i;
    }
    return best;
}

enum rt_code maker_piece_price(struct space_maker *m, uint32_t part, int64_t *out)
{
    if (!money_amount(m->h->currency, maker_part(m, part)->price, 1.0, out))
        *out = 0; /* no known price: a gap of the bill */
    return bill_add_unforeseen(m->h, out, m->p);
}

enum rt_code maker_part_price(struct space_maker *m, uint32_t part, uint32_t mount, int64_t *out)
{
    RT_TRY(bill_price_part(m->run, m->h, part, mount, out, m->p));
    return bill_add_unforeseen(m->h, out, m->p);
}

/* ---- what the promises ask ---- */

/* The share that must be free now of what the wired devices use, so that there is enough when they have grown and a share is still
 * kept free then. */
static double growth_headroom(const struct house *h, const struct promise *q, double kept_free)
{
    double used = 0.0, then = 0.0;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        if (h->devices.v[i].link != LINK_WIRED)
            continue;
        used += 1.0;
        then += 1.0 + growth_share(h, h->devices.v[i].kind) * (q->times - 1.0);
    }
    return then > 0.0 ? 1.0 - used * (1.0 - kept_free) / then : 0.0;
}

static void ask_promises(struct space_maker *m)
{
    const struct house *h = m->h;
    m->length_share = 1.0;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        const double headroom = given_or(q->headroom_share, 0.0);
        if (q->kind == PROMISE_CABLE) {
            m->promised_mbps = fmax(m->promised_mbps, given_or(q->mbps, 0.0));
            m->spare = (uint32_t)fmax(m->spare, given_or(q->spare_ports, 0.0));
            m->length_share = fmin(m->length_share, 1.0 - headroom);
        } else if (q->kind == PROMISE_POWER) {
            m->watts_share = fmax(m->watts_share, headroom);
        } else if (q->kind == PROMISE_GROWTH && q->times >= 1.0) {
            m->ports_share = fmax(m->ports_share, growth_headroom(h, q, headroom));
            m->watts_share = fmax(m->watts_share, growth_headroom(h, q, headroom));
            m->start_share = fmax(m->start_share, growth_headroom(h, q, 0.0));
        }
    }
}

struct feed maker_feed(const struct space_maker *m, const struct poe_class *class, double max_w, double length_m)
{
    static const double SHARE_MOST = 0.99; /* all left over leaves nothing: then hardly anything fits */
    if (!class)
        return (struct feed){ 0 };
    /* The class's own loss is that of the longest channel. */
    const double loss = (class->source_w / class->device_w - 1.0) * fmin(1.0, length_m / 100.0);
    const double in_use_w =
        fmin(class->source_w, fmin(given_or(max_w, class->device_w), class->device_w) * (1.0 + loss));
    const double ports = 1.0 - m->ports_share; /* which placing takes off again */
    return (struct feed){ in_use_w * ports / (1.0 - fmin(m->watts_share, SHARE_MOST)),
                          class->source_w * ports / (1.0 - fmin(m->start_share, SHARE_MOST)) };
}

/* The tightest budget for all that is bought. */
static enum rt_code ask_budget(struct space_maker *m)
{
    struct placing *q = &m->space->placing;
    q->at_most = INT64_MAX;
    q->budget_promise = NO_REF;
    for (uint32_t i = 0; i < m->h->promises.n; i++) {
        const struct promise *k = &m->h->promises.v[i];
        const double purchase = given_or(k->purchase, m->h->budget.purchase);
        int64_t amount = 0;
        if (k->kind != PROMISE_COST || k->phase.i != NO_REF || !money_amount(m->h->currency, purchase, 1.0, &amount) ||
            amount >= q->at_most)
            continue;
        q->at_most = amount;
        q->budget_promise = i;
    }
    return RT_OK;
}

/* What the bill holds whatever is chosen. */
static enum rt_code find_owing(struct space_maker *m)
{
    struct house base = *m->asking;
    struct cable_plan *plan = NULL;
    struct wire_links links = { 0 };
    struct bill *bill = NULL;
    struct rt_problems unheard;
    base.cables.n = m->n_asked_cables;
    rt_problems_init(&unheard, m->a);
    const enum rt_code code = cables_plan(m->run, &base, &plan, &unheard);
    if (code == RT_CANCELLED)
        return rt_fail(m->p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    if (code)
        return rt_fail_memory(m->p);
    RT_TRY(wire_links_judge(m->run, plan, &links, m->p));
    RT_TRY(bill_make(m->run, plan, &links, NULL, &bill, m->p));
    m->space->placing.owing = bill->total;
    return RT_OK;
}

/* ---- the whole ---- */

static bool has_part(const struct house *h, enum part_kind kind)
{
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct part *p = equipment_part(h, e);
        if (p && p->kind == kind)
            return true;
    }
    return maker_cheapest(h, kind) != NO_REF;
}

static enum rt_code check_parts(const struct space_maker *m)
{
    static const struct {
        enum part_kind kind;
        const char *what;
    } NEEDED[] = { { PART_ACCESS_POINT, "access point" }, { PART_SWITCH, "switch" }, { PART_GATEWAY, "gateway" } };
    for (size_t i = 0; i < RT_COUNT(NEEDED); i++)
        if (!has_part(m->h, NEEDED[i].kind))
            return rt_fail(m->p, RT_MISSING, RT_NOWHERE, "add one to the parts file", "no %s is among the parts",
                           NEEDED[i].what);
    return RT_OK;
}

static double fastest_port_mbps(const struct house *h)
{
    double most = 0.0;
    for (uint32_t i = 0; i < h->parts.list.n; i++) {
        const struct part *p = &h->parts.list.v[i];
        for (uint32_t k = 0; p->kind == PART_SWITCH && k < p->ports.n; k++)
            if (!str_is(p->ports.v[k].medium, "sfp") && !str_is(p->ports.v[k].medium, "sfp_plus"))
                most = fmax(most, given_or(p->ports.v[k].speed_mbps, 0.0));
    }
    return most > 0.0 ? most : (double)INFINITY;
}

static enum rt_code begin(struct space_maker *m, const struct house *h, struct design_options options)
{
    struct design_space *s = m->space;
    struct house *changed = NULL;
    s->options = options;
    s->before = s->asked = h;
    if (options.anew) {
        RT_TRY(house_strip(m->run, h, &changed, m->p));
        s->asked = changed;
    }
    s->house = s->asked;
    if (options.generates) {
        RT_TRY(mounts_generate(m->run, s->asked, &options, &changed, m->p));
        s->house = changed;
    }
    m->h = s->house;
    m->n_file_mounts = s->asked->mounts.n;
    m->wants_vlans = m->h->segments.n > 1;
    m->fastest_mbps = fastest_port_mbps(m->h);
    ask_promises(m);
    RT_TRY(check_parts(m));
    return cable_tree_hang(m->a, s->asked, tree_root(s->asked), NULL, NULL, &m->tree) ? RT_OK : rt_fail_memory(m->p);
}

enum rt_code space_make(const struct run *run, const struct house *h, struct design_options options,
                        struct design_space **out, struct rt_problems *p)
{
    struct space_maker *m = ARENA_NEW(run->arena, struct space_maker);
    struct design_space *s = ARENA_NEW(run->arena, struct design_space);
    *out = NULL;
    if (!m || !s)
        return rt_fail_memory(p);
    *m = (struct space_maker){ .run = run, .a = run->arena, .p = p, .space = s };
    RT_TRY(begin(m, h, options));
    RT_TRY(maker_find_sites(m));
    RT_TRY(maker_find_hubs(m));
    RT_TRY(maker_find_cables(m));
    maker_leave_out(m);
    RT_TRY(maker_list_hubs(m));
    RT_TRY(maker_list_offers(m));
    RT_TRY(maker_list_links(m));
    RT_TRY(ask_budget(m));
    RT_TRY(find_owing(m));
    *out = s;
    return RT_OK;
}
