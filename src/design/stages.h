/* stages.h - what is bought when: a design split over the phases of the house. */
#ifndef RT_DESIGN_STAGES_H
#define RT_DESIGN_STAGES_H

#include "base/json.h"
#include "design/design.h"

struct stage {
    uint32_t phase;
    int64_t price, budget; /* of what is bought in it, by the bill; INT64_MAX: no budget is given */
    str_list things;       /* equipment that the design adds in it */
    index_list promises;   /* about rooms, that the access points there by its end keep, and those before did not */
};

typedef LIST(struct stage) stage_list; /* by date; those without one as in the file */

/* Sets the phase of all that the design added, in d->fitted.house: by the program that placed the access points, each phase keeps as
 * many promises as its budget and those before it can pay, those of the greatest worth first; switches come when the first cable
 * needs them, battery and disks as soon as there is money left, and what remains with the last phase.  The promises are judged anew
 * then (those about cost look at phases).  Errors: RT_MISSING if the house has no phases, RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code stages_split(const struct run *run, struct design *d, stage_list *out,
                                        struct rt_problems *p);

void stages_write_json(struct json *j, const char *key, const struct design *d, const stage_list *stages);
void stages_write_text(struct buf *out, const struct design *d, const stage_list *stages, unsigned columns,
                       bool colour);

#endif
