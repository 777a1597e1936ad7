"""The transmittance on a plumb line through a finished section: gutter soles, sumps, layers cut short."""

from __future__ import annotations

import math

from detailgen.catalogue import Catalogue
from detailgen.physics.resistance import Films, Slab, air_layer, total
from detailgen.section.model import Section, column

LEAST = 0.01  # mm: thinner cuts are rounding


def slabs_at(section: Section, x: float, rows: Catalogue) -> list[Slab]:
    """What counts in warmth on the plumb line at x, from below: everything up to the sheet, and insulation over it.

    Args:
        section: the true section.
        x: in the section [mm].
        rows: the catalogue.
    """
    cut = [(b - a, id) for a, b, id in column(section, x) if b - a > LEAST]
    sheets = [k for k, (_, id) in enumerate(cut) if _role(section, id) == "waterproofing"]
    last = sheets[-1] if sheets else len(cut) - 1
    out = []
    for k, (t, id) in enumerate(cut):
        role = _role(section, id)
        if k > last and role != "insulation":
            continue
        if role is None:  # a named void is air that stands still
            k_air = t / 1000 / max(air_layer(min(t, 300.0)), 1e-6)
            out.append(Slab(id, t, k_air))
        else:
            out.append(Slab(id, t, rows.material(section[id].material).conductivity))
    return out


def _role(section: Section, id: str) -> str | None:
    part = section.by_id.get(id)
    return None if part is None else part.role


def u_at(section: Section, x: float, rows: Catalogue, films: Films) -> tuple[float, list[Slab]]:
    """U on the plumb line at x, heat going straight up [W/(m2K)], and the slabs it came from.

    Raises:
        ValueError: nothing is cut there.
    """
    slabs = slabs_at(section, x, rows)
    if not slabs:
        raise ValueError(f"nothing is cut at x = {x:g} mm")
    whole = total(slabs, films)
    assert math.isfinite(whole)
    return 1 / whole, slabs
