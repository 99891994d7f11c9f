/* What one screws into, by construct.  Expected values: common practice, no source; each row is what a fitter would find behind the
 * face when he drills. */
#include "book/fixing.h"
#include "check.h"
#include "data/constructs.h"

static struct construct of_list(struct check_run *c, const char *id)
{
    const struct built_in_construct *b = built_in_construct_find(str_from(id));
    struct construct out = { .id = str_from(id) };
    assert_non_null(b);
    out.layers.v = ARENA_ARRAY(c->run.arena, struct layer, b->n_layers);
    for (uint32_t i = 0; i < b->n_layers; i++)
        out.layers.v[out.layers.n++] =
            (struct layer){ .material = str_from(b->layers[i].material), .thickness_m = b->layers[i].thickness_m };
    return out;
}

static const struct {
    const char *id;
    enum fixing inside, outside;
} CASES[] = {
    { "brick_solid", FIXING_MASONRY, FIXING_MASONRY },
    { "stone_500", FIXING_MASONRY, FIXING_MASONRY },
    { "concrete_150", FIXING_MASONRY, FIXING_MASONRY },
    { "cob_600", FIXING_SOFT, FIXING_SOFT },
    { "block_insulated", FIXING_BOARD_ON_WALL, FIXING_MASONRY }, /* board on aerated block; brick outside */
    { "stud_wall", FIXING_BOARD, FIXING_BOARD },
    { "lath_plaster", FIXING_LATH, FIXING_LATH },
    { "wire_lath_plaster", FIXING_LATH, FIXING_LATH },
    { "timber_cladding", FIXING_BOARD, FIXING_TIMBER }, /* boarded outside, plasterboard inside */
    { "timber_floor", FIXING_BOARD, FIXING_TIMBER },    /* seen from below; from above */
    { "concrete_floor", FIXING_MASONRY, FIXING_MASONRY },
    { "plasterboard_ceiling", FIXING_BOARD, FIXING_BOARD },
    { "steel_sheet", FIXING_METAL, FIXING_METAL },
    { "glass_double", FIXING_NONE, FIXING_NONE },
};

TEST(what_bears_behind_the_face)
{
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct construct k = of_list(&c, CASES[i].id);
        CHECK(CASES[i].id, fixing_of(&k, false) == CASES[i].inside);
        CHECK(CASES[i].id, fixing_of(&k, true) == CASES[i].outside);
    }
    check_run_end(&c);
}

TEST(every_construct_of_the_list_has_words)
{
    struct check_run c = check_run_begin();
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct construct k = of_list(&c, built_in_construct_get(i)->id);
        CHECK(built_in_construct_get(i)->id, strlen(fixing_words(fixing_of(&k, false))) > 10);
    }
    const struct construct none = { .id = STR("none") };
    CHECK("of no layer", fixing_of(&none, false) == FIXING_UNKNOWN);
    check_run_end(&c);
}
