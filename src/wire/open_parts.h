/* open_parts.h - equipment that names a kind in place of a part: the cheapest parts in hand that will do, all chosen together.
 *
 * A part will do if it is of the kind; keeps VLANs apart where more than one segment goes through; has the radios that are set, and
 * carries the SSIDs; stands the weather where there is some; is made for the surface it hangs on; goes into its cabinet; routes what
 * the line brings.  Of those the cheapest are taken whose ports, power over Ethernet and rack units serve all cables (port_choice.h);
 * a part that is itself fed over its cable is taken only where the other end can feed it.  It is done once, right after reading, so
 * that every later step sees the same house. */
#ifndef RT_WIRE_OPEN_PARTS_H
#define RT_WIRE_OPEN_PARTS_H

#include "base/run.h"
#include "house/house.h"

/* Sets `part` and `because` of all equipment that is open.  Errors, each at its place: RT_MISSING (nothing in hand will do: what it
 * lacks), RT_NOMEM, RT_CANCELLED. */
RT_MUST_CHECK enum rt_code open_parts_choose(const struct run *run, struct house *h, struct rt_problems *p);

/* house_read(), then open_parts_choose().  *out is set only when there is no error. */
RT_MUST_CHECK enum rt_code house_open(const struct run *run, const char *path, struct house **out,
                                      struct rt_problems *p);

#endif
