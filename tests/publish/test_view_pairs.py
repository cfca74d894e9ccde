"""What a page says of views that can't be shown, and of how a scan was laid on the reference's."""

from dataclasses import replace

import pytest

from basefog.publish.pages.view_pairs import ViewPair, alignments_of, view_pairs_of
from basefog.records.content import Scan, Series, Test
from basefog.records.registration import Alignment, Refusal
from publish.invented import make_findings
from publish.page_series import richer_series

AS_IT_LIES = Alignment(
    to_scan=(1.0, 0.0, 0.0, 0.0, 1.0, 0.0),
    correlation=0.961,
    right_px=-10.2,
    down_px=8.04,
    rotation_deg=-0.28,
    scale_ratio=0.99394,
)


def pairs(series: Series, stock_slug: str = "tern-100") -> dict[str, ViewPair]:
    stock = series.stock(stock_slug)
    test = stock.current_test
    assert test is not None
    return {pair.id: pair for pair in view_pairs_of(series, make_findings(series), stock, test)}


def alignments(series: Series) -> tuple[str, ...]:
    test = series.stock("tern-100").current_test
    assert test is not None
    return alignments_of(series, make_findings(series), test)


def with_scans(stock_slug: str, change: "dict[str, Scan | None]") -> Series:
    """Return the series with the scans of a stock's current test exchanged by their kind, or taken away."""
    series = richer_series()
    stock = series.stock(stock_slug)
    test = stock.current_test
    assert test is not None
    scans = tuple(scan for old in test.scans if (scan := change.get(old.of, old)) is not None)
    tests: tuple[Test, ...] = tuple(replace(each, scans=scans) if each.id == test.id else each for each in stock.tests)
    changed = replace(stock, tests=tests)
    return replace(series, stocks=tuple(changed if each.slug == stock_slug else each for each in series.stocks))


def scan_of(of: str, registration: Alignment | Refusal | None, *, sha256: str = "1" * 64) -> Scan:
    test = richer_series().stock("tern-100").current_test
    assert test is not None
    return replace(next(scan for scan in test.scans if scan.of == of), registration=registration, sha256=sha256)


def test_a_pair_has_the_stock_first_and_the_reference_beside_it() -> None:
    """Both pictures of both views are there and nothing is said to be missing."""
    found = pairs(richer_series())

    assert {name: [picture.test for picture in pair.pictures] for name, pair in found.items()} == {
        "whole": ["tern-100/2026-04-01-b", "marl-400/2026-05-02"],
        "even": ["tern-100/2026-04-01-b", "marl-400/2026-05-02"],
    }
    assert {pair.absent for pair in found.values()} == {""}


def test_the_reference_stands_alone_on_its_own_page() -> None:
    """There is nothing to lay beside the reference, and nothing missing."""
    found = pairs(richer_series(), "marl-400")

    assert [len(pair.pictures) for pair in found.values()] == [1, 1]
    assert [pair.absent for pair in found.values()] == ["", ""]


def test_a_refused_scan_says_why_and_what_to_do() -> None:
    """The refusal's own words are told with the mend; views of the other scan are shown as ever."""
    refusal = Refusal(message="is turned by 14.0 degrees, at most 8 are brought back")
    found = pairs(with_scans("tern-100", {"negative": scan_of("negative", refusal)}))

    assert found["even"].pictures == ()
    assert found["even"].absent == (
        "The scan of the negative is turned by 14.0 degrees, at most 8 are brought back. "
        "Scan it again as the reference’s was, or give each view’s box by hand."
    )
    assert len(found["whole"].pictures) == 2


def test_a_scan_that_does_not_reach_so_far_says_so() -> None:
    """An aligned scan on which a view lies outside has no picture of it."""
    beyond = replace(AS_IT_LIES, to_scan=(1.0, 0.0, 5000.0, 0.0, 1.0, 0.0))
    found = pairs(with_scans("tern-100", {"negative": scan_of("negative", beyond)}))

    assert found["even"].pictures == ()
    assert found["even"].absent.startswith("The scan of the negative does not reach as far as these.")


def test_a_scan_that_was_not_made_is_missed() -> None:
    """What the reference shows and this test does not is said, with what would show it."""
    found = pairs(with_scans("tern-100", {"print": None}))

    assert found["whole"].pictures == ()
    assert found["whole"].absent == (
        "This test has no scan of the print. A scan made as the reference’s was would show them."
    )


def test_a_test_without_scans_says_so_once() -> None:
    """One reason stands for all views, so that a page can tell them together."""
    found = pairs(with_scans("tern-100", {"print": None, "negative": None}))

    assert {pair.absent for pair in found.values()} == {
        "This test has no scans. Scans made as the reference’s were would show them."
    }


def test_a_missing_picture_of_the_reference_is_missed_beside_the_other() -> None:
    """The stock's own is shown, and in the reference's place stands why it is not."""
    found = pairs(with_scans("marl-400", {"negative": None}))

    assert [picture.test for picture in found["even"].pictures] == ["tern-100/2026-04-01-b"]
    assert found["even"].absent == (
        "Nothing lies beside it: Marl 400 has no scan of its negative. Scan that too, as this one was."
    )


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (
            AS_IT_LIES,
            (
                "correlation 0.961, 10.2\u00a0px to the left, 8.0\u00a0px down, turned 0.3° anticlockwise, "
                "99.4\u00a0% as large"
            ),
        ),
        (
            replace(AS_IT_LIES, right_px=0.0, down_px=-1.0, rotation_deg=0.02, is_mirrored=True, is_inverted=True),
            (
                "correlation 0.961, 0.0\u00a0px to the right, 1.0\u00a0px up, not turned, 99.4\u00a0% as large, "
                "mirrored, and turned round for this page, light and dark exchanged"
            ),
        ),
        (None, ""),
    ],
)
def test_how_a_scan_was_laid_on_the_references_is_told(found: Alignment | None, words: str) -> None:
    """Correlation, shift, turn and size as found; a picture at 1:1 keeps turn and size, and says so."""
    of_print = alignments(with_scans("tern-100", {"print": scan_of("print", found)}))
    of_negative = alignments(with_scans("tern-100", {"negative": scan_of("negative", found)}))

    laid = "views were laid on the reference’s by what both show: "
    assert of_print == ((f"The print’s {laid}{words}.",) if words else ())
    grain = "grain keeps its turn and size as scanned"
    assert of_negative == ((f"The negative’s {laid}{words}; {grain}.",) if words else ())


def test_how_a_scan_was_laid_is_told_once_for_all_its_views() -> None:
    """Two views of one scan share a sentence."""
    series = with_scans("tern-100", {"print": scan_of("print", AS_IT_LIES)})
    whole = next(view for view in series.views if view.id == "whole")
    corner = replace(whole, id="corner", name="Corner")
    series = replace(series, views=(*series.views, corner))
    once = alignments(series)

    assert len(once) == 1
    assert once[0].startswith("The print’s views were laid on the reference’s by what both show: correlation 0.961")


def test_a_series_without_scans_has_no_views() -> None:
    """Where the reference has none either, nothing is missed."""
    series = richer_series()
    bare = tuple(
        replace(stock, tests=tuple(replace(test, scans=()) for test in stock.tests)) for stock in series.stocks
    )

    assert pairs(replace(series, stocks=bare)) == {}
