"""The reviewer against seeded faults: each just inside its limit, at it, and just past it; and no false alarm."""

import math
from dataclasses import replace
from functools import cache

import pytest
from details import parapet
from handmade import box, part
from test_sheet import METRIC, ROWS, roof, sheet
from trade_plausible import to_toml

import detailgen
from detailgen.cli import run
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section
from detailgen.sheet import review
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Area, Dim, Note, Sheet, Stroke, Text
from detailgen.sheet.model import Mark as PlacedMark
from detailgen.sheet.plane import box_of
from detailgen.sheet.review import limits
from detailgen.sheet.review.inked import words_box
from detailgen.sheet.settings import DimensionEdit, NoteEdit

FRAME = Stroke(((20, 10), (410, 10), (410, 287), (20, 287)), "ttlb", 0.7, closed=True, space="paper")


def bare(*items, k=5.0, units="metric"):
    return Sheet("x", "x", "A3", (420.0, 297.0), k, (0.0, 0.0), (FRAME, *items), "ncs", units)


def section(*parts, **more):
    given = {"wet": (900.0, 1400.0), "dry": (0.0, 0.0), "frame": (0.0, 0.0, 2000.0, 1400.0), "cuts": (), "spaces": ()}
    return Section(id="S", kind="parapet", title="S", parts=parts, **{**given, **more})


def wall(x0=500.0, y0=500.0, x1=1000.0, y1=900.0, id="wall", **more):
    return replace(part(id, "concrete", "structure", box(x0, y0, x1, y1)), **more)


def note(id, leader, text="Words", at=(150.0, 200.0), end="arrow", parts=(), anchor="left"):
    return Note(id, (Text(at, text, 2.5, "note", anchor),), tuple(leader), end, parts)


def words(text="Words that stand here", at=(100.0, 150.0), height=2.5, layer="note", **more):
    return Text(at, text, height, layer, **more)


# ------------------------------------------------------------------------------------------ seeds that have a size
def two_texts(v):
    a, b = words("HHHH"), words("HHHH", (100.0, 150.0))
    x0, y0, x1, y1 = text_box(a)
    run = v / (y1 - y0 + 0.3)
    return bare(a, replace(b, at=(100.0 + x1 - x0 + 0.3 - run, 150.0)))


def small_note(v):
    return bare(words(height=2.5 * v))


def small_caption(v):
    return bare(words(height=1.8 * v, layer="ttxt"))


def past_the_right(v):
    t = words()
    return bare(replace(t, at=(410.0 + v - (text_box(t)[2] - text_box(t)[0]), 150.0)))


def past_the_foot(v):
    return bare(words(at=(100.0, 10.0 - v + 0.28 * 2.5)))


def notes_apart(v):
    a = note("a", ((50, 100), (60, 121.25), (148, 121.25)), at=(150.0, 120.0))
    return bare(a, note("b", ((50, 90), (60, 121.25 - 2.5 - v), (148, 117.5 - v)), at=(150.0, 120.0 - v - 2.5)))


def edges(v):
    return bare(*(note(f"n{i}", (), at=(150.0 + 5 * i, 100.0 + 20 * i)) for i in range(int(v))))


def line_under_text(v):
    t = words()
    x0, y0, x1, y1 = words_box(t)
    pen = 0.1
    run = v * (x1 - x0) * (y1 - y0) / pen
    return bare(t, Stroke(((x0 + 0.1, 151.0), (x0 + 0.1 + run, 151.0)), "hatch", pen))


def together(v):
    back = v / math.sqrt(2)
    return bare(note("a", ((50, 100), (120, 170))), note("b", ((120 - back, 170 - back), (200, 250))))


def into_a_text(v):
    t = words()
    return bare(t, note("a", ((50, 151.0), (text_box(t)[0] - 0.4 + v, 151.0))))


def above_a_text(v):
    t = words()
    x0, _, _, y1 = text_box(t)
    return bare(t, note("a", ((50, y1 + 0.39), (x0 - 0.4 + v, y1 + 0.39))))


def along_a_dimension(v):
    return bare(dim(), note("a", ((49.5, 50.0), (49.5, 50.0 + v)), at=(250.0, 200.0)))


def along_an_extension_line(v):
    return bare(dim(), note("a", ((52.0, 40.5), (52.0 + v, 40.5)), at=(250.0, 200.0)))


def far(v):
    return bare(note("a", ((50, 20), (50 + v / 2, 20 + v * math.sqrt(3) / 2)), at=(250.0, 200.0)))


def flat(v):
    return bare(note("a", ((50, 100), (50 + 40 * math.cos(math.radians(v)), 100 + 40 * math.sin(math.radians(v))))))


def along_an_edge(v):
    return bare(note("a", ((110.0, 180.5), (110.0 + v, 180.5)))), section(wall())


def beside_its_part(v):
    return bare(note("a", ((200.0 + v, 150.0), (230.0, 200.0)), parts=("wall",))), section(wall())


def dot_near_the_edge(v):
    return bare(note("a", ((200.0 - v, 150.0), (230.0, 200.0)), end="dot", parts=("wall",))), section(wall())


def named(v):
    notes = (note(f"n{i}", ((150.0, 150.0), (230.0, 200.0 + i)), parts=("wall",)) for i in range(int(v)))
    return bare(*notes), section(wall())


def dim(value=250.0, **more):
    given = {"a": (60, 40), "b": (60, 90), "line": (50, 40), "axis": "y", "text": "250", "text_at": (48, 65)}
    return Dim("d", **{**given, **more}, value=value)


def dimension_into_text(v):
    t = words(at=(50.0 - 30.0, 70.0))
    t = replace(t, at=(50.0 - (text_box(t)[2] - text_box(t)[0]) / 2, 90.0 + 0.28 * 2.5 - v))
    return bare(dim(a=(50, 40), b=(50, 90)), t)


def leaders_over_a_dimension(v):
    return bare(dim(), *(note(f"n{i}", ((40, 45 + 5 * i), (70, 50 + 5 * i))) for i in range(int(v))))


def off_its_points(v):
    return bare(dim(250.0, b=(60, 90 + v / 5)))


def level_off(v):
    true = section(wall(), levels=(Level("deck", (500.0, 500.0), "deck"),))
    line = Stroke(((40.0, 100.0 + v), (90.0, 100.0 + v)), "symb", 0.18)
    return bare(line, words("+0.500", layer="symb")), section(wall()), true, METRIC


def bar(v):
    ring = ((50, 50), (70 + v, 50), (70 + v, 51.5), (50, 51.5))
    return bare(
        Stroke(ring, "symb", 0.18, closed=True), words("0", (50, 47.2), 1.8, "symb", anchor="centre"),
        words("100 mm", (69, 47.2), 1.8, "symb"),
    )


def break_pen(v):
    cut = CutPlane((1000.0, 400.0), (1000.0, 1000.0))
    brk = Stroke(((200, 78), (200, 202)), "break", 0.18)
    return bare(brk, Stroke(((200, 100), (200, 180)), "struct.conc", v, part="wall")), section(wall(), cuts=(cut,))


def dashed(v):
    return bare(Stroke(((50, 50), (150, 50)), "fabric", 0.35, dash=(v, 2.0)))


def hatched(v):
    return bare(Area((tuple(box(100, 100, 200, 180)),), "hatch", "P", ((45.0, 0.0, 0.0, 0.0, v),), medium="picture"))


def alike(v):
    a = Area((tuple(box(100, 100, 150, 140)),), "hatch", "P", ((45.0, 0, 0, 0, 2.0),), medium="picture", material="one")
    other = box(150, 140 - v, 180, 170)
    return bare(a, replace(a, rings=(tuple(other),), material="other"))


def black(x0, x1, id):
    return Area((tuple(box(x0, 120, x1, 121)),), "membrane", fill="#000000", medium="picture", part=id)


def gap(v):
    sheets = [
        part(id, "membrane", "waterproofing", box(5 * a, 600, 5 * b, 605), watertight=True, thin=True)
        for id, a, b in (("a", 50, 100), ("b", 100 + v, 150))
    ]
    return bare(black(50, 100, "a"), black(100 + v, 150, "b")), section(*sheets)


def heavy(v):
    return bare(Stroke(((100, 100), (150, 140)), "metal", v, part="wall")), section(wall())


def dark_cell(v):
    return bare(Stroke(((100, 105), (110, 105)), "hatch", 10 * v))


def inked(v):
    """Words in two corners, and lines whose pen gives the wished mean."""
    corners = [words("x", at) for at in ((30.0, 20.0), (395.0, 275.0))]
    low = note("a", ((30, 20), (50, 40)), "x", (36.0, 60.0))
    high = note("b", ((390, 270), (380, 260)), "x", (370.0, 200.0))
    seed = [low, high, *corners]

    def lined(pen):
        return bare(*seed, *(Stroke(((50.0, 30.0 + 4 * i), (350.0, 30.0 + 4 * i)), "hatch", pen) for i in range(60)))

    none, one = _mean(lined(0.0)), _mean(lined(1.0))
    return lined((v - none) / (one - none))


def _mean(made):
    from detailgen.sheet.review import Case, readings

    return next(r.value for r in readings(Case(made)) if r.kind == "too much ink")


def marked(*marks):
    return replace(bare(words()), marks=marks)


def leader_of_a_mark(v):
    x0 = text_box(words())[0]
    return marked(PlacedMark(1, (0,), (50.0, 151.0), (x0 + v, 151.0), (x0 + v, 151.0)))


def crossing_marks():
    a = PlacedMark(1, (0,), (50.0, 50.0), (90.0, 90.0), (90.0, 90.0))
    return marked(a, PlacedMark(2, (1,), (50.0, 90.0), (90.0, 50.0), (90.0, 50.0)))


def marks_on_each_other():
    a = PlacedMark(1, (0,), (50.0, 50.0), (50.0, 50.0), (50.0, 50.0))
    return marked(a, replace(a, number=2, at=(51.0, 50.0)))


def mark_on_words():
    return marked(PlacedMark(1, (0,), (110.0, 151.0), (110.0, 151.0), (110.0, 151.0)))


SIZED = [  # kind, seed, how far past the limit is just past it
    ("text on text", two_texts, 0.002), ("text too small", small_note, 0.01), ("text too small", small_caption, 0.01),
    ("outside the frame", past_the_right, 0.02), ("outside the frame", past_the_foot, 0.02),
    ("notes too close", notes_apart, 0.05), ("notes not flush", edges, 1), ("text on linework", line_under_text, 0.002),
    ("leaders run together", together, 0.6), ("leader through text", into_a_text, 0.05), ("flat leader", flat, 0.2),
    ("leader through text", above_a_text, 0.05), ("leader along a dimension", along_a_dimension, 0.05),
    ("leader along a dimension", along_an_extension_line, 0.05), ("leader too long", far, 0.1),
    ("leader of a mark through text", leader_of_a_mark, 0.05),
    ("leader along an edge", along_an_edge, 0.1), ("tip beside its part", beside_its_part, 0.02),
    ("dot on an edge", dot_near_the_edge, 0.02), ("part named twice", named, 1),
    ("dimension through text", dimension_into_text, 0.05), ("dimension crosses a leader", leaders_over_a_dimension, 1),
    ("dimension off its points", off_its_points, 0.05), ("level off its height", level_off, 0.01),
    ("scale bar wrong", bar, 0.002), ("heavy line on a break", break_pen, 0.01), ("dash too short", dashed, 0.02),
    ("dash too long", dashed, 0.1), ("hatch too close", hatched, 0.02), ("neighbours alike", alike, 0.3),
    ("water line broken", gap, 0.01), ("second heavy line", heavy, 0.02), ("too dark", dark_cell, 0.01),
    ("too much ink", inked, 0.004), ("too little ink", inked, 0.002),
]  # fmt: skip


# ------------------------------------------------------------------------------------------ seeds at the inner limits
def nearly_level(v):
    return bare(note("a", ((50, 100), (50 + 40 * math.cos(math.radians(v)), 100 + 40 * math.sin(math.radians(v))))))


def flat_for(v):
    elbow = (50 + v * math.cos(0.1), 100 + v * math.sin(0.1))
    return bare(note("a", ((50, 100), elbow, (150, elbow[1]))))


def above_an_edge(v):
    return bare(note("a", ((110.0, 180.0 + v), (130.0, 180.0 + v)))), section(wall())


def turned_from_an_edge(v):
    rise = math.tan(math.radians(v))
    return bare(note("a", ((110.0, 180.05), (117.0, 180.05 + 7 * rise)))), section(wall())


def beside_a_leader(v):
    off = v * math.sqrt(2)
    return bare(note("a", ((50, 100), (90, 140))), note("b", ((50 + off, 100), (90, 140 - off))))


def beside_a_dimension(v):
    return bare(dim(), note("a", ((50.0 + v, 50.0), (50.0 + v, 60.0)), at=(250.0, 200.0)))


def turned_from_a_dimension(v):
    lean = math.tan(math.radians(v))
    return bare(dim(), note("a", ((50.05, 50.0), (50.05 + 7 * lean, 57.0)), at=(250.0, 200.0)))


def over_a_text(v):
    t = words()
    _, _, _, y1 = text_box(t)
    return bare(t, note("a", ((50, y1 + v), (120.0, y1 + v))))


def beside_a_text(v):
    a = words("HHHH")
    x0, _, x1, _ = text_box(a)
    return bare(a, words("HHHH", (100.0 + x1 - x0 + v, 150.0)))


def above_a_text_of_two(v):
    a = words("HHHH")
    _, y0, _, y1 = text_box(a)
    return bare(a, words("HHHH", (100.0, 150.0 + y1 - y0 + v)))


def along_the_break(v):
    cut = CutPlane((1000.0, 400.0), (1000.0, 1000.0))
    brk = Stroke(((200, 78), (200, 202)), "break", 0.18)
    line = Stroke(((200, 100), (200, 100 + v)), "struct.conc", 0.5, part="wall")
    return bare(brk, line), section(wall(), cuts=(cut,))


INNER = [  # kind, seed, inner limit, on which side of it the fault lies, how far past it is just past it
    ("flat leader", nearly_level, "over", 1, 0.02), ("flat leader", flat_for, "longer", 1, 0.05),
    ("leader along an edge", above_an_edge, "near", -1, 0.02),
    ("leader along an edge", turned_from_an_edge, "angle", -1, 0.1),
    ("leaders run together", beside_a_leader, "near", -1, 0.02),
    ("leader along a dimension", beside_a_dimension, "near", -1, 0.02),
    ("leader along a dimension", turned_from_a_dimension, "angle", -1, 0.1),
    ("leader through text", over_a_text, "pad", -1, 0.02),
    ("text on text", beside_a_text, "pad", -1, 0.02), ("text on text", above_a_text_of_two, "pad", -1, 0.02),
    ("heavy line on a break", along_the_break, "along", 1, 0.02),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "seed", "key", "way", "step"), INNER, ids=lambda v: getattr(v, "__name__", str(v)))
def test_a_seeded_fault_is_found_just_inside_the_inner_limits_of_its_test(kind, seed, key, way, step):
    limit = limits()[kind].more[key]
    assert kind in found(seed(limit + way * step)), "just past"
    assert kind not in found(seed(limit - way * step / 20)), "at the limit"
    assert kind not in found(seed(limit - way * step)), "just inside"


def found(made):
    made = made if isinstance(made, tuple) else (made,)
    return {f.kind for f in review(*made)}


@pytest.mark.parametrize(("kind", "seed", "step"), SIZED, ids=lambda v: getattr(v, "__name__", str(v)))
def test_a_seeded_fault_is_found_just_past_its_limit_and_not_before(kind, seed, step):
    row = limits()[kind]
    limit, way = (row.most, 1) if row.most is not None else (row.least, -1)
    hair = 0 if step == 1 else step / 20
    assert kind in found(seed(limit + way * step)), "just past"
    assert kind not in found(seed(limit - way * hair)), "at the limit"
    assert kind not in found(seed(limit - way * step)), "just inside"


# ------------------------------------------------------------------------------------------ seeds on a good sheet
@cache
def good():
    """A sheet without a fault, the section that it shows, and its settings."""
    detail = detailgen.load("specs/ferry-hall.toml")["P4"]
    made = detail.sheet()
    return made, detail.section(made.k), detail.section(), detail.settings


def test_a_good_sheet_has_no_fault():
    assert [str(f) for f in review(*good())] == []


def test_a_good_sheet_with_its_material_key_has_no_fault():
    made, *rest = keyed()
    assert [str(f) for f in review(made, *rest)] == []
    names = " ".join(t.text for t in made.items if isinstance(t, Text))
    assert "Materials" in names and "Rigid insulation, extruded polystyrene" in names and "Zinc" not in names


def changed(pick, change):
    """The good sheet with what `change` makes of every item that `pick` takes; None drops it."""
    made, *rest = good()
    items, hit = [], 0
    for i in made.items:
        if pick(i):
            hit += 1
            i = change(i)
        if i is not None:
            items.append(i)
    assert hit
    return replace(made, items=tuple(items)), *rest


def with_items(*more):
    made, *rest = good()
    return replace(made, items=(*made.items, *more)), *rest


def on_a_part(id):
    """Where words would stand that begin in the middle of a part."""
    made, drawn, *_ = good()
    x0, y0, x1, y1 = box_of(drawn[id].rings[0])
    return (x0 + x1) / 2 / made.k + made.origin[0], (y0 + y1) / 2 / made.k + made.origin[1]


def is_note(i):
    return isinstance(i, Note) and len(i.leader) == 3 and bool(i.parts)


def dim_of(id):
    return lambda i: isinstance(i, Dim) and i.id == id


def text_of(start):
    return lambda i: isinstance(i, Text) and i.text.startswith(start)


def crossed():
    made, *rest = good()
    a, b = [i for i in made.items if is_note(i)][:2]
    swapped = replace(a, leader=(a.leader[0], *b.leader[1:])), replace(b, leader=(b.leader[0], *a.leader[1:]))
    return replace(made, items=(*(i for i in made.items if i not in (a, b)), *swapped)), *rest


def renamed(text):
    return lambda i: replace(i, lines=(replace(i.lines[0], text=text), *i.lines[1:]))


def open_label():
    made, *_ = good()
    up = made.size[1] - 30
    return changed(text_of("Interior"), lambda t: replace(t, at=(t.at[0], up)))


def unclosed():
    a = dim(150.0, a=(60, 40), b=(60, 70), text="150", text_at=(48, 55))
    b = replace(dim(100.0, a=(60, 70), b=(60, 90), text="100", text_at=(48, 80)), id="e")
    total = replace(dim(250.0, line=(40, 40), text="251", text_at=(38, 65)), id="d+")
    return bare(a, b, total)


def closed_chain(made):
    return bare(*(replace(i, text="250") if isinstance(i, Dim) and i.id == "d+" else i for i in made.items[1:]))


ZINC = Area((((20, 20), (30, 20), (30, 25)),), "fill", space="paper", material="zinc")


def keyed(keep=lambda i: True, more=None):
    """The good sheet with its key, some of it left out or something added."""
    detail = detailgen.load("specs/ferry-hall.toml")["P4"]
    settings = replace(detail.settings, key=True)
    made = detail.composed(detail.findings(), key=True)
    items = tuple(i for i in made.items if keep(i))
    return replace(made, items=items if more is None else (*items, more)), *good()[1:3], settings


BINARY = [
    ("leaders of marks cross", lambda: (crossing_marks(),)), ("marks overlap", lambda: (marks_on_each_other(),)),
    ("mark on text", lambda: (mark_on_words(),)),
    ("unfilled words", lambda: changed(is_note, renamed("Board, {t}"))),
    ("letter missing", lambda: changed(text_of("Exterior"), lambda t: replace(t, text="Exterior ⌀"))),
    ("words cut short", lambda: changed(text_of("Exterior"), lambda t: replace(t, text="Exter…"))),
    ("leaders cross", crossed),
    ("part without a note", lambda: changed(lambda i: isinstance(i, Note) and i.id == "coping", lambda i: None)),
    ("note without a part", lambda: changed(is_note, lambda i: replace(i, parts=(*i.parts, "not-there")))),
    ("note without a leader", lambda: changed(is_note, lambda i: replace(i, leader=()))),
    ("dimension says another number", lambda: changed(dim_of("flashing-height"), lambda d: replace(d, text="163"))),
    ("dimension says another number", lambda: changed(dim_of("backing"), lambda d: replace(d, text='180 [6"]'))),
    ("dimension says another number", lambda: (bare(dim(text='10"'), units="inch"),)),
    ("dimension missing", lambda: changed(dim_of("flashing-height"), lambda d: None)),
    ("dimension missing", lambda: changed(dim_of("topping"), lambda d: None)),
    ("limit not beside its dimension", lambda: changed(dim_of("drip"), lambda d: replace(d, text=d.text[:2]))),
    ("limit not beside its dimension", lambda: changed(dim_of("drip"), lambda d: replace(d, text="38 (min. 2)"))),
    ("chain does not close", lambda: (unclosed(),)),
    ("level missing", lambda: changed(text_of("+12.340"), lambda t: replace(t, text="+12.341"))),
    ("slope missing", lambda: changed(text_of("2 %"), lambda t: replace(t, text="3 %"))),
    ("label missing", lambda: changed(text_of("Interior"), lambda t: None)),
    ("label on the other side", open_label),
    ("scale wrong", lambda: (replace(good()[0], k=4.9), *good()[1:])),
    ("scale wrong", lambda: changed(text_of("1:5"), lambda t: replace(t, text="1:10"))),
    ("title block incomplete", lambda: changed(text_of("Date of issue"), lambda t: None)),
    ("material key wrong", lambda: keyed(lambda i: not (isinstance(i, Text) and i.text.startswith("Growing")))),
    ("material key wrong", lambda: keyed(more=ZINC)),
    ("break line missing", lambda: changed(lambda i: isinstance(i, Stroke) and i.layer == "break", lambda i: None)),
    ("unknown layer", lambda: changed(is_note, lambda i: replace(i, layer="nowhere"))),
    ("text on linework", lambda: with_items(words(at=on_a_part("xps")))),
    ("outside the frame", lambda: with_items(words(at=(2.0, 2.0)))),
    ("water line broken", lambda: changed(
        lambda i: isinstance(i, Area) and i.medium == "picture" and i.part == "flashing", lambda i: None)),
    ("second heavy line", lambda: with_items(Stroke(((100, 100), (200, 150)), "metal", 1.0))),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "seed"), BINARY, ids=[f"{k}-{i}" for i, (k, _) in enumerate(BINARY)])
def test_a_seeded_fault_of_a_good_sheet_is_found(kind, seed):
    assert kind in found(seed())


def test_every_row_has_a_seeded_fault_and_says_why():
    assert {k for k, *_ in SIZED} | {k for k, _ in BINARY} == set(limits())
    assert len(SIZED) + len(INNER) >= 40  # each just inside, at and just past its limit
    for row in limits().values():
        assert row.why and row.unit and (row.most is None) != (row.least is None)


def test_a_drain_parts_the_water_line_and_a_gap_beside_it_does_not_hide():
    for beside, broken in ((0.1, False), (0.4, True)):
        made, drawn = gap(20.0)
        halves = (box(5 * 100, 600, 500 + 20, 620), box(580, 600, 5 * (120 - beside), 620))
        body = replace(part("drain", "cast-iron", "hardware", *halves), watertight=True)
        found = {f.kind for f in review(made, replace(drawn, parts=(*drawn.parts, body)))}
        assert ("water line broken" in found) == broken


def test_a_chain_that_closes_is_no_fault():
    assert "chain does not close" not in found(closed_chain(unclosed()))


def test_an_own_text_is_no_wrong_number_and_a_dropped_dimension_not_missing():
    *_, settings = good()
    own = replace(settings, dimensions=(DimensionEdit("flashing-height", text="verify on site"),))
    forced = changed(dim_of("flashing-height"), lambda d: replace(d, text="verify on site"))
    assert "dimension says another number" not in {f.kind for f in review(*forced[:3], own)}
    dropped = changed(dim_of("topping"), lambda d: None)
    edits = replace(settings, dimensions=(DimensionEdit("topping", drop=True),))
    assert "dimension missing" not in {f.kind for f in review(*dropped[:3], edits)}


def test_a_silenced_note_leaves_no_part_unnamed():
    *_, settings = good()
    silent = changed(lambda i: isinstance(i, Note) and i.id == "coping", lambda i: None)
    edits = replace(settings, notes=(NoteEdit(part="coping", silent=True),))
    assert "part without a note" not in {f.kind for f in review(*silent[:3], edits)}


def test_a_mirrored_sheet_has_no_fault_either():
    for id in ("P1", "P7", "C2"):
        file = detailgen.load("specs/ferry-hall.toml")
        params = tuple(p.model_copy(update={"mirror": True}) for p in file.params)
        detail = replace(file, params=params)[id]
        made = detail.sheet()
        assert [str(f) for f in detail.review()] == [] and made.k == 5.0


def test_the_hand_drawn_parapet_asks_for_nothing_that_is_not_there():
    made = sheet(replace(METRIC, size="A2"))
    assert [str(f) for f in review(made, roof(), roof(), METRIC)] == []
    assert ROWS.layers("ncs")


def test_what_the_condition_asks_for_is_looked_for_by_itself():
    true = roof(
        dimensions=(Dimension("own", (0.0, 0.0), (0.0, 333.0), "y"),),
        levels=(Level("own", (0.0, 77.0), "own"),), marks=(Mark("own", "slope", ((0, 0), (9, 0)), 0.07),),
    )
    made = sheet(replace(METRIC, size="A2"))
    kinds = {f.kind for f in review(made, roof(), true, METRIC)}
    assert {"dimension missing", "level missing", "slope missing"} <= kinds


# ------------------------------------------------------------------------------------------ the command
def drawn(tmp_path, capsys, *options, size="A2"):
    tables = parapet("mm")
    tables["sheet"] = {"size": size}
    (tmp_path / "roof.toml").write_text(to_toml(tables), encoding="utf-8")
    code = run(["draw", str(tmp_path / "roof.toml"), "--format", "svg", "--out", str(tmp_path / "out"), *options])
    return code, capsys.readouterr().err


def test_the_command_says_what_a_draughtsman_would_send_back(tmp_path, capsys):
    assert "review" not in drawn(tmp_path, capsys)[1]
    assert drawn(tmp_path, capsys, "--review") == (0, "review: P1: no fault\n")


def test_the_command_fails_for_a_bad_sheet_only_if_asked(tmp_path, capsys):
    code, said = drawn(tmp_path, capsys, "--review", "--scale", "1:2", size="A4")
    assert "review: P1: " in said and "no fault" not in said and code == 0
    assert drawn(tmp_path, capsys, "--strict", "--scale", "1:2", size="A4")[0] == 1
