/* judge_descend.c - from a program to the diagram of its ends, downwards from the first axis.
 *
 * At an axis the ends of the spans of all steps of the list cut it into pieces; for each piece the steps that may still fit
 * make the list for the next axis.  A step without terms on later axes fits for certain: a deciding one ends the list.  So
 * the work grows with the pieces that really differ, not with the number of rules times the size of what went before. */
#include "reach/judge_int.h"

#include <stdlib.h>

enum { KNOWN_FIRST = 1 << 10 };

/* ---- the values at which spans begin ---- */

static int by_value(const void *a, const void *b)
{
    const axis_value x = *(const axis_value *)a, y = *(const axis_value *)b;
    return (x > y) - (x < y);
}

static const span_list *spans_on(const struct step *step, uint32_t axis, uint32_t *term)
{
    for (uint32_t i = 0; i < step->terms.n; i++)
        if (step->terms.v[i].axis == axis) {
            *term = i;
            return &step->terms.v[i].in;
        }
    return NULL;
}

/* The bounds of an axis, ascending, each once; their number.  NULL: no memory. */
static axis_value *bounds_of(struct judge *j, uint32_t axis, uint32_t *n_out)
{
    const axis_value max = axis_max(axis, j->space->family);
    size_t n_max = 0;
    uint32_t term, n = 0, distinct = 0;
    for (uint32_t i = 0; i < j->steps.n; i++) {
        const span_list *in = spans_on(&j->steps.v[i], axis, &term);
        n_max += in ? 2 * (size_t)in->n : 0;
    }
    axis_value *v = ARENA_ARRAY(j->keep, axis_value, n_max + 1);
    if (!v)
        return NULL;
    for (uint32_t i = 0; i < j->steps.n; i++) {
        const span_list *in = spans_on(&j->steps.v[i], axis, &term);
        for (uint32_t k = 0; in && k < in->n && in->v[k].lo <= max; k++) {
            v[n++] = in->v[k].lo;
            if (in->v[k].hi < max)
                v[n++] = in->v[k].hi + 1;
        }
    }
    if (n)
        qsort(v, n, sizeof *v, by_value);
    for (uint32_t i = 0; i < n; i++)
        if (distinct == 0 || v[i] != v[distinct - 1])
            v[distinct++] = v[i];
    *n_out = distinct;
    return v;
}

static uint32_t rank_of(const axis_value *v, uint32_t n, axis_value value)
{
    const axis_value *at = bsearch(&value, v, n, sizeof *v, by_value);
    return at ? (uint32_t)(at - v) : NO_REF;
}

/* By span: where it begins (NO_REF: beyond the axis), where the value behind it is (NO_REF: it goes to the end). */
static bool rank_step(struct judge *j, struct step *step, uint32_t axis, uint32_t n_bounds)
{
    uint32_t term = 0;
    const span_list *in = spans_on(step, axis, &term);
    if (!in)
        return true;
    const axis_value max = axis_max(axis, j->space->family), *bounds = j->bounds[axis];
    uint32_t *cuts = ARENA_ARRAY(j->keep, uint32_t, 2 * (size_t)in->n);
    if (!cuts)
        return false;
    for (uint32_t k = 0; k < in->n; k++) {
        cuts[2 * k] = in->v[k].lo <= max ? rank_of(bounds, n_bounds, in->v[k].lo) : NO_REF;
        cuts[2 * k + 1] = in->v[k].hi < max ? rank_of(bounds, n_bounds, in->v[k].hi + 1) : NO_REF;
    }
    step->cuts[term] = cuts;
    return true;
}

static bool rank_all(struct judge *j, uint64_t axes)
{
    for (uint32_t i = 0; i < j->steps.n; i++)
        if (!(j->steps.v[i].cuts = ARENA_ARRAY(j->keep, uint32_t *, j->steps.v[i].terms.n)))
            return false;
    for (; axes; axes &= axes - 1) {
        const uint32_t axis = (uint32_t)__builtin_ctzll(axes);
        uint32_t n_bounds = 0;
        if (!(j->bounds[axis] = bounds_of(j, axis, &n_bounds)))
            return false;
        for (uint32_t i = 0; i < j->steps.n; i++)
            if (!rank_step(j, &j->steps.v[i], axis, n_bounds))
                return false;
    }
    return true;
}

/* ---- steps that are alike ---- */

struct likeness {
    uint32_t likes; /* equal: alike on the axes behind */
    uint32_t n;     /* cuts on this axis */
    const uint32_t *cuts;
    uint32_t step;
    bool is_free; /* no term here */
};

static int by_likeness(const void *a, const void *b)
{
    const struct likeness *x = a, *y = b;
    if (x->likes != y->likes)
        return x->likes < y->likes ? -1 : 1;
    if (x->is_free != y->is_free)
        return x->is_free - y->is_free;
    if (x->n != y->n)
        return x->n < y->n ? -1 : 1;
    const int c = x->n ? memcmp(x->cuts, y->cuts, x->n * sizeof *x->cuts) : 0;
    return c ? c : (x->step > y->step) - (x->step < y->step);
}

/* Joins what the steps ask of an axis with what they ask behind it. */
static void join_likeness(const struct judge *j, uint32_t axis, struct likeness *v, uint32_t *likes)
{
    for (uint32_t i = 0; i < j->steps.n; i++) {
        uint32_t term = 0;
        const span_list *in = spans_on(&j->steps.v[i], axis, &term);
        v[i] = (struct likeness){ likes[i], in ? 2 * in->n : 0, in ? j->steps.v[i].cuts[term] : NULL, i, !in };
    }
    qsort(v, j->steps.n, sizeof *v, by_likeness);
    for (uint32_t i = 0, n = 0; i < j->steps.n; i++) {
        struct likeness before = i ? v[i - 1] : v[i];
        before.step = v[i].step;
        n += i && by_likeness(&before, &v[i]) != 0;
        likes[v[i].step] = n;
    }
}

static bool find_alike(struct judge *j, uint64_t axes)
{
    const uint32_t n = j->steps.n;
    uint32_t *likes = ARENA_ARRAY(j->keep, uint32_t, n), *first = ARENA_ARRAY(j->keep, uint32_t, (size_t)n + ENDS);
    struct likeness *v = ARENA_ARRAY(j->keep, struct likeness, n);
    if (!likes || !first || !v)
        return false;
    for (uint32_t i = 0; i < n; i++)
        likes[i] = j->steps.v[i].kind == STEP_DECIDE ? j->steps.v[i].end : ENDS + i;
    while (axes) {
        const uint32_t axis = 63 - (uint32_t)__builtin_clzll(axes);
        axes &= ~((uint64_t)1 << axis);
        uint32_t *like = j->like[axis] = ARENA_ARRAY(j->keep, uint32_t, n);
        if (!like)
            return false;
        for (uint32_t i = 0; i < n + ENDS; i++)
            first[i] = NO_REF;
        for (uint32_t i = 0; i < n; i++) {
            if (first[likes[i]] == NO_REF)
                first[likes[i]] = i;
            like[i] = first[likes[i]];
        }
        join_likeness(j, axis, v, likes);
    }
    return true;
}

bool judge_prepare(struct judge *j)
{
    uint64_t axes = 0;
    for (uint32_t i = 0; i < ENDS; i++) {
        j->plain[i] = j->steps.n;
        if (!VEC_PUSH(j->keep, &j->steps, ((struct step){ .end = i, .action = (enum action)i })))
            return false;
    }
    for (uint32_t i = 0; i < j->steps.n; i++)
        axes |= j->steps.v[i].axes;
    return rank_all(j, axes) && find_alike(j, axes);
}

/* ---- an end ---- */

/* Runs a list all of whose steps fit, without one of them (NO_REF: with all); the place that decides. */
static uint32_t run_on(const struct judge *j, const struct list *l, uint32_t without)
{
    for (uint32_t i = 0; i < l->n; i++) {
        const enum step_kind kind = j->steps.v[l->step[i]].kind;
        const bool is_out = l->step[i] == without;
        if (kind == STEP_DECIDE && !is_out)
            return i;
        if (l->has_skips && (is_out ? kind == STEP_JUMP : kind == STEP_RETURN))
            i += l->skip[i] - 1;
    }
    return NO_REF;
}

/* Does a packet that fits all steps of the list come by the one sought?  Then: would it fare otherwise without? */
static void look(struct judge *j, const struct list *l)
{
    uint32_t i = 0;
    while (i < l->n && l->step[i] != j->sought) {
        const enum step_kind kind = j->steps.v[l->step[i]].kind;
        if (kind == STEP_DECIDE)
            return;
        i += kind == STEP_RETURN ? l->skip[i] : 1;
    }
    if (i >= l->n)
        return;
    j->is_hit = true;
    const uint32_t with = run_on(j, l, NO_REF), without = run_on(j, l, j->sought);
    if (with != NO_REF && without != NO_REF)
        j->is_needed |= j->steps.v[l->step[with]].action != j->steps.v[l->step[without]].action;
}

static packet_set end_of(struct judge *j, const struct list *l)
{
    if (j->sought != NO_REF) {
        look(j, l);
        return SET_NONE; /* no diagram is asked for */
    }
    const uint32_t at = run_on(j, l, NO_REF);
    return at == NO_REF ? SET_NONE : j->ends[j->steps.v[l->step[at]].end];
}

/* Nothing is to be found out about the step sought in this list: it is not there; or it is known to be hit, and all that may
 * decide from it on does the same. */
static bool is_settled(const struct judge *j, const struct list *l)
{
    if (j->is_hit && j->is_needed)
        return true;
    uint32_t at = 0;
    while (at < l->n && l->step[at] != j->sought)
        at++;
    if (at == l->n)
        return true;
    if (!j->is_hit)
        return false;
    uint32_t decides = NO_REF;
    for (uint32_t i = at; i < l->n; i++) {
        const struct step *step = &j->steps.v[l->step[i]];
        if (step->kind != STEP_DECIDE)
            continue;
        if (decides != NO_REF && step->action != j->steps.v[decides].action)
            return false;
        decides = l->step[i];
    }
    return true;
}

/* ---- lists met before ---- */

struct known {
    struct list list;
    uint32_t hash, axis;
    packet_set result;
};

/* A sum, so that one step need not wait for the one before. */
static uint32_t hash_list(const struct list *l, uint32_t axis)
{
    static const uint64_t A = 0x9e3779b97f4a7c15, B = 0xd1b54a32d192ed03;
    uint64_t h = axis * B + l->n;
    for (uint32_t i = 0; i < l->n; i++)
        h += (l->step[i] + i * A) * (B + 2 * (uint64_t)l->step[i]);
    for (uint32_t i = 0; l->has_skips && i < l->n; i++)
        h += (l->skip[i] + i * B) * (A + 2 * (uint64_t)l->skip[i]);
    return (uint32_t)(h ^ h >> 32) ^ (uint32_t)(h >> 17);
}

static bool is_same_list(const struct list *a, const struct list *b)
{
    const size_t bytes = a->n * sizeof *a->step;
    return a->n == b->n && a->has_skips == b->has_skips && memcmp(a->step, b->step, bytes) == 0 &&
           (!a->has_skips || memcmp(a->skip, b->skip, bytes) == 0);
}

/* The entry of the list, or the free one where it belongs. */
static struct known *find_known(struct known *table, uint32_t n, const struct list *l, uint32_t axis, uint32_t hash)
{
    uint32_t i = hash & (n - 1);
    for (; table[i].list.n; i = (i + 1) & (n - 1))
        if (table[i].hash == hash && table[i].axis == axis && is_same_list(&table[i].list, l))
            break;
    return &table[i];
}

static bool grow_known(struct judge *j)
{
    const uint32_t n = j->known ? j->n_known_max * 2 : KNOWN_FIRST;
    struct known *table = ARENA_ARRAY(j->keep, struct known, n);
    if (!table)
        return false;
    for (uint32_t i = 0; j->known && i < j->n_known_max; i++)
        if (j->known[i].list.n)
            *find_known(table, n, &j->known[i].list, j->known[i].axis, j->known[i].hash) = j->known[i];
    j->known = table;
    j->n_known_max = n;
    return true;
}

static void remember(struct judge *j, const struct list *l, uint32_t axis, uint32_t hash, packet_set result)
{
    if (j->space->code)
        return;
    struct known k = { .list = *l, .hash = hash, .axis = axis, .result = result };
    k.list.step = ARENA_ARRAY(j->keep, uint32_t, (size_t)l->n * (l->has_skips ? 2 : 1));
    if (!k.list.step || (j->n_known * 2 >= j->n_known_max && !grow_known(j))) {
        space_fail(j->space, RT_NOMEM);
        return;
    }
    memcpy(k.list.step, l->step, l->n * sizeof *l->step);
    if (l->has_skips) {
        k.list.skip = k.list.step + l->n;
        memcpy(k.list.skip, l->skip, l->n * sizeof *l->skip);
    }
    *find_known(j->known, j->n_known_max, l, axis, hash) = k;
    j->n_known++;
}

/* ---- the descent ---- */

/* A place that begins or ceases to fit at a bound, in one number that sorts: bound, place, and of spans that touch the end
 * before the beginning. */
static uint64_t cut_of(uint32_t bound, uint32_t place, bool fits) { return (uint64_t)bound << 32 | place << 1 | fits; }

/* Shell's sort with Ciura's gaps (2001): lists of cuts are short and many, and a call for each comparison would cost more. */
static void sort_cuts(uint64_t *v, uint32_t n)
{
    static const uint32_t GAPS[] = { 29524, 9841, 3280, 1093, 701, 301, 132, 57, 23, 10, 4, 1 };
    for (size_t g = 0; g < RT_COUNT(GAPS); g++)
        for (uint32_t gap = GAPS[g], i = gap; i < n; i++) {
            const uint64_t x = v[i];
            uint32_t k = i;
            for (; k >= gap && v[k - gap] > x; k -= gap)
                v[k] = v[k - gap];
            v[k] = x;
        }
}

/* The cuts, ascending; places without a term fit from the start. */
static uint64_t *cuts_of(struct judge *j, struct sweep *w, uint32_t *n_out)
{
    const struct list *l = w->list;
    uint32_t term = 0, n = 0;
    size_t n_max = 0;
    for (uint32_t i = 0; i < l->n; i++) {
        const span_list *in = spans_on(&j->steps.v[l->step[i]], w->axis, &term);
        n_max += in ? 2 * (size_t)in->n : 0;
    }
    uint64_t *v = ARENA_ARRAY(j->stack, uint64_t, n_max);
    if (!v)
        return NULL;
    for (uint32_t i = 0; i < l->n; i++) {
        const struct step *step = &j->steps.v[l->step[i]];
        const span_list *in = spans_on(step, w->axis, &term);
        if (!in)
            bit_set(w->fits, i);
        for (uint32_t k = 0; in && k < in->n && step->cuts[term][2 * k] != NO_REF; k++) {
            v[n++] = cut_of(step->cuts[term][2 * k], i, true);
            if (step->cuts[term][2 * k + 1] != NO_REF)
                v[n++] = cut_of(step->cuts[term][2 * k + 1], i, false);
        }
    }
    sort_cuts(v, n);
    *n_out = n;
    return v;
}

static packet_set descend(struct judge *j, const struct list *l);

static packet_set descend_piece(struct judge *j, struct sweep *w)
{
    if (!w->list->has_skips && j->sought == NO_REF) {
        const struct list next = sweep_list(j, w);
        return descend(j, &next);
    }
    const struct arena_mark mark = arena_mark(j->stack);
    const struct list next = sweep_list(j, w);
    const packet_set out = j->space->code ? SET_NONE : descend(j, &next);
    arena_reset(j->stack, mark);
    return out;
}

static packet_set descend_axis(struct judge *j, const struct list *l, uint32_t axis)
{
    struct space *s = j->space;
    const struct arena_mark mark = arena_mark(j->stack);
    const axis_value *bounds = j->bounds[axis];
    const uint32_t begin = node_begin(s);
    struct sweep w;
    uint32_t n_cuts = 0;
    const uint64_t *cuts = sweep_begin(j, l, axis, &w) ? cuts_of(j, &w, &n_cuts) : NULL;
    if (!cuts)
        space_fail(s, RT_NOMEM);
    axis_value lo = 0;
    packet_set piece = SET_NONE;
    for (uint32_t i = 0; space_goes_on(s) && !(j->is_hit && j->is_needed); lo = bounds[cuts[i] >> 32]) {
        const bool is_first = lo == 0;
        uint32_t changed = NO_REF; /* the first place that changed */
        for (; i < n_cuts && bounds[cuts[i] >> 32] == lo; i++) {
            const uint32_t place = (uint32_t)cuts[i] >> 1;
            changed = place < changed ? place : changed;
            if (cuts[i] & 1)
                bit_set(w.fits, place);
            else
                w.fits[place / 64] &= ~((uint64_t)1 << place % 64);
        }
        const axis_value hi = i < n_cuts ? bounds[cuts[i] >> 32] - 1 : axis_max(axis, s->family);
        if (is_first || changed <= w.last)
            piece = descend_piece(j, &w);
        node_branch(s, begin, hi, piece);
        if (i >= n_cuts)
            break;
    }
    arena_reset(j->stack, mark);
    return node_end(s, begin, axis);
}

/* What comes of a list. */
static packet_set descend(struct judge *j, const struct list *l)
{
    if (!l->axes)
        return end_of(j, l);
    if (j->sought != NO_REF && is_settled(j, l))
        return SET_NONE;
    const uint32_t axis = (uint32_t)__builtin_ctzll(l->axes), hash = hash_list(l, axis);
    if (j->known) {
        const struct known *k = find_known(j->known, j->n_known_max, l, axis, hash);
        if (k->list.n)
            return k->result;
    }
    const packet_set out = descend_axis(j, l, axis);
    remember(j, l, axis, hash, out);
    return out;
}

static uint64_t axes_of(const struct judge *j, const struct list *l)
{
    uint64_t axes = 0;
    for (uint32_t i = 0; i < l->n; i++)
        axes |= j->steps.v[l->step[i]].axes;
    return axes;
}

packet_set judge_run(struct judge *j)
{
    if (j->space->code)
        return SET_NONE;
    struct list whole = { j->places.n, j->has_skips, 0, j->places.v, j->skips.v };
    whole.axes = axes_of(j, &whole);
    return descend(j, &whole);
}

void judge_seek(struct judge *j, uint32_t step, const struct list *l)
{
    const struct arena_mark mark = arena_mark(j->keep);
    struct list all = *l;
    all.axes = axes_of(j, l);
    j->sought = step;
    j->is_hit = false;
    j->is_needed = j->steps.v[step].kind == STEP_COUNT; /* what only counts may always go */
    j->known = NULL;
    j->n_known = j->n_known_max = 0;
    descend(j, &all);
    j->sought = NO_REF;
    arena_reset(j->keep, mark);
}
