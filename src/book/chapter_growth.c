/* How to grow: what runs out first and what to buy then, what is free today, how to add something, how to make the book again. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "book/evidence.h"
#include "book/growth_steps.h"
#include "book/net_words.h"
#include "draw/sheet.h"

/* ---- what runs out, along the years ---- */

static const double ROW_MM = 5.6, NAME_MM = 92.0, FIGURE_MM = 20.0, AXIS_MM = 6.0, BAR_MM = 1.6;
enum { BARS_MAX = 10 };

struct lasting {
    struct str name, figure;
    double years;
    bool is_short;
};

struct lastings {
    struct lasting v[BARS_MAX];
    uint32_t n;
    double promised_years, longest_years;
    struct str promised_words;
};

static double year_x(const struct lastings *s, double years, double w_mm)
{
    return NAME_MM + fmin(years / s->longest_years, 1.0) * (w_mm - NAME_MM - FIGURE_MM);
}

/* As many words as the column holds; the table beneath has them all. */
static struct str one_line(const struct pen *pen, struct str name)
{
    while (name.n && pen_measure(pen, TEXT_PAGE_CELL, name).w_mm > NAME_MM - 3.0) {
        while (name.n && name.p[name.n - 1] != ' ')
            name.n--;
        while (name.n && (name.p[name.n - 1] == ' ' || name.p[name.n - 1] == ',' || name.p[name.n - 1] == '('))
            name.n--;
    }
    return name;
}

static void paint_lastings(struct pen *pen, double w_mm, double h_mm, void *user)
{
    const struct lastings *s = user;
    const double x = year_x(s, s->promised_years, w_mm);
    const struct text_size head = pen_measure(pen, TEXT_PAGE_COLUMN, s->promised_words);
    pen_text(pen, TEXT_PAGE_COLUMN, s->promised_words, fmin(x - head.w_mm / 2.0, w_mm - head.w_mm), 0.5);
    for (uint32_t i = 0; i < s->n; i++) {
        const struct lasting *l = &s->v[i];
        const double mid = AXIS_MM + (i + 0.5) * ROW_MM;
        const enum ink ink = l->is_short ? INK_ACCENT : INK_LINE;
        const struct text_size size = pen_measure(pen, TEXT_PAGE_CELL, l->figure);
        pen_text(pen, TEXT_PAGE_CELL, one_line(pen, l->name), 0.0, mid - size.h_mm / 2.0);
        pen_ink(pen, ink);
        pen_line(pen, (struct vec2){ NAME_MM, mid },
                 (struct vec2){ fmax(year_x(s, l->years, w_mm), NAME_MM + 0.4), mid }, BAR_MM);
        pen_text_in(pen, TEXT_PAGE_CELL, ink, l->figure, w_mm - size.w_mm, mid - size.h_mm / 2.0);
    }
    pen_ink(pen, INK_LINE);
    pen_dashes(pen, 0.8, 0.8);
    pen_line(pen, (struct vec2){ x, AXIS_MM - 1.0 }, (struct vec2){ x, h_mm }, 0.2);
    pen_dashes(pen, 0.0, 0.0);
}

/* Of what lasts no longer than twice the promise, the first BARS_MAX to run out; ties in the order of the evidence. */
static void find_lastings(struct book *b, const struct promise_result *r, struct lastings *s)
{
    s->promised_years = r->promise->years;
    s->longest_years = 2.0 * s->promised_years;
    s->promised_words = book_text(b, "promised %.*s", STR_ARG(evidence_figure(b, s->promised_years, 0, "years")));
    for (const struct fact *u = fact_find_first(r->evidence, "uses"); u; u = u->next) {
        const double years = fact_find_num(u, "lasts_years");
        if (!is_given(years) || years > s->longest_years)
            continue;
        uint32_t at = s->n < BARS_MAX ? s->n : BARS_MAX;
        while (at > 0 && s->v[at - 1].years > years)
            at--;
        if (at == BARS_MAX)
            continue;
        s->n += s->n < BARS_MAX;
        for (uint32_t k = s->n - 1; k > at; k--)
            s->v[k] = s->v[k - 1];
        const struct fact *enough = fact_find(u, "enough");
        s->v[at] = (struct lasting){ .name = net_plain_words(b, fact_find_str(u, "what")),
                                     .figure = evidence_figure(b, years, 1, "years"),
                                     .years = years,
                                     .is_short = enough && enough->num < 0.5 };
    }
}

static void write_to_buy(struct book *b, const struct promise_result *r)
{
    static const struct flow_column COLUMNS[] = { { "after", 0.14, FLOW_LEFT },
                                                  { "runs out", 0.44, FLOW_LEFT },
                                                  { "what helps", 0.42, FLOW_LEFT } };
    bool any = false;
    for (const struct fact *u = fact_find_first(r->evidence, "uses"); u; u = u->next) {
        const struct str mend = fact_find_str(u, "mend"), missing = fact_find_str(u, "missing");
        const double years = fact_find_num(u, "lasts_years"), times = fact_find_num(u, "lasts_times");
        if (!mend.n && !missing.n)
            continue;
        if (!any)
            flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
        any = true;
        const struct str when = missing.n         ? STR("not known")
                                : is_given(years) ? evidence_figure(b, years, 1, "years")
                                                  : evidence_figure(b, times, 1, "times as many");
        const struct flow_cell cells[] = {
            evidence_cell(when), evidence_cell(net_plain_words(b, fact_find_str(u, "what"))),
            evidence_cell(missing.n ? book_text(b, "say %.*s", STR_ARG(missing)) : net_plain_words(b, mend))
        };
        flow_row(b->flow, cells);
    }
    if (!any)
        flow_text(b->flow, "All of it suffices for as long as was promised: nothing has to be bought for it now.");
}

static enum rt_code write_promised(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    flow_promise(b->flow, book_mark(r->state), r->promise->says, book_margin(b, r), net_plain_words(b, r->reason),
                 "promises");
    if (is_given(r->promise->years)) {
        struct lastings *s = ARENA_NEW(b->arena, struct lastings);
        if (!s)
            return rt_fail_memory(p);
        find_lastings(b, r, s);
        if (s->n)
            flow_figure(b->flow, AXIS_MM + s->n * ROW_MM, paint_lastings, s,
                        STR("How long each lasts if the devices multiply as promised; what lasts more than twice the "
                            "promise is left "
                            "out."));
    }
    write_to_buy(b, r);
    return RT_OK;
}

/* ---- free today ---- */

/* What one plugs something into; an access point's second socket is not meant for it. */
static bool has_sockets_to_use(const struct house *h, uint32_t equipment)
{
    const uint32_t part = h->equipment.v[equipment].part.i;
    const enum part_kind kind = part == NO_REF ? PART_SUNDRY : h->parts.list.v[part].kind;
    return kind == PART_SWITCH || kind == PART_GATEWAY || kind == PART_INJECTOR;
}

static enum rt_code write_ports(struct book *b, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "ports of", 0.36, FLOW_LEFT },
                                                  { "in use", 0.13, FLOW_RIGHT },
                                                  { "free", 0.12, FLOW_RIGHT },
                                                  { "free and feeding", 0.17, FLOW_RIGHT },
                                                  { "watts left", 0.22, FLOW_RIGHT } };
    const struct port_plan *ports = NULL;
    const struct power_plan *power = NULL;
    RT_TRY(evaluation_ports(b->ev, &ports, p));
    RT_TRY(evaluation_power(b->ev, &power, p));
    if (ports->equipment.n)
        flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < ports->equipment.n; i++) {
        const struct equipment_ports *e = &ports->equipment.v[i];
        if (!has_sockets_to_use(b->h, e->equipment))
            continue;
        const struct power_source *s = power_source_of(power, e->equipment);
        const double budget = s ? s->budget_w : e->poe_budget_w;
        const struct str watts = is_given(budget)
                                     ? book_text(b, "%.0f of %.0f W", budget - (s ? s->worst_w : 0.0), budget)
                                     : STR("feeds nothing");
        const struct flow_cell cells[] = { evidence_cell(evidence_thing(b, b->h->equipment.v[e->equipment].id)),
                                           evidence_cell(book_text(b, "%u", e->n_used)),
                                           evidence_cell(book_text(b, "%u", e->n_free)),
                                           evidence_cell(e->n_poe ? book_text(b, "%u", e->n_poe_free) : STR("none")),
                                           is_given(budget) ? evidence_cell(watts) : evidence_soft(watts) };
        flow_row(b->flow, cells);
    }
    return RT_OK;
}

static void write_addresses(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "addresses of", 0.44, FLOW_LEFT },
                                                  { "devices of the file", 0.24, FLOW_RIGHT },
                                                  { "handed out to others", 0.32, FLOW_RIGHT } };
    const struct address_plan *plan = b->proof->policy->plan;
    if (b->h->segments.n)
        flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->segments.n; i++) {
        const struct segment_plan *s = &plan->segments[i];
        const struct segment *of = &b->h->segments.v[i];
        const unsigned n = s->dhcp_to ? (unsigned)(s->dhcp_to - s->dhcp_from + 1) : 0;
        const struct flow_cell cells[] = { evidence_cell(of->says.n ? of->says : book_id_words(b, of->id)),
                                           evidence_cell(book_text(b, "%u", s->n_devices)),
                                           n ? evidence_cell(book_text(b, "%u", n))
                                             : evidence_soft(STR("none: known devices only")) };
        flow_row(b->flow, cells);
    }
}

static void write_disks(struct book *b)
{
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        if (r->promise->kind != PROMISE_RECORDING)
            continue;
        const double days = fact_find_num(r->evidence, "days");
        if (isfinite(days))
            flow_text(b->flow, "Disk: %.0f GB hold %.1f days of pictures at %.0f GB a day; %.0f days are promised.",
                      fact_find_num(r->evidence, "disk_gb"), days, fact_find_num(r->evidence, "disk_gb_per_day"),
                      r->promise->days);
        else
            flow_text(b->flow, "Disk: %.*s.", STR_ARG(net_plain_words(b, r->reason)));
    }
}

/* ---- how to ---- */

static void write_additions(struct book *b)
{
    struct growth_addition additions[GROWTH_ADDITIONS];
    const uint32_t n = growth_additions(b, additions);
    static const struct flow_column COLUMNS[] = { { NULL, 0.20, FLOW_LEFT }, { NULL, 0.80, FLOW_LEFT } };
    flow_section(b->flow, "growth-add", "How to add something");
    for (uint32_t i = 0; i < n; i++) {
        const struct growth_addition *a = &additions[i];
        flow_keep_begin(b->flow);
        flow_heading(b->flow, "%s", a->title);
        for (uint32_t k = 0; k < a->n_steps; k++)
            flow_item(b->flow, "%.*s", STR_ARG(a->steps[k]));
        if (a->n_lines)
            flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
        for (uint32_t k = 0; k < a->n_lines; k++) {
            const struct flow_cell cells[] = { evidence_soft(book_text(b, "under `%s`", a->lines[k].section)),
                                               { .text = a->lines[k].line, .is_strong = true } };
            flow_row(b->flow, cells);
        }
        flow_keep_end(b->flow);
    }
}

/* Without its folders: where it lies is nobody's business. */
static const char *file_name(const char *path)
{
    const char *slash = path ? strrchr(path, '/') : NULL;
    return slash ? slash + 1 : path ? path : "NAME.house.yaml";
}

static void write_again(struct book *b)
{
    flow_section(b->flow, "growth-again", "How to make this book again");
    flow_text(
        b->flow,
        "The house is one text file, %s. This book, the settings and the tests of the day are made from it, and from "
        "nothing else.",
        file_name(b->h->path));
    flow_item(b->flow, "Change the file in any editor; the lines above are patterns. Two blanks before each.");
    flow_item(
        b->flow,
        "`rooftree check FILE`: a slip is shown with its line and what was meant; else every promise, judged anew.");
    flow_item(b->flow, "What turned to broken stands there with why. `rooftree design` finds what to buy for it.");
    flow_item(b->flow, "`rooftree export FILE --to linux --out FOLDER`: the settings, to load into the equipment.");
    flow_item(b->flow,
              "`rooftree book FILE --out BOOK.pdf`: this book. Tests whose figures changed are done again and signed.");
    flow_item(b->flow, "Keep the file where it is backed up. Passphrases stand in another, and never in this book.");
}

enum rt_code chapter_growth(struct book *b, struct rt_problems *p)
{
    bool any = false;
    flow_chapter(b->flow, "growth", "How to grow");
    for (uint32_t i = 0; i < b->results.n; i++) {
        if (b->results.v[i].promise->kind != PROMISE_GROWTH)
            continue;
        if (!any)
            flow_section(b->flow, "growth-first", "What runs out first");
        any = true;
        RT_TRY(write_promised(b, &b->results.v[i], p));
    }
    if (!any)
        flow_text(
            b->flow,
            "Nothing was promised about growth. A promise of the kind `growth` (so many times the devices, in so many "
            "years) tells what runs out first, and when; here is what is free today.");
    flow_section(b->flow, "growth-free", "What is free today");
    RT_TRY(write_ports(b, p));
    write_addresses(b);
    write_disks(b);
    write_additions(b);
    write_again(b);
    return RT_OK;
}
