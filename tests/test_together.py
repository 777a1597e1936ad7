"""What is made of all variants together: contact sheet, schedule, book, one drawing with all of them.

Read back with general-purpose libraries: the standard library's csv, pypdf, ezdxf, and GDAL through pyogrio.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from shapely.geometry import Polygon, box

from detailgen.batch import Run, Wanted, gathering, kept, read, schedule
from detailgen.batch.gathering import Gathered, gather
from detailgen.batch.results import Result
from detailgen.errors import InputError, Problem
from detailgen.folder import MEMORY, Folder
from detailgen.sheet.gathered import thumbnail
from detailgen.sheet.model import Area
from detailgen.units import INCH, METRIC
from tests.studies_of_edges import ROOF, detailgen, laid

pypdf = pytest.importorskip("pypdf")

STUDY = """
[[vary]]
end = ["face-strip", "under-coping"]

[[row]]
id = "P1-low"
end = "reglet"
height_allowance = "40 mm"

[[row]]
id = "P1-wrong"
end = "glued on"

[[row]]
id = "P1-left"
end = "receiver"

[[skip]]
when = { end = "receiver" }
reason = "no receiver in this wall"
"""
ALL = {"contact": "contact.pdf", "schedule": "schedule.csv", "book": "book.pdf", "set-out": "all.dxf"}
IDS = ["P1-face-strip", "P1-under-coping", "P1-low"]


def made(path: Path, out: Path, wanted: Mapping[str, str] = ALL, **more: Any) -> tuple[Run, list[Gathered]]:
    """One run and what it makes of all variants together."""
    options = more.pop("options", {})
    run = Run(read(path, options), Wanted(out, ("json", "dxf"), options, keep=True, **more))
    for _ in run.go():
        pass
    return run, list(gather(run, run.finish(), wanted))


@pytest.fixture(scope="module")
def edges(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a study of three edges, of one that is wrong and one that is skipped, with all that is made."""
    folder = tmp_path_factory.mktemp("edges")
    _, found = made(laid(folder, STUDY), folder / "out")
    assert [g.state for g in found] == ["written"] * 4
    return folder / "out"


def sidecars(out: Path) -> dict[str, Any]:
    return {id: json.loads((out / f"{id}.json").read_bytes()) for id in IDS}


# ------------------------------------------------------------------------------------------ the schedule
def rows(data: bytes) -> dict[str, dict[str, str]]:
    found = csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    return {row["id"]: row for row in found}


def test_the_schedule_has_the_heights_that_the_sections_have(edges: Path) -> None:
    found, project = rows((edges / "schedule.csv").read_bytes()), read(edges.parent / "edges.toml", {})
    for variant in project.variants[:2] + project.variants[2:3]:
        section = variant.opened({}).section()
        row = found[variant.id]
        for name, number in section.numbers.items():
            heading = name.replace("_", " ") + (f" [{number.unit}]" if number.unit else "")
            assert float(row[heading]) == pytest.approx(number.value, abs=0.0006), name
        for level in section.levels:
            assert float(row[f"level {level.id} [mm]"]) == pytest.approx(level.point[1], abs=0.0006)
        assert row["end"] == variant.values["end"]


def test_the_schedule_counts_the_verdicts_and_says_why_there_is_no_drawing(edges: Path) -> None:
    found = rows((edges / "schedule.csv").read_bytes())
    assert list(found) == [*IDS, "P1-wrong", "P1-left"]
    for id, sidecar in sidecars(edges).items():
        for verdict in ("holds", "fails", "cannot tell"):
            assert int(found[id][verdict]) == sum(f["verdict"] == verdict for f in sidecar["findings"])
    assert "not drawn" in found["P1-wrong"]["remark"] and "glued on" in found["P1-wrong"]["remark"]
    assert found["P1-left"]["remark"] == "skipped: no receiver in this wall"


def test_no_cell_of_the_schedule_is_run_by_a_spreadsheet() -> None:
    """Characters: OWASP, CSV injection (from memory)."""
    for nasty in ("=1+1", "+1", "-2", "@SUM(A1)", "\t=1", "\r=1", " =1", "\n@x"):
        one = Result(nasty, title=nasty, parameters={nasty: nasty, "list": [nasty]}, skipped=nasty, kind=nasty)
        for line in csv.reader(io.StringIO(schedule.as_csv([one], METRIC).decode("utf-8-sig"), newline="")):
            for cell in line:
                assert not cell.lstrip().startswith(("=", "+", "-", "@")) and not cell.startswith(("\t", "\r", "\n"))


def test_a_level_below_the_deck_stays_a_number_and_inches_are_inches() -> None:
    one = Result("A", numbers={"flashing_height": [203.2, "mm"], "slope": [0.02, "ratio"]}, levels={"gutter": -25.4})
    [row] = rows(schedule.as_csv([one], INCH)).values()
    assert (row["flashing height [in]"], row["level gutter [in]"], row["slope [ratio]"]) == ("8", "-1", "0.02")
    assert rows(schedule.as_csv([one], METRIC))["A"]["level gutter [mm]"] == "-25.4"


def test_the_schedule_as_markdown_takes_nothing_of_the_user_for_markup() -> None:
    one = Result("A", title="a | b", parameters={"x|y": "*c* <b>\nd"}, numbers={"flashing_height": [162.0, "mm"]})
    lines = schedule.as_markdown("edges | [x](y)", [one], METRIC).decode().splitlines()
    table = [re.split(r"(?<!\\)\|", line) for line in lines if line.startswith("|")]
    assert len(table) == 3 and len({len(row) for row in table}) == 1
    assert "\\*c\\* \\<b\\> d" in lines[4] and "162 mm" in lines[4] and "\\[x\\](y)" in lines[0]


# ------------------------------------------------------------------------------------------ the book
def test_the_book_has_a_cover_an_index_each_sheet_and_its_findings(edges: Path) -> None:
    book = pypdf.PdfReader(edges / "book.pdf", strict=True)
    cover, index = (book.pages[i].extract_text() for i in (0, 1))
    assert "3 sheets" in cover and "2 more are not drawn" in cover
    assert "Danger of falling" in cover and "licensed professional" in cover and "Hot work" in cover
    assert "no receiver in this wall" in index.replace("\n", " ")
    marks = [m for m in book.outline if not isinstance(m, list)]
    assert [m.title.split()[0] for m in marks] == ["Cover", "Index", *IDS]
    assert [[m.title for m in below] for below in book.outline if isinstance(below, list)] == [["Findings"]] * 3
    for mark in marks[2:]:
        id = mark.title.split()[0]
        page = book.get_destination_page_number(mark)
        assert f" {page + 1} flashing height" in index[index.index(id) :].replace("\n", " ")[:200]
        sidecar = sidecars(edges)[id]
        assert f"{sidecar['numbers']['flashing_height']['value']:.0f} (min. 150)" in book.pages[page].extract_text()
        findings = book.pages[page + 1].extract_text() + book.pages[page + 2].extract_text()
        assert all(f["rule"] in findings for f in sidecar["findings"] if f["verdict"] != "not applicable")
    assert len(book.pages) == book.get_destination_page_number(marks[-1]) + 3


def test_a_sheet_in_the_book_is_the_sheet_of_its_own_file(edges: Path) -> None:
    book = pypdf.PdfReader(edges / "book.pdf", strict=True)
    one = read(edges.parent / "edges.toml", {}).variants[0].opened({})
    alone = pypdf.PdfReader(io.BytesIO(one.render("pdf"))).pages[0]
    assert book.pages[2].extract_text() == alone.extract_text()
    assert book.pages[2].mediabox == alone.mediabox


# ------------------------------------------------------------------------------------------ the contact sheet
def test_the_contact_sheet_names_each_detail_its_heights_and_its_verdict_in_lines_not_pixels(edges: Path) -> None:
    [page] = pypdf.PdfReader(edges / "contact.pdf", strict=True).pages
    text = page.extract_text()
    for id, sidecar in sidecars(edges).items():
        assert id in text and f"{sidecar['summary']['holds']} hold" in text
    assert text.count("flashing height") == text.count("parapet height") == 3
    assert "/XObject" not in page["/Resources"], "a picture would be pixels"


def test_every_thumbnail_stays_in_its_box_and_is_not_blown_up(edges: Path) -> None:
    for id in IDS:
        one = kept.recalled(Folder(edges), id, sidecars(edges)[id]["digest"])
        assert one is not None
        items = thumbnail(one.sheet, (10.0, 20.0, 80.0, 60.0))
        points = [p for i in items for line in (i.rings if isinstance(i, Area) else [i.points]) for p in line]
        xs, ys = zip(*points, strict=True)
        assert min(xs) >= 10 - 1e-6 and max(xs) <= 80 + 1e-6 and min(ys) >= 20 - 1e-6 and max(ys) <= 60 + 1e-6
        assert max(xs) - min(xs) > 69 or max(ys) - min(ys) > 39, "as large as it has room"


def test_many_details_take_several_contact_sheets(edges: Path) -> None:
    assert gathering.names_of("contact", "c.png", 12) == ("c.png",)
    assert gathering.names_of("contact", "c.png", 25) == ("c-1.png", "c-2.png", "c-3.png")
    assert gathering.names_of("contact", "c.pdf", 25) == ("c.pdf",)


# ------------------------------------------------------------------------------------------ all in one drawing
def polygons(path: Path, detail: str = "") -> dict[str, list[Polygon]]:
    """Closed outlines of parts by their id, in the tagged entities of a drawing."""
    out: dict[str, list[Polygon]] = {}
    for line in ezdxf.readfile(path).modelspace().query("LWPOLYLINE"):
        facts = dict(v.partition("=")[::2] for c, v in line.get_xdata("DETAILGEN") if c == 1000)
        if facts.get("role") in ("outline", "shape") and line.closed and facts.get("detail", "") == detail:
            out.setdefault(facts["id"], []).append(Polygon([p[:2] for p in line.get_points()]))
    return out


def test_all_details_stand_side_by_side_in_one_drawing_at_full_size(edges: Path) -> None:
    doc = ezdxf.readfile(edges / "all.dxf")
    audit = doc.audit()
    assert not audit.errors and not audit.fixes
    assert set(IDS) <= {t.dxf.text for t in doc.modelspace().query("TEXT")}
    rooms = []
    for id in IDS:
        alone, here = polygons(edges / f"{id}.dxf"), polygons(edges / "all.dxf", id)
        assert alone.keys() == here.keys() and alone
        shifts = set()
        for part, rings in alone.items():
            for a, b in zip(rings, here[part], strict=True):
                assert b.area == pytest.approx(a.area, abs=1e-3)
                shifts.add(tuple(round(v, 3) + 0.0 for v in (b.bounds[0] - a.bounds[0], b.bounds[1] - a.bounds[1])))
        assert len(shifts) == 1, "moved as one"
        bounds = [p.bounds for rings in here.values() for p in rings]
        rooms.append(box(*(min(b[i] for b in bounds) for i in (0, 1)), *(max(b[i] for b in bounds) for i in (2, 3))))
    assert not any(a.intersects(b) for i, a in enumerate(rooms) for b in rooms[:i])
    lone = {layer.dxf.name for id in IDS for layer in ezdxf.readfile(edges / f"{id}.dxf").layers}
    assert {layer.dxf.name for layer in doc.layers} <= lone, "no layer of its own"


def test_gdal_reads_the_drawing_of_all_details(edges: Path) -> None:
    pyogrio = pytest.importorskip("pyogrio")
    _, _, shapes, (layers, texts) = pyogrio.raw.read(edges / "all.dxf", columns=["Layer", "Text"])
    assert set(IDS) <= {t for t in texts if t}
    single = sum(len(pyogrio.raw.read(edges / f"{id}.dxf")[2]) for id in IDS)
    assert len(shapes) > 0.6 * single and len(set(layers)) > 8, "frames and title blocks are left out, details are not"


# ------------------------------------------------------------------------------------------ made anew, or not
def test_what_is_there_already_is_made_again_from_what_is_remembered_and_is_the_same(edges: Path) -> None:
    before = {name: (edges / name).read_bytes() for name in ALL.values()}
    (edges / "book.pdf").unlink()
    run, found = made(edges.parent / "edges.toml", edges)
    assert [t.id for t in run.tasks] == ["P1-wrong"], "tried again, for it has no drawing"
    assert [g.state for g in found] == ["unchanged", "unchanged", "written", "unchanged"]
    made(edges.parent / "edges.toml", edges, anew=True)
    assert {name: (edges / name).read_bytes() for name in ALL.values()} == before


def test_a_sheet_is_remembered_as_it_is_and_drawn_again_when_its_memory_is_spoilt(edges: Path) -> None:
    variant = read(edges.parent / "edges.toml", {}).variants[0]
    one = kept.recalled(Folder(edges), variant.id, variant.digest({}))
    assert one is not None and one.sheet == variant.opened({}).sheet()
    memory = Folder(edges).kept(variant.id)
    whole = memory.read_bytes()
    for spoilt in (b"", b"no packed file", whole[: len(whole) // 2]):
        memory.write_bytes(spoilt)
        assert kept.recalled(Folder(edges), variant.id, variant.digest({})) is None
    memory.write_bytes(b"")
    run, _ = made(edges.parent / "edges.toml", edges, {"schedule": "schedule.csv"})
    assert [t.id for t in run.tasks] == [variant.id, "P1-wrong"] and memory.read_bytes() == whole


def test_a_book_that_somebody_wrote_in_is_kept_and_named(tmp_path: Path) -> None:
    one = '[[row]]\nid = "A"\nheight_allowance = "{} mm"\n'
    wanted = {"schedule": "schedule.csv", "book": "book.pdf"}
    made(laid(tmp_path, one.format(30)), tmp_path / "out", wanted)
    book = tmp_path / "out" / "book.pdf"
    book.write_bytes(book.read_bytes() + b"% by hand")
    _, found = made(tmp_path / "edges.toml", tmp_path / "out", wanted)
    assert [(g.state, g.edited) for g in found] == [("unchanged", ()), ("unchanged", ("book.pdf",))]
    _, found = made(laid(tmp_path, one.format(50)), tmp_path / "out", wanted)
    assert [g.state for g in found] == ["written", "kept"]
    assert "changed by hand" in found[1].problems[0].message and book.read_bytes().endswith(b"% by hand")
    _, found = made(tmp_path / "edges.toml", tmp_path / "out", wanted, force=True)
    assert [g.state for g in found] == ["unchanged", "written"] and book.read_bytes().endswith(b"%%EOF\n")


def test_a_book_that_is_stopped_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen.output.book import Book

    path, out = laid(tmp_path, '[[row]]\nid = "A"\n'), tmp_path / "out"
    with monkeypatch.context() as patch:
        patch.setattr(Book, "close", lambda self: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            made(path, out, {"book": "book.pdf"})
    assert not (out / "book.pdf").exists() and list((out / MEMORY / "passing").iterdir()) == []
    _, [again] = made(path, out, {"book": "book.pdf"})
    assert again.state == "written"


@pytest.mark.parametrize(
    ("kind", "name", "said"),
    [
        ("book", "book.txt", "must end in .pdf"),
        ("contact", ".pdf", "must end in"),
        ("schedule", "../schedule.csv", "plain file name"),
        ("set-out", "p1-low.dxf", "name of a drawing"),
    ],
)
def test_a_name_that_cannot_be_is_refused_before_anything_is_drawn(kind: str, name: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        gathering.checked({kind: name}, IDS)
    assert isinstance(refused.value.problems[0], Problem) and said in str(refused.value)


def test_a_detail_file_with_a_shared_sheet_gets_them_from_one_command(tmp_path: Path) -> None:
    laid(tmp_path)
    (tmp_path / "roof.toml").write_text(
        ROOF.replace("[buildup", 'units = "in"\n[buildup', 1) + '[[shared_sheet]]\nid = "S1"\ndetails = ["P1", "P2"]\n'
    )
    command = ("batch", "roof.toml", "--format", "svg", "--out", "out", "--jobs", 1, "--contact", "contact.png",
               "--schedule", "schedule.md", "--book", "book.pdf", "--set-out", "all.dxf")  # fmt: skip
    done = detailgen(tmp_path, *command)
    assert done.returncode == 1, "the flashing of European height is too low for nobody else"
    out = tmp_path / "out"
    assert f"wrote {Path('out') / 'book.pdf'}" in done.stderr and (out / "contact.png").read_bytes()[:4] == b"\x89PNG"
    marks = [m.title for m in pypdf.PdfReader(out / "book.pdf").outline if not isinstance(m, list)]
    assert [m.split()[0] for m in marks] == ["Cover", "Index", "P1", "P2", "S1"]
    doc = ezdxf.readfile(out / "all.dxf")
    assert doc.header["$INSUNITS"] == 1 and not doc.audit().errors
    again = detailgen(tmp_path, *command)
    assert "wrote" not in again.stderr and "3 unchanged" in again.stdout
    wrong = detailgen(tmp_path, *command[:-1], "all.dwg")
    assert wrong.returncode == 2 and "--set-out" in wrong.stderr and "must end in .dxf" in wrong.stderr
