"""Which repeats would settle most: counted, ranked, and a verdict with nothing to settle left out."""

from dataclasses import replace

from basefog.judge import list_open, rank_repeats
from basefog.records.findings import Comparison, Findings, ToSettle
from publish.invented import make_findings, make_series

REFERENCE = "marl-400"


def open_verdict(tests: int | None, of: str | None = "stock") -> Comparison:
    """Return a difference that so many more tests would settle."""
    settle = ToSettle(tests=tests, of=of, why=None if tests is not None else "not by repeats")  # type: ignore[arg-type]
    return Comparison(
        verdict="higher", difference=0.3, low=0.1, high=0.5, could_see=0.2, firm=tests == 0, to_settle=settle
    )


def findings_with(**stocks: dict[str, Comparison]) -> Findings:
    """Return findings of one current test for each stock, with these verdicts."""
    series = make_series()
    template = make_findings(series).tests["tern-100/2026-04-01-b"]
    tests = {
        f"{slug}/2026-04-01": replace(
            template, stock=slug, test="2026-04-01", current=True, against_reference=verdicts, patches={}
        )
        for slug, verdicts in stocks.items()
    }
    return Findings(tests=tests, reference=None)


def told(findings: Findings) -> list[tuple[str, int, list[tuple[str, str]]]]:
    return [
        (one.of, one.tests, [(verdict.stock, verdict.what) for verdict in one.settles])
        for one in rank_repeats(findings, REFERENCE)
    ]


def test_only_what_repeats_would_settle_is_open() -> None:
    """Firm verdicts, those that no repeats settle and those without a word on it are not listed."""
    findings = findings_with(
        tern={
            "gamma": open_verdict(2),
            "mtf50": open_verdict(0),
            "useful_range": open_verdict(None),
            "contrast_index": Comparison(verdict="not measured", why="too short"),
        }
    )

    assert [(one.stock, one.what, one.is_patch) for one in list_open(findings)] == [("tern", "gamma", False)]


def test_tests_that_are_not_current_are_not_open() -> None:
    """A replaced test's verdict is nobody's to settle."""
    findings = findings_with(tern={"gamma": open_verdict(2)})
    [(key, found)] = findings.tests.items()

    assert list_open(replace(findings, tests={key: replace(found, current=False)})) == ()
    assert rank_repeats(replace(findings, tests={key: replace(found, current=False)}), REFERENCE) == ()


def test_patches_are_open_too() -> None:
    """A patch's verdict is listed as one of a patch."""
    findings = findings_with(tern={})
    [(key, found)] = findings.tests.items()
    red = make_findings(make_series()).tests["tern-100/2026-04-01-b"].patches["red"]
    found = replace(found, patches={"red": replace(red, against_reference=open_verdict(1))})

    [one] = list_open(replace(findings, tests={key: found}))

    assert (one.stock, one.what, one.is_patch) == ("tern", "red", True)


def test_the_most_for_each_test_comes_first() -> None:
    """Three verdicts for two tests stand before one for one, and that before two for four."""
    findings = findings_with(
        gull={"gamma": open_verdict(4), "mtf50": open_verdict(3)},
        knot={"gamma": open_verdict(1)},
        tern={"gamma": open_verdict(2), "mtf50": open_verdict(2), "useful_range": open_verdict(2)},
    )

    assert [(of, tests) for of, tests, _ in told(findings)] == [("tern", 2), ("knot", 1), ("gull", 4)]


def test_the_number_of_tests_is_the_one_that_settles_most_for_each() -> None:
    """One test settles one verdict, three settle four: three are told, and all four with them."""
    of_one, of_three = open_verdict(1), open_verdict(3)
    most = findings_with(
        tern={"gamma": of_one, "mtf50": of_three, "useful_range": of_three, "contrast_index": of_three}
    )
    few = findings_with(tern={"gamma": of_one, "mtf50": of_three, "useful_range": of_three})

    assert [(tests, len(settles)) for _, tests, settles in told(most)] == [(3, 4)]
    # One for one and three for three are equals: the smaller is told.
    assert [(tests, len(settles)) for _, tests, settles in told(few)] == [(1, 1)]


def test_tests_of_the_reference_are_counted_together() -> None:
    """What the reference's repeats would settle stands under the reference, whichever stock it is about."""
    findings = findings_with(
        gull={"gamma": open_verdict(2, "reference")},
        tern={"gamma": open_verdict(2, "reference"), "mtf50": open_verdict(5)},
    )

    assert told(findings) == [
        (REFERENCE, 2, [("gull", "gamma"), ("tern", "gamma")]),
        ("tern", 5, [("tern", "mtf50")]),
    ]


def test_equals_stand_by_fewer_tests_then_by_name() -> None:
    """One for one stands before two for two; of like ones the name decides."""
    two = {"gamma": open_verdict(2), "mtf50": open_verdict(2)}
    findings = findings_with(tern=two, gull={"gamma": open_verdict(1)}, knot={"gamma": open_verdict(1)})

    assert [(of, tests) for of, tests, _ in told(findings)] == [("gull", 1), ("knot", 1), ("tern", 2)]
