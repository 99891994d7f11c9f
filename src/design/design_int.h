/* design_int.h - what the sources of design.h share. */
#ifndef RT_DESIGN_INT_H
#define RT_DESIGN_INT_H

#include "design/design.h"

/* A whole house that came out of one round, judged. */
struct trial {
    struct placing placing;
    struct placing_answer answer;
    bool *given_up;
    struct fitted fitted;
    struct tuning_result tuned;
    struct evaluation *ev;
    struct promise_results results;
    int64_t total;
    double lost; /* sum of the worths of promises that could be kept and are not */
};

/* A placing that nothing keeps whole, and what was given up before it. */
struct design_clash {
    struct placing placing;
    bool *given_up;
    bool without_budget; /* it holds without the budget */
};

struct designer {
    const struct run *run;
    struct run calm; /* the same without a cancel: to finish what is there */
    const struct design_space *space;
    const struct needs *needs;
    const struct house *h; /* space->asked */
    struct tighter *tighter;
    bool on_own_channels;   /* rates count on no better channel than each radio has by itself */
    bool *given_up;         /* [promises.n]: the design does without */
    bool *too_hard;         /* of those: places were found, but the whole house did not keep it */
    double *worth;          /* [promises.n] */
    struct placing placing; /* as of the last needs_make() */
    struct placing_answer answer;
    int64_t bound; /* of the first placing, before anything was asked for beyond what is promised */
    double ends_at_s, began_at_s, first_s;
    struct trial best;
    bool has_best;
    unsigned rounds;
    bool is_stopped;
    VEC(struct design_clash) clashes; /* told when a house is found, with the time that is left */
    VEC(struct design_loss) losses;
    struct rt_problems unheard;
};

/* Seconds on a clock that only goes forward. */
double design_clock_s(void);
/* What is left of the time that was asked for, at least `least_s`. */
double design_left_s(const struct designer *d, double least_s);

/* How much the household is taken to care: promises earlier in the file more than later ones. */
void design_set_worths(const struct house *h, double *worth);

/* Fits, tunes and judges d->answer.  Errors: those of fit_house(), house_tune(), the evaluation. */
RT_MUST_CHECK enum rt_code design_try(struct designer *d, struct trial *t, struct rt_problems *p);
/* Is it a promise of the placing that the whole house did not keep? */
bool design_is_lacking(const struct designer *d, const struct promise_result *r, uint32_t promise);
/* Asks for what was lacking, and a little; false: there is nothing more to ask for. */
bool design_tighten(struct tighter *t, const struct promise_result *r);
/* Judges t->fitted.house as it is set.  Errors: those of the evaluation. */
RT_MUST_CHECK enum rt_code design_judge(struct designer *d, struct trial *t, struct rt_problems *p);
/* Keeps more, or as much for less. */
bool design_is_better(const struct trial *a, const struct trial *b);

/* Where the air is fuller than promised: radios on full channels off, as long as all else holds and no device is left without one.
 * Errors: those of the evaluation. */
RT_MUST_CHECK enum rt_code design_quieten(struct designer *d, struct rt_problems *p);
/* A larger battery, if one is what runs out first when the devices multiply, and the house keeps more with it.  Errors: those of
 * design_try(). */
RT_MUST_CHECK enum rt_code design_reserve_battery(struct designer *d, struct rt_problems *p);
/* A house that is cheaper because rates hold on other channels than those that the first counted on.  Errors: as above. */
RT_MUST_CHECK enum rt_code design_find_cheaper(struct designer *d, struct rt_problems *p);
/* Other places for the same price, at which more holds than was promised, if there are such and there is time to look.  Errors: as
 * above, and those of placing_solve(). */
RT_MUST_CHECK enum rt_code design_find_reserve(struct designer *d, struct rt_problems *p);
/* Finds the smallest set of promises that clash, and adds to d->losses why they cannot all be kept, in words, with what it would take.
 * Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code design_explain(struct designer *d, const struct design_clash *clash, struct rt_problems *p);
/* If a promise has rooms that are kept free of equipment, and it could be kept if they were not: adds that to *out, with what it would
 * take.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code design_ask_rooms(struct designer *d, uint32_t promise, struct buf *out,
                                            struct rt_problems *p);
/* The dearest promises.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code design_price_promises(struct designer *d, struct design *out, struct rt_problems *p);

#endif
