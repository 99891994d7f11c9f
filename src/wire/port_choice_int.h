/* port_choice_int.h - the integer program of port_choice.h while it is made. */
#ifndef RT_WIRE_PORT_CHOICE_INT_H
#define RT_WIRE_PORT_CHOICE_INT_H

#include "wire/integer_program.h"
#include "wire/port_choice.h"

/* Ports of one part at one site that nothing tells apart, those that are given left out. */
struct port_class {
    uint32_t group; /* the first of the groups that are alike */
    unsigned *numbers, n;
    uint32_t row_sum, row_room; /* plugs in it = numbers laid open; plugs in it <= n if the part stands there */
    uint32_t first_column;      /* of the numbers: in use or not */
};

/* One part at one site. */
struct choice_option {
    uint32_t site, part, column;
    LIST(struct port_class) classes;
    uint32_t row_budget; /* CHOICE_NONE: no limit */
};

/* One way to seat a plug. */
struct choice_cell {
    uint32_t plug, join, site, option, group, class; /* class CHOICE_NONE: the port is given */
    uint32_t want, column;
    unsigned port; /* given, or 0 */
    bool is_fed;
    unsigned lacks;
};

struct choice_maker {
    const struct run *run;
    struct arena *a;
    const struct choice_problem *q;
    const bool *is_active; /* of the plugs */
    struct program program;
    uint32_t *first_option; /* of each site, and one more */
    struct choice_option *options;
    VEC(struct choice_cell) cells;
    uint32_t *first_without; /* of each plug: a column for each of its wants: it has no port */
    uint32_t *short_column;  /* of each site: spare ports too few; CHOICE_NONE */
    uint32_t *over_column;   /* of each shelf */
    bool failed;
};

static inline uint32_t choice_n_wants(const struct choice_problem *q, const struct choice_plug *plug)
{
    return plug->follows == CHOICE_NONE ? 1 : q->sites[plug->follows].n_parts;
}
/* Copper ports that are neither closed nor for the way up: what is left of them is spare. */
static inline bool choice_is_plain(const struct choice_group *g)
{
    return (g->media & CHOICE_COPPER) && !g->is_up && !g->is_closed;
}

/* port_choice_make.c: the rows and columns; false: the arena's ceiling. */
bool choice_make(struct choice_maker *m);
/* What a column counts in one of the sums; one for each column. */
void choice_costs(const struct choice_maker *m, int sum, double *cost);

#endif
