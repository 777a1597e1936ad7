"""Seams, corner pieces and round patches of upstands, and the fittings of what stands in the roof one by one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Literal

from detailgen.catalogue.practice import Practice
from detailgen.catalogue.rows import Material
from detailgen.conditions.corner_plan import Counts, Pieces, counts, pieces_of
from detailgen.errors import BuildError
from detailgen.quantities.model import Figure, Run
from detailgen.quantities.parts import M2, ON_SECTION, M, figure, plain_name
from detailgen.section.model import Derivation, Section

BY = "common practice, no source: a toe on the flat is welded by machine, what stands up or bends by hand"
PLAN = "pieces of a run of upstand, as the plan of its corners shows them"


def upstand(section: Section, sizes: Practice) -> Pieces | None:
    """The pieces of a section's upstand; None if it has none with a flashing sheet."""
    try:
        return pieces_of(section, sizes)
    except BuildError:
        return None


def seam_figures(section: Section, sizes: Practice, run: Run | None) -> Iterator[Figure]:
    """Seams of an edge by machine and by hand, its corner pieces and round patches."""
    pieces = upstand(section, sizes)
    if pieces is not None and not pieces.around:
        yield from _straight(section, pieces, run)
    for part in section.having("waterproofing"):
        if part.id.startswith("flashing") or part.status == "existing" or "lap" not in dict(part.sizes):
            continue
        rate = Derivation(f"seam of the {plain_name(part.kind)}", 1.0, "m/m", "one toe", source=BY)
        yield figure(section.id, f"weld-{part.id}", "seam by hand", "welds", rate, "m", run)


def _straight(section: Section, p: Pieces, run: Run | None) -> Iterator[Figure]:
    """Of an upstand with a roof on one side or on both, and with one sheet over it or one on each side."""
    detail = section.id
    toes = 2 if "membrane-left" in section.by_id else 1
    sheets = 2 if "flashing-left" in section.by_id else 1
    long = Derivation("length of one flashing sheet", p.length, "mm", source="catalogue: practice corners.length")
    girth = Derivation("girth of the flashing", p.girth, "mm", source=ON_SECTION)
    number = Derivation("flashing sheets side by side", sheets, "", source=ON_SECTION)
    toe = Derivation("seams of the toes", float(toes), "m/m", "each goes on along the edge", source=BY)
    across, words = sheets * p.girth / p.length, "sheets × girth / length"
    ends = Derivation("seams across the flashing", across, "m/m", words, (number, girth, long), BY)
    yield figure(detail, "weld-machine", "seam by machine", "welds", toe, "m", run)
    if run is None:
        yield figure(detail, "weld-hand", "seam by hand", "welds", ends, "m", None)
        return
    inside, outside = run.inside, run.outside
    if toes == 2:  # where one side turns in, the other turns out
        inside = outside = run.inside + run.outside
    done = counts(p, run.length, inside=inside, outside=outside)
    bent = done.weld - run.length - done.seams * p.girth  # edges of the corner pieces
    by_hand = (sheets * done.seams * p.girth + bent + toes * done.patches * math.pi * p.patch) / M
    words = "sheets × seams × girth + edges of corner pieces and round patches at each toe, for each stretch"
    patch = Derivation("diameter of a round patch", p.patch, "mm", source="catalogue: practice corners.patch")
    leg = Derivation("leg of a corner piece", p.corner, "mm", source="catalogue: practice corners.leg")
    seams = Derivation("seams across", done.seams, "", "length / length of one sheet, rounded up, - 1", (long,))
    why = (number, seams, girth, leg, patch, *_corners(run))
    hand = Derivation(f"seam by hand of {detail}", by_hand * run.count, "m", words, why, BY)
    yield Figure("weld-hand", detail, "welds", "seam by hand", "", "m", "m", ends.value, hand.value, hand)
    yield from _pieces(detail, done, run, toes)


def _corners(run: Run) -> tuple[Derivation, ...]:
    said = (("inside corners", run.inside, "inside"), ("outside corners", run.outside, "outside"))
    return tuple(Derivation(name, n, "", source=f"input: quantity.{key} of the detail") for name, n, key in said)


def _pieces(detail: str, done: Counts, run: Run, toes: int) -> Iterator[Figure]:
    """Corner pieces, and patches of each toe: so many in each stretch."""
    patches = done.patches * toes
    found = {"corner piece, inside": done.inside, "corner piece, outside": done.outside, "round patch": patches}
    for name, n in found.items():
        if n:
            id = name.replace(", ", "-").replace(" ", "-")
            one = Derivation(f"{name} in one stretch", n, "pieces", "", _corners(run), PLAN)
            many = Derivation("how many", run.count, "", source="input: quantity.count of the detail, 1 if absent")
            why = Derivation(f"{name} of {detail}", n * run.count, "pieces", "in one stretch × how many", (one, many))
            per: Literal["m"] = "m"
            yield Figure(id, detail, "pieces", name, "", "pieces", per, n / (run.length / M), why.value, why)


def piece_figures(
    section: Section, materials: Mapping[str, Material], sizes: Practice, run: Run | None
) -> Iterator[Figure]:
    """What one piece takes: its sheet, seams and patches where it is round, and one of each of its fittings.

    A part that the section cuts twice, on the left and on the right of its axis, is one fitting; one that is fixed at
    a spacing goes on along the edge and belongs to that.
    """
    pieces = upstand(section, sizes)
    if pieces is not None and pieces.around:
        done = counts(pieces, 0.0)
        around = Derivation("diameter", pieces.around, "mm", source=ON_SECTION)
        girth = Derivation("girth of the flashing", pieces.girth, "mm", source=ON_SECTION)
        sheet = Derivation("flashing of one piece", done.flashing / M2, "m2/piece", "pi × d × girth", (around, girth))
        material = materials[section["flashing"].material].name
        yield figure(
            section.id, "flashing", "flashing", "waterproofing", sheet, "piece", run, material=material,
            thickness=section["flashing"].thickness, girth=pieces.girth,
        )  # fmt: skip
        words = "round the pipe, round the flange, one seam up"
        weld = Derivation("seam of one piece", done.weld / M, "m/piece", words, (around, girth), BY)
        yield figure(section.id, "weld-hand", "seam by hand", "welds", weld, "piece", run)
    seen: set[str] = set()
    for part in section.having("hardware"):
        id = part.id.removesuffix("-left")
        if part.status == "existing" or id in seen or "spacing" in dict(part.sizes):
            continue
        seen.add(id)
        one = Derivation(f"{plain_name(part.kind)} of one piece", 1, "pieces/piece", source=f"{ON_SECTION}, {part.id}")
        yield figure(
            section.id, id, plain_name(part.kind), "pieces", one, "piece", run, material=materials[part.material].name
        )
