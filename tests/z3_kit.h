/* z3_kit.h - tables as formulas for Z3, a general-purpose theorem prover (Debian: libz3-dev), for a test and a benchmark.
 *
 * A packet is one bit vector for each axis.  A table becomes one formula by its control flow, written down here once more and
 * not taken from the code under test. */
#ifndef RT_Z3_KIT_H
#define RT_Z3_KIT_H

#include <z3.h>

#include "reach/space.h"

enum { Z3_NAMED = 2, Z3_AXES = AXIS_NAMED + Z3_NAMED, VERDICT_BITS = 20 };

struct prover {
    Z3_context z3;
    Z3_solver solver;
    enum family family;
    Z3_ast axis[Z3_AXES];
    Z3_ast bounds; /* values that the axes have */
    const struct table *table;
    const struct week_kind *week;
    uint32_t without; /* number of a rule that is taken out; 0: none */
};

static inline unsigned bits_of(axis_value max)
{
    unsigned n = 0;
    for (; max; max >>= 1)
        n++;
    return n;
}

static inline Z3_ast number(struct prover *v, axis_value value, unsigned bits)
{
    bool digits[128];
    for (unsigned i = 0; i < bits; i++)
        digits[i] = value >> i & 1;
    return Z3_mk_bv_numeral(v->z3, bits, digits);
}

static inline Z3_ast both(struct prover *v, Z3_ast a, Z3_ast b)
{
    return Z3_mk_and(v->z3, 2, (const Z3_ast[]){ a, b });
}

static inline Z3_ast either(struct prover *v, Z3_ast a, Z3_ast b)
{
    return Z3_mk_or(v->z3, 2, (const Z3_ast[]){ a, b });
}

static inline Z3_ast within(struct prover *v, uint32_t axis, axis_value lo, axis_value hi)
{
    const unsigned bits = bits_of(axis_max(axis, v->family));
    return both(v, Z3_mk_bvule(v->z3, number(v, lo, bits), v->axis[axis]),
                Z3_mk_bvule(v->z3, v->axis[axis], number(v, hi, bits)));
}

static inline void prover_begin(struct prover *v, enum family family)
{
    const Z3_config config = Z3_mk_config();
    *v = (struct prover){ .z3 = Z3_mk_context(config), .family = family };
    Z3_del_config(config);
    v->solver = Z3_mk_simple_solver(v->z3);
    Z3_solver_inc_ref(v->z3, v->solver);
    v->bounds = Z3_mk_true(v->z3);
    for (uint32_t axis = 0; axis < Z3_AXES; axis++) {
        const axis_value max = axis_max(axis, family);
        const Z3_sort sort = Z3_mk_bv_sort(v->z3, bits_of(max));
        v->axis[axis] = Z3_mk_const(v->z3, Z3_mk_int_symbol(v->z3, (int)axis), sort);
        v->bounds = both(v, v->bounds, within(v, axis, 0, max));
    }
}

static inline void prover_end(struct prover *v)
{
    Z3_solver_dec_ref(v->z3, v->solver);
    Z3_del_context(v->z3);
}

/* ---- tables ---- */

static inline Z3_ast spans_hold_in_z3(struct prover *v, uint32_t axis, span_list in)
{
    Z3_ast any = Z3_mk_false(v->z3);
    for (uint32_t i = 0; i < in.n; i++)
        any = either(v, any, within(v, axis, in.v[i].lo, in.v[i].hi));
    return any;
}

static inline Z3_ast match_in_z3(struct prover *v, const struct match *m)
{
    Z3_ast all = Z3_mk_true(v->z3);
    for (uint32_t i = 0; i < m->terms.n; i++)
        all = both(v, all, spans_hold_in_z3(v, m->terms.v[i].axis, m->terms.v[i].in));
    return all;
}

static inline Z3_ast rule_fits(struct prover *v, const struct rule *r)
{
    if (!(r->families >> v->family & 1) || r->number == v->without)
        return Z3_mk_false(v->z3);
    Z3_ast fits = match_in_z3(v, &r->match);
    if (r->hours.i != NO_REF)
        fits = both(v, fits, spans_hold_in_z3(v, AXIS_MINUTE, v->week->hours[r->hours.i]));
    return fits;
}

/* Ends of the control flow: the number of the rule that decides and what it does, in one bit vector. */
static inline Z3_ast verdict(struct prover *v, uint32_t by, enum action action)
{
    return number(v, by << 2 | action, VERDICT_BITS);
}

/* What becomes of a packet in a chain; `then`: where the chain falls through. */
static inline Z3_ast chain_in_z3(struct prover *v, uint32_t chain, Z3_ast then)
{
    const struct chain *c = &v->table->chains.v[chain];
    Z3_ast rest = c->policy == ACTION_RETURN ? then : verdict(v, 0, c->policy);
    const Z3_ast end = rest;
    for (uint32_t i = c->rules.n; i-- > 0;) {
        const struct rule *r = &c->rules.v[i];
        Z3_ast taken = rest;
        if (r->action <= ACTION_REJECT)
            taken = verdict(v, r->number, r->action);
        else if (r->action == ACTION_JUMP)
            taken = chain_in_z3(v, r->chain, rest);
        else if (r->action == ACTION_GOTO)
            taken = chain_in_z3(v, r->chain, end);
        else if (r->action == ACTION_RETURN)
            taken = end;
        rest = Z3_mk_ite(v->z3, rule_fits(v, r), taken, rest);
    }
    return rest;
}

static inline Z3_ast table_in_z3(struct prover *v, uint32_t without)
{
    v->without = without;
    return chain_in_z3(v, v->table->start, verdict(v, 0, ACTION_DROP));
}

static inline Z3_ast does(struct prover *v, Z3_ast verdicts) { return Z3_mk_extract(v->z3, 1, 0, verdicts); }

static inline Z3_ast is_decided_by(struct prover *v, Z3_ast verdicts, uint32_t by)
{
    return Z3_mk_eq(v->z3, Z3_mk_extract(v->z3, VERDICT_BITS - 1, 2, verdicts), number(v, by, VERDICT_BITS - 2));
}

#endif
