"""The rows of the catalogue: one frozen dataclass for each kind of thing that the trade knows.

The names of the fields are the keys of the TOML tables; a field without a default must be given.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from detailgen.units import INCH_MM

Form = Literal["coat", "sheet", "mat", "board", "fill", "cast", "metal", "block"]
Family = tuple[float, ...]

Role = Literal[
    "structure",  # deck, cast upstand, wall below
    "backing",  # studs, tracks, blocking, nailers: carries the edge, takes fasteners
    "board",  # sheathing, cover board
    "topping",
    "waterproofing",  # field sheet and flashing sheets
    "vapour-control",
    "barrier",  # weather and air barrier of the wall
    "insulation",
    "protection",
    "drainage",
    "fabric",
    "finish",  # gravel, growing medium, pavers: what D_FIN is read from
    "cladding",  # stone, panel, render, facing of upstand insulation
    "metal",  # coping, cleat, counterflashing, closure, angles, retention edge
    "hardware",  # brackets, bars, frames' anchors
    "seal",  # sealant, mastic, gasket, bedding
    "frame",
    "glass",
    "lining",  # inside finish and trims
]


@dataclass(frozen=True, slots=True)
class Material:
    """What a part is made of.

    Attributes:
        key: its name in detail files.
        name: its name in prose.
        form: how it is laid: a coat has no polygon, a sheet follows, a mat absorbs laps, a board is straight, a fill
            fills, the rest is structure or bent metal.
        role: what it usually does, see `Role`.
        layer: key of the layer tables.
        hatch: name of a pattern, ``"solid"``, ``"batt"``, ``"drain"``, ``"timber"``, or empty.
        density: dry or as delivered [kg/m3]; for a coat that of the wet product.
        density_saturated: with the water that it holds for good [kg/m3]; 0 in a file means the same as `density`.
        conductivity: design value in its usual place on a roof [W/(m·K)].
        vapour_resistance: resistance factor mu [-]; ``inf`` for metal and glass.
        metric: usual thicknesses [mm], the one to take first.
        inch: usual thicknesses of the inch products [in], the one to take first; never converted ones.
        trade: who installs it.
        watertight: can carry the water line.
        tags: words of the build-up grammar.
        na: note in North American capitals; ``{t}`` is its thickness.
        eu: note in European sentence case.
        source: where the numbers come from and how far they can be trusted.
    """

    key: str
    name: str
    form: Form
    role: Role
    layer: str
    density: float
    conductivity: float
    vapour_resistance: float
    trade: str
    na: str
    eu: str
    source: str
    hatch: str = ""
    density_saturated: float = 0.0
    metric: tuple[float, ...] = ()
    inch: tuple[float, ...] = ()
    watertight: bool = False
    tags: tuple[str, ...] = ()

    def usual(self, system: Literal["metric", "inch"]) -> tuple[float, ...]:
        """Usual thicknesses [mm] of the products of one unit system, the one to take first."""
        return self.metric if system == "metric" else tuple(t * INCH_MM for t in self.inch)


@dataclass(frozen=True, slots=True)
class Item:
    """A part by what it does, and the words of its note.

    Attributes:
        key: its name, the `kind` of a `detailgen.section.model.Part`.
        material: key of a material.
        role: what it does.
        layer: key of the layer tables.
        hatch: name of a pattern; where the file gives none, that of the material.
        trade: who installs it.
        watertight: carries the water line; where the file says nothing, as the material.
        na: note in North American capitals; may quote ``{t}`` and any named size of the part.
        eu: note in European sentence case.
        named_by: key of the item whose note names this one as well, where both are in a section.
    """

    key: str
    material: str
    role: Role
    layer: str
    trade: str
    na: str
    eu: str
    hatch: str = ""
    watertight: bool = False
    named_by: str = ""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A section hatch in plotted millimetres.

    Attributes:
        name: own name of this project.
        note: how it was made.
        families: angle [deg], base x, base y, shift along the line, spacing across it, then dash, -gap, …; no dashes
            = continuous.
        least: plotted thickness under which the picture is not legible any more [mm].
        below: pattern to take under that thickness, or empty for none.
        fit: ``"across"`` where the spacing follows the plotted thickness of the part (diamonds, plies), else ``""``.
    """

    name: str
    note: str
    families: tuple[Family, ...]
    least: float = 0.0
    below: str = ""
    fit: Literal["", "across"] = ""


@dataclass(frozen=True, slots=True)
class LayerRow:
    """A layer of a drawing file.

    Attributes:
        key: the same in all standards.
        name: the layer's name in this standard.
        weight: pen [mm].
        linetype: key of the line types.
        aci: colour number 1 … 255.
        description: what it holds.
    """

    key: str
    name: str
    weight: float
    linetype: str
    aci: int
    description: str


@dataclass(frozen=True, slots=True)
class Linetype:
    """A line type: dash, -gap, … in plotted millimetres; empty = continuous."""

    name: str
    dash: tuple[float, ...]
    description: str


@dataclass(frozen=True, slots=True)
class Word:
    """Words that a sheet prints of itself, in sentence case; ``{…}`` is filled in."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A sheet, lying as it is drawn.

    Attributes:
        name: its name.
        width, height: trimmed size [mm].
        left, right, top, bottom: margins between the trimmed edge and the frame [mm].
        system: ``"metric"`` or ``"inch"``: the projects that usually take it.
        source: standard and year, and how far it was seen.
    """

    name: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    system: Literal["metric", "inch"]
    source: str

    @property
    def usable(self) -> tuple[float, float, float, float]:
        """Frame: x0, y0, x1, y1 [mm] from the lower left corner of the sheet."""
        return self.left, self.bottom, self.width - self.right, self.height - self.top


@dataclass(frozen=True, slots=True)
class Scale:
    """A standard scale.

    Attributes:
        name: as it is printed, ``"1:5"`` or ``3" = 1'-0"``.
        k: section millimetres per paper millimetre.
        system: the unit system that uses it.
        use: what it is for.
    """

    name: str
    k: float
    system: Literal["metric", "inch"]
    use: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution of the sheet, in both wordings; ``always`` cautions stand on every sheet."""

    key: str
    na: str
    eu: str
    source: str
    always: bool = False


@dataclass(frozen=True, slots=True)
class Tint:
    """A colour of the presentation style.

    Attributes:
        key: family of materials.
        colour: ``#rrggbb``.
        layers: layer keys of the parts that take it.
        holds: what takes it, in words.
        materials: keys of materials that take it whatever their layer.
    """

    key: str
    colour: str
    layers: tuple[str, ...]
    holds: str
    materials: tuple[str, ...] = ()
