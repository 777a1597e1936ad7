"""Sections drawn by hand, corner by corner, so that measures are tested without any builder."""

from __future__ import annotations

from dataclasses import replace

from detailgen.section.model import CutPlane, Fastener, Part, Section

RIGHT = 1400.0  # cut plane of the field
LOW = -400.0  # lower cut


def part(id, material, role, *rings, watertight=False, thin=False):
    return Part(id, id, material, role, tuple(tuple(map(tuple, r)) for r in rings), watertight=watertight, thin=thin)


def slab_of(x0, x1, under, over):
    """A layer between two height lines."""
    return [(x0, under(x0)), (x1, under(x1)), (x1, over(x1)), (x0, over(x0))]


def box(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def parapet(
    topping=150.0,
    slope=0.02,
    xps=150.0,
    top=570.0,
    lap=150.0,
    downturn=110.0,
    cap=0.05,
    leg=100.0,
    upstand=50.0,
    margin=300.0,
    barrier=True,
    screw=None,
    facts=(),
):
    """A parapet 178 wide with its metric layers, its face at x = 0, its falls away from it; `top` is its roof side."""
    t, m = topping, 2.0

    def lift(dz):
        return lambda x: t - slope * x + dz

    field, mat, board = lift(m), lift(m + 5), lift(m + 5 + xps)
    drain, fabric, finish = lift(m + 5 + xps + 12), lift(m + 5 + xps + 13), lift(m + 5 + xps + 113)
    b = 1.0 if barrier else 0.0
    arris, outer = top + cap * 178, -178 - b
    face = m + upstand + 1 if upstand else m
    u = m  # plumb thickness of the sheet on the top
    flashing = [
        (lap, field(lap)), (lap, field(lap) + m), (m, field(m) + m), (m, top - cap * m + u),
        (outer - m, top - cap * (outer - m) + u), (outer - m, arris - downturn), (outer, arris - downturn),
        (outer, arris), (-178, arris), (0, top), (0, field(0)),
    ]  # fmt: skip
    under = top + u + 4
    x_in, x_out = face + 12, -336.0 - 30

    def plate(x):
        return under - cap * x

    coping = [
        (x_in, plate(x_in)), (x_in, plate(x_in) - 70), (x_in + 2, plate(x_in) - 70), (x_in + 2, plate(x_in) + 2),
        (x_out - 2, plate(x_out) + 2), (x_out - 2, plate(x_out) - leg), (x_out, plate(x_out) - leg),
        (x_out, plate(x_out)),
    ]  # fmt: skip
    stone = plate(-296) - 15
    parts = [
        part("wall", "concrete", "structure", [(-178, LOW), (0, LOW), (0, top), (-178, arris)]),
        part("deck", "concrete", "structure", box(0, -200, RIGHT, 0)),
        part("topping", "topping", "topping", slab_of(0, RIGHT, lambda x: 0, lift(0))),
        part("membrane", "membrane", "waterproofing", slab_of(0, RIGHT, lift(0), field), watertight=True, thin=True),
        part("flashing", "flashing-sheet", "waterproofing", flashing, watertight=True, thin=True),
        part("mat", "protection-mat", "protection", slab_of(face + 5, RIGHT, lift(m + 2), mat)),
        part("xps", "xps", "insulation", slab_of(face + 5, RIGHT, mat, board)),
        part("drain", "drainage-mat", "drainage", slab_of(face, RIGHT, board, drain)),
        part("fabric", "filter-fabric", "fabric", slab_of(face, RIGHT, drain, fabric)),
        part("gravel", "gravel", "finish", slab_of(face, face + margin, fabric, finish)),
        part(
            "edge", "galvanised-steel", "metal", slab_of(face + margin, face + margin + 2, fabric, lift(m + xps + 133))
        ),
        part("medium", "growing-medium", "finish", slab_of(face + margin + 2, RIGHT, fabric, finish)),
        part("stone", "stone", "cladding", box(-336, LOW, -296, stone)),
        part("coping", "aluminium", "metal", coping),
        part("bracket", "aluminium", "hardware", slab_of(-178, 0, lambda x: top + u - cap * x, plate)),
    ]
    if barrier:
        ring = box(outer, LOW, -178, arris)
        parts.append(part("barrier", "weather-barrier", "barrier", ring, watertight=True, thin=True))
    if upstand:
        parts.append(part("xps-up", "xps", "insulation", [*slab_of(m, m + upstand, lift(m + 5), lambda x: top - 10)]))
        ring = box(m + upstand, finish(face) - 25, face, top - 10)
        parts.append(part("facing", "aluminium", "cladding", ring))
    fasteners = (
        () if screw is None else (Fastener("screw", "screw", (m + 3, screw), (-30, screw), "facing", "wall", 400),)
    )
    known = {
        "kind": "parapet", "system": "inverted", "covering": "planted", "slope": slope, "falls": "away",
        "access": "none", "backing": "steel-studs" if barrier else "concrete", "end": "face-strip",
        "cladding": "stone", "building_height": 8000.0, "opens": False, "snow": False, "cant": False,
        "deck": "concrete",
    }  # fmt: skip
    return Section(
        id="P", kind="parapet", title="Parapet", parts=tuple(parts), spaces=(), frame=(-450.0, LOW, RIGHT, 900.0),
        cuts=(CutPlane((RIGHT, -200), (RIGHT, 600)), CutPlane((-400, LOW), (10, LOW))),
        wet=(700.0, 800.0), dry=(-90.0, -100.0), fasteners=fasteners, facts={**known, **dict(facts)},
    )  # fmt: skip


def stack(layers, height, *, kind="skylight-curb", system="inverted", facts=()):
    """A level roof against a wall at x = 0: `layers` are (material, role, thickness) from the membrane up.

    The flashing rises `height` above the top of the membrane.
    """
    m, y = 2.0, 2.0
    wall = [(-150, -200), (1400, -200), (1400, 0), (0, 0), (0, height), (-150, height)]
    sheet = [
        (0, 0), (m, 0), (m, m), (150, m), (150, 2 * m), (m, 2 * m), (m, height + m), (-145, height + m),
        (-145, height), (0, height),
    ]  # fmt: skip
    parts = [
        part("deck", "concrete", "structure", wall),
        part("membrane", "membrane", "waterproofing", box(m, 0, 1400, m), watertight=True, thin=True),
        part("flashing", "flashing-sheet", "waterproofing", sheet, watertight=True, thin=True),
    ]
    for k, (material, role, thickness) in enumerate(layers):
        parts.append(part(f"{material}-{k}", material, role, box(m, y + (m if not k else 0), 1400, y + thickness)))
        y += thickness
    known = {
        "kind": kind,
        "system": system,
        "slope": 0.0,
        "falls": "along",
        "side": "low",
        "opens": False,
        "snow": False,
    }
    return Section(
        id="S", kind=kind, title="Stack", parts=tuple(parts), spaces=(), frame=(-400.0, -200.0, 1400.0, 2000.0),
        cuts=(), wet=(700.0, 1900.0), dry=(-75.0, -100.0), facts={**known, **dict(facts)},
    )  # fmt: skip


def altered(section, id, **changes):
    """The section with one part changed."""
    return replace(section, parts=tuple(replace(p, **changes) if p.id == id else p for p in section.parts))


def without(section, *ids):
    """The section without some parts."""
    return replace(section, parts=tuple(p for p in section.parts if p.id not in ids))


def moved(section, dx, dy, *ids):
    """The section with some parts moved."""

    def shift(ring):
        return tuple((x + dx, y + dy) for x, y in ring)

    return replace(
        section,
        parts=tuple(replace(p, rings=tuple(map(shift, p.rings))) if p.id in ids else p for p in section.parts),
    )


def slit(section, id, y0, y1):
    """The section with a part sawn through level between y0 and y1."""
    import shapely

    pieces = []
    for ring in section[id].rings:
        rest = shapely.difference(shapely.Polygon(ring), shapely.box(-1e4, y0, 1e4, y1))
        pieces += [tuple(g.exterior.coords[:-1]) for g in getattr(rest, "geoms", [rest])]
    return altered(section, id, rings=tuple(pieces))
