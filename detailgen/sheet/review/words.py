"""Words: legible, whole, in the frame, clear of each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from detailgen.catalogue.widths import advances
from detailgen.sheet.plane import Box, grown, overlap
from detailgen.sheet.review.case import Case, Reading
from detailgen.sheet.review.limits import limits
from detailgen.sheet.style import drafting


def each(case: Case) -> Iterator[Reading]:
    """Each text by itself."""
    style = drafting().text
    x0, y0, x1, y1 = case.frame
    for t, box in case.texts:
        yield Reading("outside the frame", max(x0 - box[0], y0 - box[1], box[2] - x1, box[3] - y1), t.text, t.at)
        least = style.note if t.layer in ("note", "dim") else style.small
        yield Reading("text too small", t.height / least, t.text, t.at)
        yield Reading("unfilled words", t.text.count("{") + t.text.count("}"), t.text, t.at)
        known, _ = advances(t.bold)
        yield Reading("letter missing", sum(c not in known for c in t.text), t.text, t.at)
        yield Reading("words cut short", t.text.count("…"), t.text, t.at)


def pairs(case: Case) -> Iterator[Reading]:
    """Texts on each other."""
    pad = limits()["text on text"].more["pad"] / 2
    some = sorted(((grown(b, pad), t) for t, b in case.texts), key=lambda s: s[0][0])
    for i, (a, t) in enumerate(some):
        for b, s in some[i + 1 :]:
            if b[0] >= a[2]:
                break
            if (shared := overlap(a, b)) > 0:
                yield Reading("text on text", shared, f"{t.text} / {s.text}", t.at)


def columns(case: Case) -> Iterator[Reading]:
    """Notes flush, and apart."""
    anchors = ("left", "right")
    blocks: dict[str, list[tuple[Box, str, bool]]] = {a: [] for a in anchors}
    for n in case.notes:
        if not n.lines:
            continue
        top, last = n.lines[0], n.lines[-1]
        box = (top.at[0], last.at[1], top.at[0], top.at[1] + top.height)
        blocks.setdefault(top.anchor, []).append((box, n.id, bool(n.leader)))
    for anchor in anchors:
        edges = sorted({round(b[0], 3) for b, _, _ in blocks[anchor]})
        if edges:
            yield Reading("notes not flush", len(edges), ", ".join(f"{e:g}" for e in edges), (edges[0], 0.0))
        for (a, i, _), (b, j, led) in combinations(sorted(blocks[anchor], key=lambda s: -s[0][3]), 2):
            # rows of one build-up stand close; only their first has a leader
            if led and abs(a[0] - b[0]) < 20 and b[3] <= a[3] and a[1] - b[3] < 20:
                yield Reading("notes too close", a[1] - b[3], f"{i} / {j}", (b[0], b[3]))


TESTS = (each, pairs, columns)
