"""Reads a finished section back from its polygons, knowing nothing of how it was built."""

from __future__ import annotations

from collections.abc import Mapping

from detailgen.catalogue import load
from detailgen.catalogue.rows import Material
from detailgen.measure.abutment import abutment
from detailgen.measure.air import air
from detailgen.measure.ballast import ballast
from detailgen.measure.clearances import clearances
from detailgen.measure.coping import coping
from detailgen.measure.corners import corners
from detailgen.measure.datums import datums
from detailgen.measure.declared import declared_facts, with_declared
from detailgen.measure.doors import doors
from detailgen.measure.drainage import drainage
from detailgen.measure.edge import edges
from detailgen.measure.glazing import glazing
from detailgen.measure.heights import heights
from detailgen.measure.joints import joints
from detailgen.measure.laps import laps
from detailgen.measure.meetings import meetings
from detailgen.measure.metals import metals
from detailgen.measure.model import Measure, Measures
from detailgen.measure.penetration import penetration
from detailgen.measure.ponding import ponding
from detailgen.measure.scene import scene
from detailgen.measure.scuppers import scuppers
from detailgen.measure.soundness import soundness
from detailgen.measure.surface import surface
from detailgen.measure.trough import trough
from detailgen.measure.warmth import insulation
from detailgen.measure.water import water
from detailgen.section.model import Section

__all__ = ["Measure", "Measures", "declared_facts", "measure", "with_declared"]

_READERS = (
    heights,
    water,
    laps,
    coping,
    insulation,
    surface,
    glazing,
    joints,
    edges,
    trough,
    abutment,
    penetration,
    doors,
    drainage,
    scuppers,
    meetings,
    datums,
    metals,
    ballast,
    soundness,
    clearances,
    air,
    ponding,
)


def measure(section: Section, materials: Mapping[str, Material] | None = None) -> Measures:
    """All measures of a section in its true build.

    Only polygons, roles, materials, watertight flags, fasteners, the frame, the wet and dry seeds and the level of the
    water that the roof's drainage gives are read; levels, numbers and facts that a builder left in the section are not.

    Args:
        section: the section, in its true build.
        materials: rows by key, for densities and tightness to vapour; those of the program if none are given.

    Raises:
        ValueError: it is the drawn build, in which thin sheets are widened.
    """
    if section.view == "plan":
        return Measures({m.id: m for m in corners(section)})
    ready = scene(section, load().materials if materials is None else materials)
    return Measures({m.id: m for read in _READERS for m in read(ready)})
