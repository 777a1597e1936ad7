"""Whatever is wrong with a detail file: one clear message with its place and what is allowed; never a traceback."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from detailgen.errors import BuildError, GeometryError, InputError
from detailgen.project import load

GOOD = """
[project]
name = "Quayside ferry hall"
deck_level = "12.34 m"

[buildup.planted]
system = "inverted"
layers = [
  { material = "topping" },
  { material = "membrane" },
  { material = "protection-mat" },
  { material = "xps", thickness = "150 mm" },
  { material = "drainage-mat" },
  { material = "filter-fabric" },
  { material = "growing-medium" },
  { material = "plants" },
]

[[detail]]
id = "P1"
kind = "parapet"
buildup = "planted"
distance_to_drain = "5 m"
"""


def changed(old: str, new: str, text: str = GOOD) -> str:
    assert old in text
    return text.replace(old, new, 1)


def refusal(tmp_path: Path, text: str | bytes) -> InputError:
    file = tmp_path / "roof.toml"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(InputError) as caught:
        load(file)
    assert all(p.file == str(file) for p in caught.value.problems)
    return caught.value


# what is wrong → (text of the file, key, line, part of the value, part of the message, near miss)
WRONG = {
    "unknown key": (
        changed("distance_to_drain", "distance_to_drian"),
        ("detail[1].distance_to_drian", 23, '"5 m"', "is no key of this table; allowed: ", "distance_to_drain"),
    ),
    "unknown table": (
        GOOD + "[projet]\n",
        ("projet", 24, "", "is no table of a detail file; allowed: project", "project"),
    ),
    "unknown material": (
        changed('"xps"', '"xpz"'),
        ("buildup.planted.layers[4].material", 12, '"xpz"', "no material of that name", "xps"),
    ),
    "unknown kind": (
        changed('"parapet"', '"parapett"'),
        ("detail[1].kind", 21, '"parapett"', "is no kind of detail; allowed: parapet", "parapet"),
    ),
    "unknown build-up": (
        changed('buildup = "planted"', 'buildup = "plantd"'),
        ("detail[1].buildup", 22, '"plantd"', "no build-up of that name; allowed: planted", "planted"),
    ),
    "unknown rule pack": (
        changed("deck_level", 'rules = ["europaen"]\ndeck_level'),
        ("project.rules[1]", 4, '"europaen"', "no rule pack of that name", "european"),
    ),
    "unknown sheet size": (
        GOOD + '[sheet]\nsize = "A33"\n',
        ("sheet.size", 25, '"A33"', "is no sheet size; allowed: auto, A4", "A3"),
    ),
    "unknown scale": (
        GOOD + '[sheet]\nscale = "1:6"\n',
        ("sheet.scale", 25, '"1:6"', "is no scale; allowed: 1:1, 1:2, 1:5", "1:5"),
    ),
    "unknown word": (
        GOOD + 'falls = "sideways"\n',
        ("detail[1].falls", 24, '"sideways"', "allowed: 'away', 'towards', 'along' or 'angle'", ""),
    ),
    "unknown unit": (
        changed("150 mm", "150 mn"),
        ("buildup.planted.layers[4].thickness", 12, '"150 mn"', "unknown unit 'mn'", "mm"),
    ),
    "negative thickness": (
        changed('"150 mm"', "-150"),
        ("buildup.planted.layers[4].thickness", 12, "-150", "must be greater than 0", ""),
    ),
    "text where a number belongs": (
        GOOD + '[sheet]\ndpi = "fine"\n',
        ("sheet.dpi", 25, '"fine"', "must be a whole number", ""),
    ),
    "number where a text belongs": (
        changed('"Quayside ferry hall"', "12"),
        ("project.name", 3, "12", "must be a text in quotes", ""),
    ),
    "text where a list belongs": (
        GOOD + 'notes = "none"\n',
        ("detail[1].notes", 24, '"none"', "must be a list", ""),
    ),
    "missing key": (changed('buildup = "planted"\n', ""), ("detail[1].buildup", 19, "", "is missing", "")),
    "missing kind": (changed('kind = "parapet"\n', ""), ("detail[1].kind", 19, "", "is missing; allowed: parapet", "")),
    "missing name": (changed('name = "Quayside ferry hall"\n', ""), ("project.name", 2, "", "is missing; a text", "")),
    "bare slope": (
        changed("layers", "slope = 2\nlayers"),
        ("buildup.planted.slope", 8, "2", "ambiguous as a slope without a unit", ""),
    ),
    "absurd number": (
        changed('"5 m"', "1e30"),
        ("detail[1].distance_to_drain", 23, "", "1 km", ""),
    ),
    "not a number": (
        changed('"150 mm"', "nan"),
        ("buildup.planted.layers[4].thickness", 12, "nan", "not a finite", ""),
    ),
    "infinite": (changed('"12.34 m"', "-inf"), ("project.deck_level", 4, "-inf", "not a finite number", "")),
    "60 000 digits": (
        changed('"12.34 m"', "0x" + "f" * 50_000),
        ("project.deck_level", 4, "more than 60 digits", "1 km", ""),
    ),
    "duplicate id": (
        GOOD + GOOD[GOOD.index("[[detail]]") :],
        ("detail[2].id", 25, '"P1"', "is taken; detail[1] in line 20 has it", ""),
    ),
    "id that differs by capitals only": (
        GOOD + changed('"P1"', '"p1"', GOOD[GOOD.index("[[detail]]") :]),
        ("detail[2].id", 25, '"p1"', 'differs from "P1" by capitals only', ""),
    ),
    "id with a slash": (
        changed('"P1"', '"../P1"'),
        ("detail[1].id", 20, '"../P1"', "name of a file; allowed: letters", ""),
    ),
    "id of dots": (changed('"P1"', '".."'), ("detail[1].id", 20, '".."', "cannot be the name of a file", "")),
    "empty id": (changed('"P1"', '""'), ("detail[1].id", 20, '""', "cannot be the name of a file", "")),
    "id of a device": (changed('"P1"', '"nul.x"'), ("detail[1].id", 20, '"nul.x"', "name of a device", "")),
    "id that ends with a point": (changed('"P1"', '"P1."'), ("detail[1].id", 20, '"P1."', "ends with a point", "")),
    "id without end": (changed('"P1"', f'"{"P" * 65}"'), ("detail[1].id", 20, "", "too long", "")),
    "single brackets": (changed("[[detail]]", "[detail]"), ("detail", 19, "", "[[detail]] with double brackets", "")),
    "no detail": (GOOD[: GOOD.index("[[detail]]")], ("", 0, "", "nothing to draw", "")),
    "no project": (GOOD[GOOD.index("[buildup") :], ("", 0, "", "no [project] table", "")),
    "build-up as a list": (
        changed("[buildup.planted]", "[[buildup]]"),
        ("buildup", 6, "a list of 1", "must be tables such as [buildup.planted]", ""),
    ),
    "10 000 layers": (
        changed('{ material = "topping" },', '{ material = "topping" },\n' * 10_000),
        ("buildup.planted.layers", 8, "", "has 10007 entries; at most 5000 are read", ""),
    ),
    "300 layers": (
        changed('{ material = "topping" },', '{ material = "topping" },\n' * 300),
        ("buildup.planted.layers", 8, "a list of 307", "has 307 entries; at most 40 are allowed", ""),
    ),
    "3 000 details": (
        GOOD[: GOOD.index("[[detail]]")] + "".join(f'[[detail]]\nid = "P{i}"\n' for i in range(3000)),
        ("detail", 19, "", "has 3000 details; at most 2000", ""),
    ),
    "endless text": (changed("Quayside", "Quay" * 2000), ("project.name", 3, "", "a text of ", "")),
    "unprintable text": (
        changed("Quayside", r"Quay\u0007"),
        ("project.name", 3, "", "unprintable character U+0007", ""),
    ),
    "build-up that cannot be built": (
        changed('  { material = "xps", thickness = "150 mm" },\n', ""),
        ("buildup.planted.layers", 8, "", "an inverted roof has its insulation above the membrane", ""),
    ),
    "deep tables": (GOOD + "x = " + "[" * 100 + "]" * 100 + "\n", ("detail[1].x …", 24, "", "nested too deeply", "")),
    "deep beyond the stack": (GOOD + "x = " + "[" * 90_000, ("", 0, "", "nested too deeply", "")),
    "key of many parts": (GOOD + ".".join("a" * 50_000) + " = 1\n", ("", 24, "", "a key of too many parts", "")),
    "empty file": ("", ("", 0, "", "is empty", "")),
    "blank file": ("\n\n  \n", ("", 0, "", "is empty", "")),
    "not TOML": ("name: Quayside\n", ("", 1, "", "is not TOML: ", "")),
    "not TOML at the end": ('[project]\nname = "', ("", 2, "", "is not TOML: ", "")),
    "key given twice": (
        changed("deck_level", 'name = "x"\ndeck_level'),
        ("", 4, "", "is not TOML: cannot overwrite a value (line 4, column ", ""),
    ),
    "binary file": (b"\x89PNG\r\n\x1a\n\x00\x00", ("", 0, "", "is not a text file", "")),
    "not UTF-8": (GOOD.replace("Quay", "Qu\xe4y").encode("latin-1"), ("", 3, "", "is not text in UTF-8", "")),
    "UTF-16": (GOOD.encode("utf-16"), ("", 0, "", "is not a text file", "")),
    "number of 6 000 digits": (changed('"12.34 m"', "9" * 6000), ("", 0, "", "thousands of digits", "")),
    "3 MB": (GOOD + "#" * 3_000_000, ("", 0, "", "larger than 2 MB", "")),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_is_said_with_its_place(tmp_path: Path, what: str) -> None:
    text, (key, line, value, message, hint) = WRONG[what]
    found = refusal(tmp_path, text).problems
    problem = next((p for p in found if p.key == key and message in p.message), None)
    assert problem is not None, [str(p) for p in found]
    assert value in problem.value and len(problem.value) <= 61
    assert problem.line == line
    assert f"'{hint}'" in problem.hint + problem.message if hint else not problem.hint


@pytest.mark.parametrize("what", WRONG)
def test_a_message_is_one_line_without_jargon(tmp_path: Path, what: str) -> None:
    for problem in refusal(tmp_path, WRONG[what][0]).problems:
        said = str(problem)
        assert "\n" not in said and len(said) < 900
        assert not re.search(r"pydantic|validation|Input should|type=|ctx|Traceback|NoneType|dict|__", said), said


def test_everything_wrong_in_a_file_is_said_at_once_in_its_order(tmp_path: Path) -> None:
    text = changed("150 mm", "150 mn", changed('"xps"', '"xpz"'))
    text = changed('"parapet"', '"parapett"', text) + 'falls = "sideways"\n[sheet]\ndpi = 1\nsize = "B9"\n'
    found = refusal(tmp_path, text).problems
    assert [p.key for p in found] == [
        "buildup.planted.layers[4].thickness",
        "buildup.planted.layers[4].material",
        "detail[1].kind",
        "detail[1].falls",
        "sheet.dpi",
        "sheet.size",
    ]
    assert [p.line for p in found] == sorted(p.line for p in found)


def test_a_problem_of_a_detail_names_the_detail(tmp_path: Path) -> None:
    [problem] = refusal(tmp_path, GOOD + 'falls = "sideways"\n').problems
    assert problem.message.endswith("[detail P1]")


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    file = tmp_path / "roof.toml"
    file.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert list(load(file).details) == ["P1"]


def test_windows_line_ends_are_no_fault(tmp_path: Path) -> None:
    file = tmp_path / "roof.toml"
    file.write_bytes(GOOD.replace("\n", "\r\n").encode())
    assert list(load(file).details) == ["P1"]
    file.write_bytes(changed('"xps"', '"xpz"').replace("\n", "\r\n").encode())
    with pytest.raises(InputError) as caught:
        load(file)
    assert caught.value.problems[0].line == 12


def test_a_missing_file_names_its_neighbour(tmp_path: Path) -> None:
    (tmp_path / "ferry-hall.toml").write_text(GOOD)
    with pytest.raises(InputError, match=r"there is no such file \(did you mean 'ferry-hall.toml'\?\)"):
        load(tmp_path / "fery-hall.toml")


def test_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        load(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(InputError, match="not an ordinary file"):
        load(tmp_path / "pipe.toml")


def test_an_office_file_that_is_wrong_is_named_where_it_is_named(tmp_path: Path) -> None:
    (tmp_path / "office.toml").write_text("[materials.xps]\nconductivity = -1\n")
    file = tmp_path / "roof.toml"
    file.write_text(GOOD + '[office]\nmaterials = ["office.toml", "missing.toml"]\n')
    with pytest.raises(InputError) as caught:
        load(file)
    said = str(caught.value)
    assert "office.toml: materials.xps.conductivity" in said
    assert "office.materials[2]" in said and "there is no such file" in said


# ------------------------------------------------------------------------------------------ from the command line
def command(tmp_path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "detailgen", *arguments],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parent.parent)},
        timeout=120,
    )


@pytest.mark.parametrize(
    "what",
    ["unknown key", "unknown material", "negative thickness", "empty file", "not TOML", "binary file",
     "duplicate id", "id with a slash", "deep beyond the stack",
     "10 000 layers", "absurd number"],
)  # fmt: skip
def test_bad_input_leaves_with_2_and_writes_nothing(tmp_path: Path, what: str) -> None:
    text, (key, line, _, message, _) = WRONG[what]
    (tmp_path / "roof.toml").write_bytes(text if isinstance(text, bytes) else text.encode())
    done = command(tmp_path, "draw", "roof.toml")
    assert done.returncode == 2
    assert done.stdout == ""
    place = "roof.toml" + (f":{line}" if line else "")
    assert f"error: {place}: {key}" in done.stderr and message in done.stderr
    assert all(row.startswith("error: ") for row in done.stderr.splitlines())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["roof.toml"]


def test_a_missing_file_and_a_folder_leave_with_2(tmp_path: Path) -> None:
    for name, says in (("none.toml", "there is no such file"), (".", "is a folder")):
        done = command(tmp_path, "check", name)
        assert (done.returncode, done.stdout) == (2, "")
        assert says in done.stderr and "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


# ------------------------------------------------------------------------------------------ spoilt at random
STARTERS = sorted((Path(__file__).parent.parent / "detailgen" / "project").glob("start-*.toml"))
JUNK = (
    '""', '"auto"', '"7 mm"', '"-1\'-2\\""', '"1:0"', '"2 %"', "0", "-1", "1e9", "3.7", "nan", "-inf", "true",
    "[]", "{}", "[1, [2]]", "{ a = 1 }", '"Ω ∞ \\u202e"', "2026-02-30", "1979-05-27", "0x7fffffffffffffffffff",
    '"planted"', '["P1"]',
)  # fmt: skip


def spoilt(text: str, draw: st.DataObject) -> str:
    """A detail file with one line changed as a tired hand would."""
    lines = text.split("\n")
    i = draw.draw(st.sampled_from([i for i, line in enumerate(lines) if "=" in line and not line.startswith("#")]))
    key, value = lines[i].split("=", 1)
    how = draw.draw(st.sampled_from(["value", "key", "gone", "twice", "cut", "word"]))
    lines[i] = {
        "value": f"{key}= {draw.draw(st.sampled_from(JUNK))}",
        "key": f"{key.strip()[:-1]} ={value}",
        "gone": "",
        "twice": f"{lines[i]}\n{lines[i]}",
        "cut": lines[i][: draw.draw(st.integers(0, len(lines[i])))],
        "word": re.sub(r'"([^"]*)"', lambda m: f'"{m[1][:-1]}"', lines[i], count=1),
    }[how]
    return "\n".join(lines)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(STARTERS), st.data())
def test_a_spoilt_file_is_read_or_refused_in_words(tmp_path: Path, starter: Path, data: st.DataObject) -> None:
    file = tmp_path / "roof.toml"
    file.write_text(spoilt(starter.read_text(), data))
    for said in refusals(file):
        assert said.startswith(str(file)) and "\n" not in said


def refusals(file: Path) -> list[str]:
    """What is said about a file: by its reader, or by the details that cannot be built."""
    try:
        details = load(file).details.values()
    except InputError as error:
        return [str(p) for p in error.problems]
    out = []
    for detail in details:
        try:
            detail.findings()
        except (BuildError, GeometryError) as error:
            out.append(str(detail.problem(error)))
    return out
