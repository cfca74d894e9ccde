"""How many standard errors a difference must be: of one comparison, of many with one reference, of any two of many.

All three factors are two-sided at 95 %. `degrees` are the degrees of freedom of the scatter, at least 1 and not
necessarily whole; None where none was estimated, which counts as infinitely many.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from basefog.records.content import FloatArray

CHANCE = 0.05  # of one false difference or more, where there is none
ENDLESS = 1e6  # degrees of freedom beyond which a factor is that of infinitely many to 1e-5
SETTLED, MOST_ROUNDS = 1e-9, 60  # a last step of the factor's logarithm, and after how many steps it is given up
IMPOSSIBLE = 1e-300  # a chance below which its logarithm is as good
NEGLIGIBLE = 1e-10  # chance left out at either end of an integral
ACROSS, ALONG = 40, 48  # nodes on either side of the reference's error that matters; nodes over the largest difference
NEARLY, ACROSS_NEARLY = 1e-4, 24  # how far off a factor is that rests on so many nodes only
CLASSES = 10  # stocks of more different correlations than this are replaced by so many weighted ones

Cumulative = Callable[[FloatArray], FloatArray]


def student_factor(degrees: float | None) -> float:
    """Return Student's factor.

    Raises ValueError where degrees are below 1. Source: Student, Biometrika 6 (1908) 1 (from memory).

    >>> round(student_factor(10), 3), round(student_factor(None), 6)
    (2.228, 1.959964)
    """
    return bonferroni_factor(1, degrees)


def dunnett_factor(lambda_squared: Sequence[float], degrees: float | None) -> float:
    """Return Dunnett's factor d: |T_i| stays below it for all k stocks at once with a chance of 95 %.

    `lambda_squared` (k values, 0 to 1, in any order) is the part of each difference's variance that is the reference's
    and so common to all; two differences correlate by lambda_i lambda_j. d solves

        E_s integral phi(x) prod_i [Phi((d s - lambda_i x) / r_i) - Phi((-d s - lambda_i x) / r_i)] dx = 0.95,

    r_i^2 = 1 - lambda_i^2, s = chi_nu / sqrt(nu); right to 1e-5 of itself, to 5e-5 where lambda^2 passes 0.99 or nu is
    a fraction below 2. The same values in another order give the same digits.

    Raises ValueError where there is no stock, a value is outside 0 to 1, or degrees are below 1.
    Source: C. W. Dunnett, J. Am. Stat. Assoc. 50 (1955) 1096.

    >>> round(dunnett_factor([0.5] * 12, None), 3), round(dunnett_factor([0.5] * 11, 6), 2)
    (2.767, 3.81)
    """
    if len(lambda_squared) == 0:
        raise ValueError("lambda_squared must hold at least one value")
    if not all(0 <= value <= 1 for value in lambda_squared):
        raise ValueError("lambda_squared must lie between 0 and 1")
    return _dunnett_factor(tuple(sorted(map(float, lambda_squared))), _check(degrees))


def dunnett_factors(lambda_squared: FloatArray, degrees: FloatArray) -> FloatArray:
    """Return Dunnett's factor of the same stocks at several degrees of freedom, in about the time that one takes.

    Within NEARLY of `dunnett_factor`, as a part of it. Its chances with infinite degrees of freedom are computed once,
    on coarser nodes, over a range that serves all of the degrees.

    Arguments: `lambda_squared` (k,), one stock or more, 0 to 1; `degrees` (j,), at least 1. Returns (j,).

    >>> dunnett_factors(np.full(11, 0.5), np.array([4.0, 6.0, 8.0, 12.0])).round(2).tolist()
    [4.55, 3.81, 3.5, 3.22]
    """
    if len(lambda_squared) == 1:
        return np.array([bonferroni_factor(1, each) for each in degrees])
    angles, weights = _classes(np.sort(lambda_squared))
    return _solve(
        lambda limits: _chance_all_below(limits, angles, weights, across=ACROSS_NEARLY), len(lambda_squared), degrees
    )


def range_factor(count: int, degrees: float | None) -> float:
    """Return the studentised range of so many figures over sqrt(2), for the difference of any two of them.

    It solves E_s count integral phi(z) [Phi(z) - Phi(z - sqrt(2) q s)]^(count - 1) dz = 0.95, as
    exactly as `dunnett_factor`.

    Raises ValueError where count is below 2 or degrees are below 1.
    Source: H. L. Harter, Ann. Math. Stat. 31 (1960) 1122, table 3, has the range itself.

    >>> round(range_factor(8, 10) * 2**0.5, 2)
    5.3
    """
    if count < 2:
        raise ValueError("count must be at least 2")
    return _range_factor(count, _check(degrees))


def bonferroni_factor(comparisons: int, degrees: float | None) -> float:
    """Return the factor that so many comparisons never exceed, however their errors hang together.

    Each has 0.05 / comparisons of the chance; the other factors lie between `student_factor` and this.
    Raises ValueError where there is no comparison or degrees are below 1.

    >>> round(bonferroni_factor(12, None), 3)
    2.865
    """
    if comparisons < 1:
        raise ValueError("comparisons must be at least 1")
    return _bonferroni_factor(comparisons, _check(degrees))


@lru_cache(maxsize=4096)  # every rule of a measure asks for Student's
def _bonferroni_factor(comparisons: int, degrees: float) -> float:
    from scipy.special import ndtri, stdtrit  # slow to import, and help needs none

    tail = CHANCE / (2 * comparisons)
    return -float(ndtri(tail) if degrees > ENDLESS else stdtrit(degrees, tail))


def _check(degrees: float | None) -> float:
    if degrees is None:
        return math.inf
    if not degrees >= 1:
        raise ValueError("degrees must be at least 1")
    return float(degrees)


@lru_cache(maxsize=1024)  # stocks with the same measures share their factors, and so do tests of what would settle them
def _dunnett_factor(lambda_squared: tuple[float, ...], degrees: float) -> float:
    if len(lambda_squared) == 1:
        return bonferroni_factor(1, degrees)
    angles, weights = _classes(np.array(lambda_squared))
    found = _solve(
        lambda limits: _chance_all_below(limits, angles, weights, across=ACROSS),
        len(lambda_squared),
        np.array([degrees]),
    )
    return float(found[0])


@lru_cache(maxsize=1024)
def _range_factor(count: int, degrees: float) -> float:
    found = _solve(lambda limits: _chance_range_below(limits, count), count * (count - 1) // 2, np.array([degrees]))
    return float(found[0])


def _classes(lambda_squared: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return artanh(lambda) of the stocks and how many each stands for.

    With theta = artanh(lambda), (t - lambda x) / r is t cosh(theta) - x sinh(theta): smooth in theta up to lambda = 1.
    The sum of a smooth function over many stocks is that over the nodes of Gauss's rule for their distribution, here by
    Lanczos' recurrence (G. H. Golub and J. H. Welsch, Math. Comp. 23 (1969) 221, from memory).
    """
    # beyond 1 - 1e-9 a stock adds nothing to the reference's error, and the angle would be infinite
    roots = np.sqrt(np.minimum(lambda_squared, 1 - 1e-9))
    angles, counts = np.unique(np.arctanh(roots), return_counts=True)
    if len(angles) <= CLASSES:
        return angles, counts.astype(float)
    basis = np.zeros((CLASSES, len(angles)))
    basis[0] = np.sqrt(counts / len(roots))
    for row in range(1, CLASSES):
        vector = angles * basis[row - 1]
        for _ in range(2):  # the second pass takes away what rounding left of the first
            vector = vector - basis[:row].T @ (basis[:row] @ vector)
        basis[row] = vector / np.linalg.norm(vector)
    nodes, vectors = np.linalg.eigh((basis * angles) @ basis.T)
    return nodes, len(roots) * vectors[0] ** 2


def _chance_all_below(limits: FloatArray, angles: FloatArray, weights: FloatArray, *, across: int) -> FloatArray:
    """Return the chance that all |T_i| lie below each limit, infinite degrees of freedom.

    The reference's error x is integrated from 0 to 7, the other side being alike, by Gauss-Legendre's rule in v, x = m
    -+ v^2: nodes crowd about m, where stocks with the least error of their own go over from below the limit to above.
    """
    from scipy.special import ndtr, ndtri

    nodes, steps = _legendre(across)
    cosh, sinh = np.cosh(angles), np.sinh(angles)
    largest = -float(ndtri(0.5 / np.sum(weights)))  # about what the largest of so many errors comes to
    turn = (limits[:, None] * cosh[-1] - largest) / max(sinh[-1], 1e-3)
    middle = np.clip(turn, 0, 7)
    x = np.hstack((middle * (1 - nodes**2), middle + (7 - middle) * nodes**2))
    measure = 2 * np.hstack((middle * nodes * steps, (7 - middle) * nodes * steps))
    far, near = limits[:, None, None] * cosh, x[:, :, None] * sinh
    inside = ndtr(far - near)
    both = far + near < 6.5  # elsewhere the other side is out of reach, and half the time is saved
    inside[both] -= ndtr(-(far + near)[both])
    product = np.exp(np.log(np.maximum(inside, IMPOSSIBLE)) @ weights)
    return np.asarray(2 * np.sum(measure * _normal(x) * product, axis=1))


def _chance_range_below(limits: FloatArray, count: int) -> FloatArray:
    """Return the chance that the range of so many normal figures, over sqrt(2), lies below each limit."""
    from scipy.special import ndtr

    z = np.linspace(-7.0, 7.0, 141)  # equal steps: for a smooth peak no rule does better
    inside = ndtr(z) - ndtr(z - math.sqrt(2) * limits[:, None])
    return np.asarray(count * 0.1 * np.sum(_normal(z) * inside ** (count - 1), axis=1))


def _solve(chance_below: Cumulative, comparisons: int, degrees: FloatArray) -> FloatArray:
    """Return the 95 % points of the largest of so many comparisons, all over one chi of these degrees of freedom, (j,).

    1 - F(d) = integral (1 - G(t)) f(t / d) / d dt, G the chance with infinite degrees of freedom and f the density of
    chi / sqrt(nu): the nodes in t don't move with d, nor with nu, so that G is computed once.
    """
    from scipy.optimize import brentq
    from scipy.special import gammaincinv, gammaln, ndtri

    def excess_endless(limit: float) -> float:
        return float(chance_below(np.array([limit]))[0]) - (1 - CHANCE)

    highest = bonferroni_factor(comparisons, math.inf)
    ends = degrees <= ENDLESS
    # where it only says over which range to integrate, it need not be known so well
    known_to = 3e-4 if ends.all() else 1e-7
    endless = float(brentq(excess_endless, bonferroni_factor(1, math.inf) - 1e-3, highest + 1e-3, xtol=known_to))
    found = np.full(degrees.size, endless)
    if not ends.any():
        return found
    nu = degrees[ends]
    half, least = nu / 2, float(nu.min()) / 2
    slowest = math.sqrt(gammaincinv(least, NEGLIGIBLE) / least)
    fastest = math.sqrt(gammaincinv(least, 1 - NEGLIGIBLE) / least)
    # the heavier the tail the more a factor grows: Bonferroni's is the furthest out that could be
    beyond = endless * np.array([bonferroni_factor(comparisons, each) for each in nu]) / highest
    start = endless * slowest
    end = min(float(beyond.max()) * fastest, -float(ndtri(NEGLIGIBLE / (2 * comparisons))))
    nodes, steps = _legendre(ALONG)
    limits = start + (end - start) * nodes
    exceeding = (end - start) * steps * (1 - chance_below(limits))
    constant = math.log(2) + half * np.log(half) - gammaln(half)
    lowest, highest_of_all = math.log(endless) - 1e-3, np.log(beyond) + 1e-3
    log_factor = np.log(beyond)
    for _ in range(MOST_ROUNDS):
        # Newton's rule for the logarithm of the chance by that of the factor, of which it is nearly a straight line.
        log_s = np.log(limits) - log_factor[:, None]
        squares = nu[:, None] * np.exp(2 * log_s)
        density = np.exp(constant[:, None] + (nu[:, None] - 1) * log_s - squares / 2)
        chance = density @ exceeding
        slope = (density * (squares - nu[:, None])) @ exceeding
        step = np.log(chance * np.exp(-log_factor) / CHANCE) * chance / slope
        log_factor = np.clip(log_factor - step, lowest, highest_of_all)
        if np.abs(step).max() < SETTLED:
            break
    found[ends] = np.exp(log_factor)
    return found


def _normal(x: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-(x**2) / 2) / math.sqrt(2 * math.pi))


@lru_cache(maxsize=4)
def _legendre(count: int) -> tuple[FloatArray, FloatArray]:
    """Return nodes and weights of Gauss-Legendre's rule on 0 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (nodes + 1) / 2, weights / 2
