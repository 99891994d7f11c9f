/* rule_words.h - what a rule of a table matches, as text: plainly for tables, and shorter for people. */
#ifndef RT_REACH_RULE_WORDS_H
#define RT_REACH_RULE_WORDS_H

#include "reach/policy.h"

const char *rule_action_name(enum action action); /* "accept" */
/* "new reply": the states a rule matches; nothing where it speaks of none. */
void rule_put_states(struct buf *out, const struct rule *r);

/* The values of an axis as ids and numbers, ranges with a dash, in rising order: "home things", "0.0.0.1-10.44.9.255"; nothing where
 * the rule does not speak of it. */
void rule_put_axis(struct buf *out, const struct address_plan *plan, const struct rule *r, uint32_t axis);

/* The same as one would type it: what it matches or, where that is shorter, "all but" what it does not; whole blocks of addresses as
 * prefixes; MAC addresses that are not known yet as "that of doorbell".  False: the rule does not speak of the axis.  *failed as in packet.h. */
bool rule_put_axis_words(struct buf *out, const struct policy *policy, const struct rule *r, uint32_t axis,
                         bool *failed);

/* Does the rule name the MAC address of a device that is not known yet, so that a stand-in is in its place? */
bool rule_has_stand_in(struct arena *a, const struct address_plan *plan, const struct rule *r, bool *failed);

#endif
