"""The reviewer looks at the sheet of every detail that comes with the program."""

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import shapely

import detailgen
from detailgen.sheet import compose, review
from detailgen.sheet.model import Area, Dim, Note, Stroke
from detailgen.sheet.review import texts_of
from detailgen.units import format_length
from tests.demos import DETAIL_FILES

ROOT = Path(__file__).parent.parent
FILES = sorted([*(ROOT / "detailgen" / "project").glob("start-*.toml"), *DETAIL_FILES])
LARGE = {"metric": "A1", "inch": "ARCH-D"}
NEVER = {  # whatever the size of the sheet
    "text on text", "outside the frame", "text too small", "unfilled words", "flat leader", "tip beside its part",
}


@cache
def project(path):
    return detailgen.load(path)


DETAILS = [(path, id) for path in FILES for id in project(path).details]


@pytest.fixture(scope="module", params=DETAILS, ids=lambda p: f"{p[0].stem}-{p[1]}")
def detail(request):
    path, id = request.param
    return project(path)[id]


def found(detail, sheet):
    faults = review(sheet, detail.section(sheet.k), detail.section(), detail.settings)
    return [f for f in faults if f.kind in NEVER or not sheet.overflow]


def test_a_draughtsman_would_not_send_it_back(detail):
    """On the sheet that its file asks for; the small sheets of the files to begin with are crowded."""
    faults = [str(f) for f in found(detail, detail.sheet()) if f.kind in NEVER or of_specs(detail)]
    assert faults == []
    assert len(found(detail, detail.sheet())) <= 2
    assert not detail.sheet().overflow or not of_specs(detail)


def of_specs(detail):
    return detail.project.source.path.parent.name == "specs"


def test_it_is_drawn_at_the_usual_scale_of_details(detail):
    if of_specs(detail) and detail.params.kind in ("parapet", "skylight-curb"):  # wider ones may be smaller
        assert detail.sheet().k == {"metric": 5.0, "inch": 4.0}[detail.settings.units]


LIGHT = ("corner-plan", "parapet-at-wall")  # few lines, and a sheet that is too large for them


def test_on_a_large_sheet_it_has_no_fault_at_all(detail):
    settings = replace(detail.settings, size=LARGE[detail.settings.units], scale=None)
    rows = detail.project.context.catalogue
    made = compose(detail.section(), detail.section, detail.measures(), detail.findings(), rows, settings)
    assert not made.overflow
    light = detail.params.kind in LIGHT or getattr(detail.params, "cut", None) == "stop-end"
    faults = [f for f in found(detail, made) if not (light and f.kind == "too little ink")]
    assert [str(f) for f in faults] == []


def test_every_part_is_named_once(detail):
    made = detail.sheet()
    named = Counter(p for i in made.items if isinstance(i, Note) for p in i.parts)
    assert max(named.values()) == 1
    if not made.overflow:
        assert {p.id for p in detail.section().parts} <= set(named)


def test_its_dimensions_are_those_of_the_true_section(detail):
    made = detail.sheet()
    for d in (i for i in made.items if isinstance(i, Dim)):
        k = 1 if d.axis == "y" else 0
        assert abs(d.a[k] - d.b[k]) * made.k == pytest.approx(d.value, abs=1.01)


def test_the_height_of_the_flashing_stands_beside_its_minimum(detail):
    rules = [f.rule for f in detail.findings() if f.verdict in ("holds", "fails") and f.rule.severity != "note"]
    limits = [r.minimum for r in rules if r.measure == "flashing_height"]
    asked = {d.id for d in detail.section().dimensions if d.measure == "flashing_height"}
    if not limits or not asked:
        pytest.skip("nothing here turns up in this cut, so no rule asks for a height")
    value = detail.measures()["flashing_height"].value
    text = next(i.text for i in detail.sheet().items if isinstance(i, Dim) and i.id in asked)
    units = detail.project.context.units
    assert text.startswith(format_length(value, units))
    assert format_length(max(v for v in limits if v), units) in text


def test_pictures_show_the_drawn_build_and_dxf_the_true_one(detail):
    made = detail.sheet()
    for medium, section in (("picture", detail.section(made.k)), ("dxf", detail.section())):
        for a in (i for i in made.items if isinstance(i, Area) and i.medium == medium and i.fill and i.part):
            part = shapely.union_all([shapely.Polygon([made.to_paper(p) for p in r]) for r in section[a.part].rings])
            ring = shapely.Polygon(a.rings[0])
            assert shapely.difference(ring, part.buffer(1e-6)).area < 1e-6
            if medium == "dxf":
                assert any(abs(ring.area * made.k**2 - shapely.Polygon(r).area) < 1e-3 for r in section[a.part].rings)


# what goes through the roof parts the line: the mouth of a drain, the inside of a pipe, the opening of a scupper
PIECES = {"roof-drain": 2, "overflow-drain": 2, "drain-pair": 3, "pipe": 2, "scupper": 2}


def pieces_of_line(detail):
    """Sheets end at what goes through them: a drain in the sole of a gutter parts them as it parts a roof."""
    at_the_outlet = detail.params.kind == "gutter" and detail.params.cut == "outlet"
    return 2 if at_the_outlet else PIECES.get(detail.params.kind, 1)


def test_its_waterproofing_is_one_black_line_from_the_field_to_its_end(detail):
    made, drawn = detail.sheet(), detail.section(detail.sheet().k)
    sheets = {p.id for p in drawn.parts if p.role == "waterproofing" and p.thin and p.kind != "underlay"}
    black = [i for i in made.items if isinstance(i, Area) and i.medium == "picture" and i.fill == "#000000"]
    assert sheets and sheets <= {a.part for a in black}
    pieces = [shapely.Polygon(r) for a in black if a.part in sheets for r in a.rings]
    tight = [p for p in drawn.parts if p.watertight and p.id not in sheets]  # drain bodies, clamps, sleeves
    bodies = [shapely.Polygon([made.to_paper(q) for q in r]) for p in tight for r in p.rings]
    line = shapely.union_all([*pieces, *bodies]).buffer(0.13)  # the white hairlines that tell laps apart are 0.22 wide
    whole = [g for g in getattr(line, "geoms", [line]) if any(g.contains(p) for p in pieces)]
    assert len(whole) == pieces_of_line(detail)


def test_nothing_heavy_lies_on_a_break_line(detail):
    made = detail.sheet()
    for cut in detail.section().cuts:
        line = shapely.LineString([made.to_paper(cut.a), made.to_paper(cut.b)])
        for s in (i for i in made.items if isinstance(i, Stroke) and i.part):
            ends = [*s.points, s.points[0]] if s.closed else s.points
            on = [line.distance(shapely.Point(p)) < 1e-3 for p in ends]
            along = [a and b and p != q for a, b, p, q in zip(on, on[1:], ends, ends[1:], strict=False)]
            assert not any(along)


def test_its_notes_stand_in_flush_columns(detail):
    made = detail.sheet()
    for anchor in ("left", "right"):
        edges = {round(t.at[0], 3) for i in made.items if isinstance(i, Note) for t in i.lines if t.anchor == anchor}
        assert len(edges) <= 2  # notes, and the rows of the build-up set in by their bracket


def test_all_its_words_are_of_one_height_for_one_job(detail):
    heights = {t.layer: set() for t in texts_of(detail.sheet())}
    for t in texts_of(detail.sheet()):
        heights[t.layer].add(t.height)
    assert heights["dim"] == {2.5} and heights["note"] <= {2.5, 3.5}
