/* Cables whose part is left open: which cable parts serve them all for the least money.
 *
 * Cables that ask for the same (category, weather) are a class and get one part.  Boxes are shared by classes and with cables whose
 * part is given, so the classes are chosen for together: depth first, cut where the money spent reaches the best so far.  The least
 * is exact, so a part that becomes cheaper never makes the bill dearer. */
#include <math.h>

#include "data/cabling.h"
#include "wire/bill_int.h"

struct cable_class {
    struct str category;
    bool outdoors;
    double length_m;
    uint32_t n_candidates, *candidates; /* parts */
    uint32_t chosen;                    /* of the best so far; NO_REF: nothing serves */
};
typedef VEC(struct cable_class) class_list;

struct chooser {
    struct bill_draft *d;
    class_list classes;
    double *length_m; /* [parts] bought so far on this branch */
    uint32_t *now;    /* [classes] chosen on this branch */
    int64_t best;     /* millionths of the currency */
};

static bool is_open(const struct bill_draft *d, uint32_t cable)
{
    const struct cable *c = &d->h->cables.v[cable];
    return !c->owned && c->part.i == NO_REF && is_given(bill_cable_m(d, cable));
}

static struct cable_class *class_of(struct chooser *s, uint32_t cable)
{
    const struct str category = s->d->links->v[cable].category;
    const bool outdoors = s->d->cables->cables[cable].outdoors;
    for (uint32_t i = 0; i < s->classes.n; i++)
        if (str_eq(s->classes.v[i].category, category) && s->classes.v[i].outdoors == outdoors)
            return &s->classes.v[i];
    const struct cable_class fresh = { .category = category, .outdoors = outdoors, .chosen = NO_REF };
    if (!VEC_PUSH(s->d->a, &s->classes, fresh)) {
        s->d->failed = true;
        return NULL;
    }
    return &s->classes.v[s->classes.n - 1];
}

static bool serves(const struct part *p, const struct cable_class *q)
{
    return p->kind == PART_CABLE && p->per_m > 0.0 && p->price >= 0.0 && p->price < 1e9 &&
           (!q->outdoors || p->outdoors) && cable_category_serves(p->category, q->category);
}

/* The parts that serve, the cheapest for this class alone first, so that a good choice is found early. */
static bool find_candidates(struct bill_draft *d, struct cable_class *q)
{
    const struct parts *parts = &d->h->parts;
    q->candidates = ARENA_ARRAY(d->a, uint32_t, parts->list.n);
    double *alone = ARENA_ARRAY(d->a, double, parts->list.n);
    if (!q->candidates || !alone)
        return false;
    for (uint32_t i = 0; i < parts->list.n; i++) {
        const struct part *p = &parts->list.v[i];
        if (!serves(p, q))
            continue;
        const double price = ceil(q->length_m / p->per_m) * p->price;
        uint32_t at = q->n_candidates++;
        for (; at > 0 && price < alone[at - 1]; at--) {
            alone[at] = alone[at - 1];
            q->candidates[at] = q->candidates[at - 1];
        }
        alone[at] = price;
        q->candidates[at] = i;
    }
    return true;
}

static double boxes(double length_m, double per_m) { return ceil(fmax(0.0, length_m - 1e-6) / per_m); }

static int64_t price_of_more(const struct chooser *s, uint32_t part, double more_m)
{
    const struct part *p = &s->d->h->parts.list.v[part];
    const double has_m = s->length_m[part];
    return llround((boxes(has_m + more_m, p->per_m) - boxes(has_m, p->per_m)) * p->price * 1e6);
}

static void choose_from(struct chooser *s, uint32_t class, int64_t spent)
{
    if (spent >= s->best || run_is_cancelled(s->d->run))
        return;
    if (class == s->classes.n) {
        s->best = spent;
        for (uint32_t i = 0; i < s->classes.n; i++)
            s->classes.v[i].chosen = s->now[i];
        return;
    }
    const struct cable_class *q = &s->classes.v[class];
    s->now[class] = NO_REF;
    if (q->n_candidates == 0)
        choose_from(s, class + 1, spent);
    for (uint32_t i = 0; i < q->n_candidates; i++) {
        const uint32_t part = q->candidates[i];
        const int64_t more = price_of_more(s, part, q->length_m);
        const double before_m = s->length_m[part];
        s->now[class] = part;
        s->length_m[part] += q->length_m;
        choose_from(s, class + 1, spent + more);
        s->length_m[part] = before_m;
    }
}

static void bill_open(struct chooser *s, uint32_t cable)
{
    struct bill_draft *d = s->d;
    const struct cable_class *q = class_of(s, cable);
    const struct str id = d->h->cables.v[cable].id;
    const uint32_t phase = d->cable_phase[cable];
    if (!q)
        return;
    if (q->chosen == NO_REF) {
        bill_gap(d, phase, false, "the parts file has no cable of category %.*s%s, as cable %.*s needs",
                 STR_ARG(q->category), q->outdoors ? " for outdoors" : "", STR_ARG(id));
        return;
    }
    const struct part *p = &d->h->parts.list.v[q->chosen];
    d->cable_part[cable] = q->chosen;
    bill_add(d, (struct bill_item){ .kind = BILL_CABLE,
                                    .phase = phase,
                                    .part = q->chosen,
                                    .what = bill_part_words(d, q->chosen),
                                    .unit = p->per_m == 1.0 ? STR("m") : STR(""),
                                    .price = d->prices_hold ? p->price : RT_NOT_GIVEN,
                                    .length_m = bill_cable_m(d, cable),
                                    .who = id });
}

enum rt_code bill_open_cables(struct bill_draft *d, struct rt_problems *p)
{
    const struct house *h = d->h;
    struct chooser s = { .d = d, .best = INT64_MAX, .length_m = ARENA_ARRAY(d->a, double, h->parts.list.n) };
    if (!s.length_m)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < h->cables.n; i++)
        if (is_open(d, i)) {
            struct cable_class *q = class_of(&s, i);
            if (q)
                q->length_m += bill_cable_m(d, i);
        }
    for (uint32_t i = 0; i < d->lines.n; i++) {
        const struct bill_line *q = &d->lines.v[i].line;
        if (q->kind == BILL_CABLE && !q->owned && is_given(q->length_m))
            s.length_m[q->part] += q->length_m;
    }
    s.now = ARENA_ARRAY(d->a, uint32_t, s.classes.n);
    bool ok = s.now != NULL && !d->failed;
    for (uint32_t i = 0; i < s.classes.n && ok; i++)
        ok = find_candidates(d, &s.classes.v[i]);
    if (!ok)
        return rt_fail_memory(p);
    choose_from(&s, 0, 0);
    if (run_is_cancelled(d->run))
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    for (uint32_t i = 0; i < h->cables.n; i++)
        if (is_open(d, i))
            bill_open(&s, i);
    return d->failed ? rt_fail_memory(p) : RT_OK;
}
