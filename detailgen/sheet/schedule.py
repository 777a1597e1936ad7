"""The table of findings on a sheet: number of the mark, verdict and rule, what was measured against what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from detailgen.sheet.general import outcome
from detailgen.sheet.lines import cased, width, wrap
from detailgen.sheet.model import Item, Stroke, Text
from detailgen.sheet.places import LAYER, SHOWN, Marks, numbers, places
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.style import drafting

HEAD = 2.5 + 2.2  # of the heading over the table [mm]
INNER = 1.2  # clear inside a cell [mm]
FIRST = 8.0  # width of the first column [mm]
NOTHING = "–"  # in it: the finding has no place on the drawing


@dataclass(frozen=True, slots=True)
class Row:
    """A finding in lines.

    Attributes:
        mark: number of its mark, or a dash.
        verdict: with the rule, printed bold.
        lines: the sentence, wrapped.
    """

    mark: str
    verdict: tuple[str, ...]
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        """Of the row [mm]."""
        h = drafting().text.small
        return (len(self.verdict) + len(self.lines) - 1) * h * drafting().text.line_spacing + h + 2 * INNER


@dataclass(frozen=True, slots=True)
class Schedule:
    """The table, measured, ready to be put down."""

    heading: str
    rows: tuple[Row, ...]
    wide: float

    @property
    def height(self) -> float:
        """From the top of the heading to the lowest rule [mm]."""
        return HEAD + sum(r.height for r in self.rows) if self.rows else 0.0

    def items(self, x: float, top: float) -> list[Item]:
        """The table with its upper left corner at x, top."""
        if not self.rows:
            return []
        pen, h = drafting().pen, drafting().text.small
        step = h * drafting().text.line_spacing
        out: list[Item] = [_text((x, top - 2.5), self.heading, 2.5, bold=True)]
        y = start = top - HEAD
        for row in self.rows:
            out.append(_line((x, y), (x + self.wide, y), pen.thin))
            base = y - INNER - h
            out.append(_text((x + FIRST / 2, base), row.mark, h, "centre", bold=True))
            for k, line in enumerate((*row.verdict, *row.lines)):
                at = (x + FIRST + INNER, base - k * step)
                out.append(_text(at, line, h, bold=k < len(row.verdict)))
            y -= row.height
        low = y
        out.append(_line((x, low), (x + self.wide, low), pen.thin))
        out += [_line((v, start), (v, low), pen.thin) for v in (x, x + FIRST, x + self.wide)]
        return out


def schedule(findings: Sequence[Any], which: Marks, settings: SheetSettings, wide: float) -> Schedule:
    """The table of findings that failed, or of all that were measured, the worst first.

    What fails is told in full, with its rule and source; of the rest a line says what was measured against what.
    """
    number = numbers(places(findings, which))
    room = wide - FIRST - 2 * INNER
    rows = [
        _row(f, str(number.get(i, NOTHING)), settings, room)
        for verdict in SHOWN[which]
        for i, f in enumerate(findings)
        if f.verdict == verdict and (i in number or verdict == "fails")
    ]
    return Schedule(cased(settings.word("findings"), settings.wording), tuple(rows), wide)


def _row(f: Any, mark: str, settings: SheetSettings, room: float) -> Row:
    h = drafting().text.small

    def lines(text: str, *, bold: bool = False) -> tuple[str, ...]:
        return tuple(_broken(cased(text, settings.wording), h, room, bold))

    said = outcome(f, settings)
    if f.verdict != "fails":
        return Row(mark, (), lines(f"{settings.word(WORDS[f.verdict])}: {said}"))
    word = settings.word("verdict_fails" if f.rule.severity == "required" else "verdict_advised")
    return Row(mark, lines(f"{word}  {f.rule.id}", bold=True), lines(said))


WORDS = {"holds": "verdict_holds", "cannot tell": "verdict_untold"}


def _broken(text: str, height: float, room: float, bold: bool) -> list[str]:
    """Lines of the text; a word that is wider than the room is parted."""
    out = []
    for line in wrap(text, height, room, bold):
        while width(line, height, bold) > room:
            cut = next(n for n in range(len(line) - 1, 0, -1) if n == 1 or width(line[:n], height, bold) <= room)
            out.append(line[:cut])
            line = line[cut:]
        out.append(line)
    return out


def _text(at: tuple[float, float], text: str, height: float, anchor: str = "left", *, bold: bool = False) -> Text:
    return Text(at, text, height, LAYER, anchor, bold=bold, space="paper")  # type: ignore[arg-type]


def _line(a: tuple[float, float], b: tuple[float, float], width: float) -> Stroke:
    return Stroke((a, b), LAYER, width, space="paper")
