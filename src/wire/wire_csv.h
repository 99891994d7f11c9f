/* wire_csv.h - the bill and the cables as tables for a spreadsheet (RFC 4180). */
#ifndef RT_WIRE_CSV_H
#define RT_WIRE_CSV_H

#include "wire/bill.h"
#include "wire/power.h"

/* One row for each line of the bill, in its order; the last row is the total. */
void bill_write_csv(struct buf *out, const struct bill *b);
/* One row for each of house->cables: both ends with their ports, category, lengths, the way, a label for each end.  `ports`: one for
 * each cable, or NULL for those of the file alone. */
void cables_write_csv(struct buf *out, const struct cable_plan *plan, const struct wire_links *links,
                      const struct port_numbers *ports);

#endif
