"""The Wiener spectrum of density: how much of the grain's variance lies at each spatial frequency.

W(u, v) = dx dy / (Nx Ny) |sum (D - mean) exp(-2 pi i (u x + v y))|^2, averaged over tiles of the region. Summed over
all frequencies it gives the variance of density (Parseval); at its low end it gives what a large aperture sees:
sigma_A^2 = W(0) / A.

Source: J. C. Dainty and R. Shaw, Image Science, 1974; the law of large apertures is that of E. W. H. Selwyn, 1935.
"""

import numpy as np

from basefog.records.content import FloatArray, read_only
from basefog.records.findings import Spectrum

TILE_PX = 64
"""Side of a tile: small enough that a region holds many, so that the curve is smooth."""

_SKIPPED_BINS = 1
"""Lowest frequencies left out of the curve: the mean of each tile is taken away, and slow shading with it."""


def compute_wiener_tile(deviations: FloatArray, pitch_um: float) -> FloatArray:
    """Return W(u, v) of one tile in um^2, laid out as a discrete Fourier transform lays it out.

    Its sum times du dv is the mean square of the deviations, du = 1 / (Nx pitch), dv = 1 / (Ny pitch).

    Arguments: `deviations` (rows, columns) of density from its mean; `pitch_um` the pixels' distance.
    """
    transform = np.fft.fft2(deviations)
    return np.asarray(np.abs(transform) ** 2 * pitch_um**2 / deviations.size)


def compute_spectrum(density: FloatArray, pitch_um: float, *, note: str | None = None) -> Spectrum | None:
    """Return the Wiener spectrum of a region as a curve up to the pixels' own limit, averaged over directions.

    Tiles of 64 pixels, half overlapping, each less its own mean; every point averages a ring one step of frequency
    wide. None where no tile fits.

    Arguments: `density` (rows, columns), slow shading removed; `pitch_um` the pixels' distance on the film.
    """
    power = average_tiles(density, pitch_um)
    if power is None:
        return None
    side = power.shape[0]
    step = 1.0 / (side * pitch_um)
    along = np.abs(np.fft.fftfreq(side, 1.0 / side))
    ring = np.rint(np.hypot(along[:, None], along[None, :])).astype(np.int64).ravel()
    counts = np.bincount(ring)
    radii = np.bincount(ring, weights=np.hypot(along[:, None], along[None, :]).ravel()) / counts
    means = np.bincount(ring, weights=power.ravel()) / counts
    shown = slice(1 + _SKIPPED_BINS, side // 2 + 1)
    return Spectrum(cycles_per_mm=read_only(radii[shown] * step * 1000.0), power_um2=read_only(means[shown]), note=note)


def average_tiles(density: FloatArray, pitch_um: float) -> FloatArray | None:
    """Return the mean of W(u, v) over half-overlapping tiles, None where no tile of 16 pixels fits."""
    side = min(TILE_PX, *density.shape)
    if side < 16:
        return None
    tiles = [
        density[top : top + side, left : left + side]
        for top in range(0, density.shape[0] - side + 1, max(1, side // 2))
        for left in range(0, density.shape[1] - side + 1, max(1, side // 2))
    ]
    total = np.zeros((side, side))
    for tile in tiles:
        total += compute_wiener_tile(tile - tile.mean(), pitch_um)
    return total / len(tiles)
