/* cable_checks.h - what else breaks a promise of kind `cable`, beside length and speed, or is told in its evidence. */
#ifndef RT_PROMISE_CABLE_CHECKS_H
#define RT_PROMISE_CABLE_CHECKS_H

#include "promise/result.h"

/* Does the cable, or the thing with this id, belong to what the promise names (all, if it names nothing)? */
bool cable_is_meant(const struct house *h, const struct promise *promise, uint32_t cable);
bool cable_means_thing(const struct promise *promise, struct str id);

/* Ports (wire/ports.h): evidence `ports`, `uplinks`, `to_join`, `conflict`; a cable without a port, or fewer spare ports than promised,
 * breaks a promise that is not broken yet; an unknown one says where the thing would be joined.  Errors: those of
 * evaluation_ports(). */
RT_MUST_CHECK enum rt_code cable_promise_ports(struct evaluation *ev, const struct promise *promise,
                                               struct promise_result *out, struct rt_problems *p);

/* Room, mains, weather and warmth (wire/cable_rules.h): evidence `runs`, `breaches`, `mains_unknown`; a breach breaks a promise
 * that is not broken yet.  Errors: RT_NOMEM. */
RT_MUST_CHECK enum rt_code cable_promise_rules(struct evaluation *ev, const struct promise *promise,
                                               struct promise_result *out, struct rt_problems *p);

/* Light lost in fibre: evidence `fibre`; more than its ends bear breaks a promise that is not broken yet.  Errors: those of
 * evaluation_cables(). */
RT_MUST_CHECK enum rt_code cable_promise_fibre(struct evaluation *ev, const struct promise *promise,
                                               struct promise_result *out, struct rt_problems *p);

/* Copper, fibre or radio between buildings (wire/building_links.h): evidence `between_buildings`; copper without surge protectors
 * is told in the reason of a promise that is not broken, and warned of at the cable's line if the file has no protector.  Errors: those of building_links_compare(). */
RT_MUST_CHECK enum rt_code cable_promise_buildings(struct evaluation *ev, const struct promise *promise,
                                                   struct promise_result *out, struct rt_problems *p);

#endif
