from collections.abc import Mapping
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from basefog.measure.batches import compare_batches, remark_on_batch
from basefog.records.content import Batch
from measure.bench_content import PLACE

USUAL = {"base": 0.24, "low": 0.42, "mid": 0.98, "high": 1.61}
ALIKE = 0.1
"""A density whose mean over six strips is off in the last binary digit."""

WOBBLE = (-0.01, 0.0, 0.01, -0.02, 0.02, 0.0)


def make_batch(number: int, strip: Mapping[str, float]) -> Batch:
    return Batch(
        id=f"2026-03-{number:02}-tank",
        date=date(2026, 3, number),
        developer=None,
        temperature_c=20.0,
        control_strip=strip,
        notes=None,
        place=PLACE,
    )


def make_batches(last: Mapping[str, float], *, others: int = 6) -> tuple[Batch, ...]:
    """Return batches that wobble by a hundredth or two about the usual strip, and one more with the given strip."""
    usual = [
        make_batch(number + 1, {step: density + WOBBLE[number % 6] for step, density in USUAL.items()})
        for number in range(others)
    ]
    return (*usual, make_batch(others + 1, last))


def messages(last: Mapping[str, float], *, others: int = 6) -> list[str]:
    batches = make_batches(last, others=others)
    return [remark.message for remark in remark_on_batch(batches[-1].id, batches)]


def test_limits_are_those_of_the_other_batches() -> None:
    """Mean and sigma leave the batch itself out, so that a batch can't hide in limits it has widened."""
    batches = make_batches({**USUAL, "mid": 1.40})
    mids = [batch.control_strip["mid"] for batch in batches[:-1]]

    found = compare_batches(batches)[-2]

    assert (found.batch, found.strip_step, found.density) == ("2026-03-07-tank", "mid", 1.40)
    assert found.mean == pytest.approx(float(np.mean(mids)))
    assert found.sigma == pytest.approx(float(np.std(mids, ddof=1)))
    assert found.beyond_2_sigma
    assert found.beyond_3_sigma


@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize(
    ("sigmas", "beyond"), [(1.98, (False, False)), (2.02, (True, False)), (2.98, (True, False)), (3.02, (True, True))]
)
def test_limits_lie_at_two_and_three_sigma(sigmas: float, beyond: tuple[bool, bool], sign: int) -> None:
    """A strip a fiftieth of a sigma inside a limit, either way, is inside it, and one as far outside is beyond."""
    sigma = float(np.std(WOBBLE, ddof=1))

    mid = compare_batches(make_batches({**USUAL, "mid": 0.98 + sign * sigmas * sigma}))[-2]

    assert (mid.beyond_2_sigma, mid.beyond_3_sigma) == beyond


def test_a_strip_on_its_limit_is_inside() -> None:
    """Exactly three sigma off is not beyond three sigma, whatever the last binary digit."""
    sigma = float(np.std(WOBBLE, ddof=1))

    mid = compare_batches(make_batches({**USUAL, "mid": 0.98 + 3 * sigma}))[-2]

    assert mid.beyond_2_sigma
    assert not mid.beyond_3_sigma


def test_strips_that_read_alike_are_inside() -> None:
    """Strips that all read the same are inside limits of no width, though their mean is off in the last digit."""
    batches = tuple(make_batch(number, {"base": ALIKE}) for number in range(1, 8))

    assert float(np.mean([ALIKE] * 6)) != ALIKE
    assert not any(one.beyond_2_sigma or one.beyond_3_sigma for one in compare_batches(batches))


def test_six_batches_are_shown_without_limits() -> None:
    """Before the seventh batch there is no mean, no sigma, nothing beyond, and no remark."""
    batches = make_batches({**USUAL, "mid": 2.0}, others=5)

    found = compare_batches(batches)

    assert len(found) == 24
    assert {(one.mean, one.sigma) for one in found} == {(None, None)}
    assert not any(one.beyond_2_sigma or one.beyond_3_sigma for one in found)
    assert messages({**USUAL, "mid": 2.0, "base": 0.5}, others=5) == []


def test_batches_that_lack_a_step_count_nothing_towards_it() -> None:
    """Seven batches of which six have the step are too few for its limits, and enough for the others'."""
    batches = make_batches(USUAL, others=6)
    patchy = (make_batch(1, {"mid": 0.98}), *batches[1:])

    found = {one.strip_step: one for one in compare_batches(patchy) if one.batch == patchy[-1].id}

    assert found["mid"].mean is not None
    assert found["base"].mean is None


def test_steps_are_told_from_light_to_dark() -> None:
    """Base, low, mid, high come in this order, steps of other names after them by name."""
    found = compare_batches((make_batch(1, {"zone": 1.0, "high": 1.6, "aim": 0.5, "base": 0.2}),))

    assert [one.strip_step for one in found] == ["base", "high", "aim", "zone"]


def test_batch_inside_the_limits_carries_no_remark() -> None:
    """Nothing is said of a batch like the others, of one without a strip, and of one that isn't known."""
    batches = make_batches(USUAL)

    assert messages(USUAL) == []
    assert messages({}) == []
    assert remark_on_batch("no-such-batch", batches) == ()


def test_batch_beyond_three_sigma_carries_a_remark() -> None:
    """The remark names batch, step, reading and limits, and says what to do."""
    batches = make_batches({**USUAL, "low": 0.48})

    (remark,) = remark_on_batch(batches[-1].id, batches)

    assert remark.message == (
        "batch 2026-03-07-tank: the control strip's low reads 0.48, beyond 3 sigma of the other batches "
        "(mean 0.420, sigma 0.014)"
    )
    assert remark.mend.startswith("develop the stock again")


@given(st.lists(st.floats(0.1, 2.0), min_size=7, max_size=12), st.floats(-0.1, 0.5))
def test_constant_density_moves_no_limit(mids: list[float], by: float) -> None:
    """A constant added to every strip moves the means by it and nothing across a limit."""
    before = compare_batches(tuple(make_batch(n + 1, {"mid": mid}) for n, mid in enumerate(mids)))
    after = compare_batches(tuple(make_batch(n + 1, {"mid": mid + by}) for n, mid in enumerate(mids)))

    for one, other in zip(before, after, strict=True):
        assert other.mean == pytest.approx((one.mean or 0.0) + by)
        assert other.sigma == pytest.approx(one.sigma, abs=1e-9)
