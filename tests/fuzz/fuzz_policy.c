/* The policy sections of a house file (statements, hours, groups ...) behind a small house that stands: read, compiled, judged. */
#include "fuzz.h"
#include "house/house.h"
#include "reach/policy.h"
#include "reach/space.h"

static const char HOUSE[] = "rooftree: 1\nname: F\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
                            "floors:\n  g: {level_m: 0, height_m: 2.5, outline: [[0, 0], [9, 0], [9, 8], [0, 8]]}\n"
                            "rooms:\n  r: {floor: g, outline: [[0, 0], [9, 0], [9, 8], [0, 8]]}\n"
                            "line: {kind: fibre, down_mbps: 100, up_mbps: 20, ipv6_prefix_len: 56, public_ipv4: own, "
                            "floor: g, at_m: [0, 0, 0]}\n"
                            "people: {p: {kind: adult}}\n"
                            "segments:\n  a: {}\n  b: {known_only: true}\n  c: {}\n"
                            "devices:\n"
                            "  d: {kind: laptop, room: r, segment: a, link: wifi, owner: p}\n"
                            "  e: {kind: tablet, room: r, segment: b, link: wifi}\n"
                            "  f: {kind: printer, room: r, segment: c, link: wifi}\n";

enum { TABLE_RULES_MOST = 4000, JUDGED_MOST = 400 };

static void put_table(struct buf *out, const struct table *t)
{
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t i = 0; i < t->chains.v[c].rules.n; i++) {
            const struct rule *r = &t->chains.v[c].rules.v[i];
            fuzz_check(r->action != ACTION_JUMP || r->chain < t->chains.n, "a jump leads to a chain");
            for (uint32_t k = 1; k < r->match.terms.n; k++)
                fuzz_check(r->match.terms.v[k - 1].axis < r->match.terms.v[k].axis, "terms ascend");
            buf_printf(out, "%u %d %.*s\n", (unsigned)r->number, (int)r->action, STR_ARG(r->says));
        }
}

static void judge(const struct run *run, struct buf *out, const struct policy *policy, struct rt_problems *p)
{
    struct space *s;
    struct judgement *j;
    if (policy->table.n_rules > JUDGED_MOST)
        return;
    for (int f = 0; f < FAMILY_COUNT; f++) {
        if (space_new(run, (enum family)f, policy->table.named.n, &s, p) != RT_OK ||
            judge_table(s, &policy->table, NULL, &j, p) != RT_OK)
            return;
        struct packet packet;
        if (set_witness(s, judged_accept(j), &packet)) {
            enum action action;
            (void)table_run(&policy->table, &packet, NULL, &action);
            fuzz_check(action == ACTION_ACCEPT, "what is judged to pass passes");
        }
        buf_printf(out, "%u\n", (unsigned)set_size(s, judged_accept(j)));
    }
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct rt_problems p;
    struct buf text = { .arena = run->arena };
    struct house *h = NULL;
    struct address_plan *plan;
    struct policy *policy;
    rt_problems_init(&p, run->arena);
    buf_text(&text, HOUSE);
    buf_str(&text, bytes);
    if (house_read_bytes(run, "/nowhere/at/all/p.house.yaml", buf_done(&text), &h, &p) != RT_OK ||
        addresses_plan(run, h, &plan, &p) != RT_OK)
        return;
    const enum rt_code code = policy_compile(run, plan, &policy, &p);
    buf_printf(out, "%s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0), "an error has a message, and only an error");
    if (code != RT_OK || policy->table.n_rules > TABLE_RULES_MOST)
        return;
    put_table(out, &policy->table);
    judge(run, out, policy, &p);
}

int fuzz_policy(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }
FUZZ_TARGET(fuzz_policy);
