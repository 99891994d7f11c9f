#!/usr/bin/env python3
"""What a house file leaves open is said alike wherever it is told: channels, bands of SSIDs, statements without a sentence, ids and keys.

Prints one line a test, 'ok NAME' or 'not ok NAME: why'.  RT_PROGRAM names the program, RT_TEST_ROOT the project's folder.
"""
import csv
import glob
import os
import re
import subprocess
import sys
import tempfile

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
CHEAP = ["--cell", "1", "--order", "0", "--no-diffraction"]
TESTS = []

HOUSE = """rooftree: 1
name: Left open
country: GB
time_zone: Europe/London
currency: GBP
parts_file: PARTS
floors:
  ground: {level_m: 0, height_m: 2.5, outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}
rooms:
  den: {floor: ground, outline: [[0, 0], [5, 0], [5, 8], [0, 8]], use: living}
  hall: {floor: ground, outline: [[5, 0], [10, 0], [10, 8], [5, 8]], use: hall}
runs:
  void: {kind: ceiling_void, floors: [ground], outline: [[0, 0], [10, 0], [10, 8], [0, 8]]}
line: {kind: fibre, down_mbps: 100, up_mbps: 20, public_ipv4: own, floor: ground, at_m: [6, 1, 1], box: {mode: modem, power_w: 8}}
segments:
  home: {vlan: 10}
ssids:
  usual: {segment: home}
people:
  mia: {kind: child}
devices:
  mia_tablet: {kind: tablet, owner: mia, room: den, link: wifi, segment: home}
  far_recorder: {kind: recorder, room: den, at_m: [1, 1, 1], link: wired, segment: home, power_w: 9}
groups:
  kids_screens: {says: the children's screens, members: [mia_tablet]}
hours:
  night: {says: at night, days: [mon, tue, wed, thu, fri], from: "20:00", to: "07:00", except: [{from_date: 2026-12-24, to_date: 2027-01-03, holds: false}]}
statements:
  - {from: kids_screens, to: internet, verdict: refuse, hours: night, services: [https]}
  - {from: home, to: internet}
equipment:
  gateway: {part: gateway_1g, room: hall, at_m: [6, 2, 1]}
  switch: {part: switch_16_poe, room: hall, at_m: [6.3, 2, 1]}
  ap_den: {part: ceiling_three_band, room: den, at_m: [2, 4, 2.45]}
  ap_hall: {part: ceiling_three_band, room: hall, at_m: [8, 4, 2.45]}
cables:
  c_gw: {from: gateway, to: switch, length_m: 1}
  c_den: {from: switch, to: ap_den, length_m: 9}
  c_hall: {from: switch, to: ap_hall, length_m: 5}
  c_rec: {from: switch, to: far_recorder, length_m: 12}
promises:
  watts: {kind: outage, says: The recorder lives on, devices: [far_recorder], minutes: 10}
"""


def test(function):
    TESTS.append(function)
    return function


def run(*words):
    done = subprocess.run([PROGRAM, *words], cwd=ROOT, env=dict(os.environ, COLUMNS="200"), capture_output=True,
                          stdin=subprocess.DEVNULL, timeout=900)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


def plain(text):
    return re.sub(r"\s+", " ", text)


class House:
    def __init__(self, *changes):
        self.folder = tempfile.TemporaryDirectory()
        self.path = os.path.join(self.folder.name, "open.house.yaml")
        text = HOUSE.replace("PARTS", os.path.join(ROOT, "parts", "demo.parts.yaml"))
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        with open(self.path, "w", encoding="utf-8") as f:
            f.write(text)

    def export(self, form):
        out = os.path.join(self.folder.name, form)
        code, _, err = run("export", self.path, "--to", form, "--out", out, *(CHEAP if form != "linux" else []))
        equal(code, 0, err)
        return out

    def pdf(self, what):
        out = os.path.join(self.folder.name, what + ".pdf")
        code, _, err = run("book", self.path, "--what", what, "--out", out)
        equal(code, 0, err)
        return plain(subprocess.run(["pdftotext", out, "-"], capture_output=True, check=True).stdout.decode())


def rows(folder, name):
    with open(os.path.join(folder, name), encoding="utf-8", newline="") as f:
        return list(csv.DictReader(f))


@test
def channels_that_nobody_chose_are_told_so_everywhere():
    house = House()
    _, _, err = run("check", house.path, *CHEAP)
    equal(err.count("channels that the house file leaves open are not chosen"), 1, "once")
    assert "2 radios at 2.4 GHz, as if on channel 1; 2 radios at 5 GHz" in err, err
    assert "run `rooftree design` to have channels chosen" in err, err
    tables = house.export("csv")
    equal({r["channel_given"] for r in rows(tables, "radios.csv")}, {"no"}, "radios.csv")
    told = " ".join(" ".join(r.values()) for r in rows(tables, "places.csv"))
    assert "2.4 GHz: channel not chosen (judged as if on 1), 20 MHz" in told and "our choice" not in told, told
    sheet = house.export("sheet")
    said = plain(" ".join(open(f, encoding="utf-8").read() for f in glob.glob(sheet + "/*.csv")))
    assert "not chosen; judged as if on 1: run `rooftree design` to choose" in said and "chosen by the plan" not in said
    for path in glob.glob(house.export("linux") + "/access_points/*/hostapd-*.conf"):
        conf = open(path, encoding="utf-8").read()
        assert "# not chosen" in conf and "\nchannel=0\n" in conf, path


@test
def one_radio_of_a_band_or_a_channel_in_the_file_is_not_told():
    house = House(("ap_den: {part: ceiling_three_band, room: den, at_m: [2, 4, 2.45]}",
                   "ap_den: {part: ceiling_three_band, room: den, at_m: [2, 4, 2.45], "
                   "radios: [{band: 2.4, channel: 6}, {band: 5, channel: 44}, {band: 6, channel: 37}]}"))
    _, _, err = run("check", house.path, *CHEAP)
    assert "not chosen" not in err, err
    given = {(r["equipment"], r["channel_given"]) for r in rows(house.export("csv"), "radios.csv")}
    equal(given, {("ap_den", "yes"), ("ap_hall", "no")}, "radios.csv")


@test
def an_ssid_that_says_nothing_more_can_be_exported():
    house = House()
    confs = glob.glob(house.export("linux") + "/access_points/*/hostapd-*.conf")
    equal({os.path.basename(path) for path in confs}, {"hostapd-2.4.conf", "hostapd-5.conf"}, "radios that carry it")
    house = House(("usual: {segment: home}", "usual: {segment: home, bands: [2.4, 5, 6]}"))
    code, _, err = run("export", house.path, "--to", "linux", "--out", os.path.join(house.folder.name, "out"))
    equal(code, 2, "6 GHz asked for without WPA3")
    assert "only WPA3 and OWE are allowed" in err, err


@test
def statements_without_a_sentence_are_put_into_words():
    house = House()
    words = "The children's screens may not begin talk with the internet, for https"
    hours = rows(house.export("csv"), "hours.csv")
    equal([r["what_keeps_to_them"] for r in hours], [words], "hours.csv")
    sheet = house.pdf("household")
    assert "not in: 2026-12-24 to 2027-01-03" in sheet, sheet
    assert "begin talk with" in sheet, sheet
    book = house.pdf("book")
    at = book.rindex("What the children may, and when")
    assert "refused" in book[at:at + 400] and words in book[at:at + 400], book[at:at + 400]


@test
def ids_and_keys_stay_as_they_are_typed():
    house = House()
    book = house.pdf("book")
    assert "name far_recorder in the feeds of one" in book, book[:3000]
    assert "ap_den" in book and "ap den" not in book.lower()


failed = 0
for function in TESTS:
    try:
        function()
        print("ok", function.__name__)
    except Exception as why:  # one failure does not hide the others
        failed += 1
        print(f"not ok {function.__name__}: {type(why).__name__}: {why}")
sys.exit(failed > 0)
