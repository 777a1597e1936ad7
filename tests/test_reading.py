"""A reader who has nothing but the text of the PDF rebuilds the build-up, the levels and the critical heights.

The words and their places on the page are all that is used; what they must equal is read from the polygons.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from test_output import objects

import detailgen
from detailgen.section.model import column

ROOT = Path(__file__).parent.parent
FILES = [ROOT / "specs" / "ferry-hall.toml", *sorted((ROOT / "detailgen" / "project").glob("start-*.toml"))]
PROJECTS = [detailgen.load(f) for f in FILES]
DETAILS = [d for p in PROJECTS for d in p.details.values() if d.params.kind in ("parapet", "skylight-curb")]


def placed_lines(data):
    """Lines of the page with the place of their first letter [mm]: x, y, words."""
    found = objects(data)
    page = next(head for head, _ in found.values() if "/Type /Page " in head)
    maps = {}
    for name, number in re.findall(r"(/\w+) (\d+) 0 R", re.search(r"/Font << (.*?) >>", page)[1]):
        cmap = found[int(re.search(r"/ToUnicode (\d+)", found[int(number)][0])[1])][1].decode()
        pairs = re.findall(r"<(\w{4})> <(\w+)>\n", cmap.split("endcodespacerange")[1])
        maps[name] = {glyph: bytes.fromhex(text).decode("utf-16-be") for glyph, text in pairs}
    content = found[int(re.search(r"/Contents (\d+)", page)[1])][1].decode()
    line = r"(/\w+) [\d.]+ Tf \S+ \S+ \S+ \S+ (\S+) (\S+) Tm <(\w*)> Tj"
    for font, x, y, codes in re.findall(line, content):
        yield float(x), float(y), "".join(maps[font][codes[i : i + 4]] for i in range(0, len(codes), 4))


def millimetres(words):
    """``150``, ``0.080"``, ``2 1/2"``, ``1'-0"``, ``2 × 3"`` in millimetres."""
    count, _, size = words.replace("x", "×").rpartition("×")
    times = int(count) if count.strip() else 1
    size = size.strip()
    if not size.endswith(('"', "'")):
        return times * float(size)
    feet, _, inches = size.rpartition("'-") if "'-" in size else ("", "", size)
    parts = inches.rstrip('"').split()
    total = 12 * int(feet or 0) + sum(float(p) if "." in p else Fraction(p) for p in parts)
    return times * float(total) * 25.4


SIZE = r"(?:\d+ × )?(?:\d+'-)?[\d./ ]*\d\"?"


def vocabulary(project):
    """What each material and part of the catalogue is called in notes, as patterns that find its thickness."""
    rows = project.context.catalogue
    na = project.info.words == "north-american"
    out = []
    for key, row in {**rows.materials, **rows.items}.items():
        words = re.escape(row.na if na else row.eu)
        words = words.replace(r"\{t\}", f"(?P<t>{SIZE})")
        out.append((key, re.compile(re.sub(r"\\\{\w+\\\}", ".+?", words))))
    return out


def build_up_read(detail):
    """The rows of the build-up from the page, top to bottom: kind, thickness [mm] or None."""
    lines = list(placed_lines(detail.render("pdf")))
    known = vocabulary(detail.project)
    deck = next(d for d in detail.section().parts if d.kind.startswith("deck"))
    called = next(p for k, p in known if k == deck.kind).pattern[:12]
    x = next(x for x, _, words in lines if re.match(called, words))
    rows = sorted(((y, words) for at, y, words in lines if abs(at - x) < 0.01), reverse=True)
    text, out = " ".join(words for _, words in rows), []
    while text:
        hits = [
            (m.end(), key, m) for key, p in known if (m := p.match(text)) and text[m.end() : m.end() + 1] in ("", " ")
        ]
        assert hits, f"nobody can read {text[:40]!r}"
        end = max(h[0] for h in hits)
        keys = {key for e, key, _ in hits if e == end}
        size = next((m.group("t") for e, _, m in hits if e == end and "t" in m.groupdict()), None)
        out.append((keys, None if size is None else millimetres(size)))
        text = text[end:].lstrip()
    return out


def build_up_built(detail):
    """The layers of the field from the polygons, top to bottom: kind, thickness across the layer [mm]."""
    section = detail.section()
    slope = math.atan(section.facts["slope"]) if section.facts.get("falls") != "along" else 0.0
    x = section.frame[2 if not section.mirrored else 0] + (30.0 if section.mirrored else -30.0)
    found = [(y0, y1, section[id].kind) for y0, y1, id in column(section, x) if id in section.by_id]
    for coat in section.coats:
        for a, b in zip(coat.line, coat.line[1:], strict=False):
            if min(a[0], b[0]) <= x <= max(a[0], b[0]) and a[0] != b[0]:
                y = a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])
                found.append((y, y, coat.kind))
    rows = []
    for y0, y1, kind in sorted(found, key=lambda r: r[0] + r[1], reverse=True):
        if rows and rows[-1][0] == kind:  # boards in several plies are one row
            rows[-1] = (kind, rows[-1][1] + (y1 - y0) * math.cos(slope))
        else:
            rows.append((kind, (y1 - y0) * math.cos(slope)))
    return rows


@pytest.mark.parametrize("detail", DETAILS, ids=lambda d: f"{d.project.source.path.stem}-{d.id}")
def test_the_build_up_is_read_from_the_page_as_it_was_built(detail):
    read, built = build_up_read(detail), build_up_built(detail)
    rounding = 0.051 if detail.project.info.units == "mm" else 25.4 / 32
    assert len(read) == len(built) > 3, (read, built)
    for (keys, size), (kind, true) in zip(read, built, strict=True):
        assert kind in keys
        if size is not None:
            assert size == pytest.approx(true, abs=rounding), kind
    assert sum(size is not None for _, size in read) >= 3


@pytest.mark.parametrize("detail", DETAILS, ids=lambda d: f"{d.project.source.path.stem}-{d.id}")
def test_the_critical_heights_are_read_from_the_page_as_they_were_measured(detail):
    words = [w for _, _, w in placed_lines(detail.render("pdf"))]
    inch = detail.project.info.units == "in"
    form = rf"({SIZE}) \(({SIZE}) MIN\.\)" if inch else rf"({SIZE}) \(min\. ({SIZE})\)"
    stacked = [f"{a} {b}" for a, b in pairwise(words) if b.startswith("(")]  # the limit under its number
    read = [tuple(map(millimetres, m.groups())) for w in (*words, *stacked) if (m := re.fullmatch(form, w))]
    step = 25.4 / 16 if inch else 0.51
    judged = [(f.measured, f.limit) for f in detail.findings() if f.measured is not None and f.limit is not None]
    assert len(read) >= 3
    for value, least in read:
        assert any(abs(m - value) <= step and abs(limit - least) <= step for m, limit in judged), (value, least)
    height = detail.measures()["flashing_height"].value
    assert any(abs(value - height) <= step for value, _ in read), "the height of the flashing is on the page"


@pytest.mark.parametrize("detail", DETAILS, ids=lambda d: f"{d.project.source.path.stem}-{d.id}")
def test_the_levels_are_read_from_the_page_as_the_section_has_them(detail):
    words = [w for _, _, w in placed_lines(detail.render("pdf"))]
    section, zero = detail.section(), detail.project.info.deck_level
    read = []
    for w in words:
        if m := re.fullmatch(r"([+−-]|±)(\d+\.\d{3}|(?:\d+'-)?[\d /]+\")", w):
            size = millimetres(m[2]) * (1 if m[2].endswith('"') else 1000)
            read.append([-size if m[1] in "−-" else size, ""])
        elif read and not re.match(r"[\d(+]", w) and len(read[-1][1]) < 60:
            read[-1][1] = f"{read[-1][1]} {w}".strip()
    for level in section.levels:
        step = 25.4 / 16 if detail.project.info.units == "in" else 0.51
        mine = [label for value, label in read if abs(value - (level.point[1] + zero)) <= step]
        assert any(label.casefold().startswith(level.label.casefold()) for label in mine), level.label
