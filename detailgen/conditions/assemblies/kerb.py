"""A curb on the deck: cast with it, or framed in timber on a sill plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from detailgen.conditions.assemblies.shapes import Size, box
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.buildup import BuildUp

Kind = Literal["concrete", "framed"]
LIGHT = ("metal", "timber")  # decks on which nothing is cast


def is_framed(kind: Kind | None, b: BuildUp) -> bool:
    """Framed in timber instead of cast: asked for, or by the deck."""
    return kind == "framed" if kind else b.deck in LIGHT


def refuse_heavy(kind: Kind | None, b: BuildUp, what: str = "curb", key: str = "backing.kind") -> None:
    """Nothing is cast on a light deck.

    Raises:
        BuildError: a concrete curb on a metal or timber deck.
    """
    if kind == "concrete" and b.deck in LIGHT:
        reason = f"a concrete {what} is cast with a concrete deck, not on {b.deck}"
        raise BuildError(key, reason, "heavy-backing-on-light-deck")


@dataclass(frozen=True)
class Kerb:
    """Where it stands [mm].

    Attributes:
        x0, x1: its faces, boards included. top: its top. framed: timber framing instead of concrete.
        item: key of a concrete curb. both: a framed one has a board on both faces.
        half: only the half of it on one side of its axis is given; it is doubled later.
    """

    x0: float
    x1: float
    top: float
    framed: bool
    item: str = "curb-concrete"
    both: bool = False
    half: bool = False


def stand(w: Workshop, size: Size, c: Kerb) -> str:
    """The curb on the deck.

    Returns:
        Id of the part that screws from above end in.

    Raises:
        BuildError: the plates of a framed curb would meet.
    """
    width = (c.x1 - c.x0) * (2 if c.half else 1)
    if not c.framed:
        w.solid("curb", c.item, box(c.x0, 0.0, c.x1, c.top), step=1, thickness=width, on=("deck",))
        return "curb"
    plate, board = size("curb.nailer"), size("curb.frame_board")
    if c.top < 3 * plate + 40:
        raise BuildError("height", "too low for a framed curb: its plates would meet", "curb-too-low")
    x0, x1, y1 = c.x0 + (board if c.both else 0.0), c.x1 - board, c.top - plate
    depth = width - board * (2 if c.half or c.both else 1)
    w.solid("sill-plate", "curb-sill", box(x0, 0.0, x1, plate), step=1, thickness=plate, on=("deck",))
    fill = box(x0, plate, x1, y1)
    w.solid("curb-fill", "curb-fill", fill, step=1, thickness=depth, sizes={"depth": depth}, on=("sill-plate",))
    boards = [box(x1, 0.0, c.x1, y1), *([box(c.x0, 0.0, x0, y1)] if c.both else [])]
    w.solid("curb-board", "curb-board", *boards, step=1, thickness=board, on=("deck", "curb-fill"))
    w.solid("nailer", "curb-nailer", box(c.x0, y1, c.x1, c.top), step=1, thickness=plate, on=("curb-fill",))
    return "nailer"
