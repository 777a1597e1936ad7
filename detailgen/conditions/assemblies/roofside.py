"""What every upstand has on its roof side: faces, the field before it, how high its sheet stands; shared by all levels.

A condition's own levels are a subclass: `RoofSide.of` gives the faces, `field` the roof before them, and `shared` hands
everything on.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, Self

from detailgen.conditions.assemblies.upstand import face_of, finished_face
from detailgen.conditions.base import Context, DetailParams, Height, falls_of
from detailgen.conditions.field import Field
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class RoofSide:
    """Lines of an upstand on its roof side [mm].

    Attributes:
        face: x of what receives the sheet. boards: what the roof's boards butt against. finished: finished face.
        upstand: insulation of the upstand. m: flashing sheet. cant: the sheets are led up over a cant.
    """

    c: Context
    buildup: BuildUp
    face: float
    boards: float
    finished: float
    upstand: float
    m: float
    cant: bool

    @classmethod
    def of(cls, c: Context, b: BuildUp, upstand: float, cant: bool, facing: str = "parapet.facing") -> Self:
        """The faces: on an inverted roof insulation and facing stand outside the sheet, else behind it.

        Args:
            c: sizes and materials.
            b: the roof.
            upstand: thickness of the insulation, 0 for none.
            cant: the sheets are led up over a cant.
            facing: practice row of what covers insulation outside the sheet.
        """
        m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
        face = face_of(b, upstand, c.size("parapet.board"))
        outside = upstand if b.system == "inverted" else 0.0
        boards = face + m + outside
        return cls(c, b, face, boards, boards + (c.size(facing) if outside else 0.0), upstand, m, cant)

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane."""
        return self.buildup.system == "inverted"

    @property
    def faced(self) -> bool:
        """Upstand insulation outside the sheet, under a facing."""
        return self.inverted and self.upstand > 0

    @property
    def cant_height(self) -> float:
        """Height of the cant, 0 without one [mm]."""
        return self.c.size("parapet.cant") if self.cant else 0.0

    @property
    def flashing(self) -> Derivation:
        """Thickness of the flashing sheet."""
        return Derivation("flashing sheet", self.m, source="catalogue: flashing-sheet")

    def before(
        self, p: DetailParams, run: str, margin: float, reach: float = 0.0, beyond: str = "field.beyond_events"
    ) -> Field:
        """The roof field in front of it, cut beyond the last thing that happens at the upstand.

        Args:
            p: says how the roof falls in the cut.
            run: practice row of the usual distance to the sump's edge.
            margin: width of what lies in front of the finished face [mm].
            reach: x of something else that must be shown [mm].
            beyond: practice row of how much of the field is shown after it.
        """
        falls = falls_of(p, self.buildup, self.c.size(run))
        events = max(self.events(margin), reach)
        return Field(self.buildup, falls, self.c.sizes, falls.cut_plane(events, self.c.size(beyond)))

    def events(self, margin: float) -> float:
        """The last thing that happens at the upstand: the end of its margin, x [mm]."""
        foot = self.c.size("margin.edge_foot") if self.buildup.covering == "planted" else 0.0
        return self.finished + margin + foot

    def both_ways(self, p: DetailParams, run: str, margin: float, axis: float, beyond: str) -> tuple[Field, Field]:
        """The field on the uphill side of something that stands in the roof, and on its downhill side.

        Both are seen as if they stood on the right of the axis, at which the roof is as thick as the build-up says;
        in a cut along the contour both are level.

        Args:
            p: says how the roof falls in the cut, and how far the sump is from the axis.
            run: practice row of that distance.
            margin: width of what lies in front of the finished face [mm].
            axis: x of the axis [mm].
            beyond: practice row of how much of the field is shown after it.
        """
        falls, size = falls_of(p, self.buildup, self.c.size(run)), self.c.size

        def field(apparent: float) -> Field:
            there = replace(falls, apparent=apparent)
            right = there.cut_plane(self.events(margin), size(beyond), axis)
            return Field(self.buildup, there, self.c.sizes, right, axis)

        return field(abs(falls.apparent)), field(0.0 - abs(falls.apparent))

    def stands(
        self, field: Field, finish: Derivation, required: Derivation, top: Derivation, facing: str = "facing"
    ) -> dict[str, Derivation]:
        """The numbers that every upstand prints: from the finished surface to the top of its sheet."""
        height = Derivation(
            "flashing height", top.value - finish.value, "mm", "top of the flashing - finished surface", (top, finish)
        )
        outside = self.upstand if self.inverted else 0.0
        cover = self.finished - self.boards
        return {
            "finish": finish,
            "required_top": required,
            "flashing_top": top,
            "flashing_height": height,
            "topping": self.buildup.thickness_at(field.falls.cut),
            "finished_face": finished_face(self.face, self.flashing, outside, cover, facing),
        }

    def shared(self) -> dict[str, Any]:
        """What a subclass is made with, besides its own lines."""
        return {f.name: getattr(self, f.name) for f in fields(RoofSide)}


def refuse_ambiguous(height: object) -> None:
    """A height is counted from one place.

    Raises:
        BuildError: from two, or from none.
    """
    if isinstance(height, Height) and (height.above_deck is None) == (height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")


def given_height(
    height: float | str | Height, finish: Derivation, name: str, sheet: Derivation | None = None
) -> Derivation | None:
    """The height that the user asked for, None for ``"auto"``.

    Args:
        height: as it stands in the file.
        finish: finished surface at the upstand.
        name: of what has that height.
        sheet: lies on it: a height above the finished surface is that of the sheet.
    """
    if isinstance(height, str):
        return None
    if not isinstance(height, Height):
        return Derivation(name, float(height))
    if height.above_finish is None:
        assert height.above_deck is not None
        return Derivation(name, height.above_deck)
    above = Derivation("height above the finished surface", height.above_finish)
    inputs = (finish, above) if sheet is None else (finish, above, sheet)
    value = finish.value + above.value - (sheet.value if sheet else 0.0)
    return Derivation(name, value, "mm", "finished surface + height" + (" - sheet" if sheet else ""), inputs)
