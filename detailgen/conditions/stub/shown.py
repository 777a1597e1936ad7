"""The finished pipe or post, its halves joined at the axis, with its levels, dimensions and marks."""

from __future__ import annotations

from detailgen.conditions.stub.levels import Levels, facts_of
from detailgen.conditions.wording import distance
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section, turned
from detailgen.section.symmetry import Doubled


def shown(v: Levels, w: Workshop, other: Workshop, low: float) -> Section:
    """The section.

    Args:
        v: lines of the uphill half.
        w: where it was built.
        other: where the downhill half was built.
        low: level at which what comes through is cut under the deck.
    """
    f, twice = v.field, Doubled(v.axis)
    (half, voids), (half_, voids_) = w.finished(), other.finished()
    parts, spaces = twice.parts(half, half_), twice.spaces(voids, voids_)
    points = [q for p in parts for r in p.rings for q in r]
    deck, fin = v.buildup.deck_thickness, f.finish_top(v.finished)
    left, right = min(q[0] for q in points), f.right
    cuts = list(twice.cuts([_cut(v)], [_cut(v.other)]))
    far = twice.point((v.core, 0.0))[0]
    if v.kind == "pipe":
        cuts += [CutPlane((far, y), (v.core, y)) for y in (low, v.cut)]
    titles = {"pipe": "title_hot_pipe" if v.hot else "title_pipe", "post": "title_post"}
    section = Section(
        id=v.p.id,
        kind=v.kind,
        title=v.p.title or v.c.say(titles[v.kind]),
        parts=parts,
        spaces=spaces,
        frame=(left, min(low, min(q[1] for q in points)), right, max(q[1] for q in points)),
        cuts=tuple(cuts),
        wet=(right - 50.0, fin + 60.0),
        dry=(right - 50.0, f.deck_top(right - 50.0) - deck / 2),
        coats=twice.coats(w.coats, other.coats),
        fasteners=twice.fasteners(w.fasteners, other.fasteners),
        levels=_levels(v),
        dimensions=_dimensions(v, fin, low),
        marks=twice.marks(_marks(v), _marks(v.other)) + _labels(v, low),
        numbers={**v.numbers, **v.field.waters(v.c)},
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=("hot-work", "ponding"),
        warnings=v.buildup.warnings,
        remarks=_remarks(v),
        drawn=w.k is not None,
    )
    return turned(section, v.axis) if v.turned else section


def _cut(v: Levels) -> CutPlane:
    """The cut plane at the end of a half."""
    f, x = v.field, v.field.right
    return CutPlane((x, f.deck_top(x) - v.buildup.deck_thickness), (x, f.finish_top(x)))


def _remarks(v: Levels) -> tuple[str, ...]:
    units, size, say = v.c.units, v.c.size, v.c.say
    cut = "cut_along_contour" if v.p.falls == "along" else "cut_across_falls"
    near, drain = distance(size("stub.clear"), units), distance(size("stub.clear_drain"), units)
    return (
        say(cut, cut=distance(v.field.falls.cut, units)),
        say("keep_clear", near=near, drain=drain),
        say("one_pipe" if v.kind == "pipe" else "post_by_engineer"),
    )


def _levels(v: Levels) -> tuple[Level, ...]:
    f = v.field
    return (
        *f.datums(v.c.say, v.face, "", v.numbers["finish"]),
        Level("flashing-top", (v.face, v.sheet), v.c.say("top_of_flashing"), v.numbers["flashing_top"]),
    )


def _dimensions(v: Levels, fin: float, low: float) -> tuple[Dimension, ...]:
    f, size = v.field, v.c.size
    mem, inside = f.membrane_top(v.face), v.finished + 0.8 * v.numbers["margin"].value
    leg = v.finished + size("parapet.inner_clear")
    out = [
        Dimension("flashing-height", (v.finished, fin), (v.face, v.sheet), "y", "right", "flashing_height"),
        Dimension("topping", (inside, f.deck_top(inside)), (inside, f.membrane_top(inside)), "y", "inside"),
        Dimension("lap-field", (v.face, mem), (v.face + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        Dimension("collar-cover", (leg, v.tip), (leg, v.sheet), "y", "inside", "counterflashing_lap"),
        Dimension("size", (2 * v.axis - v.core, low), (v.core, low), "x", "bottom"),
    ]
    if v.upstand > 0:
        out.append(Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"))
    if v.kind == "pipe":
        out.append(Dimension("annulus", (v.core, low), (0.0, low), "x", "bottom"))
    if v.buildup.covering == "planted":
        a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
        out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
    return tuple(out)


def _marks(v: Levels) -> tuple[Mark, ...]:
    x = v.finished + v.numbers["margin"].value
    return (*v.field.slope_mark(x + 40), *v.field.planting(x + 2))


def _labels(v: Levels, low: float) -> tuple[Mark, ...]:
    x = v.field.right * 0.7
    labels = [
        Mark("exterior", "label", ((x, v.sheet + 120.0),), text=v.c.say("exterior")),
        Mark("interior", "label", ((x, (low - v.buildup.deck_thickness) / 2 - 40.0),), text=v.c.say("interior")),
    ]
    if v.kind == "post" and getattr(v.p, "anchor", False):
        r, y = v.c.size("stub.eye"), v.cut
        eye = [(v.axis - r, y), (v.axis - r, y + 1.2 * r), (v.axis - 0.5 * r, y + 2 * r), (v.axis + 0.5 * r, y + 2 * r)]
        eye += [(v.axis + r, y + 1.2 * r), (v.axis + r, y)]
        labels.append(Mark("eye", "beyond", tuple(eye)))
    return tuple(labels)
