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

/* What a descent may end in: at most three different sets. */
enum { ENDS = 3 };

/* A rule as a step of the program; a rule of a chain that is called twice is one step in two places. */
struct step {
    const struct rule *rule; /* NULL: the end of a chain, its policy */
    LIST(struct term) terms; /* hours included */
    uint32_t **cuts; /* by term: for each span where it begins and where the next value behind it is, as bounds */
    uint64_t axes;   /* those of the terms */
    enum step_kind kind;
    enum action action; /* of STEP_DECIDE */
    uint32_t end;       /* of STEP_DECIDE: which of the ends */
    uint32_t n_places;
};

struct list {
    uint32_t n;
    bool has_skips;
    uint64_t axes; /* that the steps still ask about */
    uint32_t *step;
    uint32_t *skip; /* how many places on; only where has_skips */
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
    bool has_skips;
    uint32_t *step_of_rule; /* by number; NO_REF: none */
    uint32_t step_of_policy[ACTION_CONTINUE + 1];
    uint32_t n_numbers;
    bool *is_open;        /* by chain: it is being written out */
    bool keeps_all_rules; /* also those that decide nothing */

    /* set up for a descent */
    packet_set ends[ENDS];
    axis_value *bounds[64]; /* by axis: where spans begin, ascending; NULL: no step speaks of it */
    uint32_t *like[64];     /* by axis and step: a step that from the next axis on fits the same and ends the same */
    uint32_t plain[ENDS];   /* steps without terms */
    struct known *known;
    uint32_t n_known, n_known_max;

    /* Instead of a diagram the descent may look for one rule: does any packet get there and fit, and does any fare otherwise
     * without it? */
    uint32_t sought; /* step; NO_REF: none */
    bool is_hit, is_needed;
};

/* The program, empty; add steps and places or lay out a table.  Close it in any case. */
bool judge_begin(struct judge *j, struct space *s);
/* Lays out the table.  Errors: RT_NOMEM, RT_LIMIT.  Close it in any case. */
RT_MUST_CHECK enum rt_code judge_open(struct judge *j, struct space *s, const struct table *t,
                                      const struct week_kind *week, bool keeps_all_rules, struct rt_problems *p);
void judge_close(struct judge *j);
/* The rule may fit packets of the space, at this kind of week. */
bool judge_asks(const struct judge *j, const struct rule *r);

/* Ranks the values at which spans begin, and finds steps that are alike.  Once, when the steps' ends are set. */
bool judge_prepare(struct judge *j);
/* The diagram of the program's ends. */
packet_set judge_run(struct judge *j);
/* Sets is_hit and is_needed of the step, by way of a list of places that hold all which packets of it may come by. */
void judge_seek(struct judge *j, uint32_t step, const struct list *l);

/* The list for a piece of an axis (judge_list.c). */
struct sweep {
    const struct list *list;
    uint32_t axis, n_words;
    uint64_t *fits;       /* places whose step has no term on the axis, or the piece lies in its spans */
    uint64_t *certain;    /* places whose step has no term behind the axis */
    uint64_t *ends[ENDS]; /* places by the end of their step */
    uint64_t *jumps;      /* places of jumps: one that does not fit moves on too */
    uint64_t *reached[2]; /* by a skip; [1]: only if the rule sought were taken out */
    uint32_t *kept, *rank;
    uint64_t *axes; /* by place: that its step asks about behind this one */
    uint32_t *like; /* by place: the step that stands for it from here on; not while looking for a rule */
    uint32_t last;  /* the list of the last piece depends on no place behind this one */
};
bool sweep_begin(struct judge *j, const struct list *l, uint32_t axis, struct sweep *w);
/* Its steps are w->kept or in the stack arena: good until the next piece. */
struct list sweep_list(struct judge *j, struct sweep *w);

static inline uint64_t axes_behind(uint64_t axes, uint32_t axis)
{
    return axis >= 63 ? 0 : axes >> (axis + 1) << (axis + 1);
}
static inline void bit_set(uint64_t *bits, uint32_t i) { bits[i / 64] |= (uint64_t)1 << i % 64; }
static inline bool bit_of(const uint64_t *bits, uint32_t i) { return bits[i / 64] >> i % 64 & 1; }

#endif
