"""Marks of findings on the sheet: numbered hexagons at the places that were measured, and their table."""

from __future__ import annotations

import io
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from reviewed import written

from detailgen.output.guests import import_ezdxf
from detailgen.project import Project, load
from detailgen.sheet.places import hexagon, places
from detailgen.sheet.review import review, texts_of

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Project:
    return load(written(tmp_path_factory.mktemp("hall")))


@pytest.mark.parametrize("id", ["P1", "P2"])
@pytest.mark.parametrize("which", ["failed", "all"])
def test_a_sheet_with_marks_has_no_fault_that_it_has_not_without(hall: Project, id: str, which: str) -> None:
    bare = {(f.kind, f.what) for f in hall[id].review()}
    detail = hall.on_paper(marks=which)[id]
    assert detail.sheet().marks and not detail.sheet().overflow
    assert not [str(f) for f in detail.review() if (f.kind, f.what) not in bare]


@pytest.mark.parametrize("id", ["P1", "P2"])
def test_every_failed_finding_has_a_mark_between_the_points_of_its_measure(hall: Project, id: str) -> None:
    detail = hall.on_paper(marks="failed")[id]
    sheet, found = detail.sheet(), detail.findings()
    marked = {i: m for m in sheet.marks for i in m.findings}
    failed = [i for i, f in enumerate(found) if f.verdict == "fails" and f.a is not None]
    assert failed and sorted(marked) == failed
    assert [m.number for m in sheet.marks] == list(range(1, len(sheet.marks) + 1))
    for i in failed:
        assert math.dist(marked[i].a, sheet.to_paper(found[i].a)) < 1e-9
        assert math.dist(marked[i].b, sheet.to_paper(found[i].b)) < 1e-9


def test_the_flashing_height_of_a_low_parapet_is_marked_on_its_flashing(hall: Project) -> None:
    detail = hall.on_paper(marks="failed")["P1"]
    sheet, section = detail.sheet(), detail.section()
    [place] = [m for m in sheet.marks if detail.findings()[m.findings[0]].rule.measure == "flashing_height"]
    top, finish = (section.level(k).point[1] for k in ("flashing-top", "finish"))
    assert abs(math.dist(place.a, place.b) - (top - finish) / sheet.k) < 0.2  # 0.2 mm on paper: 1 mm of the roof
    assert {place.a[1], place.b[1]} == {max(place.a[1], place.b[1]), min(place.a[1], place.b[1])}


def test_findings_of_one_measure_share_a_mark_and_the_worst_have_the_lowest_numbers(hall: Project) -> None:
    found = hall["P1"].findings()
    some = places(found, "all")
    judged = [[found[i].verdict for i in p.findings] for p in some]
    heights = {p.number for p in some for i in p.findings if found[i].rule.measure == "flashing_height"}
    assert len(heights) == 1
    firsts = [v[0] for v in judged]
    assert firsts == sorted(firsts, key=["fails", "cannot tell", "holds"].index)


def test_the_table_of_findings_says_what_failed_and_the_general_notes_no_longer_do(hall: Project) -> None:
    def words(marks: str) -> str:
        return " ".join(t.text for t in texts_of(hall.on_paper(marks=marks)["P1"].sheet()))

    bare, marked = words("none"), words("failed")
    assert "Does not hold" in bare and "Findings" not in bare
    assert "Does not hold" not in marked and "Findings" in marked
    assert "Fails  eu-flashing-height" in marked.replace("Fails eu", "Fails  eu")
    assert "Fails, advised only" in marked


def test_a_sheet_without_marks_is_the_sheet_that_it_always_was(hall: Project) -> None:
    sheet = hall["P1"].sheet()
    assert not sheet.marks and not [i for i in sheet.items if i.layer == "finding"]


def test_the_reviewer_of_sheets_finds_a_mark_that_covers_words_or_another_mark(hall: Project) -> None:
    sheet = hall.on_paper(marks="failed")["P1"].sheet()
    first, second, *rest = sheet.marks
    note = next(t for t in texts_of(sheet) if t.layer == "note" and len(t.text) > 8)
    on_words = replace(sheet, marks=(replace(first, at=(note.at[0] + 2, note.at[1])), second, *rest))
    assert "mark on text" in {f.kind for f in review(on_words)}
    on_mark = replace(sheet, marks=(replace(first, at=second.at), second, *rest))
    assert "marks overlap" in {f.kind for f in review(on_mark)}


def test_marks_stand_in_the_dxf_on_a_layer_of_their_own(hall: Project) -> None:
    ezdxf = import_ezdxf()
    detail = hall.on_paper(marks="failed")["P1"]
    doc = ezdxf.read(io.StringIO(detail.render("dxf").decode("utf-8")))
    [layer] = [x.dxf.name for x in doc.layers if x.description.startswith("numbered marks")]
    rings = [e for e in doc.modelspace() if e.dxf.layer == layer and e.dxftype() == "LWPOLYLINE" and e.closed]
    assert len(rings) == len(detail.sheet().marks)
    assert {len(e) for e in rings} == {6}, "hexagons"


def test_a_hexagon_has_six_equal_sides() -> None:
    ring = hexagon((3.0, 4.0), 2.0)
    assert all(abs(math.dist(a, b) - 2.0) < 1e-12 for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def test_draw_marks_through_a_real_process(tmp_path: Path) -> None:
    path = written(tmp_path)
    command = [sys.executable, "-m", "detailgen", "draw", str(path), "--detail", "P1", "--marks", "--format", "svg"]
    done = subprocess.run([*command, "--out", str(tmp_path / "out")], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 1, "a required rule fails"
    assert "Findings</text>" in (tmp_path / "out" / "P1.svg").read_text(encoding="utf-8")
