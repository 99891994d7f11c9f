/* line_facts.h - the verdict on the internet line, shared by its evaluator (promise_line.c) and its evidence (line_facts.c). */
#ifndef RT_PROMISE_LINE_FACTS_H
#define RT_PROMISE_LINE_FACTS_H

#include "load/airtime.h"
#include "load/line_load.h"
#include "promise/promise.h"

/* One way of the line. */
struct line_side {
    struct line_week all, urgent; /* of everything, and of what never waits */
    struct line_week night;       /* of everything, with what can wait done by night */
    struct line_delay delay;
    double load;          /* mean share of the line in its fullest hour */
    uint32_t asks_most;   /* source of the largest mean in the worst hour; NO_REF: nobody asks */
    uint32_t waiting;     /* source that would have to wait there, and what it does then; NO_REF: none */
    uint32_t waiting_for; /* state of it */
};

struct line_case {
    const struct promise *promise;
    const struct demand *d;
    struct line_side sides[2]; /* by enum load_way */
    enum load_way deciding;
    bool has_calls;
    double call_plain_s, call_shaped_s; /* one way, the line's own share of the way included; the worse of both ways */
    double month_gb;
};

/* "Sunday 20 to 21 h" */
struct str line_hour_words(struct arena *a, unsigned hour);
/* A radio's busiest hour: the same, or "every hour alike" where none stands out. */
struct str radio_hour_words(struct arena *a, const struct airtime *air, uint32_t radio);
#define EVERY_HOUR "every hour alike"
const char *load_way_name(enum load_way way); /* "down" */
/* How calls fare: "nobody calls", "good", "good if the line is shaped", "with care", "with care if the line is shaped", "bad". */
const char *line_calls_words(const struct line_case *c);
void line_facts(struct arena *a, struct fact *evidence, const struct line_case *c);

#endif
