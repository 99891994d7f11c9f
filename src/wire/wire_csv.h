/* wire_csv.h - the bill, the cables, watts and batteries as tables for a spreadsheet (RFC 4180). */
#ifndef RT_WIRE_CSV_H
#define RT_WIRE_CSV_H

#include "wire/bill.h"
#include "wire/cutting.h"
#include "wire/energy.h"
#include "wire/power.h"

/* One row for each line of the bill, in its order; the last row is the total. */
void bill_write_csv(struct buf *out, const struct bill *b);
/* One row for each of house->cables: both ends with their ports, the category of what it is or is bought as, lengths, the way, a
 * label for each end, the part.  `ports`: one for each cable, or NULL for those of the file alone. */
void cables_write_csv(struct buf *out, const struct cable_plan *plan, const struct wire_links *links,
                      const struct bill *bill, const struct port_numbers *ports);
/* One row for each cable that is cut, in the order of cutting: its part, how it is sold, from which box (from 1; empty: in one length). */
void cuts_write_csv(struct buf *out, const struct cut_plan *plan);
/* One row for each thing that feeds others over their cables; one for each battery. */
void power_write_csv(struct buf *out, const struct power_plan *power);
void batteries_write_csv(struct buf *out, const struct energy_plan *energy);

#endif
