#!/usr/bin/env python3
"""The book's chapters about the network, the household's sheet and the cards, read back from the PDF by other programs (poppler, zbar,
qpdf) and held against what `export`, `prove` and `rehearse` say."""
import csv
import ipaddress
import json
import os
import re
import shutil
import subprocess
import tempfile
import unittest
from urllib.parse import unquote_to_bytes

ROOT = os.environ["RT_TEST_ROOT"]
PROGRAM = os.environ["RT_PROGRAM"]
HOUSES = ("larch_end", "whin_farm", "quay_flat")
COARSE = ("--cell", "2", "--order", "0", "--no-diffraction")  # for tables that are not about waves

# Names and passphrases as awkward as they may be: what parts the fields, what escapes, blanks at the ends, letters beyond ASCII.
NAMES = {"quay": "K\u00fcche; \"5:0\", \\o/ 100%", "quay_things": "  Quay\u2019s things", "quay_guests": "H:true;T:nopass;S:x"}
PASSPHRASES = {"quay": "a;b:c,d\"e\\f%41 %;;", "quay_things": "  two  blanks  ", "quay_guests": "~" * 62 + ";"}


def run(*args, status=0):
    p = subprocess.run([PROGRAM, *args], capture_output=True, cwd=ROOT)
    if status is not None and p.returncode != status:
        raise AssertionError("%s: status %d\n%s" % (args, p.returncode, p.stderr.decode()))
    return p


def tool(*args):
    return subprocess.run(args, capture_output=True, check=True).stdout


def text_of(pdf):
    return tool("pdftotext", "-layout", pdf, "-").decode()


def pages_of(pdf):
    return int(re.search(r"Pages:\s+(\d+)", tool("pdfinfo", pdf).decode()).group(1))


def read_uri(uri):
    """Fields of a WIFI-qr: Wi-Fi Alliance, WPA3 Specification 3.0 and later, clause 7.1 (as quoted by others): values end at a semicolon,
    which none contains; percent-encoding by RFC 3986, 2.1; in this order, each at most once."""
    assert uri.startswith("WIFI:") and uri.endswith(";;"), uri
    assert re.fullmatch(r"[ -~]*", uri), "printable ASCII alone"
    fields = {}
    order = "TRSHIPK"
    last = -1
    for part in uri[len("WIFI:"):-2].split(";"):
        key, value = part.split(":", 1)
        assert key in order and order.index(key) > last, "fields in the order of the rule"
        last = order.index(key)
        assert not re.search(r"%(?![0-9A-F]{2})", value), "a percent sign begins two digits"
        fields[key] = unquote_to_bytes(value).decode("utf-8")
    return fields


def read_codes(pdf, dpi=200):
    with tempfile.TemporaryDirectory() as folder:
        tool("pdftoppm", "-r", str(dpi), "-png", pdf, os.path.join(folder, "page"))
        codes = []
        for page in sorted(os.listdir(folder)):
            p = subprocess.run(["zbarimg", "-q", "--xml", "-Sdisable", "-Sqrcode.enable", os.path.join(folder, page)],
                               capture_output=True)
            codes += re.findall(r"<!\[CDATA\[(.*?)\]\]>", p.stdout.decode("utf-8"), re.S)
        return codes


class Scratch(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.mkdtemp()
        self.addCleanup(shutil.rmtree, self.folder)

    def path(self, name):
        return os.path.join(self.folder, name)


class Cards(Scratch):
    def house(self, securities=None):
        """A copy of the flat with awkward names, and a file of secrets beside it."""
        with open(os.path.join(ROOT, "houses/quay_flat.house.yaml"), encoding="utf-8") as f:
            text = f.read()
        text = text.replace("../parts/", os.path.join(ROOT, "parts") + "/")
        old = {"quay": "Quay", "quay_things": "Quay things", "quay_guests": "Quay guests"}
        for ssid, name in NAMES.items():
            before = "%s: {name: %s," % (ssid, old[ssid])
            self.assertIn(before, text)
            text = text.replace(before, "%s: {name: %s," % (ssid, json.dumps(name, ensure_ascii=False)))
        for before, after in (securities or {}).items():
            self.assertIn(before, text)
            text = text.replace(before, after)
        with open(self.path("flat.house.yaml"), "w", encoding="utf-8") as f:
            f.write(text)
        lines = ["rooftree_secrets: 1", "passphrases:"]
        lines += ["  %s: '%s'" % (ssid, secret.replace("'", "''")) for ssid, secret in PASSPHRASES.items()]
        with open(os.open(self.path("flat.secrets.yaml"), os.O_WRONLY | os.O_CREAT, 0o600), "w") as f:
            f.write("\n".join(lines) + "\n")
        return self.path("flat.house.yaml")

    def test_codes_read_back(self):
        house, pdf = self.house(), self.path("cards.pdf")
        p = run("book", house, "--what", "cards", "--with-secrets", "--out", pdf)
        found = {f["S"]: f for f in map(read_uri, read_codes(pdf))}
        self.assertEqual(set(found), set(NAMES.values()))
        for ssid, name in NAMES.items():
            self.assertEqual(found[name]["P"], PASSPHRASES[ssid])
            self.assertEqual(found[name]["T"], "WPA")
            self.assertNotIn("H", found[name])  # names are broadcast
            self.assertNotIn(PASSPHRASES[ssid].encode(), p.stdout + p.stderr)
        # What stands beneath is what is typed; a blank is shown as U+2423.
        words = re.sub(r"\s+", "", text_of(pdf))
        for secret in PASSPHRASES.values():
            self.assertIn(secret.replace(" ", "\u2423"), words)

    def test_code_is_large_and_has_room(self):
        # ISO/IEC 18004: a quiet zone of four modules; a finder pattern is seven modules wide.  25 mm: what this project promises.
        pdf = self.path("cards.pdf")
        run("book", self.house(), "--what", "cards", "--with-secrets", "--out", pdf)
        dpi = 600
        tool("pdftoppm", "-r", str(dpi), "-gray", "-f", "1", "-l", "1", pdf, self.path("page"))
        name = [f for f in os.listdir(self.folder) if f.endswith(".pgm")][0]
        with open(self.path(name), "rb") as f:
            data = f.read()
        w, h = map(int, data.split(b"\n")[1].split())
        pixels = data[-w * h:]
        rows = [pixels[y * w:(y + 1) * w] for y in range(h)]
        top = next(y for y in range(h) if re.search(rb"[\x00-\x08]{60,}", rows[y]))  # black, wider than any letter's stroke
        finder = re.search(rb"[\x00-\x08]{60,}", rows[top + 2])
        module = (finder.end() - finder.start()) / 7.0
        left = finder.start() - 1  # the pixel before may be grey: half a module's edge
        dark = [any(b < 8 for b in row[left:left + round(7 * module)]) for row in rows]
        bottom = top
        # the timing pattern in the seventh column is light for one module at a time
        while any(dark[bottom:bottom + round(3 * module)]):
            bottom += 1
        side_px = bottom - top
        self.assertGreaterEqual(side_px / dpi * 25.4, 25.0)
        n = round(side_px / module)
        self.assertEqual((n - 17) % 4, 0, "a QR code has 17 + 4 v modules along a side")
        quiet = round(4 * module) - 2
        for row in rows[top - quiet:bottom + quiet]:
            self.assertTrue(all(b > 250 for b in row[left - quiet:left]))
        for row in rows[top - 1 - quiet:top - 1]:
            self.assertTrue(all(b > 250 for b in row[left - quiet:left + side_px + quiet]))

    def test_securities(self):
        house = self.house({"security: wpa2_wpa3}\n  quay_things": "security: wpa3}\n  quay_things",
                            "segment: things, bands: [2.4], security: wpa2": "segment: things, bands: [2.4], security: open",
                            "segment: guests, bands: [5], security: wpa2_wpa3": "segment: guests, bands: [5], security: owe"})
        pdf = self.path("cards.pdf")
        run("book", house, "--what", "cards", "--with-secrets", "--out", pdf)
        found = {f["S"]: f for f in map(read_uri, read_codes(pdf))}
        self.assertEqual(found[NAMES["quay"]]["R"], "1")  # WPA3 alone
        for ssid in ("quay_things", "quay_guests"):  # the same clause: no type where nobody is asked who they are
            self.assertEqual(set(found[NAMES[ssid]]), {"S"})
        words = re.sub(r"\s+", " ", tool("pdftotext", pdf, "-").decode())
        self.assertIn("not encrypted", words)
        for ssid in ("quay_things", "quay_guests"):
            self.assertNotIn(PASSPHRASES[ssid].replace(" ", "\u2423")[:20], words)

    def test_mode(self):
        house, pdf = self.house(), self.path("cards.pdf")
        with open(pdf, "w") as f:
            f.write("%PDF-1.5\n% an older one that all may read\n")
        os.chmod(pdf, 0o644)
        run("book", house, "--what", "cards", "--with-secrets", "--out", pdf)
        self.assertEqual(os.stat(pdf).st_mode & 0o777, 0o600)
        os.remove(pdf)
        run("book", house, "--what", "cards", "--with-secrets", "--out", pdf)
        self.assertEqual(os.stat(pdf).st_mode & 0o777, 0o600)

    def test_only_when_asked(self):
        house, pdf = self.house(), self.path("cards.pdf")
        os.remove(self.path("flat.secrets.yaml"))
        p = run("book", house, "--what", "cards", "--out", pdf, status=2)
        self.assertIn(b"--with-secrets", p.stderr)
        p = run("book", house, "--what", "household", "--with-secrets", "--out", pdf, status=2)
        self.assertIn(b"--what cards", p.stderr)
        self.assertEqual(os.listdir(self.folder), ["flat.house.yaml"])  # nothing made, no secret either

    def test_made_secrets(self):
        house, pdf = self.house(), self.path("cards.pdf")
        os.remove(self.path("flat.secrets.yaml"))
        p = run("book", house, "--what", "cards", "--with-secrets", "--out", pdf, "--json")
        made = json.loads(p.stdout)
        self.assertEqual(made["passphrases_made"], 3)
        with open(self.path("flat.secrets.yaml")) as f:
            secrets = re.findall(r"^  \w+: (\S+)$", f.read(), re.M)
        self.assertEqual(sorted(f["P"] for f in map(read_uri, read_codes(pdf))), sorted(secrets))
        for secret in secrets:
            self.assertNotIn(secret, p.stdout.decode() + p.stderr.decode())

    def test_nowhere_else(self):
        house = self.house()
        for what in ("book", "household"):
            pdf = self.path(what + ".pdf")
            run("book", house, "--what", what, "--out", pdf)
            words = text_of(pdf)
            plain = tool("qpdf", "--qdf", "--object-streams=disable", pdf, "-").decode("latin-1")
            for secret in PASSPHRASES.values():
                self.assertNotIn(secret, words)
                self.assertNotIn(secret.replace(" ", "\u2423"), words)
                self.assertNotIn(secret, plain)


class Household(Scratch):
    def test_one_page(self):
        for house in HOUSES:
            for paper in ("a4", "letter"):
                pdf = self.path("%s-%s.pdf" % (house, paper))
                run("book", "houses/%s.house.yaml" % house, "--what", "household", "--paper", paper, "--out", pdf)
                self.assertEqual(pages_of(pdf), 1)

    def test_every_name_is_there(self):
        for house in HOUSES:
            pdf, folder = self.path(house + ".pdf"), self.path(house)
            run("book", "houses/%s.house.yaml" % house, "--what", "household", "--out", pdf)
            run("export", "houses/%s.house.yaml" % house, "--to", "csv", "--out", folder, *COARSE)
            words = re.sub(r"\s+", " ", tool("pdftotext", pdf, "-").decode())
            with open(os.path.join(folder, "ssids.csv"), newline="") as f:
                for row in csv.DictReader(f):
                    self.assertIn("\u201c%s\u201d" % row["name"], words)

    def test_a_large_house_loses_nothing(self):
        with open(os.path.join(ROOT, "houses/quay_flat.house.yaml"), encoding="utf-8") as f:
            text = f.read().replace("../parts/", os.path.join(ROOT, "parts") + "/")
        more = "".join("  lamp_number_%d: {says: reading lamp number %d on the long shelf, kind: light, room: bedroom, "
                       "segment: things, link: wifi}\n" % (i, i) for i in range(100))
        mark = "\ngroups:\n"
        self.assertIn(mark, text)
        with open(self.path("many.house.yaml"), "w", encoding="utf-8") as f:
            f.write(text.replace(mark, "\n" + more + mark, 1))
        pdf = self.path("many.pdf")
        run("book", self.path("many.house.yaml"), "--what", "household", "--out", pdf)
        words = re.sub(r"\s+", " ", tool("pdftotext", pdf, "-").decode())
        self.assertGreater(pages_of(pdf), 1)
        for i in range(100):
            self.assertIn("lamp number %d on" % i, words)


class Chapters(unittest.TestCase):
    house = "houses/quay_flat.house.yaml"

    @classmethod
    def setUpClass(cls):
        cls.made = tempfile.mkdtemp()
        cls.addClassCleanup(shutil.rmtree, cls.made)
        cls.pdf = os.path.join(cls.made, "book.pdf")
        run("book", cls.house, "--out", cls.pdf)
        run("export", cls.house, "--to", "csv", "--out", os.path.join(cls.made, "csv"), *COARSE)
        cls.text = text_of(cls.pdf)

    def table(self, name):
        with open(os.path.join(self.made, "csv", name), newline="") as f:
            return list(csv.DictReader(f))

    def test_addresses_are_those_of_the_export(self):
        lines = self.text.splitlines()
        for row in self.table("segments.csv"):
            line = next(l for l in lines if row["ipv4"] in l)
            for key in ("segment", "vlan", "handed_out_from", "ipv6_local"):
                self.assertIn(row[key], line.split() + [""])
            if row["handed_out_to"]:
                self.assertIn("%s to .%s" % (row["handed_out_from"], row["handed_out_to"].split(".")[3]), line)
            # "the gateway is the first address of each"
            for net, gateway in (("ipv4", "ipv4_gateway"), ("ipv6_local", "ipv6_local_gateway")):
                self.assertEqual(ipaddress.ip_network(row[net])[1], ipaddress.ip_address(row[gateway]))
        rows = self.table("addresses.csv")
        self.assertGreater(len(rows), 10)
        for row in rows:
            self.assertTrue(row["name"].endswith(".home.arpa"))
            line = next(l for l in lines if row["ipv6_local"] in l.split())
            self.assertIn(row["name"][:-len(".home.arpa")], line.split())
            for key in ("ipv4", "ipv6_local"):
                self.assertIn(row[key], line.split())
            self.assertEqual(row["mac"] in line, row["mac_known"] == "yes")

    def test_matrix_is_that_of_the_proof(self):
        matrix = json.loads(run("prove", self.house, "--json", status=None).stdout)["matrix"]
        zones = []
        for cell in matrix:
            for key in ("from", "to"):
                if cell[key] not in zones:
                    zones.append(cell[key])
        zones.sort(key=lambda z: (z != "internet", z != "gateway"))  # then in the order of the file
        words = {"internet": "the internet", "gateway": "the gateway"}
        start = self.text.index("What is proven", self.text.index("Networks, and who reaches whom", 4000))
        part = self.text[start:self.text.index("What was rehearsed", start)]
        # "3 family → things: casting to ..." in two columns
        numbered = {m.group(1): m.groups()[1:] for m in re.finditer(
            r"\b(\d+)\s+((?:the )?[a-z ]+?) \u2192 ((?:the )?[a-z ]+?): (.*?)(?=\s{3,}|$)", part, re.M)}
        seen = 0
        for zone in zones:
            if zone == "gateway":
                continue
            row = next(l for l in part.splitlines() if l.strip().startswith(words.get(zone, zone) + " ")
                       and len(l.split()) == len(words.get(zone, zone).split()) + len(zones))
            marks = row.split()[-len(zones):]
            for to, mark in zip(zones, marks):
                if to == zone:
                    self.assertEqual(mark, "\u00b7")
                    continue
                verdicts = {c["family"]: c["verdict"] for c in matrix if c["from"] == zone and c["to"] == to}
                for family, one in zip(("ipv4", "ipv6"), (mark.split("/") * 2)[:2]):
                    want = {"\u2013": "none", "all": "all"}.get(one, "some")
                    self.assertEqual(verdicts[family], want, (zone, to))
                    if one.isdigit():
                        services = {s for c in matrix if c["from"] == zone and c["to"] == to for s in c["services"]}
                        a, b, what = numbered[one]
                        self.assertEqual((a, b), (words.get(zone, zone), words.get(to, to)))
                        self.assertTrue(any(s in what for s in services), (what, services))
                seen += 1
        self.assertEqual(seen, (len(zones) - 1) ** 2)

    def test_without_rehearsal_it_says_so(self):
        self.assertIn("were proven, not tried", re.sub(r"\s+", " ", self.text))

    def test_statements_are_all_there(self):
        words = re.sub(r"\s+", " ", tool("pdftotext", self.pdf, "-").decode())
        with open(os.path.join(ROOT, self.house), encoding="utf-8") as f:
            ids = re.findall(r"^  - \{id: (\w+), says", f.read(), re.M)
        self.assertEqual(len(ids), 4)
        for one in ids:
            self.assertIn(one, words)


class Rehearsed(Scratch):
    def test_rehearsal(self):
        pdf, house = self.path("book.pdf"), "houses/quay_flat.house.yaml"
        told = run("rehearse", house, "--json", status=None)
        run("book", house, "--rehearse", "--out", pdf)
        words = re.sub(r"\s+", " ", tool("pdftotext", pdf, "-").decode())
        if told.returncode == 2:  # this kernel cannot: the book says why and is made all the same
            self.assertIn("could not be done on the machine", words)
            return
        r = json.loads(told.stdout)
        self.assertIn("%d of %d" % (r["agreed"], r["probes"]), words)

    def test_a_kernel_that_cannot(self):
        # No namespaces can be made where their number is limited to none: a user namespace of our own, closed to further ones.
        pdf, house = self.path("book.pdf"), "houses/quay_flat.house.yaml"
        script = "echo 0 > /proc/sys/user/max_net_namespaces && exec \"$@\""
        p = subprocess.run(["unshare", "--user", "--map-root-user", "sh", "-c", script, "sh", PROGRAM, "book", house,
                            "--rehearse", "--out", pdf], capture_output=True, cwd=ROOT)
        if b"unshare" in p.stderr or b"max_net_namespaces" in p.stderr:
            self.skipTest("this machine makes no user namespace: " + p.stderr.decode())
        self.assertEqual(p.returncode, 0, p.stderr.decode())
        words = re.sub(r"\s+", " ", tool("pdftotext", pdf, "-").decode())
        self.assertIn("could not be done on the machine", words)


if __name__ == "__main__":
    unittest.main()
