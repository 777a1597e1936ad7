"""What a plan of corners takes from the section of its upstand, and the sizes that only a plan shows."""

from __future__ import annotations

from dataclasses import dataclass, replace

from detailgen.conditions.base import Context
from detailgen.conditions.corner_plan.params import CornerPlanParams
from detailgen.conditions.corner_plan.pieces import CURBS, ROUND, Pieces, pieces_of, round_body
from detailgen.errors import BuildError
from detailgen.section.model import Derivation, Part, Section

STANDS = ("structure", "backing", "insulation", "frame", "hardware")  # what an upstand is made of


@dataclass(frozen=True)
class Upstand:
    """The upstand of a plan [mm].

    Attributes:
        section: of the upstand.
        body: its main part. thick: how wide it stands in the plan, before its sheet.
        m: flashing sheet. leg: how far the plan goes from a corner.
    """

    p: CornerPlanParams
    c: Context
    section: Section
    pieces: Pieces
    body: Part
    thick: float
    m: float
    leg: float
    numbers: dict[str, Derivation]

    @property
    def round(self) -> bool:
        """A pipe or a post."""
        return self.section.kind in ROUND

    @property
    def turns_in(self) -> bool:
        """The plan has an inside corner."""
        return not self.round and self.section.kind not in CURBS


def facts_of(u: Upstand) -> dict[str, object]:
    """What rules may ask of this plan."""
    known = {k: v for k, v in u.section.facts.items() if k in ("system", "covering", "deck", "backing")}
    return {**known, "kind": "corner-plan", "round": u.round}


def upstand_of(p: CornerPlanParams, c: Context) -> Upstand:
    """The upstand of a plan.

    Raises:
        BuildError: there is none, or its pieces do not fit together.
    """
    detail = c.details[p.of]
    if detail.kind == p.kind:
        raise BuildError("of", f"{detail.id} is a plan itself; a plan is of an upstand", "no-upstand")
    if detail.buildup != p.buildup:
        reason = f"{detail.id} lies on the build-up {detail.buildup!r}; its plan lies on the same"
        raise BuildError("buildup", reason, "other-buildup")
    from detailgen.conditions import CONDITIONS

    section = CONDITIONS[detail.kind].section(detail.model_copy(update={"mirror": False}), c)
    found = pieces_of(section, c.sizes)
    size = c.sized
    leg = size("leg of a corner piece", "corners.leg", p.corner)
    offset = size("seam from a corner", "corners.seam_offset", p.seam_offset)
    seam, patch = size("lap of two lengths", "corners.seam", p.seam), size("round patch", "corners.patch", p.patch)
    found = replace(found, corner=leg.value, offset=offset.value, seam=seam.value, patch=patch.value)
    if found.corner < found.lap and not found.around:
        reason = f"a corner piece covers the flashing's lap on the field sheet of {found.lap:.0f} mm and goes beyond it"
        raise BuildError("corner", reason, "corner-too-small")
    if found.offset < found.corner + found.seam + found.patch / 2:
        raise BuildError("seam_offset", "the seam and its patch would lie on the corner piece", "seam-on-corner")
    body = _body(section)
    x0, x1 = (max(section.frame[0], v) for v in (_left(body), _right(body)))
    m = section["flashing"].thickness
    numbers = {"lap": section.numbers["lap"], "corner": leg, "seam_offset": offset, "seam": seam, "patch": patch}
    drawn = offset.value + c.size("corners.beyond_seam")
    return Upstand(p, c, section, found, body, x1 - x0, m, drawn, numbers)


def _left(p: Part) -> float:
    return min(x for r in p.rings for x, _ in r)


def _right(p: Part) -> float:
    return max(x for r in p.rings for x, _ in r)


def _body(section: Section) -> Part:
    """The part that the flashing stands on: the nearest that rises beside it."""
    if section.kind in ROUND:
        return section[round_body(section)]
    x = section.level("flashing-top").point[0]
    level = (section.level("membrane").point[1] + section.numbers["flashing_top"].value) / 2
    found = []
    for p in section.parts:
        ys = [y for r in p.rings for _, y in r]
        if p.role in STANDS and min(ys) < level < max(ys) and _right(p) <= x + 1.0:
            found.append(p)
    beside = [p for p in found if p.role in ("structure", "backing", "hardware")] or found
    if not beside:
        raise BuildError("of", f"nothing stands behind the flashing of {section.id}", "no-upstand")
    return max(beside, key=lambda p: (round(_right(p)), _right(p) - _left(p), p.id))
