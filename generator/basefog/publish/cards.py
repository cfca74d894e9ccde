"""Plans the sharing cards: one picture a stock, of its current test, for where its pages are linked.

Who shows a card fetches it by its full address, so a series without one has none. A card that shows a view is made in
the job that cuts the view's scan, from the published picture: the scan is decoded once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from basefog.picture import Card, ViewPlan, draw_card
from basefog.publish.addresses import address_of_card
from basefog.publish.pages.verdict import verdict_of
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Findings
from basefog.site import Job


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CardPlan:
    """A card and where it stands; `view` is what it shows of the stock's own, None where there is nothing."""

    address: str
    card: Card
    view: ViewPlan | None

    @property
    def view_file(self) -> str:
        """The view's picture that the card is made from, by view id and suffix; empty where there is no view."""
        return self.view.view.id + self.view.files[0].suffix if self.view is not None else ""


def plan_cards(series: Series, findings: Findings, views: Mapping[str, Sequence[ViewPlan]]) -> dict[str, CardPlan]:
    """Return the cards by the key of the test that they show; none where the series has no address."""
    if series.address is None:
        return {}
    return {
        test.key: CardPlan(
            address=address_of_card(stock.slug),
            card=card_of(series, findings, stock, test),
            view=choose_view(views[test.key]),
        )
        for stock in series.stocks
        if (test := stock.current_test) is not None
    }


def plan_cards_alone(cards: Mapping[str, CardPlan]) -> tuple[Job, ...]:
    """Return the jobs of the cards that show no view."""
    return tuple(
        Job(outputs=(plan.address,), make=make_card, inputs={"plan": plan})
        for _, plan in sorted(cards.items())
        if plan.view is None
    )


def make_card(*, plan: CardPlan, view: bytes | None = None) -> dict[str, bytes]:
    """Return a card by its address; `view` is the picture it shows."""
    return {plan.address: draw_card(plan.card, view)}


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
