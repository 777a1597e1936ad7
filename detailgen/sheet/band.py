"""The band along the bottom of a sheet: title of the detail, general notes, cautions, title block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from detailgen.catalogue import Catalogue, SheetSize
from detailgen.section.model import Section
from detailgen.sheet.furniture import (
    BLOCK,
    PAD,
    TITLE,
    Block,
    boxed,
    caution_block,
    detail_title,
    frame,
    general_block,
    title_block,
)
from detailgen.sheet.general import general_notes
from detailgen.sheet.model import Item
from detailgen.sheet.settings import SheetSettings

SPLITS = (0.3, 0.34, 0.38, 0.42, 0.46, 0.5)
SIDE_BY_SIDE = 330.0  # frames narrower than this stack title, texts and title block [mm]


@dataclass(frozen=True)
class Band:
    """The band, measured.

    Attributes:
        height: of the whole band [mm].
        general, cautions: the two blocks of text, with their left edges from the frame's left [mm].
        top: upper edge of both blocks above the frame's lower edge [mm].
        title: lower left corner of the detail's title from that of the frame [mm].
        box: of the cautions, from the frame's lower left corner [mm].
    """

    height: float
    general: tuple[Block, float]
    cautions: tuple[Block, float]
    top: float
    title: tuple[float, float]
    box: tuple[float, float, float, float]

    @staticmethod
    def of(
        size: SheetSize, section: Section, findings: Sequence[Any], catalogue: Catalogue, settings: SheetSettings
    ) -> Band:
        """The lowest band that holds everything."""
        x0, _, x1, _ = size.usable
        wide = x1 - x0
        stacked = wide < SIDE_BY_SIDE
        room = wide - 2 * PAD if stacked else wide - TITLE - BLOCK[0] - 3 * PAD
        sentences = general_notes(section, findings, settings)
        tries = []
        for split in SPLITS:
            a = general_block(sentences, settings, room * split - PAD)
            b = caution_block(section, catalogue, settings, room * (1 - split) - 2 * PAD)
            tries.append((max(a.height, b.height), split, a, b))
        text, split, general, cautions = min(tries, key=lambda t: (t[0], t[1]))
        inner = text + 2 * 2.4
        left = PAD if stacked else PAD + TITLE
        if stacked:
            under = BLOCK[1] + 2.0
            height, top, title = under + inner + 32.0, under + inner - 2.4, (PAD, under + inner + 1.0)
        else:
            height = max(BLOCK[1], inner + 1.0)
            top, title = height - 3.0, (PAD, max(0.0, (height - 30.0) / 2))
        start = left + room * split
        box = (start, top + 2.4 - inner, start + room * (1 - split) - PAD / 2, top + 2.4)
        return Band(height, (general, left), (cautions, start + 2.0), top, title, box)

    def items(self, size: SheetSize, section: Section, settings: SheetSettings, scale: str, k: float) -> list[Item]:
        """Frame, title block, texts and the detail's title."""
        x0, y0, _, _ = size.usable
        bx0, by0, bx1, by1 = self.box
        return [
            *frame(size),
            *title_block(size, section, settings, scale),
            *self.general[0].items(x0 + self.general[1], y0 + self.top, "legn"),
            *self.cautions[0].items(x0 + self.cautions[1], y0 + self.top, "legn"),
            boxed((x0 + bx0, y0 + by0, x0 + bx1, y0 + by1)),
            *detail_title(x0 + self.title[0], y0 + self.title[1], section, settings, scale, k),
        ]
