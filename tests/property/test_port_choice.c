/* Ports and parts of random small problems, against every possible choice tried one by one. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "check.h"
#include "wire/port_choice.h"

enum { SITES = 2, PARTS = 2, GROUPS = 2, PLUGS = 3 };

struct made {
    struct choice_group groups[SITES][PARTS][GROUPS];
    struct choice_part parts[SITES][PARTS];
    struct choice_site sites[SITES];
    struct choice_join joins[PLUGS][SITES];
    struct choice_want wants[PLUGS][PARTS];
    struct choice_plug plugs[PLUGS];
    double shelf;
    struct choice_problem q;
};

static unsigned below(struct random *r, unsigned n) { return (unsigned)random_below(r, n); }

static struct choice_group random_group(struct random *r)
{
    static const double SPEEDS[] = { 100, 1000, 2500 };
    static const int CLASSES[] = { -1, 3, 4 };
    return (struct choice_group){ .count = 1 + below(r, 2),
                                  .media = below(r, 4) ? CHOICE_COPPER : CHOICE_FIBRE,
                                  .speed_mbps = SPEEDS[below(r, 3)],
                                  .poe_class = CLASSES[below(r, 3)],
                                  .is_up = below(r, 4) == 0,
                                  .is_closed = below(r, 8) == 0 };
}

static void random_sites(struct random *r, struct made *m)
{
    for (unsigned s = 0; s < SITES; s++) {
        for (unsigned k = 0; k < PARTS; k++) {
            for (unsigned g = 0; g < GROUPS; g++)
                m->groups[s][k][g] = random_group(r);
            m->parts[s][k] = (struct choice_part){ .price = below(r, 5) * 10,
                                                   .groups = m->groups[s][k],
                                                   .n_groups = 1 + below(r, GROUPS),
                                                   .budget_w = below(r, 2) ? (double)INFINITY : below(r, 60),
                                                   .units = below(r, 3) };
        }
        m->sites[s] = (struct choice_site){ .parts = m->parts[s],
                                            .n_parts = 1 + below(r, PARTS),
                                            .spare = below(r, 3) == 0 ? 1 + below(r, 2) : 0,
                                            .shelf = below(r, 2) ? 0 : CHOICE_NONE,
                                            .up = s == 1 && below(r, 2) ? 0 : CHOICE_NONE,
                                            .room_mbps = below(r, 3) ? (double)INFINITY : below(r, 300) };
    }
}

/* The first plug may bear a given port, the last two may be a set. */
static void random_plugs(struct random *r, struct made *m)
{
    static const double SPEEDS[] = { 0, 100, 1000, 2500 };
    static const int CLASSES[] = { -1, -1, 3, 4 };
    const bool is_set = below(r, 3) == 0;
    for (unsigned p = 0; p < PLUGS; p++) {
        for (unsigned w = 0; w < PARTS; w++)
            m->wants[p][w] = (struct choice_want){ CLASSES[below(r, 4)], below(r, 35), SPEEDS[below(r, 4)] };
        struct choice_plug *plug = &m->plugs[p];
        *plug = (struct choice_plug){ .media = below(r, 5) ? CHOICE_COPPER : CHOICE_FIBRE,
                                      .is_up = below(r, 4) == 0,
                                      .joins = m->joins[p],
                                      .n_joins = 1 + below(r, 2),
                                      .wants = m->wants[p],
                                      .follows = below(r, 3) ? CHOICE_NONE : below(r, SITES),
                                      .set = is_set && p ? 7 : CHOICE_NONE,
                                      .rate_mbps = below(r, 2) * 100 };
        for (unsigned j = 0; j < plug->n_joins; j++)
            m->joins[p][j] =
                (struct choice_join){ .site = plug->n_joins == 1 ? below(r, SITES) : j, .price = below(r, 4) * 7 };
        if (p == 0 && below(r, 3) == 0) {
            plug->n_joins = 1;
            plug->rate_mbps = 0;
            m->joins[p][0].port = 1 + below(r, 5);
        }
    }
}

static void random_problem(struct random *r, struct made *m)
{
    random_sites(r, m);
    random_plugs(r, m);
    m->shelf = 1 + below(r, 3);
    m->q = (struct choice_problem){ .sites = m->sites,
                                    .n_sites = SITES,
                                    .plugs = m->plugs,
                                    .n_plugs = PLUGS,
                                    .shelf_units = &m->shelf,
                                    .n_shelves = 1,
                                    .is_strict = below(r, 2) };
}

/* ---- every choice ---- */

struct
try {
    const struct made *m;
    unsigned n_used; /* plugs that take part: bits */
    uint32_t parts[SITES];
    struct {
        uint32_t join; /* CHOICE_NONE: nowhere */
        unsigned port;
        bool is_fed;
    } seat[PLUGS];
    double best[CHOICE_N_SUMS], least_hard, least_strict;
};

static const struct choice_group *port_of(const struct try *t, uint32_t site, unsigned number)
{
    const struct choice_part *part = &t->m->parts[site][t->parts[site]];
    for (unsigned g = 0, past = 0; g < part->n_groups; g++) {
        past += part->groups[g].count;
        if (number <= past)
            return &part->groups[g];
    }
    return NULL;
}

static uint32_t site_of(const struct try *t, unsigned p)
{
    return t->seat[p].join == CHOICE_NONE ? CHOICE_NONE : t->m->joins[p][t->seat[p].join].site;
}

static const struct choice_want *want_of(const struct try *t, unsigned p)
{
    const struct choice_plug *plug = &t->m->plugs[p];
    return &plug->wants[plug->follows == CHOICE_NONE ? 0 : t->parts[plug->follows]];
}

static bool is_allowed(const struct try *t)
{
    double watts[SITES] = { 0 }, mbps[SITES] = { 0 };
    unsigned n_of_set[SITES] = { 0 };
    for (unsigned p = 0; p < PLUGS; p++) {
        const uint32_t s = site_of(t, p);
        if (s == CHOICE_NONE)
            continue;
        watts[s] += t->seat[p].is_fed ? want_of(t, p)->watts : 0;
        mbps[s] += t->m->plugs[p].rate_mbps;
        if (s == 1 && t->m->sites[1].up == 0)
            mbps[0] += t->m->plugs[p].rate_mbps;
        n_of_set[s] += t->m->plugs[p].set != CHOICE_NONE;
    }
    for (unsigned s = 0; s < SITES; s++)
        if (watts[s] > t->m->parts[s][t->parts[s]].budget_w + 1e-9 || mbps[s] > t->m->sites[s].room_mbps + 1e-9 ||
            n_of_set[s] > 1)
            return false;
    return true;
}

static double lack_of_sites(const struct try *t, double *spare)
{
    double units = 0, over = 0;
    for (unsigned s = 0; s < SITES; s++) {
        unsigned n = 0;
        units += t->m->sites[s].shelf == 0 ? t->m->parts[s][t->parts[s]].units : 0;
        for (unsigned number = 1; port_of(t, s, number); number++) {
            const struct choice_group *g = port_of(t, s, number);
            bool is_free = g->media == CHOICE_COPPER && !g->is_up && !g->is_closed;
            for (unsigned p = 0; p < PLUGS; p++)
                is_free &= site_of(t, p) != s || t->seat[p].port != number;
            n += is_free;
        }
        *spare += n < t->m->sites[s].spare ? 10.0 * (t->m->sites[s].spare - n) : 0;
    }
    over = fmax(units - t->m->shelf, 0);
    return 100 * over;
}

static void measure(struct try *t)
{
    double sums[CHOICE_N_SUMS] = { 0 }, hard = 0, spare = 0, slow = 0;
    for (unsigned s = 0; s < SITES; s++)
        sums[CHOICE_PRICE] += (double)t->m->parts[s][t->parts[s]].price;
    for (unsigned p = 0; p < PLUGS; p++) {
        const uint32_t s = site_of(t, p);
        if (!(t->n_used >> p & 1))
            continue;
        if (s == CHOICE_NONE) {
            hard += 1000;
            continue;
        }
        const struct choice_group *g = port_of(t, s, t->seat[p].port);
        hard += want_of(t, p)->poe_class >= 0 && !t->seat[p].is_fed ? 100 : 0;
        slow += g->speed_mbps < want_of(t, p)->speed_mbps;
        sums[CHOICE_PRICE] += (double)t->m->joins[p][t->seat[p].join].price;
        sums[CHOICE_UP] += g->is_up != t->m->plugs[p].is_up;
        sums[CHOICE_CLASS] += g->poe_class + 1;
        sums[CHOICE_SPEED] += g->speed_mbps;
        sums[CHOICE_NUMBER] += t->seat[p].port;
    }
    hard += lack_of_sites(t, &spare);
    sums[CHOICE_LACK] = hard + spare + slow;
    t->least_hard = fmin(t->least_hard, hard);
    t->least_strict = fmin(t->least_strict, sums[CHOICE_LACK]);
    for (int i = 0; i < CHOICE_N_SUMS; i++) {
        if (fabs(sums[i] - t->best[i]) < 1e-9)
            continue;
        if (sums[i] < t->best[i])
            memcpy(t->best, sums, sizeof sums);
        return;
    }
}

static bool is_taken(const struct try *t, unsigned p, uint32_t site, unsigned number)
{
    for (unsigned o = 0; o < p; o++)
        if (site_of(t, o) == site && t->seat[o].port == number)
            return true;
    return p > 0 && (t->n_used & 1) && t->m->joins[0][0].port == number && t->m->joins[0][0].site == site;
}

static void try_plugs(struct try *t, unsigned p)
{
    if (p == PLUGS) {
        if (is_allowed(t))
            measure(t);
        return;
    }
    t->seat[p].join = CHOICE_NONE;
    t->seat[p].is_fed = false;
    try_plugs(t, p + 1);
    const struct choice_plug *plug = &t->m->plugs[p];
    for (unsigned j = 0; (t->n_used >> p & 1) && j < plug->n_joins; j++)
        for (unsigned number = 1; port_of(t, plug->joins[j].site, number); number++) {
            const struct choice_group *g = port_of(t, plug->joins[j].site, number);
            const unsigned given = plug->joins[j].port;
            const int class = want_of(t, p)->poe_class;
            if (given ? number != given : !(g->media & plug->media) || g->is_closed)
                continue;
            if (is_taken(t, p, plug->joins[j].site, number))
                continue;
            t->seat[p].join = j;
            t->seat[p].port = number;
            t->seat[p].is_fed = false;
            try_plugs(t, p + 1);
            t->seat[p].is_fed = true;
            if (class >= 0 && g->poe_class >= class)
                try_plugs(t, p + 1);
            t->seat[p].is_fed = false;
        }
    t->seat[p].join = CHOICE_NONE;
}

static struct try try_all(const struct made *m, unsigned used)
{
    struct try t = { .m = m, .n_used = used, .least_hard = INFINITY, .least_strict = INFINITY };
    for (int i = 0; i < CHOICE_N_SUMS; i++)
        t.best[i] = INFINITY;
    for (t.parts[0] = 0; t.parts[0] < m->sites[0].n_parts; t.parts[0]++)
        for (t.parts[1] = 0; t.parts[1] < m->sites[1].n_parts; t.parts[1]++)
            try_plugs(&t, 0);
    return t;
}

static double lack_with(const struct made *m, unsigned used)
{
    const struct try t = try_all(m, used);
    return m->q.is_strict ? t.least_strict : t.least_hard;
}

/* The conflict lacks something, and nothing any more without any one of its plugs. */
static void check_conflict(const struct made *m, const struct choice_answer *answer, const struct try *all)
{
    CHECK("a conflict is told where there is one",
          answer->has_conflict == ((m->q.is_strict ? all->least_strict : all->least_hard) > 0.01));
    unsigned used = 0;
    for (uint32_t i = 0; i < answer->n_conflict; i++)
        used |= 1u << answer->conflict[i];
    if (!answer->has_conflict)
        return;
    CHECK("these do not fit together", lack_with(m, used) > 0.01);
    for (unsigned p = 0; p < PLUGS; p++)
        if (used >> p & 1)
            CHECK("without any one of them the rest does", lack_with(m, used & ~(1u << p)) <= 0.01);
}

static struct {
    unsigned n, n_lacking, n_priced;
} tally;

PROP(the_choice_is_the_best_of_all, 250)
{
    struct check_run c = check_run_begin();
    struct made *m = ARENA_NEW(c.run.arena, struct made);
    random_problem(r, m);
    struct choice_answer answer, again;
    CHECK("solved", choice_solve(&c.run, &m->q, &answer) == RT_OK && answer.is_best);
    const struct try t = try_all(m, (1u << PLUGS) - 1);
    static const char *const NAMES[] = { "lack", "price", "up", "class", "speed", "number" };
    for (int i = 0; i < CHOICE_N_SUMS; i++)
        CHECK_NEAR(NAMES[i], answer.sums[i], t.best[i], 1e-6, "");
    CHECK_NEAR("the bound is the least", answer.bound, t.best[CHOICE_PRICE], 1e-6, "");
    check_conflict(m, &answer, &t);
    if (tally.n % 8 == 0) {
        CHECK("solved again", choice_solve(&c.run, &m->q, &again) == RT_OK);
        CHECK("the same parts", memcmp(answer.parts, again.parts, SITES * sizeof *again.parts) == 0);
        CHECK("the same seats", memcmp(answer.seats, again.seats, PLUGS * sizeof *again.seats) == 0);
    }
    tally.n++;
    tally.n_lacking += answer.has_conflict;
    tally.n_priced += answer.sums[CHOICE_PRICE] > 0;
    check_run_end(&c);
}

/* Runs after it: of both kinds there were enough to mean something. */
TEST(the_random_problems_were_of_both_kinds)
{
    if (!tally.n)
        return;
    printf("%u problems, %u with a conflict, %u with a price\n", tally.n, tally.n_lacking, tally.n_priced);
    CHECK("conflicts", tally.n_lacking > tally.n / 20 && tally.n_lacking < tally.n - tally.n / 20);
    CHECK("prices", tally.n_priced > tally.n / 2);
}
