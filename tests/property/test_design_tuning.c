/* Settings of radios as plain numbers: against trying everything, against a second solver, and against colourings of graphs. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/compiler.h"
#include "base/units.h"
#include "check.h"
#include "design/tuning.h"

enum { RADIOS_MAX = 12, OPTIONS_MAX = 8, NODES_MAX_OF_GRAPH = 11 };

struct kit {
    struct check_run c;
    struct tuning q;
    VEC(struct tune_pair) pairs;
};

static struct kit kit_begin(uint32_t n_radios)
{
    struct kit k = { .c = check_run_begin() };
    k.q.radios.v = ARENA_ARRAY(k.c.run.arena, struct tune_radio, n_radios);
    k.q.radios.n = n_radios;
    return k;
}

static void kit_options(struct kit *k, uint32_t radio, uint32_t n)
{
    struct tune_radio *r = &k->q.radios.v[radio];
    r->options.v = ARENA_ARRAY(k->c.run.arena, struct tune_option, n);
    r->options.n = n;
}

static void kit_pair(struct kit *k, uint32_t a, uint32_t option_a, uint32_t b, uint32_t option_b, double cost)
{
    CHECK("room", VEC_PUSH(k->c.run.arena, &k->pairs, ((struct tune_pair){ a, b, option_a, option_b, cost })));
    k->q.pairs.v = k->pairs.v;
    k->q.pairs.n = k->pairs.n;
}

static struct tuning_answer kit_solve(struct kit *k)
{
    struct tuning_answer answer;
    CHECK_OK(&k->c, tuning_solve(&k->c.run, &k->q, 60.0, &answer, &k->c.problems));
    CHECK("proven", answer.is_best);
    CHECK_NEAR("its own sum", tuning_cost(&k->q, answer.options), answer.cost, 1e-9, "");
    CHECK_NEAR("bound", answer.bound, answer.cost, 1e-6, "");
    return answer;
}

/* ---- everything tried ---- */

/* The definition of the header, looked up pair by pair. */
static double plain_cost(const struct tuning *q, const uint32_t *options)
{
    double sum = 0.0;
    for (uint32_t k = 0; k < q->pairs.n; k++)
        if (options[q->pairs.v[k].a] == q->pairs.v[k].option_a && options[q->pairs.v[k].b] == q->pairs.v[k].option_b)
            sum += q->pairs.v[k].cost;
    for (uint32_t r = 0; r < q->radios.n; r++)
        sum += q->radios.v[r].options.v[options[r]].cost;
    return sum;
}

static double least_of_all(const struct tuning *q)
{
    uint32_t options[RADIOS_MAX] = { 0 };
    double least = (double)INFINITY;
    for (uint32_t r = 0; r < q->radios.n;) {
        least = fmin(least, plain_cost(q, options));
        for (r = 0; r < q->radios.n && ++options[r] == q->radios.v[r].options.n; r++)
            options[r] = 0;
    }
    return least;
}

/* Few different costs, so that many choices are alike; or any. */
static double random_cost(struct random *r, bool is_coarse)
{
    return is_coarse ? random_below(r, 3) : random_between(r, 0.0, 2.0);
}

static struct kit random_tuning(struct random *r)
{
    const uint32_t n = 2 + random_below(r, 4);
    const bool is_coarse = random_below(r, 2) == 0;
    const double chance = random_between(r, 0.2, 1.0), density = random_between(r, 0.1, 0.8);
    struct kit k = kit_begin(n);
    for (uint32_t a = 0; a < n; a++) {
        kit_options(&k, a, 1 + random_below(r, 5));
        for (uint32_t i = 0; i < k.q.radios.v[a].options.n; i++)
            k.q.radios.v[a].options.v[i].cost = random_cost(r, is_coarse);
    }
    for (uint32_t a = 0; a < n; a++)
        for (uint32_t b = a + 1; b < n; b++) {
            if (random_unit(r) > chance)
                continue;
            for (uint32_t i = 0; i < k.q.radios.v[a].options.n; i++)
                for (uint32_t j = 0; j < k.q.radios.v[b].options.n; j++)
                    if (random_unit(r) < density)
                        kit_pair(&k, a, i, b, j, 0.1 + random_cost(r, is_coarse));
        }
    k.q.has_mesh = random_below(r, 2) == 0;
    return k;
}

PROP(as_cheap_as_the_best_of_all, 50)
{
    struct kit k = random_tuning(r);
    const struct tuning_answer answer = kit_solve(&k);
    CHECK_NEAR("least", answer.cost, least_of_all(&k.q), 1e-7, "");
    check_run_end(&k.c);
}

/* Channels without foreign cells are alike, and broken in order: every radio has the same options, and they cost when equal or
 * next to each other in a group of three. */
PROP(empty_channels_are_alike, 20)
{
    const uint32_t n = 3 + random_below(r, 3), n_groups = 1 + random_below(r, 2), width = 1 + random_below(r, 3);
    struct kit k = kit_begin(n);
    for (uint32_t a = 0; a < n; a++) {
        kit_options(&k, a, n_groups * width);
        for (uint32_t i = 0; i < n_groups * width; i++)
            k.q.radios.v[a].options.v[i].cost = 0.125 * (i % width);
    }
    for (uint32_t a = 0; a < n; a++)
        for (uint32_t b = a + 1; b < n; b++) {
            const double weight = random_between(r, 0.1, 1.0);
            for (uint32_t i = 0; i < n_groups * width; i++)
                for (uint32_t j = 0; j < n_groups * width; j++)
                    if (i / width == j / width && (i == j || i % width == 0 || j % width == 0))
                        kit_pair(&k, a, i, b, j, weight);
        }
    const struct tuning_answer answer = kit_solve(&k);
    CHECK_NEAR("least", answer.cost, least_of_all(&k.q), 1e-7, "");
    check_run_end(&k.c);
}

TEST(the_same_answer_each_time)
{
    struct random r = { 7, 7, 0 }, again = { 7, 7, 0 };
    for (int i = 0; i < 10; i++) {
        struct kit k = random_tuning(&r), l = random_tuning(&again);
        const struct tuning_answer x = kit_solve(&k), y = kit_solve(&l);
        for (uint32_t a = 0; a < k.q.radios.n; a++)
            CHECK("option", x.options[a] == y.options[a]);
        check_run_end(&k.c);
        check_run_end(&l.c);
    }
}

TEST(nothing_to_choose)
{
    struct kit k = kit_begin(0);
    CHECK_NEAR("no radio", kit_solve(&k).cost, 0.0, 0.0, "");
    check_run_end(&k.c);
    k = kit_begin(2);
    for (uint32_t a = 0; a < 2; a++) {
        kit_options(&k, a, 1);
        k.q.radios.v[a].options.v[0].cost = 0.25;
    }
    kit_pair(&k, 0, 0, 1, 0, 2.0);
    CHECK_NEAR("one way", kit_solve(&k).cost, 2.5, 1e-12, "");
    check_run_end(&k.c);
}

/* ---- a second solver ---- */

/* The optimum that glpsol (GNU Linear Programming Kit) finds in the text. */
static double second_opinion(struct check_run *c, const struct tuning *q)
{
    struct buf lp = { .arena = c->run.arena };
    tuning_write_lp(q, &lp);
    CHECK("written", !lp.failed && lp.n > 0);
    char path[] = "/tmp/rooftree_tuning_XXXXXX";
    const int fd = mkstemp(path);
    CHECK("a file", fd >= 0 && write(fd, lp.p, lp.n) == (ssize_t)lp.n && close(fd) == 0);
    FILE *f = popen(arena_printf(c->run.arena, "glpsol --lp %s -o /dev/stdout", path), "re");
    assert_non_null(f);
    double found = RT_NOT_GIVEN;
    bool is_optimal = false;
    for (char line[400]; fgets(line, sizeof line, f);) {
        if (!strncmp(line, "Objective:  cost = ", 19))
            found = strtod(line + 19, NULL);
        is_optimal |= !strncmp(line, "Status:     INTEGER OPTIMAL", 27);
    }
    CHECK("it ran", pclose(f) == 0);
    CHECK("it is sure", is_optimal);
    unlink(path);
    return found;
}

TEST(a_second_solver_agrees)
{
    if (system("command -v glpsol > /dev/null") != 0) {
        print_message("skipped: glpsol is not here (package glpk-utils)\n");
        skip();
    }
    struct random r = { 11, 3, 0 };
    for (int i = 0; i < 15; i++) {
        struct kit k = random_tuning(&r);
        const struct tuning_answer answer = kit_solve(&k);
        CHECK_NEAR("glpsol", answer.cost, second_opinion(&k.c, &k.q), 1e-6, "");
        check_run_end(&k.c);
    }
}

/* ---- colours ---- */

struct graph {
    const char *name;
    uint32_t n;
    uint32_t chromatic; /* number */
    const char *edges;  /* two letters each, from a */
};

/* Facts of the textbooks (from memory: Diestel, Graph Theory, chapter 5): an even cycle needs two colours, an odd one three, the
 * complete graph all, Petersen's graph three; Groetzsch's graph, without triangles, needs four. */
static const struct graph GRAPHS[] = {
    { "path of 3", 3, 2, "abbc" },
    { "cycle of 4", 4, 2, "abbccdda" },
    { "cycle of 5", 5, 3, "abbccddeea" },
    { "cycle of 7", 7, 3, "abbccddeeffgga" },
    { "complete graph of 4", 4, 4, "abacadbcbdcd" },
    { "complete bipartite graph of 3 and 3", 6, 2, "adaeafbdbebfcdcecf" },
    { "Petersen", 10, 3, "abbccddeeaafbgchdiejfhhjjggiif" },
    { "Groetzsch", 11, 4, "abbccddeeafbfeagcghbhdiciejdjakfkgkhkikj" },
};

static struct kit colouring(const struct graph *g, uint32_t n_colours)
{
    struct kit k = kit_begin(g->n);
    for (uint32_t v = 0; v < g->n; v++)
        kit_options(&k, v, n_colours);
    for (const char *e = g->edges; *e; e += 2) {
        const uint32_t x = (uint32_t)(e[0] - 'a'), y = (uint32_t)(e[1] - 'a');
        for (uint32_t colour = 0; colour < n_colours; colour++)
            kit_pair(&k, x < y ? x : y, colour, x < y ? y : x, colour, 1.0);
    }
    return k;
}

/* Fewest edges with ends of one colour, all colourings tried (the first node's colour is the first). */
static uint32_t fewest_conflicts(const struct graph *g, uint32_t n_colours)
{
    uint32_t colours[NODES_MAX_OF_GRAPH] = { 0 }, least = UINT32_MAX;
    for (uint32_t v = 1; v < g->n;) {
        uint32_t n = 0;
        for (const char *e = g->edges; *e; e += 2)
            n += colours[e[0] - 'a'] == colours[e[1] - 'a'];
        least = n < least ? n : least;
        for (v = 1; v < g->n && ++colours[v] == n_colours; v++)
            colours[v] = 0;
    }
    return least;
}

TEST(no_conflict_with_as_many_channels_as_colours_are_needed)
{
    for (size_t i = 0; i < RT_COUNT(GRAPHS); i++)
        for (uint32_t n = 1; n <= GRAPHS[i].chromatic + 1; n++) {
            struct kit k = colouring(&GRAPHS[i], n);
            const struct tuning_answer answer = kit_solve(&k);
            CHECK(GRAPHS[i].name, (answer.cost < 0.5) == (n >= GRAPHS[i].chromatic));
            if (n < GRAPHS[i].chromatic)
                CHECK_NEAR(GRAPHS[i].name, answer.cost, fewest_conflicts(&GRAPHS[i], n), 1e-6, "edges");
            check_run_end(&k.c);
        }
}
