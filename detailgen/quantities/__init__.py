"""Quantities: how much a metre of edge, a piece, a square metre of field, and the whole roof takes.

Everything is read off the true section, as a quantity surveyor reads a drawing: developed lengths from outlines, areas
from polygons, screws from their spacing. Pure functions; each figure carries its reasons.
"""

from detailgen.quantities.field import Field, Plant, Strip, field_figures, plant_figures, strip_of
from detailgen.quantities.model import Entry, Figure, Group, Run, groups, stands_singly
from detailgen.quantities.parts import edge_figures
from detailgen.quantities.pieces import piece_figures, seam_figures
from detailgen.quantities.schedule import Schedule, entries

__all__ = [
    "Entry", "Field", "Figure", "Group", "Plant", "Run", "Schedule", "Strip", "edge_figures", "entries",
    "field_figures", "groups", "piece_figures", "plant_figures", "seam_figures", "stands_singly", "strip_of",
]
