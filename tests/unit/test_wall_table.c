#include "radio/wall_table.h"

#include "base/file.h"
#include "base/units.h"
#include "check.h"
#include "data/constructs.h"
#include "data/materials.h"
#include "radio/slab.h"

enum { LAYERS_MAX = 16 };

static const double FREQUENCIES_HZ[] = { 2.437e9, 5.22e9, 5.5e9, 6.465e9, 7.085e9 };

/* Puts up a wall of every construct, as the table leaves out what the house is not built of. */
static void build_walls(struct arena *a, struct house *h)
{
    h->walls.n = h->constructs.n;
    h->walls.v = ARENA_ARRAY(a, struct wall, h->walls.n);
    for (uint32_t i = 0; i < h->walls.n; i++)
        h->walls.v[i].construct.i = i;
}

/* A house of walls of the library's constructs. */
static struct house *house_of_built_ins(struct arena *a)
{
    struct house *h = ARENA_NEW(a, struct house);
    h->constructs.n = built_in_construct_count();
    h->constructs.v = ARENA_ARRAY(a, struct construct, h->constructs.n);
    for (uint32_t i = 0; i < h->constructs.n; i++) {
        const struct built_in_construct *b = built_in_construct_get(i);
        struct construct *c = &h->constructs.v[i];
        c->id = str_from(b->id);
        c->layers.n = b->n_layers;
        c->layers.v = ARENA_ARRAY(a, struct layer, b->n_layers);
        for (uint32_t k = 0; k < b->n_layers; k++)
            c->layers.v[k] =
                (struct layer){ .material = str_from(b->layers[k].material), .thickness_m = b->layers[k].thickness_m };
        c->measured.n = b->n_measured;
        c->measured.v = ARENA_ARRAY(a, struct measured_loss, b->n_measured);
        for (uint32_t k = 0; k < b->n_measured; k++)
            c->measured.v[k] = (struct measured_loss){ .band_ghz = b->measured[k].band_ghz,
                                                       .loss_db = b->measured[k].loss_db,
                                                       .low_db = b->measured[k].low_db,
                                                       .high_db = b->measured[k].high_db };
    }
    build_walls(a, h);
    return h;
}

/* One construct of given layers and, if not NaN, one measured loss for 5 GHz. */
static struct house *house_of_one(struct arena *a, const char *material, double thickness_m, double measured_db)
{
    struct house *h = ARENA_NEW(a, struct house);
    struct construct *c = ARENA_NEW(a, struct construct);
    h->constructs.v = c;
    h->constructs.n = 1;
    c->layers.n = material ? 1u : 0u;
    c->layers.v = ARENA_NEW(a, struct layer);
    if (material)
        c->layers.v[0] = (struct layer){ .material = str_from(material), .thickness_m = thickness_m };
    c->measured.n = isnan(measured_db) ? 0u : 1u;
    c->measured.v = ARENA_NEW(a, struct measured_loss);
    c->measured.v[0] = (struct measured_loss){
        .band_ghz = 5, .loss_db = measured_db, .low_db = RT_NOT_GIVEN, .high_db = RT_NOT_GIVEN
    };
    build_walls(a, h);
    return h;
}

static struct wall_table table_of(struct check_run *c, const struct house *h, double f_hz, enum estimate estimate)
{
    struct wall_table t;
    CHECK_OK(c, wall_table_build(&c->run, h, f_hz, estimate, &t, &c->problems));
    return t;
}

static struct slab_waves slab_of(const struct construct *c, double f_hz, double cos_incidence)
{
    struct slab_layer layers[LAYERS_MAX];
    for (uint32_t k = 0; k < c->layers.n; k++)
        layers[k] = (struct slab_layer){ material_permittivity(material_find(c->layers.v[k].material), f_hz),
                                         c->layers.v[k].thickness_m };
    return slab_at(layers, c->layers.n, f_hz, cos_incidence);
}

static double power(double complex a) { return creal(a) * creal(a) + cimag(a) * cimag(a); }

/* The rule of wall_table.h, said once more: loss and reflected power of one wave at one angle. */
static void want_of(const struct construct *c, double f_hz, double measured_db, double cos_incidence, bool te,
                    double *loss_db, double *mirror)
{
    const struct slab_waves w = slab_of(c, f_hz, cos_incidence);
    const struct slab_wave wave = te ? w.te : w.tm;
    const double slab_db = slab_loss_db(wave.t), square_on_db = slab_loss_db(slab_of(c, f_hz, 1.0).te.t);
    *loss_db = slab_db;
    if (!isnan(measured_db) && measured_db <= 2.0 * square_on_db)
        *loss_db = slab_db * measured_db / square_on_db;
    else if (!isnan(measured_db))
        *loss_db = 2.0 * slab_db + (measured_db - 2.0 * square_on_db);
    *loss_db = fmin(*loss_db, 200.0);
    *mirror = fmin(power(wave.r), 1.0 - units_ratio_from_db(-*loss_db));
}

/* Both waves of one construct at n random angles; keeps the largest errors. */
static void check_between_nodes(struct check_run *c, const struct construct *con, const struct wall_table *t,
                                uint32_t i, struct random *r, int n, double *worst_db, double *worst_mirror)
{
    const double measured_db = wall_measured_db(con, t->f_hz, t->estimate);
    for (int k = 0; k < n; k++) {
        const double cosine = cos(units_rad_from_deg(random_between(r, 0.0, 90.0)));
        const bool te = k % 2;
        double loss_db, mirror;
        want_of(con, t->f_hz, measured_db, cosine, te, &loss_db, &mirror);
        const struct wall_effect got = wall_table_at(t, i, (float)cosine, te ? 1.0f : 0.0f);
        const char *what = arena_printf(c->run.arena, "%.*s, %s, %.3f GHz, estimate %d, cosine %.5f", STR_ARG(con->id),
                                        te ? "TE" : "TM", t->f_hz / 1e9, (int)t->estimate, cosine);
        if (loss_db < 60.0) {
            CHECK_NEAR(what, wall_loss_db((double)got.pass), loss_db, 0.05, "dB through");
            *worst_db = fmax(*worst_db, fabs(wall_loss_db((double)got.pass) - loss_db));
        }
        CHECK_NEAR(what, (double)got.mirror, mirror, fmax(3e-3, 0.0116 * mirror), "of the power, mirrored");
        *worst_mirror = fmax(*worst_mirror, fabs((double)got.mirror - mirror));
    }
}

TEST(between_the_nodes_the_table_is_right)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of_built_ins(c.run.arena);
    struct random r = { .seed = 20261125 };
    double worst_db = 0.0, worst_mirror = 0.0;
    for (size_t f = 0; f < RT_COUNT(FREQUENCIES_HZ); f++)
        for (int e = ESTIMATE_CAREFUL; e <= ESTIMATE_HOPEFUL; e++) {
            const struct wall_table t = table_of(&c, h, FREQUENCIES_HZ[f], (enum estimate)e);
            for (uint32_t i = 0; i < h->constructs.n; i++)
                check_between_nodes(&c, &h->constructs.v[i], &t, i, &r, 200, &worst_db, &worst_mirror);
        }
    print_message("    largest error: %.4f dB through, %.5f of the power mirrored\n", worst_db, worst_mirror);
    check_run_end(&c);
}

PROP(no_wall_makes_energy, 20)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of_built_ins(c.run.arena);
    const enum estimate estimate = (enum estimate)random_below(r, 3);
    const struct wall_table t = table_of(&c, h, random_between(r, 2.4e9, 7.1e9), estimate);
    for (uint32_t i = 0; i < h->constructs.n; i++)
        for (int k = 0; k < 100; k++) {
            const struct wall_effect e = wall_table_at(&t, i, (float)random_unit(r), (float)random_unit(r));
            CHECK(built_in_construct_get(i)->id, e.pass >= 0.0f && e.mirror >= 0.0f && e.pass + e.mirror <= 1.00001f);
        }
    check_run_end(&c);
}

TEST(the_careful_never_loses_less_than_the_hopeful)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of_built_ins(c.run.arena);
    for (size_t f = 0; f < RT_COUNT(FREQUENCIES_HZ); f++) {
        const struct wall_table careful = table_of(&c, h, FREQUENCIES_HZ[f], ESTIMATE_CAREFUL);
        const struct wall_table middle = table_of(&c, h, FREQUENCIES_HZ[f], ESTIMATE_MIDDLE);
        const struct wall_table hopeful = table_of(&c, h, FREQUENCIES_HZ[f], ESTIMATE_HOPEFUL);
        for (uint32_t i = 0; i < h->constructs.n; i++)
            for (int k = 0; k <= 40; k++) {
                const float cosine = (float)k / 40.0f, te = (float)(k % 3) / 2.0f;
                const float low = wall_table_at(&careful, i, cosine, te).pass;
                const float mid = wall_table_at(&middle, i, cosine, te).pass;
                const float high = wall_table_at(&hopeful, i, cosine, te).pass;
                CHECK(built_in_construct_get(i)->id, low <= mid * 1.0001f && mid <= high * 1.0001f);
            }
    }
    check_run_end(&c);
}

TEST(measured_loss_scales_the_slab_at_every_angle)
{
    /* The measured loss stands square on; over the angle the slab's shape stays, in dB, up to twice the slab. */
    struct check_run c = check_run_begin();
    const double f_hz = 5.5e9;
    for (double measured_db = 2.0; measured_db < 16.0; measured_db += 2.1) {
        const struct house *h = house_of_one(c.run.arena, "brick", 0.1025, measured_db);
        const struct wall_table t = table_of(&c, h, f_hz, ESTIMATE_MIDDLE);
        CHECK_NEAR("square on", wall_loss_db((double)wall_table_at(&t, 0, 1.0f, 0.5f).pass), measured_db, 0.001, "dB");
        const double slab_db = slab_loss_db(slab_of(h->constructs.v, f_hz, 1.0).te.t); /* 4.1 */
        const double scale = fmin(measured_db / slab_db, 2.0), rest_db = fmax(measured_db - 2.0 * slab_db, 0.0);
        for (double deg = 5.0; deg < 80.0; deg += 5.0) {
            const double cosine = cos(units_rad_from_deg(deg));
            const struct slab_waves w = slab_of(h->constructs.v, f_hz, cosine);
            CHECK_NEAR("TE", wall_loss_db((double)wall_table_at(&t, 0, (float)cosine, 1.0f).pass),
                       slab_loss_db(w.te.t) * scale + rest_db, 0.05, "dB");
            CHECK_NEAR("TM", wall_loss_db((double)wall_table_at(&t, 0, (float)cosine, 0.0f).pass),
                       slab_loss_db(w.tm.t) * scale + rest_db, 0.05, "dB");
        }
    }
    check_run_end(&c);
}

TEST(measured_loss_without_layers_is_the_same_at_every_angle)
{
    struct check_run c = check_run_begin();
    const struct wall_table t = table_of(&c, house_of_one(c.run.arena, NULL, 0, 7.0), 5.5e9, ESTIMATE_CAREFUL);
    for (float cosine = 0.0f; cosine <= 1.0f; cosine += 0.05f) {
        const struct wall_effect e = wall_table_at(&t, 0, cosine, 0.3f);
        CHECK_NEAR("7 dB", wall_loss_db((double)e.pass), 7.0, 0.001, "dB");
        CHECK_NEAR("nothing mirrored", (double)e.mirror, 0.0, 1e-12, "");
    }
    check_run_end(&c);
}

TEST(measured_less_than_the_slab_leaves_room_for_it)
{
    struct check_run c = check_run_begin();
    const struct wall_table t = table_of(&c, house_of_one(c.run.arena, "metal", 0.001, 0.0), 5.5e9, ESTIMATE_CAREFUL);
    const struct wall_effect e = wall_table_at(&t, 0, 0.7f, 0.5f);
    CHECK_NEAR("measured 0 dB: all passes", (double)e.pass, 1.0, 1e-6, "of the power");
    CHECK_NEAR("and nothing is left to mirror", (double)e.mirror, 0.0, 1e-6, "of the power");
    check_run_end(&c);
}

TEST(bands_and_estimates)
{
    struct measured_loss rows[] = {
        { .band_ghz = 6, .loss_db = 12, .low_db = 8, .high_db = 20 },
        { .band_ghz = 2.4, .loss_db = 4, .low_db = RT_NOT_GIVEN, .high_db = 5 },
    };
    const struct construct c = { .measured = { rows, 2 } };
    CHECK_NEAR("2.4, middle", wall_measured_db(&c, 2.412e9, ESTIMATE_MIDDLE), 4, 0, "dB");
    CHECK_NEAR("2.4, careful", wall_measured_db(&c, 2.472e9, ESTIMATE_CAREFUL), 5, 0, "dB");
    CHECK_NEAR("2.4, hopeful: not given", wall_measured_db(&c, 2.437e9, ESTIMATE_HOPEFUL), 4, 0, "dB");
    CHECK_NEAR("6, careful, lowest channel", wall_measured_db(&c, 5.955e9, ESTIMATE_CAREFUL), 20, 0, "dB");
    CHECK_NEAR("6, hopeful, highest channel", wall_measured_db(&c, 7.115e9, ESTIMATE_HOPEFUL), 8, 0, "dB");
    CHECK_NEAR("below all", wall_measured_db(&c, 1e9, ESTIMATE_MIDDLE), 4, 0, "dB");
    CHECK_NEAR("above all", wall_measured_db(&c, 9e9, ESTIMATE_MIDDLE), 12, 0, "dB");
    /* Half way between the bands' edges in log f. */
    CHECK_NEAR("between", wall_measured_db(&c, sqrt(2.4835e9 * 5.925e9), ESTIMATE_MIDDLE), 8, 1e-9, "dB");
    const struct construct none = { 0 };
    CHECK("none", isnan(wall_measured_db(&none, 5e9, ESTIMATE_CAREFUL)));
}

TEST(amplitudes_agree_with_the_powers_and_the_slab)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of_built_ins(c.run.arena);
    for (size_t f = 0; f < RT_COUNT(FREQUENCIES_HZ); f++) {
        const struct wall_table t = table_of(&c, h, FREQUENCIES_HZ[f], ESTIMATE_MIDDLE);
        const double k0 = 2.0 * RT_PI * t.f_hz / RT_C0_M_S;
        for (uint32_t i = 0; i < h->constructs.n; i++) {
            double d_m = 0.0;
            for (uint32_t k = 0; k < h->constructs.v[i].layers.n; k++)
                d_m += h->constructs.v[i].layers.v[k].thickness_m;
            for (double deg = 3.0; deg < 85.0; deg += 7.3) {
                const double cosine = cos(units_rad_from_deg(deg));
                const struct slab_waves w = slab_of(&h->constructs.v[i], t.f_hz, cosine);
                const struct wall_amplitudes a = wall_amplitudes_at(&t, i, (float)cosine);
                for (int wave = 0; wave < 2; wave++) {
                    const struct wall_effect e = wall_table_at(&t, i, (float)cosine, wave == 0 ? 1.0f : 0.0f);
                    const double complex ta = (double complex)a.t[wave], ra = (double complex)a.r[wave];
                    const char *id = built_in_construct_get(i)->id;
                    CHECK_NEAR(id, power(ta), (double)e.pass, 1e-4 * (double)e.pass, "");
                    CHECK_NEAR(id, power(ra), (double)e.mirror, 1e-4 * (double)e.mirror + 1e-9, "");
                    /* Phases: those of the slab, moved from the faces to the middle (one thickness of air less). */
                    const double complex moved = cexp(CMPLX(0.0, k0 * d_m * cosine));
                    const double complex t_slab = (wave ? w.tm.t : w.te.t) * moved;
                    const double complex r_slab = (wave ? w.tm.r : w.te.r) * moved;
                    if (cabs(t_slab) > 1e-8)
                        CHECK_NEAR(id, carg(ta / t_slab), 0.0, 0.02, "rad");
                    if (cabs(r_slab) > 0.05 && cabs(ra) > 0.05)
                        CHECK_NEAR(id, carg(ra / r_slab), 0.0, 0.02, "rad");
                }
            }
        }
    }
    check_run_end(&c);
}

/* Half of a solid turns a wave by half the angle of the whole: squared it is the whole's direction (of the mean of both
 * polarisations, from the table that is held against the slab above), and it never jumps from one angle to the next, not where
 * the whole passes 180 degrees either, as a thick one does several times. */
TEST(half_a_solid_turns_by_half_without_a_jump)
{
    struct check_run c = check_run_begin();
    for (size_t f = 0; f < RT_COUNT(FREQUENCIES_HZ); f++) {
        struct house *h = house_of_one(c.run.arena, "wood", 0.3, RT_NOT_GIVEN);
        struct obstacle solid = { .construct.i = 0,
                                  .outline = { .v = ARENA_ARRAY(c.run.arena, struct vec2, 4), .n = 4 } };
        h->obstacles.v = &solid;
        h->obstacles.n = 1;
        const struct wall_table t = table_of(&c, h, FREQUENCIES_HZ[f], ESTIMATE_MIDDLE);
        float complex last = wall_half_at(&t, 0, 1.0f);
        double turned_rad = 0.0;
        for (int i = 1; i <= 4000; i++) {
            const float u = 1.0f - (float)i / 4200.0f;
            const struct wall_amplitudes a = wall_amplitudes_at(&t, 0, u * u);
            const double complex half = (double complex)wall_half_at(&t, 0, u * u);
            const double complex whole = (double complex)a.t[0] + (double complex)a.t[1];
            CHECK_NEAR("squared", cabs(half * half - whole / cabs(whole)), 0.0, 0.02, "");
            const double step_rad = carg(half / (double complex)last);
            CHECK_NEAR("step", step_rad, 0.0, 0.1, "rad");
            turned_rad += 2.0 * step_rad;
            last = (float complex)half;
        }
        CHECK("the whole passes 180 degrees", fabs(turned_rad) > RT_PI);
    }
    check_run_end(&c);
}

TEST(thin_walls_obey_the_sheet_rule)
{
    /* On a sheet the tangential E is the same on both sides, so 1 + r = t for TE; for TM with ratios of tangential H the
     * electric field gives 1 - r = t.  Holds in the middle plane of a thin layer of high conductance. */
    struct check_run c = check_run_begin();
    const struct wall_table t =
        table_of(&c, house_of_one(c.run.arena, "low_e_coating", 1e-7, RT_NOT_GIVEN), 2.437e9, ESTIMATE_MIDDLE);
    for (float cosine = 0.1f; cosine < 1.0f; cosine += 0.1f) {
        const struct wall_amplitudes a = wall_amplitudes_at(&t, 0, cosine);
        CHECK_NEAR("TE", power(1.0 + (double complex)a.r[0] - (double complex)a.t[0]), 0.0, 1e-5, "");
        CHECK_NEAR("TM", power(1.0 - (double complex)a.r[1] - (double complex)a.t[1]), 0.0, 1e-5, "");
    }
    check_run_end(&c);
}

TEST(te_and_tm_mix_in_power)
{
    struct check_run c = check_run_begin();
    const struct wall_table t = table_of(&c, house_of_built_ins(c.run.arena), 5.5e9, ESTIMATE_MIDDLE);
    for (uint32_t i = 0; i < t.n_constructs; i++) {
        const struct wall_effect te = wall_table_at(&t, i, 0.4f, 1.0f), tm = wall_table_at(&t, i, 0.4f, 0.0f);
        const struct wall_effect mix = wall_table_at(&t, i, 0.4f, 0.25f);
        CHECK_NEAR("through", (double)mix.pass, 0.25 * (double)te.pass + 0.75 * (double)tm.pass, 1e-6, "");
        CHECK_NEAR("mirrored", (double)mix.mirror, 0.25 * (double)te.mirror + 0.75 * (double)tm.mirror, 1e-6, "");
    }
    check_run_end(&c);
}

TEST(any_cosine_gives_a_number)
{
    struct check_run c = check_run_begin();
    const struct wall_table t = table_of(&c, house_of_built_ins(c.run.arena), 5.5e9, ESTIMATE_CAREFUL);
    static const float COSINES[] = { -1.0f, -1e-7f, 0.0f, 1e-30f, 1e-7f, 0.5f, 0.9999999f, 1.0f, 1.0000001f, 3.0f };
    for (uint32_t i = 0; i < t.n_constructs; i++)
        for (size_t k = 0; k < RT_COUNT(COSINES); k++) {
            const struct wall_effect e = wall_table_at(&t, i, COSINES[k], 0.5f);
            const struct wall_amplitudes a = wall_amplitudes_at(&t, i, COSINES[k]);
            CHECK("finite", isfinite(wall_loss_db((double)e.pass)) && isfinite(wall_loss_db((double)e.mirror)));
            CHECK("finite", isfinite(crealf(a.t[0])) && isfinite(cimagf(a.r[1])));
        }
    check_run_end(&c);
}

TEST(same_bytes_for_any_number_of_threads)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of_built_ins(c.run.arena);
    const struct wall_table one = table_of(&c, h, 5.5e9, ESTIMATE_CAREFUL);
    static const int THREADS[] = { 2, 7 };
    for (size_t i = 0; i < RT_COUNT(THREADS); i++) {
        c.run.n_threads = THREADS[i];
        const struct wall_table many = table_of(&c, h, 5.5e9, ESTIMATE_CAREFUL);
        const size_t n = ((size_t)one.n_constructs + 1) * WALL_TABLE_NODES; /* all are used, and the empty row */
        CHECK("same bytes", memcmp(one.pass, many.pass, n * sizeof *one.pass) == 0);
        CHECK("same bytes", memcmp(one.mirror, many.mirror, n * sizeof *one.mirror) == 0);
        CHECK("same bytes", memcmp(one.phase, many.phase, n * sizeof *one.phase) == 0);
    }
    check_run_end(&c);
}

TEST(only_what_the_house_is_built_of)
{
    struct check_run c = check_run_begin();
    struct house *h = house_of_built_ins(c.run.arena);
    /* Every place where a construct may be named. */
    struct floor floor = { .slab = { .i = 1 }, .ceiling = { .i = 2 } };
    struct opening door = { .construct = { .i = 4 } };
    struct wall wall = { .construct = { .i = 3 }, .openings = { &door, 1 } };
    struct plane roof = { .construct = { .i = 5 } };
    struct obstacle tank = { .construct = { .i = 6 } };
    h->floors.v = &floor, h->floors.n = 1;
    h->walls.v = &wall, h->walls.n = 1;
    h->planes.v = &roof, h->planes.n = 1;
    h->obstacles.v = &tank, h->obstacles.n = 1;
    const struct wall_table t = table_of(&c, h, 2.437e9, ESTIMATE_HOPEFUL);
    for (uint32_t i = 0; i < t.n_constructs; i++)
        CHECK(built_in_construct_get(i)->id, (wall_table_at(&t, i, 1.0f, 0.5f).pass > 0.0f) == (i >= 1 && i <= 6));
    wall.construct.i = door.construct.i = floor.slab.i = floor.ceiling.i = NO_REF;
    CHECK("a gap has no construct", table_of(&c, h, 2.437e9, ESTIMATE_HOPEFUL).n_constructs == h->constructs.n);
    check_run_end(&c);
}

/* Asked for again the same table is there; another frequency, estimate or house has another, and each says what it would say alone. */
TEST(tables_that_are_kept)
{
    struct check_run c = check_run_begin();
    const struct house *houses[] = { house_of_built_ins(c.run.arena),
                                     house_of_one(c.run.arena, "brick", 0.1, RT_NOT_GIVEN) };
    static const double F_HZ[] = { 2.437e9, 5.25e9 };
    struct wall_tables kept = { .run = &c.run };
    const struct wall_table *found[2][2][2], *again;
    for (int round = 0; round < 2; round++)
        for (int i = 0; i < 8; i++) {
            const int h = i & 1, f = i >> 1 & 1, e = i >> 2;
            const enum estimate estimate = e ? ESTIMATE_HOPEFUL : ESTIMATE_CAREFUL;
            CHECK_OK(&c, wall_tables_get(&kept, houses[h], F_HZ[f], estimate, &again, &c.problems));
            CHECK("the same", round == 0 || again == found[h][f][e]);
            found[h][f][e] = again;
            const struct wall_table alone = table_of(&c, houses[h], F_HZ[f], estimate);
            for (uint32_t k = 0; k < houses[h]->constructs.n; k++)
                CHECK("as alone",
                      wall_table_at(again, k, 0.7f, 0.5f).pass == wall_table_at(&alone, k, 0.7f, 0.5f).pass);
        }
    for (int i = 0; i < 8; i++)
        for (int k = 0; k < i; k++)
            CHECK("eight of them", found[i & 1][i >> 1 & 1][i >> 2] != found[k & 1][k >> 1 & 1][k >> 2]);
    check_run_end(&c);
}

TEST(errors)
{
    struct check_run c = check_run_begin();
    const struct house *h = house_of_one(c.run.arena, "unobtainium", 0.1, RT_NOT_GIVEN);
    struct wall_table t;
    CHECK("an unknown material is an error",
          wall_table_build(&c.run, h, 5e9, ESTIMATE_MIDDLE, &t, &c.problems) == RT_UNKNOWN_REF);
    const struct house *all = house_of_built_ins(c.run.arena);
    /* Every ceiling that does not suffice is a clean error. */
    bool passed = false;
    for (size_t limit = 1 << 10; !passed; limit *= 2) {
        struct arena *a = arena_new(limit);
        struct run run = { .arena = a, .n_threads = 1 };
        const enum rt_code code = wall_table_build(&run, all, 5e9, ESTIMATE_MIDDLE, &t, &c.problems);
        CHECK("no memory, or done", code == RT_NOMEM || code == RT_OK);
        passed = code == RT_OK;
        arena_free(a);
    }
    check_run_end(&c);
}
