/* addressing_int.h - what the sources of the address plan share. */
#ifndef RT_REACH_ADDRESSING_INT_H
#define RT_REACH_ADDRESSING_INT_H

#include "reach/addressing.h"

/* Ascending and disjoint; touching ones are allowed. */
struct used_spans {
    VEC(struct span) spans;
};

struct planner {
    const struct run *run;
    const struct house *h;
    struct address_plan *plan;
    struct rt_problems *p;
    enum rt_code code; /* of the first error */
    uint64_t key;      /* of the house: everything that is chosen by hash rests on it */
    struct used_spans used[FAMILY_COUNT];
    VEC(struct note) notes;
};

/* Streams of the hash: what a number is chosen for. */
enum plan_stream { STREAM_BASE, STREAM_SUBNET, STREAM_GLOBAL_ID, STREAM_HOST, STREAM_MAC, STREAM_PEER };

uint64_t planner_hash(const struct planner *pl, enum plan_stream stream, struct str text);
/* Adds an error; hint may be NULL. */
void planner_fail(struct planner *pl, enum rt_code code, struct rt_place at, const char *hint, const char *fmt, ...)
    RT_PRINTF(5, 6);
void planner_no_memory(struct planner *pl);
void planner_note(struct planner *pl, struct rt_place at, const char *fmt, ...) RT_PRINTF(3, 4);
/* Text in the arena; "" when its ceiling is reached (reported). */
const char *planner_text(struct planner *pl, const char *fmt, ...) RT_PRINTF(2, 3);
const char *planner_prefix_text(struct planner *pl, struct prefix p);
const char *planner_address_text(struct planner *pl, enum family family, axis_value address);

/* A number's decimal digits read as hexadecimal: 250 -> 0x250. */
axis_value digits_as_hex(uint32_t number);

/* addressing_subnet.c: the subnets of segments and tunnels, with all errors of what the file gives. */
void plan_subnets(struct planner *pl);
bool prefix_is_common_at_home(struct prefix p);
/* addressing_device.c: reservations, ranges handed out, names, MAC addresses, peers. */
void plan_devices(struct planner *pl);
/* addressing_note.c */
void plan_notes(struct planner *pl);
/* addressing_zone.c */
void plan_interfaces(struct planner *pl);

#endif
