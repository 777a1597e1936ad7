"""Layers cut back in steps at the field's end: seen in the drawing, unknown to every measure."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest
import shapely

import detailgen
from detailgen.output import write
from detailgen.section.model import mirrored
from detailgen.sheet.model import Area, Stroke
from detailgen.sheet.peel import as_shown, peel_of, peeled

SPECS = Path(__file__).resolve().parents[1] / "specs"
HALLS = {name: detailgen.load(SPECS / f"{name}.toml") for name in ("ferry-hall", "ferry-hall-imperial")}


def hall(name="ferry-hall", **paper):
    made = HALLS[name]
    return replace(made, paper=made.paper.model_copy(update={"peel": True, **paper}))


def reach(section, id):
    return max(x for r in section[id].rings for x, _ in r)


def end_of(detail):
    return peel_of(detail.section(), detail.sheet().k)


@pytest.mark.parametrize("id", ["P1", "C1", "F1", "W1", "E1"])
def test_each_layer_ends_a_step_before_the_one_under_it_and_the_deck_goes_on(id):
    detail = hall()[id]
    section, k = detail.section(), detail.sheet().k
    shown = as_shown(section, section, k)
    ends = [reach(shown, layer) for layer in end_of(detail).ends]
    assert len(ends) > 4
    steps = [(a - b) / k for a, b in zip([section.frame[2], *ends], ends, strict=False)]
    assert all(2.0 <= step <= 5.0 + 1e-6 for step in steps)
    assert reach(shown, "deck") == reach(section, "deck")
    for part in shown.parts:  # nothing grows and nothing is lost
        true = shapely.union_all([shapely.Polygon(r) for r in section[part.id].rings])
        assert shapely.union_all([shapely.Polygon(r) for r in part.rings]).difference(true.buffer(1e-3)).area < 1e-6
    assert [p.id for p in shown.parts] == [p.id for p in section.parts]


def test_what_ends_before_the_first_step_stays_as_it_is():
    detail = hall()["P1"]
    section = detail.section()
    shown, whole = as_shown(section, section, detail.sheet().k), end_of(detail).whole
    kept = [p.id for p in section.parts if reach(section, p.id) < whole]
    assert {"coping", "flashing"} <= set(kept)
    assert all(shown[id].rings == section[id].rings for id in kept)


@pytest.mark.parametrize("name", list(HALLS))
def test_no_measure_and_no_finding_hears_of_it(name):
    whole, cut = HALLS[name]["P4"], hall(name)["P4"]
    assert cut.section() == whole.section()
    assert [(f.verdict, f.measured) for f in cut.findings()] == [(f.verdict, f.measured) for f in whole.findings()]
    values = [{i.id: i.value for i in d.sheet().items if hasattr(i, "value")} for d in (whole, cut)]
    assert values[0] == values[1]


@pytest.mark.parametrize(("name", "id"), [
    ("ferry-hall", "P1"), ("ferry-hall", "C3"), ("ferry-hall", "F1"), ("ferry-hall-imperial", "P6"),
    ("ferry-hall-imperial", "W2"),
])  # fmt: skip
def test_a_reviewer_finds_every_leader_on_its_part_of_a_peeled_roof(name, id):
    detail = hall(name)[id]
    assert detail.sheet().peeled and not detail.sheet().overflow
    assert detail.review() == ()


def test_the_stem_of_the_build_up_goes_through_all_its_layers():
    detail = hall()["P1"]
    sheet, whole = detail.sheet(), end_of(detail).whole
    flag = next(n for n in sheet.items if getattr(n, "more", ()))
    assert all(sheet.to_section(p)[0] < whole for p in flag.leader[:1])


def test_the_break_line_stays_on_the_deck():
    detail = hall()["P1"]
    sheet, section = detail.sheet(), detail.section()
    lines = [i for i in sheet.items if isinstance(i, Stroke) and i.layer == "break"]
    right = max(lines, key=lambda s: s.points[0][0])
    top = max(sheet.to_section(p)[1] for p in right.points)
    assert top < 2.5 * sheet.k + max(y for r in section["deck"].rings for _, y in r) + 1.0


def test_a_mirrored_detail_is_peeled_on_its_other_side():
    made = hall()
    params = tuple(p.model_copy(update={"mirror": True}) if p.id == "P1" else p for p in made.params)
    detail = replace(made, params=params)["P1"]
    assert detail.sheet().peeled and detail.review() == ()
    section = detail.section()
    shown = as_shown(section, section, detail.sheet().k)
    straight = mirrored(section)
    assert mirrored(shown).parts == peeled(straight, peel_of(straight, detail.sheet().k)).parts
    assert min(x for r in shown["growing-medium"].rings for x, _ in r) > section.frame[0] + 50


def test_a_conventional_roof_is_peeled_from_its_membrane_down(tmp_path):
    from test_bad_input import GOOD

    roof = GOOD.replace('"inverted"', '"conventional"')
    start, stop = roof.index("layers = ["), roof.index("]\n", roof.index("layers = ["))
    layers = """layers = [
  { material = "primer" },
  { material = "vapour-control" },
  { material = "pir", thickness = "160 mm" },
  { material = "cover-board" },
  { material = "membrane" },
"""
    text = roof[:start] + layers + roof[stop:]
    (tmp_path / "hall.toml").write_text(text.replace("[buildup", '[sheet]\nsize = "A2"\npeel = true\n\n[buildup', 1))
    detail = detailgen.load(tmp_path / "hall.toml")["P1"]
    assert detail.sheet().peeled and detail.review() == ()
    section = detail.section()
    shown = as_shown(section, section, detail.sheet().k)
    order = ["vapour-control", "pir", "cover-board", "membrane"]
    assert [reach(shown, a) > reach(shown, b) for a, b in pairwise(order)] == [True] * 3


def test_where_there_is_no_room_for_steps_it_is_said_and_nothing_is_cut():
    detail = hall(scale="1:50")["P1"]
    assert "no room to cut the layers back" in " ".join(detail.sheet().overflow)
    assert not detail.sheet().peeled


def test_a_drawing_file_shows_the_steps_and_keeps_the_true_polygons():
    detail = hall()["P1"]
    data = write(detail.sheet(), "dxf", catalogue=detail.project.context.catalogue).decode("utf-8")
    found = {}
    for e in ezdxf.read(io.StringIO(data)).modelspace().query("LWPOLYLINE"):
        if e.closed and e.has_xdata("DETAILGEN"):
            facts = dict(v.split("=", 1) for code, v in e.get_xdata("DETAILGEN") if code == 1000)
            found.setdefault((facts.get("role"), facts.get("id")), []).append(shapely.Polygon([p[:2] for p in e]))
    for part in detail.section().parts:
        true = sum(shapely.Polygon(r).area for r in part.rings)
        drawn = sum(p.area for role in ("outline", "shape") for p in found.get((role, part.id), []))
        assert drawn == pytest.approx(true, rel=1e-5), part.id
    cut = sum(p.area for p in found["cut-back", "growing-medium"])
    assert cut < 0.9 * sum(shapely.Polygon(r).area for r in detail.section()["growing-medium"].rings)
    areas = [a for a in detail.sheet().items if isinstance(a, Area) and a.medium == "dxf"]
    hatched = [a for a in areas if a.part == "growing-medium"]
    assert sum(shapely.Polygon(r).area for a in hatched for r in a.rings) * detail.sheet().k**2 == pytest.approx(cut)
