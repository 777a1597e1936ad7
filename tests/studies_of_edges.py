"""Small studies for the tests of batches: a roof with two parapets, and what varies them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
ROOF = """
[project]
name = "Quayside ferry hall"

[buildup.planted]
system = "inverted"
slope = "2 %"
deck = { kind = "concrete", thickness = "200 mm" }
layers = [
  { material = "topping" }, { material = "membrane" }, { material = "protection-mat" },
  { material = "xps", thickness = "150 mm" }, { material = "drainage-mat" }, { material = "filter-fabric" },
  { material = "growing-medium", thickness = "100 mm" }, { material = "plants" },
]

[[detail]]
id = "P1"
kind = "parapet"
title = "Parapet"
buildup = "planted"
backing = { kind = "concrete" }
cladding = { kind = "render" }
distance_to_drain = ["1 m", "5 m"]

[[detail]]
id = "P2"
kind = "parapet"
buildup = "planted"
backing = { kind = "masonry" }
cladding = { kind = "none" }
distance_to_drain = "3 m"
"""
STUDY = """
[study]
project = "roof.toml"
detail = "P1"
"""
FEW = """
[[vary]]
end = ["face-strip", "under-coping", "reglet"]

[[vary]]
"buildup.planted.layers.xps.thickness" = ["100 mm", "150 mm"]
"""


def laid(folder: Path, study: str = FEW, head: str = STUDY, table: str = "", roof: str = ROOF) -> Path:
    """The files of a study in a folder; the path of the study."""
    folder.mkdir(exist_ok=True)
    (folder / "roof.toml").write_text(roof, encoding="utf-8")
    (folder / "table.csv").write_text(table, encoding="utf-8")
    path = folder / "edges.toml"
    path.write_text(head + study, encoding="utf-8")
    return path


def command(*arguments: object) -> list[str]:
    """A command line of this program."""
    return [sys.executable, "-m", "detailgen", *map(str, arguments)]


def environment() -> dict[str, str]:
    """Where the program is found."""
    return {**os.environ, "PYTHONPATH": str(ROOT)}


def detailgen(folder: Path, *arguments: object) -> subprocess.CompletedProcess[str]:
    """Runs it in a folder."""
    return subprocess.run(
        command(*arguments), cwd=folder, env=environment(), capture_output=True, text=True, timeout=120
    )


def everything(folder: Path) -> dict[str, bytes]:
    """Every file under a folder, the memory of the program included."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}
