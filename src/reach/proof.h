/* proof.h - what a table lets through, asked of every packet at once: IPv4 and IPv6, every minute of every kind of week.
 *
 * The table is the policy's own or a foreign one; the questions are the house's: who, with whom, for which services, when. */
#ifndef RT_REACH_PROOF_H
#define RT_REACH_PROOF_H

#include "reach/policy.h"
#include "reach/space.h"

struct proof {
    const struct run *run;
    const struct policy *policy; /* and with it the house and its address plan */
    const struct calendar *calendar;
    const struct table *table;
    const struct table *const
        *by_week; /* a foreign table's clock is UTC: one for each kind of week; NULL: one for all */
    bool is_foreign, has_hours;
    bool tells_no_time; /* words leave the minute out: the calendar is of one moment */
    struct space *spaces[FAMILY_COUNT];
    struct judgement **judged[FAMILY_COUNT]; /* by kind of week; NULL until asked for */
    packet_set crossing[FAMILY_COUNT];       /* packets that meet the gateway: they leave the zone they come from */
    packet_set honest
        [FAMILY_COUNT]; /* of them, those whose addresses belong to the zones, and whose senders may be there; to the gateway: its address there */
    packet_set called[FAMILY_COUNT]; /* likewise, to everybody on the link, the gateway among them */
    packet_set
        basic[FAMILY_COUNT]; /* what every segment has of its gateway: addresses, names, time, echo, neighbours */
};

/* `table` NULL: the policy's own; else set proof->by_week too if it knows the clock.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code proof_begin(const struct run *run, const struct policy *policy,
                                       const struct calendar *calendar, const struct table *table, struct proof **out,
                                       struct rt_problems *p);

/* What the table does in a kind of week (index into calendar->kinds).  Errors: those of judge_table(). */
RT_MUST_CHECK enum rt_code proof_judge(struct proof *proof, enum family family, uint32_t week,
                                       const struct judgement **out, struct rt_problems *p);

struct question {
    endpoint_list from, to;
    str_list services; /* empty: every packet */
    struct ref hours;  /* NO_REF: always */
};

/* A packet that shows something, and the rule that decides it. */
struct proof_witness {
    bool is_found;
    enum family family;
    uint32_t week; /* index into calendar->kinds */
    struct packet packet;
    const struct rule *rule; /* NULL: nothing allowed it, so it was refused */
    enum action action;
};

/* All three look at packets that meet the gateway; who shares a segment talks without it (layer2.h).
 *
 * Looks for a packet by which somebody of q->from may start a conversation with somebody of q->to, at q->hours, other than for
 * q->services; what every segment has of its gateway does not count.  Sources may lie about their addresses.  Errors: those of judge_table(). */
RT_MUST_CHECK enum rt_code proof_find_start(struct proof *proof, const struct question *q, struct proof_witness *out,
                                            struct rt_problems *p);
/* Looks for a packet that somebody of q->from needs to use q->services (empty: anything) of somebody of q->to at q->hours, or
 * for an answer to one, that is refused.  Honest addresses only; a family counts where both ends have addresses of it. */
RT_MUST_CHECK enum rt_code proof_find_refusal(struct proof *proof, const struct question *q, struct proof_witness *out,
                                              struct rt_problems *p);
/* Looks for one of those packets that is let through: the rule that allows what the call above finds nothing against. */
RT_MUST_CHECK enum rt_code proof_find_allowed(struct proof *proof, const struct question *q, struct proof_witness *out,
                                              struct rt_problems *p);
/* What of it honest stations may begin: all, some or nothing, as in a cell of the matrix, of whoever is meant on either side. */
struct proof_share {
    struct proof_witness let, refused;       /* an example of either; is_found: there is one */
    str_list services_let, services_refused; /* by name; "everything": there is no service that only the other has */
};
/* Looks only at packets that begin a conversation of q->from with q->to at q->hours, for q->services (empty: anything).  Errors:
 * those of judge_table(). */
RT_MUST_CHECK enum rt_code proof_find_share(struct proof *proof, const struct question *q, struct proof_share *out,
                                            struct rt_problems *p);
/* Looks for any packet that still passes between them at q->hours, in either direction, of a conversation that runs too. */
RT_MUST_CHECK enum rt_code proof_find_passing(struct proof *proof, const struct question *q, struct proof_witness *out,
                                              struct rt_problems *p);

/* Does anything of it exist: a device, an address?  False for a segment without subnets of that family and so on. */
bool proof_has(struct proof *proof, const endpoint_list *ends, enum family family);

/* ---- in words (proof_words.c) ---- */

/* "Tuesday 21:05: tom_tablet opens TCP 443 (https) to 198.51.100.7 on the internet". */
struct str proof_packet_words(const struct proof *proof, const struct proof_witness *w);
/* "rule 41, line 212 (`children_out`)"; "no statement allows it". */
struct str proof_rule_words(const struct proof *proof, const struct rule *rule);
/* Both: "tom_tablet opens TCP 443 (https) to ...: refused by rule 41, line 212: ...". */
struct str proof_decision_words(const struct proof *proof, const struct proof_witness *w);
/* The device that sends the witness's packet, or that it is for; NO_REF: none of the file. */
uint32_t proof_sender(const struct proof *proof, const struct proof_witness *w);
uint32_t proof_receiver(const struct proof *proof, const struct proof_witness *w);
/* "https", "TCP 8443", "ping" ... of one packet. */
struct str packet_service_words(struct arena *a, const struct house *h, const struct packet *p);
/* The services that a set of packets asks for, by name where the spans are a service's own; "everything" if it asks for all that
 * `all` does. */
str_list set_service_words(struct arena *a, struct space *s, const struct house *h, packet_set set, packet_set all,
                           bool *failed);

#endif
