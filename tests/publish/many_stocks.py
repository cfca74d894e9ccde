"""A series of many stocks with findings that cost nothing: invented numbers, no readings, nothing measured."""

import random
from dataclasses import replace
from pathlib import Path

import numpy as np

from basefog.judge import compare, rule_of
from basefog.measure.resampling import NORMAL_FACTOR
from basefog.publish.pages.frame import SUMMARY, frame_of, head_of
from basefog.publish.pages.page_of_summary import page_of_summary
from basefog.publish.pages.plan import make_summary
from basefog.publish.theme import load_theme, make_assets
from basefog.records.content import Series
from basefog.records.findings import Comparison, Curve, ErrorParts, Findings, Quantity, Scatter
from basefog.records.vocabulary import MEASURES
from publish.invented import make_found, make_series, make_stock
from publish.page_series import THEME_FOLDER

MAKERS = ("Quarry & Sons", "Halse Row Film", "Trevose Coating", "Uplund Works", "<Narrow> Lane")
NAMES = "Gull Knot Marl Tern Wold Fell Dimity Brindle Twyne Oldmoor Sallow Remnet Scantle Larkspar".split()  # noqa: SIM905
SPEEDS = (25, 50, 80, 100, 125, 200, 320, 400, 640, 800, 1600)
COMPARATIVE = ("speed_from_reference", "shadow_match", "matching_time")


def many_stocks(count: int, *, scatter: bool = False) -> tuple[Series, Findings]:
    """Return a series of so many stocks and its findings; the first stock is the reference."""
    rng = random.Random(count)  # noqa: S311  # the same invented numbers each time
    stocks = []
    for index in range(count):
        speed = rng.choice(SPEEDS)
        name, maker = f"{NAMES[index % len(NAMES)]} {speed}", rng.choice(MAKERS)
        tests = ("2026-01-05", "2026-04-01") if index % 4 == 1 else ("2026-04-01",)
        stock = make_stock(f"stock-{index:04}", name, tests, maker=maker, box_speed=speed)
        stocks.append(replace(stock, process=rng.choice((None, "chromogenic"))))
    series = replace(make_series(), stocks=tuple(stocks), reference="stock-0000", questions=(), remarks=())
    reference = f"stock-0000/{stocks[0].current}"
    spread = (
        {
            name: Scatter(measure=name, sigma=0.01, degrees_of_freedom=6, source="repeats", stocks=3)
            for name in ("average_gradient", "base_plus_fog")
        }
        if scatter
        else {}
    )
    of_reference = _quantities(rng, spread, first=True)
    tests_found = {}
    for stock in stocks:
        for test in stock.tests:
            found = make_found(test, reference, current=test.id == stock.current)
            measures = of_reference if test.key == reference else _quantities(rng, spread)
            tests_found[test.key] = replace(
                found,
                measures=measures,
                against_reference={} if test.key == reference else _against(measures, of_reference, spread),
                curve=_curve(rng),
                curve_why=None,
            )
    return series, Findings(tests=tests_found, reference=reference, scatter=spread)


def write_summary(folder: Path, series: Series, findings: Findings) -> int:
    """Write the summary of a series with the theme's assets, no other page; return the bytes of the page."""
    theme, site = load_theme(THEME_FOLDER), frame_of(series)
    files = make_assets(assets=theme.assets) | make_summary(
        theme=theme,
        site=site,
        page=head_of(site, SUMMARY, series.title, "Many stocks."),
        view=page_of_summary(series, findings),
        tests={stock.slug: findings.of(stock.slug, stock.current or "") for stock in series.stocks},
        reference=findings.of_reference,
    )
    for address, data in files.items():
        path = folder / address
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return len(files[SUMMARY])


def _quantities(rng: random.Random, spread: dict[str, Scatter], *, first: bool = False) -> dict[str, Quantity]:
    found = {}
    for measure in MEASURES:
        value, half = rng.gauss(0.6, 0.1), abs(rng.gauss(0.02, 0.01)) + 0.001
        kind = rng.random()
        if kind < 0.08 and not first:
            why = "the curve ends 0.14 log units before the end of the tone range"
            found[measure.id] = Quantity(value=None, low=None, high=None, unit=measure.unit, why=why)
            continue
        bound = "lower" if measure.id in ("maximum_density", "useful_range") and kind > 0.5 else None
        dense = rng.choice((0.9, 1.0, 1.1)) if measure.id == "rms_granularity" else None
        scale = 20.0 if measure.id in ("rms_granularity", "mtf50", "print_exposure") else 1.0
        if first and measure.id in COMPARATIVE:
            value = half = 0.0
        found[measure.id] = Quantity(
            value=value * scale,
            low=(value - half) * scale,
            high=(value + half) * scale,
            unit=measure.unit,
            bound=bound,
            at_density=dense,
            parts=ErrorParts(unshared=(half * scale / NORMAL_FACTOR) ** 2),
            scatter=spread[measure.id].sigma if measure.id in spread else None,
        )
    return found


def _against(
    own: dict[str, Quantity], others: dict[str, Quantity], scatter: dict[str, Scatter]
) -> dict[str, Comparison]:
    return {
        name: compare(rule_of(name, scatter.get(name), firm=None), own[name], others[name])
        for name in own
        if name not in COMPARATIVE
    }


def _curve(rng: random.Random) -> Curve:
    x = np.linspace(-3.0, 0.2, 65)
    slope, toe = rng.gauss(0.6, 0.05), rng.gauss(-2.3, 0.2)
    density = 0.2 + rng.random() * 0.2 + slope * 0.2 * np.logaddexp(0.0, (x - toe) / 0.2)
    gradient = np.gradient(density, x)
    return Curve(
        log_exposure=x,
        density=density,
        low=density - 0.01,
        high=density + 0.01,
        gradient=gradient,
        gradient_low=gradient - 0.01,
        gradient_high=gradient + 0.01,
        absolute=True,
        axis="contact-21",
    )
