"""Which scan files a series uses, and what its tests have of each."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from basefog.picture.registration_of_scans import views_of_scan
from basefog.picture.scan_use import ScanUse
from basefog.picture.texture.scan_measures import choose_edge_view
from basefog.picture.views import first_scan
from basefog.records.content import Scan, Series, Test, View
from basefog.records.problem import Place
from basefog.records.vocabulary import ViewSubject

_LOSSY_ENDINGS: Final = (".jpg", ".jpeg", ".webp")
_NOWHERE: Final = Place(path="")


@dataclass(frozen=True, kw_only=True, slots=True)
class UsedScan:
    """A scan file with its uses, `tests` their keys in the same order.

    `is_first` says that others are laid on it; `firsts` names by kind the files that its own uses are laid on. `bits`
    are those of a sample.
    """

    path: str
    sha256: str
    width_px: int
    height_px: int
    bits: int
    uses: tuple[ScanUse, ...]
    tests: tuple[str, ...]
    is_first: bool
    firsts: Mapping[ViewSubject, str]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Named:
    test: str
    scan: Scan
    use: ScanUse | None


def list_used_scans(series: Series) -> tuple[UsedScan, ...]:
    """Return the scan files that show a view or have others laid on them, each once.

    What is laid on another comes after it: first all that are laid on none, then the others, both from the reference's
    on in the series' order. A file comes twice where others are laid on it and it has to be laid itself, as where a
    test names the reference's scan as one of another kind.
    """
    reference = series.reference_stock.current_test
    tests = [test for stock in series.stocks for test in stock.tests]
    tests.sort(key=lambda test: test is not reference)
    files: dict[str, list[_Named]] = {}
    for test in tests:
        for scan in test.scans:
            named = _Named(test=test.key, scan=scan, use=use_of_scan(test, scan, series))
            files.setdefault(scan.path, []).append(named)
    firsts = {scan.of: scan.path for scan in reversed(reference.scans)} if reference is not None else {}
    laid_on = {firsts[one.scan.of] for named in files.values() for one in named if _is_to_lay(one)}
    used = [scan for path, named in files.items() for scan in _used_scans(named, firsts, is_first=path in laid_on)]
    return tuple(sorted(used, key=lambda scan: bool(scan.firsts)))


def use_of_scan(test: Test, scan: Scan, series: Series) -> ScanUse | None:
    """Return what a test has of one of its scans, None where no view is cut from it."""
    views = views_of_scan(test, scan, series)
    if not views:
        return None
    first = first_scan(series.reference_stock.current_test, views[0])
    edge = choose_edge_view(series)
    is_measured = edge in views
    return ScanUse(
        scan=_bare_scan(scan, views),
        first=None if first is None else replace(_bare_scan(first, views), code_density=None, registration=None),
        views=tuple(replace(view, name="") for view in views),
        edge=edge.id if edge is not None and is_measured else None,
        seed=test.key if is_measured else "",
        magnification=series.enlarging.magnification if scan.of == "print" else None,
        lossy=scan.path.lower().endswith(_LOSSY_ENDINGS),
    )


def _is_to_lay(named: _Named) -> bool:
    return named.use is not None and named.use.is_to_lay


def _used_scans(named: list[_Named], firsts: Mapping[ViewSubject, str], *, is_first: bool) -> Iterable[UsedScan]:
    """Yield a file once, twice where it can't be laid on another before others are laid on it."""
    loose = [one for one in named if one.use is not None and not one.use.is_to_lay]
    bound = [one for one in named if _is_to_lay(one)]
    if is_first:
        yield _used_scan(named[0].scan, loose, firsts, is_first=True)
    rest = bound if is_first else [one for one in named if one.use is not None]
    if rest:
        yield _used_scan(named[0].scan, rest, firsts, is_first=False)


def _used_scan(scan: Scan, named: list[_Named], firsts: Mapping[ViewSubject, str], *, is_first: bool) -> UsedScan:
    return UsedScan(
        path=scan.path,
        sha256=scan.sha256,
        width_px=scan.width_px,
        height_px=scan.height_px,
        bits=scan.bits,
        uses=tuple(one.use for one in named if one.use is not None),
        tests=tuple(one.test for one in named),
        is_first=is_first,
        firsts={one.scan.of: firsts[one.scan.of] for one in named if _is_to_lay(one)},
    )


def _bare_scan(scan: Scan, views: Iterable[View]) -> Scan:
    boxes = {view.id: scan.boxes[view.id] for view in views if view.id in scan.boxes}
    return replace(scan, path="", place=_NOWHERE, boxes=boxes)
