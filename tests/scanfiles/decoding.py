"""Counts what is decoded, where the libraries do it."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, BinaryIO

import pytest
import tifffile
from PIL import ImageFile

from basefog.scanfiles import inflating, png, tiff


def count_decoding(monkeypatch: pytest.MonkeyPatch) -> Counter[tuple[str, int]]:
    """Return what counts, from now on, each decoding by file and part.

    A part is a TIFF's strip or tile by its number, a deflated stream by where it begins, a whole picture as 0.
    """
    counts: Counter[tuple[str, int]] = Counter()
    plain_decode: Any = tifffile.TiffPage.decode
    plain_load = ImageFile.ImageFile.load

    def decode(page: Any) -> Callable[..., Any]:
        name, decoded = Path(page.parent.filehandle.path).name, plain_decode.func(page)

        def counted(data: Any, index: int, **options: Any) -> Any:
            counts[name, index] += 1
            return decoded(data, index, **options)

        return counted

    def load(picture: Any) -> Any:
        # Once decoded a picture has no tiles left, and loading it again does nothing.
        if picture.filename and picture.tile:
            counts[Path(picture.filename).name, 0] += 1
        return plain_load(picture)

    def read_chunks(file: BinaryIO, extents: Iterable[tuple[int, int]]) -> Iterator[bytes]:
        pieces = list(extents)
        path = getattr(file, "path", None) or file.name
        counts[Path(path).name, pieces[0][0]] += 1
        return inflating.read_chunks(file, pieces)

    monkeypatch.setattr(tifffile.TiffPage, "decode", property(decode))
    monkeypatch.setattr(ImageFile.ImageFile, "load", load)
    for module in (png, tiff):
        monkeypatch.setattr(module, "read_chunks", read_chunks)
    return counts
