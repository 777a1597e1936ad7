"""Every version and both profiles of the DXF, for every detail that comes with the program."""

import io
import re
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import recover
from ezdxf.render import hatching
from output_sheets import gdal, ring, sheet
from test_dxf import area_of, everything, named, tags
from test_output import elsewhere

import detailgen
from detailgen import catalogue, output
from detailgen.errors import InputError
from detailgen.output import PROFILES, VERSIONS, Options
from detailgen.output.lettering import printable
from detailgen.sheet.clearing import MARGIN
from detailgen.sheet.flat import flatten, texts_in
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Area, Dim, Note, Stroke, Text

ROOT = Path(__file__).parent.parent
HALL = detailgen.load(ROOT / "specs" / "ferry-hall.toml")
INCH = detailgen.load(next((ROOT / "detailgen" / "project").glob("start-in*.toml")))
DETAILS = [HALL["P1"], HALL["C1"], next(iter(INCH.details.values()))]
UNIT = {"metric": 1.0, "inch": 25.4}


@cache
def written(detail, **options):
    rows = detail.project.context.catalogue
    return output.write(detail.sheet(), "dxf", catalogue=rows, options=Options(**options))


def reread(data):
    return ezdxf.read(io.StringIO(data.decode("cp1252" if b"AC1015" in data[:200] else "utf-8")))


@pytest.fixture(scope="module", params=DETAILS, ids=lambda d: f"{d.id}-{d.project.info.units}")
def detail(request):
    return request.param


@pytest.fixture(scope="module")
def portable(detail):
    return reread(written(detail, profile="portable"))


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("version", VERSIONS)
def test_every_version_of_both_profiles_is_clean(detail, profile, version):
    data = written(detail, profile=profile, version=version)
    for doc in (reread(data), recover.read(io.BytesIO(data))[0]):
        assert doc.acad_release == version
        audit = doc.audit()
        assert not audit.errors and not audit.fixes
        assert all(e.dxf.get("color", 256) == 256 and e.dxf.layer != "0" for e in everything(doc))
    texts = {t.plain_text() for t in reread(data).modelspace().query("TEXT")}
    assert {line.text for i in detail.sheet().items if isinstance(i, Note) for line in i.lines} <= texts


def test_the_older_version_holds_the_same_entities_as_the_newer_ones(detail):
    kinds = [[e.dxftype() for e in reread(written(detail, version=v)).modelspace()] for v in VERSIONS]
    assert all(k == kinds[0] for k in kinds)


@pytest.mark.parametrize("version", VERSIONS)
def test_every_version_says_from_which_input_it_was_made(detail, version):
    doc = reread(written(detail, version=version))
    if version == "R2000":  # no custom properties before R2004: a record of the root dictionary
        said = dict(t.value.split("=", 1) for t in doc.rootdict["DETAILGEN"].tags)  # its section in further lines
    else:
        said = dict(doc.header.custom_vars.properties)
    assert said["digest"] == detail.digest and said["version"] == detailgen.__version__
    assert said["title"] == detail.sheet().title and said["profile"] == "full"


# -- portable --------------------------------------------------------------------------------------------------------


def test_a_portable_drawing_holds_lines_texts_and_solids_only(portable):
    assert {e.dxftype() for e in portable.modelspace()} <= {"LINE", "LWPOLYLINE", "TEXT", "SOLID", "HATCH"}
    assert all(h.dxf.solid_fill and not h.dxf.associative for h in portable.modelspace().query("HATCH"))
    for layout in list(portable.layouts)[1:]:
        assert {e.dxftype() for e in layout} <= {"VIEWPORT"}, "no paper space but the view that every layout has"
    assert not [b for b in portable.blocks if not b.name.startswith(("*Model", "*Paper"))], "no blocks"
    dashed = [t for t in portable.linetypes if t.dxf.name.casefold() not in ("continuous", "byblock", "bylayer")]
    assert dashed == []
    lengths = [t.value for t in portable.linetypes.get("Continuous").pattern_tags.tags if t.code == 40]
    assert lengths == [0], "a continuous line has no dashes"
    assert {layer.dxf.linetype for layer in portable.layers} == {"Continuous"}
    assert {e.dxf.get("linetype", "BYLAYER") for e in portable.modelspace()} <= {"BYLAYER", "Continuous"}


def test_its_frame_stands_round_the_detail_at_its_scale(portable, detail):
    made = detail.sheet()
    frame = next(i for i in made.items if isinstance(i, Stroke) and i.layer == "ttlb" and i.closed)
    wide = max(p[0] for p in frame.points) - min(p[0] for p in frame.points)
    names = catalogue.load().layers(made.layers)
    lines = [e for e in portable.modelspace().query("LWPOLYLINE") if e.dxf.layer == names["ttlb"].name and e.closed]
    xs = [p[0] for p in lines[0].get_points("xy")]
    assert max(xs) - min(xs) == pytest.approx(wide * made.k / UNIT[made.units])
    low, high = portable.header["$EXTMIN"], portable.header["$EXTMAX"]
    assert low[0] <= min(xs) and max(xs) <= high[0]
    title = [i.text for i in made.items if isinstance(i, Text) and i.space == "paper" and i.medium != "picture"]
    assert set(map(printable, title)) <= {t.dxf.text for t in portable.modelspace().query("TEXT")}


def test_its_hatches_are_the_lines_that_the_sheet_clips(portable, detail):
    made = detail.sheet()
    found = [e for e in portable.modelspace().query("LINE") if tags(e)["role"] == "hatch"]
    assert len(found) > 200 and {e.dxf.layer for e in found} == {catalogue.load().layers(made.layers)["hatch"].name}
    flat = flatten(made, "dxf")
    lines = np.concatenate([r.lines for r in flat.strokes if isinstance(r.lines, np.ndarray)])
    tree = shapely.STRtree(shapely.linestrings(lines).tolist())
    middles = [made.to_paper(tuple((e.dxf.start + e.dxf.end) * UNIT[made.units] / 2)[:2]) for e in found]
    _, away = tree.query_nearest(shapely.points(middles), return_distance=True, all_matches=False)
    assert away.max() < 1e-6, "every line lies on one of the pattern"
    boxes = shapely.union_all([shapely.box(*b) for b in text_boxes(made)])
    ends = [shapely.LineString([made.to_paper(p) for p in ends_of(e, made)]) for e in found]
    assert not shapely.intersects(ends, boxes).any(), "and none runs through a text"


def ends_of(line, made):
    return [(p.x * UNIT[made.units], p.y * UNIT[made.units]) for p in (line.dxf.start, line.dxf.end)]


def text_boxes(made):
    from detailgen.sheet.lines import text_box

    return [text_box(t) for i in made.items if isinstance(i, Note) for t in i.lines]


def test_a_dimension_is_lines_and_a_text_in_one_group(portable, detail):
    dims = [i for i in detail.sheet().items if isinstance(i, Dim)]
    groups = {name: list(g) for name, g in portable.groups if name.startswith("DIM-")}
    assert len(groups) == len(dims) > 3
    for dim, group in zip(dims, groups.values(), strict=True):
        assert [e.dxf.text for e in group if e.dxftype() == "TEXT"] == [dim.text]
        assert all(float(tags(e)["value_mm"]) == pytest.approx(dim.value, abs=1e-3) for e in group)


def test_another_reader_finds_notes_and_dimensions_of_a_portable_drawing(detail, tmp_path):
    texts = {r["Text"] for r in gdal(written(detail, profile="portable"), tmp_path)}
    items = detail.sheet().items
    assert {i.text for i in items if isinstance(i, Dim)} <= texts
    assert {line.text for i in items if isinstance(i, Note) for line in i.lines} <= texts


# -- polygons and facts ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", PROFILES)
def test_another_reader_finds_every_ring_of_every_part_once_as_a_closed_line(detail, profile, tmp_path):
    made, section = detail.sheet(), detail.section()
    data = written(detail, profile=profile)
    found = {}
    for e in reread(data).modelspace().query("LWPOLYLINE"):
        if e.closed and tags(e).get("role") in ("outline", "shape"):
            found.setdefault(tags(e)["id"], []).append(shapely.Polygon(e.get_points("xy")))
    unit = UNIT[made.units]
    assert found.keys() == {p.id for p in section.parts}
    for part in section.parts:
        assert len(found[part.id]) == len(part.rings)
        whole = shapely.union_all(found[part.id])
        true = shapely.union_all([shapely.Polygon(r) for r in part.rings])
        assert shapely.affinity.scale(whole, unit, unit, origin=(0, 0)).symmetric_difference(true).area < 1e-6
    closed = [r["shape"] for r in gdal(data, tmp_path) if r["shape"].geom_type == "LineString" and r["shape"].is_ring]
    areas = np.array([shapely.Polygon(s).area * unit**2 for s in closed])
    for part in section.parts:
        for points in part.rings:
            assert np.isclose(areas, shapely.Polygon(points).area, rtol=1e-6).any(), part.id


def test_thin_fabrics_are_polygons_on_a_layer_that_is_not_plotted(detail):
    doc = reread(written(detail))
    fabric = next(p for p in detail.section().parts if p.role == "fabric")
    shape = next(e for e in doc.modelspace() if tags(e).get("id") == fabric.id and tags(e)["role"] == "shape")
    layer = doc.layers.get(shape.dxf.layer)
    assert layer.dxf.plot == 0 and not layer.is_off() and not layer.is_frozen()
    assert shapely.Polygon(shape.get_points("xy")).area > 0
    line = [e for e in doc.modelspace() if tags(e).get("id") == fabric.id and tags(e)["role"] == "outline"]
    assert {
        e.dxf.linetype if e.dxf.hasattr("linetype") else doc.layers.get(e.dxf.layer).dxf.linetype for e in line
    } == {"DASHED"}


def test_every_entity_of_a_part_says_what_the_part_does_in_the_roof(detail):
    section, doc = detail.section(), reread(written(detail))
    seen = set()
    for e in doc.modelspace():
        facts = tags(e)
        if facts.get("role") not in ("outline", "shape", "hatch", "fill") or facts.get("id") not in section.by_id:
            continue
        part = section[facts["id"]]
        seen.add(part.id)
        assert (facts["material"], facts["kind"], facts["part_role"]) == (part.material, part.kind, part.role)
        assert int(facts["order"]) == part.order and int(facts.get("step", 0)) == part.step
        assert float(facts.get("thickness_mm", 0)) == pytest.approx(part.thickness, abs=1e-3)
        assert (facts.get("watertight") == "yes") is part.watertight
    assert seen == set(section.by_id)


def test_hatches_follow_the_polygon_of_their_part_where_readers_bear_it(detail):
    count = {}
    for version in VERSIONS:
        hatches = [h for h in reread(written(detail, version=version)).modelspace().query("HATCH") if tags(h).get("id")]
        parts = [h for h in hatches if tags(h)["role"] == "hatch"]
        count[version] = sum(h.dxf.associative for h in parts)
        assert version == "R2018" or count[version] == len(parts) > 2
    assert count["R2018"] == 0


def test_line_types_beyond_the_four_that_simple_readers_know_have_own_names():
    rows = catalogue.load()
    lines = tuple(
        Stroke(ring((0, i), (90, i)), "outline", 0.25, dash=tuple(map(abs, t.dash)), linetype=name)
        for i, (name, t) in enumerate(rows.linetypes.items())
    )
    for units in UNIT:
        doc = reread(output.write(sheet(units=units, extra=lines), "dxf", catalogue=rows))
        names = {t.dxf.name for t in doc.linetypes} - {"ByBlock", "ByLayer", "Continuous"}
        plain = {"DASHED", "HIDDEN", "CENTER", "DASHDOT"}
        assert plain <= names and len(names - plain) == len(rows.linetypes) - 5
        assert all(re.fullmatch("DETAILGEN-[A-Z]+", n) for n in names - plain)


def test_hatched_areas_of_every_version_are_those_of_the_sheet(detail, tmp_path):
    made = detail.sheet()
    full = (made.k / UNIT[made.units]) ** 2
    words = shapely.union_all([shapely.box(*b).buffer(MARGIN, join_style="mitre") for b in boxes_of_words(made)])
    hatches = [a for a in made.items if isinstance(a, Area) and a.medium != "picture" and a.families]
    asked = sorted((named(a), shapely.difference(shapely.Polygon(a.rings[0]), words).area * full) for a in hatches)
    cut = sum(area_of(a) * full for a in hatches) - sum(a for _, a in asked)
    assert cut * UNIT[made.units] ** 2 > 1000.0, "words stand on hatches"
    for version in VERSIONS:
        rows = gdal(written(detail, version=version), tmp_path, "CP1252" if version == "R2000" else "UTF-8")
        hatches = [r for r in rows if r["SubClasses"].endswith("AcDbHatch") and r["Text"] != "SOLID"]
        found = sorted((r["Text"], r["shape"].area) for r in hatches)
        assert [f[0] for f in found] == [a[0] for a in asked]
        hair = 0.02 * made.k * 500.0  # an island keeps a hair of the boundary
        assert [f[1] for f in found] == pytest.approx([a[1] for a in asked], rel=1e-5, abs=hair)


def boxes_of_words(made):
    lines = [t for i in made.items for t in texts_in(i)]
    return [text_box(t) for t in lines if t.space == "model" and t.text]


def test_a_word_on_a_hatch_has_a_closed_outline_that_the_hatch_follows(detail):
    """Texts are holes in the hatch, as a reader of its own sees; the hatch hangs on the part and on each hole."""
    doc = reread(written(detail))
    hatches = [h for h in doc.modelspace().query("HATCH") if tags(h).get("role") == "hatch" and len(h.paths) > 1]
    assert hatches
    for h in hatches:
        assert h.dxf.associative == 1 and h.dxf.hatch_style == 0
        for path, role in zip(h.paths, ["outline", *["clear"] * (len(h.paths) - 1)], strict=True):
            (source,) = (doc.entitydb[s] for s in path.source_boundary_objects)
            assert tags(source)["role"] in (role, "shape") and tags(source)["id"] == tags(h)["id"]
            ring = [(x, y) for x, y, *_ in source.get_points()]
            assert np.allclose(sorted(ring), sorted((x, y) for x, y, _ in path.vertices))


def test_no_line_of_a_hatch_runs_through_a_word_in_the_drawing(detail):
    """The reader traces the pattern of the file; what it traces is held against the words."""
    made = detail.sheet()
    words = shapely.union_all([shapely.box(*b) for b in boxes_of_words(made)])
    doc, unit, origin = reread(written(detail)), UNIT[made.units] / made.k, np.array(made.origin)
    traced = 0
    for h in doc.modelspace().query("HATCH"):
        if not h.dxf.solid_fill and len(h.paths) > 1:
            lines = [((a.x, a.y), (b.x, b.y)) for a, b in hatching.hatch_entity(h)]
            traced += len(lines)
            assert shapely.intersection(shapely.multilinestrings(np.array(lines) * unit + origin), words).length < 0.05
    assert traced > 50


# -- chosen ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"profile": "portble"}, "did you mean 'portable'"),
        ({"version": "R2011"}, "allowed are R2000, R2010"),
        ({"style": "colour"}, "allowed are line, presentation"),
    ],
)
def test_an_unknown_choice_is_refused_with_what_is_allowed(wrong, words):
    with pytest.raises(InputError, match=words):
        Options(**wrong)


CHOSEN = """
[project]
name = "Hall"
[sheet]
dxf_profile = "portable"
dxf_version = "R2018"
[buildup.roof]
system = "inverted"
slope = "2 %"
deck = { kind = "concrete", thickness = "200 mm" }
layers = [{ material = "topping" }, { material = "membrane" }, { material = "xps", thickness = "150 mm" },
  { material = "filter-fabric" }, { material = "gravel", thickness = "60 mm" }]
[[detail]]
id = "C1"
kind = "skylight-curb"
buildup = "roof"
distance_to_drain = "3 m"
"""


def test_the_detail_file_chooses_and_the_command_overrides(tmp_path):
    file = tmp_path / "hall.toml"
    file.write_text(CHOSEN)
    project = detailgen.load(file)
    doc = reread(project["C1"].render("dxf"))
    assert doc.acad_release == "R2018" and not doc.modelspace().query("DIMENSION")
    doc = reread(project.on_paper(dxf_profile="full", dxf_version="R2013")["C1"].render("dxf"))
    assert doc.acad_release == "R2013" and doc.modelspace().query("DIMENSION")
    file.write_text(CHOSEN.replace('"portable"', '"portabel"').replace('"R2018"', '"2018"'))
    with pytest.raises(InputError) as refused:
        detailgen.load(file)
    said = str(refused.value)
    assert "sheet.dxf_profile" in said and "'full'" in said and "sheet.dxf_version" in said


ANYWHERE = """
import hashlib
import detailgen
from detailgen import output
project = detailgen.load({spec!r})
for profile in output.PROFILES:
    for version in output.VERSIONS:
        data = project.on_paper(dxf_profile=profile, dxf_version=version)["C1"].render("dxf")
        print(profile, version, hashlib.sha256(data).hexdigest())
for format in ("png", "pdf", "svg"):
    print(format, hashlib.sha256(project.on_paper(style="presentation", dpi=72)["C1"].render(format)).hexdigest())
"""


def test_two_machines_write_every_version_and_style_alike(tmp_path):
    script = ANYWHERE.format(spec=str(ROOT / "specs" / "ferry-hall.toml"))
    said = []
    for machine in (("3", "UTC", "C"), ("77", "Pacific/Chatham", "tr_TR.UTF-8")):
        home = tmp_path / machine[0]
        home.mkdir()
        said.append(elsewhere(home, *machine, script))
        assert list(home.rglob("*")) == []
    assert said[0] == said[1] and len(set(said[0].splitlines())) == 11


def test_the_command_writes_what_it_is_asked_for_and_refuses_what_it_does_not_know(tmp_path, capfd):
    from detailgen.cli import run

    file, out = tmp_path / "hall.toml", tmp_path / "out"
    file.write_text(CHOSEN)
    how = ["--dxf-profile", "FULL", "--dxf-version", "r2013", "--style", "presentation", "--format", "dxf,svg"]
    assert run(["draw", str(file), "--out", str(out), *how]) in (0, 1)
    doc = ezdxf.readfile(out / "C1.dxf")
    assert doc.acad_release == "R2013" and doc.modelspace().query("DIMENSION")
    assert "#c0c2c8" in (out / "C1.svg").read_text()
    capfd.readouterr()
    assert run(["draw", str(file), "--out", str(out), "--dxf-profile", "portabel"]) == 2
    assert "did you mean 'portable'" in capfd.readouterr().err


def test_the_extents_hold_whole_letters(detail):
    made, doc = detail.sheet(), reread(written(detail))
    corners = (doc.header[name] for name in ("$EXTMIN", "$EXTMAX"))
    low, high = (made.to_paper((x * UNIT[made.units], y * UNIT[made.units]))[1] for x, y, _ in corners)
    boxes = text_boxes(made)
    assert low <= min(b[1] for b in boxes) + 0.05 and high >= max(b[3] for b in boxes) - 0.05
