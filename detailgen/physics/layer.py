"""Flow through the drainage layer, in its plane. The same in both families."""

from __future__ import annotations

from detailgen.physics.given import WaterTable
from detailgen.physics.known import cited, number
from detailgen.physics.model import Number, Verdict, judged


def layer_flow(capacity: float, tested: float, slope: float) -> float:
    """What a drainage layer takes at the slope of the roof, over its life [l/(s m)].

    Below the gradient of the test the flow is taken in proportion to it, as in laminar flow: turbulent flow falls less.
    Above it no more is counted than was tested.

    Args:
        capacity: as tested [l/(s m)].
        tested: hydraulic gradient of the test [ratio].
        slope: of the roof [ratio].
    """
    return capacity * min(1.0, slope / tested) / number("rain.layer.reduction")


def drainage_layer(table: WaterTable, slope: float | None, run: float | None) -> tuple[Number | Verdict, ...]:
    """What one metre of the drainage layer takes and what comes to it, if the table speaks of one.

    Args:
        table: the water of the roof, with a layer.
        slope: of the roof [ratio].
        run: farthest way of the water to its drain, used where the layer gives none [mm].
    """
    layer, id = table.layer, "drainage_layer"
    if layer is None:
        return ()
    if not slope:
        return (Verdict(id, "cannot tell", "needed: a slope; a level drainage layer runs by the depth of its water"),)
    way = layer.run or run
    if not way:
        return (Verdict(id, "cannot tell", "needed: water.layer.run, or distance_to_drain of a detail"),)
    takes, comes = layer_flow(layer.capacity, layer.gradient, slope), table.rain / 3600 * way / 1000 * table.runoff
    factor, source = number("rain.layer.reduction"), cited("rain.layer")
    worked = f"{layer.capacity:.4g} × {min(1.0, slope / layer.gradient):.4g} / {factor:g}"
    coming = f"{table.rain:.4g} / 3600 × {way / 1000:.4g} × {table.runoff:g}"
    name = "flow through one metre of the drainage layer"
    return (
        Number("layer_flow", name, takes, "l/s", "q = capacity × slope / gradient / reduction", worked, source),
        Number("layer_demand", "flow that comes to it", comes, "l/s", "Q = i A C", coming, "of one metre of roof"),
        judged(id, takes >= comes, f"{comes:.3g} of {takes:.3g} l/s for each metre", source),
    )
