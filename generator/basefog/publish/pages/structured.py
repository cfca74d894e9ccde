"""What machines are told of a page's data set: JSON-LD in the words of schema.org, only where addresses are known."""

import json
from typing import Final

from markupsafe import Markup

from basefog.publish.addresses import address_of_test, address_of_test_data, canonical_address
from basefog.publish.data.values import quantity_json
from basefog.publish.pages.frame import DATA, NOTHING, SiteFrame
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Quantity, TestFindings
from basefog.records.vocabulary import MEASURE_BY_ID, MEASURES, Measure

_MEDIA_TYPES: Final = {"json": "application/json", "csv": "text/csv", "zip": "application/zip"}


def describe_series(series: Series, site: SiteFrame) -> Markup:
    """Return the whole series as a data set; its page is the data page."""
    if not site.address:
        return NOTHING
    days = [test.date.isoformat() for stock in series.stocks for test in stock.tests]
    words = site.description or f"Film tests against one reference film, with their readings: {series.title}"
    about = _data_set(site, DATA, series.title, words)
    if days:
        about["temporalCoverage"] = f"{min(days)}/{max(days)}"
        about["dateModified"] = max(days)
    about["variableMeasured"] = [_variable(measure) for measure in MEASURES]
    names = ("series.zip", "summary.csv", "summary.json", "series.json", "measures.json")
    about["distribution"] = _files(site, tuple(f"data/{name}" for name in names))
    return _as_script(about)


def describe_test(site: SiteFrame, stock: Stock, test: Test, found: TestFindings, description: str) -> Markup:
    """Return one test as a data set, a part of the series, with every measure that it has."""
    if not site.address:
        return NOTHING
    about = _data_set(site, address_of_test(test), f"{stock.name}, test of {test.date.isoformat()}", description)
    about["temporalCoverage"] = about["dateModified"] = test.date.isoformat()
    about["isPartOf"] = {"@type": "Dataset", "name": site.title, "url": canonical_address(site.address, DATA)}
    about["variableMeasured"] = [
        _variable(MEASURE_BY_ID[name]) | _value(quantity)
        for name, quantity in found.measures.items()
        if quantity.value is not None
    ]
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
        "creator": {"@type": "Person", "name": site.author}
        if site.author
        else {"@type": "Organization", "name": site.title},
    }
    if site.licence:
        about["license"] = site.licence.outside or site.licence.label
    return about


def _variable(measure: Measure) -> dict[str, object]:
    return {"@type": "PropertyValue", "propertyID": measure.id, "name": measure.name, "unitText": measure.unit}


def _value(quantity: Quantity) -> dict[str, object]:
    """Return a measure's value and interval, rounded as in the data files."""
    told = quantity_json(quantity)
    members = {"value": "value", "low": "minValue", "high": "maxValue"}
    return {theirs: told[ours] for ours, theirs in members.items() if ours in told}


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
