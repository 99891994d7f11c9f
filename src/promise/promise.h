/* promise.h - is every promise of the house kept, and what shows it?
 *
 * One evaluator per kind of promise, one file and one row of the table in promise.c each.  An evaluator reads the house and
 * the evaluation (fields and what else several kinds share) and fills a result; it never prints. */
#ifndef RT_PROMISE_H
#define RT_PROMISE_H

#include "promise/evaluation.h"
#include "promise/fact.h"

enum promise_state { PROMISE_KEPT, PROMISE_BROKEN, PROMISE_UNKNOWN };

/* The witness of a promise on the drawing: the spot that decides, and the lines written beside it. */
struct witness {
    bool is_set;
    uint32_t floor;
    struct vec3 at_m; /* z above the floor */
    uint32_t bands;   /* of the radio that decides: bit 1 << enum band */
    struct str title; /* what is there: -70 dBm in this corner */
    str_list lines;   /* why, and what would keep it */
};

struct promise_result {
    const struct promise *promise;
    enum promise_state state;
    double margin;    /* how far from breaking (positive) or from being kept (negative); NaN: no figure */
    const char *unit; /* of the margin: dB, Mb/s, ...; "" when there is no figure */
    int margin_decimals;
    const char *in_place;          /* of a margin where there is no figure: "proven"; NULL */
    struct str reason;             /* one line: the deciding spot and why; for unknown the fact that is missing */
    struct fact *evidence;         /* an object */
    bool other_estimate_disagrees; /* the other end of the wall losses would turn the verdict */
    enum estimate other_estimate;
    struct witness witness;
};

struct mends; /* mend.h */

struct promise_results {
    struct promise_result *v; /* in the order of house->promises; those of the kinds asked for */
    uint32_t n;
    uint32_t n_kept, n_broken, n_unknown;
};

enum { ALL_PROMISE_KINDS = (1 << PROMISE_KIND_COUNT) - 1 };
/* Those that the rules of the gateway keep. */
enum { POLICY_PROMISE_KINDS = 1 << PROMISE_APART | 1 << PROMISE_REACH | 1 << PROMISE_HOURS };

/* Evaluates the promises of the evaluation's house that are of these kinds (bits).  Results live in run->arena.  Errors: RT_NOMEM, RT_CANCELLED, and what
 * evaluation_fields() returns. */
RT_MUST_CHECK enum rt_code promises_evaluate(struct evaluation *ev, unsigned kinds, struct promise_results *out,
                                             struct rt_problems *p);

/* The same step by step: after promises_begin() single ones may be judged by promise_of_whole(), in any order; promises_finish()
 * judges the rest, and gives all.  Errors: those of promises_evaluate(). */
RT_MUST_CHECK enum rt_code promises_begin(struct evaluation *ev, unsigned kinds, struct rt_problems *p);
RT_MUST_CHECK enum rt_code promises_finish(struct evaluation *ev, struct promise_results *out, struct rt_problems *p);
/* Does judging such a promise ask for a field of signal?  The others are there much sooner. */
bool promise_needs_field(enum promise_kind kind);

/* One of them, judged anew. */
RT_MUST_CHECK enum rt_code promise_evaluate(struct evaluation *ev, const struct promise *promise,
                                            struct promise_result *out, struct rt_problems *p);
/* The same by its index, of the whole house: as promises_evaluate() found it, else judged now and kept.  Errors: its. */
RT_MUST_CHECK enum rt_code promise_of_whole(struct evaluation *whole, uint32_t promise,
                                            const struct promise_result **out, struct rt_problems *p);

/* In a damaged house: as in the whole one. */
RT_MUST_CHECK enum rt_code promise_as_whole(struct evaluation *damaged, const struct promise *promise,
                                            struct promise_result *out, struct rt_problems *p);

/* The headings under which outputs group promises (promise_heading()), in their order on screen and paper. */
const char *const *promise_headings(size_t *n);
const char *promise_state_name(enum promise_state s);

/* One of the array `promises` of docs/json.md, and the whole array. */
void promise_write_json(struct json *j, const char *key, const struct promise_result *r);
void promises_write_list(struct json *j, const struct promise_results *r);
/* The object documented there under `check`; failures, mends NULL: without those keys. */
void promises_write_json(struct json *j, const struct evaluation *ev, const struct promise_results *r,
                         const struct failure_table *failures, const struct mends *mends);
/* The same for people: grouped under headings, `columns` wide; colour by the terminal's own sequences if asked. */
void promises_write_text(struct buf *out, const struct evaluation *ev, const struct promise_results *r,
                         unsigned columns, bool colour);

/* The rows under one heading alone, without head and foot. */
void promises_write_rows(struct buf *out, const struct promise_results *r, const char *heading, unsigned columns,
                         bool colour);

/* One of them. */
void promises_write_row(struct buf *out, const struct promise_result *r, unsigned columns, bool colour);

/* ---- evaluators, for the table ---- */
typedef enum rt_code promise_evaluator(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                                       struct rt_problems *p);
/* clang-format off */
promise_evaluator
    promise_signal,
    promise_rate,
    promise_roaming,
    promise_quiet,
    promise_exposure,
    promise_apart,
    promise_reach,
    promise_hours,
    promise_power,
    promise_cable,
    promise_outage,
    promise_cost,
    promise_line,
    promise_recording,
    promise_growth,
    promise_survive;
/* clang-format on */

#endif
