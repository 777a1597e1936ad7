"""Pictures and pages: the right size, the right words, the same bytes everywhere, nothing left behind."""

import hashlib
import io
import os
import re
import struct
import subprocess
import sys
import xml.etree.ElementTree as ET
import zlib
from pathlib import Path

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from output_sheets import MISSING, ODD, box, ring, sheet
from PIL import Image

from detailgen import catalogue, output
from detailgen.catalogue import text_width
from detailgen.catalogue.widths import advances
from detailgen.errors import InputError
from detailgen.output import lettering
from detailgen.sheet.flat import flatten
from detailgen.sheet.model import Area, Sheet, Stroke, Text

CATALOGUE = catalogue.load()
ROOT = Path(__file__).parent.parent
SVG = "{http://www.w3.org/2000/svg}"


def written(format, dpi=200, **how):
    return output.write(sheet(**how), format, dpi=dpi, catalogue=CATALOGUE)


def blank(*items, size=(100.0, 50.0)):
    return Sheet("P1", "Blank", "own", size, 5.0, (0.0, 0.0), items, "ncs", "metric")


def picture(*items, dpi=254, size=(100.0, 50.0)):
    """Darkness of every pixel, 0 … 1, of a sheet of 10 pixels a millimetre; row 0 at the top."""
    data = output.write(blank(*items, size=size), "png", dpi=dpi, catalogue=CATALOGUE)
    return 1 - np.asarray(Image.open(io.BytesIO(data)).convert("L")) / 255


def words(made):
    return [lettering.printable(t.text) for t in flatten(made).texts]


# -- formats ---------------------------------------------------------------------------------------------------------


def test_every_format_begins_as_its_kind_of_file_does():
    starts = {"dxf": b"  0\nSECTION", "png": b"\x89PNG\r\n\x1a\n", "pdf": b"%PDF-1.7", "svg": b"<?xml"}
    assert starts.keys() == output.FORMATS.keys()
    for format, start in starts.items():
        assert written(format).startswith(start)


def test_an_unknown_format_is_refused_with_a_near_miss():
    with pytest.raises(InputError, match=r"format = pgn: .*dxf, png, pdf, svg.*did you mean 'png'"):
        written("pgn")


@pytest.mark.parametrize("dpi", [0, -200, 29, 1201, 10**9])
def test_a_resolution_that_makes_no_picture_is_refused(dpi):
    with pytest.raises(InputError, match="between 30 and 1200"):
        written("png", dpi=dpi)


def test_a_picture_too_large_for_the_memory_is_refused_before_it_is_drawn():
    with pytest.raises(InputError, match="pixels; choose fewer dots per inch"):
        written("png", dpi=1200, size=(841.0, 594.0))


# -- PNG -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("dpi", [72, 200, 254, 300])
@pytest.mark.parametrize("size", [(420.0, 297.0), (431.8, 279.4), (210.0, 297.0)])
def test_a_picture_is_sheet_size_times_resolution(dpi, size):
    data = output.write(blank(size=size), "png", dpi=dpi, catalogue=CATALOGUE)
    image = Image.open(io.BytesIO(data))
    assert image.size == tuple(round(v / 25.4 * dpi) for v in size)
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.02)


def test_a_black_drawing_is_stored_in_grey_and_its_title_is_in_it():
    image = Image.open(io.BytesIO(written("png")))
    image.load()
    assert image.mode == "L" and image.info["Title"] == 'Parapet <low> & "bare"'


def test_a_coloured_area_keeps_its_colour():
    red = Area((box(10, 10, 90, 40),), "fill", fill="#c00000")
    data = output.write(blank(red), "png", dpi=254, catalogue=CATALOGUE)
    image = Image.open(io.BytesIO(data))
    assert image.mode == "RGB" and image.getpixel((500, 250)) == (192, 0, 0) and image.getpixel((50, 50)) == (255,) * 3


def test_every_chunk_of_the_picture_is_whole():
    data, at, names = written("png"), 8, []
    while at < len(data):
        size, name = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + size]
        assert struct.unpack(">I", data[at + 8 + size : at + 12 + size])[0] == zlib.crc32(name + body)
        names.append(name)
        at += 12 + size
    assert names == [b"IHDR", b"pHYs", b"iTXt", b"IDAT", b"IEND"]


def test_lines_stand_where_the_sheet_put_them_and_are_as_thick_as_their_pen():
    ink = picture(Stroke(ring((10, 20), (90, 20)), "outline", 0.5), Stroke(ring((50, 5), (50, 15)), "outline", 1.0))
    column, row = ink[:, 300], ink[400]
    assert np.flatnonzero(column > 0.5).mean() == pytest.approx(500 - 200 - 0.5, abs=0.6), "20 mm over the lower edge"
    assert column.sum() == pytest.approx(5, abs=1) and row.sum() == pytest.approx(10, abs=1)
    assert np.flatnonzero(row > 0.5).mean() == pytest.approx(500 - 0.5, abs=0.6)


def test_no_pen_fades_away_at_a_low_resolution():
    ink = picture(Stroke(ring((10, 20.3), (90, 27.1)), "outline", 0.13), dpi=72)
    assert ink[:, 100:180].sum(axis=0) == pytest.approx(1, abs=0.25)


def test_letters_are_as_high_as_their_cap_height_and_as_wide_as_they_were_measured():
    at = Text((10, 20), "HHHHHHHHHH", 10, "note")
    ink = picture(at, size=(140.0, 50.0))
    rows, columns = np.flatnonzero(ink.sum(axis=1) > 1), np.flatnonzero(ink.sum(axis=0) > 1)
    assert len(rows) == pytest.approx(100, abs=2), "10 mm at 10 pixels a millimetre"
    assert rows[-1] == pytest.approx(500 - 200 - 1, abs=1), "on the baseline"
    bearings = 2 * 201 / 1493 * 100  # the letter H keeps 201 of 2048 units free on each side (font table hmtx, glyf)
    assert columns[-1] - columns[0] == pytest.approx(text_width(at.text, 10) * 10 - bearings, abs=3)


@pytest.mark.parametrize(("anchor", "share"), [("left", 0.0), ("centre", 0.5), ("right", 1.0)])
def test_text_hangs_on_its_anchor_upright_and_turned(anchor, share):
    flat = picture(Text((50, 20), "MEMBRANE", 3.5, "note", anchor))
    columns = np.flatnonzero(flat.sum(axis=0) > 0.5)
    width = text_width("MEMBRANE", 3.5) * 10
    bearing = 201 / 1493 * 35  # free on the left of the letter M (font table hmtx)
    assert columns[0] == pytest.approx(500 - share * width + bearing, abs=1.5)
    turned = picture(Text((50, 40), "MEMBRANE", 3.5, "note", anchor, 90.0), size=(100.0, 80.0))
    rows = np.flatnonzero(turned.sum(axis=1) > 0.5)
    assert rows[-1] == pytest.approx(400 + share * width - bearing, abs=1.5), "read from the right"


def test_a_hole_in_an_area_stays_empty():
    hole = Area((box(10, 10, 90, 40), tuple(reversed(box(40, 20, 60, 30)))), "fill", fill="#808080")
    ink = picture(hole)
    assert ink[250, 200] == pytest.approx(0.5, abs=0.01) and ink[250, 500] == 0


# -- widths ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bold", [False, True])
def test_text_is_set_exactly_as_wide_as_the_sheet_measured_it(bold):
    table, _ = advances(bold)
    for letter in table:
        line = Text((0, 0), letter * 3, 2.5, "note", bold=bold)
        assert lettering.width(line) == pytest.approx(text_width(line.text, 2.5, bold)), letter


# -- SVG -------------------------------------------------------------------------------------------------------------


def test_the_svg_is_well_formed_whatever_the_notes_say():
    made = sheet()
    root = ET.fromstring(written("svg"))
    assert root.get("viewBox") == "0 0 420 297" and root.get("width") == "420mm" and root.get("height") == "297mm"
    assert [t.text for t in root.iter(f"{SVG}text")] == words(made)
    assert ODD in words(made)
    assert root.find(f"{SVG}title").text == made.title
    assert "Ferry hall, quay 3" in root.find(f"{SVG}desc").text and "second line" in root.find(f"{SVG}desc").text


def test_text_in_the_svg_keeps_its_measured_length_in_any_font():
    texts = {t.text: t for t in ET.fromstring(written("svg")).iter(f"{SVG}text")}
    for t in flatten(sheet()).texts:
        if t.text.isascii() and t.text.isprintable():
            assert float(texts[t.text].get("textLength")) == pytest.approx(
                text_width(t.text, t.height, t.bold), abs=1e-3
            )
    assert texts["FERRY HALL P1"].get("text-anchor") == "end" and texts["FERRY HALL P1"].get("font-weight") == "bold"


def test_the_svg_draws_every_line_of_the_sheet_once():
    flat = flatten(sheet())
    drawn = sum(p.get("d").count("M") for p in ET.fromstring(written("svg")).iter(f"{SVG}path"))
    assert drawn == sum(len(r.lines) for r in flat.strokes) + sum(len(f.rings) for f in flat.fills)


def test_the_svg_groups_what_it_draws_by_layer():
    names = {g.get("data-layer") for g in ET.fromstring(written("svg")).iter(f"{SVG}g") if g.get("data-layer")}
    assert {"A-DETL-PATT", "A-DETL-MCUT-CONC", "A-ANNO-NOTE", "A-ANNO-TTLB"} <= names


# -- PDF -------------------------------------------------------------------------------------------------------------


def objects(data):
    """The objects of a PDF by their table of places, streams unpacked."""
    table = int(re.search(rb"startxref\n(\d+)\n", data)[1])
    rows = re.match(rb"xref\n0 (\d+)\n((?:\d{10} \d{5} [nf] \n)+)trailer", data[table:])
    places = [int(r[:10]) for r in rows[2].splitlines()]
    assert len(places) == int(rows[1])
    out = {}
    for number, at in enumerate(places[1:], 1):
        found = re.match(rb"%d 0 obj\n(.*?)(?:\nstream\n|\nendobj\n)" % number, data[at:], re.DOTALL)
        head, body = found[1], b""
        if (size := re.search(rb"/Length (\d+)", head)) and b"FlateDecode" in head:
            start = at + found.end()
            body = zlib.decompress(data[start : start + int(size[1])])
            assert data[start + int(size[1]) :].startswith(b"\nendstream\nendobj\n")
        out[number] = (head.decode("ascii"), body)
    return out


def lines_of_text(data):
    """Each line that the page shows, its glyphs mapped back to characters as a search does it."""
    found = objects(data)
    page = next(head for head, _ in found.values() if "/Type /Page " in head)
    maps = {}
    for name, number in re.findall(r"(/\w+) (\d+) 0 R", re.search(r"/Font << (.*?) >>", page)[1]):
        cmap = found[int(re.search(r"/ToUnicode (\d+)", found[int(number)][0])[1])][1].decode()
        pairs = re.findall(r"<(\w{4})> <(\w+)>\n", cmap.split("endcodespacerange")[1])
        maps[name] = {glyph: bytes.fromhex(text).decode("utf-16-be") for glyph, text in pairs}
    content = found[int(re.search(r"/Contents (\d+)", page)[1])][1].decode()
    for font, codes in re.findall(r"(/\w+) [\d.]+ Tf .*? Tm <(\w*)> Tj", content):
        yield "".join(maps[font].get(codes[i : i + 4], "\ufffd") for i in range(0, len(codes), 4))


def test_every_word_of_the_sheet_is_found_in_the_pdf():
    shown = list(lines_of_text(written("pdf")))
    for line in words(sheet()):
        if line != lettering.printable(MISSING):
            assert line in shown
    assert ODD in shown, "signs, Greek and Cyrillic letters too"


def test_letters_that_the_font_does_not_have_become_boxes_in_every_picture():
    odd = blank(Text((10, 10), MISSING, 5, "note"), Text((10, 30), "\ud800", 5, "note", bold=True))
    for format in output.FORMATS:
        assert output.write(odd, format, catalogue=CATALOGUE)
    assert picture(Text((10, 10), "屋", 5, "note")).sum() > 50, "a box, not nothing"


def test_the_pdf_page_is_as_large_as_the_sheet_and_says_what_it_is():
    data = written("pdf")
    everything = "\n".join(head for head, _ in objects(data).values())
    box_ = re.search(r"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", everything)
    assert [float(v) * 25.4 / 72 for v in box_.groups()] == pytest.approx([420, 297], abs=1e-3)
    title = re.search(r"/Title <FEFF(\w+)>", everything)[1]
    assert bytes.fromhex(title).decode("utf-16-be") == sheet().title
    assert b"Date" not in data and b"/ID" not in data


def test_the_fonts_of_the_pdf_are_embedded_and_as_wide_as_they_were_measured():
    found = objects(written("pdf"))
    fonts = [body for head, body in found.values() if "/Length1" in head]
    assert len(fonts) == 2
    for bold, body in enumerate(fonts):
        font = TTFont(io.BytesIO(body))
        assert font["head"].unitsPerEm == 2048 and len(font.getGlyphOrder()) < 120, "only what is used"
        name = "DejaVuSans-Bold" if bold else "DejaVuSans"
        widths = next(head for head, _ in found.values() if "/CIDFontType2" in head and head.count(f"+{name} "))
        listed = [float(w) for w in re.search(r"/W \[0 \[(.*?)\]\]", widths)[1].split()]
        real = [font["hmtx"][g][0] * 1000 / 2048 for g in font.getGlyphOrder()]
        assert listed == pytest.approx(real, abs=0.01)


def test_the_pdf_draws_lines_in_paper_millimetres():
    data = output.write(blank(Stroke(ring((10, 20), (90, 20)), "outline", 0.5)), "pdf", catalogue=CATALOGUE)
    content = next(body for head, body in objects(data).values() if body.startswith(b"2.83")).decode()
    scale = [float(v) for v in content.split(" cm")[0].split()]
    assert scale == pytest.approx([72 / 25.4, 0, 0, 72 / 25.4, 0, 0], rel=1e-6)
    assert "0.5 w 0 0 0 RG\n10 20 m 90 20 l S" in content


# -- repeatable ------------------------------------------------------------------------------------------------------

SCRIPT = """
import hashlib, sys
from output_sheets import sheet
from detailgen import catalogue, output
for units in ("metric", "inch"):
    for format in output.FORMATS:
        data = output.write(sheet(units=units), format, dpi=100, catalogue=catalogue.load())
        print(units, format, hashlib.sha256(data).hexdigest())
assert "matplotlib.pyplot" not in sys.modules
"""


def elsewhere(home, seed, zone, locale, script=SCRIPT, quiet=True):
    """Run a script as on another machine; gives what it printed."""
    hidden = ("XDG_", "MPL", "PYTHONHASHSEED", "LC_", "LANG")
    env = {k: v for k, v in os.environ.items() if not k.startswith(hidden)}
    env |= {"HOME": str(home), "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": locale, "PYTHONDONTWRITEBYTECODE": "1"}
    env["PYTHONPATH"] = os.pathsep.join((str(ROOT), str(ROOT / "tests")))
    run = subprocess.run([sys.executable, "-c", script], env=env, cwd=home, capture_output=True, text=True, timeout=120)
    assert run.returncode == 0, run.stderr
    assert not quiet or run.stderr == "", "no warnings either"
    assert "Warning" not in run.stderr
    return run.stdout


def test_two_machines_write_the_same_bytes_and_leave_nothing_at_home(tmp_path):
    homes = [tmp_path / name for name in ("here", "there")]
    for home in homes:
        home.mkdir()
    here = elsewhere(homes[0], "1", "UTC", "C")
    there = elsewhere(homes[1], "4242", "Asia/Tokyo", "de_DE.UTF-8")
    assert here == there and len(here.splitlines()) == 8
    assert [list(home.rglob("*")) for home in homes] == [[], []], "no caches, no folders"


def test_a_home_that_cannot_be_written_is_no_trouble(tmp_path):
    nowhere = "import os; os.environ['HOME'] = '/nonexistent/home'\n" + SCRIPT
    assert elsewhere(tmp_path, "7", "UTC", "C.UTF-8", nowhere) == elsewhere(tmp_path, "8", "UTC", "C.UTF-8")


def test_a_user_s_own_settings_of_matplotlib_change_no_picture(tmp_path):
    (tmp_path / "matplotlibrc").write_text(
        "lines.antialiased: False\npatch.antialiased: False\npath.sketch: 5, 100, 2\n"
    )
    spoilt = "import matplotlib\nassert matplotlib.rcParams['path.sketch']\n" + SCRIPT
    (tmp_path / "home").mkdir()
    assert elsewhere(tmp_path, "1", "UTC", "C", spoilt) == elsewhere(tmp_path / "home", "1", "UTC", "C")


def test_drawing_changes_no_settings_of_the_process():
    import matplotlib

    before, environment = dict(matplotlib.rcParams), dict(os.environ)
    for format in output.FORMATS:
        written(format)
    assert dict(matplotlib.rcParams) == before and dict(os.environ) == environment


def test_the_resolution_changes_nothing_but_pictures():
    for format in output.FORMATS:
        digests = {hashlib.sha256(written(format, dpi=dpi)).hexdigest() for dpi in (100, 150)}
        assert len(digests) == (2 if format == "png" else 1)


def test_choosing_a_format_is_what_imports_its_library(tmp_path):
    script = "import sys, detailgen.output; print(sorted({'ezdxf', 'matplotlib', 'fontTools'} & set(sys.modules)))"
    assert elsewhere(tmp_path, "1", "UTC", "C", script) == "[]\n"
