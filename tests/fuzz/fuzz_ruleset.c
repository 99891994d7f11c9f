/* The kernel's listing of its ruleset: JSON whose expressions nest, whose chains may lead anywhere. */
#include "base/random.h"
#include "fuzz.h"
#include "reach/ruleset.h"

enum { LAN = ZONE_SEGMENT, IOT, GUEST, TUNNEL, ZONES, PACKETS = 64, SHOWN_RULES = 200 };

static struct ruleset_interface INTERFACES[] = {
    { STR("wan0"), ZONE_INTERNET }, { STR("lan0"), LAN },   { STR("iot0"), IOT },
    { STR("guest0"), GUEST },       { STR("wg0"), TUNNEL },
};

static void check_spans(span_list in, axis_value max)
{
    for (uint32_t i = 0; i < in.n; i++) {
        fuzz_check(in.v[i].lo <= in.v[i].hi && in.v[i].hi <= max, "a span lies on its axis");
        fuzz_check(i == 0 || in.v[i].lo > in.v[i - 1].hi + 1, "spans ascend and do not touch");
    }
}

static void check_rule(const struct table *t, const struct rule *r)
{
    const bool leads = r->action == ACTION_JUMP || r->action == ACTION_GOTO;
    fuzz_check(!leads || r->chain < t->chains.n, "a jump leads to a chain");
    fuzz_check(r->families > 0 && r->families < 4, "a rule has a family");
    for (uint32_t k = 0; k < r->match.terms.n; k++) {
        const struct term *term = &r->match.terms.v[k];
        fuzz_check(term->axis < AXIS_NAMED + t->named.n, "a term has an axis");
        fuzz_check(k == 0 || term->axis > r->match.terms.v[k - 1].axis, "terms ascend");
        check_spans(term->in, axis_max(term->axis, FAMILY_IPV6));
    }
}

static void put_table(const struct table *t, struct buf *out)
{
    uint32_t number = 0;
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t i = 0; i < t->chains.v[c].rules.n; i++) {
            const struct rule *r = &t->chains.v[c].rules.v[i];
            check_rule(t, r);
            fuzz_check(r->number == ++number, "rules are numbered as they stand");
            if (number <= SHOWN_RULES)
                buf_printf(out, "%u %u %u %u %.*s\n", (unsigned)c, (unsigned)r->action, (unsigned)r->chain,
                           (unsigned)r->match.terms.n, STR_ARG(r->says));
        }
    fuzz_check(number == t->n_rules, "all rules are counted");
}

/* Whatever the chains do, a packet's way ends. */
static void put_verdicts(const struct table *t, struct buf *out)
{
    struct random r = { .seed = 1 };
    for (unsigned i = 0; i < PACKETS; i++) {
        struct packet p = { .family = (enum family)(i % FAMILY_COUNT), .named = random_next(&r) };
        for (uint32_t axis = 0; axis < AXIS_NAMED; axis++)
            p.at[axis] = random_next(&r) & axis_max(axis, p.family);
        p.at[AXIS_FROM] %= ZONES;
        p.at[AXIS_TO] %= ZONES;
        enum action action;
        const struct rule *by = table_run(t, &p, NULL, &action);
        buf_printf(out, " %u/%u", (unsigned)action, by ? (unsigned)by->number : 0);
    }
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct rt_problems p;
    rt_problems_init(&p, run->arena);
    const struct ruleset_zones zones = { .interfaces = { INTERFACES, RT_COUNT(INTERFACES) },
                                         .n_zones = ZONES,
                                         .n_with_mac = TUNNEL };
    const struct week_kind week = { .first_monday_s = 1795996800, .n_minutes = WEEK_MINUTES };
    struct ruleset *made = NULL;
    const enum rt_code code = ruleset_read(run, &zones, &week, "listing.json", bytes, &made, &p);
    buf_printf(out, "%s\n", rt_code_name(code));
    rt_problems_format(&p, out);
    fuzz_check((code == RT_OK) == (p.n_errors == 0), "an error has a message, and only an error");
    fuzz_check((code == RT_OK) == (made != NULL), "nothing is given on error");
    if (!made)
        return;
    put_table(&made->table, out);
    put_verdicts(&made->table, out);
}

int fuzz_ruleset(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }

FUZZ_TARGET(fuzz_ruleset);
