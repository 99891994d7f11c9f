#!/usr/bin/env python3
"""The bills of the demo houses, worked again in decimal arithmetic from the house file, its parts file and the cable schedule, by the
rules that docs/cost.md tells people.  What a metre of laying costs depends on the way a cable takes and is taken from the bill's own rows; that a row is
price times count, and every sum, is not.

RT_PROGRAM names the program, RT_TEST_ROOT the project's folder.  Read by PyYAML and Python's csv and decimal.
"""
import collections
import csv
import json
import math
import os
import subprocess
import sys
import tempfile
from decimal import ROUND_HALF_UP, Decimal

import yaml

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
CENT = Decimal("0.01")
GRADES = ["5e", "6", "6a"]
CHEAP = ["--cell", "2", "--order", "0", "--no-diffraction"]


def money(value):
    return Decimal(value).quantize(CENT, ROUND_HALF_UP)


def number(value):
    return Decimal(str(value))


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got}, want {want}")


def serves(has, needs):
    """A cord or socket of this category on a link of that one."""
    has, needs = str(has), str(needs)
    return GRADES.index(has) >= GRADES.index(needs) if has in GRADES and needs in GRADES else has == needs


def cheapest(parts, kind, category, length_m=0, outdoors=False):
    fits = [p for p in parts.values() if p["kind"] == kind and serves(p["category"], category)
            and (not outdoors or p.get("outdoors")) and (not length_m or p["per_m"] >= length_m)]
    return min(fits, key=lambda p: p["price"])


class Bill:
    def __init__(self, name):
        path = os.path.join(ROOT, f"houses/{name}.house.yaml")
        with open(path, encoding="utf-8") as f:
            self.house = yaml.safe_load(f)
        with open(os.path.join(ROOT, "houses", self.house["parts_file"]), encoding="utf-8") as f:
            self.parts = yaml.safe_load(f)["parts"]
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run([PROGRAM, "export", path, "--to", "csv", "--out", folder,
                            "--cell", "2", "--order", "0", "--no-diffraction"], check=True, capture_output=True)
            self.rows = self.table(folder, "bill.csv")
            self.schedule = {r["cable"]: r for r in self.table(folder, "cable_schedule.csv")}
        done = subprocess.run([PROGRAM, "check", path, "--json", *CHEAP], capture_output=True, text=True)
        self.evidence = [p["evidence"] for p in json.loads(done.stdout)["promises"] if p["kind"] == "cost"][0]
        self.total = self.rows.pop()
        self.sums = collections.Counter()  # (phase, kind) -> money, worked here
        self.phase_of_cable = {c: self.cable_phase(q) for c, q in self.house["cables"].items()}

    @staticmethod
    def table(folder, name):
        with open(os.path.join(folder, name), newline="", encoding="utf-8") as f:
            return list(csv.DictReader(f))

    # ---- what the house file says

    def thing(self, end):
        return str(end).split(":")[0]

    def later(self, a, b):
        if not a or not b:
            return a or b
        return max(a, b, key=lambda p: self.house["phases"][p]["by_date"])

    def cable_phase(self, cable):
        phases = [self.house["equipment"].get(self.thing(cable[e]), {}).get("phase", "") for e in ("from", "to")]
        return self.later(*phases)

    def new_cables(self):
        return [(c, q) for c, q in self.house["cables"].items() if not q.get("owned")]

    def is_open_air(self, thing):
        rooms, floors = self.house["rooms"], self.house["floors"]
        floor = rooms[thing["room"]].get("floor") if "room" in thing else thing.get("floor")
        return ("room" in thing and rooms[thing["room"]].get("use") == "outdoor") or bool(floors[floor].get("open_air"))

    def outlet_at(self, end):
        """None: no socket there; else: is it outdoors?"""
        what = self.thing(end)
        if what in self.house["devices"]:
            return self.is_open_air(self.house["devices"][what])
        equipment = self.house["equipment"][what]
        if "mount" not in equipment or self.parts[equipment["part"]]["kind"] not in ("access_point", "camera", "bridge"):
            return None
        return bool(self.house["mounts"][equipment["mount"]].get("outdoors"))

    # ---- the lines

    def buy(self, phase, kind, price, n=1):
        self.sums[phase, kind] += money(number(price) * n)

    def work_out_things(self):
        for e in self.house["equipment"].values():
            if not e.get("owned"):
                self.buy(e.get("phase", ""), "part", self.parts[e["part"]]["price"])
                if "mount" in e:
                    self.buy(e.get("phase", ""), "fixing", self.house["mounts"][e["mount"]]["price"])
        for d in self.house["devices"].values():
            assert d.get("owned", True), "a device to be bought: this test does not know its phase"
        placed = collections.Counter(e["part"] for e in self.house["equipment"].values())
        for b in self.house.get("batteries", {}).values():
            assert placed[b["part"]], "a battery that does not stand among the equipment"

    def work_out_cables(self):
        metres = collections.defaultdict(list)
        for name, cable in self.new_cables():
            phase, part = self.phase_of_cable[name], self.parts[cable["part"]]
            if part["kind"] == "cord":
                self.buy(phase, "cable", part["price"])
                continue
            cords = [cable.get("cord_from_m", 0.5), cable.get("cord_to_m", 2)]
            is_fibre = str(part["category"]).startswith("o")
            length_m = Decimal(self.schedule[name]["fixed_m"]) + (sum(map(number, cords)) if is_fibre else 0)
            metres[phase, cable["part"]].append(length_m)
            for end, cord_m in zip(("from", "to"), cords):
                if is_fibre or not cord_m:
                    continue
                category = self.schedule[name]["category"]
                self.buy(phase, "cable", cheapest(self.parts, "cord", category, cord_m)["price"])
                outdoors = self.outlet_at(cable[end])
                if outdoors is not None:
                    self.buy(phase, "outlet", cheapest(self.parts, "outlet", category, 0, outdoors)["price"])
        for (phase, part), lengths in metres.items():
            before = [m for (p, q), v in metres.items() if q == part and p != phase and self.later(p, phase) == phase for m in v]
            self.buy(phase, "cable", self.parts[part]["price"], self.pieces(phase, part, before, lengths))

    def pieces(self, phase, part, before, lengths):
        """Whole metres or boxes beyond those of earlier phases; the schedule tells each length to a tenth, so the bill's count must lie
        within that."""
        per_m, blur = number(self.parts[part]["per_m"]), number("0.05")
        row = [r for r in self.rows if (r["phase"], r["kind"], r["part"], r["owned"]) == (phase, "cable", part, "no")]
        equal(len(row), 1, f"rows of {part}")
        ends = [[math.ceil(sum(m + sign * blur for m in v) / per_m) for sign in (-1, 1)] for v in (before, before + lengths)]
        count = Decimal(row[0]["count"])
        assert ends[1][0] - ends[0][1] <= count <= ends[1][1] - ends[0][0], row[0]
        return count

    def check_rows(self):
        """Price times count, each as printed: to a hundredth, holes at their construct's price, labour at the house's."""
        budget = self.house["budget"]
        for r in self.rows:
            total = Decimal(r["total"])
            if r["owned"] == "yes":
                equal((total, r["each"]), (0, ""), r["what"])
                continue
            if r["kind"] in ("work", "labour"):
                each, count = Decimal(r["each"]), Decimal(r["count"])
                assert abs(total - each * count) <= CENT / 2 * (each + count + 1), r
            if r["kind"] == "labour":
                equal(Decimal(r["each"]), money(budget["labour_per_h"]), "an hour")
            construct = self.house.get("constructs", {}).get(r["what"].removeprefix("hole through "))
            if construct and "hole_price" in construct:
                equal((Decimal(r["each"]), total), (money(construct["hole_price"]), money(construct["hole_price"] * int(r["count"]))), r["what"])

    def check_sums(self):
        for kind in ("part", "cable", "outlet", "fixing"):
            for phase in {r["phase"] for r in self.rows} | {p for p, _ in self.sums}:
                got = sum(Decimal(r["total"]) for r in self.rows if (r["phase"], r["kind"]) == (phase, kind))
                equal(got, self.sums[phase, kind], f"{kind} of phase {phase!r}")

    def check_phases(self):
        share, whole = number(self.house["budget"]["contingency_share"]), Decimal(0)
        told = {p["phase"]: money(number(p["purchase"])) for p in self.evidence["phases"]}
        told[""] = money(number(self.evidence["no_phase"]))
        for phase in told:
            rows = [r for r in self.rows if r["phase"] == phase]
            before = sum(Decimal(r["total"]) for r in rows if r["kind"] != "contingency")
            extra = [Decimal(r["total"]) for r in rows if r["kind"] == "contingency"]
            equal(extra, [money(before * share)] if before else [], f"contingency of {phase!r}")
            equal(told[phase], before + sum(extra), f"phase {phase!r}")
            whole += told[phase]
        equal(Decimal(self.total["total"]), whole, "total of the phases")
        equal(money(number(self.evidence["purchase"])), whole, "what the promise is judged on")
        return whole

    def check_year(self):
        year, budget = self.evidence["yearly"], self.house["budget"]
        energy = number(budget["energy_per_kwh"]) * number(year["energy_kwh"])  # told to a tenth of a kWh
        assert abs(number(year["energy"]) - energy) <= CENT / 2 + number("0.05") * number(budget["energy_per_kwh"]), year
        equal(money(number(year["line"])), money(12 * number(self.house["line"]["price_per_month"])), "the line")
        equal(money(number(year["total"])), money(number(year["energy"]) + number(year["line"])), "a year")


def main():
    for name in ("larch_end", "whin_farm", "quay_flat"):
        bill = Bill(name)
        bill.work_out_things()
        bill.work_out_cables()
        bill.check_rows()
        bill.check_sums()
        total = bill.check_phases()
        bill.check_year()
        # Common practice, no source; told, never judged.
        share = total / number(bill.house["budget"]["house_cost"]) * 100 if "house_cost" in bill.house["budget"] else None
        print(f"ok {name}: {total} {bill.house['currency']} to buy" + (f", {share:.2f} % of the house" if share else ""))
    return 0


if __name__ == "__main__":
    sys.exit(main())
