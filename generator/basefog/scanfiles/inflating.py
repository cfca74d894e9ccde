"""A deflated stream, inflated piece by piece, so that neither it nor its content has to be held whole."""

import zlib
from collections.abc import Iterable, Iterator
from typing import BinaryIO, Final

from basefog.scanfiles.codes import ENDS_EARLY, damage_told

CHUNK_BYTES: Final = 1_000_000


def read_chunks(file: BinaryIO, extents: Iterable[tuple[int, int]]) -> Iterator[bytes]:
    """Yield the bytes of a file's extents, each (offset, length), a chunk at a time."""
    for offset, length in extents:
        for begin in range(0, length, CHUNK_BYTES):
            # Others may have moved the file's place in between.
            file.seek(offset + begin)
            yield file.read(min(CHUNK_BYTES, length - begin))


def inflate_by(chunks: Iterable[bytes], sizes: Iterable[int]) -> Iterator[bytes]:
    """Yield the content of a zlib stream (RFC 1950) in pieces of these sizes; what comes after them is left.

    Raises ValueError where the stream is damaged or ends too early.

    >>> list(inflate_by([zlib.compress(b"abcdef")], [4, 2]))
    [b'abcd', b'ef']
    """
    inflater, source = zlib.decompressobj(), iter(chunks)
    for size in sizes:
        parts, missing = [], size
        while missing:
            data = inflater.unconsumed_tail or next(source, b"")
            with damage_told(zlib.error):
                part = inflater.decompress(data, missing)
            if not part and not data:
                raise ValueError(ENDS_EARLY)
            parts.append(part)
            missing -= len(part)
        yield b"".join(parts)
    _check_sum(inflater, source)


def _check_sum(inflater: "zlib._Decompress", source: Iterator[bytes]) -> None:
    """Read on to the stream's end, whose check sum tells of damage; a stream without an end is taken as it is."""
    while not inflater.eof and (data := inflater.unconsumed_tail or next(source, b"")):
        with damage_told(zlib.error):
            if inflater.decompress(data, 1):
                return
