/* A sheet of labels as people say it: "3x8,63.5x33.9". */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "book/flow_int.h"
#include "book/labels.h"

enum { PAIRS_MAX = 4, COUNT_MAX = 100 };

/* Sizes are printed to a tenth of a millimetre. */
static const double HAIR_MM = 0.11;

static bool read_number(struct str s, double *out)
{
    char text[32];
    if (s.n == 0 || s.n >= sizeof text || (s.p[0] != '.' && (s.p[0] < '0' || s.p[0] > '9')))
        return false;
    memcpy(text, s.p, s.n);
    text[s.n] = '\0';
    char *end;
    *out = strtod(text, &end);
    return *end == '\0' && isfinite(*out) && !strpbrk(text, "xXpP");
}

/* "63.5x33.9" */
static bool read_pair(struct str s, double pair[2])
{
    const char *cross = s.n ? memchr(s.p, 'x', s.n) : NULL;
    if (!cross)
        return false;
    const size_t n = (size_t)(cross - s.p);
    return read_number((struct str){ s.p, n }, &pair[0]) &&
           read_number((struct str){ cross + 1, s.n - n - 1 }, &pair[1]);
}

static bool read_pairs(struct str s, double pairs[PAIRS_MAX][2], int *n)
{
    for (*n = 0; *n < PAIRS_MAX;) {
        const char *comma = s.n ? memchr(s.p, ',', s.n) : NULL;
        const size_t here = comma ? (size_t)(comma - s.p) : s.n;
        if (!read_pair((struct str){ s.p, here }, pairs[(*n)++]))
            return false;
        if (!comma)
            return true;
        s = (struct str){ comma + 1, s.n - here - 1 };
    }
    return false;
}

static bool is_count(double n) { return n >= 1.0 && n <= COUNT_MAX && n == floor(n); }

/* Where the labels stand along one side of the paper. */
struct side {
    const char *name, *what; /* "width", "columns" */
    double paper_mm, label_mm, first_mm, gap_mm;
    uint32_t n;
};

static enum rt_code stand(struct side *s, bool has_first, bool has_gap, struct rt_problems *p)
{
    const double labels_mm = s->n * s->label_mm;
    if (!has_gap)
        s->gap_mm = has_first && s->n > 1 ? (s->paper_mm - 2.0 * s->first_mm - labels_mm) / (s->n - 1) : 0.0;
    if (!has_first)
        s->first_mm = (s->paper_mm - labels_mm) / 2.0;
    const double end_mm = s->first_mm + labels_mm + (s->n - 1) * s->gap_mm;
    if (s->first_mm < -HAIR_MM || s->gap_mm < -HAIR_MM || end_mm > s->paper_mm + HAIR_MM)
        return rt_fail(p, RT_USAGE, RT_NOWHERE,
                       "measure a sheet, and say columns x rows, width x height, edge and gap of it",
                       "%u %s of %g mm%s%s do not fit on a paper with a %s of %g mm", s->n, s->what, s->label_mm,
                       has_first ? " with these edges" : "", has_gap ? " and gaps" : "", s->name, s->paper_mm);
    s->first_mm = fmax(0.0, s->first_mm);
    s->gap_mm = fmax(0.0, s->gap_mm);
    return RT_OK;
}

enum rt_code label_grid_read(struct str words, enum flow_paper paper, struct label_grid *out, struct rt_problems *p)
{
    double pairs[PAIRS_MAX][2] = { { 0 } };
    int n = 0;
    if (!words.n)
        words = paper == FLOW_LETTER ? STR("3x10,66.6x25.4,4.8x12.7") : STR("3x8,70x36");
    if (!read_pairs(words, pairs, &n) || n < 2 || !is_count(pairs[0][0]) || !is_count(pairs[0][1]))
        return rt_fail(
            p, RT_USAGE, RT_NOWHERE,
            "for example 3x8,63.5x33.9: 3 columns and 8 rows of labels 63.5 mm wide and 33.9 mm high; then, if need "
            "be, the edge to the first (7.2x12.9) and the gaps (2.5x0)",
            "`%.*s` does not tell of a sheet of labels", STR_ARG(words));
    struct side across = { .name = "width",
                           .what = pairs[0][0] > 1.0 ? "columns" : "column",
                           .paper_mm = flow_paper_w_mm(paper),
                           .label_mm = pairs[1][0],
                           .first_mm = pairs[2][0],
                           .gap_mm = pairs[3][0],
                           .n = (uint32_t)pairs[0][0] };
    struct side down = { .name = "height",
                         .what = pairs[0][1] > 1.0 ? "rows" : "row",
                         .paper_mm = flow_paper_h_mm(paper),
                         .label_mm = pairs[1][1],
                         .first_mm = pairs[2][1],
                         .gap_mm = pairs[3][1],
                         .n = (uint32_t)pairs[0][1] };
    if (across.label_mm <= 2.0 * LABEL_PAD_MM || down.label_mm <= 2.0 * LABEL_PAD_MM)
        return rt_fail(p, RT_USAGE, RT_NOWHERE,
                       "nothing is written nearer to an edge than 1.5 mm, since printers shift",
                       "a label of %g x %g mm has no room for words", across.label_mm, down.label_mm);
    RT_TRY(stand(&across, n > 2, n > 3, p));
    RT_TRY(stand(&down, n > 2, n > 3, p));
    *out = (struct label_grid){ .paper_w_mm = across.paper_mm,
                                .paper_h_mm = down.paper_mm,
                                .columns = across.n,
                                .rows = down.n,
                                .w_mm = across.label_mm,
                                .h_mm = down.label_mm,
                                .left_mm = across.first_mm,
                                .top_mm = down.first_mm,
                                .gap_x_mm = across.gap_mm,
                                .gap_y_mm = down.gap_mm };
    return RT_OK;
}

struct draw_box label_cell(const struct label_grid *g, uint32_t place)
{
    const uint32_t on_sheet = place % (g->columns * g->rows);
    return (struct draw_box){ g->left_mm + (on_sheet % g->columns) * (g->w_mm + g->gap_x_mm),
                              g->top_mm + (on_sheet / g->columns) * (g->h_mm + g->gap_y_mm), g->w_mm, g->h_mm };
}
