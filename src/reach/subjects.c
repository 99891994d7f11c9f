/* subjects.c - what packets each rule may come by, and how the rules of a table lie to each other.
 *
 * Most rules are boxes: a product of spans on the axes.  Boxes share packets when they do on every axis, and lie within each
 * other when they do on every axis; so for each axis the different terms are compared once, and the answers for all rules that
 * bear them are bits that are and-ed together.  Rules behind returns may be no boxes; they are compared as diagrams, where
 * their hulls overlap. */
#include "reach/findings_int.h"

#include <stdlib.h>

/* ---- packets that get to a rule ---- */

/* Every place gets what comes along from the places before it, decisions left aside. */
static bool find_arrivals(struct seeker *s)
{
    struct judge *j = &s->judge;
    struct space *space = j->space;
    s->arrives = ARENA_ARRAY(j->keep, packet_set, (size_t)j->places.n + 1);
    s->arrives_at = ARENA_ARRAY(j->keep, packet_set, j->steps.n);
    if (!s->arrives || !s->arrives_at)
        return false;
    s->arrives[0] = SET_ALL;
    for (uint32_t i = 0; i < j->places.n; i++) {
        const struct step *step = &j->steps.v[j->places.v[i]];
        const packet_set here = s->arrives[i];
        packet_set *at = &s->arrives_at[j->places.v[i]];
        *at = set_or(space, *at, here);
        packet_set *next = &s->arrives[i + 1], *behind = &s->arrives[i + j->skips.v[i]];
        if (step->kind != STEP_JUMP && step->kind != STEP_RETURN) {
            *next = set_or(space, *next, here);
            continue;
        }
        const struct match m = { { step->terms.v, step->terms.n } };
        const packet_set fits = set_and(space, here, set_of(space, &m)), others = set_minus(space, here, fits);
        packet_set *to = step->kind == STEP_JUMP ? next : behind, *else_to = step->kind == STEP_JUMP ? behind : next;
        *to = set_or(space, *to, fits);
        *else_to = set_or(space, *else_to, others);
    }
    return space->code == RT_OK;
}

static bool find_hull(struct seeker *s, packet_set set, struct match *hull, bool *is_box)
{
    struct space *space = s->judge.space;
    bool failed = false;
    *hull = (struct match){ 0 };
    for (uint32_t axis = 0; axis < space->n_axes && set > SET_ALL; axis++) {
        const span_list in = set_values(space, set, axis, &failed);
        if (in.n != 1 || in.v[0].lo != 0 || in.v[0].hi != axis_max(axis, space->family))
            match_narrow(s->judge.keep, hull, axis, in, &failed);
    }
    *is_box = set_of(space, hull) == set;
    return !failed && space->code == RT_OK;
}

/* The hull of what gets to a place; the last one is remembered, since rules of a chain follow each other. */
struct guard {
    packet_set set;
    struct match hull;
    bool is_box;
};

static bool find_subject(struct seeker *s, uint32_t place, struct guard *g)
{
    struct judge *j = &s->judge;
    const struct step *step = &j->steps.v[j->places.v[place]];
    struct subject sub = { .rule = step->rule, .step = j->places.v[place], .decides = step->kind == STEP_DECIDE };
    bool failed = false;
    if (s->arrives[place] != g->set) {
        g->set = s->arrives[place];
        if (!find_hull(s, g->set, &g->hull, &g->is_box))
            return false;
    }
    if (g->is_box && step->n_places == 1 && g->set != SET_NONE) {
        sub.hull = g->hull;
        sub.is_box = true;
        for (uint32_t i = 0; i < step->terms.n; i++)
            match_narrow(j->keep, &sub.hull, step->terms.v[i].axis, step->terms.v[i].in, &failed);
        for (uint32_t i = 0; i < sub.hull.terms.n; i++)
            sub.is_empty |= sub.hull.terms.v[i].in.n == 0;
    } else {
        const struct match m = { { step->terms.v, step->terms.n } };
        sub.set = set_and(j->space, s->arrives_at[sub.step], set_of(j->space, &m));
        sub.has_set = true;
        sub.is_empty = sub.set == SET_NONE;
        if (!find_hull(s, sub.set, &sub.hull, &sub.is_box))
            return false;
    }
    return !failed && VEC_PUSH(j->keep, &s->subjects, sub);
}

packet_set subject_set(struct seeker *s, uint32_t i)
{
    struct subject *sub = &s->subjects.v[i];
    if (!sub->has_set)
        sub->set = set_of(s->judge.space, &sub->hull);
    sub->has_set = true;
    return sub->set;
}

enum rt_code subjects_find(struct seeker *s, struct rt_problems *p)
{
    struct judge *j = &s->judge;
    bool *seen = ARENA_ARRAY(j->keep, bool, j->steps.n);
    struct guard g = { .set = SET_ALL, .is_box = true };
    bool ok = seen && find_arrivals(s);
    for (uint32_t i = 0; i < j->places.n && ok; i++) {
        const uint32_t step = j->places.v[i];
        if (seen[step] || !j->steps.v[step].rule)
            continue;
        seen[step] = true;
        ok = find_subject(s, i, &g);
    }
    const uint32_t n_words = (s->subjects.n + 63) / 64;
    for (int i = 0; i < 3 && ok; i++)
        ok = (s->does[i] = ARENA_ARRAY(j->keep, uint64_t, n_words)) != NULL;
    ok = ok && (s->no_box = ARENA_ARRAY(j->keep, uint64_t, n_words)) != NULL;
    for (uint32_t i = 0; i < s->subjects.n && ok; i++) {
        if (s->subjects.v[i].decides && !s->subjects.v[i].is_empty)
            bit_set(s->does[s->subjects.v[i].rule->action], i);
        if (!s->subjects.v[i].is_box)
            bit_set(s->no_box, i);
    }
    RT_TRY(space_state(j->space, p));
    return ok ? RT_OK : rt_fail_memory(p);
}

/* ---- the terms of an axis ---- */

/* A term that one or more subjects have on the axis. */
struct kind_of_term {
    span_list in;
    axis_value lo, hi;
    uint32_t first, n; /* subjects, in a list by kind */
};

struct axis_terms {
    struct kind_of_term *v;
    uint32_t n;
    uint32_t *kind_of;  /* by subject */
    uint32_t *subjects; /* by kind */
};

struct sorted_term {
    span_list in;
    uint32_t subject;
};

static int compare_spans(span_list x, span_list y)
{
    for (uint32_t i = 0; i < x.n && i < y.n; i++) {
        if (x.v[i].lo != y.v[i].lo)
            return x.v[i].lo < y.v[i].lo ? -1 : 1;
        if (x.v[i].hi != y.v[i].hi)
            return x.v[i].hi < y.v[i].hi ? -1 : 1;
    }
    return (x.n > y.n) - (x.n < y.n);
}

static int by_spans(const void *a, const void *b)
{
    const struct sorted_term *x = a, *y = b;
    const int c = compare_spans(x->in, y->in);
    return c ? c : (x->subject > y->subject) - (x->subject < y->subject);
}

/* Gathers what the subjects that have packets say of the axis. */
static bool terms_of_axis(struct seeker *s, uint32_t axis, span_list whole, struct axis_terms *out)
{
    struct arena *a = s->judge.stack;
    const uint32_t n = s->subjects.n;
    struct sorted_term *sorted = ARENA_ARRAY(a, struct sorted_term, n);
    *out = (struct axis_terms){ ARENA_ARRAY(a, struct kind_of_term, n), 0, ARENA_ARRAY(a, uint32_t, n),
                                ARENA_ARRAY(a, uint32_t, n) };
    if (!sorted || !out->v || !out->kind_of || !out->subjects)
        return false;
    for (uint32_t i = 0; i < n; i++) {
        const span_list *in = match_on(&s->subjects.v[i].hull, axis);
        sorted[i] = (struct sorted_term){ in ? *in : whole, i };
    }
    if (n)
        qsort(sorted, n, sizeof *sorted, by_spans);
    for (uint32_t i = 0; i < n; i++) {
        const span_list in = sorted[i].in;
        if (i == 0 || compare_spans(sorted[i - 1].in, in) != 0)
            out->v[out->n++] = (struct kind_of_term){ .in = in, .first = i };
        struct kind_of_term *kind = &out->v[out->n - 1];
        kind->n++;
        if (in.n) {
            kind->lo = in.v[0].lo;
            kind->hi = in.v[in.n - 1].hi;
        }
        out->subjects[i] = sorted[i].subject;
        out->kind_of[sorted[i].subject] = out->n - 1;
    }
    return true;
}

/* ---- terms and terms ---- */

static bool spans_share(span_list x, span_list y)
{
    for (uint32_t i = 0, k = 0; i < x.n && k < y.n;) {
        if (x.v[i].hi < y.v[k].lo)
            i++;
        else if (y.v[k].hi < x.v[i].lo)
            k++;
        else
            return true;
    }
    return false;
}

static bool spans_within(span_list x, span_list y)
{
    uint32_t k = 0;
    for (uint32_t i = 0; i < x.n; i++) {
        while (k < y.n && y.v[k].hi < x.v[i].lo)
            k++;
        if (k == y.n || y.v[k].lo > x.v[i].lo || y.v[k].hi < x.v[i].hi)
            return false;
    }
    return true;
}

/* Bits of the subjects whose terms share values with the kind, hold it, lie within it. */
struct kind_bits {
    uint64_t *share, *within, *holds;
};

static void add_subjects(uint64_t *bits, const struct axis_terms *t, const struct kind_of_term *kind)
{
    for (uint32_t i = kind->first; i < kind->first + kind->n; i++)
        bit_set(bits, t->subjects[i]);
}

static void compare_kind(const struct axis_terms *t, uint32_t which, uint32_t n_words, const struct kind_bits *out)
{
    const struct kind_of_term *x = &t->v[which];
    memset(out->share, 0, n_words * sizeof *out->share);
    memset(out->within, 0, n_words * sizeof *out->within);
    memset(out->holds, 0, n_words * sizeof *out->holds);
    /* sorted by their first value, so that nothing behind the kind's last one is looked at */
    for (uint32_t k = 0; k < t->n && (t->v[k].in.n == 0 || t->v[k].lo <= x->hi); k++) {
        const struct kind_of_term *y = &t->v[k];
        if (y->in.n == 0 || x->in.n == 0 || y->hi < x->lo)
            continue;
        const bool are_spans = x->in.n == 1 && y->in.n == 1;
        if (!are_spans && !spans_share(x->in, y->in))
            continue;
        add_subjects(out->share, t, y);
        if (are_spans ? y->lo <= x->lo && x->hi <= y->hi : spans_within(x->in, y->in))
            add_subjects(out->within, t, y);
        if (are_spans ? x->lo <= y->lo && y->hi <= x->hi : spans_within(y->in, x->in))
            add_subjects(out->holds, t, y);
    }
}

static bool narrow_by_axis(struct seeker *s, const struct axis_terms *t)
{
    struct relations *r = &s->block;
    const uint32_t n_words = r->n_words;
    const struct kind_bits bits = { ARENA_ARRAY(s->judge.stack, uint64_t, n_words),
                                    ARENA_ARRAY(s->judge.stack, uint64_t, n_words),
                                    ARENA_ARRAY(s->judge.stack, uint64_t, n_words) };
    if (!bits.share || !bits.within || !bits.holds)
        return false;
    for (uint32_t k = 0; k < t->n; k++) {
        bool is_made = false;
        for (uint32_t i = t->v[k].first; i < t->v[k].first + t->v[k].n; i++) {
            const uint32_t sub = t->subjects[i];
            if (sub < r->first || sub >= r->first + r->n)
                continue;
            if (!is_made)
                compare_kind(t, k, n_words, &bits);
            is_made = true;
            const size_t row = (size_t)(sub - r->first) * n_words;
            for (uint32_t w = 0; w < n_words; w++) {
                r->share[row + w] &= bits.share[w];
                r->within[row + w] &= bits.within[w];
                r->holds[row + w] &= bits.holds[w];
            }
        }
    }
    return true;
}

bool relations_make(struct seeker *s, uint32_t first, uint32_t n)
{
    struct arena *a = s->judge.stack;
    const uint32_t n_words = (s->subjects.n + 63) / 64;
    const size_t all = (size_t)n * n_words;
    s->block = (struct relations){
        first, n, n_words, ARENA_ARRAY(a, uint64_t, all), ARENA_ARRAY(a, uint64_t, all), ARENA_ARRAY(a, uint64_t, all)
    };
    if (!s->block.share || !s->block.within || !s->block.holds)
        return false;
    memset(s->block.share, 0xff, all * sizeof(uint64_t));
    memset(s->block.within, 0xff, all * sizeof(uint64_t));
    memset(s->block.holds, 0xff, all * sizeof(uint64_t));
    for (uint32_t axis = 0; axis < s->judge.space->n_axes; axis++) {
        const struct arena_mark mark = arena_mark(a);
        struct span whole = { 0, axis_max(axis, s->judge.space->family) };
        struct axis_terms t;
        if (!space_goes_on(s->judge.space) || !terms_of_axis(s, axis, (span_list){ &whole, 1 }, &t))
            return false;
        const bool ok = t.n == 1 ? true : narrow_by_axis(s, &t);
        arena_reset(a, mark);
        if (!ok)
            return false;
    }
    return true;
}
