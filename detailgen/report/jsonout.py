"""Findings, numbers and sidecars as JSON documents: sorted keys, finite numbers, one line break at the end.

Lengths are in millimetres with at most six decimals, so that a document does not change with the last bit of a sum.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any

from detailgen._version import __version__
from detailgen.catalogue.origins import origin_of
from detailgen.section.model import Derivation, Section

if TYPE_CHECKING:
    from detailgen.measure import Measures
    from detailgen.report.checked import Check
    from detailgen.rules import Answer, Finding, OtherAnswer

Json = dict[str, Any]


def encode(document: object) -> bytes:
    """The bytes of a document, the same on every machine."""
    text = json.dumps(plain(document), ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False)
    return (text + "\n").encode()


def plain(value: object) -> Any:
    """Dataclasses, mappings and tuples as JSON has them; a number that is none becomes null."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return round(value, 6) + 0.0 if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, Sequence):
        return [plain(v) for v in value]
    if is_dataclass(value):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    return str(value)


def derivation(d: Derivation) -> Json:
    """A number and all that it was made from."""
    return {
        "name": d.name,
        "value": d.value,
        "unit": d.unit,
        "formula": d.formula,
        "source": d.source,
        "rule": d.rule,
        "key": origin_of(d.name) if d.source == "input" and not d.inputs else "",
        "inputs": [derivation(i) for i in d.inputs],
    }


def finding(f: Finding) -> Json:
    """One judged rule."""
    return {
        "rule": f.rule.id,
        "pack": f.rule.pack,
        "measure": f.rule.measure,
        "severity": f.rule.severity,
        "verdict": f.verdict,
        "unit": f.rule.unit,
        "measured": f.measured,
        "limit": f.limit,
        "written": f.rule.written,
        "margin": f.margin,
        "a": f.a,
        "b": f.b,
        "needed": f.needed,
        "sentence": f.sentence,
        "source": f.rule.source,
        "how": f.rule.how,
        "reason": f.rule.reason,
        "declared": f.declared,
        "edition": f.rule.edition,
        "change": f.rule.change,
        "was": f.rule.was,
        "because": f.rule.because,
    }


def measures(found: Measures) -> Json:
    """Measures by id; value null where the section does not show it."""
    return {id: plain(m) for id, m in found.items()}


def checked(section: Section, findings: Iterable[Finding]) -> Json:
    """The findings of one detail."""
    rows = [finding(f) for f in findings]
    return {
        "id": section.id,
        "kind": section.kind,
        "title": section.title,
        "facts": dict(section.facts),
        "findings": rows,
        "warnings": [{"code": code, "sentence": sentence} for code, sentence in section.warnings],
        "summary": summary(rows),
    }


def summary(rows: Iterable[Json]) -> Json:
    """How many findings of each verdict; ``failed`` counts required rules only, and decides the exit code."""
    counts: dict[str, int] = {"holds": 0, "fails": 0, "not applicable": 0, "cannot tell": 0, "failed": 0}
    for row in rows:
        counts[row["verdict"]] += 1
        counts["failed"] += row["verdict"] == "fails" and row["severity"] == "required"
    return counts


def check_document(check: Check) -> Json:
    """What ``check --json`` prints."""
    details = [
        {
            **checked(d.section, d.findings),
            "reviewer": [_answer(a) for a in d.answers],
            "others": [_other(o) for o in d.others],
        }
        for d in check.details
    ]
    return {
        "file": check.file,
        "digest": check.digest,
        "version": __version__,
        "rules": list(check.packs),
        "changes": list(check.changes),
        "details": details,
        "roof": [finding(f) for f in check.roof],
        "failed": check.failed,
        "meetings": [{"of": m.of, "detail": m.detail or None, "sentence": m.sentence} for m in check.meetings],
    }


def _other(o: OtherAnswer) -> Json:
    f = o.finding
    return {
        "topic": o.topic.topic,
        "positions": o.topic.positions,
        "taken": o.topic.taken,
        "pack": o.pack,
        "rule": f.rule.id,
        "written": f.rule.written,
        "verdict": f.verdict,
        "source": f.rule.source,
        "how": f.rule.how,
        "ours": o.ours.id if o.ours else None,
    }


def _answer(a: Answer) -> Json:
    """A question of the reviewer's list and its answer."""
    q = a.question
    asked = {"group": q.group, "number": q.number, "question": q.text}
    return {**asked, "status": a.status, "readings": [m.id for m in a.readings], "text": a.text}


def sidecar(
    section: Section, found: Measures, findings: Iterable[Finding], parameters: Mapping[str, object], digest: str
) -> Json:
    """The file ``ID.json`` beside a drawing: all that other programs may want to know about it."""
    return {
        **checked(section, findings),
        "version": __version__,
        "digest": digest,
        "parameters": parameters,
        "numbers": {name: derivation(d) for name, d in section.numbers.items()},
        "measures": measures(found),
        "levels": [{"id": v.id, "label": v.label, "y": v.point[1]} for v in section.levels],
        "parts": [
            {
                "id": p.id,
                "kind": p.kind,
                "material": p.material,
                "role": p.role,
                "step": p.step,
                "trade": p.trade,
                "thickness": p.thickness,
                "girth": p.girth,
                "rings": p.rings,
            }
            for p in section.parts
        ],
        "cautions": section.cautions,
        "remarks": section.remarks,
    }
