#!/usr/bin/python3
"""Full-wave reference: two-dimensional scenes solved by finite differences in time (Meep), E upright (Ez).

Each scene is a set of walls seen from above and one upright line source.  For squares of 0.25 m (two wavelengths) the
mean power over the square is divided by that of a run without walls: the local mean relative to free space.  The same
scene is written as a house file with walls far taller than the distances that matter, no slabs and an isotropic antenna.

    /usr/bin/python3 tests/reference/fdtd_scenes.py houses          writes tests/reference/fdtd/NAME.house.yaml
    /usr/bin/python3 tests/reference/fdtd_scenes.py run NAME...     writes tests/reference/fdtd/NAME.csv (minutes each)
    /usr/bin/python3 tests/reference/fdtd_scenes.py check NAME...   runs again and compares with the committed file

Walls: relative permittivity and conductivity of ITU-R P.2040-3 at 2.437 GHz (a f^b, c f^d).
"""
import csv
import os
import sys

import numpy as np

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "fdtd")
C0 = 299792458.0
EPS0 = 8.8541878128e-12
F_HZ = 2.437e9
SQUARE_M = 0.25
PML_M = 0.3
MATERIALS = {  # a, b, c, d
    "brick": (3.91, 0.0, 0.0238, 0.16),
    "concrete": (5.24, 0.0, 0.0462, 0.7822),
    "plasterboard": (2.73, 0.0, 0.0085, 0.9395),
}

# size_m: the region solved, from (0, 0).  walls: points, material, thickness, openings (from the first point, width).
# travel_m: how far waves are followed; what is left then is more than 50 dB below the first wave.
SCENES = {
    "slanted_wall": dict(
        says="One brick wall with two free ends, at an angle to the wave", size_m=(6, 5), source_m=(1.1, 1.3),
        px_per_m=200, travel_m=22, walls=[([(2.2, 3.9), (3.9, 0.9)], "brick", 0.10, [])]),
    "doorway": dict(
        says="A concrete wall from side to side with a doorway of 0.9 m", size_m=(6, 5), source_m=(1.2, 1.6),
        px_per_m=240, travel_m=20, walls=[([(3.0, -20.0), (3.0, 25.0)], "concrete", 0.20, [(22.0, 0.9)])]),
    "l_room": dict(
        says="An L-shaped room of concrete", size_m=(6, 5.5), source_m=(1.3, 4.0), px_per_m=240, travel_m=34,
        walls=[([(0.5, 0.5), (5.5, 0.5), (5.5, 2.5), (2.5, 2.5), (2.5, 5.0), (0.5, 5.0), (0.5, 0.5)], "concrete", 0.12, [])]),
    "two_rooms": dict(
        says="A brick box of two rooms, a thin board between them with a doorway", size_m=(6, 5), source_m=(1.4, 3.3),
        px_per_m=200, travel_m=30,
        walls=[([(0.5, 0.5), (5.5, 0.5), (5.5, 4.5), (0.5, 4.5), (0.5, 0.5)], "brick", 0.10, []),
               ([(3.1, 0.5), (3.1, 4.5)], "plasterboard", 0.05, [(0.8, 0.8)])]),
}


def material(name):
    a, b, c, d = MATERIALS[name]
    f_ghz = F_HZ / 1e9
    return a * f_ghz**b, c * f_ghz**d


def pieces(scene):
    """Straight solid pieces of wall: (start, end, material, thickness); joined ends reach half a thickness further."""
    for line, name, thick, openings in scene["walls"]:
        line = np.array(line, float)
        along = 0.0
        for i, (p, q) in enumerate(zip(line[:-1], line[1:])):
            length = np.hypot(*(q - p))
            u = (q - p) / length
            closed = np.allclose(line[0], line[-1])
            from_m = -thick / 2 if i > 0 or closed else 0.0
            to_m = length + (thick / 2 if i + 2 < len(line) or closed else 0.0)
            for at, width in sorted(openings):
                if along <= at < along + length:
                    yield p + u * from_m, p + u * (at - along), name, thick
                    from_m = at - along + width
            yield p + u * from_m, p + u * to_m, name, thick
            along += length


def to_walls_m(scene, x, y):
    """Distance from points to the nearest wall's surface (below 0: inside)."""
    best = np.full(np.shape(x), np.inf)
    for p, q, _, thick in pieces(scene):
        length = np.hypot(*(q - p))
        u = (q - p) / length
        s = np.clip((x - p[0]) * u[0] + (y - p[1]) * u[1], 0, length)
        best = np.minimum(best, np.hypot(x - p[0] - u[0] * s, y - p[1] - u[1] * s) - thick / 2)
    return best


def solve(scene, with_walls):
    import meep as mp
    mp.verbosity(0)
    size = np.array(scene["size_m"], float)
    centre = size / 2
    blocks = []
    for p, q, name, thick in pieces(scene) if with_walls else []:
        eps, sigma = material(name)
        u = (q - p) / np.hypot(*(q - p))
        mid = (p + q) / 2 - centre
        blocks.append(mp.Block(center=mp.Vector3(*mid), size=mp.Vector3(np.hypot(*(q - p)), thick, mp.inf),
                               e1=mp.Vector3(*u), e2=mp.Vector3(-u[1], u[0]), e3=mp.Vector3(0, 0, 1),
                               material=mp.Medium(epsilon=eps, D_conductivity=sigma / (EPS0 * eps * C0))))
    f = F_HZ / C0
    at = np.array(scene["source_m"]) - centre
    sim = mp.Simulation(cell_size=mp.Vector3(*(size + 2 * PML_M)), resolution=scene["px_per_m"], geometry=blocks,
                        boundary_layers=[mp.PML(PML_M)],
                        sources=[mp.Source(mp.GaussianSource(f, fwidth=0.15 * f), component=mp.Ez, center=mp.Vector3(*at))])
    whole = mp.Volume(center=mp.Vector3(), size=mp.Vector3(*size))
    dft = sim.add_dft_fields([mp.Ez], f, 0, 1, where=whole)
    sim.run(until_after_sources=scene["travel_m"] if with_walls else 12)
    ez = sim.get_dft_array(dft, mp.Ez, 0)
    x, y, _, _ = sim.get_array_metadata(vol=whole)
    return np.array(x) + centre[0], np.array(y) + centre[1], np.abs(ez) ** 2


def squares(scene):
    """Means over the squares clear of walls (5 cm) and of the source (0.5 m): rows of x, y, level over free space."""
    x, y, walls = solve(scene, True)
    _, _, free = solve(scene, False)
    gap = to_walls_m(scene, *np.meshgrid(x, y, indexing="ij"))
    rows = []
    for i in range(int(scene["size_m"][0] / SQUARE_M)):
        for j in range(int(scene["size_m"][1] / SQUARE_M)):
            ix = (x >= i * SQUARE_M) & (x < (i + 1) * SQUARE_M)
            iy = (y >= j * SQUARE_M) & (y < (j + 1) * SQUARE_M)
            here = np.ix_(ix, iy)
            mid = ((i + 0.5) * SQUARE_M, (j + 0.5) * SQUARE_M)
            if gap[here].min() < 0.05 or np.hypot(mid[0] - scene["source_m"][0], mid[1] - scene["source_m"][1]) < 0.5:
                continue
            rows.append((*mid, 10 * np.log10(walls[here].mean() / free[here].mean())))
    return rows


def write_csv(name, rows, out):
    scene = SCENES[name]
    print(f"# {scene['says']}.  Local mean of |Ez|^2 over squares of {SQUARE_M} m, relative to the same run without walls.",
          file=out)
    print(f"# Made by fdtd_scenes.py (Meep {meep_version()}), {F_HZ / 1e9} GHz, {scene['px_per_m']} cells a metre, "
          f"waves followed for {scene['travel_m']} m.", file=out)
    print("x_m,y_m,level_db", file=out)
    for x, y, db in rows:
        print(f"{x:.3f},{y:.3f},{db:.2f}", file=out)


def meep_version():
    import meep
    return meep.__version__


def house_text(name):
    scene = SCENES[name]
    lines = [f"# Made by tests/reference/fdtd_scenes.py: {scene['says'].lower()}.", "rooftree: 1", f"name: {name}",
             f"says: {scene['says']}", "country: DE", "time_zone: Europe/Berlin", "currency: EUR", "estimate: middle",
             "parts_file: isotropic.parts.yaml", "constructs:"]
    for m, t in sorted({(m, t) for _, m, t, _ in scene["walls"]}):
        lines.append(f"  {m}_wall: {{ layers: [{{ material: {m}, thickness_m: {t} }}] }}")
    lines += ["floors:", "  ground:", "    level_m: 0", "    height_m: 20",
              "    outline: [[-30, -30], [36, -30], [36, 36], [-30, 36]]", "walls:"]
    for i, (line, m, _, openings) in enumerate(scene["walls"]):
        points = ", ".join(f"[{x}, {y}]" for x, y in line)
        lines += [f"  w{i + 1}:", "    floor: ground", f"    construct: {m}_wall", f"    line: [{points}]"]
        if openings:
            lines.append("    openings:")
        for at, width in openings:
            lines.append(f"      - {{ kind: gap, at_m: {at}, width_m: {width}, sill_m: 0, head_m: 20 }}")
    x, y = scene["source_m"]
    lines += ["equipment:", "  source:", "    part: isotropic", "    floor: ground", f"    at_m: [{x}, {y}, 10]"]
    return "\n".join(lines) + "\n"


def main(what, names):
    for name in names or SCENES:
        path = os.path.join(HERE, name + ".csv")
        if what == "houses":
            with open(os.path.join(HERE, name + ".house.yaml"), "w") as out:
                out.write(house_text(name))
        elif what == "run":
            rows = squares(SCENES[name])
            with open(path, "w") as out:
                write_csv(name, rows, out)
        elif what == "check":
            with open(path) as f:
                old = np.array([[float(v) for v in r.values()] for r in csv.DictReader(l for l in f if l[0] != "#")])
            new = np.array(squares(SCENES[name]))
            worst = np.abs(new - old).max() if new.shape == old.shape else np.inf
            print(f"{name}: {len(new)} squares, largest difference from the committed file {worst:.2f}")
            if not worst <= 0.05:
                sys.exit(f"{name}: the committed file is not what this program computes")
        else:
            sys.exit(__doc__)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "", sys.argv[2:])
