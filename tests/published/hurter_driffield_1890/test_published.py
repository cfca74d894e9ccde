"""The plates of 1890 go the whole way: a folder of readings becomes a site whose data say what the authors found.

Source and its honesty as in `test_experiments.py` beside this file: J. Soc. Chem. Ind. 9(5), 1890, 455-469, seen in one
modern transcription only.
"""

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from basefog.cli import main

FOLDER = Path(__file__).parent / "series"
SITE_PAGES = ("index.html", "method/index.html", "data/index.html", "stocks/experiment-21/index.html", "404.html")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("plates") / "site"
    assert main(["publish", str(FOLDER), "--to", str(target), "--quiet"]) == 0
    return target


def data_of(site: Path, plate: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((site / "data" / plate / "1890-05-31.json").read_text(encoding="utf-8"))
    return data


def test_every_kind_of_page_is_there(site: Path) -> None:
    """A series of two plates and nothing else has its summary, method, data and stock pages."""
    assert [page for page in SITE_PAGES if not (site / page).is_file()] == []


def straight_line(site: Path, plate: str, first: float, last: float) -> tuple[float, float]:
    """Return slope and inertia of the least-squares line through the published curve between two exposures."""
    with (site / "data" / plate / "1890-05-31" / "curve.csv").open(encoding="utf-8", newline="") as table:
        rows = [(float(row["log_exposure"]), float(row["density"])) for row in csv.DictReader(table)]
    log_exposure, density = np.array(rows).T
    straight = (log_exposure >= np.log10(first)) & (log_exposure <= np.log10(last))
    slope, level = np.polyfit(log_exposure[straight], density[straight], 1)
    return float(slope), float(10 ** (-level / slope))


def test_published_gamma_is_the_authors(site: Path) -> None:
    """The slow plate's published gamma is the slope that its table is said to have, 0.89 to 0.91.

    A program that picks its own straight part may find 0.88 to 0.94: least squares over seven choices of the part
    runs from 0.884 to 0.932. The fast plate is left out: between 64 and 128 its readings rise by 1.76 a log unit,
    half as steep again as the authors' 1.176, and a gamma that looks for the steepest part finds that.
    """
    gamma = data_of(site, "experiment-21")["measures"]["gamma"]

    assert 0.88 <= gamma["value"] <= 0.94
    assert gamma["low"] < gamma["value"] < gamma["high"]


def test_published_curve_of_the_slow_plate_gives_its_inertia(site: Path) -> None:
    """The straight part, 40 to 1280 candle-metre-seconds, meets base plus fog at 6.12 within 8 %.

    8 % is what other choices of the part move it by.
    """
    _, inertia = straight_line(site, "experiment-21", 40, 1280)

    assert inertia == pytest.approx(6.12, rel=0.08)


def test_published_curve_of_the_fast_plate_gives_the_authors_line(site: Path) -> None:
    """Over 64 to 2048 the published curve has the authors' gamma 1.176 and log inertia 0.579.

    The part is known to agree (it was chosen among five after the fact), so this is a sanity check of the whole way.
    Tolerances: 0.02 and 0.03 for the printed table (its least-squares line has 1.179 and 0.560), and as much again
    because the line goes through the smoothed curve and not through the readings.
    """
    gamma, inertia = straight_line(site, "experiment-22", 64, 2048)

    assert gamma == pytest.approx(1.176, abs=0.04)
    assert np.log10(inertia) == pytest.approx(0.579, abs=0.06)


def test_readings_are_published_as_printed(site: Path) -> None:
    """Every reading of the table stands in the published readings, with the line it came from."""
    with (site / "data" / "experiment-21" / "1890-05-31" / "readings.csv").open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    printed = [0.045, 0.055, 0.085, 0.175, 0.250, 0.460, 0.755, 1.010, 1.270, 1.555, 1.885, 2.088, 2.262, 2.352]

    densities = sorted(float(row["density"]) for row in rows if row["row"] != "base")

    assert densities == printed
    assert {row["file"] for row in rows} == {"stocks/experiment-21/1890-05-31/wedge.csv"}
