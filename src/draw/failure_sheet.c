#include "draw/failure_sheet.h"

#include <math.h>

#include "base/units.h"
#include "draw/chart.h"
#include "promise/failure_table.h"

#define NAME_MM 64.0
#define COUNT_MM 13.0
#define MATRIX_X_MM (CHART_LEFT_MM + NAME_MM + COUNT_MM)
#define HEADS_MM 60.0 /* height of the promises above their columns */
#define HEAD_LINE_MM 3.5
#define COLUMN_LEAST_MM 7.4
#define ROWS_Y_MM (CHART_TOP_MM + HEADS_MM + 2.0)
#define ROW_PAD_MM 1.1
#define BOTTOM_MM 40.0 /* kept for the key */

/* Wider ones go on to further sheets.  In a book its text tells what dies with each, so that the promises have the whole width. */
static double matrix_most_mm(const struct sheet *s)
{
    return sheet_is_small(s) ? s->w_mm - CHART_LEFT_MM - MATRIX_X_MM : 205.0;
}

struct column {
    uint32_t promise;
    double x_mm, w_mm;
    struct text_block words;
};

struct page {
    uint32_t first_column, n_columns;
    uint32_t first_row, n_rows;
};

struct failure_matrix {
    struct sheet *s;
    const struct failure_table *t;
    VEC(struct column) columns;
    VEC(struct page) pages;
};

static double words_x(const struct failure_matrix *t, const struct page *page)
{
    const struct column *last = &t->columns.v[page->first_column + page->n_columns - 1];
    return last->x_mm + last->w_mm + 5.0;
}

/* ---- what dies with it ---- */

/* "without power: a, b"; in the order of the house. */
static void add_lost(struct text_block *b, const struct damage *d, bool dead, const char *head)
{
    struct buf words = { .arena = b->s->arena };
    uint32_t n = 0;
    for (uint32_t i = 0; i < d->h->equipment.n + d->h->devices.n; i++) {
        if (d->death[i] == DEATH_FAILED || !(dead ? d->dead_thing[i] : d->cut_off[i]))
            continue;
        buf_text(&words, n++ ? ", " : head);
        buf_str(&words, damage_thing_id(d->h, i));
    }
    b->s->failed |= words.failed;
    if (n && !words.failed)
        text_block_add(b, TEXT_CELL, INK_LINE, buf_done(&words));
}

static struct text_block losses(struct sheet *s, const struct failure_row *row, double w_mm)
{
    struct text_block b = { .s = s, .w_mm = w_mm };
    const struct damage *d = row->damage;
    add_lost(&b, d, true, "without power: ");
    add_lost(&b, d, false, "cut off: ");
    if (d->line_dead)
        text_block_add(&b, TEXT_CELL, INK_LINE, STR("without internet: the whole house"));
    for (uint32_t i = 0; i < d->h->recordings.n; i++)
        if (d->pictures_lost[i])
            text_block_add(&b, TEXT_CELL, INK_LINE,
                           sheet_text(s, "pictures lost: %.*s", STR_ARG(d->h->recordings.v[i].id)));
    if (!b.lines.n)
        text_block_add(&b, TEXT_CELL, INK_SOFT, STR("nothing else"));
    return b;
}

static struct text_block name_of(struct sheet *s, struct str words)
{
    struct text_block b = { .s = s, .w_mm = NAME_MM - 2.0 };
    text_block_add(&b, TEXT_CELL_B, INK_LINE, words);
    return b;
}

/* ---- pages ---- */

static void add_columns(struct failure_matrix *t)
{
    struct sheet *s = t->s;
    double x_mm = MATRIX_X_MM;
    for (uint32_t i = 0; i < s->house->promises.n && !s->failed; i++) {
        struct column c = { .promise = i };
        if (!failure_touches(s->house->promises.v[i].kind))
            continue;
        c.words = (struct text_block){ .s = s, .w_mm = HEADS_MM - 3.0 };
        text_block_add(&c.words, TEXT_NOTE, INK_LINE, s->house->promises.v[i].says);
        c.w_mm = fmax(COLUMN_LEAST_MM, c.words.lines.n * HEAD_LINE_MM + 1.2);
        if (x_mm + c.w_mm > MATRIX_X_MM + matrix_most_mm(s))
            x_mm = MATRIX_X_MM;
        c.x_mm = x_mm;
        x_mm += c.w_mm;
        s->failed |= !VEC_PUSH(s->arena, &t->columns, c);
    }
}

static double row_mm(const struct failure_matrix *t, const struct page *page, uint32_t row)
{
    const struct text_block name = name_of(t->s, t->t->rows.v[row].failure.says);
    const double x = words_x(t, page);
    struct text_block lost = { .s = t->s };
    if (!sheet_is_small(t->s))
        lost = losses(t->s, &t->t->rows.v[row], t->s->w_mm - CHART_LEFT_MM - x);
    return fmax(4.2, fmax(text_block_mm(&name), text_block_mm(&lost))) + 2.0 * ROW_PAD_MM;
}

static double whole_mm(struct sheet *s) { return chart_line_mm(s, TEXT_CELL_B) + 2.0 * ROW_PAD_MM; }

static void add_rows(struct failure_matrix *t, struct page page)
{
    struct sheet *s = t->s;
    double y_mm = ROWS_Y_MM + whole_mm(s);
    for (uint32_t i = 0; i < t->t->rows.n && !s->failed; i++) {
        const double h_mm = row_mm(t, &page, i);
        if (page.n_rows && y_mm + h_mm > s->h_mm - BOTTOM_MM) {
            s->failed |= !VEC_PUSH(s->arena, &t->pages, page);
            page.first_row = i;
            page.n_rows = 0;
            y_mm = ROWS_Y_MM + whole_mm(s);
        }
        page.n_rows++;
        y_mm += h_mm;
    }
    if (page.n_rows)
        s->failed |= !VEC_PUSH(s->arena, &t->pages, page);
}

static struct failure_matrix lay_out(struct sheet *s)
{
    struct failure_matrix t = { .s = s, .t = s->options->failures };
    struct page page = { .first_column = 0 };
    add_columns(&t);
    for (uint32_t i = 0; i < t.columns.n && !s->failed; i++) {
        page.n_columns++;
        if (i + 1 < t.columns.n && t.columns.v[i + 1].x_mm > t.columns.v[i].x_mm)
            continue;
        add_rows(&t, page);
        page = (struct page){ .first_column = i + 1 };
    }
    return t;
}

bool failure_pages(struct sheet *s, str_list *names)
{
    if (!s->options->failures)
        return true;
    const struct failure_matrix t = lay_out(s);
    names->v = ARENA_ARRAY(s->arena, struct str, t.pages.n);
    for (uint32_t i = 0; names->v && i < t.pages.n; i++)
        names->v[names->n++] = sheet_text(s, "failures-%u", i + 1);
    return names->v && !s->failed;
}

/* ---- painting ---- */

static enum draw_state state_of(enum promise_state state)
{
    return state == PROMISE_KEPT ? DRAW_KEPT : state == PROMISE_BROKEN ? DRAW_BROKEN : DRAW_UNKNOWN;
}

static void rule(struct sheet *s, double y_mm, enum ink ink, double width_mm)
{
    pen_ink(&s->pen, ink);
    pen_line(&s->pen, (struct vec2){ CHART_LEFT_MM, y_mm }, (struct vec2){ s->w_mm - CHART_LEFT_MM, y_mm }, width_mm);
}

/* A promise's words, upwards from its column. */
static void paint_column_head(struct sheet *s, const struct column *c)
{
    const double bottom = ROWS_Y_MM - 2.0;
    for (uint32_t i = 0; i < c->words.lines.n; i++) {
        const struct text_size size = pen_measure(&s->pen, TEXT_NOTE, c->words.lines.v[i].text);
        const double x = c->x_mm + c->w_mm / 2.0 + (i - (c->words.lines.n - 1) / 2.0) * HEAD_LINE_MM;
        pen_text_turned(&s->pen, TEXT_NOTE, c->words.lines.v[i].text, (struct vec2){ x, bottom - size.w_mm / 2.0 },
                        -RT_PI / 2.0);
        label_take(
            &s->space, c->words.lines.v[i].text,
            (struct draw_box){ x - HEAD_LINE_MM / 2.0 + 0.01, bottom - size.w_mm, HEAD_LINE_MM - 0.02, size.w_mm });
    }
}

static void paint_heads(struct failure_matrix *t, const struct page *page)
{
    struct sheet *s = t->s;
    const double y = ROWS_Y_MM - 5.0;
    sheet_put(s, TEXT_SOFT, INK_SOFT, STR("without"), CHART_LEFT_MM, y);
    chart_put_right(s, TEXT_SOFT, INK_SOFT, STR("breaks"), MATRIX_X_MM - 3.0, y);
    if (!sheet_is_small(s))
        sheet_put(s, TEXT_SOFT, INK_SOFT, STR("what dies with it"), words_x(t, page), y);
    for (uint32_t i = 0; i < page->n_columns; i++)
        paint_column_head(s, &t->columns.v[page->first_column + i]);
    rule(s, ROWS_Y_MM, INK_LINE, 0.3);
}

/* failure NO_REF: the whole house. */
static void paint_marks(struct failure_matrix *t, const struct page *page, uint32_t failure, double y_mm)
{
    for (uint32_t i = 0; i < page->n_columns; i++) {
        const struct column *c = &t->columns.v[page->first_column + i];
        const enum promise_state state = failure == NO_REF ? t->t->whole->results[c->promise].state
                                                           : t->t->rows.v[failure].results[c->promise]->state;
        const bool by_this = failure != NO_REF && failure_breaks(t->t, failure, c->promise);
        const struct vec2 at = { c->x_mm + c->w_mm / 2.0, y_mm };
        sheet_draw_state(&t->s->pen, state_of(state), by_this ? INK_ACCENT : INK_LINE, at,
                         state == PROMISE_KEPT ? 0.9 : 1.7);
    }
}

static double paint_row(struct failure_matrix *t, const struct page *page, uint32_t row, double y_mm)
{
    struct sheet *s = t->s;
    const struct failure_row *r = &t->t->rows.v[row];
    const double h_mm = row_mm(t, page, row), top = y_mm + ROW_PAD_MM, x = words_x(t, page);
    const struct text_block name = name_of(s, r->failure.says);
    text_block_put(&name, CHART_LEFT_MM, top);
    if (r->n_broken)
        chart_put_right(s, TEXT_CELL_B, INK_ACCENT, sheet_text(s, "%u", r->n_broken), MATRIX_X_MM - 5.0, top);
    paint_marks(t, page, row, top + chart_line_mm(s, TEXT_CELL_B) / 2.0);
    if (!sheet_is_small(s)) {
        const struct text_block lost = losses(s, r, s->w_mm - CHART_LEFT_MM - x);
        text_block_put(&lost, x, top);
    }
    rule(s, y_mm + h_mm, INK_HAIR, 0.15);
    return y_mm + h_mm;
}

static void paint_key(struct sheet *s)
{
    static const struct {
        enum draw_state state;
        enum ink ink;
        const char *words;
    } KEYS[] = { { DRAW_KEPT, INK_LINE, "kept" },
                 { DRAW_BROKEN, INK_ACCENT, "broken by this failure" },
                 { DRAW_BROKEN, INK_LINE, "broken in the whole house too" },
                 { DRAW_UNKNOWN, INK_LINE, "not known" } };
    double x = CHART_LEFT_MM + 2.0;
    const double y = s->h_mm - BOTTOM_MM + 9.0;
    for (uint32_t i = 0; i < RT_COUNT(KEYS); i++) {
        sheet_draw_state(&s->pen, KEYS[i].state, KEYS[i].ink, (struct vec2){ x, y },
                         KEYS[i].state == DRAW_KEPT ? 0.9 : 1.7);
        x = sheet_put(s, TEXT_KEY, INK_LINE, str_from(KEYS[i].words), x + 3.2, y - chart_line_mm(s, TEXT_KEY) / 2.0) +
            7.0;
    }
    struct text_block b = { .s = s, .w_mm = fmin(270.0, s->w_mm - 2.0 * CHART_LEFT_MM) };
    text_block_add(
        &b, TEXT_KEY, INK_LINE,
        STR("Each row is the house with one thing gone, judged again: devices move to the radios that are left, "
            "batteries feed what they can.  Promises that no failure touches (who is kept apart, hours, cost, "
            "exposure, growth) have no column.  A row full of crosses is where a second one, or a battery, is "
            "worth most."));
    text_block_put(&b, CHART_LEFT_MM, y + 4.0);
}

void failure_page_paint(struct sheet *s)
{
    struct failure_matrix t = lay_out(s);
    if (s->failed || s->subject.page >= t.pages.n)
        return;
    const struct page *page = &t.pages.v[s->subject.page];
    double y_mm = ROWS_Y_MM;
    sheet_begin(s);
    paint_heads(&t, page);
    sheet_put(s, TEXT_CELL_B, INK_LINE, STR("nothing: the whole house"), CHART_LEFT_MM, y_mm + ROW_PAD_MM);
    paint_marks(&t, page, NO_REF, y_mm + whole_mm(s) / 2.0);
    y_mm += whole_mm(s);
    rule(s, y_mm, INK_LINE, 0.3);
    for (uint32_t i = 0; i < page->n_rows; i++)
        y_mm = paint_row(&t, page, page->first_row + i, y_mm);
    paint_key(s);
    const struct sheet_words words = {
        .title = STR("When one thing fails"),
        .head = sheet_is_small(s) ? STR("every single failure against every promise")
                                  : STR("every single failure against every promise, and what dies with it"),
        .soft = STR("access points, cables, switches, the gateway, the line, mains and disks, one at a time"),
        .drawing =
            t.pages.n > 1 ? sheet_text(s, "failures, %u of %u", s->subject.page + 1, t.pages.n) : STR("failures"),
    };
    sheet_finish(s, &words, NULL);
}
