"""The band along the bottom of a sheet: title of the detail, cautions, title block; and the general notes above it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from detailgen.catalogue import Catalogue, SheetSize
from detailgen.section.model import Section
from detailgen.sheet.furniture import (
    BLOCK,
    NO_BLOCK,
    PAD,
    TITLE,
    Block,
    boxed,
    caution_block,
    detail_title,
    frame,
    revision_height,
    revision_table,
    title_block,
)
from detailgen.sheet.model import Item
from detailgen.sheet.plane import Box
from detailgen.sheet.settings import SheetSettings

SIDE_BY_SIDE = 330.0  # frames narrower than this stack title, cautions and title block [mm]
INNER = 2.4  # clear inside the box of the cautions [mm]
TITLE_HIGH = 30.0  # room of the detail's title [mm]


@dataclass(frozen=True)
class Band:
    """The band, measured; coordinates from the lower left corner of the frame.

    Attributes:
        height: of the whole band [mm].
        cautions: their text.
        box: round the cautions [mm].
        title: lower left corner of the detail's title [mm].
    """

    height: float
    cautions: Block
    box: Box
    title: tuple[float, float]

    @staticmethod
    def of(size: SheetSize, section: Section, catalogue: Catalogue, settings: SheetSettings) -> Band:
        """The band of a sheet: side by side on wide sheets, one above the other on narrow ones."""
        if not settings.alone:
            return Band(TITLE_HIGH, NO_BLOCK, (0.0, 0.0, 0.0, 0.0), (PAD, PAD / 2))
        x0, _, x1, _ = size.usable
        wide = x1 - x0
        stacked = wide < SIDE_BY_SIDE
        left = PAD if stacked else PAD + TITLE
        right = wide - PAD if stacked else wide - BLOCK[0] - PAD
        right = min(right, left + 190.0)
        cautions = caution_block(section.cautions, catalogue, settings, right - left - 2 * INNER)
        inner = cautions.height + 2 * INNER
        if stacked:
            low = BLOCK[1] + revision_height(settings) + 2.0
            height, title = low + inner + TITLE_HIGH + 2.0, (PAD, low + inner + 1.0)
        else:
            height = max(BLOCK[1] + revision_height(settings), inner + 2.0)
            low, title = (height - inner) / 2, (PAD, max(0.0, (height - TITLE_HIGH) / 2))
        return Band(height, cautions, (left, low, right, low + inner), title)

    def gap(self, size: SheetSize) -> tuple[float, float]:
        """Left end and width of what is free between the cautions and the title block; no width where they stack."""
        x0, _, x1, _ = size.usable
        wide, left = x1 - x0, self.box[2] + PAD
        return left, max(wide - BLOCK[0] - PAD - left, 0.0) if wide >= SIDE_BY_SIDE else 0.0

    def raised(self, height: float) -> Band:
        """The band, at least so high; what stands in it in the middle stays there."""
        up = max(height - self.height, 0.0)
        left, low, right, top = self.box
        title = (self.title[0], self.title[1] + up / 2)
        return replace(self, height=self.height + up, box=(left, low + up / 2, right, top + up / 2), title=title)

    def items(self, size: SheetSize, section: Section, settings: SheetSettings, scale: str, k: float) -> list[Item]:
        """Frame, title block, cautions and the detail's title."""
        x0, y0, _, _ = size.usable
        title = detail_title(x0 + self.title[0], y0 + self.title[1], section, settings, scale, k)
        if not settings.alone:
            return title
        bx0, by0, bx1, by1 = self.box
        return [
            *frame(size),
            *title_block(size, section, settings, scale),
            *revision_table(size, settings),
            *self.cautions.items(x0 + bx0 + INNER, y0 + by1 - INNER, "legn"),
            boxed((x0 + bx0, y0 + by0, x0 + bx1, y0 + by1)),
            *title,
        ]
