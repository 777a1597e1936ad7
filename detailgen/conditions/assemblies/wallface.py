"""What covers a wall that goes on above a roof: barrier, insulation, cavity, stone or panel; or render.

Its foot stays free above the counterflashing, so that the cavity drains and nothing wicks.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size
from detailgen.section.build import Workshop


@dataclass(frozen=True)
class WallFace:
    """Lines of the cladding [mm].

    Attributes:
        kind: stone, metal-panel, render or none.
        insulation: outer face of the insulation. panel: inner face of stone or panel. face: outermost face.
    """

    kind: str
    insulation: float
    panel: float
    face: float

    @classmethod
    def of(cls, kind: str, size: Size, wall: float, least: float, given: tuple[float | None, ...]) -> WallFace:
        """Lines by office practice.

        Args:
            kind: of the cladding.
            size: office practice.
            wall: x of the wall's face.
            least: the insulation covers what stands out to this x.
            given: the user's insulation, air space and thickness, None for usual.
        """
        if kind == "none":
            return cls(kind, wall, wall, wall)

        def pick(value: float | None, name: str) -> float:
            return size(name) if value is None else value

        names = {"stone": "parapet.stone", "metal-panel": "parapet.panel", "render": "parapet.render"}
        usual = "parapet.render_insulation" if kind == "render" else "parapet.outside"
        insulation = max(wall + size("parapet.barrier") + pick(given[0], usual), least)
        panel = insulation + (0.0 if kind == "render" else pick(given[1], "parapet.air"))
        return cls(kind, insulation, panel, panel + pick(given[2], names[kind]))


def cover_wall(w: Workshop, size: Size, f: WallFace, face: str, start: float, foot: float, carrier: str) -> None:
    """Barrier over sheet and receiver, then the cladding up to the cut plane.

    Args:
        w: the workshop; the receiver is laid.
        size: office practice.
        f: the lines.
        face: name of the wall's face.
        start: level where the counterflashing leaves the wall.
        foot: level of the cladding's foot.
        carrier: id of what the anchors reach.
    """
    a = w.front.at(face, y=start + size("wall.barrier_above"))
    w.lay("wall-barrier", "wall-barrier-over", a, w.front.finish(), size("parapet.barrier"), step=16)
    top = w.front.points[-1][1]
    kind = "render-insulation" if f.kind == "render" else "cavity-insulation"
    faces, line = ["step", "skin", "plane"], [(f.insulation, foot), (f.insulation, top)]
    a, b = w.front.at(face, y=foot), w.front.finish()
    thickness = f.insulation - b.point[0]
    w.fill(kind, kind, a, line, b, faces, step=17, thickness=thickness)
    corner = (f.insulation, foot)
    if f.kind == "render":
        t = f.face - f.insulation
        w.lay("render", "render-coat", w.front.corner(corner), w.front.finish(), t, step=18)
        return
    line = [(f.panel, foot), (f.panel, top)]
    w.void("cavity", "ventilated_cavity_open", w.front.corner(corner), line, w.front.finish(), faces)
    kind, t = f"{f.kind.split('-')[0]}-panel", f.face - f.panel
    line = [(f.face, foot), (f.face, top)]
    a, b = w.front.corner((f.panel, foot)), w.front.finish()
    w.fill(kind, kind, a, line, b, ["step", "clad-out", "plane"], step=18, thickness=t, on=(carrier,))
