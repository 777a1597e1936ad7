"""Quantities as data: how much of what a metre of edge, a piece, a square metre of field, or the whole roof takes.

Units: m, m2, m3, kg and pieces; girths and thicknesses in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal

from detailgen.catalogue.reading import read_rows, read_toml
from detailgen.catalogue.rows import Form, Material, Role
from detailgen.conditions.base import DetailParams
from detailgen.errors import InputError, Problem
from detailgen.section.model import Derivation

Unit = Literal["m", "m2", "m3", "pieces"]
Per = Literal["m", "piece", "m2"]
By = Literal["girth", "volume", "face", "run", "count"]
UNIT_OF: dict[str, Unit] = {"girth": "m2", "volume": "m3", "face": "m2", "run": "m", "count": "pieces"}

# Kinds of detail that stand in the roof one by one; everything else goes on along an edge.
COUNTED = (
    "roof-drain", "overflow-drain", "drain-pair", "pipe", "post", "scupper", "parapet-at-wall",
)  # fmt: skip

# What a detail of an edge may be cut at; everything else stands in its run one by one.
RUN = "run"

# Kinds of detail that show what other details or the field are counted for.
PICTURES = {
    "corner-plan": "give the quantity to the detail that it is of",
    "field": "give the area of its build-up under [quantities]",
}


def stands_singly(params: DetailParams) -> bool:
    """Whether a detail is counted one by one: a drain, or a gutter cut at its outlet, weir or stop end."""
    return params.kind in COUNTED or getattr(params, "cut", RUN) != RUN


@dataclass(frozen=True, slots=True)
class Group:
    """A row of ``catalogue/quantities.toml``: parts that are counted alike.

    Attributes:
        by: how a part of it is measured.
        waste: share that is bought on top [ratio].
        source: of the waste.
        faced: bought by its area at a thickness, too.
    """

    key: str
    title: str
    roles: tuple[str, ...]
    forms: tuple[str, ...]
    by: By
    waste: float
    source: str
    faced: bool = False

    def takes(self, form: Form, role: Role) -> bool:
        """Whether a part of that form and role belongs to it."""
        return form in self.forms and role in self.roles


@lru_cache(maxsize=1)
def groups() -> dict[str, Group]:
    """The rows by key, in the order in which a part looks for its own."""
    path = Path(__file__).parents[1] / "catalogue" / "quantities.toml"
    problems: list[Problem] = []
    rows = read_rows(Group, read_toml(path).get("groups"), file=path.name, path="groups", base={}, problems=problems)
    if problems:
        raise InputError(problems)
    return rows


def group_of(material: Material, role: Role) -> Group | None:
    """The group of a part; None for what is not counted."""
    return next((g for g in groups().values() if g.takes(material.form, role)), None)


@dataclass(frozen=True, slots=True)
class Run:
    """How much of a detail the roof has.

    Attributes:
        length: of one stretch of edge [mm]; 0 for what is counted one by one.
        count: of such stretches, or of pieces.
        inside, outside: corners in each stretch.
    """

    length: float = 0.0
    count: int = 1
    inside: int = 0
    outside: int = 0


@dataclass(frozen=True, slots=True)
class Figure:
    """How much of one thing a detail or the field takes.

    Attributes:
        id: of the part, coat or fastener in its section; ``weld-machine`` and the like for what is counted.
        detail: id of the detail, or ``field NAME`` for the field of a build-up.
        group: key of its `Group`.
        name: what it is, in plain words.
        material: name of the material, empty where there is none.
        unit: of `rate` and `total`.
        per: what `rate` is for: a metre of edge, a piece, a square metre of field.
        rate: so much [unit a metre, a piece or a square metre].
        total: for the lengths and counts of the file, without waste [unit]; None where it gives none.
        mass: of the same [kg a metre, a piece or a square metre]; 0 where it is not known.
        thickness, girth: of a sheet, board or metal [mm], else 0.
        drawn: ``True`` where the section shows it to a break line only: as far as that it is counted.
        why: how `total` was computed, or `rate` where there is no total.
    """

    id: str
    detail: str
    group: str
    name: str
    material: str
    unit: Unit
    per: Per
    rate: float
    total: float | None
    why: Derivation
    mass: float = 0.0
    thickness: float = 0.0
    girth: float = 0.0
    drawn: bool = False

    @property
    def total_mass(self) -> float | None:
        """Mass of the total [kg]; None where one of the two is not known."""
        return self.mass * self.total / self.rate if self.total is not None and self.mass and self.rate else None


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing of the whole roof: the sum over details and field.

    Attributes:
        net: sum of the totals [unit]. waste: share on top [ratio]. gross: what is bought [unit].
        mass: of `net` [kg]; 0 where it is not known.
        face: area of boards, `net` over the thickness [m2], else 0.
        parts: id of the detail and its total, in the order of the file.
    """

    group: str
    name: str
    material: str
    thickness: float
    unit: Unit
    net: float
    waste: float
    gross: float
    mass: float
    parts: tuple[tuple[str, float], ...]
    why: Derivation
    face: float = 0.0
