"""Every line of a pipe or post through the roof before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from detailgen.conditions.assemblies.upstand import face_of, finished_face
from detailgen.conditions.base import Context, falls_of, required_top
from detailgen.conditions.field import Field
from detailgen.conditions.parapet.params import Height
from detailgen.conditions.stub.params import PipeParams, PostParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels:
    """Every line of the half on the right of the axis [mm].

    Attributes:
        axis: of the pipe or post. core: outer face of the pipe or post itself. wall: its wall thickness.
        sleeve: wall thickness of the sleeve, 0 for a post.
        face: x of what receives the sheet. boards: what the roof's boards butt against. finished: finished face.
        upstand: insulation round it. m: flashing sheet.
        sheet: top of the sheet. top: top of the sleeve. start: where the storm collar leaves the pipe. tip: its foot.
        cut: upper end of what is drawn.
    """

    p: PipeParams | PostParams
    c: Context
    buildup: BuildUp
    field: Field
    axis: float
    core: float
    wall: float
    sleeve: float
    face: float
    boards: float
    finished: float
    upstand: float
    m: float
    sheet: float
    top: float
    start: float
    tip: float
    cut: float
    numbers: dict[str, Derivation]

    @property
    def kind(self) -> Literal["pipe", "post"]:
        """Which of the two."""
        return self.p.kind

    @property
    def hot(self) -> bool:
        """A hot pipe with an air gap."""
        return isinstance(self.p, PipeParams) and self.p.hot

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane."""
        return self.buildup.system == "inverted"

    @property
    def faced(self) -> bool:
        """Insulation outside the sheet, under a facing."""
        return self.inverted and self.upstand > 0


def levels_of(p: PipeParams | PostParams, c: Context) -> Levels:
    """Levels of a pipe or post, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    if isinstance(p.height, Height) and (p.height.above_deck is None) == (p.height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")
    m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    sheet_t = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    radius, sleeve, gap, wall = _core(p, c)
    bare = isinstance(p, PipeParams) and not p.hot
    upstand = p.upstand_insulation if p.upstand_insulation is not None else 0.0 if bare else size("parapet.upstand")
    face = face_of(b, upstand, size("parapet.board"))
    outside = upstand if b.system == "inverted" else 0.0
    finished = finished_face(face, sheet_t, outside, size("parapet.facing") if outside else 0.0)
    margin = c.sized("margin", "margin.width", p.margin)
    falls = falls_of(p, b, c.size("field.run_curb"))
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    events = finished.value + margin.value + foot
    field = Field(b, falls, c.sizes, falls.cut_plane(events, size("stub.beyond_events")))
    finish = _uphill(field.governing_finish(finished.value), b.slope, radius + sleeve + gap + finished.value)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if outside:
        required = max(required, _insulated(p, c, field, finished.value), key=lambda d: d.value)
    sheet = _given(p, finish) or Derivation(
        "top of the flashing", rounded_up(required.value, c.step), "mm",
        f"required top rounded up to {c.step:g} mm", (required,),
    )  # fmt: skip
    if sheet.value < finish.value + 25.0:
        raise BuildError(
            "height",
            f"the sheet would end at {sheet.value:.0f} mm above the deck, at or under the roof it should hold "
            f"(finished surface {finish.value:.0f} mm)",
            "upstand-too-low",
        )
    cover = c.sized("storm collar over the sheet", "stub.collar_cover", p.collar_cover)
    top = sheet.value + size("stub.above_sheet")
    core = 0.0 - sleeve - gap
    leg = finished.value + size("parapet.inner_clear") - core
    start = top + size("stub.collar_over_sleeve") + size("stub.collar_slope") * leg
    numbers = {
        "finish": finish,
        "required_top": required,
        "flashing_top": sheet,
        "flashing_height": Derivation(
            "flashing height",
            sheet.value - finish.value,
            "mm",
            "top of the flashing - finished surface",
            (sheet, finish),
        ),
        "lap": c.sized("lap on the field sheet", "parapet.lap", p.lap),
        "topping": b.thickness_at(falls.cut),
        "margin": margin,
        "collar": cover,
        "finished_face": finished,
    }
    cut = start + size("parapet.receiver_leg") + size("stub.above_collar")
    return Levels(
        p, c, b, field, core - radius, core, wall, sleeve, face, face + m + outside, finished.value, upstand, m,
        sheet.value, top if sleeve else sheet.value, start, sheet.value - cover.value, cut, numbers,
    )  # fmt: skip


def _core(p: PipeParams | PostParams, c: Context) -> tuple[float, float, float, float]:
    """Radius of pipe or post, wall of the sleeve, gap between them, wall of pipe or post."""
    size = c.size
    if isinstance(p, PostParams):
        return size("stub.post", p.width) / 2, 0.0, 0.0, size("stub.post_wall")
    radius, wall = size("stub.pipe", p.diameter) / 2, size("stub.pipe_wall")
    if radius < 3 * wall:
        raise BuildError("diameter", f"a pipe is at least {6 * wall:.0f} mm thick", "pipe-too-thin")
    gap = size("stub.hot_gap" if p.hot else "stub.gap", p.air_gap)
    least = size("stub.least_hot_gap") if p.hot else 5.0
    if gap < least:
        what = "a hot pipe needs an air gap" if p.hot else "pipe and sleeve need a joint"
        raise BuildError("air_gap", f"{what} of at least {least:.0f} mm", "air-gap-too-small")
    return radius, size("stub.sleeve"), gap, wall


def _uphill(finish: Derivation, slope: float, reach: float) -> Derivation:
    """The finished surface at the uphill side: the sheet's height counts on every side."""
    inputs = (Derivation("slope", slope, "ratio"), Derivation("distance from the axis", reach))
    rise = Derivation("rise to the uphill side", slope * reach, "mm", "slope × distance from the axis", inputs)
    formula = "finished surface at the axis + rise to the uphill side"
    return Derivation(
        "finished surface at the uphill side (D_FIN)", finish.value + rise.value, "mm", formula, (finish, rise)
    )


def _insulated(p: PipeParams | PostParams, c: Context, field: Field, x: float) -> Derivation:
    """Top of a sheet under whose clamp the insulation rises far enough from the underside of the roof boards."""
    size, b = c.size, field.buildup
    first = next(layer for layer in b.above if layer.material.role == "insulation")
    under = Derivation("underside of the roof boards", field.at(first.id, x) - first.thickness)
    least = c.minimum("insulation_overlap", facts_of(p, b, c)) or Derivation("rise", 0.0)
    names = ("stub.clamp_below_top", "stub.clamp_height", "parapet.upstand_below_top")
    over = Derivation("clamp over the insulation", sum(map(size, names)), source=c.sizes.source(names[0]))
    value = under.value + least.value + over.value
    formula = "underside of the boards + minimum rise + clamp"
    return Derivation("required top over the insulation", value, "mm", formula, (under, least, over))


def _given(p: PipeParams | PostParams, finish: Derivation) -> Derivation | None:
    if p.height == "auto":
        return None
    if not isinstance(p.height, Height):
        return Derivation("top of the flashing", float(p.height))
    if p.height.above_finish is not None:
        above = Derivation("height above the finished surface", p.height.above_finish)
        value = finish.value + above.value
        return Derivation("top of the flashing", value, "mm", "finished surface + height", (finish, above))
    assert p.height.above_deck is not None
    return Derivation("top of the flashing", p.height.above_deck)


def facts_of(p: PipeParams | PostParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this pipe or post."""
    return {
        "kind": p.kind,
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "end": "none",
        "cladding": "none",
        "hot": isinstance(p, PipeParams) and p.hot,
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": False,
    }
