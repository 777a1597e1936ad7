"""What the detail file declares because no section shows it, and what follows from it and the polygons together.

A reading of the polygons always wins over a declaration. What neither shows nor is declared stays *cannot tell*.
"""

from __future__ import annotations

from collections.abc import Mapping

from detailgen.catalogue.rulerows import declarable_facts, measure_words
from detailgen.measure.clearances import NOT_IN_CUT
from detailgen.measure.model import Measure, Measures, absent, missing
from detailgen.measure.scuppers import NO_BOX

# Derived measure: what is measured, and which declared (or measured) value is taken from it.
FREEBOARDS = {
    "freeboard": ("flashing_height_membrane", "water_level"),
    "freeboard_overflow": ("flashing_height_membrane", "overflow_level"),
    "freeboard_retained": ("flashing_height_membrane", "retained_level"),
}
OVER = "freeboard_overflow"


def with_declared(measures: Mapping[str, Measure], declared: Mapping[str, object]) -> Measures:
    """The readings of a section and what its detail file declares.

    Args:
        measures: what the polygons say.
        declared: keys of the vocabulary's ``[declared]`` table and of measures that may be declared, in inner units.
    """
    out = dict(measures)
    for id, word in measure_words().items():
        if not word.declarable or word.origin == "roof":
            continue
        shown = out.get(id)
        if shown is not None and shown.value is not None:
            continue
        if id in declared:
            value = declared[id]
            assert isinstance(value, bool | int | float)
            out[id] = Measure(id, float(value), word.unit, declared=True)
        elif word.origin == "declared" or (shown is not None and shown.absent == NOT_IN_CUT):
            out[id] = missing(id, f"declared = {{ {id} = … }} in the detail file")
    for id, (height, level) in FREEBOARDS.items():
        if level in declared or (level == "overflow_level" and _open(out.get(id))):
            out[id] = _freeboard(id, out.get(height), out.get(level), out.get(id))
    water = out.get("freeboard")
    if water is not None and water.value is not None and "overflow_level" not in declared and _open(measures.get(OVER)):
        out[OVER] = absent(OVER, "the water of the design rain is counted, which stands over the overflow")
    out.setdefault("freeboard_retained", absent("freeboard_retained", "no water is kept on the roof: none is declared"))
    out["joint_share"] = _share(out.get("joint_gap"), out.get("joint_movement"))
    return Measures(out)


def _open(m: Measure | None) -> bool:
    """Whether neither the section shows a value nor why there is none."""
    return m is None or (m.value is None and m.absent == NO_BOX)


def declared_facts(declared: Mapping[str, object]) -> dict[str, object]:
    """The facts among what is declared; rules may ask for them."""
    return {k: v for k, v in declared.items() if k in declarable_facts()}


def _freeboard(id: str, height: Measure | None, level: Measure | None, shown: Measure | None) -> Measure:
    """How far the top of the waterproofing stands over a declared level of water."""
    if shown is not None and shown.value is not None:
        return shown
    if height is None or height.value is None:
        return Measure(id, None, "mm", absent=(height.absent or height.missing) if height else "nothing was measured")
    if level is None or level.value is None:
        return missing(id, level.missing if level else "the level of the water")
    assert height.a is not None
    water = (height.a[0], round(height.a[1] + level.value, 4))
    value = height.value - level.value
    return Measure(id, value, "mm", water, height.b, height.parts, height.tolerance, declared=True)


def _share(gap: Measure | None, movement: Measure | None) -> Measure:
    """Width of the joint by the movement that is declared for it."""
    if gap is None or gap.value is None:
        return Measure("joint_share", None, "ratio", absent=(gap.absent or gap.missing) if gap else "no joint")
    if movement is None or not movement.value:
        return missing("joint_share", movement.missing if movement and movement.missing else "a movement above 0")
    return Measure("joint_share", gap.value / movement.value, "ratio", gap.a, gap.b, gap.parts, 0.05, declared=True)
