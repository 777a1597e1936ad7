"""``[climate]``, ``[water]`` and ``[loads]`` of a project, and the studies of its build-ups that they lead to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from detailgen.conditions.standing import low_point
from detailgen.errors import BuildError, GeometryError, InputError, Problem, near_miss
from detailgen.physics.given import Family
from detailgen.physics.model import Number, Study
from detailgen.physics.plumb import u_at
from detailgen.physics.roof import films_of
from detailgen.physics.scales import kilonewtons
from detailgen.physics.stack import Falls, courses, thickness_range, with_falls
from detailgen.physics.warmth import warmth
from detailgen.physics.water import Around, water
from detailgen.physics.weight import weight
from detailgen.physics.weights import added
from detailgen.project.drainage import family
from detailgen.project.lines import Keys
from detailgen.project.model import Project, parsed
from detailgen.project.source import dotted
from detailgen.section.buildup import BuildUp

ISO = "ISO 6946:2017"
Kind = Literal["water", "weight", "warmth"]


def studies(project: Project, kind: Kind, names: Sequence[str] = ()) -> list[Study]:
    """The studies of some build-ups, of all of them where none is named.

    Raises:
        InputError: a name that the file does not have, a table that is needed, or a value that cannot be computed with.
    """
    known = project.context.buildups
    unknown = [name for name in names if name not in known]
    if unknown:
        message = f"there is no build-up of that name; the file has {', '.join(known)}"
        raise InputError(
            [Problem(project.source.name, "--buildup", name, message, near_miss(name, known)) for name in unknown]
        )
    make = {"water": _water, "weight": _weight, "warmth": _warmth}[kind]
    table = {"water": "water", "weight": "loads", "warmth": "climate"}[kind]
    try:
        return [make(project, known[name]) for name in names or known]
    except BuildError as error:
        keys: Keys = (table, *parsed(error.key))
        source = project.source
        raise InputError(
            [Problem(source.name, dotted(keys), source.at(keys), error.reason, line=source.line(keys))]
        ) from None


def family_of(project: Project) -> Family:
    """Whose formulas and tables."""
    return family(project.water, project.context.packs, project.context.units.system)


def falls_of(project: Project, buildup: BuildUp) -> Falls:
    """How far the falls run: as ``[water]`` says, else the farthest of the details on this build-up."""
    shape = project.water.falls if project.water is not None else "plane"
    if project.water is not None and project.water.farthest is not None:
        return Falls(project.water.farthest, shape, "water.farthest")
    distances = [
        (p.distance_to_drain[-1], p.id)
        for p in project.params
        if p.buildup == buildup.name and p.distance_to_drain is not None
    ]
    if not distances:
        return Falls(0.0, shape, "no distance is given: give water.farthest")
    far, id = max(distances)
    return Falls(far, shape, f"distance_to_drain of {id}")


def _warmth(project: Project, buildup: BuildUp) -> Study:
    c = project.context
    found = warmth(buildup, c.catalogue, c.sizes, family_of(project), project.climate, falls_of(project, buildup))
    soles = tuple(_soles(project, buildup))
    note = "Gutter soles: heat going straight up in the section as it is cut, no rain correction."
    return replace(found, numbers=(*found.numbers, *soles), notes=(*found.notes, note)) if soles else found


def _soles(project: Project, buildup: BuildUp) -> Iterator[Number]:
    """U at the soles of the gutters on this build-up, from their finished sections."""
    films = films_of(family_of(project))
    for detail in project.details.values():
        if detail.params.buildup != buildup.name or detail.params.kind != "gutter":
            continue
        try:
            width = detail.measures().get("trough_width")
        except (BuildError, GeometryError) as error:
            raise InputError([detail.problem(error)]) from None
        if width is None or width.a is None or width.b is None:
            continue
        u, slabs = u_at(detail.section(), (width.a[0] + width.b[0]) / 2, project.context.catalogue, films)
        parts = " + ".join(f"{s.resistance:.3g}" for s in slabs)
        worked = f"1 / ({films.inside:.3g} + {parts} + {films.outside:.3g})"
        formula = "U = 1 / (Rsi + sum d/lambda + Rse)"
        yield Number(f"u_sole_{detail.id}", f"U at the sole of gutter {detail.id}", u, "W/(m2K)", formula, worked, ISO)


def _weight(project: Project, buildup: BuildUp) -> Study:
    c = project.context
    overflow = project.water.overflow if project.water is not None else None
    return weight(
        buildup,
        c.catalogue,
        c.sizes,
        family_of(project),
        project.loads,
        falls_of(project, buildup),
        height=c.building_height,
        water=overflow.sill if overflow is not None else None,
    )


def _water(project: Project, buildup: BuildUp) -> Study:
    if project.water is None:
        message = "has no [water] table; it needs one with rain, area and drains"
        raise InputError([Problem(project.source.name, "", "", message)])
    return water(buildup.name, project.water, family_of(project), _around(project, buildup))


def _around(project: Project, buildup: BuildUp) -> Around:
    """Flashings of the details on this build-up above the sheet at the low point, and what the deck has left."""
    falls, c = falls_of(project, buildup), project.context
    low = low_point(buildup)
    flashings = []
    for detail in project.details.values():
        if detail.params.buildup != buildup.name or detail.params.kind == "gutter":
            continue  # a gutter has a low point of its own
        try:
            section, height = detail.section(), detail.measures().get("flashing_height")
        except (BuildError, GeometryError) as error:
            raise InputError([detail.problem(error)]) from None
        if height is not None and height.b is not None:
            here = section.numbers.get("low_point", low)
            flashings.append((detail.id, height.b[1] - here.value))
    left = None
    if project.loads is not None and project.loads.allowed is not None:
        thick = thickness_range(buildup, falls)[1]
        stack = with_falls(courses(buildup, c.catalogue, c.sizes), thick)
        dead = kilonewtons(added([course.heavy() for course in stack if course.place != "deck"])[1])
        left = project.loads.allowed - dead
    run = falls.farthest or None
    return Around(tuple(flashings), courses(buildup, c.catalogue, c.sizes), left, buildup.slope, run)


PLOTS = (".png", ".svg", ".pdf")


def plotted(project: Project, found: Sequence[Study], ending: str) -> bytes:
    """The figure of one study as a picture.

    Raises:
        InputError: several studies, an ending that is no picture's, or nothing to plot.
    """
    from detailgen import output
    from detailgen.report.figures import figure

    if ending.lower() not in PLOTS:
        message = f"a plot is written as {', '.join(PLOTS)}"
        raise InputError([Problem("--plot", "", ending, message, near_miss(ending, PLOTS))])
    if len(found) != 1:
        message = f"a plot shows one build-up; give --buildup with one of {', '.join(s.name for s in found)}"
        raise InputError([Problem("--plot", "", "", message)])
    rows = project.context.catalogue
    picture = figure(found[0], rows, project.context.units)
    return output.write(picture, ending.lower()[1:], catalogue=rows, dpi=project.paper.dpi)
