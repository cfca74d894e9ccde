"""Plans the sharing cards: one picture a stock, of its current test, for where its pages are linked.

Who shows a card fetches it by its full address, so a series without one has none. A card that shows a view is made from
the published picture of it.
"""

from collections.abc import Mapping, Sequence

from basefog.picture import Card, ViewPlan, draw_card
from basefog.publish.addresses import address_of_card, address_of_view
from basefog.publish.pages.verdict import verdict_of
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Findings
from basefog.site import InputPath, Job, read_made


def plan_cards(
    series: Series, findings: Findings, views: Mapping[str, Sequence[ViewPlan]], pictures: Mapping[str, InputPath]
) -> tuple[Job, ...]:
    """Return a job for each stock's card; none where the series has no address. `pictures` are by address."""
    if series.address is None:
        return ()
    jobs = []
    for stock in series.stocks:
        test = stock.current_test
        if test is None:
            continue
        view = choose_view(views[test.key])
        shown = None if view is None else pictures[address_of_view(test, view.view.id, view.files[0].suffix)]
        address = address_of_card(stock.slug)
        inputs = {"address": address, "card": card_of(series, findings, stock, test), "view": shown}
        jobs.append(Job(outputs=(address,), make=make_card, inputs=inputs))
    return tuple(jobs)


def make_card(*, address: str, card: Card, view: InputPath | None) -> dict[str, bytes]:
    """Return a card by its address; `view` is the picture it shows."""
    return {address: draw_card(card, None if view is None else read_made(address, view))}


def card_of(series: Series, findings: Findings, stock: Stock, test: Test) -> Card:
    """Return what a stock's card says and shows."""
    verdict = verdict_of(series, findings, test)
    return Card(
        series=series.title,
        name=stock.name,
        against=f"Against {verdict.against.label}" if verdict.against else "",
        verdict=verdict.lead,
        reference_name=series.reference_stock.name,
        test=findings.tests[test.key],
        reference=findings.of_reference,
    )


def choose_view(plans: Sequence[ViewPlan]) -> ViewPlan | None:
    """Return the view for a card: the first of a print that is wider than high, else the first that shows grain."""
    wide = (plan for plan in plans if plan.view.of == "print" and not plan.lossless and plan.width_px > plan.height_px)
    grain = (plan for plan in plans if plan.view.shows == "grain")
    return next(wide, None) or next(grain, None)
