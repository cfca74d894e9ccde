"""One scan file's step: how it is done, in whatever process, and what is kept of it.

The pictures are kept as files of their own, and so is the reference's scan as registration looks at it: every step that
lays a scan on it names it by its digest, and reads it where it is not at hand.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Final

from basefog.picture import NoScratchError
from basefog.picture.registration import Pyramid, Reference, make_reference
from basefog.picture.scan_file import ScanFileSeen, UseSeen, see_scan_file
from basefog.picture.scan_use import ScanUse
from basefog.records.vocabulary import ViewSubject
from basefog.site.codec import decode, encode
from basefog.site.inputs import check_input, read_made
from basefog.site.job import InputPath
from basefog.site.steps import WithFiles
from basefog.site.stops import ContentChanged, NoRoom

ROOMS: Final = (
    "measure/intervals.py",
    "measure/resampling.py",
    "picture/cuts.py",
    "picture/registration.py",
    "picture/registration_of_scans.py",
    "picture/scan_file.py",
    "picture/scan_use.py",
    "picture/sketches.py",
    "picture/texture",
    "picture/views.py",
    "publish/scan_steps.py",
    "records",
    "scanfiles",
)
"""All code that what is made of a scan hangs on."""

LIBRARIES: Final = ("imagecodecs", "numpy", "opencv-python-headless", "pillow", "scipy", "tifffile")
"""All libraries that it hangs on."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ScanSource:
    """A scan file; `name`, its path in the series, says in an error which it was, and does not count as an input."""

    name: str = field(compare=False)
    file: InputPath


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ScanFileKept:
    """What is kept of a scan file: what it showed by the order of its uses, or why it can't be read.

    `pictures` are digests of what is kept, by view id and suffix; `pyramid` is that of the scan as others are laid on
    it, None where none are.
    """

    uses: tuple[UseSeen, ...]
    pictures: tuple[Mapping[str, str], ...]
    pyramid: str | None
    problem: str | None

    @property
    def files_for_others(self) -> tuple[str, ...]:
        """The digest of the file that other steps read, if there is one."""
        return () if self.pyramid is None else (self.pyramid,)

    @property
    def files(self) -> tuple[str, ...]:
        """The digests of all files that it speaks of."""
        return (*(sha256 for pictures in self.pictures for sha256 in pictures.values()), *self.files_for_others)


def do_scan_step(
    *,
    source: ScanSource,
    width_px: int,
    height_px: int,
    uses: Sequence[ScanUse],
    references: Mapping[ViewSubject, InputPath],
    is_first: bool,
    encode: bool,
) -> WithFiles[ScanFileKept]:
    """Do one scan file's step; it is the one that was read, or ContentChanged is raised.

    Raises NoRoom where a large scan's codes can't be kept. Damage is a result, what the system refuses is none.
    """
    import cv2

    check_input(source.name, source.file)
    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)  # all cores are busy with other scans
    try:
        seen = see_scan_file(
            Path(source.file.path),
            width_px=width_px,
            height_px=height_px,
            uses=uses,
            references={of: _read_reference(file) for of, file in references.items()},
            is_first=is_first,
            encode=encode,
        )
    except NoScratchError as error:
        raise NoRoom(str(error)) from error
    except (ValueError, OSError) as error:
        _raise_refusal(source.name, error)
        return WithFiles(result=ScanFileKept(uses=(), pictures=(), pyramid=None, problem=str(error)), files=())
    finally:
        cv2.setNumThreads(threads)
    return _kept(seen)


def _kept(seen: ScanFileSeen) -> WithFiles[ScanFileKept]:
    files = [data for pictures in seen.pictures for data in pictures.values()]
    pictures = tuple({name: _digest(data) for name, data in of_use.items()} for of_use in seen.pictures)
    pyramid = None
    if seen.pyramid is not None:
        files.append(encode(Pyramid, seen.pyramid))
        pyramid = _digest(files[-1])
    return WithFiles(
        result=ScanFileKept(uses=seen.uses, pictures=pictures, pyramid=pyramid, problem=None), files=tuple(files)
    )


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


@lru_cache(maxsize=2)
def _read_reference(file: InputPath) -> Reference:
    """Return what scans are laid on; one process lays many on the same, one of each kind."""
    return make_reference(decode(Pyramid, read_made("the scan that others are laid on", file)))


def _raise_refusal(name: str, error: Exception) -> None:
    """Raise what the system said of a file, which the next time it may not; decoders' own errors have no number."""
    for one in (error, error.__cause__):
        if isinstance(one, OSError) and one.errno is not None:
            raise ContentChanged(f"{name}: can't be read any more ({one.strerror}); publish again") from error
