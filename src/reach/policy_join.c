/* Rules of several statements that do the same and differ on one axis at most become one.
 *
 * The later rule moves up to the earlier one's place.  It may pass a rule that does the same, or has no packet with it in
 * common; so every packet still fares as before.  What each statement said is kept, so that an answer can name the one
 * that counted (policy_statement_of). */
#include "reach/policy_int.h"

static bool does_the_same(const struct rule *x, const struct rule *y)
{
    return x->action == y->action && x->log == y->log && x->hours.i == y->hours.i;
}

static bool same_spans(const span_list *x, const span_list *y) { return x && y ? spans_equal(*x, *y) : x == y; }

/* The number of axes on which they differ, and one of them.  An axis of which one does not speak counts twice: the union
 * would swallow the other. */
static uint32_t differing(const struct match *x, const struct match *y, uint32_t *axis)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < x->terms.n; i++) {
        const span_list *other = match_on(y, x->terms.v[i].axis);
        if (same_spans(&x->terms.v[i].in, other))
            continue;
        n += other ? 1 : 2;
        *axis = x->terms.v[i].axis;
    }
    for (uint32_t i = 0; i < y->terms.n; i++)
        if (!match_on(x, y->terms.v[i].axis))
            n += 2;
    return n;
}

bool policy_overlap(struct compiler *c, const struct rule *x, const struct rule *y)
{
    if (!(x->families & y->families))
        return false;
    for (uint32_t i = 0; i < x->match.terms.n; i++) {
        const span_list *other = match_on(&y->match, x->match.terms.v[i].axis);
        if (other && spans_common(c->a, x->match.terms.v[i].in, *other, &c->failed).n == 0)
            return false;
    }
    return true;
}

/* The axes whose terms speak of each other: a device's MAC address of its segment, a reserved address too.  Joined apart they
 * would let one segment's devices into another. */
static bool is_joinable(const struct rule *x, const struct rule *y, uint32_t *axis)
{
    if (x->origin != ORIGIN_STATEMENT || y->origin != ORIGIN_STATEMENT || !does_the_same(x, y))
        return false;
    const uint32_t n = differing(&x->match, &y->match, axis);
    return x->families == y->families ? n == 1 : n == 0;
}

/* Whose place rule k may take: the earliest rule it can be joined with, with nothing in the way.  NO_REF: none. */
static uint32_t partner(struct compiler *c, const struct rule *rules, uint32_t k, uint32_t *axis)
{
    uint32_t found = NO_REF;
    for (uint32_t i = k; i-- > 0;) {
        uint32_t on = 0;
        if (is_joinable(&rules[i], &rules[k], &on)) {
            found = i;
            *axis = on;
        }
        const bool same = rules[i].action == rules[k].action && rules[i].log == rules[k].log;
        if (!same && policy_overlap(c, &rules[i], &rules[k]))
            break;
    }
    return found;
}

/* x takes in y: the union on the one axis, or of the families. */
static void take_in(struct compiler *c, struct rule *x, const struct rule *y, uint32_t axis)
{
    x->families |= y->families;
    struct match m = { 0 }; /* a new one: the terms are what was stated, too */
    for (uint32_t i = 0; i < x->match.terms.n; i++) {
        const struct term *t = &x->match.terms.v[i];
        const span_list *other = match_on(&y->match, t->axis);
        const bool grows = t->axis == axis && other && !same_spans(&t->in, other);
        policy_in(c, &m, t->axis, grows ? spans_join(c->a, t->in, *other, &c->failed) : t->in);
    }
    x->match = m;
}

static void keep(struct compiler *c, enum policy_chain chain, uint32_t index, const struct rule *r)
{
    const struct stated s = {
        .rule = index, .statement = r->which, .families = r->families, .match = r->match, .says = r->says
    };
    if (r->origin == ORIGIN_STATEMENT && !VEC_PUSH(c->a, &c->stated[chain], s))
        c->failed = true;
}

/* "The family uses the internet; Work machines use the internet", for a rule of several statements. */
static void say_together(struct compiler *c, enum policy_chain chain, uint32_t index)
{
    struct buf b = { .arena = c->a };
    uint32_t last = NO_REF, n = 0;
    for (uint32_t i = 0; i < c->stated[chain].n; i++) {
        const struct stated *s = &c->stated[chain].v[i];
        if (s->rule != index || s->statement == last)
            continue;
        buf_text(&b, n++ ? "; " : "");
        buf_str(&b, s->says);
        last = s->statement;
    }
    c->failed = c->failed || b.failed;
    if (n > 1)
        c->chains[chain].v[index].says = buf_done(&b);
}

static void join_chain(struct compiler *c, enum policy_chain chain)
{
    struct rule *rules = c->chains[chain].v;
    const uint32_t n = c->chains[chain].n;
    uint32_t n_kept = 0;
    bool any = false;
    for (uint32_t k = 0; k < n && !c->failed; k++) {
        const struct rule r = rules[k];
        uint32_t axis = 0;
        rules[n_kept] = r;
        const uint32_t p = partner(c, rules, n_kept, &axis);
        keep(c, chain, p == NO_REF ? n_kept : p, &r);
        if (p == NO_REF)
            n_kept++;
        else
            take_in(c, &rules[p], &r, axis);
        any = any || p != NO_REF;
    }
    c->chains[chain].n = n_kept;
    for (uint32_t k = 0; k < n_kept && any && !c->failed; k++)
        if (rules[k].origin == ORIGIN_STATEMENT)
            say_together(c, chain, k);
}

void policy_join(struct compiler *c)
{
    join_chain(c, CHAIN_TO_GATEWAY);
    join_chain(c, CHAIN_THROUGH);
}

uint32_t policy_statement_of(const struct policy *policy, const struct rule *r, const struct packet *p)
{
    if (r->origin != ORIGIN_STATEMENT)
        return NO_REF;
    for (uint32_t i = 0; i < policy->stated.n; i++) {
        const struct stated *s = &policy->stated.v[i];
        if (s->rule == r->number && s->families & (1U << p->family) && match_holds(&s->match, p))
            return s->statement;
    }
    return r->which; /* a mirror of it, among the answers */
}

const struct rule *policy_rule_for(struct arena *a, const struct policy *policy, const struct rule *r,
                                   const struct packet *p, bool *failed)
{
    const uint32_t statement = r ? policy_statement_of(policy, r, p) : NO_REF;
    if (statement == NO_REF || statement == r->which)
        return r;
    struct rule *own = ARENA_NEW(a, struct rule);
    if (!own) {
        *failed = true;
        return r;
    }
    *own = *r;
    own->which = statement;
    own->at = policy->h->statements.v[statement].at;
    for (uint32_t i = 0; i < policy->stated.n; i++)
        if (policy->stated.v[i].rule == r->number && policy->stated.v[i].statement == statement)
            own->says = policy->stated.v[i].says;
    return own;
}
