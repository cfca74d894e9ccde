"""The rows of measures and patches: which there are, what is set against what, and the words of their verdicts."""

from dataclasses import replace

import pytest

from basefog.publish.pages.measure_rows import missing_rows, rows_of_measures, rows_of_patches, verdict_text
from basefog.records.content import Patch
from basefog.records.findings import Comparison, Quantity, TestFindings, ToSettle
from publish.invented import make_findings, make_series

TERN = "tern-100/2026-04-01-b"
HIGHER = Comparison(verdict="higher", difference=0.5, low=0.4, high=0.6, could_see=0.1, unit="stops", firm=True)
LOWER = replace(HIGHER, verdict="lower", difference=-0.5, low=-0.6, high=-0.4)
SAME = Comparison(verdict="no measurable difference", difference=0.01, low=-0.02, high=0.04, could_see=0.03, firm=False)
UNKNOWN = Comparison(verdict="not measured")


def figure(value: float, half: float, unit: str = "1", tests: int = 1) -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit=unit, tests=tests)


def tern(**members: object) -> TestFindings:
    """Return the invented stock that has everything, with other members."""
    return replace(make_findings(make_series()).tests[TERN], **members)  # type: ignore[arg-type]


def reference_with(**members: object) -> TestFindings:
    reference = make_findings(make_series()).of_reference
    assert reference is not None
    return replace(reference, **members)  # type: ignore[arg-type]


def test_a_value_of_zero_has_a_row() -> None:
    """Zero is a value; what has none is gathered among the missing by its reason, a stop or not at its end."""
    nothing = Quantity(value=None, low=None, high=None, unit="1", why="too few steps. ")
    found = tern(
        measures={
            "speed_from_reference": figure(0.0, 0.1, "stops"),
            "gamma": nothing,
            "contrast_index": replace(nothing, why="too few steps"),
            "mtf50": replace(nothing, why=None),
        }
    )

    assert [row.id for row in rows_of_measures(found, None)] == ["speed_from_reference"]
    assert [(row.why, [one.id for one in row.measures]) for row in missing_rows(found)] == [
        ("too few steps", ["contrast_index", "gamma"]),
        ("no reason was given", ["mtf50"]),
    ]


@pytest.mark.parametrize(
    ("measure", "shown"), [("speed_from_reference", "+0.50"), ("shadow_match", "+0.50"), ("useful_range", "0.50")]
)
def test_a_figure_that_says_a_side_has_its_sign(measure: str, shown: str) -> None:
    """Speed and shadow match are stops from the reference, the useful range is so many stops."""
    [row] = rows_of_measures(tern(measures={measure: figure(0.5, 0.1, "stops")}), None)

    assert row.quantity.value == shown


def test_a_measure_stands_beside_the_reference_s_and_a_difference_alone() -> None:
    """Gamma, the reference's gamma, their difference; the speed from the reference is that difference already.

    The reference's figure is its mean over repeats, where it has one.
    """
    found = tern(
        measures={"gamma": figure(0.7, 0.01), "speed_from_reference": figure(0.5, 0.1, "stops")},
        against_reference={
            "gamma": Comparison(verdict="higher", difference=0.1, low=0.08, high=0.12, could_see=0.02),
            "speed_from_reference": HIGHER,
        },
    )
    reference = reference_with(
        measures={"gamma": figure(0.61, 0.01), "speed_from_reference": figure(0.0, 0.1, "stops")},
        pooled={"gamma": figure(0.60, 0.01, tests=3)},
    )
    rows = {row.id: row for row in rows_of_measures(found, reference)}

    gamma, speed = rows["gamma"], rows["speed_from_reference"]
    assert gamma.reference is not None
    assert gamma.difference is not None
    assert (gamma.quantity.value, gamma.reference.value, gamma.difference.value) == ("0.700", "0.600", "+0.100")
    assert (speed.reference, speed.difference) == (None, None)
    assert speed.verdict is not None
    assert speed.verdict.words == "faster"
    alone = {row.id: row for row in rows_of_measures(found, None)}["gamma"]
    assert (alone.reference, alone.difference, alone.verdict) == (None, None, None)


def test_a_patch_is_set_against_the_eye_and_against_the_reference() -> None:
    """Each has its own figure and its own words: here lighter than the eye sees it, darker than the reference."""
    series = make_series()
    series = replace(series, patches=(Patch(id="grey", name="Grey", luminous_reflectance=0.18), *series.patches))
    red = replace(make_findings(series).tests[TERN].patches["red"], against_eye=HIGHER, against_reference=LOWER)
    rows = rows_of_patches(tern(patches={"grey": replace(red, patch="grey"), "red": red}), series)

    [row] = rows
    assert (row.id, row.name) == ("red", "Red")
    assert (row.against_eye.value, row.eye_verdict.words) == ("+0.50", "lighter")
    assert (row.against_reference.value, row.reference_verdict.words) == ("−0.50", "darker")
    turned = replace(red, against_eye=LOWER, against_reference=HIGHER)
    [row] = rows_of_patches(tern(patches={"red": turned}), series)
    assert (row.eye_verdict.words, row.reference_verdict.words) == ("darker", "lighter")


@pytest.mark.parametrize(("firm", "words"), [(True, "higher"), (None, "higher"), (False, "probably higher")])
def test_probably_is_said_of_what_was_asked_and_is_not_firm(firm: bool | None, words: str) -> None:
    """Where firmness was not asked, as against the eye, there is nothing to doubt and nothing to settle."""
    verdict = verdict_text(replace(HIGHER, firm=firm, to_settle=ToSettle(tests=3, of="stock")))

    assert (verdict.words, verdict.firm) == (words, firm)
    assert bool(verdict.settle) == (firm is False)


@pytest.mark.parametrize(
    ("tests", "words"),
    [(1, "one more test of the stock may settle it"), (2, "2 more tests of the stock may settle it"), (0, "")],
)
def test_repeats_that_may_settle_it_are_counted(tests: int, words: str) -> None:
    """One is a test, two are tests; none is nothing to say."""
    assert verdict_text(replace(HIGHER, firm=False, to_settle=ToSettle(tests=tests, of="stock"))).settle == words


def test_what_can_t_be_told_apart_says_what_it_counted_too() -> None:
    """Its error holds the same things, and repeats may settle it as well."""
    verdict = verdict_text(replace(SAME, counts=("reading", "assumed"), to_settle=ToSettle(tests=2, of="reference")))

    assert (verdict.words, verdict.limit, verdict.firm) == ("no measurable difference", "0.030", None)
    assert verdict.counts == "readings, 3 % a test"
    assert verdict.settle == "2 more tests of the reference may settle it"
    assert verdict_text(replace(SAME, could_see=None)).limit == ""


def test_a_limit_of_nothing_is_written() -> None:
    """A comparison that knows no error has a limit of zero, which is not the same as none."""
    assert verdict_text(replace(SAME, difference=0.0, low=0.0, high=0.0, could_see=0.0, unit="s")).limit.endswith(" s")


def test_what_was_not_measured_says_why() -> None:
    """With the reason that the numbers give, or that they give none."""
    assert verdict_text(replace(UNKNOWN, why="no bracket. ")).why == "no bracket"
    assert verdict_text(UNKNOWN).why == "no reason was given"


@pytest.mark.parametrize(
    ("comparison", "standing", "words"), [(HIGHER, "lower", "slower"), (LOWER, "higher", "faster")]
)
def test_a_turned_mark_points_with_its_word(comparison: Comparison, standing: str, words: str) -> None:
    """Where more is slower, the mark of slower points down and that of faster up."""
    verdict = verdict_text(comparison, higher="slower", lower="faster", turned=True)

    assert (verdict.standing, verdict.words) == (standing, words)
