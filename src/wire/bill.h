/* bill.h - what it costs to buy, to build and to run, by phase. */
#ifndef RT_WIRE_BILL_H
#define RT_WIRE_BILL_H

#include "wire/energy.h"

enum bill_kind { BILL_PART, BILL_CABLE, BILL_OUTLET, BILL_FIXING, BILL_WORK, BILL_LABOUR, BILL_CONTINGENCY };

struct bill_line {
    enum bill_kind kind;
    struct str what; /* "Saucer 2 (Brackenholt)", "hole through brick single" */
    uint32_t part;   /* of house->parts.list; NO_REF */
    double count;
    struct str unit;                 /* "", "m", "h" */
    int64_t each_cents, total_cents; /* hundredths of the house's currency: sums are exact */
    uint32_t phase;                  /* of house->phases; NO_REF: none */
    bool owned;                      /* there already: costs nothing */
    struct str why;                  /* "for cable c_bell, c_front_camera" */
};

struct bill {
    const struct house *h;
    LIST(struct bill_line) lines; /* by phase, kind, part */
    int64_t *phase_cents;         /* as house->phases */
    int64_t total_cents;          /* purchase, contingency included */
    int64_t yearly_cents;         /* energy, and the line's price if known */
    double house_share;           /* of what the house cost; NaN: not given */
    str_list missing;             /* facts without which the bill is too low, in words */
};

/* Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code bill_make(const struct run *run, const struct cable_plan *cables,
                                     const struct energy_plan *energy, struct bill **out, struct rt_problems *p);

/* "1 234.50 GBP": by the currency's own digits (ISO 4217). */
struct str money_words(struct arena *a, struct str currency, int64_t cents);

#endif
