/* judge_int.h - a table laid out as one program, and the descent through it; shared by judging and finding.
 *
 * Chains are written out where they are called, so that control only moves forward: a jump that fits goes on with the next
 * step, one that does not skips the called chain; a return that fits skips the rest of its chain.  A list is what is left of
 * the program for the packets of one part of the axes: steps that cannot fit there are gone, and so is all that no packet
 * gets to.  Equal lists at the same axis have the same outcome and are worked out once. */
#ifndef RT_REACH_JUDGE_INT_H
#define RT_REACH_JUDGE_INT_H

#include "reach/space_int.h"

enum step_kind {
    STEP_DECIDE,
    STEP_JUMP,   /* fits: the next step; else: skip */
    STEP_RETURN, /* fits: skip; else: the next step */
    STEP_COUNT   /* decides nothing */
};

/* A rule as a step of the program; a rule of a chain that is called twice is one step in two places. */
struct step {
    const struct rule *rule; /* NULL: the end of a chain, its policy */
    LIST(struct term) terms; /* hours included */
    uint64_t axes;           /* those of the terms */
    enum step_kind kind;
    packet_set end; /* of STEP_DECIDE */
    uint32_t n_places;
    bool is_repeated; /* in more than one place */
};

struct list {
    uint32_t n;
    bool has_skips;
    uint32_t *step;
    uint32_t *skip; /* how many places on; only where has_skips */
};

/* What is found out on the way, by step (findings only). */
struct marks {
    bool *hit;    /* a packet gets there and fits */
    bool *needed; /* without it a packet would fare otherwise */
};

struct known;

struct judge {
    struct space *space;
    const struct table *table;
    const struct week_kind *week;
    struct rt_problems *problems;
    struct arena *keep;  /* until the judging is over */
    struct arena *stack; /* what a descent needs until it comes back */
    VEC(struct step) steps;
    VEC(uint32_t) places, skips; /* the program */
    uint32_t *step_of_rule;      /* by number; NO_REF: none */
    uint32_t step_of_policy[ACTION_CONTINUE + 1];
    uint32_t n_numbers;
    bool *is_open; /* by chain: it is being written out */
    bool keeps_counting_rules;
    struct marks marks; /* arrays are NULL unless findings are asked for */
    struct known *known;
    uint32_t n_known, n_known_max;
};

/* Lays out the table.  Errors: RT_NOMEM, RT_LIMIT.  Close it in any case. */
RT_MUST_CHECK enum rt_code judge_open(struct judge *j, struct space *s, const struct table *t,
                                      const struct week_kind *week, bool for_findings, struct rt_problems *p);
void judge_close(struct judge *j);
/* The rule may fit packets of the space, at this kind of week. */
bool judge_asks(const struct judge *j, const struct rule *r);
/* The diagram that ends in decisions. */
packet_set judged_decisions(const struct judgement *j);
/* The decisions of the program. */
packet_set judge_run(struct judge *j);
/* Of a list whose steps are n, each ended by its own `end`; the last one fits everything. */
packet_set judge_list(struct judge *j, const struct list *l);

#endif
