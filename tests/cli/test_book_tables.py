#!/usr/bin/env python3
"""The book's tables for spreadsheets: read by Python's csv, and held against the house file as PyYAML reads it, against `check --json` and
against the words of the book itself as poppler reads them."""
import copy
import csv
import json
import math
import os
import re
import subprocess
import tempfile
import unittest
from decimal import Decimal

import yaml

ROOT = os.environ["RT_TEST_ROOT"]
PROGRAM = os.environ["RT_PROGRAM"]
REPORT = os.environ["RT_BOOK_REPORT"]
# The flat by the commands, as anybody has it; the farm's waves are coarse and everything is made from them at once
# (tests/book_report.c), as they take minutes under the sanitizers: tables are held against one another here, not against the air.
HOUSES = {"quay_flat": None, "whin_farm": "0.5"}
HOURS_OF_WEEK = 7 * 24


def run(*args, status=0):
    p = subprocess.run([PROGRAM, *args], capture_output=True, cwd=ROOT)
    if status is not None and p.returncode != status:
        raise AssertionError("%s: status %d\n%s" % (args, p.returncode, p.stderr.decode()))
    return p.stdout.decode()


def ids_of(section):
    return list(section or {})


def plain(value):
    """YAML in flow style; scalars as they stood in the file, quoted where they need it."""
    if isinstance(value, dict):
        return "{" + ", ".join("%s: %s" % (key, plain(v)) for key, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(plain, value)) + "]"
    return value if re.fullmatch(r"-?[0-9.]+|true|false|[a-z_]+|\d{4}-\d\d-\d\d", value) else json.dumps(value, ensure_ascii=False)


class House:
    def __init__(self, name, folder):
        self.file = "houses/%s.house.yaml" % name
        self.made = os.path.join(folder, name)
        self.folder = os.path.join(self.made, "csv")
        cell_m = HOUSES[name]
        self.waves = ("--cell", cell_m, "--order", "1", "--no-diffraction") if cell_m else ()
        if cell_m:
            subprocess.run([REPORT, self.file, self.made, cell_m], cwd=ROOT, check=True)
        else:
            self.by_commands()
        with open(os.path.join(self.made, "check.json"), encoding="utf-8") as f:
            self.check = json.load(f)
        self.evidence = {p["id"]: p["evidence"] for p in self.check["promises"]}
        with open(os.path.join(ROOT, self.file), encoding="utf-8") as f:
            self.yaml = yaml.load(f, Loader=yaml.BaseLoader)  # texts as they stand: no "no" for false
        text = subprocess.run(["pdftotext", "-layout", os.path.join(self.made, "a4.pdf"), "-"], capture_output=True, check=True).stdout.decode()
        self.words = re.sub(r"\s+", " ", text)

    def by_commands(self):
        run("export", self.file, "--to", "csv", "--out", self.folder)
        run("book", self.file, "--out", os.path.join(self.made, "a4.pdf"))
        with open(os.path.join(self.made, "check.json"), "w", encoding="utf-8") as f:
            f.write(run("check", self.file, "--failures", "--json", status=None))

    def without(self, phases):
        """`check --json` of the house without the equipment and cables of these phases, and without cables that would end nowhere."""
        left = copy.deepcopy(self.yaml)
        gone = {i for i, e in left["equipment"].items() if e.get("phase") in phases}
        for i in gone:
            del left["equipment"][i]
        for i, c in list((left.get("cables") or {}).items()):
            if c.get("phase") in phases or {str(c.get(end)).split(":")[0] for end in ("from", "to")} & gone:
                del left["cables"][i]
        left["parts_file"] = os.path.join(ROOT, "houses", left["parts_file"])
        path = self.made + ".bare.house.yaml"
        with open(path, "w", encoding="utf-8") as f:
            f.write(plain(left))
        return json.loads(run("check", path, "--json", *self.waves, status=None))

    def table(self, name):
        with open(os.path.join(self.folder, name), encoding="utf-8", newline="") as f:
            rows = list(csv.reader(f, strict=True))
        assert all(len(row) == len(rows[0]) for row in rows), "%s: rows of unequal length" % name
        return [dict(zip(rows[0], row)) for row in rows[1:]]


class Tables(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.houses = [House(name, cls.folder.name) for name in HOUSES]

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def near(self, text, number, decimals, what):
        """A cell against a number that may be rounded to other decimals."""
        if number is None or not math.isfinite(number):
            self.assertEqual(text, "", what)
        else:
            self.assertAlmostEqual(float(text), number, delta=0.51 * 10 ** -decimals, msg=what)

    def test_promises_and_their_rooms(self):
        for house in self.houses:
            rows, rooms = house.table("promises.csv"), []
            self.assertEqual([(r["promise"], r["kind"], r["state"], r["says"], r["reason"]) for r in rows],
                             [(p["id"], p["kind"], p["state"], p["says"], p["reason"]) for p in house.check["promises"]])
            for row, promise in zip(rows, house.check["promises"]):
                self.near(row["margin"], promise["margin"], 3, row)
                rooms += [(promise["id"], r) for r in promise["evidence"].get("rooms", [])]
            found = house.table("promised_rooms.csv")
            self.assertEqual([(r["promise"], r["room"]) for r in found], [(p, r["room"]) for p, r in rooms])
            self.assertGreater(len(found), 2)
            for row, (_, room) in zip(found, rooms):
                self.near(row["kept_area_share"], room["area_share"], 3, row)
                self.near(row["level_dbm"], room.get("level_dbm"), 1, row)
                self.near(row["mbps"], room.get("mbps"), 0, row)
                self.near(row["uplink_level_dbm"], room.get("uplink_level_dbm"), 1, row)

    def test_every_failure_against_every_promise(self):
        for house in self.houses:
            rows = house.table("failures.csv")
            want = [(f["id"], p["id"], p["state"], p["by_this"]) for f in house.check["failures"] for p in f["promises"]]
            self.assertEqual([(r["failure"], r["promise"], r["state"], r["broken_by_this"] == "yes") for r in rows], want)
            for f in house.check["failures"]:
                broken = [r for r in rows if r["failure"] == f["id"] and r["kind"] == f["kind"] and r["broken_by_this"] == "yes"]
                self.assertEqual(len(broken), f["broken"])

    def test_a_phase_keeps_what_the_house_without_the_later_ones_keeps(self):
        """The file without what later phases bring, written anew and judged by itself.  Of kinds that hang on what works."""
        kinds = ("signal", "rate", "roaming", "reach", "power", "cable", "recording")
        n_later = 0
        for house in self.houses:
            rows, phases = house.table("phases.csv"), house.yaml.get("phases") or {}
            order = sorted(phases, key=lambda i: (phases[i].get("by_date", "9999"), list(phases).index(i)))
            self.assertEqual(list(dict.fromkeys(r["phase"] for r in rows)), order)
            for k, phase in enumerate(order):
                found = {r["promise"]: r for r in rows if r["phase"] == phase}
                self.assertEqual(list(found), [p["id"] for p in house.check["promises"]])
                bare = house.without(order[k + 1:])
                for p in bare["promises"]:
                    if p["kind"] in kinds:
                        self.assertEqual(found[p["id"]]["state"], p["state"], (phase, p["id"], p["reason"]))
                n_later += sum(r["state"] != r["whole_house"] for r in found.values())
            last = [r for r in rows if r["phase"] == order[-1]]
            self.assertTrue(all(r["state"] == r["whole_house"] for r in last), "with the last phase all is there")
        self.assertGreater(n_later, 0)

    def test_places_are_those_of_the_house_file(self):
        for house in self.houses:
            equipment, mounts = house.yaml.get("equipment") or {}, house.yaml.get("mounts") or {}
            devices = house.yaml.get("devices") or {}
            ends = {str(c[side]).split(":")[0] for c in (house.yaml.get("cables") or {}).values() for side in ("from", "to") if side in c}
            rows = {r["thing"]: r for r in house.table("places.csv")}
            hung = {i for i, e in equipment.items() if "inside" not in e and ("mount" in e or "at_m" in e)}
            self.assertTrue(hung <= set(rows), hung - set(rows))
            self.assertEqual({i for i in rows if i in devices}, ends & set(devices))
            self.assertTrue(set(rows) <= set(equipment) | set(devices))
            n_mounted = 0
            for thing, row in rows.items():
                self.assertIn(thing, house.words)
                e = equipment.get(thing, {})
                if "mount" in e:
                    mount = mounts[e["mount"]]
                    n_mounted += 1
                    self.assertEqual(row["mount"], e["mount"])
                    for key, value in zip(("x_m", "y_m", "height_m"), mount["at_m"]):
                        self.assertAlmostEqual(float(row[key]), float(value), places=3)
                    self.assertIn("%.2f m above" % float(row["height_m"]), house.words)
                    self.near(row["faces_deg"], float(mount["faces_deg"]) if "faces_deg" in mount else None, 1, row)
                    self.assertTrue(row["fixing"] and row["looks"] or mount["surface"] in ("shelf", "cabinet"), row)
                held = {i for i, o in equipment.items() if o.get("inside") == thing}
                self.assertEqual(set(filter(None, row["holds"].split(", "))), held)
                fed = [i for i, c in (house.yaml.get("cables") or {}).items()
                       if thing in (str(c.get("from")).split(":")[0], str(c.get("to")).split(":")[0])]
                self.assertEqual(len(row["cables"].split("\n")) if row["cables"] else 0, len(fed), row)
            self.assertGreater(n_mounted, 0)

    def test_holes_and_boards(self):
        for house in self.houses:
            rows = house.table("holes.csv")
            self.assertEqual(len({r["mark"] for r in rows}), len(rows), "each mark once")
            for row in rows:
                self.assertRegex(row["mark"], r"^[HB]\d+$")
                self.assertEqual(row["kind"], "hole" if row["mark"][0] == "H" else "board")
                self.assertEqual(row["bit_mm"] == "", row["kind"] == "board")
                for cable in row["cables"].split():
                    self.assertIn(cable, house.yaml["cables"])
                self.assertIn(row["mark"], house.words)
                if row["kind"] == "hole" and row["there_already"] == "no":
                    self.assertIn("%s (%s mm)" % (row["mark"], row["bit_mm"]), house.words)

    def test_what_lasts_how_long(self):
        for house in self.houses:
            want = [(p["id"], u) for p in house.check["promises"] for u in p["evidence"].get("uses", []) if p["kind"] == "growth"]
            rows = house.table("growth.csv")
            self.assertEqual([(r["promise"], r["what"], r["what_helps"]) for r in rows], [(p, u["what"], u["mend"]) for p, u in want])
            for row, (_, use) in zip(rows, want):
                self.near(row["lasts_years"], use["lasts_years"], 1, row)
                self.near(row["lasts_times"], use["lasts_times"], 2, row)

    def test_radios(self):
        for house in self.houses:
            rows = house.table("radios.csv")
            sent = [(i, r["band"]) for i, e in house.yaml["equipment"].items() for r in e.get("radios", []) if r.get("off") != "true"]
            self.assertTrue(set(sent) <= {(r["equipment"], r["band_ghz"]) for r in rows})
            quiet = [p["evidence"] for p in house.check["promises"] if p["kind"] == "quiet"]
            for want in (quiet[0]["radios"] if quiet else []):
                row = next(r for r in rows if (r["equipment"], r["band_ghz"]) == (want["access_point"], want["band"]))
                self.near(row["busy_share"], want["busy_share"], 3, row)
                self.assertEqual(float(row["channel_centre"]), want["channel"])
        self.assertTrue(any(p["kind"] == "quiet" for h in self.houses for p in h.check["promises"]))

    def test_hours_statements_sockets(self):
        for house in self.houses:
            self.assertEqual([r["hours"] for r in house.table("hours.csv")], ids_of(house.yaml.get("hours")))
            for row in house.table("hours.csv"):
                given = house.yaml["hours"][row["hours"]]
                self.assertIn("%s-%s" % (given["from"], given["to"]), row["when"])
            rows = house.table("statements.csv")
            said = house.yaml.get("statements") or []
            self.assertEqual(len(rows), len(said))
            for number, (row, given) in enumerate(zip(rows, said), 1):
                self.assertEqual((row["number"], row["statement"], row["says"], row["hours"]),
                                 (str(number), given.get("id", row["statement"]), given.get("says", ""), given.get("hours", "")))
                self.assertEqual(row["verdict"], {"allow": "allowed", "refuse": "refused"}[given["verdict"]])
            for row in house.table("sockets.csv"):
                self.assertTrue(row["socket_of"] in house.yaml["devices"] or row["socket_of"] in house.yaml["equipment"], row)
                self.assertTrue(set(row["leads_into"].split()) <= set(house.yaml["segments"]), row)

    def test_the_line_by_the_hour(self):
        for house in self.houses:
            rows, askers = house.table("line_hours.csv"), house.table("line_askers.csv")
            promised = [p["evidence"] for p in house.check["promises"] if p["kind"] == "line"]
            for way in ("down", "up"):
                hours = [r for r in rows if r["way"] == way]
                self.assertEqual([int(r["hour_of_week"]) for r in hours], list(range(HOURS_OF_WEEK)))
                fullest = [r for r in hours if r["fullest"] == "yes"]
                self.assertEqual(len(fullest), 1)
                self.assertEqual(float(fullest[0]["serves_mbps"]), max(float(r["serves_mbps"]) for r in hours))
                asked = [r for r in askers if r["way"] == way]
                self.assertEqual({r["hour"] for r in asked}, {fullest[0]["hour"]})
                self.assertAlmostEqual(sum(float(r["mean_mbps"]) for r in asked), float(fullest[0]["asked_mean_mbps"]), delta=0.001)
                for side in promised[0]["ways"] if promised else []:
                    if side["way"] == way:
                        self.assertEqual(int(fullest[0]["hour_of_week"]), side["worst_hour"]["hour_of_week"])
                        self.near(fullest[0]["serves_mbps"], side["worst_hour"]["needed_mbps"], 1, way)
                        self.near(fullest[0]["line_mbps"], side["payload_mbps"], 1, way)
        self.assertTrue(any(p["kind"] == "line" for h in self.houses for p in h.check["promises"]))

    def test_cabinets_and_the_year(self):
        for house in self.houses:
            for promise in house.check["promises"]:
                if promise["kind"] == "outage":
                    want = promise["evidence"]["cabinets"]
                    rows = house.table("cabinets.csv")
                    self.assertEqual([r["cabinet"] for r in rows], [c["id"] for c in want])
                    for row, cabinet in zip(rows, want):
                        for key, of in (("heat_w", "heat_w"), ("warmer_k", "air_k"), ("warmer_closed_k", "rise_k")):
                            self.near(row[key], cabinet[of], 1, row)
            year = {r["what"]: r for r in house.table("year.csv")}
            self.assertEqual(Decimal(year["energy"]["amount"]) + Decimal(year["line"]["amount"] or 0), Decimal(year["together"]["amount"]))
            for promise in house.check["promises"]:
                if promise["kind"] == "cost":
                    told = promise["evidence"]["yearly"]
                    self.near(year["together"]["amount"], told["total"], 2, year)
                    self.near(year["energy"]["kwh"], told["energy_kwh"], 1, year)


if __name__ == "__main__":
    unittest.main(verbosity=2)
