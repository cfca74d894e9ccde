"""What pages tell those who only list them: titles, descriptions, and data sets in the words of schema.org."""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from basefog.publish.pages.licences import say_licence
from basefog.publish.theme import load_theme
from publish.invented import make_series
from publish.page_checks import elements, parse_strictly, text_of
from publish.page_series import THEME_FOLDER, make_pages, richer_series

SHORT = ("index.html", "pages/about/index.html", "questions/still-open/index.html")
TERN, TERN_TEST = "stocks/tern-100/index.html", "stocks/tern-100/2026-04-01-b/index.html"


@pytest.fixture(scope="module")
def files() -> Mapping[str, bytes]:
    return make_pages(richer_series(), load_theme(THEME_FOLDER))


def head_of(data: bytes) -> tuple[str, dict[str, str]]:
    """Return a page's title and its named metas."""
    tree = parse_strictly(data)
    metas = {str(meta.get("name")): str(meta.get("content")) for meta in elements(tree, "meta") if meta.get("name")}
    return text_of(elements(tree, "title")[0]), metas


def data_set_of(data: bytes) -> Any:
    scripts = elements(parse_strictly(data), "script")
    [described] = [script for script in scripts if script.get("type") == "application/ld+json"]
    return json.loads(described.text or "")


def test_no_two_pages_share_a_title(files: Mapping[str, bytes]) -> None:
    """Each title names its page and the series; signposts, which no index keeps, may repeat that of their goal."""
    heads = {name: head_of(data) for name, data in files.items() if name.endswith(".html")}
    titles = [title for title, metas in heads.values() if metas.get("robots") != "noindex"]

    assert sorted(titles) == sorted(set(titles))
    assert len(titles) > 15
    assert all(title.endswith("Lantern Yard: “trials”") for title in titles)
    assert heads[TERN][0] == "=cmd|' /C calc'!A0, film test · Lantern Yard: “trials”"


def test_descriptions_are_of_a_length_that_is_shown(files: Mapping[str, bytes]) -> None:
    """Each has 50 to 160 characters, but where all that the tester wrote is shorter; few share one."""
    told: dict[str, str] = {}
    for name, data in files.items():
        if name.endswith(".html"):
            _, metas = head_of(data)
            if metas.get("robots") != "noindex" and name not in SHORT:
                told[name] = metas["description"]

    assert {name: words for name, words in told.items() if not 50 <= len(words) <= 160} == {}
    # A stock's own page and that of its current test say the same.
    assert len(set(told.values())) >= len(told) - 2, sorted(told.values())


@pytest.mark.parametrize("address", ["index.html", "data/index.html"])
def test_the_series_is_a_data_set(files: Mapping[str, bytes], address: str) -> None:
    """Summary and data page tell it: what it is, whose, how licensed, what was measured, where the files are."""
    about = data_set_of(files[address])

    assert about["@context"] == "https://schema.org"
    assert about["@type"] == "Dataset"
    assert about["name"] == "Lantern Yard: “trials”"
    assert about["url"] == "https://trials.example.org/data/"
    assert about["license"] == "https://creativecommons.org/licenses/by/4.0/"
    assert about["creator"] == {"@type": "Person", "name": "M. Osei"}
    assert about["dateModified"] == "2026-05-02"
    assert about["temporalCoverage"] == "2026-02-01/2026-05-02"
    assert about["isAccessibleForFree"] is True
    assert {"@type": "PropertyValue", "propertyID": "gamma", "name": "Gamma", "unitText": "1"} in about[
        "variableMeasured"
    ]
    assert {
        "@type": "DataDownload",
        "encodingFormat": "application/zip",
        "contentUrl": "https://trials.example.org/data/series.zip",
    } in about["distribution"]


@pytest.mark.parametrize("address", [TERN, TERN_TEST])
def test_a_test_is_a_data_set_with_its_values(files: Mapping[str, bytes], address: str) -> None:
    """Its values and intervals are those of its data files; what it lacks is not told."""
    about = data_set_of(files[address])
    measured = {told["propertyID"]: told for told in about["variableMeasured"]}

    assert about["url"] == "https://trials.example.org/stocks/tern-100/2026-04-01-b/"
    assert about["dateModified"] == "2026-04-01"
    assert about["isPartOf"]["url"] == "https://trials.example.org/data/"
    assert {"value": 0.612, "minValue": 0.601, "maxValue": 0.623}.items() <= measured["gamma"].items()
    assert "mtf50" not in measured
    assert [file["contentUrl"].rpartition("/data/")[2] for file in about["distribution"]] == [
        "tern-100/2026-04-01-b.json",
        "tern-100/2026-04-01-b/curve.csv",
        "tern-100/2026-04-01-b/readings.csv",
    ]


def test_a_series_that_names_nobody_is_made_by_itself() -> None:
    """Without an author the series stands for its maker; without a licence none is claimed."""
    series = replace(make_series(), author=None, licence=None)
    about = data_set_of(make_pages(series, load_theme(THEME_FOLDER))["data/index.html"])

    assert about["creator"] == {"@type": "Organization", "name": "Lantern Yard: “trials”"}
    assert "license" not in about


@pytest.mark.parametrize(
    ("licence", "words"),
    [
        ("CC0-1.0", "for anything"),
        ("CC-BY-NC-4.0", "pass them on and publish what you make of them, not for money, if you name the author"),
        ("CC-BY-ND-4.0", "pass them on unchanged, if you name the author and link the licence."),
        (None, "No licence is stated"),
    ],
)
def test_a_licence_is_told_in_a_sentence(licence: str | None, words: str) -> None:
    """The elements of a licence are told as what a reader may do and owes for it."""
    assert words in say_licence(licence)
