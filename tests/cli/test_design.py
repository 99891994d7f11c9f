#!/usr/bin/env python3
"""`rooftree design` as its users meet it: the file it writes is a house like any other and says what the answer says.

Prints one line a test.  RT_PROGRAM names the program, RT_TEST_ROOT the project's folder.
"""
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
FLAT = "houses/quay_flat.house.yaml"
TESTS = []


def test(function):
    TESTS.append(function)
    return function


def run(*words):
    done = subprocess.run([PROGRAM, *words], cwd=ROOT, env=dict(os.environ, COLUMNS="100"), capture_output=True,
                          stdin=subprocess.DEVNULL, timeout=900)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


def read(path):
    with open(os.path.join(ROOT, path), encoding="utf-8") as f:
        return f.read()


def comments(text):
    return [line.strip() for line in text.splitlines() if line.strip().startswith("#")]


def designed(folder, *options):
    path = os.path.join(folder, "designed.house.yaml")
    code, out, err = run("design", FLAT, "--own-mounts", "--seconds", "600", "--out", path, *options)
    assert code in (0, 1), (code, err)
    return path, code, out


@test
def the_written_house_is_what_the_answer_says():
    with tempfile.TemporaryDirectory() as folder:
        path, code, out = designed(folder, "--json")
        said = json.loads(out)
        checked_code, checked, err = run("check", path, "--json")
        equal(checked_code, code, "status")
        checked = json.loads(checked)
        for ours, theirs in zip(said["promises"], checked["promises"], strict=True):
            for key in ("id", "state", "margin"):
                equal(ours[key], theirs[key], f"{key} of {theirs['id']}")
        cost = next(p for p in checked["promises"] if p["kind"] == "cost")
        equal(said["cost"], {"total_minor": round(cost["evidence"]["purchase"] * 100), "currency": "EUR"}, "price")
        assert 0 <= said["bound_minor"] <= said["cost"]["total_minor"], said["bound_minor"]
        equal(said["gap"], round((said["cost"]["total_minor"] - said["bound_minor"]) / said["cost"]["total_minor"], 4),
              "gap")
        lost = {p["id"] for p in said["promises"] if p["state"] != "kept"}
        equal({c["promise"] for c in said["conflict"]}, lost, "what is told as lost")


@test
def comments_and_the_rest_of_the_file_stay():
    with tempfile.TemporaryDirectory() as folder:
        path, _, _ = designed(folder)
        before, after = read(FLAT), read(path)
        kept = comments(after)
        for comment in comments(before):
            assert comment in kept, comment
        for section in ("rooms", "walls", "devices", "statements", "promises"):
            body = re.compile(rf"^{section}:.*?(?=^\S|\Z)", re.M | re.S)
            equal(body.search(after).group(0), body.search(before).group(0), section)


@test
def phases_and_a_comparison():
    with tempfile.TemporaryDirectory() as folder:
        path, _, out = designed(folder, "--phases", "--json")
        stages = json.loads(out)["stages"]
        equal([s["phase"] for s in stages], ["now"], "phases of the flat")
        code, out, _ = run("design", FLAT, "--compare", path, "--json")
        both = json.loads(out)
        equal(len(both["houses"]), 2, "houses")
        for side, file in enumerate((FLAT, path)):
            checked = json.loads(run("check", file, "--json")[1])
            equal([p["sides"][side]["state"] for p in both["promises"]], [p["state"] for p in checked["promises"]], file)
        text = run("design", FLAT, "--compare", path)[1]
        marked = [line for line in text.splitlines() if line.startswith("! ")]
        equal(len(marked), sum(p["sides"][0]["state"] != p["sides"][1]["state"] for p in both["promises"]), "marked lines")


@test
def the_price_is_that_of_the_bill_with_its_phases():
    """What was not foreseen is rounded in each phase: a bill of three phases can be some cents off that of one."""
    text = read(FLAT).replace("../parts/", os.path.join(ROOT, "parts") + "/")
    text = text.replace("  now: {says: this winter, by_date: 2027-01-31, budget: 120}\n",
                        "".join(f"  p{i}: {{by_date: 2027-0{i}-01, budget: 60}}\n" for i in (1, 2, 3)))
    text = text.replace("contingency_share: 0.10", "contingency_share: 0.0777")
    text = text.replace("phase: now", "phase: p1")
    with tempfile.TemporaryDirectory() as folder:
        house, path = os.path.join(folder, "flat.house.yaml"), os.path.join(folder, "designed.house.yaml")
        with open(house, "w", encoding="utf-8") as f:
            f.write(text)
        code, out, err = run("design", house, "--anew", "--own-mounts", "--seconds", "600", "--phases", "--json", "--out", path)
        assert code in (0, 1), (code, err)
        said = json.loads(out)
        cost = next(p for p in json.loads(run("check", path, "--json")[1])["promises"] if p["kind"] == "cost")
        equal(said["cost"]["total_minor"], round(cost["evidence"]["purchase"] * 100), "price")
        equal(said["cost"]["total_minor"], sum(s["price_minor"] for s in said["stages"]), "of all phases")
        assert sum(s["price_minor"] > 0 for s in said["stages"]) > 1, said["stages"]
        assert said["bound_minor"] <= said["cost"]["total_minor"], said["bound_minor"]


@test
def words_that_are_off():
    code, out, err = run("design", FLAT)
    equal((code, out), (2, ""), "without --out")
    assert "--out" in err, err
    with tempfile.TemporaryDirectory() as folder:
        own = os.path.join(folder, "own.house.yaml")
        os.symlink(os.path.join(ROOT, FLAT), own)
        before = read(FLAT)
        code, out, err = run("design", FLAT, "--out", own)
        equal((code, out, read(FLAT)), (2, "", before), "over the house itself, by a link")
        assert "take the place" in err, err
    code, out, err = run("design", FLAT, "--compare", "houses/larch_end.house.yaml")
    equal((code, out), (2, ""), "two currencies")
    assert "EUR" in err and "GBP" in err, err
    code, out, err = run("design", FLAT, "--out", "/no/such/folder/x.house.yaml", "--own-mounts")
    equal((code, out), (2, ""), "no folder")
    assert "/no/such/folder" in err, err


@test
def asked_to_stop_it_leaves_a_whole_house_or_none():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "stopped.house.yaml")
        asked = subprocess.Popen([PROGRAM, "design", "houses/larch_end.house.yaml", "--out", path], cwd=ROOT,
                                 stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        time.sleep(2.0)
        asked.send_signal(signal.SIGINT)
        asked.communicate(timeout=600)
        if asked.returncode == 2:
            equal(os.listdir(folder), [], "files after nothing was found")
        else:
            assert run("check", path, "--cell", "1", "--order", "0", "--no-diffraction")[0] in (0, 1)


ONE_ROOM = """rooftree: 1
name: one_room
country: DE
time_zone: Europe/Berlin
currency: EUR
parts_file: {parts}
floors:
  ground: {{level_m: 0, height_m: 2.5, slab: concrete_floor, ceiling: concrete_floor, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}}
rooms:
  hall: {{floor: ground, outline: [[0, 0], [8, 0], [8, 6], [0, 6]]}}
line: {{kind: fibre, down_mbps: 300, up_mbps: 100, floor: ground, at_m: [0.3, 0.3, 0.4]}}
segments: {{home: {{vlan: 10, ipv4: 10.20.10.0/24}}}}
ssids: {{flat: {{name: Flat, segment: home, bands: [2.4, 5]}}}}
mounts:
  high: {{floor: ground, room: hall, at_m: [4, 3, 2.5], surface: ceiling, use: access_point}}
equipment:
  there: {{part: wall_two_band, mount: high, segment: home}}
promises:
  everywhere: {{kind: signal, says: A phone works here, rooms: [hall], level_dbm: -75}}
"""


@test
def what_stands_where_no_cable_comes_is_told():
    """In the middle of a ceiling, without a run: the access point stays, and that it gets no cable is said with the reason."""
    with tempfile.TemporaryDirectory() as folder:
        path, out = os.path.join(folder, "one.house.yaml"), os.path.join(folder, "out.house.yaml")
        with open(path, "w", encoding="utf-8") as f:
            f.write(ONE_ROOM.format(parts=os.path.join(ROOT, "parts/demo_eur.parts.yaml")))
        code, _, err = run("design", path, "--seconds", "600", "--out", out)
        assert code in (0, 1), (code, err)
        assert "no cable can be laid to access point 'there': no run, wall, ceiling or floor within reach" in err, err
        assert "cables:" not in read(out), read(out)


@test
def every_json_key_is_documented():
    known = set(re.findall(r"[a-z_0-9]+", " ".join(re.findall(r"`([^`]*)`", read("docs/json.md")))))

    def keys_of(value):
        if isinstance(value, dict):
            for key, inner in value.items():
                yield key
                yield from keys_of(inner) if key != "evidence" else ()
        if isinstance(value, list):
            for inner in value:
                yield from keys_of(inner)

    with tempfile.TemporaryDirectory() as folder:
        path, _, out = designed(folder, "--phases", "--json")
        answers = [json.loads(out), json.loads(run("design", FLAT, "--compare", path, "--json")[1])]
    missing = set(keys_of(answers)) - known
    assert not missing, sorted(missing)


failed = 0
for function in TESTS:
    try:
        function()
        print("ok", function.__name__)
    except Exception as why:  # one failure does not hide the others
        failed += 1
        print(f"not ok {function.__name__}: {type(why).__name__}: {why}")
sys.exit(failed > 0)
