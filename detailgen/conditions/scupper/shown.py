"""The finished scupper: the parapet's levels and dimensions, and its own."""

from __future__ import annotations

from dataclasses import replace

from detailgen.conditions.assemblies.waterline import water_marks
from detailgen.conditions.parapet.shown import Shown
from detailgen.conditions.scupper.build import Build
from detailgen.conditions.scupper.levels import Levels, facts_of
from detailgen.section.model import Dimension, Level, Mark, Part, Section, Space

DROPPED = ("structure-height", "backing", "topping", "drip", "coping-cover", "lap-field")  # the parapet's own matter


def shown(build: Build, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
    """The section."""
    v = build.v
    bare = Shown(v.wall, build.parapet.wall, build.parapet.coping).section(build.w, parts, spaces)
    title = "Overflow scupper through the parapet" if v.overflow else "Scupper through the parapet"
    margin = "margin" if v.wall.buildup.covering == "planted" else ""
    section = replace(
        bare,
        kind="scupper",
        title=v.p.title or title,
        facts=facts_of(v),
        numbers={**bare.numbers, **v.numbers},
        levels=(*(x for x in bare.levels if x.id != "structure-top"), *_levels(v)),
        dimensions=(*(d for d in bare.dimensions if d.id not in (*DROPPED, margin)), *_dimensions(v)),
        cautions=tuple(dict.fromkeys([*bare.cautions, "water-test"])),
        remarks=(*bare.remarks, *_remarks(v)),
    )
    return replace(section, marks=(*section.marks, *_water(v, section)))


def _levels(v: Levels) -> tuple[Level, ...]:
    n = v.numbers
    out = [Level("invert", (v.wall.x_out, v.floor_at(v.wall.x_out)), "floor of the scupper", n["invert"])]
    if "design_water" in n:
        out.append(
            Level("design-water", (v.wall.face, n["design_water"].value), "design water level", n["design_water"])
        )
    return tuple(out)


def _dimensions(v: Levels) -> tuple[Dimension, ...]:
    w = v.wall
    x = (w.x_out + w.x_in) / 2
    out = [Dimension("opening", (x, v.floor_at(x)), (x, v.top), "y", "inside", "scupper_height")]
    face = min(w.outside.face, w.outer - w.m)
    out.append(
        Dimension("spout", (v.end, v.floor_at(v.end)), (face, v.floor_at(face)), "x", "inside", "spout_clearance")
    )
    if v.overflow:
        low = v.numbers["low_point"].value
        out.append(Dimension("rise", (w.face + 40, low), (w.face, v.floor), "y", "inside", "scupper_invert"))
    if v.chamber:
        y = w.field.finish_top(v.inner)
        out.append(Dimension("chamber", (v.inner, y), (v.inner + v.chamber, y), "x", "inside"))
    return tuple(out)


def _water(v: Levels, section: Section) -> tuple[Mark, ...]:
    """Where the overflow begins and the design level, from the scupper to where the sheet rises or the cut plane."""
    out: list[Mark] = []
    f, w = v.wall.field, v.wall
    for name in ("way_in", "design_water"):
        if name not in v.numbers:
            continue
        y = v.numbers[name].value
        slope, right = f.falls.apparent, f.right
        far = right if slope <= 1e-9 else min(right, w.face + (y - f.membrane_top(w.face)) / slope)
        out += water_marks(section, name, y, w.face + 5.0, far, v.inner + v.chamber / 2)
    return tuple(out)


def _remarks(v: Levels) -> tuple[str, ...]:
    raised = "The parapet is as high as the opening needs; the parapet beside it has the same height."
    some = (raised,) if v.raised else ()
    if not v.overflow:
        return (
            *some,
            "The size of the opening and of the pipe is to be computed by the drainage designer.",
        )
    return (
        *some,
        "The overflow discharges where it is seen; the head over its floor is for the drainage designer to confirm.",
    )
