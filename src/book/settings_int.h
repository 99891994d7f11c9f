/* settings_int.h - what the makers of the sheet of settings share. */
#ifndef RT_BOOK_SETTINGS_INT_H
#define RT_BOOK_SETTINGS_INT_H

#include "book/settings.h"

struct settings_maker {
    const struct run *run;
    struct arena *arena;
    const struct house *h;
    const struct export_house *x;
    struct evaluation *ev;
    const struct port_map *map;
    const struct power_plan *power;
    const struct energy_plan *energy;
    struct rt_problems *p;
    VEC(struct settings_thing) things;
    VEC(struct settings_block) blocks;
    VEC(struct setting) list;
    bool failed; /* the arena's ceiling was reached */
};

/* ---- filling (settings.c) ---- */

/* Begins a thing, then a block of it.  One that got nothing before the next begins is left out. */
void settings_thing(struct settings_maker *m, struct str id, struct str words, struct str lead);
void settings_block(struct settings_maker *m, struct settings_block block);
#define SETTINGS_COLUMNS(array) .columns = (array), .n_columns = RT_COUNT(array)
void settings_add(struct settings_maker *m, struct str item, const char *name, struct str value, struct str reason);
/* The same of what the house file leaves open. */
void settings_add_open(struct settings_maker *m, struct str item, const char *name, struct str value,
                       struct str reason);
struct str settings_text(struct settings_maker *m, const char *fmt, ...) RT_PRINTF(2, 3);
/* A buffer in the maker's arena, and its text. */
struct buf settings_buf(struct settings_maker *m);
struct str settings_done(struct settings_maker *m, const struct buf *b);
struct str settings_address(struct settings_maker *m, enum family family, axis_value address);
struct str settings_prefix(struct settings_maker *m, struct prefix p);
/* "10.20.5.1/24". */
struct str settings_address_in(struct settings_maker *m, struct prefix p, axis_value address);

/* "Switch: barn_switch (by the tack room)": a kind, the id, and what people call it where that is something else. */
struct str settings_heading(struct settings_maker *m, const char *kind, uint32_t equipment);

/* ---- what it is for (settings_reason.c) ---- */

/* Sentences of the house's promises in quotes, the first that fits, with a count of others; empty: none fits.  kinds: bits 1 <<
 * enum promise_kind. */
struct str settings_promise(struct settings_maker *m, unsigned kinds);
struct str settings_promise_of_segment(struct settings_maker *m, unsigned kinds, uint32_t segment);
struct str settings_promise_of_band(struct settings_maker *m, unsigned kinds, enum band band);
/* Those that name the device or piece of equipment. */
struct str settings_promise_of_thing(struct settings_maker *m, unsigned kinds, struct str id);
struct str settings_promise_of_recording(struct settings_maker *m, uint32_t recording);
/* The first of the sentences that is not empty, then why: "“Music plays on the lawn”: why". */
struct str settings_because(struct settings_maker *m, struct str first, struct str second, const char *why);
struct str settings_quote(struct settings_maker *m, struct str says);
/* What people call a segment, with its VLAN: "visitors (VLAN 70)". */
struct str settings_segment(struct settings_maker *m, uint32_t segment);
bool settings_is_promised_in_outage(const struct house *h, struct str id);
const struct part *settings_part(const struct house *h, uint32_t equipment);
/* Does anything cast, so that groups have to find their way? */
bool settings_has_groups(const struct settings_maker *m);

/* ---- things, in the order of the work ---- */

void settings_before(struct settings_maker *m);   /* settings_line.c */
void settings_box(struct settings_maker *m);      /* settings_line.c */
void settings_line(struct settings_maker *m);     /* settings_line.c */
void settings_segments(struct settings_maker *m); /* settings_segments.c: VLANs, interfaces, addresses */
void settings_names(struct settings_maker *m);    /* settings_names.c: names, time, discovery */
void settings_rules(struct settings_maker *m);    /* settings_rules.c */
void settings_ways_in(struct settings_maker *m);  /* settings_ways_in.c: openings, tunnels */
void settings_ports(struct settings_maker *m, uint32_t equipment);      /* settings_ports.c */
void settings_switches(struct settings_maker *m);                       /* settings_ports.c */
void settings_air(struct settings_maker *m);                            /* settings_air.c: access points, mesh */
RT_MUST_CHECK enum rt_code settings_pictures(struct settings_maker *m); /* settings_things.c */
void settings_battery(struct settings_maker *m);                        /* settings_things.c */
void settings_devices(struct settings_maker *m);                        /* settings_things.c */

#endif
