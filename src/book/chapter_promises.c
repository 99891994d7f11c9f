/* The promises: how many are kept, what the estimate means, then each with its evidence. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "book/evidence.h"
#include "book/net_words.h"

/* Evidence of each kind: a new kind adds its row.  to: where more of it stands; NULL: on the floors. */
static const struct {
    evidence_writer *write;
    const char *to;
} KINDS[PROMISE_KIND_COUNT] = {
    [PROMISE_SIGNAL] = { evidence_rooms, NULL },          [PROMISE_RATE] = { evidence_rooms, NULL },
    [PROMISE_ROAMING] = { evidence_rooms, NULL },         [PROMISE_QUIET] = { evidence_quiet, "week" },
    [PROMISE_APART] = { evidence_rules, "networks" },     [PROMISE_REACH] = { evidence_rules, "networks" },
    [PROMISE_HOURS] = { evidence_rules, "week" },         [PROMISE_POWER] = { evidence_power, "ports" },
    [PROMISE_CABLE] = { evidence_cable, "cables" },       [PROMISE_LINE] = { evidence_line, "week" },
    [PROMISE_RECORDING] = { evidence_recording, "load" }, [PROMISE_OUTAGE] = { evidence_outage, "breaks" },
    [PROMISE_SURVIVE] = { evidence_survive, "breaks" },   [PROMISE_GROWTH] = { evidence_growth, "growth" },
    [PROMISE_COST] = { evidence_cost, "money" },          [PROMISE_EXPOSURE] = { evidence_exposure, "care" },
};

/* ---- for the writers ---- */

struct str evidence_thing(struct book *b, struct str id)
{
    const uint32_t e = house_find_equipment(b->h, id), d = house_find_device(b->h, id);
    if (e == NO_REF && d == NO_REF)
        return str_is(id, LINE_BOX_NAME) ? STR("the line") : book_id_words(b, id);
    if (d != NO_REF)
        return net_device_words(b, d);
    const struct str says = b->h->equipment.v[e].says;
    return says.n ? book_text(b, "%.*s (%.*s)", STR_ARG(id), STR_ARG(says)) : id;
}

struct str evidence_share(struct book *b, double share, int decimals)
{
    return is_given(share) ? book_text(b, "%.*f %%", decimals, share * 100.0) : STR("not known");
}

struct str evidence_figure(struct book *b, double value, int decimals, const char *unit)
{
    if (!is_given(value))
        return STR("not known");
    if (isinf(value))
        return value < 0.0 ? STR("no link") : STR("no end");
    const bool is_below = value < 0.0 && fabs(value) >= 0.5 * pow(10.0, -decimals);
    return book_text(b, "%s%.*f%s%s", is_below ? "\u2212" : "", decimals, fabs(value), unit && unit[0] ? " " : "",
                     unit ? unit : "");
}

struct flow_cell evidence_cell(struct str text) { return (struct flow_cell){ .text = text }; }
struct flow_cell evidence_soft(struct str text) { return (struct flow_cell){ .text = text, .is_soft = true }; }

/* ---- where it stands, what would keep it ---- */

/* The floor of the spot that decides; else that of the first of its rooms. */
static uint32_t floor_of(const struct book *b, const struct promise_result *r)
{
    const uint32_t floor = house_find_floor(b->h, fact_find_str(fact_find(r->evidence, "worst_spot"), "floor"));
    if (floor != NO_REF)
        return floor;
    return r->promise->rooms.n ? b->h->rooms.v[r->promise->rooms.v[0].i].floor.i : 0;
}

const char *evidence_place(struct book *b, const struct promise_result *r)
{
    const char *to = KINDS[r->promise->kind].to;
    if (to || b->h->floors.n == 0)
        return to;
    return book_text(b, "floors-%.*s", STR_ARG(b->h->floors.v[floor_of(b, r)].id)).p;
}

struct str evidence_mend(struct book *b, const struct promise_result *r)
{
    if (r->state != PROMISE_BROKEN)
        return STR("");
    switch (r->promise->kind) {
    case PROMISE_SIGNAL:
    case PROMISE_RATE:
    case PROMISE_ROAMING:
        if (r->other_estimate_disagrees)
            return STR("measure at the spot first, better walls would keep it; else an access point nearer to it "
                       "(`rooftree design` finds the cheapest place, with its price)");
        return STR(
            "an access point nearer to it, or less in between (`rooftree design` finds the cheapest place, with its "
            "price)");
    case PROMISE_APART:
    case PROMISE_REACH:
    case PROMISE_HOURS:
        return fact_find(r->evidence, "rule") ? STR("change the statement that decides, or promise what it allows")
                                              : STR("a statement that says what was promised");
    case PROMISE_SURVIVE:
        return STR("`rooftree check --failures --mend` tries the parts in hand, and names the cheapest that helps");
    default:
        return STR(""); /* their reasons say it */
    }
    (void)b;
}

/* ---- the tally ---- */

static const char *estimate_words(enum estimate e)
{
    switch (e) {
    case ESTIMATE_CAREFUL:
        return "Signal is judged with the careful estimate: every wall and floor is taken to lose as much as the worst "
               "that was "
               "published of its kind. What is kept so should be kept in the house as it stands.";
    case ESTIMATE_MIDDLE:
        return "Signal is judged with the middle estimate: walls and floors are taken to lose what is usual for their "
               "kind. About "
               "as many houses are worse as are better; a promise with a thin margin is to be measured first.";
    default:
        return "Signal is judged with the hopeful estimate: walls and floors are taken to lose as little as was ever "
               "published of "
               "their kind. What is kept so may fail in the house: measure before money is spent.";
    }
}

static void write_tally(struct book *b)
{
    static const struct flow_column COLUMNS[] = { { NULL, 0.2, FLOW_LEFT }, { NULL, 0.8, FLOW_LEFT } };
    const struct flow_cell rows[][2] = {
        { { .text = book_text(b, "%u kept", b->results.n_kept), .mark = FLOW_KEPT, .is_strong = true },
          { .text = STR("by the house as it is planned; the figure is how far it is from breaking"),
            .is_soft = true } },
        { { .text = book_text(b, "%u broken", b->results.n_broken),
            .mark = FLOW_BROKEN,
            .is_strong = true,
            .is_accent = b->results.n_broken > 0 },
          { .text = STR("the figure is what it lacks, and what would keep it stands beside it where it is known"),
            .is_soft = true } },
        { { .text = book_text(b, "%u not known", b->results.n_unknown), .mark = FLOW_UNKNOWN, .is_strong = true },
          { .text = STR("a fact is missing in the house file, and it is named"), .is_soft = true } }
    };
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (size_t i = 0; i < RT_COUNT(rows); i++)
        flow_row(b->flow, rows[i]);
    flow_text(b->flow, "%s", estimate_words(b->ev->options.trace.estimate));
    flow_text(
        b->flow,
        "A level or rate holds in the share of places that was promised, usually 90 of 100, and each room is judged "
        "by itself. In the small drawings a room's mark and figure are what the promised share of it reaches, and its "
        "tail ends at the worst spot. Each sentence leads to the drawing or table on which its evidence stands.");
}

/* ---- each ---- */

/* Kept, and its figures are the tables of the chapter that it leads to. */
static bool stands_elsewhere(const struct promise_result *r)
{
    const enum promise_kind kind = r->promise->kind;
    return r->state == PROMISE_KEPT && (kind == PROMISE_QUIET || kind == PROMISE_POWER || kind == PROMISE_OUTAGE ||
                                        kind == PROMISE_COST || kind == PROMISE_LINE);
}

static enum rt_code write_promise(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    const struct str mend = evidence_mend(b, r), reason = net_plain_words(b, r->reason);
    const struct str why =
        mend.n ? book_text(b, "%.*s\nWhat would keep it: %.*s.", STR_ARG(reason), STR_ARG(mend)) : reason;
    const struct str figure = r->state == PROMISE_UNKNOWN ? STR("not known") : book_margin(b, r);
    flow_keep_begin(b->flow);
    flow_promise(b->flow, book_mark(r->state), r->promise->says, figure, why, evidence_place(b, r));
    const enum rt_code code = stands_elsewhere(r) ? RT_OK : KINDS[r->promise->kind].write(b, r, p);
    flow_keep_end(b->flow);
    return code;
}

enum rt_code chapter_promises(struct book *b, struct rt_problems *p)
{
    size_t n_headings;
    const char *const *headings = promise_headings(&n_headings);
    flow_chapter(b->flow, "promises", "What was promised");
    if (b->results.n == 0) {
        flow_text(
            b->flow,
            "Nothing was promised in the house file. Everything else in this book tells what is planned, and no more.");
        return RT_OK;
    }
    write_tally(b);
    for (size_t k = 0; k < n_headings; k++) {
        bool any = false;
        for (uint32_t i = 0; i < b->results.n; i++) {
            if (strcmp(promise_heading(b->results.v[i].promise->kind), headings[k]) != 0)
                continue;
            if (!any)
                flow_section(b->flow, book_text(b, "promises-%zu", k + 1).p, "%s", headings[k]);
            any = true;
            RT_TRY(write_promise(b, &b->results.v[i], p));
        }
    }
    return RT_OK;
}
