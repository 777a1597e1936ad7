"""The DXF: clean, complete, and the same to a reader that shares no code with the writer."""

import io
import math

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover
from ezdxf.render import hatching
from ezdxf.tools.pattern import IMPERIAL_PATTERN, ISO_PATTERN
from output_sheets import CONTROL, MISSING, ODD, TWO_PIECES, gdal, ring, sheet

from detailgen import catalogue, output
from detailgen.output.dxf import document
from detailgen.output.dxf_drawing import WEIGHTS
from detailgen.sheet.flat import flatten
from detailgen.sheet.hatch import clip
from detailgen.sheet.model import Area, Dim, Note, Sheet, Stroke, Text

CATALOGUE = catalogue.load()
UNIT = {"metric": 1.0, "inch": 25.4}
K = {"metric": 5.0, "inch": 4.0}


def written(**how):
    return output.write(sheet(**how), "dxf", catalogue=CATALOGUE)


def reread(data):
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def everything(doc):
    """Every entity of model space, the layout and the blocks."""
    for layout in doc.layouts:
        yield from layout
    for block in doc.blocks:
        if not block.name.startswith(("*Model", "*Paper")):
            yield from block


@pytest.fixture(params=["metric", "inch"])
def units(request):
    return request.param


@pytest.fixture
def doc(units):
    return reread(written(units=units, k=K[units]))


def area_of(a: Area):
    outer = [r for r in a.rings if shapely.LinearRing(r).is_ccw]
    holes = [r for r in a.rings if not shapely.LinearRing(r).is_ccw]
    solid = shapely.union_all([shapely.Polygon(r) for r in outer])
    return solid.difference(shapely.union_all([shapely.Polygon(r) for r in holes])).area


def named(a: Area):
    """Name of its pattern in the file: an own one, under which no reader has another in its library."""
    return f"DETAILGEN-{a.pattern}".upper() if a.pattern else "SOLID"


# -- clean -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("layers", ["ncs", "iso13567"])
def test_a_drawing_is_clean_before_and_after_writing(units, layers):
    made = sheet(units=units, layers=layers, k=K[units])
    data = output.write(made, "dxf", catalogue=CATALOGUE)
    recovered, _ = recover.read(io.BytesIO(data))
    for drawing in (document(made, CATALOGUE), reread(data), recovered):
        audit = drawing.audit()
        assert not audit.errors and not audit.fixes


def test_nothing_lies_on_layer_0_and_the_layer_decides_every_colour(doc):
    names = {row.name for row in CATALOGUE.layers("ncs").values()}
    entities = list(everything(doc))
    assert len(entities) > 40
    for e in entities:
        assert e.dxf.layer in names, e
        assert e.dxf.get("color", 256) == 256 and not e.dxf.hasattr("true_color"), e
        assert e.dxf.get("lineweight", -1) in (*WEIGHTS, -1), e


def test_every_layer_says_what_it_holds_and_how_thick_it_is(doc):
    rows = {row.name: row for row in CATALOGUE.layers("ncs").values()}
    used = {e.dxf.layer for e in everything(doc)}
    for layer in doc.layers:
        if layer.dxf.name in ("0", "Defpoints"):
            continue
        row = rows[layer.dxf.name]
        assert layer.description == row.description
        assert layer.dxf.lineweight == round(row.weight * 100)
        assert layer.dxf.color == row.aci
        assert layer.dxf.name in used, "no layer without anything on it"
        assert not layer.is_off() and not layer.is_frozen()


def test_the_two_layer_standards_hold_the_same_under_other_names():
    by_key = [
        sorted(
            (tags(e).get("layer"), e.dxftype()) for e in reread(written(layers=s)).modelspace() if tags(e).get("layer")
        )
        for s in ("ncs", "iso13567")
    ]
    assert by_key[0] == by_key[1]
    assert {e.dxf.layer[:2] for e in reread(written(layers="iso13567")).modelspace()} == {"A-"}


def test_only_own_patterns_and_own_styles_are_named(doc):
    stock = {name.lower() for name in (*ISO_PATTERN, *IMPERIAL_PATTERN)} - {"solid"}
    for hatch in doc.modelspace().query("HATCH"):
        assert hatch.dxf.pattern_name.lower() not in stock
        assert hatch.dxf.solid_fill or hatch.dxf.pattern_type == 2
    assert {s.dxf.name for s in doc.dimstyles} <= {"Standard", "DETAILGEN"}
    assert {d.dxf.dimstyle for d in doc.modelspace().query("DIMENSION")} == {"DETAILGEN"}
    assert {t.dxf.style for t in everything(doc) if t.dxftype() == "TEXT"} == {"DETAILGEN", "DETAILGEN-BOLD"}


# -- size ------------------------------------------------------------------------------------------------------------


def test_model_space_is_full_size_in_the_unit_of_the_project(doc, units):
    deck = next(e for e in doc.modelspace().query("LWPOLYLINE") if tags(e).get("id") == "deck")
    xs, ys = zip(*((x, y) for x, y, *_ in deck), strict=True)
    assert max(xs) - min(xs) == pytest.approx(200 * K[units] / UNIT[units])
    assert max(ys) - min(ys) == pytest.approx(40 * K[units] / UNIT[units])
    assert min(xs) == pytest.approx((40 - 70) * K[units] / UNIT[units])
    assert doc.header["$INSUNITS"] == {"metric": 4, "inch": 1}[units]
    assert doc.header["$MEASUREMENT"] == {"metric": 1, "inch": 0}[units]


def test_text_and_dashes_are_as_large_on_paper_as_the_sheet_says(doc, units):
    note = next(t for t in doc.modelspace().query("TEXT") if t.dxf.text == "second line")
    assert note.dxf.height == pytest.approx(2.5 * K[units] / UNIT[units])
    assert doc.header["$LTSCALE"] == K[units]
    pattern = doc.linetypes.get("DASHED").pattern_tags.tags
    assert [t.value for t in pattern if t.code == 49] == pytest.approx([3.0 / UNIT[units], -1.5 / UNIT[units]])


def test_dashes_are_as_long_in_the_layout_as_in_model_space(units):
    dashed = Stroke(ring((30, 30), (60, 30)), "ttlb", 0.5, dash=(3.0, 1.5), linetype="DASHED", space="paper")
    drawing = reread(written(units=units, k=K[units], extra=(dashed,)))
    line = next(e for e in drawing.layouts.get("P1").query("LWPOLYLINE") if e.dxf.linetype == "DASHED")
    assert line.dxf.ltscale * drawing.header["$LTSCALE"] == pytest.approx(1)


def test_the_layout_shows_the_section_at_its_scale_and_holds_the_frame(doc, units):
    layout = doc.layouts.get("P1")
    frame = [v for v in layout.query("VIEWPORT") if v.dxf.id != 1]
    assert len(frame) == 1
    assert frame[0].dxf.view_height / frame[0].dxf.height == pytest.approx(K[units])
    assert (frame[0].dxf.width, frame[0].dxf.height) == pytest.approx((420 / UNIT[units], 297 / UNIT[units]))
    # the middle of the sheet is seen in the middle of the viewport
    middle = ((210 - 70) * K[units] / UNIT[units], (148.5 - 140) * K[units] / UNIT[units])
    assert tuple(frame[0].dxf.view_center_point)[:2] == pytest.approx(middle)
    assert {e.dxf.layer for e in layout if e.dxftype() != "VIEWPORT"} == {"A-ANNO-TTLB", "A-ANNO-TTLB-TEXT"}
    assert "A-ANNO-TTLB" not in {e.dxf.layer for e in doc.modelspace()}
    assert (layout.dxf.paper_width, layout.dxf.paper_height) == pytest.approx((420, 297))


def test_the_first_view_and_the_extents_hold_everything(doc):
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    points = [p for e in doc.modelspace().query("LWPOLYLINE") for p in e.get_points("xy")]
    for axis in (0, 1):
        assert low[axis] <= min(p[axis] for p in points) and max(p[axis] for p in points) <= high[axis]
        assert high[axis] - low[axis] < 3000
    view = doc.viewports.get("*Active")[0]
    assert view.dxf.height >= high[1] - low[1]
    assert tuple(view.dxf.center)[:2] == pytest.approx(((low[0] + high[0]) / 2, (low[1] + high[1]) / 2))


def test_the_header_repeats_the_dimension_style(doc):
    style = doc.dimstyles.get("DETAILGEN")
    for name in (
        "dimscale",
        "dimtxt",
        "dimtsz",
        "dimexo",
        "dimexe",
        "dimgap",
        "dimtad",
        "dimtih",
        "dimtoh",
        "dimtmove",
        "dimlfac",
    ):
        assert doc.header[f"${name.upper()}"] == pytest.approx(style.get_dxf_attrib(name)), name
    assert doc.header["$DIMSTYLE"] == "DETAILGEN" and doc.header["$TEXTSTYLE"] == "DETAILGEN"


# -- hatches ---------------------------------------------------------------------------------------------------------


def test_another_reader_finds_the_same_hatched_areas(units, tmp_path):
    made = sheet(units=units, k=K[units])
    rows = gdal(output.write(made, "dxf", catalogue=CATALOGUE), tmp_path)
    found = sorted((r["Text"], r["shape"].area) for r in rows if r["SubClasses"].endswith("AcDbHatch"))
    full = (K[units] / UNIT[units]) ** 2
    asked = [(named(a), area_of(a) * full) for a in made.items if isinstance(a, Area) and a.medium != "picture"]
    dot = [f for f in found if f[0] == "SOLID" and f[1] < full]  # the tip of a leader
    assert len(dot) == 1 and dot[0][1] == pytest.approx(math.pi / 4 * full, rel=0.03)
    found.remove(dot[0])
    assert [f[0] for f in found] == [a[0] for a in sorted(asked)]
    for (_, got), (_, wanted) in zip(found, sorted(asked), strict=True):
        assert got == pytest.approx(wanted, rel=1e-4)


def test_another_reader_finds_the_hole_and_both_pieces(tmp_path):
    shapes = {r["Text"]: r["shape"] for r in gdal(written(), tmp_path) if r["shape"].geom_type.endswith("Polygon")}
    assert len(shapes["DETAILGEN-RIGID-INSULATION"].interiors) == 1
    assert shapes["DETAILGEN-PEBBLES"].geom_type == "MultiPolygon" and len(shapes["DETAILGEN-PEBBLES"].geoms) == len(
        TWO_PIECES
    )


def test_a_reader_that_draws_the_pattern_gets_the_lines_of_the_pictures(units):
    """Lines traced from the definition in the file against the lines that the sheet clips for pictures."""
    made = sheet(units=units, k=K[units])
    drawing = reread(output.write(made, "dxf", catalogue=CATALOGUE))
    unit = UNIT[units] / K[units]
    for hatch in drawing.modelspace().query("HATCH"):
        if hatch.dxf.solid_fill:
            continue
        area = next(a for a in made.items if isinstance(a, Area) and a.part == tags(hatch)["id"])
        ours = clip([np.array(r) for r in area.rings], area.families)
        theirs = [(a, b) for a, b in hatching.hatch_entity(hatch, filter_text_boxes=False)]
        assert length(ours) == pytest.approx(sum(a.distance(b) for a, b in theirs) * unit, rel=0.01)
        middles = np.array([[(a.x + b.x) / 2, (a.y + b.y) / 2] for a, b in theirs]) * unit + made.origin
        tree = shapely.STRtree([shapely.LineString(s) for s in ours])
        _, away = tree.query_nearest(shapely.points(middles), return_distance=True, all_matches=False)
        assert np.quantile(away, 0.98) < 0.02, "same phase, to the reader's own rounding"


def length(segments):
    return float(np.hypot(*(segments[:, 1] - segments[:, 0]).T).sum())


def test_a_hatch_follows_the_closed_outline_of_its_part(doc):
    hatches = {tags(h)["id"]: h for h in doc.modelspace().query("HATCH") if tags(h).get("role") in ("hatch", "fill")}
    for part in ("deck", "xps-1"):
        sources = [doc.entitydb[h] for path in hatches[part].paths for h in path.source_boundary_objects]
        assert sources and {tags(s)["id"] for s in sources} == {part}
        assert hatches[part].dxf.associative == 1
    assert not any(path.source_boundary_objects for path in hatches["wall"].paths), (
        "its outline is open at the break line"
    )


# -- dimensions, notes, tags -----------------------------------------------------------------------------------------


def test_another_reader_finds_the_texts_of_the_dimensions_where_the_sheet_put_them(units, tmp_path):
    made = sheet(units=units, k=K[units])
    rows = gdal(output.write(made, "dxf", catalogue=CATALOGUE), tmp_path)
    texts = {r["Text"]: r["shape"] for r in rows if r["Layer"] == "A-ANNO-DIMS" and r["Text"]}
    dims = {d.text: d for d in made.items if isinstance(d, Dim)}
    assert texts.keys() == dims.keys()
    for text, d in dims.items():
        at = texts[text]
        paper = made.to_paper((at.x * UNIT[units], at.y * UNIT[units]))
        assert math.dist(paper, d.text_at) < d.height, "GDAL gives the foot of the text, the sheet its middle"


def test_another_reader_finds_every_layer_that_the_sheet_draws_on(tmp_path):
    rows = gdal(written(), tmp_path)
    names = CATALOGUE.layers("ncs")
    keys = {i.layer for i in sheet().items if not (isinstance(i, Stroke | Area | Text) and i.medium == "picture")}
    assert {r["Layer"] for r in rows} == {names[k].name for k in keys}
    assert {r["Layer"] for r in rows if r["PaperSpace"] == 1} == {names["ttlb"].name, names["ttxt"].name}


def test_a_dimension_measures_the_true_distance_and_carries_its_own_block(doc, units):
    made = {d.id: d for d in sheet(units=units, k=K[units]).items if isinstance(d, Dim)}
    found = {tags(d)["id"]: d for d in doc.modelspace().query("DIMENSION")}
    assert found.keys() == made.keys()
    for name, d in made.items():
        dimension = found[name]
        assert dimension.dxf.text == d.text
        assert dimension.get_measurement() == pytest.approx(d.value / UNIT[units])
        assert dimension.dxf.actual_measurement == pytest.approx(d.value / UNIT[units])
        block = doc.blocks.get(dimension.dxf.geometry)
        assert [t.dxf.text for t in block.query("TEXT")] == [d.text]
        assert len(block.query("LWPOLYLINE")) == 5, "dimension line, two extension lines, two oblique strokes"


def test_a_dimension_of_another_height_says_so(doc, units):
    small = next(d for d in doc.modelspace().query("DIMENSION") if tags(d)["id"] == "small")
    assert small.override().get("dimtxt") == pytest.approx(3.5 / UNIT[units])


def test_a_note_is_one_group_of_leader_tip_and_lines(doc):
    made = [n for n in sheet().items if isinstance(n, Note)]
    groups = dict(doc.groups)
    assert list(groups) == ["NOTE-N1", "NOTE-N2", "NOTE-N2-2", "NOTE-FREE"]
    for note, group in zip(made, groups.values(), strict=True):
        kinds = [e.dxftype() for e in group]
        assert kinds.count("TEXT") == len(note.lines)
        assert kinds.count("LWPOLYLINE") == bool(note.leader)
        assert (kinds.count("SOLID"), kinds.count("HATCH")) == {"arrow": (1, 0), "dot": (0, 1), "none": (0, 0)}[
            note.end
        ]
        assert {tags(e)["id"] for e in group} == {note.id}
    assert tags(next(iter(groups["NOTE-N2-2"])))["part2"] == "deck"


def test_texts_come_back_as_they_were_written(doc):
    texts = {t.plain_text() for t in doc.modelspace().query("TEXT")}
    assert ODD in texts
    assert "two lines\ufffd %%c ^J" in texts, CONTROL
    assert MISSING.replace("\ud800", "\ufffd") in texts


def tags(entity):
    if not entity.has_xdata("DETAILGEN"):
        return {}
    values = [t.value for t in entity.get_xdata("DETAILGEN") if t.code == 1000]
    return dict(v.split("=", 1) for v in values)


def test_every_part_carries_its_id_and_material_for_other_programs(doc):
    hatches = [tags(h) for h in doc.modelspace().query("HATCH")]
    known = {t["id"]: t["material"] for t in hatches if "material" in t}
    assert known == {"deck": "concrete", "wall": "concrete", "xps-1": "xps", "membrane": "membrane", "gravel": "gravel"}
    outlines = {tags(e)["id"] for e in doc.modelspace().query("LWPOLYLINE") if tags(e).get("role") == "outline"}
    assert outlines == {"deck", "wall", "xps-1", "membrane", "fabric"}
    deck = next(e for e in doc.modelspace().query("LWPOLYLINE") if tags(e).get("id") == "deck")
    assert tags(deck)["material"] == "concrete"


def test_extended_data_stays_within_what_the_format_holds():
    long = Stroke(ring((0, 0), (10, 0)), "outline", 0.18, part="pärt-" * 200)
    drawing = reread(written(extra=(long,)))
    values = [t.value for e in everything(drawing) if e.has_xdata("DETAILGEN") for t in e.get_xdata("DETAILGEN")]
    assert values and all(len(str(v).encode()) <= 255 for v in values)


def test_the_drawing_shows_the_true_build_only(doc):
    membrane = [e for e in doc.modelspace() if tags(e).get("id") == "membrane"]
    assert {e.dxf.layer for e in membrane} == {"A-DETL-MCUT-MEMB"}
    assert len(membrane) == 2, "the band and its edge, not their widened picture"


def test_the_document_says_what_it_is(doc):
    said = dict(doc.header.custom_vars.properties)
    assert said["title"] == 'Parapet <low> & "bare"' and said["project"] == "Ferry hall, quay 3"
    assert said["note"] == "line break"


# -- odd sheets ------------------------------------------------------------------------------------------------------


def bare(*items, **changes):
    values = {"id": "P1", "title": "", "name": "A4", "size": (210.0, 297.0), "k": 5.0, "origin": (50.0, 50.0)}
    return Sheet(**{**values, "items": items, "layers": "ncs", "units": "metric", **changes})


A = Text((9, 9), "a", 2.5, "note")
ODD_SHEETS = {
    "empty": bare(),
    "named Model": bare(id="Model"),
    "punctuation": bare(id="-._"),
    "twice full size": bare(k=0.5),
    "lines without length": bare(Stroke(((1.0, 1.0),), "outline", 0.18), Stroke((), "outline", 0.18)),
    "very long text": bare(Text((10, 10), "x" * 5000, 2.5, "note")),
    "text without words": bare(Text((10, 10), "", 2.5, "note")),
    "empty note": bare(Note("", (), (), "dot")),
    "odd id of a note": bare(Note("spaces and ünicode / \\", (A,), ((1.0, 1.0), (1.0, 1.0)), "arrow")),
    "dimension without reach": bare(Dim("d", (10, 10), (10, 20), (10, 10), "y", "50", (10, 15), 50.0)),
}


@pytest.mark.parametrize("odd", ODD_SHEETS.values(), ids=ODD_SHEETS)
def test_odd_sheets_are_written_clean(odd):
    drawing = reread(output.write(odd, "dxf", catalogue=CATALOGUE))
    audit = drawing.audit()
    assert not audit.errors and not audit.fixes
    for format in ("png", "pdf", "svg"):
        assert output.write(odd, format, dpi=50, catalogue=CATALOGUE)


def test_writing_leaves_the_options_of_the_library_as_they_were():
    for state in (False, True):
        ezdxf.options.write_fixed_meta_data_for_testing = state
        written()
        assert ezdxf.options.write_fixed_meta_data_for_testing is state
    ezdxf.options.write_fixed_meta_data_for_testing = False


def test_other_content_has_other_document_ids():
    ids = {reread(d).header["$FINGERPRINTGUID"] for d in (written(), written(), written(units="inch"))}
    assert len(ids) == 2 and "{00000000-0000-0000-0000-000000000000}" not in ids


def test_every_hatch_lies_under_the_lines_as_in_the_pictures(doc):
    kinds = [e.dxftype() for e in doc.modelspace() if tags(e).get("role") in ("hatch", "fill", "outline", "line")]
    assert kinds == sorted(kinds, key=lambda k: k != "HATCH")
    assert len(flatten(sheet()).fills) > 0
