#!/usr/bin/env python3
"""Sheets of the book measured as they are printed: the PDF is rendered by poppler, and lengths are counted in pixels and held
against the metres of a house file written here."""
import os
import re
import shutil
import struct
import subprocess
import tempfile
import unittest
import xml.etree.ElementTree as ElementTree

ROOT = os.environ["RT_TEST_ROOT"]
PROGRAM = os.environ["RT_PROGRAM"]
DPI = 300
MM_PER_PX = 25.4 / DPI  # an inch is 25.4 mm
PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}  # ISO 216; ANSI/ASME Y14.1 (A: 8.5 x 11 inches)

ISO_216 = ((297, 210), (420, 297))  # A4, A3

# A room of one wall all round, without an opening: its outer faces are 7.5 and 5 m long, and 0.2 m (the wall's thickness) more.
HOUSE_W_M, HOUSE_H_M, WALL_M = 7.5, 5.0, 0.2
HOUSE = """
rooftree: 1
name: Test
country: {country}
time_zone: Europe/Dublin
currency: GBP
parts_file: {parts}
constructs: {{slab: {{layers: [{{material: concrete, thickness_m: 0.2}}]}}}}
floors: {{g: {{says: only floor, level_m: 0, height_m: 2.5, outline: [[0, 0], [7.5, 0], [7.5, 5], [0, 5]], ceiling: slab}}}}
walls: {{round: {{floor: g, construct: slab, line: [[0, 0], [7.5, 0], [7.5, 5], [0, 5], [0, 0]]}}}}
rooms: {{den: {{floor: g, outline: [[0, 0], [7.5, 0], [7.5, 5], [0, 5]], use: living}}}}
segments: {{home: {{vlan: 10}}}}
line: {{kind: fibre, down_mbps: 100, up_mbps: 20, floor: g, at_m: [1, 1, 0.3]}}
equipment:
  box: {{part: gateway_2g5, floor: g, room: den, at_m: [1, 1, 0.5]}}
  ap: {{part: ceiling_two_band, floor: g, room: den, at_m: [4, 2, 2.4]}}
promises: {{heard: {{kind: signal, says: The den hears, rooms: [den], bands: [5], level_dbm: -80}}}}
"""


def tool(*args):
    return subprocess.run(args, capture_output=True, check=True).stdout


class Picture:
    """One page as grey pixels (the PGM of poppler, format by netpbm's pgm(5))."""

    def __init__(self, pdf, page):
        data = tool("pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), pdf)
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
        self.w, self.h = int(head.group(1)), int(head.group(2))
        self.data = data[head.end():]

    def row(self, y):
        return self.data[y * self.w:(y + 1) * self.w]

    def column(self, x):
        return self.data[x::self.w]


def runs(line, dark=128):
    """Stretches of dark and light, as (is_dark, first, length)."""
    out = []
    for m in re.finditer(rb"[\x00-\x7f]+|[\x80-\xff]+", line):
        out.append((line[m.start()] < dark, m.start(), m.end() - m.start()))
    return out


def scale_bars(picture):
    """Bars of four equal parts, the first and third filled: their lengths in pixels, by the row with the most of them."""
    found = []
    for y in range(picture.h // 2, picture.h):
        r = runs(picture.row(y))
        for i in range(len(r) - 5):
            if not r[i][0]:
                continue
            a, b, c, d = (r[i + k][2] for k in range(4))
            if a > 40 and all(abs(x - a) <= 7 for x in (b, c, d)) and r[i + 4][2] < 8:
                found.append(a + b + c + d)
    return found


def sheets_of(pdf):
    """Pages that lie: number, size in mm, words."""
    out = []
    for line in tool("pdfinfo", "-f", "1", "-l", "999", pdf).decode().splitlines():
        m = re.match(r"Page\s+(\d+) size:\s+([\d.]+) x ([\d.]+) pts", line)
        if m and float(m.group(2)) > float(m.group(3)):
            n = int(m.group(1))
            text = tool("pdftotext", "-layout", "-f", str(n), "-l", str(n), pdf, "-").decode()
            out.append((n, float(m.group(2)) / 72 * 25.4, float(m.group(3)) / 72 * 25.4, text))
    return out


@unittest.skipUnless(shutil.which("pdftoppm"), "poppler is not installed")
class Printed(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.books = {}
        for paper, country in (("a4", "IE"), ("letter", "US")):
            house = os.path.join(cls.folder.name, paper + ".house.yaml")
            with open(house, "w") as f:
                f.write(HOUSE.format(country=country, parts=os.path.join(ROOT, "parts/demo.parts.yaml")))
            cls.books[paper] = os.path.join(cls.folder.name, paper + ".pdf")
            p = subprocess.run([PROGRAM, "book", house, "--out", cls.books[paper]], capture_output=True)
            if p.returncode:
                raise AssertionError(p.stderr.decode())

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def plan_of(self, paper):
        """The sheet of the signal, and its scale as printed in its title block."""
        for number, w, h, text in sheets_of(self.books[paper]):
            m = re.search(r"1:(\d+) on (A4|Letter)", text)
            if m and re.search("(?i)signal at 5 GHz", text):
                return number, int(m.group(1)), text
        self.fail("no sheet of the signal in the book")

    def test_paper_is_that_of_the_country(self):
        for paper, book in self.books.items():
            sheets = sheets_of(book)
            self.assertTrue(sheets)
            for number, w, h, text in sheets:
                self.assertAlmostEqual(w, PAPERS[paper][0], delta=0.2)
                self.assertAlmostEqual(h, PAPERS[paper][1], delta=0.2)
                self.assertIn("page %d of" % number, text)

    def test_scale_bar_is_true(self):
        for paper in self.books:
            number, scale, text = self.plan_of(paper)
            bars = scale_bars(Picture(self.books[paper], number))
            self.assertTrue(bars, "no scale bar found")
            measured_m = sorted(bars)[len(bars) // 2] * MM_PER_PX * scale / 1000
            # the figure at its right end
            told_m = [float(x) for x in re.findall(r"(?<![\d.])(\d+(?:\.\d+)?)\s{0,3}m\b", text)]
            self.assertTrue(any(abs(measured_m - m) <= 0.005 * m for m in told_m), (measured_m, told_m))

    def test_walls_are_as_long_as_in_the_file(self):
        for paper in self.books:
            number, scale, _ = self.plan_of(paper)
            picture = Picture(self.books[paper], number)
            edge = int(12 / MM_PER_PX)  # within the frame, whose lines are longer than any wall
            top, foot = int(34 / MM_PER_PX), picture.h - int(44 / MM_PER_PX)
            wide = max(n for y in range(top, foot) for dark, _, n in runs(picture.row(y)[edge:-edge]) if dark)
            high = max(n for x in range(edge, picture.w - edge) for dark, _, n in runs(picture.column(x)[top:foot]) if dark)
            for pixels, metres in ((wide, HOUSE_W_M + WALL_M), (high, HOUSE_H_M + WALL_M)):
                self.assertLess(abs(pixels * MM_PER_PX * scale / 1000 - metres), 0.005 * metres, (paper, scale, pixels))

    def test_a_picture_prints_at_its_true_size(self):
        """Pixels a metre by the chunk pHYs.  Source: ISO/IEC 15948:2004 (PNG), 5.3 and 11.3.5.3, from memory."""
        out = os.path.join(self.folder.name, "drawings")
        house = os.path.join(self.folder.name, "a4.house.yaml")
        subprocess.run([PROGRAM, "draw", house, "--what", "signal", "--format", "png", "--out", out], capture_output=True, check=True)
        names = os.listdir(out)
        self.assertTrue(names)
        for name in names:
            with open(os.path.join(out, name), "rb") as f:
                png = f.read()
            w, h = struct.unpack(">II", png[16:24])
            at = png.index(b"pHYs")
            self.assertLess(at, png.index(b"IDAT"))
            x_per_m, y_per_m, unit = struct.unpack(">IIB", png[at + 4:at + 13])
            self.assertEqual(unit, 1)  # the metre
            self.assertIn(tuple(round(px / per_m * 1000) for px, per_m in ((w, x_per_m), (h, y_per_m))), ISO_216, name)

    def test_nothing_lies_at_the_edge(self):
        """Printers at home leave some 5 mm blank (common practice, no source)."""
        for paper, book in self.books.items():
            for number, *_ in sheets_of(book):
                picture = Picture(book, number)
                edge = int(5 / MM_PER_PX)
                blank = bytes([255]) * edge
                for y in range(picture.h):
                    row = picture.row(y)
                    within = edge <= y < picture.h - edge
                    self.assertTrue(row[:edge] == blank and row[-edge:] == blank if within else not row.strip(b"\xff"),
                                    "page %d, row %d" % (number, y))

    def test_words_stay_words_and_on_the_page(self):
        for paper, book in self.books.items():
            number, _, text = self.plan_of(paper)
            self.assertIn("den", text)
            page = tool("pdftotext", "-bbox", "-f", str(number), "-l", str(number), book, "-")
            ns = {"x": "http://www.w3.org/1999/xhtml"}
            root = ElementTree.fromstring(page).find(".//x:page", ns)
            words = root.findall("x:word", ns)
            self.assertGreater(len(words), 30)
            for w in words:
                self.assertTrue(0 <= float(w.get("xMin")) and float(w.get("xMax")) <= float(root.get("width")) and
                                0 <= float(w.get("yMin")) and float(w.get("yMax")) <= float(root.get("height")), w.text)


if __name__ == "__main__":
    unittest.main()
