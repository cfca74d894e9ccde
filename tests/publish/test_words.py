"""Verdicts in words claim no more than their intervals allow, whatever the numbers are."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.publish.pages.page_of_method import page_of_method
from basefog.publish.pages.quantities import format_could_see, format_quantity
from basefog.publish.pages.verdict import verdict_of
from basefog.publish.pages.words import (
    WORDINGS,
    join_clauses,
    say_difference,
    say_findings,
    say_patch,
    say_stops,
    say_thirds,
    say_unknown,
    standing_of,
)
from basefog.records.findings import Comparison, Quantity
from basefog.records.vocabulary import MEASURES, VerdictWord
from publish.invented import make_findings, make_series

VERDICTS: tuple[VerdictWord, ...] = ("higher", "lower", "no measurable difference", "not measured")
SIDES = re.compile(
    r"faster|slower|higher|lower|finer|coarser|sharper|less sharp|better|separate less|lighter|darker|longer|shorter|"
    r"larger|smaller|steeper|flatter|grainier|less grainy|more light|less light|more useful|less useful|at more|at less"
)
WHYS = st.sampled_from([None, "", "too few steps", "The scan is not calibrated.", "one\nline  and another. "])


@st.composite
def comparisons(draw: st.DrawFn) -> Comparison:
    """Any comparison that a room before this one could hand over, the contradictory ones too."""
    verdict = draw(st.sampled_from(VERDICTS))
    unit = draw(st.sampled_from(sorted({measure.unit for measure in MEASURES})))
    if verdict == "not measured":
        return Comparison(verdict=verdict, unit=unit, why=draw(WHYS))
    size = st.floats(min_value=-40, max_value=40, allow_nan=False)
    low, high = sorted((draw(size), draw(size)))
    return Comparison(
        verdict=verdict,
        difference=(low + high) / 2,
        low=low,
        high=high,
        could_see=(high - low) / 2,
        unit=unit,
        why=draw(WHYS),
    )


def assert_reads_well(sentence: str) -> None:
    assert sentence.endswith(".")
    assert not sentence.endswith("..")
    assert sentence[0] == sentence[0].upper()
    assert "None" not in sentence
    assert "nan" not in sentence
    assert "  " not in sentence
    assert "\n" not in sentence
    assert " ." not in sentence
    assert "()" not in sentence


@given(comparisons(), st.sampled_from(sorted(WORDINGS)), st.one_of(st.none(), st.floats(0.001, 1000)))
def test_every_verdict_makes_a_clean_sentence(comparison: Comparison, measure: str, reference: float | None) -> None:
    """Whatever the numbers, a verdict is one sentence without gaps, stray words or a second full stop."""
    clause = say_difference(measure, comparison, reference)

    assert_reads_well(join_clauses([clause]))


@given(comparisons(), st.sampled_from(sorted(WORDINGS)))
def test_no_side_is_taken_where_the_interval_touches_zero(comparison: Comparison, measure: str) -> None:
    """A side (faster, finer, darker) is named only where the whole interval lies on that side of zero."""
    clause = say_difference(measure, comparison)
    patch = say_patch("Red", comparison)

    touches = comparison.low is None or comparison.high is None or comparison.low <= 0 <= comparison.high
    if touches:
        assert clause.standing in ("same", "unknown")
        assert not re.search(r"\b(lighter|darker)\b", patch.text)
        if clause.standing == "same":
            assert clause.text.startswith(f"{WORDINGS[measure].subject} no different")
            assert not SIDES.search(clause.text.removeprefix(WORDINGS[measure].subject))
    elif clause.standing == "higher":
        assert comparison.low is not None
        assert comparison.low > 0
    elif clause.standing == "lower":
        assert comparison.high is not None
        assert comparison.high < 0


def parse_thirds(words: str) -> float:
    """Turn words of thirds back into stops, independently of how they are made."""
    if match := re.fullmatch(r"(\d+)([⅓⅔]?) stops", words):
        return int(match[1]) + {"": 0, "⅓": 1 / 3, "⅔": 2 / 3}[match[2]]
    parts = {"a third of a stop": 1 / 3, "two thirds of a stop": 2 / 3, "no part of a stop": 0.0}
    if words in parts:
        return parts[words]
    match = re.fullmatch(r"(\w+?)(?: and (a third|two thirds))? stops?", words)
    assert match is not None, words
    whole = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"].index(match[1])
    return whole + {None: 0.0, "a third": 1 / 3, "two thirds": 2 / 3}[match[2]]


@given(st.integers(0, 200))
def test_thirds_say_the_number_they_stand_for(thirds: int) -> None:
    """Words of thirds read back as the same number of stops."""
    assert parse_thirds(say_thirds(thirds)) == pytest.approx(thirds / 3)


@given(st.floats(0.0005, 30), st.floats(0, 10))
def test_sizes_in_words_hold_the_whole_interval(near: float, width: float) -> None:
    """Between, less than and at most enclose the interval; about stands within a sixth of a stop of its middle."""
    far = near + width
    text = say_stops(near, far, "slower")

    if match := re.fullmatch(r"about (.+) slower", text):
        assert abs(parse_thirds(match[1]) - (near + far) / 2) <= 1 / 6 + 1e-9
        assert width / 2 <= 0.25 + 1e-9
    elif match := re.fullmatch(r"between (.+?) and (.+ stops?) slower", text):
        assert any(
            parse_thirds(low) <= near + 1e-9 and parse_thirds(high) >= far - 1e-9
            for low, high in _splits(text.removeprefix("between ").removesuffix(" slower"))
        )
    else:
        match = re.fullmatch(r"slower by (less than|at most) (.+)", text)
        assert match is not None, text
        assert parse_thirds(match[2]) >= far - 1e-9


def _splits(text: str) -> list[tuple[str, str]]:
    """Every way to cut "A and B" in two that both read as sizes."""
    parts = text.split(" and ")
    cuts = [(" and ".join(parts[:at]), " and ".join(parts[at:])) for at in range(1, len(parts))]
    readable = re.compile(r"(\d+[⅓⅔]? stops|\w+( and (a third|two thirds))? stops?|(a third|two thirds) of a stop)")
    return [(low, high) for low, high in cuts if readable.fullmatch(low) and readable.fullmatch(high)]


@given(st.floats(1e-6, 500))
def test_could_see_never_claims_too_fine_an_eye(could_see: float) -> None:
    """What a test could have seen is rounded up, by less than a tenth of itself and a digit."""
    said = float(format_could_see(could_see))

    assert said >= could_see - 1e-12
    assert said <= could_see * 1.11 + 1e-9 or could_see > 1


@given(comparisons())
def test_a_standing_agrees_with_its_verdict(comparison: Comparison) -> None:
    """The words never take the side opposite to the verdict."""
    opposite = {"higher": "lower", "lower": "higher"}.get(comparison.verdict)

    assert standing_of(comparison) != opposite


def test_what_could_not_be_compared_is_told_once_a_reason() -> None:
    """Measures that miss for one reason share one sentence."""
    why = Comparison(verdict="not measured", why="no calibrated scan.")
    clauses = [say_difference("rms_granularity", why), say_difference("mtf50", why)]

    assert say_unknown(clauses) == (
        "Grain and sharpness of film and scanner could not be compared: no calibrated scan.",
    )


def test_every_measure_has_words_definition_and_formula() -> None:
    """No measure of the vocabulary is without its wording, and the method page defines every one."""
    series = make_series()
    page = page_of_method(series, make_findings(series))

    assert set(WORDINGS) == {measure.id for measure in MEASURES}
    assert [defined.id for defined in page.measures] == [measure.id for measure in MEASURES]
    for defined in page.measures:
        assert "<math" in defined.formula
        assert min(len(defined.source), len(defined.good_for), len(defined.does_not_tell)) > 15


def test_verdicts_of_a_whole_series_read_well() -> None:
    """Every test of a series gets sentences, with and without findings, the reference and its withdrawal included."""
    series = make_series()
    findings = make_findings(series)
    for stock in series.stocks:
        for test in stock.tests:
            verdict = verdict_of(series, findings, test)
            for sentence in (verdict.lead, *verdict.more, *verdict.unknown):
                assert_reads_well(sentence)


@pytest.mark.parametrize(
    ("quantity", "expected"),
    [
        (Quantity(value=0.6123, low=0.6012, high=0.6234, unit="1"), "0.612 ± 0.011"),
        (Quantity(value=100, low=91.6, high=108.2, unit="ISO"), "100 (0.80/H lies between 92 and 108)"),
        (Quantity(value=-0.31, low=-0.5, high=-0.25, unit="stops"), "−0.31 (−0.50 to −0.25) stops"),
        (Quantity(value=2.27, low=2.26, high=2.28, unit="D", bound="lower"), "at least 2.270 ± 0.010"),
        (Quantity(value=14.0, low=14.0, high=14.0, unit="s"), "14 s"),
        (Quantity(value=7.2, low=7.0, high=7.4, unit="um"), "7.20 ± 0.20 µm"),
        (Quantity(value=None, low=None, high=None, unit="1", why="too short."), "not measured: too short"),
    ],
)
def test_quantities_stand_with_unit_and_interval(quantity: Quantity, expected: str) -> None:
    """A quantity is told with its interval, by its ends where it leans to one side, or with its why."""
    assert format_quantity(quantity).plain == expected


@given(st.lists(st.tuples(st.sampled_from(sorted(WORDINGS)), comparisons()), min_size=1, max_size=6))
def test_findings_in_one_sentence_leave_nothing_out(said: list[tuple[str, Comparison]]) -> None:
    """Every known clause is in the sentence; what several could have seen is the largest that any could."""
    clauses = [say_difference(measure, comparison) for measure, comparison in said]
    known = [clause for clause in clauses if clause.standing != "unknown"]
    sentence = say_findings(clauses)

    assert bool(sentence) == bool(known)
    if sentence:
        assert_reads_well(sentence)
    for clause in known:
        assert clause.subject.lower() in sentence.lower() or clause.text.lower() in sentence.lower()
    for match in re.finditer(r"could have seen ([\d.]+)(\u00a0[^ )]+)? in each\)", sentence):
        alike = [c.could_see for c in known if c.standing == "same" and c.unit == (match[2] or "")]
        assert float(match[1]) >= max(alike) - 1e-9
