"""Random small houses, whole files: floors, walls with doors and windows, rooms, runs of every kind, a garden, sometimes a shed;
gateway, one or two switches, access points, cameras, computers and cables.  Written as JSON, which is YAML too."""
import json
import os
import random

PARTS = "parts/demo.parts.yaml"
INNER = ["stud_wall", "brick_single", "block_100", "stud_tiled", "lath_plaster", "stone_500"]
OUTER = ["brick_cavity", "brick_solid", "timber_cladding", "stone_rubble_600"]
USES = ["living", "bedroom", "office", "hall", "store", "workshop", "kitchen", "utility"]
SLAB_M = 0.25  # from a ceiling to the floor above


def box(x0, y0, x1, y1):
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def at(r, low, high):
    return round(r.uniform(low, high), 2)


class House:
    def __init__(self, seed):
        self.r = random.Random(seed)
        self.parts, self.file = {}, {
            "rooftree": 1, "name": f"Random house {seed}", "country": "GB", "time_zone": "Europe/London", "currency": "GBP",
            "parts_file": None, "floors": {}, "walls": {}, "rooms": {}, "runs": {}, "segments": {"home": {}}, "equipment": {},
            "devices": {}, "cables": {}}
        self.width, self.depth = at(self.r, 6, 12), at(self.r, 5, 9)
        self.cut = (at(self.r, 2, self.width - 2.5), at(self.r, 2, self.depth - 2)) if self.r.random() < 0.4 else None
        self.floors, self.cells = [], {}  # ids of the floors indoors; (floor, rectangle, room) of each cell
        for storey in range(self.r.choice([1, 2, 2, 3])):
            self.add_storey(storey)
        self.add_garden()
        if self.r.random() < 0.4:
            self.add_shed()
        for _ in range(self.r.randrange(5)):
            self.add_run()
        self.add_things()
        self.add_cables()

    def outline(self):
        if not self.cut:
            return box(0, 0, self.width, self.depth)
        x, y = self.cut
        return [[0, 0], [self.width, 0], [self.width, y], [x, y], [x, self.depth], [0, self.depth]]

    # ---- the building

    def openings(self, length, kinds):
        if length < 2.2 or self.r.random() < 0.3:
            return []
        kind, width = self.r.choice(kinds), at(self.r, 0.7, 1.1)
        sill = 0.9 if kind == "window" else 0
        return [{"kind": kind, "at_m": at(self.r, 0.3, length - 1.5), "width_m": width, "sill_m": sill, "head_m": 2.0,
                 "construct": "glass_double" if kind == "window" else "timber_door"}]

    def add_wall(self, floor, line, construct, kinds):
        wall = {"floor": floor, "construct": construct, "line": line}
        length = sum(abs(p[0] - q[0]) + abs(p[1] - q[1]) for p, q in zip(line, line[1:]))
        opening = self.openings(length, kinds)
        if opening:
            wall["openings"] = opening
        elif self.r.random() < 0.1:
            wall["height_m"] = 1.2
        self.file["walls"][f"w{len(self.file['walls'])}"] = wall

    def add_room(self, floor, outline):
        room = f"room_{len(self.file['rooms'])}"
        self.file["rooms"][room] = {"floor": floor, "outline": outline, "use": self.r.choice(USES)}
        if self.r.random() < 0.15:
            self.file["rooms"][room]["keep_free"] = ["cable"]
        return room

    def add_storey(self, storey):
        r, floor = self.r, f"floor_{storey}"
        height = at(r, 2.3, 2.7)
        below = self.file["floors"][self.floors[-1]] if self.floors else None
        level = round(below["level_m"] + below["height_m"] + SLAB_M, 4) if below else r.choice([0, 0.2])
        self.floors.append(floor)
        self.file["floors"][floor] = {
            "level_m": level, "height_m": height, "outline": self.outline(),
            "slab": r.choice(["timber_floor", "timber_floor", "concrete_floor"]),
            "ceiling": r.choice(["plasterboard_ceiling", "plasterboard_ceiling", "roof_tiles"])}
        if below and r.random() < 0.5:
            self.file["floors"][floor]["holes"] = [{"what": "stairs", "outline": box(0.6, 0.6, 1.5, 2.9)}]
        outer, outline = r.choice(OUTER), self.outline()
        for p, q in zip(outline, outline[1:] + outline[:1]):
            self.add_wall(floor, [p, q], outer, ["window", "door"])
        splits = [self.cut[0]] if self.cut else r.choice([[], [at(r, 2.5, self.width - 2.5)]])
        edges = [0] + splits + [self.width]
        for x0, x1 in zip(edges, edges[1:]):
            top = self.cut[1] if self.cut and x0 >= self.cut[0] else self.depth
            middle = [at(r, 2, top - 2)] if top > 4.5 and r.random() < 0.6 else []
            ends = [0] + middle + [top]
            for y in middle:
                self.add_wall(floor, [[x0, y], [x1, y]], r.choice(INNER), ["door"])
            for y0, y1 in zip(ends, ends[1:]):
                self.cells[(floor, x0, y0)] = ((x0, y0, x1, y1), self.add_room(floor, box(x0, y0, x1, y1)))
        for x in splits:
            self.add_wall(floor, [[x, 0], [x, self.cut[1] if self.cut else self.depth]], r.choice(INNER), ["door"])

    def add_garden(self):
        self.file["floors"]["garden"] = {"level_m": -0.1, "height_m": 6, "outline": box(0, -10, self.width, 0), "open_air": True}

    def add_shed(self):
        r = self.r
        x = self.width + at(r, 5, 30)
        self.file["floors"]["shed"] = {"level_m": 0, "height_m": 2.4, "outline": box(x, 0, x + 4, 3),
                                       "slab": r.choice(["timber_floor", "concrete_floor"])}
        for p, q in zip(box(x, 0, x + 4, 3), box(x, 0, x + 4, 3)[1:] + [[x, 0]]):
            self.add_wall("shed", [p, q], r.choice(OUTER), ["window", "door"])
        self.cells[("shed", x, 0)] = ((x, 0, x + 4, 3), self.add_room("shed", box(x, 0, x + 4, 3)))
        self.floors.append("shed")
        y = at(r, 0.5, 1.8)
        self.add_named_run({"kind": r.choice(["trench", "duct"]), "floors": [self.file_floor(0), "shed"], "outdoors": True, "line": [
            [self.width - 0.4, y, 0.3], [self.width + 0.6, y, -0.5], [x - 0.5, y, -0.5], [x + 0.4, y, 0.2]]})

    # ---- runs

    def file_floor(self, i):
        return list(self.file["floors"])[i]

    def add_named_run(self, run):
        run["price_per_m"] = at(self.r, 0, 6)
        if self.r.random() < 0.5:
            run["mains_m"] = 0.3
        self.file["runs"][f"run_{len(self.file['runs'])}"] = run

    def add_run(self):
        r = self.r
        kind = r.choice(["riser", "ceiling_void", "under_floor", "attic", "skirting", "duct", "surface"])
        storeys = [f for f in self.floors if f != "shed"]
        (x0, y0, x1, y1), room = r.choice(list(self.cells.values()))
        floor = self.file["rooms"][room]["floor"]
        level, height = self.file["floors"][floor]["level_m"], self.file["floors"][floor]["height_m"]
        if kind == "riser":
            low = r.randrange(len(storeys))
            p = self.spot(storeys[low])
            if low + 1 < len(storeys):
                self.add_named_run({"kind": kind, "floors": storeys[low:], "line": [[p[0], p[1], 0.2]]})
        elif kind in ("ceiling_void", "under_floor", "attic"):
            floor = storeys[-1] if kind == "attic" else r.choice(storeys)
            in_m, outline = at(r, 0.1, 0.6), self.outline()
            outline = [[round(min(max(x, in_m), (self.cut[0] if self.cut and y > self.cut[1] else self.width) - in_m), 2),
                        round(min(max(y, in_m), (self.cut[1] if self.cut and x > self.cut[0] else self.depth) - in_m), 2)]
                       for x, y in outline]
            if self.cut:  # the inner corner moves towards the body of the L
                outline[3] = [round(self.cut[0] - in_m, 2), round(self.cut[1] - in_m, 2)]
                outline[2][1] = outline[3][1]
                outline[4][0] = outline[3][0]
            self.add_named_run({"kind": kind, "floors": [floor], "outline": outline})
        else:
            z = {"skirting": level + 0.1, "duct": level + 0.05, "surface": level + height - 0.15}[kind]
            line = [[x0 + 0.2, y0 + 0.2], [x1 - 0.2, y0 + 0.2], [x1 - 0.2, y1 - 0.2]][:r.choice([2, 3])]
            self.add_named_run({"kind": kind, "floors": [floor], "line": [[round(x, 3), round(y, 3), round(z, 4)] for x, y in line]})

    # ---- things and cables

    def spot(self, floor):
        (x0, y0, x1, y1), _ = self.r.choice([c for key, c in self.cells.items() if key[0] == floor])
        return at(self.r, x0 + 0.4, x1 - 0.4), at(self.r, y0 + 0.4, y1 - 0.4)

    def place(self):
        """In a room: by a wall, or in the middle; or in the garden, by the wall."""
        r = self.r
        (x0, y0, x1, y1), room = r.choice(list(self.cells.values()))
        x, y = at(r, x0 + 0.5, x1 - 0.5), at(r, y0 + 0.5, y1 - 0.5)
        side = r.randrange(5)
        x, y = [(x, y), (x0 + 0.35, y), (x1 - 0.35, y), (x, y0 + 0.35), (x, y1 - 0.35)][side]
        return {"room": room, "at_m": [round(x, 2), round(y, 2), r.choice([0.3, 0.6, 1.1, 1.8])]}

    def add_things(self):
        r = self.r
        self.file["equipment"]["gateway"] = {"part": "gateway_1g", **self.place()}
        for i in range(r.choice([1, 1, 2])):
            self.file["equipment"][f"switch_{i}"] = {"part": "switch_24_poe", **self.place()}
        for i in range(r.randrange(3)):
            place = self.place()
            place["at_m"][2] = round(self.file["floors"][self.file["rooms"][place["room"]]["floor"]]["height_m"] - 0.02, 2)
            self.file["equipment"][f"point_{i}"] = {"part": "ceiling_two_band", **place}
        if r.random() < 0.5:
            self.file["equipment"]["eye"] = {"part": "camera_dome", "floor": "garden",
                                             "at_m": [at(r, 1, self.width - 1), -0.35, at(r, 1, 3)]}
        for i in range(1 + r.randrange(4)):
            self.file["devices"][f"desk_{i}"] = {"kind": "desktop", "segment": "home", "link": "wired", **self.place()}

    def add_cables(self):
        r = self.r
        switches = [e for e in self.file["equipment"] if e.startswith("switch")]
        ends = [e for e in self.file["equipment"] if e != "switch_0"] + list(self.file["devices"])
        for end in ends:
            start = r.choice([s for s in switches if s != end])
            cable = {"from": start, "to": end, "part": r.choice(["cable_6_m", "cable_6_box", "cable_6_outdoor_m"]),
                     "cord_from_m": r.choice([0.5, 2]), "cord_to_m": r.choice([0, 2, 5])}
            if self.file["runs"] and r.random() < 0.2:
                cable["route"] = r.sample(list(self.file["runs"]), r.choice([1, min(2, len(self.file["runs"]))]))
            if r.random() < 0.05:
                cable["length_m"] = 60
            self.file["cables"][f"to_{end}"] = cable

    def write(self, path, root):
        self.file["parts_file"] = os.path.relpath(os.path.join(root, PARTS), os.path.dirname(path))
        for section in [s for s in self.file if self.file[s] == {} and s != "segments"]:
            del self.file[section]
        with open(path, "w", encoding="utf-8") as out:
            json.dump(self.file, out, indent=1)
