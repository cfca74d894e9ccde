"""A valid series becomes the records that the other rooms take, value by value."""

from datetime import date
from math import log10
from pathlib import Path

import numpy as np
import pytest

from basefog.read import read_series
from basefog.records.content import (
    Box,
    Chapter,
    Correction,
    Densitometer,
    Development,
    Edition,
    Enlarging,
    Exposure,
    InputFile,
    Patch,
    Protocol,
    Reading,
    Series,
    View,
)
from basefog.records.problem import Place
from read.faults import Changes, edit
from read.valid_series import OTHER_TEST, WEDGE, read_with, told, valid_files, write_files

FIRST = "stocks/marl-400/2026-03-14/"
SECOND = "stocks/marl-400/2026-04-02/"
OTHER = "stocks/tern-100/2026-03-14/"


def series_with(folder: Path, *changes: Changes) -> Series:
    """Return the valid series with changes; problems fail the test."""
    merged = {path: content for change in changes for path, content in change.items()}
    reading = read_with(folder, merged)
    assert reading.series is not None, told(reading)
    return reading.series


@pytest.fixture(name="series", scope="module")
def read_valid_series(tmp_path_factory: pytest.TempPathFactory) -> Series:
    """Return the valid series as read."""
    folder = tmp_path_factory.mktemp("series")
    write_files(folder, valid_files())
    reading = read_series(folder)
    assert reading.series is not None, told(reading)
    assert reading.problems == ()
    return reading.series


def test_the_series_itself(series: Series) -> None:
    """Every key of series.yaml is where the records name it."""
    assert (series.title, series.address, series.author, series.licence, series.language, series.reference) == (
        "Lantern Yard film trials",
        "https://trials.example.org/",
        "M. Osei",
        "CC-BY-4.0",
        "en",
        "marl-400",
    )
    assert series.protocol == Protocol(
        developer="metol-hydroquinone, undiluted",
        subject="plaster bust, folded wool",
        lighting="two diffused heads",
        temperature_c=20.0,
        bracket_step_stops=1 / 3,
        grey_patch="grey",
        shadow_patch="dark",
    )
    assert series.exposure == Exposure(wedge="contact-7", lux_s=0.8)
    assert series.densitometer == Densitometer(
        reads="diffuse transmission", repeatability=0.008, repeatability_stated=True
    )
    assert series.patches == (
        Patch(id="grey", name="Grey", luminous_reflectance=0.18),
        Patch(id="dark", name="Dark skin", luminous_reflectance=0.10),
    )
    assert series.views == (
        View(id="whole", name="Whole print", box=Box(x=0, y=0, w=1, h=1), of="print", shows="tone"),
        View(id="even", name="Even tone", box=Box(x=0.62, y=0.08, w=0.1, h=0.1), of="negative", shows="grain"),
    )
    assert series.enlarging == Enlarging(paper="grade-2", magnification=9.0, exposure_s=12.0)


def test_calibrations(series: Series) -> None:
    """Wedge and paper are float64 arrays that nobody can change."""
    wedge, paper = series.wedges["contact-7"], series.papers["grade-2"]

    assert wedge.steps == ("1", "2", "3", "4", "5", "6", "7")
    assert wedge.density.tolist() == [0.05, 0.35, 0.65, 0.95, 1.25, 1.55, 1.85]
    assert wedge.u_density is not None
    assert wedge.u_density.tolist() == [0.003] * 7
    assert paper.log_exposure.tolist() == [0.0, 0.3, 0.6, 0.9, 1.2, 1.5]
    assert paper.density.tolist() == [0.06, 0.10, 0.55, 1.40, 1.95, 2.05]
    for array in (wedge.density, wedge.u_density, paper.log_exposure, paper.density):
        assert array.dtype == np.float64
        assert not array.flags.writeable


def test_a_test_with_readings(series: Series) -> None:
    """A test has its readings by rising exposure, each with file and line, and the files its numbers came from."""
    test = series.stock("marl-400").test("2026-03-14")
    assert test.wedge is not None
    assert test.bracket is not None

    assert (test.exposure_index, test.emulsion, test.date) == (400.0, "0417-2", date(2026, 3, 14))
    assert test.developed == Development(
        developer="metol-hydroquinone, undiluted",
        temperature_c=20.0,
        time_min=8.5,
        agitation="5 s each 30 s",
        batch="2026-03-14-tank-2",
    )
    assert [step.step for step in test.wedge.steps] == ["7", "6", "5", "4", "3", "2", "1"]
    # log H = log10(lux_s) - D of the wedge (measures.md, "Log exposure of a step").
    assert test.wedge.steps[0].log_exposure == log10(0.8) - 1.85
    assert test.wedge.steps[0].u_log_exposure == 0.003
    assert test.wedge.steps[0].readings == (0.30, 0.30, 0.31)
    assert (test.wedge.absolute, test.wedge.wedge, test.wedge.base) == (True, "contact-7", (0.24, 0.24, 0.25))
    assert [frame.frame for frame in test.bracket.frames] == ["6", "7", "8"]
    assert test.bracket.frames[2].patches == {"dark": (0.66,), "grey": (0.85, 0.85)}
    assert len(test.readings) == 24 + 10
    assert test.readings[1] == Reading(
        table="wedge", row="1", column="second", density=1.43, place=Place(path=FIRST + "wedge.csv", line=2, column=8)
    )
    assert test.readings[-1] == Reading(
        table="bracket",
        row="8",
        column="grey",
        density=0.85,
        place=Place(path=FIRST + "bracket.csv", line=5, column=10),
    )
    assert [item.path for item in test.inputs] == [FIRST + "bracket.csv", FIRST + "wedge.csv", "wedges/contact-7.csv"]
    assert all(len(item.sha256) == 64 for item in test.inputs)


def test_a_test_with_scans(series: Series) -> None:
    """Scans carry size, digest, calibration and boxes; the video its chapters in seconds."""
    test = series.stock("marl-400").test("2026-04-02")

    print_scan, negative = test.scans

    assert (print_scan.path, print_scan.width_px, print_scan.height_px, print_scan.bits) == (
        SECOND + "scans/print.png",
        40,
        30,
        8,
    )
    assert (print_scan.of, print_scan.pixels_per_mm, print_scan.code_density) == ("print", 23.6, None)
    assert negative.code_density == ((0.0, 2.12), (128.0, 1.09), (255.0, 0.06))
    assert negative.boxes == {"even": Box(x=0.60, y=0.10, w=0.10, h=0.10)}
    assert len(negative.sha256) == 64
    assert test.video is not None
    assert test.video.chapters == (Chapter(at_s=220, title="Curves"),)
    assert test.print_exposure_s == 13.4
    assert test.departures == ("Camera remounted between frames 6 and 7",)


def test_history(series: Series) -> None:
    """The newest test is current, and the one it replaced knows it."""
    stock = series.reference_stock

    assert stock.current == "2026-04-02"
    assert stock.test("2026-03-14").replaced_by == "2026-04-02"
    assert stock.test("2026-04-02").replaces == "2026-03-14"
    assert (stock.name, stock.maker, stock.box_speed, stock.formats, stock.former_slugs) == (
        "Marl 400",
        "Quarry & Sons",
        400.0,
        ("135", "120"),
        ("marl-iso-400",),
    )


def test_prose(series: Series) -> None:
    """Questions begin after their front matter, pages are titled by their first heading, notes are as typed."""
    question, page = series.questions[0], series.pages[0]

    assert (question.slug, question.filed, question.title, question.stocks) == (
        "finer",
        date(2026, 3, 22),
        "Is Tern finer?",
        ("tern-100",),
    )
    assert question.prose.place == Place(path="questions/2026-03-22-finer.md", line=7)
    assert question.prose.text.startswith("It is {{")
    assert (page.slug, page.title) == ("about", "About the trials")
    notes = series.stock("marl-400").notes
    assert notes is not None
    assert notes.text == "A steady film.\n"


def test_batches_and_inputs(series: Series) -> None:
    """Batches carry their strip; the series lists every table that numbers come from."""
    batch = series.batches[0]

    assert (batch.id, batch.date, batch.temperature_c) == ("2026-03-14-tank-2", date(2026, 3, 14), 20.0)
    assert batch.control_strip == {"base": 0.24, "low": 0.42, "mid": 0.98, "high": 1.61}
    assert [item.path for item in series.inputs] == [
        "papers/grade-2.csv",
        FIRST + "bracket.csv",
        FIRST + "wedge.csv",
        SECOND + "wedge.csv",
        OTHER + "wedge.csv",
        "wedges/contact-7.csv",
    ]


def test_relative_exposure(tmp_path: Path) -> None:
    """Without lux_s log exposure is minus the wedge's density: zero with no wedge."""
    series = series_with(tmp_path, edit("series.yaml", ", lux_s: 0.8", ""))

    wedge = series.stock("tern-100").tests[0].wedge

    assert wedge is not None
    assert (wedge.absolute, wedge.steps[0].log_exposure) == (False, -1.85)


@pytest.mark.parametrize("absolute", [True, False])
def test_a_log_exposure_column_replaces_the_wedge(tmp_path: Path, absolute: bool) -> None:
    """With its own column a table needs no wedge, and is absolute only where the test says so."""
    table = "Step,LOG_EXPOSURE,D\nb,-1/2,0.42\nA,-1.25,0.30\nBase,,0.24\n"
    exposure = "exposure: {absolute: true}\n" if absolute else ""

    series = series_with(tmp_path, {OTHER + "wedge.csv": table, OTHER + "test.yaml": OTHER_TEST + exposure})

    test = series.stock("tern-100").tests[0]
    assert test.wedge is not None
    assert (test.wedge.absolute, test.wedge.wedge, test.wedge.base) == (absolute, None, (0.24,))
    assert [(step.step, step.log_exposure, step.u_log_exposure) for step in test.wedge.steps] == [
        ("a", -1.25, 0.0),
        ("b", -0.5, 0.0),
    ]
    assert [item.path for item in test.inputs] == [OTHER + "wedge.csv"]


def test_frames_stand_by_their_light_whatever_they_are_called(tmp_path: Path) -> None:
    """A bracket shot from much light to little is as good as one the other way, and comes out by rising light."""
    table = "frame,stops,base,grey,dark\n6,+1/3,0.24,0.85,0.66\n7,0,0.24,0.78,0.59\n8,-1/3,0.24,0.71,0.52\n"

    reading = read_with(tmp_path, {FIRST + "bracket.csv": table})

    assert told(reading) == []
    assert reading.series is not None
    bracket = reading.series.stock("marl-400").test("2026-03-14").bracket
    assert bracket is not None
    assert [frame.frame for frame in bracket.frames] == ["8", "7", "6"]


def test_a_fall_with_light_is_told_whatever_the_frames_are_called(tmp_path: Path) -> None:
    """Where frames count down as the light grows, a patch that turns paler with it is told all the same."""
    table = "frame,stops,base,grey,dark\n6,+1/3,0.24,0.65,0.66\n7,0,0.24,0.78,0.59\n8,-1/3,0.24,0.71,0.52\n"

    (fall,) = told(read_with(tmp_path, {FIRST + "bracket.csv": table}))

    assert "frame 6, grey got more light than frame 7, grey, but its density 0.650 is lower than 0.780" in fall


def test_a_frame_of_which_nothing_was_read_is_no_frame(tmp_path: Path) -> None:
    """A row of dashes keeps its place in the tester's list and is not handed on."""
    table = "frame,stops,base,grey,dark\n6,-1/3,0.24,0.71,0.52\n7,0,-,-,-\n8,+1/3,0.25,0.85,0.66\n"

    bracket = series_with(tmp_path, {FIRST + "bracket.csv": table}).stock("marl-400").test("2026-03-14").bracket

    assert bracket is not None
    assert [frame.frame for frame in bracket.frames] == ["6", "8"]


def test_a_frame_read_twice_stands_where_it_was_first_typed(tmp_path: Path) -> None:
    """Of two rows of one frame the first is the place that is told of it."""
    bracket = series_with(tmp_path).stock("marl-400").test("2026-03-14").bracket

    assert bracket is not None
    assert [(frame.frame, frame.place.line) for frame in bracket.frames] == [("6", 2), ("7", 3), ("8", 4)]


def test_an_own_log_exposure_has_no_error_of_the_wedge(tmp_path: Path) -> None:
    """Steps that are called as those of the series' wedge, but have a log exposure of their own, do not rest on it."""
    series = series_with(
        tmp_path, {OTHER + "wedge.csv": "step,log_exposure,D\n1,-1.25,0.30\n2,-0.5,0.42\nbase,,0.24\n"}
    )

    test = series.stock("tern-100").tests[0]

    assert series.wedges["contact-7"].u_density is not None
    assert test.wedge is not None
    assert [step.u_log_exposure for step in test.wedge.steps] == [0.0, 0.0]


def test_a_test_may_have_its_own_exposure(tmp_path: Path) -> None:
    """A test's exposure replaces the series' whole: a wedge without lux_s is relative."""
    series = series_with(tmp_path, {OTHER + "test.yaml": OTHER_TEST + "exposure: {wedge: contact-7}\n"})

    test = series.stock("tern-100").tests[0]

    assert test.exposure == Exposure(wedge="contact-7", lux_s=None)
    assert test.wedge is not None
    assert not test.wedge.absolute


def test_a_wedge_without_uncertainty_and_out_of_order(tmp_path: Path) -> None:
    """Steps are sorted by density, numbered rows may stand in any order, and no u_density is None."""
    table = "Step;Density\n3;0,65\n1;0,05\n2;0,35\n4;0,95\n5;1,25\n6;1,55\n07;1,85\n"

    wedge = series_with(tmp_path, {"wedges/contact-7.csv": table}).wedges["contact-7"]

    assert (wedge.steps, wedge.u_density) == (("1", "2", "3", "4", "5", "6", "7"), None)


def test_words_for_steps(tmp_path: Path) -> None:
    """Steps may be words; they are then taken in the order of their rows, and without case."""
    series = series_with(
        tmp_path,
        {
            "wedges/contact-7.csv": "step,density\nThin,0.05\nmiddle,0.5\ndense,1\n",
            **{path + "wedge.csv": "step,D\nTHIN,1.2\nMiddle,0.8\ndense,0.4\n" for path in (FIRST, SECOND, OTHER)},
        },
    )

    wedge = series.stock("tern-100").tests[0].wedge

    assert wedge is not None
    assert [step.step for step in wedge.steps] == ["dense", "middle", "thin"]


REPLACES = "replaces: 2026-03-14\nreason: The camera moved.\n"


@pytest.mark.parametrize(
    ("first", "second", "current"),
    [
        ("", "withdrawn: light leak\n", "2026-03-14"),
        ("", "development_of: 2026-03-14\n", "2026-03-14"),
        ("", "repeat: true\n", "2026-04-02"),
        ("", REPLACES, "2026-04-02"),
        ("", REPLACES + "withdrawn: light leak\n", None),
        ("current: true\n", REPLACES + "withdrawn: light leak\n", "2026-03-14"),
        ("", REPLACES + "under_way: true\n", "2026-03-14"),
        ("", "repeat: true\nunder_way: true\n", "2026-03-14"),
        ("current: true\n", "", "2026-03-14"),
        ("withdrawn: a\n", "withdrawn: b\n", None),
        ("withdrawn: a\n", "", "2026-04-02"),
        ("development_of: 2026-04-02\n", "under_way: false\n", "2026-04-02"),
    ],
)
def test_which_test_is_current(tmp_path: Path, first: str, second: str, current: str | None) -> None:
    """The newest test that counts is current, unless one is marked so.

    Withdrawn tests, replaced ones (also by a test that was withdrawn), development variants and tests under way do not
    count; a test under way replaces nothing yet.
    """
    series = series_with(tmp_path, {FIRST + "test.yaml": OTHER_TEST + first, SECOND + "test.yaml": OTHER_TEST + second})

    assert series.reference_stock.current == current


def test_a_test_under_way_stands_apart(tmp_path: Path) -> None:
    """It is no test of the stock yet, needs neither readings, batch nor scans, and leaves what it replaces in place."""
    folder = "stocks/tern-100/2026-05-01/"
    keys = "replaces: 2026-03-14\nreason: x\nunder_way: true\nscans: [{file: scans/print.jpg, of: print}]\n"
    text = OTHER_TEST.replace("time_min: 7", "time_min: 7, batch: 2026-05-01-tank") + keys

    stock = series_with(tmp_path, {folder + "test.yaml": text, folder + "notes.md": "Waiting.\n"}).stock("tern-100")

    assert [test.id for test in stock.tests] == ["2026-03-14"]
    assert stock.tests[0].replaced_by is None
    (waiting,) = stock.under_way
    assert (
        waiting.key,
        waiting.under_way,
        waiting.replaces,
        waiting.developed.batch,
        waiting.wedge,
        waiting.scans,
    ) == (
        "tern-100/2026-05-01",
        True,
        "2026-03-14",
        "2026-05-01-tank",
        None,
        (),
    )
    assert waiting.notes is not None


def test_the_keys_of_a_series_that_has_grown(tmp_path: Path) -> None:
    """What the comparison holds fixed, the lamp's error, names, wanted pages, corrections by date, moved addresses."""
    more = """\
names: {grade-2: "Matt paper, grade 2", contact-7: Seven steps}
optional_pages: [open, coming, open]
corrections:
  - {date: 2026-05-02, about: wedges/contact-7.csv, text: Step 3 was typed 0.56.}
  - {date: 2026-04-20, about: papers/grade-2.csv, text: The paper was read again.}
moved: {pages/old-name/: pages/about/, data/old.csv: data/summary.csv}
"""
    change = edit("series.yaml", "lux_s: 0.8", "lux_s: 0.8, u_lux_s: 0.05")
    text = str(change["series.yaml"]).replace("  bracket_step", "  development: by its maker's time\n  bracket_step")

    series = series_with(tmp_path, {"series.yaml": text + more})

    assert series.protocol.development == "by its maker's time"
    assert series.exposure == Exposure(wedge="contact-7", lux_s=0.8, u_lux_s=0.05)
    assert series.names == {"grade-2": "Matt paper, grade 2", "contact-7": "Seven steps"}
    assert series.optional_pages == ("open", "coming")
    assert series.corrections == (
        Correction(date=date(2026, 4, 20), about="papers/grade-2.csv", text="The paper was read again."),
        Correction(date=date(2026, 5, 2), about="wedges/contact-7.csv", text="Step 3 was typed 0.56."),
    )
    assert series.moved == {"pages/old-name/": "pages/about/", "data/old.csv": "data/summary.csv"}


def test_a_test_and_an_answer_that_were_put_right(tmp_path: Path) -> None:
    """Corrections, former names and withdrawn answers are where the records name them."""
    correction = "corrections: [{date: 2026-05-02, text: Typed wrongly.}]\n"
    question = edit(
        "questions/2026-03-22-finer.md",
        "stocks:",
        f"former_slugs: [is-it-finer]\nwithdrawn: The scan was of another film.\n{correction}stocks:",
    )
    test = OTHER_TEST + correction + "former_ids: [2026-03-13, 2026-03-13-b]\n"

    series = series_with(tmp_path, {**question, OTHER + "test.yaml": test})

    typed = (Correction(date=date(2026, 5, 2), text="Typed wrongly."),)
    tern = series.stock("tern-100").tests[0]
    assert (tern.corrections, tern.former_ids) == (typed, ("2026-03-13", "2026-03-13-b"))
    answer = series.questions[0]
    assert (answer.former_slugs, answer.withdrawn, answer.corrections) == (
        ("is-it-finer",),
        "The scan was of another film.",
        typed,
    )


@pytest.mark.parametrize(
    ("line", "planned", "unobtainable"),
    [
        ("planned: true", True, None),
        ("planned: When it is made again.", "When it is made again.", None),
        ("planned: false", False, None),
        ("unobtainable: No shop had it.", False, "No shop had it."),
    ],
)
def test_a_stock_without_tests(tmp_path: Path, line: str, planned: bool | str, unobtainable: str | None) -> None:
    """It may be to come, with or without a sentence on it, or not to be had."""
    path = "stocks/wren-50/stock.yaml"

    stock = series_with(tmp_path, {path: f"name: Wren 50\nbox_speed: 50\n{line}\n"}).stock("wren-50")

    assert (stock.planned, stock.unobtainable, stock.tests, stock.current) == (planned, unobtainable, (), None)


@pytest.mark.parametrize(("typed", "quantum"), [("0.9", 0.1), ("0.87", 0.01), ("0.870", 0.001), ("0.87012", 0.001)])
def test_the_last_decimal_place(tmp_path: Path, typed: str, quantum: float) -> None:
    """Readings carry the last place of the finest density of their file, the third at most, whichever typed it."""
    wedge = f"step,D\n1,1.4\n2,1.2\n3,1\n4,{typed}\n5,.7\n6,0.5\n7,0.3\nbase,0.3\n"
    bracket = f"frame,stops,grey,dark\n6,-1/3,0.7,0.5\n7,0,0.8,{typed}\n"

    series = series_with(tmp_path, {OTHER + "wedge.csv": wedge, OTHER + "bracket.csv": bracket})

    test = series.stock("tern-100").tests[0]
    assert test.wedge is not None
    assert test.bracket is not None
    assert (test.wedge.quantum, test.bracket.quantum) == (quantum, quantum)


def test_several_tests_of_one_day(tmp_path: Path) -> None:
    """Suffixes -b, -c follow the day itself, and the last is current."""
    folder = "stocks/tern-100/2026-03-14"
    more: Changes = {
        f"{folder}-{letter}/{name}": content
        for letter in "cb"
        for name, content in (("test.yaml", OTHER_TEST + "repeat: true\n"), ("wedge.csv", WEDGE))
    }

    stock = series_with(tmp_path, more).stock("tern-100")

    assert [test.id for test in stock.tests] == ["2026-03-14", "2026-03-14-b", "2026-03-14-c"]
    assert stock.current == "2026-03-14-c"


def test_scalars_mean_what_was_typed(tmp_path: Path) -> None:
    """Words that other readers of YAML turn into truth values, times or numbers stay text where text is meant."""
    names = (
        "name: no\nmaker: 12:30\nprocess: 1e3\nbox_speed: 1/3\n"
        "formats: [0417, 1_000, 2026-03-14, .5, 0x1F, yes, 'null']\n"
    )

    stock = series_with(tmp_path, {"stocks/tern-100/stock.yaml": names}).stock("tern-100")

    assert (stock.name, stock.maker, stock.process, stock.box_speed) == ("no", "12:30", "1e3", 1 / 3)
    assert stock.formats == ("0417", "1_000", "2026-03-14", ".5", "0x1F", "yes", "null")


def test_null_is_as_if_not_typed(tmp_path: Path) -> None:
    """A key whose value is null, a tilde or nothing counts as left out."""
    nulls = "maker: null\nprocess: ~\nformats:\nformer_slugs: NULL\n"

    stock = series_with(tmp_path, {"stocks/tern-100/stock.yaml": "name: T\nbox_speed: 1\n" + nulls}).stock("tern-100")

    assert (stock.maker, stock.process, stock.formats, stock.former_slugs) == (None, None, (), ())


def test_code_density_from_a_table(tmp_path: Path) -> None:
    """A scanner's calibration may be a table beside the test, or shared by tests of the series; it is an input."""
    table = "code;density\n" + "".join(
        f"{code};{(2.1 - code / 130):.3f}\n".replace(".", ",") for code in range(0, 256, 15)
    )
    change = edit(SECOND + "test.yaml", "[[0, 2.12], [128, 1.09], [255, 0.06]]", "../../../wedges/../stocks/code.csv")

    reading = read_with(tmp_path, {**change, "stocks/code.csv": table})

    assert told(reading) == ["stocks/code.csv:1:1: remark: this file is not read | Take it away if it is not needed."]
    assert reading.series is not None
    test = reading.series.stock("marl-400").test("2026-04-02")
    assert test.scans[1].code_density is not None
    assert test.scans[1].code_density[0] == (0.0, 2.1)
    assert "stocks/code.csv" in [item.path for item in test.inputs]


def test_editions(tmp_path: Path) -> None:
    """An edition is its number, day, note and the digests of its inputs."""
    text = f"number: 2\ndate: 2026-04-05\nnote: First.\ninputs:\n  - {{path: a.csv, sha256: {'0' * 64}}}\n"

    series = series_with(tmp_path, {"editions/2.yaml": text})

    assert series.editions == (
        Edition(
            number=2,
            date=date(2026, 4, 5),
            note="First.",
            inputs=(InputFile(path="a.csv", sha256="0" * 64),),
            place=Place(path="editions/2.yaml"),
        ),
    )


def test_the_smallest_series(tmp_path: Path) -> None:
    """Only what the contract requires is required."""
    write_files(
        tmp_path,
        {
            "series.yaml": b"title: T\nreference: a\nprotocol: {developer: d}\n",
            "stocks/a/stock.yaml": b"name: A\nbox_speed: 100\n",
            "stocks/a/2026-03-14/test.yaml": b"exposure_index: 100\ndeveloped: {time_min: 8}\n",
            "stocks/a/2026-03-14/wedge.csv": b"step,log_exposure,D\n1,-1,0.3\n2,-0.5,0.8\nbase,,0.25\n",
        },
    )

    reading = read_series(tmp_path)

    assert reading.series is not None
    assert reading.series.remarks == reading.problems
    assert [(entry.level, entry.path) for entry in reading.problems] == [("remark", "series.yaml")]
    assert (reading.series.densitometer.repeatability, reading.series.densitometer.repeatability_stated) == (
        0.01,
        False,
    )
    assert reading.series.language == "en"
