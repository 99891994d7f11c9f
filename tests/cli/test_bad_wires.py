#!/usr/bin/env python3
"""Mistakes with cables, watts and prices: what is said, where in the file, what to do, and which promise it breaks.  One mistake never
hides another: the rest of the house is judged all the same.

Prints one line a case.  RT_PROGRAM names the program, RT_TEST_ROOT the project's folder.
"""
import json
import os
import subprocess
import sys
import tempfile

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
WIRE, DEMO = "tests/houses/wire.parts.yaml", "parts/demo_eur.parts.yaml"

HEAD = """rooftree: 1
name: Test
country: IE
time_zone: Europe/Dublin
currency: EUR
parts_file: %s
floors:
  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}
  barn: {level_m: 0, height_m: 3, outline: [[30, 0], [40, 0], [40, 8], [30, 8]]}
rooms:
  den: {floor: ground, outline: [[0, 0], [10, 0], [10, 8], [0, 8]], use: living}
  hay: {floor: barn, outline: [[30, 0], [40, 0], [40, 8], [30, 8]], use: barn}
segments:
  home: {vlan: 10}
"""
AT = "room: den, at_m: [1, 1, 1]"
WIRED = AT + ", segment: home, link: wired"
GATE, SWITCH = f"  gw: {{part: gate, {AT}}}\n", f"  sw: {{part: feeder, {AT}}}\n"
DEMO_PAIR = f"equipment:\n  gw: {{part: gateway_1g, {AT}}}\n  sw: {{part: switch_8_poe, room: den, at_m: [8, 7, 1]}}\n"
UP = 'cables:\n  up: {from: "gw:1", to: "sw:8", part: copper, length_m: 1}\n'
EYE = f"devices:\n  d: {{kind: camera, {WIRED}, part: eye_3}}\n"
PAIR = "equipment:\n" + GATE + SWITCH
PROMISES = """promises:
  watts: {kind: power, says: Watts}
  links: {kind: cable, says: Cables}
  money: {kind: cost, says: Money, purchase: 1000}
"""

# what, parts file, the rest of the house; where and what is told (None: nothing), what to do; what the promises say of it (begins
# so; None: that promise is not looked at)
CASES = [
    ("a thing that no run reaches", WIRE, PAIR + EYE.replace("room: den, at_m: [1, 1, 1]", "room: hay, at_m: [31, 1, 1]") + UP
     + '  c: {from: "sw:1", to: d, part: copper}\n',
     [("  c: {", 3, "take care: cable 'c' finds no way: no run, wall, ceiling or floor within reach of `sw`: the cable would hang in "
       "open air; add a run that comes within 1 m of it, a longer cord, or the cable's `length_m`", None)],
     {"watts": ("unknown", "say how long cable `c` is"), "links": ("unknown", "no run, wall, ceiling or floor within reach of `sw`"),
      "money": ("unknown", "the way of cable up is not known")}),
    ("a wired thing without a cable", WIRE, PAIR + EYE + UP,
     [("  d: {", 3, "take care: d has no cable that leads to the gateway", "add a cable from it under 'cables'")],
     {"watts": ("broken", "d has no power: no cable leads to it; add one under `cables`"), "links": ("kept", "nearest: cable up")}),
    ("a powered thing on a port that does not feed", WIRE, PAIR + EYE + UP + '  c: {from: "sw:5", to: d, part: copper, length_m: 10}\n', [],
     {"watts": ("broken", "d has no power: nothing that feeds it at the other end of cable `c`; take a port that feeds class 3, or an "
                "injector"), "links": ("kept", "nearest: cable c")}),
    ("a powered thing on fibre", WIRE, PAIR + EYE + UP + '  c: {from: "sw:1", to: d, part: glass, length_m: 10}\n', [],
     {"watts": ("broken", "d has no power: fibre, which carries no power; lay copper, or give it a supply of its own")}),
    ("a cable over length", WIRE, PAIR + EYE + UP + '  c: {from: "sw:1", to: d, part: copper, length_m: 120}\n', [],
     {"watts": ("kept", "nearest: d"), "links": ("broken", "cable c: 122.5 m of category 6 with its cords; at most ")}),
    ("a cable that does not reach", WIRE, PAIR + EYE.replace("[1, 1, 1]", "[9, 7, 1]") + UP
     + '  c: {from: "sw:1", to: d, part: copper, length_m: 3}\n',
     [("  c: {", 3, "take care: cable 'c' is said to be 5.5 m with its cords, but its ends are 10.0 m apart",
       "correct the length, or the places of its two ends")],
     {"watts": ("kept", "nearest: d"), "links": ("broken", "cable c does not reach: it is 5.5 m with its cords, its ends are 10.0 m apart")}),
    ("a cord too short", DEMO, DEMO_PAIR + 'cables:\n  up: {from: "gw:2", to: "sw:8", part: cord_0m5}\n',
     [("  up: {", 3, "take care: cable 'up' is said to be 0.5 m with its cords, but its ends are 9.2 m apart",
       "take a longer cord, or a cable")],
     {"links": ("broken", "cable up does not reach: it is 0.5 m with its cords, its ends are 9.2 m apart"), "money": ("kept", "")}),
    ("two switches that feed each other", WIRE, PAIR + f"  r1: {{part: fed, {AT}}}\n  r2: {{part: fed, {AT}}}\n" + UP
     + '  c: {from: "r1:1", to: "r2:2", part: copper, length_m: 2}\n  d: {from: "r2:1", to: "r1:2", part: copper, length_m: 2}\n',
     [("  r1: {", 3, "take care: r1 has no cable that leads to the gateway", "add a cable from it under 'cables'"),
      ("  r2: {", 3, "take care: r2 has no cable that leads to the gateway", "add a cable from it under 'cables'")],
     {"watts": ("broken", "r2 has no power: a ring of things that feed one another; one of them needs a source outside of the ring")}),
    ("two cables in a device", WIRE, PAIR + EYE + UP + '  c: {from: "sw:1", to: d, part: copper, length_m: 9}\n'
     '  e: {from: "sw:2", to: d, part: copper, length_m: 9}\n',
     [("  e: {", 25, "take care: cable 'c' is in 'd' already, and nothing says that it has two ports",
       "unplug one, or say of each which port it is in (its id, a colon and the number)")], {"watts": ("kept", "nearest: d")}),
    ("a currency that the parts file does not know", WIRE, "!EUX" + PAIR + UP,
     [("currency:", 11, "take care: the house reckons in EUX, but the parts file in EUR: costs cannot be told",
       "use a parts file with prices in the house's currency")],
     {"links": ("kept", "nearest: cable up"), "money": ("unknown", "the parts file has its prices in EUR, the house reckons in EUX")}),
]

# These are refused, each with its place.
REFUSED = [
    ("a switch fed by itself", WIRE, PAIR + f"  relay: {{part: fed, {AT}}}\n" + UP
     + '  c: {from: "relay:1", to: "relay:2", part: copper, length_m: 2}\n',
     [("  c: {", 28, "cable 'c': both its ends are at 'relay'",
       "name another thing at one end: plugged into itself it carries nothing and feeds nothing")]),
    ("two cables in a port", WIRE, PAIR + EYE + UP + '  c: {from: "sw:8", to: d, part: copper, length_m: 9}\n',
     [("  c: {", 13, "cable 'c': cable 'up' is in this port already", "take another port, or leave the number out to have one chosen")]),
    ("two cables in a camera, and a third in a port it has not", DEMO, DEMO_PAIR + f"devices:\n  eye: {{kind: camera, {WIRED}, part: camera_dome}}\n"
     'cables:\n  a: {from: "sw:1", to: eye}\n  b: {from: "sw:2", to: eye}\n  c: {from: "sw:3", to: "eye:4"}\n',
     [("  b: {", 25, "cable 'b': 'eye' has 1 port, and cable 'a' is in it already", "unplug one, or put a switch between"),
      ("  c: {", 25, "cable 'c': it goes to port 4 of 'eye', which has 1", "look at the numbers on it, or leave the port out")]),
    ("a cable to a cabinet", WIRE, PAIR + f"  box: {{part: box_6u, {AT}}}\n" + UP + '  c: {from: "sw:1", to: box, part: copper}\n',
     [("  c: {", 25, "cable 'c': 'box' is a cabinet: it has no port for a cable",
       "name what the cable is plugged into: a switch, a gateway, a device")]),
    ("a cord longer than it is", DEMO, DEMO_PAIR + 'cables:\n  up: {from: "gw:2", to: "sw:8", part: cord_0m5, length_m: 12}\n',
     [("  up: {", 60, "cable 'up': it is to be 12 m long, but its part 'cord_0m5' is a cord of 0.5 m",
       "take a longer cord, or bring the two ends nearer together")]),
    ("a cable whose part is a gateway", WIRE, PAIR + 'cables:\n  up: {from: "gw:1", to: "sw:8", part: gate, length_m: 1}\n',
     [("  up: {", 40, "cable 'up': part 'gate' is of the kind gateway", "take a cable or a cord, or leave 'part' out to have one chosen")]),
    ("a price below zero", WIRE, "runs:\n  v: {kind: skirting, floors: [ground], line: [[0, 0, 0], [9, 0, 0]], price_per_m: -3}\n" + PAIR + UP,
     [("  v: {", 84, "run 'v': 'price_per_m' is -3; it must be from 0 to 100000 of the currency for each metre", None)]),
]


def house(parts, rest):
    text = HEAD % os.path.join(ROOT, parts) + rest + PROMISES
    if rest.startswith("!"):
        text = text.replace("currency: EUR", "currency: " + rest[1:4]).replace(rest[:4], "")
    return text


def told(text, places):
    """The messages in full: place, line, caret, what to do."""
    out = []
    for start, column, message, hint in places:
        lines = text.splitlines()
        number = [i for i, l in enumerate(lines) if l.startswith(start)][0]
        out.append((number + 1, column, message, hint))
    return out


def check_told(what, text, err, places):
    blocks = [b for b in err.split("test.house.yaml:") if b.strip()]
    want = told(text, places)
    assert len(blocks) == len(want), (what, err)
    for block, (line, column, message, hint) in zip(blocks, want):
        rows = block.splitlines()
        assert rows[0] == f"{line}:{column}: {message}", (what, rows[0], f"{line}:{column}: {message}")
        # the caret stands under the column of the line that is shown, four spaces in
        shown = text.splitlines()[line - 1]
        at = len(rows[2]) - len(rows[2].lstrip())
        assert rows[2].strip() and set(rows[2].strip()) == {"^"}, (what, rows)
        assert rows[1][at:at + 2] == shown[column - 1:column + 1], (what, rows)
        assert hint is None or rows[3] == "    " + hint, (what, rows)


def run(text):
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "test.house.yaml"), "w", encoding="utf-8") as f:
            f.write(text)
        return subprocess.run([PROGRAM, "check", "test.house.yaml", "--json"], cwd=folder, capture_output=True, text=True, timeout=300)


def main():
    for what, parts, rest, places, promises in CASES:
        text = house(parts, rest)
        done = run(text)
        assert done.returncode in (0, 1), (what, done.stderr)
        check_told(what, text, done.stderr, places)
        results = {p["id"]: p for p in json.loads(done.stdout)["promises"]}
        assert len(results) == 3, "nothing else is lost"
        for promise, (state, reason) in promises.items():
            got = results[promise]
            assert got["state"] == state and got["reason"].startswith(reason), (what, got)
        print("ok", what)
    for what, parts, rest, places in REFUSED:
        text = house(parts, rest)
        done = run(text)
        assert (done.returncode, done.stdout) == (2, ""), (what, done)
        check_told(what, text, done.stderr, places)
        print("ok", what)
    return 0


if __name__ == "__main__":
    sys.exit(main())
