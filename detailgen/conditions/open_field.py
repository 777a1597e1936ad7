"""The open field: the build-up alone between two cut planes, with the seams of its sheets and boards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pydantic import Field as Key

from detailgen.conditions.base import Context, DetailParams, built, falls_of, finish_section
from detailgen.conditions.field import Field, Medium, Seam, Upstand
from detailgen.conditions.wording import distance
from detailgen.errors import BuildError
from detailgen.fields import PositiveLength
from detailgen.section.build import Workshop
from detailgen.section.buildup import BuildUp
from detailgen.section.front import Front
from detailgen.section.model import CutPlane, Derivation, Dimension, Level, Mark, Point, Section

PSF = 4.88243  # kg/m2 in a pound per square foot
AIR = ("pedestal",)  # layers that are mostly air weigh next to nothing


class FieldParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "field"``."""

    kind: Literal["field"] = "field"
    width: PositiveLength | None = Key(None, description="of what is drawn")
    lap: PositiveLength | None = Key(None, description="of the seams of the sheets")


@dataclass(frozen=True)
class OpenField:
    """The registered condition."""

    kind: str = "field"
    title: str = "Roof field"
    params: type[FieldParams] = FieldParams

    def section(self, params: FieldParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        width, least = context.size("open_field.section", params.width), context.size("paving.length")
        if width < least:
            words = f"a field is drawn at least {distance(least, context.units)} wide, so that seams and joints show"
            raise BuildError("width", words, "field-too-narrow")
        roof = Roof.of(params, context, width)
        lap = _lap(params, context, roof.buildup)
        if lap.value > 0.3 * roof.field.right:
            raise BuildError("lap", "the lap is wider than a third of what is drawn; give more width", "lap-too-wide")

        def build(k_: float | None, widen: float) -> Section:
            w = Workshop(context.catalogue, k_, widen)
            right = roof.field.right
            stagger = min(context.size("open_field.seam_stagger"), 0.4 * right)
            roof.field.seam = Seam(0.42 * right, lap.value, stagger)
            roof.lay(w)
            return self._shown(roof, lap, w)

        return finish_section(built(build, k), params, context.catalogue)

    def _shown(self, roof: Roof, lap: Derivation, w: Workshop) -> Section:
        f = roof.field
        seam = f.seam
        assert seam is not None
        x = seam.x + seam.stagger * ([s for s in f.buildup.solid if s.form == "sheet"].index(f.buildup.membrane) % 2)
        y = f.membrane_top(x)
        seams = [Dimension("seam", (x - lap.value, y), (x, y), "x", "inside", "seam_lap")]
        remarks = (roof.weight(), roof.c.say("seams_staggered"))
        return roof.section(w, self.kind, roof.c.say("title_roof_field"), {"lap": lap}, seams, remarks)


def _lap(p: FieldParams, c: Context, b: BuildUp) -> Derivation:
    """Lap of the field sheets: the governing minimum, or the greater office practice."""
    usual = c.sized("lap of the sheets", "open_field.seam_lap", p.lap)
    least = c.minimum("seam_lap", {"kind": "field", "system": b.system, "covering": b.covering})
    if p.lap is not None or least is None or least.value <= usual.value:
        return usual
    return Derivation("lap of the sheets", least.value, "mm", "the governing minimum", (least,))


@dataclass(frozen=True)
class Roof:
    """A piece of roof between two cut planes, x = 0 and `field.right`.

    Attributes:
        numbers: of the field alone.
    """

    p: DetailParams
    c: Context
    buildup: BuildUp
    field: Field
    numbers: dict[str, Derivation]

    @classmethod
    def of(cls, p: DetailParams, c: Context, width: float) -> Roof:
        """The roof field of a detail, `width` wide [mm]."""
        b = c.buildups[p.buildup]
        usual = c.size("field.run_edge")
        falls = falls_of(p, b, usual)
        field = Field(b, falls, c.sizes, round(width, 1))
        layers = b.sum_of(tuple(layer for layer in b.solid if not layer.falls), "layers above the deck")
        taper = b.thickness_at(falls.cut)
        value = layers.value + taper.value
        total = Derivation("build-up above the deck", value, "mm", "thickness of the falls + layers", (taper, layers))
        return cls(p, c, b, field, {"topping": taper, "build_up": total})

    def lay(self, w: Workshop, medium: Medium | None = None) -> None:
        """Deck and every layer, from cut plane to cut plane."""
        f = self.field
        f.deck(w, 0.0, 0.0)
        start = (f.right, f.deck_top(f.right))
        w.front = Front.of(start, ("deck", (0.0, 0.0)))
        f.lay_topping(w)
        f.lay_below(w)
        f.lay_membrane(w, step=4)
        f.lay_protection(w, step=5)
        f.lay_cover(w, Upstand(0.0, 0.0, 0.0, cut=True), step=6, margin=0.0, medium=medium)

    def weight(self) -> str:
        """What the layers above the deck weigh at the cut, in a sentence."""
        b, d = self.buildup, self.field.falls.cut
        dry = wet = 0.0
        for layer in b.solid:
            if set(AIR) & set(layer.material.tags):
                continue
            t = b.thickness_at(d).value if layer.falls else layer.thickness
            dry += t / 1000 * layer.material.density
            wet += t / 1000 * (layer.material.density_saturated or layer.material.density)
        if self.c.units.system == "inch":
            dry, wet, unit = dry / PSF, wet / PSF, "psf"
        else:
            unit = "kg/m2"
        return self.c.say("layers_weigh", dry=f"{dry:.0f} {unit}", wet=f"{wet:.0f} {unit}")

    def facts(self, kind: str) -> dict[str, object]:
        """What rules and notes may ask of the field."""
        b, c = self.buildup, self.c
        return {
            "kind": kind,
            "system": b.system,
            "covering": b.covering,
            "slope": b.slope,
            "falls": self.p.falls,
            "access": self.p.access,
            "building_height": c.building_height,
            "deck": b.deck,
            "snow": c.snow,
            "cant": False,
            "end": "none",
        }

    def section(
        self,
        w: Workshop,
        kind: str,
        title: str,
        numbers: dict[str, Derivation],
        dimensions: list[Dimension],
        remarks: tuple[str, ...],
        marks: tuple[Mark, ...] | None = None,
        facts: dict[str, object] | None = None,
    ) -> Section:
        """The finished section of what was laid on the workshop."""
        f, b = self.field, self.buildup
        parts, spaces = w.finished()
        points = [q for p in parts for r in p.rings for q in r]
        right, t = f.right, b.deck_thickness
        top = max(f.finish_top(0.0), f.finish_top(right))
        own = (*f.slope_mark(60.0), *f.planting(0.0)) if marks is None else marks
        cut, far = (distance(d, self.c.units) for d in (f.falls.cut, f.falls.far))
        where = self.c.say("cut_and_thickest", cut=cut, far=far) if f.falls.cut < f.falls.far else ""
        return Section(
            id=self.p.id,
            kind=kind,
            title=self.p.title or title,
            parts=parts,
            spaces=spaces,
            frame=(0.0, min(q[1] for q in points), right, max(q[1] for q in points)),
            cuts=(self._cut(right, t), self._cut(0.0, t)),
            wet=(right - 50.0, top + 60.0),
            dry=(right * 0.3, f.deck_top(right * 0.3) - t / 2),
            coats=tuple(w.coats),
            fasteners=tuple(w.fasteners),
            levels=self._levels(),
            dimensions=(*self._dimensions(), *dimensions),
            marks=own,
            numbers={**self.numbers, **numbers, **self.field.waters(self.c)},
            facts={**self.facts(kind), **(facts or {})},
            cautions=("hot-work", "ponding", "water-test"),
            warnings=b.warnings,
            remarks=tuple(r for r in (where, *remarks) if r),
            drawn=w.k is not None,
        )

    def _cut(self, x: float, t: float) -> CutPlane:
        return CutPlane((x, self.field.deck_top(x) - t), (x, self.field.finish_top(x)))

    def _levels(self) -> tuple[Level, ...]:
        f, say = self.field, self.c.say
        x = f.right - 120.0
        total = self.numbers["build_up"]
        found = (
            Level("deck", (x, f.deck_top(x)), say("top_of_deck")),
            Level("membrane", (0.0, f.membrane_top(0.0)), say("top_of_membrane_at_cut")),
            Level("finish", (0.0, f.finish_top(0.0)), say("finished_surface_at_cut"), total),
        )
        return found if self._covered else found[:2]

    @property
    def _covered(self) -> bool:
        """Something lies on the membrane."""
        return self.field.finish_top(0.0) > self.field.membrane_top(0.0) + 1.0

    def _dimensions(self) -> list[Dimension]:
        f, b = self.field, self.buildup

        def at(y: float) -> Point:
            return (0.0, y)

        return [
            Dimension("slab", at(-b.deck_thickness), at(0.0), "y", "left"),
            Dimension("to-membrane", at(0.0), at(f.membrane_top(0.0)), "y", "left"),
            *(
                [Dimension("on-membrane", at(f.membrane_top(0.0)), at(f.finish_top(0.0)), "y", "left")]
                if self._covered
                else []
            ),
        ]
