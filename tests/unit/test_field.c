#include <math.h>
#include <string.h>

#include "cottage.h"

static const struct field_options USUAL = { .trace = { .order = 2, .diffraction = true, .estimate = ESTIMATE_MIDDLE },
                                            .cell_m = 0.5 };

static struct fields compute(struct kit *k, const struct scene *s, struct ap_radio *radios, uint32_t n,
                             struct field_options options, int n_threads)
{
    struct fields f = { 0 };
    k->c->run.n_threads = n_threads;
    CHECK_OK(k->c, grids_of_house(&k->c->run, k->h, options.cell_m, &f, &k->c->problems));
    CHECK_OK(k->c, fields_compute(&k->c->run, k->h, s, (ap_radio_list){ radios, n }, options, &f, &k->c->problems));
    return f;
}

static struct vec3 centre(const struct grid *g, uint32_t ix, uint32_t iy)
{
    return (struct vec3){ g->x0_m + (ix + 0.5) * g->cell_m, g->y0_m + (iy + 0.5) * g->cell_m, g->z_m };
}

/* A garden drawn round the house ends at its walls, and goes on over a cellar; a room of the garden is judged wherever it lies. */
TEST(a_garden_round_the_house_is_outside)
{
    static const double LEVELS_M[] = { 0.0, -2.6 };
    for (size_t l = 0; l < RT_COUNT(LEVELS_M); l++)
        for (int with_room = 0; with_room < 2; with_room++) {
            struct check_run c = check_run_begin();
            struct kit k = kit_begin(&c);
            struct fields f = { 0 };
            kit_floor(&k, LEVELS_M[l], 2.4, kit_box(&k, 2, 2, 8, 6), "concrete_150", "concrete_150");
            kit_floor(&k, -0.1, 2.4, kit_box(&k, 0, 0, 10, 8), NULL, NULL)->open_air = true;
            struct room terrace = { .floor = { .i = 1 }, .outline = kit_box(&k, 2, 2, 4, 3) };
            k.h->rooms.v = &terrace;
            k.h->rooms.n = (uint32_t)with_room;
            CHECK_OK(&c, grids_of_house(&c.run, k.h, 0.5, &f, &c.problems));
            CHECK("two", f.grids.n == 2);
            const struct grid *g = &f.grids.v[1];
            for (uint32_t i = 0; i < g->nx * g->ny; i++) {
                const struct vec3 at = centre(g, i % g->nx, i / g->nx);
                const bool is_in = at.x > 2 && at.x < 8 && at.y > 2 && at.y < 6 && LEVELS_M[l] > -2.0;
                const bool is_terrace = with_room && at.x > 2 && at.x < 4 && at.y > 2 && at.y < 3;
                CHECK("outside", g->inside[i] == (!is_in || is_terrace));
            }
            check_run_end(&c);
        }
}

/* The fast tracer of fields and the plain one of spots are two programs for one physics: each checks the other.  What the
 * fast one leaves out makes it at most 0.02 dB weaker (FIELD_MISSING_DB); the rest is rounding and the steps of tables. */
TEST(a_cell_is_the_spot_in_its_middle)
{
    static const struct trace_options ROWS[] = {
        { .order = 0, .estimate = ESTIMATE_MIDDLE },
        { .order = 1, .diffraction = true, .estimate = ESTIMATE_CAREFUL },
        { .order = 2, .estimate = ESTIMATE_HOPEFUL },
        { .order = 2, .diffraction = true, .estimate = ESTIMATE_MIDDLE },
        { .order = 3, .diffraction = true, .estimate = ESTIMATE_MIDDLE },
    };
    for (size_t row = 0; row < RT_COUNT(ROWS); row++) {
        struct check_run c = check_run_begin();
        struct kit k = kit_begin(&c);
        cottage_build(&k, COTTAGE_HERE);
        struct scene *s = kit_scene(&k);
        struct ap_radio radios[3];
        cottage_radios(&COTTAGE_HERE, radios);
        const struct field_options options = { .trace = ROWS[row], .cell_m = 0.5 };
        const struct fields f = compute(&k, s, radios, 3, options, 1);
        double worst_db = 0.0, sum_db = 0.0;
        int n = 0;
        for (uint32_t g = 0; g < f.grids.n; g++)
            for (uint32_t i = (uint32_t)row; i < f.grids.v[g].nx * f.grids.v[g].ny; i += 5) {
                const uint32_t ix = i % f.grids.v[g].nx, iy = i / f.grids.v[g].nx, r = i % 3;
                const float got = field_gain_db(&f, g, r, ix, iy);
                CHECK("a number inside, none outside", isnan(got) == !f.grids.v[g].inside[i]);
                if (isnan(got))
                    continue;
                const double want = kit_spot(&k, s, &radios[r], centre(&f.grids.v[g], ix, iy), ROWS[row], NULL);
                worst_db = fmax(worst_db, fabs((double)got - want));
                sum_db += fabs((double)got - want);
                n++;
                CHECK_NEAR("cell", (double)got, want, 0.03, "dB");
            }
        CHECK("cells", n > 50);
        print_message("    order %d: mean difference %.4f dB, worst %.4f dB over %d cells\n", ROWS[row].order,
                      sum_db / n, worst_db, n);
        CHECK_NEAR("mean difference", sum_db / n, 0.0, 0.005, "dB");
        check_run_end(&c);
    }
}

/* Paths that are left out for being weak: their bound holds against the field that leaves out nothing, for the usual field and
 * for a preview, at any spot where a device hears something; where waves cancel up to four times as much (top of beam.h). */
TEST(what_is_left_out_stays_below_its_bound)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    struct scene *s = kit_scene(&k);
    struct ap_radio radios[3];
    cottage_radios(&COTTAGE_HERE, radios);
    struct field_options options = USUAL;
    options.missing_db = 1e-9;
    const struct fields all = compute(&k, s, radios, 3, options, 1);
    static const double ROWS_DB[] = { FIELD_MISSING_DB, FIELD_MISSING_IN_PREVIEW_DB };
    for (size_t row = 0; row < RT_COUNT(ROWS_DB); row++) {
        options.missing_db = ROWS_DB[row];
        const struct fields f = compute(&k, s, radios, 3, options, 1);
        double worst_db = 0.0, sum_db = 0.0;
        uint32_t n = 0, different = 0, over = 0;
        for (uint32_t g = 0; g < f.grids.n; g++)
            for (uint32_t i = 0; i < f.grids.v[g].nx * f.grids.v[g].ny; i++)
                for (uint32_t r = 0; r < 3; r++) {
                    const double want = (double)all.gain_db[g * 3 + r][i];
                    if (!(want > -110.0))
                        continue;
                    const double missing_db = want - (double)f.gain_db[g * 3 + r][i];
                    CHECK("bound", fabs(missing_db) < 4.0 * ROWS_DB[row]);
                    worst_db = fmax(worst_db, fabs(missing_db));
                    sum_db += missing_db;
                    different += fabs(missing_db) > 1e-5;
                    over += fabs(missing_db) > ROWS_DB[row];
                    n++;
                }
        print_message("    %g dB: mean missing %.4f dB, worst %.4f dB, over it at %u of %u\n", ROWS_DB[row], sum_db / n,
                      worst_db, over, n);
        CHECK("something was left out", different > n / 10);
        CHECK("seldom more than stated", over * 100 < n);
        CHECK_NEAR("mean", sum_db / n, 0.0, 0.5 * ROWS_DB[row], "dB");
    }
    check_run_end(&c);
}

TEST(same_bytes_for_any_number_of_threads)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    struct scene *s = kit_scene(&k);
    struct ap_radio radios[3];
    cottage_radios(&COTTAGE_HERE, radios);
    const struct fields one = compute(&k, s, radios, 3, USUAL, 1);
    for (int i = 0; i < 2; i++) {
        const struct fields many = compute(&k, s, radios, 3, USUAL, (const int[]){ 2, 7 }[i]);
        for (uint32_t g = 0; g < one.grids.n; g++)
            for (uint32_t r = 0; r < 3; r++)
                CHECK("bytes", memcmp(one.gain_db[g * 3 + r], many.gain_db[g * 3 + r],
                                      sizeof(float) * one.grids.v[g].nx * one.grids.v[g].ny) == 0);
    }
    check_run_end(&c);
}

/* A radio computed alone and beside others gives the same field: bands share geometry, nothing else.  Nothing is left out here, for
 * what is depends on who else is there. */
TEST(radios_do_not_disturb_each_other)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    struct scene *s = kit_scene(&k);
    struct ap_radio radios[3];
    cottage_radios(&COTTAGE_HERE, radios);
    struct field_options whole = USUAL;
    whole.missing_db = 1e-9;
    const struct fields all = compute(&k, s, radios, 3, whole, 1);
    const struct fields alone = compute(&k, s, &radios[1], 1, whole, 1);
    for (uint32_t g = 0; g < all.grids.n; g++)
        for (uint32_t i = 0; i < all.grids.v[g].nx * all.grids.v[g].ny; i++)
            if (all.grids.v[g].inside[i])
                CHECK_NEAR("alone", (double)alone.gain_db[g][i], (double)all.gain_db[g * 3 + 1][i], 0.02, "dB");
    check_run_end(&c);
}

/* A field of some cells: what is there is what the whole field has there, whatever was computed before, between or beside it; and
 * what nobody asked for is no number.  Where none of the cells that are computed together is wanted nothing is. */
TEST(a_field_of_some_cells_is_part_of_the_whole_one)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    struct scene *s = kit_scene(&k);
    struct ap_radio radios[3];
    cottage_radios(&COTTAGE_HERE, radios);
    const ap_radio_list list = { radios, 3 };
    const struct fields whole = compute(&k, s, radios, 3, USUAL, 1);
    struct fields part = { 0 };
    CHECK_OK(&c, grids_of_house(&c.run, k.h, USUAL.cell_m, &part, &c.problems));
    CHECK("all is asked for at first", fields_want_whole(&part));
    CHECK_OK(&c, fields_want_nothing(&c.run, &part, &c.problems));
    CHECK("nothing is", !fields_want_whole(&part));
    c.run.n_threads = 3;
    for (uint32_t step = 0; step < 4; step++) {
        const struct grid *last = &part.grids.v[part.grids.n - 1];
        uint32_t known = 0, lacking = 0;
        if (step == 1)
            fields_want_cell(&part, part.grids.n - 1, last->nx / 2, last->ny / 2);
        else if (step == 2)
            fields_want_room(&part, 0, whole.grids.v[0].room[(size_t)whole.grids.v[0].nx * 2 + 2]);
        else if (step == 3)
            fields_want_all(&part);
        if (step == 0)
            CHECK_OK(&c, fields_compute(&c.run, k.h, s, list, USUAL, &part, &c.problems));
        else
            CHECK_OK(&c, fields_compute_more(&c.run, s, &part, &c.problems));
        for (uint32_t g = 0; g < part.grids.n; g++)
            for (uint32_t i = 0; i < part.grids.v[g].nx * part.grids.v[g].ny; i++) {
                const struct grid *grid = &part.grids.v[g];
                const bool is_known = field_is_known(&part, g, i % grid->nx, i / grid->nx);
                CHECK("wanted is there", is_known || !grid->inside[i] || (grid->wanted && !grid->wanted[i]));
                known += is_known;
                lacking += grid->inside[i] && !is_known;
                for (uint32_t r = 0; r < 3; r++) {
                    const float *got = &part.gain_db[g * 3 + r][i], *want = &whole.gain_db[g * 3 + r][i];
                    CHECK("for all radios", isnan(*got) == !is_known);
                    CHECK("bytes", !is_known || memcmp(got, want, sizeof *got) == 0);
                }
            }
        print_message("    step %u: %u cells known, %u not\n", step, known, lacking);
        CHECK("the least", step != 0 || known == 0);
        CHECK("one cell and its neighbours", step != 1 || (known > 0 && known <= 16));
        CHECK("a room, and not much more", step != 2 || (known > 16 && lacking > 16));
        CHECK("all", step != 3 || (lacking == 0 && fields_want_whole(&part)));
    }
    check_run_end(&c);
}

/* Tables made once serve an access point wherever it is dragged, and frequencies that they lack are no error. */
TEST(tables_kept_give_the_same_field)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    struct scene *s = kit_scene(&k);
    struct ap_radio radios[3];
    cottage_radios(&COTTAGE_HERE, radios);
    struct field_tables *all, *one;
    CHECK_OK(&c, field_tables_build(&c.run, s, (ap_radio_list){ radios, 3 }, USUAL.trace, &all, &c.problems));
    CHECK_OK(&c, field_tables_build(&c.run, s, (ap_radio_list){ radios, 1 }, USUAL.trace, &one, &c.problems));
    for (int moved = 0; moved < 3; moved++) {
        for (int r = 0; r < 3; r++)
            radios[r].at_m.x += 0.17 * moved;
        const struct fields want = compute(&k, s, radios, 3, USUAL, 1);
        for (int lacking = 0; lacking < 2; lacking++) {
            struct fields got = { 0 };
            CHECK_OK(&c, grids_of_house(&c.run, k.h, USUAL.cell_m, &got, &c.problems));
            CHECK_OK(&c, fields_compute_with(&c.run, lacking ? one : all, (ap_radio_list){ radios, 3 }, USUAL, &got,
                                             &c.problems));
            for (uint32_t i = 0; i < want.grids.n * 3; i++)
                CHECK("bytes", memcmp(got.gain_db[i], want.gain_db[i],
                                      sizeof(float) * want.grids.v[i / 3].nx * want.grids.v[i / 3].ny) == 0);
        }
    }
    check_run_end(&c);
}

/* Vertical polarisation, for studies, goes another way through the program; with nothing but air it must not matter. */
TEST(vertical_polarisation_in_free_space)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    kit_floor(&k, 0.0, 2.5, kit_box(&k, 0, 0, 3, 3), NULL, NULL);
    struct scene *s = kit_scene(&k);
    struct ap_radio radio = kit_radio(5.5e9, (struct vec3){ 1.1, 1.2, 2.0 });
    struct field_options options = USUAL;
    const struct fields mean = compute(&k, s, &radio, 1, options, 1);
    options.trace.vertical = true;
    const struct fields vertical = compute(&k, s, &radio, 1, options, 1);
    for (uint32_t i = 0; i < mean.grids.v[0].nx * mean.grids.v[0].ny; i++)
        CHECK_NEAR("air", (double)vertical.gain_db[0][i], (double)mean.gain_db[0][i], 1e-4, "dB");
    check_run_end(&c);
}

TEST(grids_lie_as_they_should)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    k.h->rooms.v[k.h->rooms.n++] =
        (struct room){ .id = STR("hall"), .floor = kit_ref(0), .outline = kit_box(&k, 0, 0, 2.1, 3.9) };
    k.h->promises.v = ARENA_ARRAY(c.run.arena, struct promise, 1);
    k.h->promises.v[k.h->promises.n++] = (struct promise){ .kind = PROMISE_SIGNAL, .height_m = 0.7 };
    k.h->promises.v[0].rooms.v = ARENA_ARRAY(c.run.arena, struct ref, 1);
    k.h->promises.v[0].rooms.v[k.h->promises.v[0].rooms.n++] = kit_ref(0);
    struct fields f = { 0 };
    CHECK_OK(&c, grids_of_house(&c.run, k.h, 0.25, &f, &c.problems));
    CHECK("three floors and the promised height", f.grids.n == 4);
    CHECK("order", f.grids.v[0].floor == 0 && f.grids.v[1].floor == 0 && f.grids.v[2].floor == 1);
    CHECK_NEAR("height", f.grids.v[1].z_m, 0.7, 1e-12, "m");
    CHECK_NEAR("upstairs", f.grids.v[2].z_m, 3.85, 1e-12, "m");
    const struct grid *g = &f.grids.v[0];
    CHECK("size", g->nx == 32 && g->ny == 24);
    uint32_t inside = 0, in_hall = 0;
    for (uint32_t i = 0; i < g->nx * g->ny; i++) {
        inside += g->inside[i];
        in_hall += g->room[i] == 0;
    }
    CHECK("all cells inside", inside == 32 * 24);
    CHECK("cells of the hall", in_hall == 8 * 16); /* 2.1 m and 3.9 m hold the centres of 8 and 16 cells */
    const struct grid *garden = &f.grids.v[3];
    inside = 0;
    for (uint32_t i = 0; i < garden->nx * garden->ny; i++)
        inside += garden->inside[i];
    CHECK("an L of 26 square metres", inside == 26 * 16);
    CHECK("a cell of nothing is refused", grids_of_house(&c.run, k.h, 0.0, &f, &c.problems) == RT_LIMIT &&
                                              grids_of_house(&c.run, k.h, 1e-5, &f, &c.problems) == RT_LIMIT);
    check_run_end(&c);
}

TEST(stopping_and_running_out_are_errors)
{
    struct check_run c = check_run_begin();
    struct kit k = kit_begin(&c);
    cottage_build(&k, COTTAGE_HERE);
    struct scene *s = kit_scene(&k);
    struct ap_radio radios[3];
    cottage_radios(&COTTAGE_HERE, radios);
    const atomic_bool stop = true;
    struct fields f = { 0 };
    c.run.cancel = &stop;
    CHECK_OK(&c, grids_of_house(&c.run, k.h, 1.0, &f, &c.problems));
    CHECK("cancelled",
          fields_compute(&c.run, k.h, s, (ap_radio_list){ radios, 3 }, USUAL, &f, &c.problems) == RT_CANCELLED);
    enum rt_code code = RT_NOMEM;
    int stops = 0;
    for (size_t limit = 4000; code != RT_OK; limit += limit / 2, stops++) {
        struct run run = { .arena = arena_new(limit), .n_threads = 2 };
        struct rt_problems problems;
        rt_problems_init(&problems, run.arena);
        struct fields got = { 0 };
        code = grids_of_house(&run, k.h, 1.0, &got, &problems);
        if (code == RT_OK)
            code = fields_compute(&run, k.h, s, (ap_radio_list){ radios, 3 },
                                  (struct field_options){ .trace = { .order = 1 }, .cell_m = 1.0 }, &got, &problems);
        CHECK("ends cleanly", code == RT_OK || code == RT_NOMEM);
        arena_free(run.arena);
    }
    CHECK("was short at first", stops > 3);
    check_run_end(&c);
}

/* A ray mirrored in the very corner of two walls passes the second one no less than its neighbours do: the antenna and the spot
 * lie on either side of it. */
TEST(no_ray_slips_through_a_corner)
{
    for (int closed = 0; closed < 2; closed++) { /* a wall that ends in the corner, and one that goes on behind it */
        struct check_run c = check_run_begin();
        struct kit k = kit_begin(&c);
        kit_floor(&k, 0.0, 3.0, kit_box(&k, 0, 0, 12, 6), NULL, NULL);
        kit_wall_from(&k, "mirror", 0, "steel", 0, 0, closed ? 5 : 12, 0);
        kit_wall_from(&k, "between", 0, "brick_solid", 5, 0, 5, 6);
        struct scene *s = kit_scene(&k);
        struct ap_radio radio = kit_radio(5.5e9, (struct vec3){ 2.25, 3.25, 1.2 });
        struct field_options options = USUAL;
        options.cell_m = 0.5;
        options.trace.diffraction = false;
        const struct fields f = compute(&k, s, &radio, 1, options, 1);
        /* The cell at 7.75, 3.25 mirrors at x = 5; it and the one on either side. */
        const double here = (double)field_gain_db(&f, 0, 0, 15, 6);
        const double left = (double)field_gain_db(&f, 0, 0, 14, 6), right = (double)field_gain_db(&f, 0, 0, 16, 6);
        CHECK_NEAR("between its neighbours", here, 0.5 * (left + right), 1.5, "dB");
        CHECK_NEAR("as the spot's own paths", here,
                   kit_spot(&k, s, &radio, (struct vec3){ 7.75, 3.25, 1.2 }, options.trace, NULL), 0.03, "dB");
        check_run_end(&c);
    }
}
