"""The same content gives the same bytes, in any process, folder, time zone and locale, and on any processor."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from basefog.judge import find_findings
from basefog.publish import plan_site
from basefog.read import read_series
from basefog.records.content import Series
from basefog.records.findings import EdgeResponse, Findings, Spectrum
from basefog.site.marker import MARKER_NAME
from publish.invented import make_findings, make_series, write_readings
from publish.shaken import shake_findings
from publish.site_jobs import THEME
from small_sites import make_all, read_tree

HERE = Path(__file__).parent
CONTENT = HERE.parents[1] / "content"
SOME = ("corvane-200", "larkspar-125", "oldmoor-400")
"""Of the demo: the reference, contrast against time, a print exposure."""


def build(folder: Path, **environment: str) -> dict[str, bytes]:
    """Publish the invented series in a fresh process; return every file, the marker too."""
    folder.mkdir(parents=True)
    places = os.pathsep.join([str(HERE.parent), os.environ.get("PYTHONPATH", "")])
    run = subprocess.run(
        [sys.executable, str(HERE / "build_once.py"), str(folder / "content"), str(folder / "site")],
        env=os.environ | {"PYTHONPATH": places} | environment,
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )

    assert run.returncode == 0, run.stderr
    return read_tree(folder / "site") | {MARKER_NAME: (folder / "site" / MARKER_NAME).read_bytes()}


def test_a_whole_site_is_the_same_from_any_process(tmp_path: Path) -> None:
    """Two fresh processes with other hash seeds, time zones, locales and folders."""
    one = build(tmp_path / "a", PYTHONHASHSEED="1", TZ="Pacific/Kiritimati", LC_ALL="C.UTF-8")
    other = build(tmp_path / "much" / "deeper" / "b", PYTHONHASHSEED="2", TZ="America/Adak", LC_ALL="C")

    assert len(one) > 40
    assert [name for name in sorted(one.keys() | other.keys()) if one.get(name) != other.get(name)] == []


def make_site(series: Series, findings: Findings, folder: Path) -> dict[str, bytes]:
    """Return every file of a site without scans, made in memory."""
    return make_all(plan_site(series, findings, pictures={}, series_folder=folder, theme_folder=THEME))


def names_that_differ(series: Series, findings: Findings, folder: Path, seeds: range) -> list[str]:
    """Return which files findings shaken by any of the seeds change."""
    true = make_site(series, findings, folder)
    assert len(true) > 40
    changed = set()
    for seed in seeds:
        shaken, floats = shake_findings(findings, seed)
        assert floats > 300
        made = make_site(series, shaken, folder)
        changed |= {name for name in true.keys() | made.keys() if true.get(name) != made.get(name)}
    return sorted(changed)


def furnish_from_scans(findings: Findings) -> Findings:
    """Return findings with the curves that scans would give; a band has no width where it begins and ends."""
    cycles = np.linspace(0.0, 60.0, 61)
    response = np.cos(np.pi * cycles / 120) ** 2
    width = 0.04 * np.sin(np.pi * cycles / 60) ** 2
    edge = EdgeResponse(cycles_per_mm=cycles, response=response, low=response - width, high=response + width)
    spectrum = Spectrum(cycles_per_mm=cycles[1:], power_um2=0.2 * response[1:] + 0.01, note="at density 1.20")
    seen = {
        key: replace(found, edge_response=edge, spectrum=spectrum) if found.current else found
        for key, found in findings.tests.items()
    }
    return replace(findings, tests=seen)


@pytest.fixture(scope="module")
def few_of_the_demo() -> Series:
    """Give four stocks of the demo, without their scans."""
    series = read_series(CONTENT).series
    assert series is not None
    stocks = tuple(
        replace(stock, tests=tuple(replace(test, scans=()) for test in stock.tests))
        for stock in series.stocks
        if stock.slug in SOME
    )
    assert len(stocks) == len(SOME)
    return replace(series, stocks=stocks, questions=(), pages=())


def test_what_linear_algebra_leaves_open_changes_no_file(few_of_the_demo: Series) -> None:
    """Every float of the demo's findings moved by 1e-11 of itself, as kernels of several processors do."""
    findings = furnish_from_scans(find_findings(few_of_the_demo, {}))

    assert names_that_differ(few_of_the_demo, findings, CONTENT, range(2)) == []


def test_ties_among_invented_findings_change_no_file(tmp_path: Path) -> None:
    """Findings of few digits meet ties often."""
    series = make_series()
    write_readings(series, tmp_path)

    assert names_that_differ(series, make_findings(series), tmp_path, range(4)) == []
