#!/usr/bin/env python3
"""The page that `rooftree export --to sheet` writes: settings.html.

It is read by Python's own HTML parser and held against rules of the HTML Living Standard, and against the table of settings beside it;
colours are reckoned by the formulas of WCAG 2.2.
"""
import html
import re
from html.parser import HTMLParser

from export_kit import HOUSES, equal, made, main, read, refuses, settings, test

VOID = {"meta", "br", "link", "img", "input", "hr"}


def page(house):
    return read(made(house, "sheet"), "settings.html")


class Page(HTMLParser):
    """Tags balanced, in what may hold them, and what the page refers to."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.anchors, self.headings, self.tables = [], [], [], [], []
        self.faults, self.texts, self.seen = [], [], []

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        self.seen.append(tag)
        if tag in ("script", "iframe", "object", "embed", "link", "img", "form", "base"):
            self.faults.append(f"<{tag}>")
        for name, value in attrs:
            if name.startswith("on") or name in ("src", "srcset", "action", "style"):
                self.faults.append(f"{tag} {name}")
            if name == "href" and not value.startswith("#"):
                self.faults.append(f"leads outside: {value}")
        if len(a) != len(attrs):
            self.faults.append(f"<{tag}> has an attribute twice")
        if "id" in a:
            self.ids.append(a["id"])
        if tag == "a":
            self.anchors.append(a.get("href", "")[1:])
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "table":
            self.tables.append({"heads": [], "rows": []})
        if tag == "tr":
            self.tables[-1]["rows"].append([])
        if tag in ("th", "td"):
            self.tables[-1]["rows"][-1].append((tag, a.get("scope")))
            if tag == "th" and a.get("scope") not in ("col", "row"):
                self.faults.append("th without scope")
        inside = {"li": ("ol", "ul"), "tr": ("thead", "tbody"), "td": ("tr",), "th": ("tr",), "thead": ("table",), "tbody": ("table",)}
        if tag in inside and (not self.open or self.open[-1] not in inside[tag]):
            self.faults.append(f"<{tag}> in {self.open[-1:]}")
        # phrasing content alone may stand in these (HTML Living Standard, 3.2.5.2.5)
        if any(t in ("p", "h1", "h2", "h3", "a", "b", "i", "em", "span") for t in self.open) and tag in ("p", "div", "table", "ul", "ol", "section", "h1", "h2", "h3"):
            self.faults.append(f"<{tag}> within {self.open}")
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:]}")
        else:
            self.open.pop()

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.texts.append(data)


def check_page(text):
    p = Page()
    p.feed(text)
    p.close()
    equal(p.faults, [], "faults")
    equal(p.open, [], "left open")
    assert text.startswith("<!DOCTYPE html>\n<html lang=\"en\">"), text[:60]
    for tag in ("title", "main", "header", "nav", "footer", "h1"):
        equal(p.seen.count(tag), 1, tag)
    assert '<meta charset="utf-8">' in text[:300] and 'name="viewport"' in text[:300]
    equal(len(p.ids), len(set(p.ids)), "ids")
    assert p.anchors and set(p.anchors) <= set(p.ids), set(p.anchors) - set(p.ids)
    equal(p.headings[0], 1, "first heading")
    assert all(b <= a + 1 for a, b in zip(p.headings, p.headings[1:])), "a heading skips a level"
    for t in p.tables:
        equal({tag for tag, _ in t["rows"][0]}, {"th"}, "head of a table")
        equal({scope for _, scope in t["rows"][0]}, {"col"}, "scopes of the head")
        for r in t["rows"][1:]:
            equal(len(r), len(t["rows"][0]), "cells of a row")
            equal([scope for tag, scope in r if tag == "th"], ["row"], "head of the row")
    for word in ("http:", "https:", "url(", "@import", "javascript:"):
        assert word not in text, word
    return p


@test
def the_page_is_whole_and_keeps_to_itself():
    for house in HOUSES:
        check_page(page(house))
    good = page("quay_flat")
    for old, new in (("</tbody>", ""), ('id="s2"', 'id="s1"'), ('href="#t2"', 'href="#none"'), ("<h3 id", "<h5 id"), ('scope="row"', ""),
                     ("</head>", "<script></script></head>"), ('<td class="t">', '<td></td><td class="t">'), ("<p>", "<p><div></div>")):
        assert old in good, old
        refuses(check_page, good.replace(old, new, 1))


def luminance(colour):
    """Relative luminance: WCAG 2.2, definitions."""
    if len(colour) == 4:
        colour = "#" + "".join(c * 2 for c in colour[1:])
    parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a, b):
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@test
def text_and_lines_stand_out_from_the_ground():
    # 4.5 : 1 for text (SC 1.4.3), 3 : 1 for the lines of boxes to tick, which are drawn in the text's colour (SC 1.4.11).
    assert abs(contrast("#000", "#ffffff") - 21) < 1e-9 and contrast("#777777", "#ffffff") < 4.5
    themes = re.findall(r":root\{([^}]*)\}", page("quay_flat"))
    equal(len(themes), 3, "themes: light, dark, print")
    for theme in themes:
        c = dict(re.findall(r"--(\w+):(#[0-9a-f]+)", theme))
        for ground in ("paper", "sheet"):
            for ink in ("ink", "soft"):
                assert contrast(c[ink], c[ground]) >= 4.5, (theme, ink, ground, contrast(c[ink], c[ground]))
            assert contrast(c["line"], c[ground]) >= 3, (theme, ground)
    style = re.search(r"<style>(.*?)</style>", page("quay_flat"), re.S).group(1)
    colours = set(re.findall(r"(?<![-\w])(?:color|background|border(?:-\w+)*):[^;}]*", style))
    for c in colours:  # no colour but those of the themes
        assert "#" not in c, c


@test
def the_page_says_what_the_table_says():
    for house in HOUSES:
        text = html.unescape(re.sub(r"<[^>]*>", "\n", page(house)))
        for s in settings(house):
            for key in ("value", "reason", "block", "check", "if_not_offered", "item"):
                want = s[key][1:] if s[key].startswith(("'=", "'+", "'@")) else s[key]
                assert want in text, (house, key, want)
        titles = re.findall(r'<h3 id="s(\d+)"', page(house))
        equal(titles, [str(i + 1) for i in range(len(titles))], "steps in order")
        equal(len(titles), int(settings(house)[-1]["step"]), "steps")


if __name__ == "__main__":
    main()
