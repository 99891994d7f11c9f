/* What two house files say differently: each row is one change of a small house and what must be told of it, both ways round. */
#include "design/file_difference.h"

#include <string.h>

#include "check.h"

#define HEAD "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\nestimate: careful\n"
#define FLOORS "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"
#define KITCHEN                                                                                               \
    "  kitchen: {floor: ground, outline: [[0, 0], [5, 0], [5, 8], [0, 8]], use: kitchen, keep_free: [cable, " \
    "outlets]}\n"
#define HALL "  hall: {floor: ground, outline: [[5, 0], [10, 0], [10, 8], [5, 8]], says: the hall}\n"
#define DOOR "{id: door, kind: door, at_m: 1, width_m: 0.8, head_m: 2, construct: timber_door}"
#define GAP "{kind: gap, at_m: 4, width_m: 1, head_m: 2.2}"
#define WALL                                                                                                       \
    "walls:\n  middle: {floor: ground, construct: brick_single, line: [[5, 0], [5, 8]], openings: [" DOOR ", " GAP \
    "]}\n"
#define PHONE "  phone: {kind: phone, link: wifi, segment: home, radio: {streams: 1}}\n"
#define PRINTER "  printer: {kind: printer, room: hall, at_m: [6, 1, 0.7], link: wired, segment: home}\n"
#define ONE "  - {id: one, from: phone, to: printer}\n"
#define TWO "  - {id: two, from: printer, to: internet, verdict: refuse}\n"
#define REST                                                                      \
    "segments: {home: {vlan: 10}}\ngroups: {both: {members: [phone, printer]}}\n" \
    "budget: {purchase: 200}\n"

static const char SMALL[] =
    HEAD FLOORS "rooms:\n" KITCHEN HALL WALL "devices:\n" PHONE PRINTER "statements:\n" ONE TWO REST;

static const struct house *read_text(struct check_run *c, const char *text)
{
    struct house *h = NULL;
    CHECK_OK(c, house_read_bytes(&c->run, "t.house.yaml", str_from(text), &h, &c->problems));
    return h;
}

static file_difference_list differ(struct check_run *c, const struct house *first, const struct house *second)
{
    file_difference_list list;
    CHECK_OK(c, houses_differ(c->run.arena, first, second, &list, &c->problems));
    return list;
}

/* The text with the first `from` in it become `to`. */
static const char *with(struct check_run *c, const char *text, const char *from, const char *to)
{
    const char *at = strstr(text, from);
    CHECK(from, at != NULL);
    return arena_printf(c->run.arena, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
}

static const char *side(struct str s, struct check_run *c)
{
    return s.p ? arena_printf(c->run.arena, "%.*s", STR_ARG(s)) : "-";
}

/* What the second says where the first says the other: every difference the other way round. */
static void check_mirrored(struct check_run *c, const struct house *first, const struct house *second)
{
    const file_difference_list there = differ(c, first, second), back = differ(c, second, first);
    CHECK_NEAR("as many both ways", back.n, there.n, 0, "differences");
    for (uint32_t i = 0; i < there.n; i++) {
        const struct file_difference *x = &there.v[i], *y = &back.v[i];
        static const enum file_difference_kind TURNED[] = {
            [FILE_ONLY_FIRST] = FILE_ONLY_SECOND, [FILE_ONLY_SECOND] = FILE_ONLY_FIRST, [FILE_CHANGED] = FILE_CHANGED
        };
        CHECK_NEAR("section", y->section, x->section, 0, "");
        CHECK_TEXT("id", y->id, x->id);
        CHECK_NEAR("kind", y->kind, TURNED[x->kind], 0, "");
        CHECK_NEAR("members", y->members.n, x->members.n, 0, "");
        for (uint32_t m = 0; m < x->members.n; m++)
            for (int k = 0; k < 2; k++) {
                CHECK_TEXT("member", y->members.v[m].member, x->members.v[m].member);
                CHECK_TEXT("side", y->members.v[m].sides[k], x->members.v[m].sides[1 - k]);
            }
    }
}

static const struct {
    const char *what, *from, *to;
    const char *section, *id;
    enum file_difference_kind kind;
    const char *member, *says, *first, *second; /* of the first member */
} ROWS[] = {
    { "a word at the top", "name: Test", "name: Other", "house", "", FILE_CHANGED, "name", "name", "Test", "Other" },
    { "a room's words", "the hall", "the long hall", "rooms", "hall", FILE_CHANGED, "says", "words", "the hall",
      "the long hall" },
    { "a room less", HALL, "", "rooms", "hall", FILE_ONLY_FIRST, "says", "words", "the hall", "-" },
    { "a device more", PRINTER, PRINTER "  lamp: {kind: light, link: wifi, segment: home, room: hall}\n", "devices",
      "lamp", FILE_ONLY_SECOND, "kind", "kind", "-", "light" },
    { "a place", "at_m: [6, 1, 0.7]", "at_m: [6, 2, 0.7]", "devices", "printer", FILE_CHANGED, "at_m", "place",
      "[6, 1, 0.7]", "[6, 2, 0.7]" },
    { "inside an object", "streams: 1", "streams: 2", "devices", "phone", FILE_CHANGED, "radio.streams",
      "radio, streams", "1", "2" },
    { "an item of a list, by its id", "at_m: 1,", "at_m: 1.5,", "walls", "middle", FILE_CHANGED, "openings[door].at_m",
      "openings door, place", "1", "1.5" },
    { "an item less", ", " GAP, "", "walls", "middle", FILE_CHANGED, "openings[gap]", "openings gap",
      "{kind: gap, at_m: 4, width_m: 1, head_m: 2.2}", "-" },
    { "a statement", "to: printer}", "to: printer, log: true}", "statements", "one", FILE_CHANGED, "log", "log",
      "false", "true" },
    { "the order of statements", ONE TWO, TWO ONE, "statements", "", FILE_CHANGED, "one", "one", "1", "2" },
    { "a section that is one thing", "budget: {purchase: 200}", "budget: {purchase: 250}", "budget", "", FILE_CHANGED,
      "purchase", "purchase", "200", "250" },
    { "and without it", "budget: {purchase: 200}\n", "", "budget", "", FILE_ONLY_FIRST, "purchase", "purchase", "200",
      "-" },
    { "a member left out", "vlan: 10", "", "segments", "home", FILE_CHANGED, "vlan", "vlan", "10", "-" },
    { "one name more", "[phone, printer]", "[phone]", "groups", "both", FILE_CHANGED, "members", "members",
      "[phone, printer]", "[phone]" },
};

TEST(each_change_is_told_once_and_both_ways)
{
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct check_run c = check_run_begin();
        /* nothing stands in the room that goes */
        const char *small =
            strcmp(ROWS[i].from, HALL) == 0 ? with(&c, SMALL, "room: hall, ", "floor: ground, ") : SMALL;
        const struct house *first = read_text(&c, small);
        const struct house *second = read_text(&c, with(&c, small, ROWS[i].from, ROWS[i].to));
        const file_difference_list list = differ(&c, first, second);
        CHECK_NEAR(ROWS[i].what, list.n, 1, 0, "differences");
        const struct file_difference *d = &list.v[0];
        CHECK_TEXT(ROWS[i].what, file_difference_section(c.run.arena, d), str_from(ROWS[i].section));
        CHECK_TEXT(ROWS[i].what, d->id, str_from(ROWS[i].id));
        CHECK_NEAR(ROWS[i].what, d->kind, ROWS[i].kind, 0, "kind");
        bool found = false;
        for (uint32_t m = 0; m < d->members.n; m++) {
            const struct differing_member *x = &d->members.v[m];
            if (!str_is(x->member, ROWS[i].member))
                continue;
            found = true;
            CHECK_TEXT(ROWS[i].what, x->says, str_from(ROWS[i].says));
            CHECK_TEXT(ROWS[i].what, str_from(side(x->sides[0], &c)), str_from(ROWS[i].first));
            CHECK_TEXT(ROWS[i].what, str_from(side(x->sides[1], &c)), str_from(ROWS[i].second));
        }
        CHECK(ROWS[i].what, found);
        check_mirrored(&c, first, second);
        check_run_end(&c);
    }
}

TEST(order_comments_and_written_defaults_make_no_difference)
{
    static const char OTHER[] =
        "# another hand\n" REST "statements:\n" ONE TWO "devices: # both\n" PRINTER PHONE
        "walls:\n  middle: {openings: [" GAP ", " DOOR "], line: [[5, 0], [5.000, 8]], construct: "
        "brick_single, floor: ground}\nrooms:\n" HALL KITCHEN FLOORS
        "estimate: careful # as if it were left out\ncurrency: GBP\ntime_zone: Europe/London\n"
        "country: GB\nname: \"Test\"\nrooftree: 1\n";
    struct check_run c = check_run_begin();
    const struct house *h = read_text(&c, SMALL), *other = read_text(&c, OTHER);
    CHECK_NEAR("against itself", differ(&c, h, h).n, 0, 0, "differences");
    CHECK_NEAR("turned round", differ(&c, h, other).n, 0, 0, "differences");
    const struct house *several = read_text(&c, with(&c, OTHER, "[phone, printer]", "[printer, phone]"));
    CHECK_NEAR("names that have no order", differ(&c, h, several).n, 0, 0, "differences");
    const struct house *without = read_text(&c, with(&c, SMALL, "estimate: careful\n", ""));
    CHECK_NEAR("a default", differ(&c, h, without).n, 0, 0, "differences");
    check_run_end(&c);
}

TEST(whole_houses_are_told_the_same_from_either_side)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                          "houses/whin_farm.house.yaml" };
    struct check_run c = check_run_begin();
    struct house *h[RT_COUNT(HOUSES)];
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++)
        CHECK_OK(&c, house_read(&c.run, check_path(&c, HOUSES[i]), &h[i], &c.problems));
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        CHECK_NEAR(HOUSES[i], differ(&c, h[i], h[i]).n, 0, 0, "differences");
        const struct house *other = h[(i + 1) % RT_COUNT(HOUSES)];
        CHECK("they are told apart", differ(&c, h[i], other).n > 50);
        check_mirrored(&c, h[i], other);
    }
    check_run_end(&c);
}

TEST(too_little_memory_is_told)
{
    struct check_run c = check_run_begin();
    struct house *h[2];
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/larch_end.house.yaml"), &h[0], &c.problems));
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/quay_flat.house.yaml"), &h[1], &c.problems));
    uint32_t n_told = 0;
    enum rt_code code = RT_NOMEM;
    for (size_t ceiling = 1u << 14; code == RT_NOMEM; ceiling += ceiling / 8) {
        file_difference_list list = { 0 };
        struct arena *a = arena_new(ceiling);
        code = a ? houses_differ(a, h[0], h[1], &list, &c.problems) : RT_NOMEM;
        n_told += code == RT_NOMEM;
        CHECK("nothing but that there is none", code == RT_NOMEM || code == RT_OK);
        CHECK("or all of it", code == RT_NOMEM || list.n > 50);
        arena_free(a);
    }
    CHECK("it was told several times before there was enough", n_told > 5);
    check_run_end(&c);
}
