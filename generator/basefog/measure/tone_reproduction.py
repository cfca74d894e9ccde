"""Tone reproduction: from the subject through film and paper to the print, quadrant by quadrant (L. A. Jones).

Subject log luminance -> film log exposure -> film density -> paper log exposure -> print density. The subject's axis
is zero at the film's speed point, and one log unit of subject is one of film exposure (no flare). The paper is
exposed so that film at base plus fog prints to 90 % of the paper's maximum density.

The paper's curve is the same for every stock and so is taken as given: its own reading error, which all stocks share,
is in none of the intervals.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from basefog.measure.contrast import TONES
from basefog.measure.crossing import find_crossings, fit_rising_rows
from basefog.measure.curve_fit import FittedCurve
from basefog.measure.intervals import LOST_SHARE, missing, quantity_from_draws
from basefog.measure.resampling import drawn_rows, half_widths
from basefog.measure.speed import find_speed_point, why_curve_ends_short, why_no_speed_point
from basefog.records.content import FloatArray, Paper, read_only
from basefog.records.findings import Quantity, ToneReproduction

BLACK_SHARE = 0.90
"""Share of the paper's maximum density, as read, to which film at base plus fog is printed (Focal Encyclopedia of
Photography, 4th edition, p. 679, gives it as the useful shadow density)."""

PAPER_BEND = 30.0
"""Typical second derivative of a paper's density by log exposure, per (log unit)^1.5: see `smoother`."""

AXIS_STEP = 0.05
"""Distance of the points of the published curve, log units."""

CONTRASTS = {
    "print_shadow_contrast": TONES["shadow_gradient"],
    "print_middle_contrast": TONES["middle_gradient"],
    "print_highlight_contrast": TONES["highlight_gradient"],
}
"""The tone range of every print contrast, log units above the speed point."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PaperCurve:
    """A paper's monotone curve on a grid, and the log exposure at which it reaches its useful black."""

    id: str
    log_exposure: FloatArray
    density: FloatArray
    black_log_exposure: float

    def density_at(self, log_exposure: FloatArray) -> FloatArray:
        """Return print densities, NaN outside the paper's readings."""
        # A hair of rounding must not push the first or last reading itself outside.
        inside = (log_exposure >= self.log_exposure[0] - 1e-9) & (log_exposure <= self.log_exposure[-1] + 1e-9)
        return np.where(inside, np.interp(log_exposure, self.log_exposure, self.density), np.nan)


@dataclass(frozen=True, kw_only=True, slots=True)
class NoPaper:
    """Why there is no paper to print on, in the tester's words."""

    why: str


def choose_paper(papers: Mapping[str, Paper], name: str | None, *, repeatability: float) -> PaperCurve | NoPaper:
    """Return the curve of the paper that the series prints on, or why there is none."""
    if name is None:
        return NoPaper(why="the series names no paper (enlarging.paper)")
    if name not in papers:
        return NoPaper(why=f"the series has no readings of paper {name}")
    return fit_paper(papers[name], repeatability=repeatability)


def fit_paper(paper: Paper, *, repeatability: float) -> PaperCurve | NoPaper:
    """Return the smooth monotone curve of a paper, or why it can't serve.

    Arguments: `repeatability`, standard deviation of one reading, density.
    """
    variance = np.full(paper.density.size, repeatability**2)
    grid, rows = fit_rising_rows(paper.log_exposure, paper.density[None, :], variance, typical_derivative=PAPER_BEND)
    black = find_crossings(grid, rows, np.array([BLACK_SHARE * float(paper.density.max())]))
    if not np.isfinite(black[0]):
        return NoPaper(why=f"paper {paper.id} has no reading below 90 % of its maximum density")
    return PaperCurve(id=paper.id, log_exposure=grid, density=rows[0], black_log_exposure=float(black[0]))


def measure_print_contrasts(
    curve: FittedCurve | None, curve_why: str | None, paper: PaperCurve | NoPaper
) -> dict[str, Quantity]:
    """Return the mean slope of print density against subject log luminance over each tone range, sign positive.

    No value where the range runs past the readings of the film or the paper. Arguments: `curve_why` says why there is
    no curve.
    """
    if curve is None:
        return dict.fromkeys(CONTRASTS, missing(curve_why or "there is no curve"))
    if isinstance(paper, NoPaper):
        return dict.fromkeys(CONTRASTS, missing(paper.why))
    return {measure: _measure_contrast(curve, paper, *tones) for measure, tones in CONTRASTS.items()}


def reproduce_tones(curve: FittedCurve | None, paper: PaperCurve | NoPaper) -> ToneReproduction | None:
    """Return print density against subject log luminance, where film and paper both hold within their readings.

    The band is as in `quantity_from_draws`; points that more than 2.5 % of the draws do not reach are left out.
    None where there is no curve, no paper, no speed point, or nothing of the film falls on the paper.
    """
    if curve is None or isinstance(paper, NoPaper):
        return None
    points = find_speed_point(curve)
    if not np.isfinite(points[0]):
        return None
    first = np.ceil((curve.first - points[0]) / AXIS_STEP)
    last = np.floor((curve.last - points[0]) / AXIS_STEP)
    axis = np.arange(first, last + 1) * AXIS_STEP
    prints = _print_density(curve, paper, points[:, None] + axis)
    held = np.isfinite(prints[0]) & (np.isnan(drawn_rows(prints)).mean(axis=0) <= LOST_SHARE)
    if not held.any():
        return None
    prints = prints[:, held]
    half = half_widths(prints, curve.wedge)
    return ToneReproduction(
        subject_log_luminance=read_only(axis[held]),
        print_density=read_only(prints[0]),
        low=read_only(prints[0] - half),
        high=read_only(prints[0] + half),
        paper=paper.id,
    )


def _print_density(curve: FittedCurve, paper: PaperCurve, log_exposure: FloatArray) -> FloatArray:
    """Return every draw's print densities of the tones that gave the film log exposures (rows, k).

    NaN outside the readings of film or paper.
    """
    net = curve.density_at(log_exposure) - curve.base_plus_fog[:, None]
    return paper.density_at(paper.black_log_exposure - net)


def _measure_contrast(curve: FittedCurve, paper: PaperCurve, start: float, stop: float) -> Quantity:
    why = why_no_speed_point(curve)
    points = find_speed_point(curve)
    if not why and not points[0] + stop <= curve.last:
        why = why_curve_ends_short(curve, stop, "the end of the tone range")
    if why:
        return missing(why)
    dark, light = _print_density(curve, paper, points[:, None] + np.array([start, stop])).T
    slope = (dark - light) / (stop - start)
    why = f"the tone range runs past the readings of paper {paper.id}"
    return quantity_from_draws(slope, "1", why=why, note=curve.note, wedge=curve.wedge)
