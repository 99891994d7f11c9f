"""Where a stretch of cable may lie in a house as it was written, by plain geometry of its own (docs/cables.md says the rules)."""
import math

NEAR = 0.021  # points nearer than two centimetres are one to the program
RISER, CEILING_VOID, UNDER_FLOOR, SKIRTING, DUCT, SURFACE, TRENCH, ATTIC = range(8)


MASONRY = ["brick_single", "brick_solid", "brick_cavity", "block_100", "stone_500", "stone_rubble_600"]


def distance(p, a, b):
    """From a point to a stretch, in as many dimensions as they have."""
    d = [y - x for x, y in zip(a, b)]
    length2 = sum(x * x for x in d)
    t = 0 if length2 == 0 else min(1, max(0, sum((x - y) * z for x, y, z in zip(p, a, d)) / length2))
    return math.dist(p, [x + t * y for x, y in zip(a, d)])


def from_outline(outline, p):
    return min(distance(p, a, b) for a, b in zip(outline, outline[1:] + outline[:1]))


def is_inside(outline, p):
    inside = False
    for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1]):
        if (y0 > p[1]) != (y1 > p[1]) and p[0] < x0 + (p[1] - y0) / (y1 - y0) * (x1 - x0):
            inside = not inside
    return inside


def lies_in(outline, p, q, near=NEAR):
    points = [[p[i] + (q[i] - p[i]) * t / 20 for i in (0, 1)] for t in range(21)]
    return all(is_inside(outline, s) or from_outline(outline, s) < near for s in points)


def cross(p, q, a, b):
    """Where p-q passes through a-b, as a share of p-q; None: it does not, or an end only touches."""
    d, e, r = (q[0] - p[0], q[1] - p[1]), (b[0] - a[0], b[1] - a[1]), (a[0] - p[0], a[1] - p[1])
    over = d[0] * e[1] - d[1] * e[0]
    if abs(over) < 1e-9:
        return None
    t, u = (r[0] * e[1] - r[1] * e[0]) / over, (r[0] * d[1] - r[1] * d[0]) / over
    return t if 1e-4 < t < 1 - 1e-4 and 1e-4 < u < 1 - 1e-4 else None


class Spaces:
    def __init__(self, house):
        self.house, self.holes = house, 0
        self.floors, self.walls, self.rooms = house["floors"], house["walls"].values(), house["rooms"]

    def top(self, floor):
        return self.floors[floor]["level_m"] + self.floors[floor]["height_m"]

    def judge(self, edge, way, p, q, works):
        about = (edge, way, p, q)
        if way["is_cord"]:
            assert edge["length_m"] == 0 and edge["price"] == 0, about
            # straight, or along the floor and up to the outlet
            assert math.dist(p, q) - NEAR < edge["cord_m"] < math.dist(p[:2], q[:2]) + abs(p[2] - q[2]) + NEAR, about
            assert not list(self.crossed(way, p, q)) and not list(self.slabs(p, q)), ("a cord through a wall", about)
            return
        over_doors = self.over_doors(way, p, q) if way["kind"] == SKIRTING and way["run"] is None else 0
        assert abs(edge["length_m"] - math.dist(p, q) - over_doors) < 1e-9, (about, over_doors)
        if way["run"] is not None:
            assert self.is_in_run(self.house["runs"][way["run"]], way, p, q), about
        else:
            assert self.is_in_generated(way, p, q), about
        for wall, at in self.crossed(way, p, q):
            assert any(w["is_hole"] and w["construct"] == wall["construct"] and math.dist(w["at_m"], at) < 0.01 for w in works), \
                ("no hole", about, wall, at)
            self.holes += 1
        if way["run"] is None:
            for construct, at in self.slabs(p, q):
                assert any(w["is_hole"] and w["construct"] == construct and math.dist(w["at_m"][:2], at[:2]) < 0.15 for w in works), \
                    ("no hole", about, construct, at)
                self.holes += 1

    def is_in_run(self, run, way, p, q):
        """In the run itself; or by the metre that leads from it to a drop, a thing or another run."""
        if "outline" in run:
            floor = run["floors"][0]
            z = self.floors[floor]["level_m"] - 0.2 if run["kind"] == "under_floor" else self.top(floor) + 0.1
            level = abs(p[2] - z) < 1e-9 and abs(q[2] - z) < 1e-9
            return level and (lies_in(run["outline"], p, q) or
                              (math.dist(p, q) <= 1.5 + NEAR and min(from_outline(run["outline"], s[:2]) for s in (p, q)) < NEAR))
        line = run["line"]
        if len(line) == 1:
            x, y = line[0][:2]
            low, high = self.floors[run["floors"][0]]["level_m"] - 0.2, self.top(run["floors"][-1]) + 0.1
            line = [[x, y, low], [x, y, high]]
        on = [any(max(distance(p, a, b), distance(q, a, b)) < NEAR for a, b in zip(line, line[1:])) for _ in (0,)][0]
        return on or (math.dist(p, q) <= 4.0 + NEAR and min(distance(s, a, b) for s in (p, q) for a, b in zip(line, line[1:])) < NEAR)

    def is_in_generated(self, way, p, q):
        kind, floor = way["kind"], way["floor"]
        if kind in (CEILING_VOID, UNDER_FLOOR, ATTIC) or "along the ceiling or beams" in way["says"]:
            z = {UNDER_FLOOR: self.floors[floor]["level_m"] - 0.2, SURFACE: self.top(floor) - 0.05}.get(kind, self.top(floor) + 0.1)
            outline = self.floors[floor]["outline"]
            near = abs(p[2] - z) < 1e-9 and abs(q[2] - z) < 1e-9
            if kind == UNDER_FLOOR and self.floors[floor]["slab"] != "timber_floor":
                return False
            if kind == ATTIC and self.floors[floor].get("ceiling") == "roof_tiles":
                return False
            return near and (lies_in(outline, p, q) or math.dist(p, q) <= 1.5 + NEAR)
        if kind == SKIRTING:
            level = self.floors[floor]["level_m"] + 0.1
            rooms = [r["outline"] for r in self.rooms.values() if r["floor"] == floor and "cable" not in r.get("keep_free", [])]
            return abs(p[2] - level) < 1e-9 and abs(q[2] - level) < 1e-9 and any(
                lies_in(o, p, q) and max(from_outline(o, p[:2]), from_outline(o, q[:2])) < 0.13 for o in rooms)
        if "over a doorway" in way["says"]:  # level, both ends on the wall
            walls = [w["line"][:2] for w in self.walls if w["floor"] == floor]
            return abs(p[2] - q[2]) < 1e-9 and any(max(distance(p[:2], *w), distance(q[:2], *w)) < 0.45 for w in walls)
        if kind in (RISER, SURFACE):  # a drop down a wall, or from it to the skirting or into a void
            beside = min(distance(s[:2], *w["line"][:2]) for s in (p, q) for w in self.walls if w["floor"] == floor)
            upright = math.dist(p[:2], q[:2]) < NEAR
            return beside < 0.45 and (upright or math.dist(p, q) <= 1.0 + NEAR)
        return kind == DUCT and math.dist(p, q) <= 4.0 + NEAR  # from a thing or a run to the next

    def over_doors(self, way, p, q):
        """The way up and over the doorways that a stretch of skirting passes."""
        extra = 0
        for wall in self.walls:
            for o in wall.get("openings", []) if wall["floor"] == way["floor"] else []:
                (x0, y0), (x1, y1) = wall["line"]
                t = (o["at_m"] + o["width_m"] / 2) / math.dist((x0, y0), (x1, y1))
                middle = (x0 + (x1 - x0) * t, y0 + (y1 - y0) * t)
                if o["kind"] == "door" and distance(middle, p[:2], q[:2]) < 0.4:
                    extra += 2 * o["head_m"]
        return extra

    def crossed(self, way, p, q):
        """The walls that it goes through, and where.  A wall ends at its ceiling, but masonry goes on between the joists to the
        boards above; a riser and the voids of the file are what the file says they are."""
        if way["run"] is not None and (self.house["runs"][way["run"]]["kind"] == "riser" or "outline" in self.house["runs"][way["run"]]):
            return
        for wall in self.walls:
            t = cross(p, q, *wall["line"])
            if t is None:
                continue
            at = [x + (y - x) * t for x, y in zip(p, q)]
            floor = self.floors[wall["floor"]]
            low, above = floor["level_m"], self.above(wall["floor"])
            high = low + wall.get("height_m", floor["height_m"])
            if "height_m" not in wall and above and wall["construct"] in MASONRY:
                high = self.floors[above]["level_m"]
            if low + 1e-6 < at[2] < high - 1e-6:
                yield wall, at

    def above(self, floor):
        i = list(self.floors).index(floor) + 1
        following = f"floor_{i}"
        return following if floor != "shed" and following in self.floors else None

    def slabs(self, p, q):
        """The floors and ceilings that it goes through, and where; a cable in the space between is through one of them."""
        for floor, f in self.floors.items():
            if f.get("open_air"):
                continue
            below = [g for g in self.floors if self.above(g) == floor]
            faces = [(f["slab"], [f["level_m"]] + [self.top(g) for g in below])]
            if not self.above(floor) and "ceiling" in f:
                faces.append((f["ceiling"], [self.top(floor)]))
            for construct, levels in faces:
                for z in levels:
                    if min(p[2], q[2]) < z - 1e-5 and max(p[2], q[2]) > z + 1e-5:
                        t = (z - p[2]) / (q[2] - p[2])
                        at = [x + (y - x) * t for x, y in zip(p, q)]
                        if is_inside(f["outline"], at) and not any(is_inside(h["outline"], at) for h in f.get("holes", [])):
                            yield construct, at
                            break
