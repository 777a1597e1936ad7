"""What a drawing depends on: its digest changes with it, and with nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from detailgen.project import load
from detailgen.project.inputs import dependencies, digest_of, named_files

ROOF = """
[project]
name = "Quayside ferry hall"
[office]
materials = ["office.toml"]
[buildup.planted]
system = "inverted"
layers = [{ material = "topping" }, { material = "membrane" }, { material = "protection-mat" }, { material = "xps" },
  { material = "drainage-mat" }, { material = "filter-fabric" }, { material = "growing-medium" },
  { material = "plants" }]
[buildup.bare]
system = "conventional"
layers = [{ material = "vapour-control" }, { material = "eps" }, { material = "eps-tapered", tapered = true },
  { material = "membrane" }]
[[detail]]
id = "P1"
kind = "parapet"
buildup = "planted"
distance_to_drain = "5 m"
[[detail]]
id = "P2"
kind = "parapet"
buildup = "bare"
distance_to_drain = "3 m"
"""
OFFICE = '[words]\nscale = { text = "Drawn at" }\n'


def digests(folder: Path, text: str = ROOF, office: str = OFFICE, **options: object) -> tuple[str, ...]:
    (folder / "office.toml").write_text(office)
    (folder / "roof.toml").write_text(text)
    project = load(folder / "roof.toml").on_paper(**options)  # type: ignore[arg-type]
    return tuple(d.digest for d in project.details.values())


@pytest.mark.parametrize(
    ("old", "new", "changed"),
    [
        ('"5 m"', '"6 m"', (True, False)),
        ('{ material = "xps" }', '{ material = "xps", thickness = "200 mm" }', (True, False)),
        ('{ material = "eps" }', '{ material = "eps", thickness = "200 mm" }', (False, True)),
        ('name = "Quayside ferry hall"', 'name = "Ferry hall"', (True, True)),
        ("[office]", "# a remark\n[office]", (False, False)),
        ('id = "P2"', 'id = "P3"', (False, True)),
    ],
)
def test_a_drawing_depends_on_what_it_can_see(tmp_path: Path, old: str, new: str, changed: tuple[bool, bool]) -> None:
    before, after = digests(tmp_path), digests(tmp_path, ROOF.replace(old, new))
    assert tuple(a != b for a, b in zip(before, after, strict=True)) == changed


def test_a_drawing_depends_on_the_details_that_it_names() -> None:
    table = {"project": {"name": "x"}, "buildup": {"planted": {}, "bare": {}, "slate": {}}, "meeting": [{}]}
    one, two = {"id": "P1", "buildup": "planted"}, {"id": "P2", "buildup": "bare"}
    corner, top = {"id": "K1", "between": ["P1", "W1"]}, {"id": "W1", "above": "P2"}
    table["detail"] = [one, two, corner, top]
    seen = dependencies(table, 2)
    assert seen == {
        "project": {"name": "x"}, "buildup": {"planted": {}, "bare": {}}, "detail": [corner, one, two, top],
    }  # fmt: skip
    assert dependencies(seen, 0) == seen and dependencies(table, 1)["detail"] == [two]


def test_a_drawing_depends_on_the_files_of_the_office(tmp_path: Path) -> None:
    before = digests(tmp_path)
    assert all(a != b for a, b in zip(before, digests(tmp_path, office=OFFICE.replace("at", "to")), strict=True))


def test_a_drawing_depends_on_what_was_asked_for(tmp_path: Path) -> None:
    before = digests(tmp_path)
    assert digests(tmp_path, dpi=None, scale=None) == before
    for options in ({"dpi": 99}, {"scale": "1:10"}, {"style": "presentation"}, {"marks": "all"}):
        assert not set(before) & set(digests(tmp_path, **options)), options


def test_what_a_drawing_does_not_depend_on_changes_no_byte_of_it(tmp_path: Path) -> None:
    digests(tmp_path)
    before = load(tmp_path / "roof.toml")["P1"]
    digests(tmp_path, ROOF.replace('"3 m"', '"2 m"'))
    after = load(tmp_path / "roof.toml")["P1"]
    assert before.digest == after.digest
    for format in ("svg", "json"):
        assert before.render(format) == after.render(format)


def test_an_office_file_that_changes_is_read_again_by_the_same_process(tmp_path: Path) -> None:
    digests(tmp_path)
    first = load(tmp_path / "roof.toml").context.catalogue.words["scale"].text
    digests(tmp_path, office=OFFICE.replace("at", "to"))
    assert (first, load(tmp_path / "roof.toml").context.catalogue.words["scale"].text) == ("Drawn at", "Drawn to")


def test_the_version_and_the_catalogue_are_in_the_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen.project import inputs

    def now() -> str:
        return digest_of({"detail": [{"id": "P1"}]}, 0, (1, 1), (), {})

    first = now()
    monkeypatch.setattr(inputs, "__version__", "99")
    second = now()
    monkeypatch.setattr(inputs, "digest_of_catalogue", lambda: "other rows")
    assert len({first, second, now()}) == 3


def test_files_of_the_office_and_packs_by_path_are_named_in_order() -> None:
    table = {"office": {"materials": ["a.toml", "b.toml"]}, "project": {"rules": ["european", "own.toml"]}}
    assert [name for _, name in named_files(table)] == ["a.toml", "b.toml", "own.toml"]
    assert list(named_files({"office": 3})) == []
