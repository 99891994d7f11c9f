/* Rule tables made of bytes: the diagram judges as the rules do that are run one by one, for packets at the ends of spans. */
#include "fuzz.h"
#include "reach/space.h"

enum { CHAINS_MAX = 5, RULES_MAX = 40, TERMS_MAX = 4, NAMED = 2, HOURS = 2 };

/* Takes bytes from the front; zeros when there are no more. */
struct cursor {
    const unsigned char *p;
    size_t n;
};

static unsigned take(struct cursor *c)
{
    if (c->n == 0)
        return 0;
    c->n--;
    return *c->p++;
}

/* Values that meet: a byte at one end of the axis or the other. */
static axis_value take_value(struct cursor *c, uint32_t axis, enum family family)
{
    const axis_value max = axis_max(axis, family), at = take(c) % 16;
    return take(c) & 1 ? (at < max ? max - at : 0) : (at < max ? at : max);
}

static span_list take_spans(struct arena *a, struct cursor *c, uint32_t axis, enum family family, bool *failed)
{
    struct span v[3];
    const uint32_t n = take(c) % 4;
    for (uint32_t i = 0; i < n; i++) {
        const axis_value x = take_value(c, axis, family), y = take_value(c, axis, family);
        v[i] = (struct span){ x < y ? x : y, x < y ? y : x };
    }
    return spans_tidy(a, v, n, failed);
}

static struct rule take_rule(struct arena *a, struct cursor *c, enum family family, uint32_t number, bool *failed)
{
    struct rule r = { .number = number, .families = 1 + take(c) % 3, .hours = { .i = NO_REF } };
    r.action = (enum action)(take(c) % (ACTION_CONTINUE + 1));
    r.chain = take(c) % CHAINS_MAX;
    if (take(c) % 5 == 0)
        r.hours.i = take(c) % HOURS;
    for (uint32_t n = take(c) % (TERMS_MAX + 1); n > 0; n--) {
        const uint32_t axis = take(c) % (AXIS_NAMED + NAMED);
        match_narrow(a, &r.match, axis, take_spans(a, c, axis, family, failed), failed);
    }
    return r;
}

static struct table take_table(struct arena *a, struct cursor *c, enum family family, bool *failed)
{
    struct table t = { .chains = { ARENA_ARRAY(a, struct chain, CHAINS_MAX), CHAINS_MAX } };
    struct rule *rules = ARENA_ARRAY(a, struct rule, RULES_MAX);
    if (!t.chains.v || !rules) {
        *failed = true;
        return t;
    }
    for (uint32_t i = 0; i < CHAINS_MAX; i++) {
        struct chain *chain = &t.chains.v[i];
        *chain = (struct chain){ .rules = { rules + t.n_rules, 0 }, .policy = i ? ACTION_RETURN : ACTION_DROP };
        chain->policy = take(c) % 4 ? chain->policy : ACTION_ACCEPT;
        for (uint32_t n = take(c) % 12; n > 0 && t.n_rules < RULES_MAX; n--)
            chain->rules.v[chain->rules.n++] = take_rule(a, c, family, ++t.n_rules, failed);
    }
    return t;
}

static void compare(struct space *s, const struct table *t, const struct week_kind *week, const struct judgement *j,
                    const struct packet *p, struct buf *out)
{
    bool hold[HOURS];
    for (uint32_t i = 0; i < HOURS; i++)
        hold[i] = spans_hold(week->hours[i], p->at[AXIS_MINUTE]);
    enum action want;
    const struct rule *by = table_run(t, p, hold, &want);
    fuzz_check(set_holds(s, judged_as(j, want), p), "what becomes of a packet");
    fuzz_check(set_holds(s, judged_by(j, by ? by->number : 0), p), "which rule decides");
    buf_printf(out, " %u:%d", by ? (unsigned)by->number : 0, want);
}

static void outcome(const struct run *run, struct str bytes, struct buf *out)
{
    struct cursor c = { (const unsigned char *)bytes.p, bytes.n };
    struct rt_problems p;
    bool failed = false;
    rt_problems_init(&p, run->arena);
    const enum family family = take(&c) & 1 ? FAMILY_IPV6 : FAMILY_IPV4;
    span_list hours[HOURS];
    for (uint32_t i = 0; i < HOURS; i++)
        hours[i] = take_spans(run->arena, &c, AXIS_MINUTE, family, &failed);
    const struct week_kind week = { .hours = hours };
    const struct table t = take_table(run->arena, &c, family, &failed);
    struct space *s;
    struct judgement *j;
    finding_list f = { 0 };
    if (failed || space_new(run, family, NAMED, &s, &p) != RT_OK)
        return;
    enum rt_code code = judge_table(s, &t, &week, &j, &p);
    fuzz_check(code == RT_OK || code == RT_LIMIT, "judged, or chains in a circle");
    fuzz_check(table_findings(s, &t, &week, &f, &p) == code, "findings as judged");
    buf_printf(out, "%s %u nodes %u findings", rt_code_name(code), (unsigned)space_size(s), (unsigned)f.n);
    for (int i = 0; i < 8 && code == RT_OK; i++) {
        struct packet packet = { .family = family, .named = take(&c) % (1 << NAMED) };
        for (uint32_t axis = 0; axis < AXIS_NAMED; axis++)
            packet.at[axis] = take_value(&c, axis, family);
        compare(s, &t, &week, j, &packet, out);
    }
    if (code == RT_OK)
        for (enum action a = ACTION_ACCEPT; a <= ACTION_REJECT; a++) {
            struct packet example;
            if (set_witness(s, judged_as(j, a), &example))
                compare(s, &t, &week, j, &example, out);
        }
}

int fuzz_table(const uint8_t *p, size_t n) { return fuzz_twice(p, n, outcome); }

FUZZ_TARGET(fuzz_table);
