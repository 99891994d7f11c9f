/* findings_int.h - the rules of a table as sets that are compared pair by pair, without comparing every pair. */
#ifndef RT_REACH_FINDINGS_INT_H
#define RT_REACH_FINDINGS_INT_H

#include "reach/judge_int.h"

/* A rule that packets may come by, with those that would if no rule before decided. */
struct subject {
    const struct rule *rule;
    uint32_t step;
    struct match hull; /* its values on each axis */
    bool is_box;       /* it has all packets of the hull */
    bool is_empty, decides;
    bool has_set;
    packet_set set;
};

/* What two rules are to each other, as bits by subject for each subject of a block: it shares packets with, lies in, holds.
 * Exact between boxes; else of the hulls. */
struct relations {
    uint32_t first, n; /* subjects of the block */
    uint32_t n_words;
    uint64_t *share, *within, *holds; /* [n][n_words] */
};

struct seeker {
    struct judge judge;
    packet_set *arrives;          /* by place: packets that get there if no rule decides */
    packet_set *arrives_at;       /* by step: at one of its places */
    VEC(struct subject) subjects; /* in the order of their first places */
    struct relations block;
    uint64_t *does[3];    /* by action: subjects that have packets and decide so, as bits */
    uint64_t *no_box;     /* subjects that are none */
    uint32_t *subject_of; /* by step; NO_REF: none */
    uint32_t *near_at;    /* by place: where in near */
    struct list near;     /* what the packets of a rule may come by */
    VEC(struct finding) found;
    finding_list *out;
};

/* The subjects, their hulls and sets.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code subjects_find(struct seeker *s, struct rt_problems *p);
packet_set subject_set(struct seeker *s, uint32_t i);
/* Makes s->block for n subjects from first on, in the judge's stack arena. */
bool relations_make(struct seeker *s, uint32_t first, uint32_t n);

#endif
