/* Batteries, cabinets and the year in small houses, and the promise to live without mains.
 *
 * Run times: Peukert's formula as read on public battery pages, worked here with a calculator; the rows of the reference table
 * are checked in test_wire_tables. */
#include "wire/energy.h"

#include <math.h>
#include <string.h>

#include "csv.h"
#include "data/batteries.h"
#include "promise/promise.h"
#include "wire_kit.h"

static struct energy_plan *energy_of(struct wire_house *w)
{
    struct energy_plan *plan = NULL;
    CHECK_OK(&w->c, energy_plan_make(&w->c.run, w->power, &plan, &w->c.problems));
    return plan;
}

#define EYE(id, part) "  " id ": {kind: camera, " WIRED ", part: " part "}\n"
#define SWITCH "equipment:\n  gw: {part: gate, " WIRE_AT "}\n  sw: {part: feeder, " WIRE_AT "}\n"
#define UP "cables:\n  up: {from: \"gw:1\", to: \"sw:8\", part: copper, length_m: 1}\n"
#define CABLE(id, port, to) "  " id ": {from: \"sw:" port "\", to: " to ", part: copper, length_m: 20}\n"

TEST(battery_by_hand)
{
    struct wire_house w =
        wire_house(SWITCH UP "batteries:\n  b: {part: cell_lead, feeds: [gw, sw], temperature_degc: 25}\n");
    const struct battery_life *b = &energy_of(&w)->batteries[0];
    CHECK_NEAR("gateway 8 W and switch 8 W", b->load_w, 16, 1e-9, "W");
    CHECK_NEAR("from its cells", b->draw_w, 16 / 0.85 + 4, 1e-9, "W"); /* 22.82 */
    /* t = H (C / (P H))^k = 20 (144 / (22.8235 x 20))^1.2 = 20 x 0.31546^1.2 = 5.0094 h */
    CHECK_NEAR("Peukert", b->minutes, 5.0094 * 60, 0.1, "min");
    CHECK_NEAR("what it gives", b->usable_wh, 5.0094 * 22.8235, 0.05, "Wh");
    check_run_end(&w.c);
}

/* What the switch feeds is on its battery, with its loss in the cable and a tenth in the supply. */
TEST(feeds_are_load)
{
    struct wire_house w = wire_house(SWITCH "devices:\n" EYE("a", "eye_3")
                                         UP CABLE("c", "1", "a") "batteries:\n  b: {part: cell_iron, feeds: [sw]}\n");
    const struct energy_plan *e = energy_of(&w);
    const double drawn_w = wire_feed(&w, "a")->drawn_typical_w;
    CHECK("a little more than its 4 W", drawn_w > 4 && drawn_w < 4.1);
    CHECK_NEAR("load", e->batteries[0].load_w, 8 + drawn_w / 0.9, 1e-9, "W");
    CHECK("the eye lives on it", e->battery_of_device[0] == 0 && e->battery_of_equipment[1] == 0);
    CHECK("the gateway does not", e->battery_of_equipment[0] == NO_REF);
    CHECK_NEAR("all", e->typical_w, 8 + 8 + drawn_w / 0.9 + 6, 1e-9, "W"); /* with the battery's own 6 W */
    CHECK_NEAR("a year", e->kwh_per_year, e->typical_w * 8.76, 1e-9, "kWh");
    check_run_end(&w.c);
}

/* environment.csv: E = P x 8.76 of 8760 hours. */
TEST(year_rows)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/environment.csv"));
    uint32_t n = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const struct str in = csv_cell(&t, i, "inputs_SI");
        double load_w = 0;
        for (size_t k = 2; k < in.n && in.p[k] >= '0' && in.p[k] <= '9'; k++)
            load_w = load_w * 10 + (in.p[k] - '0');
        if (!str_is(csv_cell(&t, i, "group"), "energy"))
            continue;
        CHECK_NEAR("year", energy_kwh_per_year(load_w), csv_num(&t, i, "value"), 5e-5, "kWh");
        n++;
    }
    CHECK_NEAR("energy", n, 5, 0, "rows");
    check_run_end(&c);
}

TEST(facts_that_are_missing)
{
    struct wire_house w = wire_house(SWITCH UP "batteries:\n  b: {part: cell_odd, feeds: [sw]}\n");
    const struct battery_life *b = &energy_of(&w)->batteries[0];
    CHECK("chemistry is asked for",
          isnan(b->minutes) && b->missing.n && memmem(b->missing.p, b->missing.n, "chemistry", 9));
    check_run_end(&w.c);
    w = wire_house("line: {kind: fibre, down_mbps: 100, up_mbps: 20, public_ipv4: own, floor: ground, at_m: [0, 0, 0], "
                   "box: {mode: modem}}\n" SWITCH UP "batteries:\n  b: {part: cell_lead, feeds: [line]}\n");
    b = &energy_of(&w)->batteries[0];
    CHECK("the box's watts are", isnan(b->minutes) && memmem(b->missing.p, b->missing.n, "box", 3));
    check_run_end(&w.c);
}

/* environment.csv's wall cabinet of 0.45 x 0.55 x 0.35 m: 0.8995 m2, 3.032 K for 15 W with 5.5 W/(m2 K). */
TEST(cabinet)
{
    struct wire_house w =
        wire_house("equipment:\n  box: {part: box_6u, " WIRE_AT "}\n  gw: {part: gate, " WIRE_AT ", inside: box}\n"
                   "  sw: {part: feeder, " WIRE_AT ", inside: box}\n  far: {part: feeder, " WIRE_AT "}\n");
    const struct energy_plan *e = energy_of(&w);
    CHECK_NEAR("cabinets", e->cabinets.n, 1, 0, "");
    CHECK_NEAR("what is in it, at full", e->cabinets.v[0].heat_w, 12 + 12, 1e-9, "W");
    CHECK_NEAR("air", e->cabinets.v[0].rise_k, 3.0320 * 24 / 15, 1e-3, "K");
    CHECK_NEAR("no fan", e->cabinets.v[0].flow_m3_per_h, 0, 0, "m3/h");
    check_run_end(&w.c);
}

/* What nobody said is asked for once a part, and never taken for nothing. */
TEST(draws_that_are_missing)
{
    struct wire_house w = wire_house(
        "line: {kind: fibre, down_mbps: 100, up_mbps: 20, floor: ground, at_m: [0, 0, 0], box: {mode: modem}}\n"
        "equipment:\n  box: {part: box_6u, " WIRE_AT "}\n  gw: {part: gate, " WIRE_AT ", inside: box}\n"
        "  a: {part: mute, " WIRE_AT ", inside: box}\n  b: {part: mute, " WIRE_AT "}\n"
        "  plate: {part: socket, " WIRE_AT "}\nbatteries:\n  up: {part: cell_mute, feeds: [gw]}\n");
    const struct energy_plan *e = energy_of(&w);
    CHECK_NEAR("facts", e->missing.n, 3, 0, "");
    CHECK_TEXT("the box", e->missing.v[0], STR("say how much the line's box draws (`power_w` of `line: box`)"));
    CHECK_TEXT("two switches, one part", e->missing.v[1],
               STR("say how much `mute` draws (`power_w` in the parts file)"));
    CHECK_TEXT("the battery", e->missing.v[2], STR("say how much `cell_mute` draws (`power_w` in the parts file)"));
    CHECK("how warm it gets", isnan(e->cabinets.v[0].heat_w) && isnan(e->cabinets.v[0].rise_k));
    CHECK_TEXT("and why", e->cabinets.v[0].missing, e->missing.v[1]);
    CHECK("how long it lasts", isnan(e->batteries[0].minutes));
    CHECK_TEXT("and why", e->batteries[0].missing, e->missing.v[2]);
    check_run_end(&w.c);
}

static double typical_w_of(const char *rest)
{
    struct wire_house w = wire_house(rest);
    const double w_at_plug = energy_of(&w)->typical_w;
    check_run_end(&w.c);
    return w_at_plug;
}

/* What the bill sells draws all year, whether it stands among the equipment or the devices. */
TEST(devices_that_are_bought)
{
    CHECK_NEAR("as equipment", typical_w_of("equipment:\n  r: {part: keeper, " WIRE_AT "}\n"), 12, 1e-9, "W");
    CHECK_NEAR("as a device", typical_w_of("devices:\n  r: {kind: recorder, " WIRED ", part: keeper}\n"), 12, 1e-9,
               "W");
    CHECK_NEAR("its own figure",
               typical_w_of("devices:\n  r: {kind: recorder, " WIRED ", part: keeper, power_w: 400}\n"), 400, 1e-9,
               "W");
    CHECK_NEAR("its kind's, a recorder's 20 W",
               typical_w_of("devices:\n  r: {kind: recorder, " WIRED ", part: keeper_mute}\n"), 20, 1e-9, "W");
    CHECK_NEAR("a clip draws nothing", typical_w_of("devices:\n  r: {kind: sensor, " WIRED ", part: clip}\n"), 0, 0,
               "W");
    CHECK_NEAR("what names no part is none of the network's",
               typical_w_of("devices:\n  tv: {kind: television, " WIRED ", power_w: 100}\n"), 0, 0, "W");
}

/* One that takes its power over its cable is in what its switch passes on, once. */
TEST(a_bought_device_that_is_fed)
{
    struct wire_house w = wire_house(SWITCH "devices:\n" EYE("a", "eye_3") UP CABLE("c", "1", "a"));
    const double passed_on_w = wire_feed(&w, "a")->drawn_typical_w / 0.9;
    CHECK_NEAR("all", energy_of(&w)->typical_w, 8 + 8 + passed_on_w, 1e-9, "W");
    check_run_end(&w.c);
}

/* Two batteries of a part of which one stands among the equipment: the other is bought too, and draws its 4 W. */
TEST(batteries_one_for_one)
{
    CHECK_NEAR("two",
               typical_w_of("equipment:\n  gw: {part: gate, " WIRE_AT "}\n  e: {part: cell_lead, " WIRE_AT "}\n"
                            "batteries:\n  a: {part: cell_lead, feeds: [gw]}\n  b: {part: cell_lead, feeds: [gw]}\n"),
               8 + 4 + 4, 1e-9, "W");
}

static struct promise_result cost_of(struct check_run *c, const char *rest)
{
    const struct str text = str_from(arena_printf(c->run.arena, "%s%s", WIRE_HEAD, rest));
    struct house *h = NULL;
    CHECK_OK(c, house_read_bytes(&c->run, check_path(c, "tests/houses/test.house.yaml"), text, &h, &c->problems));
    struct evaluation ev = { .run = &c->run, .h = h };
    struct promise_results results;
    CHECK_OK(c, promises_evaluate(&ev, 1u << PROMISE_COST, &results, &c->problems));
    return results.v[0];
}

/* The gateway's 8 W are 70.08 kWh of 8760 hours: 70.08 at a price of 1.  That alone may break a promise, but not keep it. */
TEST(a_year_with_a_draw_missing)
{
    static const char THINGS_OWNED[] =
        "equipment:\n  gw: {part: gate, " WIRE_AT ", owned: true}\n  a: {part: mute, " WIRE_AT
        ", owned: true}\nbudget: {energy_per_kwh: 1}\n";
    struct check_run c = check_run_begin();
    const char *text = arena_printf(
        c.run.arena, "%spromises:\n  m: {kind: cost, says: Within what we have, yearly: 500}\n", THINGS_OWNED);
    struct promise_result r = cost_of(&c, text);
    CHECK("not known", r.state == PROMISE_UNKNOWN);
    CHECK_TEXT("what is missing", r.reason, STR("say how much `mute` draws (`power_w` in the parts file)"));
    text = arena_printf(c.run.arena, "%spromises:\n  m: {kind: cost, says: Within what we have, yearly: 70}\n",
                        THINGS_OWNED);
    r = cost_of(&c, text);
    CHECK("already too dear", r.state == PROMISE_BROKEN);
    CHECK_NEAR("by", r.margin, -0.08, 1e-9, "EUR");
    check_run_end(&c);
}

/* ---- the promise ---- */

#define LINE                                                                                                   \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, public_ipv4: own, floor: ground, at_m: [0, 0, 0], box: " \
    "{mode: modem, power_w: 9}}\n"
#define THINGS                                                                                                         \
    SWITCH "devices:\n" EYE("eye", "eye_3") "  rec: {kind: recorder, " WIRED ", power_w: 10}\n"                        \
                                            "  phone: {kind: phone, room: den, segment: home, link: none}\n" UP CABLE( \
                                                "c", "1", "eye") CABLE("r", "6", "rec")
#define BATTERY(part, feeds) "batteries:\n  b: {part: " part ", feeds: [" feeds "]}\n"
#define PROMISED(devices, minutes) \
    "promises:\n  o: {kind: outage, says: Lives on, devices: [" devices "], minutes: " minutes "}\n"

static void check_outage(const char *what, const char *rest, enum promise_state state, const char *names)
{
    struct check_run c = check_run_begin();
    const struct str text = str_from(arena_printf(c.run.arena, "%s%s", WIRE_HEAD, rest));
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "tests/houses/test.house.yaml"), text, &h, &c.problems));
    struct evaluation ev = { .run = &c.run, .h = h };
    struct promise_results results;
    CHECK_OK(&c, promises_evaluate(&ev, 1u << PROMISE_OUTAGE, &results, &c.problems));
    const struct promise_result *r = &results.v[0];
    const char *label = arena_printf(c.run.arena, "%s: %.*s", what, STR_ARG(r->reason));
    CHECK(label, r->state == state);
    CHECK(label, memmem(r->reason.p, r->reason.n, names, strlen(names)));
    CHECK(label, state == PROMISE_UNKNOWN || isnan(r->margin) || (r->margin >= 0) == (state == PROMISE_KEPT));
    check_run_end(&c);
}

TEST(outage_kept)
{
    check_outage("all named", LINE THINGS BATTERY("cell_iron", "line, gw, sw, rec") PROMISED("eye, rec", "60"),
                 PROMISE_KEPT, "battery `b`");
    check_outage("its own cells", LINE THINGS BATTERY("cell_iron", "sw") PROMISED("phone", "60"), PROMISE_KEPT,
                 "cells of its own");
    check_outage("no line in the file", THINGS BATTERY("cell_iron", "gw, sw") PROMISED("eye", "60"), PROMISE_KEPT,
                 "battery `b`");
}

TEST(outage_broken)
{
    check_outage("too long", LINE THINGS BATTERY("cell_iron", "line, gw, sw, rec") PROMISED("eye, rec", "9000"),
                 PROMISE_BROKEN, "battery `b`");
    check_outage("the box is forgotten", LINE THINGS BATTERY("cell_iron", "gw, sw") PROMISED("eye", "1"),
                 PROMISE_BROKEN, "the line's box is on no battery: name `line`");
    check_outage("the gateway is", LINE THINGS BATTERY("cell_iron", "line, sw") PROMISED("eye", "1"), PROMISE_BROKEN,
                 "gw is on no battery");
    check_outage("what feeds it is", LINE THINGS BATTERY("cell_iron", "line, gw, eye") PROMISED("eye", "1"),
                 PROMISE_BROKEN, "eye takes its power from sw, which no battery feeds");
    check_outage("the thing itself is", LINE THINGS BATTERY("cell_iron", "line, gw, sw") PROMISED("rec", "1"),
                 PROMISE_BROKEN, "rec is on no battery");
    check_outage("nothing is on any", LINE THINGS "promises:\n  o: {kind: outage, says: Lives on, minutes: 1}\n",
                 PROMISE_BROKEN, "no battery");
}

TEST(outage_unknown)
{
    check_outage("by which way",
                 LINE SWITCH "devices:\n  rec: {kind: recorder, " WIRED
                             ", power_w: 10}\n" UP BATTERY("cell_iron", "line, gw, sw, rec") PROMISED("rec", "1"),
                 PROMISE_UNKNOWN, "say how rec gets to the gateway");
    check_outage("made of what", LINE THINGS BATTERY("cell_odd", "line, gw, sw") PROMISED("eye", "1"), PROMISE_UNKNOWN,
                 "chemistry");
}

/* ---- laws ---- */

PROP(minutes_fall_with_load_age_and_cold, 2000)
{
    uint32_t n;
    const struct battery_chemistry *c = &battery_chemistries(&n)[random_below(r, 5)];
    const double wh = random_between(r, 10, 2000), w = random_between(r, 1, 500), more = random_between(r, 1.0, 3.0);
    const double age = random_between(r, 0, 8), t = random_between(r, -30, 45);
    const double hours = battery_hours(wh * battery_share(c, age, t), c->rated_h, w, c->peukert);
    CHECK("load", battery_hours(wh * battery_share(c, age, t), c->rated_h, w * more, c->peukert) <= hours);
    CHECK("age", battery_hours(wh * battery_share(c, age + more, t), c->rated_h, w, c->peukert) <= hours);
    CHECK("cold", battery_hours(wh * battery_share(c, age, t - more), c->rated_h, w, c->peukert) <= hours);
    /* at the rate it is printed for it gives what is printed */
    CHECK_NEAR("rated", battery_hours(wh, c->rated_h, wh / c->rated_h, c->peukert), c->rated_h, 1e-9, "h");
}

PROP(lives_shorter_with_more_on_it, 30)
{
    struct check_run c = check_run_begin();
    const double watts = random_between(r, 1, 100);
    const double age = random_between(r, 0, 6);
    double before_min = INFINITY;
    for (int n = 0; n < 3; n++) {
        struct buf b = { .arena = c.run.arena };
        buf_text(&b, SWITCH "devices:\n");
        for (int i = 0; i < 3; i++)
            buf_printf(&b, "  d%d: {kind: other, " WIRED ", power_w: %.2f}\n", i, watts);
        buf_text(&b, UP "batteries:\n  b: {part: cell_lead, feeds: [gw");
        for (int i = 0; i < n; i++)
            buf_printf(&b, ", d%d", i);
        buf_printf(&b, "], age_years: %.2f}\n", age);
        struct wire_house w = wire_house(buf_done(&b).p);
        const struct battery_life *life = &energy_of(&w)->batteries[0];
        CHECK("shorter", life->minutes < before_min && life->minutes > 0);
        CHECK("never more than is in it", life->usable_wh <= life->capacity_wh);
        before_min = life->minutes;
        check_run_end(&w.c);
    }
    check_run_end(&c);
}
