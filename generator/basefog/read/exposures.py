"""The key `exposure`, of the series or of a test, which replaces the series' whole."""

from basefog.read.models import ExposureKeys, SeriesKeys, TestKeys
from basefog.read.problem_list import ProblemList
from basefog.read.validate import Checked
from basefog.records.content import Exposure


def exposure_of(keys: ExposureKeys) -> Exposure:
    """Return the record of an `exposure` key."""
    return Exposure(wedge=keys.wedge, lux_s=keys.lux_s, absolute=keys.absolute, u_lux_s=keys.u_lux_s)


def check_exposure(checked: Checked[SeriesKeys] | Checked[TestKeys], problems: ProblemList) -> None:
    """Tell where the lamp's uncertainty has no exposure to belong to, or is as large as that."""
    keys = checked.keys.exposure
    if "exposure" in checked.broken or keys is None or keys.u_lux_s is None:
        return
    place = checked.place("exposure", "u_lux_s")
    if keys.lux_s is None:
        problems.problem(
            place, "u_lux_s: there is no lux_s whose uncertainty it is", "Write `lux_s` too, or take `u_lux_s` out."
        )
    elif keys.u_lux_s >= keys.lux_s:
        problems.problem(
            place,
            f"u_lux_s: found {keys.u_lux_s:g}, expected less than lux_s, {keys.lux_s:g}",
            "Correct `u_lux_s`: it is a standard uncertainty in lux seconds.",
        )
