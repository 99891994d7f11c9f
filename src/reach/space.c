/* space.c - nodes that are found again instead of made twice, and the algebra on them.
 *
 * Every node is looked up by its axis and branches before it is made, so that a set has one number whatever way it came
 * about.  Nodes are never given back: they live in the run's arena as long as the space does. */
#include "reach/space_int.h"

enum { UNIQUE_FIRST = 1 << 10, CACHE_FIRST = 1 << 12, CACHE_LARGEST = 1 << 20, ROOM_BYTES = 1 << 16 };
/* A set of axes is 64 bits. */
enum { AXES_MAX = 64 };

/* ---- life ---- */

static bool add_page(struct space *s)
{
    struct node *page = ARENA_ARRAY(s->run->arena, struct node, NODE_PAGE);
    return page && VEC_PUSH(s->run->arena, &s->pages, page);
}

enum rt_code space_new(const struct run *run, enum family family, uint32_t n_named, struct space **out,
                       struct rt_problems *p)
{
    if (n_named > AXES_MAX - AXIS_NAMED)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "give fewer internet names and foreign sets",
                       "%u named sets of addresses; a proof takes at most %d", (unsigned)n_named,
                       AXES_MAX - AXIS_NAMED);
    struct space *s = ARENA_NEW(run->arena, struct space);
    if (!s)
        return rt_fail_memory(p);
    *s = (struct space){ .run = run,
                         .family = family,
                         .n_axes = AXIS_NAMED + n_named,
                         .n_nodes = SET_ALL + 1,
                         .n_unique = UNIQUE_FIRST,
                         .n_cache = CACHE_FIRST,
                         .scratch_limit = (size_t)ARENA_DEFAULT_LIMIT_MB << 20 };
    s->unique = ARENA_ARRAY(run->arena, uint32_t, s->n_unique);
    s->cache = ARENA_ARRAY(run->arena, struct cached, s->n_cache);
    if (!s->unique || !s->cache || !add_page(s))
        return rt_fail_memory(p);
    *out = s;
    return RT_OK;
}

enum family space_family(const struct space *s) { return s->family; }

uint32_t space_size(const struct space *s) { return s->n_nodes - (SET_ALL + 1); }

enum rt_code space_state(const struct space *s, struct rt_problems *p)
{
    if (s->code == RT_NOMEM)
        return rt_fail_memory(p);
    if (s->code == RT_CANCELLED)
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped before the proof was done");
    if (s->code)
        return rt_fail(p, s->code, RT_NOWHERE, "prove fewer rules at a time", "the proof has too many parts");
    return RT_OK;
}

packet_set space_fail(struct space *s, enum rt_code code)
{
    if (s->code == RT_OK)
        s->code = code;
    return SET_NONE;
}

bool space_goes_on(struct space *s)
{
    if (s->code == RT_OK && run_is_cancelled(s->run))
        s->code = RT_CANCELLED;
    return s->code == RT_OK;
}

/* ---- nodes ---- */

void node_branch(struct space *s, uint32_t begin, axis_value hi, packet_set to)
{
    if (s->code)
        return;
    if (s->branches.n > begin && s->branches.v[s->branches.n - 1].to == to)
        s->branches.v[s->branches.n - 1].hi = hi;
    else if (!VEC_PUSH(s->run->arena, &s->branches, ((struct branch){ hi, to })))
        space_fail(s, RT_NOMEM);
}

static uint32_t hash_of(const struct branch *v, uint32_t n, uint32_t axis)
{
    uint32_t h = hash_mix(axis, n);
    for (uint32_t i = 0; i < n; i++) {
        h = hash_mix(h, v[i].to);
        for (axis_value x = v[i].hi; x; x >>= 32)
            h = hash_mix(h, (uint32_t)x);
    }
    return h;
}

static bool is_made_of(const struct space *s, const struct node *node, const struct branch *v, uint32_t n,
                       uint32_t axis)
{
    if (node->axis != axis || node->n != n)
        return false;
    for (uint32_t i = 0; i < n; i++)
        if (node->to[i] != v[i].to || node_hi(s, node, i) != v[i].hi)
            return false;
    return true;
}

/* Room for a node's spans, a multiple of 16 bytes. */
static unsigned char *take_room(struct space *s, size_t bytes)
{
    bytes = (bytes + 15) / 16 * 16;
    if (bytes > ROOM_BYTES / 8)
        return ARENA_ARRAY(s->run->arena, unsigned char, bytes);
    if (bytes > s->room_left) {
        s->room = ARENA_ARRAY(s->run->arena, unsigned char, ROOM_BYTES);
        s->room_left = s->room ? ROOM_BYTES : 0;
        if (!s->room)
            return NULL;
    }
    unsigned char *p = s->room;
    s->room += bytes;
    s->room_left -= bytes;
    return p;
}

static double share_of(const struct space *s, packet_set a) { return is_end(a) ? a == SET_ALL : node_at(s, a)->share; }

static bool unique_grow(struct space *s)
{
    const uint32_t n = s->n_unique * 2;
    uint32_t *table = ARENA_ARRAY(s->run->arena, uint32_t, n);
    if (!table)
        return false;
    for (uint32_t a = SET_ALL + 1; a < s->n_nodes; a++) {
        uint32_t i = node_at(s, a)->hash & (n - 1);
        while (table[i])
            i = (i + 1) & (n - 1);
        table[i] = a;
    }
    s->unique = table;
    s->n_unique = n;
    return true;
}

/* A larger cache starts empty: it holds nothing that cannot be worked out again. */
static bool cache_grow(struct space *s)
{
    struct cached *cache = ARENA_ARRAY(s->run->arena, struct cached, (size_t)s->n_cache * 4);
    if (!cache)
        return false;
    s->cache = cache;
    s->n_cache *= 4;
    return true;
}

static uint32_t value_slot(const struct space *s, const uint32_t *table, uint32_t n, axis_value value)
{
    uint32_t h = 0;
    for (axis_value x = value; x; x >>= 32)
        h = hash_mix(h, (uint32_t)x);
    uint32_t i = h & (n - 1);
    while (table[i] && s->values.v[table[i] - 1] != value)
        i = (i + 1) & (n - 1);
    return i;
}

/* The number of a value, found again or new. */
static uint32_t number_value(struct space *s, axis_value value)
{
    if (s->values.n * 2 >= s->n_value_at) {
        const uint32_t n = s->n_value_at ? s->n_value_at * 2 : UNIQUE_FIRST;
        uint32_t *table = ARENA_ARRAY(s->run->arena, uint32_t, n);
        if (!table)
            return space_fail(s, RT_NOMEM);
        for (uint32_t i = 0; i < s->values.n; i++)
            table[value_slot(s, table, n, s->values.v[i])] = i + 1;
        s->value_at = table;
        s->n_value_at = n;
    }
    const uint32_t at = value_slot(s, s->value_at, s->n_value_at, value);
    if (s->value_at[at])
        return s->value_at[at] - 1;
    if (!VEC_PUSH(s->run->arena, &s->values, value))
        return space_fail(s, RT_NOMEM);
    s->value_at[at] = s->values.n;
    return s->values.n - 1;
}

static packet_set node_new(struct space *s, const struct branch *v, uint32_t n, uint32_t axis, uint32_t hash)
{
    if (s->n_nodes >= DECISION - 1)
        return space_fail(s, RT_LIMIT);
    if (s->n_nodes % 1024 == 0 && !space_goes_on(s))
        return SET_NONE;
    if (s->n_nodes % NODE_PAGE == 0 && !add_page(s))
        return space_fail(s, RT_NOMEM);
    const bool is_wide = axis_max(axis, s->family) > UINT32_MAX;
    unsigned char *room = take_room(s, n * (sizeof(uint32_t) + sizeof(packet_set)));
    if (!room)
        return space_fail(s, RT_NOMEM);
    uint32_t *hi = (uint32_t *)(void *)room;
    packet_set *to = hi + n;
    const double all = (double)axis_max(axis, s->family) + 1.0;
    double share = 0.0;
    for (uint32_t i = 0; i < n; i++) {
        hi[i] = is_wide ? number_value(s, v[i].hi) : (uint32_t)v[i].hi;
        to[i] = v[i].to;
        share += (double)(i ? v[i].hi - v[i - 1].hi : v[i].hi + 1) / all * share_of(s, v[i].to);
    }
    if (s->code)
        return SET_NONE;
    const packet_set a = s->n_nodes;
    s->pages.v[a / NODE_PAGE][a % NODE_PAGE] =
        (struct node){ .is_wide = is_wide, .hi = hi, .to = to, .share = share, .n = n, .axis = axis, .hash = hash };
    s->n_nodes++;
    return a;
}

packet_set node_end(struct space *s, uint32_t begin, uint32_t axis)
{
    const uint32_t n = s->branches.n - begin;
    s->branches.n = begin;
    if (s->code || n == 0)
        return SET_NONE;
    const struct branch *v = s->branches.v + begin;
    if (n == 1)
        return v[0].to;
    const uint32_t hash = hash_of(v, n, axis);
    uint32_t i = hash & (s->n_unique - 1);
    for (; s->unique[i]; i = (i + 1) & (s->n_unique - 1))
        if (node_at(s, s->unique[i])->hash == hash && is_made_of(s, node_at(s, s->unique[i]), v, n, axis))
            return s->unique[i];
    const packet_set a = node_new(s, v, n, axis, hash);
    if (s->code)
        return SET_NONE;
    s->unique[i] = a;
    if (s->n_nodes > s->n_unique / 2 && !unique_grow(s))
        return space_fail(s, RT_NOMEM);
    if (s->n_nodes > s->n_cache && s->n_cache < CACHE_LARGEST && !cache_grow(s))
        return space_fail(s, RT_NOMEM);
    return a;
}

/* ---- results that are known ---- */

static struct cached *cache_slot(const struct space *s, uint32_t op, uint32_t a, uint32_t b)
{
    return &s->cache[hash_mix(hash_mix(hash_mix(op, a), b), a >> 7) & (s->n_cache - 1)];
}

bool cache_find(const struct space *s, uint32_t op, uint32_t a, uint32_t b, packet_set *result)
{
    const struct cached *c = cache_slot(s, op, a, b);
    if (c->op != op || c->a != a || c->b != b)
        return false;
    *result = c->result;
    return true;
}

void cache_put(struct space *s, uint32_t op, uint32_t a, uint32_t b, packet_set result)
{
    if (s->code == RT_OK)
        *cache_slot(s, op, a, b) = (struct cached){ op, a, b, result };
}

/* ---- algebra ---- */

/* What needs no descent; false: it does. */
static bool at_once(uint32_t op, packet_set a, packet_set b, packet_set *out)
{
    switch (op) {
    case OP_AND:
        if (a == SET_NONE || b == SET_NONE || a == SET_ALL || b == SET_ALL || a == b) {
            *out = a == SET_NONE || b == SET_NONE ? SET_NONE : a == SET_ALL ? b : a;
            return true;
        }
        return false;
    case OP_OR:
        if (a == SET_NONE || b == SET_NONE || a == SET_ALL || b == SET_ALL || a == b) {
            *out = a == SET_ALL || b == SET_ALL ? SET_ALL : a == SET_NONE ? b : a;
            return true;
        }
        return false;
    default: /* OP_MINUS */
        if (a == SET_NONE || b == SET_ALL || a == b)
            *out = SET_NONE;
        else if (b == SET_NONE)
            *out = a;
        else
            return false;
        return true;
    }
}

packet_set set_apply(struct space *s, uint32_t op, packet_set a, packet_set b)
{
    if (s->code)
        return SET_NONE;
    packet_set out;
    if (at_once(op, a, b, &out))
        return out;
    if ((op == OP_AND || op == OP_OR) && a > b) {
        const packet_set swap = a;
        a = b, b = swap;
    }
    if (cache_find(s, op, a, b, &out))
        return out;
    const uint32_t axis_a = axis_of(s, a), axis_b = axis_of(s, b), axis = axis_a < axis_b ? axis_a : axis_b;
    /* nodes stay where they are while others are made */
    const struct node *na = axis_a == axis ? node_at(s, a) : NULL, *nb = axis_b == axis ? node_at(s, b) : NULL;
    const axis_value max = axis_max(axis, s->family);
    const uint32_t begin = node_begin(s);
    for (uint32_t i = 0, k = 0; s->code == RT_OK;) {
        const axis_value hi_a = na ? node_hi(s, na, i) : max, hi_b = nb ? node_hi(s, nb, k) : max,
                         hi = hi_a < hi_b ? hi_a : hi_b;
        node_branch(s, begin, hi, set_apply(s, op, na ? na->to[i] : a, nb ? nb->to[k] : b));
        if (hi == max)
            break;
        i += hi_a == hi;
        k += hi_b == hi;
    }
    out = node_end(s, begin, axis);
    cache_put(s, op, a, b, out);
    return out;
}

packet_set set_and(struct space *s, packet_set a, packet_set b) { return set_apply(s, OP_AND, a, b); }

packet_set set_or(struct space *s, packet_set a, packet_set b) { return set_apply(s, OP_OR, a, b); }

packet_set set_minus(struct space *s, packet_set a, packet_set b) { return set_apply(s, OP_MINUS, a, b); }

packet_set set_not(struct space *s, packet_set a) { return set_apply(s, OP_MINUS, SET_ALL, a); }

packet_set set_select(struct space *s, packet_set a, packet_set end)
{
    if (s->code)
        return SET_NONE;
    if (is_end(a))
        return a == end ? SET_ALL : SET_NONE;
    packet_set out;
    if (cache_find(s, OP_SELECT, a, end, &out))
        return out;
    const struct node *node = node_at(s, a);
    const uint32_t begin = node_begin(s);
    for (uint32_t i = 0; i < node->n; i++)
        node_branch(s, begin, node_hi(s, node, i), set_select(s, node->to[i], end));
    out = node_end(s, begin, node->axis);
    cache_put(s, OP_SELECT, a, end, out);
    return out;
}

/* ---- sets of matches ---- */

static packet_set set_of_term(struct space *s, const struct term *t, packet_set below)
{
    const axis_value max = axis_max(t->axis, s->family);
    const uint32_t begin = node_begin(s);
    axis_value next = 0;
    for (uint32_t i = 0; i < t->in.n && t->in.v[i].lo <= max; i++) {
        const struct span span = t->in.v[i];
        if (span.lo > next)
            node_branch(s, begin, span.lo - 1, SET_NONE);
        node_branch(s, begin, span.hi < max ? span.hi : max, below);
        if (span.hi >= max)
            return node_end(s, begin, t->axis);
        next = span.hi + 1;
    }
    node_branch(s, begin, max, SET_NONE);
    return node_end(s, begin, t->axis);
}

packet_set set_of(struct space *s, const struct match *m)
{
    packet_set a = SET_ALL;
    for (uint32_t i = m->terms.n; i-- > 0;) {
        if (m->terms.v[i].axis >= s->n_axes)
            return space_fail(s, RT_LIMIT);
        a = set_of_term(s, &m->terms.v[i], a);
    }
    return a;
}

packet_set set_end_of(const struct space *s, packet_set a, const struct packet *p)
{
    while (!is_end(a)) {
        const struct node *node = node_at(s, a);
        const axis_value value =
            node->axis < AXIS_NAMED ? p->at[node->axis] : (p->named >> (node->axis - AXIS_NAMED)) & 1;
        uint32_t lo = 0, hi = node->n - 1; /* a value beyond the axis counts as its last */
        while (lo < hi) {
            const uint32_t mid = lo + (hi - lo) / 2;
            if (node_hi(s, node, mid) < value)
                lo = mid + 1;
            else
                hi = mid;
        }
        a = node->to[lo];
    }
    return a;
}

bool set_holds(const struct space *s, packet_set a, const struct packet *p)
{
    return p->family == s->family && set_end_of(s, a, p) == SET_ALL;
}
