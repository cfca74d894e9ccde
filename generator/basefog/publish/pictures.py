"""Plans the pictures of a site: which views are cut from which scans, one job a scan."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final

from basefog.picture import ViewPlan, cut_scan, plan_views
from basefog.publish.addresses import address_of_view
from basefog.publish.cards import CardPlan, make_card, plan_cards_alone
from basefog.publish.inputs import check_input
from basefog.publish.job import InputPath, Job
from basefog.publish.stops import UnreadableScan
from basefog.records.content import Series, Test

NO_CARDS: Final[Mapping[str, CardPlan]] = MappingProxyType({})


def plan_all_views(series: Series) -> dict[str, tuple[ViewPlan, ...]]:
    """Return the views of every test by `stock/test`, each against the reference's current test."""
    reference = series.reference_stock.current_test
    return {test.key: plan_views(test, reference, series.views) for stock in series.stocks for test in stock.tests}


def plan_pictures(
    series: Series,
    views: Mapping[str, Sequence[ViewPlan]],
    series_folder: Path,
    cards: Mapping[str, CardPlan] = NO_CARDS,
) -> tuple[Job, ...]:
    """Return one job a scan, so that each is decoded once for all the views and the card that are made from it.

    `cards` are by the key of the test that they show.
    """
    jobs = []
    for test in (test for stock in series.stocks for test in stock.tests):
        by_scan: dict[str, list[ViewPlan]] = {}
        for plan in views[test.key]:
            by_scan.setdefault(plan.scan.path, []).append(plan)
        card = cards.get(test.key)
        jobs += [_plan_scan(test, tuple(cuts), series_folder, card) for _, cuts in sorted(by_scan.items())]
    return (*jobs, *plan_cards_alone(cards))


def _plan_scan(test: Test, cuts: tuple[ViewPlan, ...], series_folder: Path, card: CardPlan | None) -> Job:
    scan = cuts[0].scan
    addresses = {
        plan.view.id + file.suffix: address_of_view(test, plan.view.id, file.suffix)
        for plan in cuts
        for file in plan.files
    }
    file = InputPath(path=str(series_folder / scan.path), sha256=scan.sha256)
    inputs: dict[str, object] = {"scan": file, "cuts": cuts, "addresses": addresses}
    outputs = set(addresses.values())
    if card is not None and card.view in cuts:
        inputs["card"] = card
        outputs.add(card.address)
    return Job(outputs=tuple(sorted(outputs)), make=make_pictures, inputs=inputs)


def make_pictures(
    *, scan: InputPath, cuts: Sequence[ViewPlan], addresses: Mapping[str, str], card: CardPlan | None = None
) -> dict[str, bytes]:
    """Return the pictures of one scan by their addresses, and the card that shows one of them.

    Raises ContentChanged where it is no longer the scan that was planned with, UnreadableScan where its pixels can't
    be read: its size was, from its header.
    """
    name = cuts[0].scan.path
    check_input(name, scan)
    try:
        files = cut_scan(scan, cuts)
    except (ValueError, OSError) as error:
        raise UnreadableScan(name, str(error)) from error
    made = {addresses[view]: data for view, data in files.items()}
    return made if card is None else made | make_card(plan=card, view=files[card.view_file])
