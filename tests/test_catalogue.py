"""The catalogue: every row says where it comes from, every name leads somewhere, inch products are inch products."""

from __future__ import annotations

import dataclasses
import json
import math
import pickle
import re
import tomllib
from pathlib import Path

import pytest
from ezdxf.tools.pattern import load as stock_patterns
from ezdxf.tools.standards import linetypes as stock_linetypes

from detailgen import catalogue
from detailgen.catalogue import SPECIAL_HATCHES, Catalogue, Material, load, text_width
from detailgen.catalogue.reading import read_toml
from detailgen.catalogue.widths import advances
from detailgen.errors import InputError

HERE = Path(catalogue.__file__).parent
ALL = load()
MATERIALS = sorted(ALL.materials)
STANDARDS = ("ncs", "iso13567")

# Sheet metal and membranes that are sold by gauge, ounce or mil, in inches.
# Galvanised sheet 24, 22, 20, 18, 16 ga and stainless 28, 24 (0.025), 22 ga: UFC 3-110-03 (2006), UFGS 07600 table I,
# the rest from memory of the manufacturers' standard gauge. Steel deck 22, 20, 18 ga and framing 43, 54, 68 mil: design
# thickness, from memory. Copper 16, 20, 24 oz and aluminium 0.032 … 0.080: the same federal tables, the rest from
# memory. Zinc: common practice, no source.
GAUGES = {
    "galvanised-steel": (0.0239, 0.0299, 0.0359, 0.0478, 0.0598),
    "stainless-steel": (0.015, 0.025, 0.031),
    "light-gauge-steel": (0.0451, 0.0566, 0.0713),
    "steel-deck": (0.0295, 0.0358, 0.0474),
    "aluminium": (0.032, 0.040, 0.050, 0.063, 0.080),
    "copper": (0.0216, 0.0270, 0.0323),
    "zinc": (0.027, 0.032, 0.039),
}
# Membranes and films: whole mils (thousandths of an inch), common practice, no source.
MILS = (6, 10, 20, 24, 30, 40, 60, 72, 80, 90, 120, 160)

# Names that drawing programs bring along, as a general-purpose library lists them: a file that uses one gets the
# reader's own lines instead.
STOCK_NAMES = {name.casefold() for name in stock_patterns()}
PLAIN_LINETYPES = {"Continuous", "DASHED", "HIDDEN", "CENTER", "DASHDOT"}
STOCK_LINETYPES = {name.upper() for name, *_ in stock_linetypes()} - {n.upper() for n in PLAIN_LINETYPES}
GRAMMAR = """
xps cellular-glass vapour-tight root-resistant plasticised polystyrene bituminous root-barrier water-shedding tapered
drainage filter growing plants paver pedestal ballast
"""
LAYER_KEYS = "stone cladding framing gasket barrier membrane flashing.memb dim note ttlb hatch struct.conc"


# ------------------------------------------------------------------------------------------ materials
@pytest.mark.parametrize("key", MATERIALS)
def test_every_material_says_where_its_numbers_come_from(key: str) -> None:
    source = ALL.material(key).source
    assert len(source) > 15
    assert any(w in source for w in ("seen", "from memory", "common practice, no source", "as ", "computed"))


@pytest.mark.parametrize("key", MATERIALS)
def test_every_material_row_is_complete(key: str) -> None:
    m = ALL.material(key)
    assert m.name and m.trade and m.na and m.eu
    assert m.density > 0 and m.density_saturated >= m.density
    assert m.conductivity > 0 and m.vapour_resistance >= 1
    if m.form != "coat":
        assert m.metric and m.inch, "usual thicknesses in both systems"


@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("key", MATERIALS)
def test_every_material_has_a_layer_in_both_standards(key: str, standard: str) -> None:
    assert ALL.material(key).layer in ALL.layers(standard)


@pytest.mark.parametrize("key", MATERIALS)
def test_every_hatch_of_a_material_exists(key: str) -> None:
    hatch = ALL.material(key).hatch
    assert hatch in ALL.patterns or hatch in (*SPECIAL_HATCHES, "")


@pytest.mark.parametrize("key", MATERIALS)
def test_inch_thicknesses_are_real_products_and_no_conversions(key: str) -> None:
    m = ALL.material(key)
    for inch in m.inch:
        sixteenths = inch * 16
        whole = abs(sixteenths - round(sixteenths)) < 1e-9
        mil = m.form == "sheet" and any(math.isclose(inch, t / 1000) for t in MILS)
        gauge = inch in GAUGES.get(key, ())
        assert whole or mil or gauge, f"{inch} in is neither a 1/16 nor a listed gauge or mil"


def test_the_check_of_inch_products_catches_a_converted_thickness() -> None:
    assert abs(5.91 * 16 - round(5.91 * 16)) > 1e-9 and round(5.91 * 1000) not in MILS


@pytest.mark.parametrize("key", MATERIALS)
def test_notes_are_worded_as_each_side_of_the_ocean_does(key: str) -> None:
    m = ALL.material(key)
    assert m.na.replace("{t}", "") == m.na.replace("{t}", "").upper()
    assert m.eu[0].isupper() and m.eu[1:].replace("{t}", "") != m.eu[1:].replace("{t}", "").upper()
    for note in (m.na, m.eu):
        assert note.isascii() and not note.endswith(".") and note == note.strip()
        assert not {"a", "an", "the"} & set(note.lower().split()[:1])
    assert ("{t}" in m.na) == ("{t}" in m.eu) or m.key in ("water-shedding-layer",)


def test_american_notes_are_spelt_and_worded_the_american_way() -> None:
    british = "VAPOUR ALUMINIUM LEVELL GALVANISED TIMBER GREY COLOUR RENDER SCREED ROOFLIGHT KERB PLASTERBOARD METRE"
    for row in (*ALL.materials.values(), *ALL.items.values(), *ALL.cautions.values()):
        assert not [w for w in british.split() if w in row.na], row.na


# Values read on public pages: extracts of prEN 12524 and EN ISO 10077-2, CIBSE Guide A table 3.36.
@pytest.mark.parametrize(
    ("key", "conductivity", "density"),
    [
        ("galvanised-steel", 50, 7800),
        ("stainless-steel", 17, 7900),
        ("aluminium", 160, 2800),
        ("copper", 380, 8900),
        ("membrane-thermoplastic", 0.17, 1390),
        ("timber", 0.13, 500),
    ],
)
def test_values_seen_in_published_tables(key: str, conductivity: float, density: float) -> None:
    m = ALL.material(key)
    assert (m.conductivity, m.density) == (conductivity, density)


def test_unit_weights_lie_in_the_ranges_of_the_load_standard() -> None:
    # EN 1991-1-1 annex A, from memory, kN/m3; reinforced concrete 25 seen second hand
    ranges = {
        "concrete": (24, 25),
        "topping": (19, 23),
        "gravel": (15, 20),
        "aluminium": (27, 28),
        "copper": (87, 89),
        "zinc": (70, 72),
        "timber": (4.2, 5),
        "concrete-paver": (23, 24),
        "stone-paver": (26, 28),
    }
    for key, (low, high) in ranges.items():
        weight = ALL.material(key).density * 9.80665 / 1000
        assert low * 0.97 <= weight <= high * 1.03, (key, weight)


def test_the_build_up_grammar_finds_its_words() -> None:
    tagged = {t for m in ALL.materials.values() for t in m.tags}
    assert tagged >= set(GRAMMAR.split())
    assert "vapour-tight" not in ALL.material("drainage-mat").tags, "what lies on extruded foam must breathe"


def test_default_sheet_and_boards_are_those_of_the_recipes() -> None:
    first = [ALL.material(k) for k in ("membrane", "protection-mat", "drainage-mat")]
    usual = {m.key: (m.metric[0], m.inch[0]) for m in first}
    assert usual == {"membrane": (2, 0.08), "protection-mat": (5, 3 / 16), "drainage-mat": (12, 0.5)}
    assert ALL.material("membrane").usual("inch")[0] == pytest.approx(2.032)


# ------------------------------------------------------------------------------------------ patterns, layers, sheets
@pytest.mark.parametrize("name", sorted(ALL.patterns))
def test_continuous_hatch_lines_keep_the_clear_space(name: str) -> None:
    # EN ISO 128 asks for 0.7 mm clear between hatch lines, seen in a national summary
    lines: dict[float, list[tuple[float, float]]] = {}
    for angle, x, y, _, spacing, *dashes in ALL.pattern(name).families:
        if not dashes:
            a = math.radians(angle)
            lines.setdefault(angle % 180, []).append((y * math.cos(a) - x * math.sin(a), spacing))
    for family in lines.values():
        for k, (offset, spacing) in enumerate(family):
            assert spacing >= 0.7
            for other, _ in family[k + 1 :]:
                apart = (other - offset) % spacing
                assert min(apart, spacing - apart) >= 0.7 - 1e-6


@pytest.mark.parametrize("name", sorted(ALL.patterns))
def test_hatch_dashes_repeat_and_dots_are_real_dashes(name: str) -> None:
    for family in ALL.pattern(name).families:
        dashes = family[5:]
        assert len(dashes) % 2 == 0
        assert all(d >= 0.2 for d in dashes[::2]) and all(g < 0 for g in dashes[1::2])


def test_closed_pebbles_close() -> None:
    """A tile drawing turned into families: each pebble's six edges start where the last one ended."""
    families = ALL.pattern("pebbles-even").families
    for k in range(0, len(families), 6):
        edges = families[k : k + 6]
        for (angle, x, y, _, _, length, _), (_, x2, y2, *_) in zip(edges, edges[1:] + edges[:1], strict=True):
            a = math.radians(angle)
            assert math.hypot(x + length * math.cos(a) - x2, y + length * math.sin(a) - y2) < 2e-4


def test_no_pattern_and_no_line_type_bears_a_stock_name() -> None:
    assert not {n.lower() for n in ALL.patterns} & STOCK_NAMES
    own = set(ALL.linetypes) - PLAIN_LINETYPES
    assert own and not {n.upper() for n in own} & STOCK_LINETYPES


def test_both_layer_standards_have_the_same_keys_and_unique_names() -> None:
    ncs, iso = (ALL.layers(s) for s in STANDARDS)
    assert list(ncs) == list(iso)
    for table in (ncs, iso):
        assert len({row.name for row in table.values()}) == len(table)
        assert all(row.linetype in ALL.linetypes and 1 <= row.aci <= 255 for row in table.values())
    assert set(LAYER_KEYS.split()) <= set(ncs)


def test_layer_names_have_the_form_of_their_standard() -> None:
    # NCS v5: discipline, then groups of 4 joined by hyphens. ISO 13567-2:2017: 20 fixed places, then user text.
    for row in ALL.layers("ncs").values():
        discipline, *groups = row.name.split("-")
        assert discipline == "A" and all(len(g) == 4 and g.isupper() for g in groups)
    for row in ALL.layers("iso13567").values():
        fixed, _, text = row.name.partition("_")
        assert len(fixed) == 20 and text.isupper()
    for row in (*ALL.layers("ncs").values(), *ALL.layers("iso13567").values()):
        assert not set(row.name) & set('<>/\\":;?*|,=`')


def test_pens_belong_to_the_standard_series() -> None:
    # ISO 128-2:2020 widths, from memory; all are valid DXF line weights in hundredths of a millimetre
    for standard in STANDARDS:
        assert {row.weight for row in ALL.layers(standard).values()} <= {0.13, 0.18, 0.25, 0.35, 0.5, 0.7}


def test_sheets_have_the_sizes_of_their_standards() -> None:
    # ISO 216:2007; ASME Y14.1 and the architectural series in inches
    for name, size in {"A4": (210, 297), "A3": (420, 297), "A2": (594, 420), "A1": (841, 594)}.items():
        s = ALL.sheet_size(name)
        assert (s.width, s.height) == size
    inches = {"ANSI-A": (8.5, 11), "ANSI-B": (17, 11), "ANSI-C": (22, 17), "ANSI-D": (34, 22)}
    inches |= {"ARCH-A": (12, 9), "ARCH-B": (18, 12), "ARCH-C": (24, 18), "ARCH-D": (36, 24)}
    for name, (w, h) in inches.items():
        s = ALL.sheet_size(name)
        assert (s.width / 25.4, s.height / 25.4) == (pytest.approx(w), pytest.approx(h))
    x0, y0, x1, y1 = ALL.sheet_size("A3").usable
    assert (x1 - x0, y1 - y0) == (390, 277)  # ISO 5457:1999, from memory


def test_scale_names_say_what_the_scale_is() -> None:
    for name, scale in ALL.scales.items():
        if scale.system == "metric":
            assert scale.k == float(name.removeprefix("1:"))
        elif name != "FULL SIZE":
            numerator = name.split('"')[0]
            inches = sum(float(a) / float(b or 1) for a, _, b in (p.partition("/") for p in numerator.split()))
            assert scale.k == pytest.approx(12 / inches)


def test_the_usual_cautions_are_there_in_both_wordings() -> None:
    assert {"falls", "skylight", "hot-work", "deck-load", "ponding", "disclaimer"} <= set(ALL.cautions)
    for c in ALL.cautions.values():
        assert c.na == c.na.upper() and c.eu[0].isupper() and c.source
    assert {k for k, c in ALL.cautions.items() if c.always} >= {"disclaimer", "falls", "deck-load"}
    assert "FALL THROUGH" in ALL.caution("skylight").na
    assert "LICENSED PROFESSIONAL" in ALL.caution("disclaimer").na


@pytest.mark.parametrize("key", sorted(ALL.items))
def test_every_item_is_made_of_something_and_has_a_layer(key: str) -> None:
    item = ALL.item(key)
    assert item.material in ALL.materials
    assert item.layer in ALL.layers("ncs")
    assert item.hatch in ALL.patterns or item.hatch in (*SPECIAL_HATCHES, "")
    assert item.named_by == "" or ALL.item(item.named_by) is not item


@pytest.mark.parametrize("key", sorted(ALL.items))
def test_notes_of_items_quote_the_same_sizes_in_both_wordings(key: str) -> None:
    item = ALL.item(key)
    quoted = [sorted(re.findall(r"\{(\w+)", note)) for note in (item.na, item.eu)]
    assert quoted[0] == quoted[1]
    words = re.sub(r"\{[^}]*\}", "", item.na).replace(" x ", " × ")
    assert words == words.upper() and item.eu[0].isupper()
    ends_short = item.na.endswith((" O.C.", " MIN.", " MAX."))
    assert (ends_short or not item.na.endswith(".")) and not item.eu.endswith(".")


# ------------------------------------------------------------------------------------------ names and office files
@pytest.mark.parametrize(
    ("look_up", "wrong", "near"),
    [
        (Catalogue.material, "extruded-poly", ""),
        (Catalogue.material, "protection-mta", "protection-mat"),
        (Catalogue.item, "gravle", "gravel"),
        (Catalogue.pattern, "pebble", "pebbles"),
        (Catalogue.layers, "iso13576", "iso13567"),
        (Catalogue.sheet_size, "A33", "A3"),
        (Catalogue.caution, "skylights", "skylight"),
        (Catalogue.linetype, "DASHDOTT", "DASHDOT"),
        (Catalogue.scale, "1:05", "1:5"),
    ],
)
def test_unknown_names_suggest_near_ones(look_up: object, wrong: str, near: str) -> None:
    with pytest.raises(InputError) as e:
        look_up(ALL, wrong)  # type: ignore[operator]
    (problem,) = e.value.problems
    assert problem.value == repr(wrong)
    if near:
        assert problem.hint == f"did you mean '{near}'?"
    else:
        assert "known are" in problem.message


def test_a_wrong_name_can_be_reported_at_its_place_in_the_users_file() -> None:
    problem = ALL.unknown("material", "xsp", file="roof.toml", key="buildup.field.layers[2].material")
    assert problem is not None
    assert str(problem).startswith("roof.toml: buildup.field.layers[2].material = 'xsp': ")
    assert ALL.unknown("material", "xps") is None


def test_a_material_stands_in_for_an_item_of_the_same_key() -> None:
    item = ALL.item("xps")
    assert (item.material, item.layer, item.hatch) == ("xps", "insulation", "rigid-insulation")


def office(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "office.toml"
    path.write_text(text, encoding="utf-8")
    return path


CORK = """
[materials.cork]
name = "expanded cork"
form = "board"
role = "insulation"
layer = "insulation"
hatch = "mineral-board"
density = 120
conductivity = 0.042
vapour_resistance = 10
metric = [100]
trade = "roofing"
na = "RIGID INSULATION, EXPANDED CORK, {t}"
eu = "Rigid insulation, expanded cork, {t}"
source = "common practice, no source"
"""


def test_an_office_adds_a_material_and_an_item_made_of_it(tmp_path: Path) -> None:
    more = """
[items.cork-strip]
material = "cork"
role = "insulation"
layer = "insulation"
trade = "roofing"
na = "CORK STRIP"
eu = "Cork strip"
"""
    c = load((office(tmp_path, CORK + more),))
    assert c.material("cork").density_saturated == 120
    assert c.item("cork-strip").hatch == "mineral-board"
    assert "cork" not in load().materials, "the catalogue itself stays as it is"


def test_an_office_rewords_a_note_and_keeps_the_rest(tmp_path: Path) -> None:
    path = office(tmp_path, '[materials.xps]\nna = "XPS BOARD, {t}"\n[standards.ncs.membrane]\nname = "A-ROOF-MEMB"\n')
    c = load((path,))
    assert c.material("xps") == dataclasses.replace(ALL.material("xps"), na="XPS BOARD, {t}")
    assert c.layers("ncs")["membrane"].name == "A-ROOF-MEMB"
    assert c.layers("iso13567") == ALL.layers("iso13567")


def test_a_later_office_file_wins(tmp_path: Path) -> None:
    first = office(tmp_path, '[materials.xps]\neu = "Erste"\n')
    second = tmp_path / "second.toml"
    second.write_text('[materials.xps]\neu = "Zweite"\n', encoding="utf-8")
    assert load((first, second)).material("xps").eu == "Zweite"


ITEM = '[items.x]\nrole = "board"\nlayer = "board"\ntrade = "t"\nna = "X"\neu = "X"\n'


@pytest.mark.parametrize(
    ("text", "key", "says"),
    [
        (CORK + "colour = 3\n", "materials.cork.colour", "unknown key"),
        ("[materials.xps]\nconductivty = 0.03\n", "materials.xps.conductivty", "did you mean 'conductivity'?"),
        ('[materials.xps]\ndensity = "35"\n', "materials.xps.density", "must be a number"),
        ("[materials.xps]\ndensity = nan\n", "materials.xps.density", "must be a number"),
        ("[materials.xps]\ndensity = true\n", "materials.xps.density", "must be a number"),
        ("[materials.xps]\ndensity = -35\n", "materials.xps.density", "0 … 30000"),
        ("[materials.xps]\nconductivity = 0\n", "materials.xps.conductivity", "0 … 1000"),
        ("[materials.xps]\nmetric = [50, -5]\n", "materials.xps.metric", "0 … 5000 mm"),
        ("[materials.xps]\nmetric = 50\n", "materials.xps.metric", "must be a list"),
        ('[materials.xps]\nform = "borad"\n', "materials.xps.form", "did you mean 'board'?"),
        ('[materials.xps]\nlayer = "insulaton"\n', "materials.xps.layer", "did you mean 'insulation'?"),
        ('[materials.xps]\nhatch = "rigid"\n', "materials.xps.hatch", "no hatch of that name"),
        ('[materials.xps]\nna = "Board"\n', "materials.xps.na", "must be in capitals"),
        ("[materials.xps]\neu = \"Board {\"\n", "materials.xps.eu", "braces do not close"),
        ("[items.coping]\neu = \"Cap {t.real}\"\n", "items.coping.eu", "one plain name"),
        ("[materials]\nxps = 3\n", "materials.xps", "must be a table"),
        ("materials = 3\n", "materials", "must be a table of rows"),
        ("[material.xps]\ndensity = 30\n", "material", "did you mean 'materials'?"),
        ('[materials.cork]\nname = "cork"\n', "materials.cork", "must also give form, role"),
        ("[standards.ncs.membrane]\naci = 7.5\n", "standards.ncs.membrane.aci", "whole number"),
        ('[standards.ncs.membrane]\nlinetype = "DOTS"\n', "standards.ncs.membrane.linetype", "no line type"),
        ('[patterns.net]\nnote = "n"\nfamilies = [[45, 0, 0, 0, 0]]\n', "patterns.net.families", "spacing > 0"),
        (ITEM + 'material = "xsp"\n', "items.x.material", "did you mean 'xps'?"),
        (ITEM + 'material = "xps"\nnamed_by = "copping"\n', "items.x.named_by", "did you mean 'coping'?"),
    ],
)
def test_a_wrong_office_file_gives_one_clear_message(tmp_path: Path, text: str, key: str, says: str) -> None:
    path = office(tmp_path, text)
    with pytest.raises(InputError) as e:
        load((path,))
    (problem,) = e.value.problems
    assert problem.file == str(path)
    assert problem.key == key
    assert says in str(problem)


def test_everything_wrong_in_an_office_file_is_said_at_once(tmp_path: Path) -> None:
    path = office(tmp_path, '[materials.xps]\ndensity = "x"\nfrom = 1\n[materials.eps]\nrole = "none"\n')
    with pytest.raises(InputError) as e:
        load((path,))
    assert [p.key for p in e.value.problems] == ["materials.xps.density", "materials.xps.from", "materials.eps.role"]


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"\xff\xfe\x00b", "UTF-8"), (b"[materials", "is not TOML"), (b"a = " + b"[" * 5000, "is not TOML")],
)
def test_an_office_file_that_is_no_toml_is_refused(tmp_path: Path, content: bytes, says: str) -> None:
    path = tmp_path / "office.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=says):
        load((path,))


def test_a_missing_office_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(InputError, match="cannot be read"):
            load((path,))


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "office.toml"
    path.write_bytes(b"\xef\xbb\xbf[materials.xps]\ndensity = 33\n")
    assert load((path,)).material("xps").density == 33


def test_the_catalogue_is_read_once_and_travels_to_other_processes() -> None:
    assert load() is load()
    assert pickle.loads(pickle.dumps(load())) == load()


@pytest.mark.parametrize("path", sorted(HERE.rglob("*.toml")), ids=lambda p: p.name)
def test_every_file_of_the_catalogue_opens_by_saying_what_it_is(path: Path) -> None:
    assert path.read_text(encoding="utf-8").startswith("# ")
    read_toml(path)


def test_materials_are_frozen() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        ALL.material("xps").density = 1  # type: ignore[misc]
    assert dataclasses.fields(Material)[0].name == "key"


# ------------------------------------------------------------------------------------------ widths of text
@pytest.mark.parametrize(("bold", "file"), [(False, "DejaVuSans.ttf"), (True, "DejaVuSans-Bold.ttf")])
def test_text_widths_are_those_of_the_font(bold: bool, file: str) -> None:
    ttlib = pytest.importorskip("fontTools.ttLib")
    matplotlib = pytest.importorskip("matplotlib")
    font = ttlib.TTFont(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / file)
    glyphs, metrics, cap = font.getBestCmap(), font["hmtx"], font["glyf"]["H"].yMax
    table, _ = advances(bold)
    assert len(table) > 250
    for c, width in table.items():
        assert width == pytest.approx(metrics[glyphs[ord(c)]][0] / cap, abs=1e-6), c
    line = 'RIGID INSULATION, 2" × 1½° ±0.15'
    expected = 2.5 * sum(metrics[glyphs[ord(c)]][0] for c in line) / cap
    assert text_width(line, 2.5, bold) == pytest.approx(expected, abs=1e-6)


def test_text_width_agrees_with_the_picture_back_end() -> None:
    textpath = pytest.importorskip("matplotlib.textpath")
    from matplotlib.font_manager import FontProperties

    face = FontProperties(family="DejaVu Sans")
    to_path = textpath.TextPath((0, 0), "H", size=100, prop=face)
    cap = to_path.get_extents().height
    text = "HHHHHHHHHH"  # no kerning pairs, side bearings small beside ten letters
    ink = textpath.TextPath((0, 0), text, size=100, prop=face).get_extents()
    bearing = 2 * to_path.get_extents().x0
    assert text_width(text, cap) == pytest.approx(ink.width + bearing, rel=2e-3)


def test_every_character_that_the_project_prints_has_a_width() -> None:
    table, _ = advances()
    printed = "".join(chr(c) for c in range(32, 127)) + "×±°Ø½–—²³·≥≤µλ" + "".join(chr(c) for c in range(0xC0, 0x100))
    rows = (*ALL.materials.values(), *ALL.items.values(), *ALL.cautions.values())
    words = [w for row in rows for w in (row.na, row.eu)]
    for c in printed + "".join(words):
        assert c in table and c in advances(bold=True)[0], json.dumps(c)


def test_an_unknown_character_takes_the_stated_default() -> None:
    default = tomllib.loads((HERE / "advances.toml").read_text(encoding="utf-8"))["regular"]
    assert text_width("\u4e00", 2.0) == pytest.approx(2.0 * default["default"] / default["cap"])
    assert text_width("", 2.5) == 0
