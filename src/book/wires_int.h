/* wires_int.h - what the chapters about cables, ports, load and money share. */
#ifndef RT_BOOK_WIRES_INT_H
#define RT_BOOK_WIRES_INT_H

#include "book/book_int.h"
#include "promise/wire_words.h"
#include "wire/cable_tree.h"
#include "wire/cutting.h"
#include "wire/install.h"

/* ---- cells ---- */

static inline struct flow_cell cell(struct str text) { return (struct flow_cell){ .text = text }; }
static inline struct flow_cell cell_of(const char *text) { return (struct flow_cell){ .text = str_from(text) }; }
static inline struct flow_cell cell_strong(struct str text)
{
    return (struct flow_cell){ .text = text, .is_strong = true };
}
static inline struct flow_cell cell_soft(struct str text)
{
    return (struct flow_cell){ .text = text, .is_soft = true };
}
static inline struct flow_cell cell_tick(void) { return (struct flow_cell){ .mark = FLOW_TICK }; }

/* ---- the cables ---- */

struct cable_book {
    struct book *b;
    const struct cable_plan *plan;
    const struct port_numbers *numbers; /* of each of house->cables */
    struct install *in;
    struct cut_plan *cuts;
    const struct cable_tree *tree;
    uint32_t *order; /* of house->cables: new ones by phase, then those that lie already */
    uint32_t n_new, n_cords_new;
};

/* Everything but the cuts.  b->ev's cables and bill, b->links, b->bill and b->draw.numbers must be there. */
RT_MUST_CHECK enum rt_code cable_book_begin(struct cable_book *c, struct book *b, struct rt_problems *p);

/* ---- words about one cable ---- */

/* The group that the i-th in order stands under; empty: there is but one. */
struct str cable_group_words(struct cable_book *c, uint32_t i);
struct end_label cable_end_label(struct cable_book *c, uint32_t cable, bool at_from);
/* Where it ends: thing and port, room, height, socket, cord. */
struct str cable_end_place(struct cable_book *c, uint32_t cable, bool at_from);
struct str cable_feeds_words(struct cable_book *c, uint32_t cable);
struct str cable_kind_words(struct cable_book *c, uint32_t cable);
struct str cable_carries_words(struct cable_book *c, uint32_t cable);
/* Its way, a step a line, and what is to be noted; empty: a cord. */
struct str cable_way_words(struct cable_book *c, uint32_t cable);

/* ---- the order of work, holes and boards (cables_work.c) ---- */

/* What is done i-th, and what to mind; false: that was all. */
bool cables_step(struct cable_book *c, uint32_t i, struct str *what, struct str *minds);
bool cable_work_is_new(const struct cable_book *c, uint32_t work);
struct str cable_work_where(struct cable_book *c, uint32_t work);
struct str cable_work_through(struct cable_book *c, uint32_t work);
struct str cable_work_bit(struct cable_book *c, uint32_t work);

/* cables_work.c: what the hands do, in order; holes and boards; cutting; material and tools. */
void cables_write_order(struct cable_book *c);
void cables_write_holes(struct cable_book *c);
void cables_write_cutting(struct cable_book *c);
void cables_write_material(struct cable_book *c);

bool cable_is_cord(const struct house *h, uint32_t cable);
/* "3", "three" are both too fine: "1 cable", "18 cables". */
struct str counted(struct book *b, uint32_t n, const char *one, const char *many);

#endif
