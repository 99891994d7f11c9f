#!/usr/bin/env python3
"""The book as paper: read back from the PDF by other programs (qpdf, poppler) and held against what `check` says.

Prints one line a test, 'ok NAME' or 'not ok NAME: why'.  RT_PROGRAM names the program, RT_TEST_ROOT the project's folder,
RT_BOOK_REPORT a program that makes both papers and the check of a house at once (tests/book_report.c; that it makes what the commands
make is a test of the flat's).  Arguments: the demo houses to look at; `designed`: the main one designed anew, on the mounts of its
file.  The flat's run looks at the command too.
"""
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as xml

PROGRAM = os.environ["RT_PROGRAM"]
ROOT = os.environ["RT_TEST_ROOT"]
REPORT = os.environ["RT_BOOK_REPORT"]
FLAT = "houses/quay_flat.house.yaml"
MM = 72 / 25.4
# Width and height.  A4: ISO 216:2007; Letter: ANSI/ASME Y14.1, 8.5 x 11 inches; both from memory.
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
BLANK_EDGE_MM = 5.0  # what common printers cannot reach; common practice, no source
TESTS, OF_EACH_HOUSE = [], []


def test(function):
    TESTS.append(function)
    return function


def of_each_house(function):
    OF_EACH_HOUSE.append(function)
    return function


def run(*words, status=0):
    done = subprocess.run([PROGRAM, *words], cwd=ROOT, capture_output=True, stdin=subprocess.DEVNULL, timeout=1800)
    if status is not None and done.returncode != status:
        raise AssertionError(f"{words}: status {done.returncode}, not {status}: {done.stderr.decode()}")
    return done.stdout.decode(), done.stderr.decode()


def tool(*words):
    return subprocess.run(words, capture_output=True, check=True).stdout.decode()


def equal(got, want, what):
    if got != want:
        raise AssertionError(f"{what}: got {got!r}, want {want!r}")


def read(path):
    with open(path, "rb") as f:
        return f.read()


def plain(text):
    """Words alone, as lines and columns break them anywhere."""
    return re.sub(r"\s+", "", text)


def pages_of(path):
    return int(re.search(r"Pages:\s+(\d+)", tool("pdfinfo", path)).group(1))


class Book:
    def __init__(self, house, folder):
        subprocess.run([REPORT, house, folder], cwd=ROOT, check=True)
        self.path, self.letter = os.path.join(folder, "a4.pdf"), os.path.join(folder, "letter.pdf")
        self.folder, self.house = folder, house
        self.n = pages_of(self.path)
        self.check = json.loads(read(os.path.join(folder, "check.json")))
        self.text = tool("pdftotext", "-layout", self.path, "-")
        self.pages = self.text.split("\f")[:-1]
        self.json = json.loads(tool("qpdf", "--json=2", self.path))
        self.objects = {k[4:]: v.get("value") for k, v in self.json["qpdf"][1].items() if k.startswith("obj:")}

    def catalogue(self):
        root = self.json["qpdf"][1]["trailer"]["value"]["/Root"]
        return self.objects[root]

    def outlines(self):
        """(title, page) of all bookmarks, depth first."""
        def walk(entries):
            for e in entries:
                yield e["title"], e["destpageposfrom1"]
                yield from walk(e["kids"])
        return list(walk(self.json["outlines"]))

    def destinations(self):
        """Name -> object of its page.  Source: ISO 32000-1:2008, 7.9.6 (name trees) and 12.3.2.3."""
        found = {}

        def walk(node):
            for kid in node.get("/Kids", []):
                walk(self.objects[kid])
            names = node.get("/Names", [])
            for name, value in zip(names[::2], names[1::2]):
                assert name not in found, f"two destinations named {name}"
                value = self.objects[value] if isinstance(value, str) else value
                found[name] = (value["/D"] if isinstance(value, dict) else value)[0]
        walk(self.objects[self.objects[self.catalogue()["/Names"]]["/Dests"]])
        return found

    def links(self):
        return [o["/Dest"] for o in self.objects.values() if isinstance(o, dict) and o.get("/Subtype") == "/Link"]


# ---- each house ----

@of_each_house
def is_sound(book):
    tool("qpdf", "--check", book.path)
    equal(len(book.pages), book.n, "pages that are read")
    for i, page in enumerate(book.pages[1:], 2):
        assert f"page {i} of {book.n}" in page, f"no number on page {i}"


@of_each_house
def has_as_many_pages_as_one_carries_on_either_paper(book):
    for path in (book.path, book.letter):
        carried(path)


def carried(path):
    n = pages_of(path)
    assert 10 <= n <= 40, f"{os.path.basename(path)}: {n} pages: nobody carries more up a ladder"


@of_each_house
def has_its_fonts_in_it(book):
    rows = tool("pdffonts", book.path).splitlines()[2:]
    assert rows, "no font at all"
    for row in rows:
        embedded = row.split()[-5]
        equal(embedded, "yes", row)


@of_each_house
def says_every_promise_and_how_it_stands(book):
    answer = book.check
    whole, cover = plain(book.text), plain(book.pages[0])
    for promise in answer["promises"]:
        assert plain(promise["says"]) in whole, promise["says"]
    for state in ("kept", "broken", "unknown"):
        n = sum(p["state"] == state for p in answer["promises"])
        assert f"{n}{state}" in cover, f"{n} {state} is not on the cover"
    assert plain(answer["house"]) in cover, "whose house"


@of_each_house
def contents_bookmarks_and_pages_agree(book):
    outlines = book.outlines()
    assert len(outlines) > 20, outlines
    front = next(i for i, page in enumerate(book.pages) if i > 1 and "contents" not in page.split("\n")[0])
    lines = []
    for page in range(2, front + 1):
        for column in (0, 1):  # the contents stand in two columns
            half = int(PAPERS["a4"][0] * MM / 2)
            lines += tool("pdftotext", "-layout", "-f", str(page), "-l", str(page), "-x", str(column * half), "-y", "0", "-W", str(half),
                          "-H", "2000", book.path, "-").splitlines()
    lines = [line.strip() for line in lines]
    listed = [(m.group(1).strip(), int(m.group(2))) for m in (re.fullmatch(r"(\S.*?)\s{2,}(\d+)", li) for li in lines) if m]
    equal(len(listed), len(outlines), "entries of the contents and bookmarks")
    for (line, number), (title, page) in zip(listed, outlines):
        begun, rest = plain(line), plain(title)[len(plain(line)):]  # a long title goes on in the next line
        equal((begun, number), (plain(title)[:len(begun)], page), "contents against bookmarks")
        assert not rest or rest in map(plain, lines), f"the rest of {title}"
        assert plain(title) in plain(book.pages[page - 1]) or "drawn" in title or ":" in title, f"{title} is not on page {page}"


@of_each_house
def links_lead_somewhere(book):
    names = book.destinations()
    pages = {page["object"] for page in book.json["pages"]}
    assert len(book.links()) > 20, "hardly a link"
    for link in book.links():
        assert link in names, f"{link} leads nowhere"
    for name, page in names.items():
        assert page in pages, f"{name} is on no page"


@of_each_house
def all_words_are_well_within_their_page(book):
    text = re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", tool("pdftotext", "-bbox", book.path, "-"))
    root = xml.fromstring(text[text.index("<html"):])
    n = 0
    for number, page in enumerate(root.iter("{http://www.w3.org/1999/xhtml}page"), 1):
        w, h = float(page.get("width")), float(page.get("height"))
        for word in page:
            x0, y0, x1, y1 = (float(word.get(k)) for k in ("xMin", "yMin", "xMax", "yMax"))
            edge = BLANK_EDGE_MM * MM
            assert x0 >= edge and y0 >= edge and x1 <= w - edge and y1 <= h - edge, \
                f"{word.text!r} on page {number} at {x0 / MM:.0f}, {y0 / MM:.0f} mm"
            n += 1
    assert n > 2000, "hardly a word"


@of_each_house
def nothing_is_painted_over_the_edge(book):
    """Rendered, the outermost 5 mm of every page are as blank as the paper."""
    with tempfile.TemporaryDirectory() as folder:
        tool("pdftoppm", "-r", "40", "-gray", book.path, os.path.join(folder, "p"))
        for name in sorted(os.listdir(folder)):
            data = read(os.path.join(folder, name))
            magic, w, h, most = re.match(rb"(P5)\s+(\d+)\s+(\d+)\s+(\d+)\s", data).groups()
            pixels = data[len(data) - int(w) * int(h):]
            w, h, edge = int(w), int(h), int(BLANK_EDGE_MM / 25.4 * 40)
            rows = [pixels[y * w:(y + 1) * w] for y in range(h)]
            strips = rows[:edge] + rows[h - edge:] + [r[:edge] for r in rows] + [r[w - edge:] for r in rows]
            assert all(min(s) > 250 for s in strips), f"{name}: something lies at the edge of the paper"


@of_each_house
def tells_its_language_and_what_is_what(book):
    """ISO 32000-1:2008, 14.9.2 and 14.8.4, from memory."""
    equal(book.catalogue().get("/Lang"), "u:en", "language")
    kinds = {o.get("/S") for o in book.objects.values() if isinstance(o, dict) and "/S" in o}
    for kind in ("/H1", "/H2", "/P", "/Table", "/TR", "/TH", "/TD", "/TOC"):
        assert kind in kinds, f"nothing is tagged {kind}"


@of_each_house
def has_the_paper_of_its_country(book):
    want = PAPERS["a4"]  # none of the demo houses stands where Letter is the custom
    for page in re.findall(r"Page\s+\d+ size:\s+([\d.]+) x ([\d.]+)", tool("pdfinfo", "-f", "1", "-l", "9999", book.path)):
        size = sorted(float(x) / MM for x in page)
        assert all(abs(s - w) < 0.1 for s, w in zip(size, want)), page


def has_as_many_pages_as_one_carries(book):
    carried(book.path)


OF_A_DESIGN = [is_sound, has_as_many_pages_as_one_carries]


# ---- the command ----

def made(folder, name, *options):
    path = os.path.join(folder, name)
    run("book", FLAT, "--out", path, *options)
    return read(path)


def what_is_made_at_once_is_what_the_commands_make(book):
    with tempfile.TemporaryDirectory() as folder:
        for paper, path in (("a4", book.path), ("letter", book.letter)):
            out = os.path.join(folder, paper + ".pdf")
            said = json.loads(run("book", book.house, "--out", out, "--paper", paper, "--json")[0])
            equal(read(out) == read(path), True, f"the book on {paper}")
            equal(said["pages"], pages_of(path), "pages told")
        equal(json.loads(run("check", book.house, "--failures", "--json", status=None)[0]) == book.check, True, "the check")
        tables = os.path.join(folder, "csv")
        run("export", book.house, "--to", "csv", "--out", tables)
        names = os.listdir(tables)
        equal(sorted(names), sorted(os.listdir(os.path.join(book.folder, "csv"))), "tables")
        for name in names:
            equal(read(os.path.join(tables, name)) == read(os.path.join(book.folder, "csv", name)), True, name)


@test
def same_bytes_twice_and_for_any_threads():
    with tempfile.TemporaryDirectory() as folder:
        first = made(folder, "a.pdf", "--threads", "1")
        equal(made(folder, "b.pdf", "--threads", "1") == first, True, "twice")
        equal(made(folder, "c.pdf", "--threads", "2") == first, True, "two threads")
        assert b"CreationDate" not in first and b"ModDate" not in first, "a date nobody gave"


@test
def letter_date_and_name():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "b.pdf")
        run("book", FLAT, "--out", path, "--paper", "letter", "--date", "2026-11-25", "--by", "Ada Example")
        info = tool("pdfinfo", "-isodates", path)
        w, h = (float(x) / MM for x in re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info).groups())
        assert abs(w - PAPERS["letter"][0]) < 0.1 and abs(h - PAPERS["letter"][1]) < 0.1, (w, h)
        assert re.search(r"CreationDate:\s+2026-11-25", info), info
        assert re.search(r"Author:\s+Ada Example", info) and re.search(r"Title:\s+Quay Flat", info), info
        cover = tool("pdftotext", "-l", "1", path, "-")
        assert "Ada Example" in cover and "2026-11-25" in cover, cover


@test
def mistakes_are_told_and_write_nothing():
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "b.pdf")
        house = os.path.join(folder, "h.house.yaml")
        with open(house, "wb") as f:
            f.write(read(os.path.join(ROOT, FLAT)))
        for words, told in (
                ([FLAT], "--out"),
                ([FLAT, "--out", out, "--date", "2026-02-30"], "YYYY-MM-DD"),  # no such day
                ([FLAT, "--out", out, "--date", "2100-02-29"], "YYYY-MM-DD"),  # no leap year: Gregorian calendar
                ([FLAT, "--out", out, "--date", "25.11.2026"], "YYYY-MM-DD"),
                ([FLAT, "--out", out, "--paper", "a5"], "a4|letter"),
                ([FLAT, "--out", out, "--by", "a\nb"], "--by"),
                ([house, "--out", house], "take the place"),
                ([FLAT, "--out", house], "no PDF"),
                ([FLAT, "--out", os.path.join(folder, "nowhere", "b.pdf")], "folder"),
                (["houses/nowhere.house.yaml", "--out", out], "nowhere.house.yaml")):
            _, err = run("book", *words, status=2)
            assert told in err, (words, err)
        equal(sorted(os.listdir(folder)), ["h.house.yaml"], "files left behind")
        equal(read(house), read(os.path.join(ROOT, FLAT)), "the house")


@test
def stopped_it_leaves_no_file():
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "b.pdf")
        p = subprocess.Popen([PROGRAM, "book", "houses/larch_end.house.yaml", "--out", out], cwd=ROOT, stdout=subprocess.DEVNULL,
                             stderr=subprocess.PIPE)
        time.sleep(0.3)
        p.send_signal(signal.SIGINT)
        err = p.communicate()[1].decode()
        if p.returncode == 0:  # it was faster
            tool("qpdf", "--check", out)
            return
        assert p.returncode in (2, -signal.SIGINT), (p.returncode, err)
        equal(os.listdir(folder), [], "files left behind")


def report(name, function, *args):
    try:
        function(*args)
        print(f"ok {name}")
        return 0
    except Exception as e:  # the next test still runs
        print(f"not ok {name}: {type(e).__name__}: {e}")
        return 1


def look_at(house, folder):
    if house == "designed":
        path = os.path.join(folder, "designed.house.yaml")
        words = ["--anew", "--own-mounts", "--seconds", "900"]  # the search ends by itself, under the sanitizers too
        code = subprocess.run([PROGRAM, "design", "houses/larch_end.house.yaml", *words, "--out", path], cwd=ROOT).returncode
        assert code in (0, 1), f"no house was designed: status {code}"
        book = Book(path, os.path.join(folder, "papers"))
        return sum(report(f"{house}_{f.__name__}", f, book) for f in OF_A_DESIGN)
    book = Book(f"houses/{house}.house.yaml", os.path.join(folder, "papers"))
    failed = sum(report(f"{house}_{f.__name__}", f, book) for f in OF_EACH_HOUSE)
    if house == "quay_flat":
        failed += report(what_is_made_at_once_is_what_the_commands_make.__name__, what_is_made_at_once_is_what_the_commands_make, book)
        failed += sum(report(f.__name__, f) for f in TESTS)
    return failed


def main():
    failed = 0
    for house in sys.argv[1:]:
        with tempfile.TemporaryDirectory() as folder:
            failed += look_at(house, folder)
    sys.exit(1 if failed or not sys.argv[1:] else 0)


if __name__ == "__main__":
    main()
