"""The rows of the table: the numbers that the design holds, each beside its floor."""

from __future__ import annotations

import copy
import sys
import tomllib
from collections.abc import Callable, Iterator
from typing import Any

from detailgen import catalogue, output
from detailgen.output.guests import import_matplotlib
from detailgen.output.png import MM, artists, size_in_pixels
from detailgen.sheet.flat import flatten
from detailgen.sheet.model import Sheet

from .floors import dxf_floor, png_floor
from .timing import ROOT, Row, compare, processes

SPEC = "specs/ferry-hall.toml"
DPI = 200
ONE_DETAIL = "P1"
HELP = "detailgen --help; python -c 'import click'"
CHECK = "detailgen check of one detail; importing pydantic and shapely"


def real_sheet() -> Sheet:
    """The demo's parapet, composed."""
    import detailgen

    return detailgen.load(ROOT / SPEC)[ONE_DETAIL].sheet()


def rows(times: int = 15) -> Iterator[Row]:
    """Every row, one after the other."""
    sheet = real_sheet()
    yield dxf(sheet, times)
    yield png(sheet, times)
    yield both(sheet, times)
    yield composed(sheet, times)
    yield checked(times)
    yield help_text(times)
    yield check(times)


def dxf(sheet: Sheet, times: int) -> Row:
    data = output.write(sheet, "dxf", catalogue=catalogue.load())
    took = compare(lambda: output.write(sheet, "dxf", catalogue=catalogue.load()), dxf_floor(data), times)
    return Row("DXF of a composed sheet; ezdxf alone, the same entities", *took, goal=1.3, gross=2.0)


def png(sheet: Sheet, times: int) -> Row:
    took = compare(lambda: output.write(sheet, "png", dpi=DPI, catalogue=catalogue.load()), _png_floor(sheet), times)
    return Row(
        f"PNG of {sheet.name} at {DPI} dpi; Agg and zlib alone, the same collections", *took, goal=1.2, gross=2.0
    )


def _png_floor(sheet: Sheet) -> Callable[[], bytes]:
    mpl, flat = import_matplotlib(), flatten(sheet)
    transform = mpl.transforms.Affine2D().scale(DPI / MM)
    ready = list(artists(mpl, flat, DPI))
    for artist in ready:
        artist.set_transform(transform)

    def fresh() -> list[Any]:  # an artist may be in one figure only
        return [copy.copy(artist) for artist in ready]

    return png_floor(fresh, size_in_pixels(flat.size, DPI), DPI)


def both(sheet: Sheet, times: int) -> Row:
    import detailgen

    def job() -> None:
        detail = detailgen.load(ROOT / SPEC)[ONE_DETAIL]
        detail.render("dxf"), detail.render("png")

    dxf_alone, png_alone = dxf_floor(output.write(sheet, "dxf", catalogue=catalogue.load())), _png_floor(sheet)

    def floor() -> None:
        dxf_alone(), png_alone()

    return Row(
        "detail file to DXF and PNG, warm; the two floors together", *compare(job, floor, times), goal=1.5, gross=6.0
    )


def composed(sheet: Sheet, times: int) -> Row:
    import detailgen

    detail = detailgen.load(ROOT / SPEC)[ONE_DETAIL]
    findings = detail.findings()
    floor = dxf_floor(output.write(sheet, "dxf", catalogue=catalogue.load()))
    took = compare(lambda: detail.composed(findings), floor, times)
    return Row("a sheet composed; ezdxf alone, its entities", *took, goal=1.5, gross=5.0)


def checked(times: int) -> Row:
    """Every detail of the demo read, built, measured and judged, the time of one."""
    import detailgen

    def job() -> None:
        for detail in detailgen.load(ROOT / SPEC).details.values():
            detailgen.check(detail)

    text, count = (ROOT / SPEC).read_text(encoding="utf-8"), len(detailgen.load(ROOT / SPEC).details)
    took, floor = compare(job, lambda: tomllib.loads(text), times)
    return Row("a detail checked, warm; tomllib reading its whole file", took / count, floor, goal=2.2, gross=14.0)


def help_text(times: int) -> Row:
    took = processes(["-m", "detailgen", "--help"], ["-c", "import click"], times)
    return Row(HELP, *took, goal=2.5, gross=4.0)


def check(times: int) -> Row:
    job = ["-m", "detailgen", "check", SPEC, "--detail", ONE_DETAIL]
    took = processes(job, ["-c", "import pydantic, shapely; pydantic.BaseModel"], times)
    return Row(CHECK, *took, goal=2.0, gross=5.0)


def checks_per_second(seconds: float = 1.0) -> float:
    """Details judged in a second by a warm process: read, built, measured, judged."""
    import time

    import detailgen

    detailgen.check(detailgen.load(ROOT / SPEC)[ONE_DETAIL])
    count, start = 0, time.perf_counter()
    while time.perf_counter() - start < seconds:
        for detail in detailgen.load(ROOT / SPEC).details.values():
            detailgen.check(detail)
            count += 1
    return count / (time.perf_counter() - start)


if __name__ == "__main__":
    sys.exit("python -m tests.benchmarks")
