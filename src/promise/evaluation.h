/* evaluation.h - what the evaluators of one house share, computed once and only when first asked for. */
#ifndef RT_PROMISE_EVALUATION_H
#define RT_PROMISE_EVALUATION_H

#include "house/house.h"
#include "load/airtime.h"
#include "radio/ap_radio.h"
#include "radio/field.h"
#include "radio/link.h"
#include "radio/regdb.h"
#include "radio/wall_table.h"
#include "reach/layer2.h"
#include "reach/proof.h"
#include "wire/bill.h"
#include "wire/cable_tree.h"
#include "wire/energy.h"
#include "wire/links.h"
#include "wire/ports.h"
#include "wire/power.h"

struct damage;
struct failure_table;
struct promise_result;

struct evaluation {
    const struct run *run;
    const struct house *h;
    struct field_options options;      /* options.trace.estimate is the one promises are judged at */
    const struct regdb_country *rules; /* NULL: no regulatory database on this machine */
    struct scene *scene;
    ap_radio_list radios;
    struct wall_tables *walls;       /* for the paths to single spots */
    struct fields *fields[3];        /* by enum estimate; NULL until asked for */
    struct proof *proof;             /* NULL until asked for, or set beforehand to judge a foreign ruleset */
    struct layer2 *layer2;           /* with the proof */
    const struct stations *stations; /* NULL until asked for */
    const struct cable_tree *tree;   /* NULL until asked for */
    struct cable_plan *cables;       /* NULL until asked for */
    struct wire_links links;         /* with them */
    struct rt_problems cables_told;  /* what was told when they were made */
    struct port_plan *ports;         /* NULL until asked for */
    struct power_plan *power;        /* NULL until asked for */
    struct bill *bill;               /* NULL until asked for, or set beforehand */
    struct energy_plan *energy;      /* NULL until asked for */
    struct demand *demand;           /* NULL until asked for */
    struct airtime *airtime;         /* NULL until asked for */
    unsigned kinds;                  /* of promises that are asked for, bits 1 << enum promise_kind */
    struct promise_result *results;  /* as house->promises: those judged so far; NULL: none */
    struct failure_table *failures;  /* NULL until asked for */
    struct evaluation *whole; /* of a damaged house: where all that it shares is made and kept; NULL: this is whole */
    const struct damage *damage; /* NULL: nothing has failed */
};

/* The same house after something failed (damage.h): fields, proof, cables, watts and bill are those of `whole`, which must outlive
 * it; its tree, stations, demand and airtime are its own. */
void evaluation_damaged(struct evaluation *out, struct evaluation *whole, const struct damage *damage);
/* Is the radio of ev->radios lost? */
bool evaluation_radio_is_dead(const struct evaluation *ev, uint32_t radio);

/* Reads the country's radio rules, makes the scene and the radios.  options.trace.estimate is taken as given.
 * Errors: RT_NOMEM and those of ap_radios_resolve(); a missing regulatory database is a warning. */
RT_MUST_CHECK enum rt_code evaluation_begin(struct evaluation *ev, const struct run *run, const struct house *h,
                                            struct field_options options, struct rt_problems *p);

/* The field at an estimate of wall losses: of the whole house; or at least in the rooms that promises are made about and, at the
 * estimate they are judged at, where devices and access points are (the rest may be missing: field_is_known()).  The same numbers
 * either way.  Errors: RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code evaluation_fields(struct evaluation *ev, enum estimate estimate, const struct fields **out,
                                             struct rt_problems *p);

RT_MUST_CHECK enum rt_code evaluation_fields_promised(struct evaluation *ev, enum estimate estimate,
                                                      const struct fields **out, struct rt_problems *p);

/* The address plan, the compiled policy and its proof; ev->layer2 is then set too.  Errors: those of addresses_plan(),
 * policy_compile(), calendar_make(), proof_begin() and layer2_plan(). */
RT_MUST_CHECK enum rt_code evaluation_proof(struct evaluation *ev, struct proof **out, struct rt_problems *p);

/* How the cables hang together, and on which radio each device on Wi-Fi is (at the evaluation's estimate).  Errors: RT_NOMEM, and
 * those of evaluation_fields(). */
RT_MUST_CHECK enum rt_code evaluation_tree(struct evaluation *ev, const struct cable_tree **out, struct rt_problems *p);
RT_MUST_CHECK enum rt_code evaluation_stations(struct evaluation *ev, const struct stations **out,
                                               struct rt_problems *p);

/* Which cable is in which port, and what is free.  Errors: those of evaluation_cables() and port_plan_make(). */
RT_MUST_CHECK enum rt_code evaluation_ports(struct evaluation *ev, const struct port_plan **out, struct rt_problems *p);
/* The same for layer2_plan(); NULL where the file leaves no port open.  Errors: those of evaluation_ports(). */
RT_MUST_CHECK enum rt_code evaluation_picks(struct evaluation *ev, const struct port_pick **out, struct rt_problems *p);
/* Watts over the cables, on the ports of evaluation_ports().  Errors: its, and those of power_plan_make(). */
RT_MUST_CHECK enum rt_code evaluation_power(struct evaluation *ev, const struct power_plan **out,
                                            struct rt_problems *p);
/* Batteries, cabinets and the year, on evaluation_power().  Errors: its, and RT_NOMEM. */
RT_MUST_CHECK enum rt_code evaluation_energy(struct evaluation *ev, const struct energy_plan **out,
                                             struct rt_problems *p);
/* Where the cables lie, and what each carries.  Errors: those of cables_plan() and wire_links_judge(). */
RT_MUST_CHECK enum rt_code evaluation_cables(struct evaluation *ev, const struct cable_plan **cables,
                                             const struct wire_links **links, struct rt_problems *p);

/* What was told when they were made, told again: for whoever did not have them made. */
void evaluation_tell_cables(const struct evaluation *ev, struct rt_problems *p);

/* What it costs: of the routed cables, the judged links and the year's energy.  Errors: theirs, and those of bill_make(). */
RT_MUST_CHECK enum rt_code evaluation_bill(struct evaluation *ev, const struct bill **out, struct rt_problems *p);

/* Who asks for how much, and where it passes: with the cables as they are judged, and the radios of the house, if it has any, at the
 * estimate that promises are judged at.  Errors: those of evaluation_cables(), evaluation_fields(), stations_choose(),
 * demand_make(). */
RT_MUST_CHECK enum rt_code evaluation_demand(struct evaluation *ev, const struct demand **out, struct rt_problems *p);
/* How busy the channels are.  Errors: those of evaluation_demand() and evaluation_stations(). */
RT_MUST_CHECK enum rt_code evaluation_airtime(struct evaluation *ev, const struct airtime **out, struct rt_problems *p);

/* The usual options: order 2, diffraction, 0.25 m, the estimate of the house. */
struct field_options evaluation_default_options(const struct house *h);

/* Radio of a device kind (empty: the usual one, a phone), in the arena; NULL for a kind that has none. */
const struct radio_ability *evaluation_radio_of(const struct evaluation *ev, struct str device_kind);

#endif
