#include "promise/port_facts.h"

#include "base/units.h"

static void add_equipment(struct arena *a, struct fact *list, const struct house *h, const struct equipment_ports *e)
{
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", h->equipment.v[e->equipment].id);
    fact_num(a, o, "ports", e->n, 0);
    fact_num(a, o, "free", e->n_free, 0);
    fact_num(a, o, "spare", e->n_spare, 0);
    fact_num(a, o, "powered_free", e->n_poe_free, 0);
    fact_num(a, o, "asked_w", e->poe_asked_w, 1);
    fact_num(a, o, "budget_w", e->poe_budget_w, 1);
}

static void add_uplink(struct arena *a, struct fact *list, const struct house *h, const struct planned_uplink *u)
{
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "cable", h->cables.v[u->cable].id);
    fact_str(a, o, "of", h->equipment.v[u->lower].id);
    fact_num(a, o, "speed_mbps", u->speed_mbps, 0);
    fact_num(a, o, "behind_mbps", u->needed_mbps, 0);
    fact_num(a, o, "behind_share", u->needed_share, 2);
    fact_num(a, o, "behind_ports_mbps", u->ports_mbps, 0);
    fact_num(a, o, "behind_ports_share", u->ports_share, 2);
    fact_str(a, o, "second_cable", u->second_cable == NO_REF ? STR("") : h->cables.v[u->second_cable].id);
}

static void add_proposal(struct arena *a, struct fact *list, const struct house *h, const struct port_proposal *r)
{
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", r->device != NO_REF ? h->devices.v[r->device].id : h->equipment.v[r->equipment].id);
    fact_str(a, o, "at", r->at == NO_REF ? STR("") : h->equipment.v[r->at].id);
    fact_num(a, o, "port", r->at == NO_REF ? RT_NOT_GIVEN : (double)r->port, 0);
    fact_num(a, o, "length_m", r->length_m, 1);
    fact_num(a, o, "price", r->price, 2);
    fact_str(a, o, "says", r->says);
}

void port_facts(struct arena *a, struct fact *evidence, const struct port_plan *plan)
{
    const struct house *h = plan->h;
    struct fact *ports = fact_array(a, evidence, "ports");
    for (uint32_t i = 0; i < plan->equipment.n; i++) {
        const struct part *part = &h->parts.list.v[h->equipment.v[plan->equipment.v[i].equipment].part.i];
        if (part->kind == PART_SWITCH || part->kind == PART_GATEWAY)
            add_equipment(a, ports, h, &plan->equipment.v[i]);
    }
    struct fact *uplinks = fact_array(a, evidence, "uplinks");
    for (uint32_t i = 0; i < plan->uplinks.n; i++)
        add_uplink(a, uplinks, h, &plan->uplinks.v[i]);
    struct fact *to_join = fact_array(a, evidence, "to_join");
    for (uint32_t i = 0; i < plan->proposals.n; i++)
        add_proposal(a, to_join, h, &plan->proposals.v[i]);
    fact_num(a, evidence, "to_join_price", plan->price, 2);
    fact_num(a, evidence, "to_join_bound", plan->bound, 2);
    fact_str(a, evidence, "conflict", plan->conflicts.n ? plan->conflicts.v[0].says : STR(""));
}
