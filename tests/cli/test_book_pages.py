#!/usr/bin/env python3
"""Pages of the book and of the other papers as pictures: SVG read by expat and drawn by librsvg, PNG taken apart by its format, QR codes
read by zbar, all held against the PDF as poppler draws it."""
import json
import os
import re
import shutil
import stat
import struct
import subprocess
import tempfile
import unittest
import xml.parsers.expat
import zlib

ROOT = os.environ["RT_TEST_ROOT"]
PROGRAM = os.environ["RT_PROGRAM"]
FLAT = "houses/quay_flat.house.yaml"
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1 (A: 8.5 x 11 inches)
MM_PER_INCH = 25.4
DPI = 50
# Grey levels of 255 by which the mean of a block of 8 x 8 pixels may differ, as two programs smooth and place the same edges; a page's mean
# over its blocks.  Measured: 1 to 6.4 (thin lines over a field), and 12 or more against another page.
BLOCK, ALIKE, APART = 8, 7.0, 10.0


def run(*args, status=0):
    p = subprocess.run([PROGRAM, *args], capture_output=True, cwd=ROOT)
    if p.returncode != status:
        raise AssertionError("%s: status %d\n%s" % (args, p.returncode, p.stderr.decode()))
    return p


def tool(*args):
    return subprocess.run(args, capture_output=True, check=True).stdout


def read(path):
    with open(path, "rb") as f:
        return f.read()


def chunks(png):
    """Type and data of each chunk, its CRC checked by zlib.  Source: ISO/IEC 15948:2004 (PNG), clause 5, from memory."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n", "no PNG"
    at = 8
    while at < len(png):
        n, kind = struct.unpack(">I4s", png[at:at + 8])
        data = png[at + 8:at + 8 + n]
        assert struct.unpack(">I", png[at + 8 + n:at + 12 + n])[0] == zlib.crc32(kind + data), kind
        yield kind, data
        at += 12 + n


def grey_of_png(png):
    """Width, height and grey bytes; filters of clause 9."""
    found = list(chunks(png))
    w, h, depth, colour = struct.unpack(">IIBB", found[0][1][:10])
    assert depth == 8 and colour in (2, 6), (depth, colour)
    size = 3 if colour == 2 else 4
    data, grey, above = zlib.decompress(b"".join(d for k, d in found if k == b"IDAT")), bytearray(), bytearray(w * size)
    for y in range(h):
        kind, row = data[y * (w * size + 1)], bytearray(data[y * (w * size + 1) + 1:(y + 1) * (w * size + 1)])
        if kind == 1:
            for i in range(size, len(row)):
                row[i] = (row[i] + row[i - size]) & 255
        elif kind == 2:
            row = bytearray((a + b) & 255 for a, b in zip(row, above))
        elif kind == 3:
            for i in range(len(row)):
                row[i] = (row[i] + ((row[i - size] if i >= size else 0) + above[i]) // 2) & 255
        elif kind == 4:
            for i in range(len(row)):
                a, b, c = (row[i - size] if i >= size else 0), above[i], (above[i - size] if i >= size else 0)
                pa, pb, pc = abs(b - c), abs(a - c), abs(a + b - 2 * c)
                row[i] = (row[i] + (a if pa <= pb and pa <= pc else b if pb <= pc else c)) & 255
        grey += bytes((r * 299 + g * 587 + b * 114) // 1000 for r, g, b in zip(row[0::size], row[1::size], row[2::size]))
        above = row
    return w, h, grey


def grey_of_pdf(pdf, page):
    data = tool("pdftoppm", "-thinlinemode", "shape", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), pdf)
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    return int(head.group(1)), int(head.group(2)), data[head.end():]


def difference(a, b):
    """Mean over blocks of how far their mean greys are apart."""
    (wa, ha, pa), (wb, hb, pb) = a, b
    w, h = min(wa, wb), min(ha, hb)
    assert abs(wa - wb) <= 1 and abs(ha - hb) <= 1, ((wa, ha), (wb, hb))
    apart = []
    for y in range(0, h - BLOCK, BLOCK):
        for x in range(0, w - BLOCK, BLOCK):
            sums = [sum(sum(p[(y + k) * full + x:(y + k) * full + x + BLOCK]) for k in range(BLOCK)) for full, p in ((wa, pa), (wb, pb))]
            apart.append(abs(sums[0] - sums[1]) / BLOCK ** 2)
    inked = [d for d in apart if d > 0]
    return sum(inked) / max(1, len(inked))


class Pages(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp()
        self.addCleanup(shutil.rmtree, self.folder)

    def path(self, name):
        return os.path.join(self.folder, name)

    def made(self, name, *options, house=FLAT):
        out = self.path(name)
        said = json.loads(run("book", house, "--out", out, "--json", *options).stdout)
        if said["file"] is None:
            self.assertEqual(said["folder"], out)
            self.assertEqual(sorted(f for f in os.listdir(out) if not f.startswith(".")), said["files"])
            self.assertEqual(len(said["files"]), said["pages"])
        return said

    def look_at_svg(self, path, w_mm, h_mm):
        found = {}

        def start(name, attributes):
            if not found:
                found.update(attributes, tag=name)
            assert name not in ("text", "font"), "letters are outlines"

        def text(data):
            found["title"] = found.get("title", "") + data
        parser = xml.parsers.expat.ParserCreate(namespace_separator=" ")
        parser.StartElementHandler, parser.CharacterDataHandler = start, text
        parser.Parse(read(path), True)
        self.assertEqual(found["tag"], "http://www.w3.org/2000/svg svg")
        for key, want in (("width", w_mm), ("height", h_mm)):  # SVG 1.1, 7.10: units
            self.assertTrue(found[key].endswith("mm"), found[key])
            self.assertAlmostEqual(float(found[key][:-2]), want, places=1)
        self.assertIn("page", found["title"])

    def test_the_book_in_svg_is_the_pdf(self):
        for paper, (w, h) in PAPERS.items():
            pdf = self.made(paper + ".pdf", "--paper", paper)
            svg = self.made(paper, "--format", "svg", "--paper", paper)
            self.assertEqual(svg["pages"], pdf["pages"])
            sheets = tool("pdfinfo", "-f", "1", "-l", "999", pdf["file"]).decode()
            lying = [float(a) > float(b) for a, b in re.findall(r"Page\s+\d+ size:\s+([\d.]+) x ([\d.]+)", sheets)]
            for i, name in enumerate(svg["files"]):
                self.assertEqual(name, "book-%02d.svg" % (i + 1))
                self.look_at_svg(os.path.join(svg["folder"], name), *((h, w) if lying[i] else (w, h)))
            for page in (1, svg["pages"] // 2):
                drawn = self.path("page.png")
                tool("rsvg-convert", "-d", str(DPI), "-p", str(DPI), "-o", drawn, os.path.join(svg["folder"], svg["files"][page - 1]))
                self.assertLess(difference(grey_of_png(read(drawn)), grey_of_pdf(pdf["file"], page)), ALIKE, page)

    def test_the_book_in_png_is_the_pdf(self):
        pdf = self.made("book.pdf")
        png = self.made("pages", "--format", "png", "--dpi", str(DPI))
        self.assertEqual(png["pages"], pdf["pages"])
        drawn = [read(os.path.join(png["folder"], name)) for name in png["files"]]
        for data in drawn:  # pixels a metre: ISO/IEC 15948, 11.3.5.3
            found = dict(list(chunks(data))[:2])
            self.assertEqual(struct.unpack(">IIB", found[b"pHYs"]), (round(DPI / 0.0254), round(DPI / 0.0254), 1))
        greys = [grey_of_png(data) for data in drawn]
        for page, grey in enumerate(greys, 1):
            w, h = sorted(grey[:2])
            self.assertEqual((w, h), tuple(round(mm * DPI / MM_PER_INCH) for mm in PAPERS["a4"]))
            self.assertLess(difference(grey, grey_of_pdf(pdf["file"], page)), ALIKE, page)
        self.assertGreater(difference(greys[2], grey_of_pdf(pdf["file"], 4)), APART, "another page is told apart")

    def test_every_paper_in_every_format(self):
        for what, more in (("labels", ()), ("household", ()), ("labels", ("--labels", "2x7,90x38", "--skip", "3"))):
            name = "%s%d" % (what, len(more))
            pdf = self.made(name + ".pdf", "--what", what, *more)
            for form in ("svg", "png"):
                made = self.made(name + form, "--what", what, "--format", form, *more)
                self.assertEqual(made["pages"], pdf["pages"])
                for file in made["files"]:
                    self.assertRegex(file, r"^%s-\d+\.%s$" % (what, form))
                    path = os.path.join(made["folder"], file)
                    if form == "svg":
                        self.look_at_svg(path, *PAPERS["a4"])
                    else:  # 150 pixels an inch where nothing is said
                        size = struct.unpack(">II", dict(chunks(read(path)))[b"IHDR"][:8])
                        self.assertEqual(size, tuple(round(mm * 150 / MM_PER_INCH) for mm in PAPERS["a4"]))

    def test_codes_on_cards_are_read_and_kept_close(self):
        house = self.path("flat.house.yaml")
        shutil.copy(os.path.join(ROOT, FLAT), house)
        os.mkdir(self.path("parts"))
        text = read(house).decode()
        parts = re.search(r"^parts_file: *(\S+)", text, re.M).group(1)
        with open(house, "w") as f:
            f.write(text.replace(parts, os.path.join(ROOT, "houses", parts)))
        read_back = {}
        for form in ("pdf", "png", "svg"):
            out = self.path("cards." + form)
            said = json.loads(run("book", house, "--what", "cards", "--with-secrets", "--format", form, "--out", out, "--json").stdout)
            pictures = [os.path.join(out, name) for name in said["files"]] or [out]
            for path in pictures:
                self.assertEqual(stat.S_IMODE(os.stat(path).st_mode), 0o600, path)
            if form != "png":
                drawn = []
                for i, path in enumerate(pictures):
                    drawn.append(self.path("%s%d.png" % (form, i)))
                    if form == "svg":
                        tool("rsvg-convert", "-d", "150", "-p", "150", "-o", drawn[-1], path)
                    else:
                        tool("pdftoppm", "-r", "150", "-png", "-singlefile", path, drawn[-1][:-4])
                pictures = drawn
            found = tool("zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable", *pictures).decode().split("\n")
            read_back[form] = sorted(line for line in found if line)
        self.assertEqual(len(read_back["pdf"]), 3, "the flat has three Wi-Fi names")
        self.assertEqual(read_back["png"], read_back["pdf"])
        self.assertEqual(read_back["svg"], read_back["pdf"])

    def test_same_bytes_and_an_earlier_book_is_replaced_whole(self):
        for form in ("svg", "png"):
            first = self.made("a", "--format", form, "--threads", "1")
            bytes_of = {name: read(os.path.join(first["folder"], name)) for name in first["files"]}
            self.made("a", "--what", "household", "--format", form)  # fewer pages, none of the earlier ones left
            again = self.made("a", "--format", form, "--threads", "2")
            self.assertEqual({name: read(os.path.join(again["folder"], name)) for name in again["files"]}, bytes_of)
            shutil.rmtree(self.path("a"))
        self.assertEqual(os.listdir(self.folder), [])

    def test_mistakes_are_told_at_once_and_leave_nothing(self):
        other = self.path("other")
        os.mkdir(other)
        with open(os.path.join(other, "mine.txt"), "w") as f:
            f.write("mine")
        wrong = "houses/nowhere.house.yaml"  # not even looked for: the place is judged before the house is read
        for words, told in (
                ((FLAT, "--format", "svg"), "--out FOLDER"),
                ((FLAT, "--format", "gif", "--out", self.path("x")), "pdf|svg|png"),
                ((FLAT, "--dpi", "100", "--out", self.path("x.pdf")), "--format png"),
                ((FLAT, "--format", "png", "--dpi", "5000", "--out", self.path("x")), "600"),
                ((wrong, "--format", "png", "--out", other), "mine.txt"),
                ((wrong, "--format", "png", "--out", os.path.join(other, "mine.txt")), "not a folder"),
                ((wrong, "--format", "png", "--out", os.path.join(other, "mine.txt", "x")), "mine.txt: this is not a folder"),
                ((wrong, "--format", "png", "--out", "/proc/x"), "/proc"),  # a folder in which nobody may write
                ((wrong, "--out", "/proc/x.pdf"), "/proc"),
                ((wrong, "--out", self.path("nowhere/x.pdf")), "make the folder first"),
                ((wrong, "--out", other), "this is a folder")):
            err = run("book", *words, status=2).stderr.decode()
            self.assertIn(told, err)
            self.assertNotIn("nowhere.house.yaml", err)
        self.assertEqual(os.listdir(self.folder), ["other"])
        self.assertEqual(os.listdir(other), ["mine.txt"])
        run("book", FLAT, "--what", "household", "--format", "svg", "--out", self.path("new/deep/pages"))  # folders on the way are made
        self.assertTrue(os.path.exists(self.path("new/deep/pages/household-1.svg")))


if __name__ == "__main__":
    unittest.main(verbosity=2)
