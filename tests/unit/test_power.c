/* Watts over the cable in small houses, worked out by hand from IEEE 802.3-2022 (classes of clauses 33 and 145, demotion by
 * 145.2.8 from memory) and Ohm's law. */
#include "wire/power.h"

#include <math.h>

#include "data/conductors.h"
#include "wire/poe.h"
#include "wire_kit.h"

#define FEEDER "equipment:\n  sw: {part: feeder, " WIRE_AT "}\n"
#define EYE(id, part) "  " id ": {kind: camera, " WIRED ", part: " part "}\n"
#define CABLE(id, from, to, length) \
    "  " id ": {from: \"" from "\", to: \"" to "\", part: copper, length_m: " length "}\n"

/* What 23 AWG copper resists at 30 degC, and cords of 24 AWG 2.5 m long with a fifth more for their strands: by NBS Handbook
 * 100's 0.017241 ohm mm2/m and 0.00393 per K. */
static double hand_ohm(double area_mm2, double length_m)
{
    const double warm = 1.0 + 0.00393 * 10.0;
    return 0.017241 * warm * (length_m / area_mm2 + 2.5 * 1.2 / 0.20473);
}

TEST(class_is_met)
{
    struct wire_house w = wire_house(FEEDER "devices:\n" EYE("a", "eye_4") "cables:\n" CABLE("c", "sw:1", "a", "40"));
    const struct power_feed *f = wire_feed(&w, "a");
    CHECK("fed", f->source == 0 && f->port == 1 && f->is_known && f->class_granted == 4);
    CHECK_NEAR("loop", f->loop_ohm, hand_ohm(0.25816, 40), 1e-4, "ohm");
    CHECK_NEAR("can have", f->delivered_w, 25.5, 0, "W (class 4, 802.3 clause 33)");
    CHECK("its class decides", f->limit == POWER_BY_CLASS);
    /* Ohm: what leaves the switch arrives or warms the cable, and the volts that are lost are I R */
    CHECK_NEAR("Joule", f->drawn_w, f->wanted_w + f->loss_w, 1e-9, "W");
    CHECK_NEAR("Ohm", 50.0 - f->device_v, f->current_a * f->loop_ohm, 1e-9, "V");
    CHECK_NEAR("watts", f->device_v * f->current_a, 20.0, 1e-9, "W");
    check_run_end(&w.c);
}

TEST(class_above_the_port)
{
    struct wire_house w = wire_house(FEEDER "devices:\n" EYE("a", "eye_6") "cables:\n" CABLE("c", "sw:1", "a", "40"));
    const struct power_feed *f = wire_feed(&w, "a");
    CHECK("demoted", f->class_asked == 6 && f->class_granted == 4 && f->limit == POWER_BY_PORT);
    CHECK_NEAR("has", f->delivered_w, 25.5, 0, "W");
    CHECK_NEAR("wants", f->wanted_w, 40, 0, "W");
    check_run_end(&w.c);
}

/* 62 W: 30 and 30 leave 2 W; nobody starts a class 3 device on that.  As one of class 8 it would run at class 4 first. */
TEST(budget_is_spent)
{
    struct wire_house w = wire_house(FEEDER "devices:\n" EYE("a", "eye_4") EYE("b", "eye_3")
                                         EYE("c", "eye_4") "cables:\n" CABLE("x", "sw:1", "a", "10")
                                             CABLE("y", "sw:3", "b", "10") CABLE("z", "sw:2", "c", "10"));
    CHECK("first ports first", wire_feed(&w, "a")->class_granted == 4 && wire_feed(&w, "c")->class_granted == 4);
    const struct power_feed *b = wire_feed(&w, "b");
    CHECK("dark", b->class_granted == -1 && b->limit == POWER_BY_BUDGET && b->delivered_w == 0);
    const struct power_source *s = power_source_of(w.power, 0);
    CHECK_NEAR("budget", s->budget_w, 62, 0, "W");
    CHECK_NEAR("at start", s->start_w, 30 + 30 + 15.4, 1e-9, "W");
    CHECK("in use less than at most", s->typical_w < s->worst_w && s->worst_w < s->start_w);
    check_run_end(&w.c);
}

TEST(demotion)
{
    static const struct {
        int asked, port;
        double source_w;
        int granted;
    } CASES[] = {
        { 8, 8, 90, 8 },   { 8, 8, 89, 6 }, { 8, 8, 59, 4 },  { 8, 8, 29, 3 },   { 8, 8, 15, -1 }, { 7, 6, 99, 6 },
        { 5, 4, 99, 4 },   { 4, 3, 99, 3 }, { 3, 2, 99, -1 }, { 2, 4, 99, 2 },   { 0, 4, 16, 0 },  { 0, 2, 99, -1 },
        { 1, 1, 3.9, -1 }, { 6, 8, 60, 6 }, { 9, 8, 99, -1 }, { -1, 8, 99, -1 },
    };
    for (size_t i = 0; i < RT_COUNT(CASES); i++)
        CHECK_NEAR("class", poe_class_granted(CASES[i].asked, CASES[i].port, CASES[i].source_w), CASES[i].granted, 0,
                   "");
}

/* 100 m of 26 AWG and cords: more than the 12.5 ohm that class 4 is made for. */
TEST(long_and_thin)
{
    struct wire_house w = wire_house(FEEDER "devices:\n" EYE(
        "a", "eye_4_full") "cables:\n  c: {from: \"sw:1\", to: a, part: thin, length_m: 100}\n");
    const struct power_feed *f = wire_feed(&w, "a");
    const double ohm = hand_ohm(0.128756, 100);
    CHECK_NEAR("loop", f->loop_ohm, ohm, 1e-4, "ohm");
    /* the source's 0.6 A at 50 V, and 42.5 V at the device: (50 - 42.5) / R x 42.5 is less */
    CHECK_NEAR("can have", f->delivered_w, fmin(30.0 - 0.36 * ohm, 7.5 / ohm * 42.5), 1e-3, "W");
    CHECK("short of its class", f->delivered_w < f->wanted_w && f->limit == POWER_BY_VOLTAGE);
    check_run_end(&w.c);
}

TEST(length_not_known)
{
    struct wire_house w =
        wire_house(FEEDER "devices:\n" EYE("a", "eye_3") "cables:\n  c: {from: \"sw:1\", to: a, part: copper}\n");
    const struct power_feed *f = wire_feed(&w, "a");
    CHECK("says which", !f->is_known && f->unknown_cable == 0 && f->limit == POWER_BY_LENGTH);
    CHECK("no figure", isnan(f->delivered_w) && isnan(f->loop_ohm) && isnan(f->device_v));
    CHECK_NEAR("as the longest legal one", f->drawn_w, poe_from_load(8, 50, 20).source_w, 1e-9,
               "W"); /* 20 ohm: type 1 */
    check_run_end(&w.c);
}

TEST(through_a_socket)
{
    struct wire_house w = wire_house(FEEDER "  wall: {part: socket, " WIRE_AT "}\ndevices:\n" EYE(
        "a", "eye_3") "cables:\n" CABLE("in", "sw:1", "wall", "30") CABLE("out", "wall", "a", "10"));
    const struct power_feed *f = wire_feed(&w, "a");
    CHECK("from the switch", f->source == 0 && f->way.n == 2 && f->cable == 1);
    CHECK_NEAR("both cables", f->loop_ohm, hand_ohm(0.25816, 30) + hand_ohm(0.25816, 10), 1e-4, "ohm");
    check_run_end(&w.c);
}

TEST(injector)
{
    struct wire_house w = wire_house("equipment:\n  gw: {part: gate, " WIRE_AT "}\n  inj: {part: injector, " WIRE_AT
                                     "}\ndevices:\n" EYE("a", "eye_4") "cables:\n" CABLE("in", "gw:1", "inj:1", "1")
                                         CABLE("out", "inj:2", "a", "30"));
    CHECK("fed by it", wire_feed(&w, "a")->source == 1 && wire_feed(&w, "a")->class_granted == 4);
    check_run_end(&w.c);
}

TEST(nothing_feeds_it)
{
    struct wire_house w = wire_house(
        FEEDER "devices:\n" EYE("far", "eye_3") EYE("glassy", "eye_3") EYE("loose", "eye_3") "cables:\n" CABLE(
            "c", "sw:5", "far", "10") "  g: {from: \"sw:1\", to: glassy, part: glass, length_m: 10}\n");
    CHECK("a port that does not feed", wire_feed(&w, "far")->limit == POWER_BY_SOURCE);
    CHECK("fibre", wire_feed(&w, "glassy")->limit == POWER_BY_FIBRE);
    CHECK("no cable", wire_feed(&w, "loose")->limit == POWER_BY_CABLE && wire_feed(&w, "loose")->cable == NO_REF);
    for (uint32_t i = 0; i < w.power->feeds.n; i++)
        CHECK("dark", w.power->feeds.v[i].source == NO_REF && w.power->feeds.v[i].delivered_w == 0);
    check_run_end(&w.c);
}

#define CHAIN(first)                                                                                     \
    "equipment:\n  sw: {part: " first ", " WIRE_AT "}\n  relay: {part: fed, " WIRE_AT                    \
    "}\ndevices:\n" EYE("a", "eye_3") EYE("b", "eye_3") "cables:\n" CABLE("up", "sw:1", "relay:1", "20") \
        CABLE("x", "relay:2", "a", "10") CABLE("y", "relay:3", "b", "10")

/* Fed as class 4 the small switch has 25.5 W: 6 for itself, 19.5 to pass on, of which class 3 takes 15.4 once. */
TEST(passes_on_what_remains)
{
    struct wire_house w = wire_house(CHAIN("feeder"));
    const struct power_feed *relay = wire_feed(&w, "relay");
    CHECK("asked 6, has 4", relay->class_asked == 6 && relay->class_granted == 4);
    CHECK_NEAR("passes on", power_source_of(w.power, 1)->budget_w, 25.5 - 6, 1e-9, "W");
    CHECK("one of two", wire_feed(&w, "a")->class_granted == 3 && wire_feed(&w, "b")->class_granted == -1);
    const double both_w = wire_feed(&w, "a")->drawn_w + wire_feed(&w, "b")->drawn_w;
    CHECK_NEAR("wants for all", relay->wanted_w, 6 + both_w, 1e-9, "W");
    check_run_end(&w.c);
    /* from a port of class 8 it has class 6: 51 W, 45 left, no more than its own 40 */
    w = wire_house(CHAIN("strong"));
    CHECK("class 6", wire_feed(&w, "relay")->class_granted == 6);
    CHECK_NEAR("its budget", power_source_of(w.power, 1)->budget_w, 40, 1e-9, "W");
    CHECK("both", wire_feed(&w, "a")->class_granted == 3 && wire_feed(&w, "b")->class_granted == 3);
    check_run_end(&w.c);
}

TEST(rings_feed_nobody)
{
    struct wire_house w = wire_house("equipment:\n  one: {part: fed, " WIRE_AT "}\n  two: {part: fed, " WIRE_AT
                                     "}\ndevices:\n" EYE("a", "eye_3") "cables:\n" CABLE("x", "one:2", "two:1", "5")
                                         CABLE("y", "two:2", "one:1", "5") CABLE("z", "two:3", "a", "5"));
    bool told = false;
    for (uint32_t i = 0; i < w.power->feeds.n; i++) {
        CHECK("nobody starts", w.power->feeds.v[i].class_granted == -1);
        told |= w.power->feeds.v[i].limit == POWER_BY_RING;
    }
    CHECK("says why", told);
    check_run_end(&w.c);
}

/* Twenty-two cables of class 8 in one void: the warmth of the measured bundle, scaled (conductors.h), and wires that bear less
 * together than alone. */
TEST(bundle)
{
    struct check_run c = check_run_begin();
    for (int n = 1; n <= 22; n += 21) {
        struct buf b = { .arena = c.run.arena };
        buf_text(&b, "equipment:\n  sw: {part: strong, " WIRE_AT "}\ndevices:\n");
        for (int i = 1; i <= n; i++)
            buf_printf(&b, "  d%d: {kind: camera, " WIRED ", part: eye_8}\n", i);
        buf_text(&b, "cables:\n");
        for (int i = 1; i <= n; i++)
            buf_printf(&b, "  c%d: {from: \"sw:%d\", to: d%d, part: copper, length_m: 50, route: [void]}\n", i, i, i);
        struct wire_house w = wire_house(buf_done(&b).p);
        const struct power_feed *f = wire_feed(&w, "d1");
        CHECK_NEAR("cables together", w.power->bundle.n_powered, n, 0, "");
        CHECK("in the void", w.power->bundle.run == 0);
        /* at the air's warmth; what the bundle adds makes it a little more */
        const double a = f->current_a, cold_w_per_m = n * a * a * 0.017241 * 1.0393 / 0.25816 / 2.0;
        const double cold_k = 7.2 * cold_w_per_m / (100 * 8 * 0.09 * 0.0842132) * sqrt(100.0 / n);
        CHECK("warms as measured", w.power->bundle.rise_k >= cold_k && w.power->bundle.rise_k < cold_k * 1.1);
        CHECK_NEAR("copper", f->copper_degc, 30 + w.power->bundle.rise_k, 0.5, "degC");
        /* NEC 2017 table 725.144, 23 AWG, 60 degC column, from memory: 2.5 A alone, 0.6 A among 20 to 37 */
        CHECK_NEAR("bears", f->wire_max_a, n == 1 ? 2.5 : 0.6, 1e-9, "A");
        CHECK_NEAR("carries", f->wire_a, f->current_a / 4, 1e-12, "A");
        check_run_end(&w.c);
    }
    check_run_end(&c);
}
