/* One question: what may be begun when no service is named, as in the matrix, and who shares a segment. */
#include "reach/ask.h"
#include "reach/matrix.h"
#include "reach_kit.h"

#define RULES                                                                                      \
    "statements:\n"                                                                                \
    "  - {id: no_console, from: console, to: printer, verdict: refuse}\n"                          \
    "  - {id: out, from: segment:home, to: internet, verdict: allow}\n"                            \
    "  - {id: no_smb, from: segment:home, to: segment:things, services: [smb], verdict: refuse}\n" \
    "  - {id: use, from: segment:home, to: segment:things, verdict: allow}\n"                      \
    "  - {id: fetch, from: segment:things, to: internet, services: [https, ntp], verdict: allow}\n"

struct questioner {
    struct reach r;
    struct calendar *calendar;
    struct layer2 *l2;
    struct proof *proof;
};

/* In place: a proof keeps the address of its run. */
static void questioner_begin(struct questioner *q, struct reach r)
{
    *q = (struct questioner){ .r = r };
    struct check_run *c = &q->r.c;
    CHECK_OK(c, calendar_make(&c->run, q->r.h, 1796126400, 1, &q->calendar, &c->problems));
    CHECK_OK(c, layer2_plan(&c->run, q->r.plan, NULL, &q->l2, &c->problems));
    CHECK_OK(c, proof_begin(&c->run, q->r.policy, q->calendar, NULL, &q->proof, &c->problems));
}

static enum rt_code put(struct questioner *q, const char *from, const char *to, struct str *service, struct answer *out)
{
    struct check_run *c = &q->r.c;
    struct asked asked = { .at_s = 1796126400,
                           .services = { service, service ? 1 : 0 } }; /* Tuesday, December 1st 2026, noon */
    CHECK_OK(c, house_read_endpoint(q->r.h, str_from(from), &asked.from, &c->problems));
    CHECK_OK(c, house_read_endpoint(q->r.h, str_from(to), &asked.to, &c->problems));
    return ask(&c->run, q->proof, q->l2, &asked, out, &c->problems);
}

struct row {
    const char *from, *to;
    enum ask_verdict want;
    const char *holds; /* of the reason */
};

static void check_rows(struct questioner *q, const struct row *rows, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct answer got;
        const char *name = arena_printf(q->r.c.run.arena, "%s to %s", rows[i].from, rows[i].to);
        CHECK_OK(&q->r.c, put(q, rows[i].from, rows[i].to, NULL, &got));
        CHECK_NEAR(name, got.verdict, rows[i].want, 0, "verdict");
        CHECK(arena_printf(q->r.c.run.arena, "%s: %.*s", name, STR_ARG(got.reason)),
              memmem(got.reason.p, got.reason.n, rows[i].holds, strlen(rows[i].holds)) != NULL);
        CHECK(name, got.way.n > 0);
    }
}

TEST(without_a_service_it_is_asked_what_may_be_begun)
{
    struct questioner q;
    questioner_begin(&q, reach_compile(REACH_PAIR RULES));
    static const struct row ROWS[] = {
        { "home", "internet", ASK_ALLOWED, "let through" },
        { "laptop", "internet", ASK_ALLOWED, "let through" },
        { "things", "home", ASK_REFUSED, "refused" },
        { "guests", "internet", ASK_REFUSED, "refused" },
        { "things", "internet", ASK_SOME, "only https, ntp; " },
        { "ann", "lamp", ASK_SOME, "all but smb; " },
        { "home", "printer", ASK_SOME, "let through by" },
        { "guests", "gateway", ASK_SOME, "dns" },
        { "things", "anyone", ASK_SOME, "others share a segment: both are in things" },
    };
    check_rows(&q, ROWS, RT_COUNT(ROWS));
    reach_end(&q.r);
}

TEST(who_shares_a_segment_is_not_asked_of_the_rules)
{
    static const struct row ROWS[] = {
        { "home", "home", ASK_UNFILTERED, "both are in home" },
        { "home", "laptop", ASK_UNFILTERED, "both are in home" },
        { "laptop", "home", ASK_UNFILTERED, "both are in home" },
        { "guests", "guests", ASK_UNFILTERED, "both are in guests" },
    };
    struct questioner q;
    questioner_begin(&q, reach_compile(REACH_PAIR RULES));
    check_rows(&q, ROWS, RT_COUNT(ROWS));
    reach_end(&q.r);
    /* who comes into the segment by a tunnel meets the gateway all the same, and is told of */
    questioner_begin(&q, reach_compile(REACH_AWAY RULES));
    check_rows(&q, ROWS, RT_COUNT(ROWS));
    struct answer got;
    CHECK_OK(&q.r.c, put(&q, "home", "laptop", NULL, &got));
    CHECK("tunnel", memmem(got.reason.p, got.reason.n, "by a tunnel", 11) != NULL);
    reach_end(&q.r);
}

/* A whole segment with the internet is a cell of the matrix; the two must say the same of every pair. */
static void check_against_matrix(struct questioner *q)
{
    static const enum ask_verdict WANT[] = {
        [CELL_NONE] = ASK_REFUSED, [CELL_SOME] = ASK_SOME, [CELL_ALL] = ASK_ALLOWED
    };
    struct matrix *m;
    CHECK_OK(&q->r.c, matrix_make(q->proof, &m, &q->r.c.problems));
    for (uint32_t from = ZONE_SEGMENT; from < ZONE_SEGMENT + q->r.h->segments.n; from++)
        for (uint32_t to = 0; to < ZONE_SEGMENT + q->r.h->segments.n; to++) {
            if (from == to || to == ZONE_GATEWAY) /* the matrix counts what is called out to everybody on a link */
                continue;
            const enum cell_verdict v4 = matrix_at(m, FAMILY_IPV4, from, to)->verdict,
                                    v6 = matrix_at(m, FAMILY_IPV6, from, to)->verdict;
            struct answer got;
            const char *a = arena_printf(q->r.c.run.arena, "%.*s", STR_ARG(zone_id(q->r.plan, from)));
            const char *b = arena_printf(q->r.c.run.arena, "%.*s", STR_ARG(zone_id(q->r.plan, to)));
            CHECK_OK(&q->r.c, put(q, a, b, NULL, &got));
            CHECK_NEAR(arena_printf(q->r.c.run.arena, "%s to %s", a, b), got.verdict, v4 == v6 ? WANT[v4] : ASK_SOME, 0,
                       "as the matrix");
        }
}

TEST(it_says_what_the_matrix_says)
{
    struct questioner q;
    questioner_begin(&q, reach_compile(REACH_PAIR RULES));
    check_against_matrix(&q);
    reach_end(&q.r);
    questioner_begin(&q, reach_file("houses/quay_flat.house.yaml"));
    check_against_matrix(&q);
    reach_end(&q.r);
}

TEST(a_service_is_asked_there_and_back)
{
    struct questioner q;
    questioner_begin(&q, reach_compile(REACH_PAIR RULES));
    struct str https = STR("https"), smb = STR("smb");
    struct answer got;
    CHECK_OK(&q.r.c, put(&q, "things", "internet", &https, &got));
    CHECK_NEAR("https", got.verdict, ASK_ALLOWED, 0, "verdict");
    CHECK_OK(&q.r.c, put(&q, "home", "things", &smb, &got));
    CHECK_NEAR("smb", got.verdict, ASK_REFUSED, 0, "verdict");
    CHECK_OK(&q.r.c, put(&q, "home", "printer", &https, &got)); /* one of them may not */
    CHECK_NEAR("one refused decides", got.verdict, ASK_REFUSED, 0, "verdict");
    reach_end(&q.r);
}
