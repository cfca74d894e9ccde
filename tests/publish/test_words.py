"""Verdicts in words claim no more than their intervals allow, whatever the numbers are."""

import re
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.publish.pages.page_of_method import page_of_method
from basefog.publish.pages.quantities import format_difference, format_half, format_limit, format_quantity
from basefog.publish.pages.sizes import say_log_stops, say_paper_grades, say_printing_stops, say_stops, say_times
from basefog.publish.pages.verdict import verdict_of
from basefog.publish.pages.words import (
    SAME,
    TOLD_IN_TIMES,
    WORDINGS,
    Clause,
    figures_of,
    join_clauses,
    patch_clauses_of,
    say_difference,
    say_findings,
    say_patch,
    say_standing,
    say_unknown,
    standing_of,
)
from basefog.records.findings import Comparison, Quantity
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES
from publish import invented
from publish.invented import make_findings, make_series

HOME = Path(__file__).parents[2]
SIDES = re.compile(
    r"faster|slower|higher|lower|finer|coarser|sharper|less sharp|better|separate less|lighter|darker|longer|shorter|"
    r"larger|smaller|steeper|flatter|grainier|less grainy|more light|less light|more useful|less useful|at more|at less"
)
WHYS = st.sampled_from([None, "", "too few steps", "The scan is not calibrated.", "one\nline  and another. "])
FIGURE = Quantity(value=22.0, low=21.0, high=23.0, unit="1"), Quantity(value=11.0, low=10.5, high=11.5, unit="1")


about = partial(invented.about, firm=True)


@st.composite
def comparisons(draw: st.DrawFn) -> Comparison:
    """Any comparison that the rule can make."""
    unit = draw(st.sampled_from(sorted({measure.unit for measure in MEASURES})))
    if draw(st.booleans()) and draw(st.booleans()):
        return Comparison(verdict="not measured", unit=unit, why=draw(WHYS))
    difference = draw(st.floats(min_value=-40, max_value=40, allow_nan=False))
    return about(difference, draw(st.floats(1e-4, 40)), unit, firm=draw(st.sampled_from([True, False, None])))


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
    assert not re.search(r"\([^)]*\(", sentence), "no bracket stands within another"


def plain(clause: Clause | str) -> str:
    return (clause if isinstance(clause, str) else clause.text).replace("\u00a0", " ")


def test_nothing_says_no_different() -> None:
    """What could not be measured is no sameness: neither code, themes nor content say that films are no different."""
    searched = [
        path
        for folder in ("generator", "themes", "content")
        for path in sorted((HOME / folder).rglob("*"))
        if path.suffix in {".py", ".html", ".js", ".css", ".md", ".yaml"}
    ]

    assert len(searched) > 200
    assert [path.name for path in searched if "no different" in path.read_text(encoding="utf-8")] == []


@pytest.mark.parametrize(
    ("stops", "words"),
    [
        (0.0, "less than a tenth of a stop"),
        (0.074, "less than a tenth of a stop"),
        (0.075, "about a tenth of a stop"),
        (0.14, "about a tenth of a stop"),
        (0.16, "about a fifth of a stop"),
        (0.20, "about a fifth of a stop"),
        (0.22, "about a fifth of a stop"),
        (0.24, "about a quarter of a stop"),
        (0.28, "about a quarter of a stop"),
        (0.30, "about a third of a stop"),
        (-1 / 3, "about a third of a stop"),
        (0.40, "about 0.4 stop"),
        (0.46, "about half a stop"),
        (0.58, "about 0.6 stop"),
        (0.66, "about two thirds of a stop"),
        (0.72, "about three quarters of a stop"),
        (0.86, "about 0.9 stop"),
        (0.96, "about one stop"),
        (1.04, "about one stop"),
        (1.05, "about one stop"),
        (1.06, "about 1.1 stops"),
        (1.22, "about one and a quarter stops"),
        (1.31, "about 1.3 stops"),
        (1.5, "about one and a half stops"),
        (1.75, "about one and three quarters stops"),
        (1.96, "about two stops"),
        (-10.0, "about ten stops"),
        (10.9, "about 10.9 stops"),
        (11.0, "about 11.0 stops"),
    ],
)
def test_sizes_are_told_as_they_are(stops: float, words: str) -> None:
    """By the nearest part that has a word, else in tenths: never a third for 0.2."""
    assert say_stops(stops) == words


def stops_of(words: str) -> float:
    """Turn words back into stops, independently of how they are made."""
    named = {"a tenth": 0.1, "a fifth": 0.2, "a quarter": 0.25, "a third": 1 / 3, "half": 0.5, "two thirds": 2 / 3}
    named |= {"three quarters": 0.75}
    if match := re.fullmatch(r"about (.+?)(?: of)? a stop", words):
        return named[match[1]]
    if match := re.fullmatch(r"about ([\d.]+) stops?", words):
        return float(match[1])
    match = re.fullmatch(r"about (\w+)(?: and (a quarter|a half|three quarters))? stops?", words)
    assert match is not None, words
    whole = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"].index(match[1])
    return whole + {None: 0.0, "a quarter": 0.25, "a half": 0.5, "three quarters": 0.75}[match[2]]


@given(st.floats(0.076, 60))
def test_a_size_in_words_is_within_a_twentieth_of_a_stop(stops: float) -> None:
    """Whatever the size, its words read back within 0.05 stop of it."""
    assert abs(stops_of(say_stops(stops)) - stops) <= 0.05 + 1e-6


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (2.0, "about twice"),
        (2.24, "about twice"),
        (2.26, ""),
        (1.76, "about twice"),
        (1.5, "about one and a half times"),
        (1.39, "about one and a half times"),
        (1.37, ""),
        (1.0, ""),
        (0.74, ""),
        (0.7, "about two thirds of"),
        (0.5, "about half"),
        (0.43, ""),
        (0.33, "about a third of"),
        (0.25, "about a quarter of"),
        (3.2, "about three times"),
        (4.3, "about four times"),
        (5.0, ""),
        (0.1, ""),
    ],
)
def test_ratios_are_told_where_a_word_is_near(ratio: float, words: str) -> None:
    """Times have words only near a simple ratio; elsewhere the figures stand for themselves."""
    assert say_times(ratio) == words


def test_grades_and_printing_stops_are_the_trade_s() -> None:
    """Gradient 0.135 asks 1.30 x 0.135 = 0.175 more of the paper: one grade; a neutral filter of 0.30 is a stop."""
    assert say_paper_grades(0.1346) == "about one paper grade"
    assert say_paper_grades(-0.0673) == "about half a paper grade"
    assert say_paper_grades(0.028) == "about a fifth of a paper grade"
    assert say_paper_grades(0.055) == "about 0.4 of a paper grade"
    assert say_paper_grades(0.1426) == "about 1.1 paper grades"
    assert say_paper_grades(0.1575) == "about 1.2 paper grades"
    assert say_paper_grades(0.404) == "about 3.0 paper grades"
    assert say_printing_stops(0.301) == say_log_stops(0.301) == "about one stop"
    assert say_printing_stops(-0.06) == "about a fifth of a stop"


MORE_AND_LESS = {
    "base_plus_fog": ("higher", "lower"),
    "maximum_density": ("higher", "lower"),
    "speed_point": ("at more exposure", "at less exposure"),
    "iso_speed": ("higher", "lower"),
    "contrast_corrected_speed": ("higher", "lower"),
    "speed_from_reference": ("faster", "slower"),
    "average_gradient": ("higher", "lower"),
    "contrast_index": ("higher", "lower"),
    "gamma": ("steeper", "flatter"),
    "shadow_gradient": ("shadows separate better", "shadows separate less"),
    "middle_gradient": ("middle tones separate better", "middle tones separate less"),
    "highlight_gradient": ("highlights separate better", "highlights separate less"),
    "useful_range": ("more", "less"),
    "shadow_match": ("slower", "faster"),
    "print_exposure": ("longer", "shorter"),
    "rms_granularity": ("coarser", "finer"),
    "grain_correlation": ("larger", "smaller"),
    "print_graininess": ("print grainier", "print less grainy"),
    "mtf50": ("sharper", "less sharp,"),
    "print_shadow_contrast": ("shadows higher", "shadows lower"),
    "print_middle_contrast": ("middle tones higher", "middle tones lower"),
    "print_highlight_contrast": ("highlights higher", "highlights lower"),
    "matching_time": ("longer", "shorter"),
}
"""What more and less of a measure are to a photographer, by the measures' definitions."""


@pytest.mark.parametrize("measure", [measure.id for measure in MEASURES])
def test_more_and_less_of_a_measure_have_their_own_words(measure: str) -> None:
    """A figure above the reference's is said with the word for more of it, one below with the word for less."""
    unit = MEASURE_BY_ID[measure].unit
    more, less = MORE_AND_LESS[measure]
    above, below = (plain(say_difference(measure, about(side * 0.5, 0.1, unit))) for side in (1, -1))

    assert (more in above, less in above) == (True, False), above
    assert (more in below, less in below) == (False, True), below


@given(comparison=comparisons(), measure=st.sampled_from(sorted(WORDINGS)), told=st.booleans())
def test_every_verdict_makes_a_clean_sentence(comparison: Comparison, measure: str, *, told: bool) -> None:
    """Whatever the numbers, a verdict is one sentence without gaps, stray words, nested brackets or a second stop."""
    clause = say_difference(measure, comparison, FIGURE if told else (None, None))

    assert_reads_well(join_clauses([clause]))
    assert_reads_well(join_clauses([say_patch("Red", comparison)]))


@given(comparisons(), st.sampled_from(sorted(WORDINGS)))
def test_no_side_is_taken_where_the_interval_touches_zero(comparison: Comparison, measure: str) -> None:
    """A side (faster, finer, darker) is named only where the whole interval lies on that side of zero."""
    clause = say_difference(measure, comparison)
    patch = say_patch("Red", comparison)

    if comparison.low is None or comparison.high is None or comparison.low <= 0 <= comparison.high:
        assert clause.standing in ("same", "unknown")
        assert not re.search(r"\b(lighter|darker)\b", patch.text)
        if clause.standing == "same":
            assert clause.text.startswith(f"{WORDINGS[measure].subject}: {SAME} (95\u00a0% limit ")
            assert not SIDES.search(clause.text.removeprefix(WORDINGS[measure].subject))
    else:
        assert clause.standing == ("higher" if comparison.low > 0 else "lower")
        assert ("lighter" in patch.text, "darker" in patch.text) == (comparison.low > 0, comparison.high < 0)


@given(comparison=comparisons(), measure=st.sampled_from(sorted(WORDINGS)), told=st.booleans())
def test_probably_is_said_where_a_difference_is_not_firm_and_only_there(
    comparison: Comparison, measure: str, *, told: bool
) -> None:
    """Once in a clause of a difference that is not firm; never with a firm one, or with no measurable difference."""
    figures = FIGURE if told else (None, None)
    unsure = comparison.firm is False and comparison.verdict in {"higher", "lower"}

    for words in (
        say_difference(measure, comparison, figures).text,
        say_patch("Red", comparison).text,
        say_standing(comparison),
    ):
        assert words.count("probably") == int(unsure), words


@pytest.mark.parametrize("measure", sorted(WORDINGS))
@pytest.mark.parametrize("side", [1, -1])
def test_probably_stands_before_the_word_that_says_how(measure: str, side: int) -> None:
    """The clause of what is not firm is the one of what is, with one word put in, and not before its subject."""
    unit = MEASURE_BY_ID[measure].unit
    sure, unsure = (say_difference(measure, about(side * 0.5, 0.1, unit, firm=firm)).text for firm in (True, False))

    assert unsure.replace("probably ", "", 1) == sure
    before, _, after = unsure.partition("probably ")
    wording = WORDINGS[measure].higher if side > 0 else WORDINGS[measure].lower
    if before:
        assert wording.startswith(before)
        assert after.split()[0] in {"separate", "higher", "lower", "steeper", "flatter", "longer", "shorter", "coarser",
                                    "finer", "larger", "smaller", "grainier", "less", "at", "more"}  # fmt: skip


@pytest.mark.parametrize(
    ("measure", "comparison", "words"),
    [
        (
            "speed_from_reference",
            about(-1.6, 0.1, "stops"),
            "about 1.6 stops slower (1.60 ± 0.10)",
        ),
        (
            "speed_from_reference",
            about(0.24, 0.1, "stops", firm=False),
            "probably about a quarter of a stop faster (0.24 ± 0.10)",
        ),
        ("shadow_match", about(0.5, 0.1, "stops"), "about half a stop slower (0.50 ± 0.10)"),
        ("shadow_match", about(-0.5, 0.1, "stops"), "about half a stop faster (0.50 ± 0.10)"),
        (
            "iso_speed",
            about(-0.5, 0.1, "stops", firm=False),
            "ISO speed probably lower by about half a stop (0.50 ± 0.10)",
        ),
        ("useful_range", about(1.5, 0.4, "stops"), "about one and a half stops more useful range (1.50 ± 0.40)"),
        (
            "average_gradient",
            about(-0.0673, 0.011),
            "contrast lower by 0.067 ± 0.011, about half a paper grade",
        ),
        (
            "average_gradient",
            about(0.01, 0.028),
            "contrast: no measurable difference (95 % limit 0.028, about a fifth of a paper grade)",
        ),
        (
            "base_plus_fog",
            about(0.06, 0.01, "D"),
            "base plus fog higher by 0.060 ± 0.010, about a fifth of a stop in printing",
        ),
        (
            "base_plus_fog",
            about(0.001, 0.03, "D"),
            "base plus fog: no measurable difference (95 % limit 0.030, about a tenth of a stop in printing)",
        ),
        ("print_exposure", about(2.0, 0.5, "s"), "print exposure longer by 2.00 ± 0.50 s"),
        ("print_exposure", about(0.0, 0.5, "s"), "print exposure: no measurable difference (95 % limit 0.50 s)"),
        ("shadow_match", about(0.0, 0.5, "stops"), "speed: no measurable difference (95 % limit 0.50 stops)"),
        ("rms_granularity", about(11.0, 1.0), "grain about twice the reference’s (22.0 against 11.00)"),
        (
            "rms_granularity",
            about(11.0, 1.0, firm=False),
            "grain probably about twice the reference’s (22.0 against 11.00)",
        ),
        (
            "grain_correlation",
            about(0.1, 0.3, "um"),
            "grain pattern of film and scanner: no measurable difference (95 % limit 0.30 µm)",
        ),
    ],
)
def test_a_difference_is_told_with_its_size_its_error_and_the_trade_s_scale(
    measure: str, comparison: Comparison, words: str
) -> None:
    """One clause a measure, as a reader sees it."""
    assert plain(say_difference(measure, comparison, FIGURE)) == words


def test_figures_without_a_simple_ratio_stand_side_by_side() -> None:
    """Grain of 14 against 11 is coarser, with both figures; a film with a name is told by it."""
    this = Quantity(value=14.0, low=13.0, high=15.0, unit="1")

    assert plain(say_difference("rms_granularity", about(3.0, 1.0), (this, FIGURE[1]))) == (
        "grain coarser (14.0 against 11.00)"
    )
    assert plain(say_difference("rms_granularity", about(11.0, 1.0), FIGURE, other="Fells")) == (
        "grain about twice Fells’ (22.0 against 11.00)"
    )
    assert plain(say_difference("rms_granularity", about(3.0, 1.0))) == "grain coarser by 3.0 ± 1.0"
    assert set(TOLD_IN_TIMES) <= set(WORDINGS)


def test_grain_patterns_are_those_of_film_and_scanner_together() -> None:
    """The pixel and the scanner's blur are in the figure, and every wording of it says so."""
    words = WORDINGS["grain_correlation"]

    assert all("film and scanner" in text for text in (words.subject, words.higher, words.lower))


@given(comparisons())
def test_a_standing_agrees_with_its_verdict(comparison: Comparison) -> None:
    """The words never take the side opposite to the verdict."""
    expected = {"higher": "higher", "lower": "lower", "not measured": "unknown"}.get(comparison.verdict, "same")

    assert standing_of(comparison) == expected


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
        (Quantity(value=160.0, low=134.4, high=152.6, unit="ISO", exact=143.2), "143.2 ± 9.1, rounds to 160"),
        (Quantity(value=143.2, low=134.4, high=152.6, unit="ISO", exact=143.2), "143.2 ± 9.1"),
        (Quantity(value=100.0, low=88.0, high=112.0, unit="ISO", exact=99.6), "100 ± 12, rounds to 100"),
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


@given(st.floats(-40, 40), st.floats(1e-3, 40))
def test_the_limit_is_the_error_that_stands_after_the_sign(difference: float, half: float) -> None:
    """The 95 % limit of a difference is written as its error is everywhere else."""
    comparison = about(difference, half)

    assert format_difference(comparison).spread == f"± {format_limit(comparison)}"


@given(st.lists(st.tuples(st.sampled_from(sorted(WORDINGS)), comparisons()), min_size=1, max_size=6))
def test_findings_in_one_sentence_leave_nothing_out(said: list[tuple[str, Comparison]]) -> None:
    """Every known clause is in the sentence; one limit for several is the largest that any has."""
    clauses = [say_difference(measure, comparison) for measure, comparison in said]
    known = [clause for clause in clauses if clause.standing != "unknown"]
    sentence = say_findings(clauses)

    assert bool(sentence) == bool(known)
    if sentence:
        assert_reads_well(sentence)
    for clause in known:
        assert clause.subject.lower() in sentence.lower() or clause.text.lower() in sentence.lower()
    for match in re.finditer(r"95\u00a0% limit ([\d.]+)(\u00a0[^ )]+)? in each\)", sentence):
        alike = [clause.limit for clause in known if clause.standing == "same" and clause.unit == (match[2] or "")]
        assert float(match[1]) >= max(alike) * 0.95


def test_few_limits_stand_each_and_many_as_the_largest() -> None:
    """Up to three things have their own limits, in order; four have one that holds for all; units stay apart."""
    names = ("shadow_gradient", "middle_gradient", "highlight_gradient", "print_shadow_contrast")
    clauses = [
        say_difference(name, about(0.0, half)) for name, half in zip(names, (0.02, 0.05, 0.03, 0.04), strict=True)
    ]
    match = say_difference("shadow_match", about(0.0, 0.1, "stops"))

    assert plain(say_findings([*clauses[:3], match])) == (
        "Shadow separation, middle-tone separation and highlight separation: no measurable difference (95 % limits "
        "0.020, 0.050 and 0.030); speed: no measurable difference (95 % limit 0.10 stops)."
    )
    assert plain(say_findings(clauses)).endswith("no measurable difference (95 % limit 0.050 in each).")


def test_a_standing_has_its_own_words() -> None:
    """For the tester's own sentence: the side, the limit or the reason alone."""
    assert say_standing(about(0.5, 0.1), higher="faster") == "faster"
    assert say_standing(about(-0.5, 0.1, firm=False), lower="darker") == "probably darker"
    assert plain(say_standing(about(0.0, 0.031, "um"))) == "no measurable difference, 95 % limit 0.031 µm"
    assert say_standing(Comparison(verdict="not measured", why="too short.")) == "not measured, because too short"


def test_a_half_width_alone_has_two_digits() -> None:
    """Two digits, however large or small."""
    assert [format_half(half) for half in (0.00312, 0.0996, 3.14, 31.4)] == ["0.0031", "0.10", "3.1", "31"]


def test_an_interval_that_leans_stands_in_one_bracket() -> None:
    """Told by its ends, it has no bracket of its own within the clause's."""
    leaning = Comparison(verdict="higher", difference=0.5, low=0.4, high=0.9, could_see=0.25, unit="stops", firm=True)

    assert plain(say_patch("Red", leaning)) == "Red about half a stop lighter (0.50 +0.40 to +0.90)"


def test_what_has_no_limit_is_told_by_itself() -> None:
    """Two things that can't be told apart, of which no limit is known, share no bracket."""
    same = Comparison(verdict=SAME, difference=0.01)

    assert say_findings([say_difference(name, same) for name in ("shadow_gradient", "middle_gradient")]) == (
        "Shadow separation: no measurable difference; middle-tone separation: no measurable difference."
    )


def test_a_figure_of_zero_is_no_ratio() -> None:
    """Nothing is so many times zero, nor zero so many times anything: the difference is told."""
    zero = replace(FIGURE[0], value=0.0)

    for figures in ((zero, FIGURE[1]), (FIGURE[0], zero), (FIGURE[0], replace(FIGURE[1], value=None))):
        assert plain(say_difference("rms_granularity", about(-11.0, 1.0), figures)) == "grain finer by 11.0 ± 1.0"


@pytest.mark.parametrize("measure", ["average_gradient", "contrast_index", "gamma"])
def test_contrast_is_told_in_paper_grades_however_measured(measure: str) -> None:
    """The three slopes that a paper is chosen by have its scale beside them."""
    assert "about 2.2 paper grades" in say_difference(measure, about(0.3, 0.01)).text


def test_a_verdict_s_figures_are_those_that_it_sets_against_each_other() -> None:
    """A stock's mean over its repeats and the reference's, where there are any; not the test's own alone."""
    found = make_findings(make_series()).tests["tern-100/2026-04-01-b"]
    own, mean = (replace(FIGURE[0], value=value) for value in (0.60, 0.61))
    repeated = replace(found, measures={"gamma": own}, pooled={"gamma": mean})
    single = replace(found, measures={"gamma": own}, pooled={})

    assert figures_of(repeated, repeated, "gamma") == (mean, mean)
    assert figures_of(single, None, "gamma") == (own, None)


def test_patches_are_told_against_the_reference_but_the_grey_one() -> None:
    """All are counted from the grey patch; what the eye sees is another comparison."""
    found = make_findings(make_series()).tests["tern-100/2026-04-01-b"]
    lighter, darker = about(0.5, 0.1, "stops"), about(-0.5, 0.1, "stops")
    red = replace(found.patches["red"], against_reference=darker, against_eye=lighter)
    clauses = patch_clauses_of({"grey": red, "red": red, "sky": red}, {"grey": "Grey", "red": "Red"}, "grey")

    assert [plain(clause) for clause in clauses] == [
        "Red about half a stop darker (0.50 ± 0.10)",
        "sky about half a stop darker (0.50 ± 0.10)",
    ]


def test_a_line_breaks_neither_in_a_figure_nor_before_its_unit() -> None:
    """A difference, its error and its unit keep together, and so do a limit and its unit."""
    assert "by 0.067\u00a0±\u00a00.011," in say_difference("average_gradient", about(-0.0673, 0.011)).text
    assert "by 2.00\u00a0±\u00a00.50\u00a0s" in say_difference("print_exposure", about(2.0, 0.5, "s")).text
    assert "limit 0.50\u00a0stops)" in say_difference("shadow_match", about(0.0, 0.5, "stops")).text


@pytest.mark.parametrize(
    ("stops", "words"), [(0.39, "about 0.4 stop"), (0.445, "about 0.4 stop"), (0.805, "about 0.8 stop")]
)
def test_a_part_of_a_stop_is_named_within_a_twentieth_of_it(stops: float, words: str) -> None:
    """From 0.055 off on, a size is no longer a third, a half or three quarters."""
    assert say_stops(stops) == words


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (2.25, "about twice"),
        (3.34, "about three times"),
        (3.36, ""),
        (4.44, "about four times"),
        (4.46, ""),
        (0.215, ""),
        (0.222, "about a quarter of"),
        (0.722, "about two thirds of"),
        (0.73, ""),
    ],
)
def test_a_ratio_has_words_up_to_where_it_is_said_to_be_near(ratio: float, words: str) -> None:
    """Each word has its own room: an eighth of what it says, about."""
    assert say_times(ratio) == words


@pytest.mark.parametrize(
    ("gradient", "words"),
    [
        (-0.3, "about 2.2 paper grades"),
        (0.1373, "about one paper grade"),
        (0.0538, "about 0.4 of a paper grade"),
        (0.942, "about 7.0 paper grades"),
    ],
)
def test_paper_grades_are_those_of_a_subject_of_1_30(gradient: float, words: str) -> None:
    """1.30 of log luminance times the gradient, over 0.175 a grade, whichever side it is on."""
    assert say_paper_grades(gradient) == words
