"""One pass over a series' scans: what it finds, what it tells, what it makes."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tifffile

from basefog.picture import plan_views
from basefog.picture.scan_uses import list_used_scans
from basefog.publish import make_pictures
from basefog.read import read_series
from basefog.records.content import Scan, Series, Test
from basefog.records.registration import Alignment
from basefog.site.digest import digest_of_file
from basefog.site.steps import open_steps
from picture.scenes import Floats, Lie, draw_scene, errors_px, lay, make_worse, true_map
from picture.seeing import see_scans
from scanfiles.decoding import count_decoding

CONTENT = Path(__file__).parents[2] / "content"
SIZE = (900, 600)


@cache
def demo() -> Series:
    series = read_series(CONTENT).series
    assert series is not None
    return series


def small_series(folder: Path, **scans: Floats) -> Series:
    """Return the demo's reference and some stocks alone, with these pictures for their prints."""
    series, stocks = demo(), []
    for slug, scene in scans.items():
        stock = series.stock(slug.replace("_", "-"))
        test = stock.current_test
        assert test is not None
        path = f"{slug}.tif"
        tifffile.imwrite(folder / path, np.round(scene * 65535).astype(np.uint16), compression="zlib", rowsperstrip=50)
        size = {"width_px": scene.shape[1], "height_px": scene.shape[0]}
        scan = replace(test.scans[0], path=path, sha256=digest_of_file(folder / path), boxes={}, **size)
        stocks.append(replace(stock, tests=(replace(test, scans=(scan,), replaces=None),)))
    return replace(series, stocks=tuple(stocks), remarks=())


def as_it_stands(series: Series, folder: Path) -> Series:
    """Return the series as if its scans were read again."""

    def read_again(test: Test) -> Test:
        return replace(
            test, scans=tuple(replace(scan, sha256=digest_of_file(folder / scan.path)) for scan in test.scans)
        )

    stocks = tuple(replace(stock, tests=tuple(map(read_again, stock.tests))) for stock in series.stocks)
    return replace(series, stocks=stocks)


def of_slug(series: Series, slug: str) -> tuple[Scan, Test]:
    [test] = series.stock(slug).tests
    return test.scans[0], test


def test_a_series_is_registered_and_says_what_it_found(tmp_path: Path) -> None:
    """The reference needs none; a mirrored scan is registered and remarked; doing it again changes nothing."""
    scene = draw_scene(1, SIZE)
    lie = Lie(right_px=9.0, degrees=1.0, mirrored=True)
    laid = make_worse(lay(scene, lie), seed=2, contrast=1.5, grain=0.03)
    # The reference comes last in the series, and first in the pass.
    series = small_series(tmp_path, sallow_25=laid, corvane_200=scene)

    registered = see_scans(series, tmp_path).series

    assert of_slug(registered, "corvane-200")[0].registration is None
    found = of_slug(registered, "sallow-25")[0].registration
    assert isinstance(found, Alignment)
    assert errors_px(found.to_scan, true_map(lie, SIZE), SIZE).max() < 1.0
    [remark] = registered.remarks
    assert remark.message == "scan sallow_25.tif is mirrored against the reference's"
    assert remark.path == "stocks/sallow-25/2026-02-28/test.yaml"
    assert see_scans(registered, tmp_path).series == registered


def test_a_scan_of_something_else_has_no_views_and_the_tester_is_told(tmp_path: Path) -> None:
    """The remark names the scan, the missing views, and how to give a box by hand."""
    series = small_series(tmp_path, corvane_200=draw_scene(1, SIZE), sallow_25=draw_scene(2, SIZE))

    registered = see_scans(series, tmp_path).series

    _, test = of_slug(registered, "sallow-25")
    assert plan_views(test, registered.reference_stock.current_test, registered.views) == ()
    [remark] = registered.remarks
    assert remark.level == "remark"
    assert remark.message.startswith("scan sallow_25.tif does not show what the reference's does: they correlate by 0.")
    assert remark.message.endswith("missing views: whole, head, fold, fruit, lettering, greys, strip")
    assert "below 'file: sallow_25.tif': views: {whole: [x, y, w, h]}" in remark.mend


def test_a_turned_scan_is_not_cut_and_the_way_back_is_told(tmp_path: Path) -> None:
    """Whose scan lies on its side is told to turn it, and by how much; nothing is cut from it."""
    scene = draw_scene(1, SIZE)
    series = small_series(tmp_path, corvane_200=scene, sallow_25=np.rot90(scene))

    registered = see_scans(series, tmp_path).series

    _, test = of_slug(registered, "sallow-25")
    assert plan_views(test, registered.reference_stock.current_test, registered.views) == ()
    [remark] = registered.remarks
    assert remark.message.startswith(
        "scan sallow_25.tif is turned by 90 degrees counterclockwise against the reference's; missing views: whole, "
    )
    assert remark.mend.startswith(
        "Turn it by 90 degrees clockwise and save it, or scan it again as the reference's was, or give each box by "
        "hand below 'file: sallow_25.tif': views: {whole: [x, y, w, h]}"
    )


def test_all_damaged_scans_are_told_and_the_others_are_seen(tmp_path: Path) -> None:
    """Each unreadable scan is a problem at its own file; without the reference's, nothing is laid on it."""
    scene = draw_scene(1, SIZE)
    series = small_series(tmp_path, corvane_200=scene, sallow_25=scene, twyne_320=scene)
    done: list[tuple[int, int]] = []
    for name in ("corvane_200.tif", "sallow_25.tif"):
        (tmp_path / name).write_bytes((tmp_path / name).read_bytes()[:4000])

    found = see_scans(as_it_stands(series, tmp_path), tmp_path, progress=lambda at, of: done.append((at, of)))

    assert [(one.level, one.path, one.line) for one in found.problems] == [
        ("problem", "corvane_200.tif", 1),
        ("problem", "sallow_25.tif", 1),
    ]
    assert all(one.message.startswith("scan is") for one in found.problems)
    assert of_slug(found.series, "twyne-320")[0].registration is None
    assert done == [(1, 3), (2, 3), (3, 3)]


def test_pictures_are_made_only_where_they_are_wanted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A publish has every planned file of every test; a check finds the same and encodes none."""
    series = small_series(tmp_path, corvane_200=draw_scene(1, SIZE), sallow_25=draw_scene(1, SIZE))

    with open_steps(tmp_path / "kept", processes=1) as steps:
        found = make_pictures(series, tmp_path, steps)

    reference = found.series.reference_stock.current_test
    tests = [test for stock in found.series.stocks for test in stock.tests]
    plans = [(test, plan) for test in tests for plan in plan_views(test, reference, found.series.views)]
    expected = {f"stocks/{test.key}/views/{plan.view.id}{file.suffix}" for test, plan in plans for file in plan.files}
    assert set(found.pictures) == expected
    assert len(found.pictures) == 18
    monkeypatch.setattr("basefog.picture.scan_file.encode_cut", None)
    assert see_scans(series, tmp_path).series == found.series


def test_a_file_of_two_tests_is_opened_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scan that two tests name gives each its views, and the reference's is not laid on itself."""
    series = small_series(tmp_path, corvane_200=draw_scene(1, SIZE), sallow_25=draw_scene(2, SIZE))
    [first, second] = series.stocks
    [shared] = first.tests[0].scans
    test = replace(second.tests[0], scans=(replace(shared, place=second.tests[0].place),))
    series = replace(series, stocks=(first, replace(second, tests=(test,))))
    decoded = count_decoding(monkeypatch)

    with open_steps(tmp_path / "kept", processes=1) as steps:
        pictures = make_pictures(series, tmp_path, steps).pictures

    kept = [address.rpartition("/views/")[0] for address in pictures]
    assert kept.count(f"stocks/{first.tests[0].key}") == kept.count(f"stocks/{test.key}") == 9
    assert set(decoded.values()) == {1}


def test_a_file_that_is_laid_on_and_has_to_be_laid_comes_twice(tmp_path: Path) -> None:
    """A test may name the reference's print as its negative: the print is seen first, and laid on the negative then."""
    scene = draw_scene(1, SIZE)
    series = small_series(
        tmp_path, corvane_200=scene, sallow_25=make_worse(scene, seed=1, grain=0.02), twyne_320=scene[::-1]
    )
    [first, second, third] = series.stocks
    [shared] = first.tests[0].scans
    negative = replace(third.tests[0].scans[0], of="negative")
    views = (*series.views[:1], replace(series.views[0], id="film", of="negative"))
    tests = [
        replace(first.tests[0], scans=(shared, negative)),
        replace(second.tests[0], scans=(*second.tests[0].scans, replace(shared, of="negative"))),
    ]
    stocks = (replace(first, tests=(tests[0],)), replace(second, tests=(tests[1],)))
    series = replace(series, stocks=stocks, views=views)

    used = list_used_scans(series)
    seen = see_scans(series, tmp_path).series

    assert [(scan.path, scan.is_first, scan.tests) for scan in used] == [
        ("corvane_200.tif", True, (tests[0].key,)),
        ("twyne_320.tif", True, (tests[0].key,)),
        ("corvane_200.tif", False, (tests[1].key,)),
        ("sallow_25.tif", False, (tests[1].key,)),
    ]
    assert [scan.registration is None for stock in seen.stocks for scan in stock.tests[0].scans] == [
        True,
        True,
        False,
        False,
    ]
