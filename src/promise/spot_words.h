/* spot_words.h - places of a house in the words of its household. */
#ifndef RT_PROMISE_SPOT_WORDS_H
#define RT_PROMISE_SPOT_WORDS_H

#include "radio/field.h"

/* "loft office, corner by the window": the room, then where in it.  In the arena; STR("") when the ceiling is reached. */
struct str spot_words(struct arena *a, const struct house *h, uint32_t floor, struct vec2 at_m);
/* Where in the room alone: "corner by the window", "by the chimney", "middle of the room". */
struct str spot_place_words(struct arena *a, const struct house *h, uint32_t floor, struct vec2 at_m);
/* How one finds it with a tape: "north wall 0.60 m, east wall 1.20 m", of the outline of its room; outdoors edges, not walls.  Directions as in the words above: by the drawing's north if known, else up the page is north.  Empty in no room. */
struct str spot_dims_words(struct arena *a, const struct house *h, uint32_t floor, struct vec2 at_m);
/* "a2 at 4.1 m through brick (-9), stud (-4)" of the direct path, and what carries most of the level if not that. */
struct str path_words(struct arena *a, const struct house *h, const struct ap_radio *radio, path_list paths);
/* An id as words: underscores become blanks. */
struct str id_words(struct arena *a, struct str id);

#endif
