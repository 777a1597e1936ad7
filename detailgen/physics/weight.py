"""The weight of a build-up against what the deck may carry; flotation of loose boards; pressure on them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import Practice
from detailgen.physics.given import Family, LoadsTable
from detailgen.physics.known import cited, known, number
from detailgen.physics.model import Grid, Number, Pile, Study, Verdict, judged
from detailgen.physics.resistance import mean_thickness
from detailgen.physics.scales import PSF_PA, kilonewtons, said
from detailgen.physics.stack import Course, Falls, courses, thickness_range, with_falls
from detailgen.physics.weights import (
    added,
    ballast_each,
    ballast_stepped,
    contact,
    edge_zone,
    strength,
    under_foot,
    uplift,
)
from detailgen.section.buildup import BuildUp

CAUTIONS = (
    "Not a structural design: the structural engineer confirms loads, combinations, deflection and ponding, with the "
    "weights of the products that are built in.",
    "Wind design by others: ballast against wind may have to be heavier than against flotation.",
)


def weight(
    buildup: BuildUp,
    rows: Catalogue,
    sizes: Practice,
    family: Family,
    loads: LoadsTable | None,
    falls: Falls,
    *,
    height: float = 8000.0,
    water: float | None = None,
) -> Study:
    """All that can be said of the weight of one build-up.

    Args:
        buildup: the roof.
        rows: the catalogue.
        sizes: office practice.
        family: whose rules of ballast and edge zones.
        loads: ``[loads]``.
        falls: how far the falls run.
        height: of the roof above the ground [mm].
        water: depth of water over the sheet at the low point at the overflow's level [mm], where it is known.
    """
    loads = loads or LoadsTable()
    stack = courses(buildup, rows, sizes)
    thin, thick = thickness_range(buildup, falls)
    mean = mean_thickness(falls.taper, thin, thick)
    at_mean, at_thick = with_falls(stack, mean), with_falls(stack, thick)
    numbers, verdicts = _sums(at_mean, at_thick, loads, buildup, falls)
    notes = ["Primers and coats are not weighed."]
    boards = [c for c in stack if c.place == "above" and c.material.role == "insulation"]
    if boards:
        more, judged_so, said = _floating(stack, boards, family, water)
        numbers, verdicts, notes = [*numbers, *more], [*verdicts, *judged_so], [*notes, *said]
    more, judged_so = _pressed(at_thick, family, loads)
    numbers, verdicts = [*numbers, *more], [*verdicts, *judged_so]
    numbers += _edges(family, height, loads)
    cautions = (*CAUTIONS, *_on_site(stack))
    piles = tuple(
        Pile(m.id, m.material.key, (m.heavy().dry, m.heavy().wet, t.heavy().wet))
        for m, t in zip(at_mean, at_thick, strict=True)
    )
    tables = (_table(at_mean, at_thick),)
    return Study("weight", buildup.name, tables, tuple(numbers), tuple(verdicts), tuple(notes), cautions, stack=piles)


def _table(mean: Sequence[Course], thick: Sequence[Course]) -> Grid:
    rows = []
    for m, t in zip(reversed(mean), reversed(thick), strict=True):
        rows.append((m.id, m.thickness, m.heavy().dry, m.heavy().wet, t.thickness, t.heavy().wet))
    columns = (
        ("layer, from above", ""),
        ("mean", "mm"),
        ("dry", "kg/m2"),
        ("saturated", "kg/m2"),
        ("thickest", "mm"),
        ("saturated there", "kg/m2"),
    )
    return Grid("Weight of the layers", columns, tuple(rows))


def _on(stack: Sequence[Course]) -> list[Course]:
    return [c for c in stack if c.place != "deck"]


def _sums(
    mean: Sequence[Course], thick: Sequence[Course], loads: LoadsTable, buildup: BuildUp, falls: Falls
) -> tuple[list[Number], list[Verdict]]:
    dry, wet = added([c.heavy() for c in _on(mean)])
    worst = added([c.heavy() for c in _on(thick)])[1]
    deck = added([c.heavy() for c in thick if c.place == "deck"])[1]
    formula, source = "sum of density × thickness", "densities: catalogue"
    edge = f"{buildup.slope * 100:.3g} % over {falls.farthest / 1000:g} m ({falls.source})"
    out = [
        Number("deck", "the deck itself", deck, "kg/m2", formula, "", source),
        Number("dry", "on the deck, dry, mean", dry, "kg/m2", formula, "", source),
        Number("saturated", "on the deck, saturated, mean", wet, "kg/m2", formula, "", source),
        Number(
            "thickest", "on the deck, saturated, where the falls are thickest", worst, "kg/m2", formula, edge, source
        ),
        Number("load_dead",
            "the same as a load",
            kilonewtons(worst),
            "kN/m2",
            "m g",
            f"{worst:.4g} × 9.80665 / 1000",
            cited("weight.gravity"),
        ),
    ]
    variable = max(loads.snow, loads.live)
    whole = kilonewtons(worst) + variable
    out.append(
        Number(
            "with_variable",
            "with the greater of snow and live load",
            whole,
            "kN/m2",
            "dead + max(snow, live)",
            f"{kilonewtons(worst):.3f} + max({loads.snow:.3f}, {loads.live:.3f})",
            "input; combinations by the structural engineer",
        )
    )
    if loads.allowed is None:
        return out, [Verdict("load", "cannot tell", "needed: [loads] allowed, by the structural engineer")]
    left = loads.allowed - whole
    share = f"{said(whole, 'kN/m2', 2)} of {said(loads.allowed, 'kN/m2', 2)} at the thickest, {left:.2f} kN/m2 left"
    return out, [judged("load", whole <= loads.allowed, share, "input: loads.allowed")]


# ------------------------------------------------------------------------------------------ flotation
def lift_of(stack: Sequence[Course], depth: float) -> tuple[float, float]:
    """Lift of the loose insulation and weight of what lies on it, dry [kg/m2].

    Args:
        stack: courses from the soffit up.
        depth: of water over the sheet [mm].
    """
    above = [c for c in stack if c.place == "above"]
    boards = [c for c in above if c.material.role == "insulation"]
    lift, level = 0.0, 0.0
    for c in above:
        if c in boards:
            lift += uplift(c.heavy(), depth - level)
        level += c.thickness
    over = above[above.index(boards[-1]) + 1 :]
    return lift, added([c.heavy() for c in over])[0]


def _floating(
    stack: Sequence[Course], boards: Sequence[Course], family: Family, water: float | None
) -> tuple[list[Number], list[Verdict], list[str]]:
    lift, ballast = lift_of(stack, math.inf)
    t = math.fsum(c.thickness for c in boards)
    own = "; ".join(f"{c.id}: {c.thickness / 1000:g} × (1000 - {c.material.density:g})" for c in boards)
    numbers = [
        Number(
            "uplift",
            "lift of the boards, fully under water",
            lift,
            "kg/m2",
            "t (1000 - density)",
            own,
            "Archimedes; boards dry",
        ),
        Number(
            "ballast",
            "what lies on them, dry",
            ballast,
            "kg/m2",
            "sum of density × thickness",
            "",
            "densities: catalogue",
        ),
    ]
    verdicts = [
        judged(
            "flotation",
            ballast >= lift,
            f"{said(ballast, 'kg/m2')} dry on boards that lift with {said(lift, 'kg/m2')} fully under water",
            "Archimedes",
        )
    ]
    notes = []
    if water is not None:
        some, _ = lift_of(stack, water)
        numbers.append(
            Number(
                "uplift_overflow",
                "lift with water at the overflow's level",
                some,
                "kg/m2",
                "water displaced - own weight",
                f"{water:.0f} mm over the sheet",
                "Archimedes",
            )
        )
        verdicts.append(
            judged(
                "flotation_overflow",
                ballast >= some,
                f"{said(ballast, 'kg/m2')} dry against {said(some, 'kg/m2')} with {said(water, 'mm')} of water",
                "Archimedes",
            )
        )
    else:
        notes.append("Flotation at the overflow's level: cannot tell; needed: [water] with an overflow.")
    verdicts += _habits(t, ballast, family)
    if family == "north-american":
        row = known("weight.ballast.north-american-rafted")
        notes.append(
            f"Boards rafted by a fabric: {row['least']:g} kg/m2, and {row['strip']:g} mm of full ballast at edges; "
            + cited("weight.ballast.north-american-rafted")
        )
    return numbers, verdicts, notes


def _habits(t: float, ballast: float, family: Family) -> list[Verdict]:
    """The trade's own rules of ballast, each by its own text."""
    if family == "european":
        least = number("weight.ballast.european.least")
        return [
            judged(
                "ballast",
                ballast >= least,
                f"{said(ballast, 'kg/m2')} against at least {said(least, 'kg/m2')}",
                cited("weight.ballast.european"),
            )
        ]
    out = []
    for id, least, path in (
        ("ballast_stepped", ballast_stepped(t), "stepped"),
        ("ballast_each", ballast_each(t), "each"),
    ):
        words = f"{said(ballast, 'kg/m2')}, at least {said(least, 'kg/m2')}"
        out.append(judged(id, ballast >= least, words, cited(f"weight.ballast.north-american-{path}")))
    return out


# ------------------------------------------------------------------------------------------ compression
KINDS = ("xps", "cellular-glass", "mineral-wool", "eps", "pir")


def _kind(c: Course) -> str:
    words = (*c.material.tags, c.material.key)
    return next((k for k in KINDS if any(w == k or w.startswith(f"{k}-") for w in words)), "")


def _pressed(stack: Sequence[Course], family: Family, loads: LoadsTable) -> tuple[list[Number], list[Verdict]]:
    numbers: list[Number] = []
    verdicts: list[Verdict] = []
    variable = max(loads.snow, loads.live)
    for k, c in enumerate(stack):
        if c.material.role != "insulation" or c.place == "deck":
            continue
        over = stack[k + 1 :]
        dead = kilonewtons(added([o.heavy() for o in over])[1])
        spread = dead + variable
        foot = _foot(over, loads)
        load = spread if foot is None else foot[0]
        how = f"{dead:.2f} + {variable:.2f}" if foot is None else foot[1]
        numbers.append(
            Number(
                f"pressure_{c.id}",
                f"pressure on {c.id}",
                load,
                "kPa",
                "dead + variable" if foot is None else "A (paving + live) / foot",
                how,
                "statics",
            )
        )
        verdicts.append(_strong(c, load, family, loads))
    return numbers, verdicts


def _foot(over: Sequence[Course], loads: LoadsTable) -> tuple[float, str] | None:
    """Pressure under a pedestal [kPa] with its numbers, where pavers stand on pedestals."""
    if not any("pedestal" in c.material.tags for c in over) or loads.paver is None or loads.foot is None:
        return None
    paving = added([c.heavy() for c in over if "paver" in c.material.tags])[1]
    area = (loads.paver / 1000) ** 2
    live = max(loads.snow, loads.live)
    words = f"{area:.4g} × ({kilonewtons(paving):.3g} + {live:.3g}) / (pi/4 × {loads.foot / 1000:g}^2)"
    return under_foot(area, paving, live, loads.foot), words


def _strong(c: Course, load: float, family: Family, loads: LoadsTable) -> Verdict:
    known_so = strength(_kind(c), family)
    lasting = loads.lasting
    source = "input: loads.lasting"
    if lasting is None and loads.strength is not None:
        share = number(f"weight.compression.{_kind(c)}.share") if known_so else 1 / 3
        lasting, source = loads.strength * share, f"input: {share:.0%} of loads.strength"
    if lasting is None and known_so:
        lasting, source = known_so[1], cited(f"weight.compression.{_kind(c)}")
    if lasting is None:
        return Verdict(
            f"compression_{c.id}", "cannot tell", "needed: loads.lasting, the declared strength of the boards"
        )
    words = f"{said(load, 'kPa', 1)} of {said(lasting, 'kPa')} that {c.id} bears for good"
    return judged(f"compression_{c.id}", load <= lasting, words, source)


def _edges(family: Family, height: float, loads: LoadsTable) -> list[Number]:
    """Edge zones, where the ballast against wind is heavier."""
    if family == "european" and loads.breadth is None:
        return []
    edge, corner = edge_zone(height, loads.breadth or 0.0, family)
    formula = "e/10 and e/4, e = min(b, 2h)" if family == "european" else "0.4 h, at least 8.5 ft"
    worked = f"h = {height / 1000:g} m" + (f", b = {loads.breadth / 1000:g} m" if loads.breadth else "")
    source = cited(f"weight.edge.{family}")
    return [
        Number("edge_zone", "edge zone in wind", edge, "mm", formula, worked, source),
        Number("corner_zone", "corner zone in wind", corner, "mm", formula, worked, source),
    ]


def _on_site(stack: Sequence[Course]) -> list[str]:
    """What heaps and pallets weigh while the roof is built."""
    row = known("weight.site")
    out = []
    for c in stack:
        m = c.material
        if c.place != "above" or m.form not in ("fill", "block") or "pedestal" in m.tags:
            continue
        high = row["stack"] if "paver" in m.tags else row["heap"]
        load = kilonewtons(m.density_saturated * high / 1000)
        what = "A pallet of" if "paver" in m.tags else "A heap of"
        out.append(
            f"{what} {c.id} {high:.0f} mm high loads the deck with {load:.1f} kN/m2 "
            f"({load * 1000 / PSF_PA:.0f} psf): spread it."
        )
    barrow = contact(row["barrow"], row["wheel"])
    out.append(f"A loaded barrow of {row['barrow']:g} kg presses with {barrow:.0f} kPa under its wheel: lay planks.")
    return out
