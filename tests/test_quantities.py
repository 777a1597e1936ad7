"""Quantities: developed lengths, volumes, seams, pieces, field, plants, against arithmetic of another kind."""

from __future__ import annotations

import csv
import io
import json
import math
import re
import subprocess
import sys
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

import detailgen
from detailgen.errors import InputError
from detailgen.project.quantities import quantities
from detailgen.quantities.field import Plant, plant_figures
from detailgen.report import quantities as report
from detailgen.units import INCH, METRIC

SPECS = Path(__file__).parents[1] / "specs"
TEXT = (SPECS / "ferry-hall.toml").read_text(encoding="utf-8")


@cache
def hall(name="ferry-hall"):
    return detailgen.load(SPECS / f"{name}.toml")


@cache
def whole():
    return quantities(hall())


@cache
def of(id, name="ferry-hall"):
    """Figures of one demo detail, by id."""
    project = hall(name)
    return {f.id: f for f in quantities(project, [project[id]]).figures}


def project_of(tmp_path, text):
    path = tmp_path / "hall.toml"
    path.write_text(text, encoding="utf-8")
    return detailgen.load(path)


# ------------------------------------------------------------------------------------------ developed lengths
@cache
def polylines(id):
    """Closed polylines of each part in the drawing file of a detail, at full size."""
    import ezdxf

    project = hall()
    data = project[id].render("dxf").decode("utf-8")
    found = {}
    for e in ezdxf.read(io.StringIO(data)).modelspace().query("LWPOLYLINE"):
        if e.closed and e.has_xdata("DETAILGEN"):
            facts = dict(v.split("=", 1) for code, v in e.get_xdata("DETAILGEN") if code == 1000 and "=" in v)
            if facts.get("role") in ("outline", "shape"):
                found.setdefault(facts["id"], []).append([(p[0], p[1]) for p in e])
    return found


GIRTHS = [
    ("P1", "membrane"), ("P1", "flashing"), ("P1", "wall-barrier"), ("P1", "coping"), ("P1", "cleat"),
    ("P6", "counterflashing"), ("P6", "underlay"), ("P6", "coping"), ("E1", "edge-metal"), ("E1", "stripping"),
    ("E1", "gutter"), ("E1", "retention-edge"),
]  # fmt: skip


@pytest.mark.parametrize(("id", "part"), GIRTHS)
def test_a_girth_is_what_the_polyline_of_the_drawing_file_encloses_over_its_thickness(id, part):
    """Shoelace area over thickness: neither the kernel's girth nor half the outline."""
    surface = 0.0
    for line in polylines(id)[part]:
        ends = [*line[1:], line[0]]
        surface += abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(line, ends, strict=True))) / 2
    thickness = hall()[id].section()[part].thickness
    assert of(id)[part].girth == pytest.approx(surface / thickness, abs=1.0)


def test_the_developed_width_of_a_coping_is_that_of_a_hand_calculation():
    """P6, aluminium 2 mm: flats along the inner face, then what each bend adds to the middle of the sheet.

    Inner face, outside to roof side: hem 12, fold round the 1.2 mm cleat, kick 12 at 45 degrees, plumb leg; top over
    225 mm at 1:20; plumb leg, kick 12, open fold 4, hem 12. Legs of 100 and 70 mm end at the lowest point of the fold,
    which hangs (fold + 2 t) / sqrt 2 under the edge. A bend by an angle a adds t tan(a / 2) where the sheet lies
    outside it and takes as much where it lies inside.
    """
    t, hem, kick, leg_out, leg_in, cleat, fold = 2.0, 12.0, 12.0, 100.0, 70.0, 1.2, 4.0
    plumb_out = leg_out - (cleat + 2 * t) / math.sqrt(2) - kick / math.sqrt(2)
    plumb_in = leg_in - (fold + 2 * t) / math.sqrt(2) - kick / math.sqrt(2)
    top = 225.0 * math.sqrt(1 + 0.05**2)
    flats = hem + cleat + kick + plumb_out + top + plumb_in + kick + fold + hem
    tilt = math.degrees(math.atan(0.05))
    turns = [90, 90, -45, 90 + tilt, 90 - tilt, -45, 90, 90]
    bends = sum(t * math.tan(math.radians(a) / 2) for a in turns)
    assert of("P6")["coping"].girth == pytest.approx(flats + bends, abs=0.05)
    assert flats + bends == pytest.approx(432.5, abs=0.1)


NAMES = ("ferry-hall", "ferry-hall-imperial")
LAID = [(id, name) for name in NAMES for id in ("P1", "P7", "P11", "C1", "W1", "E2", "B1")]


@pytest.mark.parametrize(("id", "name"), LAID)
def test_the_kernel_and_the_outline_agree_on_every_sheet_and_metal(id, name):
    section = hall(name)[id].section()
    compared = 0
    for figure in of(id, name).values():
        part = section.by_id.get(figure.id)
        if part is not None and part.girth and figure.girth:
            assert figure.girth == pytest.approx(part.girth, abs=1.0), part.id
            compared += 1
    assert compared >= 2


# ------------------------------------------------------------------------------------------ volumes
def test_the_wedge_of_the_topping_is_what_slices_by_hand_add_up_to():
    """P4: 150 mm at the parapet, 2 % down to the drain, shown 873 mm wide; slices of 1 mm."""
    by_hand = sum(150.0 - 0.02 * (x + 0.5) for x in range(873)) / 1e6
    assert of("P4")["topping"].rate == pytest.approx(by_hand, rel=1e-4)
    assert of("P4")["topping"].total == pytest.approx(by_hand * 20, rel=1e-4)


def test_edges_and_field_together_have_the_topping_of_the_whole_wedge():
    """480 m2 from 50 mm at the sump to 150 mm, 5 m away: 48 m3, whatever part of it the edges have."""
    figures = [f for f in whole().figures if f.id == "topping" and f.total]
    behind = (of("P1")["topping"].rate - sum(150.0 - 0.02 * (x + 0.5) for x in range(873)) / 1e6) * 24
    assert sum(f.total for f in figures) == pytest.approx(480 * 0.1 + behind, abs=0.01)


def test_falls_from_four_sides_to_a_point_hold_two_thirds_of_the_rise(tmp_path):
    """Mean depth over a square whose depth grows with the larger of the two distances, summed cell by cell."""
    n = 200
    mean = sum(max(abs(i + 0.5 - n), abs(j + 0.5 - n)) for i in range(2 * n) for j in range(2 * n)) / (2 * n) ** 2 / n
    project = project_of(tmp_path, TEXT.replace("[water]\n", '[water]\nfalls = "square"\n', 1))
    [rate] = [f.rate for f in quantities(project).figures if f.detail == "field planted" and f.id == "topping"]
    assert rate == pytest.approx(0.05 + mean * 0.1, rel=1e-3)


def test_the_field_between_the_edges_is_what_their_strips_leave():
    """Strips as wide as their field sheet in plan: 874 mm of P1, P4, P8 and W1, 905 mm of the four curbs."""
    strips = 0.874 * (24 + 20 + 24 + 20) + 0.905 * 4.8
    [mat] = [f for f in whole().figures if f.detail == "field planted" and f.id == "protection-mat"]
    assert mat.total == pytest.approx(480 - strips, abs=0.2)


# ------------------------------------------------------------------------------------------ sums
def test_every_sum_is_that_over_details_times_lengths():
    lengths = {"P1": 24.0, "P4": 20.0, "P8": 24.0, "C1": 1.2 * 4, "W1": 20.0}
    net = Counter()
    for f in whole().figures:
        if f.group not in ("welds", "pieces", "fasteners") and f.per == "m" and f.detail in lengths:
            assert f.total == pytest.approx(f.rate * lengths[f.detail])
        if f.total:
            net[f.group, f.name, f.material, f.thickness, f.unit] += f.total
    assert len(net) == len(whole().entries) > 40
    for e in whole().entries:
        assert e.net == pytest.approx(net[e.group, e.name, e.material, e.thickness, e.unit])
        assert e.net == pytest.approx(sum(amount for _, amount in e.parts))
        assert e.gross >= e.net


def test_screws_stand_at_both_ends_of_each_stretch():
    """24 m at 200 mm: 120 spaces, 121 screws; four stretches of 1.2 m at 600 mm: three each."""
    assert of("P1")["strip-screw"].total == 121
    assert of("C1")["frame-screw"].total == 12


def test_seams_corner_pieces_and_patches_of_an_abutment_are_counted():
    """W1: 20 m in sheets of 2 m have nine seams, each up the girth, each with a patch of 150 mm; two inside corners."""
    found, girth = of("W1"), 0.576
    assert found["weld-machine"].total == pytest.approx(20.0)
    by_hand = 9 * girth + 2 * 4 * 0.2 + 9 * math.pi * 0.15
    assert found["weld-hand"].total == pytest.approx(by_hand, abs=0.02)
    assert (found["corner-piece-inside"].total, found["round-patch"].total) == (2, 9)
    assert "corner-piece-outside" not in found


def test_a_divider_between_two_roofs_has_two_toes_and_its_corners_turn_both_ways(tmp_path):
    kind = 'kind = "area-divider"\n'
    text = TEXT.replace(kind, f'{kind}quantity = {{ length = "9 m", outside = 1 }}\n', 1)
    project = project_of(tmp_path, text)
    found = {f.id: f for f in quantities(project, [project["J2"]]).figures}
    assert found["weld-machine"].total == pytest.approx(18.0)
    assert (found["corner-piece-inside"].total, found["corner-piece-outside"].total) == (1, 1)
    assert found["round-patch"].total == 8


def test_a_drain_is_counted_piece_by_piece():
    assert {f.total for f in of("R2").values()} == {6}
    assert {"drain-body", "drain-ring", "drain-strainer"} <= set(of("R2"))


def test_an_outlet_of_a_gutter_and_a_scupper_are_counted_without_what_runs_past_them():
    """G6 is cut at the outlet of a gutter, S1 through a scupper: bars, cleats and brackets belong to the edge."""
    assert {"drain-body", "clamping-ring", "strainer"} <= set(of("G6")) and "termination-bar" not in of("G6")
    assert {"scupper-box", "hopper"} <= set(of("S1")) and not {"face-strip", "coping-bracket"} & set(of("S1"))
    assert {f.per for f in of("G6").values()} == {"piece"} and "membrane" in of("G1")


def test_boards_are_listed_by_their_area_too():
    [xps] = [e for e in whole().entries if e.name == "xps"]
    assert xps.face == pytest.approx(xps.net / 0.15) and 440 < xps.face < 480


def test_a_pipe_has_its_sheet_round_it():
    """N1: circumference times girth, three pipes."""
    f = of("N1")["flashing"]
    sleeve = f.rate * 1e6 / f.girth / math.pi
    assert f.total == pytest.approx(3 * f.rate) and 100 < sleeve < 250


def test_what_exists_already_is_not_ordered(tmp_path):
    own = (
        'own_parts = [{ id = "old", material = "xps", role = "insulation", status = "STATUS", polygon = '
        '[["300 mm", "-300 mm"], ["300 mm", "-400 mm"], ["600 mm", "-400 mm"], ["600 mm", "-300 mm"]] }]\n'
    )
    for status, counted in (("new", True), ("existing", False)):
        text = TEXT.replace('id = "P4"\n', f'id = "P4"\n{own.replace("STATUS", status)}', 1)
        project = project_of(tmp_path, text)
        found = {f.id: f for f in quantities(project, [project["P4"]]).figures}
        assert ("old" in found) is counted
    assert not any(m in found for m in ("deck", "parapet", "wall-below")), "structure is another trade's"


def test_seams_of_the_field_are_those_of_rolls_set_out_on_it():
    """Rolls of 1.5 x 20 m with laps of 100 mm on 700 x 1990 m: seams between 500 strips, and across every 19.9 m."""
    [weld] = [f for f in whole().figures if f.detail == "field planted" and f.id == "weld-machine"]
    along, across = (500 - 1) * 1990, (100 - 1) * 700
    assert weld.rate * 700 * 1990 == pytest.approx(along + across, rel=0.01)
    shed = {(f.detail, f.id): f for f in quantities(hall("baggage-shed")).figures}
    assert shed["field bituminous", "weld-machine"].rate == pytest.approx(2 * weld.rate), "two plies"


def test_pedestals_are_counted_and_no_solid_layer():
    """Pavers of 600 mm with 5 mm joints: one pedestal a paver in the field, two rows in the strip of the edge."""
    shed = {(f.detail, f.id): f for f in quantities(hall("baggage-shed")).figures}
    assert shed["field paved", "pedestal"].rate == pytest.approx(1 / 0.605**2)
    assert shed["P4", "pedestal"].rate == pytest.approx(2 / 0.605)
    assert {shed[d, "pedestal"].unit for d in ("field paved", "P4")} == {"pieces"}


# ------------------------------------------------------------------------------------------ plants
@pytest.mark.parametrize("staggered", [True, False])
def test_plants_are_as_many_as_stand_on_the_area_at_their_spacing(staggered):
    """Counted on a field of 40 m x 40 m, plant by plant."""
    from detailgen.quantities.field import Field

    spacing, side, number, row = 0.4, 40.0, 0, 0
    step = spacing * (math.sqrt(3) / 2 if staggered else 1.0)
    while row * step < side:
        offset = spacing / 2 if staggered and row % 2 else 0.0
        number += sum(1 for i in range(200) if offset + i * spacing < side)
        row += 1
    buildup = hall().context.buildups["planted"]
    [figure] = plant_figures(buildup, [Plant("Thrift", 0.5, 400.0, staggered)], Field(side**2, "input"), [])
    assert figure.total == pytest.approx(number / 2, rel=0.02)


def test_spare_plants_are_whole_plants():
    [thrift] = [e for e in whole().entries if e.name == "Sea thrift"]
    assert thrift.gross == math.ceil(thrift.net * 1.05) and thrift.net == int(thrift.net)


# ------------------------------------------------------------------------------------------ what is written
def test_inch_pound_quantities_are_the_same_amounts_in_other_units():
    """Exact: the foot of 1959; a cubic yard is 27 cubic feet."""
    assert report.other(1.0, "m", INCH)[0] == pytest.approx(1 / 0.3048)
    assert report.other(0.3048**2, "m2", INCH) == (pytest.approx(1.0), "ft2")
    assert report.other(27 * 0.3048**3, "m3", INCH) == (pytest.approx(1.0), "yd3")
    assert report.other(0.45359237, "kg", INCH) == (pytest.approx(1.0), "lb")
    assert report.other(1.0, "m2/m", INCH) == (pytest.approx(1 / 0.3048), "ft2/ft")
    assert report.other(2.0, "m3/m2", METRIC) == (2.0, "m3/m2")


def test_every_figure_ends_in_inputs_and_sources():
    for e in whole().entries:
        for _, d in e.why.walk():
            assert d.inputs or d.source != "input" or d.name == "slope", (e.name, d.name)
    said = report.why(report.reasons(whole(), "P1.coping"), METRIC)
    assert "outline / 2 - thickness" in said and "quantity.length" in said and "24 m" in said


def test_a_spreadsheet_runs_nothing_of_a_table(tmp_path):
    text = TEXT.replace('species = "Sea thrift"', "species = \"=HYPERLINK('a';'b')\"", 1)
    rows = list(csv.reader(io.StringIO(report.csv(quantities(project_of(tmp_path, text)), METRIC).decode())))
    assert len({len(r) for r in rows}) == 1
    assert any(c.startswith("'=HYPERLINK") for r in rows for c in r)
    for row in rows:
        for c in row:
            assert not c.startswith(("=", "+", "@")) and (not c.startswith("-") or re.fullmatch(r"-[0-9.e-]+", c)), c


def test_the_command_writes_table_csv_json_and_reasons(tmp_path):
    def run(*options):
        line = [sys.executable, "-m", "detailgen", "quantities", str(SPECS / "ferry-hall-imperial.toml"), *options]
        return subprocess.run(line, capture_output=True, text=True, cwd=tmp_path, timeout=120)

    done = run("--detail", "P1", "--csv", "p1.csv")
    assert done.returncode == 0 and "ft2/ft" in done.stdout and "wrote p1.csv" in done.stderr
    assert "field planted" not in done.stdout, "of one detail only"
    assert (tmp_path / "p1.csv").read_bytes().startswith(b"detail,figure,group")
    document = json.loads(run("--json", "--detail", "P1").stdout)
    [coping] = [f for f in document["figures"] if f["id"] == "coping"]
    assert coping["unit"] == "m2" and coping["total"] == pytest.approx(coping["rate"] * 80 * 0.3048, rel=1e-6)
    wrong = run("--why", "copng")
    assert wrong.returncode == 2 and "did you mean 'coping'" in wrong.stderr and "Traceback" not in wrong.stderr


# ------------------------------------------------------------------------------------------ what is refused
WRONG = [
    ('quantity = { count = 6 }', 'quantity = { length = "6 m" }', "stands singly"),
    ('quantity = { length = "20 m" }', "quantity = { count = 2 }", "no length of the edge"),
    ('quantity = { length = "20 m" }', 'quantity = { length = "-2 m" }', "greater than 0"),
    ('quantity = { length = "20 m" }', 'quantity = { lenght = "2 m" }', "did you mean 'length'"),
    ('cut = "outlet"\n', 'cut = "outlet"\nquantity = { length = "1 m" }\n', "gutter cut at its outlet stands singly"),
    ("share = 0.3", "share = 0.6", "more than 1"),
    ('spacing = "300 mm"', 'spacing = "300 mm"\nbuildup = "plnted"', "did you mean 'planted'"),
    ("[loads]", "[quantities]\nwaste = { sheet-metl = 0.1 }\n\n[loads]", "did you mean 'sheet-metal'"),
    ("[loads]", '[quantities]\nfield = { planed = "480 m2" }\n\n[loads]', "did you mean 'planted'"),
    ('id = "K1"\n', 'id = "K1"\nquantity = { count = 1 }\n', "the detail that it is of"),
    ('id = "F1"\n', 'id = "F1"\nquantity = { length = "1 m" }\n', "not counted by itself"),
]  # fmt: skip


@pytest.mark.parametrize(("was", "now", "said"), WRONG)
def test_a_wrong_quantity_is_named(tmp_path, was, now, said):
    assert was in TEXT
    with pytest.raises(InputError) as caught:
        project_of(tmp_path, TEXT.replace(was, now, 1))
    [problem] = caught.value.problems
    assert said in str(problem) and problem.line > 0


def test_edges_that_cover_more_than_their_field_are_refused(tmp_path):
    project = project_of(tmp_path, TEXT.replace("[loads]", '[quantities]\nfield = { planted = "40 m2" }\n\n[loads]', 1))
    with pytest.raises(InputError, match="the edges alone"):
        quantities(project)


def test_every_detail_that_cannot_be_built_is_named(tmp_path):
    """M2 shows where P1 ends, so it cannot be built either."""
    reglet = 'backing = { kind = "steel-studs" }\ncladding = { kind = "stone" }\nend = "face-strip"'
    text = TEXT.replace(reglet, reglet.replace("face-strip", "reglet"))
    two = re.sub(r'(id = "P2"\n(?:.*\n)*?end = )"[a-z-]+"', r'\1"reglet"', text, count=1)
    with pytest.raises(InputError) as caught:
        quantities(project_of(tmp_path, two))
    assert [re.findall(r"\[detail (\w+)\]", str(p)) for p in caught.value.problems] == [["P1"], ["P2"], ["M2"]]


def test_a_waste_of_the_office_replaces_that_of_the_catalogue(tmp_path):
    project = project_of(tmp_path, TEXT.replace("[loads]", "[quantities]\nwaste = { topping = 0.2 }\n\n[loads]", 1))
    [topping] = [e for e in quantities(project).entries if e.group == "topping"]
    assert topping.gross == pytest.approx(1.2 * topping.net)


def test_lengths_and_plants_redraw_nothing(tmp_path):
    was = hall()["P4"]
    text = TEXT.replace('quantity = { length = "20 m" }', 'quantity = { length = "31 m" }', 1)
    now = project_of(tmp_path, text.replace("share = 0.2", "share = 0.1", 1))["P4"]
    assert now.digest == was.digest
    assert json.loads(now.render("json"))["parameters"] == json.loads(was.render("json"))["parameters"]


def test_an_id_that_is_no_text_is_said_beside_what_is_counted(tmp_path):
    from pathlib import Path

    text = (Path(__file__).parents[1] / "specs" / "baggage-shed.toml").read_text(encoding="utf-8")
    path = tmp_path / "shed.toml"
    path.write_text(text.replace('id = "P1"', 'id = ["P1"]', 1), encoding="utf-8")
    with pytest.raises(InputError, match="must be a text in quotes"):
        detailgen.load(path)
