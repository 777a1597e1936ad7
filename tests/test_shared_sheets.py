"""Several details on one sheet: a grid of views, each with its notes, under one title block."""

from __future__ import annotations

import io
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
import shapely
from test_bad_input import GOOD, refusal

import detailgen
from detailgen.output import Options, write
from detailgen.sheet.flat import flatten
from detailgen.sheet.model import Text
from detailgen.sheet.review.several import review_several

SPECS = Path(__file__).resolve().parents[1] / "specs"
TWO = GOOD + GOOD[GOOD.index("[[detail]]") :].replace('"P1"', '"P2"')
SHARED = '\n[[shared_sheet]]\nid = "S"\ndetails = ["P1", "P2"]\nsize = "A1"\n'


@pytest.fixture(scope="module")
def halls():
    return {n: detailgen.load(SPECS / f"{n}.toml") for n in ("ferry-hall", "ferry-hall-imperial")}


@pytest.fixture(scope="module")
def openings(halls):
    return halls["ferry-hall"].shared_sheets["SK"]


@pytest.fixture(scope="module")
def mixed(halls):
    return halls["ferry-hall-imperial"].shared_sheets["PA"]


def words(sheet, medium="picture"):
    return [t.text for t in flatten(sheet, medium).texts]


def test_four_details_share_one_title_block_one_caution_block_and_one_set_of_general_notes(openings):
    found = Counter(words(openings.sheet()))
    for once in ("Legal owner", "Caution", "General notes", "Openings of the roof", *openings.table.details):
        assert found[once] == 1, once
    assert found["Scale 1:10"] == 4 and found["1:10"] == 1
    assert sum(t.startswith("Dimensions in millimetres") or " Dimensions in millimetres" in t for t in found) == 1


def test_what_is_true_of_some_details_only_names_them_in_the_general_notes(openings):
    said = " ".join(words(openings.sheet()))
    assert "C3: Rake: drawn at the low end" in said
    assert "C1, C2, C3: Clear opening along the slope of the glass" in said
    assert not any(f"{id}: Levels refer" in said for id in openings.table.details)


def test_every_view_has_all_that_the_sheet_of_its_own_has(openings):
    for detail, view in zip(openings.details, openings.sheet().views, strict=True):
        alone = detail.sheet()
        names = [{p for n in s.items for p in getattr(n, "parts", ())} for s in (view, alone)]
        assert names[0] == names[1]
        ids = [{i.id for i in s.items if hasattr(i, "axis")} for s in (view, alone)]
        assert ids[0] == ids[1]


@pytest.mark.parametrize("name", ["ferry-hall", "ferry-hall-imperial"])
def test_a_reviewer_sends_no_shared_sheet_of_the_demonstration_back(halls, name):
    for shared in halls[name].shared_sheets.values():
        assert shared.sheet().overflow == ()
        assert shared.review() == ()


def test_a_fault_in_one_view_and_one_between_two_views_are_found(openings):
    sheet, rows = openings.sheet(), openings.project.context.catalogue
    builds = [(d.section(v.k), d.section(), d.settings) for d, v in zip(openings.details, sheet.views, strict=True)]
    first, *others = sheet.views
    note = next(i for i in others[0].items if getattr(i, "lines", None))
    strange = Text(note.lines[0].at, "over there", 2.5, "note")
    across = replace(sheet, views=(replace(first, items=(*first.items, strange)), *others))
    assert any(
        f.kind == "text on text"
        for f in review_several(across, builds, openings.settings, rows)
    )
    cut = next(i for i in first.items if getattr(i, "lines", None) and len(i.leader) > 1)
    moved = replace(cut, leader=((cut.leader[0][0] + 9.0, cut.leader[0][1] + 9.0), *cut.leader[1:]))
    inside = replace(sheet, views=(replace(first, items=tuple(moved if i is cut else i for i in first.items)), *others))
    assert any(
        f.kind == "tip beside its part" and "C1:" in f.what
        for f in review_several(inside, builds, openings.settings, rows)
    )


def test_the_key_of_a_shared_sheet_names_the_materials_of_all_its_details(halls):
    hall = halls["ferry-hall"]
    shared = replace(hall, paper=hall.paper.model_copy(update={"key": True})).shared_sheets["SK"]
    assert shared.review() == ()
    said = words(shared.sheet())
    assert said.count("Materials") == 1
    assert any("polyisocyanurate" in t for t in said)  # in the lid of the hatch only
    lost = replace(
        shared.sheet(), items=tuple(i for i in shared.sheet().items if "polyiso" not in getattr(i, "text", ""))
    )
    builds = [(d.section(v.k), d.section(), d.settings) for d, v in zip(shared.details, lost.views, strict=True)]
    found = review_several(lost, builds, shared.settings, hall.context.catalogue)
    assert {f.kind for f in found} == {"material key wrong"}


def facts(entity):
    if not entity.has_xdata("DETAILGEN"):
        return {}
    return dict(v.split("=", 1) for code, v in entity.get_xdata("DETAILGEN") if code == 1000 and "=" in v)


@pytest.mark.parametrize("profile", ["full", "portable"])
def test_every_detail_of_a_drawing_file_is_at_full_size_whatever_its_scale(mixed, profile):
    sheet = mixed.sheet()
    assert len({v.k for v in sheet.views}) == 2
    data = write(sheet, "dxf", catalogue=mixed.project.context.catalogue, options=Options(profile=profile))
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert not doc.audit().errors
    for detail in mixed.details:
        rings = {}
        for e in doc.modelspace().query("LWPOLYLINE"):
            f = facts(e)
            if f.get("detail") == detail.id and f.get("role") in ("outline", "shape") and e.closed:
                rings.setdefault(f["id"], []).append(shapely.Polygon([p[:2] for p in e.get_points()]))
        for part in detail.section().parts:
            true = sum(shapely.Polygon(r).area for r in part.rings) / 25.4**2
            assert sum(r.area for r in rings[part.id]) == pytest.approx(true, rel=1e-4), part.id


def test_each_view_has_a_locked_window_at_its_own_scale(mixed):
    sheet = mixed.sheet()
    doc = ezdxf.read(io.StringIO(write(sheet, "dxf", catalogue=mixed.project.context.catalogue).decode("utf-8")))
    layout = doc.layouts.get(doc.layouts.names_in_taborder()[1])
    windows = [v for v in layout.viewports() if v.dxf.id != 1]
    assert sorted(v.dxf.view_height / v.dxf.height for v in windows) == pytest.approx(sorted(v.k for v in sheet.views))
    assert all(v.dxf.flags & 0x4000 for v in windows)
    for view, window in zip(sheet.views, windows, strict=True):  # the section lies in its window as on the sheet
        x0, y0, x1, y1 = view.cell
        on_paper = view.to_paper((0.0, 0.0))
        at = [(on_paper[0] - (x0 + x1) / 2) * view.k / 25.4, (on_paper[1] - (y0 + y1) / 2) * view.k / 25.4]
        target = (window.dxf.view_center_point.x + at[0], window.dxf.view_center_point.y + at[1])
        deck = [
            e
            for e in doc.modelspace().query("LWPOLYLINE")
            if facts(e).get("detail") == view.id and facts(e).get("id") == "deck" and e.closed
        ]
        points = [p[:2] for p in deck[0].get_points()]
        ring = next(p for p in view.parts if p.id == "deck").rings[0]
        moved = [(target[0] + x / 25.4, target[1] + y / 25.4) for x, y in ring]
        assert shapely.hausdorff_distance(shapely.Polygon(points), shapely.Polygon(moved)) < 1e-3


def test_pictures_and_pages_hold_every_view_and_are_the_same_each_time(openings):
    rows = openings.project.context.catalogue
    svg = write(openings.sheet(), "svg", catalogue=rows)
    assert all(f">{id}<" in svg.decode() for id in openings.table.details)
    for style in ("line", "presentation"):
        options = Options(dpi=60, style=style)
        assert write(openings.sheet(), "png", catalogue=rows, options=options)[:4] == b"\x89PNG"
    assert write(openings.sheet(), "pdf", catalogue=rows) == write(openings.sheet(), "pdf", catalogue=rows)


WRONG = {
    "an unknown detail": (SHARED.replace('"P2"', '"P22"'), "shared_sheet[1].details[2]", "no detail of that id", "P2"),
    "a detail twice": (SHARED.replace('"P2"', '"P1"'), "shared_sheet[1].details[2]", "already", ""),
    "an id that a detail has": (SHARED.replace('"S"', '"p1"'), "shared_sheet[1].id", "taken", ""),
    "an id that is no file name": (SHARED.replace('"S"', '"a/b"'), "shared_sheet[1].id", "name of a file", ""),
    "one detail only": (SHARED.replace(', "P2"', ""), "shared_sheet[1].details", "2", ""),
    "an unknown size": (SHARED.replace("A1", "A11"), "shared_sheet[1].size", "no sheet size", "A1"),
    "a strange scale": (SHARED + 'scale = ["1:5", "1:7"]\n', "shared_sheet[1].scale[2]", "no scale", ""),
    "too few scales": (SHARED + 'scale = ["1:5"]\n', "shared_sheet[1].scale", "one for each", ""),
    "three columns": (SHARED + "columns = 3\n", "shared_sheet[1].columns", "", ""),
    "the wrong table": (SHARED.replace("shared_sheet", "sheet"), "sheet", "[[shared_sheet]]", ""),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_what_is_wrong_with_a_shared_sheet_is_said_in_one_message(tmp_path, wrong):
    more, key, message, hint = WRONG[wrong]
    [problem] = refusal(tmp_path, TWO + more).problems
    assert problem.key == key and message in problem.message and hint in problem.hint and problem.line > 0


def run(*args, cwd):
    return subprocess.run(
        [sys.executable, "-m", "detailgen", *args], cwd=cwd, capture_output=True, text=True, timeout=120
    )


def test_draw_writes_the_shared_sheet_asked_for_and_says_what_does_not_fit(tmp_path):
    (tmp_path / "hall.toml").write_text(TWO + SHARED.replace("A1", "A4") + 'scale = "1:5"\n')
    done = run("draw", "hall.toml", "--sheet", "S", "--format", "svg,json", cwd=tmp_path)
    assert done.returncode == 0 and done.stdout.splitlines() == ["out/S.svg"]
    assert "does not fit on the sheet: P1: the drawing is" in done.stderr and "too wide" in done.stderr
    wrong = run("draw", "hall.toml", "--sheet", "T", cwd=tmp_path)
    assert wrong.returncode == 2 and "no shared sheet of that id; the file has S" in wrong.stderr


def test_a_detail_asked_for_by_name_comes_without_the_shared_sheets(tmp_path):
    (tmp_path / "hall.toml").write_text(TWO + SHARED)
    done = run("draw", "hall.toml", "--detail", "P1", "--format", "svg", cwd=tmp_path)
    assert done.stdout.splitlines() == ["out/P1.svg"]
