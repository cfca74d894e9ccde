"""What is open, on its page and on the tester's terminal; and how many verdicts the method page counts."""

from dataclasses import replace

import pytest

from basefog.publish.pages.open_words import say_repeats
from basefog.publish.pages.page_of_method import count_verdicts, page_of_method
from basefog.publish.pages.page_of_open import page_of_open, say_tests
from basefog.records.content import Series
from basefog.records.findings import Comparison, Findings, Scatter, ToSettle
from basefog.records.vocabulary import MEASURES
from publish.invented import make_findings, make_series

TERN = "tern-100/2026-04-01-b"


def verdict(difference: float, *, firm: bool = False, tests: int = 2) -> Comparison:
    low, high = difference - 0.2, difference + 0.2
    return Comparison(
        verdict="higher" if low > 0 else "lower" if high < 0 else "no measurable difference",
        difference=difference,
        low=low,
        high=high,
        could_see=0.2,
        firm=firm,
        to_settle=ToSettle(tests=0 if firm else tests, of=None if firm else "stock"),
    )


def findings_with(verdicts: dict[str, Comparison], red: Comparison | None = None) -> tuple[Series, Findings]:
    """Return the invented series where one stock has these verdicts."""
    series = make_series()
    stocks = tuple(replace(stock, name="Tern 100") if stock.slug == "tern-100" else stock for stock in series.stocks)
    findings = make_findings(series)
    found = findings.tests[TERN]
    patch = replace(found.patches["red"], against_reference=red or Comparison(verdict="not measured", why="none"))
    found = replace(found, against_reference=verdicts, patches={"red": patch})
    return replace(series, stocks=stocks), replace(findings, tests={**findings.tests, TERN: found})


def test_a_repeat_is_told_with_what_it_would_settle() -> None:
    """So many tests of a stock, and each verdict with its difference and its place on the stock's page."""
    page = page_of_open(*findings_with({"gamma": verdict(0.3), "mtf50": verdict(0.5, firm=True)}, red=verdict(-0.3)))

    [repeats] = page.repeats
    assert (repeats.tests, repeats.stock.label) == ("2 more tests", "Tern 100")
    assert [(line.verdict.label, line.verdict.address, line.difference) for line in repeats.settles] == [
        ("gamma", "stocks/tern-100/index.html#gamma", "+0.30 ± 0.20"),
        ("Red", "stocks/tern-100/index.html#red", "−0.30 ± 0.20"),
    ]
    assert "about half the time" in page.warning
    assert (say_tests(1), say_tests(2)) == ("one more test", "2 more tests")


def test_nothing_open_is_an_empty_list() -> None:
    """Neither the page nor the terminal makes work where there is none."""
    nothing = findings_with({"gamma": verdict(0.3, firm=True)})

    assert page_of_open(*nothing).repeats == ()
    assert say_repeats(*nothing) == ()


@pytest.mark.parametrize("count", [6, 7])
def test_the_terminal_names_six_and_counts_the_rest(count: int) -> None:
    """One line a stock after the warning; from the seventh verdict on they are counted."""
    names = [measure.id for measure in MEASURES][:count]
    lines = say_repeats(*findings_with({name: verdict(0.3) for name in names}))

    assert len(lines) == 2
    assert lines[0].startswith("What repeats would settle. ")
    assert "about half the time" in lines[0]
    assert lines[1].startswith("  2 more tests of Tern 100: base plus fog, maximum density, ")
    assert lines[1].endswith(" and 1 more") == (count == 7)
    assert lines[1].removesuffix(" and 1 more").count(", ") == 6 - 1


def test_verdicts_are_counted() -> None:
    """Five measured: three differences, one of them firm; chance alone would give a twentieth of five."""
    series, findings = findings_with(
        {
            "gamma": verdict(0.3),
            "mtf50": verdict(0.5, firm=True),
            "useful_range": verdict(0.1),
            "iso_speed": verdict(0.0),
            "print_exposure": Comparison(verdict="not measured", why="none"),
        },
        red=verdict(-0.3),
    )
    counts = count_verdicts(findings)

    assert (counts.made, counts.differences, counts.firm, counts.by_chance) == (5, 3, 1, "0.2")
    assert page_of_method(series, findings).counts == counts
    old = replace(findings.tests[TERN], current=False)
    assert count_verdicts(replace(findings, tests={**findings.tests, TERN: old})).made == 0


def test_the_method_page_says_what_told_the_scatter() -> None:
    """Scatter that came out zero is no more than reading error, not nought; repeats are spoken of if there are any."""
    series, findings = findings_with({})
    none = Scatter(measure="gamma", sigma=0.0, degrees_of_freedom=4, source="repeats", stocks=3)
    assumed = Scatter(measure="mtf50", sigma=0.03, degrees_of_freedom=None, source="assumed", relative=True)
    told = replace(series, protocol=replace(series.protocol, development="each film by its maker's time."))
    page = page_of_method(told, replace(findings, scatter={"gamma": none, "mtf50": assumed}))

    assert [row.sigma for row in page.scatter] == ["no more than reading error", "3.0 %"]
    assert (page.repeats_tell, page.held) == (True, "each film by its maker’s time")
    assert not page_of_method(series, replace(findings, scatter={"mtf50": assumed})).repeats_tell
