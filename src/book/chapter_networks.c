/* The networks in plain words, the statements, the proof's matrix, what lies below the rules, what was rehearsed. */
#include "book/network_below.h"
#include "book/network_matrix.h"
#include "book/network_rehearsed.h"

/* ---- the networks ---- */

static struct str wifi_words(struct book *b, uint32_t segment)
{
    struct buf text = { .arena = b->arena };
    const struct layer2 *l2 = b->ev->layer2;
    for (uint32_t i = 0; i < b->h->ssids.n; i++) {
        const struct ssid *s = &b->h->ssids.v[i];
        if (l2->ssids[i].segment != segment)
            continue;
        buf_printf(&text, "%s\u201c%.*s\u201d, %.*s, %s%s%s", text.n ? "\n" : "", STR_ARG(l2->ssids[i].name),
                   STR_ARG(net_band_words(b, s->bands)), net_security_words(s->security),
                   s->isolate ? "; kept apart" : "", l2->ssids[i].cells.n ? "" : "; on no access point");
    }
    return text.n ? buf_done(&text) : STR("none: by cable only");
}

static const char *joins_words(const struct segment *s)
{
    return s->known_only ? "known devices only" : "anybody let in";
}

static struct str what_for(struct book *b, uint32_t segment)
{
    const struct segment *s = &b->h->segments.v[segment];
    struct buf text = { .arena = b->arena };
    buf_str(&text, s->says);
    for (uint32_t i = 0; i < s->blocked_names.n; i++)
        buf_printf(&text, "%s%.*s", i ? ", " : "; not told where to find ", STR_ARG(s->blocked_names.v[i]));
    return buf_done(&text);
}

static void write_segments(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "network", 0, FLOW_LEFT },
                                                  { "what for", 1.0, FLOW_LEFT },
                                                  { "Wi-Fi", 1.2, FLOW_LEFT },
                                                  { "who can join", 0.7, FLOW_LEFT } };
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < b->h->segments.n; i++) {
        const struct flow_cell cells[] = { net_strong(net_plain_words(b, b->h->segments.v[i].id)),
                                           net_cell(what_for(b, i)), net_cell(wifi_words(b, i)),
                                           net_cell(str_from(joins_words(&b->h->segments.v[i]))) };
        flow_row(b->flow, cells);
    }
}

/* ---- statements ---- */

/* "https and ntp", "everything, Mon-Fri 16:00-17:30". */
static struct str services_words(struct book *b, const struct statement *s)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < s->services.n; i++)
        net_list_word(&text, i, s->services.n, s->services.v[i]);
    if (!s->services.n)
        buf_text(&text, "everything");
    if (s->hours.i != NO_REF)
        buf_printf(&text, ", %.*s", STR_ARG(net_hours_words(b, s->hours.i)));
    return buf_done(&text);
}

static void write_statements(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "", 0, FLOW_RIGHT },
                                                  { "statement", 1.9, FLOW_LEFT },
                                                  { "", 0, FLOW_LEFT },
                                                  { "for", 1.0, FLOW_LEFT },
                                                  { "in the file", 0, FLOW_LEFT } };
    const struct house *h = b->h;
    flow_section(b->flow, "networks-statements", "Who may begin talk with whom");
    if (!h->statements.n) {
        flow_text(b->flow, "The file makes no statement, so nothing may begin talk across networks.");
        return;
    }
    flow_text(
        b->flow,
        "From the first to the last: the first that fits decides, and what none of them allows is refused. Answers "
        "always come back.");
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t i = 0; i < h->statements.n; i++) {
        const struct statement *s = &h->statements.v[i];
        const struct flow_cell cells[] = { net_cell(book_text(b, "%u", i + 1)), net_cell(net_statement_words(b, s)),
                                           net_strong(s->verdict == VERDICT_ALLOW ? STR("allowed") : STR("refused")),
                                           net_cell(services_words(b, s)), net_soft(s->id) };
        flow_row(b->flow, cells);
    }
}

/* ---- promises ---- */

static void write_promises(struct book *b)
{
    uint32_t n[PROMISE_UNKNOWN + 1] = { 0 }, all = 0;
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        if (!(POLICY_PROMISE_KINDS >> r->promise->kind & 1))
            continue;
        n[r->state]++;
        all++;
    }
    if (all)
        flow_text(b->flow, "%u promise%s %s on it: %u kept, %u broken, %u unknown (first chapter).", all,
                  all == 1 ? "" : "s", all == 1 ? "rests" : "rest", n[PROMISE_KEPT], n[PROMISE_BROKEN],
                  n[PROMISE_UNKNOWN]);
    else
        flow_text(b->flow, "Nothing was promised about who reaches whom.");
}

enum rt_code chapter_networks(struct book *b, struct rt_problems *p)
{
    struct matrix *m;
    flow_chapter(b->flow, "networks", "Networks, and who reaches whom");
    if (!b->h->segments.n) {
        flow_text(b->flow, "The file does not say how the network is divided: everything reaches everything.");
        return RT_OK;
    }
    RT_TRY(matrix_make(b->proof, &m, p));
    flow_text(b->flow,
              "Between networks everything goes through the gateway, which lets through what this chapter says and "
              "nothing else. Which device is in which network, the chapter of addresses says.");
    write_segments(b);
    write_statements(b);
    network_matrix_write(b, m);
    write_promises(b);
    RT_TRY(network_rehearsed_write(b, p));
    network_below_write(b);
    return RT_OK;
}
