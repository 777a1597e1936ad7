"""Marks of findings: none covers words or another mark, no leader of a mark runs through words or over another one."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import shapely

from detailgen.sheet.lines import text_box
from detailgen.sheet.places import hexagon, leader
from detailgen.sheet.plane import crossing, length_in_box
from detailgen.sheet.review.case import Case, Reading


def marks(case: Case) -> Iterator[Reading]:
    """Each mark against the words, and against each other."""
    words = [(t, text_box(t)) for t, _ in case.texts if t.layer != "finding" or t.space == "paper"]
    shapes = [(m, shapely.Polygon(hexagon(m.at))) for m in case.sheet.marks]
    for m, shape in shapes:
        line = leader(m)
        for t, box in words:
            yield Reading("mark on text", shape.intersection(shapely.box(*box)).area, f"{m.number} / {t.text}", m.at)
            if line:
                run = length_in_box(line[0], line[1], box)
                yield Reading("leader of a mark through text", run, f"{m.number} / {t.text}", m.at)
    for (m, a), (n, b) in combinations(shapes, 2):
        yield Reading("marks overlap", a.intersection(b).area, f"{m.number} / {n.number}", m.at)
        one, other = leader(m), leader(n)
        if one and other:
            crosses = crossing(one[0], one[1], other[0], other[1])
            yield Reading("leaders of marks cross", crosses, f"{m.number} / {n.number}", m.at)


TESTS = (marks,)
