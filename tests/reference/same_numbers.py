#!/usr/bin/python3
"""same_numbers.py OLD NEW [TOLERANCE]: whether two texts hold the same words and, within a relative tolerance (1e-8), numbers.

Layout does not count.  Numbers below 1e-12 count as zero: another version of a library may round them otherwise."""
import re
import sys


def words(path):
    with open(path) as f:
        return [w for w in re.split(r"[\s,{}]+", f.read()) if w]


def is_same(a, b, tolerance):
    if a == b:
        return True
    try:
        x, y = float(a.rstrip("f")), float(b.rstrip("f"))
    except ValueError:
        return False
    return abs(x - y) <= tolerance * max(abs(x), abs(y)) + 1e-12


def main(old, new, tolerance=1e-8):
    a, b = words(old), words(new)
    if len(a) != len(b):
        sys.exit(f"{old}: {len(a)} words on file, {len(b)} when made anew")
    for i, (x, y) in enumerate(zip(a, b)):
        if not is_same(x, y, float(tolerance)):
            sys.exit(f"{old}: word {i + 1} is {x} on file, {y} when made anew")
    print(f"{old}: the same, {len(a)} words")


main(*sys.argv[1:])
