"""X-ray film: gradient between two net densities, and the exposure for a wanted density, read off the curve.

Sources: the average gradient between net densities 0.25 and 2.00 (ISO 5799 / ANSI PH2.9, numbers of the standards from
memory; the densities seen in two secondary places). No published worked example was found; the slope is derived. The
exposure for a density is an examination exercise of industrial radiography, seen on a public page: 10 mA min gives 1.5
where the log relative exposure is 1.2, and 2.3 needs 1.8; the answer there, 10 x 10^0.6, is right.
"""

import numpy as np
import pytest

from measure.bench_content import make_curve
from measure.wedge_films import BASE, fit, straight


def test_average_gradient_between_two_net_densities() -> None:
    """A straight curve of slope 2.5: 0.70 log units from 0.25 to 2.00, 1.75 / 0.70 = 2.5."""
    curve = fit(straight(2.5, -1.5))

    run = float((curve.log_exposure_at(BASE + 2.00) - curve.log_exposure_at(BASE + 0.25))[0])

    assert run == pytest.approx(0.70, abs=1e-6)
    assert (2.00 - 0.25) / run == pytest.approx(2.5, abs=1e-5)


def test_exposure_for_a_wanted_density() -> None:
    """10 mA min x 10^(1.8 - 1.2) = 39.811 mA min, from a curve through the two given points."""
    curve = make_curve(
        lambda x: np.interp(x, [0.5, 1.2, 1.8, 2.2], [0.3, 1.5, 2.3, 2.9]), first=0.5, last=2.2, base_plus_fog=0.0
    )

    shift = float((curve.log_exposure_at(2.3) - curve.log_exposure_at(1.5))[0])

    # The curve is straight between grid points of 0.004, at a gradient of about 1.4.
    assert 10 * 10**shift == pytest.approx(39.811, abs=0.1)
