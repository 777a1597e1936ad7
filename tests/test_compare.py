"""compare: what changed between two versions of a detail file, in tables and drawn, the old under the new."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest
import shapely
from reviewed import written

from detailgen import cli
from detailgen.catalogue.rulebook import measure_words
from detailgen.catalogue.rulerows import Unit
from detailgen.measure import Measure, Measures
from detailgen.output.guests import import_ezdxf
from detailgen.project import Project, load
from detailgen.report.compared import Version, compared
from detailgen.sheet import review
from detailgen.sheet.review import texts_of
from detailgen.sheet.style import drafting
from detailgen.units import METRIC, format_level

ROOT = Path(__file__).parent.parent
GREY = "#8a8a8a"


def changed(folder: Path, *pairs: tuple[str, str], name: str = "new.toml") -> Path:
    """The roof with some words in place of others."""
    text = written(folder).read_text(encoding="utf-8")
    for a, b in pairs:
        assert a in text
        text = text.replace(a, b)
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


THICKER = ('{ material = "xps", thickness = "150 mm" }', '{ material = "xps", thickness = "200 mm" }')


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Project, Project]:
    """The roof, and the same with boards that are 50 mm thicker under parapets of the same height."""
    folder = tmp_path_factory.mktemp("both")
    return load(written(folder)), load(changed(folder, THICKER))


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = cli.run(["compare", *map(str, arguments)])
    said = capsys.readouterr()
    return code, said.out, said.err


# ------------------------------------------------------------------------------------------ in words
def test_a_file_compared_with_itself_has_not_changed(tmp_path: Path, capsys) -> None:
    path = written(tmp_path)
    code, out, err = run(capsys, path, path, "--out", tmp_path / "out")
    assert code == 0 and "nothing changed in 2 details" in out and not err
    assert not (tmp_path / "out").exists(), "nothing to draw"


def test_thicker_boards_under_the_same_parapet_lower_the_flashing_by_as_much(both, capsys) -> None:
    old, new = (p.source.name for p in both)
    code, out, _ = run(capsys, old, new, "--json")
    document = json.loads(out)
    detail, other = document["details"]
    by = {(c["what"], c["id"]): c for c in detail["changes"]}
    assert by["part", "xps"]["difference"] == pytest.approx(50.0)
    assert by["level", "finish"]["difference"] == pytest.approx(50.0)
    assert by["measure", "flashing_height"]["difference"] == pytest.approx(-50.0, abs=0.01)
    assert ("level", "deck") not in by and ("measure", "lap_field") not in by
    assert detail["redrawn"] and document["changed"]
    assert by["verdict", "eu-edge-height"]["new"].startswith("fails (note)"), "under the 100 mm of a roof edge"
    assert detail["worse"] == [], "the office's 300 mm failed before"
    assert other["worse"] == ["eu-spill-height"], "the masonry parapet now lets water in under 150 mm"
    assert code == 1 and document["worse"]


def test_the_levels_of_two_versions_stand_side_by_side_on_the_project_s_zero(both, capsys) -> None:
    _, out, _ = run(capsys, *(p.source.name for p in both), "--detail", "P1")
    before, after = (p["P1"].section().level("finish").point[1] + 12340.0 for p in both)
    [line] = [row for row in out.splitlines() if row.startswith("level") and "finished surface" in row]
    assert line.split()[-4:] == [format_level(before, METRIC), format_level(after, METRIC), "+50", "mm"]


def test_a_rule_that_fails_now_and_held_before_is_said_and_is_the_exit_code(tmp_path: Path, capsys) -> None:
    written(tmp_path)
    tall = changed(tmp_path, ('above_deck = "560 mm"', 'above_deck = "760 mm"'), name="tall.toml")
    code, out, _ = run(capsys, tall, tmp_path / "hall.toml", "--detail", "P1")
    assert code == 1 and "eu-flashing-height: fails now, required" in out
    assert "holds, limit 300 mm" in out and "fails (required), limit 300 mm" in out
    assert run(capsys, tmp_path / "hall.toml", tall, "--detail", "P1")[0] == 0, "the other way it is better"


def test_details_of_one_file_only_are_said_by_name(tmp_path: Path, capsys) -> None:
    new = changed(tmp_path, ('id = "P2"', 'id = "P9"'))
    code, out, _ = run(capsys, tmp_path / "hall.toml", new)
    assert f"only in {tmp_path / 'hall.toml'}: P2  Edge over the quay" in out
    assert f"only in {new}: P9  Edge over the quay" in out
    assert "not changed: P1" in out
    assert code == 1 and "P9: eu-flashing-height fails, required" in out


def test_a_new_title_alone_is_a_change_of_the_input(tmp_path: Path, capsys) -> None:
    new = changed(tmp_path, ("Edge over the quay", "Edge over the water"))
    code, out, _ = run(capsys, tmp_path / "hall.toml", new, "--out", tmp_path / "out")
    assert code == 0 and "Edge over the quay  Edge over the water" in out and "not changed: P1" in out
    assert not (tmp_path / "out").exists(), "its drawing would show no difference"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["hall.toml", "hal.toml"], "hal.toml"),
        (["hall.toml", "hall.toml", "--detail", "P3"], "neither file has a detail of that id"),
        (["hall.toml", "hall.toml", "--format", "json"], "is no format; allowed: dxf, png, pdf, svg"),
        (["hall.toml", "hall.toml", "--markdown", "folder"], "is a folder"),
        (["hall.toml", "hall.toml", "--rules", "europaen"], "did you mean 'european'"),
    ],
)
def test_bad_input_is_one_message(tmp_path: Path, monkeypatch, capsys, arguments: list[str], said: str) -> None:
    written(tmp_path)
    (tmp_path / "folder").mkdir()
    monkeypatch.chdir(tmp_path)
    code, out, err = run(capsys, *arguments)
    assert code == 2 and said in err and not out and "Traceback" not in err


def test_measures_of_every_unit_are_compared(both) -> None:
    """A mass, an area and a count that the file declares, beside what the section shows."""
    old, new = both
    units = get_args(Unit)

    def version(p: Project, value: float) -> Version:
        found = {f"u{k}": Measure(id, value, unit) for k, (id, unit) in enumerate(zip(ids, units, strict=True))}
        return Version(p["P1"].section(), Measures({m.id: m for m in found.values()}), (), 0.0, {})

    ids = [next(id for id, w in measure_words().items() if w.unit == unit) for unit in units]
    found = compared(version(old, 1.0), version(new, 2.0), METRIC)
    assert [c.id for c in found.changes if c.what == "measure"] == sorted(ids, key=list(measure_words()).index)
    same = compared(version(old, 1.0), version(old, 1.0), METRIC)
    assert not same.changed


# ------------------------------------------------------------------------------------------ drawn
def levels_of(both: tuple[Project, Project], id: str) -> dict[str, str]:
    old, new = both
    was = {v.id: v.point[1] for v in old[id].section().levels}
    return {
        v.id: format_level(was[v.id] + 12340.0, METRIC)
        for v in new[id].section().levels
        if abs(was[v.id] - v.point[1]) > 0.01
    }


@pytest.mark.parametrize("id", ["P1", "P2"])  # P2 is mirrored
def test_old_under_new_has_no_fault_for_the_reviewer_of_sheets(both, id: str) -> None:
    old, new = both
    sheet = new[id].over(old[id], levels_of(both, id))
    bare = {(f.kind, f.what) for f in new[id].review()}
    assert not sheet.overflow
    assert not [str(f) for f in review(sheet, new[id].section(sheet.k)) if (f.kind, f.what) not in bare]


@pytest.mark.parametrize("id", ["P1", "P2"])
def test_grey_lines_of_the_dxf_are_outlines_that_only_the_old_section_has(both, id: str) -> None:
    old, new = both
    sheet = new[id].over(old[id], levels_of(both, id))
    doc = import_ezdxf().read(io.StringIO(new[id].render("dxf", sheet).decode("utf-8")))
    [layer] = [x for x in doc.layers if x.description.startswith("an earlier version")]
    lines = [
        shapely.LineString([tuple(p)[:2] for p in e.get_points("xy")])
        for e in doc.modelspace()
        if e.dxf.layer == layer.dxf.name
    ]
    assert lines and layer.dxf.color == 8 and layer.dxf.linetype == "HIDDEN"

    def outline(p: Project) -> shapely.Geometry:
        return shapely.union_all([shapely.LinearRing(r) for x in p[id].section().parts for r in x.rings])

    drawn = shapely.union_all(lines)
    assert shapely.difference(drawn, outline(old).buffer(0.01)).length < 0.1, "every grey line was there before"
    assert shapely.intersection(drawn, outline(new).buffer(0.01)).length < 0.1 * drawn.length
    lost = shapely.difference(outline(old), outline(new).buffer(3.0))
    missing = shapely.difference(lost, drawn.buffer(0.05))
    thin = shapely.union_all([shapely.Polygon(r) for p in new[id].section().parts if p.thin for r in p.rings])
    assert shapely.difference(missing, thin.buffer(6.0)).length < 0.02 * lost.length, "and none is left out"


def test_levels_that_changed_are_framed_and_say_what_they_were(both) -> None:
    old, new = both
    was = levels_of(both, "P1")
    sheet = new["P1"].over(old["P1"], was)
    frames = [i for i in sheet.items if getattr(i, "closed", False) and i.layer == "symb" and len(i.points) == 4]
    boxed = [f for f in frames if f.width == drafting().pen.tick]
    assert len(boxed) == len(was) > 0
    for value in was.values():
        [text] = [t for t in texts_of(sheet) if value in t.text]
        around = [shapely.Polygon(f.points).contains(shapely.Point(text.at).buffer(0.1)) for f in boxed]
        assert sum(around) == 1, f"{value} stands in one frame"
    assert "+12.340" not in was.values(), "the deck did not move"


def test_compare_writes_every_format_through_a_real_process(tmp_path: Path) -> None:
    new = changed(tmp_path, THICKER)
    command = [sys.executable, "-m", "detailgen", "compare", "hall.toml", new.name, "--detail", "P1"]
    more = ["--out", "out", "--format", "png,pdf,svg,dxf", "--markdown", "changes.md"]
    done = subprocess.run(
        [*command, *more], cwd=tmp_path, capture_output=True, text=True, env={"PYTHONPATH": str(ROOT), "PATH": ""}
    )
    assert done.returncode == 0, done.stderr
    files = {p.name for p in (tmp_path / "out").iterdir() if not p.name.startswith(".")}
    assert files == {f"P1-compared.{f}" for f in ("png", "pdf", "svg", "dxf")}
    svg = (tmp_path / "out" / "P1-compared.svg").read_text(encoding="utf-8")
    colours = {c for c in svg.replace('"', " ").split() if c.startswith("#")}
    assert GREY in colours
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours), "grey and black, no colour"
    text = (tmp_path / "changes.md").read_text(encoding="utf-8")
    assert text.startswith("# hall.toml and new.toml") and "| level | finished surface" in text
