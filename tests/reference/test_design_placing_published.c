/* Placings whose least price others have published, and others' solver for those that are made by chance.
 *
 * Covering problems as placings: an offer at each point, price 1; a cell for each triple or line, all of them wanted.
 *
 * - Steiner triple systems (Fulkerson, Nemhauser, Trotter 1974, from memory): A9 takes 5, A27 takes 18.  A9 is the affine plane of
 *   order 3, A27 the affine space; what is left out is a set without a line, of at most 4 and 9 points (Pellegrino 1970 for the
 *   larger dimensions; the numbers as in the On-Line Encyclopedia of Integer Sequences, A090245; from memory).
 * - Lines of the projective spaces of 3 and 4 dimensions over two elements: a set that meets all lines has as many points as a
 *   hyperplane, 7 and 15 (a theorem of 1966 on the smallest sets of points that meet all subspaces of a dimension, from memory).
 *
 * The set-covering instances that are mostly used, those of Beasley's OR-Library, are files that have to be fetched: they are not in
 * the tree, and could not be typed from memory. */
#include <stdlib.h>
#include <unistd.h>

#include "check.h"
#include "placing_house_kit.h"

static const struct placing_limits LIMITS = { .seconds = 600, .nodes = 500000 };

/* ---- covers ---- */

struct triples {
    uint32_t n_points;
    VEC(uint32_t) points; /* three each */
};

static void add_triple(struct arena *a, struct triples *t, uint32_t i, uint32_t j, uint32_t k)
{
    CHECK("memory", VEC_PUSH(a, &t->points, i) && VEC_PUSH(a, &t->points, j) && VEC_PUSH(a, &t->points, k));
}

/* Lines of the affine space of so many dimensions over three elements: i, j and the third, that makes each coordinate's sum 0. */
static struct triples affine(struct arena *a, uint32_t n_dimensions)
{
    struct triples t = { .n_points = 1 };
    for (uint32_t d = 0; d < n_dimensions; d++)
        t.n_points *= 3;
    for (uint32_t i = 0; i < t.n_points; i++)
        for (uint32_t j = i + 1; j < t.n_points; j++) {
            uint32_t third = 0;
            for (uint32_t d = 0, power = 1; d < n_dimensions; d++, power *= 3)
                third += power * ((6 - i / power % 3 - j / power % 3) % 3);
            if (third > j)
                add_triple(a, &t, i, j, third);
        }
    return t;
}

/* Lines of the projective space over two elements: i, j and their sum, of the vectors but 0. */
static struct triples projective(struct arena *a, uint32_t n_dimensions)
{
    struct triples t = { .n_points = (2u << n_dimensions) - 1 };
    for (uint32_t i = 1; i <= t.n_points; i++)
        for (uint32_t j = i + 1; j <= t.n_points; j++)
            if ((i ^ j) > j)
                add_triple(a, &t, i - 1, j - 1, (i ^ j) - 1);
    return t;
}

static struct placing cover_of(struct arena *a, const struct triples *t)
{
    struct kit k = { .a = a };
    k.q.n_sites = t->n_points;
    KIT_LIST(&k, &k.q.offers, struct place_offer, t->n_points);
    for (uint32_t o = 0; o < t->n_points; o++)
        k.q.offers.v[o] = (struct place_offer){ .site = o, .piece = NO_REF, .price = 1, .poe_class = -1 };
    KIT_LIST(&k, &k.q.needs, struct place_need, 1);
    struct place_need *need = k.q.needs.v;
    KIT_LIST(&k, &need->cells, struct place_cell, t->points.n / 3);
    need->wanted = need->cells.n;
    for (uint32_t c = 0; c < need->cells.n; c++) {
        need->cells.v[c].weight = 1;
        KIT_LIST(&k, &need->cells.v[c].clauses, struct place_clause, 1);
        need->cells.v[c].clauses.v[0] = (struct place_clause){ 1, { &t->points.v[3 * c], 3 } };
    }
    k.q.at_most = INT64_MAX;
    k.q.budget_promise = NO_REF;
    return k.q;
}

static void check_cover(const char *what, struct triples (*make)(struct arena *, uint32_t), uint32_t n_dimensions,
                        uint32_t n_triples, double least)
{
    struct check_run c = check_run_begin();
    const struct triples t = make(c.run.arena, n_dimensions);
    const struct placing q = cover_of(c.run.arena, &t);
    struct placing_answer answer;
    CHECK_NEAR("triples", t.points.n / 3, n_triples, 0, "");
    CHECK_OK(&c, placing_solve(&c.run, &q, NULL, NULL, LIMITS, &answer, &c.problems));
    CHECK("proven", answer.is_found && answer.is_best);
    CHECK_NEAR(what, (double)answer.price, least, 0, "");
    CHECK("it holds", placing_holds(&q, NULL, &answer));
    check_run_end(&c);
}

TEST(points_that_meet_every_triple)
{
    check_cover("A9", affine, 2, 12, 5);
    check_cover("A27", affine, 3, 117, 18);
}

TEST(points_that_meet_every_line)
{
    check_cover("PG(3,2)", projective, 3, 35, 7);
    check_cover("PG(4,2)", projective, 4, 155, 15);
}

/* ---- another solver ---- */

/* The least value by glpsol (Debian: glpk-utils); a negative number: there is no choice. */
static double by_glpk(struct check_run *c, const struct placing *q)
{
    char lp[] = "/tmp/placing_XXXXXX", report[sizeof lp + 4], command[200], line[300];
    struct buf text = { .arena = c->run.arena };
    double value = NAN;
    bool is_impossible = false;
    placing_write_lp(q, NULL, &text);
    CHECK("written", !text.failed);
    const int file = mkstemp(lp);
    CHECK("file", file >= 0 && write(file, text.p, text.n) == (ssize_t)text.n && close(file) == 0);
    snprintf(report, sizeof report, "%s.out", lp);
    snprintf(command, sizeof command, "glpsol --lp %s --output %s 2>&1", lp, report);
    FILE *run = popen(command, "r");
    CHECK("glpsol runs", run != NULL);
    while (fgets(line, sizeof line, run))
        is_impossible |= strstr(line, "NO INTEGER FEASIBLE") || strstr(line, "NO PRIMAL FEASIBLE") ||
                         strstr(line, "NO FEASIBLE SOLUTION");
    CHECK("glpsol is there and reads the file (Debian package glpk-utils)", pclose(run) == 0);
    FILE *out = fopen(report, "r");
    while (out && fgets(line, sizeof line, out))
        if (!strncmp(line, "Objective:", 10) && strchr(line, '='))
            value = strtod(strchr(line, '=') + 1, NULL);
    if (out)
        fclose(out);
    remove(lp);
    remove(report);
    return is_impossible ? -1 : value;
}

static uint32_t n_found, n_none;

PROP(another_solver_comes_to_the_same, 25)
{
    struct check_run c = check_run_begin();
    const struct kit k = kit_placing(c.run.arena, r);
    struct placing_answer answer;
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &answer, &c.problems));
    const double price = by_glpk(&c, &k.q);
    CHECK_NEAR("least price", answer.is_found ? (double)answer.price : -1, price, 1e-6, "");
    n_found += answer.is_found;
    n_none += !answer.is_found;
    check_run_end(&c);
}

TEST(the_random_ones_were_of_both_kinds) { CHECK("some can be had, some not", n_found >= 5 && n_none >= 2); }

/* A small house: fewer sites and cells, all kinds of promise. */
TEST(another_solver_comes_to_the_same_for_a_house)
{
    struct check_run c = check_run_begin();
    struct random r = { 1, 1, 0 };
    const struct kit_house h = { 14, 20, 3, 3, 0.7, true, true };
    const struct kit k = kit_house_placing(c.run.arena, &r, &h);
    struct placing_answer answer;
    CHECK_OK(&c, placing_solve(&c.run, &k.q, NULL, NULL, LIMITS, &answer, &c.problems));
    CHECK("found and proven", answer.is_found && answer.is_best);
    CHECK_NEAR("least price", (double)answer.price, by_glpk(&c, &k.q), 1e-6, "");
    check_run_end(&c);
}
