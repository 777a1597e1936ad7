"""Two calls for a notebook or a pipeline: judge a section, draw a section."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from detailgen import catalogue as trade
from detailgen.catalogue.rulebook import RulePack, load_pack
from detailgen.folder import Folder
from detailgen.project.model import Detail
from detailgen.section.model import Section

if TYPE_CHECKING:
    from detailgen.rules import Finding
    from detailgen.sheet import SheetSettings

DEFAULT_RULES = ("european",)


def check(thing: Section | Detail, rules: Sequence[str | Path | RulePack] | None = None) -> tuple[Finding, ...]:
    """Measures a section from its polygons and judges it.

    Args:
        thing: a detail of a project, or a true section from anywhere.
        rules: rule packs, by name, by path or as they are; by default those of the detail's project, and the
            European pack for a bare section, which does not say where it will be built.

    Raises:
        InputError: no such pack.
    """
    packs = None if rules is None else tuple(r if isinstance(r, RulePack) else load_pack(r) for r in rules)
    if isinstance(thing, Detail):
        return thing.findings(packs)
    from detailgen.measure import measure
    from detailgen.rules import judge

    return judge(thing, measure(thing), tuple(load_pack(r) for r in DEFAULT_RULES) if packs is None else packs)


def draw(
    thing: Section | Detail,
    path: str | os.PathLike[str],
    *,
    settings: SheetSettings | None = None,
    dpi: int = 200,
    force: bool = False,
) -> Path:
    """Draws a section into one file; its ending says in which format.

    Args:
        thing: a detail of a project, or a section from anywhere.
        path: file to write: ``.dxf``, ``.png``, ``.pdf``, ``.svg``, and ``.json`` for a detail.
        settings: the sheet of a bare section, whose thin sheets are drawn as thin as they are.
        dpi: resolution of pictures of a bare section.
        force: replace a file that was changed by hand.

    Returns:
        The path.

    Raises:
        InputError: no such format, or a file that was changed by hand.
        BuildError: the detail cannot be built.
    """
    path = Path(path)
    format = path.suffix.removeprefix(".").lower()
    data = thing.render(format) if isinstance(thing, Detail) else _bare(thing, format, settings, dpi)
    origin = thing.origin if isinstance(thing, Detail) else None
    return Folder(path.parent).write({path.name: data}, origin=origin, force=force)[0]


def _bare(section: Section, format: str, settings: SheetSettings | None, dpi: int) -> bytes:
    from detailgen import output
    from detailgen.measure import measure
    from detailgen.sheet import SheetSettings, compose

    rows = trade.load()
    sheet = compose(section, section, measure(section), check(section), rows, settings or SheetSettings())
    return output.write(sheet, format, dpi=dpi, catalogue=rows)
