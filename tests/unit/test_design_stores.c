/* Batteries and disks that a design adds to the demo houses: the least costly that keep what was promised, by trying all that cost less. */
#include "house/polygon.h"
#include "load/recordings.h"
#include "made_kit.h"

/* ---- batteries ---- */

static void promise_minutes(struct made *m, double minutes)
{
    for (uint32_t i = 0; i < m->before->promises.n; i++)
        if (m->before->promises.v[i].kind == PROMISE_OUTAGE)
            m->before->promises.v[i].minutes = minutes;
}

static double battery_price(const struct made *m)
{
    double sum = 0.0;
    for (uint32_t i = 0; i < m->h->batteries.n; i++)
        sum += m->h->parts.list.v[m->h->batteries.v[i].part.i].price;
    return sum;
}

static bool would_keep(struct made *m, struct battery *batteries, uint32_t n)
{
    struct house h = *m->h;
    struct made tried = { .c = m->c, .h = &h };
    h.batteries.v = batteries;
    h.batteries.n = n;
    CHECK_OK(&m->c, evaluation_begin(&tried.ev, &m->c.run, &h, evaluation_default_options(&h), &m->c.problems));
    return made_judge(&tried, PROMISE_OUTAGE).state == PROMISE_KEPT;
}

/* Of the batteries in one room: every part alone, and every two parts with the feeds split at any place of their list, that cost less:
 * none keeps it, those of other rooms being there. */
static void check_none_cheaper_in(struct made *m, uint32_t room)
{
    double price = 0.0;
    struct battery *tried = ARENA_ARRAY(m->c.run.arena, struct battery, m->h->batteries.n + 2);
    str_list feeds = { .v = ARENA_ARRAY(m->c.run.arena, struct str, 32) };
    uint32_t n_others = 0;
    struct battery like = { 0 };
    for (uint32_t i = 0; i < m->h->batteries.n; i++) {
        const struct battery *q = &m->h->batteries.v[i];
        if (q->room.i != room) {
            tried[n_others++] = *q;
            continue;
        }
        like = *q;
        price += m->h->parts.list.v[q->part.i].price;
        for (uint32_t k = 0; k < q->feeds.n; k++)
            feeds.v[feeds.n++] = q->feeds.v[k];
    }
    struct battery *two = tried + n_others;
    for (uint32_t i = 0; i < m->h->parts.list.n; i++)
        for (uint32_t k = i; k < m->h->parts.list.n; k++) {
            const struct part *x = &m->h->parts.list.v[i], *y = &m->h->parts.list.v[k];
            if (x->kind != PART_BATTERY || y->kind != PART_BATTERY)
                continue;
            two[0] = two[1] = like;
            two[0].part.i = i;
            two[1].part.i = k;
            two[0].feeds = feeds;
            if (i == k && x->price < price)
                CHECK("one that costs less", !would_keep(m, tried, n_others + 1));
            for (uint32_t n = 1; n < feeds.n && x->price + y->price < price; n++) {
                two[0].feeds = (str_list){ feeds.v, n };
                two[1].feeds = (str_list){ feeds.v + n, feeds.n - n };
                CHECK("two that cost less", !would_keep(m, tried, n_others + 2));
            }
        }
}

static void check_none_cheaper(struct made *m)
{
    for (uint32_t i = 0; i < m->h->batteries.n; i++)
        check_none_cheaper_in(m, m->h->batteries.v[i].room.i);
}

TEST(the_least_costly_battery_is_taken)
{
    static const double MINUTES[] = { 10, 100, 240 };
    double last = 0.0;
    for (size_t i = 0; i < RT_COUNT(MINUTES); i++) {
        struct made m = made_open(MADE_HOUSES[0]);
        promise_minutes(&m, MINUTES[i]);
        made_choose(&m, true);
        made_fit(&m);
        CHECK("kept", made_judge(&m, PROMISE_OUTAGE).state == PROMISE_KEPT);
        CHECK("longer is dearer or the same", battery_price(&m) >= last);
        last = battery_price(&m);
        check_none_cheaper(&m);
        check_run_end(&m.c);
    }
}

/* Longer than anything in hand: nothing is bought for it, and it is said. */
TEST(what_no_battery_keeps_is_told)
{
    struct made m = made_open(MADE_HOUSES[0]);
    promise_minutes(&m, 20000);
    made_choose(&m, true);
    made_fit(&m);
    bool is_told = false;
    for (uint32_t i = 0; i < m.fitted.reasons.n; i++)
        is_told |= str_is(m.fitted.reasons.v[i].id, "dark_house");
    CHECK("told", is_told && m.h->batteries.n == 0);
    check_run_end(&m.c);
}

/* The farm's battery lasts: nothing is added to it. */
TEST(a_battery_that_lasts_stays)
{
    struct made m = made_open(MADE_HOUSES[2]);
    made_choose(&m, false);
    made_fit(&m);
    CHECK("one as before", m.h->batteries.n == 1);
    CHECK("feeds what it fed", m.h->batteries.v[0].feeds.n == m.before->batteries.v[0].feeds.n);
    check_run_end(&m.c);
}

/* What is there lasts an hour or so: for longer another one takes some of the plugs, and each thing is on one battery. */
TEST(another_battery_shares_the_plugs)
{
    struct made m = made_open(MADE_HOUSES[0]);
    promise_minutes(&m, 120);
    made_choose(&m, false);
    m.h = m.before;
    CHECK_OK(&m.c, evaluation_begin(&m.ev, &m.c.run, m.h, evaluation_default_options(m.h), &m.c.problems));
    CHECK("broken before", made_judge(&m, PROMISE_OUTAGE).state == PROMISE_BROKEN);
    made_fit(&m);
    CHECK("kept", made_judge(&m, PROMISE_OUTAGE).state == PROMISE_KEPT);
    CHECK("one more", m.h->batteries.n > m.before->batteries.n);
    for (uint32_t i = 0; i < m.h->batteries.n; i++)
        for (uint32_t k = 0; k < m.h->batteries.v[i].feeds.n; k++)
            for (uint32_t other = 0; other < i; other++)
                for (uint32_t x = 0; x < m.h->batteries.v[other].feeds.n; x++)
                    CHECK("on one", !str_eq(m.h->batteries.v[i].feeds.v[k], m.h->batteries.v[other].feeds.v[x]));
    made_check_stays(&m);
    made_check_reads(&m);
    check_run_end(&m.c);
}

/* ---- disks ---- */

static double disks_price(const struct made *m)
{
    const struct recording *r = &m->h->recordings.v[0];
    double sum = 0.0;
    for (uint32_t i = 0; i < r->disks.n; i++)
        sum += m->h->parts.list.v[m->h->equipment.v[r->disks.v[i].i].part.i].price;
    return sum;
}

/* Every number of each sort of disk that costs less: they keep too little.  10.8 GB a day for each Mb/s; of a disk 0.9 is for
 * pictures (both as in tests/reference/recording.csv, where they are checked). */
static void check_no_cheaper_disks(struct made *m, double days)
{
    struct recording_life life;
    const double price = disks_price(m);
    CHECK_OK(&m->c, recording_life_of(&m->c.run, m->h, 0, &life, &m->c.problems));
    const double usable = life.days * life.disk_gb_per_day / life.disk_gb;
    const uint32_t four = parts_find(&m->h->parts, STR("disk_4tb")), eight = parts_find(&m->h->parts, STR("disk_8tb"));
    CHECK("both in hand", four != NO_REF && eight != NO_REF);
    for (int a = 0; a <= 8; a++)
        for (int b = 0; a + b <= 8; b++) {
            const double costs = a * m->h->parts.list.v[four].price + b * m->h->parts.list.v[eight].price;
            const double kept = (a * 4000.0 + b * 8000.0) * usable / life.disk_gb_per_day;
            if (costs < price - 1e-9)
                CHECK("what costs less keeps less", kept < days);
        }
}

TEST(the_least_costly_disks_are_taken)
{
    static const double DAYS[] = { 5, 40, 100 };
    for (size_t i = 0; i < RT_COUNT(DAYS); i++) {
        struct made m = made_open(MADE_HOUSES[0]);
        for (uint32_t k = 0; k < m.before->promises.n; k++)
            if (m.before->promises.v[k].kind == PROMISE_RECORDING)
                m.before->promises.v[k].days = DAYS[i];
        made_choose(&m, false);
        made_fit(&m);
        CHECK("kept", made_judge(&m, PROMISE_RECORDING).state == PROMISE_KEPT);
        CHECK("has disks", m.h->recordings.v[0].disks.n > 0);
        check_no_cheaper_disks(&m, DAYS[i]);
        check_run_end(&m.c);
    }
}

/* A recorder of which only the room is told, a room round a corner whose middle lies outside it: its disks are put into the room. */
TEST(disks_stand_in_a_room_round_a_corner)
{
    static const char HOUSE[] =
        "rooftree: 1\nname: Ell\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
        "parts_file: ../parts/demo.parts.yaml\n"
        "floors:\n  ground: { level_m: 0, height_m: 2.5, outline: [[0, 0], [14, 0], [14, 4], [4, 4], [4, 14], [0, 14]] "
        "}\n"
        "rooms:\n  den: { floor: ground, outline: [[0, 0], [14, 0], [14, 4], [4, 4], [4, 14], [0, 14]], use: living }\n"
        "segments:\n  home: {}\n"
        "equipment:\n  gateway: { part: gateway_1g, room: den, at_m: [0.2, 1.5, 0.3] }\n"
        "devices:\n  keeper: { kind: recorder, room: den, segment: home, link: wired }\n"
        "  eye: { kind: camera, part: camera_dome, room: den, at_m: [13.8, 2, 2.3], segment: home, link: wired }\n"
        "recordings:\n  tape: { recorder: keeper, cameras: [eye] }\n"
        "promises:\n  thirty_days: { kind: recording, says: Thirty days, recording: tape, days: 30 }\n";
    struct made m = { .c = check_run_begin() };
    m.path = check_path(&m.c, "houses/larch_end.house.yaml");
    CHECK_OK(&m.c, house_read_bytes(&m.c.run, m.path, str_from(HOUSE), &m.before, &m.c.problems));
    made_choose(&m, false);
    made_fit(&m);
    CHECK("a disk", m.h->recordings.v[0].disks.n > 0);
    const struct equipment *disk = &m.h->equipment.v[m.h->recordings.v[0].disks.v[0].i];
    const struct vec2 at = { disk->at_m.x, disk->at_m.y };
    CHECK("in the room", polygon_contains(m.h->rooms.v[disk->room.i].outline, at));
    made_check_reads(&m);
    check_run_end(&m.c);
}

/* Disks that bear so little that one alone is worn out too soon, while enough of them share the writing: so many are taken that each
 * lasts three years. */
TEST(disks_share_the_writing)
{
    struct made m = made_open(MADE_HOUSES[0]);
    struct part *parts = m.before->parts.list.v;
    struct recording_life life;
    CHECK_OK(&m.c, recording_life_of(&m.c.run, m.before, 0, &life, &m.c.problems));
    const double three_years_tb = 3.0 * 365.25 * life.disk_gb_per_day / 1000.0;
    for (uint32_t i = 0; i < m.before->parts.list.n; i++)
        if (parts[i].kind == PART_DISK)
            parts[i].write_tb = parts[i].disk_tb / 20.0 * three_years_tb; /* 20 TB together bear just that */
    made_choose(&m, false);
    made_fit(&m);
    CHECK_OK(&m.c, recording_life_of(&m.c.run, m.h, 0, &life, &m.c.problems));
    CHECK("as large as they must be, no larger", life.disk_gb >= 20000.0 && life.disk_gb <= 24000.0);
    CHECK("each lasts", life.endurance_years >= 3.0);
    check_run_end(&m.c);
}
