"""Every line of a skylight's curb before anything is drawn, each number with its reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.roofside import RoofSide, refuse_ambiguous
from detailgen.conditions.assemblies.upstand import over_the_cant, wants_cant
from detailgen.conditions.base import Context, Height, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.skylight_curb.params import SkylightCurbParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line of the curb before anything is drawn [mm].

    Attributes:
        width: of the curb. h: top of the curb. shim: extra height under the frame on the high side.
        slope: of the glass plane along +x in this cut: negative on the low side, positive on the high side.
    """

    p: SkylightCurbParams
    field: Field
    width: float
    h: float
    shim: float
    slope: float
    numbers: dict[str, Derivation]

    @property
    def framed(self) -> bool:
        """A framed curb."""
        return is_framed(self.p.backing.kind, self.buildup)


def levels_of(p: SkylightCurbParams, c: Context) -> Levels:
    """Levels of a curb, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b = c.buildups[p.buildup]
    size = c.size
    refuse_heavy(p.backing.kind, b)
    refuse_ambiguous(p.height)
    tan = abs(p.glass_slope) if p.glass_slope is not None else size("curb.slope")
    if not 0.0 < tan <= 1.2:
        raise BuildError("glass_slope", "the glass slopes more than 0 and at most 50 deg", "glass-slope")
    width = _width(p, c, b)
    least = size("curb.frame_setback") + size("curb.frame_width") + size("curb.short_of_edge") + 5.0
    if width < least:
        raise BuildError("backing.thickness", f"the frame needs a curb of at least {least:.0f} mm", "curb-too-thin")
    side = RoofSide.of(c, b, size("curb.upstand", p.upstand_insulation), wants_cant(None, b), "curb.cladding")
    sheet = side.flashing
    margin = c.sized("margin", "margin.width_openings" if p.opens else "margin.width", p.margin)
    field = side.before(p, "field.run_curb", margin.value)
    finish = field.governing_finish(side.finished)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if side.cant:
        cover = c.sized("closure over the sheet", "curb.closure_over_sheet")
        clear = c.sized("clear of the cant", "parapet.counterflashing_above_cant")
        value = cover.value + clear.value
        above = Derivation("closure and clearance", value, "mm", "closure over the sheet + clearance", (cover, clear))
        over = over_the_cant(field, finish, sheet, c.sized("cant", "parapet.cant"), above)
        required = max(required, over, key=lambda d: d.value)
    h, shim = _heights(p, c, required, sheet, finish, tan)
    if h.value + side.m < finish.value + size("upstand.least"):
        raise BuildError(
            "height",
            f"the curb would end at {h.value:.0f} mm above the deck, at or under the roof around it "
            f"(finished surface {finish.value:.0f} mm)",
            "curb-too-low",
        )
    top = Derivation("top of the flashing", h.value + side.m, "mm", "curb + flashing sheet", (h, sheet))
    numbers = {
        **side.stands(field, finish, required, top, "cladding"),
        "structure_top": h,
        "lap": c.sized("lap on the field sheet", "curb.lap", p.lap),
        "curb_height": Derivation("curb above the deck", h.value, "mm", h.formula, h.inputs),
        "termination": Derivation(
            "end of the sheet from the curb's inner edge",
            size("curb.short_of_edge"),
            source=c.sizes.source("curb.short_of_edge"),
        ),
        "margin": margin,
    }
    slope = {"low": -tan, "high": tan, "rake": 0.0}[p.side]
    return Levels(
        **side.shared(), p=p, field=field, width=width, h=h.value, shim=shim, slope=slope, numbers=numbers
    )


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
