/* wire_words.h - what people call things on cables, for reasons and evidence of the promises about wires and power. */
#ifndef RT_PROMISE_WIRE_WORDS_H
#define RT_PROMISE_WIRE_WORDS_H

#include "wire/power.h"

/* `says`, else the id. */
struct str equipment_words(const struct house *h, uint32_t equipment);
struct str device_words(const struct house *h, uint32_t device);
/* Of what a feed feeds. */
struct str feed_words(const struct house *h, const struct power_feed *f);
struct str feed_id(const struct house *h, const struct power_feed *f);

#endif
