/* fixing.h - what a thing is screwed to, and with what: by the construct that bears it.  Everything here is common practice, no
 * source; the maker's instructions come first. */
#ifndef RT_BOOK_FIXING_H
#define RT_BOOK_FIXING_H

#include "house/building.h"

enum fixing {
    FIXING_MASONRY,       /* concrete, brick, stone, dense block */
    FIXING_SOFT,          /* aerated block, cob */
    FIXING_BOARD,         /* board with nothing behind it but joists or studs */
    FIXING_BOARD_ON_WALL, /* board stuck to masonry */
    FIXING_LATH,          /* plaster on laths */
    FIXING_TIMBER,
    FIXING_METAL,
    FIXING_NONE, /* nothing to screw into: glass, water */
    FIXING_UNKNOWN,
    FIXING_COUNT
};

/* What bears at one face of a construct: finishes (plaster, tile) are passed.  Layers are in the order from that face on. */
enum fixing fixing_of(const struct construct *c, bool from_outside);
/* "6 mm masonry bit, nylon plug, 5 x 50 mm screw". */
const char *fixing_words(enum fixing f);

#endif
