"""Verdicts in plain sentences, never claiming more than their intervals allow.

A clause is one thing said of a stock against the reference, in lower case and without a stop; sentences are made of
clauses. Sizes in stops are told in thirds (a third is what cameras and meters set), all else in figures.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from basefog.publish.pages.quantities import UNIT_LABELS, format_could_see, format_difference, tidy
from basefog.records.findings import Comparison, PatchFinding, Quantity, TestFindings
from basefog.records.numbers import settle, to_whole

Standing = Literal["higher", "lower", "same", "unknown"]

_SURE_STOPS = 0.25
"""Up to this half width a difference in stops is told as about so many thirds; beyond, by both ends of its interval."""

_LITTLE_RATIO = 0.10
"""A difference is called little only if all of its interval is below a tenth of the reference's value (project)."""

_MOST_SIZES = 3
"""Up to so many things that are no different, each is told what could have been seen; beyond, the largest for all."""

_COUNTS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, kw_only=True, slots=True)
class Clause:
    """One thing said of a test against another. `subject` is what could not be compared, where it could not."""

    measure: str
    standing: Standing
    text: str
    subject: str
    why: str = ""
    could_see: float = 0.0
    unit: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Wording:
    """How a measure's verdicts are said: `subject` no different, else `higher` or `lower`."""

    subject: str
    higher: str
    lower: str


WORDINGS: Final[Mapping[str, Wording]] = {
    "base_plus_fog": Wording(subject="base plus fog", higher="base plus fog higher", lower="base plus fog lower"),
    "maximum_density": Wording(
        subject="maximum density", higher="maximum density higher", lower="maximum density lower"
    ),
    "speed_point": Wording(
        subject="speed point", higher="speed point at more exposure", lower="speed point at less exposure"
    ),
    "iso_speed": Wording(subject="ISO speed", higher="ISO speed higher", lower="ISO speed lower"),
    "contrast_corrected_speed": Wording(
        subject="contrast-corrected speed",
        higher="contrast-corrected speed higher",
        lower="contrast-corrected speed lower",
    ),
    "speed_from_reference": Wording(subject="speed", higher="faster", lower="slower"),
    "average_gradient": Wording(subject="contrast", higher="contrast higher", lower="contrast lower"),
    "contrast_index": Wording(subject="contrast index", higher="contrast index higher", lower="contrast index lower"),
    "gamma": Wording(subject="gamma", higher="straight line steeper", lower="straight line flatter"),
    "shadow_gradient": Wording(
        subject="shadow separation", higher="shadows separate better", lower="shadows separate less"
    ),
    "middle_gradient": Wording(
        subject="middle-tone separation", higher="middle tones separate better", lower="middle tones separate less"
    ),
    "highlight_gradient": Wording(
        subject="highlight separation", higher="highlights separate better", lower="highlights separate less"
    ),
    "useful_range": Wording(subject="useful range", higher="more useful range", lower="less useful range"),
    "shadow_match": Wording(
        subject="light needed for equal shadows",
        higher="more light needed for equal shadows",
        lower="less light needed for equal shadows",
    ),
    "print_exposure": Wording(subject="print exposure", higher="print exposure longer", lower="print exposure shorter"),
    "rms_granularity": Wording(subject="grain", higher="grain coarser", lower="grain finer"),
    "grain_correlation": Wording(
        subject="extent of the grain pattern", higher="grain pattern larger", lower="grain pattern smaller"
    ),
    "print_graininess": Wording(subject="grain in the print", higher="print grainier", lower="print less grainy"),
    "mtf50": Wording(
        subject="sharpness of film and scanner",
        higher="sharper, film and scanner together",
        lower="less sharp, film and scanner together",
    ),
    "print_shadow_contrast": Wording(
        subject="contrast of the print's shadows",
        higher="contrast of the print's shadows higher",
        lower="contrast of the print's shadows lower",
    ),
    "print_middle_contrast": Wording(
        subject="contrast of the print's middle tones",
        higher="contrast of the print's middle tones higher",
        lower="contrast of the print's middle tones lower",
    ),
    "print_highlight_contrast": Wording(
        subject="contrast of the print's highlights",
        higher="contrast of the print's highlights higher",
        lower="contrast of the print's highlights lower",
    ),
    "matching_time": Wording(
        subject="development for the reference's contrast",
        higher="longer development for the reference's contrast",
        lower="shorter development for the reference's contrast",
    ),
}
"""One wording for every measure of the vocabulary."""


SIDES: Final[Mapping[str, tuple[str, str]]] = {
    "speed_from_reference": ("faster", "slower"),
    "shadow_match": ("slower", "faster"),
}
"""What higher and lower are called in tables, where a measure has better words for them."""


def say_thirds(thirds: int) -> str:
    """Return a count of thirds of a stop in words.

    >>> [say_thirds(count) for count in (1, 2, 3, 5, 6)]
    ['a third of a stop', 'two thirds of a stop', 'one stop', 'one and two thirds stops', 'two stops']
    >>> say_thirds(34)
    '11⅓ stops'
    """
    whole, rest = divmod(thirds, 3)
    if whole == 0:
        return ("no part of a stop", "a third of a stop", "two thirds of a stop")[rest]
    if whole >= len(_COUNTS):
        return f"{whole}{('', '⅓', '⅔')[rest]} stops"
    if rest == 0:
        return f"{_COUNTS[whole]} stop" + ("" if whole == 1 else "s")
    return f"{_COUNTS[whole]} and {('', 'a third', 'two thirds')[rest]} stops"


def say_stops(low: float, high: float, side: str) -> str:
    """Return how large a difference is whose interval, in stops, lies on one side of zero, and to which side.

    >>> say_stops(1.52, 1.71, "slower")
    'about one and two thirds stops slower'
    >>> say_stops(0.02, 0.12, "darker")
    'darker by less than a third of a stop'
    >>> say_stops(0.9, 2.1, "faster")
    'between two thirds of a stop and two and a third stops faster'
    """
    nearest, farthest = sorted((abs(low), abs(high)))
    middle, half = (nearest + farthest) / 2, (farthest - nearest) / 2
    thirds = to_whole(3 * middle)
    # Ends are rounded outwards, so that the words hold all of the interval.
    inner, outer = math.floor(settle(3 * nearest, 3)), max(1, math.ceil(settle(3 * farthest, 3)))
    if settle(half, 3) <= _SURE_STOPS and thirds >= 1:
        return f"about {say_thirds(thirds)} {side}"
    if inner == 0:
        return f"{side} by {'less than' if settle(3 * farthest, 3) < outer else 'at most'} {say_thirds(outer)}"
    return f"between {say_thirds(inner)} and {say_thirds(outer)} {side}"


def standing_of(comparison: Comparison) -> Standing:
    """Return what a comparison lets us say: a side only where its whole interval lies on that side of zero."""
    low, high = comparison.low, comparison.high
    if comparison.verdict == "not measured" or comparison.difference is None or low is None or high is None:
        return "unknown"
    if comparison.verdict == "higher" and low > 0:
        return "higher"
    if comparison.verdict == "lower" and high < 0:
        return "lower"
    return "same"


def compare_with_zero(quantity: Quantity) -> Comparison:
    """Return a measure that is already against the reference as a comparison with no difference at all."""
    if quantity.value is None or quantity.low is None or quantity.high is None:
        return Comparison(verdict="not measured", unit=quantity.unit, why=quantity.why)
    side = "higher" if quantity.low > 0 else "lower" if quantity.high < 0 else "no measurable difference"
    return Comparison(
        verdict=side,  # type: ignore[arg-type]  # one of the three words above
        difference=quantity.value,
        low=quantity.low,
        high=quantity.high,
        could_see=quantity.half_width,
        unit=quantity.unit,
    )


def say_difference(measure: str, comparison: Comparison, reference_value: float | None = None) -> Clause:
    """Return a measure's verdict as a clause.

    >>> say_difference("average_gradient", Comparison(
    ...     verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04, could_see=0.03)).text
    'contrast no different (the test could have seen 0.03)'
    >>> say_difference("speed_from_reference", Comparison(
    ...     verdict="lower", difference=-1.6, low=-1.7, high=-1.5, could_see=0.1, unit="stops")).text
    'about one and two thirds stops slower'
    """
    words = WORDINGS[measure]
    standing = standing_of(comparison)
    if standing == "unknown":
        why = tidy(comparison.why) or "no reason was given"
        text = f"{words.subject} could not be compared: {why}"
        return Clause(measure=measure, standing=standing, text=text, subject=words.subject, why=why)
    if standing == "same":
        text = f"{words.subject} no different{_could_see(comparison)}"
    else:
        text = _say_side(words.higher if standing == "higher" else words.lower, comparison, reference_value)
    return Clause(
        measure=measure,
        standing=standing,
        text=text,
        subject=words.subject,
        could_see=comparison.could_see or 0.0,
        unit=_unit(comparison),
    )


def say_standing(comparison: Comparison, *, higher: str = "higher", lower: str = "lower") -> str:
    """Return a verdict for the tester's own sentence, which says already what it is about.

    >>> say_standing(Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04,
    ...     could_see=0.03))
    'no measurable difference, where the test could have seen 0.03'
    """
    standing = standing_of(comparison)
    if standing == "unknown":
        return f"not measured, because {tidy(comparison.why) or 'no reason was given'}"
    if standing == "same":
        seen = _could_see(comparison).strip(" ()")
        return "no measurable difference" + (f", where {seen}" if seen else "")
    return higher if standing == "higher" else lower


def say_patch(name: str, comparison: Comparison) -> Clause:
    """Return how a patch is rendered against the reference, as a clause.

    >>> say_patch("Red", Comparison(
    ...     verdict="lower", difference=-0.35, low=-0.45, high=-0.25, could_see=0.1, unit="stops")).text
    'Red about a third of a stop darker'
    """
    standing = standing_of(comparison)
    if standing == "unknown":
        why = tidy(comparison.why) or "no reason was given"
        return Clause(measure="", standing=standing, text=f"{name} could not be compared: {why}", subject=name, why=why)
    if standing == "same":
        return Clause(
            measure="",
            standing=standing,
            text=f"{name} no different{_could_see(comparison)}",
            subject=name,
            could_see=comparison.could_see or 0.0,
            unit=_unit(comparison),
        )
    side = "lighter" if standing == "higher" else "darker"
    text = f"{name} {say_stops(*_ends(comparison), side)}"
    return Clause(measure="", standing=standing, text=text, subject=name)


def join_clauses(clauses: Iterable[Clause | str]) -> str:
    """Return clauses as one sentence: a capital in front, a full stop at the end; empty where there are none."""
    texts = [clause if isinstance(clause, str) else clause.text for clause in clauses]
    sentence = "; ".join(text for text in texts if text)
    return sentence[:1].upper() + sentence[1:] + "." if sentence else ""


def say_findings(clauses: Iterable[Clause]) -> str:
    """Return what was found in one sentence: each difference by itself, all that is no different together.

    >>> same = Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04, could_see=0.03)
    >>> say_findings([say_difference("average_gradient", same), say_difference("gamma", same)])
    'Contrast and gamma no different (the test could have seen 0.03 in each).'
    """
    known = [clause for clause in clauses if clause.standing != "unknown"]
    same = [clause for clause in known if clause.standing == "same"]
    texts = [clause.text for clause in known if clause.standing != "same"]
    for unit in dict.fromkeys(clause.unit for clause in same):
        texts += _say_same([clause for clause in same if clause.unit == unit])
    return join_clauses(texts)


def _say_same(same: list[Clause]) -> list[str]:
    """Say together what is no different and could have been seen in one unit."""
    sizes = [clause.could_see for clause in same]
    if len(same) == 1 or not all(sizes):
        return [clause.text for clause in same]
    alike = len(same) > _MOST_SIZES or len(set(map(format_could_see, sizes))) == 1
    seen = format_could_see(max(sizes)) if alike else join_names([format_could_see(size) for size in sizes])
    names = join_names([clause.subject for clause in same])
    ending = " in each" if alike else ""
    return [f"{names} no different (the test could have seen {seen}{same[0].unit}{ending})"]


def say_unknown(clauses: Iterable[Clause]) -> tuple[str, ...]:
    """Return one sentence a reason for all that could not be compared."""
    by_why: dict[str, list[str]] = {}
    for clause in clauses:
        if clause.standing == "unknown":
            by_why.setdefault(clause.why, []).append(clause.subject)
    return tuple(
        join_clauses([f"{join_names(subjects)} could not be compared: {why}"]) for why, subjects in by_why.items()
    )


def join_names(names: Sequence[str]) -> str:
    """Return names as prose lists them.

    >>> join_names(["speed"]), join_names(["speed", "grain", "contrast"])
    ('speed', 'speed, grain and contrast')
    """
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def clauses_of(test: TestFindings, reference: TestFindings | None, measures: Iterable[str]) -> tuple[Clause, ...]:
    """Return the clauses of some measures, leaving out those of which the findings say nothing."""
    clauses = []
    for measure in measures:
        if (comparison := comparison_of(test, measure)) is not None:
            quantity = reference.measures.get(measure) if reference else None
            clauses.append(say_difference(measure, comparison, quantity.value if quantity else None))
    return tuple(clauses)


def patch_clauses_of(patches: Mapping[str, PatchFinding], names: Mapping[str, str], grey: str | None) -> list[Clause]:
    """Return one clause a patch but the grey one, which is zero by definition."""
    return [
        say_patch(names.get(patch, patch), finding.against_reference)
        for patch, finding in patches.items()
        if patch != grey
    ]


def comparison_of(test: TestFindings, measure: str) -> Comparison | None:
    """Return how a measure stands against the reference, whichever way the measure carries it."""
    if measure in test.against_reference:
        return test.against_reference[measure]
    if measure in ("speed_from_reference", "shadow_match") and measure in test.measures:
        return compare_with_zero(test.measures[measure])
    return None


def _ends(comparison: Comparison) -> tuple[float, float]:
    if comparison.low is None or comparison.high is None:
        raise ValueError("comparison: it has no interval")
    return comparison.low, comparison.high


def _unit(comparison: Comparison) -> str:
    label = UNIT_LABELS.get(comparison.unit, comparison.unit)
    # A line never breaks between a number and its unit.
    return f"\u00a0{label}" if label else ""


def _could_see(comparison: Comparison) -> str:
    if comparison.could_see is None:
        return ""
    return f" (the test could have seen {format_could_see(comparison.could_see)}{_unit(comparison)})"


def _say_side(words: str, comparison: Comparison, reference_value: float | None) -> str:
    low, high = _ends(comparison)
    if comparison.unit == "stops":
        return say_stops(low, high, words)
    little = reference_value and settle(max(abs(low), abs(high)) / abs(reference_value), 3) < _LITTLE_RATIO
    figure = format_difference(comparison)
    # A line never breaks within a number and its uncertainty.
    size = " ".join(filter(None, (figure.value, figure.spread, figure.unit))).replace(" ", "\u00a0")
    return f"{_soften(words) if little else words} ({size})"


def _soften(words: str) -> str:
    """Put "a little" before the word that says how: "shadows separate a little better"."""
    for word in ("higher", "lower", "better", "less", "steeper", "flatter", "longer", "shorter", "coarser", "finer",
                 "larger", "smaller", "grainier", "sharper"):  # fmt: skip
        if word in words.split():
            return words.replace(word, f"a little {word}", 1)
    return words
