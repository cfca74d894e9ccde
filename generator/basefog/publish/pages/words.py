"""Verdicts in plain sentences, never claiming more than their intervals allow.

A clause is one thing said of a stock against another, in lower case and without a stop; sentences are made of clauses.
A difference that is firm is said plainly, one that is not with "probably"; what could not be told apart is called so,
with the 95 % limit beside it: half the width of the interval, which is what the tests could have shown.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from basefog.judge import IN_LOGARITHMS
from basefog.publish.pages.quantities import UNIT_LABELS, format_difference, format_limit, format_quantity, tidy
from basefog.publish.pages.sizes import say_paper_grades, say_printing_stops, say_stops, say_times
from basefog.records.findings import Comparison, PatchFinding, Quantity, TestFindings

Standing = Literal["higher", "lower", "same", "unknown"]

SAME: Final = "no measurable difference"

_MOST_LIMITS: Final = 3
"""Up to so many things that can't be told apart, each has its own limit; beyond, the largest stands for all."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Clause:
    """One thing said of a test against another. `subject` is what it is about, `why` why it could not be compared.

    `limit` is the 95 % limit, and `told_limit` the same as it is written, without its `unit`.
    """

    measure: str
    standing: Standing
    text: str
    subject: str
    why: str = ""
    limit: float = 0.0
    told_limit: str = ""
    unit: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Wording:
    """How a measure's verdicts are said: `subject` of which there is no difference, else `higher` or `lower`."""

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
    "shadow_match": Wording(subject="speed", higher="slower", lower="faster"),
    "print_exposure": Wording(subject="print exposure", higher="print exposure longer", lower="print exposure shorter"),
    "rms_granularity": Wording(subject="grain", higher="grain coarser", lower="grain finer"),
    "grain_correlation": Wording(
        subject="grain pattern of film and scanner",
        higher="grain pattern larger, film and scanner together",
        lower="grain pattern smaller, film and scanner together",
    ),
    "print_graininess": Wording(subject="grain in the print", higher="print grainier", lower="print less grainy"),
    "mtf50": Wording(
        subject="sharpness of film and scanner",
        higher="sharper, film and scanner together",
        lower="less sharp, film and scanner together",
    ),
    "print_shadow_contrast": Wording(
        subject="contrast of the print’s shadows",
        higher="contrast of the print’s shadows higher",
        lower="contrast of the print’s shadows lower",
    ),
    "print_middle_contrast": Wording(
        subject="contrast of the print’s middle tones",
        higher="contrast of the print’s middle tones higher",
        lower="contrast of the print’s middle tones lower",
    ),
    "print_highlight_contrast": Wording(
        subject="contrast of the print’s highlights",
        higher="contrast of the print’s highlights higher",
        lower="contrast of the print’s highlights lower",
    ),
    "matching_time": Wording(
        subject="development for the reference’s contrast",
        higher="longer development for the reference’s contrast",
        lower="shorter development for the reference’s contrast",
    ),
}
"""One wording for every measure of the vocabulary."""


SIDES: Final[Mapping[str, tuple[str, str]]] = {
    "speed_from_reference": ("faster", "slower"),
    "shadow_match": ("slower", "faster"),
}
"""What higher and lower are called in tables, where a measure has better words for them."""


TRADE_SIZES: Final[Mapping[str, Callable[[float], str]]] = {
    "average_gradient": say_paper_grades,
    "contrast_index": say_paper_grades,
    "gamma": say_paper_grades,
    "base_plus_fog": lambda density: f"{say_printing_stops(density)} in printing",
}
"""What a difference is on the trade's own scale, for measures that have one and are not in stops already."""

TOLD_IN_TIMES: Final = frozenset({"rms_granularity", "grain_correlation", "print_graininess", "mtf50"})
"""Measures of which both figures are told, and how many times one is the other."""


def standing_of(comparison: Comparison) -> Standing:
    """Return what a comparison lets us say."""
    if comparison.verdict in {"higher", "lower"}:
        return "higher" if comparison.verdict == "higher" else "lower"
    return "unknown" if comparison.difference is None else "same"


def say_difference(
    measure: str,
    comparison: Comparison,
    figures: tuple[Quantity | None, Quantity | None] = (None, None),
    *,
    other: str = "the reference",
    by: str = "",
) -> Clause:
    r"""Return a measure's verdict as a clause.

    Arguments: `figures`, this one's and the other's, where they are told; `other`, what the other is called; `by`, what
    a speed goes by, where there are two of it.

    >>> say_difference("average_gradient", Comparison(
    ...     verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04, could_see=0.03)).text
    'contrast: no measurable difference (95\xa0% limit 0.030, about a fifth of a paper grade)'
    >>> say_difference("speed_from_reference", Comparison(
    ...     verdict="lower", difference=-1.6, low=-1.7, high=-1.5, could_see=0.1, unit="stops", firm=False)).text
    'probably about 1.6 stops slower (1.60 ± 0.10)'
    """
    words = WORDINGS[measure]
    subject = f"{words.subject} {by}".strip()
    standing = standing_of(comparison)
    if standing == "unknown":
        return _unknown(measure, subject, comparison)
    if standing == "same":
        return _same(measure, subject, comparison)
    side = words.higher if standing == "higher" else words.lower
    if comparison.unit == "stops" and measure in IN_LOGARITHMS:
        size = say_stops(comparison.difference or 0.0)
        text = f"{with_sure(side, _sure(comparison))} by {size} ({_unsigned(comparison)})"
    elif comparison.unit == "stops":
        text = f"{_sure(comparison)}{say_stops(comparison.difference or 0.0)} {side}"
        text = " ".join(part for part in (text, by, f"({_unsigned(comparison)})") if part)
    else:
        text = _say_side(measure, side, comparison, figures, other)
    return Clause(measure=measure, standing=standing, text=text, subject=subject)


def say_standing(comparison: Comparison, *, higher: str = "higher", lower: str = "lower") -> str:
    r"""Return a verdict for the tester's own sentence, which says already what it is about.

    >>> say_standing(Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04,
    ...     could_see=0.03))
    'no measurable difference, 95\xa0% limit 0.030'
    """
    standing = standing_of(comparison)
    if standing == "unknown":
        return f"not measured, because {tidy(comparison.why) or 'no reason was given'}"
    if standing == "same":
        return SAME + (f", 95\u00a0% limit {_limit(comparison)}" if comparison.could_see is not None else "")
    return _sure(comparison) + (higher if standing == "higher" else lower)


def say_patch(name: str, comparison: Comparison) -> Clause:
    """Return how a patch is rendered against another test, as a clause.

    >>> say_patch("Red", Comparison(
    ...     verdict="lower", difference=-0.35, low=-0.45, high=-0.25, could_see=0.1, unit="stops", firm=True)).text
    'Red about a third of a stop darker (0.35 ± 0.10)'
    """
    standing = standing_of(comparison)
    if standing == "unknown":
        return _unknown("", name, comparison)
    if standing == "same":
        return _same("", name, comparison)
    side = "lighter" if standing == "higher" else "darker"
    size = say_stops(comparison.difference or 0.0)
    text = f"{name} {_sure(comparison)}{size} {side} ({_unsigned(comparison)})"
    return Clause(measure="", standing=standing, text=text, subject=name)


def join_clauses(clauses: Iterable[Clause | str]) -> str:
    """Return clauses as one sentence: a capital in front, a full stop at the end; empty where there are none."""
    texts = [clause if isinstance(clause, str) else clause.text for clause in clauses]
    sentence = "; ".join(text for text in texts if text)
    return sentence[:1].upper() + sentence[1:] + "." if sentence else ""


def say_findings(clauses: Iterable[Clause]) -> str:
    r"""Return what was found in one sentence: each difference by itself, all that can't be told apart together.

    >>> same = Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04, could_see=0.03)
    >>> say_findings([say_difference("shadow_gradient", same), say_difference("middle_gradient", same)])
    'Shadow separation and middle-tone separation: no measurable difference (95\xa0% limit 0.030 in each).'
    """
    known = [clause for clause in clauses if clause.standing != "unknown"]
    same = [clause for clause in known if clause.standing == "same"]
    texts = [clause.text for clause in known if clause.standing != "same"]
    for unit in dict.fromkeys(clause.unit for clause in same):
        texts += _say_same([clause for clause in same if clause.unit == unit])
    return join_clauses(texts)


def _say_same(same: list[Clause]) -> list[str]:
    """Say together what can't be told apart and has its limits in one unit."""
    limits = [clause.limit for clause in same]
    if len(same) == 1 or not all(limits):
        return [clause.text for clause in same]
    alike = len(same) > _MOST_LIMITS or len({clause.told_limit for clause in same}) == 1
    largest = max(same, key=lambda clause: clause.limit)
    told = largest.told_limit if alike else join_names([clause.told_limit for clause in same])
    names = join_names([clause.subject for clause in same])
    what = "limit" if alike else "limits"
    return [f"{names}: {SAME} (95\u00a0% {what} {told}{same[0].unit}{' in each' if alike else ''})"]


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
    return tuple(
        say_difference(measure, comparison, figures_of(test, reference, measure))
        for measure in measures
        if (comparison := test.against_reference.get(measure)) is not None
    )


def figures_of(
    test: TestFindings, reference: TestFindings | None, measure: str
) -> tuple[Quantity | None, Quantity | None]:
    """Return the figures of a measure that a verdict sets against each other."""
    return test.figure(measure), None if reference is None else reference.figure(measure)


def patch_clauses_of(patches: Mapping[str, PatchFinding], names: Mapping[str, str], grey: str | None) -> list[Clause]:
    """Return one clause a patch but the grey one, which is zero by definition."""
    return [
        say_patch(names.get(patch, patch), finding.against_reference)
        for patch, finding in patches.items()
        if patch != grey
    ]


def _unknown(measure: str, subject: str, comparison: Comparison) -> Clause:
    why = tidy(comparison.why) or "no reason was given"
    text = f"{subject} could not be compared: {why}"
    return Clause(measure=measure, standing="unknown", text=text, subject=subject, why=why)


def _same(measure: str, subject: str, comparison: Comparison) -> Clause:
    limit = comparison.could_see
    trade = TRADE_SIZES.get(measure)
    told = "" if limit is None else f" (95\u00a0% limit {_limit(comparison)}{f', {trade(limit)}' if trade else ''})"
    return Clause(
        measure=measure,
        standing="same",
        text=f"{subject}: {SAME}{told}",
        subject=subject,
        limit=limit or 0.0,
        told_limit=format_limit(comparison),
        unit=_unit(comparison),
    )


def _sure(comparison: Comparison) -> str:
    """Return the word that a difference is said with: none where it is firm, or where that was not asked."""
    return "probably " if comparison.firm is False else ""


def _say_side(
    measure: str, side: str, comparison: Comparison, figures: tuple[Quantity | None, Quantity | None], other: str
) -> str:
    """Return a difference that is not in stops: in times where that says most, else by how much."""
    this, that = (None if figure is None or figure.value is None else figure for figure in figures)
    sure = _sure(comparison)
    if measure in TOLD_IN_TIMES and this is not None and that is not None and this.value and that.value:
        told = f"({format_quantity(this).value} against {format_quantity(that).value})"
        times = say_times(this.value / that.value)
        if times:
            return f"{WORDINGS[measure].subject} {sure}{times} {possessive(other)} {told}"
        return f"{with_sure(side, sure)} {told}"
    trade = TRADE_SIZES.get(measure)
    size = _unsigned(comparison).replace(" ", "\u00a0")
    grade = f", {trade(comparison.difference or 0.0)}" if trade else ""
    return f"{with_sure(side, sure)} by {size}{grade}"


def with_sure(side: str, sure: str) -> str:
    """Put "probably" before the word that says how: "shadows probably separate better".

    >>> with_sure("contrast higher", "probably "), with_sure("shadows separate better", "probably ")
    ('contrast probably higher', 'shadows probably separate better')
    """
    words = side.split()
    at = next((place for place, word in enumerate(words) if word == "separate"), None)
    if at is None:
        at = next((place for place, word in enumerate(words) if word in _COMPARATIVES), 0)
    return " ".join([*words[:at], *sure.split(), *words[at:]])


_COMPARATIVES: Final = frozenset(
    {"higher", "lower", "steeper", "flatter", "longer", "shorter", "coarser", "finer", "larger", "smaller", "grainier",
     "sharper", "more", "less", "at"}
)  # fmt: skip


def possessive(name: str) -> str:
    """Return whose a thing is.

    >>> possessive("the reference"), possessive("Fells")
    ('the reference’s', 'Fells’')
    """
    return name + ("’" if name.endswith("s") else "’s")


def _unsigned(comparison: Comparison) -> str:
    """Return the size of a difference with its error, its side being told in words."""
    figure = format_difference(comparison)
    unit = "" if comparison.unit == "stops" else figure.unit
    # The figure may stand in brackets, and no bracket stands within another.
    spread = figure.spread.strip("()")
    return " ".join(part for part in (figure.value.lstrip("+−"), spread, unit) if part)


def _limit(comparison: Comparison) -> str:
    return f"{format_limit(comparison)}{_unit(comparison)}" if comparison.could_see is not None else ""


def _unit(comparison: Comparison) -> str:
    label = UNIT_LABELS.get(comparison.unit, comparison.unit)
    # A line never breaks between a number and its unit.
    return f"\u00a0{label}" if label else ""
