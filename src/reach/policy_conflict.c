/* Statements that cannot decide anything, since those before them have decided all of their packets: a contradiction when one of
 * those decides otherwise, else superfluous.
 *
 * Asked of sets of packets (space.h), so that several statements together count.  A statement with hours stands in the way of
 * those with the same hours only. */
#include "reach/policy_int.h"
#include "reach/space.h"

struct judge_of_statements {
    struct compiler *c;
    struct space *space[FAMILY_COUNT];
    packet_set *own[FAMILY_COUNT];      /* by statement: its packets */
    packet_set always[FAMILY_COUNT];    /* decided so far, at all hours */
    packet_set *at_hours[FAMILY_COUNT]; /* by hours: besides, at these */
};

static bool prepare(struct judge_of_statements *j, const struct run *run)
{
    struct compiler *c = j->c;
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        j->own[f] = ARENA_ARRAY(c->a, packet_set, c->h->statements.n);
        j->at_hours[f] = ARENA_ARRAY(c->a, packet_set, c->h->hours.n);
        if (!j->own[f] || !j->at_hours[f]) {
            c->failed = true;
            return false;
        }
        const enum rt_code code = space_new(run, f, c->names.n, &j->space[f], c->p);
        if (code) {
            c->code = c->code ? c->code : code;
            return false;
        }
    }
    return true;
}

static void gather_own(struct judge_of_statements *j)
{
    static const enum policy_chain CHAINS[] = { CHAIN_TO_GATEWAY, CHAIN_THROUGH };
    for (size_t k = 0; k < RT_COUNT(CHAINS); k++)
        for (uint32_t i = 0; i < j->c->chains[CHAINS[k]].n; i++) {
            const struct rule *r = &j->c->chains[CHAINS[k]].v[i];
            for (enum family f = 0; f < FAMILY_COUNT && r->origin == ORIGIN_STATEMENT; f++)
                if (r->families & (1U << f))
                    j->own[f][r->which] = set_or(j->space[f], j->own[f][r->which], set_of(j->space[f], &r->match));
        }
}

static bool is_empty(const struct judge_of_statements *j, uint32_t i)
{
    return j->own[FAMILY_IPV4][i] == SET_NONE && j->own[FAMILY_IPV6][i] == SET_NONE;
}

/* What earlier statements leave of statement i. */
static packet_set left_over(struct judge_of_statements *j, uint32_t i, enum family f)
{
    const uint32_t hours = j->c->h->statements.v[i].hours.i;
    packet_set left = set_minus(j->space[f], j->own[f][i], j->always[f]);
    return hours == NO_REF ? left : set_minus(j->space[f], left, j->at_hours[f][hours]);
}

static bool shares_hours(const struct statement *earlier, const struct statement *s)
{
    return earlier->hours.i == NO_REF || earlier->hours.i == s->hours.i;
}

/* The first earlier statement that decides packets of statement i, and, if there is one, the first that decides otherwise. */
static uint32_t decided_by(struct judge_of_statements *j, uint32_t i, bool otherwise)
{
    const struct statement *all = j->c->h->statements.v;
    packet_set left[FAMILY_COUNT] = { j->own[FAMILY_IPV4][i], j->own[FAMILY_IPV6][i] };
    for (uint32_t k = 0; k < i; k++) {
        if (!shares_hours(&all[k], &all[i]))
            continue;
        bool hit = false;
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            hit = hit || set_and(j->space[f], left[f], j->own[f][k]) != SET_NONE;
            left[f] = set_minus(j->space[f], left[f], j->own[f][k]);
        }
        if (hit && (!otherwise || all[k].verdict != all[i].verdict))
            return k;
    }
    return NO_REF;
}

static void report(struct judge_of_statements *j, uint32_t i)
{
    struct compiler *c = j->c;
    const struct statement *all = c->h->statements.v;
    const uint32_t against = decided_by(j, i, true), by = against == NO_REF ? decided_by(j, i, false) : against;
    const struct str mine = policy_statement_name(c, i), other = policy_statement_name(c, by);
    const char *does = all[by].verdict == VERDICT_ALLOW ? "allows" : "refuses";
    if (against != NO_REF)
        policy_fail(c, RT_CONFLICT, all[i].at,
                    "the first statement that fits decides: put this one before it, or take one out",
                    "%.*s can never decide anything: %.*s (line %u) %s the same before it", STR_ARG(mine),
                    STR_ARG(other), (unsigned)all[by].at.line, does);
    else
        rt_warn(c->p, RT_CONFLICT, all[i].at, "take it out, or narrow the other",
                "%.*s adds nothing: %.*s (line %u) %s the same before it", STR_ARG(mine), STR_ARG(other),
                (unsigned)all[by].at.line, does);
}

void policy_conflicts(struct compiler *c, const struct run *run)
{
    struct judge_of_statements j = { .c = c };
    if (c->h->statements.n == 0 || !prepare(&j, run))
        return;
    gather_own(&j);
    for (uint32_t i = 0; i < c->h->statements.n; i++) {
        const uint32_t hours = c->h->statements.v[i].hours.i;
        if (!is_empty(&j, i) && left_over(&j, i, FAMILY_IPV4) == SET_NONE && left_over(&j, i, FAMILY_IPV6) == SET_NONE)
            report(&j, i);
        for (enum family f = 0; f < FAMILY_COUNT; f++) {
            packet_set *to = hours == NO_REF ? &j.always[f] : &j.at_hours[f][hours];
            *to = set_or(j.space[f], *to, j.own[f][i]);
        }
    }
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        const enum rt_code code = space_state(j.space[f], c->p);
        c->code = c->code ? c->code : code;
    }
}
