/* Single failures in a small house worked out by hand: what each takes along, and which promises it breaks; the promise to survive,
 * turned by one fact each. */
#include <math.h>
#include <string.h>

#include "promise/mend.h"
#include "wire_kit.h"

/* Gateway, switch, two access points and an eye fed by the switch; on it too a printer, a hub with its lamp, a recorder.  The server
 * hangs on the gateway itself.  A battery feeds gateway, switch and the line's box. */
#define THINGS                                                                                             \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, box: {mode: modem, power_w: 5}}\n"                   \
    "equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: strong, room: den, at_m: [1, 1, 2.4]}\n"    \
    "  d1: {part: dome, room: den, at_m: [2, 4, 2.4]}\n  d2: {part: dome, room: den, at_m: [8, 4, 2.4]}\n" \
    "devices:\n  phone: {kind: phone, room: den, carried: true, segment: home, link: wifi}\n"              \
    "  printer: {kind: printer, " WIRED ", offers: [ipp]}\n"                                               \
    "  server: {kind: server, " WIRED ", offers: [https]}\n"                                               \
    "  eye: {kind: camera, " WIRED ", part: eye_3, poe_class: 3, camera: {rate_mbps: 4}}\n"                \
    "  keeper: {kind: recorder, " WIRED "}\n  hub: {kind: hub, " WIRED "}\n"                               \
    "  lamp: {kind: light, room: den, at_m: [3, 3, 2], link: mesh}\n"                                      \
    "cables:\n  up: {from: \"gw:1\", to: \"sw:1\", part: copper, length_m: 5}\n"                           \
    "  c_d1: {from: \"sw:2\", to: d1, part: copper, length_m: 9}\n"                                        \
    "  c_d2: {from: \"sw:3\", to: d2, part: copper, length_m: 9}\n"                                        \
    "  c_printer: {from: \"sw:4\", to: printer, part: copper, length_m: 9}\n"                              \
    "  c_eye: {from: \"sw:5\", to: eye, part: copper, length_m: 9}\n"                                      \
    "  c_keeper: {from: \"sw:6\", to: keeper, part: copper, length_m: 9}\n"                                \
    "  c_hub: {from: \"sw:7\", to: hub, part: copper, length_m: 9}\n"                                      \
    "  c_server: {from: \"gw:2\", to: server, part: copper, length_m: 2}\n"                                \
    "batteries:\n  b: {part: cell_iron, feeds: [line, gw, sw]}\n"                                          \
    "statements:\n  - {id: out, says: out, from: segment:home, to: internet, verdict: allow}\n"            \
    "recordings:\n  film: {recorder: keeper, cameras: [eye], disk_gb: 1000}\n"
#define PROMISES(level)                                                                     \
    "promises:\n  air: {kind: signal, says: air, rooms: [den], level_dbm: " level "}\n"     \
    "  surf: {kind: reach, says: surf, from: phone, to: internet, services: [https]}\n"     \
    "  print: {kind: reach, says: print, from: phone, to: printer, services: [ipp]}\n"      \
    "  copies: {kind: reach, says: copies, from: printer, to: server, services: [https]}\n" \
    "  watts: {kind: power, says: watts, devices: [eye]}\n"                                 \
    "  film: {kind: recording, says: film, recording: film, days: 1}\n"                     \
    "  dark: {kind: outage, says: dark, devices: [eye], minutes: 10}\n"                     \
    "  rest: {kind: exposure, says: rest}\n"
#define HOUSE WIRE_HEAD THINGS PROMISES("-60")

struct failing {
    struct check_run c;
    struct evaluation ev;
    struct failure_table *t;
};

static struct failing *failing_house(const char *text)
{
    struct check_run c = check_run_begin();
    struct failing *f = ARENA_NEW(c.run.arena, struct failing);
    struct house *h = NULL;
    f->c = c;
    f->c.problems.arena = f->c.run.arena;
    CHECK_OK(&f->c, house_read_bytes(&f->c.run, check_path(&f->c, "tests/houses/test.house.yaml"), str_from(text), &h,
                                     &f->c.problems));
    struct field_options options = evaluation_default_options(h);
    options.cell_m = 1.0;
    options.trace.order = 0;
    CHECK_OK(&f->c, evaluation_begin(&f->ev, &f->c.run, h, options, &f->c.problems));
    return f;
}

static void fill(struct failing *f)
{
    CHECK_OK(&f->c, evaluation_failures(&f->ev, &f->t, &f->c.problems));
    CHECK_OK(&f->c, failure_table_fill(f->t, &f->c.problems));
}

static uint32_t row_of(const struct failing *f, enum failure_kind kind, const char *id)
{
    for (uint32_t i = 0; i < f->t->rows.n; i++)
        if (f->t->rows.v[i].failure.kind == kind && str_is(f->t->rows.v[i].failure.id, id))
            return i;
    fail_msg("no failure %s", id);
    return NO_REF;
}

/* "air, surf": what a failure breaks, in the file's order. */
static struct str broken_by(struct failing *f, enum failure_kind kind, const char *id)
{
    struct buf b = { .arena = f->c.run.arena };
    const uint32_t row = row_of(f, kind, id);
    for (uint32_t k = 0; k < f->ev.h->promises.n; k++)
        if (failure_breaks(f->t, row, k))
            buf_printf(&b, "%s%.*s", b.n ? " " : "", STR_ARG(f->ev.h->promises.v[k].id));
    return b.n ? buf_done(&b) : STR("");
}

/* Dead things, a bar, things that are cut off. */
static struct str lost_by(struct failing *f, enum failure_kind kind, const char *id)
{
    struct buf b = { .arena = f->c.run.arena };
    const struct damage *d = f->t->rows.v[row_of(f, kind, id)].damage;
    const uint32_t n = f->ev.h->equipment.n + f->ev.h->devices.n;
    for (uint32_t i = 0; i < n; i++)
        if (d->dead_thing[i])
            buf_printf(&b, "%.*s ", STR_ARG(damage_thing_id(f->ev.h, i)));
    buf_char(&b, '|');
    for (uint32_t i = 0; i < n; i++)
        if (d->cut_off[i])
            buf_printf(&b, " %.*s", STR_ARG(damage_thing_id(f->ev.h, i)));
    return buf_done(&b);
}

/* The sentence is to be read: a thing that is called as its kind is not named twice. */
TEST(a_failure_reads_as_people_say_it)
{
    struct failing *f = failing_house(
        WIRE_HEAD "line: {kind: fibre, down_mbps: 100, up_mbps: 20}\n"
                  "equipment:\n  gateway: {part: gate, " WIRE_AT "}\n"
                  "  switch: {part: strong, says: in the cupboard, room: den, at_m: [1, 1, 2.4]}\n"
                  "  sw: {part: strong, room: den, at_m: [2, 1, 2.4]}\n"
                  "  access_point: {part: dome, says: over the table, room: den, at_m: [2, 4, 2.4]}\n"
                  "  d2: {part: dome, says: by the door, room: den, at_m: [8, 4, 2.4]}\n"
                  "cables:\n  cable: {from: \"gateway:1\", to: \"switch:1\", part: copper, length_m: 5}\n");
    failure_list list;
    CHECK_OK(&f->c, failures_of_house(f->c.run.arena, f->ev.h, ALL_FAILURE_KINDS, &list, &f->c.problems));
    static const char *const SAYS[] = {
        "the access point (over the table)",
        "access point d2 (by the door)",
        "the cable (gateway to switch)",
        "the switch (in the cupboard)",
        "switch sw",
        "the gateway",
        "the line",
        "mains of the whole house",
    };
    assert_int_equal(list.n, RT_COUNT(SAYS));
    for (size_t i = 0; i < RT_COUNT(SAYS); i++)
        CHECK_TEXT(SAYS[i], list.v[i].says, str_from(SAYS[i]));
    check_run_end(&f->c);
}

TEST(each_failure_takes_along_what_hangs_on_it)
{
    struct failing *f = failing_house(HOUSE);
    fill(f);
    static const struct {
        enum failure_kind kind;
        const char *id, *lost, *broken;
    } CASES[] = {
        { FAILURE_ACCESS_POINT, "d1", "d1 |", "" }, /* the other one reaches the whole room */
        { FAILURE_CABLE, "c_d1", "d1 |", "" },
        { FAILURE_CABLE, "c_printer", "| printer", "print copies" },
        { FAILURE_CABLE, "c_server", "| server", "copies" },
        { FAILURE_CABLE, "c_hub", "| hub lamp", "" },
        { FAILURE_CABLE, "c_eye", "eye |", "watts film dark" },
        { FAILURE_CABLE, "c_keeper", "| keeper", "film" },
        /* eye and recorder still meet at the switch; the phone has nothing to be on */
        { FAILURE_CABLE, "up", "| sw d1 d2 phone printer eye keeper hub lamp", "air surf print copies dark" },
        { FAILURE_SWITCH, "sw", "sw d1 d2 eye | phone printer keeper hub lamp",
          "air surf print copies watts film dark" },
        { FAILURE_GATEWAY, "gw", "gw | sw d1 d2 phone printer server eye keeper hub lamp",
          "air surf print copies dark" },
        { FAILURE_LINE, "line", "|", "surf" },
        /* on the battery live the line, gateway, switch and what that feeds */
        { FAILURE_MAINS, "mains", "printer server keeper hub lamp |", "print copies film" },
        { FAILURE_DISK, "keeper", "|", "film" },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        const char *lost = arena_printf(f->c.run.arena, "%s is lost", CASES[i].id);
        CHECK_TEXT(lost, lost_by(f, CASES[i].kind, CASES[i].id), str_from(CASES[i].lost));
        CHECK_TEXT(CASES[i].id, broken_by(f, CASES[i].kind, CASES[i].id), str_from(CASES[i].broken));
    }
    check_run_end(&f->c);
}

TEST(every_failure_is_listed_once)
{
    struct failing *f = failing_house(HOUSE);
    fill(f);
    uint32_t n[FAILURE_KIND_COUNT] = { 0 };
    for (uint32_t i = 0; i < f->t->rows.n; i++)
        n[f->t->rows.v[i].failure.kind]++;
    static const uint32_t WANT[FAILURE_KIND_COUNT] = {
        [FAILURE_ACCESS_POINT] = 2, [FAILURE_CABLE] = 8, [FAILURE_SWITCH] = 1, [FAILURE_GATEWAY] = 1,
        [FAILURE_LINE] = 1,         [FAILURE_MAINS] = 1, [FAILURE_DISK] = 1,
    };
    for (int k = 0; k < FAILURE_KIND_COUNT; k++)
        CHECK_NEAR(failure_kind_name((enum failure_kind)k), n[k], WANT[k], 0, "");
    CHECK_TEXT("says", f->t->rows.v[row_of(f, FAILURE_CABLE, "c_d1")].failure.says, STR("cable c_d1 (sw to d1)"));
    check_run_end(&f->c);
}

/* One fuse takes what is on it, and leaves the rest. */
TEST(circuits)
{
    const char *text = HOUSE;
    struct check_run c = check_run_begin();
    char *mine = arena_printf(c.run.arena, "%s", text);
    const char *printer = "printer: {kind: printer, ", *keeper = "keeper: {kind: recorder, ";
    const char *at = strstr(mine, printer);
    mine = arena_printf(c.run.arena, "%.*s%scircuit: up, %s", (int)(at - mine), mine, printer, at + strlen(printer));
    at = strstr(mine, keeper);
    mine = arena_printf(c.run.arena, "%.*s%scircuit: down, %s", (int)(at - mine), mine, keeper, at + strlen(keeper));
    struct failing *f = failing_house(mine);
    fill(f);
    CHECK_TEXT("up", lost_by(f, FAILURE_MAINS, "up"), STR("printer |"));
    CHECK_TEXT("down", lost_by(f, FAILURE_MAINS, "down"), STR("keeper |"));
    CHECK_TEXT("all", lost_by(f, FAILURE_MAINS, "mains"), STR("printer server keeper hub lamp |"));
    check_run_end(&f->c);
    check_run_end(&c);
}

/* Without a battery the mains takes all but what has cells of its own. */
TEST(a_battery_is_the_difference)
{
    struct check_run c = check_run_begin();
    char *text = arena_printf(c.run.arena, "%s", HOUSE);
    memcpy(strstr(text, "feeds: [line, gw, sw]"), "feeds: [server]      ", strlen("feeds: [line, gw, sw]"));
    struct failing *f = failing_house(text);
    fill(f);
    CHECK_TEXT("lost", lost_by(f, FAILURE_MAINS, "mains"),
               STR("gw sw d1 d2 printer eye keeper hub lamp | phone server"));
    CHECK("the line's box has a plug", f->t->rows.v[row_of(f, FAILURE_MAINS, "mains")].damage->line_dead);
    CHECK_TEXT("broken", broken_by(f, FAILURE_MAINS, "mains"), STR("air surf print copies watts film"));
    check_run_end(&f->c);
    check_run_end(&c);
}

TEST(mirrored_disks)
{
    struct check_run c = check_run_begin();
    const char *disks = "  k1: {part: disk_1tb, " WIRE_AT "}\n  k2: {part: disk_1tb, " WIRE_AT "}\n";
    for (int mirrored = 0; mirrored < 2; mirrored++) {
        const char *at = strstr(HOUSE, "devices:"), *film = strstr(HOUSE, ", disk_gb: 1000}");
        const char *text =
            arena_printf(c.run.arena, "%.*s%s%.*s, disks: [k1, k2]%s%s", (int)(at - HOUSE), HOUSE, disks,
                         (int)(film - at), at, mirrored ? ", mirrored: true" : "", film + strlen(", disk_gb: 1000"));
        struct failing *f = failing_house(text);
        fill(f);
        CHECK_TEXT(mirrored ? "the other has all" : "half is gone", broken_by(f, FAILURE_DISK, "k2"),
                   mirrored ? STR("") : STR("film"));
        check_run_end(&f->c);
    }
    check_run_end(&c);
}

/* ---- the promise ---- */

static const struct promise_result *judge(struct failing *f, const char *id)
{
    struct promise_results r;
    CHECK_OK(&f->c, promises_evaluate(&f->ev, ALL_PROMISE_KINDS, &r, &f->c.problems));
    for (uint32_t i = 0; i < r.n; i++)
        if (str_is(r.v[i].promise->id, id))
            return &r.v[i];
    fail_msg("no promise %s", id);
    return NULL;
}

#define SURVIVES(promises, failures) \
    "  lives: {kind: survive, says: lives, promises: [" promises "], failures: [" failures "]}\n"

/* Its margin is that of the promise in the same house without one access point, read and judged from the file. */
TEST(survive_is_turned_by_one_fact)
{
    static const struct {
        const char *level;
        enum promise_state want;
    } CASES[] = { { "-60", PROMISE_KEPT }, { "-57", PROMISE_BROKEN } };
    for (size_t i = 0; i < RT_COUNT(CASES); i++) {
        struct check_run c = check_run_begin();
        const char *text = arena_printf(c.run.arena, "%s%s%s", WIRE_HEAD THINGS, i ? PROMISES("-57") : PROMISES("-60"),
                                        SURVIVES("air", "access_point"));
        struct failing *f = failing_house(text);
        const struct promise_result *r = judge(f, "lives");
        CHECK(CASES[i].level, r->state == CASES[i].want);
        double worst_db = INFINITY;
        for (int ap = 1; ap <= 2; ap++) {
            char *less = arena_printf(c.run.arena, "%s", text);
            const char *name = ap == 1 ? "  d1: {part" : "  d2: {part";
            char *line = strstr(less, name), *end = strchr(line, '\n');
            memset(line, ' ', (size_t)(end - line));
            name = ap == 1 ? "  c_d1: {" : "  c_d2: {";
            line = strstr(less, name), end = strchr(line, '\n');
            memset(line, ' ', (size_t)(end - line));
            struct failing *without = failing_house(less);
            worst_db = fmin(worst_db, judge(without, "air")->margin);
            check_run_end(&without->c);
        }
        CHECK_NEAR("margin", r->margin, worst_db, 1e-9, "dB");
        CHECK("which one", strstr(r->reason.p, "without access point d") != NULL);
        check_run_end(&f->c);
        check_run_end(&c);
    }
}

TEST(survive_names_the_worst)
{
    struct failing *f = failing_house(HOUSE SURVIVES("air, surf, print", "cable, line"));
    const struct promise_result *r = judge(f, "lives");
    CHECK("broken", r->state == PROMISE_BROKEN && isnan(r->margin));
    CHECK_TEXT(
        "first of the worst", r->reason,
        STR("without cable up (gw to sw), `air`: no access point left serves this device; 3 of 9 failures break it"));
    check_run_end(&f->c);
    f = failing_house(HOUSE SURVIVES("air, rest", "line, disk"));
    CHECK("neither touches it", judge(f, "lives")->state == PROMISE_KEPT);
    check_run_end(&f->c);
}

TEST(survive_that_cannot_be_judged)
{
    struct check_run c = check_run_begin();
    char *text = arena_printf(c.run.arena, "%s%s", HOUSE, SURVIVES("air", "disk"));
    char *film = strstr(text, "recordings:"), *end = strstr(film, "promises:");
    memset(film, ' ', (size_t)(end - film - 1));
    film = strstr(text, "  film: {kind"), end = strchr(film, '\n');
    memset(film, ' ', (size_t)(end - film));
    struct failing *f = failing_house(text);
    CHECK("no disk to lose", judge(f, "lives")->state == PROMISE_UNKNOWN);
    check_run_end(&f->c);
    check_run_end(&c);
    f = failing_house(WIRE_HEAD THINGS PROMISES("-20") SURVIVES("air", "line"));
    CHECK("broken before anything fails", judge(f, "lives")->state == PROMISE_BROKEN);
    CHECK("and says so", strstr(judge(f, "lives")->reason.p, "even while all works") != NULL);
    check_run_end(&f->c);
}

/* ---- what would mend it ---- */

static struct mend mend_of(struct failing *f, uint32_t n)
{
    struct mends list;
    struct promise_results all;
    CHECK_OK(&f->c, promises_evaluate(&f->ev, ALL_PROMISE_KINDS, &all, &f->c.problems));
    CHECK_OK(&f->c, evaluation_failures(&f->ev, &f->t, &f->c.problems));
    CHECK_OK(&f->c, failures_mend(f->t, &list, &f->c.problems));
    CHECK_NEAR("promises to mend", list.n, n, 0, "");
    return list.v[0];
}

static int64_t bill_of(struct failing *f)
{
    const struct bill *bill = NULL;
    CHECK_OK(&f->c, evaluation_bill(&f->ev, &bill, &f->c.problems));
    return bill->total;
}

/* A text of the house with something put before a mark. */
static char *with(struct check_run *c, const char *text, const char *mark, const char *more)
{
    const char *at = strstr(text, mark);
    return arena_printf(c->run.arena, "%.*s%s%s", (int)(at - text), text, more, at);
}

#define SPOT_MOUNT                                                                                       \
    "mounts:\n  far: {room: den, at_m: [5, 4, 2.4], surface: ceiling, use: [access_point], price: 10}\n" \
    "  wall: {room: den, at_m: [9, 7, 1], surface: wall, faces_deg: 0, use: [access_point], price: 1}\n"

/* At this level one access point does not do: the price and what is gained are those of a file in which the third one stands. */
TEST(mend_by_an_access_point)
{
    struct check_run c = check_run_begin();
    char *text = arena_printf(c.run.arena, "%s%s%s", WIRE_HEAD SPOT_MOUNT THINGS, PROMISES("-58"),
                              SURVIVES("air", "access_point"));
    struct failing *f = failing_house(text);
    const struct mend m = mend_of(f, 1);
    char *file = with(&c, text, "devices:", "  one_more: {part: dome, mount: far}\n");
    file = with(&c, file, "batteries:", "  one_more: {from: sw, to: one_more, cord_from_m: 0.5, cord_to_m: 0.5}\n");
    struct failing *more = failing_house(file);
    fill(more);
    const struct promise_result *air = more->t->rows.v[row_of(more, FAILURE_ACCESS_POINT, "d1")].results[0];
    CHECK("kept without the first", air->state == PROMISE_KEPT);
    CHECK("found", m.is_found && m.n_tried == 1);
    CHECK_NEAR("price", (double)m.price, (double)(bill_of(more) - bill_of(f)), 0, "");
    const char *says =
        arena_printf(c.run.arena,
                     "one more access point, `dome` on mount far, on a cable from sw; then %+.1f dB, and "
                     "any other one may fail instead",
                     air->margin);
    CHECK_TEXT("says", m.says, str_from(says));
    check_run_end(&f->c);
    check_run_end(&more->c);
    check_run_end(&c);
}

TEST(mend_by_a_battery_and_a_disk)
{
    struct check_run c = check_run_begin();
    char *text = arena_printf(c.run.arena, "%s%s", HOUSE, SURVIVES("air", "mains"));
    memcpy(strstr(text, "feeds: [line, gw, sw]"), "feeds: [server]      ", strlen("feeds: [line, gw, sw]"));
    struct failing *f = failing_house(text);
    struct mend m = mend_of(f, 1);
    CHECK("battery", m.is_found && strstr(m.says.p, "a battery, `cell_lead`") != NULL);
    CHECK_NEAR("90 EUR, and a tenth for what was not foreseen", (double)m.price, 9900, 0, "cent");
    check_run_end(&f->c);
    text = with(&c, HOUSE, "devices:", "  k1: {part: disk_1tb, " WIRE_AT "}\n");
    char *size = strstr(text, ", disk_gb: 1000}");
    memcpy(size, ", disks: [k1]  }", strlen(", disk_gb: 1000}"));
    f = failing_house(arena_printf(c.run.arena, "%s%s", text, SURVIVES("film", "disk")));
    m = mend_of(f, 1);
    CHECK("disk", m.is_found && strstr(m.says.p, "one more disk, `disk_1tb`") != NULL);
    CHECK_NEAR("40 EUR and a tenth", (double)m.price, 4400, 0, "cent");
    check_run_end(&f->c);
    check_run_end(&c);
}

TEST(what_no_part_mends)
{
    struct failing *f = failing_house(HOUSE SURVIVES("surf", "line"));
    const struct mend m = mend_of(f, 1);
    CHECK("words", !m.is_found && m.n_tried == 0 && strstr(m.says.p, "second line") != NULL);
    check_run_end(&f->c);
}
