/* ask.h - may A start this with B, at this time?  Which rule decides, and which way does it go? */
#ifndef RT_REACH_ASK_H
#define RT_REACH_ASK_H

#include "base/json.h"
#include "reach/layer2.h"
#include "reach/proof.h"

enum ask_verdict {
    ASK_ALLOWED,
    ASK_SOME,      /* this may be begun and that not: `reason` has an example of either; without services only */
    ASK_REFUSED,   /* by a rule, for want of one, or by client isolation */
    ASK_UNFILTERED /* one segment: the gateway never sees it */
};

/* One thing on the way. */
struct ask_step {
    bool is_side; /* a side that is no device: a segment, the internet ...; no kind then */
    enum l2_step_kind kind;
    struct str id; /* in the house file; empty: none */
    struct str says;
    bool decides; /* the rules are asked here */
};

struct answer {
    enum ask_verdict verdict;
    const struct rule *rule;   /* that decides; of ASK_SOME, that lets something through; NULL: none */
    struct str reason;         /* a sentence */
    struct str when;           /* "Tuesday 21:05", by the house's clock */
    LIST(struct ask_step) way; /* from A to B; up to where it ends */
    const struct proof *proof; /* of that moment */
};

struct asked {
    struct endpoint from, to;
    str_list services; /* empty: anything */
    int64_t at_s;      /* UNIX time */
};

/* For a service, one packet that is refused decides where several devices or packets are meant, answers included.  For anything,
 * it is asked what may be begun, as in the matrix of `prove`: all, some or nothing.  `proof` is one of the house (its table is judged again
 * for the moment asked about).  Errors: those of judge_table(), RT_UNKNOWN_REF when a side is not on the network. */
RT_MUST_CHECK enum rt_code ask(const struct run *run, const struct proof *proof, const struct layer2 *l2,
                               const struct asked *q, struct answer *out, struct rt_problems *p);

/* The object documented in docs/json.md under `ask`, and the same for people. */
void answer_write_json(struct json *j, const struct answer *a);
void answer_write_text(struct buf *out, const struct answer *a);

#endif
