"""Codes to densities: the straight lines between the pairs, what is invalid, and how coarse the codes are."""

from typing import Literal

import numpy as np
import pytest

from basefog.picture.texture.calibration import read_densities, why_too_rough, why_unusable

PAIRS = ((10.0, 2.0), (110.0, 1.0), (210.0, 0.5))


def test_densities_are_straight_between_pairs() -> None:
    """Half way between two pairs in code is half way in density."""
    codes = np.array([[10, 60, 110, 160, 210]], dtype=np.uint8)

    assert read_densities(codes, PAIRS).density == pytest.approx(np.array([[2.0, 1.5, 1.0, 0.75, 0.5]]))


def test_a_negative_may_be_bright_where_it_is_dense() -> None:
    """Density may rise with code as well as fall."""
    assert read_densities(np.array([[60]], dtype=np.uint8), ((10, 0.0), (110, 1.0))).density == pytest.approx(0.5)


def test_codes_outside_the_pairs_are_invalid() -> None:
    """A code below the first or above the last pair is counted, and stands at the nearest density."""
    found = read_densities(np.array([[9, 10, 210, 211]], dtype=np.uint8), PAIRS)

    assert found.invalid_share == 0.5
    assert found.density.tolist() == [[2.0, 2.0, 0.5, 0.5]]


@pytest.mark.parametrize(("kind", "last"), [("uint8", 255), ("uint16", 65535)])
def test_codes_at_the_ends_of_the_file_are_clipped(kind: Literal["uint8", "uint16"], last: int) -> None:
    """The least and the greatest code stand for all light beyond, even where the pairs reach them."""
    plain = np.array([[0, 100, 100, last]])
    codes = plain.astype(np.uint8) if kind == "uint8" else plain.astype(np.uint16)

    assert read_densities(codes, ((0, 2.0), (last, 0.0))).invalid_share == 0.5


def test_a_floating_point_scan_has_no_ends() -> None:
    """A floating-point code of 0 is only a code."""
    codes = np.array([[0.0, 0.5]], dtype=np.float32)

    assert read_densities(codes, ((0.0, 2.0), (1.0, 0.0))).invalid_share == 0.0


def test_clipped_areas_are_refused() -> None:
    """More than one pixel in a thousand clipped is too many, and the words say how many."""
    codes = np.full((40, 50), 100, dtype=np.uint8)
    codes[0, :3] = 255
    few = read_densities(codes[:, 3:], PAIRS)

    assert why_unusable(few) is None
    assert why_unusable(read_densities(codes, PAIRS)) == (
        "0.1% of the pixels are clipped or outside the calibrated codes, at most 0.1% may be"
    )


def test_the_step_is_that_of_the_codes_in_use() -> None:
    """A file of 16 bits that holds 8-bit codes has the steps of 8 bits."""
    codes = (np.random.default_rng(1).normal(128, 6, (60, 60)).round() * 257).astype(np.uint16)
    found = read_densities(codes, ((0, 2.55), (65535, 0.0)))

    assert found.step == pytest.approx(0.01, abs=1e-6)


@pytest.mark.parametrize(("step", "refused"), [(0.0049, False), (0.0051, True)])
def test_codes_too_coarse_for_the_grain_are_refused(step: float, *, refused: bool) -> None:
    """A step of more than half the scatter is refused: its rounding would add more than 1 % to it."""
    why = why_too_rough(step, 0.010)

    assert (why is not None) == refused


def test_one_code_everywhere_is_no_grain() -> None:
    """Where every pixel has one code there is no step to tell, and the words say so."""
    found = read_densities(np.full((30, 30), 90, dtype=np.uint8), PAIRS)

    assert why_too_rough(found.step, 0.0) == "every pixel has the same code: there is no grain to be seen"


def test_rounding_to_half_the_scatter_adds_one_per_cent() -> None:
    """The limit is what it says: normal values rounded to steps of half their scatter scatter by 1.0 % more."""
    values = np.random.default_rng(2).normal(0.0, 1.0, 400_000)

    assert np.std(np.round(values / 0.5) * 0.5) / np.std(values) == pytest.approx(1.0104, abs=0.0015)


@pytest.mark.parametrize(
    "pairs", [((0.0, 1.0),), ((5.0, 1.0), (5.0, 0.5)), ((0.0, 1.0), (5.0, 0.5), (9.0, 0.7))], ids=str
)
def test_pairs_that_are_no_calibration_raise(pairs: tuple[tuple[float, float], ...]) -> None:
    """Fewer than two pairs, codes that do not rise, densities that turn: ValueError."""
    with pytest.raises(ValueError, match="code_density must be"):
        read_densities(np.array([[3]], dtype=np.uint8), pairs)
