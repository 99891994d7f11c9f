#include "reach/packet.h"

#include "check.h"

static struct span_case {
    const char *what;
    struct span x[3];
    uint32_t n_x;
    struct span want[3];
    uint32_t n_want;
} TIDY[] = {
    { "none", { { 0, 0 } }, 0, { { 0, 0 } }, 0 },
    { "touching", { { 5, 9 }, { 0, 4 } }, 2, { { 0, 9 } }, 1 },
    { "apart", { { 6, 9 }, { 0, 4 } }, 2, { { 0, 4 }, { 6, 9 } }, 2 },
    { "one inside another", { { 0, 9 }, { 2, 3 } }, 2, { { 0, 9 } }, 1 },
    { "up to the last value",
      { { ~(axis_value)0, ~(axis_value)0 }, { 7, ~(axis_value)0 - 1 } },
      2,
      { { 7, ~(axis_value)0 } },
      1 },
};

TEST(spans_are_tidied)
{
    struct check_run c = check_run_begin();
    bool failed = false;
    for (size_t i = 0; i < RT_COUNT(TIDY); i++) {
        const struct span_case *k = &TIDY[i];
        const span_list got = spans_tidy(c.run.arena, k->x, k->n_x, &failed);
        CHECK_NEAR(k->what, got.n, k->n_want, 0, "spans");
        for (uint32_t s = 0; s < got.n; s++)
            CHECK(k->what, got.v[s].lo == k->want[s].lo && got.v[s].hi == k->want[s].hi);
    }
    CHECK("memory", !failed);
    check_run_end(&c);
}

/* A set of small numbers as bits, to try the algebra against. */
static span_list spans_of_bits(struct arena *a, uint32_t bits, bool *failed)
{
    struct span v[32];
    uint32_t n = 0;
    for (uint32_t i = 0; i < 32; i++)
        if (bits >> i & 1)
            v[n++] = (struct span){ i, i };
    return spans_tidy(a, v, n, failed);
}

static uint32_t bits_of_spans(span_list x)
{
    uint32_t bits = 0;
    for (uint32_t i = 0; i < 32; i++)
        if (spans_hold(x, i))
            bits |= 1U << i;
    return bits;
}

PROP(span_algebra_is_that_of_sets, 500)
{
    struct check_run c = check_run_begin();
    bool failed = false;
    const uint32_t x = (uint32_t)random_next(r), y = (uint32_t)random_next(r) & (uint32_t)random_next(r);
    const span_list sx = spans_of_bits(c.run.arena, x, &failed), sy = spans_of_bits(c.run.arena, y, &failed);
    CHECK("itself", bits_of_spans(sx) == x);
    CHECK("union", bits_of_spans(spans_join(c.run.arena, sx, sy, &failed)) == (x | y));
    CHECK("intersection", bits_of_spans(spans_common(c.run.arena, sx, sy, &failed)) == (x & y));
    CHECK("the others", bits_of_spans(spans_others(c.run.arena, sx, 31, &failed)) == ~x);
    CHECK("memory", !failed);
    check_run_end(&c);
}

TEST(addresses_are_read_and_written)
{
    static const struct {
        const char *text;
        bool is_right;
        const char *written; /* NULL: as read */
    } CASES[] = {
        { "192.168.1.1", true, NULL },
        { "0.0.0.0", true, NULL },
        { "256.1.1.1", false, NULL },
        { "1.2.3", false, NULL },
        { "", false, NULL },
        /* RFC 5952, sections 2.2 and 4.2, the examples there */
        { "2001:db8:0:0:0:0:2:1", true, "2001:db8::2:1" },
        { "2001:db8::1:1:1:1:1", true, "2001:db8:0:1:1:1:1:1" },
        { "2001:0:0:1:0:0:0:1", true, "2001:0:0:1::1" },
        { "2001:DB8::AbC", true, "2001:db8::abc" },
        { "::", true, NULL },
        { "fe80::1%lan", false, NULL },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        enum family family;
        axis_value value;
        const bool is_right = address_read(str_from(CASES[i].text), &family, &value);
        CHECK(CASES[i].text, is_right == CASES[i].is_right);
        if (!is_right)
            continue;
        struct buf out = { .arena = c.run.arena };
        address_write(&out, family, value);
        CHECK_TEXT(CASES[i].text, buf_done(&out), str_from(CASES[i].written ? CASES[i].written : CASES[i].text));
    }
    check_run_end(&c);
}

TEST(prefixes_are_read)
{
    static const struct {
        const char *text;
        bool is_right;
        const char *last; /* address of it */
    } CASES[] = {
        { "10.0.0.0/8", true, "10.255.255.255" },
        { "10.0.0.1/8", false, NULL },
        { "0.0.0.0/0", true, "255.255.255.255" },
        { "192.0.2.7/32", true, "192.0.2.7" },
        { "192.0.2.0/33", false, NULL },
        { "192.0.2.0/024", false, NULL },
        { "192.0.2.0/", false, NULL },
        { "2001:db8::/32", true, "2001:db8:ffff:ffff:ffff:ffff:ffff:ffff" },
        { "::/0", true, "ffff:ffff:ffff:ffff:ffff:ffff:ffff:ffff" },
        { "::1/128", true, "::1" },
    };
    struct check_run c = check_run_begin();
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct prefix p;
        CHECK(CASES[i].text, prefix_read(str_from(CASES[i].text), &p) == CASES[i].is_right);
        if (!CASES[i].is_right)
            continue;
        struct buf whole = { .arena = c.run.arena }, last = { .arena = c.run.arena };
        prefix_write(&whole, p);
        CHECK_TEXT("written", buf_done(&whole), str_from(CASES[i].text));
        address_write(&last, p.family, prefix_span(p).hi);
        CHECK_TEXT(CASES[i].text, buf_done(&last), str_from(CASES[i].last));
    }
    check_run_end(&c);
}

TEST(mac_addresses_are_read)
{
    axis_value mac;
    CHECK("right", mac_read(STR("02:00:5E:10:00:ff"), &mac) && mac == 0x02005e1000ff);
    CHECK("dashes", !mac_read(STR("02-00-5e-10-00-ff"), &mac));
    CHECK("short", !mac_read(STR("02:00:5e:10:00"), &mac));
    CHECK("no digit", !mac_read(STR("02:00:5e:10:00:fg"), &mac));
}

/* ---- tables ---- */

static struct rule on_port(struct check_run *c, uint32_t number, axis_value lo, axis_value hi, enum action action,
                           uint32_t chain)
{
    bool failed = false;
    struct rule r = { .number = number, .families = 3, .hours = { .i = NO_REF }, .action = action, .chain = chain };
    match_narrow_to(c->run.arena, &r.match, AXIS_DESTINATION_PORT, lo, hi, &failed);
    CHECK("memory", !failed);
    return r;
}

/* What a packet filter does with jump, goto and return: nft(8), section Verdict statements. */
TEST(chains_run_as_a_packet_filter_runs_them)
{
    struct check_run c = check_run_begin();
    struct rule start[] = { on_port(&c, 1, 0, 99, ACTION_JUMP, 1), on_port(&c, 2, 0, 199, ACTION_GOTO, 2),
                            on_port(&c, 3, 0, 299, ACTION_ACCEPT, 0), on_port(&c, 4, 0, 399, ACTION_RETURN, 0),
                            on_port(&c, 5, 0, 499, ACTION_ACCEPT, 0) };
    struct rule first[] = { on_port(&c, 6, 10, 19, ACTION_REJECT, 0), on_port(&c, 7, 20, 29, ACTION_RETURN, 0),
                            on_port(&c, 8, 20, 29, ACTION_DROP, 0), on_port(&c, 9, 30, 39, ACTION_CONTINUE, 0),
                            on_port(&c, 10, 30, 39, ACTION_ACCEPT, 0) };
    struct rule second[] = { on_port(&c, 11, 50, 59, ACTION_ACCEPT, 0) };
    struct chain chains[] = { { STR("start"), { start, RT_COUNT(start) }, ACTION_DROP },
                              { STR("first"), { first, RT_COUNT(first) }, ACTION_RETURN },
                              { STR("second"), { second, RT_COUNT(second) }, ACTION_RETURN } };
    const struct table t = { .chains = { chains, RT_COUNT(chains) }, .n_rules = 11 };
    static const struct {
        axis_value port;
        uint32_t rule;
        enum action action;
    } CASES[] = {
        { 15, 6, ACTION_REJECT },  { 25, 0, ACTION_DROP },    { 35, 10, ACTION_ACCEPT },
        { 55, 11, ACTION_ACCEPT }, { 65, 0, ACTION_DROP },    { 250, 3, ACTION_ACCEPT },
        { 350, 0, ACTION_DROP },   { 450, 5, ACTION_ACCEPT }, { 500, 0, ACTION_DROP },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const struct packet p = { .at = { [AXIS_DESTINATION_PORT] = CASES[i].port } };
        enum action action;
        const struct rule *by = table_run(&t, &p, NULL, &action);
        CHECK_NEAR("deciding rule", by ? by->number : 0, CASES[i].rule, 0, "");
        CHECK_NEAR("action", action, CASES[i].action, 0, "");
    }
    check_run_end(&c);
}

TEST(rules_bear_family_and_hours)
{
    struct check_run c = check_run_begin();
    struct rule rules[] = { on_port(&c, 1, 0, 9, ACTION_REJECT, 0), on_port(&c, 2, 0, 9, ACTION_ACCEPT, 0) };
    rules[0].hours.i = 0;
    rules[1].families = 1U << FAMILY_IPV6;
    struct chain chain = { STR("only"), { rules, 2 }, ACTION_DROP };
    const struct table t = { .chains = { &chain, 1 }, .n_rules = 2 };
    struct packet p = { .family = FAMILY_IPV6 };
    enum action action;
    const bool holds[] = { true };
    (void)table_run(&t, &p, holds, &action);
    CHECK("at the hours", action == ACTION_REJECT);
    (void)table_run(&t, &p, NULL, &action);
    CHECK("at no hours", action == ACTION_ACCEPT);
    p.family = FAMILY_IPV4;
    (void)table_run(&t, &p, NULL, &action);
    CHECK("other family", action == ACTION_DROP);
    check_run_end(&c);
}

TEST(narrowing_keeps_terms_in_order)
{
    struct check_run c = check_run_begin();
    bool failed = false;
    struct match m = { 0 };
    match_narrow_to(c.run.arena, &m, AXIS_STATE, STATE_NEW, STATE_NEW, &failed);
    match_narrow_to(c.run.arena, &m, AXIS_FROM, 2, 9, &failed);
    const struct match before = m;
    match_narrow_to(c.run.arena, &m, AXIS_FROM, 4, 20, &failed);
    CHECK("terms", m.terms.n == 2 && m.terms.v[0].axis == AXIS_FROM && m.terms.v[1].axis == AXIS_STATE);
    CHECK("narrowed", match_on(&m, AXIS_FROM)->v[0].lo == 4 && match_on(&m, AXIS_FROM)->v[0].hi == 9);
    CHECK("a copy is left alone", match_on(&before, AXIS_FROM)->v[0].lo == 2);
    CHECK("not spoken of", match_on(&m, AXIS_MARK) == NULL);
    check_run_end(&c);
}
