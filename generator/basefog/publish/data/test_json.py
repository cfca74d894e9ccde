"""One test, whole, as JSON."""

from collections.abc import Sequence

from basefog.picture.views import ViewPlan, choose_scan
from basefog.publish.addresses import address_of_view, relative_link
from basefog.publish.data.values import (
    CURVE_DECIMALS,
    DENSITY_DECIMALS,
    FREQUENCY_DECIMALS,
    STOPS_DECIMALS,
    TIME_DECIMALS,
    Json,
    array_json,
    comparison_json,
    comparisons_json,
    difference_json,
    measures_json,
    pooled_json,
    quantity_json,
)
from basefog.publish.remarks import remarks_of_test
from basefog.records.content import Series, Test, View
from basefog.records.findings import (
    ContrastTime,
    EdgeResponse,
    FrameFinding,
    PatchFinding,
    Quantity,
    Spectrum,
    TestFindings,
    ToneReproduction,
)
from basefog.records.numbers import round_to, round_to_digits
from basefog.records.problem import Problem
from basefog.records.registration import Alignment, Refusal
from basefog.records.vocabulary import CONTRACT_VERSION


def render_test_json(series: Series, test: Test, found: TestFindings, views: Sequence[ViewPlan]) -> Json:
    """Return one test by the contract: its measures, curve, bracket, patches, history and inputs."""
    data: Json = {
        "contract": CONTRACT_VERSION,
        "stock": test.stock,
        "test": test.id,
        "current": found.current,
        "reference": found.reference,
        "measures": measures_json(found.measures),
        **({"pooled": _pooled(found)} if found.group else {}),
        "against_reference": comparisons_json(found.against_reference),
        "curve": _curve(found),
        "steps": [
            {
                "step": step.step,
                "log_exposure": round_to(step.log_exposure, CURVE_DECIMALS),
                "density": round_to(step.density, CURVE_DECIMALS),
                "readings": step.readings,
            }
            for step in found.steps
        ],
        "frames": [_frame(frame, found.measures.get("shadow_match")) for frame in found.frames],
        "patches": {name: _patch(patch) for name, patch in found.patches.items()},
        "departures": list(test.departures),
        "replaces": test.replaces,
        "replaced_by": test.replaced_by,
        "withdrawn": test.withdrawn,
        "inputs": [{"path": file.path, "sha256": file.sha256} for file in test.inputs],
        "remarks": [remark_json(remark) for remark in remarks_of_test(series, test, found)],
    }
    if found.moved_from is not None:
        data["movement"] = {
            **comparisons_json(found.movement),
            **{patch: comparison_json(moved, "stops") for patch, moved in found.patch_movement.items()},
        }
        data["moved_from"] = found.moved_from
    if found.exposures_repeat_stops is not None:
        data["exposures_repeat_stops"] = round_to(found.exposures_repeat_stops, STOPS_DECIMALS)
    if found.tone_reproduction is not None:
        data["tone_reproduction"] = _tone_reproduction(found.tone_reproduction)
    if found.contrast_time is not None:
        data["contrast_time"] = _contrast_time(found.contrast_time)
    if found.spectrum is not None:
        data["spectrum"] = _spectrum(found.spectrum)
    if found.edge_response is not None:
        data["edge_response"] = _edge_response(found.edge_response)
    if views:
        data["views"] = {plan.view.id: _view(test, plan) for plan in views}
    if missing := _missing_views(series, test, frozenset(plan.view.id for plan in views)):
        data["missing_views"] = missing
    return data


def remark_json(remark: Problem) -> Json:
    """Return a remark in the shape that `verify --json` gives it."""
    return {
        "level": remark.level,
        "path": remark.path,
        "line": remark.line,
        "column": remark.column,
        "message": remark.message,
        "mend": remark.mend,
    }


def _curve(found: TestFindings) -> Json:
    curve = found.curve
    if curve is None:
        empty: Json = {name: [] for name in ("log_exposure", "density", "low", "high", "gradient")}
        return empty | {"why": found.curve_why or "not measured"}
    data: Json = {
        "log_exposure": array_json(curve.log_exposure),
        "density": array_json(curve.density),
        "low": array_json(curve.low),
        "high": array_json(curve.high),
        "gradient": array_json(curve.gradient),
        "absolute": curve.absolute,
        "axis": curve.axis,
    }
    return data if curve.note is None else data | {"note": curve.note}


def _frame(frame: FrameFinding, match: Quantity | None) -> Json:
    data: Json = {
        "frame": frame.frame,
        "stops": round_to(frame.stops, STOPS_DECIMALS),
        "chosen": frame.chosen,
        "residual_density": _rounded(frame.residual_density, DENSITY_DECIMALS),
        "residual_stops": _rounded(frame.residual_stops, STOPS_DECIMALS),
    }
    if frame.shadow_density is None:
        data["why"] = "the shadow patch, or the base it is counted from, was not read on this frame"
    elif frame.residual_density is None or frame.residual_stops is None:
        why = None if match is None else match.why
        data["why"] = why or "there is no shadow density of the reference to compare with"
    return data


def _patch(patch: PatchFinding) -> Json:
    own = quantity_json(patch.stops_from_grey)
    data: Json = {"stops_from_grey": own["value"]}
    data |= {name: value for name, value in own.items() if name not in {"value", "unit"}}
    data["against_eye"] = difference_json(patch.against_eye)
    data["against_reference"] = comparison_json(patch.against_reference, "stops")
    return data


def _pooled(found: TestFindings) -> Json:
    """Return the stock's figures over its repeats, measures by id and patches by theirs."""
    patches = {name: patch.pooled for name, patch in found.patches.items() if patch.pooled is not None}
    return {name: pooled_json(quantity) for name, quantity in {**found.pooled, **patches}.items()}


def _tone_reproduction(tones: ToneReproduction) -> Json:
    return {
        "paper": tones.paper,
        "subject_log_luminance": array_json(tones.subject_log_luminance),
        "print_density": array_json(tones.print_density),
        "low": array_json(tones.low),
        "high": array_json(tones.high),
    }


def _contrast_time(family: ContrastTime) -> Json:
    points = [
        {
            "test": point.test,
            "time_min": round_to(point.time_min, TIME_DECIMALS),
            "average_gradient": quantity_json(point.average_gradient),
        }
        for point in family.points
    ]
    data: Json = {
        "points": points,
        "time_min": array_json(family.time_min, TIME_DECIMALS),
        "average_gradient": array_json(family.average_gradient),
    }
    if family.reference_average_gradient is not None:
        data["reference_average_gradient"] = round_to(family.reference_average_gradient, CURVE_DECIMALS)
    return data


def _spectrum(spectrum: Spectrum) -> Json:
    data: Json = {
        "cycles_per_mm": array_json(spectrum.cycles_per_mm, FREQUENCY_DECIMALS),
        # It falls by decades, so that its digits count and not its decimals.
        "power_um2": [round_to_digits(float(power), 4) for power in spectrum.power_um2],
    }
    return data if spectrum.note is None else data | {"note": spectrum.note}


def _edge_response(edge: EdgeResponse) -> Json:
    return {
        "cycles_per_mm": array_json(edge.cycles_per_mm, FREQUENCY_DECIMALS),
        "response": array_json(edge.response),
        "low": array_json(edge.low),
        "high": array_json(edge.high),
    }


def _view(test: Test, plan: ViewPlan) -> Json:
    # Addresses are relative to the JSON itself, so that they hold in a copy of the site.
    here = f"data/{test.key}.json"
    data: Json = {
        "name": plan.view.name,
        "of": plan.view.of,
        "shows": plan.view.shows,
        "scan": plan.scan.path,
        "box_px": [plan.left_px, plan.top_px, plan.width_px, plan.height_px],
        "lossless": plan.lossless,
        "files": [
            {
                "path": relative_link(here, address_of_view(test, plan.view.id, file.suffix)),
                "width_px": file.width_px,
                "height_px": file.height_px,
                "media_type": file.media_type,
            }
            for file in plan.files
        ],
    }
    if plan.alignment is not None:
        data["alignment"] = _alignment(plan.alignment)
    if plan.pixels_per_mm is not None:
        data["pixels_per_mm"] = round_to(plan.pixels_per_mm, 3)
    if plan.scale_bar_mm is not None:
        data["scale_bar_mm"] = round_to(plan.scale_bar_mm, 6)
    return data


def _missing_views(series: Series, test: Test, shown: frozenset[str]) -> Json:
    """Return why a test lacks each view of the series that it does not show."""
    return {view.id: _why_missing(view, test) for view in series.views if view.id not in shown}


def _why_missing(view: View, test: Test) -> str:
    scan = choose_scan(test, view)
    if scan is None:
        return f"no {view.of} was scanned"
    refused = scan.registration if isinstance(scan.registration, Refusal) else None
    return f"the scan of the {view.of} {refused.message if refused else 'does not reach as far'}"


def _alignment(alignment: Alignment) -> Json:
    data: Json = {
        "correlation": alignment.correlation,
        "right_px": alignment.right_px,
        "down_px": alignment.down_px,
        "rotation_deg": alignment.rotation_deg,
        "scale_ratio": alignment.scale_ratio,
        "inverted": alignment.is_inverted,
        "mirrored": alignment.is_mirrored,
    }
    return data


def _rounded(value: float | None, decimals: int) -> float | None:
    return None if value is None else round_to(value, decimals)
