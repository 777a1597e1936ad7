"""A build-up as courses with their materials, from the soffit up: what weight and warmth are computed from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from detailgen.catalogue import Catalogue, Material
from detailgen.catalogue.practice import Practice
from detailgen.physics.known import number
from detailgen.physics.resistance import Slab
from detailgen.physics.weights import Heavy
from detailgen.section.buildup import BuildUp

Place = Literal["deck", "below", "sheet", "above"]
NO_CREDIT = "layers over the sheet other than insulation, and coats, count for nothing in warmth"


@dataclass(frozen=True, slots=True)
class Course:
    """One layer with its material.

    Attributes:
        thickness: [mm]; of the layer that makes the falls, at the sump's edge; of a profiled deck, its mean.
        place: the deck, under the sheet, the sheet itself, or over it.
        falls: it makes the falls.
        warm: it counts in warmth and vapour.
        tight: vapour passes it only as its material lets it; a profiled sheet leaks at its laps.
        share: part of the area that it covers.
    """

    id: str
    material: Material
    thickness: float
    place: Place
    falls: bool = False
    warm: bool = True
    tight: bool = True
    share: float = 1.0

    def slab(self) -> Slab:
        """For warmth."""
        mu = self.material.vapour_resistance if self.tight else 1.0
        return Slab(self.id, self.thickness, self.material.conductivity, mu)

    def heavy(self) -> Heavy:
        """For weight."""
        m = self.material
        return Heavy(self.id, self.thickness, m.density, m.density_saturated, self.share)


def courses(buildup: BuildUp, rows: Catalogue, sizes: Practice) -> tuple[Course, ...]:
    """The whole roof from the soffit up; coats without thickness are left out, plants stand on top."""
    out = _deck(buildup, rows, sizes)
    plies = [layer.id for layer in buildup.plies]
    over = {layer.id for layer in buildup.above}
    for layer in buildup.solid:
        place: Place = "sheet" if layer.id in plies else "above" if layer.id in over else "below"
        thickness = buildup.t_ring + buildup.sump_depth if layer.falls else layer.thickness
        warm = place != "above" or layer.material.role == "insulation"
        share = number("weight.share.pedestal") if "pedestal" in layer.material.tags else 1.0
        out.append(Course(layer.id, layer.material, thickness, place, layer.falls, warm, share=share))
    if buildup.plants:
        out.append(Course("plants", rows.material(buildup.plants_material), buildup.plants, "above", warm=False))
    return tuple(out)


def _deck(buildup: BuildUp, rows: Catalogue, sizes: Practice) -> list[Course]:
    """The deck. A profiled sheet is heavier than a plane one by its developed length; a ribbed slab is thinner."""

    def made_of(item: str) -> Material:
        return rows.material(rows.item(item).material)

    t, kind = buildup.deck_thickness, buildup.deck
    if kind in ("concrete", "timber"):
        return [Course("deck", made_of("deck-slab" if kind == "concrete" else "timber-panel"), t, "deck")]
    size = sizes.size
    depth = size("field.rib_depth") if kind == "composite" else t
    pitch, crest, web = size("field.rib_pitch"), size("field.rib_crest"), size("field.rib_web")
    developed = 1 + 2 * (math.hypot(web, depth) - web) / pitch
    sheet = Course("deck-sheet", made_of("deck-sheet"), size("field.deck_sheet"), "deck", tight=False, share=developed)
    if kind == "metal":
        return [replace(sheet, id="deck")]
    mean = t - depth * (crest + web) / pitch
    return [sheet, Course("deck", made_of("deck-composite"), mean, "deck")]


@dataclass(frozen=True, slots=True)
class Falls:
    """How far the falls run.

    Attributes:
        farthest: from the sump's edge to the far edge, along the fall [mm].
        shape: ``"plane"``: down to a line; ``"square"``: from four sides down to a point.
        source: where the distance comes from.
    """

    farthest: float
    shape: Literal["plane", "square"] = "plane"
    source: str = "input"

    @property
    def taper(self) -> Literal["plane", "thin-apex"]:
        """The shape in the words of ISO 6946: four triangles that are thinnest at the point."""
        return "plane" if self.shape == "plane" else "thin-apex"


def thickness_range(buildup: BuildUp, falls: Falls) -> tuple[float, float]:
    """Thickness of what makes the falls at the sump's edge and at the far edge [mm]."""
    return buildup.thickness_at(0.0).value, buildup.thickness_at(falls.farthest).value


def with_falls(stack: Sequence[Course], thickness: float) -> tuple[Course, ...]:
    """The same roof at the place where the layer that makes the falls has that thickness [mm]."""
    return tuple(replace(c, thickness=thickness) if c.falls else c for c in stack)
