"""The field of the roof between its edges, and the plants on it.

An edge is drawn, and counted, together with a strip of the field as wide as the section shows it. These strips are
taken from the area of the roof, so nothing is counted twice. Where two edges meet at a corner their strips overlap on a
square of their width; openings of drains and pipes are measured through. Both are usual, and stay under the waste.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from detailgen.catalogue.practice import Practice
from detailgen.physics.stack import Falls, thickness_range
from detailgen.quantities.model import UNIT_OF, Figure, Group, Run, group_of, groups
from detailgen.quantities.parts import M2, ON_SECTION, M, on_pads, pitch_of, plain_name
from detailgen.quantities.pieces import BY
from detailgen.quantities.shapes import plan_width, runs_out
from detailgen.section.buildup import BuildUp, Layer
from detailgen.section.model import Derivation, Ring, Section

SHAPE = {"plane": (1 / 2, "a wedge"), "square": (2 / 3, "four triangles that fall to a point")}


@dataclass(frozen=True, slots=True)
class Field:
    """The field of one build-up.

    Attributes:
        area: of the roof in plan, edges included [m2]; where it comes from.
    """

    area: float
    source: str


@dataclass(frozen=True, slots=True)
class Strip:
    """The strip of the field that an edge is counted with.

    Attributes:
        detail: id of the detail. width: in plan [mm]. run: of the edge.
        wedge: area of what makes the falls in it [mm2].
        planted: width of the plants in it [mm].
    """

    detail: str
    width: float
    run: Run
    wedge: float
    planted: float

    def on(self, width: float) -> float:
        """Area of a strip of that width along the whole edge [m2]."""
        return width * self.run.length * self.run.count / M2


def strip_of(section: Section, buildup: BuildUp, run: Run) -> Strip:
    """The strip that a section shows of its field, none where the field sheet does not run out of it."""
    sheets = [p for p in section.parts if p.id == buildup.membrane.id or p.id.startswith(f"{buildup.membrane.id}-")]
    rings = [r for p in sheets if runs_out(section, p) for r in p.rings]
    planting = [m.points for m in section.marks if m.kind == "planting"]
    makers = [layer.id for layer in buildup.layers if layer.falls]
    wedges = [r for p in section.parts if p.id in makers for r in p.rings]
    return Strip(section.id, plan_width(rings), run, _within(wedges, rings), plan_width(planting))


def _within(rings: Sequence[Ring], sheet: Sequence[Ring]) -> float:
    """Area of polygons under the field sheet [mm2]."""
    if not rings or not sheet:
        return 0.0
    import shapely

    spans = [shapely.box(min(p[0] for p in r), -1e6, max(p[0] for p in r), 1e6) for r in sheet]
    under = shapely.intersection(shapely.union_all([shapely.Polygon(r) for r in rings]), shapely.union_all(spans))
    return float(under.area)


# ------------------------------------------------------------------------------------------ layers
def field_figures(
    buildup: BuildUp, sizes: Practice, falls: Falls, field: Field | None, strips: Sequence[Strip]
) -> Iterator[Figure]:
    """Figures of one square metre of field, with totals where its area is known.

    Args:
        buildup: of the field.
        sizes: office practice, for the rolls of the sheet.
        falls: how far the falls run, and to what.
        field: area of the roof; None for figures a square metre only.
        strips: of the edges on this build-up.
    """
    net = _net(field, strips) if field else None
    for layer in buildup.layers:
        group = groups()["coats"] if layer.form == "coat" else group_of(layer.material, layer.material.role)
        if group is None or group.by == "run":
            continue
        rate = _mean(buildup, layer, falls) if layer.falls and group.by == "volume" else _rate(layer, group, sizes)
        total = None
        if net is not None and field is not None:
            total = _wedge(rate, field, strips) if layer.falls and group.by == "volume" else _on(net, rate)
        yield _figure(buildup, layer.id, layer, "fasteners" if on_pads(layer.material) else group.key, rate, total)
    weld = _seams(sizes, len(buildup.plies))
    yield _figure(buildup, "weld-machine", None, "welds", weld, _on(net, weld) if net else None)


def _figure(
    buildup: BuildUp, id: str, layer: Layer | None, group: str, rate: Derivation, total: Derivation | None
) -> Figure:
    unit = rate.unit.split("/")[0]
    name = plain_name(layer.material.key) if layer else "seam by machine"
    mass = 0.0
    if layer is not None and layer.form != "coat" and unit != "pieces":
        mass = rate.value * (1.0 if unit == "m3" else layer.thickness / M) * layer.material.density
    return Figure(
        id, f"field {buildup.name}", group, name, layer.material.name if layer else "",
        unit, "m2", rate.value, total.value if total else None, total or rate, mass,  # type: ignore[arg-type]
        layer.thickness if layer and not layer.falls and layer.form != "fill" else 0.0,
    )  # fmt: skip


def _net(field: Field, strips: Sequence[Strip]) -> Derivation:
    gross = Derivation("area of the roof", field.area, "m2", source=field.source)
    taken = tuple(
        Derivation(f"strip counted with {s.detail}", s.on(s.width), "m2", "width × length", _width(s))
        for s in strips
        if s.width
    )
    value = max(field.area - sum(d.value for d in taken), 0.0)
    return Derivation("field between the edges", value, "m2", "area of the roof - strips of the edges", (gross, *taken))


def _width(s: Strip) -> tuple[Derivation, Derivation]:
    wide = Derivation("width of the strip", s.width, "mm", source=f"{ON_SECTION}: its field sheet in plan")
    long = Derivation("length of the edges", s.run.length * s.run.count / M, "m", source="input: quantity")
    return wide, long


def _on(net: Derivation, rate: Derivation) -> Derivation:
    unit = rate.unit.split("/")[0]
    return Derivation(f"{rate.name}, whole field", net.value * rate.value, unit, "area × rate", (net, rate))


def _wedge(rate: Derivation, field: Field, strips: Sequence[Strip]) -> Derivation:
    """All of the wedge, less what lies in the strips of the edges, where it is thickest."""
    gross = Derivation("area of the roof", field.area, "m2", source=field.source)
    taken = tuple(
        Derivation(f"in the strip of {s.detail}", s.on(s.wedge / M), "m3", "area of its polygon × length", _wedged(s))
        for s in strips
        if s.wedge
    )
    value = max(field.area * rate.value - sum(d.value for d in taken), 0.0)
    words = "area of the roof × mean thickness - what the edges have of it"
    return Derivation(f"{rate.name}, whole field", value, "m3", words, (gross, rate, *taken))


def _wedged(s: Strip) -> tuple[Derivation, Derivation]:
    return Derivation("area under the field sheet", s.wedge / M2, "m2", source=ON_SECTION), _width(s)[1]


def _mean(buildup: BuildUp, layer: Layer, falls: Falls) -> Derivation:
    """Mean thickness of what makes the falls, as volume on a square metre."""
    thin, thick = thickness_range(buildup, falls)
    share, words = SHAPE[falls.shape]
    low = Derivation("thickness at the sump's edge", thin, "mm", source="buildup: t_ring and sump depth")
    run = Derivation("how far the falls run", falls.farthest, "mm", source=falls.source)
    slope = Derivation("slope", buildup.slope, "ratio")
    high = Derivation("thickness at the far edge", thick, "mm", "thin + slope × run", (low, slope, run))
    value = (thin + share * (thick - thin)) / M
    formula = f"thin + {share:.3g} × (thick - thin): volume of {words}"
    return Derivation(f"{plain_name(layer.material.key)} a square metre", value, "m3/m2", formula, (low, high))


def _rate(layer: Layer, group: Group, sizes: Practice) -> Derivation:
    name = f"{plain_name(layer.material.key)} a square metre"
    if on_pads(layer.material):
        pitch = pitch_of(sizes)
        return Derivation(name, M2 / pitch.value**2, "pieces/m2", "1 m2 / pitch², one at each corner", (pitch,))
    unit = f"{UNIT_OF[group.by]}/m2"
    if group.by == "volume":
        t = Derivation("thickness", layer.thickness, "mm", source=f"buildup: {layer.id}")
        return Derivation(name, layer.thickness / M, unit, "thickness × 1 m2", (t,))
    if group.key != "waterproofing":
        return Derivation(name, 1.0, unit, "one layer", source=f"buildup: {layer.id}")
    w, long, lap = _roll(sizes)
    value = w.value / (w.value - lap.value) * long.value / (long.value - lap.value)
    return Derivation(name, value, unit, "w / (w - lap) × l / (l - lap)", (w, long, lap))


def _roll(sizes: Practice) -> tuple[Derivation, Derivation, Derivation]:
    names = ("width", "length", "lap")
    w, long, lap = (
        Derivation(f"{n} of a roll" if n != "lap" else "lap of two sheets", sizes.size(f"rolls.{n}"), "mm",
                   source=f"catalogue: practice rolls.{n} ({sizes.source(f'rolls.{n}')})")
        for n in names
    )  # fmt: skip
    return w, long, lap


def _seams(sizes: Practice, plies: int) -> Derivation:
    """Seams on a square metre of every ply: one along each sheet, one across each roll."""
    w, long, lap = _roll(sizes)
    layers = Derivation("plies", plies, "", source="buildup: layers")
    value = plies * (M / (w.value - lap.value) + M / (long.value - lap.value))
    words = "plies × (1 m2 / (w - lap) + 1 m2 / (l - lap))"
    return Derivation("seam by machine a square metre", value, "m/m2", words, (layers, w, long, lap), BY)


# ------------------------------------------------------------------------------------------ plants
@dataclass(frozen=True, slots=True)
class Plant:
    """One species.

    Attributes:
        share: of the planted area [ratio]. spacing: centre to centre [mm].
        staggered: rows are offset by half the spacing; else on a square grid.
    """

    species: str
    share: float
    spacing: float
    staggered: bool = True


def plant_figures(
    buildup: BuildUp, plants: Sequence[Plant], field: Field | None, strips: Sequence[Strip]
) -> Iterator[Figure]:
    """Plants by species; totals where the area of the roof is known."""
    net = _planted(field, strips) if field else None
    for i, p in enumerate(plants):
        apart = Derivation("spacing", p.spacing, "mm", source=f"input: plants[{i + 1}].spacing")
        share = Derivation("share of the planted area", p.share, "", source=f"input: plants[{i + 1}].share")
        cell = p.spacing**2 * (math.sqrt(3) / 2 if p.staggered else 1.0) / M2
        words = "share / (spacing² × √3/2), rows staggered" if p.staggered else "share / spacing², on a square grid"
        rate = Derivation(f"{p.species} a square metre", p.share / cell, "pieces/m2", words, (share, apart))
        total = None
        if net is not None:
            number = math.ceil(net.value * rate.value - 1e-9)
            total = Derivation(p.species, number, "pieces", "planted area × plants a square metre, up", (net, rate))
        yield Figure(
            f"plant-{i + 1}", f"field {buildup.name}", "plants", p.species, "", "pieces", "m2",
            rate.value, total.value if total else None, total or rate,
        )  # fmt: skip


def _planted(field: Field, strips: Sequence[Strip]) -> Derivation:
    net = _net(field, strips)
    more = tuple(
        Derivation(f"planted in the strip of {s.detail}", s.on(s.planted), "m2", "width × length",
                   (Derivation("planted width", s.planted, "mm", source=ON_SECTION), _width(s)[1]))
        for s in strips
        if s.planted
    )  # fmt: skip
    value = net.value + sum(d.value for d in more)
    return Derivation("planted area", value, "m2", "field + what the strips of the edges have", (net, *more))
