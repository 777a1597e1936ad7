"""Condensation in a build-up by the steady method, with the seasons that the file gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from detailgen.physics.given import ClimateTable
from detailgen.physics.known import cited, known, number
from detailgen.physics.model import Grid, Number, Verdict, judged
from detailgen.physics.moisture import Passage, Season, nodes, through
from detailgen.physics.resistance import Films
from detailgen.physics.stack import Course

TRACE = 1e-9  # kg/m2: less is rounding, not water
NON_ABSORBING = ("waterproofing", "vapour-control", "insulation", "metal", "structure", "protection")


@dataclass(frozen=True)
class Condensation:
    """What the method says."""

    grids: tuple[Grid, ...]
    numbers: tuple[Number, ...]
    verdicts: tuple[Verdict, ...]
    notes: tuple[str, ...]
    passages: tuple[Passage, ...]


def seasons_of(climate: ClimateTable) -> tuple[Season, ...]:
    """The seasons of a climate: its own, or those of the standard that it names."""
    if climate.standard is not None:
        rows: list[dict[str, Any]] = known(f"warmth.climates.{climate.standard}")["seasons"]
        return tuple(_season(row) for row in rows)
    return tuple(Season(s.name or f"season {i}", s.days, s.inside, s.outside) for i, s in enumerate(climate.seasons, 1))


def _season(row: dict[str, Any]) -> Season:
    pairs = {k: (v[0], v[1]) for k, v in row.items() if isinstance(v, list)}
    return Season(row["name"], row["days"], **pairs, wet=row.get("wet"))


def films_of(climate: ClimateTable) -> Films:
    """Surface resistances of the moisture method [m2K/W]."""
    if climate.standard is not None:
        row = known(f"warmth.climates.{climate.standard}")
        return Films(row["rsi"], row["rse"])
    return Films(number("warmth.films.iso.moisture_inside"), number("warmth.films.iso.outside"))


def condensation(stack: Sequence[Course], climate: ClimateTable) -> Condensation | None:
    """The seasons one after the other; None where the climate gives none.

    Args:
        stack: courses that count, from inside, the one that makes the falls at its mean.
        climate: with seasons or a standard.
    """
    seasons = seasons_of(climate)
    if not seasons:
        return None
    slabs = [c.slab() for c in stack]
    passages = through(slabs, films_of(climate), seasons)
    sides = nodes(slabs).between
    source = cited(f"warmth.climates.{climate.standard}") if climate.standard else "ISO 13788:2012, seasons as given"
    most = [max(p.held[k] for p in passages) for k in range(len(sides))]
    wettest = max(range(len(most)), key=lambda k: most[k])
    grids = tuple(_table(stack, sides, p) for p in passages if p.temperature)
    worst = sum(max(passages, key=lambda p: sum(p.held)).held)
    worst = 0.0 if worst <= TRACE else worst
    made = Number(
        "condensate",
        "water that gathers at most",
        worst,
        "kg/m2",
        "sum of delta0 (dp/dsd outside - inside) t",
        "; ".join(f"{p.season.name}: {sum(p.held) if sum(p.held) > TRACE else 0:.4g} kg/m2" for p in passages),
        source,
    )
    notes = (
        ["A profiled sheet is counted as open to vapour: it leaks at its laps."]
        if any(not c.tight for c in stack)
        else []
    )
    return Condensation(
        grids, (made,), tuple(_judged(stack, sides, passages, most, wettest, source)), tuple(notes), passages
    )


def _judged(
    stack: Sequence[Course],
    sides: Sequence[tuple[int, int]],
    passages: Sequence[Passage],
    most: Sequence[float],
    wettest: int,
    source: str,
) -> list[Verdict]:
    if most[wettest] <= TRACE:
        return [judged("condensation", True, "no water gathers in the layers", source)]
    a, b = sides[wettest]
    tight = any(stack[k].material.role in NON_ABSORBING for k in (a, b) if 0 <= k < len(stack))
    limit = number("warmth.moisture.condensate_tight" if tight else "warmth.moisture.condensate")
    place = f"within {stack[a].id}" if a == b else f"between {stack[a].id} and {stack[b].id}"
    grams = sum(max(passages, key=lambda p: sum(p.held)).held) * 1000
    out = [
        judged(
            "condensation",
            grams <= limit * 1000,
            f"{grams:.1f} g/m2 gather, most {place}; at most {limit * 1000:g} g/m2",
            cited("warmth.moisture"),
        )
    ]
    left = sum(passages[-1].held)
    if len(passages) > 1:
        out.append(
            judged(
                "drying",
                left <= TRACE,
                f"{left * 1000:.1f} g/m2 are left at the end of {passages[-1].season.name}",
                source,
            )
        )
    else:
        out.append(Verdict("drying", "cannot tell", "needed: a season in which it dries", source))
    return out


def _table(stack: Sequence[Course], sides: Sequence[tuple[int, int]], p: Passage) -> Grid:
    rows = []
    for k, (a, b) in enumerate(sides):
        if a == b:
            continue
        name = "inner surface" if a < 0 else "outer surface" if b >= len(stack) else f"{stack[a].id} | {stack[b].id}"
        held = p.held[k] * 1000
        rows.append((name, p.temperature[k], p.saturation[k], p.pressure[k], held if held > 1e-6 else None))
    columns = (("place", ""), ("temperature", "C"), ("saturation", "Pa"), ("vapour", "Pa"), ("water", "g/m2"))
    air = ""
    if p.season.inside and p.season.outside:
        (ti, fi), (te, fe) = p.season.inside, p.season.outside
        air = f", inside {ti:.3g} C {fi:g} %, outside {te:.3g} C {fe:g} %, {p.season.days:g} days"
    return Grid(f"Vapour in {p.season.name}{air}", columns, tuple(rows))
