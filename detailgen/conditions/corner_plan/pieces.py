"""Corner pieces, round patches and welds of an upstand as data, for plans and for quantities."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.catalogue.practice import Practice
from detailgen.errors import BuildError
from detailgen.section.model import Section, row

ROUND = ("pipe", "post")
CURBS = ("skylight-curb", "equipment-curb", "roof-hatch")
EDGES = ("parapet", "scupper", "wall-abutment", "door-threshold", "movement-joint", "area-divider")
KINDS = (*EDGES, *CURBS, *ROUND)


@dataclass(frozen=True, slots=True)
class Pieces:
    """What the waterproofing of one upstand is made of [mm].

    Attributes:
        girth: developed length of the flashing sheet in the section.
        lap: of the flashing on the field sheet. rise: of the flashing over the field sheet.
        length: of one length of flashing, seam to seam. seam: lap of two lengths.
        corner: leg of a corner piece on each face. patch: diameter of a round patch.
        offset: least distance of a seam from a corner.
        around: diameter of what is round, 0 for straight upstands.
    """

    girth: float
    lap: float
    rise: float
    length: float
    seam: float
    corner: float
    patch: float
    offset: float
    around: float = 0.0


@dataclass(frozen=True, slots=True)
class Counts:
    """Pieces of a whole run.

    Attributes:
        inside, outside: corner pieces. patches: round patches. seams: between lengths of flashing.
        weld: of all seams, toes and corner pieces [mm]. flashing: area of the sheet with its laps [mm2].
    """

    inside: int
    outside: int
    patches: int
    seams: int
    weld: float
    flashing: float


def pieces_of(section: Section, sizes: Practice) -> Pieces:
    """Pieces of the upstand of a finished section; sizes that no section shows are office practice.

    Raises:
        BuildError: it has no upstand with a flashing sheet.
    """
    sheet = section.by_id.get("flashing")
    if section.kind not in KINDS or sheet is None or "lap" not in section.numbers:
        reason = f"{section.id} has no upstand with a flashing sheet of its own; allowed are {', '.join(KINDS)}"
        raise BuildError("of", reason, "no-upstand")
    lap, top = section.numbers["lap"].value, section.numbers["flashing_top"].value
    rise = top - section.level("membrane").point[1]
    around = 0.0
    if section.kind in ROUND:
        body = round_body(section)
        level = top - rise / 2  # over the flange
        xs = [x for x0, x1, id in row(section, level) if id in (body, f"{body}-left") for x in (x0, x1)]
        around = max(xs) - min(xs) + 2 * sheet.thickness
    size = sizes.size
    return Pieces(
        sheet.girth if not around else rise + lap, lap, rise, size("corners.length"), size("corners.seam"),
        size("corners.leg"), size("corners.patch"), size("corners.seam_offset"), around,
    )  # fmt: skip


def round_body(section: Section) -> str:
    """Id of what the sheet of a pipe or post goes round."""
    return "sleeve" if "sleeve" in section.by_id else "post"


def counts(p: Pieces, run: float, *, inside: int = 0, outside: int = 0, field_seams: int = 0) -> Counts:
    """What a run of upstand takes.

    The toe is welded along its length; each seam over the girth of the flashing; a corner piece round its free edge:
    a square of the leg on the sheet and its two faces inside, three quarters of a circle outside. Where a seam meets
    the toe three sheets lie on each other, and a round patch covers the place.

    Args:
        p: pieces of the upstand.
        run: length of the face; for what is round it is its circumference [mm].
        inside: corners where the roof turns in.
        outside: corners round which the roof turns.
        field_seams: seams of the field sheet that run under the flashing.
    """
    if p.around:
        circle = math.pi * p.around
        return Counts(0, 0, 0, 1, circle + math.pi * 2 * p.lap + p.girth, circle * p.girth)
    seams = max(0, math.ceil(run / p.length) - 1)
    bent = inside * 4 * p.corner + outside * (1.5 * math.pi + 2) * p.corner
    sheet = (run + seams * p.seam) * p.girth
    return Counts(inside, outside, seams + field_seams, seams, run + seams * p.girth + bent, sheet)

