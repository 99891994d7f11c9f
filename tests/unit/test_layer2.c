/* Layer 2: ports, VLANs, SSIDs, sockets, ways.
 *
 * What a port must carry: IEEE Std 802.1Q (from memory): a frame without a tag belongs to the port's own VLAN (PVID), one with a
 * tag to the VLAN of the tag; a port that is no member of a VLAN drops its frames.  The wanted tables are worked out by hand
 * from the little houses below. */
#include <string.h>

#include "base/file.h"
#include "base/units.h"
#include "check.h"
#include "house/house.h"
#include "reach/layer2.h"

#define HEAD                                                                                             \
    "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"                    \
    "parts_file: ../parts/demo.parts.yaml\n"                                                             \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"      \
    "  yard: {level_m: 0, height_m: 6, outline: [[0, 8], [10, 8], [10, 20], [0, 20]], open_air: true}\n" \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [5, 0], [5, 8], [0, 8]], use: living}\n"           \
    "  let: {floor: ground, outline: [[5, 0], [10, 0], [10, 8], [5, 8]], use: bedroom}\n"                \
    "people:\n  ann: {kind: adult}\n  lou: {kind: lodger, room: let}\n"                                  \
    "segments:\n  home: {vlan: 10}\n  things: {vlan: 50}\n  eyes: {vlan: 60, known_only: true}\n"
#define PHONE "devices:\n  phone: {kind: phone, owner: ann, room: den, link: wifi, segment: home}\n"
#define AT "room: den, at_m: [1, 1, 1]"
#define GATEWAY "equipment:\n  gw: {part: gateway_1g, " AT "}\n"

struct made {
    struct check_run c;
    struct house *h;
    struct layer2 *l2;
};

static struct made make(const char *text)
{
    struct made m = { .c = check_run_begin() };
    CHECK_OK(&m.c, house_read_bytes(&m.c.run, check_path(&m.c, "houses/test.house.yaml"), str_from(text), &m.h,
                                    &m.c.problems));
    struct address_plan *plan = ARENA_NEW(m.c.run.arena, struct address_plan);
    plan->h = m.h;
    plan->segments = ARENA_ARRAY(m.c.run.arena, struct segment_plan, m.h->segments.n);
    for (uint32_t s = 0; s < m.h->segments.n; s++)
        plan->segments[s].vlan = (unsigned)m.h->segments.v[s].vlan;
    CHECK_OK(&m.c, layer2_plan(&m.c.run, plan, NULL, &m.l2, &m.c.problems));
    return m;
}

static const struct l2_port *port(const struct made *m, const char *equipment, unsigned number)
{
    const uint32_t e = house_find_equipment(m->h, str_from(equipment));
    CHECK(equipment, e != NO_REF && m->l2->first_port[e] + number <= m->l2->first_port[e + 1]);
    return &m->l2->ports.v[m->l2->first_port[e] + number - 1];
}

/* "home + things eyes": untagged, then tagged. */
static struct str carried(const struct made *m, const struct l2_port *p)
{
    struct buf b = { .arena = m->c.run.arena };
    buf_text(&b, p->untagged == NO_REF ? "-" : "");
    if (p->untagged != NO_REF)
        buf_str(&b, m->h->segments.v[p->untagged].id);
    for (uint32_t i = 0; i < p->tagged.n; i++)
        buf_printf(&b, "%s%.*s", i ? " " : " + ", STR_ARG(m->h->segments.v[p->tagged.v[i]].id));
    return buf_done(&b);
}

static const struct l2_finding *finding(const struct made *m, enum l2_finding_kind kind)
{
    for (uint32_t i = 0; i < m->l2->findings.n; i++)
        if (m->l2->findings.v[i].kind == kind)
            return &m->l2->findings.v[i];
    return NULL;
}

TEST(each_port_carries_what_hangs_behind_it)
{
    struct made m =
        make(HEAD "devices:\n  phone: {kind: phone, owner: ann, room: den, link: wifi, segment: home}\n"
                  "  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n"
                  "  cam: {kind: camera, room: den, at_m: [2, 2, 2], link: wired, segment: eyes, poe_class: 3}\n"
                  "ssids:\n  s_home: {segment: home, bands: [2.4, 5], security: wpa3}\n" GATEWAY
                  "  sw: {part: switch_8_poe, " AT ", segment: home}\n  ap: {part: ceiling_two_band, " AT
                  ", segment: home}\n"
                  "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  a: {from: \"sw:2\", to: \"ap:1\"}\n  b: {from: "
                  "\"sw:3\", to: tv}\n"
                  "  c: {from: \"sw:4\", to: cam}\n");
    static const struct {
        const char *equipment;
        unsigned number;
        enum port_mode mode;
        const char *carried;
    } ROWS[] = {
        { "gw", 1, PORT_LINE, "-" },
        { "gw", 2, PORT_TRUNK, "home + things eyes" }, /* the switch's own settings without a tag */
        { "gw", 3, PORT_EMPTY, "-" },
        { "sw", 1, PORT_TRUNK, "home + things eyes" },
        { "sw", 2, PORT_ACCESS, "home" }, /* only home is on the air, and the access point's own settings are in it */
        { "sw", 3, PORT_ACCESS, "things" },
        { "sw", 4, PORT_ACCESS, "eyes" },
        { "sw", 5, PORT_EMPTY, "-" },
        { "ap", 1, PORT_ACCESS, "home" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        const struct l2_port *p = port(&m, ROWS[i].equipment, ROWS[i].number);
        CHECK(ROWS[i].equipment, p->mode == ROWS[i].mode);
        CHECK_TEXT(ROWS[i].equipment, carried(&m, p), str_from(ROWS[i].carried));
    }
    CHECK("nothing is wrong", m.l2->findings.n == 0);
    CHECK("the television hangs on port 3", m.l2->port_of_device[1] == (uint32_t)(port(&m, "sw", 3) - m.l2->ports.v));
    check_run_end(&m.c);
}

TEST(ports_left_open_are_chosen)
{
    struct made m = make(
        HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n"
             "  cam: {kind: camera, room: den, at_m: [2, 2, 2], link: wired, segment: eyes, poe_class: 3}\n" GATEWAY
             "  sw: {part: switch_5_fed, " AT ", segment: home}\n"
             "cables:\n  b: {from: sw, to: tv}\n  up: {from: gw, to: sw}\n  c: {from: sw, to: cam}\n");
    /* switch_5_fed: port 1 is its uplink, 2 to 5 feed class 4; gateway_1g: port 1 is the line's. */
    const struct port_pick *picks = m.l2->picks;
    CHECK("television: the lowest", picks[0].from == 1 && picks[0].from_chosen && picks[0].to == 0);
    CHECK("up: the gateway's first own port", picks[1].from == 2 && picks[1].to == 2);
    CHECK("camera", picks[2].from == 3);
    CHECK("said so", port(&m, "sw", 3)->number_chosen);
    check_run_end(&m.c);
}

/* Between parts that speak the spanning tree a second way is no ring, and its ports carry what the first way's do. */
TEST(a_second_way_rests)
{
    struct made m =
        make(HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n"
                  "equipment:\n  gw: {part: gateway_2g5, " AT "}\n  sw: {part: switch_8_poe, " AT "}\n"
                  "cables:\n  again: {from: \"gw:4\", to: \"sw:2\", rests: true}\n"
                  "  up: {from: \"gw:3\", to: \"sw:1\"}\n  b: {from: \"sw:5\", to: tv}\n");
    for (uint32_t i = 0; i < m.l2->findings.n; i++)
        CHECK("no ring", m.l2->findings.v[i].kind != L2_LOOP && m.l2->findings.v[i].kind != L2_RESTS_ALONE);
    CHECK("the first way leads up", port(&m, "sw", 1)->towards_gateway && !port(&m, "sw", 1)->rests);
    CHECK("the second rests", port(&m, "sw", 2)->rests && port(&m, "gw", 4)->rests);
    CHECK_TEXT("the same there", carried(&m, port(&m, "sw", 2)), carried(&m, port(&m, "sw", 1)));
    CHECK_TEXT("the television's", carried(&m, port(&m, "gw", 4)), carried(&m, port(&m, "gw", 3)));
    CHECK("it is carried", port(&m, "gw", 3)->mode != PORT_EMPTY && carried(&m, port(&m, "gw", 3)).n > 1);
    check_run_end(&m.c);
}

/* Each little house is wrong in one way. */
TEST(what_is_wrong_is_found)
{
    static const struct {
        enum l2_finding_kind kind;
        bool is_error;
        const char *text, *says;
    } ROWS[] = {
        { L2_NO_GATEWAY, true, HEAD PHONE, "there is no gateway" },
        { L2_SECOND_GATEWAY, true, HEAD GATEWAY "  gw2: {part: gateway_1g, " AT "}\n", "gw2 is a second gateway" },
        { L2_NO_SUCH_PORT, true,
          HEAD GATEWAY "  sw: {part: switch_5, " AT "}\ncables:\n  up: {from: \"gw:2\", to: \"sw:6\"}\n",
          "port 6 of sw, which has 5" },
        { L2_NO_FREE_PORT, true,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: home}\n"
               "  t2: {kind: television, room: den, at_m: [2, 3, 1], link: wired, segment: home}\n" GATEWAY
               "  ap: {part: ceiling_two_band, " AT "}\n"
               "cables:\n  up: {from: gw, to: ap}\n  b: {from: ap, to: tv}\n",
          "no port of ap is left" },
        { L2_LOOP, true,
          HEAD GATEWAY "  sw: {part: switch_5, " AT "}\n"
                       "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  again: {from: \"gw:3\", to: \"sw:2\"}\n",
          "cable 'again' closes a ring" },
        { L2_LOOP, true, /* neither part speaks the spanning tree */
          HEAD GATEWAY "  sw: {part: switch_5, " AT "}\n"
                       "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n"
                       "  again: {from: \"gw:3\", to: \"sw:2\", rests: true}\n",
          "sw does not speak the spanning tree: it closes a ring" },
        { L2_RESTS_ALONE, false,
          HEAD GATEWAY "  sw: {part: switch_5, " AT "}\n"
                       "cables:\n  up: {from: \"gw:2\", to: \"sw:1\", rests: true}\n",
          "there is no other way that it could stand in for" },
        { L2_UNPLUGGED, true,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: home}\n" GATEWAY,
          "tv has no cable" },
        { L2_NOT_DELIVERED, true,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n" GATEWAY
               "  sw: {part: switch_5, " AT ", ports: [{port: 3, untagged: home}]}\n"
               "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  b: {from: \"sw:3\", to: tv}\n",
          "tv does not get segment things: port 3 of sw does not carry it" },
        { L2_NOT_DELIVERED, true,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n" GATEWAY
               "  sw: {part: switch_5, " AT ", ports: [{port: 3, tagged: [things]}]}\n"
               "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  b: {from: \"sw:3\", to: tv}\n",
          "tv gets segment things only with a VLAN tag" },
        { L2_NOT_NEEDED, false,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n"
               "equipment:\n  gw: {part: gateway_1g, " AT ", ports: [{port: 2, tagged: [things, home]}]}\n"
               "  sw: {part: switch_5, " AT "}\n"
               "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  b: {from: \"sw:3\", to: tv}\n",
          "port 2 of gw carries segment home" },
        { L2_ENDS_DISAGREE, true,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n"
               "equipment:\n  gw: {part: gateway_1g, " AT ", ports: [{port: 2, untagged: home, tagged: [things]}]}\n"
               "  sw: {part: switch_5, " AT ", ports: [{port: 1, untagged: eyes, tagged: [things]}]}\n"
               "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  b: {from: \"sw:3\", to: tv}\n",
          "segment home at the one and segment eyes at the other" },
        { L2_BRIDGED, true,
          HEAD "devices:\n  tv: {kind: television, room: den, at_m: [2, 2, 1], link: wired, segment: things}\n"
               "  pc: {kind: desktop, room: den, at_m: [2, 3, 1], link: wired, segment: home}\n" GATEWAY
               "  sw: {part: switch_5_plain, " AT "}\n"
               "cables:\n  up: {from: gw, to: sw}\n  a: {from: sw, to: tv}\n  b: {from: sw, to: pc}\n",
          "sw cannot keep VLANs apart, and so joins segment home and segment things" },
        { L2_SSID_NOWHERE, true, HEAD GATEWAY "ssids:\n  s: {segment: home, bands: [6], security: wpa3}\n",
          "SSID 's' is on no access point" },
        { L2_SSID_TOO_MANY, true,
          HEAD GATEWAY
          "  ap: {part: shelf_two_band, " AT "}\ncables:\n  up: {from: gw, to: ap}\n"
          "ssids:\n  s1: {segment: home, bands: [5], security: wpa3}\n  s2: {segment: home, bands: [5], security: "
          "wpa3}\n"
          "  s3: {segment: home, bands: [5], security: wpa3}\n  s4: {segment: home, bands: [5], security: wpa3}\n"
          "  s5: {segment: home, bands: [5], security: wpa3}\n",
          "ap has 5 SSIDs to carry, but can carry 4" },
        { L2_SSID_BAND, true,
          HEAD GATEWAY "  ap: {part: ceiling_three_band, " AT "}\ncables:\n  up: {from: gw, to: ap}\n"
                       "ssids:\n  s: {segment: home, bands: [6], security: wpa2_wpa3}\n",
          "only WPA3 and OWE" },
        { L2_SSID_WEAK, true,
          HEAD PHONE GATEWAY "  ap: {part: ceiling_two_band, " AT "}\ncables:\n  up: {from: gw, to: ap}\n"
                             "ssids:\n  s: {segment: home, bands: [5], security: open}\n",
          "lets anyone who hears it into segment home" },
        { L2_SSID_WEAK, false,
          HEAD PHONE GATEWAY "  ap: {part: ceiling_two_band, " AT "}\ncables:\n  up: {from: gw, to: ap}\n"
                             "ssids:\n  s: {segment: home, bands: [5], security: wpa2}\n",
          "with WPA2 alone" },
        { L2_NO_RADIO, true,
          HEAD "devices:\n  phone: {kind: phone, room: den, link: wifi, segment: home, radio: {bands: [2.4]}}\n" GATEWAY
               "  ap: {part: ceiling_two_band, " AT "}\ncables:\n  up: {from: gw, to: ap}\n"
               "ssids:\n  s: {segment: home, bands: [5], security: wpa3}\n",
          "phone is on Wi-Fi, but no SSID of segment home" },
        { L2_ISOLATION_GAP, false,
          HEAD GATEWAY "  a1: {part: ceiling_two_band, " AT "}\n  a2: {part: ceiling_two_band, " AT "}\n"
                       "cables:\n  u1: {from: gw, to: a1}\n  u2: {from: gw, to: a2}\n"
                       "ssids:\n  s: {segment: home, bands: [5], security: wpa3, isolate: true}\n",
          "not those of one access point from those of another" },
        { L2_TRUSTED_OUTDOORS, true,
          HEAD "devices:\n  phone: {kind: phone, owner: ann, room: den, link: wifi, segment: home}\n"
               "  cam: {kind: camera, floor: yard, at_m: [2, 9, 2.2], link: wired, segment: home}\n" GATEWAY
               "cables:\n  c: {from: gw, to: cam}\n",
          "the socket of cam is outdoors" },
        { L2_TRUSTED_OUTDOORS, false,
          HEAD "devices:\n  phone: {kind: phone, owner: ann, room: den, link: wifi, segment: home}\n"
               "  tv: {kind: television, room: let, at_m: [6, 2, 1], link: wired, segment: home}\n" GATEWAY
               "cables:\n  c: {from: gw, to: tv}\n",
          "the socket of tv is in a let room" },
        { L2_OPEN_SOCKET, false,
          HEAD "devices:\n  cam: {kind: camera, floor: yard, at_m: [2, 9, 2.2], link: wired, segment: things}\n" GATEWAY
               "cables:\n  c: {from: gw, to: cam}\n",
          "is outdoors: who plugs in something else there is in segment things" },
        { L2_NOBODY_MANAGES, false, HEAD GATEWAY "  sw: {part: switch_5, " AT "}\ncables:\n  up: {from: gw, to: sw}\n",
          "nothing says in which segment the settings of sw" },
        { L2_NOBODY_MANAGES, false,
          HEAD GATEWAY "  sw: {part: switch_5, " AT ", segment: eyes}\ncables:\n  up: {from: gw, to: sw}\n",
          "to which nobody may start talk" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct made m = make(ROWS[i].text);
        bool found = false;
        for (uint32_t k = 0; k < m.l2->findings.n; k++)
            found |= m.l2->findings.v[k].kind == ROWS[i].kind && m.l2->findings.v[k].is_error == ROWS[i].is_error &&
                     strstr(m.l2->findings.v[k].says.p, ROWS[i].says) && m.l2->findings.v[k].at.line &&
                     m.l2->findings.v[k].hint.n;
        CHECK(ROWS[i].says, found);
        check_run_end(&m.c);
    }
}

/* What is quiet where the rows above are loud: the same houses with the mistake mended. */
TEST(what_is_right_is_not_found)
{
    struct made m = make(
        HEAD "devices:\n  phone: {kind: phone, owner: ann, room: den, link: wifi, segment: home}\n"
             "  cam: {kind: camera, floor: yard, at_m: [2, 9, 2.2], link: wired, segment: eyes}\n"
             "  high: {kind: camera, floor: yard, at_m: [2, 9, 4.2], link: wired, segment: home}\n"
             "  tv: {kind: television, owner: lou, room: let, at_m: [6, 2, 1], link: wired, segment: things}\n" GATEWAY
             "  sw: {part: switch_5_plain, " AT "}\n  ap: {part: ceiling_three_band, " AT ", segment: home}\n"
             "ssids:\n  s: {segment: home, bands: [2.4, 5, 6], security: wpa3}\n"
             "cables:\n  up: {from: gw, to: ap}\n  a: {from: gw, to: sw}\n  b: {from: sw, to: tv}\n  c: {from: gw, to: "
             "cam}\n"
             "  d: {from: gw, to: high}\n");
    for (uint32_t i = 0; i < m.l2->findings.n; i++)
        CHECK(m.l2->findings.v[i].says.p, m.l2->findings.v[i].kind == L2_FINDING_COUNT);
    CHECK("the sockets are told all the same: both cameras, the let room", m.l2->sockets.n == 3);
    check_run_end(&m.c);
}

TEST(a_way_through_air_and_fibre)
{
    struct made m =
        make(HEAD PHONE GATEWAY
             "  sw: {part: switch_8_poe, " AT ", segment: things}\n  in: {part: converter_fibre, " AT "}\n"
             "  out: {part: converter_fibre, " AT "}\n  ap: {part: ceiling_two_band, " AT ", segment: things}\n"
             "ssids:\n  s: {name: Den, segment: home, bands: [2.4, 5], security: wpa3}\n"
             "cables:\n  up: {from: \"gw:2\", to: \"sw:1\"}\n  c1: {from: \"sw:8\", to: \"in:2\"}\n"
             "  c2: {from: \"in:1\", to: \"out:1\", part: fibre_os2_m}\n  c3: {from: \"out:2\", to: \"ap:1\"}\n");
    static const struct {
        enum l2_step_kind kind;
        const char *id;
        unsigned in, out;
        bool tagged;
    } WANT[] = {
        { STEP_DEVICE, "phone", 0, 0, false },    { STEP_AIR, "s", 0, 0, false },
        { STEP_ACCESS_POINT, "ap", 0, 1, false }, { STEP_CABLE, "c3", 0, 0, true },
        { STEP_THROUGH, "out", 2, 1, false },     { STEP_CABLE, "c2", 0, 0, true },
        { STEP_THROUGH, "in", 1, 2, false },      { STEP_CABLE, "c1", 0, 0, true },
        { STEP_SWITCH, "sw", 8, 1, false },       { STEP_CABLE, "up", 0, 0, true },
        { STEP_GATEWAY, "gw", 2, 0, false },
    };
    bool failed = false;
    const l2_way way = layer2_way(m.c.run.arena, m.l2, 0, NO_REF, &failed);
    CHECK_NEAR("steps", way.n, RT_COUNT(WANT), 0, "");
    for (size_t i = 0; i < RT_COUNT(WANT); i++) {
        const struct l2_step *s = &way.v[i];
        CHECK_TEXT("step", s->id, str_from(WANT[i].id));
        CHECK(WANT[i].id, s->kind == WANT[i].kind && s->in == WANT[i].in && s->out == WANT[i].out);
        CHECK(WANT[i].id, s->tagged == WANT[i].tagged && s->segment == 0 && s->vlan == 10 && s->says.n);
    }
    CHECK("the switch sees the access point, not the fibre", port(&m, "sw", 8)->far_equipment == 4);
    CHECK_TEXT("native there", carried(&m, port(&m, "sw", 8)), STR("things + home"));
    CHECK("no failure", !failed);
    check_run_end(&m.c);
}

TEST(who_talks_without_the_gateway)
{
    static const char AIR[] = "devices:\n  a: {kind: plug, room: den, at_m: [1, 2, 1], link: wifi, segment: things}\n"
                              "  b: {kind: plug, room: den, at_m: [1, 3, 1], link: wifi, segment: things}\n"
                              "  w: {kind: hub, room: den, at_m: [1, 4, 1], link: wired, segment: things}\n"
                              "  h: {kind: phone, room: den, link: wifi, segment: home}\n"
                              "  m: {kind: light, room: den, at_m: [1, 5, 1], link: mesh}\n";
    static const char SSIDS[] = "ssids:\n  t: {segment: things, bands: [2.4], security: wpa2, isolate: true}\n"
                                "  s: {segment: home, bands: [5], security: wpa3}\n";
    static const struct {
        bool two;
        unsigned from, to;
        enum l2_talk want;
        const char *because;
    } ROWS[] = {
        { false, 0, 1, TALK_ISOLATED, "client isolation of SSID 't' keeps them apart" },
        { true, 0, 1, TALK_UNFILTERED, "not from one access point to another" },
        { false, 0, 2, TALK_UNFILTERED, "meet at gw: the gateway's rules never see it" },
        { false, 0, 3, TALK_BY_GATEWAY, "different segments" },
        { false, 4, 0, TALK_NONE, "m is on the low-power mesh" },
    };
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        struct check_run c = check_run_begin();
        struct buf text = { .arena = c.run.arena };
        buf_printf(&text, "%s%s%s%s", HEAD, AIR, SSIDS, GATEWAY "  ap: {part: ceiling_two_band, " AT "}\n");
        buf_text(&text, ROWS[i].two ? "  a2: {part: ceiling_two_band, " AT "}\n" : "");
        buf_text(&text, "cables:\n  up: {from: gw, to: ap}\n  c: {from: gw, to: w}\n");
        buf_text(&text, ROWS[i].two ? "  u2: {from: gw, to: a2}\n" : "");
        struct made m = make(text.p);
        struct str because;
        bool failed = false;
        CHECK(ROWS[i].because,
              layer2_talk(m.c.run.arena, m.l2, ROWS[i].from, ROWS[i].to, &because, &failed) == ROWS[i].want);
        CHECK(because.p, strstr(because.p, ROWS[i].because) != NULL && !failed);
        check_run_end(&m.c);
        check_run_end(&c);
    }
}

/* The demo houses as they stand: only what their comments admit. */
TEST(demo_houses_have_no_errors)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                          "houses/whin_farm.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(HOUSES); i++) {
        struct check_run c = check_run_begin();
        struct str text = { 0 };
        CHECK_OK(&c, file_read(c.run.arena, check_path(&c, HOUSES[i]), HOUSE_MAX_BYTES, &text, &c.problems));
        struct made m = make(text.p);
        for (uint32_t k = 0; k < m.l2->findings.n; k++)
            CHECK(m.l2->findings.v[k].says.p, !m.l2->findings.v[k].is_error);
        CHECK("everything has its way", finding(&m, L2_UNPLUGGED) == NULL && finding(&m, L2_NOT_DELIVERED) == NULL);
        for (uint32_t d = 0; d < m.h->devices.n; d++) {
            bool failed = false;
            const l2_way way = layer2_way(c.run.arena, m.l2, d, NO_REF, &failed);
            const bool has_way = way.n > 0 && way.v[way.n - 1].kind == STEP_GATEWAY;
            CHECK(m.h->devices.v[d].id.p, has_way == (m.h->devices.v[d].link != LINK_MESH));
        }
        check_run_end(&m.c);
        check_run_end(&c);
    }
}

/* Every ceiling of memory below what is needed is a clean RT_NOMEM. */
TEST(little_memory_is_an_error)
{
    struct made m = make(HEAD PHONE GATEWAY "  ap: {part: ceiling_two_band, " AT "}\n"
                                            "ssids:\n  s: {segment: home, bands: [5], security: wpa2, isolate: true}\n"
                                            "cables:\n  up: {from: gw, to: ap}\n");
    enum rt_code code = RT_NOMEM;
    unsigned stops = 0;
    for (size_t limit = 64; code == RT_NOMEM; limit += 256, stops++) {
        struct arena *a = arena_new(limit);
        struct run run = m.c.run;
        struct layer2 *l2;
        run.arena = a;
        code = layer2_plan(&run, m.l2->plan, NULL, &l2, &m.c.problems);
        CHECK("set only when it is whole", (l2 != NULL) == (code == RT_OK));
        arena_free(a);
    }
    CHECK("it ended well", code == RT_OK && stops > 3);
    check_run_end(&m.c);
}
