"""Rays into the still life: where they meet it, how the two heads light that place, and how much light comes back.

Light is exact in the sense of the film: six bands of the spectrum, linear, scaled so that a grey of reflectance R at
the control strip comes out at R. Shadows are those of two broad sources, found along one ray to each (the nearest
miss over the distance tells how much of the source is hidden); light from everywhere else is dimmed in hollows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from simulation.card import STRIP
from simulation.materials import BAND_COUNT, GLOSS, compute_reflectance, weave
from simulation.shapes import SAFE_STEP
from simulation.still_life import THINGS, Thing, from_card

Floats = NDArray[np.float32]

EYE_AT: Final = np.array([0.2, 4.3, -15.5], dtype=np.float32)
LOOK_AT: Final = np.array([0.20, 1.48, 0.4], dtype=np.float32)
VIEW_WIDTH: Final = 0.605
"""Width of the picture at unit distance; the picture's sides are as 3 to 2."""
ASPECT: Final = 1.5
_NEAR, _FAR, _STEPS = 9.0, 27.0, 110


@dataclass(frozen=True, kw_only=True, slots=True)
class Lamp:
    """A diffused head: where it stands, how strong it is, and half its width over its distance."""

    at: tuple[float, float, float]
    power: float
    half_angle: float


LAMPS: Final = (
    Lamp(at=(-10.0, 7.6, -5.5), power=1.0, half_angle=0.13),
    Lamp(at=(8.5, 7.0, -9.5), power=0.36, half_angle=0.15),
)
AMBIENT: Final = 0.07

Rays = tuple[Floats, Floats]


def project(point: Sequence[float]) -> tuple[float, float]:
    """Return where a point of the scene falls, as fractions of the picture from its top left."""
    right, up, forward = _camera_axes()
    ray = np.asarray(point, dtype=np.float64) - EYE_AT
    depth = float(ray @ forward)
    across, rise = float(ray @ right) / depth / VIEW_WIDTH, float(ray @ up) / depth / VIEW_WIDTH
    return 0.5 + across, 0.5 - rise * ASPECT


def render_part(part: tuple[float, float, float, float], *, columns: int, rows: int, grid: int) -> Floats:
    """Return a part of the picture, `grid` by `grid` rays a pixel: rows, columns, bands.

    `part` is left, top, width and height as fractions of the picture.
    """
    left, top, width, height = part
    image = np.empty((rows, columns, BAND_COUNT), dtype=np.float32)
    tile = max(16, 128 // grid)
    for row in range(0, rows, tile):
        for column in range(0, columns, tile):
            i, j = np.arange(row, min(row + tile, rows)), np.arange(column, min(column + tile, columns))
            shift = (np.arange(grid) + 0.5) / grid
            fine_y = top + height * (i[:, None] + shift[None, :]).ravel() / rows
            fine_x = left + width * (j[:, None] + shift[None, :]).ravel() / columns
            light = shade(*_camera_rays(fine_x, fine_y))
            light = light.reshape(len(i), grid, len(j), grid, BAND_COUNT).mean(axis=(1, 3))
            image[row : row + len(i), column : column + len(j)] = light
    return image


def shade(origin: Floats, direction: Floats) -> Floats:
    """Return the light that comes back along each ray, one row a ray and one column a band."""
    distance = _march(origin, direction)
    point = origin + direction * distance[:, None]
    kind = _nearest(point)
    normal = _normals(point)
    normal = np.where((kind == 0)[:, None], _woven(point, normal), normal)
    diffuse, sheen = _illuminate(point, normal, direction, kind)
    light = np.zeros((len(point), BAND_COUNT), dtype=np.float32)
    for index, thing in enumerate(THINGS):
        part = kind == index
        if part.any():
            p = point[part]
            light[part] = compute_reflectance(thing.name, p[:, 0], p[:, 1], p[:, 2]) * diffuse[part, None]
    return np.asarray((light + sheen[:, None]) / _strip_illumination(), dtype=np.float32)


def _camera_axes() -> tuple[Floats, Floats, Floats]:
    forward = (LOOK_AT - EYE_AT) / np.linalg.norm(LOOK_AT - EYE_AT)
    right = np.cross(np.array([0.0, 1.0, 0.0]), forward)
    right = right / np.linalg.norm(right)
    return right.astype(np.float32), np.cross(forward, right).astype(np.float32), forward.astype(np.float32)


def _camera_rays(x: NDArray[np.float64], y: NDArray[np.float64]) -> Rays:
    right, up, forward = _camera_axes()
    across = ((x - 0.5) * VIEW_WIDTH).astype(np.float32)[None, :, None]
    rise = ((0.5 - y) * VIEW_WIDTH / ASPECT).astype(np.float32)[:, None, None]
    direction = (forward + across * right + rise * up).reshape(-1, 3)
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    return np.broadcast_to(EYE_AT, direction.shape), direction


def _near_rays(origin: Floats, direction: Floats, spread: float) -> list[Thing]:
    """Return the things whose ball some ray comes near; `spread` widens the ball with distance along the ray."""
    near = []
    for thing in THINGS:
        if thing.radius > 50:
            near.append(thing)
            continue
        gap = np.array(thing.centre, dtype=np.float32) - origin
        along = np.maximum((gap * direction).sum(axis=1), 0.0)
        miss = np.linalg.norm(gap - along[:, None] * direction, axis=1)
        if (miss < thing.radius + spread * along).any():
            near.append(thing)
    return near


def _distance(things: Sequence[Thing], x: Floats, y: Floats, z: Floats, *, true: bool = False) -> Floats:
    whole = np.full_like(x, 1e3)
    for thing in things:
        far = thing.distance(x, y, z)
        np.minimum(whole, far * np.float32(thing.slack) if true else far, out=whole)
    return whole


def _march(origin: Floats, direction: Floats) -> Floats:
    things = _near_rays(origin, direction, 0.0)
    travelled = np.full(len(origin), _NEAR, dtype=np.float32)
    active = np.arange(len(origin))
    for _ in range(_STEPS):
        p = origin[active] + direction[active] * travelled[active, None]
        gap = _distance(things, p[:, 0], p[:, 1], p[:, 2])
        travelled[active] += gap * np.float32(SAFE_STEP)
        active = active[(gap > 4e-4) & (travelled[active] < _FAR)]
        if not len(active):
            break
    return travelled


def _nearest(point: Floats) -> NDArray[np.int64]:
    x, y, z = point.T
    return np.asarray(np.argmin(np.stack([thing.distance(x, y, z) for thing in THINGS]), axis=0))


def _near_points(point: Floats, reach: float) -> list[Thing]:
    return [
        thing
        for thing in THINGS
        if thing.radius > 50
        or (np.linalg.norm(point - np.array(thing.centre, dtype=np.float32), axis=1) < thing.radius + reach).any()
    ]


def _normals(point: Floats) -> Floats:
    things = _near_points(point, 0.1)
    total = np.zeros_like(point)
    for corner in ((1, -1, -1), (-1, -1, 1), (-1, 1, -1), (1, 1, 1)):
        step = np.array(corner, dtype=np.float32)
        x, y, z = (point + step * np.float32(0.006)).T
        total += step * _distance(things, x, y, z)[:, None]
    return np.asarray(total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-9))


def _woven(point: Floats, normal: Floats) -> Floats:
    """Tilt the cloth's normals by its weave."""
    x, y, z, step = point[:, 0], point[:, 1], point[:, 2], np.float32(0.006)
    here = weave(x, y, z)
    tilt_x, tilt_z = weave(x + step, y, z) - here, weave(x, y, z + step) - here
    rough = np.stack([-0.16 * tilt_x, np.zeros_like(x), -0.16 * tilt_z], axis=1)
    tilted = normal + rough.astype(np.float32)
    return np.asarray(tilted / np.linalg.norm(tilted, axis=1, keepdims=True))


def _illuminate(point: Floats, normal: Floats, direction: Floats, kind: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return the light that falls on each place, and the light that its sheen sends on."""
    strength = np.array([GLOSS[thing.name][0] for thing in THINGS], dtype=np.float32)[kind]
    narrow = np.array([GLOSS[thing.name][1] for thing in THINGS], dtype=np.float32)[kind]
    hollow = _openness(point, normal)
    diffuse = AMBIENT * hollow * (0.65 + 0.35 * normal[:, 1])
    sheen = np.zeros(len(point), dtype=np.float32)
    start = point + normal * np.float32(0.012)
    for lamp in LAMPS:
        to_lamp = np.array(lamp.at, dtype=np.float32) - point
        far = np.linalg.norm(to_lamp, axis=1)
        to_lamp /= far[:, None]
        facing = (normal * to_lamp).sum(axis=1)
        # A broad source still lights a little beyond the edge where its middle has set.
        soft = np.float32(lamp.half_angle)
        facing = np.where(facing > soft, facing, np.maximum(facing + soft, 0.0) ** 2 / (4 * soft))
        seen = _visible(start, to_lamp, lamp.half_angle)
        light = seen * np.float32(lamp.power) * (np.float32(14.0) / far) ** 2
        diffuse = diffuse + light * facing * (0.55 + 0.45 * hollow)
        half = to_lamp - direction
        half /= np.linalg.norm(half, axis=1, keepdims=True)
        glance = np.maximum((normal * half).sum(axis=1), 0.0) ** narrow
        sheen += strength * light * glance * (0.3 + 0.7 * (1 - np.abs((direction * half).sum(axis=1))) ** 3)
    return diffuse.astype(np.float32), sheen


def _visible(start: Floats, direction: Floats, half_angle: float) -> Floats:
    """Return how much of a lamp each place sees: the nearest miss along the ray against the lamp's breadth there."""
    things = _near_rays(start, direction, half_angle)
    clear = np.ones(len(start), dtype=np.float32)
    travelled = np.full(len(start), 0.02, dtype=np.float32)
    active = np.arange(len(start))
    for _ in range(64):
        p = start[active] + direction[active] * travelled[active, None]
        gap = _distance(things, p[:, 0], p[:, 1], p[:, 2], true=True)
        along = travelled[active]
        clear[active] = np.minimum(clear[active], gap / (np.float32(half_angle) * along + 0.01))
        travelled[active] = along + np.clip(np.abs(gap) * 0.7, 0.015 + 0.03 * along, 0.5)
        active = active[(clear[active] > -1.0) & (travelled[active] < 9.0) & (p[:, 1] < 4.6)]
        if not len(active):
            break
    clear = np.maximum(clear, -1.0)
    return np.asarray(0.25 * (1.0 + clear) ** 2 * (2.0 - clear))


def _openness(point: Floats, normal: Floats) -> Floats:
    """Return how open each place is: near one in the open, less in a hollow."""
    things = _near_points(point, 1.6)
    hidden = np.zeros(len(point), dtype=np.float32)
    for reach, weight in ((0.05, 0.9), (0.14, 0.8), (0.32, 0.6), (0.70, 0.40), (1.30, 0.24)):
        x, y, z = (point + normal * np.float32(reach)).T
        gap = _distance(things, x, y, z, true=True)
        hidden += np.float32(weight) * np.clip((reach - gap) / reach, 0.0, 1.0)
    return np.asarray(np.clip(1.0 - 0.62 * hidden, 0.05, 1.0))


_STRIP_LIGHT: list[float] = []


def _strip_illumination() -> float:
    """Return the light that falls on the middle of the control strip."""
    if not _STRIP_LIGHT:
        middle = from_card((STRIP[0] + STRIP[2]) / 2, (STRIP[1] + STRIP[3]) / 2)
        point = np.array([middle], dtype=np.float32)
        diffuse, _ = _illuminate(point, _normals(point), point - EYE_AT, _nearest(point))
        _STRIP_LIGHT.append(float(diffuse[0]))
    return _STRIP_LIGHT[0]
