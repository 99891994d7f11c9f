/* The networks in plain words, the statements, the proof's matrix, what lies below the rules, what was rehearsed. */
#include "book/network_below.h"
#include "book/network_matrix.h"
#include "book/network_rehearsed.h"

/* ---- one network ---- */

static void fact(struct book *b, const char *what, struct str says)
{
    const struct flow_cell cells[] = { net_soft(str_from(what)), net_cell(says) };
    if (says.n)
        flow_row(b->flow, cells);
}

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
                   s->isolate ? "; its devices are kept apart" : "",
                   l2->ssids[i].cells.n ? "" : "; on no access point");
    }
    return text.n ? buf_done(&text) : STR("none: by cable only");
}

static struct str devices_words(struct book *b, uint32_t segment)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        n += b->h->devices.v[i].segment.i == segment;
    for (uint32_t i = 0; i < b->h->devices.n; i++)
        if (b->h->devices.v[i].segment.i == segment)
            net_list_word(&text, k++, n, net_device_words(b, i));
    const bool known = b->h->segments.v[segment].known_only;
    if (!n)
        return known ? STR("nobody: it lets in known devices only, and the file names none")
                     : STR("no device of the file; who knows the passphrase or finds a socket");
    buf_text(&text, known ? ". Nothing else: it lets in known devices only" : ", and whatever else joins");
    return buf_done(&text);
}

/* What may be begun from (or with) the segment, zone by zone. */
static struct str talk_words(struct book *b, const struct matrix *m, uint32_t zone, bool begins)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t other = 0; other < m->n; other++) {
        const uint32_t from = begins ? zone : other, to = begins ? other : zone;
        if (other == zone || from == ZONE_GATEWAY)
            continue;
        const bool all4 = matrix_at(m, FAMILY_IPV4, from, to)->verdict == CELL_ALL,
                   all6 = matrix_at(m, FAMILY_IPV6, from, to)->verdict == CELL_ALL;
        const str_list list = network_passages(b, m, from, to);
        if (!all4 && !all6 && !list.n)
            continue;
        buf_printf(&text, "%s%.*s: ", text.n ? "\n" : "", STR_ARG(net_zone_words(b, other)));
        if (all4 || all6)
            buf_printf(&text, "anything%s", all4 && all6 ? "" : all4 ? " in IPv4" : " in IPv6");
        for (uint32_t i = 0; i < list.n; i++)
            buf_printf(&text, "%s%.*s", i || all4 || all6 ? "; " : "", STR_ARG(list.v[i]));
    }
    if (text.n)
        return buf_done(&text);
    return begins ? STR("nothing but what every network has of its gateway: addresses, names, time") : STR("nobody");
}

static struct str names_words(struct book *b, uint32_t segment)
{
    const str_list *names = &b->h->segments.v[segment].blocked_names;
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < names->n; i++)
        net_list_word(&text, i, names->n, names->v[i]);
    return buf_done(&text);
}

static void write_segment(struct book *b, const struct matrix *m, uint32_t i)
{
    static const struct flow_column COLUMNS[] = { { NULL, 0.26, FLOW_LEFT }, { NULL, 1.0, FLOW_LEFT } };
    const struct segment *s = &b->h->segments.v[i];
    flow_keep_begin(b->flow);
    flow_heading(b->flow, "%.*s", STR_ARG(net_plain_words(b, s->id)));
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    fact(b, "what for", s->says.n ? s->says : STR("the file does not say"));
    fact(b, "Wi-Fi name", wifi_words(b, i));
    fact(b, "who is on it", devices_words(b, i));
    fact(b, "may begin talk with", talk_words(b, m, ZONE_SEGMENT + i, true));
    fact(b, "is called by", talk_words(b, m, ZONE_SEGMENT + i, false));
    fact(b, "names it is not told", names_words(b, i));
    flow_keep_end(b->flow);
}

/* ---- statements ---- */

static struct str services_words(struct book *b, const struct statement *s)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < s->services.n; i++)
        net_list_word(&text, i, s->services.n, s->services.v[i]);
    return s->services.n ? buf_done(&text) : STR("everything");
}

static struct str says_of(struct book *b, const struct statement *s)
{
    if (s->says.n)
        return s->says;
    return book_text(b, "%.*s %s begin talk with %.*s", STR_ARG(net_ends_words(b, &s->from)),
                     s->verdict == VERDICT_ALLOW ? "may" : "may not", STR_ARG(net_ends_words(b, &s->to)));
}

static void write_statements(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { "", 0, FLOW_RIGHT },       { "statement", 1.7, FLOW_LEFT },
                                                  { "", 0, FLOW_LEFT },        { "for", 0.9, FLOW_LEFT },
                                                  { "when", 0.75, FLOW_LEFT }, { "in the file", 0.75, FLOW_LEFT } };
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
        const struct flow_cell cells[] = { net_cell(book_text(b, "%u", i + 1)),
                                           net_cell(says_of(b, s)),
                                           net_strong(s->verdict == VERDICT_ALLOW ? STR("allowed") : STR("refused")),
                                           net_cell(services_words(b, s)),
                                           net_cell(net_hours_words(b, s->hours.i)),
                                           net_soft(s->id) };
        flow_row(b->flow, cells);
    }
}

/* ---- proof ---- */

static void write_promises(struct book *b)
{
    bool any = false;
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        if (!(POLICY_PROMISE_KINDS >> r->promise->kind & 1))
            continue;
        flow_promise(b->flow, book_mark(r->state), r->promise->says, book_margin(b, r), r->reason, NULL);
        any = true;
    }
    if (!any)
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
              "nothing else.");
    for (uint32_t i = 0; i < b->h->segments.n; i++)
        write_segment(b, m, i);
    write_statements(b);
    network_matrix_write(b, m);
    flow_heading(b->flow, "What was promised about it");
    write_promises(b);
    network_below_write(b);
    return network_rehearsed_write(b, p);
}
