"""JSON Schema (2020-12) of each kind of JSON file, built from the same vocabulary as the files."""

from collections.abc import Mapping
from typing import Final

from basefog.publish.data.values import Json
from basefog.records.vocabulary import CONTRACT_VERSION, MEASURES

SCHEMA_NAMES: Final = ("measures", "series", "summary", "test")
_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_VERDICTS: Final = ("higher", "lower", "no measurable difference", "not measured")
_MEASURE_IDS: Final = [measure.id for measure in MEASURES]

_NUMBER: Final[Json] = {"type": "number"}
_TEXT: Final[Json] = {"type": "string"}
_COUNT: Final[Json] = {"type": "integer", "minimum": 0}
_FLAG: Final[Json] = {"type": "boolean"}
_TEXT_OR_NULL: Final[Json] = {"type": ["string", "null"]}
_NUMBERS: Final[Json] = {"type": "array", "items": _NUMBER}
_TEXTS: Final[Json] = {"type": "array", "items": _TEXT}
_CONTRACT: Final[Json] = {"const": CONTRACT_VERSION, "description": "Version of the contract this file follows."}
_TEST_ID: Final[Json] = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}(-[b-z])?$"}
_TEST_ID_OR_NULL: Final[Json] = {"oneOf": [_TEST_ID, {"type": "null"}]}
_SLUG: Final[Json] = {"type": "string", "pattern": "^[a-z0-9-]+$"}
_KEY_OR_NULL: Final[Json] = {"type": ["string", "null"], "pattern": r"^[a-z0-9-]+/\d{4}-\d{2}-\d{2}(-[b-z])?$"}


def _record(required: Mapping[str, object], optional: Mapping[str, object] | None = None) -> Json:
    """Return an object with these members and no others."""
    return {
        "type": "object",
        "properties": {**required, **(optional or {})},
        "required": list(required),
        "additionalProperties": False,
    }


_INTERVAL: Final[Json] = {
    "low": _NUMBER,
    "high": _NUMBER,
    "half": {"type": "number", "description": "Half the 95 % interval, rounded once: what pages show after the sign."},
}
_CARRIED: Final[Json] = {
    "note": _TEXT,
    "at_density": _NUMBER | {"description": "Net density at which it was read."},
    "as_read": _NUMBER | {"description": "The figure at that density, before it was brought to net density 1.0."},
    "relative_to_average": _NUMBER,
}
_PARTS: Final[Json] = {
    "from_readings": _NUMBER
    | {"description": "Half width that readings, sampling and the curve's own error alone would give."},
    "from_wedge": _record(
        {
            "id": _TEXT,
            "half": _NUMBER,
            "by_step": {
                "type": "object",
                "additionalProperties": _NUMBER,
                "description": "Change of the figure for each unit of a step's calibrated density.",
            },
        }
    ),
    "from_lamp": _record({"half": _NUMBER, "lux_s": _NUMBER, "u_lux_s": _NUMBER}),
}
_ERROR: Final[Json] = {
    "exact": _NUMBER | {"description": "The figure before it was rounded to a standard scale."},
    **_PARTS,
    "of_reference": _record({}, _PARTS)
    | {"description": "The same of the reference's figure, of measures that are differences to it."},
    "scatter": _NUMBER | {"description": "Standard deviation of one such test done again, in the figure's unit."},
    "batches": {"type": "array", "items": {"type": ["string", "null"]}},
}
_BOUND: Final[Json] = {"const": "lower", "description": "The true value is at least this."}
_QUANTITY: Final[Json] = {
    "oneOf": [
        _record({"value": _NUMBER, "unit": _TEXT}, {**_INTERVAL, "bound": _BOUND, "why": _TEXT, **_CARRIED, **_ERROR}),
        _record({"value": {"type": "null"}, "why": _TEXT}, _CARRIED),
    ]
}
_POOLED: Final[Json] = _record(
    {"value": _NUMBER, "unit": _TEXT, "tests": _COUNT},
    {**_INTERVAL, "bound": _BOUND, "why": _TEXT, **_CARRIED, **_ERROR},
)
_DIFFERENCE: Final[Json] = {
    "oneOf": [_record({"difference": _NUMBER}, _INTERVAL), _record({"difference": {"type": "null"}, "why": _TEXT})]
}
_SURE: Final[Json] = {
    "firm": _FLAG | {"description": "Whether the verdict holds for all stocks of the series at once."},
    "from_reference": _NUMBER | {"description": "The reference's share of the variance."},
    "counts": {"type": "array", "items": {"enum": ["reading", "wedge", "lamp", "repeats", "batches", "assumed"]}},
    "to_settle": _record(
        {"tests": {"type": ["integer", "null"]}, "of": {"enum": ["stock", "reference", None]}}, {"why": _TEXT}
    ),
}
_COMPARISON: Final[Json] = {
    "oneOf": [
        _record(
            {"difference": _NUMBER, **_INTERVAL, "could_see": _NUMBER, "verdict": {"enum": list(_VERDICTS[:3])}},
            {"unit": _TEXT, "why": _TEXT, **_SURE},
        ),
        _record({"difference": {"type": "null"}, "verdict": {"const": "not measured"}, "why": _TEXT}),
    ]
}
_BY_MEASURE: Final[Json] = {"propertyNames": {"enum": _MEASURE_IDS}, "type": "object"}
_QUANTITIES: Final[Json] = _BY_MEASURE | {"additionalProperties": {"$ref": "#/$defs/quantity"}}
_COMPARISONS: Final[Json] = _BY_MEASURE | {"additionalProperties": {"$ref": "#/$defs/comparison"}}
_REMARK: Final = _record(
    {"level": {"enum": ["remark", "problem"]}, "path": _TEXT, "line": _COUNT, "column": _COUNT}
    | {"message": _TEXT, "mend": _TEXT}
)


def _document(title: str, description: str, record: Json, defs: Json | None = None) -> Json:
    document: Json = {"$schema": _DIALECT, "title": title, "description": description, **record}
    return document | {"$defs": defs} if defs else document


_CURVE: Final = _record(
    {"log_exposure": _NUMBERS, "density": _NUMBERS, "low": _NUMBERS, "high": _NUMBERS, "gradient": _NUMBERS},
    {
        "absolute": {"type": "boolean", "description": "Whether log exposure is log10 lux seconds, or relative."},
        "axis": {"type": "string", "description": "Names the relative axis: two curves share one only if alike."},
        "note": _TEXT,
        "why": {"type": "string", "description": "Why there is no curve; the arrays are then empty."},
    },
)
_AGAINST: Final[Json] = {
    "against_eye": {"$ref": "#/$defs/difference"},
    "against_reference": {"$ref": "#/$defs/comparison"},
}
_PATCH: Final[Json] = {
    "oneOf": [
        _record({"stops_from_grey": _NUMBER, **_AGAINST}, {**_INTERVAL, "note": _TEXT, "why": _TEXT, **_ERROR}),
        _record({"stops_from_grey": {"type": "null"}, "why": _TEXT, **_AGAINST}, {"note": _TEXT}),
    ]
}
_ALIGNMENT: Final = _record(
    {
        "correlation": {"type": "number", "description": "Of the two scans laid on one another, contrast evened out."},
        "right_px": {"type": "number", "description": "Shift of the subject, in pixels of the reference's scan."},
        "down_px": {"type": "number", "description": "Shift of the subject, in pixels of the reference's scan."},
        "rotation_deg": {"type": "number", "description": "Turn of the subject, clockwise."},
        "scale_ratio": {"type": "number", "description": "Size of the subject, the scans' resolutions taken out."},
        "inverted": _FLAG,
        "mirrored": _FLAG,
    }
)
_VIEW: Final = _record(
    {
        "name": _TEXT,
        "of": {"enum": ["print", "negative"]},
        "shows": {"enum": ["tone", "grain", "sharpness"]},
        "scan": {"type": "string", "description": "The scan's path in the series folder; scans are not published."},
        "box_px": {"type": "array", "items": _COUNT, "minItems": 4, "maxItems": 4},
        "lossless": _FLAG,
        "files": {
            "type": "array",
            "items": _record({"path": _TEXT, "width_px": _COUNT, "height_px": _COUNT, "media_type": _TEXT}),
        },
    },
    {"pixels_per_mm": _NUMBER, "scale_bar_mm": _NUMBER, "alignment": _ALIGNMENT},
)
_FRAME: Final = _record(
    {"frame": _TEXT, "stops": _NUMBER, "chosen": _FLAG}
    | {"residual_density": {"type": ["number", "null"]}, "residual_stops": {"type": ["number", "null"]}},
    {"why": _TEXT},
)
_TONES: Final = _record(
    {"paper": _TEXT, "subject_log_luminance": _NUMBERS, "print_density": _NUMBERS, "low": _NUMBERS, "high": _NUMBERS}
)
_FAMILY: Final = _record(
    {
        "points": {
            "type": "array",
            "items": _record({"test": _TEST_ID, "time_min": _NUMBER, "average_gradient": {"$ref": "#/$defs/quantity"}}),
        },
        "time_min": _NUMBERS,
        "average_gradient": _NUMBERS,
    },
    {"reference_average_gradient": _NUMBER},
)
_SPECTRUM: Final = _record(
    {
        "cycles_per_mm": _NUMBERS,
        "power_um2": _NUMBERS | {"description": "Wiener spectrum of density: variance for each cycle/um squared."},
    },
    {"note": _TEXT},
)
_EDGE: Final = _record({"cycles_per_mm": _NUMBERS, "response": _NUMBERS, "low": _NUMBERS, "high": _NUMBERS})
_STEP: Final = _record({"step": _TEXT, "log_exposure": _NUMBER, "density": _NUMBER, "readings": _COUNT})
_SHA256: Final[Json] = {"type": "string", "pattern": "^[0-9a-f]{64}$"}

_TEST: Final = _document(
    "One test",
    "Everything that was computed of one test of one stock. low and high bound a 95 % interval; a null has a why.",
    _record(
        {
            "contract": _CONTRACT,
            "stock": _SLUG,
            "test": _TEST_ID,
            "current": _FLAG,
            "reference": _KEY_OR_NULL,
            "measures": _QUANTITIES,
            "against_reference": _COMPARISONS,
            "curve": _CURVE,
            "steps": {"type": "array", "items": _STEP},
            "frames": {"type": "array", "items": _FRAME},
            "patches": {"type": "object", "additionalProperties": {"$ref": "#/$defs/patch"}},
            "departures": _TEXTS,
            "replaces": _TEST_ID_OR_NULL,
            "replaced_by": _TEST_ID_OR_NULL,
            "withdrawn": _TEXT_OR_NULL | {"description": "The reason, where the test was withdrawn."},
            "inputs": {"type": "array", "items": _record({"path": _TEXT, "sha256": _SHA256})},
            "remarks": {"type": "array", "items": _REMARK},
        },
        {
            "pooled": {
                "type": "object",
                "additionalProperties": _POOLED,
                "description": "The stock's figures, means over its current test and repeats, by measure or patch.",
            },
            "movement": {
                "type": "object",
                "additionalProperties": {"$ref": "#/$defs/comparison"},
                "description": "This test less the one it replaces or repeats, by measure or patch.",
            },
            "moved_from": _TEST_ID,
            "exposures_repeat_stops": _NUMBER | {"description": "Standard deviation of the frames' exposures."},
            "tone_reproduction": _TONES,
            "contrast_time": _FAMILY,
            "spectrum": _SPECTRUM,
            "edge_response": _EDGE,
            "views": {"type": "object", "additionalProperties": _VIEW},
            "missing_views": {
                "type": "object",
                "additionalProperties": _TEXT,
                "description": "Why the test lacks each view of the series that it does not show.",
            },
        },
    ),
    {"quantity": _QUANTITY, "comparison": _COMPARISON, "difference": _DIFFERENCE, "patch": _PATCH},
)

_ABOUT: Final[Json] = {"stock": _SLUG, "name": _TEXT, "box_speed": _NUMBER, "formats": _TEXTS, "page": _TEXT}
_ABOUT_OPTIONAL: Final[Json] = {"maker": _TEXT, "process": _TEXT}
_ROW: Final = _record(
    _ABOUT
    | {"tests": _COUNT, "test": _TEST_ID_OR_NULL, "measures": _QUANTITIES, "against_reference": _COMPARISONS}
    | {"pooled": _BY_MEASURE | {"additionalProperties": _POOLED}},
    _ABOUT_OPTIONAL | {"data": _TEXT, "exposure_index": _NUMBER, "why": _TEXT},
)
_SUMMARY: Final = _document(
    "Summary",
    "One row a stock, with the measures of its current test; addresses are relative to the site's root.",
    _record({"contract": _CONTRACT, "reference": _KEY_OR_NULL, "stocks": {"type": "array", "items": _ROW}}),
    {"quantity": _QUANTITY, "comparison": _COMPARISON},
)

_SERIES_TEST: Final = _record({"test": _TEST_ID, "page": _TEXT, "data": _TEXT, "curve": _TEXT, "readings": _TEXT})
_SERIES_STOCK: Final = _record(
    _ABOUT | {"current": _TEST_ID_OR_NULL, "tests": {"type": "array", "items": _SERIES_TEST}}, _ABOUT_OPTIONAL
)
_PROTOCOL: Final = _record(
    {"developer": _TEXT},
    {"subject": _TEXT, "lighting": _TEXT, "temperature_c": _NUMBER, "bracket_step_stops": _NUMBER}
    | {"grey_patch": _TEXT, "shadow_patch": _TEXT},
)
_SERIES: Final = _document(
    "Series",
    "What the series is and where each of its tests stands; addresses are relative to the site's root.",
    _record(
        {
            "contract": _CONTRACT,
            "title": _TEXT,
            "language": _TEXT,
            "reference": _SLUG,
            "protocol": _PROTOCOL,
            "stocks": {"type": "array", "items": _SERIES_STOCK},
        },
        {"address": _TEXT, "author": _TEXT, "licence": _TEXT, "description": _TEXT},
    ),
)

_SCATTER: Final = _record(
    {
        "sigma": _NUMBER | {"description": "Standard deviation of one test done again; as a share where relative."},
        "relative": _FLAG,
        "degrees_of_freedom": {"type": ["integer", "null"]},
        "from": {"enum": ["repeats", "batches", "assumed"]},
        "stocks": _COUNT | {"description": "How many stocks have repeats."},
    }
)
_FACTORS: Final = _record(
    {
        "stocks": _COUNT,
        "degrees_of_freedom": {"type": ["integer", "null"], "description": "Of the scatter; null is infinite."},
        "student": _NUMBER | {"description": "Half an interval is this times the root of the variance."},
        "dunnett": _NUMBER | {"description": "Beyond this times it a difference to the reference is firm."},
        "any_two": _NUMBER | {"description": "Beyond this times it a difference of any two is firm."},
    }
)
_MEASURE: Final = _record(
    {
        "id": {"enum": _MEASURE_IDS},
        "name": _TEXT,
        "unit": _TEXT,
        "definition": _TEXT,
        "address": _TEXT,
        "comparative": _FLAG | {"description": "Already against the reference."},
    },
    {"scatter": _SCATTER, "factors": _FACTORS},
)
_MEASURES: Final = _document(
    "Measures",
    "Every measure with its unit, definition and scatter; addresses are relative to the site's root.",
    _record(
        {
            "contract": _CONTRACT,
            "measures": {"type": "array", "items": _MEASURE},
            "patch_scatter": {"type": "object", "additionalProperties": _SCATTER},
            "patch_factors": {"type": "object", "additionalProperties": _FACTORS},
            "wedges": {
                "type": "object",
                "additionalProperties": {"type": "object", "additionalProperties": _NUMBER},
                "description": "Standard uncertainty of each step's density, by wedge.",
            },
        }
    ),
)

_SCHEMAS: Final[dict[str, Json]] = {"measures": _MEASURES, "series": _SERIES, "summary": _SUMMARY, "test": _TEST}


def render_schema(name: str) -> Json:
    """Return the schema of one kind of file: `test`, `summary`, `series` or `measures`."""
    return _SCHEMAS[name]
