#!/usr/bin/env python3
"""What `design --compare` says of two house files, against both read by PyYAML: the things that only one has, those that both have and
give otherwise, and which of their members.

Prints one line a test.  RT_PROGRAM names the program, RT_TEST_ROOT the project's folder.
"""
import copy
import json
import os
import random
import subprocess
import sys
import tempfile

import yaml

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
DEMOS = ["larch_end", "quay_flat", "whin_farm"]
TOP = "house"  # what stands at the top of the file
BARE = ("line", "mesh", "budget")  # sections that are one thing


class Plain(yaml.SafeLoader):
    """As YAML 1.2 reads: dates and words such as off stay text."""


Plain.yaml_implicit_resolvers = {
    first: [(tag, what) for tag, what in rules
            if not tag.endswith((":timestamp", ":bool")) or (tag.endswith(":bool") and first in "tTfF")]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()}


def read(path):
    with open(path, encoding="utf-8") as f:
        return yaml.load(f, Plain)


def demo(name):
    return read(os.path.join(ROOT, "houses", f"{name}.house.yaml"))


def compare(*files):
    done = subprocess.run([PROGRAM, "design", files[0], "--compare", files[1], "--json"], capture_output=True, timeout=900)
    if done.returncode == 2:
        raise AssertionError(done.stderr.decode())
    return json.loads(done.stdout)["differences"]


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


class Folder:
    """Houses given as trees, in a folder beside which their parts file stands."""

    def __enter__(self):
        self.folder = tempfile.TemporaryDirectory()
        os.mkdir(os.path.join(self.folder.name, "houses"))
        os.symlink(os.path.join(ROOT, "parts"), os.path.join(self.folder.name, "parts"))
        return self

    def __exit__(self, *_):
        self.folder.cleanup()

    def write(self, name, text):
        path = os.path.join(self.folder.name, "houses", f"{name}.house.yaml")
        with open(path, "w", encoding="utf-8") as f:
            f.write(text)
        return path


def things(house):
    """(section, id) -> the thing; statements are compared apart."""
    found = {(TOP, ""): {k: v for k, v in house.items() if not isinstance(v, (dict, list))}}
    for section, value in house.items():
        if section in BARE:
            found[section, ""] = value
        elif isinstance(value, dict):
            found.update({(section.replace("_", " "), thing): v for thing, v in value.items()})
    return found


def keys_apart(x, y):
    return {k for k in {*x, *y} if x.get(k) != y.get(k)}


def independent(first, second):
    x, y = things(first), things(second)
    apart = {key: ("only_first", set(x[key])) for key in x if key not in y}
    apart.update({key: ("only_second", set(y[key])) for key in y if key not in x})
    apart.update({key: ("changed", keys_apart(x[key], y[key])) for key in x if key in y and x[key] != y[key]})
    return apart


def told(differences):
    return {(d["section"], d["id"]): (d["change"], {m["member"].split("[")[0].split(".")[0] for m in d["members"]})
            for d in differences if d["section"] not in ("statements", "growth", "foreign ranges")}


def turned(value):
    """The same tree with the keys of all mappings the other way round."""
    if isinstance(value, dict):
        return {k: turned(v) for k, v in reversed(value.items())}
    return [turned(v) for v in value] if isinstance(value, list) else value


def against_itself_in_another_order():
    with Folder() as f:
        for name in DEMOS:
            path = os.path.join(ROOT, "houses", f"{name}.house.yaml")
            equal(compare(path, path), [], f"{name} against itself")
            other = f.write(name, "# no comment of it is left\n" + json.dumps(turned(demo(name))))
            equal(compare(path, other), [], f"{name}, every mapping turned round, as JSON")


def change(r, house):
    """A few changes of things that nothing else names, as somebody who furnishes a flat might make them."""
    changed = copy.deepcopy(house)
    devices, promises = changed["devices"], changed["promises"]
    for room in r.sample(sorted(changed["rooms"]), 2):
        changed["rooms"][room]["says"] = f"the {room} of late"
    promises["another"] = {"kind": "cost", "says": "Not more than this", "purchase": r.randint(500, 5000)}
    del promises[r.choice([p for p, v in promises.items() if v["kind"] == "cost" and p != "another"])]
    changed["budget"]["contingency_share"] = r.choice([0.05, 0.2, 0.33])
    changed["north_deg"] = r.randint(1, 359)
    thing = changed["equipment"]["a1"]
    thing["radios"] = [dict(radio, power_dbm=radio["power_dbm"] - 3) for radio in reversed(thing["radios"])]
    thing["says"] = "somewhere else"
    devices["lamp_of_late"] = {"kind": "light", "says": "a lamp", "link": "wifi", "room": sorted(changed["rooms"])[0],
                               "segment": next(d["segment"] for d in devices.values() if "segment" in d)}
    return changed


def against_an_independent_reading():
    r = random.Random(20261126)
    with Folder() as f:
        house = demo("quay_flat")
        path = os.path.join(ROOT, "houses", "quay_flat.house.yaml")
        for step in range(6):
            changed = change(r, house)
            changed["parts_file"] = "../parts/demo_eur.parts.yaml"
            other = f.write(f"h{step}", yaml.dump(turned(changed), allow_unicode=True))
            there, back = compare(path, other), compare(other, path)
            equal(told(there), independent(house, changed), f"step {step}")
            equal(told(back), independent(changed, house), f"step {step}, the other way")
            radios = next(d for d in there if (d["section"], d["id"]) == ("equipment", "a1"))["members"]
            for band, was in ((x["band"], x["power_dbm"]) for x in house["equipment"]["a1"]["radios"]):
                m = next(m for m in radios if m["member"] == f"radios[{band}].power_dbm")
                equal([float(s) for s in m["sides"]], [was, was - 3], f"power in {band} GHz")


def the_order_of_statements():
    with Folder() as f:
        house = demo("quay_flat")
        path = os.path.join(ROOT, "houses", "quay_flat.house.yaml")
        house["statements"] = house["statements"][1:] + house["statements"][:1]
        other = f.write("turned", json.dumps(house))
        found = compare(path, other)
        equal([(d["section"], d["says"], d["change"]) for d in found], [("statements", "their order", "changed")], "found")
        n = len(house["statements"])
        ranks = sorted(tuple(int(s) for s in m["sides"]) for m in found[0]["members"])
        equal(ranks, sorted([(1, n)] + [(i + 1, i) for i in range(1, n)]), "places in the order")


def in_words():
    with Folder() as f:
        path = os.path.join(ROOT, "houses", "quay_flat.house.yaml")
        with open(path, encoding="utf-8") as g:
            other = f.write("other", g.read().replace("north_deg: 315", "north_deg: 300").replace(
                "  fridge: {", "  stove: {floor: third, construct: metal_appliance, outline: [[5.1, 0.2], [5.7, 0.2], [5.7, 0.8]], "
                "from_m: 0, to_m: 0.9}\n  fridge: {"))
        said = subprocess.run([PROGRAM, "design", path, "--compare", other], capture_output=True, text=True).stdout
        for line in ("What differs in the files", "      north: 315 degrees -> 300 degrees", "  + stove, metal_appliance",
                     "      upper edge: 0.9 metres"):
            assert line in said, (line, said)
        alike = subprocess.run([PROGRAM, "design", path, "--compare", path], capture_output=True, text=True).stdout
        assert "Both files say the same" in alike and "What differs" not in alike, alike


failed = 0
for test in (against_itself_in_another_order, against_an_independent_reading, the_order_of_statements, in_words):
    try:
        test()
        print("ok    ", test.__name__)
    except Exception as wrong:  # each is told
        failed += 1
        print("FAILED", test.__name__, repr(wrong))
sys.exit(failed != 0)
