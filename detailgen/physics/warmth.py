"""The warmth of a build-up: resistance, transmittance with its corrections, temperatures, condensation, target."""

from __future__ import annotations

from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import Practice
from detailgen.errors import BuildError
from detailgen.physics.condensation import condensation, seasons_of
from detailgen.physics.condensation import films_of as moisture_films
from detailgen.physics.given import ClimateTable, Family
from detailgen.physics.known import cited, number
from detailgen.physics.model import Curve, Grid, Number, Pile, Study, Verdict, judged
from detailgen.physics.moisture import Season, dew_point, heights, saturation, temperatures, through
from detailgen.physics.resistance import (
    german_correction,
    total,
)
from detailgen.physics.roof import Roof, board_for, films_source, fx_of, main_board, rain_of, roof_of
from detailgen.physics.scales import R_IP
from detailgen.physics.stack import NO_CREDIT, Falls
from detailgen.section.buildup import BuildUp

CAUTIONS = (
    "Not an energy design and not a moisture design: an energy consultant or licensed designer confirms it by the law "
    "and the standard in force, with the declared values of the products.",
    "Plane layers only: edges, upstands, drains and fasteners in groups lose more. Moisture that is built in, air that "
    "leaks, and driving rain are not in the steady method.",
)


# ------------------------------------------------------------------------------------------ the study
def warmth(
    buildup: BuildUp,
    rows: Catalogue,
    sizes: Practice,
    family: Family,
    climate: ClimateTable | None,
    falls: Falls,
) -> Study:
    """All that can be said of the warmth of one build-up."""
    roof = roof_of(buildup, rows, sizes, family, climate, falls)
    numbers = [*_transmittance(roof, family), *_sump(roof, buildup)]
    verdicts: list[Verdict] = []
    notes = [NO_CREDIT + "."]
    if roof.maker is not None:
        notes.append(f"Falls run {falls.farthest / 1000:g} m ({falls.source}).")
        if buildup.slope > number("warmth.taper.steepest"):
            notes.append("The formulas of tapered layers hold up to a slope of 5 %; this roof is steeper.")
    if roof.climate.target_u is not None:
        more, verdict = _target(roof, roof.climate.target_u)
        numbers += more
        verdicts.append(verdict)
    grids = [_layers(roof)]
    if (air := _air(roof.climate)) is not None:
        grids.append(_profile(roof, *air))
    wet = condensation(roof.level, roof.climate)
    if wet is None:
        notes.append(
            "Condensation: cannot tell; needed: [climate] with a standard, or seasons with the air on both sides."
        )
    else:
        grids += wet.grids
        numbers += wet.numbers
        verdicts += wet.verdicts
        notes += wet.notes
    stack = tuple(Pile(c.id, c.material.key, (c.thickness,)) for c in roof.level)
    return Study(
        "warmth",
        buildup.name,
        tuple(grids),
        tuple(numbers),
        tuple(verdicts),
        tuple(notes),
        CAUTIONS,
        _curves(roof),
        stack,
    )


def _layers(roof: Roof) -> Grid:
    mean = roof.mean
    rows: list[tuple[str | float | None, ...]] = [("inner surface", None, None, roof.films.inside)]
    for c in roof.stack:
        t = mean if c.falls else c.thickness
        r = t / 1000 / c.material.conductivity if c.warm else 0.0
        rows.append((c.id, t, c.material.conductivity if c.warm else None, r))
    rows.append(("outer surface", None, None, roof.films.outside))
    columns = (("layer, from inside", ""), ("thickness", "mm"), ("conductivity", "W/(m K)"), ("R", "m2K/W"))
    return Grid("Layers, what makes the falls at its mean", columns, tuple(rows))


def _transmittance(roof: Roof, family: Family) -> list[Number]:
    u0, whole = roof.u0(), 1 / roof.u0()
    out = [
        Number("rsi", "inner surface", roof.films.inside, "m2K/W", source=films_source(family)),
        Number("rse", "outer surface", roof.films.outside, "m2K/W", source=films_source(family)),
    ]
    if roof.maker is None:
        parts = " + ".join(f"{c.slab().resistance:.4g}" for c in roof.warm)
        worked = f"1 / ({roof.films.inside:.3g} + {parts} + {roof.films.outside:.3g})"
        out.append(
            Number(
                "u0", "U of the layers", u0, "W/(m2K)", "U = 1 / (Rsi + sum d/lambda + Rse)", worked, "ISO 6946:2017"
            )
        )
    else:
        k = roof.maker.material.conductivity
        rest = total([c.slab() for c in roof.warm if not c.falls], roof.films)
        thin, thick = (t / 1000 / k for t in roof.ends)
        r0, r2 = rest + thin, thick - thin
        formula, worked = {
            "plane": ("U = ln(1 + R2/R0) / R2", f"ln(1 + {r2:.4g}/{r0:.4g}) / {r2:.4g}"),
            "thin-apex": (
                "U = (2/R2) (1 - (R0/R2) ln(1 + R2/R0))",
                f"(2/{r2:.4g}) (1 - ({r0:.4g}/{r2:.4g}) ln(1 + {r2:.4g}/{r0:.4g}))",
            ),
        }[roof.falls.taper]
        out.append(
            Number("u0", "U of the layers, one of them tapered", u0, "W/(m2K)", formula, worked, cited("warmth.taper"))
        )
    out.append(Number("rt", "RT", whole, "m2K/W", "RT = 1 / U", f"1 / {u0:.4g}", "ISO 6946:2017"))
    added = roof.corrections()
    if "rain" in added:
        p, fx, r1 = rain_of(roof.climate), fx_of(roof), roof.insulation("above")
        given = "" if roof.climate.rain is not None else "; rain assumed, give climate.rain"
        out.append(
            Number(
                "du_rain",
                "addition for rain on the sheet",
                added["rain"],
                "W/(m2K)",
                "dU = p f x (R1/RT)^2",
                f"{p:g} × {fx:g} × ({r1:.4g}/{whole:.4g})^2",
                cited("warmth.inverted") + given,
            )
        )
        below = whole - r1 - roof.films.inside - roof.films.outside
        out.append(
            Number(
                "du_german",
                "the same by the German rule, in place of it",
                german_correction(max(below, 0.0), whole),
                "W/(m2K)",
                "by the share of R under the sheet",
                f"{max(below, 0.0):.3g} / {whole:.4g} = {max(below, 0.0) / whole:.0%}",
                cited("warmth.inverted_german"),
            )
        )
    if "gaps" in added:
        out.append(
            Number(
                "du_gaps",
                "addition for gaps between boards",
                added["gaps"],
                "W/(m2K)",
                "dU = dU'' (R1/RT)^2",
                f"level {roof.climate.gaps}",
                cited("warmth.air_gap"),
            )
        )
    if "fasteners" in added:
        f = roof.climate.fasteners
        assert f is not None
        out.append(
            Number(
                "du_fasteners",
                "addition for fasteners",
                added["fasteners"],
                "W/(m2K)",
                "dU = alpha lambda A n / d0 (R1/RT)^2",
                f"{f.count:g} per m2 of {f.diameter:g} mm, {f.material}",
                cited("warmth.fastener"),
            )
        )
    u = roof.u()
    sum_of = " + ".join([f"{u0:.4g}", *(f"{v:.4g}" for v in added.values())])
    out.append(Number("u", "U", u, "W/(m2K)", "U = U0 + sum of the additions", sum_of, "ISO 6946:2017"))
    out.append(
        Number(
            "u_ip",
            "U in inch-pound units",
            u * R_IP,
            "Btu/(h ft2 F)",
            "1 Btu/(h ft2 F) = 5.678 W/(m2K)",
            f"{u:.4g} × {R_IP:.5g}",
            "exact by definition",
        )
    )
    out.append(
        Number(
            "r_ip",
            "R in inch-pound units",
            1 / (u * R_IP),
            "h ft2 F/Btu",
            "R = 1 / U",
            f"1 / {u * R_IP:.4g}",
            "exact by definition",
        )
    )
    return out


def _sump(roof: Roof, buildup: BuildUp) -> list[Number]:
    """U where the falls are deepest: in the sump."""
    if roof.maker is None:
        return []
    at = roof.at(buildup.t_ring)
    worked = f"what makes the falls {buildup.t_ring:g} mm thick, in place of {roof.ends[0]:g} to {roof.ends[1]:g} mm"
    return [
        Number(
            "u_sump", "U in the sump", at.u(), "W/(m2K)", "U with the thickness at the ring", worked, "ISO 6946:2017"
        )
    ]


def _target(roof: Roof, target: float) -> tuple[list[Number], Verdict]:
    u = roof.u()
    try:
        needed = board_for(roof, target)
    except BuildError as error:
        return [], judged("target_u", u <= target, f"U {u:.3f} against {target:.3f} W/(m2K); {error.reason}", "input")
    board = main_board(roof)
    assert board is not None
    usual = next((t for t in sorted(board.material.metric) if t >= needed - 1e-6), None)
    product = f"; the next usual board is {usual:g} mm" if usual else "; no usual board is that thick, lay several"
    made = Number(
        "t_target",
        f"thickness of {board.id} for the target",
        needed,
        "mm",
        "U(t) = target, solved for t",
        f"U({needed:.1f} mm) = {roof.with_board(board.id, needed).u():.4g}{product}",
        "ISO 6946:2017",
    )
    sentence = f"U {u:.3f} against {target:.3f} W/(m2K): {board.id} {board.thickness:g} mm, {needed:.0f} mm reach it"
    return [made], judged("target_u", u <= target + 1e-12, sentence, "input")


# ------------------------------------------------------------------------------------------ temperatures
Air = tuple[tuple[float, float], tuple[float, float]]


def _air(climate: ClimateTable) -> Air | None:
    """The air of the temperature table: as given, else the coldest season."""
    if climate.inside is not None and climate.outside is not None:
        return climate.inside, climate.outside
    warm = [s for s in seasons_of(climate) if s.inside is not None and s.outside is not None]
    if not warm:
        return None
    coldest = min(warm, key=lambda s: s.outside[0] if s.outside else 0.0)
    assert coldest.inside is not None and coldest.outside is not None
    return coldest.inside, coldest.outside


def profile(roof: Roof, inside: tuple[float, float], outside: tuple[float, float]) -> list[tuple[str, float, float]]:
    """Name, thickness [mm] and temperature at the outer side [°C] of every course that counts, from inside."""
    stack = roof.level
    found = temperatures([c.slab().resistance for c in stack], roof.films, inside[0], outside[0])
    return [("inner surface", 0.0, found[0]), *((c.id, c.thickness, t) for c, t in zip(stack, found[1:], strict=True))]


def _profile(roof: Roof, inside: tuple[float, float], outside: tuple[float, float]) -> Grid:
    rows = [(name, t, saturation(t)) for name, _, t in profile(roof, inside, outside)]
    dew = dew_point(saturation(inside[0]) * inside[1] / 100) if inside[1] > 0 else None
    title = "Temperatures at the outer side of each layer"
    title += f", inside {inside[0]:.3g} C {inside[1]:g} %, outside {outside[0]:.3g} C"
    title += f"; dew point inside {dew:.2f} C" if dew is not None else ""
    return Grid(title, (("layer, from inside", ""), ("temperature", "C"), ("saturation", "Pa")), tuple(rows))


def _curves(roof: Roof) -> tuple[Curve, ...]:
    """Temperature and dew point over the height from the soffit, in the coldest air."""
    air = _air(roof.climate)
    if air is None:
        return ()
    slabs = [c.slab() for c in roof.level]
    season = Season("coldest", 1.0, *air)
    [found] = through(slabs, moisture_films(roof.climate), [season])
    height = heights(slabs)
    inside, outside = air
    name = f"inside {inside[0]:.3g} °C {inside[1]:g} %, outside {outside[0]:.3g} °C {outside[1]:g} %"
    warm = tuple(zip(height, found.temperature, strict=True))
    dew = tuple((y, dew_point(max(p, 1.0))) for y, p in zip(height, found.pressure, strict=True))
    return Curve(f"temperature, {name}", ("mm", "C"), warm), Curve("dew point", ("mm", "C"), dew)
