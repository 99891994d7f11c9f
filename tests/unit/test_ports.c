/* Ports of small houses, worked out by hand from the parts of tests/houses/ports.parts.yaml. */
#include "wire/ports.h"

#include <string.h>

#include "base/units.h"
#include "check.h"
#include "wire/open_parts.h"
#include "wire/port_choice.h"

#define HEAD                                                                                               \
    "rooftree: 1\nname: Test\ncountry: IE\ntime_zone: Europe/Dublin\ncurrency: EUR\n"                      \
    "parts_file: ports.parts.yaml\n"                                                                       \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"        \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}\n"           \
    "runs:\n  void: {kind: ceiling_void, floors: [ground], outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n" \
    "walls:\n  south: {floor: ground, construct: stud_wall, line: [[0, 0], [10, 0]]}\n"                    \
    "segments:\n  home: {vlan: 10}\n  things: {vlan: 20}\n"
#define AT "room: den, at_m: [1, 0.2, 1]"
#define FAR "room: den, at_m: [9, 0.2, 1]"
#define TV(id) "  " id ": {kind: television, " AT ", link: wired, segment: home, speed_mbps: 100}\n"
#define EYE(id) "  " id ": {kind: camera, " AT ", link: wired, segment: home, poe_class: 3, speed_mbps: 100}\n"
#define CABLE(id, from, to) "  " id ": {from: \"" from "\", to: \"" to "\", part: copper, length_m: 10}\n"

struct made {
    struct check_run c;
    struct house *h;
    struct port_plan *plan;
    enum rt_code code; /* of the choice of open parts */
};

static struct made make(const char *rest)
{
    struct made m = { .c = check_run_begin() };
    struct cable_plan *cables;
    struct wire_links links;
    const struct str text = str_from(arena_printf(m.c.run.arena, "%s%s", HEAD, rest));
    CHECK_OK(&m.c,
             house_read_bytes(&m.c.run, check_path(&m.c, "tests/houses/test.house.yaml"), text, &m.h, &m.c.problems));
    m.code = open_parts_choose(&m.c.run, m.h, &m.c.problems);
    if (m.code)
        return m;
    CHECK_OK(&m.c, cables_plan(&m.c.run, m.h, &cables, &m.c.problems));
    CHECK_OK(&m.c, wire_links_judge(&m.c.run, cables, &links, &m.c.problems));
    CHECK_OK(&m.c, port_plan_make(&m.c.run, cables, &links, &m.plan, &m.c.problems));
    CHECK("searched to the end", m.plan->is_best);
    return m;
}

static const struct planned_cable *planned(const struct made *m, const char *id)
{
    for (uint32_t c = 0; c < m->h->cables.n; c++)
        if (str_is(m->h->cables.v[c].id, id))
            return &m->plan->cables[c];
    CHECK(id, false);
    return NULL;
}

static const struct equipment_ports *ports_of(const struct made *m, const char *id)
{
    const struct equipment_ports *e = port_plan_of(m->plan, house_find_equipment(m->h, str_from(id)));
    CHECK(id, e != NULL);
    return e;
}

static bool has(struct str text, const char *part) { return text.n && memmem(text.p, text.n, part, strlen(part)); }

/* mixed: 1-4 plain, 5-6 feed, 7-8 fast, 9 for the way up; way_out: 1 is the line's. */
TEST(each_plug_finds_its_like)
{
    struct made m = make("devices:\n" TV("tv")
                             EYE("eye") "  nas: {kind: server, " AT ", link: wired, segment: home, speed_mbps: 2500}\n"
                                        "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {part: mixed, " AT "}\n"
                                        "cables:\n" CABLE("a", "sw", "eye") CABLE("b", "sw", "nas")
                                            CABLE("c", "sw", "tv") CABLE("up", "sw", "gw"));
    CHECK("the camera is fed", planned(&m, "a")->from.port == 5 && !planned(&m, "a")->from.lacks);
    CHECK("the server is fast", planned(&m, "b")->from.port == 7);
    CHECK("the television is plain", planned(&m, "c")->from.port == 1 && planned(&m, "c")->from.is_chosen);
    CHECK("the way up", planned(&m, "up")->from.port == 9 && planned(&m, "up")->to.port == 2);
    CHECK("a device has one port", planned(&m, "c")->to.port == 0);
    const struct equipment_ports *sw = ports_of(&m, "sw"), *gw = ports_of(&m, "gw");
    CHECK("of 9 ports 4", sw->n == 9 && sw->n_used == 4 && sw->n_free == 5 && sw->n_spare == 5);
    CHECK("of 2 that feed 1", sw->n_poe == 2 && sw->n_poe_free == 1);
    CHECK_NEAR("class 3 at the source (802.3, clause 33)", sw->poe_asked_w, 15.4, 1e-9, "W");
    CHECK("the line's port is not counted", gw->n == 4 && gw->n_used == 1);
    CHECK("over all", m.plan->n_free == 5 + 3 && m.plan->n_spare == 5 + 3 && m.plan->conflicts.n == 0);
    check_run_end(&m.c);
}

TEST(ports_of_the_file_are_kept)
{
    struct made m =
        make("devices:\n" TV("tv") TV("t2") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {part: mixed, " AT
                                            "}\ncables:\n" CABLE("a", "sw:2", "tv") CABLE("b", "sw", "t2")
                                                CABLE("up", "sw:1", "gw:5"));
    CHECK("given", planned(&m, "a")->from.port == 2 && !planned(&m, "a")->from.is_chosen);
    CHECK("the next free one", planned(&m, "b")->from.port == 3);
    CHECK("given", planned(&m, "up")->from.port == 1 && planned(&m, "up")->to.port == 5);
    check_run_end(&m.c);
}

/* Behind the uplink: three televisions at 100 Mb/s, on ports of 1000 Mb/s. */
TEST(uplinks_are_summed_up)
{
    struct made m = make("devices:\n" TV("a") TV("b")
                             TV("d") "equipment:\n  gw: {part: way_out, " AT "}\n  one: {part: mixed, " AT "}\n"
                                     "  two: {part: telling_5, " FAR "}\n"
                                     "cables:\n" CABLE("up", "one", "gw") CABLE("on", "two", "one")
                                         CABLE("x", "two", "a") CABLE("y", "two", "b") CABLE("z", "one", "d"));
    CHECK("two uplinks", m.plan->uplinks.n == 2);
    const struct planned_uplink *up = &m.plan->uplinks.v[0], *on = &m.plan->uplinks.v[1];
    CHECK_NEAR("the gateway's port", up->speed_mbps, 1000, 0, "Mb/s");
    CHECK_NEAR("needed behind", up->needed_mbps, 300, 1e-9, "Mb/s");
    CHECK_NEAR("ports behind", up->ports_mbps, 3000, 1e-9, "Mb/s");
    CHECK_NEAR("needed, of it", on->needed_share, 0.2, 1e-9, "");
    CHECK_NEAR("over-subscribed", on->ports_share, 2.0, 1e-9, "");
    CHECK("no second way", up->second_cable == NO_REF);
    check_run_end(&m.c);
}

/* Two ports feed, 40 W in all; three cameras of class 4 (30 W each at the source). */
TEST(what_does_not_fit_is_named)
{
#define EYE_4(id) "  " id ": {kind: camera, " AT ", link: wired, segment: home, poe_class: 4, speed_mbps: 100}\n"
    struct made m = make("devices:\n" TV("tv") EYE_4("a")
                             EYE_4("b") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {part: mixed, " AT "}\n"
                                        "cables:\n" CABLE("up", "sw", "gw") CABLE("x", "sw", "tv") CABLE("y", "sw", "a")
                                            CABLE("z", "sw", "b"));
    CHECK("one conflict", m.plan->conflicts.n == 1);
    CHECK_TEXT(
        "in words", m.plan->conflicts.v[0].says,
        STR("y, z do not fit together at sw: its power over Ethernet does not suffice; without any one of them the "
            "others do"));
    CHECK("all have a port all the same", planned(&m, "y")->from.port && planned(&m, "z")->from.port);
    check_run_end(&m.c);

    m = make("devices:\n" TV("tv") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {part: telling_5, " AT "}\n"
                                   "cables:\n" CABLE("up", "sw",
                                                     "gw") "  x: {from: sw, to: tv, part: glass, length_m: 10}\n");
    CHECK("no port takes glass", planned(&m, "x")->from.port == 0 && planned(&m, "x")->from.lacks == LACK_PORT);
    CHECK("said", m.plan->conflicts.n == 1 && has(m.plan->conflicts.v[0].says, "x does not get what it needs at sw"));
    check_run_end(&m.c);
}

/* The near switch is full, so the far one is proposed; a camera goes where it is fed. */
TEST(what_has_no_cable_gets_a_place)
{
    struct made m =
        make("devices:\n" TV("tv") EYE("eye") "equipment:\n  gw: {part: way_out, " FAR
                                              "}\n  near: {part: telling_5, " AT "}\n"
                                              "  far: {part: mixed, " FAR "}\n"
                                              "cables:\n" CABLE("up", "far", "gw") CABLE("on", "near", "far"));
    CHECK("two", m.plan->proposals.n == 2);
    const struct port_proposal *tv = &m.plan->proposals.v[0], *eye = &m.plan->proposals.v[1];
    CHECK("the near one", tv->device == 0 && tv->at == house_find_equipment(m.h, STR("near")) && tv->port == 2);
    CHECK("where it is fed", eye->at == house_find_equipment(m.h, STR("far")) && eye->port == 5);
    CHECK("further", eye->length_m > tv->length_m && eye->price > tv->price);
    CHECK_NEAR("both", m.plan->price, tv->price + eye->price, 0.02, "EUR");
    CHECK("bound", m.plan->bound <= m.plan->price + 1e-9 && m.plan->bound > m.plan->price - 0.02);
    CHECK("in words", has(tv->says, "to near, port 2: ") && has(tv->says, " EUR to lay"));
    check_run_end(&m.c);
}

/* A second way rests: what hangs behind it does not change, and the first one names it. */
TEST(a_second_way_rests)
{
    struct made m = make("devices:\n" TV(
        "tv") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {part: mixed, " AT "}\n"
              "cables:\n  spare: {from: gw, to: sw, part: copper, length_m: 10, rests: true}\n" CABLE("up", "sw", "gw")
                             CABLE("x", "sw", "tv"));
    CHECK("one uplink", m.plan->uplinks.n == 1);
    CHECK_TEXT("the first", m.h->cables.v[m.plan->uplinks.v[0].cable].id, STR("up"));
    CHECK("the second", m.plan->uplinks.v[0].second_cable == 0);
    CHECK("both have ports", planned(&m, "spare")->from.port && planned(&m, "spare")->to.port);
    check_run_end(&m.c);
}

/* ---- parts that are left open ---- */

static struct str part_of(const struct made *m, const char *id)
{
    const uint32_t e = house_find_equipment(m->h, str_from(id));
    return m->h->parts.list.v[m->h->equipment.v[e].part.i].id;
}

TEST(the_cheapest_part_that_will_do)
{
    static const struct {
        const char *what, *rest, *part, *because;
    } ROWS[] = {
        { "nothing special: the plainest",
          "devices:\n" TV("tv") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: switch, " AT
                                "}\ncables:\n" CABLE("up", "sw", "gw") CABLE("x", "sw", "tv"),
          "plain_5", "the cheapest switch in hand that will do, 10.00 EUR" },
        { "two segments: VLANs",
          "devices:\n" TV("tv") "  t2: {kind: television, " AT ", link: wired, segment: things}\n"
                                "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: switch, " AT
                                "}\ncables:\n" CABLE("up", "sw", "gw") CABLE("x", "sw", "tv") CABLE("y", "sw", "t2"),
          "telling_5", "plain_5 keeps no VLANs apart" },
        { "a camera: it feeds",
          "devices:\n" EYE("eye") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: switch, " AT
                                  "}\ncables:\n" CABLE("up", "sw", "gw") CABLE("x", "sw", "eye"),
          "feeding_5", "feeds 0 of 1" },
        { "three cameras: its watts suffice",
          "devices:\n" EYE("a") EYE("b") EYE("d") "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: switch, " AT
                                                  "}\ncables:\n" CABLE("up", "sw", "gw") CABLE("x", "sw", "a")
                                                      CABLE("y", "sw", "b") CABLE("z", "sw", "d"),
          "feeding_9", "feeding_5 gives 35 W of 46 W" },
        { "an access point by its bands",
          "equipment:\n  gw: {part: way_out, " AT "}\n  in: {part: feeding_5, " AT "}\n  sw: {kind: access_point, " AT
          ", radios: [{band: 2.4}]}\ncables:\n" CABLE("up", "in", "gw") CABLE("x", "in", "sw"),
          "disc_two", "disc lacks a band that is set" },
        { "a gateway by the line",
          "line: {kind: fibre, down_mbps: 500, up_mbps: 500, floor: ground, at_m: [0, 0, 0]}\n"
          "equipment:\n  sw: {kind: gateway, " AT "}\n",
          "way_out", "way_out_slow routes less than the line brings" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct made m = make(ROWS[i].rest);
        CHECK_OK(&m.c, m.code);
        CHECK_TEXT(ROWS[i].what, part_of(&m, "sw"), str_from(ROWS[i].part));
        const struct str because = m.h->equipment.v[house_find_equipment(m.h, STR("sw"))].because;
        CHECK(ROWS[i].because, has(because, ROWS[i].because));
        check_run_end(&m.c);
    }
}

/* fed_4 is cheap, but the switch that would feed it costs more than both others: chosen together. */
TEST(open_parts_are_chosen_together)
{
    struct made m = make("devices:\n" TV("tv") "equipment:\n  gw: {part: way_out, " AT "}\n  a: {kind: switch, " AT
                                               "}\n  ap: {kind: access_point, " AT "}\ncables:\n" CABLE("up", "a", "gw")
                                                   CABLE("x", "a", "tv") CABLE("y", "a", "ap"));
    CHECK_OK(&m.c, m.code);
    CHECK_TEXT("the switch feeds", part_of(&m, "a"), STR("feeding_5"));
    CHECK_TEXT("the access point", part_of(&m, "ap"), STR("disc"));
    check_run_end(&m.c);
}

TEST(nothing_in_hand_will_do)
{
    static const struct {
        const char *rest, *says;
    } ROWS[] = {
        { "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: converter, " AT "}\n",
          "equipment 'sw': no part of kind 'converter' in hand will do" },
        { "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: access_point, " AT ", radios: [{band: 6}]}\n",
          "disc lacks a band that is set; disc_two lacks a band that is set" },
        { "devices:\n  a: {kind: camera, " AT ", link: wired, segment: home, poe_class: 6}\n"
          "equipment:\n  gw: {part: way_out, " AT "}\n  sw: {kind: switch, " AT "}\ncables:\n" CABLE("up", "sw", "gw")
              CABLE("x", "sw", "a"),
          "no part of kind 'switch' in hand serves cable 'x': no port that can give it class 6 (60.0 W)" },
        { "devices:\n" EYE("a") EYE("b")
              EYE("d") "equipment:\n  box: {part: box, " AT "}\n  gw: {part: way_out, " AT
                       "}\n  sw: {kind: switch, inside: box}\ncables:\n" CABLE("up", "sw", "gw") CABLE("x", "sw", "a")
                           CABLE("y", "sw", "b") CABLE("z", "sw", "d"),
          "serves cable" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct made m = make(ROWS[i].rest);
        CHECK("refused", m.code == RT_MISSING && m.c.problems.n_errors == 1);
        CHECK(ROWS[i].says, has(str_from(m.c.problems.list.v[0].msg), ROWS[i].says));
        CHECK("at its place", m.c.problems.list.v[0].at.line > 0);
        check_run_end(&m.c);
    }
}

TEST(part_or_kind)
{
    static const char *const ROWS[][2] = {
        { "equipment:\n  gw: {part: way_out, kind: gateway, " AT "}\n", "both 'part' and 'kind' are given" },
        { "equipment:\n  gw: {" AT "}\n", "nothing says what it is" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct check_run c = check_run_begin();
        struct house *h;
        const struct str text = str_from(arena_printf(c.run.arena, "%s%s", HEAD, ROWS[i][0]));
        CHECK("refused",
              house_read_bytes(&c.run, check_path(&c, "tests/houses/test.house.yaml"), text, &h, &c.problems));
        CHECK(ROWS[i][1], has(str_from(c.problems.list.v[0].msg), ROWS[i][1]));
        check_run_end(&c);
    }
}
