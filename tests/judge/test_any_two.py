"""Any two tests or stocks set against each other, from the findings alone."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from basefog.judge import compare_any_two, find_findings
from basefog.judge.any_two import turn_round
from basefog.judge.compare import WHY_NO_DIFFERENCE, compare, not_measured
from basefog.judge.verdicts import rule_of
from basefog.records.content import Stock
from basefog.records.findings import Comparison, Findings, TestFindings
from basefog.records.vocabulary import MEASURES
from measure.bench_content import make_frames, make_series, make_stock, make_test, make_wedge, soft_toe

PLACES = {"grey": 0.60, "dark": 0.30, "red": 0.45}
STOPS = [third / 3 for third in range(-4, 6)]
FILMS = {"marl-400": (0.62, 0.00, 0.0), "tern-100": (0.55, 0.10, 0.05), "vole-50": (0.60, 0.20, -0.05)}
"""Gradient, place of the toe, and log exposure by which red is rendered lighter: the reference first."""

ALL = [measure.id for measure in MEASURES]


def stock_of(slug: str, gradients: Sequence[float]) -> Stock:
    gradient, place, red = FILMS[slug]
    tests = []
    for day, more in enumerate(gradients, start=1):
        density = soft_toe(gradient + more, 0.15, place + more)
        frames = make_frames(
            lambda log_exposure, density=density: float(density(np.array(log_exposure))),  # type: ignore[misc]
            {**PLACES, "red": PLACES["red"] + red + more},
            stops=STOPS,
        )
        tests.append(
            make_test(
                f"{slug}/2026-03-{day:02}", frames=frames, wedge=make_wedge(density, base=0.25 + more), repeat=day > 1
            )
        )
    return make_stock(slug, tests)


@cache
def findings() -> Findings:
    """Return the findings of a reference and two stocks, each tested and repeated."""
    moves = {"marl-400": (0.0, 0.012), "tern-100": (0.0, -0.015), "vole-50": (0.0, 0.009)}
    return find_findings(make_series([stock_of(slug, gradients) for slug, gradients in moves.items()]), {})


def of(name: str) -> TestFindings:
    return findings().tests[name]


MARL, TERN, VOLE = "marl-400/2026-03-02", "tern-100/2026-03-02", "vole-50/2026-03-02"
OLD_MARL, OLD_TERN = "marl-400/2026-03-01", "tern-100/2026-03-01"


def bare(comparison: Comparison) -> Comparison:
    """Return a verdict without what only a stock's own page says."""
    return replace(comparison, to_settle=None)


@pytest.mark.parametrize("what", [*(name for name in ALL if name != "matching_time"), "dark", "red"])
def test_a_pair_with_the_reference_has_its_pages_verdict(what: str) -> None:
    """Stock less reference is what the stock's page gives, Dunnett's factor and all; turned it is turned."""
    tern, marl = of(TERN), of(MARL)
    on_page = tern.patches[what].against_reference if what in tern.patches else tern.against_reference[what]

    there = compare_any_two(findings(), tern, marl, what)
    back = compare_any_two(findings(), marl, tern, what)

    assert there == bare(on_page)
    assert back == turn_round(bare(on_page))
    if on_page.difference is not None:
        assert back.difference == -on_page.difference


def test_turned_round_higher_is_lower() -> None:
    """Sign and interval turn, the limit and the firmness stay; what wasn't measured stays as it is."""
    verdict = Comparison(verdict="higher", difference=0.3, low=0.1, high=0.5, could_see=0.2, firm=True)

    turned = turn_round(verdict)

    assert (turned.verdict, turned.difference, turned.low, turned.high) == ("lower", -0.3, -0.5, -0.1)
    assert (turned.could_see, turned.firm) == (0.2, True)
    assert turn_round(turned) == verdict
    assert turn_round(not_measured("flat")) == not_measured("flat")


def test_of_a_stock_its_own_test_may_be_meant() -> None:
    """`slug/test` is the test's own figure against the reference's pooled one, `slug` the mean of the repeats."""
    stock = compare_any_two(findings(), of(TERN), of(MARL), "gamma")
    own = compare_any_two(findings(), of(TERN), of(MARL), "gamma", pooled=(False, True))
    tern, marl = of(TERN), of(MARL)

    assert stock.difference == pytest.approx(value(tern, pooled=True) - value(marl, pooled=True))
    assert own.difference == pytest.approx(value(tern, pooled=False) - value(marl, pooled=True))
    assert (own.could_see or 0) > (stock.could_see or 0)


def value(test: TestFindings, *, pooled: bool) -> float:
    found = (test.figure("gamma") if pooled else test.measures["gamma"]).value
    assert found is not None
    return found


def test_an_older_test_has_its_own_pages_verdict() -> None:
    """A test that is not current is set against the reference as on its own page."""
    old = of(OLD_TERN)

    assert compare_any_two(findings(), old, of(MARL), "gamma") == bare(old.against_reference["gamma"])


@pytest.mark.parametrize("what", ["gamma", "speed_point", "speed_from_reference", "shadow_match", "red"])
def test_two_stocks_without_the_reference(what: str) -> None:
    """Their pooled figures, their own errors, and firm by the studentised range: the reference's error cancels."""
    tern, vole = of(TERN), of(VOLE)
    is_patch = what in tern.patches
    scatter = (findings().patch_scatter if is_patch else findings().scatter)[what]
    factors = (findings().patch_factors if is_patch else findings().factors)[what]
    figures = [test.patch_figure(what) if is_patch else test.figure(what) for test in (tern, vole)]

    found = compare_any_two(findings(), tern, vole, what)

    assert found == compare(rule_of(what, scatter, firm=factors.any_two), *figures)
    assert found.firm is not None
    assert figures[0].tests == figures[1].tests == 2


def test_two_tests_of_the_reference() -> None:
    """One stock's own two tests are set against each other by their own figures and as any two."""
    marl, old = of(MARL), of(OLD_MARL)
    rule = rule_of("gamma", findings().scatter["gamma"], firm=findings().factors["gamma"].any_two)

    found = compare_any_two(findings(), marl, old, "gamma", pooled=(False, False))

    assert found == compare(rule, marl.measures["gamma"], old.measures["gamma"])


def test_what_can_not_be_set_against_each_other_says_why() -> None:
    """Matching times are each stock's own; the grey patch is zero in all; without a bracket there are no patches."""
    without = replace(of(VOLE), patches={})

    assert compare_any_two(findings(), of(TERN), of(VOLE), "matching_time").why == WHY_NO_DIFFERENCE
    assert compare_any_two(findings(), of(TERN), of(VOLE), "grey").verdict == "not measured"
    assert compare_any_two(findings(), of(TERN), without, "red").why == "no bracket was read in one of the two"
