"""A PDF of many pages with bookmarks. Pages are written as they come, so that memory does not grow with their number.

The letters of all pages share two fonts, which stand at the end of the file: until then each letter has a code of its
own, in the order in which the letters are met.

Source: ISO 32000-1:2008, PDF 1.7: outlines 12.3.3, destinations 12.3.2.2, CIDToGIDMap 9.7.4.2.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import BinaryIO

from detailgen._version import __version__
from detailgen.catalogue import Catalogue
from detailgen.output.lettering import Face, face, printable
from detailgen.output.pdf import NAMES, UNIT, File, Subset, content_of, font_objects, info_of, words
from detailgen.output.svg import number
from detailgen.output.tint import pictured
from detailgen.sheet.model import Sheet


@dataclass(frozen=True)
class _Letters:
    """A face whose letters get their codes as they are met, from 1."""

    bold: bool
    codes_of: dict[str, int] = field(default_factory=dict)

    @property
    def face(self) -> Face:
        return face(self.bold)

    def codes(self, text: str) -> str:
        return "".join(f"{self.codes_of.setdefault(c, len(self.codes_of) + 1):04X}" for c in printable(text))


@dataclass(frozen=True, slots=True)
class _Page:
    """A page: number of its object, its bookmark, whether that stands under the one before."""

    number: int
    mark: str
    under: bool


class Book:
    """A PDF in the making.

    Args:
        out: what it is written to.
        catalogue: where tints come from.
        style: of the pictures.
        facts: of the document: ``Title``, ``Subject``.
    """

    def __init__(self, out: BinaryIO, catalogue: Catalogue, style: str, facts: dict[str, str]) -> None:
        self._file, self._catalogue, self._style = File(out), catalogue, style
        self._facts = {**facts, "Producer": f"detailgen {__version__}"}
        self._letters = {bold: _Letters(bold) for bold in (False, True)}
        self._tree, self._resources = self._file.reserve(), self._file.reserve()
        self._pages: list[_Page] = []

    def __len__(self) -> int:
        return len(self._pages)

    def page(self, sheet: Sheet, mark: str = "", *, under: bool = False, at: int | None = None) -> None:
        """A page.

        Args:
            sheet: that it shows.
            mark: its bookmark; none if empty.
            under: the bookmark stands under the last one that does not.
            at: its place among the pages so far, from 0; the last if None.
        """
        flat = pictured(sheet, self._catalogue, self._style)
        content = self._file.stream(content_of(flat, self._letters).encode("ascii"))
        width, height = (number(v * UNIT) for v in sheet.size)
        made = self._file.add(
            f"<< /Type /Page /Parent {self._tree} 0 R /MediaBox [0 0 {width} {height}] "
            f"/Resources {self._resources} 0 R /Contents {content} 0 R >>"
        )
        self._pages.insert(len(self._pages) if at is None else at, _Page(made, mark, under))

    def close(self) -> None:
        """Fonts, bookmarks and the tree of pages; nothing may follow."""
        file, fonts = self._file, []
        for bold, letters in self._letters.items():
            if letters.codes_of:
                subset = Subset.letters(sorted(letters.codes_of), bold)
                fonts.append(f"{NAMES[bold]} {font_objects(file, subset, tuple(letters.codes_of))} 0 R")
        file.put(self._resources, f"<< /Font << {' '.join(fonts)} >> >>")
        kids = " ".join(f"{p.number} 0 R" for p in self._pages)
        file.put(self._tree, f"<< /Type /Pages /Kids [{kids}] /Count {len(self._pages)} >>")
        root = file.add(
            f"<< /Type /Catalog /Pages {self._tree} 0 R /Outlines {self._outlines()} 0 R /PageMode /UseOutlines "
            "/ViewerPreferences << /DisplayDocTitle true >> >>"
        )
        file.close(root, file.add(f"<< {info_of(self._facts)} >>"))

    def _outlines(self) -> int:
        """The tree of bookmarks, two deep, the lower ones folded away; its number."""
        marked = [p for p in self._pages if p.mark]
        groups: list[list[_Page]] = []
        for p in marked:
            if p.under and groups:
                groups[-1].append(p)
            else:
                groups.append([p])
        root = self._file.reserve()
        tops = [self._file.reserve() for _ in groups]
        for (top, *below), own, (before, after) in zip(groups, tops, _neighbours(tops), strict=True):
            inner = [self._file.reserve() for _ in below]
            for p, own_inner, (b, a) in zip(below, inner, _neighbours(inner), strict=True):
                self._mark(own_inner, p, own, b, a, "")
            held = f"/First {inner[0]} 0 R /Last {inner[-1]} 0 R /Count {-len(inner)} " if inner else ""
            self._mark(own, top, root, before, after, held)
        ends = f"/First {tops[0]} 0 R /Last {tops[-1]} 0 R /Count {len(tops)} " if tops else ""
        return self._file.put(root, f"<< /Type /Outlines {ends}>>")

    def _mark(self, own: int, page: _Page, parent: int, before: int, after: int, held: str) -> None:
        sides = (f"/Prev {before} 0 R " if before else "") + (f"/Next {after} 0 R " if after else "")
        self._file.put(
            own, f"<< /Title {words(page.mark)} /Parent {parent} 0 R {sides}{held}/Dest [{page.number} 0 R /Fit] >>"
        )


def _neighbours(numbers: list[int]) -> list[tuple[int, int]]:
    """The number before and after each, 0 for none."""
    return [(a, b) for a, b in zip([0, *numbers], [*numbers[1:], 0], strict=False) if numbers]
