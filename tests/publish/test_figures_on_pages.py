"""Figures that stand together: two digits of each one's error, means, standard speeds, enlarging exposures."""

from dataclasses import replace

from hypothesis import assume, given
from hypothesis import strategies as st

from basefog.publish.pages.measure_rows import rows_of_measures, rows_of_patches
from basefog.publish.pages.page_of_summary import page_of_summary
from basefog.publish.pages.printing import printing_of
from basefog.publish.pages.quantities import format_difference, format_quantity
from basefog.records.content import Enlarging, Series
from basefog.records.findings import Comparison, Findings, Quantity, TestFindings
from basefog.records.numbers import MINUS, PLUS_MINUS
from basefog.records.vocabulary import VerdictWord
from publish.invented import make_findings, make_series

KEY = "tern-100/2026-04-01-b"


def quantity(value: float, half: float, unit: str = "1") -> Quantity:
    return Quantity(value=value, low=value - half, high=value + half, unit=unit)


def found_with(measure: str, found: Quantity, reference: Quantity) -> tuple[Series, Findings]:
    """Return the invented series where a stock and the reference have one measure."""
    series = make_series()
    findings = make_findings(series)
    tests = dict(findings.tests)
    for key, figure in ((KEY, found), (str(findings.reference), reference)):
        tests[key] = replace(tests[key], measures={**tests[key].measures, measure: figure})
    return series, replace(findings, tests=tests)


def test_every_figure_of_a_row_has_two_digits_of_its_own_error() -> None:
    """0.231 ± 0.010 beside 0.2433 ± 0.0091: each as it stands on its own test's page, and so does their difference."""
    series, findings = found_with("contrast_index", quantity(0.231, 0.010), quantity(0.2433, 0.0091))
    apart = Comparison(
        verdict="no measurable difference", difference=-0.0123, low=-0.0259, high=0.0013, could_see=0.0136
    )
    found = replace(findings.tests[KEY], against_reference={"contrast_index": apart})
    [row] = [row for row in rows_of_measures(found, findings.of_reference) if row.id == "contrast_index"]

    assert row.reference is not None
    assert row.difference is not None
    assert row.verdict is not None
    assert row.quantity.plain == "0.231 ± 0.010"
    assert row.reference.plain == "0.2433 ± 0.0091"
    assert row.difference.plain == "−0.012 ± 0.014"
    assert row.verdict.limit == "0.014"
    assert series.reference == "marl-400"


def test_the_summary_tells_each_figure_as_its_own_page_does() -> None:
    """In the summary, too, a figure has two digits of its own error."""
    series, findings = found_with("average_gradient", quantity(0.6, 0.0097), quantity(0.7, 0.034))
    page = page_of_summary(series, findings)
    cells = [
        cell for row in page.rows for cell in row.cells if cell.column.id == "average_gradient" and cell.quantity.value
    ]

    assert [(cell.quantity.value, cell.quantity.spread) for cell in cells] == [
        ("0.700", "± 0.034"),
        ("0.6000", "± 0.0097"),
    ]


def test_a_mean_is_told_with_what_the_test_alone_gave() -> None:
    """A stock with repeats is judged by their mean, which stands in the table; this test's own stands beneath it."""
    series = make_series()
    found = make_findings(series).tests[KEY]
    own, mean = quantity(0.62, 0.02), replace(quantity(0.60, 0.012), tests=3)
    red = replace(found.patches["red"], pooled=replace(quantity(-0.40, 0.05, "stops"), tests=2))
    found = replace(
        found,
        measures={**found.measures, "gamma": own},
        pooled={"gamma": mean},
        patches={**found.patches, "red": red},
    )
    [gamma] = [row for row in rows_of_measures(found, None) if row.id == "gamma"]
    [patch] = [row for row in rows_of_patches(found, series) if row.id == "red"]

    assert (gamma.quantity.plain, gamma.quantity.note) == (
        "0.600 ± 0.012",
        "mean of 3 tests; this test alone 0.620 ± 0.020",
    )
    assert patch.stops_from_grey.plain == "−0.400 ± 0.050 stops"
    assert patch.stops_from_grey.note.startswith("mean of 2 tests; this test alone −0.412 ± 0.070")


def test_a_standard_speed_tells_what_it_was_rounded_from() -> None:
    """143 is nearest 160 in logarithm, beyond its own interval: what was found stands first, then the speed."""
    speed = Quantity(value=160.0, low=134.2, high=152.1, unit="ISO", exact=143.0)
    corrected = Quantity(value=143.38, low=134.2, high=152.1, unit="ISO", exact=143.38)

    assert format_quantity(speed).plain == "143.0 ± 8.9, rounds to 160"
    assert format_quantity(corrected).plain == "143.4 ± 8.9"


def printed(exposure: Quantity, reference: Quantity, enlarging: Enlarging) -> tuple[Series, TestFindings, TestFindings]:
    series, findings = found_with("print_exposure", exposure, reference)
    assert findings.of_reference is not None
    return replace(series, enlarging=enlarging), findings.tests[KEY], findings.of_reference


def test_enlarging_is_told_in_stops_and_per_cent() -> None:
    """Twice the time is +100 % and one stop, each with its interval."""
    series, found, reference = printed(
        quantity(24.0, 0.6, "s"),
        quantity(12.0, 0.0, "s"),
        Enlarging(paper="grade-2", magnification=None, exposure_s=12.0),
    )
    printing = printing_of(series, found, reference)

    assert printing is not None
    assert (printing.percent, printing.stops) == ("+100.0 ± 5.0 %", "+1.000 ± 0.036 stops")
    assert printing.sizes == ()


def test_other_magnifications_go_by_the_square() -> None:
    """From 2 to 5 times: (6/3)^2 = 4 times the exposure; to 8 times: 9 times; the series' own is left out."""
    series, found, reference = printed(
        quantity(10.0, 0.1, "s"), quantity(10.0, 0.0, "s"), Enlarging(paper=None, magnification=2.0, exposure_s=10.0)
    )
    printing = printing_of(series, found, reference)
    own = printing_of(replace(series, enlarging=replace(series.enlarging, magnification=5.0)), found, None)

    assert printing is not None
    assert own is not None
    sizes = {size.magnification: size.exposure for size in printing.sizes}
    assert (sizes["5"], sizes["8"]) == ("40.0", "90.0")
    assert "5" not in {size.magnification for size in own.sizes}
    assert (own.percent, own.stops) == ("", "")


@given(
    half=st.floats(1e-3, 50),
    low_by_half=st.floats(-3, 1),
    lean=st.floats(-0.9, 0.9),
)
def test_a_shown_interval_never_hides_on_which_side_of_zero_it_lies(
    half: float, low_by_half: float, lean: float
) -> None:
    """What is told as higher or lower is shown clear of zero, and what is no measurable difference reaches it."""
    low, high = low_by_half * half, (low_by_half + 2) * half
    assume(min(abs(low), abs(high)) > 0.01 * half)
    value = (low + high) / 2 + lean * half
    verdict: VerdictWord = "higher" if low > 0 else "lower" if high < 0 else "no measurable difference"

    shown = format_difference(Comparison(verdict=verdict, difference=value, low=low, high=high))

    if shown.spread.startswith(PLUS_MINUS):
        spread = float(shown.spread.removeprefix(PLUS_MINUS))
        ends = [round(number_of(shown.value) + side * spread, 9) for side in (-1, 1)]
    else:
        ends = [number_of(end) for end in shown.spread.strip("()").split(" to ")]
    assert (ends[0] > 0, ends[1] < 0) == (verdict == "higher", verdict == "lower")


def number_of(text: str) -> float:
    """Return a number as a page writes it."""
    return float(text.replace(MINUS, "-"))


def test_a_granularity_tells_what_was_read() -> None:
    """Beside the figure at net density 1.0 stand the one that was read and the density it was read at."""
    stated = replace(quantity(12.35, 0.45), at_density=0.961, as_read=11.978)

    assert format_quantity(stated).note == "read as 11.98 at net density 0.96"
    assert format_quantity(replace(stated, note="from one scan")).note == (
        "from one scan; read as 11.98 at net density 0.96"
    )
