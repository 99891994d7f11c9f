/* judge_descend.c - the descent: a list, an axis, the pieces of the axis, a list for each. */
#include "reach/judge_int.h"

#include <stdlib.h>

/* A list that was met before. */
struct known {
    struct list list;
    uint32_t hash, axis;
    packet_set result;
};

/* Which steps may fit a piece of the axis, as bits by place. */
struct sweep {
    const struct list *list;
    uint32_t axis;
    uint32_t n_words;
    uint64_t *fits;       /* the step has no term here, or the piece lies in its spans */
    uint64_t *jumps;      /* places of jumps: one that does not fit moves on too */
    uint64_t *reached[2]; /* by a skip; [1]: only if one rule before were taken out */
    uint32_t *kept, *rank;
};

struct cut {
    axis_value at; /* the first value for which it holds */
    uint32_t place;
    bool fits;
};

static int by_value(const void *a, const void *b)
{
    const struct cut *x = a, *y = b;
    if (x->at != y->at)
        return x->at < y->at ? -1 : 1;
    if (x->place != y->place)
        return x->place < y->place ? -1 : 1;
    return x->fits - y->fits; /* of spans that touch, the end before the beginning */
}

static const span_list *term_on(const struct step *step, uint32_t axis)
{
    for (uint32_t i = 0; i < step->terms.n; i++)
        if (step->terms.v[i].axis == axis)
            return &step->terms.v[i].in;
    return NULL;
}

static uint64_t axes_behind(uint64_t axes, uint32_t axis) { return axis >= 63 ? 0 : axes >> (axis + 1) << (axis + 1); }

static bool is_needed(const struct judge *j, uint32_t step) { return !j->marks.needed || j->marks.needed[step]; }

/* ---- the next list ---- */

/* What keeps a list going while it is walked: packets that get here, and those that would without one rule before. */
struct flow {
    bool now, without;
};

static void set_bit(uint64_t *bits, uint32_t i) { bits[i / 64] |= (uint64_t)1 << i % 64; }

static void skip_along(struct sweep *w, struct flow f, uint32_t to)
{
    if (f.now)
        set_bit(w->reached[0], to);
    if (f.without)
        set_bit(w->reached[1], to);
}

/* One place of the list: is it kept, and how does the flow go on? */
static bool walk_place(struct judge *j, struct sweep *w, uint32_t i, struct flow *f)
{
    const uint32_t number = w->list->step[i];
    const struct step *step = &j->steps.v[number];
    const bool fits = w->fits[i / 64] >> i % 64 & 1, is_certain = fits && !axes_behind(step->axes, w->axis);
    const uint32_t to = w->list->has_skips ? i + w->list->skip[i] : 0;
    /* If it were taken out, its packets would go the other way; a step in two places is then gone from both. */
    const bool may_go = !is_needed(j, number);
    const struct flow other = { false, may_go && (f->now || (f->without && step->is_repeated)) };
    switch (step->kind) {
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
    default: /* STEP_COUNT: kept until a packet is known to get there */
        return fits && !j->marks.hit[number];
    }
}

/* Walks the list once; w->kept: places that stay.  Returns how many. */
static uint32_t walk_list(struct judge *j, struct sweep *w)
{
    const struct list *l = w->list;
    struct flow f = { true, false };
    uint32_t n = 0;
    if (l->has_skips)
        memset(w->reached[0], 0, (size_t)w->n_words * 2 * sizeof(uint64_t));
    for (uint32_t word = 0; word < w->n_words; word++) {
        uint64_t left = ~(uint64_t)0; /* places of this word not yet walked */
        for (;;) {
            uint64_t bits = w->fits[word];
            if (l->has_skips)
                bits |= w->jumps[word] | w->reached[0][word] | w->reached[1][word];
            bits &= left;
            if (!bits)
                break;
            const uint32_t bit = (uint32_t)__builtin_ctzll(bits), i = word * 64 + bit;
            left = bit == 63 ? 0 : ~(uint64_t)0 << (bit + 1);
            if (l->has_skips) {
                f.now |= w->reached[0][word] >> bit & 1;
                f.without |= w->reached[1][word] >> bit & 1;
            }
            if (f.now || f.without) {
                if (walk_place(j, w, i, &f))
                    w->kept[n++] = i;
            } else if (!l->has_skips) {
                return n;
            }
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

/* The kept places as a list of their own.  A skip that has become a step to the next place is left out, unless it is not
 * known yet whether a packet fits. */
static struct list list_of(struct judge *j, const struct sweep *w, uint32_t n)
{
    const struct list *l = w->list;
    struct list out = { .n = 0 };
    out.step = ARENA_ARRAY(j->stack, uint32_t, (size_t)n * (l->has_skips ? 2 : 1));
    if (!out.step) {
        space_fail(j->space, RT_NOMEM);
        return out;
    }
    if (!l->has_skips) {
        for (uint32_t k = 0; k < n; k++)
            out.step[k] = l->step[w->kept[k]];
        out.n = n;
        return out;
    }
    out.skip = out.step + n;
    /* rank: how many places of the new list lie at or behind a kept one; filled from the end */
    w->rank[n] = 0;
    for (uint32_t k = n; k-- > 0;) {
        const uint32_t i = w->kept[k], step = l->step[i];
        const enum step_kind kind = j->steps.v[step].kind;
        uint32_t skip = 1;
        if (kind == STEP_JUMP || kind == STEP_RETURN)
            skip = w->rank[k + 1] - w->rank[first_kept(w->kept, n, i + l->skip[i])] + 1;
        const bool is_idle =
            (kind == STEP_JUMP || kind == STEP_RETURN) && skip == 1 && (!j->marks.hit || j->marks.hit[step]);
        w->rank[k] = w->rank[k + 1] + !is_idle;
        if (is_idle)
            continue;
        out.n++;
        out.step[n - out.n] = step;
        out.skip[n - out.n] = skip;
        out.has_skips |= kind == STEP_JUMP || kind == STEP_RETURN;
    }
    out.step += n - out.n;
    out.skip += n - out.n;
    return out;
}

/* ---- an end ---- */

/* Runs a list all of whose steps fit, without one of them (NO_REF: with all). */
static uint32_t run_on(const struct judge *j, const struct list *l, uint32_t i, uint32_t without)
{
    for (; i < l->n; i++) {
        const enum step_kind kind = j->steps.v[l->step[i]].kind;
        const bool is_out = l->step[i] == without;
        if (kind == STEP_DECIDE && !is_out)
            return l->step[i];
        if (l->has_skips && (is_out ? kind == STEP_JUMP : kind == STEP_RETURN))
            i += l->skip[i] - 1;
    }
    return NO_REF;
}

static enum action action_of(const struct judge *j, uint32_t step) { return decision_action(j->steps.v[step].end); }

/* Marks what a packet meets that gets to this end, and what it would miss. */
static void mark(struct judge *j, const struct list *l)
{
    const uint32_t decided_by = run_on(j, l, 0, NO_REF);
    if (decided_by == NO_REF)
        return;
    for (uint32_t i = 0; i < l->n; i++) {
        const uint32_t step = l->step[i];
        const enum step_kind kind = j->steps.v[step].kind;
        j->marks.hit[step] = true;
        if (!j->marks.needed[step]) {
            /* the same packet, the rule gone: from here on nothing else differs */
            const uint32_t otherwise = run_on(j, l, 0, step);
            if (otherwise != NO_REF && action_of(j, otherwise) != action_of(j, decided_by))
                j->marks.needed[step] = true;
        }
        if (kind == STEP_DECIDE)
            return;
        if (kind == STEP_RETURN)
            i += l->skip[i] - 1;
    }
}

static packet_set end_of(struct judge *j, const struct list *l)
{
    if (j->marks.hit) {
        mark(j, l);
        return SET_NONE; /* the diagram is not asked for */
    }
    const uint32_t by = run_on(j, l, 0, NO_REF);
    return by == NO_REF ? SET_NONE : j->steps.v[by].end;
}

/* ---- lists met before ---- */

static uint32_t hash_list(const struct list *l, uint32_t axis)
{
    uint32_t h = hash_mix(axis, l->n);
    for (uint32_t i = 0; i < l->n; i++)
        h = hash_mix(h, l->step[i]);
    for (uint32_t i = 0; l->has_skips && i < l->n; i++)
        h = hash_mix(h, l->skip[i]);
    return h;
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
    const uint32_t n = j->n_known_max * 2;
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
    struct known k = { .list = { .n = l->n, .has_skips = l->has_skips }, .hash = hash, .axis = axis, .result = result };
    k.list.step = ARENA_ARRAY(j->keep, uint32_t, (size_t)l->n * (l->has_skips ? 2 : 1));
    if (!k.list.step || ((!j->known || j->n_known * 2 >= j->n_known_max) && !grow_known(j))) {
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

static bool sweep_begin(struct judge *j, const struct list *l, uint32_t axis, struct sweep *w)
{
    *w = (struct sweep){ .list = l, .axis = axis, .n_words = (l->n + 63) / 64 };
    w->fits = ARENA_ARRAY(j->stack, uint64_t, (size_t)w->n_words * (l->has_skips ? 4 : 1));
    w->kept = ARENA_ARRAY(j->stack, uint32_t, (size_t)l->n * (l->has_skips ? 2 : 1) + 1);
    if (!w->fits || !w->kept)
        return false;
    if (l->has_skips) {
        w->jumps = w->fits + w->n_words;
        w->reached[0] = w->jumps + w->n_words;
        w->reached[1] = w->reached[0] + w->n_words;
        w->rank = w->kept + l->n;
        for (uint32_t i = 0; i < l->n; i++)
            if (j->steps.v[l->step[i]].kind == STEP_JUMP)
                set_bit(w->jumps, i);
    }
    return true;
}

/* Where steps begin and cease to fit, ascending; those without a term fit from the start. */
static struct cut *cuts_of(struct judge *j, struct sweep *w, uint32_t *n_out)
{
    const struct list *l = w->list;
    const axis_value max = axis_max(w->axis, j->space->family);
    size_t n_max = 0;
    for (uint32_t i = 0; i < l->n; i++) {
        const span_list *in = term_on(&j->steps.v[l->step[i]], w->axis);
        n_max += in ? 2 * (size_t)in->n : 0;
    }
    struct cut *v = ARENA_ARRAY(j->stack, struct cut, n_max);
    uint32_t n = 0;
    if (!v)
        return NULL;
    for (uint32_t i = 0; i < l->n; i++) {
        const span_list *in = term_on(&j->steps.v[l->step[i]], w->axis);
        if (!in) {
            set_bit(w->fits, i);
            continue;
        }
        for (uint32_t k = 0; k < in->n && in->v[k].lo <= max; k++) {
            v[n++] = (struct cut){ in->v[k].lo, i, true };
            if (in->v[k].hi < max)
                v[n++] = (struct cut){ in->v[k].hi + 1, i, false };
        }
    }
    if (n)
        qsort(v, n, sizeof *v, by_value);
    *n_out = n;
    return v;
}

static packet_set descend(struct judge *j, const struct list *l, uint64_t axes);

static packet_set descend_piece(struct judge *j, struct sweep *w)
{
    const struct arena_mark mark = arena_mark(j->stack);
    const uint32_t n = walk_list(j, w);
    const struct list next = list_of(j, w, n);
    uint64_t axes = 0;
    for (uint32_t i = 0; i < next.n; i++)
        axes |= j->steps.v[next.step[i]].axes;
    const packet_set out = j->space->code ? SET_NONE : descend(j, &next, axes_behind(axes, w->axis));
    arena_reset(j->stack, mark);
    return out;
}

static packet_set descend_axis(struct judge *j, const struct list *l, uint32_t axis)
{
    struct space *s = j->space;
    const struct arena_mark mark = arena_mark(j->stack);
    const uint32_t begin = node_begin(s);
    struct sweep w;
    uint32_t n_cuts = 0;
    struct cut *cuts = sweep_begin(j, l, axis, &w) ? cuts_of(j, &w, &n_cuts) : NULL;
    if (!cuts)
        space_fail(s, RT_NOMEM);
    axis_value lo = 0;
    for (uint32_t i = 0; space_goes_on(s); lo = cuts[i].at) {
        for (; i < n_cuts && cuts[i].at == lo; i++) {
            if (cuts[i].fits)
                set_bit(w.fits, cuts[i].place);
            else
                w.fits[cuts[i].place / 64] &= ~((uint64_t)1 << cuts[i].place % 64);
        }
        node_branch(s, begin, i < n_cuts ? cuts[i].at - 1 : axis_max(axis, s->family), descend_piece(j, &w));
        if (i >= n_cuts)
            break;
    }
    arena_reset(j->stack, mark);
    return node_end(s, begin, axis);
}

/* Nothing of the list is left to be found out. */
static bool is_settled(const struct judge *j, const struct list *l)
{
    if (!j->marks.hit)
        return false;
    for (uint32_t i = 0; i < l->n; i++)
        if (!j->marks.hit[l->step[i]] || !j->marks.needed[l->step[i]])
            return false;
    return true;
}

/* What comes of a list whose steps have these axes left. */
static packet_set descend(struct judge *j, const struct list *l, uint64_t axes)
{
    if (!axes)
        return end_of(j, l);
    if (is_settled(j, l))
        return SET_NONE;
    const uint32_t axis = (uint32_t)__builtin_ctzll(axes), hash = hash_list(l, axis);
    if (j->known) {
        const struct known *k = find_known(j->known, j->n_known_max, l, axis, hash);
        if (k->list.n)
            return k->result;
    }
    const packet_set out = descend_axis(j, l, axis);
    remember(j, l, axis, hash, out);
    return out;
}

packet_set judge_list(struct judge *j, const struct list *l)
{
    /* The program as it stands has steps without terms, and what they end is not cut off yet: one walk before any axis. */
    uint64_t axes = 0;
    for (uint32_t i = 0; i < l->n; i++)
        axes |= j->steps.v[l->step[i]].axes;
    return descend(j, l, axes);
}
