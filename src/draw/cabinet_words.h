/* cabinet_words.h - what is written beside the front of a cabinet or a wall. */
#ifndef RT_DRAW_CABINET_WORDS_H
#define RT_DRAW_CABINET_WORDS_H

#include "draw/sheet_text.h"
#include "wire/front.h"

/* "switch", "place for a row of sockets" */
struct str stand_words(struct sheet *s, const struct stand *t);
/* What kind of thing it is: "Ledger 16 P"; empty: not known, or ours. */
struct str stand_part_words(const struct sheet *s, const struct stand *t);
/* All that is to be known of the front, in the order of doing: what stands in it, sockets, mains, air, battery. */
void cabinet_write(struct text_block *b, const struct front *f);

#endif
