/* port_facts.h - ports, spare ports and uplinks as evidence of the promise `cable`. */
#ifndef RT_PROMISE_PORT_FACTS_H
#define RT_PROMISE_PORT_FACTS_H

#include "promise/fact.h"
#include "wire/ports.h"

/* ports[], uplinks[], to_join[], conflict: docs/json.md. */
void port_facts(struct arena *a, struct fact *evidence, const struct port_plan *plan);

#endif
