"""Drawings that somebody made are measured from the file alone, or refused with the reason."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import ezdxf
import handmade
import pytest
from surveyed import drawn_by_hand, hand_map, map_of, stripped

import detailgen
from detailgen import catalogue
from detailgen.cli import run
from detailgen.errors import InputError
from detailgen.measure import measure
from detailgen.survey import proposal, read_drawing, read_map, survey
from detailgen.survey.guess import guessed
from detailgen.survey.turning import turned_by

SPECS = Path(__file__).parents[1] / "specs"
ROWS = catalogue.load()
NEAR = {"mm": 0.5}  # mm; ratios by a thousandth


def differences(one, other):
    """Measures that differ by more than half a millimetre, or that only one of them has."""

    def apart(m, n):
        if m.value is None or n.value is None:
            return m.value is not n.value
        return abs(m.value - n.value) > NEAR.get(m.unit, 1e-3)

    return [(id, m.value, other[id].value) for id, m in one.items() if apart(m, other[id])]


# ------------------------------------------------------------------------------------------ own files
@pytest.fixture(scope="module")
def halls():
    return {name: detailgen.load(SPECS / f"{name}.toml") for name in ("ferry-hall", "ferry-hall-imperial")}


OWN = [("ferry-hall", id, "full") for id in ("P1", "C1", "R1", "G1", "S2", "D2")]
OWN += [("ferry-hall-imperial", id, "full") for id in ("P3", "C2", "E3", "J1", "W1", "N1")]
OWN += [("ferry-hall", "S2", "portable"), ("ferry-hall-imperial", "C2", "portable")]


@pytest.mark.parametrize(("hall", "id", "profile"), OWN)
def test_a_drawing_gives_back_every_measure_of_its_section(tmp_path, halls, hall, id, profile):
    detail = halls[hall].on_paper(dxf_profile=profile)[id]
    path = tmp_path / f"{id}.dxf"
    path.write_bytes(detail.render("dxf"))
    found = survey(read_drawing(path), None, ROWS)
    assert differences(measure(detail.section()), found.measures) == []
    assert found.section.facts == dict(detail.section().facts)
    [height] = [m for m in found.measures.values() if m.id == "water_line"]
    assert height.value is None or (found.confidence(height) == "sure" and found.entities(height))
    packs = halls[hall].context.packs
    verdicts = {f.rule.id: f.verdict for f in found.findings(packs)}
    told = {f.rule.id: f.verdict for f in detail.findings(packs) if f.verdict in ("holds", "fails") and not f.declared}
    assert {id: v for id, v in told.items() if v != verdicts.get(id)} == {}


@pytest.mark.parametrize(("hall", "id", "profile"), OWN)
def test_also_without_its_extended_data(tmp_path, halls, hall, id, profile):
    detail = halls[hall].on_paper(dxf_profile=profile)[id]
    path = stripped(detail.render("dxf"), tmp_path / f"{id}.dxf")
    with pytest.raises(InputError, match="needs a map"):
        survey(read_drawing(path), None, ROWS)
    found = survey(read_drawing(path), map_of(detail), ROWS)
    assert differences(measure(detail.section()), found.measures) == []
    assert {found.confidence(m) for m in found.measures.values()} <= {"good", "fair"}


@pytest.mark.parametrize("version", ["R2000", "R2013", "R2018"])
def test_every_version_says_what_its_section_is(tmp_path, halls, version):
    detail = halls["ferry-hall"].on_paper(dxf_version=version)["P4"]
    path = tmp_path / "P4.dxf"
    path.write_bytes(detail.render("dxf"))
    assert differences(measure(detail.section()), survey(read_drawing(path), None, ROWS).measures) == []


# ------------------------------------------------------------------------------------------ a foreign hand
def test_a_foreign_drawing_mirrored_in_inches_and_turned_is_measured_rightly(tmp_path):
    section = handmade.parapet()
    path = drawn_by_hand(section, tmp_path / "theirs.dxf")
    found = survey(read_drawing(path), hand_map(), ROWS)
    expected = measure(section)
    assert differences(expected, found.measures) == []
    assert any("turned by 0.50 degrees" in r for r in found.remarks)
    known = {m.id: found.confidence(m) for m in found.measures.values() if m.value is not None}
    assert known["margin_width"] == "poor"  # its gravel is loose lines
    assert known["lap_field"] == "good"
    assert found.entities(found.measures["lap_field"])


@pytest.mark.parametrize("unit", [1.0, 25.4, 10.0])
@pytest.mark.parametrize("mirror", [False, True])
def test_a_foreign_drawing_may_lie_anywhere_in_any_unit(tmp_path, unit, mirror):
    section = handmade.parapet()
    place = (5000 / unit, -3000 / unit)
    path = drawn_by_hand(section, tmp_path / "theirs.dxf", unit=unit, mirror=mirror, turned=0.0, shift=place)
    found = survey(read_drawing(path), hand_map(unit={1.0: "mm", 25.4: "in", 10.0: "cm"}[unit]), ROWS)
    assert differences(measure(section), found.measures) == []
    assert found.remarks == ()


def test_a_lower_flashing_in_a_foreign_drawing_is_seen(tmp_path):
    heights = []
    for top in (570.0, 540.0):
        path = drawn_by_hand(handmade.parapet(top=top), tmp_path / f"{top}.dxf")
        heights.append(survey(read_drawing(path), hand_map(), ROWS).measures["flashing_height"].value)
    assert heights[0] - heights[1] == pytest.approx(30.0, abs=0.5)


def test_what_a_drawing_cannot_say_is_asked_for(tmp_path):
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf", unit=10.0)
    with pytest.raises(InputError, match=r"drawing\.unit.*does not say its unit"):
        survey(read_drawing(path), hand_map(), ROWS)
    layers = {"R-ROOF MEMB": {"material": "gravel"}, "R-FLASH": {"material": "gravel"}}
    given = hand_map(unit="cm").model_copy(update={"layers": {**hand_map().layers, **_meanings(layers)}})
    with pytest.raises(InputError, match="nothing in the drawing is waterproofing"):
        survey(read_drawing(path), given, ROWS)


def _meanings(layers):
    from detailgen.survey.mapping import Meaning

    return {name: Meaning.model_validate(m) for name, m in layers.items()}


def test_areas_that_overlap_are_refused_with_place_and_entities(tmp_path):
    section = handmade.parapet()
    path = drawn_by_hand(section, tmp_path / "theirs.dxf")
    doc = ezdxf.readfile(path)
    box = [(-2, -4), (-20, -4), (-20, 4), (-2, 4)]
    doc.modelspace().add_lwpolyline(box, close=True, dxfattribs={"layer": "A_CONC"})
    doc.saveas(path)
    with pytest.raises(InputError, match=r"areas overlap by \d+ mm2 near .* A_CONC .*entity"):
        survey(read_drawing(path), hand_map(), ROWS)


def test_loose_lines_that_close_nothing_are_named(tmp_path):
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf", loose=())
    doc = ezdxf.readfile(path)
    for e in doc.modelspace().query('*[layer=="L_SOIL"]'):
        doc.modelspace().delete_entity(e)
    doc.modelspace().add_line((0, 0), (1, 1), dxfattribs={"layer": "L_SOIL"})
    doc.saveas(path)
    with pytest.raises(InputError, match=r"layers\.L_SOIL: bounds no area here"):
        survey(read_drawing(path), hand_map(), ROWS)


def test_blocks_are_unfolded_and_holes_are_cut(tmp_path):
    """The whole section in a block that stands at another place; a hatch with an island in it."""
    section = handmade.parapet()
    flat = drawn_by_hand(section, tmp_path / "flat.dxf", turned=0.0)
    doc = ezdxf.readfile(flat)
    block = doc.blocks.new("SECTION-A")
    for e in list(doc.modelspace()):
        doc.modelspace().move_to_layout(e, block)
    doc.modelspace().add_blockref("SECTION-A", (100, 40))
    hatch = doc.modelspace().add_hatch(dxfattribs={"layer": "A_CONC"})
    hatch.paths.add_polyline_path([(140, -9), (200, -9), (200, 3), (140, 3)], is_closed=True, flags=1)
    hatch.paths.add_polyline_path([(150, -5), (160, -5), (160, 0), (150, 0)], is_closed=True, flags=16)
    doc.saveas(tmp_path / "block.dxf")
    found = survey(read_drawing(tmp_path / "block.dxf"), hand_map(), ROWS)
    assert found.measures["flashing_height"].value == pytest.approx(measure(section)["flashing_height"].value, abs=0.1)
    area = sum(a.polygon.area for some in found.areas.values() for a in some if a.handles == (hatch.dxf.handle,))
    assert area == pytest.approx((60 * 12 - 50) * 25.4**2)


def test_plumb_things_tell_by_how_much_a_drawing_is_turned():
    box = ((0.0, 0.0), (100.0, 0.0), (100.0, 400.0), (0.0, 400.0))
    leaning = tuple((x - 0.01 * y, y + 0.01 * x) for x, y in box)
    assert turned_by([leaning]) == pytest.approx(0.573, abs=1e-3)
    assert turned_by([((0.0, 0.0), (900.0, 9.0), (0.0, 20.0))]) is None


# ------------------------------------------------------------------------------------------ a first guess
@pytest.mark.parametrize(
    ("layer", "material"),
    [("A-ROOF-MEMB", "membrane"), ("ABDICHTUNG", "membrane"), ("Daemmung XPS", "xps"), ("A-ANNO-DIMS", None),
     ("isolation", "xps"), ("béton", "concrete"), ("flashing_1", "flashing-sheet"), ("Layer 7", None)],
)  # fmt: skip
def test_layer_names_are_guessed_by_words_of_the_trade(layer, material):
    assert guessed(layer) == material


def test_every_guess_is_a_material_of_the_catalogue():
    from detailgen.survey.known import words

    assert set(words()) <= set(ROWS.materials)


def test_a_proposed_map_can_be_read_and_measures_the_drawing(tmp_path):
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf", loose=())
    text = proposal(read_drawing(path))
    (tmp_path / "map.toml").write_text(text, encoding="utf-8")
    given = read_map(tmp_path / "map.toml", ROWS)
    unknown = {"TEXTS", "M_FACING", "M_BRACKET"}
    assert {n for n, m in given.layers.items() if m.material} == set(hand_map().layers) - unknown
    found = survey(read_drawing(path), given, ROWS)
    assert found.measures["flashing_height"].value == pytest.approx(
        measure(handmade.parapet())["flashing_height"].value, abs=0.1
    )


# ------------------------------------------------------------------------------------------ the command
def test_the_command_measures_and_judges(tmp_path, capsys):
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf")
    layers = "".join(
        f'[layers."{n}"]\n' + "".join(f"{k} = {json.dumps(v)}\n" for k, v in m.model_dump(exclude_unset=True).items())
        for n, m in hand_map().layers.items()
        if m.material
    )
    facts = '[facts]\nkind = "parapet"\nsystem = "inverted"\ncovering = "planted"\nslope = 0.02\naccess = "none"\n'
    chosen = tmp_path / "map.toml"
    chosen.write_text(f'[drawing]\nrules = ["european"]\n{facts}{layers}', encoding="utf-8")
    assert run(["measure", str(path), "--map", str(chosen)]) == 0
    said = capsys.readouterr().out
    assert "flashing height" in said and "eu-flashing-height" in said and "turned by 0.50 degrees" in said
    assert run(["measure", str(path), "--map", str(chosen), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["measures"]["flashing_height"]["confidence"] in ("good", "fair", "poor")
    assert any(f["rule"] == "eu-flashing-height" and f["verdict"] == "holds" for f in told["findings"])
    low = drawn_by_hand(handmade.parapet(top=500.0), tmp_path / "low.dxf")
    assert run(["measure", str(low), "--map", str(chosen)]) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[layers.X]\nmaterial = "membrain"\n', "did you mean 'membrane'"),
        ("[layer.X]\n", "did you mean 'layers'"),
        ('[drawing]\nunit = "yard"\n', "allowed: 'mm'"),
        ('[facts]\nkind = "parapit"\n', "did you mean 'parapet'"),
        ("[facts]\nslopes = 1\n", "did you mean 'slope'"),
        ("[facts]\nopens = 3\n", "must be true or false"),
        ('[layers.X]\nmaterial = "membrane"\nwatertite = true\n', "did you mean 'watertight'"),
    ],
)
def test_a_wrong_map_is_refused_by_key_and_near_miss(tmp_path, text, words, capsys):
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf")
    (tmp_path / "map.toml").write_text(text, encoding="utf-8")
    assert run(["measure", str(path), "--map", str(tmp_path / "map.toml")]) == 2
    assert words in capsys.readouterr().err


def test_a_proposal_is_written_by_a_real_process_and_never_over_a_hand(tmp_path):
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf")
    command = [sys.executable, "-m", "detailgen", "measure", str(path), "--propose", str(tmp_path / "map.toml")]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0
    (tmp_path / "map.toml").write_text("# mine\n", encoding="utf-8")
    again = subprocess.run(command, capture_output=True, text=True, check=False)
    assert again.returncode == 2 and "Traceback" not in again.stderr
    assert (tmp_path / "map.toml").read_text(encoding="utf-8") == "# mine\n"


# ------------------------------------------------------------------------------------------ spoiled and hostile files
def saved(path, draw, units=4):
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = units
    draw(doc)
    doc.saveas(path)
    return path


def refusal(path):
    """What is said about a file, in little time."""
    start = time.monotonic()
    with pytest.raises(InputError) as error:
        survey(read_drawing(path), hand_map(), ROWS)
    assert time.monotonic() - start < 30
    return str(error.value)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9, 0.99])
def test_a_cut_off_file_is_refused_or_measured_as_it_is(tmp_path, share):
    whole = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf").read_bytes()
    (tmp_path / "cut.dxf").write_bytes(whole[: int(len(whole) * share)])
    assert "cut.dxf" in refusal(tmp_path / "cut.dxf")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"\x00\x01\x02" * 100, "is no DXF file"),
        (b"%PDF-1.4 not a drawing", "is no DXF file"),
        (b"  0\nSECTION\n  2\nHEADER\n", "cut off or spoiled"),
        (b"  0\nSECTION\n" + b"nonsense\n" * 50, "cut off or spoiled"),
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path, data, words):
    (tmp_path / "x.dxf").write_bytes(data)
    assert words in refusal(tmp_path / "x.dxf")


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf")
    assert "did you mean 'theirs.dxf'" in refusal(tmp_path / "their.dxf")
    assert "is a folder" in refusal(tmp_path)


def test_too_many_entities_are_refused_before_they_are_read(tmp_path):
    line = b"  0\nLINE\n  8\n0\n 10\n0.0\n 20\n0.0\n 11\n1.0\n 21\n1.0\n"
    head = b"  0\nSECTION\n  2\nENTITIES\n"
    (tmp_path / "many.dxf").write_bytes(head + line * 1_000_000 + b"  0\nENDSEC\n  0\nEOF\n")
    start = time.monotonic()
    assert "entities, more than are read" in refusal(tmp_path / "many.dxf")
    (tmp_path / "large.dxf").write_bytes(head + b"  1\n" + b"x" * 60_000_000)
    assert "is larger than 48 MB" in refusal(tmp_path / "large.dxf")
    assert time.monotonic() - start < 30


def test_blocks_in_blocks_without_end_are_refused(tmp_path):
    def bomb(doc):
        below = None
        for level in range(30):
            block = doc.blocks.new(f"B{level}")
            if below is None:
                block.add_line((0, 0), (1, 1), dxfattribs={"layer": "A_CONC"})
            else:
                for k in range(10):
                    block.add_blockref(below, (k, 0))
            below = f"B{level}"
        doc.modelspace().add_blockref(below, (0, 0))

    assert "blocks nested more than 8 deep" in refusal(saved(tmp_path / "bomb.dxf", bomb))

    def wide(doc):
        block = doc.blocks.new("ONE")
        block.add_line((0, 0), (1, 1))
        grid = {"row_count": 3000, "column_count": 3000}
        doc.modelspace().add_blockref("ONE", (0, 0), dxfattribs=grid)

    assert "more than 60000 entities" in refusal(saved(tmp_path / "wide.dxf", wide))


def test_a_block_that_holds_itself_is_refused(tmp_path):
    def own(doc):
        block = doc.blocks.new("SELF")
        block.add_blockref("SELF", (1, 1))
        block.add_line((0, 0), (1, 1))
        doc.modelspace().add_blockref("SELF", (0, 0))

    assert "hold themselves" in refusal(saved(tmp_path / "self.dxf", own))


@pytest.mark.parametrize("value", ["nan", "inf", "1e300", "-1E99"])
def test_coordinates_that_are_no_places_are_refused(tmp_path, value):
    look = {"layer": "A_CONC"}
    path = saved(tmp_path / "x.dxf", lambda d: d.modelspace().add_line((0, 0), (123.25, 1), dxfattribs=look))
    path.write_text(path.read_text().replace("123.25", value))
    assert "coordinates" in refusal(path) or "cannot be read" in refusal(path)


def test_a_wrong_unit_is_seen_by_its_size_or_measured_as_told(tmp_path):
    """A roof drawn in metres and read in millimetres has no areas that are large enough to be parts."""
    path = drawn_by_hand(handmade.parapet(), tmp_path / "theirs.dxf", unit=1000.0)
    with pytest.raises(InputError):
        survey(read_drawing(path), hand_map(unit="mm"), ROWS)
    found = survey(read_drawing(path), hand_map(unit="m"), ROWS)
    assert differences(measure(handmade.parapet()), found.measures) == []
