"""Formulas of the measures as MathML Core, made from a few builders so that each reads like what it says."""

from typing import Final

from markupsafe import Markup


def name(text: str) -> Markup:
    """Return a symbol: one letter slanted, more letters upright, as mathematics is set."""
    return Markup("<mi>{}</mi>").format(text)


def number(text: str) -> Markup:
    """Return a number."""
    return Markup("<mn>{}</mn>").format(text)


def sign(text: str) -> Markup:
    """Return an operator or a bracket."""
    return Markup("<mo>{}</mo>").format(text)


def words(text: str) -> Markup:
    """Return words within a formula; a browser drops plain spaces at their ends, so that these are made to stay."""
    return Markup("<mtext>{}</mtext>").format(text.replace(" ", "\u00a0"))


def row(*parts: Markup) -> Markup:
    """Return parts side by side."""
    return Markup("<mrow>{}</mrow>").format(Markup().join(parts))


def sub(base: str, index: str) -> Markup:
    """Return a symbol with an index."""
    return Markup("<msub><mi>{}</mi><mi>{}</mi></msub>").format(base, index)


def power(base: Markup, exponent: Markup) -> Markup:
    """Return a power."""
    return Markup("<msup>{}{}</msup>").format(base, exponent)


def over(above: Markup, below: Markup) -> Markup:
    """Return a fraction."""
    return Markup("<mfrac>{}{}</mfrac>").format(above, below)


def log(index: str, of: Markup) -> Markup:
    """Return a logarithm to a base."""
    return row(Markup("<msub><mi>log</mi><mn>{}</mn></msub>").format(index), of)


def log_h(index: str) -> Markup:
    """Return the log exposure of a point of the curve."""
    return Markup('<mrow><mi>log</mi><mspace width="0.17em"/><msub><mi>H</mi><mi>{}</mi></msub></mrow>').format(index)


def formula(*parts: Markup) -> Markup:
    """Return a formula that stands alone, its fractions full size; two in a row may stand on a line each."""
    return Markup('<math displaystyle="true">{}</math>').format(row(*parts))


def mean_slope(start: str, end: str) -> Markup:
    """Return the mean slope of the curve between two distances above the speed point."""
    high = row(name("D"), sign("("), log_h("m"), sign("+"), number(end), sign(")"))
    low = sub("D", "m") if start == "0" else row(name("D"), sign("("), log_h("m"), sign("+"), number(start), sign(")"))
    return over(row(high, sign("−"), low), number(f"{float(end) - float(start):.2f}"))


def _print_contrast(start: str, end: str) -> Markup:
    return formula(
        name("C"),
        sign("="),
        over(
            row(
                sub("D", "print"),
                sign("("),
                number(start),
                sign(")"),
                sign("−"),
                sub("D", "print"),
                sign("("),
                number(end),
                sign(")"),
            ),
            number(f"{float(end) - float(start):.2f}"),
        ),
    )


_AVERAGE: Final = Markup("<mover><mi>G</mi><mo>¯</mo></mover>")
_DELTA_X: Final = row(
    *(name("ΔX"), sign("="), number("0.83"), sign("−"), number("0.86"), name("ΔD"), sign("+")),
    *(number("0.24"), power(name("ΔD"), number("2"))),
)
_TO_STANDARD_CONTRAST: Final = power(number("10"), row(name("ΔX"), sign("−"), number("0.2956")))
_HALF: Final = over(number("1"), number("2"))

FORMULAS: Final[dict[str, Markup]] = {
    "base_plus_fog": formula(sub("D", "b+f"), sign("="), over(number("1"), name("n")), sign("∑"), sub("D", "base")),
    "maximum_density": formula(sub("D", "max"), sign("="), name("D"), sign("("), log_h("last"), sign(")")),
    "speed_point": formula(
        name("D"), sign("("), log_h("m"), sign(")"), sign("="), sub("D", "b+f"), sign("+"), number("0.10")
    ),
    "iso_speed": formula(
        name("S"),
        sign("="),
        over(number("0.80"), sub("H", "m")),
        words(" where "),
        sign("|"),
        sub("D", "n"),
        sign("−"),
        sub("D", "m"),
        sign("−"),
        number("0.80"),
        sign("|"),
        sign("≤"),
        number("0.05"),
    ),
    "contrast_corrected_speed": formula(
        name("S"),
        sign("="),
        over(row(number("0.80"), sign("·"), _TO_STANDARD_CONTRAST), sub("H", "m")),
        sign(","),
    )
    + formula(_DELTA_X),
    "speed_from_reference": formula(
        name("Δ"), sign("="), over(row(log_h("m,ref"), sign("−"), log_h("m")), number("0.3010"))
    ),
    "average_gradient": formula(_AVERAGE, sign("="), mean_slope("0", "1.30")),
    "contrast_index": formula(
        name("CI"),
        sign("="),
        over(row(sub("D", "2.2"), sign("−"), sub("D", "0.2")), row(log_h("2.2"), sign("−"), log_h("0.2"))),
    ),
    "gamma": formula(
        name("γ"), sign("="), over(number("1"), name("n")), sign("∑"), sub("b", "i"),
        words(" over the windows of 0.60 where "), sub("b", "i"), sign("≥"), number("0.9"), sub("b", "max"),
    ),
    "shadow_gradient": formula(sub("G", "shadow"), sign("="), mean_slope("0", "0.60")),
    "middle_gradient": formula(sub("G", "middle"), sign("="), mean_slope("0.60", "1.40")),
    "highlight_gradient": formula(sub("G", "highlight"), sign("="), mean_slope("1.40", "2.00")),
    "useful_range": formula(
        name("R"),
        sign("="),
        over(row(log_h("upper"), sign("−"), log_h("lower")), number("0.3010")),
        words(" where the slope over 0.30 is "),
        number("0.3"),
        _AVERAGE,
    ),
    "shadow_match": formula(
        name("s"),
        sign("="),
        sub("stops", "equal shadow"),
        sign("+"),
        log("2", over(sub("EI", "ref"), name("EI"))),
    ),
    "print_exposure": formula(
        name("t"), sign("="), sub("t", "ref"), sign("·"),
        power(number("10"), row(sub("D", "b+f"), sign("−"), sub("D", "b+f,ref"))),
    ),
    "rms_granularity": formula(
        name("G"), sign("="), number("1000"), sign("·"), name("σ"), sign("("), name("D"), sign(")"),
        sign("·"), power(name("D"), row(sign("−"), name("p"))), words(" through 48 µm"),
    ),
    "grain_correlation": formula(
        name("C"), sign("("), over(name("w"), number("2")), sign(")"), sign("="),
        _HALF, name("C"), sign("("), number("0"), sign(")"),
    ),
    "print_graininess": formula(
        name("G"), sign("="), number("1000"), sign("·"), name("σ"), sign("("), sub("D", "print"), sign(")"),
        sign("·"), power(sub("D", "print"), row(sign("−"), name("p"))), words(" through 48 µm × magnification"),
    ),
    "mtf50": formula(name("MTF"), sign("("), sub("f", "50"), sign(")"), sign("="), _HALF),
    "print_shadow_contrast": _print_contrast("0", "0.60"),
    "print_middle_contrast": _print_contrast("0.60", "1.40"),
    "print_highlight_contrast": _print_contrast("1.40", "2.00"),
    "matching_time": formula(
        _AVERAGE, sign("("), sub("t", "match"), sign(")"), sign("="),
        Markup("<msub><mover><mi>G</mi><mo>¯</mo></mover><mi>ref</mi></msub>"),
    ),
}  # fmt: skip
"""A formula for every measure of the vocabulary."""
