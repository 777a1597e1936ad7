"""A drawing file as lines and areas: blocks unfolded, curves followed, everything else left out, all of it bounded."""

from __future__ import annotations

import io
import json
import math
import re
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from detailgen.errors import InputError, Problem, near_miss
from detailgen.output.dxf_tags import APPID
from detailgen.output.guests import import_ezdxf
from detailgen.section.model import Point
from detailgen.survey.known import exactness, limit

DXF_UNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}  # INSUNITS → mm. Source: DXF Reference, header variables
UNIT_NAMES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
CURVES = ("LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")
AREAS = ("HATCH", "MPOLYGON")
FILLED = ("SOLID", "TRACE")
_ENTITY = re.compile(rb"(?:^|\n)[ \t]*0[ \t]*\r?\n[ \t]*[A-Z]")


@dataclass(frozen=True, slots=True)
class Shape:
    """One line or area of a drawing, in drawing units.

    Attributes:
        sort: ``line`` (open), ``ring`` (closed line) or ``area`` (a hatch, or a solid).
        rings: one for lines; the boundaries of an area.
        layer: its name in the file.
        pattern: name of the hatch pattern; empty for lines and solid fills.
        handle: of the entity in the file; of the outermost block reference for what is inside one.
        facts: what detailgen wrote about it, empty for other entities.
    """

    sort: Literal["line", "ring", "area"]
    rings: tuple[tuple[Point, ...], ...]
    layer: str
    pattern: str = ""
    handle: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Drawing:
    """A drawing file as it was read.

    Attributes:
        name: of the file, as messages show it.
        unit: millimetres of a drawing unit as the file says, None if it says nothing.
        record: what detailgen wrote about the section, None in other files.
    """

    name: str
    shapes: tuple[Shape, ...]
    unit: float | None
    record: Mapping[str, Any] | None = None

    @property
    def layers(self) -> list[str]:
        """Names of the layers that hold lines or areas, sorted."""
        return sorted({s.layer for s in self.shapes})


def read_drawing(path: str | Path) -> Drawing:
    """Reads one DXF file.

    Raises:
        InputError: it is no DXF, it is spoiled, or it is larger than what is read.
    """
    path = Path(path)
    data = _bytes(path)
    doc = _document(path, data)
    name = str(path)
    reader = _Reader(name, time.monotonic() + limit("seconds"))
    try:
        shapes = tuple(reader.shapes(doc.modelspace()))
    except InputError:
        raise
    except RecursionError:
        raise _refuse(name, "has blocks that hold themselves") from None
    except Exception as error:  # ezdxf meets a spoiled entity with whatever error it runs into
        raise _refuse(name, f"holds an entity that cannot be read ({type(error).__name__}: {error})") from None
    if not shapes:
        raise _refuse(name, "has no lines and no hatches in its model space")
    return Drawing(name, shapes, DXF_UNITS.get(int(doc.header.get("$INSUNITS", 0) or 0)), _record(doc))


def _refuse(name: str, message: str, hint: str = "") -> InputError:
    return InputError([Problem(name, "", "", message, hint)])


def _bytes(path: Path) -> bytes:
    """The file's bytes, if they can be a drawing of an ordinary size.

    Raises:
        InputError: missing, a folder, empty, too large, or with too many entities.
    """
    name, most = str(path), int(limit("megabytes") * 1e6)
    try:
        if path.is_dir():
            raise _refuse(name, "is a folder; give a DXF file")
        if not path.exists():
            near = near_miss(path.name, _neighbours(path))
            raise _refuse(name, "there is no such file", near)
        if not path.is_file():
            raise _refuse(name, "is not an ordinary file; give a DXF file")
        with path.open("rb") as f:
            data = f.read(most + 1)
    except (OSError, ValueError) as error:
        raise _refuse(name, f"cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if len(data) > most:
        raise _refuse(name, f"is larger than {limit('megabytes'):g} MB: save the section alone")
    if not data.strip():
        raise _refuse(name, "is empty")
    if not _binary(data):
        if b"SECTION" not in data[:65536]:
            raise _refuse(name, "is no DXF file: it has no sections; save the drawing as DXF")
        count = sum(1 for _ in _ENTITY.finditer(data))
        if count > 4 * limit("entities"):
            raise _refuse(name, f"holds some {count} entities, more than are read: save the section alone")
    return data


def _neighbours(path: Path) -> list[str]:
    return [p.name for p in path.parent.glob("*.dxf")][:200] if path.parent.is_dir() else []


def _binary(data: bytes) -> bool:
    """Whether it is the binary form. Source: DXF Reference, binary DXF files: the sentinel at the beginning."""
    return b"Binary DXF" in data[:32]


def _document(path: Path, data: bytes) -> Any:
    ezdxf = import_ezdxf()
    try:
        if _binary(data):
            return ezdxf.readfile(str(path))
        from ezdxf.filemanagement import dxf_stream_info

        info = dxf_stream_info(io.StringIO(data[:200_000].decode("cp1252", "ignore")))
        text = data.decode(info.encoding if info.version < "AC1021" else "utf-8", "surrogateescape")
        return ezdxf.read(io.StringIO(text.replace("\r\n", "\n")))
    except Exception as error:  # a cut or spoiled file: ezdxf raises what it runs into
        said = (str(error).strip().splitlines() or [type(error).__name__])[0][:120]
        raise _refuse(str(path), f"cannot be read as DXF: it is cut off or spoiled ({said})") from None


def _record(doc: Any) -> Mapping[str, Any] | None:
    """What detailgen wrote about the section beside the entities."""
    found = doc.rootdict.get(APPID)
    if found is None or found.dxftype() != "XRECORD":
        return None
    pieces = [str(t.value).partition("=")[2] for t in found.tags if str(t.value).startswith("section=")]
    try:
        record = json.loads("".join(pieces)) if pieces else None
    except ValueError:
        return None
    return record if isinstance(record, dict) else None


@dataclass
class _Reader:
    """Unfolds and bounds."""

    name: str
    until: float
    entities: int = 0
    points: int = 0

    def shapes(self, entities: Iterable[Any], depth: int = 0, handle: str = "", layer: str = "") -> Iterator[Shape]:
        for e in entities:
            self._count()
            own = handle or str(e.dxf.handle or "")
            on = str(e.dxf.get("layer", "0"))
            on = layer if on == "0" and layer else on
            kind = e.dxftype()
            if kind == "INSERT":
                yield from self._unfolded(e, depth, own, on)
            elif kind in CURVES:
                yield from self._curve(e, on, own)
            elif kind in AREAS:
                yield from self._area(e, on, own)
            elif kind in FILLED:
                ring = self._finite([(v.x, v.y) for v in e.wcs_vertices()])
                yield Shape("area", (ring,), on, "", own, _facts(e))

    def _count(self) -> None:
        self.entities += 1
        if self.entities > limit("entities"):
            raise _refuse(self.name, f"holds more than {limit('entities'):g} entities: save the section alone")
        if self.entities % 256 == 0 and time.monotonic() > self.until:
            raise _refuse(self.name, f"takes longer than {limit('seconds'):g} s to read: save the section alone")

    def _unfolded(self, e: Any, depth: int, handle: str, layer: str) -> Iterator[Shape]:
        if depth >= limit("nesting"):
            raise _refuse(self.name, f"has blocks nested more than {limit('nesting'):g} deep, or that hold themselves")
        copies = max(1, e.dxf.get("row_count", 1)) * max(1, e.dxf.get("column_count", 1))
        self.entities += copies - 1
        self._count()
        for one in e.multi_insert() if copies > 1 else (e,):
            yield from self.shapes(one.virtual_entities(), depth + 1, handle, layer)

    def _curve(self, e: Any, layer: str, handle: str) -> Iterator[Shape]:
        from ezdxf.path import make_path

        if e.dxftype() == "POLYLINE" and not (e.is_2d_polyline or e.is_3d_polyline):
            return  # meshes
        if e.dxftype() == "LINE":
            points = [(e.dxf.start.x, e.dxf.start.y), (e.dxf.end.x, e.dxf.end.y)]
        else:
            self._check_bulk(e)
            path = make_path(e)
            points = [(v.x, v.y) for v in path.flattening(self._chord(path))] if len(path) else []
        ring = self._finite(points)
        closed = len(ring) > 3 and (getattr(e, "is_closed", False) is True or math.dist(ring[0], ring[-1]) < 1e-9)
        if closed and math.dist(ring[0], ring[-1]) < 1e-9:
            ring = ring[:-1]
        if len(ring) > 1:
            yield Shape("ring" if closed else "line", (ring,), layer, "", handle, _facts(e))

    def _check_bulk(self, e: Any) -> None:
        """Before a polyline of millions of points is copied about."""
        if e.dxftype() == "LWPOLYLINE" and self.points + len(e) > limit("points"):
            self._too_many()

    def _chord(self, path: Any) -> float:
        """Distance of chords from curves [drawing units]; relative to the curve where units are not known yet."""
        start, size = path.start, max((abs(v.x) + abs(v.y) for v in path.control_vertices()), default=1.0)
        span = max((math.hypot(v.x - start.x, v.y - start.y) for v in path.control_vertices()), default=1.0)
        return max(exactness("flat") * min(1.0, span / 100), size * 1e-9, 1e-6) if math.isfinite(size) else 1.0

    def _area(self, e: Any, layer: str, handle: str) -> Iterator[Shape]:
        from ezdxf.path import from_hatch

        rings = []
        for path in from_hatch(e):
            points = [(v.x, v.y) for v in path.flattening(self._chord(path))]
            if len(points) > 3 and math.dist(points[0], points[-1]) < 1e-9:
                points = points[:-1]
            if len(points) >= 3:
                rings.append(self._finite(points))
        if rings:
            solid = bool(e.dxf.get("solid_fill", 0))
            pattern = "" if solid else str(e.dxf.get("pattern_name", ""))
            yield Shape("area", tuple(rings), layer, pattern, handle, _facts(e))

    def _finite(self, points: list[tuple[float, float]]) -> tuple[Point, ...]:
        self.points += len(points)
        if self.points > limit("points"):
            self._too_many()
        for x, y in points:
            if not (math.isfinite(x) and math.isfinite(y)):
                raise _refuse(self.name, "has coordinates that are no numbers")
            if max(abs(x), abs(y)) > limit("reach"):
                raise _refuse(self.name, f"has coordinates beyond {limit('reach'):g} units: move the section nearer")
        return tuple((float(x), float(y)) for x, y in points)

    def _too_many(self) -> None:
        raise _refuse(self.name, f"has lines of more than {limit('points'):g} points: save the section alone")


def _facts(e: Any) -> dict[str, str]:
    if not e.has_xdata(APPID):
        return {}
    pairs = (str(t.value).partition("=") for t in e.get_xdata(APPID) if t.code == 1000)
    return {name: value for name, _, value in pairs}
