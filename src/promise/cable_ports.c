/* The promise `cable`: ports. */
#include "base/units.h"
#include "promise/cable_checks.h"
#include "promise/port_facts.h"
#include "wire/port_choice.h"

/* A cable that is meant and for which no port is left; NO_REF: none. */
static uint32_t cable_without_port(const struct house *h, const struct promise *promise, const struct port_plan *ports)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (cable_is_meant(h, promise, c) && ((ports->cables[c].from.lacks | ports->cables[c].to.lacks) & LACK_PORT))
            return c;
    return NO_REF;
}

/* The switch with the fewest spare ports; NULL: none is meant. */
static const struct equipment_ports *fewest_spare(const struct house *h, const struct promise *promise,
                                                  const struct port_plan *ports)
{
    const struct equipment_ports *least = NULL;
    for (uint32_t i = 0; i < ports->equipment.n; i++) {
        const struct equipment_ports *e = &ports->equipment.v[i];
        const struct equipment *thing = &h->equipment.v[e->equipment];
        if (h->parts.list.v[thing->part.i].kind == PART_SWITCH && cable_means_thing(promise, thing->id) &&
            (!least || e->n_spare < least->n_spare))
            least = e;
    }
    return least;
}

static void judge_ports(struct evaluation *ev, const struct promise *promise, const struct port_plan *ports,
                        struct promise_result *out)
{
    const struct house *h = ev->h;
    const uint32_t c = cable_without_port(h, promise, ports);
    const struct equipment_ports *least = fewest_spare(h, promise, ports);
    const double wanted = given_or(promise->spare_ports, 0.0);
    const char *text;
    if (c != NO_REF) {
        const bool at_from = ports->cables[c].from.lacks & LACK_PORT;
        text = arena_printf(ev->run->arena, "cable %.*s: no port of %.*s is left that fits", STR_ARG(h->cables.v[c].id),
                            STR_ARG(at_from ? h->cables.v[c].from.what : h->cables.v[c].to.what));
        out->margin = RT_NOT_GIVEN;
        out->unit = "";
    } else if (least && least->n_spare < wanted) {
        text = arena_printf(ev->run->arena, "%.*s has %u spare port%s, %.0f are promised",
                            STR_ARG(h->equipment.v[least->equipment].id), least->n_spare,
                            least->n_spare == 1 ? "" : "s", wanted);
        out->margin = least->n_spare - wanted;
        out->unit = "ports";
        out->margin_decimals = 0;
    } else {
        return;
    }
    out->state = PROMISE_BROKEN;
    out->reason = str_from(text ? text : "");
}

/* Where what is named would be joined for the least money; NULL: nothing is known of that. */
static const struct port_proposal *proposal_for(const struct evaluation *ev, const struct promise *promise,
                                                const struct port_plan *ports)
{
    for (uint32_t i = 0; i < ports->proposals.n && promise->devices.n; i++) {
        const struct port_proposal *r = &ports->proposals.v[i];
        if (cable_means_thing(promise, r->device != NO_REF ? ev->h->devices.v[r->device].id
                                                           : ev->h->equipment.v[r->equipment].id))
            return r;
    }
    return NULL;
}

enum rt_code cable_promise_ports(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                                 struct rt_problems *p)
{
    const struct port_plan *ports = NULL;
    RT_TRY(evaluation_ports(ev, &ports, p));
    port_facts(ev->run->arena, out->evidence, ports);
    if (out->state != PROMISE_BROKEN)
        judge_ports(ev, promise, ports, out);
    const struct port_proposal *place = proposal_for(ev, promise, ports);
    if (out->state == PROMISE_UNKNOWN && place && place->at != NO_REF) {
        const char *text =
            arena_printf(ev->run->arena, "%.*s; cheapest %.*s", STR_ARG(out->reason), STR_ARG(place->says));
        out->reason = str_from(text ? text : "");
    }
    return RT_OK;
}
