"""What the scans of a series showed, put together from what each of its files showed.

The files are looked at before planning, because which views a test has must be known before any page is planned, and
hangs on the pixels: a scan that can't be aligned has no view. Nothing here knows a reading: what is stated at a net
density is made of these figures afterwards.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from basefog.picture.registration_of_scans import remarks_of_views
from basefog.picture.scan_file import UseSeen
from basefog.picture.scan_uses import UsedScan
from basefog.picture.texture import gather_figures
from basefog.records.content import Scan, Series, Test
from basefog.records.problem import Place, Problem, problem_at
from basefog.records.scan_figures import TestFigures


@dataclass(frozen=True, kw_only=True, slots=True)
class SeenScans:
    """What the scans showed: the series with registrations and remarks, and by `stock/test` grain and sharpness.

    `problems` are of scans whose pixels can't be read; what hangs on them is then missing from the other two.
    """

    series: Series
    figures: Mapping[str, TestFigures]
    problems: tuple[Problem, ...]


def put_together(series: Series, seen: Iterable[tuple[UsedScan, tuple[UseSeen, ...] | str]]) -> SeenScans:
    """Return the series as its scans lie, and what they showed.

    Arguments: `seen`, every file of `list_used_scans` with what its uses showed, or with why it can't be read.
    """
    laid: dict[tuple[str, str], UseSeen] = {}
    measured = []
    problems = []
    for used, found in seen:
        if isinstance(found, str):
            mend = "Save the scan again as TIFF or PNG, or scan it anew."
            problems.append(problem_at(Place(path=used.path), found, mend))
            continue
        for test, use in zip(used.tests, found, strict=True):
            laid[test, used.path] = use
            if use.measured is not None:
                measured.append((test, use.measured))

    def registered(test: Test) -> Test:
        return replace(test, scans=tuple(_registered(scan, laid.get((test.key, scan.path))) for scan in test.scans))

    stocks = tuple(replace(stock, tests=tuple(map(registered, stock.tests))) for stock in series.stocks)
    whole = replace(series, stocks=stocks)
    remarks = tuple(sorted({*series.remarks, *_remarks_of(whole)}, key=lambda remark: remark.sort_key))
    whole = replace(whole, remarks=remarks)
    return SeenScans(
        series=whole,
        figures=gather_figures(whole, measured),
        problems=tuple(sorted(problems, key=lambda problem: problem.sort_key)),
    )


def _registered(scan: Scan, seen: UseSeen | None) -> Scan:
    return scan if seen is None else replace(scan, registration=seen.registration)


def _remarks_of(series: Series) -> Iterator[Problem]:
    reference = series.reference_stock.current_test
    if reference is None:
        return
    for stock in series.stocks:
        for test in stock.tests:
            yield from remarks_of_views(test, reference, series)
