#include "proofs.h"

#include <math.h>
#include <sys/resource.h>

#include "house_rules.h"
#include "z3_kit.h"

enum {
    SEGMENTS = 12,
    ZONES = ZONE_SEGMENT + SEGMENTS,
    HOURS = 12,
    RULES_A_DEVICE = 5,
    Z3_PAIRS = 10,
    Z3_RULES = 10,
    ARENA_MB = 1024
};

static void must(enum rt_code code, struct rt_problems *p)
{
    if (code == RT_OK)
        return;
    struct buf text = { .arena = p->arena };
    rt_problems_format(p, &text);
    fprintf(stderr, "%.*s", STR_ARG(buf_done(&text)));
    exit(2);
}

static struct rules_size size_of(uint32_t rules)
{
    return (struct rules_size){ rules, SEGMENTS, rules / RULES_A_DEVICE, HOURS };
}

/* What a proof of a table costs, and finds. */
struct proof_cost {
    double judge_s, pairs_s, findings_s, memory_mb, all_memory_mb;
    uint32_t n_open, n_nodes;
    finding_list found;
};

/* Conversations that begin in one zone and go to another. */
static struct match pair_match(struct arena *a, uint32_t from, uint32_t to)
{
    struct match m = { 0 };
    bool failed = false;
    match_narrow_to(a, &m, AXIS_FROM, from, from, &failed);
    match_narrow_to(a, &m, AXIS_TO, to, to, &failed);
    match_narrow_to(a, &m, AXIS_STATE, STATE_NEW, STATE_NEW, &failed);
    if (failed)
        abort();
    return m;
}

/* Which zone reaches which, with an example each. */
static uint32_t ask_pairs(struct arena *a, struct space *s, packet_set accepted)
{
    uint32_t n = 0;
    for (uint32_t from = 0; from < ZONES; from++)
        for (uint32_t to = 0; to < ZONES; to++) {
            const struct match m = pair_match(a, from, to);
            struct packet example;
            n += set_witness(s, set_and(s, accepted, set_of(s, &m)), &example);
        }
    return n;
}

static struct proof_cost measure(const struct run *outer, enum family family, struct rules_size size,
                                 struct rt_problems *p)
{
    struct run run = *outer;
    run.arena = arena_new((size_t)ARENA_MB << 20);
    if (!run.arena)
        abort();
    const struct table t = house_rules(run.arena, family, size);
    const struct week_kind week = house_week(run.arena, size.hours);
    const size_t before = arena_used(run.arena);
    struct proof_cost c = { 0 };
    struct space *s;
    struct judgement *j;
    const double start = cpu_s();
    must(space_new(&run, family, 0, &s, p), p);
    must(judge_table(s, &t, &week, &j, p), p);
    const packet_set accepted = judged_accept(j);
    const double judged = cpu_s();
    c.n_open = ask_pairs(run.arena, s, accepted);
    const double asked = cpu_s();
    c.memory_mb = (double)(arena_used(run.arena) - before) / 1e6;
    c.n_nodes = space_size(s);
    must(space_state(s, p), p);
    const double finding = cpu_s();
    must(table_findings(s, &t, &week, &c.found, p), p);
    c.findings_s = cpu_s() - finding;
    c.all_memory_mb = (double)(arena_used(run.arena) - before) / 1e6;
    c.judge_s = judged - start;
    c.pairs_s = asked - judged;
    c.found.v = NULL; /* counts stay, words go */
    arena_free(run.arena);
    return c;
}

/* The least of a few times, as for the other benchmarks. */
static struct proof_cost best_of(const struct run *run, enum family family, struct rules_size size, int times,
                                 struct rt_problems *p)
{
    struct proof_cost best = measure(run, family, size, p);
    for (int i = 1; i < times; i++) {
        const struct proof_cost c = measure(run, family, size, p);
        best.judge_s = fmin(best.judge_s, c.judge_s);
        best.pairs_s = fmin(best.pairs_s, c.pairs_s);
        best.findings_s = fmin(best.findings_s, c.findings_s);
    }
    return best;
}

static void add_cost(const struct run *run, struct rows *rows, enum family family, struct rules_size size,
                     const struct proof_cost *c)
{
    struct arena *a = run->arena;
    const char *words = arena_printf(a, "%u rules, IPv%d", size.rules, family == FAMILY_IPV4 ? 4 : 6);
    rows_add(rows, arena_printf(a, "%s: every packet judged, all %d pairs of zones asked", words, ZONES * ZONES),
             1e3 * (c->judge_s + c->pairs_s), 1, "ms",
             arena_printf(a, "%u devices; %u pairs may begin to talk, an example of each; %u nodes", size.devices,
                          c->n_open, c->n_nodes));
    rows_add(rows, arena_printf(a, "%s: memory of it", words), c->memory_mb, 1, "MB",
             "of sets and nodes that are kept");
    rows_add(rows, arena_printf(a, "%s: all that is odd about the table", words), 1e3 * c->findings_s, 1, "ms",
             arena_printf(a, "%llu unreachable, %llu redundant, %llu pairs that contradict each other",
                          (unsigned long long)c->found.all[FINDING_UNREACHABLE],
                          (unsigned long long)c->found.all[FINDING_REDUNDANT],
                          (unsigned long long)(c->found.all[FINDING_SHADOWED] + c->found.all[FINDING_CORRELATED] +
                                               c->found.all[FINDING_GENERALISED])));
}

/* ---- the same questions to Z3 ---- */

static double z3_asked_s(struct prover *v, Z3_ast question, bool *may_hold)
{
    const double start = cpu_s();
    Z3_solver_push(v->z3, v->solver);
    Z3_solver_assert(v->z3, v->solver, question);
    *may_hold = Z3_solver_check(v->z3, v->solver) == Z3_L_TRUE;
    Z3_solver_pop(v->z3, v->solver, 1);
    return cpu_s() - start;
}

static void bench_z3(const struct run *run, struct rows *rows, uint32_t rules, struct rt_problems *p)
{
    struct arena *a = run->arena;
    const struct rules_size size = size_of(rules);
    const struct proof_cost ours = best_of(run, FAMILY_IPV4, size, 3, p);
    const struct table t = house_rules(a, FAMILY_IPV4, size);
    const struct week_kind week = house_week(a, size.hours);
    struct prover v;
    prover_begin(&v, FAMILY_IPV4);
    v.table = &t;
    v.week = &week;
    Z3_solver_dec_ref(v.z3, v.solver);
    v.solver = Z3_mk_solver_for_logic(v.z3, Z3_mk_string_symbol(v.z3, "QF_BV"));
    Z3_solver_inc_ref(v.z3, v.solver);
    const double start = cpu_s();
    const Z3_ast verdicts = table_in_z3(&v, 0);
    const Z3_ast through = Z3_mk_eq(v.z3, does(&v, verdicts), number(&v, ACTION_ACCEPT, 2));
    Z3_solver_assert(v.z3, v.solver, v.bounds);
    const double told_s = cpu_s() - start;
    double pairs_s = 0.0, rules_s = 0.0;
    bool may;
    for (uint32_t i = 0; i < Z3_PAIRS; i++) {
        const uint32_t pair = i * (ZONES * ZONES) / Z3_PAIRS;
        const struct match m = pair_match(a, pair / ZONES, pair % ZONES);
        pairs_s += z3_asked_s(&v, both(&v, match_in_z3(&v, &m), through), &may);
    }
    for (uint32_t i = 0; i < Z3_RULES; i++)
        rules_s += z3_asked_s(&v, is_decided_by(&v, verdicts, 1 + i * size.rules / Z3_RULES), &may);
    prover_end(&v);
    const double all_pairs_s = told_s + pairs_s / Z3_PAIRS * ZONES * ZONES,
                 all_rules_s = told_s + rules_s / Z3_RULES * size.rules;
    const char *words = arena_printf(a, "%u rules, IPv4", rules);
    rows_add(rows, arena_printf(a, "%s: all pairs of zones by Z3", words), all_pairs_s, 1, "s",
             arena_printf(a, "%d pairs asked, %.2f s each, the rest taken to be alike", Z3_PAIRS, pairs_s / Z3_PAIRS));
    rows_add(rows, arena_printf(a, "%s: Z3's time over ours", words), all_pairs_s / (ours.judge_s + ours.pairs_s), 0,
             "times", "");
    rows_add(rows, arena_printf(a, "%s: which rules are reached, by Z3", words), all_rules_s, 1, "s",
             arena_printf(a, "%d rules asked, %.2f s each, the rest taken to be alike", Z3_RULES, rules_s / Z3_RULES));
    rows_add(rows, arena_printf(a, "%s: Z3's time over ours", words), all_rules_s / ours.findings_s, 0, "times",
             "ours finds redundant rules and pairs in that time too");
}

static void bench_growth(const struct run *run, struct rows *rows, struct rt_problems *p)
{
    struct arena *a = run->arena;
    rows_heading(rows, "How a proof grows (IPv4, judging and all pairs of zones)");
    for (uint32_t rules = 125; rules <= 8000; rules *= 2) {
        const struct proof_cost c = best_of(run, FAMILY_IPV4, size_of(rules), rules < 4000 ? 3 : 1, p);
        rows_add(rows, arena_printf(a, "%u rules", rules), 1e3 * (c.judge_s + c.pairs_s), 1, "ms",
                 arena_printf(a, "%u devices, %u nodes, %.1f MB; oddities %.1f ms", rules / RULES_A_DEVICE, c.n_nodes,
                              c.memory_mb, 1e3 * c.findings_s));
    }
    for (uint32_t devices = 50; devices <= 800; devices *= 2) {
        const struct proof_cost c =
            best_of(run, FAMILY_IPV4, (struct rules_size){ 1000, SEGMENTS, devices, HOURS }, 3, p);
        rows_add(rows, arena_printf(a, "1000 rules, %u devices", devices), 1e3 * (c.judge_s + c.pairs_s), 1, "ms",
                 arena_printf(a, "%u nodes", c.n_nodes));
    }
    for (uint32_t hours = 1; hours <= HOUSE_HOURS_MAX; hours *= 4) {
        const struct proof_cost c = best_of(run, FAMILY_IPV4, (struct rules_size){ 1000, SEGMENTS, 200, hours }, 3, p);
        rows_add(rows, arena_printf(a, "1000 rules, %u kinds of hours", hours), 1e3 * (c.judge_s + c.pairs_s), 1, "ms",
                 arena_printf(a, "%u nodes", c.n_nodes));
    }
}

void bench_proofs(const struct run *run, struct rows *rows, struct rt_problems *p)
{
    rows_heading(rows, "Proofs: tables of rules like a house's, one core");
    for (uint32_t rules = 1000; rules <= 10000; rules *= 10)
        for (enum family f = FAMILY_IPV4; f < FAMILY_COUNT; f++) {
            const struct proof_cost c = best_of(run, f, size_of(rules), rules < 10000 ? 5 : 2, p);
            add_cost(run, rows, f, size_of(rules), &c);
        }
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    rows_add(rows, "memory: most resident so far", (double)usage.ru_maxrss / 1e3, 1, "MB", "whole process");
    bench_z3(run, rows, 100, p);
    bench_z3(run, rows, 1000, p);
    bench_growth(run, rows, p);
}
