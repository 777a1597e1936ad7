"""One heavy line only: the water line; barriers of every kind in their own lighter, broken line. Read off the print."""

from __future__ import annotations

import io
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

import detailgen as dg
from detailgen.sheet.model import Area, Stroke
from detailgen.sheet.strips import spine

SPECS = Path(__file__).parents[1] / "specs"
BARRIERS = ("barrier", "vapour-control", "fabric")
SHOWN = [("ferry-hall", "P1"), ("baggage-shed", "P3"), ("baggage-shed", "P4"), ("ferry-hall-imperial", "P6")]


@cache
def detail(spec, id):
    return dg.load(SPECS / f"{spec}.toml")[id]


@cache
def print_of(spec, id):
    """The picture as darkness, rows from the top, and its pixels per millimetre."""
    made = detail(spec, id).sheet()
    grey = np.array(Image.open(io.BytesIO(detail(spec, id).render("png"))).convert("L"))
    return grey, grey.shape[1] / made.size[0]


def runs_across(spec, id, part):
    """Plotted widths of the dark run that crosses the middle of a strip, every 0.5 mm along it [mm]."""
    grey, per_mm = print_of(spec, id)
    sheet, out = detail(spec, id).sheet(), []
    for ring in part.rings:
        line = shapely.LineString([sheet.to_paper(p) for p in spine(ring)])
        if line.length < 8.0:
            continue
        half = shapely.Polygon([sheet.to_paper(p) for p in ring]).area / line.length / 2
        for at in np.arange(3.0, line.length - 3.0, 0.5):
            p, q = line.interpolate(at - 0.2), line.interpolate(at + 0.2)
            run = math.hypot(q.x - p.x, q.y - p.y)
            n = ((q.y - p.y) / run, (p.x - q.x) / run)
            if not shapely.Polygon([sheet.to_paper(c) for c in ring]).covers(_moved(p, n, half)):
                n = (-n[0], -n[1])
            steps = np.arange(-1.2, 1.2, 0.02)
            xs = ((p.x + q.x) / 2 + n[0] * (half + steps)) * per_mm
            ys = grey.shape[0] - ((p.y + q.y) / 2 + n[1] * (half + steps)) * per_mm
            dark = grey[ys.astype(int), xs.astype(int)] < 128
            middle = len(steps) // 2
            if dark[middle]:
                low = middle - np.argmin(dark[middle::-1])
                high = middle + np.argmin(dark[middle:])
                out.append((high - low) * 0.02)
    return out


def _moved(p, n, by):
    return shapely.Point(p.x + n[0] * by, p.y + n[1] * by)


@pytest.mark.parametrize(("spec", "id"), SHOWN)
def test_on_the_print_the_water_line_is_twice_as_heavy_as_any_barrier(spec, id):
    section = detail(spec, id).section(detail(spec, id).sheet().k)
    water = [w for p in section.parts if p.role == "waterproofing" and p.thin for w in runs_across(spec, id, p)]
    light = [w for p in section.parts if p.role in BARRIERS and p.thin for w in runs_across(spec, id, p)]
    assert len(water) > 100 and len(light) > 40
    assert np.median(water) >= 0.6, "0.7 mm less the white seam at a lap"
    assert np.median(light) <= 0.4 < 0.7 * np.median(water)


@pytest.mark.parametrize(("spec", "id"), SHOWN)
def test_barriers_are_broken_lines_and_only_the_waterproofing_is_black(spec, id):
    sheet = detail(spec, id).sheet()
    parts = {p.id: p for p in sheet.drawn}
    for item in sheet.items:
        if not getattr(item, "part", "") or item.medium == "dxf" or item.part not in parts:
            continue
        role = parts[item.part].role
        if isinstance(item, Area) and item.fill == "#000000":
            assert role == "waterproofing", item.part
        if isinstance(item, Stroke) and role in BARRIERS and parts[item.part].thin:
            assert item.dash and item.width <= 0.35, item.part


@pytest.mark.parametrize("standard", ["ncs", "iso13567"])
def test_every_layer_standard_gives_the_water_the_heaviest_pen_of_the_section(standard):
    rows = detail(*SHOWN[0]).project.context.catalogue.layers(standard)
    assert rows["membrane"].weight == 0.7 and rows["flashing.memb"].weight == 0.5
    for key in ("barrier", "vapour", "barrier.root", "fabric", "slip"):
        assert rows[key].weight <= 0.35 and rows[key].linetype != "Continuous", key
    assert rows["barrier"].linetype != rows["fabric"].linetype != rows["barrier.root"].linetype
