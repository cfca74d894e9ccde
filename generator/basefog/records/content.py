"""The series as read from the content folder: everything in it is validated, nothing in it is computed.

Ids of steps, frames, patches and views are stored lower-case; densities are absolute (base and fog included).
Records that hold arrays compare by identity; their arrays are float64 and read-only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar, Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from basefog.records.problem import Place, Problem
from basefog.records.registration import Alignment, Refusal
from basefog.records.vocabulary import STANDARD_REPEATABILITY, OptionalPage, ViewShows, ViewSubject

FloatArray = NDArray[np.float64]

SMALLEST_QUANTUM: Final = 0.001
"""Finest decimal place of a density that is counted as one (measures.md): beyond it no densitometer reads."""


def read_only(values: ArrayLike) -> FloatArray:
    """Return a copy of the values, float64, that can't be changed: what a record may hold."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


@dataclass(frozen=True, kw_only=True, slots=True)
class Box:
    """A region as fractions of a picture's width and height, origin at the top left."""

    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Correction:
    """What was put right after it had been published, and when.

    `about` is the file of the series that was corrected, for corrections of the series; None for those of a test or of
    an answer, which are about themselves.
    """

    date: date
    text: str
    about: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Patch:
    """A coloured or grey area of the subject, read on every frame; `luminous_reflectance` is Y, 0 to 1."""

    id: str
    name: str
    luminous_reflectance: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class View:
    """A named region of the subject, cut the same from every scan of its kind."""

    id: str
    name: str
    box: Box
    of: ViewSubject
    shows: ViewShows


@dataclass(frozen=True, kw_only=True, slots=True)
class Exposure:
    """How the wedge exposure was made.

    `wedge` is the id of a calibrated wedge; `lux_s` the exposure with no wedge in the beam, None if unknown (the log
    axis is then relative); `u_lux_s` its standard uncertainty, None where it is not told. `absolute` says that a
    `log_exposure` column of the readings is in log10 lux seconds.
    """

    wedge: str | None
    lux_s: float | None
    absolute: bool = False
    u_lux_s: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Protocol:
    """What is the same for every stock; `development` says in words what the comparison holds fixed."""

    developer: str
    subject: str | None
    lighting: str | None
    temperature_c: float | None
    bracket_step_stops: float | None
    grey_patch: str | None
    shadow_patch: str | None
    development: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Densitometer:
    """The densitometer; `repeatability` is the standard deviation of one reading, in density."""

    reads: str | None = None
    repeatability: float = STANDARD_REPEATABILITY
    repeatability_stated: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Enlarging:
    """How the reference is enlarged: paper id, linear magnification, exposure."""

    paper: str | None
    magnification: float | None
    exposure_s: float | None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Wedge:
    """A calibrated step wedge: step ids, diffuse densities, and their standard uncertainties where given."""

    id: str
    steps: tuple[str, ...]
    density: FloatArray
    u_density: FloatArray | None
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Paper:
    """A paper's characteristic curve, log exposure ascending, reflection density as read."""

    id: str
    log_exposure: FloatArray
    density: FloatArray
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class Batch:
    """One development batch and the densities read on its control strip."""

    id: str
    date: date
    developer: str | None
    temperature_c: float | None
    control_strip: Mapping[str, float]
    notes: str | None
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class StepReadings:
    """One step of the wedge exposure: its log exposure and the readings of it, ascending.

    `log_exposure` is log10 lux seconds where the test's exposure is absolute, else relative.
    """

    step: str
    log_exposure: float
    u_log_exposure: float
    readings: tuple[float, ...]
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class WedgeReadings:
    """Readings of one wedge exposure: steps by rising log exposure; `base` reads unexposed, processed film.

    `wedge` is the id of the wedge that gave the log exposures, None where a `log_exposure` column did. `quantum` is the
    last decimal place that the densities are told to (density); the error of rounding is quantum/sqrt(12).
    """

    steps: tuple[StepReadings, ...]
    base: tuple[float, ...]
    absolute: bool
    wedge: str | None
    place: Place
    quantum: float = SMALLEST_QUANTUM


@dataclass(frozen=True, kw_only=True, slots=True)
class Frame:
    """One frame of the bracket: `stops` against the metered frame, more light positive; readings ascending."""

    frame: str
    stops: float
    base: tuple[float, ...]
    patches: Mapping[str, tuple[float, ...]]
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class BracketReadings:
    """Readings of the bracketed frames, by rising stops then frame id.

    `quantum` is the last decimal place that the densities are told to (density), as for the wedge.
    """

    frames: tuple[Frame, ...]
    place: Place
    quantum: float = SMALLEST_QUANTUM


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One reading as understood, for `readings.csv`: which table, which row and column, what, and where it stands.

    `table` is `wedge` or `bracket`; `row` a step or frame id (or `base`); `column` the header of its column.
    """

    table: Literal["wedge", "bracket"]
    row: str
    column: str
    density: float
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class Scan:
    """One scan of a test. Width and height are of the upright picture (orientation tag applied).

    `code_density` are (code value, density) pairs, ascending in code, None if uncalibrated. `boxes` overrule where a
    view is cut, by view id. `path` is relative to the series folder. `registration` is not read but found from the
    pixels, and is None until then and where none is needed.
    """

    path: str
    of: ViewSubject
    width_px: int
    height_px: int
    bits: int
    pixels_per_mm: float | None
    code_density: tuple[tuple[float, float], ...] | None
    boxes: Mapping[str, Box]
    sha256: str
    place: Place
    registration: Alignment | Refusal | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Chapter:
    """A point in a video, in seconds from its start."""

    at_s: int
    title: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Video:
    """A video about a test."""

    address: str
    chapters: tuple[Chapter, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Prose:
    """Markdown as typed, with where its first line stands; its calls and links have been checked."""

    text: str
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class InputFile:
    """A file that a test's numbers come from."""

    path: str
    sha256: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Development:
    """How a test was developed; developer and temperature are the protocol's where the test names none."""

    developer: str
    temperature_c: float | None
    time_min: float
    agitation: str | None
    batch: str | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Test:
    """One dated run of one stock. `id` is its folder name, `YYYY-MM-DD` with an optional `-b`, `-c` ...

    `former_ids` are names that the folder once had. A test `under_way` has no readings yet and is not published: it
    stands in `Stock.under_way` alone.
    """

    DIGEST_ONCE: ClassVar = True

    stock: str
    id: str
    date: date
    exposure_index: float
    emulsion: str | None
    developed: Development
    replaces: str | None
    replaced_by: str | None
    reason: str | None
    withdrawn: str | None
    departures: tuple[str, ...]
    exposure: Exposure
    repeat: bool
    development_of: str | None
    print_exposure_s: float | None
    scans: tuple[Scan, ...]
    video: Video | None
    wedge: WedgeReadings | None
    bracket: BracketReadings | None
    readings: tuple[Reading, ...]
    inputs: tuple[InputFile, ...]
    notes: Prose | None
    place: Place
    corrections: tuple[Correction, ...] = ()
    under_way: bool = False
    former_ids: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """The test's name over the whole series: `stock/test`."""
        return f"{self.stock}/{self.id}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Stock:
    """One film. `tests` are oldest first; `current` is the id of its current test, None where no test counts.

    `under_way` are tests without readings yet, oldest first: they are not among `tests`, replace nothing and have no
    page. `planned` is whether the stock is to be tested, or the sentence that says more; `unobtainable` why it could
    not be had.
    """

    DIGEST_ONCE: ClassVar = True

    slug: str
    name: str
    maker: str | None
    box_speed: float
    process: str | None
    formats: tuple[str, ...]
    former_slugs: tuple[str, ...]
    tests: tuple[Test, ...]
    current: str | None
    notes: Prose | None
    place: Place
    under_way: tuple[Test, ...] = ()
    planned: bool | str = False
    unobtainable: str | None = None

    @property
    def current_test(self) -> Test | None:
        """The newest test that counts, or None."""
        return next((test for test in self.tests if test.id == self.current), None)

    def test(self, test_id: str) -> Test:
        """Return the test of that id. Raises KeyError where there is none."""
        for test in self.tests:
            if test.id == test_id:
                return test
        raise KeyError(test_id)


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """An audience question with its answer; `slug` and `filed` come from the file's name.

    `withdrawn` says why the answer was taken back; it stays all the same.
    """

    slug: str
    filed: date
    title: str
    asked: date | None
    answered: date | None
    stocks: tuple[str, ...]
    prose: Prose
    former_slugs: tuple[str, ...] = ()
    withdrawn: str | None = None
    corrections: tuple[Correction, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class FreePage:
    """A page of the tester's own; its first heading is its title."""

    slug: str
    title: str
    prose: Prose


@dataclass(frozen=True, kw_only=True, slots=True)
class Edition:
    """A numbered, dated record of what was published: the digests of the files it was computed from."""

    number: int
    date: date
    note: str
    inputs: tuple[InputFile, ...]
    place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class Series:
    """The whole content folder, validated. Stocks are by slug; questions newest first; `remarks` by place.

    `names` says how wedges and papers are called, by id; `optional_pages` which pages the series wants; `moved` leads
    from addresses that were once published to those of today, both from the site's root.
    """

    title: str
    address: str | None
    author: str | None
    licence: str | None
    language: str
    description: str | None
    reference: str
    protocol: Protocol
    exposure: Exposure
    densitometer: Densitometer
    patches: tuple[Patch, ...]
    views: tuple[View, ...]
    enlarging: Enlarging
    wedges: Mapping[str, Wedge]
    papers: Mapping[str, Paper]
    batches: tuple[Batch, ...]
    stocks: tuple[Stock, ...]
    questions: tuple[Question, ...]
    pages: tuple[FreePage, ...]
    editions: tuple[Edition, ...] = ()
    inputs: tuple[InputFile, ...] = ()
    remarks: tuple[Problem, ...] = ()
    names: Mapping[str, str] = field(default_factory=dict)
    optional_pages: tuple[OptionalPage, ...] = ()
    corrections: tuple[Correction, ...] = ()
    moved: Mapping[str, str] = field(default_factory=dict)

    def stock(self, slug: str) -> Stock:
        """Return the stock of that slug. Raises KeyError where there is none."""
        for stock in self.stocks:
            if stock.slug == slug:
                return stock
        raise KeyError(slug)

    @property
    def reference_stock(self) -> Stock:
        """The reference stock."""
        return self.stock(self.reference)
