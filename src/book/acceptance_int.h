/* acceptance_int.h - what the makers of acceptance tests share. */
#ifndef RT_BOOK_ACCEPTANCE_INT_H
#define RT_BOOK_ACCEPTANCE_INT_H

#include "base/array.h"
#include "base/units.h"
#include "book/acceptance.h"
#include "book/book_int.h"

struct acceptance_view {
    struct evaluation *ev;
    const struct house *h;
    struct arena *arena;
    struct book words; /* arena and house alone, for book/net_words.h */
    VEC(struct acceptance_row) rows;
    uint32_t promise;
    bool failed; /* the arena's ceiling */
};

/* Makes the rows of one promise; sets test->how. */
typedef enum rt_code acceptance_maker(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p);
/* clang-format off */
acceptance_maker
    acceptance_signal, acceptance_rate, acceptance_roaming, acceptance_quiet, acceptance_exposure, /* acceptance_air.c */
    acceptance_apart, acceptance_reach, acceptance_hours, /* acceptance_reach.c */
    acceptance_power, acceptance_cable, acceptance_outage, acceptance_survive, /* acceptance_wire.c */
    acceptance_line, acceptance_recording, acceptance_growth, acceptance_cost; /* acceptance_sum.c */
/* clang-format on */

/* A text in the arena; empty, and the view fails, at its ceiling. */
struct str acceptance_text(struct acceptance_view *v, const char *fmt, ...) RT_PRINTF(2, 3);
/* A row without a figure: what is done, and what must be seen. */
void acceptance_see(struct acceptance_view *v, struct str where, struct str passes);
/* A row with a figure, in `passes` too. */
void acceptance_least(struct acceptance_view *v, struct acceptance_row row, double at_least, const char *unit,
                      int decimals);
void acceptance_most(struct acceptance_view *v, struct acceptance_row row, double at_most, const char *unit,
                     int decimals);

/* What people call a thing by its id in the evidence: `says`, else the id as words. */
struct str acceptance_thing(struct acceptance_view *v, struct str id);
/* "switch:8 (cable c_bell)": where a thing's cable is unplugged at the end nearer to the gateway; empty: on no cable. */
RT_MUST_CHECK enum rt_code acceptance_plug(struct acceptance_view *v, uint32_t equipment, uint32_t device,
                                           struct str *out, struct rt_problems *p);

#endif
