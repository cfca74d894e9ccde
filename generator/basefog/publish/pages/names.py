"""What tests are called where they stand side by side."""

from basefog.publish.pages.frame import format_date
from basefog.records.content import Series, Stock, Test


def name_test(test: Test) -> str:
    """Return a test by its day, with the letter that tells tests of one day apart: `10 May 2026 (b)`."""
    letter = test.id.removeprefix(test.date.isoformat()).strip("-")
    return format_date(test.date) + (f" ({letter})" if letter else "")


def name_pair(series: Series, stock: Stock, test: Test) -> tuple[str, str]:
    """Return what a test and the reference's current test are called beside each other.

    Films by their names; two tests of the reference itself, which have one name, by their days.
    """
    reference = series.reference_stock
    if stock.slug != reference.slug or reference.current_test is None or test.id == reference.current:
        return stock.name, reference.name
    return name_test(test), name_test(reference.current_test)


def name_pair_in_words(series: Series, stock: Stock, test: Test) -> tuple[str, str]:
    """Return what the two are called within a sentence: a film by its name, a test by "the test of" its day."""
    names = name_pair(series, stock, test)
    if names == (stock.name, series.reference_stock.name):
        return names
    return f"the test of {names[0]}", f"the test of {names[1]}"
