#!/usr/bin/env python3
"""Labels on sheets, and the book's chapters about cables, ports and money, read back by poppler (pdftotext, pdftoppm).

Where a label stands is computed here from the sizes that were asked for; what it says is compared with labels.csv, sums are worked again
from bill.csv.  Prints one line a test: 'ok NAME', 'skip NAME: why' or 'not ok NAME: why'.
"""
import csv
import html
import os
import re
import shutil
import subprocess
import sys
import tempfile
from decimal import Decimal

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
REPORT = os.environ["RT_BOOK_REPORT"]  # books of a coarse field (tests/book_report.c): no case here is about waves
COARSE = ["--cell", "2", "--order", "0", "--no-diffraction"]
POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: a unit of PDF is 1/72 inch
A4_MM = (210.0, 297.0)  # ISO 216
LETTER_MM = (215.9, 279.4)  # ANSI/ASME Y14.1, from memory
PAD_MM = 1.5  # docs/labels.md
TESTS = []
WORK = None


class Skip(Exception):
    pass


def test(function):
    TESTS.append(function)
    return function


def need(*programs):
    for program in programs:
        if not shutil.which(program):
            raise Skip(f"{program} is not installed")


def call(*words, timeout=1200):
    done = subprocess.run(words, capture_output=True, stdin=subprocess.DEVNULL, timeout=timeout)
    return done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")


def house(name):
    return os.path.join(ROOT, "houses", name + ".house.yaml")


MADE = {}


def tables(name):
    """The CSV export of a house, once."""
    if ("csv", name) not in MADE:
        folder = os.path.join(WORK, name + "-csv")
        status, _, err = call(PROGRAM, "export", house(name), "--to", "csv", "--out", folder, *COARSE)
        assert status == 0, err
        MADE[("csv", name)] = folder
    return MADE[("csv", name)]


def rows(name, table):
    with open(os.path.join(tables(name), table), newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def book_words(name):
    """All words of the book of a house, in the order in which they are painted, blanks and line ends alike."""
    if ("book", name) not in MADE:
        folder = os.path.join(WORK, name + "-papers")
        status, _, err = call(REPORT, house(name), folder, "2")
        assert status == 0, err
        status, text, err = call("pdftotext", "-raw", os.path.join(folder, "a4.pdf"), "-")
        assert status == 0, err
        MADE[("book", name)] = re.sub(r"\s+", " ", text)
    return MADE[("book", name)]


def squeezed(text):
    return re.sub(r"\s+", "", text)


# ---- labels ----

def labels(name, *options):
    path = os.path.join(WORK, "labels.pdf")
    status, _, err = call(PROGRAM, "book", house(name), "--what", "labels", "--out", path, *options)
    return status, path, err


def words_of(path):
    """[(page, x0, y0, x1, y1, word)] in millimetres from the upper left corner, and the size of each page."""
    status, out, err = call("pdftotext", "-bbox", path, "-")
    assert status == 0, err
    found, pages = [], []
    for line in out.splitlines():
        page = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', line)
        word = re.search(r'xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', line)
        if page:
            pages.append(tuple(float(v) * POINT_MM for v in page.groups()))
        elif word:
            found.append((len(pages) - 1, *(float(v) * POINT_MM for v in word.groups()[:4]), html.unescape(word.group(5))))
    return found, pages


def cells_of(paper, columns, rows_, w, h, left, top, gap_x, gap_y):
    return [(left + c * (w + gap_x), top + r * (h + gap_y), w, h) for r in range(rows_) for c in range(columns)]


# What is asked for, and where the labels then are: by hand from the paper's size.
GRIDS = [
    ("larch_end", ["--labels", "3x8,63.5x33.9"], A4_MM, 0, True,
     cells_of(A4_MM, 3, 8, 63.5, 33.9, (210 - 190.5) / 2, (297 - 271.2) / 2, 0, 0)),
    ("larch_end", ["--labels", "3x8,63.5x33.9,7.2x12.9", "--skip", "5"], A4_MM, 5, True,
     cells_of(A4_MM, 3, 8, 63.5, 33.9, 7.2, 12.9, (210 - 14.4 - 190.5) / 2, 0)),
    ("whin_farm", ["--labels", "5x13,38.1x21.2,4x10,1.5x0.1"], A4_MM, 0, False,
     cells_of(A4_MM, 5, 13, 38.1, 21.2, 4, 10, 1.5, 0.1)),
    ("quay_flat", ["--paper", "letter", "--labels", "4x15,44.5x12.7", "--skip", "59"], LETTER_MM, 59, False,
     cells_of(LETTER_MM, 4, 15, 44.5, 12.7, (215.9 - 178) / 2, (279.4 - 190.5) / 2, 0, 0)),
    ("quay_flat", [], A4_MM, 0, True, cells_of(A4_MM, 3, 8, 70, 36, 0, 4.5, 0, 0)),
]


@test
def labels_stand_in_their_cells_and_say_what_the_table_says():
    need("pdftotext")
    for name, options, paper, used, folds, cells in GRIDS:
        status, path, err = labels(name, *options)
        assert status == 0, err
        words, pages = words_of(path)
        wanted = rows(name, "labels.csv")
        count = (used + len(wanted) + len(cells) - 1) // len(cells)
        assert len(pages) == count, f"{options}: {len(pages)} pages, {count} are needed"
        for page in pages:
            assert all(abs(a - b) < 0.1 for a, b in zip(page, paper)), f"{options}: a page of {page} mm"
        texts = {}
        for page, x0, y0, x1, y1, word in words:
            # The box of a word is as high as its line; ink is looked at below.
            at = [i for i, (x, y, w, h) in enumerate(cells)
                  if x + PAD_MM - 0.05 <= x0 and x1 <= x + w - PAD_MM + 0.05 and y <= y0 and y1 <= y + h]
            assert len(at) == 1, f"{options}: `{word}` at {x0:.1f} to {x1:.1f}, {y0:.1f} to {y1:.1f} is in no cell"
            place = page * len(cells) + at[0]
            x, _, w, _ = cells[at[0]]
            middle = x + w / 2
            is_end = 0 <= place - used < len(wanted) and wanted[place - used]["what"] == "cable"
            half = 0
            if folds and is_end:
                assert x1 <= middle - PAD_MM + 0.05 or x0 >= middle + PAD_MM - 0.05, f"{options}: `{word}` lies on the fold"
                half = int(x0 > middle)
            texts.setdefault((place, half), []).append((round(y0, 1), x0, word))
        said = {key: "".join(word for _, _, word in sorted(found)) for key, found in texts.items()}
        due = {}
        for i, row in enumerate(wanted):
            text = squeezed(row["first_line"] + row["second_line"])
            for half in range(2 if folds and row["what"] == "cable" else 1):
                due[(used + i, half)] = text
        for key, text in due.items():
            assert squeezed(said.get(key, "")) == text, f"{options}: label {key} says `{said.get(key)}`, not `{text}`"
        assert set(said) == set(due), f"{options}: words where no label is due: {sorted(set(said) - set(due))}"


@test
def printed_labels_have_no_ink_near_their_edges():
    """On a rendered page at 10 pixels a millimetre: ink within the cells' inner boxes and the marks of the fold alone."""
    need("pdftoppm")
    status, path, err = labels("larch_end", "--labels", "3x8,63.5x33.9,7.2x12.9")
    assert status == 0, err
    stem = os.path.join(WORK, "printed")
    status, _, err = call("pdftoppm", "-r", "254", "-gray", "-f", "1", "-l", "1", path, stem)
    assert status == 0, err
    image = next(os.path.join(WORK, n) for n in os.listdir(WORK) if n.startswith("printed"))
    data = open(image, "rb").read()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    w, h, pixels = int(head.group(1)), int(head.group(2)), data[head.end():]
    assert abs(w - 2100) <= 1 and abs(h - 2970) <= 1
    cells = GRIDS[1][5]
    allowed = bytearray(w * h)
    for x, y, cell_w, cell_h in cells:
        boxes = [(x + PAD_MM, y + PAD_MM, x + cell_w - PAD_MM, y + cell_h - PAD_MM),
                 (x + cell_w / 2 - 0.2, y + 0.3, x + cell_w / 2 + 0.2, y + cell_h - 0.3)]
        for x0, y0, x1, y1 in boxes:
            for row in range(int(10 * y0) - 1, int(10 * y1) + 2):
                allowed[row * w + int(10 * x0) - 1:row * w + int(10 * x1) + 2] = b"\1" * (int(10 * x1) - int(10 * x0) + 3)
    dark = [i for i, value in enumerate(pixels) if value < 128]
    outside = [i for i in dark if not allowed[i]]
    assert not outside, f"{len(outside)} dark pixels outside, the first at {outside[0] % w / 10}, {outside[0] // w / 10} mm"
    for x, y, cell_w, cell_h in cells:
        row = [i for i in dark if x <= i % w / 10 < x + cell_w and y <= i // w / 10 < y + cell_h]
        assert row, f"nothing is printed on the label at {x}, {y} mm"
        tall = (max(row) // w - min(row) // w) / 10
        assert tall > 3.0, f"{tall} mm of print on a label of {cell_h} mm"


@test
def labels_that_do_not_fit_are_errors():
    for options, words in [
        (["--labels", "5x13,48.1x21.2"], "5 columns of 48.1 mm do not fit on a paper with a width of 210 mm"),
        (["--labels", "3x9,63.5x33.9"], "9 rows of 33.9 mm do not fit on a paper with a height of 297 mm"),
        (["--labels", "3x8,63.5x33.9,12x12.9"], "3 columns of 63.5 mm with these edges do not fit"),
        (["--labels", "3x8,63.5x33.9,7.2x12.9,9x0"], "3 columns of 63.5 mm with these edges and gaps do not fit"),
        (["--labels", "3x8"], "does not tell of a sheet of labels"),
        (["--labels", "3x8,63.5x"], "does not tell of a sheet of labels"),
        (["--labels", "0x8,63.5x33.9"], "does not tell of a sheet of labels"),
        (["--labels", "2.5x8,63.5x33.9"], "does not tell of a sheet of labels"),
        (["--labels", "3x8,63.5x33.9,1x1,0x0,0x0"], "does not tell of a sheet of labels"),
        (["--labels", "3x8,-63.5x33.9"], "does not tell of a sheet of labels"),
        (["--labels", "3x8,0x1f,1x1"], "does not tell of a sheet of labels"),
        (["--labels", "3x8,infx33"], "does not tell of a sheet of labels"),
        (["--labels", "3x8,63.5x3"], "has no room for words"),
        (["--labels", "9x40,20x6"], "does not fit on 20 x 6 mm"),
        (["--labels", "3x8,63.5x33.9", "--skip", "24"], "a sheet has 24 labels, and 24 are said to be used"),
    ]:
        status, _, err = labels("quay_flat", *options)
        assert status == 2 and words in err, f"{options}: {status} {err}"
    status, _, err = call(PROGRAM, "book", house("quay_flat"), "--skip", "3", "--out", os.path.join(WORK, "no.pdf"))
    assert status == 2 and "for sheets of labels" in err, err
    assert not os.path.exists(os.path.join(WORK, "no.pdf"))


# ---- the book ----

BOOKS = ["quay_flat"] if os.environ.get("RT_QUICK") else ["quay_flat", "larch_end"]


@test
def every_cable_and_port_stands_in_the_book():
    need("pdftotext")
    for name in BOOKS:
        text = squeezed(book_words(name))
        schedule = rows(name, "cable_schedule.csv")
        for row in schedule:
            ends = [row[end] + (":" + row[end + "_port"] if row[end + "_port"] else "") for end in ("from", "to")]
            assert row["cable"] + ends[0] in text, f"{name}: no cable {row['cable']} from {ends[0]}"
            at = text.index(row["cable"] + ends[0])
            line = text[at:at + 200]
            assert ends[1] in line, f"{name}: {row['cable']} does not lead to {ends[1]}: {line}"
            assert not row["fixed_m"] or row["fixed_m"] in line, f"{name}: {row['cable']}: no {row['fixed_m']} m in {line}"
        free = [(m[0], int(m[1]), int(m[2])) for m in re.findall(r"([a-z][a-z_0-9]*):(\d+)to\1:(\d+)", text)]
        for row in rows(name, "port_map.csv"):
            label = f"{row['equipment']}:{row['port']}"
            within = row["mode"] == "empty" and any(row["equipment"].endswith(e) and a <= int(row["port"]) <= z for e, a, z in free)
            assert label in text or within, f"{name}: no port {label}"


@test
def lengths_to_cut_are_those_of_the_bill():
    """Of each part that is cut: the book's own sum, and its pieces, are the metres of bill.csv."""
    need("pdftotext")
    for name in BOOKS:
        text = book_words(name)
        bought = [r for r in rows(name, "bill.csv") if r["kind"] == "cable" and r["owned"] == "no" and r["cable_m"]]
        if not bought:
            assert "What to cut from what" not in text
            continue
        begin = text.rindex("What to cut from what")
        chapter = text[begin:text.index("Material and tools", begin)]
        schedule = {r["cable"]: Decimal(r["fixed_m"]) for r in rows(name, "cable_schedule.csv") if r["fixed_m"]}
        cut = {m.group(1): Decimal(m.group(2)) for m in re.finditer(r"(\w+) (\d+\.\d) m\b", chapter) if m.group(1) in schedule}
        for part in {r["part"] for r in bought}:
            of_part = [r for r in bought if r["part"] == part]
            total = sum(Decimal(r["cable_m"]) for r in of_part)
            names = {c.strip() for r in of_part for c in r["for"].split(",")}
            assert names <= set(cut), f"{name}: {names - set(cut)} is not cut"
            pieces = sum(cut[c] for c in names)
            assert abs(pieces - total) <= Decimal("0.05") * (len(names) + 1), f"{name}: {part}: {pieces} m cut, {total} m bought"
            assert all(cut[c] == schedule[c] for c in names)


def money(value):
    whole, _, cents = f"{value:.2f}".partition(".")
    groups = []
    while whole:
        groups.insert(0, whole[-3:])
        whole = whole[:-3]
    return " ".join(groups) + "." + cents


@test
def sums_of_the_bill_stand_in_the_book():
    need("pdftotext")
    for name in BOOKS:
        text = book_words(name)
        chapter = text[text.rindex("What it costs To buy and to build"):]
        bill = rows(name, "bill.csv")
        lines = [r for r in bill if r["kind"] != "total" and r["owned"] == "no"]
        total = sum(Decimal(r["total"]) for r in lines)
        assert total == Decimal(next(r for r in bill if r["kind"] == "total")["total"])
        currency = bill[0]["currency"]
        assert f"To buy and to build: {money(total)} {currency}" in chapter, money(total)
        by_kind = {}
        for row in lines:
            by_kind[row["kind"]] = by_kind.get(row["kind"], 0) + Decimal(row["total"])
        for kind, words in [("part", "equipment"), ("cable", "cable and cords"), ("outlet", "sockets"), ("fixing", "fixing at mounts"),
                            ("work", "laying cable, holes, boards"), ("labour", "paid hours"), ("contingency", "what was not foreseen")]:
            if kind in by_kind:
                assert f"{words} {money(by_kind[kind])}" in chapter, f"{name}: {words} {money(by_kind[kind])}"
        for phase in {r["phase"] for r in lines}:
            spent = sum(Decimal(r["total"]) for r in lines if r["phase"] == phase)
            assert f"together {money(spent)}" in chapter, f"{name}: phase {phase}: {money(spent)}"
        for phase in {r["phase"] for r in lines}:
            laid = [r for r in lines if r["phase"] == phase and r["kind"] == "work" and r["unit"] == "m"]
            if laid:  # one line of the book, each way with its price in the table
                metres, paid = sum(Decimal(r["count"]) for r in laid), sum(Decimal(r["total"]) for r in laid)
                found = [(Decimal(m), p) for m, p in re.findall(r"laying cable, by its way (\d+\.\d\d) m .*? (\d[\d ]*\.\d\d) the ways", chapter)]
                assert any(abs(m - metres) <= Decimal("0.01") * len(laid) and p.endswith(money(paid)) for m, p in found), \
                    f"{name}: {metres} m laid for {paid}: {found}"
        for row in lines:
            if row["kind"] != "work" or row["unit"] != "m":
                assert squeezed(row["what"]) in squeezed(chapter), f"{name}: {row['what']}"


# ---- tables ----

@test
def tables_agree_with_one_another():
    """Pieces to cut are the bill's metres and fit their boxes; watts all at full are those of the ports; a day of 1 Mb/s is 10.8 GB."""
    for name in ["quay_flat", "larch_end", "whin_farm"]:
        pieces = rows(name, "cutting.csv")
        for part in {r["part"] for r in pieces}:
            billed = sum(Decimal(r["cable_m"]) for r in rows(name, "bill.csv")
                         if r["part"] == part and r["kind"] == "cable" and r["owned"] == "no")
            cut = [Decimal(r["cut_m"]) for r in pieces if r["part"] == part]
            assert abs(sum(cut) - billed) <= Decimal("0.05") * (len(cut) + 1), f"{name}: {part}: {sum(cut)} m, {billed} m billed"
            assert cut == sorted(cut, reverse=True), f"{name}: {part}: not the longest first"
            for box in {r["box"] for r in pieces if r["part"] == part and r["box"]}:
                of_box = [r for r in pieces if r["part"] == part and r["box"] == box]
                assert sum(Decimal(r["cut_m"]) for r in of_box) <= Decimal(of_box[0]["box_m"]) + Decimal("0.5")
        ports = rows(name, "port_map.csv")
        for row in rows(name, "power.csv"):
            drawn = [Decimal(p["drawn_w"]) for p in ports if p["equipment"] == row["equipment"] and p["drawn_w"]]
            assert len(drawn) == int(row["things"]), f"{name}: {row['equipment']} feeds {row['things']}, its ports {len(drawn)}"
            assert abs(sum(drawn) - Decimal(row["full_w"])) <= Decimal("0.05") * (len(drawn) + 1), f"{name}: {row}"
        for row in rows(name, "recordings.csv"):
            if row["mbps"]:
                due = float(row["mbps"]) * float(row["share_of_day"]) * 1e6 / 8 * 86400 / 1e9
                assert abs(due - float(row["gb_per_day"])) < 0.02, f"{name}: {row}"


@test
def tables_are_rfc_4180():
    """Section 2: lines end in CRLF, every line has as many fields, quotes are doubled (read strictly by Python's csv)."""
    for name in ["quay_flat", "larch_end", "whin_farm"]:
        for table in ["cutting", "power", "batteries", "recordings", "bill", "cable_schedule", "labels", "port_map"]:
            with open(os.path.join(tables(name), table + ".csv"), newline="", encoding="utf-8") as f:
                text = f.read()
            assert text.endswith("\r\n") and text.count("\n") == text.count("\r\n"), table
            found = list(csv.reader(text.splitlines(keepends=True), strict=True))
            assert len({len(r) for r in found}) == 1, f"{name}: {table}: rows of {sorted({len(r) for r in found})} fields"
            assert all(re.fullmatch(r"[a-z_0-9]+", head) for head in found[0]), found[0]


def main():
    global WORK
    failed = 0
    with tempfile.TemporaryDirectory() as WORK:
        for function in TESTS:
            name = function.__name__
            try:
                function()
                print("ok", name)
            except Skip as why:
                print(f"skip {name}: {why}")
            except AssertionError as why:
                failed += 1
                print(f"not ok {name}: {why}")
            sys.stdout.flush()
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
