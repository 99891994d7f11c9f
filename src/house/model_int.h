/* model_int.h - what follows from what a file says, and whether it can be: the last steps of a reading. */
#ifndef RT_HOUSE_MODEL_INT_H
#define RT_HOUSE_MODEL_INT_H

#include "house/reader_int.h"

/* complete.c: defaults by kind, places taken from mounts and rooms, contradictions between sections. */
void house_complete(struct reader *rd, struct house *h);
/* heard.c: can a neighbour be on the channel that it is said to be on? */
void house_check_heard(struct reader *rd, const struct house *h);
/* parts_check.c */
void policy_complete(struct reader *rd, struct house *h); /* complete_policy.c: its share of that */
void parts_check(struct reader *rd, struct parts *parts);

/* cords.c: the part and the length of cables within one cabinet of which the file gives neither. */
void house_complete_cords(struct house *h);

/* geometry.c: outlines, walls, openings, places. */
void house_check_geometry(struct reader *rd, struct house *h);
/* May outlines of n and m corners still be compared?  If not, that is told. */
bool geometry_may_compare(struct reader *rd, uint32_t n, uint32_t m, struct rt_place at);

/* storeys.c: which floor lies over which, and which are one building; of a house without errors. */
void house_stack_storeys(struct reader *rd, struct house *h);

/* warnings.c: of a house without errors, what makes the answers weaker than they look. */
void house_warn(struct reader *rd, const struct house *h);
/* wall_warnings.c: walls outside of their floor, walls drawn over one another. */
void house_warn_of_walls(struct reader *rd, const struct house *h);

/* The mapping under a section's i-th id, and the value of one of its keys; NULL when not there. */
const struct yaml_node *section_item(const struct reader *rd, const char *section, uint32_t i);
const struct yaml_node *section_value(const struct reader *rd, const char *section, uint32_t i, const char *key);

#endif
