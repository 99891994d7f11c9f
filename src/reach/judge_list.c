/* judge_list.c - which steps of a list are left for a piece of an axis.
 *
 * Where no chains are called a list is worked on 64 places at a time: the first step that fits for certain ends it, and those
 * before the end that do the same as the end are not needed either. */
#include "reach/judge_int.h"

bool sweep_begin(struct judge *j, const struct list *l, uint32_t axis, struct sweep *w)
{
    const uint32_t n_words = (l->n + 63) / 64;
    *w = (struct sweep){ .list = l, .axis = axis, .n_words = n_words, .last = NO_REF };
    uint64_t *bits = ARENA_ARRAY(j->stack, uint64_t, (size_t)n_words * (2 + ENDS + 3));
    w->kept = ARENA_ARRAY(j->stack, uint32_t, 3 * (size_t)l->n + 1);
    w->axes = ARENA_ARRAY(j->stack, uint64_t, l->n);
    if (!bits || !w->kept || !w->axes)
        return false;
    uint64_t **const ARRAYS[] = { &w->fits,    &w->certain, &w->ends[0],    &w->ends[1],
                                  &w->ends[2], &w->jumps,   &w->reached[0], &w->reached[1] };
    for (size_t i = 0; i < RT_COUNT(ARRAYS); i++)
        *ARRAYS[i] = bits + i * n_words;
    w->rank = w->kept + l->n;
    w->like = w->kept + 2 * (size_t)l->n + 1;
    for (uint32_t i = 0; i < l->n; i++) {
        const struct step *step = &j->steps.v[l->step[i]];
        w->axes[i] = axes_behind(step->axes, axis);
        if (j->sought == NO_REF)
            w->like[i] = j->like[axis][l->step[i]];
        if (!w->axes[i])
            bit_set(w->certain, i);
        if (step->kind == STEP_DECIDE)
            bit_set(w->ends[step->end], i);
        else if (step->kind == STEP_JUMP)
            bit_set(w->jumps, i);
    }
    return true;
}

/* ---- without calls ---- */

static struct list end_list(struct judge *j, struct sweep *w, uint32_t n, uint32_t end, uint64_t axes)
{
    w->kept[n] = j->plain[end];
    return (struct list){ .n = n + 1, .axes = axes, .step = w->kept };
}

static struct list flat_list(struct judge *j, struct sweep *w)
{
    uint32_t word = 0;
    while (word < w->n_words && !(w->fits[word] & w->certain[word]))
        word++;
    if (word == w->n_words)
        return (struct list){ 0 };
    const uint32_t last = word * 64 + (uint32_t)__builtin_ctzll(w->fits[word] & w->certain[word]);
    const uint32_t end = j->steps.v[w->list->step[last]].end;
    w->last = last;
    uint64_t in_word = ((uint64_t)1 << last % 64) - 1, others = 0;
    for (uint32_t k = word + 1; k-- > 0 && !others; in_word = ~(uint64_t)0) {
        others = w->fits[k] & ~w->ends[end][k] & in_word;
        word = k;
    }
    if (!others)
        return end_list(j, w, 0, end, 0);
    const uint64_t up_to = ~(uint64_t)0 >> __builtin_clzll(others);
    uint32_t n = 0;
    uint64_t axes = 0;
    for (uint32_t k = 0; k <= word; k++)
        for (uint64_t bits = w->fits[k] & (k == word ? up_to : ~(uint64_t)0); bits; bits &= bits - 1) {
            const uint32_t place = k * 64 + (uint32_t)__builtin_ctzll(bits);
            axes |= w->axes[place];
            w->kept[n++] = w->like[place];
        }
    return end_list(j, w, n, end, axes);
}

/* ---- with calls, or looking for a rule ---- */

/* What keeps a list going while it is walked: packets that get here, and those that would without the rule sought. */
struct flow {
    bool now, without;
};

static void skip_along(struct sweep *w, struct flow f, uint32_t to)
{
    if (f.now)
        bit_set(w->reached[0], to);
    if (f.without)
        bit_set(w->reached[1], to);
}

/* One place of the list: is it kept, and how does the flow go on? */
static bool walk_place(const struct judge *j, struct sweep *w, uint32_t i, struct flow *f)
{
    const uint32_t number = w->list->step[i];
    const bool fits = bit_of(w->fits, i), is_certain = fits && bit_of(w->certain, i);
    const uint32_t to = w->list->has_skips ? i + w->list->skip[i] : 0;
    /* If it were taken out its packets would go the other way; a step in two places is then gone from both. */
    const bool may_go = number == j->sought && !j->is_needed;
    const struct flow other = { false, may_go && (f->now || f->without) };
    switch (j->steps.v[number].kind) {
    case STEP_DECIDE:
        if (is_certain)
            *f = other;
        return fits;
    case STEP_JUMP:
        if (!fits) {
            skip_along(w, *f, to);
            *f = (struct flow){ 0 };
            return false;
        }
        skip_along(w, is_certain ? other : *f, to);
        return !is_certain || may_go;
    case STEP_RETURN:
        if (!fits)
            return false;
        skip_along(w, *f, to);
        if (is_certain)
            *f = other;
        return true;
    default: /* STEP_COUNT */
        return fits && number == j->sought;
    }
}

/* The places to be looked at in a word that are not behind us. */
static uint64_t places_of(const struct sweep *w, uint32_t word)
{
    uint64_t bits = w->fits[word];
    if (w->list->has_skips)
        bits |= w->jumps[word] | w->reached[0][word] | w->reached[1][word];
    return bits;
}

/* Walks the list once; w->kept: places that stay.  Returns how many. */
static uint32_t walk_list(const struct judge *j, struct sweep *w)
{
    const bool has_skips = w->list->has_skips;
    struct flow f = { true, false };
    uint32_t n = 0;
    memset(w->reached[0], 0, (size_t)w->n_words * 2 * sizeof(uint64_t));
    for (uint32_t word = 0; word < w->n_words; word++) {
        uint64_t left = ~(uint64_t)0; /* places of this word not yet walked */
        for (uint64_t bits; (bits = places_of(w, word) & left) != 0;) {
            const uint32_t bit = (uint32_t)__builtin_ctzll(bits), i = word * 64 + bit;
            left = bit == 63 ? 0 : ~(uint64_t)0 << (bit + 1);
            f.now |= bit_of(w->reached[0], i);
            f.without |= bit_of(w->reached[1], i);
            if (!f.now && !f.without && !has_skips)
                return n;
            if ((f.now || f.without) && walk_place(j, w, i, &f))
                w->kept[n++] = i;
        }
    }
    return n;
}

/* The first of the kept places at or behind a place. */
static uint32_t first_kept(const uint32_t *kept, uint32_t n, uint32_t place)
{
    uint32_t lo = 0, hi = n;
    while (lo < hi) {
        const uint32_t mid = lo + (hi - lo) / 2;
        if (kept[mid] < place)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

/* The kept places as a list of their own.  A skip that has become a step to the next place is left out, unless it is the one
 * sought and not known to be hit. */
static struct list list_of(struct judge *j, const struct sweep *w, uint32_t n)
{
    const struct list *l = w->list;
    struct list out = { .step = ARENA_ARRAY(j->stack, uint32_t, 2 * (size_t)n) };
    if (!out.step) {
        space_fail(j->space, RT_NOMEM);
        return out;
    }
    out.skip = out.step + n;
    /* rank: how many places of the new list lie at or behind a kept one; filled from the end */
    w->rank[n] = 0;
    for (uint32_t k = n; k-- > 0;) {
        const uint32_t i = w->kept[k], step = l->step[i];
        const bool is_skip = j->steps.v[step].kind == STEP_JUMP || j->steps.v[step].kind == STEP_RETURN;
        uint32_t skip = 1;
        if (is_skip)
            skip = w->rank[k + 1] - w->rank[first_kept(w->kept, n, i + l->skip[i])] + 1;
        const bool is_idle = is_skip && skip == 1 && (step != j->sought || j->is_hit);
        w->rank[k] = w->rank[k + 1] + !is_idle;
        if (is_idle)
            continue;
        out.n++;
        out.step[n - out.n] = step;
        out.skip[n - out.n] = skip;
        out.has_skips |= is_skip;
        out.axes |= j->steps.v[step].axes;
    }
    out.step += n - out.n;
    out.skip += n - out.n;
    out.axes = axes_behind(out.axes, w->axis);
    return out;
}

/* A list without calls in the form that flat_list() gives it. */
static void flatten(const struct judge *j, const struct sweep *w, struct list *l)
{
    const uint32_t end = j->steps.v[l->step[l->n - 1]].end;
    while (l->n > 1 && j->steps.v[l->step[l->n - 2]].end == end)
        l->n--;
    l->axes = 0;
    for (uint32_t i = 0; i + 1 < l->n; i++) {
        l->axes |= j->steps.v[l->step[i]].axes;
        l->step[i] = j->like[w->axis][l->step[i]];
    }
    l->axes = axes_behind(l->axes, w->axis);
    l->step[l->n - 1] = j->plain[end];
}

struct list sweep_list(struct judge *j, struct sweep *w)
{
    if (j->sought == NO_REF && !w->list->has_skips)
        return flat_list(j, w);
    struct list out = list_of(j, w, walk_list(j, w));
    if (j->sought == NO_REF && !out.has_skips && out.n)
        flatten(j, w, &out);
    return out;
}
