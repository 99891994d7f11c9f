#include "design/compare.h"

#include <string.h>

#include "base/units.h"
#include "wire/bill.h"

/* ---- putting together ---- */

static enum rt_code judge(struct evaluation *ev, struct compared *out, struct rt_problems *p)
{
    out->ev = ev;
    RT_TRY(promises_evaluate(ev, ALL_PROMISE_KINDS, &out->results, p));
    return evaluation_bill(ev, &out->bill, p);
}

static const struct promise_result *result_of(const struct compared *c, const struct promise *promise)
{
    for (uint32_t i = 0; i < c->results.n; i++)
        if (c->results.v[i].promise->kind == promise->kind && str_eq(c->results.v[i].promise->id, promise->id))
            return &c->results.v[i];
    return NULL;
}

enum rt_code houses_compare(struct evaluation *first, struct evaluation *second, struct comparison *out,
                            struct rt_problems *p)
{
    if (!str_eq(first->h->currency, second->h->currency))
        return rt_fail(p, RT_CONFLICT, RT_NOWHERE, "give both files the same currency",
                       "one house reckons in %.*s, the other in %.*s", STR_ARG(first->h->currency),
                       STR_ARG(second->h->currency));
    *out = (struct comparison){ 0 };
    RT_TRY(judge(first, &out->house[0], p));
    RT_TRY(judge(second, &out->house[1], p));
    const struct promise_results *a = &out->house[0].results, *b = &out->house[1].results;
    out->promises.v = ARENA_ARRAY(first->run->arena, struct compared_promise, (size_t)a->n + b->n);
    if (!out->promises.v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < a->n; i++)
        out->promises.v[out->promises.n++] =
            (struct compared_promise){ { &a->v[i], result_of(&out->house[1], a->v[i].promise) } };
    for (uint32_t i = 0; i < b->n; i++)
        if (!result_of(&out->house[0], b->v[i].promise))
            out->promises.v[out->promises.n++] = (struct compared_promise){ { NULL, &b->v[i] } };
    return houses_differ(first->run->arena, first->h, second->h, &out->differences, p);
}

/* ---- the figures below the promises ---- */

static uint32_t count_parts(const struct house *h, enum part_kind kind)
{
    uint32_t n = 0;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct equipment *thing = &h->equipment.v[e];
        n += thing->part.i != NO_REF && h->parts.list.v[thing->part.i].kind == kind;
    }
    return n;
}

static double cable_m(const struct compared *c)
{
    double sum_m = 0.0;
    for (uint32_t i = 0; i < c->ev->h->cables.n; i++)
        sum_m += given_or(c->ev->cables->cables[i].fixed_m, 0.0);
    return sum_m;
}

/* ---- JSON ---- */

static void write_side(struct json *j, const struct compared *c)
{
    const struct house *h = c->ev->h;
    json_begin_object(j, NULL);
    json_str(j, "house", h->name);
    json_text(j, "file", h->path);
    json_int(j, "total_minor", c->bill->total);
    json_int(j, "yearly_minor", c->bill->yearly);
    json_int(j, "access_points", count_parts(h, PART_ACCESS_POINT));
    json_int(j, "switches", count_parts(h, PART_SWITCH));
    json_fixed(j, "cable_m", cable_m(c), 1);
    json_int(j, "kept", c->results.n_kept);
    json_int(j, "broken", c->results.n_broken);
    json_int(j, "unknown", c->results.n_unknown);
    json_end_object(j);
}

void comparison_write_json(struct json *j, const struct comparison *c, const struct str *drawings, uint32_t n_drawings)
{
    json_begin_object(j, NULL);
    json_str(j, "currency", c->house[0].ev->h->currency);
    json_begin_array(j, "houses");
    write_side(j, &c->house[0]);
    write_side(j, &c->house[1]);
    json_end_array(j);
    json_begin_array(j, "promises");
    for (uint32_t i = 0; i < c->promises.n; i++) {
        const struct compared_promise *q = &c->promises.v[i];
        const struct promise *promise = (q->of[0] ? q->of[0] : q->of[1])->promise;
        json_begin_object(j, NULL);
        json_str(j, "id", promise->id);
        json_text(j, "kind", promise_kind_name(promise->kind));
        json_str(j, "says", promise->says);
        json_begin_array(j, "sides");
        for (int k = 0; k < 2; k++) {
            const struct promise_result *r = q->of[k];
            json_begin_object(j, NULL);
            json_text(j, "state", r ? promise_state_name(r->state) : NULL);
            json_fixed(j, "margin", r ? r->margin : RT_NOT_GIVEN, r ? r->margin_decimals : 0);
            json_text(j, "unit", r ? r->unit : "");
            json_end_object(j);
        }
        json_end_array(j);
        json_end_object(j);
    }
    json_end_array(j);
    file_differences_write_json(j, &c->differences);
    json_begin_array(j, "drawings");
    for (uint32_t i = 0; i < n_drawings; i++)
        json_str(j, NULL, drawings[i]);
    json_end_array(j);
    json_end_object(j);
    json_end(j);
}

/* ---- text ---- */

enum { INDENT = 2, SIDE_COLUMNS = 24, STATE_COLUMNS = 9, COLUMNS_LEAST = 90 };

#define BOLD "\033[1m"
#define PLAIN "\033[0m"

static void pad_left(struct buf *out, struct str s, unsigned columns)
{
    const size_t used = str_columns(s);
    buf_fill(out, ' ', used < columns ? columns - used : 1);
    buf_str(out, s);
}

static void write_state(struct buf *out, const struct promise_result *r)
{
    if (!r) {
        pad_left(out, STR("not promised"), SIDE_COLUMNS);
        return;
    }
    buf_fill(out, ' ', 2);
    const struct str state = str_from(promise_state_name(r->state));
    buf_str(out, state);
    buf_fill(out, ' ', STATE_COLUMNS - state.n);
    const char *margin = "-";
    if (r->state != PROMISE_UNKNOWN && r->in_place)
        margin = r->in_place;
    else if (r->state != PROMISE_UNKNOWN && is_given(r->margin))
        margin = arena_printf(out->arena, "%+.*f %s", r->margin_decimals, r->margin, r->unit);
    pad_left(out, str_from(margin ? margin : ""), SIDE_COLUMNS - STATE_COLUMNS - 2);
}

static bool differs(const struct compared_promise *q)
{
    return !q->of[0] || !q->of[1] || q->of[0]->state != q->of[1]->state;
}

static void write_promise(struct buf *out, const struct compared_promise *q, unsigned columns)
{
    const unsigned says_columns = columns - INDENT - 2 * SIDE_COLUMNS;
    struct str says = (q->of[0] ? q->of[0] : q->of[1])->promise->says;
    for (bool first = true; first || says.n; first = false) {
        const struct str line = str_take_line(&says, says_columns);
        buf_text(out, first && differs(q) ? "! " : "  ");
        buf_str(out, line);
        if (first) {
            buf_fill(out, ' ', says_columns - str_columns(line));
            write_state(out, q->of[0]);
            write_state(out, q->of[1]);
        }
        buf_char(out, '\n');
    }
}

static void write_figures(struct buf *out, const char *what, struct str a, struct str b, unsigned columns)
{
    const unsigned says_columns = columns - INDENT - 2 * SIDE_COLUMNS;
    buf_fill(out, ' ', INDENT);
    buf_text(out, what);
    buf_fill(out, ' ', says_columns - (unsigned)str_columns(str_from(what)));
    pad_left(out, a, SIDE_COLUMNS);
    pad_left(out, b, SIDE_COLUMNS);
    buf_char(out, '\n');
}

static struct str count_words(struct arena *a, uint32_t n)
{
    const char *text = arena_printf(a, "%u", (unsigned)n);
    return str_from(text ? text : "");
}

static struct str file_words(const struct compared *c)
{
    const char *slash = strrchr(c->ev->h->path, '/');
    struct str s = str_from(slash ? slash + 1 : c->ev->h->path);
    s.n = s.n > SIDE_COLUMNS - 2 ? SIDE_COLUMNS - 2 : s.n;
    return s;
}

void comparison_write_text(struct buf *out, const struct comparison *c, unsigned columns, bool colour)
{
    struct arena *a = out->arena;
    const struct compared *x = &c->house[0], *y = &c->house[1];
    const struct house *h = x->ev->h, *g = y->ev->h;
    columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns;
    buf_text(out, colour ? BOLD : "");
    write_figures(out, "", file_words(x), file_words(y), columns);
    buf_text(out, colour ? PLAIN : "");
    for (uint32_t i = 0; i < c->promises.n; i++)
        write_promise(out, &c->promises.v[i], columns);
    buf_char(out, '\n');
    write_figures(out, "promises kept", count_words(a, x->results.n_kept), count_words(a, y->results.n_kept), columns);
    write_figures(out, "to buy", money_words(a, h->currency, x->bill->total),
                  money_words(a, h->currency, y->bill->total), columns);
    write_figures(out, "a year", money_words(a, h->currency, x->bill->yearly),
                  money_words(a, h->currency, y->bill->yearly), columns);
    write_figures(out, "access points", count_words(a, count_parts(h, PART_ACCESS_POINT)),
                  count_words(a, count_parts(g, PART_ACCESS_POINT)), columns);
    write_figures(out, "switches", count_words(a, count_parts(h, PART_SWITCH)),
                  count_words(a, count_parts(g, PART_SWITCH)), columns);
    const char *from = arena_printf(a, "%.0f m", cable_m(x)), *to = arena_printf(a, "%.0f m", cable_m(y));
    out->failed |= !from || !to;
    write_figures(out, "cable", str_from(from ? from : ""), str_from(to ? to : ""), columns);
    buf_char(out, '\n');
    file_differences_write_text(out, &c->differences, (struct str[]){ file_words(x), file_words(y) }, columns);
}
