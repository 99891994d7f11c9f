#include "base/units.h"
#include "check.h"
#include "house/house.h"

#include <string.h>

#define HEAD "rooftree: 1\nname: Test\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
#define GROUND "floors:\n  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}\n"

static const char GOOD[] = HEAD GROUND
    "rooms:\n"
    "  kitchen: {floor: ground, outline: [[0, 0], [5, 0], [5, 8], [0, 8]], use: kitchen, keep_free: [cable]}\n"
    "  hall: {floor: ground, outline: [[5, 0], [10, 0], [10, 8], [5, 8]], says: the hall}\n"
    "walls:\n"
    "  middle:\n"
    "    floor: ground\n"
    "    construct: brick_single\n"
    "    line: [[5, 0], [5, 8]]\n"
    "    openings:\n"
    "      - {id: door, kind: door, at_m: 1, width_m: 0.8, head_m: 2, construct: timber_door}\n"
    "      - {kind: gap, at_m: 4, width_m: 1, head_m: 2.2}\n"
    "segments:\n"
    "  home: {vlan: 10, ipv4: 192.168.10.0/24}\n"
    "people: {ann: {says: Ann}}\n"
    "devices:\n"
    "  ann_phone: {kind: phone, owner: ann, link: wifi, segment: home, radio: {streams: 1}}\n"
    "  printer: {kind: printer, room: hall, at_m: [6, 1, 0.7], link: wired, offers: [ipp]}\n"
    "hours: {night: {days: [mon, sun], from: \"20:30\", to: \"07:00\"}}\n"
    "statements:\n"
    "  - {id: one, from: anyone, to: [internet, backup.example], services: https, hours: night}\n"
    "promises:\n"
    "  desk: {kind: signal, says: Signal everywhere, rooms: [kitchen, hall], level_dbm: -67, bands: [2.4, 5]}\n";

static struct house *read_text(struct check_run *c, const char *text)
{
    struct house *h = NULL;
    const enum rt_code code = house_read_bytes(&c->run, "t.house.yaml", str_from(text), &h, &c->problems);
    if (code == RT_OK && h)
        return h;
    return NULL;
}

TEST(a_good_house_reads)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, "t.house.yaml", str_from(GOOD), &h, &c.problems));
    CHECK_NEAR("problems", c.problems.list.n, 0, 0, "");
    CHECK_NEAR("rooms", h->rooms.n, 2, 0, "");
    CHECK_TEXT("first id", h->rooms.v[0].id, STR("kitchen"));
    CHECK("use", h->rooms.v[0].use == USE_KITCHEN && h->rooms.v[1].use == USE_OTHER);
    CHECK("keep_free", h->rooms.v[0].keep_free == FREE_CABLE);
    CHECK_TEXT("name of a room", house_room_name(h, 1), STR("the hall"));
    CHECK_NEAR("line of id", h->rooms.v[0].at.line, 9, 0, "");
    CHECK_NEAR("column of id", h->rooms.v[0].at.col, 3, 0, "");
    const struct wall *w = &h->walls.v[0];
    CHECK_TEXT("construct", h->constructs.v[w->construct.i].id, STR("brick_single"));
    CHECK("it is built in", h->constructs.v[w->construct.i].is_built_in);
    CHECK("wall height not given", !is_given(w->height_m));
    CHECK_TEXT("id of opening", w->openings.v[0].id, STR("door"));
    CHECK_NEAR("sill by default", w->openings.v[0].sill_m, 0, 0, "m");
    CHECK("gap", w->openings.v[1].kind == OPENING_GAP && w->openings.v[1].construct.i == NO_REF);
    const struct device *phone = &h->devices.v[0];
    CHECK("owner", phone->owner.i == 0 && phone->carried && phone->owned);
    CHECK_NEAR("given stream", phone->radio.streams, 1, 0, "");
    CHECK("radio by kind", phone->radio.phy == PHY_AX && is_given(phone->radio.power_dbm));
    CHECK("no place", !is_given(phone->at_m.x));
    CHECK("floor by room", h->devices.v[1].floor.i == 0);
    CHECK_NEAR("from", h->hours.v[0].from_minute, 20 * 60 + 30, 0, "min");
    CHECK("days", h->hours.v[0].days == (1 | 64));
    const struct statement *s = &h->statements.v[0];
    CHECK("from anyone", s->from.n == 1 && s->from.v[0].kind == END_ANYONE);
    CHECK("to a name", s->to.n == 2 && s->to.v[1].kind == END_NAME);
    CHECK("services", s->services.n == 1 && str_is(s->services.v[0], "https"));
    const struct promise *p = &h->promises.v[0];
    CHECK("bands", p->bands == (1u << BAND_2G4 | 1u << BAND_5G));
    CHECK_NEAR("area by default", p->area_share, 0.95, 1e-12, "");
    CHECK("no mesh", h->mesh.at.line == 0 && h->line.at.line == 0);
    CHECK("room at", house_room_at(h, 0, (struct vec2){ 6, 1 }) == 1);
    CHECK_NEAR("z", house_z_m(h, 0, 1.2), 1.2, 1e-12, "m");
    check_run_end(&c);
}

/* Memory: every ceiling below what is needed ends in RT_NOMEM and nothing else. */
TEST(every_ceiling_ends_cleanly)
{
    size_t limit = 4096;
    enum rt_code code = RT_NOMEM;
    for (; code != RT_OK && limit < (size_t)1 << 28; limit += limit / 16) {
        struct arena *a = arena_new(limit);
        struct run run = { .arena = a, .n_threads = 1 };
        struct rt_problems p;
        rt_problems_init(&p, a);
        struct house *h = NULL;
        code = house_read_bytes(&run, "t.house.yaml", str_from(GOOD), &h, &p);
        CHECK("clean", code == RT_NOMEM ? h == NULL && p.n_errors > 0 : code == RT_OK && h != NULL);
        arena_free(a);
    }
    CHECK("passes at last", code == RT_OK);
}

TEST(demo_houses_read)
{
    static const char *const NAMES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                         "houses/whin_farm.house.yaml" };
    for (size_t i = 0; i < RT_COUNT(NAMES); i++) {
        struct check_run c = check_run_begin();
        struct house *h = NULL;
        CHECK_OK(&c, house_read(&c.run, check_path(&c, NAMES[i]), &h, &c.problems));
        CHECK("it has promises", h && h->promises.n > 5);
        check_run_end(&c);
    }
}

/* What is not said of equipment and devices comes from the mount, the cabinet, the room. */
TEST(places_are_taken_over)
{
    static const char TEXT[] = HEAD "parts_file: ../parts/demo.parts.yaml\n" GROUND
                                    "rooms: {hall: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}}\n"
                                    "mounts: {m: {room: hall, at_m: [2, 3, 2.4], surface: ceiling, faces_deg: 90, "
                                    "tilt_deg: 10, use: [access_point]}}\n"
                                    "equipment:\n"
                                    "  inner: {part: ceiling_two_band, inside: outer}\n"
                                    "  outer: {part: ceiling_two_band, inside: box}\n"
                                    "  box: {part: ceiling_two_band, room: hall, at_m: [1, 1, 0.5]}\n"
                                    "  ap: {part: ceiling_two_band, mount: m, tilt_deg: 5}\n"
                                    "cables: {c: {from: \"ap:1\", to: box}}\n";
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/t.house.yaml"), str_from(TEXT), &h, &c.problems));
    const struct equipment *inner = &h->equipment.v[0], *ap = &h->equipment.v[3];
    CHECK("through two cabinets",
          inner->at_m.x == 1 && inner->at_m.z == 0.5 && inner->room.i == 0 && inner->floor.i == 0);
    CHECK("from the mount", ap->at_m.x == 2 && ap->room.i == 0 && ap->floor.i == 0 && ap->faces_deg == 90);
    CHECK("its own tilt stays", ap->tilt_deg == 5);
    CHECK("ends of a cable", h->cables.v[0].from.equipment == 3 && h->cables.v[0].from.port == 1 &&
                                 h->cables.v[0].to.equipment == 2 && !is_given(h->cables.v[0].to.port));
    check_run_end(&c);
}

/* Of bands that nobody names an SSID has those that its security may be on. */
TEST(bands_that_an_ssid_leaves_out)
{
    static const char TEXT[] = HEAD GROUND "segments: {home: {vlan: 10}}\n"
                                           "ssids:\n"
                                           "  usual: {segment: home}\n"
                                           "  old: {segment: home, security: wpa2}\n"
                                           "  new: {segment: home, security: wpa3}\n"
                                           "  guests: {segment: home, security: owe}\n"
                                           "  one: {segment: home, bands: [5]}\n"
                                           "  wrong: {segment: home, bands: [6]}\n";
    static const unsigned BANDS[] = { 3, 3, 7, 7, 2, 4 };
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "houses/t.house.yaml"), str_from(TEXT), &h, &c.problems));
    for (uint32_t i = 0; i < h->ssids.n; i++)
        CHECK_NEAR(str_dup(c.run.arena, h->ssids.v[i].id).p, h->ssids.v[i].bands, BANDS[i], 0, "");
    CHECK_NEAR("all", h->ssids.n, RT_COUNT(BANDS), 0, "");
    check_run_end(&c);
}

TEST(a_house_of_nothing)
{
    struct check_run c = check_run_begin();
    CHECK("refused", read_text(&c, "") == NULL);
    CHECK("one mistake", c.problems.list.n == 1);
    CHECK_TEXT("in words", str_from(c.problems.list.v[0].msg), STR("the file is empty"));
    check_run_end(&c);
}
