"""What README.md shows works: its commands, its files, its Python."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from detailgen import cli

TOP = Path(__file__).resolve().parents[1]
TEXT = (TOP / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    fenced = re.findall(r"^```(\w*)\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL)
    return [text for word, text in fenced if word == language]


def commands() -> list[str]:
    lines = [line for block in blocks("sh") for line in block.splitlines()]
    return [line for line in lines if line.startswith("detailgen ")]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(TOP / "specs", tmp_path / "specs")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def toml(starting: str) -> str:
    """The TOML block that begins with a line."""
    (block,) = [b for b in blocks("toml") if b.startswith(starting)]
    return block


def test_every_command_of_the_readme_works_in_its_order(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    assert len(commands()) >= 7
    for line in commands():
        assert cli.run(shlex.split(line)[1:]) == 0, line
        said = capfd.readouterr()
        assert said.out, line
        assert "Traceback" not in said.err
    assert (folder / "out" / "C1.dxf").is_file() and (folder / "variants" / "P8.pdf").is_file()


def test_the_two_commands_that_a_stranger_copies_name_files_that_are_there() -> None:
    first, second = re.findall(r"^python3 -m venv .*$", TEXT, re.MULTILINE)
    assert "specs/ferry-hall.toml" in first and (TOP / "specs" / "ferry-hall.toml").is_file()
    assert second.endswith("pytest")


def test_the_pictures_of_the_readme_are_there() -> None:
    links = re.findall(r"\]\(([^)#]+)\)", TEXT)
    assert links
    for link in links:
        assert (TOP / link).is_file(), link


def test_the_detail_file_of_the_readme_draws(folder: Path) -> None:
    (folder / "hall.toml").write_text(toml("[project]"), encoding="utf-8")
    assert cli.run(["draw", "hall.toml", "--format", "dxf,json"]) == 0
    assert {p.name for p in (folder / "out").glob("*.dxf")} == {"P1.dxf", "C1.dxf"}
    drawn = (folder / "out" / "P1.dxf").read_text(encoding="utf-8")
    assert "colour by the architect" in drawn and "Irrigation by others" in drawn
    assert "Primer, compatible" not in drawn, "silenced"
    assert re.search(r"^455$", drawn, re.MULTILINE), "the forced dimension"


def test_own_parts_of_the_readme_draw(folder: Path) -> None:
    text = toml("[project]")
    (folder / "hall.toml").write_text(text + toml("[[detail.own_parts]]"), encoding="utf-8")
    assert cli.run(["draw", "hall.toml", "--detail", "C1", "--format", "dxf"]) == 0
    assert "Beam, existing" in (folder / "out" / "C1.dxf").read_text(encoding="utf-8")


def test_the_office_files_of_the_readme_are_obeyed(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    text = toml("[project]").replace('rules = ["european"]', 'rules = ["office-rules.toml"]')
    text = text.replace("[sheet]", '[office]\nmaterials = ["office.toml"]\n[sheet]')
    (folder / "office.toml").write_text(toml("[materials.cork]"), encoding="utf-8")
    (folder / "office-rules.toml").write_text(toml('title = "Our office"'), encoding="utf-8")
    (folder / "hall.toml").write_text(text, encoding="utf-8")
    assert cli.run(["check", "hall.toml", "--detail", "C1"]) == 0
    assert "min. 200 mm" in capfd.readouterr().out


def test_the_table_that_the_readme_shows_is_the_one_that_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["check", str(TOP / "specs" / "ferry-hall.toml"), "--detail", "C1"]) == 0
    printed = capfd.readouterr().out
    (shown,) = blocks("")
    for line in shown.splitlines():
        words = line.rstrip("…").split()
        assert re.search(r"\s+".join(map(re.escape, words)), printed), line


def test_the_python_of_the_readme_runs(folder: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (code,) = blocks("python")
    exec(compile(code, "README.md", "exec"), {})
    assert "eu-flashing-height holds" in capfd.readouterr().out
    assert (folder / "out" / "C1.svg").stat().st_size > 10_000
