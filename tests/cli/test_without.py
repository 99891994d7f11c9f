#!/usr/bin/env python3
"""What is told of a single failure, against the same house read from a file in which the thing does not stand at all.

Signal, rate, roaming, recording, power: the same state and the same margin (power: where a dead cable warms its bundle no longer, the
file without it may have a little more).  A house whose access point hangs on no cable is taken as not yet wired, so the file without a
switch is also without the access points that are told to go with it (which they are, test_damage holds against a plain search).  Reach: the rules alone are judged in a house that works; after a failure also whether
those named still have power and a way, so that the file without the thing says what the whole house says.
"""
import json
import os
import subprocess
import sys
import tempfile

import yaml

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
CHEAP = ["--cell", "1", "--order", "0"]
ALIKE = {"signal", "rate", "roaming", "recording", "power"}
WARMTH_W = 0.3  # of a bundle with one powered cable less


class Plain(yaml.SafeLoader):
    """As YAML 1.2 reads: dates and words such as off stay text."""


Plain.yaml_implicit_resolvers = {
    first: [(tag, what) for tag, what in rules
            if not tag.endswith((":timestamp", ":bool")) or (tag.endswith(":bool") and first in "tTfF")]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()}


def check(path, *words):
    done = subprocess.run([PROGRAM, "check", path, "--json", *CHEAP, *words], capture_output=True, timeout=900)
    if done.returncode == 2:
        raise AssertionError(done.stderr.decode())
    return json.loads(done.stdout)


def fresh(house, name):
    """The answer for a house given as a tree, in a folder beside which its parts file stands."""
    with tempfile.TemporaryDirectory() as folder:
        os.mkdir(os.path.join(folder, "houses"))
        os.symlink(os.path.join(ROOT, "parts"), os.path.join(folder, "parts"))
        path = os.path.join(folder, "houses", name)
        with open(path, "w", encoding="utf-8") as f:
            json.dump(house, f)
        return {p["id"]: p for p in check(path)["promises"]}


def end(cable, key):
    return cable[key].split(":")[0]


def drop(house, thing):
    """A piece of equipment and the cables that end there."""
    del house["equipment"][thing]
    house["cables"] = {k: c for k, c in house["cables"].items() if thing not in (end(c, "from"), end(c, "to"))}
    for battery in house.get("batteries", {}).values():
        battery["feeds"] = [f for f in battery["feeds"] if f != thing]


def without(house, kind, thing, lost):
    """The house without one cable or one piece of equipment, and without the access points that go with it."""
    house = json.loads(json.dumps(house))
    if kind == "cable":
        del house["cables"][thing]
    else:
        drop(house, thing)
    for other in lost:
        if "radios" in house["equipment"].get(other["id"], {}):
            drop(house, other["id"])
    for promise in house["promises"].values():
        if thing in promise.get("devices", []):
            promise["devices"].remove(thing)
    house["promises"] = {k: p for k, p in house["promises"].items() if p["kind"] in ALIKE | {"reach"}}
    return house


def compare(name, kind, thing, failure, whole, answer, kinds):
    for told in failure["promises"]:
        if told["id"] not in answer:
            continue
        got, what = answer[told["id"]], f"{name} without {thing}, {told['id']}"
        if got["kind"] == "reach":
            assert got["state"] == whole[told["id"]]["state"], what
            lost = [l["because"] for l in failure["lost"]]
            assert not told["by_this"] or told["reason"] in lost, (what, told["reason"])
            continue
        # A figure may stand beside 'no power': the file without the cable still speaks of the port that it would take.
        assert told["state"] == got["state"], (what, told, got["state"], got["margin"], got["reason"])
        dark = got["kind"] == "power" and got["state"] == "broken"
        near = WARMTH_W if got["kind"] == "power" else 1e-9
        if not dark:
            assert (told["margin"] is None) == (got["margin"] is None), (what, told["margin"], got["margin"])
            assert told["margin"] is None or abs(told["margin"] - got["margin"]) <= near, (what, told["margin"], got["margin"])
        kinds.add((got["kind"], got["state"]))


def main():
    failed = False
    cases = {"larch_end": [("access_point", "a1"), ("access_point", "a2"), ("access_point", "a4"), ("cable", "c_bell"),
                           ("cable", "c_injector"), ("cable", "c_workshop"), ("cable", "c_hub"),
                           ("switch", "workshop_switch"), ("switch", "switch"), ("cable", "c_recorder")],
             "quay_flat": [("access_point", "a1"), ("cable", "c_a1")],
             "whin_farm": [("access_point", "a2"), ("access_point", "a4"), ("cable", "c_gateway")]}
    kinds = set()
    for name, things in cases.items():
        path = os.path.join(ROOT, "houses", name + ".house.yaml")
        with open(path, encoding="utf-8") as f:
            house = yaml.load(f, Plain)
        answer = check(path, "--failures")
        whole = {p["id"]: p for p in answer["promises"]}
        failures = {(f["kind"], f["id"]): f for f in answer["failures"]}
        for kind, thing in things:
            try:
                compare(name, kind, thing, failures[kind, thing], whole,
                        fresh(without(house, kind, thing, failures[kind, thing]["lost"]), name + ".house.yaml"), kinds)
                print(f"ok {name} without {thing}")
            except Exception as e:  # the next case still runs
                failed = True
                print(f"not ok {name} without {thing}: {type(e).__name__}: {e}")
    for kind, state in (("signal", "broken"), ("signal", "kept"), ("roaming", "broken"), ("power", "broken"), ("power", "kept"),
                        ("rate", "kept"), ("rate", "broken")):
        if (kind, state) not in kinds:
            failed = True
            print(f"not ok no case in which {kind} is {state}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
