"""What a note says of a length is what the dimension of the same length says; a cut at the low point is called that."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import detailgen as dg
from detailgen.sheet.review import texts_of

SPECS = Path(__file__).parents[1] / "specs"


def said(spec: str, id: str) -> list[str]:
    return [t.text for t in texts_of(dg.load(SPECS / spec)[id].sheet())]


@pytest.mark.parametrize(("id", "note"), [("C1", r"tucked (\S+) behind"), ("W3", r"covers the sheet by (\S+?),")])
def test_a_cover_is_the_same_in_its_note_and_in_its_dimension(id: str, note: str) -> None:
    """Reviewer's point 15: rounding is the same everywhere on a sheet (ISO 129-1: one value for one length)."""
    texts = said("ferry-hall.toml", id)
    [value] = re.findall(note, " ".join(texts))
    assert value.isdigit()
    assert [t for t in texts if re.match(rf"{value} \(min", t)], texts


def test_a_cover_in_inches_is_the_same_in_its_note_and_in_its_dimension() -> None:
    texts = said("ferry-hall-imperial.toml", "C1")
    [value] = re.findall(r"TUCKED ([\d /]+\") BEHIND", " ".join(texts))
    assert [t for t in texts if t.startswith(f"{value} (")], texts


def test_a_scupper_is_cut_at_the_low_point_and_not_beside_a_sump() -> None:
    text = " ".join(said("ferry-hall.toml", "S1"))
    assert "Cut at the low point; height governed 5.00 m from it" in text and "sump's edge" not in text


@pytest.mark.parametrize("spec", ["ferry-hall.toml", "ferry-hall-imperial.toml"])
def test_a_pipe_that_goes_on_downwards_is_cut_off_by_a_break_line(spec: str) -> None:
    """Reviewer's point 4: a break line on every side that is cut off."""
    pipes = 0
    for detail in dg.load(SPECS / spec).details.values():
        s = detail.section()
        for pipe in (p for p in s.parts if p.kind in ("downpipe", "hopper-pipe")):
            pipes += 1
            points = [q for r in pipe.rings for q in r]
            low, xs = min(y for _, y in points), [x for x, _ in points]
            across = [c for c in s.cuts if abs(c.a[1] - low) < 0.01 and abs(c.b[1] - low) < 0.01]
            assert any({round(c.a[0]), round(c.b[0])} == {round(min(xs)), round(max(xs))} for c in across), detail.id
    assert pipes >= 2
