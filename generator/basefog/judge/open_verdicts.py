"""Which repeats would settle most: for the tester's next weekend, and for a reader who asks what is still open."""

from collections.abc import Mapping
from dataclasses import dataclass

from basefog.records.findings import Comparison, Findings, TestFindings


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenVerdict:
    """A verdict that is not firm: of which stock, in which measure or patch, and what more tests would make it so."""

    stock: str
    what: str
    is_patch: bool
    comparison: Comparison


@dataclass(frozen=True, kw_only=True, slots=True)
class Repeats:
    """So many more tests of a stock, and the verdicts that they would settle."""

    of: str
    tests: int
    settles: tuple[OpenVerdict, ...]


def list_open(findings: Findings) -> tuple[OpenVerdict, ...]:
    """Return every verdict on a stock's figure that more tests would settle, in the order of stocks and measures."""
    return tuple(
        OpenVerdict(stock=test.stock, what=what, is_patch=is_patch, comparison=comparison)
        for test in findings.tests.values()
        if test.current
        for is_patch, comparisons in ((False, test.against_reference), (True, _of_patches(test)))
        for what, comparison in comparisons.items()
        if comparison.to_settle is not None and comparison.to_settle.tests
    )


def rank_repeats(findings: Findings, reference: str) -> tuple[Repeats, ...]:
    """Return the repeats that would settle most, the most for each test first.

    For each stock, and for the reference, the number of tests that settles most verdicts a test. A verdict is counted
    where it needs least; a test of the reference lessens the error of all the others too.

    Arguments: `reference`, the reference's slug.
    """
    needed: dict[str, list[OpenVerdict]] = {}
    for verdict in list_open(findings):
        settle = verdict.comparison.to_settle
        if settle is not None:
            needed.setdefault(reference if settle.of == "reference" else verdict.stock, []).append(verdict)
    found = [_best(of, verdicts) for of, verdicts in needed.items()]
    return tuple(sorted(found, key=lambda repeats: (-len(repeats.settles) / repeats.tests, repeats.tests, repeats.of)))


def _best(of: str, verdicts: list[OpenVerdict]) -> Repeats:
    """Return the number of tests that settles most verdicts a test; of equals the smaller."""
    counts = sorted({_tests(verdict) for verdict in verdicts})
    settled = {count: tuple(one for one in verdicts if _tests(one) <= count) for count in counts}
    tests = max(counts, key=lambda count: (len(settled[count]) / count, -count))
    return Repeats(of=of, tests=tests, settles=settled[tests])


def _tests(verdict: OpenVerdict) -> int:
    settle = verdict.comparison.to_settle
    return 0 if settle is None or settle.tests is None else settle.tests


def _of_patches(test: TestFindings) -> Mapping[str, Comparison]:
    return {name: patch.against_reference for name, patch in test.patches.items()}
