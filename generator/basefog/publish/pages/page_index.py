"""Every page that a series makes, by address: what links of the tester's are looked for among."""

from basefog.publish.addresses import (
    ANY_TWO,
    OPEN,
    STUDY,
    address_of_comparison,
    address_of_free_page,
    address_of_history,
    address_of_question,
    address_of_stock,
    address_of_test,
)
from basefog.publish.pages.frame import DATA, METHOD, QUESTIONS, SUMMARY
from basefog.records.content import Series


def addresses_of_pages(series: Series) -> frozenset[str]:
    """Return the address of every page that a text may link to."""
    addresses = {SUMMARY, ANY_TWO, METHOD, STUDY, DATA, *(address_of_free_page(page.slug) for page in series.pages)}
    if "open" in series.optional_pages:
        addresses.add(OPEN)
    if series.questions:
        addresses |= {QUESTIONS, *(address_of_question(question.slug) for question in series.questions)}
    for stock in series.stocks:
        addresses |= {address_of_stock(stock.slug), address_of_history(stock.slug)}
        addresses |= {address_of_test(test) for test in stock.tests}
        if stock.current and stock.slug != series.reference and series.reference_stock.current:
            addresses.add(address_of_comparison(stock.slug))
    return frozenset(addresses)
