/* net_words.h - devices, networks, addresses and hours as the book's chapters about them write them. */
#ifndef RT_BOOK_NET_WORDS_H
#define RT_BOOK_NET_WORDS_H

#include "book/book_int.h"
#include "reach/layer2.h"

static inline struct flow_cell net_cell(struct str text) { return (struct flow_cell){ .text = text }; }
static inline struct flow_cell net_soft(struct str text) { return (struct flow_cell){ .text = text, .is_soft = true }; }
static inline struct flow_cell net_strong(struct str text)
{
    return (struct flow_cell){ .text = text, .is_strong = true };
}

/* Empty for 0 and for a prefix that is not given. */
struct str net_address(struct book *b, enum family family, axis_value address);
struct str net_prefix(struct book *b, struct prefix p);
struct str net_mac(struct book *b, axis_value mac);

/* "Ravi's television stick", "front camera", "Anna's phone". */
struct str net_device_words(struct book *b, uint32_t device);
struct str net_device_short(struct book *b, uint32_t device); /* "phone", where it is plain whose */
struct str net_zone_words(struct book *b, uint32_t zone);     /* "the internet", "from the mart", "family" */
struct str net_person_words(struct book *b, uint32_t person); /* "Mia" */
/* A text of another module with its ids as words; equipment's, and what is in quotation marks or backticks, stay as the file has them. */
struct str net_plain_words(struct book *b, struct str text);
/* The same where every word that is a device's id stands for the device. */
struct str net_devices_words(struct book *b, struct str ids);
const char *net_security_words(enum security s); /* "WPA3", "WPA2 and WPA3" */
struct str net_band_words(struct book *b, uint32_t bands);
/* "Mon-Thu, Sun 20:30-07:00". */
struct str net_hours_words(struct book *b, uint32_t hours);

/* "apple, pear and plum": adds the i-th of n. */
void net_list_word(struct buf *out, uint32_t i, uint32_t n, struct str word);

/* Who a statement speaks of: "the children's screens", "the internet". */
struct str net_ends_words(struct book *b, const endpoint_list *ends);

/* What the household called a statement, else in words: "the children's screens may not begin talk with the internet". */
struct str net_statement_words(struct book *b, const struct statement *s);
/* The same where nothing beside it tells for which services: "..., for https and ntp". */
struct str net_statement_sentence(struct book *b, const struct statement *s);
/* "2026-12-24 to 2027-01-06". */
struct str net_days_words(struct book *b, const struct day_exception *e);

/* Does a statement speak of one of a person's devices as the sender? */
bool net_statement_is_of(struct book *b, const struct statement *s, uint32_t person);

#endif
