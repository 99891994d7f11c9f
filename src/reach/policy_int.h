/* policy_int.h - the compiler of statements, shared by the policy_*.c sources. */
#ifndef RT_REACH_POLICY_INT_H
#define RT_REACH_POLICY_INT_H

#include "reach/policy.h"

enum { IPV4 = 1u << FAMILY_IPV4, IPV6 = 1u << FAMILY_IPV6, BOTH_FAMILIES = IPV4 | IPV6 };

/* A match that holds for some families only. */
struct piece {
    unsigned families;
    struct match match;
};
typedef LIST(struct piece) piece_list;
typedef VEC(struct piece) piece_vec;

/* A new piece at the end; once memory is out *failed is set and `nowhere` is there to be written to. */
static inline struct piece *piece_add(struct arena *a, piece_vec *to, unsigned families, struct piece *nowhere,
                                      bool *failed)
{
    if (VEC_PUSH(a, to, ((struct piece){ .families = families })))
        return &to->v[to->n - 1];
    *failed = true;
    *nowhere = (struct piece){ 0 };
    return nowhere;
}

struct compiler {
    struct arena *a;
    const struct house *h;
    const struct address_plan *plan;
    struct policy *policy;
    struct rt_problems *p;
    enum rt_code code;   /* of the first error */
    bool failed;         /* the arena's ceiling was reached */
    struct rule nowhere; /* written to once it was */
    VEC(struct rule) chains[CHAIN_COUNT];
    VEC(struct stated) stated[CHAIN_COUNT]; /* `rule`: an index in the chain, until the rules have numbers */
    VEC(struct note) notes;
    VEC(struct watched_name) names;
    VEC(struct translation) translations;
    VEC(struct mark) marks;
    uint32_t *mark_of; /* by device: index + 1 into marks, or 0 */
};

/* ---- policy.c ---- */

/* Adds a rule to a chain; the caller narrows its match and names what it stands for.  Never NULL: when memory is out, a rule
 * that goes nowhere. */
struct rule *policy_rule(struct compiler *c, enum policy_chain chain, unsigned families, enum action action,
                         const char *fmt, ...) RT_PRINTF(5, 6);
void policy_from(struct rule *r, enum origin origin, uint32_t which, struct rt_place at);
void policy_note(struct compiler *c, struct rt_place at, const char *fmt, ...) RT_PRINTF(3, 4);
/* Adds an error and remembers its code. */
void policy_fail(struct compiler *c, enum rt_code code, struct rt_place at, const char *hint, const char *fmt, ...)
    RT_PRINTF(5, 6);
/* Narrow a match of the compiler's to one value, a range, a list. */
void policy_is(struct compiler *c, struct match *m, uint32_t axis, axis_value value);
void policy_within(struct compiler *c, struct match *m, uint32_t axis, axis_value lo, axis_value hi);
void policy_in(struct compiler *c, struct match *m, uint32_t axis, span_list in);
/* Adds lo..hi to a list. */
void policy_add_span(struct compiler *c, span_list *to, axis_value lo, axis_value hi);
/* "apple, pear and plum": adds the i-th of n words. */
void policy_list_word(struct buf *b, uint32_t i, uint32_t n, struct str word);

uint32_t policy_n_zones(const struct house *h);
static inline uint32_t zone_of_segment(uint32_t segment) { return ZONE_SEGMENT + segment; }
static inline uint32_t zone_of_tunnel(const struct house *h, uint32_t i) { return ZONE_SEGMENT + h->segments.n + i; }
static inline bool is_segment_zone(const struct house *h, uint32_t z)
{
    return z >= ZONE_SEGMENT && z < ZONE_SEGMENT + h->segments.n;
}

/* ---- endpoint.c ---- */

/* What a list of endpoints comes to. */
struct ends {
    bool *zones;    /* whole zones */
    bool *devices;  /* devices, beside those of whole zones */
    bool *people;   /* whose tunnel addresses count */
    str_list names; /* internet names, beside the internet as a whole */
};
void ends_gather(struct arena *a, const struct house *h, const struct endpoint *v, uint32_t n, struct ends *out,
                 bool *failed);
span_list zones_spans(struct arena *a, const bool *zones, uint32_t n, bool *failed);
/* As parts whose union they are; internet names are left to the caller. */
piece_list ends_senders(struct arena *a, const struct house *h, const struct address_plan *plan, const struct ends *e,
                        bool *failed);
piece_list ends_receivers(struct arena *a, const struct house *h, const struct address_plan *plan, const struct ends *e,
                          bool *failed);

/* ---- service_match.c ---- */

/* The packets of some services, merged into few parts.  local: with flows that cannot leave a segment, or without. */
piece_list services_pieces(struct arena *a, const struct house *h, const str_list *services, bool local, bool *failed);
/* Whether a service has a flow that cannot leave its segment. */
bool service_is_local(const struct house *h, struct str service);

/* ---- policy_border.c, policy_gateway.c ---- */

/* Rules that stand before everything else, in CHAIN_START. */
void policy_gate(struct compiler *c);
/* What the gateway does for its segments; the tunnels' port. */
void policy_own_services(struct compiler *c);
/* What never crosses a router or the border, in CHAIN_CROSSING. */
void policy_crossings(struct compiler *c);

/* ---- policy_discovery.c, policy_opening.c ---- */

void policy_relays(struct compiler *c);
void policy_openings(struct compiler *c);

/* ---- policy_statement.c ---- */

void policy_statements(struct compiler *c);

/* "'kids_night'", or "statement 3". */
struct str policy_statement_name(struct compiler *c, uint32_t i);

/* ---- policy_conflict.c, policy_join.c ---- */

/* Refuses statements that can never decide anything, and warns of superfluous ones. */
void policy_conflicts(struct compiler *c, const struct run *run);
/* Joins rules of statements. */
void policy_join(struct compiler *c);
/* Have they packets in common? */
bool policy_overlap(struct compiler *c, const struct rule *x, const struct rule *y);

/* ---- policy_note.c ---- */

/* How strong the blocking of internet names is, of a finished table. */
void policy_blocked_names(struct compiler *c);

/* What statement i rests on; name: how messages call it. */
void policy_statement_notes(struct compiler *c, uint32_t i, struct str name, const struct ends *from,
                            const struct ends *to);
/* Warns of a statement that made no rule. */
void policy_statement_empty(struct compiler *c, uint32_t i, struct str name, bool within_segment);

/* ---- policy_mirror.c ---- */

/* The answers that hours cut; the rest pass. */
void policy_answers(struct compiler *c);

#endif
