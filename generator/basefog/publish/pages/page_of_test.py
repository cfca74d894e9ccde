"""The page of one test: the view-model behind a stock's page and behind every test's permanent page.

All of it is words and addresses, made before anything is drawn; the charts are added when the page is rendered.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from markupsafe import Markup

from basefog.picture import compute_strip_greys
from basefog.publish.addresses import (
    ANY_TWO,
    address_of_comparison,
    address_of_history,
    address_of_question,
    address_of_stock,
    address_of_test,
    address_of_test_data,
)
from basefog.publish.pages.answers import Answers
from basefog.publish.pages.charts import Chart
from basefog.publish.pages.frame import METHOD, Link, format_date
from basefog.publish.pages.measure_rows import (
    MeasureRow,
    MissingRow,
    PatchRow,
    missing_rows,
    rows_of_measures,
    rows_of_patches,
)
from basefog.publish.pages.names import name_pair, name_test
from basefog.publish.pages.page_index import addresses_of_pages
from basefog.publish.pages.printing import Printing, printing_of
from basefog.publish.pages.prose import render_prose
from basefog.publish.pages.verdict import Verdict, verdict_of
from basefog.publish.pages.view_pairs import ViewPair, alignments_of, view_pairs_of
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Curve, Findings, TestFindings
from basefog.records.numbers import format_number


@dataclass(frozen=True, kw_only=True, slots=True)
class Fact:
    """One line of how a test was done; `address` is where more of it is told."""

    label: str
    value: str
    address: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Banner:
    """What a reader must know of a test before reading it: replaced, withdrawn, or one of a development series.

    `standing` is `replaced`, `withdrawn`, `development` or `current`; `why` is the tester's reason.
    """

    standing: str
    text: str
    why: str
    link: Link | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Strip:
    """The emblem of a stock: greys from 0 to 255, least exposed first."""

    name: str
    greys: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class StepRow:
    """One step of the wedge as its table tells it."""

    step: str
    log_exposure: str
    density: str
    readings: int


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameRow:
    """One frame of the bracket as its table tells it."""

    frame: str
    stops: str
    shadow_density: str
    residual_density: str
    residual_stops: str
    chosen: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class TimeRow:
    """One test of a contrast-time family."""

    test: Link
    time: str
    average_gradient: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Chapter:
    """A point in a video."""

    at: str
    title: str


@dataclass(frozen=True, kw_only=True, slots=True)
class TestPage:
    """Template variable `view` of `test.html` and `compare.html`.

    `stock` is the film's name; `name` and `reference_name` are what the two tests are called beside each other.
    `permanent` is the page that keeps this test at an address that never changes, `data` the file that holds all of it;
    `any_two` the page that sets it beside any other; `alignments` say, once for each scan, how it lay against the
    reference's.
    """

    key: str
    stock: str
    name: str
    reference_name: str
    maker: str
    process: str
    test: str
    date: str
    reference_date: str
    is_reference: bool
    banner: Banner | None
    strips: tuple[Strip, ...]
    facts: tuple[Fact, ...]
    verdict: Verdict
    measures: tuple[MeasureRow, ...]
    missing: tuple[MissingRow, ...]
    curve_note: str
    steps: tuple[StepRow, ...]
    patches: tuple[PatchRow, ...]
    frames: tuple[FrameRow, ...]
    views: tuple[ViewPair, ...]
    alignments: tuple[str, ...]
    printing: Printing | None
    times: tuple[TimeRow, ...]
    departures: tuple[str, ...]
    remarks: tuple[str, ...]
    notes: Markup
    stock_notes: Markup
    video: str
    chapters: tuple[Chapter, ...]
    questions: tuple[Link, ...]
    permanent: str
    data: str
    page_of_stock: str
    comparison: str
    any_two: str
    history: str
    tests: tuple[Link, ...]
    downloads: tuple[Link, ...]
    charts: Mapping[str, Chart] = field(default_factory=dict)


def page_of_test(
    series: Series, findings: Findings, stock: Stock, test: Test, *, address: str, known: Collection[str] | None = None
) -> TestPage:
    """Return the view-model of one test, for the page at `address`.

    `known` are the addresses of all pages, where the series is not the whole of it.
    """
    found = findings.tests[test.key]
    reference = findings.of_reference
    answers = Answers(series=series, findings=findings, page=address)
    home = address_of_test(test)
    known = addresses_of_pages(series) if known is None else known
    names = name_pair(series, stock, test)
    is_reference = test.key == findings.reference
    return TestPage(
        key=test.key,
        stock=stock.name,
        name=names[0],
        reference_name=names[1],
        maker=stock.maker or "",
        process=stock.process or "",
        test=test.id,
        date=format_date(test.date),
        reference_date=_date_of_reference(series),
        is_reference=is_reference,
        banner=banner_of(stock, test, address=address),
        strips=strips_of(names, found, None if is_reference else reference),
        facts=facts_of(series, stock, test),
        verdict=verdict_of(series, findings, test),
        measures=rows_of_measures(found, None if is_reference else reference),
        missing=missing_rows(found),
        curve_note=curve_note_of(found),
        steps=tuple(
            StepRow(
                step=step.step,
                log_exposure=format_number(step.log_exposure, 3),
                density=format_number(step.density, 3),
                readings=step.readings,
            )
            for step in found.steps
        ),
        patches=rows_of_patches(found, series),
        frames=frame_rows(found),
        views=view_pairs_of(series, findings, stock, test),
        alignments=alignments_of(series, findings, test),
        printing=printing_of(series, found, None if is_reference else reference),
        times=time_rows(stock, found),
        departures=test.departures,
        remarks=tuple(remark.message for remark in found.remarks) + remarks_of_content(series, test),
        notes=render_prose(test.notes, answers, page=address, home=home, known=known, top_level=3, prefix="notes-")
        if test.notes
        else Markup(),
        stock_notes=render_prose(
            stock.notes, answers, page=address, home=home, known=known, top_level=4, prefix="stock-"
        )
        if stock.notes
        else Markup(),
        video=test.video.address if test.video else "",
        chapters=tuple(
            Chapter(at=f"{chapter.at_s // 60}:{chapter.at_s % 60:02d}", title=chapter.title)
            for chapter in (test.video.chapters if test.video else ())
        ),
        questions=tuple(
            Link(label=question.title, address=address_of_question(question.slug))
            for question in series.questions
            if stock.slug in question.stocks
        ),
        permanent=home,
        data=address_of_test_data(test),
        page_of_stock=address_of_stock(stock.slug) if stock.current else home,
        comparison=address_of_comparison(stock.slug)
        if test.id == stock.current and reference is not None and stock.slug != series.reference
        else "",
        any_two=f"{ANY_TWO}#a={stock.slug if test.id == stock.current else test.key}",
        history=address_of_history(stock.slug),
        tests=links_of_tests(stock),
        downloads=downloads_of(test, found),
    )


def banner_of(stock: Stock, test: Test, *, address: str) -> Banner | None:
    """Return what stands above a test that is not simply the current one, or None."""
    current = stock.current_test
    if test.withdrawn:
        link = (
            Link(label=f"The current test of {stock.name}", address=address_of_stock(stock.slug)) if current else None
        )
        return Banner(standing="withdrawn", text="This test is withdrawn.", why=test.withdrawn, link=link)
    if test.replaced_by:
        successor = stock.test(test.replaced_by)
        return Banner(
            standing="replaced",
            text=f"This test was replaced by the one of {format_date(successor.date)}.",
            why=successor.reason or "",
            link=Link(label=f"Read the test of {format_date(successor.date)}", address=address_of_test(successor)),
        )
    if test.development_of:
        parent = stock.test(test.development_of)
        return Banner(
            standing="development",
            text=f"This test varies only the development time of the test of {format_date(parent.date)}.",
            why="",
            link=Link(label=f"Read the test of {format_date(parent.date)}", address=address_of_test(parent)),
        )
    if current is not None and current.id != test.id:
        return Banner(
            standing="replaced",
            text=f"A newer test of {stock.name} counts, that of {format_date(current.date)}.",
            why="",
            link=Link(label="Read the current test", address=address_of_stock(stock.slug)),
        )
    if address == address_of_test(test):
        return Banner(
            standing="current",
            text="This page keeps this test at an address that never changes. It is the current test.",
            why="",
            link=Link(label=f"{stock.name}", address=address_of_stock(stock.slug)),
        )
    return None


def facts_of(series: Series, stock: Stock, test: Test) -> tuple[Fact, ...]:
    """Return how a test was done, only what was written down."""
    temperature = test.developed.temperature_c
    said: Mapping[str, str | None] = {
        "Tested": format_date(test.date),
        "Box speed": f"{stock.box_speed:g}",
        "Exposed at": f"EI {test.exposure_index:g}",
        "Developer": test.developed.developer,
        "Time": f"{test.developed.time_min:g}\u00a0min"
        + (f" at {temperature:g}\u00a0°C" if temperature is not None else ""),
        "Agitation": test.developed.agitation,
        "Batch": test.developed.batch,
        "Emulsion": test.emulsion,
        "Process": stock.process,
        "Formats": ", ".join(stock.formats) or None,
        "Densitometer": series.densitometer.reads,
    }
    declared = any(batch.id == test.developed.batch for batch in series.batches)
    addresses = {"Batch": address_of_batch(test.developed.batch)} if declared and test.developed.batch else {}
    return tuple(
        Fact(label=label, value=value, address=addresses.get(label, "")) for label, value in said.items() if value
    )


def address_of_batch(batch: str) -> str:
    """Return where the method page tells a development batch."""
    return f"{METHOD}#batch-{batch}"


def strips_of(names: tuple[str, str], found: TestFindings, reference: TestFindings | None) -> tuple[Strip, ...]:
    """Return a test's emblem and the reference's below it; `names` are theirs."""
    pairs: list[tuple[str, Curve]] = []
    if found.curve is not None:
        pairs.append((names[0], found.curve))
    if reference is not None and reference.curve is not None:
        pairs.append((names[1], reference.curve))
    return tuple(Strip(name=name, greys=compute_strip_greys(curve)) for name, curve in pairs)


def curve_note_of(found: TestFindings) -> str:
    """Return what must be said beside the curve: why there is none, or how it departs from the plain one."""
    if found.curve is None:
        return found.curve_why or "There is no curve."
    return found.curve.note or ""


def frame_rows(found: TestFindings) -> tuple[FrameRow, ...]:
    """Return the bracket's frames for their table."""

    def number(value: float | None, decimals: int, *, signed: bool = True) -> str:
        return "" if value is None else format_number(value, decimals, signed=signed)

    return tuple(
        FrameRow(
            frame=frame.frame,
            stops=number(frame.stops, 2),
            shadow_density=number(frame.shadow_density, 3, signed=False),
            residual_density=number(frame.residual_density, 3),
            residual_stops=number(frame.residual_stops, 2),
            chosen=frame.chosen,
        )
        for frame in found.frames
    )


def time_rows(stock: Stock, found: TestFindings) -> tuple[TimeRow, ...]:
    """Return the family of tests that vary only the development time."""
    from basefog.publish.pages.quantities import format_quantity

    if found.contrast_time is None:
        return ()
    return tuple(
        TimeRow(
            test=Link(label=name_test(stock.test(point.test)), address=address_of_test(stock.test(point.test))),
            time=f"{point.time_min:g}\u00a0min",
            average_gradient=format_quantity(point.average_gradient).plain,
        )
        for point in found.contrast_time.points
    )


def remarks_of_content(series: Series, test: Test) -> tuple[str, ...]:
    """Return the remarks that concern a test's own files."""
    folder = test.place.path.rsplit("/", 1)[0] + "/"
    return tuple(remark.message for remark in series.remarks if remark.path.startswith(folder))


def links_of_tests(stock: Stock) -> tuple[Link, ...]:
    """Return every test of a stock, newest first."""
    return tuple(
        Link(
            label=name_test(test)
            + (", current" if test.id == stock.current else "")
            + (", withdrawn" if test.withdrawn else "")
            + (f", developed {test.developed.time_min:g} min" if test.development_of else "")
            + (", a repeat" if test.repeat else ""),
            address=address_of_test(test),
        )
        for test in reversed(stock.tests)
    )


def _date_of_reference(series: Series) -> str:
    current = series.reference_stock.current_test
    return format_date(current.date) if current is not None else ""


def downloads_of(test: Test, found: TestFindings) -> tuple[Link, ...]:
    """Return the data files of a test."""
    links = [Link(label="This test, whole (JSON)", address=address_of_test_data(test))]
    if found.curve is not None:
        links.append(Link(label="Curve (CSV)", address=address_of_test_data(test, "curve.csv")))
    links.append(Link(label="Readings (CSV)", address=address_of_test_data(test, "readings.csv")))
    return tuple(links)
