"""What measuring asks of a series and of its tests, and no more: no note changes it, and no other test's reading."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from basefog.records.content import (
    BracketReadings,
    Development,
    Exposure,
    FloatArray,
    Paper,
    Series,
    Test,
    WedgeReadings,
    read_only,
)
from basefog.records.problem import Place

NOWHERE = Place(path="")


@dataclass(frozen=True, kw_only=True, slots=True)
class PaperReadings:
    """The readings of a paper, by rising log exposure."""

    id: str
    log_exposure: tuple[float, ...]
    density: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Terms:
    """On what terms every test of a series is measured.

    `repeatability` is the standard deviation of one reading, density; `paper_id` the paper that the series prints on,
    None where it names none, and `paper` its readings, None where there are none; `patches` the ids of all patches.
    """

    repeatability: float
    grey_patch: str | None
    shadow_patch: str | None
    patches: tuple[str, ...]
    paper_id: str | None
    paper: PaperReadings | None

    @classmethod
    def of(cls, series: Series) -> "Terms":
        """Return the terms of a series."""
        paper = series.papers.get(series.enlarging.paper or "")
        return cls(
            repeatability=series.densitometer.repeatability,
            grey_patch=series.protocol.grey_patch,
            shadow_patch=series.protocol.shadow_patch,
            patches=tuple(patch.id for patch in series.patches),
            paper_id=series.enlarging.paper,
            paper=None if paper is None else _readings_of(paper),
        )

    @property
    def papers(self) -> Mapping[str, Paper]:
        """The paper that the series prints on, by its id; empty where it has no readings."""
        if self.paper is None:
            return {}
        log_exposure, density = read_only(self.paper.log_exposure), read_only(self.paper.density)
        return {self.paper.id: Paper(id=self.paper.id, log_exposure=log_exposure, density=density, place=NOWHERE)}


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """Tests that are measured together: what `family.measure_family` is called with.

    `tests` are those of one family, bare (see `bare`), by time of development; `reference` the reference's current test
    and its repeats, likewise, the current one first; `shutter_stops`, how well exposures repeat over the series, None
    where that isn't known yet.
    """

    tests: tuple[Test, ...]
    reference: tuple[Test, ...]
    terms: Terms
    shutter_stops: float | None


def bare(test: Test) -> Test:
    """Return a test with nothing in it but what its measures hang on.

    Those are its readings, without where they stand in their files, its exposure, and its time of development.
    """
    return Test(
        stock=test.stock,
        id=test.id,
        date=test.date,
        exposure_index=test.exposure_index,
        emulsion=None,
        developed=Development(
            developer="", temperature_c=None, time_min=test.developed.time_min, agitation=None, batch=None
        ),
        replaces=None,
        replaced_by=None,
        reason=None,
        withdrawn=None,
        departures=(),
        exposure=Exposure(wedge=None, lux_s=test.exposure.lux_s, u_lux_s=test.exposure.u_lux_s),
        repeat=False,
        development_of=test.development_of,
        print_exposure_s=None,
        scans=(),
        video=None,
        wedge=None if test.wedge is None else _bare_wedge(test.wedge),
        bracket=None if test.bracket is None else _bare_bracket(test.bracket),
        readings=(),
        inputs=(),
        notes=None,
        place=NOWHERE,
    )


def _bare_wedge(wedge: WedgeReadings) -> WedgeReadings:
    return replace(wedge, steps=tuple(replace(step, place=NOWHERE) for step in wedge.steps), place=NOWHERE)


def _bare_bracket(bracket: BracketReadings) -> BracketReadings:
    return replace(bracket, frames=tuple(replace(frame, place=NOWHERE) for frame in bracket.frames), place=NOWHERE)


def _readings_of(paper: Paper) -> PaperReadings:
    return PaperReadings(id=paper.id, log_exposure=_floats(paper.log_exposure), density=_floats(paper.density))


def _floats(values: FloatArray) -> tuple[float, ...]:
    return tuple(values.tolist())
