"""Every line where a parapet meets a wall, from the levels of both, each number with its reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from detailgen.conditions.assemblies.wallface import WallFace
from detailgen.conditions.base import Context
from detailgen.conditions.parapet.levels import Levels as Parapet
from detailgen.conditions.parapet.levels import levels_of as parapet_levels
from detailgen.conditions.parapet.params import ParapetParams
from detailgen.conditions.parapet_at_wall.params import ParapetAtWallParams
from detailgen.conditions.wall.levels import Levels as Wall
from detailgen.conditions.wall.levels import levels_of as wall_levels
from detailgen.conditions.wall.params import WallParams
from detailgen.conditions.wording import distance
from detailgen.errors import BuildError
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels:
    """Every line [mm].

    Attributes:
        parapet: lines of the parapet, in its own section.
        wall: lines of the wall, its face at x = 0 or a gap to the left of it, its heights over the coping.
        right: cut plane of the parapet. low: lower cut plane.
        blocking: top of the blocking in the middle of the parapet. ply: sheet on it. rise: of the coping over the
            sheet. crown: top of the coping. upturn: top of its upturned end, whose back stands at x = `back`.
        tip: lower end of the counterflashing; `leg` the inner face of its leg.
    """

    p: ParapetAtWallParams
    c: Context
    parapet: Parapet
    wall: Wall
    right: float
    low: float
    blocking: float
    ply: float
    rise: float
    crown: float
    upturn: float
    back: float
    leg: float
    tip: float
    numbers: dict[str, Derivation]


def facts_of(v: Parapet, w: Wall) -> dict[str, object]:
    """What rules and notes may ask of this meeting."""
    return {
        "kind": "parapet-at-wall",
        "along": True,
        "system": v.buildup.system,
        "covering": v.buildup.covering,
        "slope": v.buildup.slope,
        "access": v.p.access,
        "backing": v.p.backing.kind,
        "end": w.p.ends,
        "cladding": w.p.cladding.kind,
        "independent": w.p.independent,
        "building_height": v.c.building_height,
        "deck": v.buildup.deck,
        "snow": v.c.snow,
    }


def _pair(p: ParapetAtWallParams, c: Context) -> tuple[ParapetParams, WallParams]:
    """The two details that meet.

    Raises:
        BuildError: they are of other kinds, or lie on another roof.
    """
    found = [c.details[id] for id in p.between]
    for k, (detail, kind) in enumerate(zip(found, ("parapet", "wall-abutment"), strict=True)):
        if detail.kind != kind:
            reason = f"{detail.id} is a {detail.kind}; this detail is between a parapet and a wall-abutment"
            raise BuildError(f"between[{k}]", reason, "other-kind")
        if detail.buildup != p.buildup:
            reason = f"{detail.id} lies on the build-up {detail.buildup!r}: edges that meet lie on one roof"
            raise BuildError("buildup", reason, "other-buildup")
    parapet, wall = found
    assert isinstance(parapet, ParapetParams) and isinstance(wall, WallParams)
    return parapet, wall


def levels_of(p: ParapetAtWallParams, c: Context) -> Levels:
    """Levels of the meeting, each number with its reasons.

    Raises:
        BuildError: the two details cannot meet, or one of them cannot be built.
    """
    one, other = _pair(p, c)
    v, w, size = parapet_levels(one, c), wall_levels(other, c), c.size
    numbers = _numbers(p, c, v, w)
    start = numbers["counterflashing"].value
    face = 0.0 - w.gap if other.independent else 0.0
    sheet = v.m if v.over else size("parapet.underlay")
    stands_out = size("parapet.barrier") + size("parapet.counterflashing") + sheet + size("wall.over_the_bulge")
    given = (other.cladding.insulation, other.cladding.air, other.cladding.thickness)
    cladding = WallFace.of(other.cladding.kind, size, face, face + stands_out, given)
    t, clear = size("parapet.coping"), size("parapet.inner_clear")
    back = (0.0 if other.independent else sheet) + size("meeting.behind_upturn")
    leg = max(back + t + clear, cladding.face + clear) if other.ends == "receiver" else back + t + clear
    crown, up = numbers["coping_top"].value, numbers["upturn"].value - numbers["coping_top"].value
    if up < size("meeting.least_upturn"):
        least = distance(size("meeting.least_upturn"), c.units)
        words = f"the metal on the wall must hang before the turned-up end of the coping: at least {least} high"
        raise BuildError("upturn", words, "upturn-too-low")
    tip = crown + min(size("meeting.tip_clear"), up / 2)  # lower before a low upturn, so that it covers its top
    wall = replace(
        w, wall=face, core=face + w.core - w.wall, back=face + w.back - w.wall, kerb=0.0, face=0.0, finished=leg,
        m=sheet, bar=numbers["bar"].value, sheet=numbers["termination"].value, start=start, tip=tip,
        cut=start + size("wall.above"), cladding=cladding,
    )  # fmt: skip
    low = v.y_t - size("meeting.below_top")
    length = size("meeting.length", p.length)
    if length < leg + size("meeting.least_beyond"):
        raise BuildError("length", "so short a piece shows nothing of the parapet beside the wall", "too-short")
    return Levels(
        p, c, v, wall, length, low, numbers["blocking"].value, sheet, size("parapet.bracket"), crown,
        numbers["upturn"].value, leg - clear - t, leg, tip, numbers,
    )  # fmt: skip


def _numbers(p: ParapetAtWallParams, c: Context, v: Parapet, w: Wall) -> dict[str, Derivation]:
    """From the top of the parapet to where the counterflashing leaves the wall."""
    size = c.size
    half = Derivation("half the width of its top", (v.brow - v.outer) / 2)
    slope = Derivation("coping slope", v.slope, "ratio")
    top = v.numbers["structure_top"]
    value, formula = top.value + slope.value * half.value, "structure top + slope × half the width"
    blocking = Derivation("blocking in the middle of the parapet", value, "mm", formula, (top, slope, half))
    plumb = math.sqrt(1 + v.slope**2)
    sheet = Derivation("sheet on it, plumb", (v.m if v.over else size("parapet.underlay")) * plumb, source="catalogue")
    bracket, metal = c.sized("coping bracket", "parapet.bracket"), c.sized("coping", "parapet.coping")
    inputs = (blocking, sheet, bracket, metal)
    value = sum(d.value for d in inputs)
    crown = Derivation("top of the coping", value, "mm", "blocking + sheet + bracket + coping", inputs)
    usual = c.sized("upturn of the coping's end", "meeting.upturn", p.upturn)
    least = c.minimum("coping_upturn", facts_of(v, w))
    up = least if least is not None and p.upturn is None and least.value > usual.value else usual
    upturn = Derivation("top of the upturn", crown.value + up.value, "mm", "coping + upturn", (crown, up))
    over = c.sized("end of the sheet over the upturn", "meeting.sheet_over_upturn")
    end = Derivation("end of the sheet", upturn.value + over.value, "mm", "upturn + distance", (upturn, over))
    if (height := c.minimum("flashing_height", facts_of(v, w))) is not None:
        lies = Derivation("sheet on the parapet", blocking.value + sheet.value, "mm", "blocking + sheet", inputs[:2])
        value, formula = lies.value + height.value, "sheet on the parapet + minimum height"
        end = max(end, Derivation("end of the sheet", value, "mm", formula, (lies, height)), key=lambda d: d.value)
    below, above = c.sized("bar below the sheet's top", "parapet.bar_below_top"), size("parapet.above_bar")
    bar = Derivation("top of the bar", end.value - below.value, "mm", "end of the sheet - distance", (end, below))
    if w.p.ends == "receiver":
        lap = c.sized("lap behind the barrier", "parapet.receiver_lap")
        end = Derivation("end of the sheet", bar.value + above + lap.value, "mm", "bar + clearance + lap", (bar, lap))
    room = c.sized("clearance over the bar", "parapet.above_bar")
    start = Derivation("counterflashing leaves the wall", bar.value + above, "mm", "bar + clearance", (bar, room))
    return {
        "structure_top": top, "blocking": blocking, "coping_top": crown, "upturn": upturn, "bar": bar,
        "termination": end, "counterflashing": start,
    }  # fmt: skip
