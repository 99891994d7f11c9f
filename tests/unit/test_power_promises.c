/* Promises about watts: good houses keep them, and each change for the worse breaks or leaves unknown just what it touches, by
 * name.  Watts wanted and had: IEEE 802.3-2022, clauses 33 and 145 (see test_power.c). */
#include <string.h>

#include "promise/promise.h"
#include "wire_kit.h"

static bool holds(struct str text, const char *part)
{
    const size_t n = strlen(part);
    for (size_t i = 0; i + n <= text.n; i++)
        if (memcmp(text.p + i, part, n) == 0)
            return true;
    return false;
}

/* The state of the only promise, what its reason must name, its margin (NaN: not looked at). */
static void check_one(const char *what, const char *rest, enum promise_state state, const char *names, double margin_w)
{
    struct check_run c = check_run_begin();
    const struct str text = str_from(arena_printf(c.run.arena, "%s%s", WIRE_HEAD, rest));
    struct house *h = NULL;
    CHECK_OK(&c, house_read_bytes(&c.run, check_path(&c, "tests/houses/test.house.yaml"), text, &h, &c.problems));
    struct evaluation ev = { .run = &c.run, .h = h };
    struct promise_results results;
    CHECK_OK(&c, promises_evaluate(&ev, 1u << PROMISE_POWER, &results, &c.problems));
    const struct promise_result *r = &results.v[0];
    const char *label = arena_printf(c.run.arena, "%s: %.*s", what, STR_ARG(r->reason));
    CHECK(label, results.n == 1 && r->state == state);
    CHECK(label, holds(r->reason, names));
    if (is_given(margin_w))
        CHECK_NEAR(label, r->margin, margin_w, 0.05, "W");
    check_run_end(&c);
}

#define SWITCH "equipment:\n  sw: {part: feeder, says: the switch, " WIRE_AT "}\n"
#define EYE(id, part) "  " id ": {kind: camera, " WIRED ", part: " part "}\n"
#define CABLE(id, port, to, part, more) "  " id ": {from: \"sw:" port "\", to: " to ", part: " part more "}\n"
#define PROMISED(more) "promises:\n  w: {kind: power, says: Every eye has its watts" more "}\n"
#define LONG ", length_m: 40"

TEST(kept)
{
    /* class 4 has 25.5 W, a fifth left over is 20.4: 0.4 above the 20 it wants */
    check_one("one eye",
              SWITCH "devices:\n" EYE("a", "eye_4") "cables:\n" CABLE("c", "1", "a", "copper", LONG) PROMISED(""),
              PROMISE_KEPT, "nearest: a, class 4 on the switch port 1", 0.4);
    check_one("nothing to feed", SWITCH PROMISED(""), PROMISE_KEPT, "nothing here", RT_NOT_GIVEN);
    check_one("only the class is known",
              SWITCH "devices:\n  a: {kind: camera, " WIRED
                     ", poe_class: 3}\ncables:\n" CABLE("c", "1", "a", "copper", LONG) PROMISED(""),
              PROMISE_KEPT, "nearest: the switch", RT_NOT_GIVEN);
    check_one("a port by itself",
              SWITCH "devices:\n" EYE("a", "eye_4") "cables:\n  c: {from: sw, to: a, part: copper" LONG
                                                    "}\n" PROMISED(""),
              PROMISE_KEPT, "port 1", 0.4);
}

TEST(broken)
{
    check_one("class 6 on class 4",
              SWITCH "devices:\n" EYE("big", "eye_6") "cables:\n" CABLE("c", "1", "big", "copper", LONG) PROMISED(""),
              PROMISE_BROKEN, "big on the switch port 1 asks for class 6 and has class 4 by the class of the port",
              25.5 * 0.8 - 40);
    check_one("a fifth is not left over",
              SWITCH "devices:\n" EYE("a", "eye_4") "cables:\n" CABLE("c", "1", "a", "copper", LONG)
                  PROMISED(", headroom_share: 0.3"),
              PROMISE_BROKEN, "less than 30 % is left over", 25.5 * 0.7 - 20);
    check_one("what no port can leave",
              SWITCH "devices:\n" EYE("a", "eye_4") "cables:\n" CABLE("c", "1", "a", "copper", LONG)
                  PROMISED(", headroom_share: 0.3"),
              PROMISE_BROKEN,
              "no port leaves that: of the 25.50 W that class 4 may draw the promise's `headroom_share` of 0.3 keeps "
              "17.85 W",
              25.5 * 0.7 - 20);
    check_one("what a port of a higher class leaves",
              SWITCH "devices:\n" EYE("a", "eye_6_small") "cables:\n" CABLE("c", "1", "a", "copper", LONG) PROMISED(""),
              PROMISE_BROKEN,
              "no port of class 4 leaves what the promise's `headroom_share` wants, one of class 6 does",
              25.5 * 0.8 - 22);
    check_one("thin and long",
              SWITCH "devices:\n" EYE("a", "eye_4_full") "cables:\n" CABLE("c", "1", "a", "thin", ", length_m: 100")
                  PROMISED(", headroom_share: 0"),
              PROMISE_BROKEN, "ohm of cable", RT_NOT_GIVEN);
    check_one("more than the budget",
              SWITCH "devices:\n" EYE("a", "eye_4") EYE("b", "eye_4")
                  EYE("third", "eye_4") "cables:\n" CABLE("x", "1", "a", "copper", LONG)
                      CABLE("y", "2", "b", "copper", LONG) CABLE("z", "3", "third", "copper", LONG)
                          PROMISED(", devices: [third]"),
              PROMISE_BROKEN, "does not start third (class 4): of its 62 W", -20);
    check_one("a switch that is fed by nobody",
              SWITCH "  relay: {part: fed, " WIRE_AT
                     "}\ndevices:\n" EYE("a", "eye_4") "cables:\n"
                                                       "  x: {from: \"relay:2\", to: a, part: copper" LONG
                                                       "}\n" PROMISED(", devices: [a]"),
              PROMISE_BROKEN, "it has no power itself: no", RT_NOT_GIVEN);
    check_one("no cable", SWITCH "devices:\n" EYE("lost", "eye_3") PROMISED(""), PROMISE_BROKEN,
              "lost has no power: no cable", -8);
    check_one("a port that does not feed",
              SWITCH "devices:\n" EYE("a", "eye_3") "cables:\n" CABLE("c", "7", "a", "copper", LONG) PROMISED(""),
              PROMISE_BROKEN, "nothing that feeds it", -8);
}

TEST(unknown)
{
    check_one("length not given",
              SWITCH "devices:\n" EYE("a", "eye_3") "cables:\n" CABLE("c_a", "1", "a", "copper", "") PROMISED(""),
              PROMISE_UNKNOWN, "say how long cable `c_a` is", RT_NOT_GIVEN);
    check_one("another's length",
              SWITCH "devices:\n" EYE("a", "eye_4") EYE("b", "eye_3") "cables:\n" CABLE("x", "1", "a", "copper", LONG)
                  CABLE("y", "2", "b", "copper", "") PROMISED(", devices: [a]"),
              PROMISE_KEPT, "nearest", 0.4);
    check_one("not known, and too weak anyhow",
              SWITCH "devices:\n" EYE("big", "eye_6") "cables:\n" CABLE("c", "1", "big", "copper", "") PROMISED(""),
              PROMISE_BROKEN, "more than that class has", RT_NOT_GIVEN);
}
