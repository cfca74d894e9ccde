"""What tests are called where they stand side by side."""

from basefog.publish.pages.frame import format_date
from basefog.records.content import Series, Stock, Test


def name_test(test: Test) -> str:
    """Return a test by its day, with the letter that tells tests of one day apart: `10 May 2026 (b)`."""
    letter = test.id.removeprefix(test.date.isoformat()).strip("-")
    return format_date(test.date) + (f" ({letter})" if letter else "")


def in_a_sentence(name: str) -> str:
    """Return a measure's name for the middle of a sentence: what is written in capitals stays so.

    >>> in_a_sentence("Base plus fog"), in_a_sentence("ISO speed"), in_a_sentence("MTF50")
    ('base plus fog', 'ISO speed', 'MTF50')
    """
    return name if name[:2].isupper() else name[:1].lower() + name[1:]


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
