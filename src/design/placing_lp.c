/* The program in the LP format. */
#include <math.h>

#include "design/placing_int.h"

/* Columns' names, by what they are. */
struct names {
    const struct place_maker *m;
    struct str *of; /* [columns.n] */
};

static void name(struct names *n, uint32_t column, const char *kind, uint32_t a, uint32_t b)
{
    if (column == NO_REF)
        return;
    char *text = b == NO_REF ? arena_printf(n->m->a, "%s%u", kind, a) : arena_printf(n->m->a, "%s%u_%u", kind, a, b);
    n->of[column] = text ? str_from(text) : STR("?");
}

static void name_all(struct names *n)
{
    const struct place_maker *m = n->m;
    const struct placing *q = m->q;
    for (uint32_t o = 0; o < q->offers.n; o++)
        name(n, m->offers[o], "o", o, NO_REF);
    name(n, m->count, "n", 0, NO_REF);
    for (uint32_t c = 0; c < m->cells.n; c++)
        name(n, m->cells.v[c], "y", c, NO_REF);
    for (uint32_t w = 0; w < m->ways.n; w++)
        name(n, m->ways.v[w].column, "a", w, NO_REF);
    for (uint32_t w = 0; w < q->works.n; w++)
        name(n, m->works[w], "w", w, NO_REF);
    for (uint32_t h = 0; h < q->hubs.n; h++) {
        name(n, m->hubs[h], "u", h, NO_REF);
        name(n, m->depths[h], "d", h, NO_REF);
        for (uint32_t s = 0; s < q->switches.n; s++)
            name(n, m->switches[h * q->switches.n + s], "k", h, s);
    }
    for (uint32_t c = 0; c < q->cablings.n; c++)
        for (uint32_t p = 0; p < q->cablings.v[c].n_parts; p++) {
            name(n, m->pieces[m->first_part[c] + p], "b", c, p);
            name(n, m->takes[m->first_part[c] + p], "z", c, p);
        }
}

/* Terms of one row, some on a line: readers of the format limit a line's length. */
static void write_term(const struct names *n, struct buf *out, uint32_t i, double value, uint32_t column)
{
    if (i && i % 8 == 0)
        buf_text(out, "\n  ");
    buf_printf(out, " %c %.12g %.*s", value < 0 ? '-' : '+', fabs(value), STR_ARG(n->of[column]));
}

static void write_rows(const struct names *n, struct buf *out)
{
    const struct program *program = &n->m->program;
    uint32_t *first = ARENA_ARRAY(n->m->a, uint32_t, (size_t)program->rows.n + 2);
    const struct program_entry **entries = ARENA_ARRAY(n->m->a, const struct program_entry *, program->entries.n);
    if (!first || !entries) {
        out->failed = true;
        return;
    }
    for (uint32_t i = 0; i < program->entries.n; i++)
        first[program->entries.v[i].row + 2]++;
    for (uint32_t r = 2; r < program->rows.n + 2; r++)
        first[r] += first[r - 1];
    for (uint32_t i = 0; i < program->entries.n; i++)
        entries[first[program->entries.v[i].row + 1]++] = &program->entries.v[i];
    for (uint32_t r = 0; r < program->rows.n; r++)
        for (int side = 0; side < 2; side++) {
            const double bound = side ? program->rows.v[r].hi : program->rows.v[r].lo;
            if (!isfinite(bound))
                continue;
            buf_printf(out, " r%u%s:", r, side ? "h" : "l");
            for (uint32_t i = first[r]; i < first[r + 1]; i++)
                write_term(n, out, i - first[r], entries[i]->value, entries[i]->column);
            /* The format wants a term; a row without any asks for what cannot be. */
            if (first[r] == first[r + 1])
                buf_text(out, " 0 nothing");
            buf_printf(out, " %s %.12g\n", side ? "<=" : ">=", bound);
        }
}

static void write_columns(const struct names *n, struct buf *out)
{
    const struct program *program = &n->m->program;
    buf_text(out, "Bounds\n nothing = 0\n");
    for (uint32_t i = 0; i < program->columns.n; i++)
        buf_printf(out, " %.12g <= %.*s <= %.12g\n", program->columns.v[i].lo, STR_ARG(n->of[i]),
                   program->columns.v[i].hi);
    buf_text(out, "General\n");
    for (uint32_t i = 0; i < program->columns.n; i++)
        if (program->columns.v[i].is_whole)
            buf_printf(out, " %.*s\n", STR_ARG(n->of[i]));
    buf_text(out, "End\n");
}

static bool make(struct place_maker *m)
{
    m->image = ARENA_NEW(m->a, struct image);
    if (!m->image || !image_make(m->a, m->q, m->image) || !place_make(m))
        return false;
    for (uint32_t need = 0; need < m->q->needs.n && !m->program.failed; need++)
        for (uint32_t s = 0; s < m->q->n_sites && !m->program.failed; s++)
            if (m->q->needs.v[need].bears_loss && !place_is_given_up(m->given_up, m->q->needs.v[need].promise))
                place_add_need(m, need, s);
    return !m->program.failed;
}

void placing_write_lp(const struct placing *q, const bool *given_up, struct buf *out)
{
    struct place_maker m = { .a = out->arena, .q = q, .given_up = given_up, .with_budget = true, .is_whole = true };
    if (!make(&m)) {
        out->failed = true;
        return;
    }
    const uint32_t n = m.program.columns.n;
    struct names names = { &m, ARENA_ARRAY(m.a, struct str, n) };
    double *cost = ARENA_ARRAY(m.a, double, n);
    if (!names.of || !cost) {
        out->failed = true;
        return;
    }
    name_all(&names);
    place_costs(&m, PLACE_PRICE, cost);
    buf_text(out, "\\ A placing of least price.\nMinimize\n price:");
    for (uint32_t i = 0, k = 0; i < n; i++)
        if (cost[i] > 0)
            write_term(&names, out, k++, cost[i], i);
    buf_printf(out, " + %lld owing\nSubject To\n is_owed: owing = 1\n", (long long)q->owing);
    write_rows(&names, out);
    write_columns(&names, out);
}
