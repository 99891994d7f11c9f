/* Rules of a policy: which statements share one, what each is there for, which statement adds none; endpoints and services as what
 * rules match. */
#include "reach_kit.h"

/* ---- joining, and what each rule stands for ---- */

TEST(statements_that_do_the_same_share_a_rule_and_keep_their_names)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {id: one, says: Home goes out, from: home, to: internet}\n"
                                              "  - {id: two, from: guests, to: things, services: [ipps]}\n"
                                              "  - {id: three, from: things, to: internet}\n");
    const struct packet p = reach_talk(&r, FAMILY_IPV4, "lamp", "internet", IP_TCP, 25);
    enum action action;
    const struct rule *rule = table_run(&r.policy->table, &p, NULL, &action);
    CHECK("accepted", rule && action == ACTION_ACCEPT);
    CHECK_TEXT("both are named", rule->says, STR("Home goes out; things may talk with the internet"));
    CHECK("the rule is the first one's", rule->which == 0);
    CHECK("the packet is the third one's", policy_statement_of(r.policy, rule, &p) == 2);
    const struct packet q = reach_talk(&r, FAMILY_IPV4, "tablet", "internet", IP_TCP, 25);
    CHECK("this one is the first one's", policy_statement_of(r.policy, rule, &q) == 0);
    reach_end(&r);
}

TEST(no_statement_moves_past_one_that_decides_otherwise)
{
    struct reach r = reach_compile(REACH_PAIR "statements:\n"
                                              "  - {from: home, to: internet}\n"
                                              "  - {from: lamp, to: internet, verdict: refuse}\n"
                                              "  - {from: things, to: internet}\n");
    CHECK("the lamp", !reach_may(&r, "lamp", "internet", IP_TCP, 443));
    CHECK("the printer", reach_may(&r, "printer", "internet", IP_TCP, 443));
    reach_end(&r);
}

TEST(every_rule_says_what_it_is_there_for)
{
    struct reach r = reach_file("houses/larch_end.house.yaml");
    uint32_t number = 0;
    for (uint32_t c = 0; c < r.policy->table.chains.n; c++)
        for (uint32_t i = 0; i < r.policy->table.chains.v[c].rules.n; i++) {
            const struct rule *x = &r.policy->table.chains.v[c].rules.v[i];
            CHECK_NEAR("numbers", x->number, ++number, 0, "");
            CHECK("words", x->says.n > 8);
            CHECK("a place unless it is a standard one", (x->origin == ORIGIN_STANDARD) == (x->at.line == 0));
            CHECK("what it came from", (x->origin == ORIGIN_STANDARD) == (x->which == NO_REF));
        }
    CHECK_NEAR("all of them", number, r.policy->table.n_rules, 0, "");
    reach_end(&r);
}

/* ---- what is said about a statement that does little ---- */

static struct str warnings_of(const char *text)
{
    struct reach r = reach_compile(text);
    struct buf b = { .arena = r.c.run.arena };
    for (uint32_t i = 0; i < r.c.problems.list.n; i++)
        buf_printf(&b, "%s\n", r.c.problems.list.v[i].msg);
    static char kept[2048];
    snprintf(kept, sizeof kept, "%.*s", STR_ARG(buf_done(&b)));
    reach_end(&r);
    return str_from(kept);
}

TEST(superfluous_statements_are_told)
{
    CHECK_TEXT("covered",
               warnings_of(REACH_PAIR "statements:\n"
                                      "  - {id: all, from: home, to: things}\n"
                                      "  - {id: some, from: tablet, to: printer, services: [ipps]}\n"),
               STR("'some' adds nothing: 'all' (line 21) allows the same before it\n"));
    CHECK_TEXT("covered by two together",
               warnings_of(REACH_PAIR "statements:\n"
                                      "  - {id: tcp, from: home, to: things, services: [http]}\n"
                                      "  - {id: tls, from: home, to: things, services: [https]}\n"
                                      "  - {id: web, from: home, to: things, services: [http, https]}\n"),
               STR("'web' adds nothing: 'tcp' (line 21) allows the same before it\n"));
    CHECK_TEXT("within a segment",
               warnings_of(REACH_PAIR "statements: [{from: tablet, to: laptop, verdict: refuse}]\n"),
               STR("statement 1: both ends are in the same segment, and their talk never meets the gateway\n"));
    CHECK_TEXT("what cannot leave its segment",
               warnings_of(REACH_PAIR "statements: [{id: look, from: home, to: things, services: [mdns]}]\n"),
               STR("'look': there is nothing at the gateway that it could decide\n"));
}

TEST(hours_do_not_make_a_statement_superfluous_at_others)
{
    CHECK_TEXT("other hours",
               warnings_of(REACH_PAIR "statements:\n"
                                      "  - {from: home, to: things, hours: day}\n"
                                      "  - {from: home, to: things, hours: night}\n"
                                      "  - {from: home, to: things}\n"),
               STR(""));
    CHECK_TEXT("the same hours",
               warnings_of(REACH_PAIR "statements:\n"
                                      "  - {from: home, to: things, hours: day}\n"
                                      "  - {from: tablet, to: things, hours: day}\n"),
               STR("statement 2 adds nothing: statement 1 (line 21) allows the same before it\n"));
}

/* ---- memory ---- */

TEST(a_compiler_without_room_says_so)
{
    struct reach r =
        reach_read(REACH_AWAY "statements:\n"
                              "  - {from: play, to: [internet, backup.example], verdict: refuse, hours: night}\n"
                              "  - {from: home, to: [internet, things]}\n"
                              "relays: {find: {from: [home], to: [things]}}\n"
                              "port_openings: {in: {device: lamp, service: https}}\n");
    uint32_t n_refused = 0;
    for (size_t limit = 4096;; limit += limit / 3) {
        struct run run = r.c.run;
        run.arena = arena_new(limit);
        struct rt_problems p;
        rt_problems_init(&p, r.c.run.arena);
        const enum rt_code code = policy_compile(&run, r.plan, &r.policy, &p);
        arena_free(run.arena);
        if (code == RT_OK)
            break;
        CHECK("no memory", code == RT_NOMEM && p.n_errors >= 1);
        n_refused++;
    }
    CHECK("with little it does not go", n_refused > 3);
    reach_end(&r);
}

/* ---- packets of endpoints and services ---- */

static bool any_holds(match_list list, const struct packet *p)
{
    for (uint32_t i = 0; i < list.n; i++)
        if (match_holds(&list.v[i], p))
            return true;
    return false;
}

static bool sends(struct reach *r, const char *who, const struct packet *p, bool receives)
{
    struct endpoint e;
    bool failed = false;
    CHECK_OK(&r->c, house_read_endpoint(r->h, str_from(who), &e, &r->c.problems));
    const match_list list = receives ? endpoint_receives(r->c.run.arena, r->policy, &e, p->family, &failed)
                                     : endpoint_sends(r->c.run.arena, r->policy, &e, p->family, &failed);
    CHECK("memory", !failed);
    return any_holds(list, p);
}

TEST(endpoints_as_packets)
{
    struct reach r = reach_compile(REACH_AWAY "statements:\n"
                                              "  - {from: tablet, to: internet, verdict: refuse, hours: night}\n"
                                              "  - {from: lamp, to: backup.example}\n"
                                              "  - {from: home, to: internet}\n");
    for (enum family f = 0; f < FAMILY_COUNT; f++) {
        const struct packet p = reach_talk(&r, f, "tablet", "printer", IP_TCP, 631);
        CHECK("the tablet sends it", sends(&r, "tablet", &p, false));
        CHECK("so does Ben", sends(&r, "ben", &p, false));
        CHECK("and play, and home", sends(&r, "play", &p, false) && sends(&r, "home", &p, false));
        CHECK("the laptop does not", !sends(&r, "laptop", &p, false) && !sends(&r, "ann", &p, false));
        CHECK("anyone", sends(&r, "anyone", &p, false) && sends(&r, "anyone", &p, true));
        CHECK("the printer receives it", sends(&r, "printer", &p, true) && sends(&r, "things", &p, true));
        CHECK("the lamp does not", !sends(&r, "lamp", &p, true) && !sends(&r, "internet", &p, true));
        const struct packet q =
            reach_answer(&r, reach_talk(&r, f, "tablet", "internet", IP_TCP, 443), reach_mark(&r, "tablet"));
        CHECK("an answer is the tablet's by its mark", sends(&r, "tablet", &q, true) && !sends(&r, "laptop", &q, true));
        const struct packet away = reach_from_tunnel(&r, f, "ann", "printer");
        CHECK("Ann sends from away", sends(&r, "ann", &away, false) && sends(&r, "home", &away, false));
        CHECK("Ben does not", !sends(&r, "ben", &away, false));
    }
    struct packet named = reach_talk(&r, FAMILY_IPV4, "tablet", "internet", IP_TCP, 443);
    CHECK("not by name", !sends(&r, "backup.example", &named, true));
    named.named = 1;
    CHECK("by name", sends(&r, "backup.example", &named, true));
    CHECK("a name of no statement is not told from the rest", sends(&r, "other.example", &named, true));
    reach_end(&r);
}

TEST(services_as_packets)
{
    struct reach r = reach_compile(REACH_PAIR);
    bool failed = false;
    const struct packet p = reach_talk(&r, FAMILY_IPV4, "laptop", "lamp", IP_UDP, 53);
    struct packet q = p;
    q.at[AXIS_PROTOCOL] = IP_TCP;
    const match_list dns = service_asks(r.c.run.arena, r.h, STR("dns"), FAMILY_IPV4, &failed);
    CHECK("names over both", any_holds(dns, &p) && any_holds(dns, &q));
    CHECK_NEAR("in one match, since the ports are the same", dns.n, 1, 0, "");
    const match_list ping4 = service_asks(r.c.run.arena, r.h, STR("ping"), FAMILY_IPV4, &failed);
    const match_list ping6 = service_asks(r.c.run.arena, r.h, STR("ping"), FAMILY_IPV6, &failed);
    const struct packet echo4 = reach_talk(&r, FAMILY_IPV4, "laptop", "lamp", IP_ICMP, 8);
    const struct packet echo6 = reach_talk(&r, FAMILY_IPV6, "laptop", "lamp", IP_ICMPV6, 128);
    CHECK("echo in each family", any_holds(ping4, &echo4) && any_holds(ping6, &echo6));
    CHECK("a list each", ping4.n == 1 && ping6.n == 1 && !failed);
    reach_end(&r);
}
