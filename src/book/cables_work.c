/* What the hands do for the cables: the order of work, holes and boards, cutting, material and tools.
 *
 * Bending, pulling and untwisting: ANSI/TIA-568 (four diameters, 110 N, 13 mm), from memory.  Tools: common practice, no source. */
#include <math.h>

#include "base/units.h"
#include "book/wires_int.h"

bool cable_work_is_new(const struct cable_book *c, uint32_t work)
{
    return bill_work_is_new(c->b->h, &c->plan->work.v[work]);
}

static uint32_t count_work(const struct cable_book *c, enum opening_work kind)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < c->plan->work.n; i++)
        n += c->plan->work.v[i].kind == kind && cable_work_is_new(c, i);
    return n;
}

/* What new cables are, or pass. */
struct new_cables {
    bool has_copper, has_fibre, has_outdoors, has_void, has_trench, has_power;
};

static struct new_cables look_at_new(const struct cable_book *c)
{
    const struct house *h = c->b->h;
    struct new_cables found = { 0 };
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct routed_cable *r = &c->plan->cables[i];
        if (h->cables.v[i].owned || cable_is_cord(h, i))
            continue;
        found.has_fibre |= c->b->links->v[i].is_fibre;
        found.has_copper |= !c->b->links->v[i].is_fibre;
        found.has_outdoors |= r->outdoors;
        for (uint32_t k = 0; k < r->legs.n; k++) {
            const enum run_kind kind = r->legs.v[k].kind;
            found.has_trench |= kind == RUN_TRENCH;
            found.has_void |= kind == RUN_CEILING_VOID || kind == RUN_UNDER_FLOOR || kind == RUN_ATTIC ||
                              kind == RUN_RISER || kind == RUN_DUCT;
        }
    }
    return found;
}

/* ---- the order of work ---- */

static struct str opening_words(struct cable_book *c)
{
    const uint32_t holes = count_work(c, WORK_HOLE), boards = count_work(c, WORK_BOARD);
    if (!holes && !boards)
        return STR("Nothing has to be drilled or lifted");
    if (!boards)
        return book_text(c->b, "Drill %.*s", STR_ARG(counted(c->b, holes, "hole", "holes")));
    if (!holes)
        return book_text(c->b, "Lift %.*s", STR_ARG(counted(c->b, boards, "board", "boards")));
    return book_text(c->b, "Lift %.*s, drill %.*s", STR_ARG(counted(c->b, boards, "board", "boards")),
                     STR_ARG(counted(c->b, holes, "hole", "holes")));
}

static void write_cautions(struct cable_book *c)
{
    uint32_t n;
    const char *const *cautions = install_cautions(&n);
    struct buf w = { .arena = c->b->arena };
    for (uint32_t i = 0; i < n; i++)
        buf_printf(&w, "%s%s", i ? "\n" : "", cautions[i]);
    flow_caution(c->b->flow, "Before hands are laid on", "%.*s", STR_ARG(buf_done(&w)));
}

bool cables_step(struct cable_book *c, uint32_t i, struct str *what, struct str *minds)
{
    static const char *const STEPS[][2] = {
        { "Walk every way below and look behind what can be opened",
          "mains, gas and water are found with a detector and marked; what does not agree with this book is written "
          "into it" },
        { "", "each at its place in the list below, none wider than the bit named there" }, /* opening_words() */
        { "Draw the cables in, the longest first; label both ends before the cable is cut",
          "no bend tighter than four times the cable's diameter, no pull harder than 110 N, no staple that pinches" },
        { "End them in sockets and plugs",
          "the same order of wires, T568A or T568B, at every end in the house; pairs untwisted by no more than 13 mm; "
          "fibre comes with its ends fitted" },
        { "Test each cable by itself, before a cord is plugged in", "what passes stands with the list below" },
        { "Close what was opened",
          "boards back, holes to the open air sealed on both sides, holes through floors and fire walls stopped to "
          "their rating" },
        { "Plug in the cords by the port map", "each port has the cable that its label names" },
    };
    if (i >= RT_COUNT(STEPS) || c->n_new == c->n_cords_new)
        return false;
    *what = STEPS[i][0][0] ? str_from(STEPS[i][0]) : opening_words(c);
    *minds = str_from(STEPS[i][1]);
    return true;
}

void cables_write_order(struct cable_book *c)
{
    struct str what, minds;
    if (c->n_new == c->n_cords_new)
        return;
    write_cautions(c);
    flow_section(c->b->flow, "cable-work", "The order of work");
    for (uint32_t i = 0; cables_step(c, i, &what, &minds); i++)
        flow_tick(c->b->flow, what, minds);
}

/* ---- holes and boards ---- */

struct str cable_work_through(struct cable_book *c, uint32_t work)
{
    const struct cable_work *w = &c->plan->work.v[work];
    struct book *b = c->b;
    if (w->kind == WORK_BOARD)
        return STR("lift a board");
    if (w->construct == NO_REF)
        return STR("");
    const struct str name = install_construct_name(b->arena, b->h, w->construct);
    return book_text(b, "%.*s, %.0f mm", STR_ARG(name), c->in->work[work].thickness_m * 1000.0);
}

struct str cable_work_bit(struct cable_book *c, uint32_t work)
{
    const struct install_work *w = &c->in->work[work];
    if (c->plan->work.v[work].kind == WORK_BOARD)
        return STR("");
    return book_text(c->b, "%s%.0f", w->is_diameter_sure ? "" : "~", w->diameter_mm);
}

static struct str cable_names(struct cable_book *c, const ref_list *cables)
{
    struct buf w = { .arena = c->b->arena };
    for (uint32_t i = 0; i < cables->n; i++)
        buf_printf(&w, "%s%.*s", i ? ", " : "", STR_ARG(c->b->h->cables.v[cables->v[i].i].id));
    return w.failed || !w.n ? STR("") : buf_done(&w);
}

struct str cable_work_where(struct cable_book *c, uint32_t work)
{
    const uint32_t floor = c->plan->work.v[work].floor;
    const struct str place = install_place_words(c->b->arena, c->in, work);
    if (floor == NO_REF)
        return place;
    return book_text(c->b, "%.*s: %.*s", STR_ARG(install_floor_name(c->b->h, floor)), STR_ARG(place));
}

static void write_work(struct cable_book *c, uint32_t work)
{
    const struct flow_cell mark = { .text = install_work_mark(c->b->arena, c->in, work),
                                    .mark = FLOW_TICK,
                                    .is_strong = true },
                           where = cell(cable_work_where(c, work)),
                           cables = cell(cable_names(c, &c->plan->work.v[work].cables));
    const struct flow_cell hole[] = { mark, where, cell(cable_work_through(c, work)), cell(cable_work_bit(c, work)),
                                      cables },
                           board[] = { mark, where, cables };
    flow_row(c->b->flow, c->plan->work.v[work].kind == WORK_BOARD ? board : hole);
}

static bool is_of(const struct cable_book *c, uint32_t work, bool boards)
{
    return (c->plan->work.v[work].kind == WORK_BOARD) == boards && cable_work_is_new(c, work);
}

/* Holes, or boards, of which the same care is to be taken stand under it. */
static void write_kind(struct cable_book *c, bool boards)
{
    for (uint32_t i = 0; i < c->plan->work.n; i++) {
        const struct str care = install_caution(c->in, i);
        bool is_told = !is_of(c, i, boards);
        for (uint32_t k = 0; k < i && !is_told; k++)
            is_told = is_of(c, k, boards) && str_eq(install_caution(c->in, k), care);
        if (is_told)
            continue;
        const struct str head = care.n ? care : boards ? STR("boards") : STR("holes");
        flow_group(c->b->flow, "%.*s", STR_ARG(book_capital(c->b, head)));
        for (uint32_t k = i; k < c->plan->work.n; k++)
            if (is_of(c, k, boards) && str_eq(install_caution(c->in, k), care))
                write_work(c, k);
    }
}

/* Those that are still to be made: holes, then boards, as they are numbered. */
void cables_write_holes(struct cable_book *c)
{
    static const struct flow_column HOLES[] = {
        { "hole", 13.0, FLOW_LEFT },    { "where, from the face of the wall", 74.0, FLOW_LEFT },
        { "through", 33.0, FLOW_LEFT }, { "bit, mm", 11.0, FLOW_RIGHT },
        { "cables", 37.0, FLOW_LEFT },
    };
    static const struct flow_column BOARDS[] = {
        { "board", 13.0, FLOW_LEFT },
        { "where one is lifted, from the face of the wall", 92.0, FLOW_LEFT },
        { "cables", 63.0, FLOW_LEFT },
    };
    struct flow *f = c->b->flow;
    const uint32_t n_new = count_work(c, WORK_HOLE) + count_work(c, WORK_BOARD), n_old = c->plan->work.n - n_new;
    flow_section(f, "cable-holes", "Holes and boards");
    if (n_new) {
        flow_soft(
            f, "Each is made once, for all the cables that pass.  The bit leaves the cables 60 %% of the hole, so that "
               "they are pulled without force; ~ a cable in it does not tell how thick it is.  The marks are those of "
               "the drawings.");
    } else {
        flow_text(f, "Nothing %s to be drilled or lifted.", n_old ? "is left" : "has");
    }
    if (count_work(c, WORK_HOLE))
        flow_table(f, HOLES, RT_COUNT(HOLES));
    write_kind(c, false);
    if (count_work(c, WORK_BOARD))
        flow_table(f, BOARDS, RT_COUNT(BOARDS));
    write_kind(c, true);
    if (n_old)
        flow_soft(f, "%.*s of the cables that lie already %s on the drawings of the floors.",
                  STR_ARG(counted(c->b, n_old, "hole or board", "holes and boards")), n_old == 1 ? "is" : "are");
}

/* ---- cutting ---- */

static struct str part_words(struct cable_book *c, uint32_t part)
{
    const struct part *q = &c->b->h->parts.list.v[part];
    const struct str says = q->says.n ? q->says : q->id;
    return q->maker.n ? book_text(c->b, "%.*s (%.*s)", STR_ARG(says), STR_ARG(q->maker)) : says;
}

static struct str bought_words(struct cable_book *c, const struct cut_part *q)
{
    const bool is_fibre = c->b->links->v[q->cuts.v[0].cable].is_fibre;
    const double left_m = q->left_m.n ? q->left_m.v[q->left_m.n - 1] : 0.0;
    if (q->box_m == 0.0 && is_fibre)
        return STR("ordered to length, ends fitted");
    if (q->box_m == 0.0)
        return book_text(c->b, "%.0f m by the metre, %.1f m are cut from it", q->total_m + left_m, q->total_m);
    struct buf w = { .arena = c->b->arena };
    buf_printf(&w, "%.*s of %g m, %.1f m are cut; left:",
               STR_ARG(counted(c->b, q->left_m.n, "box or drum", "boxes or drums")), q->box_m, q->total_m);
    for (uint32_t i = 0; i < q->left_m.n; i++)
        buf_printf(&w, "%s %.1f m", i ? "," : "", q->left_m.v[i]);
    if (q->left_m.n > q->n_boxes_billed)
        buf_printf(&w,
                   ".  By metres alone %u would do, and so many are in the bill, but what is left of them is too short "
                   "for a whole cable",
                   q->n_boxes_billed);
    return w.failed ? STR("") : buf_done(&w);
}

/* The cables of one box (NO_REF: too long for any), as "c_bell 12.2 m, c_hub 10.3 m". */
static struct str box_words(struct cable_book *c, const struct cut_part *q, uint32_t box)
{
    struct buf w = { .arena = c->b->arena };
    for (uint32_t i = 0; i < q->cuts.n; i++)
        if (q->box_m == 0.0 || q->cuts.v[i].box == box)
            buf_printf(&w, "%s%.*s %.1f m", w.n ? ", " : "", STR_ARG(c->b->h->cables.v[q->cuts.v[i].cable].id),
                       q->cuts.v[i].length_m);
    return w.failed || !w.n ? STR("") : buf_done(&w);
}

static void write_box(struct cable_book *c, const struct cut_part *q, uint32_t box)
{
    const struct str cables = box_words(c, q, box);
    const struct str from = q->box_m == 0.0 ? STR("by length")
                            : box == NO_REF ? STR("longer than a whole one: order in one length")
                                            : book_text(c->b, "box or drum %u", box + 1);
    const struct flow_cell cells[] = { { .text = from, .mark = FLOW_TICK }, cell(cables) };
    if (cables.n)
        flow_row(c->b->flow, cells);
}

static void write_cuts(struct cable_book *c, const struct cut_part *q)
{
    flow_group(c->b->flow, "%.*s: %.*s", STR_ARG(part_words(c, q->part)), STR_ARG(bought_words(c, q)));
    if (q->box_m > 0.0) {
        for (uint32_t box = 0; box < q->left_m.n; box++)
            write_box(c, q, box);
    }
    write_box(c, q, NO_REF);
}

void cables_write_cutting(struct cable_book *c)
{
    static const struct flow_column COLUMNS[] = { { "from", 34.0, FLOW_LEFT },
                                                  { "cables, the longest first", 134.0, FLOW_LEFT } };
    struct flow *f = c->b->flow;
    if (c->n_new == c->n_cords_new)
        return;
    flow_section(f, "cable-cutting", "What to cut from what");
    if (c->cuts->parts.n) {
        flow_soft(f, "Lengths hold what is left over at both ends; no cable is joined from two.");
        flow_table(f, COLUMNS, RT_COUNT(COLUMNS));
    }
    for (uint32_t i = 0; i < c->cuts->parts.n; i++)
        write_cuts(c, &c->cuts->parts.v[i]);
    for (uint32_t i = 0; i < c->cuts->unknown.n; i++) {
        const uint32_t cable = c->cuts->unknown.v[i];
        flow_text(f, "%.*s is not among them: %s.", STR_ARG(c->b->h->cables.v[cable].id),
                  c->b->bill->cable_parts[cable] == NO_REF ? "no part at hand serves it" : "its length is not known");
    }
}

/* ---- material and tools ---- */

static bool is_material(const struct bill_line *q)
{
    return !q->owned && (q->kind == BILL_CABLE || q->kind == BILL_OUTLET);
}

/* The bill has each with a box to tick. */
static void write_material(struct cable_book *c)
{
    const struct bill *bill = c->b->bill;
    struct buf list = { .arena = c->b->arena };
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *q = &bill->lines.v[i];
        if (is_material(q))
            buf_printf(&list, "%s%.*f%s %.*s", list.n ? "; " : "", 0, q->count, str_is(q->unit, "m") ? " m" : "",
                       STR_ARG(q->what));
    }
    if (list.n && !list.failed)
        flow_text(c->b->flow, "To be bought for the cables, with boxes to tick in the bill: %.*s.",
                  STR_ARG(buf_done(&list)));
    else
        flow_text(c->b->flow, "Nothing has to be bought for the cables.");
}

/* One bit for each diameter, long enough for the thickest that is drilled with it. */
static void write_bits(struct cable_book *c)
{
    double done_mm = 0.0;
    while (true) {
        double next_mm = INFINITY, thick_m = 0.0;
        for (uint32_t i = 0; i < c->plan->work.n; i++)
            if (c->plan->work.v[i].kind == WORK_HOLE && cable_work_is_new(c, i) && c->in->work[i].diameter_mm > done_mm)
                next_mm = fmin(next_mm, c->in->work[i].diameter_mm);
        if (!isfinite(next_mm))
            return;
        struct buf marks = { .arena = c->b->arena };
        for (uint32_t i = 0; i < c->plan->work.n; i++) {
            const struct install_work *w = &c->in->work[i];
            if (c->plan->work.v[i].kind != WORK_HOLE || !cable_work_is_new(c, i) || w->diameter_mm > next_mm ||
                w->diameter_mm < next_mm)
                continue;
            thick_m = fmax(thick_m, w->thickness_m);
            const struct str mark = install_work_mark(c->b->arena, c->in, i);
            buf_printf(&marks, "%s%.*s", marks.n ? ", " : "", STR_ARG(mark));
        }
        flow_item(c->b->flow, "a bit of %.0f mm, for walls and floors up to %.0f mm: %.*s", next_mm, thick_m * 1000.0,
                  STR_ARG(buf_done(&marks)));
        done_mm = next_mm;
    }
}

static void write_tools(struct cable_book *c)
{
    struct flow *f = c->b->flow;
    const struct new_cables has = look_at_new(c);
    flow_heading(f, "Tools");
    flow_item(f, "a detector for mains, metal and pipes; a rule, a level, a pencil; labels for every end and port");
    write_bits(c);
    if (count_work(c, WORK_BOARD))
        flow_item(f, "a saw that goes no deeper than a board, a bar, screws to close boards again");
    if (has.has_void)
        flow_item(f, "rods or a draw tape, a cord to pull with, a lamp");
    if (has.has_trench)
        flow_item(f, "a spade, tape that warns of cable, and word from those whose pipes may lie there");
    if (has.has_copper)
        flow_item(f, "a stripper, the tool that presses wires into sockets, a plug tool, and a tester that shows the "
                     "order of the wires and the length");
    if (has.has_fibre)
        flow_item(f, "a source of light and a meter for it, wipes for the ends of fibre");
    if (has.has_outdoors)
        flow_item(f, "sealant and clips that stand weather and sun");
    if (count_work(c, WORK_HOLE))
        flow_item(f, "filler that stops fire, for floors, party walls and escape routes");
}

void cables_write_material(struct cable_book *c)
{
    flow_section(c->b->flow, "cable-material", "Material and tools");
    write_material(c);
    if (c->n_new > c->n_cords_new)
        write_tools(c);
}
