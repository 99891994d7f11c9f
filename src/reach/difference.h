/* difference.h - what two tables treat differently: two house files, or a house and a gateway's real rules. */
#ifndef RT_REACH_DIFFERENCE_H
#define RT_REACH_DIFFERENCE_H

#include "base/json.h"
#include "reach/proof.h"

/* Conversations of one pair of zones that one table lets begin and the other does not. */
struct changed_pair {
    uint32_t from, to; /* zones of the first proof */
    enum family family;
    bool is_opened; /* the first lets them begin; else the second */
    str_list services;
    struct proof_witness witness; /* decided by the rule of the table that lets it begin */
};

struct difference {
    const struct proof *now, *other;
    LIST(struct changed_pair) changes; /* by from, to, family */
    str_list only_now, only_other;     /* zones that the other does not have, by id */
};

/* Compares in the ordinary week.  Zones are the same when their ids are; addresses are those of the first house: devices of the
 * second are found by their ids.  Errors: those of judge_table(). */
RT_MUST_CHECK enum rt_code difference_make(struct proof *now, struct proof *other, struct difference **out,
                                           struct rt_problems *p);

void difference_write_json(struct json *j, const char *key, const struct difference *d);
void difference_write_text(struct buf *out, const struct difference *d);

#endif
