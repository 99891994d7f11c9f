"""A design written into the user's file, judged by PyYAML and by plain lines.

design_report changes a house at random in memory, writes the file and tells the changes.  Here the old file is read by PyYAML (a YAML
reader that Rooftree does not use), the changes are made on its tree, and the tree of the new file must be the same.  Comments must
all be there, but those on the lines of what was removed; and lines that no change speaks of must be the old ones, in their order.
"""
import difflib
import json
import os
import re
import subprocess
import sys

import yaml

PROGRAM, ROOT = sys.argv[1], sys.argv[2]
HOUSES = ["larch_end", "quay_flat", "whin_farm"]
TIMES = 8


def number(x):
    return round(x, 9) if isinstance(x, float) else x


def same(a, b):
    """Equal but for how numbers and lists of one are written."""
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(same(a[k], b[k]) for k in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b))
    return number(a) == number(b) and isinstance(a, bool) == isinstance(b, bool)


def apply(tree, told):
    for line in told:
        verb, path, value = (line.split(" ", 2) + [""])[:3]
        steps = path.split("/")[1:]
        at = tree
        for step in steps[:-1]:
            if isinstance(at, list):
                at = at[int(step)]
            else:
                at = at.setdefault(step, [] if steps[-1] == "-" else {})
        last = steps[-1]
        if verb == "cut":
            del at[last]
        elif last == "-":
            at.append(json.loads(value))
        elif isinstance(at, list):
            at[int(last)] = json.loads(value)
        else:
            at[last] = json.loads(value)


def comments(text):
    """Comments of the demo houses: behind a blank or at the start of a line, none in quotes."""
    return re.findall(r"(?m)(?:^|(?<=\s))#.*$", text)


def check(house, seed):
    path = os.path.join(ROOT, "houses", house + ".house.yaml")
    with open(path) as f:
        old = f.read()
    done = subprocess.run([PROGRAM, path, str(seed)], capture_output=True, text=True)
    where = f"{house}, seed {seed}"
    assert done.returncode == 0, f"{where}: {done.stderr}"
    told, new = done.stdout.split("----\n", 1)
    told = told.splitlines()
    tree = yaml.safe_load(old)
    apply(tree, told)
    assert same(tree, yaml.safe_load(new)), f"{where}: the tree is another one\n" + "\n".join(told)
    if not told:
        assert new == old, f"{where}: nothing was changed, yet the bytes are"

    names = {line.split(" ")[1].split("/")[2] for line in told} | {"mesh", "statements", "channel"}
    gone, added = [], []
    for line in difflib.ndiff(old.splitlines(), new.splitlines()):
        if line.startswith("- "):
            gone.append(line[2:])
        elif line.startswith("+ "):
            added.append(line[2:])
    cut = [line.split(" ")[1].split("/")[2] for line in told if line.startswith("cut")]
    for comment in comments(old):
        on_removed = any(comment in line for line in gone)
        assert comment in new or (cut and on_removed), f"{where}: the comment {comment!r} is gone"
    # A line that is gone holds the name of what was changed, or a setting of a changed thing's radios.
    for line in gone:
        ok = any(re.search(rf"\b{re.escape(n)}\b", line) for n in names)
        ok = ok or re.search(r"\b(band|mount|says|part|segment|owned|movable|phase|radios|channel|disk_gb):", line)
        assert ok, f"{where}: the line {line!r} is gone"
    assert len(gone) <= sum(1 for t in told) + 12 * len(cut), f"{where}: too many lines are gone: {gone}"
    return len(told)


def main():
    n = 0
    for house in HOUSES:
        for seed in range(TIMES):
            n += check(house, seed)
    assert n > 25, "hardly anything was changed"
    print(f"{len(HOUSES) * TIMES} files, {n} changes")


main()
