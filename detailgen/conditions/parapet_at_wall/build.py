"""One run of the build along the top of a parapet: wall, parapet, sheet up the wall, coping's end, counterflashing."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import counterflashing, upstand
from detailgen.conditions.assemblies.counterflashing import Counterflashing
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.wallface import cover_wall
from detailgen.conditions.parapet_at_wall.levels import Levels
from detailgen.conditions.parapet_at_wall.shown import shown
from detailgen.conditions.wall.build import Build as WallBuild
from detailgen.conditions.wall.build import Leg
from detailgen.section.build import Workshop
from detailgen.section.front import Front
from detailgen.section.model import Point, Section


class Build(WallBuild):
    """One run of the build on a workshop; wall, gap and loop are those of an abutment."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        super().__init__(levels.wall, workshop)
        self.at, self.low = levels, levels.low

    @property
    def _face(self) -> str:
        return "wall"

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        at, w = self.at, self.w
        self._structure()
        self._top()
        self._sheet_along()
        if self.v.p.independent:
            self._loop()
        upstand.lay_bar(w, self.size, self._bar(), self.v.sheet if self.v.p.ends == "reglet" else None)
        self._coping()
        self._cover()
        parts, spaces = w.finished()
        return shown(at, w, parts, spaces)

    # -- 1 structure
    def _structure(self) -> None:
        at, v, w = self.at, self.v, self.w
        parapet = at.parapet
        if v.studs:
            self._studs_apart()
        else:
            self._heavy(at.low)
        t = parapet.x_in - parapet.x_out
        if parapet.studs:
            self._stud_parapet()
        else:
            ring = box(0.0, at.low, at.right, parapet.y_t)
            w.solid("parapet", f"parapet-{parapet.p.backing.kind}", ring, thickness=t)
        across: list[Leg] = []
        if v.p.independent:
            fill = at.blocking - v.gap / 2 - self.size("wall.fill_below_loop")
            ring = box(v.wall, at.low, 0.0, fill)
            w.solid("gap-fill", "gap-fill", ring, step=3, thickness=v.gap, sizes={"w": v.gap}, on=(self._core,))
            down: Leg = ("end", (0.0, fill))
            across = [down, ("gap", (v.wall, fill))]
        w.front = Front.of((at.right, parapet.y_t), ("top", (0.0, parapet.y_t)), *across, *self._wall_legs("wall"))

    @property
    def _core(self) -> str:
        return "parapet-fill" if self.at.parapet.studs else "parapet"

    def _stud_parapet(self) -> None:
        """The cavity of a stud parapet under its track; at a gap its end is boarded."""
        at, w, size = self.at, self.w, self.size
        y, track, board = at.parapet.y_t, size("parapet.track"), size("parapet.board")
        end = board if self.v.p.independent else 0.0
        depth, sizes = at.parapet.x_in - at.parapet.x_out, {"spacing": size("parapet.stud_spacing")}
        ring = box(end, at.low, at.right, y - track)
        w.solid("parapet-fill", "stud-fill", ring, thickness=depth, sizes={"depth": depth, **sizes})
        if end:
            w.solid("end-board", "sheathing-outer", box(0.0, at.low, end, y - track), step=2, thickness=board)
        ring, leg = box(0.0, y - track, at.right, y), size("parapet.track_deep_leg")
        w.solid("top-track", "top-track", ring, step=1, thickness=track, sizes={"leg": leg}, on=("parapet-fill",))

    # -- 2 top
    def _top(self) -> None:
        """Insulation and blocking in the middle of the parapet, level along its run."""
        at, size = self.at, self.size
        y, on = at.parapet.y_t, ("top-track" if at.parapet.studs else "parapet",)
        if at.parapet.top_insulation > 0:
            t, old, y = at.parapet.top_insulation, y, y + at.parapet.top_insulation
            self._course("top-insulation", old, y, t, {}, on)
            on = ("top-insulation",)
        sizes = {"spacing": size("parapet.bracket_spacing")}
        self._course("blocking", y, at.blocking, size("parapet.blocking"), sizes, on)

    def _course(
        self, kind: str, low: float, high: float, t: float, sizes: dict[str, float], on: tuple[str, ...]
    ) -> None:
        """A level layer from the cut plane to the wall, or to the end of the parapet."""
        w, right = self.w, self.at.right
        line: list[Point] = [(right, high)]
        faces = ["plane", "top"]
        if self.v.p.independent:
            b = w.front.corner((0.0, low), last=True)
            line, faces = [*line, (0.0, high)], [*faces, "end"]
        else:
            b = w.front.at("wall", y=high, last=True)
        w.fill(kind, kind, w.front.begin(), line, b, faces, step=5, thickness=t, sizes=sizes, on=on)

    # -- 3 sheet
    def _sheet_along(self) -> None:
        """The parapet's own sheet or underlay, to its end or up the wall."""
        at, v, w = self.at, self.v, self.w
        kind = "parapet-sheet" if at.parapet.over else "parapet-underlay"
        apart = v.p.independent
        b = w.front.corner((0.0, at.blocking), last=True) if apart else w.front.at("wall", y=v.sheet, last=True)
        w.lay("flashing", kind, w.front.begin(), b, at.ply, step=8, sizes={"up": v.sheet - at.blocking - at.ply})

    # -- 4 coping
    def _coping(self) -> None:
        """A bracket beyond the cut, air, and the metal with its end turned up before the wall."""
        at, w, size = self.at, self.w, self.size
        y = w.front.begin().point[1]
        under = y + at.rise
        x1, x0 = size("meeting.bracket_from") + size("meeting.bracket_width"), size("meeting.bracket_from")
        x1, x0 = x1 + at.leg, x0 + at.leg
        spacing, t = size("parapet.bracket_spacing"), w.t(size("parapet.coping"), "coping-end")
        a, b = w.front.at("top", x=x1), w.front.at("top", x=x0, last=True)
        w.fill(
            "coping-bracket", "coping-bracket", a, [(x1, under), (x0, under)], b, ["step", "bracket", "step"], step=20,
            thickness=at.rise, sizes={"spacing": spacing}, view="beyond", on=("blocking",),
        )  # fmt: skip
        b = w.front.corner((x1, under), last=True)
        w.void("coping-void", "air_under_coping", w.front.begin(), [(at.right, under)], b, ["plane", "under"])
        back = self.inner = at.leg - size("parapet.inner_clear") - t
        line: list[Point] = [(back, under), (back, at.upturn)]
        a = w.front.corner((x0, under))
        b = w.front.ray(line[1], (-1.0, 0.0), after=a.segment)
        w.void("behind-upturn", "air_behind_upturn", a, line, b, ["under", "back", "void"])
        sizes = {"up": at.upturn - at.crown, "slope": at.parapet.slope}
        end = w.front.corner(line[1], last=True)
        on = ("coping-bracket",)
        w.lay("coping", "coping-end", w.front.begin(), end, size("parapet.coping"), step=22, sizes=sizes, on=on)

    # -- 5 counterflashing
    def _cover(self) -> None:
        at, v, w, size = self.at, self.v, self.w, self.size
        receiver = v.p.ends == "receiver"
        kick, slope = size("parapet.kick") * math.sqrt(0.5), size("parapet.counterflashing_slope")
        c = Counterflashing(v.wall, v.start, at.leg, at.tip, kick, slope, v.sheet)
        place = w.front.at("wall", y=v.start, last=True) if receiver else w.front.corner((v.wall, v.start), last=True)
        reglet = [] if receiver else self._reglet()
        most = counterflashing.reglet_room(reglet) if reglet else None
        shape = counterflashing.enclose(w, size, c, place, soft=False, most=most)
        if not receiver:
            counterflashing.from_reglet(w, size, c, reglet, shape)
            return
        counterflashing.from_receiver(w, size, c, "wall", shape)
        foot = c.start + size("wall.foot_free")
        cover_wall(w, size, v.cladding, "wall", c.start, foot, "stud-fill" if v.studs else "wall")
