"""The pictures of a site: made in one pass over the scans, kept in a folder, put into the site by one job a scan."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final

from basefog.picture import NoScratchError, SeenScans, ViewPlan, plan_views, see_scans
from basefog.publish.addresses import address_of_view
from basefog.publish.cards import CardPlan, make_card, plan_cards_alone
from basefog.publish.kept_pictures import KeptPictures
from basefog.records.content import Scan, Series, Test
from basefog.records.problem import Problem
from basefog.site import InputPath, Job, NoRoom, Progress, PublishError, check_input, read_input

NO_CARDS: Final[Mapping[str, CardPlan]] = MappingProxyType({})


class UnreadableScan(PublishError):  # noqa: N818
    """The pixels of scans can't be decoded, though their headers can be read."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        told = (
            (f"{one.path}:{one.line}:{one.column}: {one.level}: {one.message}", f"    {one.mend}") for one in problems
        )
        super().__init__(*(line for lines in told for line in lines))


def check_scans(series: Series, series_folder: Path, *, progress: Progress | None = None) -> SeenScans:
    """Return what the scans show, and what is wrong with them; no picture is made.

    Raises ContentChanged where a scan is no longer the one that was read, NoRoom where a large one can't be kept.
    """
    return _see(series, series_folder, None, progress)


def make_pictures(
    series: Series,
    series_folder: Path,
    pictures: KeptPictures,
    *,
    progress: Progress | None = None,
) -> SeenScans:
    """Return what the scans show, and put the pictures of all views into `pictures`; each scan is decoded once.

    Raises ContentChanged where a scan is no longer the one that was read, UnreadableScan where pixels can't be read
    (their size was, from the header), NoRoom where pictures can't be kept.
    """
    seen = _see(series, series_folder, pictures, progress)
    if seen.problems:
        raise UnreadableScan(seen.problems)
    return seen


def _see(
    series: Series,
    series_folder: Path,
    pictures: KeptPictures | None,
    progress: Progress | None,
) -> SeenScans:
    def check(scan: Scan) -> None:
        check_input(scan.path, InputPath(path=str(series_folder / scan.path), sha256=scan.sha256))

    def keep(test: Test, name: str, data: bytes) -> None:
        if pictures is not None:
            pictures.put(_address_of(test, name), data)

    try:
        return see_scans(
            series, series_folder, check=check, keep=keep if pictures is not None else None, progress=progress
        )
    except NoScratchError as error:
        raise NoRoom(str(error)) from error


def plan_all_views(series: Series) -> dict[str, tuple[ViewPlan, ...]]:
    """Return the views of every test by `stock/test`, each against the reference's current test."""
    reference = series.reference_stock.current_test
    return {test.key: plan_views(test, reference, series.views) for stock in series.stocks for test in stock.tests}


def plan_pictures(
    series: Series,
    views: Mapping[str, Sequence[ViewPlan]],
    pictures: Mapping[str, InputPath],
    cards: Mapping[str, CardPlan] = NO_CARDS,
) -> tuple[Job, ...]:
    """Return one job a scan, which puts its pictures into the site and makes the card that shows one of them.

    `pictures` are by address, as `make_pictures` kept them; `cards` by the key of the test that they show.
    """
    jobs = []
    for test in (test for stock in series.stocks for test in stock.tests):
        by_scan: dict[str, list[ViewPlan]] = {}
        for plan in views[test.key]:
            by_scan.setdefault(plan.scan.path, []).append(plan)
        card = cards.get(test.key)
        jobs += [_plan_scan(test, tuple(cuts), pictures, card) for _, cuts in sorted(by_scan.items())]
    return (*jobs, *plan_cards_alone(cards))


def _plan_scan(test: Test, cuts: tuple[ViewPlan, ...], pictures: Mapping[str, InputPath], card: CardPlan | None) -> Job:
    addresses = [_address_of(test, plan.view.id + file.suffix) for plan in cuts for file in plan.files]
    inputs: dict[str, object] = {"files": {address: pictures[address] for address in addresses}}
    outputs = set(addresses)
    if card is not None and card.view in cuts:
        inputs |= {"card": card, "shown": _address_of(test, card.view_file)}
        outputs.add(card.address)
    return Job(outputs=tuple(sorted(outputs)), make=publish_pictures, inputs=inputs)


def _address_of(test: Test, name: str) -> str:
    return address_of_view(test, name, "")


def publish_pictures(
    *, files: Mapping[str, InputPath], card: CardPlan | None = None, shown: str = ""
) -> dict[str, bytes]:
    """Return the pictures of one scan by their addresses, and the card that shows the one at `shown`.

    Raises ContentChanged where a picture is no longer as it was kept.
    """
    made = {address: read_input(address, file) for address, file in sorted(files.items())}
    return made if card is None else made | make_card(plan=card, view=made[shown])
