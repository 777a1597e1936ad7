"""A strip without planting in a planted roof: it stops a fire, or those who look after the roof walk on it.

One run of roof between two cut planes; the strip goes down through the medium to the filter fabric::

      medium |edge| gravel, or pavers on gravel |edge| medium
      -------------------- filter fabric ---------------------
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pydantic import Field as Key

from detailgen.conditions.assemblies.retention import lay_edge
from detailgen.conditions.base import Context, DetailParams, built, finish_section
from detailgen.conditions.open_field import Roof
from detailgen.errors import BuildError
from detailgen.fields import LengthOrAuto
from detailgen.section.build import Workshop
from detailgen.section.buildup import Layer
from detailgen.section.front import raised
from detailgen.section.model import Derivation, Dimension, Mark, Section


class FireBreakParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "fire-break"``."""

    kind: Literal["fire-break"] = "fire-break"
    purpose: Literal["fire", "maintenance"] = Key("fire", description="a fire break, or a path for maintenance")
    strip: Literal["gravel", "pavers"] = Key("gravel", description="what the strip is made of")
    width: LengthOrAuto = Key("auto", description="between the two plantings")


@dataclass(frozen=True)
class FireBreak:
    """The registered condition."""

    kind: str = "fire-break"
    title: str = "Strip without planting"
    params: type[FireBreakParams] = FireBreakParams

    def section(self, params: FireBreakParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        b = context.buildups[params.buildup]
        if b.covering != "planted":
            raise BuildError(
                "buildup",
                "a fire break interrupts planting; this roof is not planted",
                "break-without-planting",
            )
        facts: dict[str, object] = {"kind": self.kind, "purpose": params.purpose, "covering": b.covering}
        width = _width(params, context, facts)
        beside = context.size("break.beside")
        roof = Roof.of(params, context, width.value + 2 * beside)
        strip = _Strip(roof, params, beside, beside + width.value)

        def build(k_: float | None, widen: float) -> Section:
            w = Workshop(context.catalogue, k_, widen)
            strip.check()
            roof.lay(w, medium=strip.lay)
            dims = strip.dimensions()
            marks = (*roof.field.slope_mark(60.0), *strip.planting())
            title = context.say("title_fire_break" if params.purpose == "fire" else "title_maintenance_strip")
            return roof.section(
                w, self.kind, title, {"width": width}, dims, strip.remarks(), marks, facts={"purpose": params.purpose}
            )

        return finish_section(built(build, k), params, context.catalogue)


def _width(p: FireBreakParams, c: Context, facts: dict[str, object]) -> Derivation:
    """The governing minimum, or the greater office practice."""
    if p.width != "auto":
        return Derivation("width of the strip", float(p.width))
    usual = c.sized("width of the strip", f"break.{p.purpose}")
    least = c.minimum("break_width", facts)
    if least is None or least.value <= usual.value:
        return usual
    return Derivation("width of the strip", least.value, "mm", "the governing minimum", (least,))


@dataclass(frozen=True)
class _Strip:
    """The strip between x0 and x1, the faces of its edges towards the gravel are inside by their thickness."""

    roof: Roof
    p: FireBreakParams
    x0: float
    x1: float

    @property
    def paver(self) -> float:
        """Thickness of the pavers [mm]."""
        c = self.roof.c
        return c.catalogue.material("concrete-paver").usual(c.units.system)[0]

    def check(self) -> None:
        """Raises a `BuildError` for a strip that cannot be built."""
        c = self.roof.c
        if self.x1 - self.x0 < 2 * c.size("margin.edge_foot"):
            raise BuildError("width", "too narrow for a strip between two edges with feet", "break-too-narrow")
        medium = self.roof.field.finish
        least = self.paver + c.size("break.bedding")
        if self.p.strip == "pavers" and medium.thickness < least:
            raise BuildError(
                "strip",
                f"pavers on their bed need a medium of at least {least:.0f} mm; use gravel",
                "medium-too-shallow-for-pavers",
            )

    def lay(self, w: Workshop, layer: Layer, step: int) -> None:
        """Gravel or pavers, both edges, then the medium on both sides."""
        f, size = self.roof.field, self.roof.c.size
        line = f.line(layer.id)
        t = w.t(size("margin.edge_metal"), "retention-edge", most=size("margin.edge_above"))
        a, b = self.x0 + t, self.x1 - t
        sizes = {"w": self.x1 - self.x0}
        kind = "gravel-break" if self.p.purpose == "fire" else "gravel-path"
        if self.p.strip == "gravel":
            w.bed("strip", kind, line, "strip", right=b, left=a, step=step, thickness=layer.thickness, sizes=sizes)
        else:
            bed = raised(line, 0.0 - self.paver)
            thick = layer.thickness - self.paver
            w.bed("bedding", "break-bedding", bed, "bedding", right=b, left=a, step=step, thickness=thick)
            self._pavers(w, a, b, step)
        lay_edge(w, size, line, b, 1, "retention-edge", step)
        lay_edge(w, size, line, a, -1, "retention-edge-left", step)
        w.bed(layer.id, layer.material.key, line, layer.id, left=self.x1, step=step + 1, thickness=layer.thickness)
        other = f"{layer.id}-left"
        w.bed(other, layer.material.key, line, other, right=self.x0, step=step + 1, thickness=layer.thickness)
        w.join(layer.id, other)
        w.join("retention-edge", "retention-edge-left")

    def _pavers(self, w: Workshop, a: float, b: float, step: int) -> None:
        """Pavers of equal length with open joints between them, tight to the edges."""
        size, f = self.roof.c.size, self.roof.field
        line, joint = f.line(f.finish.id), size("paving.joint")
        n = max(1, round((b - a + joint) / (size("paving.length") + joint)))
        length = (b - a - (n - 1) * joint) / n
        for k in range(n):
            x = a + k * (length + joint)
            w.bed(
                f"paver-{k + 1}", "concrete-paver", line, "strip", right=x + length, left=x, step=step,
                thickness=self.paver,
            )  # fmt: skip
        w.join("paver-1", *(f"paver-{k + 1}" for k in range(1, n)))
        for k in range(n - 1):
            x = a + k * (length + joint) + length
            right = w.front.over(x + joint, near=f.finish_top(x + joint))
            left = w.front.over(x, near=f.finish_top(x), last=True)
            w.void(f"paver-joint-{k + 1}", "paver_joint", right, [], left, "strip")

    def dimensions(self) -> list[Dimension]:
        """The width of the strip."""
        f = self.roof.field
        y = f.finish_top((self.x0 + self.x1) / 2)
        return [Dimension("strip-width", (self.x0, y), (self.x1, y), "x", "top", "break_width")]

    def planting(self) -> tuple[Mark, ...]:
        """Plants on both sides of the strip."""
        f = self.roof.field
        b, top = f.buildup, f.finish_top
        right = ((f.right, top(f.right)), (self.x1 + 2.0, top(self.x1 + 2.0)))
        left = ((self.x0 - 2.0, top(self.x0 - 2.0)), (0.0, top(0.0)))
        return tuple(
            Mark(id, "planting", line, b.plants, b.plants_material)
            for id, line in (("plants", right), ("plants-left", left))
        )

    def remarks(self) -> tuple[str, ...]:
        """How far apart, and what the strip is kept free of."""
        inch = self.roof.c.units.system == "inch"
        say = self.roof.c.say
        if self.p.purpose == "maintenance":
            return (say("strip_cleared"),)
        return say("strips_apart_inch" if inch else "strips_apart_metric"), say("strip_kept_free")
