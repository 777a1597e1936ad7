"""The user's own hand in a detail file: what it names must be there."""

from __future__ import annotations

from pathlib import Path

import pytest

import detailgen as dg
from detailgen import cli

FILE = """
[project]
name = "Ferry hall"

[buildup.gravel]
system = "inverted"
layers = [
  { material = "bonding-coat" }, { material = "topping" }, { material = "primer" }, { material = "membrane" },
  { material = "protection-mat" }, { material = "xps" }, { material = "filter-fabric" }, { material = "gravel" },
]

[[detail]]
id = "P1"
kind = "parapet"
buildup = "gravel"
"""


def project(tmp_path: Path, hand: str) -> Path:
    path = tmp_path / "roof.toml"
    path.write_text(FILE + hand, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("hand", "key", "says"),
    [
        ('notes = [{ part = "copping", text = "x" }]', "detail[1].notes[1].part", "did you mean 'coping'?"),
        ('notes = [{ part = "zzz", silence = true }]', "detail[1].notes[1].part", "it has "),
        ('dimensions = [{ drop = "downtrun" }]', "detail[1].dimensions[1].drop", "did you mean 'downturn'?"),
    ],
)
def test_a_note_or_dimension_that_names_nothing_is_refused(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], hand: str, key: str, says: str
) -> None:
    path = project(tmp_path, hand)
    for command in (["check", str(path)], ["draw", str(path), "--out", str(tmp_path / "out")]):
        assert cli.run(command) == 2
        said = capfd.readouterr().err
        assert key in said and says in said and "Traceback" not in said
    assert not (tmp_path / "out").exists()


def test_an_own_part_may_be_named_by_a_note_and_reads_as_it_says(tmp_path: Path) -> None:
    own = """
notes = [{ part = "primer", silence = true }]
[[detail.own_parts]]
id = "ceiling"
material = "gypsum-board"
note = "Ceiling on hangers"
polygon = [["100 mm", "-420 mm"], ["600 mm", "-420 mm"], ["600 mm", "-400 mm"], ["100 mm", "-400 mm"]]
"""
    sheet = dg.load(project(tmp_path, own))["P1"].sheet()
    notes = " ".join(t.text for i in sheet.items if hasattr(i, "lines") for t in i.lines)
    assert "Ceiling on hangers" in notes
    assert "Primer" not in notes


def test_a_dimension_set_anew_replaces_that_of_the_detail(tmp_path: Path) -> None:
    def texts(hand: str) -> list[str]:
        sheet = dg.load(project(tmp_path, hand))["P1"].sheet()
        return [i.text for i in sheet.items if type(i).__name__ == "Dim" and i.id == "to-finished-face"]

    (before,) = texts("")
    again = 'dimensions = [{ id = "to-finished-face", from = ["0 mm", "0 mm"], to = ["455 mm", "0 mm"] }]'
    assert before == "53" and texts(again) == ["455"]
    assert texts('dimensions = [{ drop = "to-finished-face" }]') == []
