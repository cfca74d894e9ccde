"""Enlarging exposure at another distance: a worked example.

Source: The Wellington Photographic Handbook, printed page 81 (edition not checked): 3 1/2 minutes at a distance of 192
become 2 minutes 8 seconds at 150, by the squares of the distances, 36,864 and 22,500.
"""

import pytest

from basefog.measure.printing import compute_enlarging_factor


@pytest.mark.parametrize("focal_length", [20.0, 30.0, 60.0])
def test_handbook_example_of_distances(focal_length: float) -> None:
    """3 1/2 minutes at a distance of 192 become 2 minutes 8 seconds at 150, whatever the lens.

    A lens of focal length f throws an image of magnification m at the distance f (m + 1), so that the handbook's
    squares of distances are the squares of m + 1. Tolerance: half a second; the exact figure is 128.17 s.
    """
    far, near = (distance / focal_length - 1 for distance in (192.0, 150.0))

    assert 210 * compute_enlarging_factor(far, near) == pytest.approx(128, abs=0.5)
