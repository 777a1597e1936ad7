"""What the notes say: every part named once, parts of the same kind by one note, the user's own changes."""

from __future__ import annotations

import string
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from detailgen.catalogue import Catalogue
from detailgen.section.model import Coat, Fastener, Part, Section
from detailgen.sheet.lines import cased
from detailgen.sheet.plane import area, box_of
from detailgen.sheet.settings import NoteEdit, SheetSettings
from detailgen.units import INCH, METRIC, Units, format_length, format_slope

APART = 30.0  # parts further apart than this stand on two sides of a joint [mm]
MEASURED = 50.0  # a note says longer sizes, covers and laps, as the dimension beside it does [mm]
SPACE_WORTH_NAMING = 10_000.0  # a smaller void explains itself [mm²]


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing to be named.

    Attributes:
        id: kind of its parts, or its own id.
        parts: ids of parts (or the id of a coat, fastener or space).
        sort: ``part``, ``coat``, ``fastener``, ``space`` or ``free``.
        at: where the leader of a free note touches [section mm].
        also: ids of what the note names without pointing at it.
    """

    id: str
    text: str
    parts: tuple[str, ...]
    sort: str = "part"
    at: tuple[float, float] | None = None
    also: tuple[str, ...] = ()


def units_of(settings: SheetSettings) -> Units:
    """The unit system of a sheet."""
    return INCH if settings.units == "inch" else METRIC


def subjects(section: Section, catalogue: Catalogue, settings: SheetSettings) -> tuple[Subject, ...]:
    """Everything that the sheet names, with its words, in the order of building."""
    words = _Words(catalogue, settings)
    out: list[Subject] = []
    for kind, parts in _by_kind(section.parts).items():
        out.append(Subject(kind, words.part(parts), tuple(p.id for p in parts)))
    for kind, coats in _by_kind(section.coats).items():
        out.append(Subject(kind, words.of(kind, {}), tuple(c.id for c in coats), "coat"))
    for kind, fasteners in _by_kind(section.fasteners).items():
        spacings = sorted({f.spacing for f in fasteners if f.spacing})
        text = words.of(kind, {"spacing": spacings[0]} if spacings else {})
        out.append(Subject(kind, text, tuple(f.id for f in fasteners), "fastener"))
    out = _hosted(out, catalogue)
    named: dict[str, list[str]] = {}
    for space in section.spaces:
        if sum(abs(area(r)) for r in space.rings) >= SPACE_WORTH_NAMING:
            named.setdefault(space.name, []).append(space.id)
    for name, ids in named.items():
        out.append(Subject(ids[0], words.cased(_sentence(name)), tuple(ids), "space"))
    return tuple(_edited(out, settings.notes, words))


def bare_name(kind: str, catalogue: Catalogue, settings: SheetSettings) -> str:
    """What the notes call a material, without sizes."""
    return _Words(catalogue, settings).of(kind, {})


def _hosted(found: Sequence[Subject], catalogue: Catalogue) -> list[Subject]:
    """Screws, beads and the like go without a note of their own where the note of their host names them."""
    kinds = {s.id for s in found}
    hosts = {s.id: catalogue.item(s.id.removesuffix("/existing")).named_by for s in found}
    out = []
    for s in found:
        if hosts[s.id] in kinds:
            continue
        also = tuple(p for g in found if hosts[g.id] == s.id for p in g.parts)
        out.append(replace(s, also=also))
    return out


Thing = TypeVar("Thing", Part, Coat, Fastener)


def _by_kind(things: Iterable[Thing]) -> dict[str, list[Thing]]:
    out: dict[str, list[Thing]] = {}
    for thing in things:
        key = thing.kind if getattr(thing, "status", "new") == "new" else f"{thing.kind}/existing"
        out.setdefault(key, []).append(thing)
    return out


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _edited(found: list[Subject], edits: Sequence[NoteEdit], words: _Words) -> list[Subject]:
    """The user's own hand: reworded, silenced, added notes; the last edit of a part wins."""
    for number, edit in enumerate(edits):
        if not edit.part:
            if edit.text:
                found.append(Subject(f"own-note-{number + 1}", edit.text, (), "free", edit.at))
            continue
        kept: list[Subject] = []
        for s in found:
            if edit.part != s.id and edit.part not in s.parts:
                kept.append(s)
            elif not edit.silent:
                kept.append(replace(s, text=edit.text or s.text))
            elif edit.part in s.parts and len(s.parts) > 1:
                kept.append(replace(s, parts=tuple(p for p in s.parts if p != edit.part)))
        found = kept
    return found


class _Words:
    """Fills the templates of the catalogue with formatted sizes."""

    def __init__(self, catalogue: Catalogue, settings: SheetSettings) -> None:
        self.catalogue, self.wording, self.units = catalogue, settings.wording, units_of(settings)
        self.word = settings.word

    def cased(self, text: str) -> str:
        return cased(text, self.wording)

    def part(self, parts: Sequence[Part]) -> str:
        first = parts[0]
        sizes = dict(first.sizes)
        if first.thickness:
            sizes.setdefault("t", first.thickness)
        text = self.of(first.kind, sizes, self._thickness(parts))
        return self.cased(self.word("existing", note=text)) if first.status == "existing" else text

    def _thickness(self, parts: Sequence[Part]) -> str:
        """``50``, ``3 × 50`` for layers one above the other, ``60 + 80`` for different ones."""
        parts = _one_side(parts)
        ts = [p.thickness for p in parts if p.thickness]
        if not ts:
            return ""
        stacked = len(parts) > 1 and _stacked(parts)
        texts = [self.size(t) for t in ts]
        if not stacked or len(texts) == 1:
            return " / ".join(dict.fromkeys(texts))
        if len(set(texts)) == 1:
            return f"{len(texts)} × {texts[0]}"
        return " + ".join(texts)

    def size(self, mm: float) -> str:
        return format_length(mm, self.units, "product")

    def of(self, kind: str, sizes: Mapping[str, float], t: str = "") -> str:
        """The words of a kind; a size that its part does not have is left out with the comma before it."""
        item = self.catalogue.item(kind.removesuffix("/existing"))
        template = item.na if self.wording == "na" else item.eu
        values = {name: self._value(name, value) for name, value in sizes.items()}
        if t:
            values["t"] = t
        out = ""
        for literal, name, _, _ in string.Formatter().parse(template):
            out += literal
            if name is None:
                continue
            if name in values:
                out += values[name]
            else:
                out = out.rstrip(" ,")
        return self.cased(out)

    def _value(self, name: str, value: float) -> str:
        if "slope" in name:
            return format_slope(value, self.units)
        if name.startswith(("n_", "count")):
            return f"{value:g}"
        if name != "t" and value >= MEASURED:
            return format_length(value, self.units)
        return self.size(value)


def _one_side(parts: Sequence[Part]) -> Sequence[Part]:
    """Without the twins on the other side of a joint, where both sides have the same layers."""
    boxes = [box_of(q for r in p.rings for q in r) for p in parts]
    x0, _, x1, _ = boxes[0]
    near = [p for p, b in zip(parts, boxes, strict=True) if b[0] < x1 + APART and b[2] > x0 - APART]
    rest = [p for p in parts if p not in near]
    return near if sorted(p.thickness for p in near) == sorted(p.thickness for p in rest) else parts


def _stacked(parts: Sequence[Part]) -> bool:
    """Whether parts of one kind lie one on the other: side by side across their thickness, not end to end."""
    boxes = [box_of(q for r in p.rings for q in r) for p in parts]
    x0, y0, x1, y1 = max(boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
    k = 0 if x1 - x0 >= y1 - y0 else 1  # the long way
    shared = min(b[k + 2] for b in boxes) - max(b[k] for b in boxes)
    return shared > 0.5 * min(b[k + 2] - b[k] for b in boxes)
