r"""Edge metal hooked on a continuous cleat, its flange on the sheet, stripped in.

First the cleat is bent out of the face, then the air under the metal becomes a named space, then the metal lies on
both and folds round the cleat's foot::

          ______________ flange      stripping over it
         /|  sheet
        / |
       /\ | cleat
      hook
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size
from detailgen.section.build import Workshop
from detailgen.section.front import direction, length_of, offset, right_of
from detailgen.section.model import Point


@dataclass(frozen=True)
class EdgeMetal:
    """Lines of an edge metal [mm].

    Attributes:
        edge: level of the sheet at the roof edge. slope: of its top, inwards.
        top: of the cleat. leave: level at which it leaves the face. nail: of its nails.
        foot: level of the metal's foot. out: of the foot from the bend at the roof edge.
        knee: level at which a plumb face is kicked out, or None.
        flange: x of the inner end of the flange. lap: of the stripping beyond it. strip: its thickness.
        into: id of what takes the nails.
    """

    edge: float
    slope: float
    top: float
    nail: float
    leave: float
    foot: float
    out: float
    knee: float | None
    flange: float
    lap: float
    strip: float
    into: str


def lay_cleat(w: Workshop, size: Size, m: EdgeMetal, face: str) -> Point:
    """The cleat on the sheet's outer face, flared out to the foot of the edge metal.

    Returns:
        The outer corner of its foot, on which the metal hooks.
    """
    true = size("low_edge.cleat")
    t = w.t(true, "edge-cleat", most=0.5 * size("low_edge.cleat_leg"))
    a, b = w.front.at(face, y=m.top), w.front.at(face, y=m.leave, last=True)
    x = a.point[0]
    foot = (x - t - size("low_edge.metal_clear") - m.out, m.foot)
    inner = foot
    for _ in range(6):  # the inner face of the flare, so that its outer face ends at the foot
        n = right_of(direction((x, m.leave), inner))
        inner = (foot[0] - n[0] * t, foot[1] - n[1] * t)
    path = [(x, m.top), (x, m.leave), inner]
    outer, _ = offset(path, ["cleat", "cleat"], t)
    names = ["step", "cleat", "cleat", "cleat-end", "cleat-under"]
    spacing = size("low_edge.cleat_spacing")
    w.fill(
        "cleat",
        "edge-cleat",
        a,
        [*outer, inner],
        b,
        names,
        step=7,
        thickness=true,
        girth=length_of(path),
        sizes={"spacing": spacing},
        thin=True,
        on=(m.into,),
    )
    head, tip = (x - t, m.nail), (x + 38.0, m.nail)
    w.fasten("cleat-nail", "cleat-nail", head, tip, fixes="cleat", into=m.into, spacing=spacing)
    return outer[-1]


def lay_metal(w: Workshop, size: Size, m: EdgeMetal, foot: Point, face: str) -> None:
    """Air under the metal, then the metal from the flange's inner end to its hook under the cleat, nailed."""
    a, b = w.front.at(face, start=0), w.front.corner(foot, last=True)
    bend = foot[0] + m.out
    brow = (bend, a.point[1] + m.slope * (a.point[0] - bend))
    knee = [(bend, m.knee)] if m.knee is not None else []
    w.void("edge-air", "air_under_edge_metal", a, [brow, *knee], b, ["flange", *("fascia" for _ in knee), "fascia"])
    a, b = w.front.over(m.flange), w.front.at("cleat-under", start=size("low_edge.hook"), last=True)
    under = direction(w.front.points[b.segment], w.front.points[b.segment + 1])
    sizes = {"flange": m.flange, "hook": size("low_edge.hook"), "face": brow[1] - m.foot}
    w.coat("edge-mastic", "edge-mastic", (a.point, brow), step=7)
    t, on = size("low_edge.metal"), ("cleat", m.into)
    w.lay("edge-metal", "edge-metal", a, b, t, end=right_of(under), step=8, sizes=sizes, on=on)
    spacing = size("low_edge.flange_nail_spacing")
    for k, share in enumerate((0.3, 0.75)):
        head = w.front.over(share * m.flange).point
        tip, id = (head[0], head[1] - 38.0), f"flange-nail-{k + 1}"
        w.fasten(id, "flange-nail", head, tip, fixes="edge-metal", into=m.into, spacing=spacing)


def lay_stripping(w: Workshop, size: Size, m: EdgeMetal, bend: float) -> None:
    """Stripping sheet over flange and field sheet: no edge faces the water."""
    a = w.front.over(m.flange + m.lap)
    b = w.front.over(bend + size("low_edge.strip_inside"), near=m.edge, last=True)
    w.lay("stripping", "edge-stripping", a, b, m.strip, step=9, sizes={"lap": m.lap})
