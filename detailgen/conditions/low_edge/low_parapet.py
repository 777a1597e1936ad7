"""A raised edge of a covered roof: it is a low parapet, and is built as one."""

from __future__ import annotations

from dataclasses import replace

from detailgen.conditions.base import Context
from detailgen.conditions.low_edge.levels import facts_of
from detailgen.conditions.low_edge.params import EdgeParams
from detailgen.conditions.parapet import Parapet, ParapetParams
from detailgen.errors import BuildError
from detailgen.section.model import Derivation, Section
from detailgen.units import METRIC

SHARED = ("id", "buildup", "falls", "falls_angle", "distance_to_drain", "cut_at", "access", "height_allowance")


def low_parapet(p: EdgeParams, c: Context, k: float | None) -> Section:
    """The section of a parapet as low as the rules for edges allow.

    Raises:
        BuildError: it cannot be built so low.
    """
    b = c.buildups[p.buildup]
    lip = _lip(p, c)
    massive = b.deck in ("concrete", "composite")
    table = {name: getattr(p, name) for name in SHARED if getattr(p, name) is not None}
    table |= {
        "title": p.title or c.say("title_low_edge_parapet"),
        "backing": {"kind": "concrete" if massive else "steel-studs"},
        "cladding": {"kind": "render" if massive else "metal-panel"},
        "end": "under-coping",
        "height": {"above_finish": lip.value},
    }
    params = ParapetParams.model_validate(table, context={"units": METRIC})
    try:
        section = Parapet().section(params, c, k)
    except BuildError as e:
        key = "lip" if e.key == "height" else e.key
        raise BuildError(key, e.reason.replace("parapet", "edge"), e.code) from None
    own = ("backing", "cladding", "end", "cant")
    facts = facts_of(p, b, c) | {name: section.facts[name] for name in own if name in section.facts}
    return replace(section, kind=p.kind, facts=facts, numbers={**section.numbers, "lip": lip})


def _lip(p: EdgeParams, c: Context) -> Derivation:
    """Height above the finished surface by the governing minimum for edges."""
    if p.lip != "auto":
        return Derivation("lip", float(p.lip))
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    minimum = c.minimum("flashing_height", facts_of(p, c.buildups[p.buildup], c))
    inputs = (minimum, allowance) if minimum is not None else (allowance,)
    value = max(sum(d.value for d in inputs), c.size("low_edge.lip_covered"))
    return Derivation("lip", value, "mm", "minimum + allowance, no less than the coping needs", inputs)
