/* Choices of places as whole houses: the demo houses as they stand and from bare walls.  What comes out is judged by what knows nothing
 * of this module: the promises' own judges, the plan of ports, the bill, the tree of cables, the reader.  Batteries and disks:
 * test_design_stores.c. */
#include <string.h>

#include "base/file.h"
#include "base/units.h"
#include "house/edit.h"
#include "made_kit.h"
#include "reach/packet.h"
#include "wire/cable_tree.h"
#include "wire/open_parts.h"

static bool is_old_cable(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->cables.n; i++)
        if (str_eq(h->cables.v[i].id, id))
            return true;
    return false;
}

/* ---- wires ---- */

static void check_wires(struct made *m, bool anew)
{
    const struct port_plan *ports = NULL;
    struct cable_tree tree;
    const struct house *h = m->h;
    CHECK_OK(&m->c, evaluation_ports(&m->ev, &ports, &m->c.problems));
    CHECK("memory", cable_tree_make(m->c.run.arena, h, NULL, NULL, &tree));
    for (uint32_t i = 0; i < h->devices.n; i++)
        CHECK("every wired device is joined",
              h->devices.v[i].link != LINK_WIRED || tree_is_joined(&tree, tree_device(h, i)));
    for (uint32_t i = 0; i < h->cables.n; i++) {
        const struct cable *c = &h->cables.v[i];
        if (!anew && is_old_cable(m->before, c->id))
            continue;
        const struct planned_cable *p = &ports->cables[i];
        CHECK("it gets ports, watts and speed", !p->from.lacks && !p->to.lacks);
        CHECK("it is plugged in", p->from.port > 0 && (c->to.device != NO_REF || p->to.port > 0));
        CHECK("a way leads there", m->ev.cables->cables[i].is_routed);
        CHECK("it is long enough", !(m->ev.cables->cables[i].lacks_m > 0));
    }
    if (anew)
        CHECK("no conflict", ports->conflicts.n == 0);
    CHECK("watts", made_judge(m, PROMISE_POWER).state == PROMISE_KEPT);
    CHECK("cables", made_judge(m, PROMISE_CABLE).state == PROMISE_KEPT);
}

/* The bill is that of the answer with the disks and batteries it knows nothing of; ways that cables share may make it cheaper.  A line
 * for each of them rounds by half a unit. */
static void check_price(struct made *m)
{
    const struct bill *bill = NULL;
    const double share = 1.0 + given_or(m->h->budget.contingency_share, 0.0);
    double more = 0.0;
    CHECK_OK(&m->c, evaluation_bill(&m->ev, &bill, &m->c.problems));
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *l = &bill->lines.v[i];
        const enum part_kind kind = l->part == NO_REF ? PART_SUNDRY : m->h->parts.list.v[l->part].kind;
        more += kind == PART_DISK || kind == PART_BATTERY ? (double)l->total * share : 0.0;
    }
    if (is_given(m->h->budget.labour_per_h))
        more += (double)m->fitted.added.n * m->h->budget.labour_per_h * 100.0 * share;
    CHECK("not dearer than the choice", (double)bill->total <= (double)m->answer.price + more + bill->lines.n);
    CHECK("nor much cheaper", (double)bill->total >= 0.9 * (double)m->answer.price);
}

TEST(houses_as_they_stand)
{
    for (size_t i = 0; i < RT_COUNT(MADE_HOUSES); i++) {
        struct made m = made_open(MADE_HOUSES[i]);
        made_choose(&m, false);
        made_fit(&m);
        check_wires(&m, false);
        made_check_stays(&m);
        made_check_reads(&m);
        check_run_end(&m.c);
    }
}

static void check_air(struct made *m)
{
    const struct energy_plan *energy = NULL;
    CHECK_OK(&m->c, evaluation_energy(&m->ev, &energy, &m->c.problems));
    for (uint32_t i = 0; i < energy->cabinets.n; i++) {
        const struct cabinet_heat *k = &energy->cabinets.v[i];
        const struct str air = m->h->equipment.v[k->equipment].air;
        CHECK("not too warm", k->air_k <= CABINET_RISE_K);
        CHECK("closed where that will do", str_is(air, "closed") || k->rise_k > 0.79 * CABINET_RISE_K);
    }
}

TEST(houses_from_bare_walls)
{
    for (size_t i = 0; i < RT_COUNT(MADE_HOUSES); i++) {
        struct made m = made_open(MADE_HOUSES[i]);
        made_choose(&m, true);
        made_fit(&m);
        check_wires(&m, true);
        check_price(&m);
        check_air(&m);
        made_check_reads(&m);
        CHECK("kept without mains", made_judge(&m, PROMISE_OUTAGE).state == PROMISE_KEPT);
        for (uint32_t k = 0; k < m.h->equipment.n; k++)
            CHECK("new things have no phase yet", m.h->equipment.v[k].phase.i == NO_REF);
        check_run_end(&m.c);
    }
}

/* What the promise spoke of is there again, by the same names. */
/* A switch of eight ports with four things and its way up, of which two ports are promised to stay free; eight more things are to be
 * joined.  Three go into the gateway, one may go into the old switch, the others into what is bought. */
TEST(ports_promised_to_stay_free_stay_free)
{
    struct made m = { .c = check_run_begin() };
    struct buf text = { .arena = m.c.run.arena };
    buf_text(&text, "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
                    "parts_file: ../parts/demo.parts.yaml\n"
                    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], "
                    "ceiling: timber_floor}\n"
                    "rooms:\n  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}\n"
                    "segments:\n  home: {vlan: 10}\n"
                    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, floor: ground, at_m: [1, 1, 0.5]}\n"
                    "runs:\n  skirting: {kind: skirting, floors: [ground], line: [[0.5, 0.1, 0.1], [9.5, 0.1, 0.1]]}\n"
                    "equipment:\n"
                    "  gw: {part: gateway_1g, room: den, at_m: [1, 0.2, 0.5], owned: true}\n"
                    "  sw: {part: switch_8, room: den, at_m: [1.3, 0.2, 0.5], owned: true}\n"
                    "devices:\n");
    for (int i = 0; i < 12; i++)
        buf_printf(&text, "  p%d: {kind: printer, room: den, at_m: [%.1f, 0.2, 0.4], link: wired, segment: home}\n", i,
                   2.0 + 0.6 * i);
    buf_text(&text, "cables:\n  up: {from: \"gw\", to: sw, part: cord_2m, length_m: 2, owned: true}\n");
    for (int i = 0; i < 4; i++)
        buf_printf(&text, "  c%d: {from: sw, to: p%d, part: cord_5m, length_m: 5, owned: true}\n", i, i);
    buf_text(&text, "promises:\n  free: {kind: cable, says: Room for more, spare_ports: 2, headroom_share: 0}\n");
    m.path = check_path(&m.c, "houses/test.house.yaml");
    CHECK_OK(&m.c, house_read_bytes(&m.c.run, m.path, buf_done(&text), &m.before, &m.c.problems));
    made_choose(&m, false);
    made_fit(&m);
    const struct port_plan *ports = NULL;
    CHECK_OK(&m.c, evaluation_ports(&m.ev, &ports, &m.c.problems));
    unsigned n_switches = 0;
    for (uint32_t i = 0; i < ports->equipment.n; i++)
        if (m.h->parts.list.v[m.h->equipment.v[ports->equipment.v[i].equipment].part.i].kind == PART_SWITCH) {
            n_switches++;
            CHECK("two are free", ports->equipment.v[i].n_spare >= 2);
        }
    CHECK("one was bought", n_switches == 2);
    CHECK("cables", made_judge(&m, PROMISE_CABLE).state == PROMISE_KEPT);
    check_run_end(&m.c);
}

TEST(names_that_are_spoken_of_stay)
{
    static const char *const NAMES[] = { "doorbell", "front_camera", "gateway", "switch", "recorder" };
    struct made m = made_open(MADE_HOUSES[0]);
    made_choose(&m, true);
    made_fit(&m);
    for (uint32_t i = 0; i < m.h->promises.n; i++) {
        const struct promise *p = &m.h->promises.v[i];
        if (p->kind != PROMISE_OUTAGE)
            continue;
        CHECK("as many", p->devices.n == RT_COUNT(NAMES));
        for (uint32_t k = 0; k < p->devices.n; k++)
            CHECK("named", str_is(p->devices.v[k], NAMES[k]));
    }
    const uint32_t gateway = house_find_equipment(m.h, STR("gateway")), sw = house_find_equipment(m.h, STR("switch"));
    CHECK("a gateway", gateway != NO_REF && m.h->parts.list.v[m.h->equipment.v[gateway].part.i].kind == PART_GATEWAY);
    CHECK("a switch", sw != NO_REF && m.h->parts.list.v[m.h->equipment.v[sw].part.i].kind == PART_SWITCH);
    check_run_end(&m.c);
}

/* ---- access points ---- */

static uint32_t offer_at(const struct made *m, const char *mount, bool is_piece)
{
    const struct design_space *s = m->space;
    for (uint32_t i = 0; i < s->placing.offers.n; i++) {
        const struct place_offer *o = &s->placing.offers.v[i];
        if (str_is(s->house->mounts.v[s->sites.v[o->site].mount].id, mount) && (o->piece != NO_REF) == is_piece)
            return i;
    }
    CHECK(mount, false);
    return 0;
}

static void take_offer(struct made *m, uint32_t i)
{
    const struct place_offer *o = &m->space->placing.offers.v[i];
    const uint32_t thing = m->space->sites.v[o->site].thing;
    for (uint32_t k = 0; k < m->space->placing.offers.n; k++)
        if (m->space->placing.offers.v[k].site == o->site ||
            (o->piece != NO_REF && m->space->placing.offers.v[k].piece == o->piece)) {
            m->answer.offers[k] = false;
            const uint32_t other = m->space->sites.v[m->space->placing.offers.v[k].site].thing;
            if (other != NO_REF)
                m->answer.links[other] = NO_REF;
        }
    m->answer.offers[i] = true;
    m->answer.links[thing] = m->space->placing.things.v[thing].links.v[0];
}

/* The flat's one access point moves to the hall, and a new one takes its place. */
TEST(a_piece_moves_and_takes_its_cable_along)
{
    struct made m = made_open(MADE_HOUSES[1]);
    made_choose(&m, false);
    take_offer(&m, offer_at(&m, "shelf_above_flat_door", true));
    take_offer(&m, offer_at(&m, "top_of_bookcase", false));
    made_fit(&m);
    const struct equipment *a1 = &m.h->equipment.v[house_find_equipment(m.h, STR("a1"))];
    const uint32_t ap = house_find_equipment(m.h, STR("ap_living_room"));
    CHECK_TEXT("it hangs elsewhere", m.h->mounts.v[a1->mount.i].id, STR("shelf_above_flat_door"));
    CHECK_TEXT("its room too", m.h->rooms.v[a1->room.i].id, STR("hall"));
    CHECK("its settings stay", a1->radios.n == 2 && a1->owned && a1->movable);
    CHECK("moved", m.fitted.moved.n == 1 && str_is(m.fitted.moved.v[0], "a1"));
    CHECK("a new one, named after its room", ap != NO_REF);
    CHECK_TEXT("says where", m.h->equipment.v[ap].says, STR("living room"));
    for (uint32_t i = 0; i < m.h->cables.n; i++)
        if (str_is(m.h->cables.v[i].id, "c_a1"))
            CHECK("a new cable",
                  !m.h->cables.v[i].owned && !m.h->cables.v[i].route.n && (m.h->cables.v[i].from.equipment != NO_REF));
    check_wires(&m, false);
    made_check_reads(&m);
    check_run_end(&m.c);
}

/* ---- segments ---- */

#define NO_NETWORK                                                                                        \
    "rooftree: 1\nname: A house with a name that is rather long\ncountry: GB\ntime_zone: Europe/London\n" \
    "currency: GBP\nparts_file: ../parts/demo.parts.yaml\n"                                               \
    "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"       \
    "rooms:\n  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}\n"          \
    "foreign_ranges: [10.0.0.0/9, 172.16.0.0/12]\n"                                                       \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, floor: ground, at_m: [1, 1, 0.5]}\n"                \
    "people:\n  ann: {}\n  guests: {kind: guest}\n  lou: {kind: lodger}\n"                                \
    "devices:\n"                                                                                          \
    "  phone: {kind: phone, owner: ann, link: wifi}\n"                                                    \
    "  tablet: {kind: tablet, owner: ann, link: wifi}\n"                                                  \
    "  desk: {kind: work_laptop, owner: ann, room: den, link: wifi}\n"                                    \
    "  printer: {kind: printer, room: den, link: wifi, offers: [ipps]}\n"                                 \
    "  eye: {kind: camera, room: den, link: wired}\n"                                                     \
    "  box: {kind: recorder, room: den, link: wired}\n"                                                   \
    "  their_phone: {kind: phone, owner: guests, link: wifi}\n"                                           \
    "  lou_stick: {kind: stick, owner: lou, room: den, link: wifi}\n"                                     \
    "  bulb: {kind: light, room: den, link: mesh}\n"                                                      \
    "hours:\n  night: {from: \"21:00\", to: \"07:00\"}\n"                                                 \
    "promises:\n"                                                                                         \
    "  print: {kind: reach, says: x, from: desk, to: printer, services: [ipps]}\n"                        \
    "  look: {kind: reach, says: x, from: phone, to: box, services: [https]}\n"                           \
    "  sleep: {kind: hours, says: x, from: tablet, hours: night}\n"                                       \
    "  out: {kind: reach, says: x, from: their_phone, to: internet, services: [https]}\n"                 \
    "  shy: {kind: apart, says: x, from: printer, to: [phone, desk, eye]}\n"                              \
    "  alone: {kind: apart, says: x, from: their_phone, to: [phone, printer, box, lou_stick]}\n"          \
    "  stays: {kind: apart, says: x, from: eye, to: internet}\n"

static struct str segment_of(const struct house *h, const char *device)
{
    const struct ref s = h->devices.v[house_find_device(h, str_from(device))].segment;
    return s.i == NO_REF ? STR("") : h->segments.v[s.i].id;
}

TEST(a_house_without_segments_gets_them)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL, *made = NULL, *again = NULL;
    struct str bytes = { 0 };
    const char *path = check_path(&c, "houses/test.house.yaml");
    CHECK_OK(&c, house_read_bytes(&c.run, path, STR(NO_NETWORK), &h, &c.problems));
    CHECK_OK(&c, house_segment(&c.run, h, &made, &c.problems));
    CHECK_TEXT("phone", segment_of(made, "phone"), STR("family"));
    CHECK_TEXT("work", segment_of(made, "desk"), STR("work"));
    CHECK_TEXT("printer", segment_of(made, "printer"), STR("things"));
    CHECK_TEXT("camera", segment_of(made, "eye"), STR("cameras"));
    CHECK_TEXT("recorder", segment_of(made, "box"), STR("cameras"));
    CHECK_TEXT("a name that is taken", segment_of(made, "their_phone"), STR("guests_segment"));
    CHECK_TEXT("lodger", segment_of(made, "lou_stick"), STR("lodger"));
    CHECK_TEXT("mesh", segment_of(made, "bulb"), STR(""));
    for (uint32_t i = 0; i < made->segments.n; i++) {
        struct prefix net, foreign;
        CHECK("a subnet", prefix_read(made->segments.v[i].ipv4, &net));
        for (uint32_t k = 0; k < made->foreign_ranges.n; k++)
            CHECK("clear", prefix_read(made->foreign_ranges.v[k].range, &foreign) && !prefix_overlaps(net, foreign));
        for (uint32_t k = 0; k < i; k++)
            CHECK("its own VLAN", made->segments.v[i].vlan != made->segments.v[k].vlan);
    }
    CHECK("an SSID for each with Wi-Fi", made->ssids.n == 5);
    for (uint32_t i = 0; i < made->ssids.n; i++)
        CHECK("at most 32 bytes (IEEE 802.11-2020, 9.4.2.2)", made->ssids.v[i].name.n <= 32);
    CHECK_OK(&c, fit_write(&c.run, h, made, &bytes, &c.problems));
    CHECK_OK(&c, house_read_bytes(&c.run, path, bytes, &again, &c.problems));
    struct evaluation ev = { 0 };
    struct promise_results r;
    CHECK_OK(&c, evaluation_begin(&ev, &c.run, again, evaluation_default_options(again), &c.problems));
    CHECK_OK(&c, promises_evaluate(&ev, POLICY_PROMISE_KINDS, &r, &c.problems));
    CHECK("seven of the policy", r.n == 7);
    for (uint32_t i = 0; i < r.n; i++)
        CHECK(arena_printf(c.run.arena, "%.*s: %.*s", STR_ARG(r.v[i].promise->id), STR_ARG(r.v[i].reason)),
              r.v[i].state == PROMISE_KEPT);
    check_run_end(&c);
}

/* Places chosen without knowing of segments: where they are made, the switches keep them apart. */
TEST(switches_keep_made_segments_apart)
{
    struct made m = { .c = check_run_begin() };
    m.path = check_path(&m.c, "houses/test.house.yaml");
    CHECK_OK(&m.c, house_read_bytes(&m.c.run, m.path, STR(NO_NETWORK), &m.before, &m.c.problems));
    for (uint32_t i = 0; i < m.before->devices.n; i++) { /* wired, more than a gateway has ports for */
        struct device *d = &m.before->devices.v[i];
        d->link = d->link == LINK_WIFI ? LINK_WIRED : d->link;
        d->carried = false;
        d->room.i = d->floor.i = 0;
        d->at_m = (struct vec3){ 2.0 + 0.5 * i, 1.0, 0.5 };
    }
    made_choose(&m, false);
    made_fit(&m);
    uint32_t n = 0;
    for (uint32_t e = 0; e < m.h->equipment.n; e++) {
        const struct part *part = &m.h->parts.list.v[m.h->equipment.v[e].part.i];
        n += part->kind == PART_SWITCH;
        CHECK("knows VLANs", part->kind != PART_SWITCH || part->vlans);
    }
    CHECK("there is a switch", n > 0 && m.h->segments.n > 1);
    check_run_end(&m.c);
}

TEST(a_house_with_segments_keeps_them)
{
    struct made m = made_open(MADE_HOUSES[0]);
    struct house *same = NULL;
    CHECK_OK(&m.c, house_segment(&m.c.run, m.before, &same, &m.c.problems));
    CHECK("as it is", same->segments.v == m.before->segments.v && same->devices.v == m.before->devices.v &&
                          same->statements.n == m.before->statements.n);
    check_run_end(&m.c);
}

/* ---- what the file says in other ways ---- */

/* A demo house with other lines in it. */
static struct made open_edited(const char *house, const struct edit *edits, size_t n)
{
    struct made m = { .c = check_run_begin() };
    struct str bytes = { 0 };
    struct edit_change change;
    m.path = check_path(&m.c, house);
    CHECK_OK(&m.c, file_read(m.c.run.arena, m.path, HOUSE_MAX_BYTES, &bytes, &m.c.problems));
    CHECK_OK(&m.c, edit_apply(m.c.run.arena, m.path, bytes, edits, n, &change, &m.c.problems));
    CHECK_OK(&m.c, house_read_bytes(&m.c.run, m.path, change.bytes, &m.before, &m.c.problems));
    CHECK_OK(&m.c, open_parts_choose(&m.c.run, m.before, &m.c.problems));
    return m;
}

/* A recorder that is equipment is there again, joined; an SSID of one access point is on it again. */
TEST(what_only_equipment_does_is_done_again)
{
    static const struct edit EDITS[] = {
        { EDIT_ADD, STR("/equipment/keeper"), STR("{part: recorder_8, room: stair_cupboard, at_m: [0.3, 5.6, 1.5]}") },
        { EDIT_ADD, STR("/cables/c_keeper"), STR("{from: switch, to: keeper, part: cord_0m5, length_m: 0.5}") },
        { EDIT_SET, STR("/recordings/pictures/recorder"), STR("keeper") },
        { EDIT_ADD, STR("/ssids/larch_kids/equipment"), STR("[a2, a4]") },
    };
    struct made m = open_edited(MADE_HOUSES[0], EDITS, RT_COUNT(EDITS));
    struct cable_tree tree;
    made_choose(&m, true);
    take_offer(&m, offer_at(&m, "landing_ceiling", false));
    made_fit(&m);
    const uint32_t keeper = house_find_equipment(m.h, STR("keeper")), a2 = house_find_equipment(m.h, STR("a2"));
    CHECK("memory", cable_tree_make(m.c.run.arena, m.h, NULL, NULL, &tree));
    CHECK("the recorder", keeper != NO_REF && tree_is_joined(&tree, keeper) && !m.h->equipment.v[keeper].owned);
    CHECK("the landing's, by its old name", a2 != NO_REF);
    for (uint32_t i = 0; i < m.h->ssids.n; i++)
        if (str_is(m.h->ssids.v[i].id, "larch_kids"))
            CHECK("on it alone", m.h->ssids.v[i].equipment.n == 1 && m.h->ssids.v[i].equipment.v[0].i == a2);
    CHECK("recorded", made_judge(&m, PROMISE_RECORDING).state == PROMISE_KEPT);
    made_check_reads(&m);
    check_run_end(&m.c);
}

/* A part that the file leaves open stays open in it. */
TEST(an_open_part_stays_open)
{
    static const struct edit EDITS[] = {
        { EDIT_REMOVE, STR("/equipment/barn_switch/part"), STR("") },
        { EDIT_ADD, STR("/equipment/barn_switch/kind"), STR("switch") },
    };
    struct made m = open_edited(MADE_HOUSES[2], EDITS, RT_COUNT(EDITS));
    struct str bytes = { 0 };
    made_choose(&m, false);
    made_fit(&m);
    CHECK_OK(&m.c, fit_write(&m.c.run, m.before, m.h, &bytes, &m.c.problems));
    const char *line = memmem(bytes.p, bytes.n, "  barn_switch:", 14);
    CHECK("there", line != NULL);
    const char *end = memchr(line, '\n', bytes.n - (size_t)(line - bytes.p));
    CHECK("its kind", memmem(line, (size_t)(end - line), "kind: switch", 12) != NULL);
    CHECK("no part", memmem(line, (size_t)(end - line), "part:", 5) == NULL);
    check_run_end(&m.c);
}
