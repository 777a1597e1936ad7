"""Areas with a meaning as a section that can be measured; its seeds from its own geometry where nobody gives them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import shapely

from detailgen.catalogue import Catalogue
from detailgen.errors import InputError, Problem
from detailgen.section.model import CutPlane, Fastener, Part, Point, Section, column
from detailgen.survey.areas import Area, Frame
from detailgen.survey.mapping import DrawingMap
from detailgen.survey.shapes import Drawing, Shape

ABOVE = 60.0  # the wet seed stands so high over the roof [mm]
INSIDE = 50.0  # and so far from the cut plane [mm]
LEAST_SCREW = 15.0  # shorter lines on a layer of fasteners are heads and threads [mm]
OFF_A_CORNER = 0.0137  # no cut runs through a corner [mm]
AT_THE_HEAD = 1.0  # a short line crosses a screw this near to its head [mm]


def section_of(drawing: Drawing, areas: Sequence[Area], given: DrawingMap, frame: Frame, rows: Catalogue) -> Section:
    """The section of a drawing.

    Raises:
        InputError: no waterproofing, or something that the drawing cannot tell and the map does not.
    """
    parts = tuple(_part(k, some, rows) for k, some in enumerate(grouped(areas)))
    sheets = [p for p in parts if p.role == "waterproofing"]
    if not sheets:
        message = "nothing in the drawing is waterproofing: give its layer a material such as membrane"
        raise InputError([Problem(drawing.name, "layers", "", message)])
    x0, y0, x1, y1 = (float(v) for v in shapely.total_bounds([a.polygon for a in areas]))
    side = _field_side(drawing, sheets, given)
    x = (x1 - INSIDE if side == "right" else x0 + INSIDE) + OFF_A_CORNER
    table, nowhere = given.drawing, (0.0, 0.0)
    bare = Section(
        id=drawing.name.rsplit("/", 1)[-1].removesuffix(".dxf"),
        kind=str(given.facts.get("kind", "")),
        title=drawing.name,
        parts=parts,
        spaces=(),
        frame=(x0, y0, x1, y1),
        cuts=_cuts(given, frame, (x1 if side == "right" else x0, y0, y1)),
        wet=nowhere,
        dry=nowhere,
        fasteners=tuple(_fasteners(drawing.shapes, given, frame)),
        facts=dict(given.facts),
        flood=None if table.water is None else frame.point((0.0, table.water))[1],
    )
    cut = column(bare, x)
    wet = frame.point(table.wet) if table.wet else (x, max((high for _, high, _ in cut), default=y1) + ABOVE)
    dry = frame.point(table.dry) if table.dry else (x, _under(drawing, cut, {p.id for p in sheets}))
    return replace(bare, wet=wet, dry=dry, frame=(x0, min(y0, dry[1] - 1.0), x1, y1))


def _cuts(given: DrawingMap, frame: Frame, end: tuple[float, float, float]) -> tuple[CutPlane, ...]:
    """Where the drawing is cut: as the map says, else at the end of the roof field (x, lower and upper level)."""
    x, low, high = end
    if given.drawing.cuts is None:
        return (CutPlane((x, low), (x, high)),)
    return tuple(CutPlane(frame.point((a, b)), frame.point((c, d))) for a, b, c, d in given.drawing.cuts)


def grouped(areas: Sequence[Area]) -> list[list[Area]]:
    """Areas that are one part: those that the map names by one id; every other area is a part of its own."""
    out: dict[str, list[Area]] = {}
    for k, a in enumerate(areas):
        out.setdefault(a.id or f"/{k}", []).append(a)
    return list(out.values())


def _part(number: int, some: Sequence[Area], rows: Catalogue) -> Part:
    a = some[0]
    assert a.meaning is not None and a.meaning.material is not None
    row = rows.material(a.meaning.material)
    watertight = row.watertight if a.meaning.watertight is None else a.meaning.watertight
    return Part(
        id=a.id or f"{row.key}-{number + 1}",
        kind=row.key,
        material=row.key,
        role=a.meaning.role or row.role,
        rings=tuple(one.ring for one in some),
        order=number,
        watertight=watertight,
        view="beyond" if a.meaning.beyond else "cut",
        status="existing" if a.meaning.existing else "new",
    )


def _field_side(drawing: Drawing, sheets: Sequence[Part], given: DrawingMap) -> str:
    """Left or right of the upstand: as the map says, else where the flat sheet lies beside the steep one."""
    if given.drawing.outside is not None:
        return "right" if given.drawing.outside == "left" else "left"
    flat, steep = (0.0, 0.0), (0.0, 0.0)
    for p in sheets:
        for ring in p.rings:
            for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
                along, up = abs(b[0] - a[0]), abs(b[1] - a[1])
                middle = (a[0] + b[0]) / 2
                if up > along and up > steep[0]:
                    steep = (up, middle)
                elif along > up and along > flat[0]:
                    flat = (along, middle)
    if not steep[0] or not flat[0]:
        message = 'the drawing does not tell where the roof field lies: give outside = "left" or "right"'
        raise InputError([Problem(drawing.name, "drawing.outside", "", message)])
    return "right" if flat[1] > steep[1] else "left"


def _under(drawing: Drawing, cut: Sequence[tuple[float, float, str]], names: set[str]) -> float:
    """A level inside what lies lowest under the field's sheet."""
    level = min((low for low, _, id in cut if id in names), default=None)
    below = [(low, high) for low, high, _ in cut if level is not None and high <= level + 1.0]
    if not below:
        message = "the drawing shows nothing under the roof's sheet: give dry = [x, y], a point inside the building"
        raise InputError([Problem(drawing.name, "drawing.dry", "", message)])
    low, high = min(below)
    return (low + high) / 2


def _fasteners(shapes: Iterable[Shape], given: DrawingMap, frame: Frame) -> list[Fastener]:
    """Lines on the layers of fasteners; the head is where a short line crosses the end, else the higher end."""
    lines = []
    for s in shapes:
        layer = given.layer(s.layer)
        if s.sort == "line" and layer is not None and layer.fasteners and frame.shows(s.rings[0]):
            lines.append(shapely.LineString(frame.points(s.rings[0])))
    shanks = [line for line in lines if line.length >= LEAST_SCREW and len(line.coords) == 2]
    heads = [line.centroid for line in lines if line.length < LEAST_SCREW]
    out = []
    for k, shank in enumerate(shanks):
        ends: list[Point] = [(float(x), float(y)) for x, y in shank.coords]
        ends.sort(key=lambda p: (min((h.distance(shapely.Point(p)) for h in heads), default=0.0) > AT_THE_HEAD, -p[1]))
        out.append(Fastener(f"fastener-{k + 1}", "screw", ends[0], ends[1], "", "", 0.0))
    return out


def own_section(drawing: Drawing, unit: float) -> Section | None:
    """The section of a file that detailgen wrote, by its extended data; None where they are gone.

    Raises:
        InputError: the file shows several details, or what it says of itself does not fit together.
    """
    rings: dict[str, list[tuple[Point, ...]]] = {}
    facts: dict[str, Any] = {}
    for s in drawing.shapes:
        if s.sort == "ring" and s.facts.get("role") in ("outline", "shape") and s.facts.get("material"):
            rings.setdefault(s.facts["id"], []).append(tuple((x * unit, y * unit) for x, y in s.rings[0]))
            facts[s.facts["id"]] = s.facts
    record = drawing.record
    if not rings or record is None:
        return None
    try:
        parts = tuple(
            Part(
                id=id,
                kind=facts[id].get("kind", ""),
                material=facts[id]["material"],
                role=facts[id]["part_role"],
                rings=tuple(_anticlockwise(r) for r in some),
                order=int(facts[id].get("order", 0)),
                thickness=float(facts[id].get("thickness_mm", 0)),
                watertight=facts[id].get("watertight") == "yes",
                view="beyond" if facts[id].get("view") == "beyond" else "cut",
                status="existing" if facts[id].get("status") == "existing" else "new",
            )
            for id, some in rings.items()
        )
        return Section(
            id=str(record["id"]),
            kind=str(record["kind"]),
            title=str(record["title"]),
            parts=parts,
            spaces=(),
            frame=tuple(float(v) for v in record["frame"]),  # type: ignore[arg-type]
            cuts=tuple(CutPlane(tuple(a), tuple(b)) for a, b in record["cuts"]),
            wet=tuple(float(v) for v in record["wet"]),  # type: ignore[arg-type]
            dry=tuple(float(v) for v in record["dry"]),  # type: ignore[arg-type]
            fasteners=tuple(
                Fastener(f["id"], f["kind"], tuple(f["head"]), tuple(f["tip"]), f["fixes"], f["into"], f["spacing"])
                for f in record["fasteners"]
            ),
            facts=dict(record["facts"]),
            flood=record["flood"],
        )
    except (KeyError, TypeError, ValueError) as error:
        message = f"its extended data do not fit together ({error}); strip them and give a map"
        raise InputError([Problem(drawing.name, "", "", message)]) from None


def _anticlockwise(ring: tuple[Point, ...]) -> tuple[Point, ...]:
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
    return ring if area > 0 else tuple(reversed(ring))
