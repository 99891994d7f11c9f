/* Placings solved, against every possible choice tried one by one (all that a choice may be, and whether it holds and what it costs,
 * as design/placing.h says in words; tests/unit/test_design_placing_check.c works those by hand). */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "check.h"
#include "placing_kit.h"

/* Enough for any of these; the nodes and not the clock would stop a search. */
static const struct placing_limits LIMITS = { .seconds = 600, .nodes = 100000 };

/* ---- every choice ---- */

struct brute {
    const struct placing *q;
    const bool *given_up;
    struct placing_answer now;
    bool is_found;
    int64_t price;
    uint32_t n_boxes;
    int64_t sent_mw;
};

static int64_t sent_mw(const struct placing *q, const struct placing_answer *a)
{
    int64_t sum = 0;
    for (uint32_t o = 0; o < q->offers.n; o++)
        sum += a->offers[o] ? llround(1000 * q->offers.v[o].sent_w) : 0;
    return sum;
}

static uint32_t n_boxes(const struct placing *q, const struct placing_answer *a)
{
    uint32_t n = 0;
    for (uint32_t o = 0; o < q->offers.n; o++)
        n += a->offers[o] && !q->offers.v[o].is_fixed && (q->offers.v[o].piece == NO_REF || q->offers.v[o].price > 0);
    for (uint32_t i = 0; i < q->hubs.n * q->switches.n; i++)
        n += a->switches[i];
    return n;
}

static void look_at(struct brute *b)
{
    const int64_t price = placing_price(b->q, &b->now);
    if ((b->is_found && price > b->price) || !placing_holds(b->q, b->given_up, &b->now))
        return;
    const uint32_t boxes = n_boxes(b->q, &b->now);
    const int64_t sent = sent_mw(b->q, &b->now);
    if (b->is_found && price == b->price && (boxes > b->n_boxes || (boxes == b->n_boxes && sent >= b->sent_mw)))
        return;
    b->is_found = true;
    b->price = price;
    b->n_boxes = boxes;
    b->sent_mw = sent;
}

static void every_cabling(struct brute *b, uint32_t c)
{
    if (c == b->q->cablings.n) {
        look_at(b);
        return;
    }
    for (b->now.cablings[c] = 0; b->now.cablings[c] < b->q->cablings.v[c].n_parts; b->now.cablings[c]++)
        every_cabling(b, c + 1);
}

static void every_switch(struct brute *b, uint32_t i)
{
    const uint32_t n = b->q->switches.n;
    if (i == b->q->hubs.n * n) {
        every_cabling(b, 0);
        return;
    }
    const struct place_hub *hub = &b->q->hubs.v[i / n];
    bool may = false;
    for (uint32_t k = 0; k < hub->switches.n; k++)
        may |= hub->switches.v[k] == i % n;
    for (b->now.switches[i] = 0; b->now.switches[i] <= (may ? hub->most : 0); b->now.switches[i]++)
        every_switch(b, i + 1);
    b->now.switches[i] = 0;
}

static void every_link(struct brute *b, uint32_t t)
{
    const struct placing *q = b->q;
    if (t == q->things.n) {
        every_switch(b, 0);
        return;
    }
    const struct place_thing *is = &q->things.v[t];
    bool wants = is->site == NO_REF, may_not = is->hub != NO_REF || is->site != NO_REF;
    for (uint32_t o = 0; o < q->offers.n; o++)
        wants |= b->now.offers[o] && q->offers.v[o].site == is->site;
    if (is->site != NO_REF)
        may_not = !wants;
    b->now.links[t] = NO_REF;
    if (may_not)
        every_link(b, t + 1);
    for (uint32_t i = 0; wants && i < is->links.n; i++) {
        b->now.links[t] = is->links.v[i];
        every_link(b, t + 1);
    }
    b->now.links[t] = NO_REF;
}

static void every_offer(struct brute *b, uint32_t o)
{
    const struct placing *q = b->q;
    if (o < q->offers.n) {
        every_offer(b, o + 1);
        b->now.offers[o] = true;
        every_offer(b, o + 1);
        b->now.offers[o] = false;
        return;
    }
    for (uint32_t i = 0; i < q->offers.n; i++) {
        if (q->offers.v[i].is_fixed && !b->now.offers[i])
            return;
        for (uint32_t k = 0; k < i && b->now.offers[i]; k++)
            if (b->now.offers[k] && q->offers.v[k].site == q->offers.v[i].site)
                return;
    }
    for (uint32_t n = 0; n < q->needs.n; n++)
        if (!(b->given_up && b->given_up[q->needs.v[n].promise]) && !placing_need_holds(q, n, b->now.offers))
            return;
    every_link(b, 0);
}

static struct brute by_force(struct arena *a, const struct placing *q, const bool *given_up)
{
    struct brute b = { .q = q, .given_up = given_up };
    b.now = (struct placing_answer){ .offers = ARENA_ARRAY(a, bool, q->offers.n),
                                     .links = ARENA_ARRAY(a, uint32_t, q->things.n),
                                     .switches = ARENA_ARRAY(a, uint32_t, (size_t)q->hubs.n * q->switches.n),
                                     .cablings = ARENA_ARRAY(a, uint32_t, q->cablings.n) };
    every_offer(&b, 0);
    return b;
}

/* ---- the tests ---- */

static uint32_t n_found, n_none;

PROP(the_best_of_all_choices, 100)
{
    struct check_run c = check_run_begin();
    const struct kit k = kit_placing(c.run.arena, r);
    struct placing_answer answer;
    const struct brute b = by_force(c.run.arena, &k.q, NULL);
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &answer, &c.problems));
    CHECK("proven", answer.is_best && !answer.is_stopped);
    CHECK("found if there is one", answer.is_found == b.is_found);
    if (b.is_found) {
        CHECK("it holds", placing_holds(&k.q, NULL, &answer));
        CHECK_NEAR("price told", (double)answer.price, (double)placing_price(&k.q, &answer), 0, "");
        CHECK_NEAR("least price", (double)answer.price, (double)b.price, 0, "");
        CHECK_NEAR("boxes told", answer.n_boxes, n_boxes(&k.q, &answer), 0, "");
        CHECK_NEAR("fewest boxes", answer.n_boxes, b.n_boxes, 0, "");
        CHECK_NEAR("least power", (double)sent_mw(&k.q, &answer), (double)b.sent_mw, 0, "mW");
        CHECK("no choice is below the bound", answer.bound <= b.price);
    }
    n_found += b.is_found;
    n_none += !b.is_found;
    check_run_end(&c);
}

TEST(there_were_some_with_a_choice_and_some_without) { CHECK("of both kinds", n_found >= 30 && n_none >= 20); }

PROP(the_quick_search_finds_what_holds, 60)
{
    struct check_run c = check_run_begin();
    const struct kit k = kit_placing(c.run.arena, r);
    struct placing_answer answer;
    CHECK_OK(&c, placing_greedy(&c.run, &k.q, NULL, &answer, &c.problems));
    if (answer.is_found) {
        CHECK("it holds", placing_holds(&k.q, NULL, &answer));
        CHECK_NEAR("price told", (double)answer.price, (double)placing_price(&k.q, &answer), 0, "");
    }
    check_run_end(&c);
}

TEST(stopped_before_it_begins_it_gives_back_what_it_was_given)
{
    struct check_run c = check_run_begin();
    struct random r = { 3, 1, 0 };
    atomic_bool stop;
    struct kit k = kit_placing(c.run.arena, &r);
    struct placing_answer all, none;
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &all, &c.problems));
    while (!all.is_found) {
        k = kit_placing(c.run.arena, &r);
        CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &all, &c.problems));
    }
    atomic_init(&stop, true);
    c.run.cancel = &stop;
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, &all, LIMITS, &none, &c.problems));
    CHECK("found, not proven", none.is_found && none.is_stopped && !none.is_best);
    CHECK_NEAR("as good", (double)none.price, (double)all.price, 0, "");
    CHECK("a bound that holds", none.bound <= all.price);
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &none, &c.problems));
    CHECK("nothing is said to be impossible", none.is_stopped && !none.is_best);
    struct placing_conflict conflict;
    CHECK("no conflict is made up",
          placing_find_conflict(&c.run, &k.q, NULL, LIMITS, &conflict, &c.problems) == RT_CANCELLED);
    check_run_end(&c);
}

/* ---- conflicts ---- */

/* Which sets of promises can be kept, by all choices. */
struct table {
    bool can[1 << KIT_PROMISES];
    uint32_t asked; /* promises, as bits */
};

static struct table all_sets(struct arena *a, const struct placing *q)
{
    struct table t = { .asked = q->budget_promise != NO_REF && q->at_most != INT64_MAX ? 1u << q->budget_promise : 0 };
    for (uint32_t n = 0; n < q->needs.n; n++)
        t.asked |= 1u << q->needs.v[n].promise;
    for (uint32_t set = 0; set < 1u << KIT_PROMISES; set++) {
        bool given_up[KIT_PROMISES];
        for (uint32_t i = 0; i < KIT_PROMISES; i++)
            given_up[i] = !(set >> i & 1);
        if (!(set & ~t.asked))
            t.can[set] = by_force(a, q, given_up).is_found;
    }
    return t;
}

/* A placing whose budget is often a little too low. */
static struct kit tight_placing(struct check_run *c, struct random *r)
{
    struct kit k = kit_placing(c->run.arena, r);
    k.q.budget_promise = KIT_PROMISES - 1;
    const struct brute b = by_force(c->run.arena, &k.q, NULL);
    if (b.is_found && !kit_once_in(&k, 4))
        k.q.at_most = b.price - 1 - kit_below(&k, (uint32_t)(b.price / 3 + 1));
    return k;
}

static uint32_t bits_of(index_list promises)
{
    uint32_t set = 0;
    for (uint32_t i = 0; i < promises.n; i++)
        set |= 1u << promises.v[i];
    return set;
}

/* Needs that were named for a promise that cannot be kept by itself: together they cannot, without any one of them they can, or each
 * of them cannot by itself. */
static void check_needs(struct check_run *c, const struct placing *q, const struct placing_conflict *found)
{
    const uint32_t promise = found->promises.v[0], n = found->needs.n;
    bool given_up[KIT_PROMISES] = { 0 }, alone_fail = true;
    for (uint32_t i = 0; i < KIT_PROMISES; i++)
        given_up[i] = i != promise;
    struct placing some = *q;
    some.needs.v = ARENA_ARRAY(c->run.arena, struct place_need, n);
    some.needs.n = n;
    for (uint32_t i = 0; i < n; i++) {
        CHECK("a need of that promise", q->needs.v[found->needs.v[i]].promise == promise);
        some.needs.v[0] = q->needs.v[found->needs.v[i]];
        some.needs.n = 1;
        alone_fail &= !by_force(c->run.arena, &some, given_up).is_found;
    }
    for (uint32_t i = 0; i < n; i++)
        some.needs.v[i] = q->needs.v[found->needs.v[i]];
    some.needs.n = n;
    CHECK("they cannot be kept", !by_force(c->run.arena, &some, given_up).is_found);
    for (uint32_t i = 0; i < n && !alone_fail; i++) {
        some.needs.n = 0;
        for (uint32_t k = 0; k < n; k++)
            if (k != i)
                some.needs.v[some.needs.n++] = q->needs.v[found->needs.v[k]];
        CHECK("but without any one", by_force(c->run.arena, &some, given_up).is_found);
    }
}

PROP(conflicts_are_as_small_as_can_be, 40)
{
    struct check_run c = check_run_begin();
    const struct kit k = tight_placing(&c, r);
    const struct table t = all_sets(c.run.arena, &k.q);
    struct placing_conflict found;
    CHECK_OK(&c, placing_find_conflict(&c.run, &k.q, NULL, LIMITS, &found, &c.problems));
    CHECK("a conflict if there is one", found.has_conflict == !t.can[t.asked]);
    if (found.has_conflict) {
        const uint32_t set = bits_of(found.promises);
        CHECK("of what is asked", !(set & ~t.asked));
        CHECK("cannot be kept", !t.can[set]);
        CHECK("proven smallest", found.is_smallest);
        for (uint32_t i = 0; i < KIT_PROMISES; i++)
            CHECK("without any one it can", !(set >> i & 1) || t.can[set & ~(1u << i)]);
        for (uint32_t other = 0; other < 1u << KIT_PROMISES; other++)
            CHECK("no smaller one",
                  (other & ~t.asked) || t.can[other] || __builtin_popcount(other) >= __builtin_popcount(set));
        if (found.promises.n == 1 && found.promises.v[0] != k.q.budget_promise)
            check_needs(&c, &k.q, &found);
    }
    check_run_end(&c);
}

PROP(what_is_given_up_is_worth_least, 50)
{
    struct check_run c = check_run_begin();
    const struct kit k = tight_placing(&c, r);
    const struct table t = all_sets(c.run.arena, &k.q);
    double worth[KIT_PROMISES], best = INFINITY, sum = 0;
    bool given_up[KIT_PROMISES];
    uint32_t kept = t.asked;
    int fewest = 0, n = 0;
    for (uint32_t i = 0; i < KIT_PROMISES; i++)
        worth[i] = 1 + random_below(r, 4);
    for (uint32_t set = 0; set < 1u << KIT_PROMISES; set++) {
        double lost = 0;
        for (uint32_t i = 0; i < KIT_PROMISES; i++)
            lost += (t.asked & ~set) >> i & 1 ? worth[i] : 0;
        const int count = __builtin_popcount(t.asked & ~set);
        if ((set & ~t.asked) || !t.can[set] || lost > best + 0.5 || (lost > best - 0.5 && count >= fewest))
            continue;
        best = lost;
        fewest = count;
    }
    CHECK_OK(&c, placing_give_up(&c.run, &k.q, KIT_PROMISES, worth, LIMITS, given_up, &c.problems));
    for (uint32_t i = 0; i < KIT_PROMISES; i++) {
        CHECK("only what is asked", !given_up[i] || (t.asked >> i & 1));
        sum += given_up[i] ? worth[i] : 0;
        n += given_up[i];
        kept &= ~((uint32_t)given_up[i] << i);
    }
    if (isfinite(best)) {
        CHECK("the others can be kept", t.can[kept]);
        CHECK_NEAR("least worth", sum, best, 1e-9, "");
        CHECK_NEAR("fewest", n, fewest, 0, "");
    } else {
        CHECK("nothing helps", kept == 0);
    }
    check_run_end(&c);
}

/* ---- more promises cost more ---- */

PROP(leaving_out_a_promise_never_costs_more, 30)
{
    struct check_run c = check_run_begin();
    const struct kit k = kit_placing(c.run.arena, r);
    struct placing_answer all, less;
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &all, &c.problems));
    for (uint32_t i = 0; i < KIT_PROMISES; i++) {
        bool given_up[KIT_PROMISES] = { 0 };
        given_up[i] = true;
        CHECK_OK(&c, placing_solve(&c.run, &k.q, given_up, &all, LIMITS, &less, &c.problems));
        CHECK("what keeps all keeps less", less.is_found || !all.is_found);
        CHECK("for no more", !all.is_found || less.price <= all.price);
    }
    check_run_end(&c);
}
