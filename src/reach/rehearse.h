/* rehearse.h - the house rehearsed on this kernel: its network put up in namespaces, the exported rules loaded, real packets
 * sent, and every verdict of the kernel held against the proof's.  A difference is a mistake of this program.
 *
 * The clock is never set.  Rules with hours are loaded with the hours moved around now: none hold, all hold, each alone; and
 * conversations run while they begin and end. */
#ifndef RT_REACH_REHEARSE_H
#define RT_REACH_REHEARSE_H

#include "base/json.h"
#include "reach/policy.h"

/* Where kernel and proof differ. */
struct disagreement {
    struct str from, to;  /* who, in words */
    struct packet packet; /* the one that decides it, as the rules meet it */
    bool is_forged;       /* its sender was invented */
    struct str hours;     /* "no hours hold", "school_nights holds", "when school_nights begins" */
    struct str kernel, proof;
    const struct rule *rule; /* the proof's; NULL: the default, or none since no rule ever sees it */
};

/* The probes of one zone as sender. */
struct rehearsed_zone {
    uint32_t n_probes, n_through, n_refused, n_silent, n_agreed;
};

struct rehearsal {
    const struct policy *policy;
    uint32_t n_probes, n_agreed;
    uint32_t n_nodes, n_rounds;
    uint32_t n_conversations, n_cut; /* running while hours changed; how many had to end and did */
    bool refusals_counted;           /* false: this kernel limits refusals, so refused and silent are not told apart */
    struct rehearsed_zone *zones;    /* by zone; all rounds together */
    LIST(struct disagreement) disagreed;
    double seconds;
};

struct rehearse_options {
    /* Changes the ruleset before it is loaded, to see that the rehearsal notices; NULL: loaded as exported. */
    struct str (*tamper)(void *user, struct arena *a, struct str rules);
    void *user;
};

/* Errors: RT_MISSING (what the kernel or the system lacks, in words), RT_RANGE, RT_LIMIT (too large a house), RT_CANCELLED,
 * RT_NOMEM, and those of nft_export(). */
RT_MUST_CHECK enum rt_code rehearse(const struct run *run, const struct policy *policy,
                                    const struct rehearse_options *options, struct rehearsal **out,
                                    struct rt_problems *p);

/* {"probes", "agreed", "disagreed": [...], "seconds"} and more; docs/json.md. */
void rehearsal_write_json(struct json *j, const struct rehearsal *r);
void rehearsal_write_text(struct buf *out, const struct rehearsal *r);
/* The deciding packet, and the proof's rule ("no rule" for NULL), as that text has them. */
void disagreement_packet_words(struct buf *out, const struct disagreement *d);
void rehearsed_rule_words(struct buf *out, const struct rule *rule);

#endif
