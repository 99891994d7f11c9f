/* The matrix for people and as JSON. */
#include "reach/matrix.h"

static const char *const VERDICTS[] = { [CELL_NONE] = "none", [CELL_SOME] = "some", [CELL_ALL] = "all" };
static const char *const FAMILIES[] = { [FAMILY_IPV4] = "ipv4", [FAMILY_IPV6] = "ipv6" };

/* ---- JSON ---- */

static void write_words_once(struct json *j, const char *key, const struct matrix_cell *cell, bool hours)
{
    json_begin_array(j, key);
    for (uint32_t i = 0; i < cell->passages.n; i++) {
        const struct passage *x = &cell->passages.v[i];
        const uint32_t n = hours ? x->hours.n > 0 : x->services.n;
        for (uint32_t k = 0; k < n; k++) {
            const struct str word = hours ? x->hours : x->services.v[k];
            bool seen = false;
            for (uint32_t e = 0; e <= i && !seen; e++) { /* written before? */
                const struct passage *y = &cell->passages.v[e];
                const uint32_t m = e == i ? k : hours ? y->hours.n > 0 : y->services.n;
                for (uint32_t q = 0; q < m && !seen; q++)
                    seen = str_eq(word, hours ? y->hours : y->services.v[q]);
            }
            if (!seen)
                json_str(j, NULL, word);
        }
    }
    json_end_array(j);
}

static void write_passages(struct json *j, const struct matrix_cell *cell)
{
    json_begin_array(j, "passages");
    for (uint32_t i = 0; i < cell->passages.n; i++) {
        const struct passage *x = &cell->passages.v[i];
        json_begin_object(j, NULL);
        if (x->rule)
            json_int(j, "rule", x->rule->number);
        else
            json_null(j, "rule");
        if (x->rule && x->rule->at.line)
            json_int(j, "line", x->rule->at.line);
        else
            json_null(j, "line");
        json_str(j, "from", x->from);
        json_str(j, "to", x->to);
        json_begin_array(j, "services");
        for (uint32_t k = 0; k < x->services.n; k++)
            json_str(j, NULL, x->services.v[k]);
        json_end_array(j);
        json_str(j, "hours", x->hours);
        json_end_object(j);
    }
    json_end_array(j);
}

void matrix_write_json(struct json *j, const char *key, const struct matrix *m)
{
    const struct address_plan *plan = m->proof->policy->plan;
    json_begin_array(j, key);
    for (uint32_t from = 0; from < m->n; from++)
        for (uint32_t to = 0; to < m->n; to++) {
            if (from == to || from == ZONE_GATEWAY)
                continue;
            for (int f = 0; f < FAMILY_COUNT; f++) {
                const struct matrix_cell *cell = matrix_at(m, (enum family)f, from, to);
                json_begin_object(j, NULL);
                json_str(j, "from", zone_id(plan, from));
                json_str(j, "to", zone_id(plan, to));
                json_text(j, "family", FAMILIES[f]);
                json_text(j, "verdict", VERDICTS[cell->verdict]);
                write_words_once(j, "services", cell, false);
                write_words_once(j, "hours", cell, true);
                write_passages(j, cell);
                json_end_object(j);
            }
        }
    json_end_array(j);
}

/* ---- for people ---- */

enum { COLUMN_LEAST = 6, COLUMN_MOST = 11 };

static void end_line(struct buf *out)
{
    while (out->n && out->p[out->n - 1] == ' ')
        out->p[--out->n] = '\0';
    buf_char(out, '\n');
}

static void write_padded(struct buf *out, struct str s, size_t columns)
{
    const size_t used = str_columns(s);
    buf_str(out, s);
    buf_fill(out, ' ', used < columns ? columns - used : 1);
}

bool passage_is_basic(const struct passage *x)
{
    return x->rule && (x->rule->origin == ORIGIN_SEGMENT || x->rule->origin == ORIGIN_STANDARD);
}

static const char *family_words(const struct matrix *m, enum family family, uint32_t from, uint32_t to)
{
    const struct matrix_cell *cell = matrix_at(m, family, from, to);
    if (cell->verdict != CELL_SOME)
        return cell->verdict == CELL_ALL ? "all" : "-";
    for (uint32_t i = 0; i < cell->passages.n; i++)
        if (!passage_is_basic(&cell->passages.v[i]))
            return "some";
    return "basics";
}

/* One word for both families, or for each where they differ: "all/-". */
static struct str cell_words(struct arena *a, const struct matrix *m, uint32_t from, uint32_t to)
{
    if (from == to)
        return STR(".");
    const struct str v4 = str_from(family_words(m, FAMILY_IPV4, from, to));
    const struct str v6 = str_from(family_words(m, FAMILY_IPV6, from, to));
    if (str_eq(v4, v6))
        return v4;
    const char *both = arena_printf(a, "%.*s/%.*s", STR_ARG(v4), STR_ARG(v6));
    return str_from(both ? both : "");
}

/* Columns bear the zones' names where those fit, else the numbers that stand before the names of the rows. */
struct layout {
    bool by_number;
    size_t first, width;
};

static struct layout lay_out(const struct matrix *m, unsigned columns)
{
    const struct address_plan *plan = m->proof->policy->plan;
    size_t longest = 0;
    for (uint32_t z = 0; z < m->n; z++)
        longest = str_columns(zone_id(plan, z)) > longest ? str_columns(zone_id(plan, z)) : longest;
    struct layout l = { .first = longest + 4 };
    l.width = columns > l.first + 2 ? (columns - l.first - 2) / m->n : COLUMN_LEAST;
    l.width = l.width < COLUMN_LEAST ? COLUMN_LEAST : l.width > COLUMN_MOST ? COLUMN_MOST : l.width;
    l.by_number = longest >= l.width;
    return l;
}

static void write_row_name(struct buf *out, const struct matrix *m, const struct layout *l, uint32_t zone)
{
    const struct str id = zone_id(m->proof->policy->plan, zone);
    const char *name = l->by_number ? arena_printf(out->arena, "%2u %.*s", (unsigned)zone + 1, STR_ARG(id))
                                    : arena_printf(out->arena, "%.*s", STR_ARG(id));
    buf_text(out, "  ");
    write_padded(out, str_from(name ? name : ""), l->first);
}

/* The gateway begins nothing that is judged: it is no row. */
static void write_table(struct buf *out, const struct matrix *m, unsigned columns)
{
    const struct layout l = lay_out(m, columns);
    buf_text(out, "  ");
    write_padded(out, STR("from, to:"), l.first);
    for (uint32_t to = 0; to < m->n; to++) {
        const char *number = arena_printf(out->arena, "%u", (unsigned)to + 1);
        write_padded(out, l.by_number ? str_from(number ? number : "") : zone_id(m->proof->policy->plan, to), l.width);
    }
    end_line(out);
    for (uint32_t from = 0; from < m->n; from++) {
        if (from == ZONE_GATEWAY && !l.by_number)
            continue;
        write_row_name(out, m, &l, from);
        for (uint32_t to = 0; to < m->n && from != ZONE_GATEWAY; to++)
            write_padded(out, cell_words(out->arena, m, from, to), l.width);
        end_line(out);
    }
}

static void write_passage(struct buf *out, const struct passage *x, const char *family)
{
    buf_text(out, "    ");
    for (uint32_t i = 0; i < x->services.n; i++)
        buf_printf(out, "%s%.*s", i ? ", " : "", STR_ARG(x->services.v[i]));
    if (x->to.n)
        buf_printf(out, " to %.*s", STR_ARG(x->to));
    if (x->from.n)
        buf_printf(out, ", from %.*s", STR_ARG(x->from));
    if (x->hours.n)
        buf_printf(out, ", %.*s", STR_ARG(x->hours));
    if (*family)
        buf_printf(out, " (%s)", family);
    if (x->rule && x->rule->at.line)
        buf_printf(out, "   line %u", (unsigned)x->rule->at.line);
    buf_char(out, '\n');
}

static bool is_among(const struct matrix_cell *cell, const struct passage *x)
{
    for (uint32_t i = 0; i < cell->passages.n; i++)
        if (passage_equal(&cell->passages.v[i], x))
            return true;
    return false;
}

/* What both families let through is said once. */
static void write_some(struct buf *out, const struct matrix *m, uint32_t from, uint32_t to)
{
    const struct address_plan *plan = m->proof->policy->plan;
    bool any = false;
    for (int f = 0; f < FAMILY_COUNT; f++) {
        const struct matrix_cell *cell = matrix_at(m, (enum family)f, from, to);
        const struct matrix_cell *twin = matrix_at(m, (enum family)(1 - f), from, to);
        for (uint32_t i = 0; i < cell->passages.n; i++) {
            const struct passage *x = &cell->passages.v[i];
            const bool in_both = is_among(twin, x);
            if (passage_is_basic(x) || (f == FAMILY_IPV6 && in_both))
                continue;
            if (!any)
                buf_printf(out, "  %.*s to %.*s\n", STR_ARG(zone_id(plan, from)), STR_ARG(zone_id(plan, to)));
            any = true;
            write_passage(out, x, in_both ? "" : f == FAMILY_IPV4 ? "IPv4" : "IPv6");
        }
    }
}

void matrix_write_text(struct buf *out, const struct matrix *m, unsigned columns)
{
    write_table(out, m, columns);
    buf_text(out, "\n  all: anything may be begun     some: what is listed below     -: nothing\n"
                  "  basics: addresses, names, time and neighbours, which every segment has of its gateway\n"
                  "  a/b: a in IPv4, b in IPv6      .: one segment, where the gateway does not stand between\n\n");
    for (uint32_t from = 0; from < m->n; from++)
        for (uint32_t to = 0; to < m->n; to++)
            if (from != to && from != ZONE_GATEWAY)
                write_some(out, m, from, to);
}
