"""The whole series: what is in it, one row a stock, and what each measure is."""

from collections.abc import Mapping

from basefog.publish.addresses import address_of_stock, address_of_test, address_of_test_data
from basefog.publish.data.encoding import Cell, encode_csv
from basefog.publish.data.values import (
    ERROR_DIGITS,
    Json,
    comparisons_json,
    measures_json,
    pooled_json,
)
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Factors, Findings, Scatter
from basefog.records.numbers import round_to_digits
from basefog.records.vocabulary import CONTRACT_VERSION, MEASURES

ABOUT_COLUMNS = ("stock", "name", "maker", "box_speed", "process", "formats", "test", "exposure_index", "tests")
FACTOR_DIGITS = 6
NO_CURRENT_TEST = "no test of this stock counts at present"


def measure_columns(measure: str) -> tuple[str, ...]:
    """Return the columns of one measure in the summary."""
    return (measure, f"{measure}_low", f"{measure}_high", f"{measure}_verdict", f"{measure}_why")


def summary_columns() -> tuple[str, ...]:
    """Return all columns of the summary."""
    return ABOUT_COLUMNS + tuple(column for measure in MEASURES for column in measure_columns(measure.id))


def render_summary_json(series: Series, findings: Findings) -> Json:
    """Return one row a stock with the measures of its current test."""
    rows = [_row(stock, findings) for stock in series.stocks]
    return {"contract": CONTRACT_VERSION, "reference": findings.reference, "stocks": rows}


def render_summary_csv(series: Series, findings: Findings) -> bytes:
    """Return the same rows as a table: five columns a measure."""
    return encode_csv(summary_columns(), [_cells(_row(stock, findings)) for stock in series.stocks])


def render_measures_json(series: Series, findings: Findings) -> Json:
    """Return what each measure is, where on the site it is defined, and all else that comparing two tests takes."""
    return {
        "contract": CONTRACT_VERSION,
        "measures": [
            _present(
                {
                    "id": measure.id,
                    "name": measure.name,
                    "unit": measure.unit,
                    "definition": measure.definition,
                    "address": f"method/index.html#{measure.id}",
                    "comparative": measure.comparative,
                    "scatter": _scatter_json(findings.scatter.get(measure.id)),
                    "factors": _factors_json(findings.factors.get(measure.id)),
                }
            )
            for measure in MEASURES
        ],
        "patch_scatter": {patch: _scatter_json(scatter) for patch, scatter in findings.patch_scatter.items()},
        "patch_factors": {patch: _factors_json(factors) for patch, factors in findings.patch_factors.items()},
        "wedges": wedges_json(series),
    }


def wedges_json(series: Series) -> Json:
    """Return the standard uncertainty of each step's density of every wedge that tells it, by wedge and step."""
    return {
        wedge.id: {
            step: round_to_digits(float(u_density), ERROR_DIGITS)
            for step, u_density in zip(wedge.steps, wedge.u_density, strict=True)
        }
        for wedge in series.wedges.values()
        if wedge.u_density is not None
    }


def _scatter_json(scatter: Scatter | None) -> Json | None:
    if scatter is None:
        return None
    return {
        "sigma": round_to_digits(scatter.sigma, ERROR_DIGITS),
        "relative": scatter.relative,
        "degrees_of_freedom": scatter.degrees_of_freedom,
        "from": scatter.source,
        "stocks": scatter.stocks,
    }


def _factors_json(factors: Factors | None) -> Json | None:
    """Return what half an interval and a firm difference are times the square root of the variance."""
    if factors is None:
        return None
    return {
        "stocks": factors.stocks,
        "degrees_of_freedom": factors.degrees_of_freedom,
        "student": round_to_digits(factors.student, FACTOR_DIGITS),
        "dunnett": round_to_digits(factors.dunnett, FACTOR_DIGITS),
        "any_two": round_to_digits(factors.any_two, FACTOR_DIGITS),
    }


def render_series_json(series: Series) -> Json:
    """Return what the series is and where each of its tests stands; addresses are relative to the site's root."""
    protocol = series.protocol
    about = {
        "address": series.address,
        "author": series.author,
        "licence": series.licence,
        "description": series.description,
    }
    return {
        "contract": CONTRACT_VERSION,
        "title": series.title,
        "language": series.language,
        **_present(about),
        "reference": series.reference,
        "protocol": _present(
            {
                "developer": protocol.developer,
                "subject": protocol.subject,
                "lighting": protocol.lighting,
                "temperature_c": protocol.temperature_c,
                "bracket_step_stops": protocol.bracket_step_stops,
                "grey_patch": protocol.grey_patch,
                "shadow_patch": protocol.shadow_patch,
            }
        ),
        "stocks": [
            {
                **_about(stock),
                "page": address_of_stock(stock.slug),
                "current": stock.current,
                "tests": [_test_addresses(test) for test in stock.tests],
            }
            for stock in series.stocks
        ],
    }


def _test_addresses(test: Test) -> Json:
    return {
        "test": test.id,
        "page": address_of_test(test),
        "data": address_of_test_data(test),
        "curve": address_of_test_data(test, "curve.csv"),
        "readings": address_of_test_data(test, "readings.csv"),
    }


def _about(stock: Stock) -> Json:
    own = {"stock": stock.slug, "name": stock.name, "maker": stock.maker, "box_speed": stock.box_speed}
    return _present(own | {"process": stock.process, "formats": list(stock.formats)})


def _row(stock: Stock, findings: Findings) -> Json:
    row = _about(stock) | {"tests": len(stock.tests), "page": address_of_stock(stock.slug)}
    test = stock.current_test
    if test is None:
        return row | {"test": None, "why": NO_CURRENT_TEST, "measures": {}, "pooled": {}, "against_reference": {}}
    found = findings.of(stock.slug, test.id)
    return row | {
        "test": test.id,
        "data": address_of_test_data(test),
        "exposure_index": test.exposure_index,
        "measures": measures_json(found.measures),
        "pooled": {name: pooled_json(quantity) for name, quantity in found.pooled.items()},
        "against_reference": comparisons_json(found.against_reference),
    }


def _cells(row: Mapping[str, object]) -> list[Cell]:
    formats = row.get("formats")
    about = dict(row) | {"formats": " ".join(formats) if isinstance(formats, list) else None}
    cells = [_cell(about.get(name)) for name in ABOUT_COLUMNS]
    for measure in MEASURES:
        # A stock's figure is the mean of its repeats where it has any.
        value = _member(row, "pooled", measure.id) or _member(row, "measures", measure.id)
        against = _member(row, "against_reference", measure.id)
        why = value.get("why", row.get("why")) if value.get("value") is None else None
        cells += [_cell(value.get("value")), _cell(value.get("low")), _cell(value.get("high"))]
        cells += [_cell(against.get("verdict")), _cell(why)]
    return cells


def _member(row: Mapping[str, object], group: str, name: str) -> Mapping[str, object]:
    members = row[group]
    found = members.get(name, {}) if isinstance(members, dict) else {}
    return found if isinstance(found, dict) else {}


def _cell(value: object) -> Cell:
    return value if isinstance(value, str | int | float) else None


def _present(members: Mapping[str, object]) -> Json:
    """Return the members that are there: what the tester left out is left out."""
    return {name: value for name, value in members.items() if value is not None}
