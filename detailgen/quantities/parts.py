"""What one metre of an edge takes, read off the polygons, coats and fasteners of its true section."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from detailgen.catalogue.practice import Practice
from detailgen.catalogue.rows import Material
from detailgen.quantities.model import UNIT_OF, Figure, Group, Per, Run, Unit, group_of
from detailgen.quantities.shapes import area, developed, length, outline, runs_out
from detailgen.section.model import Coat, Derivation, Fastener, Part, Section

M, M2 = 1e3, 1e6  # millimetres in a metre, square millimetres in a square metre
ON_SECTION = "read off the true section"


def plain_name(kind: str) -> str:
    """A kind in plain words."""
    return kind.replace("-", " ")


def edge_figures(
    section: Section, materials: Mapping[str, Material], sizes: Practice, run: Run | None
) -> Iterator[Figure]:
    """Figures of every part, coat and fastener of an edge that is new and that a row of the groups takes.

    Args:
        section: the true section.
        materials: rows of the catalogue.
        sizes: office practice, for the pitch of pavers.
        run: how much of the edge the roof has; None for figures a metre only.
    """
    for part in section.parts:
        group = group_of(materials[part.material], part.role)
        if part.status == "existing" or group is None:
            continue
        if on_pads(materials[part.material]):
            pitch = pitch_of(sizes).value / len(part.rings)
            yield _spaced(section.id, part.id, part.kind, materials[part.material].name, pitch, run)
        elif part.view == "cut":
            yield _of_part(section, part, group, materials[part.material], run)
        elif spacing := dict(part.sizes).get("spacing", 0.0):
            yield _spaced(section.id, part.id, part.kind, materials[part.material].name, spacing, run)
    for coat in section.coats:
        yield _of_coat(section.id, coat, materials[coat.material], run)
    for f in section.fasteners:
        if f.spacing > 0:
            yield _of_fastener(section.id, f, run)


def on_pads(material: Material) -> bool:
    """Whether it is a pedestal: it stands at the corners of pavers and goes on in no direction."""
    return "pedestal" in material.tags


def pitch_of(sizes: Practice) -> Derivation:
    """From paver to paver, both ways [mm]."""
    names = ("paving.length", "paving.joint")
    side, joint = (Derivation(n, sizes.size(n), "mm", source=f"catalogue: practice {n}") for n in names)
    return Derivation("pitch of the pavers", side.value + joint.value, "mm", "side + joint", (side, joint))


def figure(
    detail: str, id: str, name: str, group: str, rate: Derivation, per: Per, run: Run | None, **more: object
) -> Figure:
    """A figure whose total is its rate times length times count.

    Args:
        detail: id of the detail.
        id: of the figure.
        name: what it is.
        group: key of its group.
        rate: how much of it one metre, piece or square metre takes, with its why; its unit ends with that.
        per: what it is for.
        run: how much of the detail the roof has.
        more: other fields of `Figure`.
    """
    unit: Unit = rate.unit.split("/")[0]  # type: ignore[assignment]
    total, why = None, rate
    if run is not None:
        why = _times(f"{name} of {detail}", rate, run, per)
        total = why.value
    given: Any = {"material": "", **more}
    return Figure(id, detail, group, name, unit=unit, per=per, rate=rate.value, total=total, why=why, **given)


def _times(name: str, rate: Derivation, run: Run, per: Per) -> Derivation:
    count = Derivation("how many", run.count, "", source="input: quantity.count of the detail, 1 if absent")
    unit = rate.unit.split("/")[0]
    if per != "m":
        return Derivation(name, rate.value * run.count, unit, "per piece × how many", (rate, count))
    long = Derivation("length of the edge", run.length / M, "m", source="input: quantity.length of the detail")
    value = rate.value * run.length / M * run.count
    return Derivation(name, value, unit, "per metre × length × how many", (rate, long, count))


# ------------------------------------------------------------------------------------------ parts
def _of_part(section: Section, part: Part, group: Group, material: Material, run: Run | None) -> Figure:
    name = plain_name(part.kind)
    rate = rate_of(part, group, name)
    girth = developed(part) if group.by == "girth" else 0.0
    mass = area(part) / M2 * material.density
    thickness = part.thickness if material.form != "fill" else 0.0  # a wedge, a bead: no thickness to order it by
    return figure(
        section.id, part.id, name, group.key, rate, "m", run,
        material=material.name, mass=mass, thickness=thickness, girth=girth, drawn=runs_out(section, part),
    )  # fmt: skip


def rate_of(part: Part, group: Group, name: str) -> Derivation:
    """How much of a part one metre of edge takes, with its why."""
    unit = f"{UNIT_OF[group.by]}/m"
    read = f"{ON_SECTION}, part {part.id}"
    surface = Derivation("area of its polygon", area(part) / M2, "m2", source=read)
    thickness = Derivation("thickness", part.thickness, "mm", source=read)
    if group.by == "run":
        return Derivation(f"{name} a metre of edge", 1.0, unit, "it goes on along the edge", source=read)
    if group.by == "volume":
        return Derivation(f"{name} a metre of edge", surface.value, unit, "area × 1 m", (surface,))
    if group.by == "face" and part.thickness:
        value = area(part) / part.thickness / M
        return Derivation(f"{name} a metre of edge", value, unit, "area / thickness × 1 m", (surface, thickness))
    around = Derivation("outline of its polygon", sum(outline(r) for r in part.rings), "mm", source=read)
    pieces = Derivation("polygons", len(part.rings), "", source=read)
    words = "outline / 2 - thickness of each polygon"
    girth = Derivation("developed length", developed(part), "mm", words, (around, thickness, pieces))
    return Derivation(f"{name} a metre of edge", girth.value / M, unit, "developed length × 1 m", (girth,))


def _of_coat(detail: str, coat: Coat, material: Material, run: Run | None) -> Figure:
    name = plain_name(coat.kind)
    line = Derivation("length of its line", length(coat.line), "mm", source=f"{ON_SECTION}, coat {coat.id}")
    rate = Derivation(f"{name} a metre of edge", line.value / M, "m2/m", "length × 1 m", (line,))
    return figure(
        detail, coat.id, name, "coats", rate, "m", run, material=material.name, girth=line.value
    )


# ------------------------------------------------------------------------------------------ what stands at a spacing
def _of_fastener(detail: str, f: Fastener, run: Run | None) -> Figure:
    return _spaced(detail, f.id, f.kind, "", f.spacing, run)


def _spaced(detail: str, id: str, kind: str, material: str, spacing: float, run: Run | None) -> Figure:
    """One at both ends of each stretch, and between them no farther apart than the spacing."""
    name = plain_name(kind)
    apart = Derivation("spacing", spacing, "mm", source=f"{ON_SECTION}, {id}")
    rate = Derivation(f"{name} a metre of edge", M / spacing, "pieces/m", "1 m / spacing", (apart,))
    total, why = None, rate
    if run is not None:
        each = math.ceil(run.length / spacing - 1e-9) + 1
        long = Derivation("length of the edge", run.length / M, "m", source="input: quantity.length of the detail")
        count = Derivation("how many", run.count, "", source="input: quantity.count of the detail, 1 if absent")
        words = "(length / spacing, rounded up, + 1) × how many"
        why = Derivation(f"{name} of {detail}", each * run.count, "pieces", words, (long, apart, count))
        total = why.value
    return Figure(id, detail, "fasteners", name, material, "pieces", "m", rate.value, total, why)



