"""What is known before anything is drawn: dimensions by side, zones, the divided sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from detailgen.catalogue import Catalogue, SheetSize
from detailgen.section.model import Point, Section
from detailgen.sheet.band import Band
from detailgen.sheet.dimensions import Wanted, chains, depth, overall, wanted
from detailgen.sheet.furniture import PAD, Block, general_block
from detailgen.sheet.general import general_notes
from detailgen.sheet.key import Key, material_key
from detailgen.sheet.layout import GENERAL_GAP, Layout, Zones, divided, with_general
from detailgen.sheet.levels import level_width
from detailgen.sheet.marks import room_above
from detailgen.sheet.places import Place, places
from detailgen.sheet.plane import Box, Placing
from detailgen.sheet.schedule import Schedule, schedule
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.style import drafting

KEY_ROOM = 55.0  # least room of the material key beside the title block [mm]
KEY_SPARE = 25.0  # height that is left over the section where the key raises the band [mm]
KEY_SHARE = 0.3  # of the column of notes that the key may take
STRIP = 96.0  # along the right edge for a long table of findings [mm]
LONGEST = 60.0  # height of a table that stands in the column of notes [mm]


@dataclass(frozen=True)
class Plan:
    """Everything that is known before anything is drawn: dimensions by side, zones, the divided sheet.

    Attributes:
        key_at: upper left corner of the material key in the band [mm]; None: it stands in the column.
        key_lost: there is no room for the key.
        strip: width along the right edge of the sheet that a long table of findings has to itself, else 0 [mm].
        frame: what is left for the drawing, the band included [mm].
    """

    band: Band
    general: Block
    schedule: Schedule
    key: Key
    key_at: Point | None
    key_lost: bool
    places: tuple[Place, ...]
    layout: Layout
    left: list[list[Wanted]]
    bottom: list[list[Wanted]]
    top: list[list[Wanted]]
    inside: list[Wanted]
    strip: float
    frame: Box

    @property
    def limits(self) -> tuple[tuple[str, str], ...]:
        """The dimensions that a rule governs, by id, with the words of its limit."""
        rows = (*self.left, *self.bottom, *self.top, self.inside)
        return tuple((w.id, w.limit) for row in rows for w in row if w.limit)

    @staticmethod
    def of(
        section: Section, measures: Mapping[str, Any], findings: Sequence[Any], catalogue: Catalogue,
        settings: SheetSettings, k: float, *, turned: bool = False,
    ) -> Plan:
        """The plan of an unmirrored section at one scale; `turned` if the sheet is turned over in the end."""
        size = catalogue.sheet_size(settings.size)
        findings = list(findings)
        governing = [f for f in findings if f.rule.severity != "note"]  # what is only shown beside does not govern
        unit = Placing(k, (0.0, 0.0))
        some = [replace(w, turned=turned) for w in wanted(section.dimensions, measures, governing, settings)]
        sides = {"left": "left", "right": "left", "bottom": "bottom", "top": "top"}

        def rows(side: str) -> list[list[Wanted]]:
            found = chains([w for w in some if sides.get(w.side) == side], unit)
            sums = [o for row in found if (o := overall(row, found, unit, settings))]
            return [*found, *([o] for o in sums)]

        left, bottom, top = rows("left"), rows("bottom"), rows("top")
        brk = drafting().brk.over + 1.0
        zones = Zones(
            max(depth(len(left)), 3.0) + 2.0, level_width(section, settings) + (2.0 if section.levels else 0.0),
            max(depth(len(bottom)), brk) + 2.0, max(depth(len(top)), 5.0, room_above(section, unit)),
        )
        band = Band.of(size, section, catalogue, settings)
        listed = settings.marks if settings.listed else "none"
        table = schedule(findings, listed, settings, STRIP - 2 * PAD)
        strip = STRIP if table.height > LONGEST else 0.0
        beside = _beside(size, strip, turned)
        layout = divided(section, beside, k, zones, band.height)
        left_of_title, room = band.gap(size)
        key, key_at = material_key(section.parts, catalogue, settings, room, k), None
        raised = band.raised(key.height + 2 * PAD)
        spare = divided(section, beside, k, zones, raised.height + (KEY_SPARE if raised != band else 0.0))
        if key.rows and not settings.key_below and room >= KEY_ROOM and spare.missing[1] <= layout.missing[1]:
            band, layout = raised, divided(section, beside, k, zones, raised.height)
            x0, y0, _, _ = size.usable
            key_at = (x0 + left_of_title, y0 + (band.height + key.height) / 2)
        if not strip:
            table = schedule(findings, listed, settings, layout.column.width)
        untold = governing if listed == "none" else []  # what fails stands in the table
        said = general_notes(section, untold, settings) if settings.alone else []
        general = general_block(said, settings, layout.column.width)
        if key_at is None:
            key = material_key(section.parts, catalogue, settings, layout.column.width, k)
        lost = key_at is None and key.height > KEY_SHARE * layout.column.room
        key = replace(key, rows=()) if lost else key
        blocks = [h for h in (general.height, 0.0 if strip else table.height, 0.0 if key_at else key.height) if h]
        layout = with_general(layout, sum(blocks) + GENERAL_GAP * max(len(blocks) - 1, 0))
        inside = [w for w in some if w.side == "inside"]
        shown, chained = places(findings, settings.marks), (left, bottom, top)
        return Plan(
            band, general, table, key, key_at, lost, shown, layout, *chained, inside, strip, beside.usable
        )


def _beside(size: SheetSize, strip: float, turned: bool) -> SheetSize:
    """The sheet without a strip that will be along its right edge when it is finished."""
    return replace(size, left=size.left + strip) if turned else replace(size, right=size.right + strip)
