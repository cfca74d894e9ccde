"""The exposure for a wanted density, read off a curve.

Source: an examination exercise of industrial radiography, seen on a public page of solved problems: 10 mA min gives a
density of 1.5 where the log relative exposure is 1.2, and 2.3 needs 1.8; hence 10 x 10^0.6 = 39.81 mA min. The answer
there begins with a doubt, but its arithmetic is right.
"""

import numpy as np
import pytest

from measure.bench_content import make_curve


def test_exposure_for_a_wanted_density() -> None:
    """A curve through the two given points asks for the published 39.81 mA min."""
    curve = make_curve(
        lambda x: np.interp(x, [0.5, 1.2, 1.8, 2.2], [0.3, 1.5, 2.3, 2.9]), first=0.5, last=2.2, base_plus_fog=0.0
    )

    shift = float((curve.log_exposure_at(2.3) - curve.log_exposure_at(1.5))[0])

    # The curve is straight between grid points of 0.004, at a gradient of about 1.4.
    assert 10 * 10**shift == pytest.approx(39.81, abs=0.1)
