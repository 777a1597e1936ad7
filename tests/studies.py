"""Detail files for the tests of water, weight and warmth."""

from __future__ import annotations

from pathlib import Path

from detailgen.physics.model import Study
from detailgen.project import Project, load
from detailgen.project.given import Kind, studies

PLANTED = """
[buildup.planted]
system = "inverted"
slope = "2 %"
deck = { kind = "concrete", thickness = "200 mm" }
layers = [
  { material = "topping" }, { material = "membrane" }, { material = "protection-mat" },
  { material = "xps", thickness = "150 mm" }, { material = "drainage-mat" }, { material = "filter-fabric" },
  { material = "growing-medium", thickness = "100 mm" }, { material = "plants" },
]
"""
TAPERED = """
[buildup.tapered]
system = "conventional"
slope = "2 %"
t_ring = "60 mm"
deck = { kind = "concrete", thickness = "200 mm" }
layers = [
  { material = "vapour-control" }, { material = "eps", thickness = "100 mm" },
  { material = "eps-tapered", tapered = true }, { material = "membrane-thermoplastic" },
]
"""
DETAIL = """
[[detail]]
id = "P1"
kind = "parapet"
buildup = "{name}"
backing = {{ kind = "concrete" }}
cladding = {{ kind = "render" }}
end = "under-coping"
distance_to_drain = ["1 m", "6 m"]
"""


def project(folder: Path, tables: str = "", buildup: str = PLANTED, units: str = "mm") -> Project:
    """A project of one build-up with one parapet, and further tables."""
    return load(written(folder, tables, buildup, units))


def written(folder: Path, tables: str = "", buildup: str = PLANTED, units: str = "mm") -> Path:
    """Its file."""
    name = buildup.split("[buildup.")[1].split("]")[0]
    path = folder / "hall.toml"
    head = f'[project]\nname = "Ferry hall"\nunits = "{units}"\n'
    path.write_text(head + tables + buildup + DETAIL.format(name=name), encoding="utf-8")
    return path


def study(folder: Path, kind: Kind, tables: str = "", buildup: str = PLANTED, units: str = "mm") -> Study:
    """The study of that build-up."""
    [found] = studies(project(folder, tables, buildup, units), kind)
    return found
