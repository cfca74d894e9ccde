"""The YAML files of the content folder, key by key, as the contract lists them.

`examples` of a field are what a mend shows where a required key is missing.
"""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from basefog.read.fields import (
    BoxSides,
    ClockTime,
    Density,
    Digest,
    Flag,
    FlagOrSentence,
    Id,
    IsoDate,
    Language,
    Name,
    PageAddress,
    Reason,
    SiteAddress,
    Slug,
    TestId,
    Text,
    ViewId,
    WebAddress,
    choice,
    expected,
    number,
    parse_number,
)

_Seconds = Annotated[float, number("a number of seconds above 0", 0, 1e6, above=True)]
_Celsius = Annotated[float, number("a temperature in degrees Celsius from 0 to 100", 0, 100)]
_LuxSeconds = Annotated[float, number("an exposure in lux seconds above 0", 0, 1e9, above=True)]
_Speed = Annotated[float, number("a film speed above 0", 0, 1e6, above=True)]


class _Keys(BaseModel):
    """A mapping with known keys only."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class CorrectionKeys(_Keys):
    """What was put right in a test or an answer."""

    date: Annotated[IsoDate, Field(examples=["2026-05-02"])]
    text: Annotated[Text, Field(examples=["Step 9 was typed 1.24 for 1.42."])]


class SeriesCorrectionKeys(CorrectionKeys):
    """What was put right in a file that many tests rest on."""

    about: Annotated[Text, Field(examples=["wedges/contact-21.csv"])]


class ExposureKeys(_Keys):
    """How a wedge was exposed."""

    wedge: Slug | None = None
    lux_s: _LuxSeconds | None = None
    u_lux_s: _LuxSeconds | None = None
    absolute: Flag = False


class ProtocolKeys(_Keys):
    """What is the same for every stock."""

    developer: Annotated[Name, Field(examples=["metol-hydroquinone, undiluted"])]
    subject: Text | None = None
    lighting: Text | None = None
    temperature_c: _Celsius | None = None
    development: Text | None = None
    bracket_step_stops: Annotated[float, number("a number of stops above 0", 0, 10, above=True)] | None = None
    grey_patch: Id | None = None
    shadow_patch: Id | None = None


class DensitometerKeys(_Keys):
    """The densitometer."""

    reads: Text | None = None
    repeatability: (
        Annotated[float, number("a standard deviation above 0 and at most 0.5", 0, 0.5, above=True)] | None
    ) = None


class PatchKeys(_Keys):
    """A patch of the subject."""

    id: Annotated[Id, Field(examples=["grey"])]
    name: Name | None = None
    luminous_reflectance: Annotated[float, number("a reflectance above 0 and at most 1", 0, 1, above=True)] | None = (
        None
    )


class ViewKeys(_Keys):
    """A view of the subject."""

    id: Annotated[ViewId, Field(examples=["whole"])]
    name: Name | None = None
    box: Annotated[BoxSides, Field(examples=["[0, 0, 1, 1]"])]
    of: Annotated[Literal["print", "negative"], choice("print", "negative")] = "print"
    shows: Annotated[Literal["tone", "grain", "sharpness"], choice("tone", "grain", "sharpness")] = "tone"


class EnlargingKeys(_Keys):
    """How the reference is enlarged."""

    paper: Slug | None = None
    magnification: Annotated[float, number("a magnification above 0", 0, 1000, above=True)] | None = None
    exposure_s: _Seconds | None = None


class SeriesKeys(_Keys):
    """series.yaml."""

    title: Annotated[Name, Field(examples=["Lantern Yard film trials"])]
    address: SiteAddress | None = None
    author: Name | None = None
    licence: Name | None = None
    language: Language = "en"
    description: Text | None = None
    reference: Annotated[Slug, Field(examples=["marl-400"])]
    protocol: Annotated[ProtocolKeys, Field(examples=["{developer: metol-hydroquinone}"])]
    exposure: ExposureKeys = ExposureKeys()
    densitometer: DensitometerKeys = DensitometerKeys()
    patches: tuple[PatchKeys, ...] = ()
    views: tuple[ViewKeys, ...] = ()
    enlarging: EnlargingKeys = EnlargingKeys()
    names: dict[Slug, Name] = {}
    optional_pages: tuple[Annotated[Literal["coming", "open"], choice("coming", "open")], ...] = ()
    corrections: tuple[SeriesCorrectionKeys, ...] = ()
    moved: dict[PageAddress, PageAddress] = {}


class StockKeys(_Keys):
    """stock.yaml."""

    name: Annotated[Name, Field(examples=["Marl 400"])]
    maker: Name | None = None
    box_speed: Annotated[_Speed, Field(examples=["400"])]
    process: Name | None = None
    formats: tuple[Name, ...] = ()
    former_slugs: tuple[Slug, ...] = ()
    planned: FlagOrSentence = False
    unobtainable: Reason | None = None


class DevelopedKeys(_Keys):
    """How a test was developed."""

    time_min: Annotated[float, number("a number of minutes above 0", 0, 1e4, above=True), Field(examples=["8.5"])]
    developer: Name | None = None
    temperature_c: _Celsius | None = None
    agitation: Text | None = None
    batch: Slug | None = None


class PrintKeys(_Keys):
    """How a test was printed."""

    exposure_s: _Seconds | None = None


def _code_density(value: Any) -> str | tuple[tuple[float, float], ...]:
    if isinstance(value, str) and value.strip():
        return value.strip()
    what = "pairs of code value and density such as [[0, 2.12], [255, 0.06]], or a file name"
    if not isinstance(value, list):
        raise expected(what)
    pairs: list[tuple[float, float]] = []
    for pair in value:
        numbers = (
            [parse_number(part) if isinstance(part, str) else None for part in pair] if len(pair or ()) == 2 else []
        )
        code, density = numbers or (None, None)
        if code is None or density is None:
            raise expected(what)
        pairs.append((code, density))
    return tuple(pairs)


class ScanKeys(_Keys):
    """One scan of a test."""

    file: Annotated[Text, Field(examples=["scans/print.jpg"])]
    of: Annotated[Literal["print", "negative"], choice("print", "negative"), Field(examples=["print"])]
    pixels_per_mm: Annotated[float, number("a number of pixels per mm above 0", 0, 1e5, above=True)] | None = None
    code_density: Annotated[str | tuple[tuple[float, float], ...], BeforeValidator(_code_density)] | None = None
    views: dict[ViewId, BoxSides] = {}


class ChapterKeys(_Keys):
    """A point in a video."""

    at: Annotated[ClockTime, Field(examples=['"3:40"'])]
    title: Annotated[Name, Field(examples=["Curves"])]


class VideoKeys(_Keys):
    """A video about a test."""

    address: Annotated[WebAddress, Field(examples=["https://video.example.org/123"])]
    chapters: tuple[ChapterKeys, ...] = ()


class TestKeys(_Keys):
    """test.yaml."""

    exposure_index: Annotated[_Speed, Field(examples=["400"])]
    emulsion: Name | None = None
    developed: Annotated[DevelopedKeys, Field(examples=["{time_min: 8.5}"])]
    replaces: TestId | None = None
    reason: Text | None = None
    withdrawn: Reason | None = None
    corrections: tuple[CorrectionKeys, ...] = ()
    under_way: Flag = False
    former_ids: tuple[TestId, ...] = ()
    departures: tuple[Text, ...] = ()
    exposure: ExposureKeys | None = None
    current: Flag = False
    repeat: Flag = False
    development_of: TestId | None = None
    print: PrintKeys | None = None
    scans: tuple[ScanKeys, ...] = ()
    video: VideoKeys | None = None


class StripKeys(_Keys):
    """Densities read on a control strip."""

    base: Density | None = None
    low: Density | None = None
    mid: Density | None = None
    high: Density | None = None


class BatchKeys(_Keys):
    """batches/<id>.yaml."""

    date: Annotated[IsoDate, Field(examples=["2026-03-14"])]
    developer: Name | None = None
    temperature_c: _Celsius | None = None
    control_strip: StripKeys = StripKeys()
    notes: Text | None = None


class QuestionKeys(_Keys):
    """The front matter of a question."""

    title: Annotated[Name, Field(examples=["Is it finer grained?"])]
    asked: IsoDate | None = None
    answered: IsoDate | None = None
    stocks: tuple[Slug, ...] = ()
    former_slugs: tuple[Slug, ...] = ()
    withdrawn: Reason | None = None
    corrections: tuple[CorrectionKeys, ...] = ()


class InputKeys(_Keys):
    """A file that an edition was computed from."""

    path: Annotated[Text, Field(examples=["stocks/marl-400/2026-03-14/wedge.csv"])]
    sha256: Digest


class EditionKeys(_Keys):
    """editions/<n>.yaml."""

    number: Annotated[float, number("the edition's number", 1, 1e6)]
    date: Annotated[IsoDate, Field(examples=["2026-03-14"])]
    note: Annotated[Text, Field(examples=["First edition."])]
    inputs: tuple[InputKeys, ...] = ()
