"""The general notes of a sheet: how to read it, where it is cut, what does not hold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from detailgen.section.model import Section
from detailgen.sheet.settings import SheetSettings


def general_notes(section: Section, findings: Iterable[Any], settings: SheetSettings) -> list[str]:
    """Sentences for the block of general notes, the most important first.

    Failed required rules stand on the sheet: a drawing never hides what its own check found.
    """
    word = settings.word
    out = [word("does_not_hold", sentence=f.sentence) for f in findings if f.verdict == "fails"]
    out.append(word(f"units_{settings.units}"))
    if settings.dual:
        out.append(word(f"dual_{settings.units}"))
    if section.levels:
        out.append(word("levels_from", zero=settings.zero) if settings.zero else word("levels_from_zero"))
    out += [_sentence(r) for r in section.remarks]
    if any(p.thin for p in section.parts):
        out.append(word("exaggerated"))
    out += [_sentence(text) for _, text in section.warnings]
    out += [n.text for n in settings.notes if not n.part and n.at is None and n.text]
    out += [_sentence(g) for g in settings.general]
    return list(dict.fromkeys(out))


def _sentence(text: str) -> str:
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
