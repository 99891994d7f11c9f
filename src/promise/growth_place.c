/* Cabinets, batteries and addresses. */
#include <math.h>

#include "base/units.h"
#include "data/cabinets.h"
#include "promise/growth.h"
#include "promise/wire_words.h"

static struct str words_of(struct growth *g, const char *what, struct str who)
{
    const char *text = arena_printf(g->a, "%s (%.*s)", what, STR_ARG(who));
    g->failed |= !text;
    return str_from(text ? text : what);
}

static const struct part *part_of(const struct house *h, uint32_t e)
{
    return h->equipment.v[e].part.i == NO_REF ? NULL : &h->parts.list.v[h->equipment.v[e].part.i];
}

/* ---- cabinets ---- */

/* A switch in the cabinet that the devices outgrow takes another with it: so many units for so many of its sockets. */
static double growing_units(const struct growth *g, const struct layer2 *l2, uint32_t e)
{
    const struct part *part = part_of(g->h, e);
    double n_growing = 0.0;
    for (uint32_t i = l2->first_port[e]; i < l2->first_port[e + 1]; i++)
        if (l2->ports.v[i].cable != NO_REF && l2->ports.v[i].far_device != NO_REF)
            n_growing += g->share[l2->ports.v[i].far_device];
    const uint32_t n_ports = l2->first_port[e + 1] - l2->first_port[e];
    return part->kind == PART_SWITCH && n_ports ? given_or(part->rack_units, 0.0) * n_growing / n_ports : 0.0;
}

static bool is_inside(const struct house *h, uint32_t e, uint32_t cabinet)
{
    return h->equipment.v[e].inside.i == cabinet && e != cabinet && part_of(h, e);
}

static void add_units(struct growth *g, const struct layer2 *l2, const struct cabinet_heat *c)
{
    const struct house *h = g->h;
    struct growth_use use = { .what = words_of(g, "rack units", equipment_words(h, c->equipment)),
                              .where = h->equipment.v[c->equipment].id,
                              .unit = "",
                              .limit = c->rack_units,
                              .kept_free = g->headroom,
                              .fixed = c->rack_units_used,
                              .is_whole = true,
                              .mend = STR("a taller cabinet") };
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (is_inside(h, e, c->equipment))
            use.growing += growing_units(g, l2, e);
    use.fixed -= use.growing;
    growth_add(g, use);
}

/* The air's warmth goes with the watts given off; what a supply loses of what it passes on grows with that. */
static void add_warmth(struct growth *g, const struct power_plan *power, const struct cabinet_heat *c)
{
    const struct house *h = g->h;
    struct growth_use use = { .what = words_of(g, "warmth of the air inside", equipment_words(h, c->equipment)),
                              .where = h->equipment.v[c->equipment].id,
                              .unit = "K",
                              .limit = CABINET_RISE_K,
                              .fixed = c->air_k,
                              .missing = c->missing,
                              .mend = str_is(h->equipment.v[c->equipment].air, "closed")
                                          ? STR("a fan, or openings for air")
                                          : STR("a larger cabinet") };
    double growing_w = 0.0;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (is_inside(h, e, c->equipment) && power->feed_of_equipment[e] == NO_REF)
            growing_w += growth_of_feeds_w(g, power, e, true) * (1.0 / PORT_SUPPLY_RATIO - 1.0);
    if (c->heat_w > 0.0)
        use.growing = c->air_k * growing_w / c->heat_w;
    use.fixed -= use.growing;
    growth_add(g, use);
}

enum rt_code growth_cabinets(struct growth *g, struct rt_problems *p)
{
    const struct energy_plan *energy = NULL;
    struct proof *proof = NULL;
    RT_TRY(evaluation_energy(g->ev, &energy, p));
    RT_TRY(evaluation_proof(g->ev, &proof, p));
    for (uint32_t i = 0; i < energy->cabinets.n; i++) {
        const struct cabinet_heat *c = &energy->cabinets.v[i];
        bool is_used = false;
        for (uint32_t e = 0; e < g->h->equipment.n; e++)
            is_used |= is_inside(g->h, e, c->equipment);
        if (!is_used)
            continue;
        if (is_given(c->rack_units))
            add_units(g, g->ev->layer2, c);
        add_warmth(g, energy->power, c);
    }
    return RT_OK;
}

/* ---- batteries ---- */

static bool lives_on(const struct house *h, const struct energy_plan *energy, struct str id, uint32_t battery)
{
    const uint32_t e = house_find_equipment(h, id), d = house_find_device(h, id);
    if (e != NO_REF)
        return energy->battery_of_equipment[e] == battery;
    return d != NO_REF ? energy->battery_of_device[d] == battery : energy->battery_of_line == battery;
}

/* The longest that was promised of anything on this battery; 0: nothing was. */
static double promised_minutes(const struct house *h, const struct energy_plan *energy, uint32_t battery)
{
    double minutes = 0.0;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        bool is_meant = q->kind == PROMISE_OUTAGE && q->devices.n == 0;
        for (uint32_t k = 0; q->kind == PROMISE_OUTAGE && k < q->devices.n; k++)
            is_meant |= lives_on(h, energy, q->devices.v[k], battery);
        if (is_meant)
            minutes = fmax(minutes, q->minutes);
    }
    return minutes;
}

static double growing_load_w(const struct growth *g, const struct energy_plan *energy, uint32_t battery)
{
    const struct house *h = g->h;
    double sum_w = 0.0;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (energy->battery_of_equipment[e] == battery && energy->power->feed_of_equipment[e] == NO_REF)
            sum_w += growth_of_feeds_w(g, energy->power, e, false) / PORT_SUPPLY_RATIO;
    for (uint32_t d = 0; d < h->devices.n; d++)
        if (energy->battery_of_device[d] == battery && energy->power->feed_of_device[d] == NO_REF)
            sum_w += given_or(energy_device_w(h, d), 0.0) * g->share[d];
    return sum_w;
}

/* The greatest load that a battery feeds for so long at an age. */
static double bearable_w(const struct house *h, uint32_t battery, double minutes, double age_years)
{
    enum { HALVINGS = 60 };
    double low_w = 0.0, high_w = 1e6;
    for (int i = 0; i < HALVINGS; i++) {
        const double w = (low_w + high_w) / 2.0;
        if (energy_battery_minutes(h, battery, w, age_years) >= minutes)
            low_w = w;
        else
            high_w = w;
    }
    return low_w;
}

static void add_battery(struct growth *g, const struct energy_plan *energy, uint32_t b, double minutes)
{
    const struct battery *q = &g->h->batteries.v[b];
    const struct battery_life *life = &energy->batteries[b];
    const char *what = arena_printf(g->a, "watts for %.0f min without mains (%.*s)", minutes, STR_ARG(q->id));
    struct growth_use use = { .what = str_from(what ? what : ""),
                              .where = q->id,
                              .unit = "W",
                              .kept_free = g->headroom,
                              .missing = life->missing,
                              .mend = STR("a larger battery, or less on it") };
    g->failed |= !what;
    if (!life->missing.n) {
        use.limit_now = bearable_w(g->h, b, minutes, q->age_years);
        use.limit = bearable_w(g->h, b, minutes, q->age_years + given_or(g->years, 0.0));
        use.growing = growing_load_w(g, energy, b);
        use.fixed = life->load_w - use.growing;
    }
    growth_add(g, use);
}

enum rt_code growth_batteries(struct growth *g, struct rt_problems *p)
{
    const struct energy_plan *energy = NULL;
    RT_TRY(evaluation_energy(g->ev, &energy, p));
    for (uint32_t b = 0; b < g->h->batteries.n; b++) {
        const double minutes = promised_minutes(g->h, energy, b);
        if (minutes > 0.0)
            add_battery(g, energy, b, minutes);
    }
    return RT_OK;
}

/* ---- addresses ---- */

/* Those that can be reserved: without the network's own, the gateway's, the broadcast's and the range handed out to others. */
static double reservable(const struct segment_plan *s)
{
    const double all = ldexp(1.0, (int)(32u - s->ipv4.len)) - 3.0;
    return all - (s->dhcp_to ? (double)(s->dhcp_to - s->dhcp_from) + 1.0 : 0.0);
}

enum rt_code growth_addresses(struct growth *g, struct rt_problems *p)
{
    const struct house *h = g->h;
    struct proof *proof = NULL;
    RT_TRY(evaluation_proof(g->ev, &proof, p));
    const struct address_plan *plan = proof->policy->plan;
    for (uint32_t s = 0; s < h->segments.n; s++) {
        const struct segment *q = &h->segments.v[s];
        struct growth_use use = { .what = words_of(g, "addresses", q->says.n ? q->says : q->id),
                                  .where = q->id,
                                  .unit = "",
                                  .kept_free = g->headroom,
                                  .is_whole = true,
                                  .mend = STR("a larger subnet (`ipv4`)") };
        for (uint32_t d = 0; d < h->devices.n; d++)
            if (h->devices.v[d].segment.i == s && plan->devices[d].ipv4)
                growth_of_device(g, d, 1.0, &use);
        if (!plan->segments[s].ipv4.is_given || growth_used(&use, 1.0) <= 0.0)
            continue;
        use.limit = reservable(&plan->segments[s]);
        growth_add(g, use);
    }
    return RT_OK;
}
