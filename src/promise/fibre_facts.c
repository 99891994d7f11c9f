/* Light lost in fibre, as evidence of a promise of kind `cable`, and what breaks it. */
#include <math.h>

#include "base/units.h"
#include "data/cabling.h"
#include "promise/cable_checks.h"

/* Standards print budgets to a tenth of a dB. */
#define ROUNDED_DB 0.05

struct light {
    uint32_t connections, splices;
    double loss_db, loss_max_db;
    struct str by; /* id of the part whose budget it is; empty: the standard's for the speed */
};

static const struct part *part_at(const struct house *h, const struct cable_end *end)
{
    const uint32_t i = end->equipment == NO_REF ? NO_REF : h->equipment.v[end->equipment].part.i;
    return i == NO_REF ? NULL : &h->parts.list.v[i];
}

/* A cord at an end is one pair of connectors more; where light is made and caught its own loss is in the budget. */
static struct light light_of(const struct house *h, const struct wire_link *l, const struct cable_category *category)
{
    const struct cable *c = &h->cables.v[l->cable];
    const struct cable_end *ends[2] = { &c->from, &c->to };
    struct light q = { .connections = (c->cord_from_m > 0.0 ? 1u : 0u) + (c->cord_to_m > 0.0 ? 1u : 0u),
                       .splices = (uint32_t)given_or(c->splices, 0.0),
                       .loss_max_db = RT_NOT_GIVEN };
    q.loss_db =
        l->length_m / 1e3 * category->db_per_km + q.connections * FIBRE_CONNECTION_DB + q.splices * FIBRE_SPLICE_DB;
    for (int e = 0; e < 2; e++) {
        const struct part *part = part_at(h, ends[e]);
        if (!part || !is_given(part->loss_max_db) || part->loss_max_db >= q.loss_max_db)
            continue;
        q.loss_max_db = part->loss_max_db;
        q.by = part->id;
    }
    if (!is_given(q.loss_max_db))
        q.loss_max_db = cable_loss_max_db(category, l->speed_mbps);
    return q;
}

static void add_facts(struct arena *a, struct fact *list, struct str id, const struct light *q)
{
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", id);
    fact_num(a, o, "loss_db", q->loss_db, 2);
    fact_num(a, o, "loss_max_db", q->loss_max_db, 2);
    fact_num(a, o, "connections", q->connections, 0);
    fact_num(a, o, "splices", q->splices, 0);
    fact_str(a, o, "budget_of", q->by);
}

static enum rt_code break_by(struct evaluation *ev, const struct wire_link *l, const struct light *q,
                             struct promise_result *out, struct rt_problems *p)
{
    const char *text = arena_printf(
        ev->run->arena,
        "cable %.*s: light loses %.1f dB over %.0f m, %u connection%s and %u splice%s; its ends bear %.1f dB",
        STR_ARG(ev->h->cables.v[l->cable].id), q->loss_db, l->length_m, (unsigned)q->connections,
        q->connections == 1 ? "" : "s", (unsigned)q->splices, q->splices == 1 ? "" : "s", q->loss_max_db);
    out->state = PROMISE_BROKEN;
    out->margin = q->loss_max_db - q->loss_db;
    out->unit = "dB";
    out->margin_decimals = 1;
    out->reason = str_from(text ? text : "");
    return text ? RT_OK : rt_fail_memory(p);
}

enum rt_code cable_promise_fibre(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                                 struct rt_problems *p)
{
    const struct cable_plan *plan;
    const struct wire_links *links;
    RT_TRY(evaluation_cables(ev, &plan, &links, p));
    struct fact *list = fact_array(ev->run->arena, out->evidence, "fibre");
    for (uint32_t c = 0; c < links->n; c++) {
        const struct wire_link *l = &links->v[c];
        const struct cable_category *category = cable_category_find(l->category);
        if (!category || !(category->db_per_km > 0.0) || !l->is_known || !(l->speed_mbps > 0.0) ||
            !cable_is_meant(ev->h, promise, c))
            continue;
        const struct light q = light_of(ev->h, l, category);
        add_facts(ev->run->arena, list, ev->h->cables.v[c].id, &q);
        if (q.loss_db > q.loss_max_db + ROUNDED_DB && out->state != PROMISE_BROKEN)
            RT_TRY(break_by(ev, l, &q, out, p));
    }
    return RT_OK;
}
