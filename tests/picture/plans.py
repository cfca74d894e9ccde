"""Invented scans, views and tests to plan with."""

from collections.abc import Mapping
from datetime import date

from basefog.records.content import Box, Development, Exposure, Scan, Test, View
from basefog.records.problem import Place
from basefog.records.vocabulary import ViewShows, ViewSubject

HERE = Place(path="stocks/tern-100/2026-03-14/test.yaml")


def make_scan(
    *,
    path: str = "scans/negative.tif",
    of: ViewSubject = "negative",
    size: tuple[int, int] = (4000, 3000),
    pixels_per_mm: float | None = 100.0,
    boxes: Mapping[str, Box] | None = None,
    code_density: tuple[tuple[float, float], ...] | None = None,
) -> Scan:
    return Scan(
        path=path,
        of=of,
        width_px=size[0],
        height_px=size[1],
        bits=16,
        pixels_per_mm=pixels_per_mm,
        code_density=code_density,
        boxes=boxes or {},
        sha256="0" * 64,
        place=HERE,
    )


def make_view(
    box: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0),
    *,
    of: ViewSubject = "negative",
    shows: ViewShows = "grain",
    view_id: str = "even",
) -> View:
    x, y, w, h = box
    return View(id=view_id, name=view_id.title(), box=Box(x=x, y=y, w=w, h=h), of=of, shows=shows)


def make_test(*scans: Scan) -> Test:
    return Test(
        stock="tern-100",
        id="2026-03-14",
        date=date(2026, 3, 14),
        exposure_index=100.0,
        emulsion=None,
        developed=Development(developer="invented", temperature_c=20.0, time_min=8.0, agitation=None, batch=None),
        replaces=None,
        replaced_by=None,
        reason=None,
        withdrawn=None,
        departures=(),
        exposure=Exposure(wedge=None, lux_s=None),
        repeat=False,
        development_of=None,
        print_exposure_s=None,
        scans=scans,
        video=None,
        wedge=None,
        bracket=None,
        readings=(),
        inputs=(),
        notes=None,
        place=HERE,
    )
