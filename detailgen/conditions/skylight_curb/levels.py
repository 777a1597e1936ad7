"""Every line of a skylight's curb before anything is drawn, each number with its reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.upstand import face_of, finished_face, over_the_cant, wants_cant
from detailgen.conditions.base import Context, falls_of, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.parapet.params import Height
from detailgen.conditions.skylight_curb.params import SkylightCurbParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels:
    """Every line of the curb before anything is drawn [mm].

    Attributes:
        width: of the curb. m: flashing sheet. h: top of the curb. shim: extra height under the frame on the high side.
        face: x of what receives the sheet. upstand: thickness of the upstand insulation.
        boards: x of what the roof's boards butt against and the closure is carried over. finished: finished face.
        slope: of the glass plane along +x in this cut: negative on the low side, positive on the high side.
    """

    p: SkylightCurbParams
    c: Context
    buildup: BuildUp
    field: Field
    width: float
    m: float
    h: float
    shim: float
    face: float
    upstand: float
    boards: float
    finished: float
    slope: float
    numbers: dict[str, Derivation]

    @property
    def framed(self) -> bool:
        """A framed curb."""
        return is_framed(self.p.backing.kind, self.buildup)

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane: on the curb bonded outside the sheet, behind a cladding."""
        return self.buildup.system == "inverted"

    @property
    def cant(self) -> float:
        """Height of the cant over which the sheets are led up, 0 for none [mm]."""
        return self.c.size("parapet.cant") if wants_cant(None, self.buildup) else 0.0


def levels_of(p: SkylightCurbParams, c: Context) -> Levels:
    """Levels of a curb, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b = c.buildups[p.buildup]
    size = c.size
    refuse_heavy(p.backing.kind, b)
    if isinstance(p.height, Height) and (p.height.above_deck is None) == (p.height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")
    tan = abs(p.glass_slope) if p.glass_slope is not None else size("curb.slope")
    if not 0.0 < tan <= 1.2:
        raise BuildError("glass_slope", "the glass slopes more than 0 and at most 50 deg", "glass-slope")
    m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    width = _width(p, c, b)
    least = size("curb.frame_setback") + size("curb.frame_width") + size("curb.short_of_edge") + 5.0
    if width < least:
        raise BuildError("backing.thickness", f"the frame needs a curb of at least {least:.0f} mm", "curb-too-thin")
    sheet = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    insulated = size("curb.upstand", p.upstand_insulation)
    face = face_of(b, insulated, size("parapet.board"))
    outside = insulated if b.system == "inverted" else 0.0
    boards = face + m + outside
    clad = finished_face(face, sheet, outside, size("curb.cladding") if outside else 0.0, "cladding")
    finished = clad.value
    margin = c.sized("margin", "margin.width_openings" if p.opens else "margin.width", p.margin)
    usual = c.size("field.run_curb")
    falls = falls_of(p, b, usual)
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    field = Field(b, falls, c.sizes, falls.cut_plane(finished + margin.value + foot, size("field.beyond_events")))
    finish = field.governing_finish(finished)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if wants_cant(None, b):
        cover = c.sized("closure over the sheet", "curb.closure_over_sheet")
        clear = c.sized("clear of the cant", "parapet.counterflashing_above_cant")
        value = cover.value + clear.value
        above = Derivation("closure and clearance", value, "mm", "closure over the sheet + clearance", (cover, clear))
        over = over_the_cant(field, finish, sheet, c.sized("cant", "parapet.cant"), above)
        required = max(required, over, key=lambda d: d.value)
    h, shim = _heights(p, c, required, sheet, finish, tan)
    if h.value + m < finish.value + 25.0:
        raise BuildError(
            "height",
            f"the curb would end at {h.value:.0f} mm above the deck, at or under the roof around it "
            f"(finished surface {finish.value:.0f} mm)",
            "curb-too-low",
        )
    top = Derivation("top of the flashing", h.value + m, "mm", "curb + flashing sheet", (h, sheet))
    numbers = {
        "finish": finish,
        "required_top": required,
        "structure_top": h,
        "flashing_top": top,
        "flashing_height": Derivation(
            "flashing height",
            top.value - finish.value,
            "mm",
            "top of the flashing - highest finished surface along the curb",
            (top, finish),
        ),
        "lap": c.sized("lap on the field sheet", "curb.lap", p.lap),
        "topping": b.thickness_at(falls.cut),
        "curb_height": Derivation("curb above the deck", h.value, "mm", h.formula, h.inputs),
        "finished_face": clad,
        "termination": Derivation(
            "end of the sheet from the curb's inner edge",
            size("curb.short_of_edge"),
            source=c.sizes.source("curb.short_of_edge"),
        ),
        "margin": margin,
    }
    slope = {"low": -tan, "high": tan, "rake": 0.0}[p.side]
    return Levels(p, c, b, field, width, m, h.value, shim, face, insulated, boards, finished, slope, numbers)


def _width(p: SkylightCurbParams, c: Context, b: BuildUp) -> float:
    """Of the curb, the board of a framed one included [mm]."""
    if is_framed(p.backing.kind, b):
        return c.size("curb.framed", p.backing.thickness) + c.size("curb.frame_board")
    return c.size("curb.concrete", p.backing.thickness)


def _heights(
    p: SkylightCurbParams, c: Context, required: Derivation, sheet: Derivation, finish: Derivation, tan: float
) -> tuple[Derivation, float]:
    """Top of the curb on this side, and what the frame's shims take up on the high side."""
    if p.height != "auto":
        if isinstance(p.height, Height) and p.height.above_finish is not None:
            above = Derivation("height above the finished surface", p.height.above_finish)
            return Derivation(
                "structure top",
                finish.value + above.value - sheet.value,
                "mm",
                "finished surface + height - sheet",
                (finish, above, sheet),
            ), 0.0
        value = p.height.above_deck if isinstance(p.height, Height) else float(p.height)
        assert value is not None
        return Derivation("structure top", value), 0.0
    low = structure_top(required, sheet, c.step, "structure top")
    if p.side != "high":
        return low, 0.0
    size = c.size
    clear = c.sized("clear opening", "curb.clear_opening", p.clear_opening)
    width = _width(p, c, c.buildups[p.buildup])
    setback, frame = size("curb.frame_setback"), size("curb.frame_width")
    bearings = Derivation(
        "bearings of the glass on both curbs",
        2 * width - 2 * setback - frame,
        "mm",
        "from the low edge of one frame to the low edge of the other",
        source="catalogue: practice curb.*",
    )
    slope = Derivation("slope of the glass", tan, "ratio")
    exact = (clear.value + bearings.value) * tan
    rise = math.floor(exact / c.step + 1e-6) * c.step
    up = Derivation(
        "rise of the glass",
        rise,
        "mm",
        "(clear opening + bearings) × slope, rounded down to the office step; shims take up the rest",
        (clear, bearings, slope),
    )
    return Derivation("structure top", low.value + rise, "mm", "low side + rise of the glass", (low, up)), exact - rise


def facts_of(p: SkylightCurbParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this curb."""
    return {
        "kind": "skylight-curb",
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": "framed" if is_framed(p.backing.kind, b) else "concrete",
        "end": "face-strip",
        "cladding": "metal-panel" if b.system == "inverted" else "none",
        "side": p.side,
        "opens": p.opens,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": wants_cant(None, b),
    }
