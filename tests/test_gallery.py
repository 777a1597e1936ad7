"""The gallery shows every detail of every demonstration file, and says what command made it."""

from __future__ import annotations

import re
import shlex
import struct
from pathlib import Path

import pytest

import detailgen as dg
from detailgen.cli import commands
from tests.demos import DETAIL_FILES

TOP = Path(__file__).resolve().parents[1]
PAGE = (TOP / "gallery" / "README.md").read_text(encoding="utf-8")
SPECS = DETAIL_FILES


def picture_size(path: Path) -> tuple[int, int]:
    """Width and height of a PNG [px], from its header."""
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    return struct.unpack(">II", head[16:24])  # type: ignore[return-value]


@pytest.mark.parametrize("spec", SPECS, ids=lambda p: p.stem)
def test_every_detail_of_a_demonstration_file_hangs_in_the_gallery(spec: Path) -> None:
    for detail in dg.load(spec).details.values():
        title = detail.params.title
        entry = f"### {detail.id} {title}\n\n![{detail.id}, {title}]({spec.stem}/{detail.id}.png)\n"
        assert entry in PAGE + "\n", f"{spec.name} {detail.id}"


def test_the_gallery_shows_nothing_that_no_file_draws() -> None:
    shown = set(re.findall(r"\]\(([^)]+\.png)\)", PAGE))
    projects = [(spec.stem, dg.load(spec)) for spec in SPECS]
    drawn = {f"{name}/{id}.png" for name, p in projects for id in (*p.details, *p.shared_sheets)}
    pictures = [p for p in (TOP / "gallery").rglob("*.png") if p.parent.name != "table"]  # test_matrix has those
    there = {p.relative_to(TOP / "gallery").as_posix() for p in pictures}
    assert shown == drawn == there


def test_the_gallery_says_one_command_for_each_file() -> None:
    lines = [line for line in PAGE.splitlines() if line.startswith("detailgen ")]
    assert len(lines) == len(SPECS)
    for line in lines:
        _, name, spec, *options = shlex.split(line)
        assert (TOP / spec).is_file()
        assert options[options.index("--out") + 1] == f"gallery/{Path(spec).stem}"
        command = commands.get_command(None, name)  # type: ignore[arg-type]
        assert command is not None
        command.make_context(name, [str(TOP / spec), *options])


@pytest.mark.parametrize("spec", SPECS, ids=lambda p: p.stem)
def test_pictures_of_the_gallery_are_whole_sheets_at_the_resolution_that_the_page_says(spec: Path) -> None:
    for detail in dg.load(spec).details.values():
        size = detail.project.context.catalogue.sheet_size(detail.settings.size)
        width, height = picture_size(TOP / "gallery" / spec.stem / f"{detail.id}.png")
        assert width == pytest.approx(size.width / 25.4 * 96, abs=1)
        assert height == pytest.approx(size.height / 25.4 * 96, abs=1)


def test_every_condition_has_a_thumbnail_of_a_detail_that_the_page_shows() -> None:
    from detailgen.conditions import CONDITIONS
    from tests.gallery import shown_by, thumbnails

    found = shown_by()
    assert list(found) == list(CONDITIONS)
    for kind, (spec, id) in found.items():
        assert dg.load(TOP / "specs" / f"{spec}.toml")[id].params.kind == kind
        assert f'src="{spec}/{id}.png"' in thumbnails()
