"""The three figures: temperature and dew point over the layers, stacked weights, depth and flow."""

from __future__ import annotations

from detailgen.catalogue import Catalogue
from detailgen.errors import InputError, Problem
from detailgen.physics.model import Curve, Pile, Study
from detailgen.physics.scales import other_unit
from detailgen.report.plots import BELOW, DASH, RIGHT, SIZE, THICK, THIN, TOP, Axes, Block, hatched, labels, sheet, word
from detailgen.sheet.model import Item, Sheet, Stroke
from detailgen.units import Units

CAUTION = "Draft. Not a structural, plumbing or energy design; to be confirmed by those who answer for it."
LEAST_BLOCK = 0.6  # mm: a sheet is drawn at least that thick
ROW = 4.6  # mm between lines of words


def figure(study: Study, rows: Catalogue, units: Units) -> Sheet:
    """The figure of one study.

    Raises:
        InputError: there is nothing to plot.
    """
    if study.kind == "weight":
        return _weights(study, rows, units)
    if not study.curves:
        needed = "[climate] with the air on both sides" if study.kind == "warmth" else "[water] that leaves the roof"
        raise InputError([Problem("--plot", study.name, "", f"there is nothing to plot; needed: {needed}")])
    return _warmth(study, rows, units) if study.kind == "warmth" else _water(study)


def _in_units(value: float, unit: str, units: Units) -> float:
    other = other_unit(value, unit) if units.system == "inch" else None
    return value if other is None else other[0]


# ------------------------------------------------------------------------------------------ warmth
def _warmth(study: Study, rows: Catalogue, units: Units) -> Sheet:
    bottom, top = BELOW + 4.0, SIZE[1] - TOP - 9.0
    heights = _scaled([p.sizes[0] for p in study.stack], top - bottom)
    levels = [bottom]
    for h in heights:
        levels.append(levels[-1] + h)
    base = [0.0]
    for p in study.stack:
        base.append(base[-1] + p.sizes[0])
    left, right, field = 16.0, 46.0, (56.0, bottom, 146.0, top)
    blocks = [Block(p.id, p.material, (left, levels[k], right, levels[k + 1])) for k, p in enumerate(study.stack)]
    curves = [[(_in_units(t, "C", units), _height(h, base, levels)) for h, t in c.points] for c in study.curves]
    values = [v for c in curves for v, _ in c]
    low, high = min(values) - 1.0, max(values) + 1.0
    axes = Axes(field, (low, high), (bottom, top))
    sign = "°C" if units.system == "metric" else "°F"
    items: list[Item] = [*hatched(blocks, rows), *_level_lines(levels, right, field[2])]
    items += [i for i in axes.frame(f"temperature [{sign}]", "") if not _beside(i, field[0])]
    items += [axes.curve(c, THICK if k == 0 else 0.35, () if k == 0 else DASH) for k, c in enumerate(curves)]
    wanted = [(field[2], (levels[k] + levels[k + 1]) / 2, _named(p, units)) for k, p in enumerate(study.stack)]
    items += labels(field[2] + 7.0, wanted, ROW, (bottom, top))
    items += [word((left, bottom - 4.2), "inside"), word((left, top + 1.5), "outside")]
    items += _key([c.name for c in study.curves], 62.0, SIZE[1] - 15.0)
    return sheet("warmth", f"Warmth of {study.name}", items, CAUTION)


def _beside(item: Item, x: float) -> bool:
    """Ticks and words of the upright axis, which the layers stand in for."""
    if isinstance(item, Stroke):
        return len(item.points) == 2 and item.points[0][1] == item.points[1][1]
    return hasattr(item, "at") and item.at[0] < x


def _level_lines(levels: list[float], x0: float, x1: float) -> list[Item]:
    return [Stroke(((x0, y), (x1, y)), "note", 0.13, dash=(0.3, 1.2)) for y in levels]


def _scaled(sizes: list[float], room: float) -> list[float]:
    """Heights in proportion, but none too thin to be seen."""
    whole = sum(sizes) or 1.0
    raw = [max(LEAST_BLOCK, s / whole * room) for s in sizes]
    return [r * room / sum(raw) for r in raw]


def _height(h: float, base: list[float], levels: list[float]) -> float:
    for k in range(len(base) - 1):
        if h <= base[k + 1] + 1e-9:
            t = base[k + 1] - base[k]
            return levels[k] + (0.0 if t == 0 else (h - base[k]) / t) * (levels[k + 1] - levels[k])
    return levels[-1]


def _named(p: Pile, units: Units) -> str:
    size = _in_units(p.sizes[0], "mm", units)
    return f"{p.id} {size:.3g} {units.symbol}"


def _key(names: list[str], x: float, y: float) -> list[Item]:
    out: list[Item] = []
    for k, name in enumerate(names):
        dy = y - k * ROW
        out.append(
            Stroke(
                ((x - 6.0, dy + 1.1), (x + 2.0, dy + 1.1)), "note", THICK if k == 0 else 0.35, dash=DASH if k else ()
            )
        )
        out.append(word((x + 4.0, dy), name))
    return out


# ------------------------------------------------------------------------------------------ weight
COLUMNS = ("dry", "saturated", "thickest")


def _weights(study: Study, rows: Catalogue, units: Units) -> Sheet:
    on = [p for p in study.stack if not p.id.startswith("deck")]
    unit = "kg/m2" if units.system == "metric" else "psf"
    piles = [[_in_units(p.sizes[c], "kg/m2", units) for p in on] for c in range(3)]
    most = max(sum(pile) for pile in piles) * 1.08
    axes = Axes((22.0, BELOW + 6.0, 150.0, SIZE[1] - TOP), (0.0, 3.0), (0.0, most))
    frame = [i for i in axes.frame("", f"on the deck [{unit}]") if not _under(i, axes.box[1])]
    blocks, items, tops = [], list(frame), []
    for c, pile in enumerate(piles):
        level = 0.0
        for p, value in zip(on, pile, strict=True):
            (x0, y0), (x1, y1) = axes.at((c + 0.2, level)), axes.at((c + 0.8, level + value))
            blocks.append(Block(p.id, p.material, (x0, y0, x1, y1)))
            if c == 2:
                tops.append((x1, (y0 + y1) / 2, f"{p.id} {value:.3g}"))
            level += value
        x, y = axes.at((c + 0.5, level))
        items.append(word((x, y + 1.5), f"{level:.0f}", "centre", bold=True))
        items.append(word((x, axes.box[1] - 4.5), COLUMNS[c], "centre"))
    items = [*hatched([b for b in blocks if b.box[3] - b.box[1] > 0.05], rows), *items]
    items += labels(157.0, tops, ROW, (axes.box[1] + 1.0, axes.box[3] - 1.0))
    return sheet("weight", f"Weight of {study.name}", items, CAUTION)


def _under(item: Item, y: float) -> bool:
    """Ticks and words of the level axis, which the names of the columns stand in for."""
    if isinstance(item, Stroke):
        return len(item.points) == 2 and item.points[0][0] == item.points[1][0]
    return hasattr(item, "at") and item.at[1] < y - 2.0 and getattr(item, "angle", 0.0) == 0.0


# ------------------------------------------------------------------------------------------ water
def _water(study: Study) -> Sheet:
    curves = study.curves
    depth = max(p[0] for c in curves for p in (*c.points, *(at for _, at in c.at)))
    flow = max(p[1] for c in curves for p in (*c.points, *(at for _, at in c.at))) or 1.0
    axes = Axes((22.0, BELOW + 4.0, SIZE[0] - RIGHT, SIZE[1] - TOP - 10.0), (0.0, depth), (0.0, flow * 1.08))
    x_unit, y_unit = curves[0].units
    items: list[Item] = axes.frame(f"depth over the low point [{x_unit}]", f"flow [{y_unit}]")
    for k, c in enumerate(curves):
        items.append(axes.curve(c.points, THICK if k == 0 else 0.35, () if k == 0 else DASH))
        items += _working(axes, c)
    items += _key([_told(c) for c in curves], 28.0, SIZE[1] - 15.0)
    return sheet("water", f"Water of {study.name}", items, CAUTION)


def _told(c: Curve) -> str:
    """A curve's name with its working points."""
    x_unit, y_unit = c.units
    return "; ".join([c.name, *(f"{name}: {x:.3g} {x_unit}, {y:.4g} {y_unit}" for name, (x, y) in c.at)])


def _working(axes: Axes, c: Curve) -> list[Item]:
    """Working points with lines to both axes, and the levels that are marked."""
    out: list[Item] = []
    low = (axes.x[0], axes.y[0])
    for _, (x, y) in c.at:
        out += [axes.curve([(x, low[1]), (x, y), (low[0], y)], THIN, (1.2, 0.8)), axes.dot((x, y))]
    for name, x in c.levels:
        px = axes.at((x, low[1]))[0]
        out.append(axes.curve([(x, low[1]), (x, axes.y[1])], THIN, (4.0, 1.0, 0.6, 1.0)))
        out.append(word((px + 1.2, axes.box[3] - 4.0), f"{name} {x:.3g} {c.units[0]}"))
    return out
