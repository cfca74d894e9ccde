"""Which repeats would settle most, in lines for the tester's terminal."""

from basefog.judge import rank_repeats
from basefog.publish.pages.page_of_open import HALF_THE_TIME, name_verdict, say_tests
from basefog.records.content import Series
from basefog.records.findings import Findings

_MOST_LINES = 8
_MOST_NAMES = 6


def say_repeats(series: Series, findings: Findings) -> tuple[str, ...]:
    """Return the repeats that would settle most, a line each, with the warning first; empty where there are none."""
    ranked = rank_repeats(findings, series.reference)
    if not ranked:
        return ()
    lines = [f"What repeats would settle. {HALF_THE_TIME}"]
    for repeats in ranked[:_MOST_LINES]:
        names = [name_verdict(series, verdict, repeats.of) for verdict in repeats.settles]
        told = ", ".join(names[:_MOST_NAMES])
        more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
        lines.append(f"  {say_tests(repeats.tests)} of {series.stock(repeats.of).name}: {told}{more}")
    return tuple(lines)
