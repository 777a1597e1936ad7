"""Vapour in a plane build-up: saturation, dew point, and the steady method with water that gathers and dries.

Between two surfaces the flow of vapour is steady, p is a straight line over the diffusion-equivalent thickness sd, and
nowhere above saturation: p is the lower convex hull of the saturation pressures between its two ends (a taut string
pulled up against them). Where the string bends, water gathers. A place that still holds water keeps its saturation
pressure until it is dry.

Source: ISO 13788:2012, clauses 4 to 6 and annex E; DIN 4108-3 annex A.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from detailgen.physics.known import number
from detailgen.physics.resistance import Films, Slab, total

DAY = 86400.0
DRY = 1e-12  # kg/m2 and less counts as dry
STILL = 1e-18  # kg/(m2 s): less is the rounding of pressures, not a flow


def saturation(celsius: float) -> float:
    """Saturation pressure [Pa] over water, under 0 °C over ice. ISO 13788:2012 annex E.

    >>> round(saturation(20), 1)
    2337.0
    """
    if celsius >= 0:
        return 610.5 * math.exp(17.269 * celsius / (237.3 + celsius))
    return 610.5 * math.exp(21.875 * celsius / (265.5 + celsius))


def dew_point(pressure: float) -> float:
    """Temperature [°C] at which a vapour pressure [Pa] saturates: the inverse of `saturation`."""
    log = math.log(pressure / 610.5)
    return 237.3 * log / (17.269 - log) if log >= 0 else 265.5 * log / (21.875 - log)


def temperatures(resistances: Sequence[float], films: Films, inside: float, outside: float) -> list[float]:
    """Temperature at the inner surface, between the layers and at the outer surface [°C]."""
    whole = films.inside + math.fsum(resistances) + films.outside
    out, r = [], films.inside
    for step in [0.0, *resistances]:
        r += step
        out.append(inside - (inside - outside) * r / whole)
    return out


@dataclass(frozen=True, slots=True)
class Season:
    """A stretch of time with steady conditions.

    Attributes:
        inside, outside: temperature [°C] and relative humidity [%]; or None with `pressure` and `wet`.
        pressure: vapour pressure inside and outside [Pa], in place of temperatures.
        wet: pressure where water lies [Pa], in place of the saturation at its temperature.
    """

    name: str
    days: float
    inside: tuple[float, float] | None = None
    outside: tuple[float, float] | None = None
    pressure: tuple[float, float] | None = None
    wet: float | None = None

    @property
    def pressures(self) -> tuple[float, float]:
        """Vapour pressure inside and outside [Pa]."""
        if self.pressure is not None:
            return self.pressure
        assert self.inside is not None and self.outside is not None
        a, b = self.inside, self.outside
        return saturation(a[0]) * a[1] / 100, saturation(b[0]) * b[1] / 100


@dataclass(frozen=True, slots=True)
class Nodes:
    """The places at which water may gather: surfaces, interfaces, and divisions of thick layers.

    Attributes:
        sd: from the inner surface [m], rising.
        r: from the inner surface [m2K/W].
        between: for each node the layers on its two sides; equal inside a layer, -1 and n beyond the ends.
    """

    sd: tuple[float, ...]
    r: tuple[float, ...]
    between: tuple[tuple[int, int], ...]


def nodes(slabs: Sequence[Slab]) -> Nodes:
    """Nodes of a build-up, from inside to outside; layers of more than 0.25 m2K/W are divided (ISO 13788 6.4)."""
    split, tight = number("warmth.moisture.split"), number("warmth.moisture.tight")
    sd, r, sides = [0.0], [0.0], [(-1, 0)]
    for k, s in enumerate(slabs):
        n = max(1, math.ceil(s.resistance / split - 1e-9))
        whole = s.mu * s.thickness / 1000 if math.isfinite(s.mu) else tight
        start_sd, start_r = sd[-1], r[-1]
        for i in range(1, n + 1):
            sd.append(start_sd + whole * i / n)
            r.append(start_r + s.resistance * i / n)
            sides.append((k, k + 1 if i == n else k))
    return Nodes(tuple(sd), tuple(r), tuple(sides))


def heights(slabs: Sequence[Slab]) -> tuple[float, ...]:
    """Height of every node over the inner surface [mm]."""
    sides, out, base = nodes(slabs).between, [0.0], 0.0
    for k, s in enumerate(slabs):
        n = sum(k in pair for pair in sides) - 1
        out += [base + s.thickness * i / n for i in range(1, n + 1)]
        base += s.thickness
    return tuple(out)


def pressures(
    sd: Sequence[float], limit: Sequence[float], ends: tuple[float, float], wet: Sequence[int]
) -> list[float]:
    """Vapour pressure at every node [Pa]: a string pulled taut under the limits, nailed where water lies.

    Args:
        sd: places [m].
        limit: saturation pressure there [Pa].
        ends: vapour pressure at both surfaces [Pa].
        wet: nodes that hold water.
    """
    last = len(sd) - 1
    p = [min(ends[0], limit[0]), *limit[1:-1], min(ends[1], limit[-1])]
    nails = sorted({0, last, *wet})
    out = list(p)
    for a, b in pairwise(nails):
        hull = [a]
        for j in range(a + 1, b + 1):
            while len(hull) > 1 and _slope(sd, p, hull[-2], hull[-1]) >= _slope(sd, p, hull[-1], j):
                hull.pop()
            hull.append(j)
        for i, j in pairwise(hull):
            for m in range(i + 1, j):
                out[m] = p[i] + _slope(sd, p, i, j) * (sd[m] - sd[i])
    return out


def _slope(sd: Sequence[float], p: Sequence[float], i: int, j: int) -> float:
    return (p[j] - p[i]) / max(sd[j] - sd[i], 1e-9)


def gathering(sd: Sequence[float], p: Sequence[float]) -> list[float]:
    """Water that gathers at every node [kg/(m2 s)], negative where it dries; 0 at the surfaces."""
    delta = number("warmth.moisture.delta_air")
    inner = [delta * (_slope(sd, p, k, k + 1) - _slope(sd, p, k - 1, k)) for k in range(1, len(sd) - 1)]
    return [0.0, *(v if abs(v) > STILL else 0.0 for v in inner), 0.0]


@dataclass(frozen=True, slots=True)
class Passage:
    """What one season does.

    Attributes:
        temperature, saturation, pressure: at every node at its beginning; temperature empty without temperatures.
        rate: water at its beginning [kg/(m2 s)].
        held: water at its end [kg/m2].
    """

    season: Season
    temperature: tuple[float, ...]
    saturation: tuple[float, ...]
    pressure: tuple[float, ...]
    rate: tuple[float, ...]
    held: tuple[float, ...]


def through(slabs: Sequence[Slab], films: Films, seasons: Sequence[Season]) -> tuple[Passage, ...]:
    """The seasons one after the other, from a dry roof: water gathers, and dries where it lies.

    Args:
        slabs: from inside to outside.
        films: surface resistances of the moisture method.
        seasons: in their order.
    """
    places = nodes(slabs)
    held = [0.0] * len(places.sd)
    out = []
    for season in seasons:
        first, held = _season(places, total(slabs, films), films, season, held)
        out.append(first)
    return tuple(out)


def _season(n: Nodes, whole: float, films: Films, season: Season, held: list[float]) -> tuple[Passage, list[float]]:
    """One season, cut where a place dries out."""
    temperature: list[float] = []
    if season.inside is not None and season.outside is not None:
        ti, te = season.inside[0], season.outside[0]
        temperature = [ti - (ti - te) * (films.inside + r) / whole for r in n.r]
        limit = [saturation(t) for t in temperature]
    else:
        limit = [season.wet or math.inf] * len(n.sd)
    left, first = season.days * DAY, None
    while True:
        wet = [k for k, m in enumerate(held) if m > DRY]
        bounds = limit if temperature else [v if k in wet else 1e12 for k, v in enumerate(limit)]
        p = pressures(n.sd, bounds, season.pressures, wet)
        rate = gathering(n.sd, p)
        if first is None:
            first = Passage(season, tuple(temperature), tuple(limit), tuple(p), tuple(rate), ())
        dries = [(held[k] / -rate[k], k) for k in wet if rate[k] < 0]
        step = min([left, *(t for t, _ in dries)])
        held = [max(0.0, m + v * step) for m, v in zip(held, rate, strict=True)]
        for t, k in dries:
            if t <= step:
                held[k] = 0.0
        left -= step
        if left <= 0:
            break
    return Passage(season, first.temperature, first.saturation, first.pressure, first.rate, tuple(held)), held
