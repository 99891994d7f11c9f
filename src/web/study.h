/* study.h - what is computed of one revision of a house: bytes that never change, and what the engine made of them.
 *
 * A study has lanes, each with an evaluation and a lock of its own: who asks for the drawing waits for nobody who asks for the
 * promises, and two who ask the same share one computation.  It is held by whoever asks, and freed with the last of them; a study
 * that was given up (the house was changed) stops what it computes. */
#ifndef RT_WEB_STUDY_H
#define RT_WEB_STUDY_H

#include "base/run.h"
#include "promise/promise.h"

enum study_lane {
    LANE_HOUSE,   /* quick: the drawing, cables, ports, a spot, who may talk */
    LANE_FIELD,   /* whole fields */
    LANE_PREVIEW, /* quick fields */
    LANE_JUDGE,   /* promises and what rests on them */
    LANE_PAPER,   /* books, drawings */
    STUDY_LANES
};

struct study;   /* opaque */
struct preview; /* preview.h */

/* Which state of the house: its revision, and a mark of the parts file that it names, which is another whenever that was written or
 * replaced; 0: none is there. */
struct study_state {
    int64_t number;
    uint64_t parts;
};

/* What a lane has.  What is made lives in its evaluation's arena. */
struct lane {
    struct study *study;
    struct evaluation ev;
    struct preview *preview[3][BAND_COUNT]; /* of LANE_PREVIEW, by enum estimate; NULL: not made yet */
    bool is_judging;                        /* of LANE_JUDGE: promises_begin() was called */
    struct promise_results judged;          /* of LANE_JUDGE: all promises; v NULL: not all are judged yet */
};

/* Something computed in a lane, alone in it.  Whatever it keeps must be copied into its own arena.  If the house is changed
 * meanwhile it is stopped with RT_CANCELLED and called again with what the house is now: it begins its answer anew each time. */
typedef enum rt_code study_use(struct lane *lane, void *user, struct rt_problems *p);

/* Held once, by the caller.  `run` gives threads, seed and progress (which is told from every thread that computes; NULL: there is no
 * memory).  The bytes are copied; `path` must outlive the study. */
struct study *study_new(const struct run *run, const char *path, struct study_state of, struct str bytes);
void study_hold(struct study *s);
/* Lets go; the last one frees it. */
void study_drop(struct study *s);
/* The house is another now: what is being computed stops. */
void study_give_up(struct study *s);
bool study_is_given_up(const struct study *s);
struct study_state study_state(const struct study *s);
/* So much was asked of it that it should give way to a fresh one. */
bool study_is_full(struct study *s);

/* Reads the house, for all who will ask, and tells what its reader told (warnings).  False: it cannot be computed, and nothing is told. */
bool study_read(struct study *s, struct rt_problems *p);

/* Errors: those of house_read_bytes(),
 * evaluation_begin() and of `use`.  RT_CANCELLED of a study that was given up is no problem: who asked asks the next one. */
RT_MUST_CHECK enum rt_code study_ask(struct study *s, enum study_lane in, study_use *use, void *user,
                                     struct rt_problems *p);

/* What another lane makes for all: the cables of LANE_HOUSE, the whole field of LANE_FIELD at the estimate that promises are judged
 * at.  Whoever uses LANE_JUDGE asks for the field before what rests on it; LANE_PAPER always has it.  Errors: those of making them. */
RT_MUST_CHECK enum rt_code lane_borrow_cables(struct lane *lane, struct rt_problems *p);
RT_MUST_CHECK enum rt_code lane_borrow_field(struct lane *lane, struct rt_problems *p);

/* Every promise, judged once.  Errors: those of promises_evaluate(). */
RT_MUST_CHECK enum rt_code lane_judge(struct lane *lane, struct rt_problems *p);
/* One promise, as lane_judge() would have it: the nth, counted from 0, of those that need no field, then of the others; in order of the
 * house each.  Errors: its. */
RT_MUST_CHECK enum rt_code lane_judge_one(struct lane *lane, uint32_t nth, const struct promise_result **out,
                                          struct rt_problems *p);

#endif
