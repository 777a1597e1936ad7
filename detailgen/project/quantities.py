"""The quantities of a project: its details, its fields, its plants."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from detailgen.conditions.base import DetailParams
from detailgen.errors import BuildError, GeometryError, InputError, Problem
from detailgen.project.given import falls_of
from detailgen.project.model import Detail, Project
from detailgen.quantities import (
    Field,
    Figure,
    Plant,
    Run,
    Schedule,
    Strip,
    edge_figures,
    entries,
    field_figures,
    piece_figures,
    plant_figures,
    seam_figures,
    strip_of,
)
from detailgen.quantities.model import PICTURES, stands_singly
from detailgen.section.buildup import BuildUp


def quantities(project: Project, details: Sequence[Detail] = ()) -> Schedule:
    """What the roof of a project takes.

    Args:
        project: a detail file that was read.
        details: only these, without the field and its plants; all of them if empty.

    Raises:
        InputError: details that cannot be built, all of them, or edges that cover more than their field.
    """
    chosen = tuple(details or project.details.values())
    figures: list[Figure] = []
    problems: list[Problem] = []
    for detail in chosen:
        try:
            figures += detail_figures(detail)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    if not details:
        figures += [f for b in project.context.buildups.values() for f in _field(project, b)]
    waste = project.counted.waste if project.counted is not None else {}
    return Schedule(tuple(figures), entries(figures, waste), tuple(_remarks(project, chosen, whole=not details)))


def run_of(params: DetailParams) -> Run | None:
    """How much of a detail the roof has; None where its table does not say."""
    q = params.quantity
    return None if q is None else Run(q.length or 0.0, q.count, q.inside, q.outside)


def detail_figures(detail: Detail) -> list[Figure]:
    """Figures of one detail: by the metre, or by the piece.

    Raises:
        InputError: it cannot be built.
    """
    if detail.params.kind in PICTURES:
        return []
    context, run = detail.project.context, run_of(detail.params)
    try:
        section = detail.section()
    except (BuildError, GeometryError) as error:
        raise InputError([detail.problem(error)]) from None
    materials = context.catalogue.materials
    if stands_singly(detail.params):
        return list(piece_figures(section, materials, context.sizes, run))
    return [*edge_figures(section, materials, context.sizes, run), *seam_figures(section, context.sizes, run)]


# ------------------------------------------------------------------------------------------ the field
def _field(project: Project, buildup: BuildUp) -> Iterator[Figure]:
    field, strips = field_of(project, buildup), list(_strips(project, buildup))
    taken = sum(s.on(s.width) for s in strips)
    if field is not None and taken > field.area:
        words = f"the edges alone, as they are drawn, cover {taken:.1f} m2 of {field.area:.1f} m2 ({field.source})"
        raise InputError([Problem(project.source.name, f"quantities.field.{buildup.name}", "", words)])
    yield from field_figures(buildup, project.context.sizes, falls_of(project, buildup), field, strips)
    species = [
        Plant(p.species, p.share, p.spacing, p.grid == "staggered")
        for p in project.plants
        if p.buildup == buildup.name
    ]
    yield from plant_figures(buildup, species, field, strips)


def field_of(project: Project, buildup: BuildUp) -> Field | None:
    """The area of a build-up: as ``[quantities]`` says; of the only one, as ``[roof]`` or ``[water]`` says."""
    given = project.counted.field if project.counted is not None else {}
    if buildup.name in given:
        return Field(given[buildup.name], f"input: quantities.field.{buildup.name}")
    if len(project.context.buildups) > 1 or given:
        return None
    roof = getattr(project.roof, "area", None)
    if roof:
        return Field(roof, "input: roof.area")
    return Field(project.water.area, "input: water.area") if project.water is not None else None


def _strips(project: Project, buildup: BuildUp) -> Iterator[Strip]:
    for detail in project.details.values():
        run, kind = run_of(detail.params), detail.params.kind
        if run is None or stands_singly(detail.params) or kind in PICTURES:
            continue
        if detail.params.buildup == buildup.name:
            yield strip_of(detail.section(), buildup, run)


# ------------------------------------------------------------------------------------------ what is left open
def _remarks(project: Project, details: Sequence[Detail], *, whole: bool) -> Iterator[str]:
    bare = [d.id for d in details if d.params.quantity is None and d.params.kind not in PICTURES]
    if bare:
        yield f"no total of {', '.join(bare)}: no quantity is given, so they are shown by the metre or piece only"
    if whole:
        for b in project.context.buildups.values():
            if field_of(project, b) is None:
                yield f"no total of the field {b.name}: give its area under [quantities], field = {{ {b.name} = … }}"
    yield "structure, walls, linings, frames and glass are not counted; nor is what is existing"
    yield "what a section shows to a break line only is counted as far as that"
    yield "seams by machine lie on the flat; of a sheet that is bonded or self-adhered the same lengths are rolled"
    yield "masses are those of dry materials as they are delivered"
    yield "developed lengths follow the middle of the sheet as it is drawn; the fabricator's bend allowance governs"
    yield "quantities for planning and tender, not for ordering: measure on site first"
