/* What holds for every bill: it is the sum of its lines, a cheaper part never raises it, and cables left open cost the least that
 * any choice of parts does. */
#include <math.h>

#include "bill_kit.h"

#define SIX_CABLES                                                                                               \
    "phases:\n  p1: {by_date: 2027-02-01}\n  p2: {by_date: 2027-01-01}\n"                                        \
    "devices:\n  tv: {kind: television, " WIRED "}\n  cam: {kind: camera, " WIRED ", owned: false, part: eye}\n" \
    "equipment:\n  g: {part: switch_8, " AT "}\n  h: {part: switch_8, " AT ", phase: p1}\n"                      \
    "  k: {part: dome, mount: ceiling, phase: p2}\n"                                                             \
    "cables:\n  a: {from: \"g:1\", to: \"h:1\", length_m: 1}\n"                                                  \
    "  b: {from: \"g:2\", to: \"h:2\", length_m: 1}\n"                                                           \
    "  c: {from: \"g:3\", to: tv, length_m: 1}\n"                                                                \
    "  d: {from: \"h:4\", to: cam, length_m: 1}\n"                                                               \
    "  e: {from: \"g:5\", to: k, part: box_6, length_m: 1}\n"                                                    \
    "  f: {from: \"h:6\", to: \"k:1\", part: drum_6_outdoor, length_m: 1}\n"                                     \
    "budget: {contingency_share: 0.1, energy_per_kwh: 0.3}\n"

static double pence_between(struct random *r, double lo, double hi) { return round(random_between(r, lo, hi)) / 100.0; }

static struct bill_house random_house(struct random *r)
{
    static const char *const CATEGORIES[] = { "5e", "6" };
    struct bill_house b = bill_house(SIX_CABLES);
    for (uint32_t i = 0; i < b.h->parts.list.n; i++) {
        struct part *p = &b.h->parts.list.v[i];
        p->price = pence_between(r, 1, p->per_m > 1.0 ? 15000 : 300);
        if (p->kind == PART_CABLE && p->per_m > 1.0)
            p->per_m = round(random_between(r, 20, 305));
    }
    for (uint32_t i = 0; i < b.h->cables.n; i++) {
        b.plan.cables[i].fixed_m = round(random_between(r, 1, 1500)) / 10.0;
        b.plan.cables[i].outdoors = random_below(r, 3) == 0;
        b.links.v[i].category = str_from(CATEGORIES[random_below(r, 2)]);
        b.h->cables.v[i].owned = random_below(r, 5) == 0;
    }
    b.h->budget.labour_per_h = random_below(r, 2) ? pence_between(r, 0, 5000) : RT_NOT_GIVEN;
    bill_leg(&b, "a", RUN_SURFACE, pence_between(r, 0, 9999));
    bill_leg(&b, "d", RUN_ATTIC, pence_between(r, 0, 9999));
    bill_work_at(&b, WORK_HOLE, pence_between(r, 0, 5000), "a", "d");
    bill_work_at(&b, WORK_BOARD, pence_between(r, 0, 5000), "c", "e");
    b.energy.kwh_per_year = random_between(r, 0, 900);
    return b;
}

PROP(a_bill_is_the_sum_of_its_lines, 200)
{
    struct bill_house b = random_house(r);
    const struct bill *bill = bill_of(&b);
    int64_t phases[2] = { 0 }, none = 0;
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *q = &bill->lines.v[i];
        *(q->phase == NO_REF ? &none : &phases[q->phase]) += q->total;
        CHECK("never below zero", q->total >= 0);
        CHECK("nothing for what is owned", !q->owned || q->total == 0);
        if (q->is_priced && !q->owned && q->kind != BILL_CONTINGENCY) /* each and count as printed give the total */
            CHECK_NEAR("line", (double)q->total, 100.0 * q->each * q->count, 0.5 + 1e-3 * q->each * 100.0, "pence");
    }
    CHECK("total", bill_sum(bill) == bill->total);
    CHECK("phases", phases[0] == bill->phases[0] && phases[1] == bill->phases[1] && none == bill->no_phase);
    CHECK("together", bill->phases[0] + bill->phases[1] + bill->no_phase == bill->total);
    CHECK("year", bill->energy + bill->line == bill->yearly);
    check_run_end(&b.c);
}

PROP(a_cheaper_part_never_raises_it, 200)
{
    struct bill_house b = random_house(r);
    b.h->budget.contingency_share = 0.0; /* whose rounding, phase by phase, may move a penny */
    const int64_t before = bill_of(&b)->total;
    struct part *p = &b.h->parts.list.v[random_below(r, b.h->parts.list.n)];
    p->price = floor(p->price * 100.0 * random_between(r, 0, 1)) / 100.0;
    const int64_t after = bill_of(&b)->total;
    CHECK_NEAR("not dearer", (double)(after > before ? after - before : 0), 0, 0, "pence");
    check_run_end(&b.c);
}

/* Every way to give each open cable class one of the cable parts, tried one by one, by the price of whole boxes. */
static double least_by_trying(const struct bill_house *b)
{
    enum { CABLES = 6, PARTS = 16 };
    const uint32_t n_parts = b->h->parts.list.n;
    double least = INFINITY;
    const uint32_t n_classes = 4; /* 5e or 6, indoors or outdoors */
    uint32_t n_ways = 1;
    for (uint32_t k = 0; k < n_classes; k++)
        n_ways *= n_parts;
    for (uint32_t way = 0; way < n_ways; way++) {
        double length_m[PARTS] = { 0 }, spent = 0.0;
        bool serves = true;
        for (uint32_t i = 0; i < CABLES && serves; i++) {
            const struct cable *c = &b->h->cables.v[i];
            if (c->owned)
                continue;
            const bool six = str_is(b->links.v[i].category, "6"), out = b->plan.cables[i].outdoors;
            uint32_t part = c->part.i, rest = way;
            for (uint32_t k = 0; k < 2u * six + out; k++)
                rest /= n_parts;
            part = part == NO_REF ? rest % n_parts : part;
            const struct part *p = &b->h->parts.list.v[part];
            serves = c->part.i != NO_REF ||
                     (p->kind == PART_CABLE && (str_is(p->category, "6") || (!six && str_is(p->category, "5e"))) &&
                      (p->outdoors || !out));
            length_m[part] += b->plan.cables[i].fixed_m;
        }
        for (uint32_t k = 0; k < n_parts && serves; k++)
            if (length_m[k] > 0.0)
                spent += b->h->parts.list.v[k].price * ceil(length_m[k] / b->h->parts.list.v[k].per_m - 1e-8);
        least = serves && spent < least ? spent : least;
    }
    return least;
}

PROP(open_cables_cost_the_least, 40)
{
    struct bill_house b = random_house(r);
    const struct bill *bill = bill_of(&b);
    int64_t cables = 0;
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *q = &bill->lines.v[i];
        cables += q->kind == BILL_CABLE && b.h->parts.list.v[q->part].kind == PART_CABLE ? q->total : 0;
    }
    CHECK_NEAR("least", (double)cables, 100.0 * least_by_trying(&b), 1e-3, "pence");
    check_run_end(&b.c);
}

/* Little memory is told, never a crash: refused until there is enough. */
TEST(memory_runs_out)
{
    struct bill_house b = bill_house(SIX_CABLES);
    enum rt_code code = RT_NOMEM;
    unsigned n_refused = 0;
    for (size_t kb = 1; kb < 1024 && code != RT_OK; kb++) {
        struct arena *small = arena_new(kb * 1024);
        struct run run = b.c.run;
        struct rt_problems p;
        run.arena = small;
        rt_problems_init(&p, b.c.run.arena);
        struct bill *bill;
        code = bill_make(&run, &b.plan, &b.links, &b.energy, &bill, &p);
        n_refused += code == RT_NOMEM;
        CHECK("told", code == RT_OK || (code == RT_NOMEM && p.n_errors > 0));
        arena_free(small);
    }
    CHECK("refused at first", n_refused > 0);
    CHECK("enough in the end", code == RT_OK);
    check_run_end(&b.c);
}
