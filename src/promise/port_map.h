/* port_map.h - every port of the house with all that is known of it: where it leads, which segments it carries, what it feeds,
 * how fast it is, what is written on it.  Drawings and tables both read it, so that they say the same. */
#ifndef RT_PROMISE_PORT_MAP_H
#define RT_PROMISE_PORT_MAP_H

#include "reach/layer2.h"
#include "wire/end_label.h"
#include "wire/links.h"
#include "wire/power.h"

struct port_row {
    const struct l2_port *port;
    struct str far_id;             /* of what is at the other end; "internet" for the line; empty: nothing */
    struct str far_words;          /* what people call it */
    struct str far_room;           /* empty: not known */
    unsigned far_number;           /* its port; 0: it has one, or none */
    const struct wire_link *link;  /* NULL: no cable */
    const struct power_feed *feed; /* what it feeds; NULL: nothing */
    struct end_label label;        /* its own */
    struct end_label cable_end;    /* of the cable, at this end; empty: none */
};

struct port_map {
    const struct house *h;
    const struct layer2 *l2;
    struct port_numbers *numbers; /* of each of house->cables */
    LIST(struct port_row) rows;   /* as layer2.ports */
};

/* `links` and `power` are those of the same house, with the same ports as l2->picks.  Lives in run->arena.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code port_map_make(const struct run *run, const struct layer2 *l2, const struct wire_links *links,
                                         const struct power_plan *power, struct port_map **out, struct rt_problems *p);

/* What is written where. */
enum label_kind { LABEL_CABLE_END, LABEL_OUTLET, LABEL_PORT };
struct port_label {
    enum label_kind kind;
    struct str at;   /* id of the thing it is at */
    struct str room; /* empty: not known */
    struct end_label words;
};
typedef LIST(struct port_label) port_labels;
/* First of the cables' ends, then of the outlets, then of the ports.  Lives in the arena.  False: its ceiling. */
RT_MUST_CHECK bool port_map_labels(struct arena *a, const struct port_map *map, port_labels *out);

/* Tables for a spreadsheet (RFC 4180): one row for each port; one for each label, in the order of port_map_labels(). */
void port_map_write_csv(struct buf *out, const struct port_map *map);
void labels_write_csv(struct buf *out, const struct port_map *map);

/* "1", "2.5": Gb/s as printed on a port. */
struct str port_speed_words(struct arena *a, double mbps);

#endif
