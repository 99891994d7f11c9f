#include "book/flow_int.h"

#include <stdarg.h>
#include <string.h>

double flow_paper_w_mm(enum flow_paper paper) { return paper == FLOW_LETTER ? 215.9 : 210.0; }
double flow_paper_h_mm(enum flow_paper paper) { return paper == FLOW_LETTER ? 279.4 : 297.0; }
double flow_width_mm(const struct flow *f) { return flow_paper_w_mm(f->paper) - PAGE_LEFT_MM - PAGE_RIGHT_MM; }
double flow_height_mm(const struct flow *f) { return flow_paper_h_mm(f->paper) - PAGE_TOP_MM - PAGE_BOTTOM_MM; }

struct flow *flow_new(struct arena *a, enum flow_paper paper)
{
    struct flow *f = ARENA_NEW(a, struct flow);
    if (f)
        *f = (struct flow){ .arena = a, .paper = paper };
    return f;
}

static void add(struct flow *f, struct block b)
{
    const bool is_row = b.kind == BLOCK_ROW || b.kind == BLOCK_GROUP || b.kind == BLOCK_SUM;
    b.keep = f->keep;
    if (is_row) {
        b.grid = f->grid;
        f->failed |= !f->grid;
    } else {
        f->grid = NULL;
    }
    f->failed |= !VEC_PUSH(f->arena, &f->blocks, b);
}

struct str flow_words(struct flow *f, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(f->arena, fmt, args);
    va_end(args);
    f->failed |= !made;
    return str_from(made ? made : "");
}

static struct str text_of(struct flow *f, const char *fmt, va_list args)
{
    const char *made = arena_vprintf(f->arena, fmt, args);
    f->failed |= !made;
    return str_from(made ? made : "");
}

void flow_fail(struct flow *f) { f->failed = true; }

/* ---- headings ---- */

void flow_chapter(struct flow *f, const char *id, const char *title)
{
    add(f, (struct block){ .kind = BLOCK_CHAPTER, .id = id, .text = str_from(title) });
}

void flow_section(struct flow *f, const char *id, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_SECTION, .id = id, .text = text_of(f, fmt, args) });
    va_end(args);
}

void flow_heading(struct flow *f, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_HEADING, .text = text_of(f, fmt, args) });
    va_end(args);
}

void flow_heading_at(struct flow *f, const char *id, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_HEADING, .id = id, .text = text_of(f, fmt, args) });
    va_end(args);
}

/* ---- words ---- */

void flow_text(struct flow *f, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_TEXT, .text = text_of(f, fmt, args) });
    va_end(args);
}

void flow_soft(struct flow *f, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_SOFT, .text = text_of(f, fmt, args) });
    va_end(args);
}

void flow_item(struct flow *f, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_ITEM, .text = text_of(f, fmt, args) });
    va_end(args);
}

void flow_space(struct flow *f, double h_mm) { add(f, (struct block){ .kind = BLOCK_SPACE, .h_mm = h_mm }); }

void flow_caution(struct flow *f, const char *head, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_CAUTION, .text = str_from(head), .more = text_of(f, fmt, args) });
    va_end(args);
}

void flow_keep_begin(struct flow *f) { f->keep = ++f->n_keeps; }
void flow_keep_end(struct flow *f) { f->keep = 0; }

/* ---- promises, and things to do ---- */

void flow_promise(struct flow *f, enum flow_mark mark, struct str says, struct str figure, struct str why,
                  const char *to)
{
    add(f,
        (struct block){ .kind = BLOCK_PROMISE, .mark = mark, .text = says, .figure = figure, .more = why, .to = to });
}

void flow_tick(struct flow *f, struct str what, struct str passes)
{
    add(f, (struct block){ .kind = BLOCK_TICK, .mark = FLOW_TICK, .text = what, .more = passes });
}

void flow_write_lines(struct flow *f, const char *const *names, uint32_t n)
{
    add(f, (struct block){ .kind = BLOCK_WRITE, .names = names, .n_names = n });
}

/* ---- tables ---- */

void flow_table(struct flow *f, const struct flow_column *columns, uint32_t n)
{
    struct flow_grid *g = ARENA_NEW(f->arena, struct flow_grid);
    struct flow_column *copy = ARENA_ARRAY(f->arena, struct flow_column, n);
    double *x_mm = ARENA_ARRAY(f->arena, double, n), *w_mm = ARENA_ARRAY(f->arena, double, n);
    f->grid = NULL;
    if (!g || !copy || !x_mm || !w_mm) {
        f->failed = true;
        return;
    }
    if (n)
        memcpy(copy, columns, n * sizeof *copy);
    *g = (struct flow_grid){ .columns = copy, .x_mm = x_mm, .w_mm = w_mm, .n = n, .first = f->blocks.n };
    for (uint32_t i = 0; i < n; i++)
        g->has_head |= columns[i].head != NULL;
    f->grid = g;
}

static void add_row(struct flow *f, enum block_kind kind, const struct flow_cell *cells)
{
    struct flow_cell *copy = f->grid ? ARENA_ARRAY(f->arena, struct flow_cell, f->grid->n) : NULL;
    if (!copy) {
        f->failed = true;
        return;
    }
    if (f->grid->n)
        memcpy(copy, cells, f->grid->n * sizeof *copy);
    add(f, (struct block){ .kind = kind, .cells = copy });
    f->grid->end = f->blocks.n;
}

void flow_row(struct flow *f, const struct flow_cell *cells) { add_row(f, BLOCK_ROW, cells); }
void flow_sum_row(struct flow *f, const struct flow_cell *cells) { add_row(f, BLOCK_SUM, cells); }

void flow_group(struct flow *f, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    add(f, (struct block){ .kind = BLOCK_GROUP, .text = text_of(f, fmt, args) });
    va_end(args);
    if (f->grid)
        f->grid->end = f->blocks.n;
}

/* ---- pictures ---- */

void flow_figure(struct flow *f, double h_mm, flow_painter *paint, void *user, struct str caption)
{
    add(f, (struct block){ .kind = BLOCK_FIGURE, .h_mm = h_mm, .paint = paint, .user = user, .more = caption });
}

void flow_sheet(struct flow *f, const char *id, struct str title, double w_mm, double h_mm, flow_sheet_painter *paint,
                void *user)
{
    add(f, (struct block){ .kind = BLOCK_SHEET,
                           .id = id,
                           .text = title,
                           .w_mm = w_mm,
                           .h_mm = h_mm,
                           .paint_sheet = paint,
                           .user = user });
}

uint32_t flow_pages(const struct flow *f) { return f->n_pages; }

uint32_t flow_page_of(const struct flow *f, const char *id)
{
    for (uint32_t i = 0; i < f->laid.n; i++)
        if (f->laid.v[i].id && strcmp(f->laid.v[i].id, id) == 0)
            return f->laid.v[i].page;
    return 0;
}

const char *flow_dangling(const struct flow *f) { return f->dangling; }
