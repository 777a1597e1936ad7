"""What covers the outside of a parapet: insulation, cavity, stone or panel; or insulation under render."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from detailgen.conditions.assemblies.shapes import Size
from detailgen.section.build import Workshop
from detailgen.section.model import Point


@dataclass(frozen=True)
class Rainscreen:
    """Lines of the outside [mm].

    Attributes:
        base: face of the backing or of its barrier. insulation: outer face of the insulation.
        panel: inner face of stone or panel. face: outermost face.
        below: how far the top of stone, panel or render lies under the crest (outer top corner of the sheet).
    """

    kind: Literal["stone", "metal-panel", "render", "none"]
    base: float
    insulation: float
    panel: float
    face: float
    below: float

    @property
    def clad(self) -> bool:
        """Something covers the backing."""
        return self.kind != "none"


def cover(w: Workshop, size: Size, r: Rainscreen, crest: Point, end: float, low: float, carrier: str) -> None:
    """Insulation round the end of the sheet, then cavity and panel, or render.

    Args:
        w: the workshop.
        size: office practice.
        r: the lines.
        crest: outer top corner of the sheet on the parapet.
        end: lower end of the sheet on the outer face; the insulation is rebated round it.
        low: level of the lower cut.
        carrier: id of what the anchors reach.
    """
    t = r.base - r.insulation
    item = "render-insulation" if r.kind == "render" else "cavity-insulation"
    rebate = min(p[0] for p in w.front.points) - size("parapet.rebate") / 2
    top, foot = crest[1] - size("parapet.insulation_below_top"), end - size("parapet.rebate_below_end")
    a, b = w.front.at("outer", y=top), w.front.at("outer", y=foot, last=True)
    outline = [(rebate, top), (rebate, foot)]
    w.void("sheet-rebate", "sheet_rebate", a, outline, b, ["step", "outer", "step"])
    a, b = w.front.corner((rebate, top)), w.front.corner((rebate, foot), last=True)
    outline = [(r.insulation, top), (r.insulation, foot)]
    w.fill(f"{item}-top", item, a, outline, b, ["outer-top", "skin", "step"], step=18, thickness=t)
    a = w.front.corner((r.insulation, foot))
    w.fill(item, item, a, [(r.insulation, low)], w.front.finish(), ["skin", "plane"], step=18, thickness=t)
    if r.kind == "render":
        a, b = w.front.at("skin", start=0), w.front.finish()
        w.lay("render", "render-coat", a, b, r.insulation - r.face, step=19)
        return
    head = crest[1] - r.below
    a = w.front.at("skin", y=head)
    outline = [(r.panel, head), (r.panel, low)]
    w.void("cavity", "ventilated_cavity", a, outline, w.front.finish(), ["step", "cavity", "plane"])
    a, kind = w.front.corner((r.panel, head)), f"{r.kind.split('-')[0]}-panel"
    outline, t = [(r.face, head), (r.face, low)], r.panel - r.face
    faces = ["step", "clad-out", "plane"]
    w.fill(kind, kind, a, outline, w.front.finish(), faces, step=19, thickness=t, on=(carrier,))
