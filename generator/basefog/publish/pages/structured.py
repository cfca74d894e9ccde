"""What machines are told of a page's data set: JSON-LD in the words of schema.org, only where addresses are known."""

import json
from typing import Final

from markupsafe import Markup

from basefog.publish.addresses import address_of_test, address_of_test_data, canonical_address
from basefog.publish.pages.frame import NOTHING, SUMMARY, SiteFrame
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import TestFindings

_MEDIA_TYPES: Final = {"json": "application/json", "csv": "text/csv", "zip": "application/zip"}


def describe_series(series: Series, site: SiteFrame) -> Markup:
    """Return the whole series as a data set."""
    if not site.address:
        return NOTHING
    days = [test.date.isoformat() for stock in series.stocks for test in stock.tests]
    about = _data_set(site, SUMMARY, series.title, site.description or series.title)
    if days:
        about["temporalCoverage"] = f"{min(days)}/{max(days)}"
    about["distribution"] = _files(site, ("data/series.zip", "data/summary.csv", "data/summary.json"))
    return _as_script(about)


def describe_test(site: SiteFrame, stock: Stock, test: Test, found: TestFindings, description: str) -> Markup:
    """Return one test as a data set, a part of the series."""
    if not site.address:
        return NOTHING
    about = _data_set(site, address_of_test(test), f"{stock.name}, test of {test.date.isoformat()}", description)
    about["temporalCoverage"] = test.date.isoformat()
    about["isPartOf"] = {"@type": "Dataset", "name": site.title, "url": canonical_address(site.address, SUMMARY)}
    tables = ("curve.csv", "readings.csv") if found.curve is not None else ("readings.csv",)
    files = (address_of_test_data(test), *(address_of_test_data(test, table) for table in tables))
    about["distribution"] = _files(site, files)
    return _as_script(about)


def _data_set(site: SiteFrame, address: str, name: str, description: str) -> dict[str, object]:
    about: dict[str, object] = {
        "@context": "https://schema.org",
        "@type": "Dataset",
        "name": name,
        "description": description,
        "url": canonical_address(site.address, address),
        "inLanguage": site.language,
        "isAccessibleForFree": True,
    }
    if site.author:
        about["creator"] = {"@type": "Person", "name": site.author}
    if site.licence:
        about["license"] = site.licence.outside or site.licence.label
    return about


def _files(site: SiteFrame, addresses: tuple[str, ...]) -> list[dict[str, str]]:
    return [
        {
            "@type": "DataDownload",
            "encodingFormat": _MEDIA_TYPES[address.rsplit(".", 1)[-1]],
            "contentUrl": canonical_address(site.address, address),
        }
        for address in addresses
    ]


def _as_script(about: dict[str, object]) -> Markup:
    # Within a script element only these can end it or open a comment; JSON lets them be written as escapes.
    text = json.dumps(about, ensure_ascii=False, sort_keys=True)
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)  # noqa: S704  # escaped above
