/* The algebra of sets: laws that hold for any sets, each set also compared with what its matches say of single packets. */
#include "check.h"

#include <math.h>

#include "table_kit.h"

enum { PACKETS = 40, MATCHES = 4 };

struct trial {
    struct check_run c;
    struct kit kit;
    struct space *s;
    struct match m[3][MATCHES];
    packet_set a, b, d; /* the unions of the three rows */
};

static packet_set one_by_one(struct space *s, const struct match *m, uint32_t n)
{
    packet_set all = SET_NONE;
    for (uint32_t i = 0; i < n; i++)
        all = set_or(s, all, set_of(s, &m[i]));
    return all;
}

/* The space keeps the address of the run. */
static void trial_begin(struct trial *t, struct random *r)
{
    *t = (struct trial){ .c = check_run_begin() };
    const enum family family = random_below(r, 2) ? FAMILY_IPV6 : FAMILY_IPV4;
    t->kit = kit_new(t->c.run.arena, r, family, 1 + random_below(r, 5));
    CHECK_OK(&t->c, space_new(&t->c.run, family, KIT_NAMED, &t->s, &t->c.problems));
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < MATCHES; k++)
            t->m[i][k] = kit_match(&t->kit);
    t->a = one_by_one(t->s, t->m[0], MATCHES);
    t->b = one_by_one(t->s, t->m[1], MATCHES);
    t->d = one_by_one(t->s, t->m[2], MATCHES);
}

static void trial_end(struct trial *t)
{
    CHECK_OK(&t->c, space_state(t->s, &t->c.problems));
    check_run_end(&t->c);
}

static bool any_holds(const struct match *m, const struct packet *p)
{
    bool holds = false;
    for (int i = 0; i < MATCHES; i++)
        holds |= match_holds(&m[i], p);
    return holds;
}

PROP(a_set_holds_what_its_matches_hold, 600)
{
    struct trial t;
    trial_begin(&t, r);
    const packet_set both = set_and(t.s, t.a, t.b), left = set_minus(t.s, t.a, t.b), others = set_not(t.s, t.a);
    for (int i = 0; i < PACKETS; i++) {
        const struct packet p = kit_packet(&t.kit);
        const bool a = any_holds(t.m[0], &p), b = any_holds(t.m[1], &p);
        CHECK("one of the matches", set_holds(t.s, t.a, &p) == a);
        CHECK("and", set_holds(t.s, both, &p) == (a && b));
        CHECK("minus", set_holds(t.s, left, &p) == (a && !b));
        CHECK("not", set_holds(t.s, others, &p) == !a);
        struct packet foreign = p;
        foreign.family = p.family == FAMILY_IPV4 ? FAMILY_IPV6 : FAMILY_IPV4;
        CHECK("of the other family", !set_holds(t.s, SET_ALL, &foreign));
    }
    trial_end(&t);
}

PROP(equal_sets_have_equal_numbers, 600)
{
    struct trial t;
    trial_begin(&t, r);
    struct space *s = t.s;
    const packet_set a = t.a, b = t.b, d = t.d;
    CHECK("built at once or one by one", set_of_any(s, t.m[0], MATCHES) == a);
    CHECK("idempotent", set_and(s, a, a) == a && set_or(s, a, a) == a);
    CHECK("commutative", set_and(s, a, b) == set_and(s, b, a) && set_or(s, a, b) == set_or(s, b, a));
    CHECK("associative", set_or(s, set_or(s, a, b), d) == set_or(s, a, set_or(s, b, d)));
    CHECK("distributive", set_and(s, a, set_or(s, b, d)) == set_or(s, set_and(s, a, b), set_and(s, a, d)));
    CHECK("absorption", set_or(s, a, set_and(s, a, b)) == a);
    CHECK("De Morgan", set_not(s, set_or(s, a, b)) == set_and(s, set_not(s, a), set_not(s, b)));
    CHECK("twice not", set_not(s, set_not(s, a)) == a);
    CHECK("minus is and-not", set_minus(s, a, b) == set_and(s, a, set_not(s, b)));
    CHECK("excluded middle", set_or(s, a, set_not(s, a)) == SET_ALL && set_and(s, a, set_not(s, a)) == SET_NONE);
    /* the same sets in a fresh space, in another order, and brought together again by their matches */
    struct match reversed[MATCHES];
    for (int i = 0; i < MATCHES; i++)
        reversed[i] = t.m[0][MATCHES - 1 - i];
    CHECK("in another order", set_of_any(s, reversed, MATCHES) == a && one_by_one(s, reversed, MATCHES) == a);
    trial_end(&t);
}

PROP(counts_add_up, 400)
{
    struct trial t;
    trial_begin(&t, r);
    struct space *s = t.s;
    const double all = set_count(s, SET_ALL), a = set_count(s, t.a), b = set_count(s, t.b);
    const double both = set_count(s, set_and(s, t.a, t.b)), either = set_count(s, set_or(s, t.a, t.b));
    CHECK_NEAR("a + b", (a + b) / all, (both + either) / all, 1e-12, "of all");
    CHECK_NEAR("the others", set_count(s, set_not(s, t.a)) / all, 1.0 - a / all, 1e-12, "of all");
    CHECK("none", set_count(s, SET_NONE) == 0.0);
    CHECK("some", (t.a == SET_NONE) == (a == 0.0));
    /* a single match is a box: its packets are the product of the values on each axis */
    const packet_set box = set_of(s, &t.m[0][0]);
    double product = 1.0;
    for (uint32_t axis = 0; axis < KIT_AXES; axis++) {
        const span_list *in = match_on(&t.m[0][0], axis);
        double values = in ? 0.0 : (double)axis_max(axis, t.kit.family) + 1.0;
        for (uint32_t i = 0; in && i < in->n; i++)
            values += (double)(in->v[i].hi - in->v[i].lo) + 1.0;
        product *= values;
    }
    CHECK("a box", fabs(set_count(s, box) - product) <= 1e-9 * product);
    trial_end(&t);
}

PROP(a_witness_is_of_the_set, 600)
{
    struct trial t;
    trial_begin(&t, r);
    const packet_set sets[] = { t.a, set_minus(t.s, t.a, t.b), set_not(t.s, t.a), set_and(t.s, t.b, t.d), SET_ALL };
    for (size_t i = 0; i < RT_COUNT(sets); i++) {
        struct packet p, again;
        const bool found = set_witness(t.s, sets[i], &p);
        CHECK("found unless there is none", found == (sets[i] != SET_NONE));
        if (!found)
            continue;
        CHECK("it is of the set", set_holds(t.s, sets[i], &p));
        CHECK("the same each time", set_witness(t.s, sets[i], &again) && memcmp(&p, &again, sizeof p) == 0);
        for (uint32_t axis = 0; axis < AXIS_NAMED; axis++)
            CHECK("within the axis", p.at[axis] <= axis_max(axis, t.kit.family));
    }
    trial_end(&t);
}

PROP(forgetting_an_axis_lets_it_be_anything, 600)
{
    struct trial t;
    trial_begin(&t, r);
    const uint32_t axis = random_below(r, KIT_AXES);
    const uint64_t bit = (uint64_t)1 << axis;
    const packet_set f = set_forget(t.s, t.a, bit);
    CHECK("it holds the set", set_minus(t.s, t.a, f) == SET_NONE);
    CHECK("once is enough", set_forget(t.s, f, bit) == f);
    CHECK("forgets unions", set_forget(t.s, set_or(t.s, t.a, t.b), bit) == set_or(t.s, f, set_forget(t.s, t.b, bit)));
    for (int i = 0; i < PACKETS; i++) {
        struct packet p = kit_packet(&t.kit);
        /* by trying: ends of spans, and what lies beside them, stand for all values of the axis */
        bool any = false;
        for (uint32_t k = 0; k < 3 * KIT_ENDS; k++) {
            const axis_value end = t.kit.ends[axis][k / 3], value = end - 1U + (axis_value)(k % 3U);
            struct packet q = p;
            if ((k % 3 == 0 && end == 0) || (k % 3 == 2 && end == axis_max(axis, t.kit.family)))
                continue;
            if (axis < AXIS_NAMED)
                q.at[axis] = value;
            else
                q.named = (q.named & ~(bit >> AXIS_NAMED)) | (uint64_t)value << (axis - AXIS_NAMED);
            any |= set_holds(t.s, t.a, &q);
        }
        CHECK("some value of the axis", set_holds(t.s, f, &p) == any);
    }
    CHECK("all forgotten", set_forget(t.s, t.a, ~(uint64_t)0) == (t.a == SET_NONE ? SET_NONE : SET_ALL));
    trial_end(&t);
}

PROP(values_are_those_with_packets, 400)
{
    struct trial t;
    trial_begin(&t, r);
    const uint32_t axis = random_below(r, KIT_AXES);
    bool failed = false;
    const span_list values = set_values(t.s, t.a, axis, &failed);
    CHECK("room", !failed);
    for (int i = 0; i < 3 * KIT_ENDS; i++) {
        const axis_value value = kit_near(&t.kit, axis);
        struct match m = { 0 };
        match_narrow_to(t.c.run.arena, &m, axis, value, value, &failed);
        CHECK("a value", spans_hold(values, value) == (set_and(t.s, t.a, set_of(t.s, &m)) != SET_NONE));
    }
    trial_end(&t);
}
