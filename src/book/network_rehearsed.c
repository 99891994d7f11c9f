#include "book/network_rehearsed.h"

#include "reach/rehearse.h"

static void write_zones(struct book *b, const struct rehearsal *r)
{
    static const struct flow_column COLUMNS[] = {
        { "sent from", 1.0, FLOW_LEFT },          { "packets", 0, FLOW_RIGHT },
        { "let through", 0, FLOW_RIGHT },         { "refused", 0, FLOW_RIGHT },
        { "kept out in silence", 0, FLOW_RIGHT }, { "as proven", 0, FLOW_RIGHT }
    };
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (uint32_t z = 0; z < r->policy->plan->n_zones; z++) {
        const struct rehearsed_zone *zone = &r->zones[z];
        if (!zone->n_probes)
            continue;
        const uint32_t figures[] = { zone->n_probes, zone->n_through, zone->n_refused, zone->n_silent, zone->n_agreed };
        struct flow_cell cells[RT_COUNT(COLUMNS)] = { net_cell(net_zone_words(b, z)) };
        for (size_t i = 0; i < RT_COUNT(figures); i++)
            cells[1 + i] = net_cell(book_text(b, "%u", figures[i]));
        flow_row(b->flow, cells);
    }
}

/* All of them, in full. */
static void write_disagreements(struct book *b, const struct rehearsal *r)
{
    for (uint32_t i = 0; i < r->disagreed.n; i++) {
        const struct disagreement *d = &r->disagreed.v[i];
        struct buf packet = { .arena = b->arena }, rule = { .arena = b->arena };
        disagreement_packet_words(&packet, d);
        rehearsed_rule_words(&rule, d->rule);
        flow_promise(b->flow, FLOW_BROKEN,
                     book_text(b, "%.*s to %.*s, %.*s", STR_ARG(d->from), STR_ARG(d->to), STR_ARG(d->hours)), STR(""),
                     book_text(b, "%.*s. The kernel: %.*s. The proof: %.*s, by %.*s.", STR_ARG(buf_done(&packet)),
                               STR_ARG(d->kernel), STR_ARG(d->proof), STR_ARG(buf_done(&rule))),
                     NULL);
    }
}

static void write_result(struct book *b, const struct rehearsal *r)
{
    const bool all = r->disagreed.n == 0;
    flow_promise(
        b->flow, all ? FLOW_KEPT : FLOW_BROKEN,
        all ? STR("A real kernel did with every packet what the proof says")
            : book_text(b, "A real kernel did otherwise than the proof says with %u packets", r->disagreed.n),
        book_text(b, "%u of %u", r->n_agreed, r->n_probes),
        STR("The house's devices and networks were put up inside one machine, the exported rules loaded, and real "
            "packets sent between them all."),
        NULL);
    if (b->h->hours.n)
        flow_text(
            b->flow,
            "Hours were moved around the moment of trying, in %u ways. %u conversations ran while they began or ended: "
            "%u had to end, and did.",
            r->n_rounds, r->n_conversations, r->n_cut);
    if (!r->refusals_counted)
        flow_text(
            b->flow,
            "This kernel limits how often it answers a refusal, so refused and kept out in silence count as one.");
    if (!all)
        flow_text(b->flow,
                  "That is a mistake of the program, not of the house: do not load the rules before it is found.");
    write_disagreements(b, r);
    write_zones(b, r);
}

static void write_cannot(struct book *b, const struct rt_problems *why)
{
    flow_text(b->flow, "It was asked for, and could not be done on the machine that made this book:");
    for (uint32_t i = 0; i < why->list.n; i++) {
        const struct rt_problem *one = &why->list.v[i];
        flow_item(b->flow, "%s%s%s.", one->msg, one->hint ? "; " : "", one->hint ? one->hint : "");
    }
    flow_text(
        b->flow,
        "What the proof says does not rest on it. On another machine: rooftree book HOUSE --rehearse --out FILE.pdf");
}

enum rt_code network_rehearsed_write(struct book *b, struct rt_problems *p)
{
    flow_heading(b->flow, "What was rehearsed");
    if (!b->options->rehearses) {
        flow_text(b->flow,
                  "Nothing: the rules of this book were proven, not tried. To try them with real packets on the kernel "
                  "of a Linux machine: rooftree rehearse HOUSE, or make this book with --rehearse.");
        return RT_OK;
    }
    struct rt_problems why;
    struct rehearsal *r = NULL;
    rt_problems_init(&why, b->arena);
    const enum rt_code code = rehearse(b->run, b->proof->policy, NULL, &r, &why);
    if (code == RT_NOMEM)
        return rt_fail_memory(p);
    if (code == RT_CANCELLED)
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "the book was stopped; nothing is written");
    if (code)
        write_cannot(b, &why);
    else
        write_result(b, r);
    return RT_OK;
}
