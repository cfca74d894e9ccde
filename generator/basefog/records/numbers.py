"""The one number formatter: values rounded once, by their uncertainty, for pages, charts and data files."""

import math

MINUS = "−"
PLUS_MINUS = "±"
FALLBACK_DECIMALS = 3


def decimals_for(half_width: float | None) -> int:
    """Return how many decimals to keep: one digit beyond the first significant digit of the uncertainty.

    Where no uncertainty is known or it is zero, three decimals stand.

    >>> decimals_for(0.011), decimals_for(0.38), decimals_for(14.0)
    (3, 2, 0)
    """
    if half_width is None or not math.isfinite(half_width) or half_width <= 0:
        return FALLBACK_DECIMALS
    # The uncertainty itself is rounded to two digits first, so that 0.0999 counts as 0.10.
    exponent = math.floor(math.log10(float(f"{half_width:.1e}")))
    return max(0, min(9, 1 - exponent))


def round_to(value: float, decimals: int) -> float:
    """Round a value for a data file; never returns negative zero.

    >>> round_to(-0.0004, 3)
    0.0
    """
    return float(round(value, decimals)) + 0.0


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
