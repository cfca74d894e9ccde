"""The lead of a test's page: its speed, or both speeds where they disagree, what is held alike, and the reference."""

from dataclasses import replace

import pytest

from basefog.publish.pages.measure_rows import rows_of_measures, verdict_text
from basefog.publish.pages.page_of_summary import page_of_summary
from basefog.publish.pages.repeatability import say_repeatability
from basefog.publish.pages.verdict import speed_clauses, verdict_of
from basefog.records.content import Series
from basefog.records.findings import Comparison, Findings, Quantity, Scatter, TestFindings, ToSettle
from publish.invented import about, make_findings, make_series

TERN = "tern-100/2026-04-01-b"


def stops(difference: float, half: float, *, firm: bool = True) -> Comparison:
    return about(difference, half, "stops", firm=firm)


def found_with(speed: Comparison | None, match: Comparison | None) -> tuple[Series, Findings, TestFindings]:
    """Return the invented series where a stock has these two speeds."""
    series = make_series()
    findings = make_findings(series)
    both = {"speed_from_reference": speed, "shadow_match": match}
    known = {name: comparison for name, comparison in both.items() if comparison is not None}
    figures = {
        name: Quantity(value=one.difference, low=one.low, high=one.high, unit="stops", why=one.why)
        for name, one in known.items()
    }
    found = findings.tests[TERN]
    found = replace(found, against_reference=known, measures=dict(found.measures) | figures)
    return series, replace(findings, tests=dict(findings.tests) | {TERN: found}), found


def leads(speed: Comparison | None, match: Comparison | None) -> list[str]:
    _, findings, found = found_with(speed, match)
    assert findings.of_reference is not None
    return [clause.text.replace("\u00a0", " ") for clause in speed_clauses(found, findings.of_reference)]


def test_speeds_that_agree_are_told_once() -> None:
    """Faster by 0.5 and 0.4 stop less light: one clause, by the speed point."""
    assert leads(stops(0.5, 0.1), stops(-0.4, 0.1)) == ["about half a stop faster (0.50 ± 0.10)"]


def test_speeds_that_disagree_beyond_error_are_both_told() -> None:
    """Each says what it goes by, and one word, faster or slower, though the signs of the two run opposite ways."""
    assert leads(stops(0.5, 0.1), stops(0.5, 0.1, firm=False)) == [
        "about half a stop faster by the speed point (0.50 ± 0.10)",
        "probably about half a stop slower for equal shadows (0.50 ± 0.10)",
    ]
    assert leads(stops(0.0, 0.1), stops(-0.5, 0.1)) == [
        "speed by the speed point: no measurable difference (95 % limit 0.10 stops)",
        "about half a stop faster for equal shadows (0.50 ± 0.10)",
    ]


@pytest.mark.parametrize(("match", "count"), [(-0.365, 1), (-0.355, 2), (-0.635, 1), (-0.645, 2)])
def test_speeds_disagree_from_their_errors_on(match: float, count: int) -> None:
    """Errors of 0.10 and 0.10 make 0.141 for the two: 0.135 apart is one speed, 0.145 is two."""
    assert len(leads(stops(0.5, 0.1), stops(match, 0.1))) == count


def test_a_speed_alone_is_told_alone() -> None:
    """Where one of the two can't be had the other is the speed; where neither can, the first says why."""
    missing = Comparison(verdict="not measured", unit="stops", why="no bracket")

    assert leads(stops(0.5, 0.1), missing) == ["about half a stop faster (0.50 ± 0.10)"]
    assert leads(missing, stops(0.5, 0.1)) == ["about half a stop slower (0.50 ± 0.10)"]
    assert leads(None, stops(0.5, 0.1)) == ["about half a stop slower (0.50 ± 0.10)"]
    assert leads(missing, missing) == ["speed could not be compared: no bracket"]


@pytest.mark.parametrize("sign", [1, -1])
def test_marks_point_with_their_words(sign: int) -> None:
    """More light needed is slower: in both tables the shadow match's mark points down with it, as the speed's does."""
    series, findings, found = found_with(stops(-0.5 * sign, 0.1), stops(0.5 * sign, 0.1))
    word, standing, mark = ("slower", "lower", "▼") if sign > 0 else ("faster", "higher", "▲")

    rows = {row.id: row.verdict for row in rows_of_measures(found, findings.of_reference)}
    for name in ("speed_from_reference", "shadow_match"):
        verdict = rows[name]
        assert verdict is not None
        assert (verdict.words, verdict.standing) == (word, standing)
    cells = [cell for row in page_of_summary(series, findings).rows for cell in row.cells if row.slug == "tern-100"]
    shown = {cell.column.id: (cell.mark, cell.verdict) for cell in cells if cell.quantity.value}
    assert shown["speed_from_reference"] == (mark, word)
    block = str(page_of_summary(series, findings).block)
    assert '"signs":{"▼":"slower","▲":"faster"}' in block
    assert f"0.50{mark}" in block


def test_a_table_s_verdict_says_what_it_counted_and_what_would_settle_it() -> None:
    """Beside a verdict stand what its error holds and, where it is not firm, the tests that would make it so."""
    unsure = replace(
        stops(0.5, 0.4, firm=False), counts=("reading", "wedge", "repeats"), to_settle=ToSettle(tests=3, of="stock")
    )
    text = verdict_text(unsure, higher="faster", lower="slower")

    assert (text.words, text.firm) == ("probably faster", False)
    assert text.counts == "readings, wedge, repeats"
    assert text.settle == "3 more tests of the stock may settle it"
    one = replace(unsure, to_settle=ToSettle(tests=1, of="reference"))
    assert verdict_text(one).settle.startswith("one more test of the reference may settle it")
    why = replace(unsure, to_settle=ToSettle(tests=None, why="not by repeats: twenty more tests would not do."))
    assert verdict_text(why).settle == ""
    firm = replace(stops(0.5, 0.1), to_settle=ToSettle(tests=0))
    assert (verdict_text(firm).words, verdict_text(firm).settle) == ("higher", "")
    assert verdict_text(replace(unsure, to_settle=None)).settle == ""


def test_the_limit_stands_beside_the_thing_in_the_trade_s_scale_too() -> None:
    """Paper grades for contrast and stops in printing for base plus fog; none for what is in stops already."""
    same = Comparison(verdict="no measurable difference", difference=0.0, low=-0.03, high=0.03, could_see=0.03)

    assert verdict_text(same, measure="average_gradient").trade == "about a fifth of a paper grade"
    assert verdict_text(same, measure="base_plus_fog").trade == "about a tenth of a stop in printing"
    assert verdict_text(same, measure="rms_granularity").trade == ""
    assert verdict_text(replace(same, unit="um"), measure="grain_correlation").limit == "0.030 µm"


def test_what_is_held_alike_is_told() -> None:
    """Contrast is film and development together: the protocol's sentence stands beside the lead."""
    series, findings, _ = found_with(stops(0.5, 0.1), None)
    tern = series.stock("tern-100").tests[0]
    told = replace(series, protocol=replace(series.protocol, development="each film by its maker's time."))

    assert verdict_of(told, findings, tern).held == "Held alike: each film by its maker’s time."
    assert verdict_of(series, findings, tern).held == ""


def test_the_reference_tells_how_well_it_repeats() -> None:
    """Of how many tests its figures are means, what repeats scatter by, and how well exposures repeat."""
    series = make_series()
    findings = make_findings(series)
    reference = findings.of_reference
    assert reference is not None
    assert say_repeatability(series, findings)[0].startswith("It was tested once: Marl 400’s luck ")

    grouped = replace(reference, group=("2026-03-14", "2026-05-02"), exposures_repeat_stops=0.0712)
    scatter = {
        "average_gradient": Scatter(
            measure="average_gradient", sigma=0.0123, degrees_of_freedom=4, source="repeats", stocks=3
        ),
        "mtf50": Scatter(
            measure="mtf50", sigma=0.0312, degrees_of_freedom=4, source="repeats", stocks=3, relative=True
        ),
        "base_plus_fog": Scatter(measure="base_plus_fog", sigma=0.0, degrees_of_freedom=4, source="repeats", stocks=3),
        "shadow_match": Scatter(measure="shadow_match", sigma=0.0, degrees_of_freedom=4, source="repeats", stocks=3),
        "rms_granularity": Scatter(
            measure="rms_granularity", sigma=0.03, degrees_of_freedom=None, source="assumed", relative=True
        ),
    }
    tests = dict(findings.tests) | {reference.key: grouped}

    assert say_repeatability(series, replace(findings, tests=tests, scatter=scatter)) == (
        "Its figures are the means of 2 tests, so that one test’s luck weighs less in every verdict of the series.",
        (
            "Two tests of one film differ though nothing was changed; repeats tell a standard deviation of 0.012 in "
            "average gradient and 3.1 % in MTF50 for one test."
        ),
        "In base plus fog and shadow match repeats show no more than reading error.",
        "Its bracket’s exposures repeat to 0.07 stop (standard deviation).",
    )


def test_control_strips_tell_scatter_apart_from_repeats() -> None:
    """What batches tell is said to come from them; a density that waits for each curve's gradient is not told."""
    series = make_series()
    findings = make_findings(series)
    of = {"degrees_of_freedom": 6, "source": "batches"}
    scatter = {
        "average_gradient": Scatter(measure="average_gradient", sigma=0.02, relative=True, **of),  # type: ignore[arg-type]
        "speed_point": Scatter(measure="speed_point", sigma=0.01, by_gradient=True, **of),  # type: ignore[arg-type]
    }

    assert say_repeatability(series, replace(findings, scatter=scatter))[1:] == (
        (
            "Two tests of one film differ though nothing was changed; the control strips of the batches tell a "
            "standard deviation of 2.0 % in average gradient for one test."
        ),
    )
    assert say_repeatability(series, replace(findings, reference=None)) == ()


def test_scatter_is_told_in_the_measure_s_unit_to_two_digits() -> None:
    """Speed point, gradient, base plus fog, shadow match, grain and sharpness are told, in that order; gamma is not."""
    series = make_series()
    findings = make_findings(series)
    names = ("gamma", "mtf50", "rms_granularity", "shadow_match", "average_gradient", "speed_point")
    scatter = {
        name: Scatter(
            measure=name,
            sigma=0.0567 if name != "shadow_match" else 0.123,
            degrees_of_freedom=4,
            source="repeats",
            stocks=3,
            relative=name in {"mtf50", "rms_granularity"},
        )
        for name in names
    }

    assert say_repeatability(series, replace(findings, scatter=scatter))[1] == (
        "Two tests of one film differ though nothing was changed; repeats tell a standard deviation of 0.057 log H in "
        "speed point, 0.057 in average gradient, 0.12 stops in shadow match, 5.7 % in RMS granularity and 5.7 % in "
        "MTF50 for one test."
    )
