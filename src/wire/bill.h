/* bill.h - what it costs to buy, to build and to run, by phase.
 *
 * Amounts are whole numbers of the smallest unit of the house's currency (ISO 4217: pence, yen, fils), so that sums are exact.
 * Each line is rounded once, half away from zero, from price times count.  docs/cost.md says in words what is counted. */
#ifndef RT_WIRE_BILL_H
#define RT_WIRE_BILL_H

#include "wire/energy.h"
#include "wire/links.h"

enum bill_kind { BILL_PART, BILL_CABLE, BILL_OUTLET, BILL_FIXING, BILL_WORK, BILL_LABOUR, BILL_CONTINGENCY };

struct bill_line {
    enum bill_kind kind;
    struct str what; /* "Saucer 2 (Brackenholt)", "hole through brick_single" */
    uint32_t part;   /* of house->parts.list; NO_REF */
    double count;    /* pieces, metres or hours; boxes of cable are rounded up over all phases, in the phases' order */
    struct str unit; /* "", "m", "h" */
    double length_m; /* of cable that is cut; NaN: not cable, or not known */
    double each;     /* price of one, in the currency; NaN: not known, or owned */
    int64_t total;   /* smallest units; 0 for what is owned or has no known price */
    uint32_t phase;  /* of house->phases; NO_REF: none */
    bool owned;      /* there already: costs nothing */
    bool is_priced;  /* false: its price is not known, and a gap says so */
    struct str why;  /* "c_bell, c_front_camera" */
};

/* A fact that is not known, without which the bill is too low. */
struct bill_gap {
    struct str says;
    uint32_t phase; /* whose sum is too low; NO_REF: what has no phase */
    bool is_yearly; /* of the running cost */
};

struct bill {
    const struct house *h;
    int digits;             /* of the currency behind the point */
    uint32_t *cable_parts;  /* of house->cables: what each is, or is bought as; NO_REF: not said, or nothing serves */
    uint32_t *cable_phases; /* likewise: when it is laid; NO_REF: no phase */
    LIST(struct bill_line) lines; /* by phase (those without one first), kind, owned or not, part, words */
    int64_t *phases;              /* as house->phases, contingency included */
    int64_t no_phase;             /* what has no phase */
    int64_t total;                /* purchase: all lines, contingency included */
    double kwh_per_year;          /* NaN: not known */
    int64_t energy, line,
        yearly; /* for a year: energy, the internet line, both; what is known of them, 0 where nothing is */
    bool energy_known, line_known; /* no line: known, and 0 */
    double house_share;            /* of what the house cost; NaN: not given */
    LIST(struct bill_gap) gaps;    /* in the order of finding, each once */
};

/* `links` is that of the same plan; `energy` may be NULL: not known, and told as a gap.
 * Errors: RT_NOMEM, RT_CANCELLED, RT_LIMIT (sums beyond 63 bits). */
RT_MUST_CHECK enum rt_code bill_make(const struct run *run, const struct cable_plan *cables,
                                     const struct wire_links *links, const struct energy_plan *energy,
                                     struct bill **out, struct rt_problems *p);

/* What each cable and each work of a plan would add to the bill if it were the only one: each line rounded once, what was not foreseen
 * apart.  Of a cable: its ends and the laying; where its part is left open, without the metres.  What is owned, and a hole through
 * which a cable passes that is owned, cost nothing; what has no known price likewise. */
struct bill_prices {
    int64_t *cables; /* as house->cables */
    int64_t *works;  /* as plan->work */
};
/* Lives in run->arena.  Errors: RT_NOMEM, RT_LIMIT. */
RT_MUST_CHECK enum rt_code bill_price_alone(const struct run *run, const struct cable_plan *cables,
                                            const struct wire_links *links, struct bill_prices *out,
                                            struct rt_problems *p);
/* A part that is bought and set up by itself, and fixing at a mount (either NO_REF: none), likewise.  Errors: RT_NOMEM, RT_LIMIT. */
RT_MUST_CHECK enum rt_code bill_price_part(const struct run *run, const struct house *h, uint32_t part, uint32_t mount,
                                           int64_t *out, struct rt_problems *p);
/* An amount with the share for what was not foreseen.  Errors: RT_LIMIT. */
RT_MUST_CHECK enum rt_code bill_add_unforeseen(const struct house *h, int64_t *amount, struct rt_problems *p);

/* Is this work still to be done?  A hole that a cable of old goes through is there; a board must be lifted again for each new one. */
bool bill_work_is_new(const struct house *h, const struct cable_work *w);
/* Metres of a cable that are cut from its part: fibre comes with its ends fitted, so its cords are cut with it.  NaN: not known. */
double bill_cut_m(const struct cable_plan *cables, const struct wire_links *links, uint32_t cable);
/* Is a part sold as a piece of some length, not cut: a cord, or a cable without a price by length? */
bool bill_is_piece(const struct part *p);

const char *bill_kind_name(enum bill_kind kind); /* "part", "cable" ... */

/* "1 234.50 GBP", by the currency's own digits; in the arena, empty at its ceiling. */
struct str money_words(struct arena *a, struct str currency, int64_t amount);
/* In the currency: 1234.5.  For JSON with `digits` decimals. */
double money_value(struct str currency, int64_t amount);
/* price * count in smallest units, half away from zero: exact for prices of up to six and counts of up to three digits behind
 * the point.  False: not finite, below zero, or beyond 63 bits. */
RT_MUST_CHECK bool money_amount(struct str currency, double price, double count, int64_t *out);

#endif
