"""The DXF drawn by another renderer shows what the pictures show, to a tenth of a millimetre on paper.

Left aside is what the two mean to show differently: thin sheets, which pictures widen, the hatches of parts that make
room for them, and hatches next to break lines and texts.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw
from second_reader import DPI, drawn, ink, strays

import detailgen
from detailgen import output
from detailgen.output import Options
from detailgen.sheet.model import Area, Dim, Note, Stroke

ROOT = Path(__file__).parent.parent
PROJECT = detailgen.load(ROOT / "specs" / "ferry-hall.toml").on_paper(scale="1:5")
TOLERANCE = 0.1  # mm on paper: one pixel
MOST = 1e-4  # share of the ink that may stray: corners of letters
PER_MM = DPI / 25.4


def shape(part, made):
    return shapely.union_all([shapely.Polygon([made.to_paper(p) for p in r]) for r in part.rings])


@cache
def widened(id):
    """Ids of the parts that the two builds do not draw alike, and the region where they differ [paper mm]."""
    made = PROJECT[id].sheet()
    drawn_parts = {p.id: shape(p, made) for p in made.drawn}
    other, regions = set(), []
    for part in made.parts:
        true = shape(part, made)
        apart = true.symmetric_difference(drawn_parts[part.id])
        if part.thin or apart.area > 1e-3:
            other.add(part.id)
            regions += [apart, true, drawn_parts[part.id]] if part.thin else [apart]
    return frozenset(other), shapely.union_all(regions).buffer(0.6)


def comparable(id, hatched=True):
    """The sheet without what the two builds draw differently on purpose, and without the sheet's own furniture."""
    made = PROJECT[id].sheet()
    other, _ = widened(id)

    def stays(i):
        hatch = isinstance(i, Area | Stroke) and i.layer == "hatch"
        return getattr(i, "space", "model") == "model" and not (hatch and (i.part in other or not hatched))

    return replace(made, items=tuple(i for i in made.items if stays(i)))


def mask(id, made, texts):
    """True where the pictures are compared."""
    width, height = (round(v * PER_MM) for v in made.size)
    picture = Image.new("L", (width, height), 255)
    pen = ImageDraw.Draw(picture)
    regions = [widened(id)[1]]
    for cut in PROJECT[id].section().cuts:
        regions.append(shapely.LineString([made.to_paper(cut.a), made.to_paper(cut.b)]).buffer(1.3))
    if texts:
        from detailgen.sheet.flat import dim_texts
        from detailgen.sheet.lines import text_box

        lines = [t for i in made.items if isinstance(i, Dim) for t in dim_texts(i)]
        lines += [t for i in made.items if isinstance(i, Note) for t in i.lines]
        regions += [shapely.box(*text_box(t)).buffer(0.8) for t in lines]
    for region in regions:
        for polygon in getattr(region, "geoms", [region]):
            if not polygon.is_empty:
                pen.polygon([(x * PER_MM, height - y * PER_MM) for x, y in polygon.exterior.coords], fill=0)
    return np.asarray(picture) > 0


def disagreement(id, made, moved=None, **options):
    """The larger share of ink of one picture that the other does not have."""
    ours = ink(output.write(made, "png", catalogue=PROJECT.context.catalogue, options=Options(dpi=DPI)))
    data = output.write(moved or made, "dxf", catalogue=PROJECT.context.catalogue, options=Options(**options))
    theirs = drawn(data, made)
    height, width = (min(a, b) for a, b in zip(ours.shape, theirs.shape, strict=True))
    ours, theirs = ours[:height, :width], theirs[:height, :width]
    missing = strays(ours, theirs, TOLERANCE) & mask(id, made, texts=False)[:height, :width]
    extra = strays(theirs, ours, TOLERANCE) & mask(id, made, texts=True)[:height, :width]
    return max(missing.sum() / ours.sum(), extra.sum() / theirs.sum())


@pytest.mark.parametrize(("id", "profile"), [("P4", "full"), ("C1", "portable")])
def test_the_drawing_file_and_the_picture_show_the_same_ink(id, profile):
    made = comparable(id)
    kept = [i for i in made.items if isinstance(i, Area) and i.families and i.medium == "picture"]
    assert len(kept) >= 3, "hatches of boards and slabs are compared as well"
    assert disagreement(id, made, profile=profile) < MOST


def shifted(made, part, mm):
    """The sheet with one part of the true build moved up and to the right, as a fault of the writer would."""
    by = mm / made.k / 2**0.5

    def move(i):
        if not isinstance(i, Area | Stroke) or i.part != part or i.medium == "picture":
            return i
        if isinstance(i, Area):
            return replace(i, rings=tuple(tuple((x + by, y + by) for x, y in r) for r in i.rings))
        return replace(i, points=tuple((x + by, y + by) for x, y in i.points))

    return replace(made, items=tuple(move(i) for i in made.items))


def whole_parts(id):
    """Parts that both builds draw alike."""
    other, _ = widened(id)
    return [p.id for p in PROJECT[id].sheet().parts if p.id not in other and not p.thin]


@pytest.mark.parametrize("part", ["deck", "parapet", "topping", "top-insulation", "blocking", "drainage-mat"])
def test_a_part_that_is_moved_by_2_mm_is_noticed(part):
    assert part in whole_parts("P4")
    made = comparable("P4", hatched=False)
    assert disagreement("P4", made, shifted(made, part, 2.0)) > 10 * MOST
    assert part != "deck" or disagreement("P4", made) < MOST
