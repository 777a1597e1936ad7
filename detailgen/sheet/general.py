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
    out = [f"Does not hold: {f.sentence}" for f in findings if f.verdict == "fails"]
    if settings.units == "inch":
        out.append("Dimensions in feet and inches; written dimensions govern, do not scale.")
    else:
        out.append("Dimensions in millimetres, levels in metres; written dimensions govern, do not scale.")
    if settings.dual:
        other, govern = ("millimetres", "inches") if settings.units == "inch" else ("inches", "millimetres")
        out.append(f"Values in brackets are {other}, converted from the true value; {govern} govern.")
    if section.levels:
        zero = f"the project's zero ({settings.zero})" if settings.zero else "the project's zero"
        out.append(f"Levels refer to {zero}.")
    out += [_sentence(r) for r in section.remarks]
    if any(p.thin for p in section.parts):
        out.append("Thin sheets are drawn thicker than they are; their gaps only tell them apart.")
    out += [_sentence(text) for _, text in section.warnings]
    out += [n.text for n in settings.notes if not n.part and n.at is None and n.text]
    out += [_sentence(g) for g in settings.general]
    return list(dict.fromkeys(out))


def _sentence(text: str) -> str:
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
