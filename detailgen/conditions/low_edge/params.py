"""What a detail file may say of a low edge."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams
from detailgen.fields import LengthOrAuto, Model, PositiveLength

CAUTIONS = ("hot-work", "ponding")


class Wall(Model):
    """``wall``: what the edge stands on."""

    kind: Literal["concrete", "masonry"] = "masonry"
    thickness: PositiveLength | None = None
    finish: PositiveLength | None = Key(None, description="thickness of the finish outside")


class Gutter(Model):
    """``gutter``: the hung gutter of an edge that drains over."""

    width: PositiveLength | None = None
    depth: PositiveLength | None = None


class EdgeParams(DetailParams):
    """Keys that low edges and eaves gutters share."""

    drains: Literal["over", "inwards"] = Key("over", description="over the edge into a hung gutter, or to drains")
    wall: Wall = Wall()
    gutter: Gutter | None = Key(None, description="only where the roof drains over the edge")
    lip: LengthOrAuto = Key("auto", description="only where it drains inwards: above the finished surface")
    screen_at: PositiveLength | None = Key(None, description="screen of a covered roof, from the roof edge")
    flange: PositiveLength | None = Key(None, description="of the edge metal")
    stripping: PositiveLength | None = Key(None, description="of the stripping sheet beyond the flange")
    nailer: PositiveLength | None = Key(None, description="width of the timber at the edge")
    hanger: StrictBool = Key(True, description="the gutter's hanger seen beyond the cut")
    cut: Literal["run", "outlet"] = Key("run", description="through the hung gutter between its outlets, or at one")


class LowEdgeParams(EdgeParams):
    """Keys of a ``[[detail]]`` with ``kind = "low-edge"``."""

    kind: Literal["low-edge"] = "low-edge"


class EavesGutterParams(EdgeParams):
    """Keys of a ``[[detail]]`` with ``kind = "eaves-gutter"``: an edge that drains over, cut at the gutter's outlet."""

    kind: Literal["eaves-gutter"] = "eaves-gutter"
    drains: Literal["over"] = "over"
    cut: Literal["run", "outlet"] = "outlet"
