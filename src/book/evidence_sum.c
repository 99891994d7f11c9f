/* Evidence of what the rules prove, what the line carries, the disk holds, a failure leaves, growth uses up and all of it costs. */
#include <math.h>

#include "base/units.h"
#include "book/evidence.h"
#include "book/net_words.h"
#include "promise/policy_facts.h"

/* ---- rules ---- */

/* The rule that lets a promised use through; nothing is told where there is none, since it is the promise's own reason then. */
static enum rt_code write_allowed(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    const struct question q = policy_question(r->promise);
    struct proof_witness w;
    RT_TRY(proof_find_allowed(b->proof, &q, &w, p));
    if (w.is_found && w.rule)
        flow_soft(b->flow, "Let through by: %.*s.", STR_ARG(w.rule->says));
    return RT_OK;
}

static void write_weeks(struct book *b, const struct promise_result *r)
{
    struct buf weeks = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (const struct fact *w = fact_find_first(r->evidence, "weeks"); w; w = w->next)
        n++;
    for (const struct fact *w = fact_find_first(r->evidence, "weeks"); w; w = w->next)
        net_list_word(&weeks, k++, n, w->text);
    if (n)
        flow_soft(b->flow,
                  "Asked of every packet there can be, IPv4 and IPv6, in every minute of %u kind%s of week: %.*s.", n,
                  n == 1 ? "" : "s", STR_ARG(buf_done(&weeks)));
}

/* One promise of the kind is told at length, since it is the same for all. */
static bool is_first_of_rules(const struct book *b, const struct promise_result *r)
{
    for (uint32_t i = 0; i < b->results.n; i++) {
        const enum promise_kind kind = b->results.v[i].promise->kind;
        if (kind == PROMISE_APART || kind == PROMISE_REACH || kind == PROMISE_HOURS)
            return &b->results.v[i] == r;
    }
    return false;
}

enum rt_code evidence_rules(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    const struct fact *rule = fact_find(r->evidence, "rule");
    if (rule && fact_find_str(rule, "says").n)
        flow_soft(b->flow, "Decided by rule %.0f, line %.0f of the house file: %.*s.", fact_find_num(rule, "number"),
                  fact_find_num(rule, "line"), STR_ARG(fact_find_str(rule, "says")));
    if (r->state == PROMISE_KEPT && r->promise->kind == PROMISE_REACH)
        RT_TRY(write_allowed(b, r, p));
    if (is_first_of_rules(b, r))
        write_weeks(b, r);
    return RT_OK;
}

/* ---- line ---- */

enum rt_code evidence_line(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "way", 0.12, FLOW_LEFT },
                                                  { "carries", 0.17, FLOW_RIGHT },
                                                  { "needed", 0.17, FLOW_RIGHT },
                                                  { "fullest hour", 0.26, FLOW_LEFT },
                                                  { "asks most", 0.28, FLOW_LEFT } };
    (void)p;
    if (!fact_find_first(r->evidence, "ways"))
        return RT_OK;
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (const struct fact *w = fact_find_first(r->evidence, "ways"); w; w = w->next) {
        const struct fact *worst = fact_find(w, "worst_hour"), *most = fact_find(w, "asks_most");
        const double carries = fact_find_num(w, "payload_mbps"), needed = fact_find_num(worst, "needed_mbps");
        const struct str device = fact_find_str(most, "device"), person = fact_find_str(most, "person");
        const struct flow_cell cells[] = {
            evidence_cell(fact_find_str(w, "way")),
            evidence_cell(evidence_figure(b, carries, 1, "Mb/s")),
            { .text = evidence_figure(b, needed, 1, "Mb/s"), .is_accent = !(needed <= carries) },
            evidence_cell(fact_find_str(worst, "says")),
            evidence_cell(device.n ? evidence_thing(b, device) : book_id_words(b, person))
        };
        flow_row(b->flow, cells);
    }
    const struct fact *calls = fact_find(r->evidence, "calls");
    flow_soft(b->flow, "Needed: what is not passed in %.*s of the time. In a month about %.0f GB. Calls: %.*s.",
              STR_ARG(evidence_share(b, r->promise->probability, r->promise->probability < 0.995 ? 0 : 1)),
              fact_find_num(fact_find(r->evidence, "month"), "gb"), STR_ARG(fact_find_str(calls, "fare")));
    return RT_OK;
}

/* ---- pictures ---- */

enum rt_code evidence_recording(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    struct buf text = { .arena = b->arena };
    (void)p;
    for (const struct fact *c = fact_find_first(r->evidence, "cameras"); c; c = c->next)
        buf_printf(&text, "%s%.*s %.1f Mb/s", text.n ? ", " : "", STR_ARG(evidence_thing(b, fact_find_str(c, "id"))),
                   fact_find_num(c, "mbps"));
    const double day_gb = fact_find_num(r->evidence, "gb_per_day"),
                 years = fact_find_num(r->evidence, "endurance_years");
    if (text.n)
        flow_soft(b->flow, "%.*s; together %.*s a day.", STR_ARG(buf_done(&text)),
                  STR_ARG(evidence_figure(b, day_gb, 0, "GB")));
    if (isfinite(years))
        flow_soft(b->flow, "Written so, the disk is worn out after %.0f years.", years);
    return RT_OK;
}

/* ---- one thing fails ---- */

static enum flow_mark mark_of(struct str state)
{
    return str_is(state, "kept") ? FLOW_KEPT : str_is(state, "broken") ? FLOW_BROKEN : FLOW_UNKNOWN;
}

enum rt_code evidence_survive(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "without", 0.28, FLOW_LEFT },
                                                  { "margin", 0.14, FLOW_RIGHT },
                                                  { "decided by", 0.58, FLOW_LEFT } };
    (void)p;
    if (!fact_find_first(r->evidence, "failures"))
        return RT_OK;
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (const struct fact *f = fact_find_first(r->evidence, "failures"); f; f = f->next)
        for (const struct fact *o = fact_find_first(f, "promises"); o; o = o->next) {
            const struct fact *margin = fact_find(o, "margin");
            const struct str unit = fact_find_str(o, "unit"), state = fact_find_str(o, "state");
            const bool has_figure = margin && is_given(margin->num);
            const struct flow_cell cells[] = {
                { .text = fact_find_str(f, "says"), .mark = mark_of(state) },
                evidence_cell(has_figure ? evidence_figure(b, margin->num, margin->decimals, unit.p) : state),
                evidence_soft(net_plain_words(b, fact_find_str(o, "reason")))
            };
            flow_row(b->flow, cells);
        }
    return RT_OK;
}

/* ---- growth ---- */

enum { USES_SHOWN = 6 };

/* The next of the uses by how long they last, after `after` (NULL: the first of all); ties in their order. */
static const struct fact *next_use(const struct promise_result *r, const struct fact *after, double after_times)
{
    const struct fact *best = NULL;
    double best_times = INFINITY;
    bool passed = after == NULL;
    for (const struct fact *u = fact_find_first(r->evidence, "uses"); u; u = u->next) {
        const double times = fact_find_num(u, "lasts_times");
        const bool is_later = times > after_times || (passed && times >= after_times);
        passed |= u == after;
        if (u == after || !is_given(times) || !is_later || times >= best_times)
            continue;
        best = u;
        best_times = times;
    }
    return best;
}

enum rt_code evidence_growth(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "runs out", 0.42, FLOW_LEFT },
                                                  { "now", 0.13, FLOW_RIGHT },
                                                  { "then", 0.13, FLOW_RIGHT },
                                                  { "usable", 0.14, FLOW_RIGHT },
                                                  { "enough for", 0.18, FLOW_RIGHT } };
    const struct fact *u = next_use(r, NULL, 0.0);
    (void)p;
    if (!u)
        return RT_OK;
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (int k = 0; u && k < USES_SHOWN; k++) {
        const struct fact *now = fact_find(u, "now"), *enough = fact_find(u, "enough");
        const int decimals = now ? now->decimals : 0;
        const char *unit = fact_find_str(u, "unit").p;
        const double years = fact_find_num(u, "lasts_years"), times = fact_find_num(u, "lasts_times");
        const struct str lasts =
            is_given(years) ? evidence_figure(b, years, 1, "years") : book_text(b, "%.1f times", times);
        const struct flow_cell cells[] = { evidence_cell(net_plain_words(b, fact_find_str(u, "what"))),
                                           evidence_cell(evidence_figure(b, fact_find_num(u, "now"), decimals, unit)),
                                           evidence_cell(evidence_figure(b, fact_find_num(u, "then"), decimals, unit)),
                                           evidence_cell(
                                               evidence_figure(b, fact_find_num(u, "usable"), decimals, unit)),
                                           { .text = lasts, .is_accent = enough && enough->num < 0.5 } };
        flow_row(b->flow, cells);
        u = next_use(r, u, times);
    }
    return RT_OK;
}

/* ---- money ---- */

enum rt_code evidence_cost(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "what", 0.40, FLOW_LEFT },
                                                  { "comes to", 0.20, FLOW_RIGHT },
                                                  { "at most", 0.20, FLOW_RIGHT },
                                                  { "left", 0.20, FLOW_RIGHT } };
    const struct str currency = fact_find_str(r->evidence, "currency");
    const char *unit = book_text(b, "%.*s", STR_ARG(currency)).p;
    (void)p;
    if (!fact_find_first(r->evidence, "limits"))
        return RT_OK;
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (const struct fact *l = fact_find_first(r->evidence, "limits"); l; l = l->next) {
        const struct fact *most = fact_find(l, "most");
        const int decimals = most ? most->decimals : 0;
        const struct str what = fact_find_str(l, "what"), phase = fact_find_str(l, "phase");
        const double left = fact_find_num(l, "margin");
        const struct flow_cell cells[] = {
            evidence_cell(
                book_text(b, "%.*s%s%.*s", STR_ARG(what), phase.n ? " " : "", STR_ARG(book_id_words(b, phase)))),
            evidence_cell(evidence_figure(b, fact_find_num(l, "comes_to"), decimals, unit)),
            evidence_cell(evidence_figure(b, fact_find_num(l, "most"), decimals, unit)),
            { .text = evidence_figure(b, left, decimals, unit), .is_accent = left < 0.0 }
        };
        flow_row(b->flow, cells);
    }
    for (const struct fact *m = fact_find_first(r->evidence, "missing"); m; m = m->next)
        flow_item(b->flow, "Not counted, for it is not known: %.*s", STR_ARG(fact_find_str(m, "says")));
    return RT_OK;
}
