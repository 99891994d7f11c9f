/* cutting.h - which cable is cut from which box or drum.
 *
 * The longest is cut first, and each from the first box that still holds it (first fit decreasing): no cable is joined from two
 * pieces.  What is bought by the metre comes in one length and is cut in the same order.  Nothing of this is priced here; the bill is. */
#ifndef RT_WIRE_CUTTING_H
#define RT_WIRE_CUTTING_H

#include "wire/bill.h"

struct cut {
    uint32_t cable;
    double length_m;
    uint32_t box; /* of its part, from 0; NO_REF: it is longer than a whole one */
};

/* What is cut of one part. */
struct cut_part {
    uint32_t part;
    double box_m;          /* as sold; 0: any length, in one */
    LIST(struct cut) cuts; /* in the order of cutting */
    LIST(double) left_m;   /* in each box, when all is cut */
    double total_m;        /* of all cuts */
    uint32_t
        n_boxes_billed; /* by the metres alone; fewer than boxes where what is left of them is too short for a cable */
};

struct cut_plan {
    const struct cable_plan *cables;
    LIST(struct cut_part) parts; /* in the order of the parts file */
    index_list unknown;          /* new cables that have no length, or no part that serves */
};

/* Of the cables that are not owned and not sold as pieces.  `bill` is that of the same plan.  Lives in the arena; NULL: its
 * ceiling. */
struct cut_plan *cut_plan_make(struct arena *a, const struct cable_plan *cables, const struct wire_links *links,
                               const struct bill *bill);

#endif
