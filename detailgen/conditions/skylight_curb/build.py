"""The build of a skylight's curb, in the order of the site."""

from __future__ import annotations

from detailgen.conditions.assemblies import kerb, upstand
from detailgen.conditions.assemblies.kerb import Kerb
from detailgen.conditions.assemblies.studwall import edge_angle
from detailgen.conditions.field import Upstand, corner
from detailgen.conditions.skylight_curb.closure import lay_closure
from detailgen.conditions.skylight_curb.levels import Levels
from detailgen.conditions.skylight_curb.pane import Pane
from detailgen.conditions.skylight_curb.shown import shown
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import Front
from detailgen.section.model import Section


class Build:
    """One run: structure, sheet, frame and glass, insulation, field, closure, inside."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.pane = Pane.over(levels, workshop)

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self._structure()
        self._sheet()
        self._frame()
        self._glass()
        self._insulation()
        self._field()
        lay_closure(self.w, self.pane)
        self._inside()
        return shown(self.pane, self.w, self.soffit, self.y_low)

    def _structure(self) -> None:
        v, w, size = self.v, self.w, self.size
        foot = size("field.angle_beyond_curb") if v.buildup.deck == "metal" else 0.0
        soffit = v.field.deck(w, 0.0 - v.width, foot)
        self.soffit = soffit
        self.y_low = soffit
        if v.buildup.deck == "metal":
            low = -v.buildup.deck_thickness - 20.0
            edge_angle(w, size, v.field.bearing(0.0 - v.width, foot, soffit), low)
            self.y_low = low
        kerb.stand(w, size, Kerb(0.0 - v.width, 0.0, v.h, v.framed))
        start = (v.field.right, v.field.deck_slope * v.field.right)
        w.front = Front.of(
            start,
            ("deck", (0.0, 0.0)),
            ("inner", (0.0, v.h)),
            ("top", (-v.width, v.h)),
            ("inside", (-v.width, self.y_low)),
        )

    def _sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_topping(w)
        if v.cant and v.inverted:
            upstand.lay_cant(w, size)
        v.field.lay_below(w, vapour_to=None if v.inverted else v.h)
        if not v.inverted:
            upstand.lay_dry(w, size, v.face, v.upstand, v.h)
            if v.cant:
                upstand.lay_cant(w, size)
        v.field.lay_membrane(w, step=3)
        lap = v.numbers["lap"].value
        a = w.front.over(corner(w.front).point[0] + v.cant_height + lap)
        b = w.front.at("top", end=size("curb.short_of_edge"), last=True)
        w.lay("flashing", "curb-flashing", a, b, v.m, step=4, sizes={"lap": lap})

    def _frame(self) -> None:
        """The frame on its bedding, screwed to the curb."""
        v, w, size, pane = self.v, self.w, self.size, self.pane
        xo, xi, bed = pane.x_out, pane.x_in, pane.bed
        a, b = w.front.over(xo, near=v.h), w.front.over(xi, last=True, near=v.h)
        faces, line = ["frame-out", "bedding", "frame-in"], [(xo, bed), (xi, bed)]
        w.fill("frame-bedding", "frame-bedding", a, line, b, faces, step=6, thickness=size("curb.bedding"))
        spacing = size("parapet.bracket_spacing")
        a, b = w.front.corner((xo, bed)), w.front.corner((xi, bed), last=True)
        faces = ["frame-out", "frame-top", "frame-in"]
        w.fill(
            "skylight-frame",
            "skylight-frame",
            a,
            [(xo, pane.plane(xo)), (xi, pane.plane(xi))],
            b,
            faces,
            step=7,
            thickness=size("curb.frame_height"),
            sizes={"w": size("curb.frame_width"), "spacing": spacing},
            on=("frame-bedding",),
        )
        x, into = (xo + xi) / 2, "nailer" if v.framed else "curb"
        tip = (x, v.h - size("curb.screw_in_timber" if v.framed else "curb.screw_in_concrete"))
        w.fasten("frame-screw", "frame-screw", (x, bed), tip, fixes="skylight-frame", into=into, spacing=spacing)

    def _glass(self) -> None:
        """Gasket on the frame, the pane on it up to the cut."""
        v, w, pane = self.v, self.w, self.pane
        (ex, ey), n, g, t = pane.edge0, pane.normal, self.size("curb.gasket"), pane.glass
        a, b = w.front.at("frame-top", x=ex - n[0] * g), w.front.at("frame-top", end=0, last=True)
        w.lay("glass-gasket", "glass-gasket", a, b, g, start=n, end=n, step=8)
        y = ey + v.slope * (pane.far - ex)
        outer = [pane.edge1, (pane.far, y + t / pane.cos), (pane.far, y)]
        faces = ["glass-edge", "glass", "glass-cut", "glass-under"]
        a, b = w.front.corner(pane.edge0), w.front.at("frame-top", end=0, last=True)
        w.fill("glazing", "glazing", a, outer, b, faces, step=9, thickness=t, on=("glass-gasket",))

    def _insulation(self) -> None:
        """Under-sheet, upstand insulation, insulation over the curb up to the thermal break."""
        v, w, size = self.v, self.w, self.size
        top = w.front.at("top", start=0).point
        lap = size("curb.under_sheet_lap")
        b = w.front.at("frame-out", y=self.pane.plane(self.pane.x_out) - 6.0, last=True)
        w.lay(
            "under-sheet",
            "under-sheet",
            w.front.at("inner" if v.inverted else "upstand", y=top[1] - lap),
            b,
            size("curb.under_sheet"),
            step=10,
            sizes={"lap": lap},
        )
        v.field.lay_protection(w, step=11)
        x = v.boards
        level = w.front.at("top", start=0, last=True).point[1]
        if v.inverted:
            self._bonded(x, level)
        cap = self.pane.cap
        a, corner_ = w.front.over(x, near=level), w.front.at("frame-out", end=0, last=True)
        line = [(x, cap[0][1]), *cap[1:]]
        faces = ["upstand", *["cap"] * (len(cap) - 1), "joint"]
        on = ("curb-insulation",) if v.inverted else ("flashing",)
        w.fill("curb-top-insulation", "curb-top-insulation", a, line, corner_, faces, step=13, on=on)

    def _bonded(self, x: float, level: float) -> None:
        """Insulation outside the sheet of an inverted roof, up to the level of the sheets on the curb."""
        w = self.w
        w.fill(
            "curb-insulation",
            "curb-insulation",
            w.front.over(x),
            [(x, level)],
            w.front.at("top", start=0, last=True),
            ["upstand", "upstand-top"],
            step=12,
            thickness=self.v.upstand,
            on=("flashing",),
        )

    def _field(self) -> None:
        v, w, size = self.v, self.w, self.size
        if v.inverted:
            self._cladding()
        at = Upstand(v.finished, v.boards, size("margin.joint") if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=16, margin=v.numbers["margin"].value)

    def _cladding(self) -> None:
        """Metal over the bonded insulation, its foot in the gravel."""
        v, w, size = self.v, self.w, self.size
        low = v.field.finish_top(v.finished) - size("curb.cladding_below_gravel")
        if self.pane.covered - low < size("curb.cladding_least"):
            raise BuildError("height", "the curb is too low for its cladding", "curb-too-low")
        w.lay(
            "cladding",
            "curb-cladding",
            w.front.at("upstand", y=low),
            w.front.at("upstand", y=self.pane.covered, last=True),
            size("curb.cladding"),
            step=14,
            sizes={"cover": self.pane.cover},
            on=("curb-insulation",),
        )

    def _inside(self) -> None:
        v, w, size = self.v, self.w, self.size
        if v.framed:
            w.lay(
                "lining",
                "curb-lining",
                w.front.at("inside", start=0),
                w.front.finish(),
                size("curb.frame_lining"),
                step=19,
            )
        a = (
            w.front.at("top", end=8.0)
            if w.front.at("top", end=0).point[0] < self.pane.x_in - 12
            else w.front.at("top", end=4.0)
        )
        w.lay("trim", "curb-trim", a, w.front.at("inside", start=30.0, last=True), 1.5, step=20)
        if v.p.side == "high":
            return
        t, wide, deep = size("curb.gutter_metal"), size("curb.gutter_width"), size("curb.gutter_depth")
        x, y = self.pane.x_in, self.pane.bed + 12.0
        line = [
            (x - t, y + deep),
            (x - t, y + t),
            (x - wide + t, y + t),
            (x - wide + t, y + deep),
            (x - wide, y + deep),
            (x - wide, y),
        ]
        w.fill(
            "condensation-gutter",
            "condensation-gutter",
            w.front.at("frame-in", y=y + deep),
            line,
            w.front.at("frame-in", y=y, last=True),
            "gutter",
            step=10,
            thickness=t,
            girth=wide + 2 * (deep - t),
            thin=True,
            sizes={"w": wide, "depth": deep},
            on=("skylight-frame",),
        )
