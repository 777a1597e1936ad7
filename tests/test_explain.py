"""Every number of every detail can be explained, down to keys of the detail file, rows of the catalogue and sources."""

from __future__ import annotations

import functools
import json
import re
from pathlib import Path

import pytest

import detailgen as dg
from detailgen.catalogue.origins import _origins, origin_of
from detailgen.catalogue.practice import practice
from detailgen.cli import run
from detailgen.conditions import CONDITIONS
from detailgen.project import Detail
from detailgen.report.explanation import Explained, document, leaves, stuff, text
from detailgen.units import INCH, METRIC
from tests.details import read, tables

TOP = Path(__file__).resolve().parents[1]
SPECS = ("ferry-hall", "ferry-hall-imperial", "baggage-shed")


@functools.cache
def project(name: str) -> dg.Project:
    return dg.load(TOP / "specs" / f"{name}.toml")


def explained(d: Detail) -> Explained:
    return Explained(d.section(), d.measures(), d.findings(), d.project.context.catalogue.materials)


DETAILS = [(spec, id) for spec in SPECS for id in project(spec).details]
# Heights and sizes that the file gives instead of leaving them to the program: the other ends of the same trees.
GIVEN = [
    ("parapet", {"height": {"above_deck": "620 mm"}, "backing": {"kind": "concrete"}}),
    ("parapet", {"height": {"above_finish": "200 mm"}, "backing": {"kind": "concrete"}}),
    ("parapet", {"end": "receiver", "backing": {"kind": "steel-studs"}, "cladding": {"kind": "stone"}}),
    ("fire-break", {"width": "1200 mm"}),
    ("movement-joint", {"gap": "40 mm"}),
    ("drain-pair", {"overflow_rise": "60 mm"}),
]


def unexplained(e: Explained) -> list[str]:
    """Names whose answer ends nowhere, and ends that are no key, no row and no source."""
    out = []
    for name in e.names():
        ends = list(leaves(e, name))
        out += [f"{name}: {n.name}" for n in ends if n.source == "input" and not origin_of(n.name)]
        out += [f"{name}: {n.name} has no source" for n in ends if not n.source]
        by_rule = e.limit(name) is not None
        if not ends and not by_rule and not stuff(e, name):
            out.append(f"{name}: nothing is behind it")
    return out


@pytest.mark.parametrize(("spec", "id"), DETAILS)
def test_every_number_of_a_detail_goes_down_to_inputs_and_sources(spec: str, id: str) -> None:
    e = explained(project(spec)[id])
    assert unexplained(e) == []


@pytest.mark.parametrize(("kind", "more"), GIVEN)
def test_a_number_that_the_file_gives_names_its_key(kind: str, more: dict) -> None:
    made = tables("mm", {"id": "X", "kind": kind, **more})
    if kind == "drain-pair":
        del made["detail"][0]["distance_to_drain"]  # it is measured from there
    made = read(made)["X"]
    assert unexplained(explained(made)) == []


def test_all_kinds_are_among_the_details_that_are_explained() -> None:
    kinds = {project(spec)[id].params.kind for spec, id in DETAILS}
    assert set(CONDITIONS) <= kinds


def test_the_keys_that_origins_name_are_keys_of_details_and_sizes_of_the_practice() -> None:
    keys = {name for c in CONDITIONS.values() for name in c.params.model_fields}
    sizes = set(practice(METRIC).rows) | set(practice(INCH).rows)
    for name, said in _origins().items():
        for part in re.findall(r"([a-z_., ]+?) of the detail", said):
            words = re.split(r",| and ", part.split("; ")[-1].split(": ")[-1])
            for key in (w.strip().split(".")[0] for w in words if w.strip()):
                assert not key or key in keys, (name, key)
        for size in re.findall(r"(?:sizes?|or|,) ([a-z]+\.[a-z_]+)", said):
            assert size in sizes, (name, size)


def test_words_are_the_same_numbers_as_the_document() -> None:
    e = explained(project("ferry-hall")["P1"])
    for name in e.names():
        said, data = text(name, e, METRIC), document(name, e)
        assert said and (data["computed"] or data["measured"] or data["parts"] or data["findings"]), name


def test_a_level_a_dimension_and_a_limit_are_explained(capsys: pytest.CaptureFixture[str]) -> None:
    spec = str(TOP / "specs" / "ferry-hall.toml")
    assert run(["explain", spec, "P1", "level flashing top"]) == 0
    level = capsys.readouterr().out
    assert level.startswith("top of flashing = 582 mm above the deck") and "input: buildup.NAME.slope" in level
    assert run(["explain", spec, "P1", "dimension-lap-field"]) == 0
    assert "measured lap of the flashing on the field sheet" in capsys.readouterr().out
    assert run(["explain", spec, "P1", "eu_drip_clearance"]) == 0
    limit = capsys.readouterr().out
    assert "min. 20 mm" in limit and "German flat-roof guideline 4.6 (published)" in limit
    assert run(["explain", spec, "P1", "eu-drip-clearance", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["findings"][0]["rule"] == "eu-drip-clearance"
    assert run(["explain", spec, "P1", "eu-drip-clearence"]) == 2
    assert "did you mean 'eu-drip-clearance'" in capsys.readouterr().err
