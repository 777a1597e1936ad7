"""A first guess at a map, from the names of layers and the hatches on them; a person must read it."""

from __future__ import annotations

import json
import re
from collections import Counter

import shapely

from detailgen.survey.known import ignored, sealing, words
from detailgen.survey.shapes import UNIT_NAMES, Drawing

HEAD = """\
# A first guess at what the layers of {name} are, made from their names. Read it line by line before you use it:
# a wrong material gives wrong measures. Keys of materials: detailgen list materials.
# Then: detailgen measure {name} --map THIS_FILE

[drawing]
{unit}
# outside = "left"            # side of the upstand away from the roof field; told by the sheets if absent
# turned = "0.5 deg"          # found from plumb lines if absent
# window = [0, 0, 2000, 1500] # if the drawing shows more than one section
rules = []                    # such as ["european"]

[facts]                       # what rules ask for and a drawing cannot tell
# kind = "parapet"
# system = "inverted"
# covering = "planted"
# slope = 0.02
"""


def proposal(drawing: Drawing) -> str:
    """A commented map file for a drawing."""
    if drawing.unit is None:
        unit = f'# unit = "mm"               # the file does not say it; one of {", ".join(UNIT_NAMES)}'
    else:
        name = next((n for n, mm in UNIT_NAMES.items() if mm == drawing.unit), "mm")
        unit = f'unit = "{name}"                   # as the file says'
    lines = [HEAD.format(name=drawing.name, unit=unit)]
    for layer in drawing.layers:
        lines.append(f"[layers.{_key(layer)}]  # {_seen(drawing, layer)}\n{_meaning(layer)}\n")
    return "\n".join(lines)


def guessed(layer: str) -> str | None:
    """Material that a layer's name speaks of, or None."""
    name = layer.casefold()
    if any(word in name for word in ignored()):
        return None
    return next((material for material, some in words().items() if any(word in name for word in some)), None)


def _meaning(layer: str) -> str:
    material = guessed(layer)
    if material is None:
        return "ignore = true"
    tight = "\nwatertight = true" if material in sealing() else ""
    return f'material = "{material}"{tight}'


def _seen(drawing: Drawing, layer: str) -> str:
    here = [s for s in drawing.shapes if s.layer == layer]
    sorts = Counter(s.sort for s in here)
    words = [f"{n} {name}{'s' * (n > 1)}" for name, n in (("line", sorts["line"]), ("outline", sorts["ring"])) if n]
    if sorts["area"]:
        area = sum(shapely.Polygon(r).area for s in here if s.sort == "area" for r in s.rings if len(r) > 2)
        patterns = sorted({s.pattern for s in here if s.pattern})
        some = f" ({', '.join(re.sub(r'[^ -~]', '?', p) for p in patterns[:4])})" if patterns else ""
        words.append(f"{sorts['area']} hatch{'es' * (sorts['area'] > 1)}{some}, {area:.4g} square units")
    return ", ".join(words)


def _key(layer: str) -> str:
    return layer if re.fullmatch(r"[A-Za-z0-9_-]+", layer) else json.dumps(layer)
