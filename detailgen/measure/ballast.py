"""What lies on insulation in the wet: its dry mass, that mass to the buoyancy, layers that hold the vapour back."""

from __future__ import annotations

from collections.abc import Iterator

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import plumb
from detailgen.measure.scene import LEAD, Scene

IDS = ("ballast", "ballast_share", "vapour_tight_above")
WATER = 1000.0  # density of water [kg/m3]
TIGHT = 10.0  # a layer with this equivalent air layer or more holds vapour back [m]
SPOTS = "pedestal"  # stands in spots; its mass is left out


def ballast(scene: Scene) -> Iterator[Measure]:
    """`ballast` [kg/m2], `ballast_share` and `vapour_tight_above`, on a plumb line in the open field.

    Archimedes: boards under water are lifted by the mass of the water that they displace less their own.
    """
    e, membrane = scene.edges, scene.membrane
    found = [_over(scene, x) for x in _places(scene)] if membrane else []
    x, wet, over = max(found, key=lambda f: (len(f[1]) > 0, sum(_mass(scene, r) for r in f[2])), default=(0.0, [], []))
    if not wet or any(r[2] not in scene.known for r in (*wet, *over)):
        why = "no insulation lies over the waterproofing" if not wet else "a material is not in the catalogue"
        for id in IDS:
            yield absent(id, why)
        return
    under, top = wet[0][0], max(r[1] for r in wet)
    mass = sum(_mass(scene, r) for r in over)
    lift = sum((b - a) * (WATER - scene.row(k).density) / 1000.0 for a, b, k in wet)
    surface = max((r[1] for r in over), default=top)
    parts = [k for _, _, k in (*wet, *over)]
    yield scene.measured("ballast", mass, (x, top), (x, surface), [k for _, _, k in over] or parts, 0.5)
    if any(e.parts[k].role == "fabric" for _, _, k in over):
        yield absent("ballast_share", "a fabric rafts the boards, so that they rise together or not at all")
    else:
        yield scene.measured("ballast_share", mass / max(lift, 1e-6), (x, under), (x, surface), parts, 0.01)
    layers = [r for r in over if scene.row(r[2]).form not in ("metal", "block")]  # slabs have open joints
    tight = [r for r in layers if scene.row(r[2]).vapour_resistance * (r[1] - r[0]) / 1000.0 >= TIGHT]
    a = (x, tight[0][0]) if tight else (x, top)
    b = (x, tight[0][1]) if tight else (x, surface)
    yield scene.measured("vapour_tight_above", len(tight), a, b, [r[2] for r in tight] or parts, 0.0)


Run = tuple[float, float, int]  # lower and upper level [mm], index of the part


def _places(scene: Scene) -> list[float]:
    """Places in the open field, so that a joint between slabs is not taken for their mass."""
    near = scene.upstand.x + LEAD if scene.upstand else float(scene.edges.low[scene.field_edges, 0].min())
    return [x for x in (scene.probe, scene.probe - 43.0, scene.probe - 111.0) if near < x < scene.field_end] or [
        scene.probe
    ]


def _over(scene: Scene, x: float) -> tuple[float, list[Run], list[Run]]:
    """Insulation over the waterproofing on the plumb line at x, and what lies over that."""
    e, membrane = scene.edges, scene.membrane
    assert membrane is not None
    runs = [(float(a), float(b), int(k)) for a, b, k in zip(*plumb(e, x), strict=True)]
    wet = [r for r in runs if e.parts[r[2]].role == "insulation" and r[0] > membrane.at(x) - 0.5]
    top = max((r[1] for r in wet), default=0.0)
    return x, wet, [r for r in runs if wet and r[0] >= top - 0.5]


def _mass(scene: Scene, run: Run) -> float:
    """Dry mass of a run [kg/m2]; what stands in spots is left out."""
    low, high, k = run
    part = scene.edges.parts[k]
    return 0.0 if part.material == SPOTS or k not in scene.known else (high - low) * scene.row(k).density / 1000.0
