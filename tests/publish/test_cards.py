"""Sharing cards in a site: each current test's pages name one by its full address, and it is there."""

import io
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from basefog.picture import draw_card
from basefog.publish.cards import card_of, choose_view
from basefog.publish.pictures import plan_all_views
from basefog.site.links import check_links
from basefog.site.page_facts import read_facts
from publish.invented import make_findings, make_series, write_readings
from publish.page_checks import elements, parse_strictly
from publish.page_series import richer_series
from publish.site_jobs import plan_whole_site
from publish.test_plan import SCAN, SITE, draw_scan, with_scan
from small_sites import read_tree


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, bytes]:
    """Publish a whole site in which one stock has a scan and the others have none."""
    folder = tmp_path_factory.mktemp("cards")
    series = with_scan(make_series(SITE))
    write_readings(series, folder / "content")
    (folder / "content" / SCAN).parent.mkdir(parents=True)
    (folder / "content" / SCAN).write_bytes(draw_scan())
    planned = plan_whole_site(series, make_findings(series), folder / "content", folder / "kept")
    planned.publish(folder / "site", folder / "content")
    return read_tree(folder / "site")


def open_graph(page: bytes) -> dict[str, str]:
    """Return what a page says in the words of the Open Graph protocol (ogp.me, from memory)."""
    metas = elements(parse_strictly(page), "meta")
    return {meta.get("property", ""): meta.get("content", "") for meta in metas if meta.get("property")}


def test_every_stock_with_a_current_test_has_a_card(site: Mapping[str, bytes]) -> None:
    """Of the right size, light enough for any host, and nothing else is called a card."""
    current = {f"stocks/{stock.slug}/card.jpg" for stock in make_series(SITE).stocks if stock.current is not None}
    cards = {name: data for name, data in site.items() if name.endswith("card.jpg")}

    assert set(cards) == current
    assert {Image.open(io.BytesIO(data)).size for data in cards.values()} == {(1200, 630)}
    assert max(map(len, cards.values())) < 120_000


@pytest.mark.parametrize("page", ["stocks/tern-100/", "compare/tern-100/", "stocks/tern-100/history/"])
def test_the_pages_of_a_stock_name_its_card(site: Mapping[str, bytes], page: str) -> None:
    """By its full address, with its words and size; what it says is the page's own title."""
    stock = make_series(SITE).stock("tern-100")
    said = open_graph(site[f"{page}index.html"])

    assert said["og:image"] == f"{SITE}stocks/tern-100/card.jpg"
    assert said["og:image:type"] == "image/jpeg"
    assert (said["og:image:width"], said["og:image:height"]) == ("1200", "630")
    assert said["og:image:alt"].startswith(f"{stock.name} against {make_series(SITE).reference_stock.name}: ")
    assert said["og:url"] == SITE + page
    assert said["og:title"]
    assert said["og:description"]


def test_earlier_tests_and_other_pages_name_no_card(site: Mapping[str, bytes]) -> None:
    """A card shows the current test; on the page of another it would say what is not so."""
    current = {f"stocks/{stock.slug}/{stock.current}/index.html" for stock in make_series(SITE).stocks if stock.current}
    series = make_series(SITE)
    earlier = {f"stocks/{test.key}/index.html" for stock in series.stocks for test in stock.tests} - current

    assert earlier
    assert [page for page in sorted(earlier | {"index.html", "404.html"}) if b"og:image" in site[page]] == []
    assert [page for page in sorted(current) if b"og:image" not in site[page]] == []


def test_a_card_that_is_missing_stops_a_publish(site: Mapping[str, bytes]) -> None:
    """The link check follows the address of a card as it follows any other of the site's own."""
    facts = {name: found for name, data in site.items() if (found := read_facts(name, data)) is not None}
    whole, gone = set(site), "stocks/tern-100/card.jpg"

    assert check_links(facts, whole, SITE) == ()
    faults = check_links(facts, whole - {gone}, SITE)
    assert len(faults) == 4
    assert all(f"there is no {gone} in the site" in fault for fault in faults)


def test_a_series_without_an_address_has_no_cards(tmp_path: Path) -> None:
    """Nobody could be told where they are: no job makes one and no page names one."""
    series = with_scan(make_series(None))
    (tmp_path / SCAN).parent.mkdir(parents=True)
    (tmp_path / SCAN).write_bytes(draw_scan())
    planned = plan_whole_site(series, make_findings(series), tmp_path, tmp_path / "kept")

    assert [address for address in planned.addresses if "card" in address] == []


def test_a_card_is_made_with_the_view_that_it_shows(tmp_path: Path) -> None:
    """From the picture as published, and from nothing where there is none."""
    series = with_scan(make_series(SITE))
    findings = make_findings(series)
    (tmp_path / SCAN).parent.mkdir(parents=True)
    (tmp_path / SCAN).write_bytes(draw_scan())
    made = plan_whole_site(series, findings, tmp_path, tmp_path / "kept")
    stock = series.stock("tern-100")
    assert stock.current_test is not None
    card = card_of(series, findings, stock, stock.current_test)
    [shown] = [sha256 for address, sha256 in made.pictures.items() if address.endswith("even.png")]

    [job] = [job for job in made.jobs if "stocks/tern-100/card.jpg" in job.outputs]
    drawn = job.make(**job.inputs)

    assert drawn == {"stocks/tern-100/card.jpg": draw_card(card, made.steps.store.get_file(shown))}
    assert drawn != {"stocks/tern-100/card.jpg": draw_card(card, None)}


def test_the_first_wide_view_of_a_print_is_shown_else_grain() -> None:
    """Never a view higher than wide, for the card has a wide place; nothing where neither is there."""
    series = richer_series()
    [test] = [test for test in series.stock("tern-100").tests if test.scans]
    plans = plan_all_views(series)[test.key]
    high = tuple(replace(plan, width_px=10, height_px=20) for plan in plans)

    shown = [choose_view(given) for given in (plans, high, ())]

    assert [plan and plan.view.id for plan in shown] == ["whole", "even", None]
