"""What is known of how well a test repeats, in sentences, for the reference's own pages."""

from basefog.publish.pages.names import in_a_sentence
from basefog.publish.pages.quantities import UNIT_LABELS
from basefog.publish.pages.words import join_names
from basefog.records.content import Series
from basefog.records.findings import Findings, Scatter
from basefog.records.numbers import decimals_for, format_number
from basefog.records.vocabulary import MEASURE_BY_ID

_TOLD = ("speed_point", "average_gradient", "base_plus_fog", "shadow_match", "rms_granularity", "mtf50")


def say_repeatability(series: Series, findings: Findings) -> tuple[str, ...]:
    """Return what is known of the reference's repeatability.

    Of how many tests its figures are means, how far tests of one film scatter, how well exposures repeat.
    """
    reference = findings.of_reference
    if reference is None:
        return ()
    sentences = []
    if reference.group:
        sentences.append(
            f"Its figures are the means of {len(reference.group)} tests, so that one test’s luck weighs less in every "
            "verdict of the series."
        )
    else:
        sentences.append(
            f"It was tested once: {series.reference_stock.name}’s luck in that test is in every verdict of the series."
        )
    for source, told_by in (("repeats", "repeats"), ("batches", "the control strips of the batches")):
        known = {
            name: scatter
            for name in _TOLD
            if (scatter := findings.scatter.get(name)) is not None
            and scatter.source == source
            and not scatter.by_gradient
        }
        told = [_say_scatter(name, scatter) for name, scatter in known.items() if scatter.sigma > 0]
        if told:
            sentences.append(
                f"Two tests of one film differ though nothing was changed; {told_by} tell a standard deviation of "
                f"{join_names(told)} for one test."
            )
        none = [in_a_sentence(MEASURE_BY_ID[name].name) for name, scatter in known.items() if scatter.sigma == 0]
        if none:
            sentences.append(f"In {join_names(none)} {told_by} show no more than reading error.")
    if reference.exposures_repeat_stops is not None:
        stops = format_number(reference.exposures_repeat_stops, 2)
        sentences.append(f"Its bracket’s exposures repeat to {stops} stop (standard deviation).")
    return tuple(sentences)


def _say_scatter(name: str, scatter: Scatter) -> str:
    """Return one measure's scatter, with its name."""
    measure = MEASURE_BY_ID[name]
    if scatter.relative:
        return f"{format_number(100 * scatter.sigma, 1)} % in {in_a_sentence(measure.name)}"
    unit = UNIT_LABELS.get(measure.unit, measure.unit)
    size = format_number(scatter.sigma, decimals_for(scatter.sigma))
    return " ".join(part for part in (size, unit, "in", in_a_sentence(measure.name)) if part)
