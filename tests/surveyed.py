"""Drawing files for the tests of surveys: own files without their extended data, and drawings by a foreign hand."""

from __future__ import annotations

import io
import math
from collections import Counter, defaultdict

import ezdxf
import shapely

from detailgen.output.dxf_tags import APPID
from detailgen.survey.mapping import DrawingMap

UNIT = {"metric": 1.0, "inch": 25.4}


def stripped(data, path):
    """A file of detailgen as it comes back from a program that drops extended data."""
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    for entity in doc.entitydb.values():
        if entity.is_alive and getattr(entity, "has_xdata", None) and entity.has_xdata(APPID):
            entity.discard_xdata(APPID)
    doc.rootdict.discard(APPID)
    doc.saveas(path)
    return path


def map_of(detail):
    """The map that a careful person makes for such a file: layers by what most of them show, the rest by points."""
    catalogue, section = detail.project.context.catalogue, detail.section()
    unit = UNIT[detail.project.context.units.system]
    names = {key: row.name for key, row in catalogue.layers(detail.project.office.layers).items()}
    cut = section.parts
    layer = {p.id: names[catalogue.item(p.kind).layer] for p in cut}
    shown = defaultdict(Counter)
    for p in cut:
        shown[layer[p.id]][meaning(p)] += 1
    most = {name: max(sorted(some), key=some.get) for name, some in shown.items()}
    layers = {name: dict(zip(KEYS, m, strict=True)) for name, m in most.items()}
    layers[names["shape"]] = {"bounds": True}
    layers.setdefault(names["fastener"], {})["fasteners"] = True
    spots = []
    for p in cut:
        if len(p.rings) > 1 or meaning(p) != most[layer[p.id]]:
            for ring in p.rings:
                at = shapely.Polygon(ring).representative_point()
                same = {"id": p.id} if len(p.rings) > 1 else {}
                spots.append({"at": (at.x / unit, at.y / unit), **dict(zip(KEYS, meaning(p), strict=True)), **same})
    drawing = {} if section.flood is None else {"water": section.flood / unit}
    drawing["cuts"] = [[v / unit for v in (*c.a, *c.b)] for c in section.cuts]
    return DrawingMap.model_validate({"layers": layers, "part": spots, "drawing": drawing})


KEYS = ("material", "role", "watertight", "existing", "beyond")


def meaning(part):
    return part.material, part.role, part.watertight, part.status == "existing", part.view == "beyond"


# ------------------------------------------------------------------------------------------ a foreign hand
LAYERS = {
    "wall": "A_CONC", "deck": "A_CONC", "topping": "A_SCREED", "membrane": "R-ROOF MEMB", "flashing": "R-FLASH",
    "mat": "R_PROTECT", "xps": "I-XPS", "drain": "R_DRAINAGE", "fabric": "R_FILTER", "gravel": "L_GRAVEL",
    "edge": "M_METAL", "medium": "L_SOIL", "stone": "F_STONE", "coping": "M_COPING", "barrier": "W_WRB",
    "xps-up": "I-XPS", "facing": "M_FACING", "bracket": "M_BRACKET",
}  # fmt: skip
MEANINGS = {
    "A_CONC": {"material": "concrete"}, "A_SCREED": {"material": "topping"}, "R-ROOF MEMB": {"material": "membrane"},
    "R-FLASH": {"material": "flashing-sheet"}, "R_PROTECT": {"material": "protection-mat"},
    "I-XPS": {"material": "xps"}, "R_DRAINAGE": {"material": "drainage-mat"}, "R_FILTER": {"material": "filter-fabric"},
    "L_GRAVEL": {"material": "gravel"}, "M_METAL": {"material": "galvanised-steel"},
    "L_SOIL": {"material": "growing-medium"}, "F_STONE": {"material": "stone", "role": "cladding"},
    "M_COPING": {"material": "aluminium", "role": "metal"}, "M_FACING": {"material": "aluminium", "role": "cladding"},
    "M_BRACKET": {"material": "aluminium", "role": "hardware"},
    "W_WRB": {"material": "weather-barrier", "watertight": True},
}  # fmt: skip


def drawn_by_hand(section, path, *, unit=25.4, turned=0.5, mirror=True, loose=("gravel",), shift=(0, 0)):
    """A section drawn with plain calls: mirrored, in inches, turned, one part without hatch, one as loose lines."""
    doc = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = {25.4: 1, 1.0: 4}.get(unit, 0)
    model = doc.modelspace()
    c, s = math.cos(math.radians(turned)), math.sin(math.radians(turned))

    def at(p):
        x, y = (-p[0] if mirror else p[0]) / unit + shift[0], p[1] / unit + shift[1]
        return c * x - s * y, s * x + c * y

    for part in section.parts:
        look = {"layer": LAYERS[part.id]}
        for ring in part.rings:
            points = [at(p) for p in ring]
            if part.id in loose:
                for a, b in zip(points, [*points[1:], points[0]], strict=True):
                    model.add_line(a, b, dxfattribs=look)
                continue
            model.add_lwpolyline(points, close=True, dxfattribs=look)
            if part.id != "mat":
                hatch = model.add_hatch(dxfattribs=look)
                hatch.paths.add_polyline_path(points, is_closed=True)
    model.add_text("PARAPET", dxfattribs={"layer": "TEXTS", "height": 3, "insert": at((0, 800))})
    model.add_line(at((-500, 900)), at((500, 900)), dxfattribs={"layer": "TEXTS"})
    doc.saveas(path)
    return path


def hand_map(**drawing):
    """The map for such a drawing."""
    return DrawingMap.model_validate({"layers": {**MEANINGS, "TEXTS": {"ignore": True}}, "drawing": drawing})
