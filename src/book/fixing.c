#include "book/fixing.h"

static bool is_one_of(struct str material, const char *const *list, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (str_is(material, list[i]))
            return true;
    return false;
}

#define ONE_OF(material, ...)                                 \
    is_one_of(material, (const char *const[]){ __VA_ARGS__ }, \
              sizeof((const char *const[]){ __VA_ARGS__ }) / sizeof(const char *))

static bool is_finish(struct str m)
{
    return ONE_OF(m, "plaster", "ceramic_tile", "vinyl_tile", "carpet_tile", "metal_film", "fabric", "paper",
                  "low_e_coating");
}
static bool is_hollow(struct str m) { return ONE_OF(m, "air", "vacuum", "mineral_wool", "insulation_foam"); }
static bool is_board(struct str m) { return ONE_OF(m, "plasterboard", "ceiling_board"); }
static bool is_timber(struct str m) { return ONE_OF(m, "wood", "chipboard", "plywood", "floorboard"); }

static const double LATH_M = 0.010; /* thinner timber under plaster is lath */

/* The layer of this number, counted from the face. */
static const struct layer *layer_from(const struct construct *c, bool from_last, uint32_t i)
{
    return &c->layers.v[from_last ? c->layers.n - 1 - i : i];
}

/* Layers go from one face to the other, whichever: the plastered or boarded face is the inner one. */
static bool face_is_last(const struct construct *c, bool from_outside)
{
    const struct str first = c->layers.v[0].material, last = c->layers.v[c->layers.n - 1].material;
    const bool first_is_inner = is_finish(first) || is_board(first), last_is_inner = is_finish(last) || is_board(last);
    if (first_is_inner == last_is_inner)
        return false;
    return first_is_inner == from_outside;
}

enum fixing fixing_of(const struct construct *c, bool from_outside)
{
    if (!c->layers.n)
        return FIXING_UNKNOWN;
    const bool from_last = face_is_last(c, from_outside);
    bool plastered = false;
    for (uint32_t i = 0; i < c->layers.n; i++) {
        const struct layer *l = layer_from(c, from_last, i);
        const struct layer *next = i + 1 < c->layers.n ? layer_from(c, from_last, i + 1) : NULL;
        const struct str m = l->material;
        plastered |= str_is(m, "plaster");
        if (is_finish(m))
            continue;
        if (ONE_OF(m, "concrete", "brick", "stone", "marble", "slate", "asphalt_concrete"))
            return FIXING_MASONRY;
        if (ONE_OF(m, "aerated_block", "cob"))
            return FIXING_SOFT;
        if (str_is(m, "wire_lath") || (is_timber(m) && plastered && l->thickness_m < LATH_M))
            return FIXING_LATH;
        if (is_board(m))
            return !next || is_hollow(next->material) || is_finish(next->material) ? FIXING_BOARD
                                                                                   : FIXING_BOARD_ON_WALL;
        if (is_timber(m))
            return FIXING_TIMBER;
        if (str_is(m, "metal"))
            return FIXING_METAL;
        return ONE_OF(m, "glass", "water", "clear_acrylic") ? FIXING_NONE : FIXING_UNKNOWN;
    }
    return FIXING_UNKNOWN;
}

const char *fixing_words(enum fixing f)
{
    static const char *const WORDS[] = {
        [FIXING_MASONRY] = "6 mm masonry bit, nylon plug, 5 \u00d7 50 mm screw: into brick or stone, not into a joint",
        [FIXING_SOFT] = "plug for soft block, drilled without hammering, 6 \u00d7 60 mm screw",
        [FIXING_BOARD] =
            "4 \u00d7 40 mm screws into a joist or stud; where there is none, metal cavity fixings for board",
        [FIXING_BOARD_ON_WALL] = "long plug that passes the board and grips 40 mm in the wall behind it",
        [FIXING_LATH] = "find a joist or stud, drill first: lath bears nothing, and old plaster cracks",
        [FIXING_TIMBER] = "4 \u00d7 40 mm wood screws, drilled first",
        [FIXING_METAL] = "self-drilling screws with sealing washers, into a rib, not into a valley",
        [FIXING_NONE] = "nothing here bears a screw: fix it to the frame beside it",
        [FIXING_UNKNOWN] = "look what bears here before you choose the plug",
    };
    _Static_assert(sizeof WORDS / sizeof *WORDS == FIXING_COUNT, "words for every fixing");
    return WORDS[f];
}
