"""The published data keep the contract, and the open standards they name."""

import csv
import hashlib
import io
import json
import math
import re
import zipfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft4Validator, Draft202012Validator

from basefog.publish.data import plan_data
from basefog.publish.data.encoding import encode_csv, encode_json, neutralise
from basefog.publish.data.values import comparison_json, quantity_json
from basefog.publish.pages.quantities import format_difference
from basefog.records.content import Wedge, read_only
from basefog.records.findings import Comparison, ErrorParts, Factors, Quantity, Scatter, WedgePart
from basefog.records.problem import Place
from basefog.site.stops import ContentChanged
from publish.data_checks import faults_of_data
from publish.invented import FORMULA_NAME, READINGS, make_findings, make_series, with_repeats, write_readings
from small_sites import make_all

STANDARDS = Path(__file__).parent / "standards"
TERN = "data/tern-100/2026-04-01-b"


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, bytes]:
    folder = tmp_path_factory.mktemp("series")
    series = make_series()
    write_readings(series, folder)
    findings = make_findings(series)
    key = TERN.removeprefix("data/")
    findings = replace(findings, tests={**findings.tests, key: with_repeats(findings.tests[key])})
    return make_all(plan_data(series, findings, series_folder=folder))


def load(files: Mapping[str, bytes], address: str) -> Any:
    return json.loads(files[address])


def rows_of(files: Mapping[str, bytes], address: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(files[address].decode())))


def test_a_test_has_the_members_of_the_contract(files: Mapping[str, bytes]) -> None:
    """The members of contract.md stand first, in its order; the further ones follow."""
    in_the_contract = "contract stock test current reference measures pooled against_reference curve steps frames "
    in_the_contract += "patches"
    further = "departures replaces replaced_by withdrawn inputs remarks movement moved_from "
    further += "exposures_repeat_stops tone_reproduction contrast_time spectrum edge_response"

    test = load(files, f"{TERN}.json")

    assert list(test) == [*in_the_contract.split(), *further.split()]
    assert (test["contract"], test["stock"], test["test"], test["current"]) == (1, "tern-100", "2026-04-01-b", True)
    assert test["reference"] == "marl-400/2026-05-02"


def test_a_value_is_rounded_once_by_its_interval(files: Mapping[str, bytes]) -> None:
    """Half an interval of 0.011 keeps three decimals, one of 0.0038 keeps four, one of 0.45 two."""
    measures = load(files, f"{TERN}.json")["measures"]

    assert measures["gamma"] == {
        "value": 0.612,
        "low": 0.601,
        "high": 0.623,
        "half": 0.011,
        "unit": "1",
        "relative_to_average": 1.046,
    }
    assert measures["maximum_density"] == {
        "value": 2.2719,
        "low": 2.2681,
        "high": 2.2757,
        "half": 0.0038,
        "unit": "D",
        "bound": "lower",
    }
    assert measures["rms_granularity"] == {
        "value": 12.35,
        "low": 11.9,
        "high": 12.8,
        "half": 0.45,
        "unit": "1",
        "note": "from one scan",
        "at_density": 0.961,
        "as_read": 11.98,
    }
    assert measures["speed_point"] == {"value": -1.333, "unit": "log H"}


def test_a_comparison_has_interval_could_see_and_verdict(files: Mapping[str, bytes]) -> None:
    """The contract's example of a comparison, digit by digit."""
    expected = {
        "difference": 0.031,
        "low": 0.012,
        "high": 0.05,
        "half": 0.019,
        "could_see": 0.019,
        "verdict": "higher",
        "firm": True,
        "from_reference": 0.48,
        "counts": ["reading", "wedge", "repeats"],
        "to_settle": {"tests": 0, "of": None},
    }

    against = load(files, f"{TERN}.json")["against_reference"]

    assert against["gamma"] == expected
    assert list(against["gamma"]) == list(expected)
    assert against["mtf50"] == {"difference": None, "verdict": "not measured", "why": "the reference was not read"}
    assert against["print_exposure"]["unit"] == "stops", "a unit that is not the measure's own is told"


def test_every_null_number_has_a_why(files: Mapping[str, bytes]) -> None:
    """No number is missing without a reason beside it."""
    # What is firm already needs tests of nothing; a scatter that was not estimated has no degrees of freedom.
    excused = {"replaces", "replaced_by", "withdrawn", "current", "reference", "of", "degrees_of_freedom"}

    def silent(value: object, path: str) -> list[str]:
        if isinstance(value, dict):
            here = [f"{path}.{name}" for name, item in value.items() if item is None and name not in excused]
            found = [] if value.get("why") else here
            return found + [fault for name, item in value.items() for fault in silent(item, f"{path}.{name}")]
        if isinstance(value, list):
            return [fault for item in value for fault in silent(item, path)]
        return []

    documents = {
        name: json.loads(data) for name, data in files.items() if name.endswith(".json") and "schema" not in name
    }

    assert len(documents) == 8
    assert [fault for name, document in documents.items() for fault in silent(document, name)] == []


def test_a_test_without_a_curve_says_why(files: Mapping[str, bytes]) -> None:
    """The arrays are there and empty, the table has its header alone."""
    test = load(files, "data/marl-400/2026-03-14.json")

    assert test["curve"]["log_exposure"] == []
    assert test["curve"]["why"] == "there are only 2 steps, a curve needs 6"
    assert files["data/marl-400/2026-03-14/curve.csv"] == b"log_exposure,density,low,high,gradient\n"
    assert (test["replaces"], test["replaced_by"], test["current"]) == (None, "2026-05-02", False)


def test_spectrum_and_edge_response_are_published_as_curves(files: Mapping[str, bytes]) -> None:
    """The spectrum falls by decades and so keeps four digits; the response has its band."""
    test = load(files, f"{TERN}.json")

    assert test["spectrum"] == {
        "cycles_per_mm": [10.0, 20.0, 40.0],
        "power_um2": [0.2346, 0.1, 0.001235],
        "note": "at density 1.20",
    }
    assert test["edge_response"] == {
        "cycles_per_mm": [0.0, 30.0],
        "response": [1.0, 0.5],
        "low": [1.0, 0.46],
        "high": [1.0, 0.54],
    }


def test_frames_and_patches_keep_the_shape_of_the_contract(files: Mapping[str, bytes]) -> None:
    """Members of frames and patches are those of the contract's example, nulls with a why."""
    test = load(files, f"{TERN}.json")

    assert test["steps"] == [{"step": "1", "log_exposure": -0.15, "density": 2.2667, "readings": 3}]
    assert test["frames"][0] == {
        "frame": "7",
        "stops": 0.333,
        "chosen": True,
        "residual_density": -0.01,
        "residual_stops": -0.05,
    }
    assert test["frames"][1]["why"] == "the shadow patch, or the base it is counted from, was not read on this frame"
    assert (test["frames"][2]["residual_stops"], test["frames"][2]["why"]) == (None, "too few steps")
    red, dark = test["patches"]["red"], test["patches"]["dark"]
    assert red["stops_from_grey"] == -0.412
    assert red["against_eye"] == {"difference": 0.17, "low": 0.1, "high": 0.24, "half": 0.07}
    assert red["against_reference"]["verdict"] == "higher"
    assert (dark["stops_from_grey"], dark["why"]) == (None, "beyond the readings")
    assert dark["against_eye"] == {"difference": None, "why": "the reference was not read"}


def test_remarks_of_the_content_and_of_the_numbers_stand_with_their_test(files: Mapping[str, bytes]) -> None:
    """Both kinds come in the shape of verify --json, by place."""
    assert load(files, f"{TERN}.json")["remarks"] == [
        {
            "level": "remark",
            "path": "stocks/tern-100/2026-04-01-b/test.yaml",
            "line": 1,
            "column": 1,
            "message": "the batch is beyond 3 sigma",
            "mend": "Read its strip again.",
        },
        {
            "level": "remark",
            "path": "stocks/tern-100/2026-04-01-b/wedge.csv",
            "line": 7,
            "column": 1,
            "message": "step 5 is odd",
            "mend": "Read it again.",
        },
    ]
    assert load(files, "data/marl-400/2026-05-02.json")["remarks"] == []


@pytest.mark.parametrize(
    ("address", "kind"),
    [
        (f"{TERN}.json", "test"),
        ("data/marl-400/2026-03-14.json", "test"),
        ("data/marl-400/2026-05-02.json", "test"),
        ("data/gull-25/2026-02-01.json", "test"),
        ("data/summary.json", "summary"),
        ("data/series.json", "series"),
        ("data/measures.json", "measures"),
    ],
)
def test_every_json_file_keeps_its_schema(files: Mapping[str, bytes], address: str, kind: str) -> None:
    """Each file is valid by the schema published beside it, and the schema by its own dialect (JSON Schema 2020-12)."""
    schema = load(files, f"data/schema/{kind}.json")
    Draft202012Validator.check_schema(schema)

    assert [error.message for error in Draft202012Validator(schema).iter_errors(load(files, address))] == []


def test_measures_say_what_comparing_two_tests_takes(tmp_path: Path) -> None:
    """Scatter with what told it, the factors of half an interval and of what is firm, and each wedge's own errors."""
    series = make_series()
    write_readings(series, tmp_path)
    wedge = Wedge(
        id="contact-21",
        steps=("1", "2"),
        density=read_only([0.05, 0.2]),
        u_density=read_only([0.0101234, 0.012]),
        place=Place(path="wedges/contact-21.csv"),
    )
    scatter = Scatter(measure="gamma", sigma=0.0123456789, degrees_of_freedom=4, source="repeats", stocks=3)
    factors = Factors(
        measure="gamma", stocks=3, degrees_of_freedom=4, student=2.77644511, dunnett=3.8, any_two=4.07012345
    )
    findings = replace(
        make_findings(series),
        scatter={"gamma": scatter},
        patch_scatter={
            "red": replace(scatter, measure="red", relative=True, degrees_of_freedom=None, source="assumed")
        },
        factors={"gamma": factors},
        patch_factors={"red": replace(factors, degrees_of_freedom=None)},
    )
    series = replace(series, wedges={"contact-21": wedge, "plain": replace(wedge, id="plain", u_density=None)})
    made = make_all(plan_data(series, findings, series_folder=tmp_path))
    measures = load(made, "data/measures.json")
    by_id = {measure["id"]: measure for measure in measures["measures"]}

    assert Draft202012Validator(load(made, "data/schema/measures.json")).is_valid(measures)
    assert by_id["gamma"]["scatter"] == {
        "sigma": 0.01235,
        "relative": False,
        "degrees_of_freedom": 4,
        "from": "repeats",
        "stocks": 3,
    }
    assert by_id["gamma"]["factors"] == {
        "stocks": 3,
        "degrees_of_freedom": 4,
        "student": 2.77645,
        "dunnett": 3.8,
        "any_two": 4.07012,
    }
    red = measures["patch_scatter"]["red"]
    assert (red["relative"], red["degrees_of_freedom"], red["from"]) == (True, None, "assumed")
    assert measures["patch_factors"]["red"]["degrees_of_freedom"] is None
    assert not {"scatter", "factors"} & set(by_id["contrast_index"])
    assert measures["wedges"] == {"contact-21": {"1": 0.01012, "2": 0.012}}
    assert [name for name, measure in by_id.items() if measure["comparative"]] == [
        "speed_from_reference",
        "shadow_match",
        "matching_time",
    ]


def test_a_figure_says_where_its_error_comes_from(files: Mapping[str, bytes]) -> None:
    """Readings, wedge step by step, lamp and scatter, each as a half width or slope in the figure's own unit.

    An ISO speed's parts are variances of its logarithm: at 143 a slope of 0.4 becomes 0.4 x 143 x ln 10 = 131.7.
    """
    test = load(files, f"{TERN}.json")
    speed, gradient = test["measures"]["iso_speed"], test["measures"]["average_gradient"]

    assert (speed["value"], speed["exact"], speed["half"]) == (160.0, 143.0, 9.0)
    assert speed["from_readings"] == pytest.approx(1.959964 * 0.01 * 143 * math.log(10), rel=2e-4)
    assert speed["from_wedge"]["id"] == "contact-21"
    assert speed["from_wedge"]["by_step"] == {"7": pytest.approx(0.4 * 143 * math.log(10), rel=2e-4)}
    assert speed["from_wedge"]["half"] == pytest.approx(1.959964 * 0.4 * 0.01 * 143 * math.log(10), rel=2e-4)
    assert speed["from_lamp"] == {
        "half": pytest.approx(1.959964 * 0.05 / 0.8 * 143, rel=2e-4),
        "lux_s": 0.8,
        "u_lux_s": 0.05,
    }
    assert gradient["from_readings"] == pytest.approx(1.959964 * 0.005, rel=2e-4)
    assert (gradient["scatter"], gradient["batches"]) == (0.0123, ["2026-03-14-tank-2"])
    assert not {"from_wedge", "from_lamp", "exact"} & set(gradient)
    assert "from_readings" not in test["measures"]["gamma"], "nothing is told of what has no parts"


def test_slopes_that_count_nothing_beside_the_greatest_are_left_to_no_kernel() -> None:
    slopes = {"1": 0.675, "2": 0.0114, "3": -2.124e-9, "4": 6.3e-5}
    noise = {"1": 4e-11, "2": -4e-11, "3": 1.3e-11, "4": 2e-11}

    def publish(slopes: Mapping[str, float]) -> Any:
        part = WedgePart(wedge="w", by_step=slopes, u_density=dict.fromkeys(slopes, 0.01))
        parts = ErrorParts(unshared=0.0001, wedge=part)
        told: Any = quantity_json(Quantity(value=1.0, low=0.98, high=1.02, unit="1", parts=parts))
        return told["from_wedge"]["by_step"]

    assert publish(slopes) == {"1": 0.675, "2": 0.0114, "4": 6e-5}
    assert publish({step: slope + noise[step] for step, slope in slopes.items()}) == publish(slopes)


def test_a_stock_s_figure_stands_beside_the_test_s_own(files: Mapping[str, bytes]) -> None:
    """`pooled` has measures and patches, each with how many tests it is the mean of; the summary takes it."""
    test = load(files, f"{TERN}.json")
    pooled = test["pooled"]

    assert pooled["average_gradient"] == {
        "value": 0.605,
        "low": 0.598,
        "high": 0.612,
        "half": 0.007,
        "unit": "1",
        "tests": 3,
    } | {name: pooled["average_gradient"][name] for name in ("from_readings", "scatter", "batches")}
    assert pooled["red"]["tests"] == 2
    assert pooled["average_gradient"]["batches"] == ["2026-03-14-tank-2", None, None]
    row = load(files, "data/summary.json")["stocks"][3]
    assert row["pooled"]["average_gradient"] == pooled["average_gradient"]
    cells = rows_of(files, "data/summary.csv")[3]
    assert (cells["average_gradient"], cells["average_gradient_low"]) == ("0.605", "0.598")


def test_movement_tells_what_it_moved_from(files: Mapping[str, bytes]) -> None:
    """Measures and patches against the test before, never firm; the bracket's exposures repeat so well."""
    test = load(files, f"{TERN}.json")

    assert test["moved_from"] == "2026-03-01"
    assert set(test["movement"]) == {"gamma", "red"}
    assert not any("firm" in move for move in test["movement"].values())
    assert test["exposures_repeat_stops"] == 0.071


def test_a_verdict_that_could_go_either_way_has_the_digits_to_tell() -> None:
    """-0.0384 with a half width of 0.0380 is lower: three decimals would say that zero is reached."""
    near = Comparison(verdict="lower", difference=-0.0384, low=-0.0764, high=-0.0004, could_see=0.038)

    data = comparison_json(near)

    assert (data["difference"], data["half"], data["could_see"]) == (-0.0384, 0.038, 0.038)
    assert (data["low"], data["high"]) == (-0.0764, -0.0004)
    assert format_difference(near).plain == "−0.0384 ± 0.0380"
    figure = quantity_json(Quantity(value=0.0384, low=0.0004, high=0.0764, unit="stops"))
    assert (figure["value"], figure["half"]) == (0.0384, 0.038)


def test_a_test_can_be_read_from_disk_as_from_a_host(files: Mapping[str, bytes]) -> None:
    """A browser fetches no JSON from disk: a script hands over the same members, cell by cell."""
    script = files["compare/from-disk/tern-100/2026-04-01-b.js"].decode()
    taken = json.loads(script.removeprefix("takeTest(").removesuffix(");\n"))
    whole = load(files, f"{TERN}.json")

    assert list(taken) == ["stock", "test", "measures", "pooled", "against_reference", "curve", "patches"]
    assert taken["measures"] == whole["measures"]
    assert taken["curve"] == {name: value for name, value in whole["curve"].items() if name != "gradient"}
    assert taken["patches"]["red"] == {
        name: value for name, value in whole["patches"]["red"].items() if not name.startswith("against_eye")
    }


@pytest.mark.parametrize(
    "spoil",
    [
        lambda test: test["measures"].update(gloss={"value": 1.0, "unit": "1"}),
        lambda test: test["measures"]["gamma"].update(value="0.6"),
        lambda test: test["measures"]["mtf50"].pop("why"),
        lambda test: test["against_reference"]["gamma"].update(verdict="better"),
        lambda test: test["patches"]["dark"].pop("why"),
        lambda test: test["curve"].pop("gradient"),
        lambda test: test.pop("inputs"),
        lambda test: test.update(test="2026-03-14-a"),
        lambda test: test["frames"][0].update(chosen="yes"),
        lambda test: test["measures"]["iso_speed"]["from_wedge"].pop("by_step"),
        lambda test: test["measures"]["iso_speed"]["from_lamp"].update(u_lux_s=None),
        lambda test: test["measures"]["average_gradient"].update(batches="2026-03-14-tank-2"),
        lambda test: test["pooled"]["average_gradient"].pop("tests"),
        lambda test: test["against_reference"]["gamma"].update(counts=["luck"]),
        lambda test: test["against_reference"]["gamma"]["to_settle"].update(of="maker"),
        lambda test: test["movement"]["gamma"].pop("verdict"),
        lambda test: test.update(moved_from="2026-03"),
    ],
)
def test_the_schema_refuses_what_the_contract_does_not_allow(files: Mapping[str, bytes], spoil: Any) -> None:
    """One fault at a time makes a test's JSON invalid."""
    test = load(files, f"{TERN}.json")
    spoil(test)

    assert list(Draft202012Validator(load(files, "data/schema/test.json")).iter_errors(test))


def test_the_descriptor_keeps_the_data_package_standard(files: Mapping[str, bytes]) -> None:
    """Valid by the profiles of the standard, version 1 (see standards/SOURCES.md)."""
    descriptor = load(files, "data/datapackage.json")
    package = Draft4Validator(json.loads((STANDARDS / "data-package.json").read_bytes()))
    table = Draft4Validator(json.loads((STANDARDS / "tabular-data-resource.json").read_bytes()))
    tables = [resource for resource in descriptor["resources"] if resource["format"] == "csv"]

    assert [error.message for error in package.iter_errors(descriptor)] == []
    assert [error.message for resource in tables for error in table.iter_errors(resource)] == []
    assert len(tables) == 9
    assert descriptor["licenses"] == [{"name": "CC-BY-4.0"}]
    assert descriptor["name"] == "lantern-yard-trials"


def test_the_descriptor_tells_every_data_file_as_it_is(files: Mapping[str, bytes]) -> None:
    """Paths, sizes, digests and columns are those of the files; nothing but itself and the archive is left out."""
    resources = load(files, "data/datapackage.json")["resources"]
    described = {resource["path"] for resource in resources}

    assert described == {name.removeprefix("data/") for name in files if name.startswith("data/")} - {
        "datapackage.json",
        "series.zip",
    }
    assert len({resource["name"] for resource in resources}) == len(resources)
    for resource in resources:
        data = files[f"data/{resource['path']}"]
        assert resource["bytes"] == len(data)
        assert resource["hash"] == f"sha256:{hashlib.sha256(data).hexdigest()}"
        if resource["format"] == "csv":
            header = next(csv.reader(io.StringIO(data.decode())))
            assert [field["name"] for field in resource["schema"]["fields"]] == header


def test_every_file_keeps_its_schema_and_the_standard(files: Mapping[str, bytes]) -> None:
    """JSON by its published schema, tables by the types of their columns, the descriptor by the standard."""
    assert faults_of_data(files) == []


@pytest.mark.parametrize(
    ("address", "old", "new", "told"),
    [
        (f"{TERN}/curve.csv", b"\n-", b"\nnan,-", "tern-100/2026-04-01-b/curve.csv:2: it has 6 cells, expected 5"),
        (f"{TERN}/readings.csv", b",0.24,", b",inf,", "readings.csv:2: density is 'inf', expected a number"),
        ("data/summary.csv", b"stock,", b"film,", "summary.csv:1: the header is not that of the descriptor"),
        ("data/summary.json", b'"contract": 1', b'"contract": 2', "data/summary.json: $.contract: 1 was expected"),
    ],
)
def test_a_file_that_strays_is_told(
    files: Mapping[str, bytes], address: str, old: bytes, new: bytes, told: str
) -> None:
    """The check above can fail."""
    spoilt = dict(files) | {address: files[address].replace(old, new, 1)}

    assert any(told in fault for fault in faults_of_data(spoilt))


def test_readings_are_published_as_understood(files: Mapping[str, bytes]) -> None:
    """No reading is rounded; each has its file and line; texts that would run as formulas are made harmless."""
    rows = rows_of(files, f"{TERN}/readings.csv")
    file = "stocks/tern-100/2026-04-01-b/wedge.csv"

    assert [tuple(row.values()) for row in rows] == [
        ("wedge", "base", "first", "0.24", file, "2"),
        ("wedge", "1", "'-first", "0.423", file, "3"),
        ("bracket", "-1", "'+grey", "0.30000000000000004", file, "4"),
    ]


def test_the_summary_has_one_row_a_stock(files: Mapping[str, bytes]) -> None:
    """JSON and table hold the same rows; a stock without a current test says why."""
    rows, stocks = rows_of(files, "data/summary.csv"), load(files, "data/summary.json")["stocks"]

    assert [row["stock"] for row in rows] == ["gull-25", "knot-50", "marl-400", "tern-100"]
    assert [row["test"] for row in rows] == ["", "", "2026-05-02", "2026-04-01-b"]
    assert [stock["test"] for stock in stocks] == [None, None, "2026-05-02", "2026-04-01-b"]
    assert rows[0]["gamma_why"] == "no test of this stock counts at present"
    assert rows[3]["name"] == "'" + FORMULA_NAME
    assert stocks[3]["name"] == FORMULA_NAME
    assert rows[3]["maker"] == "'@home"
    assert (rows[3]["gamma"], rows[3]["gamma_low"], rows[3]["gamma_verdict"]) == ("0.612", "0.601", "higher")
    assert rows[3]["mtf50_why"] == "too few steps"


def test_the_series_lists_addresses_that_exist(files: Mapping[str, bytes]) -> None:
    """Every data address of series.json is a file of the site."""
    series = load(files, "data/series.json")
    addresses = {
        test[kind] for stock in series["stocks"] for test in stock["tests"] for kind in ("data", "curve", "readings")
    }

    assert addresses <= set(files)
    assert len(addresses) == 12
    assert series["stocks"][2]["tests"][0]["page"] == "stocks/marl-400/2026-03-14/index.html"
    assert "subject" not in series["protocol"]


def test_the_archive_holds_all_data_and_the_readings_byte_for_byte(files: Mapping[str, bytes]) -> None:
    """Everything under data/ but the archive, and raw/ with the tables; no YAML, no notes."""
    with zipfile.ZipFile(io.BytesIO(files["data/series.zip"])) as archive:
        held = {name: archive.read(name) for name in archive.namelist()}
        dates = {entry.date_time for entry in archive.infolist()}

    raw = {name: data for name, data in held.items() if name.startswith("raw/")}
    assert list(held) == sorted(held)
    assert {f"data/{name}": data for name, data in held.items() if name not in raw} == {
        name: data for name, data in files.items() if name.startswith("data/") and name != "data/series.zip"
    }
    assert raw == {
        f"raw/stocks/{key}/wedge.csv": READINGS
        for key in ("gull-25/2026-02-01", "marl-400/2026-03-14", "marl-400/2026-05-02", "tern-100/2026-04-01-b")
    }
    assert dates == {(1980, 1, 1, 0, 0, 0)}


def test_a_reading_file_that_changed_meanwhile_stops_the_publish(tmp_path: Path) -> None:
    """The archive never holds readings that the numbers were not computed from."""
    series = make_series()
    write_readings(series, tmp_path)
    (tmp_path / "stocks/tern-100/2026-04-01-b/wedge.csv").write_bytes(b"step,first\n1,0.43\n")
    jobs = plan_data(series, make_findings(series), series_folder=tmp_path)

    with pytest.raises(ContentChanged) as stop:
        make_all(jobs)

    assert stop.value.lines == (
        "stocks/tern-100/2026-04-01-b/wedge.csv: was changed while it was being published; publish again",
    )


def test_a_series_that_names_little_makes_valid_data(tmp_path: Path) -> None:
    """Author, licence, address and description may be missing."""
    series = replace(make_series(), address=None, author=None, licence=None, description=None, stocks=())
    files = make_all(plan_data(series, replace(make_findings(series), reference=None), series_folder=tmp_path))
    descriptor = load(files, "data/datapackage.json")

    assert (
        list(Draft4Validator(json.loads((STANDARDS / "data-package.json").read_bytes())).iter_errors(descriptor)) == []
    )
    assert load(files, "data/summary.json") == {"contract": 1, "reference": None, "stocks": []}


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+1/2", "'+1/2"),
        ("-x", "'-x"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("-0.35", "-0.35"),
        ("+3", "+3"),
        ("-1e3", "-1e3"),
        ("-1e3\n=x", "'-1e3\n=x"),
        ("-٣", "'-٣"),
        ("", ""),
        ("a=b", "a=b"),
    ],
)
def test_text_that_a_spreadsheet_would_run_is_made_harmless(text: str, written: str) -> None:
    """The six signs of the contract at the start of a text get a leading '; true numbers stay."""
    assert neutralise(text) == written


@settings(deadline=None, max_examples=60)
@given(st.lists(st.text(), min_size=2, max_size=3))
def test_no_cell_of_any_text_runs_as_a_formula(texts: list[str]) -> None:
    """Read back, a cell is the text or the text behind a '; it begins like a formula only if it is a plain number."""
    data = encode_csv(("a", "b", "c")[: len(texts)], [texts])
    cells = list(csv.reader(io.StringIO(data.decode(), newline="")))[1]

    assert len(cells) == len(texts)
    assert all(cell in {text, "'" + text} for cell, text in zip(cells, texts, strict=True))
    assert all(re.fullmatch(r"[-+][0-9.e+-]+", cell, re.IGNORECASE) for cell in cells if cell[:1] in set("=+-@\t\r"))


def test_a_table_survives_its_own_signs() -> None:
    """Commas, quotes and line ends in a cell come back as they were; None is empty, true is true."""
    data = encode_csv(("a", "b", "c"), [('x,"y"\nz', None, True), ("u\rv", np.float64(0.25), 7)])

    assert data == b'a,b,c\n"x,""y""\nz",,true\n"u\rv",0.25,7\n'
    assert list(csv.reader(io.StringIO(data.decode(), newline="")))[1] == ['x,"y"\nz', "", "true"]


def test_json_has_no_number_that_json_lacks() -> None:
    """NaN and infinity are refused; they never reach a reader."""
    with pytest.raises(ValueError, match="JSON compliant"):
        encode_json({"value": float("nan")})


def test_json_reads_back_as_it_was() -> None:
    """The layout changes no value."""
    value = {"a": list(range(100)), "b": [{"c": "é" * 120, "d": None}] * 3, "e": {}, "f": [], "g": [["x" * 90] * 2]}

    assert json.loads(encode_json(value)) == value
