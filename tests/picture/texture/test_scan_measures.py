"""From scans on disk to figures and findings: which regions are measured, and every reason for a null."""

import pickle
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest
import tifffile

from basefog.judge import find_findings
from basefog.measure.grain import measure_grain_of_test
from basefog.picture.scan_uses import use_of_scan
from basefog.picture.texture import (
    ScanSeen,
    ScanWork,
    gather_figures,
    measure_regions,
    plan_scan_work,
    regions_of_work,
)
from basefog.read import read_series
from basefog.records.content import Scan, Series, Test
from basefog.records.findings import Findings, Quantity
from basefog.records.registration import Refusal
from basefog.records.scan_figures import Correlation, EdgeSharpness, Granularity, NotSeen, TestFigures
from basefog.scanfiles import GreyArray, Region
from picture.plans import make_scan, make_view
from picture.texture.fields import draw_edge, grow_field, half_of_edge
from scanfiles.files import read_regions
from small_series import write_small_series

PITCH_UM = 8.0
SIDE_PX = 180
SCAN = """\
scans:
  - file: scans/negative.tif
    of: negative
    pixels_per_mm: 125
    code_density: [[0, 3.0], [65535, 0.0]]
"""
VIEWS = """\
views:
  - {id: even, name: Even tone, of: negative, box: [0, 0, 0.5, 1], shows: grain}
  - {id: edge, name: Edge, of: negative, box: [0.5, 0, 0.5, 1], shows: sharpness}
"""
FOLDERS = {"fell-100/2026-02-01": 0.0100, "wold-400/2026-02-03": 0.0160, "wold-400/2026-04-05": 0.0162}


def codes_of(
    sigma_48: float, *, density: float = 1.21, seed: int = 1
) -> np.ndarray[tuple[int, int], np.dtype[np.uint16]]:
    """Return a scan in 16 bits, linear in density: an even tone on the left, a slanted edge on the right."""
    shape = (SIDE_PX, SIDE_PX)
    grain = grow_field((SIDE_PX, 2 * SIDE_PX), pitch_um=PITCH_UM, spread_um=5.0, sigma_48=sigma_48, seed=seed)
    edge = density - 0.12 - np.log10(draw_edge(shape, degrees=5.0, spread_px=1.0) / 0.2)
    whole = np.hstack([np.full(shape, density), edge]) + grain
    return np.round((1 - whole / 3.0) * 65535).astype(np.uint16)


@cache
def whole() -> tuple[Series, Findings, Findings]:
    """Return a series of three scanned tests, its findings before and after its scans were measured."""
    folder = write_small_series(Path(mkdtemp()))
    with (folder / "series.yaml").open("a", encoding="utf-8") as file:
        file.write(VIEWS)
    again = folder / "stocks/wold-400/2026-04-05"
    again.mkdir()
    for name in ("test.yaml", "wedge.csv"):
        text = (folder / "stocks/wold-400/2026-02-03" / name).read_text(encoding="utf-8")
        extra = "replaces: 2026-02-03\nreason: The first was scanned askew.\n" if name == "test.yaml" else ""
        (again / name).write_text(text + extra, encoding="utf-8")
    for seed, (test, sigma) in enumerate(FOLDERS.items()):
        place = folder / "stocks" / test
        with (place / "test.yaml").open("a", encoding="utf-8") as file:
            file.write(SCAN)
        (place / "scans").mkdir()
        tifffile.imwrite(place / "scans/negative.tif", codes_of(sigma, seed=seed), photometric="minisblack")
    reading = read_series(folder)
    assert reading.series is not None, reading.problems
    before = find_findings(reading.series, {})
    # The scans show no subject that could be registered: every box lies where the series has it.
    return (
        reading.series,
        before,
        find_findings(reading.series, gather_figures(reading.series, measured_of(reading.series, folder))),
    )


def works_of(series: Series) -> list[tuple[Test, Scan, ScanWork]]:
    """Return what is to be measured of every scan that shows something."""
    scans = [(test, scan) for stock in series.stocks for test in stock.tests for scan in test.scans]
    uses = [(test, scan, use) for test, scan in scans if (use := use_of_scan(test, scan, series)) is not None]
    planned = [(test, scan, plan_scan_work(use, scan)) for test, scan, use in uses]
    return [(test, scan, work) for test, scan, work in planned if work is not None]


def measured_of(series: Series, folder: Path) -> list[tuple[str, ScanSeen]]:
    found = []
    for test, scan, work in works_of(series):
        read = read_regions(folder / scan.path, regions_of_work(work), (scan.width_px, scan.height_px))
        found.append((test.key, measure_regions([one.codes for one in read], work)))
    return found


def test_grain_and_sharpness_are_among_the_findings() -> None:
    """Every scanned test has its granularity, correlation, spectrum and sharpness, near what was put in."""
    after = whole()[2]
    for test, sigma in FOLDERS.items():
        found = after.tests[test]
        grain, half = found.measures["rms_granularity"], found.measures["mtf50"]

        assert grain.value == pytest.approx(1000 * sigma, rel=0.06)
        assert grain.at_density == pytest.approx(1.0, abs=0.01)
        assert half.value == pytest.approx(half_of_edge(degrees=5.0, spread_px=1.0) * 125.0, rel=0.10)
        assert found.measures["grain_correlation"].value == pytest.approx(16.65, abs=0.8)
        assert found.spectrum is not None
        assert found.edge_response is not None


def test_verdicts_and_movements() -> None:
    """A stock is set against the reference, a retest against the test it replaces; the reference against nothing."""
    after = whole()[2]
    stock = after.tests["wold-400/2026-04-05"]

    assert stock.against_reference["rms_granularity"].verdict == "higher"
    assert stock.against_reference["mtf50"].verdict == "no measurable difference"
    assert stock.movement["rms_granularity"].verdict == "no measurable difference"
    assert after.tests["fell-100/2026-02-01"].against_reference == {}
    assert stock.against_reference["print_graininess"].why == "no print was scanned"


def test_all_else_stays() -> None:
    """What the curve gave is untouched, and every measure is there in its order."""
    _, before, after = whole()
    for key, test in before.tests.items():
        put = after.tests[key]
        kept = {name: value for name, value in test.measures.items() if name not in ("rms_granularity", "mtf50")}

        assert list(put.measures) == list(test.measures)
        assert list(put.against_reference) == list(test.against_reference)
        assert list(put.movement) == list(test.movement)
        assert kept["average_gradient"] == put.measures["average_gradient"]
        assert put.measures["print_graininess"].why == "no print was scanned"


def test_a_scans_work_is_a_pure_function() -> None:
    """Work can be sent to another process, and measures the same there and a second time."""
    codes = codes_of(0.01)
    once = measure_halves(codes, work())
    again = pickle.loads(pickle.dumps(measure_halves(codes, pickle.loads(pickle.dumps(work())))))  # noqa: S301

    assert once.grain[0].granularity == again.grain[0].granularity
    assert once.grain[0].correlation == again.grain[0].correlation
    assert isinstance(once.edge, EdgeSharpness)
    assert isinstance(again.edge, EdgeSharpness)
    assert (once.edge.response.high == again.edge.response.high).all()


def test_nothing_is_read_where_nothing_can_be_measured() -> None:
    """An uncalibrated scan is not read, and still says why each measure is missing."""
    uncalibrated = work(code_density=None)

    assert regions_of_work(uncalibrated) == ()
    assert regions_of_work(work(edge=None)) == (work().grain[0][1],)
    assert isinstance(edge := measure_regions([], uncalibrated).edge, NotSeen)
    assert "no code_density" in edge.why


def work(**changes: object) -> ScanWork:
    half = Region(left_px=0, top_px=0, width_px=SIDE_PX, height_px=SIDE_PX)
    plain = ScanWork(
        seed="tern-100/2026-03-14",
        of="negative",
        code_density=((0.0, 3.0), (65535.0, 0.0)),
        pixels_per_mm=125.0,
        grain=(("even", half),),
        edge=replace(half, left_px=SIDE_PX),
        magnification=None,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def measure_halves(codes: GreyArray, work: ScanWork) -> ScanSeen:
    """Return what the even half shows of grain and the other of sharpness."""
    halves = [codes[:, :SIDE_PX], codes[:, SIDE_PX:]]
    return measure_regions(halves[: len(regions_of_work(work))], work)


def quantities_of(seen: ScanSeen, *, of: object = "negative", base_density: float = 0.21) -> dict[str, Quantity]:
    """Return the measures that one scan, of the negative or of the print, gives its test."""
    nothing = NotSeen(why="no scan")
    figures = TestFigures(
        grain=seen.grain if of == "negative" else nothing,
        print_grain=seen.grain if of == "print" else nothing,
        edge=seen.edge or nothing,
    )
    return measure_grain_of_test(figures, base_density=base_density, paper_white=base_density)


@pytest.mark.parametrize(
    ("changes", "measure", "why"),
    [
        ({"code_density": None}, "rms_granularity", "the scan has no code_density"),
        ({"code_density": None}, "mtf50", "the scan has no code_density"),
        ({"pixels_per_mm": None}, "grain_correlation", "the scan's pixels_per_mm is not given"),
        ({"pixels_per_mm": 100.0}, "rms_granularity", "an aperture of 48 um spans only 4.8 pixels"),
        ({"code_density": ((0.0, 3.0), (37000.0, 1.3))}, "rms_granularity", "clipped or outside the calibrated codes"),
        ({"code_density": ((0.0, 3.0), (37000.0, 1.3))}, "mtf50", "clipped or outside the calibrated codes"),
        ({"of": "print", "edge": None}, "print_graininess", "enlarging.magnification is not given"),
        (
            {"of": "print", "edge": None, "magnification": 8.0},
            "print_graininess",
            "only 9 apertures of 384 um fit into the view",
        ),
    ],
)
def test_every_null_says_why(changes: dict[str, object], measure: str, why: str) -> None:
    """What can't be measured has no value, and its reason in the tester's words."""
    found = quantities_of(measure_halves(codes_of(0.01), work(**changes)), of=changes.get("of", "negative"))[measure]

    assert found.value is None
    assert why in (found.why or "")


@pytest.mark.parametrize("side", [1, 2, 5, 15])
def test_tiny_views_are_refused(side: int) -> None:
    """A view of a few pixels has nulls with their reasons, and raises nothing."""
    tiny = codes_of(0.01)[:side, :side]
    found = quantities_of(measure_regions([tiny, tiny], work()))

    assert found["rms_granularity"].why == "the view is only a few pixels large: choose a larger even area"
    assert found["grain_correlation"].value is None
    assert found["mtf50"].why == "no edge was found in the view"


def test_lossy_files_are_told() -> None:
    """Grain from a file with lossy compression is measured, and its note says what may have become of it."""
    found = quantities_of(measure_halves(codes_of(0.01), work(lossy=True)))

    assert "lossy compression" in (found["rms_granularity"].note or "")
    assert "lossy compression" in (found["grain_correlation"].note or "")
    assert "lossy compression" not in (found["mtf50"].note or "")


def test_figures_are_as_read() -> None:
    """Of a view stand its granularity as read, the mean density with base and fog in it, and how sure it is."""
    [seen] = measure_halves(codes_of(0.01), work()).grain

    assert isinstance(seen.granularity, Granularity)
    assert isinstance(seen.correlation, Correlation)
    assert (seen.view, seen.granularity.apertures, seen.lossy) == ("even", 900, False)
    assert seen.granularity.density == pytest.approx(1.21, abs=0.005)
    assert seen.granularity.low < seen.granularity.sigma < seen.granularity.high
    assert 900 < seen.granularity.degrees_of_freedom < 1800


def test_a_view_that_was_not_found_says_so() -> None:
    """A scan that could not be aligned has no view, and its measures say why; the others stay."""
    series, _, after = whole()
    refusal = Refusal(message="shows another subject")
    stock = series.stock("wold-400")
    newest = stock.tests[-1]
    lost = replace(newest, scans=tuple(replace(scan, registration=refusal) for scan in newest.scans))
    stocks = tuple(
        replace(one, tests=(stock.tests[0], lost)) if one.slug == stock.slug else one for one in series.stocks
    )
    there = replace(series, stocks=stocks)
    planned = [test.key for test, _, _ in works_of(there)]
    found = find_findings(there, gather_figures(there, []))

    assert planned == ["fell-100/2026-02-01", "wold-400/2026-02-03"]
    assert found.tests[newest.key].measures["mtf50"].why == "the view edge was not found on the scan"
    assert after.tests[newest.key].measures["mtf50"].value is not None


def test_without_a_reference_nothing_is_judged() -> None:
    """Where the reference has no current test, scans are measured and every verdict is not measured."""
    series = whole()[0]
    withdrawn = tuple(
        replace(stock, current=None, tests=tuple(replace(test, withdrawn="light leak") for test in stock.tests))
        if stock.slug == series.reference
        else stock
        for stock in series.stocks
    )
    found = find_findings(replace(series, stocks=withdrawn), gather_figures(series, []))
    verdict = found.tests["wold-400/2026-02-03"].against_reference["rms_granularity"]

    assert (verdict.verdict, verdict.why) == (
        "not measured",
        "the reference has no current test",
    )


def test_eight_bits_are_too_few_for_fine_grain() -> None:
    """A scan in 8 bits over a density of 3 has steps of 0.012: half the scatter of fine grain and more."""
    coarse = (codes_of(0.003) // 257).astype(np.uint8)
    [found] = measure_halves(coarse, work(code_density=((0.0, 3.0), (255.0, 0.0)))).grain

    assert isinstance(found.granularity, NotSeen)
    assert "the scan has too few levels for this grain; scan it with 16 bits" in found.granularity.why


def test_a_print_is_measured_by_itself() -> None:
    """A print's aperture grows with the magnification, its measure is its own, and no film measure comes of it."""
    codes = codes_of(0.01)
    # The same picture as a print, enlarged eight times: 15.625 pixels a millimetre of print are 125 of film.
    of_print = work(of="print", edge=None, magnification=8.0, pixels_per_mm=125.0 / 8.0)
    seen = measure_halves(codes, of_print)
    found = quantities_of(seen, of="print")

    assert {name for name, quantity in found.items() if quantity.value is not None} == {"print_graininess"}
    assert found["print_graininess"].value == pytest.approx(10.0, rel=0.06)
    assert seen.grain[0].spectrum is None


@pytest.mark.parametrize(
    ("size", "region"),
    [
        ((4000, 3000), Region(left_px=1000, top_px=1500, width_px=2000, height_px=750)),
        ((24_000, 12_000), Region(left_px=10_000, top_px=7_000, width_px=4_000, height_px=1_000)),
    ],
)
def test_the_whole_box_is_measured(size: tuple[int, int], region: Region) -> None:
    """A view larger than what is published at 1:1 is measured whole, a very large one in its middle."""
    series = whole()[0]
    view = make_view((0.25, 0.5, 0.5, 0.25))
    scan = make_scan(size=size, path="stocks/wold-400/2026-02-03/scans/negative.tif")
    stock = series.stock("wold-400")
    tests = tuple(replace(test, scans=(scan,)) for test in stock.tests)
    stocks = tuple(replace(one, tests=tests) if one.slug == stock.slug else one for one in series.stocks)
    larger = replace(series, views=(view,), stocks=stocks, reference="wold-400")
    planned = works_of(larger)[-1][2]

    assert planned.grain == ((view.id, region),)
    assert planned.edge is None


def test_every_view_of_grain_is_measured() -> None:
    """All views that show grain are read, in the series' order; the one nearest net density 1.0 is stated."""
    series = whole()[0]
    [even, edge] = series.views
    second = replace(even, id="second")
    more = replace(series, views=(second, even, edge))
    planned = {test.key: work for test, _, work in works_of(more)}["fell-100/2026-02-01"]
    dense = codes_of(0.012, density=1.50, seed=7)
    seen = measure_regions(iter([dense[:, :SIDE_PX], codes_of(0.01)[:, :SIDE_PX], dense[:, SIDE_PX:]]), planned)
    figures = gather_figures(more, [("fell-100/2026-02-01", seen)])["fell-100/2026-02-01"]
    found = quantities_of(seen)["rms_granularity"]

    assert [view for view, _ in planned.grain] == ["second", "even"]
    assert len(regions_of_work(planned)) == 3
    assert not isinstance(figures.grain, NotSeen)
    assert [one.view for one in figures.grain] == ["second", "even"]
    assert isinstance(figures.edge, EdgeSharpness)
    assert found.at_density == pytest.approx(1.0, abs=0.01)
    assert found.as_read == pytest.approx(10.0, rel=0.06)
