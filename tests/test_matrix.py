"""Every condition on every roof: at least 110 cells are drawn soundly, the rest refused with a reason of the trade."""

from __future__ import annotations

import re
import zlib

import pytest

from detailgen.conditions import CONDITIONS
from tests import section_oracles as oracle
from tests.matrix import ROOFS, ROWS, name_of, page, row_of
from tests.matrix_faults import faults_of
from tests.more_roofs import unsound
from tests.plausible_details import PLANS
from tests.test_gallery import TOP

# what the trade would not build; nothing else may be refused
REFUSED = {
    "nailer-too-thin": "an edge metal is nailed to timber, and there is no room for timber",
    "light-deck-in-wall": "a light deck is not cast with a wall",
    "channel-needs-cover": "a drained channel lies in a covering, and there is none",
    "channel-too-shallow": "the gravel is less deep than a channel with its grating",
    "no-room-for-strainer": "the collar's strainer would stand over the finished surface",
    "no-room-for-chamber": "the gravel is less deep than a chamber with its slots",
    "insulation-too-thin-for-sump": "a sump cut into the boards leaves too little of them",
    "scupper-in-the-deck": "a floor under the membrane would be cut into the deck",
    "break-without-planting": "a fire break interrupts planting",
}
DRY = {"door-threshold", "low-edge", "eaves-gutter", "gutter", "pipe"}
"""Here a sheet ends under sheet metal or behind a door's leaf, through which the flood of the oracles goes."""


def cells(units: str = "mm") -> list:
    return [c for row in ROWS for c in row_of(row, units)]


def test_the_table_has_every_registered_kind() -> None:
    assert {keys["kind"] for keys in ROWS.values()} == set(CONDITIONS) - PLANS


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("row", ROWS)
def test_a_drawn_cell_could_be_built_and_keeps_every_required_rule(row: str, units: str) -> None:
    for c in row_of(row, units):
        if c.code:
            assert c.code in REFUSED, c.column
            continue
        section = c.detail.section()
        assert unsound(section) == [], c.column
        if section.kind not in DRY:
            assert oracle.dry_behind(section), c.column
        failed = [f.sentence for f in c.detail.findings() if f.verdict == "fails" and f.rule.severity == "required"]
        assert failed == [], c.column


def test_at_least_110_cells_are_drawn_and_both_unit_systems_draw_the_same() -> None:
    drawn = {(c.row, c.column) for c in cells() if not c.code}
    assert len(drawn) >= 110
    assert len(drawn) >= 0.9 * len(ROWS) * len(ROOFS)
    assert len(drawn ^ {(c.row, c.column) for c in cells("in") if not c.code}) <= 6


OF = 8
"""One test run reviews the sheets of every eighth cell."""

LIGHT = ("metal deck", "timber deck", "steel deck to falls")
SPARSE = {("parapet against a higher wall", on) for on in LIGHT}
"""Sheets in millimetres on which little is drawn: empty stud cavities on A2."""


def turn() -> int:
    """Which of the samples is reviewed: the code that draws decides, so that every change of it turns the sample on."""
    rooms = (TOP / "detailgen" / room for room in ("conditions", "section", "sheet"))
    sources = sorted(file for room in rooms for file in room.rglob("*.py"))
    return zlib.crc32(b"".join(file.read_bytes() for file in sources)) % OF


def test_the_sheets_of_a_sample_of_the_table_pass_the_review() -> None:
    """At least 40 cells, others after every change; ``python -m tests.matrix_faults`` reviews them all."""
    found = {(row, column): faults for row, column, faults in faults_of("mm", turn(), OF)}
    assert len(found) >= 40
    assert {cell: faults for cell, faults in found.items() if faults and cell not in SPARSE} == {}
    assert [f for cell in SPARSE for f in found.get(cell, []) if "ink" not in f] == []


def test_the_gallery_shows_this_table_and_a_picture_of_every_row() -> None:
    text = (TOP / "gallery" / "table.md").read_text(encoding="utf-8")
    assert text == page()
    pictures = {p.name for p in (TOP / "gallery" / "table").glob("*.png")}
    assert pictures == {f"{name_of(row)}.png" for row in ROWS}
    assert set(re.findall(r"\(table/([^)]+)\)", text)) == pictures
    assert sum(p.stat().st_size for p in (TOP / "gallery" / "table").iterdir()) < 3e6
