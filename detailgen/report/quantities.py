"""Quantities as a table, CSV, JSON, and the reasons of one figure. Nothing here prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from detailgen._version import __version__
from detailgen.physics.scales import FOOT, POUND
from detailgen.quantities.model import Entry, Figure, groups
from detailgen.quantities.schedule import Schedule
from detailgen.report import jsonout, spreadsheet, text
from detailgen.section.model import Derivation
from detailgen.units import Units, format_length

# unit inside → its size in the inch-pound unit's, and that unit's name
_INCH = {
    "m": (1 / FOOT, "ft"),
    "m2": (1 / FOOT**2, "ft2"),
    "m3": (1 / (3 * FOOT) ** 3, "yd3"),
    "kg": (1 / POUND, "lb"),
}  # fmt: skip
FIGURES = ("figure", "what", "material", "t", "girth", "rate", "total", "mass")
ENTRIES = ("what", "material", "t", "net", "waste", "with waste", "boards", "mass")


def other(value: float, unit: str, units: Units) -> tuple[float, str]:
    """A value and its unit in the project's system; ``m2/m`` becomes ``ft2/ft``.

    >>> from detailgen.units import INCH
    >>> [round(v, 4) if isinstance(v, float) else v for v in other(1.0, "m2/m", INCH)]
    [3.2808, 'ft2/ft']
    """
    if units.system == "metric":
        return value, unit
    over, _, under = unit.partition("/")
    size, name = _INCH.get(over, (1.0, over))
    if not under:
        return value * size, name
    per, below = _INCH.get(under, (1.0, under))
    return value * size / per, f"{name}/{below}"


def _shown(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return "-"
    if unit == "pieces/piece":
        return f"{value:.0f} each"
    number, name = other(value, unit, units)
    return f"{_digits(number, name)} {name}"


def _digits(value: float, unit: str) -> str:
    """Four digits; whole pieces whole."""
    if unit == "pieces" or abs(value) >= 1000:
        return f"{value:.0f}"
    return f"{value:.4g}"


# ------------------------------------------------------------------------------------------ table
def table(schedule: Schedule, units: Units) -> str:
    """Figures of each detail, then what the whole roof takes, then what is left open."""
    parts = []
    for detail in dict.fromkeys(f.detail for f in schedule.figures):
        rows = [_figure(f, units) for f in schedule.figures if f.detail == detail]
        parts += [f"{detail}\n", text.table(rows, FIGURES), "\n"]
    if schedule.entries:
        parts.append("All of it\n")
        for key in dict.fromkeys(e.group for e in schedule.entries):
            rows = [_entry(e, units) for e in schedule.entries if e.group == key]
            parts += [f"\n{groups()[key].title}\n", text.table(rows, ENTRIES)]
        parts.append("\n")
    if any(f.drawn for f in schedule.figures):
        parts.append("note: * drawn, and counted, to a break line\n")
    return "".join([*parts, *(f"note: {r}\n" for r in schedule.remarks)])


def _size(mm: float, units: Units) -> str:
    return format_length(mm, units, "product", unit=True) if mm else "-"


def _figure(f: Figure, units: Units) -> tuple[str, ...]:
    rate = _shown(f.rate, f"{f.unit}/{f.per}", units) + ("*" if f.drawn else "")
    mass = _shown(f.mass, f"kg/{f.per}", units) if f.mass else "-"
    sizes = _size(f.thickness, units), _size(f.girth, units)
    return f.id, f.name, f.material or "-", *sizes, rate, _shown(f.total, f.unit, units), mass


def _entry(e: Entry, units: Units) -> tuple[str, ...]:
    amounts = _shown(e.net, e.unit, units), f"{e.waste:.0%}", _shown(e.gross, e.unit, units)
    more = _shown(e.face or None, "m2", units), _shown(e.mass or None, "kg", units)
    return e.name, e.material or "-", _size(e.thickness, units), *amounts, *more


# ------------------------------------------------------------------------------------------ CSV
def csv(schedule: Schedule, units: Units) -> bytes:
    """One line a figure, then one line a sum (with ``all`` for its detail); numbers in the project's units."""
    length = "in" if units.system == "inch" else "mm"
    mass = other(1.0, "kg", units)[1]
    headings = (
        "detail", "figure", "group", "what", "material", f"thickness {length}", f"girth {length}", "rate", "per",
        "net", "unit", "waste", "with waste", f"boards {other(1.0, 'm2', units)[1]}", f"mass {mass}", "to a break line",
    )  # fmt: skip
    return spreadsheet.encoded(
        headings, [*(_line(f, units) for f in schedule.figures), *(_sum(e, units) for e in schedule.entries)]
    )


def _line(f: Figure, units: Units) -> list[str | float | None]:
    rate, per = other(f.rate, f"{f.unit}/{f.per}", units)
    net = None if f.total is None else other(f.total, f.unit, units)[0]
    mass = None if f.total_mass is None else other(f.total_mass, "kg", units)[0]
    sizes = [v / units.mm if v else None for v in (f.thickness, f.girth)]
    unit = other(0.0, f.unit, units)[1]
    return [
        f.detail, f.id, groups()[f.group].title, f.name, f.material, *sizes, rate, per.partition("/")[2], net, unit,
        None, None, None, mass, "yes" if f.drawn else "",
    ]  # fmt: skip


def _sum(e: Entry, units: Units) -> list[str | float | None]:
    net, unit = other(e.net, e.unit, units)
    mass = other(e.mass, "kg", units)[0] if e.mass else None
    face = other(e.face, "m2", units)[0] if e.face else None
    thickness = e.thickness / units.mm if e.thickness else None
    return [
        "all", "", groups()[e.group].title, e.name, e.material, thickness, None, None, "", net, unit, e.waste,
        other(e.gross, e.unit, units)[0], face, mass, "",
    ]  # fmt: skip


# ------------------------------------------------------------------------------------------ reasons
def reasons(schedule: Schedule, asked: str) -> list[Derivation]:
    """The whys of what is asked for: a figure (``coping``, ``P1.coping``), or the sum of what has that name."""
    name = plain(asked)
    sums = [e.why for e in schedule.entries if plain(e.name) == name]
    each = [f.why for f in schedule.figures if name in (plain(f.id), plain(f"{f.detail}.{f.id}"))]
    return sums or each


def names(schedule: Schedule) -> list[str]:
    """What can be asked for, in the order of the tables."""
    found = [n for f in schedule.figures for n in (f.id, f"{f.detail}.{f.id}")]
    return list(dict.fromkeys([*(e.name.replace(" ", "-") for e in schedule.entries), *found]))


def plain(name: str) -> str:
    """A name as it is compared: capitals, spaces, dashes and underlines make no difference."""
    return name.replace(" ", "-").replace("_", "-").casefold()


def why(found: Sequence[Derivation], units: Units) -> str:
    """Each figure with everything that it was made from."""
    return "\n".join(text.derivation(_in_units(d, units), units) for d in found)


def _in_units(d: Derivation, units: Units) -> Derivation:
    value, unit = other(d.value, d.unit, units)
    return replace(d, value=value, unit=unit, inputs=tuple(_in_units(i, units) for i in d.inputs))


# ------------------------------------------------------------------------------------------ JSON
def document(schedule: Schedule, file: str, digest: str) -> jsonout.Json:
    """The same for programs, in m, m2, m3, kg and pieces whatever the project's units are."""
    return {
        "file": file,
        "digest": digest,
        "version": __version__,
        "figures": [{**jsonout.plain(f), "why": jsonout.derivation(f.why)} for f in schedule.figures],
        "totals": [{**jsonout.plain(e), "why": jsonout.derivation(e.why)} for e in schedule.entries],
        "remarks": list(schedule.remarks),
    }
