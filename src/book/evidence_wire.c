/* Evidence of wires and power: watts at every socket, cables and their lengths, what lives without mains. */
#include <math.h>

#include "base/units.h"
#include "book/evidence.h"
#include "wire/end_label.h"

/* ---- power ---- */

static void write_feed(struct book *b, const struct fact *f)
{
    const struct str source = fact_find_str(f, "source"), name = evidence_thing(b, fact_find_str(f, "id"));
    const double class = fact_find_num(f, "class_granted"), port = fact_find_num(f, "port"),
                 wanted_w = fact_find_num(f, "wanted_w"), has_w = fact_find_num(f, "delivered_w");
    const struct str from =
        source.n ? end_label_port(b->arena, source, is_given(port) ? (unsigned)port : 0) : STR("nothing");
    const struct flow_cell cells[] = { evidence_cell(name),
                                       evidence_cell(from),
                                       { .text = is_given(class) ? book_text(b, "%.0f", class) : STR("none"),
                                         .is_accent = !is_given(class) },
                                       evidence_cell(evidence_figure(b, wanted_w, 1, "W")),
                                       { .text = evidence_figure(b, has_w, 1, "W"), .is_accent = has_w < wanted_w },
                                       evidence_cell(evidence_figure(b, fact_find_num(f, "loss_w"), 2, "W")) };
    flow_row(b->flow, cells);
}

enum rt_code evidence_power(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "thing", 0.32, FLOW_LEFT },     { "fed by", 0.24, FLOW_LEFT },
                                                  { "class", 0.08, FLOW_RIGHT },    { "wants", 0.12, FLOW_RIGHT },
                                                  { "can have", 0.12, FLOW_RIGHT }, { "lost", 0.12, FLOW_RIGHT } };
    (void)p;
    if (fact_find_first(r->evidence, "feeds"))
        flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (const struct fact *f = fact_find_first(r->evidence, "feeds"); f; f = f->next)
        write_feed(b, f);
    struct buf text = { .arena = b->arena };
    for (const struct fact *s = fact_find_first(r->evidence, "sources"); s; s = s->next)
        buf_printf(&text, "%s%.*s: %.*s of %.*s", text.n ? "; " : "",
                   STR_ARG(evidence_thing(b, fact_find_str(s, "id"))),
                   STR_ARG(evidence_figure(b, fact_find_num(s, "worst_w"), 1, "W")),
                   STR_ARG(evidence_figure(b, fact_find_num(s, "budget_w"), 0, "W")));
    if (text.n)
        flow_soft(b->flow, "Everything at full, over all ports: %.*s; %.*s are to be left over.",
                  STR_ARG(buf_done(&text)), STR_ARG(evidence_share(b, r->promise->headroom_share, 0)));
    return RT_OK;
}

/* ---- cables ---- */

static const char *plural(uint32_t n) { return n == 1 ? "" : "s"; }

/* The one that is nearest to its greatest length. */
static const struct fact *longest_of(const struct promise_result *r, uint32_t *n)
{
    const struct fact *longest = NULL;
    double most = -1.0;
    *n = 0;
    for (const struct fact *l = fact_find_first(r->evidence, "links"); l; l = l->next, (*n)++) {
        const double share = fact_find_num(l, "length_m") / fact_find_num(l, "length_max_m");
        if (isfinite(share) && share > most) {
            most = share;
            longest = l;
        }
    }
    return longest;
}

/* Cables that do not carry what hangs on them. */
static void write_slow(struct book *b, const struct promise_result *r)
{
    for (const struct fact *l = fact_find_first(r->evidence, "links"); l; l = l->next) {
        const double speed = fact_find_num(l, "speed_mbps"), needed = fact_find_num(l, "needed_mbps");
        if (speed < needed)
            flow_item(b->flow, "%.*s carries %.0f Mb/s and needs %.0f, decided by %.*s",
                      STR_ARG(fact_find_str(l, "id")), speed, needed, STR_ARG(fact_find_str(l, "limit")));
    }
}

static void write_uplinks(struct book *b, const struct promise_result *r)
{
    struct buf text = { .arena = b->arena };
    for (const struct fact *u = fact_find_first(r->evidence, "uplinks"); u; u = u->next) {
        const double share = fact_find_num(u, "behind_share");
        if (isfinite(share))
            buf_printf(&text, "%s%.*s %.1f times", text.n ? ", " : "", STR_ARG(fact_find_str(u, "cable")), share);
    }
    if (text.n)
        flow_soft(b->flow,
                  "What all behind it could ask for at once, against what it carries: %.*s. More than 1 is usual: "
                  "never all ask at once.",
                  STR_ARG(buf_done(&text)));
}

enum rt_code evidence_cable(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    uint32_t n;
    const struct fact *longest = longest_of(r, &n);
    (void)p;
    if (longest)
        flow_soft(b->flow, "%u cable%s. Nearest to its greatest length: %.*s, %.1f of %.0f m.", n, plural(n),
                  STR_ARG(fact_find_str(longest, "id")), fact_find_num(longest, "length_m"),
                  fact_find_num(longest, "length_max_m"));
    write_slow(b, r);
    for (const struct fact *x = fact_find_first(r->evidence, "breaches"); x; x = x->next)
        flow_item(b->flow, "%.*s", STR_ARG(fact_find_str(x, "says")));
    const struct str conflict = fact_find_str(r->evidence, "conflict");
    if (conflict.n)
        flow_item(b->flow, "%.*s", STR_ARG(conflict));
    for (const struct fact *f = fact_find_first(r->evidence, "fibre"); f; f = f->next)
        flow_soft(b->flow, "Fibre %.*s loses %.1f dB of light, its ends bear %.1f dB.", STR_ARG(fact_find_str(f, "id")),
                  fact_find_num(f, "loss_db"), fact_find_num(f, "loss_max_db"));
    write_uplinks(b, r);
    return RT_OK;
}

/* ---- without mains ---- */

/* "a, b and c". */
static struct str names_of(struct book *b, const struct fact *list, uint32_t most)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0;
    for (const struct fact *f = list; f; f = f->next, n++)
        if (n < most)
            buf_printf(&text, "%s%.*s", n ? ", " : "", STR_ARG(evidence_thing(b, f->text)));
    if (n > most)
        buf_printf(&text, " and %u more", n - most);
    return n ? buf_done(&text) : STR("nothing");
}

enum rt_code evidence_outage(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    enum { NAMED = 8 };
    static const struct flow_column COLUMNS[] = { { "without mains", 0.18, FLOW_LEFT }, { "goes", 0.82, FLOW_LEFT } };
    (void)p;
    for (const struct fact *x = fact_find_first(r->evidence, "batteries"); x; x = x->next) {
        const struct str usable = evidence_figure(b, fact_find_num(x, "usable_wh"), 0, "Wh"),
                         all = evidence_figure(b, fact_find_num(x, "capacity_wh"), 0, "Wh"),
                         load = evidence_figure(b, fact_find_num(x, "load_w"), 0, "W"),
                         minutes = evidence_figure(b, fact_find_num(x, "minutes"), 0, "min");
        flow_soft(b->flow,
                  "Battery %.*s: %.*s of its %.*s can be used at its age and warmth, for a load of %.*s: %.*s.",
                  STR_ARG(fact_find_str(x, "id")), STR_ARG(usable), STR_ARG(all), STR_ARG(load), STR_ARG(minutes));
    }
    if (!fact_find_first(r->evidence, "stages"))
        return RT_OK;
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (const struct fact *s = fact_find_first(r->evidence, "stages"); s; s = s->next) {
        const double minutes = fact_find_num(s, "from_minutes");
        const struct flow_cell cells[] = { evidence_cell(minutes > 0.0 ? book_text(b, "after %.0f min", minutes)
                                                                       : STR("at once")),
                                           evidence_cell(names_of(b, fact_find_first(s, "lost"), NAMED)) };
        flow_row(b->flow, cells);
    }
    return RT_OK;
}
