"""One pass over a series' scans: what it finds, what it tells, what it makes."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from basefog.picture import SeenScans, plan_views, see_scans
from basefog.read import read_series
from basefog.records.content import Scan, Series, Test
from basefog.records.registration import Alignment
from picture.scenes import Floats, Lie, draw_scene, errors_px, lay, make_worse, true_map
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
        scan = replace(
            test.scans[0], path=path, width_px=scene.shape[1], height_px=scene.shape[0], sha256=slug, boxes={}
        )
        stocks.append(replace(stock, tests=(replace(test, scans=(scan,), replaces=None),)))
    return replace(series, stocks=tuple(stocks), remarks=())


def seen(series: Series, folder: Path, **options: Any) -> SeenScans:
    return see_scans(series, folder, **options)


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

    registered = seen(series, tmp_path).series

    assert of_slug(registered, "corvane-200")[0].registration is None
    found = of_slug(registered, "sallow-25")[0].registration
    assert isinstance(found, Alignment)
    assert errors_px(found.to_scan, true_map(lie, SIZE), SIZE).max() < 1.0
    [remark] = registered.remarks
    assert remark.message == "scan sallow_25.tif is mirrored against the reference's"
    assert remark.path == "stocks/sallow-25/2026-02-28/test.yaml"
    assert seen(registered, tmp_path).series == registered


def test_a_scan_of_something_else_has_no_views_and_the_tester_is_told(tmp_path: Path) -> None:
    """The remark names the scan, the missing views, and how to give a box by hand."""
    series = small_series(tmp_path, corvane_200=draw_scene(1, SIZE), sallow_25=draw_scene(2, SIZE))

    registered = seen(series, tmp_path).series

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

    registered = seen(series, tmp_path).series

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

    found = seen(series, tmp_path, progress=lambda at, of: done.append((at, of)))

    assert [(one.level, one.path, one.line) for one in found.problems] == [
        ("problem", "corvane_200.tif", 1),
        ("problem", "sallow_25.tif", 1),
    ]
    assert all(one.message.startswith("scan is") for one in found.problems)
    assert of_slug(found.series, "twyne-320")[0].registration is None
    assert done == [(1, 3), (2, 3), (3, 3)]


def test_pictures_are_made_only_for_who_keeps_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a keeper every planned file comes with its test; without one, none is encoded."""
    series = small_series(tmp_path, corvane_200=draw_scene(1, SIZE), sallow_25=draw_scene(1, SIZE))
    kept: dict[tuple[str, str], bytes] = {}

    found = seen(series, tmp_path, keep=lambda test, name, data: kept.update({(test.key, name): data})).series

    reference = found.reference_stock.current_test
    tests = [test for stock in found.stocks for test in stock.tests]
    plans = [(test, plan) for test in tests for plan in plan_views(test, reference, found.views)]
    assert set(kept) == {(test.key, plan.view.id + file.suffix) for test, plan in plans for file in plan.files}
    assert len(kept) == 18
    monkeypatch.setattr("basefog.picture.scan_pass.encode_cut", None)
    assert seen(series, tmp_path).series == found


def test_a_file_of_two_tests_is_opened_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scan that two tests name gives each its views, and the reference's is not laid on itself."""
    series = small_series(tmp_path, corvane_200=draw_scene(1, SIZE), sallow_25=draw_scene(2, SIZE))
    [first, second] = series.stocks
    [shared] = first.tests[0].scans
    test = replace(second.tests[0], scans=(replace(shared, place=second.tests[0].place),))
    series = replace(series, stocks=(first, replace(second, tests=(test,))))
    decoded = count_decoding(monkeypatch)
    kept: list[str] = []

    found = seen(series, tmp_path, keep=lambda test, _name, _data: kept.append(test.key))

    assert found.problems == ()
    assert kept.count(first.tests[0].key) == kept.count(test.key) == 9
    assert set(decoded.values()) == {1}
