"""Calls in Markdown that set one test against another: the reference, or any two."""

from dataclasses import replace

import pytest

from basefog.measure.resampling import NORMAL_FACTOR
from basefog.publish.pages.answers import Answers
from basefog.records.content import Series, read_only
from basefog.records.findings import Curve, ErrorParts, Findings, Quantity, Scatter
from basefog.records.prose_calls import find_calls
from publish.invented import make_findings, make_series

TERN, FIRST, SECOND = "tern-100/2026-04-01-b", "marl-400/2026-03-14", "marl-400/2026-05-02"


def measured(value: float, half: float) -> Quantity:
    """Return a measured gradient whose error is its readings' alone."""
    parts = ErrorParts(unshared=(half / NORMAL_FACTOR) ** 2)
    return Quantity(value=value, low=value - half, high=value + half, unit="1", parts=parts)


def read() -> tuple[Series, Findings]:
    """Return the invented series, three of whose tests have a gamma."""
    series = make_series()
    stocks = tuple(replace(stock, name="Tern 100") if stock.slug == "tern-100" else stock for stock in series.stocks)
    series = replace(series, stocks=stocks)
    findings = make_findings(series)
    gammas = {TERN: measured(0.70, 0.03), FIRST: measured(0.60, 0.04), SECOND: measured(0.62, 0.04)}
    tests = {
        key: replace(found, measures=dict(found.measures) | {"gamma": gammas[key]}) if key in gammas else found
        for key, found in findings.tests.items()
    }
    return series, replace(findings, tests=tests)


def said(text: str, findings: Findings | None = None) -> str:
    """Return what a call becomes in plain text."""
    series, whole = read()
    answers = Answers(series=series, findings=findings or whole, page="questions/x/index.html")
    return answers(find_calls(text)[0]).plain.replace("\u00a0", " ")


def test_any_two_tests_are_compared() -> None:
    """The first less the second, 0.70 - 0.60, with the half width sqrt(0.03^2 + 0.04^2) = 0.05; in words and whole."""
    two = f'"tern-100", "{FIRST}", "gamma"'

    assert said(f"{{{{ difference({two}) }}}}") == "+0.100 ± 0.050"
    assert said(f"{{{{ verdict({two}) }}}}") == "higher"
    assert said(f"{{{{ sentence({two}) }}}}") == (
        "Tern 100 against Marl 400: straight line steeper by 0.100 ± 0.050, about three quarters of a paper grade."
    )


def test_scatter_between_tests_counts_between_any_two() -> None:
    """With test-to-test scatter as large as the difference nothing is told apart."""
    findings = read()[1]
    tests = {
        key: replace(found, measures=dict(found.measures) | {"gamma": replace(found.measures["gamma"], scatter=0.1)})
        for key, found in findings.tests.items()
    }
    scatter = Scatter(measure="gamma", sigma=0.1, degrees_of_freedom=5, source="repeats", stocks=3)
    findings = replace(findings, tests=tests, scatter={"gamma": scatter})

    words = said(f'{{{{ verdict("tern-100", "{FIRST}", "gamma") }}}}', findings)

    assert words.startswith("no measurable difference")


def test_two_tests_of_one_film_go_by_their_days() -> None:
    """A film against itself would tell nobody which test is meant."""
    sentence = said(f'{{{{ sentence("marl-400", "{FIRST}", "gamma") }}}}')

    assert sentence.startswith("Marl 400’s test of 2 May 2026 against Marl 400’s test of 14 March 2026: gamma: ")


def test_two_tests_link_to_where_they_stand_side_by_side() -> None:
    """The link opens the page of any two with both and the measure named, the stock by its slug."""
    series, findings = read()
    call = find_calls(f'{{{{ difference("tern-100", "{FIRST}", "gamma") }}}}')[0]

    answer = Answers(series=series, findings=findings, page="questions/x/index.html")(call)

    assert f'href="../../compare/index.html#a=tern-100&amp;b={FIRST}&amp;at=gamma"' in answer.inline


@pytest.mark.parametrize(
    ("measure", "why"),
    [
        (
            "matching_time",
            "not measured: a stock’s own time to match the reference’s contrast is not set against another’s",
        ),
        ("mtf50", "not measured: too few steps"),
    ],
)
def test_what_any_two_can_not_be_compared_by(measure: str, why: str) -> None:
    """A time of the stock's own is not subtracted, and what one of the two lacks has its own reason."""
    series, findings = read()
    tests = dict(findings.tests)
    for key in (TERN, FIRST):
        tests[key] = replace(tests[key], measures=dict(tests[key].measures) | {"matching_time": measured(7.0, 0.1)})
    call = find_calls(f'{{{{ difference("tern-100", "{FIRST}", "{measure}") }}}}')[0]
    answers = Answers(series=series, findings=replace(findings, tests=tests), page="questions/x/index.html")

    assert answers(call).plain == why


def test_speed_points_need_one_axis() -> None:
    """Relative log exposures of two wedges have no common zero."""
    _, findings = read()
    none = read_only([])
    base = Curve(
        log_exposure=none,
        density=none,
        low=none,
        high=none,
        gradient=none,
        gradient_low=none,
        gradient_high=none,
        absolute=False,
        axis="contact-21",
    )
    tests = {
        key: replace(
            found,
            curve=replace(base, axis=key),
            measures=dict(found.measures) | {"speed_point": replace(measured(-1.5, 0.02), unit="log H")},
        )
        for key, found in findings.tests.items()
    }
    call = f'{{{{ difference("tern-100", "{FIRST}", "speed_point") }}}}'

    apart = said(call, replace(findings, tests=tests))
    same = said(
        call,
        replace(findings, tests={key: replace(found, curve=base) for key, found in tests.items()}),
    )

    assert apart == "not measured: both log exposures are relative, and not on the same wedge"
    assert same.startswith("0.000 ± 0.028")


@pytest.mark.parametrize("call", ["difference", "verdict", "sentence"])
def test_a_stock_without_a_current_test_says_so(call: str) -> None:
    """Whichever of the two it is, nothing is measured."""
    for named in ('"gull-25"', '"gull-25", "tern-100"', '"tern-100", "gull-25"'):
        assert said(f'{{{{ {call}({named}, "gamma") }}}}') == "not measured: Gull 25 has no current test"


def test_a_test_under_way_says_so() -> None:
    """It has no readings yet."""
    series, findings = read()
    tern = series.stock("tern-100")
    waiting = replace(tern, under_way=(replace(tern.tests[0], id="2026-06-01", under_way=True),))
    series = replace(series, stocks=tuple(waiting if stock is tern else stock for stock in series.stocks))
    call = find_calls('{{ value("tern-100/2026-06-01", "gamma") }}')[0]

    answer = Answers(series=series, findings=findings, page="questions/x/index.html")(call)

    assert answer.plain == "not measured: Tern 100’s test 2026-06-01 is under way"


def test_the_reference_is_not_set_against_itself() -> None:
    """A sentence about it says what it is."""
    assert said('{{ sentence("marl-400", "gamma") }}') == "Marl 400: this is the reference itself."
