"""PDF: written by hand, because the text must be found by its characters and stand as wide as it was measured.

One page (`detailgen.output.book` makes many), vector lines and fills, text in the font of the pictures, embedded as the
few glyphs that are used. Each glyph is mapped back to its character, so every script can be searched and copied.

Source: ISO 32000-1:2008, PDF 1.7: file structure 7.5, content 8 and 9, composite fonts 9.7, ToUnicode maps 9.10.3.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO, Protocol

import numpy as np
from fontTools.subset import Options as SubsetOptions
from fontTools.subset import Subsetter
from fontTools.ttLib import TTFont

from detailgen._version import __version__
from detailgen.catalogue import Catalogue
from detailgen.output import Options
from detailgen.output.lettering import Face, face, printable, start
from detailgen.output.svg import facts_of, number
from detailgen.output.tint import pictured
from detailgen.sheet.flat import Fill, Flat
from detailgen.sheet.model import Sheet, Text

UNIT = 72 / 25.4  # PDF points in a millimetre
# A page sets its letters itself; the rest is not needed there, and reading it takes a tenth of a second.
NOT_NEEDED = ("FFTM", "GDEF", "GPOS", "GSUB", "kern")
NAMES = {False: "/Regular", True: "/Bold"}


def write(sheet: Sheet, catalogue: Catalogue, options: Options) -> bytes:
    """The sheet as a PDF of one page."""
    flat = pictured(sheet, catalogue, options.style)
    fonts = {bold: Subset.of(flat.texts, bold) for bold in sorted({t.bold for t in flat.texts})}
    out = io.BytesIO()
    file = File(out)
    names = {NAMES[bold]: font_objects(file, font) for bold, font in fonts.items()}
    content = file.stream(content_of(flat, fonts).encode("ascii"))
    pages = file.reserve()
    fonts_used = " ".join(f"{name} {number_} 0 R" for name, number_ in names.items())
    width, height = (v * UNIT for v in sheet.size)
    page = file.add(
        f"<< /Type /Page /Parent {pages} 0 R /MediaBox [0 0 {number(width)} {number(height)}] "
        f"/Resources << /Font << {fonts_used} >> >> /Contents {content} 0 R >>"
    )
    file.put(pages, f"<< /Type /Pages /Kids [{page} 0 R] /Count 1 >>")
    root = file.add(f"<< /Type /Catalog /Pages {pages} 0 R /ViewerPreferences << /DisplayDocTitle true >> >>")
    facts = {"Title": sheet.title or sheet.id, "Subject": facts_of(sheet), "Producer": f"detailgen {__version__}"}
    file.close(root, file.add(f"<< {info_of(facts)} >>"))
    return out.getvalue()


# -- content ---------------------------------------------------------------------------------------------------------


class Lettering(Protocol):
    """A face as a page needs it."""

    @property
    def face(self) -> Face:
        """The face."""

    def codes(self, text: str) -> str:
        """A text as codes of its letters, hexadecimal."""


def content_of(flat: Flat, fonts: Mapping[bool, Lettering]) -> str:
    """The page: paper millimetres, origin at the lower left corner as everywhere in a sheet."""
    out = [f"{UNIT:.6f} 0 0 {UNIT:.6f} 0 0 cm 1 j"]
    for fill in flat.fills:
        out += [f"{_colour(fill.colour)} rg", _fill(fill)]
    for run in flat.strokes:
        end = 0 if isinstance(run.lines, np.ndarray) else 1  # hatch lines end blunt
        out += [f"{end} J {number(run.width)} w {_colour(run.colour)} RG", *(_path(line, "S") for line in run.lines)]
    out.append("0 0 0 rg BT")
    out += [_text(t, fonts[t.bold]) for t in flat.texts if t.text]
    out.append("ET")
    return "\n".join(out)


def _colour(colour: str) -> str:
    return " ".join(number(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))


def _path(line: Iterable[Any], end: str) -> str:
    steps = [f"{number(x)} {number(y)} {'l' if i else 'm'}" for i, (x, y) in enumerate(line)]
    return " ".join([*steps, end])


def _fill(fill: Fill) -> str:
    return " ".join([*(_path(ring, "h") for ring in fill.rings), "f*"])


def _text(text: Text, font: Lettering) -> str:
    x, y = (number(v) for v in start(text))
    turn = np.radians(text.angle)
    c, s = number(float(np.cos(turn))), number(float(np.sin(turn)))
    minus_s = number(-float(np.sin(turn)))
    size = number(text.height * font.face.em)
    return f"{NAMES[text.bold]} {size} Tf {c} {s} {minus_s} {c} {x} {y} Tm <{font.codes(text.text)}> Tj"


# -- fonts -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Subset:
    """The glyphs of one face that a page uses.

    Attributes:
        data: the font file.
        index: number of each character's glyph in it; characters without a glyph have the empty box, 0.
        widths: advance of each glyph [1/1000 em].
    """

    face: Face
    data: bytes
    index: Mapping[str, int]
    widths: tuple[float, ...]

    @classmethod
    def of(cls, texts: Iterable[Text], bold: bool) -> Subset:
        """The subset for the texts of one face."""
        return cls.letters(sorted({c for t in texts if t.bold == bold for c in printable(t.text)}), bold)

    @classmethod
    def letters(cls, used: Sequence[str], bold: bool) -> Subset:
        """The subset for some letters of one face."""
        f = face(bold)
        options = SubsetOptions(
            hinting=False, layout_features=[], name_IDs=[], notdef_outline=True, recalc_timestamp=False
        )
        font = TTFont(f.path, recalcTimestamp=False)
        for table in NOT_NEEDED:
            if table in font:
                del font[table]
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=[ord(c) for c in used])
        subsetter.subset(font)
        file = io.BytesIO()
        font.save(file, reorderTables=None)
        order, em = font.getGlyphOrder(), font["head"].unitsPerEm
        number_of = {name: i for i, name in enumerate(order)}
        index = {c: number_of.get(f.glyph(c), 0) for c in used}
        return cls(f, file.getvalue(), index, tuple(round(font["hmtx"][n][0] * 1000 / em, 2) for n in order))

    def codes(self, text: str) -> str:
        """A text as glyph numbers, hexadecimal."""
        return "".join(f"{self.index[c]:04X}" for c in printable(text))


def font_objects(file: File, subset: Subset, codes: Sequence[str] = ()) -> int:
    """The objects of a font; gives the number of the composite font.

    Args:
        file: to write to.
        subset: the glyphs.
        codes: letters by their code, from 1, where pages were written before the glyphs had numbers.
    """
    data = file.stream(subset.data, f"/Length1 {len(subset.data)} ")
    head, os2 = subset.face.font["head"], subset.face.font["OS/2"]
    thousandth = 1000 / head.unitsPerEm
    box = " ".join(str(round(v * thousandth)) for v in (head.xMin, head.yMin, head.xMax, head.yMax))
    base = f"/DETAIL+{subset.face.path.stem}"
    descriptor = file.add(
        f"<< /Type /FontDescriptor /FontName {base} /Flags 4 /FontBBox [{box}] /ItalicAngle 0 "
        f"/Ascent {round(os2.sTypoAscender * thousandth)} /Descent {round(os2.sTypoDescender * thousandth)} "
        f"/CapHeight {round(subset.face.cap * thousandth)} /StemV 80 /FontFile2 {data} 0 R >>"
    )
    glyphs = [0, *(subset.index[c] for c in codes)] if codes else list(range(len(subset.widths)))
    index = {c: code for code, c in enumerate(codes, 1) if subset.index[c]} if codes else subset.index
    to_glyph = "/Identity"
    if codes:
        to_glyph = f"{file.stream(b''.join(g.to_bytes(2, 'big') for g in glyphs))} 0 R"
    child = file.add(
        f"<< /Type /Font /Subtype /CIDFontType2 /BaseFont {base} /CIDToGIDMap {to_glyph} "
        f"/FontDescriptor {descriptor} 0 R /CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> "
        f"/DW 1000 /W [0 [{' '.join(str(subset.widths[g]) for g in glyphs)}]] >>"
    )
    back = file.stream(_to_unicode(index).encode("ascii"))
    return file.add(
        f"<< /Type /Font /Subtype /Type0 /BaseFont {base} /Encoding /Identity-H /DescendantFonts [{child} 0 R] "
        f"/ToUnicode {back} 0 R >>"
    )


def _to_unicode(index: Mapping[str, int]) -> str:
    """The map from glyph numbers back to characters."""
    pairs = sorted((i, c) for c, i in index.items() if i)
    blocks = []
    for k in range(0, len(pairs), 100):  # the most that one block may hold
        block = pairs[k : k + 100]
        rows = "\n".join(f"<{i:04X}> <{c.encode('utf-16-be').hex().upper()}>" for i, c in block)
        blocks.append(f"{len(block)} beginbfchar\n{rows}\nendbfchar")
    return "\n".join(
        [
            "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
            "1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange",
            *blocks,
            "endcmap CMapName currentdict /CMap defineresource pop end end",
        ]
    )


# -- file ------------------------------------------------------------------------------------------------------------


def info_of(facts: Mapping[str, str]) -> str:
    """The facts of the document."""
    return " ".join(f"/{k} {words(v)}" for k, v in facts.items() if v)


def words(text: str) -> str:
    """A text outside of the pages."""
    return f"<FEFF{printable(text).encode('utf-16-be').hex().upper()}>"


class File:
    """Numbered objects, written as they come, and their table at the end.

    Args:
        out: what it is written to.
    """

    def __init__(self, out: BinaryIO) -> None:
        self._out, self._at = out, list[int]()
        self._end = out.write(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")

    def reserve(self) -> int:
        """A number for an object that is put later."""
        self._at.append(0)
        return len(self._at)

    def put(self, number_: int, body: str | bytes) -> int:
        """Writes the object of a number that was reserved."""
        data = body.encode("ascii") if isinstance(body, str) else body
        self._at[number_ - 1] = self._end
        self._write(f"{number_} 0 obj\n".encode("ascii") + data + b"\nendobj\n")
        return number_

    def add(self, body: str | bytes) -> int:
        """Writes an object; its number."""
        return self.put(self.reserve(), body)

    def stream(self, data: bytes, more: str = "") -> int:
        """Writes a stream, packed; its number."""
        packed = zlib.compress(data, 9)
        head = f"<< {more}/Length {len(packed)} /Filter /FlateDecode >>\nstream\n".encode("ascii")
        return self.add(head + packed + b"\nendstream")

    def close(self, root: int, info: int) -> None:
        """Writes the table of all objects; nothing may follow."""
        table, count = self._end, len(self._at) + 1
        rows: Sequence[str] = [f"{a:010d} 00000 n \n" for a in self._at]
        self._write(f"xref\n0 {count}\n0000000000 65535 f \n{''.join(rows)}".encode("ascii"))
        trailer = f"trailer\n<< /Size {count} /Root {root} 0 R /Info {info} 0 R >>\nstartxref\n{table}\n%%EOF\n"
        self._write(trailer.encode("ascii"))

    def _write(self, data: bytes) -> None:
        self._end += self._out.write(data)
