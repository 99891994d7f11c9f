/* Houses rehearsed on this kernel: its verdicts on real packets are the outside check of policy, proof and export together.
 * Nothing leaves the namespaces, which end with the child process that holds them. */
#include "rehearse_kit.h"

static void rehearse_file(const char *below_root)
{
    struct reach r = reach_file(below_root);
    struct rehearsal *out;
    const enum rt_code code = rehearse(&r.c.run, r.policy, NULL, &out, &r.c.problems);
    if (rehearse_is_forbidden(&r.c, code))
        skip();
    CHECK_OK(&r.c, code);
    rehearse_check(&r.c, out);
    reach_end(&r);
}

TEST(larch_end) { rehearse_file("houses/larch_end.house.yaml"); }
TEST(quay_flat) { rehearse_file("houses/quay_flat.house.yaml"); }
TEST(whin_farm) { rehearse_file("houses/whin_farm.house.yaml"); }
/* The common household policy in five lines (common practice, no source). */
TEST(five_lines) { rehearse_file("tests/houses/five_lines.house.yaml"); }

/* ---- a small house with a bit of everything ---- */

static const char SMALL[] = REACH_HOUSE REACH_LINE
    "segments:\n"
    "  family: {}\n"
    "  things: {known_only: true}\n"
    "people: {ada: {kind: adult}}\n"
    "devices:\n"
    "  laptop: {kind: laptop, room: hall, at_m: [1, 1, 1], segment: family, link: wifi, owner: ada}\n"
    "  tablet: {kind: tablet, room: hall, at_m: [1, 2, 1], segment: family, link: wifi}\n"
    "  server: {kind: server, room: hall, at_m: [2, 1, 1], segment: things, link: wired, offers: [https, ssh]}\n"
    "  lamp: {kind: light, room: hall, at_m: [3, 1, 1], segment: things, link: wifi, offers: [http]}\n"
    "hours:\n"
    "  night: {days: [mon, tue, wed, thu, fri, sat, sun], from: \"21:00\", to: \"06:00\"}\n"
    "  office: {days: [mon, tue, wed, thu, fri], from: \"08:00\", to: \"18:00\"}\n"
    "statements:\n"
    "  - {id: dark, from: tablet, to: internet, verdict: refuse, hours: night}\n"
    "  - {id: out, from: segment:family, to: internet, verdict: allow}\n"
    "  - {id: copies, from: server, to: backup.example, services: [https], verdict: allow}\n"
    "  - {id: desk, from: laptop, to: server, services: [ssh], verdict: allow, hours: office}\n"
    "  - {id: web, from: segment:family, to: server, services: [https], verdict: allow}\n"
    "  - {id: ring, from: lamp, to: laptop, services: [mqtts], verdict: allow}\n"
    "port_openings:\n"
    "  from_work: {device: server, service: ssh, from: [45.9.8.0/24]}\n"
    "remote_access:\n"
    "  away: {segment: family, port: 51820, people: [ada]}\n";

TEST(hours_end_conversations_that_run)
{
    struct reach r = reach_compile(SMALL);
    struct rehearsal *out;
    const enum rt_code code = rehearse(&r.c.run, r.policy, NULL, &out, &r.c.problems);
    if (rehearse_is_forbidden(&r.c, code))
        skip();
    CHECK_OK(&r.c, code);
    rehearse_check(&r.c, out);
    CHECK_NEAR("states of two sets of hours: none, all, each alone", out->n_rounds, 4, 0, "rounds");
    CHECK("the tablet's, when the night begins; the laptop's, when the office ends", out->n_cut >= 2);
    CHECK("others live on", out->n_conversations > out->n_cut);
    reach_end(&r);
}

/* ---- a rehearsal that could not fail would be worth nothing ---- */

struct tamper {
    const char *statement; /* its rules are taken away */
    uint32_t n_changed;
};

/* Where the rule that begins here ends: a long one goes on in lines that stand further in. */
static const char *end_of_rule(const char *line)
{
    const size_t in = strspn(line, " ");
    const char *end = strchr(line, '\n') + 1;
    while (in > 0 && *end && strspn(end, " ") > in && !strchr("#}\n", end[strspn(end, " ")]))
        end = strchr(end, '\n') + 1;
    return end;
}

static struct str tamper_with(void *user, struct arena *a, struct str rules)
{
    struct tamper *t = user;
    struct buf out = { .arena = a };
    const char *id = arena_printf(a, ", %s, line ", t->statement);
    t->n_changed = 0;
    for (const char *line = rules.p; *line;) {
        const char *first_end = strchr(line, '\n');
        const bool opens = first_end > line && first_end[-1] == '{'; /* a chain, not a rule */
        const char *end = opens ? first_end + 1 : end_of_rule(line);
        const char *text = arena_printf(a, "%.*s", (int)(end - line), line);
        if (!opens && strstr(text, "comment \"rule ") && strstr(text, id))
            t->n_changed++;
        else
            buf_text(&out, text);
        line = end;
    }
    return buf_done(&out);
}

/* Without the rules of a statement the kernel does otherwise than is proven, and the differences name that statement's rules. */
static void expect_differences(const char *statement)
{
    struct reach r = reach_compile(SMALL);
    struct rehearsal *out;
    struct tamper t = { .statement = statement };
    const struct rehearse_options options = { tamper_with, &t };
    const enum rt_code code = rehearse(&r.c.run, r.policy, &options, &out, &r.c.problems);
    if (rehearse_is_forbidden(&r.c, code))
        skip();
    CHECK_OK(&r.c, code);
    CHECK("rules were taken away", t.n_changed > 0);
    CHECK("the kernel does otherwise", out->disagreed.n > 0 && out->n_agreed < out->n_probes);
    const uint32_t index = REACH_FIND(&r, statements, statement);
    for (uint32_t i = 0; i < out->disagreed.n; i++) {
        const struct rule *rule = out->disagreed.v[i].rule;
        CHECK("the statement is named", rule && rule->origin == ORIGIN_STATEMENT && rule->which == index);
    }
    reach_end(&r);
}

TEST(a_lost_permission_is_noticed) { expect_differences("web"); }
TEST(a_lost_refusal_is_noticed) { expect_differences("dark"); }
TEST(a_lost_name_is_noticed) { expect_differences("copies"); }

/* With too little memory a rehearsal says so, wherever it runs out; with a bit more it goes through. */
TEST(little_memory_is_told)
{
    struct reach r = reach_compile(SMALL);
    enum rt_code code = RT_NOMEM;
    unsigned n_told = 0;
    for (size_t limit = 1 << 12; code == RT_NOMEM && limit < (size_t)1 << 31; limit += limit / 3) {
        struct rehearsal *out;
        struct rt_problems problems;
        struct run little = r.c.run;
        little.arena = arena_new(limit);
        assert_non_null(little.arena);
        rt_problems_init(&problems, r.c.run.arena);
        code = rehearse(&little, r.policy, NULL, &out, &problems);
        arena_free(little.arena);
        if (rehearse_is_forbidden(&(struct check_run){ .problems = problems }, code))
            skip();
        n_told += code == RT_NOMEM && problems.n_errors > 0;
        CHECK("too little, or enough", code == RT_NOMEM || code == RT_OK);
    }
    CHECK("it goes through in the end", code == RT_OK);
    CHECK("it was too little more than once", n_told > 5);
    reach_end(&r);
}
