from dataclasses import replace

import numpy as np
import pytest

from basefog.measure.bracket_cells import find_log_exposures, predict_places
from basefog.measure.resampling import DRAWS
from basefog.records.vocabulary import LOG10_2
from measure.bench_content import make_curve
from measure.test_frames_fit import BASE, CURVE, NET, STOPS


def test_prediction_is_not_the_readings_own() -> None:
    """A reading far off does not move its predicted place: the others of its patch decide it."""
    stops = np.array(STOPS)
    density = BASE + NET(0.1 + LOG10_2 * stops)
    off = density.copy()
    off[6] += 0.5
    patch = np.zeros(13, dtype=np.intp)

    honest, moved = (predict_places(CURVE, values, stops, patch) for values in (density, off))

    assert honest == pytest.approx(0.1 + LOG10_2 * stops, abs=0.006)
    assert moved == pytest.approx(honest, abs=0.006)


def test_prediction_holds_where_most_frames_are_in_the_toe() -> None:
    """Eleven of thirteen frames at base plus fog say nothing: the two that rise decide."""
    stops = np.array(STOPS)
    density = BASE + NET(-1.6 + LOG10_2 * stops) + 0.01 * np.random.default_rng(1).standard_normal(13)

    found = predict_places(CURVE, density, stops, np.zeros(13, dtype=np.intp))

    assert found == pytest.approx(-1.6 + LOG10_2 * stops, abs=0.06)


def test_inverse_of_many_is_that_of_one() -> None:
    """Row by row it is `FittedCurve.log_exposure_at`, NaN off the curve included."""
    generator = np.random.default_rng(5)
    density = np.sort(0.25 + generator.uniform(0, 2, (1 + DRAWS, 60)), axis=1)
    density[:, 20:24] = density[:, [20]]
    curve = replace(make_curve(NET, first=0.0, last=1.0), density=density, log_exposure=np.linspace(0, 1, 60))
    aims = generator.uniform(-0.5, 3.0, (1 + DRAWS, 9))
    aims[3, 2] = np.nan
    aims[:, 5] = density[:, 20]

    found = find_log_exposures(curve, aims)

    for number in range(9):
        assert found[:, number] == pytest.approx(curve.log_exposure_at(aims[:, number]), nan_ok=True, abs=1e-9)
