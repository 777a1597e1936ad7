"""The drafting sizes of ``catalogue/drafting.toml`` as one frozen object."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any


@dataclass(frozen=True, slots=True)
class TextStyle:
    """Cap heights [mm], line spacing [heights], reserve [factor], clear pad [mm]."""

    note: float
    dimension: float
    small: float
    label: float
    title: float
    line_spacing: float
    reserve: float
    pad: float


@dataclass(frozen=True, slots=True)
class Pens:
    """Line widths [mm] of what belongs to no layer of the section."""

    hatch: float
    thin: float
    symbol: float
    tick: float
    rule: float
    frame: float


@dataclass(frozen=True, slots=True)
class LeaderStyle:
    """Leaders: angles [deg], sizes [mm]."""

    angle: float
    steep: float
    landing: float
    text_gap: float
    arrow: tuple[float, float]
    dot: float
    thin_part: float
    inside: float


@dataclass(frozen=True, slots=True)
class DimensionStyle:
    """Dimensions [mm]."""

    first: float
    next: float
    gap: float
    beyond: float
    tick: float
    text_gap: float
    inside: float


@dataclass(frozen=True, slots=True)
class BreakStyle:
    """Break lines [mm]."""

    over: float
    zigzag: float
    hatch_short: float


@dataclass(frozen=True, slots=True)
class HatchStyle:
    """Hatches: limits by plotted thickness [mm]; spacing = clamp(a + b t, least, most)."""

    none_below: float
    spacing: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Fills:
    """Colours of solids: the waterproofing, thin metal, sealants, thick solids; of the lines of an earlier version."""

    water: str
    metal: str
    seal: str
    thick: str
    former: str


@dataclass(frozen=True, slots=True)
class NoteStyle:
    """The column of notes [mm]."""

    gap: float
    tight_gap: float
    column: float
    narrow: float
    margin: float


@dataclass(frozen=True, slots=True)
class Drafting:
    """Every drafting size in one place, paper millimetres."""

    text: TextStyle
    pen: Pens
    leader: LeaderStyle
    dimension: DimensionStyle
    brk: BreakStyle
    hatch: HatchStyle
    notes: NoteStyle
    fill: Fills


@cache
def drafting() -> Drafting:
    """The drafting sizes, read once."""
    raw: dict[str, Any] = tomllib.loads(
        resources.files("detailgen.catalogue").joinpath("drafting.toml").read_text(encoding="utf-8")
    )

    def row(name: str) -> dict[str, Any]:
        return {k: tuple(v) if isinstance(v, list) else v for k, v in raw[name].items()}

    return Drafting(
        TextStyle(**row("text")),
        Pens(**row("pen")),
        LeaderStyle(**row("leader")),
        DimensionStyle(**row("dimension")),
        BreakStyle(**row("break")),
        HatchStyle(**row("hatch")),
        NoteStyle(**row("notes")),
        Fills(**row("fill")),
    )
