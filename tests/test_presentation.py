"""Presentation: tinted materials that everybody can tell apart, under ink that stays as it is."""

import io
import itertools
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from test_output import SVG, lines_of_text

import detailgen
from detailgen import output
from detailgen.catalogue import load
from detailgen.output import Options
from detailgen.output.tint import pictured, tint_of
from detailgen.sheet.flat import flatten

ROOT = Path(__file__).parent.parent
HALL = detailgen.load(ROOT / "specs" / "ferry-hall.toml")
TINTS = {t.key: t.colour for t in load().tints.values() if t.key != "hatch"}

# Linear sRGB as seen by a dichromat (severity 1.0): the supplementary matrices of G. M. Machado, M. M. Oliveira,
# L. A. F. Fernandes, A Physiologically-based Model for Simulation of Color Vision Deficiency, IEEE Transactions on
# Visualization and Computer Graphics 15(6), 2009 (second-hand).
EYES = {
    "normal": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
# Linear sRGB to CIE XYZ, D65. Source: IEC 61966-2-1:1999, from memory.
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour):
    """IEC 61966-2-1:1999, from memory."""
    v = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    """CIE 1976 L*a*b* of linear sRGB (ISO/CIE 11664-4)."""
    t = XYZ @ np.clip(rgb, 0, 1) / XYZ.sum(axis=1)
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_simulation_leaves_grey_grey():
    for eye in EYES.values():
        assert eye @ np.ones(3) == pytest.approx(1, abs=2e-6)
    assert lab(np.ones(3)) == pytest.approx([100, 0, 0], abs=0.01)


@pytest.mark.parametrize("eye", EYES)
def test_any_two_materials_look_different_whoever_looks(eye):
    for a, b in itertools.combinations(TINTS, 2):
        apart = np.linalg.norm(lab(EYES[eye] @ linear(TINTS[a])) - lab(EYES[eye] @ linear(TINTS[b])))
        assert apart > 9, (a, b)


def test_red_and_green_of_one_lightness_would_fail_this_test():
    red, green = (EYES["deuteranopia"] @ linear(c) for c in ("#d9b0a0", "#b8bea0"))
    assert np.linalg.norm(lab(red) - lab(green)) < 9 < np.linalg.norm(lab(linear("#d9b0a0")) - lab(linear("#b8bea0")))


def test_a_grey_print_tells_the_materials_apart():
    lightness = sorted(lab(linear(c))[0] for c in TINTS.values())
    assert min(np.diff(lightness)) > 2.4 and lightness[0] > 60


def test_text_is_read_on_every_tint():
    """Contrast as in W3C, WCAG 2.1 (2018), 1.4.6: 7 to 1 for text, from memory."""
    for name, colour in TINTS.items():
        assert (XYZ[1] @ linear(colour) + 0.05) / 0.05 > 7, name
    hatch = load().tints["hatch"].colour
    assert all(lab(linear(c))[0] - lab(linear(hatch))[0] > 15 for c in TINTS.values()), "and hatches are seen"
    assert lab(linear(hatch))[0] > 40, "but lighter than ink"


@pytest.mark.parametrize("id", ["P1", "C1", "P5"])
def test_every_material_of_a_section_that_is_not_ink_has_a_tint(id):
    detail = HALL[id]
    for part in detail.section(10.0).parts:
        item = load().item(part.kind)
        if part.view == "cut" and item.hatch not in ("solid", ""):
            assert tint_of(part, load()), part.id


@pytest.mark.parametrize("id", ["P1", "C1"])
def test_tints_lie_under_the_ink_and_change_nothing_of_it(id):
    made = HALL[id].sheet()
    plain, tinted = flatten(made), pictured(made, load(), "presentation")
    added = len(tinted.fills) - len(plain.fills)
    assert added > 6
    assert [f.colour for f in tinted.fills[added:]] == [f.colour for f in plain.fills]
    assert {f.colour for f in tinted.fills[:added]} <= set(TINTS.values())
    assert tinted.texts == plain.texts
    for mine, theirs in zip(tinted.strokes, plain.strokes, strict=True):
        assert mine.width == theirs.width and (mine.colour == theirs.colour) == (mine.layer != "hatch")
    assert pictured(made, load(), "line").strokes[0].colour == "#000000"


def test_a_picture_shows_the_tint_of_each_part_in_its_middle():
    detail, dpi = HALL["P4"], 200
    made, catalogue = detail.sheet(), detail.project.context.catalogue
    data = output.write(made, "png", catalogue=catalogue, options=Options(dpi=dpi, style="presentation"))
    image = Image.open(io.BytesIO(data))
    assert image.mode == "RGB"
    pixels = np.asarray(image)
    for id in ("deck", "parapet", "topping"):
        part = next(p for p in made.drawn if p.id == id)
        shape = shapely.Polygon([made.to_paper(p) for p in part.rings[0]]).buffer(-1)
        x0, y0, x1, y1 = (v * dpi / 25.4 for v in shape.bounds)
        area = pixels[round(len(pixels) - y1) : round(len(pixels) - y0), round(x0) : round(x1)].reshape(-1, 3)
        colours, counts = np.unique(area, axis=0, return_counts=True)
        wanted = [int(tint_of(part, catalogue)[i : i + 2], 16) for i in (1, 3, 5)]
        assert wanted in colours[counts > 0.1 * len(area)].tolist(), id


def test_pages_and_web_pictures_are_tinted_and_say_the_same_words():
    detail = HALL["C1"]
    made, rows = detail.sheet(), detail.project.context.catalogue
    files = {
        s: {f: output.write(made, f, catalogue=rows, options=Options(style=s)) for f in ("pdf", "svg")}
        for s in output.STYLES
    }
    assert list(lines_of_text(files["line"]["pdf"])) == list(lines_of_text(files["presentation"]["pdf"]))
    used = {p.get("fill") for p in ET.fromstring(files["presentation"]["svg"]).iter(f"{SVG}path")}
    assert {TINTS["concrete"], TINTS["foam"], TINTS["glass"]} <= used
    assert not {p.get("fill") for p in ET.fromstring(files["line"]["svg"]).iter(f"{SVG}path")} & set(TINTS.values())


def test_a_drawing_file_has_no_tints():
    detail = HALL["C1"]
    rows = detail.project.context.catalogue
    files = {output.write(detail.sheet(), "dxf", catalogue=rows, options=Options(style=s)) for s in output.STYLES}
    assert len(files) == 1
