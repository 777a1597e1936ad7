"""The roof side of an upstand: cant, what lies behind the sheet, the bar at its top, what is bonded on it."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size
from detailgen.conditions.field import Field, corner
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.buildup import BuildUp
from detailgen.section.front import Front, Place
from detailgen.section.model import Derivation


def wants_cant(given: bool | None, b: BuildUp) -> bool:
    """Whether the sheets are led up over a cant: asked for, or needed by a bituminous membrane."""
    own = b.membrane.material
    return given if given is not None else "bituminous" in own.tags and own.key != "membrane"


def face_of(b: BuildUp, upstand: float, board: float) -> float:
    """What receives the sheet, as x: the backing, or in a conventional roof what lies before it [mm]."""
    if b.system == "inverted":
        return 0.0
    vapour = next(layer.thickness for layer in b.solid if layer.material.role == "vapour-control")
    return vapour + upstand + board if upstand > 0 else vapour


def finished_face(
    face: float, sheet: Derivation, upstand: float, facing: float, name: str = "facing"
) -> Derivation:
    """From the backing to the finished roof-side face."""
    inputs = (
        Derivation("face that receives the sheet", face),
        sheet,
        Derivation("upstand insulation outside the sheet", upstand),
        Derivation(name, facing),
    )
    formula = f"what receives the sheet + sheet + upstand insulation + {name}"
    return Derivation("finished face from the backing", sum(i.value for i in inputs), "mm", formula, inputs)


def over_the_cant(
    field: Field, finish: Derivation, sheet: Derivation, cant: Derivation, above: Derivation
) -> Derivation:
    """Top of a sheet whose counterflashing hangs clear of the cant.

    Args:
        field: the roof field.
        finish: finished surface at the upstand.
        sheet: thickness of the flashing sheet.
        cant: height of the cant.
        above: clearance over the cant and cover of the counterflashing.
    """
    layers = field.buildup.sum_of(field.buildup.above, "layers on the membrane")
    value = finish.value - layers.value + cant.value + 2 * sheet.value + above.value
    formula = "finished surface - layers on the membrane + cant + two sheets + clearance and cover"
    return Derivation("required top over the cant", value, "mm", formula, (finish, layers, cant, sheet, above))


def lay_cant(w: Workshop, size: Size) -> None:
    """A cant of 45 degrees in the inside corner."""
    leg = size("parapet.cant")
    x = corner(w.front).point[0]
    a = w.front.over(x + leg)
    b = w.front.ray((x + leg, a.point[1] + leg), (-1.0, 0.0), after=a.segment)
    w.fill("cant", "cant", a, [], b, "cant", step=4, thickness=leg)


def lay_dry(w: Workshop, size: Size, face: float, upstand: float, top: float, rise: float = 0.0) -> None:
    """Conventional roof: insulation and cover board on the upstand, behind the sheet.

    Args:
        w: the workshop; the layers under the membrane are laid.
        size: office practice.
        face: x of what receives the sheet.
        upstand: thickness of the insulation.
        top: level of the top of the board.
        rise: how much higher the insulation ends at the backing: a chamfer that sheds water.
    """
    board = size("parapet.board")
    x = face - board
    a, b = w.front.over(x), w.front.at("inner", y=top + rise, last=True)
    kind, faces = "upstand-insulation-dry", ["upstand", "top"]
    w.fill("upstand-insulation", kind, a, [(x, top)], b, faces, step=4, thickness=upstand)
    a, b = w.front.over(face), w.front.at("upstand", end=0, last=True)
    w.fill("upstand-board", "upstand-board", a, [(face, top)], b, faces, step=4, thickness=board)


def lay_dry_capped(w: Workshop, size: Size, face: float, upstand: float, top: float) -> None:
    """The same before a kerb whose top the sheet passes over: a timber closer on insulation and board."""
    closer = size("wall.closer")
    lay_dry(w, size, face, upstand, top - closer)
    a, b = w.front.corner((face, top - closer)), w.front.at("inner", end=0, last=True)
    w.fill("kerb-closer", "kerb-closer", a, [(face, top)], b, ["upstand", "top"], step=5, thickness=closer)


def lay_flashing(w: Workshop, kind: str, end: Place, m: float, lap: float, cant: float) -> None:
    """The flashing sheet from its lap on the field sheet, which begins at the toe of a cant, up to its end."""
    foot = w.front.over(toe(w.front, cant).point[0] + lap)
    w.lay("flashing", kind, foot, end, m, step=8, sizes={"lap": lap})


def toe(front: Front, cant: float) -> Place:
    """Where the field ends: the inside corner, or the foot of the cant in it, on the sheets that are led up over it."""
    place = corner(front)
    if not cant:
        return place
    i, points = place.segment, front.points
    while i > 0 and points[i][1] - points[i - 1][1] > 0.5 * abs(points[i][0] - points[i - 1][0]):
        i -= 1
    return Place(i, points[i])


@dataclass(frozen=True)
class Bar:
    """A termination bar [mm].

    Attributes:
        face: name of the face that it lies on. x: of what receives the sheet. m: thickness of the sheet.
        top: its upper edge. solid: x of the face of what holds its screws. into: id of that part.
        depth: of the screws in it. fixes: id of the sheet under the bar.
    """

    face: str
    x: float
    m: float
    top: float
    solid: float
    into: str
    depth: float
    fixes: str = "flashing"


def lay_bar(w: Workshop, size: Size, bar: Bar, sheet: float | None) -> None:
    """Bar, screws, mastic behind the sheet, and a bead on top where the sheet ends at level `sheet`."""
    height, spacing = size("parapet.bar_height"), size("parapet.bar_spacing")
    a, b = w.front.at(bar.face, y=bar.top - height), w.front.at(bar.face, y=bar.top, last=True)
    sizes = {"height": height, "spacing": spacing}
    w.lay("termination-bar", "termination-bar", a, b, size("parapet.bar"), step=9, sizes=sizes, on=(bar.fixes,))
    head = w.front.at(bar.face, y=bar.top - height / 2).point
    tip = (bar.solid - bar.depth, head[1])
    w.fasten("bar-screw", "bar-screw", head, tip, fixes="termination-bar", into=bar.into, spacing=spacing)
    w.coat("cut-off-mastic", "cut-off-mastic", ((bar.x, bar.top - height), (bar.x, bar.top)), step=8)
    if sheet is None:
        return
    a = next(Place(i, p) for i, p in enumerate(w.front.points) if abs(p[1] - bar.top) < 1e-6 and p[0] > head[0] - 1e-6)
    bead = size("parapet.sealant_bead")
    b = w.front.at(bar.face, y=sheet + bead, last=True)
    over = (bar.x + w.t(bar.m, "flashing"), sheet + bead / 5)  # clear of the sheet's end, however thick
    w.fill("bar-sealant", "bar-sealant", a, [over], b, bar.face, step=9)


def lay_bonded(w: Workshop, size: Size, x: float, top: float, finish: float, thickness: float) -> None:
    """Inverted roof: insulation bonded outside the sheet, under a facing that ends in the gravel.

    Args:
        w: the workshop; the layers up to the first board are laid.
        size: office practice.
        x: its outer face.
        top: its top.
        finish: level of the finished surface.
        thickness: of the insulation.

    Raises:
        BuildError: too little height for it.
    """
    a, b, faces = w.front.over(x), w.front.at("inner", y=top, last=True), ["upstand", "upstand-top"]
    kind = "upstand-insulation"
    w.fill(kind, kind, a, [(x, top)], b, faces, step=12, thickness=thickness, on=("flashing",))
    low = finish - size("parapet.facing_below_gravel")
    if top - low < 40:
        raise BuildError(
            "height", "the upstand is too low for insulation and facing on its roof side", "facing-too-low"
        )
    a, b = w.front.at("upstand", y=low), w.front.at("upstand-top", end=0, last=True)
    w.lay("facing", "facing", a, b, size("parapet.facing"), step=13, on=(kind,))
