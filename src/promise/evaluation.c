#include "promise/evaluation.h"

#include "base/units.h"
#include "data/device_kinds.h"
#include "promise/coverage.h"
#include "promise/damage.h"

struct field_options evaluation_default_options(const struct house *h)
{
    return (struct field_options){ .trace = { .order = 2, .diffraction = true, .estimate = h->estimate },
                                   .cell_m = 0.25 };
}

/* The country's rules, or NULL after a warning: a plan is still worth something without them, and says what it lacks. */
static enum rt_code read_rules(const struct run *run, const struct house *h, const struct regdb_country **out,
                               struct rt_problems *p)
{
    struct rt_problems of_reader;
    rt_problems_init(&of_reader, run->arena);
    struct regdb *db = ARENA_NEW(run->arena, struct regdb);
    if (!db)
        return rt_fail_memory(p);
    *out = NULL;
    const enum rt_code code = regdb_read_installed(run, db, &of_reader);
    if (code == RT_NOMEM)
        return rt_fail_memory(p);
    if (code != RT_OK) {
        rt_warn(p, code, RT_NOWHERE, "install the package wireless-regdb to have the limits of the country applied",
                "the powers and channels of %.*s are not checked: %s", STR_ARG(h->country),
                of_reader.list.n ? of_reader.list.v[0].msg : "the regulatory database cannot be read");
        return RT_OK;
    }
    *out = regdb_find(db, h->country);
    if (!*out)
        rt_warn(p, RT_MISSING, RT_NOWHERE, "look up the local limits by hand",
                "the regulatory database has no rules for %.*s: powers and channels are not checked",
                STR_ARG(h->country));
    return RT_OK;
}

enum rt_code evaluation_begin(struct evaluation *ev, const struct run *run, const struct house *h,
                              struct field_options options, struct rt_problems *p)
{
    *ev = (struct evaluation){ .run = run, .h = h, .options = options };
    ev->walls = ARENA_NEW(run->arena, struct wall_tables);
    if (!ev->walls)
        return rt_fail_memory(p);
    ev->walls->run = run;
    RT_TRY(read_rules(run, h, &ev->rules, p));
    RT_TRY(ap_radios_resolve(run, h, ev->rules, &ev->radios, p));
    return scene_build(run, h, &ev->scene, p);
}

void evaluation_damaged(struct evaluation *out, struct evaluation *whole, const struct damage *damage)
{
    *out = *whole;
    out->whole = whole;
    out->damage = damage;
    out->tree = &damage->tree;
    out->stations = damage->stations;
    out->demand = NULL;
    out->airtime = NULL;
    out->failures = NULL;
    out->results = NULL;
}

/* After the whole house made something: what it has is this one's too, but for what damage changes. */
static enum rt_code share(struct evaluation *ev)
{
    const struct stations *stations = ev->stations;
    struct demand *demand = ev->demand;
    struct airtime *airtime = ev->airtime;
    struct evaluation *whole = ev->whole;
    evaluation_damaged(ev, whole, ev->damage);
    ev->stations = stations;
    ev->demand = demand;
    ev->airtime = airtime;
    return RT_OK;
}

bool evaluation_radio_is_dead(const struct evaluation *ev, uint32_t radio)
{
    return ev->damage && ev->damage->dead_radio[radio];
}

static enum rt_code begin_fields(struct evaluation *ev, enum estimate estimate, bool everywhere, struct rt_problems *p)
{
    struct fields *f = ARENA_NEW(ev->run->arena, struct fields);
    if (!f)
        return rt_fail_memory(p);
    struct field_options options = ev->options;
    options.trace.estimate = estimate;
    RT_TRY(grids_of_house(ev->run, ev->h, options.cell_m, f, p));
    if (!everywhere) {
        RT_TRY(fields_want_nothing(ev->run, f, p));
        coverage_want(ev->h, f);
    }
    if (!everywhere && estimate == ev->options.trace.estimate) {
        stations_want(ev->h, f);
        airtime_want(ev->h, ev->radios, f);
    }
    RT_TRY(fields_compute(ev->run, ev->h, ev->scene, ev->radios, options, f, p));
    ev->fields[estimate] = f;
    return RT_OK;
}

enum rt_code evaluation_fields_promised(struct evaluation *ev, enum estimate estimate, const struct fields **out,
                                        struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_fields_promised(ev->whole, estimate, out, p));
        return share(ev);
    }
    if (!ev->fields[estimate])
        RT_TRY(begin_fields(ev, estimate, false, p));
    *out = ev->fields[estimate];
    return RT_OK;
}

enum rt_code evaluation_fields(struct evaluation *ev, enum estimate estimate, const struct fields **out,
                               struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_fields(ev->whole, estimate, out, p));
        return share(ev);
    }
    struct fields *f = ev->fields[estimate];
    if (!f) {
        RT_TRY(begin_fields(ev, estimate, true, p));
    } else if (!fields_want_whole(f)) {
        fields_want_all(f);
        RT_TRY(fields_compute_more(ev->run, ev->scene, f, p));
    }
    *out = ev->fields[estimate];
    return RT_OK;
}

/* Weeks are looked at this far ahead: two turns of summer time each way. */
enum { YEARS_AHEAD = 2 };

enum rt_code evaluation_proof(struct evaluation *ev, struct proof **out, struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_proof(ev->whole, out, p));
        return share(ev);
    }
    const struct run *run = ev->run;
    if (!ev->proof) {
        struct address_plan *plan;
        struct policy *policy;
        struct calendar *calendar;
        RT_TRY(addresses_plan(run, ev->h, &plan, p));
        RT_TRY(policy_compile(run, plan, &policy, p));
        RT_TRY(calendar_make(run, ev->h, run->now_s, YEARS_AHEAD, &calendar, p));
        RT_TRY(proof_begin(run, policy, calendar, NULL, &ev->proof, p));
    }
    if (!ev->layer2) {
        const struct port_pick *picks = NULL;
        RT_TRY(evaluation_picks(ev, &picks, p));
        RT_TRY(layer2_plan(run, ev->proof->policy->plan, picks, &ev->layer2, p));
    }
    *out = ev->proof;
    return RT_OK;
}

enum rt_code evaluation_tree(struct evaluation *ev, const struct cable_tree **out, struct rt_problems *p)
{
    if (!ev->tree) {
        struct cable_tree *tree = ARENA_NEW(ev->run->arena, struct cable_tree);
        if (!tree || !cable_tree_make(ev->run->arena, ev->h, NULL, NULL, tree))
            return rt_fail_memory(p);
        ev->tree = tree;
    }
    *out = ev->tree;
    return RT_OK;
}

static enum rt_code living_radios(struct evaluation *ev, const bool **out, struct rt_problems *p)
{
    bool *alive = ev->damage ? ARENA_ARRAY(ev->run->arena, bool, ev->radios.n) : NULL;
    if (ev->damage && !alive)
        return rt_fail_memory(p);
    for (uint32_t r = 0; ev->damage && r < ev->radios.n; r++)
        alive[r] = !ev->damage->dead_radio[r];
    *out = alive;
    return RT_OK;
}

enum rt_code evaluation_stations(struct evaluation *ev, const struct stations **out, struct rt_problems *p)
{
    if (ev->whole && ev->damage->n_dead_radios == 0) /* all are where they were */
        return evaluation_stations(ev->whole, out, p);
    if (!ev->stations) {
        const struct fields *fields = NULL;
        const bool *alive = NULL;
        struct stations *stations = NULL;
        RT_TRY(evaluation_fields_promised(ev, ev->options.trace.estimate, &fields, p));
        RT_TRY(living_radios(ev, &alive, p));
        RT_TRY(stations_choose(ev->run, ev->h, fields, alive, &stations, p));
        ev->stations = stations;
    }
    *out = ev->stations;
    return RT_OK;
}

/* A cable that finds no way is told where it stands in the file; the promises that rest on it say the same. */
static void tell_no_way(const struct cable_plan *plan, struct rt_problems *p)
{
    for (uint32_t c = 0; c < plan->h->cables.n; c++)
        if (!plan->cables[c].is_routed && plan->cables[c].why_not.n && !is_given(plan->h->cables.v[c].length_m))
            rt_warn(p, RT_GEOMETRY, plan->h->cables.v[c].at, NULL, "cable '%.*s' finds no way: %.*s",
                    STR_ARG(plan->h->cables.v[c].id), STR_ARG(plan->cables[c].why_not));
}

static void tell(struct rt_problems *p, const struct rt_problem *q)
{
    if (q->is_warning)
        rt_warn(p, q->code, q->at, q->hint, "%s", q->msg);
    else
        (void)rt_fail(p, q->code, q->at, q->hint, "%s", q->msg);
}

void evaluation_tell_cables(const struct evaluation *ev, struct rt_problems *p)
{
    for (uint32_t i = 0; i < ev->cables_told.list.n; i++)
        tell(p, &ev->cables_told.list.v[i]);
}

static enum rt_code make_cables(struct evaluation *ev, struct rt_problems *p)
{
    struct cable_plan *plan;
    RT_TRY(cables_plan(ev->run, ev->h, &plan, p));
    RT_TRY(wire_links_judge(ev->run, plan, &ev->links, p));
    tell_no_way(plan, p);
    ev->cables = plan;
    return RT_OK;
}

enum rt_code evaluation_cables(struct evaluation *ev, const struct cable_plan **cables, const struct wire_links **links,
                               struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_cables(ev->whole, cables, links, p));
        return share(ev);
    }
    if (!ev->cables) {
        rt_problems_init(&ev->cables_told, ev->run->arena);
        const enum rt_code code = make_cables(ev, &ev->cables_told);
        evaluation_tell_cables(ev, p);
        if (code)
            return code;
    }
    *cables = ev->cables;
    *links = &ev->links;
    return RT_OK;
}

enum rt_code evaluation_ports(struct evaluation *ev, const struct port_plan **out, struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_ports(ev->whole, out, p));
        return share(ev);
    }
    if (!ev->ports) {
        const struct cable_plan *cables = NULL;
        const struct wire_links *links = NULL;
        RT_TRY(evaluation_cables(ev, &cables, &links, p));
        RT_TRY(port_plan_make(ev->run, cables, links, &ev->ports, p));
    }
    *out = ev->ports;
    return RT_OK;
}

/* Does the file leave a port open? */
static bool has_open_port(const struct house *h)
{
    for (uint32_t c = 0; c < h->cables.n; c++) {
        const struct cable_end *ends[2] = { &h->cables.v[c].from, &h->cables.v[c].to };
        for (int e = 0; e < 2; e++) {
            const uint32_t part = ends[e]->equipment == NO_REF ? NO_REF : h->equipment.v[ends[e]->equipment].part.i;
            if (part != NO_REF && h->parts.list.v[part].ports.n && !is_given(ends[e]->port))
                return true;
        }
    }
    return false;
}

enum rt_code evaluation_picks(struct evaluation *ev, const struct port_pick **out, struct rt_problems *p)
{
    const struct port_plan *plan;
    *out = NULL;
    if (!has_open_port(ev->h))
        return RT_OK; /* then there is nothing to choose, and no cable need be routed for it */
    RT_TRY(evaluation_ports(ev, &plan, p));
    struct port_pick *picks = ARENA_ARRAY(ev->run->arena, struct port_pick, ev->h->cables.n);
    if (!picks)
        return rt_fail_memory(p);
    for (uint32_t c = 0; c < ev->h->cables.n; c++)
        picks[c] = (struct port_pick){ .from = plan->cables[c].from.port,
                                       .to = plan->cables[c].to.port,
                                       .from_chosen = plan->cables[c].from.is_chosen,
                                       .to_chosen = plan->cables[c].to.is_chosen };
    *out = picks;
    return RT_OK;
}

enum rt_code evaluation_power(struct evaluation *ev, const struct power_plan **out, struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_power(ev->whole, out, p));
        return share(ev);
    }
    if (!ev->power) {
        const struct port_plan *ports = NULL;
        RT_TRY(evaluation_ports(ev, &ports, p));
        RT_TRY(power_plan_make(ev->run, ev->cables, ports->numbers, &ev->power, p));
    }
    *out = ev->power;
    return RT_OK;
}

enum rt_code evaluation_energy(struct evaluation *ev, const struct energy_plan **out, struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_energy(ev->whole, out, p));
        if (ev->damage->energy)
            *out = ev->damage->energy;
        return share(ev);
    }
    if (!ev->energy) {
        const struct power_plan *power = NULL;
        RT_TRY(evaluation_power(ev, &power, p));
        RT_TRY(energy_plan_make(ev->run, power, &ev->energy, p));
    }
    *out = ev->energy;
    return RT_OK;
}

enum rt_code evaluation_bill(struct evaluation *ev, const struct bill **out, struct rt_problems *p)
{
    if (ev->whole) {
        RT_TRY(evaluation_bill(ev->whole, out, p));
        return share(ev);
    }
    if (!ev->bill) {
        const struct cable_plan *cables = NULL;
        const struct wire_links *links = NULL;
        const struct energy_plan *energy = NULL;
        RT_TRY(evaluation_cables(ev, &cables, &links, p));
        RT_TRY(evaluation_energy(ev, &energy, p));
        RT_TRY(bill_make(ev->run, cables, links, energy, &ev->bill, p));
    }
    *out = ev->bill;
    return RT_OK;
}

enum rt_code evaluation_demand(struct evaluation *ev, const struct demand **out, struct rt_problems *p)
{
    if (!ev->demand) {
        const struct cable_tree *tree = NULL;
        const struct cable_plan *cables = NULL;
        const struct wire_links *links = NULL;
        const struct stations *stations = NULL;
        RT_TRY(evaluation_tree(ev, &tree, p));
        RT_TRY(evaluation_cables(ev, &cables, &links, p));
        if (ev->radios.n)
            RT_TRY(evaluation_stations(ev, &stations, p));
        RT_TRY(demand_make(ev->run, ev->h, tree, links, stations, &ev->demand, p));
    }
    *out = ev->demand;
    return RT_OK;
}

enum rt_code evaluation_airtime(struct evaluation *ev, const struct airtime **out, struct rt_problems *p)
{
    if (!ev->airtime) {
        const struct demand *demand = NULL;
        const struct stations *stations = NULL;
        RT_TRY(evaluation_demand(ev, &demand, p));
        RT_TRY(evaluation_stations(ev, &stations, p));
        RT_TRY(airtime_make(ev->run, demand, stations, &ev->airtime, p));
    }
    *out = ev->airtime;
    return RT_OK;
}

const struct radio_ability *evaluation_radio_of(const struct evaluation *ev, struct str device_kind)
{
    const struct device_kind *kind = device_kind_find(device_kind.n ? device_kind : STR(DEVICE_KIND_USUAL));
    if (!kind || !kind->bands)
        return NULL;
    struct radio_ability *r = ARENA_NEW(ev->run->arena, struct radio_ability);
    if (r)
        *r = (struct radio_ability){ .phy = kind->phy,
                                     .bands = kind->bands,
                                     .streams = kind->streams,
                                     .width_mhz = kind->width_mhz,
                                     .power_dbm = kind->power_dbm,
                                     .gain_dbi = kind->gain_dbi,
                                     .body_loss_db = kind->body_loss_db,
                                     .noise_figure_db = kind->noise_figure_db };
    return r;
}
