#include "book/acceptance.h"

#include <stdarg.h>
#include <string.h>

#include "base/csv.h"
#include "book/acceptance_int.h"
#include "book/net_words.h"
#include "wire/end_label.h"

/* Every kind has its maker of tests: a new kind adds its row. */
/* clang-format off */
static acceptance_maker *const MAKERS[PROMISE_KIND_COUNT] = {
    [PROMISE_SIGNAL] = acceptance_signal,
    [PROMISE_RATE] = acceptance_rate,
    [PROMISE_ROAMING] = acceptance_roaming,
    [PROMISE_QUIET] = acceptance_quiet,
    [PROMISE_APART] = acceptance_apart,
    [PROMISE_REACH] = acceptance_reach,
    [PROMISE_HOURS] = acceptance_hours,
    [PROMISE_POWER] = acceptance_power,
    [PROMISE_CABLE] = acceptance_cable,
    [PROMISE_LINE] = acceptance_line,
    [PROMISE_RECORDING] = acceptance_recording,
    [PROMISE_OUTAGE] = acceptance_outage,
    [PROMISE_SURVIVE] = acceptance_survive,
    [PROMISE_GROWTH] = acceptance_growth,
    [PROMISE_COST] = acceptance_cost,
    [PROMISE_EXPOSURE] = acceptance_exposure,
};
/* clang-format on */

/* ---- for the makers ---- */

struct str acceptance_text(struct acceptance_view *v, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(v->arena, fmt, args);
    va_end(args);
    v->failed |= !made;
    return str_from(made ? made : "");
}

static void add(struct acceptance_view *v, struct acceptance_row row)
{
    row.promise = v->promise;
    v->failed |= !VEC_PUSH(v->arena, &v->rows, row);
}

void acceptance_see(struct acceptance_view *v, struct str where, struct str passes)
{
    add(v, (struct acceptance_row){
               .where = where, .passes = passes, .at_least = RT_NOT_GIVEN, .at_most = RT_NOT_GIVEN, .unit = "" });
}

void acceptance_least(struct acceptance_view *v, struct acceptance_row row, double at_least, const char *unit,
                      int decimals)
{
    row.at_least = at_least;
    row.at_most = RT_NOT_GIVEN;
    row.unit = unit;
    row.decimals = decimals;
    add(v, row);
}

void acceptance_most(struct acceptance_view *v, struct acceptance_row row, double at_most, const char *unit,
                     int decimals)
{
    row.at_least = RT_NOT_GIVEN;
    row.at_most = at_most;
    row.unit = unit;
    row.decimals = decimals;
    add(v, row);
}

struct str acceptance_thing(struct acceptance_view *v, struct str id)
{
    const uint32_t e = house_find_equipment(v->h, id), d = house_find_device(v->h, id);
    if (str_is(id, LINE_BOX_NAME) && e == NO_REF && d == NO_REF)
        return STR("the line");
    if (d != NO_REF)
        return net_device_words(&v->words, d);
    if (e == NO_REF)
        return book_id_words(&v->words, id);
    return v->h->equipment.v[e].says.n ? v->h->equipment.v[e].says : id;
}

enum rt_code acceptance_plug(struct acceptance_view *v, uint32_t equipment, uint32_t device, struct str *out,
                             struct rt_problems *p)
{
    const struct cable_tree *tree = NULL;
    const struct port_plan *ports = NULL;
    RT_TRY(evaluation_tree(v->ev, &tree, p));
    RT_TRY(evaluation_ports(v->ev, &ports, p));
    const uint32_t thing = equipment != NO_REF ? equipment : tree_device(v->h, device);
    const uint32_t cable = tree->parent_cable[thing];
    *out = STR("");
    if (cable == NO_REF)
        return RT_OK;
    const struct cable *c = &v->h->cables.v[cable];
    const bool at_from = tree_thing_of(v->h, &c->from) == tree->parent[thing];
    const struct cable_end *end = at_from ? &c->from : &c->to;
    const unsigned port = end_label_number(end, at_from ? ports->numbers[cable].from : ports->numbers[cable].to);
    *out = acceptance_text(v, "%.*s (cable %.*s)", STR_ARG(end_label_port(v->arena, end->what, port)), STR_ARG(c->id));
    return RT_OK;
}

/* ---- the whole ---- */

static struct str note_of(struct acceptance_view *v, const struct promise_result *r)
{
    if (r->state == PROMISE_BROKEN)
        return acceptance_text(v, "Broken as planned, and expected to fail until it is mended: %.*s.",
                               STR_ARG(net_plain_words(&v->words, r->reason)));
    if (r->state == PROMISE_UNKNOWN)
        return acceptance_text(v, "Not known as planned: %.*s.", STR_ARG(net_plain_words(&v->words, r->reason)));
    return STR("");
}

static enum rt_code make_test(struct acceptance_view *v, const struct promise_result *r, struct acceptance *out,
                              struct rt_problems *p)
{
    struct acceptance_test *test = &out->tests.v[out->tests.n++];
    *test = (struct acceptance_test){ .result = r, .note = note_of(v, r), .first = v->rows.n };
    v->promise = (uint32_t)(r->promise - v->h->promises.v);
    RT_TRY(MAKERS[r->promise->kind](v, test, p));
    test->n = v->rows.n - test->first;
    return v->failed ? rt_fail_memory(p) : RT_OK;
}

enum rt_code acceptance_make(struct evaluation *ev, const struct promise_results *results, struct acceptance **out,
                             struct rt_problems *p)
{
    struct acceptance_view v = {
        .ev = ev, .h = ev->h, .arena = ev->run->arena, .words = { .arena = ev->run->arena, .h = ev->h }
    };
    struct acceptance *list = ARENA_NEW(v.arena, struct acceptance);
    if (!list)
        return rt_fail_memory(p);
    list->h = ev->h;
    list->tests.v = ARENA_ARRAY(v.arena, struct acceptance_test, results->n);
    if (!list->tests.v)
        return rt_fail_memory(p);
    size_t n_headings;
    const char *const *headings = promise_headings(&n_headings);
    for (size_t k = 0; k < n_headings; k++)
        for (uint32_t i = 0; i < results->n; i++)
            if (strcmp(promise_heading(results->v[i].promise->kind), headings[k]) == 0)
                RT_TRY(make_test(&v, &results->v[i], list, p));
    list->rows.v = v.rows.v;
    list->rows.n = v.rows.n;
    *out = list;
    return RT_OK;
}

/* ---- for a spreadsheet ---- */

static void write_head(struct buf *out)
{
    static const char *const COLUMNS[] = { "test",     "promise",  "kind",   "says",     "how",     "where_and_what",
                                           "device",   "band_ghz", "passes", "at_least", "at_most", "unit",
                                           "computed", "state",    "read",   "passed",   "by",      "on" };
    for (size_t i = 0; i < RT_COUNT(COLUMNS); i++)
        csv_field(out, str_from(COLUMNS[i]));
    csv_end_row(out);
}

void acceptance_write_csv(struct buf *out, const struct acceptance *list)
{
    enum { TO_FILL_IN = 4 }; /* read, passed, by, on */
    write_head(out);
    for (uint32_t t = 0; t < list->tests.n; t++) {
        const struct acceptance_test *test = &list->tests.v[t];
        const struct promise *promise = test->result->promise;
        for (uint32_t i = test->first; i < test->first + test->n; i++) {
            const struct acceptance_row *row = &list->rows.v[i];
            csv_number(out, i + 1, 0);
            csv_field(out, promise->id);
            csv_field(out, str_from(promise_kind_name(promise->kind)));
            csv_field(out, promise->says);
            csv_field(out, test->how);
            csv_field(out, row->where);
            csv_field(out, row->device);
            csv_field(out, row->band);
            csv_field(out, row->passes);
            csv_number(out, row->at_least, row->decimals);
            csv_number(out, row->at_most, row->decimals);
            csv_field(out, str_from(row->unit));
            csv_field(out, row->computed);
            csv_field(out, str_from(promise_state_name(test->result->state)));
            for (int k = 0; k < TO_FILL_IN; k++)
                csv_field(out, STR(""));
            csv_end_row(out);
        }
    }
}
