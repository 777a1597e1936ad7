"""A roof for the tests of reports: two parapets of fixed height, too low for an office's rules; and its studies."""

from __future__ import annotations

from pathlib import Path

OFFICE = """
title = "Office of the quay"
extends = "european"
[rules.eu-flashing-height]
minimum = "300 mm"
[rules.eu-lap-field]
minimum = "200 mm"
[rules.eu-margin]
minimum = "200 mm"
because = "gravel of a coarser grading"
"""
HEAD = """
[project]
name = "Ferry hall"
rules = ["office.toml"]
building_height = "9 m"
deck_level = "12.34 m"
"""
TABLES = """
[climate]
standard = "din-4108-3"
[water]
rain = "300 l/(s ha)"
area = "150 m2"
drains = 2
drain_size = "150 mm"
farthest = "6 m"
[loads]
allowed = "8 kN/m2"
"""
ROOF = """
[sheet]
size = "A2"
scale = "1:5"

[buildup.planted]
system = "inverted"
deck = { kind = "concrete", thickness = "200 mm" }
layers = [
  { material = "topping" }, { material = "membrane" }, { material = "protection-mat" },
  { material = "xps", thickness = "150 mm" }, { material = "drainage-mat" }, { material = "filter-fabric" },
  { material = "growing-medium", thickness = "100 mm" }, { material = "plants" },
]
"""
LOW = """
[[detail]]
id = "P1"
kind = "parapet"
title = '''{title}'''
buildup = "planted"
backing = {{ kind = "concrete" }}
height = {{ above_deck = "560 mm" }}
distance_to_drain = "5 m"
"""
OTHER = """
[[detail]]
id = "P2"
kind = "parapet"
title = "Edge over the quay"
buildup = "planted"
backing = { kind = "masonry" }
cladding = { kind = "render" }
height = { above_deck = "600 mm" }
mirror = true
distance_to_drain = "5 m"
"""


def written(folder: Path, *, title: str = "Low parapet", tables: str = "", name: str = "hall.toml") -> Path:
    """The detail file and the office's rules beside it."""
    (folder / "office.toml").write_text(OFFICE, encoding="utf-8")
    path = folder / name
    path.write_text(HEAD + tables + ROOF + LOW.format(title=title) + OTHER, encoding="utf-8")
    return path
