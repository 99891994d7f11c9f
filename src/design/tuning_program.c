/* The integer program of a tuning.
 *
 * x[r][i] is 1 if radio r takes option i; of each radio one is.  For options i of a and j of b that cost something together,
 * y is the product of their x.  Products are tied to the x by whole rows, not one by one: with J the options of b that cost
 * something with i,
 *
 *   sum over J of y[i][j]  >=  x[a][i] + sum over J of x[b][j] - 1   (and the same with a and b changed over),
 *   sum over J of y[i][j]  <=  x[a][i],   sum over i of y[i][j]  <=  x[b][j],
 *
 * which for whole x leaves y no choice, and for broken x holds it up where the usual three rows for each product would not. */
#include "design/tuning_int.h"

#include <math.h>

bool tune_view_make(struct arena *arena, const struct tuning *q, struct tune_view *out)
{
    const uint32_t n = q->radios.n;
    *out = (struct tune_view){ .arena = arena, .q = q, .n = n };
    out->between = ARENA_ARRAY(arena, double *, (size_t)n *n);
    if (!out->between)
        return false;
    for (uint32_t k = 0; k < q->pairs.n; k++) {
        const struct tune_pair *p = &q->pairs.v[k];
        double **m = &out->between[p->a * n + p->b];
        if (!*m)
            *m = ARENA_ARRAY(arena, double, (size_t)tune_options(out, p->a) * tune_options(out, p->b));
        if (!*m)
            return false;
        (*m)[p->option_a * tune_options(out, p->b) + p->option_b] += p->cost;
    }
    return true;
}

bool **tune_all_allowed(const struct tune_view *v)
{
    bool **allowed = ARENA_ARRAY(v->arena, bool *, v->n);
    for (uint32_t r = 0; allowed && r < v->n; r++) {
        allowed[r] = ARENA_ARRAY(v->arena, bool, tune_options(v, r));
        if (!allowed[r])
            return NULL;
        for (uint32_t i = 0; i < tune_options(v, r); i++)
            allowed[r][i] = true;
    }
    return allowed;
}

/* ---- options that are alike ---- */

/* Options of several radios that pairs join, directly or through others; apart from all other options. */
struct block {
    index_list *options; /* [members]: ascending */
    uint32_t like;       /* the first block that is alike */
    uint32_t rank;       /* among those alike */
};

struct blocks {
    const struct tune_view *v;
    const index_list *members;
    uint32_t *first; /* [members]: of their nodes */
    uint32_t *root;  /* [nodes] */
    LIST(struct block) list;
};

static uint32_t root_of(const struct blocks *b, uint32_t node)
{
    while (b->root[node] != node)
        node = b->root[node];
    return node;
}

static void join(const struct blocks *b, uint32_t x, uint32_t y)
{
    const uint32_t rx = root_of(b, x), ry = root_of(b, y);
    b->root[rx > ry ? rx : ry] = rx > ry ? ry : rx;
}

static void join_pairs(const struct blocks *b)
{
    const index_list *m = b->members;
    for (uint32_t s = 0; s < m->n; s++)
        for (uint32_t t = s + 1; t < m->n; t++) {
            if (!b->v->between[m->v[s] * b->v->n + m->v[t]])
                continue;
            for (uint32_t i = 0; i < tune_options(b->v, m->v[s]); i++)
                for (uint32_t j = 0; j < tune_options(b->v, m->v[t]); j++)
                    if (tune_between(b->v, m->v[s], i, m->v[t], j) > 0.0)
                        join(b, b->first[s] + i, b->first[t] + j);
        }
}

/* The options of one root, radio by radio. */
static bool fill_block(const struct blocks *b, uint32_t root, struct block *out)
{
    out->options = ARENA_ARRAY(b->v->arena, index_list, b->members->n);
    if (!out->options)
        return false;
    for (uint32_t s = 0; s < b->members->n; s++) {
        index_list *list = &out->options[s];
        const uint32_t n = tune_options(b->v, b->members->v[s]);
        list->v = ARENA_ARRAY(b->v->arena, uint32_t, n);
        if (!list->v)
            return false;
        for (uint32_t i = 0; i < n; i++)
            if (root_of(b, b->first[s] + i) == root)
                list->v[list->n++] = i;
    }
    return true;
}

static bool are_alike(const struct blocks *b, const struct block *p, const struct block *q)
{
    const index_list *m = b->members;
    for (uint32_t s = 0; s < m->n; s++) {
        const struct tune_option *o = b->v->q->radios.v[m->v[s]].options.v;
        if (p->options[s].n != q->options[s].n)
            return false;
        for (uint32_t k = 0; k < p->options[s].n; k++)
            if (o[p->options[s].v[k]].cost != o[q->options[s].v[k]].cost)
                return false;
    }
    for (uint32_t s = 0; s < m->n; s++)
        for (uint32_t t = s + 1; t < m->n; t++)
            for (uint32_t k = 0; k < p->options[s].n; k++)
                for (uint32_t l = 0; l < p->options[t].n; l++)
                    if (tune_between(b->v, m->v[s], p->options[s].v[k], m->v[t], p->options[t].v[l]) !=
                        tune_between(b->v, m->v[s], q->options[s].v[k], m->v[t], q->options[t].v[l]))
                        return false;
    return true;
}

static bool make_blocks(struct blocks *b)
{
    struct arena *a = b->v->arena;
    uint32_t n_nodes = 0;
    b->first = ARENA_ARRAY(a, uint32_t, b->members->n);
    for (uint32_t s = 0; b->first && s < b->members->n; s++) {
        b->first[s] = n_nodes;
        n_nodes += tune_options(b->v, b->members->v[s]);
    }
    b->root = ARENA_ARRAY(a, uint32_t, n_nodes);
    b->list.v = ARENA_ARRAY(a, struct block, n_nodes);
    if (!b->first || !b->root || !b->list.v)
        return false;
    for (uint32_t i = 0; i < n_nodes; i++)
        b->root[i] = i;
    join_pairs(b);
    for (uint32_t node = 0; node < n_nodes; node++) {
        if (b->root[node] != node)
            continue;
        struct block *x = &b->list.v[b->list.n];
        if (!fill_block(b, node, x))
            return false;
        x->like = b->list.n;
        for (uint32_t k = 0; k < b->list.n && x->like == b->list.n; k++)
            if (b->list.v[k].like == k && are_alike(b, &b->list.v[k], x))
                x->like = k;
        for (uint32_t k = 0; k < b->list.n; k++)
            x->rank += b->list.v[k].like == x->like;
        b->list.n++;
    }
    return true;
}

bool tune_break_symmetry(const struct tune_view *v, const index_list *members, bool **allowed)
{
    struct blocks b = { .v = v, .members = members };
    if (!make_blocks(&b))
        return false;
    for (uint32_t k = 0; k < b.list.n; k++)
        for (uint32_t s = 0; s < members->n && s < b.list.v[k].rank; s++)
            for (uint32_t i = 0; i < b.list.v[k].options[s].n; i++)
                allowed[members->v[s]][b.list.v[k].options[s].v[i]] = false;
    return true;
}

/* ---- rows and columns ---- */

struct maker {
    const struct tune_view *v;
    const index_list *members;
    bool *const *allowed;
    double most; /* pairs that cost more are kept apart */
    struct tune_program *out;
    VEC(double) cost;
    bool failed;
};

static uint32_t add_column(struct maker *m, bool is_whole, double cost)
{
    m->failed |= !VEC_PUSH(m->v->arena, &m->cost, cost);
    return program_column(&m->out->program, 0.0, 1.0, is_whole);
}

static bool add_choices(struct maker *m)
{
    struct program *p = &m->out->program;
    m->out->column = ARENA_ARRAY(m->v->arena, uint32_t *, m->v->n);
    if (!m->out->column)
        return false;
    for (uint32_t s = 0; s < m->members->n; s++) {
        const uint32_t r = m->members->v[s], n = tune_options(m->v, r);
        const uint32_t row = program_row(p, 1.0, 1.0);
        uint32_t *column = ARENA_ARRAY(m->v->arena, uint32_t, n);
        if (!column)
            return false;
        for (uint32_t i = 0; i < n; i++) {
            column[i] = m->allowed[r][i] ? add_column(m, true, m->v->q->radios.v[r].options.v[i].cost) : NO_REF;
            if (column[i] != NO_REF)
                program_entry(p, row, column[i], 1.0);
        }
        m->out->column[r] = column;
    }
    return true;
}

/* One option of a radio, the options of another that cost something with it, its products with them, and the two rows that tie
 * these.  Of those that are too dear there is no product: the first row then keeps the two apart. */
static void add_rows(struct maker *m, uint32_t x, const index_list *products, const index_list *others)
{
    struct program *p = &m->out->program;
    if (others->n == 0)
        return;
    const uint32_t least = program_row(p, -1.0, (double)INFINITY);
    program_entry(p, least, x, -1.0);
    for (uint32_t k = 0; k < others->n; k++)
        program_entry(p, least, others->v[k], -1.0);
    for (uint32_t k = 0; k < products->n; k++)
        program_entry(p, least, products->v[k], 1.0);
    if (products->n == 0)
        return;
    const uint32_t most = program_row(p, -(double)INFINITY, 0.0);
    program_entry(p, most, x, -1.0);
    for (uint32_t k = 0; k < products->n; k++)
        program_entry(p, most, products->v[k], 1.0);
}

/* The product of two options, where there is one, and whether they cost anything together. */
static void gather(const struct maker *m, uint32_t column, uint32_t y, double cost, index_list *products,
                   index_list *others)
{
    if (cost <= 0.0 || column == NO_REF)
        return;
    others->v[others->n++] = column;
    if (cost <= m->most)
        products->v[products->n++] = y;
}

static bool add_pair(struct maker *m, uint32_t a, uint32_t b)
{
    const uint32_t n_a = tune_options(m->v, a), n_b = tune_options(m->v, b);
    uint32_t *const *column = m->out->column;
    uint32_t *y = ARENA_ARRAY(m->v->arena, uint32_t, (size_t)n_a * n_b);
    index_list products = { .v = ARENA_ARRAY(m->v->arena, uint32_t, n_a + n_b) };
    index_list others = { .v = ARENA_ARRAY(m->v->arena, uint32_t, n_a + n_b) };
    if (!y || !products.v || !others.v)
        return false;
    for (uint32_t i = 0; i < n_a; i++) {
        products.n = others.n = 0;
        for (uint32_t j = 0; j < n_b && column[a][i] != NO_REF; j++) {
            const double cost = tune_between(m->v, a, i, b, j);
            if (cost > 0.0 && cost <= m->most && column[b][j] != NO_REF)
                y[i * n_b + j] = add_column(m, false, cost);
            gather(m, column[b][j], y[i * n_b + j], cost, &products, &others);
        }
        add_rows(m, column[a][i], &products, &others);
    }
    for (uint32_t j = 0; j < n_b; j++) {
        products.n = others.n = 0;
        for (uint32_t i = 0; i < n_a && column[b][j] != NO_REF; i++)
            gather(m, column[a][i], y[i * n_b + j], tune_between(m->v, a, i, b, j), &products, &others);
        add_rows(m, column[b][j], &products, &others);
    }
    return true;
}

bool tune_program_make(const struct tune_view *v, const index_list *members, bool *const *allowed, double most,
                       struct tune_program *out)
{
    *out = (struct tune_program){ .program.arena = v->arena };
    struct maker m = { .v = v, .members = members, .allowed = allowed, .most = most, .out = out };
    if (!add_choices(&m))
        return false;
    for (uint32_t s = 0; s < members->n; s++)
        for (uint32_t t = s + 1; t < members->n; t++)
            if (v->between[members->v[s] * v->n + members->v[t]] && !add_pair(&m, members->v[s], members->v[t]))
                return false;
    out->cost = m.cost.v;
    return !m.failed && !out->program.failed;
}

/* ---- as text ---- */

static void write_columns(struct buf *out, const struct tune_program *t, const char **name)
{
    buf_text(out, "Minimize\n cost:");
    for (uint32_t c = 0; c < t->program.columns.n; c++)
        buf_printf(out, "%s %.17g %s", c ? " +" : "", t->cost[c], name[c]);
    buf_text(out, "\nSubject To\n");
}

static void write_row(struct buf *out, const struct program *p, uint32_t row, const char **name)
{
    bool is_first = true;
    buf_printf(out, " r%u:", row);
    for (uint32_t e = 0; e < p->entries.n; e++)
        if (p->entries.v[e].row == row) {
            buf_printf(out, " %c 1 %s",
                       p->entries.v[e].value < 0.0 ? '-'
                       : is_first                  ? ' '
                                                   : '+',
                       name[p->entries.v[e].column]);
            is_first = false;
        }
    const struct program_row *r = &p->rows.v[row];
    if (r->lo == r->hi)
        buf_printf(out, " = %g\n", r->lo);
    else if (isfinite(r->lo))
        buf_printf(out, " >= %g\n", r->lo);
    else
        buf_printf(out, " <= %g\n", r->hi);
}

/* x<radio>_<option>, y<number>. */
static const char **name_columns(struct arena *a, const struct tune_view *v, const struct tune_program *t)
{
    const char **name = ARENA_ARRAY(a, const char *, t->program.columns.n);
    for (uint32_t c = 0; name && c < t->program.columns.n; c++)
        name[c] = arena_printf(a, "y%u", c);
    for (uint32_t r = 0; name && r < v->n; r++)
        for (uint32_t i = 0; i < tune_options(v, r); i++)
            name[t->column[r][i]] = arena_printf(a, "x%u_%u", r, i);
    for (uint32_t c = 0; name && c < t->program.columns.n; c++)
        if (!name[c])
            return NULL;
    return name;
}

void tuning_write_lp(const struct tuning *q, struct buf *out)
{
    struct tune_view v;
    struct tune_program t;
    if (!tune_view_make(out->arena, q, &v)) {
        out->failed = true;
        return;
    }
    index_list all = { .v = ARENA_ARRAY(out->arena, uint32_t, v.n) };
    for (uint32_t r = 0; all.v && r < v.n; r++)
        all.v[all.n++] = r;
    bool **allowed = tune_all_allowed(&v);
    const char **name = NULL;
    if (all.v && allowed && tune_program_make(&v, &all, (bool *const *)allowed, (double)INFINITY, &t))
        name = name_columns(out->arena, &v, &t);
    if (!name) {
        out->failed = true;
        return;
    }
    write_columns(out, &t, name);
    for (uint32_t row = 0; row < t.program.rows.n; row++)
        write_row(out, &t.program, row, name);
    buf_text(out, "Bounds\n");
    for (uint32_t c = 0; c < t.program.columns.n; c++)
        if (!t.program.columns.v[c].is_whole)
            buf_printf(out, " 0 <= %s <= 1\n", name[c]);
    buf_text(out, "Binaries\n");
    for (uint32_t c = 0; c < t.program.columns.n; c++)
        if (t.program.columns.v[c].is_whole)
            buf_printf(out, " %s\n", name[c]);
    buf_text(out, "End\n");
}
