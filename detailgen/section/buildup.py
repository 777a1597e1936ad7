"""The roof build-up: its grammar, its layers from bottom to top, and the height lines they lie on.

Layer thickness is measured vertically: layers follow the falls by vertical shift. Coats have no polygon, sheets
follow what they lie on, mats absorb laps, boards are straight, fills fill up to their line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from pydantic import Field, StrictBool

from detailgen.catalogue import Catalogue, Material
from detailgen.catalogue.practice import Practice
from detailgen.errors import BuildError
from detailgen.fields import Model, NonNegativeLength, PositiveLength, Slope
from detailgen.section.model import Derivation, Point

System = Literal["inverted", "conventional"]
Covering = Literal["planted", "gravelled", "paved", "exposed"]
DeckKind = Literal["concrete", "composite", "metal", "timber"]


class DeckSpec(Model):
    """``[buildup.NAME.deck]``: what carries the roof."""

    kind: DeckKind = "concrete"
    thickness: PositiveLength | None = Field(None, description="overall depth; office practice if absent")


class LayerSpec(Model):
    """One row of ``layers``, bottom to top."""

    material: str
    thickness: PositiveLength | None = Field(None, description="the first usual thickness of the material if absent")
    tapered: StrictBool = Field(False, description="insulation boards cut to falls: this layer makes the falls")


class BuildUpSpec(Model):
    """``[buildup.NAME]``: the roof from the deck up."""

    system: System
    deck: DeckSpec = DeckSpec()
    layers: tuple[LayerSpec, ...] = Field(min_length=1, max_length=40)
    slope: Slope | None = Field(None, description="falls of the roof surface; 2 % or 1/4 in per ft if absent")
    t_ring: NonNegativeLength | None = Field(None, description="topping or taper at the drain ring, in the sump")
    sump_depth: NonNegativeLength | None = Field(None, description="depth of the sump; falls start at its edge")
    plants: NonNegativeLength | None = Field(None, description="drawn height of the plants")


@dataclass(frozen=True, slots=True)
class Layer:
    """One resolved layer.

    Attributes:
        id: unique in the build-up: the material, numbered if it occurs again.
        thickness: vertical, at its thinnest for the layer that makes the falls [mm].
        falls: it makes the falls.
    """

    id: str
    material: Material
    thickness: float
    falls: bool = False

    @property
    def form(self) -> str:
        """``coat``, ``sheet``, ``mat``, ``board``, ``fill`` or ``block``."""
        return self.material.form


@dataclass(frozen=True)
class BuildUp:
    """A checked build-up.

    Attributes:
        layers: bottom to top, coats included, plants left out.
        deck: kind and overall depth [mm].
        slope: of the roof surface [ratio].
        t_ring, sump_depth: see `thickness_at`.
        plants: drawn height of the plants [mm], 0 without plants.
        warnings: what the grammar warns about, ``(code, sentence)``.
    """

    name: str
    system: System
    covering: Covering
    deck: DeckKind
    deck_thickness: float
    layers: tuple[Layer, ...]
    slope: float
    t_ring: float
    sump_depth: float
    plants: float
    plants_material: str
    warnings: tuple[tuple[str, str], ...]

    @property
    def solid(self) -> tuple[Layer, ...]:
        """Layers that have a thickness."""
        return tuple(layer for layer in self.layers if layer.form != "coat")

    @property
    def membrane(self) -> Layer:
        """The uppermost ply of the waterproofing."""
        return [layer for layer in self.layers if layer.material.role == "waterproofing"][-1]

    @property
    def below(self) -> tuple[Layer, ...]:
        """Solid layers under the waterproofing."""
        first = next(i for i, layer in enumerate(self.solid) if layer.material.role == "waterproofing")
        return self.solid[:first]

    @property
    def plies(self) -> tuple[Layer, ...]:
        """The waterproofing plies."""
        return tuple(layer for layer in self.solid if layer.material.role == "waterproofing")

    @property
    def above(self) -> tuple[Layer, ...]:
        """Solid layers on the waterproofing."""
        last = max(i for i, layer in enumerate(self.solid) if layer.material.role == "waterproofing")
        return self.solid[last + 1 :]

    @property
    def falls_by(self) -> Literal["topping", "taper", "structure"]:
        """What makes the falls."""
        maker = next((layer for layer in self.layers if layer.falls), None)
        if maker is None:
            return "structure"
        return "topping" if maker.material.role == "topping" else "taper"

    def thickness_at(self, d: float) -> Derivation:
        """Thickness of what makes the falls, d from the sump's edge along the fall [mm].

        t(d) = t_edge + slope × d with t_edge = t_ring + sump depth: the falls start at the sump's edge, not at the
        ring. 0 where the structure itself falls.
        """
        if self.falls_by == "structure":
            source = "buildup.NAME.falls_by"
            return Derivation("thickness of the falls", 0.0, formula="the structure falls", source=source)
        ring = Derivation("t_ring", self.t_ring, source="input or catalogue: practice field.t_ring")
        sump = Derivation("sump depth", self.sump_depth, source="input or catalogue: practice field.sump_depth")
        edge = Derivation("t_edge", self.t_ring + self.sump_depth, formula="t_ring + sump depth", inputs=(ring, sump))
        run = Derivation("distance to the sump's edge", d)
        slope = Derivation("slope", self.slope, "ratio")
        name = "topping at the upstand" if self.falls_by == "topping" else "taper at the upstand"
        return Derivation(name, edge.value + self.slope * d, "mm", "t_edge + slope × distance", (edge, run, slope))

    def tops(self, d: float, apparent: float) -> dict[str, tuple[float, float]]:
        """Top of every solid layer: id → (level at x = 0 [mm], slope along +x [ratio]), at d from the sump's edge.

        Args:
            d: distance to the sump's edge [mm].
            apparent: slope of the roof surface in the cut, positive when it rises towards +x.
        """
        y, slope = 0.0, apparent if self.falls_by == "structure" else 0.0
        out = {}
        for layer in self.solid:
            if layer.falls:
                y, slope = y + self.thickness_at(d).value, apparent
            else:
                y += layer.thickness
            out[layer.id] = (y, slope)
        return out

    def sum_of(self, layers: Sequence[Layer], name: str) -> Derivation:
        """Sum of thicknesses with its parts."""
        inputs = tuple(
            Derivation(layer.id, layer.thickness, source=f"input or catalogue: {layer.material.key}")
            for layer in layers
        )
        if not inputs:
            return Derivation(name, 0.0, "mm", "no such layer", source="buildup.NAME.layers")
        return Derivation(name, sum(i.value for i in inputs), "mm", "sum of the layers", inputs)


# ------------------------------------------------------------------------------------------ the grammar
def resolve(
    name: str, spec: BuildUpSpec, catalogue: Catalogue, sizes: Practice, system: Literal["metric", "inch"], pack: str
) -> BuildUp:
    """Check a build-up against the grammar and give every layer its thickness.

    Raises:
        BuildError: the build-up cannot be built; the code names the refusal.
    """
    layers: list[Layer] = []
    counts: dict[str, int] = {}
    rows = [(row, catalogue.material(row.material)) for row in spec.layers]
    several = {m.key for _, m in rows if sum(o.key == m.key for _, o in rows) > 1}
    maker = _falls_maker(rows)
    plants = ""
    for k, (row, material) in enumerate(rows):
        if "plants" in material.tags:
            plants = material.key
            continue
        usual = material.usual(system)
        counts[material.key] = counts.get(material.key, 0) + 1
        id = f"{material.key}-{counts[material.key]}" if material.key in several else material.key
        thickness = row.thickness
        if thickness is None:
            thickness = 0.0 if material.form == "coat" else usual[0] if usual else 0.0
        if thickness <= 0 and material.form != "coat" and k != maker:
            raise BuildError(
                f"layers[{k}].thickness", f"{material.key} has no usual thickness; give one", "no-thickness"
            )
        layers.append(Layer(id, material, thickness, k == maker))
    covering = _covering(layers, bool(plants))
    slope = spec.slope
    if slope is None:
        slope = 1 / 48 if system == "inch" else 0.02
    if slope < 0:
        raise BuildError("slope", "the falls of a roof are given as a positive slope", "negative-slope")
    falls_layer = next((layer for layer in layers if layer.falls), None)
    t_ring = spec.t_ring
    if t_ring is None:
        given = spec.layers[maker].thickness if maker is not None else None
        t_ring = given if given is not None else sizes.size("field.t_ring")
    sump = sizes.size("field.sump_depth") if spec.sump_depth is None else spec.sump_depth
    deck_default = {"concrete": "slab", "composite": "composite", "metal": "metal_depth", "timber": "timber"}
    deck_t = spec.deck.thickness or sizes.size(f"field.{deck_default[spec.deck.kind]}")
    _refuse(spec, layers, plants, slope, falls_layer)
    return BuildUp(
        name=name,
        system=spec.system,
        covering=covering,
        deck=spec.deck.kind,
        deck_thickness=deck_t,
        layers=tuple(layers),
        slope=slope,
        t_ring=t_ring,
        sump_depth=sump,
        plants=(sizes.size("field.plants") if spec.plants is None else spec.plants) if plants else 0.0,
        plants_material=plants,
        warnings=tuple(_warnings(spec, layers, pack, catalogue)),
    )


def _falls_maker(rows: Sequence[tuple[LayerSpec, Material]]) -> int | None:
    for k, (row, material) in enumerate(rows):
        if (material.role == "topping" and material.form != "coat") or row.tapered:
            return k
    return None


def _covering(layers: Sequence[Layer], planted: bool) -> Covering:
    if planted:
        return "planted"
    tags = {t for layer in layers for t in layer.material.tags}
    if "paver" in tags:
        return "paved"
    return "gravelled" if "ballast" in tags else "exposed"


def _at(layers: Sequence[Layer], spec: BuildUpSpec, layer: Layer) -> str:
    same = [other for other in layers if other.material.key == layer.material.key]
    n = [k for k, row in enumerate(spec.layers) if row.material == layer.material.key][same.index(layer)]
    return f"layers[{n}]"


def _refuse(spec: BuildUpSpec, layers: list[Layer], plants: str, slope: float, maker: Layer | None) -> None:
    """The refusals of the grammar, each with its reason."""

    def tagged(tag: str) -> list[Layer]:
        return [layer for layer in layers if tag in layer.material.tags]

    solid = [layer for layer in layers if layer.form != "coat"]
    plies = [layer for layer in solid if layer.material.role == "waterproofing"]
    if not plies:
        raise BuildError("layers", "there is no membrane: a roof needs a waterproofing layer", "no-membrane")
    first, last = solid.index(plies[0]), solid.index(plies[-1])
    above, below = solid[last + 1 :], solid[:first]
    if solid[first : last + 1] != plies:
        raise BuildError("layers", "the plies of the waterproofing lie directly on each other", "split-waterproofing")
    growing = tagged("growing")
    if growing and not plants:
        raise BuildError(
            _at(layers, spec, growing[0]), "growing medium without plants blows away", "medium-without-plants"
        )
    if plants and not growing:
        raise BuildError("layers", "plants need a growing medium under them", "plants-without-medium")
    if plants and not tagged("filter"):
        raise BuildError("layers", "planting needs a filter fabric under the growing medium", "planting-without-filter")
    if plants and slope < 0.02 and not tagged("drainage"):
        raise BuildError(
            "layers", "planting needs a drainage layer when the slope is under 2 %", "planting-without-drainage"
        )
    insulation = [layer for layer in solid if layer.material.role == "insulation"]
    for layer in insulation:
        wet = layer in above
        if wet and not {"xps", "cellular-glass"} & set(layer.material.tags):
            raise BuildError(
                _at(layers, spec, layer),
                f"{layer.material.key} lies in the wet: above the membrane only extruded polystyrene or cellular glass",
                "insulation-not-for-the-wet",
            )
    if spec.system == "inverted":
        _refuse_inverted(spec, layers, above, below, insulation)
    else:
        _refuse_conventional(spec, layers, above, insulation, below)
    if maker is not None and maker.material.role == "topping":
        if spec.deck.kind in ("metal", "timber"):
            raise BuildError(
                _at(layers, spec, maker),
                f"a topping needs a concrete or composite deck, not {spec.deck.kind}",
                "topping-needs-concrete",
            )
        under = solid[: solid.index(maker)]
        floating = any(layer.material.role == "insulation" for layer in under)
        if floating and (maker.thickness or 0) < 65:
            raise BuildError(
                _at(layers, spec, maker),
                "a topping on insulation is at least 65 mm / 2 1/2 in thick",
                "floating-topping-too-thin",
            )
    if spec.deck.kind == "metal" and not any(layer.form == "board" for layer in below):
        raise BuildError(
            "layers", "a metal deck needs a board over its flutes beneath the membrane", "metal-deck-needs-board"
        )
    for k, layer in enumerate(layers):
        beneath = layers[k - 1].material if k else None
        if layer.form == "coat" and layer.material.key == "adhesive" and k + 1 < len(layers):
            on = layers[k + 1].material
            if "xps" in on.tags and beneath is not None and beneath.role == "waterproofing":
                raise BuildError(
                    _at(layers, spec, layer),
                    "extruded polystyrene is never bonded to the horizontal membrane",
                    "bonded-xps",
                )


def _refuse_inverted(
    spec: BuildUpSpec, layers: list[Layer], above: list[Layer], below: list[Layer], insulation: list[Layer]
) -> None:
    if not any(layer in above for layer in insulation):
        raise BuildError(
            "layers", "an inverted roof has its insulation above the membrane", "inverted-without-insulation"
        )
    for layer in below:
        if layer.material.role == "vapour-control":
            raise BuildError(
                _at(layers, spec, layer),
                "no vapour control layer under an inverted membrane: the membrane is it",
                "vapour-control-under-inverted",
            )
    boards = [layer for layer in above if layer.material.role == "insulation"]
    over = above[above.index(boards[-1]) + 1 :]
    for layer in over:
        if {"vapour-tight", "root-barrier"} & set(layer.material.tags):
            raise BuildError(
                _at(layers, spec, layer),
                f"{layer.material.key} is vapour-tight and lies above the insulation of an inverted roof",
                "vapour-tight-above-insulation",
            )
    if not any(layer.material.role == "finish" for layer in above):
        raise BuildError(
            "layers",
            "loose insulation above the membrane needs gravel, pavers or a growing medium on it",
            "insulation-without-ballast",
        )


def _refuse_conventional(
    spec: BuildUpSpec, layers: list[Layer], above: list[Layer], insulation: list[Layer], below: list[Layer]
) -> None:
    if any(layer in above for layer in insulation):
        raise BuildError(
            "layers",
            'a conventional roof has its insulation under the membrane; system = "inverted" has it above',
            "insulation-above-conventional",
        )
    if not insulation:
        raise BuildError(
            "layers", "a conventional roof has insulation under the membrane", "conventional-without-insulation"
        )
    vapour = [k for k, layer in enumerate(below) if layer.material.role == "vapour-control"]
    if not vapour or vapour[0] > below.index(insulation[0]):
        raise BuildError(
            "layers",
            "a conventional roof needs a vapour control layer under its insulation",
            "conventional-without-vapour-control",
        )


def _warnings(
    spec: BuildUpSpec, layers: list[Layer], pack: str, catalogue: Catalogue
) -> list[tuple[str, str]]:
    out, say = [], catalogue.say
    last = max(i for i, layer in enumerate(layers) if layer.material.role == "waterproofing")
    boards = [layer for layer in layers[last + 1 :] if layer.material.role == "insulation"]
    shedding = any("water-shedding" in layer.material.tags for layer in layers)
    if spec.system == "inverted" and len(boards) > 1 and pack == "european" and not shedding:
        out.append(("several-boards-without-shedding", say("several_boards_without_shedding")))
    for a, b in pairwise(layers):
        for p, q in ((a, b), (b, a)):
            if "plasticised" in p.material.tags and "polystyrene" in q.material.tags:
                words = say("plasticised_on_polystyrene", one=p.material.name, other=q.material.name)
                out.append(("plasticised-on-polystyrene", words))
    rooted = any({"root-resistant", "root-barrier"} & set(layer.material.tags) for layer in layers)
    if any("growing" in layer.material.tags for layer in layers) and not rooted:
        out.append(("no-root-protection", say("no_root_protection")))
    return out


def height_line(level: float, slope: float, x0: float, x1: float) -> list[Point]:
    """A height line from x1 (right) to x0 (left) through (0, level) with a slope along +x."""
    return [(x1, level + slope * x1), (x0, level + slope * x0)]


def rounded_up(value: float, step: float) -> float:
    """Rounded up to the office's step; a value within 1e-6 steps of a step counts as on it."""
    return math.ceil(value / step - 1e-6) * step
