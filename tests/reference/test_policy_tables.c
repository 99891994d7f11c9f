/* Rule tables of papers and of a public reference, with the answers given there: what is odd about them, and who reaches whom.
 *
 * The tables lie beside this file with their sources; table_anomalies.csv says of each answer whether it is published or was
 * found by going through all cells of the table one by one. */
#include "check.h"

#include <string.h>

#include "base/file.h"
#include "csv.h"
#include "reach/space.h"

enum { RULES_MAX = 16, ICMP = 1, TCP = 6, UDP = 17 };

struct example {
    struct check_run c;
    struct rule rules[RULES_MAX];
    struct chain chain;
    struct table table;
    bool failed;
};

static void narrow(struct example *e, struct rule *r, uint32_t axis, axis_value lo, axis_value hi)
{
    match_narrow_to(e->c.run.arena, &r->match, axis, lo, hi, &e->failed);
}

static void narrow_to_prefix(struct example *e, struct rule *r, uint32_t axis, struct str text)
{
    struct prefix p;
    if (str_is(text, "any"))
        return;
    CHECK("a prefix", prefix_read(text, &p));
    const struct span in = prefix_span(p);
    narrow(e, r, axis, in.lo, in.hi);
}

static void narrow_to_number(struct example *e, struct rule *r, uint32_t axis, struct str text)
{
    if (str_is(text, "any"))
        return;
    const axis_value n = str_is(text, "tcp") ? TCP : str_is(text, "udp") ? UDP : strtoul(text.p, NULL, 10);
    narrow(e, r, axis, n, n);
}

static struct str cell_or_any(const struct csv *t, uint32_t row, const char *column)
{
    for (uint32_t i = 0; i < t->n_columns; i++)
        if (str_is(t->columns[i], column))
            return csv_cell(t, row, column);
    return STR("any");
}

static void read_rule(struct example *e, const struct csv *t, uint32_t row)
{
    struct rule *r = &e->rules[row];
    *r = (struct rule){ .number = row + 1, .families = 1U << FAMILY_IPV4, .hours = { .i = NO_REF } };
    const bool has_ranges = str_is(cell_or_any(t, row, "source_lo"), "any") == false;
    if (has_ranges) {
        narrow(e, r, AXIS_SOURCE, (axis_value)csv_num(t, row, "source_lo"), (axis_value)csv_num(t, row, "source_hi"));
        narrow(e, r, AXIS_DESTINATION, (axis_value)csv_num(t, row, "destination_lo"),
               (axis_value)csv_num(t, row, "destination_hi"));
    } else {
        narrow_to_prefix(e, r, AXIS_SOURCE, csv_cell(t, row, "source"));
        narrow_to_prefix(e, r, AXIS_DESTINATION, csv_cell(t, row, "destination"));
    }
    narrow_to_number(e, r, AXIS_FROM, cell_or_any(t, row, "interface"));
    narrow_to_number(e, r, AXIS_PROTOCOL, cell_or_any(t, row, "protocol"));
    narrow_to_number(e, r, AXIS_SOURCE_PORT, cell_or_any(t, row, "source_port"));
    narrow_to_number(e, r, AXIS_DESTINATION_PORT, cell_or_any(t, row, "destination_port"));
    r->action = str_is(csv_cell(t, row, "action"), "accept") ? ACTION_ACCEPT : ACTION_DROP;
}

static void example_read(struct example *e, const char *file)
{
    *e = (struct example){ .c = check_run_begin() };
    const struct csv t = csv_read(e->c.run.arena, check_path(&e->c, file));
    for (uint32_t row = 0; row < t.rows.n; row++)
        read_rule(e, &t, row);
    CHECK("room", !e->failed && t.rows.n > 0);
    /* the tables end with a rule for the rest; what comes behind it must differ from it, or it would seem to be too much */
    e->chain = (struct chain){ .rules = { e->rules, t.rows.n } };
    e->chain.policy = e->rules[t.rows.n - 1].action == ACTION_ACCEPT ? ACTION_DROP : ACTION_ACCEPT;
    e->table = (struct table){ .chains = { &e->chain, 1 }, .n_rules = t.rows.n };
}

static struct space *space_for(struct example *e)
{
    struct space *s;
    CHECK_OK(&e->c, space_new(&e->c.run, FAMILY_IPV4, 0, &s, &e->c.problems));
    return s;
}

static bool is_found(const finding_list *f, enum finding_kind kind, uint32_t rule, uint32_t other)
{
    for (uint32_t i = 0; i < f->n; i++)
        if (f->v[i].kind == kind && f->v[i].rule == rule && (other == 0 || f->v[i].other == other))
            return true;
    return false;
}

/* "R4,R8" or "R4;R7;R9": the numbers; how many. */
static uint32_t read_numbers(struct str text, uint32_t out[RULES_MAX])
{
    uint32_t n = 0;
    for (size_t i = 0; i < text.n; i++)
        if (text.p[i] == 'R')
            out[n++] = (uint32_t)strtoul(text.p + i + 1, NULL, 10);
    return n;
}

static void check_removable(const finding_list *f, const uint32_t *rules, uint32_t n, uint32_t n_rules)
{
    for (uint32_t r = 1; r <= n_rules; r++) {
        bool want = false;
        for (uint32_t i = 0; i < n; i++)
            want |= rules[i] == r;
        CHECK("just the removable rules", is_found(f, FINDING_REDUNDANT, r, 0) == want);
    }
}

/* Checks the answers of one table; counts those of each kind. */
static void check_answers(struct example *e, const char *table, const finding_list *f, uint32_t n_of[FINDING_KINDS])
{
    const struct csv t = csv_read(e->c.run.arena, check_path(&e->c, "tests/reference/table_anomalies.csv"));
    uint32_t checked = 0;
    for (uint32_t row = 0; row < t.rows.n; row++) {
        if (!str_is(csv_cell(&t, row, "table"), table))
            continue;
        uint32_t r[RULES_MAX] = { 0 };
        const uint32_t n = read_numbers(csv_cell(&t, row, "rules"), r);
        const struct str what = csv_cell(&t, row, "anomaly");
        const char *words =
            arena_printf(e->c.run.arena, "%s: %.*s %.*s", table, STR_ARG(what), STR_ARG(csv_cell(&t, row, "rules")));
        checked++;
        if (str_is(what, "shadowing"))
            CHECK(words, is_found(f, FINDING_SHADOWED, r[1], r[0])), n_of[FINDING_SHADOWED]++;
        else if (str_is(what, "generalization"))
            CHECK(words, is_found(f, FINDING_GENERALISED, r[1], r[0])), n_of[FINDING_GENERALISED]++;
        else if (str_is(what, "correlation"))
            CHECK(words, is_found(f, FINDING_CORRELATED, r[1], r[0])), n_of[FINDING_CORRELATED]++;
        else if (str_is(what, "redundancy")) /* of the two, the one that the other does the work of */
            CHECK(words, is_found(f, FINDING_REDUNDANT, r[0], r[1]) || is_found(f, FINDING_REDUNDANT, r[1], r[0]));
        else if (str_is(what, "not_redundant"))
            CHECK(words, !is_found(f, FINDING_REDUNDANT, r[0], 0));
        else if (str_is(what, "unreachable"))
            CHECK(words, is_found(f, FINDING_UNREACHABLE, r[0], 0)), n_of[FINDING_UNREACHABLE]++;
        else if (str_is(what, "removable"))
            check_removable(f, r, n, e->table.n_rules);
        else
            CHECK(words, !"an answer that is understood");
    }
    CHECK("answers were there", checked > 0);
}

static finding_list find(struct example *e, struct space *s)
{
    finding_list f;
    CHECK_OK(&e->c, table_findings(s, &e->table, NULL, &f, &e->c.problems));
    return f;
}

/* Al-Shaer and Hamed 2004, figure 1: all pairs, and none beyond. */
TEST(twelve_rules_with_every_kind_of_pair)
{
    struct example e;
    uint32_t n_of[FINDING_KINDS] = { 0 };
    example_read(&e, "tests/reference/alshaer2004_rules.csv");
    const finding_list f = find(&e, space_for(&e));
    check_answers(&e, "alshaer2004_rules.csv", &f, n_of);
    CHECK("shadowing pairs", f.all[FINDING_SHADOWED] == n_of[FINDING_SHADOWED]);
    CHECK("correlated pairs", f.all[FINDING_CORRELATED] == n_of[FINDING_CORRELATED]);
    CHECK("generalised pairs", f.all[FINDING_GENERALISED] == n_of[FINDING_GENERALISED]);
    CHECK("unreachable rules", f.all[FINDING_UNREACHABLE] == n_of[FINDING_UNREACHABLE]);
    check_run_end(&e.c);
}

/* Cuppens, Cuppens-Boulahia and Garcia-Alfaro: rule 4 is covered by 1 and 2 together, and by no single rule. */
TEST(a_rule_that_no_pair_of_rules_shows_to_be_unreachable)
{
    struct example e;
    uint32_t n_of[FINDING_KINDS] = { 0 };
    example_read(&e, "tests/reference/cuppens_rules.csv");
    const finding_list f = find(&e, space_for(&e));
    check_answers(&e, "cuppens_rules.csv", &f, n_of);
    CHECK("unreachable rules", f.all[FINDING_UNREACHABLE] == 1);
    CHECK("no pair is shadowed", f.all[FINDING_SHADOWED] == 0);
    CHECK("correlated pairs", f.all[FINDING_CORRELATED] == n_of[FINDING_CORRELATED]);
    for (uint32_t i = 0; i < f.n; i++)
        if (f.v[i].kind == FINDING_UNREACHABLE) {
            CHECK("no rule in particular", f.v[i].other == 0);
            CHECK_TEXT("which ones", f.v[i].because,
                       STR("rules 1 and 2 together take all of its packets before they get to it"));
        }
    check_run_end(&e.c);
}

/* Gouda and Liu 2007: wrong order, what was left open, and what is too much. */
TEST(four_rules_of_structured_firewall_design)
{
    struct example e;
    uint32_t n_of[FINDING_KINDS] = { 0 };
    example_read(&e, "tests/reference/goudaliu2007_rules.csv");
    struct space *s = space_for(&e);
    const finding_list f = find(&e, s);
    check_answers(&e, "goudaliu2007_rules.csv", &f, n_of);
    struct judgement *j;
    CHECK_OK(&e.c, judge_table(s, &e.table, NULL, &j, &e.c.problems));
    struct packet p = { .family = FAMILY_IPV4 };
    p.at[AXIS_SOURCE] = 0xe0a80101;      /* 224.168.1.1, of the malicious block */
    p.at[AXIS_DESTINATION] = 0xc0a80001; /* 192.168.0.1, the mail server */
    p.at[AXIS_PROTOCOL] = TCP;
    p.at[AXIS_DESTINATION_PORT] = 25;
    CHECK("consistency: the malicious block reaches the mail server", set_holds(s, judged_accept(j), &p));
    p.at[AXIS_SOURCE] = 0x08080808;
    p.at[AXIS_DESTINATION_PORT] = 22;
    CHECK("completeness: what is no mail is accepted by the last rule", set_holds(s, judged_by(j, 4), &p));
    p.at[AXIS_DESTINATION] = 0xc0a80002;
    p.at[AXIS_DESTINATION_PORT] = 25;
    CHECK("completeness: mail to other hosts too", set_holds(s, judged_by(j, 4), &p));
    check_run_end(&e.c);
}

/* ---- tables with chains: dumps of a packet filter, read where they lie ---- */

struct dump {
    struct example e;
    struct chain chains[8];
    struct rule of_chain[8][RULES_MAX];
    char *interfaces[8]; /* as values of AXIS_FROM */
    uint32_t n_interfaces;
    struct str text;
};

static char *word_after(char *line, const char *option)
{
    char *at = strstr(line, option);
    return at ? at + strlen(option) : NULL;
}

static struct str word_at(const char *p) { return (struct str){ p, strcspn(p, " \n") }; }

static uint32_t chain_named(const struct dump *d, struct str name)
{
    uint32_t i = 0;
    while (i < d->e.table.chains.n && !str_eq(d->chains[i].name, name))
        i++;
    return i;
}

static uint32_t interface_named(struct dump *d, struct str name)
{
    uint32_t i = 0;
    while (i < d->n_interfaces && !str_is(name, d->interfaces[i]))
        i++;
    if (i == d->n_interfaces)
        d->interfaces[d->n_interfaces++] = arena_printf(d->e.c.run.arena, "%.*s", STR_ARG(name));
    return i + 1;
}

static axis_value protocol_number(struct str name)
{
    return str_is(name, "tcp") ? TCP : str_is(name, "udp") ? UDP : ICMP;
}

/* The options that the two dumps have; a rate that is limited may or may not hold, so it is left out of the match. */
static void read_options(struct dump *d, struct rule *r, char *line)
{
    struct example *e = &d->e;
    char *at;
    if ((at = word_after(line, " -i ")) != NULL) {
        const uint32_t zone = interface_named(d, word_at(at));
        struct span one = { zone, zone };
        const span_list in = { &one, 1 };
        const bool is_not = at - line >= 6 && at[-5] == '!';
        match_narrow(e->c.run.arena, &r->match, AXIS_FROM,
                     is_not ? spans_others(e->c.run.arena, in, axis_max(AXIS_FROM, FAMILY_IPV4), &e->failed)
                            : spans_tidy(e->c.run.arena, &one, 1, &e->failed),
                     &e->failed);
    }
    if ((at = word_after(line, " -s ")) != NULL)
        narrow_to_prefix(e, r, AXIS_SOURCE, word_at(at));
    if ((at = word_after(line, " -d ")) != NULL)
        narrow_to_prefix(e, r, AXIS_DESTINATION, word_at(at));
    if ((at = word_after(line, " -p ")) != NULL)
        narrow(e, r, AXIS_PROTOCOL, protocol_number(word_at(at)), protocol_number(word_at(at)));
    if ((at = word_after(line, " --sport ")) != NULL)
        narrow_to_number(e, r, AXIS_SOURCE_PORT, word_at(at));
    if ((at = word_after(line, " --dport ")) != NULL)
        narrow_to_number(e, r, AXIS_DESTINATION_PORT, word_at(at));
    if ((at = word_after(line, " --icmp-type ")) != NULL)
        narrow_to_number(e, r, AXIS_ICMP_TYPE, word_at(at));
    if (strstr(line, " --state ESTABLISHED"))
        narrow(e, r, AXIS_STATE, STATE_ESTABLISHED, STATE_REPLY);
    if (strstr(line, " --state RELATED"))
        narrow(e, r, AXIS_STATE, STATE_RELATED, STATE_RELATED);
}

static void read_line(struct dump *d, char *line)
{
    struct table *t = &d->e.table;
    if (line[0] == ':') { /* :NAME POLICY [...] */
        const struct str name = word_at(line + 1), policy = word_at(line + 2 + name.n);
        d->chains[t->chains.n] = (struct chain){ .name = name, .rules = { d->of_chain[t->chains.n], 0 } };
        d->chains[t->chains.n++].policy = str_is(policy, "DROP")     ? ACTION_DROP
                                          : str_is(policy, "ACCEPT") ? ACTION_ACCEPT
                                                                     : ACTION_RETURN;
    }
    if (strncmp(line, "-A ", 3) != 0)
        return;
    struct chain *chain = &d->chains[chain_named(d, word_at(line + 3))];
    struct rule *r = &chain->rules.v[chain->rules.n++];
    *r = (struct rule){ .number = ++t->n_rules, .families = 1U << FAMILY_IPV4, .hours = { .i = NO_REF } };
    const struct str target = word_at(word_after(line, " -j "));
    static const struct {
        const char *word;
        enum action action;
    } TARGETS[] = {
        { "ACCEPT", ACTION_ACCEPT }, { "DROP", ACTION_DROP }, { "RETURN", ACTION_RETURN }, { "LOG", ACTION_CONTINUE }
    };
    r->action = ACTION_JUMP;
    for (size_t i = 0; i < RT_COUNT(TARGETS); i++)
        if (str_is(target, TARGETS[i].word))
            r->action = TARGETS[i].action;
    if (r->action == ACTION_JUMP)
        CHECK("a chain that is there", (r->chain = chain_named(d, target)) < t->chains.n);
    if (r->action != ACTION_CONTINUE)
        read_options(d, r, line);
}

static void dump_read(struct dump *d, const char *file)
{
    *d = (struct dump){ .e = { .c = check_run_begin() } };
    const char *path = check_reference(&d->e.c, file);
    if (!path) {
        check_run_end(&d->e.c);
        skip();
    }
    CHECK_OK(&d->e.c, file_read(d->e.c.run.arena, path, 1 << 16, &d->text, &d->e.c.problems));
    d->e.table.chains.v = d->chains;
    char *text = arena_printf(d->e.c.run.arena, "%.*s", STR_ARG(d->text));
    for (char *line = text; *line; line += strcspn(line, "\n") + 1) {
        char *end = line + strcspn(line, "\n");
        const char kept = *end;
        *end = 0;
        read_line(d, line);
        if (!kept)
            break;
        *end = kept;
        /* names point into the text and end at a blank or the line's end */
    }
    d->e.table.start = chain_named(d, STR("FORWARD"));
    CHECK("chains and rules", d->e.table.start < d->e.table.chains.n && d->e.table.n_rules > 0 && !d->e.failed);
}

/* Published with the dump: drops everything that is neither UDP to port 80 nor TCP from port 22. */
TEST(chains_with_return)
{
    struct dump d;
    dump_read(&d, "policy/chain_return_example.txt");
    struct space *s = space_for(&d.e);
    struct judgement *j;
    CHECK_OK(&d.e.c, judge_table(s, &d.e.table, NULL, &j, &d.e.c.problems));
    struct rule web = { .number = 1 }, ssh = { .number = 2 };
    narrow(&d.e, &web, AXIS_PROTOCOL, UDP, UDP);
    narrow(&d.e, &web, AXIS_DESTINATION_PORT, 80, 80);
    narrow(&d.e, &ssh, AXIS_PROTOCOL, TCP, TCP);
    narrow(&d.e, &ssh, AXIS_SOURCE_PORT, 22, 22);
    CHECK("the same set", judged_accept(j) == set_or(s, set_of(s, &web.match), set_of(s, &ssh.match)));
    CHECK("not all, not none", judged_accept(j) != SET_NONE && judged_accept(j) != SET_ALL);
    check_run_end(&d.e.c);
}

static packet_set set_on(struct example *e, struct space *s, uint32_t axis, const char *text)
{
    struct rule r = { .number = 1 };
    narrow_to_prefix(e, &r, axis, str_from(text));
    return set_of(s, &r.match);
}

/* Published with the dump: which address class opens TCP conversations to which.  As there, an interface whose addresses are
 * not known may bear any, and the loopback bears 127.0.0.0/8. */
TEST(four_address_classes_and_twelve_pairs_that_reach)
{
    /* the classes a, b and c of the file's head; d is the rest */
    static const char *const CLASSES[] = { "131.159.21.0/24", "131.159.15.240/28", "127.0.0.0/8" };
    struct dump d;
    dump_read(&d, "policy/dmz_reachability_example.txt");
    struct example *e = &d.e;
    const char *pairs = strstr(d.text.p, "pairs: ");
    CHECK("the answer is in the file's head", pairs != NULL);
    pairs = arena_printf(e->c.run.arena, "%.*s", (int)strcspn(pairs, "\n"), pairs);
    struct space *s = space_for(e);
    struct judgement *j;
    CHECK_OK(&e->c, judge_table(s, &e->table, NULL, &j, &e->c.problems));
    struct rule asked = { .number = 1 }, loopback = { .number = 2 };
    narrow(e, &asked, AXIS_PROTOCOL, TCP, TCP);
    narrow(e, &asked, AXIS_STATE, STATE_NEW, STATE_NEW);
    const uint32_t lo = interface_named(&d, STR("lo"));
    narrow(e, &loopback, AXIS_FROM, lo, lo);
    const packet_set foreign = set_minus(s, set_of(s, &loopback.match), set_on(e, s, AXIS_SOURCE, CLASSES[2]));
    const packet_set may = set_minus(s, set_and(s, judged_accept(j), set_of(s, &asked.match)), foreign);
    const uint64_t addresses = 1U << AXIS_SOURCE | 1U << AXIS_DESTINATION;
    const packet_set reach = set_forget(s, may, ~addresses);
    packet_set from[4], to[4];
    from[3] = to[3] = SET_ALL;
    for (int i = 0; i < 3; i++) {
        from[i] = set_on(e, s, AXIS_SOURCE, CLASSES[i]);
        to[i] = set_on(e, s, AXIS_DESTINATION, CLASSES[i]);
        from[3] = set_minus(s, from[3], from[i]);
        to[3] = set_minus(s, to[3], to[i]);
    }
    for (int x = 0; x < 4; x++)
        for (int y = 0; y < 4; y++) {
            const char pair[] = { (char)('a' + x), '-', (char)('a' + y), 0 };
            const packet_set all = set_and(s, from[x], to[y]);
            CHECK(pair, set_and(s, all, reach) == (strstr(pairs, pair) ? all : SET_NONE));
        }
    check_run_end(&e->c);
}
