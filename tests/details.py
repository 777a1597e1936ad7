"""From the tables of a detail file to its section, along the road that a user's file goes."""

from __future__ import annotations

import copy
import tempfile
from pathlib import Path
from typing import Any

import detailgen
from detailgen.project import Project
from detailgen.section.model import Section
from tests.trade_plausible import Table, to_toml


def read(tables: Table) -> Project:
    """Write the tables as a detail file and read it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "detail.toml"
        path.write_text(to_toml(tables), encoding="utf-8")
        return detailgen.load(path)


def section(tables: Table, id: str | None = None, k: float | None = None) -> Section:
    """The section of one detail, the first if no id is given."""
    project = read(tables)
    return project[id or next(iter(project.details))].section(k)


def rows(*layers: tuple[str, str] | str) -> list[Table]:
    """``layers``: names, or names with their thickness."""
    return [
        {"material": layer} if isinstance(layer, str) else {"material": layer[0], "thickness": layer[1]}
        for layer in layers
    ]


PLANTED = {
    "mm": {
        "system": "inverted",
        "deck": {"kind": "concrete", "thickness": "200 mm"},
        "slope": "2 %",
        "layers": rows(
            "bonding-coat",
            "topping",
            "primer",
            ("membrane", "2 mm"),
            ("protection-mat", "5 mm"),
            ("xps", "150 mm"),
            ("drainage-mat", "12 mm"),
            ("filter-fabric", "1 mm"),
            ("growing-medium", "100 mm"),
            "plants",
        ),
    },
    "in": {
        "system": "inverted",
        "deck": {"kind": "concrete", "thickness": "8 in"},
        "slope": "1/4 in/ft",
        "layers": rows(
            "bonding-coat",
            "topping",
            "primer",
            ("membrane", "0.08 in"),
            ("protection-mat", "3/16 in"),
            ("xps", "2 in"),
            ("xps", "2 in"),
            ("xps", "2 in"),
            ("drainage-mat", "1/2 in"),
            ("filter-fabric", "1/16 in"),
            ("growing-medium", "4 in"),
            "plants",
        ),
    },
}
"""The planted inverted roof of the trade's recipes, in both unit systems."""

DISTANCE = {"mm": "5 m", "in": "16'-0\""}


def tables(units: str, detail: Table, roof: Table | None = None, **project: Any) -> Table:
    """A detail file with one roof and one detail."""
    return {
        "project": {"name": "Ferry hall", "units": units, **project},
        "buildup": {"roof": copy.deepcopy(roof or PLANTED[units])},
        "detail": [{"buildup": "roof", "distance_to_drain": DISTANCE[units], **detail}],
    }


def parapet(units: str, **more: Any) -> Table:
    """The parapet of the recipes: steel studs, stone on a cavity, face strip, no allowance."""
    detail = {"id": "P1", "kind": "parapet", "backing": {"kind": "steel-studs"}, "cladding": {"kind": "stone"}}
    return tables(units, {**detail, "end": "face-strip", "height_allowance": 0, **more})
