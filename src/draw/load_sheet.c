#include "draw/load_sheet.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "draw/chart.h"
#include "draw/table.h"
#include "promise/wire_words.h"
#include "wire/end_label.h"

enum page_kind { PAGE_CURVE, PAGE_SOURCES, PAGE_CABLES, PAGE_KIND_COUNT };

static const struct table_column SOURCES[] = {
    { "who", 92, true },
    { "profile", 58, false },
    { "taken from", 62, false },
    { "fullest hour down: mean, Mb/s", 48, false },
    { "fullest hour up: mean, Mb/s", 48, false },
    { "at most down, Mb/s", 41, false },
    { "at most up, Mb/s", 41, false },
};

static const struct table_column CABLES[] = {
    { "cable", 38, true },
    { "from", 60, false },
    { "to", 60, false },
    { "carries, Mb/s", 22, false },
    { "down: fullest hour", 44, false },
    { "mean", 15, false },
    { "serves", 18, false },
    { "of it", 20, true },
    { "up: fullest hour", 44, false },
    { "mean", 15, false },
    { "serves", 18, false },
    { "of it", 20, true },
};

/* The same on the paper of a book; Letter is the narrower. */
static const struct table_column SOURCES_SMALL[] = {
    { "who", 62, true },
    { "profile", 38, false },
    { "taken from", 41, false },
    { "mean down, Mb/s", 27, false },
    { "mean up, Mb/s", 27, false },
    { "most down, Mb/s", 27, false },
    { "most up, Mb/s", 27, false },
};

static const struct table_column CABLES_SMALL[] = {
    { "cable", 27, true },          { "from", 36, false }, { "to", 36, false },     { "carries", 14, false },
    { "down: fullest", 28, false }, { "mean", 12, false }, { "serves", 13, false }, { "of it", 15, true },
    { "up: fullest", 28, false },   { "mean", 12, false }, { "serves", 13, false }, { "of it", 15, true },
};

static const struct sheet_table TABLES[2][PAGE_KIND_COUNT] = {
    { [PAGE_SOURCES] = { SOURCES, RT_COUNT(SOURCES), CHART_LEFT_MM, 0.8 },
      [PAGE_CABLES] = { CABLES, RT_COUNT(CABLES), CHART_LEFT_MM, 0.8 } },
    { [PAGE_SOURCES] = { SOURCES_SMALL, RT_COUNT(SOURCES_SMALL), CHART_LEFT_MM, 0.6 },
      [PAGE_CABLES] = { CABLES_SMALL, RT_COUNT(CABLES_SMALL), CHART_LEFT_MM, 0.6 } },
};

static const struct sheet_table *table_of(const struct sheet *s, enum page_kind kind)
{
    return &TABLES[sheet_is_small(s)][kind];
}

static const struct {
    const char *word, *title, *head;
} KINDS[] = {
    [PAGE_CURVE] = { "line", "The line", "how much is asked of the internet line in its fullest hour, and how often" },
    [PAGE_SOURCES] = { "who", "Who asks", "every device and person that asks for something, and by which profile" },
    [PAGE_CABLES] = { "cables", "Load of cables", "how full each cable is in its fullest hour; the fullest first" },
};

typedef VEC(table_row) row_vec;

struct page {
    enum page_kind kind;
    uint32_t first, n;
    uint32_t number, of; /* of its kind, from 1 */
};

struct pages {
    row_vec rows[PAGE_KIND_COUNT];
    VEC(struct page) list;
};

static void add_row(struct sheet *s, row_vec *rows, const struct str *cells, uint32_t n)
{
    table_row row = { ARENA_ARRAY(s->arena, struct str, n), n };
    if (!row.v || !VEC_PUSH(s->arena, rows, row)) {
        s->failed = true;
        return;
    }
    for (uint32_t i = 0; i < n; i++)
        row.v[i] = cells[i];
}

/* ---- who asks ---- */

/* A source's figures at the line. */
struct source_load {
    double mean_mbps[2]; /* in the fullest hour of each way */
    double most_mbps[2]; /* of its largest state */
};

static struct source_load load_of(const struct load_view *v, uint32_t source)
{
    struct source_load out = { { 0 }, { 0 } };
    const load_use_list uses = v->demand->uses[0];
    for (uint32_t i = 0; i < uses.n; i++)
        for (int way = 0; uses.v[i].source == source && way < 2; way++) {
            const struct load_use *u = &uses.v[i];
            const double mbps = way == LOAD_DOWN ? u->down_mbps : u->up_mbps;
            out.mean_mbps[way] += mbps * v->demand->sources.v[source].states.v[u->state].chance[v->now[way].worst];
            out.most_mbps[way] = fmax(out.most_mbps[way], mbps);
        }
    return out;
}

static void add_source(struct sheet *s, row_vec *rows, uint32_t source)
{
    const struct load_view *v = s->options->load;
    const struct demand_source *x = &v->demand->sources.v[source];
    const struct source_load load = load_of(v, source);
    const struct device *device = &s->house->devices.v[x->device];
    const struct str cells[RT_COUNT(SOURCES)] = {
        demand_source_words(s->arena, v->demand, source),
        x->profile,
        !x->is_default        ? STR("the house file")
        : x->person != NO_REF ? STR("usual for a person")
                              : sheet_text(s, "usual for: %.*s", STR_ARG(device->kind)),
        chart_mbps(s, load.mean_mbps[LOAD_DOWN]),
        chart_mbps(s, load.mean_mbps[LOAD_UP]),
        chart_mbps(s, load.most_mbps[LOAD_DOWN]),
        chart_mbps(s, load.most_mbps[LOAD_UP]),
    };
    add_row(s, rows, cells, RT_COUNT(SOURCES));
}

/* ---- cables ---- */

struct full_cable {
    uint32_t cable;
    double share; /* of the fuller way; -1: not known */
};

static double share_of(const struct cable_load *c)
{
    return is_given(c->capacity_mbps) && c->capacity_mbps > 0.0 ? c->needed_mbps.high / c->capacity_mbps : -1.0;
}

static int by_fullness(const void *a, const void *b)
{
    const struct full_cable *x = a, *y = b;
    if (x->share > y->share || x->share < y->share)
        return x->share > y->share ? -1 : 1;
    return x->cable < y->cable ? -1 : x->cable > y->cable;
}

static struct str end_words(struct sheet *s, const struct cable_end *end)
{
    if (end->equipment != NO_REF)
        return equipment_words(s->house, end->equipment);
    return end->device != NO_REF ? device_words(s->house, end->device) : end->what;
}

static void add_cable(struct sheet *s, row_vec *rows, uint32_t cable)
{
    const struct cable_load *load = s->options->load->cables[cable];
    const struct cable *c = &s->house->cables.v[cable];
    struct str cells[RT_COUNT(CABLES)] = { c->id, end_words(s, &c->from), end_words(s, &c->to),
                                           is_given(load[0].capacity_mbps) ? chart_mbps(s, load[0].capacity_mbps)
                                                                           : STR("not known") };
    for (int way = 0; way < 2; way++) {
        struct str *at = &cells[4 + 4 * way];
        const struct cable_load *x = &load[way];
        const bool is_used = is_given(x->mean_mbps) && x->mean_mbps > 0.0;
        at[0] = is_used && x->is_flat    ? STR("every hour alike")
                : is_used                ? line_hour_words(s->arena, x->hour)
                : is_given(x->mean_mbps) ? STR("no traffic")
                                         : STR("");
        at[1] = is_used ? chart_mbps(s, x->mean_mbps) : STR("");
        at[2] = is_used ? chart_mbps(s, x->needed_mbps.high) : STR("");
        at[3] = !is_used ? STR("") : isinf(x->needed_mbps.high) ? STR("> 1600 %") : chart_percent(s, share_of(x));
    }
    add_row(s, rows, cells, RT_COUNT(CABLES));
}

static void add_cables(struct sheet *s, row_vec *rows)
{
    const uint32_t n = s->house->cables.n;
    struct full_cable *order = ARENA_ARRAY(s->arena, struct full_cable, n);
    s->failed |= !order;
    for (uint32_t i = 0; i < n && !s->failed; i++) {
        const struct cable_load *load = s->options->load->cables[i];
        order[i] = (struct full_cable){ i, fmax(share_of(&load[LOAD_DOWN]), share_of(&load[LOAD_UP])) };
    }
    if (n && !s->failed)
        qsort(order, n, sizeof order[0], by_fullness);
    for (uint32_t i = 0; i < n && !s->failed; i++)
        add_cable(s, rows, order[i].cable);
}

/* ---- pages ---- */

static void paginate(struct sheet *s, struct pages *p, enum page_kind kind)
{
    const row_vec *rows = &p->rows[kind];
    const double room_mm = s->h_mm - CHART_TOP_MM - CHART_FOOT_MM - table_head_mm(s);
    double used_mm = 0.0;
    uint32_t first = 0, number = 0, begin = p->list.n;
    for (uint32_t i = 0; i <= rows->n && !s->failed; i++) {
        const double h_mm = i < rows->n ? table_row_mm(s, table_of(s, kind), &rows->v[i]) : (double)INFINITY;
        if (i > first && used_mm + h_mm > room_mm) {
            const struct page page = { .kind = kind, .first = first, .n = i - first, .number = ++number };
            s->failed |= !VEC_PUSH(s->arena, &p->list, page);
            first = i;
            used_mm = 0.0;
        }
        used_mm += h_mm;
    }
    for (uint32_t i = begin; i < p->list.n; i++)
        p->list.v[i].of = number;
}

static bool make_pages(struct sheet *s, struct pages *p)
{
    const struct load_view *v = s->options->load;
    *p = (struct pages){ .list = { 0 } };
    s->failed |= !VEC_PUSH(s->arena, &p->list, ((struct page){ .kind = PAGE_CURVE, .number = 1, .of = 1 }));
    for (uint32_t i = 0; i < v->demand->sources.n && !s->failed; i++)
        add_source(s, &p->rows[PAGE_SOURCES], i);
    add_cables(s, &p->rows[PAGE_CABLES]);
    paginate(s, p, PAGE_SOURCES);
    paginate(s, p, PAGE_CABLES);
    return !s->failed;
}

bool load_pages(struct sheet *s, str_list *names)
{
    struct pages p;
    if (!s->options->load || !s->options->load->has_line)
        return true;
    if (!make_pages(s, &p))
        return false;
    names->v = ARENA_ARRAY(s->arena, struct str, p.list.n);
    for (uint32_t i = 0; names->v && i < p.list.n; i++)
        names->v[names->n++] = p.list.v[i].kind == PAGE_CURVE
                                   ? STR("load-line")
                                   : sheet_text(s, "load-%s-%u", KINDS[p.list.v[i].kind].word, p.list.v[i].number);
    return names->v && !s->failed;
}

/* ---- painting ---- */

static void paint_rows(struct sheet *s, const struct pages *p, const struct page *page)
{
    double y_mm = CHART_TOP_MM;
    table_draw_head(s, table_of(s, page->kind), &y_mm);
    for (uint32_t i = page->first; i < page->first + page->n; i++)
        table_draw_row(s, table_of(s, page->kind), &p->rows[page->kind].v[i], &y_mm);
    struct text_block b = { .s = s, .w_mm = fmin(250.0, s->w_mm - 2.0 * CHART_LEFT_MM) };
    text_block_add(
        &b, TEXT_KEY, INK_LINE,
        page->kind == PAGE_SOURCES
            ? STR("A person counts once, however many devices they have. Profiles that the house file does not "
                  "give are the usual ones of the kind; write your own under `profiles` where these are not "
                  "yours.  Mean: over the hour in which the line is fullest that way; at most: while the "
                  "largest of its states lasts.")
            : sheet_text(s,
                         "Down: away from the gateway. Carries: payload, of full frames. Mean: in the fullest "
                         "hour. Serves: not passed in %.4g %% of that hour; of it: the share of what the cable "
                         "carries. Traffic within the house is counted on its way.",
                         100.0 * s->options->load->probability));
    text_block_put(&b, CHART_LEFT_MM, s->h_mm - CHART_FOOT_MM + 6.0);
}

void load_page_paint(struct sheet *s)
{
    struct pages p;
    if (!make_pages(s, &p) || s->subject.page >= p.list.n)
        return;
    const struct page *page = &p.list.v[s->subject.page];
    sheet_begin(s);
    if (page->kind == PAGE_CURVE)
        load_curve_paint(s);
    else
        paint_rows(s, &p, page);
    const char *title = KINDS[page->kind].title;
    const struct sheet_words words = {
        .title = str_from(title),
        .head = str_from(KINDS[page->kind].head),
        .soft = STR("each device and person by their profile, all by themselves; what they ask for is summed exactly"),
        .drawing = page->of > 1 ? sheet_text(s, "%s, %u of %u", title, page->number, page->of) : str_from(title),
    };
    sheet_finish(s, &words, NULL);
}
