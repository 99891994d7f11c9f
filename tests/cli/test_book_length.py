#!/usr/bin/env python3
"""How many pages the books of the demo houses have, counted by poppler: 10 to 40 on Letter too (A4: test_book.py), which is as many as
anybody carries up a ladder; and of the main demo designed anew, as `./run demo` makes it.  Prints one line a book, 'ok NAME' or 'not ok
NAME: why'."""
import os
import re
import subprocess
import sys
import tempfile

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
LEAST, MOST = 10, 40
HOUSES = ["larch_end", "quay_flat", "whin_farm"]


def pages(house, paper, folder):
    out = os.path.join(folder, "book.pdf")
    subprocess.run([PROGRAM, "book", house, "--paper", paper, "--out", out], cwd=ROOT, capture_output=True, check=True)
    info = subprocess.run(["pdfinfo", out], capture_output=True, check=True).stdout.decode()
    return int(re.search(r"Pages:\s+(\d+)", info).group(1))


def main():
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        designed = os.path.join(folder, "designed.house.yaml")
        done = subprocess.run([PROGRAM, "design", "houses/larch_end.house.yaml", "--anew", "--out", designed], cwd=ROOT, capture_output=True)
        books = [(name, f"houses/{name}.house.yaml", "letter") for name in HOUSES] + [("larch_end_designed", designed, "a4")]
        for name, house, paper in books:
            try:
                n = pages(house, paper, folder)
                assert LEAST <= n <= MOST, f"{n} pages"
                print(f"ok {name}_{paper}: {n} pages")
            except Exception as e:  # the next book still counts
                failed += 1
                print(f"not ok {name}_{paper}: {type(e).__name__}: {e} {done.stderr.decode() if house == designed else ''}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
