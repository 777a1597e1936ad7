"""The free edge beyond a gutter: a parapet with its coping, or the weir through it over which blocked water leaves."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies.coping import Coping, lay_coping
from detailgen.conditions.assemblies.edge_metal import lay_cleat, lay_metal, lay_stripping
from detailgen.conditions.assemblies.shapes import Size
from detailgen.conditions.gutter.levels import Levels
from detailgen.section.build import Workshop


def lay_blocking(w: Workshop, size: Size, v: Levels) -> None:
    """Timber on the parapet and over its lining, sloped to the roof, level on a weir."""
    a, b = w.front.corner((v.face, v.crown)), w.front.corner((v.back, v.crown), last=True)
    line = [(v.face, v.top), (v.back, v.top + v.slope * (v.face - v.back))]
    t, spacing = size("parapet.blocking"), size("parapet.bracket_spacing")
    sizes, faces = {"spacing": spacing}, ["lining", "top", "outer"]
    kind = "weir-sill" if v.weir is not None else "blocking"
    w.fill("blocking", kind, a, line, b, faces, step=5, thickness=t, sizes=sizes, on=("kerb",))
    x = (v.back + v.inner) / 2
    head, tip = (x, v.top + v.slope * (v.face - x)), (x, v.crown - 60.0)
    w.fasten("blocking-anchor", "blocking-anchor", head, tip, fixes="blocking", into="kerb", spacing=spacing)


def lay_cap(w: Workshop, size: Size, v: Levels) -> None:
    """Metal coping on the parapet."""
    inset = size("parapet.facing_return") + size("parapet.upstand_below_top") * 1.5
    coping = Coping(
        slope=v.slope,
        crest=w.front.at("top", end=0, last=True).point,
        face_out=min(p[0] for p in w.front.points),
        face_in=v.face + w.t(v.ply, "flashing"),
        clad=False,
        bracket=v.face + w.t(v.ply, "flashing") - inset,
        leg_out=size("parapet.coping_outer_leg"),
        leg_in=size("parapet.coping_inner_leg"),
        clear_out=size("parapet.coping_outer_clear"),
        clear_in=size("parapet.coping_inner_clear"),
        rise=size("parapet.bracket"),
        kick=size("parapet.kick") * math.sqrt(0.5),
    )
    lay_coping(w, size, coping)


def lay_weir(w: Workshop, size: Size, v: Levels) -> None:
    """Edge metal over the sill of the weir, hooked on its cleat, stripped in."""
    m = v.weir
    assert m is not None
    foot = lay_cleat(w, size, m, "outer")
    lay_metal(w, size, m, foot, "outer")
    lay_stripping(w, size, m, foot[0] + m.out)
