"""A roof as its transmittance is computed: courses, the ends of its taper, films, corrections."""

from __future__ import annotations

from dataclasses import dataclass, replace

from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import Practice
from detailgen.errors import BuildError
from detailgen.physics.given import ClimateTable, Family
from detailgen.physics.known import cited, number
from detailgen.physics.resistance import (
    Fasteners,
    Films,
    fastener_correction,
    gap_correction,
    mean_thickness,
    rain_correction,
    tapered_between,
    total,
)
from detailgen.physics.scales import R_IP
from detailgen.physics.solving import rising
from detailgen.physics.stack import Course, Falls, courses, thickness_range, with_falls
from detailgen.section.buildup import BuildUp

THICKEST = 1000.0  # mm: no insulation is looked for beyond it


@dataclass(frozen=True)
class Roof:
    """Everything that a transmittance is computed from.

    Attributes:
        stack: courses from the soffit up; the one that makes the falls at its thin end.
        ends: thickness of that one at its thin and its thick end [mm]; equal where nothing falls.
    """

    stack: tuple[Course, ...]
    ends: tuple[float, float]
    falls: Falls
    films: Films
    inverted: bool
    climate: ClimateTable
    rows: Catalogue

    @property
    def warm(self) -> tuple[Course, ...]:
        """The courses that count."""
        return tuple(c for c in self.stack if c.warm)

    @property
    def maker(self) -> Course | None:
        """The course that makes the falls, if it counts."""
        return next((c for c in self.warm if c.falls), None)

    def insulation(self, place: str | None = None) -> float:
        """R of all insulation, or of that over the sheet, with a taper at its mean [m2K/W]."""
        chosen = [c for c in self.warm if c.material.role == "insulation" and place in (None, c.place)]
        return sum(self._mean(c) / 1000 / c.material.conductivity for c in chosen)

    @property
    def mean(self) -> float:
        """Mean thickness of the course that makes the falls [mm]."""
        return mean_thickness(self.falls.taper, *self.ends)

    @property
    def level(self) -> tuple[Course, ...]:
        """The courses that count, the one that makes the falls at its mean."""
        return with_falls(self.warm, self.mean)

    def _mean(self, c: Course) -> float:
        return self.mean if c.falls else c.thickness

    def u0(self) -> float:
        """U without corrections, with the taper by the exact formula [W/(m2K)]."""
        rest = total([c.slab() for c in self.warm if not c.falls], self.films)
        if self.maker is None:
            return 1 / rest
        k = self.maker.material.conductivity
        thin, thick = (t / 1000 / k for t in self.ends)
        return tapered_between(self.falls.taper, rest, thin, thick)

    def corrections(self) -> dict[str, float]:
        """Additions to U by name [W/(m2K)]."""
        whole = 1 / self.u0()
        out = {}
        if self.inverted:
            rain, fx = rain_of(self.climate), fx_of(self)
            out["rain"] = rain_correction(rain, fx, self.insulation("above"), whole)
        if self.climate.gaps:
            out["gaps"] = gap_correction(self.climate.gaps, self.insulation(), whole)
        if (f := self.climate.fasteners) is not None:
            k = self.rows.material(f.material).conductivity
            through = [c for c in self.warm if c.material.role == "insulation" and c.place != "above"]
            d = sum(self._mean(c) for c in through)
            r = self.insulation("below")
            if d > f.recess:
                metal = Fasteners(f.diameter, f.count, k, f.recess)
                out["fasteners"] = fastener_correction(metal, d, r, whole)
        return out

    def u(self) -> float:
        """U with all its corrections [W/(m2K)]."""
        return self.u0() + sum(self.corrections().values())

    def at(self, thickness: float) -> Roof:
        """The roof as if the layer that makes the falls had one thickness everywhere [mm]."""
        return replace(self, stack=with_falls(self.stack, thickness), ends=(thickness, thickness))

    def with_board(self, id: str, thickness: float) -> Roof:
        """The same with another thickness of one course [mm]."""
        shift = thickness - next(c.thickness for c in self.stack if c.id == id)
        stack = tuple(replace(c, thickness=thickness) if c.id == id else c for c in self.stack)
        ends = (
            (self.ends[0] + shift, self.ends[1] + shift)
            if any(c.id == id and c.falls for c in self.stack)
            else self.ends
        )
        return replace(self, stack=stack, ends=ends)


def rain_of(climate: ClimateTable) -> float:
    """Mean rain of the heating season [mm/day]."""
    return number("warmth.inverted.rain") if climate.rain is None else climate.rain


def fx_of(roof: Roof) -> float:
    """Product f x of an inverted roof [W day/(m2 K mm)]: by its water-shedding layer, else by its joints."""
    if any("water-shedding" in c.material.tags for c in roof.stack):
        return number("warmth.inverted.shedding")
    return number(f"warmth.inverted.{roof.climate.boards}")


def films_of(family: Family) -> Films:
    """Surface resistances for heat that flows upwards [m2K/W], by the family's own table."""
    if family == "european":
        return Films(number("warmth.films.iso.up"), number("warmth.films.iso.outside"))
    return Films(number("warmth.films.ashrae.up") * R_IP, number("warmth.films.ashrae.outside") * R_IP)


def films_source(family: Family) -> str:
    """Where they come from."""
    return cited("warmth.films.iso" if family == "european" else "warmth.films.ashrae")


def roof_of(
    buildup: BuildUp, rows: Catalogue, sizes: Practice, family: Family, climate: ClimateTable | None, falls: Falls
) -> Roof:
    """The roof of a build-up.

    Raises:
        InputError: a material of the fasteners that the catalogue does not have.
    """
    ends = thickness_range(buildup, falls) if buildup.falls_by != "structure" else (0.0, 0.0)
    climate = climate or ClimateTable()
    if climate.fasteners is not None:
        rows.material(climate.fasteners.material)
    return Roof(
        courses(buildup, rows, sizes), ends, falls, films_of(family), buildup.system == "inverted", climate, rows
    )


def main_board(roof: Roof) -> Course | None:
    """The insulation that resists most: the one to make thicker."""
    boards = [c for c in roof.warm if c.material.role == "insulation"]
    return max(boards, key=lambda c: c.slab().resistance, default=None)


def board_for(roof: Roof, target: float) -> float:
    """Thickness of the main board that just reaches a transmittance [mm].

    Raises:
        BuildError: none up to 1 m does.
    """
    board = main_board(roof)
    if board is None:
        raise BuildError("target_u", "the build-up has no insulation to make thicker", "no-insulation")
    try:
        return rising(lambda t: -roof.with_board(board.id, t).u(), -target, 1.0, THICKEST)
    except ValueError:
        least = roof.with_board(board.id, THICKEST).u()
        reason = f"is not reached by 1 m of {board.id}, which gives {least:.3f} W/(m2K)"
        if roof.inverted:
            reason += "; the rain on the sheet alone adds up to p f x"
        raise BuildError("target_u", reason, "target-not-reached") from None
