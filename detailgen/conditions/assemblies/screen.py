"""Perforated screen that holds back the layers of a roof at a gutter or a low edge.

It is a bent sheet that stands on the mat by the weight on its foot; nothing goes through the waterproofing::

      screen |  gravel | medium
             |  boards
     mat ____|______________ foot
"""

from __future__ import annotations

from collections.abc import Mapping

from detailgen.catalogue.practice import Practice
from detailgen.conditions.field import Field, Upstand
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import LEVEL, Front
from detailgen.section.model import Derivation


def screen_top(field: Field, sizes: Practice, x: float) -> Derivation:
    """Top of the screen: a little above what it holds back; flush with pavers."""
    top = Derivation("finished surface behind the screen", field.finish_top(x))
    over = 0.0 if field.buildup.covering == "paved" else sizes.size("screen.above")
    above = Derivation("screen above the finished surface", over, source=sizes.source("screen.above"))
    return Derivation("top of the screen", top.value + over, "mm", "finished surface + height above it", (top, above))


def lay_screen(w: Workshop, field: Field, sizes: Practice, x: float, mat: float, step: int) -> float:
    """Mat and screen; the inner face of the screen stands at x, the mat ends at `mat` or under the screen.

    Returns:
        x of the outer face of the screen [mm].

    Raises:
        BuildError: there is nothing soft on the sheet for it to stand on.
    """
    if not field.underlay:
        raise BuildError(
            "buildup",
            "the foot of a metal screen would wear through the bare sheet: the roof needs a protection mat on its "
            "membrane",
            "screen-needs-mat",
        )
    t = w.t(sizes.size("screen.metal"), "retention-screen")
    foot, top = sizes.size("screen.foot"), screen_top(field, sizes, x).value
    field.lay_underlay(w, step, min(mat, x - t))
    high = field.finish_top(x)  # of several surfaces the uppermost, the mat's, not that of the sheet beside its end
    a, b = w.front.over(x + foot, near=high), w.front.over(x - t, near=high, last=True)
    slope = field.falls.apparent
    heel = a.point[1] - slope * foot + t
    line = [(x + foot, a.point[1] + t), (x, heel), (x, top), (x - t, top)]
    sizes_of: Mapping[str, float] = {"foot": foot, "spacing": sizes.size("screen.gussets")}
    w.fill(
        "screen",
        "retention-screen",
        a,
        line,
        b,
        ["step", "screen-foot", "screen", "screen-top", "screen-out"],
        step=step,
        thickness=sizes.size("screen.metal"),
        girth=foot + top - heel + t,
        sizes=sizes_of,
        thin=True,
        on=(field.underlay[-1].id,),
    )
    return x - t


def lay_behind(w: Workshop, field: Field, sizes: Practice, x: float, step: int) -> None:
    """Everything that the screen holds back: boards, mats, gravel strip, medium; they stop at the screen.

    It comes last: the front ends at the top of the screen, so that no layer goes on beyond it.
    """
    front, last = w.front, w.front.at("screen-top", start=0).segment
    w.front = Front(front.points[: last + 1], front.faces[:last], (front.planes[0], LEVEL))
    field.lay_cover(w, Upstand(x, x, 0.0), step, margin=sizes.size("screen.gravel"))
