"""The pieces of a sheet: hatches, text, dimensions, leaders, levels, wording, furniture, the reviewer."""

import itertools
import math
import random
from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely
from handmade import parapet

from detailgen.catalogue import load
from detailgen.section.model import Coat, Dimension, Fastener, Level, Mark, Part, mirrored
from detailgen.sheet import compose, flatten, review
from detailgen.sheet.dimensions import chains, limit_texts, overall, wanted
from detailgen.sheet.flat import dashed, dim_texts
from detailgen.sheet.flip import flipped
from detailgen.sheet.furniture import TITLE, detail_title, scale_bar
from detailgen.sheet.ground import Ground
from detailgen.sheet.hatch import clip, fitted, suited
from detailgen.sheet.labels import Rules, Target, arrange, as_paths, conflicts, crossings, settle, stack
from detailgen.sheet.levels import levels
from detailgen.sheet.lines import text_box, width, wrap
from detailgen.sheet.marks import break_line
from detailgen.sheet.model import Area, Dim, Note, Sheet, Stroke, Text
from detailgen.sheet.notes import Column, Spots, draft, target
from detailgen.sheet.plane import Placing, box_of, mean_thickness
from detailgen.sheet.review import texts_of
from detailgen.sheet.settings import DimensionEdit, NoteEdit, SheetSettings, TitleBlock
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.strips import spine
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import Subject, subjects

ROWS = load()
KINDS = {"xps-up": "upstand-insulation", "coping": "coping", "edge": "retention-edge", "wall": "wall-concrete"}
METRIC = SheetSettings(title=TitleBlock(project="Quayside ferry hall"))
INCH = replace(METRIC, size="ARCH-B", units="inch", wording="na")


@dataclass(frozen=True)
class Measure:
    value: float
    a: tuple[float, float]
    b: tuple[float, float]


@dataclass(frozen=True)
class Rule:
    measure: str
    minimum: float | None = None
    maximum: float | None = None
    unit: str = "mm"
    severity: str = "required"
    written: str = "200 mm"
    source: str = "office"


@dataclass(frozen=True)
class Finding:
    rule: Rule
    verdict: str = "holds"
    measured: float | None = None
    limit: float | None = None
    margin: float | None = None
    declared: bool = False


def roof(**changes):
    """The hand-drawn parapet with everything that a condition adds."""
    section = parapet()
    parts = tuple(replace(p, kind=KINDS.get(p.id, p.material)) for p in section.parts)
    additions = {
        "title": "Parapet",
        "levels": (Level("deck", (0.0, 0.0), "top of deck"), Level("finish", (53.0, 420.0), "finished surface")),
        "dimensions": (
            Dimension("flashing-height", (53.0, 420.0), (0.0, 572.0), "y", "inside", "flashing_height"),
            Dimension("below", (0.0, -160.0), (0.0, 0.0), "y", "left"),
            Dimension("above", (0.0, 0.0), (0.0, 570.0), "y", "left"),
        ),
        "marks": (
            Mark("falls", "slope", ((600.0, 430.0), (900.0, 424.0)), 0.02),
            Mark("out", "label", ((-250.0, 700.0),), text="exterior"),
        ),
        "remarks": ("cut at 5.0 m from the drain",),
        "cautions": ("hot-work",),
    }
    return replace(section, parts=parts, **{**additions, **changes})


def sheet(settings=METRIC, section=None, **more):
    section = roof() if section is None else section
    return compose(section, section, more.get("measures", {}), more.get("findings", ()), ROWS, settings)


# ------------------------------------------------------------------------------------------ hatches
def polygons(seed):
    """A star-shaped ring with a hole."""
    pick = random.Random(seed)
    turns = sorted(pick.uniform(0, math.tau) for _ in range(pick.randint(5, 12)))
    ring = []
    for t in turns:
        r = pick.uniform(8, 25)
        ring.append((30 + r * math.cos(t), 30 + r * math.sin(t)))
    return ring, [(28.0, 28.0), (28.0, 32.0), (33.0, 31.0)]


def long_lines(family, box=80.0):
    """The dashes of a family over a wide field, made without the clipper."""
    angle, bx, by, shift, spacing, *dashes = family
    u = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    n = np.array([-u[1], u[0]])
    out = []
    for row in range(-int(2 * box / spacing), int(2 * box / spacing)):
        start = np.array([bx, by]) + row * (spacing * n + shift * u)
        if not dashes:
            out.append((start - 3 * box * u, start + 3 * box * u))
            continue
        period = sum(map(abs, dashes))
        for k in range(-int(3 * box / period), int(3 * box / period)):
            at = k * period
            for j, d in enumerate(dashes):
                if j % 2 == 0:
                    out.append((start + at * u, start + (at + d) * u))
                at += abs(d)
    return shapely.multilinestrings([shapely.linestrings([a, b]) for a, b in out])


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(
    "family",
    [(45, 0, 0, 0, 2.5), (117.3, 3, 1, 0.7, 1.9), (15, 0, 0.7, 1.1, 3.2, 3.2, -4.0), (0, 1, 1, 0, 2, 0.3, -2, 1, -1)],
)
def test_clipped_hatches_have_the_length_that_an_overlay_gives(seed, family):
    ring, hole = polygons(seed)
    shape = shapely.Polygon(ring).difference(shapely.Polygon(hole))
    if not shapely.Polygon(ring).contains(shapely.Polygon(hole)):
        hole, shape = None, shapely.Polygon(ring)
    made = clip([np.array(r) for r in (ring, hole) if r], (family,))
    expected = shapely.intersection(long_lines(family), shape).length
    assert np.hypot(*(made[:, 1] - made[:, 0]).T).sum() == pytest.approx(expected, abs=1e-6)


def test_a_hatch_line_through_a_vertex_is_not_counted_twice():
    diamond = np.array([(0.0, 0.0), (2.0, -2.0), (4.0, 0.0), (2.0, 2.0)])
    made = clip([diamond], ((0.0, 0.0, 0.0, 0.0, 1.0),))
    assert sorted(np.round(made[:, 1, 0] - made[:, 0, 0], 9).tolist()) == [2.0, 2.0, 4.0]


@pytest.mark.parametrize("t", [2.0, 4.0, 6.0, 10.0, 30.0])
def test_whole_diamonds_stand_across_a_board(t):
    pattern = ROWS.pattern("rigid-insulation")
    families = fitted(pattern, t, 1.146, (0.0, 0.0))
    across = families[0][4] * math.sqrt(2)
    assert t / across == pytest.approx(round(t / across))
    assert 0.7 <= families[0][4] <= 3.6  # never under 0.7 clear (EN ISO 128, as quoted in teaching notes)
    assert families[0][0] == pytest.approx(46.146)  # turned with the layer


def test_a_pattern_that_is_not_legible_gives_way_and_a_thin_part_stays_empty():
    assert suited(ROWS.pattern("concrete-stones"), 30.0, ROWS.patterns).name == "concrete-stones"
    assert suited(ROWS.pattern("concrete-stones"), 6.0, ROWS.patterns).name == "mortar-dots"
    assert suited(ROWS.pattern("rigid-insulation"), 1.2, ROWS.patterns) is None


def test_dashes_run_round_corners():
    line = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]
    pieces = dashed(line, (3.0, -1.5))
    assert sum(math.dist(a, b) for p in pieces for a, b in itertools.pairwise(p)) == pytest.approx(3 * 4 + 2.0)
    assert any(len(p) == 3 for p in pieces)


def test_the_spine_of_a_bent_sheet_is_its_long_side():
    ring = ((0, 0), (100, 0), (100, 80), (98, 80), (98, 2), (0, 2))
    assert mean_thickness(ring) == pytest.approx(2.0, abs=0.05)
    assert sum(math.dist(a, b) for a, b in itertools.pairwise(spine(ring))) == pytest.approx(180.0)


# ------------------------------------------------------------------------------------------ text
def test_no_wrapped_line_is_wider_than_its_column():
    text = "Face strip 3 × 30, screwed through the sheet at 200, sealant on the strip and at the sheet's edge"
    for room in (30.0, 47.0, 66.0):
        lines = wrap(text, 2.5, room)
        assert " ".join(lines) == text
        assert max(width(line, 2.5) for line in lines) <= room


# ------------------------------------------------------------------------------------------ leaders
def fake(name, costs, height=2.5):
    best = float(np.min(costs))
    return Target(name, height, np.array(costs, dtype=float), (best, 0.0), (best, 0.0), lambda r: [])


@pytest.mark.parametrize("seed", range(20))
def test_the_stack_of_notes_is_the_cheapest_one(seed):
    pick = random.Random(seed)
    heights = [pick.choice([2.5, 6.5]) for _ in range(3)]
    notes = [fake(str(i), [pick.uniform(0, 9) for _ in range(26)], h) for i, h in enumerate(heights)]

    def fits(rungs):
        low = all(r >= math.ceil(t.height) for r, t in zip(rungs, notes, strict=True))
        return low and all(a - b >= math.ceil(t.height + 2.0) for a, b, t in zip(rungs, rungs[1:], notes, strict=False))

    def cost(rungs):
        return sum(t.costs[r] for t, r in zip(notes, rungs, strict=True))

    best = min(cost(rungs) for rungs in itertools.product(range(26), repeat=3) if fits(rungs))
    made = stack(notes, 1.0, 2.0)
    assert fits(made) and cost(made) == pytest.approx(best)


def test_notes_that_are_too_many_for_a_column_are_refused():
    assert stack([fake(str(i), np.zeros(30)) for i in range(7)], 1.0, 2.0) is None


def test_crossing_leaders_are_seen():
    a, b = ((0.0, 0.0), (5.0, 5.0), (20.0, 5.0)), ((10.0, 0.0), (12.0, 8.0), (20.0, 8.0))
    assert crossings([a, b]) == 1
    assert conflicts(as_paths([a, ((10.0, -9.0), (12.0, -12.0), (20.0, -12.0))])).sum() == 0


def random_notes(notes, seed, column, ground):
    """Points anywhere, one tip each: harder than any sheet, where a note may touch its part in many places."""
    pick = random.Random(1000 * notes + seed)
    out = []
    for i in range(notes):
        at = np.array([[pick.uniform(0, 100), pick.uniform(20, 210)]])
        spots = Spots(at, np.zeros(1), "arrow", np.zeros(1, dtype=bool))
        words = " ".join(["Insulation"] * pick.randint(1, 6))
        out.append(target(draft(Subject(f"n{i}", words, (f"n{i}",)), spots, 66.0), column, ground))
    return out


@pytest.mark.parametrize(("notes", "most"), [(6, 0.0), (10, 0.0), (14, 0.25), (18, 0.25)])
def test_leaders_hardly_ever_cross(notes, most):
    """Random points; `most` is the share of the crossings that the order by height alone leaves."""
    column = Column(140.0, 66.0, 0.0, 230.0)
    ground = Ground([((0.0, 0.0), (100.0, 0.0), (100.0, 0.1), (0.0, 0.1))], [], -5.0, 141.0, column.rungs)
    crossed, naive, rules = 0, 0, Rules(1.0, 2.0)
    for seed in range(10):
        targets = random_notes(notes, seed, column, ground)
        found = arrange(targets, rules)
        crossed += crossings([p.leader for p in found.placed])
        by_height = settle(sorted(targets, key=lambda t: -int(np.argmin(t.costs))), rules)
        naive += crossings([p.leader for p in by_height.placed])
        for p, q in itertools.pairwise(found.placed):
            height = next(t.height for t in targets if t.id == p.id)
            assert p.rung - q.rung >= height + 2.0 - 1e-9
    assert crossed <= most * naive


# ------------------------------------------------------------------------------------------ dimensions
def texts(dims, settings=METRIC, measures=None, findings=()):
    return {w.id: w.text for w in wanted(dims, measures or {}, findings, settings)}


def test_the_minimum_stands_beside_the_height_that_it_governs():
    d = [Dimension("h", (53.0, 420.0), (0.0, 625.0), "y", "inside", "flashing_height")]
    rules = [Finding(Rule(m, v)) for m, v in (("flashing_height", 150.0), ("flashing_height", 100.0), ("lap", 50.0))]
    assert texts(d, findings=rules)["h"] == "205 (min. 150)"
    assert texts(d, INCH, findings=[Finding(Rule("flashing_height", 203.2))])["h"] == '8 1/8" (8" MIN.)'
    assert texts(d, findings=[Finding(Rule("flashing_height", 150.0), "not applicable")])["h"] == "205"
    assert limit_texts([Finding(Rule("gap", None, 30.0))], METRIC) == {"gap": "max. 30"}


def test_a_limit_never_gives_way_in_a_crowded_place_it_goes_on_a_second_line():
    d = [Dimension("drip", (0.0, 0.0), (12.0, 0.0), "x", "inside", "drip_clearance")]
    (made,) = wanted(d, {}, [Finding(Rule("drip_clearance", 20.0))], METRIC)
    assert (made.text, made.limit) == ("12 (min. 20)", "min. 20")
    level = Dim("d", (0, 0), (3, 0), (0, 9), "x", made.text, (1.5, 9), 12.0)
    one, two = dim_texts(level), dim_texts(replace(level, stacked=True))
    assert [t.text for t in one] == ["12 (min. 20)"] and [t.text for t in two] == ["12", "(min. 20)"]
    assert two[0].at[1] - two[1].at[1] == pytest.approx(2.5 * drafting().text.line_spacing)
    plumb = dim_texts(Dim("d", (0, 0), (0, 3), (9, 0), "y", made.text, (9, 1.5), 12.0, stacked=True))
    assert plumb[0].at[0] < plumb[1].at[0], "read from the right, the number comes first"


def test_a_governed_dimension_wins_over_another_of_the_same_span():
    d = [Dimension("a", (0, 0), (0, 200), "y"), Dimension("b", (0, 0), (0, 200), "y", "left", "flashing_height")]
    (row,) = chains(wanted(d, {}, [Finding(Rule("flashing_height", 150.0))], METRIC), Placing(5.0, (0.0, 0.0)))
    assert [w.text for w in row] == ["200 (min. 150)"]


def test_the_points_of_the_measure_win():
    d = [Dimension("h", (53.0, 400.0), (0.0, 600.0), "y", "inside", "flashing_height")]
    (made,) = wanted(d, {"flashing_height": Measure(152.0, (53.0, 420.0), (0.0, 572.0))}, (), METRIC)
    assert (made.a, made.b, made.text) == ((53.0, 420.0), (0.0, 572.0), "152")


def test_a_dimension_is_dropped_forced_or_added():
    d = [Dimension("a", (0, 0), (0, 200), "y"), Dimension("b", (0, 0), (0, 300), "y")]
    edits = (
        DimensionEdit("a", drop=True),
        DimensionEdit("b", text="verify on site"),
        DimensionEdit("own", a=(0.0, 0.0), b=(120.0, 7.0), axis="x", side="bottom"),
    )
    assert texts(d, replace(METRIC, dimensions=edits)) == {"b": "verify on site", "own": "120"}


def test_chains_close_with_the_overall_outside_and_nothing_is_printed_twice():
    unit = Placing(5.0, (0.0, 0.0))
    d = [
        Dimension("low", (0, 0), (0, 150), "y"),
        Dimension("high", (0, 150), (0, 420), "y"),
        Dimension("again", (9, 0), (9, 150), "y"),
        Dimension("other", (0, 100), (0, 300), "y"),
    ]
    rows = chains(wanted(d, {}, (), METRIC), unit)
    assert [[w.id for w in row] for row in rows] == [["low", "high"], ["other"]]
    sum_of_all = overall(rows[0], rows, unit, METRIC)
    assert sum_of_all.text == "420" and float(sum_of_all.text) == sum(float(w.text) for w in rows[0])
    assert overall(rows[1], rows, unit, METRIC) is None


def test_every_dimension_says_what_it_measures():
    made = sheet(findings=[Finding(Rule("flashing_height", 150.0))])
    dims = {i.id: i for i in made.items if isinstance(i, Dim)}
    assert dims["flashing-height"].text == "152 (min. 150)"
    for d in dims.values():
        k = 1 if d.axis == "y" else 0
        assert abs(d.a[k] - d.b[k]) * made.k == pytest.approx(d.value, abs=1e-6)
        assert float(d.text.split()[0]) == round(d.value)


# ------------------------------------------------------------------------------------------ levels, breaks, bars
def test_level_markers_never_touch_and_print_the_projects_zero():
    heights = enumerate((0, 2, 150, 152, 400))
    section = roof(levels=tuple(Level(f"l{i}", (0.0, y), "a level with words") for i, y in heights))
    settings = replace(METRIC, deck_level=12340.0)
    placing = Placing(10.0, (100.0, 100.0))
    edge = Silhouette([placing.ring(r) for p in section.parts for r in p.rings])
    items = levels(section, settings, placing, 90.0, edge)
    words = [i for i in items if isinstance(i, Text)]
    assert {"+12.340", "+12.342", "+12.490", "+12.492", "+12.740"} <= {t.text for t in words}
    for a, b in itertools.combinations([text_box(t) for t in words], 2):
        assert min(a[2], b[2]) <= max(a[0], b[0]) + 1e-6 or min(a[3], b[3]) <= max(a[1], b[1]) + 1e-6


def test_a_break_line_runs_past_the_part_and_nothing_heavy_lies_on_it():
    made = sheet()
    for cut in roof().cuts:
        stroke = break_line(cut, Placing(made.k, made.origin))
        a, b = made.to_paper(cut.a), made.to_paper(cut.b)
        past = (math.dist(stroke.points[0], a), math.dist(stroke.points[-1], b))
        assert past == pytest.approx((drafting().brk.over,) * 2)  # 2 to 3 mm past, one zigzag
        line = shapely.LineString([a, b])
        for s in (i for i in made.items if isinstance(i, Stroke) and i.part):
            for p, q in itertools.pairwise([*s.points, s.points[0]] if s.closed else s.points):
                both = line.distance(shapely.Point(p)) < 1e-3 and line.distance(shapely.Point(q)) < 1e-3
                assert not both or math.dist(p, q) < 1e-3


def test_hatches_of_pictures_stop_short_of_the_break_and_those_of_dxf_are_the_parts_themselves():
    made, section = sheet(), roof()
    right = made.to_paper((section.frame[2], 0.0))[0]
    for a in (i for i in made.items if isinstance(i, Area) and i.families):
        edge = max(x for r in a.rings for x, _ in r)
        if a.medium == "picture":
            assert edge <= right - drafting().brk.hatch_short + 1e-6
        else:
            area = shapely.Polygon(a.rings[0]).area * made.k**2
            assert any(area == pytest.approx(shapely.Polygon(r).area) for r in section[a.part].rings)


@pytest.mark.parametrize(
    ("settings", "k", "unit"), [(METRIC, 5.0, 1.0), (METRIC, 10.0, 1.0), (INCH, 4.0, 25.4), (INCH, 8.0, 25.4)]
)
def test_the_scale_bar_is_as_long_as_it_says(settings, k, unit):
    items = scale_bar(30.0, 20.0, settings, k, 70.0)
    boxes = [i.points for i in items if isinstance(i, Stroke) and i.closed]
    values = [float(t.text.split()[0]) for t in items if isinstance(t, Text)]
    edges = sorted({round(x, 9) for b in boxes for x, _ in b})
    assert [round((x - edges[0]) * k / unit, 6) for x in edges] == values


# ------------------------------------------------------------------------------------------ wording
def words(section=None, settings=METRIC):
    return {s.id: s.text for s in subjects(section or roof(), ROWS, settings)}


def layered(*thicknesses, width=1000.0):
    y, parts = 0.0, []
    for i, t in enumerate(thicknesses):
        ring = ((0.0, y), (width, y), (width, y + t), (0.0, y + t))
        parts.append(Part(f"xps-{i}", "xps", "xps", "insulation", (ring,), thickness=t))
        y += t
    return replace(roof(), parts=tuple(parts), spaces=(), levels=(), dimensions=(), marks=())


def test_layers_of_one_kind_share_a_note():
    assert words(layered(50.0, 50.0, 50.0))["xps"].endswith("3 × 50")
    assert words(layered(60.0, 80.0))["xps"].endswith("60 + 80")
    assert words(layered(152.4), INCH)["xps"].endswith('6"')


def test_pieces_end_to_end_are_no_layers():
    rings = [((0, y), (50, y), (50, y + 400), (0, y + 400)) for y in (0, 400)]
    parts = [Part(f"b{i}", "xps", "xps", "insulation", (r,), thickness=50.0) for i, r in enumerate(rings)]
    assert words(replace(layered(50.0), parts=tuple(parts)))["xps"].endswith("polystyrene, 50")


def test_notes_are_capitals_in_north_america():
    assert all(t == t.upper() for t in words(settings=INCH).values())


def test_a_note_is_reworded_silenced_and_added():
    edits = (
        NoteEdit(part="xps", text="Boards by others"),
        NoteEdit(part="gravel", silent=True),
        NoteEdit(text="Check this edge on site", at=(300.0, 100.0)),
    )
    section = layered(50.0)
    gravel = Part("g", "gravel", "gravel", "finish", (((0, 60), (900, 60), (900, 160), (0, 160)),))
    section = replace(section, parts=(*section.parts, gravel))
    found = words(section, replace(METRIC, notes=edits))
    assert found["xps"] == "Boards by others" and "gravel" not in found
    assert "Check this edge on site" in found.values()


def test_existing_construction_is_called_so():
    section = layered(50.0)
    ring = ((-300, 0), (-60, 0), (-60, 500), (-300, 500))
    wall = Part("w", "masonry", "masonry", "structure", (ring,), status="existing")
    assert words(replace(section, parts=(*section.parts, wall)))["masonry/existing"].endswith(", existing")


def test_a_size_that_a_part_does_not_have_leaves_no_hole_in_its_words():
    assert not any("{" in t or t.rstrip().endswith(",") or ", ," in t for t in words().values())


# ------------------------------------------------------------------------------------------ the sheet as a whole
def test_the_hand_drawn_parapet_makes_a_sheet_without_a_fault():
    made = sheet(replace(METRIC, size="A2"))
    assert not made.overflow
    assert [str(f) for f in review(made, roof())] == []


def test_its_mirror_image_reads_as_well():
    section = mirrored(roof())
    made = sheet(replace(METRIC, size="A2"), section)
    assert [str(f) for f in review(made, section)] == []
    plain = sheet(replace(METRIC, size="A2"))
    assert sorted(t.text for t in texts_of(made)) == sorted(t.text for t in texts_of(plain))
    roof_side = [t for i in made.items if isinstance(i, Note) and i.id == "growing-medium" for t in i.lines]
    assert roof_side and all(t.anchor == "right" and t.at[0] < made.size[0] / 2 for t in roof_side)


def test_turning_over_twice_changes_nothing():
    for item in sheet().items:
        if isinstance(item, Note | Dim | Text):
            again = flipped(flipped(item, 210.0), 210.0)
            assert box_of([t.at for t in _lines(again)]) == pytest.approx(box_of([t.at for t in _lines(item)]))


def _lines(item):
    return item.lines if isinstance(item, Note) else dim_texts(item) if isinstance(item, Dim) else [item]


def test_the_same_section_makes_the_same_sheet():
    assert sheet() == sheet()


def test_too_small_a_sheet_says_so_and_never_takes_smaller_text():
    made = sheet(replace(METRIC, size="A4", scale=2.0))
    assert made.overflow and made.k == 2.0
    assert min(t.height for t in texts_of(made)) >= drafting().text.small
    notes = [t for i in made.items if isinstance(i, Note) for t in i.lines]
    assert all(t.height == drafting().text.note for t in notes)


def test_the_scale_is_the_largest_standard_one_that_fits():
    ks = sorted(s.k for s in ROWS.scales.values() if s.system == "metric")
    made = {size: sheet(replace(METRIC, size=size)) for size in ("A3", "A2", "A1")}
    assert all(s.k in ks for s in made.values())
    assert made["A3"].k >= made["A2"].k >= made["A1"].k
    larger = ks[ks.index(made["A2"].k) - 1]
    assert sheet(replace(METRIC, size="A2", scale=larger)).overflow


def test_the_waterproofing_is_the_heaviest_line():
    for standard in ("ncs", "iso13567"):
        rows = ROWS.layers(standard)
        assert rows["membrane"].weight == max(r.weight for k, r in rows.items() if k not in ("ttlb",))
        assert rows["hatch"].weight == min(r.weight for r in rows.values())
    fills = {f.layer: f.colour for f in flatten(sheet()).fills}
    assert fills["membrane"] == "#000000"


def test_failed_rules_stand_on_the_sheet():
    low = Finding(Rule("flashing_height", 200.0), "fails", 152.0, 200.0, -48.0)
    wide = Finding(Rule("joint_gap", None, 30.0, written="30 mm"), "fails", 42.0, 30.0, -12.0)
    made = sheet(findings=[low, wide, Finding(Rule("overflow_height", 25.0), "fails")])
    text = " ".join(t.text for t in texts_of(made))
    assert "Does not hold: Flashing height: 152 mm, 48 mm too little (minimum 200 mm, office)." in text
    assert "Movement joint, clear of everything hard: 42 mm, 12 mm too much (maximum 30 mm, office)." in text
    assert "must be there and is missing (office)." in text


def test_the_title_block_has_the_fields_of_iso_7200():
    """ISO 7200:2004, from memory: owner, number, date, sheet, title, approval, creator, document type."""
    captions = {t.text for t in texts_of(sheet()) if t.layer == "ttxt"}
    assert {
        "Legal owner",
        "Number",
        "Rev.",
        "Date of issue",
        "Sheet",
        "Title",
        "Approved by",
        "Drawn by",
        "Document type",
        "Department",
        "Language",
        "Status",
        "Scale",
    } <= captions


def test_the_cautions_that_stand_always_stand_here():
    text = " ".join(t.text for t in texts_of(sheet()) if t.layer == "legn")
    for key, caution in ROWS.cautions.items():
        if caution.always or key == "hot-work":
            assert caution.eu.split(".")[0] in text


# ------------------------------------------------------------------------------------------ the reviewer
def note(name, tip, elbow, y, text="Words"):
    return Note(name, (Text((150.0, y), text, 2.5, "note"),), (tip, elbow, (148.0, elbow[1])), "arrow", (name,))


def bare(*items):
    border = Stroke(((20, 10), (410, 10), (410, 287), (20, 287)), "ttlb", 0.7, closed=True, space="paper")
    return Sheet("x", "x", "A3", (420.0, 297.0), 5.0, (0.0, 0.0), (border, *items), "ncs", "metric")


def kinds(*items):
    return {f.kind for f in review(bare(*items))} - {"too little ink"}


def test_the_reviewer_finds_what_is_wrong():
    assert kinds(Text((50, 50), "one", 2.5, "note"), Text((52, 51), "two", 2.5, "note")) == {"text on text"}
    assert kinds(Text((405, 50), "far too long for here", 2.5, "note")) >= {"outside the frame"}
    assert kinds(Text((50, 50), "small", 2.0, "note")) == {"text too small"}
    assert kinds(Text((50, 50), "Board {t}", 2.5, "note")) == {"unfilled words"}
    a, b = note("a", (50, 50), (60, 80), 78.75), note("b", (80, 60), (100, 90), 88.75)
    assert kinds(a, b) == {"leaders cross"}
    assert "leader through text" in kinds(note("a", (50, 50), (60, 80), 78.75), Text((90, 79), "here", 2.5, "note"))
    assert "flat leader" in kinds(note("a", (50, 50), (80, 54), 52.75))
    d = Dim("d", (60, 40), (60, 90), (50, 40), "y", "250", (48, 65), 250.0)
    assert "dimension through text" in kinds(d, Text((45, 75), "in the way", 2.5, "note"))
    assert kinds(a, note("c", (90, 140), (100, 158), 156.75), d) == set()


def pointing(item):
    return isinstance(item, Note) and bool(item.leader) and item.end != "none"


def test_the_reviewer_holds_leaders_against_their_parts():
    section = roof()
    made = sheet(replace(METRIC, size="A2"), section)
    moved = tuple(
        replace(i, leader=((i.leader[0][0] + 30, i.leader[0][1] + 3), *i.leader[1:])) if pointing(i) else i
        for i in made.items
    )
    assert any(f.kind == "tip beside its part" for f in review(replace(made, items=moved), section))
    none = tuple(i for i in made.items if not isinstance(i, Note))
    missing = {f.what for f in review(replace(made, items=none), section) if f.kind == "part without a note"}
    assert missing == {p.id for p in section.parts}


def test_coats_and_fasteners_are_named_with_their_spacing():
    coat = Coat("c", "primer", "primer", ((900.0, 132.0), (60.0, 149.0)))
    screw = Fastener("s", "strip-screw", (-190.0, 480.0), (-150.0, 480.0), "flashing", "backing", 200.0)
    found = words(replace(roof(), coats=(coat,), fasteners=(screw,)))
    assert "Primer" in found["primer"] and "200" in found["strip-screw"]


def test_a_size_is_never_broken_over_two_lines() -> None:
    from detailgen.sheet.lines import wrap

    for room in range(20, 90, 3):
        lines = wrap(
            'Counterflashing, covers the sheet by 4 1/2", sloped 1" / 1\'-0", of 3 × 50, self-adhered, 2', 2.5, room
        )
        assert all(
            f" {whole} " in f" {' '.join(lines)} ".replace(",", " ") for whole in ('4 1/2"', '1" / 1\'-0"', "3 × 50")
        )
        assert all(any(whole in line for line in lines) for whole in ('4 1/2"', '1" / 1\'-0"', "3 × 50", "adhered, 2"))


def test_a_rule_that_is_only_shown_beside_neither_governs_a_dimension_nor_is_called_a_failure() -> None:
    import detailgen

    p = detailgen.load("specs/ferry-hall-imperial.toml")["P6"]
    texts = [str(x) for x in p.sheet().items]
    assert any('8 5/8" (8" MIN.)' in t for t in texts)
    assert not any("10 IN" in t and "DOES NOT HOLD" in t for t in texts)


# ------------------------------------------------------------------------------------------ choices of the user
def test_dimensions_in_two_unit_systems_are_both_made_from_the_true_value() -> None:
    d = [Dimension("h", (0, 0), (0, 203.9), "y", "inside", "flashing_height")]
    rules = [Finding(Rule("flashing_height", 150.0))]
    assert texts(d, replace(METRIC, dual=True), findings=rules)["h"] == '204 [8"] (min. 150)'
    assert texts(d, replace(INCH, dual=True), findings=rules)["h"] == '8" [204] (5 7/8" MIN.)'
    made = sheet(replace(METRIC, dual=True, size="A2"))
    assert [str(f) for f in review(made, roof(), roof(), replace(METRIC, dual=True))] == []
    assert any("Values in brackets are inches" in t.text for t in texts_of(made))


def test_the_program_chooses_the_smallest_sheet_without_a_fault_at_the_scale_of_details() -> None:
    made = sheet(replace(METRIC, size="auto"))
    assert made.k == 5.0 and not made.overflow
    assert review(made, roof(), roof(), METRIC) == ()
    smaller = [s for s in ROWS.sheets.values() if s.system == "metric" and s.width * s.height < math.prod(made.size)]
    for s in smaller:
        tried = sheet(replace(METRIC, size=s.name, scale=5.0))
        assert tried.overflow or review(tried, roof(), roof(), METRIC)


def test_a_sheet_of_the_programs_choice_is_the_largest_where_none_is_large_enough() -> None:
    made = sheet(replace(METRIC, size="auto", scale=1.0))
    assert made.name == "A1" and made.overflow


def office(tmp_path, words, **more):
    from details import parapet as tables_of
    from trade_plausible import to_toml

    tables = tables_of("mm", **more)
    tables["office"] = {"materials": ["german.toml"], "drawing_number": "{project}/{id}-{sheet}{revision}"}
    rows = [{"index": "A", "date": "2026-03-01", "text": "First issue", "by": "tr"}, {"index": "B", "text": "Lap 150"}]
    tables["project"] |= {"number": "FH-500", "revisions": rows}
    tables["sheet"] = {"size": "A2"}
    (tmp_path / "german.toml").write_text("[words]\n" + words, encoding="utf-8")
    (tmp_path / "roof.toml").write_text(to_toml(tables), encoding="utf-8")
    return tmp_path / "roof.toml"


def test_another_language_is_one_file(tmp_path) -> None:
    import detailgen

    words = 'scale = { text = "Maßstab" }\nminimum = { text = "mind. {size}" }\ngeneral_notes = { text = "Hinweise" }\n'
    detail = detailgen.load(office(tmp_path, words))["P1"]
    found = [t.text for t in texts_of(detail.sheet())]
    assert "Maßstab 1:5" in found and "Hinweise" in found and any("(mind. 150)" in t for t in found)
    assert detail.review() == ()


def test_words_that_no_sheet_prints_and_lost_blanks_are_refused(tmp_path) -> None:
    import detailgen
    from detailgen.errors import InputError

    with pytest.raises(InputError) as error:
        detailgen.load(office(tmp_path, 'scael = { text = "x" }\nminimum = { text = "mind." }\n'))
    said = " ".join(map(str, error.value.problems))
    assert "scael" in said and "scale" in said and "must have {size}" in said


def test_revisions_and_the_number_by_the_offices_pattern_stand_in_the_title_block(tmp_path) -> None:
    import detailgen

    detail = detailgen.load(office(tmp_path, ""))["P1"]
    made = detail.sheet()
    found = [t.text for t in texts_of(made)]
    assert {"FH-500/P1-1B", "First issue", "Lap 150", "2026-03-01"} <= set(found)
    high = {t.text: t.at[1] for t in texts_of(made)}
    assert high["Lap 150"] > high["First issue"] > high["FH-500/P1-1B"]
    assert detail.review() == ()


@pytest.mark.parametrize("pattern", ["{projekt}-{id}", "{id", "{id!r}", "{id:>9}", "{}"])
def test_a_pattern_of_drawing_numbers_with_a_strange_blank_is_refused(tmp_path, pattern) -> None:
    import detailgen
    from detailgen.errors import InputError

    path = office(tmp_path, "")
    path.write_text(path.read_text(encoding="utf-8").replace("{project}/{id}-{sheet}{revision}", pattern), "utf-8")
    with pytest.raises(InputError, match="drawing_number"):
        detailgen.load(path)


@pytest.mark.parametrize(
    ("number", "bubble", "lines"),
    [
        ("P1", True, 1),
        ("E-steel-studs-under-coping-200mm", False, 1),
        ("edge-of-a-hall-8" * 4, False, 2),
        ("W" * 64, False, 2),
    ],
)
def test_a_number_too_long_for_its_bubble_stands_whole_under_the_rule(number, bubble, lines):
    section = parapet()
    items = detail_title(20.0, 20.0, section, SheetSettings(detail=number), "1:5", 5.0)
    texts = [i for i in items if isinstance(i, Text)]
    said = [t for t in texts if t.text.rstrip("…") in number and t.bold]
    assert len(said) == lines and number.startswith("".join(t.text for t in said).rstrip("…"))
    assert "".join(t.text for t in said) == number or set(number) == {"W"}, "only what nobody writes is cut"
    assert any(isinstance(i, Stroke) and i.closed and len(i.points) == 48 for i in items) is bubble
    boxes = [shapely.box(*text_box(t)) for t in texts]
    for a, b in itertools.combinations(boxes, 2):
        assert a.intersection(b).area < 1e-6
    assert max(x for box in boxes for x, _ in box.exterior.coords) <= 20.0 + TITLE
