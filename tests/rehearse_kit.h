/* rehearse_kit.h - houses rehearsed in tests. */
#ifndef RT_REHEARSE_KIT_H
#define RT_REHEARSE_KIT_H

#include "reach/rehearse.h"
#include "reach_kit.h"

/* True where the kernel forbids namespaces, after saying so: then call skip().  Anything else that is missing fails. */
static inline bool rehearse_is_forbidden(const struct check_run *c, enum rt_code code)
{
    if (code != RT_MISSING || c->problems.list.n == 0 || !strstr(c->problems.list.v[0].msg, "namespace"))
        return false;
    print_message("skipped: %s\n", c->problems.list.v[0].msg);
    return true;
}

/* Prints what a person would see. */
static inline void rehearse_print(struct check_run *c, const struct rehearsal *r)
{
    struct buf out = { .arena = c->run.arena };
    rehearsal_write_text(&out, r);
    print_message("%s", out.p);
}

/* The kernel and the proof must agree to the last packet. */
static inline void rehearse_check(struct check_run *c, const struct rehearsal *r)
{
    if (r->disagreed.n)
        rehearse_print(c, r);
    CHECK("probes were sent", r->n_probes > 0);
    CHECK_NEAR("probes that disagree", r->disagreed.n, 0, 0, "probes");
    CHECK_NEAR("probes that agree", r->n_agreed, r->n_probes, 0, "probes");
}

#endif
