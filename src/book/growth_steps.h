/* growth_steps.h - how to add a device, a camera, an access point, a person, in the house's own terms. */
#ifndef RT_BOOK_GROWTH_STEPS_H
#define RT_BOOK_GROWTH_STEPS_H

#include "book/book_int.h"

/* The first free copper port, of the switches and gateways in their order, that is not meant for the way to the gateway. */
struct growth_port {
    uint32_t equipment; /* NO_REF: none is free */
    unsigned number;
};
/* poe_class: that it must feed; 0: any will do. */
struct growth_port growth_free_port(const struct port_map *map, int poe_class);

/* A line to write under a section of the house file: `new_tablet: {kind: tablet, ...}`; empty: the house has nothing of the kind to
 * take pattern from. */
struct growth_line {
    const char *section; /* "devices" */
    struct str line;
};
struct growth_addition {
    const char *title; /* "A device on Wi-Fi" */
    struct str steps[5];
    uint32_t n_steps;
    struct growth_line lines[2];
    uint32_t n_lines;
};
enum { GROWTH_ADDITIONS = 5 };
/* Of each kind that this house can take; texts live in the book's arena. */
uint32_t growth_additions(struct book *b, struct growth_addition out[GROWTH_ADDITIONS]);

#endif
