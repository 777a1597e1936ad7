"""Where things go on a sheet: the band at the bottom, the section, the zones beside it, the columns of notes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from detailgen.catalogue import SheetSize
from detailgen.section.model import Section
from detailgen.sheet.notes import Column
from detailgen.sheet.plane import Box, Placing
from detailgen.sheet.style import drafting

PAD = 4.0  # clear inside the frame [mm]
WIDE, FAR = 96.0, 26.0  # widest column, widest gap between section and column [mm]
SECOND = 84.0  # widest column left of the section [mm]
LOW = 0.25  # share of the height left over that lies below the section: most leaders rise
GENERAL_GAP = 5.0  # between the notes and the general notes [mm]


@dataclass(frozen=True, slots=True)
class Zones:
    """Room that is needed round the section [mm]."""

    left: float
    levels: float
    bottom: float
    top: float


@dataclass(frozen=True, slots=True)
class Layout:
    """A sheet divided.

    Attributes:
        placing: of the section.
        box: of the section on paper.
        levels: where the lines of the level markers end (their right end).
        column: of notes, right of the section.
        second: left of the section, below its dimensions; None where there is no room.
        missing: width and height that are missing, 0 if it fits [mm].
    """

    placing: Placing
    box: Box
    levels: float
    column: Column
    second: Column | None
    missing: tuple[float, float]


def divided(section: Section, size: SheetSize, k: float, zones: Zones, band: float) -> Layout:
    """The sheet divided for one scale: dimensions and levels left, the section, notes right.

    What is left over goes first into the column, then into the gap before it, then round the section.
    """
    x0, y0, x1, y1 = size.usable
    style = drafting().notes
    fx0, fy0, fx1, fy1 = (v / k for v in section.frame)
    wide, high = fx1 - fx0, fy1 - fy0
    room_w = x1 - x0 - 2 * PAD
    room_h = y1 - (y0 + band) - 2 * PAD
    left = zones.left + zones.levels
    spare = room_w - left - wide - style.margin - style.narrow
    spare_h = room_h - zones.bottom - high - zones.top
    column_w = style.narrow + min(max(spare, 0.0), WIDE - style.narrow)
    rest = max(spare - (WIDE - style.narrow), 0.0)
    margin = style.margin + min(rest, FAR - style.margin)
    rest = max(rest - (FAR - style.margin), 0.0)
    section_x = x0 + PAD + left + rest * 0.5
    section_y = y0 + band + PAD + zones.bottom + max(spare_h, 0.0) * LOW
    placing = Placing(k, (section_x - fx0, section_y - fy0))
    box = (section_x, section_y, section_x + wide, section_y + high)
    low, top = y0 + band + PAD, y1 - PAD
    column = Column(box[2] + margin, column_w, low, top)
    second = None
    second_w = min(box[0] - 10.0 - (x0 + PAD), SECOND)
    if second_w >= 34.0:
        second = Column(box[0] - 10.0, second_w, low, top, -1)
    missing = (max(-spare, 0.0), max(-spare_h, 0.0))
    return Layout(placing, box, box[0] - zones.left, column, second, missing)


def with_general(layout: Layout, height: float) -> Layout:
    """The same with the lower end of the column given to the general notes."""
    if not height:
        return layout
    column = replace(layout.column, low=layout.column.low + height + GENERAL_GAP)
    return replace(layout, column=column)
