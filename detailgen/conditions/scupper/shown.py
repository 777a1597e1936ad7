"""The finished scupper: the parapet's levels and dimensions, and its own."""

from __future__ import annotations

from dataclasses import replace

from detailgen.conditions.assemblies.shapes import pipe_ends
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
    title = v.p.title or v.wall.c.say("title_overflow_scupper" if v.overflow else "title_scupper")
    margin = "margin" if v.wall.buildup.covering == "planted" else ""
    section = replace(
        bare,
        kind="scupper",
        title=title,
        facts=facts_of(v),
        numbers={**bare.numbers, **v.numbers},
        levels=(*(x for x in bare.levels if x.id != "structure-top"), *_levels(v)),
        dimensions=(*(d for d in bare.dimensions if d.id not in (*DROPPED, margin)), *_dimensions(v)),
        cuts=(*bare.cuts, *pipe_ends(parts, "hopper-pipe")),
        cautions=tuple(dict.fromkeys([*bare.cautions, "water-test"])),
        remarks=(*bare.remarks, *_remarks(v)),
    )
    return replace(section, marks=(*section.marks, *_water(v, section)))


def _levels(v: Levels) -> tuple[Level, ...]:
    n, say = v.numbers, v.wall.c.say
    out = [Level("invert", (v.wall.x_out, v.floor_at(v.wall.x_out)), say("scupper_floor"), n["invert"])]
    if "design_water" in n:
        water = n["design_water"]
        out.append(Level("design-water", (v.wall.face, water.value), say("design_water_level"), water))
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
    keys = ("parapet_raised",) if v.raised else ()
    return tuple(v.wall.c.say(key) for key in (*keys, "overflow_seen" if v.overflow else "opening_by_designer"))
