"""The water on one roof: what one family's hydraulics give, held against flashings, deck and loose boards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from detailgen.physics.american_roof import american
from detailgen.physics.european_roof import european
from detailgen.physics.given import Family, WaterTable
from detailgen.physics.hydraulics import Hydraulics
from detailgen.physics.known import cited, number
from detailgen.physics.layer import drainage_layer
from detailgen.physics.model import Number, Study, Verdict, judged
from detailgen.physics.scales import said
from detailgen.physics.screen import screen
from detailgen.physics.stack import Course
from detailgen.physics.weight import lift_of
from detailgen.section.model import Derivation
from detailgen.units import INCH_MM

CAUTIONS = (
    "Not a plumbing and not a structural design: the drainage designer confirms rain, catchments, pipes and outlets by "
    "the code in force, the structural engineer the load of the water and that the deck does not sink and pond.",
    "Blocked outlets kill roofs. Keep outlets and overflows open; an overflow must discharge where it is seen.",
)


@dataclass(frozen=True)
class Around:
    """What the water is held against.

    Attributes:
        flashings: name and height of the top above the sheet at the low point [mm].
        stack: courses from the soffit up.
        slope: of the roof; None where nothing of it matters.
        run: farthest way of the water to its drain [mm]; None where it is not known.
        left: load that the deck may still carry [kN/m2], None where it is not known.
    """

    flashings: Sequence[tuple[str, float]] = ()
    stack: Sequence[Course] = ()
    left: float | None = None
    slope: float | None = None
    run: float | None = None


def hydraulics(table: WaterTable, family: Family) -> Hydraulics:
    """The hydraulics by one family's formulas and tables, never by both."""
    return european(table) if family == "european" else american(table)


def water(name: str, table: WaterTable, family: Family, around: Around) -> Study:
    """All that can be said of the water on one roof.

    Raises:
        BuildError: something that the family has no table or formula for.
    """
    h = hydraulics(table, family)
    if table.screen is not None:
        made, verdict = screen(table.screen, table.rain, table.runoff)
        h.numbers += made
        h.verdicts.append(verdict)
    if table.layer is not None and any(c.material.role == "drainage" for c in around.stack):
        h.add(*drainage_layer(table, around.slope, around.run))
    verdicts = [*h.verdicts, _below_overflow(h), _freeboard(h, table, family, around), *_deck(h, around)]
    whose = "EN 12056-3 and DIN 1986-100" if family == "european" else "North American formulas and tables"
    notes = [
        f"{whose}; the other family is never mixed in.",
        "Depths and levels are above the sheet at the low point, the sump left out; gutters have one of their own.",
        *h.notes,
    ]
    if table.closed:
        notes.append(f"{table.closed} of {table.drains} drains are taken as blocked.")
    if table.overflow is None:
        notes.append("There is no overflow: with the drains blocked the water rises to the lowest edge or opening.")
    numbers = (*h.numbers, *_freeboards(h, around))
    return Study("water", name, (), numbers, tuple(verdicts), tuple(notes), CAUTIONS, tuple(h.curves))


def _below_overflow(h: Hydraulics) -> Verdict:
    id = "below_overflow"
    if h.ordinary is None:
        return judged(id, False, "the drains do not carry the design rain at any depth")
    if h.static is None:
        return Verdict(id, "cannot tell", "needed: [water.overflow]")
    words = f"{said(h.ordinary, 'mm')} of water in the design rain, the overflow begins at {said(h.static, 'mm')}"
    return judged(id, h.ordinary <= h.static, words)


def highest(h: Hydraulics) -> float | None:
    """The highest water that the roof sees [mm]: in the design rain, or when the overflow works; None without bound."""
    if h.ordinary is None or (h.static is not None and h.design is None):
        return None
    return max(h.ordinary, h.design or 0.0)


def _freeboard(h: Hydraulics, table: WaterTable, family: Family, around: Around) -> Verdict:
    """Freeboard of the lowest flashing over the highest water."""
    free, top = freeboard_of(table, family), highest(h)
    margin, source = free.value, free.source
    if not around.flashings:
        return Verdict("freeboard", "cannot tell", "needed: details with a flashing on this build-up", source)
    if top is None:
        return judged("freeboard", False, "the water has no level: it does not leave", source)
    name, lowest = min(around.flashings, key=lambda f: f[1])
    words = f"{name} ends {said(lowest, 'mm')} above the low point, water stands at {said(top, 'mm')}"
    left = lowest - top
    return judged(
        "freeboard", left >= margin - 1e-9, f"{words}: {said(left, 'mm')}, at least {said(margin, 'mm')}", source
    )


def freeboard_of(table: WaterTable, family: Family) -> Derivation:
    """How much a flashing stands above the highest water: as given, else the usual one of the family [mm]."""
    if table.freeboard is not None:
        return Derivation("freeboard", table.freeboard, source="input: water.freeboard")
    usual = number("rain.freeboard.mm") if family == "european" else number("rain.freeboard.inch") * INCH_MM
    return Derivation("freeboard", usual, source=cited("rain.freeboard"))


def _freeboards(h: Hydraulics, around: Around) -> list[Number]:
    top = highest(h)
    if top is None or not around.flashings:
        return []
    name, lowest = min(around.flashings, key=lambda f: f[1])
    return [
        Number(
            "freeboard",
            f"freeboard at the lowest flashing, {name}",
            lowest - top,
            "mm",
            "top of the flashing - water level",
            f"{lowest:.1f} - {top:.1f}",
            "section and levels above",
        )
    ]


def _deck(h: Hydraulics, around: Around) -> list[Verdict]:
    out = []
    if h.load is not None:
        if around.left is None:
            out.append(Verdict("rain_load", "cannot tell", "needed: [loads] allowed, by the structural engineer"))
        else:
            out.append(
                judged(
                    "rain_load",
                    h.load <= around.left,
                    f"{said(h.load, 'kN/m2', 2)} of water, {said(around.left, 'kN/m2', 2)} left on the deck",
                    "input: loads.allowed",
                )
            )
    boards = [c for c in around.stack if c.place == "above" and c.material.role == "insulation"]
    top = highest(h)
    if boards and top is not None:
        lift, ballast = lift_of(around.stack, top)
        words = f"boards lift with {said(lift, 'kg/m2')} in {said(top, 'mm')} of water"
        words += f", {said(ballast, 'kg/m2')} dry lie on them"
        out.append(judged("flotation", ballast >= lift, words, "Archimedes"))
    return out
