#include "book/network_matrix.h"

static const char *const FAMILY_WORDS[] = { [FAMILY_IPV4] = "IPv4", [FAMILY_IPV6] = "IPv6" };

/* ---- what a cell lets through, in words ---- */

static bool is_among(const struct matrix_cell *cell, const struct passage *x)
{
    for (uint32_t i = 0; i < cell->passages.n; i++)
        if (passage_equal(&cell->passages.v[i], x))
            return true;
    return false;
}

static struct str passage_words(struct book *b, const struct passage *x, const char *family)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < x->services.n; i++)
        net_list_word(&text, i, x->services.n, x->services.v[i]);
    if (x->to.n)
        buf_printf(&text, " to %.*s", STR_ARG(net_devices_words(b, x->to)));
    if (x->from.n)
        buf_printf(&text, ", from %.*s", STR_ARG(net_devices_words(b, x->from)));
    if (x->hours.n)
        buf_printf(&text, ", %.*s", STR_ARG(x->hours));
    if (family)
        buf_printf(&text, " (%s)", family);
    return buf_done(&text);
}

str_list network_passages(struct book *b, const struct matrix *m, uint32_t from, uint32_t to)
{
    uint32_t n = 0;
    for (enum family f = 0; f < FAMILY_COUNT; f++)
        n += matrix_at(m, f, from, to)->passages.n;
    str_list out = { ARENA_ARRAY(b->arena, struct str, n + 1), 0 };
    for (enum family f = 0; out.v && f < FAMILY_COUNT; f++) {
        const struct matrix_cell *cell = matrix_at(m, f, from, to);
        const struct matrix_cell *twin = matrix_at(m, f == FAMILY_IPV4 ? FAMILY_IPV6 : FAMILY_IPV4, from, to);
        for (uint32_t i = 0; i < cell->passages.n; i++) {
            const struct passage *x = &cell->passages.v[i];
            const bool in_both = is_among(twin, x);
            if (!passage_is_basic(x) && !(f == FAMILY_IPV6 && in_both))
                out.v[out.n++] = passage_words(b, x, in_both ? NULL : FAMILY_WORDS[f]);
        }
    }
    return out;
}

/* ---- the table ---- */

static bool is_one_segment(uint32_t from, uint32_t to) { return from == to; }

/* One family's mark; `number` is that of the list beneath, 0: it has none. */
static struct str family_mark(struct book *b, const struct matrix_cell *cell, uint32_t number)
{
    if (cell->verdict == CELL_NONE)
        return STR("\u2013");
    if (cell->verdict == CELL_ALL)
        return STR("all");
    for (uint32_t i = 0; i < cell->passages.n; i++)
        if (!passage_is_basic(&cell->passages.v[i]))
            return book_text(b, "%u", number);
    return STR("b");
}

static struct flow_cell mark_of(struct book *b, const struct matrix *m, uint32_t from, uint32_t to, uint32_t number)
{
    if (is_one_segment(from, to))
        return net_soft(STR("\u00b7"));
    const struct str v4 = family_mark(b, matrix_at(m, FAMILY_IPV4, from, to), number),
                     v6 = family_mark(b, matrix_at(m, FAMILY_IPV6, from, to), number);
    struct flow_cell cell = net_cell(str_eq(v4, v6) ? v4 : book_text(b, "%.*s/%.*s", STR_ARG(v4), STR_ARG(v6)));
    cell.is_soft = str_is(cell.text, "\u2013") || str_is(cell.text, "b");
    cell.is_strong = !cell.is_soft;
    return cell;
}

/* The gateway begins nothing that is judged: it is no row. */
static void write_rows(struct book *b, const struct matrix *m, struct flow_cell *cells, uint32_t *number)
{
    for (uint32_t from = 0; from < m->n; from++) {
        if (from == ZONE_GATEWAY)
            continue;
        cells[0] = net_cell(net_zone_words(b, from));
        for (uint32_t to = 0; to < m->n; to++) {
            const bool has_list = from != to && network_passages(b, m, from, to).n > 0;
            number[from * m->n + to] = has_list ? ++number[m->n * m->n] : 0;
            cells[1 + to] = mark_of(b, m, from, to, number[from * m->n + to]);
        }
        flow_row(b->flow, cells);
    }
}

/* "7  work to the gateway: mdns" */
static struct str list_words(struct book *b, const struct matrix *m, uint32_t from, uint32_t to, uint32_t number)
{
    const str_list list = network_passages(b, m, from, to);
    struct buf text = { .arena = b->arena };
    buf_printf(&text, "%u\u2002%.*s \u2192 %.*s: ", number, STR_ARG(net_zone_words(b, from)),
               STR_ARG(net_zone_words(b, to)));
    for (uint32_t i = 0; i < list.n; i++)
        buf_printf(&text, "%s%.*s", i ? "; " : "", STR_ARG(list.v[i]));
    return buf_done(&text);
}

/* Two beside each other, the first half in the left column. */
static void write_lists(struct book *b, const struct matrix *m, const uint32_t *number)
{
    static const struct flow_column COLUMNS[] = { { NULL, 1.0, FLOW_LEFT }, { NULL, 1.0, FLOW_LEFT } };
    const uint32_t n = number[m->n * m->n], half = (n + 1) / 2;
    struct flow_cell(*rows)[2] = arena_alloc(b->arena, half + 1, sizeof *rows);
    if (!rows || !n)
        return;
    for (uint32_t i = 0; i < m->n * m->n; i++)
        if (number[i]) {
            const uint32_t k = number[i] - 1;
            rows[k % half][k / half] = net_cell(list_words(b, m, i / m->n, i % m->n, number[i]));
        }
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < half; i++)
        flow_row(b->flow, rows[i]);
}

void network_matrix_write(struct book *b, const struct matrix *m)
{
    struct flow_column *columns = ARENA_ARRAY(b->arena, struct flow_column, m->n + 1);
    struct flow_cell *cells = ARENA_ARRAY(b->arena, struct flow_cell, m->n + 1);
    uint32_t *number = ARENA_ARRAY(b->arena, uint32_t, (size_t)m->n * m->n + 1); /* the last: so many were given */
    if (!columns || !cells || !number)
        return;
    columns[0] = (struct flow_column){ "from \u2193   to \u2192", 0, FLOW_LEFT };
    for (uint32_t to = 0; to < m->n; to++)
        columns[1 + to] = (struct flow_column){ str_dup(b->arena, net_zone_words(b, to)).p, 1.0, FLOW_MIDDLE };
    flow_keep_begin(b->flow);
    flow_section(b->flow, "networks-proof", "What is proven");
    flow_text(b->flow,
              "For all packets there can be, in IPv4 and IPv6, at every minute of the week, the statements above let "
              "exactly this begin%s:",
              b->h->hours.n ? " (at which hours some of it is refused, they say)" : "");
    flow_table(b->flow, columns, m->n + 1);
    write_rows(b, m, cells, number);
    flow_soft(
        b->flow,
        "all: anything may be begun.  A number: what the list beneath says, nothing else.  \u2013: nothing.  b: the "
        "basics "
        "that every network has of its gateway: addresses, names, time, and being found.  \u00b7: one network, where "
        "the "
        "gateway does not stand between.  Two marks, x/y: x in IPv4, y in IPv6.  Answers to what was allowed to begin "
        "always come back.");
    flow_keep_end(b->flow);
    write_lists(b, m, number);
}
