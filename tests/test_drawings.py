"""The drawings of every detail that comes with the program: starter files and demo, through the whole road."""

import io
import xml.etree.ElementTree as ET
from functools import cache, reduce
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from output_sheets import gdal
from PIL import Image
from test_dxf import named
from test_output import SVG, elsewhere, lines_of_text

import detailgen
from detailgen.catalogue import load
from detailgen.output.dxf_drawing import WEIGHTS
from detailgen.output.lettering import printable
from detailgen.sheet.clearing import MARGIN
from detailgen.sheet.flat import flatten, texts_in
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Area, Dim, Note, Stroke, Text
from detailgen.sheet.plane import grown
from tests.demos import DETAIL_FILES

ROOT = Path(__file__).parent.parent
FILES = sorted([*(ROOT / "detailgen" / "project").glob("start-*.toml"), *DETAIL_FILES])
UNIT = {"metric": 1.0, "inch": 25.4}


@cache
def project(path):
    return detailgen.load(path)


DETAILS = [(path, id) for path in FILES for id in project(path).details]


@pytest.fixture(scope="module", params=DETAILS, ids=lambda p: f"{p[0].stem}-{p[1]}")
def detail(request):
    path, id = request.param
    return project(path)[id]


@pytest.fixture(scope="module")
def drawing(detail):
    return detail.render("dxf")


def names(detail):
    return {key: row.name for key, row in load().layers(detail.sheet().layers).items()}


def test_its_drawing_is_clean(detail, drawing):
    doc = ezdxf.read(io.StringIO(drawing.decode("utf-8")))
    audit = doc.audit()
    assert not audit.errors and not audit.fixes
    known = set(names(detail).values())
    for layout in (*doc.layouts, *(b for b in doc.blocks if b.name.startswith("*D"))):
        for e in layout:
            assert e.dxf.layer in known
            assert e.dxf.get("color", 256) == 256
            assert e.dxf.get("lineweight", -1) in (*WEIGHTS, -1)


def test_another_reader_finds_its_hatched_areas_its_dimensions_and_its_notes(detail, drawing, tmp_path):
    rows, made, layer = gdal(drawing, tmp_path), detail.sheet(), names(detail)
    full = (made.k / UNIT[made.units]) ** 2
    areas = [i for i in made.items if isinstance(i, Area) and i.medium != "picture" and i.space == "model"]
    found = sorted((r["Text"], r["Layer"], r["shape"].area) for r in rows if r["SubClasses"].endswith("AcDbHatch"))
    words = [shapely.box(*grown(text_box(t), MARGIN)) for i in made.items for t in texts_in(i) if t.space == "model"]
    asked = sorted((named(a), layer[a.layer], area_of(a, words) * full) for a in areas)
    dots = sum(isinstance(i, Note) and i.end == "dot" and len(i.leader) > 1 for i in made.items)
    assert len(asked) > 3 and len(found) == len(asked) + dots
    for pattern, name, size in asked:
        mine = [f for f in found if f[:2] == (pattern, name)]
        near = pytest.approx(size, rel=1e-4, abs=HAIRS * full)  # a word keeps a hair from the edge of its hatch
        assert any(f[2] == near for f in mine), (pattern, name, size)
    texts = {r["Text"] for r in rows}
    lost = {i.text for i in made.items if isinstance(i, Dim)} - texts
    lost = {text for text in lost if not {text.partition(" (")[0], f"({text.partition(' (')[2]}"} <= texts}
    assert lost == set()  # a limit may stand under its dimension
    assert {line.text for i in made.items if isinstance(i, Note) for line in i.lines} <= texts


HAIRS = 3.0  # mm2 of paper: what the hairs round the words of one hatch, and islands too small to be made, add up to


def area_of(a, words):
    """What a hatch covers on paper: its rings, a pattern without the room of the words on it."""
    whole = sum(shapely.Polygon(r).area * (1 if shapely.LinearRing(r).is_ccw else -1) for r in a.rings)
    if not a.families:
        return whole
    shape = reduce(shapely.symmetric_difference, [shapely.Polygon(r) for r in a.rings])
    return whole - shapely.intersection(shape, shapely.union_all(words)).area


def test_it_is_drawn_true_in_size_with_no_unknown_dash(detail, drawing):
    made, doc = detail.sheet(), ezdxf.read(io.StringIO(drawing.decode("utf-8")))
    x0, y0, x1, y1 = detail.section().frame
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    assert (high[0] - low[0]) * UNIT[made.units] > 0.9 * (x1 - x0)
    assert (high[1] - low[1]) * UNIT[made.units] > 0.9 * (y1 - y0)
    for stroke in made.items:
        if isinstance(stroke, Stroke) and stroke.dash and stroke.medium != "picture":
            assert load().linetype(stroke.linetype).dash == tuple(
                d if i % 2 == 0 else -d for i, d in enumerate(stroke.dash)
            ), "a picture and a drawing file show the same dashes"


def test_everything_on_it_lies_on_the_sheet(detail):
    made = detail.sheet()
    width, height = made.size
    flat = flatten(made)
    for run in flat.strokes:
        for line in run.lines:
            assert line.min() >= -0.01 and line[:, 0].max() <= width + 0.01 and line[:, 1].max() <= height + 0.01


def test_its_picture_is_as_large_as_its_sheet(detail):
    made, dpi = detail.sheet(), detail.project.paper.dpi
    image = Image.open(io.BytesIO(detail.render("png")))
    assert image.size == tuple(round(v / 25.4 * dpi) for v in made.size)
    ink = 1 - np.asarray(image.convert("L")).mean() / 255
    assert 0.02 < ink < 0.15, "neither empty nor black"


def test_every_word_on_it_is_found_in_the_page_and_in_the_web_picture(detail):
    wanted = sorted(printable(t.text) for t in flatten(detail.sheet()).texts if t.text)
    assert len(wanted) > 20
    assert sorted(lines_of_text(detail.render("pdf"))) == wanted
    assert sorted(t.text for t in ET.fromstring(detail.render("svg")).iter(f"{SVG}text")) == wanted


def test_no_letter_on_it_is_missing_in_the_font(detail):
    from detailgen.output.lettering import face

    letters = {c for t in flatten(detail.sheet()).texts for c in t.text}
    assert {c for c in letters if face().glyph(c) == ".notdef"} == set()


def test_its_texts_use_layers_of_notes_and_titles_only(detail):
    layers = {i.layer for i in detail.sheet().items if isinstance(i, Text)}
    own = {"water"}  # a water level carries its value
    assert layers <= {"note", "dim", "title", "ttxt", "symb", "legn", "keyn", "ttlb"} | own


COMMAND = """
import sys
from detailgen.cli import run
run(["draw", {spec!r}, "--detail", "P2,C1", "--format", "dxf,png,pdf,svg,json", "--out", {out!r}])
assert "matplotlib.pyplot" not in sys.modules
"""


def test_two_machines_draw_the_demo_alike_to_the_last_byte(tmp_path):
    spec, folders = str(ROOT / "specs" / "ferry-hall.toml"), [tmp_path / "a", tmp_path / "b"]
    machines = [("1", "UTC", "C"), ("987", "America/St_Johns", "tr_TR.UTF-8")]
    for folder, machine in zip(folders, machines, strict=True):
        home = tmp_path / f"home-of-{folder.name}"
        home.mkdir()
        elsewhere(home, *machine, COMMAND.format(spec=spec, out=str(folder)), quiet=False)
        assert list(home.rglob("*")) == []
    files = sorted(f.name for f in folders[0].iterdir() if not f.name.startswith("."))
    assert files == sorted(f"{id}.{format}" for id in ("P2", "C1") for format in ("dxf", "png", "pdf", "svg", "json"))
    for name in files:
        assert (folders[0] / name).read_bytes() == (folders[1] / name).read_bytes(), name
