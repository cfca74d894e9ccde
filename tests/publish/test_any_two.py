"""A link to the page of any two is followed to the two that it names."""

import pytest

from basefog.publish import STATES
from basefog.site.links import check_links
from basefog.site.page_facts import read_facts

SITE = "https://trials.example.org/films/"


@pytest.mark.parametrize(
    ("fragment", "fault"),
    [
        ("a=tern/2026-01-17&b=marl/2026-02-01", None),
        ("a=tern%2F2026-01-17&b=marl%2F2026-02-01&align=speed", None),
        ("a=tern/2026-01-17", None),
        ("a=tern&b=marl/2026-02-01&at=gamma", None),
        ("a=tern", None),
        ("a=tern&b=gull", "there is no stock or test gull in the site"),
        ("a=tern/history&b=marl/2026-02-01", "there is no stock or test tern/history in the site"),
        ("a=tern/2026-01-17&b=marl/2026-02-02", "there is no stock or test marl/2026-02-02 in the site"),
        ("a=tern/2027-01-17&b=marl/2026-02-01", "there is no stock or test tern/2027-01-17 in the site"),
        ("a=&b=marl/2026-02-01", "there is no stock or test without a name in the site"),
        ("a=tern/2026-01-17&b=marl/2026-02-01&align=speed&at=gamma", None),
        ("a=tern/2026-01-17&b=marl/2026-02-01&at=gama", "there is no row gama in compare/index.html"),
        ("a=tern/2026-01-17&b=marl/2026-02-01&at=", "there is no row without a name in compare/index.html"),
        ("align=speed", "names no test; write #a=stock&b=stock, or #a=stock/test&b=stock/test"),
    ],
)
def test_a_comparison_names_stocks_or_tests_that_exist(fragment: str, fault: str | None) -> None:
    """A link to any two side by side is followed to the stocks or tests it names, as written or in full."""
    site = {
        "compare/index.html": "<table><tr id=at-gamma></table>",
        "stocks/tern/index.html": "",
        "stocks/tern/history/index.html": "",
        "data/tern/2026-01-17.json": "",
        "data/marl/2026-02-01.json": "",
    }
    site |= {"index.html": f"<a href='compare/index.html#{fragment}'>x</a><a href='{SITE}compare/#{fragment}'>x</a>"}
    facts = {name: found for name, text in site.items() if (found := read_facts(name, text.encode())) is not None}

    faults = check_links(facts, site, SITE, STATES)

    links = [f"compare/index.html#{fragment}", f"{SITE}compare/#{fragment}"]
    assert faults == (() if fault is None else tuple(f"index.html:1: {link}: {fault}" for link in links))
