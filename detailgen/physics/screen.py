"""Flow through a perforated edge that holds a growing medium back. Physics of an orifice, the same in both families."""

from __future__ import annotations

import math

from detailgen.physics.given import ScreenSpec
from detailgen.physics.known import cited, known, number
from detailgen.physics.model import Number, Verdict, judged


def screen_flow(area: float, head: float) -> float:
    """Flow through a perforated screen [l/s]: Cd A (2 g h)^0.5, half of the openings clogged.

    Args:
        area: open [mm2].
        head: mean depth of water over the openings [mm].
    """
    row = known("rain.screen")
    open_area = area / 1e6 * (1 - row["clogged"])
    speed = math.sqrt(2 * number("weight.gravity.standard") * head / 1000)
    return float(row["coefficient"] * open_area * speed * 1000)


def screen(s: ScreenSpec, rain: float, runoff: float = 1.0) -> tuple[list[Number], Verdict]:
    """What one metre of edge takes and what comes to it.

    Args:
        s: the screen.
        rain: [mm/h].
        runoff: coefficient.
    """
    takes, comes = screen_flow(s.open_area, s.head), rain / 3600 * s.run / 1000 * runoff
    row = known("rain.screen")
    cd, half = row["coefficient"], s.open_area / 1e6 * (1 - row["clogged"])
    worked = f"{cd:g} × {half:.4g} × (2 × 9.80665 × {s.head / 1000:g})^0.5 × 1000"
    source = cited("rain.screen")
    coming = f"{rain:.4g} / 3600 × {s.run / 1000:g} × {runoff:g}"
    numbers = [
        Number("screen_flow", "flow through one metre of screen", takes, "l/s", "Q = Cd A (2 g h)^0.5", worked, source),
        Number("screen_demand", "flow that comes to it", comes, "l/s", "Q = i A C", coming, "of one metre of edge"),
    ]
    return numbers, judged("screen", takes >= comes, f"{comes:.3g} of {takes:.3g} l/s for each metre", source)
