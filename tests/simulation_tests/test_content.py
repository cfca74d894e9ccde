"""The demo series is what the simulation writes, says what the truths say, and stays small."""

import csv
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tifffile
import yaml
from PIL import Image
from scipy.ndimage import convolve, gaussian_filter

from simulation.content_tables import render_tables
from simulation.grain import APERTURE_UM, compute_scatter
from simulation.negative import SCAN_DENSITY_RANGE, SCAN_PIXELS_PER_MM
from simulation.prints import CODE_DENSITY, SCAN_PX
from simulation.readings import read_control_strip
from simulation.scans import compute_view_boxes, list_scans
from simulation.spectra import compute_eye_reflectance
from simulation.truths import BATCHES, TESTS, TestTruth

CONTENT = Path(__file__).parents[2] / "content"
MEGABYTE = 1_000_000
TABLES = render_tables()
NEGATIVES = tuple(test for test in TESTS if test.negative)


@cache
def _yaml(path: str) -> dict[str, object]:
    loaded = yaml.safe_load((CONTENT / path).read_text(encoding="utf-8"))
    assert isinstance(loaded, dict)
    return loaded


def _test_yaml(test: TestTruth) -> dict[str, object]:
    return _yaml(f"stocks/{test.stock}/{test.id}/test.yaml")


@pytest.mark.parametrize("path", sorted(TABLES))
def test_tables_are_what_the_simulation_writes(path: str) -> None:
    """Every table of the demo has the bytes that the simulation gives it."""
    assert (CONTENT / path).read_bytes() == TABLES[path]


def test_every_reading_comes_from_the_simulation() -> None:
    """There is no table and no scan that the simulation does not write, and no test it does not know."""
    known = {*TABLES, *(path for _, _, path in list_scans())}
    found = {
        path.relative_to(CONTENT).as_posix()
        for path in CONTENT.rglob("*")
        if path.is_file() and path.suffix not in {".yaml", ".md"}
    }

    assert found == known
    assert {f"{path.parts[-3]}/{path.parts[-2]}" for path in CONTENT.glob("stocks/*/*/test.yaml")} == {
        test.key for test in TESTS
    }


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.key)
def test_texts_say_what_the_truths_say(test: TestTruth) -> None:
    """Exposure index, exposure and batch in a test's text are those that its readings were simulated with."""
    keys, series = _test_yaml(test), _yaml("series.yaml")
    exposure = keys.get("exposure", series["exposure"])
    developed = keys["developed"]

    assert isinstance(exposure, dict)
    assert isinstance(developed, dict)
    assert keys["exposure_index"] == test.exposure_index
    assert exposure.get("lux_s") == test.lux_s
    assert developed["batch"] == test.batch


@pytest.mark.parametrize("batch", sorted(BATCHES))
def test_control_strips_are_the_simulated_ones(batch: str) -> None:
    """The densities typed into a batch's text are those that were read on its simulated strip."""
    assert _yaml(f"batches/{batch}.yaml")["control_strip"] == read_control_strip(BATCHES[batch])


def test_patches_are_stated_as_the_eye_sees_them() -> None:
    """The series states each patch's luminous reflectance to three decimals."""
    patches = _yaml("series.yaml")["patches"]
    assert isinstance(patches, list)
    for patch in patches:
        assert patch["luminous_reflectance"] == pytest.approx(compute_eye_reflectance(patch["id"]), abs=0.0006)


def test_the_series_stays_small() -> None:
    """The demo's content is below 15 MB, so that a clone stays quick."""
    size = sum(path.stat().st_size for path in CONTENT.rglob("*") if path.is_file())

    assert size < 15 * MEGABYTE


def test_views_lie_where_the_simulated_card_puts_them() -> None:
    """The boxes of the card's views in the series are those projected through the camera, to half a per cent."""
    views = _yaml("series.yaml")["views"]
    assert isinstance(views, list)
    boxes = {view["id"]: view["box"] for view in views}
    for name, box in compute_view_boxes().items():
        assert boxes[name] == pytest.approx(box, abs=0.005)


def _negative_density(test: TestTruth) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    code = tifffile.imread(CONTENT / f"stocks/{test.stock}/{test.id}/scans/negative.tif")
    return np.asarray(SCAN_DENSITY_RANGE * (1.0 - code / 65535.0))


def _even(test: TestTruth) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return the even tone of a scan, a margin inside its box, as the camera stood a little otherwise each day."""
    density = _negative_density(test)
    x, y, w, h = compute_view_boxes()["even"]
    rows, columns = density.shape
    return density[
        round((y + 0.12 * h) * rows) : round((y + 0.88 * h) * rows),
        round((x + 0.12 * w) * columns) : round((x + 0.88 * w) * columns),
    ]


@pytest.mark.parametrize("test", NEGATIVES, ids=lambda test: test.key)
def test_even_tones_suit_the_granularity_rule(test: TestTruth) -> None:
    """The even tone lies at net density 0.8 to 1.2 and holds 200 apertures of 48 um side by side."""
    even = _even(test)
    side_px = APERTURE_UM / 1000.0 * SCAN_PIXELS_PER_MM

    assert 0.8 < float(even.mean()) - test.curve().base_plus_fog < 1.2
    assert side_px > 5.0
    assert (even.shape[0] // side_px) * (even.shape[1] // side_px) > 200


@pytest.mark.parametrize("test", NEGATIVES, ids=lambda test: test.key)
def test_scans_have_the_grain_of_their_film(test: TestTruth) -> None:
    """Scatter through 48 um on the committed scan is the film's at that density, within what 400 apertures allow."""
    even = _even(test)
    level = even - gaussian_filter(even, 40.0)
    pitch_um = 1000.0 / SCAN_PIXELS_PER_MM
    fine = (np.arange(7 * 20) + 0.5) / 20 - 3.5
    inside = np.hypot(fine[:, None], fine[None, :]) * pitch_um <= APERTURE_UM / 2
    kernel = inside.reshape(7, 20, 7, 20).mean(axis=(1, 3))
    transmittance = convolve(10.0**-level, kernel / kernel.sum())[4:-4, 4:-4]
    found = 1000.0 * float((-np.log10(transmittance)).std())
    net = float(even.mean()) - test.curve().base_plus_fog
    expected = test.film.granularity * float(compute_scatter(np.array([net]))[0])

    assert found == pytest.approx(expected, rel=4.0 / math.sqrt(2 * 400))


def test_prints_are_of_one_size_and_calibration() -> None:
    """Print scans are 8-bit greys of the stated size; their codes are in the texts, rising as density falls."""
    codes, densities = zip(*CODE_DENSITY, strict=True)
    for test, kind, path in list_scans():
        if kind == "print":
            with Image.open(CONTENT / path) as picture:
                assert (picture.size, picture.mode) == (SCAN_PX, "L")
            scans = _test_yaml(test)["scans"]
            assert isinstance(scans, list)
            stated = next(scan["code_density"] for scan in scans if scan["of"] == "print")
            assert [tuple(pair) for pair in stated] == list(CODE_DENSITY)

    assert list(codes) == sorted(set(codes))
    assert list(densities) == sorted(densities, reverse=True)


def test_file_shapes_vary() -> None:
    """The demo keeps readings in every shape that a tester may use."""
    shapes = {test.wedge for test in TESTS} | {test.bracket for test in TESTS}

    assert {"csv", "semicolon", "xlsx", "ods", "cgats"} <= shapes


def test_the_wedge_file_is_plain() -> None:
    """The wedge's calibration has 21 rising steps."""
    with (CONTENT / "wedges/contact-21.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))

    assert [row["step"] for row in rows] == [str(step) for step in range(1, 22)]
