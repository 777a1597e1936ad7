"""Details that nobody can build: a plausible one of the generator, and what spoils it, with the refusal to expect.

Each row: kind, code of the refusal, the keys that spoil it (None takes a key out), and which roof it must stand on.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field
from typing import Any

from tests.plausible_roofs import LIGHT_DECKS, Table
from tests.trade_plausible import project

TWICE = {"height": {"above_deck": "1 m", "above_finish": "1 m"}}


@dataclass(frozen=True)
class Spoilt:
    """What spoils a detail.

    Attributes:
        on: what the roof must be like, see `looks`.
    """

    kind: str
    code: str
    changes: Table
    on: Table = field(default_factory=dict)


def looks(roof: Table) -> Table:
    """System, deck and covering of a build-up's table."""
    names = [layer["material"] for layer in roof["layers"]]
    covers = {"plants": "planted", "gravel": "gravelled", "concrete-paver": "paved", "stone-paver": "paved"}
    deck = "light" if roof["deck"]["kind"] in LIGHT_DECKS else "heavy"
    falls = "layer" if "topping" in names or any("tapered" in n for n in names) else "structure"
    slab = roof["deck"]["kind"]
    cover = covers.get(names[-1], "exposed")
    return {"system": roof["system"], "deck": deck, "slab": slab, "cover": cover, "falls": falls}


def spoilt(row: Spoilt, count: int) -> list[tuple[Table, Table]]:
    """So many pairs of tables, the plausible one and the spoilt one."""
    pairs = []
    for seed in range(2000):
        good = project(f"spoilt {seed}", row.kind)
        looked = looks(good["buildup"]["roof"])
        if any(looked[k] != v for k, v in row.on.items()):
            continue
        bad = copy.deepcopy(good)
        bad["detail"][0] = _changed(bad["detail"][0], row.changes)
        pairs.append((good, bad))
        if len(pairs) == count:
            return pairs
    raise ValueError(f"no roof for {row}")


def _changed(table: Table, changes: Table) -> Table:
    out: Table = {**table, **changes}
    return {k: v for k, v in out.items() if v is not None}


def _rows(kinds: str, code: str, on: Table | None = None, **changes: Any) -> list[Spoilt]:
    return [Spoilt(kind, code, changes, on or {}) for kind in kinds.split()]


CURBS = "equipment-curb roof-hatch support-rail"
RIDGES = "movement-joint area-divider"
DRAINS = "roof-drain overflow-drain drain-pair"
APART: Table = {"kind": "masonry", "status": "existing"}
PLAIN: Table = {"kind": "none"}


def _beam(id: str, *corners: tuple[str, str]) -> list[Table]:
    return [{"id": id, "material": "concrete", "polygon": [list(c) for c in corners]}]


SPOILT: list[Spoilt] = [
    # the user's own hand
    *_rows("field post", "own-part-id", own_parts=_beam("deck", ("0 m", "-2 m"), ("1 m", "-2 m"), ("1 m", "-1 m"))),
    *_rows("field post", "own-part-polygon",
           own_parts=_beam("beam", ("0 m", "-2 m"), ("1 m", "-1 m"), ("1 m", "-2 m"), ("0 m", "-1 m"))),
    *_rows("field post", "own-part-overlap", {"slab": "concrete"},
           own_parts=_beam("beam", ("0 m", "-1 m"), ("300 mm", "-1 m"), ("300 mm", "-20 mm"), ("0 m", "-20 mm"))),
    # what every detail may say of its place
    *_rows(f"parapet field fire-break wall-abutment door-threshold {RIDGES} pipe post {CURBS} skylight-curb",
           "distance-order", distance_to_drain=["4 m", "1 m"], cut_at=None),
    *_rows(f"parapet field fire-break wall-abutment door-threshold {RIDGES} pipe post {CURBS} skylight-curb",
           "cut-outside-range", distance_to_drain=["1 m", "3 m"], cut_at="5 m"),
    *_rows("parapet field fire-break wall-abutment skylight-curb equipment-curb roof-hatch",
           "falls-angle", falls="away", falls_angle=30),
    *_rows("scupper", "falls-angle", falls="along", falls_angle=30),
    *_rows(f"parapet wall-abutment door-threshold {RIDGES} pipe post {CURBS} skylight-curb", "height-ambiguous",
           **TWICE),
    *_rows(f"parapet wall-abutment {RIDGES} equipment-curb roof-hatch skylight-curb", "drain-too-near",
           distance_to_drain="0.1 m", cut_at=None, falls="away", falls_angle=None),
    *_rows("door-threshold", "drain-too-near", distance_to_drain="0.1 m", cut_at=None, falls="away", threshold="full",
           channel=None),
    # parapets and scuppers
    *_rows("parapet scupper", "reglet-in-studs", backing={"kind": "steel-studs"}, cladding={"kind": "stone"},
           end="reglet"),
    *_rows("parapet scupper", "receiver-without-cladding", {"deck": "heavy"}, backing={"kind": "concrete"},
           cladding=PLAIN, end="receiver"),
    *_rows("parapet scupper", "studs-without-cladding", backing={"kind": "steel-studs"}, cladding=PLAIN,
           end="face-strip"),
    *_rows("parapet scupper", "heavy-backing-on-light-deck", {"deck": "light"}, backing={"kind": "masonry"},
           end="face-strip"),
    *_rows("parapet", "coping-slope", coping_slope="-2 %"),
    *_rows("parapet", "coping-leg-in-gravel", {"system": "inverted"}, coping_inner_leg="400 mm", end="face-strip",
           height="auto"),
    *_rows("parapet", "parapet-too-low", height={"above_deck": "100 mm"}),
    *_rows("scupper", "high-side", falls="away", distance_to_drain="6 m", opening=None, use="primary"),
    *_rows("scupper", "opening-too-low", opening="30 mm"),
    *_rows("scupper", "overflow-under-roof", use="overflow", opening=None, distance_to_drain="8 m"),
    # skylight curbs
    *_rows("skylight-curb", "glass-slope", glass_slope="60 deg"),
    *_rows("skylight-curb", "curb-too-thin", {"deck": "heavy"}, backing={"kind": "concrete", "thickness": "60 mm"}),
    *_rows("skylight-curb", "curb-too-low", height={"above_deck": "100 mm"}),
    *_rows("skylight-curb", "heavy-backing-on-light-deck", {"deck": "light"}, backing={"kind": "concrete"}),
    # fields and strips
    *_rows("field", "field-too-narrow", width="200 mm"),
    *_rows("field", "lap-too-wide", width="1 m", lap="600 mm"),
    *_rows("fire-break", "break-too-narrow", width="120 mm"),
    # low edges
    *_rows("low-edge", "lip-and-over", drains="over", lip="100 mm", falls=None, falls_angle=None),
    *_rows("low-edge", "gutter-at-lip", drains="inwards", gutter={}, falls="away", falls_angle=None),
    *_rows("low-edge", "over-needs-falls", drains="over", falls="away", falls_angle=None, lip=None),
    *_rows("eaves-gutter", "over-needs-falls", falls="away"),
    *_rows("low-edge", "flange-wide", drains="over", flange="250 mm", lip=None, falls=None, falls_angle=None),
    *_rows("eaves-gutter", "gutter-narrow", gutter={"width": "90 mm"}),
    *_rows("eaves-gutter", "gutter-flat", gutter={"width": "150 mm", "depth": "60 mm"}),
    *_rows("eaves-gutter", "screen-on-stripping", {"system": "inverted"}, screen_at="150 mm"),
    # gutters
    *_rows("gutter", "gutter-narrow", width="200 mm"),
    *_rows("gutter", "gutter-flat", drop="5 mm"),
    *_rows("gutter", "gutter-needs-falls", falls="away", at="existing-wall", cut=None, end_at=None),
    *_rows("gutter", "gap-narrow", at="existing-wall", gap="15 mm", cut=None, end_at=None),
    *_rows("gutter", "no-weir", at="wall", cut="weir", end_at=None, gap=None),
    *_rows("gutter", "no-slack", at="existing-wall", loop=False, cut=None, end_at=None),
    *_rows("gutter", "screen-screwed", screen_fixing="screws"),
    *_rows("gutter", "reglet-in-unit", at="existing-wall", cut=None, end_at=None,
           wall={"kind": "stone", "reglet_in": "unit"}),
    *_rows("gutter", "overflow-in-wall", at="existing-wall", cut=None, end_at=None, overflow="weir"),
    *_rows("gutter", "light-deck-in-wall", {"deck": "light"}, at="wall", cut=None, end_at=None, gap=None),
    *_rows("gutter", "recess-too-deep", {"system": "inverted", "slab": "concrete"}, sole="400 mm"),
    *_rows("gutter", "gutter-wall-too-low", {"system": "inverted", "slab": "concrete"}, height="150 mm"),
    *_rows("gutter", "recess-needs-concrete", {"system": "inverted", "slab": "composite"}, drop="80 mm", sole="100 mm"),
    *_rows("gutter", "no-stop-end", cut="run", end_at=None, end_length="1 m"),
    *_rows("gutter", "too-short", {"system": "inverted", "slab": "concrete"}, cut="stop-end", end_length="20 mm"),
    # meetings
    *_rows("parapet-at-wall", "other-kind", between=["W1", "P1"]),
    *_rows("parapet-at-wall", "too-short", length="20 mm"),
    *_rows("parapet-at-wall", "upturn-too-low", upturn="10 mm"),
    # joints and doors
    *_rows(RIDGES, "cover-in-gravel", cover_leg="400 mm", height=None),
    *_rows("door-threshold", "floor-off-the-threshold", {"system": "inverted"}, floor="60 mm", height=None,
           threshold="full", channel=None),
    *_rows(RIDGES, "falls-to-the-joint", falls="towards", height=None),
    *_rows(RIDGES, "curb-too-low", {"system": "inverted"}, height={"above_deck": "120 mm"}),
    *_rows(f"{RIDGES} {CURBS}", "curb-too-thin", backing={"thickness": "30 mm"}, height=None, falls=None,
           falls_angle=None, gap=None, movement=None),
    *_rows(f"{RIDGES} {CURBS}", "heavy-backing-on-light-deck", {"deck": "light"}, backing={"kind": "concrete"}),
    *_rows("movement-joint", "joint-width", gap="400 mm"),
    *_rows("door-threshold", "channel-needs-cover", {"cover": "exposed"}, threshold="reduced", falls="away"),
    *_rows("door-threshold", "falls-to-the-door", {"cover": "gravelled"}, threshold="reduced", falls="towards"),
    *_rows("door-threshold", "channel-at-full", threshold="full", channel="150 mm"),
    *_rows("door-threshold", "sill-too-thin", backing={"thickness": "40 mm"}, channel=None, threshold="full"),
    *_rows("door-threshold", "sill-too-low", {"system": "inverted"}, threshold="full", channel=None,
           height={"above_deck": "120 mm"}),
    # walls
    *_rows("wall-abutment", "reglet-in-studs", wall={"kind": "steel-studs"}, cladding={"kind": "stone"}, end="reglet",
           kerb=None, gap=None),
    *_rows("wall-abutment", "reglet-in-cladding", wall={"kind": "masonry"}, cladding={"kind": "stone"}, end="reglet",
           kerb=None, gap=None),
    *_rows("wall-abutment", "receiver-without-cladding", wall={"kind": "masonry"}, cladding=PLAIN, end="receiver",
           kerb=None, gap=None),
    *_rows("wall-abutment", "studs-without-cladding", wall={"kind": "steel-studs"}, cladding=PLAIN, kerb=None,
           gap=None),
    *_rows("wall-abutment", "gap-at-own-wall", wall={"kind": "concrete"}, cladding=PLAIN, gap="50 mm", kerb=None),
    *_rows("wall-abutment", "gap-narrow", wall=APART, cladding=PLAIN, gap="10 mm", kerb=None),
    *_rows("wall-abutment", "gap-wide", wall=APART, cladding=PLAIN, gap="600 mm", kerb=None),
    *_rows("wall-abutment", "kerb-too-thin", wall=APART, cladding=PLAIN, gap=None, kerb={"thickness": "40 mm"}),
    *_rows("wall-abutment", "upstand-too-low", {"system": "inverted"}, height={"above_deck": "150 mm"}),
    # what comes through
    *_rows("pipe", "air-gap-too-small", hot=True, air_gap="5 mm"),
    *_rows("pipe", "air-gap-too-wide", hot=False, air_gap="900 mm", height={"above_finish": "300 mm"}),
    *_rows("pipe", "pipe-too-thin", diameter="5 mm"),
    *_rows("pipe post", "upstand-too-low", {"system": "inverted"}, height={"above_deck": "120 mm"}),
    *_rows("pipe post", "collar-in-gravel", {"cover": "gravelled"}, collar_cover="300 mm", height=None),
    *_rows(CURBS, "skirt-in-gravel", skirt="400 mm", height={"above_finish": "200 mm"}),
    *_rows(CURBS, "curb-too-low", {"system": "inverted"}, height={"above_deck": "120 mm"}),
    # drains
    *_rows(DRAINS, "at-the-drain", distance_to_drain="2 m"),
    *_rows(DRAINS, "outlet-does-not-fit", outlet="400 mm"),
    *_rows(DRAINS, "sump-too-small", sump_floor="150 mm"),
    *_rows(DRAINS, "chamber-too-small", {"system": "inverted"}, chamber="250 mm", sump_floor=None),
    *_rows("overflow-drain drain-pair", "no-room-for-strainer", {"system": "inverted"}, overflow_rise="600 mm",
           chamber=None, sump_floor=None),
    *_rows(DRAINS, "patch-too-small", patch="150 mm", sump_floor=None, chamber=None),
    *_rows("drain-pair", "pipes-joined", pipes_join=True),
    *_rows("drain-pair", "drains-too-near", axes="400 mm"),
]  # fmt: skip
"""By kind and code."""
