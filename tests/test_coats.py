"""Coats lie on the interface where they are applied, in the true build and in the drawn one."""

from __future__ import annotations

from pathlib import Path

import pytest

import detailgen as dg

SPECS = Path(__file__).resolve().parents[1] / "specs"
DETAILS = [(f, id) for f in ("ferry-hall.toml", "ferry-hall-imperial.toml") for id in dg.load(SPECS / f).details]


@pytest.mark.parametrize(("file", "id"), DETAILS)
def test_the_bonding_coat_lies_under_the_topping_and_the_primer_on_it(file: str, id: str) -> None:
    detail = dg.load(SPECS / file)[id]
    for section in (detail.section(), detail.section(10.0)):
        if "topping" not in section.by_id:  # cut along a gutter, or a plan
            continue
        coats = {c.kind: c.line for c in section.coats}
        top = max(y for ring in section["topping"].rings for _, y in ring)
        assert max(y for _, y in coats["bonding-coat"]) == pytest.approx(0, abs=1e-6)
        assert max(y for _, y in coats["primer"]) == pytest.approx(top, abs=0.5)
