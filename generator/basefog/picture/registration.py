"""Lays one scan on another: shift, turn and scale, whatever their contrast, exposure and grain.

Both scans come as sketches. Their local contrast is evened out, so that what is left is where things are and no longer
how light they are; what then agrees is one correlation coefficient. The way goes from coarse to fine:

1. A start. Cross-correlation gives the best shift for every turn and scale of a grid (only for none at all, where that
   is plainly right), upright and mirrored. A correlation below zero tells that light and dark are exchanged. Where
   nothing comes of it, the same is tried with the scan turned by quarters, to tell so; it is then not brought back.
2. The enhanced correlation coefficient is climbed on a small picture (Evangelidis and Psarakis 2008, IEEE Transactions
   on Pattern Analysis and Machine Intelligence; the climbing is OpenCV's), which gives an affine map, and of it
   the nearest of shift, turn and scale.
3. Shift, turn and scale alone are settled on two larger pictures, by weighted least squares: an affine map's two
   further freedoms would make a shear of grain, and twice the error; and what only one scan shows, such as the edge of
   the paper, would pull all.
4. The numbers are rounded below what they are good for, so that the last bit of a processor's arithmetic shows
   nowhere, and judged.
"""

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from basefog.picture.sketches import Sketch
from basefog.records.numbers import fixed, round_to
from basefog.records.registration import Alignment, Refusal

Floats = NDArray[np.float32]
Matrix = NDArray[np.float64]

LEAST_CORRELATION: Final = 0.45
TURNED_CORRELATION: Final = 0.6
"""From which a scan turned by quarters is told to be so: more than the least, for the word must not mislead."""
MOST_ROTATION_DEG: Final = 5.0
MOST_SCALE: Final = 0.10
MOST_SHIFT_SHARE: Final = 0.25
"""Bounds of the contract; the correlations lie between what true and false pairs reach (tests/picture)."""

PYRAMID_PX: Final = (256, 512, 1024)
CLIMBS: Final = 40
SETTLING_STEPS: Final = 8
SETTLED_PX: Final = 0.01
"""Longest sides of the pyramid's pictures; most steps on the smallest, then on each larger one, and when to stop."""

LEAST_OVERLAP: Final = 0.4
"""Of the reference; what the contract allows leaves more, and small overlaps agree by chance."""

START_PX: Final = 192
START_ROTATIONS_DEG: Final = tuple(-6.25 + 1.25 * step for step in range(11))
START_SCALES: Final = tuple(0.875 + 0.025 * step for step in range(11))
START_TRIES: Final = 3
PLAIN_CORRELATION: Final = 0.7
"""A start with no turn that reaches this needs no other."""

EVEN_SHARE: Final = 0.03
"""Local contrast is evened out over this share of a picture's longest side (standard deviation)."""
GRAIN_PX: Final = 1.2
DIFFER_SHARE: Final = 0.01
"""Differences are looked at over this share of the longest side (standard deviation)."""
FLAT_SHARE: Final = 0.3
"""Where the contrast is below this share of the usual, noise would be all that is evened out."""


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Level:
    """One picture of a pyramid: evened codes, and the map from its pixels to the scan's (pixel corners count)."""

    evened: Floats
    to_scan: Matrix


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Pyramid:
    """A scan at every size that registration looks at, coarse to fine; width and height are the scan's own."""

    levels: tuple[Level, ...]
    width_px: int
    height_px: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Reference:
    """The reference's scan as registration looks at it; slopes are of all levels but the smallest."""

    pyramid: Pyramid
    slopes: "tuple[Slopes, ...]"


def make_pyramid(sketch: Sketch) -> Pyramid:
    """Return the reference's scan at every size, to be kept for all scans that are laid on it."""
    return _make_pyramid(sketch, max(sketch.width_px, sketch.height_px))


def make_reference(pyramid: Pyramid) -> Reference:
    """Return the reference's scan as registration looks at it: made once for many scans."""
    return Reference(pyramid=pyramid, slopes=tuple(make_slopes(level) for level in pyramid.levels[1:]))


def align_sketch(
    reference: Reference,
    sketch: Sketch,
    *,
    scan_px_per_reference_px: float,
    sideways_px_per_reference_px: float | None = None,
) -> Alignment | Refusal:
    """Find where the reference's points lie on a scan.

    Args:
        reference: of the reference's scan.
        sketch: of the scan.
        scan_px_per_reference_px: what the scans' resolutions (or widths) say of their scale.
        sideways_px_per_reference_px: the same, should the scan lie on its side; None where it makes no difference.

    Returns the alignment, or a refusal where they do not agree or lie further apart than the contract allows.
    """
    import cv2

    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)  # the same sums in the same order, however many cores there are
    try:
        seen = reference.pyramid
        scan = _make_pyramid(sketch, max(seen.width_px, seen.height_px) * scan_px_per_reference_px)
        laid = _lay(reference, scan)
        if laid.correlation < LEAST_CORRELATION:
            sideways = sideways_px_per_reference_px or scan_px_per_reference_px
            quarters = _find_quarter_turn(seen, sketch, (sideways, scan_px_per_reference_px, sideways))
            if quarters is not None:
                return _refuse_turned(quarters)
        return _judge(laid, seen, scan, scan_px_per_reference_px)
    finally:
        cv2.setNumThreads(threads)


def _find_quarter_turn(reference: Pyramid, sketch: Sketch, ratios: tuple[float, float, float]) -> int | None:
    """Return by how many quarters clockwise a scan is turned, None where it plainly agrees in no turn.

    `ratios` are what one of the reference's pixels takes of the scan, turned by one, two and three quarters.
    """
    level = reference.levels[0]
    extent = (reference.width_px, reference.height_px)
    agreements = []
    for quarters, ratio in enumerate(ratios, 1):
        turned = replace(sketch, codes=np.ascontiguousarray(np.rot90(sketch.codes, quarters)))
        scan = make_level(turned, PYRAMID_PX[0] / (max(extent) * ratio))
        place = nearest_similarity(_climb_from(level, scan, _search(level, scan)[0]).to_scan, extent)
        agreements.append((abs(correlate(level, scan, place)), quarters))
    agreement, quarters = max(agreements)
    return quarters if agreement >= TURNED_CORRELATION else None


def _refuse_turned(quarters: int) -> Refusal:
    way = {1: "90 degrees clockwise", 2: "180 degrees", 3: "90 degrees counterclockwise"}
    return Refusal(
        message=f"is turned by {way[quarters]} against the reference's",
        mend=f"Turn it by {way[4 - quarters]} and save it, or scan it again as the reference's was",
    )


def _make_pyramid(sketch: Sketch, longest_px: float) -> Pyramid:
    levels = tuple(make_level(sketch, longest / longest_px) for longest in PYRAMID_PX)
    return Pyramid(levels=levels, width_px=sketch.width_px, height_px=sketch.height_px)


def _lay(reference: Reference, scan: Pyramid) -> "_Laid":
    references, scans = reference.pyramid.levels, scan.levels
    found = _climb_from(references[0], scans[0], _plain_start(references[0], scans[0]))
    mirrored = False
    if abs(found.correlation) < PLAIN_CORRELATION:
        starts = [(found, False)]
        for mirror in (False, True):
            level = _mirror(scans[0]) if mirror else scans[0]
            starts += [(_climb_from(references[0], level, start), mirror) for start in _search(references[0], level)]
        found, mirrored = max(starts, key=lambda start: abs(start[0].correlation))
    if mirrored:
        scans = tuple(_mirror(level) for level in scans)
    inverted = found.correlation < 0
    place = found.to_scan
    place = nearest_similarity(place, (reference.pyramid.width_px, reference.pyramid.height_px))
    for reference_level, slopes, scan_level in zip(references[1:], reference.slopes, scans[1:], strict=True):
        place = _settle(reference_level, slopes, scan_level, place)
    correlation = abs(correlate(references[0], scans[0], place))
    return _Laid(to_scan=place, correlation=correlation, inverted=inverted, mirrored=mirrored)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Climbed:
    to_scan: Matrix
    correlation: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Laid:
    to_scan: Matrix
    correlation: float
    inverted: bool
    mirrored: bool


def make_level(sketch: Sketch, per_px: float) -> Level:
    """Return a sketch at so many pixels a scan pixel, its local contrast evened out; never enlarged."""
    import cv2

    rows, columns = sketch.codes.shape
    zoom = min(1.0, per_px * sketch.block_px)
    across, down = max(8, round(columns * zoom)), max(8, round(rows * zoom))
    small = np.asarray(cv2.resize(sketch.codes, (across, down), interpolation=cv2.INTER_AREA), dtype=np.float32)
    x, y = sketch.block_px * columns / across, sketch.block_px * rows / down
    to_scan = np.diag([x, y, 1.0])
    return Level(evened=even_contrast(small), to_scan=to_scan)


def even_contrast(codes: Floats) -> Floats:
    """Return a picture with its local mean taken off and its local contrast brought to one, grain softened."""
    import cv2

    grainless = cv2.GaussianBlur(codes, (0, 0), GRAIN_PX, borderType=cv2.BORDER_REFLECT)
    soft = np.asarray(grainless, dtype=np.float32)
    sigma = EVEN_SHARE * max(codes.shape)
    soft = soft - _blur_widely(soft, sigma)
    contrast = np.sqrt(_blur_widely(soft * soft, sigma))
    usual = float(np.sqrt(np.mean(contrast.astype(np.float64) ** 2)))
    evened: Floats = (soft / (contrast + np.float32(FLAT_SHARE * usual + 1e-6))).astype(np.float32)
    return evened


def _blur_widely(codes: Floats, sigma: float) -> Floats:
    """Blur over many pixels; a smaller picture is blurred and enlarged again, which is much quicker."""
    import cv2

    rows, columns = codes.shape
    fewer = max(1, round(sigma / 2.5))
    small = cv2.resize(codes, (-(-columns // fewer), -(-rows // fewer)), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma / fewer, borderType=cv2.BORDER_REFLECT)
    return np.asarray(cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR), dtype=np.float32)


def correlate(reference: Level, scan: Level, to_scan: Matrix) -> float:
    """Return the correlation of a reference's picture and a scan's laid on it; 0 where they share too little."""
    warped, inside = _warp(reference, scan, to_scan)
    if inside.mean() < LEAST_OVERLAP:
        return 0.0
    first = reference.evened[inside].astype(np.float64)
    second = warped[inside].astype(np.float64)
    first, second = first - first.mean(), second - second.mean()
    energy = math.sqrt(float((first * first).sum() * (second * second).sum()))
    return 0.0 if energy == 0.0 else float((first * second).sum()) / energy


def nearest_similarity(affine: Matrix, extent: tuple[int, int]) -> Matrix:
    """Return the map of shift, turn and scale (perhaps mirrored) that moves a picture's corners most nearly alike.

    Args:
        affine: 3 x 3.
        extent: width and height of the picture it maps from.
    """
    (a, b), (c, d) = affine[:2, :2]
    sign = 1.0 if a * d - b * c >= 0 else -1.0
    # Over corners of a rectangle, width counts for the first column as height for the second.
    w, h = extent[0] ** 2, extent[1] ** 2
    p = (w * a + sign * h * d) / (w + h)
    q = (w * c - sign * h * b) / (w + h)
    middle = np.array([extent[0] / 2, extent[1] / 2])
    turn = np.array([[p, -sign * q], [q, sign * p]])
    to = affine[:2, :2] @ middle + affine[:2, 2]
    whole = np.eye(3)
    whole[:2, :2], whole[:2, 2] = turn, to - turn @ middle
    return whole


def _plain_start(reference: Level, scan: Level) -> Matrix:
    """Return the best shift with neither turn nor scale, as a map between the scans."""
    shift, _ = _Correlator(reference.evened, scan.evened.shape).best_shift(scan.evened)
    return _shifted(reference, shift, scan.to_scan)


def _search(reference: Level, scan: Level) -> list[Matrix]:
    """Return the most promising starts over a grid of turns and scales."""
    zoom = START_PX / max(reference.evened.shape)
    small, small_scan = _shrink(reference, zoom), _shrink(scan, zoom)
    correlator = _Correlator(small.evened, small_scan.evened.shape)
    scored = []
    for degrees in START_ROTATIONS_DEG:
        for scale in START_SCALES:
            turned, to_scan = _turn(small_scan, degrees, scale)
            shift, score = correlator.best_shift(turned)
            scored.append((abs(score), _shifted(small, shift, to_scan)))
    scored.sort(key=lambda start: -start[0])
    return [start for _, start in scored[:START_TRIES]]


def _shifted(reference: Level, shift: tuple[float, float], to_scan: Matrix) -> Matrix:
    between = np.eye(3)
    between[:2, 2] = shift
    return np.asarray(to_scan @ between @ np.linalg.inv(reference.to_scan))


class _Correlator:
    """Cross-correlates pictures of one size with a reference's, by way of their spectra."""

    def __init__(self, reference: Floats, shape: tuple[int, ...]) -> None:
        from scipy import fft

        self.size = [fft.next_fast_len(a + b, real=True) for a, b in zip(reference.shape, shape, strict=True)]
        self.spectrum = np.conj(fft.rfft2(reference, self.size))
        self.energy = float((reference.astype(np.float64) ** 2).sum())

    def best_shift(self, scan: Floats) -> tuple[tuple[float, float], float]:
        """Return how far a picture's content stands right and down of the reference's, and how well it fits."""
        from scipy import fft

        fits = fft.irfft2(self.spectrum * fft.rfft2(scan, self.size), self.size)
        energy = math.sqrt(self.energy * float((scan.astype(np.float64) ** 2).sum()))
        at = int(np.argmax(np.abs(fits)))
        down, right = divmod(at, self.size[1])
        right -= self.size[1] if right >= scan.shape[1] else 0
        down -= self.size[0] if down >= scan.shape[0] else 0
        return (float(right), float(down)), float(fits.flat[at]) / (energy or 1.0)


def _shrink(level: Level, zoom: float) -> Level:
    import cv2

    rows, columns = level.evened.shape
    across, down = max(8, round(columns * zoom)), max(8, round(rows * zoom))
    small = cv2.resize(level.evened, (across, down), interpolation=cv2.INTER_AREA)
    evened = np.asarray(small, dtype=np.float32)
    return Level(evened=evened, to_scan=level.to_scan @ np.diag([columns / across, rows / down, 1.0]))


def _turn(level: Level, degrees: float, scale: float) -> tuple[Floats, Matrix]:
    """Return a picture turned back by an angle and a scale round its middle, and the map to the scan it then has."""
    import cv2

    rows, columns = level.evened.shape
    c, s = scale * math.cos(math.radians(degrees)), scale * math.sin(math.radians(degrees))
    x, y = columns / 2, rows / 2
    back = np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y], [0.0, 0.0, 1.0]])
    turned = cv2.warpAffine(
        level.evened, _pixel_middles(back)[:2], (columns, rows), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    return np.asarray(turned, dtype=np.float32), level.to_scan @ back


def _climb_from(reference: Level, scan: Level, start: Matrix) -> _Climbed:
    inverted = correlate(reference, scan, start) < 0
    to_scan = _climb(reference, scan, start, inverted=inverted)
    return _Climbed(to_scan=to_scan, correlation=correlate(reference, scan, to_scan))


def _climb(reference: Level, scan: Level, start: Matrix, *, inverted: bool) -> Matrix:
    """Climb the enhanced correlation coefficient; the start comes back where the climb leads nowhere."""
    import cv2

    between = np.linalg.inv(scan.to_scan) @ start @ reference.to_scan
    warp = _pixel_middles(between)[:2].astype(np.float32)
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, CLIMBS, 1e-5)
    seen = -scan.evened if inverted else scan.evened
    try:
        _, found = cv2.findTransformECC(reference.evened, seen, warp, cv2.MOTION_AFFINE, criteria, _whole(seen), 1)
    except cv2.error:  # it does not converge: nothing in common
        return start
    climbed = np.eye(3)
    climbed[:2] = found
    return np.asarray(scan.to_scan @ _pixel_corners(climbed) @ np.linalg.inv(reference.to_scan))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Slopes:
    """What a reference's picture does when it is moved: `lines` is (every second line, freedom, pixel of the line).

    Sums are taken line by line: short products are reckoned in one thread, so that they come out alike everywhere.
    The freedoms are scale, turn (both about the picture's middle, `middle` in the scan's pixels), right, down; the
    last two are the picture itself and ones.
    """

    lines: Matrix
    middle: Matrix


def make_slopes(level: Level) -> Slopes:
    """Return the slopes of a reference's largest picture."""
    import cv2

    rows, columns = level.evened.shape
    pixel = level.to_scan[0, 0], level.to_scan[1, 1]
    across, down = np.meshgrid(np.arange(columns) + 0.5 - columns / 2, np.arange(rows) + 0.5 - rows / 2)
    x, y = across * pixel[0], down * pixel[1]
    right = cv2.Scharr(level.evened, cv2.CV_32F, 1, 0).astype(np.float64) / (32.0 * pixel[0])
    low = cv2.Scharr(level.evened, cv2.CV_32F, 0, 1).astype(np.float64) / (32.0 * pixel[1])
    terms = (right * x + low * y, low * x - right * y, right, low, level.evened, np.ones_like(x))
    stacked = np.stack([np.asarray(term, dtype=np.float64)[::2] for term in terms], axis=1)
    middle = (level.to_scan @ np.array([columns / 2, rows / 2, 1.0]))[:2]
    return Slopes(lines=stacked, middle=middle)


def _settle(reference: Level, slopes: Slopes, scan: Level, start: Matrix) -> Matrix:
    """Settle shift, turn and scale by Gauss and Newton: the scan is gain x (reference, moved) + offset.

    What agrees at the start counts most; the start comes back where there is nothing to settle on.
    """
    place = start
    rows, columns = reference.evened.shape
    reach = math.hypot(columns * reference.to_scan[0, 0], rows * reference.to_scan[1, 1]) / 2
    warped, inside = _warp(reference, scan, place)
    seen = warped[::2]
    weights = _weigh(reference.evened, warped, inside)[::2].astype(np.float64)
    weighted = slopes.lines * weights[:, np.newaxis]
    products = (weighted @ slopes.lines.transpose(0, 2, 1)).sum(axis=0)
    for _ in range(SETTLING_STEPS):
        try:
            agreement = (weighted @ seen[:, :, np.newaxis].astype(np.float64)).sum(axis=(0, 2))
            answer = np.linalg.solve(products, agreement)
        except np.linalg.LinAlgError:  # a picture of nothing
            return start
        if not abs(answer[4]) > 1e-6:
            return start
        # The reference had to be moved so far to look like the scan: the map moves the other way.
        p, q, right, down = -answer[:4] / answer[4]
        move = np.array([[1.0 + p, -q, 0.0], [q, 1.0 + p, 0.0], [0.0, 0.0, 1.0]])
        move[:2, 2] = slopes.middle - move[:2, :2] @ slopes.middle + np.array([right, down])
        place = np.asarray(place @ move)
        if math.hypot(p, q) * reach + math.hypot(right, down) < SETTLED_PX * reference.to_scan[0, 0]:
            break
        seen = _warp_codes(reference, scan, place, lines=2)
    return place


def _weigh(reference: Floats, warped: Floats, inside: NDArray[np.bool_]) -> Floats:
    """Return how much each place counts: less where the two differ by more than usual, nothing beyond the scan.

    The edge of the paper on one scan alone, dust, or a thing that was moved would else pull the whole picture.
    """
    first, second = reference[inside].astype(np.float64), warped[inside].astype(np.float64)
    gain = float((first * second).sum()) / (float((first * first).sum()) or 1.0)
    differs = np.where(inside, (warped - np.float32(gain) * reference) ** 2, np.float32(0.0))
    near = _blur_widely(differs, DIFFER_SHARE * max(reference.shape))
    some = near[::4, ::4][inside[::4, ::4]]
    usual = np.float32(np.median(some) + 1e-12) if some.size else np.float32(1.0)
    weights: Floats = (inside / (1.0 + (near / (2.0 * usual)) ** 2)).astype(np.float32)
    return weights


def _whole(picture: Floats) -> NDArray[np.uint8]:
    return np.full(picture.shape, 255, dtype=np.uint8)


def _warp(reference: Level, scan: Level, to_scan: Matrix) -> tuple[Floats, NDArray[np.bool_]]:
    """Return a scan's picture laid on the reference's, and where it has any."""
    import cv2

    between, size = _between(reference, scan, to_scan)
    inside = cv2.warpAffine(_whole(scan.evened), between, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP)
    return _warp_codes(reference, scan, to_scan), np.asarray(inside) > 0


def _warp_codes(reference: Level, scan: Level, to_scan: Matrix, *, lines: int = 1) -> Floats:
    """Return every so many lines of a scan's picture laid on the reference's."""
    import cv2

    between, (columns, rows) = _between(reference, scan, to_scan)
    between = between @ np.diag([1.0, lines, 1.0])
    size = (columns, -(-rows // lines))
    warped = cv2.warpAffine(scan.evened, between, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    return np.asarray(warped, dtype=np.float32)


def _between(reference: Level, scan: Level, to_scan: Matrix) -> tuple[Matrix, tuple[int, int]]:
    """Return the map from the middles of a reference's pixels to a scan's, 2 x 3, and the reference's size."""
    between = _pixel_middles(np.linalg.inv(scan.to_scan) @ to_scan @ reference.to_scan)[:2]
    return between, (reference.evened.shape[1], reference.evened.shape[0])


def _mirror(level: Level) -> Level:
    columns = level.evened.shape[1]
    flip = np.array([[-1.0, 0.0, columns], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    return Level(evened=np.ascontiguousarray(level.evened[:, ::-1]), to_scan=level.to_scan @ flip)


def _pixel_middles(corners: Matrix) -> Matrix:
    """Return a map that counts from pixel corners as one that counts from the middle of the first pixel."""
    half = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    return np.asarray(np.linalg.inv(half) @ corners @ half)


def _pixel_corners(middles: Matrix) -> Matrix:
    half = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    return np.asarray(half @ middles @ np.linalg.inv(half))


def _judge(laid: _Laid, reference: Pyramid, scan: Pyramid, ratio: float) -> Alignment | Refusal:
    """Say in what a scan differs from the reference, and refuse what the contract does not allow."""
    if laid.correlation < LEAST_CORRELATION:
        return Refusal(
            message=f"does not show what the reference's does: they correlate by {fixed(laid.correlation, 2)}, at "
            f"least {LEAST_CORRELATION} is needed"
        )
    place = laid.to_scan
    across = -1.0 if laid.mirrored else 1.0
    middle = place[:2, :2] @ np.array([reference.width_px / 2, reference.height_px / 2]) + place[:2, 2]
    right = across * (middle[0] - scan.width_px / 2) / ratio
    down = (middle[1] - scan.height_px / 2) / ratio
    # A mirrored scan is turned as it is seen from the reference's side.
    degrees = math.degrees(math.atan2(place[1, 0], across * place[0, 0]))
    scale = math.hypot(place[0, 0], place[1, 0]) / ratio
    if abs(degrees) > MOST_ROTATION_DEG:
        return Refusal(
            message=f"is turned by {fixed(degrees, 1)} degrees, at most {MOST_ROTATION_DEG:g} are brought back"
        )
    if abs(scale - 1.0) > MOST_SCALE:
        return Refusal(
            message=f"shows the subject at {fixed(100 * scale, 0)}% of the reference's size, 90 to 110% are brought "
            "back"
        )
    shift = max(abs(right), abs(down)) / reference.width_px
    if shift > MOST_SHIFT_SHARE:
        return Refusal(
            message=f"is shifted by {fixed(100 * shift, 0)}% of the width, at most "
            f"{MOST_SHIFT_SHARE:.0%} are brought back"
        )
    return Alignment(
        to_scan=_round_map(place, reference),
        correlation=round_to(laid.correlation, 3),
        right_px=round_to(right, 2),
        down_px=round_to(down, 2),
        rotation_deg=round_to(degrees, 3),
        scale_ratio=round_to(scale, 5),
        is_inverted=laid.inverted,
        is_mirrored=laid.mirrored,
    )


def _round_map(place: Matrix, reference: Pyramid) -> tuple[float, float, float, float, float, float]:
    """Round a map to a hundredth of a pixel over the whole picture."""
    digits = 2 + math.ceil(math.log10(max(reference.width_px, reference.height_px)))
    (a, b, c), (d, e, f) = place[:2].tolist()
    return (
        round_to(a, digits),
        round_to(b, digits),
        round_to(c, 2),
        round_to(d, digits),
        round_to(e, digits),
        round_to(f, 2),
    )
