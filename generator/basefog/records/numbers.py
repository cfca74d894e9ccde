"""The one number formatter: values rounded once, by their uncertainty, for pages, charts and data files."""

import math

MINUS = "−"
PLUS_MINUS = "±"
FALLBACK_DECIMALS = 3

MOST_DECIMALS = 9

_MORE_DECIMALS = 2
"""So many more than usual are written where fewer would hide on which side of zero an interval lies."""

_LOPSIDED = 0.15
"""From this share of the half width on, an interval is told by its ends: a plus-minus would hide that it leans."""

_NOTHING = 1e-12
"""Below this a difference of rounded figures is none."""

SPARE_DECIMALS = 5
"""How many decimals more than are wanted a value is rounded to first, see `settle`."""


def decimals_for(half_width: float | None) -> int:
    """Return how many decimals to keep: one digit beyond the first significant digit of the uncertainty.

    Where no uncertainty is known, or it has no width, three decimals stand.

    >>> decimals_for(0.011), decimals_for(0.38), decimals_for(14.0)
    (3, 2, 0)
    """
    if half_width is None or not has_width(half_width):
        return FALLBACK_DECIMALS
    # The uncertainty itself is rounded to two digits first, so that 0.0999 counts as 0.10.
    exponent = int(f"{round_to_digits(half_width, 2):e}".partition("e")[2])
    return max(0, min(MOST_DECIMALS, 1 - exponent))


def decimals_of_interval(value: float, low: float, high: float) -> int:
    """Return how many decimals a value and half the width of its interval are written with, on pages and in data alike.

    Those of `decimals_for`, and up to two more where fewer would hide on which side of zero the interval lies: that is
    what a verdict rests on.

    >>> decimals_of_interval(0.0384, 0.0004, 0.0764), decimals_of_interval(0.0384, 0.0184, 0.0584)
    (4, 3)
    """
    half = (high - low) / 2
    least = decimals_for(half)
    by_ends = is_lopsided(value, low, high)
    for places in range(least, least + _MORE_DECIMALS + 1):
        middle, width = round_to(value, places), round_to(half, places)
        shown = (round_to(low, places), round_to(high, places)) if by_ends else (middle - width, middle + width)
        if _side_of_zero(*shown) == _side_of_zero(low, high):
            break
    return places


def is_lopsided(value: float, low: float, high: float) -> bool:
    """Tell whether a plus-minus would hide how an interval lies about its value, so that its ends must be told.

    >>> is_lopsided(0.5, 0.4, 0.6), is_lopsided(0.5, 0.45, 0.8)
    (False, True)
    """
    half = (high - low) / 2
    if not has_width(half):
        return False
    leans = settle(abs((high + low) / 2 - value) / half, 3) > _LOPSIDED
    return leans or _side_of_zero(value - half, value + half) != _side_of_zero(low, high)


def _side_of_zero(low: float, high: float) -> int:
    """Return 1 where all of an interval lies above zero, -1 where below, 0 where it reaches it."""
    return int(low > _NOTHING) - int(high < -_NOTHING)


def has_width(half_width: float) -> bool:
    """Tell whether an interval has any width to the most decimals that are ever written.

    >>> has_width(0.011), has_width(1e-11)
    (True, False)
    """
    return math.isfinite(half_width) and round_to(half_width, MOST_DECIMALS) > 0


def settle(value: float, decimals: int) -> float:
    """Return a value rounded to five decimals more than are wanted of it.

    The last bits of a sum hang on the order in which a processor's kernels add. Where the true value is a tie, such as
    the mean 0.2315, they would decide what is written; a settled value is the float nearest to the decimal figure,
    the same on every machine. What is written, and what is decided by comparing floats, is settled first.

    >>> settle(0.1 + 0.2, 3), settle(0.23149999999999, 3)
    (0.3, 0.2315)
    """
    return float(round(value, decimals + SPARE_DECIMALS))


def round_to(value: float, decimals: int) -> float:
    """Round a value, settled first; never returns negative zero.

    >>> round_to(-0.0004, 3), round_to(0.23149999999999, 3) == round_to(0.23150000000001, 3)
    (0.0, True)
    """
    return float(round(settle(value, decimals), decimals)) + 0.0


def to_whole(value: float) -> int:
    """Return the nearest whole number to a value, settled first.

    >>> to_whole(2.5000000001), to_whole(2.4999999999), to_whole(3.5)
    (2, 2, 4)
    """
    return int(round_to(value, 0))


def round_to_digits(value: float, digits: int) -> float:
    """Round a value, settled first, to significant digits.

    >>> round_to_digits(0.00123456, 3), round_to_digits(9.9499999999999, 2) == round_to_digits(9.9500000000001, 2)
    (0.00123, True)
    """
    settled = float(f"{value:.{digits - 1 + SPARE_DECIMALS}e}")
    return float(f"{settled:.{digits - 1}e}")


def fixed(value: float, decimals: int) -> str:
    """Return a number for the middle of a sentence, settled first, with the sign of the keyboard.

    >>> fixed(0.23149999999999, 3) == fixed(0.23150000000001, 3), fixed(-0.412, 2)
    (True, '-0.41')
    """
    return f"{round_to(value, decimals):.{decimals}f}"


def format_number(value: float, decimals: int, *, signed: bool = False) -> str:
    """Return a number for a page, with a true minus sign, and a plus sign where `signed`.

    >>> format_number(-0.412, 2), format_number(0.05, 2, signed=True), format_number(-0.001, 2)
    ('−0.41', '+0.05', '0.00')
    """
    rounded = round_to(value, decimals)
    text = f"{abs(rounded):.{decimals}f}"
    if rounded < 0:
        return MINUS + text
    return "+" + text if signed and rounded > 0 else text
