"""What a scan's header says, whatever the format; here are the limits, the orientation tag and what is refused."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from numpy.typing import NDArray

PIXEL_LIMIT: Final = 400_000_000
"""Most pixels of a scan (contract)."""

ORIENTATION_TAG: Final = 0x0112
_TURNED: Final = frozenset({5, 6, 7, 8})
"""Orientations that exchange rows and columns."""

_TAIL_BYTES: Final = 65_536
_SAVE_PLAIN: Final = "Save it again as a single 8 or 16 bit picture, grey or RGB."
_COPY_AGAIN: Final = "Copy or export it again."


class ScanFaultError(ValueError):
    """A scan that can't be used, and how to mend it; `message` goes on from the words *the scan*."""

    def __init__(self, message: str, mend: str = _SAVE_PLAIN) -> None:
        super().__init__(f"scan {message}")
        self.message, self.mend = message, mend


def cut_short() -> ScanFaultError:
    """Return what is told of a file that was cut short in copying."""
    return ScanFaultError("is cut short: it ends before its picture does", _COPY_AGAIN)


def check_end(path: Path, mark: bytes) -> None:
    """Refuse a file that lacks the mark which ends it; some programs add data of their own behind."""
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - _TAIL_BYTES))
        if mark not in file.read():
            raise cut_short()


def more_than_one() -> ScanFaultError:
    """Return what is told of animations and files of several pages."""
    return ScanFaultError("holds more than one picture", "Save the one picture alone.")


@contextmanager
def header_parsed() -> Iterator[None]:
    """Tell whatever goes wrong in parsing a header as a ScanFaultError, and no warnings of damaged tags."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except ScanFaultError:
        raise
    except Exception as fault:
        # The libraries parse whatever bytes they meet with plain arithmetic, and promise no set of exceptions.
        raise ScanFaultError("has a damaged header", _COPY_AGAIN) from fault


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanHeader:
    """What a scan's header says: size of the upright picture, bits a sample, whether samples are floating point.

    `orientation` is how the picture lies in the file: 1 to 8, as TIFF 6.0 and Exif number it.
    """

    width_px: int
    height_px: int
    bits: int
    is_float: bool = False
    orientation: int = 1

    @property
    def is_turned(self) -> bool:
        """Whether rows of the file are columns of the upright picture."""
        return self.orientation in _TURNED

    @property
    def lying_px(self) -> tuple[int, int]:
        """Width and height as they lie in the file."""
        size = (self.width_px, self.height_px)
        return size[::-1] if self.is_turned else size


def make_header(lying_px: tuple[int, int], *, bits: int, orientation: object, is_float: bool = False) -> ScanHeader:
    """Return the header of a picture that lies so in its file; an orientation that is no number from 1 to 8 is none.

    Raises ScanFaultError where it has no pixels, or more than the limit.

    >>> make_header((40, 20), bits=8, orientation=6).width_px
    20
    """
    width, height = lying_px
    if width < 1 or height < 1:
        raise ScanFaultError("has no pixels", _COPY_AGAIN)
    if width * height > PIXEL_LIMIT:
        limit = PIXEL_LIMIT // 1_000_000
        raise ScanFaultError(
            f"has {width} x {height} pixels, expected at most {limit} megapixels", "Scan it coarser, or crop it."
        )
    turn = next((turn for turn in range(2, 9) if orientation == turn), 1)
    if turn in _TURNED:
        width, height = height, width
    return ScanHeader(width_px=width, height_px=height, bits=bits, is_float=is_float, orientation=turn)


def upright(codes: NDArray[Any], orientation: int) -> NDArray[Any]:
    """Turn a picture as its orientation tag asks (1 to 8, as TIFF 6.0 and Exif number them).

    >>> import numpy as np
    >>> upright(np.array([[1, 2], [3, 4]]), 6).tolist()
    [[3, 1], [4, 2]]
    """
    if orientation in _TURNED:
        codes = codes.swapaxes(0, 1)
    if orientation in {2, 3, 6, 7}:
        codes = codes[:, ::-1]
    if orientation in {3, 4, 7, 8}:
        codes = codes[::-1]
    return codes
