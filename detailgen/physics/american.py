"""Rain, drains, scuppers and leaders of the North American family: gallons a minute, inches, square feet.

Never to be mixed with `detailgen.physics.european`: the weirs of the two differ by a quarter. Every constant and
table stands in ``catalogue/physics/rain.toml`` under ``na`` with its source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from detailgen.physics.known import between, known, number
from detailgen.physics.solving import rising


class OutOfTableError(ValueError):
    """A value that a table does not reach; nothing is taken from beyond its ends."""


def flow(area: float, rain: float) -> float:
    """Q = 0.0104 A i [gpm]: area [ft2], rain [in/h]."""
    return number("rain.na.flow.factor") * area * rain


def catchment(roof: float, wall: float = 0.0, rule: str = "ipc") -> float:
    """Area that counts [ft2]: the roof and a share of the wall that sheds on it (``"ipc"`` 1/2, ``"chicago"`` 1/4)."""
    return roof + number(f"rain.na.wall.{rule}.share") * wall


# ------------------------------------------------------------------------------------------ drains by table
def _drain(size: float) -> list[list[float]]:
    rows = known("rain.na.drains")["rows"]
    key = f"{size:g}"
    if key not in rows:
        raise OutOfTableError(f"there is no {key} in drain in the table of heads; it has {', '.join(rows)} in")
    return list(rows[key])


def drain_head(size: float, q: float) -> float:
    """Head over a drain [in] by its size [in] and flow [gpm], straight between the rows of the table.

    Under the table's first row (1 in) its head stands for all smaller flows: more than the truth, never less.

    Raises:
        OutOfTableError: more than the table's last flow, or a size that it does not have.
    """
    rows = _drain(size)
    if q <= rows[0][1]:
        return rows[0][0] if q > 0 else 0.0
    if q > rows[-1][1]:
        raise OutOfTableError(f"a {size:g} in drain takes at most {rows[-1][1]:g} gpm in the table, not {q:.4g}")
    return between([(f, h) for h, f in rows], q)


def drain_flow(size: float, head: float) -> float:
    """Flow into a drain [gpm] at a head [in]: nothing under the table's first head, never more than its last flow."""
    rows = _drain(size)
    if head < rows[0][0]:
        return 0.0
    return float(rows[-1][1]) if head >= rows[-1][0] else between(rows, head)


def drains_needed(area: float) -> int:
    """Least number of drains by the area of the roof [ft2]."""
    row = known("rain.na.count")
    return int(row["larger"] if area > row["above"] else row["least"])


# ------------------------------------------------------------------------------------------ scuppers by formula
def scupper_flow(width: float, head: float, height: float | None = None) -> float:
    """Flow through a scupper [gpm]: Q = 2.9 b h^1.5 [in], less 2.9 b (h - h1)^1.5 where it is closed above h1."""
    if head <= 0:
        return 0.0
    full = 0.0 if height is None or head <= height else (head - height) ** 1.5
    return float(number("rain.na.scupper.factor") * width * (head**1.5 - full))


def scupper_head(width: float, q: float, height: float | None = None) -> float:
    """Head over the sill of a scupper [in] for a flow [gpm]: the inverse of `scupper_flow`.

    Raises:
        OutOfTableError: not reached under 24 in of head.
    """
    if height is None:
        return float((q / (number("rain.na.scupper.factor") * width)) ** (2 / 3))
    try:
        return rising(lambda h: scupper_flow(width, h, height), q, 0.0, 24.0)
    except ValueError:
        raise OutOfTableError(
            f"a scupper {width:g} x {height:g} in does not pass {q:.4g} gpm under 24 in of head"
        ) from None


def contracted_weir(length: float, head: float) -> float:
    """Classic weir with end contractions [ft3/s]: Q = 3.33 (L - 0.2 H) H^1.5, length and head [ft]."""
    row = known("rain.na.weir")
    return float(row["factor"] * (length - row["contraction"] * head) * head**1.5)


def scupper_area(drain: float) -> float:
    """Least opening of an overflow scupper [in2] by the size of the drain [in]: 3 times its area (IRC)."""
    return number("rain.na.overflow_size.irc") * math.pi / 4 * drain**2


def scupper_width(drain: float) -> float:
    """Least width of an overflow scupper [in]: the circumference of the drain [in] (UPC)."""
    return math.pi * drain


# ------------------------------------------------------------------------------------------ load
def rain_load(static: float, head: float, ponding: float = 0.0) -> float:
    """R = 5.2 (ds + dh + dp) [psf], depths [in]; dp from the 2022 edition on."""
    return number("rain.na.load.factor") * (static + head + ponding)


# ------------------------------------------------------------------------------------------ pipes by code
CODES = ("ipc-2015", "ipc-2012", "upc", "nspc-2006", "handbook")


def leader_capacity(size: float, code: str) -> float:
    """Flow of a vertical leader [gpm] by size [in] and code; a table of areas at 1 in/h is turned into flows.

    Raises:
        OutOfTableError: a size that the table does not have.
    """
    row = known(f"rain.na.leader.{code}")
    values = {float(s): float(v) for s, v in row["rows"]}
    if size not in values:
        raise OutOfTableError(f"the leader table of {code} has no size {size:g} in; it has {_sizes(values)} in")
    return _gpm(values[size], row["unit"])


def leader_size(q: float, code: str) -> float:
    """Smallest vertical leader [in] that takes a flow [gpm].

    Raises:
        OutOfTableError: more than the table's last row.
    """
    return _smallest(q, f"rain.na.leader.{code}", code)


def horizontal_capacity(size: float, slope: float, code: str) -> float:
    """Flow of a horizontal drain [gpm] by size [in], slope [in/ft] and code.

    Raises:
        OutOfTableError: a size or slope that the table does not have.
    """
    row = known(f"rain.na.horizontal.{code}")
    column = _column(row["slopes"], slope, code)
    values = {float(r[0]): float(r[column]) for r in row["rows"]}
    if size not in values:
        raise OutOfTableError(f"the table of {code} has no size {size:g} in; it has {_sizes(values)} in")
    return _gpm(values[size], row["unit"])


def horizontal_size(q: float, slope: float, code: str) -> float:
    """Smallest horizontal drain [in] that takes a flow [gpm] at a slope [in/ft].

    Raises:
        OutOfTableError: more than the table's last row, or a slope that it does not have.
    """
    row = known(f"rain.na.horizontal.{code}")
    return _smallest(q, f"rain.na.horizontal.{code}", code, _column(row["slopes"], slope, code))


def _column(slopes: list[float], slope: float, code: str) -> int:
    for k, s in enumerate(slopes):
        if abs(s - slope) < 1e-9:
            return k + 1
    raise OutOfTableError(f"the table of {code} has no slope {slope:g} in/ft; it has {_sizes(slopes)}")


def _smallest(q: float, path: str, code: str, column: int = 1) -> float:
    row = known(path)
    for r in row["rows"]:
        if _gpm(float(r[column]), row["unit"]) >= q:
            return float(r[0])
    most = _gpm(float(row["rows"][-1][column]), row["unit"])
    raise OutOfTableError(f"the largest pipe in the table of {code} takes {most:.4g} gpm, not {q:.4g}; use more pipes")


def _gpm(value: float, unit: str) -> float:
    """A table's value as a flow: an area at 1 in/h sheds 0.0104 gpm for each ft2."""
    return value if unit == "gpm" else flow(value, 1.0)


def _sizes(values: Iterable[float]) -> str:
    return ", ".join(f"{v:g}" for v in values)


def hydraulic_load(area: float, rain: float) -> float:
    """Canadian hydraulic load [litres]: rain of 15 minutes [mm] on an area [m2]."""
    return area * rain
